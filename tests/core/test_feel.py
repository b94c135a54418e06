"""Counting from home, against another library, the trade's rules, and Fractions."""

from dataclasses import FrozenInstanceError
from fractions import Fraction
from math import lcm

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21.duration import Duration, Tuplet

import rhythmlab as rl
from rhythmlab.core.feel import Place, places
from tests.brute import windowed
from tests.refusals import TOO_LONG, keywords, refusal, works
from tests.strategies import TRIES, cycles, pairs, several, windows

VALUES = {1: "quarter", 2: "eighth", 4: "16th", 8: "32nd", 16: "64th", 32: "128th"}


def length_in_music21(parts: int) -> Fraction:
    """Return the length of one of `parts` equal notes in a quarter, as music21 writes and measures it."""
    normal = 2 ** (parts.bit_length() - 1)
    note = Duration(VALUES[normal])
    if parts != normal:
        note.appendTuplet(Tuplet(parts, normal, VALUES[normal]))
    return Fraction(note.quarterLength).limit_denominator(1000)


def spot(place: Place) -> Fraction:
    """Return where a place is, in beats from the start of the cycle."""
    return place.beat - 1 + Fraction(place.part - 1, place.parts)


@pytest.mark.parametrize(
    ("m", "n"),
    [(3, 2), (4, 3), (5, 4), (7, 4), (8, 5), (16, 15), (32, 31), (12, 8), (9, 6), (16, 11), (1, 5)],
)
def test_each_stroke_lands_where_music21_puts_its_tuplet(m, n):
    """From both homes: beat plus parts of it equals k tuplet notes of one pulse in the time of the other."""
    p = rl.Polyrhythm(m, n)
    for home, other in ((0, 1), (1, 0)):
        beats, strokes = p.pulses[home], p.pulses[other]
        # music21: `strokes` quarters in the time of `beats` quarters, each beats/strokes of a quarter long.
        note = Duration("quarter")
        note.appendTuplet(Tuplet(strokes, beats, "quarter"))
        each = Fraction(note.quarterLength).limit_denominator(1000)
        assert each == Fraction(beats, strokes)
        for k, place in enumerate(rl.Feel(p, home=home).places(other)):
            inside = (place.part - 1) * length_in_music21(place.parts)
            assert place.beat - 1 + inside == k * each


@TRIES
@given(several)
def test_each_stroke_is_counted_where_it_falls(p):
    """From every home, every stroke's place is its exact share of the cycle, in beats, inside its beat."""
    for home, beats in enumerate(p.pulses):
        feel = rl.Feel(p, home=home)
        assert (feel.beats, feel.beat_ticks) == (beats, p.step(home))
        for pulse, strokes in enumerate(p.pulses):
            found = feel.places(pulse)
            assert list(map(spot, found)) == [Fraction(k * beats, strokes) for k in range(strokes)]
            assert all(1 <= place.part <= place.parts for place in found)


@TRIES
@given(several)
def test_each_pulse_is_counted_against_home_on_its_own(p):
    """A beat is cut into lcm(home, other)/home parts, the fewest that put every stroke on a part."""
    for home, beats in enumerate(p.pulses):
        for pulse, strokes in enumerate(p.pulses):
            parts = rl.Feel(p, home=home).parts(pulse)
            assert parts == lcm(beats, strokes) // beats
            shares = [Fraction(k * beats, strokes) % 1 for k in range(strokes)]
            assert parts == lcm(*(share.denominator for share in shares))


def test_three_against_four_against_five_never_needs_fifteenths():
    """From the 4: threes for the 3, fives for the 5."""
    # Common practice, no source.
    feel = rl.Feel(rl.Polyrhythm(3, 4, 5), home=1)
    assert (feel.parts(0), feel.parts(1), feel.parts(2)) == (3, 1, 5)


def test_seven_against_four_from_the_seven():
    """The 4 falls on 1, a of 2, & of 4 and e of 6."""
    # Common practice, no source: four to a beat is counted "1 e & a", so part 4 is a, 3 is &, 2 is e.
    found = rl.Feel(rl.Polyrhythm(7, 4), home=0).places(1)
    assert found == (Place(1, 1, 4), Place(2, 4, 4), Place(4, 3, 4), Place(6, 2, 4))


def test_sixteen_against_fifteen_in_bars_of_sixteen_sixteenths():
    """Home the 15: the 16 is on sixteenths 1 and 16 of bar 1, 15 of bar 2, 14 of bar 3 … 2 of bar 15."""
    # Common practice, no source.
    found = rl.Feel(rl.Polyrhythm(16, 15), home=1).places(0)
    assert [(place.beat, place.part) for place in found] == [
        (1, 1),
        *((bar, 17 - bar) for bar in range(1, 16)),
    ]
    assert {place.parts for place in found} == {16}


def test_sixteen_against_fifteen_in_bars_of_fifteen_sixteenths():
    """Home the 16: the 15 is on sixteenths 1, 2 … 15 of bars 1 to 15, and the last bar is empty."""
    # Common practice, no source.
    found = rl.Feel(rl.Polyrhythm(16, 15), home=0).places(1)
    assert [(place.beat, place.part, place.parts) for place in found] == [
        (bar, bar, 15) for bar in range(1, 16)
    ]


def test_the_landmarks_of_sixteen_against_fifteen():
    """Home the 15: the 16 meets a of 4, & of 8 (exactly midway) and e of 12, the quarters of the cycle."""
    # Common practice, no source.
    p = rl.Polyrhythm(16, 15)
    found = rl.Feel(p, home=1).places(0)
    assert [spot(found[k]) for k in (4, 8, 12)] == [
        3 + Fraction(3, 4),
        7 + Fraction(1, 2),
        11 + Fraction(1, 4),
    ]
    assert p.onsets(0)[8] == rl.playing.midway(p, of=0, against=1)


@TRIES
@given(several)
def test_flipping_twice_returns_home_and_moves_no_stroke(p):
    """A pair flips back with the second flip, several come round; the lanes of the cycle never change."""
    for home in range(len(p.pulses)):
        feel = rl.Feel(p, home=home)
        other = feel.flip()
        assert other.polyrhythm == p
        assert other.cycle().lanes == feel.cycle().lanes
        assert feel.flip(other.home).flip(home) == feel
        turned = feel
        for _ in p.pulses:
            turned = turned.flip()
        assert turned == feel
    if len(p.pulses) == 2:
        assert rl.Feel(p, home=0).flip().home == 1
        assert rl.Feel(p, home=1).flip().flip() == rl.Feel(p, home=1)


@TRIES
@given(windows(pairs))
def test_a_window_of_places_is_a_slice_of_the_whole(drawn):
    """Places in a window are those of its strokes, counted from the start of the cycle."""
    p, start, stop = drawn
    feel = rl.Feel(p, home=1)
    inside = [start <= tick < stop for tick in p.onsets(0).tolist()]
    found = feel.places(0, start=start, stop=stop)
    assert found == tuple(place for place, on in zip(feel.places(0), inside, strict=True) if on)


def test_places_far_into_a_very_long_cycle_are_exact():
    """At the end of 1 000 000 007 : 1 000 000 006 the count agrees with Python's whole numbers."""
    p = rl.Polyrhythm(1_000_000_007, 1_000_000_006)
    start = p.ticks - 50 * p.step(0)
    found = rl.Feel(p, home=1).places(0, start=start)
    for place, tick in zip(found, windowed(p.step(0), start, p.ticks), strict=True):
        assert spot(place) == Fraction(tick, p.step(1))


@TRIES
@given(cycles(), st.integers(0, 3))
def test_any_cycle_is_counted_from_its_own_beats(cycle, which):
    """Even or grouped beats: the beat is the last one begun, round the cycle; all parts are equally long.

    Where beats are groups of written notes, each part is such a note, or cuts it.
    """
    lane = cycle.lanes[which % len(cycle.lanes)].onsets if cycle.lanes else np.array([], dtype=np.int64)
    beats = cycle.beats.tolist()
    found = places(cycle, lane)
    if not beats:
        assert found == ()
        return
    part_lengths = set()
    for tick, place in zip(lane.tolist(), found, strict=True):
        begun = [i for i, beat in enumerate(beats) if beat <= tick]
        beat = begun[-1] if begun else len(beats) - 1
        length = (beats[(beat + 1) % len(beats)] - beats[beat] - 1) % cycle.ticks + 1
        assert place.beat == beat + 1
        assert Fraction(place.part - 1, place.parts) == Fraction((tick - beats[beat]) % cycle.ticks, length)
        part_lengths.add(Fraction(length, place.parts))
    if cycle.written:
        assert all((cycle.written / length).denominator == 1 for length in part_lengths)
    else:
        assert len(part_lengths) == (len(lane) > 0)


@TRIES
@given(windows(cycles()))
def test_a_window_of_places_in_any_cycle_is_a_slice_of_the_whole(drawn):
    """Strokes outside the window are left out, and those inside keep their beat, part and parts."""
    cycle, start, stop = drawn
    for lane in cycle.lanes:
        whole = places(cycle, lane.onsets)
        inside = [
            place for place, tick in zip(whole, lane.onsets.tolist(), strict=False) if start <= tick < stop
        ]
        assert places(cycle, lane.onsets, start=start, stop=stop) == tuple(inside)


@TRIES
@given(pairs)
def test_a_cycle_and_a_feel_count_alike(p):
    """The places counted from the beats of the cycle are those of the feel with the same home."""
    for home, other in ((0, 1), (1, 0)):
        feel = rl.Feel(p, home=home)
        cycle = feel.cycle()
        assert places(cycle, cycle.lanes[other].onsets) == feel.places(other)


def test_a_feel_is_a_value_and_the_last_pulse_is_home_by_default():
    """7 against 4 is counted from the 4 unless said otherwise; a feel compares, hashes and is frozen."""
    p = rl.Polyrhythm(7, 4)
    assert rl.Feel(p).home == 1
    assert len({rl.Feel(p), rl.Feel(rl.Polyrhythm(7, 4), home=np.uint8(1))}) == 1
    assert rl.Feel(p, home=0) != rl.Feel(p, home=1)
    with pytest.raises(FrozenInstanceError):
        rl.Feel(p).home = 0
    with pytest.raises(FrozenInstanceError):
        rl.Feel(p).places(0)[0].beat = 2


def test_a_home_that_is_not_there_is_refused():
    """Past the end, below 0 and not a whole number: home is named and an example works."""
    p = rl.Polyrhythm(7, 4)
    for call in (
        lambda home: rl.Feel(p, home),
        lambda home: rl.Feel(p).flip(home),
        lambda home: p.cycle(home),
    ):
        example = refusal(lambda call=call: call(2), "home=2", "there are 2 pulses (7, 4)", IndexError)
        assert call(**keywords(example)) is not None
        for bad in (-1, 1.0, True, "1"):
            refusal(lambda call=call, bad=bad: call(bad), f"home={bad!r}", "not a whole number of at least 0")


def test_a_pulse_that_is_not_there_is_refused():
    """Counting a third pulse of a pair names the pulse."""
    feel = rl.Feel(rl.Polyrhythm(7, 4))
    for ask in (feel.parts, feel.places):
        refusal(lambda ask=ask: ask(2), "pulse=2", "there are 2 pulses (7, 4)", IndexError)
        refusal(lambda ask=ask: ask(-1), "pulse=-1", "not a whole number of at least 0")


def test_what_is_not_a_polyrhythm_is_refused():
    """A number or text in place of a rhythm gets a message with a feel that works; a pair is a rhythm."""
    assert rl.Feel((7, 4)) == rl.Feel(rl.Polyrhythm(7, 4))
    for bad, shown in ((4, "4"), ("7:4", "'7:4'"), (10**5000, TOO_LONG)):
        example = refusal(lambda bad=bad: rl.Feel(bad), f"what={shown}", "is no rhythm: ")
        assert works(example) == rl.Feel(rl.Polyrhythm(7, 4), home=1)


def test_places_too_many_to_list_name_a_window_that_works():
    """Half a million strokes are listed; of more the message has a call that looks at some of them."""
    p = rl.Polyrhythm(500_001, 500_000)
    assert len(rl.Feel(p).places(1)) == 500_000
    example = refusal(lambda: rl.Feel(p).places(0), "500,001 strokes", "the most is 500,000")
    assert works(example)[:2] == (Place(1, 1, 500_001), Place(1, 500_001, 500_001))
    assert rl.Feel(p).places(0, stop=p.ticks // 2)[-1].parts == 500_001


@pytest.mark.parametrize("call", ["Feel", "handout", "score", "approach"])
def test_groups_that_fill_no_beat_are_refused(call):
    """One row that comes to no number of parts is refused with those that there are; several are a choice."""
    made, speed = getattr(rl, call), () if call == "Feel" else (72,)
    with pytest.raises(
        ValueError, match="groups='3\\+3' comes to 6, and a beat of 7 against 5 has 7 or 5 parts"
    ):
        made((7, 5), *speed, groups="3+3")
    with pytest.raises(ValueError, match="comes to 6"):
        made((7, 5), *speed, groups=(3, 3))
    for good in ("4+3", "2+3", "3+3, 2+3", ((3, 3),), ""):
        made((7, 5), *speed, groups=good)
    made((3, 2), *speed, groups="2+3")

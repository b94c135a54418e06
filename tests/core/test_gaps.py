"""Signed gaps, against the trade's rules, laws, and a slow way to the same answer."""

from dataclasses import FrozenInstanceError
from fractions import Fraction
from functools import partial
from math import gcd

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.core.gaps import landmarks
from tests.brute import gaps, strokes, windowed
from tests.refusals import keywords, refusal, works
from tests.strategies import TRIES, bpms, coprime_pairs, pairs, several, windows

LONG = rl.Polyrhythm(1_000_000_007, 1_000_000_006)


def test_the_contract_for_seven_against_four():
    """The four strokes of the 4 are 0, -1, 2 and 1 ticks from the nearest of the 7."""
    found = rl.phase_gaps(rl.Polyrhythm(7, 4), of=1, against=0)
    assert found.ticks.tolist() == [0, -1, 2, 1]
    assert found.onsets.tolist() == [0, 7, 14, 21]
    assert (found.step, len(found)) == (4, 4)
    assert (found.ticks.dtype, found.onsets.dtype) == (np.int64, np.int64)


def test_sixteen_against_fifteen():
    """Home the 15: the sixteen gaps are 0, -1 … -7, 8, 7 … 1 ticks, and the first is 62.5 ms at 60."""
    # Common practice, no source.
    found = rl.phase_gaps(rl.Polyrhythm(16, 15), of=0, against=1)
    assert found.ticks.tolist() == [0, -1, -2, -3, -4, -5, -6, -7, 8, 7, 6, 5, 4, 3, 2, 1]
    assert found.ms(rl.Tempo(60, pulse=1))[1] == -62.5


@TRIES
@given(pairs)
def test_each_gap_is_the_distance_to_the_nearest_stroke(p):
    """Every pair: the gap agrees with a look at all strokes round the cycle; midway counts as after."""
    for of, against in ((0, 1), (1, 0), (0, 0)):
        found = rl.phase_gaps(p, of=of, against=against)
        assert found.ticks.tolist() == gaps(p, of, against)
        assert found.onsets.tolist() == strokes(p)[of]


@TRIES
@given(several)
def test_gaps_lie_within_half_a_step(p):
    """Among any number of pulses, a gap is more than -step/2 and at most step/2."""
    for of in range(len(p.pulses)):
        for against in range(len(p.pulses)):
            found = rl.phase_gaps(p, of=of, against=against).ticks.tolist()
            assert all(-p.step(against) < 2 * gap <= p.step(against) for gap in found)
            assert found == gaps(p, of, against)


@TRIES
@given(coprime_pairs)
def test_coprime_pulses_visit_every_gap_once(p):
    """Without a common factor each whole number of ticks within half a step occurs exactly once."""
    for of, against in ((0, 1), (1, 0)):
        step = p.step(against)
        found = sorted(rl.phase_gaps(p, of=of, against=against).ticks.tolist())
        assert found == list(range(-((step - 1) // 2), step // 2 + 1))


@TRIES
@given(pairs)
def test_gaps_of_a_to_b_are_those_of_b_to_a_turned_round(p):
    """Two strokes closer than half the smaller step measure each other with the sign changed."""
    close = min(p.step(0), p.step(1))
    seen = []
    for of, against in ((0, 1), (1, 0)):
        found = rl.phase_gaps(p, of=of, against=against)
        rows = zip(found.onsets.tolist(), found.ticks.tolist(), strict=True)
        seen.append({(on, (on - gap) % p.ticks, gap) for on, gap in rows if 2 * abs(gap) < close})
    assert seen[0] == {(other, on, -gap) for on, other, gap in seen[1]}


@TRIES
@given(pairs)
def test_the_second_half_mirrors_the_first(p):
    """Backwards from the end the gaps have the other sign; only exactly midway keeps its own."""
    found = rl.phase_gaps(p, of=0, against=1)
    for gap, mirrored in zip(found.ticks[1:].tolist(), found.ticks[:0:-1].tolist(), strict=True):
        assert mirrored == (gap if 2 * gap == found.step else -gap)


@TRIES
@given(pairs, st.integers(1, 9))
def test_a_common_factor_repeats_the_gaps(p, factor):
    """Multiplying both pulses by k repeats the same gaps k times."""
    often = rl.phase_gaps(rl.Polyrhythm(*(factor * n for n in p.pulses)), of=0, against=1)
    assert often.ticks.tolist() == rl.phase_gaps(p, of=0, against=1).ticks.tolist() * factor


@TRIES
@given(windows(pairs))
def test_a_window_is_a_slice_of_the_whole(drawn):
    """A window holds the strokes with start <= tick < stop, at their own ticks, with their own gaps."""
    p, start, stop = drawn
    whole, part = rl.phase_gaps(p, of=0, against=1), rl.phase_gaps(p, of=0, against=1, start=start, stop=stop)
    inside = (whole.onsets >= start) & (whole.onsets < stop)
    assert part.onsets.tolist() == whole.onsets[inside].tolist()
    assert part.ticks.tolist() == whole.ticks[inside].tolist()


@pytest.mark.parametrize("where", ["start", "middle", "end"])
@pytest.mark.parametrize(("of", "against"), [(0, 1), (1, 0)])
def test_windows_into_a_cycle_too_long_to_hold(where, of, against):
    """Five hundred gaps of 1 000 000 007 : 1 000 000 006 agree with Python's whole numbers."""
    step, other = LONG.step(of), LONG.step(against)
    width = 500 * step
    start = {"start": 0, "middle": (LONG.ticks - width) // 2, "end": LONG.ticks - width}[where]
    found = rl.phase_gaps(LONG, of=of, against=against, start=start, stop=start + width)
    onsets = windowed(step, start, start + width)
    nearest = [
        min((on // other * other, -(-on // other) * other), key=lambda x: abs(on - x)) for on in onsets
    ]
    assert len(found) == 500
    assert found.onsets.tolist() == onsets
    assert found.ticks.tolist() == [on - x for on, x in zip(onsets, nearest, strict=True)]


def test_the_longest_grid_is_measured_exactly():
    """On the longest grid allowed the last strokes are still so many ticks before the next cycle."""
    p = rl.Polyrhythm(2**62, 1)
    assert rl.phase_gaps(p, of=0, against=1, start=2**62 - 3).ticks.tolist() == [-3, -2, -1]
    middle = 2**61
    found = rl.phase_gaps(p, of=0, against=1, start=middle, stop=middle + 2).ticks.tolist()
    assert found == [middle, 1 - middle]


@TRIES
@given(pairs, bpms)
def test_milliseconds_are_exact_to_a_billionth(p, bpm):
    """At any tempo, with any tail of decimals, ms agrees with exact Fractions to 1e-9."""
    tempo = rl.Tempo(bpm, pulse=1)
    found = rl.phase_gaps(p, of=0, against=1)
    # A beat of pulse 1 lasts 60000/bpm ms and holds `step` ticks.
    exact = [Fraction(60_000 * gap, found.step) / tempo.bpm for gap in found.ticks.tolist()]
    assert found.ms(tempo).dtype == np.float64
    assert np.allclose(found.ms(tempo), list(map(float, exact)), rtol=1e-9, atol=1e-9)


def test_milliseconds_do_not_overflow_where_gaps_and_decimals_are_long():
    """Half a million ticks at a tempo of 16 digits: the product is far beyond 64 bits, the answer is not."""
    found = rl.phase_gaps(rl.Polyrhythm(1_000_001, 1_000_000), of=0, against=1)
    for bpm in (72.12345678901234, Fraction(10**40, 10**39 + 1), 1 / 3):
        tempo = rl.Tempo(bpm, pulse=1)
        exact = Fraction(60_000 * int(found.ticks[499_000]), found.step) / tempo.bpm
        assert found.ms(tempo)[499_000] == pytest.approx(float(exact), rel=1e-12)


def test_gaps_cannot_be_changed_and_print_their_ticks():
    """Arrays are read-only, fields are frozen, and the print names both pulses."""
    found = rl.phase_gaps(rl.Polyrhythm(7, 4), of=1, against=0)
    for array in (found.onsets, found.ticks):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 0
    with pytest.raises(FrozenInstanceError):
        found.of = 0
    assert repr(found) == "Gaps(of the 4 against the 7: 0 -1 2 1)"
    assert repr(rl.phase_gaps(rl.Polyrhythm(31, 30), of=0, against=1)).endswith(" …)")


def test_midway_agrees_with_a_look_at_every_stroke():
    """For every pair up to 40, the first stroke with equal distance to both neighbours, or none."""
    for m in range(1, 41):
        for n in range(1, 41):
            p = rl.Polyrhythm(m, n)
            # Stroke k of m falls k*n/m beats of n into the cycle: exactly midway at a half.
            halves = [k * p.step(0) for k in range(m) if Fraction(k * n, m) % 1 == Fraction(1, 2)]
            assert rl.playing.midway(p, of=0, against=1) == (halves[0] if halves else None), (m, n)


@TRIES
@given(coprime_pairs)
def test_only_an_even_number_has_a_stroke_exactly_midway(p):
    """If one of two coprime numbers is even its mid-cycle stroke is midway; if both are odd there is none."""
    found = [rl.playing.midway(p, of=0, against=1), rl.playing.midway(p, of=1, against=0)]
    assert found == [p.ticks // 2 if n % 2 == 0 else None for n in p.pulses]


@TRIES
@given(pairs)
def test_landmarks_are_the_strokes_on_a_quarter_of_a_home_beat(p):
    """A quarter, a half or three quarters of a beat into it, found by Fractions; never on the beat."""
    m, n = p.pulses
    shares = {k * p.step(0): Fraction(k * n, m) % 1 for k in range(m)}
    quarters = (Fraction(1, 4), Fraction(1, 2), Fraction(3, 4))
    assert landmarks(p, of=0, against=1) == tuple(tick for tick, share in shares.items() if share in quarters)


def test_landmarks_do_not_overflow_on_a_beat_of_nearly_2_to_the_62_ticks():
    """Eight strokes in one very long beat: the third, fifth and seventh are on its quarters."""
    p = rl.Polyrhythm(8, 1, 3 * 2**60)
    assert landmarks(p, of=0, against=1) == tuple(k * p.ticks // 4 for k in (1, 2, 3))


def test_too_many_strokes_name_a_window_that_works():
    """The gaps of a billion strokes are refused, and the message's own call to phase_gaps works."""
    wrong = "too many to hold at once (the most is 50,000,000)"
    for window in ({}, {"start": LONG.ticks // 2}):
        count = LONG.pulses[0] if not window else LONG.pulses[0] // 2
        call = partial(rl.phase_gaps, LONG, of=0, against=1, **window)
        example = refusal(call, f"{count:,} strokes", wrong)
        assert example.startswith(f"phase_gaps({LONG}, of=0, against=1, start=")
        assert 500 < len(works(example)) < 2000


@pytest.mark.parametrize("measure", [rl.phase_gaps, rl.playing.midway, landmarks])
def test_pulses_that_are_not_there_are_refused(measure):
    """Each index is checked by its own name: past the end, negative, or not a whole number."""
    p = rl.Polyrhythm(7, 4)
    for name, other in (("of", "against"), ("against", "of")):
        calls = {bad: partial(measure, p, **{name: bad, other: 0}) for bad in (2, -1, 1.5, "1")}
        example = refusal(calls.pop(2), f"{name}=2", "there are 2 pulses (7, 4)", IndexError)
        assert keywords(example) == {name: 1}
        for bad, call in calls.items():
            refusal(call, f"{name}={bad!r}", "not a whole number of at least 0")


@pytest.mark.parametrize("measure", [rl.phase_gaps, rl.playing.midway, landmarks])
def test_a_pulse_left_out_is_the_other_of_the_first_two(measure):
    """Left out, or None, `of` is 0 and `against` is 1; of one that is named the other is what is left."""
    p = rl.Polyrhythm(7, 4, 3)
    for left_out in ({}, {"of": None}, {"against": None}, {"of": 0}, {"against": 1}):
        assert measure(p, **left_out) == measure(p, of=0, against=1)
    for turned in ({"of": 1}, {"against": 0}, {"of": None, "against": 0}):
        assert measure(p, **turned) == measure(p, of=1, against=0)


def test_what_is_not_a_polyrhythm_is_refused():
    """The message repeats what was given and shows a call that works."""
    example = refusal(lambda: rl.phase_gaps("7:4", 0, 1), "what='7:4'", "is no rhythm: ")
    assert works(example).ticks.tolist() == [0, -1, 2, 1]


def test_a_pulse_is_never_away_from_itself():
    """Measured against itself, or against its double, a pulse has no gap."""
    assert not rl.phase_gaps(rl.Polyrhythm(7, 4), of=0, against=0).ticks.any()
    assert not rl.phase_gaps(rl.Polyrhythm(4, 8), of=0, against=1).ticks.any()
    assert gcd(*rl.phase_gaps(rl.Polyrhythm(8, 4), of=0, against=1).ticks.tolist()) == 1


def test_landmarks_of_a_cycle_too_long_to_hold_are_found_all_the_same():
    """A billion strokes have three; a cycle that has too many is refused with one that has not."""
    n = 2**30
    assert landmarks(rl.Polyrhythm(n, n - 1), of=0, against=1) == tuple(
        k * n * (n - 1) // 4 for k in (1, 2, 3)
    )
    example = refusal(
        lambda: landmarks(rl.Polyrhythm(4 * 10**9, 10**9), 0, 1), "10000000", "more than the 500,000"
    )
    assert works(example) == (60, 120, 180)

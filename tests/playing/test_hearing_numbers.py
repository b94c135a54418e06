"""The numbers in the sentences of a tempo, worked out by Fractions, for any pair at any tempo."""

import re
from fractions import Fraction
from itertools import groupby
from math import ceil, isqrt, lcm

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.playing import hearing
from rhythmlab.text import descriptions, numbers
from tests import brute
from tests.strategies import TRIES, pairs

NBSP = "\N{NO-BREAK SPACE}"
slow_and_fast = st.one_of(st.integers(20, 400), st.fractions(20, 400, max_denominator=9))


def exact(text: str) -> Fraction:
    """Read a number back."""
    return Fraction(text.replace(NBSP, ""))


@TRIES
@given(pairs, slow_and_fast)
@example(rl.Polyrhythm(9, 4), 60)
@example(rl.Polyrhythm(10, 3), 150)
@example(rl.Polyrhythm(11, 3), 150)
def test_the_zones_said_are_those_of_every_stroke(p, bpm):
    """Walking the strokes one by one gives the zones in the order said, or totals when many."""
    of, home = 0, 1
    tempo = rl.Tempo(bpm, pulse=home)
    tick_ms = Fraction(60_000 * p.pulses[home]) / (Fraction(bpm) * p.ticks)
    step = p.ticks // p.pulses[home]
    each = [brute.zone(gap, step, tick_ms) for gap in brute.gaps(p, of, home)]
    runs = [(zone, side, len(list(group))) for (zone, side), group in groupby(each)]
    if len(runs) > 9:
        names = ("together", "flam", "open flam", "apart", "alternating")
        totals = [(zone, sum(one == zone for one, _ in each)) for zone in names]
        runs = [(zone, "", count) for zone, count in totals if count]
    parts = [
        f"{count} {zone}{'s' if count > 1 and zone.endswith('flam') else ''} {side}".strip()
        for zone, side, count in runs
    ]
    text = hearing.zones_text(rl.playing.zones(rl.phase_gaps(p, of, home), tempo))
    moving, beat = (descriptions.pulse_name(p, i) for i in (of, home))
    about = "" if Fraction(bpm).denominator == 1 else "about "
    assert text.startswith(
        f"At {about}{round(bpm)} bpm of {beat}, one tick is {numbers.number(tick_ms, 1)} ms and "
        f"{moving} plays: {', '.join(parts)}."
    )
    wide = ("flam", "open flam", "apart")
    narrow = [abs(gap) for gap, (zone, _) in zip(brute.gaps(p, of, home), each, strict=True) if zone in wide]
    opened = bool(narrow) and min(narrow) * tick_ms > 40
    assert (". The pair is already open: the narrowest gap is " in text) == opened
    assert ("already open" in text) == opened
    if opened:
        assert (
            f"flams only from {numbers.number(ceil(Fraction(60_000 * min(narrow), 40 * step)))} bpm" in text
        )
    # 20 ms: Watson 2004, citing Hirsh (abstract).
    assert ("too narrow to hear which came first" in text) == (bool(narrow) and min(narrow) * tick_ms < 20)


@pytest.mark.parametrize(
    ("bpm", "open_"), [(60, True), (93, True), (93.75, False), (94, False), (100, False)]
)
def test_sixteen_against_fifteen_flams_from_93_75(bpm, open_):
    """A sixteenth of a beat is 40 ms when a beat is 640 ms, 93.75 a minute; at 60 it is 62.5 ms."""
    p = rl.Polyrhythm(16, 15)
    text = hearing.zones_text(rl.playing.zones(rl.phase_gaps(p, 0, 1), rl.Tempo(bpm, pulse=1)))
    assert ("The pair is already open" in text) is open_
    assert Fraction(60_000) / (16 * 40) == Fraction(375, 4)
    if open_:
        narrowest = Fraction(60_000, 16) / Fraction(bpm)
        assert f"the narrowest gap is {numbers.number(narrowest, 1)} ms" in text
        assert text.endswith("it flams only from 94 bpm of the 15.")


@pytest.mark.parametrize(("bpm", "gap"), [(187.5, ""), (188, "19.9 ms"), (200, "18.8 ms"), (300, "12.5 ms")])
def test_a_gap_too_narrow_for_its_order_is_said_with_its_width(bpm, gap):
    """Under 20 ms nobody can tell which came first: from above 187.5 on the 15, and not at it."""
    # Watson 2004, citing Hirsh (abstract).
    p = rl.Polyrhythm(16, 15)
    text = hearing.zones_text(rl.playing.zones(rl.phase_gaps(p, 0, 1), rl.Tempo(bpm, pulse=1)))
    assert ("too narrow" in text) == bool(gap)
    assert (
        f"The narrowest gap, {gap}, is too narrow to hear which came first (that takes about 20 ms)." in text
        or not gap
    )


def test_a_flam_limit_that_the_reader_moves_is_the_one_that_is_said():
    """With 30 ms in place of 40 the tempo from which 16:15 flams is 125."""
    p = rl.Polyrhythm(16, 15)
    z = rl.playing.zones(rl.phase_gaps(p, 0, 1), rl.Tempo(100, pulse=1), limits=rl.limits(flam=30))
    assert "flams only from 125 bpm of the 15" in hearing.zones_text(z)
    z = rl.playing.zones(rl.phase_gaps(p, 0, 1), rl.Tempo(100, pulse=1), limits=rl.limits(order=38))
    assert "37.5 ms, is too narrow to hear which came first (that takes about 38 ms)" in hearing.zones_text(z)


@TRIES
@given(pairs, slow_and_fast, st.sampled_from([0, 1]))
@example(rl.Polyrhythm(5, 4), 80, 1)  # fives of 150 ms
@example(rl.Polyrhythm(4, 3), 120, 1)  # fours of 125 ms
def test_parts_said_last_as_long_as_they_do(p, bpm, home):
    """A beat over lcm / home parts, held against 100 ms up to four parts and a sixth of a second above."""
    # Repp 2006 (abstract), 100 ms; Repp, London & Keller 2005 (first page), about 6 Hz.
    other = 1 - home
    parts = lcm(*p.pulses) // p.pulses[home]
    text = hearing.part_text(rl.Feel(p, home), rl.Tempo(bpm, pulse=home))
    if parts == 1:
        assert text == ""
        return
    part_ms = Fraction(60_000) / (Fraction(bpm) * parts)
    assert f"takes {parts} parts to a beat, {numbers.number(part_ms, 0)} ms each" in text
    assert text.startswith(
        f"Counting {descriptions.pulse_name(p, other)} from {descriptions.pulse_name(p, home)} "
    )
    least = 100 if parts <= 4 else Fraction(1000, 6)
    what = "parts can be followed" if parts <= 4 else "uneven groups of parts can be counted"
    hard = f", hard at this tempo: {what} from about {numbers.number(least, 0)} ms" if part_ms < least else ""
    assert text.endswith(f" ms each{hard}.")
    assert ("hard at this tempo" in text) == (part_ms < least)


def test_each_of_three_pulses_is_counted_on_its_own():
    """3:4:5 from the 4 at 60: triplets of 333 ms and fives of 200 ms, no fifteenths."""
    text = hearing.part_text(rl.Feel(rl.Polyrhythm(3, 4, 5), home=1), rl.Tempo(60, pulse=1))
    assert text == (
        "Counting the 3 from the 4 takes 3 parts to a beat, 333 ms each. "
        "Counting the 5 from the 4 takes 5 parts to a beat, 200 ms each."
    )


@TRIES
@given(pairs, slow_and_fast, st.sampled_from([0, 1]))
def test_the_pull_and_its_band_are_said_in_the_beats_of_home(p, bpm, home):
    """The band is where both periods are equally far, as a ratio, from 500 and from 700 ms."""
    # London 2012, Hearing in Time, ch. 2 (abstract): preferred beat 500 to 700 ms.
    fast, slow = max(p.pulses), min(p.pulses)
    text = hearing.pull_text(p, rl.Tempo(bpm, pulse=home))
    if 8 * (fast - slow) <= slow:
        assert "too near each other to differ in pull" in text
        return
    low, high = (int(number) for number in re.search(r"about (\d+) to (\d+) bpm", text).groups())
    # bpm of the slower where its period times the faster's is the square of the centre
    for centre, found in ((700, low), (500, high)):
        share = Fraction(p.pulses[home], slow)
        squared = Fraction(60_000, centre) ** 2 * Fraction(slow, fast) * share**2
        assert abs(found - isqrt(int(squared * 10**6)) / 1000) <= 0.51
    name = {i: descriptions.pulse_name(p, i) for i in (0, 1)}
    faster = name[0] if p.pulses[0] > p.pulses[1] else name[1]
    slower = name[1] if faster == name[0] else name[0]
    assert f"bpm of {name[home]}" in text
    now = Fraction(bpm)
    if now < low - 1:
        assert f"equal, {faster} tends to pull as the beat here" in text
        assert f"faster than that {slower} tends" in text
    elif now > high + 1:
        assert f"equal, {slower} tends to pull as the beat here" in text
        assert f"slower than that {faster} tends" in text
    elif low + 1 < now < high - 1:
        assert f"below it {faster} tends to pull, above it {slower}" in text


def test_the_band_of_seven_against_four_in_both_homes():
    """About 65 to 91 on the 4, which is 113 to 159 on the 7."""
    p = rl.Polyrhythm(7, 4)
    assert "about 65 to 91 bpm of the 4" in hearing.pull_text(p, rl.Tempo(50, pulse=1))
    assert "about 113 to 159 bpm of the 7" in hearing.pull_text(p, rl.Tempo(126, pulse=0), (0, 1))
    assert "the tempo's beat" in hearing.pull_text(p, rl.Tempo(72, ticks=7))


@TRIES
@given(pairs, slow_and_fast)
def test_a_home_outside_the_beat_is_said_with_its_bound(p, bpm):
    """200 to 1500 ms: only a beat outside is a sentence, and it names 300 or 40 a minute."""
    # London 2012, Hearing in Time, ch. 2 (abstract).
    text = hearing.beat_text(rl.Feel(p, home=1), rl.Tempo(bpm, pulse=1))
    period = Fraction(60_000) / Fraction(bpm)
    assert ("faster than any pulse felt as a beat (about 300 bpm)" in text) == (period < 200)
    assert ("slower than any pulse felt as a beat (about 40 bpm)" in text) == (period > 1500)
    assert bool(text) == (not 200 <= period <= 1500)


@TRIES
@given(pairs, slow_and_fast)
def test_the_meeting_said_is_the_first_shared_stroke(p, bpm):
    """Seconds to the first stroke that both play, found among all of them."""
    # London 2012, Hearing in Time, ch. 2 (abstract): 5 to 6 s; the middle is taken.
    shared = sorted(set.intersection(*map(set, brute.strokes(p))))
    ticks = [*shared, p.ticks][1]
    every = Fraction(60 * p.pulses[1]) / Fraction(bpm) * ticks / p.ticks
    text = hearing.meet_text(p, rl.Tempo(bpm, pulse=1), (0, 1))
    assert text.startswith(f"The pulses meet every {numbers.seconds(every)}")
    assert ("longer than anything felt as one bar (about 5.5 seconds): go by landmarks" in text) == (
        every > 5.5
    )


@TRIES
@given(pairs, st.sampled_from([0, 1]))
def test_landmarks_are_the_strokes_on_a_quarter_of_a_beat(p, home):
    """Every stroke on the e, the & or the a is named, and no other."""
    of = 1 - home
    if hearing.seen_as_gaps(p) and p.reduced.pulses[home] % 2 == 0:
        return  # counted from the even number they are beats
    signs = {Fraction(1, 4): "e", Fraction(1, 2): "&", Fraction(3, 4): "a"}
    places = [Fraction(k * p.pulses[home], p.pulses[of]) for k in range(p.pulses[of])]
    names = [f"{signs[at % 1]} of {int(at) + 1}" for at in places if at % 1 in signs]
    text = hearing.landmarks_text(rl.Feel(p, home), of)
    assert text == (
        f"Landmarks by ear: {descriptions.pulse_name(p, of)} falls on {numbers.some(names)}." if names else ""
    )


def test_neighbours_have_the_same_landmarks_from_both_homes():
    """8:7 up to 64:63, looked for tick by tick: one stroke a quarter, a half, three quarters into a step.

    From the odd number they are strokes on the e, the & and the a; from the even one they are its beats, said
    by how far the other pulse is; from both homes the same moments, with one exactly midway.
    """
    for n in range(7, 64):
        for p in (rl.Polyrhythm(n + 1, n), rl.Polyrhythm(n, n + 1)):
            even = 0 if p.pulses[0] % 2 == 0 else 1
            step = p.step(1 - even)
            places = {
                t: 4 * (t % step) // step for t in brute.strokes(p)[even] if t % step and 4 * t % step == 0
            }
            assert list(places.values()).count(2) == 1
            for home in (0, 1):
                feel, of = rl.Feel(p, home), 1 - home
                marks = hearing.ear_landmarks(feel, of)
                assert {mark.tick: mark.quarters for mark in marks} == places
                assert all(mark.between == (home == even) for mark in marks)
                text = hearing.landmarks_text(feel, of)
                for mark in marks:
                    beat = mark.tick // p.step(home) + 1
                    name = hearing.landmark_name(feel, mark)
                    if not mark.between:
                        assert name == f"{'e&a'[mark.quarters - 1]} of {beat}"
                        assert name in text
                        continue
                    gap = brute.gaps(p, home, of)[beat - 1]  # from the nearest stroke of the other
                    assert abs(gap) * (2 if mark.quarters == 2 else 4) == step
                    if mark.quarters == 2:
                        assert name == f"exact midway on {beat}"
                        assert f"beat {beat} is exactly midway" in text
                        continue
                    side = "before" if gap > 0 else "after"
                    assert name == f"quarter {side} {beat}"
                    assert f"{side} beat {beat}" in text

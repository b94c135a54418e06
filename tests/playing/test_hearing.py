"""Zones and pull, against published limits, design numbers, and Fractions."""

import warnings
from dataclasses import FrozenInstanceError
from fractions import Fraction
from itertools import groupby
from math import sqrt

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.playing.hearing import ZONES, Pull
from tests.brute import gaps
from tests.refusals import keywords, refusal, works
from tests.strategies import TRIES, bpms, pairs, several, windows

SIXTEEN = rl.Polyrhythm(16, 15)
# Danielsen et al. 2026 (as summarised elsewhere): two fast attacks 40 ms apart can be heard as two.
FLAM_MS = 40


def zone(gap: int, step: int, bpm: Fraction, flam_ms: Fraction = Fraction(FLAM_MS)) -> str:
    """Return the zone of a gap in ticks, of a beat with `step` ticks, from the definitions, in Fractions."""
    beat = Fraction(abs(gap), step)
    if gap == 0:
        return "together"
    if abs(beat - Fraction(1, 2)) <= max(Fraction(1, 2 * step), Fraction(1, 16)):
        return "alternating"
    ms = beat * 60_000 / bpm
    # Repp 2006 (abstract): from 100 ms strokes are followed one by one; a choice made here.
    return "flam" if ms <= flam_ms else "open flam" if ms < 100 else "apart"


def zone_names(found) -> list[str]:
    """Return the zone of each stroke by name."""
    return [ZONES[code] for code in found.codes.tolist()]


@TRIES
@given(windows(pairs), bpms, st.sampled_from([Fraction(1, 2), Fraction(25), Fraction(40), Fraction(201, 2)]))
def test_each_gap_is_in_the_zone_of_its_milliseconds_and_its_share(drawn, bpm, flam_ms):
    """At any tempo and flam limit: flam by milliseconds, alternating by the share of the beat, exactly."""
    p, start, stop = drawn
    tempo = rl.Tempo(bpm, pulse=1)
    measured = rl.phase_gaps(p, of=0, against=1, start=start, stop=stop)
    found = rl.playing.zones(measured, tempo, limits=rl.limits(flam=flam_ms))
    inside = [
        gap for gap, tick in zip(gaps(p, 0, 1), p.onsets(0).tolist(), strict=True) if start <= tick < stop
    ]
    expected = [zone(gap, p.step(1), tempo.bpm, flam_ms) for gap in inside]
    assert zone_names(found) == expected
    assert found.counts == {name: expected.count(name) for name in ZONES}
    assert found.flam_ms == flam_ms


@TRIES
@given(windows(pairs), bpms)
def test_runs_are_neighbours_in_one_zone_on_one_side(drawn, bpm):
    """Runs follow each other without a hole, each in one zone and on one side; alternating takes both."""
    p, start, stop = drawn
    measured = rl.phase_gaps(p, of=0, against=1, start=start, stop=stop)
    found = rl.playing.zones(measured, rl.Tempo(bpm, pulse=1))
    signs = np.sign(measured.ticks).tolist()
    sides = {0: "", 1: "after", -1: "before"}
    heard = [
        (name, "" if name == "alternating" else sides[s])
        for name, s in zip(zone_names(found), signs, strict=True)
    ]
    expected = [(zone, side, len(list(rows))) for (zone, side), rows in groupby(heard)]
    assert [(run.zone, run.side, run.strokes) for run in found.runs] == expected
    assert [run.first for run in found.runs] == [
        sum(row[2] for row in expected[:i]) for i in range(len(expected))
    ]


@TRIES
@given(pairs, bpms)
def test_the_widest_flam_is_a_flam_and_one_tick_more_is_not(p, bpm):
    """`flam_ticks` is the most whole ticks that last no longer than the limit, up to a beat."""
    tempo = rl.Tempo(bpm, pulse=1)
    found = rl.playing.zones(rl.phase_gaps(p, of=0, against=1), tempo)
    tick_ms = 1000 * tempo.tick_seconds(p)
    assert found.flam_ticks * tick_ms <= FLAM_MS
    assert found.flam_ticks == p.step(1) or (found.flam_ticks + 1) * tick_ms > FLAM_MS


def test_sixteen_against_fifteen_at_60_is_already_open():
    """At 60 on the 15 there is no flam at all: the first gap is 62.5 ms."""
    # Common practice, no source; the limit of 40 ms is Danielsen et al. 2026 (as summarised elsewhere).
    measured = rl.phase_gaps(SIXTEEN, of=0, against=1)
    found = rl.playing.zones(measured, rl.Tempo(60, pulse=1))
    assert (found.counts["together"], found.counts["flam"]) == (1, 0)
    assert abs(measured.ms(rl.Tempo(60, pulse=1))[1]) == 62.5
    assert [run.zone for run in found.runs] == [
        "together",
        "open flam",
        "apart",
        "alternating",
        "apart",
        "open flam",
    ]
    assert [run.side for run in found.runs] == ["", "before", "before", "", "after", "after"]


def test_sixteen_against_fifteen_flams_from_93_and_three_quarters():
    """With 40 ms the first flam of 16:15 comes at exactly 93.75 on the 15; below it there is none."""
    assert (
        rl.playing.flams_from(SIXTEEN, of=0, against=1) == Fraction("93.75") == Fraction(60_000, 16) / FLAM_MS
    )
    measured = rl.phase_gaps(SIXTEEN, of=0, against=1)
    assert rl.playing.zones(measured, rl.Tempo(93.75, pulse=1)).counts["flam"] == 2
    assert rl.playing.zones(measured, rl.Tempo(93.74, pulse=1)).counts["flam"] == 0


@TRIES
@given(several, st.sampled_from([Fraction(20), Fraction(40), Fraction(125, 3)]))
def test_the_tempo_where_flams_begin_is_exact(p, flam_ms):
    """At that tempo there is a flam, a shade below it none; without such a tempo no gap could be one."""
    limits = rl.limits(flam=flam_ms)
    for of in range(len(p.pulses)):
        for home in range(len(p.pulses)):
            bpm = rl.playing.flams_from(p, of=of, against=home, flam_ms=flam_ms)
            zones = {zone(gap, p.step(home), Fraction(1, 10**9)) for gap in gaps(p, of, home)}
            assert (bpm is None) == ("apart" not in zones)
            if bpm is not None:
                measured = rl.phase_gaps(p, of=of, against=home)
                assert rl.playing.zones(measured, rl.Tempo(bpm, pulse=home), limits=limits).counts["flam"] > 0
                below = rl.Tempo(bpm * Fraction(999_999, 10**6), pulse=home)
                assert rl.playing.zones(measured, below, limits=limits).counts["flam"] == 0


@pytest.mark.parametrize("pulses", [(3, 2), (2, 3), (2, 1), (7, 7), (4, 8), (3, 4)])
def test_pairs_that_only_meet_or_alternate_never_flam(pulses):
    """Small pairs have no gap that could be a flam at any tempo."""
    assert rl.playing.flams_from(rl.Polyrhythm(*pulses), of=0, against=1) is None


def test_zones_cannot_be_changed_and_may_be_empty():
    """Codes are read-only, fields are frozen, and a window without strokes has no runs."""
    found = rl.playing.zones(rl.phase_gaps(SIXTEEN, of=0, against=1), rl.Tempo(100, pulse=1))
    with pytest.raises(ValueError, match="read-only"):
        found.codes[0] = 1
    for value, field in (
        (found, "codes"),
        (found.runs[0], "zone"),
        (rl.playing.pull(SIXTEEN, found.tempo), "pulse"),
    ):
        with pytest.raises(FrozenInstanceError):
            setattr(value, field, None)
    empty = rl.playing.zones(rl.phase_gaps(SIXTEEN, of=0, against=1, start=1, stop=2), rl.Tempo(100, pulse=1))
    assert (empty.runs, sum(empty.counts.values())) == ((), 0)


def test_the_pull_of_seven_against_four_changes_over_between_65_and_91():
    """In the band both periods are equally far, as a ratio, from 500 to 700 ms: about 65 to 91."""
    # London 2012, Hearing in Time, ch. 2 (abstract): preferred beat 500 to 700 ms.
    low, high = rl.playing.changeover(rl.Polyrhythm(7, 4), 0, 1)
    assert (round(low), round(high)) == (65, 91)
    for bpm, preferred in ((low, 700), (high, 500)):
        slow, fast = 60_000 / bpm, 60_000 / bpm * 4 / 7
        assert slow / preferred == pytest.approx(preferred / fast, rel=1e-12)


@TRIES
@given(several, st.integers(20, 400))
def test_below_the_band_the_faster_pulls_and_above_it_the_slower(p, bpm):
    """The pulse nearer, as a ratio, to all published periods pulls; in between neither does."""
    found = rl.playing.pull(p, rl.Tempo(bpm, pulse=0))
    faster, slower = (0, 1) if p.pulses[0] >= p.pulses[1] else (1, 0)
    assert (found.faster, found.slower) == (faster, slower)
    periods = [Fraction(60_000, bpm) * p.pulses[0] / pulse for pulse in p.pulses]
    if p.pulses[faster] - p.pulses[slower] <= Fraction(p.pulses[slower], 8):
        assert (found.pulse, found.low, found.high) == (None, None, None)
        return
    # London 2012, ch. 2 (abstract): centres from 500 to 700 ms.
    square = periods[faster] * periods[slower]
    assume(square not in (500**2, 700**2))  # the edges themselves are floats
    assert found.pulse == (faster if square > 700**2 else slower if square < 500**2 else None)
    # At the edges of the band the geometric mean of both periods is the published centre.
    assert sqrt(square) * bpm == pytest.approx(found.low * 700, rel=1e-9)
    assert sqrt(square) * bpm == pytest.approx(found.high * 500, rel=1e-9)


@TRIES
@given(several, st.integers(20, 400))
def test_the_pull_does_not_depend_on_how_the_tempo_is_said(p, bpm):
    """The same speed said in another pulse, or the two pulses named the other way round, pulls the same."""
    tempo = rl.Tempo(bpm, pulse=0)
    last = len(p.pulses) - 1
    found = rl.playing.pull(p, tempo, of=0, against=last)
    again = rl.playing.pull(p, tempo.in_pulse(p, last), of=0, against=last)
    assert found.pulse == again.pulse
    if p.pulses[0] != p.pulses[last]:
        assert rl.playing.pull(p, tempo, of=last, against=0) == found
    if found.low is not None:
        factor = p.pulses[last] / p.pulses[0]
        assert (again.low, again.high) == pytest.approx((found.low * factor, found.high * factor), rel=1e-9)


def test_near_equal_pulses_do_not_differ_in_pull():
    """16:15 has no changeover at any tempo; 7:4 at 50, 72 and 100 on the 4 has the 7, neither and the 4."""
    assert all(rl.playing.pull(SIXTEEN, rl.Tempo(bpm, pulse=1)).pulse is None for bpm in (20, 60, 200))
    p = rl.Polyrhythm(7, 4)
    assert [rl.playing.pull(p, rl.Tempo(bpm, pulse=1)).pulse for bpm in (50, 72, 100)] == [0, None, 1]
    assert rl.playing.pull(SIXTEEN, rl.Tempo(60, pulse=1)).low is None


def test_a_pulse_that_is_not_there_is_refused():
    """Comparing the pull of a third pulse of a pair is an IndexError that names it."""
    p, tempo = rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1)
    example = refusal(
        lambda: rl.playing.pull(p, tempo, of=0, against=2), "against=2", "2 pulses (7, 4)", IndexError
    )
    assert rl.playing.pull(p, tempo, **keywords(example)) == rl.playing.pull(p, tempo)
    example = refusal(
        lambda: rl.playing.pull(p, tempo, of=-1, against=0), "of=-1", "not a whole number of at least 0"
    )
    assert rl.playing.pull(p, tempo, **keywords(example)).faster == 0


@pytest.mark.parametrize(
    ("pulses", "named"),
    [
        *[((0, 2), "against=2"), ((5, 0), "of=5"), ((0, "x"), "against='x'"), ((-1, 0), "of=-1")],
        *[((0, 10**30), f"against={10**30}"), ((0,), "pulses=(0,)"), ("01", "pulses='01'")],
        *[((0, 1, 1), "pulses=(0, 1, 1)"), (0, "pulses=0")],
    ],
)
def test_pulses_of_a_pull_are_refused_by_the_name_they_have(pulses, named, recwarn):
    """Each of the two by its own name; by the old one for both, where they are not two."""
    asked = [{"pulses": pulses}]
    if isinstance(pulses, tuple) and len(pulses) == 2:
        asked.append({"of": pulses[0], "against": pulses[1]})
    for one in asked:
        error = (ValueError, IndexError)
        example = refusal(lambda one=one: rl.playing.pull(SIXTEEN, 60, **one), named, "", error)
        worked = (
            works(example)
            if example.startswith("playing.pull(")
            else rl.playing.pull(SIXTEEN, 60, **keywords(example))
        )
        assert isinstance(worked, Pull)


def test_pulses_of_a_pull_given_without_a_name_are_those_named():
    """What stood third in the version before is of= and against=, and is said once to be."""
    with warnings.catch_warnings(record=True):
        warnings.simplefilter("always")
        assert rl.playing.pull(SIXTEEN, 60, (0, 1)) == rl.playing.pull(SIXTEEN, 60, of=0, against=1)


@given(pairs)
def test_the_change_of_pull_is_the_same_whichever_pulse_is_named_first(p):
    """The slower pulse is found by the numbers, and its beats a minute are given, low before high."""
    low, high = rl.playing.changeover(p)
    assert low < high
    assert (
        (low, high)
        == rl.playing.changeover(p, of=1, against=0)
        == rl.playing.changeover(rl.Polyrhythm(*p.pulses[::-1]))
    )

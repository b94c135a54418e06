"""From ticks to seconds: exact, against published examples and another library."""

from dataclasses import FrozenInstanceError
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from math import gcd, isfinite, lcm

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from music21.duration import Duration, Tuplet
from music21.tempo import MetronomeMark

import rhythmlab as rl
from rhythmlab.core.tempo import modulate
from tests.refusals import TOO_LONG, refusal, works
from tests.strategies import TRIES, bpms, cycles, several

SEVEN_FOUR = rl.Polyrhythm(7, 4)


def test_the_contract_for_seven_against_four():
    """7:4 at 72 on the 4 lasts 10/3 seconds, and is 126 on the 7."""
    tempo = rl.Tempo(72, pulse=1)
    assert tempo.cycle_seconds(SEVEN_FOUR) == Fraction(10, 3)
    assert tempo.bpm_of(SEVEN_FOUR, 0) == 126
    assert isinstance(tempo.bpm_of(SEVEN_FOUR, 0), Fraction)


@pytest.mark.parametrize(
    ("old_bpm", "pivots_old", "pivots_new", "new_bpm"), [(84, 3, 2, 126), (126, 2, 3, 84)]
)
def test_the_published_metric_modulation(old_bpm, pivots_old, pivots_new, new_bpm):
    """84 becomes 126 when three pivots of the old bar are two of the new one, and 126 * 2/3 is 84 again."""
    # DeLone et al. (eds) 1975, Aspects of Twentieth-Century Music, chapter 3 (as quoted elsewhere): old tempo
    # 84, x/84 = 3/2, x = 126 (Carter, Eight Etudes and a Fantasy).  The pivot is the old half-note triplet:
    # 3 per old bar, 2 per new bar.
    assert modulate(old_bpm, old=pivots_old, new=pivots_new) == new_bpm
    # The same seen as a polyrhythm: a bar of two old beats holds three pivots, which become the beats.
    heard = rl.Polyrhythm(3, 2)
    old, new = (1, 0) if pivots_old == 3 else (0, 1)
    assert rl.Tempo(old_bpm, pulse=old).bpm_of(heard, new) == new_bpm


@TRIES
@given(bpms, st.integers(1, 30), st.integers(1, 30))
def test_modulating_there_and_back_returns_exactly(bpm, old, new):
    """The new tempo is old * (pivots in an old bar) / (pivots in a new bar), and the way back undoes it."""
    # The formula: DeLone et al. (eds) 1975, chapter 3 (as quoted elsewhere).
    there = modulate(bpm, old, new)
    assert there * new == rl.Tempo(bpm, pulse=0).bpm * old
    assert modulate(there, new, old) == rl.Tempo(bpm, pulse=0).bpm


@pytest.mark.parametrize(("actual", "normal"), [(7, 4), (3, 2), (5, 4), (16, 15), (32, 31)])
def test_a_tuplet_lasts_as_long_as_music21_says(actual, normal):
    """One stroke of p in the time of q quarters at 72 lasts what music21 makes of that tuplet."""
    note = Duration("quarter")
    note.appendTuplet(Tuplet(actual, normal, "quarter"))
    # music21: Tuplet(7, 4) is 4/7 of a quarter, and at 72 that is 0.476190476 s.
    seconds = MetronomeMark(number=72).durationToSeconds(note)
    p, tempo = rl.Polyrhythm(actual, normal), rl.Tempo(72, pulse=1)
    assert float(tempo.tick_seconds(p) * p.step(0)) == pytest.approx(seconds, rel=1e-12)
    assert float(60 / tempo.bpm_of(p, 0)) == pytest.approx(seconds, rel=1e-12)


def test_near_equal_pulses_meet_every_one_over_the_difference_of_their_rates():
    """Rates f1 and f2 of neighbours, times any common factor, meet every 1/|f1-f2| seconds, exactly."""
    # TU Graz physics script, Beats: two near-equal rates coincide every T = 1/|f1 - f2|.
    for n in range(1, 41):
        for factor in (1, 2, 3, 7):
            p = rl.Polyrhythm(factor * (n + 1), factor * n)
            for tempo in (rl.Tempo(72, pulse=1), rl.Tempo(Decimal("93.7"), pulse=0)):
                rates = [tempo.bpm_of(p, i) / 60 for i in (0, 1)]
                assert p.meet() * tempo.tick_seconds(p) == 1 / abs(rates[0] - rates[1])


def test_every_pair_meets_after_the_cycle_over_the_common_divisor():
    """For every pair up to 40 the seconds to the next meeting, found stroke by stroke, are cycle/gcd."""
    for m, n in combinations(range(1, 41), 2):
        p, tempo = rl.Polyrhythm(m, n), rl.Tempo(60, pulse=1)
        cycle = Fraction(n)  # at 60 on the n a cycle is n seconds
        assert tempo.cycle_seconds(p) == cycle
        times = {k * cycle / m for k in range(1, m + 1)} & {k * cycle / n for k in range(1, n + 1)}
        assert p.meet() * tempo.tick_seconds(p) == min(times) == cycle / gcd(m, n)


@TRIES
@given(several, bpms)
def test_the_tempos_of_the_pulses_are_in_the_ratio_of_the_pulses(p, bpm):
    """Said in any pulse it is the same speed: bpm over strokes is the same, and back again is exact."""
    tempo = rl.Tempo(bpm, pulse=0)
    for i, strokes in enumerate(p.pulses):
        assert tempo.bpm_of(p, i) / strokes == tempo.bpm / p.pulses[0]
        said = tempo.in_pulse(p, i)
        assert said.cycle_seconds(p) == tempo.cycle_seconds(p) == 60 * p.pulses[0] / tempo.bpm
        assert said.in_pulse(p, 0) == tempo


@TRIES
@given(several, bpms)
def test_a_tempo_by_ticks_is_the_tempo_by_pulse(p, bpm):
    """Giving the beat in ticks, or as a pulse with that step, is the same speed for rhythm and cycle."""
    for i in range(len(p.pulses)):
        by_pulse, by_ticks = rl.Tempo(bpm, pulse=i), rl.Tempo(bpm, ticks=p.step(i))
        assert by_pulse.beat_ticks(p) == by_ticks.beat_ticks(p) == p.step(i)
        assert by_pulse.cycle_seconds(p) == by_ticks.cycle_seconds(p)
        assert by_pulse.cycle_seconds(p.cycle()) == by_ticks.cycle_seconds(p.cycle())


@TRIES
@given(cycles(), st.integers(1, 50), bpms)
def test_any_cycle_has_seconds_by_ticks(cycle, ticks, bpm):
    """A cycle lasts its ticks over the ticks of a beat, times 60/bpm."""
    tempo = rl.Tempo(bpm, ticks=ticks)
    assert tempo.cycle_seconds(cycle) == Fraction(cycle.ticks, ticks) * 60 / tempo.bpm


@pytest.mark.parametrize(
    ("bpm", "exact"),
    [
        (72.1, Fraction(721, 10)),
        (1e-3, Fraction(1, 1000)),
        (Decimal("93.75"), Fraction(375, 4)),
        (Fraction(1, 3), Fraction(1, 3)),
        (np.float64(72.1), Fraction(721, 10)),
        (np.float32(72.1), Fraction(721, 10)),
        (np.uint8(200), Fraction(200)),
        (np.int64(72), Fraction(72)),
    ],
)
def test_a_tempo_is_the_decimal_it_prints_as(bpm, exact):
    """Floats mean the decimal that is written, numpy numbers are Python's, and nothing is rounded."""
    tempo = rl.Tempo(bpm, pulse=1)
    assert tempo.bpm == exact
    assert type(tempo.bpm.numerator) is int
    assert tempo.bpm_of(rl.Polyrhythm(255, 2), 0) == exact * 255 / 2


def test_a_tempo_is_a_value():
    """It compares and hashes by its numbers, prints as it is written, and cannot be changed."""
    assert rl.Tempo(72.0, pulse=1) == rl.Tempo(72, pulse=1)
    assert len({rl.Tempo(72, pulse=1), rl.Tempo(Decimal(72), pulse=np.int64(1))}) == 1
    assert rl.Tempo(72, pulse=1) != rl.Tempo(72, ticks=1)
    assert (repr(rl.Tempo(72, pulse=1)), repr(rl.Tempo(120, ticks=2))) == (
        "Tempo(72, pulse=1)",
        "Tempo(120, ticks=2)",
    )
    with pytest.raises(FrozenInstanceError):
        rl.Tempo(72, pulse=1).bpm = 73


BAD_BPMS = [
    0,
    -3,
    0.0,
    float("nan"),
    float("inf"),
    float("-inf"),
    "72",
    True,
    None,
    72 + 0j,
    [72],
    np.float32("nan"),
]


@pytest.mark.parametrize("bad", [*BAD_BPMS, Decimal("nan"), Decimal("snan"), Decimal("1e400"), 10**400])
def test_a_bad_tempo_is_refused(bad):
    """The message gives the bpm, says it is no finite number above 0, and shows a call that works."""
    given = repr(bad)[:50]
    for call in (lambda: rl.Tempo(bad, pulse=1), lambda: modulate(bad, 3, 2)):
        example = refusal(call, f"bpm={given}", "not a finite number above 0")
        assert works(example) in (rl.Tempo(72, pulse=1), 126)


def test_a_tempo_too_long_to_print_is_refused_in_the_same_words():
    """5000 digits of bpm are refused where the tempo is made, not later where it is used."""
    refusal(lambda: rl.Tempo(10**5000, pulse=1), f"bpm={TOO_LONG}", "not a finite number above 0")


@TRIES
@given(
    st.lists(st.integers(1, 2**62), min_size=2, max_size=4),
    st.fractions(1, 1000, max_denominator=10**30) | st.floats(1, 1000) | st.sampled_from([1, 1000]),
    st.data(),
)
def test_what_is_played_at_1_to_1000_of_home_can_be_said_in_any_pulse(numbers, bpm, data):
    """However many or few its strokes: there and back is the same tempo, and the seconds are the same."""
    assume(lcm(*numbers) <= 2**62)
    p = rl.Polyrhythm(*numbers)
    home, other = (data.draw(st.integers(0, len(numbers) - 1)) for _ in range(2))
    tempo = rl.Tempo(bpm, pulse=home)
    said = tempo.in_pulse(p, other)
    assert said.in_pulse(p, home) == tempo
    assert said.cycle_seconds(p) == tempo.cycle_seconds(p)
    assert said.bpm == tempo.bpm * Fraction(p.pulses[other], p.pulses[home])
    assert isfinite(float(said.tick_seconds(p)))


def test_a_tempo_that_nothing_can_have_is_refused():
    """The ends pass and what is beyond does not, either way."""
    for ends in (10**24, Fraction(1, 10**24)):
        assert rl.Tempo(ends, pulse=0).bpm == ends
    for bpm, wrong in ((10**24 + 1, "faster than 10**24"), (Fraction(1, 10**24 + 1), "slower than 1/10**24")):
        for call in (lambda bpm=bpm: rl.Tempo(bpm, pulse=1), lambda bpm=bpm: modulate(bpm, 3, 2)):
            assert works(refusal(call, "bpm=", wrong)) in (rl.Tempo(72, pulse=1), 126)
    refusal(lambda: rl.Tempo(60, pulse=1001), "pulse=1001", "more than 1,000")
    refusal(lambda: rl.Tempo(60, ticks=2**62 + 1), "ticks=", "more than")
    refusal(lambda: rl.Tempo(Fraction(10**500, 10**499 + 1), pulse=1), "bpm=", "more than 500 digits")


def test_a_cycle_without_lanes_has_no_tempo_of_a_lane():
    """The message says how a tempo is given for it."""
    cycle = rl.Cycle(4, [], beats=[0])
    example = refusal(lambda: rl.Tempo(60, pulse=0).tick_seconds(cycle), "Cycle(4 ticks", "has no lane")
    assert works(example).tick_seconds(cycle) > 0


@pytest.mark.parametrize("what", [{}, {"pulse": 1, "ticks": 2}])
def test_a_tempo_says_what_a_beat_is_exactly_once(what):
    """Neither, or both, of pulse and ticks is refused with an example of each."""
    example = refusal(lambda: rl.Tempo(72, **what), "Tempo(72)", "exactly one of pulse= and ticks=")
    assert works(example) == rl.Tempo(72, pulse=1)


@pytest.mark.parametrize(
    ("what", "given", "wrong"),
    [
        ({"pulse": -1}, "pulse=-1", "at least 0"),
        ({"pulse": 1.0}, "pulse=1.0", "at least 0"),
        ({"pulse": True}, "pulse=True", "at least 0"),
        ({"ticks": 0}, "ticks=0", "at least 1"),
        ({"ticks": "2"}, "ticks='2'", "at least 1"),
    ],
)
def test_what_a_beat_is_must_be_a_whole_number(what, given, wrong):
    """A bad pulse or tick count is named where the tempo is made."""
    example = refusal(lambda: rl.Tempo(72, **what), given, f"not a whole number of {wrong}")
    assert isinstance(works(example), rl.Tempo)


@pytest.mark.parametrize(("old", "new", "given"), [(0, 2, "old=0"), (3, -2, "new=-2"), (3.0, 2, "old=3.0")])
def test_pivots_are_counted_in_whole_numbers(old, new, given):
    """A bad number of pivots is named, with the published example as the one that works."""
    assert works(refusal(lambda: modulate(84, old, new), given, "not a whole number of at least 1")) == 126


def test_a_pulse_that_is_not_there_is_refused():
    """A tempo of pulse 5 fits no pair, and 7:4 has no third pulse to say it in."""
    tempo = rl.Tempo(72, pulse=5)
    for what in (SEVEN_FOUR, SEVEN_FOUR.cycle()):
        refusal(lambda what=what: tempo.cycle_seconds(what), "pulse=5", "there are 2", IndexError)
    refusal(lambda: rl.Tempo(72, pulse=1).bpm_of(SEVEN_FOUR, 2), "pulse=2", "there are 2 pulses", IndexError)
    refusal(lambda: rl.Tempo(72, pulse=1).bpm_of(SEVEN_FOUR, -1), "pulse=-1", "at least 0")


def test_an_uneven_or_empty_lane_has_no_tempo_of_its_own():
    """A lane that is not evenly spaced is named and refused as the beat; ticks= works for it."""
    lanes = [
        rl.Lane("tune", [0, 1, 3]),
        rl.Lane("rest", []),
        rl.Lane("off", [1, 4]),
        rl.Lane("four", [0, 1, 2, 3]),
    ]
    cycle = rl.Cycle(6, lanes, beats=[0, 3])
    for pulse, name in ((0, "'tune'"), (1, "'rest'"), (3, "'four'")):
        tempo = rl.Tempo(60, pulse=pulse)
        example = refusal(lambda tempo=tempo: tempo.cycle_seconds(cycle), f"lane {name}", "not evenly spaced")
        assert works(example).cycle_seconds(cycle) == Fraction(3, 2)
    assert rl.Tempo(60, pulse=2).cycle_seconds(cycle) == 2

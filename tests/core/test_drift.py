"""How gaps drift, and the simple ratios that a pair slips around."""

from fractions import Fraction
from itertools import permutations
from math import gcd

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sympy import Rational
from sympy.ntheory.continued_fraction import continued_fraction, continued_fraction_convergents

import rhythmlab as rl
from tests.brute import gaps, zone
from tests.public import WHERE, by_name
from tests.refusals import keywords, refusal, works
from tests.strategies import TRIES, coprime_pairs, pairs, several

NEIGHBOURS = [2, 3, 4, 5, 7, 8, 11, 15, 16, 31, 64]


def strokes_in_each_beat(moving: int, home: int) -> list[int]:
    """Count the strokes of one pulse inside each beat of another, by Fractions of the cycle."""
    counts = [0] * home
    for k in range(moving):
        counts[int(Fraction(k, moving) * home)] += 1
    return counts


@pytest.mark.parametrize("n", NEIGHBOURS)
def test_with_n_as_home_the_other_comes_one_tick_earlier_each_beat(n):
    """Home n: n+1 starts together, then comes one tick earlier each beat, and beat 1 holds two strokes."""
    # Common practice, no source.
    p = rl.Polyrhythm(n + 1, n)
    beat = p.step(1)
    assert [beat * k - tick for k, tick in enumerate(p.onsets(0).tolist())] == list(range(n + 1))
    assert strokes_in_each_beat(n + 1, n) == [2] + [1] * (n - 1)
    found = rl.drift(p, of=0, against=1)
    assert (found.per_stroke, found.direction, found.opens) == (-1, "earlier", 1)
    leads = (0, 1) if n > 2 else ()  # of 3 against 2 every stroke is together or alternating
    assert (found.doubled, found.empty, found.leads) == ((1,), (), leads)


@pytest.mark.parametrize("n", NEIGHBOURS)
def test_with_n_plus_1_as_home_the_other_comes_one_tick_later_each_beat(n):
    """Home n+1: n starts together, comes one tick later at each beat, and the last beat holds none."""
    # Common practice, no source.
    p = rl.Polyrhythm(n + 1, n)
    beat = p.step(0)
    assert [tick - beat * k for k, tick in enumerate(p.onsets(1).tolist())] == list(range(n))
    assert strokes_in_each_beat(n, n + 1) == [1] * n + [0]
    found = rl.drift(p, of=1, against=0)
    assert (found.per_stroke, found.direction, found.opens) == (1, "later", 1)
    leads = (0, 1) if n > 3 else ()  # of 3 against 4, too: no flam to lead
    assert (found.doubled, found.empty, found.leads) == ((), (n + 1,), leads)


@pytest.mark.parametrize("n", [n for n in NEIGHBOURS if n > 2])
def test_the_gap_opens_alternates_at_mid_cycle_and_closes_from_the_other_side(n):
    """The leader is one tick more ahead each stroke up to mid-cycle, then the other leads by one less."""
    # Common practice, no source.
    p = rl.Polyrhythm(n + 1, n)
    for of, home in ((0, 1), (1, 0)):
        found = rl.phase_gaps(p, of=of, against=home).ticks.tolist()
        step, strokes = p.step(home), p.pulses[of]
        first = [gap for k, gap in enumerate(found) if 2 * k < strokes]
        second = [gap for k, gap in enumerate(found) if 2 * k > strokes]
        sign = -1 if of == 0 else 1
        assert [sign * gap for gap in first] == list(range(len(first)))
        assert [-sign * gap for gap in second] == list(range(len(second), 0, -1))
        # Evenly alternating: the strokes around mid-cycle are within half a tick of midway.
        middle = [gap for k, gap in enumerate(found) if abs(2 * k - strokes) <= 1]
        assert all(abs(2 * abs(gap) - step) <= 1 for gap in middle)
        leads = rl.drift(p, of=of, against=home).leads
        if step <= 3:  # 4 against 3 from the 4: nothing between together and alternating
            assert {zone(gap, step, Fraction(1))[0] for gap in found} == {"together", "alternating"}
            assert leads == ()
            continue
        assert leads == ((of, home) if first[1] < 0 else (home, of))
        assert leads == ((home, of) if second[-1] < 0 else (of, home))


@TRIES
@given(pairs)
def test_doubled_and_empty_beats_are_those_counted(p):
    """Neighbours, times any factor: doubled and empty beats are found by counting strokes in each."""
    moving, home = p.pulses
    found = rl.drift(p, of=0, against=1)
    counts = strokes_in_each_beat(moving, home)
    near = abs(moving - home) == gcd(moving, home)
    assert found.doubled == tuple(i + 1 for i, count in enumerate(counts) if near and count == 2)
    assert found.empty == tuple(i + 1 for i, count in enumerate(counts) if near and count == 0)


@TRIES
@given(several)
def test_nobody_leads_where_every_stroke_is_together_or_alternating(p):
    """Of neighbours one leads wherever a stroke is a flam, narrow or open; else nobody, in any company."""
    for of, home in permutations(range(len(p.pulses)), 2):
        found, step = rl.drift(p, of, home), p.ticks // p.pulses[home]
        zones = [zone(gap, step, Fraction(1))[0] for gap in gaps(p, of, home)]
        flams = any(name not in ("together", "alternating") for name in zones)
        if not flams:
            assert found.leads == ()
        elif abs(p.pulses[of] - p.pulses[home]) == gcd(p.pulses[of], p.pulses[home]):
            assert found.leads == ((of, home) if gaps(p, of, home)[1] < 0 else (home, of))


@pytest.mark.parametrize(
    ("pulses", "of", "home", "leads"),
    [
        ((3, 2), 0, 1, ()),
        ((3, 2), 1, 0, ()),
        ((4, 3), 1, 0, ()),
        ((4, 3), 0, 1, (0, 1)),
        ((12, 8), 0, 1, ()),
        ((12, 8), 1, 0, ()),
        ((3, 2, 5), 1, 0, ()),  # exactly midway, though a beat of the 3 has ten ticks here
        ((3, 2, 5), 0, 1, (0, 1)),  # a third of a beat from home is no longer within half a tick of midway
        ((2, 1, 5), 0, 1, ()),
        ((1, 2, 5), 0, 1, ()),  # always together, though a beat of the 2 has five ticks
    ],
)
def test_who_leads_in_small_pairs(pulses, of, home, leads):
    """Where strokes are together or alternating nobody leads a flam."""
    assert rl.drift(rl.Polyrhythm(*pulses), of, home).leads == leads


@TRIES
@given(pairs)
def test_each_stroke_moves_by_the_same_ticks(p):
    """From stroke to stroke the gap changes by `per_stroke`, round the beat, by the shorter way."""
    found, seen = rl.drift(p, of=0, against=1), gaps(p, 0, 1)
    step = p.step(1)
    assert -step < 2 * found.per_stroke <= step
    for gap, after in zip(seen, [*seen[1:], 0], strict=True):
        assert (after - gap - found.per_stroke) % step == 0


@TRIES
@given(st.integers(1, 8), st.integers(0, 60))
def test_near_equal_pulses_close_as_often_as_they_differ(difference, more):
    """The gaps of p against q, when near, narrow to nothing or next to it exactly p-q times in the cycle."""
    fewer = 8 * difference + more
    p = rl.Polyrhythm(fewer + difference, fewer)
    sizes = [abs(gap) for gap in gaps(p, 0, 1)]
    falls = [b < a for a, b in zip(sizes, [*sizes[1:], sizes[0]], strict=True) if a != b]
    turns = sum(down and not falls[(i + 1) % len(falls)] for i, down in enumerate(falls))
    assert rl.drift(p, of=0, against=1).opens == turns == difference


def test_equal_pulses_stand_still():
    """7 against 7 does not move, has no doubled or empty beat, and nobody leads."""
    found = rl.drift(rl.Polyrhythm(7, 7), of=0, against=1)
    assert (found.direction, found.opens) == ("still", 0)
    assert (found.doubled, found.empty, found.leads) == ((), (), ())


def test_the_simplest_ratios_are_the_convergents_that_sympy_finds():
    """For every ordered pair up to 40 they are sympy's convergents, the leading zero left out."""
    # sympy.ntheory.continued_fraction: 17/12 has 1, 3/2, 7/5, 17/12 by it, too.
    for m in range(1, 41):
        for n in range(1, 41):
            terms = continued_fraction(Rational(m, n))
            known = [(x.p, x.q) for x in continued_fraction_convergents(terms) if x != 0]
            found = rl.playing.near_ratios(rl.Polyrhythm(m, n))
            assert [(ratio.h, ratio.k) for ratio in found] == known, (m, n)
    assert [(r.h, r.k) for r in rl.playing.near_ratios(rl.Polyrhythm(17, 12))] == [
        (1, 1),
        (3, 2),
        (7, 5),
        (17, 12),
    ]


@TRIES
@given(pairs)
def test_a_group_slips_by_the_time_between_its_ends(p):
    """A group of h strokes of the first ends `slip` ticks after k of the second; the pair itself does not."""
    cycle = [Fraction(1, n) for n in p.pulses]
    for ratio in rl.playing.near_ratios(p):
        assert ratio.slip == (ratio.h * cycle[0] - ratio.k * cycle[1]) * p.ticks
        assert ratio.opens == abs(p.pulses[0] * ratio.k - p.pulses[1] * ratio.h)
    assert rl.playing.near_ratios(p)[-1].slip == 0


def test_two_of_several_pulses_have_the_ratios_of_that_pair():
    """In 3:4:5 the 4 and the 5 have the ratios of 4:5 and open as often; one tick of theirs is three here."""
    three, two = (
        rl.playing.near_ratios(rl.Polyrhythm(3, 4, 5), 1, 2),
        rl.playing.near_ratios(rl.Polyrhythm(4, 5)),
    )
    assert [(r.h, r.k, r.slip, r.opens) for r in three] == [(r.h, r.k, 3 * r.slip, r.opens) for r in two]


@TRIES
@given(coprime_pairs)
def test_a_near_ratio_opens_as_often_as_its_groups_pass_the_beat(p):
    """Groups of h strokes cross from one side of the other pulse to the other |pk - qh| times a cycle."""
    found, step = gaps(p, 0, 1), p.step(1)
    for ratio in rl.playing.near_ratios(p):
        if 0 < 2 * abs(ratio.slip) < step:
            ends = [(found[i], found[(i + ratio.h) % len(found)]) for i in range(len(found))]
            near = [(a, b) for a, b in ends if b - a == ratio.slip]
            crossed = [(a, b) for a, b in near if (a < 0 <= b if ratio.slip > 0 else b <= 0 < a)]
            assert len(crossed) == ratio.opens


def test_sixteen_against_eleven_is_three_against_two_that_slips():
    """16:11 slips one tick per group of three against two, and opens and closes once a cycle."""
    ratio = rl.playing.slips_around(rl.Polyrhythm(16, 11))
    assert (ratio.h, ratio.k, ratio.slip, ratio.opens) == (3, 2, 1, 1)
    # Three sixteenths of the cycle against two elevenths, by Fractions: one of 176 ticks.
    assert Fraction(3, 16) - Fraction(2, 11) == Fraction(1, 176)


@pytest.mark.parametrize(
    ("pulses", "around"),
    [
        ((16, 15), (1, 1)),
        ((15, 16), (1, 1)),
        ((32, 31), (1, 1)),
        ((16, 11), (3, 2)),
        ((11, 16), (2, 3)),
        ((7, 4), None),
        ((7, 7), None),
        ((12, 8), None),
        ((1, 5), None),
    ],
)
def test_what_a_pair_slips_around(pulses, around):
    """Near-equal pairs slip around 1:1, 16:11 around 3:2, and small pairs around nothing."""
    found = rl.playing.slips_around(rl.Polyrhythm(*pulses))
    assert (found and (found.h, found.k)) == around


@TRIES
@given(pairs)
def test_close_means_within_an_eighth_of_the_faster_step(p):
    """It is the first near ratio whose slip is not 0 and at most an eighth of the faster pulse's step."""
    eighth = Fraction(min(p.step(0), p.step(1)), 8)
    close = [ratio for ratio in rl.playing.near_ratios(p) if 0 < abs(ratio.slip) <= eighth]
    assert rl.playing.slips_around(p) == (close[0] if close else None)


@pytest.mark.parametrize("ask", [rl.playing.near_ratios, rl.playing.slips_around])
def test_ratios_of_pulses_that_are_not_there_are_refused(ask):
    """An index past the end or below 0 is named and refused."""
    p = rl.Polyrhythm(3, 4, 5)
    example = refusal(lambda: ask(p, 0, 3), "against=3", "there are 3 pulses (3, 4, 5)", IndexError)
    assert keywords(example) == {"against": 2}
    refusal(lambda: ask(p, -1, 0), "of=-1", "not a whole number of at least 0")


def test_drift_between_pulses_that_are_not_there_is_refused():
    """An index past the end or below 0 is named and refused."""
    p = rl.Polyrhythm(7, 4)
    refusal(lambda: rl.drift(p, of=2, against=0), "of=2", "there are 2 pulses (7, 4)", IndexError)
    refusal(lambda: rl.drift(p, of=0, against=-1), "against=-1", "not a whole number of at least 0")


@pytest.mark.parametrize(
    "call", ["drift", "midway", "near_ratios", "slips_around", "landmarks", "flams_from"]
)
def test_what_is_not_a_polyrhythm_is_refused_with_a_call_that_works(call):
    """Text in place of a rhythm is named, and the example in the message runs; a pair is a rhythm."""
    function = by_name(call)
    example = refusal(lambda: function("7:4", 0, 1), "what='7:4'", "is no rhythm: ")
    assert example.startswith(f"{WHERE[call]}(")
    works(example)
    assert function((7, 4), 0, 1) == function(rl.Polyrhythm(7, 4), 0, 1)


def test_beats_too_many_to_list_are_refused_and_the_reduced_pair_is_told():
    """Half a million repeats are listed; of more the message gives the pair that all of them are."""
    assert len(rl.drift(rl.Polyrhythm(10**6, 500_000), of=0, against=1).doubled) == 500_000
    p = rl.Polyrhythm(3 * 10**17, 2 * 10**17)
    example = refusal(
        lambda: rl.drift(p, of=0, against=1), "repeats one pattern 100,000,000,000,000,000", "500,000"
    )
    assert works(example) == rl.drift(rl.Polyrhythm(3, 2), of=0, against=1)
    assert rl.drift(rl.Polyrhythm(5 * 10**17, 2 * 10**17), of=0, against=1).doubled == ()

"""Pulses and the grid they share."""

import re
from dataclasses import FrozenInstanceError
from functools import partial
from itertools import combinations_with_replacement
from math import gcd, prod

import numpy as np
import pytest
import sympy
from hypothesis import given

import rhythmlab as rl
from tests.brute import strokes, windowed
from tests.refusals import TOO_LONG, keywords, refusal, works
from tests.strategies import TRIES, coprime_pairs, several, windows

# The On-Line Encyclopedia of Integer Sequences, A051173, rows 1 to 8 (least common multiples),
# https://oeis.org/A051173 (read 2026-11-25).
A051173 = [
    [1],
    [2, 2],
    [3, 6, 3],
    [4, 4, 12, 4],
    [5, 10, 15, 20, 5],
    [6, 6, 6, 12, 30, 6],
    [7, 14, 21, 28, 35, 42, 7],
    [8, 8, 24, 8, 40, 24, 56, 8],
]
HUGE = 10**5000
LONG = rl.Polyrhythm(1_000_000_007, 1_000_000_006)


@pytest.mark.parametrize(
    ("n", "k", "ticks"), [(n, k, ticks) for n, row in enumerate(A051173, 1) for k, ticks in enumerate(row, 1)]
)
def test_two_pulses_need_the_published_grid(n, k, ticks):
    """The grid of every pair up to 8 is the published least common multiple, in either order."""
    assert rl.Polyrhythm(n, k).ticks == rl.Polyrhythm(k, n).ticks == ticks


def test_the_grid_is_the_least_common_multiple_that_sympy_finds():
    """Every pair up to 40, and every three up to 12, agree with ``sympy.ilcm``."""
    # sympy.ilcm; 16:15 needs 240 ticks by it, too.
    assert rl.Polyrhythm(16, 15).ticks == sympy.ilcm(16, 15) == 240
    for numbers in (
        *combinations_with_replacement(range(1, 41), 2),
        *combinations_with_replacement(range(1, 13), 3),
    ):
        assert rl.Polyrhythm(*numbers).ticks == sympy.ilcm(*numbers), numbers


@TRIES
@given(coprime_pairs)
def test_two_coprime_pulses_need_a_grid_of_their_product(p):
    """Common practice, no source: without a common factor the grid is one number times the other."""
    assert p.ticks == prod(p.pulses)


@TRIES
@given(several)
def test_every_stroke_falls_at_its_share_of_the_cycle(p):
    """Stroke k of n is at exactly k/n of the cycle, in int64 ticks."""
    for i, row in enumerate(strokes(p)):
        assert p.onsets(i).dtype == np.int64
        assert p.onsets(i).tolist() == row
        assert p.step(i) * p.pulses[i] == p.ticks


@TRIES
@given(windows(several))
def test_a_window_of_onsets_is_a_slice_of_the_whole(drawn):
    """A window holds exactly the whole cycle's strokes with start <= tick < stop, at their own ticks."""
    p, start, stop = drawn
    for i, row in enumerate(strokes(p)):
        expected = [tick for tick in row if start <= tick < stop]
        assert p.onsets(i, start=start, stop=stop).tolist() == expected
        assert p.onsets(i, start=start).tolist() == [tick for tick in row if start <= tick]
        assert p.onsets(i, stop=stop).tolist() == [tick for tick in row if tick < stop]


@pytest.mark.parametrize("p", [LONG, rl.Polyrhythm(2**62, 1), rl.Polyrhythm(2**31 - 1, 2**30)])
def test_windows_into_very_long_cycles_stay_exact(p):
    """Near the start, the middle and the very end the ticks agree with Python's whole numbers."""
    for i in (0, 1):
        width = min(5 * p.step(i) + 3, p.ticks)
        for start in (0, 1, (p.ticks - width) // 2, p.ticks - width):
            stop = min(start + width, p.ticks)
            assert p.onsets(i, start=start, stop=stop).tolist() == windowed(p.step(i), start, stop)


def test_pulses_meet_every_cycle_over_their_common_divisor():
    """For every pair up to 40 shared strokes come every cycle/gcd ticks, and nowhere else."""
    for m, n in combinations_with_replacement(range(1, 41), 2):
        p = rl.Polyrhythm(m, n)
        first, second = map(set, strokes(p))
        shared = sorted(first & second)
        assert shared == list(range(0, p.ticks, p.meet())), (m, n)
        assert p.meet() == p.ticks // gcd(m, n), (m, n)
        assert p.repeats == len(shared), (m, n)


@TRIES
@given(several)
def test_any_of_several_pulses_meet_where_all_of_them_have_a_stroke(p):
    """All pulses meet every ``meet()`` ticks, and any two of them every ``meet(i, j)``."""
    rows = list(map(set, strokes(p)))
    assert sorted(set.intersection(*rows)) == list(range(0, p.ticks, p.meet()))
    assert sorted(rows[0] & rows[-1]) == list(range(0, p.ticks, p.meet(0, len(rows) - 1)))


@TRIES
@given(several)
def test_a_common_factor_repeats_the_reduced_rhythm(p):
    """The strokes are those of the reduced rhythm, block after block."""
    block = strokes(p.reduced)
    assert gcd(*p.reduced.pulses) == 1
    for row, small in zip(strokes(p), block, strict=True):
        assert row == [tick + turn * p.reduced.ticks for turn in range(p.repeats) for tick in small]


@pytest.mark.parametrize(
    ("pulses", "ticks", "repeats", "reduced"),
    [((6, 4), 12, 2, (3, 2)), ((12, 8), 24, 4, (3, 2)), ((7, 7), 7, 7, (1, 1)), ((1, 5), 5, 1, (1, 5))],
)
def test_pairs_that_teach_nothing_new_say_so(pulses, ticks, repeats, reduced):
    """6:4 is 3:2 twice, 12:8 four times, 7:7 is seven unisons, and 1:5 is plain fives."""
    p = rl.Polyrhythm(*pulses)
    assert (p.ticks, p.repeats, p.reduced) == (ticks, repeats, rl.Polyrhythm(*reduced))


def test_the_contract_for_seven_against_four():
    """7:4 has 28 ticks, keeps the order given, and its 7 falls on every fourth tick."""
    p = rl.Polyrhythm(7, 4)
    assert (p.pulses, p.ticks) == ((7, 4), 28)
    assert p.onsets(0).tolist() == [0, 4, 8, 12, 16, 20, 24]
    assert repr(p) == "Polyrhythm(7, 4)"


def test_a_polyrhythm_is_a_value():
    """It compares and hashes by its pulses in their order, and cannot be changed."""
    p = rl.Polyrhythm(7, 4)
    assert p == rl.Polyrhythm(7, 4)
    assert hash(p) == hash(rl.Polyrhythm(np.uint8(7), 4))
    assert p != rl.Polyrhythm(4, 7)
    with pytest.raises(FrozenInstanceError):
        p.ticks = 29


@pytest.mark.parametrize("kind", [np.uint8, np.int8, np.uint16, np.int32, np.int64, np.uint64])
def test_numpy_integers_are_welcome(kind):
    """Pulses, windows and indices may be numpy integers; they become Python's and cannot overflow."""
    p = rl.Polyrhythm(kind(127), kind(126))
    assert p == rl.Polyrhythm(127, 126)
    assert (type(p.pulses[0]), p.ticks) == (int, 127 * 126)
    assert p.onsets(kind(1), start=kind(100), stop=kind(127)).tolist() == []
    assert p.onsets(kind(0), start=kind(100), stop=kind(127)).tolist() == [126]
    assert p.meet(kind(0), kind(1)) == p.ticks


@pytest.mark.parametrize("bad", [0, -3, 2.0, "7", True, None, np.True_])
def test_a_bad_pulse_is_refused_by_name(bad):
    """The message gives the pulse, says it must be a whole number of at least 1, and shows one that works."""
    example = refusal(lambda: rl.Polyrhythm(7, bad), f"pulse={bad!r}", "not a whole number of at least 1")
    assert works(example) == rl.Polyrhythm(7, 4)


def test_a_pulse_too_long_to_print_is_refused_in_the_same_words():
    """Python does not write out 5000 digits; the message stays a message, below zero and alone, too."""
    refusal(lambda: rl.Polyrhythm(-HUGE, 4), f"pulse={TOO_LONG}", "not a whole number of at least 1")
    refusal(lambda: rl.Polyrhythm(HUGE), f"Polyrhythm({TOO_LONG})", "has 1 pulse;")
    example = refusal(lambda: rl.Polyrhythm(HUGE, 1), TOO_LONG, "more than 2**62 ticks")
    assert works(example) == LONG


def test_too_few_pulses_and_a_list_of_them_are_refused():
    """None, one, and pulses in a list each get a message of their own."""
    for shown, wrong, pulses in (
        ("Polyrhythm()", "at least 2", ()),
        ("Polyrhythm(7)", "has 1 pulse;", (7,)),
        ("Polyrhythm([7, 4])", "one list", ([7, 4],)),
        ("Polyrhythm((7, 4))", "one list", ((7, 4),)),
    ):
        example = refusal(lambda pulses=pulses: rl.Polyrhythm(*pulses), shown, wrong)
        assert works(example) == rl.Polyrhythm(7, 4)


@pytest.mark.parametrize(
    ("pulses", "given"),
    [
        ((10**30, 1), str(10**30)),
        ((2**62 + 1, 1), str(2**62 + 1)),
        ((2**32 - 1, 2**32 - 5), str(2**32 - 5)),
        ((101, 103, 107, 109, 113, 127, 131, 137, 139, 149), "101"),
    ],
)
def test_a_grid_beyond_64_bits_is_refused(pulses, given):
    """A grid of over 2**62 ticks is refused, however large the numbers, with a pair that fits."""
    assert works(refusal(lambda: rl.Polyrhythm(*pulses), given, "more than 2**62 ticks")) == LONG


def test_the_longest_grid_allowed_is_held():
    """2**62 ticks are still accepted, and their last stroke is right."""
    p = rl.Polyrhythm(2**62, 1)
    assert p.onsets(0, start=2**62 - 2).tolist() == [2**62 - 2, 2**62 - 1]


def test_a_pulse_that_is_not_there_is_refused():
    """An index past the last pulse is an IndexError that says how many there are."""
    p = rl.Polyrhythm(7, 4)
    for call in (p.onsets, p.step, p.meet, p.cycle):
        for bad, shown in ((2, "=2 "), (HUGE, f"={TOO_LONG} ")):
            message = "there are 2 pulses (7, 4)"
            example = refusal(partial(call, bad), shown, message, IndexError)
            assert p.step(*keywords(example).values()) == 7


@pytest.mark.parametrize("bad", [-1, 1.0, "1", True])
def test_a_pulse_index_is_a_whole_number_from_0(bad):
    """Negative numbers do not count from the end, and only whole numbers choose a pulse."""
    p = rl.Polyrhythm(7, 4)
    example = refusal(lambda: p.onsets(bad), f"pulse={bad!r}", "not a whole number of at least 0")
    assert len(p.onsets(**keywords(example))) == 7


@pytest.mark.parametrize(
    ("window", "given", "wrong"),
    [
        ({"start": 9, "stop": 3}, "start=9, stop=3", "not a window of this cycle of 28 ticks"),
        ({"stop": 29}, "start=0, stop=29", "0 <= start <= stop <= 28 must hold"),
        ({"start": 29}, "start=29, stop=28", "not a window of this cycle"),
        ({"start": -1}, "start=-1", "not a whole number of at least 0"),
        ({"stop": 7.0}, "stop=7.0", "not a whole number of at least 0"),
        ({"start": 10**30}, f"start={10**30}", "not a window of this cycle"),
    ],
)
def test_a_window_outside_the_cycle_is_refused(window, given, wrong):
    """The message repeats the window, gives the bounds, and shows a window of this very cycle that works."""
    p = rl.Polyrhythm(7, 4)
    calls = (
        lambda **window: p.onsets(0, **window),
        lambda **window: rl.grid(p, **window),
        lambda **window: rl.composite(p, **window),
        lambda **window: rl.composite(p.cycle(), **window),
        lambda **window: rl.phase_gaps(p, of=0, against=1, **window),
    )
    for call in calls:
        example = refusal(lambda call=call: call(**window), given, wrong)
        assert call(**keywords(example)) is not None


def test_a_window_too_long_to_print_is_refused_in_the_same_words():
    """A stop of 5000 digits is outside the cycle, and the message says so."""
    refusal(lambda: rl.Polyrhythm(7, 4).onsets(0, stop=HUGE), f"stop={TOO_LONG}", "not a window of this")


def test_windows_are_given_by_keyword_only():
    """A bare number after the pulse is not taken for the start of a window."""
    with pytest.raises(rl.Refusal, match="at most 1 argument without a name"):
        rl.Polyrhythm(7, 4).onsets(0, 3)


def test_too_many_strokes_name_a_window_that_works():
    """A whole pulse, or cycle, of over 50 million strokes is refused with a window to look through."""
    for call in (lambda: LONG.onsets(0), lambda: LONG.cycle()):
        example = refusal(call, "000,0", "too many to hold at once (the most is 50,000,000)")
        assert 100 < len(works(example)) < 3000


def test_there_are_as_many_pulses_as_voices_and_not_more():
    """256 pulses make a rhythm, one more is refused with their number; so is a list without end."""
    assert len(rl.Polyrhythm(*[2, 3] * 128).pulses) == 256
    example = refusal(
        lambda: rl.Polyrhythm(*range(1, 100_000)), "Polyrhythm(1, …)", "99,999 pulses, more than 256"
    )
    assert works(example) == rl.Polyrhythm(7, 4)


def test_many_strokes_are_said_before_they_are_held(capfd):
    """Over 200 MB of them are said with what they take, in one line; fewer are not."""
    p = rl.Polyrhythm(26_000_000, 1)
    assert len(p.onsets(0)) == 26_000_000
    said = capfd.readouterr().err
    assert re.fullmatch(
        r"26,000,000 strokes of Polyrhythm\(26000000, 1\): about 208 MB of memory; .*\n", said
    )
    assert len(p.onsets(0, stop=p.ticks // 2)) == 13_000_000
    assert rl.Polyrhythm(10**6, 1).cycle().ticks == 10**6
    assert capfd.readouterr().err == ""

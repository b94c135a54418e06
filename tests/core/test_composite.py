"""The merged line, against published numbers, laws, and a slow way to the same answer."""

from collections import Counter
from dataclasses import FrozenInstanceError
from math import gcd

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from tests.brute import intervals, merged, strokes, windowed
from tests.refusals import refusal, works
from tests.strategies import TRIES, coprime_pairs, cycles, pairs, several, windows

# The On-Line Encyclopedia of Integer Sequences, A199408, rows 1 to 8 (n + k - gcd(n, k)),
# https://oeis.org/A199408 (read 2026-11-25).
A199408 = [
    [1],
    [2, 2],
    [3, 4, 3],
    [4, 4, 6, 4],
    [5, 6, 7, 8, 5],
    [6, 6, 6, 8, 10, 6],
    [7, 8, 9, 10, 11, 12, 7],
    [8, 8, 10, 8, 12, 12, 14, 8],
]
LONG = rl.Polyrhythm(1_000_000_007, 1_000_000_006)


@pytest.mark.parametrize(
    ("n", "k", "sounds"),
    [(n, k, sounds) for n, row in enumerate(A199408, 1) for k, sounds in enumerate(row, 1)],
)
def test_two_pulses_give_the_published_number_of_sounds(n, k, sounds):
    """Every pair up to 8, in either order, has as many sounds as the published row says."""
    assert len(rl.composite(rl.Polyrhythm(n, k))) == len(rl.composite(rl.Polyrhythm(k, n))) == sounds


def test_the_published_example_with_a_common_factor():
    """6:4 has 8 sounds."""
    # OEIS A199408, EXAMPLE, https://oeis.org/A199408 (read 2026-11-25).
    assert len(rl.composite(rl.Polyrhythm(6, 4))) == 8


@pytest.mark.parametrize(
    ("pulses", "resultant"),
    [
        # Schillinger 1946, The Schillinger System of Musical Composition, Book I, as quoted elsewhere.
        ((3, 2), [2, 1, 1, 2]),
        # Schillinger 1946, introduction, section 5/6, read in a transcription.
        ((4, 3), [3, 1, 2, 2, 1, 3]),
        # Schillinger 1946, p. 490, as transcribed elsewhere.
        ((5, 4), [4, 1, 3, 2, 2, 3, 1, 4]),
    ],
)
def test_the_published_resultants(pulses, resultant):
    """The intervals of 3:2, 4:3 and 5:4, in either order, are Schillinger's resultants."""
    assert rl.composite(rl.Polyrhythm(*pulses)).intervals.tolist() == resultant
    assert rl.composite(rl.Polyrhythm(*pulses[::-1])).intervals.tolist() == resultant


@pytest.mark.parametrize("n", range(2, 30))
def test_near_equal_pulses_trade_long_for_short(n):
    """The line of n+1 against n is n, 1, n-1, 2, … 1, n: one interval shrinks while the other grows."""
    # Worked out by program for n from 2 to 29 from the definition; no other source.
    trade = [tick for pair in zip(range(n, 0, -1), range(1, n + 1), strict=True) for tick in pair]
    assert rl.composite(rl.Polyrhythm(n + 1, n)).intervals.tolist() == trade


def test_every_small_pair_agrees_with_a_merge_of_sets():
    """For all 1600 ordered pairs up to 40 the closed form gives the merged ticks, intervals and players."""
    for m in range(1, 41):
        for n in range(1, 41):
            p = rl.Polyrhythm(m, n)
            found = rl.composite(p)
            onsets, players = merged(strokes(p))
            assert found.onsets.tolist() == onsets, (m, n)
            assert found.pulses.tolist() == players, (m, n)
            assert found.intervals.tolist() == intervals(onsets, p.ticks), (m, n)


@TRIES
@given(several)
def test_any_number_of_pulses_agrees_with_a_merge_of_sets(p):
    """Two, three and four pulses: the ticks are the union of all strokes; each sound names its players."""
    found = rl.composite(p)
    onsets, players = merged(strokes(p))
    assert found.onsets.tolist() == onsets
    assert found.pulses.tolist() == players
    assert found.intervals.tolist() == intervals(onsets, p.ticks)
    assert (found.onsets.dtype, found.intervals.dtype, found.pulses.dtype) == (np.int64, np.int64, bool)


def test_three_four_five_by_hand():
    """3:4:5 has ten sounds on a grid of 60."""
    found = rl.composite(rl.Polyrhythm(3, 4, 5))
    assert found.onsets.tolist() == [0, 12, 15, 20, 24, 30, 36, 40, 45, 48]
    assert found.pulses[3].tolist() == [True, False, False]


@TRIES
@given(several)
def test_the_line_is_a_palindrome_that_fills_the_cycle(p):
    """The intervals read the same backwards and sum to the grid, for any number of pulses."""
    found = rl.composite(p).intervals.tolist()
    assert found == found[::-1]
    assert sum(found) == p.ticks


@TRIES
@given(coprime_pairs)
def test_how_often_each_interval_occurs(p):
    """Coprime p > q >= 2: p+q-1 sounds; each of 1…q-1 occurs twice, q occurs p-q+1 times, none is longer."""
    # Worked out by program for all p up to 60 from the definition; no other source.
    more, fewer = p.pulses
    counts = Counter(rl.composite(p).intervals.tolist())
    assert counts == {**dict.fromkeys(range(1, fewer), 2), fewer: more - fewer + 1}
    assert len(rl.composite(p)) == more + fewer - 1


@TRIES
@given(pairs)
def test_the_order_of_the_pulses_changes_only_their_columns(p):
    """q:p has the sounds of p:q with the two players exchanged."""
    found, other = rl.composite(p), rl.composite(rl.Polyrhythm(*p.pulses[::-1]))
    assert np.array_equal(found.onsets, other.onsets)
    assert np.array_equal(found.pulses, other.pulses[:, ::-1])


@TRIES
@given(several, st.integers(1, 9))
def test_a_common_factor_plays_the_same_line_more_often(p, factor):
    """Multiplying every pulse by k repeats the intervals and the players k times."""
    once, often = rl.composite(p), rl.composite(rl.Polyrhythm(*(factor * n for n in p.pulses)))
    assert often.intervals.tolist() == once.intervals.tolist() * factor
    assert often.pulses.tolist() == once.pulses.tolist() * factor


@TRIES
@given(several)
def test_turning_the_line_by_one_meeting_changes_nothing(p):
    """The line begins again wherever all pulses meet."""
    found = rl.composite(p)
    sounds = len(found) // p.repeats
    assert np.array_equal(np.roll(found.intervals, sounds), found.intervals)
    assert np.array_equal(np.roll(found.pulses, sounds, axis=0), found.pulses)


@TRIES
@given(cycles(), st.integers(0, 39))
def test_starting_the_cycle_elsewhere_turns_the_line(cycle, turn):
    """Moving every stroke on by the same ticks, round the cycle, turns the intervals and the players."""
    rows = [sorted((lane.onsets + turn) % cycle.ticks) for lane in cycle.lanes]
    turned = rl.composite(rl.Cycle(cycle.ticks, [rl.Lane("", row) for row in rows], beats=[]))
    found = rl.composite(cycle)
    passed = sum(tick + turn % cycle.ticks >= cycle.ticks for tick in found.onsets.tolist())
    assert turned.intervals.tolist() == np.roll(found.intervals, passed).tolist()
    assert turned.pulses.tolist() == np.roll(found.pulses, passed, axis=0).tolist()


@TRIES
@given(several)
def test_a_polyrhythm_and_its_cycle_sound_alike(p):
    """The composite of a polyrhythm is that of its cycle, whichever pulse is home."""
    found = rl.composite(p)
    for home in range(len(p.pulses)):
        other = rl.composite(p.cycle(home))
        for field in ("onsets", "intervals", "pulses"):
            assert np.array_equal(getattr(found, field), getattr(other, field))


@TRIES
@given(st.one_of(windows(several), windows(pairs), windows(cycles())))
def test_a_window_is_a_slice_of_the_whole(drawn):
    """Ticks stay absolute; intervals and players are the whole line's, the last interval's end included."""
    what, start, stop = drawn
    line, window = rl.composite(what), rl.composite(what, start=start, stop=stop)
    inside = (line.onsets >= start) & (line.onsets < stop)
    for field in ("onsets", "intervals", "pulses"):
        assert np.array_equal(getattr(window, field), getattr(line, field)[inside])
    for open_end in (rl.composite(what, start=start), rl.composite(what, stop=what.ticks, start=start)):
        assert np.array_equal(open_end.onsets, line.onsets[line.onsets >= start])


@TRIES
@given(cycles())
def test_uneven_lanes_agree_with_a_merge_of_sets(cycle):
    """Any cycle, empty lanes included, gives the union of its strokes and who plays each."""
    found = rl.composite(cycle)
    onsets, players = merged([lane.onsets.tolist() for lane in cycle.lanes])
    assert found.onsets.tolist() == onsets
    assert found.pulses.tolist() == players
    assert found.intervals.tolist() == intervals(onsets, cycle.ticks)
    assert found.pulses.shape == (len(onsets), len(cycle.lanes))


@pytest.mark.parametrize("where", ["start", "middle", "end"])
def test_windows_into_a_cycle_too_long_to_hold(where):
    """A thousand sounds of 1 000 000 007 : 1 000 000 006 agree with Python's whole numbers."""
    steps = LONG.step(0), LONG.step(1)
    width = 500 * steps[1]
    start = {"start": 0, "middle": (LONG.ticks - width) // 2, "end": LONG.ticks - width}[where]
    found = rl.composite(LONG, start=start, stop=start + width)
    rows = [windowed(step, start, start + width) for step in steps]
    onsets, players = merged(rows)
    following = min(-(-(start + width) // step) * step for step in steps)
    assert len(found) >= 999
    assert found.onsets.tolist() == onsets
    assert found.pulses.tolist() == players
    assert found.intervals.tolist() == [b - a for a, b in zip(onsets, [*onsets[1:], following], strict=True)]


def test_the_longest_grid_ends_exactly():
    """On the longest grid allowed the last interval still runs to the end of the cycle."""
    found = rl.composite(rl.Polyrhythm(2**62, 1, 1), start=2**62 - 2)
    assert (found.onsets.tolist(), found.intervals.tolist()) == ([2**62 - 2, 2**62 - 1], [1, 1])


def test_it_cannot_be_changed_and_prints_its_intervals():
    """Arrays are read-only, fields are frozen, and a long line is cut where it prints."""
    for what in (rl.Polyrhythm(4, 3), rl.Polyrhythm(3, 4, 5), rl.Polyrhythm(4, 3).cycle()):
        found = rl.composite(what)
        for array in (found.onsets, found.intervals, found.pulses):
            with pytest.raises(ValueError, match="read-only"):
                array[0] = 0
        with pytest.raises(FrozenInstanceError):
            found.onsets = None
    assert repr(rl.composite(rl.Polyrhythm(4, 3))) == "Composite(6 sounds, intervals 3 1 2 2 1 3)"
    assert repr(rl.composite(rl.Polyrhythm(31, 30))).endswith("…)")


@pytest.mark.parametrize(
    ("p", "window"),
    [
        (LONG, {}),
        (LONG, {"start": LONG.ticks // 2}),
        (LONG, {"stop": LONG.ticks // 2}),
        (rl.Polyrhythm(50_000_000, 2), {}),
        (rl.Polyrhythm(2**62, 1), {}),
        (rl.Polyrhythm(2**62, 2**62), {"start": 7, "stop": 30_000_007}),
        (rl.Polyrhythm(3**20, 3**19 * 2, 5), {}),
    ],
)
def test_too_many_strokes_name_a_window_that_works(p, window):
    """Over 50 million strokes are refused, counted, and the window in the message works for this rhythm."""
    first, last = window.get("start", 0), window.get("stop", p.ticks)
    count = sum(-(-last // p.step(i)) - -(-first // p.step(i)) for i in range(len(p.pulses)))
    wrong = "too many to hold at once (the most is 50,000,000)"
    example = refusal(lambda: rl.composite(p, **window), f"{count:,} strokes", wrong)
    assert len(works(example)) > 0
    assert f"start={first}" in example


@pytest.mark.parametrize("bad", [5, "7:4", None, (7,), (7, 0), [rl.Lane("bell", [0])]])
def test_what_is_neither_a_polyrhythm_nor_a_cycle_is_refused(bad):
    """The message repeats what was given and shows a call that works; a pair of numbers is taken."""
    example = refusal(lambda: rl.composite(bad), f"what={bad!r}", "is no rhythm: ")
    assert rl.composite((7, 4)) == rl.composite(rl.Polyrhythm(7, 4))
    assert len(works(example)) == 7 + 4 - gcd(7, 4)

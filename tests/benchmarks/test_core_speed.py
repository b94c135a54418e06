"""Speed and memory of the core; run it with ``python -m pytest tests/benchmarks -s``.

Each limit is a ratio to a plain numpy way of doing the same, measured by turns; the number is printed.
"""

import tracemalloc

import numpy as np
import pytest

import rhythmlab as rl
from tests.benchmarks.interleaved import ratio


@pytest.mark.parametrize(("p", "q", "limit"), [(1_000_000, 999_999, 3.0), (1_000_000, 618_033, 4.0)])
def test_a_composite_costs_a_few_copies_of_its_own_arrays(p, q, limit):
    """Merging two long pulses takes no more than `limit` times the copying of its three result arrays."""
    rhythm = rl.Polyrhythm(p, q)
    result = rl.composite(rhythm)
    arrays = result.onsets, result.intervals, result.pulses
    measured = ratio(lambda: rl.composite(rhythm), lambda: [array.copy() for array in arrays])
    print(f"\ncomposite of {p}:{q} against copying its arrays: {measured:.2f} (limit {limit})")
    assert measured <= limit


@pytest.mark.parametrize(("p", "q"), [(1_000_000, 999_999), (1_000_000, 618_033)])
def test_a_composite_needs_little_more_memory_than_it_returns(p, q):
    """The peak while merging is at most 1.6 times the bytes of the three result arrays."""
    rhythm = rl.Polyrhythm(p, q)
    rl.composite(rhythm)
    tracemalloc.start()
    try:
        result = rl.composite(rhythm)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    measured = peak / (result.onsets.nbytes + result.intervals.nbytes + result.pulses.nbytes)
    print(f"\npeak memory of composite of {p}:{q} over its result: {measured:.2f} (limit 1.6)")
    assert measured <= 1.6


def searched_gaps(p: int, q: int) -> np.ndarray:
    """Return the gaps of p strokes against q by looking up the neighbours; exactly midway counts as after."""
    ticks = int(np.lcm(p, q))
    strokes = np.arange(p, dtype=np.int64) * (ticks // p)
    others = np.arange(q + 1, dtype=np.int64) * (ticks // q)
    right = np.searchsorted(others, strokes, side="right")
    behind = strokes - others[right - 1]
    ahead = others[right] - strokes
    return np.where(behind <= ahead, behind, -ahead)


def test_gaps_are_found_without_a_search():
    """The gaps of 1 000 000 strokes come at least 6 times faster than by a search for the nearest."""
    p, q = 1_000_000, 999_999
    rhythm = rl.Polyrhythm(p, q)
    assert np.array_equal(rl.phase_gaps(rhythm, of=0, against=1).ticks, searched_gaps(p, q))
    measured = 1 / ratio(lambda: rl.phase_gaps(rhythm, of=0, against=1), lambda: searched_gaps(p, q))
    print(f"\nphase gaps of {p}:{q}, times faster than searching: {measured:.1f} (limit 6)")
    assert measured >= 6

"""Speed of meeting points; run it with ``python -m pytest tests/benchmarks -s``.

The peer is the plain loop: every tick until both come home, asked whether both have a stroke there.
"""

from collections.abc import Callable
from math import lcm
from time import process_time_ns

import numpy as np
import pytest

from rhythmlab.playing.ostinato import meeting_ticks
from tests.benchmarks.interleaved import ratio


def looped(first: list[int], length: int, second: list[int], other: int) -> np.ndarray:
    """Return the ticks where both have a stroke, by asking every tick."""
    mine, others = set(first), set(second)
    home = lcm(length, other)
    return np.array([t for t in range(home) if t % length in mine and t % other in others], dtype=np.int64)


def spread(strokes: int, ticks: int) -> list[int]:
    """Return so many strokes, spread over so many ticks."""
    return [i * ticks // strokes for i in range(strokes)]


SMALL = [
    (spread(a, length), length, spread(b, other), other)
    for length, a in ((4, 1), (7, 3), (8, 3), (12, 7), (16, 5))
    for other, b in ((3, 1), (5, 2), (6, 2), (9, 4), (16, 5))
]


def worked(job: Callable[[], object]) -> float:
    """Return how long one run keeps the processor busy, so that other work does not count."""
    start = process_time_ns()
    job()
    return process_time_ns() - start


def test_small_sizes_cost_no_more_than_the_plain_loop():
    """All 25 pairs of everyday patterns take no longer than the loop takes."""
    for case in SMALL:
        assert np.array_equal(meeting_ticks(*case), looped(*case))
    ours = ratio(
        lambda: [meeting_ticks(*case) for case in SMALL],
        lambda: [looped(*case) for case in SMALL],
        201,
        worked,
    )
    print(f"\nmeeting points of everyday patterns over the plain loop: {ours:.2f} (limit 1)")
    assert ours <= 1


@pytest.mark.parametrize(
    "case", SMALL, ids=lambda case: f"{len(case[0])} in {case[1]}, {len(case[2])} in {case[3]}"
)
def test_no_small_size_costs_more_than_the_plain_loop(case):
    """Each of them by itself takes no longer, give or take the tenth that a few microseconds vary by."""
    ours = ratio(
        lambda: [meeting_ticks(*case) for _ in range(50)],
        lambda: [looped(*case) for _ in range(50)],
        101,
        worked,
    )
    print(f"\n{case[1]} against {case[3]} ticks over the plain loop: {ours:.2f} (limit 1.1)")
    assert ours <= 1.1


@pytest.mark.parametrize("strokes", [1, 5, 40, 150, 300, 600, 999])
def test_long_cycles_meet_twenty_times_faster(strokes):
    """1000 against 999 ticks, sparse or dense, takes at most a twentieth of the loop."""
    case = (spread(strokes, 1000), 1000, spread(strokes, 999), 999)
    assert np.array_equal(meeting_ticks(*case), looped(*case))
    faster = 1 / ratio(lambda: meeting_ticks(*case), lambda: looped(*case), 7, worked)
    print(f"\n1000 against 999 ticks, {strokes} strokes each, times faster: {faster:.0f} (limit 20)")
    assert faster >= 20

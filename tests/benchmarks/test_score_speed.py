"""Speed of scores; run it with ``python -m pytest tests/benchmarks -s``.

A limit in one run: medians after a warm-up, spread over the run.
"""

from statistics import median

import rhythmlab as rl
from rhythmlab.notation.score import score
from tests.benchmarks.interleaved import seconds


def test_seven_four_is_engraved_in_a_tenth_of_a_second():
    """Score of 7:4, from the numbers to SVG: under 100 ms after warm-up, from either home."""
    p = rl.Polyrhythm(7, 4)
    jobs = [lambda home=home: score(p, 72, home=home).svg() for home in (0, 1)]
    for job in jobs:
        job()
    found = [median(seconds(job) for _ in range(15)) for job in jobs]
    print(f"\nscore of 7:4 to SVG: {1000 * found[0]:.1f} ms from the 7, {1000 * found[1]:.1f} ms from the 4")
    assert max(found) < 0.1


def test_the_full_grid_of_sixteen_fifteen_takes_no_second():
    """255 notes on two voices: under a second."""
    job = lambda: score(rl.Polyrhythm(16, 15), grid=True).svg()  # noqa: E731
    job()
    found = median(seconds(job) for _ in range(5))
    print(f"\n16:15 with its grid to SVG: {1000 * found:.0f} ms")
    assert found < 1

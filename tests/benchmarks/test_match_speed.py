"""Speed of matching; run it with ``python -m pytest tests/benchmarks -s``.

10 000 strokes with misses and extras, against the maximum matching of a general library for music research.
"""

from time import process_time

import numpy as np
import pytest

from rhythmlab.practice.feedback import feedback
from rhythmlab.practice.matching import match, matched
from tests.benchmarks.interleaved import ratio
from tests.practice.players import PAIRS, PLANTED, Case, take_of

mir_eval = pytest.importorskip("mir_eval")


def strokes(window: float) -> tuple[np.ndarray, np.ndarray]:
    """Return 10 000 meant strokes, four a second, and the taps of a player who is 30 ms even."""
    rng = np.random.default_rng(11)
    meant = np.arange(10_000) * 0.25
    played = (meant + rng.normal(0, 0.03, 10_000))[rng.random(10_000) > 0.05]
    return meant, np.sort(np.concatenate([played, rng.uniform(0, 2500, 500)]))


@pytest.mark.parametrize("window", [0.05, 0.125, 0.25, 0.5])
def test_the_best_matching_is_twice_as_fast_as_any_maximum_matching(window):
    """Pairs with the least error take at most half as long as pairs at all take the library."""
    meant, played = strokes(window)
    measured = ratio(
        lambda: match(meant, played, window), lambda: mir_eval.util.match_events(meant, played, window), 7
    )
    print(f"\nmatch over mir_eval, window {window} s: {measured:.2f} (limit 0.5)")
    assert measured <= 0.5


@pytest.mark.parametrize("window", [0.05, 0.125, 0.25, 0.5])
def test_counting_is_five_times_faster(window):
    """The count alone is there at least 5 times faster."""
    meant, played = strokes(window)
    measured = 1 / ratio(
        lambda: matched(meant, played, window), lambda: mir_eval.util.match_events(meant, played, window), 7
    )
    print(f"\nmatched, times faster than mir_eval, window {window} s: {measured:.1f} (limit 5)")
    assert measured >= 5


@pytest.mark.parametrize("kind", ["clean", *PLANTED])
def test_a_take_is_measured_and_told_in_20_ms(kind):
    """Eight cycles of any pair of the matrix, whatever was wrong with it: the quickest of seven runs."""
    rng = np.random.default_rng(1)
    for numbers in PAIRS:
        take = take_of(Case(kind, PLANTED.get(kind, (0,))[0], numbers, 15, 60), rng)
        runs = []
        for _ in range(7):
            before = process_time()
            feedback(take)
            runs.append(1000 * (process_time() - before))
        print(f"\n{kind} {numbers}: {min(runs):.1f} ms (limit 20)", end="")
        assert min(runs) < 20

"""How much is tried, read here and nowhere else.

A reader's run, and one that checks a change, try the laws on a fifth of their examples, and a part of each
long matrix, so that every change is checked in 20 minutes; with ``RHYTHMLAB_TESTS=long`` all, and every
matrix whole, before a release and in ``tests/benchmarks``.
"""

import os
import random
from collections.abc import Iterable, Sequence

#: Whether every change is checked here, and whether a release is.
CI, LONG = bool(os.environ.get("CI")), os.environ.get("RHYTHMLAB_TESTS") == "long"
#: What samples are drawn from: the same on every reader's machine, and one that ``.ci/run`` prints.
SEED = os.environ.get("RHYTHMLAB_SEED", "0")


def tries(examples: int) -> int:
    """Return how many examples a law is tried on, of those that it gets before a release."""
    return examples if LONG else max(10, examples // 5)


def some(rows: Iterable, share: int, of: object, always: Iterable = ()) -> list:
    """Return one in `share` of a matrix, at least one, in its order; all of it where it is tried whole.

    `of` names the matrix, so that two of them are sampled apart; the rows in `always` are never left out.
    """
    rows: Sequence = list(rows)
    if LONG or len(rows) <= 1:
        return rows
    drawn = random.Random(f"{SEED} {of}").sample(range(len(rows)), -(-len(rows) // share))
    kept = set(drawn) | {i for i, row in enumerate(rows) if row in tuple(always)}
    return [rows[i] for i in sorted(kept)]

"""Time two ways of doing a thing by turns, so that a busy machine slows both alike."""

import gc
from collections.abc import Callable
from statistics import median
from time import perf_counter


def seconds(job: Callable[[], object]) -> float:
    """Return how long one run of a job takes."""
    start = perf_counter()
    job()
    return perf_counter() - start


def ratio(
    ours: Callable[[], object], peer: Callable[[], object], rounds: int = 31, clock: Callable = seconds
) -> float:
    """Return the median time of `ours` over the median time of `peer`, run by turns after a warm-up."""
    ours(), peer()
    gc.collect()
    gc.disable()
    try:
        pairs = [(clock(ours), clock(peer)) for _ in range(rounds)]
    finally:
        gc.enable()
    our_times, peer_times = zip(*pairs, strict=True)
    return median(our_times) / median(peer_times)

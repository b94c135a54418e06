"""Waiting for what must come, and no longer: the one place of the tests where time is let pass."""

import time
from collections.abc import Callable
from typing import TypeVar

Found = TypeVar("Found")


def until(found: Callable[[], Found], seconds: float = 30, why: str = "what was waited for") -> Found:
    """Return what a call gives as soon as it is true; where that is not in time, fail and say `why`."""
    end = time.monotonic() + seconds
    while not (answer := found()):
        assert time.monotonic() < end, f"{why} did not come in {seconds} seconds"
        time.sleep(0.05)
    return answer

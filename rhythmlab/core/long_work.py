"""Long work says so before it begins, shows how far it is, and can be stopped.

A call that may take more than ten seconds or 200 MB says so on the error stream, in one line; the line is
not a warning, since nothing is wrong.
"""

import sys
from collections.abc import Iterable, Iterator
from typing import TypeVar

_Part = TypeVar("_Part")

#: From here on a call says before it begins how long it takes, and how much memory: seconds and megabytes.
LONG_S, LARGE_MB = 10, 200


def say(what: str, *, seconds: float = 0, megabytes: float = 0, instead: str = "") -> bool:
    """Say before long work begins what it will take; nothing where it is short.

    Parameters
    ----------
    what : str
        The work, as the beginning of a sentence.
    seconds, megabytes : float
        What it takes, about; too much rather than too little.
    instead : str
        What needs less, as a sentence.

    Returns
    -------
    bool
        Whether it was said.

    Examples
    --------
    >>> say("Four cycles as samples", seconds=0.1, megabytes=3)
    False
    """
    takes = []
    if seconds > LONG_S:
        takes.append(f"{seconds:.0f} seconds" if seconds < 100 else f"{seconds / 60:.0f} minutes")
    if megabytes > LARGE_MB:
        takes.append(f"{megabytes:,.0f} MB of memory")
    if takes:
        more = f" {instead}" if instead else ""
        print(f"{what}: about {' and '.join(takes)}; Interrupt stops it.{more}", file=sys.stderr, flush=True)
    return bool(takes)


def shown(parts: Iterable[_Part], count: int, what: str, *, long: bool) -> Iterator[_Part]:
    """Yield the parts of long work, and say each tenth of it.

    Parameters
    ----------
    parts : iterable
        What is worked through.
    count : int
        How many there are.
    what : str
        The work, as the beginning of a line.
    long : bool
        Whether to say anything; as `say` returned it.

    Examples
    --------
    >>> list(shown("abc", 3, "Letters", long=False))
    ['a', 'b', 'c']
    """
    said = 0
    for done, part in enumerate(parts, 1):
        yield part
        if long and 10 * done // max(1, count) > said:
            said = 10 * done // count
            print(f"{what}: {10 * said} % done", file=sys.stderr, flush=True)

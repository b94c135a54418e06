"""What a reader gives as a rhythm, made into one thing; every public call that takes one begins here."""

from collections.abc import Iterable, Mapping, Sequence, Set
from typing import TypeAlias

import numpy as np

from rhythmlab.core.check import index, items, short
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.polyrhythm import MOST_PULSES, Polyrhythm, home_or_last
from rhythmlab.core.types import Ticks
from rhythmlab.refusal import Refusal

#: What is taken where a rhythm is asked for: (7, 4) is `Polyrhythm(7, 4)`.
Rhythm: TypeAlias = Polyrhythm | Cycle | Sequence[int]


def rhythm(what: object, name: str, example: str) -> Polyrhythm | Cycle:
    """Return a rhythm as it is, or a plain pair such as ``(7, 4)`` as a `Polyrhythm`.

    Parameters
    ----------
    what : Polyrhythm, Cycle or sequence of int
        What the caller gave.
    name : str
        What to call it in the message.
    example : str
        A call that works.

    Raises
    ------
    ValueError
        If it is none of these.

    Examples
    --------
    >>> rhythm((7, 4), "what", "strip((7, 4))")
    Polyrhythm(7, 4)
    """
    if isinstance(what, Polyrhythm | Cycle):
        return what
    if isinstance(what, str | bytes | Mapping | Set) or not isinstance(what, Iterable):
        raise Refusal(
            f"{name}={short(what)} is no rhythm: neither a Polyrhythm, a Cycle nor a pair such as (7, 4)",
            example,
            argument=name,
        )
    numbers = items(what, name, example, MOST_PULSES, "pulses")
    if any(isinstance(one, Cycle) for one in numbers):
        many = f"a list of {len(numbers)} rhythm{'s' * (len(numbers) != 1)}, and one is meant"
        raise Refusal(f"{name} is {many}: choose one of it, the first by [0]", example, argument=name)
    try:
        return Polyrhythm(*numbers)
    except Refusal as error:
        raise Refusal(f"{name}={short(what)} is no rhythm: {error.wrong}", example, argument=name) from error


def polyrhythm(what: object, name: str, example: str) -> Polyrhythm:
    """Return a rhythm as a `Polyrhythm`; of a cycle, where its lanes are even pulses from tick 0.

    Parameters
    ----------
    what : Polyrhythm, Cycle or sequence of int
        What the caller gave.
    name : str
        What to call it in the message.
    example : str
        A call that works.

    Raises
    ------
    ValueError
        If it is no rhythm, or a cycle whose lanes are not even pulses on the grid that they share.

    Examples
    --------
    >>> polyrhythm(Polyrhythm(7, 4).cycle(home=0), "what", "homes((7, 4))")
    Polyrhythm(7, 4)
    """
    found = rhythm(what, name, example)
    if isinstance(found, Polyrhythm):
        return found
    wrong = ""
    if not 2 <= len(found.lanes) <= MOST_PULSES:
        wrong = (
            f"has {len(found.lanes)} lane{'s' * (len(found.lanes) != 1)}, and two pulses or more are meant"
        )
    else:
        uneven = next((lane.name for lane in found.lanes if not _even(lane.onsets, found.ticks)), None)
        if uneven is not None:
            wrong = f"has lane {short(uneven)}, which is not evenly spaced from tick 0"
    if not wrong:
        p = Polyrhythm(*(len(lane.onsets) for lane in found.lanes))
        if p.ticks == found.ticks:
            return p
        wrong = f"has {found.ticks:,} ticks, and its pulses share {p.ticks:,}"
    raise Refusal(f"{name} is a cycle that {wrong}", example, argument=name)


def _even(onsets: Ticks, ticks: int) -> bool:
    """Whether strokes are evenly spaced round the cycle, from tick 0."""
    if not len(onsets) or ticks % len(onsets) or onsets[0] != 0:
        return False
    return not np.any(np.diff(onsets) != ticks // len(onsets))


def counted(what: object, home: object, name: str, example: str) -> tuple[Polyrhythm, int]:
    """Return a rhythm as a `Polyrhythm` with the index of home.

    Home is the pulse named, or that of the beats of a cycle, or else the last.

    Examples
    --------
    >>> counted(Polyrhythm(7, 4).cycle(home=0), None, "what", "approach((7, 4), 72)")
    (Polyrhythm(7, 4), 0)
    """
    p = polyrhythm(what, name, example)
    if home is None and isinstance(what, Cycle):
        same = [i for i, lane in enumerate(what.lanes) if np.array_equal(lane.onsets, what.beats)]
        return p, same[-1] if same else len(p.pulses) - 1
    return p, home_or_last(p, home)


def cycle(what: object, name: str, example: str) -> Cycle:
    """Return a rhythm as a `Cycle`, pulses counted from the last one.

    Parameters
    ----------
    what : Polyrhythm, Cycle or sequence of int
        What the caller gave.
    name : str
        What to call it in the message.
    example : str
        A call that works.

    Examples
    --------
    >>> cycle((3, 2), "what", "strip((3, 2))")
    Cycle(6 ticks, beats 0 3, lanes '3': 0 2 4, '2': 0 3)
    """
    found = rhythm(what, name, example)
    return found.cycle() if isinstance(found, Polyrhythm) else found


def two(p: Polyrhythm, of: object, against: object) -> tuple[int, int]:
    """Return the indices of two pulses: those named, and 0 and 1 where they are left out.

    Parameters
    ----------
    p : Polyrhythm
        The pulses.
    of, against : int or None
        Which pulse is looked at, and against which one; where one is left out it is the other of 0 and 1.

    Raises
    ------
    IndexError
        If there is no such pulse.

    Examples
    --------
    >>> two(Polyrhythm(7, 4), None, None), two(Polyrhythm(7, 4), None, 0)
    ((0, 1), (1, 0))
    """
    count, said = len(p.pulses), f"pulses {p.pulses}"
    first = None if of is None else index(of, count, "of", said)
    second = None if against is None else index(against, count, "against", said)
    if first is None:
        first = 1 if second == 0 else 0
    if second is None:
        second = 0 if first == 1 else 1
    return first, second

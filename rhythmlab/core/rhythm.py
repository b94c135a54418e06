"""What a reader gives as a rhythm, made into one thing; every public call that takes one begins here.

Each function takes what the reader gave, the name of that argument, and a call that works; the last two stand
in the `Refusal` of what is no rhythm.
"""

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


def as_rhythm(what: object, name: str, example: str) -> Polyrhythm | Cycle:
    """Return a rhythm as it is, or a plain pair such as ``(7, 4)`` as a `Polyrhythm`.

    Examples
    --------
    >>> as_rhythm((7, 4), "what", "strip((7, 4))")
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


def as_cycle(what: object, name: str, example: str) -> Cycle:
    """Return a rhythm as a `Cycle`, pulses counted from the last one.

    Examples
    --------
    >>> as_cycle((3, 2), "what", "strip((3, 2))")
    Cycle(6 ticks, beats 0 3, lanes '3': 0 2 4, '2': 0 3)
    """
    found = as_rhythm(what, name, example)
    return found.cycle() if isinstance(found, Polyrhythm) else found


def as_polyrhythm(what: object, name: str, example: str) -> Polyrhythm:
    """Return a rhythm as a `Polyrhythm`; a cycle is refused unless its lanes are even pulses from tick 0.

    Examples
    --------
    >>> as_polyrhythm(Polyrhythm(7, 4).cycle(home=0), "what", "homes((7, 4))")
    Polyrhythm(7, 4)
    """
    found = as_rhythm(what, name, example)
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


def polyrhythm_and_home(what: object, home: object, name: str, example: str) -> tuple[Polyrhythm, int]:
    """Return a rhythm as a `Polyrhythm`, and the index of home.

    Home is `home` where given, else the pulse that the beats of a cycle fall on, else the last pulse.

    Examples
    --------
    >>> polyrhythm_and_home(Polyrhythm(7, 4).cycle(home=0), None, "what", "approach((7, 4), 72)")
    (Polyrhythm(7, 4), 0)
    """
    p = as_polyrhythm(what, name, example)
    if home is None and isinstance(what, Cycle):
        same = [i for i, lane in enumerate(what.lanes) if np.array_equal(lane.onsets, what.beats)]
        return p, same[-1] if same else len(p.pulses) - 1
    return p, home_or_last(p, home)


def pulse_indices(p: Polyrhythm, of: object, against: object) -> tuple[int, int]:
    """Return the indices of two pulses; where one is ``None`` it becomes 0 or 1, whichever is free.

    Examples
    --------
    >>> pulse_indices(Polyrhythm(7, 4), None, None), pulse_indices(Polyrhythm(7, 4), None, 0)
    ((0, 1), (1, 0))
    """
    count, among = len(p.pulses), f"pulses {p.pulses}"
    first = None if of is None else index(of, count, "of", among)
    second = None if against is None else index(against, count, "against", among)
    if first is None:
        first = 1 if second == 0 else 0
    if second is None:
        second = 0 if first == 1 else 1
    return first, second

"""Pairs that teach nothing new, and a playable neighbour for each."""

from dataclasses import dataclass
from math import gcd

from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm, as_polyrhythm

#: Largest number that hands hold without phrasing it (common practice, no source).
HANDS = 8


@dataclass(frozen=True, slots=True)
class NothingNew:
    """Why a polyrhythm is simpler than it looks.

    Attributes
    ----------
    kind : str
        ``"same"`` (equal pulses), ``"nested"`` (the fastest pulse holds all strokes), ``"doubled"`` (a
        pulse is given twice) or ``"repeats"`` (a simpler rhythm, several times in the cycle).
    neighbour : Polyrhythm
        What to play instead.
    """

    kind: str
    neighbour: Polyrhythm


@public("playing.nothing_new((12, 8))", p="what")
def nothing_new(what: Rhythm) -> NothingNew | None:
    """Say why a polyrhythm teaches nothing new, and what to play instead.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.

    Returns
    -------
    NothingNew or None
        ``None`` where every pulse adds something.

    Examples
    --------
    >>> [nothing_new(Polyrhythm(*pair)).neighbour for pair in ((12, 8), (7, 7), (1, 5))]
    [Polyrhythm(3, 2), Polyrhythm(7, 6), Polyrhythm(2, 5)]
    >>> nothing_new((7, 4)) is None
    True
    """
    p = as_polyrhythm(what, "what", "playing.nothing_new((12, 8))")
    pulses = p.reduced.pulses
    fastest = max(pulses)
    if fastest == 1:
        number = min(max(p.pulses[0], 3), HANDS)
        return NothingNew("same", Polyrhythm(number, number - 1))
    if len(set(p.pulses)) < len(p.pulses):
        return NothingNew("doubled", _playable(tuple(dict.fromkeys(pulses))))
    if all(fastest % pulse == 0 for pulse in pulses):
        return NothingNew("nested", _playable(p.pulses))
    if p.repeats > 1:
        return NothingNew("repeats", p.reduced)
    return None


def _playable(pulses: tuple[int, ...]) -> Polyrhythm:
    """Return the pulses themselves where they make a rhythm, else the nearest pair that does."""
    p = Polyrhythm(*pulses)
    fastest = max(p.reduced.pulses)
    if any(fastest % pulse for pulse in p.reduced.pulses):
        return p
    if len(pulses) > 2:
        ranked = sorted(range(len(pulses)), key=pulses.__getitem__)
        return Polyrhythm(*(ranked.index(i) + 2 for i in range(len(pulses))))
    number = min(max(fastest, 3), HANDS - 1)
    other = next(n for n in range(2, number + 1) if gcd(n, number) == 1)
    return Polyrhythm(number, other) if pulses[0] > pulses[1] else Polyrhythm(other, number)

"""What the reader's own limits do to an advice: which of them decide, and what decides where one does not."""

from collections.abc import Callable

from rhythmlab.playing.approach import Approach, Reason
from rhythmlab.playing.learning import tempo_text
from rhythmlab.playing.limits import Limit, Limits, limits
from rhythmlab.text import numbers, sentences
from rhythmlab.text.sentences import say


def own_limits_told(found: Approach, rows: Limits, search: Callable[[Limits], Approach]) -> list[str]:
    """Say of each limit that the reader moved what it does to an advice, a line each.

    Parameters
    ----------
    found : Approach
        The advice under those limits.
    rows : Limits
        The limits, some of them moved.
    search : callable
        Gives the same advice under other limits.

    Returns
    -------
    list of str
        Empty where no limit was moved.

    Examples
    --------
    >>> from rhythmlab.playing.approach import approach
    >>> def told(**own):
    ...     search = lambda rows: approach((16, 15), 72, limits=rows)
    ...     print(*own_limits_told(search(limits(**own)), limits(**own), search))
    >>> told(part_uneven=9)
    Your part_uneven=9 changes nothing in this advice. What bounds it: A beat is felt from 0.2 seconds to \
1.5 seconds (London 2012): from 40 bpm up to 300 bpm.
    >>> told(hand_sustained=300)
    Your hand_sustained=300 decides this advice. Without it, at 167, it is: Follow the drift, from 54 bpm of \
the 15. Recommended up to 300 bpm.
    """
    own = {row.key: row for row in rows.values() if row.status == "moved"}
    without_any, told = limits(), []
    for key, row in own.items():
        others = {other: one.value for other, one in own.items() if other != key}
        without = search(limits(**others))
        mine, theirs = _typed(row), numbers.number(without_any[key].value, 3, between="")
        if _advice(without) == _advice(found):
            why = bound_of(found)
            other = why is not None and (why.limit is None or why.limit.key != key)
            more = say("limit.bounded", why=why.describe(of=False)) if why is not None and other else ""
            told.append(sentences.sentences(say("limit.changes_nothing", limit=mine), more))
        elif _brief(without) != _brief(found):
            told.append(say("limit.decides", limit=mine, value=theirs, advice=_brief(without)))
        elif without.would_change != found.would_change:
            told.append(say("limit.decides_ends", limit=mine, value=theirs, ends=without.would_change))
        else:
            told.append(say("limit.decides_steps", limit=mine, value=theirs))
    return told


def bound_of(found: Approach) -> Reason | None:
    """Return what bounds an advice: the cause that gives its fastest tempo, else its slowest, else the first.

    Examples
    --------
    >>> from rhythmlab.playing.approach import approach
    >>> bound_of(approach((7, 4), 72)).limit.key
    'hand_sustained'
    """
    best = found.recommended
    for end, of in ((best.ceiling, "ceiling"), (best.floor, "floor")):
        at = [why for why in best.causes if end is not None and getattr(why, of) == end]
        if at:
            return at[0]
    return next(iter(best.causes), None)


def _typed(limit: Limit) -> str:
    """Write a limit as it is typed."""
    return f"{limit.key}={numbers.number(limit.value, 3, between='')}"


def _advice(found: Approach) -> tuple[str, ...]:
    """Return all that is advised, as it is said: how to learn it, at which tempos, each step."""
    steps = (f"{step.describe()} {' '.join(step.count)}" for step in found.recommended.steps)
    return (found.in_the_room(), found.would_change, *steps)


def _brief(found: Approach) -> str:
    """Say an advice in short: what to do, from which tempo, and up to which."""
    best = found.recommended
    start = tempo_text(found.polyrhythm, found.home, found.start)
    way = say("limit.way_from", way=sentences.capital(best.label), start=start)
    return sentences.sentences(way, found.reach)

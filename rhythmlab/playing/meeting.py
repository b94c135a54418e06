"""When two cycles of unlike length meet: exact, by the Chinese remainder theorem.

A stroke at tick x of a cycle of a ticks and one at tick y of a cycle of b ticks meet if x - y is a multiple
of the common divisor of a and b; then they meet once in every lcm(a, b) ticks.
"""

from collections.abc import Sequence
from math import gcd, lcm

import numpy as np

from rhythmlab.core import long_work
from rhythmlab.core.call import public
from rhythmlab.core.check import MOST_STROKES, MOST_TICKS, few_enough, window
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.given import Rhythm
from rhythmlab.core.given import cycle as cycle_of
from rhythmlab.core.kinds import Ticks
from rhythmlab.refusal import Refusal

#: Up to so many strokes the plain loop is quicker than any array (measured).
_FEW = 96
#: A mask over every tick is quicker than pairs while it has at most so many ticks a meeting (measured).
_TICKS_A_MEETING = 16
_MOST_MASK = 2**26
#: Most pairs of strokes that are looked through at once, and most where 64-bit numbers are too short.
_AT_ONCE, _MOST_LONG = 2_000_000, 1_000_000
#: Most strokes of a cycle whose meetings are sought.
_MOST_STROKES = 1_000_000
#: So many rounds of the first cycle are looked through for the first meeting before any are paired.
_SOON = 64
_CALL = 'meetings(pattern("x..x"), pattern("x.x.x."))'


@public(_CALL)
def meetings(first: Rhythm, second: Rhythm, *, start: int | None = None, stop: int | None = None) -> Ticks:
    """Return the ticks where strokes of two cycles of any lengths meet, both repeated from tick 0.

    Parameters
    ----------
    first, second : Cycle, Polyrhythm or pair such as (7, 4)
        For example two patterns; all lanes of each count together.
    start, stop : int, optional
        Window in ticks, half-open; until both come home together when left out.

    Returns
    -------
    numpy.ndarray
        int64, rising, read-only.

    Raises
    ------
    ValueError
        If they come home together only beyond 2**62 ticks and no window is given, or they meet more than
        50 million times.

    Examples
    --------
    >>> from rhythmlab.core.cycle import Lane
    >>> four, six = (Cycle(n, [Lane("x", [0, n // 2])], beats=[0]) for n in (4, 6))
    >>> meetings(four, six)
    array([0, 6])
    """
    first, second = (
        what if isinstance(what, Cycle) else cycle_of(what, name, _CALL)
        for what, name in ((first, "first"), (second, "second"))
    )
    for cycle in (first, second):
        strokes = sum(len(lane.onsets) for lane in cycle.lanes)
        if strokes > _MOST_STROKES:
            raise Refusal(
                f"{strokes:,} strokes in a cycle are more than the {_MOST_STROKES:,} looked through",
                _CALL,
            )
    mine, other = (_onsets(cycle) for cycle in (first, second))
    ticks = meeting_ticks(mine, first.ticks, other, second.ticks, start, stop)
    ticks.flags.writeable = False
    return ticks


def _onsets(cycle: Cycle) -> list[int]:
    """Return the ticks where any lane has a stroke, each once, rising."""
    ticks = np.sort(np.concatenate([np.empty(0, dtype=np.int64), *(lane.onsets for lane in cycle.lanes)]))
    each: list[int] = ticks[np.diff(ticks, prepend=-1) > 0].tolist()
    return each


def meeting_ticks(
    first: Sequence[int],
    length: int,
    second: Sequence[int],
    other: int,
    start: int | None = None,
    stop: int | None = None,
) -> Ticks:
    """Return what `meetings` returns, for onsets in cycles of `length` and `other` ticks; checks no onset.

    Examples
    --------
    >>> meeting_ticks([0, 2], 4, [0, 3], 6)
    array([0, 6])
    """
    home = lcm(length, other)
    if start is None and stop is None:
        strokes, others = home // length * len(first), home // other * len(second)
        if strokes <= _FEW or others <= _FEW:
            if others < strokes:
                first, length, second, other = second, other, first, length
            known = set(second)
            rounds = range(0, home, length)
            met = [tick for turn in rounds for onset in first if (tick := turn + onset) % other in known]
            if met and met[-1] > MOST_TICKS:
                raise _far(length, other, 0)
            return np.array(met, dtype=np.int64)
        low, high = 0, home
    else:
        low, high = window(start, stop, home)
    if high > MOST_TICKS:
        raise _far(length, other, low)
    count = meeting_count(first, length, second, other)
    if low == 0 and high == home:
        few_enough(count, low, high, "")
    span = high - low
    if span <= min(_MOST_MASK, max(4096, _TICKS_A_MEETING * count)):
        strokes = len(first) + len(second)
        _say(count * span // home, megabytes=(3 * span + 8 * count * span // home + 60 * strokes) / 1e6)
        return _masked(first, length, second, other, low, span)
    strokes = (span // length + 2) * len(first)
    if strokes < count:  # a short window of a long pattern: look stroke by stroke
        few_enough(strokes, low, high, "")
        _say(strokes, megabytes=24 * strokes / 1e6)
        turns = np.arange(low // length, -(-high // length), dtype=np.int64) * length
        ticks = (turns[:, None] + np.asarray(first, dtype=np.int64)).ravel()
        ticks = ticks[(ticks >= low) & (ticks < high)]
        return ticks[np.isin(ticks % other, np.asarray(second, dtype=np.int64))]
    few_enough(count, low, high, "", _MOST_LONG if _too_long(length, other) else MOST_STROKES)
    _say(count, megabytes=40 * count / 1e6)
    paired = _paired(first, length, second, other, home)
    if isinstance(paired, list):
        return np.array(sorted(tick for tick in paired if low <= tick < high), dtype=np.int64)
    return np.sort(paired[(paired >= low) & (paired < high)] if span < home else paired)


def _far(length: int, other: int, low: int) -> Refusal:
    return Refusal(
        f"cycles of {length:,} and {other:,} ticks come home together after {lcm(length, other):,} ticks, "
        "more than 2**62; look through a window",
        f"start={low}, stop={low + 1000}",
    )


def met_between(
    first: Sequence[int], length: int, second: Sequence[int], other: int, low: int, high: int
) -> Ticks:
    """Return the meetings from tick `low` up to `high`, however often both have come home by then.

    Examples
    --------
    >>> met_between([0, 2], 4, [0, 3], 6, 10, 20)
    array([12, 18])
    """
    home, span = lcm(length, other), high - low
    if span >= home:
        ticks = meeting_ticks(first, length, second, other)
        turns = np.arange(low // home, -(-high // home), dtype=np.int64) * home
        ticks = (turns[:, None] + ticks).ravel()
        return ticks[(ticks >= low) & (ticks < high)]
    begin = low % home
    until = min(begin + span, home)
    pieces = [meeting_ticks(first, length, second, other, begin, until) + (low - begin)]
    if begin + span > home:
        rest = meeting_ticks(first, length, second, other, 0, begin + span - home)
        pieces.append(rest + (low - begin + home))
    return np.concatenate(pieces)


def meeting_count(first: Sequence[int], length: int, second: Sequence[int], other: int) -> int:
    """Return how often strokes meet until both cycles come home together, exact for any lengths.

    Examples
    --------
    >>> meeting_count([0, 2], 4, [0, 3], 6), meeting_count([0], 10**30, [0, 7], 10**30 + 1)
    (2, 2)
    """
    common = gcd(length, other)
    if common == 1:
        return len(first) * len(second)
    left: dict[int, int] = {}
    for tick in first:
        left[tick % common] = left.get(tick % common, 0) + 1
    return sum(left.get(tick % common, 0) for tick in second)


def first_meeting(first: Sequence[int], length: int, second: Sequence[int], other: int) -> int | None:
    """Return the first tick where strokes meet, or ``None`` if they never do; exact for any lengths.

    Examples
    --------
    >>> first_meeting([1], 4, [3], 6), first_meeting([1], 4, [2], 6) is None
    (9, True)
    """
    count = meeting_count(first, length, second, other)
    if not count:
        return None
    known = set(second)
    for turn in range(_SOON):  # most meet soon
        for tick in first:
            if (tick + turn * length) % other in known:
                return tick + turn * length
    home = lcm(length, other)
    few_enough(count, 0, home, "", _MOST_LONG if _too_long(length, other) else MOST_STROKES)
    some = max(1, _AT_ONCE // len(second))
    parts = (_paired(first[i : i + some], length, second, other, home) for i in range(0, len(first), some))
    return min(
        int(np.min(part)) if isinstance(part, np.ndarray) else min(part) for part in parts if len(part)
    )


def _too_long(length: int, other: int) -> bool:
    """Whether products of ticks are too long for 64-bit whole numbers."""
    return min(length, other) // gcd(length, other) >= 2**31 or lcm(length, other) > MOST_TICKS


def _say(strokes: int, megabytes: float) -> None:
    long_work.say(
        f"Meetings of {strokes:,} strokes",
        megabytes=megabytes,
        instead="A window, start= and stop=, takes less.",
    )


def _masked(
    first: Sequence[int], length: int, second: Sequence[int], other: int, low: int, span: int
) -> Ticks:
    """Lay both cycles over every tick of a span."""
    rows = []
    for onsets, ticks in ((first, length), (second, other)):
        begin = low % ticks
        if ticks <= span:
            row = np.zeros(ticks, dtype=bool)
            row[np.asarray(onsets, dtype=np.int64)] = True
            row = np.roll(row, -begin) if begin else row
            rows.append(np.broadcast_to(row, (-(-span // ticks), ticks)).ravel()[:span])
        else:  # longer than the span: only the strokes in it, at most one turn round
            row = np.zeros(span, dtype=bool)
            inside = [(onset - begin) % ticks for onset in onsets]
            row[[tick for tick in inside if tick < span]] = True
            rows.append(row)
    both = np.flatnonzero(rows[0] & rows[1]).astype(np.int64, copy=False)
    if low:
        both += low
    return both


def _paired(
    first: Sequence[int], length: int, second: Sequence[int], other: int, home: int
) -> Ticks | list[int]:
    """Return the meeting of every pair of strokes that meets, in no order."""
    if other > length:
        first, length, second, other = second, other, first, length
    common = gcd(length, other)
    turns = other // common
    inverse = pow(length // common, -1, turns)
    if _too_long(length, other):
        by_share: dict[int, list[int]] = {}
        for tick in second:
            by_share.setdefault(tick % common, []).append(tick)
        return [
            x + length * ((y - x) // common * inverse % turns)
            for x in first
            for y in by_share.get(x % common, ())
        ]
    x, y = np.asarray(first, dtype=np.int64), np.asarray(second, dtype=np.int64)
    if common == 1:
        x, y = np.repeat(x, len(y)), np.tile(y, len(x))
    else:
        y = y[np.argsort(y % common, kind="stable")]
        shares = y % common
        begins = np.searchsorted(shares, x % common, side="left")
        counts = np.searchsorted(shares, x % common, side="right") - begins
        ends = np.cumsum(counts)
        which = np.arange(counts.sum()) - np.repeat(ends - counts, counts) + np.repeat(begins, counts)
        x, y = np.repeat(x, counts), y[which]
    later = (y - x) // common % turns
    later *= inverse
    later %= turns
    return x + later * length

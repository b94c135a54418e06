"""Which played stroke belongs to which meant one: as many as possible, then as near as possible.

Times are float64 seconds.  A meant and a played stroke can be a pair when they are at most a window apart;
each is in one pair at most, and the pairs do not cross.
"""

import math
from numbers import Real

import numpy as np

from rhythmlab.core.check import short
from rhythmlab.core.types import Floats, Ticks
from rhythmlab.refusal import Refusal

#: Most strokes that are solved group by group; and about how many a stretch of more of them has.
LONG, STRETCH = 512, 64
_EXAMPLE = 'practice.measure(practice.take_from_midi("kit.mid", (7, 4), 72))'


def match(meant: Floats, played: Floats, window: float) -> tuple[Ticks, Ticks]:
    """Pair meant strokes with played ones: first the most pairs, then the least total error.

    Strokes that share no neighbour inside the window fall into groups, and each group is solved exactly by
    a dynamic programme that compares (pairs, error) in this order.  More than `LONG` strokes are cut into
    stretches that are solved side by side, for every tap at which a stretch can begin.

    Parameters
    ----------
    meant, played : numpy.ndarray
        float64 seconds, never falling.
    window : float
        Largest difference of a pair, seconds, at least 0.

    Returns
    -------
    tuple of numpy.ndarray
        int64 indices into `meant` and into `played`, both rising, of the same length.

    Raises
    ------
    ValueError
        If a time is not finite, the times fall, or the window is not a finite number of at least 0.

    Examples
    --------
    >>> match(np.array([0.0, 1.0]), np.array([-0.4, 0.1, 1.3]), 0.5)
    (array([0, 1]), array([1, 2]))
    """
    return pairs_of(*_checked(meant, played, window))


def pairs_of(meant: Floats, played: Floats, window: float) -> tuple[Ticks, Ticks]:
    """Return what `match` does for times of a take, which were checked where they came in.

    Examples
    --------
    >>> pairs_of(np.array([0.0, 1.0]), np.array([0.1, 0.9]), 0.5)
    (array([0, 1]), array([0, 1]))
    """
    low, high = _reach(meant, played, window)
    rows = _where(high > low)
    low, high = low[rows], high[rows]
    if not len(rows):
        return rows.astype(np.int64), rows.astype(np.int64)
    if (high - low == 1).all() and (low[1:] > low[:-1]).all():  # each stroke has a tap of its own
        return rows.astype(np.int64), low.astype(np.int64)
    # A group begins where a meant stroke reaches no tap that the one before it reaches.
    starts = _where(np.concatenate(([True], low[1:] >= high[:-1])))
    ends = np.append(starts[1:], len(rows))
    chosen = np.full(len(rows), -1, dtype=np.int64)
    alone = starts[ends - starts == 1]
    chosen[alone] = _nearest(meant[rows[alone]], played, low[alone], high[alone])
    several = _where(ends - starts > 1)
    crowded = np.repeat(ends - starts > 1, ends - starts)
    if crowded.sum() > LONG:
        chosen[crowded] = _side_by_side(meant[rows[crowded]], played, low[crowded], high[crowded], window)
    elif len(several):
        times, taps = meant[rows].tolist(), played.tolist()
        lows, highs = low.tolist(), high.tolist()
        for first, last in zip(starts[several].tolist(), ends[several].tolist(), strict=True):
            for row, tap in _group(times, taps, lows, highs, first, last):
                chosen[row] = tap
    paired = chosen >= 0
    return rows[paired].astype(np.int64), chosen[paired]


def matched(meant: Floats, played: Floats, window: float) -> int:
    """Count the pairs that `match` finds, without finding the best ones.

    One pass over both: of two strokes out of reach the earlier can have no pair, and two within reach can
    always be one.

    Parameters
    ----------
    meant, played : numpy.ndarray
        float64 seconds, never falling.
    window : float
        Largest difference of a pair, seconds, at least 0.

    Raises
    ------
    ValueError
        As `match`.

    Examples
    --------
    >>> matched(np.array([0.0, 1.0]), np.array([-0.4, 0.1, 1.3]), 0.5)
    2
    """
    meant, played, window = _checked(meant, played, window)
    strokes, taps = meant.tolist(), played.tolist()
    m, n = len(strokes), len(taps)
    i = j = pairs = 0
    while i < m and j < n:
        apart = taps[j] - strokes[i]
        if apart < -window:
            j += 1
        elif apart > window:
            i += 1
        else:
            pairs += 1
            i += 1
            j += 1
    return pairs


def times(values: object, name: str) -> Floats:
    """Return times as a float64 array, or refuse them.

    Parameters
    ----------
    values : array_like
        Seconds, finite, never falling.
    name : str
        What to call them in the message.

    Raises
    ------
    ValueError
        If they are not.
    """
    try:
        array = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        array = np.empty((0, 0))
    if array.ndim != 1:
        raise Refusal(f"{name}={short(values)} is not a row of seconds", _EXAMPLE, argument=name)
    if not np.isfinite(array).all():
        strange = int(np.flatnonzero(~np.isfinite(array))[0])
        raise Refusal(f"{name}[{strange}]={array[strange]} is not a finite number of seconds", _EXAMPLE)
    if (array[1:] < array[:-1]).any():
        raise Refusal(f"{name}={short(array.tolist())} falls; sort the times first", _EXAMPLE, argument=name)
    return array


def _checked(meant: object, played: object, window: object) -> tuple[Floats, Floats, float]:
    """Return the arguments as arrays and a number, or refuse them."""
    if not isinstance(window, Real) or isinstance(window, bool) or not 0 <= float(window) < math.inf:
        raise Refusal(
            f"window={short(window)} is not a finite number of seconds of at least 0",
            _EXAMPLE,
            argument="window",
        )
    return times(meant, "meant"), times(played, "played"), float(window)


def _where(found: np.ndarray) -> Ticks:
    """Return where a row is true; `numpy.flatnonzero` takes twice as long on short ones."""
    places: Ticks = found.nonzero()[0]
    return places


def _reach(meant: Floats, played: Floats, window: float) -> tuple[Ticks, Ticks]:
    """Return the first tap that each meant stroke reaches, and the first one after those."""
    slack = 4 * np.spacing(np.maximum(np.abs(meant), window))  # the sum is rounded, so look a little further
    low = played.searchsorted(meant - window - slack, side="left")
    high = played.searchsorted(meant + window + slack, side="right")
    while len(wrong := _where(low < high)):
        wrong = wrong[played[low[wrong]] - meant[wrong] < -window]
        if not len(wrong):
            break
        low[wrong] += 1
    while len(wrong := _where(low < high)):
        wrong = wrong[played[high[wrong] - 1] - meant[wrong] > window]
        if not len(wrong):
            break
        high[wrong] -= 1
    return low, high


def _nearest(meant: Floats, played: Floats, low: Ticks, high: Ticks) -> Ticks:
    """Return the nearest tap of each stroke among those from `low` up to `high`."""
    after = np.minimum(np.maximum(played.searchsorted(meant), low), high - 1)
    before = np.maximum(after - 1, low)
    return np.where(np.abs(played[before] - meant) <= np.abs(played[after] - meant), before, after)


def _group(
    strokes: list[float], taps: list[float], lows: list[int], highs: list[int], first: int, last: int
) -> list[tuple[int, int]]:
    """Solve one group: the rows `first` up to `last`, each with the taps `lows[i]` up to `highs[i]`.

    ``count[j], cost[j]`` is the best that the rows so far make of the taps below j; a row changes it only
    inside its own reach, and past the reach it stays as at the end.
    """
    base, known = lows[first], lows[first]
    count = [0] * (highs[last - 1] - base + 1)
    cost = [0.0] * len(count)
    ways = []  # of every row and tap in reach: 0 row unused, 1 tap unused, 2 a pair
    for i in range(first, last):
        stroke, low, high = strokes[i], lows[i], highs[i]
        for j in range(known + 1, high + 1):
            count[j - base], cost[j - base] = count[known - base], cost[known - base]
        known = high
        diagonal_count = left_count = count[low - base]
        diagonal_cost = left_cost = cost[low - base]
        way = []
        for j in range(low, high):
            at = j - base + 1
            up_count, up_cost = count[at], cost[at]
            best_count, best_cost, best = up_count, up_cost, 0
            if left_count > best_count or (left_count == best_count and left_cost < best_cost):
                best_count, best_cost, best = left_count, left_cost, 1
            diagonal_count += 1
            diagonal_cost += abs(taps[j] - stroke)
            if diagonal_count > best_count or (diagonal_count == best_count and diagonal_cost < best_cost):
                best_count, best_cost, best = diagonal_count, diagonal_cost, 2
            count[at], cost[at] = left_count, left_cost = best_count, best_cost
            diagonal_count, diagonal_cost = up_count, up_cost
            way.append(best)
        ways.append(way)
    pairs = []
    j = highs[last - 1]
    for i in range(last - 1, first - 1, -1):
        j, low, way = min(j, highs[i]), lows[i], ways[i - first]
        while j > low and way[j - low - 1] == 1:
            j -= 1
        if j > low and way[j - low - 1] == 2:
            j -= 1
            pairs.append((i, j))
    return pairs


def _side_by_side(
    strokes: Floats, played: Floats, low: Ticks, high: Ticks, window: float, stretch: int = STRETCH
) -> Ticks:
    """Solve many strokes, cut into stretches: return the tap of each, -1 where it has none.

    A state is how many taps from the first in reach on are behind.  Where a stretch begins it is not known
    yet, so every stretch is solved for each state that it can begin with, all at a time, a column for each;
    then the best states are chosen from stretch to stretch, and the pairs are read back, all at a time again.
    """
    first = _cuts(low, high, stretch)
    last = np.append(first[1:], len(strokes)) - 1
    ways = np.append(1, np.maximum(0, high[last[:-1]] - low[first[1:]]) + 1)
    rows = np.minimum(first + np.arange(int((last - first).max()) + 1)[:, None], last)
    wide = int((high - low).max())
    at = low[rows][:, None] + np.arange(wide)[:, None]
    inside = (at < high[rows][:, None]) & (first + np.arange(len(rows))[:, None] <= last)[:, None]
    pair = 2 * len(rows) * (window + 1)  # one pair more is worth any error of a stretch
    error = np.abs(played[np.minimum(at, len(played) - 1)] - strokes[rows][:, None])
    cost = np.where(inside, error - pair, np.inf)
    further = np.diff(low[rows], axis=0, prepend=low[rows[:1]])
    states = np.arange(wide + 1)[:, None]
    # For each state that a stretch can begin with.
    of = np.repeat(np.arange(len(first)), ways)
    begin = np.arange(len(of)) - np.repeat(np.cumsum(ways) - ways, ways)
    ends = np.where(states >= begin, 0.0, np.inf)
    for row in range(len(rows)):
        ends = _one_more(_further(ends, further[row][of]), cost[row][:, of])
    begins = _chosen_states(ends, first, last, ways, low, pair)
    # Once more, only from where each stretch begins, to read the pairs.
    values, before, after = np.where(states >= begins[:-1], 0.0, np.inf), [], []
    for row in range(len(rows)):
        before.append(_further(values, further[row]))
        values = _one_more(before[-1], cost[row])
        after.append(values)
    chosen = np.full(len(strokes), -1, dtype=np.int64)
    all_of = np.arange(len(first))
    state = np.minimum(np.append(low[first[1:]], low[-1] + wide) - low[last] + begins[1:], wide)
    for row in range(len(rows) - 1, -1, -1):
        value = after[row][state, all_of]
        state = (after[row] == value).argmax(axis=0)  # the fewest taps that do as well
        paired = before[row][state, all_of] != value
        state = state - paired
        chosen[rows[row][paired]] = (low[rows[row]] + state)[paired]
        state = np.minimum(state + further[row], wide)
    return chosen


def _cuts(low: Ticks, high: Ticks, stretch: int) -> Ticks:
    """Return where stretches begin: where few taps are in reach of both sides."""
    both = np.maximum(0, high[:-1] - low[1:])
    near = max(1, stretch // 8)
    aims = np.arange(stretch, len(low) - near, stretch)
    around = np.maximum(aims[:, None] + np.arange(-near, near), 1)  # a stretch has a stroke at least
    return np.append(0, np.unique(around[np.arange(len(aims)), both[around - 1].argmin(axis=1)]))


def _further(values: Floats, by: Ticks) -> Floats:
    """Return values by state once the first tap in reach of each column is so many further on."""
    states, columns = np.arange(len(values))[:, None], np.arange(values.shape[1])
    index = np.minimum(states + by, len(values) - 1) * values.shape[1] + columns
    moved: Floats = values.take(index)
    return moved


def _one_more(before: Floats, cost: Floats) -> Floats:
    """Return the best of each state after one more stroke of each column."""
    best = before.copy()
    np.minimum(best[1:], before[:-1] + cost, out=best[1:])
    return np.minimum.accumulate(best, axis=0)


def _chosen_states(ends: Floats, first: Ticks, last: Ticks, ways: Ticks, low: Ticks, pair: float) -> Ticks:
    """Return the states at which stretches begin, and a last one: of the most pairs, then the least error."""
    wide = len(ends) - 1
    known = np.isfinite(ends)
    pairs = np.where(known, np.ceil(-np.where(known, ends, 0.0) / pair), -math.inf)
    errors = np.where(known, ends + np.where(known, pairs, 0.0) * pair, math.inf)
    best, came, column = [(0.0, 0.0)], [], 0
    for one in range(len(first)):
        here = range(column, column + int(ways[one]))
        if one + 1 < len(first):
            away = int(low[first[one + 1]] - low[last[one]])
            to = [min(away + k, wide) for k in range(int(ways[one + 1]))]
        else:
            to = [wide]
        rows, far = pairs[to, here.start : here.stop].tolist(), errors[to, here.start : here.stop].tolist()
        made = [
            min(
                (-count - n, error + e, k)
                for k, ((count, error), n, e) in enumerate(zip(best, ns, es, strict=True))
            )
            for ns, es in zip(rows, far, strict=True)
        ]
        best, column = [(-count, error) for count, error, _ in made], here.stop
        came.append([k for _, _, k in made])
    states = [0]
    for back in reversed(came):
        states.append(back[states[-1]])
    return np.array([*states[:0:-1], 0], dtype=np.int64)

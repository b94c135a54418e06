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

_EXAMPLE = 'practice.measure(practice.take_from_midi("kit.mid", (7, 4), 72))'


def match(meant: Floats, played: Floats, window: float) -> tuple[Ticks, Ticks]:
    """Pair meant strokes with played ones: first the most pairs, then the least total error.

    Strokes that share no neighbour inside the window fall into groups, and each group is solved exactly by
    a dynamic programme that compares (pairs, error) in this order.

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
    meant, played, window = _checked(meant, played, window)
    low, high = _reach(meant, played, window)
    rows = np.flatnonzero(high > low)
    low, high = low[rows], high[rows]
    if not len(rows):
        return rows.astype(np.int64), rows.astype(np.int64)
    # A group begins where a meant stroke reaches no tap that the one before it reaches.
    starts = np.flatnonzero(np.concatenate(([True], low[1:] >= high[:-1])))
    ends = np.append(starts[1:], len(rows))
    chosen = np.full(len(rows), -1, dtype=np.int64)
    alone = starts[ends - starts == 1]
    chosen[alone] = _nearest(meant[rows[alone]], played, low[alone], high[alone])
    several = np.flatnonzero(ends - starts > 1)
    if len(several):
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


def _reach(meant: Floats, played: Floats, window: float) -> tuple[Ticks, Ticks]:
    """Return the first tap that each meant stroke reaches, and the first one after those."""
    slack = 4 * np.spacing(np.maximum(np.abs(meant), window))  # the sum is rounded, so look a little further
    low = np.searchsorted(played, meant - window - slack, side="left")
    high = np.searchsorted(played, meant + window + slack, side="right")
    while len(wrong := np.flatnonzero(low < high)):
        wrong = wrong[played[low[wrong]] - meant[wrong] < -window]
        if not len(wrong):
            break
        low[wrong] += 1
    while len(wrong := np.flatnonzero(low < high)):
        wrong = wrong[played[high[wrong] - 1] - meant[wrong] > window]
        if not len(wrong):
            break
        high[wrong] -= 1
    return low, high


def _nearest(meant: Floats, played: Floats, low: Ticks, high: Ticks) -> Ticks:
    """Return the nearest tap of each stroke among those from `low` up to `high`."""
    after = np.clip(np.searchsorted(played, meant), low, high - 1)
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

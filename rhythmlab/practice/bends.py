"""How the errors of a take go along in time, where no whole stroke was lost: a bend, found by least squares.

Each tap is followed to the stroke that it is nearest to, once it is moved by what the ones before it were off
by; so who goes on late by more than half a stroke is still followed.  A bend is the line that fits these
errors best: a step at a place, a knee at a cycle, a slope of one lane against another, or a peak that comes
in every cycle.
"""

from bisect import bisect_right
from collections.abc import Sequence
from itertools import accumulate, pairwise
from typing import NamedTuple

import numpy as np

from rhythmlab.core.types import Floats, Ticks

#: Which share of a new error is followed at once; so few taps of a lane, or on a side of a step, say nothing
#: (own choices).
FOLLOW, FEWEST_TAPS = 0.5, 4
#: How much of an error is still followed so many taps later, and errors that are the same but for rounding.
_LASTING, SAME_S = np.append(0.0, FOLLOW * (1 - FOLLOW) ** np.arange(60)), 1e-9
#: Smallest bend that is told, in seconds: of a wait, of a changed tempo and of a lane of its own tempo at the
#: end of the take, of a peak in each cycle (own choices); one that is a quarter less before wild errors are
#: drawn in is looked at.
LEAST_S = {"waited": 0.04, "changed": 0.04, "parted": 0.04, "stretch": 0.025}
NEARLY = 0.75
#: So much less likely, or more, a slope must be than a step of one lane to be none (own choice).
STEP_FITS = 0.1
#: From how many standard deviations on an error is wild, and drawn in (own choice).
WILD = 3.5
#: In how many cycles a peak must come, at least; and which share of all that comes again in each cycle it
#: must be, so that one stroke that is late in each is none (own choices).
CYCLES, PERIODIC = 3, 0.7


class Followed(NamedTuple):
    """Taps, lane after lane: when each was meant, how late it was, in seconds, and its lane.

    And which stroke of the cycle it is, counted on from lane to lane; how many taps each lane has, and where
    these begin and end.
    """

    when: Floats
    late: Floats
    lane: Ticks
    stroke: Ticks
    many: Ticks
    ends: list[int]


class Bend(NamedTuple):
    """A line through errors.

    Attributes
    ----------
    size : float
        How high a step or a peak is, in seconds; how steep a slope is, in seconds for each second.
    at : float
        When a step or a knee comes, or where in the cycle a peak is, in seconds.
    lane : int
        Which lane has the slope.
    fit : numpy.ndarray
        How late each tap is by it.
    weights, left : numpy.ndarray
        What each error adds to the size, and what is left of it, so that its standard error can be told.
    """

    size: float
    at: float
    lane: int
    fit: Floats
    weights: Floats
    left: Floats


def follow(taps: Sequence[Floats], onsets: Sequence[Floats], turn: float, *, alone: bool) -> Followed:
    """Follow the taps of lanes to their strokes, each lane alone or all together; each lane has some.

    Examples
    --------
    >>> onsets = np.array([0.0, 1.0])
    >>> follow([np.array([0.0, 1.25, 2.5, 3.75, 5.0])], [onsets], 2.0, alone=True).late.tolist()
    [0.0, 0.25, 0.5, 0.75, 1.0]
    """
    around = [np.concatenate((one[-1:] - turn, one, one[:1] + turn)) for one in onsets]
    middles = [(one[1:] + one[:-1]) / 2 for one in around]
    ends, apart = [0, *accumulate(map(len, taps))], 3 * turn  # no turn reaches into that of the next lane
    taps_of = np.array([len(one) for one in taps])
    times, lanes = np.concatenate(taps), np.arange(len(taps)).repeat(taps_of)
    groups = [slice(a, b) for a, b in pairwise(ends)] if alone else [np.argsort(times, kind="stable")]
    places, before = np.concatenate(around), lanes * apart
    in_line = np.concatenate([one + i * apart for i, one in enumerate(middles)])

    def at(usual: Floats) -> tuple[Floats, Ticks]:
        """Return how late taps are, and their places, where it is known what the ones before were off by."""
        inside = (times - usual) % turn
        near = in_line.searchsorted(inside + before, side="right") + lanes  # a place more than middles
        return inside - places.take(near) + usual, near

    late, near = at(np.zeros(len(times)))
    usual = np.empty(len(times))
    for here in groups:
        usual[here] = np.convolve(late[here], _LASTING)[: len(late[here])]
    again, near = at(usual)
    if np.abs(again - late).max() > SAME_S:  # someone went away so far that each tap must be followed
        for here in groups:
            usual[here] = _tap_for_tap(times[here], lanes[here], around, middles, turn)
        again, near = at(usual)
    many = np.array([len(one) for one in onsets])
    first = np.cumsum(many) - many
    stroke = first[lanes] + (near - (first + 2 * np.arange(len(many)) + 1)[lanes]) % many[lanes]
    return Followed(times - again, again, lanes, stroke, taps_of, ends)


def _tap_for_tap(
    times: Floats, lanes: Ticks, around: list[Floats], middles: list[Floats], turn: float
) -> list[float]:
    """Return what the taps before each one were off by, tap for tap, where these are in order."""
    places, between = [one.tolist() for one in around], [one.tolist() for one in middles]
    off, usual = 0.0, []
    for time, i in zip(times.tolist(), lanes.tolist(), strict=True):
        usual.append(off)
        inside = (time - off) % turn
        off += FOLLOW * (inside - places[i][bisect_right(between[i], inside)])
    return usual


def _means(values: Floats, errors: Followed) -> Floats:
    """Return the mean of the values of each lane."""
    means: Floats = np.bincount(errors.lane, values) / errors.many
    return means


def _centred(values: Floats, errors: Followed) -> Floats:
    """Return values against the means of their lanes."""
    inside: Floats = values - _means(values, errors)[errors.lane]
    return inside


def _median(values: Floats) -> float:
    """Return the middle of values."""
    middle, order = len(values) // 2, values.copy()
    order.partition(middle)
    return float(order[middle])


def _tamed(left: Floats, errors: Followed) -> Floats:
    """Return errors against the mean of their lanes, those far from its middle drawn in."""
    middles = np.array([_median(left[a:b]) for a, b in pairwise(errors.ends)])
    made = left - middles[errors.lane]
    far = WILD * 1.4826 * _median(np.abs(made))
    return _centred(np.minimum(np.maximum(made, -far), far), errors)


def _best(late: Floats, columns: Floats, errors: Followed) -> int:
    """Return which of some columns fits centred errors best, once it is centred too."""
    sums = np.array([columns[a:b].sum(axis=0) for a, b in pairwise(errors.ends)])
    squares = np.einsum("ij,ij->j", columns, columns) - ((sums**2).T / errors.many).sum(axis=1)
    return int(np.argmax((late @ columns) ** 2 / np.maximum(squares, 1e-9)))


def _bend(
    errors: Followed, late: Floats, line: Floats, column: Floats, at: float, long: float, least: float
) -> Bend | None:
    """Fit one column, of which `line` is centred, to centred errors, if it is large enough so many times."""
    square = float(line @ line)
    if square < 1e-9:
        return None
    size = float(line @ late) / square
    if abs(size) * long < NEARLY * least:
        return None
    for _ in range(2):
        size += float(line @ _tamed(late - size * line, errors)) / square
    if abs(size) * long < least:
        return None
    return Bend(size, at, 0, size * column, line / square, _tamed(late - size * line, errors))


def step(errors: Followed) -> Bend | None:
    """Find the place from which on all is later, or earlier, by the same.

    Examples
    --------
    >>> taps = np.arange(10) + np.repeat([0.0, 0.1], 5)
    >>> found = step(follow([taps], [np.array([0.0, 1.0])], 2.0, alone=True))
    >>> round(found.size, 6), round(found.at, 6)
    (0.1, 5.0)
    """
    late = _centred(errors.late, errors)
    at = _step_at(errors, late)[0]
    column = (errors.when >= at - 1e-5).astype(np.float64)
    return _bend(errors, late, _centred(column, errors), column, at, 1.0, LEAST_S["waited"])


def _step_at(errors: Followed, late: Floats) -> tuple[float, float]:
    """Return where a step fits centred errors best, and how much of their squares it explains."""
    many, order = errors.many, np.argsort(errors.when, kind="stable")
    when, lanes = errors.when[order], errors.lane[order]
    before = np.cumsum(lanes[:, None] == np.arange(len(many)), axis=0)[FEWEST_TAPS - 1 : -FEWEST_TAPS]
    squares = (before * (many - before) / many).sum(axis=1)
    gains = np.cumsum(late[order])[FEWEST_TAPS - 1 : -FEWEST_TAPS] ** 2 / np.maximum(squares, 1e-9)
    gains[(when[1:] - when[:-1])[FEWEST_TAPS - 1 : len(when) - FEWEST_TAPS] < 1e-5] = 0.0
    k = int(np.argmax(gains))
    return float(when[FEWEST_TAPS + k]), float(gains[k])


def knee(errors: Followed, turn: float, cycles: int) -> Bend | None:
    """Find the cycle, but the first, from which on all goes at another tempo.

    Examples
    --------
    >>> taps = np.arange(12) + np.maximum(np.arange(12) - 6, 0) * 0.02
    >>> found = knee(follow([taps], [np.arange(3.0)], 3.0, alone=True), 3.0, 4)
    >>> round(found.size, 6), found.at
    (0.02, 6.0)
    """
    places, late = np.arange(1, cycles) * turn, _centred(errors.late, errors)
    columns = np.maximum(errors.when[:, None] - places, 0.0)
    k = _best(late, columns, errors)
    column, long = columns[:, k], cycles * turn - float(places[k])
    line = _centred(column, errors)
    return _bend(errors, late, line, column, float(places[k]), long, LEAST_S["changed"])


def slopes(errors: Followed, end: float) -> Bend | None:
    """Find the lane that goes at another tempo than the others do: the size is against their mean.

    Examples
    --------
    >>> taps = [np.arange(6) * 1.02, np.arange(6.0)]
    >>> found = slopes(follow(taps, [np.arange(2.0), np.arange(2.0)], 2.0, alone=True), 6.0)
    >>> round(found.size, 6), found.lane
    (0.02, 0)
    """
    many, count = errors.many, len(errors.many)
    if count < 2 or many.min() < FEWEST_TAPS:
        return None
    line, late = _centred(errors.when, errors), _centred(errors.late, errors)
    squares = _means(line**2, errors) * many
    if squares.min() < 1e-9:
        return None
    made = _means(line * late, errors) * many / squares
    others = (made.sum() - made) / (count - 1)
    if np.abs(made - others).max() * end < NEARLY * LEAST_S["parted"]:
        return None
    for _ in range(2):
        left = _tamed(late - made[errors.lane] * line, errors)
        made += _means(line * left, errors) * many / squares
    others = (made.sum() - made) / (count - 1)
    apart = np.abs(made - others)
    i = max(range(count), key=lambda one: (round(float(apart[one]), 9), abs(float(made[one]))))
    if apart[i] * end < LEAST_S["parted"]:
        return None
    here = slice(errors.ends[i], errors.ends[i + 1])
    if many[i] > 2 * FEWEST_TAPS:  # a beat that one lane lost is no slope
        first, several = np.zeros(many[i], dtype=np.int64), int(many[i])
        of_lane = Followed(
            errors.when[here], errors.late[here], first, errors.stroke[here], many[i : i + 1], [0, several]
        )
        squared, by_step = float(late[here] @ late[here]), _step_at(of_lane, late[here])[1]
        by_slope = float(made[i] ** 2 * squares[i])
        if squared - by_step < STEP_FITS ** (2 / int(many[i])) * (squared - by_slope):
            return None
    share = np.full(count, -1 / (count - 1))
    share[i] = 1.0
    own = made if count == 2 else np.where(share > 0, made - others, 0.0)
    left = _tamed(late - made[errors.lane] * line, errors)
    fit, weights = own[errors.lane] * errors.when, (share / squares)[errors.lane] * line
    return Bend(float(made[i] - others[i]), 0.0, i, fit, weights, left)


def peak(errors: Followed, places: Floats, turn: float, cycles: int) -> Bend | None:
    """Find the place up to which each cycle is rushed or dragged, and from which it comes back to its 1.

    Examples
    --------
    >>> taps = np.arange(16) + np.tile([0.0, -0.02, -0.04, -0.02], 4)
    >>> errors = follow([taps], [np.arange(4.0)], 4.0, alone=True)
    >>> found = peak(errors, np.array([1.0, 2.0, 3.0]), 4.0, 4)
    >>> round(found.size, 6), found.at
    (-0.04, 2.0)
    """
    if cycles < CYCLES or len(places) < CYCLES:
        return None
    late, inside = _centred(errors.late, errors), np.mod(errors.when + 1e-6, turn)[:, None]
    columns: Floats = np.minimum(inside / places, (turn - inside) / (turn - places))
    k = _best(late, columns, errors)
    column, line = columns[:, k], _centred(columns[:, k], errors)
    bend = _bend(errors, late, line, column, float(places[k]), 1.0, LEAST_S["stretch"])
    if bend is None:
        return None
    tame = _tamed(errors.late, errors)
    explained = float(line @ tame) ** 2 / float(line @ line)
    return bend if explained >= max(PERIODIC * _again(errors, tame), _one_stroke(errors, tame)) else None


def _one_stroke(errors: Followed, late: Floats) -> float:
    """Return how much of the squares of centred errors one stroke explains that is off in each cycle."""
    many = np.bincount(errors.stroke)
    sums = np.bincount(errors.stroke, weights=late)
    lane = np.zeros(len(many), dtype=np.int64)
    lane[errors.stroke] = errors.lane
    rest = many * (1 - many / errors.many[lane])
    return float((sums**2 / np.where(rest > 0, rest, np.inf)).max())


def _again(errors: Followed, late: Floats) -> float:
    """Return the squares of what comes again in each cycle, without what would by chance."""
    many = np.bincount(errors.stroke)
    sums = np.bincount(errors.stroke, weights=late)
    between = float((sums**2 / np.maximum(many, 1)).sum())
    free = np.count_nonzero(many)
    within = (float(late @ late) - between) / max(1, len(late) - int(free))
    return max(0.0, between - max(0.0, within) * (int(free) - 1))


def bends(
    taps: Sequence[Floats], onsets: Sequence[Floats], turn: float, cycles: int
) -> dict[str, tuple[Floats, Bend]]:
    """Find each bend there is in the taps of some lanes, with when each of these was meant.

    Examples
    --------
    >>> onsets = np.array([0.0, 0.5, 1.0, 1.5])
    >>> taps = np.arange(16) * 0.5 + np.repeat([0.0, 0.1], 8)
    >>> found = bends([taps], [onsets], 2.0, 4)
    >>> [(kind, round(bend.size, 3), round(bend.at, 3)) for kind, (_, bend) in found.items()]
    [('waited', 0.1, 4.0), ('changed', 0.023, 2.0)]
    """
    if cycles < 3 or sum(map(len, taps)) <= 2 * FEWEST_TAPS:  # one or two say too little
        return {}
    errors = follow(taps, onsets, turn, alone=False)
    places = np.array(sorted(set(np.concatenate(onsets).round(6).tolist())))
    found = [
        ("waited", errors.when, step(errors)),
        ("changed", errors.when, knee(errors, turn, cycles)),
        ("stretch", errors.when, peak(errors, places[places > 1e-5], turn, cycles)),
    ]
    if len(taps) > 1:
        alone = follow(taps, onsets, turn, alone=True)
        found.append(("parted", alone.when, slopes(alone, cycles * turn)))
    return {kind: (when, bend) for kind, when, bend in found if bend is not None}

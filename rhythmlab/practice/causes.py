"""Why a take was off: causes before symptoms, each a value with its numbers in whole microseconds.

First it is looked for whether a take began late or ended early, and for a stroke that is missing or too many
in cycle after cycle while all else is right.  Else it can be explained in several ways: lanes swapped, all
of it shifted, a beat dropped, another tempo, a simpler ratio.  Each way moves the taps back to where they
would have been; the one after which they lie nearest to the strokes meant is taken, and looked at again for
another. What is left is tested for a hand that is early or late, for looseness from a cycle on, and for
single places.

What cannot be told apart: a shift by less than a delay of the device, or near no part of a beat, in a take
that is not calibrated, and early from late there, since a delay may be longer; a whole beat too late of one
even pulse alone from a first stroke left out; in near-equal pulses at speed, where a tick is no more than a
hand is off, a shift by a beat from a late hand, but for the strokes at both ends; rushing that begins slowly
from another tempo, in three cycles or fewer; half a beat from the parts of a beat nearest to it, in a take
that is not calibrated; a stroke left out in the last two cycles, in a short take, from chance.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from math import log
from typing import NamedTuple

import numpy as np

from rhythmlab.core.types import Floats, Ticks
from rhythmlab.practice.doubled import without_doubles
from rhythmlab.practice.matching import pairs_of
from rhythmlab.practice.measure import NOT_MEASURED_S, WIDEST_S, Measures, played_instead
from rhythmlab.practice.moved import (
    CLEAR,
    DELAY_S,
    FEWEST,
    FINEST_S,
    FITTING,
    KINDS,
    LEAST_SHIFT_S,
    LIKELY_S,
    PAUSE_SHARE,
    Cause,
    Look,
    another_pair,
    another_tempo,
    explained_by,
    median,
    rows_of,
    whole_us,
)
from rhythmlab.practice.take import Take

#: Smallest error of a hand or a place that is told, in seconds: about the smallest that is heard (limit
#: ``displacement_jnd_fast``).
LEAST_HAND_S = 0.006
#: Longest shift, in microseconds, that may be a delay of the device where it is not calibrated (own choice);
#: delays that are tried, each with what players are off by beside it; and longer ones that alone may do.
NOT_MEASURED_US = whole_us(NOT_MEASURED_S)
DELAYS_S = np.array([0.0, -LEAST_SHIFT_S, LEAST_SHIFT_S, -2 * LEAST_SHIFT_S, 2 * LEAST_SHIFT_S])
LONGER_S = np.array([-0.4, -0.3, 0.3, 0.4])
#: Fewest sounds that nobody played at the end of a take that ended early, where that is less than a cycle;
#: most taps after a silence of a cycle or more that are no playing, as of a key touched (own choices).
FEWEST_SILENT, STRAY_TAPS = 4, 2
#: Share of a cycle from which on, left out at the beginning, it is judged only from the next cycle on (own
#: choice); and what explains silence of less than a cycle there, so that it did not begin late.
LEFT_OUT, ELSEWHERE = 0.25, {"shifted", "unmeasured", "slipped", "count_in"}
#: Smallest loosening that is told, times the spread before, and of nine strokes in ten, so that a few wild
#: ones make no loose take; from how many standard deviations on a stroke is wild (own choices).
LOOSE, LOOSE_MOST, WILD = 1.3, 1.15, 3.5
#: A loosening of less than so many times comes by chance in a long take, and one after the first cycle or in
#: the last one in any: each must be clearer by so many standard errors (own choices, so that clean takes stay
#: clean; see `tests/practice/test_causes.py`).
CLEARLY_LOOSE, LESS_LOOSE = 1.5, 0.4
#: Smallest loosening that is told, in seconds (own choice).
LEAST_LOOSE_S = 0.004
#: In how many cycles at least, and in which share of them, a stroke is missing or added that is told by its
#: place; and share of strokes that go wrong anywhere, at least (own choices).  In the last two cycles it is a
#: habit too where fewer go wrong elsewhere: this many, if none did.
FEWEST_HABIT, HABIT_SHARE, STRAY_SHARE = 3, 0.5, 0.02
LAST, NONE_WRONG = 2, 0.5
#: Share of an error that the next stroke corrects: the median of adults with a click (Vishne et al. 2021, as
#: summarised).
GAIN = 0.37
#: Kinds of noise that a player has: how likely each is, and which share of the errors hangs together in a
#: hand, and in both; and about how many strokes are looked at together (own choices).
NOISES, TOGETHER = ((1, 0.0, 0.0), (4, 0.5, 0.0), (1, 0.0, 0.5)), 48
#: So many standard errors are enough to name a cause, or to say that it cannot be told yet (own choices).
SURE_HAND, SURE_LOOSER, SURE_PLACE, UNSURE = 2.8, 2.5, 3.1, 2.3
#: The last of them in a take of one or two cycles, which say little of anything; and the first where strokes
#: grew looser, so that the part before was chosen by what came in it (own choices).
UNSURE_SHORT, SURE_BEFORE = 1.0, 3.4
#: So long after its end a take is recorded, in seconds: a late last stroke counts (`take.mjs`).
RECORDED_S = 0.35


# What is left


class _Error(NamedTuple):
    """The strokes that were played: their rows, numbers and times, and how late each was, in seconds."""

    row: Ticks
    stroke: Ticks
    when: Floats
    late: Floats

    def some(self, keep: np.ndarray) -> "_Error":
        """Return some of them."""
        return _Error(self.row[keep], self.stroke[keep], self.when[keep], self.late[keep])


def _errors(look: Look) -> _Error:
    """Match what is explained, and return what is left, by time."""
    made = []
    for i, (row, meant) in enumerate(zip(look.rows, look.meant, strict=True)):
        strokes, taps = pairs_of(meant, row.taps, row.window)
        made.append((np.full(len(strokes), i), strokes, meant[strokes], row.taps[taps] - meant[strokes]))
    rows, strokes, when, late = (np.concatenate(column) for column in zip(*made, strict=True))
    order = np.argsort(when, kind="stable")
    return _Error(rows[order], strokes[order], when[order], late[order])


def _habit(bad: np.ndarray, strokes: int) -> tuple[float, int, int, int] | None:
    """Find a place that is bad from a cycle on: by how many nats no chance, place, cycle, how often.

    A row for each cycle; by chance each place is as often bad as the others are.  The take has so many
    strokes.
    """
    cycles, places = bad.shape
    if not bad.any():
        return None
    if bad.sum(axis=0).max() < FEWEST_HABIT:
        return _last_habit(bad, strokes)
    from_on = np.cumsum(bad[::-1], axis=0)[::-1]
    many = from_on / np.arange(cycles, 0, -1)[:, None]
    whole = int(bad.sum())
    chance = np.clip((whole - from_on[0]) / max(1, cycles * (places - 1)), STRAY_SHARE, 0.5)
    share = np.clip(many, 0.01, 0.99)
    nats = from_on * np.log(share / chance)
    nats += (np.arange(cycles, 0, -1)[:, None] - from_on) * np.log((1 - share) / (1 - chance))
    nats -= log(cycles * places)
    nats[(from_on < FEWEST_HABIT) | (many < HABIT_SHARE)] = -math.inf
    row, column = divmod(int(np.argmax(nats)), places)
    if nats[row, column] <= CLEAR:
        return None
    return float(nats[row, column]), column, row, int(from_on[row, column])


def _last_habit(bad: np.ndarray, strokes: int) -> tuple[float, int, int, int] | None:
    """Find the place that is bad in both of the last cycles, and hardly any other anywhere, as `_habit`."""
    cycles, places = bad.shape
    both = np.flatnonzero(bad[-LAST:].all(axis=0))
    if cycles <= LAST or len(both) != 1:
        return None
    chance = (int(bad.sum()) - LAST + NONE_WRONG) / strokes
    nats = -LAST * log(chance) - log(cycles * places)
    return (nats, int(both[0]), cycles - LAST, LAST) if nats > CLEAR else None


def _habits(look: Look, errors: _Error) -> list[Cause]:
    """Find a lane that falls silent, or a stroke missing or too many at its place in cycle after cycle."""
    found: list[tuple[float, Cause]] = []
    for i, row in enumerate(look.rows):
        n, here = len(row.onsets), errors.row == i
        if n != len(look.ticks(row.lane)):  # it was played as another number of strokes
            continue
        last = int(errors.stroke[here].max(initial=-1)) + 1
        if len(look.meant[i]) - last >= max(n, FEWEST_HABIT) and 2 * int(here.sum()) >= last:
            cycle, place = divmod(last, n)
            tick = int(look.ticks(row.lane)[place])
            return [Cause("silent", row.lane, cycle=cycle + 1, tick=tick)]
        played = np.zeros(len(look.meant[i]), dtype=bool)
        played[errors.stroke[here]] = True
        kinds = [("missing", ~played)] if n > 1 else []
        used = np.append(np.sort(look.meant[i][errors.stroke[here]] + errors.late[here]), math.inf)
        spare = row.taps[used[used.searchsorted(row.taps)] != row.taps]
        after = np.searchsorted(look.meant[i], spare) - 1
        added = np.zeros(len(look.meant[i]), dtype=bool)
        added[after[after >= 0]] = True
        for kind, bad in (*kinds, ("added", added)):
            habit = _habit(bad.reshape(-1, n), look.strokes)
            if habit is not None:
                nats, place, cycle, count = habit
                tick = int(look.ticks(row.lane)[place])
                found.append((nats, Cause(kind, row.lane, cycle=cycle + 1, tick=tick, count=count)))
    return [max(found, key=lambda one: one[0])[1]] if found else []


def _silent_strokes(look: Look, silent: Cause) -> int:
    """Return how many strokes a lane left out that fell silent."""
    row = next(row for row in look.rows if row.lane == silent.lane)
    place = int(np.searchsorted(look.ticks(silent.lane), silent.tick))
    return (look.take.cycles - silent.cycle + 1) * len(row.onsets) - place


def _all_near(look: Look, errors: _Error) -> bool:
    """Whether the strokes of each lane were played near their places, but for what all of it was late by."""
    for i, row in enumerate(look.rows):
        late = errors.late[errors.row == i]
        if len(late) and np.abs(late - median(late)).mean() > FITTING * row.window:
            return False
    return True


def _all_else_right(look: Look, errors: _Error, habit: Cause) -> bool:
    """Whether all strokes but those of a habit were played, and no others.

    Of a lane that left strokes out and played more than half as many elsewhere they were moved.
    """
    if habit.kind in ("silent", "missing"):
        i = next(i for i, row in enumerate(look.rows) if row.lane == habit.lane)
        in_place = int((errors.row == i).sum())
        if 2 * (len(look.rows[i].taps) - in_place) > look.to_play[i] - in_place:
            return False
    right, few = len(errors.late), STRAY_SHARE * look.strokes + 1
    missing, added = look.strokes - right, sum(len(row.taps) for row in look.rows) - right
    if habit.kind == "silent":
        return added <= few and missing <= few + _silent_strokes(look, habit)
    here = habit.count
    return missing - here * (habit.kind == "missing") <= few and added - here * (habit.kind == "added") <= few


def _tamed(values: Floats, most: float = 3.0) -> Floats:
    """Return values with those far out drawn in to so many standard deviations."""
    middle = median(values)
    far = most * 1.4826 * float(median(np.abs(values - middle)))
    return np.clip(values, middle - far, middle + far)


def _at_places(values: Floats, places: Ticks) -> Floats:
    """Return for each value the mean of those at its place of the cycle."""
    counts, sums = np.bincount(places), np.bincount(places, weights=values)
    return (sums / np.maximum(counts, 1))[places]


class _Noise(NamedTuple):
    """Errors seen as one kind of noise, each without what is left over from the strokes before.

    Attributes
    ----------
    nats : float
        How likely the kind is, before the errors are looked at.
    lanes : numpy.ndarray
        Which lane each error is of, a column for each lane.
    steady : numpy.ndarray
        How late each is, with wild strokes drawn in to what is usual at their place.
    late : numpy.ndarray
        How late each is against the middle of its lane, with wild strokes drawn in.
    places : numpy.ndarray
        At which place of its lane each error is, a column for each of `_Place`.
    """

    nats: float
    lanes: Floats
    steady: Floats
    late: Floats
    places: Floats


class _Place(NamedTuple):
    """A stroke of a lane that comes in each cycle, and which errors are of it."""

    row: int
    place: int
    here: np.ndarray


def _places(look: Look, errors: _Error) -> list[_Place]:
    """Return the strokes that can be told to be early or late in cycle after cycle."""
    if look.take.cycles < 3:  # twice is too few for a habit
        return []
    found = []
    for i, row in enumerate(look.rows):
        n = len(row.onsets)
        if n < 2 or n != len(look.ticks(row.lane)):
            continue
        if n == 2 and len(look.rows) < 2:  # of two strokes alone none says which of them is off
            continue
        of_lane, at = errors.row == i, errors.stroke % n
        for place in range(n):
            here = of_lane & (at == place)
            if np.count_nonzero(here) >= 2:
                found.append(_Place(i, place, here))
    return found


def _noises(look: Look, errors: _Error, places: Sequence[_Place] = ()) -> list[_Noise]:
    """See errors as each of `NOISES`: an error goes on in the next strokes, each time less by `GAIN`."""
    count = len(errors.late)
    if not count:
        return []
    steady, late = errors.late.copy(), errors.late.copy()
    for i in np.unique(errors.row).tolist():
        here = errors.row == i
        usual = _at_places(late[here], errors.stroke[here] % len(look.rows[i].onsets))
        steady[here] = usual + _tamed(late[here] - usual)
        late[here] = _tamed(late[here] - median(late[here]), WILD)
    lanes = [errors.row == i for i in range(len(look.rows))]
    columns = np.column_stack([steady, late, *lanes, *(one.here for one in places)])
    line = np.cumsum(np.diff(errors.when, prepend=errors.when[0]) > 1e-6)
    (weight, *_), *others = NOISES  # the first has nothing to be taken out
    weights, hand, both = np.array(others).T[:, :, None, None]
    parts, nats = [], np.log(weights[:, 0, 0])
    most = max(int(np.ptp(errors.stroke)), int(line[-1]))
    lasting = (1 - GAIN) ** np.arange(most + 1)  # what is left of an error after so many strokes
    for at in np.array_split(np.arange(count), max(1, round(count / TOGETHER))):
        row, stroke, sound = errors.row[at], errors.stroke[at], line[at]
        in_hand = np.where(row[:, None] == row, lasting[np.abs(stroke[:, None] - stroke)], 0.0)
        in_both = lasting[np.abs(sound[:, None] - sound)]
        root = np.linalg.cholesky(hand * in_hand + both * in_both + (1 - hand - both) * np.eye(len(at)))
        parts.append(np.linalg.solve(root, np.broadcast_to(columns[at], (len(root), *columns[at].shape))))
        nats = nats - np.log(np.diagonal(root, axis1=1, axis2=2)).sum(axis=1)
    new = [(log(weight), columns), *zip(nats.tolist(), np.concatenate(parts, axis=1), strict=True)]
    until = 2 + len(lanes)
    return [_Noise(one, rows[:, 2:until], rows[:, 0], rows[:, 1], rows[:, until:]) for one, rows in new]


def _fit(squares: float, count: int) -> float:
    """Return how likely so many normal errors are, in nats, of the sum of their squares."""
    return -(count - 1) / 2 * log(max(squares, 1e-12))


def _any(nats: Sequence[float]) -> float:
    """Return how likely one or another is, in nats."""
    most = max(nats)
    return most + log(sum(math.exp(one - most) for one in nats))


def _hand(look: Look, errors: _Error, noises: Sequence[_Noise]) -> tuple[float, Cause] | None:
    """Find the lane that is early or late against the others, and by how many standard errors."""
    count, best = len(look.rows), None
    if count < 2 or any((errors.row == i).sum() < 3 for i in range(count)):
        return None
    fits = []
    for noise in noises:
        inverse = np.linalg.inv(noise.lanes.T @ noise.lanes)
        means = inverse @ (noise.lanes.T @ noise.steady)
        fits.append((noise.nats, inverse, means, float(((noise.steady - noise.lanes @ means) ** 2).sum())))
    n = len(errors.late)
    likely = max(fits, key=lambda one: one[0] + _fit(one[3], n))[2]
    for i in range(count if count > 2 else 1):
        against = np.where(np.arange(count) == i, 1.0, -1 / (count - 1))
        by, with_it, without = float(against @ likely), [], []
        for nats, inverse, means, squares in fits:
            with_it.append(nats + _fit(squares, n))
            more = float(against @ means) ** 2 / float(against @ inverse @ against)
            without.append(nats + _fit(squares + more, n))
        z = math.sqrt(max(0.0, 2 * (_any(with_it) - _any(without))))
        if best is None or z > best[0]:
            late_one, early_one = (i, 1 - i) if by > 0 else (1 - i, i)
            if count == 2:
                cause = Cause(
                    "hand", look.rows[late_one].lane, look.rows[early_one].lane, us=whole_us(abs(by))
                )
            else:
                cause = Cause("hand", look.rows[i].lane, us=whole_us(by))
            best = z, cause
    if best is not None and count > 2:  # of several lanes one is off by chance more often than of two
        best = best[0] - log(count) / 4, best[1]
    return best


def _most(values: Floats) -> float:
    """Return the mean of nine values in ten, without the largest."""
    return float(np.sort(values)[: math.ceil(0.9 * len(values))].mean())


def _looser(look: Look, errors: _Error, noises: Sequence[_Noise]) -> tuple[float, Cause] | None:
    """Find the cycle from which on the strokes are spread more than before."""
    n, best = len(errors.late), None
    if n < 2 * FEWEST:
        return None
    tame = [_tamed(noise.late) for noise in noises]
    fits = [noise.nats + _fit(float((one**2).sum()), n) for noise, one in zip(noises, tame, strict=True)]
    new = noises[int(np.argmax(fits))].late
    cycle, far = np.floor(errors.when / look.turn + 1e-6).astype(int), errors.late.copy()
    for i in range(len(look.rows)):
        if (here := errors.row == i).any():
            far[here] = np.abs(far[here] - median(far[here]))
    for first in range(1, look.take.cycles):
        one, two = new[cycle < first], new[cycle >= first]
        if min(len(one), len(two)) < 6:
            continue
        before, after = max(float((one**2).mean()), 1e-8), max(float((two**2).mean()), 1e-8)
        if after**0.5 < max(LOOSE * before**0.5, before**0.5 + LEAST_LOOSE_S) or _most(
            far[cycle >= first]
        ) < LOOSE_MOST * _most(far[cycle < first]):
            continue  # not all of it, but a few wild strokes
        all_of = (len(one) * before + len(two) * after) / n
        nats = n * log(all_of) - len(one) * log(before) - len(two) * log(after)
        z = math.sqrt(max(0.0, nats)) / (1 + 2 / min(len(one), len(two)))
        z -= LESS_LOOSE * (after < CLEARLY_LOOSE**2 * before)
        z -= LESS_LOOSE * (first in (1, look.take.cycles - 1))
        if best is None or z > best[0]:
            best = z, Cause("looser", cycle=first + 1, us=whole_us(before**0.5), then_us=whole_us(after**0.5))
    return best


def _place(
    look: Look, errors: _Error, places: Sequence[_Place], noises: Sequence[_Noise]
) -> tuple[float, Cause] | None:
    """Find the place of the cycle that is early or late, in its lane, in cycle after cycle."""
    free = len(errors.late) - len(places)
    if len(places) < 3 or free < 3:
        return None
    of_row = [errors.row == i for i in range(len(look.rows))]
    lanes = [i for i, here in enumerate(of_row) if here.any()]
    n, every = len(lanes), np.arange(len(lanes) + len(places))
    # Where all strokes of a lane are at such places, these say what the lane would.
    at_places = [sum(np.count_nonzero(one.here) for one in places if one.row == i) for i in lanes]
    part = np.array([here < np.count_nonzero(of_row[i]) for i, here in zip(lanes, at_places, strict=True)])
    known = every[np.append(part, np.ones(len(places), dtype=bool))]
    with_it, without, found = [], [], []
    for noise in noises:
        columns = np.concatenate((noise.lanes[:, lanes], noise.places, noise.steady[:, None]), axis=1)
        products = columns.T @ columns
        of_lanes = np.linalg.solve(products[:n, :n], products[:n, n:])
        beside = products[n:, n:] - products[n:, :n] @ of_lanes  # once the lanes are taken out
        every_size = np.maximum(np.diagonal(beside)[:-1], 1e-9)
        by = beside[:-1, -1] / every_size
        with_late = products[known, -1]
        fitted = with_late @ np.linalg.solve(products[np.ix_(known, known)], with_late)
        squares = float(products[-1, -1] - fitted)
        with_it.append(noise.nats + _fit(squares, free))
        without.append([noise.nats + _fit(squares + more, free) for more in (by**2 * every_size).tolist()])
        found.append(by)
    likely, fit = found[int(np.argmax(with_it))], _any(with_it)
    middles = [float(median(errors.late[here])) if here.any() else 0.0 for here in of_row]
    best: tuple[float, int] = (0.0, 0)
    for k, one in enumerate(places):
        middle = middles[one.row]
        if len(look.rows[one.row].onsets) == 2:  # the middle of two places is between them
            rest = of_row[one.row] & ~one.here
            if not rest.any() or not (~of_row[one.row]).any():
                continue
            middle, others = float(median(errors.late[rest])), float(median(errors.late[~of_row[one.row]]))
            if abs(middle - others) > abs(float(median(errors.late[one.here])) - others):
                continue  # the other stroke is the one that is off
        usual = float(median(errors.late[one.here])) - middle
        if usual * likely[k] > likely[k] ** 2 / 2:  # a few wild strokes make no place
            best = max(best, (2 * (fit - _any([each[k] for each in without])), k))
    z, (i, place, _), late = math.sqrt(max(0.0, best[0])), places[best[1]], float(likely[best[1]])
    row = look.rows[i]
    tick = int(look.ticks(row.lane)[place])
    return z - log(len(places)) / 4, Cause("place", row.lane, us=whole_us(late), tick=tick)


def _without(look: Look, errors: _Error, place: Cause) -> _Error:
    """Return what is left without a place."""
    row = next(i for i, row in enumerate(look.rows) if row.lane == place.lane)
    at = int(np.searchsorted(look.ticks(place.lane), place.tick))
    keep = (errors.row != row) | (errors.stroke % len(look.rows[row].onsets) != at)
    return errors.some(keep)


# A take


def causes(take: Take, measures: Measures | None = None, *, every: bool = True) -> tuple[Cause, ...]:
    """Return why a take was off: causes before symptoms, in the order in which they are told.

    Parameters
    ----------
    take : Take
        What was played.
    measures : Measures, optional
        From `measure`; a simpler line is looked for here when left out.
    every : bool
        Whether to test what is left over, too, once a cause is known that is told before it.

    Returns
    -------
    tuple of Cause
        None where nothing was off; one of kind "unsure" where something may be, but cannot be told.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> cycle = Polyrhythm(4, 3).cycle()
    >>> take = Take(cycle=cycle, tempo=60, cycles=2, start=0, stop=12, mode="both pulses", lanes=(0, 1),
    ...             tap_lanes=[0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1],
    ...             tap_times=[0, 1, 2, 3, 4, 5, 0, 0.75, 1.5, 2.25, 3, 3.75, 4.5, 5.25])
    >>> [(cause.kind, cause.lanes) for cause in causes(take)]
    [('swapped', (1, 0))]
    """
    if take.spoiled:
        return (Cause("spoiled", count=take.late),)
    if in_count_in(take):
        return (Cause("count_in"),)
    doubled = without_doubles(take)
    if doubled is not None:
        return (doubled[0], *causes(doubled[1], every=every))
    look = Look(take, rows_of(take), float(take.turn))
    taps = sum(len(row.taps) for row in look.rows)
    if (another := another_pair(look)) is not None:
        return (another,)
    tempo = another_tempo(look)
    if tempo is not None:
        return (tempo,)
    for left_out in _left_out(look) if taps else ():
        rest = causes(rest_of(take, left_out), every=every)
        if _first(look) >= look.turn * left_out - DELAY_S or _is_in_place(look, rest):
            return (Cause("began", cycle=left_out + 1, count=take.cycles), *rest)
    ended = _ended(look) if taps else None
    if ended is not None:
        return (ended, *(causes(part(take, ended.cycle), every=every) if ended.cycle else ()))
    if taps < FEWEST:
        return ()
    if (one_key := _one_key(look)) is not None:
        return (one_key,)
    as_played, delay = look, 0.0
    if not take.calibrated:  # a delay of the device is no fault
        losses, shared = look.losses(DELAYS_S)
        scores = look.scores(losses, shared) + CLEAR * (DELAYS_S != 0)
        too_long = (np.abs(shared) >= DELAY_S) | (np.abs(DELAYS_S + shared) > NOT_MEASURED_S + FINEST_S)
        scores[too_long & (DELAYS_S != 0)] = math.inf
        delay = float(DELAYS_S[np.argmin(scores)])
        delay = 0.0 if delay and _near(as_played) else delay
        look = look.later(delay) if delay else look
    delayed, errors = look, _errors(look)
    habits = _habits(look, errors) if _all_near(look, errors) else None
    if habits and _all_else_right(look, errors, habits[0]):
        return _sorted([*habits, *(_sure(_left(look, errors)) if every else ())])
    found, look = explained_by(look)
    if delay:  # part of a shift is no delay: what explains the strokes as they were played may be better
        again, instead = explained_by(as_played)
        if not found:  # a delay explains it all, but for one that is too long
            beside = whole_us(instead.loss[1])
            again = again if any(abs(cause.us + beside) > NOT_MEASURED_US for cause in again) else []
        more = CLEAR * (len(again) - len(found))
        if again and instead.score + more < look.score:
            found, look, delay = again, instead, 0.0
    if not take.calibrated:
        if found and (longer := _longer(as_played, look.score + CLEAR * (len(found) - 2))) is not None:
            delay, look = longer
            found = [Cause("shifted")]
        delay, found = _not_measured(look, found, delay)
    simpler = None
    if not found:
        shift = delay + look.loss[1]
        simpler = played_instead(take, shift) if measures is None else measures.played_instead
    if simpler is not None:
        return (Cause("locked", line=simpler),)
    if found and not every:
        return _sorted(found)
    if look is not delayed:
        errors, habits = _errors(look), None
    found += _habits(look, errors) if habits is None else habits
    if found and not every:
        return _sorted(found)
    tests = _left(look, errors)
    found += _sure(tests)
    least = UNSURE if take.cycles > 2 else UNSURE_SHORT
    if not found and any(z >= least for z, _, _ in tests):
        late = errors.late - median(errors.late)
        found.append(Cause("unsure", us=whole_us(float(late.std()))))
    return _sorted(found)


def in_count_in(take: Take) -> bool:
    """Whether all strokes of a take, or nearly all, came before its first beat, none of them its first."""
    taps, strokes = take.played(), sum(len(take.ticks(lane)) for lane in take.lanes)
    apart = float(take.turn) / max(1, *(len(take.ticks(lane)) for lane in take.lanes))
    early = int((taps < -min(apart / 2, WIDEST_S)).sum())
    late = len(taps) - early
    few = late <= min(STRAY_TAPS, early // FEWEST) and 2 * late < strokes * take.cycles
    return early > 0 and few


def _one_key(look: Look) -> Cause | None:
    """Find out whether all lanes were played on the key of one: each finds its own taps there."""
    row = max(look.rows, key=lambda one: len(one.taps))
    others = sum(len(one.taps) for one in look.rows if one is not row)
    own = len(row.onsets) * look.take.cycles
    if len(look.rows) < 2 or others > STRAY_TAPS or len(row.taps) < own + FEWEST:
        return None
    taps, missing, far, windows = row.taps, 0.0, 0.0, 0.0
    line = look.line
    after = np.clip(line.searchsorted(taps), 1, len(line) - 1)
    late = np.where(taps - line[after - 1] < line[after] - taps, taps - line[after - 1], taps - line[after])
    by, played = float(median(late)), np.zeros(0)
    for one, meant in sorted(zip(look.rows, look.meant, strict=True), key=lambda pair: -len(pair[1])):
        alone = meant[~np.isin(np.round(meant, 6), np.round(played, 6))]  # where they meet one tap is enough
        strokes, here = pairs_of(alone, taps - by, one.window)
        far += float(np.abs(taps[here] - by - alone[strokes]).sum())
        windows += one.window * len(strokes)
        missing += len(alone) - len(strokes)
        taps, played = np.delete(taps, here), np.append(played, meant)
    spare = max(0, len(taps) - (sum(map(len, look.meant)) - len(line)))
    if missing + spare > STRAY_SHARE * len(line) + 1 or far > FITTING * windows:
        return None
    return Cause("one_key", row.lane)


def _near(look: Look) -> bool:
    """Whether a take is explained without a shift, and near to its places then: no delay is looked for."""
    found, explained = explained_by(look)
    if not found or any(cause.kind == "shifted" for cause in found):
        return False
    return abs(explained.loss[1]) <= LIKELY_S and explained.near


def _longer(look: Look, score: float) -> tuple[float, Look] | None:
    """Explain a take by a delay alone that is longer than any that is taken off, if that is likelier."""
    losses, shared = look.losses(LONGER_S)
    scores = look.scores(losses, shared)
    i = int(np.argmin(np.where(np.abs(shared) < DELAY_S, scores, math.inf)))
    by = float(LONGER_S[i])
    if scores[i] >= score or abs(by + shared[i]) <= NOT_MEASURED_S:
        return None
    return by, look.later(by)


def _not_measured(look: Look, found: list[Cause], delay: float) -> tuple[float, list[Cause]]:
    """See a shift as what it may be where nobody measured the delay of the device: that, and the causes.

    One that a delay may be is none; one that is near no step of the rhythm is kept as "unmeasured".
    """
    shift = next((cause for cause in found if cause.kind == "shifted"), None)
    if shift is None:
        return delay, found
    more = look.loss[1]
    if abs(more) >= DELAY_S:  # it may be more than is looked for
        more += look.later(more).loss[1]
    beside = whole_us(delay + more)
    rest, whole, likely = (
        [cause for cause in found if cause is not shift],
        shift.us + beside,
        whole_us(LIKELY_S),
    )
    if abs(whole) <= NOT_MEASURED_US:
        return delay + shift.us / 1_000_000, rest
    if abs(beside) > likely:
        steps, figure = look.steps.seconds[1:], whole_us(look.steps.figure * look.tick)
        around = whole - figure * round(whole / figure)  # steps go to half of what comes round again
        i = int(np.abs(1_000_000 * steps - around).argmin())
        near = whole_us(steps[i])
        if abs(near - around) <= likely:
            shift = replace(shift, ticks=math.trunc(look.steps.ticks[i]), us=near)
        else:
            shift = Cause("unmeasured", us=whole)
    return delay, [shift, *rest]


def _sorted(found: list[Cause]) -> tuple[Cause, ...]:
    """Return causes in the order in which they are told."""
    return tuple(sorted(found, key=lambda cause: KINDS.index(cause.kind)))


def _sure(tests: list[tuple[float, float, Cause]]) -> list[Cause]:
    """Return the causes of tests that have standard errors enough."""
    return [cause for z, enough, cause in tests if z >= enough]


def part(take: Take, cycles: int) -> Take:
    """Return the first cycles of a take, as if no more had been asked for."""
    turn, times = float(take.turn), take.played()
    until = cycles * turn + RECORDED_S if cycles < take.cycles else math.inf
    heard = times < until
    return replace(take, cycles=cycles, tap_lanes=take.tap_lanes[heard], tap_times=take.tap_times[heard])


def rest_of(take: Take, cycles: int) -> Take:
    """Return a take without its first cycles, as if it had begun after them."""
    later = cycles * float(take.turn)
    return replace(take, cycles=take.cycles - cycles, tap_times=take.tap_times - later)


def _first(look: Look) -> float:
    """Return when the first stroke was played."""
    return min(float(row.taps[0]) for row in look.rows if len(row.taps))


def _left_out(look: Look) -> list[int]:
    """Return how many cycles late a take may have begun; part of the next one may be left out, too."""
    line, cycles = look.line, look.take.cycles
    first = _first(look) - (DELAY_S if look.take.calibrated else NOT_MEASURED_S)
    if line.searchsorted(first) < min(FEWEST_SILENT, len(line) // cycles):
        return []
    silent = (first - float(line[0])) / look.turn
    every = sum(look.take.silent) or 1  # so that the click is silent in the same cycles
    tried = [-(-math.floor(one) // every) * every for one in (silent + 1 - LEFT_OUT, silent)]
    return [one for one in dict.fromkeys(tried) if 0 < one < cycles]


def _is_in_place(look: Look, rest: Sequence[Cause]) -> bool:
    """Whether strokes that began within a cycle were where they were meant, not all of them later."""
    if any(cause.kind in ELSEWHERE for cause in rest):
        return False
    other = next((cause for cause in explained_by(look)[0] if cause.kind in ELSEWHERE), None)
    if other is None or other.kind == "slipped":
        return other is None
    silent = sum(
        row.window * int(meant.searchsorted(_first(look) - row.window))
        for row, meant in zip(look.rows, look.meant, strict=True)
    )
    return look.loss[0] - silent < float(look.losses(np.array([other.us / 1_000_000]))[0][0])


def _ended(look: Look) -> Cause | None:
    """Find out after which cycle nothing was played any more, though more was asked for."""
    line, times = look.line, np.sort(look.together.taps)
    pauses = np.diff(times, prepend=0.0)
    if pauses.argmax() >= max(FEWEST, len(times) - STRAY_TAPS) and pauses.max() >= look.turn:
        times = times[: pauses.argmax()]
    fewest = min(FEWEST_SILENT, len(line) // look.take.cycles)
    if not len(times) or not -WIDEST_S <= times[-1] <= line[-fewest]:
        return None
    silence = look.end - times[-1]
    if PAUSE_SHARE * silence < np.diff(times, prepend=0.0).max():  # it went on after such pauses
        return None
    if len(times) < len(pauses) or silence >= look.turn:
        rows = [row._replace(taps=row.taps[row.taps <= times[-1]]) for row in look.rows]
        until = max(times[-1], 0.0) + LIKELY_S if silence >= look.turn else look.end
        look = Look(look.take, rows, look.turn, float(until), look)
    moved = explained_by(look)[1]  # who is ahead ends early too
    shared = moved.loss[1]
    last = -math.inf
    for i, (row, meant) in enumerate(zip(moved.rows, moved.meant, strict=True)):
        if len(row.taps):
            stroke = int(moved.places.off(row.taps[-1:] - shared, np.array([i])).stroke[0])
            last = max(last, float(meant[min(max(stroke, 0), len(meant) - 1)]))
    silent = line[line > last + 1e-5]
    if len(silent) < fewest:
        return None
    ticks = look.take.stop - look.take.start
    cycle, tick = divmod(round(float(silent[0]) / look.tick), ticks)
    return Cause("ended", cycle=cycle, tick=look.take.start + tick, count=look.take.cycles)


def _left(look: Look, errors: _Error) -> list[tuple[float, float, Cause]]:
    """Test what is left: by how many standard errors, how many are enough, and what that would be."""
    places, hand = _places(look, errors), None
    noises = _noises(look, errors, places)
    place = _place(look, errors, places, noises)
    if place is not None and place[0] >= SURE_PLACE:  # a place that is late makes no hand late
        hand = _hand(look, errors, noises)
        errors = _without(look, errors, place[1])
        noises = _noises(look, errors)
    looser, sure_hand = _looser(look, errors, noises), SURE_HAND
    if looser is not None and looser[0] >= SURE_LOOSER:  # what is loose says little of a hand
        sure_hand = SURE_BEFORE
        errors = errors.some(errors.when < (looser[1].cycle - 1) * look.turn)
        noises = _noises(look, errors)
    then = _hand(look, errors, noises)
    hand = then if hand is None or then is None else min(hand, then, key=lambda one: one[0])
    tests = ((hand, sure_hand), (looser, SURE_LOOSER), (place, SURE_PLACE))
    found = [(test[0], enough, test[1]) for test, enough in tests if test is not None]
    least = 1_000_000 * LEAST_HAND_S
    return [row for row in found if row[2].kind == "looser" or abs(row[2].us) >= least]

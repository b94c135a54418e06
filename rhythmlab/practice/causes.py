"""Why a take was off: causes before symptoms, each a value with its numbers in whole microseconds.

First it is looked for whether a take ended early, and for a stroke that is missing or too many in cycle after
cycle while all else is right.  Else it can be explained in several ways: lanes swapped, all of it shifted, a
beat dropped, another tempo, a simpler ratio.  Each way moves the taps back to where they would have been; the
one after which they lie nearest to the strokes meant is taken, and looked at again for another.  What is left
is tested for a hand that is early or late, for looseness from a cycle on, and for single places.

What cannot be told apart: a shift by less than a delay of the device, in a take that is not calibrated; a
whole beat too late of one even pulse alone from a first stroke left out; in near-equal pulses at speed, where
a tick is no more than a hand is off, a shift by a beat from a late hand, but for the strokes at both ends;
rushing that begins slowly from another tempo, in three cycles or fewer; half a beat from the parts of a beat
nearest to it, in a take that is not calibrated; strokes left out in the last two cycles from chance.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, reduce
from itertools import pairwise, permutations
from math import gcd, log
from typing import NamedTuple

import numpy as np

from rhythmlab.core.types import Floats, Ticks
from rhythmlab.practice.matching import match
from rhythmlab.practice.measure import ONE_SOUND_S, WIDEST_S, Measures, Simpler, played_instead
from rhythmlab.practice.take import Take

#: Those that move all strokes, or many; and all of them, in the order in which they are told.
MOVES_ALL = ("spoiled", "ended", "swapped", "shifted", "slipped", "tempo", "rushed", "locked")
KINDS = (*MOVES_ALL, "silent", "missing", "added", "hand", "looser", "place", "unsure")
#: Shortest shift that is told, in seconds: the shortest part that is counted (limit ``part_heard``).
LEAST_SHIFT_S = 0.1
#: Largest lead or delay of a take, in seconds, not calibrated and calibrated, and how far off is likely
#: (own choices): a shorter shift looks the same as a delay of the device.
DELAY_S, LEAD_S, LIKELY_S = 0.15, 0.08, 0.06
#: Longest shift, in microseconds, that may be a delay of the device where it is not calibrated (own choice).
NOT_MEASURED_US = 250_000
#: Smallest change of tempo that is told, as a share; largest that is looked for (own choices).
LEAST_TEMPO, MOST_TEMPO = 0.005, 0.12
#: Smallest error of a hand or a place that is told, in seconds: about the smallest that is heard (limit
#: ``displacement_jnd_fast``); largest of a hand (own choice).
LEAST_HAND_S, MOST_HAND_S = 0.006, 0.06
#: Errors smaller than this are no better than others, in seconds.
FINEST_S = 0.002
#: By how many nats a way must be better than none, and a bent tempo better than an even one (own choices).
CLEAR, BENT = 5.0, 4.0
#: Fewest strokes before and after a slip, and share of the errors that it may leave (own choices).
FEWEST, SLIP_SHARE = 4, 0.6
#: Share of a pause that is silent at least, of a beat added or at the end (own choice).
PAUSE_SHARE = 0.8
#: Most lanes that are swapped, parts of a cycle that are tried one by one, and ways that explain one take.
MOST_SWAPPED, MOST_PARTS, MOST_FOUND = 4, 64, 3
#: Fewest sounds that nobody played at the end of a take that ended early, where that is less than a cycle;
#: most taps after a silence of a cycle or more that are no playing, as of a key touched (own choices).
FEWEST_SILENT, STRAY_TAPS = 4, 2
#: Share of the window that the strokes of a lane are off by where it fits as it is (own choice).
FITTING = 0.25
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
#: place; and share of strokes that go wrong anywhere, at least (own choices).
FEWEST_HABIT, HABIT_SHARE, STRAY_SHARE = 3, 0.5, 0.02
#: Share of an error that the next stroke corrects: the median of adults with a click (Vishne et al. 2021, as
#: summarised).
GAIN = 0.37
#: Kinds of noise that a player has: how likely each is, and which share of the errors hangs together in a
#: hand, and in both; and about how many strokes are looked at together (own choices).
NOISES, TOGETHER = ((1, 0.0, 0.0), (4, 0.5, 0.0), (1, 0.0, 0.5)), 48
#: Weight of errors that are independent, in stretches (own choice).
PRIOR = 4
#: So many standard errors are enough to name a cause, or to say that it cannot be told yet (own choices).
SURE_HAND, SURE_LOOSER, SURE_PLACE, UNSURE = 2.8, 2.5, 3.1, 2.3
#: The last of them in a take of one or two cycles, which say little of anything (own choice).
UNSURE_SHORT = 1.0
#: So long after its end a take is recorded, in seconds: a late last stroke counts (`take.mjs`).
RECORDED_S = 0.35
_HERE = np.zeros(1)


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause, with its numbers.

    Attributes
    ----------
    kind : str
        One of `KINDS`.
    lane : int or None
        The lane it is about; ``None`` is all of them, or the merged line.
    other : int or None
        The lane it is held against; ``None`` is all others.
    us : int
        Microseconds: how late ("hand", "place"), how much later than meant ("shifted", "slipped"), how much
        longer a cycle was ("tempo", and "rushed" at the beginning), the spread before ("looser"), the spread
        ("unsure").
    then_us : int
        Microseconds: how much longer a cycle was at the end ("rushed"), the spread after ("looser").
    ticks : int
        How far it was shifted; without the half of a tick, where it was half a beat.
    cycle : int
        In, or from, which cycle, from 1; 0 where it is about all.  How many were played whole ("ended").
    tick : int
        At which tick of the cycle; of the first stroke that nobody played ("ended").
    lanes : tuple of int
        For each lane that was to be played, the one that was played on it ("swapped").
    count : int
        Strokes a cycle that were played ("locked"), strokes that sounded late ("spoiled"), cycles that were
        asked for ("ended"), cycles in which it was so ("missing", "added").
    line : Simpler or None
        The simpler line that was played ("locked").
    """

    kind: str
    lane: int | None = None
    other: int | None = None
    us: int = 0
    then_us: int = 0
    ticks: int = 0
    cycle: int = 0
    tick: int = 0
    lanes: tuple[int, ...] = ()
    count: int = 0
    line: Simpler | None = None


def _us(seconds: float) -> int:
    """Return seconds as whole microseconds."""
    return round(1_000_000 * seconds)


# The taps of a take on the strokes meant


class _Row(NamedTuple):
    """A lane: where its strokes are in a turn, how far from one a tap still is its own, and its taps.

    And the places `around` a turn, from the last stroke before it to the first one after it, with the
    middles between them.
    """

    lane: int | None
    onsets: Floats
    window: float
    taps: Floats
    around: Floats
    middles: Floats


def _around(onsets: Floats, turn: float) -> tuple[Floats, Floats]:
    """Return the places around a turn, and the middles between them."""
    around = np.concatenate((onsets[-1:] - turn, onsets, onsets[:1] + turn))
    return around, (around[1:] + around[:-1]) / 2


class _Off(NamedTuple):
    """How far taps are from the nearest stroke, and which one that is, counted from the first cycle on."""

    seconds: Floats
    stroke: Ticks


def _off(row: _Row, turn: float, taps: Floats) -> _Off:
    """Look at taps of any shape on the strokes of a row, which go on before and after the take."""
    cycle = np.floor(taps / turn)
    inside = taps - cycle * turn
    near = row.middles.searchsorted(inside)
    return _Off(inside - row.around.take(near), cycle.astype(np.int64) * len(row.onsets) + (near - 1))


class _Together:
    """The taps of all lanes, lane after lane, to be looked at in one go: which lane each is of."""

    def __init__(self, rows: Sequence[_Row], turn: float) -> None:
        self.turn, self.apart = turn, 3 * turn  # no turn reaches into that of the next lane
        self.taps = np.concatenate([row.taps for row in rows])
        self.lane = np.repeat(np.arange(len(rows)), [len(row.taps) for row in rows])
        self.middles = np.concatenate([row.middles + i * self.apart for i, row in enumerate(rows)])
        self.around = np.concatenate([row.around for row in rows])
        self.windows = np.array([row.window for row in rows])

    def off(self, taps: Floats, lane: Ticks) -> Floats:
        """Return how far taps are from the nearest strokes of their lanes."""
        inside = taps - np.floor(taps / self.turn) * self.turn
        near = self.middles.searchsorted(inside + lane * self.apart)
        found: Floats = inside - self.around.take(near + lane)  # a lane has one place more than middles
        return found


def _rows(take: Take) -> list[_Row]:
    """Return the lanes played, or the merged line, whose shared strokes are one."""
    tick = float(take.tempo.tick_seconds(take.cycle))
    turn = tick * (take.stop - take.start)
    made = []
    for lane in [None] if take.mode == "composite" else take.lanes:
        ticks = take.ticks(lane)
        if not len(ticks):
            continue
        onsets = np.asarray((ticks - take.start) * tick, dtype=np.float64)
        least = float(np.diff(np.append(onsets, onsets[0] + turn)).min())
        taps = take.played(lane)
        if lane is None:
            near = np.diff(taps, prepend=-math.inf) < min(ONE_SOUND_S, least / 2)
            taps = taps[~(near & (np.diff(take.tap_lanes, prepend=-1) != 0))]
        made.append(_Row(lane, onsets, min(least / 2, WIDEST_S), taps, *_around(onsets, turn)))
    return made


class _Look:
    """A take as it is explained so far: lanes with their taps where those would have been."""

    def __init__(
        self,
        take: Take,
        rows: list[_Row],
        turn: float,
        end: float | None = None,
        like: "_Look | None" = None,  # with the same strokes
    ) -> None:
        self.take, self.rows, self.turn = take, rows, turn
        self.tick = turn / (take.stop - take.start)
        self.end = self.turn * take.cycles if end is None else end  # after it nothing was played
        turns = np.arange(take.cycles)[:, None] * self.turn
        self.meant: list[Floats] = like.meant if like else [(turns + row.onsets).ravel() for row in rows]
        self.strokes = sum(int(meant.searchsorted(self.end)) for meant in self.meant)
        self.count = max(sum(len(row.taps) for row in rows), self.strokes)
        self._like = like
        self.explained: tuple[list[Cause], _Look] | None = None

    def moved(self, taps: Sequence[Floats]) -> "_Look":
        """Return it with its taps elsewhere."""
        rows = [row._replace(taps=np.sort(one)) for row, one in zip(self.rows, taps, strict=True)]
        return _Look(self.take, rows, self.turn, self.end, self)

    def later(self, seconds: float) -> "_Look":
        """Return it as if the strokes had been meant so much later."""
        return self.moved([row.taps - seconds for row in self.rows])

    @cached_property
    def steps(self) -> "_Steps":
        """What a player can be wrong by."""
        return self._like.steps if self._like else _steps(self)

    @cached_property
    def stepped(self) -> list[_Off]:
        """How far the taps of each row are from the strokes, as they are and by each of the steps."""
        return self.offs(self.steps.seconds)

    @cached_property
    def together(self) -> _Together:
        """The taps of all rows."""
        return _Together(self.rows, self.turn)

    def offs(self, shifts: Floats) -> list[_Off]:
        """Return how far the taps of each row are from the strokes, for each shift of the strokes."""
        return [_off(row, self.turn, row.taps - shifts[:, None]) for row in self.rows]

    @cached_property
    def here(self) -> list[_Off]:
        """How far the taps of each row are from the strokes."""
        return self.offs(_HERE)

    def to_come(self, shifts: Floats) -> list[Ticks]:
        """Return how many strokes of each row there were to play: nothing is recorded after the end."""
        return [meant.searchsorted(self.end - shifts) for meant in self.meant]

    def lost(
        self, offs: Sequence[_Off], strokes: Sequence[int | Ticks], to_come: Sequence[Ticks]
    ) -> tuple[Floats, Floats]:
        """Return how far the taps are from the strokes, in seconds, for each try: a row of `offs`.

        And what all lanes are off by beside it.  A stroke that nobody played, and a tap without a stroke, is
        as far as a tap can be.
        """
        shared, own = self.middle([off.seconds for off in offs])
        total = np.zeros(len(shared))
        for row, off, more, meant, coming in zip(self.rows, offs, own, strokes, to_come, strict=True):
            error = np.abs(off.seconds - (shared + more)[:, None])
            inside = (off.stroke >= 0) & (off.stroke < meant)
            # Taps of the count-in, and the one that lands on the 1 after the take, cost nothing.
            costs = (row.taps <= self.end - row.window) & (row.taps >= -row.window)
            total += np.where(inside, np.minimum(error, row.window), costs * row.window).sum(axis=1)
            stroke = np.where(inside & (error <= row.window), off.stroke, -1)
            last = np.maximum.accumulate(stroke, axis=1)
            played = (last[:, 1:] > last[:, :-1]).sum(axis=1) + (last[:, :1] >= 0).sum(axis=1)
            total += np.maximum(coming - played, 0) * row.window
            total += np.abs(more) * len(row.taps) / 20  # a hand that is less off is better
        return total, shared

    @cached_property
    def loss(self) -> tuple[float, float]:
        """How far the taps are from the strokes, and what all lanes are off by beside it, as `lost`."""
        total, shared = self.lost(self.here, [len(meant) for meant in self.meant], self.to_come(_HERE))
        return float(total[0]), float(shared[0])

    @cached_property
    def score(self) -> float:
        """How unlikely the taps are, as `scores`."""
        loss, shared = self.loss
        return self.count * log(loss / self.count + FINEST_S) + (shared / LIKELY_S) ** 2

    def losses(self, shifts: Floats, offs: Sequence[_Off] | None = None) -> tuple[Floats, Floats]:
        """Return `lost` for each shift of the strokes."""
        return self.lost(
            self.offs(shifts) if offs is None else offs,
            [len(meant) for meant in self.meant],
            self.to_come(shifts),
        )

    def scores(self, loss: Floats, shared: Floats) -> Floats:
        """Return how unlikely the taps are, in nats: of errors with the best scale (Laplace)."""
        nats: Floats = self.count * np.log(loss / self.count + FINEST_S) + (shared / LIKELY_S) ** 2
        return nats

    def middle(self, offs: Sequence[Floats]) -> tuple[Floats, list[Floats]]:
        """Return what all lanes are off by, and each of them beside that; both as far as players are."""
        medians = [_median(off) if off.shape[-1] else None for off in offs]
        known = [one for one in medians if one is not None]
        if not known:
            return np.zeros(offs[0].shape[:-1]), [np.zeros(off.shape[:-1]) for off in offs]
        most, half = LEAD_S if self.take.calibrated else DELAY_S, MOST_HAND_S / 2
        shared = _within((reduce(np.maximum, known) + reduce(np.minimum, known)) / 2, most)
        return shared, [0 * shared if one is None else _within(one - shared, half) for one in medians]


def _within(values: Floats, most: float) -> Floats:
    """Return values drawn in to both sides of 0."""
    drawn: Floats = np.minimum(np.maximum(values, -most), most)
    return drawn


def _median(values: Floats) -> Floats:
    """Return the middle value of each row."""
    middle, order = values.shape[-1] // 2, values.copy()
    order.partition(middle)
    found: Floats = order[..., middle]
    return found


# Ways to explain all of it


class _Way(NamedTuple):
    """A way to explain a take: by how many nats it is better, the cause, and the take as explained."""

    gain: float
    cause: Cause
    look: _Look


def _swapped(look: _Look) -> _Way | None:
    """Find lanes that were played for each other."""
    count, best = len(look.rows), None
    if not 2 <= count <= MOST_SWAPPED:
        return None
    orders = [order for order in permutations(range(count)) if order != tuple(range(count))]
    many, n = [int(coming[0]) for coming in look.to_come(_HERE)], look.count
    for order in orders:
        # At least the strokes are lost that there are no taps for.
        lost = [max(0, many[i] - len(look.rows[j].taps)) * look.rows[i].window for i, j in enumerate(order)]
        if look.score - n * log(sum(lost) / n + FINEST_S) - log(len(orders)) - CLEAR <= 0:
            continue
        moved = look.moved([look.rows[i].taps for i in order])
        gain = look.score - moved.score - log(len(orders)) - CLEAR
        if best is None or gain > best.gain:
            lanes = tuple(look.rows[order.index(i)].lane or 0 for i in range(count))
            best = _Way(gain, Cause("swapped", lanes=lanes), moved)
    return best


class _Steps(NamedTuple):
    """The ticks that a player can be wrong by, in seconds with a 0 before them, and which are a beat."""

    ticks: list[float]
    seconds: Floats
    on_beats: np.ndarray


def _steps(look: _Look) -> _Steps:
    """Return what a player can be wrong by: parts, beats, half a beat and strokes of a lane."""
    take, cycle = look.take, look.take.cycle
    tick, turn = look.tick, take.stop - take.start
    beats = set(np.diff(cycle.beats).tolist())
    several = (0.5, *range(1, 1 + min(16, turn // min(beats or {turn}))))
    steps = {beat * k for beat in beats or {turn} for k in several}
    for row in look.rows:
        steps |= set(np.rint(np.diff(row.onsets) / tick).astype(int).tolist())
    if tick >= LEAST_SHIFT_S and turn <= MOST_PARTS:
        steps |= set(range(1, turn))
    steps = {step for step in steps if step * tick >= LEAST_SHIFT_S and 2 * step <= turn}
    ticks = sorted({*steps, *(-step for step in steps)}, key=lambda step: (abs(step), step))
    return _Steps(
        ticks, np.array([0, *ticks]) * tick, np.array([abs(step) in beats for step in ticks], dtype=bool)
    )


def _shifted(look: _Look) -> _Way | None:
    """Find a shift of all strokes."""
    steps, seconds, on_beats = look.steps
    if not steps:
        return None
    losses, shared = look.losses(seconds, look.stepped)
    # Of those that say nearly the same, as in near-equal pulses, a beat is the likely one.
    scores = look.scores(losses[1:], shared[1:])
    i = int(np.argmin(scores - CLEAR * on_beats))
    # One stroke that is missing at the beginning is no shift, even if one comes after the end.
    if losses[0] - losses[i + 1] < 1.5 * max(row.window for row in look.rows):
        return None
    gain, by = look.score - float(scores[i]) - log(len(steps)) - CLEAR, seconds[i + 1]
    return _Way(gain, Cause("shifted", ticks=math.trunc(steps[i]), us=_us(by)), look.later(by))


def _slipped(look: _Look) -> _Way | None:
    """Find a place from which on all strokes are shifted."""
    take, tick, steps = look.take, look.tick, look.steps.ticks
    times = np.concatenate([row.taps for row in look.rows])
    if not steps or len(times) <= 2 * FEWEST:
        return None
    offs = [off.seconds for off in look.stepped]
    order = np.argsort(times, kind="stable")
    times = times[order]
    lane = np.repeat(np.arange(len(look.rows)), [len(row.taps) for row in look.rows])[order]
    every = np.concatenate(offs, axis=1).take(order, axis=1)
    widths = np.array([row.window for row in look.rows])[lane]
    least = max(0.0, look.strokes - len(times)) * float(widths.mean())
    best, none = None, math.inf
    # What is off before, or after, is not off itself.
    for first, last in ((0.0, 1.0), (0.0, 0.3), (0.7, 1.0)):
        parts = [
            off[0][(row.taps >= first * look.end) & (row.taps <= last * look.end)]
            for row, off in zip(look.rows, offs, strict=True)
        ]
        shared, own = look.middle(parts)
        cost = np.minimum(np.abs(every - shared - np.array(own)[lane]), widths)
        before = np.cumsum(cost[0]) - cost[0]
        after = np.cumsum(cost[1:, ::-1], axis=1)[:, ::-1]
        total = (before + after)[:, FEWEST:-FEWEST]
        none = min(none, float(cost[0].sum()))
        step, k = divmod(int(np.argmin(total)), total.shape[1])
        here = float(total[step, k])
        if best is None or here < best[0]:
            best = here, step, k, total[step], cost, float(shared)
    if best is None:
        return None
    here, at, k, costs, cost, middle = best
    step, by, turn = steps[at], steps[at] * tick, take.stop - take.start
    k = _on_beat(look, times[FEWEST:], costs, k, by) + FEWEST
    if float(cost[at + 1, k:].mean()) > SLIP_SHARE * float(cost[0, k:].mean()):
        return None
    silent = float(times[k] - times[k - 1])
    if by < 0 and silent >= PAUSE_SHARE * (by + look.turn):  # it was not left out: there was a pause
        step, by = step + turn, by + look.turn
    elif (
        2 * step == turn and silent < PAUSE_SHARE * by
    ):  # half a cycle more is half a cycle less, but without a pause
        step, by = step - turn, by - look.turn
    place = round((float(times[k]) - middle - max(by, 0.0)) / tick)
    gain = look.count * log((none + least + FINEST_S * look.count) / (here + least + FINEST_S * look.count))
    gain -= log(len(steps) * len(times)) + CLEAR
    cause = Cause(
        "slipped", ticks=math.trunc(step), us=_us(by), cycle=place // turn + 1, tick=take.start + place % turn
    )
    return _Way(
        gain, cause, look.moved([np.where(row.taps < times[k], row.taps, row.taps - by) for row in look.rows])
    )


def _on_beat(look: _Look, times: Floats, costs: Floats, best: int, by: float) -> int:
    """Return the tap from which on all is shifted: of those that say the same, one on a beat."""
    tick, turn = look.tick, look.take.stop - look.take.start
    near = range(max(0, best - 4), min(len(costs), best + 5))
    enough, beats = costs[best] + 2 * float(costs[best]) / look.count, set(look.take.cycle.beats.tolist())
    for k in near:
        place = look.take.start + round((float(times[k]) - max(by, 0.0)) / tick) % turn
        if costs[k] <= enough and place in beats:
            return k
    return best


def _unbent(taps: Floats, slower: float, bend: float) -> Floats:
    """Return where taps would be at the tempo meant: a tap is at t + slower t + bend t²."""
    made = taps / (1 + slower)
    for _ in range(3 if bend else 0):
        made = taps - made * (slower + bend * made)
    return made


def _tempo(look: _Look) -> _Way | None:
    """Find another tempo, held or changing: follow the taps from the beginning, further and further."""
    widest = min(row.window for row in look.rows)
    reach = min(look.end, max(look.turn, 4.0))
    steps = math.ceil(MOST_TEMPO * reach / (0.3 * widest))
    tried = np.arange(-steps, steps + 1) / steps * MOST_TEMPO
    costs = np.zeros(len(tried))
    offs = [
        _off(row, look.turn, row.taps[row.taps <= 1.05 * reach] / (1 + tried[:, None])).seconds
        for row in look.rows
    ]
    shared, own = look.middle(offs)
    for row, off, add in zip(look.rows, offs, own, strict=True):
        costs += np.minimum(np.abs(off - (shared + add)[:, None]), row.window).sum(axis=1)
    slower, bend, done = float(tried[np.argmin(costs + 1e-6 * np.abs(tried))]), 0.0, False
    while True:
        fit = _followed(look, slower, bend, reach)
        if fit is None:
            return None
        slower, bend = fit.slower, fit.bend
        if done:
            break
        step = 2.0 if fit.off < widest / 4 else 1.4  # a good fit reaches further
        done, reach = reach >= look.end, min(look.end, step * reach)
    even, error = _slope(fit.when, fit.later, fit.lanes)
    held = abs(even) >= LEAST_TEMPO and abs(even) > 4 * error
    first, last = slower, slower + 2 * bend * look.end
    changes = abs(last - first) >= LEAST_TEMPO
    if not held and not changes:
        return None
    straight = look.moved([_unbent(row.taps, even, 0.0) for row in look.rows])
    gain, turn = look.score - straight.score - CLEAR, look.turn
    way = _Way(gain, Cause("tempo", us=_us(even * turn)), straight) if held else None
    if changes:
        bent = look.moved([_unbent(row.taps, slower, bend) for row in look.rows])
        more = look.score - bent.score - 2 * CLEAR
        if more > gain + BENT:
            way = _Way(more, Cause("rushed", us=_us(first * turn), then_us=_us(last * turn)), bent)
    return way


class _Followed(NamedTuple):
    """A tempo and its bend, of strokes at times so much later than meant in lanes; the furthest off it."""

    slower: float
    bend: float
    when: Floats
    later: Floats
    lanes: Ticks
    off: float


def _followed(look: _Look, slower: float, bend: float, reach: float) -> _Followed | None:
    """Fit a tempo and its bend to the taps up to a time, on the strokes that they are nearest to."""
    every = look.together
    near = every.taps <= reach * (1 + MOST_TEMPO)
    taps, lane = every.taps[near], every.lane[near]
    straight = _unbent(taps, slower, bend)
    off = every.off(straight, lane)
    rows = np.arange(len(look.rows))
    ends = lane.searchsorted(rows, side="right").tolist()
    middles = [float(_median(off[a:b])) if a < b else 0.0 for a, b in pairwise([0, *ends])]
    early = straight <= reach
    good = early & (np.abs(off - np.array(middles)[lane]) < every.windows[lane])
    lost = np.count_nonzero(good) < np.count_nonzero(early)
    lane, meant = lane[good], (straight - off)[good]
    x, y = meant, taps[good] - meant
    if len(x) < FEWEST:
        return None
    of_row = lane == rows[:, None]
    columns = [of_row[of_row.any(axis=1)], x[None]]
    bends = reach >= 2.5 * look.turn or reach >= look.end
    known = np.concatenate([*columns, x[None] ** 2] if bends else columns).T
    fitted = np.linalg.lstsq(known, y, rcond=None)[0]
    slower, bend = fitted[-2:].tolist() if bends else (float(fitted[-1]), 0.0)
    furthest = math.inf if lost else float(np.abs(y - known @ fitted).max())
    return _Followed(slower, bend, x, y, lane, furthest)


def _slope(when: Floats, later: Floats, lanes: Ticks) -> tuple[float, float]:
    """Return the slope of a line through errors, each lane with its own middle, and its standard error."""
    x, y = when.copy(), later.copy()
    for lane in set(lanes.tolist()):
        here = lanes == lane
        x[here] -= x[here].mean()
        y[here] -= y[here].mean()
    square = float((x**2).sum())
    if not square:
        return 0.0, math.inf
    slope = float((x * y).sum()) / square
    return slope, math.sqrt(_variance(when, x / square, y - slope * x))


def _locked(look: _Look) -> _Way | None:
    """Find a lane that was played as another number of even strokes, which make a simpler ratio."""
    best, take = None, look.take
    if take.mode == "composite":
        return None
    for i, row in enumerate(look.rows):
        n = len(row.onsets)
        against = [len(one.onsets) for one in look.rows if one is not row]
        if not against and take.home is not None and take.home != row.lane:
            against = [len(take.ticks(take.home))]
        steps = np.diff(np.append(row.onsets, row.onsets[0] + look.turn))
        if not against or np.ptp(steps) > 1e-6 or _fits(look, row, look.meant[i][look.meant[i] < look.end]):
            continue
        a_cycle = len(row.taps) * look.turn / look.end
        near = range(
            math.ceil(a_cycle / 1.3), math.floor(a_cycle / 0.7) + 1
        )  # as many as were played, or nearly
        # one stroke a cycle is no pulse: the others were left out
        tried = [m for m in near if 1 < m != n and _size(m, against) < _size(n, against)]
        if not tried:
            continue
        rows = [_even(row, look.turn, m) for m in tried]
        loss, shared = _lost_as(look, i, rows)
        scores = look.scores(loss, shared)
        k = int(np.argmin(scores))
        gain = look.score - float(scores[k]) - log(len(tried)) - 2 * CLEAR
        if best is None or gain > best.gain:
            other = _Look(take, [*look.rows[:i], rows[k], *look.rows[i + 1 :]], look.turn, look.end)
            best = _Way(gain, Cause("locked", lane=row.lane, count=tried[k]), other)
    return best


def _even(row: _Row, turn: float, count: int) -> _Row:
    """Return a lane as if so many even strokes a cycle were meant."""
    onsets = row.onsets[0] + np.arange(count) * (turn / count)
    around, middles = _around(onsets, turn)
    return row._replace(onsets=onsets, around=around, middles=middles)


def _lost_as(look: _Look, i: int, rows: Sequence[_Row]) -> tuple[Floats, Floats]:
    """Return how far the taps are from the strokes, as `_Look.lost`, with each of the rows as the i-th."""
    tried = [_off(row, look.turn, row.taps) for row in rows]
    offs, strokes, to_come = list(look.here), [len(meant) for meant in look.meant], look.to_come(_HERE)
    offs[i] = _Off(np.stack([off.seconds for off in tried]), np.stack([off.stroke for off in tried]))
    turns = np.arange(look.take.cycles)[:, None] * look.turn
    meant = [(turns + row.onsets).ravel() for row in rows]
    many: list[int | Ticks] = list(strokes)
    many[i] = np.array([[len(one)] for one in meant])
    to_come[i] = np.array([one.searchsorted(look.end) for one in meant])
    return look.lost(offs, many, to_come)


def _fits(look: _Look, row: _Row, meant: Floats) -> bool:
    """Whether the taps of a lane are nearly all there and near its strokes."""
    if not len(row.taps):
        return False
    off = _off(row, look.turn, row.taps).seconds
    error = np.minimum(np.abs(off - _median(off)), row.window).sum()
    gone = abs(len(meant) - len(row.taps)) * row.window
    return bool(error + gone < FITTING * row.window * len(meant))


def _size(count: int, against: Sequence[int]) -> int:
    """Return how large the numbers of the ratios of a count to others are."""
    return sum((count + other) // gcd(count, other) for other in against)


# What is left


def _variance(when: Floats, weights: Floats, errors: Floats) -> float:
    """Return the variance of a weighted sum of errors that may hang together with their neighbours.

    Errors of one time are summed, and of one stretch of time: what hangs together stays together.
    A few stretches say little, so that independent errors count as `PRIOR` more of them.
    """
    parts = weights * errors
    alone = float((parts**2).sum())
    if len(when) < 4:
        return alone
    groups = min(24, max(4, len(when) // 5))
    order = np.argsort(when, kind="stable")
    group = np.arange(len(when)) * groups // len(when)
    sums = np.bincount(group, weights=parts[order], minlength=groups)
    together = float((sums**2).sum()) * groups / (groups - 1)
    return (PRIOR * alone + groups * together) / (PRIOR + groups)


class _Error(NamedTuple):
    """The strokes that were played: their rows, numbers and times, and how late each was, in seconds."""

    row: Ticks
    stroke: Ticks
    when: Floats
    late: Floats

    def some(self, keep: np.ndarray) -> "_Error":
        """Return some of them."""
        return _Error(self.row[keep], self.stroke[keep], self.when[keep], self.late[keep])


def _errors(look: _Look) -> _Error:
    """Match what is explained, and return what is left, by time."""
    made = []
    for i, (row, meant) in enumerate(zip(look.rows, look.meant, strict=True)):
        strokes, taps = match(meant, row.taps, row.window)
        made.append((np.full(len(strokes), i), strokes, meant[strokes], row.taps[taps] - meant[strokes]))
    rows, strokes, when, late = (np.concatenate(column) for column in zip(*made, strict=True))
    order = np.argsort(when, kind="stable")
    return _Error(rows[order], strokes[order], when[order], late[order])


def _habit(bad: np.ndarray) -> tuple[float, int, int, int] | None:
    """Find a place that is bad from a cycle on: by how many nats no chance, place, cycle, how often.

    A row for each cycle; by chance each place is as often bad as the others are.
    """
    cycles, places = bad.shape
    if bad.sum(axis=0).max() < FEWEST_HABIT:
        return None
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


def _habits(look: _Look, errors: _Error) -> list[Cause]:
    """Find a lane that falls silent, or a stroke missing or too many at its place in cycle after cycle."""
    found: list[tuple[float, Cause]] = []
    for i, row in enumerate(look.rows):
        n, here = len(row.onsets), errors.row == i
        if n != len(look.take.ticks(row.lane)):  # it was played as another number of strokes
            continue
        last = int(errors.stroke[here].max(initial=-1)) + 1
        if len(look.meant[i]) - last >= max(n, FEWEST_HABIT) and 2 * int(here.sum()) >= last:
            cycle, place = divmod(last, n)
            tick = int(look.take.ticks(row.lane)[place])
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
            habit = _habit(bad.reshape(-1, n))
            if habit is not None:
                nats, place, cycle, count = habit
                tick = int(look.take.ticks(row.lane)[place])
                found.append((nats, Cause(kind, row.lane, cycle=cycle + 1, tick=tick, count=count)))
    return [max(found, key=lambda one: one[0])[1]] if found else []


def _silent_strokes(look: _Look, silent: Cause) -> int:
    """Return how many strokes a lane left out that fell silent."""
    row = next(row for row in look.rows if row.lane == silent.lane)
    place = int(np.searchsorted(look.take.ticks(silent.lane), silent.tick))
    return (look.take.cycles - silent.cycle + 1) * len(row.onsets) - place


def _all_else_right(look: _Look, errors: _Error, habit: Cause) -> bool:
    """Whether all strokes but those of a habit were played near their places, and no others."""
    for i, row in enumerate(look.rows):
        late = errors.late[errors.row == i]
        if len(late) and np.abs(late - _median(late)).mean() > FITTING * row.window:
            return False
    right, few = len(errors.late), STRAY_SHARE * look.strokes + 1
    missing, added = look.strokes - right, sum(len(row.taps) for row in look.rows) - right
    if habit.kind == "silent":
        return added <= few and missing <= few + _silent_strokes(look, habit)
    here = habit.count
    return missing - here * (habit.kind == "missing") <= few and added - here * (habit.kind == "added") <= few


def _tamed(values: Floats, most: float = 3.0) -> Floats:
    """Return values with those far out drawn in to so many standard deviations."""
    middle = _median(values)
    far = most * 1.4826 * float(_median(np.abs(values - middle)))
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


def _places(look: _Look, errors: _Error) -> list[_Place]:
    """Return the strokes that can be told to be early or late in cycle after cycle."""
    if look.take.cycles < 3:  # twice is too few for a habit
        return []
    found = []
    for i, row in enumerate(look.rows):
        n = len(row.onsets)
        if n < 3 or n != len(look.take.ticks(row.lane)):  # the middle of two places is between them
            continue
        of_lane, at = errors.row == i, errors.stroke % n
        for place in range(n):
            here = of_lane & (at == place)
            if np.count_nonzero(here) >= 2:
                found.append(_Place(i, place, here))
    return found


def _noises(look: _Look, errors: _Error, places: Sequence[_Place] = ()) -> list[_Noise]:
    """See errors as each of `NOISES`: an error goes on in the next strokes, each time less by `GAIN`."""
    count = len(errors.late)
    if not count:
        return []
    steady, late = errors.late.copy(), errors.late.copy()
    for i in np.unique(errors.row).tolist():
        here = errors.row == i
        usual = _at_places(late[here], errors.stroke[here] % len(look.rows[i].onsets))
        steady[here] = usual + _tamed(late[here] - usual)
        late[here] = _tamed(late[here] - _median(late[here]), WILD)
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


def _hand(look: _Look, errors: _Error, noises: Sequence[_Noise]) -> tuple[float, Cause] | None:
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
                cause = Cause("hand", look.rows[late_one].lane, look.rows[early_one].lane, us=_us(abs(by)))
            else:
                cause = Cause("hand", look.rows[i].lane, us=_us(by))
            best = z, cause
    return best


def _most(values: Floats) -> float:
    """Return the mean of nine values in ten, without the largest."""
    return float(np.sort(values)[: math.ceil(0.9 * len(values))].mean())


def _looser(look: _Look, errors: _Error, noises: Sequence[_Noise]) -> tuple[float, Cause] | None:
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
            far[here] = np.abs(far[here] - _median(far[here]))
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
            best = z, Cause("looser", cycle=first + 1, us=_us(before**0.5), then_us=_us(after**0.5))
    return best


def _place(
    look: _Look, errors: _Error, places: Sequence[_Place], noises: Sequence[_Noise]
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
    middles = [float(_median(errors.late[here])) if here.any() else 0.0 for here in of_row]
    best: tuple[float, int] = (0.0, 0)
    for k, one in enumerate(places):
        usual = float(_median(errors.late[one.here])) - middles[one.row]
        if usual * likely[k] > likely[k] ** 2 / 2:  # a few wild strokes make no place
            best = max(best, (2 * (fit - _any([each[k] for each in without])), k))
    z, (i, place, _), late = math.sqrt(max(0.0, best[0])), places[best[1]], float(likely[best[1]])
    row = look.rows[i]
    tick = int(look.take.ticks(row.lane)[place])
    return z - log(len(places)) / 4, Cause("place", row.lane, us=_us(late), tick=tick)


def _without(look: _Look, errors: _Error, place: Cause) -> _Error:
    """Return what is left without a place."""
    row = next(i for i, row in enumerate(look.rows) if row.lane == place.lane)
    at = int(np.searchsorted(look.take.ticks(place.lane), place.tick))
    keep = (errors.row != row) | (errors.stroke % len(look.rows[row].onsets) != at)
    return errors.some(keep)


# A take


def causes(take: Take, measures: Measures | None = None) -> tuple[Cause, ...]:
    """Return why a take was off: causes before symptoms, in the order in which they are told.

    Parameters
    ----------
    take : Take
        What was played.
    measures : Measures, optional
        From `measure`; a simpler line is looked for here when left out.

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
    look = _Look(take, _rows(take), float(take.turn))
    taps = sum(len(row.taps) for row in look.rows)
    ended = _ended(look) if taps else None
    if ended is not None:
        return (ended, *(causes(part(take, ended.cycle)) if ended.cycle else ()))
    if taps < FEWEST:
        return ()
    as_played, delay = look, 0.0
    if not take.calibrated:  # a delay of the device is no fault
        delays = np.array([0.0, -LEAST_SHIFT_S, LEAST_SHIFT_S])
        scores = look.scores(*look.losses(delays))
        delay = float(delays[np.argmin(scores + np.array([0.0, CLEAR, CLEAR]))])
        look = look.later(delay) if delay else look
    habits = _habits(delayed := look, errors := _errors(look))
    if habits and _all_else_right(look, errors, habits[0]):
        return _sorted([*habits, *_sure(_left(look, errors))])
    found, look = _explained(look)
    if delay:  # part of a shift is no delay: what explains the strokes as they were played may be better
        again, instead = _explained(as_played)
        if not found:  # a delay explains it all, but for one that is too long
            beside = instead.loss[1]
            again = again if any(abs(cause.us + _us(beside)) > NOT_MEASURED_US for cause in again) else []
        more = CLEAR * (len(again) - len(found))
        if again and instead.score + more < look.score:
            found, look = again, instead
    simpler = None
    if not found:
        simpler = played_instead(take) if measures is None else measures.played_instead
    if simpler is not None:
        return (Cause("locked", line=simpler),)
    if look is not delayed:
        errors = _errors(look)
        habits = _habits(look, errors)
    tests = _left(look, errors)
    found += [*habits, *_sure(tests)]
    least = UNSURE if take.cycles > 2 else UNSURE_SHORT
    if not found and any(z >= least for z, _, _ in tests):
        late = errors.late - _median(errors.late)
        found.append(Cause("unsure", us=_us(float(late.std()))))
    return _sorted(found)


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


def _ended(look: _Look) -> Cause | None:
    """Find out after which cycle nothing was played any more, though more was asked for."""
    line = np.unique(np.round(np.concatenate(look.meant), 6))
    times = np.sort(np.concatenate([row.taps for row in look.rows]))
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
        look = _Look(look.take, rows, look.turn, float(until), look)
    moved = _explained(look)[1]  # who is ahead ends early too
    offs = [_off(row, moved.turn, row.taps) for row in moved.rows]
    shared = moved.middle([off.seconds for off in offs])[0]
    last = -math.inf
    for row, meant in zip(moved.rows, moved.meant, strict=True):
        if len(row.taps):
            stroke = int(_off(row, moved.turn, row.taps[-1:] - shared).stroke[0])
            last = max(last, float(meant[min(max(stroke, 0), len(meant) - 1)]))
    silent = line[line > last + 1e-5]
    if len(silent) < fewest:
        return None
    ticks = look.take.stop - look.take.start
    cycle, tick = divmod(round(float(silent[0]) / look.tick), ticks)
    return Cause("ended", cycle=cycle, tick=look.take.start + tick, count=look.take.cycles)


def _explained(look: _Look) -> tuple[list[Cause], _Look]:
    """Take the best way to explain all of it, again and again while one is clear."""
    if look.explained is None:
        look.explained = _best_ways(look)
    found, explained = look.explained
    return list(found), explained


def _best_ways(look: _Look) -> tuple[list[Cause], _Look]:
    found: list[Cause] = []
    ways = [_swapped, _shifted, _slipped, _tempo, _locked]
    while ways and len(found) < MOST_FOUND:
        gains = [(made.gain, i, made) for i, way in enumerate(ways) if (made := way(look)) is not None]
        gain, i, best = max(gains, key=lambda row: row[0], default=(0.0, 0, None))
        if best is None or gain <= 0:
            break
        found.append(best.cause)
        look = best.look
        del ways[i]
    return found, look


def _left(look: _Look, errors: _Error) -> list[tuple[float, float, Cause]]:
    """Test what is left: by how many standard errors, how many are enough, and what that would be."""
    places, hand = _places(look, errors), None
    noises = _noises(look, errors, places)
    place = _place(look, errors, places, noises)
    if place is not None and place[0] >= SURE_PLACE:  # a place that is late makes no hand late
        hand = _hand(look, errors, noises)
        errors = _without(look, errors, place[1])
        noises = _noises(look, errors)
    looser = _looser(look, errors, noises)
    if looser is not None and looser[0] >= SURE_LOOSER:  # what is loose says little of a hand
        errors = errors.some(errors.when < (looser[1].cycle - 1) * look.turn)
        noises = _noises(look, errors)
    hands = [one for one in (hand, _hand(look, errors, noises)) if one is not None]
    hand = min(hands, key=lambda one: one[0], default=None)
    tests = ((hand, SURE_HAND), (looser, SURE_LOOSER), (place, SURE_PLACE))
    found = [(test[0], enough, test[1]) for test, enough in tests if test is not None]
    least = 1_000_000 * LEAST_HAND_S
    return [row for row in found if row[2].kind == "looser" or abs(row[2].us) >= least]

"""What moved all strokes of a take, or many: lanes swapped, a shift, a slip, a tempo, a lock; and `Cause`.

Each way to explain a take moves the taps back to where they would have been.  The one after which they lie
nearest to the strokes meant is taken, and the take is looked at again for another.  What is left over then is
tested in `practice/causes.py`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from itertools import accumulate, compress, pairwise, permutations
from math import gcd, log
from typing import NamedTuple

import numpy as np

from rhythmlab.core.types import Floats, Ticks
from rhythmlab.practice.bends import Bend, bends
from rhythmlab.practice.measure import ONE_SOUND_S, WIDEST_S, Simpler
from rhythmlab.practice.take import Take

#: Those that move all strokes, or many; and all of them, in the order in which they are told.
MOVES_ALL = (
    "spoiled",
    "count_in",
    "doubled",
    "began",
    "ended",
    "one_key",
    "another",
    "swapped",
    "shifted",
    "unmeasured",
    "slipped",
    "tempo",
    "rushed",
    "locked",
    "evened",
    "changed",
    "parted",
    "waited",
    "stretch",
)
KINDS = (*MOVES_ALL, "silent", "missing", "added", "hand", "looser", "place", "unsure")
#: Shortest shift that is told, in seconds: the shortest part that is counted (limit ``part_heard``).
LEAST_SHIFT_S = 0.1
#: Largest lead or delay of a take, in seconds, not calibrated and calibrated, and how far off is likely
#: (own choices): a shorter shift looks the same as a delay of the device.
DELAY_S, LEAD_S, LIKELY_S = 0.15, 0.08, 0.06
#: Smallest change of tempo that is told, as a share; largest that is looked for (own choices).
LEAST_TEMPO, MOST_TEMPO = 0.005, 0.12
#: From which share on a tempo is far from the one asked for, how many times that at most, how nearly alike it
#: must be in all lanes, and where it may have begun, in seconds (own choices).
FAR_TEMPO, MOST_TIMES, ALIKE = 0.1, 4.2, 1.06
STARTS_S = np.arange(-5, 6) / 10
#: How far beyond the take a tap may be moved at most, in seconds, beside three turns (own choice).
BEYOND_S = 2.0
#: Largest error of a hand, in seconds (own choice).
MOST_HAND_S = 0.06
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
#: Share of the window that the strokes of a lane are off by where it fits as it is, and that all strokes are
#: off by where they are near (own choices).
FITTING, NEAR = 0.25, 0.12
#: Share of the window within which a tap that is off its tempo is surely of the stroke nearest to it.
SURELY_OWN = 0.25
#: Share of its square below which a bend is only the rounding of an even tempo.
STRAIGHT = 1e-12
#: Largest number of a pair that is looked for in place of the one meant; how near its ratio two pulses must
#: be, and how near a whole number so many strokes a cycle; and how far from even, as a share of the interval,
#: one of their strokes may be (own choices).
MOST_PULSES, RATIO, WHOLE, ASTRAY = 9, 0.04, 0.1, 0.25
#: How far on the way from their places to even ones strokes are tried, and then beside the best; and how far
#: strokes that are near their places must be on it at least (own choices).
EVENED, BESIDE, ON_THE_WAY = (0.5, 0.75, 1.0), (-0.1, 0.1), 0.25
#: Weight of errors that are independent, in stretches (own choice).
PRIOR = 4
#: How near the ratio meant two pulses are none of another pair: one of them went slower (own choice).
HARDLY = 0.015
#: Largest tempo of a lane of its own, since more is a lock; by how many standard errors a bend must be clear;
#: and by how many nats it must be better beside `CLEAR`, since many are tried, and a tempo goes away slowly
#: more often than at once (own choices, so that clean takes stay clean).
MOST_PARTED, SURE_BEND = 0.04, 4.0
BESIDE_CLEAR = {"waited": 8.0, "changed": 9.0, "parted": 2.0, "stretch": 7.0}
_HERE, _NEXT_LANE = np.zeros(1), 1 << 40  # no lane has as many strokes


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause, with its numbers.

    Attributes
    ----------
    kind : str
        One of `KINDS`.
    lane : int or None
        The lane it is about, or all was played on ("one_key"); ``None`` is all of them, or the merged line.
    other : int or None
        The lane it is held against; ``None`` is all others.
    us : int
        Microseconds: how late ("hand", "place"), how much later than meant ("shifted", "slipped", and
        "unmeasured" where the delay of the device is not known and no step of the rhythm is near), how much
        longer a cycle was ("tempo", "changed", of a lane against the others "parted", and "rushed" at the
        beginning), the spread before ("looser"), the spread ("unsure"), how far apart the two strokes were
        ("doubled"), how much later all was from a place on ("waited"), how late a place that each cycle
        leads up to ("stretch").
    then_us : int
        Microseconds: how much longer a cycle was at the end ("rushed"), the spread after ("looser"), how much
        later it may have been as well ("slipped"), how much later a lane was at the end ("parted").
    ticks : int
        How far it was shifted; without the half of a tick, where it was by half a beat.
    cycle : int
        In, or from, which cycle, from 1, of what is judged; 0 where it is about all.  From which on it is
        judged ("began"), and how many were played whole ("ended").
    tick : int
        At which tick of the cycle; of the first stroke that nobody played ("ended").
    lanes : tuple of int
        For each lane that was to be played, the one that was played on it ("swapped"); those whose strokes
        came twice ("doubled").
    count : int
        Strokes a cycle that were played ("locked"), strokes that sounded late ("spoiled"), cycles that were
        asked for ("began", "ended"), strokes that came twice ("doubled"), cycles in which it was so
        ("missing", "added"), percent of the way to even places ("evened").
    line : Simpler or None
        The simpler line that was played ("locked").
    pulses : tuple of int
        The strokes of each lane in a cycle of the pair that was played ("another").
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
    pulses: tuple[int, ...] = ()


def whole_us(seconds: float) -> int:
    """Return seconds as whole microseconds."""
    return round(1_000_000 * seconds)


# The taps of a take on the strokes meant


class Row(NamedTuple):
    """A lane: where its strokes are in a turn, how far from one a tap still is its own, and its taps.

    And the places `around` a turn, from the last stroke before it to the first one after it.
    """

    lane: int | None
    onsets: Floats
    window: float
    taps: Floats
    around: Floats


def _around(onsets: Floats, turn: float) -> Floats:
    """Return the places around a turn."""
    return np.concatenate((onsets[-1:] - turn, onsets, onsets[:1] + turn))


def _least(around: Floats) -> float:
    """Return the shortest way from a stroke to the next, of the places around a turn."""
    return float((around[2:] - around[1:-1]).min())


class Off(NamedTuple):
    """How far taps are from the nearest stroke, and which one that is, counted from the first cycle on."""

    seconds: Floats
    stroke: Ticks


class _Places:
    """The strokes of all lanes, lane after lane, to look at taps of any of them in one go.

    They go on before and after the take, by as many turns as any way to explain it may move taps.
    """

    def __init__(self, rows: Sequence[Row], turn: float, cycles: int) -> None:
        more = 3 + math.ceil(BEYOND_S / turn)
        self.apart = (cycles + 2 * more) * turn  # no lane reaches into the next one
        turns = np.arange(-more, cycles + more)[:, None] * turn
        every = [(turns + row.onsets).ravel() for row in rows]
        self.places = np.concatenate(every)
        in_line = np.concatenate([one + i * self.apart for i, one in enumerate(every)])
        self.middles = (in_line[1:] + in_line[:-1]) / 2
        self.windows = np.array([row.window for row in rows])
        before = [0, *accumulate(map(len, every))]
        self.first = np.array([at + more * len(row.onsets) for at, row in zip(before, rows, strict=False)])

    def off(self, taps: Floats, lane: Ticks) -> Off:
        """Look at taps of any shape on the strokes of their lanes."""
        near = self.middles.searchsorted(taps + lane * self.apart)
        return Off(taps - self.places.take(near), near - self.first.take(lane))


class _Together(NamedTuple):
    """The taps of all lanes, lane after lane: the lane of each, and 1 in its column; and how many each has.

    And where lanes begin and end.
    """

    taps: Floats
    lane: Ticks
    of_lane: Floats
    many: Ticks
    ends: list[int]

    def split(self, values: np.ndarray) -> list[np.ndarray]:
        """Return values of all taps, or rows of them, lane by lane."""
        return [values[..., a:b] for a, b in pairwise(self.ends)]


def rows_of(take: Take) -> list[Row]:
    """Return the lanes played, or the merged line, whose shared strokes are one."""
    tick = float(take.tempo.tick_seconds(take.cycle))
    turn = tick * (take.stop - take.start)
    made = []
    for lane in [None] if take.mode == "composite" else take.lanes:
        ticks = take.ticks(lane)
        if not len(ticks):
            continue
        onsets = np.asarray((ticks - take.start) * tick, dtype=np.float64)
        around = _around(onsets, turn)
        least = _least(around)
        taps = take.played(lane)
        if lane is None:
            near = np.diff(taps, prepend=-math.inf) < min(ONE_SOUND_S, least / 2)
            taps = taps[~(near & (np.diff(take.tap_lanes, prepend=-1) != 0))]
        made.append(Row(lane, onsets, min(least / 2, WIDEST_S), taps, around))
    return made


class Look:
    """A take as it is explained so far: lanes with their taps where those would have been."""

    def __init__(
        self,
        take: Take,
        rows: list[Row],
        turn: float,
        end: float | None = None,
        like: "Look | None" = None,  # with the same strokes
    ) -> None:
        self.take, self.rows, self.turn = take, rows, turn
        self.tick = turn / (take.stop - take.start)
        self.end = self.turn * take.cycles if end is None else end  # after it nothing was played
        self.meant: list[Floats]
        if like:
            self.meant = like.meant
        else:
            turns = np.arange(take.cycles)[:, None] * self.turn
            self.meant = [(turns + row.onsets).ravel() for row in rows]
        if like and like.end == self.end:
            self.to_play: list[int] = like.to_play
        else:
            self.to_play = [int(meant.searchsorted(self.end)) for meant in self.meant]
        self.strokes = sum(self.to_play)
        self.count = max(sum(len(row.taps) for row in rows), self.strokes)
        self._like = like
        self._ticks: dict[int | None, Ticks] = like._ticks if like else {}
        self.explained: tuple[list[Cause], Look] | None = None

    def ticks(self, lane: int | None) -> Ticks:
        """Return the ticks of a lane as they were asked for, worked out once."""
        if lane not in self._ticks:
            self._ticks[lane] = self.take.ticks(lane)
        return self._ticks[lane]

    def moved(self, taps: Sequence[Floats]) -> "Look":
        """Return it with its taps elsewhere."""
        rows = [row._replace(taps=np.sort(one)) for row, one in zip(self.rows, taps, strict=True)]
        return Look(self.take, rows, self.turn, self.end, self)

    def later(self, seconds: float) -> "Look":
        """Return it as if the strokes had been meant so much later."""
        return self.moved([row.taps - seconds for row in self.rows])

    @cached_property
    def steps(self) -> "_Steps":
        """What a player can be wrong by."""
        return self._like.steps if self._like else _steps(self)

    @cached_property
    def stepped(self) -> Off:
        """How far the taps are from the strokes, as they are and by each of the steps: a row for each."""
        return self.offs(self.steps.seconds)

    @cached_property
    def places(self) -> _Places:
        """The strokes of all rows in a turn."""
        return self._like.places if self._like else _Places(self.rows, self.turn, self.take.cycles)

    @cached_property
    def together(self) -> _Together:
        """The taps of all rows."""
        many = [len(row.taps) for row in self.rows]
        taps, ends = np.concatenate([row.taps for row in self.rows]), [0, *accumulate(many)]
        if self._like and self._like.together.ends == ends:
            return self._like.together._replace(taps=taps)
        lanes = np.arange(len(many))
        lane = lanes.repeat(many)
        return _Together(taps, lane, (lane[:, None] == lanes).astype(np.float64), np.array(many), ends)

    def offs(self, shifts: Floats) -> Off:
        """Return how far the taps are from the strokes: a row for each shift of the strokes."""
        return self.places.off(self.together.taps - shifts[:, None], self.together.lane)

    @cached_property
    def bends(self) -> dict[str, tuple[Floats, Bend]]:
        """How the errors go along in time, by the kind of bend."""
        rows = [(row.taps, row.onsets) for row in self.rows if len(row.taps)]
        taps, onsets = [row[0] for row in rows], [row[1] for row in rows]
        return bends(taps, onsets, self.turn, self.take.cycles)

    @cached_property
    def here(self) -> Off:
        """How far the taps are from the strokes: one row."""
        return self.offs(_HERE)

    @cached_property
    def window(self) -> Floats:
        """How far from a stroke each tap still is its own."""
        return self.places.windows.take(self.together.lane)

    @cached_property
    def line(self) -> Floats:
        """When any stroke was meant, those of several lanes once."""
        return np.array(sorted(set(np.concatenate(self.meant).round(6).tolist())))

    def to_come(self, shifts: Floats) -> Ticks:
        """Return how many strokes of each lane there were to play before the end, a row for each shift."""
        return np.array([meant.searchsorted(self.end - shifts) for meant in self.meant]).T

    def coming(self) -> list[tuple[Row, int]]:
        """Return each row with how many strokes of it there were to play."""
        return list(zip(self.rows, self.to_play, strict=True))

    def lost(
        self, off: Off, meant: Ticks, to_come: Ticks, windows: Floats | None = None
    ) -> tuple[Floats, Floats]:
        """Return how far the taps are from the strokes, in seconds, for each try: a row of `off`.

        And what all lanes are off by beside it.  So many strokes were meant, and so many of them were to be
        played before the end, a column for each lane, as are windows that are not those of the look.  A
        stroke that nobody played, and a tap without a stroke, is as far as a tap can be; but those of the
        count-in, and the one that lands on the 1 after the take, cost nothing.
        """
        every = self.together
        windows = self.places.windows[None] if windows is None else windows
        window = windows.take(every.lane, axis=1)
        beside = np.where((every.taps >= -window) & (every.taps <= self.end - window), window, 0.0)
        shared, own = self.middle(every.split(off.seconds))
        error = np.abs(off.seconds - (shared + own).T.take(every.lane, axis=1))
        inside = (off.stroke >= 0) & (off.stroke < meant.take(every.lane, axis=1))
        total = np.where(inside, np.minimum(error, window), beside).sum(axis=1)
        stroke = np.where(inside & (error <= window), off.stroke + every.lane * _NEXT_LANE, -1)
        last = np.maximum.accumulate(stroke, axis=1)
        new = last >= 0
        new[:, 1:] = last[:, 1:] > last[:, :-1]
        # What was left out, and a little, so that a hand that is less off is better.
        total += (np.maximum(to_come - new @ every.of_lane, 0) * windows).sum(axis=1)
        total += (every.many / 20) @ np.abs(own)
        return total, shared

    @cached_property
    def strokes_meant(self) -> Ticks:
        """How many strokes of each lane were meant: one row."""
        return np.array([[len(meant) for meant in self.meant]])

    @cached_property
    def loss(self) -> tuple[float, float]:
        """How far the taps are from the strokes, and what all lanes are off by beside it, as `lost`."""
        total, shared = self.lost(self.here, self.strokes_meant, np.array([self.to_play]))
        return float(total[0]), float(shared[0])

    @property
    def near(self) -> bool:
        """Whether the strokes are so near to their places that nothing moved all of them."""
        windows = sum(row.window * len(meant) for row, meant in zip(self.rows, self.meant, strict=True))
        return self.loss[0] < NEAR * windows

    @cached_property
    def score(self) -> float:
        """How unlikely the taps are, as `scores`."""
        loss, shared = self.loss
        return self.count * log(loss / self.count + FINEST_S) + (shared / LIKELY_S) ** 2

    def losses(self, shifts: Floats, off: Off | None = None) -> tuple[Floats, Floats]:
        """Return `lost` for each shift of the strokes."""
        off = self.offs(shifts) if off is None else off
        return self.lost(off, self.strokes_meant, self.to_come(shifts))

    def scores(self, loss: Floats, shared: Floats) -> Floats:
        """Return how unlikely the taps are, in nats: of errors with the best scale (Laplace)."""
        nats: Floats = self.count * np.log(loss / self.count + FINEST_S) + (shared / LIKELY_S) ** 2
        return nats

    def middle(self, offs: Sequence[Floats]) -> tuple[Floats, Floats]:
        """Return what all lanes are off by, and each of them beside that; both as far as players are."""
        medians = [median(off) if off.shape[-1] else None for off in offs]
        known = [one for one in medians if one is not None]
        if not known:
            own = np.zeros((len(offs), *offs[0].shape[:-1]))
            return own[0], own
        most = LEAD_S if self.take.calibrated else DELAY_S
        shared = _within((reduce(np.maximum, known) + reduce(np.minimum, known)) / 2, most)
        beside = np.array([shared if one is None else one for one in medians]) - shared
        return shared, _within(beside, MOST_HAND_S / 2)


def _within(values: Floats, most: float) -> Floats:
    """Return values drawn in to both sides of 0."""
    drawn: Floats = np.minimum(np.maximum(values, -most), most)
    return drawn


def median(values: Floats) -> Floats:
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
    look: Look


def _swapped(look: Look) -> _Way | None:
    """Find lanes that were played for each other."""
    count, best = len(look.rows), None
    if not 2 <= count <= MOST_SWAPPED:
        return None
    orders = [order for order in permutations(range(count)) if order != tuple(range(count))]
    many, n = look.to_play, look.count
    for order in orders:
        # At least the strokes are lost that there are no taps for.
        lost = [max(0, many[i] - len(look.rows[j].taps)) * look.rows[i].window for i, j in enumerate(order)]
        if look.score - n * log(sum(lost) / n + FINEST_S) - log(len(orders)) - CLEAR <= 0:
            continue
        moved = look.moved([look.rows[i].taps for i in order])
        gain = look.score - moved.score - log(len(orders)) - CLEAR
        counts = [(len(look.rows[j].taps), many[i], many[j]) for i, j in enumerate(order) if i != j]
        if all(abs(taps - swapped) < abs(taps - own) for taps, swapped, own in counts) and not moved.near:
            tempo = _tempo(moved)  # another tempo would hide that lanes are swapped
            gain += max(0.0, tempo.gain) if tempo else 0.0
        if best is None or gain > best.gain:
            lanes = tuple(look.rows[order.index(i)].lane or 0 for i in range(count))
            best = _Way(gain, Cause("swapped", lanes=lanes), moved)
    return best


def _crossed(look: Look) -> _Way | None:
    """Find a place from which on two lanes were played for each other."""
    if len(look.rows) != 2:
        return None
    shared, every = look.loss[1], look.together
    order, window = every.taps.argsort(kind="stable"), look.window
    times = every.taps[order]
    as_own, as_other = (
        np.minimum(np.abs(look.places.off(every.taps - shared, lane).seconds), window)[order]
        for lane in (every.lane, 1 - every.lane)
    )
    if len(times) < 4 * FEWEST:
        return None
    total = (as_own.cumsum() - as_own + as_other[::-1].cumsum()[::-1])[FEWEST:-FEWEST]
    k = int(np.argmin(total)) + FEWEST
    at = float(times[k])
    if (
        float(as_other[k:].sum()) > SLIP_SHARE * float(as_own[k:].sum())
        or not look.turn / 2 < at < look.end - look.turn / 2
    ):
        return None
    before, after = (
        [row.taps[row.taps < at] for row in look.rows],
        [row.taps[row.taps >= at] for row in look.rows],
    )
    moved = look.moved([np.concatenate((before[i], after[1 - i])) for i in (0, 1)])
    gain = look.score - moved.score - log(len(times)) - CLEAR
    first, second = (row.lane or 0 for row in look.rows)
    cycle = math.floor((at - shared) / look.turn + 0.5 / (look.take.stop - look.take.start))
    return _Way(gain, Cause("swapped", lanes=(second, first), cycle=cycle + 1), moved)


class _Steps(NamedTuple):
    """The ticks that a player can be wrong by, in seconds with a 0 before them, and which are a beat.

    And which are tried from a place on: of halves of beats only half a beat.  And the ticks of a figure.
    """

    ticks: list[float]
    seconds: Floats
    on_beats: np.ndarray
    slips: np.ndarray
    figure: int


def _figure(look: Look) -> int:
    """Return after how many ticks all lanes come round again: less than a cycle where they share a factor."""
    turn = look.take.stop - look.take.start
    if len(look.rows) < 2:
        return turn
    most = gcd(turn, *(len(look.ticks(row.lane)) for row in look.rows))
    if most == 1:
        return turn
    rows = [set((look.ticks(row.lane) - look.take.start).tolist()) for row in look.rows]
    for parts in range(most, 1, -1):
        figure = turn // parts
        if not turn % parts and all({(tick + figure) % turn for tick in row} == row for row in rows):
            return figure
    return turn


def _steps(look: Look) -> _Steps:
    """Return what a player can be wrong by: parts, beats, halves of beats and strokes of a lane."""
    take, cycle = look.take, look.take.cycle
    tick, turn = look.tick, take.stop - take.start
    beats = set(np.diff(cycle.beats).tolist())
    most = min(16, turn // min(beats or {turn}))
    steps = {beat * k for beat in beats or {turn} for k in (0.5, *range(1, 1 + most))}
    halves = {beat * (k + 0.5) for beat in beats or {turn} for k in range(1, most)}
    for row in look.rows:
        steps |= set(np.rint((row.onsets[1:] - row.onsets[:-1]) / tick).astype(int).tolist())
    if tick >= LEAST_SHIFT_S and turn <= MOST_PARTS:
        steps |= set(range(1, turn))
    figure = _figure(look)
    every = {step for step in steps | halves if step * tick >= LEAST_SHIFT_S and 2 * step <= figure}
    ticks = sorted({*every, *(-step for step in every)}, key=lambda step: (abs(step), step))
    on_beats, slips = (np.array([abs(step) in some for step in ticks], dtype=bool) for some in (beats, steps))
    return _Steps(ticks, np.array([0, *ticks]) * tick, on_beats, slips, figure)


def _shifted(look: Look) -> _Way | None:
    """Find a shift of all strokes."""
    steps, seconds, on_beats, *_ = look.steps
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
    return _Way(gain, Cause("shifted", ticks=math.trunc(steps[i]), us=whole_us(by)), look.later(by))


def _slipped(look: Look) -> _Way | None:
    """Find a place from which on all strokes are shifted."""
    take, tick, slips, every = look.take, look.tick, look.steps.slips, look.together
    times, steps = every.taps, list(compress(look.steps.ticks, slips))
    if not steps or len(times) <= 2 * FEWEST:
        return None
    tried = np.append(True, slips)  # as they are, too
    seconds = look.stepped.seconds[tried]
    order = times.argsort(kind="stable")
    times, lane = times[order], every.lane[order]
    off_by = seconds.take(order, axis=1)
    widths = look.window[order]
    least = max(0.0, look.strokes - len(times)) * float(widths.mean())
    best, none = None, math.inf
    # What is off before, or after, is not off itself.
    for first, last in ((0.0, 1.0), (0.0, 0.3), (0.7, 1.0)):
        parts = [
            off[0][(row.taps >= first * look.end) & (row.taps <= last * look.end)]
            for row, off in zip(look.rows, every.split(seconds), strict=True)
        ]
        shared, own = look.middle(parts)
        cost = np.minimum(np.abs(off_by - shared - own[lane]), widths)
        before = cost[0].cumsum() - cost[0]
        after = cost[1:, ::-1].cumsum(axis=1)[:, ::-1]
        total = (before + after)[:, FEWEST:-FEWEST]
        none = min(none, float(cost[0].sum()))
        step, k = divmod(int(np.argmin(total)), total.shape[1])
        here = float(total[step, k])
        if best is None or here < best[0]:
            best = here, step, k, total[step], cost, float(shared)
    if best is None:
        return None
    here, at, k, costs, cost, middle = best
    step, turn = steps[at], take.stop - take.start
    figure = look.steps.figure
    if figure < turn:
        step = _at_seam(look, times[max(0, k + FEWEST - 3) : k + FEWEST + 3], step % figure, figure)
    by = step * tick
    k = _on_beat(look, times[FEWEST:], costs, k, by) + FEWEST
    if float(cost[at + 1, k:].mean()) > SLIP_SHARE * float(cost[0, k:].mean()):
        return None
    silent = float(times[k] - times[k - 1])
    if figure < turn:
        pass
    elif by < 0 and silent >= PAUSE_SHARE * (by + look.turn):  # it was not left out: there was a pause
        step, by = step + turn, by + look.turn
    elif (
        2 * step == turn and silent < PAUSE_SHARE * by
    ):  # half a cycle more is half a cycle less, but without a pause
        step, by = step - turn, by - look.turn
    place = round((float(times[k]) - middle - max(by, 0.0)) / tick)
    gain = look.count * log((none + least + FINEST_S * look.count) / (here + least + FINEST_S * look.count))
    gain -= log(len(steps) * len(times)) + CLEAR
    cause = Cause(
        "slipped",
        ticks=math.trunc(step),
        us=whole_us(by),
        cycle=place // turn + 1,
        tick=take.start + place % turn,
        then_us=whole_us(-by) if figure < turn and 2 * step == -figure else 0,
    )
    return _Way(
        gain, cause, look.moved([np.where(row.taps < times[k], row.taps, row.taps - by) for row in look.rows])
    )


def _at_seam(look: Look, times: Floats, step: float, figure: int) -> float:
    """Return how far a slip goes that is known but for figures: what was waited for, or else the smaller way.

    Without a pause so much was dropped, or played twice.
    """
    line = np.unique(np.round(np.concatenate([row.around for row in look.rows]), 6))
    usual, waited = np.diff(line), float(np.diff(times).max())
    if waited > (float(usual.max()) + step * look.tick + float(usual.min())) / 2:
        more = (waited - step * look.tick - float(usual.min()) / 2) // (figure * look.tick)
        return step + figure * max(0, int(more))
    return step if 2 * step < figure else step - figure


def _on_beat(look: Look, times: Floats, costs: Floats, best: int, by: float) -> int:
    """Return the tap from which on all is shifted: of those that say the same, one on a beat."""
    tick, turn = look.tick, look.take.stop - look.take.start
    near = range(max(0, best - 4), min(len(costs), best + 5))
    enough, beats = costs[best] + 2 * float(costs[best]) / look.count, set(look.take.cycle.beats.tolist())
    for k in near:
        place = look.take.start + round((float(times[k]) - max(by, 0.0)) / tick) % turn
        if costs[k] <= enough and place in beats:
            return k
    return best


def another_tempo(look: Look) -> Cause | None:
    """Find a tempo that is far from the one asked for, as twice or half of it, in all lanes alike."""
    if len(look.rows) < 2 or any(len(row.taps) < FEWEST for row in look.rows):
        return None
    made = [
        float(median(row.taps[1:] - row.taps[:-1]) / median(row.around[1:] - row.around[:-1]))
        for row in look.rows
    ]
    slower = math.sqrt(max(made) * min(made))
    if (
        max(made) > ALIKE * min(made)
        or abs(slower - 1) < FAR_TEMPO
        or not 1 / MOST_TIMES < slower < MOST_TIMES
    ):
        return None
    last = max(float(row.taps[-1]) for row in look.rows) / slower + LIKELY_S
    end = min(look.end, look.end / slower, last)
    rows = [row._replace(taps=row.taps[row.taps <= end * slower] / slower) for row in look.rows]
    played = Look(look.take, rows, look.turn, end, look)
    losses, _ = played.losses(STARTS_S)
    played = played.later(float(STARTS_S[np.argmin(losses)]))
    way = _tempo(played)
    if way is not None:
        slower, played = slower * (1 + way.cause.us / (1_000_000 * look.turn)), way.look
    off, off_as_asked = (
        one.loss[0] / max(FINEST_S, sum(row.window * many for row, many in one.coming()))
        for one in (played, look)
    )
    if off > min(FITTING, off_as_asked / 2):
        return None
    return Cause("tempo", us=whole_us((slower - 1) * look.turn))


def another_pair(look: Look) -> Cause | None:
    """Find a pair of smaller numbers that both lanes played, each even, in place of the one meant.

    Where only one of them played another number of strokes in a cycle, it locked.
    """
    take = look.take
    if take.mode != "both pulses" or len(look.rows) != 2 or take.stop - take.start != take.cycle.ticks:
        return None
    few, many = sorted(len(row.taps) for row in look.rows)
    if few < 2 or many < FEWEST or not all(map(_is_even, look.rows)):
        return None
    meant = [len(row.onsets) for row in look.rows]
    steps, starts = [], []
    for row in look.rows:
        number = np.arange(len(row.taps))
        middle = number.mean()
        step = float((number - middle) @ row.taps) / float(((number - middle) ** 2).sum())
        start = float(row.taps.mean()) - step * float(middle)
        if float(np.abs(row.taps - start - step * number).max()) > ASTRAY * step:
            return None
        steps.append(step)
        starts.append(start)
    if abs(starts[0] - starts[1]) > ASTRAY * min(steps):
        return None
    made = log(steps[1] / steps[0])
    first, second = (count // gcd(*meant) for count in meant)
    if abs(log(first / second) - made) < HARDLY:
        return None
    tried = [
        (a, b)
        for a in range(1, MOST_PULSES + 1)
        for b in range(1, MOST_PULSES + 1)
        if a != b and gcd(a, b) == 1 and a + b < first + second
    ]
    pulses = min([*tried, (first, second), (second, first)], key=lambda one: abs(log(one[0] / one[1]) - made))
    if pulses not in tried or abs(log(pulses[0] / pulses[1]) - made) > RATIO:
        return None
    in_cycle = [look.turn / step for step in steps]
    own = [abs(log(many / count)) <= RATIO for many, count in zip(in_cycle, meant, strict=True)]
    if any(own) and all(abs(many - round(many)) <= WHOLE and round(many) > 0 for many in in_cycle):
        return None
    return Cause("another", pulses=pulses)


def _unbent(taps: Floats, slower: float, bend: float) -> Floats:
    """Return where taps would be at the tempo meant: a tap is at t + slower t + bend t²."""
    made = taps / (1 + slower)
    for _ in range(3 if bend else 0):
        made = taps - made * (slower + bend * made)
    return made


def _tempo(look: Look) -> _Way | None:
    """Find another tempo, held or changing."""
    fit = _followed(look, 0.0, 0.0, look.end)
    if fit is None or fit.off >= SURELY_OWN * min(row.window for row in look.rows):
        fit = _followed_on(look)
    if fit is None:
        return None
    slower, bend = fit.slower, fit.bend
    even, error = _slope(fit.when, fit.later, fit.lanes)
    held = abs(even) >= LEAST_TEMPO and abs(even) > 4 * error
    first, last = slower, slower + 2 * bend * look.end
    changes = abs(last - first) >= LEAST_TEMPO
    if not held and not changes:
        return None
    straight = look.moved([_unbent(row.taps, even, 0.0) for row in look.rows])
    gain, turn = look.score - straight.score - CLEAR, look.turn
    way = _Way(gain, Cause("tempo", us=whole_us(even * turn)), straight) if held else None
    if changes:
        bent = look.moved([_unbent(row.taps, slower, bend) for row in look.rows])
        more = look.score - bent.score - 2 * CLEAR
        if more > gain + BENT:
            way = _Way(more, Cause("rushed", us=whole_us(first * turn), then_us=whole_us(last * turn)), bent)
    return way


class _Followed(NamedTuple):
    """A tempo and its bend, of strokes at times so much later than meant in lanes; the furthest off it."""

    slower: float
    bend: float
    when: Floats
    later: Floats
    lanes: Ticks
    off: float


def _followed(look: Look, slower: float, bend: float, reach: float) -> _Followed | None:
    """Fit a tempo and its bend to the taps up to a time, on the strokes that they are nearest to."""
    every = look.together
    near = every.taps <= reach * (1 + MOST_TEMPO)
    taps, lane = every.taps[near], every.lane[near]
    straight = _unbent(taps, slower, bend)
    off = look.places.off(straight, lane).seconds
    rows = np.arange(len(look.rows))
    ends = lane.searchsorted(rows, side="right").tolist()
    middles = [float(median(off[a:b])) if a < b else 0.0 for a, b in pairwise([0, *ends])]
    early = straight <= reach
    good = early & (np.abs(off - np.array(middles).take(lane)) < look.window[near])
    lost = np.count_nonzero(good) < np.count_nonzero(early)
    lane, meant = lane[good], (straight - off)[good]
    x, y = meant, taps[good] - meant
    if len(x) < FEWEST:
        return None
    along, square, later = _in_lane(lane, x, x * x, y)
    even = float(along @ along)
    slower, bend = float(along @ later) / even if even else 0.0, 0.0
    if even and (reach >= 2.5 * look.turn or reach >= look.end):
        bent = square - float(along @ square) / even * along  # what no even tempo makes
        size = float(bent @ bent)
        if size > STRAIGHT * float(square @ square):
            bend = float(bent @ later) / size
            slower -= bend * float(along @ square) / even
    furthest = math.inf if lost else float(np.abs(later - slower * along - bend * square).max())
    return _Followed(slower, bend, x, y, lane, furthest)


def _followed_on(look: Look) -> _Followed | None:
    """Follow the taps from the beginning, further and further."""
    widest = min(row.window for row in look.rows)
    reach = min(look.end, max(look.turn, 4.0))
    steps = math.ceil(MOST_TEMPO * reach / (0.3 * widest))
    grid = np.arange(-steps, steps + 1) / steps * MOST_TEMPO
    every = look.together
    near = every.taps <= 1.05 * reach
    lane = every.lane[near]
    off = look.places.off(every.taps[near] / (1 + grid[:, None]), lane).seconds
    shared, own = look.middle([off[:, lane == i] for i in range(len(look.rows))])
    costs = np.minimum(np.abs(off - (shared + own).T.take(lane, axis=1)), look.window[near]).sum(axis=1)
    slower, bend = float(grid[np.argmin(costs + 1e-6 * np.abs(grid))]), 0.0
    while (fit := _followed(look, slower, bend, reach)) is not None and reach < look.end:
        slower, bend = fit.slower, fit.bend
        step = 2.0 if fit.off < SURELY_OWN * widest else 1.4  # a good fit reaches further
        reach = min(look.end, step * reach)
    return fit and _followed(look, fit.slower, fit.bend, look.end)  # once more, from where it ended


def _in_lane(lanes: Ticks, *rows: Floats) -> list[Floats]:
    """Return rows of values against the means of their lanes."""
    counts = np.maximum(np.bincount(lanes), 1)
    means = np.array([np.bincount(lanes, values) for values in rows]) / counts
    return list(np.array(rows) - means.take(lanes, axis=1))


def _slope(when: Floats, later: Floats, lanes: Ticks) -> tuple[float, float]:
    """Return the slope of a line through errors, each lane with its own middle, and its standard error."""
    x, y = _in_lane(lanes, when, later)
    square = float((x**2).sum())
    if not square:
        return 0.0, math.inf
    slope = float((x * y).sum()) / square
    return slope, math.sqrt(_variance(when, x / square, y - slope * x))


def _locked(look: Look) -> _Way | None:
    """Find a lane that was played as another number of even strokes, which make a simpler ratio."""
    best, take = None, look.take
    if take.mode == "composite":
        return None
    for i, row in enumerate(look.rows):
        n = len(row.onsets)
        against = [len(one.onsets) for one in look.rows if one is not row]
        if not against and take.home is not None and take.home != row.lane:
            against = [len(look.ticks(take.home))]
        if not against or not _is_even(row) or _fits(look, i):
            continue
        a_cycle = len(row.taps) * look.turn / look.end
        near = range(
            math.ceil(a_cycle / 1.3), math.floor(a_cycle / 0.7) + 1
        )  # as many as were played, or nearly
        # one stroke a cycle is no pulse: the others were left out
        tried = [m for m in near if 1 < m != n and _size(m, against) < _size(n, against)]
        if not tried:
            continue
        loss, shared = _lost_as(look, i, tried)
        scores = look.scores(loss, shared)
        k = int(np.argmin(scores))
        gain = look.score - float(scores[k]) - log(len(tried)) - 2 * CLEAR
        if best is None or gain > best[0]:
            best = gain, Cause("locked", lane=row.lane, count=tried[k]), i
    if best is None:
        return None
    gain, cause, i = best
    row = _even(look.rows[i], look.turn, cause.count)
    return _Way(gain, cause, Look(take, [*look.rows[:i], row, *look.rows[i + 1 :]], look.turn, look.end))


def _waited(look: Look) -> _Way | None:
    """Find a place from which on all strokes are later, or earlier, by no step of the rhythm."""
    if "waited" not in look.bends:
        return None
    _, bend = look.bends["waited"]
    beats = look.steps.seconds[1:][look.steps.on_beats]
    if (np.abs(bend.size - beats) < (ALIKE - 1) * np.abs(beats)).any():  # a beat was dropped, or added
        return None
    ticks = look.take.stop - look.take.start
    cycle, tick = divmod(round(bend.at / look.tick), ticks)
    cause = Cause("waited", us=whole_us(bend.size), cycle=cycle + 1, tick=look.take.start + tick)
    return _unbend(look, cause)


def _changed(look: Look) -> _Way | None:
    """Find the cycle from which on the tempo is another one, and held."""
    if "changed" not in look.bends or look.take.cycles < 2:
        return None
    _, bend = look.bends["changed"]
    if abs(bend.size) < LEAST_TEMPO:
        return None
    cause = Cause("changed", us=whole_us(bend.size * look.turn), cycle=round(bend.at / look.turn) + 1)
    return _unbend(look, cause)


def _parted(look: Look) -> _Way | None:
    """Find a lane that goes at another tempo than the others."""
    if "parted" not in look.bends:
        return None
    _, bend = look.bends["parted"]
    lanes = [row.lane for row in look.rows if len(row.taps)]
    if abs(bend.size) > MOST_PARTED:
        return None
    other = lanes[1 - bend.lane] if len(lanes) == 2 else None
    us, then_us = whole_us(bend.size * look.turn), whole_us(bend.size * look.end)
    cause = Cause("parted", lanes[bend.lane], other, us=us, then_us=then_us)
    return _unbend(look, cause)


def _stretch(look: Look) -> _Way | None:
    """Find the place up to which every cycle is rushed, or dragged, and from which it comes back."""
    if "stretch" not in look.bends:
        return None
    _, bend = look.bends["stretch"]
    tick = look.take.start + round(bend.at / look.tick)
    return _unbend(look, Cause("stretch", us=whole_us(bend.size), tick=tick))


def _unbend(look: Look, cause: Cause) -> _Way | None:
    """Return a bend as a way, if it is large enough and clear."""
    when, bend = look.bends[cause.kind]
    if abs(bend.size) < SURE_BEND * math.sqrt(_variance(when, bend.weights, bend.left)):
        return None
    ends = np.cumsum([len(row.taps) for row in look.rows])[:-1]
    late = np.split(bend.fit, ends)  # lane after lane
    moved = look.moved([row.taps - one for row, one in zip(look.rows, late, strict=True)])
    return _Way(look.score - moved.score - CLEAR - BESIDE_CLEAR[cause.kind], cause, moved)


def _evened(look: Look) -> _Way | None:
    """Find strokes in the right order and hands, but all as far apart, or on the way there."""
    take = look.take
    if take.mode not in ("both pulses", "composite") or take.stop - take.start != take.cycle.ticks:
        return None
    lanes = [look.ticks(lane) for lane in take.lanes]
    if len(lanes) < 2 or any(len(set(_round(ticks, take.cycle.ticks))) != 1 for ticks in lanes):
        return None
    line = np.array(sorted(set().union(*(ticks.tolist() for ticks in lanes))))
    if len(set(_round(line, take.cycle.ticks))) == 1:
        return None
    onsets = (line - take.start) * look.tick
    by = onsets[0] + np.arange(len(line)) * (look.turn / len(line)) - onsets
    late = [by[np.searchsorted(line, look.ticks(row.lane))] for row in look.rows]
    if any(len(one) != len(row.onsets) for one, row in zip(late, look.rows, strict=True)):
        return None
    if look.near and _share(look, late) < ON_THE_WAY:
        return None

    def at(share: float) -> list[Row]:
        rows = zip(look.rows, late, strict=True)
        return [_at(row, look.turn, row.onsets + share * one) for row, one in rows]

    def losses(shares: Sequence[float]) -> list[tuple[float, float, float, float]]:
        """Return for each share how unlikely the taps are, it, how far they are off, and the most of that."""
        tried = [at(share) for share in shares]
        windows = np.array([[row.window for row in rows] for rows in tried])
        places = _Places([row for rows in tried for row in rows], look.turn, take.cycles)
        off = places.off(every.taps, every.lane + len(look.rows) * np.arange(len(tried))[:, None])
        to_come = np.array([[_before(row, look) for row in rows] for rows in tried])
        loss, shared = look.lost(off, look.strokes_meant, to_come, windows)
        scores, most = look.scores(loss, shared), FITTING * (windows * look.strokes_meant).sum(axis=1)
        return list(zip(scores.tolist(), shares, loss.tolist(), most.tolist(), strict=True))

    every = look.together
    tried = losses(EVENED)
    score, best, *_ = min(tried)
    if score > look.score:
        return None
    tried += losses([share for by in BESIDE if (share := best + by) <= 1])
    score, best, loss, most = min(tried)
    if loss > most:
        return None
    gain = look.score - score - log(len(tried)) - 2 * CLEAR
    evened = Look(take, at(best), look.turn, look.end)
    return _Way(gain, Cause("evened", count=round(100 * best)), evened)


def _before(row: Row, look: Look) -> int:
    """Return how many strokes of a row come before the end."""
    turns = np.arange(look.take.cycles)[:, None] * look.turn
    return int(np.count_nonzero(turns + row.onsets < look.end))


def _share(look: Look, late: Sequence[Floats]) -> float:
    """Return how far on the way to places that are later by so much the strokes of all lanes are."""
    along = square = 0.0
    seconds, strokes = (look.together.split(one[0]) for one in look.here)
    for off, stroke, later in zip(seconds, strokes, late, strict=True):
        if off.size:
            by = later[stroke % len(later)]
            by = by - by.mean()
            along += float(by @ off)
            square += float(by @ by)
    return along / square if square else 0.0


def _round(ticks: Ticks, turn: int) -> list[int]:
    """Return the steps from stroke to stroke round a cycle."""
    places = ticks.tolist()
    return [b - a for a, b in pairwise([*places, *(first + turn for first in places[:1])])]


def _at(row: Row, turn: float, onsets: Floats) -> Row:
    """Return a lane as if its strokes were meant elsewhere."""
    around = _around(onsets, turn)
    return row._replace(onsets=onsets, window=min(_least(around) / 2, WIDEST_S), around=around)


def _even(row: Row, turn: float, count: int) -> Row:
    """Return a lane as if so many even strokes a cycle were meant."""
    onsets = row.onsets[0] + np.arange(count) * (turn / count)
    return row._replace(onsets=onsets, around=_around(onsets, turn))


def _lost_as(look: Look, i: int, counts: Sequence[int]) -> tuple[Floats, Floats]:
    """Return how far the taps are from the strokes, as `Look.lost`, with so many even ones of the i-th lane.

    A row for each of the counts.
    """
    seconds, stroke, meant, to_come = (
        np.repeat(one, len(counts), axis=0)
        for one in (*look.here, look.strokes_meant, np.array([look.to_play]))
    )
    row, here = look.rows[i], slice(*look.together.ends[i : i + 2])
    step, first = look.turn / np.array(counts)[:, None], row.onsets[0]
    near = np.ceil((row.taps - first) / step - 0.5)
    seconds[:, here], stroke[:, here] = row.taps - first - near * step, near
    meant[:, i] = np.array(counts) * look.take.cycles
    to_come[:, i] = np.minimum(np.ceil((look.end - first) / step[:, 0] - 1e-9), meant[:, i])
    return look.lost(Off(seconds, stroke), meant, to_come)


def _is_even(row: Row) -> bool:
    """Whether all strokes of a lane are as far from the one before."""
    steps = row.around[1:] - row.around[:-1]
    return bool(steps.max() - steps.min() <= 1e-6)


def _fits(look: Look, i: int) -> bool:
    """Whether the taps of a lane are nearly all there and near its strokes."""
    row, meant = look.rows[i], look.to_play[i]
    if not len(row.taps):
        return False
    off = look.together.split(look.here.seconds[0])[i]
    error = np.minimum(np.abs(off - median(off)), row.window).sum()
    gone = abs(meant - len(row.taps)) * row.window
    return bool(error + gone < FITTING * row.window * meant)


def _size(count: int, against: Sequence[int]) -> int:
    """Return how large the numbers of the ratios of a count to others are."""
    return sum((count + other) // gcd(count, other) for other in against)


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


def explained_by(look: Look) -> tuple[list[Cause], Look]:
    """Take the best way to explain all of it, again and again while one is clear."""
    if look.explained is None:
        look.explained = _best_ways(look)
    found, explained = look.explained
    return list(found), explained


def _from_a_place_on(look: Look, ways: list[tuple[int, _Way]], at: int, best: _Way) -> tuple[int, _Way]:
    """Return a slip in place of a shift of all by as much, or of a wait, where the strokes are nearer so.

    Where one lane has few strokes and the other the beats of home, which a shift by a beat leaves where they
    are, few strokes tell one from the other; a slip is the shift with its place besides.  A wait by nearly a
    step has its place too, and its length besides.
    """
    more = log(look.count) + CLEAR
    for i, made in ways:
        instead = best.cause.kind == "waited" or (
            best.cause.kind == "shifted" and made.cause.ticks == best.cause.ticks
        )
        if made.cause.kind == "slipped" and instead and made.look.score + more < best.look.score:
            return i, made
    return at, best


def _best_ways(look: Look) -> tuple[list[Cause], Look]:
    """Return the causes, and the take without them, as `explained_by`."""
    found: list[Cause] = []
    ways = [_swapped, _crossed, _shifted, _slipped, _tempo, _locked, _evened]
    ways += [_waited, _changed, _parted, _stretch]
    while ways and len(found) < MOST_FOUND:
        gains = [(made.gain, i, made) for i, way in enumerate(ways) if (made := way(look)) is not None]
        gain, i, best = max(gains, key=lambda row: row[0], default=(0.0, 0, None))
        if best is None or gain <= 0:
            break
        i, best = _from_a_place_on(look, [(i, made) for _, i, made in gains], i, best)
        found.append(best.cause)
        look = best.look
        del ways[i]
    return found, look

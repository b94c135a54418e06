"""What was early, late, missed or extra in a take, in numbers."""

import math
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, pairwise
from math import gcd, log

import numpy as np

from rhythmlab.core import check
from rhythmlab.core.composite import composite
from rhythmlab.core.display import Printed
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.types import Floats, Ticks
from rhythmlab.playing.limits import Limits, limits_or
from rhythmlab.practice.matching import pairs_of
from rhythmlab.practice.take import Take
from rhythmlab.text import descriptions

#: A stroke counts half the way to its neighbour, and never further than this: a quarter second off, about
#: the shortest interval felt as a beat (limit ``beat``), it is no longer that stroke (own choice).
WIDEST_S = 0.25
#: The shift that all lanes share is looked for this far to both sides, in these steps (own choice); further
#: where nobody measured the delay of the device.
SHIFT_S, STEP_S = 0.15, 0.01
NOT_MEASURED_S = 0.25
#: Two taps this near on a shared sound are both of it (own choice).
DOUBLED_S = 0.06
#: Sounds of two lanes closer than this are one (seconds, own choice).
ONE_SOUND_S = 0.05
#: So many strokes in a row are right when the way back is found (own choice).
BACK = 3
#: Longest line looked at, in sounds a cycle; longest interval of a simpler rhythm, in its ticks.
MOST_SOUNDS, LONGEST = 16, 4
#: A simpler rhythm must be at most this share of the distance of the one meant (own choice).
SHARE = 0.5
_EXAMPLE = 'practice.measure(practice.take_from_midi("kit.mid", (7, 4), 72))'


# What is measured


@dataclass(frozen=True, slots=True, eq=False)
class LaneMeasure:
    """How one lane, or the merged line, was played.

    ``meant = matched + missed`` and ``played = matched + extra + wrong_hand``.  A number that too few
    strokes can give is ``None``.

    Attributes
    ----------
    lane : int or None
        Index of the lane; ``None`` is the merged line.
    name : str
        Name of the lane; ``"line"`` for the merged line.
    interval_ms, window_ms : float
        Mean interval between its strokes, and how far from its place a stroke still counts.
    meant, played, matched, missed : int
        Strokes there should have been, taps there were, pairs of both, and strokes without a tap.
    extra, wrong_hand : int
        Taps that belong nowhere, and taps at a stroke that another lane left out.
    mean_ms, spread_ms, spread_percent : float or None
        Mean error, its standard deviation, and that in percent of the interval.
    drift_ms_per_cycle, drift_error_ms : float or None
        Slope of a straight line through the errors, milliseconds a cycle (positive falls behind), and its
        standard error.
    tempo_percent : float or None
        The same as a tempo: positive is faster than meant.
    steady_ms : float or None
        Standard deviation of the errors round that line.
    errors_ms : numpy.ndarray
        float64, shape (meant,): the error of each stroke; NaN where it was missed.
    """

    lane: int | None
    name: str
    interval_ms: float
    window_ms: float
    meant: int
    played: int
    matched: int
    missed: int
    extra: int
    wrong_hand: int
    mean_ms: float | None
    spread_ms: float | None
    spread_percent: float | None
    drift_ms_per_cycle: float | None
    drift_error_ms: float | None
    tempo_percent: float | None
    steady_ms: float | None
    errors_ms: Floats

    @property
    def drifts(self) -> bool:
        """Whether the drift is more than three times its standard error."""
        slope, unsure = self.drift_ms_per_cycle, self.drift_error_ms
        return slope is not None and unsure is not None and bool(abs(slope) > 3 * unsure)


@dataclass(frozen=True, slots=True)
class Apart:
    """How far apart two lanes were on the strokes that they share.

    Attributes
    ----------
    first, second : int
        Indices of the lanes.
    strokes : int
        Shared strokes that both played.
    mean_ms, spread_ms : float or None
        Second minus first: positive is the second one later.
    """

    first: int
    second: int
    strokes: int
    mean_ms: float | None
    spread_ms: float | None

    @property
    def leads(self) -> int | None:
        """The lane that came first on average; ``None`` where that is not known."""
        if not self.mean_ms:
            return None
        return self.first if self.mean_ms > 0 else self.second


@dataclass(frozen=True, slots=True, eq=False)
class GapCurve:
    """The gap of each stroke of a lane to home, as played and as meant.

    Attributes
    ----------
    of, home : int
        Indices of the moving lane and of home.
    ticks : numpy.ndarray
        int64, shape (strokes,): the ticks of the strokes in the cycle.
    meant_ms, played_ms : numpy.ndarray
        float64, shape (strokes,): the gaps; NaN where a stroke of either lane was missed.
    correlation : float or None
        Pearson's, of both over the strokes played.
    rms_ms : float or None
        Root mean square of played minus meant.
    wrong_ms : float
        A gap is wrong when it is off by more than this.
    first_wrong : int or None
        Index of the first of two wrong or missed strokes in a row.
    """

    of: int
    home: int
    ticks: Ticks
    meant_ms: Floats
    played_ms: Floats
    correlation: float | None
    rms_ms: float | None
    wrong_ms: float
    first_wrong: int | None


@dataclass(frozen=True, slots=True)
class Simpler:
    """A simpler rhythm that fits what was played clearly better than the one meant does.

    Attributes
    ----------
    intervals, meant : tuple of int
        From sound to sound round the cycle: as played, and as meant.
    ticks : int
        Ticks of the simpler grid in a cycle.
    pair : tuple of int or None
        The pair of small numbers whose line it is, where it is one.
    rms_ms, meant_rms_ms : float
        Root mean square distance of the sounds from the simpler rhythm, and from the one meant.
    cycles : int
        Cycles it was found in.
    """

    intervals: tuple[int, ...]
    meant: tuple[int, ...]
    ticks: int
    pair: tuple[int, int] | None
    rms_ms: float
    meant_rms_ms: float
    cycles: int

    @property
    def even(self) -> bool:
        """Whether all its intervals are the same."""
        return len(set(self.intervals)) == 1

    @property
    def name(self) -> str:
        """``"even"``, a pair such as ``"3 against 2"``, or empty."""
        if self.even:
            return "even"
        return descriptions.pair(Polyrhythm(*self.pair)) if self.pair else ""


@dataclass(frozen=True, slots=True)
class Broke:
    """Where a take first broke: two strokes in a row that went wrong.

    Attributes
    ----------
    cycle : int
        In which cycle, from 1.
    tick : int
        At which tick of the cycle.
    lane : int or None
        The lane of the first stroke that went wrong; ``None`` is the merged line.
    strokes : int or None
        Strokes until three in a row were right again; ``None`` if that never came.
    seconds : float or None
        The same in seconds.
    """

    cycle: int
    tick: int
    lane: int | None
    strokes: int | None
    seconds: float | None


def _rounded(value: float | None) -> float | None:
    """Round to a thousandth; ``None`` where there is no finite number."""
    return None if value is None or not math.isfinite(value) else round(value, 3)


@dataclass(repr=False, frozen=True, slots=True, eq=False)
class Measures(Printed):
    """All that was measured in a take.

    Attributes
    ----------
    apart : tuple of Apart
        Every two lanes on their shared strokes; what a teacher hears first.
    lanes : tuple of LaneMeasure
        Each lane that was to be played; one entry in mode "composite".
    common_ms : float or None
        What all lanes share: the mean of their mean errors.  Without calibration it holds device delay
        and the player's own lead, and is no fault.
    calibrated : bool
        Whether device delay and lead were measured before and taken off.
    gap : GapCurve or None
        Of the moving lane against home, where one lane was home.
    played_instead : Simpler or None
        A simpler rhythm that fits clearly better than the one meant.
    broke : Broke or None
        Where it first broke.
    reentry_ms : tuple of float
        Error of the first stroke after each silence, less `common_ms`; NaN where no tap was near.
    elsewhere : int
        Taps in lanes that were not to be played.
    outside : int
        Taps before the first cycle or after the last.
    """

    apart: tuple[Apart, ...]
    lanes: tuple[LaneMeasure, ...]
    common_ms: float | None
    calibrated: bool
    gap: GapCurve | None
    played_instead: Simpler | None
    broke: Broke | None
    reentry_ms: tuple[float, ...]
    elsewhere: int
    outside: int

    def __str__(self) -> str:
        rows = [["", "meant", "played", "missed", "extra", "mean ms", "spread ms", "spread %"]]
        for lane in self.lanes:
            numbers = (lane.mean_ms, lane.spread_ms, lane.spread_percent)
            counts = (lane.meant, lane.played, lane.missed, lane.extra)
            cells = ("-" if one is None else f"{one:.1f}" for one in numbers)
            rows.append([lane.name, *map(str, counts), *cells])
        wide = [max(map(len, column)) for column in zip(*rows, strict=True)]
        return "\n".join(
            "  ".join(f"{cell:>{width}}" for cell, width in zip(row, wide, strict=True)).rstrip()
            for row in rows
        )

    @property
    def _widest(self) -> Apart | None:
        """The two lanes that are furthest apart."""
        measured = [apart for apart in self.apart if apart.mean_ms is not None]
        return max(measured, key=lambda apart: abs(apart.mean_ms or 0.0), default=None)

    @property
    def hands_apart_ms(self) -> float | None:
        """Mean of second minus first on the shared strokes, of the two lanes that are furthest apart."""
        return self._widest.mean_ms if self._widest else None

    @property
    def hands_apart_spread_ms(self) -> float | None:
        """Spread of second minus first, of the same two lanes."""
        return self._widest.spread_ms if self._widest else None

    @property
    def leads(self) -> int | None:
        """The lane that leads on the shared strokes."""
        return self._widest.leads if self._widest else None

    @property
    def meant(self) -> int:
        """Strokes there should have been."""
        return sum(lane.meant for lane in self.lanes)

    @property
    def matched(self) -> int:
        """Strokes that were played."""
        return sum(lane.matched for lane in self.lanes)

    @property
    def missed(self) -> int:
        """Strokes that were not."""
        return sum(lane.missed for lane in self.lanes)

    @property
    def extra(self) -> int:
        """Taps that belong nowhere."""
        return sum(lane.extra for lane in self.lanes)

    @property
    def wrong_hand(self) -> int:
        """Taps at a stroke that another lane left out."""
        return sum(lane.wrong_hand for lane in self.lanes)

    @property
    def spread_percent(self) -> float | None:
        """Spread of the least even lane, in percent of its interval."""
        return max((x.spread_percent for x in self.lanes if x.spread_percent is not None), default=None)

    def as_row(self) -> dict[str, object]:
        """Return the numbers that a journal keeps beside a take: ``{**take.as_row(), **measures.as_row()}``.

        Rounded to a thousandth; ``None`` where there is no number.
        """
        return {
            "meant": self.meant,
            "matched": self.matched,
            "missed": self.missed,
            "extra": self.extra,
            "wrong_hand": self.wrong_hand,
            "spread_percent": _rounded(self.spread_percent),
            "hands_apart_ms": _rounded(self.hands_apart_ms),
            "hands_apart_spread_ms": _rounded(self.hands_apart_spread_ms),
            "leads": self.leads,
            "common_ms": _rounded(self.common_ms),
            "reentry_ms": [_rounded(ms) for ms in self.reentry_ms],
            "measured": [
                {
                    "lane": lane.lane,
                    "name": lane.name,
                    "meant": lane.meant,
                    "missed": lane.missed,
                    "mean_ms": _rounded(lane.mean_ms),
                    "spread_ms": _rounded(lane.spread_ms),
                    "spread_percent": _rounded(lane.spread_percent),
                    "drift_ms_per_cycle": _rounded(lane.drift_ms_per_cycle),
                    "tempo_percent": _rounded(lane.tempo_percent),
                }
                for lane in self.lanes
            ],
        }


# Which tap is which stroke


def first_missed(take: Take, measures: Measures) -> tuple[int | None, int, int]:
    """Return lane, tick and cycle (from 1) of the first stroke that was missed; there must be one.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.core.tempo import Tempo
    >>> take = Take(cycle=Polyrhythm(2, 1).cycle(), tempo=Tempo(60, pulse=1), cycles=2, start=0, stop=2,
    ...             mode="one pulse", lanes=(0,), tap_lanes=[0] * 3, tap_times=[0, 0.5, 1])
    >>> first_missed(take, measure(take))
    (0, 1, 2)
    """
    found = []
    for row in measures.lanes:
        ticks = take.ticks(row.lane).tolist()
        for k in np.flatnonzero(np.isnan(row.errors_ms)).tolist():
            cycle, i = divmod(k, len(ticks))
            found.append((cycle, ticks[i], row.lane))
    cycle, tick, lane = min(found, key=lambda one: one[:2])
    return lane, tick, cycle + 1


def _to_play(take: Take) -> np.ndarray:
    """Return whether each tap is in a lane that was to be played; of the merged line, in any."""
    if take.mode == "composite":
        return np.ones(len(take.tap_lanes), dtype=bool)
    lanes = np.zeros(len(take.cycle.lanes), dtype=bool)
    lanes[list(take.lanes)] = True
    return lanes.take(take.tap_lanes)


def _interval(take: Take, ticks: Ticks, tick: float) -> float:
    """Return the smallest interval between a lane's strokes, round the slice, in seconds."""
    turn, places = take.stop - take.start, ticks.tolist()
    round_again = pairwise([*places, *(first + turn for first in places[:1])])
    return float(min([turn, *(b - a for a, b in round_again)]) * tick)


class _MatchedLane:
    """A lane (``None``: the merged line) with its taps; `place` gives each tap its stroke.

    ``errors`` are seconds, NaN where a stroke was missed; ``extra`` are the taps that have no stroke.
    """

    def __init__(self, take: Take, lane: int | None, tick: Fraction) -> None:
        self.lane, self.ticks, self.meant = lane, take.ticks(lane), take.meant(lane)
        self.interval = _interval(take, self.ticks, float(tick))
        self.turn = float(tick * (take.stop - take.start))
        self.window = min(self.interval / 2, WIDEST_S)
        self.taps = take.played(lane)
        self.keys = take.tap_lanes if lane is None else take.tap_lanes[take.tap_lanes == lane]
        self.wrong_hand, self.outside, self.shift = 0, 0, 0.0
        # Before and after the take nothing was meant: the count-in, and the stroke that lands on the 1.
        end = take.cycles * self.turn
        first, last = self.meant[[0, -1]] if len(self.meant) else (0.0, end)
        self._edges = first - self.window, (last + first + end) / 2 if len(self.meant) else end

    def place(self, shift: float) -> None:
        """Match taps to strokes, once `shift` seconds are taken off the taps."""
        times = self.taps - shift
        inside = (times >= self._edges[0]) & (times <= self._edges[1])
        self.shift, self.outside = shift, int((~inside).sum())
        self.taps, self.keys = self.taps[inside], self.keys[inside]
        self.pairs = strokes, taps = pairs_of(self.meant, times[inside], self.window)
        self.errors = np.full(len(self.meant), np.nan)
        self.errors[strokes] = self.taps[taps] - self.meant[strokes]
        self.extra = np.delete(self.taps, taps)
        self.lent = np.zeros(len(self.meant), dtype=bool)  # played by another lane


def _middle(values: Floats) -> float:
    """Return the median; `numpy.median` takes several times as long on short rows."""
    order, half = np.sort(values), len(values) // 2
    return float(order[half] if len(order) % 2 else (order[half - 1] + order[half]) / 2)


def _shift(found: list[_MatchedLane], most: float) -> float:
    """Return the seconds by which all lanes are off alike, at `most`: the median error at the best shift.

    The best shift is 0, unless another one finds more strokes by a tenth of all.
    """
    strokes = sum(len(one.meant) for one in found)
    if not strokes:
        return 0.0

    def hits(shifts: Floats) -> Ticks:
        """Count the strokes with a tap in reach, for each shift: no tap is in reach of two."""
        count = np.zeros(len(shifts), dtype=np.int64)
        for one in found:
            window, at = min(one.window, 4 * STEP_S), one.meant + shifts[:, None]
            taps = np.append(one.taps, math.inf)
            count += (taps.take(one.taps.searchsorted(at - window)) <= at + window).sum(axis=1)
        return count

    here, nearest = int(hits(np.zeros(1))[0]), 0.0
    if here < strokes - strokes // 10:  # else no other shift can find a tenth more
        steps = np.arange(round(-most / STEP_S), round(most / STEP_S) + 1) * STEP_S
        counts = hits(np.asarray(steps, dtype=np.float64))
        good = steps[counts >= counts.max() - strokes // 20]
        if counts.max() > here + strokes // 10:
            nearest = good[np.argmin(np.abs(good))]
    errors = []
    for one in found:
        i, j = pairs_of(one.meant, one.taps - nearest, one.window)
        errors.append(one.taps[j] - one.meant[i])
    all_errors = np.concatenate(errors)
    return min(max(_middle(all_errors), -most), most) if len(all_errors) else 0.0


def _doubled(take: Take, line: _MatchedLane) -> None:
    """Take the second tap on a shared sound from the extra ones where another lane played it."""
    players = sum(np.isin(line.ticks, take.ticks(lane)).astype(int) for lane in take.lanes)
    strokes, taps = line.pairs
    shared = taps[np.tile(players, take.cycles)[strokes] > 1]
    spare = np.delete(np.arange(len(line.taps)), taps)
    first, second = pairs_of(line.taps[shared], line.taps[spare], min(line.window, DOUBLED_S))
    other = line.keys[shared[first]] != line.keys[spare[second]]
    line.extra = np.delete(line.taps[spare], second[other])


def _wrong_hands(take: Take, found: list[_MatchedLane]) -> None:
    """Count the extra taps of one lane that stand where another lane left a stroke out."""
    played = {one.lane: one for one in found if one.lane is not None}
    spare = {lane: one.extra for lane, one in played.items()}
    spare |= {lane: take.played(lane) for lane in set(take.tap_lanes.tolist()) - set(take.lanes)}
    for owner in found:
        left_out = np.flatnonzero(np.isnan(owner.errors))
        for lane in sorted(lane for lane in spare if lane != owner.lane):
            if not len(left_out) or not len(spare[lane]):
                continue
            strokes, taps = pairs_of(owner.meant[left_out], spare[lane] - owner.shift, owner.window)
            owner.lent[left_out[strokes]] = True
            left_out = np.delete(left_out, strokes)  # one hand is enough to give it
            spare[lane] = np.delete(spare[lane], taps)
            if lane in played:
                played[lane].wrong_hand += len(taps)
    for lane, one in played.items():
        one.extra = spare[lane]


def _matched_lanes(take: Take) -> list[_MatchedLane]:
    """Match the taps of every lane, after the shift that all lanes share is taken off."""
    lanes: list[int | None] = [None] if take.mode == "composite" else list(take.lanes)
    tick = take.tempo.tick_seconds(take.cycle)
    found = [_MatchedLane(take, lane, tick) for lane in lanes]
    shift = _shift(found, SHIFT_S if take.calibrated else NOT_MEASURED_S)
    for one in found:
        one.place(shift)
    if take.mode == "composite":
        _doubled(take, found[0])
    else:
        _wrong_hands(take, found)
    return found


# Each lane, and the lanes against each other


def fitted_slope(x: Floats, y: Floats) -> tuple[float | None, float | None, float | None]:
    """Return the slope of the least-squares line through points, its standard error, and the spread about it.

    Parameters
    ----------
    x, y : numpy.ndarray
        float64, of the same length.

    Returns
    -------
    tuple of float or None
        ``None`` where there are too few points.

    Examples
    --------
    >>> fitted_slope(np.array([0.0, 1.0, 2.0]), np.array([1.0, 3.0, 5.0]))
    (2.0, 0.0, 0.0)
    """
    if not len(x):
        return None, None, None
    x, y = x - x.mean(), y - y.mean()
    square = float(x @ x)
    if not square:
        return None, None, None
    slope = float(x @ y) / square
    if len(x) < 3:
        return slope, None, None
    rest = y - slope * x
    spread = math.sqrt(float(rest @ rest) / (len(x) - 2))
    return slope, spread / math.sqrt(square), spread


def _measured_lane(take: Take, one: _MatchedLane) -> LaneMeasure:
    """Measure a lane by the errors of its strokes."""
    played = ~np.isnan(one.errors)
    errors = 1000 * one.errors[played]
    errors_ms = 1000 * one.errors
    errors_ms.flags.writeable = False
    turn_ms = 1000 * one.turn
    interval = turn_ms / max(1, len(one.ticks))
    spread = float(errors.std(ddof=1)) if len(errors) > 1 else None
    slope, slope_error, steady = fitted_slope(1000 * one.meant[played], errors)
    hits = len(errors)
    return LaneMeasure(
        lane=one.lane,
        name="line" if one.lane is None else take.cycle.lanes[one.lane].name,
        interval_ms=interval,
        window_ms=1000 * one.window,
        meant=len(one.meant),
        played=hits + len(one.extra) + one.wrong_hand,
        matched=hits,
        missed=len(one.meant) - hits,
        extra=len(one.extra),
        wrong_hand=one.wrong_hand,
        mean_ms=float(errors.mean()) if hits else None,
        spread_ms=spread,
        spread_percent=None if spread is None else 100 * spread / interval,
        drift_ms_per_cycle=None if slope is None else slope * turn_ms,
        drift_error_ms=None if slope_error is None else slope_error * turn_ms,
        tempo_percent=None if slope is None else -100 * slope / (1 + slope),
        steady_ms=steady,
        errors_ms=errors_ms,
    )


def _measured_apart(take: Take, found: list[_MatchedLane]) -> tuple[Apart, ...]:
    """Measure every two lanes on the strokes that they share."""
    made = []
    lanes = [(one.lane, one) for one in found if one.lane is not None]
    for (first, a), (second, b) in combinations(lanes, 2):
        at = {tick: i for i, tick in enumerate(b.ticks.tolist())}
        shared = [(i, at[tick]) for i, tick in enumerate(a.ticks.tolist()) if tick in at]
        in_a, in_b = [i for i, _ in shared], [i for _, i in shared]
        errors_a, errors_b = (one.errors.reshape(take.cycles, -1) for one in (a, b))
        apart = 1000 * (errors_b[:, in_b] - errors_a[:, in_a]).ravel()
        apart = apart[~np.isnan(apart)]
        mean = float(apart.mean()) if len(apart) else None
        spread = float(apart.std(ddof=1)) if len(apart) > 1 else None
        made.append(Apart(first, second, len(apart), mean, spread))
    return tuple(made)


def _gap_curve(take: Take, found: list[_MatchedLane], limits: Limits) -> GapCurve | None:
    """Measure the gaps of the first lane that is not home; home may be only sounded, not played."""
    moving = next((one for one in found if one.lane not in (None, take.home)), None)
    if take.mode not in ("both pulses", "gap cycle") or moving is None or not len(moving.meant):
        return None
    if moving.lane is None or take.home is None:  # a lane was chosen, and a take has a home
        return None
    home = next((one for one in found if one.lane == take.home), None)
    at_home = take.meant(take.home) if home is None else home.meant
    if not len(at_home):
        return None
    # A stroke may be nearest to the beat before the take, or to the one after it: sounded, but not played.
    end = take.cycles * moving.turn
    beyond = at_home[-1] - end, at_home[0] + end
    meant_home = np.concatenate([beyond[:1], at_home, beyond[1:]])
    played_home = meant_home.copy()
    if home is not None:
        played_home[1:-1] += home.errors
        played_home[[0, -1]] = np.nan
    after = np.minimum(np.maximum(meant_home.searchsorted(moving.meant), 1), len(meant_home) - 1)
    ahead, behind = meant_home[after] - moving.meant, moving.meant - meant_home[after - 1]
    half = moving.turn / (take.stop - take.start) / 2  # exactly midway is after
    near = np.where(ahead < behind - half, after, after - 1)
    meant = 1000 * (moving.meant - meant_home[near])
    played = 1000 * (moving.meant + moving.errors - played_home[near])
    off = played - meant
    known = ~np.isnan(off)
    # Half of what the gap changes by from stroke to stroke, but no less than what is heard as a flam.
    change = _middle(np.abs(np.diff(meant))) if len(meant) > 1 else 0.0
    wrong = max(change / 2, float(limits["flam"].value))
    bad = ~(np.abs(off) <= wrong)
    pairs = np.flatnonzero(bad[:-1] & bad[1:]) if known.any() else np.empty(0, dtype=int)
    vary = known.sum() > 2 and np.ptp(meant[known]) > 0 and np.ptp(played[known]) > 0
    for array in (meant, played):
        array.flags.writeable = False
    return GapCurve(
        of=moving.lane,
        home=take.home,
        ticks=np.tile(moving.ticks, take.cycles),
        meant_ms=meant,
        played_ms=played,
        correlation=_correlation(meant[known], played[known]) if vary else None,
        rms_ms=float(np.sqrt((off[known] ** 2).mean())) if known.any() else None,
        wrong_ms=wrong,
        first_wrong=int(pairs[0]) if len(pairs) else None,
    )


def _correlation(x: Floats, y: Floats) -> float:
    """Return the correlation of two rows, neither of them all alike."""
    x, y = x - x.mean(), y - y.mean()
    return min(max(float(x @ y) / math.sqrt(float(x @ x) * float(y @ y)), -1.0), 1.0)


# The rhythm that was played instead


def _sounds(take: Take, shift: float, smallest: float) -> Floats:
    """Return the taps of the lanes played as one line: taps of different lanes that are near are one."""
    chosen = _to_play(take)
    times, lanes = take.played()[chosen] - shift, take.tap_lanes[chosen]
    near = min(ONE_SOUND_S, smallest / 2)
    made: list[tuple[list[float], list[int]]] = []
    for time, lane in zip(times.tolist(), lanes.tolist(), strict=True):
        if made and time - made[-1][0][0] <= near and lane not in made[-1][1]:
            made[-1][0].append(time)
            made[-1][1].append(lane)
        else:
            made.append(([time], [lane]))
    return np.array([sum(group) / len(group) for group, _ in made], dtype=np.float64)


def _rms(off: Floats) -> Floats:
    """Root mean square of distances, each row with its best shift taken off."""
    found: Floats = np.sqrt(((off - off.mean(axis=1, keepdims=True)) ** 2).mean(axis=1))
    return found


def _on_grids(rows: Floats, turn: float, grids: Ticks) -> list[tuple[float, tuple[int, ...]] | None]:
    """Return the distance and the intervals of the nearest rhythm on each grid; its first sound is on tick 0.

    ``None`` where a grid has no such rhythm.
    """
    middle, grid = rows.mean(axis=0), grids[:, None, None]
    mean = (middle - middle[0]) / turn * grid
    ticks = np.rint(mean + np.linspace(-0.5, 0.5, 21)[:, None]).astype(int)
    ticks -= ticks[..., :1]
    after = np.broadcast_to(grid, (*ticks.shape[:2], 1))
    intervals = np.diff(ticks, axis=2, append=after)
    good = (intervals.min(axis=2) >= 1) & (intervals.max(axis=2) <= LONGEST)
    # Of every cycle the same places: the distance is that of the mean cycle, and of the cycles from it.
    square, (of_grid, _) = np.full(good.shape, np.inf), good.nonzero()
    away = middle - ticks[good] / grids[of_grid, None] * turn
    square[good] = away.var(axis=1) + rows.var(axis=0).mean()
    best = square.argmin(axis=1)
    return [
        (math.sqrt(square[i, k]), tuple(intervals[i, k].tolist())) if good[i, k] else None
        for i, k in enumerate(best.tolist())
    ]


def _pair_with(intervals: tuple[int, ...], grid: int) -> tuple[int, int] | None:
    """Return the pair of small numbers whose line these intervals are; ``None`` where they are of none."""
    for p in range(2, 10):
        for q in range(2, p):
            if (
                p * q // gcd(p, q) == grid
                and tuple(composite(Polyrhythm(p, q)).intervals.tolist()) == intervals
            ):
                return p, q
    return None


def played_instead(take: Take, shift: float = 0.0) -> Simpler | None:
    """Return a simpler rhythm that fits the merged line of a take clearly better than the one meant.

    At speed players slip to pairs of smaller numbers (key beek1992), and the longer intervals of a rhythm
    become alike (key repp2002, from memory).

    All cycles with the most frequent number of sounds are laid over each other.  The rhythms tried are those
    on a coarser grid whose intervals are at most four ticks.  The one returned is at most half as far from
    the sounds (root mean square) as the one meant, and its better fit outweighs its freedom: with N sounds
    heard, n in a cycle, and a grid of G ticks, ``N ln(rms_meant² / rms²) > n (ln N + 2 ln G)``.  This is a
    Bayesian information criterion with the choice of n places on the grid as its parameters (own choice).

    Parameters
    ----------
    take : Take
        In mode "both pulses" or "composite", of two cycles or more; others give ``None``.
    shift : float
        Seconds that all strokes are off by.

    Returns
    -------
    Simpler or None
        ``None`` where no simpler rhythm fits so much better.
    """
    line = take.ticks(None)
    turn_ticks, n = take.stop - take.start, len(line)
    if take.mode not in ("both pulses", "composite") or take.cycles < 2 or not 2 <= n <= MOST_SOUNDS:
        return None
    places = line - take.start
    turn = float(take.turn)
    sounds = _sounds(take, shift, np.diff(np.append(line, line[0] + turn_ticks)).min() / turn_ticks * turn)
    # A cycle reaches from midway before its first sound to midway after its last one.
    begin = (places[0] - (turn_ticks - places[-1] + places[0]) / 2) / turn_ticks * turn
    which = np.floor((sounds - begin) / turn).astype(int)
    inside = (which >= 0) & (which < take.cycles)
    sounds, which = sounds[inside], which[inside]
    sizes = Counter(np.bincount(which, minlength=take.cycles).tolist())
    m, cycles = max(sizes.items(), key=lambda item: (item[1], item[0]))
    if not 2 <= m <= MOST_SOUNDS or cycles < max(2, 0.6 * take.cycles):
        return None
    full = np.flatnonzero(np.bincount(which, minlength=take.cycles) == m)
    rows = np.array([sounds[which == cycle] - cycle * turn for cycle in full])
    meant = places / turn_ticks * turn
    if m == n:  # the first sound may be one of the cycle before or after
        from_each = np.concatenate([meant, meant + turn])[np.arange(n)[:, None] + np.arange(n)]
        meant_rms = float(_rms((rows - from_each[:, None]).reshape(n, -1)).min())
    else:  # the nearest sound of the rhythm meant, whichever that is
        ahead = np.concatenate([meant - turn, meant, meant + turn])
        meant_rms = float(np.sqrt((np.abs(rows[..., None] - ahead).min(axis=-1) ** 2).mean()))
    if float(rows.var(axis=0).mean()) > (SHARE * meant_rms) ** 2:  # no places of a cycle are so near
        return None
    common = gcd(*map(int, places), turn_ticks)
    best = None
    grids = np.arange(m, min(turn_ticks // common, LONGEST * m + 1))
    for grid, found in zip(grids.tolist(), _on_grids(rows, turn, grids), strict=True):
        if found is None or meant_rms == 0:
            continue
        rms, intervals = found
        gain = rows.size * log(meant_rms**2 / max(rms, 1e-9) ** 2) - m * (log(rows.size) + 2 * log(grid))
        if rms <= SHARE * meant_rms and gain > 0 and (best is None or gain > best[0]):
            best = gain, rms, intervals, grid
    if best is None:
        return None
    _, rms, intervals, grid = best
    meant_intervals = np.diff(np.append(places, places[0] + turn_ticks)) // common
    return Simpler(
        intervals,
        tuple(meant_intervals.tolist()),
        grid,
        _pair_with(intervals, grid),
        1000 * rms,
        1000 * meant_rms,
        cycles,
    )


# Where it broke, and how it came in again


def _first_break(take: Take, found: list[_MatchedLane]) -> Broke | None:
    """Find the first two strokes in a row that went wrong, between the first and the last that was played.

    Two strokes are in a row in the merged line, where a shared stroke counts once, or in one lane.  A stroke
    is wrong when nobody played it, or when an extra tap is nearest to it and neither neighbour was missed.
    The way back ends where the next three strokes, and the next two of each lane, are right.
    """
    if not any(len(one.extra) or np.isnan(one.errors).any() for one in found):
        return None
    played, wrong = [], []
    for one in found:
        missed = np.isnan(one.errors) & ~one.lent
        bad, near = missed.copy(), missed.copy()
        near[1:] |= missed[:-1]
        near[:-1] |= missed[1:]
        if len(missed) and len(one.extra):
            nearest = _nearest(one.meant, one.extra - one.shift)
            bad[nearest] |= ~near[nearest]
        played.append(~missed)
        wrong.append(bad)
    every = np.concatenate([one.meant for one in found])
    order = every.argsort(kind="stable")
    known = np.concatenate(played)[order].nonzero()[0]
    if not len(known):
        return None
    order = order[known[0] : known[-1] + 1]
    times, bad = every[order], np.concatenate(wrong)[order]
    lane = np.repeat(np.arange(len(found)), [len(one.meant) for one in found])[order]
    lanes = [(lane == i).nonzero()[0] for i in range(len(found))]
    sound = np.cumsum(np.diff(times, prepend=0.0) > 1e-6)  # shared is one
    gone = np.zeros(len(order) + 2, dtype=bool)
    gone[sound[bad]] = True
    again = gone[sound + 1]  # the next one in the line, or in the lane, went wrong too
    for at in lanes:
        again[at[:-1]] |= bad[at[1:]]
    broken = (bad & again).nonzero()[0].tolist()
    if not broken:
        return None

    first = broken[0]
    coming = bad.copy()  # whether one of the next strokes is wrong: of the line, and of each lane
    for by in range(1, BACK):
        coming[:-by] |= bad[by:]
    for at in lanes:
        after, of_lane = at.searchsorted(np.arange(len(order))), np.append(bad[at], [False, False])
        coming |= of_lane[after] | of_lane[after + 1]
    home = (~coming[first + 2 : len(order) - BACK + 1]).nonzero()[0]
    back = first + 2 + int(home[0]) if len(home) else None
    one = found[lane[first]]
    cycle, stroke = divmod(int(one.meant.searchsorted(times[first])), len(one.ticks))
    return Broke(
        cycle=cycle + 1,
        tick=int(one.ticks[stroke]),
        lane=one.lane,
        strokes=None if back is None else back - first,
        seconds=None if back is None else float(times[back] - times[first]),
    )


def _nearest(places: Floats, times: Floats) -> Ticks:
    """Return which of rising places is nearest to each time, the earlier of two as near."""
    after = np.minimum(np.maximum(places.searchsorted(times), 1), max(1, len(places) - 1))
    before = after - 1
    after = np.minimum(after, len(places) - 1)
    return np.where(np.abs(places[before] - times) <= np.abs(places[after] - times), before, after)


def _reentries(take: Take, found: list[_MatchedLane], common: float) -> tuple[float, ...]:
    """Return the error of the first stroke after each silence, in milliseconds."""
    sounding, silent = take.silent
    if not silent:
        return ()
    errors = []
    starting = [one for one in found if len(one.ticks)]
    first = min((int(one.ticks[0]) for one in starting), default=None)
    for cycle in range(sounding + silent, take.cycles, sounding + silent):
        off = []
        for one in starting:
            if one.ticks[0] != first:
                continue
            stroke = cycle * len(one.ticks)
            if np.isfinite(one.errors[stroke]):
                off.append(one.errors[stroke] - common)
            elif len(one.taps):  # out of the window: the nearest tap, up to half the way to a neighbour
                nearest = one.taps[np.argmin(np.abs(one.taps - common - one.meant[stroke]))]
                far = nearest - one.meant[stroke] - common
                off += [far] if abs(far) <= one.interval / 2 else []
        errors.append(1000 * float(np.mean(off)) if off else float("nan"))
    return tuple(errors)


# A take


@public(_EXAMPLE, "limits", bounds="limits")
def measure(take: Take, *, limits: Limits | None = None) -> Measures:
    """Measure a take: what was early, late, missed or extra, lane by lane and between lanes.

    A tap counts for a stroke of its lane up to half the smallest interval of the lane away, at most 250 ms.
    A tap that is extra in its lane and falls on a stroke that another lane left out is a wrong hand.

    Parameters
    ----------
    take : Take
        What was played.
    limits : Limits, optional
        The limits to use; ``flam`` says which gaps of a gap cycle are wrong.

    Returns
    -------
    Measures
        Numbers that too few strokes can give are ``None``.

    Raises
    ------
    ValueError
        If it is not a `Take`.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.core.tempo import Tempo
    >>> take = Take(cycle=Polyrhythm(2, 1).cycle(), tempo=Tempo(60, pulse=0), cycles=2, start=0, stop=2,
    ...             mode="both pulses", lanes=(0, 1), tap_lanes=[0, 1, 0, 0, 1],
    ...             tap_times=[0.0, 0.03, 1.0, 2.0, 2.03])
    >>> m = measure(take)
    >>> round(m.hands_apart_ms), m.leads, m.missed
    (30, 0, 1)
    """
    check.a(Take, take, "take", _EXAMPLE)
    limits = limits_or(limits, f"{_EXAMPLE[:-1]}, limits=limits(flam=30))")
    found = _matched_lanes(take)
    lanes = tuple(_measured_lane(take, one) for one in found)
    means = [lane.mean_ms for lane in lanes if lane.mean_ms is not None]
    common = float(np.mean(means)) if means else None
    elsewhere = int(np.count_nonzero(~_to_play(take)))
    return Measures(
        apart=_measured_apart(take, found),
        lanes=lanes,
        common_ms=common,
        calibrated=take.calibrated,
        gap=_gap_curve(take, found, limits),
        played_instead=played_instead(take, (common or 0) / 1000),
        broke=_first_break(take, found),
        reentry_ms=_reentries(take, found, (common or 0) / 1000),
        elsewhere=elsewhere,
        outside=sum(one.outside for one in found),
    )

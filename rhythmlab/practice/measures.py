"""What a take comes to, in numbers: the values that `measure` gives.

Errors and gaps are milliseconds; negative is early, positive late.
"""

import math
from dataclasses import dataclass

from rhythmlab import words
from rhythmlab.core.kinds import Floats, Ticks
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.shown import Printed


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
    """How far apart two lanes were where both have a stroke.

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
    """A simpler rhythm that fits what was played clearly better than the one meant.

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
        return words.pair(Polyrhythm(*self.pair)) if self.pair else ""


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


@dataclass(repr=False, frozen=True, slots=True, eq=False)
class Measures(Printed):
    """All that was measured in a take.

    Attributes
    ----------
    apart : tuple of Apart
        The lanes on their shared strokes, pair by pair; what a teacher hears first.
    lanes : tuple of LaneMeasure
        Each lane that was to be played; one entry in mode "composite".
    common_ms : float or None
        What all lanes share: the mean of their mean errors.  Without calibration it holds device delay
        and the player's own lead, and is no fault.
    calibrated : bool
        Whether those were measured before and taken off.
    gap : GapCurve or None
        Of the moving lane against home, where one lane was home.
    really_played : Simpler or None
        A simpler rhythm that fits clearly better than the one meant.
    broke : Broke or None
        Where it first broke.
    reentry_ms : tuple of float
        Error of the first stroke after each silence, `common_ms` taken off; NaN where none was near.
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
    really_played: Simpler | None
    broke: Broke | None
    reentry_ms: tuple[float, ...]
    elsewhere: int
    outside: int

    def __str__(self) -> str:
        rows = [["", "meant", "played", "missed", "extra", "mean ms", "spread ms", "spread %"]]
        for lane in self.lanes:
            numbers = (lane.mean_ms, lane.spread_ms, lane.spread_percent)
            counts = (lane.meant, lane.played, lane.missed, lane.extra)
            said = ("-" if one is None else f"{one:.1f}" for one in numbers)
            rows.append([lane.name, *map(str, counts), *said])
        wide = [max(map(len, column)) for column in zip(*rows, strict=True)]
        return "\n".join(
            "  ".join(f"{cell:>{width}}" for cell, width in zip(row, wide, strict=True)).rstrip()
            for row in rows
        )

    @property
    def _widest(self) -> Apart | None:
        measured = [apart for apart in self.apart if apart.mean_ms is not None]
        return max(measured, key=lambda apart: abs(apart.mean_ms or 0.0), default=None)

    @property
    def hands_apart_ms(self) -> float | None:
        """Mean of second minus first on the shared strokes, of the two lanes that are furthest apart."""
        return self._widest.mean_ms if self._widest else None

    @property
    def hands_apart_spread_ms(self) -> float | None:
        """Spread of the same."""
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


def _rounded(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else round(value, 3)

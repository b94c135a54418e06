"""A take: one recorded run of a player's strokes, as the browser sends it and as a journal keeps it."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from numbers import Real
from typing import TYPE_CHECKING, Any

import numpy as np

from rhythmlab.core.check import MOST_LISTED, index, items, short, whole
from rhythmlab.core.cycle import Cycle, Lane, counted_as
from rhythmlab.core.display import InNotebook
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public_class
from rhythmlab.core.rhythm import Rhythm, as_rhythm
from rhythmlab.core.tempo import Speed, Tempo, tempo_given
from rhythmlab.core.types import Floats, Ticks
from rhythmlab.practice.history import number_of
from rhythmlab.refusal import Refusal

#: What the player was to play: one lane, two or more each for itself, the merged line, or the gap cycle.
MODES = ("one pulse", "both pulses", "composite", "gap cycle")
#: What it was played on.
INPUTS = ("keys", "pads", "midi", "mixed")
#: Longest take, in seconds, and most cycles of sound or of silence at a time: far more than anyone plays.
MOST_SECONDS, MOST_CYCLES = 86_400, 100_000
#: Most meant strokes, and most taps, in a take: hours of practice.
MOST_STROKES = 100_000
#: Examples of refusals: the lanes, and the message of the browser.
_LANES = 'mode="both pulses", lanes=(0, 1)'
_MESSAGE = (
    'message={"id": "t1", "mode": "one pulse", "lanes": [0], "ticks": 28, "start": 0, "stop": 28, '
    '"cycles": 1, "cycle_s": 4.0, "t0": 10.0, "taps": [[0, 10.02]]}'
)
#: What a message holds at least.
_FIELDS = ("id", "mode", "lanes", "ticks", "start", "stop", "cycles", "cycle_s", "t0", "taps")


# What a take is made of, checked


def finite(value: object, name: str, example: str, most: float = 1e15) -> float:
    """Return a number as a float; refuse it by `name` if it is not finite or further from 0 than `most`."""
    try:
        number = float(value) if isinstance(value, Real) and not isinstance(value, bool) else math.nan
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise Refusal(f"{name}={short(value)} is not a finite number", example, argument=name)
    if abs(number) > most:
        raise Refusal(f"{name}={short(value)} is further from 0 than {most:,.0f}", example, argument=name)
    return number


def checked_lanes(lanes: object, mode: str, count: int) -> tuple[int, ...]:
    """Return the lanes to be played, rising and each once, or refuse as many as do not fit the mode."""
    if not isinstance(lanes, list | tuple):
        raise Refusal(f"lanes={short(lanes)} is not a list of lanes", _LANES, argument="lanes")
    chosen = tuple(sorted({index(lane, count, "lane", "lanes") for lane in lanes[:MOST_LISTED]}))
    right = {"one pulse": len(chosen) == 1, "both pulses": len(chosen) > 1}.get(mode, bool(chosen))
    if not right:
        need = {"one pulse": "one lane", "both pulses": "two lanes or more"}.get(mode, "a lane")
        of = f" of mode {mode!r}" if mode else ""
        raise Refusal(f"lanes={short(lanes)}{of} are not {need}", _LANES, argument="lanes")
    return chosen


def checked_silence(silent: object) -> tuple[int, int]:
    """Return the drop-out as (sounding, silent) cycles, or refuse it; (0, 0) is none."""
    if not isinstance(silent, list | tuple) or len(silent) != 2:
        raise Refusal(
            f"silent={short(silent)} is not two numbers of cycles", "silent=(2, 1)", argument="silent"
        )
    sounding, quiet = (whole(cycles, "silent", "silent=(2, 1)", 0, MOST_CYCLES) for cycles in silent)
    return (sounding, quiet) if sounding and quiet else (0, 0)


def checked_time(when: str) -> str:
    """Return a time with its UTC offset as it is, or refuse it."""
    try:
        good = not when or datetime.fromisoformat(when).utcoffset() is not None
    except ValueError:
        good = False
    if not good:
        raise Refusal(
            f"when={short(when)} is not a time with its UTC offset",
            'when="2030-05-04T18:30:00+02:00"',
            argument="when",
        )
    return when


def checked_taps(lanes: object, seconds: object, count: int) -> tuple[Ticks, Floats]:
    """Return lanes and seconds of taps as read-only arrays by time, or refuse them."""
    example = "tap_lanes=[0, 1], tap_times=[0.02, 0.98]"
    rows = (("tap_lanes", lanes), ("tap_times", seconds))
    given = [items(row, name, example, MOST_LISTED) for name, row in rows if hasattr(row, "__iter__")]
    if len(given) < len(rows) or len(given[0]) != len(given[1]):
        raise Refusal(
            f"tap_lanes={short(lanes)} and tap_times={short(seconds)} are not as many lanes as times",
            example,
            argument="tap_lanes",
        )
    keys = np.array([index(lane, count, "lane", "lanes") for lane in given[0]], dtype=np.int64)
    times = np.array(
        [finite(time, "the time of a tap", example, MOST_SECONDS) for time in given[1]], dtype=np.float64
    )
    order = np.argsort(times, kind="stable")
    keys, times = keys[order], times[order]
    keys.flags.writeable = times.flags.writeable = False
    return keys, times


# A take


@public_class(
    'practice.take_from_midi("kit.mid", (7, 4), 72)',
    ticks='practice.take_from_midi("kit.mid", (7, 4), 72).ticks(0)',
    meant='practice.take_from_midi("kit.mid", (7, 4), 72).meant(0)',
    played='practice.take_from_midi("kit.mid", (7, 4), 72).played(0)',
)
@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Take(InNotebook):
    """One recorded run of a player's strokes.

    Parameters
    ----------
    cycle : Cycle
        What was to be played.
    tempo : Tempo
        How fast it sounded.
    cycles : int
        How many times the slice went round.
    start, stop : int
        The slice that went round, in ticks, half-open.
    mode : str
        One of `MODES`.
    lanes : tuple of int
        Indices of the lanes that the player was to play, rising.
    tap_lanes, tap_times : numpy.ndarray
        int64 and float64: the lane of each tap, and its seconds after the beginning of the first cycle
        (below 0 in the count-in).  They are sorted by time.
    offset_ms : float
        Device delay and the player's lead together, measured by a tap-along; 0 when not calibrated.
    limbs : str
        What it was played with, for example ``"hands"`` or ``"right hand and foot"``.
    when : str
        ISO 8601 with the UTC offset, or empty.
    silent : tuple of int
        (sounding, silent) cycles of the drop-out; (0, 0) for none.
    id : str
        What tells it from other takes in a journal.
    home : int, optional
        Lane felt as the beat; the last one when left out.
    late : int
        Strokes that the browser sounded late.
    input : str
        One of `INPUTS`.
    interrupted : bool
        Whether another tab or window began to sound while it was played.

    Raises
    ------
    ValueError
        If one of these does not fit, with an example that does.
    IndexError
        If a lane is not in the cycle.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> take = Take(cycle=Polyrhythm(4, 3).cycle(), tempo=Tempo(60, pulse=1), cycles=2, start=0, stop=12,
    ...             mode="one pulse", lanes=(1,), tap_lanes=[1, 1], tap_times=[0.01, 0.98])
    >>> take.meant(1)
    array([0., 1., 2., 3., 4., 5.])
    >>> take
    Take(one pulse: 2 taps in 2 cycles of 12 ticks, Tempo(60, pulse=1))
    """

    cycle: Cycle
    tempo: Tempo
    cycles: int
    start: int
    stop: int
    mode: str
    lanes: tuple[int, ...]
    tap_lanes: Ticks
    tap_times: Floats
    offset_ms: float = 0.0
    limbs: str = ""
    when: str = ""
    silent: tuple[int, int] = (0, 0)
    id: str = ""
    home: int | None = None
    late: int = 0
    input: str = "keys"
    interrupted: bool = False

    if TYPE_CHECKING:  # what may be given; a take then holds it as the fields say

        def __init__(
            self,
            *,
            cycle: Rhythm,
            tempo: Speed,
            cycles: int,
            start: int,
            stop: int,
            mode: str,
            lanes: Iterable[int],
            tap_lanes: Iterable[int],
            tap_times: Iterable[float],
            offset_ms: float = 0.0,
            limbs: str = "",
            when: str = "",
            silent: Sequence[int] = (0, 0),
            id: str = "",
            home: int | None = None,
            late: int = 0,
            input: str = "keys",
            interrupted: bool = False,
        ) -> None: ...

    def __post_init__(self) -> None:
        given = as_rhythm(self.cycle, "cycle", "cycle=(4, 3)")
        pulses = isinstance(given, Polyrhythm)
        self._set(tempo=tempo_given(self.tempo, given, self.home if pulses else None, "tempo=60"))
        self._set(cycle=given.cycle(self.home) if isinstance(given, Polyrhythm) else given)
        count = len(self.cycle.lanes)
        if not count:
            raise Refusal(f"{short(self.cycle)} has no lane to play", "cycle=(4, 3)")
        start = whole(self.start, "start", "start=0", least=0)
        stop = whole(self.stop, "stop", f"stop={self.cycle.ticks}", least=1)
        if not start < stop <= self.cycle.ticks:
            raise Refusal(
                f"start={short(start)}, stop={short(stop)} is no slice of this cycle of "
                f"{self.cycle.ticks} ticks",
                f"start=0, stop={self.cycle.ticks}",
                argument="start",
            )
        if not isinstance(self.mode, str) or self.mode not in MODES:
            raise Refusal(
                f"mode={short(self.mode)} is not one of {', '.join(MODES)}", _LANES, argument="mode"
            )
        if not isinstance(self.input, str) or self.input not in INPUTS:
            raise Refusal(
                f"input={short(self.input)} is not one of {', '.join(INPUTS)}",
                'input="keys"',
                argument="input",
            )
        if not isinstance(self.interrupted, bool):
            raise Refusal(
                f"interrupted={short(self.interrupted)} is neither True nor False",
                "interrupted=False",
                argument="interrupted",
            )
        for name in ("limbs", "when", "id"):
            if not isinstance(getattr(self, name), str):
                raise Refusal(f"{name}={short(getattr(self, name))} is not text", f"{name}=''", argument=name)
        self._set(
            cycles=whole(self.cycles, "cycles", "cycles=4", most=MOST_CYCLES),
            start=start,
            stop=stop,
            lanes=checked_lanes(self.lanes, self.mode, count),
            offset_ms=finite(self.offset_ms, "offset_ms", "offset_ms=-38.5", 60_000),
            when=checked_time(self.when),
            silent=checked_silence(self.silent),
            home=index(count - 1 if self.home is None else self.home, count, "home", "lanes"),
            late=whole(self.late, "late", "late=0", 0, 10**9),
        )
        turn = self.turn  # refuses a tempo of a lane that has none
        strokes = self.cycles * sum(len(self.ticks(lane)) for lane in self.lanes)
        taps = len(self.tap_times) if hasattr(self.tap_times, "__len__") else 0
        if max(strokes, taps) > MOST_STROKES:
            raise Refusal(
                f"{max(strokes, taps):,} strokes are more than one take holds ({MOST_STROKES:,}); "
                "make it shorter",
                "cycles=4",
            )
        if self.cycles * turn > MOST_SECONDS:
            raise Refusal(
                f"{self.cycles:,} cycles of {float(turn):,.0f} seconds are longer than a day; "
                "make it shorter",
                "cycles=1, tempo=Tempo(60, pulse=1)",
            )
        lanes, seconds = checked_taps(self.tap_lanes, self.tap_times, count)
        self._set(tap_lanes=lanes, tap_times=seconds)

    def _set(self, **fields: object) -> None:
        """Set fields although the take is frozen."""
        for name, value in fields.items():
            object.__setattr__(self, name, value)

    @property
    def turn(self) -> Fraction:
        """Seconds of one turn of the slice, exact."""
        return self.tempo.tick_seconds(self.cycle) * (self.stop - self.start)

    @property
    def spoiled(self) -> bool:
        """Whether the browser disturbed it, so that it counts for nothing."""
        return self.late > 0 or self.interrupted

    @property
    def calibrated(self) -> bool:
        """Whether device delay and the player's lead were measured before."""
        return self.offset_ms != 0

    def ticks(self, lane: int | None) -> Ticks:
        """Return the ticks of a lane inside the slice; ``None`` is the merged line of the lanes played."""
        if lane is None:
            return np.unique(np.concatenate([self.ticks(one) for one in self.lanes]))
        onsets = self.cycle.lanes[index(lane, len(self.cycle.lanes), "lane", "lanes")].onsets
        return onsets[slice(*onsets.searchsorted((self.start, self.stop)))]

    def meant(self, lane: int | None) -> Floats:
        """Return when a lane's strokes were to be played, all cycles.

        Parameters
        ----------
        lane : int or None
            Index of the lane; ``None`` is the merged line of the lanes played.

        Returns
        -------
        numpy.ndarray
            float64 seconds from the beginning of the first cycle.
        """
        turns = np.arange(self.cycles, dtype=np.int64)[:, None] * (self.stop - self.start)
        ticks = (turns + (self.ticks(lane) - self.start)).ravel()
        return ticks * np.float64(self.tempo.tick_seconds(self.cycle))

    def played(self, lane: int | None = None) -> Floats:
        """Return when a lane was tapped, in seconds, the calibration taken off; ``None`` is all."""
        seconds = self.tap_times
        if lane is not None:
            seconds = seconds[self.tap_lanes == index(lane, len(self.cycle.lanes), "lane", "lanes")]
        return seconds - self.offset_ms / 1000

    def as_row(self) -> dict[str, object]:
        """Return everything as a journal keeps it: numbers, texts, lists and dicts.

        ``from_row`` makes an equal take of it.

        Examples
        --------
        >>> from rhythmlab.core.polyrhythm import Polyrhythm
        >>> take = Take(cycle=Polyrhythm(4, 3).cycle(), tempo=Tempo(60, pulse=1), cycles=2, start=0, stop=12,
        ...             mode="one pulse", lanes=(1,), tap_lanes=[1, 1], tap_times=[0.01, 0.98])
        >>> row = take.as_row()
        >>> row["pair"], row["pulse"], row["bpm"], from_row(row) == take
        ([4, 3], 1, '60', True)
        """
        cycle = self.cycle
        row: dict[str, object] = {"kind": "take", "id": self.id, "when": self.when}
        steps = [cycle.ticks // max(1, len(lane.onsets)) for lane in cycle.lanes]
        if all(
            np.array_equal(lane.onsets, np.arange(0, cycle.ticks, step))
            for lane, step in zip(cycle.lanes, steps, strict=True)
        ):
            row["pair"] = [len(lane.onsets) for lane in cycle.lanes]
        return row | {
            "pulse": self.tempo.pulse,
            "beat_ticks": self.tempo.ticks,
            "bpm": str(self.tempo.bpm),
            "limbs": self.limbs,
            "mode": self.mode,
            "lanes": list(self.lanes),
            "cycles": self.cycles,
            "start": self.start,
            "stop": self.stop,
            "offset_ms": self.offset_ms,
            "silent": list(self.silent),
            "home": self.home,
            "late": self.late,
            "input": self.input,
            "interrupted": self.interrupted,
            "cycle": cycle_row(cycle),
            "tap_lanes": self.tap_lanes.tolist(),
            "tap_times": self.tap_times.tolist(),
        }

    def _key(self) -> tuple[object, ...]:
        """Return all fields as values that can be compared and hashed."""
        return (
            *(self.cycle, self.tempo, self.cycles, self.start, self.stop, self.mode, self.lanes),
            *(self.tap_lanes.tobytes(), self.tap_times.tobytes(), self.offset_ms, self.limbs, self.when),
            *(self.silent, self.id, self.home, self.late, self.input, self.interrupted),
        )

    def __eq__(self, other: object) -> bool:
        return self._key() == other._key() if isinstance(other, Take) else NotImplemented

    def __hash__(self) -> int:
        return hash(self._key())

    def __repr__(self) -> str:
        taps, ticks = len(self.tap_times), self.stop - self.start
        return f"Take({self.mode}: {taps} taps in {self.cycles} cycles of {ticks} ticks, {self.tempo})"


# A take of a journal's row, and of the browser's message


def cycle_row(cycle: Cycle) -> dict[str, object]:
    """Return a cycle as numbers, texts and lists; `cycle_of` makes an equal one of it."""
    lanes = [
        {
            "name": lane.name,
            "onsets": lane.onsets.tolist(),
            "limb": lane.limb,
            "sound": lane.sound,
            "accents": list(lane.accents),
            "ghosts": list(lane.ghosts),
            "hands": lane.hands,
        }
        for lane in cycle.lanes
    ]
    notes = cycle.written or (0 if cycle.divided else None)
    return {
        "ticks": cycle.ticks,
        "beats": cycle.beats.tolist(),
        "bars": cycle.bars.tolist(),
        "lanes": lanes,
        **({} if notes is None else {"written": notes}),
    }


def cycle_of(row: Mapping[str, Any]) -> Cycle:
    """Make a cycle of a row that `cycle_row` gave.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> cycle_of(cycle_row(Polyrhythm(4, 3).cycle())) == Polyrhythm(4, 3).cycle()
    True
    """
    lanes = [Lane(**lane) for lane in row["lanes"]]
    cycle, notes = Cycle(row["ticks"], lanes, beats=row["beats"], bars=row["bars"]), row.get("written")
    if isinstance(notes, int) and 0 <= notes <= cycle.ticks:  # takes of 0.2.0 do not say
        counted_as(cycle, notes)
    return cycle


def from_row(row: Mapping[str, Any]) -> Take:
    """Make a take of a row that `Take.as_row` gave; other names in the row are ignored.

    Raises
    ------
    ValueError
        If the row holds no take, or a part that does not fit.
    """
    try:
        cycle = cycle_of(row["cycle"])
        bpm = number_of(row["bpm"])
        if bpm is None:
            raise TypeError("bpm is no number")
        tempo = Tempo(bpm, pulse=row["pulse"], ticks=row["beat_ticks"])
        named = {
            name: row[name]
            for name in Take.__dataclass_fields__
            if name not in ("cycle", "tempo", "lanes", "silent", "interrupted")
        }
        named["interrupted"] = row.get("interrupted", False)  # not known before 0.3.0
        return Take(cycle=cycle, tempo=tempo, lanes=tuple(row["lanes"]), silent=tuple(row["silent"]), **named)
    except (KeyError, TypeError, ZeroDivisionError) as error:
        raise Refusal(
            f"{short(row)} is not a row that a take gave ({type(error).__name__}: {short(str(error))})",
            'practice.take_from_midi("kit.mid", Polyrhythm(7, 4), Tempo(72, pulse=1)).as_row()',
        ) from error


def _sounded(tempo: Tempo, cycle: Cycle, slice_ticks: int, turn: float) -> Tempo:
    """Return `tempo`, or where a turn of the slice took other seconds, the tempo that it sounded at."""
    if turn <= 0 or slice_ticks < 1:
        raise Refusal(
            f"cycle_s={turn} for a slice of {slice_ticks} ticks is not a time above 0",
            "cycle_s=4.0",
            argument="cycle_s",
        )
    expected = tempo.tick_seconds(cycle) * slice_ticks
    if math.isclose(float(expected), turn, rel_tol=1e-6):
        return tempo
    bpm = tempo.bpm * expected / Fraction(turn)
    simple = bpm.limit_denominator(1000)  # 45, not 45 and a millionth: the turn was sent as a float
    bpm = simple if simple and abs(simple / bpm - 1) < Fraction(1, 10**6) else bpm
    return Tempo(bpm, pulse=tempo.pulse, ticks=tempo.ticks)


def take_from(message: Mapping[str, Any], cycle: Cycle, tempo: Tempo) -> Take:
    """Make a take of the message that the browser sends at the end of a recording.

    Parameters
    ----------
    message : mapping
        ``id``, ``mode``, ``lanes``, ``ticks``, ``start``, ``stop``, ``cycles``, ``cycle_s`` (seconds of one
        turn of the slice), ``t0`` (seconds on the audio clock at the beginning of the first cycle), ``taps``
        (lane and seconds on the audio clock), and where they are known ``offset_ms``, ``limbs``, ``when``,
        ``silent``, ``home``, ``late``, ``input`` and ``interrupted``.
    cycle : Cycle
        What the page shows.
    tempo : Tempo
        Its tempo.  Where ``cycle_s`` shows that it sounded slower or faster, the take gets that tempo, with
        the same pulse.

    Returns
    -------
    Take

    Raises
    ------
    ValueError
        If a part is missing or does not fit, or the take is of another cycle.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> message = {"id": "t1", "mode": "one pulse", "lanes": [1], "ticks": 12, "start": 0, "stop": 12,
    ...            "cycles": 2, "cycle_s": 4.0, "t0": 10.0, "taps": [[1, 10.02], [1, 11.35]]}
    >>> take = take_from(message, Polyrhythm(4, 3).cycle(), Tempo(60, pulse=1))
    >>> take.tempo, take.tap_times.round(3).tolist()
    (Tempo(45, pulse=1), [0.02, 1.35])
    """
    if not isinstance(message, Mapping):
        raise Refusal(f"{short(message)} is not a message with names", _MESSAGE)
    for name in _FIELDS:
        if name not in message:
            raise Refusal(f"the message of the take has no {name!r}", _MESSAGE)
    if not isinstance(cycle, Cycle) or message["ticks"] != cycle.ticks:
        ticks = cycle.ticks if isinstance(cycle, Cycle) else short(cycle)
        raise Refusal(
            f"ticks={short(message['ticks'])} is a take of another cycle, not of this one of {ticks} ticks",
            f"ticks={ticks}",
            argument="ticks",
        )
    t0, turn = (finite(message[name], name, f"{name}=4.0") for name in ("t0", "cycle_s"))
    taps = message["taps"]
    if not isinstance(taps, list | tuple) or not all(
        isinstance(tap, list | tuple) and len(tap) == 2 for tap in taps
    ):
        raise Refusal(
            f"taps={short(taps)} is not a list of lanes and times", "taps=[[0, 10.02]]", argument="taps"
        )
    seconds = [finite(tap[1], "the time of a tap", "taps=[[0, 10.02]]") - t0 for tap in taps]
    given = {name: message[name] for name in ("id", "mode", "cycles", "start", "stop")}
    known = ("offset_ms", "limbs", "when", "home", "late", "input", "interrupted")
    given |= {name: message[name] for name in known if message.get(name) is not None}
    start, stop = message["start"], message["stop"]
    slice_ticks = whole(stop, "stop", f"stop={cycle.ticks}") - whole(start, "start", "start=0", least=0)
    return Take(
        cycle=cycle,
        tempo=_sounded(tempo, cycle, slice_ticks, turn),
        lanes=message["lanes"],
        tap_lanes=[tap[0] for tap in taps],
        tap_times=seconds,
        silent=message.get("silent") or (0, 0),
        **given,
    )

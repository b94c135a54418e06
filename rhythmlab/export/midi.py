"""A cycle at a tempo as a Standard MIDI File, every stroke on its own exactly reckoned tick.

The quarter of the file is the home pulse; in bars with a metre it is the written quarter.
Limits of the format: Standard MIDI Files 1.0 (MIDI Manufacturers Association, RP-001), from memory, and as
measured with two readers.
"""

import io
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import reduce
from math import gcd
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from rhythmlab.audio import struck
from rhythmlab.audio.cue import count_in_ticks
from rhythmlab.audio.mix import Mix, lane_rows
from rhythmlab.core import bounds
from rhythmlab.core.bounds import chosen_cycle
from rhythmlab.core.check import short, whole
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.display import InNotebook, Written
from rhythmlab.core.long_work import say, shown
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed, Tempo, nearest
from rhythmlab.core.types import Ticks
from rhythmlab.files import save, with_ending
from rhythmlab.playing.metre import Metre
from rhythmlab.playing.named import name_of
from rhythmlab.playing.percussion import Drum, drum
from rhythmlab.refusal import Refusal
from rhythmlab.text import descriptions, numbers, sentences

if TYPE_CHECKING:
    from mido import MidiTrack
#: Most strokes in a file, markers and count-in not counted, and most cycles.
MOST, MOST_CYCLES = 1_000_000, 100_000
#: Seconds that an event takes.
_EVENT_S = 3e-5
#: Ticks to a quarter: at least; the most that the field holds; and where the exact number does not fit,
#: the largest below it that twos, threes, fives and sevens divide well.
LEAST_TICKS, MOST_TICKS, OTHER_TICKS = 480, 32_767, 32_760
#: Microseconds to a quarter that a tempo event holds, and ticks that stand between two events.
MOST_US, MOST_DELTA = 2**24 - 1, 2**28 - 1
#: Channel 10, counted from 0: percussion in General MIDI.
CHANNEL = 9
#: Velocities. A sampler makes about 40 log10 of their ratio decibels (Downloadable Sounds Level 1, from
#: memory), so these are as far apart as the strokes of the sound files.
ACCENT = 120
PLAIN, GHOST = (
    round(ACCENT * (strength / struck.ACCENT) ** 0.5) for strength in (struck.PLAIN, struck.GHOST)
)
_CALL = "midi((7, 4), 72"
_WRITE = f"{_CALL}).write({{}})"


@public_class("midi((7, 4), 72)", write='midi((7, 4), 72).write("7-4.mid")')
@dataclass(frozen=True, repr=False)
class Midi(InNotebook):
    """A Standard MIDI File of format 1.

    Attributes
    ----------
    data : bytes
        The file.
    ticks_per_quarter : int
        Its resolution.
    bpm : Fraction
        Quarters a minute that are really written: the file holds whole microseconds to a quarter.
    worst_us : float
        How far the stroke that is farthest from its exact time is, in microseconds, at the tempo written;
        0 where the resolution holds every stroke exactly.
    tempo_error : Fraction
        The tempo written over the tempo asked for, less 1.
    text : str
        What is in it and how exact it is, in a few sentences.
    """

    data: bytes = field(repr=False)
    ticks_per_quarter: int
    bpm: Fraction
    worst_us: float
    tempo_error: Fraction
    text: str

    def write(self, path: str | Path, *, replace: bool = False) -> Path:
        """Write the file, ending in ``.mid``.

        Parameters
        ----------
        path : str or Path
            Where to; its folder must exist.
        replace : bool
            Whether a file of that name may be replaced.

        Raises
        ------
        ValueError, OSError
            As for `rhythmlab.files.save`.
        """
        path = with_ending(path, ".mid", ".midi", call=_WRITE)
        return Written(save(path, self.data, _WRITE, replace=replace))

    def __repr__(self) -> str:
        return f"Midi({self.text})"


@public(f"{_CALL})")
def midi(
    what: Rhythm,
    tempo: Speed,
    *,
    home: int | None = None,
    cycles: int = 1,
    count_in: bool | int = False,
) -> Midi:
    """Make a Standard MIDI File: a track a lane on channel 10, with tempo, time signature and markers.

    A track is named by its lane, its drum and its limb; accents, plain and ghost strokes are velocities.

    Every tick is rounded once from its exact place, never from the one before. The file ends exactly where
    the last cycle ends. The first tick of each cycle has a marker, and so has every tick on which all lanes
    meet. Time signatures are those of the metre or of the bars; otherwise a cycle is one bar of home pulses.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is played.
    tempo : Tempo or number
        The speed; a number is beats a minute of home.
    home : int, optional
        Index of the home pulse of a `Polyrhythm`, the quarter of the file; the last one when left out. A
        `Cycle` with a metre has its written quarter, another its beat where all are equally long, and else
        the beat of the tempo.
    cycles : int
        How often it is played.
    count_in : bool or int
        Beats counted before on a track of their own, as for `rhythmlab.audio.cue.cue`.

    Returns
    -------
    Midi
        Its `data`, how exact it is, and `write`.

    Raises
    ------
    IndexError
        If there is no such pulse.
    ValueError
        If home has less than 1 or more than 1,000 beats a minute, the tempo is one that the format cannot
        hold (below 3.58 quarters a minute), strokes are too many or too near, or the file would be too long.

    Examples
    --------
    >>> made = midi((7, 4), 72, cycles=2)
    >>> made.ticks_per_quarter, made.worst_us, made.data[:4]
    (483, 0.0, b'MThd')
    >>> made.text
    '7 against 4, 2 cycles, 6.7 seconds: 7 on high wood block (key 76) and 4 on low wood block (key 77). \
483 ticks to a quarter hold every stroke exactly.'
    """
    cycles = whole(cycles, "cycles", f"{_CALL}, cycles=4)", most=MOST_CYCLES)
    what, cycle, tempo = chosen_cycle(what, tempo, home, "midi", MOST, cycles)
    quarter = _quarter(what, cycle, tempo)
    exact_us = tempo.tick_seconds(what) * quarter * 10**6
    us = round(exact_us)
    if us > MOST_US:
        bpm = numbers.number(60 * 10**6 / exact_us, 4)
        raise Refusal(
            f"tempo={short(tempo)} is {bpm} quarters a minute, fewer than the 3.58 that a "
            f"MIDI file holds ({MOST_US:,} microseconds to a quarter)",
            f"{_CALL})",
            argument="tempo",
        )
    counted = count_in_ticks(cycle, tempo.beat_ticks(what), count_in, f"{_CALL}, count_in=4)")
    clock = _Clock.of(cycle, quarter, cycles, -int(counted[0]) if len(counted) else 0)
    rows = lane_rows(cycle.lanes, Mix())
    drums = [drum(row.sound, lane.limb) for row, lane in zip(rows, cycle.lanes, strict=True)]
    title = descriptions.pair(what) if isinstance(what, Polyrhythm) else name_of(what)

    events = cycles * (bounds.size_of(cycle) + 1)
    work = f"{numbers.plural(events, 'event')} of MIDI"
    long = say(work, seconds=events * _EVENT_S, instead="Fewer cycles take less.", steps=True)
    tracks = [_conductor(title, us, cycle, getattr(what, "metre", None), clock)]
    if len(counted):
        marks = {0: ACCENT}
        tracks.append(_track("count-in", clock.once(counted), marks, drum("click").general_midi, clock))
    worst = Fraction(0)
    each_lane = zip(cycle.lanes, drums, cycle.powers, strict=True)
    for lane, sound, power in shown(each_lane, len(drums), work, long=long):
        at, off = clock.all(lane.onsets)
        worst = max(worst, off)
        if len(at) and np.diff(at, append=clock.end).min() < 2:
            raise Refusal(
                f"lane {lane.name!r} has strokes nearer than two of the {clock.per_quarter:,} "
                "ticks to a quarter that a MIDI file holds; count from a faster home",
                f"{_CALL}, home=0)",
            )
        ghost, plain, accent = (max(1, round(one * float(power) ** 0.25)) for one in (GHOST, PLAIN, ACCENT))
        velocities = dict.fromkeys(np.flatnonzero(np.isin(lane.onsets, lane.ghosts)).tolist(), ghost)
        velocities |= dict.fromkeys(np.flatnonzero(np.isin(lane.onsets, lane.accents)).tolist(), accent)
        name, each = _track_name(lane, sound), len(lane.onsets)
        tracks.append(_track(name, at, velocities, sound.general_midi, clock, each, plain))
    worst_us = float(worst * us / clock.per_quarter)
    sounds = [
        f"{lane.name} on {row.sound} (key {sound.general_midi})"
        for lane, row, sound in zip(cycle.lanes, rows, drums, strict=True)
        if len(lane.onsets)
    ]
    seconds = Fraction(us, 10**6) * Fraction(cycles * cycle.ticks) / quarter
    beats = f" after a count-in of {numbers.plural(len(counted), 'beat')}" if len(counted) else ""
    return Midi(
        _file(tracks, clock.per_quarter),
        clock.per_quarter,
        60 * Fraction(10**6, us),
        worst_us,
        exact_us / us - 1,
        f"{title}, {numbers.plural(cycles, 'cycle')}, {numbers.seconds(seconds)}{beats}: "
        f"{sentences.listed(sounds) or 'silence'}. {_exactness(clock.per_quarter, worst_us)}"
        f"{_another_tempo(exact_us, us)}",
    )


def _another_tempo(asked: Fraction, written: int) -> str:
    """Say at which tempo a file plays, where that is another by what a metronome could show: 0.01 bpm."""
    meant, plays = (60 * 10**6 / Fraction(us) for us in (asked, written))
    if abs(plays - meant) < Fraction(1, 100):
        return ""
    one, other = (numbers.number(bpm, 2) for bpm in (plays, meant))
    return f" It plays at {one} quarters a minute, the nearest to {other} that a MIDI file holds."


def _exactness(per_quarter: int, worst_us: float) -> str:
    ticks = f"{per_quarter} ticks to a quarter"
    if not worst_us:
        return f"{ticks} hold every stroke exactly."
    return (
        f"{ticks} are the most that fit: the worst stroke is {numbers.number(worst_us, 1)} microseconds off."
    )


def _quarter(what: Polyrhythm | Cycle, cycle: Cycle, tempo: Tempo) -> Fraction:
    """Return the ticks of the cycle that are a quarter in the file."""
    metre = getattr(what, "metre", None)
    if isinstance(metre, Metre):
        return Fraction(metre.parts * metre.unit, 4)
    beats = cycle.beats
    lengths = set(np.diff(beats, append=beats[:1] + cycle.ticks).tolist())
    return Fraction(lengths.pop() if len(lengths) == 1 else tempo.beat_ticks(what))


@dataclass(frozen=True, slots=True)
class _Clock:
    """From ticks of the cycle to ticks of the file, each rounded once, half up."""

    ticks: int
    quarter: Fraction
    cycles: int
    lead: int
    per_quarter: int

    @classmethod
    def of(cls, cycle: Cycle, quarter: Fraction, cycles: int, lead: int) -> "_Clock":
        """Choose the smallest resolution of at least 480 that is exact, or the finest that fits."""
        step = reduce(
            lambda so_far, ticks: gcd(so_far, int(np.gcd.reduce(ticks))) if len(ticks) else so_far,
            [*(lane.onsets for lane in cycle.lanes), cycle.bars, cycle.beats],
            gcd(cycle.ticks, lead),
        )
        exact = (step / quarter).denominator
        fits = exact <= MOST_TICKS
        per_quarter = exact * -(-LEAST_TICKS // exact) if fits else OTHER_TICKS
        clock = cls(cycle.ticks, quarter, cycles, lead, per_quarter)
        if clock.end > MOST_DELTA:
            raise Refusal(
                f"cycles={short(cycles)} are {clock.end:,} ticks of the file, more than the "
                f"{MOST_DELTA:,} that a MIDI file holds; take fewer, or count from a slower home",
                f"{_CALL})",
                argument="cycles",
            )
        return clock

    @property
    def _ratio(self) -> tuple[int, int]:
        return (self.per_quarter / self.quarter).as_integer_ratio()

    @property
    def end(self) -> int:
        """Tick of the file on which the last cycle ends."""
        return self.at(self.cycles * self.ticks)

    def at(self, tick: int) -> int:
        """Return the tick of the file for a tick from the beginning of the first cycle."""
        top, bottom = self._ratio
        return nearest((tick + self.lead) * top, bottom)

    def once(self, ticks: Ticks) -> Ticks:
        """Return the ticks of the file for some ticks of the count-in."""
        return np.array([self.at(tick) for tick in ticks.tolist()], dtype=np.int64)

    def all(self, onsets: Ticks) -> tuple[Ticks, Fraction]:
        """Return the ticks of the file of a lane in all cycles, and the worst rounding in ticks."""
        top, bottom = self._ratio
        small = 2 * (self.lead + self.cycles * self.ticks) * top + bottom < 2**63
        turns = np.arange(self.cycles, dtype=np.int64 if small else object)[:, None] * self.ticks
        places = (turns + onsets.astype(turns.dtype) + self.lead).ravel() * top
        at = nearest(places, bottom)
        off = abs(at * bottom - places).max() if len(places) else 0
        return at.astype(np.int64), Fraction(int(off), bottom)


def _conductor(title: str, us: int, cycle: Cycle, metre: Metre | None, clock: _Clock) -> "MidiTrack":
    """Return the first track: title, tempo, time signatures and markers."""
    from mido import MetaMessage, MidiTrack

    events: list[tuple[int, object]] = [
        (0, MetaMessage("track_name", name=_printable(title))),
        (0, MetaMessage("set_tempo", tempo=us)),
    ]
    events += [
        (tick, MetaMessage("time_signature", **kept)) for tick, kept in _signatures(cycle, metre, clock)
    ]
    events += [(tick, MetaMessage("marker", text=text)) for tick, text in _markers(cycle, clock)]
    events.sort(key=lambda event: event[0])
    now, track = 0, MidiTrack()
    for tick, message in [*events, (clock.end, MetaMessage("end_of_track"))]:
        message.time, now = tick - now, tick
        track.append(message)
    return track


def _markers(cycle: Cycle, clock: _Clock) -> list[tuple[int, str]]:
    """Return a marker for each cycle, and one for each place where all lanes meet."""
    rows = [lane.onsets for lane in cycle.lanes if len(lane.onsets)]
    meet = reduce(np.intersect1d, rows).tolist() if len(rows) > 1 else []
    found = []
    for turn in range(clock.cycles):
        together = ": all together" if meet[:1] == [0] else ""
        found.append((clock.at(turn * clock.ticks), f"cycle {turn + 1}{together}"))
        found += [(clock.at(turn * clock.ticks + tick), "all together") for tick in meet if tick]
    return found


def _signatures(cycle: Cycle, metre: Metre | None, clock: _Clock) -> list[tuple[int, dict[str, int]]]:
    """Return where time signatures change, as far as the format can write them."""
    wanted = []
    if clock.lead:
        wanted.append((-clock.lead, _signature(clock.lead, clock.quarter)))
    if isinstance(metre, Metre):
        clicks = Fraction(96 * metre.groups[0], metre.unit) if metre.even else Fraction(96, metre.unit)
        if clicks.denominator > 1 or not 1 <= clicks <= 255:
            clicks = Fraction(24)
        fits = metre.count <= 255
        own = _time_signature_fields(metre.count, metre.unit, int(clicks)) if fits else None
        if wanted and clock.lead == metre.ticks:
            wanted = [(-clock.lead, own)]
        wanted.append((0, own))
    else:
        bars = cycle.bars.tolist() if len(cycle.bars) and not cycle.bars[0] else [0]
        lengths = np.diff([*bars, cycle.ticks]).tolist()
        each = list(zip(bars, (_signature(length, clock.quarter) for length in lengths), strict=True))
        turns = clock.cycles if len(set(lengths)) > 1 else 1
        wanted += [(turn * clock.ticks + bar, kept) for turn in range(turns) for bar, kept in each]
    found: list[tuple[int, dict[str, int]]] = []
    for tick, kept in wanted:
        if kept and (not found or found[-1][1] != kept):
            found.append((clock.at(tick), kept))
    return found


def _signature(length: int, quarter: Fraction) -> dict[str, int] | None:
    """Return the time signature of a bar, in quarters or the longest shorter note, or none that fits."""
    count = Fraction(length) / quarter
    unit = 4 * count.denominator
    if unit & (unit - 1) or unit > 64 or count.numerator > 255:
        return None
    return _time_signature_fields(count.numerator, unit, 24)


def _time_signature_fields(count: int, unit: int, clicks: int) -> dict[str, int]:
    """Return the fields of a time signature as a MIDI message takes them."""
    return {"numerator": count, "denominator": unit, "clocks_per_click": clicks}


def _track(
    name: str,
    at: Ticks,
    velocities: dict[int, int],
    key: int,
    clock: _Clock,
    each: int = 0,
    plain: int = PLAIN,
) -> "MidiTrack":
    """Return the track of a lane: a note at each tick, no longer than half way to the next.

    `velocities` are those of the strokes of a cycle of `each` strokes that are not `plain`.
    """
    from mido import Message, MetaMessage, MidiTrack

    def maker(kind: str) -> Callable[[int, int], Message]:
        made: dict[tuple[int, int], Message] = {}

        def message(delta: int, velocity: int) -> Message:
            """Return one that is shared by all notes like it: few differ, and nothing changes them."""
            if (delta, velocity) not in made:
                note = {"channel": CHANNEL, "note": key, "velocity": velocity}
                made[delta, velocity] = Message(kind, time=delta, **note)
            return made[delta, velocity]

        return message

    on, off = maker("note_on"), maker("note_off")
    track = MidiTrack([MetaMessage("track_name", name=_printable(name), time=0)])
    lengths = np.clip(np.diff(at, append=clock.end) // 2, 1, clock.per_quarter // 8)
    waits = np.diff(at, prepend=0)
    waits[1:] -= lengths[:-1]
    for i, (wait, length) in enumerate(zip(waits.tolist(), lengths.tolist(), strict=True)):
        track.append(on(wait, velocities.get(i % each if each else i, plain)))
        track.append(off(length, 0))
    last = int(at[-1] + lengths[-1]) if len(at) else 0
    track.append(MetaMessage("end_of_track", time=clock.end - last))
    return track


def _track_name(lane: Lane, sound: Drum) -> str:
    """Say what a lane is, on which drum and with which limb, each once."""
    name = lane.name.strip()
    more = [said for said in (sound.sound, lane.limb) if said and said.lower() not in name.lower()]
    return ", ".join(filter(None, (name, *dict.fromkeys(more))))


def _printable(text: str) -> str:
    """Return a text without what cannot be seen, short enough for a name of a track."""
    return "".join(c if unicodedata.category(c)[0] != "C" else " " for c in text[:200])


def _file(tracks: Sequence["MidiTrack"], per_quarter: int) -> bytes:
    """Return tracks as the bytes of a MIDI file of format 1."""
    from mido import MidiFile

    out = io.BytesIO()
    MidiFile(type=1, ticks_per_beat=per_quarter, charset="utf-8", tracks=list(tracks)).save(file=out)
    return out.getvalue()

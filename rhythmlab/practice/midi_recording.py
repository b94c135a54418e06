"""A take from a recording of an electronic kit: a MIDI file read, its notes given to the lanes."""

import io
import os
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import floor
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from rhythmlab.core.check import index, path, short, whole
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm, as_rhythm
from rhythmlab.core.tempo import Speed, tempo_given
from rhythmlab.core.types import Ticks
from rhythmlab.playing.percussion import drum
from rhythmlab.practice import take
from rhythmlab.practice.journal import named, opened
from rhythmlab.practice.take import MOST_CYCLES, MOST_STROKES, Take
from rhythmlab.refusal import Refusal, on_disk
from rhythmlab.text import numbers

if TYPE_CHECKING:
    from mido import MidiFile
#: Largest file, most events in it, most tracks, and longest recording, in seconds: hours of playing.
MOST_BYTES, MOST_EVENTS, MOST_TRACKS, MOST_SECONDS = 1_000_000, 250_000, 1_000, 7_200
#: Keys that kits send for other places on the same instrument (General MIDI where it has a name for them;
#: 22 and 26 are the edge of the hi-hat: common practice, no source). A note goes to the lane of its own key
#: first, and only then to a lane of its family.
FAMILIES = (
    (35, 36),  # bass drums
    (37, 38, 40),  # side stick or rim, snare, rim shot
    (22, 26, 42, 46),  # hi-hat with a hand: edge closed and open, closed, open
    (44,),  # hi-hat with the foot
    (51, 53, 59),  # ride, its bell, a second ride
    (47, 48, 50),  # toms that are not on the floor
    (41, 43, 45),  # floor toms and the low one
    (49, 57),  # crash cymbals
    (76,),
    (77,),
    (60, 61, 62, 63, 64),  # hand drums
)
#: What lanes that say only "click" are written as in MIDI files made here: the lanes' sounds in their order.
PLAIN_SOUNDS = ("high wood block", "low wood block", "bell", "hand drum")
#: The marker that says where the first cycle begins.
_BEGINS = re.compile(r"cycle 1\b")
#: A call, to be completed with a bracket or more arguments.
_CALL = 'practice.take_from_midi("kit.mid", (7, 4), 72'


@public(f"{_CALL})", cycle="what")
def take_from_midi(
    file: str | Path | bytes,
    what: Rhythm,
    tempo: Speed,
    *,
    notes: Mapping[int, int | str] | None = None,
    cycles: int | None = None,
    begins: float | None = None,
    offset_ms: float = 0.0,
    lanes: tuple[int, ...] | None = None,
    limbs: str = "",
    home: int | None = None,
    when: str = "",
    id: str = "",
) -> Take:
    """Read a recording from an electronic kit as a take.

    Every note-on is a stroke, on whichever channel; one of velocity 0 is the end of a note, as the format
    says, and no stroke. The tempos in the file give each stroke its time; how fast it was meant to be is
    `tempo`. Notes that belong to no lane are left out.

    Parameters
    ----------
    file : str, Path or bytes
        A Standard MIDI File of format 0 or 1, or what is in one; at most 1 MB.
    cycle : Cycle or Polyrhythm
        What was to be played.
    tempo : Tempo or number
        How fast.
    notes : dict, optional
        Key number to lane, by index or by name. When left out, each lane has the key of its sound and limb
        (see `rhythmlab.playing.percussion.drum`) and the other keys of the same instrument that no other
        lane has, such as rim and edge (`FAMILIES`). A lane that says only "click" has the wood block, bell
        or hand drum that a MIDI file made here has, and for a foot the bass drum or the hi-hat's pedal.
    cycles : int, optional
        How often the cycle was to be played; when left out, as often as the notes reach its last stroke.
        Strokes after the end stay in the take, and are judged as such.
    begins : float, optional
        Seconds in the file where the first cycle begins. When left out, a marker ``cycle 1`` says it, as in
        a file that was made here and recorded into; without one the first note that belongs to a lane is
        taken for the first stroke of the cycle, so there must be no count-in on a drum that has a lane.
    offset_ms : float
        As for `Take`.
    lanes : tuple of int, optional
        Lanes that were to be played; when left out, those that have a note in the recording.
    limbs, home, when, id
        As for `Take`.

    Returns
    -------
    Take
        Its strokes by time, with the seconds from the beginning of the first cycle; those of a count-in are
        below 0.

    Raises
    ------
    ValueError
        If the file is no MIDI file, is cut off or damaged, is of format 2 or timed in film frames, is too
        large or too long, or holds no note that belongs to a lane.
    IndexError
        If a note is given to a lane that is not there.
    FileNotFoundError, OSError
        If there is no such file, or it cannot be read.

    Examples
    --------
    >>> from mido import Message, MidiFile, MidiTrack
    >>> played = [Message("note_on", channel=9, note=key, time=time) for key, time in [(36, 0), (38, 490)]]
    >>> MidiFile(tracks=[MidiTrack(played)], ticks_per_beat=480).save(file=(out := io.BytesIO()))
    >>> cycle = Cycle(2, [Lane("kick", [0], sound="bass drum"), Lane("snare", [1], sound="snare")], [0, 1])
    >>> take = take_from_midi(out.getvalue(), cycle, 120)
    >>> take.tap_lanes, take.tap_times.round(4)
    (array([0, 1]), array([0.    , 0.5104]))
    """
    found = as_rhythm(what, "what", f"{_CALL})")
    if isinstance(found, Polyrhythm) and sum(found.pulses) > MOST_STROKES:
        raise Refusal(
            f"{short(found)} has {sum(found.pulses):,} strokes, more than one take holds ({MOST_STROKES:,})",
            f"{_CALL})",
        )
    tempo = tempo_given(tempo, found, home if isinstance(found, Polyrhythm) else None, f"{_CALL})")
    cycle = found.cycle(home) if isinstance(found, Polyrhythm) else found
    if cycles is not None:
        cycles = whole(cycles, "cycles", f"{_CALL}, cycles=4)", most=MOST_CYCLES)
    if lanes is not None:
        lanes = take.checked_lanes(lanes, "", len(cycle.lanes))
    lane_of = _default_lanes(cycle.lanes) if notes is None else _lanes_given(notes, cycle.lanes)
    recording = _read(_contents(file))
    strokes = [(time, lane_of[key]) for time, key in recording.notes if key in lane_of]
    if not strokes:
        raise _no_lane(recording, cycle.lanes, lane_of)
    if len(strokes) > MOST_STROKES:
        raise Refusal(
            f"the recording has {len(strokes):,} strokes, more than one take holds ({MOST_STROKES:,}); "
            "cut it to its first minutes",
            f"{_CALL})",
        )
    if lanes is None:
        lanes = tuple(sorted({lane for _, lane in strokes}))
    tick = tempo.tick_seconds(cycle)
    begin = _beginning(begins, recording, strokes, cycle, lanes, tick)
    times = [float(time - begin) for time, _ in strokes]
    if times[-1] < -tick * cycle.ticks / 2:
        raise Refusal(
            f"the first cycle would begin {numbers.seconds(begin)} into the recording, after its last stroke",
            "begins=0",
        )
    if times[-1] - min(times[0], 0.0) > MOST_SECONDS:
        raise Refusal(
            f"the strokes reach over {numbers.seconds(times[-1] - min(times[0], 0.0))} ({recording.ticks:,} "
            "ticks of the file); one take lasts two hours at most; cut the recording to its "
            "first minutes",
            f"{_CALL})",
        )
    if cycles is None:
        cycles = _turns(times[-1], cycle, lanes, tick)
    return Take(
        cycle=cycle,
        tempo=tempo,
        cycles=cycles,
        start=0,
        stop=cycle.ticks,
        mode="one pulse" if len(lanes) == 1 else "both pulses",
        lanes=lanes,
        tap_lanes=[lane for _, lane in strokes],
        tap_times=times,
        offset_ms=offset_ms,
        limbs=limbs,
        when=when,
        id=id,
        home=home,
        input="midi",
    )


def _beginning(
    begins: object,
    recording: "_Recording",
    strokes: list[tuple[Fraction, int]],
    cycle: Cycle,
    lanes: tuple[int, ...],
    tick: Fraction,
) -> Fraction:
    """Return the seconds in the file where the first cycle begins."""
    if begins is not None:
        return Fraction(take.finite(begins, "begins", f"{_CALL}, begins=0)"))
    if recording.marker is not None:
        return recording.marker
    return strokes[0][0] - int(_line(cycle, lanes)[:1].sum()) * tick


def _turns(last: float, cycle: Cycle, lanes: tuple[int, ...], tick: Fraction) -> int:
    """Return in how many cycles the last stroke of the line was played, up to half its gap early."""
    line = _line(cycle, lanes)
    if not len(line):
        return 1
    end = int(line[-1])
    gap = end - (int(line[-2]) if len(line) > 1 else end - cycle.ticks)
    return max(1, floor((last / float(tick) + gap / 2 - end) / cycle.ticks) + 1)


def _line(cycle: Cycle, lanes: tuple[int, ...]) -> Ticks:
    """Return the merged line of the lanes played."""
    count = len(cycle.lanes)
    chosen = [cycle.lanes[index(lane, count, "lane", "lanes")] for lane in lanes]
    return composite(Cycle(cycle.ticks, chosen, beats=cycle.beats)).onsets


def _default_lanes(lanes: tuple[Lane, ...]) -> dict[int, int]:
    """Return the lane of each key, as lanes are written here and kits send them."""
    own: dict[int, int] = {}
    wider: list[tuple[int, int]] = []
    for i, lane in enumerate(lanes):
        plain = lane.sound == "click"
        try:
            key = drum(PLAIN_SOUNDS[i % len(PLAIN_SOUNDS)] if plain else lane.sound, lane.limb).general_midi
        except ValueError:  # a sound that no drum stands for
            continue
        if key in own:
            raise Refusal(
                f"lanes {short(lanes[own[key]].name)} and {short(lane.name)} are both on key "
                f"{key}, so a note does not say which was played; say it by another key",
                f"notes={{{key}: {own[key]}, {key + 1}: {i}}}",
            )
        own[key] = i
        keys = [key]
        if plain and "foot" in lane.limb:
            keys.append(44 if "left" in lane.limb else 36)
        wider += [(other, i) for family in FAMILIES if not {*keys}.isdisjoint(family) for other in family]
    for key, i in wider:
        own.setdefault(key, i)
    return own


def _lanes_given(notes: object, lanes: tuple[Lane, ...]) -> dict[int, int]:
    """Return the lane of each key as the caller says it."""
    names, example = [lane.name for lane in lanes], f"{_CALL}, notes={{76: 0, 77: 1}})"
    if not isinstance(notes, Mapping) or not notes:
        raise Refusal(f"notes={short(notes)} do not say which lane a key has", example, argument="notes")
    found = {}
    for key, lane in notes.items():
        if whole(key, "a key of notes", example, least=0) > 127:
            raise Refusal(f"notes has key {short(key)}, and MIDI has 0 to 127", example)
        if isinstance(lane, str):
            if names.count(lane) != 1:
                raise Refusal(f"notes has lane {short(lane)}, and the lanes are {short(names)}", example)
            lane = names.index(lane)
        found[int(key)] = index(lane, len(lanes), "lane", "lanes")
    return found


def _no_lane(recording: "_Recording", lanes: tuple[Lane, ...], lane_of: dict[int, int]) -> Refusal:
    """Return the refusal of a recording in which no note has a lane."""
    if not recording.notes:
        return Refusal("the recording has no notes in it; give a file recorded while you play", f"{_CALL})")
    counts = Counter(key for _, key in recording.notes)
    found = numbers.some([f"{key} ({numbers.times(count)})" for key, count in sorted(counts.items())])
    pairs = zip((key for key, _ in counts.most_common()), range(len(lanes)), strict=False)
    given = ", ".join(f"{key}: {lane}" for key, lane in pairs)
    wanted = (
        ", ".join(f"{key} for {short(lanes[lane].name)}" for key, lane in sorted(lane_of.items())) or "none"
    )
    return Refusal(
        f"no note of the recording has a lane: it has the keys {found}, and the lanes have {wanted}; say "
        "which key is which lane",
        f"notes={{{given}}}",
    )


@dataclass(frozen=True, slots=True)
class _Recording:
    """What a MIDI file holds: seconds and key of each note, where the marker is, and its length in ticks."""

    notes: list[tuple[Fraction, int]]
    marker: Fraction | None
    ticks: int


def _contents(file: object) -> bytes:
    """Return the bytes of a file, at most one more than are read."""
    if isinstance(file, bytes | bytearray | memoryview):
        return bytes(memoryview(file).cast("B")[: MOST_BYTES + 1])
    if not isinstance(file, str | os.PathLike):
        raise Refusal(f"file={short(file)} is neither a path nor bytes", f"{_CALL})", argument="file")
    place = path(file, "file", f"{_CALL})")
    try:
        with opened(place, os.O_RDONLY) as fd, os.fdopen(os.dup(fd), "rb") as read:
            return read.read(MOST_BYTES + 1)
    except OSError as error:
        reason = "there is no such file" if isinstance(error, FileNotFoundError) else error.strerror
        raise on_disk(error, f"file={named(place)!r} cannot be read: {reason}", f"{_CALL})") from error


def _read(data: bytes) -> _Recording:
    """Read a MIDI file, or say what is wrong with it."""
    from mido import MidiFile

    _checked(data)
    try:
        file = MidiFile(file=io.BytesIO(data), clip=True)
    except EOFError:
        raise _refused("is cut off before its end", "record or export it again") from None
    except Exception as error:  # the reader lets through whatever a damaged file makes it do
        reason = str(error)[:80] or type(error).__name__
        raise _refused(f"is damaged ({reason})", "record or export it again") from None
    if sum(map(len, file.tracks)) > MOST_EVENTS:
        raise _refused(f"has more than {MOST_EVENTS:,} events", "cut it")
    return _timed(file)


def _checked(data: bytes) -> None:
    """Refuse by its first bytes what cannot be a recording of a kit."""
    if not data:
        raise _refused("is empty", "record or export it again")
    if len(data) > MOST_BYTES:
        raise _refused(f"has more than {MOST_BYTES:,} bytes", "cut it")
    if data[:4] != b"MThd":
        raise _refused("is not a MIDI file", "export it as a Standard MIDI File")
    if len(data) < 14:
        raise _refused("is cut off before its end", "record or export it again")
    form, tracks, division = (int.from_bytes(data[at : at + 2], "big") for at in (8, 10, 12))
    if form == 2:
        raise _refused("is of format 2, patterns without a common time", "export it as format 1")
    if form > 2:
        raise _refused(f"is of format {form}, which there is not", "export it as format 1")
    if division >= 2**15:
        raise ValueError(
            _refused("is timed in film frames (SMPTE), not in quarters", "export it with ticks to a quarter")
        )
    if not division:
        raise _refused("has no ticks to a quarter", "record or export it again")
    if tracks > MOST_TRACKS:
        raise _refused(f"has more than {MOST_TRACKS:,} tracks", "export only the drums")
    if re.search(rb"[\x80-\xff]{1024}", data):  # as a number this would take forever to read
        raise _refused("is damaged (a number without an end)", "record or export it again")


def _refused(wrong: str, instead: str) -> Refusal:
    """Return the refusal of a file, with what to do instead."""
    return Refusal(f"the MIDI file {wrong}; {instead}", f"{_CALL})")


def _timed(file: "MidiFile") -> _Recording:
    """Give every note its seconds, by the tempos of all tracks, in whole numbers."""
    tempos, notes, marks = [(0, 500_000)], [], []
    end = 0
    for track in file.tracks:
        now = 0
        for message in track:
            now += message.time
            if message.type == "note_on" and message.velocity:
                notes.append((now, message.note))
            elif message.type == "set_tempo":
                tempos.append((now, message.tempo))
            elif message.type in ("marker", "cue_marker") and _BEGINS.match(message.text):
                marks.append(now)
        end = max(end, now)
    if end >= 2**40:
        raise _refused("lasts for more ticks than anyone plays", "record or export it again")
    if not all(us for _, us in tempos):
        raise _refused("has a tempo of 0", "record or export it again")
    tempos.sort(key=lambda event: event[0])
    notes.sort()
    starts = [0]  # microseconds times ticks to a quarter, where each tempo begins
    for (tick, us), (after, _) in pairwise(tempos):
        starts.append(starts[-1] + (after - tick) * us)
    changes = np.array([tick for tick, _ in tempos], dtype=np.int64)
    scale = file.ticks_per_beat * 10**6

    def seconds(ticks: list[int]) -> list[Fraction]:
        which = np.searchsorted(changes, ticks, side="right") - 1
        rows = zip(ticks, which.tolist(), strict=True)
        return [Fraction(starts[i] + (tick - tempos[i][0]) * tempos[i][1], scale) for tick, i in rows]

    times = seconds([tick for tick, _ in notes])
    marker = seconds(sorted(marks)[:1])
    played = list(zip(times, (key for _, key in notes), strict=True))
    return _Recording(played, marker[0] if marker else None, end)

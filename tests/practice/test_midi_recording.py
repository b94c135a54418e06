"""Recordings of electronic kits: strokes find their lanes and seconds, and bad files are told as such."""

import io
import os
import random
import struct
import tracemalloc
from fractions import Fraction
from time import perf_counter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from mido import Message, MetaMessage, MidiFile, MidiTrack

import rhythmlab as rl
from rhythmlab.audio.mix import LANE_SOUNDS
from rhythmlab.export.midi import midi
from rhythmlab.practice import midi_recording
from rhythmlab.practice.measure import measure
from rhythmlab.practice.midi_recording import FAMILIES, PLAIN_SOUNDS, take_from_midi
from rhythmlab.practice.take import Take
from tests.refusals import keywords, refusal
from tests.strategies import TRIES
from tests.wrong import in_time

KICK_SNARE = rl.Cycle(
    4,
    [
        rl.Lane("kick", [0, 2], limb="right foot", sound="bass drum"),
        rl.Lane("snare", [1, 3], limb="left hand", sound="snare"),
    ],
    beats=range(4),
)
TEMPO = rl.Tempo(120, ticks=1)
P = rl.Polyrhythm(4, 3)


def written(*tracks: list, division: int = 480, form: int = 1) -> bytes:
    """Return a MIDI file of these messages."""
    out = io.BytesIO()
    MidiFile(type=form, ticks_per_beat=division, tracks=[MidiTrack(track) for track in tracks]).save(file=out)
    return out.getvalue()


def played(*strokes: tuple[int, int], velocity: int = 90, channel: int = 9) -> list[Message]:
    """Return strokes, given by ticks since the one before and key, each with its end of velocity 0."""
    track = []
    for wait, key in strokes:
        track.append(Message("note_on", channel=channel, note=key, velocity=velocity, time=wait))
        track.append(Message("note_on", channel=channel, note=key, velocity=0, time=0))
    return track


def raw(events: bytes, division: int = 480, form: int = 0, tracks: int = 1) -> bytes:
    """Return a MIDI file of one track of these bytes."""
    head = b"MThd" + struct.pack(">LHHH", 6, form, tracks, division)
    return head + b"MTrk" + struct.pack(">L", len(events)) + events


BEAT = written(played((0, 36), (480, 38), (480, 36), (480, 38)))


def test_strokes_find_their_lanes_and_seconds():
    """At 120 a quarter is half a second; ends of notes are no strokes; the cycle is played once."""
    take = take_from_midi(BEAT, KICK_SNARE, TEMPO)
    assert take.tap_lanes.tolist() == [0, 1, 0, 1]
    assert take.tap_times.tolist() == [0, 0.5, 1, 1.5]
    assert (take.cycles, take.mode, take.lanes, take.input) == (1, "both pulses", (0, 1), "midi")


@TRIES
@given(
    st.sampled_from([(4, 3), (7, 4), (16, 15), (5, 5)]),
    st.integers(40, 200),
    st.integers(1, 3),
    st.booleans(),
)
def test_what_was_written_is_read_back(pair, bpm, cycles, count_in):
    """A file made here is a take of every stroke, at its time, in its cycles, with a count-in or without."""
    p = rl.Polyrhythm(*pair)
    tempo = rl.Tempo(bpm, pulse=1)
    made = midi(p, tempo, cycles=cycles, count_in=count_in)
    take = take_from_midi(made.data, p, tempo)
    assert (take.cycles, take.lanes) == (cycles, (0, 1))
    slower = 1 + float(made.tempo_error)
    for lane in (0, 1):
        assert take.played(lane) * slower == pytest.approx(take.meant(lane), abs=1e-9)


def test_a_take_of_a_kit_is_measured():
    """Feedback has what it needs: twelve milliseconds late in the snare are found."""
    late = round(0.012 * 960)
    strokes = [(0, 36), (480 + late, 38), (480 - late, 36), (480 + late, 38)]
    strokes += [(480 - late, 36), (480 + late, 38), (480 - late, 36), (480 + late, 38)]
    take = take_from_midi(written(played(*strokes)), KICK_SNARE, TEMPO, offset_ms=0.0)
    assert take.cycles == 2
    lanes = measure(take).lanes
    assert [lane.matched for lane in lanes] == [4, 4]
    assert lanes[1].mean_ms - lanes[0].mean_ms == pytest.approx(12, abs=1.1)


def test_the_tempos_of_the_file_are_kept():
    """A change in the middle, in a track of its own, counts from its tick on, whatever order tracks have."""
    tempos = [MetaMessage("set_tempo", tempo=1_000_000), MetaMessage("set_tempo", tempo=250_000, time=720)]
    notes = played((0, 36), (480, 38), (480, 36), (480, 38))
    for data in (written(tempos, notes), written(notes, tempos)):
        take = take_from_midi(data, KICK_SNARE, TEMPO)
        assert take.tap_times.tolist() == [0, 1, 1.625, 1.875]


@given(
    st.lists(st.tuples(st.integers(0, 2000), st.integers(1, 2**24 - 1)), max_size=6), st.integers(1, 32_767)
)
def test_any_tempos_add_up(changes, division):
    """The seconds are those of adding every stretch by itself, exactly."""
    events, now, us, wanted, track = [], Fraction(0), 500_000, [], []
    for wait, tempo in changes:
        now += Fraction(wait * us, division * 10**6)
        us = tempo
        wanted.append(now)
        track += [MetaMessage("set_tempo", tempo=tempo, time=wait), *played((0, 36))]
        events.append(wait)
    if wanted and wanted[-1] < 7000:
        take = take_from_midi(written(track, division=division), KICK_SNARE, TEMPO, begins=0, cycles=1)
        assert take.tap_times.tolist() == [float(time) for time in wanted]


def test_running_status_and_everything_else_in_a_file():
    """Control changes, bends, system messages, unknown meta events and other channels do not disturb."""
    events = b"\x00\xb9\x04\x40" + b"\x00\xf0\x03\x01\x02\xf7" + b"\x00\xff\x60\x02hi" + b"\x00\xe9\x00\x40"
    events += b"\x00\x99\x24\x40" + b"\x83\x60\x26\x40" + b"\x00\x24\x00" + b"\x83\x60\x24\x7f"
    events += b"\x83\x60\x90\x26\x40" + b"\x00\xff\x2f\x00"
    take = take_from_midi(raw(events), KICK_SNARE, TEMPO)
    assert take.tap_lanes.tolist() == [0, 1, 0, 1]
    assert take.tap_times.tolist() == [0, 0.5, 1, 1.5]


def test_rims_and_edges_go_to_their_drum():
    """Keys that kits send for other places of a drum have its lane, unless another lane has that key."""
    strokes = played((0, 35), (480, 40), (480, 36), (480, 37))
    assert take_from_midi(written(strokes), KICK_SNARE, TEMPO).tap_lanes.tolist() == [0, 1, 0, 1]
    hats = [
        rl.Lane("hat", [0], limb="right hand", sound="closed hi-hat"),
        rl.Lane("foot", [1], limb="left foot", sound="closed hi-hat"),
        rl.Lane("snare", [2], sound="snare"),
    ]
    cycle = rl.Cycle(4, hats, beats=[0])
    strokes = played(*((10, key) for key in (42, 46, 22, 26, 44, 38, 40)))
    assert take_from_midi(written(strokes), cycle, TEMPO).tap_lanes.tolist() == [0, 0, 0, 0, 1, 2, 2]
    assert len({key for family in FAMILIES for key in family}) == sum(map(len, FAMILIES))


def test_lanes_that_say_only_click():
    """They have the keys that files made here have, and a foot has its drum."""
    assert PLAIN_SOUNDS == LANE_SOUNDS
    strokes = written(played((0, 76), (10, 77)))
    assert take_from_midi(strokes, P, TEMPO_OF_P).tap_lanes.tolist() == [0, 1]
    feet = [rl.Lane("right", [0], limb="right foot"), rl.Lane("left", [1], limb="left foot")]
    strokes = written(played((0, 36), (10, 44), (10, 76), (10, 77)))
    found = take_from_midi(strokes, rl.Cycle(2, feet, beats=[0]), rl.Tempo(60, ticks=1))
    assert found.tap_lanes.tolist() == [0, 1, 0, 1]


TEMPO_OF_P = rl.Tempo(60, pulse=1)


def test_notes_are_given_to_lanes_by_number_or_name():
    """Only these, and what has none is left out."""
    data = written(played((0, 48), (480, 50), (480, 38), (480, 50)))
    for notes in ({48: 0, 50: 1}, {48: "kick", 50: "snare"}, {np.int64(48): np.int64(0), 50: 1}):
        take = take_from_midi(data, KICK_SNARE, TEMPO, notes=notes)
        assert take.tap_lanes.tolist() == [0, 1, 1]
    one = take_from_midi(data, KICK_SNARE, TEMPO, notes={50: 1})
    assert (one.mode, one.lanes) == ("one pulse", (1,))
    assert one.tap_times.tolist() == [0.5, 1.5]  # the snare's first stroke is the second of the cycle


def test_where_the_first_cycle_begins():
    """Said by the caller, else by a marker, else by the first note that has a lane."""
    marker = [MetaMessage("marker", text="cycle 1: all together", time=960)]
    notes = played((480, 36), (480, 38), (480, 36), (480, 38))
    plain, marked = written(notes), written(marker, notes)
    assert take_from_midi(plain, KICK_SNARE, TEMPO).tap_times[0] == 0
    assert take_from_midi(marked, KICK_SNARE, TEMPO).tap_times.tolist() == [-0.5, 0, 0.5, 1]
    assert take_from_midi(marked, KICK_SNARE, TEMPO, begins=0.25).tap_times[0] == 0.25
    other = written([MetaMessage("marker", text="cycle 10", time=960)], notes)
    assert take_from_midi(other, KICK_SNARE, TEMPO).tap_times[0] == 0
    count_in = written(played((0, 75), (480, 75), (480, 36), (480, 38), (480, 36), (480, 38)))
    assert take_from_midi(count_in, KICK_SNARE, TEMPO).tap_times[0] == 0  # sticks have no lane here


@pytest.mark.parametrize(
    ("pair", "strokes", "cycles"),
    [
        ((4, 3), 6, 1),
        ((4, 3), 7, 1),  # the landing
        ((4, 3), 12, 2),
        ((4, 3), 13, 2),
        ((4, 3), 16, 2),
        ((1, 1), 3, 3),
        ((2, 1), 5, 2),
        ((2, 1), 6, 3),
    ],
)
@pytest.mark.parametrize("early", [0, 15])
def test_cycles_are_those_that_reach_their_last_stroke(pair, strokes, cycles, early):
    """A landing begins no cycle, nor do a few strokes; a stroke that is early still ends one."""
    p = rl.Polyrhythm(*pair)
    line = rl.composite(p)
    ticks = [turn * p.ticks + tick for turn in range(9) for tick in line.onsets.tolist()][:strokes]
    at = [tick * 480 for tick in ticks]
    at[-1] -= early
    track = played(*((b - a, 76) for a, b in zip([0, *at], at, strict=False)))
    tempo = rl.Tempo(120, ticks=1)
    assert take_from_midi(written(track), p, tempo, notes={76: 0}, lanes=(0, 1)).cycles == cycles


def test_cycles_and_the_rest_can_be_said():
    """As for any take."""
    take = take_from_midi(
        BEAT, KICK_SNARE, TEMPO, cycles=3, offset_ms=-4, limbs="sticks", home=0, id="t", lanes=(0,)
    )
    assert (take.cycles, take.offset_ms, take.limbs, take.home, take.id) == (3, -4, "sticks", 0, "t")
    assert (take.mode, len(take.tap_times)) == ("one pulse", 4)


def test_a_file_is_read_from_disk(tmp_path):
    """By its path as text or as Path; one that is not there is told as such."""
    path = tmp_path / "kit.mid"
    path.write_bytes(BEAT)
    assert take_from_midi(path, KICK_SNARE, TEMPO) == take_from_midi(str(path), KICK_SNARE, TEMPO)
    missing = tmp_path / "none.mid"
    refusal(lambda: take_from_midi(missing, KICK_SNARE, TEMPO), "none.mid", "no such file", FileNotFoundError)
    refusal(lambda: take_from_midi(tmp_path, KICK_SNARE, TEMPO), str(tmp_path), "cannot be read", OSError)
    refusal(lambda: take_from_midi(7, KICK_SNARE, TEMPO), "file=7", "neither a path nor bytes")


NOTE = b"\x00\x99\x24\x40"
END = b"\x00\xff\x2f\x00"


@pytest.mark.parametrize(
    ("data", "wrong"),
    [
        (b"", "is empty"),
        (b"RIFF\x24\x00\x00\x00WAVEfmt ", "is not a MIDI file"),
        (b"MThd\x00\x00", "is cut off"),
        (BEAT[:14], "is cut off"),
        (BEAT[:-3], "is cut off"),
        (BEAT[:40], "is cut off"),
        (written(played((0, 36)), form=2), "is of format 2"),
        (raw(NOTE + END, form=7), "is of format 7"),
        (raw(NOTE + END, division=0xE728), "film frames (SMPTE)"),
        (raw(NOTE + END, division=0), "no ticks to a quarter"),
        (raw(NOTE + END, tracks=60_000), "more than 1,000 tracks"),
        (raw(b"\x00\x24\x40" + END), "is damaged"),
        (raw(b"\x00\xff\x51\x03\x00\x00\x00" + NOTE + END), "a tempo of 0"),
        (raw(b"\xff" * 500_000), "is damaged (a number without an end)"),
        (raw(b"\xff" * 300 + b"\x7f" + NOTE[1:] + END), "more ticks than anyone plays"),
        (raw(b"\x00\xff\x01\xff\xff\xff\x7fx"), "is damaged"),
        (b"MThd" + struct.pack(">LHHH", 6, 1, 0, 480), "has no notes in it"),
        (raw(END), "has no notes in it"),
        (raw(b"\x00\x99\x24\x00" + END), "has no notes in it"),
        (raw(NOTE * 1_000_000 + END), "more than 1,000,000 bytes"),
        (raw(NOTE + b"\x00\x24\x40" * 300_000 + END), "more than 250,000 events"),
        (raw(NOTE + b"\x00\x24\x40" * 200_000 + END), "200,001 strokes"),
    ],
    ids=lambda value: None if isinstance(value, bytes) else value[:20],
)
def test_a_bad_file_is_told_as_such(data, wrong):
    """One plain sentence, and what to do."""
    with pytest.raises(ValueError, match="for example") as caught:
        take_from_midi(data, KICK_SNARE, TEMPO)
    message = str(caught.value).replace("\N{NO-BREAK SPACE}", " ")
    assert wrong in message
    assert "\n" not in message
    assert len(message) < 300


def test_ten_million_ticks_are_told_with_their_number():
    """A wait of ten million ticks is nearly three hours."""
    data = raw(NOTE + b"\x84\xe2\xad\x00\x99\x26\x40" + END)
    refusal(
        lambda: take_from_midi(data, KICK_SNARE, TEMPO), "10,000,000 ticks of the file", "two hours at most"
    )


def test_notes_without_a_lane_are_named():
    """The message says what was found and what the lanes have, and its example works."""
    data = written(played((0, 48), (10, 50), (10, 50)))
    example = refusal(
        lambda: take_from_midi(data, KICK_SNARE, TEMPO),
        "48 (once), 50 (twice)",
        "no note of the recording",
    )
    take = take_from_midi(data, KICK_SNARE, TEMPO, **keywords(example))
    assert len(take.tap_times) == 3


def test_lanes_on_one_key_are_told_apart_first():
    """Two snares cannot be; the caller says which key is which."""
    twins = rl.Cycle(4, [rl.Lane("a", [0], sound="snare"), rl.Lane("b", [1], sound="snare")], beats=[0])
    data = written(played((0, 38), (10, 39)))
    example = refusal(lambda: take_from_midi(data, twins, TEMPO), "'a' and 'b'", "both on key 38")
    assert take_from_midi(data, twins, TEMPO, **keywords(example)).tap_lanes.tolist() == [0, 1]


@pytest.mark.parametrize(
    ("given_to", "named", "wrong", "error"),
    [
        ({"notes": {}}, "notes={}", "do not say", ValueError),
        ({"notes": [36]}, "notes=[36]", "do not say", ValueError),
        ({"notes": {128: 0}}, "key 128", "0 to 127", ValueError),
        ({"notes": {"36": 0}}, "'36'", "not a whole number", ValueError),
        ({"notes": {36: 2}}, "=2", "out of range", IndexError),
        ({"notes": {36: "bell"}}, "'bell'", "the lanes are", ValueError),
        ({"begins": float("nan")}, "begins=nan", "not a finite number", ValueError),
        ({"begins": 100}, "100 seconds", "after its last stroke", ValueError),
        ({"begins": -9000}, "9 001.5 seconds", "two hours at most", ValueError),
        ({"cycles": 0}, "cycles=0", "not a whole number", ValueError),
        ({"lanes": (2,)}, "=2", "out of range", IndexError),
        ({"when": "today"}, "when='today'", "UTC offset", ValueError),
    ],
)
def test_what_does_not_fit_is_refused(given_to, named, wrong, error):
    """The message says it."""
    with pytest.raises(error) as caught:
        take_from_midi(BEAT, KICK_SNARE, TEMPO, **given_to)
    message = str(caught.value).replace("\N{NO-BREAK SPACE}", " ")
    assert named in message
    assert wrong in message


def test_what_is_no_cycle_is_refused():
    """Nor a tempo."""
    refusal(lambda: take_from_midi(BEAT, "4:3", TEMPO), "what='4:3'", "is no rhythm: ")
    refusal(lambda: take_from_midi(BEAT, KICK_SNARE, "120"), "tempo='120'", "is neither a Tempo nor beats")
    same = take_from_midi(BEAT, KICK_SNARE, 120)
    assert same.as_row() == take_from_midi(BEAT, KICK_SNARE, TEMPO).as_row()


def _mutated(data: bytes, dice: random.Random) -> bytes:
    """Return a file with some of its bytes changed, cut out, put in, doubled or cut off."""
    made = bytearray(data)
    for _ in range(dice.choice((1, 1, 2, 3, 8))):
        at = dice.randrange(len(made) + 1)
        few = dice.choice((1, 1, 2, 4, 16))
        match dice.randrange(6):
            case 0 if made:
                made[at % len(made)] ^= 1 << dice.randrange(8)
            case 1:
                made[at : at + few] = dice.randbytes(few)
            case 2:
                del made[at : at + few]
            case 3:
                made[at:at] = dice.choice((dice.randbytes(few), b"\xff" * few, b"\x80" * few, b"\xf0"))
            case 4:
                made[at:at] = made[at : at + dice.randrange(64)]
            case _:
                del made[at if dice.random() < 0.3 else len(made) :]
    return bytes(made)


def test_mutated_files_are_a_take_or_a_clear_error():
    """Of 3 000 seeded ones none crashes, none hangs, and both ends are seen often."""
    everything = [
        MetaMessage("track_name", name="kit"),
        MetaMessage("key_signature", key="Eb"),
        MetaMessage("time_signature", numerator=4, denominator=4),
        MetaMessage("set_tempo", tempo=500_000),
        Message("sysex", data=(1, 2, 3)),
        MetaMessage("smpte_offset"),
        MetaMessage("sequencer_specific", data=(1, 2)),
        *played((0, 36), (480, 38), (480, 36), (480, 38)),
        MetaMessage("marker", text="cycle 1", time=3),
    ]
    bases = [
        BEAT,
        written(everything, played((0, 36), (480, 38)), form=1),
        written(everything, form=0, division=96),
        midi(rl.playing.accents("2+2+3/8", every=5), rl.Tempo(210, ticks=1), count_in=True).data,
    ]
    cycles = [KICK_SNARE, KICK_SNARE, KICK_SNARE, rl.playing.accents("2+2+3/8", every=5)]
    tempos = [TEMPO, TEMPO, TEMPO, rl.Tempo(210, ticks=1)]
    dice, takes = random.Random(64 * 63), 0
    said, begun = [], perf_counter()
    for turn in range(3_000):
        which = turn % len(bases)
        data = _mutated(bases[which], dice)
        try:
            takes += isinstance(take_from_midi(data, cycles[which], tempos[which]), Take)
        except ValueError as error:
            said.append(str(error))
    assert takes + len(said) == 3_000
    assert min(takes, len(said)) > 300
    assert all("for example" in text and "\n" not in text for text in said)
    assert perf_counter() - begun < 30


def test_what_the_reader_library_throws_is_never_seen(monkeypatch):
    """Whatever it is, the reader is told that the file is damaged."""
    for thrown in (KeyError("x"), TypeError("x"), MemoryError(), RecursionError("x"), OverflowError("x")):

        def fails(*_: object, thrown: Exception = thrown, **__: object) -> None:
            raise thrown

        monkeypatch.setattr("mido.MidiFile", fails)
        refusal(lambda: take_from_midi(BEAT, KICK_SNARE, TEMPO), "the MIDI file", "is damaged")


def test_the_limits_leave_room_for_practice():
    """An hour of ten strokes a second, with their ends and the pedal's position, fits."""
    assert midi_recording.MOST_EVENTS > 3600 * 10 * 3
    assert midi_recording.MOST_BYTES > 3600 * 10 * 3 * 5


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="makes a named pipe, which Windows lacks")
def test_what_is_no_plain_file_is_refused_at_once(tmp_path):
    """A pipe that nobody writes to does not hang."""
    os.mkfifo(tmp_path / "pipe.mid")
    with in_time(2):
        refusal(
            lambda: take_from_midi(tmp_path / "pipe.mid", KICK_SNARE, TEMPO),
            "pipe.mid",
            "not a plain",
            OSError,
        )


def test_no_more_is_read_than_a_recording_has(tmp_path):
    """Of half a gigabyte, on disk or in memory, a megabyte is looked at."""
    path = tmp_path / "large.mid"
    path.touch()
    os.truncate(path, 500_000_000)
    tracemalloc.start()
    try:
        for file in (path, memoryview(bytes(10_000_000))):
            refusal(
                lambda file=file: take_from_midi(file, KICK_SNARE, TEMPO),
                "MIDI file",
                "more than 1,000,000 bytes",
            )
        assert tracemalloc.get_traced_memory()[1] < 20_000_000
    finally:
        tracemalloc.stop()


def test_a_rhythm_that_no_take_holds_is_refused_before_it_is_laid_out():
    """A million strokes in a cycle are more than a take has."""
    p = rl.Polyrhythm(10**6 + 1, 10**6)
    with in_time(1):
        refusal(
            lambda: take_from_midi(BEAT, p, rl.Tempo(60, pulse=1)), "2,000,001 strokes", "more than one take"
        )

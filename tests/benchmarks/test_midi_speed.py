"""Speed of MIDI files; run it with ``python -m pytest tests/benchmarks -s``.

Ten minutes of 64 against 63 at 60 bpm of the 63, against building the same file with a general-purpose
library.
"""

import io

import mido
import pretty_midi

import rhythmlab as rl
from rhythmlab.export.midi import midi
from tests.benchmarks.interleaved import ratio

P, TEMPO, CYCLES = rl.Polyrhythm(64, 63), rl.Tempo(60, pulse=1), 10


def ours() -> bytes:
    """Return the file as this library makes it."""
    return midi(P, TEMPO, cycles=CYCLES).data


def peer() -> bytes:
    """Return the file built note by note, as the other library's documentation shows it."""
    made = pretty_midi.PrettyMIDI(resolution=512, initial_tempo=60)
    for lane, key in ((0, 76), (1, 77)):
        track = pretty_midi.Instrument(program=0, is_drum=True, name=str(P.pulses[lane]))
        step = P.step(lane)
        for turn in range(CYCLES):
            for tick in P.onsets(lane).tolist():
                start = (turn * P.ticks + tick) / 64
                note = pretty_midi.Note(
                    velocity=84, pitch=key, start=start, end=start + min(step / 128, 0.125)
                )
                track.notes.append(note)
        made.instruments.append(track)
    out = io.BytesIO()
    made.write(out)
    return out.getvalue()


def onsets(data: bytes) -> list[list[int]]:
    """Return the ticks of the notes of each track that has any."""
    found = []
    for track in mido.MidiFile(file=io.BytesIO(data)).tracks:
        now, ticks = 0, []
        for message in track:
            now += message.time
            if message.type == "note_on" and message.velocity:
                ticks.append(now)
        found.append(ticks)
    return [ticks for ticks in found if ticks]


def test_ten_minutes_are_written_faster_than_by_a_general_library():
    """The same strokes on the same ticks, in at most half the time."""
    assert CYCLES * TEMPO.cycle_seconds(P) >= 600
    assert onsets(ours()) == onsets(peer())
    measured = 1 / ratio(ours, peer, rounds=15)
    print(f"\nMIDI of ten minutes, times faster than pretty_midi: {measured:.1f} (limit 2)")
    assert measured >= 2

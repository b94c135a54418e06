"""What two results have in common for a reader, where they have no equality of their own."""

import io
from collections.abc import Callable

import mido
import numpy as np
from matplotlib.figure import Figure

from rhythmlab.audio.sound import Sound
from rhythmlab.export.midi import Midi
from rhythmlab.notation.score import Score
from rhythmlab.panels.panel import Panel
from rhythmlab.playing.fill import Fills
from rhythmlab.playing.hearing import Zones
from rhythmlab.practice.measure import Measures
from rhythmlab.practice.take import Take
from rhythmlab.refusal import Refusal


def told(call: Callable[[], object]) -> object:
    """Return what a call gives, as something to be compared; of a refusal that there is one."""
    try:
        return seen(call())
    except Refusal as error:
        return Refusal if error.example else error


def seen(value: object) -> object:
    """Return what is seen, heard or read of a value."""
    if isinstance(value, np.ndarray):
        return value.dtype, value.tolist()
    if isinstance(value, Score):
        return value.musicxml, value.alt
    if isinstance(value, Sound):
        rows = [(row.name, row.sound, row.ticks.tolist(), row.level, row.side) for row in value.rows]
        return rows, value.tick_seconds, value.start, value.stop, value.cycles, value.lead
    if isinstance(value, Midi):
        return value.ticks_per_quarter, value.bpm, strokes(value)
    if isinstance(value, Zones):
        return (
            value.gaps,
            value.codes.tolist(),
            value.flam_ms,
            value.tempo.tick_seconds(value.gaps.polyrhythm),
        )
    if isinstance(value, Figure):
        return value.axes[0].get_label()
    if isinstance(value, Fills):
        return [seen(one) for one in value], value.too_fast, value.describe()
    if isinstance(value, Take):
        row = value.as_row()
        return {
            name: one for name, one in row.items() if name not in ("pulse", "beat_ticks")
        }, value.tempo.tick_seconds(value.cycle)
    if isinstance(value, Measures):  # what is not known of few strokes is no number, and equal to none
        return repr(value.lanes), str(value)
    if isinstance(value, Panel):
        return value.feel, value.tempo, value.stage.pictures, value.stage.plan
    return value


def strokes(value: Midi) -> list[list[str]]:
    """Return the strokes of a file, lane by lane; the name of the whole is left to each."""
    tracks = mido.MidiFile(file=io.BytesIO(value.data)).tracks
    return [[str(message) for message in track] for track in tracks[1:]]

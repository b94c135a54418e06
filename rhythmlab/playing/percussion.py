"""How each sound is written on a drum staff and sent as MIDI; read from ``data/percussion.csv``.

Sources by key: weinberg1994 (places on the staff), gm1991 (keys of General MIDI, channel 10).
"""

from dataclasses import dataclass

from rhythmlab.core.check import short
from rhythmlab.refusal import Refusal
from rhythmlab.resources import table

_LANE = 'Lane("bell", [0, 2, 4], sound="snare")'


@dataclass(frozen=True, slots=True)
class Drum:
    """A sound as it is written and sent.

    Attributes
    ----------
    sound : str
        Its name here.
    foot : bool
        Whether a foot plays it: its stem points down.
    general_midi : int
        Its key number on channel 10 of General MIDI.
    pitch : str
        The pitch that would stand at its place on the staff in treble reading, such as ``"C5"``.
    head : str
        ``"normal"``, ``"x"``, ``"diamond"`` or ``"triangle"``.
    staff_source, staff_status : str
        Where its place is from, a key of ``data/sources.csv``, and how it is known.
    """

    sound: str
    foot: bool
    general_midi: int
    pitch: str
    head: str
    staff_source: str
    staff_status: str


def drums() -> tuple[Drum, ...]:
    """Return every sound as it is written and sent, in the order of the data file."""
    return tuple(
        Drum(
            row["sound"],
            row["foot"] == "yes",
            int(row["general_midi"]),
            row["pitch"],
            row["head"],
            row["staff_source"],
            row["staff_status"],
        )
        for row in table("percussion.csv")
    )


def drum(sound: str, limb: str = "") -> Drum:
    """Return how a sound is written and sent; a foot on the hi-hat is the pedal.

    Parameters
    ----------
    sound : str
        The sound of a lane.
    limb : str
        The limb of a lane.

    Raises
    ------
    ValueError
        If there is no such sound.

    Examples
    --------
    >>> drum("snare").pitch, drum("closed hi-hat", "left foot").general_midi
    ('C5', 44)
    """
    found = [row for row in drums() if row.sound == sound]
    if not found:
        known = ", ".join(dict.fromkeys(row.sound for row in drums()))
        raise Refusal(f"sound={short(sound)} is none of {known}", _LANE, argument="sound")
    return next((row for row in found if row.foot == ("foot" in limb)), found[0])

"""The hall: how late sound is across it, and what that means for a rhythm; asked once, and kept."""

import json
from fractions import Fraction
from math import gcd
from pathlib import Path

from rhythmlab import words
from rhythmlab.core.check import positive, short
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.files import aside, reason
from rhythmlab.panels.refused import FieldRefusal
from rhythmlab.sentences import say
from rhythmlab.working import place_for_files, write

#: Metres a second: sound in air at about 20 degrees (a physical constant, rounded).
SOUND = 343
#: The file that keeps the length, beside the journal.
FILE = "hall.json"
#: Longest hall that is believed, in metres.
LONGEST = 300
#: The name of the field that asks for it.
FIELD = "length of the room in metres"


def smallest_gap(p: Polyrhythm) -> int | None:
    """Return the narrowest gap between strokes of two pulses that do not meet, in ticks.

    Parameters
    ----------
    p : Polyrhythm
        Two or more pulses.

    Returns
    -------
    int or None
        ``None`` where all strokes meet.

    Examples
    --------
    >>> smallest_gap(Polyrhythm(16, 15)), smallest_gap(Polyrhythm(4, 4))
    (1, None)
    >>> smallest_gap(Polyrhythm(3, 4, 5))
    3
    """
    steps = [p.step(i) for i in range(len(p.pulses))]
    found = [gcd(a, b) for i, a in enumerate(steps) for b in steps[i + 1 :] if a != b]
    return min(found, default=None)


def late(metres: Fraction) -> Fraction:
    """Return how late sound is from one end of a hall to the other, in seconds.

    Examples
    --------
    >>> round(1000 * float(late(12)))
    35
    """
    return Fraction(metres) / SOUND


def hall_said(p: Polyrhythm, tempo: Tempo, metres: Fraction | None) -> str:
    """Say that a rhythm must be played side by side, where sound across the hall would blur it.

    Parameters
    ----------
    p : Polyrhythm
        What is played.
    tempo : Tempo
        How fast.
    metres : Fraction or None
        Length of the hall; nothing is said where it is not known.

    Examples
    --------
    >>> print(hall_said(Polyrhythm(16, 15), Tempo(100, pulse=1), 12))
    Stand side by side for the drift, not across the hall: over 12 m sound comes 35 ms late, and the \
smallest gap is 37.5 ms, less than twice that.
    >>> hall_said(Polyrhythm(7, 4), Tempo(72, pulse=1), 12)
    ''
    """
    ticks = smallest_gap(p)
    if metres is None or ticks is None:
        return ""
    gap = ticks * tempo.tick_seconds(p)
    if gap >= 2 * late(metres):
        return ""
    return say(
        "room.side_by_side",
        metres=words.number(metres),
        late=words.number(1000 * late(metres), 0),
        gap=words.number(1000 * gap, 1),
    )


def read_metres(text: str) -> Fraction | None:
    """Read the length of a hall that was typed; nothing typed is not known.

    Raises
    ------
    FieldRefusal
        If it is not a length in metres.

    Examples
    --------
    >>> read_metres("12,5"), read_metres(" 12 m"), read_metres("")
    (Fraction(25, 2), Fraction(12, 1), None)
    """
    typed = text.strip().removesuffix("m").strip().replace(",", ".")
    if not typed:
        return None
    digits = typed.replace(".", "", 1)
    if len(typed) > 9 or not (digits.isascii() and digits.isdigit()) or not 0 < Fraction(typed) <= LONGEST:
        said = f"{FIELD}: {short(text.strip())} is not a length in metres, up to {LONGEST}"
        raise FieldRefusal(FIELD, said, 12)
    return Fraction(typed)


def given_hall(hall: object) -> Fraction | None:
    """Return the length of the room that a call was given, or the one that was kept.

    Raises
    ------
    ValueError
        If it is not a length in metres.

    Examples
    --------
    >>> given_hall(12.5)
    Fraction(25, 2)
    """
    return kept_hall() if hall is None else positive(hall, "hall", "hall=12", most=LONGEST)


def place() -> Path:
    """Return where the length is kept: the reader's working folder, or the current one."""
    return place_for_files() / FILE


def kept_hall() -> Fraction | None:
    """Return the length that was asked for before, or ``None``."""
    try:
        return _read(place())
    except OSError:
        return None


def _read(path: Path) -> Fraction | None:
    """Return the length that a file holds, or ``None`` where it holds none."""
    try:
        return read_metres(str(json.loads(path.read_bytes())["metres"]))
    except (ValueError, KeyError, TypeError, RecursionError):
        return None


def keep_hall(metres: Fraction) -> str:
    """Keep the length of the hall, and say so, or why it could not be kept."""
    about = "kept by rhythmlab: the length of the hall in metres"
    text = json.dumps({"about": about, "metres": f"{float(metres):g}"}) + "\n"
    said = f"Kept in {FILE}, beside the journal."
    try:
        if place().exists() and _read(place()) is None:  # it was damaged, or is not ours
            said += f" What was in it is in {aside(place()).name} now."
        write(place(), text.encode())
    except OSError as error:
        return f"It holds for this page only, since {FILE} cannot be written: {reason(error)}."
    return said

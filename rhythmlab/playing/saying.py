"""How fast the parts of a beat can be said: up to which tempo words are asked for, and what is said of it."""

from fractions import Fraction
from math import floor

from rhythmlab.playing.limits import Limits, limits_or

#: A beat slower than this is not counted: the slide of a wall goes no slower.
SLOWEST_BEAT = 20


def said_up_to(parts: Fraction, limits: Limits | None = None) -> Fraction:
    """Return how many parts a minute are said at most, of those that are asked for.

    Examples
    --------
    >>> said_up_to(Fraction(72 * 7)), said_up_to(Fraction(40 * 7))
    (Fraction(360, 1), Fraction(280, 1))
    """
    return min(parts, 60 * Fraction(limits_or(limits)["part_uneven"].value))


def up_to_text(bpm: Fraction, parts: Fraction, limits: Limits | None = None, unit: str = "bpm") -> str:
    """Say up to which tempo beats of so many parts can be said; empty where this tempo is no faster.

    The unit names the note that the tempo counts where that is not the beat.

    Examples
    --------
    >>> up_to_text(Fraction(72), Fraction(7)), up_to_text(Fraction(40), Fraction(7))
    ('; that goes up to 51 bpm', '')
    >>> up_to_text(Fraction(120), Fraction(7, 2), unit="bpm of an eighth")
    '; that goes up to 102 bpm of an eighth'
    >>> up_to_text(Fraction(92), Fraction(22))
    '; that goes up to 16 bpm, so call the beats and listen for where the strokes meet'
    """
    most = said_up_to(bpm * parts, limits) / parts
    if most >= bpm:
        return ""
    slower = f"; that goes up to {max(1, floor(most))} {unit}"
    if most < SLOWEST_BEAT:
        slower += ", so call the beats and listen for where the strokes meet"
    return slower

"""How fast the parts of a beat can be said: up to which tempo words are asked for, and what is said of it."""

from fractions import Fraction
from math import floor

from rhythmlab.playing.limits import Limits, limits_or

#: Syllables of the numbers below 20, and of the tens, as they are said in English.
_BELOW_20 = (2, 1, 1, 1, 1, 1, 1, 2, 1, 1, 1, 3, 1, 2, 2, 2, 2, 3, 2, 2)
_TENS = (0, 1, 2, 2, 2, 2, 2, 3, 2, 2)
#: A beat slower than this is not counted: the slide of a wall goes no slower.
SLOWEST_BEAT = 20


def syllables_of(number: int) -> int:
    """Return how many syllables a number below a thousand has; of a longer one, as many as make it too long.

    Examples
    --------
    >>> [syllables_of(number) for number in (7, 12, 15, 27, 70, 120)]
    [2, 1, 2, 4, 3, 5]
    """
    hundreds, rest = divmod(number, 100)
    if hundreds >= 10:
        return 100
    tens, ones = divmod(rest, 10)
    below = _BELOW_20[rest] if rest < 20 else _TENS[tens] + (_BELOW_20[ones] if ones else 0)
    if not hundreds:
        return below
    return _BELOW_20[hundreds] + 2 + (below if rest else 0)


def numbers_fit(last: int, bpm: Fraction, limits: Limits | None = None) -> bool:
    """Return whether beats at a tempo can be counted aloud up to a number, each in its own beat.

    Examples
    --------
    >>> [numbers_fit(last, Fraction(100)) for last in (15, 26, 63)]
    [True, True, False]
    """
    if last >= 1000:
        return False
    most = max(map(syllables_of, range(1, last + 1)), default=1)
    return bpm * most <= 60 * Fraction(limits_or(limits)["part_uneven"].value)


def quarter_fits(beat: int, quarter: int, bpm: Fraction, limits: Limits | None = None) -> bool:
    """Return whether the number of a beat and then the word of one of its quarters, 1 to 3, can be said.

    Examples
    --------
    >>> [quarter_fits(beat, 1, Fraction(100)) for beat in (4, 12, 48)], quarter_fits(48, 3, Fraction(100))
    ([True, True, False], True)
    """
    least = Fraction(limits_or(limits)["part_heard"].value)
    part = Fraction(60_000, 4) / bpm
    return quarter * part >= syllables_of(beat) * least and (4 - quarter) * part >= least


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

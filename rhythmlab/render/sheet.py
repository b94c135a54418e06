"""What stands on a page of notation: bars, staves, voices and notes, before note values are chosen.

Places and lengths are Fractions of quarters from the first bar written.
"""

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

#: Most bars and most notes in a score: more are written through a window.
MOST_BARS, MOST_NOTES = 128, 4000
#: Px of a line that notes stand on, and between the closest strokes.
LINE_PX, CLOSE_PX = 800, 26


@dataclass(frozen=True, slots=True)
class Head:
    """One notehead.

    Attributes
    ----------
    lane : int
        Which lane it is a stroke of; one more than the last lane for a note of the grid.
    place : str
        Where it stands, as the pitch in treble reading, such as ``"C5"``.
    shape : str
        ``"normal"``, ``"x"``, ``"diamond"`` or ``"triangle"``.
    accent, ghost, small : bool
        With an accent, in parentheses, of small size.
    """

    lane: int
    place: str
    shape: str = "normal"
    accent: bool = False
    ghost: bool = False
    small: bool = False


@dataclass(frozen=True, slots=True)
class Note:
    """What one voice plays at one place, and the words under it, line by line."""

    at: Fraction
    heads: tuple[Head, ...]
    under: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Voice:
    """Notes with stems one way.

    Attributes
    ----------
    notes : tuple of Note
        In order.
    up : bool
        Whether stems point up.
    held : bool
        Whether each note lasts until the next.
    quiet : bool
        Whether rests are left out of the picture.
    """

    notes: tuple[Note, ...]
    up: bool = True
    held: bool = False
    quiet: bool = False


@dataclass(frozen=True, slots=True)
class Staff:
    """One staff: its name at the left, how many lines it has, its voices."""

    name: str
    lines: int
    voices: tuple[Voice, ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: number, first quarter, the lengths of its beats in quarters, its time signature.

    Attributes
    ----------
    dashed : bool
        Whether it ends in a dashed line, since the bar goes on in the next one.
    """

    number: int
    start: Fraction
    beats: tuple[Fraction, ...]
    top: str
    bottom: str
    dashed: bool = False

    @property
    def length(self) -> Fraction:
        """Length in quarters."""
        return sum(self.beats, Fraction(0))


@dataclass(frozen=True, slots=True)
class Sheet:
    """A whole score before note values are chosen.

    Attributes
    ----------
    tempo : str
        What is printed above the first bar.
    instruments : tuple of (str, int)
        Name and General MIDI key of each lane.
    repeats : bool
        Whether it is a whole cycle, which comes round.
    said : str
        What a reader of the page sees, in words.
    numbered : bool
        Whether every bar carries its number.
    quarter_px : int
        How wide a quarter is in px; reckoned from the notes where it is 0.
    """

    tempo: str
    bars: tuple[Bar, ...]
    staves: tuple[Staff, ...]
    instruments: tuple[tuple[str, int], ...]
    repeats: bool
    said: str
    numbered: bool = False
    quarter_px: int = 0

    @property
    def px(self) -> int:
        """Width of a quarter in px: room for the closest strokes, and for a bar on a line."""
        if self.quarter_px:
            return self.quarter_px
        longest = max(bar.length for bar in self.bars)
        if len(self.bars) == 1:
            return int(min(Fraction(150), LINE_PX / longest))
        places = sorted({note.at for staff in self.staves for voice in staff.voices for note in voice.notes})
        closest = min((b - a for a, b in pairwise(places)), default=Fraction(1))
        room = min(max(Fraction(45), CLOSE_PX / closest), Fraction(105), LINE_PX / longest)
        on_a_line = max(1, round(LINE_PX / (room * longest)))
        return int(min(room, (LINE_PX - 60) / (on_a_line * longest)))

    @property
    def deep(self) -> bool:
        """Whether beams or flags hang under a staff: a foot plays faster than quarters."""
        low = [voice.notes for staff in self.staves for voice in staff.voices if not voice.up]
        return any(b.at - a.at < 1 for notes in low for a, b in pairwise(notes))


def signed(value: Fraction) -> str:
    """Return a note value, given in quarters, as a sign that every font has, or in words.

    Examples
    --------
    >>> signed(Fraction(1)), signed(Fraction(3, 2)), signed(Fraction(2))
    ('♩', '♩.', 'half note')
    """
    from rhythmlab.playing.metre import note_name

    signs = {Fraction(1): "♩", Fraction(3, 2): "♩.", Fraction(1, 2): "♪", Fraction(3, 4): "♪."}
    return signs.get(value) or note_name(value / 4) or "beat"


def fours(number: int) -> tuple[int, ...]:
    """Cut a number of sixteenths into groups that are read at sight: fours, then what is left.

    Examples
    --------
    >>> fours(16), fours(15), fours(13), fours(6)
    ((4, 4, 4, 4), (4, 4, 4, 3), (4, 4, 3, 2), (3, 3))
    """
    rest = {0: (), 1: (3, 2), 2: (3, 3), 3: (3,)}[number % 4] if number > 2 else (number,)
    return (4,) * ((number - sum(rest)) // 4) + rest


def title_of(text: str) -> str:
    """Return a title that can be printed: one line, no control characters, at most 120 letters.

    Examples
    --------
    >>> title_of(" 7 against  4")
    '7 against 4'
    """
    plain = "".join(sign if sign.isprintable() else " " for sign in text)
    plain = " ".join(plain.split())
    return plain if len(plain) <= 120 else f"{plain[:119]}…"

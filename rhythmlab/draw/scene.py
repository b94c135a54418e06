"""A Scene: a handful of marks in cycle coordinates, with roles instead of colours, and its own text.

x is in ticks of the cycle, y in rows from the top.
A gutter on each side is wide enough for its labels.
Whoever paints it needs to know nothing about rhythm.
"""

from dataclasses import dataclass
from numbers import Real
from pathlib import Path
from typing import Literal

from rhythmlab.core.check import MOST_TICKS, short, whole
from rhythmlab.core.display import Listed, Printed
from rhythmlab.core.public import public_class
from rhythmlab.refusal import Refusal

#: Width of a painted scene and height of one row, in px of the painters' common scale.
WIDTH, ROW = 880, 40


#: What a picture is called in a title, where that is not its name.
_CALLED = {
    "strip": "heard line",
    "grid": "shared grid",
    "homes": "counted from each home",
    "ways": "ways to learn",
}


@dataclass(frozen=True, slots=True)
class Rule:
    """A vertical line at a tick.

    Attributes
    ----------
    x : int
        Tick.
    top, bottom : float
        Rows.
    role : str
        ``"hair"``, ``"beat"``, ``"edge"``, ``"tie"`` or ``"sound"``.
    """

    x: int
    top: float
    bottom: float
    role: str


@dataclass(frozen=True, slots=True)
class Band:
    """A filled stretch of ticks and rows.

    Attributes
    ----------
    left, right : float
        Ticks.
    top, bottom : float
        Rows.
    role : str
        A role of the palette.
    """

    left: float
    right: float
    top: float
    bottom: float
    role: str


@dataclass(frozen=True, slots=True)
class Stroke:
    """One played note.

    Attributes
    ----------
    x : int or float
        Tick; where it was `played`, as exactly as that is known.
    y : float
        Row.
    lane : int
        Which lane plays it: gives colour and shape.
    ring : bool
        Whether a ring singles it out.
    small : bool
        Whether it is drawn smaller, so that a stroke under it is still seen.
    played : bool
        Whether it is one of a take, under those that were meant.
    """

    x: float
    y: float
    lane: int
    ring: bool = False
    small: bool = False
    played: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line between two points.

    Attributes
    ----------
    left, top, right, bottom : float
        Ticks and rows of its ends.
    role : str
        A role of the palette, or ``"thread"`` or ``"stem"``.
    """

    left: float
    top: float
    right: float
    bottom: float
    role: str


@dataclass(frozen=True, slots=True)
class Text:
    """A word or a number.

    Attributes
    ----------
    x : float
        Tick it is centred on, or its start or end when `side` is ``"from"`` or ``"to"``; unused in a gutter.
    y : float
        Row of its middle.
    text : str
        What it says.
    role : str
        ``"big"``, ``"plain"``, ``"small"``, ``"name"``, ``"fine"`` where there is little room,
        ``"bare"`` for a count alone, or ``"letter"`` for the hand at a stroke, which is centred on x and
        readable over lines, ``"fine letter"`` where strokes are close together, ``"fine number"`` under a
        narrow gap.
    side : str
        ``""`` centred on x, ``"left"`` or ``"right"`` in that gutter, ``"from"`` starting beside x, ``"to"``
        ending at x.
    ink : str
        Colour role on a screen, such as that of the lane it names; ``""`` for that of its role.
    """

    x: float
    y: float
    text: str
    role: str = "plain"
    side: str = ""
    ink: str = ""


Mark = Rule | Band | Stroke | Line | Text


@public_class(
    "pictures.strip((7, 4))",
    x="pictures.strip((7, 4)).x(14)",
    strokes="pictures.strip((7, 4)).strokes(0)",
    write='pictures.strip((7, 4)).write("7-4.svg")',
)
@dataclass(repr=False, frozen=True, slots=True)
class Scene(Printed):
    """A picture before it is painted; shows itself in a notebook, with its text alternative.

    Attributes
    ----------
    name : str
        Short name, for a file or a heading.
    alt : str
        The text alternative.
    marks : tuple of Mark
        Painted in order.
    start, stop : int
        First tick shown and the tick after the last.
    rows : float
        Height in rows.
    left, right : int
        Width of the gutters in px.
    width : int
        Width in px; a narrower scene is drawn larger where it fills the same room, as on a wall.
    moves : bool
        Whether x is the cycle's time, so that a playhead can move over it.
    shows : str
        What is shown, in a few words, for the title of a file: "7 against 4".
    """

    name: str
    alt: str
    marks: tuple[Mark, ...]
    start: int
    stop: int
    rows: float
    left: int = 76
    right: int = 24
    width: int = WIDTH
    moves: bool = True
    shows: str = ""

    @property
    def title(self) -> str:
        """What the picture is, in a few words: what it shows, and as which picture."""
        return ", ".join(filter(None, (self.shows, _CALLED.get(self.name, self.name))))

    def __str__(self) -> str:
        return f"{self.name}: {self.alt}"

    def x(self, tick: float) -> float:
        """Return where a tick is, in px from the left edge."""
        if not isinstance(tick, Real) or isinstance(tick, bool) or not -MOST_TICKS <= tick <= MOST_TICKS:
            raise Refusal(
                f"tick={short(tick)} is not a tick",
                "pictures.strip(Polyrhythm(7, 4).cycle()).x(14)",
                argument="tick",
            )
        return self.left + (tick - self.start) / (self.stop - self.start) * (
            self.width - self.left - self.right
        )

    @property
    def radius(self) -> float:
        """Radius of a stroke in px: smaller where strokes are close together."""
        ticks: dict[int, set[float]] = {}
        for stroke in self.strokes():
            if stroke.played:
                continue  # a take changes nothing of what was meant
            ticks.setdefault(stroke.lane, set()).add(stroke.x)
        room = (self.width - self.left - self.right) / max(map(len, ticks.values()), default=1)
        return max(2.5, min(8.0, 0.36 * room))

    def strokes(self, lane: int | None = None) -> tuple[Stroke, ...]:
        """Return the strokes drawn, of one lane or of all."""
        if lane is not None:
            lane = whole(lane, "lane", "pictures.strip(Polyrhythm(7, 4).cycle()).strokes(0)", least=0)
        found = (mark for mark in self.marks if isinstance(mark, Stroke))
        return Listed(mark for mark in found if lane is None or mark.lane == lane)

    def write(self, path: str | Path, *, replace: bool = False) -> Path:
        """Write the picture as SVG, PNG or PDF, with its title and text alternative in it.

        Parameters
        ----------
        path : str or Path
            Where to; its ending, ``.svg``, ``.png`` or ``.pdf``, says what is written, in the colours of
            paper. A PNG has 200 dots an inch; a PDF has its fonts inside.
        replace : bool
            Whether a file of that name may be replaced.

        Returns
        -------
        Path
            Where it was written.

        Raises
        ------
        ValueError, OSError
            If the path ends otherwise, something is there already, or the disk does not take it.

        Examples
        --------
        >>> import tempfile
        >>> from rhythmlab.draw.pictures import strip
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     strip((7, 4)).write(f"{folder}/7-4.svg").name
        '7-4.svg'
        """
        from rhythmlab.draw.figure import picture

        return picture(self, path, replace=replace)

    def _repr_html_(self) -> str:
        from rhythmlab.draw.svg import svg

        return svg(self)


def text_at(scene: Scene, text: Text) -> tuple[float, Literal["left", "center", "right"]]:
    """Return where a text of a picture is, in px from the left edge, and which part of it stands there.

    Examples
    --------
    >>> text_at(Scene("a name", "what it shows", (), 0, 4, 1.0), Text(2, 0, "7", side="left"))
    (62.0, 'right')
    """
    match text.side:
        case "left":
            return scene.left - 14.0, "right"
        case "right":
            return scene.width - scene.right + 10.0, "left"
        case "from":
            return scene.x(text.x) + 16, "left"
        case "to":
            return scene.x(text.x), "right"
    return scene.x(text.x), "center"

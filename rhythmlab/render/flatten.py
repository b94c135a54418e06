"""An engraved page as a flat list of outlines and words, in the page's own px.

An engraver's SVG nests pictures, borrows signs from a list and leaves colours to style sheets.
Here all of that is worked out, so that whoever paints it needs lines, curves and text only.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from math import cos, radians, sin, sqrt
from typing import TypeAlias
from xml.etree import ElementTree

from rhythmlab.refusal import Refusal

#: An affine map: x' = a x + c y + e, y' = b x + d y + f.
Matrix = tuple[float, float, float, float, float, float]
#: A move ("M"), a line ("L"), a cubic curve ("C") or a closing ("Z"), with its points.
Segment = tuple[str, tuple[float, ...]]

#: How a text is written: attributes of SVG, by name.
_Hand: TypeAlias = dict[str, str]
_SAME: Matrix = (1, 0, 0, 1, 0, 0)
_NUMBER = r"[-+]?(?:\d*\.\d+|\d+\.?)(?:[eE][-+]?\d+)?"
_FIRST = re.compile(_NUMBER)
#: What is not painted where it stands.
_NO_INK = ("", "defs", "symbol", "style", "desc", "title", "metadata")
_LINK = "{http://www.w3.org/1999/xlink}href"
#: Half a circle's radius over the handle of the curve that draws it.
_ROUND = 0.5522847498


@dataclass(frozen=True, slots=True)
class Outline:
    """A path to fill, and to draw along where it has a width.

    Attributes
    ----------
    segments : tuple of Segment
        In px from the top left corner.
    width : float
        Width of the pen in px; 0 where it is only filled.
    filled : bool
        Whether it is filled.
    """

    segments: tuple[Segment, ...]
    width: float
    filled: bool


@dataclass(frozen=True, slots=True)
class Words:
    """Text in one size and one hand.

    Attributes
    ----------
    x, y : float
        Where its baseline begins, ends or has its middle, in px.
    text : str
        What it says.
    size : float
        Height of the letters in px.
    anchor : str
        ``"start"``, ``"middle"`` or ``"end"``.
    bold, italic : bool
        Which hand.
    """

    x: float
    y: float
    text: str
    size: float
    anchor: str = "start"
    bold: bool = False
    italic: bool = False


@dataclass(frozen=True, slots=True)
class Flat:
    """A flat page.

    Attributes
    ----------
    width, height : float
        In px.
    pieces : tuple of Outline and Words
        Painted in order, all in ink.
    """

    width: float
    height: float
    pieces: tuple[Outline | Words, ...]

    def ink(self) -> tuple[float, float, float, float]:
        """Return left, top, right and bottom of all outlines, in px; words are judged by their size."""
        xs: list[float] = []
        ys: list[float] = []
        for piece in self.pieces:
            if isinstance(piece, Outline):
                for _, points in piece.segments:
                    xs += points[::2]
                    ys += points[1::2]
            else:
                wide = 0.5 * piece.size * len(piece.text)
                left = piece.x - {"start": 0, "middle": wide / 2, "end": wide}[piece.anchor]
                xs += (left, left + wide)
                ys += (piece.y - 0.75 * piece.size, piece.y + 0.25 * piece.size)
        if not xs:
            return 0, 0, self.width, self.height
        return min(xs), min(ys), max(xs), max(ys)


def flat(svg: str) -> Flat:
    """Flatten the SVG of an engraved page.

    Parameters
    ----------
    svg : str
        From an engraver: groups, nested pictures, signs used by name, paths, ellipses, rectangles,
        polygons and text.

    Returns
    -------
    Flat
        All of it in px of the page.

    Raises
    ------
    ValueError
        If it is not such a picture.

    Examples
    --------
    >>> page = flat('<svg width="20px" height="10px" xmlns="http://www.w3.org/2000/svg">'
    ...             '<svg viewBox="0 0 200 100"><path d="M0 50h200" stroke-width="10"/></svg></svg>')
    >>> page.pieces[0].segments, page.pieces[0].width
    ((('M', (0.0, 5.0)), ('L', (20.0, 5.0))), 1.0)
    """
    try:
        root = ElementTree.fromstring(svg)
    except ElementTree.ParseError as error:
        raise Refusal(f"this engraving is not SVG ({error})", "handout(Polyrhythm(7, 4), 72)") from None
    width, height = (_number(root.get(side)) for side in ("width", "height"))
    if not width or not height:
        box = [float(number) for number in re.findall(_NUMBER, root.get("viewBox", ""))]
        if len(box) != 4 or box[2] <= 0 or box[3] <= 0:
            raise Refusal("this engraving does not say how large it is", "handout(Polyrhythm(7, 4), 72)")
        width, height = box[2:]
    reader = _Reader({one.get("id", ""): one for one in root.iter()}, width, height)
    pieces = tuple(reader.read(root, _SAME, {}))
    return Flat(width, height, pieces)


class _Reader:
    """Walks through the picture with the map and the hand that hold where it is."""

    def __init__(self, signs: dict[str, ElementTree.Element], width: float, height: float) -> None:
        self.signs, self.width, self.height = signs, width, height
        self.deep = 0

    def read(self, node: ElementTree.Element, to: Matrix, hand: _Hand) -> Iterator[Outline | Words]:
        kind = node.tag.rpartition("}")[2] if isinstance(node.tag, str) else ""
        classes = node.get("class", "").split()
        hidden = node.get("visibility") == "hidden" or node.get("display") == "none"
        if kind in _NO_INK or hidden or "placeholder" in classes:
            return
        to = _times(to, _map_of(node.get("transform", "")))
        if kind == "svg":
            to = _times(to, self._room(node))
        named = ("fill", "stroke", "text-anchor", "font-weight", "font-style", "font-size")
        hand = {**hand, **{key: value for key in named if (value := node.get(key))}}
        if {"tempo", "ending", "reh", "fing"} & set(classes):
            hand["font-weight"] = "bold"
        if {"dir", "dynam", "mNum"} & set(classes):
            hand["font-style"] = "italic"
        if kind == "text":
            yield from self._words(node, to, hand)
        elif kind == "use":
            yield from self._sign(node, to, hand)
        elif kind in ("path", "ellipse", "circle", "rect", "polygon", "polyline", "line"):
            yield from self._outline(kind, node, to, hand)
        else:
            for child in node:
                yield from self.read(child, to, hand)

    def _room(self, node: ElementTree.Element) -> Matrix:
        """Map a picture's own numbers to the room it fills: the whole page where it names none."""
        box = [float(number) for number in re.findall(_NUMBER, node.get("viewBox", ""))]
        x, y = _number(node.get("x")), _number(node.get("y"))
        if len(box) != 4 or not box[2] or not box[3]:
            return (1, 0, 0, 1, x, y)
        wide = self.width if "%" in node.get("width", "%") else _number(node.get("width"))
        high = self.height if "%" in node.get("height", "%") else _number(node.get("height"))
        scale = min(wide / box[2], high / box[3])
        return (scale, 0, 0, scale, x - box[0] * scale, y - box[1] * scale)

    def _sign(self, node: ElementTree.Element, to: Matrix, hand: _Hand) -> Iterator[Outline | Words]:
        """Draw a sign from the list, where it is used."""
        name = (node.get(_LINK) or node.get("href") or "").removeprefix("#")
        sign = self.signs.get(name)
        if sign is None or self.deep > 8:
            raise ValueError(f"this engraving uses the sign {name!r}, which it does not have")
        to = _times(to, (1, 0, 0, 1, _number(node.get("x")), _number(node.get("y"))))
        self.deep += 1
        if sign.tag.endswith("symbol"):
            box = [float(number) for number in re.findall(_NUMBER, sign.get("viewBox", ""))]
            if len(box) == 4 and box[2] and node.get("width"):
                scale = _number(node.get("width")) / box[2]
                to = _times(to, (scale, 0, 0, scale, -box[0] * scale, -box[1] * scale))
            for child in sign:
                yield from self.read(child, to, hand)
        else:
            yield from self.read(sign, to, hand)
        self.deep -= 1

    def _outline(self, kind: str, node: ElementTree.Element, to: Matrix, hand: _Hand) -> Iterator[Outline]:
        segments = tuple((name, _mapped(points, to)) for name, points in _drawn(kind, node))
        scale = sqrt(abs(to[0] * to[3] - to[1] * to[2]))
        width = scale * _number(node.get("stroke-width")) if hand.get("stroke") != "none" else 0.0
        filled = hand.get("fill") != "none" and kind != "line"
        if segments and (filled or width):
            yield Outline(segments, width, filled)

    def _words(self, node: ElementTree.Element, to: Matrix, hand: _Hand) -> Iterator[Words]:
        """Draw text: a run of words each time a place, a size or a hand is named anew."""
        at = [_number(node.get("x")), _number(node.get("y"))]
        runs: list[_Run] = []

        def walk(one: ElementTree.Element, hand: _Hand) -> None:
            for key in ("font-weight", "font-style", "font-size", "text-anchor"):
                value = one.get(key)
                hand = {**hand, key: value} if value else hand
            if one is not node and (one.get("x") or one.get("y")):
                at[:] = [_number(one.get("x")) or at[0], _number(one.get("y")) or at[1]]
                runs.append(_Run(at[0], at[1], hand))
            if one.text and one.text.strip():
                if not runs or (runs[-1].hand != hand and not runs[-1].text):
                    runs.append(_Run(at[0], at[1], hand))
                runs[-1].hand = hand
                runs[-1].text += one.text
            for child in one:
                walk(child, hand)
                if child.tail and child.tail.strip() and runs:
                    runs[-1].text += child.tail

        walk(node, hand)
        scale = sqrt(abs(to[0] * to[3] - to[1] * to[2]))
        for run in runs:
            style, text = run.hand, run.text.strip()
            size = scale * _number(style.get("font-size"))
            if text and size:
                x, y = _mapped((run.x, run.y), to)
                bold, italic = style.get("font-weight") == "bold", style.get("font-style") == "italic"
                yield Words(x, y, text, size, style.get("text-anchor", "start"), bold, italic)


@dataclass(slots=True)
class _Run:
    """Words that are written at one place in one hand."""

    x: float
    y: float
    hand: _Hand
    text: str = ""


def _drawn(kind: str, node: ElementTree.Element) -> Iterable[Segment]:
    """Return the segments of a shape in its own numbers."""
    if kind == "path":
        return path(node.get("d", ""))
    if kind == "line":
        ends = [_number(node.get(key)) for key in ("x1", "y1", "x2", "y2")]
        return [("M", tuple(ends[:2])), ("L", tuple(ends[2:]))]
    if kind == "rect":
        x, y, wide, high = (_number(node.get(key)) for key in ("x", "y", "width", "height"))
        corners = ((x + wide, y), (x + wide, y + high), (x, y + high))
        return [("M", (x, y)), *(("L", corner) for corner in corners), ("Z", ())]
    if kind in ("ellipse", "circle"):
        x, y, r = (_number(node.get(key)) for key in ("cx", "cy", "r"))
        rx, ry = _number(node.get("rx")) or r, _number(node.get("ry")) or r
        hx, hy = _ROUND * rx, _ROUND * ry
        return [
            ("M", (x - rx, y)),
            ("C", (x - rx, y - hy, x - hx, y - ry, x, y - ry)),
            ("C", (x + hx, y - ry, x + rx, y - hy, x + rx, y)),
            ("C", (x + rx, y + hy, x + hx, y + ry, x, y + ry)),
            ("C", (x - hx, y + ry, x - rx, y + hy, x - rx, y)),
            ("Z", ()),
        ]
    numbers = [float(number) for number in re.findall(_NUMBER, node.get("points", ""))]
    turns = [tuple(numbers[i : i + 2]) for i in range(0, len(numbers) - 1, 2)]
    found: list[Segment] = [("L" if i else "M", turn) for i, turn in enumerate(turns)]
    return [*found, ("Z", ())] if kind == "polygon" else found


@lru_cache(maxsize=1024)  # a page repeats a few signs many times
def path(data: str) -> tuple[Segment, ...]:
    """Return a path of an SVG as absolute moves, lines, cubic curves and closings.

    Raises
    ------
    ValueError
        If it has a command that is none of these or of their short forms.

    Examples
    --------
    >>> path("M1 2h3v4z")
    (('M', (1.0, 2.0)), ('L', (4.0, 2.0)), ('L', (4.0, 6.0)), ('Z', ()))
    """
    found: list[Segment] = []
    x = y = begin_x = begin_y = 0.0
    handle: tuple[str, float, float] = ("", 0, 0)
    for command, numbers in re.findall(rf"([a-df-zA-DF-Z])((?:[\s,]*{_NUMBER})*)", data):
        values = [float(number) for number in re.findall(_NUMBER, numbers)]
        kind, moved = command.upper(), command.islower()
        if kind == "Z":
            found.append(("Z", ()))
            x, y, handle = begin_x, begin_y, ("", 0, 0)
            continue
        size = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}.get(kind)
        if size is None or not values or len(values) % size:
            raise ValueError(f"this engraving has a path with {command!r}, which is not drawn here")
        for i in range(0, len(values), size):
            one = values[i : i + size]
            if kind in "HV":
                one = [one[0], 0 if moved else y] if kind == "H" else [0 if moved else x, one[0]]
            if moved:
                one = [value + (y if j % 2 else x) for j, value in enumerate(one)]
            if kind in "MLHV":
                name = "M" if kind == "M" and not i else "L"
                found.append((name, tuple(one)))
                handle = ("", 0, 0)
                if name == "M":
                    begin_x, begin_y = one
            elif kind in "CS":
                mirrored = (2 * x - handle[1], 2 * y - handle[2]) if handle[0] == "C" else (x, y)
                one = one if kind == "C" else [*mirrored, *one]
                found.append(("C", tuple(one)))
                handle = ("C", one[2], one[3])
            else:
                mirrored = (2 * x - handle[1], 2 * y - handle[2]) if handle[0] == "Q" else (x, y)
                qx, qy, ex, ey = one if kind == "Q" else [*mirrored, *one]
                near = (x + 2 * (qx - x) / 3, y + 2 * (qy - y) / 3)
                far = (ex + 2 * (qx - ex) / 3, ey + 2 * (qy - ey) / 3)
                found.append(("C", (*near, *far, ex, ey)))
                handle = ("Q", qx, qy)
            x, y = found[-1][1][-2:]
    return tuple(found)


def _number(text: str | None) -> float:
    found = _FIRST.match(text) if text else None
    return float(found[0]) if found else 0.0


def _mapped(points: tuple[float, ...], m: Matrix) -> tuple[float, ...]:
    found: list[float] = []
    for x, y in zip(points[::2], points[1::2], strict=True):
        found += (m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5])
    return tuple(found)


def _times(m: Matrix, n: Matrix) -> Matrix:
    """Return the map that is `n`, then `m`."""
    return (
        m[0] * n[0] + m[2] * n[1],
        m[1] * n[0] + m[3] * n[1],
        m[0] * n[2] + m[2] * n[3],
        m[1] * n[2] + m[3] * n[3],
        m[0] * n[4] + m[2] * n[5] + m[4],
        m[1] * n[4] + m[3] * n[5] + m[5],
    )


@lru_cache(maxsize=256)
def _map_of(text: str) -> Matrix:
    """Return the map that a ``transform`` names."""
    found = _SAME
    for name, inside in re.findall(r"(\w+)\s*\(([^)]*)\)", text):
        v = [float(number) for number in re.findall(_NUMBER, inside)]
        if name == "translate" and v:
            one: Matrix = (1, 0, 0, 1, v[0], v[1] if len(v) > 1 else 0)
        elif name == "scale" and v:
            one = (v[0], 0, 0, v[-1], 0, 0)
        elif name == "matrix" and len(v) == 6:
            one = (v[0], v[1], v[2], v[3], v[4], v[5])
        elif name == "rotate" and v:
            turn, (cx, cy) = radians(v[0]), v[1:3] or (0, 0)
            one = (cos(turn), sin(turn), -sin(turn), cos(turn), 0, 0)
            one = _times(_times((1, 0, 0, 1, cx, cy), one), (1, 0, 0, 1, -cx, -cy))
        else:
            raise ValueError(f"this engraving is moved by {name!r}, which is not drawn here")
        found = _times(found, one)
    return found

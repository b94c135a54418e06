"""Where everything is on an engraved page: the box of each sign, from its outline, in px.

Words are measured in the widest font that a browser takes for a page of notes (DejaVu Serif, which matplotlib
brings along); the outlines of signs are those of the page itself.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from xml.etree import ElementTree

import numpy as np
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path
from matplotlib.textpath import TextPath

SVG = "{http://www.w3.org/2000/svg}"
LINK = "{http://www.w3.org/1999/xlink}href"
#: How many numbers each letter of an outline takes.
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "Z": 0}
_LETTERS = re.compile(r"([MLHVCSQTZmlhvcsqtz])([^MLHVCSQTZmlhvcsqtz]*)")
_NUMBER = re.compile(r"-?\d*\.?\d+(?:e-?\d+)?")
#: Classes of verovio that have ink of their own -> what a reader calls it.
_NAMES = {
    "meterSig": "time signature",
    "notehead": "head",
    "tupletNum": "tuplet number",
    "syl": "count",
    "artic": "accent",
    "dir": "tempo",
    "mNum": "bar number",
    "rest": "rest",
    "stem": "stem",
    "flag": "flag",
    "beam": "beam",
    "clef": "clef",
    "label": "name",
    "ledgerLines": "ledger line",
    "dots": "dot",
    "tupletBracket": "bracket",
    "barLine": "barline",
    "grpSym": "brace",
    "key": "key",
}


@dataclass(frozen=True)
class Box:
    """What stands in a box, its text or sign, and where."""

    what: str
    text: str
    left: float
    top: float
    right: float
    bottom: float

    def overlap(self, other: "Box") -> float:
        """Return how far two boxes reach into each other, in px; negative where there is room."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return min(across, down)

    def __str__(self) -> str:
        return f"{self.what} {self.text!r} at {self.left:.0f}, {self.top:.0f}"


@cache
def _outline(path: str) -> np.ndarray:
    """Return the corners of an outline."""
    vertices, codes = [], []
    at = start = handle = np.zeros(2)
    for letter, rest in _LETTERS.findall(path):
        big, numbers = letter.upper(), [float(one) for one in _NUMBER.findall(rest)]
        step = _TAKES[big]
        for i in range(0, max(len(numbers), 1), step or 1):
            base = at if letter.islower() else np.zeros(2)
            if big == "Z":
                at = start
                break
            given = numbers[i : i + step]
            if big in "HV":
                points, axis = [at.copy()], int(big == "V")
                points[0][axis] = given[0] + (at[axis] if letter.islower() else 0)
            else:
                points = [base + given[j : j + 2] for j in range(0, step, 2)]
            if big in "ST":
                points = [2 * at - handle, *points]
            kind = {1: Path.LINETO, 2: Path.CURVE3, 3: Path.CURVE4}[len(points)]
            if big == "M" and i == 0:
                kind, start = Path.MOVETO, points[-1]
            vertices += points
            codes += [kind] * len(points)
            handle = points[-2] if len(points) > 1 else points[-1]
            at = points[-1]
    found = Path(vertices, codes).interpolated(1).get_extents()
    return np.array([[found.x0, found.y0], [found.x1, found.y1]])


@cache
def _word(text: str, bold: bool, italic: bool) -> np.ndarray:
    """Return the corners of the ink of a word one px high."""
    font = FontProperties(
        family="DejaVu Serif", weight="bold" if bold else "normal", style="italic" if italic else "normal"
    )
    found = TextPath((0, 0), text, size=100, prop=font).get_extents()
    return np.array([[found.x0, -found.y1], [found.x1, -found.y0]]) / 100


def _numbers(text: str) -> list[float]:
    return [float(one) for one in _NUMBER.findall(text)]


def _moved(node: ElementTree.Element, now: np.ndarray) -> np.ndarray:
    """Return scale and shift of a node inside those of its parent: x scale, y scale, x, y."""
    for name, rest in re.findall(r"(translate|scale)\(([^)]*)\)", node.get("transform", "")):
        numbers = _numbers(rest)
        pair = (*numbers, *numbers)[:2] if name == "scale" else (*numbers, 0)[:2]
        if name == "translate":
            now = np.array([*now[:2], *(now[2:] + now[:2] * pair)])
        else:
            now = np.array([*(now[:2] * pair), *now[2:]])
    return now


def _corners(node: ElementTree.Element, signs: dict[str, ElementTree.Element], italic: bool):
    """Return two corners of what a node draws, or ``None``."""
    kind = node.tag.removeprefix(SVG)
    pad = float(node.get("stroke-width", 0)) / 2
    if kind == "use":
        sign = signs[node.get(LINK).removeprefix("#")]
        found = _outline(sign.find(f"{SVG}path").get("d"))
        return found * (1, -1)
    if kind == "path":
        return _outline(node.get("d")) + np.array([[-pad, -pad], [pad, pad]])
    if kind in ("polygon", "polyline"):
        points = np.array(_numbers(node.get("points"))).reshape(-1, 2)
        return np.array([points.min(axis=0) - pad, points.max(axis=0) + pad])
    if kind == "ellipse":
        centre = np.array([float(node.get("cx")), float(node.get("cy"))])
        radius = np.array([float(node.get("rx")), float(node.get("ry"))])
        return np.array([centre - radius, centre + radius])
    if kind == "text" and (node.text or "").strip():
        size = float(node.get("font-size").removesuffix("px"))
        place = np.array([float(node.get("x", 0)), float(node.get("y", 0))])
        found = _word(node.text, node.get("font-weight") == "bold", italic)
        shift = {"middle": 0.5, "end": 1}.get(node.get("text-anchor"), 0) * (found[1][0] - found[0][0])
        return found * size + place - (shift * size, 0)
    return None


def _walk(node, now, what, signs, italic) -> Iterator[Box]:
    for child in node:
        if child.tag == f"{SVG}defs":
            continue
        inside = _moved(child, now)
        name = next((_NAMES[one] for one in child.get("class", "").split() if one in _NAMES), what)
        slanted = italic or child.get("font-style") == "italic"
        corners = _corners(child, signs, slanted)
        if corners is not None:
            a, b = corners * inside[:2] + inside[2:]
            (left, right), (top, bottom) = sorted((a[0], b[0])), sorted((a[1], b[1]))
            drawn = "beam" if child.tag == f"{SVG}polygon" else name
            text = child.text or child.get(LINK, "").partition("-")[0]
            yield Box(drawn, text, left, top, right, bottom)
        yield from _walk(child, inside, name, signs, slanted)


def boxes(page: str) -> list[Box]:
    """Return the boxes of what is on a page, by what a reader calls it; staff lines are left out."""
    root = ElementTree.fromstring(page)
    signs = {sign.get("id"): sign for sign in root.iter(f"{SVG}g") if sign.get("id")}
    found = _walk(root, np.array([1.0, 1.0, 0.0, 0.0]), "", signs, False)
    return [box for box in found if box.what]


#: What may touch nothing that is read: words and digits, heads, accents.
READ = ("time signature", "head", "tuplet number", "count", "accent", "tempo", "bar number", "name", "key")
#: What else has ink, and may not run through words, digits and accents.
INK = ("stem", "flag", "beam", "rest", "clef", "bracket", "ledger line", "barline", "brace", "dot")
#: How far two heads of a chord reach into each other, in px: at a third they stand on top of each other.
CHORD = 1.2


def _belongs(a: Box, b: Box) -> bool:
    """Whether two signs are meant to touch: heads of a chord on one stem, a number in its bracket."""
    kinds = {a.what, b.what}
    if kinds == {"head"}:
        return a.overlap(b) <= CHORD
    if kinds == {"tuplet number"}:  # the digits of one number
        return abs(a.top - b.top) < 4 and a.overlap(b) <= CHORD
    if kinds == {"time signature"}:  # digits of one line
        return abs(a.bottom - b.bottom) < 3 and a.overlap(b) <= CHORD
    return "head" in kinds and bool(kinds & set(INK) - {"barline", "clef"})


def collisions(page: str, room: float = 0.0) -> list[str]:
    """Return what stands in each other's box on a page, or nearer than some px, as sentences."""
    found = [box for box in boxes(page) if box.what in READ + INK]
    found.sort(key=lambda box: box.left)
    out = []
    for i, a in enumerate(found):
        for b in found[i + 1 :]:
            if b.left > a.right + room:
                break
            if (a.what in READ or b.what in READ) and a.overlap(b) > -room and not _belongs(a, b):
                out.append(f"{a} stands in {b} by {a.overlap(b):.1f} px")
    return out

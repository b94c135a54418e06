"""The one painter of PDFs: embedded fonts, paragraphs, and pictures and engravings drawn as vectors.

reportlab lays out text, and svglib reads the SVG that pictures and engravings are.
"""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import replace
from functools import cache, lru_cache
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from typing import Any, TypeAlias
from xml.etree import ElementTree

from reportlab.graphics.shapes import Drawing
from reportlab.lib.colors import HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph, Spacer, Table
from svglib.fonts import register_font
from svglib.svglib import svg2rlg

from rhythmlab.draw.palette import COLOURS
from rhythmlab.draw.scene import ROW, Scene, Text
from rhythmlab.draw.svg import svg

#: Width and height in points.
PAPERS = {"A4": (595.276, 841.89), "Letter": (612.0, 792.0)}
#: Our names of the fonts -> family, weight and style in SVG, and the files that matplotlib brings along.
FONTS = {
    "plain": ("plain", "normal", "normal", "DejaVuSans.ttf"),
    "bold": ("plain", "bold", "normal", "DejaVuSans-Bold.ttf"),
    "italic": ("plain", "normal", "italic", "DejaVuSans-Oblique.ttf"),
    "score": ("score", "normal", "normal", "STIXGeneral.ttf"),
    "score bold": ("score", "bold", "normal", "STIXGeneralBol.ttf"),
    "score italic": ("score", "normal", "italic", "STIXGeneralItalic.ttf"),
}
#: Height of the smallest letters in notes, in points.
SMALLEST = 6.5
#: Inks that differ from the screen's: each lane has its own lightness as well, so that a grey print keeps
#: them apart, and bands stay light behind black letters.
INKS = {role: light for role, (light, _) in COLOURS.items()} | {
    "ink": "#000000",
    "quiet": "#3d4750",
    "hair": "#d5dadf",
    "beat": "#000000",
    "heard": "#e9edf0",
    "flam": "#ccd6de",
    "open": "#f4f6f8",
    "alternating": "#e6e1da",
    "lane0": "#00344f",
    "lane1": "#d9782d",
    "lane2": "#00705c",
    "lane3": "#c9a0b8",
}
#: What reportlab lays out, one under the other.
Story: TypeAlias = list[Flowable]
_SVG = "{http://www.w3.org/2000/svg}"
_LINK = "{http://www.w3.org/1999/xlink}href"
#: Points to a px, as svglib reads it.
_POINTS = 0.75
#: Letters of the plain font beside those of scores: of the same height when they are so much smaller.
_PLAIN_IN_SCORE = 0.86
#: Notes before a tempo: the bold font of scores has none, and those of the plain one hang under the line.
_NOTE_SIGNS = ("\u2669", "\u266a")
#: How far under the middle of a line of text its baseline is, as a share of its size.
_MIDDLE = 0.36


@cache
def font(name: str) -> str:
    """Return the PDF name of one of `FONTS`, which is registered when it is first asked for."""
    spec = find_spec("matplotlib")  # found, not loaded
    if spec is None or spec.origin is None:
        raise ImportError("matplotlib, whose fonts are printed, is not installed")
    family, weight, style, file = FONTS[name]
    path = Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf" / file
    known = f"rhythmlab {name}"
    register_font(f"rhythmlab {family}", str(path), weight, style, known)
    return known


class Page(Canvas):  # type: ignore[misc]
    """A canvas with all its fonts inside: reportlab names Helvetica and Times before anything is written."""

    def setFont(self, psfontname: str, size: float, leading: float | None = None) -> None:  # noqa: N802
        """Set one of `FONTS`; the plain one in place of any other."""
        ours = psfontname in {font(name) for name in FONTS}
        super().setFont(psfontname if ours else font("plain"), size, leading)


@lru_cache(maxsize=2048)
def printable(text: str, name: str = "plain") -> str:
    r"""Return a text as it can be printed: signs without ink are spaces, signs the font lacks are left out.

    Letters that are written from right to left, or joined by rules, are left out as well: printed one by one
    they would be wrong.

    Parameters
    ----------
    text : str
        Anything.
    name : str
        One of `FONTS`.

    Examples
    --------
    >>> printable("7\tagainst 4 \u2669 \u6f22"), printable("\u05e9\u05dc\u05d5\u05dd")
    ('7 against 4 ♩', '')
    """
    kept, known = [], pdfmetrics.getFont(font(name)).face.charToGlyph
    for sign in unicodedata.normalize("NFC", text):
        kind = unicodedata.category(sign)
        if kind in ("Cc", "Zl", "Zp", "Zs") and sign != "\N{NO-BREAK SPACE}":
            kept.append(" ")
        elif (
            kind[0] != "C" and unicodedata.bidirectional(sign) not in ("R", "AL", "AN") and ord(sign) in known
        ):
            kept.append(sign)
    return " ".join(part for part in "".join(kept).split(" ") if part)


def clean(text: str) -> str:
    r"""Return a text without signs that have no ink, on one line: for properties and plain text.

    Examples
    --------
    >>> clean("7\tagainst\x00 4\u202e")
    '7 against 4'
    """
    kept = (
        " " if sign.isspace() or unicodedata.category(sign) == "Cc" else sign
        for sign in unicodedata.normalize("NFC", text)
        if unicodedata.category(sign) not in ("Cf", "Cs", "Co", "Cn")
    )
    return " ".join("".join(kept).split())


def lost(text: str) -> bool:
    r"""Whether some letters of a text cannot be printed.

    Examples
    --------
    >>> lost("7 gegen 4"), lost("\u62cd\u5b50")
    (False, True)
    """
    return printable(text).replace("\N{NO-BREAK SPACE}", " ") != clean(text)


def wide(text: str, name: str, size: float) -> float:
    """Return the width of a text in points."""
    return float(pdfmetrics.stringWidth(text, font(name), size))


@cache
def _style(name: str, size: float, ink: str, lead: float, right: bool, indent: float) -> ParagraphStyle:
    return ParagraphStyle(
        name,
        fontName=font(name),
        fontSize=size,
        leading=size * lead,
        textColor=HexColor(INKS[ink]),
        alignment=2 if right else 0,
        leftIndent=indent,
        bulletFontName=font(name),
        bulletFontSize=size,
    )


@cache
def _letters(style: ParagraphStyle) -> Any:
    """Return a piece of text in a style, read by reportlab once and copied for each paragraph."""
    return Paragraph("-", style).frags[0]


def paragraph(
    text: str,
    name: str = "plain",
    size: float = 9.0,
    *,
    ink: str = "ink",
    lead: float = 1.32,
    right: bool = False,
    indent: float = 0.0,
    bullet: str = "",
    most: int = 0,
    room: float = 0.0,
) -> Paragraph:
    """Return a text to lay out; nothing of it is read as markup.

    Parameters
    ----------
    text : str
        What to print.
    name, size, ink
        One of `FONTS`, height of the letters in points, one of `INKS`.
    lead : float
        From line to line, as a share of the size.
    right : bool
        Whether it ends at the right.
    indent, bullet
        How far in it begins, and what stands before it.
    most, room
        Most lines in a room so wide, in points: a longer text is cut, and shows it.

    Examples
    --------
    >>> made = paragraph("7 against 4", size=10, most=1, room=42)
    >>> lines(made, 42), made.getPlainText()
    (1, '7 agai…')
    """
    style = _style(name, size, ink, lead, right, indent)
    text = printable(text.replace(" bpm", "\N{NO-BREAK SPACE}bpm"), name)

    def made(text: str) -> Paragraph:
        piece = copy(_letters(style))
        piece.text = text  # as one piece: read as markup, a "<" would part it, and a space be doubled
        return Paragraph("", style, bulletText=bullet or None, frags=[piece])

    def fits(text: str) -> bool:
        short = not bullet and wide(text, name, size) < room - indent  # most are, and are not laid out for it
        return short or lines(made(text), room) <= most

    if not most or fits(text):
        return made(text)
    low, high = 0, len(text)
    while low + 1 < high:
        middle = (low + high) // 2
        low, high = (middle, high) if fits(f"{text[:middle].rstrip()}…") else (low, middle)
    return made(f"{text[:low].rstrip()}…")


def lines(made: Paragraph, room: float) -> int:
    """Return how many lines a paragraph takes in a room."""
    made.wrap(room, 1e6)
    return len(made.blPara.lines)


def table(
    rows: Sequence[Sequence[Any]],
    widths: Sequence[float],
    *style: tuple[Any, ...],
    high: float | Sequence[float] | None = None,
) -> Table:
    """Return a table without lines and without room around its cells, until `style` gives it some."""
    bare = [(f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")]
    made = Table(
        rows,
        colWidths=widths,
        rowHeights=high,
        hAlign="LEFT",
        style=[*bare, ("VALIGN", (0, 0), (-1, -1), "TOP"), *style],
    )
    made.spaceBefore = made.spaceAfter = 0
    return made


def rule(side: str, begin: tuple[int, int], end: tuple[int, int], width: float, ink: str = "ink") -> Any:
    """Return the style of a line of a `table`, such as ``"LINEBELOW"``."""
    return side, begin, end, width, HexColor(INKS[ink])


def gap(points: float) -> Spacer:
    """Return room without ink."""
    return Spacer(0, points)


def height(story: Story, room: float) -> float:
    """Return how high a story is in a room so wide, in points."""
    return float(sum(one.wrap(room, 1e6)[1] for one in story))


class UpsideDown(Flowable):  # type: ignore[misc]
    """A paragraph turned round, as answers are printed."""

    def __init__(self, inside: Paragraph) -> None:
        super().__init__()
        self.inside = inside

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return the size of what is inside."""
        self.width, self.height = self.inside.wrap(width, height)
        return self.width, self.height

    def draw(self) -> None:
        """Draw it with its last line on top."""
        self.canv.translate(self.width, self.height)
        self.canv.rotate(180)
        self.inside.drawOn(self.canv, 0, 0)


def picture(scene: Scene, width: float, row: float = ROW) -> Drawing:
    """Return a scene so wide, with rows of so many px; letters and strokes keep their size.

    Examples
    --------
    >>> from rhythmlab.draw.pictures import strip
    >>> picture(strip((3, 2)), 440).height
    90.0
    """
    marks = tuple(
        replace(mark, text=printable(mark.text)) if isinstance(mark, Text) else mark for mark in scene.marks
    )
    return _drawing(svg(replace(scene, alt="", marks=marks), inks=INKS, row=row), width / scene.width)[0]


def notes(page: str, scale: float) -> Drawing:
    """Return an engraved page from its first ink to its last, with so many points to a px."""
    made, (left, bottom, _, top) = _drawing(page, scale)
    made.shift(-left, -bottom)
    made.height = top - bottom
    return made


def _drawing(picture: str, scale: float) -> tuple[Drawing, tuple[float, float, float, float]]:
    """Return an SVG with so many points to a px, and left, bottom, right and top of its ink.

    What svglib 2.3 reads otherwise is put in its terms first: fonts, text on the middle of its line, signs
    that are used by name. Groups that say nothing are left out: it searches them all for each attribute.
    """
    for name in FONTS:
        font(name)  # svglib looks for a font that it was not told of on the reader's machine
    root = ElementTree.fromstring(picture)
    paper, signs = root.find(f"{_SVG}rect"), root.find(f"{_SVG}defs")
    for one in (paper, signs):
        if one is not None:
            root.remove(one)
    _in_place(root, {} if signs is None else {f"#{sign.get('id')}": sign for sign in signs})
    for part in root:
        larger = re.search(r"scale\(([\d.]+)\)", part.get("transform", ""))
        inner = scale * (float(larger[1]) if larger else 1)
        for text in part.iter(f"{_SVG}text"):
            _readable(text, inner, "score" if part.tag == f"{_SVG}g" else "plain")
    made = svg2rlg(BytesIO(ElementTree.tostring(root)))
    if made is None:
        raise ValueError("this picture is not one that svglib reads")
    made.scale(scale / _POINTS, scale / _POINTS)
    made.width, made.height = made.width * scale / _POINTS, made.height * scale / _POINTS
    return made, made.getBounds()


def _in_place(node: ElementTree.Element, signs: Mapping[str, ElementTree.Element]) -> None:
    """Put each sign where it is used, and what is in a group without attributes in place of the group."""
    inside: list[ElementTree.Element] = []
    for child in node:
        if "stroke-width" not in child.attrib:
            child.attrib.pop("stroke", None)  # a hairline round what is filled, which low resolutions thicken
        if child.tag == f"{_SVG}use":
            name = child.get(_LINK, "")
            if name not in signs:
                raise ValueError(f"this engraving uses the sign {name!r}, which it does not have")
            for part in signs[name]:
                where = f"{child.get('transform', '')} {part.get('transform', '')}".strip()
                inside.append(ElementTree.Element(part.tag, {**part.attrib, "transform": where}))
            continue
        _in_place(child, signs)
        inside += child if child.tag == f"{_SVG}g" and set(child.attrib) <= {"class"} else [child]
    node[:] = inside


def _readable(text: ElementTree.Element, scale: float, family: str) -> None:
    """Give a text its font by name, its baseline, and the least size in which it can be read."""
    words, size = "".join(text.itertext()), float(text.get("font-size", "0").removesuffix("px"))
    hand = "bold" if text.get("font-weight") in ("bold", "600", "700") else "normal"
    names = ["bold"] if hand == "bold" else ["plain"]
    if family == "score":
        names = [*["score bold"] * (hand == "bold"), "score", *names]
    name = next((one for one in names if printable(words, one) == printable(words)), names[-1])
    if family == "score" and not name.startswith("score"):
        size *= _PLAIN_IN_SCORE
    size = max(size, SMALLEST / scale)
    if text.get("dominant-baseline"):
        text.set("y", f"{float(text.get('y', '0')) + _MIDDLE * size:.2f}")
    family, weight, _, _ = FONTS[name]
    text.attrib |= {"font-family": f"rhythmlab {family}", "font-weight": weight, "font-size": f"{size:g}"}
    text[:], text.text = [], printable(words)
    sign, rest = words[:1], words[1:]
    if name == "score" and hand == "bold" and sign in _NOTE_SIGNS and printable(rest, "score bold"):
        text.text = None  # a note that stands on the line, and words as heavy as they were set
        for part, of in ((sign, "plain"), (rest, "score bold")):
            family, weight, _, _ = FONTS[of]
            small = max(size * (_PLAIN_IN_SCORE if of == "plain" else 1), SMALLEST / scale)
            face = {"font-family": f"rhythmlab {family}", "font-weight": weight, "font-size": f"{small:g}"}
            ElementTree.SubElement(text, f"{_SVG}tspan", face).text = part.replace(
                " ", "\N{NO-BREAK SPACE}", 1
            )

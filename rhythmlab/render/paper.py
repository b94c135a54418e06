"""Ink on paper: embedded fonts, wrapped text, and pictures and engravings drawn as vectors on a PDF page."""

import unicodedata
from collections.abc import Iterable
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from rhythmlab.draw.palette import COLOURS, lane_role, shape
from rhythmlab.draw.scene import ROW, Band, Line, Mark, Rule, Scene, Stroke, Text
from rhythmlab.draw.svg import HANDS, ON_PAPER, outline, pen
from rhythmlab.render.flatten import Flat, Outline, Segment, path

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

#: Width and height in points.
PAPERS = {"A4": (595.276, 841.89), "Letter": (612.0, 792.0)}
#: Our names of the fonts -> the files that matplotlib brings along.
FONTS = {
    "plain": "DejaVuSans.ttf",
    "bold": "DejaVuSans-Bold.ttf",
    "italic": "DejaVuSans-Oblique.ttf",
    "score": "STIXGeneral.ttf",
    "score bold": "STIXGeneralBol.ttf",
    "score italic": "STIXGeneralItalic.ttf",
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


@cache
def font(name: str) -> str:
    """Return the PDF name of one of `FONTS`, which is registered when it is first asked for."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    spec = find_spec("matplotlib")  # found, not loaded
    if spec is None or spec.origin is None:
        raise ImportError("matplotlib, whose fonts are printed, is not installed")
    where = Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf" / FONTS[name]
    known = f"rhythmlab {name}"
    pdfmetrics.registerFont(TTFont(known, str(where)))
    return known


def _has(name: str, sign: str) -> bool:
    from reportlab.pdfbase import pdfmetrics

    return ord(sign) in pdfmetrics.getFont(font(name)).face.charToGlyph


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
    kept = []
    for sign in unicodedata.normalize("NFC", text):
        kind = unicodedata.category(sign)
        if kind in ("Cc", "Zl", "Zp", "Zs") and sign != "\N{NO-BREAK SPACE}":
            kept.append(" ")
        elif kind[0] != "C" and unicodedata.bidirectional(sign) not in ("R", "AL", "AN") and _has(name, sign):
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
    from reportlab.pdfbase import pdfmetrics

    return float(pdfmetrics.stringWidth(text, font(name), size))


def wrapped(text: str, name: str, size: float, room: float) -> list[str]:
    """Break a text into lines that fit into a room; a word too long for a line is broken.

    Parameters
    ----------
    text : str
        What to print.
    name : str
        One of `FONTS`.
    size, room : float
        Height of the letters and width of the room, in points.

    Examples
    --------
    >>> wrapped("home is the 4", "plain", 10, 45)
    ['home is', 'the 4']
    """
    lines, line = [], ""
    for word in printable(text, name).split(" "):
        longer = f"{line} {word}" if line else word
        if wide(longer, name, size) <= room:
            line = longer
            continue
        if line:
            lines.append(line)
        while len(word) > 1 and wide(word, name, size) > room:
            fits = max(1, _fitting(word, name, size, room))
            lines.append(word[:fits])
            word = word[fits:]
        line = word
    return [*lines, line] if line else lines


def _fitting(text: str, name: str, size: float, room: float) -> int:
    """Return how many letters from the start of a text fit into a room."""
    at, step = 0, 1
    while step:  # ever longer steps, then ever shorter ones
        if at + step <= len(text) and wide(text[at : at + step], name, size) <= room:
            room -= wide(text[at : at + step], name, size)
            at, step = at + step, 2 * step
        else:
            step //= 2
    return at


def cut(text: str, name: str, size: float, room: float) -> str:
    """Cut a text so that it fits into a room, and show that it was cut.

    Examples
    --------
    >>> cut("7 against 4", "plain", 10, 40)
    '7 aga…'
    """
    text = printable(text, name)
    if wide(text, name, size) <= room:
        return text
    text = text[: _fitting(text, name, size, room - wide("…", name, size))]
    return f"{text.rstrip()}…"


def write(
    canvas: "Canvas",
    x: float,
    y: float,
    text: str,
    *,
    name: str = "plain",
    size: float = 9.0,
    anchor: str = "start",
    ink: str = "ink",
) -> None:
    """Write one line with its baseline at `y`; signs that the font lacks are taken from the plain one."""
    from reportlab.lib.colors import HexColor

    canvas.setFillColor(HexColor(INKS[ink]))
    runs = _runs(text, name, size)
    x -= {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * sum(wide(*run) for run in runs)
    for run in runs:
        canvas.setFont(font(run[1]), run[2])
        canvas.drawString(x, y, run[0])
        x += wide(*run)


def _runs(text: str, name: str, size: float) -> list[tuple[str, str, float]]:
    """Cut a text where the font changes: signs that it lacks are from the plain one, smaller."""
    if not name.startswith("score"):
        return [(printable(text, name), name, size)]
    found: list[tuple[str, str, float]] = []
    for sign in printable(text):
        smaller = 1 if unicodedata.category(sign) == "So" else 0.86  # letters of the plain font are wider
        kind = (name, size) if _has(name, sign) else ("plain", smaller * size)
        if found and found[-1][1] == kind[0]:
            found[-1] = (found[-1][0] + sign, *kind)
        else:
            found.append((sign, *kind))
    return found


def rule(
    canvas: "Canvas", x0: float, y0: float, x1: float, y1: float, width: float = 0.6, ink: str = "ink"
) -> None:
    """Draw a straight line."""
    from reportlab.lib.colors import HexColor

    canvas.setStrokeColor(HexColor(INKS[ink]))
    canvas.setLineWidth(width)
    canvas.line(x0, y0, x1, y1)


def draw_scene(canvas: "Canvas", scene: Scene, x: float, top: float, width: float, row: float = ROW) -> float:
    """Draw a scene so wide, with its upper edge at `top`, and return its height in points.

    Rows of less than `ROW` px are closer together; letters and strokes keep their size.
    """
    scale = width / scene.width
    high = scene_height(scene, width, row)
    canvas.saveState()
    canvas.translate(x, top)
    canvas.scale(scale, -scale)  # from here on px from the top left corner, as on a screen
    radius = scene.radius
    for mark in scene.marks:
        _mark(canvas, mark, scene, radius, row)
    canvas.restoreState()
    return high


def scene_height(scene: Scene, width: float, row: float = ROW) -> float:
    """Return the height of a scene drawn so wide, in the same unit."""
    return scene.rows * row * width / scene.width


def _mark(canvas: "Canvas", mark: Mark, scene: Scene, radius: float, high: float) -> None:
    from reportlab.lib.colors import HexColor

    match mark:
        case Stroke(tick, row, lane):
            x, y = scene.x(tick), row * high
            canvas.setStrokeColor(HexColor(INKS["ink"]))
            if mark.ring:
                canvas.setLineWidth(1.8)
                canvas.circle(x, y, radius + 5, stroke=1, fill=0)
            canvas.setFillColor(HexColor(INKS[lane_role(lane)]))
            canvas.setLineWidth(1.1)
            size = radius * (0.62 if mark.small else 1)
            if shape(lane) == "disc":
                canvas.circle(x, y, size, stroke=1, fill=1)
            else:
                _path(canvas, path(outline(shape(lane), x, y, size)), stroke=True, fill=True)
        case Rule(x, top, bottom, role):
            _pen(canvas, role, scene.x(x), top * high, scene.x(x), bottom * high)
        case Line(left, top, right, bottom, role):
            _pen(canvas, role, scene.x(left), top * high, scene.x(right), bottom * high)
        case Band(left, right, top, bottom, role):
            canvas.setFillColor(HexColor(INKS[role]))
            box = (scene.x(left), top * high, scene.x(right) - scene.x(left), (bottom - top) * high)
            canvas.rect(*box, stroke=0, fill=1)
        case Text(tick, row, text, role, side):
            ink, size, weight = HANDS[role]
            name = "bold" if weight >= 600 else "plain"
            gutters = {"left": scene.left - 17.0, "right": scene.width - scene.right + 10.0}
            x = gutters.get(side, scene.x(tick)) + (16 if side == "from" else 0)
            anchor = {"left": "end", "right": "start", "from": "start"}.get(side, "middle")
            if role in ON_PAPER:
                tall, across = 0.86 * size, wide(printable(text), name, size) + 3
                canvas.setFillColor(HexColor(INKS["paper"]))
                canvas.rect(x - across / 2, row * high - tall / 2, across, tall, stroke=0, fill=1)
            canvas.saveState()
            canvas.translate(x, row * high)
            canvas.scale(1, -1)
            write(canvas, 0, -0.36 * size, text, name=name, size=size, anchor=anchor, ink=ink)
            canvas.restoreState()


def _pen(canvas: "Canvas", role: str, x0: float, y0: float, x1: float, y1: float) -> None:
    """Draw a line in the ink of its role, mixed with the paper where the screen would see through it."""
    from reportlab.lib.colors import Color, HexColor

    ink, width, opacity = pen(role)
    full = HexColor(INKS[ink])
    mixed = Color(*(1 - opacity * (1 - part) for part in (full.red, full.green, full.blue)))
    canvas.setStrokeColor(mixed)
    canvas.setLineWidth(width)
    canvas.line(x0, y0, x1, y1)


def draw_flat(canvas: "Canvas", page: Flat, x: float, top: float, scale: float) -> float:
    """Draw an engraved page from its first ink to its last, and return the height in points.

    Parameters
    ----------
    canvas : reportlab.pdfgen.canvas.Canvas
        Where to draw.
    page : Flat
        From `flat`.
    x, top : float
        Where its left upper corner is, in points.
    scale : float
        Points to a px.
    """
    from reportlab.lib.colors import HexColor

    left, upper, _, lower = page.ink()
    canvas.saveState()
    canvas.translate(x - left * scale, top + upper * scale)
    canvas.scale(scale, -scale)
    canvas.setStrokeColor(HexColor(INKS["ink"]))
    canvas.setFillColor(HexColor(INKS["ink"]))
    for piece in page.pieces:
        if isinstance(piece, Outline):
            canvas.setLineWidth(max(piece.width, 0.1))
            _path(canvas, piece.segments, stroke=piece.width > 0, fill=piece.filled)
        else:
            name = "score" + " bold" * piece.bold + " italic" * (piece.italic and not piece.bold)
            canvas.saveState()
            canvas.translate(piece.x, piece.y)
            canvas.scale(1, -1)
            size = max(piece.size, SMALLEST / scale)  # bar numbers in small notes
            write(canvas, 0, 0, piece.text, name=name, size=size, anchor=piece.anchor)
            canvas.restoreState()
    canvas.restoreState()
    return (lower - upper) * scale


def _path(canvas: "Canvas", segments: Iterable[Segment], stroke: bool, fill: bool) -> None:
    drawn = canvas.beginPath()
    for name, points in segments:
        if name == "M":
            drawn.moveTo(*points)
        elif name == "L":
            drawn.lineTo(*points)
        elif name == "C":
            drawn.curveTo(*points)
        else:
            drawn.close()
    canvas.drawPath(drawn, stroke=int(stroke), fill=int(fill), fillMode=1)  # where paths wind, not even-odd

"""MusicXML engraved as SVG by verovio: the same text gives the same picture, byte for byte."""

import re
from functools import cache
from html import escape
from textwrap import wrap
from threading import RLock
from typing import Any

from rhythmlab.refusal import Refusal

#: A page in px: its width fits a notebook, its proportion an A4 page between margins.
WIDTH, HEIGHT = 900, 1240
_SCALE = 40
#: Px to a quarter for each unit of verovio's linear spacing, measured at this scale.
_PX = 1030
#: Height of the line of a title in px, of a line of the key, its letters, and how wide one is at most.
_TITLE, _KEY, _LETTERS, _WIDE = 36, 20, 14, 8.0
#: Digits of a time signature: so much smaller, and so far from the middle, that the two never touch.
_DIGITS, _APART = 0.92, 12
#: Words that a browser sets in a wider font than verovio reckons with: one space more for so many letters.
_SPARE = 2
_SPACE = "\N{NO-BREAK SPACE}"
#: Verovio engraves one page at a time.
_LOCK = RLock()
_FONT = 'font-family="Times, serif"'
_SIGNATURE = re.compile(r'<g class="meterSig">.*?</g>', re.DOTALL)
_PLACE = re.compile(r"translate\(\d+, (\d+)\)")
_TEXT = re.compile(r'<text ([^>]*?) ?font-size="0px">((?:<tspan[^>]*>)+)([^<]*)(?:</tspan>)+</text>')


def engrave(
    text: str,
    *,
    alt: str = "",
    title: str = "",
    key: str = "",
    numbered: bool = False,
    quarter_px: int = 105,
    deep: bool = False,
    sheet: tuple[int, int] | None = None,
) -> tuple[str, ...]:
    """Engrave MusicXML.

    Parameters
    ----------
    text : str
        MusicXML.
    alt : str
        Text alternative of the pages.
    title, key : str
        Printed above the first page: what it is, and which place on the staff is which drum.
    numbered : bool
        Whether every bar shows its number, and not only the first of a line.
    quarter_px : int
        How wide a quarter is, in px; verovio gives more where words would collide.
    deep : bool
        Whether beams hang under the staff, so that words stand lower.
    sheet : (int, int), optional
        Width and height in px of a room on paper.  Only the first page is engraved for it, without margins.

    Returns
    -------
    tuple of str
        SVG of each page, without nested ones and without a style sheet.

    Raises
    ------
    ImportError
        If verovio is not installed.
    ValueError
        If verovio cannot read the text.
    """
    with _LOCK:
        tool = _toolkit()
        under = 8.0 if deep else 6.0 if "<stem>down" in text else 2.0
        tool.setOptions(_options(numbered, quarter_px, under, sheet))
        tool.resetXmlIdSeed(7)
        pages = (1 if sheet else tool.getPageCount()) if tool.loadData(_roomy(text)) else 0
        raw = [tool.renderToSVG(page) for page in range(1, pages + 1)]
    if not all('class="staff"' in page for page in raw) or not raw:
        raise Refusal("verovio cannot read this score; its MusicXML can still be written")
    return tuple(
        _flat(
            page,
            alt if len(raw) == 1 else f"Page {number} of {len(raw)}. {alt}",
            title if number == 1 else "",
            key if number == 1 else "",
        )
        for number, page in enumerate(raw, 1)
    )


@cache
def _toolkit() -> Any:
    import verovio

    tool = verovio.toolkit()
    verovio.enableLog(verovio.LOG_OFF)
    return tool


def _options(
    numbered: bool, quarter_px: int, under: float, sheet: tuple[int, int] | None
) -> dict[str, object]:
    """Return every option of verovio that is ever changed, since it keeps them from one score to the next.

    `under` is the room between a staff and the words under it, in halves of a space.
    """
    width, height = sheet or (WIDTH, HEIGHT)
    margins = dict.fromkeys((f"pageMargin{side}" for side in ("Left", "Right", "Top", "Bottom")), 50)
    return {
        "inputFrom": "musicxml",
        "header": "none",
        "footer": "none",
        "scale": _SCALE,
        "pageWidth": width * 100 // _SCALE,
        "pageHeight": height * 100 // _SCALE,
        "adjustPageHeight": True,
        "adjustPageWidth": True,
        "breaks": "auto",
        "spacingNonLinear": 1.0,
        "tupletAngledOnBeams": True,
        "xmlIdSeed": 7,
        "spacingLinear": quarter_px / _PX,
        "spacingSystem": 4 if sheet else 6,
        "lyricVerseCollapse": True,
        "lyricWordSpace": 3.5,
        "lyricTopMinMargin": under,
        "dynamDist": 1.5,
        "mnumInterval": 1 if numbered else 0,
        "svgFormatRaw": True,
        **(dict.fromkeys(margins, 0) if sheet else margins),
    }


def _roomy(text: str) -> str:
    """Return MusicXML whose words above a staff have room for a wider font than verovio reckons with.

    Its tempo, which is heard and not seen, is left out: verovio would set the words as a mark of its own.
    """
    return re.sub(
        "(?<=>)([^<>]*)(?=</words>)",
        lambda words: words[0] + _SPACE * (len(words[0]) // _SPARE),
        re.sub("<sound tempo=[^>]*>", "", text),
    )


def _apart(signature: re.Match[str]) -> str:
    """Return a time signature whose upper and lower digits stand clear of each other."""
    signs = signature[0]
    rows = sorted({int(y) for y in _PLACE.findall(signs)})
    if len(rows) < 2:
        return signs
    middle = sum(rows) / 2

    def moved(found: re.Match[str]) -> str:
        x, y, size = found[1], int(found[2]), float(found[3])
        y += _APART if y > middle else -_APART
        return f'translate({x}, {y}) scale({size * _DIGITS:g}, {size * _DIGITS:g})"'

    return re.sub(r'translate\((\d+), (\d+)\) scale\(([\d.]+), [\d.]+\)"', moved, signs)


def _wrapped(key: str, width: float) -> list[str]:
    """Return the lines of a key on a page so many px wide."""
    return wrap(key, max(20, int((width - 40) / _WIDE))) if key else []


def _flat(svg: str, alt: str, title: str = "", key: str = "") -> str:
    """Return one SVG without nested ones and without a style sheet, on white paper, under title and key."""
    size = re.search(r'<svg width="([0-9.]+)px" height="([0-9.]+)px"', svg)
    inner = re.search(r'<svg class="definition-scale"[^>]*viewBox="0 0 ([0-9.]+) ([0-9.]+)">', svg)
    defs = re.search(r"<defs>.*?</defs>", svg, re.DOTALL)
    if not size or not inner:
        raise Refusal("verovio has drawn this score in a form that is not known here")
    width, height = float(size[1]), float(size[2])
    body = svg[inner.end() : svg.rindex("</svg>", 0, svg.rindex("</svg>"))]
    body = re.sub(r'(<[a-z]+) id="[^"]*"', r"\1", body)
    body = re.sub(r'<g class="[^"]*placeholder[^"]*">.*?</g>', "", body)
    body = _TEXT.sub(_plain_text, body)
    body = _SIGNATURE.sub(_apart, body)
    body = re.sub(r"<g( class=\"[^\"]*\")? ?/>", "", body)
    body = re.sub(r"<(path|ellipse|polygon|polyline|rect) ", r'<\1 stroke="#000" ', body)
    body = body.replace('<g class="mNum"', '<g font-style="italic" class="mNum"')
    top = _TITLE if title else 0
    lines = _wrapped(key, width)
    label = escape(alt, quote=True)
    head = (
        f'<text x="20" y="{top - 10}" {_FONT} font-size="20" font-weight="bold">{escape(title)}</text>'
        if title
        else ""
    )
    said = "".join(
        f'<text x="20" y="{top + _KEY * n - 4}" class="key" {_FONT} font-size="{_LETTERS}">'
        f"{escape(line)}</text>"
        for n, line in enumerate(lines, 1)
    )
    top += _KEY * len(lines)
    total = f"{height + top:g}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" role="img" '
        f'aria-label="{label}" width="{width:g}" height="{total}" viewBox="0 0 {width:g} {total}">'
        f"{defs[0] if defs else ''}"
        f'<rect width="{width:g}" height="{total}" fill="#fff"/>{head}{said}'
        f'<g transform="translate(0 {top}) scale({width / float(inner[1]):.6g})" fill="#000" color="#000" '
        f'font-family="Times, serif">{body}</g></svg>'
    )


def _plain_text(found: re.Match[str]) -> str:
    """Return one text element in place of one with nested spans, of which the innermost has the size."""
    where, spans, words = found.groups()
    size = re.search(r'font-size="([^"]*)"', spans)
    weight = ' font-weight="bold"' if "bold" in spans else ""
    return f'<text {where} font-size="{size[1] if size else "405px"}"{weight}>{words.rstrip(_SPACE)}</text>'

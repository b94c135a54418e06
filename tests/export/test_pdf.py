"""The painter of PDFs: what svglib and platypus are given lands on paper, whole and where it should be."""

import io
import logging
from xml.etree import ElementTree

import pypdf
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from reportlab.graphics.shapes import Group, Path, PolyLine, Shape, String
from reportlab.platypus import Paragraph

import rhythmlab as rl
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.draw.pictures import shared_grid, strip
from rhythmlab.export import pdf
from rhythmlab.export.handout import engraved, handout, notation
from tests.strategies import TRIES

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'width="200" height="100" viewBox="0 0 200 100">'
)
PAPER = '<rect width="200" height="100" fill="#fff"/>'


def shapes(group: Group) -> list[Shape]:
    """Return everything with ink in a drawing."""
    found: list[Shape] = []
    for one in group.contents:
        found += shapes(one) if isinstance(one, Group) else [one]
    return found


def drawn(inside: str, scale: float = 1.0):
    """Return a picture of 200 by 100 px as it is drawn, and the bounds of its ink."""
    return pdf._drawing(f"{HEAD}{PAPER}{inside}</svg>", scale)


@pytest.mark.parametrize("scale", [0.5, 1, 2])
def test_a_px_is_as_many_points_as_asked(scale):
    """Size of the drawing, and bounds of a line from (20, 50) to (120, 50) px, counted from below."""
    made, (left, bottom, right, top) = drawn('<path d="M20 50h100" stroke="#000" stroke-width="0"/>', scale)
    assert (made.width, made.height) == pytest.approx((200 * scale, 100 * scale))
    assert (left, right) == pytest.approx((20 * scale, 120 * scale), abs=0.01)
    assert bottom == top == pytest.approx(50 * scale)


def test_signs_are_put_where_they_are_used():
    """A sign from the list is moved, scaled and turned upside down, as often as it is named."""
    sign = '<defs><g id="a"><path transform="scale(1,-1)" d="M0 0l10 10v-10z"/></g></defs>'
    one = '<g fill="#000"><use xlink:href="#a" transform="translate(50, 60) scale(2, 2)"/></g>'
    _, bounds = drawn(sign + one)
    assert bounds == pytest.approx((50, 40, 70, 60))  # 40 to 60 from above is 40 to 60 from below
    both, bounds = drawn(
        sign + one + '<g fill="#000"><use xlink:href="#a" transform="translate(5, 17)"/></g>'
    )
    assert bounds == pytest.approx((5, 40, 70, 93))
    assert len(shapes(both)) == 2


def test_a_sign_that_is_not_there_is_refused():
    """An error, never a picture without it."""
    with pytest.raises(ValueError, match="uses the sign '#none'"):
        drawn('<g><use xlink:href="#none"/></g>')


def test_what_is_only_filled_has_no_line_round_it():
    """A hairline would make beams thicker where dots are large; a line with a width keeps it."""
    made, _ = drawn(
        '<g fill="#000"><polygon stroke="#000" points="1,1 9,1 9,3"/>'
        '<path stroke="#000" stroke-width="2" d="M0 9h9"/></g>'
    )
    beam, *lines = shapes(made)
    assert beam.strokeColor is None
    assert beam.fillColor is not None
    assert {one.strokeWidth for one in lines if one.strokeColor is not None} == {2}


def test_text_stands_on_its_middle_or_its_baseline():
    """On the middle of the line where the picture says so; its hand is one of ours."""
    made, _ = drawn(
        '<text x="10" y="50" dominant-baseline="central" font-size="20" font-weight="700">7</text>'
        '<text x="10" y="90" font-size="20" text-anchor="end">4</text>'
    )
    bold, plain = shapes(made)
    assert bold.y == pytest.approx(-57.2)  # 0.36 of the size under 50, in px counted downwards
    assert plain.y == pytest.approx(-90)
    assert (bold.fontName, plain.fontName) == (pdf.font("bold"), pdf.font("plain"))
    assert plain.textAnchor == "end"


def test_words_in_notes_are_large_enough_and_have_all_their_signs():
    """Never under the smallest size on paper; the plain font where the one of scores lacks a sign."""
    made, _ = drawn(
        '<g transform="translate(0 0) scale(0.05)"><text x="1" y="1" font-size="100px">1</text>'
        '<text x="1" y="1" font-size="400px" font-weight="bold">\u2669 = 72</text></g>'
    )
    count, note, tempo = shapes(made)
    assert count.fontName == pdf.font("score")
    assert count.fontSize * 0.05 == pytest.approx(pdf.SMALLEST)
    # the bold font of scores has no such note, and that of the other hangs under the line
    assert (note.fontName, note.text, tempo.fontName) == (pdf.font("plain"), "\u2669", pdf.font("score bold"))
    assert (tempo.text.replace("\N{NO-BREAK SPACE}", " "), tempo.y) == (" = 72", note.y)
    assert 0 < tempo.x - note.x < 400  # beside it, not over it
    made, _ = drawn('<g fill="#000"><text x="1" y="1" font-size="20px" font-weight="bold">\u10d0</text></g>')
    (georgian,) = shapes(made)
    assert (georgian.fontName, georgian.fontSize) == (pdf.font("bold"), pytest.approx(17.2))
    made, _ = drawn('<g font-style="italic"><text x="1" y="1" font-size="20px">12</text></g>')
    assert [one.fontName for one in shapes(made)] == [pdf.font("score italic")]


RHYTHMS = [
    (rl.Polyrhythm(3, 2), 1),
    (rl.Polyrhythm(7, 4), 0),
    (rl.Polyrhythm(16, 15), 1),
    (rl.Polyrhythm(3, 4, 5), 2),
    (rl.playing.resolve((7, 4)), None),
    (rl.ostinato("x..x..x.", "x.x", metre="4/4"), None),
]


@pytest.mark.parametrize(("what", "home"), RHYTHMS, ids=str)
def test_every_shape_and_word_of_an_engraving_is_kept(what, home, caplog):
    """As many as the engraver's own file draws, and svglib has nothing to say."""
    tempo = rl.Tempo(72, pulse=home) if home is not None else what.metre.tempo(72)
    made = engraved(notation(what, tempo, home).musicxml, 920)
    root = ElementTree.fromstring(made.svg)
    body = root.find(f"{pdf._SVG}g")
    kinds = [one.tag.removeprefix(pdf._SVG) for one in body.iter()]
    caplog.set_level(logging.INFO)
    found = shapes(pdf.notes(made.svg, 0.5))
    assert not caplog.records
    texts = [" ".join("".join(one.itertext()).split()) for one in body.iter(f"{pdf._SVG}text")]
    words = "\n".join(one.text for one in found if isinstance(one, String)).replace("\N{NO-BREAK SPACE}", " ")
    whole = words.replace("\u2669\n", "\u2669").replace("\u266a\n", "\u266a")  # a note is set by itself
    assert whole.split("\n") == [text for text in texts if text]
    outlines = sum(kinds.count(kind) for kind in ("path", "use", "polygon", "polyline", "rect", "ellipse"))
    lines = [one for one in found if not isinstance(one, String)]
    assert len(lines) >= outlines > 10
    assert all(one.strokeColor or one.fillColor for one in lines)
    assert {type(one) for one in lines} & {Path, PolyLine}


@pytest.mark.parametrize(("what", "home"), RHYTHMS, ids=str)
def test_an_engraving_is_cut_to_its_ink(what, home):
    """It begins at its left lower corner, and is nearly as wide as its page."""
    tempo = rl.Tempo(72, pulse=home) if home is not None else what.metre.tempo(72)
    page = engraved(notation(what, tempo, home).musicxml, 920)
    made = pdf.notes(page.svg, 0.5)
    left, bottom, right, top = made.getBounds()
    assert (left, bottom) == pytest.approx((0, 0), abs=0.01)
    assert top == pytest.approx(made.height, abs=0.01)
    assert made.height <= 0.5 * page.high + 4
    assert right > 0.9 * 0.5 * page.width


@pytest.mark.parametrize(
    "scene",
    [
        shared_grid(rl.Polyrhythm(7, 4).cycle()),
        strip(rl.playing.split((7, 4))),
        strip(rl.playing.resolve((7, 4))),
        strip(Cycle(4, [Lane("<b>\u2669 \u62cd & \x07", [0, 1])], beats=[0, 2])),
    ],
    ids=lambda scene: scene.name,
)
@pytest.mark.parametrize("row", [33.0, 40.0])
def test_every_mark_of_a_picture_is_drawn(scene, row, caplog):
    """As many shapes as marks, in the inks of paper; words without what cannot be printed."""
    caplog.set_level(logging.INFO)
    made = pdf.picture(scene, 505.0, row)
    assert not caplog.records
    assert made.width == pytest.approx(505)
    assert made.height == pytest.approx(scene.rows * row * 505 / scene.width)
    found = shapes(made)
    printed = [pdf.printable(mark.text) for mark in scene.marks if hasattr(mark, "text")]
    assert [one.text for one in found if isinstance(one, String)] == [text for text in printed if text]
    assert len(found) >= len([mark for mark in scene.marks if not hasattr(mark, "text")])
    inks = {f"#{one.fillColor.int_rgb():06x}" for one in found if one.fillColor is not None}
    assert inks <= set(pdf.INKS.values())


def test_a_page_that_is_too_full_shrinks_and_loses_nothing(monkeypatch):
    """Ten times the words: still two pages, every word on them, the foot apart."""
    from rhythmlab.export import handout as module

    long = " ".join(f"word{i}" for i in range(400))
    real = module.of_pair

    def wordy(*given):
        from dataclasses import replace

        found = real(*given)
        return replace(found, steps=(*found.steps, (long, "1 2")), remarks=(), facts=long)

    monkeypatch.setattr(module, "of_pair", wordy)
    one = handout(rl.Polyrhythm(7, 4), 72)
    pages = pypdf.PdfReader(io.BytesIO(one.pdf)).pages
    assert len(pages) == 2
    for page in pages:
        text = page.extract_text()
        assert all(f"word{i}" in text for i in range(400))
        assert "of 2" in text


@TRIES
@given(st.text(max_size=80), st.integers(1, 3), st.floats(30, 300), st.sampled_from([0.0, 14.0]))
@example("< \xa0", 1, 30.0, 0.0)
@example("0?\xa0 <00", 1, 30.0, 0.0)
@example("0?\xa0 <00", 2, 300.0, 0.0)
@example("a & b\xa0 < c &lt; d", 1, 60.0, 0.0)
@example("a b c d e f", 1, 52.0, 14.0)  # on one line without the indent
def test_a_text_is_cut_to_its_lines_and_shows_it(text, most, room, indent):
    """At most so many lines; whole where it fits, and else its beginning with a sign that it goes on."""
    whole = pdf.paragraph(text, indent=indent)
    cut = pdf.paragraph(text, indent=indent, most=most, room=room)
    assert pdf.lines(cut, room) <= most
    words, kept = whole.getPlainText() or "", cut.getPlainText() or ""
    if pdf.lines(whole, room) <= most:
        assert kept == words
    else:
        assert kept.endswith("…")
        assert words.startswith(kept.removesuffix("…"))
    assert words == (whole.getPlainText() or "")  # laying it out changes nothing


def test_nothing_in_a_paragraph_is_markup():
    """Letters of a tag are letters."""
    assert isinstance(made := pdf.paragraph("<b>a</b> & <img src='x'/>"), Paragraph)
    assert made.getPlainText() == "<b>a</b> & <img src='x'/>"

"""Engraved pages: flat, self-contained, the same every time, with a text alternative."""

import re
from concurrent.futures import ThreadPoolExecutor
from xml.etree import ElementTree

import pytest

import rhythmlab as rl
from rhythmlab.notation.engrave import WIDTH, engrave
from rhythmlab.notation.score import score

SVG = "{http://www.w3.org/2000/svg}"
SEVEN = score(rl.Polyrhythm(7, 4), 72).musicxml


def test_the_same_text_gives_the_same_picture():
    """Byte for byte, whatever was engraved in between, and from several threads at once."""
    first = engrave(SEVEN)
    engrave(score(rl.Polyrhythm(16, 15), grid=True).musicxml, numbered=True, quarter_px=60)
    assert engrave(SEVEN) == first
    with ThreadPoolExecutor(4) as pool:
        assert set(pool.map(engrave, [SEVEN] * 8)) == {first}


def test_a_page_is_flat_and_needs_nothing_else():
    """One svg element, no style sheet, no script, links to its own glyphs only, strokes said, white paper."""
    (page,) = engrave(SEVEN, alt='said & "done"')
    root = ElementTree.fromstring(page)
    assert page.count("<svg") == 1
    assert "<style" not in page
    assert "<script" not in page
    links = re.findall(r'href="([^"]*)"', page)
    ids = set(re.findall(r' id="([^"]*)"', page))
    assert links
    assert {link.removeprefix("#") for link in links} == ids
    assert root.get("role") == "img"
    assert root.get("aria-label") == 'said & "done"'
    assert root.find(f"{SVG}rect").get("fill") == "#fff"
    drawn = root.find(f"{SVG}g").iter(f"{SVG}path")
    assert all(path.get("stroke") for path in drawn)
    assert "placeholder" not in page


def test_staves_notes_and_brackets_are_drawn():
    """7:4 from the 4 has two staves, eleven notes and one bracket that reads 7:4."""
    (page,) = engrave(SEVEN)
    assert page.count('class="staff"') == 2
    assert page.count('class="notehead"') == 11
    assert page.count('class="tupletBracket"') == 1
    assert "♩ = 72 is the beat of the 4" in page


@pytest.mark.parametrize(
    "made",
    [
        score(rl.Polyrhythm(7, 4), home=0),
        score(rl.Polyrhythm(32, 31)),
        score(rl.playing.resolve((7, 4)), 120),
        score(rl.phrases(31)[0].cycle(), 96),
        score(rl.Polyrhythm(16, 15), grid=True),
        score(rl.playing.accents("2+2+3/8", 5)),
    ],
    ids=lambda made: made.alt[:20],
)
def test_pages_fit_a_notebook_and_are_not_empty(made):
    """No page is much wider than a notebook's line, nor empty, nor taller than its sheet."""
    for number in range(1, made.pages + 1):
        root = ElementTree.fromstring(made.svg(number))
        assert 300 < float(root.get("width")) <= WIDTH * 1.05
        assert 80 < float(root.get("height")) < 1300
        assert made.svg(number).count('class="notehead"') > 0


def test_a_title_is_printed_over_the_first_page_only():
    """It makes the first page taller by its line."""
    made = score(rl.Polyrhythm(16, 15), grid=True).musicxml
    plain, titled = engrave(made), engrave(made, title="Sixteen & fifteen")
    assert "Sixteen &amp; fifteen" in titled[0]
    assert titled[1:] == plain[1:]


def test_what_is_no_score_is_refused():
    """Text that is not MusicXML gives a sentence, and the engraver goes on working after it."""
    for text in ("", "nothing", "<score-partwise/>", "<a>"):
        with pytest.raises(ValueError, match="cannot read"):
            engrave(text)
    assert engrave(SEVEN)

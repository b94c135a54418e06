"""Flattening an engraving: every shape lands where an independent painter puts it."""

import xml.etree.ElementTree as ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.render.flatten import Outline, Words, flat, path
from rhythmlab.render.handout_notes import engraved, notation
from tests.strategies import TRIES

HEAD = '<svg width="200px" height="100px" xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink">'


def drawn(inside: str):
    """Return the pieces of a picture of 200 by 100 px."""
    return flat(f"{HEAD}{inside}</svg>").pieces


def test_a_nested_picture_is_scaled_to_its_page():
    """A picture of 2000 by 1000 in one of 200 by 100 px is a tenth as large, its pen too."""
    (one,) = drawn('<svg viewBox="0 0 2000 1000"><path d="M100 200h300" stroke-width="20"/></svg>')
    assert one == Outline((("M", (10, 20)), ("L", (40, 20))), 2, True)


def test_signs_are_put_where_they_are_used():
    """A sign from the list is moved, scaled and turned upside down, as often as it is named."""
    sign = '<defs><g id="a"><path transform="scale(1,-1)" d="M0 0l10 10z"/></g></defs>'
    use = '<use xlink:href="#a" transform="translate(50, 60) scale(2, 2)"/>'
    one, other = drawn(sign + use + '<use href="#a" x="5" y="7"/>')
    assert one.segments == (("M", (50, 60)), ("L", (70, 40)), ("Z", ()))
    assert other.segments == (("M", (5, 7)), ("L", (15, -3)), ("Z", ()))
    assert one.filled
    assert not one.width


def test_symbols_with_a_room_of_their_own_are_scaled():
    """A symbol of 100 by 100 used 20 wide is a fifth as large."""
    sign = '<symbol id="a" viewBox="0 0 100 100" overflow="inherit"><path d="M0 0h50"/></symbol>'
    (one,) = drawn(sign + '<use href="#a" x="10" y="10" width="20px" height="20px"/>')
    assert one.segments == (("M", (10, 10)), ("L", (20, 10)))


def test_what_is_hidden_stays_hidden():
    """Placeholders, hidden groups, lists and style sheets have no ink."""
    assert not drawn(
        '<defs><path d="M0 0h1"/></defs><style>path{}</style><g class="placeholder"><path d="M0 0h1"/></g>'
        '<g visibility="hidden"><path d="M0 0h1"/></g><g display="none"><rect width="1" height="1"/></g>'
        '<path d="M0 0h1" fill="none" stroke="none"/>'
    )


def test_words_keep_place_size_and_hand():
    """Sizes come from the innermost run; tempos are bold, directions italic; two places are two runs."""
    text = '<tspan><tspan font-size="12px">1 &amp;</tspan></tspan>'
    (one,) = drawn(f'<g class="tempo"><text x="3" y="4" text-anchor="middle">{text}</text></g>')
    assert one == Words(3, 4, "1 &", 12, "middle", True, False)
    text = '<tspan x="1" y="2">a</tspan><tspan x="5" y="6">b</tspan>'
    first, second = drawn(f'<g class="dir"><text font-size="10px">{text}</text></g>')
    assert (first.x, first.y, first.text, first.italic) == (1, 2, "a", True)
    assert (second.x, second.y, second.text) == (5, 6, "b")


@pytest.mark.parametrize(
    "inside",
    [
        '<path d="M0 0A5 5 0 0 1 10 10"/>',
        '<path d="M0"/>',
        '<use href="#none"/>',
        '<g transform="skewX(20)"><path d="M0 0h1"/></g>',
    ],
)
def test_what_cannot_be_drawn_is_refused(inside):
    """An unknown command, sign or map is an error, never a wrong picture."""
    with pytest.raises(ValueError, match="this engraving"):
        drawn(inside)


def test_a_sign_that_uses_itself_ends():
    """A ring of signs is refused."""
    with pytest.raises(ValueError, match="this engraving"):
        drawn('<defs><g id="a"><use href="#a"/></g></defs><use href="#a"/>')


@pytest.mark.parametrize("text", ["", "no picture", "<svg/>", '<svg width="0" height="5"/>'])
def test_what_is_no_picture_is_refused(text):
    """Said with an example."""
    with pytest.raises(ValueError, match=r"for example handout\(Polyrhythm\(7, 4\), 72\)"):
        flat(text)


numbers = st.integers(-500, 500)


@TRIES
@given(st.lists(st.tuples(numbers, numbers), min_size=1, max_size=8))
def test_moved_and_absolute_paths_are_the_same(points):
    """A path by steps and the same path by places give the same segments."""
    there = "M" + " L".join(f"{x} {y}" for x, y in points) + "Z"
    steps, at = [], (0, 0)
    for x, y in points:
        steps.append(f"{x - at[0]} {y - at[1]}")
        at = (x, y)
    assert path(there) == path("m" + "l".join(steps) + "z")


@TRIES
@given(*[st.tuples(numbers, numbers)] * 3)
def test_a_quadratic_curve_is_the_cubic_one(a, b, c):
    """Both pass through the same point halfway: (a + 2b + c) / 4 (common practice of computer graphics)."""
    found = path(f"M{a[0]} {a[1]}Q{b[0]} {b[1]} {c[0]} {c[1]}")
    (x1, y1, x2, y2, x3, y3) = found[1][1]
    assert (a[0] + 3 * x1 + 3 * x2 + x3) / 8 == pytest.approx((a[0] + 2 * b[0] + c[0]) / 4)
    assert (a[1] + 3 * y1 + 3 * y2 + y3) / 8 == pytest.approx((a[1] + 2 * b[1] + c[1]) / 4)


def test_every_shape_of_an_engraving_is_kept():
    """As many shapes as the engraver's own file draws, counted by hand through its list of signs."""
    note = notation(rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1), 0)
    made = engraved(note.musicxml, 920)
    root = ElementTree.fromstring(made.svg)
    ns = "{http://www.w3.org/2000/svg}"
    shapes = {
        f"{ns}{kind}" for kind in ("path", "rect", "ellipse", "circle", "polygon", "polyline", "line", "use")
    }
    page = next(one for one in root.iter(f"{ns}svg") if one.get("viewBox"))
    hidden = sum(len(list(one)) for one in page.iter(f"{ns}g") if "placeholder" in one.get("class", ""))
    expected = sum(one.tag in shapes for one in page.iter()) - hidden
    assert sum(isinstance(piece, Outline) for piece in flat(made.svg).pieces) == expected > 30


def test_the_engraving_fills_its_page():
    """Its ink is inside the page that the engraver says, and nearly all of it."""
    note = notation(rl.Polyrhythm(4, 3), rl.Tempo(90, pulse=1), 1)
    made = engraved(note.musicxml, 920, spacing=0.25)
    left, top, right, bottom = flat(made.svg).ink()
    assert -2 <= left < right <= made.width + 2
    assert -2 <= top < bottom <= made.high + 2
    assert right - left > 0.9 * made.width

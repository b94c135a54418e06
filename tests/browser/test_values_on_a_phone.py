"""What a cell shows without a card on a phone: readable letters, tables in blocks, notes in a box."""

import pytest

import rhythmlab as rl
from rhythmlab.panels.plan import workshop
from tests.browser.bare import drawn

VALUES = {
    "notes": lambda: rl.score((7, 4)),
    "notes of many bars": lambda: rl.score((16, 15), 72),
    "notes to read": lambda: rl.classroom.assignment("hear-and-read", seat=7).ask("read-odd"),
    "a plan": lambda: workshop(120),
    "answers": lambda: rl.classroom.answer_key("hear-and-read", seats=2),
}
#: Of 390 px JupyterLab leaves what a cell shows 274, of 1024 px 840.
NARROW, BROAD, WIDE = 274, 840, 1100
_SEEN = """() => {
  const shown = (one) => one.getClientRects().length && one.textContent.trim();
  const scale = (one) => (one.closest("svg") ? one.getScreenCTM().a : 1);
  const letters = [...document.querySelectorAll("text, td, th, caption, p, li")].filter(shown)
    .map((one) => scale(one) * parseFloat(getComputedStyle(one).fontSize));
  const cells = [...document.querySelectorAll("td > span")].filter(shown);
  const box = (one) => one.getBoundingClientRect();
  const boxes = [...document.querySelectorAll("[tabindex='0']")];
  const long = cells.filter((one) => one.textContent.length > 30);
  const headings = [...document.querySelectorAll("th, caption")];
  return {
    letters: Math.min(...letters),
    beside: document.documentElement.scrollWidth - innerWidth,
    out: cells.filter((one) => box(one).right > innerWidth).length,
    narrowest: Math.min(999, ...long.map((one) => box(one).width)),
    named: boxes.every((one) => one.getAttribute("role") && one.getAttribute("aria-label")),
    left: headings.every((one) => getComputedStyle(one).textAlign === "left"),
    moved: boxes.some((one) => one.scrollWidth > one.clientWidth),
    rows: document.querySelectorAll("tbody tr").length,
  };
}"""


@pytest.mark.parametrize("width", [NARROW, BROAD, WIDE])
@pytest.mark.parametrize("what", VALUES)
def test_what_a_cell_shows_can_be_read_at_any_width(page, what, width):
    """No letter under 12 px, nothing wider than the page but in its own box, no column of single words."""
    page.set_viewport_size({"width": width, "height": 800})
    page.set_content(
        "<style>body { margin: 0 } th, td { text-align: right; font-size: 13px } "
        f"caption {{ text-align: center }}</style>{VALUES[what]()._repr_html_()}"
    )
    drawn(page)
    seen = page.evaluate(_SEEN)
    assert seen["letters"] >= 12
    assert (seen["beside"], seen["out"]) == (0, 0)
    assert seen["narrowest"] >= 90
    assert seen["named"]
    assert width == NARROW or not seen["moved"]
    assert seen["left"]
    assert (seen["rows"] > 5) == (what in ("a plan", "answers"))


def test_notes_of_a_cell_have_the_colours_of_the_page(page):
    """In the dark no white slab: paper, lines, heads and words are the theme's; on paper black on white."""
    page.set_content(
        "<style>:root { --jp-layout-color0: rgb(17, 17, 17); --jp-content-font-color1: rgb(250, 250, 250) }"
        f"</style>{rl.score((7, 4))._repr_html_()}"
    )
    painted = """() => ["rect", "path[stroke]", "use", "text"].map((name) => {
      const { fill, stroke } = getComputedStyle(document.querySelector(`.rl-notes svg ${name}`));
      return name === "path[stroke]" ? stroke : fill;
    })"""
    assert page.evaluate(painted) == ["rgb(17, 17, 17)", *["rgb(250, 250, 250)"] * 3]
    page.emulate_media(media="print")
    assert page.evaluate(painted) == ["rgb(255, 255, 255)", *["rgb(0, 0, 0)"] * 3]
    page.emulate_media(media="screen")

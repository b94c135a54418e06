"""Notes and ways in a narrow room: laid out anew, each word and each head once, letters to be read."""

import re
from collections import Counter
from html import unescape

import pytest

from rhythmlab.core.tempo import Tempo
from rhythmlab.notation.score import fitted, score
from rhythmlab.panels.page_09 import write_down
from rhythmlab.panels.pages_05_to_07 import choose_way
from rhythmlab.panels.stage.sounding import plan_of
from rhythmlab.panels.stage.stage import Stage
from rhythmlab.playing.patterns import pattern
from tests.browser.bare import drawn, open_stage
from tests.browser.test_rows_of_a_picture import touching
from tests.profile import some


def _grid():
    made = write_down(16, 15)
    made._view.value = "notes on the full grid"
    return made.stage


def _pattern():
    cycle, tempo = pattern("son clave", metre="4/4", bars=4), Tempo(90, ticks=4)
    written, stage = score(cycle, tempo, title="For the feet"), Stage()
    picture = {"svg": fitted(written), "said": [written.alt], "home": "", "bpm": 0.0, "spots": []}
    stage.pictures = [picture]
    stage.sound(plan_of(cycle, tempo, [cycle.beats], ["a foot"]))
    return stage


WRITTEN = {
    "7:4 in one bar": lambda: write_down(7, 4).stage,
    "13:8 in bars of the 8": lambda: write_down(13, 8).stage,
    "every sixteenth of 16:15": _grid,
    "three pulses, tied": lambda: write_down(3, 4, 5).stage,
    "a figure that repeats": lambda: write_down(12, 8).stage,
    "a pattern on a staff": _pattern,
}
_SEEN = """() => {
  const figure = document.querySelector(".rl-picture");
  const box = (one) => {
    const { left, right, top, bottom } = one.getBoundingClientRect();
    return [left, right, top, bottom];
  };
  const lines = [...figure.querySelectorAll("svg")];
  const of = (name) => lines.flatMap((one) => [...one.querySelectorAll(name)]);
  return {
    texts: lines.map((one) => [...one.querySelectorAll("text")].map((text) => [
      text.textContent, parseFloat(getComputedStyle(text).fontSize) * text.getScreenCTM().a, ...box(text)])),
    said: [...figure.querySelectorAll("p")].map((one) => one.textContent).join(" "),
    heads: of(".notehead use").map((one) => [...box(one).slice(0, 2), one.ownerSVGElement.outerHTML.length]),
    bars: of(".barLine path").length,
    beside: of(".system > .label text").map((one) => one.textContent),
    lines: lines.length,
    alternatives: [...figure.querySelectorAll("[role=img]")].map((one) => one.getAttribute("aria-label")),
    bare: figure.querySelectorAll("svg:not([role=img], [aria-hidden=true])").length,
    figure: [...box(figure).slice(0, 2), figure.scrollWidth - figure.clientWidth],
    page: [document.documentElement.scrollWidth, innerWidth],
  };
}"""


def seen_at(page, width):
    """Return what is seen at a width, and its texts: 12 px and more, in the figure, nothing sideways."""
    page.set_viewport_size({"width": width, "height": 800})
    drawn(page)
    drawn(page)
    seen = page.evaluate(_SEEN)
    left, right, sideways = seen["figure"]
    texts = [one for line in seen["texts"] for one in line]
    assert all(one[1] >= 11.99 for one in texts), width
    assert all(left - 0.5 <= one[2] and one[3] <= right + 0.5 for one in texts), width
    assert (sideways, seen["page"][0] <= seen["page"][1]) == (0, True), width
    return seen, texts


@pytest.mark.parametrize("what", some(WRITTEN, 3, "notes in lines", ["7:4 in one bar"]))
def test_notes_stand_in_as_many_lines_as_their_room_asks_for(page, what):
    """At every width each word and each head is seen once, in letters of 12 px, and nothing goes sideways."""
    stage = WRITTEN[what]()
    made = stage.pictures[stage.home]["svg"]
    words = Counter(unescape(text) for text in re.findall(r"<text[^>]*>([^<]*)</text>", made))
    heads, bars = made.count('class="notehead"'), len(re.findall(r'class="barLine">(?:<path[^>]*>)+', made))
    open_stage(page, stage)
    lines = {}
    for width in (320, 390, 600, 1240, 320):
        seen, texts = seen_at(page, width)
        left, right, _ = seen["figure"]
        there = Counter(one[0] for one in texts)
        for text in words:  # beside the staves a name is said again on each line; over them some stand apart
            again = seen["beside"].count(text)
            assert text in seen["said"] or 0 <= there[text] - words[text] < max(1, again), (width, text)
        assert len(seen["heads"]) == heads, width
        assert seen["bars"] >= bars, width
        assert all(left <= a and b <= right + 0.5 for a, b, _ in seen["heads"]), width
        assert [pair for line in seen["texts"] if (pair := touching(line))] == [], width
        assert (len(set(seen["alternatives"])), seen["bare"]) == (1, 0), width
        lines[width] = seen["lines"]
    assert lines[320] >= lines[390] >= lines[600] >= lines[1240]
    assert lines[320] > 1


def test_the_ways_to_learn_stand_over_one_another_on_a_phone(page):
    """From 320 px: the same sentence, letters of 12 px, nothing sideways; in a wide room as on paper."""
    stage = choose_way(7, 4).stage
    open_stage(page, stage)
    for width in (320, 390, 700, 1240, 390):
        seen, texts = seen_at(page, width)
        assert {"learn the line", "hold the ones"} <= {one[0] for one in texts}
        assert touching(texts) is None, width
        assert len(seen["alternatives"]) == 1, width
        assert seen["alternatives"][0].startswith("Ways to learn 7 against 4 by tempo"), width
        assert (page.locator(".rl-picture > svg").count() == 1) == (width == 1240)

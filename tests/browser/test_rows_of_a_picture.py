"""A picture that is wider than its room: rows at beats of home, each thing once, letters that can be read."""

import re
from collections import Counter
from html import unescape
from itertools import pairwise

import pytest

from rhythmlab.core.tempo import Tempo
from rhythmlab.panels.cycle_panel import PanelContent
from rhythmlab.panels.pages_00_to_04 import follow_gaps, two_numbers
from rhythmlab.panels.pages_05_to_07 import feet_against_hands, land_in_bars, phrase_and_stick
from rhythmlab.panels.wall import wall
from rhythmlab.playing.groove import accents
from tests.browser.bare import drawn, open_stage, open_wall, wait_until
from tests.profile import some

WIDTHS = (320, 390, 600, 833)
PANELS = {
    "5:4": lambda: two_numbers(5, 4),
    "7:4": lambda: two_numbers(7, 4),
    "7:2": lambda: two_numbers(7, 2),
    "13:8": lambda: two_numbers(13, 8),
    "a gap cycle": lambda: follow_gaps(16, 15),
    "a phrase of 31": lambda: phrase_and_stick(31),
    "a fill": lambda: land_in_bars(7, 4),
    "a groove in 7/8": lambda: feet_against_hands("x..x.", "x.x.xx.", metre="7/8"),
    "three pulses": lambda: two_numbers(4, 3, 5),
}
#: What is seen: strokes and words by row, letters in px of the screen, and where all of it stands.
_SEEN = """() => {
  const figure = document.querySelector(".rl-picture");
  const pictures = [...figure.querySelectorAll("svg[data-frame]")];
  const box = (one) => {
    const { left, right, top, bottom } = one.getBoundingClientRect();
    return [left, right, top, bottom];
  };
  return {
    frames: pictures.map((one) => one.dataset.frame.split(" ").map(Number)),
    strokes: pictures.map((one) => [...one.querySelectorAll("[data-tick]")].map(
      (mark) => [Number(mark.dataset.tick), Number(mark.dataset.lane)])),
    texts: pictures.map((one) => [...one.querySelectorAll("text")].map((text) => [
      text.textContent, parseFloat(getComputedStyle(text).fontSize) * text.getScreenCTM().a, ...box(text)])),
    notes: [...figure.querySelectorAll("p")].map((one) => one.textContent),
    alternatives: [...figure.querySelectorAll("[role=img]")].map((one) => one.getAttribute("aria-label")),
    bare: figure.querySelectorAll("svg:not([role=img], [aria-hidden=true])").length,
    card: box(document.querySelector(".rl-stage")),
    page: [document.documentElement.scrollWidth, innerWidth],
  };
}"""


def of_python(svg):
    """Return the strokes, the words and the text alternative of a picture as Python made it."""
    strokes = [
        (int(tick), int(lane)) for tick, lane in re.findall(r'data-tick="(\d+)" data-lane="(\d+)"', svg)
    ]
    texts = re.findall(r'text-anchor="(\w+)"[^>]*>([^<]*)</text>', svg)
    return strokes, [(anchor, unescape(text)) for anchor, text in texts]


def touching(texts):
    """Return two texts of a picture that stand on each other, if there are any."""
    for i, (one, size, left, right, top, bottom) in enumerate(texts):
        for other, _, left2, right2, top2, bottom2 in texts[i + 1 :]:
            across, down = min(right, right2) - max(left, left2), min(bottom, bottom2) - max(top, top2)
            if across > 1 and down > size / 3:  # a box is higher than the letters in it
                return one, other
    return None


def at_width(page, width):
    """Make the page so wide, and return what is seen."""
    page.set_viewport_size({"width": width, "height": 800})
    drawn(page)
    drawn(page)
    return page.evaluate(_SEEN)


@pytest.mark.parametrize("what", some(PANELS, 3, "pictures in rows"))
def test_nothing_is_lost_cut_or_too_small_in_a_narrow_room(page, what):
    """At every width each stroke is in one row, each word once, letters have 12 px, the page its width."""
    stage = PANELS[what]().stage
    open_stage(page, stage)
    svg = stage.pictures[stage.home]["svg"]
    strokes, texts = of_python(svg)
    beside = {text for anchor, text in texts if anchor != "middle"}
    inside = Counter(text for anchor, text in texts if anchor == "middle" and text not in beside)
    for width in (*WIDTHS, 320):
        seen = at_width(page, width)
        assert Counter(tuple(mark) for row in seen["strokes"] for mark in row) == Counter(strokes), width
        for (start, stop, *_), row in zip(seen["frames"], seen["strokes"], strict=True):
            assert all(start <= tick < stop for tick, _ in row), width
        edges = [frame[:2] for frame in seen["frames"]]
        assert all(before[1] == after[0] for before, after in pairwise(edges))
        words = Counter(one[0] for row in seen["texts"] for one in row) + Counter(seen["notes"])
        assert {text: words[text] for text in inside} == inside, width
        joined = {text.replace(" ", "") for text in words}  # a name on two lines
        assert {text.replace(" ", "") for text in beside} <= joined, width
        assert all(one[1] >= 11.99 for row in seen["texts"] for one in row), width
        left, right = seen["card"][:2]
        assert all(left <= one[2] and one[3] <= right for row in seen["texts"] for one in row), width
        assert [pair for row in seen["texts"] if (pair := touching(row))] == [], width
        assert seen["page"][0] <= seen["page"][1], width
        assert (len(seen["alternatives"]), seen["bare"]) == (1, 0)


def test_rows_begin_at_beats_of_home_and_a_wide_room_has_one(page):
    """7 against 4 on a phone: rows of whole beats of home; in a wide room the picture is as it was made."""
    stage = two_numbers(7, 4).stage
    open_stage(page, stage)
    narrow = at_width(page, 390)["frames"]
    assert len(narrow) > 1
    assert all(start % 7 == 0 for start, *_ in narrow)
    page.evaluate("model.set('home', 0)")
    assert all(start % 4 == 0 for start, *_ in at_width(page, 390)["frames"])
    wide = at_width(page, 1240)
    assert wide["frames"] == [[0, 28, 76, 24, 880, 180]]
    assert page.locator(".rl-picture > svg[role=img]").count() == 1


WALLS = {
    "7:4": lambda: wall(7, 4),
    "13:8": lambda: wall(13, 8),
    "8:7 by its landmarks": lambda: wall(8, 7),
    "4:3:5": lambda: wall(4, 3, 5),
    "a drift": lambda: wall(64, 63),
    "accents in 2+2+3/8": lambda: _shown(accents("2+2+3/8", 5)),
}


def _shown(cycle):
    """Return a wall that shows what is no pair."""
    made = wall(7, 4)
    made.show(PanelContent("An accent", cycle, Tempo(180, ticks=2), ["Said."]))
    return made


@pytest.mark.parametrize("what", some(WALLS, 2, "walls in rows"))
def test_a_wall_breaks_into_rows_too_and_is_one_row_of_large_words_on_a_projector(page, what):
    """As on a page, by the same rows: on a phone letters of 12 px and each stroke once; far off, large."""
    open_wall(page, WALLS[what]().stage)
    strokes, _ = of_python(page.evaluate("model.get('pictures')[model.get('home')].svg"))
    rows = {}
    for width in (320, 390, 768, 1280, 1920):
        seen = at_width(page, width)
        assert Counter(tuple(mark) for row in seen["strokes"] for mark in row) == Counter(strokes), width
        assert all(one[1] >= 11.99 for row in seen["texts"] for one in row), width
        left, right = seen["card"][:2]
        assert all(left <= one[2] and one[3] <= right for row in seen["texts"] for one in row), width
        assert [pair for row in seen["texts"] if (pair := touching(row))] == [], width
        assert seen["page"][0] <= seen["page"][1], width
        rows[width] = len(seen["frames"])
        assert width > 390 or all(frame[4] <= width for frame in seen["frames"])  # laid out anew
    assert rows[320] >= rows[390]
    assert (rows[1280], rows[1920]) == (1, 1)
    assert min(one[1] for row in seen["texts"] for one in row) >= 18


@pytest.mark.parametrize("size", some([(390, 844), (844, 390), (320, 256)], 3, "full screens of phones"))
def test_a_phone_shows_a_long_drift_in_rows_that_scroll_on_a_full_screen_too(page, size):
    """Letters of 12 px, the rows in their place, and the one that sounds in sight; nothing goes sideways."""
    open_wall(page, wall(32, 31, bpm=400).stage)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.evaluate("document.querySelector('.rl-wall').requestFullscreen()")
    wait_until(page, "document.fullscreenElement !== null")
    drawn(page)
    drawn(page)
    seen = page.evaluate(_SEEN)
    assert Counter(tuple(mark) for row in seen["strokes"] for mark in row).total() == 63
    assert all(one[1] >= 11.99 for row in seen["texts"] for one in row)
    figure = page.locator(".rl-picture")
    left, right = figure.evaluate(
        "(one) => [one.getBoundingClientRect().left, one.getBoundingClientRect().right]"
    )
    assert all(left - 0.5 <= one[2] and one[3] <= right + 0.5 for row in seen["texts"] for one in row)
    assert figure.evaluate("(one) => [one.scrollWidth - one.clientWidth, one.clientHeight >= 128]") == [
        0,
        True,
    ]
    page.locator(".rl-start").click()
    last = len(seen["frames"]) - 1
    wait_until(
        page,
        f"""[...document.querySelectorAll(".rl-playhead")].findIndex((one) => one.style.display !== "none")
          === {last}""",
    )
    top, bottom, line = figure.evaluate(
        """(one) => [one.getBoundingClientRect().top, one.getBoundingClientRect().bottom,
          [...one.querySelectorAll("svg")].at(-1).getBoundingClientRect().top]"""
    )
    assert last == 0 or top - 1 <= line < bottom - 40


@pytest.mark.parametrize("width", [320, 833])
def test_the_playhead_goes_from_row_to_row_over_the_stroke_that_sounds(page, width):
    """Wherever it is, one line is seen, over the stroke that is passed, in its row."""
    open_stage(page, two_numbers(13, 8, bpm=160).stage)
    at_width(page, width)
    page.locator(".rl-start").click()
    wait_until(page, "engine.now() && engine.now().turn >= 0")
    rows, seen = page.evaluate(
        """async () => {
          const all = (name) => [...document.querySelectorAll(name)];
          const middle = (one) => (one.getBoundingClientRect().left + one.getBoundingClientRect().right) / 2;
          const [rows, found, been] = [all("svg[data-frame]"), [], new Set()];
          const ends = performance.now() + 10_000;
          while (performance.now() < ends && (been.size < rows.length || found.length < 60)) {
            await new Promise((done) => requestAnimationFrame(done));
            const on = all(".rl-playhead").filter((one) => one.style.display !== "none");
            if (!on.length) continue; // nothing has been laid yet
            const [x, row] = [on[0].getBoundingClientRect().left, rows.indexOf(on[0].ownerSVGElement)];
            been.add(row);
            for (const one of all(".rl-passing")) {
              found.push([on.length, row - rows.indexOf(one.ownerSVGElement), x - middle(one)]);
            }
          }
          return [[been.size, rows.length], found];
        }"""
    )
    assert rows[0] == rows[1]
    assert {one[0] for one in seen} == {1}
    here = [one[2] for one in seen if one[1] == 0]
    assert len(here) >= 30
    assert max(map(abs, here)) < 16
    # the last stroke of a row may still be lit when the line has gone on to the next, or round
    assert len(seen) - len(here) < len(here) / 4


def test_what_was_played_stands_under_the_row_it_belongs_to(page):
    """Each stroke of a take once, under the one it was meant for; an early one may end the row before."""
    stage = two_numbers(7, 4).stage
    open_stage(page, stage)
    lanes = [(i, tick) for i, lane in enumerate(stage.plan["lanes"]) for tick in lane["onsets"]]
    played = [[lane, tick - 0.2 * (tick % 3 == 0)] for lane, tick in lanes]
    mark = {"cycle": 1, "lane": 0, "tick": 16}
    page.evaluate(
        "(played) => { model.set('played', played); model.set('feedback', ['One finding.']); }",
        {"cycles": [played], "mark": mark, "start": 0, "stop": 28},
    )
    for width in (320, 600, 1240):
        at_width(page, width)
        rows = page.evaluate(
            """() => [...document.querySelectorAll(".rl-picture svg[data-frame]")].map((svg) => {
              const under = svg.nextElementSibling, middle = (one) => {
                const { left, right } = one.getBoundingClientRect();
                return (left + right) / 2;
              };
              return {
                meant: [...svg.querySelectorAll("[data-tick]")].map(middle),
                struck: [...under.querySelectorAll("path[data-lane]")].map(middle),
                ringed: Number(under.querySelector(".rl-ringed") !== null),
              };
            })"""
        )
        assert sum(len(row["struck"]) for row in rows) == len(played), width
        assert sum(row["ringed"] for row in rows) == 1
        apart = [min(abs(x - meant) for meant in row["meant"]) for row in rows for x in row["struck"]]
        assert sorted(apart)[len(apart) // 2] < 10  # those early at a seam stand at the end of the row before

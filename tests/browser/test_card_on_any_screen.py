"""The card from 320 px to a projector, and in letters twice as large: one left edge, nothing is lost."""

import json
from itertools import pairwise

import pytest
from ipywidgets import Widget

from rhythmlab.panels.guess import predict
from rhythmlab.panels.page_08 import practise
from rhythmlab.panels.page_09 import write_down
from rhythmlab.panels.pages_00_to_04 import choose_home, first_rhythms, follow_gaps, two_numbers
from rhythmlab.panels.pages_05_to_07 import choose_way, feet_against_hands, land_in_bars, phrase_and_stick
from rhythmlab.panels.wall import wall
from tests.browser.bare import drawn, open_stage, open_wall, wait_until
from tests.profile import some

PANELS = {
    "a pair": lambda: choose_home(7, 4, guess=predict("03-guess"), tries="03"),
    "first rhythms": first_rhythms,
    "a phrase": lambda: phrase_and_stick(31),
    "a fill": lambda: land_in_bars(7, 4),
    "a groove": lambda: feet_against_hands("x..x..x.", "x.x.xx"),
    "two numbers": lambda: two_numbers(5, 4),
    "a gap cycle": lambda: follow_gaps(16, 15),
    "ways to learn": lambda: choose_way(7, 4),
    "notes": lambda: write_down(7, 4),
    "practice": lambda: practise(7, 4),
}
#: Width of the page, and how large letters are; at 400 % zoom of 1280 px JupyterLab leaves a card 204 px.
SCREENS = [(220, 16), (320, 16), (390, 16), (833, 16), (1240, 16), (1920, 16), (1280, 32), (320, 32)]
#: Models of the fields of a card, as a notebook has them.
_FIELDS = """([states, parts]) => {
  const made = {};
  const modelOf = (id) => {
    if (made[id]) return made[id];
    const [state, heard] = [states[id], {}];
    const named = (value) => typeof value === "string" && value.startsWith("IPY_MODEL_");
    return (made[id] = {
      get: (name) => (named(state[name]) ? modelOf(state[name].slice(10)) : state[name]),
      set: (name, value) => {
        state[name] = value;
        (heard[name] || []).forEach((call) => call());
      },
      save_changes: () => {},
      send: () => {},
      on: (names, call) => names.split(" ").forEach((one) => (heard[one.slice(7)] ||= []).push(call)),
      off: () => {},
    });
  };
  model.widget_manager = { get_model: async (id) => modelOf(id) };
  model.set("parts", parts);
}"""
_SEEN = """() => {
  const card = document.querySelector(".rl-stage");
  const looked = "button, input, select, h3, .rl-facts, .rl-field > span, .rl-words p, .rl-picture";
  const all = [...card.querySelectorAll(looked)];
  const seen = all.filter((one) => one.getClientRects().length && one.getBoundingClientRect().width > 2);
  const box = (one) => {
    const { left, right, top, bottom } = one.getBoundingClientRect();
    return [left, right, top, bottom];
  };
  const [left, right] = box(card);
  const name = (one) => one.getAttribute("aria-label") || one.textContent || one.parentElement.textContent;
  const over = [];
  seen.forEach((one, i) => seen.slice(i + 1).forEach((other) => {
    const [a, b] = [box(one), box(other)];
    const across = Math.min(a[1], b[1]) - Math.max(a[0], b[0]);
    const down = Math.min(a[3], b[3]) - Math.max(a[2], b[2]);
    if (across > 1 && down > 1 && !one.contains(other)) over.push([name(one), name(other)]);
  }));
  const short = seen.filter((one) => one.matches("select")).filter((one) => {
    const [had, wide] = [one.style.cssText, one.offsetWidth];
    const away = "position: absolute; width: max-content; min-width: 0; max-width: none";
    one.style.cssText = away;
    const longest = one.offsetWidth; // with its arrow
    one.style.cssText = had;
    const line = one.closest(".rl-line, .rl-more, .rl-run, .rl-later").clientWidth;
    return wide < longest - 1 && one.closest(".rl-field").offsetWidth < line - 2;
  });
  const pressed = seen.filter((one) => one.matches("button, select, input:not([type=checkbox])"));
  const lines = seen.filter((one) => one.matches("button, h3, p, span") && one.clientWidth);
  const edges = seen.filter((one) => one.matches(".rl-start, .rl-picture, h3, .rl-words p"));
  const there = (one) => one.getClientRects().length && one.textContent;
  const shown = (part) => [...card.querySelectorAll(part)].filter(there);
  edges.push(...shown(":scope > .rl-tries, :scope > .rl-now, .rl-guess .rl-field"));
  const border = (one) => getComputedStyle(one).borderColor;
  const groups = shown(".rl-homes, .rl-picked").map((one) => [...one.querySelectorAll("button")]);
  const [picture, tries] = [card.querySelector(".rl-picture"), ...shown(".rl-tries")];
  return {
    beside: [document.documentElement.scrollWidth, innerWidth],
    out: seen.filter((one) => box(one)[0] < left || box(one)[1] > right).map(name),
    cut: [...lines.filter((one) => one.scrollWidth > one.clientWidth + 1), ...short].map(name),
    small: pressed.filter((one) => one.offsetHeight < 43.5).map(name),
    over,
    pushed: tries && box(tries)[2] < box(picture)[3],
    unlike: groups.filter((group) => new Set(group.map(border)).size > 1).flat().map(name),
    columns: new Set(edges.map((one) => Math.round(box(one)[0]))).size,
    letters: parseFloat(getComputedStyle(card.querySelector(".rl-start")).fontSize),
  };
}"""


def open_card(page, stage):
    """Put a stage on a bare page, with the models of its fields."""
    open_stage(page, stage)
    states = {}
    for name, held in Widget.get_manager_state()["state"].items():
        if "pictures" not in held["state"]:
            states[name] = {key: value for key, value in held["state"].items() if key not in ("_esm", "_css")}
    page.evaluate(_FIELDS, [json.loads(json.dumps(states, default=str)), stage.get_state(["parts"])["parts"]])
    if stage.parts:
        drawn_fields = page.locator(".rl-tempo .rl-typed" if "tempo" in stage.parts else ".rl-picked")
        drawn_fields.wait_for(state="attached")
    if "guess" in stage.parts:
        page.get_by_role("button", name="Skip").click()


@pytest.mark.parametrize("what", some(PANELS, 4, "cards on screens"))
def test_a_card_loses_nothing_on_any_screen(page, what):
    """At every width, also with letters twice as large: nothing cut, covered or smaller than a finger.

    What can be tried stands under the picture, what is seen is chosen in the row that runs it, and a button
    that is pressed is as large as its neighbours.
    """
    stage = PANELS[what]().stage
    open_card(page, stage)
    assert page.locator(".rl-run select").first.is_visible() == ("view" in stage.parts)
    parts = [None, *page.get_by_role("tab").all()]
    letters = {}
    for width, size in SCREENS:
        page.set_viewport_size({"width": width, "height": 800})
        page.evaluate("(size) => { document.documentElement.style.fontSize = `${size}px`; }", size)
        for part in parts:
            if part is not None and part.is_visible():
                part.click()
            drawn(page)
            seen = page.evaluate(_SEEN)
            where = (width, size, part and part.inner_text())
            assert seen["beside"][0] <= seen["beside"][1], where
            assert (seen["out"], seen["cut"], seen["over"]) == ([], [], []), where
            assert (seen["small"], seen["columns"], seen["unlike"]) == ([], 1, []), where
            assert not seen.get("pushed"), where
        letters[width, size] = seen["letters"]
    assert letters[320, 16] >= 15
    assert letters[833, 16] < letters[1240, 16] < letters[1920, 16]
    assert letters[1280, 32] >= 1.8 * letters[833, 16]


@pytest.mark.parametrize("pair", some([(5, 4), (16, 15), (32, 31), (64, 63)], 2, "tides on a low screen"))
def test_a_gap_cycle_is_seen_whole_under_its_numbers_on_a_low_screen(page, pair):
    """Of 1280 by 720 px JupyterLab leaves a card 1100 by 599: numbers, the row that runs it and the tide."""
    page.set_viewport_size({"width": 1100 + 16, "height": 599})
    open_card(page, follow_gaps(*pair).stage)
    page.evaluate("document.querySelector('.rl-head').scrollIntoView()")
    drawn(page)
    seen = page.evaluate("""() => {
      const [card, ...svgs] = document.querySelectorAll(".rl-stage, .rl-picture svg");
      const size = (one) => parseFloat(getComputedStyle(one).fontSize);
      const letters = [...svgs[0].querySelectorAll("text")].map(size);
      const { bottom, width } = svgs[0].getBoundingClientRect();
      const scale = width / svgs[0].viewBox.baseVal.width;
      return [card.offsetWidth, svgs.length, bottom, scale * Math.min(...letters)];
    }""")
    assert seen[:2] == [1100, 1]
    assert seen[2] <= 599
    assert seen[3] >= 12


#: What can be reached by keys, from the top: its top, left and name; and what else is asked of a narrow card.
_ORDER = """() => {
  const card = document.querySelector(".rl-stage");
  const box = (part) => card.querySelector(part).getBoundingClientRect();
  const { left, top } = card.getBoundingClientRect();
  const all = [...card.querySelectorAll("button, input, select, [tabindex='0']")];
  const seen = all.filter((one) => one.checkVisibility() && one.tabIndex >= 0 && one.offsetWidth > 2);
  const name = (one) => one.getAttribute("aria-label") || one.labels?.[0]?.textContent || one.textContent;
  const [head, run, picture] = [".rl-head", ".rl-run", ".rl-picture"].map(box);
  return {
    keys: seen.map((one) => [one.getBoundingClientRect(), name(one)])
      .map(([one, said]) => [one.top - top, one.left - left, said]),
    between: Math.round(picture.top - Math.max(head.bottom, run.top)),
    letters: Math.min(...[...card.querySelectorAll(".rl-run span")].filter((one) => one.offsetWidth > 2)
      .map((one) => parseFloat(getComputedStyle(one).fontSize))),
  };
}"""


@pytest.mark.parametrize("what", some(PANELS, 3, "cards that start on a phone"))
def test_on_a_phone_two_lines_at_most_stand_between_the_numbers_and_the_picture(page, what):
    """What is not needed to start is under the picture, reached by keys as seen, and is back on a wide one.

    Of 390 px JupyterLab leaves a card 274.
    """
    open_card(page, PANELS[what]().stage)
    page.set_viewport_size({"width": 1240, "height": 800})
    drawn(page)
    wide = page.evaluate(_ORDER)["keys"]
    for width in (274 + 16, 390):
        page.set_viewport_size({"width": width, "height": 800})
        drawn(page)
        seen = page.evaluate(_ORDER)
        assert seen["between"] <= 2 * 44 + 3 * 16, (width, seen["between"])
        assert seen["letters"] >= 12
        rows = [(top, left) for top, left, _ in seen["keys"]]
        assert all(b[0] > a[0] - 12 and (b[0] > a[0] + 12 or b[1] > a[1]) for a, b in pairwise(rows)), seen
        assert sorted(name for *_, name in seen["keys"]) == sorted(name for *_, name in wide)
    volume = page.get_by_label("volume", exact=True)
    volume.focus()
    page.set_viewport_size({"width": 1240, "height": 800})
    drawn(page)
    assert page.evaluate("document.activeElement.getAttribute('aria-label')") == "volume"
    assert page.evaluate(_ORDER)["keys"] == wide


@pytest.mark.parametrize("size", some([(220, 160), (320, 256), (640, 360), (390, 844)], 2, "walls, zoomed"))
def test_a_wall_loses_nothing_at_400_percent_on_the_page_and_on_a_full_screen(page, size):
    """All of it is within its width, and nothing that is pressed is cut or lies on something else."""
    open_wall(page, wall(16, 15).stage)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    for full in (False, True):
        if full:
            page.evaluate("document.querySelector('.rl-wall').requestFullscreen()")
            wait_until(page, "document.fullscreenElement !== null")
        drawn(page)
        drawn(page)
        seen = page.evaluate(_SEEN)
        assert seen["beside"][0] <= seen["beside"][1], full
        over = [pair for pair in seen["over"] if "picture" not in pair]
        assert (seen["out"], seen["cut"], over) == ([], [], []), full
        for control in page.locator(".rl-wall button:visible").all():
            control.focus()
            box = control.bounding_box()
            assert 0 <= box["y"] <= size[1] - min(box["height"], size[1]) + 1, control.inner_text()


@pytest.mark.parametrize("what", ["a card", "a wall"])
def test_every_button_of_a_card_or_wall_has_one_edge(page, what):
    """Also in drawers that are shut: as wide on each side, with round corners."""
    if what == "a card":
        open_card(page, PANELS["a pair"]().stage)
    else:
        open_wall(page, wall(16, 15).stage)
    edges = page.evaluate("""() => [...document.querySelectorAll(".rl-button")].map((one) => {
      const { borderWidth, borderRadius } = getComputedStyle(one);
      return [one.textContent, borderWidth, borderRadius];
    })""")
    assert len(edges) > 5
    assert [edge for edge in edges if edge[1:] != ["1px", "4px"]] == []


def test_notes_are_in_ink_on_the_paper_of_the_page_light_dark_and_printed(page):
    """No white slab in the dark, and black on white on paper."""
    open_card(page, write_down(7, 4).stage)
    look = """() => {
      const of = (one, what) => getComputedStyle(document.querySelector(`.rl-picture svg > ${one}`))[what];
      return [of("rect", "fill"), of("g", "fill"), of("g path[stroke]", "stroke"), of("text", "fill")];
    }"""
    paper, *ink = page.evaluate(look)
    assert paper == "rgb(255, 255, 255)"
    assert set(ink) == {"rgb(27, 42, 58)"}
    page.evaluate("document.body.dataset.jpThemeLight = 'false'")
    paper, *ink = page.evaluate(look)
    assert paper == "rgb(17, 17, 17)"
    assert set(ink) == {"rgb(232, 237, 242)"}
    page.emulate_media(media="print")
    assert page.evaluate(look)[0] == "rgb(255, 255, 255)"

"""No letter reaches the notebook from inside a panel: clicks at random, and every key after each."""

import json
import random

import pytest

from rhythmlab import resources
from tests.browser.bare import drawn
from tests.browser.jupyter import Lab, end_sessions, open_page, run_all, settled, shot
from tests.profile import LONG, SEED

#: Clicks on a panel with a stage, the first of each kind (in the long run all), and on every other of ours.
POINTS, FEWER = (100, 15) if LONG else (40, 8)
#: What makes a kind: what is folded away, and which controls there are.
_KIND = """(el) => {
  const all = [...el.querySelectorAll("summary, input, select, textarea, button, .rl-wall, .rl-kept")];
  const folded = (one) => one.matches("summary") && one.textContent.replace(/[0-9]+/g, "");
  const said = (one) => folded(one) || one.type || one.className;
  return JSON.stringify([...new Set(all.map((one) => `${one.tagName} ${said(one)}`))].sort());
}"""
ROOM = ("put-two-numbers-on-the-wall.ipynb", "step-through-a-set-list.ipynb", "plan-a-workshop.ipynb")
#: Outputs of ours: not one inside another.
OUTPUT = ".jp-OutputArea-output:not(.jp-OutputArea-output .jp-OutputArea-output)"
OURS = ".jupyter-widgets, .rl-kept"
#: Watches the cells, types every key into what is in focus, and says where in an output the next click goes.
_WATCH = """
() => {
  const chars = [..."abcdefghijklmnopqrstuvwxyzXDMKJAB0123456789"];
  const arrows = { ArrowUp: 38, ArrowDown: 40, ArrowLeft: 37, ArrowRight: 39 };
  const named = { ...arrows, Enter: 13, Delete: 46, Backspace: 8 };
  const keys = [...chars, "d", "d", "i", "i", "0", "0", ...Object.keys(named)];
  window.rlCells = [];
  const isCell = (one) => one.nodeType === 1 && (one.matches(".jp-Cell") || one.querySelector(".jp-Cell"));
  const seen = (changes) => {
    for (const { addedNodes, removedNodes } of changes) {
      rlCells.push(...[...addedNodes, ...removedNodes].filter(isCell).map((one) => one.className));
    }
  };
  const notebook = document.querySelector(".jp-Notebook");
  document.addEventListener("mousedown", (event) => { window.rlPressed = event.target; }, true);
  new MutationObserver(seen).observe(notebook, { childList: true, subtree: true });
  const type = (all) => {
    for (const key of keys) {
      if (!all && /[fsghcwnp0-9]|Enter/.test(key)) continue;
      const keyCode = named[key] || key.toUpperCase().charCodeAt(0);
      const code = key in named ? key : `${/[0-9]/.test(key) ? "Digit" : "Key"}${key.toUpperCase()}`;
      const how = { key, code, keyCode, shiftKey: /[A-Z]/.test(key) && !(key in named) };
      const more = { ...how, bubbles: true, cancelable: true, composed: true };
      document.activeElement.dispatchEvent(new KeyboardEvent("keydown", more));
    }
  };
  /** Type, if asked to; then the next point of an element to click, or null where a click would leave it. */
  window.rlNext = async (el, [u, v], typed) => {
    if (typed) type(typed === "all");
    if (typed) await new Promise((done) => { // after everything that waits in the page already
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = () => done(port1.close());
      port2.postMessage(null);
    });
    const { left, top, width, height } = el.getBoundingClientRect();
    const [x, y] = [left + u * width, top + v * height];
    const hit = document.elementFromPoint(x, y);
    const away = !hit || !el.contains(hit) || hit.closest("a, .rl-leaves");
    const dialogs = [...document.querySelectorAll(".jp-Dialog")].map(() => "a dialog");
    const wrong = [...rlCells.splice(0), ...dialogs];
    return { point: away ? null : [x, y], wrong, focus: document.activeElement.className };
  };
}
"""


def page_of(lab: Lab, name: str, codes: list[str]) -> str:
    """Write a page of code cells into the reader's folder."""
    cells = [
        {
            "cell_type": "code",
            "id": f"cell-{i}",
            "metadata": {},
            "source": code,
            "outputs": [],
            "execution_count": None,
        }
        for i, code in enumerate(codes)
    ]
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
    text = json.dumps({"cells": cells, "metadata": kernel, "nbformat": 4, "nbformat_minor": 5})
    (lab.folder / name).write_text(text)
    return name


def codes_of(names: list[str]) -> list[str]:
    """Return the code cells of pages, in their order."""
    pages = [json.loads((resources.folder("notebooks") / name).read_text()) for name in names]
    return [
        "".join(cell["source"]) for page in pages for cell in page["cells"] if cell["cell_type"] == "code"
    ]


@pytest.fixture
def tall(one_lab):
    """Give a page that is tall enough for every panel."""
    one_lab.set_viewport_size({"width": 1280, "height": 1700})
    return one_lab


def open_codes(page, lab, name, codes):
    """Open a page of these cells, run it, and watch its cells."""
    end_sessions(page, lab)
    open_page(page, lab, page_of(lab, name, codes))
    cells = "document.querySelectorAll('.jp-Notebook .jp-Cell').length"
    page.wait_for_function(f"{cells} === {len(codes)}")  # a long page is laid out while the first cells run
    run_all(page)
    page.locator(f"{OUTPUT}:has({OURS})").first.wait_for()
    page.wait_for_function("!document.body.innerText.includes('Loading widget')")
    watch(page)


def watch(page):
    """Watch the cells of a page from now on, and keep clicks off what fills the screen."""
    page.evaluate(_WATCH)
    page.evaluate(
        """() => [...document.querySelectorAll("button")]
          .filter((one) => /^Full screen/.test(one.textContent))
          .forEach((one) => one.classList.add("rl-leaves"))"""
    )


def saved(page, lab, name):
    """Save the page, and return the code cells of the file."""
    page.keyboard.press("Control+s")
    page.wait_for_function("!document.querySelector('.jp-mod-dirty')", timeout=20_000)
    return ["".join(cell["source"]) for cell in json.loads((lab.folder / name).read_text())["cells"]]


def click(page, point, **how):
    """Press and let go of the mouse at a point, in two calls."""
    if not hasattr(page, "rl_cdp"):
        page.rl_cdp = page.context.new_cdp_session(page)
    for kind in ("mousePressed", "mouseReleased"):
        event = {"type": kind, "x": point[0], "y": point[1], "button": "left", "clickCount": 1, **how}
        page.rl_cdp.send("Input.dispatchMouseEvent", event)


def click_and_type(page, panel, draw, points=POINTS):
    """Click random points of a panel and type every key after each; return how many were clicked.

    Keys that a wall follows each have Python draw it anew, so there they are typed after every tenth click.
    A panel may shrink by what Python answers between the choice of a point and the press there; a press that
    fell beside it is the notebook's, as are keys after it.
    """
    where, is_wall = panel.element_handle(), panel.locator(".rl-wall").count() > 0
    next_point = "([el, place, typed]) => rlNext(el, place, typed)"
    clicked, typed, last = 0, "", None
    for _ in range(points + 1):
        made = page.evaluate(next_point, [where, [draw.random(), draw.random()], typed])
        assert made["wrong"] == [], (last, made["focus"])
        last, typed = made["point"], ""
        if last is None:
            panel.scroll_into_view_if_needed()  # what was drawn above it may have moved it away
        else:
            click(page, last)
            if page.evaluate("(el) => el.contains(window.rlPressed)", where):  # else it has just shrunk
                clicked += 1
                typed = "some" if is_wall and clicked % 10 else "all"
    return clicked


def panels_of(page):
    """Return the outputs of ours."""
    return page.locator(OUTPUT).filter(has=page.locator(OURS)).all()


def no_key_gets_out(page, name, least):
    """Click on each kind of panel many times, on others a few, and type every key after each.

    They are at other points for each commit; in the long run all with a stage get a hundred.
    """
    found = panels_of(page)
    assert len(found) >= least
    kinds = set()
    for nth, panel in enumerate(found):
        panel.scroll_into_view_if_needed()
        kind = panel.evaluate(_KIND)
        full = panel.locator(".rl-stage").count() and (LONG or kind not in kinds)
        kinds.add(kind)
        points = POINTS if full else FEWER
        clicked = click_and_type(page, panel, random.Random(f"{name} {nth} {SEED}"), points)
        assert clicked > points / 4, nth
        page.keyboard.press("Escape")


def test_no_key_reaches_the_notebook_from_any_point_of_any_panel_of_the_room(lab, tall):
    """Many clicks on each kind of panel, every key after each: no cell comes, goes or changes.

    Those of pages 00 to 09 are tried in `test_access`, where they are open.
    """
    sources = codes_of([f"workshop/{one}" for one in ROOM])
    open_codes(tall, lab, "room.ipynb", sources)
    no_key_gets_out(tall, "room.ipynb", 3)
    assert saved(tall, lab, "room.ipynb") == sources


def test_during_a_take_and_after_it_no_key_is_lost_to_the_notebook(lab, tall):
    """Clicks on words and gaps while it records: the cells stay, and the keys of the take still count."""
    open_codes(tall, lab, "take.ipynb", ["import rhythmlab as rl", "rl.pages.two_numbers(4, 3, bpm=90)"])
    panel = panels_of(tall)[-1]
    stage = panel.locator(".rl-stage")
    stage.get_by_role("tab", name="Play along").click()
    stage.get_by_label("for", exact=True).select_option("16")
    stage.get_by_role("button", name="Record a take").click()
    tall.wait_for_function("document.querySelector('.rl-stage').rlEngine.now()?.turn >= 0")
    presses = (
        {},
        {"modifiers": 8},
        {"button": "right"},
        {"modifiers": 8, "button": "right"},
        {"button": "middle"},
    )
    words = stage.locator(".rl-words p").first.bounding_box()
    beside = [words["x"] + 3, words["y"] + words["height"] / 2]
    for quiet in (".rl-words p", ".rl-offset", ".rl-folded .rl-line", ".rl-run", ".rl-picture"):
        spot = stage.locator(f"{quiet}:visible").first.bounding_box()
        point = [spot["x"] + spot["width"] - 2, spot["y"] + spot["height"] / 2]
        for how in presses:
            click(tall, point, **how)
            if how.get("button") == "right":
                click(tall, beside)  # the menu that it opened goes again
            before = stage.locator(".rl-phase").inner_text()
            for key in "dfjkddXxb":
                tall.keyboard.press(key)
            assert stage.locator(".rl-phase").inner_text() != before, (quiet, how)
    tall.locator(".jp-CodeCell .jp-InputPrompt").last.click()  # the reader leaves, to come back by a pad
    tall.wait_for_function("document.activeElement.matches('.jp-Cell')")
    stage.locator(".rl-pad").first.click()
    before = stage.locator(".rl-phase").inner_text()
    for key in "dfjkddXxb":
        tall.keyboard.press(key)
    assert stage.locator(".rl-phase").inner_text() != before
    assert tall.evaluate("rlCells") == []
    assert tall.evaluate("document.querySelector('.rl-stage').rlEngine.playing()")
    shot(tall, "letters-take")
    stage.get_by_role("button", name="Stop the take").click()
    stage.locator(".rl-feedback p").first.wait_for()
    click_and_type(tall, panel, random.Random("after"), FEWER)
    tall.evaluate("document.querySelector('.rl-stage').rlEngine.stop()")
    stage.get_by_role("button", name="Start").click()
    stage.get_by_role("button", name="Stop", exact=True).wait_for()
    click(tall, beside)
    for key in ("Escape", "Escape", "d", "d"):  # twice, to be sure, and the hands tap on
        tall.keyboard.press(key)
    assert not tall.evaluate("document.querySelector('.rl-stage').rlEngine.playing()")
    drawn(tall)
    assert tall.evaluate("rlCells") == []


def test_a_wall_that_fills_the_screen_keeps_its_keys(lab, tall):
    """In full screen a click on a plain spot leaves the keys to the wall, and they cut no cell."""
    open_codes(tall, lab, "wall.ipynb", ["import rhythmlab as rl", "rl.pages.wall(7, 4, bpm=72)"])
    wall = tall.locator(".rl-wall")
    wall.get_by_role("button", name="Full screen").click()
    tall.wait_for_function("document.fullscreenElement !== null")
    click_and_type(tall, wall, random.Random("full"), FEWER)
    settled(tall)  # a call that is answered later would end the slow tempo again
    if "rl-bare" in wall.get_attribute("class"):  # the keys typed so far may have left two numbers alone
        tall.keyboard.press("b")
    wall.locator(".rl-facts").click()
    slow = tall.evaluate("document.querySelector('.rl-stage').rlEngine.settings.slow")
    tall.keyboard.press("s")
    assert tall.evaluate("document.querySelector('.rl-stage').rlEngine.settings.slow") != slow
    for key in ("x", "X", "d", "d", "b"):
        tall.keyboard.press(key)
    tall.evaluate("document.exitFullscreen()")
    tall.wait_for_function("document.fullscreenElement === null")
    for key in ("x", "X", "d", "d", "b"):
        tall.keyboard.press(key)
    assert tall.evaluate("rlCells") == []


def test_panels_without_a_stage_keep_their_keys_by_themselves(lab, tall):
    """A guess alone, and the plan of a workshop alone, on a page with no other panel."""
    for code in ("rl.pages.predict('00-guess')", "rl.pages.workshop_plan(minutes=60)"):
        open_codes(tall, lab, "alone.ipynb", ["import rhythmlab as rl", code])
        [panel] = panels_of(tall)
        assert click_and_type(tall, panel, random.Random(code), FEWER) > FEWER / 4
        assert tall.evaluate("rlCells") == []


def test_a_cell_that_takes_the_focus_late_gives_it_back(lab, tall):
    """The notebook may focus its cell long after a click, once that is ready: no letter reaches it there.

    A field that had the focus has it again; after Escape, which leads out, the cell keeps it.
    """
    open_codes(tall, lab, "late.ipynb", ["import rhythmlab as rl", "rl.pages.two_numbers(4, 3, bpm=90)"])
    cell = "document.querySelectorAll('.jp-Notebook .jp-Cell')[1]"
    panel = panels_of(tall)[-1]
    for spot in (panel.locator(".rl-words p").first, panel.get_by_label("first pulse")):
        spot.click()
        had = tall.evaluate_handle("document.activeElement")
        tall.evaluate(f"{cell}.focus()")
        assert tall.evaluate("(had) => document.activeElement === had", had)
        for key in "ddxXbai":
            tall.keyboard.press(key)
    assert tall.evaluate("rlCells") == []
    panel.locator(".rl-words p").first.click()
    tall.keyboard.press("Escape")
    assert tall.evaluate(f"document.activeElement === {cell}")


def test_what_is_meant_for_the_notebook_reaches_it(lab, tall):
    """From a plain spot: Ctrl and S saves, text is copied, Shift and Enter runs, Escape leads out."""
    codes = ["import rhythmlab as rl", "rl.pages.two_numbers(4, 3, bpm=90)", "1 + 1"]
    open_codes(tall, lab, "meant.ipynb", codes)
    stage = tall.locator(".rl-stage")
    words = stage.locator(".rl-words p").first
    tall.wait_for_function("!!document.querySelector('.jp-mod-dirty')")
    words.click(click_count=3)
    assert tall.evaluate("getSelection().toString().trim()") == words.inner_text().strip()
    tall.keyboard.press("Control+c")
    assert saved(tall, lab, "meant.ipynb") == codes
    ran = tall.locator(".jp-CodeCell .jp-InputPrompt").nth(1)
    before = ran.inner_text()
    words.click()
    tall.keyboard.press("Shift+Enter")
    tall.wait_for_function(
        """(before) => {
          const [, prompt] = document.querySelectorAll('.jp-CodeCell .jp-InputPrompt');
          return !['[*]:', before].includes(prompt.innerText);
        }""",
        arg=before,
    )
    words.click()
    tall.keyboard.press("b")
    assert tall.evaluate("rlCells") == []
    tall.keyboard.press("Escape")
    tall.keyboard.press("b")
    tall.wait_for_function("rlCells.length > 0")
    assert saved(tall, lab, "meant.ipynb") == [*codes[:2], "", codes[2]]

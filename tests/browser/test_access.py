"""Access: axe finds nothing, keys reach all that is seen, the focus shows, what happens is said once."""

import io
import json
import re
from itertools import pairwise
from pathlib import Path

import axe_playwright_python
import numpy as np
import pytest
from PIL import Image

from rhythmlab import resources
from rhythmlab.classroom.handing_out import write_assignment
from rhythmlab.panels.pages_00_to_04 import follow_gaps, two_numbers
from tests.browser.bare import drawn, open_stage
from tests.browser.jupyter import end_sessions, open_page, run_all, settled
from tests.browser.test_letters import no_key_gets_out, page_of, saved, watch
from tests.profile import some

AXE = Path(axe_playwright_python.__file__).with_name("axe.min.js").read_text(encoding="utf-8")
PAGES = sorted(resources.folder("notebooks").glob("0*.ipynb"))
ROOM = [*sorted(resources.folder("notebooks").glob("workshop/*.ipynb"))]
ROOM += [resources.folder("notebooks") / "assignments" / "mark-a-class.ipynb"]
DRAWERS = ("Sound", "Practise", "Play along", "Strokes", "Save", "Plan", "Journal")
THEMES = ("Light", "Dark")
#: What is ours of a notebook: outputs, not one inside another, and the pages' own text.
OURS = """[...document.querySelectorAll(".jp-Notebook :is(.jp-OutputArea-output, .jp-MarkdownOutput)")]
  .filter((one) => !one.parentElement.closest(".jp-OutputArea-output"))"""
_FOUND = """async ([where, rules]) => {
  const include = where ? [...document.querySelectorAll(where)].filter((one) => one.checkVisibility()) : OURS;
  if (include.length === 0) return { looked: 0, bad: [] }; // axe would look at all of JupyterLab
  const how = { resultTypes: ["violations"], ...(rules ? { runOnly: rules } : {}) };
  const { violations, passes } = await axe.run({ include }, how);
  const bad = violations.filter((one) => ["serious", "critical"].includes(one.impact));
  const said = ({ id, nodes }) => nodes.map((node) => `${id}: ${node.html}: ${node.failureSummary}`);
  return { looked: passes.length, bad: bad.flatMap(said) };
}""".replace("OURS", OURS)
#: Controls that Tab stops at, in the order of the page, each with its number.
_STOPS = """(el) => {
  const all = "a[href], button, input, select, textarea, summary, [tabindex='0']";
  const can = (one) => one.tabIndex >= 0 && !one.disabled && one.checkVisibility();
  const stops = [...el.querySelectorAll(all)].filter(can);
  [window.rlStops, window.rlPanel] = [stops, el];
  stops[0]?.focus();
  return stops.length;
}"""
_STOP = """() => {
  const one = document.activeElement;
  const { left, top, right, bottom } = one.getBoundingClientRect();
  const from = rlPanel.getBoundingClientRect().top; // Tab may have scrolled
  const label = one.labels?.[0] && [...one.labels[0].childNodes].filter((part) => !part.contains(one));
  const parts = label || (one.matches("input, select, textarea, [role=group]") ? [] : [one]);
  const seen = parts.filter((part) => !part.getBoundingClientRect || part.getBoundingClientRect().width > 1);
  const text = seen.map((part) => part.innerText ?? part.textContent).join(" ");
  return { nth: rlStops.indexOf(one), box: [left, top - from, right, bottom - from], text };
}"""
#: Hears what a screen reader would: the text of each live region that is there, once for each change.
_LISTEN = """(el) => {
  window.rlHeard = [];
  const live = "[role=status], [role=alert], [aria-live=polite], [aria-live=assertive]";
  const before = new Map([...el.querySelectorAll(live)].map((one) => [one, one.textContent]));
  new MutationObserver((changes) => {
    const there = changes.map(({ target }) => (target.closest ? target : target.parentElement).closest(live));
    for (const region of new Set(there)) {
      if (!region || !region.checkVisibility()) continue;
      const text = region.textContent.trim();
      if (text && text !== before.get(region)) rlHeard.push(text);
      before.set(region, text);
    }
  }).observe(el, { childList: true, characterData: true, subtree: true });
}"""


def cells_of(path):
    """Return the text cells and the code cells of a page, as sources."""
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return [("".join(cell["source"]), cell["cell_type"]) for cell in cells]


@pytest.fixture(scope="module")
def wide(_kept_open):
    """Give JupyterLab as it stays open, tall enough for every panel."""
    _kept_open.set_viewport_size({"width": 1280, "height": 1700})
    yield _kept_open
    _kept_open.emulate_media(forced_colors="none")
    turn(_kept_open, "Light")


@pytest.fixture(scope="module", params=["pages", "room"])
def opened(lab, wide, request, tmp_path_factory):
    """Open all cells of pages 00 to 09, or of the room, the teacher and a pupil, as one page, and run it."""
    sources = PAGES
    if request.param == "room":
        to = tmp_path_factory.mktemp("class") / "handed-out"
        write_assignment("grid-and-composite", to, seats=[7])
        sources = [*ROOM, *sorted(to.rglob("*.ipynb"))]
    return open_cells(
        wide, lab, f"{request.param}.ipynb", [cell for path in sources for cell in cells_of(path)]
    )


def open_cells(page, lab, name, cells):
    """Open a page of these cells, run it, and bring axe into it."""
    end_sessions(page, lab)
    path = lab.folder / page_of(lab, name, [source for source, _ in cells])
    made = json.loads(path.read_text())
    for cell, (_, kind) in zip(made["cells"], cells, strict=True):
        cell["cell_type"] = kind
        if kind == "markdown":
            del cell["outputs"], cell["execution_count"]
    path.write_text(json.dumps(made))
    open_page(page, lab, name)
    page.wait_for_function(
        f"document.querySelectorAll('.jp-Notebook .jp-Cell').length === {len(cells)}", timeout=60_000
    )
    run_all(page)
    page.wait_for_function("!document.body.innerText.includes('Loading widget')")
    settled(page)
    page.evaluate(AXE)
    return page


def turn(page, theme):
    """Change JupyterLab's own theme, as its menu does."""
    change = (
        "(theme) => jupyterapp.commands.execute('apputils:change-theme', { theme: `JupyterLab ${theme}` })"
    )
    page.evaluate(change, theme)
    page.wait_for_function(f"document.body.dataset.jpThemeLight === '{str(theme == 'Light').lower()}'")
    drawn(page)


def open_drawers(page, name):
    """Open the part of this name in every panel that has it; return how many are open."""
    page.evaluate(
        """(name) => [...document.querySelectorAll(".rl-tab:not([hidden])")]
          .filter((one) => one.textContent === name && one.getAttribute("aria-selected") === "false")
          .forEach((one) => one.click())""",
        name,
    )
    settled(page)
    return page.locator(".rl-tab[aria-selected=true]:visible", has_text=re.compile(f"^{name}$")).count()


def findings(page, where="", rules=None):
    """Return what axe finds serious or critical in a place, or in all that is ours."""
    found = page.evaluate(_FOUND, [where, rules])
    assert found["looked"] > 0 or where
    return found["bad"]


def test_axe_finds_nothing_on_any_page_with_any_drawer_open_light_and_dark(opened):
    """No serious or critical finding in what is ours; of the dark only contrast can differ."""
    found = {}
    for theme, rules in zip(THEMES, (None, ["color-contrast"]), strict=True):
        turn(opened, theme)
        found[theme] = findings(opened, "", rules)
        for name in DRAWERS:
            if open_drawers(opened, name):
                found[theme, name] = findings(opened, ".rl-drawer", rules)
    turn(opened, "Light")
    assert {what: bad for what, bad in found.items() if bad} == {}
    assert len(found) >= 6


def kinds(page):
    """Return one output of each kind: they differ in which controls they have."""
    kind = """(el) => JSON.stringify([...new Set([...el.querySelectorAll("button, input, select, summary")]
      .map((one) => `${one.tagName} ${one.type} ${one.className}`))].sort())"""
    outputs = page.locator(".jp-Notebook .jp-OutputArea-output:has(.rl-stage, .rl-theme, .rl-kept, .rl-held)")
    found = {}
    for one in outputs.all():
        if one.locator("button, input, select, summary").count():
            found.setdefault(one.evaluate(kind), one)
    return list(found.values())


def names_of(page, cdp):
    """Return the accessible name of what has the focus."""
    one = cdp.send("Runtime.evaluate", {"expression": "document.activeElement"})["result"]["objectId"]
    node = cdp.send("Accessibility.getPartialAXTree", {"objectId": one, "fetchRelatives": False})["nodes"][0]
    return node.get("name", {}).get("value", "")


def plain(text):
    return " ".join(re.sub(r"[^\w]+", " ", text.lower()).split())


def test_tab_reaches_every_control_in_the_order_it_is_seen_and_says_what_is_seen(opened):
    """From the first control of each kind of panel on: down, and to the right; no trap and none left out.

    Each has a name, and where words are seen on it or beside it the name has them.
    """
    cdp = opened.context.new_cdp_session(opened)
    wrong = []
    for nth, panel in enumerate(kinds(opened)):
        panel.scroll_into_view_if_needed()
        tabs = panel.locator(".rl-tab:visible")
        if tabs.count():
            tab = tabs.nth(nth % tabs.count())
            if tab.get_attribute("aria-selected") == "false":
                tab.click()
            settled(opened)
        many = panel.evaluate(_STOPS)
        stops = []
        for _ in range(many):
            stops.append({**opened.evaluate(_STOP), "name": names_of(opened, cdp)})
            opened.keyboard.press("Tab")
        assert [stop["nth"] for stop in stops] == list(range(many))
        assert opened.evaluate("rlStops.indexOf(document.activeElement)") == -1
        wrong += [f"no name: {stop}" for stop in stops if not plain(stop["name"])]
        wrong += [f"not named as seen: {stop}" for stop in stops if not says(stop["name"], stop["text"])]
        wrong += [
            f"out of order: {one}, {two}" for one, two in pairwise(stops) if not after(one["box"], two["box"])
        ]
    cdp.detach()
    assert wrong == []


def says(name, text):
    """Whether a name has every line of a text."""
    return all(plain(line) in plain(name) for line in text.splitlines())


def after(one, two):
    """Whether a box stands below another, or beside it on the right, or in it."""
    (left, top, right, bottom), (next_left, next_top, next_right, next_bottom) = one, two
    if left <= next_left and top <= next_top and right >= next_right and bottom >= next_bottom:
        return True
    both = min(bottom, next_bottom) - max(top, next_top)
    beside = both > min(bottom - top, next_bottom - next_top) / 2
    return next_left >= right - 12 if beside else next_top >= top


def pixels(page, clip):
    """Return the relative luminance of each pixel of a part of the page."""
    shot = np.asarray(Image.open(io.BytesIO(page.screenshot(clip=clip))).convert("RGB")) / 255
    linear = np.where(shot <= 0.04045, shot / 12.92, ((shot + 0.055) / 1.055) ** 2.4)
    return linear @ np.array([0.2126, 0.7152, 0.0722])


#: One control of each kind that is shown, by number.
_KINDS = """() => {
  const ours = ":is(.jp-OutputArea-output:has(.rl-stage, .rl-theme, .rl-kept), .rl-held)";
  const controls = ":is(button, input, select, summary, a[href], [tabindex='0'])";
  const all = document.querySelectorAll(`${ours} ${controls}`);
  const kinds = new Map();
  for (const one of all) {
    if (!one.checkVisibility() || one.disabled || !one.getClientRects().length) continue;
    const pressed = one.getAttribute("aria-pressed");
    const kind = `${one.tagName} ${one.type} ${one.className} ${pressed}`.replace(/mod-\\S+/g, "");
    if (!kinds.has(kind)) kinds.set(kind, one);
  }
  window.rlKinds = [...kinds.values()];
  return [...kinds.keys()];
}"""


def ring(page, nth):
    """Return how many pixels the focus on a control changes by 3:1 at least, and how many its outline has."""
    box = page.evaluate(
        """(nth) => {
          document.activeElement?.blur();
          rlKinds[nth].scrollIntoView({ block: "center" });
          const { x, y, width, height } = rlKinds[nth].getBoundingClientRect();
          return { x, y, width, height };
        }""",
        nth,
    )
    left, top = max(0, box["x"] - 6), max(0, box["y"] - 6)
    clip = {"x": left, "y": top, "width": box["width"] + 12, "height": box["height"] + 12}
    before = pixels(page, clip)
    page.evaluate("(nth) => rlKinds[nth].focus({ preventScroll: true })", nth)
    with_focus = pixels(page, clip)
    high, low = np.maximum(before, with_focus), np.minimum(before, with_focus)
    return int(((high + 0.05) / (low + 0.05) >= 3).sum()), box


@pytest.mark.parametrize("look", some([*THEMES, "forced"], 2, "rings"))
def test_the_focus_is_seen_on_every_kind_of_control(opened, look):
    """What has it has a line round it, or along its longer side, that differs by 3:1 from what was there."""
    turn(opened, "Light" if look == "forced" else look)
    opened.emulate_media(forced_colors="active" if look == "forced" else "none")
    opened.keyboard.press("Tab")  # from now on the focus is one of keys
    names = opened.evaluate(_KINDS)
    assert len(names) > 3
    weak = {}
    for nth, name in enumerate(names):
        seen, box = ring(opened, nth)
        if seen < 2 * max(box["width"], box["height"]):
            weak[name] = (seen, box)
    opened.emulate_media(forced_colors="none")
    assert weak == {}


@pytest.mark.parametrize("opened", ["pages"], indirect=True)
def test_no_key_reaches_the_notebook_from_any_point_of_any_panel(opened, lab):
    """Many clicks on each kind of panel, every key after each: no cell comes, goes or changes.

    It is the last on this page, as the panels do not stay what they were.  `test_letters` has what it does,
    and does it to the panels of the room.
    """
    name, before = "pages.ipynb", [source for path in PAGES for source, _ in cells_of(path)]
    watch(opened)
    no_key_gets_out(opened, name, 30)
    assert saved(opened, lab, name) == before


def test_in_forced_colours_what_is_pressed_has_a_mark_and_pictures_the_colours_of_the_reader(page):
    """Home is told by a mark beside its colour, and what is written is not of the colour it stands on."""
    page.emulate_media(forced_colors="active")
    open_stage(page, two_numbers(7, 4).stage)
    seen = page.evaluate(
        """() => [...document.querySelectorAll(".rl-homes button, .rl-start")].map((one) => {
          const { color, backgroundColor } = getComputedStyle(one);
          const marked = getComputedStyle(one, "::before").content !== "none";
          return [one.getAttribute("aria-pressed"), marked, color !== backgroundColor];
        })"""
    )
    assert sorted(seen, key=str) == [["false", False, True], ["true", True, True], [None, False, True]]
    ink = "getComputedStyle(document.querySelector('.rl-picture text')).fill"
    paper = "getComputedStyle(document.querySelector('.rl-picture [data-tick]')).stroke"
    system = page.evaluate(
        """() => ["CanvasText", "Canvas"].map((name) => {
          const one = document.createElement("p");
          one.style.color = name;
          document.body.append(one);
          return getComputedStyle(one).color;
        })"""
    )
    assert [page.evaluate(ink), page.evaluate(paper)] == system


def test_in_forced_colours_what_is_a_shade_elsewhere_has_an_edge(page):
    """The zones of a gap cycle, and the part that is looped, are told from the paper they stand on."""
    page.emulate_media(forced_colors="active")
    open_stage(page, follow_gaps(16, 15).stage)
    page.locator(".rl-start").click()
    page.locator(".rl-loop").first.wait_for(state="attached")
    for name in ("-flam)", "-open)", "-alternating)"):
        edge = page.locator(f".rl-picture rect[style*='{name}']").first
        assert edge.evaluate(_EDGE), name
    assert page.locator(".rl-loop").first.evaluate(_EDGE)


#: Whether the edge of a mark is of another colour than the paper.
_EDGE = """(one) => {
  const paper = getComputedStyle(document.querySelector(".rl-picture [data-tick]")).stroke;
  const { stroke, strokeOpacity, opacity } = getComputedStyle(one);
  return stroke !== "none" && stroke !== paper && strokeOpacity * opacity === 1;
}"""


def listen(page, panel):
    """Hear from now on what a screen reader would."""
    panel.evaluate(_LISTEN)


def heard(page):
    """Return what was heard since it was last asked, once the kernel has said all it had to."""
    settled(page)
    return page.evaluate("rlHeard.splice(0)")


def test_what_happens_is_said_once_and_in_one_place(lab, wide):
    """A change, a refusal and its mending, Start and Stop, a take and the next: one message at most.

    After the refusal and after the take axe finds nothing either, light and dark.
    """
    codes = ["import rhythmlab as rl", "rl.pages.two_numbers(4, 3, bpm=240)", "rl.pages.choose_way(7, 4)"]
    page = open_cells(wide, lab, "said.ipynb", [(code, "code") for code in codes])
    panel, other = page.locator(".jp-OutputArea-output", has=page.locator(".rl-run")).all()
    listen(page, panel)
    first, words = panel.get_by_label("first pulse"), panel.locator(".rl-words")
    first.fill("5")
    words.get_by_text("the 5 falls on").first.wait_for()
    [said] = heard(page)
    assert "the 5 falls on" in said
    first.fill("x")
    panel.locator(".rl-refused", has_text="x").first.wait_for()
    [said] = heard(page)
    assert "not a whole number" in said
    for theme in THEMES:
        turn(page, theme)
        assert findings(page) == []
    first.fill("4")
    words.get_by_text("the 4 falls on").first.wait_for()
    assert len(heard(page)) == 1
    panel.get_by_role("button", name="Flip home to the 4").click()
    assert len(heard(page)) == 1
    start = panel.locator(".rl-start")
    for _ in range(2):
        start.click()  # which says itself what it does next
        assert heard(page) == []
    panel.get_by_role("tab", name="Play along").click()
    panel.get_by_label("for", exact=True).select_option("1 cycle")
    for _ in range(2):
        panel.get_by_role("button", name="Record a take").click()
        page.wait_for_function("document.querySelector('.rl-stage').rlEngine.now()?.turn >= 0")
        for key in "jfj":
            page.keyboard.press(key)
        panel.locator(".rl-feedback p").first.wait_for()
        begun, told = heard(page)
        assert begun == "recording"
        assert told == panel.locator(".rl-answer").inner_text().replace("\n", "")
    on = panel.get_by_role("button", name="the next cycle")
    assert on.count() == 1
    for theme in THEMES:
        turn(page, theme)
        assert findings(page) == []
    turn(page, "Light")
    panel.get_by_role("tab", name="Play along").focus()
    for _ in range(2):  # past the strokes
        page.keyboard.press("ArrowRight")
    save = panel.get_by_role("button", name="Save", exact=True)
    save.wait_for()
    panel.get_by_label("save as").select_option("strokes (CSV)")
    assert heard(page) == []
    save.click()
    panel.get_by_text("Saved as").wait_for()
    [said] = heard(page)
    assert said.startswith("Saved as")

    other.get_by_role("button", name="add a pulse").focus()
    for name, pulses in (("add a pulse", 3), ("fourth pulse", 4)):  # then there is no more to add
        page.keyboard.press("Enter")
        other.locator(".rl-number").nth(pulses - 1).wait_for()
        drawn(page)
        focus = "document.activeElement.labels?.[0]?.textContent || document.activeElement.textContent"
        assert page.evaluate(focus) == name


def test_the_strokes_are_walked_by_keys_so_many_at_a_time(page):
    """The table has each sound of the picture, follows home, and says once which strokes come next."""
    open_stage(page, two_numbers(32, 31).stage)
    page.evaluate(AXE)
    tab = page.get_by_role("tab", name="Sound")
    tab.focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    table = page.locator(".rl-strokes")
    assert table.locator("tbody tr").count() == 48
    assert table.locator("tr").nth(1).inner_text().split("\t") == [
        "1",
        "on the beat",
        "the 32 and the 31",
        "right hand and left hand",
    ]
    assert findings(page, ".rl-folded") == []
    listen(page, page.locator(".rl-stage"))
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "later"
    for button, shown in (
        ("earlier", "49 to 62 of 62"),
        ("later", "1 to 48 of 62"),
        ("earlier", "49 to 62 of 62"),
    ):
        page.keyboard.press("Enter")
        drawn(page)
        assert (
            page.evaluate("document.activeElement.textContent") == button
        )  # the other one has come to its end
        assert page.evaluate("rlHeard.splice(0)") == [shown]
    assert table.locator("tbody tr").count() == 62 - 48
    page.get_by_role("button", name="Flip home to the 32").click()
    drawn(page)
    assert table.locator("tbody tr").first.inner_text().split("\t")[0] == "1"
    assert len(page.evaluate("rlHeard.splice(0)")) == 1  # the words of the picture

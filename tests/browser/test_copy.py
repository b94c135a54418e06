"""Copying a picture: as it is seen, by itself, on paper; and what is said where it cannot be."""

import base64
import io
import re
from xml.etree import ElementTree

import pytest
from PIL import Image

import rhythmlab as rl
from rhythmlab.draw.palette import COLOURS
from rhythmlab.draw.svg import svg
from tests.browser.bare import open_stage
from tests.panels.test_saving import played

_COPIED = """async () => {
  const [item] = await navigator.clipboard.read();
  const [png, text] = await Promise.all(["image/png", "text/plain"].map((kind) => item.getType(kind)));
  const bytes = new Uint8Array(await png.arrayBuffer());
  return [btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join("")), await text.text()];
}"""


@pytest.fixture
def panel(tmp_path, monkeypatch):
    """Give a panel for 4 against 3 with a take under its picture."""
    monkeypatch.chdir(tmp_path)
    one = rl.pages.two_numbers(4, 3, bpm=90)
    played(one)
    one.stage.struck = 2
    return one


def copy(page) -> str:
    """Press the button, and return what is said then."""
    page.get_by_role("tab", name="Save").click()
    page.get_by_role("button", name="Copy picture").click()
    page.wait_for_function("document.querySelector('.rl-note[role=status]').textContent")
    return page.locator(".rl-note[role=status]").text_content()


@pytest.mark.parametrize("light", ["true", "false"])
def test_a_picture_is_copied_on_paper_with_its_words(page, panel, light):
    """A PNG of what is seen, take and all, on white in light colours whatever the theme; words beside it."""
    page.context.grant_permissions(["clipboard-read", "clipboard-write"], origin="http://127.0.0.1")
    open_stage(page, panel.stage)
    page.evaluate("(light) => (document.body.dataset.jpThemeLight = light)", light)
    assert copy(page).startswith("Copied")
    png, words = page.evaluate(_COPIED)
    image = Image.open(io.BytesIO(base64.b64decode(png))).convert("RGB")
    assert image.getpixel((2, 2)) == (255, 255, 255)
    colours = {colour for _, colour in image.getcolors(10**6)}
    lanes = {tuple(bytes.fromhex(COLOURS[lane][0][1:])) for lane in ("lane0", "lane1")}
    assert lanes <= colours  # both as on paper
    assert words.startswith("4 against 3: 4 against 3 on 12 ticks")
    assert "Cycle 2 of 2" in words


def test_the_svg_stands_by_itself_with_the_strokes_of_the_take(page, panel):
    """Title and description, nothing of the page's style, and each stroke of the cycle that is shown."""
    open_stage(page, panel.stage)
    page.evaluate("window.texts = []")
    page.evaluate("""() => {
      const real = window.Blob;
      window.Blob = class extends real {
        constructor(parts, how) {
          super(parts, how);
          if (how.type === "image/svg+xml") texts.push(parts[0]);
        }
      };
    }""")
    copy(page)
    (text,) = page.evaluate("texts")
    assert not re.search(r"var\(|currentcolor|class=|style=|rl-", text)
    root = ElementTree.fromstring(text)
    assert root[0].text == "4 against 3"
    assert "heard as one line" in root[1].text
    seen = [one for one in root.iter() if one.get("data-lane") and not one.get("data-tick")]
    assert len(seen) == 7


_STROKES = """(svg) => {
  const strokes = [...svg.querySelectorAll("[data-lane]:not([data-tick])")].map((one) => {
    const { x, width } = one.getBBox();
    return [Number(one.dataset.lane), x + width / 2];
  });
  return [strokes, [...svg.querySelectorAll("text")].map((one) => one.textContent)];
}"""


@pytest.mark.parametrize("cycle", [1, 2])
def test_a_saved_picture_has_the_take_as_the_card_has_it(page, panel, cycle):
    """The same strokes at the same places, the same names beside them, and the same sentence."""
    mark = {"cycle": 2, "lane": 0, "tick": 6, "name": "& of 2"}
    panel.stage.played, panel.stage.struck = {**panel.stage.played, "mark": mark}, cycle
    open_stage(page, panel.stage)
    card = page.locator(".rl-struck")
    strokes, names = card.evaluate(_STROKES)
    page.evaluate("(svg) => document.body.insertAdjacentHTML('beforeend', svg)", svg(panel.picture))
    saved, texts = page.locator("body > svg").evaluate(_STROKES)
    assert [lane for lane, _ in saved] == [lane for lane, _ in strokes] == [0] * 4 + [1] * 3
    assert [x for _, x in saved] == pytest.approx([x for _, x in strokes], abs=0.02)
    assert texts[-len(names) :] == names
    assert ("& of 2: late" in names) == (cycle == 2)
    assert panel.picture.alt.endswith(card.get_attribute("aria-label"))


@pytest.mark.parametrize("early", [0.2, 0.31, 1.3])
def test_a_stroke_before_beat_1_stands_before_it_on_the_card_and_in_a_saved_picture(page, panel, early):
    """Both at the same place, left of the first beat and in the picture, with the name ending before it."""
    mark = {"cycle": 1, "lane": 0, "tick": 0, "name": "beat 1"}
    first, *rest = panel.stage.played["cycles"]
    first = [(0, -early), *((lane, at) for lane, at in first if (lane, round(at)) != (0, 0))]
    panel.stage.played = {**panel.stage.played, "cycles": [first, *rest], "mark": mark}
    panel.stage.struck = 1
    open_stage(page, panel.stage)
    strokes, names = page.locator(".rl-struck").evaluate(_STROKES)
    page.evaluate("(svg) => document.body.insertAdjacentHTML('beforeend', svg)", svg(panel.picture))
    saved, texts = page.locator("body > svg").evaluate(_STROKES)
    left = panel.picture.left
    assert 6 < strokes[0][1] < left - 4
    assert [x for _, x in saved] == pytest.approx([x for _, x in strokes], abs=0.02)
    assert texts[-len(names) :] == names
    assert "beat 1: early" in names


@pytest.mark.parametrize("clipboard", ["undefined", "{ write: () => Promise.reject(new Error('no')) }"])
def test_where_the_browser_forbids_it_it_is_said_plainly(page, panel, clipboard):
    """A page that is no secure one, and a browser that says no: a sentence each, with what to do instead."""
    open_stage(
        page, panel.stage, before=f"Object.defineProperty(navigator, 'clipboard', {{ value: {clipboard} }});"
    )
    said = copy(page)
    assert said.startswith("Not copied: ")
    assert "save it as PNG" in said

"""The fields of a card: a press chooses a number, and what is refused is said and seen at its field."""

import pytest

from rhythmlab.panels.pages_00_to_04 import two_numbers
from tests.browser.bare import drawn
from tests.browser.jupyter import shot
from tests.browser.test_card_on_any_screen import PANELS, open_card
from tests.profile import some

#: Refuses each field of a card by turns, as Python does, and says where it is told and how its field looks.
_REFUSED = """async () => {
  const card = document.querySelector(".rl-stage");
  const parts = model.get("parts");
  const held = await model.widget_manager.get_model(parts.line.slice(10));
  const names = [];
  for (const id of [...(parts.numbers || []), parts.tempo, ...parts.rows.filter((row) => !row.line)
    .flatMap((row) => row.fields || [])].filter(Boolean)) {
    const one = await model.widget_manager.get_model(id.slice(10));
    if (["TextModel", "DropdownModel"].includes(one.get("_model_name"))) names.push(one.get("description"));
  }
  const found = [];
  for (const name of names) {
    const of = (one) => one.querySelector("span")?.textContent === name && one.checkVisibility();
    const label = [...card.querySelectorAll(".rl-field")].find(of);
    const input = label?.querySelector("input, select");
    if (!input) continue;
    const look = () => {
      const { borderTopStyle, borderInlineStartWidth } = getComputedStyle(input);
      return [borderTopStyle, borderInlineStartWidth];
    };
    const before = look();
    held.set("field", name);
    held.set("text", `${name} 'x' is wrong`);
    const lines = [...card.querySelectorAll(".rl-refused")].filter((one) => one.textContent);
    const box = (one) => one.getBoundingClientRect();
    const row = [...(label.closest(".rl-row") || label).querySelectorAll("input, select")];
    const all = (label.closest(".rl-row") ? row : [input]).filter((one) => one.checkVisibility()).map(box);
    const top = Math.min(...all.map((one) => one.top)), bottom = Math.max(...all.map((one) => one.bottom));
    found.push({
      name, lines: lines.length, described: input.getAttribute("aria-describedby") === lines[0]?.id,
      far: lines[0] && Math.max(box(lines[0]).top - bottom, top - box(lines[0]).bottom),
      over: lines[0] && Math.min(bottom, box(lines[0]).bottom) - Math.max(top, box(lines[0]).top),
      changed: before[0] !== look()[0] && before[1] !== look()[1],
      marked: card.querySelectorAll("[aria-invalid]").length,
    });
  }
  return found;
}"""


@pytest.mark.parametrize("width", [390, 1240])
@pytest.mark.parametrize("what", some(PANELS, 4, "cards that refuse", always=["a groove"]))
def test_what_is_refused_is_said_by_the_row_of_its_field(page, what, width):
    """One line, right over or under its row; the field is described by it and has another border."""
    stage = PANELS[what]().stage
    open_card(page, stage)
    page.set_viewport_size({"width": width, "height": 844})
    drawn(page)
    found = page.evaluate(_REFUSED)
    drawn(page)
    shot(page, f"refused-{what.replace(' ', '-')}-{width}")
    assert found or "line" not in stage.parts
    for one in found:
        assert (one["lines"], one["described"], one["changed"], one["marked"]) == (1, True, True, 1), one
        assert one["far"] <= 60, one
        assert one["over"] <= 0, one


@pytest.mark.parametrize("name", ["first pulse", "bpm of the 3"])
def test_a_press_on_a_number_chooses_it_and_a_second_one_places_the_caret(page, name):
    """What is typed then replaces it, in a number of the head and in the tempo."""
    open_card(page, two_numbers(4, 3, bpm=72).stage)
    field = page.locator(".rl-head input, .rl-tempo input[type=text]")
    field = field.first if name == "first pulse" else field.last
    chosen = "(one) => one.selectionEnd - one.selectionStart === one.value.length"
    field.click()
    assert field.evaluate(chosen)
    page.keyboard.type("7")
    assert field.input_value() == "7"
    field.click()
    assert not field.evaluate(chosen)
    page.keyboard.type("5")
    assert len(field.input_value()) == 2

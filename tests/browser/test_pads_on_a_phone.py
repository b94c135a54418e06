"""While a take runs what plays and stops it is in view, on a phone under the row that sounds."""

import pytest

from rhythmlab.panels.pages_00_to_04 import two_numbers
from rhythmlab.panels.pages_05_to_07 import land_in_bars
from tests.browser.bare import drawn, open_stage, wait_until
from tests.browser.jupyter import shot

PHONE, BROAD = {"width": 390, "height": 844}, {"width": 1100, "height": 600}
CALIBRATE = "Calibrate: tap with 16 clicks"
#: A finding with its button, as Python answers a take.
_ANSWER = """() => {
  const next = { kind: "again", button: "Record it again", mode: "both pulses", cycles: 8, lanes: [0, 1] };
  model.set("answer", { found: "found", do: "do", next, more: ["more"], kept: ["kept"] });
  model.set("feedback", ["found", "do"]);
}"""
_SEEN = """() => {
  const card = document.querySelector(".rl-stage");
  const box = (one) => {
    const { left, right, top, bottom } = one.getBoundingClientRect();
    return { left, right, top, bottom, width: right - left, height: bottom - top };
  };
  const row = [...card.querySelectorAll(".rl-picture svg")].find((one) => {
    const line = one.querySelector(".rl-playhead");
    return line && line.style.display !== "none";
  });
  return {
    pads: [...card.querySelectorAll(".rl-pad")]
      .map((one) => ({ said: one.getAttribute("aria-label"), ...box(one) })),
    buttons: [...card.querySelectorAll(".rl-dock .rl-button")].filter((one) => one.checkVisibility())
      .map((one) => one.textContent),
    stop: box(card.querySelector(".rl-dock .rl-stops")),
    row: row && box(row),
    first: box(card.querySelector(".rl-picture svg")),
    dock: box(card.querySelector(".rl-dock")),
    card: box(card),
    high: innerHeight,
  };
}"""


def seen_in_view(page) -> dict:
    """Look at what plays and stops a take, which must be on the screen."""
    drawn(page)
    seen = page.evaluate(_SEEN)
    for one in (*seen["pads"], seen["stop"]):
        assert one["top"] >= -1, (one, seen["high"])
        assert one["bottom"] <= seen["high"] + 1, (one, seen["high"])
    return seen


def open_phone(page, stage, size) -> None:
    page.set_viewport_size(size)
    open_stage(page, stage)
    page.evaluate("""() => {
      for (const at of ["afterbegin", "beforeend"]) {
        document.body.insertAdjacentHTML(at, "<div style='height: 900px'></div>");
      }
    }""")
    page.get_by_role("tab", name="Play along").click()


@pytest.mark.parametrize(
    ("begins", "edge", "size"),
    [
        ("Record it again", "start", PHONE),
        ("Record a take", "end", PHONE),
        ("Record it again", "end", BROAD),
        (CALIBRATE, "end", BROAD),
    ],
)
def test_pads_and_stop_are_in_view_from_the_beginning_of_a_take(page, size, begins, edge):
    """Whichever button begins it, wherever it stands, though the finding goes then; and they stay there."""
    open_phone(page, two_numbers(4, 3, bpm=300).stage, size)
    page.evaluate(_ANSWER)
    page.get_by_role("button", name=begins, exact=True).evaluate(
        "(one, edge) => { one.scrollIntoView({ block: edge }); one.click(); }", edge
    )
    wait_until(page, "engine.playing()")
    before = seen_in_view(page)
    wait_until(page, "engine.now()?.turn >= 0")
    after = seen_in_view(page)
    assert after["pads"] == before["pads"]
    assert (after["dock"]["width"] == size["width"]) == (size is PHONE)
    page.keyboard.press("Escape")
    drawn(page)
    assert page.locator(".rl-docked, [popover]").count() == 0
    assert page.locator(".rl-dock").evaluate("(one) => one.offsetWidth < document.body.offsetWidth")


@pytest.mark.parametrize(
    ("what", "orders"),
    [
        (lambda: two_numbers(4, 3, bpm=120), [["3", "4"]]),
        (lambda: two_numbers(16, 15, bpm=60), [["15", "16"]]),
        (lambda: land_in_bars(7, 4), None),
    ],
    ids=["a pair", "a long pair", "a fill"],
)
def test_on_a_phone_pads_are_for_thumbs_under_the_row_that_sounds(page, what, orders):
    """Side by side, the left hand's left, half a card wide and 96 px high; the row that sounds over them.

    What only changes keys or begins is away until the take has ended.
    """
    open_phone(page, what().stage, PHONE)
    page.get_by_role("button", name="Record a take", exact=True).click()
    wait_until(page, "engine.now()?.turn >= 0")
    seen = seen_in_view(page)
    assert seen["buttons"] == ["Stop the take"]
    pads = seen["pads"]
    for pad in pads:
        assert pad["height"] >= 96, pad
        assert pad["width"] >= seen["card"]["width"] / 2 - 16, pad
    hands = [pad for pad in pads if pad["top"] == pads[0]["top"]]
    assert [pad["left"] for pad in hands] == sorted(pad["left"] for pad in hands)
    if orders:
        assert [pad["said"].split(",")[0] for pad in hands] == [f"pad of the {n}" for n in orders[0]]
    assert len(hands) == 2
    for fifth in range(5):  # of its first cycle
        wait_until(page, f"5 * engine.now().tick >= {fifth} * model.get('plan').ticks")
        seen = seen_in_view(page)
        if seen["row"]:
            assert seen["row"]["top"] >= 0
            assert seen["row"]["bottom"] <= seen["dock"]["top"], seen
    shot(page, f"pads-on-a-phone-{len(pads)}-{seen['first']['height']:.0f}")

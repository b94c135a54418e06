"""The wall: from the last number typed to the first stroke that is heard, in JupyterLab.

Run it with ``python -m pytest tests/benchmarks/test_wall_speed.py -s``; it takes about a minute.
"""

import pytest

from tests.browser.jupyter import end_sessions, open_page, run_all

ROUNDS = 40
PAIRS = ((7, 4), (5, 3), (16, 15), (4, 3), (9, 8), (32, 31), (3, 2), (13, 8))
#: Notes when the last figure was struck, and says later when the first stroke was heard after it, in ms.
_WATCH = """() => {
  window.struck = {};
  document.addEventListener("keydown", (event) => {
    if (/^[0-9]$/.test(event.key)) window.struck.figure = event.timeStamp;
    if (event.key === "Enter") window.struck.enter = event.timeStamp;
  }, true);
}"""
_HEARD = """() => {
  const engine = document.querySelector(".rl-stage").rlEngine;
  const now = performance.now();
  const heard = now + (engine.timeline().timeOf(0) - engine.audioAt(now)) * 1000;
  return [heard - window.struck.figure, heard - window.struck.enter];
}"""
#: The clocks are read against each other as often as a map looks at.
_READ = """async () => {
  for (let i = 0; i < 24; i += 1) await new Promise((done) => requestAnimationFrame(done));
}"""
_PLAYS = """([a, b]) => {
  const stage = document.querySelector(".rl-stage");
  const halves = `Right half (your left) the ${a} and left half (your right) the ${b}.`;
  return stage.rlEngine.playing() && stage.innerText.includes(halves);
}"""


@pytest.mark.parametrize("full", [False, True], ids=["on the page", "full screen"])
def test_numbers_typed_sound_within_three_tenths_of_a_second(lab, page, full):
    """All keys without a pause: 95 of 100 times the first stroke is heard 300 ms after the last figure."""
    end_sessions(page, lab)
    open_page(page, lab, "workshop/put-two-numbers-on-the-wall.ipynb")
    run_all(page)
    wall = page.locator(".rl-wall")
    if full:
        wall.get_by_role("button", name="Full screen").click()
    wall.get_by_role("button", name="Start").click()
    page.wait_for_function("document.querySelector('.rl-stage').rlEngine.now()?.pos > 0.2")
    page.evaluate(_WATCH)
    found = []
    for nth in range(ROUNDS):
        pair = PAIRS[nth % len(PAIRS)]
        wall.locator(".rl-picture").focus()
        page.keyboard.type(str(pair[0]))
        page.keyboard.press("Tab")
        page.keyboard.type(str(pair[1]))
        page.keyboard.press("Enter")
        page.wait_for_function(_PLAYS, arg=list(pair))
        page.evaluate(_READ)
        found.append(page.evaluate(_HEARD))
    worst = []
    for name, row in zip(("last figure", "Enter"), zip(*found, strict=True), strict=True):
        ordered = sorted(row)
        p50, p95 = ordered[len(ordered) // 2], ordered[int(0.95 * len(ordered))]
        print(
            f"\n{name} to first stroke heard, {ROUNDS} times: p50 {p50:.0f} ms, p95 {p95:.0f} ms (limit 300)"
        )
        worst.append(p95)
    assert max(worst) < 300

"""A player who strikes keys at exact moments of the audio clock, for the tests."""

from playwright.sync_api import Locator

#: Strikes keys through the page's own event path: at the right moment it sends a key to what is in focus.
_PLAY = """
async (el, strokes) => {
  const engine = el.rlEngine;
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  while (!engine.playing()) await frame();
  const card = engine.context();
  const read = new Set(); // until the clocks have been read against each other, as often as a map looks at
  while (read.size < 24) {
    read.add(card.getOutputTimestamp().performanceTime);
    await frame();
  }
  const t0 = engine.timeline().timeOf(0);
  const target = document.activeElement;
  for (const [at, code] of strokes) {
    const left = () => {
      const now = performance.now();
      return (t0 + at - engine.audioAt(now)) * 1000;
    };
    while (left() > 12) await new Promise((done) => setTimeout(done, Math.max(1, left() - 10)));
    while (left() > 0);
    const key = { code, key: code.slice(3), bubbles: true, composed: true };
    target.dispatchEvent(new KeyboardEvent("keydown", key));
    target.dispatchEvent(new KeyboardEvent("keyup", key));
  }
}
"""


def strokes_of(pulses: tuple[int, ...], cycle_s: float, cycles: int, late: tuple[float, ...]) -> list[list]:
    """Return when each key is struck, in seconds after the first stroke: J is lane 0, F is lane 1."""
    codes = ("KeyJ", "KeyF", "KeyK", "KeyD")
    found = [
        [cycle_s * (cycle + i / pulse) + late[lane], codes[lane]]
        for lane, pulse in enumerate(pulses)
        for cycle in range(cycles)
        for i in range(pulse)
    ]
    return sorted(found)


def play(stage: Locator, strokes: list[list]) -> None:
    """Strike keys on a stage whose take has been started, each at its moment after the first stroke."""
    stage.evaluate(_PLAY, strokes)

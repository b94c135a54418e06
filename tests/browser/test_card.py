"""The sound card: one for a page however often its cells are run again, given back, and never overloaded."""

import json
from time import monotonic

import pytest

from rhythmlab.panels.pages_00_to_04 import two_numbers
from rhythmlab.panels.stage.sounding import MOST_A_SECOND
from tests.browser.bare import open_stage, set_plan, wait_until
from tests.browser.jupyter import open_page, run_all
from tests.browser.test_letters import page_of
from tests.waiting import until

#: Counts every sound card that is made, and every timer and frame that is asked for.
_COUNT = """
  window.rlMade = [];
  const Real = window.AudioContext;
  window.AudioContext = class extends Real {
    constructor(how) {
      super(how);
      rlMade.push(this);
    }
  };
  window.rlLive = () => rlMade.filter((one) => one.state !== "closed").length;
"""
_BUSY = """
  window.rlFrames = 0;
  const frame = window.requestAnimationFrame.bind(window);
  window.rlPass = async (frames) => {
    for (let i = 0; i < frames; i += 1) await new Promise(frame);
  };
  window.requestAnimationFrame = (call) => frame((now) => {
    rlFrames += 1;
    call(now);
  });
  window.rlTimers = new Set();
  const [every, clear] = [window.setInterval.bind(window), window.clearInterval.bind(window)];
  window.setInterval = (call, ms) => {
    const timer = every(call, ms);
    rlTimers.add(timer);
    return timer;
  };
  window.clearInterval = (timer) => {
    rlTimers.delete(timer);
    clear(timer);
  };
"""


def counts(page):
    """Return elements, and nodes of the sound graph, that the page holds after everything unused has gone."""
    cdp = page.context.new_cdp_session(page)
    cdp.send("Performance.enable")
    for _ in range(2):
        cdp.send("HeapProfiler.collectGarbage")
    nodes = cdp.send("Memory.getDOMCounters")["nodes"]
    metrics = {one["name"]: one["value"] for one in cdp.send("Performance.getMetrics")["metrics"]}
    cdp.detach()
    return nodes, int(metrics["AudioHandlers"])


def kept_of_old(page):
    """Return how many elements of stages the page keeps though they stand in it no more: none may be."""
    cdp = page.context.new_cdp_session(page)
    cdp.send("HeapProfiler.collectGarbage")
    kind = cdp.send("Runtime.evaluate", {"expression": "Element.prototype"})["result"]["objectId"]
    every = cdp.send("Runtime.queryObjects", {"prototypeObjectId": kind})["objects"]["objectId"]
    count = """function () {
      const made = this.filter((one) => !Object.hasOwn(one, "constructor")); // no prototypes
      return made.filter((one) => !one.isConnected && one.closest(".rl-stage")).length;
    }"""
    asked = {"functionDeclaration": count, "objectId": every, "returnByValue": True}
    found = cdp.send("Runtime.callFunctionOn", asked)["result"]["value"]
    cdp.detach()
    return found


def at_rest(page):
    """Return the same once nothing is on its way out any more: what fades leaves the sound card."""
    seen = [(monotonic(), counts(page))]

    def steady():
        now = counts(page)
        if now != seen[-1][1]:
            seen.append((monotonic(), now))
        return monotonic() - seen[-1][0] > 0.5  # a fade takes a third of a second

    until(steady, why="a page at rest")
    return seen[-1][1]


def test_a_hundred_re_runs_leave_one_card_and_the_nodes_they_began_with(page):
    """Each re-run sounds, and its old panel goes as the new one comes; after the last the card is closed."""
    open_stage(page, two_numbers(7, 4).stage, before=_COUNT)
    run = """async (times) => {
      for (let i = 0; i < times; i += 1) {
        await now.engine.start();
        now.close();
        window.now = await addStage();
      }
    }"""
    page.evaluate(
        "window.now = first; first = engine = model = leave = null; closers = els = []; view = close = null"
    )
    page.evaluate(run, 5)
    wait_until(page, "rlLive() === 1")
    nodes, graph = at_rest(page)
    page.evaluate(run, 100)
    after = at_rest(page)
    assert page.evaluate("[rlMade.length, rlLive()]") == [1, 1]
    assert after[0] <= nodes + 20
    assert after[1] <= graph
    page.evaluate("now.close()")
    wait_until(page, "rlLive() === 0")


def test_twenty_panels_have_one_card_one_timer_and_one_frame_at_a_time(page):
    """All twenty have sounded and one sounds: the others cost nothing; at rest none does, nor the card."""
    open_stage(page, two_numbers(7, 4).stage, before=_COUNT + _BUSY)
    page.evaluate(
        """async () => {
          window.all = [first];
          for (let i = 1; i < 20; i += 1) all.push(await addStage());
          for (const one of all) await one.engine.start();
        }"""
    )
    assert page.evaluate("all.map((one) => one.engine.playing()).filter(Boolean).length") == 1
    until(lambda: counts(page)[1] < 60, why="the sound graph of one")
    before = page.evaluate("[rlFrames, performance.now()]")
    wait_until(page, f"performance.now() > {before[1]} + 1000 && rlFrames > {before[0]}")
    after = page.evaluate("[rlFrames, performance.now()]")
    assert page.evaluate("[rlMade.length, rlTimers.size]") == [1, 1]
    assert 0 < after[0] - before[0] <= (after[1] - before[1]) / 1000 * 61 + 2
    page.evaluate("all.at(-1).engine.stop()")
    wait_until(page, "rlMade[0].state === 'suspended'")
    still = page.evaluate("rlFrames")
    page.evaluate("rlPass(12)")
    assert page.evaluate("[rlTimers.size, rlFrames]") == [0, still]
    page.evaluate("all[3].engine.start()")
    wait_until(page, "all[3].engine.now() && all[3].engine.now().pos > 0.1")
    assert page.evaluate("[rlMade.length, rlMade[0].state]") == [1, "running"]


def test_after_a_rest_what_is_shown_is_what_is_heard(page):
    """A card that rested has another time; the map between the clocks is read afresh."""
    open_stage(page, two_numbers(7, 4, bpm=60).stage)
    page.evaluate("engine.start()")
    wait_until(page, "engine.now() && engine.now().pos > 0.05")
    page.evaluate("window.card = engine.context(); engine.stop(); card.suspend()")
    wait_until(page, "card.state === 'suspended'")
    behind = page.evaluate("performance.now() / 1000 - card.currentTime")
    wait_until(page, f"performance.now() / 1000 - card.currentTime > {behind} + 1")
    page.evaluate("engine.start()")
    wait_until(page, "engine.playing()")
    off = page.evaluate(
        """async () => {
          const found = [];
          for (let i = 0; i < 20; i += 1) {
            await new Promise((done) => requestAnimationFrame(done));
            found.push(engine.audioAt(performance.now()) - card.currentTime);
          }
          return found;
        }"""
    )
    assert all(-0.25 < one < 0.1 for one in off), off


def test_a_cell_of_a_notebook_run_again_leaves_the_nodes_it_began_with(lab, page):
    """In JupyterLab: one card, and no element of the old panels is kept, though their models live on."""
    page.add_init_script(f"{{{_COUNT}}}")
    codes = ["import rhythmlab as rl\nrl.pages.two_numbers(7, 4, bpm=72)"]
    open_page(page, lab, page_of(lab, "again.ipynb", codes))
    run_all(page)
    page.locator(".rl-start").wait_for()

    def run_again(times):
        for _ in range(times):
            page.evaluate("document.querySelector('.rl-stage').rlEngine.start()")
            page.evaluate("document.querySelector('.rl-stage').classList.add('rl-old')")
            page.locator(".jp-CodeCell .cm-content").click()
            page.keyboard.press("Control+Enter")
            page.wait_for_function("!!document.querySelector('.rl-stage:not(.rl-old) .rl-start')")

    run_again(2)
    nodes, graph = at_rest(page)
    run_again(10)
    until(lambda: kept_of_old(page) == 0, why="what is closed has gone")
    after = at_rest(page)
    assert page.evaluate("rlLive()") <= 1
    # One panel has a thousand; a cell with one plain button leaves three at each run, and ours has more.
    assert after[0] <= nodes + 250
    assert after[1] <= graph + 5  # a desk has fifteen
    page.evaluate("document.querySelector('.rl-stage').rlEngine.start()")
    page.get_by_role("menuitem", name="Edit", exact=True).click()
    page.locator(".lm-Menu-itemLabel", has_text="Clear Outputs of All Cells").click()
    page.wait_for_function("rlLive() === 0")


def test_the_tab_pressed_last_sounds_and_a_take_in_the_other_is_kept(chromium):
    """Start in one tab stops the other, which says why; what was played of a take goes to Python."""
    context = chromium.new_context()
    try:
        one, two = context.new_page(), context.new_page()
        for tab in (one, two):
            open_stage(tab, two_numbers(4, 3, bpm=240).stage)
        one.bring_to_front()
        one.locator(".rl-start").click()
        wait_until(one, "engine.playing()")
        two.bring_to_front()
        two.locator(".rl-start").click()
        wait_until(two, "engine.playing()")
        wait_until(one, "!engine.playing()")
        assert "another tab or window began to sound" in one.locator(".rl-notice").inner_text()
        assert two.evaluate("engine.playing()")
        two.evaluate("engine.stop()")
        assert one.evaluate("engine.playing()") is False

        one.bring_to_front()
        one.get_by_role("tab", name="Play along").click()
        one.get_by_role("button", name="Record a take").click()
        wait_until(one, "engine.now() && engine.now().pos > 1.2")
        assert one.locator(".rl-notice").inner_text() == ""
        one.keyboard.press("j")
        two.bring_to_front()
        two.locator(".rl-start").click()
        wait_until(two, "engine.playing()")
        wait_until(one, "model.sent.some((one) => one.take)")
        take = one.evaluate("model.sent.find((one) => one.take).take")
        assert take["cycles"] >= 1
        assert "The take ended because another tab" in one.locator(".rl-notice").inner_text()
    finally:
        context.close()


def test_without_a_channel_between_tabs_it_sounds_all_the_same(page):
    """A browser that has none, or refuses one, plays."""
    broken = "window.BroadcastChannel = class { constructor() { throw new Error('no'); } };"
    open_stage(page, two_numbers(4, 3).stage, before=broken)
    page.locator(".rl-start").click()
    wait_until(page, "engine.playing()")


#: Parts of plans as script, each made from the ``lane`` of a good one.
HOSTILE = [
    "{ cycle_s: 2.4e-6, bpms: [1.75e8, 1e8] }",  # 7 against 4 at 100,000,000 bpm
    "{ cycle_s: 1e-9, lanes: [], homes: [[]] }",
    "{ cycle_s: 1e-9, lanes: [{ ...lane, onsets: [0] }], homes: [[]] }",
    "{ cycle_s: 0 }",
    "{ cycle_s: -1 }",
    "{ cycle_s: NaN }",
    "{ ticks: 0 }",
    "{ ticks: 3e6, lanes: [{ ...lane, onsets: Array.from({ length: 3e5 }, (_, i) => i) }] }",
    "{ lanes: Array(5000).fill(lane) }",
    "{ cycle_s: 0.25, lanes: [{ ...lane, onsets: Array(1000).fill(0) }] }",
    "{ cycle_s: 0.04 }",
]


@pytest.mark.parametrize("more", HOSTILE)
def test_a_plan_that_cannot_be_laid_is_refused_at_once(page, more):
    """Whatever Python says the page answers within 100 ms, and a line says what is wrong and what to do."""
    stage = two_numbers(7, 4).stage
    open_stage(page, stage)
    page.locator(".rl-start").click()
    wait_until(page, "engine.playing()")
    started, took, followed = page.evaluate(
        f"""async (good) => {{
          const lane = good.lanes[0];
          const plan = {{ ...good, ...{more} }};
          const begun = performance.now();
          model.set("plan", plan);
          const changed = performance.now();
          const started = await engine.start();
          return [started, performance.now() - changed, changed - begun];
        }}""",
        stage.plan,
    )
    assert started is False
    assert took < 100
    assert followed < 500  # what sounded has stopped, and the panel has followed
    assert not page.evaluate("engine.playing()")
    notice = page.locator(".rl-notice")
    notice.get_by_text("slow down").or_(notice.get_by_text("run the page again")).wait_for()
    set_plan(page, stage.plan)
    page.locator(".rl-start").click()
    wait_until(page, "engine.playing()")


def test_as_many_strokes_as_are_let_through_are_laid_in_time(page):
    """At the most strokes a second none is late and none is lost."""
    stage = two_numbers(7, 4).stage
    open_stage(page, stage)
    strokes = sum(len(lane["onsets"]) for lane in stage.plan["lanes"]) + max(map(len, stage.plan["homes"]))
    set_plan(page, {**stage.plan, "cycle_s": strokes / MOST_A_SECOND})
    page.locator(".rl-start").click()
    wait_until(page, "engine.report().scheduled > 1000", timeout=20)
    report = page.evaluate("engine.report()")
    assert (report["late"], report["dropped"]) == (0, 0), json.dumps(report)

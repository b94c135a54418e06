"""Playing in JupyterLab: a planted late hand is told, a busy kernel loses nothing, tomorrow finds it all."""

import json
import re

import pytest

from tests.browser.jupyter import end_sessions, open_page, run_all, settled, shot
from tests.browser.playing import play, strokes_of
from tests.waiting import until

pytestmark = pytest.mark.in_time

PAGE = "08-practise-and-keep-a-journal.ipynb"


@pytest.fixture(scope="module")
def opened(lab, chromium):
    """Page 08, open and run in one browser page, for the tests of this module in their order."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.rl_faults = []
    page.on("pageerror", lambda error: page.rl_faults.append(str(error)))
    open_page(page, lab, PAGE)
    run_all(page)
    yield page
    context.close()


def panel(page):
    return page.locator(".jp-OutputArea-output", has=page.locator(".rl-run")).last


def record(page, mode: str, cycles: str) -> None:
    inside = panel(page)
    if not inside.get_by_role("button", name="Record a take").is_visible():
        inside.get_by_role("tab", name="Play along").click()
    inside.get_by_label("play", exact=True).select_option(mode)
    inside.get_by_label("for", exact=True).select_option(cycles)
    inside.get_by_role("button", name="Record a take").click()


def journal(lab) -> list[dict]:
    path = lab.folder / "journal.jsonl"
    return [json.loads(line) for line in path.read_text().splitlines()[1:]] if path.exists() else []


def test_a_left_hand_25_ms_late_is_told_in_words(opened, lab):
    """4 against 3 at 90 with the left hand planted 25 ms late: the first sentence says so, and it is kept.

    On a laptop the reader scrolls to nothing: strokes, finding and button stand there together.
    """
    opened.set_viewport_size({"width": 1280, "height": 720})
    field = panel(opened).get_by_role("textbox", name=re.compile("^bpm of the 3"))
    field.fill("90")
    field.press("Enter")
    panel(opened).locator(".rl-words").get_by_text("90 bpm").first.wait_for()
    settled(opened)
    cells = opened.locator(".jp-Notebook .jp-Cell").count()
    record(opened, "both pulses", "4")
    play(panel(opened).locator(".rl-stage"), strokes_of((4, 3), 2.0, 4, (0.0, 0.025)))
    first = panel(opened).locator(".rl-feedback p").first
    first.wait_for(timeout=20_000)
    said = first.inner_text()
    settled(opened)
    seen = opened.locator(".jp-WindowedPanel-outer").bounding_box()
    for what in (".rl-struck", ".rl-feedback", ".rl-next"):  # what was played, the finding and what to press
        box = panel(opened).locator(what).bounding_box()
        assert seen["y"] <= box["y"], what
        assert box["y"] + box["height"] <= seen["y"] + seen["height"] + 1, what
    shot(opened, "page-08-late-left-hand")

    found = re.match(
        r"The left hand, the 3, came (\d+) ms after the right hand on average, which is late", said
    )
    assert found, said
    assert 20 <= int(found[1]) <= 30
    assert (
        "Kept in journal.jsonl: take 1 of today, 4 against 3 at 90 bpm of the 3."
        in panel(opened).locator(".rl-feedback").inner_text()
    )
    (take,) = journal(lab)
    assert (take["pair"], take["bpm"], len(take["tap_times"])) == ([4, 3], "90", 28)
    assert opened.locator(".jp-Notebook .jp-Cell").count() == cells  # no letter reached the notebook


def test_a_busy_kernel_neither_stops_the_sound_nor_loses_the_take(opened, lab):
    """The kernel computes all through a take; no stroke is late, and the take arrives when it is free."""
    before = len(journal(lab))
    record(opened, "one pulse", "2")
    busy = lab.run_in_kernel("import time; t = time.time()\nwhile time.time() - t < 9: pass")
    play(panel(opened).locator(".rl-stage"), strokes_of((4,), 2.0, 2, (0.0,)))
    opened.wait_for_function(
        "() => ![...document.querySelectorAll('.rl-stage')].at(-1).rlEngine.playing()", timeout=20_000
    )
    report = panel(opened).locator(".rl-stage").evaluate("el => el.rlEngine.report()")
    until(lambda: len(journal(lab)) > before, why="a take in the journal")
    busy()

    assert (report["late"], report["dropped"]) == (0, 0)
    assert len(journal(lab)) == before + 1
    assert len(journal(lab)[-1]["tap_times"]) == 8


def test_a_kernel_restarted_during_a_take_loses_no_take(opened, lab):
    """The take ends without a kernel to hear it; it waits, and is in the journal after Run All."""
    before = len(journal(lab))
    record(opened, "one pulse", "2")
    stage = panel(opened).locator(".rl-stage")
    opened.wait_for_function("() => [...document.querySelectorAll('.rl-stage')].at(-1).rlEngine.playing()")
    api = f"http://127.0.0.1:{lab.port}/api/kernels"
    for kernel in opened.request.get(f"{api}?token={lab.token}").json():
        opened.request.post(f"{api}/{kernel['id']}/restart?token={lab.token}")
    play(stage, strokes_of((4,), 2.0, 2, (0.0,)))
    opened.wait_for_function(
        "() => ![...document.querySelectorAll('.rl-stage')].at(-1).rlEngine.playing()", timeout=20_000
    )
    opened.wait_for_function(  # a take of this moment may still be answered, an older one is sent again
        """() => Object.entries(localStorage).some(([key, kept]) =>
          key.startsWith("rhythmlab.take.") && Date.now() - new Date(JSON.parse(kept).when) > 5500)"""
    )
    run_all(opened)
    until(lambda: len(journal(lab)) > before, why="a take in the journal")

    assert len(journal(lab)) == before + 1
    assert len(journal(lab)[-1]["tap_times"]) == 8
    panel(opened).get_by_text("A take that had not been kept before").wait_for(timeout=10_000)


def test_tomorrow_finds_todays_work(opened, lab, page):
    """A fresh kernel and a fresh page: the journal says what was practised, and the ladder knows.

    Plan and journal are read in the drawer; on a phone the picture, which has its sentence, and the table of
    every take are moved by keys, each under its own edge.
    """
    end_sessions(opened, lab)
    open_page(page, lab, PAGE)
    run_all(page)
    last = page.get_by_text(re.compile("^Today: 4 against 3 at 90 bpm of the 3, hands")).first
    last.wait_for(timeout=20_000)
    page.get_by_text(
        re.compile("^4 against 3, hands, in bpm of the 3: Stand at 60 bpm")
    ).scroll_into_view_if_needed()
    page.get_by_role("tab", name="Plan").click()
    panel(page).get_by_role("tabpanel").get_by_text("The plan for 20 minutes").wait_for()
    shot(page, "page-08-tomorrow")
    page.evaluate("jupyterapp.shell.collapseLeft()")
    page.set_viewport_size({"width": 390, "height": 844})
    page.get_by_role("tab", name="Journal", exact=True).click()
    body = panel(page).get_by_role("tabpanel")
    picture = body.get_by_role("group", name="progress").get_by_role("img")
    assert "goal" in picture.get_attribute("aria-label")
    assert body.get_by_role("row").count() == 1 + len(journal(lab))
    for name in ("progress", "the last takes"):
        page.keyboard.press("Tab")
        wide = body.get_by_role("group", name=name)
        assert wide.evaluate("el => el === document.activeElement && el.scrollWidth > el.clientWidth")
        page.keyboard.press("ArrowRight")
        page.wait_for_function("document.activeElement.scrollLeft > 0")
    assert panel(page).evaluate("el => el.scrollWidth <= el.clientWidth")
    shot(page, "page-08-journal-390")


def test_no_fault_was_thrown_in_the_browser(opened):
    """Through all of the above no script on the page threw an error."""
    assert opened.rl_faults == []

"""Long work in a real notebook: a bar by itself, stopped by its button while the kernel is busy."""

import json
import re
from time import monotonic

import pytest
from pypdf import PdfReader

from tests.browser.bare import drawn
from tests.browser.jupyter import open_page, shot
from tests.waiting import until

_PACK = """import rhythmlab as rl
rl.classroom.handout_pack([f"{n + 1}:{n}" for n in range(2, 42)], "pack")"""
_SLOW = """from time import sleep
from rhythmlab.core.long_work import shown
kept = list(shown((sleep(0.3) or i for i in range(12)), 12, "Twelve steps", long=False))"""


@pytest.fixture
def page(one_lab):
    return one_lab


def write_page(lab, name, *cells):
    """Write a notebook of these cells into the reader's folder."""
    made = [
        {
            "cell_type": "code",
            "id": f"c{i}",
            "metadata": {},
            "source": one,
            "outputs": [],
            "execution_count": None,
        }
        for i, one in enumerate(cells)
    ]
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
    page = {"cells": made, "metadata": kernel, "nbformat": 4, "nbformat_minor": 5}
    (lab.folder / name).write_text(json.dumps(page))


def run_cell(page, number):
    page.locator(".jp-CodeCell").nth(number).locator(".cm-content").click()
    page.keyboard.press("Control+Enter")


def test_a_pack_of_handouts_is_stopped_by_its_button_while_the_kernel_works(lab, page):
    """By keyboard, within a step; what was finished is whole, the cell says how far, the kernel goes on."""
    write_page(lab, "pack.ipynb", _PACK, "print(6 * 7)")
    open_page(page, lab, "pack.ipynb")
    run_cell(page, 0)
    stop = page.get_by_role("button", name="Stop: A pack of 40 handouts")
    stop.wait_for(timeout=40_000)
    until(lambda: page.locator("progress").first.evaluate("one => one.value") >= 2, 60, "two handouts")
    box = stop.bounding_box()
    assert min(box["width"], box["height"]) >= 44
    shot(page, "progress-working")
    stop.focus()
    pressed = monotonic()
    page.keyboard.press("Enter")
    said = page.locator(".jp-OutputArea-output", has_text="Stopped at").first
    said.wait_for(timeout=30_000)
    print(f"stopped {monotonic() - pressed:.1f} s after the press")
    done, count = map(int, re.search(r"Stopped at (\d+) of (\d+)", said.text_content()).groups())
    assert 2 <= done < count == 40
    files = sorted((lab.folder / "pack").glob("*.pdf"))
    assert len(files) == done
    assert all(len(PdfReader(file).pages) >= 1 for file in files)
    assert page.locator("progress:visible").count() == 0
    assert page.locator(".jp-OutputArea-output", has_text="Traceback").count() == 0
    shot(page, "progress-stopped")
    run_cell(page, 1)
    page.locator(".jp-OutputArea-output", has_text="42").wait_for(timeout=10_000)


def test_a_pack_that_a_panel_makes_is_stopped_by_its_button(lab, page):
    """Its work runs beside the main thread of the kernel, which alone hears an interrupt; files are whole."""
    lines = [f"pair | pulses: {n + 1} {n} | bpm: 72\n" for n in range(2, 42)]
    (lab.folder / "long-list.txt").write_text("".join(lines))
    write_page(lab, "list.ipynb", 'import rhythmlab as rl\nrl.pages.set_list("long-list.txt")')
    open_page(page, lab, "list.ipynb")
    run_cell(page, 0)
    wall = page.locator(".rl-wall")
    wall.get_by_role("tab", name="Set list").click()
    pressed = wall.get_by_role("button", name="Handouts for all")
    pressed.evaluate("one => one.scrollIntoView({ block: 'end' })")  # there is no room under it
    pressed.click()
    stop = wall.get_by_role("button", name="Stop: A pack of 40 handouts")
    stop.wait_for(timeout=40_000)
    drawn(page)
    shot(page, "progress-panel")
    above, box = pressed.bounding_box(), stop.bounding_box()
    page_box = page.locator(".jp-WindowedPanel-outer").bounding_box()
    assert box["y"] + box["height"] <= page_box["y"] + page_box["height"]
    assert above["y"] >= page_box["y"]
    assert box["y"] - above["y"] - above["height"] < 30
    until(lambda: wall.locator("progress").evaluate("one => one.value") >= 2, 60, "two handouts")
    stop.click()
    said = wall.locator(".rl-note", has_text="Stopped at")
    said.wait_for(timeout=30_000)
    done = int(re.search(r"Stopped at (\d+) of 40", said.inner_text())[1])
    files = sorted(path for path in (lab.folder / "handouts").iterdir() if path.suffix != ".txt")
    assert 2 <= done < 40
    assert len(files) == done
    assert all(len(PdfReader(file).pages) >= 1 for file in files)


def test_work_that_ends_says_so_and_was_spoken_twice(lab, page):
    """At its beginning and at its end, and not in between; the button is gone."""
    write_page(lab, "slow.ipynb", _SLOW, "print(len(kept))")
    open_page(page, lab, "slow.ipynb")
    page.evaluate(
        """() => {
          window.rlSpoken = [];
          new MutationObserver(() => {
            const all = [...document.querySelectorAll(".rl-bar [role=status]")];
            const now = all.map((one) => one.textContent).join("");
            if (now && now !== rlSpoken.at(-1)) rlSpoken.push(now);
          }).observe(document.body, { subtree: true, childList: true, characterData: true });
        }"""
    )
    run_cell(page, 0)
    page.locator(".rl-bar", has_text="Twelve steps: done.").wait_for(timeout=30_000)
    assert page.evaluate("rlSpoken") == ["Twelve steps.", "Twelve steps: done."]
    assert page.get_by_role("button", name="Stop: Twelve steps").count() == 0
    run_cell(page, 1)
    page.locator(".jp-OutputArea-output", has_text="12").last.wait_for()

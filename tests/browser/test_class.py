"""A class in JupyterLab: a pupil's page answered rightly, wrongly and half; the teacher's page, whole."""

import csv
import re

import pytest

from rhythmlab.classroom.assignment import assignment
from tests.browser.jupyter import end_sessions, open_page, run_all, shot

SEAT = 7


def write_cell(page, begins, source):
    """Write a cell anew, found by what it begins with, and run it; return the cell."""
    cell = page.locator(".jp-CodeCell", has_text=begins).first
    cell.scroll_into_view_if_needed()
    cell.locator(".cm-content").click()
    page.keyboard.press("Control+A")
    page.keyboard.insert_text(source)
    page.keyboard.press("Shift+Enter")
    return page.locator(".jp-CodeCell", has_text=source).first


@pytest.fixture
def page(one_lab):
    return one_lab


def test_a_pupils_page_is_answered_rightly_wrongly_and_half(lab, page):
    """Untouched it asks for the seat; with a seat each reply has its own sentence, as often as one likes."""
    end_sessions(page, lab)
    open_page(page, lab, "assignments/grid-and-composite.ipynb")
    run_all(page)
    out = page.locator(".jp-OutputArea-output")
    out.get_by_text("type the number of your seat").first.wait_for(timeout=20_000)
    write_cell(
        page,
        "work = rl.classroom.assignment(",
        f'work = rl.classroom.assignment("grid-and-composite", seat={SEAT})',
    )
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.locator(".lm-Menu-itemLabel", has_text="Run All Cells").first.click()
    work = assignment("grid-and-composite", SEAT)
    out.get_by_text(work.question("grid-ticks").text).first.wait_for(timeout=20_000)
    shot(page, "class-asked")

    (ticks,) = work.question("grid-ticks").worked()
    reply = 'work.reply("grid-ticks"'
    cell = write_cell(page, reply, f'work.reply("grid-ticks", answer=[{ticks + 1}])')
    cell.get_by_text(f"you wrote {ticks + 1}, which is 1 tick too many").wait_for(timeout=10_000)
    cell = write_cell(page, reply, f'work.reply("grid-ticks", answer=[{ticks}])')
    cell.get_by_text("✓ Right.").wait_for(timeout=10_000)

    rows = work.question("grid-rows").worked()
    half = [rows[0], "x" + rows[1][1:][::-1]]
    half[1] = half[1] if half[1] != rows[1] else rows[1][:-1] + ("." if rows[1][-1] == "x" else "x")
    cell = write_cell(page, 'work.reply("grid-rows"', f'work.reply("grid-rows", answer={half})')
    cell.get_by_text("1 of 2 is right").wait_for(timeout=10_000)
    shot(page, "class-answered")


def test_the_teachers_page_marks_the_invented_class(lab, page):
    """From thirty returned pages to a table, a summary and feedback, in the reader's own folder."""
    end_sessions(page, lab)
    open_page(page, lab, "assignments/mark-a-class.ipynb")
    run_all(page)
    again = page.locator(".jp-OutputArea-output").get_by_text("The class should hear again").first
    again.wait_for(timeout=30_000)
    again.scroll_into_view_if_needed()
    shot(page, "class-marked")
    table = lab.folder / "demo-marks" / "marks.csv"
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
    assert {row["seat"] for row in rows} >= {str(seat) for seat in (1, 12, 30)}
    assert all(row["reason"] for row in rows)
    page.goto((lab.folder / "demo-marks" / "feedback" / "seat-001.html").as_uri())
    page.get_by_text(re.compile(r"^[0-9.]+ of [0-9]+ marks?\.$")).wait_for()
    shot(page, "class-feedback")

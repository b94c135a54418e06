"""Page 09 in JupyterLab: notes from both homes, dictation by ear, and a handout taken away."""

import re

import pytest
from playwright.sync_api import expect
from pypdf import PdfReader

from tests.browser.jupyter import end_sessions, open_page, run_all, settled, shot

#: What is said of a right answer.
_YES = re.compile("^Yes: ")


def type_into(panel, label, text):
    field = panel.get_by_role("textbox", name=label)
    field.fill("")
    field.press_sequentially(text, delay=20)


@pytest.fixture
def page(one_lab):
    return one_lab


#: How a field looks.
_LOOK = """(el) => {
  const look = getComputedStyle(el);
  const names = ["fontSize", "fontFamily", "color", "backgroundColor", "borderTopColor", "borderTopWidth",
    "borderRadius", "minHeight"];
  return names.map((name) => look[name]);
}"""


def test_page_09_writes_dictates_and_saves(lab, page):
    """Notes change with home and the pair; the dictation is named by ear; the file is a PDF, kept once.

    The field of the exercise looks as the fields of a card do, and says under itself what is off.
    """
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    end_sessions(page, lab)
    open_page(page, lab, "09-write-it-down.ipynb")
    run_all(page)
    panels = page.locator(".jp-OutputArea-output", has=page.locator(".rl-run"))
    written = panels.first
    written.locator("svg").first.wait_for(timeout=20_000)
    written.scroll_into_view_if_needed()
    words = written.locator(".rl-words")
    words.get_by_text("4 against 3 written from the 3").wait_for()
    exercise = page.get_by_placeholder("your answer, then Enter")
    assert exercise.evaluate(_LOOK) == written.locator(".rl-run select").evaluate(_LOOK)
    exercise.fill("1")
    exercise.press("Enter")
    page.locator(".rl-form [role=status]", has_text="You wrote").wait_for()
    written.get_by_role("button", name="7 against 4 at 72", exact=True).click()
    words.get_by_text("7 against 4 written from the 4").wait_for()
    shot(page, "page-09-4")
    written.get_by_role("button", name="Flip home to the 7").click()
    words.get_by_text("7 against 4 written from the 7").wait_for(timeout=5_000)
    shot(page, "page-09-7")
    type_into(written, "first pulse", "16")
    type_into(written, "second pulse", "15")
    words.get_by_text(re.compile("^16 against 15 written from")).wait_for(timeout=10_000)
    shot(page, "page-09-16-15")

    written.get_by_role("tab", name="Save").click()
    written.get_by_label("save as").select_option("handout (PDF)")
    cycles = written.get_by_label("cycles")
    for typed, wrong in (("many", 1), ("4", 0)):
        cycles.fill(typed)
        cycles.press("Tab")
        expect(written.locator('[aria-invalid="true"]')).to_have_count(wrong)
    written.get_by_role("button", name="Save", exact=True).click()
    written.get_by_text("Saved as 16-against-15-handout.pdf").wait_for(timeout=20_000)
    link = written.get_by_role("link", name="16-against-15-handout.pdf")  # a name alone is no link
    assert page.request.get(link.evaluate("el => el.href")).body().startswith(b"%PDF")
    file = lab.folder / "16-against-15-handout.pdf"
    assert len(PdfReader(file).pages) <= 2
    before = file.read_bytes()
    written.get_by_role("button", name="Save", exact=True).click()
    written.get_by_text("is there already").wait_for(timeout=20_000)
    assert file.read_bytes() == before
    shot(page, "page-09-saved")

    dictation = panels.last
    dictation.scroll_into_view_if_needed()
    dictation.get_by_role("button", name="Start").click()
    dictation.get_by_text("cycle 1").wait_for()
    page.keyboard.press("Escape")
    type_into(dictation, "I heard", "99 98")
    page.keyboard.press("Enter")
    dictation.get_by_text("Neither yet").wait_for()
    refused, yes = dictation.get_by_text("'zz' is not two numbers"), dictation.get_by_text(_YES)
    for heard in ("3 2", "2 3", "4 3", "3 4"):  # all pairs of the first level
        type_into(dictation, "I heard", "zz")
        page.keyboard.press("Enter")
        refused.wait_for()
        type_into(dictation, "I heard", heard)
        page.keyboard.press("Enter")
        refused.wait_for(state="hidden")  # gone once the answer is judged, maybe in the same words as before
        settled(page)
        if yes.count():
            break
    yes.wait_for()
    dictation.locator("svg").first.wait_for()
    shot(page, "page-09-dictation")
    assert faults == []

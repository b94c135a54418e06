"""Pages 05 to 07 in JupyterLab, worked through as a learner would, and looked at."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.jupyter import end_sessions, open_page, run_all, settled, shot


@pytest.fixture
def page(one_lab):
    return one_lab


@pytest.fixture
def opened(lab, page):
    """Give a function that opens a page on a fresh kernel, runs it, tries a button, and returns panels."""
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))

    def run(name, first=""):
        end_sessions(page, lab)
        open_page(page, lab, name)
        run_all(page)
        panels = page.locator(".jp-OutputArea-output", has=page.locator(".rl-run"))
        panels.last.locator("svg text").first.wait_for(timeout=20_000)
        if first:
            panels.first.get_by_role("button", name=first, exact=True).click()
            settled(page)
        return panels

    yield run
    assert faults == []


def type_into(panel, label, text):
    field = panel.get_by_role("textbox", name=label)
    field.fill("")
    field.press_sequentially(text, delay=20)


def test_page_05_advises_by_tempo_with_numbers_that_arithmetic_gives(opened, page):
    """7:4 at 72, 40 and 140, then 16:15 at 60 and 100: another way each time, for reasons that are said."""
    panel = opened("05-choose-how-to-learn-it.ipynb", "7 against 4 at 72").first
    words = panel.locator(".rl-words")
    panel.scroll_into_view_if_needed()
    words.get_by_text("Learn the line: start at 54 bpm of the 4; the goal is 72.").wait_for()

    def figures(said):
        """Open the fold, where it is shut, and find a figure in it."""
        fold = panel.locator("details:not([open]) > summary", has_text="Why, and the figures")
        panel.locator("details", has_text=said).wait_for(timeout=5_000)
        if fold.count():
            fold.click()
        panel.locator("details[open] p", has_text=said).first.wait_for(timeout=5_000)

    figures(f"only up to {360 // 7} bpm of the 4")
    figures(f"only from {-(-400 // 3)} bpm of the 4")
    shot(page, "page-05-72")
    for bpm, said, figure in (
        ("40", "Count from the 4: start at 30 bpm", "a beat has 7 parts"),
        ("140", "Hold the ones: start at 134 bpm", "1.7 seconds from one to one"),
    ):
        type_into(panel, re.compile("^bpm of the 4"), bpm)
        words.get_by_text(said).first.wait_for(timeout=5_000)
        figures(figure)
    type_into(panel, "first pulse", "16")
    type_into(panel, "second pulse", "15")
    for bpm, said in (("60", "no flam below 94 bpm"), ("100", "it flams where it meets")):
        type_into(panel, re.compile("^bpm of the 15"), bpm)
        words.get_by_text(f"Follow the drift: start at {int(bpm) * 3 // 4} bpm").first.wait_for(timeout=5_000)
        figures(said)
    shot(page, "page-05-16-15")
    lines = panel.locator(".rl-picture svg").first
    before = lines.get_attribute("viewBox")  # a button that moves as it is pressed is not pressed
    panel.get_by_label("view").select_option("heard line")
    expect(lines).not_to_have_attribute("viewBox", before)
    panel.get_by_role("button", name="Start").click()
    panel.get_by_text("cycle 1").wait_for()
    page.keyboard.press("Escape")


def test_the_figures_of_page_05_stay_open_or_shut_and_keep_the_focus_whatever_is_changed(opened, page):
    """Tempo, home and numbers change them, and the fold is as the reader left it, with the same focus."""
    panel = opened("05-choose-how-to-learn-it.ipynb", "7 against 4 at 72").first
    fold = panel.locator("details", has_text="Why, and the figures")
    summary, bpm = fold.locator("summary"), panel.get_by_role("textbox", name=re.compile("^bpm of the"))
    first, second = (panel.get_by_role("textbox", name=name) for name in ("first pulse", "second pulse"))
    changes = [
        *((first, "16"), (second, "15"), (bpm, "75"), (bpm, "90")),
        *((second, "4"), (first, "7"), (bpm, "72")),
    ]

    def other_than(before):
        page.wait_for_function(
            "([el, before]) => el.querySelector('div').innerHTML !== before",
            arg=[fold.element_handle(), before],
            timeout=5_000,
        )

    assert fold.evaluate("el => el.open") is False
    for opened_now in (True, False):
        summary.focus()
        page.keyboard.press("Enter")
        assert fold.evaluate("el => el.open") is opened_now
        for field, typed in changes:
            before = fold.locator("div").inner_html()
            field.evaluate(  # as typed, while the focus is elsewhere
                "(el, typed) => { el.value = typed; el.dispatchEvent(new Event('input', {bubbles: true})); }",
                typed,
            )
            other_than(before)
            assert fold.evaluate("el => el.open") is opened_now
            assert summary.evaluate("el => el === document.activeElement")
        for home in ("the 7", "the 4"):
            before = fold.locator("div").inner_html()
            panel.get_by_role("button", name=f"Flip home to {home}").evaluate("el => el.click()")
            other_than(before)
            assert fold.evaluate("el => el.open") is opened_now


def test_page_06_phrases_sticks_and_judges(opened, page):
    """31 as seven fours and a three with paradiddles; a typed paradiddle passes, one hand alone does not."""
    panel = opened("06-phrase-and-stick-large-numbers.ipynb", "number 31").last
    words = panel.locator(".rl-words")
    words.get_by_text("31 as seven fours and a three.").wait_for()
    words.get_by_text("Hands: RLRR LRLL").wait_for()
    panel.scroll_into_view_if_needed()
    shot(page, "page-06-31")
    type_into(panel, "bpm of a quarter", "120")
    type_into(panel, "number", "8")
    type_into(panel, "my sticking", "RLRRLRLL")
    words.get_by_text("passes at 120 bpm, 125 ms apart").wait_for(timeout=5_000)
    type_into(panel, "my sticking", "RRRRRRRR")
    words.get_by_text("stroke after stroke in one hand needs 167 ms").wait_for(timeout=5_000)
    type_into(panel, "number", "1")
    panel.locator(".rl-refused").get_by_text("1").first.wait_for(timeout=5_000)
    type_into(panel, "number", "13")
    words.get_by_text("13 as 4 4 5").wait_for(timeout=5_000)
    panel.get_by_role("button", name="Start").click()
    panel.get_by_text(re.compile("group 2")).first.wait_for()
    page.keyboard.press("Escape")


def test_page_07_lands_moves_and_keeps(opened, page):
    """Three bars of time and one of 7:4; an accent every five in 7/8 home after five bars; feet and hands."""
    panels = opened("07-put-it-in-a-groove.ipynb", "every 5 in 2+2+3/8")
    assert panels.count() == 3
    moving, fill, feet = (panels.nth(i) for i in range(3))
    fill.locator(".rl-words").get_by_text("the right hand lands on 1 as the bars come round").wait_for()
    moving.locator(".rl-words").get_by_text("comes home after 5 bars: 35 eighths, 7 accents").wait_for()
    feet.locator(".rl-words").get_by_text("Right foot and right hand meet").wait_for()
    for name, panel in (("fill", fill), ("accent", moving), ("feet", feet)):
        panel.scroll_into_view_if_needed()
        panel.get_by_role("button", name="Start").click()
        panel.get_by_text("cycle 1").wait_for()
        shot(page, f"page-07-{name}")
    report = feet.locator(".rl-stage").evaluate("el => el.rlEngine.report()")
    page.keyboard.press("Escape")
    assert (report["late"], report["dropped"]) == (0, 0)
    type_into(feet, "feet", "son clave")
    feet.locator(".rl-words").get_by_text("Feet with son clave against hands").wait_for(timeout=5_000)
    heard = feet.get_by_role("img").first.get_attribute("aria-label")
    type_into(feet, "hands", "4 3")
    feet.locator(".rl-words").get_by_text("hands with 7 as 4 3").first.wait_for(timeout=5_000)
    feet.get_by_role("textbox", name="hands", exact=True).press_sequentially(" q", delay=20)
    feet.locator(".rl-refused").get_by_text("4 3 q").first.wait_for(timeout=5_000)
    settled(page)
    assert feet.get_by_role("img").first.get_attribute("aria-label") == heard
    type_into(feet, "hands", "x.y")
    feet.locator(".rl-refused").get_by_text("x.y").first.wait_for(timeout=5_000)
    shot(page, "page-07-refused")

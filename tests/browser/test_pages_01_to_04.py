"""Pages 01 to 04 in JupyterLab: run, tried as their text says, and looked at."""

import math
import re
from fractions import Fraction

import pytest
from playwright.sync_api import expect

from tests.browser.jupyter import end_sessions, open_page, run_all, settled, shot


@pytest.fixture
def page(one_lab):
    return one_lab


@pytest.fixture
def opened(lab, page):
    """Give a function that opens a page on a fresh kernel, runs it, tries a button, and returns its panel."""
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))

    def run(name, first=""):
        end_sessions(page, lab)
        open_page(page, lab, name)
        run_all(page)
        panel = page.locator(".jp-OutputArea-output", has=page.locator(".rl-run")).last
        panel.locator("[data-tick]").first.wait_for(timeout=20_000)
        panel.scroll_into_view_if_needed()
        if first:
            panel.get_by_role("group", name="try").get_by_role("button", name=first, exact=True).click()
            settled(page)
        return panel

    yield run
    assert faults == []


def type_into(panel, label, text):
    field = panel.get_by_label(label)
    field.fill("")
    field.press_sequentially(text, delay=20)


def words(panel):
    return panel.locator(".rl-words")


def test_page_01_finds_the_grid_of_two_and_of_three_pulses(opened, page):
    """6 against 4 needs 12 ticks and says that it is 3 against 2 twice; 3, 4 and 5 need their product."""
    panel = opened("01-find-the-shared-grid.ipynb")
    type_into(panel, "first pulse", "6")
    type_into(panel, "second pulse", "4")
    words(panel).get_by_text(f"The grid has {6 * 4 // math.gcd(6, 4)} ticks").wait_for(timeout=5_000)
    words(panel).get_by_text("so they meet twice in a cycle, every 6 ticks").wait_for()
    words(panel).get_by_text("This is 3 against 2, twice in a cycle, and nothing more").wait_for()

    panel.get_by_role("button", name="add a pulse").click()
    for label, pulse in (("first pulse", "3"), ("second pulse", "4"), ("third pulse", "5")):
        type_into(panel, label, pulse)

    words(panel).get_by_text("The grid has 60 ticks").wait_for(timeout=5_000)
    assert [panel.locator(f"[data-lane='{lane}']").count() for lane in range(3)] == [3, 4, 5]
    shot(page, "page-01-three-pulses")


def test_page_02_reads_the_line(opened, page):
    """5 against 4 reads 4 1 3 2 2 3 1 4 (Schillinger 1946, p. 490, as transcribed elsewhere)."""
    panel = opened("02-merge-two-pulses.ipynb")
    shot(page, "page-02")
    type_into(panel, "first pulse", "5")
    type_into(panel, "second pulse", "4")

    words(panel).get_by_text("4 1 3 2 2 3 1 4").wait_for(timeout=5_000)
    words(panel).get_by_text("5 + 4 strokes less 1 shared make 8 sounds").wait_for()


def test_page_03_flips_and_shows_every_home(opened, page):
    """Flipping 4 against 3 counts the 4 in sixteenths, then the 3 in triplets; every home shows both."""
    panel = opened("03-choose-the-home-pulse.ipynb")
    shot(page, "page-03")
    type_into(panel, "first pulse", "4")
    type_into(panel, "second pulse", "3")
    words(panel).get_by_text("the 4 falls on 1, a of 1, & of 2, e of 3").wait_for(timeout=5_000)

    panel.get_by_role("button", name="Flip home to the 4").click()

    words(panel).get_by_text("the 3 falls on 1, trip of 2, let of 3").wait_for()
    strokes = panel.locator("[data-tick]").count()
    panel.get_by_label("view").select_option("every home")
    page.wait_for_function(
        "count => document.querySelectorAll('.rl-picture [data-tick]').length === count", arg=2 * strokes
    )
    shot(page, "page-03-every-home")


def test_page_04_opens_at_a_tempo_that_flams_and_says_where_it_does_not(opened, page):
    """At 100 bpm 16 against 15 flams; at 60 its first gap is 62.5 ms and it flams only from 94 bpm."""
    panel = opened("04-follow-the-gap-cycle.ipynb", "16 against 15")
    words(panel).get_by_text("1 flam before").wait_for()
    assert panel.locator("[data-lane='0']").count() == 16
    assert panel.locator("[data-lane='1']").count() == 15
    shot(page, "page-04")

    type_into(panel, re.compile("^bpm of the"), "60")

    first_gap_ms = Fraction(60_000, 60 * 16)
    flams_from = math.ceil(Fraction(60_000, 40 * 16))
    text = f"the narrowest gap is {float(first_gap_ms):g} ms, and it flams only from {flams_from} bpm"
    words(panel).get_by_text(text).wait_for(timeout=5_000)
    type_into(panel, "first pulse", "16")
    type_into(panel, "second pulse", "11")
    words(panel).get_by_text("Around 3 against 2").wait_for(timeout=5_000)
    shot(page, "page-04-16-11")


def test_page_04_slows_its_middle_by_one_button_and_shows_what_is_opened(opened, page):
    """Loop and speed stand as it says, and another button ends both; what is opened comes into view."""
    panel = opened("04-follow-the-gap-cycle.ipynb", "32 against 31, its middle at 70 percent")
    page.evaluate("document.querySelector('.jp-WindowedPanel-outer').scrollTop = 0")
    panel.get_by_role("tab", name="Practise").evaluate("tab => tab.click()")
    expect(panel.get_by_role("tabpanel", name="Practise")).to_be_in_viewport(ratio=0.98)
    loop, speed = (panel.get_by_label(name, exact=True) for name in ("loop", "speed"))
    expect(loop.locator("option:checked")).to_have_text("round the stroke exactly midway")
    expect(speed.locator("option:checked")).to_have_text("70 percent")
    panel.get_by_role("button", name="Start", exact=True).press("Enter")
    engine = "[...document.querySelectorAll('.rl-stage')].at(-1).rlEngine"
    page.wait_for_function(f"{engine}.now() && {engine}.now().pos > 0")
    assert page.evaluate(f"(now => now.tick >= 448 && now.tick < 544)({engine}.now())")
    panel.get_by_role("button", name="16 against 15", exact=True).press("Enter")
    expect(loop.locator("option:checked")).to_have_text("whole cycle")
    expect(speed.locator("option:checked")).to_have_text("as written")


def test_a_dark_theme_keeps_the_picture_readable(opened, page):
    """In JupyterLab's dark theme ink is light and paper is dark."""
    panel = opened("03-choose-the-home-pulse.ipynb")
    page.get_by_role("menuitem", name="Settings", exact=True).click()
    page.locator(".lm-Menu-itemLabel", has_text="Theme").first.hover()
    page.locator(".lm-Menu-itemLabel", has_text=re.compile("^JupyterLab Dark$")).click()
    page.wait_for_function("() => document.body.dataset.jpThemeLight === 'false'")
    page.wait_for_selector("#jupyterlab-splash", state="detached", timeout=20_000)
    colours = panel.locator(".rl-stage").evaluate(
        "stage => [getComputedStyle(stage).color, getComputedStyle(stage).backgroundColor]"
    )
    shot(page, "page-03-dark")
    page.evaluate("jupyterapp.commands.execute('apputils:change-theme', { theme: 'JupyterLab Light' })")
    page.wait_for_function("() => document.body.dataset.jpThemeLight === 'true'")
    ink, paper = ([int(n) for n in re.findall(r"\d+", colour)[:3]] for colour in colours)

    assert min(ink) > 200
    assert max(paper) < 60


def test_page_03_is_flipped_by_ear(opened, page):
    """All voices alike, home flips by itself every two cycles while it sounds, and Python follows."""
    panel = opened("03-choose-the-home-pulse.ipynb", "7 against 4 at 72")
    type_into(panel, re.compile("^bpm of the"), "240")
    words(panel).get_by_text("240 bpm of the 4").first.wait_for(timeout=5_000)
    panel.get_by_role("tab", name="Sound").click()
    panel.get_by_label("voices").select_option("equal")
    panel.get_by_role("tab", name="Practise").click()
    panel.get_by_label("flip home", exact=True).select_option("2")
    panel.get_by_role("button", name="Start").click()

    panel.get_by_role("button", name="Flip home to the 4").wait_for(timeout=5_000)
    words(panel).get_by_text("Counted from the 7, the 4 falls on 1, a of 2").wait_for(timeout=5_000)
    panel.get_by_role("textbox", name="bpm of the 7").wait_for(timeout=5_000)
    shot(page, "page-03-by-ear")
    panel.get_by_role("button", name="Flip home to the 7").wait_for(timeout=5_000)
    page.keyboard.press("Escape")
    report = panel.locator(".rl-stage").evaluate("el => el.rlEngine.report()")
    assert (report["late"], report["dropped"]) == (0, 0)


def test_page_04_is_looped_round_its_even_middle(opened, page):
    """16 against 15: the loop takes three beats round the & of 8, and the playhead stays among them."""
    panel = opened("04-follow-the-gap-cycle.ipynb", "16 against 15")
    panel.get_by_role("tab", name="Practise").click()
    panel.get_by_label("loop", exact=True).select_option(label="round the stroke exactly midway")
    panel.get_by_label("speed").select_option("70")
    panel.get_by_role("button", name="Start").click()
    page.wait_for_function(
        "() => /round 2/.test([...document.querySelectorAll('.rl-now')].at(-1).textContent)"
    )
    stage = panel.locator(".rl-stage")
    now = stage.evaluate("el => el.rlEngine.now()")
    stage.scroll_into_view_if_needed()
    shot(page, "page-04-looped")
    page.keyboard.press("Escape")

    # home beats 7, 8 and 9 of the 15; the stroke on the & of 8 is at tick 7.5 x 16 = 120, in the middle
    assert (now["slice"]["start"], now["slice"]["stop"]) == (6 * 16, 9 * 16)
    assert 6 * 16 <= now["tick"] < 9 * 16
    assert abs(now["speed"] - 0.7) < 1e-9


def test_page_02_goes_silent_and_comes_back(opened, page):
    """Drop-out: after one sounding cycle two are silent, and the playhead hides with them."""
    panel = opened("02-merge-two-pulses.ipynb")
    type_into(panel, re.compile("^bpm of the"), "200")
    panel.get_by_role("tab", name="Practise").click()
    panel.get_by_label("drop-out").select_option("2")
    panel.get_by_label("after").select_option("1")
    panel.get_by_role("button", name="Start").click()
    panel.get_by_text("silent, keep going").wait_for(timeout=8_000)
    assert panel.locator(".rl-playhead").is_hidden()
    panel.get_by_text("cycle 4").wait_for(timeout=8_000)
    page.keyboard.press("Escape")

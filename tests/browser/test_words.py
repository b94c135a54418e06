"""Words to say, as a reader meets them: a sentence of one's own on page 02, mirrored hands on page 00."""

import pytest

from tests.browser.jupyter import open_page, run_all, shot


@pytest.fixture
def page(one_lab):
    return one_lab


def test_a_sentence_typed_on_page_02_is_drawn_and_told(page, lab):
    """A fit is drawn under the count; one syllable too few is said beside the field."""
    open_page(page, lab, "02-merge-two-pulses.ipynb")
    run_all(page)
    panel = page.locator(".jp-OutputArea-output", has=page.locator(".rl-run")).last
    panel.get_by_role("button", name="4 against 3", exact=True).click()
    field = panel.get_by_label("sentence")
    field.fill("*boats on the *tide are *home")
    field.press("Enter")
    panel.get_by_text("BOATS on the TIDE are HOME.").wait_for()
    panel.locator("svg text", has_text="BOATS").first.wait_for()
    shot(page, "02-sentence")
    field.fill("<b>boats</b>")
    field.press("Enter")
    panel.get_by_text("1 syllable for the 6 sounds of 4 against 3").wait_for()
    assert panel.locator("svg b").count() == 0
    shot(page, "02-sentence-refused")


def test_the_switch_on_page_00_mirrors_the_words_at_once(page, lab):
    """Words, rows and the line of where it is kept follow the box; unchecked, all is as before."""
    open_page(page, lab, "00-make-two-numbers-one-rhythm.ipynb")
    run_all(page)
    page.get_by_role("button", name="3 against 2").click()
    page.get_by_text("clap it: together, right, left, right.").wait_for()
    shot(page, "00-right")
    page.get_by_role("tab", name="Left-handed").click()
    box = page.get_by_label("left-handed: mirror all hands")
    box.check()
    page.get_by_text("clap it: together, left, right, left.").wait_for()
    page.get_by_text("It is remembered for the next time").wait_for()
    shot(page, "00-left")
    box.uncheck()
    page.get_by_text("clap it: together, right, left, right.").wait_for()

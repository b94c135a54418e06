"""A panel answers at once, also while its kernel is busy; and ends with what Python says."""

import pytest

from rhythmlab.core.feel import Feel
from rhythmlab.core.gaps import phase_gaps
from rhythmlab.core.tempo import Tempo
from rhythmlab.draw.gap_cycle import gap_cycle
from rhythmlab.draw.pictures import strip
from rhythmlab.playing.hearing import zones
from rhythmlab.text import counts, descriptions
from tests.browser.jupyter import BUSY, end_sessions, open_page, run_all, shot
from tests.waiting import until

#: Keeps the text alternative of every picture that is shown from here on.
RECORD = """el => {
  window.labels = [];
  const keep = () => window.labels.push(el.querySelector("[role=img]").getAttribute("aria-label"));
  new MutationObserver(keep).observe(el, { childList: true });
}"""


@pytest.fixture
def page(one_lab):
    return one_lab


def test_a_busy_kernel_is_not_waited_for_and_has_the_last_word(lab, page):
    """While the kernel is held numbers, home, tempo and view are followed; then all is as Python says."""
    end_sessions(page, lab)
    open_page(page, lab, "00-make-two-numbers-one-rhythm.ipynb")
    run_all(page)
    panel = page.locator(".jp-OutputArea-output", has=page.locator(".rl-run")).last
    panel.locator(".rl-picture [data-tick]").first.wait_for(timeout=20_000)
    panel.scroll_into_view_if_needed()
    busy = lab.folder / "busy"
    let_go = lab.run_in_kernel(BUSY.format(path=str(busy)))
    until(busy.exists, 10, "the kernel to be busy")
    panel.locator(".rl-picture").evaluate(RECORD)

    for number in ("5", "9", "11", "x", "13"):
        panel.get_by_label("first pulse").fill(number)
    panel.get_by_label("second pulse").fill("6")
    panel.get_by_role("button", name="Flip home to the 13").click()
    panel.get_by_label("bpm of the 13", exact=True).fill("65")

    view = panel.locator(".rl-run select").first
    view.select_option("gap cycle")
    feel, tempo = Feel((13, 6), 0), Tempo(65, pulse=0)
    tide = gap_cycle(zones(phase_gaps(feel.polyrhythm, 1, 0), tempo)).alt
    label, facts = strip(feel.cycle()).alt, descriptions.facts(feel.polyrhythm, tempo)
    assert page.evaluate("window.labels")[-1] == tide
    view.select_option("heard line")
    seen = page.evaluate("window.labels")
    assert busy.exists()
    assert seen[-1] == label
    assert panel.locator(".rl-facts").text_content() == facts
    panel.locator(".rl-words").get_by_text(counts.count(feel)).wait_for(timeout=3_000)
    assert panel.locator(".rl-refused").all_text_contents() == [""] * panel.locator(".rl-refused").count()
    panel.get_by_role("button", name="Start", exact=True).click()
    panel.locator(".rl-picture .rl-passing").first.wait_for(timeout=5_000)
    shot(page, "at-once-busy")

    busy.unlink()
    let_go()
    panel.locator(".rl-words").get_by_text("Home is the 13 at 65 bpm").wait_for(timeout=10_000)
    later = page.evaluate("window.labels")[len(seen) :]
    assert set(later) <= {label}
    assert panel.get_by_label("bpm of the 13", exact=True).input_value() == "65"

"""How long a changed number takes to become a changed picture, in JupyterLab in Chromium."""

import statistics
import time
from pathlib import Path

import pytest

from tests.browser.jupyter import end_sessions, open_page, run_all

PAGES = sorted(path.name for path in (Path(__file__).parents[2] / "notebooks").glob("0*.ipynb"))
CHANGES = 50
MEASURE = """async changes => {
    const stage = [...document.querySelectorAll('.rl-stage')].at(-1);
    const panel = stage.closest('.jp-OutputArea-output');
    const field = [...panel.querySelectorAll('input')].find(i => i.labels[0]?.innerText === 'first pulse');
    const figure = stage.querySelector('.rl-picture');
    const times = [];
    for (let i = 0; i < changes; i++) {
        const changed = new Promise(done => {
            const seen = () => { watch.disconnect(); requestAnimationFrame(() => done()); };
            const watch = new MutationObserver(seen);
            watch.observe(figure, { childList: true, subtree: true });
        });
        field.value = String(5 + 2 * (i % 6));
        const start = performance.now();
        field.dispatchEvent(new Event('input', { bubbles: true }));
        await changed;
        times.push(performance.now() - start);
        await new Promise(done => setTimeout(done, 100 + 7 * (i % 9)));
    }
    return times;
}"""


def test_a_changed_number_is_a_changed_picture_within_100_ms(lab, page):
    """Of 50 changed pulses on page 00, 95 in 100 are seen within 100 ms, to the frame after the change."""
    open_page(page, lab, PAGES[0])
    run_all(page)
    page.evaluate(MEASURE, 5)

    times = sorted(page.evaluate(MEASURE, CHANGES))

    p95 = statistics.quantiles(times, n=20)[-1]
    print(f"\nnumber changed -> picture changed: p50 {statistics.median(times):.0f} ms, p95 {p95:.0f} ms")
    assert p95 <= 100


@pytest.mark.parametrize("name", PAGES)
def test_a_page_runs_top_to_bottom_in_ten_seconds(lab, page, name):
    """Run All on a fresh kernel is done within 10 s."""
    end_sessions(page, lab)
    open_page(page, lab, name)
    start = time.perf_counter()

    run_all(page)

    took = time.perf_counter() - start
    print(f"\n{name}: {took:.1f} s")
    assert took < 10

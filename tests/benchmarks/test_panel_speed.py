"""How long a changed number takes to become a changed picture, in JupyterLab in Chromium."""

import statistics
import time
from pathlib import Path

import pytest

from tests.browser.jupyter import end_sessions, open_page, run_all

PAGES = sorted(path.name for path in (Path(__file__).parents[2] / "notebooks").glob("0*.ipynb"))
CHANGES = 50
#: A page, which of its panels, a field in it, and what is typed there over and over.
FIELDS = {
    "00": (-1, "first pulse", [5, 7, 9, 11, 13, 15]),
    "05": (0, "first pulse", [5, 7, 9, 11, 13, 15]),
    "06": (0, "number", [23, 64, 47, 15, 100, 31]),
    "09": (0, "first pulse", [5, 7, 9, 11, 6, 3]),
    "07 fill": (0, "hands", [5, 7, 9, 3, 6, 11]),
    "07 accent": (1, "accent every", [3, 4, 5, 6, 9, 11]),
    "07 feet": (2, "hands", ["x..", "x.x.xx", "x.xxx", "xx.x", "x.x.x.x", "x..x.xx.x"]),
}
#: ms that 95 in 100 changes keep to; page 09 engraves its notes from two homes at every change.
LIMIT, ENGRAVED = 100, 250
MEASURE = """async ([which, name, values, changes]) => {
    const stages = [...document.querySelectorAll('.rl-stage')];
    const stage = stages.at(which);
    const panel = stage.closest('.jp-OutputArea-output');
    const field = [...panel.querySelectorAll('input')].find(i => i.labels[0]?.textContent === name);
    stage.scrollIntoView();
    const figure = stage.querySelector('.rl-picture');
    const times = [];
    for (let i = 0; i < changes; i++) {
        const changed = new Promise((done, failed) => {
            setTimeout(() => failed(new Error(`no picture after ${values[i % values.length]}`)), 5000);
            const seen = () => { watch.disconnect(); requestAnimationFrame(() => done()); };
            const watch = new MutationObserver(seen);
            watch.observe(figure, { childList: true, subtree: true });
        });
        field.value = String(values[i % values.length]);
        const start = performance.now();
        field.dispatchEvent(new Event('input', { bubbles: true }));
        await changed;
        times.push(performance.now() - start);
        await new Promise(done => setTimeout(done, 100 + 7 * (i % 9)));
    }
    return times;
}"""


@pytest.mark.parametrize("what", FIELDS)
def test_a_changed_number_is_a_changed_picture_within_100_ms(lab, page, what):
    """Of 50 changes in a field, 95 in 100 are seen within 100 ms (notes: 250), to the frame after."""
    end_sessions(page, lab)
    open_page(page, lab, next(name for name in PAGES if name.startswith(what[:2])))
    run_all(page)
    page.evaluate(MEASURE, [*FIELDS[what], len(FIELDS[what][2])])

    times = sorted(page.evaluate(MEASURE, [*FIELDS[what], CHANGES]))

    p95 = statistics.quantiles(times, n=20)[-1]
    print(
        f"\n{what}: field changed -> picture changed: p50 {statistics.median(times):.0f} ms, p95 {p95:.0f} ms"
    )
    assert p95 <= (ENGRAVED if what == "09" else LIMIT)


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

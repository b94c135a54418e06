"""How long a changed number takes to become a changed picture, in JupyterLab in Chromium."""

import contextlib
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.browser.jupyter import BUSY, end_sessions, open_page, run_all
from tests.waiting import until

PAGES = sorted(path.name for path in (Path(__file__).parents[2] / "notebooks").glob("0*.ipynb"))
CHANGES = 50
#: A page, which of its panels, a field in it, and what is typed there over and over; the first is news.
FIELDS = {
    "00": (-1, "first pulse", [7, 9, 11, 13, 15, 5]),
    "05": (0, "first pulse", [7, 9, 11, 13, 15, 5]),
    "06": (0, "number", [64, 47, 15, 100, 31, 23]),
    "09": (0, "first pulse", [5, 7, 9, 11, 6, 3]),
    "07 fill": (1, "hands", [5, 7, 9, 3, 6, 11]),
    "07 accent": (0, "accent every", [4, 5, 6, 9, 11, 3]),
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


#: What the browser follows by itself: a page, what is changed on it, and to what in turn; the first is news.
AT_ONCE = [
    *((page, "first pulse", [9, 11, 13, 16, 10, 5]) for page in ("00", "02", "03", "04")),
    *((page, "home", [0, 1]) for page in ("00", "01", "02", "03", "04")),
    *((page, "view", ["gap cycle", "heard line"]) for page in ("00", "01", "02", "03")),
    ("04", "view", ["heard line", "gap cycle"]),
    *((page, "bpm", [60, 66, 71, 80]) for page in ("00", "01", "02", "03", "04")),
]
#: ms that 95 in 100 of them keep to, whatever the kernel does, to the frame after.
AT_ONCE_LIMIT = 40
MEASURE_AT_ONCE = """async ([what, values, changes]) => {
    const stage = [...document.querySelectorAll('.rl-stage')].at(-1);
    stage.scrollIntoView();
    const named = (name) => [...stage.querySelectorAll('.rl-head input, .rl-run input, .rl-run select')]
        .find((one) => one.labels[0]?.textContent.startsWith(name));
    const change = (value) => {
        if (what === 'home') return [...stage.querySelectorAll('.rl-homes button')][value].click();
        const field = named(what);
        if (what === 'view') field.selectedIndex = [...field.options].findIndex((one) => one.text === value);
        else field.value = String(value);
        field.dispatchEvent(new Event(what === 'view' ? 'change' : 'input', { bubbles: true }));
    };
    const shown = what === 'bpm' ? '.rl-facts' : '.rl-picture';
    const times = [];
    for (let i = 0; i < changes; i++) {
        const changed = new Promise((done, failed) => {
            setTimeout(() => failed(new Error(`nothing new after ${values[i % values.length]}`)), 5000);
            const watch = new MutationObserver(() => {
                watch.disconnect();
                requestAnimationFrame(() => done());
            });
            watch.observe(stage.querySelector(shown), { childList: true, subtree: true });
        });
        const start = performance.now();
        change(values[i % values.length]);
        await changed;
        times.push(performance.now() - start);
        await new Promise((done) => setTimeout(done, 100 + 7 * (i % 9)));
    }
    return times;
}"""


def changed_at_once(page, page_number, beside):
    """Make 50 changes of each kind on a page that is open; return the p95 of each kind in ms."""
    slowest = {}
    for _, what, values in (one for one in AT_ONCE if one[0] == page_number):
        page.evaluate(MEASURE_AT_ONCE, [what, values, len(values)])
        times = page.evaluate(MEASURE_AT_ONCE, [what, values, CHANGES])
        slowest[what] = statistics.quantiles(times, n=20)[-1]
        middle = statistics.median(times)
        print(f"\n{page_number}, {what}, {beside}: p50 {middle:.0f} ms, p95 {slowest[what]:.0f} ms")
    return slowest


@pytest.mark.parametrize("page_number", ["00", "01", "02", "03", "04"])
@pytest.mark.parametrize("kernel", ["idle", "busy"])
def test_what_is_typed_is_shown_at_once_whatever_the_kernel_does(lab, page, page_number, kernel):
    """Of 50 changes of a number, of home, of the view and of the tempo 95 in 100 are seen within 40 ms."""
    end_sessions(page, lab)
    open_page(page, lab, next(name for name in PAGES if name.startswith(page_number)))
    run_all(page)
    busy = lab.folder / "busy"
    if kernel == "busy":
        lab.run_in_kernel(BUSY.format(path=str(busy)))
        until(busy.exists, 10, "the kernel to be busy")
    slowest = changed_at_once(page, page_number, f"kernel {kernel}")
    busy.unlink(missing_ok=True)
    assert {what: p95 for what, p95 in slowest.items() if p95 > AT_ONCE_LIMIT} == {}


def test_what_is_typed_is_shown_on_a_loaded_machine_too(lab, page):
    """With every core at work beside it the picture still follows; how fast is told, without a limit."""
    end_sessions(page, lab)
    open_page(page, lab, next(name for name in PAGES if name.startswith("03")))
    run_all(page)
    with contextlib.ExitStack() as load:
        for _ in range(os.cpu_count() or 1):
            spinning = subprocess.Popen([sys.executable, "-c", "while True: pass"])
            load.callback(spinning.wait)
            load.callback(spinning.kill)
        assert changed_at_once(page, "03", "every core at work")


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

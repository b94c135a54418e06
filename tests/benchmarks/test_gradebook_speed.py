"""Speed of the gradebook; run it with ``python -m pytest tests/benchmarks -s``.

A class is 300 notebooks with ten questions each, with outputs as a page has them after it was run.
Executing is timed on three of the same notebooks, each in a kernel of its own as one that runs them would,
and the median is multiplied to 300: the only number here that is not measured in full, because it takes many
minutes.
Memory is what Python's own allocator is asked for, by tracemalloc.
"""

import gc
import json
import random
import tracemalloc
from statistics import median
from time import perf_counter

import pytest

from rhythmlab.classroom.gradebook import gradebook
from rhythmlab.classroom.handing_out import write_assignment
from rhythmlab.classroom.returned import read_notebook
from tests.benchmarks.interleaved import seconds
from tests.classroom.pages import page, put
from tests.classroom.test_returned import SLOW

NAME = "ten"
IDS = (
    *("grid-ticks", "grid-rows", "grid-three", "composite-sounds", "composite-intervals"),
    *("composite-how-often", "place-syllables", "tempo-cycle", "gaps-midway", "phrase-fours"),
)
CLASS, RUN = 300, 3


def made(seat, shown=40_000):
    """Return a page with right, wrong and empty answers, and as much output as a page that was run has."""
    draw = random.Random(f"speed, seat {seat}")
    answers = {id: draw.choice(("[]", "[1]", '["x"]', "[7,")) for id in draw.sample(IDS, 4)}
    notebook = page(seat, answers, name=NAME, ids=IDS)
    html = f"<svg viewBox='0 0 {seat} 9'>" + "<path d='M 1 2 L 3 4'/>" * (shown // 24 // len(IDS)) + "</svg>"
    for cell in notebook["cells"]:
        if "ask" in cell["source"]:
            data = {"text/html": html.splitlines(keepends=True), "text/plain": "a question"}
            cell["outputs"] = [{"output_type": "display_data", "data": data, "metadata": {}}]
    return notebook


@pytest.fixture(scope="module")
def folders(tmp_path_factory):
    """Return classes of three sizes."""
    root = tmp_path_factory.mktemp("classes")
    for count in (CLASS // 2, CLASS, 2 * CLASS):
        for seat in range(1, count + 1):
            put(root / str(count) / f"group {seat % 9}" / f"page {seat}.ipynb", made(seat))
    return root


def test_a_class_of_three_hundred_is_marked_in_seconds_and_fifty_times_faster_than_run(folders):
    """300 notebooks of ten questions: under 20 s with table and summary, and 1/50 of executing them."""
    import nbclient
    import nbformat

    def mark():
        book = gradebook(folders / str(CLASS), NAME, ids=IDS)
        assert len(book.counted) == CLASS
        return book.csv + book.summary_text

    mark()
    marking = median(seconds(mark) for _ in range(5))
    client, runs = nbclient.NotebookClient, []
    for seat in range(1, RUN + 1):
        notebook = nbformat.from_dict(made(seat))
        for cell in notebook.cells:  # as handed in, but for answers that are no Python at all
            cell.source = cell.source.replace("[7,)", "[7])")
        run = client(notebook, timeout=120).execute
        runs.append(seconds(run))
    executing = CLASS * median(runs)
    print(
        f"\n300 notebooks marked in {marking:.2f} s; executing them takes {executing:.0f} s "
        f"({RUN} run, {median(runs):.1f} s each): {executing / marking:.0f} times as long"
    )
    assert marking < 20
    assert executing > 50 * marking


def test_feedback_for_three_hundred_is_written_in_seconds(folders, tmp_path):
    """Table, summary and 300 pages of feedback: under 20 s together with marking."""
    start = perf_counter()
    written = gradebook(folders / str(CLASS), NAME, ids=IDS).write(tmp_path / "marks")
    took = perf_counter() - start
    print(f"\n300 notebooks marked, and {len(written)} files written, in {took:.2f} s")
    assert len(written) == CLASS + 2
    assert took < 20


def grown(job):
    """Return the peak and what stays, in bytes, over what was there before a job."""
    job()
    gc.collect()
    tracemalloc.start()
    try:
        result = job()
        kept, peak = tracemalloc.get_traced_memory()
        del result
    finally:
        tracemalloc.stop()
    return peak, kept


def test_memory_is_flat_but_for_the_table(folders):
    """One notebook is held at a time, so a class takes no more for larger notebooks, and its table for more.

    The table is the result and grows with the class: at most 4 KB at the peak for a notebook of ten
    questions, a tenth of the notebook.
    """
    found = {
        count: grown(lambda count=count: gradebook(folders / str(count), NAME, ids=IDS))
        for count in (CLASS // 2, CLASS, 2 * CLASS)
    }
    for count, (peak, kept) in found.items():
        print(f"\n{count} notebooks: peak {peak / 1e3:.0f} KB, the table {kept / 1e3:.0f} KB", end="")
    size = sum(path.stat().st_size for path in (folders / str(CLASS)).rglob("*.ipynb")) / CLASS
    for more, less in ((CLASS, CLASS // 2), (2 * CLASS, CLASS)):
        each = (found[more][0] - found[less][0]) / (more - less)
        print(f"\nfrom {less} to {more}: {each / 1e3:.1f} KB a notebook of {size / 1e3:.0f} KB", end="")
        assert each < 4_000 < size / 10


def test_memory_is_the_same_for_heavier_notebooks(tmp_path):
    """Twice as many notebooks of half a megabyte: within 1.3 times, and a small multiple of one."""
    for count in (20, 40):
        for seat in range(1, count + 1):
            put(tmp_path / str(count) / f"{seat}.ipynb", made(seat, 500_000))
    few, many = (grown(lambda c=c: gradebook(tmp_path / str(c), NAME, ids=IDS))[0] for c in (20, 40))
    size = (tmp_path / "20" / "1.ipynb").stat().st_size
    print(f"\n20: {few / 1e6:.2f} MB, 40: {many / 1e6:.2f} MB, with {size / 1e6:.2f} MB each")
    assert many < 1.3 * few
    assert many < 8 * size


def test_one_heavy_notebook_takes_a_small_multiple_of_its_size(tmp_path):
    """A file of 15 MB: the peak is under eight times that, and nothing of it stays."""
    put(tmp_path / "a.ipynb", made(1, 15_000_000))
    size = (tmp_path / "a.ipynb").stat().st_size
    peak, kept = grown(lambda: gradebook(tmp_path, NAME, ids=IDS))
    print(f"\n{size / 1e6:.0f} MB: peak {peak / size:.1f} times its size, {kept / 1e3:.0f} KB stay")
    assert peak < 8 * size
    assert kept < 100_000


def test_three_hundred_seat_versions_are_made_in_half_a_minute(tmp_path):
    """Pupils' pages of 300 seats and the teacher's: under 30 s."""
    start = perf_counter()
    paths = write_assignment(NAME, tmp_path, ids=IDS, seats=range(1, CLASS + 1))
    took = perf_counter() - start
    print(f"\n{len(paths)} pages written in {took:.2f} s")
    assert len(paths) == CLASS + 1
    assert took < 30


@pytest.mark.parametrize("text", SLOW, ids=range(len(SLOW)))
def test_twice_the_hostile_text_takes_about_twice_the_time(tmp_path, text):
    """A pattern that tries all over again would take four times as long; by turns, the fastest of seven."""
    long = text[:90_000]
    found = {}
    for _ in range(7):
        for name, source in (("half", long[: len(long) // 2]), ("whole", long)):
            notebook = page(7)
            notebook["cells"] += [{**notebook["cells"][0], "source": source}] * 20
            path = put(tmp_path / f"{name}.ipynb", notebook)
            took = seconds(lambda path=path: read_notebook(path, tmp_path))
            found[name] = min(took, found.get(name, took))
    print(f"\n{1000 * found['half']:.0f} ms, {1000 * found['whole']:.0f} ms", end="")
    assert found["whole"] < 3 * found["half"] + 0.01


@pytest.mark.parametrize("data", [b'"\\"', b'"' + b"\\", b'"', b'{"', b"[]", b"9"], ids=range(6))
def test_twice_a_hostile_file_takes_about_twice_the_time(tmp_path, data):
    """The text of a file that is no page: quotes that never close, and backslashes without end."""
    found = {}
    for _ in range(5):
        for name, size in (("half", 1_000_000), ("whole", 2_000_000)):
            path = put(tmp_path / f"{name}.ipynb", b'{"cells": [' + data * (size // len(data)) + b"\\")
            took = seconds(lambda path=path: read_notebook(path, tmp_path))
            found[name] = min(took, found.get(name, took))
    print(f"\n{1000 * found['half']:.0f} ms, {1000 * found['whole']:.0f} ms", end="")
    assert found["whole"] < 3 * found["half"] + 0.01


def test_a_whole_folder_of_the_worst_is_told_in_time(tmp_path):
    """Fifty files of a megabyte that are made to be slow: under 20 s."""
    worst = (b'"\\"', b"[]", b'{"a":1},', b"7,", b'"\\u0000",')
    for i in range(50):
        one = worst[i % len(worst)]
        put(tmp_path / f"{i}.ipynb", b'{"nbformat": 4, "cells": [' + one * (1_000_000 // len(one)) + b"0]}")
    start = perf_counter()
    book = gradebook(tmp_path, NAME, ids=IDS)
    took = perf_counter() - start
    print(f"\n50 MB of the worst: {took:.2f} s")
    assert len(book.troubles) == 50
    assert took < 20


def test_pages_are_as_large_as_pages_are(folders):
    """The notebooks that are timed hold outputs: at least 30 KB each."""
    sizes = [path.stat().st_size for path in (folders / str(CLASS)).rglob("*.ipynb")]
    print(f"\n{len(sizes)} notebooks, {sum(sizes) / len(sizes) / 1000:.0f} KB each")
    assert min(sizes) > 30_000
    assert json.loads((folders / str(CLASS) / "group 1" / "page 1.ipynb").read_text())["nbformat"] == 4

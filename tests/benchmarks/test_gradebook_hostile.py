"""Ten thousand spoilt notebooks and the slowest pages; run it with ``python -m pytest tests/benchmarks -s``.

The notebooks are spoilt as in ``tests/classroom/test_gradebook_fuzz.py``, from another seed, and lie in
folders with links, loops and pipes among them; an audit hook counts what Python reports meanwhile.
Seconds are of the processor, so that a busy machine changes nothing.
"""

import json
import os
from collections import Counter
from time import process_time

import pytest

from rhythmlab.classroom.gradebook import gradebook
from rhythmlab.classroom.marking import STATES
from rhythmlab.classroom.report import files_of
from tests.classroom import test_gradebook_fuzz as fuzz
from tests.classroom.pages import IDS, NAME, code, page, put

MANY, FOLDERS, SEED = 10_000, 10, 77
warm = fuzz.warm


def test_ten_thousand_spoilt_notebooks_among_links_and_pipes(tmp_path, monkeypatch):
    """Each ends in rows with reasons, none runs, and good pages beside them keep every mark."""
    monkeypatch.setattr(fuzz, "SEED", SEED)
    states, reports, files, letters, start = Counter(), Counter(), 0, 0, process_time()
    for part in range(FOLDERS):
        folder = tmp_path / f"{part}"
        for number in range(part, MANY, FOLDERS):
            put(folder / f"group {number % 7}" / f"{number:05}.ipynb", fuzz.spoilt(number))
        put(folder / "good" / "page.ipynb", page(99_000))
        for name, target in (
            ("loop", "loop"),
            ("up", ".."),
            ("gone.ipynb", "gone"),
            ("zero.ipynb", "/dev/zero"),
        ):
            (folder / name).symlink_to(target)
        os.mkfifo(folder / "pipe.ipynb")
        with fuzz.nothing_runs(reports):
            book = gradebook(folder, NAME)
            text = book.csv + book.summary_text + book._repr_html_()
            written = [(name, data.decode("utf-8")) for name, data in files_of(book)]
        assert len(book.papers) == MANY // FOLDERS + 6
        assert "cannot be marked (" not in text
        good = [paper for paper in book.counted if paper.seat == 99_000]
        assert [row.state for paper in good for row in paper.rows] == ["right"] * len(IDS)
        for paper in book.papers:
            assert all(row.state in STATES and row.reason.isprintable() and row.reason for row in paper.rows)
        html = "".join(data for name, data in written if name.endswith("html"))
        assert "<script" not in html
        states.update(row.state for paper in book.papers for row in paper.rows)
        files, letters = files + len(written), letters + len(html)
    took = process_time() - start
    print(f"\n{MANY:,} spoilt notebooks in {took:.0f} s: {sum(states.values()):,} rows, {dict(states)}")
    print(f"{files:,} files with {letters / 1e6:.0f} MB; audit events: {dict(reports)}")
    assert set(reports) <= {"open", "os.scandir", "object.__getattr__", "builtins.id"}


def answered(source, count, question="grid-ticks"):
    """Return a page with one cell many times."""
    notebook = page(7)
    notebook["cells"] += [code(source, question)] * count
    return json.dumps(notebook).encode()


def opened(count):
    """Return a page that opens the assignment at so many seats."""
    notebook = page(7)
    notebook["cells"] += [
        code(f'work = rl.classroom.assignment("{NAME}", seat={seat})') for seat in range(1, count)
    ]
    return json.dumps(notebook).encode()


REPLY = 'work.reply("grid-ticks", answer=[7])'
WORST = {
    "99,000 replies": lambda: answered(REPLY, 99_000),
    "90,000 replies without tags": lambda: answered(REPLY, 90_000, None),
    "990 replies of a thousand parts": lambda: answered(REPLY.replace("7", "1," * 999), 990),
    "490 replies of semicolons": lambda: answered(REPLY + ";" * 39_900, 490),
    "400 replies of backslashes": lambda: answered(REPLY.replace("[7]", '"' + "\\\\" * 9_900 + '"'), 400),
    "5 replies as long as is read": lambda: answered(REPLY + ";" * 39_900, 4),
    "150,000 cells of one letter": lambda: answered("1", 99_000, None),
    "a cell of 19 MB": lambda: answered("x" * 19_000_000, 1, None),
    "a number of 19 MB": lambda: json.dumps(page(7))[:-1].encode() + b', "b": 0.' + b"7" * 19_000_000 + b"}",
    "99,000 seats": lambda: opened(99_000),
}


@pytest.mark.parametrize("name", WORST)
def test_the_slowest_page_is_told_in_seconds(tmp_path, name):
    """Marked or refused: under 5 s of the processor, and replies that are too many in under 2."""
    put(tmp_path / "a.ipynb", WORST[name]())
    size = (tmp_path / "a.ipynb").stat().st_size
    assert size < 20_000_000
    start = process_time()
    book = gradebook(tmp_path, NAME)
    took = process_time() - start
    print(f"\n{name}, {size / 1e6:.1f} MB: {took:.2f} s; {book.papers[0].rows[0].reason[:70]}", end="")
    assert took < (2 if "replies" in name else 5)


@pytest.mark.parametrize("kind", ["openings", "seats in folders", "pages of one seat", "answers of others"])
def test_twice_as_much_takes_about_twice_the_time(tmp_path, kind):
    """Nothing is compared with everything else."""
    took = {}
    for times in (1, 2):
        folder = tmp_path / f"{times}"
        if kind == "openings":
            put(folder / "a.ipynb", opened(20_000 * times))
        for number in range(0 if kind == "openings" else 400 * times):
            name = f"{number}/a.ipynb" if kind == "seats in folders" else f"{number}.ipynb"
            seat = number + 1 if kind == "answers of others" else 7
            other = {"cells_for": seat + 1} if kind == "answers of others" else {}
            put(folder / name, page(seat, {"grid-ticks": f"[{number}]"}, **other), number)
        found = []
        for _ in range(3):
            start = process_time()
            book = gradebook(folder, NAME)
            assert book.summary_text
            assert book._repr_html_()
            found.append(process_time() - start)
        took[times] = min(found)
    print(f"\n{kind}: {took[1]:.2f} s, {took[2]:.2f} s", end="")
    assert took[2] < 3 * took[1] + 0.05

"""Thousands of spoilt notebooks: each ends in rows with reasons, none runs, and none hangs the marking."""

import builtins
import json
import os
import random
import sys
from collections import Counter
from contextlib import contextmanager

import pytest

from rhythmlab.classroom.gradebook import gradebook
from rhythmlab.classroom.marking import STATES
from rhythmlab.classroom.report import files_of
from tests.classroom.pages import IDS, NAME, code, page, put

#: How many notebooks are spoilt, in how many folders, and from which seed.
MANY, FOLDERS, SEED = 2_400, 8, 2026
#: What would show that something of a pupil's ran, or that something was written or started.
_NEVER = (
    *("exec", "compile", "os.system", "os.exec", "os.posix_spawn", "os.spawn", "os.fork", "subprocess.Popen"),
    *("pty.spawn", "socket.connect", "socket.bind", "ctypes.dlopen", "pickle.find_class", "marshal.loads"),
    *("os.remove", "os.rename", "os.mkdir", "os.rmdir", "os.link", "os.symlink", "os.chmod", "os.utime"),
    *(
        "os.truncate",
        "shutil.rmtree",
        "tempfile.mkstemp",
        "urllib.Request",
        "os.putenv",
        "os.chdir",
        "import",
    ),
)
_watching: list[list[str]] = []
_counting: list[Counter] = []
_hooked: list[bool] = []
_ODD = (
    *(None, True, -1, 10**40, 1e308, "", "=1+1", "<script>alert(1)</script>", [], {}, [[[]]], {"a": 1}),
    *(
        "\ud800",
        "\x00\x1b[2J",
        "a\nb",
        ["a", 7, None, ["b"]],
        [1, 2, 3],
        "x" * 5_000,
        "work.reply(",
        "__import__",
    ),
)
_CODE = (
    *(
        "__import__('os').system('touch ran')",
        "open('ran', 'w').write('x')",
        "exec('import os')",
        "eval('1')",
    ),
    *(
        "[x for x in range(10**10)]",
        "(lambda: (yield))()",
        "9**9**9",
        "{**{}}",
        "f'{open}'",
        "exit()",
        "%run x",
    ),
    *(
        "!touch ran",
        "import os\nos.remove('x')",
        "[" * 10_000,
        "(" * 10_000,
        "9" * 50_000,
        "'" * 9_999,
        "1/0",
    ),
    *(
        "'=cmd|x'",
        "'</code><script>'",
        "-" * 3_000,
        "[" + "1," * 5_000 + "]",
        "[[]]",
        "[None]",
        "nan",
        "1e999",
    ),
)


def _hook(event: str, given: tuple) -> None:
    if not _watching:
        return
    if _counting:
        _counting[-1][event] += 1
    if event == "open":
        mode, flags = given[1], given[2]
        writes = isinstance(mode, str) and set(mode) & set("wax+")
        if writes or (isinstance(flags, int) and flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)):
            _watching[-1].append(f"open {given}")
    elif event.startswith(_NEVER):
        _watching[-1].append(f"{event} {given}"[:300])


@contextmanager
def nothing_runs(reports=None):
    """Fail where anything is run, compiled, imported, started, written or removed meanwhile.

    What Python reports is counted in `reports`, where it is given.
    """
    if not _hooked:
        sys.addaudithook(_hook)  # it stays to the end of the run, and hears only while it is asked to
        _hooked.append(True)
    poisoned = {name: getattr(builtins, name) for name in ("eval", "exec", "compile", "input", "__import__")}

    def no(*given: object, **more: object) -> None:
        raise AssertionError(f"something ran: {given!r:.100}")

    def known(name: str, *given: object, **more: object) -> object:
        """Let a module that is there already be named again, as functions of libraries do."""
        return poisoned["__import__"](name, *given, **more) if name in sys.modules and given else no(name)

    heard: list[str] = []
    try:
        for name in poisoned:
            setattr(builtins, name, known if name == "__import__" else no)
        if reports is not None:
            _counting.append(reports)
        _watching.append(heard)
        yield heard
    finally:
        _watching.pop()
        _counting.clear()
        for name, kept in poisoned.items():
            setattr(builtins, name, kept)
    assert heard == []


@pytest.fixture(scope="module", autouse=True)
def warm(tmp_path_factory):
    """Import all that marking needs before anything is forbidden."""
    folder = tmp_path_factory.mktemp("warm")
    put(folder / "a.ipynb", page(1, {"grid-ticks": "[1]", "grid-rows": "x", "grid-three": "[]"}))
    put(folder / "b.ipynb", b"\xff")
    assert len(list(files_of(gradebook(folder, NAME)))) == 4


def _part(draw, notebook):
    """Return some dictionary of a page, and one of its names."""
    parts = [notebook, notebook["metadata"], *notebook["cells"]]
    parts += [cell["metadata"] for cell in notebook["cells"] if isinstance(cell, dict)]
    part = draw.choice([one for one in parts if isinstance(one, dict) and one])
    return part, draw.choice(list(part))


def _odd_value(draw, notebook):
    part, name = _part(draw, notebook)
    part[name] = draw.choice(_ODD)
    return notebook


def _without(draw, notebook):
    part, name = _part(draw, notebook)
    del part[name]
    return notebook


def _cells(draw, notebook):
    cells = notebook["cells"]
    at = draw.randrange(len(cells))
    what = draw.randrange(7)
    if what == 0:
        del cells[at]
    elif what == 1:
        cells.insert(draw.randrange(len(cells)), cells[at])
    elif what == 2:
        draw.shuffle(cells)
    elif what == 3:
        cells[at] = draw.choice(_ODD)
    elif what == 4:
        cells[at]["cell_type"] = draw.choice(("markdown", "raw", "heading", 7))
    elif what == 5:
        source = cells[at]["source"]
        cut = draw.randrange(len(source))
        cells[at : at + 1] = [{**cells[at], "source": source[:cut]}, {**cells[at], "source": source[cut:]}]
    else:
        cells[at]["source"] = draw.choice((cells[at]["source"].splitlines(True), [7, None], list("work"), 3))
    return notebook


def _answer(draw, notebook):
    id, answer = draw.choice(IDS), draw.choice(_CODE)
    lines = (
        f'work.reply("{id}", answer={answer})',
        f'{answer}\nwork.reply("{id}", answer=[7])',
        f'work.reply("{id}", answer=[7]); {answer}',
        f'work.reply({answer}, answer="{id}")',
        f"work.reply(answer={answer}, id='{id}')",
        f'work = rl.classroom.assignment("{NAME}", seat={answer})',
        answer,
    )
    notebook["cells"].insert(draw.randrange(len(notebook["cells"])), code(draw.choice(lines), id))
    return notebook


def _letters(draw, notebook):
    """Change, drop or double single bytes anywhere in the file."""
    data = bytearray(json.dumps(notebook).encode())
    for _ in range(draw.randrange(1, 12)):
        at = draw.randrange(len(data))
        data[at : at + draw.randrange(3)] = draw.choice(
            (b"", b'"', b"\\", b"[", b"}", b"\xff", b"9", b"\n", b"e")
        )
    return bytes(data)


def _source_letters(draw, notebook):
    """Change letters in the source of a cell, as a slip of the hand does."""
    cell = draw.choice(notebook["cells"])
    text = list(cell["source"])
    for _ in range(draw.randrange(1, 5)):
        at = draw.randrange(len(text))
        text[at : at + draw.randrange(2)] = draw.choice("\"'()[],=.#\\ \n7xé“−\u202e")
    cell["source"] = "".join(text)
    return notebook


def _cut(draw, notebook):
    data = json.dumps(notebook).encode()
    return data[: draw.randrange(len(data))]


def _old(draw, notebook):
    return {"nbformat": draw.choice((2, 3, 5, "4", None)), "worksheets": [{"cells": notebook["cells"]}]}


def _deep(draw, notebook):
    part, name = _part(draw, notebook)
    part[name] = "HERE"
    deep = draw.choice((50, 70, 10_000))
    return json.dumps(notebook).replace('"HERE"', "[" * deep + "]" * deep, 1).encode()


def _numbers(draw, notebook):
    part, name = _part(draw, notebook)
    part[name] = "HERE"
    odd = draw.choice(("NaN", "-Infinity", "9" * 100_000, "1e999", "-0.0", "1." + "7" * 100_000, "true"))
    return json.dumps(notebook).replace('"HERE"', odd, 1).encode()


SPOIL = (
    *(_odd_value, _without, _cells, _answer, _letters, _source_letters, _cut, _old, _deep, _numbers),
    *(_cells, _answer, _source_letters),
)


def spoilt(number):
    """Return a page that was spoilt once to four times; the same number gives the same page."""
    draw = random.Random(f"{SEED}, {number}")
    seat = draw.randrange(1, 40)
    notebook = page(seat, made_for=draw.choice((0, 0, seat, 3)))
    if draw.random() < 0.2:
        for cell in notebook["cells"]:
            cell["metadata"] = {}
    for _ in range(draw.randrange(1, 5)):
        try:
            notebook = draw.choice(SPOIL)(draw, notebook)
        except (AttributeError, IndexError, KeyError, TypeError, ValueError):
            continue  # already too far gone for this one
        if isinstance(notebook, bytes):
            return notebook
    return notebook


@pytest.mark.parametrize("part", range(FOLDERS))
def test_spoilt_notebooks_end_in_rows_with_reasons_and_none_runs(tmp_path, monkeypatch, part):
    """Every file is in the table, every lost mark has a reason, and nothing is run, started or written."""
    folder = tmp_path / "in"
    names = [f"{number:04}.ipynb" for number in range(part, MANY, FOLDERS)]
    for name in names:
        put(folder / name, spoilt(int(name[:4])))
    monkeypatch.chdir(tmp_path)
    with nothing_runs():
        book = gradebook(folder, NAME)
        assert (book.csv + book.summary_text).encode("utf-8")
        html = book._repr_html_()
        html += "".join(data.decode("utf-8") for name, data in files_of(book) if name.endswith("html"))
    assert sorted(paper.file for paper in book.papers) == names
    for paper in book.papers:
        assert len(paper.rows) in (1, len(IDS))
        for row in paper.rows:
            assert row.state in STATES
            assert row.reason.isprintable()
            assert len(row.reason) > 5
            assert 0 <= row.marks <= row.out_of
            assert (row.marks == row.out_of > 0) == (row.state == "right") or row.reason.startswith(
                "The page was"
            )
    assert "<script" not in html
    assert [path.name for path in tmp_path.iterdir()] == ["in"]
    assert sorted(path.name for path in folder.iterdir()) == names


def test_the_spoilt_notebooks_are_of_every_kind():
    """The fuzz reaches every state that a page can have by itself, and pages that stay right."""
    from rhythmlab.classroom import returned as reading
    from rhythmlab.classroom.marking import mark

    found = set()
    for number in range(0, 400):
        data = spoilt(number)
        data = data if isinstance(data, bytes) else json.dumps(data).encode()
        try:
            read = reading._read_cells(data, reading.ReturnedNotebook("", "", 0.0))
        except reading.DamagedFile:
            found.add("damaged file")
            continue
        found |= {row.state for row in mark(read, NAME, IDS)}
    assert found == set(STATES) - {"not counted"}


def test_the_watch_hears_what_runs(tmp_path):
    """It would be told: code that is run or compiled, files that are written, programs that are started."""
    for job in (
        lambda: exec("1"),
        lambda: compile("1", "x", "eval"),
        lambda: __import__("this_is_not_there"),
    ):
        with pytest.raises(AssertionError, match="something ran"), nothing_runs():
            job()
    for job in (
        lambda: (tmp_path / "x").write_text("x"),
        lambda: os.open(tmp_path / "y", os.O_CREAT | os.O_WRONLY),
        lambda: os.system("true"),
        lambda: os.mkdir(tmp_path / "z"),
    ):
        with pytest.raises(AssertionError), nothing_runs():
            job()

"""Old work keeps working: a folder made by version 0.1.0 opens, runs, is marked and is brought up to date.

The folder is ``fixtures/made-by-0.1.0.zip``; ``fixtures/made_by_0_1_0.py`` says how it was made.
"""

import csv
import io
import json
import warnings
import zipfile
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path

import nbclient
import nbformat
import pytest

import rhythmlab as rl
from rhythmlab import resources
from rhythmlab.classroom import cli
from rhythmlab.panels import guess as guess_module
from rhythmlab.practice.measure import measure
from rhythmlab.practice.set_list import SetList
from rhythmlab.practice.take import from_row
from rhythmlab.working_folder import MARK, fingerprint, first_page, prepare

ARCHIVE = Path(__file__).parent / "fixtures" / "made-by-0.1.0.zip"
with zipfile.ZipFile(ARCHIVE) as packed:
    OLD = {name: packed.read(name) for name in packed.namelist()}
PAGES = sorted(name for name in OLD if name.endswith(".ipynb"))
#: What the launcher brought, and what of it the reader ran, changed and deleted.
BROUGHT = json.loads(OLD[MARK])["pages"]
RAN, CHANGED = "01-find-the-shared-grid.ipynb", "03-choose-the-home-pulse.ipynb"
ANSWERED, DELETED = "00-make-two-numbers-one-rhythm.ipynb", "05-choose-how-to-learn-it.ipynb"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Give the folder as it was left, and be in it, as in a kernel of its own."""
    where = tmp_path / "rhythmlab-pages"
    for name, data in OLD.items():
        (where / name).parent.mkdir(parents=True, exist_ok=True)
        (where / name).write_bytes(data)
    monkeypatch.chdir(where)
    monkeypatch.setattr(guess_module, "_memory", {})
    return where


def now(folder) -> dict[str, bytes]:
    """Return every file that is there."""
    found = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in found}


def code_of(name: str) -> list[str]:
    """Return the code cells of an old page."""
    return ["".join(cell["source"]) for cell in json.loads(OLD[name])["cells"] if cell["cell_type"] == "code"]


def run(sources: list[str]) -> list[object]:
    """Run cells in one namespace, and return what the last expression of each gives."""
    namespace, found = {}, []
    for source in sources:
        try:
            code = compile(source, "an old page", "eval")
        except SyntaxError:
            code = compile(source, "an old page", "exec")
        with warnings.catch_warnings(record=True) as said:  # where an old name lives now, and nothing else
            warnings.simplefilter("always")
            found.append(eval(code, namespace))
        assert all("; the old name still works" in str(one.message) for one in said)
    return found


def test_the_folder_is_what_it_is_said_to_be():
    """Small, with pages run, changed and deleted, and everything that readers keep."""
    assert ARCHIVE.stat().st_size < 300_000
    assert first_page() in BROUGHT
    assert set(BROUGHT) - set(OLD) == {DELETED}
    assert len(PAGES) == 33
    assert {"journal.jsonl", "set-list.txt", ".rhythmlab-guesses.json", "marks/marks.csv"} < set(OLD)
    assert len([name for name in OLD if name.startswith("returned/")]) == 4


def test_the_journal_is_read_whole(folder):
    """Every entry as it stands in the file, nothing damaged; takes are measured as they were."""
    journal = rl.practice.Journal(clock=lambda: datetime(2026, 11, 9, 18, tzinfo=UTC))
    lines = [json.loads(line) for line in OLD["journal.jsonl"].decode().splitlines()][1:]
    entries = list(journal.read())
    assert [{**entry} for entry in entries] == [
        {key: value for key, value in line.items() if key != "crc32"} for line in lines
    ]
    assert (journal.read().damaged, journal.read().warning) == ((), "")
    assert [entry["kind"] for entry in entries] == ["take"] * 6 + ["session"] * 2 + ["note", "limit"]
    assert journal.last_minutes() == Fraction(35)
    assert journal.last().startswith("Yesterday: 16 against 15 at 60 bpm of the 15, hands")
    for take in journal.takes():
        again = measure(from_row(take)).as_row()
        for key in ("meant", "matched", "missed", "extra", "wrong_hand"):
            assert again.get(key) == take.get(key)
    assert len(journal.takes(pair=(7, 4))) == 2
    assert rl.practice.Ladder(60, 96).climb(journal.takes(pair=(4, 3))) is not None
    assert journal.append({"kind": "note", "text": "today"})["text"] == "today"
    assert now(folder)["journal.jsonl"].startswith(OLD["journal.jsonl"])
    assert len(journal.read()) == 11


def test_guesses_and_the_set_list_are_those_that_were_kept(folder):
    """Both guesses come back on their page; every line of the list is an item."""
    assert (guess_module.recall("00-guess"), guess_module.recall("08-guess")) == ("7", "the 4")
    guess, panel = run(code_of(ANSWERED))[2:4]
    assert guess is None
    assert panel._guess.told.startswith("You guessed ")
    songs = SetList().read()
    assert (songs.damaged, songs.warning) == ((), "")
    assert len(songs) == 6
    assert songs[-1].title == "Hall, seats 1 to 12"
    assert now(folder) == OLD


def test_every_page_runs_as_it_stands(folder, capsys):
    """Twice from top to bottom; no file of the folder is changed, and one page brings its invented class."""
    for name in PAGES:
        nbformat.validate(json.loads(OLD[name]))
        shown = run(code_of(name) * 2)
        for source, value in zip(code_of(name) * 2, shown, strict=True):
            if "guess=guess" in source:
                assert value.stage.notice == "", name
            if source.startswith("rl.pages.check") and name == ANSWERED:
                assert repr(value).startswith("Right. ")
    capsys.readouterr()
    after = now(folder)
    assert {name: after[name] for name in OLD} == OLD
    assert {name.split("/")[0] for name in set(after) - set(OLD)} == {"demo-class", "demo-marks"}


@pytest.mark.parametrize(
    "name",
    [ANSWERED, CHANGED, "handed-out/grid-and-composite-seat-004.ipynb", "returned/first group/seat 3.ipynb"],
)
def test_a_page_runs_in_a_kernel_as_it_stands(folder, name):
    """As *Run All Cells* does, from the folder of the page: no cell fails, and nothing is written."""
    page = nbformat.reads(OLD[name].decode(), as_version=4)
    nbclient.execute(page, cwd=str((folder / name).parent), timeout=120)
    ran = [cell for cell in page.cells if cell.cell_type == "code"]
    assert all(cell.execution_count for cell in ran)
    assert not [out for cell in ran for out in cell.outputs if out.output_type == "error"]
    assert now(folder) == OLD


def marks_in(table: str) -> list[tuple]:
    """Return the columns of a table that are no sentences; up to 0.2.0 its marks were parts."""
    keys = ("seat", "question", "skill", "state", "answer", "file")
    rows = list(csv.DictReader(io.StringIO(table)))
    parts = ("parts right", "parts") if "parts" in rows[0] else ("marks", "out of")
    return [tuple(row[key] for key in (*keys, *parts)) for row in rows]


def test_returned_pages_get_the_marks_that_they_had(folder):
    """The same right parts, states and answers, by the call and the command; no returned page is touched."""
    old = marks_in(OLD["marks/marks.csv"].decode())
    assert len(old) == 28
    assert marks_in(rl.classroom.gradebook("returned").csv) == old
    assert cli.main(["grade", "returned", "--assignment", "grid-and-composite", "--to", "again"]) == 0
    assert marks_in((folder / "again" / "marks.csv").read_text(encoding="utf-8")) == old
    assert {name: data for name, data in now(folder).items() if not name.startswith("again/")} == OLD


def test_a_seat_that_comes_later_gets_the_same_page(folder):
    """The page of a seat, made anew, has the cells of the old one, so both are of one class."""
    made = rl.classroom.write_assignment("grid-and-composite", "anew", seats=[3, 4, 5])
    for path in made:
        old = json.loads(OLD[f"handed-out/{path.name}"])
        new = json.loads(path.read_text(encoding="utf-8"))
        asked = [
            ["".join(cell["source"]) for cell in page["cells"] if "ask(" in "".join(cell["source"])]
            for page in (old, new)
        ]
        assert asked[0] == asked[1]


def test_the_folder_is_brought_up_to_date_and_nothing_of_the_reader_is_touched(folder):
    """What was only run is renewed where it differs, what was deleted comes back, what was changed stays."""
    for first in (True, False):  # the second time there is nothing left to do
        said = prepare(folder)
        after = now(folder)
        source = resources.folder("notebooks")
        for name, data in OLD.items():
            if name == MARK:
                continue
            if name not in BROUGHT or name in (ANSWERED, CHANGED):
                assert after[name] == data, name
            elif name == RAN:
                newest = (source / name).read_bytes()
                assert after[name] in (data, newest)
            else:
                assert after[name] == (source / name).read_bytes(), name
        assert after[DELETED] == (source / DELETED).read_bytes()
        for name in (ANSWERED, CHANGED):  # what is newer stands beside it, and nothing else does
            newer = fingerprint(name, (source / name).read_bytes()) != BROUGHT[name]
            assert (name.replace(".ipynb", "-new.ipynb") in after) == newer, name
            assert any(f"You changed {name}" in one for one in said) == (newer and first)


def test_newer_pages_replace_only_what_was_not_changed(folder, tmp_path):
    """Where every page is a newer one: those that were run or left alone are renewed, the rest beside."""
    source = tmp_path / "newer"
    shipped = resources.folder("notebooks")
    newer = {}
    for path in shipped.rglob("*.ipynb"):
        name = path.relative_to(shipped).as_posix()
        if ".ipynb_checkpoints" in name:
            continue
        page = json.loads(path.read_text(encoding="utf-8"))
        page["cells"].append({"cell_type": "markdown", "id": "newer", "metadata": {}, "source": "Newer."})
        newer[name] = json.dumps(page).encode()
        (source / name).parent.mkdir(parents=True, exist_ok=True)
        (source / name).write_bytes(newer[name])
    prepare(folder, source)
    after = now(folder)
    beside = {name: name.replace(".ipynb", "-new.ipynb") for name in (ANSWERED, CHANGED)}
    for name in BROUGHT:
        assert after[beside.get(name, name)] == newer[name], name
    untouched = set(OLD) - set(BROUGHT) - {MARK} | set(beside)
    assert {name: after[name] for name in untouched} == {name: OLD[name] for name in untouched}
    assert set(after) == set(OLD) | set(newer) | set(beside.values())

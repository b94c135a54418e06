"""The invented class: made again byte for byte, and every kind of trouble is in it."""

from collections import Counter

import rhythmlab as rl
from rhythmlab import resources
from rhythmlab.classroom.demo import DUE, SEATS, demo_class, returned_notebooks
from rhythmlab.classroom.gradebook import gradebook


def test_the_committed_class_is_the_one_that_the_seed_makes():
    """Files, bytes and times in data/demo are those of the seed, and nothing else is there."""
    folder = resources.folder("data") / "demo"
    times = (folder / "times.csv").read_text(encoding="utf-8").splitlines()[1:]
    there = {path.relative_to(folder / "returned").as_posix() for path in folder.glob("returned/**/*.ipynb")}
    again = list(returned_notebooks())
    assert {name for name, _, _ in again} == there
    assert [f"{name},{changed}" for name, changed, _ in again] == times
    assert all((folder / "returned" / name).read_bytes() == data for name, _, data in again)


def test_the_class_comes_into_a_folder_and_what_is_there_stays(tmp_path):
    """Thirty seats with their times; a file that the reader changed is left alone."""
    folder = demo_class(tmp_path / "class")
    first = sorted(folder.rglob("*.ipynb"))
    assert len(first) == SEATS + 2
    first[0].write_text("mine")
    demo_class(folder)
    assert first[0].read_text() == "mine"


def test_the_gradebook_of_the_class_tells_every_state_apart(tmp_path):
    """Right, partly, wrong, empty, unreadable, wrong type, missing, changed, damaged, no seat, double."""
    book = gradebook(demo_class(tmp_path / "class"), due=DUE)
    states = Counter(row[5] for row in book.rows)
    assert set(states) == {
        *("right", "partly right", "wrong", "not answered", "unreadable", "wrong type", "missing cell"),
        *("changed question", "damaged file", "no seat", "not counted"),
    }
    assert states["right"] > SEATS * 3
    assert len(book.counted) == SEATS - 3
    assert all(row[6] for row in book.rows)
    assert any("late" in row[10] for row in book.rows)
    assert gradebook(tmp_path / "class", due=DUE).csv == book.csv


def test_the_names_are_public():
    """The page for teachers calls them."""
    assert rl.classroom.demo_class is demo_class
    assert rl.classroom.gradebook is gradebook

"""Guesses outlive the kernel in a marked folder, and nothing that is there is lost."""

import json
import os
import subprocess
import sys

import pytest

from rhythmlab.panels import guess
from rhythmlab.working_folder import MARK

NAME = ".rhythmlab-guesses.json"


@pytest.fixture
def marked(folder):
    """Mark the folder as the launcher does."""
    (folder / MARK).write_text("{}")
    return folder


def forget() -> None:
    """Do what a kernel restart does."""
    guess._memory.clear()
    guess._unwritten.clear()


def test_a_guess_is_remembered_for_as_long_as_the_kernel_runs(folder):
    """Outside a working folder nothing is written, and after a restart it is gone."""
    guess.keep("00-guess", "11")
    assert guess.recall("00-guess") == "11"
    assert guess.recall("01-guess") == ""
    assert os.listdir(folder) == []
    forget()
    assert guess.recall("00-guess") == ""


def test_in_a_working_folder_a_guess_survives_a_restart(marked):
    """One small readable file, with the last text of each question."""
    for key, text in (("00-guess", "1"), ("00-guess", "11"), ("01-guess", "zwölf & <b>")):
        guess.keep(key, text)
    forget()
    assert guess.recall("00-guess") == "11"
    assert guess.recall("01-guess") == "zwölf & <b>"
    text = (marked / NAME).read_text(encoding="utf-8")
    assert json.loads(text) == {"00-guess": "11", "01-guess": "zwölf & <b>"}
    assert "zwölf" in text


@pytest.mark.parametrize("deeper", ["workshop", "workshop/one"])
def test_a_page_in_a_folder_below_keeps_its_guess_in_the_working_folder(marked, monkeypatch, deeper):
    """Up to two folders down it is the same working folder; further down it is none."""
    (marked / deeper / "two" / "three").mkdir(parents=True)
    monkeypatch.chdir(marked / deeper)
    guess.keep("00-guess", "11")
    assert (marked / NAME).is_file()
    assert os.listdir(marked / deeper) == [
        name for name in ("one", "two") if (marked / deeper / name).is_dir()
    ]
    forget()
    monkeypatch.chdir(marked / deeper / "two" / "three")
    assert guess.recall("00-guess") == ""


@pytest.mark.parametrize(
    "damaged",
    [
        b"",
        b"{",
        b"[1]",
        b'"text"',
        b"null",
        b"\xff\xfe",
        b'{"00-guess": 5}',
        b'{"00-guess": null}',
        b'{"a": ["b"]}',
    ],
)
def test_a_damaged_file_is_set_aside_and_not_lost(marked, damaged):
    """Recalling gives nothing and breaks nothing; the next guess keeps the old bytes beside a new file."""
    (marked / NAME).write_bytes(damaged)
    assert guess.recall("00-guess") == ""
    assert (marked / NAME).read_bytes() == damaged
    guess.keep("01-guess", "12")
    assert (marked / ".rhythmlab-guesses-damaged.json").read_bytes() == damaged
    assert json.loads((marked / NAME).read_text()) == {"01-guess": "12"}


def test_a_file_that_cannot_be_written_is_an_error_and_the_guess_stays_in_memory(marked, monkeypatch):
    """The caller is told why; until the kernel stops the guess is there."""

    def refuse(path, contents):
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(guess, "write", refuse)
    with pytest.raises(PermissionError, match="Permission denied"):
        guess.keep("00-guess", "11")
    assert guess.recall("00-guess") == "11"


def test_a_folder_in_the_place_of_the_file_breaks_no_page(marked):
    """Recalling gives nothing; keeping is an error with a reason, and the guess is remembered."""
    (marked / NAME).mkdir()
    assert guess.recall("00-guess") == ""
    with pytest.raises(OSError, match="directory"):
        guess.keep("00-guess", "11")
    assert guess.recall("00-guess") == "11"


def test_nothing_else_is_left_in_the_folder(marked):
    """No half-written file stays behind."""
    for n in range(5):
        guess.keep("00-guess", str(n))
    assert sorted(os.listdir(marked)) == sorted([MARK, NAME])


#: A kernel that keeps 100 guesses, here without the locks of this system where "bare" is said.
KERNEL = """
import sys
from rhythmlab.panels import guess
import rhythmlab.locks
name, locks = sys.argv[1:]
if locks == "bare":
    rhythmlab.locks.lock_of = lambda shared: (lambda fd: None, None)
for n in range(100):
    guess.keep(f"{name}-{n}", f"{name} guessed {n}")
    guess.keep("both", name)
print(guess.recall(f"{name}-99"))
"""


@pytest.mark.parametrize("locks", ["locked", "bare"])
def test_two_kernels_lose_no_guess(marked, locks):
    """Two kernels keep 100 guesses each at once, also where a system has no locks: all are there after it."""
    names = ("one", "two")
    kernels = [
        subprocess.Popen([sys.executable, "-c", KERNEL, name, locks], stdout=subprocess.PIPE, text=True)
        for name in names
    ]
    for name, kernel in zip(names, kernels, strict=True):
        assert kernel.communicate(timeout=300)[0].strip() == f"{name} guessed 99"
        assert kernel.returncode == 0
    found = json.loads((marked / NAME).read_text())
    assert found.pop("both") in names
    assert found == {f"{name}-{n}": f"{name} guessed {n}" for name in names for n in range(100)}
    assert sorted(os.listdir(marked)) == sorted([MARK, NAME])


def test_of_two_kernels_the_later_guess_counts(marked):
    """What another kernel guessed later to the same question is what comes back here."""
    guess.keep("00-guess", "11")
    (marked / NAME).write_text(json.dumps({"00-guess": "12"}))
    assert guess.recall("00-guess") == "12"


def test_a_kernel_that_was_stopped_holds_up_nobody(marked, monkeypatch):
    """A lock file that was left behind keeps no guess from being kept, with locks and without."""
    monkeypatch.setattr("rhythmlab.locks.LEFT", 0.05)
    for name, lock in (("locked", None), ("bare", lambda shared: (lambda fd: None, None))):
        if lock:
            monkeypatch.setattr("rhythmlab.locks.lock_of", lock)
        (marked / ".rhythmlab-guesses.json.lock").write_text("")
        guess.keep("00-guess", name)
        forget()
        assert guess.recall("00-guess") == name
    assert sorted(os.listdir(marked)) == sorted([MARK, NAME])


@pytest.mark.parametrize("text", ["half a letter \ud800", "zero \0 byte", "x" * 100_000, ""])
def test_any_text_can_be_kept(marked, text):
    """Whatever is typed leaves the file whole, and comes back after a restart."""
    guess.keep("01-guess", "12")
    guess.keep("00-guess", text)
    forget()
    assert (guess.recall("00-guess"), guess.recall("01-guess")) == (text, "12")

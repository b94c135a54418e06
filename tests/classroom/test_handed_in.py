"""A folder of whatever was handed in: one bad file stops nothing, and each is told with its reason."""

import errno
import os
import socket
import stat

import pytest

from rhythmlab.classroom import gradebook as marking
from rhythmlab.classroom import handed_in as finding
from rhythmlab.classroom.gradebook import gradebook
from rhythmlab.classroom.handed_in import Damaged, beginning, handed_in, named
from rhythmlab.classroom.returned import returned
from rhythmlab.files import unseen
from tests.classroom.pages import IDS, NAME, page, put


def marked(folder, seats=(7,)):
    """Mark a folder, and hold that the good pages have every mark."""
    book = gradebook(folder, NAME)
    good = [paper for paper in book.papers if paper.seat in seats]
    assert [paper.seat for paper in good if not paper.why_not] == list(seats)
    assert all(row.state == "right" for paper in good for row in paper.rows)
    return book


def reasons(book):
    """Return what is said of each file that cannot be marked, by name."""
    return {paper.file: paper.rows[0].reason for paper in book.without_seat}


class Entry:
    """What stands for an entry of a folder, and refuses what it is asked."""

    def __init__(self, entry, refused):
        self.name, self.path, self.entry, self.refused = entry.name, entry.path, entry, refused

    def __getattr__(self, name):
        def ask(**how):
            raise OSError(self.refused, os.strerror(self.refused), self.path)

        return ask


def test_links_and_loops_of_every_kind_are_told_and_the_rest_is_marked(tmp_path):
    """To itself, in a ring, to a folder above, to the root, to nothing, to a device; as files and folders."""
    folder = tmp_path / "in"
    put(folder / "group" / "page.ipynb", page(7))
    put(tmp_path / "outside" / "page.ipynb", page(8))
    links = {
        "self": "self",
        "self.ipynb": "self.ipynb",
        "ring a": "ring b",
        "ring b": "ring a",
        "group/up": "..",
        "group/here": ".",
        "root": "/",
        "gone": "nowhere",
        "gone.ipynb": "nowhere",
        "zero": "/dev/zero",
        "zero.ipynb": "/dev/zero",
        "notes.pdf": "group/page.ipynb",
        "outside": str(tmp_path / "outside"),
        "page.ipynb": str(tmp_path / "outside" / "page.ipynb"),
        ".hidden": ".hidden",
        "marks.csv": "marks.csv",
        "feedback": "feedback",
        "under a file": "group/page.ipynb/x",
        "long": "x" * 255,
    }
    for name, target in links.items():
        (folder / name).symlink_to(target)
    found = reasons(marked(folder))
    assert set(found) == set(links)
    assert all("not followed" in said for said in found.values())


def test_pipes_sockets_and_devices_are_told_and_never_waited_for(tmp_path, monkeypatch):
    """Whatever they are called, a row each with the reason."""
    put(tmp_path / "page.ipynb", page(7))
    os.mkfifo(tmp_path / "pipe.ipynb")
    os.mkfifo(tmp_path / "pipe")
    os.mkfifo(tmp_path / ".pipe")
    monkeypatch.chdir(tmp_path)
    with socket.socket(socket.AF_UNIX) as one, socket.socket(socket.AF_UNIX) as two:
        one.bind("socket.ipynb")
        two.bind("socket")
        book = marked(tmp_path)
    assert set(reasons(book)) == {"pipe.ipynb", "socket.ipynb", ".pipe", "pipe", "socket"}
    assert all("no plain file" in said for said in reasons(book).values())
    assert book.aside == ()


def test_what_is_no_plain_file_is_not_read_even_if_it_is_opened(tmp_path):
    """A device, a folder and a pipe are refused after they are opened, and a link before."""
    os.mkfifo(tmp_path / "pipe")
    for path in ("/dev/zero", tmp_path, tmp_path / "pipe"):
        with pytest.raises(Damaged, match="no plain file"):
            beginning(path, 10)
    (tmp_path / "link").symlink_to("pipe")
    with pytest.raises(OSError, match="symbolic"):
        beginning(tmp_path / "link", 10)


@pytest.mark.parametrize(
    ("refused", "said"),
    [
        (errno.EACCES, "you are not allowed to"),
        (errno.ELOOP, "its links go round in a circle"),
        (errno.ENOENT, "it is gone"),
        (errno.EIO, "the disk cannot read it"),
        (errno.ENOTDIR, "it is no folder"),
        (errno.EMFILE, "too many files are open"),
        (errno.EBADF, os.strerror(errno.EBADF)),
    ],
)
@pytest.mark.parametrize("when", ["opened", "half way"])
def test_a_folder_that_refuses_is_told_with_the_reason(tmp_path, monkeypatch, refused, said, when):
    """At once or after some of its entries; what was listed till then is marked, and so are the others."""
    for name in ("a", "shut", "z"):
        put(tmp_path / name / "page.ipynb", page(["a", "shut", "z"].index(name) + 1))
    real = os.scandir

    class Half:
        def __init__(self, path):
            self.real = real(path)

        def __enter__(self):
            return self

        def __exit__(self, *_):
            self.real.close()

        def __iter__(self):
            yield from self.real
            raise OSError(refused, os.strerror(refused))

    def scandir(path):
        if os.path.basename(path) != "shut":
            return real(path)
        if when == "opened":
            raise OSError(refused, os.strerror(refused))
        return Half(path)

    monkeypatch.setattr(finding.os, "scandir", scandir)
    seats = (1, 3) if when == "opened" else (1, 2, 3)
    book = marked(tmp_path, seats)
    assert (set(reasons(book)), book.aside) == ({"shut"}, ())
    line = reasons(book)["shut"]
    end = "so nothing in it was marked" if when == "opened" else "so more may lie in it"
    does = "opened" if when == "opened" else "read to its end"
    assert line == f"This folder cannot be {does} ({said}), {end}."


@pytest.mark.parametrize("refused", [errno.EACCES, errno.ELOOP, errno.EIO, errno.ENAMETOOLONG])
def test_an_entry_that_will_not_say_what_it_is_becomes_a_row(tmp_path, monkeypatch, refused):
    """Its questions raise, as on some disks and for some links; it is looked at once more, and told."""
    put(tmp_path / "page.ipynb", page(7))
    put(tmp_path / "strange.ipynb", page(8))
    put(tmp_path / "strange", b"x")
    (tmp_path / "strange folder").mkdir()
    real = finding._entries

    def entries(folder):
        for entry in real(folder):
            yield Entry(entry, refused) if entry.name.startswith("strange") else entry

    monkeypatch.setattr(finding, "_entries", entries)
    book = marked(tmp_path, (7, 8))
    assert set(reasons(book)) == {"strange", "strange folder"}


@pytest.mark.parametrize("refused", [errno.EACCES, errno.EIO, errno.ESTALE, errno.ENOENT])
@pytest.mark.parametrize("name", ["shut.ipynb", "shut"])
def test_a_file_that_may_not_be_read_becomes_a_row(tmp_path, monkeypatch, refused, name):
    """Also where its name says nothing: it may be a notebook."""
    put(tmp_path / "page.ipynb", page(7))
    put(tmp_path / name, page(8))
    real = os.open

    def refusing(path, *more, **named):
        if os.path.basename(path) == name:
            raise OSError(refused, os.strerror(refused), str(path))
        return real(path, *more, **named)

    monkeypatch.setattr(finding.os, "open", refusing)
    assert reasons(marked(tmp_path)) == {name: f"The file cannot be read: {unseen(OSError(refused, ''))}."}


def test_what_vanishes_between_listing_and_reading_is_told(tmp_path, monkeypatch):
    """A file, a folder with its file, and a file that becomes a link, a pipe or a folder."""
    for name in ("a/page", "b/gone", "c", "d", "e"):
        put(tmp_path / f"{name}.ipynb", page(8))
    put(tmp_path / "page.ipynb", page(7))
    real = marking.handed_in

    def vanishing(folder):
        found = real(folder)
        for name in ("a/page", "b/gone", "c", "d", "e"):
            (folder / f"{name}.ipynb").unlink()
        (folder / "a").rmdir()
        (folder / "c.ipynb").symlink_to("page.ipynb")
        os.mkfifo(folder / "d.ipynb")
        (folder / "e.ipynb").mkdir()
        return found

    monkeypatch.setattr(marking, "handed_in", vanishing)
    found = reasons(marked(tmp_path))
    assert {name: "it is gone" in said for name, said in found.items()} == {
        **{"a/page.ipynb": True, "b/gone.ipynb": True},
        **{"c.ipynb": False, "d.ipynb": False, "e.ipynb": False},
    }
    assert all("not followed" in found[f"{name}.ipynb"] for name in "cde")


def test_a_folder_that_vanishes_while_the_others_are_listed_is_told(tmp_path, monkeypatch):
    """And one that becomes a file."""
    put(tmp_path / "page.ipynb", page(7))
    for name in "ab":
        (tmp_path / name).mkdir()
    real = finding._entries

    def entries(folder):
        found = list(real(folder))
        if folder == tmp_path:
            for name in "ab":
                (tmp_path / name).rmdir()
            put(tmp_path / "b", b"x")
        return iter(found)

    monkeypatch.setattr(finding, "_entries", entries)
    book = marked(tmp_path)
    assert reasons(book) == {
        "a": "This folder cannot be opened (it is gone), so nothing in it was marked.",
        "b": "This folder cannot be opened (it is no folder), so nothing in it was marked.",
    }
    assert "\na: This folder cannot be opened (it is gone)" in book.summary_text


@pytest.mark.parametrize("change", ["grows", "shrinks", "is written over"])
def test_a_file_that_changes_while_it_is_read_is_told(tmp_path, monkeypatch, change):
    """Never half of one state and half of another; the others are marked."""
    put(tmp_path / "page.ipynb", page(7))
    path = put(tmp_path / "changes.ipynb", page(8))
    real, size = os.fstat, path.stat().st_size
    asked = []

    def fstat(number):
        info = real(number)
        if info.st_ino == path.stat().st_ino and stat.S_ISREG(info.st_mode) and not asked:
            asked.append(number)
            os.truncate(path, {"grows": size + 1_000, "shrinks": size // 2}.get(change, size))
            os.utime(path, (1, 1))
        return info

    monkeypatch.setattr(finding.os, "fstat", fstat)
    found = reasons(marked(tmp_path))
    assert list(found) == ["changes.ipynb"]
    assert "changed while it was read" in found["changes.ipynb"]


def test_sizes_are_looked_at_before_anything_is_read(tmp_path, monkeypatch):
    """Of a file of a terabyte not a byte is read."""
    put(tmp_path / "page.ipynb", page(7))
    os.truncate(put(tmp_path / "huge.ipynb", b'{"cells": ['), 10**12)
    real, read = os.read, []

    def reading(number, size):
        read.append(os.fstat(number).st_size)
        return real(number, size)

    monkeypatch.setattr(finding.os, "read", reading)
    found = reasons(marked(tmp_path))
    assert found == {
        "huge.ipynb": "The file has 1,000,000.0 MB, and 20 MB are read at most: clear what the cells show, "
        "save it, and hand it in again."
    }
    assert read
    assert max(read) < 20_000_000


def test_names_of_every_kind_are_told_apart(tmp_path):
    """255 bytes long, no text at all, with breaks and marks, and two that are the same on one line."""
    names = [
        "a\nb.ipynb",
        "a b.ipynb",
        "a b.ipynb (2)",
        "a\tb.ipynb",
        "é" * 120 + ".ipynb",
        "x" * 249 + ".ipynb",
        "=1+1.ipynb",
    ]
    names += ["<b>&.ipynb", "-rf.ipynb", "a'\"b.ipynb", "\u202egpj.ipynb", " .ipynb", "a\\x00.ipynb"]
    for number, name in enumerate(names, 1):
        put(tmp_path / name, page(number))
    raw = [b"\xff\xfe.ipynb", b"\xff\xff.ipynb", b"\xed\xa0\x80.ipynb"]
    for number, name in enumerate(raw, len(names) + 1):
        with open(os.fsencode(tmp_path) + b"/" + name, "wb") as file:
            file.write(put(tmp_path / "x", page(number)).read_bytes())
    os.remove(tmp_path / "x")
    seats = tuple(range(1, len(names) + len(raw) + 1))
    book = marked(tmp_path, seats)
    shown = [paper.file for paper in book.papers]
    assert len(set(shown)) == len(seats)
    assert {"a b.ipynb", "a b.ipynb (2)", "a b.ipynb (3)", "a b.ipynb (2) (2)"} <= set(shown)
    assert all(name.isprintable() and name.encode() for name in shown)
    for paper in book.papers:  # each can be chosen by the name that is shown
        assert gradebook(tmp_path, NAME, counts={paper.seat: paper.file}).counted == book.counted


def test_very_long_paths_keep_the_name_of_the_file(tmp_path):
    """The middle is left out, so that two files in one deep folder are told apart."""
    deep = tmp_path.joinpath(*["d" * 50] * 12)
    assert named(deep / "first.ipynb", tmp_path).endswith("/first.ipynb")
    assert len(named(deep / "first.ipynb", tmp_path)) == 300


@pytest.mark.parametrize(("depth", "name"), [(300, "d"), (300, "dd" * 10), (40, "d" * 250)])
def test_deep_folders_are_marked_or_told(tmp_path, monkeypatch, depth, name):
    """Three hundred deep, or with paths longer than a system takes; the page beside them is marked."""
    put(tmp_path / "page.ipynb", page(7))
    monkeypatch.chdir(tmp_path)
    for _ in range(depth):
        os.mkdir(name)
        os.chdir(name)
    put("deep.ipynb", page(8))
    try:
        book = gradebook(tmp_path, NAME)
        found = {paper.seat for paper in book.counted}
        told = [said for said in reasons(book).values() if "cannot be opened (its path is too long)" in said]
        assert 7 in found
        assert (8 in found) != bool(told)
        assert len(reasons(book)) == len(told)
    finally:  # whoever clears up after the tests calls itself for every folder
        os.remove("deep.ipynb")
        for _ in range(depth):
            os.chdir("..")
            os.rmdir(name)


def test_a_crowded_folder_takes_no_room_from_the_others(tmp_path, monkeypatch):
    """A pupil's folder with more than is looked at, flat or nested, is told; every other page is marked."""
    monkeypatch.setattr(finding, "MOST_FILES", 40)
    for seat in range(1, 6):
        put(tmp_path / f"pupil {seat}" / "page.ipynb", page(seat))
    for number in range(60):
        put(tmp_path / "pupil 0" / f"{number}.txt", b"x")
        put(tmp_path / "pupil 2" / "lib" / f"{number % 8}" / f"{number}.txt", b"x")
    book = marked(tmp_path, (1, 2, 3, 4, 5))
    shut = {name: said for name, said in reasons(book).items() if "more than 40 files" in said}
    assert "This folder cannot be opened (with the others it holds more than 40" in shut["pupil 0"]
    assert any("pupil 2/lib/" in name for name in shut)


def test_of_very_many_folders_that_are_shut_the_first_have_a_row(tmp_path, monkeypatch):
    """And one line says how many more there are, so that a nest of folders fills no table."""
    monkeypatch.setattr(finding, "MOST_TOLD", 5)
    put(tmp_path / "page.ipynb", page(7))
    real = finding._entries

    def entries(folder):
        if folder != tmp_path:
            raise PermissionError(errno.EACCES, "Permission denied")
        return real(folder)

    monkeypatch.setattr(finding, "_entries", entries)
    for folders in (6, 20):
        for number in range(folders):
            (tmp_path / f"{number:02}").mkdir(exist_ok=True)
        book = marked(tmp_path)
        assert sorted(reasons(book)) == [f"{number:02}" for number in range(6 if folders == 6 else 5)]
        more = "15 more folders cannot be opened or read to their end, so nothing more in them was marked."
        assert book.aside == ((more,) if folders == 20 else ())


def test_a_very_long_list_of_other_files_is_cut(tmp_path, monkeypatch):
    """The first by name, and how many more."""
    monkeypatch.setattr(finding, "MOST_TOLD", 5)
    put(tmp_path / "page.ipynb", page(7))
    for number in range(20):
        put(tmp_path / f"{number:02}.txt", b"x")
    aside = marked(tmp_path).aside
    assert len(aside) == 6
    assert aside[-1] == "15 more files are no notebooks, and were not marked."


def test_what_a_stopped_process_left_half_written_is_passed_over(tmp_path):
    """A page that was to be put there, known by its name; a folder or a link of such a name is not."""
    put(tmp_path / "page.ipynb", page(7))
    put(tmp_path / ".page.ipynb.0f9a3c5e.part", page(8))
    assert marked(tmp_path).papers[1:] == ()
    put(tmp_path / ".page.ipynb.0f9a3c5f.part" / "page.ipynb", page(9))
    (tmp_path / ".page.ipynb.0f9a3c5d.part").symlink_to("page.ipynb")
    assert set(reasons(marked(tmp_path, (7, 9)))) == {".page.ipynb.0f9a3c5d.part"}


def test_a_pupils_own_marks_and_feedback_hide_no_page(tmp_path):
    """Only what the gradebook itself writes is passed over beside a table of marks."""
    put(tmp_path / "pupil" / "marks.csv", b"mine")
    put(tmp_path / "pupil" / "summary.html", b"mine")
    put(tmp_path / "pupil" / "feedback" / "page.ipynb", page(7))
    put(tmp_path / "pupil" / "feedback" / "seat-007.html", b"mine")
    put(tmp_path / "pupil" / "feedback" / "notes.html", b"mine")
    assert marked(tmp_path).aside == ("pupil/feedback/notes.html is no notebook, and was not marked.",)
    put(tmp_path / "feedback", page(8))
    put(tmp_path / "marks.csv", b"mine")
    assert [paper.seat for paper in gradebook(tmp_path, NAME).counted] == [7, 8]


@pytest.mark.parametrize("kind", ["loop", "refused", "gone", "a file", "a pipe", "empty name"])
def test_a_folder_that_cannot_be_marked_at_all_is_refused_in_a_line(tmp_path, monkeypatch, kind):
    """With an example, and never as an error of the system."""
    folder = tmp_path / "in"
    said = "is not a folder"
    if kind == "loop":
        folder.symlink_to(folder)
    elif kind == "refused":
        folder.mkdir()
        said = r"it cannot be opened: you are not allowed to"

        def refused(path):
            raise PermissionError(errno.EACCES, "Permission denied", str(path))

        monkeypatch.setattr(finding.os, "scandir", refused)
    elif kind == "a file":
        put(folder, b"x")
    elif kind == "a pipe":
        os.mkfifo(folder)
    elif kind == "empty name":
        said = "can be the name of no file"
        folder = "a\0b"
    with pytest.raises(ValueError, match=rf"{said}; for example gradebook\("):
        gradebook(folder, NAME)


@pytest.mark.parametrize("where", ["returned", "rows_of"])
def test_what_nobody_thought_of_ends_no_marking(tmp_path, monkeypatch, where):
    """An error of any kind on one file is told of that file."""
    put(tmp_path / "page.ipynb", page(7))
    put(tmp_path / "worse.ipynb", page(8))
    real = getattr(marking, where)

    def broken(first, *more):
        if getattr(first, "name", "") == "worse.ipynb" and not getattr(first, "damage", ""):
            raise RecursionError
        return real(first, *more)

    monkeypatch.setattr(marking, where, broken)
    found = reasons(marked(tmp_path))
    assert found == {"worse.ipynb": "The file cannot be marked (RecursionError); show it to your teacher."}


def test_a_stray_page_of_another_assignment_stops_nothing(tmp_path):
    """Of many pages one, or one in ten, may say another name; it is told, and half of them are refused."""
    for seat in range(1, 21):
        put(tmp_path / f"{seat}.ipynb", page(seat, name=NAME if seat > 2 else f"{NAME}{seat}"))
    book = gradebook(tmp_path)
    assert (book.name, len(book.counted)) == (NAME, 18)
    assert all("of another assignment" in said for said in reasons(book).values())
    put(tmp_path / "3.ipynb", page(3, name="other"))
    with pytest.raises(ValueError, match="several assignments"):
        gradebook(tmp_path)


def test_a_whole_class_is_marked_beside_everything_at_once(tmp_path):
    """Thirty pages and every kind of trouble in one tree."""
    for seat in range(1, 31):
        put(tmp_path / f"pupil {seat}" / "page.ipynb", page(seat))
        (tmp_path / f"pupil {seat}" / "loop").symlink_to("loop")
        (tmp_path / f"pupil {seat}" / "all").symlink_to("..")
        os.mkfifo(tmp_path / f"pupil {seat}" / "again.ipynb")
    book = marked(tmp_path, tuple(range(1, 31)))
    assert len(reasons(book)) == 90
    assert {row.question for paper in book.counted for row in paper.rows} == set(IDS)
    assert returned(tmp_path / "pupil 1" / "loop", tmp_path).damage == finding.LINK
    assert handed_in(tmp_path)[1:] == ({}, [])

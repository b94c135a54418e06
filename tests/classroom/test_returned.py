"""A returned notebook: what is found in it, what is said where it cannot be read, and that nothing runs."""

import errno
import json
import os
import socket
import stat
from importlib import import_module

import pytest

from rhythmlab.classroom import returned as module
from rhythmlab.classroom.gradebook import gradebook
from rhythmlab.classroom.reader import MOST_SOURCE
from rhythmlab.classroom.returned import (
    DEEPEST,
    MOST_BYTES,
    MOST_REPLIES,
    MOST_WRITTEN,
    DamagedFile,
    file_label,
    find_notebooks,
    one_line,
    read_beginning,
    read_notebook,
)
from rhythmlab.files import reason_unseen
from tests.classroom.pages import IDS, NAME, code, page, put, reply_cell

#: The module; its function of the same name is what the room has.
marking = import_module("rhythmlab.classroom.gradebook")


def read(folder, notebook, name="page.ipynb"):
    """Return what is read of one page."""
    return read_notebook(put(folder / name, notebook), folder)


def test_a_page_says_its_assignment_seat_and_replies(tmp_path):
    """The name, the seat, and one reply for each question, each as it was written and as it is read."""
    found = read(tmp_path, page(7, {"grid-ticks": "[ 7 ]"}))
    assert (found.name, found.assignment, found.seat, found.made_for) == ("page.ipynb", NAME, 7, 0)
    assert (found.time, len(found.digest), found.damage) == (1_700_000_000, 64, "")
    assert [reply.id for reply in found.replies] == list(IDS)
    first = found.replies[0]
    assert (first.text, first.value, first.unread, first.changed, first.tagged) == (
        "[ 7 ]",
        [7],
        "",
        "",
        True,
    )


@pytest.mark.parametrize(
    ("line", "seats", "text"),
    [
        ('work = rl.classroom.assignment("{n}", seat=7)', (7,), ""),
        ("work=rl.classroom.assignment('{n}',7)", (7,), ""),
        ('  work = rhythmlab.classroom.assignment( "{n}", mode="test", seat = 7 )', (7,), ""),
        ('work = rl.classroom.assignment(\n    "{n}",\n    seat=7,  # not seat=8\n)', (7,), ""),
        ('work = rl.classroom.assignment(seat=7, name="{n}")', (7,), ""),
        ('work = rl.classroom.assignment("{n}", seat=0)', (), ""),
        ('work = rl.classroom.assignment("{n}", mode="test")', (), ""),
        ('work = rl.classroom.assignment("{n}")', (), ""),
        ('work = rl.classroom.assignment("{n}", seat=)', (), ""),
        ('work = rl.classroom.assignment("{n}", seat=1234567)', (), "1234567"),
        ('work = rl.classroom.assignment("{n}", seat=7 + 1)', (), "7 + 1"),
        ('work = rl.classroom.assignment("{n}", seat=-7)', (), "-7"),
        ('work = rl.classroom.assignment("{n}", seat=7.5)', (), "7.5"),
        ('work = rl.classroom.assignment("{n}", seat="7")', (), '"7"'),
        ('work = rl.classroom.assignment("{n}", seat=seven)', (), "seven"),
        ('work = rl.classroom.assignment("{n}", seat=٧)', (), "٧"),
    ],
)
def test_the_seat_is_the_number_that_is_typed_and_nothing_else(tmp_path, line, seats, text):
    """No part of a longer number, no sum, no word: what is no seat is kept as it was written."""
    notebook = page(1)
    notebook["cells"][1]["source"] = line.format(n=NAME)
    found = read(tmp_path, notebook)
    assert (found.assignment, found.seats, found.seat_text) == (NAME, seats, text)
    assert found.seat == (seats or (0,))[-1]


def test_two_openings_are_both_told(tmp_path):
    """The last seat counts, as when the page is run; the cell as it was handed out is no seat."""
    notebook = page(0)
    notebook["cells"] += [code(f'work = rl.classroom.assignment("{NAME}", seat={seat})') for seat in (3, 7)]
    found = read(tmp_path, notebook)
    assert (found.seats, found.seat) == ((3, 7), 7)
    notebook["cells"] += [code(f'work = rl.classroom.assignment("{NAME}", seat=3)')]
    found = read(tmp_path, notebook)
    assert (found.seats, found.seat) == ((7, 3), 3)


@pytest.mark.parametrize("seat", [True, -5, 10**30, 100_001, "7", [7], None, 7.0, {}])
def test_a_seat_in_the_metadata_that_is_none_is_as_good_as_none(tmp_path, seat):
    """Only a whole number of a seat is taken, also where the opening cell is gone."""
    notebook = page(7, made_for=seat)
    assert read(tmp_path, notebook).made_for == 0
    notebook["cells"][1]["source"] = ""
    assert read(tmp_path, notebook).seat == 0


def test_a_page_without_its_tags_is_read_by_its_text(tmp_path):
    """Metadata of cells and page lost: the same replies and the same seat."""
    notebook = page(7)
    whole = read(tmp_path, notebook)
    for part in (notebook, *notebook["cells"]):
        part["metadata"] = {}
    bare = read(tmp_path, notebook)
    assert [(one.id, one.value) for one in bare.replies] == [(one.id, one.value) for one in whole.replies]
    assert not any(one.tagged for one in bare.replies)
    assert (bare.assignment, bare.seat) == (NAME, 7)


def test_an_opening_that_is_gone_is_read_from_the_metadata(tmp_path):
    """A page that was made for a seat still says so."""
    notebook = page(7, made_for=7)
    del notebook["cells"][1]
    found = read(tmp_path, notebook)
    assert (found.assignment, found.seat, found.made_for) == (NAME, 7, 7)


def test_the_id_in_the_text_counts_and_the_one_in_the_metadata_is_kept(tmp_path):
    """A cell that replies to another question than it was made for says both."""
    notebook = page(7)
    reply_cell(notebook, "grid-ticks")["source"] = 'work.reply("grid-rows", answer=[1])'
    first = read(tmp_path, notebook).replies[0]
    assert (first.id, first.changed) == ("grid-rows", "grid-ticks")


def test_a_reply_in_a_cell_that_became_text_is_read(tmp_path):
    """A cell of Markdown with its tag is a reply still; one without is the text of the page."""
    notebook = page(7)
    reply_cell(notebook, "grid-ticks")["cell_type"] = "markdown"
    assert len(read(tmp_path, notebook).replies) == len(IDS)
    reply_cell(notebook, "grid-ticks")["metadata"] = {}
    assert len(read(tmp_path, notebook).replies) == len(IDS) - 1


def test_quotes_of_a_word_processor_do_not_lose_the_cell(tmp_path):
    """A reply with printer's quotes and no tag is found, and told as unreadable."""
    notebook = page(7)
    notebook["cells"].append(code("work.reply(“grid-ticks”, answer=[7])"))
    last = read(tmp_path, notebook).replies[-1]
    assert last.id == "grid-ticks"
    assert "straight one" in last.unread


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b" \n", "empty"),
        (b"\x89PNG\r\n\x1a\n\x00", "no text"),
        (b"\xff\xfe{\x00}\x00", "no text"),
        (b"[]", "holds no cells"),
        (b"7", "holds no cells"),
        (b"{}", "holds no cells"),
        (b'{"cells": {}, "nbformat": 4}', "holds no cells"),
        (b'{"cells": [], "nbformat": "4"}', "another kind"),
        (b'{"worksheets": [], "nbformat": 3}', "another kind"),
        (b'{"worksheets": [], "nbformat": 4}', "another kind"),
        (b'{"cells": []', "breaks off"),
        (b'{"cells": [], "nbformat": 4} more', "breaks off"),
        (b"[" * 10_000, f"more than {DEEPEST} deep"),
        (b'{"a":' * 100_000, f"more than {DEEPEST} deep"),
        (b"[" + b"[]," * 1_200_000 + b"[]]", "1,000,000 parts"),
        (b'{"cells": [{"cell_type": "code", "source": "' + b'\\"' * 1_000_000 + b"\\", "breaks off"),
    ],
    ids=range(17),
)
def test_what_is_wrong_with_a_file_is_said(tmp_path, data, said):
    """Each kind of damage has a sentence, and no reply is made up."""
    found = read(tmp_path, data)
    assert said in found.damage
    assert found.damage.endswith(".")
    assert (found.replies, found.seat) == ((), 0)


def test_every_page_that_breaks_off_is_told(tmp_path):
    """Cut anywhere, it is damaged."""
    data = json.dumps(page(7)).encode()
    assert not read(tmp_path, data).damage
    assert all(read(tmp_path, data[:cut]).damage for cut in range(0, len(data), 97))


def test_odd_numbers_and_odd_constants_are_no_harm(tmp_path):
    """A million digits, NaN and Infinity stand in a page; its replies are read as ever."""
    plain_page = json.dumps(page(7))[:-1]
    big = f"{'9' * 1_000_000}"
    data = f'{plain_page}, "a": {big}, "b": -{big}, "c": 0.{big}, "d": 1e{big[:9]}, "e": [NaN, -Infinity]}}'
    found = read(tmp_path, data.encode())
    assert not found.damage
    assert len(found.replies) == len(IDS)


def test_a_byte_order_mark_is_no_harm(tmp_path):
    """Some editors write one."""
    assert read(tmp_path, b"\xef\xbb\xbf" + json.dumps(page(7)).encode()).seat == 7


def test_cells_of_the_wrong_kind_are_passed_over(tmp_path):
    """Cells that are no cells, sources that are no text, metadata of any kind: the others are read."""
    notebook = page(7)
    odd = [None, 7, "x", [], {}, {"cell_type": []}, {"cell_type": "code", "source": {"a": 1}, "metadata": 3}]
    odd += [{"cell_type": "code", "source": [1, None, ["work"], {}], "metadata": {"rhythmlab": [1]}}]
    odd += [{"cell_type": "code", "source": 7, "metadata": {"rhythmlab": {"question": 7}}}]
    notebook["cells"] = odd + notebook["cells"] + odd
    notebook["metadata"] = ["rhythmlab"]
    assert len(read(tmp_path, notebook).replies) == len(IDS)


def test_a_source_in_pieces_is_put_together(tmp_path):
    """As JupyterLab writes it: a list of lines; what is no text among them is left out."""
    notebook = page(7)
    reply_cell(notebook, "grid-ticks")["source"] = ['work.reply("grid-ticks",', 7, "\n  answer=[3])"]
    assert read(tmp_path, notebook).replies[0].value == [3]


def test_a_hundred_thousand_cells_lose_none(tmp_path):
    """The reply in the last of them is read; a thousand replies too many are told."""
    notebook = page(7)
    notebook["cells"][:0] = [code("1")] * 100_000
    assert len(read(tmp_path, notebook).replies) == len(IDS)
    notebook["cells"] = notebook["cells"][-4:] * (MOST_REPLIES + 1)
    assert "replies" in read(tmp_path, notebook).damage


@pytest.mark.parametrize("kind", ["tagged", "by its text alone", "empty", "tags alone"])
def test_replies_are_counted_before_the_first_is_read(tmp_path, monkeypatch, kind):
    """One too many is told, and none was read; as many as are allowed are read."""
    notebook, read_so_far = page(7, dict.fromkeys(IDS)), []
    one = code('work.reply("grid-ticks", answer=[7])', None if kind == "by its text alone" else "grid-ticks")
    if kind in ("empty", "tags alone"):
        one["source"] = "" if kind == "empty" else "[7]"
    real = module.reply_of
    monkeypatch.setattr(module, "reply_of", lambda source: read_so_far.append(1) or real(source))
    notebook["cells"] += [one] * (MOST_REPLIES + 1)
    assert "more than 1,000 replies" in read(tmp_path, notebook).damage
    assert not read_so_far
    notebook["cells"].pop()
    assert len(read(tmp_path, notebook).replies) == MOST_REPLIES
    assert len(read_so_far) == (0 if kind == "empty" else MOST_REPLIES)


def test_what_is_written_in_all_replies_is_counted_before_the_first_is_read(tmp_path, monkeypatch):
    """So that no page takes seconds; one reply that is too long by itself takes nothing from the others."""
    notebook, read_so_far = page(7, dict.fromkeys(IDS)), []
    real = module.reply_of
    monkeypatch.setattr(module, "reply_of", lambda source: read_so_far.append(1) or real(source))
    reply = code('work.reply("grid-ticks", answer=[7])'.ljust(MOST_SOURCE), "grid-ticks")
    longer = code(reply["source"] + " ", "grid-ticks")
    notebook["cells"] += [reply] * (MOST_WRITTEN // MOST_SOURCE) + [longer] * 3
    found = read(tmp_path, notebook)
    assert [one.value for one in found.replies] == [[7]] * (MOST_WRITTEN // MOST_SOURCE) + [None] * 3
    read_so_far.clear()
    notebook["cells"].append(code("work.reply('grid-rows')", "grid-rows"))
    assert "characters in all, and 200,000 are read at most" in read(tmp_path, notebook).damage
    assert not read_so_far


def test_brackets_in_texts_are_no_parts_and_no_depth(tmp_path):
    """However a text is written: with quotes, backslashes and brackets in it, at every length."""
    notebook = page(7)
    notebook["cells"].append(code('"[{' * 2_000 + "\\" * 999 + '"' + "[" * 2_000 + "\\"))
    notebook["metadata"]['["\\'] = "]" * 5_000_000 + '"'
    assert read(tmp_path, notebook).seat == 7
    for extra in range(20):
        notebook["metadata"]["a"] = "\\" * extra + '"' * (extra % 3)
        notebook["metadata"]["b"] = ["[" * 100]
        assert read(tmp_path, notebook).seat == 7


def test_a_huge_file_is_not_read(tmp_path):
    """A file with 50 MB in one text is told with its size, before it is taken in whole."""
    path = put(tmp_path / "page.ipynb", b'{"cells": ["')
    os.truncate(path, 50_000_000)
    found = read_notebook(path, tmp_path)
    assert "50.0 MB" in found.damage
    assert found.digest == ""
    os.truncate(path, MOST_BYTES)
    assert "MB" not in read_notebook(path, tmp_path).damage


def test_links_pipes_and_sockets_are_told_and_not_opened(tmp_path, monkeypatch):
    """A link to a page, a broken one, a pipe, a socket: told at once, and none is followed or waited for."""
    put(tmp_path / "outside" / "page.ipynb", page(7))
    folder = tmp_path / "in"
    folder.mkdir()
    (folder / "link.ipynb").symlink_to(tmp_path / "outside" / "page.ipynb")
    (folder / "broken.ipynb").symlink_to(tmp_path / "nowhere")
    (folder / "deep").symlink_to(tmp_path / "outside", target_is_directory=True)
    (folder / "round").symlink_to(folder, target_is_directory=True)
    (folder / "zero.ipynb").symlink_to("/dev/zero")
    os.mkfifo(folder / "pipe.ipynb")
    monkeypatch.chdir(folder)
    with socket.socket(socket.AF_UNIX) as one:
        one.bind("socket.ipynb")
        paths, shut, aside = find_notebooks(folder)
        found = {path.name: read_notebook(path, folder).damage for path in paths}
    names = ("broken.ipynb", "deep", "link.ipynb", "pipe.ipynb", "round", "socket.ipynb", "zero.ipynb")
    assert tuple(found) == names
    assert all("not followed" in said for said in found.values())
    assert (shut, aside) == ({}, [])


def test_a_file_that_becomes_a_link_or_a_pipe_meanwhile_is_not_followed(tmp_path):
    """What is opened is looked at once more."""
    put(tmp_path / "page.ipynb", page(7))
    (tmp_path / "link.ipynb").symlink_to(tmp_path / "page.ipynb")
    os.mkfifo(tmp_path / "pipe.ipynb")
    with pytest.raises(OSError, match="symbolic"):
        module.read_beginning(tmp_path / "link.ipynb", 10)
    with pytest.raises(module.DamagedFile, match="not followed"):
        module.read_beginning(tmp_path / "pipe.ipynb", 10)


def test_a_file_that_is_gone_meanwhile_is_told(tmp_path):
    """No error ends the marking."""
    assert "cannot be read" in read_notebook(tmp_path / "gone.ipynb", tmp_path).damage


def test_any_name_nested_or_flat_is_found(tmp_path):
    """By its content where its name says nothing; rubbish of systems is left out, and the rest is told."""
    for name in ("b/c/page.ipynb", "a.ipynb.txt", "A.IPYNB", "hand in", "page.json", "b/7"):
        put(tmp_path / name, page(7))
    for name in ("notes.pdf", "b/picture.png", "page.html"):
        put(tmp_path / name, b"%PDF")
    for name in (".ipynb_checkpoints/a.ipynb", "__MACOSX/b.ipynb", "._a.ipynb", "Thumbs.db", ".DS_Store"):
        put(tmp_path / name, b"rubbish")
    paths, _, aside = find_notebooks(tmp_path)
    names = [path.relative_to(tmp_path).as_posix() for path in paths]
    assert names == sorted(["b/c/page.ipynb", "a.ipynb.txt", "A.IPYNB", "hand in", "page.json", "b/7"])
    assert [said.split(" is no")[0] for said in aside] == ["b/picture.png", "notes.pdf", "page.html"]


def test_folders_in_folders_without_end_are_walked(tmp_path, monkeypatch):
    """Deeper than Python calls itself: the page below is found, or where the walk ended is told."""
    deep = 1_200
    monkeypatch.chdir(tmp_path)
    for _ in range(deep):
        os.mkdir("d")
        os.chdir("d")
    put("page.ipynb", page(7))
    try:
        paths, shut, aside = find_notebooks(tmp_path)
        assert [path.name for path in paths] == ["page.ipynb"]
        assert (shut, aside) == ({}, [])
    finally:  # whoever clears up after the tests calls itself for every folder
        os.remove("page.ipynb")
        for _ in range(deep):
            os.chdir("..")
            os.rmdir("d")


def test_a_folder_that_cannot_be_opened_is_told(tmp_path, monkeypatch):
    """What may lie in it is not lost in silence."""
    put(tmp_path / "shut" / "page.ipynb", page(7))
    entries = module._entries

    def refused(folder):
        if folder.name == "shut":
            raise PermissionError(13, "Permission denied")
        return entries(folder)

    monkeypatch.setattr(module, "_entries", refused)
    said = "This folder cannot be opened (you are not allowed to), so nothing in it was marked."
    assert find_notebooks(tmp_path) == ([], {tmp_path / "shut": said}, [])


def test_names_that_escape_or_hold_markup_are_written_on_one_line(tmp_path):
    """Newlines, letters that turn the line round, and bytes that are no text are spelled out."""
    put(tmp_path / "a\nb\u202e<b>.ipynb", page(7))
    with open(os.fsencode(tmp_path) + b"/\xff\xfe.ipynb", "wb") as file:
        file.write(b"{}")
    names = [read_notebook(path, tmp_path).name for path in find_notebooks(tmp_path)[0]]
    assert names == ["a b\\u202e<b>.ipynb", "\\udcff\\udcfe.ipynb"]
    assert all(name.isprintable() and name.encode() for name in names)


def test_too_many_files_are_refused(tmp_path, monkeypatch):
    """A folder without end is told, not walked for ever."""
    monkeypatch.setattr(module, "MOST_FILES", 5)
    for i in range(6):
        put(tmp_path / f"{i}.ipynb", b"")
    with pytest.raises(ValueError, match="more than 5 files"):
        find_notebooks(tmp_path)


#: Text that is made to be slow for a pattern that tries all over again; the benchmarks time it.
SLOW = (
    "\n" * 300_000,
    "work=" * 60_000,
    "work = rl.classroom.assignment(" * 15_000,
    "work.reply(" * 30_000,
    'work.reply("' + "a" * 300_000,
    "work .  reply ( " * 20_000,
    'work = rl.classroom.assignment("' + "a" * 300_000,
    " " * 300_000,
    "work = rl.classroom.assignment(\n" * 15_000 + "seat=" * 1_000,
)


@pytest.mark.parametrize("text", SLOW, ids=range(len(SLOW)))
def test_a_cell_made_to_be_slow_is_passed_and_the_others_are_read(tmp_path, text):
    """A pattern that tries all over again would take hours here; the page comes out whole."""
    notebook = page(7)
    notebook["cells"].append(code(text))
    found = read(tmp_path, notebook)
    assert [reply.id for reply in found.replies][: len(IDS)] == list(IDS)
    assert found.seat == 7


@pytest.mark.parametrize(
    "data",
    [b'"\\"' * 1_300_000 + b"\\", b'"' + b"\\" * 4_000_001, b'"' * 4_000_001, b'{"' * 2_000_000],
    ids=range(4),
)
def test_a_file_made_to_be_slow_is_told_as_damaged(tmp_path, data):
    """Quotes that never close, and backslashes without end, in 4 MB."""
    assert read(tmp_path, data).damage


def test_text_is_shown_on_one_line_and_cut():
    """What cannot be seen or stored is spelled out; the rest stays as it is."""
    assert one_line("a  b & <c>") == "a  b & <c>"
    assert one_line("a\n\t b") == "a b"
    assert one_line("\x00\x1b\u202e\ud800") == "\\x00\\x1b\\u202e\\ud800"
    assert one_line("x" * 700) == "x" * 597 + "..."


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
        with pytest.raises(DamagedFile, match="no plain file"):
            read_beginning(path, 10)
    (tmp_path / "link").symlink_to("pipe")
    with pytest.raises(OSError, match="symbolic"):
        read_beginning(tmp_path / "link", 10)


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

    monkeypatch.setattr(module.os, "scandir", scandir)
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
    real = module._entries

    def entries(folder):
        for entry in real(folder):
            yield Entry(entry, refused) if entry.name.startswith("strange") else entry

    monkeypatch.setattr(module, "_entries", entries)
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

    monkeypatch.setattr(module.os, "open", refusing)
    assert reasons(marked(tmp_path)) == {
        name: f"The file cannot be read: {reason_unseen(OSError(refused, ''))}."
    }


def test_what_vanishes_between_listing_and_reading_is_told(tmp_path, monkeypatch):
    """A file, a folder with its file, and a file that becomes a link, a pipe or a folder."""
    for name in ("a/page", "b/gone", "c", "d", "e"):
        put(tmp_path / f"{name}.ipynb", page(8))
    put(tmp_path / "page.ipynb", page(7))
    real = marking.find_notebooks

    def vanishing(folder):
        found = real(folder)
        for name in ("a/page", "b/gone", "c", "d", "e"):
            (folder / f"{name}.ipynb").unlink()
        (folder / "a").rmdir()
        (folder / "c.ipynb").symlink_to("page.ipynb")
        os.mkfifo(folder / "d.ipynb")
        (folder / "e.ipynb").mkdir()
        return found

    monkeypatch.setattr(marking, "find_notebooks", vanishing)
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
    real = module._entries

    def entries(folder):
        found = list(real(folder))
        if folder == tmp_path:
            for name in "ab":
                (tmp_path / name).rmdir()
            put(tmp_path / "b", b"x")
        return iter(found)

    monkeypatch.setattr(module, "_entries", entries)
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

    monkeypatch.setattr(module.os, "fstat", fstat)
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

    monkeypatch.setattr(module.os, "read", reading)
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
    assert file_label(deep / "first.ipynb", tmp_path).endswith("/first.ipynb")
    assert len(file_label(deep / "first.ipynb", tmp_path)) == 300


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
    monkeypatch.setattr(module, "MOST_FILES", 40)
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
    monkeypatch.setattr(module, "MOST_TOLD", 5)
    put(tmp_path / "page.ipynb", page(7))
    real = module._entries

    def entries(folder):
        if folder != tmp_path:
            raise PermissionError(errno.EACCES, "Permission denied")
        return real(folder)

    monkeypatch.setattr(module, "_entries", entries)
    for folders in (6, 20):
        for number in range(folders):
            (tmp_path / f"{number:02}").mkdir(exist_ok=True)
        book = marked(tmp_path)
        assert sorted(reasons(book)) == [f"{number:02}" for number in range(6 if folders == 6 else 5)]
        more = "15 more folders cannot be opened or read to their end, so nothing more in them was marked."
        assert book.aside == ((more,) if folders == 20 else ())


def test_a_very_long_list_of_other_files_is_cut(tmp_path, monkeypatch):
    """The first by name, and how many more."""
    monkeypatch.setattr(module, "MOST_TOLD", 5)
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
    said = r"is not a folder: it was looked for at .*in'"
    if kind == "loop":
        folder.symlink_to(folder)
    elif kind == "refused":
        folder.mkdir()
        said = r"it cannot be opened: you are not allowed to"

        def refused(path):
            raise PermissionError(errno.EACCES, "Permission denied", str(path))

        monkeypatch.setattr(module.os, "scandir", refused)
    elif kind == "a file":
        put(folder, b"x")
    elif kind == "a pipe":
        os.mkfifo(folder)
    elif kind == "empty name":
        said = "can be the name of no file"
        folder = "a\0b"
    with pytest.raises(ValueError, match=rf"{said}; for example classroom.gradebook\("):
        gradebook(folder, NAME)


@pytest.mark.parametrize("where", ["read_notebook", "mark"])
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
    assert read_notebook(tmp_path / "pupil 1" / "loop", tmp_path).damage == module.LINK
    assert find_notebooks(tmp_path)[1:] == ({}, [])

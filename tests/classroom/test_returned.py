"""A returned notebook: what is found in it, what is said where it cannot be read, and that nothing runs."""

import json
import os
import socket

import pytest

from rhythmlab.classroom import handed_in as module
from rhythmlab.classroom import returned as reading
from rhythmlab.classroom.handed_in import handed_in, plain
from rhythmlab.classroom.literal import MOST_SOURCE
from rhythmlab.classroom.returned import DEEPEST, MOST_BYTES, MOST_REPLIES, MOST_WRITTEN, returned
from tests.classroom.pages import IDS, NAME, code, page, put, reply_cell


def read(folder, notebook, name="page.ipynb"):
    """Return what is read of one page."""
    return returned(put(folder / name, notebook), folder)


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
        ('work = rl.assignment("{n}", seat=7)', (7,), ""),
        ("work=rl.assignment('{n}',7)", (7,), ""),
        ('  work = rhythmlab.assignment( "{n}", mode="test", seat = 7 )', (7,), ""),
        ('work = rl.assignment(\n    "{n}",\n    seat=7,  # not seat=8\n)', (7,), ""),
        ('work = rl.assignment(seat=7, name="{n}")', (7,), ""),
        ('work = rl.assignment("{n}", seat=0)', (), ""),
        ('work = rl.assignment("{n}", mode="test")', (), ""),
        ('work = rl.assignment("{n}")', (), ""),
        ('work = rl.assignment("{n}", seat=)', (), ""),
        ('work = rl.assignment("{n}", seat=1234567)', (), "1234567"),
        ('work = rl.assignment("{n}", seat=7 + 1)', (), "7 + 1"),
        ('work = rl.assignment("{n}", seat=-7)', (), "-7"),
        ('work = rl.assignment("{n}", seat=7.5)', (), "7.5"),
        ('work = rl.assignment("{n}", seat="7")', (), '"7"'),
        ('work = rl.assignment("{n}", seat=seven)', (), "seven"),
        ('work = rl.assignment("{n}", seat=٧)', (), "٧"),
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
    notebook["cells"] += [code(f'work = rl.assignment("{NAME}", seat={seat})') for seat in (3, 7)]
    found = read(tmp_path, notebook)
    assert (found.seats, found.seat) == ((3, 7), 7)
    notebook["cells"] += [code(f'work = rl.assignment("{NAME}", seat=3)')]
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
    real = reading.reply_of
    monkeypatch.setattr(reading, "reply_of", lambda source: read_so_far.append(1) or real(source))
    notebook["cells"] += [one] * (MOST_REPLIES + 1)
    assert "more than 1,000 replies" in read(tmp_path, notebook).damage
    assert not read_so_far
    notebook["cells"].pop()
    assert len(read(tmp_path, notebook).replies) == MOST_REPLIES
    assert len(read_so_far) == (0 if kind == "empty" else MOST_REPLIES)


def test_what_is_written_in_all_replies_is_counted_before_the_first_is_read(tmp_path, monkeypatch):
    """So that no page takes seconds; one reply that is too long by itself takes nothing from the others."""
    notebook, read_so_far = page(7, dict.fromkeys(IDS)), []
    real = reading.reply_of
    monkeypatch.setattr(reading, "reply_of", lambda source: read_so_far.append(1) or real(source))
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
    found = returned(path, tmp_path)
    assert "50.0 MB" in found.damage
    assert found.digest == ""
    os.truncate(path, MOST_BYTES)
    assert "MB" not in returned(path, tmp_path).damage


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
        paths, shut, aside = handed_in(folder)
        found = {path.name: returned(path, folder).damage for path in paths}
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
        module.beginning(tmp_path / "link.ipynb", 10)
    with pytest.raises(module.Damaged, match="not followed"):
        module.beginning(tmp_path / "pipe.ipynb", 10)


def test_a_file_that_is_gone_meanwhile_is_told(tmp_path):
    """No error ends the marking."""
    assert "cannot be read" in returned(tmp_path / "gone.ipynb", tmp_path).damage


def test_any_name_nested_or_flat_is_found(tmp_path):
    """By its content where its name says nothing; rubbish of systems is left out, and the rest is told."""
    for name in ("b/c/page.ipynb", "a.ipynb.txt", "A.IPYNB", "hand in", "page.json", "b/7"):
        put(tmp_path / name, page(7))
    for name in ("notes.pdf", "b/picture.png", "page.html"):
        put(tmp_path / name, b"%PDF")
    for name in (".ipynb_checkpoints/a.ipynb", "__MACOSX/b.ipynb", "._a.ipynb", "Thumbs.db", ".DS_Store"):
        put(tmp_path / name, b"rubbish")
    paths, _, aside = handed_in(tmp_path)
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
        paths, shut, aside = handed_in(tmp_path)
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
    assert handed_in(tmp_path) == ([], {tmp_path / "shut": said}, [])


def test_names_that_escape_or_hold_markup_are_written_on_one_line(tmp_path):
    """Newlines, letters that turn the line round, and bytes that are no text are spelled out."""
    put(tmp_path / "a\nb\u202e<b>.ipynb", page(7))
    with open(os.fsencode(tmp_path) + b"/\xff\xfe.ipynb", "wb") as file:
        file.write(b"{}")
    names = [returned(path, tmp_path).name for path in handed_in(tmp_path)[0]]
    assert names == ["a b\\u202e<b>.ipynb", "\\udcff\\udcfe.ipynb"]
    assert all(name.isprintable() and name.encode() for name in names)


def test_too_many_files_are_refused(tmp_path, monkeypatch):
    """A folder without end is told, not walked for ever."""
    monkeypatch.setattr(module, "MOST_FILES", 5)
    for i in range(6):
        put(tmp_path / f"{i}.ipynb", b"")
    with pytest.raises(ValueError, match="more than 5 files"):
        handed_in(tmp_path)


#: Text that is made to be slow for a pattern that tries all over again; the benchmarks time it.
SLOW = (
    "\n" * 300_000,
    "work=" * 60_000,
    "work = rl.assignment(" * 15_000,
    "work.reply(" * 30_000,
    'work.reply("' + "a" * 300_000,
    "work .  reply ( " * 20_000,
    'work = rl.assignment("' + "a" * 300_000,
    " " * 300_000,
    "work = rl.assignment(\n" * 15_000 + "seat=" * 1_000,
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
    assert plain("a  b & <c>") == "a  b & <c>"
    assert plain("a\n\t b") == "a b"
    assert plain("\x00\x1b\u202e\ud800") == "\\x00\\x1b\\u202e\\ud800"
    assert plain("x" * 700) == "x" * 597 + "..."

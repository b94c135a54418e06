"""What the gradebook writes: every page is whole, says why, and holds no markup of a pupil's."""

import os
import re
import socket
from html.parser import HTMLParser
from pathlib import Path

import pytest

from rhythmlab.classroom.assignment import assignment
from rhythmlab.classroom.bank.catalogue import BANK, CLASS_IDS
from rhythmlab.classroom.gradebook import Share, gradebook
from rhythmlab.classroom.report import feedback_html, files_of, shares
from tests.classroom.pages import IDS, NAME, page, put, reply_cell

MARKUP = "<script>alert(1)</script><img src=x onerror=alert(1)>"


class Tags(HTMLParser):
    """Gathers the tags of a page, and fails on what is not closed."""

    def __init__(self, text):
        super().__init__()
        self.open, self.seen, self.attributes = [], set(), set()
        self.feed(text)
        self.close()
        assert self.open == [], text[:200]

    def handle_starttag(self, tag, attrs):
        self.seen.add(tag)
        self.attributes |= {name for name, _ in attrs}
        if tag not in ("meta",):
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.seen.add(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def pages_of(book):
    """Return every page and table by name."""
    return {name: data.decode("utf-8") for name, data in files_of(book)}


@pytest.fixture
def hostile(tmp_path):
    """Markup wherever a pupil can write: answers, ids, seats, names of files and of assignments."""
    put(tmp_path / "in" / "<b>a&.ipynb", page(1, {"grid-ticks": f'["{MARKUP}"]', "grid-rows": MARKUP}))
    first = page(2)
    reply_cell(first, "grid-ticks")["source"] = f"work.reply('{MARKUP}', answer=[1])"
    put(tmp_path / "in" / "b.ipynb", first)
    second = page(3)
    second["cells"][1]["source"] = f'work = rl.classroom.assignment("{NAME}", seat={MARKUP})'
    put(tmp_path / "in" / "<i>c.ipynb", second)
    third = page(4)
    third["cells"][1]["source"] = f"work = rl.classroom.assignment('{MARKUP}', seat=4)"
    put(tmp_path / "in" / "d.ipynb", third)
    put(tmp_path / "in" / "<u>e.ipynb", page(1, {"place-syllables": f'"{MARKUP}"'}))
    put(tmp_path / "in" / "<s>f.png", b"png")
    put(tmp_path / "in" / MARKUP.replace("/", "") / '<img src="x">.ipynb', page(5, made_for=5))
    put(tmp_path / "in" / "<u>" / "<script>.ipynb", page(6, made_for=5))
    (tmp_path / "in" / "<i>link<script>").symlink_to("<script>")
    os.mkfifo(tmp_path / "in" / "<i>pipe<script>")
    return gradebook(tmp_path / "in", NAME)


def test_markup_of_a_pupil_is_shown_as_text(hostile):
    """No tag and no attribute of theirs is in any page; what they wrote can be read there."""
    pages = pages_of(hostile)
    html = [text for name, text in pages.items() if name.endswith(".html")] + [hostile._repr_html_()]
    for text in html:
        tags = Tags(text)
        assert not tags.seen & {"script", "img", "i", "u", "s"}
        assert not {name for name in tags.attributes if name.startswith("on") or name == "src"}
    assert "&lt;script&gt;" in pages["feedback/seat-001.html"]
    assert "&lt;i&gt;c.ipynb" in pages["summary.html"]
    assert "&lt;s&gt;f.png" in pages["summary.html"]


def test_each_seat_has_a_page_and_each_file_that_cannot_be_marked_too(hostile):
    """No pupil is left without a reason; names of pages come from numbers, never from a pupil."""
    names = list(pages_of(hostile))
    assert names == [
        *("marks.csv", "summary.html", "feedback/seat-001.html", "feedback/seat-002.html"),
        *("feedback/seat-005-page-1.html", "feedback/seat-005-page-2.html"),
        *(f"feedback/not-marked-00{number}.html" for number in (1, 2, 3, 4)),
    ]
    assert all(re.fullmatch(r"[a-z0-9/-]+\.(csv|html)", name) for name in names)


def test_feedback_says_question_answer_marks_and_why_for_each(tmp_path):
    """In the order of the page, with the numbers of the seat, and nobody else's."""
    put(tmp_path / "a.ipynb", page(7, {"grid-ticks": "[999]", "grid-rows": None}))
    put(tmp_path / "b.ipynb", page(8))
    book = gradebook(tmp_path)
    text = feedback_html(book, book.counted[0])
    Tags(text)
    asked = [assignment(NAME, 7).question(id).text for id in IDS]
    from html import escape

    places = [text.index(escape(one)) for one in asked]
    assert places == sorted(places)
    assert "<code>[999]</code>" in text
    assert "too many" in text
    assert "no cell that replies to grid-rows" in text
    assert text.count("<li>") == len(IDS)
    other = {assignment(NAME, 8).question(id).text for id in IDS} - set(asked)
    assert other
    assert not any(escape(one) in text for one in other)
    worked = assignment(NAME, 7).question("grid-rows").worked()
    assert str(worked[0]) not in text  # the answer to a question without a reply is not given away
    unasked = [BANK[id] for id in CLASS_IDS if id not in IDS]
    assert not any(one.id in text for one in unasked)


def test_a_late_page_says_so(tmp_path):
    """On its own page."""
    put(tmp_path / "a.ipynb", page(7))
    book = gradebook(tmp_path, due="2001-01-01")
    assert "handed in late" in feedback_html(book, book.counted[0])


def test_the_summary_has_a_picture_with_its_text_and_a_table(tmp_path):
    """By skill and by question."""
    put(tmp_path / "a.ipynb", page(7, {"grid-ticks": "[]"}))
    html = gradebook(tmp_path)._repr_html_()
    Tags(html)
    assert "Marks by skill: grid" in html
    assert "<caption>By question</caption>" in html
    assert html.count('<th scope="row">') == len(IDS)


def test_shares_are_drawn_one_bar_each():
    """Also none, nothing right, and long names."""
    drawn = shares("by skill", [Share("grid", 3, 4, 1, 2), Share("home and tempo", 0, 4, 0, 2)])
    assert drawn.alt == "Marks by skill: grid 75 % and home and tempo 0 %."
    assert shares("by skill", []).alt == "Marks by skill: ."


@pytest.fixture
def marks(tmp_path):
    """Mark two pages, and name a folder to write into."""
    put(tmp_path / "in" / "a.ipynb", page(7))
    put(tmp_path / "in" / "b.ipynb", page(8))
    return gradebook(tmp_path / "in"), tmp_path / "marks"


NAMES = ("marks.csv", "summary.html", "feedback/seat-007.html", "feedback/seat-008.html")


@pytest.mark.parametrize("name", [*NAMES, "feedback"])
@pytest.mark.parametrize(
    "kind", ["pipe", "link", "link to nothing", "loop", "link to a pipe", "folder", "socket"]
)
def test_nothing_is_written_through_or_waited_for(marks, tmp_path, kind, name):
    """Whatever bears the name of a file of the marks is refused by name, and nothing is written at all."""
    book, where = marks
    path = where / name
    path.parent.mkdir(parents=True, exist_ok=True)
    outside = put(tmp_path / "outside" / "mine", b"mine")
    os.mkfifo(tmp_path / "outside" / "pipe")
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "folder":
        if name == "feedback":
            path.write_bytes(b"a file")
        else:
            path.mkdir()
    elif kind == "socket":
        with socket.socket(socket.AF_UNIX) as one:
            one.bind(str(path))
    else:
        targets = {"link": "mine", "link to nothing": "gone", "link to a pipe": "pipe"}
        at = tmp_path / "outside" / targets[kind] if kind in targets else path
        path.symlink_to(at.parent if name == "feedback" and kind == "link" else at)
    before = sorted(str(one) for one in tmp_path.rglob("*"))
    with pytest.raises(FileExistsError, match="nothing was written; give another folder") as caught:
        book.write(where)
    assert f"holds {name}" in str(caught.value)
    assert "for example classroom.gradebook(\"returned\").write('marks-2')" in str(caught.value)
    assert sorted(str(one) for one in tmp_path.rglob("*")) == before
    assert outside.read_bytes() == b"mine"


def test_what_lies_beside_is_not_looked_into(marks, monkeypatch):
    """A folder that holds other things is written into, and none of them is opened or walked."""
    book, where = marks
    put(where / "mine" / "deep" / "x.html", b"x")
    (where / "mine" / "loop").symlink_to("loop")
    os.mkfifo(where / "pipe")

    def walked(*_):
        raise AssertionError("walked")

    for name in ("walk", "scandir", "listdir"):
        monkeypatch.setattr(os, name, walked)
    assert [path.relative_to(where).as_posix() for path in book.write(where)] == list(NAMES)


@pytest.mark.parametrize("kind", ["loop", "link to nothing", "a file", "a pipe"])
def test_what_is_no_folder_for_marks_is_refused(marks, tmp_path, kind):
    """In a line; a link to a folder that the teacher made is taken."""
    book, where = marks
    if kind == "a file":
        where.write_bytes(b"mine")
    elif kind == "a pipe":
        os.mkfifo(where)
    else:
        where.symlink_to("marks" if kind == "loop" else "gone")
    with pytest.raises(FileExistsError, match="nothing was written; give another folder"):
        book.write(where)
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to("real")
    assert len(book.write(tmp_path / "link")) == len(list((tmp_path / "real").rglob("*.*"))) == 4


def test_a_file_of_the_same_size_or_longer_is_told_and_stays(marks):
    """Compared by size first and then by what is in it; the same marks again change nothing."""
    book, where = marks
    book.write(where)
    path = where / "feedback" / "seat-007.html"
    data = path.read_bytes()
    book.write(where)
    for other in (data[:-1] + b"?", data + b"?", b""):
        path.write_bytes(other)
        with pytest.raises(FileExistsError, match=r"seat-007\.html of another marking"):
            book.write(where)
        assert path.read_bytes() == other


def test_a_folder_that_cannot_be_made_is_told_in_words(marks, tmp_path, monkeypatch):
    """The reason, no bare number of an error, and where else to."""
    book, where = marks

    def refused(self, *_, **__):
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "mkdir", refused)
    with pytest.raises(
        PermissionError, match="cannot be made: you are not allowed to write there; give another"
    ):
        book.write(where)


def test_letters_that_no_file_can_hold_end_no_report(tmp_path):
    """Halves of letters, zero bytes and turned lines in answers and names."""
    put(
        tmp_path / "a\u202e\n.ipynb", page(1, {"grid-ticks": '["\ud800"]', "grid-rows": "\x00\x1b[31m\ud800"})
    )
    book = gradebook(tmp_path)
    for text in pages_of(book).values():
        assert not re.search("[\x00\x1b\u202e\ud800]", text)
    assert "\ud800" not in book.summary_text

"""The gradebook: one table of a folder, the same every time, with a reason for every lost mark."""

import csv
import io
import json
import os
import re
import shlex
import subprocess
from dataclasses import replace
from datetime import UTC, datetime
from fractions import Fraction
from importlib import import_module
from pathlib import PurePosixPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmlab.classroom.assignment import READY, assignment
from rhythmlab.classroom.cli import counts_typed
from rhythmlab.classroom.gradebook import (
    COLUMNS,
    Gradebook,
    Paper,
    Share,
    choose_counted,
    gradebook,
    in_python,
    in_terminal,
)
from rhythmlab.classroom.handing_out import write_assignment
from tests.classroom.pages import IDS, NAME, code, page, put, right
from tests.strategies import TRIES

DUE = 1_700_000_100
#: The module; its function of the same name is what the room has.
module = import_module("rhythmlab.classroom.gradebook")


def table(book):
    """Return the rows of the CSV, read as a spreadsheet does, by column."""
    return list(csv.DictReader(io.StringIO(book.csv, newline="")))


@pytest.fixture
def folder(tmp_path):
    """Six seats, nested and flat: right, half, a wrong one, damaged, without a seat, and a later page."""
    put(tmp_path / "in" / "page.ipynb", page(1))
    put(tmp_path / "in" / "b" / "page.ipynb", page(2, {"grid-ticks": "[]", "grid-rows": None}))
    put(tmp_path / "in" / "b" / "other.ipynb", page(3, {"grid-ticks": "[999]"}), DUE + 1)
    put(tmp_path / "in" / "broken.ipynb", b'{"cells": [')
    put(tmp_path / "in" / "c" / "no-seat.ipynb", page(0))
    put(tmp_path / "in" / "c" / "first.ipynb", page(4, {"grid-ticks": "[1]"}))
    put(tmp_path / "in" / "c" / "again.ipynb", page(4), DUE - 50)
    put(tmp_path / "in" / "copy.ipynb", page(1))
    return tmp_path / "in"


def due(seconds=DUE):
    """Return the moment as it is typed."""
    return datetime.fromtimestamp(seconds, UTC).isoformat()


def test_the_table_has_a_row_for_every_question_of_every_file_with_a_reason(folder):
    """Also of files that do not count; a file that cannot be marked has one row."""
    book = gradebook(folder, due=due())
    rows = table(book)
    assert book.csv.splitlines()[0] == ",".join(COLUMNS)
    assert len(rows) == 6 * len(IDS) + 2
    assert all(row["reason"] for row in rows)
    assert all(row["reason"] for row in rows if row["marks"] != row["out of"])
    by_file = {row["file"]: row["seat"] for row in rows}
    assert by_file == {
        **{"page.ipynb": "1", "copy.ipynb": "1", "b/page.ipynb": "2", "b/other.ipynb": "3"},
        **{"c/first.ipynb": "4", "c/again.ipynb": "4", "broken.ipynb": "", "c/no-seat.ipynb": ""},
    }


def test_the_same_folder_gives_the_same_table_byte_for_byte(folder, tmp_path, monkeypatch):
    """Again, from another working folder, and with files that were made in another order."""
    first = gradebook(folder, due=due())
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    again = gradebook("in", due=due())
    assert again.csv == first.csv
    assert (again.summary_text, again._repr_html_()) == (first.summary_text, first._repr_html_())
    other = tmp_path / "other"
    for path in sorted(folder.rglob("*.ipynb"), reverse=True):
        put(other / path.relative_to(folder), path.read_bytes(), path.stat().st_mtime)
    assert gradebook(other, due=due()).csv == first.csv


def test_late_double_and_replaced_files_are_told_apart_and_kept(folder):
    """By content and time, whatever they are called."""
    book = gradebook(folder, due=due())
    said = {line.split(": ")[0]: line for line in book.troubles}
    assert set(said) == {
        *("b/other.ipynb", "page.ipynb", "c/first.ipynb", "broken.ipynb", "c/no-seat.ipynb"),
    }
    assert said["b/other.ipynb"] == "b/other.ipynb: Handed in late."
    assert said["page.ipynb"] == "page.ipynb: The same page as copy.ipynb, which counts."
    assert "handed in a later page, c/again.ipynb, which counts" in said["c/first.ipynb"]
    assert [paper.seat for paper in book.counted] == [1, 2, 3, 4]
    kept = [row for row in table(book) if row["file"] == "c/first.ipynb"]
    assert {row["state"] for row in kept} == {"not counted"}
    assert "too few" in kept[0]["reason"]
    late = {row["file"] for row in table(book) if row["late"]}
    assert late == {"b/other.ipynb"}


def test_a_late_page_that_takes_the_place_of_one_in_time_says_so(tmp_path):
    """The teacher can let the one in time count."""
    put(tmp_path / "a.ipynb", page(7, {"grid-ticks": "[1]"}), DUE - 5)
    put(tmp_path / "b.ipynb", page(7), DUE + 5)
    book = gradebook(tmp_path, due=due())
    assert book.troubles[0].startswith("a.ipynb: Seat 7 handed in a later page, late, b.ipynb")
    assert [one.file for one in gradebook(tmp_path, due=due(), counts={7: "a.ipynb"}).counted] == ["a.ipynb"]


def test_two_pupils_with_the_same_seat_are_both_there(tmp_path):
    """Both count, the first trouble says so, each has a page of feedback, and the teacher can decide."""
    put(tmp_path / "in" / "one" / "page.ipynb", page(7))
    put(tmp_path / "in" / "two" / "page.ipynb", page(7, {"grid-ticks": "[1]"}), DUE)
    book = gradebook(tmp_path / "in")
    assert len(book.counted) == 2
    assert "one/page.ipynb and two/page.ipynb" in book.troubles[0]
    assert "Perhaps two pupils typed the same seat" in book.summary_text
    names = [path.name for path in book.write(tmp_path / "out")]
    assert names[2:] == ["seat-007-page-1.html", "seat-007-page-2.html"]
    assert "two/page.ipynb" in (tmp_path / "out" / "feedback" / names[3]).read_text(encoding="utf-8")
    assert [share.name for share in book.by("seat")] == ["7 (one/page.ipynb)", "7 (two/page.ipynb)"]
    decided = gradebook(tmp_path / "in", counts={7: "last"})
    assert [one.file for one in decided.counted] == ["two/page.ipynb"]


@pytest.mark.parametrize("made", [True, False])
def test_two_groups_with_the_same_seats_lose_no_page(tmp_path, made):
    """Five pages each in two folders: ten count, ten pages of feedback say whose they are, ten decisions."""
    for group, time in (("first group", DUE), ("second group", DUE + 9)):
        for seat in range(1, 6):
            answers = {"grid-ticks": "[999]"} if group == "first group" else {}
            put(
                tmp_path / "in" / group / f"seat-{seat:03}.ipynb",
                page(seat, answers, made_for=seat if made else 0),
                time,
            )
    book = gradebook(tmp_path / "in")
    assert len(book.counted) == len(book.by("seat")) == 10
    assert [(one.seat, one.ways[0][0]) for one in book.decisions] == [(seat, "last") for seat in range(1, 6)]
    assert book.summary_text.count("Seat ") == 5
    written = [path for path in book.write(tmp_path / "out") if path.parent.name == "feedback"]
    assert [path.name for path in written] == [
        f"seat-{seat:03}-page-{number}.html" for seat in range(1, 6) for number in (1, 2)
    ]
    for number, path in enumerate(written):
        group = ("first group", "second group")[number % 2]
        assert f"{group}/seat-{number // 2 + 1:03}.ipynb" in path.read_text(encoding="utf-8")
        assert ("999" in path.read_text(encoding="utf-8")) == (group == "first group")
    summary = (tmp_path / "out" / "summary.html").read_text(encoding="utf-8")
    assert "counts={1: &quot;last&quot;} in a notebook, or --counts 1=last in a terminal, counts" in summary
    decided = gradebook(tmp_path / "in", counts=dict.fromkeys(range(1, 6), "last"))
    assert [one.file.split("/")[0] for one in decided.counted] == ["second group"] * 5
    assert decided.decisions == ()


def test_every_hint_can_be_typed_as_it_stands(tmp_path):
    """Each `counts={…}` in the summary is taken, and counts what it says; one at a time or all together."""
    for name in ("a/1", "b/1", "c/1", "c/2"):
        put(tmp_path / f"{name}.ipynb", page(7, {"grid-ticks": f"[{ord(name[0])}{name[2]}]"}), ord(name[2]))
    put(tmp_path / 'd/it\'s "7" \\ $x.ipynb', page(7, {"grid-ticks": "[1]"}))
    for name in ("first", "second"):
        put(tmp_path / f"e/{name}.ipynb", page(8, {"grid-ticks": f"[{len(name)}]"}))
    book = gradebook(tmp_path)
    hints = re.findall(r"counts=\{.*?\}(?= counts)", "\n".join(book.troubles))
    assert len(hints) == 2 + 2 + 2
    assert len(set(hints)) == 6
    for hint in hints:
        ((seat, counts),) = eval(f"dict({hint})")["counts"].items()
        now = [one.file for one in gradebook(tmp_path, counts={seat: counts}).counted if one.seat == seat]
        assert len(now) == {"all": 5 if seat == 7 else 2}.get(counts, 1)
        assert counts in ("last", "all", *now)


def test_what_is_no_notebook_is_told_and_what_it_wrote_itself_is_not(tmp_path):
    """A picture or a page saved as HTML is not lost in silence; marks beside the pages are no pages."""
    put(tmp_path / "a.ipynb", page(7))
    put(tmp_path / "b.html", b"<html>")
    first = gradebook(tmp_path)
    assert first.troubles == ("b.html is no notebook, and was not marked.",)
    first.write(tmp_path)
    first.write(tmp_path / "marks")
    again = gradebook(tmp_path)
    assert (again.csv, again.troubles) == (first.csv, first.troubles)


def test_shares_by_question_skill_and_seat(folder):
    """Marks over all pages that count; every question is there, also where no page counts."""
    book = gradebook(folder)
    by = {share.name: share for share in book.by("question")}
    assert tuple(by) == IDS
    assert (by["grid-ticks"].right, by["grid-ticks"].seats, by["grid-ticks"].share) == (2, 4, Fraction(1, 2))
    assert [share.name for share in book.by("seat")] == ["1", "2", "3", "4"]
    assert sum(share.marks for share in book.by("skill")) == sum(share.marks for share in book.by("seat"))
    with pytest.raises(ValueError, match=r'by\("skill"\)'):
        book.by("name")
    assert Share("x", 0, 0, 0, 0).share == 0


@TRIES
@given(
    st.sampled_from(sorted(READY)),
    st.integers(1, 60),
    st.dictionaries(st.integers(0, 20), st.fractions(Fraction(1, 8), 9, max_denominator=8), max_size=3),
    st.sets(st.integers(0, 20)),
)
def test_each_question_weighs_what_the_teacher_says(tmp_path_factory, name, seat, told, answered):
    """One mark each unless told, however long its answer; what is right is all of it, and nothing else is."""
    where, ids = tmp_path_factory.mktemp("class"), READY[name].ids
    worth = {ids[i]: marks for i, marks in told.items() if i < len(ids)}
    right = {ids[i] for i in answered if i < len(ids)}
    empty = {id: "[]" for id in ids if id not in right}
    put(where / "page.ipynb", page(seat, empty, name=name, ids=ids))
    (share,) = gradebook(where, marks=worth).by("seat")
    assert share.out_of == sum(worth.get(id, 1) for id in ids)
    assert share.marks == sum(worth.get(id, 1) for id in right)


def test_the_parts_of_an_answer_share_its_marks_exactly(tmp_path):
    """A part of a long list is worth less than one of a short list; no part is lost to rounding."""
    id = "composite-intervals"
    first, *rest = assignment(NAME, 7).question(id).worked()
    put(tmp_path / "a.ipynb", page(7, {id: repr([first + 1, *rest])}))
    book = gradebook(tmp_path, marks={id: Fraction(1, 3)})
    (row,) = [row for row in book.papers[0].rows if row.question == id]
    assert 0 < row.parts_right < row.parts
    assert row.marks == Fraction(row.parts_right, 3 * row.parts)
    (cells,) = [cells for cells in table(book) if cells["question"] == id]
    assert (cells["parts right"], cells["parts"]) == (str(row.parts_right), str(row.parts))
    assert abs(Fraction(cells["marks"]) - row.marks) <= Fraction(1, 20_000)
    assert "of its 0.33 marks" in book.summary_text


@pytest.mark.parametrize(
    ("marks", "said"),
    [
        ({"gaps-midway": 2}, "'gaps-midway' is none of the questions (grid-ticks"),
        ({"grid-rows": 0}, "marks['grid-rows']=0"),
        ({"grid-rows": 1_001}, "marks['grid-rows']=1001"),
        ({"grid-rows": "many"}, "marks['grid-rows']='many'"),
        ([3], "marks=[3]"),
    ],
)
def test_marks_that_no_question_can_have_are_refused(folder, marks, said):
    """By name, with an example that works."""
    with pytest.raises(ValueError, match=re.escape(said)) as caught:
        gradebook(folder, marks=marks)
    assert "for example marks={" in str(caught.value)


def test_what_the_class_should_hear_again_is_the_weakest_first(tmp_path):
    """Skills under three fifths of their marks."""
    wrong = {id: "[]" for id in IDS if id.startswith("composite")} | {"grid-ticks": "[]"}
    put(tmp_path / "a.ipynb", page(7, wrong))
    book = gradebook(tmp_path)
    assert book.hear_again[0] == "composite"
    assert "The class should hear again: composite" in book.summary_text
    put(tmp_path / "a.ipynb", page(7))
    assert "No skill needs to be heard again." in gradebook(tmp_path).summary_text


def test_a_class_of_which_no_page_counts_has_its_summary(tmp_path):
    """Damaged files only: nothing is invented."""
    put(tmp_path / "a.ipynb", b"{")
    book = gradebook(tmp_path, NAME)
    assert "1 file; 0 pages count." in book.summary_text
    assert "hear" not in book.summary_text
    assert book._repr_html_()
    assert all(share.seats == 0 for share in book.by("question"))


def test_formulas_never_reach_a_spreadsheet(tmp_path):
    """What begins as a formula, also after spaces, quotes or a semicolon, gets an apostrophe before it."""
    signs = ("=", "+", "-", "@", "＝")
    for i, sign in enumerate(signs):
        put(tmp_path / f"{sign}cmd{i}.ipynb", page(i + 1, {"grid-ticks": f"{sign}cmd|'/c calc'!A1"}))
    put(tmp_path / "x.ipynb", page(9, {"grid-ticks": "1 ;  =cmd()", "grid-rows": "' =cmd()'"}))
    book = gradebook(tmp_path)
    for line in csv.reader(io.StringIO(book.csv, newline="")):
        for cell in line:
            assert not cell.lstrip(" \"'") or cell.startswith("'") or cell.lstrip(" \"'")[0] not in signs
    for piece in book.csv.replace("\r\n", ";").split(";"):
        assert not piece.lstrip().startswith(signs)
    assert not any(sign in book.csv for sign in ("\t", "\x00"))


def test_odd_times_end_no_marking(tmp_path):
    """Before 1970, at its first second, and after the last year of a calendar."""
    for i, time in enumerate((-1e9, 0)):
        put(tmp_path / f"{i}.ipynb", page(i + 1), time)
    assert {row["changed"] for row in table(gradebook(tmp_path))} == {"1938-04-24 22:13:20", ""}
    book = gradebook(tmp_path)
    times = (2.0**60, float("inf"))
    late = tuple(replace(paper, time=time) for paper, time in zip(book.papers, times, strict=True))
    assert {row["changed"] for row in table(replace(book, papers=late))} == {""}


def test_notes_tell_more_replies_and_more_seats(tmp_path):
    """A reply to what was not asked, and a seat that was typed twice, are told to the teacher."""
    notebook = page(7)
    notebook["cells"].insert(1, code(f'work = rl.classroom.assignment("{NAME}", seat=3)'))
    notebook["cells"].append(code('work.reply("gaps-midway", answer=[7])'))
    put(tmp_path / "a.ipynb", notebook)
    (line,) = gradebook(tmp_path).troubles
    assert "More than one seat is typed on the page, 3 and 7" in line
    assert "It also replies to what was not asked: gaps-midway." in line


def test_long_reading_is_told_by_the_clock_too(tmp_path, monkeypatch):
    """Few files that take long: every five seconds, also while the name is looked for."""
    clock = iter(range(0, 10_000, 3))
    monkeypatch.setattr(module, "monotonic", lambda: next(clock))
    for i in range(7):
        put(tmp_path / f"{i}.ipynb", page(i + 1))
    said = []
    gradebook(tmp_path, progress=said.append)
    assert said[0] == "2 of 7 files looked at"
    assert said[-1] == "7 of 7 files read"
    assert len(said) > 5


def test_progress_is_told(tmp_path):
    """Now and then, and at the end."""
    for i in range(51):
        put(tmp_path / f"{i}.ipynb", b"{}")
    said = []
    gradebook(tmp_path, NAME, progress=said.append)
    assert said == ["50 of 51 files read", "51 of 51 files read"]


def test_a_large_class_says_so_before_it_is_marked(tmp_path, monkeypatch, capsys):
    """By its files and its size, in one line and no more; a class of three hundred says nothing."""
    for i in range(20):
        put(tmp_path / f"{i}.ipynb", page(i + 1))
    gradebook(tmp_path)
    assert capsys.readouterr() == ("", "")
    monkeypatch.setattr(module, "FILES_A_SECOND", 2)
    gradebook(tmp_path)
    said = capsys.readouterr().err.splitlines()
    assert said == ["Marking 20 files with 0 MB: about 20 seconds; Interrupt stops it."]
    monkeypatch.undo()
    os.truncate(put(tmp_path / "large.ipynb", b"{"), 20_000_000)
    os.truncate(put(tmp_path / "huge.ipynb", b"{"), 10**12)
    gradebook(tmp_path)
    assert "Marking 22 files with 20 MB: about 16 seconds" in capsys.readouterr().err
    gradebook(tmp_path, NAME)
    assert capsys.readouterr() == ("", "")


def test_an_assignment_of_the_teachers_own(tmp_path):
    """With its questions, in their order; without them it is refused with an example."""
    ids = ("gaps-midway", "grid-ticks")
    put(tmp_path / "a.ipynb", page(7, name="week 3", ids=ids))
    assert gradebook(tmp_path, ids=ids).by("question")[0].name == "gaps-midway"
    with pytest.raises(ValueError, match=r"give its questions; for example classroom\.gradebook"):
        gradebook(tmp_path)


def test_what_cannot_be_marked_is_refused_with_an_example(tmp_path):
    """No folder, an empty one, several assignments, no such day, no such name."""
    with pytest.raises(ValueError, match=r"is not a folder: .*; for example classroom.gradebook\("):
        gradebook(tmp_path / "none")
    with pytest.raises(ValueError, match=r"holds no notebook; for example classroom.gradebook\("):
        gradebook(tmp_path)
    put(tmp_path / "a.ipynb", page(1))
    with pytest.raises(ValueError, match='due="2030-05-04'):
        gradebook(tmp_path, due="tomorrow")
    with pytest.raises(ValueError, match="is not a name of an assignment"):
        gradebook(tmp_path, "x" * 81, ids=["grid-ticks"])
    put(tmp_path / "b.ipynb", page(1, name="gap-cycles", ids=READY["gap-cycles"].ids))
    with pytest.raises(
        ValueError, match=r"several assignments \(gap-cycles, grid-and-composite\); say which"
    ):
        gradebook(tmp_path)
    (tmp_path / "a.ipynb").unlink()
    put(tmp_path / "b.ipynb", b"")
    with pytest.raises(ValueError, match="no page says its assignment; say which"):
        gradebook(tmp_path)


def test_marks_that_are_there_stay_and_others_are_never_replaced(folder, tmp_path):
    """Written again it changes nothing; where the class changed it is refused, and all stays."""
    out = tmp_path / "marks"
    book = gradebook(folder)
    first = {path: path.read_bytes() for path in book.write(out)}
    assert {path: path.read_bytes() for path in gradebook(folder).write(out)} == first
    put(folder / "new.ipynb", page(9))
    with pytest.raises(FileExistsError, match="give another folder"):
        gradebook(folder).write(out)
    assert {path: path.read_bytes() for path in first} == first
    assert len(list(out.rglob("*.*"))) == len(first)


def test_pages_that_were_handed_out_come_back(tmp_path):
    """Made for seats and made for all, with answers typed between the brackets: every mark."""
    put(tmp_path / "in" / "x", b"")
    out = write_assignment(NAME, tmp_path / "out", seats=[3, 4])[:2]
    out += write_assignment(NAME, tmp_path / "all")[:1]
    for seat, path in zip((3, 4, 5), out, strict=True):
        text = path.read_text(encoding="utf-8").replace("seat=0)", f"seat={seat})")
        for id in IDS:
            answer = json.dumps(right(id, seat))[1:-1]
            text = text.replace(
                f'work.reply(\\"{id}\\", answer=[])', f'work.reply(\\"{id}\\", answer={answer})'
            )
        put(tmp_path / "in" / f"{seat}.ipynb", text.encode())
    book = gradebook(tmp_path / "in")
    assert [paper.seat for paper in book.counted] == [3, 4, 5]
    assert [paper.made_for for paper in book.counted] == [3, 4, 0]
    assert {row["state"] for row in table(book)} == {"right"}


def test_names_of_files_are_no_formulas_in_a_notebook(tmp_path):
    """Between dollars a notebook sets what stands there; a name stays as it is, with its spaces."""
    for name in ("a  $x/7.ipynb", "b $y/7.ipynb"):
        put(tmp_path / name, page(7, {"grid-ticks": f"[{len(name)}]"} if name[0] == "a" else {}))
    html = gradebook(tmp_path)._repr_html_()
    listed = re.search(r"<ul ([^>]*)>.*</ul>", html, re.DOTALL)
    assert "$" not in html.replace(listed[0], "")
    assert "mathjax_ignore" in listed[1]
    assert "white-space:pre-wrap" in listed[1]
    assert "a  $x/7.ipynb" in listed[0]


def test_it_shows_itself():
    """As text and as HTML, also when empty."""
    book = Gradebook("a <b>", (), ())
    assert repr(book) == book.summary_text
    assert "<b>" not in book._repr_html_().replace("<p><b>", "")


def paper(file, seat=7, time=1.0, digest=None, made_for=0, typed=7):
    """Return a paper without rows."""
    return Paper(file, digest or file, time, seat, False, "", (), made_for, typed)


def chosen(papers, counts=None):
    """Return the files that count."""
    return [one.file for one in choose_counted(papers, counts) if not one.why_not]


def folder_of(one):
    """Return the folder that a paper lies in."""
    return PurePosixPath(one.file).parent


#: Papers of two seats in nested folders: few bytes and few times, so that they often agree; some are moved.
#: The bytes say what a page was made for and what stands on it, so the same bytes never differ in that.
_KINDS = {
    **dict.fromkeys("ab", (7, 0, 7)),
    **dict.fromkeys("cd", (7, 7, 7)),
    **dict.fromkeys("ef", (7, 7, 9)),
    **dict.fromkeys("gh", (8, 0, 8)),
}
folders = st.sampled_from(["", "one/", "two/", "one/two/", "back up/one/"])
classes = st.lists(
    st.tuples(folders, st.sampled_from("pqrs"), st.sampled_from(sorted(_KINDS)), st.integers(0, 3)),
    min_size=1,
    max_size=12,
    unique_by=lambda drawn: drawn[:2],
).map(
    lambda drawn: [
        paper(f"{folder}{name}.ipynb", _KINDS[kind][0], float(time), kind, *_KINDS[kind][1:])
        for folder, name, kind, time in drawn
    ]
)


@TRIES
@given(classes)
def test_every_folder_keeps_a_page_of_every_seat_that_handed_one_in(papers):
    """It counts, or the same bytes count elsewhere; no bytes count twice, no file is lost."""
    made = choose_counted(papers)
    assert sorted(one.file for one in made) == sorted(one.file for one in papers)
    best = [one.digest for one in made if not one.why_not]
    assert len(set(best)) == len(best)
    for seat in {one.seat for one in made}:
        for folder in {folder_of(one) for one in made if one.seat == seat}:
            here = {one.digest for one in made if (one.seat, folder_of(one)) == (seat, folder)}
            assert here & set(best)


@TRIES
@given(classes)
def test_only_a_later_page_of_the_same_folder_takes_the_place_of_one(papers):
    """A page that does not count is a copy, or its folder has one that is as late and not worse kept."""
    made = choose_counted(papers)
    best = {one.digest for one in made if not one.why_not}
    for one in made:
        if not one.why_not or one.digest in best:
            continue
        mine = [other for other in made if (other.seat, folder_of(other)) == (one.seat, folder_of(one))]
        instead = [other for other in mine if other.digest in best]
        assert any((not other.moved, other.time) >= (not one.moved, one.time) for other in instead), one.file
        assert not (one.moved is False and all(other.moved for other in instead))


@TRIES
@given(classes, st.randoms(use_true_random=False))
def test_the_order_of_the_papers_changes_nothing(papers, draw):
    """The same papers in any order give the same."""
    mixed = list(papers)
    draw.shuffle(mixed)
    assert choose_counted(mixed) == choose_counted(papers)


@TRIES
@given(classes)
def test_what_there_is_to_decide_is_told_once_and_does_what_it_says(papers):
    """Several pages of a seat that count, and each other page that could; every way is taken by `counts`."""
    made = choose_counted(papers)
    for seat in {one.seat for one in made}:
        mine = [one for one in made if one.seat == seat]
        best = [one for one in mine if not one.why_not]
        several = [one.decision for one in best if one.decision]
        assert len(several) == (len(best) > 1)
        assert all(decision.files == tuple(one.file for one in best) for decision in several)
        digests = {one.digest for one in best}
        for one in mine:
            if one.why_not:
                assert bool(one.decision) == (one.digest not in digests and "The same" not in one.why_not)
        for decision in [one.decision for one in mine if one.decision]:
            assert decision.seat == seat
            for counts, does in decision.ways:
                now = [
                    one.file
                    for one in choose_counted(papers, {seat: counts})
                    if one.seat == seat and not one.why_not
                ]
                assert {
                    "counts only the last one": len(now) == 1,
                    "counts them all": len(now) == len({one.digest for one in mine}),
                    "counts only this one": now == [counts],
                    "counts this one": now == [counts],
                }[does]
                assert not any(
                    one.decision for one in choose_counted(papers, {seat: counts}) if one.seat == seat
                )


def test_two_groups_with_the_same_seats_are_both_counted():
    """Also where the pages were made for their seats: five pages each in two folders are ten."""
    papers = [
        paper(f"{group}/seat-{seat}.ipynb", seat, time, None, seat, seat)
        for time, group in ((1.0, "first"), (2.0, "second"))
        for seat in range(1, 6)
    ]
    made = choose_counted(papers)
    assert not any(one.why_not for one in made)
    assert [one.decision.seat for one in made if one.decision] == [1, 2, 3, 4, 5]
    said = made[1].decision.describe(in_python)
    assert "first/seat-1.ipynb and second/seat-1.ipynb" in said
    assert said.endswith(
        'Look at them: counts={1: "last"} counts only the last one; '
        'counts={1: "first/seat-1.ipynb"} counts only this one.'
    )


def test_of_one_folder_the_last_page_counts_and_the_others_say_so():
    """By time and not by name; equal times by name; which one counts is said, and how to count another."""
    papers = [paper("b.ipynb", time=1), paper("a.ipynb", time=2), paper("c.ipynb", time=0)]
    made = {one.file: one for one in choose_counted(papers)}
    assert not made["a.ipynb"].why_not
    assert made["b.ipynb"].why_not == "Seat 7 handed in a later page, a.ipynb, which counts."
    assert made["b.ipynb"].decision.describe(in_python) == (
        'If it is another pupil\'s: counts={7: "all"} counts them all; counts={7: "b.ipynb"} counts this one.'
    )
    made = choose_counted([paper("b.ipynb"), paper("a.ipynb")])
    assert made[0].why_not == "Seat 7 handed in another page with the same time, b.ipynb, which counts."


def test_the_same_bytes_under_another_name_are_one_page():
    """Told as the same page as the first by time, so that none becomes late; going back to it counts too."""
    made = choose_counted([paper("z.ipynb", digest="x"), paper("a/b.ipynb", digest="x", time=9)])
    assert [one.why_not for one in made] == ["The same page as z.ipynb, which counts.", ""]
    made = choose_counted(
        [paper("a", time=1, digest="x"), paper("b", time=2), paper("c", time=3, digest="x")]
    )
    assert [one.why_not for one in made] == [
        *("", "Seat 7 handed in a later page, a, which counts.", "The same page as a, which counts."),
    ]


def test_two_pupils_who_typed_the_same_seat_are_both_counted_and_told():
    """In folders of their own neither takes the place of the other; a later page of one replaces its own."""
    papers = [
        paper("one/page.ipynb", time=1),
        paper("one/again.ipynb", time=2),
        paper("two/page.ipynb", time=3),
    ]
    made = {one.file: one for one in choose_counted(papers)}
    assert chosen(papers) == ["one/again.ipynb", "two/page.ipynb"]
    assert "Perhaps two pupils typed the same seat" in made["two/page.ipynb"].decision.text
    nested = [paper("two/page.ipynb", time=1), paper("again/two/page.ipynb", time=2)]
    assert chosen(nested) == ["again/two/page.ipynb", "two/page.ipynb"]
    same = [paper("two/page.ipynb", time=1, digest="x"), paper("again/two/page.ipynb", time=2, digest="x")]
    assert chosen(same) == ["two/page.ipynb"]


def test_a_page_that_was_passed_on_takes_no_place():
    """Seat 3's page, handed in later with seat 7 typed on it, does not replace the one of seat 3."""
    papers = [paper("a.ipynb", 3, 1.0, None, 3, 3), paper("b.ipynb", 3, 2.0, None, 3, 7)]
    made = choose_counted(papers)
    assert chosen(papers) == ["a.ipynb"]
    assert "made for seat 3 and says seat 7" in made[1].why_not
    assert ("all", "counts them all") in made[1].decision.ways


def test_the_teacher_decides():
    """The last one, all, or one file; another seat or file is refused with what there is and an example."""
    papers = [paper("one/a.ipynb", time=1), paper("two/b.ipynb", time=2), paper("two/c.ipynb", time=3)]
    assert chosen(papers, {}) == ["one/a.ipynb", "two/c.ipynb"]
    assert chosen(papers, {7: "last"}) == ["two/c.ipynb"]
    assert chosen(papers, {7: "all"}) == ["one/a.ipynb", "two/b.ipynb", "two/c.ipynb"]
    assert chosen(papers, {7: "one/a.ipynb"}) == ["one/a.ipynb"]
    for wrong in ({8: "last"}, {7: "d.ipynb"}, {0: "all"}):
        with pytest.raises(ValueError, match=r'for example counts=\{7: "last"\}'):
            choose_counted(papers, wrong)
    with pytest.raises(ValueError, match=r"it has one/a\.ipynb, two/b\.ipynb, two/c\.ipynb"):
        choose_counted(papers, {7: "d.ipynb"})


def test_what_is_no_decision_is_refused(tmp_path):
    """Neither what is no dict of seats and texts, nor a seat without a page or with the page of another."""
    put(tmp_path / "page.ipynb", page(7))
    for wrong in (
        {8: "last"},
        {7: "d.ipynb"},
        {"7": "last"},
        {7: ["last"]},
        {0: "all"},
        [7],
        "last",
        {True: "last"},
    ):
        with pytest.raises(ValueError, match=r'for example counts=\{7: "last"\}'):
            gradebook(tmp_path, NAME, counts=wrong)


def test_papers_without_a_seat_are_never_one_anothers_copies():
    """Damaged files of the same bytes stay two files."""
    made = choose_counted([paper("a", 0, digest="x"), paper("b", 0, digest="x")])
    assert [one.why_not for one in made] == ["", ""]


@TRIES
@given(
    st.integers(1, 100_000),
    st.one_of(
        st.sampled_from(
            ["last", "all", "a b/c'd.ipynb", 'x"y.ipynb', "$HOME/`ls`.ipynb", "a\\udcff.ipynb", "a!b=%c"]
        ),
        st.text(
            st.characters(exclude_categories=("Cc", "Cf", "Cs", "Zl", "Zp", "Cn", "Co")), min_size=1
        ).filter(lambda name: name.strip() and name.isprintable()),
    ),
)
def test_a_decision_is_typed_as_it_stands(seat, counts):
    """In a notebook it is Python that gives the seat and the page; in a terminal a shell's words do."""
    made = {}
    exec(f"made.update(dict({in_python(seat, counts)}))", {"made": made, "dict": dict})
    assert made == {"counts": {seat: counts}}
    option, text = shlex.split(in_terminal(seat, counts, windows=False))
    assert option == "--counts"
    if set(counts) & set('"\\$`!%'):  # no quotes keep these as they are in each terminal of Windows
        assert in_terminal(seat, counts, windows=True) == ""
    else:
        assert in_terminal(seat, counts, windows=True) == in_terminal(seat, counts, windows=False)
    expected = counts.strip() if counts.strip() in ("last", "all") else counts
    assert counts_typed(text) == (seat, expected)


@pytest.mark.parametrize(
    "name",
    ["$(touch ran).ipynb", "`touch ran`.ipynb", '";touch ran;".ipynb', "';touch ran;'.ipynb", "a;touch ran"],
)
def test_a_name_that_is_a_command_is_not_run_where_a_hint_is_pasted(tmp_path, name):
    """A shell takes the hint for two words, whatever a pupil called the file."""
    typed = in_terminal(7, f"group/{name}", windows=False)
    said = subprocess.run(
        ["sh", "-c", f"printf '%s|' {typed}"], cwd=tmp_path, capture_output=True, text=True, check=True
    ).stdout
    assert said == f"--counts|7=group/{name}|"
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_sought_one_up(tmp_path, monkeypatch):
    """It says where it looked; the example is the folder of that name one up, or the one we stand in."""
    (tmp_path / "lesson").mkdir()
    monkeypatch.chdir(tmp_path / "lesson")
    for example in (".", "../returned"):
        with pytest.raises(ValueError, match="is not a folder") as refused:
            gradebook("returned")
        assert "lesson" in str(refused.value).partition("looked for at")[2]
        assert f'classroom.gradebook("{example}")' in str(refused.value)
        (tmp_path / "returned").mkdir(exist_ok=True)

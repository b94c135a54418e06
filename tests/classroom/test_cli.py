"""The teacher's command line: what it writes, what it says, and how it refuses."""

import argparse
import io
import json
import os
import re
import shlex
import subprocess
import sys
from fractions import Fraction
from importlib import import_module

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab.__main__ as launcher
from rhythmlab.classroom import cli, handing_out
from rhythmlab.classroom.assignment import MOST_AT_ONCE, MOST_SEATS, READY, assignment
from rhythmlab.classroom.bank.catalogue import CLASS_IDS
from rhythmlab.classroom.cli import ids_typed, marks_typed, seats_typed
from tests.classroom.pages import page, put
from tests.strategies import TRIES

NAME = "grid-and-composite"
#: The module; its function of the same name is what the room has.
marking = import_module("rhythmlab.classroom.gradebook")


def refused(capsys, *argv: str) -> str:
    """Return the one line that a refused command says."""
    assert cli.main(list(argv)) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("rhythmlab: ")
    assert err.count("\n") == 1
    assert f"; for example: python -m rhythmlab {argv[0]} " in err
    return err


def not_understood(capsys, *argv: str) -> str:
    """Return what is said of arguments that are not understood."""
    with pytest.raises(SystemExit) as end:
        cli.main(list(argv))
    assert end.value.code == 2
    said = capsys.readouterr().err
    assert said.startswith(f"usage: python -m rhythmlab {argv[0]} ")
    return said


def test_assign_writes_one_page_for_all_and_the_answers(tmp_path, capsys):
    """It says what is to be handed out, what is not, and how to mark it."""
    where = tmp_path / "out"
    assert cli.main(["assign", NAME, "--to", str(where)]) == 0
    assert os.listdir(where) == [f"{NAME}.ipynb"]
    assert os.listdir(f"{where}-answers") == [f"{NAME}-answers.ipynb"]
    out, err = capsys.readouterr()
    assert err == ""
    assert out.splitlines() == [
        f"To hand out, in {where}: {NAME}.ipynb",
        f"For you alone, in the folder beside it, {where}-answers: {NAME}-answers.ipynb",
        "When they come back into a folder: "
        f"python -m rhythmlab grade returned --assignment {NAME} --to marks",
    ]


def test_assign_writes_a_test_of_ones_own_for_seats(tmp_path, capsys):
    """All options; the command that it prints marks it."""
    ids = "grid-ticks, gaps-midway"
    argv = ["assign", "week 3", "--to", str(tmp_path), "--seats", "1-2,7", "--mode", "test", "--ids", ids]
    assert cli.main([*argv, "--title", "Week 3"]) == 0
    assert sorted(os.listdir(tmp_path)) == [
        "week-3-seat-001.ipynb",
        "week-3-seat-002.ipynb",
        "week-3-seat-007.ipynb",
    ]
    page = json.loads((tmp_path / "week-3-seat-007.ipynb").read_text())
    texts = ["".join(cell["source"]) for cell in page["cells"]]
    assert texts[0].startswith("# Week 3, seat 7\n")
    assert 'work = rl.classroom.assignment("week 3", seat=7, mode="test")' in texts
    said = capsys.readouterr().out
    assert "3 pages, week-3-seat-001.ipynb and so on" in said
    assert 'grade returned --assignment "week 3" --ids grid-ticks,gaps-midway --to marks' in said


def test_answers_that_lie_in_a_folder_from_before_are_told(tmp_path, capsys):
    """Up to 0.2.0 they lay among the pages: such a folder goes on working, and they stay there."""
    where = tmp_path / "handed-out"
    put(where / f"{NAME}-answers.ipynb", b"from before")
    assert cli.main(["assign", NAME, "--to", str(where)]) == 0
    assert f"Take {NAME}-answers.ipynb out of {where} before you hand that out" in capsys.readouterr().out
    assert (where / f"{NAME}-answers.ipynb").read_bytes() == b"from before"
    (where / f"{NAME}-answers.ipynb").unlink()
    assert cli.main(["assign", NAME, "--to", str(where)]) == 0
    assert "before you hand that out" not in capsys.readouterr().out


def test_assign_again_changes_nothing_and_never_replaces(tmp_path, capsys):
    """The same is welcome; a page that a pupil wrote in is refused by name and stays."""
    argv = ["assign", NAME, "--to", str(tmp_path)]
    assert cli.main(argv) == cli.main(argv) == 0
    capsys.readouterr()
    page = tmp_path / f"{NAME}.ipynb"
    page.write_text(page.read_text().replace("answer=[]", "answer=[7]", 1))
    before = page.read_bytes()
    assert f"{NAME}.ipynb already, and it differs; nothing was written" in refused(capsys, *argv)
    assert page.read_bytes() == before


def test_a_folder_that_is_taken_is_answered_with_another_one(tmp_path, capsys):
    """The example is not the command that was just refused; what is there stays."""
    handed, marks = tmp_path / "handed-out", tmp_path / "marks"
    argv = ["assign", NAME, "--to", str(handed)]
    assert cli.main(argv) == 0
    grade = ["grade", str(handed), "--to", str(marks)]
    assert cli.main(grade) == 0
    page = handed / f"{NAME}.ipynb"
    page.write_text(page.read_text().replace("answer=[]", "answer=[7]", 1))
    (marks / "marks.csv").write_text("of before")
    capsys.readouterr()
    assert refused(capsys, *argv).endswith(f"assign {NAME} --seats 1-30 --to handed-out-2\n")
    assert cli.main(grade) == 2
    assert capsys.readouterr().err.endswith("python -m rhythmlab grade returned --to marks-2\n")
    assert (marks / "marks.csv").read_text() == "of before"


def test_long_work_is_told_on_stderr(tmp_path, capsys):
    """So that what is printed can be kept by itself."""
    cli.main(["assign", "gap-cycles", "--to", str(tmp_path), "--seats", "1-100"])
    out, err = capsys.readouterr()
    assert err.splitlines() == ["50 of 101 pages written", "100 of 101 pages written"]
    assert "pages written" not in out


def test_from_handing_out_to_the_marks(tmp_path, capsys):
    """Two seats of three answer, one rightly and one wrongly; the summary is said, the table is written."""
    assert cli.main(["assign", NAME, "--to", str(tmp_path / "returned"), "--seats", "1-3"]) == 0
    for seat in (1, 2):
        path = tmp_path / "returned" / f"{NAME}-seat-{seat:03}.ipynb"
        page = json.loads(path.read_text())
        for cell in page["cells"]:
            id = cell["metadata"].get("rhythmlab", {}).get("question")
            if id:
                answer = assignment(NAME, seat).question(id).worked() if seat == 1 else [1]
                cell["source"] = [f'work.reply("{id}", answer={answer})']
        path.write_text(json.dumps(page))
    capsys.readouterr()
    assert cli.main(["grade", str(tmp_path / "returned"), "--to", str(tmp_path / "marks")]) == 0
    out, _ = capsys.readouterr()
    book = marking.gradebook(tmp_path / "returned", NAME)
    assert out.startswith(book.summary_text)
    assert f"Written to {tmp_path / 'marks'}: " in out
    assert (tmp_path / "marks" / "marks.csv").is_file()
    marks = {seat.name: seat.marks for seat in book.by("seat")}
    assert marks["1"] == sum(row.out_of for row in book.papers[0].rows)
    assert marks["3"] == 0
    assert cli.main(["grade", str(tmp_path / "returned")]) == 0
    assert "add --to and a folder" in capsys.readouterr().out


def test_the_options_of_grade_reach_the_gradebook(tmp_path, monkeypatch, capsys):
    """Folder, name, questions and hour as they were typed; progress goes to stderr."""
    calls = []

    class Book:
        def write(self, folder):
            calls.append(folder)
            return [folder / "marks.csv"]

    def book(folder, name=None, *, ids=None, due=None, counts=None, marks=None, progress=None):
        calls.append((folder, name, ids, due, counts, marks))
        progress("50 of 60 files read")
        return Book()

    monkeypatch.setattr(cli, "gradebook", book)
    monkeypatch.setattr("rhythmlab.classroom.cli.summary_of", lambda _, typed: typed(7, "last"))
    more = ["--assignment", "week 3", "--ids", "grid-ticks", "--due", "2030-05-04T18:00"]
    more += ["--counts", "7=last", "--counts", "8=b/page = 1.ipynb"]
    more += ["--marks", "grid-ticks=3", "--marks", "grid-rows=1/2", "--to"]
    assert cli.main(["grade", str(tmp_path / "in"), *more, str(tmp_path / "out")]) == 0
    counts = {7: "last", 8: "b/page = 1.ipynb"}
    worth = {"grid-ticks": 3, "grid-rows": Fraction(1, 2)}
    assert calls == [
        (tmp_path / "in", "week 3", ("grid-ticks",), "2030-05-04T18:00", counts, worth),
        tmp_path / "out",
    ]
    out, err = capsys.readouterr()
    assert err == "50 of 60 files read\n"
    assert out.splitlines() == ["--counts 7=last", f"Written to {tmp_path / 'out'}: 1 file, marks.csv first."]


def test_marks_are_not_written_into_what_was_handed_in(tmp_path, capsys):
    """Not into the folder itself nor below it, where they would be read as handed in the next time."""
    for to in (tmp_path, tmp_path / "marks"):
        assert "a folder of its own for the marks" in refused(capsys, "grade", str(tmp_path), "--to", str(to))
    assert os.listdir(tmp_path) == []


def two_groups(folder):
    """Put two pages that differ for seats 1 to 3 into two folders, and two for seat 4 into one."""
    for seat in (1, 2, 3):
        for group in ("first group", 'it\'s "second"'):
            put(folder / group / f"{seat}.ipynb", page(seat, {"grid-ticks": f"[{len(group)}]"}), len(group))
    for number in (1, 2):
        put(folder / f"{number}.ipynb", page(4, {"grid-ticks": f"[{number}]"}), number)
    return str(folder)


def test_what_the_terminal_says_to_type_can_be_typed_there(tmp_path, capsys):
    """Each --counts of the summary, as a shell reads it, alone and with the others of other seats."""
    where = two_groups(tmp_path)
    assert cli.main(["grade", where]) == 0
    out, _ = capsys.readouterr()
    assert "counts={" not in out
    hints = re.findall(r"--counts (?:'.*?(?:'\"'\"'.*?)*'|\".*?\"|\S+)(?= counts)", out)
    assert len(hints) == 3 * 2 + 2
    assert len(set(hints)) == 8
    for hint in hints:
        words = shlex.split(hint)
        seat, counts = cli.counts_typed(words[1])
        assert cli.main(["grade", where, *words]) == 0
        out, _ = capsys.readouterr()
        pages = 7 + (1 if counts == "all" else 0 if seat == 4 else -1)
        assert f"8 files; {pages} pages count." in out
        assert f"Seat {seat} stands on" not in out
    many = [word for seat in (1, 2, 3) for word in ("--counts", f"{seat}=last")]
    assert cli.main(["grade", where, *many, "--counts", "4=all"]) == 0
    assert "8 files; 5 pages count." in capsys.readouterr().out


def test_decisions_that_cannot_be_taken_are_refused(tmp_path, capsys):
    """Two for one seat, a seat without a page, a page that is not there: one plain line each."""
    where = two_groups(tmp_path)
    grade = ["grade", where, "--counts"]
    assert "--counts says two things of seat 1, last and all" in refused(
        capsys, *grade, "1=last", "--counts", "1=all"
    )
    for typed, said in (
        ("9=last", "--counts 9=last: seat 9 has no page;"),
        ("1=x.ipynb", "--counts 1=x.ipynb: seat 1 has no page 'x.ipynb', it has first group/1.ipynb, it's"),
    ):
        assert cli.main([*grade, typed]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert err.splitlines()[-1].startswith(f"rhythmlab: {said}")
    for wrong in (
        "",
        "7",
        "last",
        "=last",
        "7=",
        "7= ",
        "0=last",
        "1000000=last",
        "x=last",
        "-1=last",
        "7.5=a",
    ):
        assert "no seat with what counts for it; for example 7=last" in not_understood(
            capsys, "grade", where, f"--counts={wrong}"
        )
    assert cli.main([*grade, " 1 = last ", "--counts", "1=last"]) == 0


def test_a_terminal_without_all_letters_still_gets_its_summary(tmp_path, monkeypatch):
    """What it cannot show is spelled out; nothing is lost, and the marks are written."""
    put(tmp_path / "in" / "拍子 ♩.ipynb", page(7, {"grid-ticks": "[1,"}))
    put(tmp_path / "in" / "é.png", b"x")
    narrow = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr(sys, "stdout", narrow)
    assert cli.main(["grade", str(tmp_path / "in"), "--to", str(tmp_path / "out")]) == 0
    narrow.flush()
    assert b"\\xe9.png is no notebook" in narrow.buffer.getvalue()
    assert (tmp_path / "out" / "marks.csv").is_file()


def test_marks_are_not_written_through_a_link_among_what_was_handed_in(tmp_path, capsys):
    """A pupil's link that leads elsewhere, or round in a circle, is no folder for marks."""
    put(tmp_path / "in" / "a.ipynb", page(7))
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "in" / "marks").symlink_to(tmp_path / "elsewhere")
    (tmp_path / "in" / "loop").symlink_to("loop")
    (tmp_path / "out").symlink_to(tmp_path / "in")
    for to in ("in/marks", "in/loop", "out", "out/x"):
        assert "a folder of its own for the marks" in refused(
            capsys, "grade", str(tmp_path / "in"), "--to", str(tmp_path / to)
        )
    assert os.listdir(tmp_path / "elsewhere") == []


def test_refusals_of_assign_are_one_plain_line(tmp_path, capsys):
    """A name without questions, other questions under a ready name, a name in quotes, a file for a folder."""
    to = ["--to", str(tmp_path / "out")]
    assert "name='week 3' is no ready assignment (grid-and-composite, " in refused(
        capsys, "assign", "week 3", *to
    )
    assert "questions of its own" in refused(capsys, "assign", NAME, *to, "--ids", "grid-ticks")
    assert "which a page cannot hold" in refused(capsys, "assign", "a'b", *to, "--ids", "grid-ticks")
    assert "is not a name" in refused(capsys, "assign", "", *to)
    (tmp_path / "notes").write_text("mine")
    assert "is a file" in refused(capsys, "assign", NAME, "--to", str(tmp_path / "notes"))
    assert os.listdir(tmp_path) == ["notes"]


def test_refusals_of_grade_are_one_plain_line(tmp_path, capsys):
    """No such folder, nothing in it, an hour that is none, a name without questions."""
    assert "is not a folder" in refused(capsys, "grade", str(tmp_path / "nowhere"))
    cli.main(["assign", "week 3", "--ids", "grid-ticks", "--to", str(tmp_path / "in"), "--seats", "1"])
    capsys.readouterr()
    assert "noon" in refused(capsys, "grade", str(tmp_path / "in"), "--due", "noon")
    assert "is no ready assignment" in refused(
        capsys, "grade", str(tmp_path / "in"), "--assignment", "week 3"
    )


@pytest.mark.parametrize("command", ["assign", "grade"])
def test_a_full_disk_and_ctrl_c_end_in_a_line(tmp_path, monkeypatch, capsys, command):
    """No traceback; 2 for what the system refuses, 130 for Ctrl-C, as shells have it."""
    argv = {"assign": ["assign", NAME, "--to", str(tmp_path)], "grade": ["grade", str(tmp_path)]}[command]
    where, name = {"assign": (cli, "write_assignment"), "grade": (cli, "gradebook")}[command]

    def full(*_, **__):
        raise OSError(28, "No space left on device", str(tmp_path))

    monkeypatch.setattr(where, name, full)
    assert "the disk is full" in refused(capsys, *argv)

    def interrupted(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(where, name, interrupted)
    assert cli.main(argv) == 130
    assert "Stopped" in capsys.readouterr().err


def test_stopped_half_way_it_goes_on_from_there(tmp_path, monkeypatch, capsys):
    """Pages that were written are whole, and the same command writes the rest."""
    argv = ["assign", NAME, "--to", str(tmp_path), "--seats", "1-5"]
    real, written = handing_out.put, []

    def put(path, data):
        if len(written) == 3:
            raise KeyboardInterrupt
        written.append(path)
        return real(path, data)

    monkeypatch.setattr(handing_out, "put", put)
    assert cli.main(argv) == 130
    assert len(os.listdir(tmp_path)) == 3
    monkeypatch.setattr(handing_out, "put", real)
    assert cli.main(argv) == 0
    assert len(os.listdir(tmp_path)) == 5
    assert len(os.listdir(f"{tmp_path}-answers")) == 1


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (["assign"], "required: NAME, --to"),
        (["assign", NAME], "required: --to"),
        (["assign", NAME, "--to", ""], "is empty; give a folder, for example handed-out"),
        (["assign", NAME, "--to", "x", "--mode", "exam"], "choose from"),
        (["assign", NAME, "--to", "x", "--seat", "3"], "unrecognized arguments: --seat 3"),
        (["assign", NAME, "--to", "x", "--seats", "1-x"], "'1-x' is no seat and no range of seats"),
        (["assign", NAME, "--to", "x", "--ids", "grid"], "there is no question 'grid'; there are grid-ticks"),
        (["assign", NAME, "--to", "x", "--ids", "grid-ticks,grid-ticks"], "is in it twice"),
        (["grade"], "required: RETURNED"),
        (["grade", ""], "is empty; give a folder"),
        (["grade", "a", "b"], "unrecognized arguments: b"),
        (["grade", "a", "--ids", ""], "there is no question ''"),
    ],
)
def test_arguments_that_are_not_understood_are_named(tmp_path, monkeypatch, capsys, argv, said):
    """With the usage; nothing is read or written."""
    monkeypatch.chdir(tmp_path)
    assert said in not_understood(capsys, *argv)
    assert os.listdir(tmp_path) == []


@TRIES
@given(st.lists(st.integers(1, MOST_SEATS), min_size=1, max_size=20, unique=True))
def test_seats_typed_one_by_one_come_back(seats):
    """With and without spaces, in the order typed."""
    assert seats_typed(",".join(map(str, seats))) == seats
    assert seats_typed(" , ".join(map(str, seats))) == seats


@TRIES
@given(st.fractions(Fraction(1, 9_999), 1_000, max_denominator=9_999))
def test_marks_typed_come_back(worth):
    """Exactly, as a whole number or as a fraction, whatever stands around it."""
    if worth.numerator < 10_000:
        assert marks_typed(f" grid-rows = {worth} ") == ("grid-rows", worth)


@pytest.mark.parametrize(
    "text", ["", "=3", "grid-rows", "grid-rows=0", "a=-1", "a=1/0", "a=1001", "a=x", "a=1e9"]
)
def test_marks_that_are_none_are_refused(text):
    """Each with an example that works."""
    with pytest.raises(argparse.ArgumentTypeError, match="for example grid-rows=3"):
        marks_typed(text)


def test_a_question_has_one_number_of_marks(tmp_path, capsys):
    """Two numbers for one question, and a question that is not asked, are refused with what to type."""
    put(tmp_path / "page.ipynb", page(7))
    twice = ["--marks", "grid-rows=2", "--marks", "grid-rows=3"]
    assert "two things of grid-rows, 2 and 3; for example" in refused(capsys, "grade", str(tmp_path), *twice)
    said = refused(capsys, "grade", str(tmp_path), "--marks", "gaps-midway=2")
    assert "'gaps-midway' is none of the questions" in said
    assert said.endswith("--marks grid-rows=3\n")


@TRIES
@given(st.integers(1, MOST_SEATS - 300), st.integers(0, 300))
def test_a_range_of_seats_has_both_its_ends(first, more):
    """From the first to the last, as one says it."""
    assert seats_typed(f"{first}-{first + more}") == list(range(first, first + more + 1))


@pytest.mark.parametrize(
    "text",
    [
        *("", " ", ",", "1,", "0", "0-3", "-1", "3-1", "1-2-3", "a", "1.5", "١", "1-99999999999", "999999"),
        *(
            "1,1",
            "1-3,2",
            f"1-{MOST_AT_ONCE + 1}",
            f"1-{MOST_AT_ONCE},{MOST_AT_ONCE + 1}",
            "9" * 5000,
            "1\x00",
        ),
    ],
)
def test_seats_that_are_none_are_refused_before_they_are_counted_out(text):
    """Each with an example that works; nothing long is shown."""
    with pytest.raises(argparse.ArgumentTypeError, match="for example 1-30") as caught:
        seats_typed(text)
    assert len(str(caught.value)) < 120
    assert len(seats_typed("1-30")) == 30


def test_as_many_seats_as_are_handed_out_at_once_can_be_typed():
    """The bound itself is allowed."""
    assert len(seats_typed(f"1-{MOST_AT_ONCE}")) == MOST_AT_ONCE
    assert seats_typed(str(MOST_SEATS)) == [MOST_SEATS]


@TRIES
@given(st.text(max_size=60))
def test_whatever_is_typed_for_seats_or_ids_is_read_or_refused(text):
    """Never another error."""
    for read in (seats_typed, ids_typed):
        try:
            found = read(text)
        except argparse.ArgumentTypeError:
            continue
        assert len(set(found)) == len(found) > 0


@pytest.mark.parametrize("command", ["assign", "grade"])
def test_help_names_what_there_is_and_fits_a_small_screen(capsys, command):
    """Ready assignments and questions whole, so that they can be copied; the way to a folder of that name."""
    with pytest.raises(SystemExit) as end:
        cli.main([command, "--help"])
    assert end.value.code == 0
    said = capsys.readouterr().out
    assert len(said.splitlines()) <= 40
    if command == "assign":
        assert all(name in said for name in (*READY, *CLASS_IDS))
    else:
        assert "./grade or ./assign" in said


def test_the_launcher_loads_the_desk_only_when_asked(tmp_path):
    """Its help neither imports the classroom nor numpy; `assign` goes through it in a process of its own."""
    code = (
        "import sys\nfrom rhythmlab.__main__ import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "assert not {'rhythmlab.classroom', 'numpy'} & set(sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], stdout=subprocess.DEVNULL).returncode == 0
    argv = [sys.executable, "-m", "rhythmlab", "assign", "hear-and-read", "--to", str(tmp_path)]
    done = subprocess.run(argv, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
    assert len(os.listdir(tmp_path)) == 1
    assert launcher.main(["grade", str(tmp_path / "nowhere")]) == 2


@pytest.mark.parametrize(
    ("argv", "orig", "program"),
    [
        ([".venv/bin/rhythmlab"], ["python3"], ".venv/bin/rhythmlab"),
        (["/a b/rhythmlab"], ["python3"], "'/a b/rhythmlab'"),
        (
            ["/x/rhythmlab/__main__.py"],
            [".venv/bin/python", "-m", "rhythmlab"],
            ".venv/bin/python -m rhythmlab",
        ),
        (["/x/pytest/__main__.py"], ["python", "-m", "pytest"], "python -m rhythmlab"),
        ([""], ["python"], "python -m rhythmlab"),
    ],
)
@pytest.mark.skipif(os.name == "nt", reason="Windows quotes a command in another way")
def test_the_program_is_named_as_it_was_called(monkeypatch, argv, orig, program):
    """Where there is no `python` on the path, what is printed can still be typed."""
    monkeypatch.setattr(sys, "argv", argv)
    monkeypatch.setattr(sys, "orig_argv", orig)
    assert cli.program() == program


def test_a_refusal_shows_what_was_refused(tmp_path, capsys):
    """Each example is one of the option that was wrong, and can be typed."""
    put(tmp_path / "7.ipynb", page(7))
    marking = ("grade", str(tmp_path))

    def example(*argv):
        assert cli.main(list(argv)) == 2
        return capsys.readouterr().err.splitlines()[-1].rsplit("; for example: python -m rhythmlab ", 1)[1]

    examples = [
        example(*marking, "--due", "yesterday"),
        example(*marking, "--counts", "9=last"),
        example(*marking, "--assignment", "week-3"),
        example("grade", str(tmp_path / "none")),
        example("assign", "week-3", "--to", str(tmp_path / "a")),
        example("assign", NAME, "--to", str(tmp_path / "7.ipynb")),
    ]
    assert examples == [
        "grade returned --to marks --due 2030-05-04T18:00+02:00",
        "grade returned --to marks --counts 7=last",
        "grade returned --to marks --assignment week-3 --ids grid-ticks,gaps-midway",
        "grade returned --to marks",
        "assign week-3 --ids grid-ticks,gaps-midway --to handed-out",
        "assign grid-and-composite --seats 1-30 --to handed-out",
    ]


def test_help_says_in_which_time_a_paper_is_due(capsys):
    """An hour without an offset is not the hour of the teacher's clock."""
    with pytest.raises(SystemExit):
        cli.main(["grade", "--help"])
    assert "in UTC where no offset is given" in " ".join(capsys.readouterr().out.split())

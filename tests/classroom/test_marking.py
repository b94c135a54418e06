"""Marking: each way to lose a mark is told apart, with a reason that a pupil can read."""

from fractions import Fraction

import pytest

from rhythmlab.classroom.assignment import READY, assignment
from rhythmlab.classroom.bank.takes import TakeQuestion
from rhythmlab.classroom.marking import STATES, mark
from rhythmlab.classroom.returned import read_notebook
from tests.classroom.pages import IDS, NAME, code, page, put, reply_cell, right


def marks(folder, notebook, name=NAME, ids=IDS):
    """Return the rows of a page by question."""
    rows = mark(read_notebook(put(folder / "page.ipynb", notebook), folder), name, ids)
    assert all(row.reason and row.reason.isprintable() and row.state in STATES for row in rows)
    assert all(0 <= row.marks <= row.out_of for row in rows)
    return {row.question: row for row in rows}


def state(folder, answer, id="grid-ticks"):
    """Return the state and the reason of one answer."""
    row = marks(folder, page(7, {id: answer}))[id]
    return row.state, row.reason, row.marks


@pytest.mark.parametrize("name", READY)
def test_right_answers_get_every_mark(tmp_path, name):
    """Every question of every ready assignment, as the worked answer is typed."""
    ids = READY[name].ids
    rows = marks(tmp_path, page(7, name=name, ids=ids), name, ids)
    assert tuple(rows) == ids
    assert all(row.state == "right" and row.marks == row.out_of for row in rows.values())


def test_each_way_to_lose_a_mark_is_told_apart(tmp_path):
    """Empty, unreadable, of the wrong type, wrong, partly right, missing, replaced by another question."""
    assert state(tmp_path, "[]")[::2] == ("not answered", 0)
    assert state(tmp_path, "")[::2] == ("not answered", 0)
    assert state(tmp_path, "[7")[::2] == ("unreadable", 0)
    assert state(tmp_path, "my_answer")[::2] == ("unreadable", 0)
    assert state(tmp_path, '["seven"]')[::2] == ("wrong type", 0)
    assert state(tmp_path, "[999]")[::2] == ("wrong", 0)
    assert state(tmp_path, None)[::2] == ("missing cell", 0)
    half = repr(assignment(NAME, 7).question("grid-rows").worked()[:1])
    assert state(tmp_path, half, "grid-rows")[0] == "partly right"


def test_a_reason_says_what_to_do(tmp_path):
    """Each names what is off, in a sentence."""
    assert "bracket" in state(tmp_path, "[7")[1]
    assert state(tmp_path, "my_answer")[1].startswith("'my_answer' is not part of an answer.")
    assert "'seven' is not a number." in state(tmp_path, '["seven"]')[1]
    assert "too many" in state(tmp_path, "[999]")[1]
    assert "no cell that replies to grid-ticks" in state(tmp_path, None)[1]
    assert state(tmp_path, "[]")[1].startswith("Not answered yet: ")


def test_a_cell_that_was_written_over_is_a_changed_question(tmp_path):
    """Its own question says which other one it replies to now; the other keeps its own reply."""
    notebook = page(7)
    reply_cell(notebook, "composite-sounds")["source"] = 'work.reply("grid-ticks", answer=[999])'
    rows = marks(tmp_path, notebook)
    assert rows["composite-sounds"].state == "changed question"
    assert "'grid-ticks'" in rows["composite-sounds"].reason
    assert rows["composite-sounds"].answer == "[999]"
    assert rows["grid-ticks"].state == "right"
    assert "2 replies" in rows["grid-ticks"].reason


def test_an_id_with_a_slip_is_a_changed_question_with_its_answer(tmp_path):
    """Nothing that was written is lost, also where its id is none."""
    notebook = page(7)
    reply_cell(notebook, "grid-ticks")["source"] = 'work.reply("grid-tick", answer=[12])'
    row = marks(tmp_path, notebook)["grid-ticks"]
    assert (row.state, row.answer) == ("changed question", "[12]")


def test_of_a_copied_cell_the_last_reply_that_can_be_read_counts(tmp_path):
    """A copy that says the same says nothing more; an empty or a broken one takes no mark away."""
    answer = right("grid-ticks", 7)
    cases = (
        (answer, "right", ""),
        (answer.replace("[", "[ "), "right", ""),
        ("[]", "right", ""),
        ("[7,", "right", "can be read counts"),
        ("[999]", "wrong", "the last one counts"),
    )
    for copy, expected, said in cases:
        notebook = page(7)
        notebook["cells"].append(code(f'work.reply("grid-ticks", answer={copy})', "grid-ticks"))
        row = marks(tmp_path, notebook)["grid-ticks"]
        assert row.state == expected, copy
        assert said in row.reason
        assert ("There are 2" in row.reason) == bool(said)


def test_a_split_cell_is_told(tmp_path):
    """Two halves, neither of which can be read."""
    notebook = page(7)
    cell = reply_cell(notebook, "grid-rows")
    at = notebook["cells"].index(cell)
    whole = cell["source"]
    notebook["cells"][at : at + 1] = [code(whole[:30], "grid-rows"), code(whole[30:], "grid-rows")]
    row = marks(tmp_path, notebook)["grid-rows"]
    assert row.state == "unreadable"
    assert "as if a cell was split" in row.reason


def test_a_page_without_a_seat_is_told_once(tmp_path):
    """Without a seat nobody knows the numbers; one row, and what to type."""
    (row,) = marks(tmp_path, page(0)).values()
    assert (row.state, row.out_of, row.seat) == ("no seat", 0, 0)
    assert "seat=7" in row.reason
    notebook = page(7)
    notebook["cells"][1]["source"] = f'work = rl.classroom.assignment("{NAME}", seat="seven")'
    (row,) = marks(tmp_path, notebook).values()
    assert row.state == "no seat"
    assert '"seven"' in row.reason


@pytest.mark.parametrize("seat", [100_001, 999_999, -3, 10**30])
def test_a_seat_that_no_class_has_ends_no_marking(tmp_path, seat):
    """Told as no seat, whether it was typed or stands in the metadata."""
    notebook = page(1, made_for=seat)
    notebook["cells"][1]["source"] = f'work = rl.classroom.assignment("{NAME}", seat={seat})'
    assert [row.state for row in marks(tmp_path, notebook).values()] == ["no seat"]
    del notebook["cells"][1]
    assert [row.state for row in marks(tmp_path, notebook).values()] == ["no seat"]


def test_a_page_made_for_another_seat_is_marked_as_made_and_says_so(tmp_path):
    """Seat 3's page on which 8 was typed: marked as 3; where 8's numbers were worked, that is told too."""
    rows = marks(tmp_path, page(8, made_for=3))
    wrong = [row for row in rows.values() if row.state == "wrong seat"]
    assert wrong
    assert all(row.seat == 3 and "made for seat 3 and says seat 8" in row.reason for row in rows.values())
    assert all("The answer is right for seat 8." in row.reason for row in wrong)
    kept = marks(tmp_path, page(8, {"grid-ticks": None, "grid-rows": "[", "grid-three": "[]"}, made_for=3))
    assert [kept[id].state for id in IDS[:3]] == ["missing cell", "unreadable", "not answered"]
    assert all(row.state == "right" for row in marks(tmp_path, page(8, made_for=3, cells_for=3)).values())


def test_a_page_of_another_assignment_is_told(tmp_path):
    """By its name, or that it says none."""
    (row,) = marks(tmp_path, page(7, name="gap-cycles", ids=READY["gap-cycles"].ids)).values()
    assert (row.state, "'gap-cycles'" in row.reason) == ("changed question", True)
    notebook = page(7)
    del notebook["cells"][1]
    notebook["metadata"] = {}
    (row,) = marks(tmp_path, notebook).values()
    assert "does not say of which assignment" in row.reason


HOSTILE = (
    *("__import__('os').system('touch ran')", "eval('1')", "exec('1')", "(lambda: 0)()", "open('ran', 'w')"),
    *("[x for x in range(10**9)]", "[[x for x in range(10**9)] for y in range(10**9)]", "{1: 2}", "f'{1}'"),
    *("[" * 10_000, "[" * 10_000 + "]" * 10_000, "-" * 10_000 + "1", "(" * 5_000, "9" * 1_000_000, "1e999"),
    *("9**9**9", "'a' * 10**9", "[" + "1," * 20_000 + "]", "'" + "x" * 1_000_000 + "'", "0x7", "1_0", "7j"),
    *("7; import os", "7) or print(1", "...", "*[7]", "**{}", "print", "[7] if 1 else 2", "not 1", "1 and 2"),
    *("\ud800", "'\ud800'", "\x00", "'\u202e'", "b'7'", "u'7'", "'''7'''", "`7`", "1/0", "0/0", "-9/0"),
)


@pytest.mark.parametrize("answer", HOSTILE, ids=range(len(HOSTILE)))
def test_code_and_bombs_in_an_answer_are_unreadable_text(tmp_path, monkeypatch, answer):
    """Told in a short sentence; nothing runs, and the other questions keep their marks."""
    monkeypatch.chdir(tmp_path)
    rows = marks(tmp_path, page(7, {"grid-ticks": answer}))
    assert rows["grid-ticks"].state == "unreadable"
    assert len(rows["grid-ticks"].reason) <= 600
    assert len(rows["grid-ticks"].answer) <= 200
    assert all(row.state == "right" for id, row in rows.items() if id != "grid-ticks")
    assert [path.name for path in tmp_path.iterdir()] == ["page.ipynb"]


PLAYED = ("play-take",)


def played(folder, answer):
    """Return the row of a take that was handed in."""
    return marks(folder, page(7, {"play-take": answer}, name="week 3", ids=PLAYED), "week 3", PLAYED)[
        "play-take"
    ]


def test_a_take_is_judged_by_its_strokes(tmp_path):
    """Exact strokes get every mark; some late ones lose some, and are told."""
    exact = assignment("week 3", 7).question("play-take").worked()
    assert (played(tmp_path, exact).state, played(tmp_path, exact).parts_right) == ("right", 4)
    late = [[lane, seconds + 0.08 * lane] for lane, seconds in exact]
    row = played(tmp_path, late)
    assert (row.state, row.parts_right, row.parts, row.marks) == ("partly right", 3, 4, Fraction(3, 4))
    assert "hands are apart" in row.reason


def test_the_id_of_a_take_cannot_be_looked_up_and_is_told(tmp_path):
    """The journal is the pupil's; the sentence says what to hand in instead, and how."""
    row = played(tmp_path, '"2026-11-20 18:00"')
    assert (row.state, row.marks) == ("unreadable", 0)
    assert "your own journal" in row.reason
    assert "rl.classroom.taps_of()" in row.reason
    import rhythmlab as rl

    assert callable(rl.classroom.taps_of)


@pytest.mark.parametrize(
    ("answer", "expected"),
    [
        ("[]", "not answered"),
        ('""', "not answered"),
        ("7", "wrong type"),
        ("[7]", "wrong type"),
        ('[["left", 0.1]]', "wrong type"),
        ("[[0, None]]", "wrong type"),
        ("[[0, 1], [1, 2, 3]]", "wrong type"),
        ("[[7, 0.1]]", "wrong type"),
        ("[[0, 1e300]]", "wrong type"),
        ("[[0, 0.0], [0, 0.0], [0, 0.0]]", "wrong"),
        ("[[0, -500], [1, 500]]", "wrong"),
    ],
)
def test_strokes_that_are_none_are_told(tmp_path, answer, expected):
    """Each ends in a row with a reason."""
    row = played(tmp_path, answer)
    assert (row.state, row.marks) == (expected, 0)


def test_a_check_that_breaks_is_told_and_ends_no_marking(tmp_path, monkeypatch):
    """Not a silent zero: the pupil is asked to show it, and the other questions are marked."""

    def broken(self, value, find=None):
        raise ZeroDivisionError

    monkeypatch.setattr(TakeQuestion, "judge", broken)
    row = played(tmp_path, "[[0, 0.1]]")
    assert row.state == "unreadable"
    assert "show it to your teacher" in row.reason

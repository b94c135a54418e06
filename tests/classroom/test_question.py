"""How an answer is judged: what counts as equal, what is said about what is not, and that nothing crashes."""

import ast
from decimal import Decimal
from fractions import Fraction
from html import unescape

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.classroom.assignment import assignment
from rhythmlab.classroom.bank.catalogue import CLASS_IDS, PAGE_IDS, check, question, question_for
from rhythmlab.classroom.marking import STATES
from rhythmlab.classroom.question import Question, Verdict, outcome
from rhythmlab.classroom.reader import reply_of
from tests.profile import tries

FEW = settings(max_examples=tries(200), deadline=None)
LINE = "02-exercise"  # seven ticks
PLACES = "03-exercise"  # four places
ROWS = "01-exercise"  # two rows of boxes


@pytest.mark.parametrize(
    "written",
    [
        [3, 2, 1, 3, 1, 2, 3],
        (3, 2, 1, 3, 1, 2, 3),
        [3.0, 2.0, 1.0, 3.0, 1.0, 2.0, 3.0],
        [Fraction(3), Fraction(4, 2), 1, 3, 1, 2, 3],
        [np.int64(3), np.float64(2), 1, 3, 1, 2, 3],
        np.array([3, 2, 1, 3, 1, 2, 3]),
        rl.composite(rl.Polyrhythm(5, 3)).intervals,
    ],
)
def test_equal_numbers_are_equal_however_they_are_written(written):
    """Lists, tuples, arrays, whole numbers, floats and Fractions of the same value get the same marks."""
    assert check(LINE, answer=written).right


@pytest.mark.parametrize(
    "written",
    [
        ["1", "a of 1", "& of 2", "e of 3"],
        ["1", "1a", "2&", "3e"],
        ["1.1", "1.4", "2.3", "3.2"],
        [1, "1A", "2.3", " 3e "],
        ("1", "a of 1", "and of 2", "e of 3"),
        [1, "A of 1", " &  of 2 ", "E OF 3"],
        ["1", "ah of 1", "+ of 2", "e of 3"],
    ],
)
def test_equal_places_are_equal_however_they_are_written(written):
    """& or and, capitals, spaces, a beat as a number, and beat and part without "of"."""
    assert check(PLACES, answer=written).right


@pytest.mark.parametrize(
    "rows",
    [
        ["X..X..X..X..", "x...x...x..."],
        ["x.. x.. x.. x..", "x... x... x..."],
        [" x..x..x..x.. ", "X . . . X . . .  X . . ."],
        ("x..x..x..x..\n", "x...\tx...x..."),
    ],
)
def test_rows_of_boxes_may_have_capitals_and_spaces(rows):
    """X is a stroke as x is, and a space between boxes is no box."""
    assert check(ROWS, answer=rows).right


@pytest.mark.parametrize(
    ("rows", "letter"),
    [
        (["o..o..o..o..", "x...x...x..."], "o"),
        (["x..x..x..x..", "x---x---x---"], "-"),
        (["x..x..x..x..", "x...x...x..1"], "1"),
        (["x..x..x..x..", "1 & 2"], "&"),
        (["X..X..X..X..", "XO..x...x..."], "o"),
    ],
)
def test_a_row_with_other_letters_is_refused_by_the_letter(rows, letter):
    """The letter, and what to write; no marks, since a row cannot be read."""
    judged = check(ROWS, answer=rows)
    assert judged.text == (
        f"A row is x and dots only; you wrote {letter!r}. Write two rows in quotes, for example "
        'answer=["x.x.x.", "x..x.."] for 3 against 2.'
    )
    assert (judged.marks, judged.answered, judged.right) == (0, True, False)


def test_rows_in_the_other_order_are_said_to_be_so():
    """Both are right and neither is where it belongs: no marks; one row twice is another matter."""
    four, three = "x..x..x..x..", "x...x...x..."
    judged = check(ROWS, answer=[three, four])
    assert judged.text == f"The two rows are right, but in the other order. {capital(question(ROWS).form)}"
    assert (judged.marks, judged.out_of, judged.answered, judged.right) == (0, 2, True, False)
    for twice, off in ((four, three), (three, four)):
        judged = check(ROWS, answer=[twice, twice])
        assert "other order" not in judged.text
        assert judged.marks == 1
        assert judged.text.startswith(f"The row of the {off.count('x')} is off: you wrote {twice}, and ")


def capital(form: str) -> str:
    """Return a form as it stands after another sentence."""
    return form[0].upper() + form[1:]


@pytest.mark.parametrize("empty", [None, [], (), "", [None], ["", ""], [None] * 7, "  ", [" "]])
@pytest.mark.parametrize("key", PAGE_IDS)
def test_an_empty_answer_is_not_answered_yet_and_says_what_to_write(key, empty):
    """No marks, no blame, and an example."""
    judged = check(key, answer=empty)
    assert judged.text == f"Not answered yet: {question(key).form}"
    assert (judged.marks, judged.answered, judged.right) == (0, False, False)
    assert repr(check(key)) == judged.text


@pytest.mark.parametrize(
    ("key", "written", "said"),
    [
        (
            LINE,
            [3, 2, 2, 3, 1, 2, 3],
            "Interval 3 is off: you wrote 2, which is 1 tick too many. 6 of 7 are right.",
        ),
        (
            LINE,
            [3, 2, 1, 3, 1, 2, 1],
            "Interval 7 is off: you wrote 1, which is 2 ticks too few. 6 of 7 are right.",
        ),
        (
            LINE,
            [0, 0, 0, 0, 0, 0, 3],
            "Interval 1 is off: you wrote 0, which is 3 ticks too few. Also off: interval 2, interval 3, "
            "interval 4, interval 5 and interval 6. 1 of 7 is right.",
        ),
        (
            LINE,
            [3, 1, 1, 3, 1, 2, 4],
            "Interval 2 is off: you wrote 1, which is 1 tick too few. Also off: interval 7. "
            "5 of 7 are right.",
        ),
        (
            "00-exercise",
            [8, 100],
            "The number of sounds is off: you wrote 8, which is 1 sound too many. 1 of 2 is right.",
        ),
        (
            "00-exercise",
            [7, 36],
            "The tempo of the 5 is off: you wrote 36, which is 64 bpm too slow. 1 of 2 is right.",
        ),
        (
            "00-exercise",
            [7, 101],
            "The tempo of the 5 is off: you wrote 101, which is 1 bpm too fast. 1 of 2 is right.",
        ),
        (
            "00-exercise",
            [6, 90],
            "The number of sounds is off: you wrote 6, which is 1 sound too few. "
            "Also off: the tempo of the 5. 0 of 2 are right.",
        ),
        ("00-guess", 9, "The number of sounds is off: you wrote 9, which is 1 sound too many."),
        ("00-guess", 6, "The number of sounds is off: you wrote 6, which is 2 sounds too few."),
        ("03-guess", 119.5, "The tempo of the 4 is off: you wrote 119.5, which is 0.5 bpm too slow."),
        ("03-guess", 121, "The tempo of the 4 is off: you wrote 121, which is 1 bpm too fast."),
        (
            PLACES,
            ["1", "e of 1", "& of 2", "e of 3"],
            "Place 2 is off: you wrote 'e of 1', which is 2 parts too early. 3 of 4 are right.",
        ),
        (
            PLACES,
            ["1", "a of 1", "& of 2", "& of 3"],
            "Place 4 is off: you wrote '& of 3', which is 1 part too late. 3 of 4 are right.",
        ),
        (
            PLACES,
            ["1", "a of 1", "& of 2", "e of 4"],
            "Place 4 is off: you wrote 'e of 4', which is not a place in this count. Write it like 'e of 1'. "
            "3 of 4 are right.",
        ),
        (
            PLACES,
            ["1", "1.5", "& of 2", "e of 3"],
            "Place 2 is off: you wrote '1.5', which is not a place in this count. Write it like 'e of 1'. "
            "3 of 4 are right.",
        ),
        (
            PLACES,
            ["1", "a", "2.2", "e of 3"],
            "Place 2 is off: you wrote 'a', which is not a place in this count. Write it like 'e of 1'. "
            "Also off: place 3. 2 of 4 are right.",
        ),
        (
            PLACES,
            ["1", "1e", "& of 2", "e of 3"],
            "Place 2 is off: you wrote 'e of 1', which is 2 parts too early. 3 of 4 are right.",
        ),
    ],
)
def test_what_is_off_and_by_how_much(key, written, said):
    """The first part that is off is named, how far off in the unit it counts, and how many are right."""
    assert check(key, answer=written).text == said


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (
            ["x..x..x...x.", "x...x...x..."],
            "4 is off: you wrote x..x..x...x., and 2 boxes differ; box 10, counted from 1, has a stroke.",
        ),
        (
            ["x..x..x..x.x", "x...x...x..."],
            "4 is off: you wrote x..x..x..x.x, and 1 box differs; box 12, counted from 1, is empty.",
        ),
        (["x", "x...x...x..."], "4 is off: you wrote x, with 1 box where the grid has 12 ticks."),
        (["x..x..x..x..", "x.x."], "3 is off: you wrote x.x., with 4 boxes where the grid has 12 ticks."),
    ],
)
def test_boxes_that_are_off(rows, said):
    """The row is named, and the first box that differs, or how many boxes there should be."""
    assert check(ROWS, answer=rows).text == f"The row of the {said} 1 of 2 is right."


def test_a_number_too_long_to_print_is_only_too_large():
    """Python itself refuses to write it out; the check does not stumble over that."""
    assert check("00-guess", -(10**5000)).text.startswith("a number too long to print is far too large.")
    assert check(PLACES, [10**5000, "a of 1", "& of 2", "e of 3"]).marks == 3


def test_a_little_off_is_said_to_be_so():
    """A difference under a hundredth is not called nothing."""
    assert check("00-guess", 8.0001).text == (
        "The number of sounds is off: you wrote 8.0001, which is a little too many."
    )
    assert check("03-guess", 119.9999).text == (
        "The tempo of the 4 is off: you wrote 119.9999, which is a little too slow."
    )


@pytest.mark.parametrize(
    ("key", "written", "begins"),
    [
        (LINE, "3212", "'3212' is not a number."),
        (LINE, [True, 2, 1, 3, 1, 2, 3], "True is not a number."),
        (LINE, [3, None, 1, 3, 1, 2, 3], "None is not a number."),
        (LINE, [float("nan")] * 7, "nan is not a number."),
        (LINE, [float("inf")] * 7, "inf is not a number."),
        (LINE, [float("-inf")] * 7, "-inf is not a number."),
        (LINE, [[3, 2, 1, 3, 1, 2, 3]], "[3, 2, 1, 3, 1, 2, 3] is not a number."),
        (LINE, [1j], "1j is not a number."),
        (LINE, {"a": 1}, "{'a': 1} is not a number."),
        (LINE, {3}, "{3} is not a number."),
        (LINE, [np.array([3, 2])], "array([3, 2]) is not a number."),
        (LINE, object, "<class 'object'> is not a number."),
        ("00-guess", 10**400, f"{'1' + '0' * 56}... is far too large."),
        ("00-guess", 1e300, "1e+300 is far too large."),
        ("00-guess", Fraction(10**400, 3), "Fraction(1000"),
        (PLACES, [1.5, "a of 1", "& of 2", "e of 3"], "1.5 is not a word in quotes."),
        (PLACES, [True, "a of 1", "& of 2", "e of 3"], "True is not a word in quotes."),
        (PLACES, [["1"], "a of 1", "& of 2", "e of 3"], "['1'] is not a word in quotes."),
        (ROWS, b"x..x", "b'x..x' is not a word in quotes."),
    ],
)
def test_what_cannot_be_an_answer_is_named_and_an_example_follows(key, written, begins):
    """The wrong type, nan, infinite, nested or enormous: no marks, what was given, and what to write."""
    judged = check(key, answer=written)
    assert judged.text.startswith(begins)
    assert judged.text.endswith(f". {capital(question(key).form)}")
    if begins.endswith("."):
        assert judged.text == f"{begins} {capital(question(key).form)}"
    assert (judged.marks, judged.answered, judged.right) == (0, True, False)


def test_a_decimal_that_is_typed_as_one_is_refused_by_name():
    """A Decimal is not one of the numbers an answer is written with; it is named and not guessed at."""
    assert check("00-guess", Decimal(8)).text.startswith("Decimal('8') is not a number.")


def test_the_wrong_number_of_parts_is_said_with_the_first_that_is_off():
    """Too few, too many, and the first part that does not fit."""
    assert check(LINE, [3, 2, 1]).text.startswith("You wrote 3 parts, and there are 7. Write")
    assert check(LINE, [3, 1]).text.startswith(
        "You wrote 2 parts, and there are 7. The first that is off is interval 2."
    )
    full = check(LINE, [3, 2, 1, 3, 1, 2, 3, 3])
    assert full.text.startswith("You wrote 8 parts, and there are 7.")
    assert (full.marks, full.out_of, full.right) == (6, 7, False)
    assert check(ROWS, "x..x..x..x..").text.startswith("You wrote 1 part, and there are 2.")


@pytest.mark.parametrize("many", [2, 3, 3000])
def test_more_than_the_one_number_that_is_asked_for_is_told_of_one(many):
    """There is 1, not are; and no first of several is named where there is one."""
    said = check("00-guess", [5] * many).text
    assert " parts, and there is 1. Write" in said
    assert "The first" not in said


anything = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.complex_numbers()
    | st.text()
    | st.binary()
    | st.fractions()
    | st.decimals()
    | st.just(...)
    | st.just(10**1000)
    | st.just(np.float32(0.1)),
    lambda parts: (
        st.lists(parts, max_size=8)
        | st.tuples(parts, parts)
        | st.dictionaries(st.text(), parts, max_size=2)
        | st.lists(st.integers(0, 9)).map(np.array)
    ),
    max_leaves=20,
)


@pytest.mark.parametrize("key", ["00-guess", ROWS, LINE, PLACES])
@FEW
@given(written=anything)
def test_no_answer_breaks_the_check(key, written):
    """Whatever stands in the cell, there is a sentence, and marks between none and all."""
    judged = check(key, answer=written)
    assert isinstance(judged, Verdict)
    assert judged.text
    assert 0 <= judged.marks <= judged.out_of
    assert judged.right == (judged.answered and judged.marks == judged.out_of)
    assert len(judged.text) < 1500


@pytest.mark.parametrize("key", ["00-guess", LINE, PLACES])
@FEW
@given(text=st.text() | st.text("[](){}'\",.:;0123456789eEjJx-+* \\\n\tNoneTrue", max_size=30))
@example(text="{[]: 1}")
@example(text="{{}}")
@example(text="[" * 500)
@example(text="9" * 5000)
@example(text="1e999")
@example(text="\x00")
@example(text="'\\d'")
@example(text="-" * 3000 + "1")
def test_no_typed_text_breaks_the_check(key, text):
    """A field takes any text; it is read as a literal where it is one, and is never run."""
    assert isinstance(question(key).judge_typed(text), Verdict)


@pytest.mark.parametrize(
    ("typed", "right"),
    [
        ("8", True),
        (" 8 ", True),
        ("8.0", True),
        ("8,0", True),
        ("[8]", True),
        ("(8,)", True),
        ("eight", False),
        ("7+1", False),
    ],
)
def test_a_guess_may_be_typed_with_or_without_brackets_and_with_a_decimal_comma(typed, right):
    """A literal is read as Python would; one comma is a decimal comma; sums and words are not worked out."""
    assert question("00-guess").judge_typed(typed).right is right


def test_typed_code_is_never_run(tmp_path):
    """Text that would do something as a program is only text."""
    target = tmp_path / "made"
    judged = question("00-guess").judge_typed(f"__import__('pathlib').Path({str(target)!r}).touch()")
    assert not target.exists()
    assert not judged.right
    with pytest.raises(ValueError, match="malformed"):
        ast.literal_eval("__import__('os')")


@pytest.mark.parametrize("ask", [rl.pages.check, rl.pages.answer, rl.pages.question, rl.pages.predict])
@pytest.mark.parametrize("key", ["00-gues", "", "02", 7, None, "x" * 200, ["00-guess"]])
def test_a_question_that_is_not_there_is_named_and_those_that_are_listed(ask, key):
    """The id that was given, cut where it is long, and every id there is."""
    with pytest.raises(ValueError, match=r"^there is no question ") as caught:
        ask(key)
    text = str(caught.value)
    assert text.startswith(f"there is no question {repr(key)[:57]}")
    assert (repr(key) if len(repr(key)) < 60 else repr(key)[:57] + "...") in text
    assert f"; there are {', '.join(PAGE_IDS)}; for example " in text


def test_what_was_judged_shows_itself_with_a_sign_and_escaped():
    """Right and wrong differ by a sign and not by colour; a status line for screen readers; no raw markup."""
    right, wrong, empty = check("00-guess", 8), check("00-guess", "<b>&"), check("00-guess")
    assert "✓" in right._repr_html_()
    assert "✗" in wrong._repr_html_()
    assert not set("✓✗") & set(empty._repr_html_())
    for judged in (right, wrong, empty):
        html = judged._repr_html_()
        assert 'role="status"' in html
        assert judged.text in unescape(html)
        assert repr(judged) == judged.text
    assert "<b>" not in wrong._repr_html_()


NAME, SEAT = "week 1", 7
OTHER = (
    *([], (), "", "  ", None, 0, -1, 7, 7.5, "seven", "x.x.x.", ["x.x.x.", "x..x.."], [1, 2, 3], [[1], [2]]),
    *(
        [0] * 30,
        [True],
        ["&"],
        ["1", "& of 2", "a of 3"],
        "RLRL",
        10**20,
        [[0, 0.01], [1, 0.02]],
        "t1",
        [None],
    ),
)


def replies(id: str) -> list[object]:
    """Return replies to a question: the right one, each half of it, each part of it off, and other things."""
    right = list(question_for(id, NAME, SEAT).worked())
    off = [
        [*right[:i], part + 1 if isinstance(part, int | float) else "?", *right[i + 1 :]]
        for i, part in enumerate(right[:6])
    ]
    return [right, tuple(right), right[: len(right) // 2], right[::-1], [*right, 1], right[0], *off, *OTHER]


@pytest.mark.parametrize("id", CLASS_IDS)
def test_a_page_says_what_a_gradebook_reads_of_the_same_reply(id):
    """For every question and every literal: the same marks, and in practice the same sentence."""
    asked = question_for(id, NAME, SEAT)
    for answer in replies(id):
        work = assignment(NAME, SEAT)
        page = work.reply(id, answer=answer)
        _, _, value = reply_of(f"work.reply({id!r}, answer={answer!r})")
        read = outcome(asked, value)
        assert (read.verdict.marks, read.verdict.text) == (page.marks, page.text)
        assert read.state in STATES
        assert ("1 of them is right" in repr(work.left())) is (read.state == "right")
        assert ("Cannot be read" in repr(work.left())) is bool(read.unread)
        told = repr(assignment(NAME, SEAT, mode="test").reply(id, answer=answer))
        assert told == {
            "not answered": read.verdict.text,
            "wrong type": f"Answered, but {read.unread}",
            "unreadable": f"Answered, but {read.unread}",
        }.get(read.state, "Answered, and it can be read.")


@pytest.mark.parametrize("key", PAGE_IDS)
@pytest.mark.parametrize(
    "typed", ["7", " 7, 100, 3 ", "[7, 100, 3]", "007", "1/2", "-4", "'1', '& of 1', 2", "1e2", "# no"]
)
def test_a_field_reads_what_was_typed_as_a_reply_is_read(key, typed):
    """The one reader of literals serves the field of a guess and the cell of a reply."""
    _, _, value = reply_of(
        f"work.reply('a', answer=({typed}\n))" if "," in typed else f"work.reply('a', {typed}\n)"
    )
    assert question(key).judge_typed(typed) == question(key).judge(value)


@pytest.mark.parametrize(
    "fault", [ZeroDivisionError, KeyError, TypeError, ValueError, AttributeError, OverflowError]
)
def test_a_check_that_breaks_is_told_on_the_page_and_in_the_gradebook(monkeypatch, fault):
    """No traceback: the answer counts as unreadable, and the sentence says whom to ask."""

    def judge(self: Question, answer: object) -> None:
        raise fault

    monkeypatch.setattr(Question, "judge", judge)
    work = assignment(NAME, SEAT)
    said = work.reply("grid-ticks", answer=[7]).text
    assert said == outcome(question_for("grid-ticks"), [7]).reason
    assert said.endswith("show it to your teacher.")
    assert "Cannot be read: grid-ticks." in repr(work.left())

"""The right answers of the pages, each worked out a second time by another road, and never by the library."""

from fractions import Fraction
from math import floor

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sympy import Rational, ilcm

from rhythmlab.classroom.exercises import QUESTIONS
from rhythmlab.classroom.question import Question, answer, check, question

FEW = settings(max_examples=100, deadline=None)
IDS = [f"{page:02}-{kind}" for page in range(5) for kind in ("guess", "exercise")]


def shares(pulse: int) -> set[Fraction]:
    """Where the strokes of a pulse are, as shares of the cycle."""
    return {Fraction(k, pulse) for k in range(pulse)}


def between(*pulses: int) -> list[Fraction]:
    """Shares of the cycle from each sound to the next."""
    line = sorted(set().union(*map(shares, pulses)))
    return [b - a for a, b in zip(line, [*line[1:], Fraction(1)], strict=True)]


def boxes(pulse: int, ticks: int) -> str:
    """Return a row of boxes, an x where the tick is a stroke of the pulse."""
    return "".join("x" if Fraction(tick, ticks) in shares(pulse) else "." for tick in range(ticks))


def sixteenths(pulse: int, beats: int) -> list[str]:
    """Count each stroke of a pulse in sixteenths of the beats of another."""
    said = []
    for k in range(pulse):
        at = Fraction(k * beats, pulse)
        sign = {0: "", 1: "e", 2: "&", 3: "a"}[int(at % 1 * 4)]
        said.append(f"{sign} of {floor(at) + 1}" if sign else str(floor(at) + 1))
    return said


def nearest(moving: int, home: int) -> list[Fraction]:
    """Signed beats from each stroke to its nearest beat; exactly midway counts as after."""
    return [Fraction(k * home, moving) - round_half_down(Fraction(k * home, moving)) for k in range(moving)]


def round_half_down(value: Fraction) -> int:
    return floor(value) if value % 1 <= Fraction(1, 2) else floor(value) + 1


def on_the_and(moving: int, home: int) -> int:
    """Return the one beat whose & a stroke falls on."""
    (beat,) = {
        floor(Fraction(k * home, moving)) + 1 for k in range(moving) if Fraction(k * home, moving) % 1 == 0.5
    }
    return beat


WORKED_OUT = {
    "00-guess": [len(shares(7) | shares(4))],
    "00-exercise": [len(shares(5) | shares(3)), Fraction(60, 3) * 5],
    "01-guess": [int(ilcm(6, 4))],
    "01-exercise": [boxes(4, int(ilcm(4, 3))), boxes(3, int(ilcm(4, 3)))],
    "02-guess": [sum(share == Fraction(1, int(ilcm(5, 4))) for share in between(5, 4))],
    "02-exercise": [share * int(ilcm(5, 3)) for share in between(5, 3)],
    "03-guess": [int(Rational(72, 4) * 7)],
    "03-exercise": sixteenths(4, 3),
    "04-guess": [on_the_and(16, 15)],
    "04-exercise": [share * 8 for share in nearest(8, 7)],
}
#: The same, as a person reads them.
PLAIN = {
    "00-guess": [10],
    "00-exercise": [7, 100],
    "01-guess": [12],
    "01-exercise": ["x..x..x..x..", "x...x...x..."],
    "02-guess": [2],
    "02-exercise": [3, 2, 1, 3, 1, 2, 3],
    "03-guess": [126],
    "03-exercise": ["1", "a of 1", "& of 2", "e of 3"],
    "04-guess": [8],
    "04-exercise": [0, -1, -2, -3, 4, 3, 2, 1],
}


def test_there_is_a_guess_and_an_exercise_for_each_page():
    """Ten questions, two for each of the pages 00 to 04, each under its own id."""
    assert list(QUESTIONS) == IDS
    assert all(QUESTIONS[key].id == key for key in IDS)


@pytest.mark.parametrize("key", IDS)
def test_the_right_answer_is_the_one_worked_out_elsewhere(key):
    """Sets of Fractions, boxes and sympy give what the library gives, and what a person reads."""
    assert list(question(key).right) == WORKED_OUT[key] == PLAIN[key]


@pytest.mark.parametrize("key", IDS)
def test_the_right_answer_gets_every_mark(key):
    """Written as a list or a tuple, all marks and a reason; a single one also without brackets."""
    for given_ in (PLAIN[key], tuple(PLAIN[key])):
        judged = check(key, given_)
        assert judged.right
        assert (judged.marks, judged.out_of) == (len(PLAIN[key]), len(PLAIN[key]))
        assert judged.said == f"Right. {question(key).why}"
    if len(PLAIN[key]) == 1:
        assert check(key, PLAIN[key][0]).right
        assert question(key).judge_typed(f" {PLAIN[key][0]} ").right


def changed(key: str) -> st.SearchStrategy:
    """Return answers that differ from the right one in at least one part, and which parts those are."""
    right = PLAIN[key]
    if isinstance(right[0], str):
        wrong = st.sampled_from(
            ["1", "e of 1", "& of 3", "x..x..x..x.x", "............", "x", "nonsense", "3.4"]
        )
    else:
        wrong = st.one_of(st.integers(-50, 200), st.fractions(-50, 200, max_denominator=16), st.floats(-9, 9))
    return (
        st.lists(st.none() | wrong, min_size=len(right), max_size=len(right))
        .map(lambda parts: [r if w is None else w for w, r in zip(parts, right, strict=True)])
        .filter(lambda parts: parts != right)
    )


@pytest.mark.parametrize("key", IDS)
@FEW
@given(data=st.data())
def test_a_changed_answer_is_never_right_and_the_first_part_that_is_off_is_named(key, data):
    """One mark for each part that still fits; the message starts with the first that does not."""
    parts = data.draw(changed(key))
    judged = check(key, parts)
    same = [one == other for one, other in zip(parts, PLAIN[key], strict=True)]
    assert not judged.right
    assert judged.answered
    assert judged.marks == sum(same)
    name = question(key).parts[same.index(False)]
    assert judged.said.lower().startswith(f"{name} is off: you wrote ".lower())


@pytest.mark.parametrize("key", IDS)
@FEW
@given(data=st.data())
def test_an_answer_of_another_length_is_never_right(key, data):
    """Cut or continued, it loses at least one mark, and the message says how many parts there are."""
    right = PLAIN[key]
    length = data.draw(st.integers(1, 12).filter(lambda n: n != len(right)))
    parts = (right * 12)[:length]
    judged = check(key, parts)
    assert not judged.right
    assert judged.marks <= len(right) - 1
    assert judged.said.startswith(f"You wrote {length} part{'s' * (length > 1)}, and there ")
    assert f"there are {len(right)}." in judged.said or f"there is {len(right)}." in judged.said


@pytest.mark.parametrize("key", IDS)
def test_a_question_is_whole_and_does_not_give_itself_away(key):
    """Text, field, form, reason and part names are there; the example in the form is not the answer."""
    asked: Question = question(key)
    assert asked.text[-1] in "?."
    assert asked.field
    assert asked.why[-1] == "."
    assert len(asked.parts) == len(asked.right)
    assert "for example" in asked.form
    assert asked.skill
    shown = ", ".join(str(part) for part in PLAIN[key])
    assert shown not in asked.form.replace('"', "")
    example = (
        asked.form.rpartition("for example ")[2].partition(" for ")[0].rstrip(".").removeprefix("answer=")
    )
    assert not asked.judge_typed(example).right
    assert asked.judge_typed(example).answered


@pytest.mark.parametrize("key", IDS)
def test_the_worked_answer_is_folded_and_says_all_parts_and_why(key):
    """A details element that is closed, with question, right parts and reason; as text the same in a line."""
    shown = answer(key)
    html = shown._repr_html_()
    assert html.startswith("<details><summary>")
    assert " open" not in html.partition("</summary>")[0].partition("<summary>")[0]
    right = ", ".join(str(part) for part in PLAIN[key])
    assert shown.right == right
    for text in (question(key).text, right, question(key).why):
        assert text in repr(shown)
        assert text.replace("&", "&amp;") in html
    assert repr(shown).count("\n") == 0

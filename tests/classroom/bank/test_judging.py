"""How answers to the questions for a class are judged: what differs is never right, what is equal always."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from rhythmlab.classroom.bank.catalogue import CLASS_IDS, find, question_for
from rhythmlab.classroom.question import Question
from rhythmlab.classroom.reader import read
from tests.profile import tries

FEW = settings(max_examples=tries(40), deadline=None)
WRITTEN = [id for id in CLASS_IDS if id != "play-take"]
MADE = {id: [find(id).make(*numbers) for numbers in find(id).versions] for id in WRITTEN}


def other_part(draw: st.DrawFn, question: Question, i: int) -> object:
    """Draw a part that means something else than the right one."""
    right = question.right[i]
    if isinstance(right, Fraction):
        by = draw(
            st.integers(-50, 50)
            | st.fractions(-3, 3, max_denominator=50)
            | st.sampled_from([Fraction(1, 10**6), right, -2 * right, -right / 2])
        )
        return right + by
    if set(right) <= set("RL") or set(right) <= set("x."):
        letters = "RL" if set(right) <= set("RL") else "x."
        where = draw(st.integers(0, len(right) - 1))
        return draw(
            st.sampled_from(
                [
                    right[:where] + letters[right[where] == letters[0]] + right[where + 1 :],
                    right + letters[0],
                    right[:-1],
                    right[::-1],
                    right[1:] + right[0],
                ]
            )
        )
    scale = question.scale
    words = scale[i] if scale and isinstance(scale[0], tuple) else scale or question.choices
    return draw(st.sampled_from(words) | st.sampled_from(["a", "2.10", "0", f"{right}1", "& of", "none"]))


@st.composite
def perturbed(draw: st.DrawFn, id: str) -> tuple[Question, list]:
    """Draw a question and an answer that differs from the right one in meaning."""
    question = draw(st.sampled_from(MADE[id]))
    answer = list(question.right)
    for i in draw(st.sets(st.integers(0, len(answer) - 1), min_size=1, max_size=3)):
        answer[i] = other_part(draw, question, i)
    change = draw(st.sampled_from(["none", "none", "none", "drop", "add", "swap", "nest"]))
    if change == "drop":
        answer.pop()
    elif change == "add":
        answer.append(answer[-1])
    elif change == "swap":
        answer.reverse()
    elif change == "nest":
        answer = [answer]
    meant = tuple(answer)
    assume(meant != question.right)
    return question, answer


@pytest.mark.parametrize("id", WRITTEN)
@FEW
@given(data=st.data())
def test_an_answer_that_differs_in_meaning_never_has_every_mark(id, data):
    """Another number, place, hand, word or order, a part too few or too many: a sentence says what is off."""
    question, answer = data.draw(perturbed(id))
    judged = question.judge(answer)
    assert not judged.right
    assert judged.marks < judged.out_of == len(question.right)
    assert judged.text
    assert judged.text.replace("\N{NO-BREAK SPACE}", " ").isprintable()
    if judged.answered and len(answer) == len(question.right) and not isinstance(answer[0], list):
        assert "Right." not in judged.text
        same = sum(one == two for one, two in zip(answer, question.right, strict=True))
        assert judged.marks <= same or question.same


def other_ways(part: object) -> list:
    """Return ways to write one part that mean the same."""
    if isinstance(part, Fraction):
        ways: list = [
            part,
            f"{part.numerator}/{part.denominator}",
            f" {2 * part.numerator} / {2 * part.denominator} ",
        ]
        if Fraction(str(float(part))) == part:
            ways += [float(part), np.float64(float(part))]
        if part.denominator == 1:
            ways += [int(part), np.int64(int(part))]
        return ways
    ways = [part, part.upper(), part.lower(), f"  {part} ", part.replace(" ", "   ")]
    if set(part) <= set("RL"):
        ways += [" ".join(part), "|".join(part)]
    elif set(part) <= set("x."):
        ways += [" ".join(part)]
    elif "& of" in part:
        ways += [part.replace("&", "and"), part.replace("&", "+"), part.replace("& of ", "")[::-1] + "&"]
    elif " of " in part and len(part.split(" of ")[0]) == 1:
        ways += [f"{part.split(' of ')[1]}{part[0]}"]
    elif part.isdigit():
        ways += [int(part), f"{part}.1"]
    elif part.replace(".", "").isdigit():
        ways += [float(part)]
    return ways


@pytest.mark.parametrize("id", WRITTEN)
@FEW
@given(data=st.data())
def test_an_equal_answer_has_every_mark_however_it_is_written(id, data):
    """List or tuple, fraction or decimal where that is exact, capitals and spaces, places in three ways."""
    question = data.draw(st.sampled_from(MADE[id]))
    answer = [data.draw(st.sampled_from(other_ways(part))) for part in question.right]
    assume(not any(isinstance(part, str) and part.endswith("&") and len(part) > 2 for part in answer))
    shape = data.draw(st.sampled_from([list, tuple]))
    judged = question.judge(shape(answer))
    assert judged.right, (answer, judged.text)
    if len(answer) == 1:
        assert question.judge(answer[0]).right


@pytest.mark.parametrize("id", WRITTEN)
def test_an_answer_that_was_typed_is_judged_as_what_was_meant(id):
    """What a pupil types goes through the safe reader and keeps its marks."""
    for seat in range(1, 6):
        question = question_for(id, "week 1", seat)
        typed = ", ".join(repr(part) if isinstance(part, str) else f"{part}" for part in question.right)
        for text in (f"[{typed}]", f"({typed},)", f"  [ {typed} ]  # mine"):
            assert question.judge(read(text)).right


@pytest.mark.parametrize(
    ("id", "numbers", "answer", "said"),
    [
        (
            "grid-ticks",
            (8, 6),
            [48],
            "The number of ticks is off: you wrote 48, which is 24 ticks too many. 8 times 6 would hold them "
            "too, but 8 and 6 have a common factor.",
        ),
        (
            "sticking-write",
            (4, 3, 4, 3),
            ["RLRR", "RLL", "RLRR", "RLL"],
            "Group 2 is off: you wrote RLL, and 3 strokes differ, the first of them stroke 1. Also off: "
            "group 3. 2 of 4 are right.",
        ),
        (
            "sticking-home",
            (3, 4, 3, 5, 4),
            ["RLLRL", "RLLR"],
            "The second time is off: you wrote RLLR, with 4 strokes where there should be 5. "
            "1 of 2 is right.",
        ),
        (
            "ways-choose",
            (5, 4, 60),
            [200, 4000, "hold the ones"],
            "What fits is off: you wrote 'hold the ones', and it is another one. 2 of 3 are right.",
        ),
        (
            "ways-choose",
            (5, 4, 60),
            [200, 1000, "sing"],
            "The distance of the ones is off: you wrote 1\N{NO-BREAK SPACE}000, which is "
            "3\N{NO-BREAK SPACE}000 ms too few. That is one beat; from the 1 to the next 1 there are 4. Also "
            "off: what fits. 1 of 3 is right.",
        ),
        (
            "ways-choose",
            (5, 4, 60),
            [200, 4000, "sing"],
            "What fits is off: you wrote 'sing', which is none of: count, hold the ones, both, neither. "
            "2 of 3 are right.",
        ),
        (
            "place-both",
            (7, 5, 4, 3),
            ["3.4", "3.5"],
            "Stroke 4 of the 7 is off: you wrote '3.4', which is 2 parts too late. 1 of 2 is right.",
        ),
        (
            "place-both",
            (7, 5, 4, 3),
            ["3.2", "6.2"],
            "Stroke 3 of the 5 is off: you wrote '6.2', which is 12 parts too late. 1 of 2 is right.",
        ),
        (
            "hear-odd",
            (4, 3, 2, 4, 1),
            [2, "early"],
            "The side is off: you wrote 'early', and it is another one. Sing the line to yourself along with "
            "it: which comes first, you or the sound? 1 of 2 is right.",
        ),
        (
            "metre-beats",
            ("4/4", 5, 2),
            ["2", "e of 3", "a of 4"],
            "Accent 3 is off: you wrote 'a of 4', which is 1 sixteenth too late. 2 of 3 are right.",
        ),
    ],
)
def test_what_is_off_is_said_with_its_place_and_its_likely_reason(id, numbers, answer, said):
    """One sentence on what is off and where, and one on the mistake where it is a likely one."""
    assert find(id).make(*numbers).judge(answer).text == said


@pytest.mark.parametrize(
    ("id", "numbers", "answer", "begins"),
    [
        (
            "sticking-write",
            (4, 3, 4, 3),
            ["RLXR", "LRR", "LRLL", "RLL"],
            "Hands are R and L only; you wrote 'x'.",
        ),
        ("ways-ones-floor", (5, 3, 1800), "100/0", "'100/0' is not a number."),
        ("ways-ones-floor", (5, 3, 1800), "1/2/3", "'1/2/3' is not a number."),
        ("ways-ones-floor", (5, 3, 1800), "fast", "'fast' is not a number."),
        ("ways-choose", (5, 4, 60), ["200", 4000, "count"], "'200' is not a number."),
        ("ways-choose", (5, 4, 60), [200, 4000, 3.5], "3.5 is not a word in quotes."),
        ("place-parts", (5, 4), [1, 1.55, 2.4, 3.3, 4.2], "1.55 is not a word in quotes."),
    ],
)
def test_what_cannot_be_an_answer_is_named_and_an_example_follows(id, numbers, answer, begins):
    """The wrong type in one part: no marks, what was given, and what to write."""
    judged = find(id).make(*numbers).judge(answer)
    assert judged.text.startswith(begins)
    assert "for example" in judged.text
    assert (judged.marks, judged.right) == (0, False)


def test_beat_and_part_may_be_written_without_quotes():
    """2.4 is a place here, and no decimal; a number that is no place of this count is refused."""
    question = find("place-parts").make(5, 4)
    assert question.judge([1, 1.5, 2.4, 3.3, 4.2]).right
    assert question.judge(["1", 1.5, "2.4", 3.3, "4.2"]).right

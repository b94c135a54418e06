"""An assignment in a page: asked, answered, and what is said in practice, in a test and without a seat."""

import itertools
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmlab.classroom.assignment import (
    MOST_AT_ONCE,
    MOST_SEATS,
    READY,
    AnswerKey,
    AskedQuestion,
    answer_key,
    assignment,
    ids_of,
    minutes_of,
    questions_of,
    seats_of,
)
from rhythmlab.classroom.bank.catalogue import BANK, CLASS_IDS, LEVELS, SKILLS, question_for
from rhythmlab.classroom.bank.template import Template
from rhythmlab.classroom.question import Question
from tests.refusals import keywords, refusal, works
from tests.strategies import TRIES

NAME = "grid-and-composite"
NO_SEAT = "First type the number of your seat at the top of the page, and run the page again."
#: All but the take, whose strokes no other question can answer.
TYPED = [id for id in CLASS_IDS if BANK[id].plays != "take"]
ids = st.sampled_from(TYPED)
seats = st.integers(1, MOST_SEATS)


def wrong(asked: Question) -> list:
    """Return an answer that can be read and in which no part is right."""
    return [part + 1 if not isinstance(part, str) else _other(part, asked) for part in asked.worked()]


def _other(part: str, asked: Question) -> str:
    if set(part) <= set("x."):
        return part.translate(str.maketrans("x.", ".x"))
    if set(part) <= set("RL"):
        return part.translate(str.maketrans("RL", "LR"))
    others = asked.choices or (asked.scale[0] if isinstance(asked.scale[0], tuple) else asked.scale)
    return next(one for one in others if one != part)


@pytest.mark.parametrize("ready", READY.values(), ids=list(READY))
def test_a_ready_assignment_is_of_known_questions_and_takes_under_an_hour(ready):
    """Each question once; the name is the key."""
    assert READY[ready.name] is ready
    assert ids_of(ready.ids) == ready.ids
    assert 20 <= ready.minutes < 60
    assert ready.minutes == minutes_of(ready.ids)


def test_ready_assignments_ask_every_typed_question():
    """All skills and levels, and nothing that is not in the catalogue; the take is for a teacher to add."""
    used = {id for ready in READY.values() for id in ready.ids}
    assert used == set(TYPED)
    assert {BANK[id].skill for id in used} == set(SKILLS) - {"playing"}
    assert {BANK[id].level for id in used} == set(LEVELS)


@pytest.mark.parametrize("id", list(CLASS_IDS))
def test_practice_says_at_once_what_is_right_wrong_and_half(id):
    """Right with its reason, wrong with the part that is off, half with the marks; as often as one likes."""
    work = assignment("any name", seat=12)
    asked = work.question(id)
    right = asked.worked()
    for _ in range(2):
        assert repr(work.reply(id, answer=right)) == f"Right. {asked.why}"
        if id in TYPED:
            off = work.reply(id, answer=wrong(asked))
            assert (off.marks, off.answered, off.right) == (0, True, False)
            assert off.text
            if len(right) > 2:
                half = work.reply(id, answer=[*right[:-1], wrong(asked)[-1]])
                assert half.marks == len(right) - 1
                assert f"{half.marks} of {half.out_of} are right." in repr(half)
        assert repr(work.reply(id)) == repr(work.reply(id, answer=[])) == f"Not answered yet: {asked.form}"


@TRIES
@given(ids, seats, st.sampled_from(["right", "wrong", "half"]))
def test_a_test_never_says_whether_it_is_right(id, seat, how):
    """Right, wrong and half get the same words, in the reply and in what is left."""
    work = assignment("any name", seat, mode="test")
    asked = work.question(id)
    right, off = asked.worked(), wrong(asked)
    answer = {"right": right, "wrong": off, "half": [*right[:1], *off[1:]]}[how]
    said = work.reply(id, answer=answer)
    assert repr(said) == "Answered, and it can be read."
    assert "right" not in said._repr_html_()
    assert not hasattr(said, "marks")
    assert repr(work.left()) == "1 of 1 is answered."


@pytest.mark.parametrize("mode", ["practice", "test"])
def test_an_answer_that_cannot_be_read_is_told_in_both_modes(mode):
    """A word for a number: what was written, and what is wrong with it."""
    work = assignment(NAME, seat=7, mode=mode)
    assert "'seven' is not a number." in repr(work.reply("grid-ticks", answer="seven"))
    assert repr(work.left()).endswith("Cannot be read: grid-ticks.")


def test_a_test_asks_for_what_is_not_answered():
    """Empty brackets say what to write, as in practice."""
    said = assignment(NAME, seat=7, mode="test").reply("grid-rows", answer=[])
    assert repr(said).startswith("Not answered yet: write two rows in quotes")


@pytest.mark.parametrize("answer", [(30,), 30, 30.0, Fraction(30), np.array([30]), np.int64(30)])
@pytest.mark.parametrize("mode", ["practice", "test"])
def test_an_answer_may_come_in_any_form_that_python_has(mode, answer):
    """List, tuple, number, fraction or array: as good as the list; 30 is the grid of 10 against 6."""
    work = assignment(NAME, seat=7, mode=mode)
    assert "10 against 6" in repr(work.ask("grid-ticks"))
    said = repr(work.reply("grid-ticks", answer=answer))
    assert said.startswith("Right. " if mode == "practice" else "Answered, and it can be read.")


def test_before_a_seat_is_typed_nothing_is_asked_and_nothing_is_lost():
    """Asking and replying say what to do first; no numbers are shown; no answer is called right."""
    work = assignment(NAME)
    assert repr(work) == "Type the number of your seat, for example seat=7, and run the page again."
    assert repr(work.left()) == "No question has been asked yet: run the page from the top."
    assert repr(work.ask("grid-ticks")) == NO_SEAT
    assert repr(work.reply("grid-ticks", answer=[])) == f"Not answered yet. {NO_SEAT}"
    right = work.question("grid-ticks").worked()
    assert repr(work.reply("grid-ticks", answer=right)) == f"Your answer stays where it is. {NO_SEAT}"
    work.ask("grid-rows")
    assert repr(work.left()) == f"{NO_SEAT} 1 of 2 is answered. Not answered yet: grid-rows."


def test_what_is_left_counts_what_is_right_wrong_unreadable_and_open():
    """In practice with the ids of those to look at; changing an answer changes it."""
    work = assignment(NAME, seat=3)
    for id in READY[NAME].ids[:4]:
        work.ask(id)
    first, second, third, fourth = READY[NAME].ids[:4]
    work.reply(first, answer=work.question(first).worked())
    work.reply(second, answer=wrong(work.question(second)))
    work.reply(third, answer="dog")
    assert repr(work.left()) == (
        f"3 of 4 are answered. 1 of them is right. Not all right yet: {second}. Cannot be read: {third}. "
        f"Not answered yet: {fourth}."
    )
    work.reply(first, answer=[])
    work.reply(second, answer=work.question(second).worked())
    work.reply(third, answer=work.question(third).worked())
    work.reply(fourth, answer=work.question(fourth).worked())
    assert repr(work.left()) == f"3 of 4 are answered. 3 of them are right. Not answered yet: {first}."


def test_two_pages_do_not_know_of_each_other():
    """What one seat replied is not in the work of another, nor in the same seat opened anew."""
    one, other = assignment(NAME, seat=3), assignment(NAME, seat=3)
    one.reply("grid-ticks", answer=1)
    assert repr(other.left()).startswith("No question")
    assert one == other


@TRIES
@given(ids, seats)
def test_what_is_asked_is_what_is_checked_and_what_the_teacher_has(id, seat):
    """One text and one answer, by three ways to it."""
    work = assignment("week 3", seat)
    shown = work.ask(id)
    assert isinstance(shown, AskedQuestion)
    asked = question_for(id, "week 3", seat)
    assert repr(shown) == f"{asked.text} To answer: {asked.form}"
    ((number, key, skill, text, right, why),) = answer_key("week 3", seat, ids=[id]).rows
    assert (number, key, skill, text, why) == (seat, id, BANK[id].skill, asked.text, asked.why)
    assert work.reply(id, answer=right).right


def test_markup_in_a_question_or_an_answer_is_shown_as_it_is():
    """The ampersand of a count and what a pupil writes are text, never a tag."""
    work = assignment(NAME, seat=7)
    assert "1 e &amp; a" in work.ask("place-syllables")._repr_html_()
    said = work.reply("place-syllables", answer=["<script>alert(1)</script>"])._repr_html_()
    assert "<script>" not in said
    noted = assignment(NAME, seat=7, mode="test").reply("grid-ticks", answer="<b>7</b>")
    assert "<b>" not in noted._repr_html_()
    assert "<b>" not in AnswerKey("<b>", ((1, "<b>", "", "<b>", ["<b>"], "<b>"),))._repr_html_()


@pytest.mark.parametrize("kind", [BANK[id] for id in CLASS_IDS if BANK[id].plays in ("sound", "score")])
def test_what_is_heard_or_read_is_in_the_page(kind: Template):
    """A player or notes between the question and what to write."""
    shown = assignment(NAME, seat=5).ask(kind.id)._repr_html_()
    assert "<figure" in shown or "the notes in words" in shown
    assert shown.index("To answer") > shown.index("figure" if "<figure" in shown else "in words")


@pytest.mark.parametrize("name", ["", "  ", None, 7, "x" * 81, "a\nb", "a\0b", ["week"]])
def test_a_name_that_is_none_is_refused(name):
    """Empty, too long, of several lines or no text."""
    example = refusal(lambda: assignment(name, seat=1), "name=", "is not a name of an assignment")
    assert works(example).seat == 7


@pytest.mark.parametrize(
    "seat", [-1, 1.0, "7", None, True, MOST_SEATS + 1, pytest.param(10**5000, id="huge")]
)
def test_a_seat_that_is_none_is_refused(seat):
    """Negative, no whole number, or out of all bounds."""
    example = refusal(lambda: assignment(NAME, seat=seat), "seat=", "")
    assert works(example).seat == 7


@pytest.mark.parametrize("mode", ["exam", "", None, 1])
def test_a_mode_that_is_none_is_refused(mode):
    """Only practice and test; the example is one that fits into the call, for a page and a whole class."""
    example = refusal(lambda: assignment(NAME, 1, mode), "mode=", "is neither of practice, test")
    assert keywords(example) == {"mode": "test"}


@pytest.mark.parametrize("id", ["grid", "", None, 3, ["grid-ticks"]])
@pytest.mark.parametrize("seat", [0, 7])
def test_a_question_that_is_none_is_named(seat, id):
    """Asking and replying name it, and what there is, also before a seat is typed."""
    work = assignment(NAME, seat)
    for call in (lambda: work.ask(id), lambda: work.reply(id, answer=1)):
        with pytest.raises(ValueError, match=r"there is no question .*; there are grid-ticks, "):
            call()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ([], "no seat in it"),
        ("1-30", "is not a list of numbers"),
        (None, "is not a list of numbers"),
        (2.5, "is not a list of numbers"),
        ([1, 2, 1], "seat 1 is in it twice"),
        ([0], "seat=0 is not a whole number of at least 1"),
        (True, "is not a whole number"),
        ([1, "2"], "is not a whole number"),
        (itertools.count(1), f"more than {MOST_AT_ONCE:,}"),
        ([MOST_SEATS + 1], f"is more than {MOST_SEATS:,}"),
    ],
)
def test_seats_that_are_none_are_refused(given, said):
    """Also an endless list, of which no more is drawn than there may be."""
    refusal(lambda: seats_of(given), "seat", said)


def test_seats_may_be_one_or_several():
    """A number, a list, a range or a generator, in the order given."""
    assert seats_of(7) == (7,)
    assert seats_of([9, 3]) == (9, 3)
    assert seats_of(i for i in (np.int64(2), 1)) == (2, 1)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ([], "no question in it"),
        (["grid-ticks"] * 2, "'grid-ticks' is in it twice"),
        (itertools.repeat("grid-ticks"), "'grid-ticks' is in it twice"),
        (7, "is not a list of ids"),
    ],
)
def test_ids_that_are_none_are_refused(given, said):
    """None at all, one twice, no list; an endless list ends."""
    refusal(lambda: ids_of(given), "ids=", said)


def test_an_assignment_of_ones_own_needs_its_questions():
    """FieldRefusal with the ready names; with questions it is as good as a ready one."""
    example = refusal(lambda: answer_key("week 3", seats=[1]), "name='week 3'", "is no ready assignment")
    assert len(works(example).rows) == 2
    assert questions_of(NAME, None, "") == READY[NAME].ids


def test_answers_print_a_line_each():
    """Seat, question, the literal to paste, and why."""
    text = repr(answer_key("week 3", seats=[7], ids=["grid-ticks"]))
    asked = question_for("grid-ticks", "week 3", 7)
    assert text == f"seat 7, grid-ticks: {asked.worked()}. {asked.why}"

"""One judge: what a page says of a reply and what a gradebook says of its text are the same."""

import pytest

from rhythmlab.classroom.assignment import assignment
from rhythmlab.classroom.exercises import QUESTIONS
from rhythmlab.classroom.literal import reply_of
from rhythmlab.classroom.marking import STATES
from rhythmlab.classroom.posed import CATALOGUE, pose
from rhythmlab.classroom.question import Question, question
from rhythmlab.classroom.reply import outcome

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
    right = list(pose(id, NAME, SEAT).worked())
    off = [
        [*right[:i], part + 1 if isinstance(part, int | float) else "?", *right[i + 1 :]]
        for i, part in enumerate(right[:6])
    ]
    return [right, tuple(right), right[: len(right) // 2], right[::-1], [*right, 1], right[0], *off, *OTHER]


@pytest.mark.parametrize("id", CATALOGUE)
def test_a_page_says_what_a_gradebook_reads_of_the_same_reply(id):
    """For every question and every literal: the same marks, and in practice the same sentence."""
    asked = pose(id, NAME, SEAT)
    for answer in replies(id):
        work = assignment(NAME, SEAT)
        page = work.reply(id, answer=answer)
        _, _, value = reply_of(f"work.reply({id!r}, answer={answer!r})")
        read = outcome(asked, value)
        assert (read.judged.marks, read.judged.said) == (page.marks, page.said)
        assert read.state in STATES
        assert ("1 of them is right" in repr(work.left())) is (read.state == "right")
        assert ("Cannot be read" in repr(work.left())) is bool(read.unread)
        told = repr(assignment(NAME, SEAT, mode="test").reply(id, answer=answer))
        assert told == {
            "not answered": read.judged.said,
            "wrong type": f"Answered, but {read.unread}",
            "unreadable": f"Answered, but {read.unread}",
        }.get(read.state, "Answered, and it can be read.")


@pytest.mark.parametrize("key", QUESTIONS)
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
    said = work.reply("grid-ticks", answer=[7]).said
    assert said == outcome(pose("grid-ticks"), [7]).reason
    assert said.endswith("show it to your teacher.")
    assert "Cannot be read: grid-ticks." in repr(work.left())

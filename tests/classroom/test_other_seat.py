"""Answers that are those of another seat, and a seat that was edited: said, and nothing else changes."""

import random
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from rhythmlab.classroom import other_seat as module
from rhythmlab.classroom.assignment import READY, assignment
from rhythmlab.classroom.bank.catalogue import BANK
from rhythmlab.classroom.gradebook import gradebook
from rhythmlab.classroom.marking import mark
from rhythmlab.classroom.other_seat import LEAST, NEAR, SeatComparison
from rhythmlab.classroom.question import _literal
from rhythmlab.classroom.returned import Reply, ReturnedNotebook
from tests.classroom.pages import IDS, NAME, page, put, right
from tests.profile import tries

LOOK = "Look at it once more"


def read_of(seat, answers, name=NAME):
    """Return a page as it is read, with answers by id."""
    replies = tuple(Reply(id, repr(value), value) for id, value in answers.items())
    return ReturnedNotebook(Path("a"), "a", 0.0, "x", "", name, seat, 0, replies)


def told(seat, answers, name=NAME, seats=range(1, 31), whose=None):
    """Return what is said of a page."""
    if whose is None:
        whose = SeatComparison(name)
        whose.against(seats)
    read = read_of(seat, answers, name)
    return whose.hint(seat, whose.fits(read, mark(read, name, READY[name].ids)))


@cache
def asked(seat, name):
    """Return the questions of a seat by id, made once: a class is asked the same thousands of times here."""
    return {id: assignment(name, seat).question(id) for id in READY[name].ids}


@cache
def _worked(seat, name):
    return {id: question.worked() for id, question in asked(seat, name).items()}


def worked(seat, name=NAME):
    """Return the right answers of a seat by id."""
    return dict(_worked(seat, name))


@pytest.mark.parametrize("name", READY)
def test_all_the_answers_of_another_seat_are_told_of_every_pair_of_seats(name):
    """Wherever three questions or more tell the two seats apart: with the right seat, for a whole class."""
    whose, missed, pairs = SeatComparison(name), [], 0
    whose.against(range(1, 31))
    for seat in range(1, 31, 3):
        for other in range(1, 31):
            mine, theirs = worked(seat, name), worked(other, name)
            apart = sum(mine[id] != theirs[id] for id in mine)
            said = told(seat, theirs, name, whose=whose)
            if apart < LEAST:
                assert said == ""
                continue
            pairs += 1
            counts = f"{apart} of its {len(mine)} answers are wrong for seat {seat} and right for seat "
            if not (counts in said and f"seat {other}" in said.replace(" or ", " or seat ")):
                missed.append((seat, other, said))
    assert pairs > 250
    assert len(missed) <= pairs // 100, missed


@pytest.mark.parametrize("name", READY)
def test_a_page_with_its_own_answers_is_never_told(name):
    """All right, and right but for one or two."""
    whose = SeatComparison(name)  # one for a whole class, as the gradebook has it
    whose.against(range(1, 31))
    for seat in range(1, 31):
        answers = worked(seat, name)
        assert told(seat, answers, name, whose=whose) == ""
        for id, theirs in worked(seat + 1, name).items():
            assert told(seat, answers | {id: theirs}, name, whose=whose) == ""


def slip(draw, question):
    """Return a wrong answer as an honest pupil gives one."""
    parts, kind = list(question.right), draw.randrange(6)
    if kind == 0:
        parts.reverse()
    elif kind == 1:
        parts = [-part if isinstance(part, Fraction) else part for part in parts]
    elif kind == 2 and question.mistakes:
        (at, part), _ = draw.choice(list(question.mistakes.items()))
        parts[at] = part
    elif kind == 3:
        parts = [part + 1 if isinstance(part, Fraction) else part for part in parts]
    else:
        at = draw.randrange(len(parts))
        scale = question._scale(at)
        if isinstance(parts[at], Fraction):
            parts[at] += draw.choice((-2, -1, 1, 2))
        elif parts[at] in scale:
            parts[at] = scale[max(0, scale.index(parts[at]) - 1)]
        else:
            parts[at] = parts[at][::-1]
    return [part if isinstance(part, str) else _literal(part) for part in parts]


@pytest.mark.parametrize("name", READY)
def test_honest_wrong_answers_are_hardly_ever_told(name):
    """Slips, signs and orders the other way round, likely mistakes: fewer than one page in five hundred."""
    draw, whose, said, pages = random.Random(name), SeatComparison(name), 0, tries(1_000)
    whose.against(range(1, 31))
    for _ in range(pages):
        seat, lost = draw.randrange(1, 31), draw.random()
        answers = worked(seat, name)
        for id in answers:
            if draw.random() < lost:
                answers[id] = slip(draw, asked(seat, name)[id])
        said += told(seat, answers, name, whose=whose) != ""
    assert said < pages / 500


def test_what_is_told_is_no_accusation_and_changes_no_mark(tmp_path):
    """Said once, to the teacher alone; rows, marks and feedback are those of any wrong answer."""
    put(tmp_path / "a.ipynb", page(5, cells_for=9))
    put(tmp_path / "b.ipynb", page(9))
    book = gradebook(tmp_path)
    (line,) = book.troubles
    apart = sum(right(id, 5) != right(id, 9) for id in IDS)
    assert line == (
        f"a.ipynb: Look at it once more: {apart} of its 7 answers are wrong for seat 5 and right for seat 9, "
        "as when a seat is typed wrongly or two pages are exchanged. The marks stay as they are."
    )
    assert LOOK in book.summary_text
    assert LOOK in book._repr_html_()
    assert [paper.seat for paper in book.counted] == [5, 9]
    assert LOOK not in book.csv
    for path in book.write(tmp_path / "marks")[2:]:
        assert LOOK not in path.read_text(encoding="utf-8")
    from rhythmlab.classroom.returned import read_notebook

    assert book.papers[0].rows == tuple(mark(read_notebook(tmp_path / "a.ipynb", tmp_path), NAME, IDS))


def test_a_page_alone_is_compared_with_seats_that_are_not_there(tmp_path):
    """The seat that was typed wrongly is the one that is missing."""
    put(tmp_path / "a.ipynb", page(5, cells_for=NEAR))
    assert f"right for seat {NEAR}" in gradebook(tmp_path).summary_text
    put(tmp_path / "a.ipynb", page(5, cells_for=99_999))
    assert "99999" not in gradebook(tmp_path).summary_text
    put(tmp_path / "b.ipynb", page(99_999))
    assert "right for seat 99999" in gradebook(tmp_path).summary_text


def test_few_answers_tell_nothing(tmp_path):
    """Two, or three that are one number each, may be chance."""
    theirs = worked(9)
    apart = [id for id in IDS if theirs[id] != worked(5)[id]]
    assert told(5, {id: theirs[id] for id in apart[:2]}) == ""
    simple = ["tempo-flip", "gaps-flam-tempo", "ways-ones-floor"]
    assert all(len(BANK[id].make(*BANK[id].versions[0]).right) == 1 for id in simple)
    name = "three of one number"
    whose = SeatComparison(name)
    whose.against(range(1, 31))
    read = read_of(5, {id: assignment(name, 9).question(id).worked() for id in simple}, name)
    assert whose.hint(5, whose.fits(read, mark(read, name, simple))) == ""


def test_more_seats_take_more_to_be_told():
    """Chance grows with the seats that are compared with, and so does what is asked for."""
    name, found = "hear-and-read", []
    theirs = worked(9, name)
    for more in (0, 7_000):
        whose = SeatComparison(name)
        whose.against(range(10_000, 10_000 + more))
        read = read_of(5, dict(list(theirs.items())[:5]), name)
        found.append(whose.hint(5, whose.fits(read, mark(read, name, READY[name].ids))))
    assert LOOK in found[0]
    assert found[1] == ""


def test_a_seat_that_was_edited_is_told(tmp_path):
    """Also where every answer is right, and whether or not it counts; a page as it was made is not."""
    put(tmp_path / "a.ipynb", page(9, made_for=5, cells_for=5))
    said = "The page was made for seat 5 and says seat 9; it is marked as seat 5."
    assert gradebook(tmp_path).troubles == (f"a.ipynb: {said}",)
    put(tmp_path / "b.ipynb", page(5, made_for=5))
    line, *more = gradebook(tmp_path).troubles
    assert line.startswith("a.ipynb: The page was made for seat 5 and says seat 9; the one that still says")
    assert said in line
    assert more == []


def test_a_page_for_a_seat_with_the_answers_of_the_seat_it_says_tells_both(tmp_path):
    """It is marked as it was made."""
    put(tmp_path / "a.ipynb", page(9, made_for=5, cells_for=9))
    (line,) = gradebook(tmp_path).troubles
    assert "made for seat 5 and says seat 9" in line
    assert "are wrong for seat 5 and right for seat 9" in line


def test_takes_and_odd_answers_are_no_harm():
    """Strokes are not compared; neither is what cannot be read, nor a value of any other shape."""
    name = "own"
    ids = ("play-take", "grid-ticks", "grid-rows", "grid-three", "composite-sounds")
    whose = SeatComparison(name)
    whose.against([5])
    odd = [[[0, 0.1]] * 500, [10**30], ["x" * 1_000] * 2, [1e308] * 4, [None], "", [[1]], [True], {}]
    for value in odd:
        read = read_of(5, dict.fromkeys(ids, value), name)
        assert whose.hint(5, whose.fits(read, mark(read, name, ids))) == ""


def test_wrong_answers_of_a_whole_class_are_judged_once_each(monkeypatch):
    """The same wrong answer is compared with the other versions one time."""
    calls, real = [], module.outcome
    monkeypatch.setattr(module, "outcome", lambda asked, value: calls.append(1) or real(asked, value))
    whose = SeatComparison(NAME)
    for seat in range(1, 200):
        read = read_of(seat, {id: [1] for id in IDS})
        whose.fits(read, mark(read, NAME, IDS))
    assert len(calls) <= sum(len(BANK[id].versions) for id in IDS)

"""Questions for a class: fair versions, a version for every seat, texts that can be read aloud."""

import re
from collections import Counter
from math import gcd

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmlab.classroom.bank import hearing, notation, pages, playing, rhythm, takes
from rhythmlab.classroom.bank.catalogue import (
    BANK,
    CLASS_IDS,
    PAGE_IDS,
    find,
    question,
    question_bank,
    question_for,
    version_for,
)
from rhythmlab.classroom.bank.template import LEVELS, SKILLS
from rhythmlab.classroom.question import Question
from rhythmlab.classroom.reader import read
from tests.profile import tries
from tests.refusals import refusal, works

FEW = settings(max_examples=tries(100), deadline=None)
MADE = {id: [BANK[id].make(*numbers) for numbers in BANK[id].versions] for id in CLASS_IDS}
#: Questions of two pulses whose first two numbers are the pair.
PAIRS = [
    *("grid-ticks", "grid-rows", "composite-sounds", "composite-intervals", "composite-how-often"),
    *("place-syllables", "place-parts", "place-both", "tempo-flip", "tempo-cycle"),
    *("gaps-signed", "gaps-midway", "gaps-flam-tempo"),
    *("ways-count-ceiling", "ways-ones-floor", "ways-choose"),
    *("read-length", "read-pair", "read-odd", "hear-pair", "hear-home", "hear-odd", "play-take"),
]
#: Whether the pulses of a pair have a common factor: the trap of some, and in the way of others.
FACTOR = ("grid-ticks", "composite-sounds")


def numbers_in(text: str) -> set[str]:
    """Return the numbers that stand in a text."""
    return set(re.findall(r"\d+(?:\.\d+)?", text))


def test_there_are_enough_questions_over_all_skills_and_levels():
    """At least 28; three levels of every skill, and one question that is played."""
    assert len(CLASS_IDS) >= 28
    assert {template.skill for template in question_bank()} == set(SKILLS)
    levels = {
        skill: [template.level for template in question_bank() if template.skill == skill] for skill in SKILLS
    }
    assert levels.pop("playing") == [3]
    assert all(sorted(found) == list(LEVELS) for found in levels.values())
    assert [template.plays for template in question_bank()].count("take") == 1


@pytest.mark.parametrize("id", CLASS_IDS)
def test_there_are_eight_versions_or_more_and_no_two_alike(id):
    """Other numbers, other texts or other things to hear and read, and other answers."""
    template, made = find(id), MADE[id]
    assert len(set(template.versions)) == len(template.versions) >= 8
    assert {(one.id, one.skill) for one in made} == {(template.id, template.skill)} == {(id, template.skill)}
    if template.plays in ("", "take"):
        assert len({one.text for one in made}) == len(made)
    if template.plays != "take":
        assert len({one.right for one in made}) == len(made)


@pytest.mark.parametrize("id", CLASS_IDS)
def test_all_versions_are_of_one_size(id):
    """As many parts, at most twice; numbers at most four times as large; texts about as long."""
    made = MADE[id]
    sizes = [len(one.right) for one in made]
    assert max(sizes) <= 2 * min(sizes)
    if sizes == [1] * len(made):
        right = [one.right[0] for one in made]
        assert 1 < min(right) <= max(right) <= 4 * min(right)
    lengths = [len(one.text) for one in made]
    assert max(lengths) <= 1.2 * min(lengths)
    assert len({one.form.split("for example")[0] for one in made}) == 1


@pytest.mark.parametrize("id", PAIRS)
def test_no_pair_is_trivial(id):
    """No 1, no pulse that is a multiple of the other; a common factor in all versions or in none."""
    for p, q, *_ in find(id).versions:
        assert min(p, q) > 1
        assert max(p, q) % min(p, q)
        if id != "read-length":
            assert (gcd(p, q) > 1) == (id in FACTOR)


@pytest.mark.parametrize("id", CLASS_IDS)
def test_the_answer_does_not_stand_in_the_text_and_the_example_is_none(id):
    """Neither the text nor the field nor the form of any version gives away that of any other."""
    for one in MADE[id]:
        visible = numbers_in(one.text) | numbers_in(one.field)
        if id != "play-take":
            assert not {str(part) for part in one.worked()} <= visible
            assert len(one.right) > 1 or str(one.worked()[0]) not in visible | numbers_in(one.form)
        example = re.search(r"answer=(\[.*\])", one.form)
        written = read(example[1]) if example else re.search(r"for example ([\d.]+)", one.form)[1].rstrip(".")
        for other in MADE[id]:
            judged = other.judge(written if example else [float(written)])
            assert judged.answered
            assert not judged.right


@pytest.mark.parametrize("id", CLASS_IDS)
def test_texts_are_whole_sentences(id):
    """Capital or number first, an end at the end, singular where it is one; the form begins small."""
    for one in MADE[id]:
        assert re.match(r"[A-Z0-9]", one.text)
        assert one.text[-1] in "?."
        assert re.match(r"[A-Z0-9].*\.$", one.why)
        assert re.match(r"write .*\.$", one.form)
        assert one.form.count("for example") == 1
        for text in (one.text, one.why, one.form, one.field, *one.parts, *one.mistakes.values()):
            assert "  " not in text
            assert not re.search(r"(?<![\d./])\b1 (?!of\b)[a-z]+s\b(?<!is|as)", text), text
            assert text.replace("\N{NO-BREAK SPACE}", " ").isprintable()
        assert len(one.text) < 560
        assert len(one.parts) == len(one.right)
        assert len(one.units) in (1, len(one.right))
        assert all(re.match(r"[A-Z0-9].*[.?]$", said) for said in one.mistakes.values())


@pytest.mark.parametrize("id", CLASS_IDS)
def test_every_version_has_a_worked_answer_and_its_reason(id):
    """It gets every mark, and the whole set can be printed."""
    for one in MADE[id]:
        judged = one.judge(one.worked())
        assert judged.right
        assert judged.text == f"Right. {one.why}"
        assert one.text in str(one.answer())
        assert one.why in str(one.answer())
        assert one.judge(read(repr(one.worked()))).right


@pytest.mark.parametrize("id", CLASS_IDS)
def test_a_likely_mistake_is_told_what_it_is(id):
    """The sentence follows what is off, and no likely mistake is right."""
    for one in MADE[id]:
        for (i, part), said in one.mistakes.items():
            answer = one.worked()
            answer[i] = part
            judged = one.judge(answer)
            assert not judged.right
            assert said in judged.text


@FEW
@given(
    name=st.text(max_size=10), id=st.text(max_size=10), seat=st.integers(0, 10**9), count=st.integers(2, 20)
)
def test_neighbours_never_have_the_same_version(name, id, seat, count):
    """Whatever the assignment, the question and the number of versions; and always the same one again."""
    here, there = (version_for(name, one, id, count) for one in (seat, seat + 1))
    assert here != there
    assert 0 <= here < count
    assert here == version_for(name, seat, id, count)


@FEW
@given(name=st.text(max_size=10), block=st.integers(0, 10**6), count=st.integers(1, 20))
def test_every_version_is_given_out_equally_often(name, block, count):
    """As many seats in a row as there are versions have each version once."""
    seats = range(block * count, (block + 1) * count)
    assert Counter(version_for(name, seat, "a", count) for seat in seats) == Counter(range(count))


def test_a_version_stays_the_same_for_ever():
    """Pages that were handed out are graded by the same numbers next year: these are fixed."""
    assert [version_for("week 1", seat, "grid-ticks", 10) for seat in range(1, 11)] == [
        8,
        7,
        0,
        3,
        4,
        2,
        6,
        9,
        5,
        1,
    ]
    assert version_for("week 1", 10**30, "grid-ticks", 10) == version_for("week 1", 10**30, "grid-ticks", 10)


def test_assignments_and_questions_do_not_share_their_numbers():
    """Two seats with one version of a question need not have one version of another."""
    rows = {
        tuple(version_for(name, seat, id, 8) for seat in range(40))
        for name in ("week 1", "week 2", "week 3")
        for id in ("grid-ticks", "grid-rows", "hear-pair")
    }
    assert len(rows) == 9


@pytest.mark.parametrize("id", CLASS_IDS)
def test_a_seat_is_asked_its_own_version(id):
    """The question of the catalogue, with the numbers of the seat; seat 1 where none is given."""
    template = find(id)
    for seat in (1, 2, 30):
        asked = question_for(id, "week 1", seat)
        assert isinstance(asked, Question)
        assert asked == MADE[id][version_for("week 1", seat, id, len(template.versions))]
    assert question_for(id) == question_for(id, "", 1)


@pytest.mark.parametrize("id", ["grid-tick", "", None, 7, "x" * 200, ["grid-ticks"]])
def test_a_question_that_is_not_there_is_named_and_those_that_are_listed(id):
    """The id that was given, cut where it is long, and every id there is."""
    for ask in (question_for, find):
        with pytest.raises(ValueError, match=r"^there is no question ") as caught:
            ask(id)
        assert f"; there are {', '.join(CLASS_IDS)}; for example " in str(caught.value)


@pytest.mark.parametrize("seat", [-1, 1.0, "7", None, True])
def test_a_seat_that_is_none_is_refused(seat):
    """A whole number of at least 0, and an example that works."""
    example = refusal(
        lambda: question_for("grid-ticks", "week 1", seat), f"seat={seat!r}", "not a whole number"
    )
    assert works(f"question_for('grid-ticks', 'week 1', {example})", question_for=question_for)


def test_a_name_that_is_no_text_is_refused():
    """An assignment has a name, and so has a question."""
    example = refusal(lambda: version_for(1, 1, "a", 8), "assignment=1", "not text")
    assert works(f"version_for({example}, seat=1, id='a', count=8)", version_for=version_for) in range(8)
    refusal(lambda: version_for("a", 1, None, 8), "id=None", "not text")
    refusal(lambda: version_for("a", 1, "a", 0), "count=0", "not a whole number")


def test_no_question_takes_the_place_of_another():
    """Every id stands once in all the modules of the bank, and the bank has them all in their order."""
    modules = (rhythm, playing, notation, hearing, takes, pages)
    assert [one.id for module in modules for one in module.QUESTIONS] == list(BANK)
    assert len(BANK) == len(CLASS_IDS) + len(PAGE_IDS)


@pytest.mark.parametrize("id", PAGE_IDS)
def test_a_question_of_a_page_is_not_for_a_class_and_the_other_way_round(id):
    """A class is asked questions that have numbers for every seat, and a page one that it has words for."""
    assert BANK[id].page == id[:2]
    assert BANK[id] not in question_bank()
    with pytest.raises(ValueError, match=f"there is no question '{id}'; there are {', '.join(CLASS_IDS)}; "):
        question_for(id)
    with pytest.raises(
        ValueError, match=f"there is no question 'grid-rows'; there are {', '.join(PAGE_IDS)}; "
    ):
        question("grid-rows")


def test_the_list_of_questions_prints_a_line_each_and_can_be_narrowed():
    """By skill and by level; what is neither is refused with an example."""
    assert len(str(question_bank()).splitlines()) == len(CLASS_IDS)
    assert {one.level for one in question_bank(level=2)} == {2}
    assert {one.skill for one in question_bank(skill="hearing")} == {"hearing"}
    with pytest.raises(ValueError, match=r"level=9 is none of 1, 2, 3; for example classroom.question_bank"):
        question_bank(level=9)
    with pytest.raises(ValueError, match=r"skill='cooking' is none of grid"):
        question_bank(skill="cooking")

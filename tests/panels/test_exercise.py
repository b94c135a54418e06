"""The field of an exercise: typed as on paper it is judged as in a cell, and nothing typed breaks it."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.classroom.bank.catalogue import PAGE_IDS, question
from rhythmlab.panels.exercise import parts_of
from tests.profile import tries

IDS = [id for id in PAGE_IDS if id.endswith("exercise")]


def typed(right, between, brackets, quotes):
    """Return a list as a reader may type it."""
    parts = [f"{quotes}{part}{quotes}" if isinstance(part, str) else str(part) for part in right]
    return f"{brackets[:-1]}{between.join(parts)}{brackets[-1:]}"


@settings(max_examples=tries(60), deadline=None)
@given(
    id=st.sampled_from(IDS),
    between=st.sampled_from([",", ", ", " , ", ";", "; "]),
    brackets=st.sampled_from(["", "[]", "()", "answer=[]"]),
    quotes=st.sampled_from(["", "'", '"']),
    data=st.data(),
)
def test_however_it_is_typed_it_is_judged_as_in_a_cell(id, between, brackets, quotes, data):
    """Commas, brackets and quotes or none; right where it is right, and off in the same part elsewhere."""
    answer = question(id).worked()
    if data.draw(st.booleans()):
        answer[data.draw(st.integers(0, len(answer) - 1))] = data.draw(st.sampled_from(answer))
    exercise = rl.pages.exercise(id)
    exercise.field.value = typed(answer, between, brackets, quotes)
    assert exercise.verdict == rl.pages.check(id, answer=answer)
    assert exercise.verdict.text in exercise._told.value.replace("&amp;", "&").replace("&#x27;", "'")


@pytest.mark.parametrize(
    "text",
    [
        "7 100",
        "7, 100",
        "7,100,",
        "7,0; 100",
        "seven, one hundred",
        "7 sounds, 100 bpm",
        "7 sounds 100 bpm",
        " [7 100] ",
    ],
)
def test_slips_of_typing_do_not_matter(text):
    """Spaces, a decimal comma, words for numbers, what is counted, a comma too many."""
    exercise = rl.pages.exercise("00-exercise")
    exercise.field.value = text
    assert exercise.verdict.right


def test_rows_are_typed_without_quotes():
    """An x and a dot are no program."""
    exercise = rl.pages.exercise("01-exercise")
    exercise.field.value = "x..x..x..x.., x...x...x..."
    assert exercise.verdict.right
    exercise.field.value = ""
    assert not exercise.verdict.answered


@settings(max_examples=tries(80), deadline=None)
@given(id=st.sampled_from(IDS), text=st.text() | st.text("[]();,'\"0123456789/x.-", max_size=2000))
def test_whatever_is_typed_is_judged_and_nothing_is_run(id, text):
    """A sentence, and never an error."""
    asked = question(id)
    assert isinstance(parts_of(asked, text), list)
    exercise = rl.pages.exercise(id)
    exercise.field.value = text
    assert 0 < len(exercise.verdict.text) < 1_000


@pytest.mark.parametrize("id", IDS)
def test_it_says_how_to_answer_as_a_field_takes_it(id):
    """No brackets, quotes or names of a cell in what it says before an answer and after a wrong one."""
    exercise = rl.pages.exercise(id)
    for text in ("", "fo;o", "z"):
        exercise.field.value = text
        said = exercise._told.value.replace("&#x27;", "'")
        assert not any(sign in said for sign in ("[", "]", '"', "&quot;", "answer=", "quotes", "bracket"))

"""The right answers of the pages, each worked out a second time by another road, and never by the library."""

from fractions import Fraction
from math import floor

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sympy import Rational, ilcm

from rhythmlab.classroom.bank.catalogue import (
    BANK,
    CLASS_IDS,
    LEVELS,
    PAGE_IDS,
    SKILLS,
    Template,
    answer,
    check,
    question,
)
from rhythmlab.classroom.question import Question
from tests.profile import tries

FEW = settings(max_examples=tries(100), deadline=None)
IDS = [f"{page:02}-{kind}" for page in range(10) for kind in ("guess", "exercise")]


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
    "00-guess": [len(shares(5) | shares(4))],
    "00-exercise": [len(shares(5) | shares(3)), Fraction(60, 3) * 5],
    "01-guess": [int(ilcm(6, 4))],
    "01-exercise": [boxes(4, int(ilcm(4, 3))), boxes(3, int(ilcm(4, 3)))],
    "02-guess": [sum(share == Fraction(1, int(ilcm(5, 4))) for share in between(5, 4))],
    "02-exercise": [share * int(ilcm(5, 3)) for share in between(5, 3)],
    "03-guess": [int(Rational(90, 3) * 4)],
    "03-exercise": sixteenths(4, 3),
    "04-guess": [on_the_and(32, 31)],
    "04-exercise": [share * 8 for share in nearest(8, 7)],
    "05-guess": [Rational(1000, 5)],
    "05-exercise": [Rational(6, 5) * 60, Rational(60_000, 4 * 100)],
    "06-guess": [23 // 4 + 1],
    "06-exercise": [4] * (27 // 4) + [27 % 4],
    "07-guess": [int(ilcm(16, 3)) // 16],
    "07-exercise": [int(ilcm(9, 7)) // 9, int(ilcm(9, 7)) // 7],
    "08-guess": [Rational(24, 600) * 100],
    "08-exercise": [Rational(4, 100) * Rational(60_000, 100), Rational(4, 100) * Rational(60_000 * 3, 400)],
    "09-guess": [Rational(3 * 4, 4)],
    "09-exercise": [Rational(28, 4), *(1 + Rational(28, 4) * stroke for stroke in range(4))],
}
#: The same, as a person reads them.
PLAIN = {
    "00-guess": [8],
    "00-exercise": [7, 100],
    "01-guess": [12],
    "01-exercise": ["x..x..x..x..", "x...x...x..."],
    "02-guess": [2],
    "02-exercise": [3, 2, 1, 3, 1, 2, 3],
    "03-guess": [120],
    "03-exercise": ["1", "a of 1", "& of 2", "e of 3"],
    "04-guess": [16],
    "04-exercise": [0, -1, -2, -3, 4, 3, 2, 1],
    "05-guess": [200],
    "05-exercise": [72, 150],
    "06-guess": [6],
    "06-exercise": [4, 4, 4, 4, 4, 4, 3],
    "07-guess": [3],
    "07-exercise": [7, 9],
    "08-guess": [4],
    "08-exercise": [24, 18],
    "09-guess": [3],
    "09-exercise": [7, 1, 8, 15, 22],
}


def equal(key: str, parts: list) -> list[bool]:
    """Say which parts are right: as a person reads them, and exactly midway either sign."""
    return [
        part == right or (key == "04-exercise" and right == 4 and part == -4)
        for part, right in zip(parts, PLAIN[key], strict=True)
    ]


def test_there_is_a_guess_and_an_exercise_for_each_page():
    """Two questions for each page, each under its own id."""
    assert list(PAGE_IDS) == IDS
    assert all(BANK[key].id == question(key).id == key for key in IDS)


@pytest.mark.parametrize("one", BANK.values(), ids=lambda one: one.id)
def test_a_question_of_a_page_and_one_of_a_class_are_made_alike(one):
    """Every one is posed with numbers, and each of its versions has its id and its skill."""
    assert (type(one), one.level in LEVELS, one.skill in SKILLS) == (Template, True, True)
    for version in one.versions:
        made = one.make(*version)
        assert (made.id, made.skill) == (one.id, one.skill)
    assert (one.id in PAGE_IDS) != (one.id in CLASS_IDS)
    assert len(one.versions) == 1 or one.id in CLASS_IDS


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
        assert judged.text == f"Right. {question(key).why}"
    if len(PLAIN[key]) == 1:
        assert check(key, PLAIN[key][0]).right
        assert question(key).judge_typed(f" {PLAIN[key][0]} ").right


def changed(key: str) -> st.SearchStrategy:
    """Return answers that differ from the right one in at least one part, and which parts those are."""
    right = PLAIN[key]
    if isinstance(right[0], str):
        wrong = st.sampled_from(
            ["x..x..x..x.x", "............", "x", "x.xx", "x..x..x..x..x"]
            if set(right[0]) <= {"x", "."}
            else ["1", "e of 1", "& of 3", "x..x..x..x.x", "x", "nonsense", "3.4", "2.1", "a of 1", "2a"]
        )
    else:
        wrong = st.one_of(st.integers(-50, 200), st.fractions(-50, 200, max_denominator=16), st.floats(-9, 9))
    return (
        st.lists(st.none() | wrong, min_size=len(right), max_size=len(right))
        .map(lambda parts: [r if w is None else w for w, r in zip(parts, right, strict=True)])
        .filter(lambda parts: not all(equal(key, parts)))
    )


@pytest.mark.parametrize("key", IDS)
@FEW
@given(data=st.data())
def test_a_changed_answer_is_never_right_and_the_first_part_that_is_off_is_named(key, data):
    """One mark for each part that still fits; the first that does not is said, and the others are named."""
    parts = data.draw(changed(key))
    judged = check(key, parts)
    same = equal(key, parts)
    assert not judged.right
    assert judged.answered
    assert judged.marks == sum(same)
    name = question(key).parts[same.index(False)]
    assert judged.text.lower().startswith(f"{name} is off: you wrote ".lower())
    others = [part for part, fits in zip(question(key).parts, same, strict=True) if not fits][1:]
    assert ("Also off: " in judged.text) == bool(others)
    if others:
        *most, last = others
        listed = f"{', '.join(most)} and {last}" if most else last
        assert f". Also off: {listed}. {sum(same)} of {len(same)} " in judged.text


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
    assert judged.text.startswith(f"You wrote {length} part{'s' * (length > 1)}, and there ")
    assert f"there are {len(right)}." in judged.text or f"there is {len(right)}." in judged.text


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
    assert html.startswith('<div class="rl-kept" ')
    assert "<details><summary " in html
    assert " open" not in html.partition("</summary>")[0].partition("<summary>")[0]
    right = ", ".join(str(part) for part in PLAIN[key])
    assert shown.right == right
    for text in (question(key).text, right, question(key).why):
        assert text in str(shown)
        assert text.replace("&", "&amp;") in html
    assert str(shown).count("\n") == repr(shown).count("\n") == 0
    assert len(repr(shown)) < 300


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("00-guess", "How many separate sounds do 5 against 4 make in one cycle?"),
        ("03-guess", "4 against 3 with the 3 at 90 bpm: how many bpm is the 4?"),
        ("04-guess", "32 against 31 counted from the 31: on the & of which beat is the 32 exactly midway?"),
    ],
)
def test_a_guess_is_not_about_the_numbers_that_its_panel_starts_with(key, text):
    """Else the heading of the panel would give it away."""
    assert question(key).text == text
    starts = {"00-guess": "7 against 4", "03-guess": "7 against 4", "04-guess": "16 against 15"}
    assert starts[key] not in question(key).text


def test_each_part_is_named_by_what_it_is_and_counted_in_its_unit():
    """A number of sounds is counted in sounds and a tempo in bpm, in the guesses as in the exercise."""
    assert question("00-exercise").parts == ("the number of sounds", "the tempo of the 5")
    assert question("00-exercise").units == ("sound", "bpm")
    assert question("03-guess").parts == ("the tempo of the 4",)
    assert question("03-guess").units == ("bpm",)


def test_exactly_midway_either_sign_will_do_and_only_there():
    """The stroke that is as far from both beats may be before or after; the sign of every other is asked."""
    right = PLAIN["04-exercise"]
    (midway,) = [k for k in range(8) if Fraction(k * 7, 8) % 1 == Fraction(1, 2)]
    for k in range(8):
        parts = [-gap if i == k else gap for i, gap in enumerate(right)]
        judged = check("04-exercise", parts)
        assert judged.right == (k == midway or right[k] == 0)
        assert judged.marks == (8 if judged.right else 7)
        if judged.right:
            assert judged.text == f"Right. {question('04-exercise').why}"
        else:
            assert judged.text.startswith(f"Gap {k + 1} is off: you wrote {-right[k]}, which is ")
    for k in set(range(8)) - {midway}:
        parts = [-4 if i == k else gap for i, gap in enumerate(right)]
        by = -4 - right[k]
        assert check("04-exercise", parts).text == (
            f"Gap {k + 1} is off: you wrote -4, which is {abs(by)} tick{'s' * (abs(by) > 1)} too few. "
            "7 of 8 are right."
        )


def test_every_place_may_be_written_in_three_ways():
    """Beat and sign, beat and number, and as it is said: "1a", "1.4", "a of 1"; a sign alone is no place."""
    right = PLAIN["03-exercise"]
    for beat in (1, 2, 3):
        for part, sign in enumerate(["", "e", "&", "a"], 1):
            said = f"{sign} of {beat}" if sign else f"{beat}"
            for k in range(4):
                judged = [
                    check("03-exercise", [way if i == k else place for i, place in enumerate(right)])
                    for way in (said, f"{beat}{sign}", f"{beat}.{part}", f" {beat}{sign.upper()} ")
                ]
                assert {one.text for one in judged} == {judged[0].text}
                assert {one.right for one in judged} == {said == right[k]}
    for alone in ("a", "e", "&"):
        judged = check("03-exercise", ["1", alone, "& of 2", "e of 3"])
        assert judged.text == (
            f"Place 2 is off: you wrote {alone!r}, which is not a place in this count. "
            "Write it like 'e of 1'. 3 of 4 are right."
        )

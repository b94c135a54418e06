"""The bank of questions: those of the pages, and those of a class, with other numbers for every seat."""

from functools import lru_cache
from hashlib import sha256
from numbers import Real

from rhythmlab.classroom.bank import hearing, notation, pages, playing, rhythm, takes
from rhythmlab.classroom.bank.template import LEVELS, SKILLS, Template, Version
from rhythmlab.classroom.question import Question, Verdict, WorkedAnswer
from rhythmlab.core.check import short, whole
from rhythmlab.core.display import Printed
from rhythmlab.core.public import public
from rhythmlab.refusal import Refusal

#: Every question by id: those of a class skill by skill, then those of the pages.
BANK: dict[str, Template] = {
    one.id: one for module in (rhythm, playing, notation, hearing, takes, pages) for one in module.QUESTIONS
}
#: What a class can be asked, and what the pages ask.
CLASS_IDS = tuple(id for id, one in BANK.items() if not one.page)
PAGE_IDS = tuple(id for id, one in BANK.items() if one.page)
_EXAMPLE = 'classroom.assignment("grid-and-composite", seat=7).ask("grid-ticks")'


def find(id: object, example: str = _EXAMPLE, ids: tuple[str, ...] = CLASS_IDS) -> Template:
    """Return the template of a question, or say which there are; the example is a call that works.

    Raises
    ------
    ValueError
        If it is none of `ids`.

    Examples
    --------
    >>> find("grid-ticks").skill, find("grid-ticks").level
    ('grid', 1)
    """
    if not isinstance(id, str) or id not in ids:
        raise Refusal(f"there is no question {short(id)}; there are {', '.join(ids)}", example)
    return BANK[id]


@public('pages.question("01-exercise")')
def question(id: str) -> Question:
    """Return a question by its id.

    Raises
    ------
    ValueError
        If there is no such question.

    Examples
    --------
    >>> question("00-guess").text
    'How many separate sounds do 5 against 4 make in one cycle?'
    """
    return _on_page(id, 'pages.question("01-exercise")')


@public('pages.check("01-exercise", answer=30)')
def check(id: str, answer: object = None) -> Verdict:
    """Check an answer to an exercise of a page.

    Parameters
    ----------
    id : str
        Id of the question, as in the page.
    answer : number, str, list or tuple
        Your answer; leave it empty and it says what to write.

    Returns
    -------
    Verdict
        Shows itself as a sentence: right and why, or which part is off and by how much.

    Raises
    ------
    ValueError
        If there is no such question.

    Examples
    --------
    >>> check("00-exercise", answer=[7, 90])
    The tempo of the 5 is off: you wrote 90, which is 10 bpm too slow. 1 of 2 is right.
    """
    return _on_page(id, 'pages.check("01-exercise", answer=["x.x.x.", "x..x.."])').judge(answer)


@public('pages.answer("01-exercise")')
def answer(id: str) -> WorkedAnswer:
    """Show the worked answer to an exercise, folded away until it is opened.

    Parameters
    ----------
    id : str
        Id of the question, as in the page.

    Raises
    ------
    ValueError
        If there is no such question.
    """
    return _on_page(id, 'pages.answer("01-exercise")').answer()


def _on_page(id: object, example: str) -> Question:
    """Return a question of the pages by its id; the example is a call that works."""
    template = find(id, example, PAGE_IDS)
    return template.make(*template.versions[0])


class QuestionBank(Printed, tuple[Template, ...]):
    """Questions of the catalogue; prints a line each: id, skill, level, and the question of one seat."""

    def __str__(self) -> str:
        wide = max((len(one.id) for one in self), default=0)
        skill = max((len(one.skill) for one in self), default=0)
        return "\n".join(
            f"{one.id:<{wide}}  {one.skill:<{skill}}  {one.level}  {question_for(one.id).text}"
            for one in self
        )


@public('classroom.question_bank(skill="grid")')
def question_bank(skill: str | None = None, level: int | None = None) -> QuestionBank:
    """Return the questions that an assignment can be made of.

    Parameters
    ----------
    skill : str, optional
        One of `SKILLS`; all when left out.
    level : int, optional
        1, 2 or 3; all when left out.

    Returns
    -------
    QuestionBank
        A tuple of `Template`; prints a line each.

    Raises
    ------
    ValueError
        If there is no such skill or level.

    Examples
    --------
    >>> [one.id for one in question_bank(skill="grid")]
    ['grid-ticks', 'grid-rows', 'grid-three']
    """
    if skill is not None and not (isinstance(skill, str) and skill in SKILLS):
        raise Refusal(
            f"skill={short(skill)} is none of {', '.join(SKILLS)}",
            'classroom.question_bank(skill="grid")',
            argument="skill",
        )
    if level is not None and not (isinstance(level, Real) and level in LEVELS):
        raise Refusal(
            f"level={short(level)} is none of 1, 2, 3", "classroom.question_bank(level=1)", argument="level"
        )
    return QuestionBank(
        BANK[id] for id in CLASS_IDS if skill in (None, BANK[id].skill) and level in (None, BANK[id].level)
    )


def question_for(id: str, assignment: str = "", seat: int = 1) -> Question:
    """Return a question with the numbers of a seat.

    Parameters
    ----------
    id : str
        Id of the question.
    assignment : str
        Name of the assignment.
    seat : int
        Number of the seat.

    Raises
    ------
    ValueError
        If there is no such question, or no such seat.

    Examples
    --------
    >>> question_for("grid-ticks", "week 1", seat=7).text == question_for("grid-ticks", "week 1", seat=7).text
    True
    """
    template = find(id)
    return template.make(*numbers_for(template, assignment, seat))


def numbers_for(template: Template, assignment: str, seat: int) -> Version:
    """Return the numbers that a seat has for a question."""
    return template.versions[version_for(assignment, seat, template.id, len(template.versions))]


def version_for(assignment: str, seat: int, id: str, count: int) -> int:
    """Choose a version of a question for a seat, always the same one.

    Parameters
    ----------
    assignment : str
        Name of the assignment; another name gives other versions.
    seat : int
        Number of the seat, at least 0.
    id : str
        Id of the question.
    count : int
        How many versions there are.

    Returns
    -------
    int
        From 0 up to `count`; neighbouring seats never have the same where there are two or more, and every
        `count` seats in a row that begin at a multiple of it have each version once.

    Raises
    ------
    ValueError
        If a number or a name is not of the right kind.

    Examples
    --------
    >>> [version_for("week 1", seat, "grid-ticks", 3) for seat in range(6)]
    [1, 0, 2, 1, 0, 2]
    """
    for name, text in (("assignment", assignment), ("id", id)):
        if not isinstance(text, str):
            raise Refusal(f"{name}={short(text)} is not text", f'{name}="grid-ticks"', argument=name)
    seat = whole(seat, "seat", "seat=7", least=0)
    count = whole(count, "count", _EXAMPLE)
    if count < 3:  # turn about
        return (seat + _drawn(assignment, id, 0, 0)) % count
    block, place = divmod(seat, count)
    order = list(_order(assignment, id, block, count))
    if block and order[0] == _order(assignment, id, block - 1, count)[-1]:
        order[0], order[1] = order[1], order[0]
    return order[place]


@lru_cache(maxsize=4096)
def _order(assignment: str, id: str, block: int, count: int) -> tuple[int, ...]:
    """Return all versions in an order of their own for so many seats; a whole block of seats shares it."""
    return tuple(sorted(range(count), key=lambda one: _drawn(assignment, id, block, one)))


def _drawn(*parts: object) -> int:
    return int.from_bytes(
        sha256("\x1f".join(map(str, parts)).encode("utf-8", "surrogatepass")).digest(), "big"
    )

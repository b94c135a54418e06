"""Questions for a class, each with its own numbers for every seat."""

from functools import lru_cache
from hashlib import sha256
from numbers import Real

from rhythmlab.classroom import (
    posed_count,
    posed_gaps,
    posed_grid,
    posed_hear,
    posed_phrase,
    posed_play,
    posed_read,
    posed_ways,
)
from rhythmlab.classroom.posed_kind import LEVELS, SKILLS, Posed
from rhythmlab.classroom.question import Question, known
from rhythmlab.core.check import short, whole
from rhythmlab.core.display import Printed
from rhythmlab.core.public import public
from rhythmlab.refusal import Refusal

__all__ = ["CATALOGUE", "LEVELS", "SKILLS", "Posed", "Questions", "pose", "posed", "questions", "version"]

_MODULES = (
    *(posed_grid, posed_count, posed_gaps, posed_ways),
    *(posed_phrase, posed_read, posed_hear, posed_play),
)
#: Every question by id, skill by skill.
CATALOGUE: dict[str, Posed] = {one.id: one for module in _MODULES for one in module.QUESTIONS}


_EXAMPLE = 'assignment("grid-and-composite", seat=7).ask("grid-ticks")'


def posed(id: str, example: str = _EXAMPLE) -> Posed:
    """Return a question of the catalogue, before it has its numbers; the example is a call that works.

    Raises
    ------
    ValueError
        If there is no such question.

    Examples
    --------
    >>> posed("grid-ticks").skill, posed("grid-ticks").level
    ('grid', 1)
    """
    return known(id, CATALOGUE, example)


def version(assignment: str, seat: int, id: str, count: int) -> int:
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
    >>> [version("week 1", seat, "grid-ticks", 3) for seat in range(6)]
    [1, 0, 2, 1, 0, 2]
    """
    for name, text in (("assignment", assignment), ("id", id)):
        if not isinstance(text, str):
            raise Refusal(f"{name}={short(text)} is not text", f'{name}="grid-ticks"', argument=name)
    seat = whole(seat, "seat", "seat=7", least=0)
    count = whole(count, "count", "count=8")
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


def pose(id: str, assignment: str = "", seat: int = 1) -> Question:
    """Ask a question with the numbers of a seat.

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
    >>> pose("grid-ticks", "week 1", seat=7).text == pose("grid-ticks", "week 1", seat=7).text
    True
    """
    kind = posed(id)
    return kind.make(*kind.versions[version(assignment, seat, id, len(kind.versions))])


class Questions(Printed, tuple[Posed, ...]):
    """Questions of the catalogue; prints a line each: id, skill, level, and the question of one seat."""

    def __str__(self) -> str:
        wide = max((len(one.id) for one in self), default=0)
        skill = max((len(one.skill) for one in self), default=0)
        return "\n".join(
            f"{one.id:<{wide}}  {one.skill:<{skill}}  {one.level}  {pose(one.id).text}" for one in self
        )


@public('questions(skill="grid")')
def questions(skill: str | None = None, level: int | None = None) -> Questions:
    """Return the questions that an assignment can be made of.

    Parameters
    ----------
    skill : str, optional
        One of `SKILLS`; all when left out.
    level : int, optional
        1, 2 or 3; all when left out.

    Returns
    -------
    Questions
        A tuple of `Posed`; prints a line each.

    Raises
    ------
    ValueError
        If there is no such skill or level.

    Examples
    --------
    >>> [one.id for one in questions(skill="grid")]
    ['grid-ticks', 'grid-rows', 'grid-three']
    """
    if skill is not None and not (isinstance(skill, str) and skill in SKILLS):
        raise Refusal(
            f"skill={short(skill)} is none of {', '.join(SKILLS)}",
            'questions(skill="grid")',
            argument="skill",
        )
    if level is not None and not (isinstance(level, Real) and level in LEVELS):
        raise Refusal(f"level={short(level)} is none of 1, 2, 3", "questions(level=1)", argument="level")
    return Questions(
        one for one in CATALOGUE.values() if skill in (None, one.skill) and level in (None, one.level)
    )

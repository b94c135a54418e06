"""A kind of question that has its own numbers for every seat."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import lru_cache
from typing import Protocol, SupportsInt, TypeAlias

from rhythmlab.classroom.question import Part, Question
from rhythmlab.core.check import items, short
from rhythmlab.core.feel import Feel, Place
from rhythmlab.core.public import public
from rhythmlab.refusal import Refusal
from rhythmlab.text import counts

#: One number of a version: a pulse, a length, or the name of a metre or of hands.
Version: TypeAlias = int | str | Fraction

SKILLS = (
    "grid",
    "composite",
    "place in the count",
    "home and tempo",
    "gaps and zones",
    "ways to learn",
    "phrasing",
    "sticking",
    "metre and meeting points",
    "reading notation",
    "hearing",
    "playing",
)
#: 1 is one idea, 2 is one idea in full, 3 is two ideas together.
LEVELS = (1, 2, 3)


class Shown(Protocol):
    """What is heard or read with a question: it shows itself in a notebook."""

    def _repr_html_(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Posed:
    """A question before it has its numbers.

    Attributes
    ----------
    id, skill : str
        Its id, and one of `SKILLS`.
    level : int
        One of `LEVELS`.
    versions : tuple of tuple
        The numbers of each version, all equally hard.
    make : callable
        Takes the numbers of a version and gives its `Question`, which gets this id and skill.
    plays : str
        What goes with it: ``"sound"``, ``"score"``, ``"take"``, or nothing.
    show : callable, optional
        Takes the numbers of a version and gives what is heard or read.
    """

    id: str
    skill: str
    level: int
    versions: tuple[tuple[Version, ...], ...]
    make: Callable[..., Question]
    plays: str = ""
    show: Callable[..., Shown] | None = field(default=None, repr=False)

    def __post_init__(self) -> None:
        kind = self.make

        @lru_cache(maxsize=64)  # three hundred seats share a few versions
        def made(*numbers: object) -> Question:
            return replace(kind(*numbers), id=self.id, skill=self.skill)

        def make(*numbers: object) -> Question:
            return made(*self._known(numbers))

        make.__qualname__ = "Posed.make"
        object.__setattr__(self, "make", public("questions()[0].make(8, 6)")(make))

    @public("questions()[0].shows((8, 6))")
    def shows(self, numbers: Iterable[object]) -> Shown | None:
        """Return what goes with a version, for a notebook to show; ``None`` where nothing does.

        Parameters
        ----------
        numbers : tuple
            One of `versions`.

        Returns
        -------
        object or None
            With ``_repr_html_``; nothing is engraved or sounded before that is asked for.
        """
        known = self._known(numbers)
        return None if self.show is None else self.show(*known)

    def _known(self, numbers: Iterable[object]) -> tuple[object, ...]:
        """Return the numbers of a version, or refuse others."""
        example = "questions()[0].shows(questions()[0].versions[0])"
        given = tuple(items(numbers, "numbers", example))
        if not all(isinstance(one, int | str | Fraction) for one in given) or given not in self.versions:
            raise Refusal(
                f"numbers={short(given)} are no version of {self.id}, such as {short(self.versions[0])}",
                example,
                argument="numbers",
            )
        return given


def numbers(*values: SupportsInt) -> tuple[Fraction, ...]:
    """Return right parts of whole numbers and Fractions.

    Examples
    --------
    >>> numbers(3, Fraction(1, 2))
    (Fraction(3, 1), Fraction(1, 2))
    """
    return tuple(Fraction(value) if isinstance(value, Fraction) else Fraction(int(value)) for value in values)


def likely(
    right: tuple[Part, ...], mistakes: Iterable[tuple[int, SupportsInt | str, str]]
) -> dict[tuple[int, Part], str]:
    """Return what is said of likely mistakes, without those that are right after all.

    Examples
    --------
    >>> likely(numbers(24), [(0, 48, "That is the product."), (0, 24, "No.")])
    {(0, Fraction(48, 1)): 'That is the product.'}
    """
    found: dict[tuple[int, Part], str] = {
        (i, part if isinstance(part, str) else numbers(part)[0]): said for i, part, said in mistakes
    }
    return {key: said for key, said in found.items() if right[key[0]] != key[1]}


def place_scale(feel: Feel, pulse: int) -> tuple[str, ...]:
    """Return all places in a count, in order, as they are said.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> place_scale(Feel(Polyrhythm(2, 3), 1), 0)
    ('1', '& of 1', '2', '& of 2', '3', '& of 3')
    """
    return tuple(counts.place_name(place) for place in _every(feel.beats, feel.parts(pulse)))


def other_ways(scales: Iterable[tuple[int, int]]) -> dict[Part, Part]:
    """Return other ways to write a place, "1a" and "1.4", each with the way it is said, "a of 1".

    Parameters
    ----------
    scales : sequence of (int, int)
        Beats, and parts to a beat.

    Examples
    --------
    >>> other_ways([(1, 2)])
    {'1': '1', '1.1': '1', '1&': '& of 1', '1.2': '& of 1'}
    """
    ways: dict[Part, Part] = {}
    for beats, parts in scales:
        for place in _every(beats, parts):
            short = (
                f"{place.beat}{counts.mark(place)}" if place.part > 1 and parts < 5 else counts.mark(place)
            )
            ways |= {way: counts.place_name(place) for way in (short, f"{place.beat}.{place.part}")}
    return ways


def _every(beats: int, parts: int) -> list[Place]:
    return [Place(beat, part, parts) for beat in range(1, beats + 1) for part in range(1, parts + 1)]

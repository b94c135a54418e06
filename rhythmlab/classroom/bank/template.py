"""A question before it has its numbers: from one template, every seat gets numbers of its own."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import lru_cache
from typing import Protocol, SupportsInt, TypeAlias

from rhythmlab.classroom.question import Part, Question
from rhythmlab.core.check import items, short
from rhythmlab.core.feel import Feel, Place
from rhythmlab.core.public import public_class
from rhythmlab.refusal import Refusal
from rhythmlab.text import counts

#: One number of a version: a pulse, a length, or the name of a metre or of hands.
Number: TypeAlias = int | str | Fraction
#: The numbers of one version of a question.
Version: TypeAlias = tuple[Number, ...]

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


class Exhibit(Protocol):
    """What is heard or read with a question: it shows itself in a notebook."""

    def _repr_html_(self) -> str: ...


@public_class(
    "classroom.question_bank()[0]",
    make="classroom.question_bank()[0].make(8, 6)",
    shows="classroom.question_bank()[0].shows((8, 6))",
)
@dataclass(frozen=True, slots=True, eq=False)
class Template:
    """A question before it has its numbers.

    Attributes
    ----------
    id, skill : str
        Its id, and one of `SKILLS`.
    level : int
        One of `LEVELS`.
    versions : tuple of tuple
        The numbers of each version, all equally hard; a question of a page has one version.
    write : callable
        Takes the numbers of a version and writes its `Question`, without id and skill.
    plays : str
        What goes with it: ``"sound"``, ``"score"``, ``"take"``, or nothing.
    show : callable, optional
        Takes the numbers of a version and gives what is heard or read.
    page : str
        Number of the page that asks it, such as ``"03"``; empty where classes are asked it.
    """

    id: str
    skill: str
    level: int
    versions: tuple[Version, ...]
    write: Callable[..., Question] = field(repr=False)
    plays: str = ""
    show: Callable[..., Exhibit] | None = field(default=None, repr=False)
    page: str = ""

    def make(self, *numbers: Number) -> Question:
        """Return the question with the numbers of a version.

        Parameters
        ----------
        *numbers : int, str or Fraction
            One of `versions`.

        Raises
        ------
        ValueError
            If they are no version of it.
        """
        return _made(self, self._known(numbers))

    def shows(self, numbers: Iterable[Number]) -> Exhibit | None:
        """Return what is heard or read with a version, for a notebook to show; ``None`` where nothing is.

        Parameters
        ----------
        numbers : tuple
            One of `versions`.

        Returns
        -------
        object or None
            With ``_repr_html_``; nothing is engraved or sounded before that is asked for.

        Raises
        ------
        ValueError
            If they are no version of it.
        """
        known = self._known(numbers)
        return None if self.show is None else self.show(*known)

    def _known(self, numbers: Iterable[Number]) -> Version:
        """Return the numbers of a version, or refuse others."""
        example = "classroom.question_bank()[0].shows(classroom.question_bank()[0].versions[0])"
        given = tuple(items(numbers, "numbers", example))
        if not all(isinstance(one, int | str | Fraction) for one in given) or given not in self.versions:
            raise Refusal(
                f"numbers={short(given)} are no version of {self.id}, such as {short(self.versions[0])}",
                example,
                argument="numbers",
            )
        return given


@lru_cache(maxsize=1024)  # three hundred seats share a few versions
def _made(template: Template, numbers: Version) -> Question:
    return replace(template.write(*numbers), id=template.id, skill=template.skill)


def question_template(
    id: str,
    skill: str,
    *,
    level: int,
    versions: tuple[Version, ...],
    plays: str = "",
    show: Callable[..., Exhibit] | None = None,
) -> Callable[[Callable[..., Question]], Template]:
    """Make a template of a function that takes the numbers of a version and writes the question.

    Examples
    --------
    >>> @question_template("twice", "grid", level=1, versions=((2,), (3,)))
    ... def twice(n: int) -> Question:
    ...     return Question(f"Twice {n}?", "twice", ("it",), numbers(2 * n), "n + n.", "write a number.")
    >>> twice.make(3).id, twice.make(3).right
    ('twice', (Fraction(6, 1),))
    """
    return lambda write: Template(id, skill, level, versions, write, plays, show)


def part_names(word: str, count: int) -> tuple[str, ...]:
    """Return names for the parts of a list: ``word 1``, ``word 2`` and so on."""
    return tuple(f"{word} {i}" for i in range(1, count + 1))


def numbers(*values: SupportsInt) -> tuple[Fraction, ...]:
    """Return right parts of whole numbers and Fractions.

    Examples
    --------
    >>> numbers(3, Fraction(1, 2))
    (Fraction(3, 1), Fraction(1, 2))
    """
    return tuple(Fraction(value) if isinstance(value, Fraction) else Fraction(int(value)) for value in values)


def likely_mistakes(
    right: tuple[Part, ...], mistakes: Iterable[tuple[int, SupportsInt | str, str]]
) -> dict[tuple[int, Part], str]:
    """Return what is said of likely mistakes, without those that are right after all.

    Examples
    --------
    >>> likely_mistakes(numbers(24), [(0, 48, "That is the product."), (0, 24, "No.")])
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


class _Places(Mapping[Part, Part]):
    """Names of places by what is typed; a beat counted aloud up to a place is read by its words."""

    def __init__(self, names: Mapping[Part, Part], most: int) -> None:
        self._names, self._most = names, most

    def __getitem__(self, typed: Part) -> Part:
        if typed in self._names or not isinstance(typed, str) or not typed.strip():
            return self._names[typed]
        place = counts.counted_up_to(typed) if len(typed) <= 8 * self._most else None
        written = typed if place is None else f"{place[0]}.{place[1]}"
        if self._names[written] != written:  # parts that have words of their own are said with these only
            raise KeyError(typed)
        return written

    def __iter__(self) -> Iterator[Part]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)


def place_aliases(scales: Iterable[tuple[int, int]]) -> Mapping[Part, Part]:
    """Return every way to write a place, "1a", "1.4" or the word said there, each with its name, "a of 1".

    A beat counted aloud up to the place, "1 e TA e", is read in whatever groups it is counted.

    Parameters
    ----------
    scales : sequence of (int, int)
        Beats, and parts to a beat.

    Examples
    --------
    >>> read = place_aliases([(1, 2)])
    >>> read["beat 1"], read["1&"], read["1.2"], place_aliases([(2, 5)])["2 e ta e"]
    ('1', '& of 1', '& of 1', '2.4')
    """
    scales = list(scales)
    names: dict[Part, Part] = {
        way: counts.place_name(place)
        for beats, parts in scales
        for place in _every(beats, parts)
        for way in counts.ways_to_write(place)
    }
    return _Places(names, max(parts for _, parts in scales))


def _every(beats: int, parts: int) -> list[Place]:
    return [Place(beat, part, parts) for beat in range(1, beats + 1) for part in range(1, parts + 1)]

"""An assignment: questions with the numbers of a seat, asked and answered in a page.

A reply is a literal in a cell of its own, tagged ``reply``, with the id of its question in the metadata and
in the text; reading it never runs anything.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from rhythmlab.classroom.posed import CATALOGUE, pose, posed, version
from rhythmlab.classroom.question import Judged, Question
from rhythmlab.core.check import short, whole

#: How a page answers: at once, or only that a reply can be read.
MODES = ("practice", "test")
#: Most seats of a class.
MOST_SEATS = 100_000
_EXAMPLE = 'assignment("grid-and-composite", seat=7)'


@dataclass(frozen=True, slots=True)
class Ready:
    """A ready assignment.

    Attributes
    ----------
    name, title : str
        As it is called in code, and on its page.
    minutes : int
        About how long it takes (our own estimate).
    ids : tuple of str
        Its questions, in order.
    """

    name: str
    title: str
    minutes: int
    ids: tuple[str, ...]


#: The ready assignments by name.
READY = {
    one.name: one
    for one in (
        Ready(
            "grid-and-composite",
            "Grid and composite",
            40,
            (
                *("grid-ticks", "grid-rows", "grid-three"),
                *("composite-sounds", "composite-intervals", "composite-how-often", "place-syllables"),
            ),
        ),
        Ready(
            "feels-and-tempo",
            "Feels and tempo",
            45,
            (
                *("place-syllables", "place-parts", "place-both"),
                *("tempo-flip", "tempo-cycle", "tempo-modulation", "ways-count-ceiling"),
            ),
        ),
        Ready(
            "gap-cycles",
            "Gap cycles",
            45,
            (
                "gaps-midway",
                "gaps-signed",
                "gaps-flam-tempo",
                "tempo-cycle",
                "ways-ones-floor",
                "ways-choose",
            ),
        ),
        Ready(
            "phrase-stick-and-place",
            "Phrase, stick and place in a bar",
            50,
            (
                *("phrase-fours", "phrase-accents", "phrase-ways"),
                *("sticking-write", "sticking-fault", "sticking-home"),
                *("metre-home", "metre-beats", "metre-meeting"),
            ),
        ),
        Ready(
            "hear-and-read",
            "Hear and read",
            40,
            ("read-length", "read-pair", "read-odd", "hear-pair", "hear-home", "hear-odd"),
        ),
    )
}


@dataclass(frozen=True, slots=True)
class Asked:
    """A question as the page shows it, with what is heard or read."""

    number: Question
    shown: object | None

    def __repr__(self) -> str:
        return f"{self.number.text} To answer: {self.number.form}"

    def _repr_html_(self) -> str:
        more = "" if self.shown is None else self.shown._repr_html_()
        return (
            f'<div><p style="font-size:1.05em">{escape(self.number.text)}</p>{more}'
            f"<p>To answer: {escape(self.number.form)}</p></div>"
        )


@dataclass(frozen=True, slots=True)
class Noted:
    """What is said in a test: only whether the reply can be read."""

    said: str

    def __repr__(self) -> str:
        return self.said

    def _repr_html_(self) -> str:
        return f'<p role="status">{escape(self.said)}</p>'


@dataclass(frozen=True, slots=True)
class Work:
    """The work of one seat on one assignment.

    Attributes
    ----------
    name : str
        Of the assignment.
    seat : int
        0 until a seat is typed.
    mode : str
        One of `MODES`.
    """

    name: str
    seat: int
    mode: str

    def __repr__(self) -> str:
        if not self.seat:
            return "Type the number of your seat, for example seat=7, and run the page again."
        how = "each reply is checked at once" if self.mode == "practice" else "replies are checked later"
        return f"{self.name}, seat {self.seat}: {how}."

    def question(self, id: str) -> Question:
        """Return a question with the numbers of this seat."""
        return pose(id, self.name, self.seat)

    def ask(self, id: str) -> Asked | Noted:
        """Ask a question with the numbers of this seat.

        Parameters
        ----------
        id : str
            Id of the question.

        Examples
        --------
        >>> assignment("grid-and-composite").ask("grid-ticks")
        First type the number of your seat at the top of the page, and run the page again.
        """
        kind = posed(id)
        if not self.seat:
            return Noted("First type the number of your seat at the top of the page, and run the page again.")
        numbers = kind.versions[version(self.name, self.seat, id, len(kind.versions))]
        return Asked(kind.make(*numbers), kind.shows(numbers))

    def reply(self, id: str, answer: object = None) -> Judged | Noted:
        """Reply to a question: in practice it is checked at once, in a test only whether it can be read.

        Parameters
        ----------
        id : str
            Id of the question.
        answer : number, str, list or tuple
            Your answer, written out; leave it empty and it says what to write.

        Examples
        --------
        >>> assignment("grid-and-composite", seat=7, mode="test").reply("grid-ticks", answer=[12])
        Answered, and it can be read.
        """
        posed(id)
        if not self.seat:
            return Noted("First type the number of your seat at the top of the page, and run the page again.")
        asked = self.question(id)
        judged = asked.judge(answer)
        if self.mode == "practice" or not judged.answered:
            return judged
        unread = asked.unread(answer)
        return Noted(f"Answered, but {unread}" if unread else "Answered, and it can be read.")


def assignment(name: str, seat: int = 0, mode: str = "practice") -> Work:
    """Open an assignment at a seat.

    Parameters
    ----------
    name : str
        Of the assignment: a ready one, or the teacher's own.
    seat : int
        Number of the seat; 0 until one is typed.
    mode : str
        ``"practice"``, where each reply is checked at once, or ``"test"``.

    Returns
    -------
    Work

    Raises
    ------
    ValueError
        If the name is empty, the seat is no whole number, or there is no such mode.

    Examples
    --------
    >>> assignment("grid-and-composite", seat=7)
    grid-and-composite, seat 7: each reply is checked at once.
    """
    if not isinstance(name, str) or not name.strip() or len(name) > 80 or not name.isprintable():
        raise ValueError(f"name={short(name)} is not a name of an assignment; for example {_EXAMPLE}")
    seat = whole(seat, "seat", _EXAMPLE, least=0)
    if seat > MOST_SEATS:
        raise ValueError(f"seat={short(seat)} is more than {MOST_SEATS:,}; for example {_EXAMPLE}")
    if mode not in MODES:
        raise ValueError(f"mode={short(mode)} is neither of {', '.join(MODES)}; for example {_EXAMPLE}")
    return Work(name.strip(), seat, mode)


def ids_of(ids: Iterable[str]) -> tuple[str, ...]:
    """Return ids of questions, each once and known, or refuse them.

    Examples
    --------
    >>> ids_of(["grid-ticks", "grid-rows"])
    ('grid-ticks', 'grid-rows')
    """
    known = tuple(ids) if not isinstance(ids, str) else (ids,)
    for id in known:
        posed(id)
    twice = next((id for id in known if known.count(id) > 1), None)
    if twice is not None or not known:
        wrong = f"{twice!r} is in it twice" if twice else "there is no question in it"
        raise ValueError(f"ids={short(list(known))}: {wrong}; for example ids=['grid-ticks', 'grid-rows']")
    return known


def answers(name: str, seats: int | Iterable[int] = 1, ids: Iterable[str] | None = None) -> "Answers":
    """Return every worked answer of an assignment, for the teacher.

    Parameters
    ----------
    name : str
        Of the assignment.
    seats : int or list of int
        Whose numbers.
    ids : list of str, optional
        Its questions; those of the ready assignment when left out.

    Examples
    --------
    >>> len(answers("grid-and-composite", seats=[1, 2]).rows)
    14
    """
    if ids is None and name not in READY:
        raise ValueError(
            f"name={short(name)} is no ready assignment ({', '.join(READY)}); give its questions, for "
            'example answers("week 3", seats=[1, 2], ids=["grid-ticks"])'
        )
    chosen = ids_of(READY[name].ids if ids is None else ids)
    rows = []
    for seat in [seats] if isinstance(seats, int) else seats:
        work = assignment(name, seat)
        for id in chosen:
            asked = work.question(id)
            rows.append((work.seat, id, CATALOGUE[id].skill, asked.text, asked.worked(), asked.why))
    return Answers(name, tuple(rows))


@dataclass(frozen=True, slots=True)
class Answers:
    """Worked answers by seat and question; prints a line each, and a table in a notebook.

    Attributes
    ----------
    name : str
        Of the assignment.
    rows : tuple of tuple
        Seat, id, skill, text, worked answer as a literal, and why.
    """

    name: str
    rows: tuple[tuple, ...]

    def __repr__(self) -> str:
        return "\n".join(f"seat {seat}, {id}: {answer}. {why}" for seat, id, _, _, answer, why in self.rows)

    def _repr_html_(self) -> str:
        heads = ("seat", "question", "skill", "asked", "answer", "why")
        head = "".join(f'<th scope="col">{name}</th>' for name in heads)
        body = "".join(
            "<tr>"
            + "".join(f'<td style="text-align:left">{escape(str(cell))}</td>' for cell in row)
            + "</tr>"
            for row in self.rows
        )
        return f"<table><caption>Answers: {escape(self.name)}</caption><tr>{head}</tr>{body}</table>"

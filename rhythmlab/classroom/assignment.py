"""An assignment: questions with the numbers of a seat, asked and answered in a page.

A reply is a literal in a cell of its own, tagged ``reply``, with the id of its question in the metadata and
in the text; reading it never runs anything.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from html import escape
from itertools import islice
from typing import Any

from rhythmlab.classroom.bank.catalogue import CLASS_IDS, find, numbers_for, question_for
from rhythmlab.classroom.bank.template import Exhibit
from rhythmlab.classroom.question import Question, Verdict, outcome
from rhythmlab.core.check import short, whole
from rhythmlab.core.display import InNotebook, Printed, framed, table
from rhythmlab.core.long_work import say, shown
from rhythmlab.core.public import public, public_class
from rhythmlab.refusal import Refusal
from rhythmlab.text import sentences
from rhythmlab.text.numbers import plural

#: Highest number of a seat, and most seats at once.
MOST_SEATS, MOST_AT_ONCE = 100_000, 5_000
#: Minutes for a question of each level, worked with pencil and paper (our own estimate).
MINUTES = {1: 4, 2: 6, 3: 8}
#: How a page answers: at once, or only that a reply can be read.
MODES = ("practice", "test")
_EXAMPLE = 'classroom.assignment("grid-and-composite", seat=7)'
#: Seconds that a worked answer takes.
_ANSWER_S = 3e-4
_TYPE_SEAT = "First type the number of your seat at the top of the page, and run the page again."
_OPEN, _UNREAD, _ANSWERED, _RIGHT = _STATES = ("not answered", "unreadable", "answered", "right")


@dataclass(frozen=True, slots=True)
class AskedQuestion:
    """A question as a page shows it, with what is heard or read beside it."""

    question: Question
    shown: Exhibit | None

    def __repr__(self) -> str:
        return f"{self.question.text} To answer: {self.question.form}"

    def _repr_html_(self) -> str:
        more = "" if self.shown is None else self.shown._repr_html_()
        asked, form = escape(self.question.text), escape(self.question.form)
        return framed(f"<p>{asked}</p>{more}<p>To answer: {form}</p>")


@dataclass(repr=False, frozen=True, slots=True)
class Notice(Printed):
    """A sentence in place of a verdict: in a test it says only whether a reply can be read."""

    text: str

    def __str__(self) -> str:
        return self.text

    def _repr_html_(self) -> str:
        return framed(f'<p role="status">{escape(self.text)}</p>')


@public_class(
    'classroom.assignment("grid-and-composite", 7)',
    question='classroom.assignment("grid-and-composite", 7).question("grid-ticks")',
    ask='classroom.assignment("grid-and-composite", 7).ask("grid-ticks")',
    reply='classroom.assignment("grid-and-composite", 7).reply("grid-ticks", answer=[12])',
)
@dataclass(frozen=True, slots=True)
class Work(InNotebook):
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
    _states: dict[str, str] = field(default_factory=dict, repr=False, compare=False)

    def __repr__(self) -> str:
        if not self.seat:
            return "Type the number of your seat, for example seat=7, and run the page again."
        how = "each reply is checked at once" if self.mode == "practice" else "replies are checked later"
        return f"{self.name}, seat {self.seat}: {how}."

    def question(self, id: str) -> Question:
        """Return a question with the numbers of this seat."""
        return question_for(id, self.name, self.seat)

    def ask(self, id: str) -> AskedQuestion | Notice:
        """Ask a question with the numbers of this seat.

        Parameters
        ----------
        id : str
            Id of the question.

        Raises
        ------
        ValueError
            If there is no such question.

        Examples
        --------
        >>> assignment("grid-and-composite").ask("grid-ticks")
        First type the number of your seat at the top of the page, and run the page again.
        """
        template = find(id)
        self._states.setdefault(id, _OPEN)
        if not self.seat:
            return Notice(_TYPE_SEAT)
        numbers = numbers_for(template, self.name, self.seat)
        return AskedQuestion(template.make(*numbers), template.shows(numbers))

    def reply(self, id: str, answer: object = None) -> Verdict | Notice:
        """Reply to a question: in practice it is checked at once, in a test only whether it can be read.

        Parameters
        ----------
        id : str
            Id of the question.
        answer : number, str, list or tuple
            Your answer, written out; leave it empty and it says what to write.

        Raises
        ------
        ValueError
            If there is no such question.

        Examples
        --------
        >>> assignment("grid-and-composite", seat=7, mode="test").reply("grid-ticks", answer=[12])
        Answered, and it can be read.
        """
        asked = self.question(id)
        found = outcome(asked, answer)
        if not found.verdict.answered:
            self._states[id] = _OPEN
            return found.verdict if self.seat else Notice(f"Not answered yet. {_TYPE_SEAT}")
        self._states[id] = _UNREAD if found.unread else _RIGHT if found.verdict.right else _ANSWERED
        if not self.seat:
            self._states[id] = _ANSWERED
            return Notice(f"Your answer stays where it is. {_TYPE_SEAT}")
        if self.mode == "practice":
            return found.verdict
        return Notice(f"Answered, but {found.unread}" if found.unread else "Answered, and it can be read.")

    def left(self) -> Notice:
        """Say what is left to do, from the questions asked and the replies given so far.

        In a test it never says what is right.

        Examples
        --------
        >>> work = assignment("grid-and-composite", seat=7)
        >>> work.reply("grid-ticks", answer=[])
        Not answered yet: write one number, for example 15 for 5 against 3.
        >>> work.left()
        0 of 1 are answered. Not answered yet: grid-ticks.
        """
        if not self._states:
            return Notice("No question has been asked yet: run the page from the top.")
        ids = {state: [id for id, one in self._states.items() if one == state] for state in _STATES}
        out_of, still_open = len(self._states), len(ids[_OPEN])
        said = [] if self.seat else [_TYPE_SEAT]
        done = out_of - still_open
        said.append(f"{done} of {out_of} {'is' if done == 1 else 'are'} answered.")
        if self.mode == "practice" and self.seat and done:
            right = len(ids[_RIGHT])
            said.append(f"{right} of them {'is' if right == 1 else 'are'} right.")
            if ids[_ANSWERED]:
                said.append(f"Not all right yet: {sentences.listed(ids[_ANSWERED])}.")
        for state, lead in ((_UNREAD, "Cannot be read"), (_OPEN, "Not answered yet")):
            if ids[state]:
                said.append(f"{lead}: {sentences.listed(ids[state])}.")
        return Notice(" ".join(said))


@public('classroom.assignment("grid-and-composite", seat=7)')
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
        raise Refusal(f"name={short(name)} is not a name of an assignment", _EXAMPLE, argument="name")
    seat = whole(seat, "seat", _EXAMPLE, least=0)
    if seat > MOST_SEATS:
        raise Refusal(f"seat={short(seat)} is more than {MOST_SEATS:,}", _EXAMPLE, argument="seat")
    if not isinstance(mode, str) or mode not in MODES:
        raise Refusal(f"mode={short(mode)} is neither of {', '.join(MODES)}", 'mode="test"', argument="mode")
    return Work(name.strip(), seat, mode)


@dataclass(repr=False, frozen=True, slots=True)
class AnswerKey(Printed):
    """Worked answers by seat and question; prints a line each, and a table in a notebook.

    Attributes
    ----------
    name : str
        Of the assignment.
    rows : tuple of tuple
        Seat, id, skill, text, worked answer as a literal, and why.
    """

    name: str
    rows: tuple[tuple[int, str, str, str, list[Any], str], ...]

    def _say(self) -> None:
        rows = len(self.rows)
        say(f"{plural(rows, 'answer')} as a table", seconds=rows * 1e-4, megabytes=rows * 2.5e-3)

    def __str__(self) -> str:
        self._say()
        return "\n".join(f"seat {seat}, {id}: {answer}. {why}" for seat, id, _, _, answer, why in self.rows)

    def _repr_html_(self) -> str:
        self._say()
        heads = ("seat", "question", "skill", "asked", "answer", "why")
        rows = ([escape(str(cell)) for cell in row] for row in self.rows)
        return framed(table(f"Answers: {self.name}", heads, rows))


@public('classroom.answer_key("grid-and-composite", seats=2)')
def answer_key(name: str, seats: int | Iterable[int] = 1, ids: Iterable[str] | None = None) -> AnswerKey:
    """Return every worked answer of an assignment, for the teacher.

    Parameters
    ----------
    name : str
        Of the assignment.
    seats : int or list of int
        Whose numbers.
    ids : list of str, optional
        Its questions; those of the ready assignment when left out.

    Raises
    ------
    ValueError
        If a question or a seat cannot be used, or the questions are left out and it is no ready assignment.

    Examples
    --------
    >>> len(answer_key("grid-and-composite", seats=[1, 2]).rows)
    14
    """
    name = assignment(name).name
    chosen = questions_of(name, ids, 'classroom.answer_key("week 3", seats=[1, 2], ids=["grid-ticks"])')
    rows = []
    numbers = seats_of(seats)
    what = f"The answers of {plural(len(numbers), 'seat')}"
    long = say(
        what, seconds=len(numbers) * len(chosen) * _ANSWER_S, instead="Fewer seats take less.", steps=True
    )
    for seat in shown(numbers, len(numbers), what, long=long):
        work = assignment(name, seat)
        for id in chosen:
            asked = work.question(id)
            rows.append((seat, id, asked.skill, asked.text, asked.worked(), asked.why))
    return AnswerKey(name, tuple(rows))


@dataclass(frozen=True, slots=True)
class ReadyAssignment:
    """A ready assignment.

    Attributes
    ----------
    name, title : str
        As it is called in code, and on its page.
    ids : tuple of str
        Its questions, in order.
    """

    name: str
    title: str
    ids: tuple[str, ...]

    @property
    def minutes(self) -> int:
        """About how long it takes."""
        return minutes_of(self.ids)


def minutes_of(ids: Iterable[str]) -> int:
    """Return about how many minutes questions take, in steps of five (our own estimate).

    Examples
    --------
    >>> minutes_of(["grid-ticks", "grid-rows"])
    10
    """
    return -(-sum(MINUTES[find(id).level] for id in ids) // 5) * 5


#: The ready assignments by name.
READY = {
    one.name: one
    for one in (
        ReadyAssignment(
            "grid-and-composite",
            "Grid and composite",
            (
                *("grid-ticks", "grid-rows", "grid-three"),
                *("composite-sounds", "composite-intervals", "composite-how-often", "place-syllables"),
            ),
        ),
        ReadyAssignment(
            "feels-and-tempo",
            "Feels and tempo",
            (
                *("place-syllables", "place-parts", "place-both"),
                *("tempo-flip", "tempo-cycle", "tempo-modulation", "ways-count-ceiling"),
            ),
        ),
        ReadyAssignment(
            "gap-cycles",
            "Gap cycles",
            (
                "gaps-midway",
                "gaps-signed",
                "gaps-flam-tempo",
                "tempo-cycle",
                "ways-ones-floor",
                "ways-choose",
            ),
        ),
        ReadyAssignment(
            "phrase-stick-and-place",
            "Phrase, stick and place in a bar",
            (
                *("phrase-fours", "phrase-accents", "phrase-ways"),
                *("sticking-write", "sticking-fault", "sticking-home"),
                *("metre-home", "metre-beats", "metre-meeting"),
            ),
        ),
        ReadyAssignment(
            "hear-and-read",
            "Hear and read",
            ("read-length", "read-pair", "read-odd", "hear-pair", "hear-home", "hear-odd"),
        ),
    )
}


def questions_of(name: str, ids: Iterable[str] | None, example: str) -> tuple[str, ...]:
    """Return the questions of an assignment: those given, or those of a ready one.

    Raises
    ------
    ValueError
        If none are given and the assignment is no ready one, or they cannot be used.
    """
    if ids is not None:
        return ids_of(ids)
    if name not in READY:
        raise Refusal(
            f"name={short(name)} is no ready assignment ({', '.join(READY)}); give its questions",
            example,
            argument="name",
        )
    return READY[name].ids


def ids_of(ids: Iterable[str]) -> tuple[str, ...]:
    """Return ids of questions, each once and known, or refuse them.

    Examples
    --------
    >>> ids_of(["grid-ticks", "grid-rows"])
    ('grid-ticks', 'grid-rows')
    """
    example = "ids=['grid-ticks', 'grid-rows']"
    try:
        known = (ids,) if isinstance(ids, str) else tuple(islice(ids, len(CLASS_IDS) + 1))
    except TypeError:
        raise Refusal(f"ids={short(ids)} is not a list of ids", example, argument="ids") from None
    for id in known:
        find(id, example)
    twice = next((id for id in known if known.count(id) > 1), None)
    if twice is not None or not known:
        wrong = f"{twice!r} is in it twice" if twice else "there is no question in it"
        raise Refusal(f"ids={short(list(known))}: {wrong}", example, argument="ids")
    return known


def seats_of(seats: int | Iterable[int]) -> tuple[int, ...]:
    """Return numbers of seats, each once, or refuse them.

    Examples
    --------
    >>> seats_of(range(1, 4))
    (1, 2, 3)
    """
    example = "seats=range(1, 31)"
    if isinstance(seats, str) or not isinstance(seats, Iterable | int):
        raise Refusal(f"seats={short(seats)} is not a list of numbers", example, argument="seats")
    several = islice(seats, MOST_AT_ONCE + 1) if isinstance(seats, Iterable) else [seats]
    found = [whole(seat, "seat", example) for seat in several]
    twice = next((seat for seat, times in Counter(found).items() if times > 1), None)
    wrong = ""
    if not found:
        wrong = "seats=[]: there is no seat in it"
    elif len(found) > MOST_AT_ONCE:
        wrong = f"seats holds more than {MOST_AT_ONCE:,}, the most at once"
    elif max(found) > MOST_SEATS:
        wrong = f"seat={short(max(found))} is more than {MOST_SEATS:,}"
    elif twice is not None:
        wrong = f"seats={short(found)}: seat {twice} is in it twice"
    if wrong:
        raise Refusal(wrong, example)
    return tuple(found)

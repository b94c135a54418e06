"""What a reply is worth, and why: one row for every question of a seat, with a reason for every lost mark."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from rhythmlab.classroom.assignment import MOST_SEATS, Work, assignment
from rhythmlab.classroom.question import outcome
from rhythmlab.classroom.returned import SHOWN, Reply, ReturnedNotebook, one_line
from rhythmlab.core.check import short
from rhythmlab.text import numbers

#: What can have become of a question.
STATES = (
    *("right", "partly right", "wrong", "not answered", "unreadable", "wrong type", "missing cell"),
    *("changed question", "wrong seat", "damaged file", "no seat", "not counted"),
)


@dataclass(frozen=True, slots=True)
class MarkedReply:
    """One question of one file.

    Attributes
    ----------
    seat : int
        0 where none is known.
    question, skill : str
        Id and skill; empty where a whole file is meant.
    parts_right, parts : int
        Parts of the answer that are right, and parts in all; 0 of 0 where a whole file is meant.
    state : str
        One of `STATES`.
    reason : str
        Why, in a sentence that the pupil can read.
    file : str
        Where it was found.
    answer : str
        The answer as it was written.
    weight : Fraction
        What the question is worth: one mark where the teacher says nothing else.
    """

    seat: int
    question: str
    skill: str
    parts_right: int
    parts: int
    state: str
    reason: str
    file: str
    answer: str = ""
    weight: Fraction = Fraction(1)

    @property
    def marks(self) -> Fraction:
        """Its share of what the question is worth: the parts of an answer share that evenly.

        Examples
        --------
        >>> MarkedReply(7, "grid-rows", "grid", 3, 4, "partly right", "", "", weight=Fraction(2)).marks
        Fraction(3, 2)
        """
        return self.weight * Fraction(self.parts_right, self.parts) if self.parts else Fraction(0)

    @property
    def out_of(self) -> Fraction:
        """What the question is worth; 0 where a whole file is meant."""
        return self.weight if self.parts else Fraction(0)


def mark(
    paper: ReturnedNotebook, name: str, ids: Sequence[str], weights: Mapping[str, Fraction] | None = None
) -> list[MarkedReply]:
    """Mark a returned notebook.

    Parameters
    ----------
    paper : ReturnedNotebook
        What was handed in.
    name : str
        Name of the assignment.
    ids : sequence of str
        Its questions.
    weights : mapping of str to Fraction, optional
        What a question is worth, where that is not one mark.

    Returns
    -------
    list of MarkedReply
        One for each question, in order; one alone for a file that cannot be marked at all.
    """
    if paper.damage:
        return [_whole_file(paper, "damaged file", paper.damage)]
    if not paper.assignment:
        said = (
            "The page does not say of which assignment it is: "
            "the line with rl.classroom.assignment(...) is gone."
        )
        return [_whole_file(paper, "changed question", said)]
    if paper.assignment != name:
        said = f"The page is of another assignment, {paper.assignment!r}, and not of {name!r}."
        return [_whole_file(paper, "changed question", said)]
    seat = paper.made_for or paper.seat
    if not seat:
        said = (
            f"For the seat the page has {paper.seat_text}, and a seat is a whole number from 1 to "
            f"{MOST_SEATS:,}, such as seat=7."
            if paper.seat_text
            else "No seat was typed, so the numbers of the questions are not known: type it at the top, such "
            "as seat=7, save the page, and hand it in again."
        )
        return [_whole_file(paper, "no seat", said)]
    work = assignment(name, seat)
    worth = weights or {}
    rows = [replace(_row(paper, work, id), weight=worth.get(id, Fraction(1))) for id in ids]
    if paper.made_for and paper.seat not in (0, paper.made_for):
        other = assignment(name, paper.seat)
        return [_moved(row, paper, other) for row in rows]
    return rows


def _whole_file(paper: ReturnedNotebook, state: str, reason: str) -> MarkedReply:
    return MarkedReply(paper.made_for or paper.seat, "", "", 0, 0, state, one_line(reason), paper.name)


def _moved(row: MarkedReply, paper: ReturnedNotebook, other: Work) -> MarkedReply:
    """Say beside a row that the page has another seat than it was made for."""
    made, says, state = paper.made_for, paper.seat, row.state
    said = f"The page was made for seat {made} and says seat {says}; it is marked as seat {made}."
    if row.state in ("wrong", "partly right", "wrong type"):
        state = "wrong seat"
        reply, _ = reply_that_counts([reply for reply in paper.replies if reply.id == row.question])
        if outcome(other.question(row.question), reply.value).state == "right":
            said += f" The answer is right for seat {paper.seat}."
    return replace(row, state=state, reason=one_line(f"{said} {row.reason}"))


def _row(paper: ReturnedNotebook, work: Work, id: str) -> MarkedReply:
    asked = work.question(id)

    def row(state: str, reason: str, right: int = 0, answer: str = "") -> MarkedReply:
        shown = one_line(answer, SHOWN)
        return MarkedReply(
            work.seat, id, asked.skill, right, len(asked.right), state, one_line(reason), paper.name, shown
        )

    mine = [reply for reply in paper.replies if reply.id == id]
    if not mine:
        gone = next((reply for reply in paper.replies if reply.changed == id), None)
        if gone is not None:
            said = f"The cell for {id} replies to {short(gone.id)} now, so {id} has no reply."
            return row("changed question", said, answer=gone.text)
        return row(
            "missing cell", f"There is no cell that replies to {id}: it was deleted, or its id was changed."
        )
    reply, note = reply_that_counts(mine)
    if reply.unread:
        return row("unreadable", f"{note}{reply.unread}", answer=reply.text)
    found = outcome(asked, reply.value)
    return row(found.state, f"{note}{found.reason}", found.verdict.marks, reply.text)


def reply_that_counts(replies: Sequence[Reply]) -> tuple[Reply, str]:
    """Choose among several replies to one question.

    The last that can be read counts; a cell of another question that was written over comes after the
    question's own, and one that cannot be read after those that can.
    """
    full = [reply for reply in replies if reply.unread or reply.value not in (None, [], (), "")]
    if not full:
        return replies[-1], ""
    best = max(enumerate(full), key=lambda one: (not one[1].unread, not one[1].changed, one[0]))[1]
    if len({repr((reply.value, reply.text if reply.unread else "")) for reply in full}) < 2:
        several = len(full) > 1 and bool(best.unread)
    else:
        several = True
    if not several:
        return best, ""
    count = numbers.plural(len(full), "reply")
    if best.unread:
        return best, f"There are {count} to this question, as if a cell was split, and none can be read. "
    which = "the last one" if best is full[-1] else "the last one of its own that can be read"
    return best, f"There are {count} to this question, and {which} counts. "

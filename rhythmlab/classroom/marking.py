"""What a reply is worth, and why: one row for every question of a seat, with a reason for every lost mark."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from rhythmlab import words
from rhythmlab.classroom.assignment import Work, assignment
from rhythmlab.classroom.posed import CATALOGUE
from rhythmlab.classroom.returned import Reply, Returned

#: What can have become of a question.
STATES = (
    *("right", "partly right", "wrong", "not answered", "unreadable", "wrong type", "missing cell"),
    *("changed question", "wrong seat", "damaged file", "no seat", "not counted"),
)


@dataclass(frozen=True, slots=True)
class Row:
    """One question of one file.

    Attributes
    ----------
    seat : int
        0 where none is known.
    question, skill : str
        Id and skill; empty where a whole file is meant.
    marks, out_of : int
        Parts that are right, and parts in all.
    state : str
        One of `STATES`.
    reason : str
        Why, in a sentence that the pupil can read.
    file : str
        Where it was found.
    answer : str
        The answer as it was written.
    """

    seat: int
    question: str
    skill: str
    marks: int
    out_of: int
    state: str
    reason: str
    file: str
    answer: str = ""


def rows_of(paper: Returned, name: str, ids: Sequence[str]) -> list[Row]:
    """Mark a returned notebook.

    Parameters
    ----------
    paper : Returned
        What was handed in.
    name : str
        Name of the assignment.
    ids : sequence of str
        Its questions.

    Returns
    -------
    list of Row
        One for each question, in order; one alone for a file that cannot be marked at all.
    """
    if paper.damage:
        return [_whole(paper, "damaged file", paper.damage)]
    if paper.assignment != name:
        said = repr(paper.assignment) if paper.assignment else "none at all"
        return [
            _whole(paper, "changed question", f"The page is of another assignment, {said}, not of {name!r}.")
        ]
    seat = paper.made_for or paper.seat
    if not seat:
        return [_whole(paper, "no seat", "No seat was typed, so the numbers of the questions are not known.")]
    work = assignment(name, seat)
    moved = paper.made_for and paper.seat not in (0, paper.made_for)
    rows = [_row(paper, work, id) for id in ids]
    if not moved:
        return rows
    said = f"The page was made for seat {paper.made_for} and says seat {paper.seat}; it is marked as seat {seat}."
    return [
        replace(
            row, state="wrong seat" if row.marks < row.out_of else row.state, reason=f"{said} {row.reason}"
        )
        for row in rows
    ]


def _whole(paper: Returned, state: str, reason: str) -> Row:
    return Row(paper.made_for or paper.seat, "", "", 0, 0, state, reason, paper.name)


def _row(paper: Returned, work: Work, id: str) -> Row:
    asked = work.question(id)
    out_of = len(asked.right)

    def row(state: str, reason: str, marks: int = 0, answer: str = "") -> Row:
        return Row(work.seat, id, CATALOGUE[id].skill, marks, out_of, state, reason, paper.name, answer)

    mine = [reply for reply in paper.replies if reply.id == id]
    if not mine:
        gone = next((reply for reply in paper.replies if reply.changed == id), None)
        if gone is not None:
            return row(
                "changed question", f"The cell for {id} replies to {gone.id!r} now, so {id} has no reply."
            )
        return row(
            "missing cell", f"There is no cell that replies to {id}: it was deleted, split or renamed."
        )
    reply, note = _which(mine)
    if reply.unread:
        return row("unreadable", f"{note}{reply.unread}", answer=reply.text)
    judged = asked.judge(reply.value)
    if not judged.answered:
        return row("not answered", f"{note}{judged.said}", answer=reply.text)
    unread = asked.unread(reply.value)
    if unread:
        return row("wrong type", f"{note}{unread}", judged.marks, reply.text)
    state = "right" if judged.right else "partly right" if judged.marks else "wrong"
    return row(state, f"{note}{judged.said}", judged.marks, reply.text)


def _which(replies: Sequence[Reply]) -> tuple[Reply, str]:
    """Choose among several replies to one question: the last that has an answer."""
    full = [reply for reply in replies if reply.unread or reply.value not in (None, [], (), "")]
    texts = {reply.text.strip() for reply in full}
    if len(texts) < 2:
        return (full or list(replies))[-1], ""
    return full[
        -1
    ], f"There are {words.plural(len(full), 'reply')} to this question, and the last one counts. "

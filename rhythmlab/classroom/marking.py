"""What a reply is worth, and why: one row for every question of a seat, with a reason for every lost mark."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import PurePosixPath

from rhythmlab import words
from rhythmlab.classroom.assignment import Work, assignment
from rhythmlab.classroom.posed import CATALOGUE
from rhythmlab.classroom.posed_play import Played
from rhythmlab.classroom.question import Question
from rhythmlab.classroom.ready import MOST_SEATS
from rhythmlab.classroom.returned import SHOWN, Reply, Returned, plain
from rhythmlab.core.check import short

#: What can have become of a question.
STATES = (
    *("right", "partly right", "wrong", "not answered", "unreadable", "wrong type", "missing cell"),
    *("changed question", "wrong seat", "damaged file", "no seat", "not counted"),
)
#: Which pages of a seat count, where it is decided for them: the last one, or all that differ.
LAST, ALL = "last", "all"


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


@dataclass(frozen=True, slots=True)
class Paper:
    """A file, and what became of it.

    Attributes
    ----------
    file, digest : str
        Its path below the folder, and a hash of its bytes.
    time : float
        When it was last changed, in seconds since 1970.
    seat : int
        0 where none is known.
    late : bool
        Whether that was after the day it was due.
    why_not : str
        Why it does not count; empty where it does.
    rows : tuple of Row
        Its questions.
    made_for, typed : int
        The seat that the page was made for, and the one that stands on it; 0 where there is none.
    notes : tuple of str
        What the teacher should know of it besides, a sentence each.
    """

    file: str
    digest: str
    time: float
    seat: int
    late: bool
    why_not: str
    rows: tuple[Row, ...]
    made_for: int = 0
    typed: int = 0
    notes: tuple[str, ...] = ()

    @property
    def moved(self) -> bool:
        """Whether another seat stands on it than it was made for."""
        return bool(self.made_for and self.typed) and self.made_for != self.typed


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
    if not paper.assignment:
        said = "The page does not say of which assignment it is: the line with rl.assignment(...) is gone."
        return [_whole(paper, "changed question", said)]
    if paper.assignment != name:
        said = f"The page is of another assignment, {paper.assignment!r}, and not of {name!r}."
        return [_whole(paper, "changed question", said)]
    seat = paper.made_for or paper.seat
    if not seat:
        said = (
            f"For the seat the page has {paper.seat_text}, and a seat is a whole number from 1 to "
            f"{MOST_SEATS:,}, such as seat=7."
            if paper.seat_text
            else "No seat was typed, so the numbers of the questions are not known: type it at the top, such "
            "as seat=7, save the page, and hand it in again."
        )
        return [_whole(paper, "no seat", said)]
    work = assignment(name, seat)
    rows = [_row(paper, work, id) for id in ids]
    if paper.made_for and paper.seat not in (0, paper.made_for):
        other = assignment(name, paper.seat)
        return [_moved(row, paper, other) for row in rows]
    return rows


def _whole(paper: Returned, state: str, reason: str) -> Row:
    return Row(paper.made_for or paper.seat, "", "", 0, 0, state, plain(reason), paper.name)


def _moved(row: Row, paper: Returned, other: Work) -> Row:
    """Say beside a row that the page has another seat than it was made for."""
    made, says, state = paper.made_for, paper.seat, row.state
    said = f"The page was made for seat {made} and says seat {says}; it is marked as seat {made}."
    if row.state in ("wrong", "partly right", "wrong type"):
        state = "wrong seat"
        reply, _ = _which([reply for reply in paper.replies if reply.id == row.question])
        if _judged(other.question(row.question), reply.value)[0] == "right":
            said += f" The answer is right for seat {paper.seat}."
    return replace(row, state=state, reason=plain(f"{said} {row.reason}"))


def _row(paper: Returned, work: Work, id: str) -> Row:
    asked = work.question(id)

    def row(state: str, reason: str, marks: int = 0, answer: str = "") -> Row:
        skill, out_of = CATALOGUE[id].skill, len(asked.right)
        shown = plain(answer, SHOWN)
        return Row(work.seat, id, skill, marks, out_of, state, plain(reason), paper.name, shown)

    mine = [reply for reply in paper.replies if reply.id == id]
    if not mine:
        gone = next((reply for reply in paper.replies if reply.changed == id), None)
        if gone is not None:
            said = f"The cell for {id} replies to {short(gone.id)} now, so {id} has no reply."
            return row("changed question", said, answer=gone.text)
        return row(
            "missing cell", f"There is no cell that replies to {id}: it was deleted, or its id was changed."
        )
    reply, note = _which(mine)
    if reply.unread:
        return row("unreadable", f"{note}{reply.unread}", answer=reply.text)
    state, said, marks = _judged(asked, reply.value)
    return row(state, f"{note}{said}", marks, reply.text)


def _judged(asked: Question, value: object) -> tuple[str, str, int]:
    """Judge a value: a state, a reason, and marks; an answer that breaks a check is told."""
    if isinstance(asked, Played) and isinstance(value, str) and value.strip():
        return (
            "unreadable",
            f"The take {short(value)} is kept in your own journal, which is not handed in, so it cannot be "
            "looked up here. Write its strokes instead, lane and seconds, such as "
            "answer=[[0, 0.01], [1, 0.02]]: rl.taps_of() gives those of your last take.",
            0,
        )
    try:
        judged = asked.judge(value)
        if not judged.answered:
            return "not answered", judged.said, 0
        if judged.right:
            return "right", judged.said, judged.marks
        if not judged.marks and asked.unread(value):
            return "wrong type", judged.said, 0
    except (ArithmeticError, LookupError, TypeError, ValueError, AttributeError) as error:
        kind = type(error).__name__
        return "unreadable", f"The check makes nothing of this answer ({kind}); show it to your teacher.", 0
    return "partly right" if judged.marks else "wrong", judged.said, judged.marks


def _which(replies: Sequence[Reply]) -> tuple[Reply, str]:
    """Choose among several replies to one question.

    The last that can be read counts; a cell of another question that was written over comes after the
    question's own, and one that cannot be read after those that can.
    """
    full = [reply for reply in replies if reply.unread or reply.value not in (None, [], (), "")]
    if not full:
        return replies[-1], ""
    best = max(enumerate(full), key=lambda one: (not one[1].unread, not one[1].changed, one[0]))[1]
    if len({repr((reply.value, reply.text if reply.unread else "")) for reply in full}) < 2:
        several = len(full) > 1 and best.unread
    else:
        several = True
    if not several:
        return best, ""
    count = words.plural(len(full), "reply")
    if best.unread:
        return best, f"There are {count} to this question, as if a cell was split, and none can be read. "
    which = "the last one" if best is full[-1] else "the last one of its own that can be read"
    return best, f"There are {count} to this question, and {which} counts. "


def counted(papers: Sequence[Paper], counts: Mapping[int, str] | None = None) -> tuple[Paper, ...]:
    """Choose the papers that count, and say of the others why they do not; all are kept.

    Of the pages of a seat that differ the last one counts.
    Pages on which the same seat was typed, in folders of their own, may be of two pupils: then the last page
    of each folder counts, until the teacher decides.
    A page on which another seat stands than it was made for never takes the place of one that is as it was
    made.

    Parameters
    ----------
    papers : sequence of Paper
        In any order.
    counts : dict of int to str, optional
        What the teacher decided, by seat: ``"last"``, ``"all"``, or the file that counts.

    Returns
    -------
    tuple of Paper
        By seat and file.

    Raises
    ------
    ValueError
        If a seat has no such page.
    """
    counts = dict(counts or {})
    by_seat: dict[int, list[Paper]] = {}
    for paper in papers:
        by_seat.setdefault(paper.seat, []).append(paper)
    for seat, file in counts.items():
        if file not in (LAST, ALL, *(paper.file for paper in by_seat.get(seat, ()))) or seat not in by_seat:
            raise ValueError(
                f"counts={short(counts)}: seat {short(seat)} has no page {short(file)}; for example "
                'counts={7: "last"}, counts={7: "all"}, or counts={7: "a file of that seat"}'
            )
    made: list[Paper] = []
    for seat in sorted(by_seat):
        mine = sorted(by_seat[seat], key=lambda paper: paper.file)
        made += _of_seat(mine, counts.get(seat, "")) if seat else mine
    return tuple(made)


def _of_seat(mine: Sequence[Paper], decided: str) -> list[Paper]:
    """Choose among the papers of one seat."""
    first: dict[str, Paper] = {}  # of pages with the same bytes the first, by the time of the last
    last: dict[str, float] = {}
    for paper in sorted(mine, key=lambda paper: (paper.time, paper.file)):
        first.setdefault(paper.digest, paper)
        last[paper.digest] = paper.time
    named = next((paper for paper in mine if paper.file == decided), None)
    if named is not None:
        first[named.digest] = named
    different = sorted(
        first.values(), key=lambda paper: (not paper.moved, last[paper.digest], paper.file), reverse=True
    )
    if decided == ALL:
        best = different
    elif named is not None:
        best = [named]
    else:
        best = different[:1]
        if not decided:
            for paper in different[1:]:
                if not paper.moved and all(_perhaps_two(paper, one) for one in best):
                    best.append(paper)
    made = []
    for paper in mine:
        same = first[paper.digest]
        if same is not paper:
            why = f"The same page as {same.file}{', which counts' if same in best else ''}."
        else:
            why = "" if paper in best else _why_not(paper, best[0], decided)
        made.append(replace(paper, why_not=why, notes=paper.notes + _notes(paper, best, decided, why)))
    return made


def _why_not(paper: Paper, best: Paper, decided: str) -> str:
    seat = paper.seat
    if decided not in ("", LAST):
        return f"For seat {seat} another page was chosen, {best.file}, which counts."
    if paper.moved and not best.moved:
        return (
            f"The page was made for seat {seat} and says seat {paper.typed}; the one that still says seat "
            f"{seat}, {best.file}, counts."
        )
    late = ", late," if best.late and not paper.late else ""
    return f"Seat {seat} handed in a later page{late or ','} {best.file}, which counts."


def _notes(paper: Paper, best: Sequence[Paper], decided: str, why: str) -> tuple[str, ...]:
    """Say what the teacher may have to decide."""
    seat = paper.seat
    if decided:
        return ()
    if paper is best[0] and len(best) > 1:
        files = words.listed([one.file for one in sorted(best, key=lambda one: one.file)])
        return (
            f"Seat {seat} stands on {len(best)} pages that differ, in folders of their own: {files}. Perhaps "
            "two pupils typed the same seat, so each of them counts. Look at them; "
            f'counts={{{seat}: "last"}} counts only the last one.',
        )
    if why.startswith("Seat ") and not (paper.made_for and best[0].made_for):
        return (f'If it is another pupil\'s, counts={{{seat}: "all"}} counts them all.',)
    return ()


def _perhaps_two(one: Paper, other: Paper) -> bool:
    """Whether two pages of a seat may be of two pupils: typed by hand, and in folders that are no copies."""
    if one.made_for and other.made_for:
        return False
    here, there = (PurePosixPath(paper.file) for paper in (one, other))
    if here.parent == there.parent:
        return False
    short_one, long_one = sorted((here.parts, there.parts), key=len)
    return long_one[-len(short_one) :] != short_one

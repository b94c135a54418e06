"""A gradebook: a folder of returned notebooks in, one table out; nothing in them is ever run."""

import csv
import io
import os
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from rhythmlab import words
from rhythmlab.apart import apart
from rhythmlab.classroom.assignment import READY, assignment, ids_of
from rhythmlab.classroom.marking import Paper, Row, counted, rows_of
from rhythmlab.classroom.returned import Returned, handed_in, plain, returned
from rhythmlab.core.check import a, short, whole
from rhythmlab.core.check import path as path_of
from rhythmlab.files import put
from rhythmlab.folders import folder_for, made, standing

__all__ = ["COLUMNS", "HEAR_AGAIN", "Gradebook", "Paper", "Share", "gradebook"]

#: Below this share of its marks a skill is worth hearing again (a choice made here).
HEAR_AGAIN = Fraction(7, 10)
COLUMNS = (
    "seat",
    "question",
    "skill",
    "marks",
    "out of",
    "state",
    "reason",
    "answer",
    "file",
    "changed",
    "late",
)
_FORMULA = re.compile(r"""[\s"']{0,9}[=+@＝＋－＠-]|[\t\r\n]""")
_SPLIT = re.compile(r""";(?=[\s"']{0,9}[=+@＝＋－＠-])""")
_EXAMPLE = 'gradebook("returned", name="grid-and-composite")'


@dataclass(frozen=True, slots=True)
class Share:
    """How much of its marks something got.

    Attributes
    ----------
    name : str
        Of a question or a skill.
    marks, out_of : int
        Over all seats that count.
    right, seats : int
        Seats with every mark, and seats in all.
    """

    name: str
    marks: int
    out_of: int
    right: int
    seats: int

    @property
    def share(self) -> Fraction:
        """Marks over marks in all; 0 where there are none."""
        return Fraction(self.marks, self.out_of) if self.out_of else Fraction(0)


@dataclass(frozen=True, slots=True, repr=False)
class Gradebook:
    """What came of a folder of returned notebooks.

    Attributes
    ----------
    name : str
        Name of the assignment.
    ids : tuple of str
        Its questions, in order.
    papers : tuple of Paper
        Every file that was found, by seat and name.
    aside : tuple of str
        What else lies there, a sentence each: files that are no notebooks, folders that cannot be opened.
    """

    name: str
    ids: tuple[str, ...]
    papers: tuple[Paper, ...]
    aside: tuple[str, ...] = ()

    @property
    def counted(self) -> tuple[Paper, ...]:
        """The papers that count: one a seat, or more where two pupils may have typed the same seat."""
        return tuple(paper for paper in self.papers if not paper.why_not and paper.seat)

    @property
    def without_seat(self) -> tuple[Paper, ...]:
        """The files that cannot be marked: damaged, without a seat, or of another assignment."""
        return tuple(paper for paper in self.papers if not paper.seat)

    @property
    def rows(self) -> Iterator[tuple]:
        """One row a question and file, as in the CSV."""
        for paper in self.papers:
            changed, late = _said(paper.time), "late" if paper.late else ""
            for row in paper.rows:
                shown = row
                if paper.why_not:
                    shown = replace(row, state="not counted", reason=f"{paper.why_not} {row.reason}")
                yield (
                    *(shown.seat or "", shown.question, shown.skill, shown.marks, shown.out_of, shown.state),
                    *(shown.reason, shown.answer, shown.file, changed, late),
                )

    @property
    def csv(self) -> str:
        """The table as CSV, with a heading; the same folder gives the same text, byte for byte."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\r\n")
        writer.writerow(COLUMNS)
        writer.writerows([_cell(cell) for cell in row] for row in self.rows)
        return out.getvalue()

    def by(self, what: str) -> tuple[Share, ...]:
        """Return how much was right by ``"question"``, by ``"skill"`` or by ``"seat"``.

        Parameters
        ----------
        what : str
            One of these.
        """
        if what not in ("question", "skill", "seat"):
            raise ValueError(
                f'what={short(what)} is none of "question", "skill", "seat"; for example by("skill")'
            )
        found: dict[object, list[Row]] = {}
        if what == "question":
            found = {id: [] for id in self.ids}
        several = self.several
        for paper in self.counted:
            seat = f"{paper.seat} ({paper.file})" if paper.seat in several else paper.seat
            for row in paper.rows:
                found.setdefault(seat if what == "seat" else getattr(row, what), []).append(row)
        return tuple(
            Share(
                str(key),
                sum(row.marks for row in rows),
                sum(row.out_of for row in rows),
                sum(row.marks == row.out_of for row in rows),
                len(rows),
            )
            for key, rows in found.items()
        )

    @property
    def several(self) -> frozenset[int]:
        """The seats of which more than one page counts."""
        seats = [paper.seat for paper in self.counted]
        return frozenset(one for one, after in pairwise(seats) if one == after)

    @property
    def hear_again(self) -> tuple[str, ...]:
        """The skills that got less than seven tenths of their marks, the weakest first."""
        weak = [one for one in self.by("skill") if one.share < HEAR_AGAIN]
        return tuple(one.name for one in sorted(weak, key=lambda one: one.share))

    @property
    def troubles(self) -> tuple[str, ...]:
        """What the teacher should look at: seats to decide, and files that are damaged, late or double."""
        first, said, several = [], [], self.several
        for paper in self.papers:
            notes = list(paper.notes)
            if paper.seat in several and not paper.why_not and notes[-1:] and "counts={" in notes[-1]:
                first.append(notes.pop())
            lines = [paper.why_not] if paper.why_not else []
            lines += [paper.rows[0].reason] if not paper.seat else []
            lines += ["Handed in late."] if paper.late else []
            if lines + notes:
                said.append(f"{paper.file}: {' '.join(lines + notes)}")
        return (*first, *said, *self.aside)

    @property
    def summary_text(self) -> str:
        """What came of it, in sentences and lines."""
        counted = self.counted
        files = words.plural(len(self.papers), "file")
        pages = words.plural(len(counted), "page")
        lines = [f"{self.name}: {files}; {pages} {'counts' if len(counted) == 1 else 'count'}."]
        for share in self.by("question") if counted else ():
            lines.append(
                f"{share.name}: {_percent(share.share)} of the marks; "
                f"{share.right} of {words.plural(share.seats, 'page')} all right."
            )
        if counted:
            again = words.listed(self.hear_again)
            lines.append(
                f"The class should hear again: {again}." if again else "No skill needs to be heard again."
            )
        lines += self.troubles
        return "\n".join(lines)

    def __repr__(self) -> str:
        return self.summary_text

    @apart()
    def _repr_html_(self) -> str:
        from rhythmlab.classroom.report import summary_html

        return summary_html(self)

    @apart()
    def write(self, folder: str | Path) -> list[Path]:
        """Write the table, the summary, and a page of feedback for each seat, into a folder of its own.

        Files that are there already with the same content stay; where one differs nothing is written.

        Parameters
        ----------
        folder : str or Path
            Made if it is not there.

        Returns
        -------
        list of Path

        Raises
        ------
        FileExistsError
            If a file of that name is there with other content.
        OSError
            If the folder or a file in it cannot be written; each file is there whole or not at all.
        """
        from rhythmlab.classroom.report import files_of

        example = 'gradebook("returned", name="grid-and-composite").write("marks-2")'
        with folder_for(folder, example) as where:
            for name, data in files_of(self) if any(where.iterdir()) else ():
                try:
                    standing(where / name, data)
                except FileExistsError:
                    raise FileExistsError(
                        f"folder={short(str(folder))} holds {name} of another marking, and it is not "
                        f"replaced; nothing was written; give another folder, for example {example}"
                    ) from None
            written = []
            for name, data in files_of(self):
                path = where / name
                with made(path.parent):
                    if not standing(path, data):
                        put(path, data)
                written.append(path)
        return written


@apart()
def gradebook(
    folder: str | Path,
    name: str | None = None,
    *,
    ids: Iterable[str] | None = None,
    due: datetime | str | None = None,
    counts: Mapping[int, str] | None = None,
    told: Callable[[str], None] | None = None,
) -> Gradebook:
    """Mark a folder of returned notebooks, nested or flat, whatever they are called; nothing in them runs.

    Parameters
    ----------
    folder : str or Path
        Where they are.
    name : str, optional
        Name of the assignment; when left out, the one that all readable files are of.
    ids : list of str, optional
        Its questions; those of the ready assignment when left out.
    due : datetime or str, optional
        A file that was changed later is told as late; ISO 8601, in UTC where no offset is given.
    counts : dict of int to str, optional
        Which page counts where a seat handed in several that differ, by seat: ``"last"``, ``"all"``, or the
        name of the file. When left out, the last one; and the last of each folder where the seat was typed
        by hand, so that no pupil takes the place of another.
    told : callable, optional
        Called with a sentence now and then during long work.

    Returns
    -------
    Gradebook
        Its `csv` has a row for every question of every file, with a reason for every lost mark.

    Raises
    ------
    ValueError
        If there is no such folder, no notebook in it, or several assignments and no `name`.
    """
    root = _checked(folder, counts, told)
    if not os.path.isdir(root):
        raise ValueError(f"folder={short(str(folder))} is not a folder; for example {_EXAMPLE}")
    try:
        paths, aside = handed_in(root)
    except ValueError as error:
        raise ValueError(
            f"folder={short(str(folder))}: {error}; give a smaller one, for example {_EXAMPLE}"
        ) from None
    if not paths:
        raise ValueError(f"folder={short(str(folder))} holds no notebook; for example {_EXAMPLE}")
    late_after = _moment(due)
    chosen = None if ids is None else ids_of(ids)
    name = _only_assignment(root, paths) if name is None else assignment(name).name
    if chosen is None:
        if name not in READY:
            raise ValueError(
                f"name={short(name)} is no ready assignment ({', '.join(READY)}), so its questions must be "
                'given; for example gradebook("returned", name="week 3", ids=["grid-ticks"])'
            )
        chosen = READY[name].ids
    papers: list[Paper] = []
    kept: dict[str, str] = {}
    for done, path in enumerate(paths, 1):
        papers.append(_paper(returned(path, root), name, chosen, late_after, kept))
        if told is not None and (done % 50 == 0 or done == len(paths)):
            told(f"{done} of {words.plural(len(paths), 'file')} read")
    return Gradebook(name, chosen, counted(papers, counts), tuple(aside))


def _checked(folder: object, counts: object, told: object) -> Path:
    """Return the folder; refuse what is none, and what says neither which page counts nor what to call."""
    example = 'counts={7: "last"}'
    if counts is not None:
        a(Mapping, counts, "counts", example)
        for seat, which in counts.items():
            whole(seat, "a seat in counts", example)
            a(str, which, f"counts[{seat}]", example)
    if told is not None and (not callable(told) or isinstance(told, type)):
        raise ValueError(f"told={short(told)} cannot be called; for example {_EXAMPLE[:-1]}, told=print)")
    return path_of(folder, "folder", _EXAMPLE)


def _only_assignment(root: Path, paths: Sequence[Path]) -> str:
    names = {returned(path, root).assignment for path in paths} - {""}
    if len(names) == 1:
        return names.pop()
    said = (
        f"there are several assignments ({words.some(sorted(names), 6)})"
        if names
        else "no page says its assignment"
    )
    raise ValueError(f"name=None, and in the folder {said}; say which, for example {_EXAMPLE}")


def _moment(due: datetime | str | None) -> float | None:
    if due is None:
        return None
    try:
        moment = due if isinstance(due, datetime) else datetime.fromisoformat(due)
    except (TypeError, ValueError):
        raise ValueError(
            f'due={short(due)} is no date and hour; for example due="2030-05-04T18:00+02:00"'
        ) from None
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()


def _paper(
    read: Returned, name: str, ids: Sequence[str], late_after: float | None, kept: dict[str, str]
) -> Paper:
    """Mark a file; a text that many rows have is kept once."""
    rows = tuple(
        replace(
            row,
            reason=kept.setdefault(row.reason, row.reason),
            answer=kept.setdefault(row.answer, row.answer),
        )
        for row in rows_of(read, name, ids)
    )
    seat = rows[0].seat if rows[0].question else 0
    late = late_after is not None and read.time > late_after
    notes = []
    if seat and len(read.seats) > 1:
        typed = words.listed([str(one) for one in read.seats[:6]])
        notes.append(
            f"More than one seat is typed on the page, {typed}; the last one is taken for what it says."
        )
    more = sorted({plain(reply.id, 60) for reply in read.replies if reply.id and reply.id not in ids})
    if seat and more:
        notes.append(f"It also replies to what was not asked: {words.some(more, 6)}.")
    return Paper(
        read.name, read.digest, read.time, seat, late, "", rows, read.made_for, read.seat, tuple(notes)
    )


def _said(time: float) -> str:
    """Write a moment in UTC; nothing where there is none that a calendar knows."""
    try:
        moment = datetime.fromtimestamp(time, UTC).replace(tzinfo=None)
        return moment.isoformat(" ", "seconds") if time else ""
    except (OverflowError, ValueError, OSError):
        return ""


def _cell(value: object) -> object:
    """Return a cell that no spreadsheet takes for a formula, also where it splits at semicolons."""
    if isinstance(value, int):
        return value
    text = _SPLIT.sub(lambda found: f"{found[0]}'", str(value))
    return f"'{text}" if _FORMULA.match(text) else text


def _percent(share: Fraction) -> str:
    return f"{words.number(100 * share, 0)} %"

"""A gradebook: what came of a folder of returned notebooks, as a table, a summary and files."""

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from rhythmlab.classroom.marking import Row
from rhythmlab.classroom.papers import Decision, Paper, Typed, in_python
from rhythmlab.core.check import path as path_of
from rhythmlab.core.check import short
from rhythmlab.core.display import Printed
from rhythmlab.core.public import public, public_class
from rhythmlab.refusal import Refusal
from rhythmlab.safe_import import apart
from rhythmlab.text import numbers, sentences

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


@public_class(
    'gradebook("returned")',
    by='gradebook("returned").by("skill")',
)
@dataclass(frozen=True, slots=True, repr=False)
class Gradebook(Printed):
    """What came of a folder of returned notebooks.

    Attributes
    ----------
    name : str
        Name of the assignment.
    ids : tuple of str
        Its questions, in order.
    papers : tuple of Paper
        Every file that was found, by seat and name, and every folder that cannot be opened.
    aside : tuple of str
        What else lies there, a sentence each: files that are no notebooks.
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
    def rows(self) -> Iterator[tuple[object, ...]]:
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
        if not isinstance(what, str) or what not in ("question", "skill", "seat"):
            raise Refusal(
                f'what={short(what)} is none of "question", "skill", "seat"',
                'gradebook("returned").by("skill")',
                argument="what",
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
    def decisions(self) -> tuple[Decision, ...]:
        """What the teacher can decide with ``counts``, in values; first where several pages count."""
        papers = sorted(self.papers, key=lambda paper: bool(paper.why_not))
        return tuple(paper.decision for paper in papers if paper.decision)

    @property
    def troubles(self) -> tuple[str, ...]:
        """What the teacher should look at: seats to decide, and files that are damaged, late or double."""
        return troubles_of(self, in_python)

    @property
    def summary_text(self) -> str:
        """What came of it, in sentences and lines."""
        return summary_of(self, in_python)

    def __str__(self) -> str:
        return self.summary_text

    @apart()
    def _repr_html_(self) -> str:
        from rhythmlab.classroom.report import summary_html

        return summary_html(self)

    @apart()
    @public('gradebook("returned").write("marks")')
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
            If a file of that name is there with other content, or a link or anything else that is no plain
            file or folder; nothing was written then.
        OSError
            If the folder is full or can only be read, in one sentence.
        """
        from rhythmlab.classroom.report import write_files

        return write_files(self, path_of(folder, "folder", 'gradebook("returned").write("marks")'))


def troubles_of(book: Gradebook, typed: Typed) -> tuple[str, ...]:
    """Return what to look at, with each decision as it is typed where the reader is.

    Parameters
    ----------
    book : Gradebook
        What came of a folder.
    typed : callable
        Takes a seat and what is decided for it.
    """
    first, said = [], []
    for paper in book.papers:
        lines = [paper.why_not] if paper.why_not else []
        if paper.decision and not paper.why_not:
            first.append(paper.decision.text(typed))
        elif paper.decision:
            lines.append(paper.decision.text(typed))
        lines += [paper.rows[0].reason] if not paper.seat else []
        lines += ["Handed in late."] if paper.late else []
        lines += paper.notes
        if lines:
            said.append(f"{paper.file}: {' '.join(lines)}")
    return (*first, *said, *book.aside)


def summary_of(book: Gradebook, typed: Typed) -> str:
    """Return what came of it, with each decision as it is typed where the reader is.

    Parameters
    ----------
    book : Gradebook
        What came of a folder.
    typed : callable
        As for `troubles_of`.
    """
    counted = book.counted
    files = numbers.plural(len(book.papers), "file")
    pages = numbers.plural(len(counted), "page")
    lines = [f"{book.name}: {files}; {pages} {'counts' if len(counted) == 1 else 'count'}."]
    for share in book.by("question") if counted else ():
        lines.append(
            f"{share.name}: {_percent(share.share)} of the marks; "
            f"{share.right} of {numbers.plural(share.seats, 'page')} all right."
        )
    if counted:
        again = sentences.listed(book.hear_again)
        lines.append(
            f"The class should hear again: {again}." if again else "No skill needs to be heard again."
        )
    lines += troubles_of(book, typed)
    return "\n".join(lines)


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
    return f"{numbers.number(100 * share, 0)} %"

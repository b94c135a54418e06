"""A gradebook: a folder of returned notebooks in, one table out; nothing in them is ever run."""

import csv
import io
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path

from rhythmlab import words
from rhythmlab.classroom.assignment import READY, ids_of
from rhythmlab.classroom.marking import Row, rows_of
from rhythmlab.classroom.returned import Returned, returned
from rhythmlab.core.check import short

#: Most files in a folder of returned notebooks.
MOST_FILES = 20_000
#: Below this share of its marks a skill is worth hearing again (a choice made here).
HEAR_AGAIN = Fraction(3, 5)
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
_EXAMPLE = 'gradebook("returned", name="grid-and-composite")'


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
    """

    file: str
    digest: str
    time: float
    seat: int
    late: bool
    why_not: str
    rows: tuple[Row, ...]


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
    """

    name: str
    ids: tuple[str, ...]
    papers: tuple[Paper, ...]

    @property
    def counted(self) -> tuple[Paper, ...]:
        """The papers that count: one a seat."""
        return tuple(paper for paper in self.papers if not paper.why_not and paper.seat)

    @property
    def rows(self) -> Iterator[tuple]:
        """One row a question and file, as in the CSV."""
        for paper in self.papers:
            changed = (
                datetime.fromtimestamp(paper.time, UTC).strftime("%Y-%m-%d %H:%M:%S") if paper.time else ""
            )
            late = "late" if paper.late else ""
            for row in paper.rows:
                shown = row if not paper.why_not else replace(row, state="not counted", reason=paper.why_not)
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
        for paper in self.counted:
            for row in paper.rows:
                if row.question:
                    found.setdefault(getattr(row, what), []).append(row)
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
    def hear_again(self) -> tuple[str, ...]:
        """The skills that got less than three fifths of their marks, the weakest first."""
        weak = [one for one in self.by("skill") if one.share < HEAR_AGAIN]
        return tuple(one.name for one in sorted(weak, key=lambda one: one.share))

    @property
    def troubles(self) -> tuple[str, ...]:
        """What the teacher should look at: files that are damaged, late, double, or without a seat."""
        said = []
        for paper in self.papers:
            whole = next((row for row in paper.rows if not row.question), None)
            if paper.why_not:
                said.append(f"{paper.file}: {paper.why_not}")
            elif whole is not None:
                said.append(f"{paper.file}: {whole.reason}")
            elif paper.late:
                said.append(f"{paper.file}: handed in late.")
        return tuple(said)

    @property
    def summary_text(self) -> str:
        """What came of it, in sentences and lines."""
        counted = self.counted
        files = words.plural(len(self.papers), "file")
        lines = [f"{self.name}: {files}, {words.plural(len(counted), 'seat')} that count."]
        for share in self.by("question") if counted else ():
            lines.append(
                f"{share.name}: {_percent(share.share)} of the marks; {share.right} of {share.seats} seats all right."
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

    def _repr_html_(self) -> str:
        from rhythmlab.classroom.report import summary_html

        return summary_html(self)

    def write(self, folder: str | Path) -> list[Path]:
        """Write the table, the summary, and a page of feedback for each seat, into a folder of its own.

        Files that are there already with the same content stay; one that differs is never replaced.

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
        """
        from rhythmlab.classroom.report import files_of
        from rhythmlab.render.export import save

        where = Path(folder)
        where.mkdir(parents=True, exist_ok=True)
        written = []
        for name, data in files_of(self):
            path = where / name
            path.parent.mkdir(exist_ok=True)
            if not (path.is_file() and path.read_bytes() == data):
                save(path, data)
            written.append(path)
        return written


def gradebook(
    folder: str | Path,
    name: str | None = None,
    *,
    ids: Iterable[str] | None = None,
    due: datetime | str | None = None,
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
    root = Path(folder)
    if not root.is_dir():
        raise ValueError(f"folder={short(str(folder))} is not a folder; for example {_EXAMPLE}")
    paths = _files(root)
    if not paths:
        raise ValueError(f"folder={short(str(folder))} holds no notebook; for example {_EXAMPLE}")
    late_after = _moment(due)
    chosen = None if ids is None else ids_of(ids)
    if name is None:
        name = _only_assignment(root, paths)
    if chosen is None:
        if name not in READY:
            raise ValueError(
                f"name={short(name)} is no ready assignment ({', '.join(READY)}), so its questions must be "
                'given; for example gradebook("returned", name="week 3", ids=["grid-ticks"])'
            )
        chosen = READY[name].ids
    papers = []
    for done, path in enumerate(paths, 1):
        papers.append(_paper(returned(path, root), name, chosen, late_after))
        if told is not None and done % 50 == 0:
            told(f"{done} of {len(paths)} files read")
    return Gradebook(name, chosen, _in_order(papers))


def _files(root: Path) -> list[Path]:
    """Return everything that may be a notebook, by name; links to folders are not followed."""
    found: list[Path] = []
    for where, folders, names in os.walk(root, followlinks=False):
        folders[:] = sorted(one for one in folders if one != ".ipynb_checkpoints")
        found += [
            Path(where) / one for one in names if ".ipynb" in one.lower() or one.lower().endswith(".json")
        ]
        if len(found) > MOST_FILES:
            raise ValueError(
                f"folder={short(str(root))} holds more than {MOST_FILES:,} notebooks; give a smaller one, for "
                f"example {_EXAMPLE}"
            )
    return sorted(found, key=lambda path: path.relative_to(root).as_posix())


def _only_assignment(root: Path, paths: Sequence[Path]) -> str:
    names = {paper.assignment for path in paths if not (paper := returned(path, root)).damage} - {""}
    if len(names) == 1:
        return names.pop()
    said = f"several assignments ({', '.join(sorted(names))[:300]})" if names else "no page of an assignment"
    raise ValueError(f"name=None, and in the folder there is {said}; say which, for example {_EXAMPLE}")


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


def _paper(read: Returned, name: str, ids: Sequence[str], late_after: float | None) -> Paper:
    rows = tuple(rows_of(read, name, ids))
    seat = rows[0].seat if rows[0].question else 0
    late = late_after is not None and read.time > late_after
    return Paper(read.name, read.digest, read.time, seat, late, "", rows)


def _in_order(papers: Sequence[Paper]) -> tuple[Paper, ...]:
    """Choose the paper of each seat that counts: the one changed last, copies aside; all are kept."""
    made: list[Paper] = []
    for seat in sorted({paper.seat for paper in papers}):
        mine = [paper for paper in papers if paper.seat == seat]
        best = max(mine, key=lambda paper: (paper.time, paper.file)) if seat else None
        same = min((paper.file for paper in mine if best and paper.digest == best.digest), default="")
        for paper in sorted(mine, key=lambda paper: paper.file):
            why = ""
            if best is not None and paper.digest == best.digest and paper.file != same:
                why = f"The same page as {same}, which counts."
            elif best is not None and paper.digest != best.digest:
                why = f"Seat {seat} handed in a later page, {same}, which counts."
            made.append(replace(paper, why_not=why))
    return tuple(made)


def _cell(value: object) -> object:
    """Return a cell that no spreadsheet takes for a formula."""
    text = str(value)
    return (
        f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") and not isinstance(value, int) else value
    )


def _percent(share: Fraction) -> str:
    return f"{words.number(100 * share, 0)} %"

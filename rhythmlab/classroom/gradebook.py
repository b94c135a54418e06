"""Marking a folder of returned notebooks, nested or flat, into one table; nothing in them is ever run."""

import csv
import io
import os
import re
import shlex
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from os.path import isdir
from pathlib import Path, PurePosixPath
from time import monotonic

from rhythmlab.classroom.assignment import assignment, ids_of, questions_of
from rhythmlab.classroom.marking import MarkedReply, mark
from rhythmlab.classroom.other_seat import Fit, SeatComparison
from rhythmlab.classroom.returned import (
    MOST_BYTES,
    ReturnedNotebook,
    file_label,
    find_notebooks,
    one_line,
    read_notebook,
)
from rhythmlab.core.check import a, positive, short, whole
from rhythmlab.core.check import path as path_of
from rhythmlab.core.display import Printed, framed
from rhythmlab.core.long_work import say, shown
from rhythmlab.core.public import public, public_class
from rhythmlab.files import path_text
from rhythmlab.refusal import Refusal
from rhythmlab.safe_import import safe_imports
from rhythmlab.text import numbers, sentences

#: Below this share of its marks a skill is worth hearing again (a choice made here).
HEAR_AGAIN = Fraction(7, 10)
COLUMNS = (
    *("seat", "question", "skill", "marks", "out of", "state"),
    *("reason", "answer", "file", "changed", "late", "parts right", "parts"),
)
#: Which pages of a seat count, where it is decided for them: the last one, or all that differ.
LAST, ALL = "last", "all"
#: How a decision is typed: takes the seat and what is decided for it.
Typed = Callable[[int, str], str]
#: How fast files are marked, and how fast the worst of them are read (measured, and halved).
FILES_A_SECOND, BYTES_A_SECOND = 200, 2_500_000
#: Seconds after which long work says how far it is.
_SECONDS = 5
_EXAMPLE = 'classroom.gradebook("returned", name="grid-and-composite")'
_COUNTS = 'counts={7: "last"}'
_MARKS = 'marks={"grid-rows": 3}'
#: Most marks that a question can have.
MOST_MARKS = 1_000
#: Where a spreadsheet would begin a formula: at the start of a cell, and after a semicolon in it.
_FORMULA = re.compile(r"""[\s"']{0,9}[=+@＝＋－＠-]|[\t\r\n]""")
_SPLIT = re.compile(r""";(?=[\s"']{0,9}[=+@＝＋－＠-])""")


@dataclass(frozen=True, slots=True)
class Decision:
    """What the teacher can decide about the pages of a seat, in values.

    Attributes
    ----------
    seat : int
        Whose pages.
    text : str
        Why there is something to decide.
    files : tuple of str
        The pages that it is about, by name.
    ways : tuple of (str, str)
        What can be decided, ``"last"``, ``"all"`` or the name of a file, each with what it does.
    """

    seat: int
    text: str
    files: tuple[str, ...]
    ways: tuple[tuple[str, str], ...]

    def describe(self, typed: Typed) -> str:
        """Return it as sentences, with each way as it is typed.

        Examples
        --------
        >>> Decision(7, "Two pages differ.", (), (("last", "counts the last one"),)).describe(in_python)
        'Two pages differ. counts={7: "last"} counts the last one.'
        """
        ways = [(typed(self.seat, counts), does) for counts, does in self.ways]
        return f"{self.text} {'; '.join(f'{way} {does}' for way, does in ways if way)}."


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
    rows : tuple of MarkedReply
        Its questions.
    made_for, typed : int
        The seat that the page was made for, and the one that stands on it; 0 where there is none.
    notes : tuple of str
        What the teacher should know of it besides, a sentence each.
    decision : Decision, optional
        What the teacher can decide about it, where there is something to decide.
    """

    file: str
    digest: str
    time: float
    seat: int
    late: bool
    why_not: str
    rows: tuple[MarkedReply, ...]
    made_for: int = 0
    typed: int = 0
    notes: tuple[str, ...] = ()
    decision: Decision | None = None

    @property
    def moved(self) -> bool:
        """Whether it was made for one seat and says another."""
        return bool(self.made_for and self.typed) and self.made_for != self.typed


@dataclass(frozen=True, slots=True)
class Share:
    """How much of its marks something got.

    Attributes
    ----------
    name : str
        Of a question or a skill.
    marks, out_of : Fraction or int
        Over all seats that count.
    right, seats : int
        Seats with every mark, and seats in all.
    """

    name: str
    marks: Fraction | int
    out_of: Fraction | int
    right: int
    seats: int

    @property
    def share(self) -> Fraction:
        """Marks over marks in all; 0 where there are none."""
        return Fraction(self.marks, self.out_of) if self.out_of else Fraction(0)


@public_class(
    'classroom.gradebook("returned")',
    by='classroom.gradebook("returned").by("skill")',
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
            changed, late = _in_utc(paper.time), "late" if paper.late else ""
            for row in paper.rows:
                shown = row
                if paper.why_not:
                    shown = replace(row, state="not counted", reason=f"{paper.why_not} {row.reason}")
                yield (
                    *(shown.seat or "", shown.question, shown.skill, shown.marks, shown.out_of, shown.state),
                    *(shown.reason, shown.answer, shown.file, changed, late),
                    *(shown.parts_right, shown.parts),
                )

    @property
    def csv(self) -> str:
        """The table as CSV, with a heading; the same folder gives the same text, byte for byte."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\r\n")
        writer.writerow(COLUMNS)
        writer.writerows([_safe_cell(cell) for cell in row] for row in self.rows)
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
                'classroom.gradebook("returned").by("skill")',
                argument="what",
            )
        found: dict[object, list[MarkedReply]] = {}
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
                sum((row.marks for row in rows), Fraction(0)),
                sum((row.out_of for row in rows), Fraction(0)),
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

    @safe_imports()
    def _repr_html_(self) -> str:
        from rhythmlab.classroom.report import summary_html

        return framed(summary_html(self))

    @safe_imports()
    @public('classroom.gradebook("returned").write("marks")')
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

        return write_files(self, path_of(folder, "folder", 'classroom.gradebook("returned").write("marks")'))


@public(_EXAMPLE, told="progress")
def gradebook(
    folder: str | Path,
    name: str | None = None,
    *,
    ids: Iterable[str] | None = None,
    due: datetime | str | None = None,
    counts: Mapping[int, str] | None = None,
    marks: Mapping[str, float | Fraction | Decimal] | None = None,
    progress: Callable[[str], None] | None = None,
) -> Gradebook:
    """Mark a folder of returned notebooks, nested or flat, whatever they are called; nothing in them runs.

    Parameters
    ----------
    folder : str or Path
        Where they are.
    name : str, optional
        Name of the assignment; when left out, that of the readable files, whatever a stray one says.
    ids : list of str, optional
        Its questions; those of the ready assignment when left out.
    due : datetime or str, optional
        A file that was changed after this moment is late; ISO 8601, in UTC where no offset is given.
    counts : dict of int to str, optional
        By seat, which page counts where several differ: ``"last"``, ``"all"``, or the name of the file.
        When left out, the last page of each folder counts, so that no pupil takes the place of another.
    marks : dict of str to number, optional
        What a question is worth, such as ``{"grid-rows": 3}``; one mark where nothing is said. The parts of
        an answer share its marks evenly.
    progress : callable, optional
        Called with a sentence now and then during long work, such as ``print``.

    Returns
    -------
    Gradebook
        Its `csv` has a row for every question of every file, with a reason for every lost mark, and one for
        every file and folder that cannot be read.

    Raises
    ------
    ValueError
        If there is no such folder, no notebook in it, or several assignments and no `name`.
    """
    with safe_imports():
        return _book(folder, name, ids, due, counts, marks, progress)


def _book(
    folder: str | Path,
    name: str | None,
    ids: Iterable[str] | None,
    due: datetime | str | None,
    counts: Mapping[int, str] | None,
    marks: Mapping[str, float | Fraction | Decimal] | None,
    progress: Callable[[str], None] | None,
) -> Gradebook:
    """Mark every notebook of a folder; the arguments are those of `gradebook`."""
    root = _checked(folder, counts, progress)
    if marks is not None:
        a(Mapping, marks, "marks", _MARKS)
    if not isdir(root):
        raise _no_folder(root)
    try:
        paths, shut, aside = find_notebooks(root)
    except ValueError as error:
        raise Refusal(f"folder={short(str(folder))}: {error}", _EXAMPLE, argument="folder") from None
    if not paths and not shut:
        raise Refusal(f"folder={short(str(folder))} holds no notebook", _EXAMPLE, argument="folder")
    late_after = _moment_of(due)
    chosen = None if ids is None else ids_of(ids)
    tell = _Progress(len(paths), progress)
    long = _say_how_long(paths, 2 if name is None else 1)
    name = _only_assignment(root, paths, tell) if name is None else assignment(name).name
    if chosen is None:
        chosen = questions_of(
            name, None, 'classroom.gradebook("returned", name="week 3", ids=["grid-ticks"])'
        )
    weights = _weights(marks or {}, chosen)
    comparison = SeatComparison(name)
    papers: list[Paper] = []
    fits: list[tuple[Fit, ...]] = []
    kept: dict[str, str] = {}
    names: Counter[str] = Counter()
    each = paths if progress else shown(paths, len(paths), "Marking", long=long)
    for done, path in enumerate(each, 1):
        read = _numbered(_read_safely(path, root), names)
        try:
            paper, fit = _marked(read, name, chosen, weights, late_after, kept, comparison)
        except Exception as error:  # one file, whatever is in it, never ends the marking of the others
            paper, fit = _marked(_broken(read, error), name, chosen, weights, late_after, kept, comparison)
        papers.append(paper)
        fits.append(fit)
        tell.read(done)
    for path, why in shut.items():  # a row each, as of a file that cannot be read
        paper, fit = _marked(
            _numbered(ReturnedNotebook(path, file_label(path, root), 0.0, damage=why), names),
            name,
            chosen,
            weights,
            None,
            kept,
            comparison,
        )
        papers.append(paper)
        fits.append(fit)
    comparison.against(seat for paper in papers for seat in (paper.seat, paper.typed))
    for i, paper in enumerate(papers):
        said = comparison.hint(paper.seat, fits[i])
        if said:
            papers[i] = replace(paper, notes=(*paper.notes, said))
    return Gradebook(name, chosen, choose_counted(papers, counts), tuple(aside))


class _Progress:
    """Tells how far the marking is: every fifty files and every few seconds."""

    def __init__(self, files: int, progress: Callable[[str], None] | None) -> None:
        self.files, self.progress, self.last = numbers.plural(files, "file"), progress, monotonic()
        self.count = files

    def read(self, done: int) -> None:
        """Tell that so many are read, where it is time to."""
        if self.progress and (done % 50 == 0 or done == self.count or monotonic() > self.last + _SECONDS):
            self.progress(f"{done} of {self.files} read")
            self.last = monotonic()

    def looked_at(self, done: int) -> None:
        """Tell that so many were looked at, where that takes long."""
        if self.progress and monotonic() > self.last + _SECONDS:
            self.progress(f"{done} of {self.files} looked at")
            self.last = monotonic()


def _checked(folder: object, counts: Mapping[int, str] | None, progress: object) -> Path:
    """Return the folder; refuse what is none, and what says neither which page counts nor what to call."""
    if counts is not None:
        a(Mapping, counts, "counts", _COUNTS)
        for seat, which in counts.items():
            whole(seat, "a seat in counts", _COUNTS)
            a(str, which, f"counts[{seat}]", _COUNTS)
    if progress is not None and (not callable(progress) or isinstance(progress, type)):
        raise Refusal(
            f"progress={short(progress)} cannot be called",
            f"{_EXAMPLE[:-1]}, progress=print)",
            argument="progress",
        )
    return path_of(folder, "folder", _EXAMPLE)


def _weights(marks: Mapping[str, float | Fraction | Decimal], ids: Sequence[str]) -> dict[str, Fraction]:
    """Return what each named question is worth; refuse one that is not asked, and what is no number."""
    made = {}
    for id, worth in marks.items():
        if id not in ids:
            raise Refusal(
                f"marks={short(dict(marks))}: {short(id)} is none of the questions ({', '.join(ids)})",
                f"marks={{{ids[0]!r}: 3}}",
                argument="marks",
            )
        made[id] = positive(worth, f"marks[{id!r}]", _MARKS, most=MOST_MARKS)
    return made


def _no_folder(folder: Path) -> Refusal:
    """Say where a folder was looked for; the example is one of that name one up, else "."."""
    above = Path("..") / folder
    there = not folder.is_absolute() and len(str(above)) < 200 and isdir(above)
    call = f'classroom.gradebook("{above.as_posix() if there else "."}")'
    said = f"folder={short(str(folder))} is not a folder: it was looked for at {path_text(folder.absolute())}"
    return Refusal(said, call, argument="folder")


def _moment_of(due: datetime | str | None) -> float | None:
    if due is None:
        return None
    try:
        moment = due if isinstance(due, datetime) else datetime.fromisoformat(due)
    except (TypeError, ValueError):
        raise Refusal(
            f"due={short(due)} is no date and hour", 'due="2030-05-04T18:00+02:00"', argument="due"
        ) from None
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()


def _say_how_long(paths: Sequence[Path], times: int) -> bool:
    """Say before a large class is marked how long it takes."""
    size = 0
    for path in paths:
        with suppress(OSError):
            held = path.lstat().st_size
            size += held if held <= MOST_BYTES else 0
    what = f"Marking {numbers.plural(len(paths), 'file')} with {size / 1_000_000:,.0f} MB"
    return say(what, seconds=times * (len(paths) / FILES_A_SECOND + size / BYTES_A_SECOND), steps=True)


def _only_assignment(root: Path, paths: Sequence[Path], tell: _Progress) -> str:
    """Return the assignment that the pages are of; a stray one among many does not change it."""
    names: Counter[str] = Counter()
    for done, path in enumerate(paths, 1):
        names[_read_safely(path, root).assignment] += 1
        tell.looked_at(done)
    del names[""]
    strays = names.total() - max(names.values(), default=0)
    if len(names) == 1 or (names and strays <= max(names.total() // 10, 1) < max(names.values())):
        return max(names, key=lambda name: names[name])
    said = (
        f"there are several assignments ({numbers.some(sorted(names), 6)})"
        if names
        else "no page says its assignment"
    )
    raise Refusal(f"name=None, and in the folder {said}; say which", _EXAMPLE, argument="name")


def _read_safely(path: Path, root: Path) -> ReturnedNotebook:
    """Read a file; whatever breaks is told of this file alone."""
    try:
        return read_notebook(path, root)
    except Exception as error:
        return _broken(ReturnedNotebook(path, file_label(path, root), 0.0), error)


def _numbered(read: ReturnedNotebook, names: Counter[str]) -> ReturnedNotebook:
    """Give files whose names cannot be told apart on a line a number each."""
    name = read.name
    while names[name]:
        names[read.name] += 1
        name = f"{read.name} ({names[read.name]})"
    names[name] = 1
    return read if name == read.name else replace(read, name=name)


def _broken(read: ReturnedNotebook, error: Exception) -> ReturnedNotebook:
    said = f"The file cannot be marked ({type(error).__name__}); show it to your teacher."
    return ReturnedNotebook(read.path, read.name, read.time, read.digest, said)


def _marked(
    read: ReturnedNotebook,
    name: str,
    ids: Sequence[str],
    weights: Mapping[str, Fraction],
    late_after: float | None,
    kept: dict[str, str],
    comparison: SeatComparison,
) -> tuple[Paper, tuple[Fit, ...]]:
    """Mark a file, and say what its answers are right for; a text that many rows have is kept once."""
    rows = tuple(
        replace(
            row,
            reason=kept.setdefault(row.reason, row.reason),
            answer=kept.setdefault(row.answer, row.answer),
        )
        for row in mark(read, name, ids, weights)
    )
    seat = rows[0].seat if rows[0].question else 0
    late = late_after is not None and read.time > late_after
    notes = []
    if seat and len(read.seats) > 1:
        typed = sentences.listed([str(one) for one in read.seats[:6]])
        notes.append(
            f"More than one seat is typed on the page, {typed}; the last one is taken for what it says."
        )
    more = sorted({one_line(reply.id, 60) for reply in read.replies if reply.id and reply.id not in ids})
    if seat and more:
        notes.append(f"It also replies to what was not asked: {numbers.some(more, 6)}.")
    paper = Paper(
        read.name, read.digest, read.time, seat, late, "", rows, read.made_for, read.seat, tuple(notes)
    )
    if seat and paper.moved:
        said = f"The page was made for seat {seat} and says seat {read.seat}; it is marked as seat {seat}."
        paper = replace(paper, notes=(said, *paper.notes))
    return paper, comparison.fits(read, rows) if seat else ()


def choose_counted(papers: Sequence[Paper], counts: Mapping[int, str] | None = None) -> tuple[Paper, ...]:
    """Choose the papers that count, and say of the others why they do not; all are kept.

    Of the pages of a seat in one folder the last one counts.
    A page whose seat was changed never takes the place of one whose seat was not.
    Pages in different folders may be of two pupils, so each counts until the teacher decides.
    The same bytes are one page, wherever they lie.

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
    NoSuchPage
        If a seat has no such page; a ``ValueError``.
    """
    by_seat: dict[int, list[Paper]] = {}
    for paper in papers:
        by_seat.setdefault(paper.seat, []).append(paper)
    decided = _decided(counts, by_seat)
    made: list[Paper] = []
    for seat in sorted(by_seat):
        mine = sorted(by_seat[seat], key=lambda paper: paper.file)
        made += _choose_of_seat(mine, decided.get(seat, "")) if seat else mine
    return tuple(made)


def _decided(counts: Mapping[int, str] | None, by_seat: Mapping[int, Sequence[Paper]]) -> dict[int, str]:
    """Return what the teacher decided; refuse a seat without a page, and a page of another seat."""
    counts = counts or {}
    for seat, file in counts.items():
        if not seat or seat not in by_seat:
            raise NoSuchPage(counts, seat, file, f"seat {short(seat)} has no page")
        files = [paper.file for paper in by_seat[seat]]
        if file not in (LAST, ALL, *files):
            said = f"seat {seat} has no page {short(file)}, it has {numbers.some(files, 6)}"
            raise NoSuchPage(counts, seat, file, said)
    return dict(counts)


def _choose_of_seat(mine: Sequence[Paper], decided: str) -> list[Paper]:
    """Choose among the papers of one seat."""
    first: dict[str, Paper] = {}  # of pages with the same bytes the first by time, and the time of the last
    last: dict[str, float] = {}
    folders: dict[PurePosixPath, dict[str, float]] = {}
    for paper in sorted(mine, key=lambda paper: (paper.time, paper.file)):
        first.setdefault(paper.digest, paper)
        last[paper.digest] = paper.time
        folders.setdefault(PurePosixPath(paper.file).parent, {})[paper.digest] = paper.time
    named = next((paper for paper in mine if paper.file == decided), None)
    if named is not None:
        first[named.digest] = named

    def newest(times: Mapping[str, float]) -> str:
        return max(times, key=lambda digest: (not first[digest].moved, times[digest], first[digest].file))

    of_folder = {folder: newest(times) for folder, times in folders.items()}
    if named is not None:
        best = {named.digest}
    elif decided == ALL:
        best = set(first)
    else:
        best = {newest(last)} if decided else set(of_folder.values())
    top = first[newest({digest: last[digest] for digest in best})]
    made = []
    for paper in mine:
        same = first[paper.digest]
        if same is not paper:
            why = f"The same page as {same.file}{', which counts' if same.digest in best else ''}."
            made.append(replace(paper, why_not=why))
        elif paper.digest in best:
            made.append(replace(paper, why_not="", decision=None))
        else:
            instead = top if decided else first[of_folder[PurePosixPath(paper.file).parent]]
            made.append(
                replace(
                    paper,
                    why_not=_why_not(paper, instead, decided),
                    decision=None if decided else _decision_on_one(paper),
                )
            )
    if len(best) > 1 and not decided:
        at = next(i for i, paper in enumerate(made) if paper.file == top.file)
        made[at] = replace(made[at], decision=_decision_among([paper for paper in made if not paper.why_not]))
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
    if paper.time == best.time:
        return f"Seat {seat} handed in another page with the same time, {best.file}, which counts."
    late = ", late," if best.late and not paper.late else ""
    return f"Seat {seat} handed in a later page{late or ','} {best.file}, which counts."


def _decision_on_one(paper: Paper) -> Decision:
    """Return what can be decided about a page that does not count."""
    ways = ((ALL, "counts them all"), (paper.file, "counts this one"))
    return Decision(paper.seat, "If it is another pupil's:", (paper.file,), ways)


def _decision_among(best: Sequence[Paper]) -> Decision:
    """Return what can be decided about pages that all count."""
    seat, files = best[0].seat, tuple(paper.file for paper in best)
    said = (
        f"Seat {seat} stands on {len(files)} pages that differ, in folders of their own: "
        f"{sentences.listed(files) if len(files) < 7 else numbers.some(files, 6)}. Perhaps two pupils typed "
        "the same seat, or two groups have the same numbers, so each of them counts. Look at them:"
    )
    return Decision(
        seat, said, files, ((LAST, "counts only the last one"), (files[0], "counts only this one"))
    )


class NoSuchPage(Refusal):
    """A decision that cannot be taken.

    Attributes
    ----------
    seat : object
        For whom it was to be.
    counts : object
        What was to count.
    text : str
        What is wrong with it.
    """

    def __init__(self, given: object, seat: object, counts: object, said: str) -> None:
        super().__init__(f"counts={short(given)}: {said}", _COUNTS, argument="counts")
        self.seat, self.counts, self.text = seat, counts, said


def in_python(seat: int, counts: str) -> str:
    r"""Return a decision as it is typed in a notebook.

    Examples
    --------
    >>> in_python(7, "last"), in_python(7, 'a"\\.ipynb')
    ('counts={7: "last"}', 'counts={7: \'a"\\\\.ipynb\'}')
    """
    plain = not set(counts) & set('"\\')
    return f'counts={{{seat}: "{counts}"}}' if plain else f"counts={{{seat}: {counts!r}}}"


def in_terminal(seat: object, counts: object, windows: bool = os.name == "nt") -> str:
    """Return a decision as it is typed in a terminal; empty where no terminal of that system can take it.

    Pupils name the files, so each name is quoted: what is copied from here runs nothing.

    Examples
    --------
    >>> in_terminal(7, "last"), in_terminal(7, "second group/page 1.ipynb")
    ('--counts 7=last', '--counts "7=second group/page 1.ipynb"')
    """
    text = f"{seat}={counts}"
    if re.fullmatch(r"[\w=./-]+", text, re.ASCII):
        return f"--counts {text}"
    if not set(text) & set('"\\$`!%'):  # double quotes do in every terminal, but for what they let through
        return f'--counts "{text}"'
    return "" if windows else f"--counts {shlex.quote(text)}"


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
            f"{share.name}: {_percent(share.share)} of {_its_marks(share)}; "
            f"{share.right} of {numbers.plural(share.seats, 'page')} all right."
        )
    if counted:
        again = sentences.listed(book.hear_again)
        lines.append(
            f"The class should hear again: {again}." if again else "No skill needs to be heard again."
        )
    lines += troubles_of(book, typed)
    return "\n".join(lines)


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
            first.append(paper.decision.describe(typed))
        elif paper.decision:
            lines.append(paper.decision.describe(typed))
        lines += [paper.rows[0].reason] if not paper.seat else []
        lines += ["Handed in late."] if paper.late else []
        lines += paper.notes
        if lines:
            said.append(f"{paper.file}: {' '.join(lines)}")
    return (*first, *said, *book.aside)


def _in_utc(time: float) -> str:
    """Write a moment in UTC; nothing where there is none that a calendar knows."""
    try:
        moment = datetime.fromtimestamp(time, UTC).replace(tzinfo=None)
        return moment.isoformat(" ", "seconds") if time else ""
    except (OverflowError, ValueError, OSError):
        return ""


def _safe_cell(value: object) -> object:
    """Return a cell that no spreadsheet takes for a formula, also where it splits at semicolons.

    Marks are written as decimals, since a spreadsheet reads 1/2 as a date; the columns of parts are exact.
    """
    if isinstance(value, int):
        return value
    if isinstance(value, Fraction):
        return numbers.number(value, 4, between="")
    text = _SPLIT.sub(lambda found: f"{found[0]}'", str(value))
    return f"'{text}" if _FORMULA.match(text) else text


def _its_marks(share: Share) -> str:
    """Say what a question is worth where the teacher said so."""
    each = Fraction(share.out_of) / share.seats if share.seats else Fraction(1)
    return "the marks" if each == 1 else f"its {numbers.plural(each, 'mark')}"


def _percent(share: Fraction) -> str:
    return f"{numbers.number(100 * share, 0)} %"

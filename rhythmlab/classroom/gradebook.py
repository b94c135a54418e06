"""Marking a folder of returned notebooks, nested or flat, into one table; nothing in them is ever run."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from os.path import isdir
from pathlib import Path
from time import monotonic

from rhythmlab.classroom.assignment import READY, assignment, ids_of
from rhythmlab.classroom.book import COLUMNS, HEAR_AGAIN, Gradebook, Share
from rhythmlab.classroom.handed_in import handed_in, named, plain
from rhythmlab.classroom.marking import rows_of
from rhythmlab.classroom.papers import Decision, Paper, counted
from rhythmlab.classroom.returned import MOST_BYTES, Returned, returned
from rhythmlab.classroom.whose import Fit, Whose
from rhythmlab.core.check import a, short, whole
from rhythmlab.core.check import path as path_of
from rhythmlab.core.long_work import say, shown
from rhythmlab.core.public import public
from rhythmlab.refusal import Refusal
from rhythmlab.safe_import import apart
from rhythmlab.text import numbers, sentences

__all__ = ["COLUMNS", "HEAR_AGAIN", "Decision", "Gradebook", "Paper", "Share", "gradebook"]

#: Seconds after which long work says how far it is.
_SECONDS = 5
#: How fast files are marked, and how fast the worst of them are read (measured, and halved).
FILES_A_SECOND, BYTES_A_SECOND = 200, 2_500_000
_EXAMPLE = 'gradebook("returned", name="grid-and-composite")'


@apart()
@public(_EXAMPLE)
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
        Name of the assignment; when left out, the one that the readable files are of, but for a stray one.
    ids : list of str, optional
        Its questions; those of the ready assignment when left out.
    due : datetime or str, optional
        A file that was changed later is told as late; ISO 8601, in UTC where no offset is given.
    counts : dict of int to str, optional
        Which page counts where a seat handed in several that differ, by seat: ``"last"``, ``"all"``, or the
        name of the file. When left out, the last one of each folder, so that no pupil takes the place of
        another.
    told : callable, optional
        Called with a sentence now and then during long work.

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
    root = _checked(folder, counts, told)
    if not isdir(root):
        raise Refusal(f"folder={short(str(folder))} is not a folder", _EXAMPLE, argument="folder")
    try:
        paths, shut, aside = handed_in(root)
    except ValueError as error:
        raise Refusal(f"folder={short(str(folder))}: {error}", _EXAMPLE, argument="folder") from None
    if not paths and not shut:
        raise Refusal(f"folder={short(str(folder))} holds no notebook", _EXAMPLE, argument="folder")
    late_after = _moment(due)
    chosen = None if ids is None else ids_of(ids)
    tell = _Progress(len(paths), told)
    long = _said_long(paths, 2 if name is None else 1)
    name = _only_assignment(root, paths, tell) if name is None else assignment(name).name
    if chosen is None:
        if name not in READY:
            raise Refusal(
                f"name={short(name)} is no ready assignment ({', '.join(READY)}), so its "
                "questions must be given",
                'gradebook("returned", name="week 3", ids=["grid-ticks"])',
                argument="name",
            )
        chosen = READY[name].ids
    whose = Whose(name)
    papers: list[Paper] = []
    fits: list[tuple[Fit, ...]] = []
    kept: dict[str, str] = {}
    names: Counter[str] = Counter()
    for done, path in enumerate(shown(paths, len(paths), "Marking", long=long and told is None), 1):
        read = _named(_read(path, root), names)
        try:
            paper, fit = _paper(read, name, chosen, late_after, kept, whose)
        except Exception as error:  # one file, whatever is in it, never ends the marking of the others
            paper, fit = _paper(_broken(read, error), name, chosen, late_after, kept, whose)
        papers.append(paper)
        fits.append(fit)
        tell.read(done)
    for path, why in shut.items():  # a row each, as of a file that cannot be read
        paper, fit = _paper(
            _named(Returned(path, named(path, root), 0.0, damage=why), names), name, chosen, None, kept, whose
        )
        papers.append(paper)
        fits.append(fit)
    whose.against(seat for paper in papers for seat in (paper.seat, paper.typed))
    for i, paper in enumerate(papers):
        said = whose.told(paper.seat, fits[i])
        if said:
            papers[i] = replace(paper, notes=(*paper.notes, said))
    return Gradebook(name, chosen, counted(papers, counts), tuple(aside))


def _checked(folder: object, counts: Mapping[int, str] | None, told: object) -> Path:
    """Return the folder; refuse what is none, and what says neither which page counts nor what to call."""
    example = 'counts={7: "last"}'
    if counts is not None:
        a(Mapping, counts, "counts", example)
        for seat, which in counts.items():
            whole(seat, "a seat in counts", example)
            a(str, which, f"counts[{seat}]", example)
    if told is not None and (not callable(told) or isinstance(told, type)):
        raise Refusal(
            f"told={short(told)} cannot be called", f"{_EXAMPLE[:-1]}, told=print)", argument="told"
        )
    return path_of(folder, "folder", _EXAMPLE)


def _said_long(paths: Sequence[Path], times: int) -> bool:
    """Say before a large class is marked how long it takes."""
    size = 0
    for path in paths:
        with suppress(OSError):
            held = path.lstat().st_size
            size += held if held <= MOST_BYTES else 0
    what = f"Marking {numbers.plural(len(paths), 'file')} with {size / 1_000_000:,.0f} MB"
    return say(what, seconds=times * (len(paths) / FILES_A_SECOND + size / BYTES_A_SECOND))


class _Progress:
    """Tells how far the marking is: every fifty files and every few seconds."""

    def __init__(self, files: int, told: Callable[[str], None] | None) -> None:
        self.files, self.told, self.last = numbers.plural(files, "file"), told, monotonic()
        self.count = files

    def read(self, done: int) -> None:
        """Tell that so many are read, where it is time to."""
        if self.told and (done % 50 == 0 or done == self.count or monotonic() > self.last + _SECONDS):
            self.told(f"{done} of {self.files} read")
            self.last = monotonic()

    def looked_at(self, done: int) -> None:
        """Tell that so many were looked at, where that takes long."""
        if self.told and monotonic() > self.last + _SECONDS:
            self.told(f"{done} of {self.files} looked at")
            self.last = monotonic()


def _read(path: Path, root: Path) -> Returned:
    """Read a file; whatever breaks is told of this file alone."""
    try:
        return returned(path, root)
    except Exception as error:
        return _broken(Returned(path, named(path, root), 0.0), error)


def _named(read: Returned, names: Counter[str]) -> Returned:
    """Give files whose names cannot be told apart on a line a number each."""
    name = read.name
    while names[name]:
        names[read.name] += 1
        name = f"{read.name} ({names[read.name]})"
    names[name] = 1
    return read if name == read.name else replace(read, name=name)


def _broken(read: Returned, error: Exception) -> Returned:
    said = f"The file cannot be marked ({type(error).__name__}); show it to your teacher."
    return Returned(read.path, read.name, read.time, read.digest, said)


def _only_assignment(root: Path, paths: Sequence[Path], tell: _Progress) -> str:
    """Return the assignment that the pages are of; a stray one among many does not change it."""
    names: Counter[str] = Counter()
    for done, path in enumerate(paths, 1):
        names[_read(path, root).assignment] += 1
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


def _moment(due: datetime | str | None) -> float | None:
    if due is None:
        return None
    try:
        moment = due if isinstance(due, datetime) else datetime.fromisoformat(due)
    except (TypeError, ValueError):
        raise Refusal(
            f"due={short(due)} is no date and hour", 'due="2030-05-04T18:00+02:00"', argument="due"
        ) from None
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()


def _paper(
    read: Returned,
    name: str,
    ids: Sequence[str],
    late_after: float | None,
    kept: dict[str, str],
    whose: Whose,
) -> tuple[Paper, tuple[Fit, ...]]:
    """Mark a file, and say what its answers are right for; a text that many rows have is kept once."""
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
        typed = sentences.listed([str(one) for one in read.seats[:6]])
        notes.append(
            f"More than one seat is typed on the page, {typed}; the last one is taken for what it says."
        )
    more = sorted({plain(reply.id, 60) for reply in read.replies if reply.id and reply.id not in ids})
    if seat and more:
        notes.append(f"It also replies to what was not asked: {numbers.some(more, 6)}.")
    paper = Paper(
        read.name, read.digest, read.time, seat, late, "", rows, read.made_for, read.seat, tuple(notes)
    )
    if seat and paper.moved:
        said = f"The page was made for seat {seat} and says seat {read.seat}; it is marked as seat {seat}."
        paper = replace(paper, notes=(said, *paper.notes))
    return paper, whose.fits(read, rows) if seat else ()

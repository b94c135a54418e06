"""Which of the pages of a seat count, and what the teacher can decide about them."""

import os
import re
import shlex
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import PurePosixPath

from rhythmlab.classroom.marking import Row
from rhythmlab.core.check import short
from rhythmlab.refusal import Refusal
from rhythmlab.text import numbers, sentences

#: Which pages of a seat count, where it is decided for them: the last one, or all that differ.
LAST, ALL = "last", "all"
_EXAMPLE = 'counts={7: "last"}'
#: How a decision is typed: takes the seat and what is decided for it.
Typed = Callable[[int, str], str]


@dataclass(frozen=True, slots=True)
class Decision:
    """What the teacher can decide about the pages of a seat, in values.

    Attributes
    ----------
    seat : int
        Whose pages.
    said : str
        Why there is something to decide.
    files : tuple of str
        The pages that it is about, by name.
    ways : tuple of (str, str)
        What can be decided, ``"last"``, ``"all"`` or the name of a file, each with what it does.
    """

    seat: int
    said: str
    files: tuple[str, ...]
    ways: tuple[tuple[str, str], ...]

    def text(self, typed: Typed) -> str:
        """Return it as sentences, with each way as it is typed.

        Examples
        --------
        >>> Decision(7, "Two pages differ.", (), (("last", "counts the last one"),)).text(in_python)
        'Two pages differ. counts={7: "last"} counts the last one.'
        """
        ways = [(typed(self.seat, counts), does) for counts, does in self.ways]
        return f"{self.said} {'; '.join(f'{way} {does}' for way, does in ways if way)}."


class NoSuchPage(Refusal):
    """A decision that cannot be taken.

    Attributes
    ----------
    seat : object
        For whom it was to be.
    counts : object
        What was to count.
    said : str
        What is wrong with it.
    """

    def __init__(self, given: object, seat: object, counts: object, said: str) -> None:
        super().__init__(f"counts={short(given)}: {said}", _EXAMPLE, argument="counts")
        self.seat, self.counts, self.said = seat, counts, said


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
    """Return a decision as it is typed in a terminal; nothing where no terminal there takes it as it stands.

    A name of a file is a pupil's, so that it is quoted: what is copied from here runs nothing.

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
    decision : Decision, optional
        What the teacher can decide about it, where there is something to decide.
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
    decision: Decision | None = None

    @property
    def moved(self) -> bool:
        """Whether another seat stands on it than it was made for."""
        return bool(self.made_for and self.typed) and self.made_for != self.typed


def counted(papers: Sequence[Paper], counts: Mapping[int, str] | None = None) -> tuple[Paper, ...]:
    """Choose the papers that count, and say of the others why they do not; all are kept.

    Of the pages of a seat that lie in one folder the last one counts, and a page on which another seat stands
    than it was made for never takes the place of one that is as it was made.
    Pages that differ in folders of their own may be of two pupils, so each of them counts until the teacher
    decides; the same bytes are one page, wherever they lie.

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
        made += _of_seat(mine, decided.get(seat, "")) if seat else mine
    return tuple(made)


def _decided(counts: object, by_seat: Mapping[int, Sequence[Paper]]) -> dict[int, str]:
    """Return what the teacher decided, or refuse it."""
    if counts is None:
        return {}
    if not isinstance(counts, Mapping):
        raise Refusal(f"counts={short(counts)} is no dict of seats", _EXAMPLE, argument="counts")
    for seat, file in counts.items():
        if isinstance(seat, bool) or not isinstance(seat, int) or not seat or seat not in by_seat:
            raise NoSuchPage(counts, seat, file, f"seat {short(seat)} has no page")
        files = [paper.file for paper in by_seat[seat]]
        if file not in (LAST, ALL, *files):
            said = f"seat {seat} has no page {short(file)}, it has {numbers.some(files, 6)}"
            raise NoSuchPage(counts, seat, file, said)
    return dict(counts)


def _of_seat(mine: Sequence[Paper], decided: str) -> list[Paper]:
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
                    decision=None if decided else _one_more(paper),
                )
            )
    if len(best) > 1 and not decided:
        at = next(i for i, paper in enumerate(made) if paper.file == top.file)
        made[at] = replace(made[at], decision=_several([paper for paper in made if not paper.why_not]))
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


def _one_more(paper: Paper) -> Decision:
    """Return what can be decided about a page that does not count."""
    ways = ((ALL, "counts them all"), (paper.file, "counts this one"))
    return Decision(paper.seat, "If it is another pupil's:", (paper.file,), ways)


def _several(best: Sequence[Paper]) -> Decision:
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

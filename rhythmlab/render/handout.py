"""A handout: one rhythm on two pages of paper, and all of it again as plain text for a screen reader.

The first page is the rhythm: grid, count, notes and gap cycle or bars.
The second is the practice: the way to learn it, a ladder, exercises, a lesson slip, room to write.
"""

import io
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any

from rhythmlab.core import bounds
from rhythmlab.core.check import items, short
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.display import Paths
from rhythmlab.core.long_work import say, shown
from rhythmlab.core.polyrhythm import Polyrhythm, home_or_last
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.files import folder_for, placed, put, safe_name, save, with_ending
from rhythmlab.playing.learning import bpm_text
from rhythmlab.playing.limits import Limits, limits_or
from rhythmlab.refusal import Refusal
from rhythmlab.render.handout_notes import Note, notation
from rhythmlab.render.handout_practice import practice
from rhythmlab.render.handout_rhythm import rhythm
from rhythmlab.render.handout_twin import twin
from rhythmlab.render.lesson import Lesson, of_pair
from rhythmlab.render.lesson_bars import of_bars
from rhythmlab.render.paper import PAPERS, clean, cut, font, printable
from rhythmlab.render.worksheet import EDGE, SMALL, Sheet
from rhythmlab.text import numbers

_EXAMPLE = "handout((7, 4), 72)"
_WRITE = f"{_EXAMPLE}.write({{}})"
_PACK = "handouts([(Polyrhythm(7, 4), 72), (Polyrhythm(4, 3), 90)], 'handouts')"
#: Most files of one name that are made beside each other.
_MOST_ALIKE = 1000
#: Most handouts of a pack, and about how many seconds one takes.
MOST_IN_A_PACK, _HANDOUT_S = 500, 1


@public_class("handout((7, 4), 72)", write='handout((7, 4), 72).write("7-4.pdf")')
@dataclass(frozen=True, slots=True, repr=False)
class Handout:
    """A handout, made.

    Attributes
    ----------
    pdf : bytes
        The PDF: vector, fonts inside, the same bytes each time.
    text : str
        Its plain twin: everything on the pages in reading order.
    pages : int
        How many.
    title : str
        What stands over it.
    name : str
        A safe name for its file, without an ending.
    """

    pdf: bytes
    text: str
    pages: int
    title: str
    name: str

    def __repr__(self) -> str:
        return (
            f"Handout({short(self.title)}, {numbers.plural(self.pages, 'page')}, {len(self.pdf) // 1000} kB)"
        )

    def write(self, path: str | Path, *, replace: bool = False) -> Path:
        """Write it as PDF, or as text, by the ending of the path.

        Parameters
        ----------
        path : str or Path
            Ends in ``.pdf`` or ``.txt``.
        replace : bool
            Whether a file of that name may be replaced.

        Raises
        ------
        ValueError
            If the path ends otherwise, or is no safe name.
        OSError
            If the file is there already, or cannot be written.

        Examples
        --------
        >>> import tempfile
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     handout((4, 3), 90).write(f"{folder}/4-3.txt").name
        '4-3.txt'
        """
        path = with_ending(path, ".pdf", ".txt", call=_WRITE)
        data = self.pdf if path.suffix.lower() == ".pdf" else self.text.encode()
        return save(path, data, _WRITE, replace=replace)


@public(_EXAMPLE, bounds="limits")
def handout(
    what: Rhythm,
    tempo: Speed,
    *,
    home: int | None = None,
    paper: str = "A4",
    limits: Limits | None = None,
    title: str = "",
) -> Handout:
    """Put a rhythm on paper: what it is, how to learn it, and room to write.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Pulses against each other, or any cycle of lanes: a fill, a moving accent, feet against hands.
    tempo : Tempo or number
        The speed; a number is beats a minute of home, or of the metre's beat.
    home : int, optional
        Index of the pulse felt as the beat; the last one when left out.  Bars have their own beat.
    paper : str
        ``"A4"`` or ``"Letter"``.
    limits : Limits, optional
        The limits to use; `limits()` when left out.
    title : str
        What stands over it, in place of the rhythm's own name.

    Returns
    -------
    Handout
        Two pages, under 300 kB; notes that cannot be written are said so, and drawn as a picture.

    Raises
    ------
    ValueError
        If one of them is not what it should be, or a number is given as the tempo of a cycle without beats.
    IndexError
        If there is no such pulse.

    Examples
    --------
    >>> made = handout((7, 4), 72)
    >>> made.pages, made.text.splitlines()[0]
    (2, '7 against 4')
    """
    what, tempo, home, rows = _asked(what, tempo, home, paper, limits, title)
    lesson = _lesson(what, tempo, home, rows)
    heading = title.strip() or lesson.name
    notes = [notation(what, tempo, one) for one in lesson.homes]
    return _made(lesson, heading, notes, paper, tempo)


@public(_PACK, bounds="limits")
def handouts(
    rhythms: Iterable[Sequence[Any] | Mapping[str, Any]],
    folder: str | Path,
    *,
    paper: str = "A4",
    limits: Limits | None = None,
) -> list[Path]:
    """Make a pack of handouts, each as PDF with its plain twin beside it; nothing is written over.

    Parameters
    ----------
    rhythms : iterable
        Each a pair ``(what, tempo)``, or a mapping of the arguments of `handout`.
    folder : str or Path
        Where they go; it is made where it is not there.
    paper, limits
        As for `handout`.

    Returns
    -------
    list of Path
        The PDFs, in order.

    Raises
    ------
    ValueError, IndexError
        If one of them cannot be made; it is named by its place, and no file has been written.
    OSError
        If a file cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     [path.name for path in handouts([(Polyrhythm(4, 3), 90)], folder)]
    ['4-against-3-at-90.pdf']
    """
    example = _PACK
    if not isinstance(folder, str | Path):
        raise Refusal(f"folder={short(folder)} is not a folder", example, argument="folder")
    if isinstance(rhythms, Mapping):
        raise Refusal(f"rhythms={short(rhythms)} is not a list", example, argument="rhythms")
    calls = []
    for place, one in enumerate(items(rhythms, "rhythms", example, most=MOST_IN_A_PACK), 1):
        call = _call(one, place, example)
        call = {"paper": paper, "limits": limits, **call}
        try:
            _asked(*(call.get(key, "" if key == "title" else None) for key in _ARGUMENTS))
        except Refusal as error:
            raise error.inside(f"rhythm {place} of the pack") from None
        calls.append(call)
    if not calls:
        return Paths()
    work = f"A pack of {numbers.plural(len(calls), 'handout')}"
    long = say(work, seconds=len(calls) * _HANDOUT_S)
    with folder_for(folder, example, parents=False) as where:
        return Paths(_beside(handout(**call), where) for call in shown(calls, len(calls), work, long=long))


_ARGUMENTS = ("what", "tempo", "home", "paper", "limits", "title")


def _call(one: object, place: int, example: str) -> dict[str, Any]:
    """Return the arguments of one handout of a pack."""
    if isinstance(one, Mapping) and {"what", "tempo"} <= set(one) <= set(_ARGUMENTS):
        return dict(one)
    if isinstance(one, list | tuple) and len(one) == 2:
        return dict(zip(("what", "tempo"), one, strict=True))
    raise Refusal(
        f"rhythm {place} of the pack, {short(one)}, is neither a pair of rhythm and "
        f"tempo nor a mapping of {', '.join(_ARGUMENTS)}",
        example,
    )


def _beside(made: Handout, folder: Path) -> Path:
    """Write a handout and its twin under the first name that is free for both."""
    for number in count(1):
        name = made.name if number == 1 else f"{made.name}-{number}"
        path, plain = (folder / safe_name(name, ending) for ending in (".pdf", ".txt"))
        if number <= _MOST_ALIKE and (os.path.lexists(path) or os.path.lexists(plain)):
            continue
        try:
            return _both(made, path, plain)
        except FileExistsError:
            if number > _MOST_ALIKE:
                raise
    raise AssertionError  # the loop only ends by returning or raising


def _both(made: Handout, path: Path, plain: Path) -> Path:
    """Write a handout and its twin, or neither."""
    twin_there = False
    try:
        with placed(path) as file:
            file.write(made.pdf)
            put(plain, made.text.encode())
            twin_there = True
    except BaseException:
        if twin_there:
            plain.unlink(missing_ok=True)
        raise
    return path


def _asked(
    what: object, tempo: object, home: object, paper: object, limits: object, title: object
) -> tuple[Polyrhythm | Cycle, Tempo, int | None, Limits]:
    """Check every argument once, and return rhythm, tempo, home and limits."""
    found = bounds.rhythm(what, "what", _EXAMPLE)
    if not isinstance(paper, str) or paper not in PAPERS:
        raise Refusal(
            f"paper={short(paper)} is not a paper; there are {' and '.join(PAPERS)}",
            f'{_EXAMPLE[:-1]}, paper="Letter")',
            argument="paper",
        )
    bounds.heading(title, f'{_EXAMPLE[:-1]}, title="Seat 4")')
    rows = limits_or(limits, f"{_EXAMPLE[:-1]}, limits=limits(flam=30))")
    if isinstance(found, Polyrhythm):
        at = home_or_last(found, home)
        return found, bounds.at_tempo(found, tempo, at, _EXAMPLE), at, rows
    if home is not None:
        raise Refusal(
            f"home={short(home)} is for pulses, and a cycle has its own beat",
            "handout(accents('7/8', 5), 180)",
            argument="home",
        )
    return found, bounds.at_tempo(found, tempo, None, "handout(accents('7/8', 5), 180)"), None, rows


def _lesson(what: Polyrhythm | Cycle, tempo: Tempo, home: int | None, rows: Limits) -> Lesson:
    if isinstance(what, Polyrhythm):
        return of_pair(what, tempo, home_or_last(what, home), rows)
    return of_bars(what, tempo, rows)


def _made(lesson: Lesson, heading: str, notes: list[Note], paper: str, tempo: Tempo) -> Handout:
    """Draw the pages and write the twin."""
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    canvas = Canvas(
        out,
        pagesize=PAPERS[paper],
        invariant=1,  # no time of day inside: the same handout is the same bytes
        pageCompression=1,
        initialFontName=font("plain"),
        lang="en",
    )
    canvas.setTitle(clean(heading))
    canvas.setAuthor("rhythmlab")
    canvas.setCreator("rhythmlab")
    canvas.setSubject(f"{lesson.name}, {lesson.tempo}")
    canvas.setKeywords(["polyrhythm", "handout", lesson.name])
    canvas.setViewerPreference("DisplayDocTitle", "true")
    size, way_told = PAPERS[paper], False
    said: list[tuple[str, str]] = []
    for page, (part, mark) in enumerate((("The rhythm", "rhythm"), ("The practice", "practice")), 1):
        canvas.bookmarkPage(mark)
        canvas.addOutlineEntry(part, mark)
        if page == 1:
            said, way_told = rhythm(Sheet(canvas, size), lesson, heading, notes)
        else:
            practice(canvas, lesson, size, not way_told)
        _foot(Sheet(canvas, size), heading, lesson, page)
        canvas.showPage()
    canvas.save()
    name = safe_name(f"{clean(heading)} at {bpm_text(tempo.bpm)}", ".pdf").removesuffix(".pdf")
    return Handout(out.getvalue(), twin(lesson, clean(heading), said), 2, heading, name)


def _foot(sheet: Sheet, title: str, lesson: Lesson, page: int) -> None:
    """Write what a page is, should it be alone."""
    y = EDGE - 16
    name = cut(printable(title) or lesson.name, "plain", SMALL, 0.7 * sheet.room)
    sheet.write(sheet.left, y, name, size=SMALL, ink="quiet")
    sheet.write(sheet.left + sheet.room, y, f"page {page} of 2", size=SMALL, anchor="end", ink="quiet")

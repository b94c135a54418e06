"""Notebooks of an assignment, to hand out: a page for the pupils, and one with answers for the teacher.

The same questions and seats give the same bytes, and a file that is there and differs is never replaced.
The page with answers lies in a folder beside that of the pupils, which can be copied to them whole.
"""

import json
import os
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import TypeAlias

from rhythmlab.classroom.assignment import READY, Work, assignment, minutes_of, questions_of, seats_of
from rhythmlab.classroom.bank.catalogue import BANK
from rhythmlab.classroom.returned import METADATA_KEY
from rhythmlab.core.check import short
from rhythmlab.core.display import Paths
from rhythmlab.core.long_work import say, shown
from rhythmlab.core.public import public
from rhythmlab.files import folder_for, holds_already, put, safe_name
from rhythmlab.refusal import Refusal, on_disk
from rhythmlab.text import numbers

#: A cell as it stands in the file of a notebook.
Cell: TypeAlias = dict[str, object]
#: Longest title of a page, in characters.
LONGEST_TITLE = 120
#: How many seats the teacher's page has answers for at first.
SEATS_SHOWN = 3
#: Seconds that a page takes and a question on it, and megabytes.
_PAGE_S, _QUESTION_S, _PAGE_MB = 1e-2, 5e-4, 0.03
_EXAMPLE = 'classroom.write_assignment("week 3", "week-3", ids=["grid-ticks", "grid-rows"])'
_NOT_IN_NAMES = "\"'`\\$"
_METADATA = {
    "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
    "language_info": {"name": "python"},
}


@public(_EXAMPLE, told="progress")
def write_assignment(
    name: str,
    folder: str | Path,
    *,
    ids: Iterable[str] | None = None,
    seats: int | Iterable[int] | None = None,
    mode: str = "practice",
    title: str = "",
    progress: Callable[[str], None] | None = None,
) -> list[Path]:
    """Write the notebooks of an assignment: the pupils' pages, and the teacher's page with answers.

    Parameters
    ----------
    name : str
        Of the assignment: a ready one, or the teacher's own.
    folder : str or Path
        Where the pupils' pages go, and nothing else; made if it is not there. The page with answers goes to
        a folder beside it: ``handed-out-answers`` for ``handed-out``.
    ids : list of str, optional
        Its questions, in order; those of the ready assignment when left out.
    seats : int or list of int, optional
        A page for each of these seats, ``range(1, 31)`` for thirty; a number alone is one seat. When left
        out, one page for all, on which each pupil types the seat.
    mode : str
        ``"practice"``, where each reply is checked at once, or ``"test"``, where a reply only says whether
        it can be read.
    title : str
        Of the pages; that of the ready assignment, or the name, when left out.
    progress : callable, optional
        Called with a sentence now and then during long work, such as ``print``.

    Returns
    -------
    list of Path
        The pupils' pages in the order of the seats, and the teacher's page last, which is in the folder
        beside. A file that is there
        already and holds the same stays as it is.

    Raises
    ------
    ValueError
        If a name, a question, a seat or the mode cannot be used.
    FileExistsError
        If a file of one of the names is there and differs; then nothing is written.
    OSError
        If the folder cannot be made or written to.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     for path in write_assignment("gap-cycles", Path(folder, "handed-out"), seats=[7, 8]):
    ...         print(path.parent.name, path.name)
    handed-out gap-cycles-seat-007.ipynb
    handed-out gap-cycles-seat-008.ipynb
    handed-out-answers gap-cycles-answers.ipynb
    """
    work, chosen, asked, title = _checked(name, ids, seats, mode, title)
    if progress is not None and (not callable(progress) or isinstance(progress, type)):
        raise Refusal(
            f"progress={short(progress)} cannot be called",
            f"{_EXAMPLE[:-1]}, progress=print)",
            argument="progress",
        )
    where = _folder(folder)
    beside = answers_beside(where)
    many = len(asked or (0,)) + 1
    work_text = f"An assignment of {numbers.plural(many, 'page')}"
    long = say(
        work_text, seconds=many * (_PAGE_S + _QUESTION_S * len(chosen)), megabytes=many * _PAGE_MB, steps=True
    )
    pages = list(shown(_pages(work, chosen, asked, title), many, work_text, long=long))
    places = [where / file for file, _ in pages[:-1]] + [beside / pages[-1][0]]
    missing = []
    with folder_for(where, _EXAMPLE), folder_for(beside, _EXAMPLE):
        for path, (file, data) in zip(places, pages, strict=True):
            try:
                if not holds_already(path, data):
                    missing.append((path, data))
            except FileExistsError as error:
                holds = (
                    f"folder={short(str(folder))} holds" if path.parent == where else f"{beside.name} holds"
                )
                raise on_disk(
                    error,
                    f"{holds} {file} already, and it differs; nothing was written; give another folder",
                    _EXAMPLE,
                ) from None
        for done, (path, data) in enumerate(missing, 1):
            put(path, data)
            if progress is not None and done % 50 == 0:
                progress(f"{done} of {len(missing)} pages written")
    return Paths(places)


def answers_beside(folder: Path) -> Path:
    """Return where the answers to the pages of a folder go: beside it, so that it can be handed out whole.

    Examples
    --------
    >>> answers_beside(Path("/class/handed-out")).as_posix()
    '/class/handed-out-answers'
    """
    if not folder.name:
        raise Refusal(f"folder={short(str(folder))} has no folder beside it", _EXAMPLE, argument="folder")
    return folder.with_name(f"{folder.name}-answers")


def _checked(
    name: str, ids: Iterable[str] | None, seats: int | Iterable[int] | None, mode: str, title: str
) -> tuple[Work, tuple[str, ...], tuple[int, ...], str]:
    """Return what the pages are made from, or refuse it."""
    work = assignment(name, mode=mode)
    if any(sign in work.name for sign in _NOT_IN_NAMES):
        raise Refusal(
            f"name={short(name)} has one of {' '.join(_NOT_IN_NAMES)} in it, which a page cannot hold",
            _EXAMPLE,
            argument="name",
        )
    chosen = questions_of(work.name, ids, _EXAMPLE)
    ready = READY.get(work.name)
    if ready is not None and set(chosen) != set(ready.ids):
        raise Refusal(
            f"name={short(name)} is a ready assignment with questions of its own; give other "
            "questions another name",
            _EXAMPLE,
            argument="name",
        )
    if not isinstance(title, str) or len(title) > LONGEST_TITLE or not title.isprintable():
        raise Refusal(
            f"title={short(title)} is not a line of at most {LONGEST_TITLE} letters",
            'title="Week 3: grids"',
            argument="title",
        )
    title = title.strip() or (ready.title if ready else work.name)
    return work, chosen, () if seats is None else seats_of(seats), title


def _folder(folder: str | Path) -> Path:
    if not isinstance(folder, str | Path) or not str(folder).strip() or "\0" in str(folder):
        raise Refusal(f"folder={short(folder)} is not a folder", _EXAMPLE, argument="folder")
    return Path(os.path.abspath(folder))


def _pages(work: Work, ids: Sequence[str], seats: Sequence[int], title: str) -> Iterator[tuple[str, bytes]]:
    """Give every page: the name of its file, and its bytes."""
    stem = safe_name(work.name, ".ipynb").removesuffix(".ipynb")
    for seat in seats or (0,):
        file = f"{stem}-seat-{seat:03}.ipynb" if seat else f"{stem}.ipynb"
        yield file, _notebook(*_pupil_page(work, ids, seat, title))
    yield f"{stem}-answers.ipynb", _notebook(_teacher_page(work, ids, seats, title, stem))


def _pupil_page(
    work: Work, ids: Sequence[str], seat: int, title: str
) -> tuple[list[Cell], dict[str, object]]:
    """Return the cells of a pupil's page, and what it says of itself."""
    practice = work.mode == "practice"
    test = "" if practice else ', mode="test"'
    cells = [
        _markdown_cell("title", _instructions(work, ids, seat, title)),
        _code_cell("import", "import rhythmlab as rl"),
        _code_cell(
            "seat", f'work = rl.classroom.assignment("{work.name}", seat={seat}{test})', tags=["seat"]
        ),
    ]
    for number, id in enumerate(ids, 1):
        cells += [
            _markdown_cell(f"heading-{id}", f"## Question {number} of {len(ids)}: {id}"),
            _code_cell(f"ask-{id}", f'work.ask("{id}")', tags=["ask"]),
            _code_cell(f"reply-{id}", f'work.reply("{id}", answer=[])', tags=["reply"], question=id),
        ]
    cells += [
        _markdown_cell(
            "end",
            "## Before you hand in\n\n"
            "Run the whole page once more. The next cell says what is still to be answered. "
            "Then save the page, and hand it in.",
        ),
        _code_cell("left", "work.left()", tags=["left"]),
    ]
    return cells, {"assignment": work.name, "seat": seat}


def _instructions(work: Work, ids: Sequence[str], seat: int, title: str) -> str:
    """Return the text at the top of a pupil's page: how long it takes, how to begin, answer and hand in."""
    practice = work.mode == "practice"
    kind = "" if practice else ", a test"
    begin = (
        f"This page is for seat {seat}."
        if seat
        else "**To begin**, type the number of your seat in place of the 0 in the cell that says *seat*, "
        "like `seat=7`."
    )
    checked = (
        "It is checked at once, and you may change your answer and check it as often as you like."
        if practice
        else "It only says whether your answer can be read; whether it is right you hear later. "
        "You may change your answer as often as you like."
    )
    return (
        f"# {_as_markdown(title)}{'' if not seat else f', seat {seat}'}\n\n"
        f"{numbers.plural(len(ids), 'question')}, about {minutes_of(ids)} minutes{kind}. "
        "The numbers change from seat to seat. "
        f"You need pencil and paper{_needs(ids)}.\n\n"
        f"{begin} Run the whole page: in the menu, *Run*, then *Run All Cells*, and scroll back up to "
        "here. The questions stand on the page now.\n\n"
        "**To answer**, write between the brackets below a question, and press Shift and Enter. "
        f"{checked} "
        "An answer is numbers, words in quotes, or both, with a comma between them: nothing else is read.\n\n"
        "**To hand in**, save the page with Ctrl and S, or Command and S, and give the file to your teacher. "
        "A question that you leave open does no harm to the others. "
        "Leave the cells where they are; for sums of your own, add a new cell."
    )


def _needs(ids: Sequence[str]) -> str:
    plays = {BANK[id].plays for id in ids}
    heard = ", headphones" if "sound" in plays else ""
    return f"{heard}, and your hands" if "take" in plays else " and headphones" if heard else ""


def _teacher_page(work: Work, ids: Sequence[str], seats: Sequence[int], title: str, stem: str) -> list[Cell]:
    """Return the cells of the teacher's page."""
    own = work.name not in READY
    listed = ", ".join(f'"{id}"' for id in ids)
    more = f", ids=[{listed}]" if own else ""
    every = _seats_text(seats) if seats else "range(1, 31)"
    first = seats[:SEATS_SHOWN] if seats else tuple(range(1, SEATS_SHOWN + 1))
    shell = work.name if re.fullmatch(r"[\w.-]+", work.name) else f'"{work.name}"'
    command = f"python -m rhythmlab grade returned --assignment {shell}"
    command += f" --ids {','.join(ids)}" if own else ""
    pages = (
        f"`{stem}.ipynb` is one page for all: each pupil types the seat."
        if not seats
        else f"There is one page for {'the seat' if len(seats) == 1 else f'each of the {len(seats)} seats'}, "
        f"`{stem}-seat-{seats[0]:03}.ipynb`{'' if len(seats) == 1 else ' and so on'}."
    )
    test = (
        ""
        if work.mode == "practice"
        else " On this one a reply never says whether it is right. That is no lock: the answers can be "
        "worked out wherever rhythmlab is installed, so for marks that count stay in the room."
    )
    return [
        _markdown_cell(
            "title",
            f"# {_as_markdown(title)}: answers\n\n"
            f"For the teacher. {numbers.plural(len(ids), 'question')}, about {minutes_of(ids)} minutes. "
            f"{pages}{test}\n\n"
            "Run the whole page: *Run*, then *Run All Cells*. "
            "The answers are worked out by the same code that checks the replies, and they go with the name "
            "of the assignment: under another name every seat has other numbers.",
        ),
        _code_cell("import", "import rhythmlab as rl"),
        _markdown_cell("answers-text", f"## Answers for {_how_many_seats(len(first))}"),
        _code_cell(
            "answers", f'rl.classroom.answer_key("{work.name}", seats={list(first)}{more})', tags=["answers"]
        ),
        _markdown_cell(
            "print",
            "## Print them for every seat\n\n"
            f"Put `seats={every}` into the cell above for your whole class, or `seats=[{first[-1]}]` for one "
            "seat, and run it. "
            "Then print the page from the menu: *File*, then *Print*. "
            "Keep this page out of the folder that you hand out. "
            "Before you hand it on or show it, clear it: *Edit*, then *Clear Outputs of All Cells*.",
        ),
        _markdown_cell(
            "mark",
            "## When the pages come back\n\n"
            "Put all files into one folder, such as `returned`, whatever they are called; "
            "then, in a terminal:\n\n"
            f"```\n{command} --to marks\n```\n\n"
            f'or in a cell: `rl.classroom.gradebook("returned", "{work.name}"{more})`. '
            "Answers are read as they are written: nothing in a returned page is run.",
        ),
    ]


def _how_many_seats(count: int) -> str:
    return {1: "one seat", 2: "two seats", 3: "three seats"}[count]


def _seats_text(seats: Sequence[int]) -> str:
    """Write a list of seats, in a row as a range."""
    if len(seats) > 2 and list(seats) == list(range(seats[0], seats[-1] + 1)):
        return f"range({seats[0]}, {seats[-1] + 1})"
    return str(list(seats))


def _as_markdown(text: str) -> str:
    """Return text that stays as it is in Markdown."""
    return re.sub(r"([\\`*_\[\]<>#|$&~])", r"\\\1", text)


def _markdown_cell(id: str, source: str) -> Cell:
    return {"cell_type": "markdown", "id": id, "metadata": {}, "source": source.splitlines(keepends=True)}


def _code_cell(id: str, source: str, *, tags: Sequence[str] = (), question: str = "") -> Cell:
    metadata: dict[str, object] = {"tags": list(tags)} if tags else {}
    if question:
        metadata[METADATA_KEY] = {"question": question}
    return {
        "cell_type": "code",
        "execution_count": None,
        "id": id,
        "metadata": metadata,
        "outputs": [],
        "source": source.splitlines(keepends=True),
    }


def _notebook(cells: list[Cell], about: dict[str, object] | None = None) -> bytes:
    """Return a notebook as JupyterLab writes it."""
    metadata = _METADATA | ({METADATA_KEY: about} if about else {})
    page = {"cells": cells, "metadata": metadata, "nbformat": 4, "nbformat_minor": 5}
    return (json.dumps(page, indent=1, sort_keys=True, ensure_ascii=False) + "\n").encode()

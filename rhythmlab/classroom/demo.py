"""An invented class of thirty seats: returned notebooks to try the gradebook on. Nobody ever wrote them.

They are drawn from a seed, and lie in ``data/demo``; `demo_class` puts them into a folder of the reader's.
"""

import csv
import io
import json
import os
import random
import secrets
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from rhythmlab import resources
from rhythmlab.classroom.assignment import READY, assignment
from rhythmlab.classroom.question import Question
from rhythmlab.core.check import path as path_of
from rhythmlab.core.check import short
from rhythmlab.core.display import Written
from rhythmlab.core.public import public
from rhythmlab.files import folder_for, make_folder, placed, put, temporary
from rhythmlab.refusal import Refusal
from rhythmlab.working_folder import marked

#: What is handed in, when it was due, how many seats there are, and what all of it is drawn from.
NAME, DUE, SEATS, SEED = "grid-and-composite", "2026-11-21T18:00:00+00:00", 30, 2026
#: How likely each kind of reply is; a better seat has more right ones.
_KINDS = ("right", "part", "wrong", "empty", "unreadable", "type", "gone")
_CHANCES = {
    "steady": (78, 10, 4, 4, 1, 1, 2),
    "middling": (56, 18, 9, 8, 3, 3, 3),
    "lost": (24, 24, 20, 18, 6, 5, 3),
}


@public('classroom.demo_class("a-class")')
def demo_class(folder: str | Path | None = None) -> Path:
    """Put the returned notebooks of an invented class into a folder.

    Parameters
    ----------
    folder : str or Path, optional
        Made if it is not there; files that are there already stay as they are. ``demo-class`` in the
        reader's working folder when left out, or in a temporary one where there is none.

    Returns
    -------
    Path
        The folder, for `gradebook`.

    Raises
    ------
    OSError
        If the folder or a page cannot be written; each page is there whole or not at all.
    """
    if folder is None:
        folder = (marked() or temporary() / f"rhythmlab-{secrets.token_hex(4)}") / "demo-class"
    where, source = (
        path_of(folder, "folder", 'classroom.demo_class("demo-class")'),
        resources.folder("data") / "demo",
    )
    if os.path.exists(where) and not os.path.isdir(where):
        raise Refusal(
            f"folder={short(str(folder))} is a file", 'classroom.demo_class("demo-class")', argument="folder"
        )
    rows = list(csv.DictReader(io.StringIO((source / "times.csv").read_text(encoding="utf-8"))))
    with folder_for(where, 'classroom.demo_class("demo-class")'):
        for row in rows:
            path, data = where / row["file"], (source / "returned" / row["file"]).read_bytes()
            if not os.path.lexists(path):
                with make_folder(path.parent), placed(path) as file:
                    file.write(data)
                    file.flush()
                    moment = datetime.fromisoformat(row["changed"]).timestamp()
                    os.utime(file.name, (moment, moment))  # before it has its name, so that it is never late
    return Written(where)


def returned_notebooks(seed: int = SEED) -> Iterator[tuple[str, str, bytes]]:
    """Make the returned notebooks anew: the name of each, when it was changed, and its bytes."""
    due = datetime.fromisoformat(DUE).timestamp()
    for seat in range(1, SEATS + 1):
        draw = random.Random(f"{seed}, seat {seat}")
        kind = draw.choices(tuple(_CHANCES), (9, 14, 7))[0]
        handed_in = due - draw.randrange(600, 4 * 86_400)
        name = _name(seat, draw)
        page = _page(seat, kind, draw)
        if seat == 5:  # late
            handed_in = due + 3 * 3600
        if seat == 9:  # breaks off
            yield name, _in_utc(handed_in), _bytes(page)[:900]
            continue
        if seat == 14:  # an old kind of notebook
            old = {
                "metadata": {},
                "nbformat": 3,
                "nbformat_minor": 0,
                "worksheets": [{"cells": page["cells"]}],
            }
            yield name, _in_utc(handed_in), _bytes(old)
            continue
        if seat == 17:  # nobody typed the seat
            page["cells"][1]["source"] = [f'work = rl.classroom.assignment("{NAME}", seat=0)']
        if seat == 21:  # a question written over another
            page["cells"][3]["source"] = ['work.reply("composite-sounds", answer=[9])']
        if seat == 26:  # the tags are lost
            for cell in page["cells"]:
                cell["metadata"] = {}
        yield name, _in_utc(handed_in), _bytes(page)
        if seat == 12:  # the same page again, under another name
            yield name.replace(".ipynb", " again.ipynb"), _in_utc(handed_in + 60), _bytes(page)
        if seat == 23:  # a better one later
            better = _page(seat, "steady", random.Random(f"{seed}, again"))
            yield name.replace(".ipynb", " again.ipynb"), _in_utc(handed_in + 300), _bytes(better)


def _name(seat: int, draw: random.Random) -> str:
    group = "first group" if seat <= 15 else "second group"
    return draw.choice(
        (
            f"{group}/seat-{seat:02}.ipynb",
            f"{group}/{NAME}-{seat}.ipynb",
            f"{group}/Copy of seat {seat} (1).ipynb",
        )
    )


def _page(seat: int, kind: str, draw: random.Random) -> dict[str, Any]:
    cells = [
        _code("import rhythmlab as rl"),
        _code(f'work = rl.classroom.assignment("{NAME}", seat={seat})', tags=["seat"]),
    ]
    work = assignment(NAME, seat)
    for id in READY[NAME].ids:
        what = draw.choices(_KINDS, _CHANCES[kind])[0]
        if what != "gone":
            answer = _answer(work.question(id), what, draw)
            about = {"rhythmlab": {"question": id}, "tags": ["reply"]}
            cells.append(_code(f'work.ask("{id}")', tags=["ask"]))
            cells.append({**_code(f'work.reply("{id}", answer={answer})'), "metadata": about})
    for i, cell in enumerate(cells):
        cell["id"] = f"cell-{i:02}"
    about = {"rhythmlab": {"assignment": NAME, "seat": 0}}
    return {"cells": cells, "metadata": about, "nbformat": 4, "nbformat_minor": 5}


def _code(source: str, tags: list[str] | None = None) -> dict[str, Any]:
    metadata = {"tags": tags} if tags else {}
    return {
        "cell_type": "code",
        "execution_count": None,
        "metadata": metadata,
        "outputs": [],
        "source": [source],
    }


def _answer(asked: Question, what: str, draw: random.Random) -> str:
    """Write an answer as a pupil might."""
    right = asked.worked()
    if what == "empty":
        return "[]"
    if what == "type":
        return '["I do not know"]' if not isinstance(right[0], str) else "[1]"
    if what == "unreadable":
        return draw.choice((f"{right[:1]}]", "my_answer", f"[{', '.join(map(str, right))}"))
    if what in ("part", "wrong"):
        places = range(len(right)) if what == "wrong" else [draw.randrange(len(right))]
        right = [_another(part, draw) if i in places else part for i, part in enumerate(right)]
    return json.dumps(right) if draw.random() < 0.8 else repr(tuple(right))


def _another(part: str | float, draw: random.Random) -> str | float:
    if isinstance(part, str):
        return part[::-1] if part[::-1] != part else f"{part}."
    return part + draw.choice((-2, -1, 1, 2))


def _in_utc(moment: float) -> str:
    return datetime.fromtimestamp(moment, UTC).isoformat()


def _bytes(page: dict[str, Any]) -> bytes:
    return (json.dumps(page, indent=1, ensure_ascii=False, sort_keys=True) + "\n").encode("utf-8")


def write_demo(folder: Path, seed: int = SEED) -> None:
    """Write the files of ``data/demo`` anew, for a developer."""
    rows = []
    for name, changed, data in returned_notebooks(seed):
        path = folder / "returned" / name
        with make_folder(path.parent):
            put(path, data, replace=True)
        rows.append((name, changed))
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([("file", "changed"), *rows])
    put(folder / "times.csv", out.getvalue().encode(), replace=True)

"""Notebooks as pupils hand them in, made for the tests."""

import json
import os
from pathlib import Path

from rhythmlab.classroom.assignment import READY, assignment

NAME = "grid-and-composite"
IDS = READY[NAME].ids


def code(source, question=None):
    """Return a cell of code, tagged as a reply where a question is given."""
    metadata = {"rhythmlab": {"question": question}, "tags": ["reply"]} if question else {}
    return {
        "cell_type": "code",
        "execution_count": None,
        "metadata": metadata,
        "outputs": [],
        "source": source,
    }


def right(id, seat, name=NAME):
    """Return a right answer as it is typed."""
    return repr(assignment(name, seat).question(id).worked())


def page(seat=7, answers=None, *, made_for=0, name=NAME, ids=IDS, cells_for=None):
    """Return a page with right answers, but where others are given; a question with None has no cell."""
    typed = {id: right(id, cells_for or seat or 1, name) for id in ids} | (answers or {})
    cells = [code("import rhythmlab as rl"), code(f'work = rl.classroom.assignment("{name}", seat={seat})')]
    for id, answer in typed.items():
        if answer is not None:
            cells += [code(f'work.ask("{id}")'), code(f'work.reply("{id}", answer={answer})', id)]
    about = {"rhythmlab": {"assignment": name, "seat": made_for}}
    return {"cells": cells, "metadata": about, "nbformat": 4, "nbformat_minor": 5}


def put(path, notebook, time=1_700_000_000):
    """Write a page, changed at a given time."""
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(notebook if isinstance(notebook, bytes) else json.dumps(notebook).encode())
    os.utime(path, (time, time))
    return path


def reply_cell(notebook, id):
    """Return the cell that replies to a question."""
    return next(cell for cell in notebook["cells"] if f'reply("{id}"' in "".join(cell["source"]))

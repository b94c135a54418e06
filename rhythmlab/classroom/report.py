"""What a gradebook writes: the table, a summary with a picture, and a page of feedback for each seat."""

import os
import stat
from collections.abc import Iterator, Sequence
from fractions import Fraction
from html import escape
from pathlib import Path

from rhythmlab.classroom.assignment import assignment
from rhythmlab.classroom.gradebook import Gradebook, Paper, Share, Typed, in_python, in_terminal, troubles_of
from rhythmlab.classroom.marking import MarkedReply
from rhythmlab.classroom.returned import DamagedFile, read_beginning
from rhythmlab.core.check import short
from rhythmlab.core.display import Paths
from rhythmlab.draw.scene import Band, Line, Mark, Rule, Scene, Text
from rhythmlab.draw.svg import svg
from rhythmlab.files import fault, folder_for, make_folder, put, reason_unseen
from rhythmlab.refusal import AlreadyThere
from rhythmlab.text import numbers, sentences

#: Names of files are strangers': where notebooks set dollars as formulas, these are left alone, and two
#: spaces stay two, so that a name can be copied.
_AS_WRITTEN = 'class="mathjax_ignore tex2jax_ignore" style="white-space:pre-wrap"'
_STYLE = (
    "body{font:16px/1.5 sans-serif;max-width:46em;margin:2em auto;padding:0 1em;"
    "color:#1a1a1a;background:#fff}"
    "table{border-collapse:collapse}td,th{border:1px solid #888;padding:.3em .6em;text-align:left}"
    "caption{text-align:left;font-weight:bold;padding:.4em 0}"
)


def shares(title: str, rows: Sequence[Share]) -> Scene:
    """Draw how much of its marks each question or skill got.

    Parameters
    ----------
    title : str
        What is compared, for the text alternative.
    rows : sequence of Share
        One bar each, in order.

    Examples
    --------
    >>> from rhythmlab.classroom.gradebook import Share
    >>> shares("by skill", [Share("grid", 3, 4, 1, 2)]).alt
    'Marks by skill: grid 75 %.'
    """
    left = 24 + 9 * max((len(row.name) for row in rows), default=4)
    marks: list[Mark] = [Rule(x, 0.1, len(rows) + 0.4, "hair") for x in range(0, 101, 20)]
    for i, row in enumerate(rows):
        y, share = 0.7 + i, float(100 * row.share)
        marks += [
            Text(0, y, row.name, "plain", "left"),
            Band(0, max(share, 0.3), y - 0.28, y + 0.28, "heard"),
            Line(0, y + 0.28, max(share, 0.3), y + 0.28, "edge"),
            Text(100, y, f"{numbers.number(100 * row.share, 0)} %", "plain", "right"),
        ]
    marks += [Text(x, len(rows) + 0.8, str(x), "small") for x in range(0, 101, 20)]
    said = sentences.listed([f"{row.name} {numbers.number(100 * row.share, 0)} %" for row in rows])
    alt = f"Marks {title}: {said}."
    return Scene("shares", alt, tuple(marks), 0, 100, len(rows) + 1.3, left=left, right=70, moves=False)


def summary_html(book: Gradebook, typed: Typed = in_python) -> str:
    """Return the summary of a class: what to hear again, a picture, a table, and what to look at."""
    troubles = troubles_of(book, typed)
    by_question, by_skill = book.by("question"), book.by("skill")
    files = numbers.plural(len(book.papers), "file")
    pages = numbers.plural(len(book.counted), "page")
    again = sentences.listed(book.hear_again)
    hear = f"The class should hear again: {again}." if again else "No skill needs to be heard again."
    parts = [f"<p>{escape(files)}; {pages} {'counts' if len(book.counted) == 1 else 'count'}.</p>"]
    if book.counted:
        parts += [f"<p><b>{escape(hear)}</b></p>", svg(shares("by skill", by_skill)), _table(by_question)]
    if troubles:
        lines = "".join(f"<li>{escape(said)}</li>" for said in troubles)
        parts.append(f"<h3>To look at</h3><ul {_AS_WRITTEN}>{lines}</ul>")
    return f"<div><h2>{escape(book.name)}</h2>{''.join(parts)}</div>"


def _table(rows: Sequence[Share]) -> str:
    heads = ("question", "marks", "of", "all right", "pages")
    head = "".join(f'<th scope="col">{name}</th>' for name in heads)
    body = "".join(
        f'<tr><th scope="row">{escape(row.name)}</th><td>{numbers.number(row.marks)}</td>'
        f"<td>{numbers.number(row.out_of)}</td>"
        f"<td>{row.right}</td><td>{row.seats}</td></tr>"
        for row in rows
    )
    style = "font:inherit;color:inherit"
    return f"<table style='{style}'><caption>By question</caption><tr>{head}</tr>{body}</table>"


def feedback_html(book: Gradebook, paper: Paper, named: bool = False) -> str:
    """Return the page of a seat: each question as it was asked, the answer, the marks, and why.

    The name of the file stands on it where it is `named`, because the seat has several.
    """
    work = assignment(book.name, paper.seat)
    marks = sum((row.marks for row in paper.rows), Fraction(0))
    out_of = sum((row.out_of for row in paper.rows), Fraction(0))
    late = "<p>This page was handed in late.</p>" if paper.late else ""
    body = "".join(
        _asked(number, row, work.question(row.question).text) for number, row in enumerate(paper.rows, 1)
    )
    file = f"<p>File: <code>{escape(paper.file)}</code></p>" if named else ""
    return _page(
        f"{book.name}, seat {paper.seat}",
        f"{file}<p>{numbers.number(marks)} of {numbers.plural(out_of, 'mark')}.</p>{late}<ol>{body}</ol>",
    )


def unmarked_html(book: Gradebook, paper: Paper) -> str:
    """Return the page for a file that could not be marked: what it is called, and why."""
    why = "".join(f"<p>{escape(row.reason)}</p>" for row in paper.rows)
    late = "<p>This page was handed in late.</p>" if paper.late else ""
    return _page(f"{book.name}, not marked yet", f"<p>File: <code>{escape(paper.file)}</code></p>{late}{why}")


def _asked(number: int, row: MarkedReply, text: str) -> str:
    answer = f"<p>Your answer: <code>{escape(row.answer)}</code></p>" if row.answer else ""
    worth = f"{numbers.number(row.marks)} of {numbers.plural(row.out_of, 'mark')}"
    return (
        f"<li><p>{escape(text)}</p>{answer}<p><b>{worth}</b>, {escape(row.state)}: "
        f"{escape(row.reason)}</p></li>"
    )


def _page(title: str, body: str) -> str:
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{escape(title)}</title>'
        f"<style>{_STYLE}</style></head><body><h1>{escape(title)}</h1>{body}</body></html>\n"
    )


def files_of(book: Gradebook) -> Iterator[tuple[str, bytes]]:
    """Give every file of a gradebook: its name below the folder, and its bytes.

    The pages of feedback come one by one, so that a large class takes no more memory than a small one.
    """
    yield "marks.csv", book.csv.encode("utf-8")
    yield "summary.html", _page(f"Summary: {book.name}", summary_html(book, _typed_in_both)).encode("utf-8")
    several = book.several
    before, number = 0, 1
    for paper in book.counted:
        number = number + 1 if paper.seat == before else 1
        before = paper.seat
        page = f"-page-{number}" if paper.seat in several else ""
        yield (
            f"feedback/seat-{paper.seat:03}{page}.html",
            feedback_html(book, paper, bool(page)).encode("utf-8"),
        )
    for number, paper in enumerate(book.without_seat, 1):
        yield f"feedback/not-marked-{number:03}.html", unmarked_html(book, paper).encode("utf-8")


def _typed_in_both(seat: int, counts: str) -> str:
    """Return a decision as it is typed in a notebook and in a terminal, for a file that is read elsewhere."""
    terminal = in_terminal(seat, counts)
    return f"{in_python(seat, counts)} in a notebook{f', or {terminal} in a terminal,' if terminal else ''}"


def write_files(book: Gradebook, where: Path) -> list[Path]:
    """Write what a gradebook gives into a folder, all of it or nothing; see `Gradebook.write`."""
    name = "marks-2" if fault(f"{where.name}-2") else f"{where.name}-2"
    call = f'classroom.gradebook("returned").write({name!r})'

    def refused(what: str) -> AlreadyThere:
        return AlreadyThere(
            f"folder={short(str(where))} {what}; nothing was written; give another folder", call
        )

    if os.path.lexists(where) and not os.path.isdir(where):
        link = os.path.islink(where)
        raise refused("is a link that leads to no folder" if link else "is no folder")
    there = os.path.lexists(where)
    for name, data in files_of(book) if there else ():
        for folder in Path(name).parents[:-1]:
            if os.path.lexists(where / folder) and (
                os.path.islink(where / folder) or not os.path.isdir(where / folder)
            ):
                raise refused(f"holds {folder}, a link or no folder, and nothing is written through it")
        wrong = _fault(where / name, data)
        if wrong:
            raise refused(f"holds {name} {wrong}, and it is not replaced")
    written = Paths()
    with folder_for(where, call):
        for name, data in files_of(book):
            path = where / name
            with make_folder(path.parent):
                if not os.path.lexists(path):
                    put(path, data)
            written.append(path)
    return written


def _fault(path: Path, data: bytes) -> str:
    """Say why a file cannot be written here; nothing where it is not there, or holds the same already."""
    try:
        info = path.lstat()
    except FileNotFoundError:
        return ""
    except OSError as error:
        return f"that cannot be looked at ({reason_unseen(error)})"
    if not stat.S_ISREG(info.st_mode):
        return "which is a link or no plain file"
    try:
        same = info.st_size == len(data) and read_beginning(path, len(data)) == data
    except (OSError, DamagedFile):
        return "which cannot be read"
    return "" if same else "of another marking"

"""The teacher's command line: hand out an assignment, and mark what comes back."""

import argparse
import os
import re
import sys
import textwrap
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import TypeVar

from rhythmlab.classroom.assignment import MODES, MOST_AT_ONCE, MOST_SEATS, READY, ids_of
from rhythmlab.classroom.bank.catalogue import CLASS_IDS
from rhythmlab.classroom.gradebook import (
    ALL,
    LAST,
    MOST_MARKS,
    NoSuchPage,
    gradebook,
    in_terminal,
    summary_of,
)
from rhythmlab.classroom.handing_out import write_assignment
from rhythmlab.files import reason
from rhythmlab.refusal import Refusal
from rhythmlab.text import numbers
from rhythmlab.working_folder import program

_IDS = "--ids grid-ticks,gaps-midway"
_ASSIGN = f"assign week-3 {_IDS} --to"
_ASSIGN_READY = "assign grid-and-composite --seats 1-30 --to"
_GRADE = "grade returned --to"
#: What an example shows besides, by how the refusal begins, so that it shows what was refused.
_EXAMPLE_ENDS = (
    ("due=", "--due 2030-05-04T18:00+02:00"),
    ("--counts ", "--counts 7=last"),
    ("marks=", "--marks grid-rows=3"),
    ("--marks ", "--marks grid-rows=3"),
    ("name=None", "--assignment grid-and-composite"),
    ("name=", f"--assignment week-3 {_IDS}"),
)

_Of = TypeVar("_Of")
_Said = TypeVar("_Said")


def main(argv: list[str]) -> int:
    """Run ``python -m rhythmlab assign`` or ``python -m rhythmlab grade``.

    Parameters
    ----------
    argv : list of str
        The arguments, ``"assign"`` or ``"grade"`` first.

    Returns
    -------
    int
        The exit code: 0, or 2 if it could not be done, or 130 if it was interrupted.
    """
    asked = {"assign": _assigning, "grade": _grading}[argv[0]]().parse_args(argv[1:])
    try:
        code: int = asked.run(asked)
        return code
    except (ValueError, OSError) as error:
        said = _sentence(error)
        print(f"rhythmlab: {said}; for example: {program()} {_example(asked, error, said)}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("\nStopped. What was written stays, and the same command goes on from there.", file=sys.stderr)
        return 130


def _example(asked: argparse.Namespace, error: Exception, said: str) -> str:
    """Return a command that shows what was refused, with another folder where that one is taken."""
    folder = "handed-out" if asked.run is _assign else "marks"
    if isinstance(error, FileExistsError) and asked.to is not None:
        plain = re.fullmatch(r"[\w.-]+", asked.to.name)
        folder = f"{asked.to.name if plain else folder}-2"
    if asked.run is _assign:
        call = _ASSIGN if asked.ids or asked.name.strip() not in READY else _ASSIGN_READY
        return f"{call} {folder}"
    more = next((more for begins, more in _EXAMPLE_ENDS if said.startswith(begins)), "")
    return f"{_GRADE} {folder} {more}".rstrip()


def seats_typed(text: str) -> list[int]:
    """Read seats as they are typed, such as ``1-30`` or ``1,2,5-8``.

    Raises
    ------
    argparse.ArgumentTypeError
        If it is anything else, or more seats than are handed out at once.

    Examples
    --------
    >>> seats_typed("1,2,5-8")
    [1, 2, 5, 6, 7, 8]
    """
    found: list[int] = []
    for piece in text.split(","):
        range_of = re.fullmatch(r"\s*([0-9]{1,6})\s*(?:-\s*([0-9]{1,6})\s*)?", piece)
        if not range_of:
            raise argparse.ArgumentTypeError(
                f"{_shown(piece)} is no seat and no range of seats; for example 1-30"
            )
        first = int(range_of[1])
        last = int(range_of[2] or first)
        if not 1 <= first <= last <= MOST_SEATS:
            raise argparse.ArgumentTypeError(
                f"{_shown(piece)} does not go up from 1 to {MOST_SEATS:,} at most; for example 1-30"
            )
        if len(found) + last - first >= MOST_AT_ONCE:
            raise argparse.ArgumentTypeError(f"more than {MOST_AT_ONCE:,} seats at once; for example 1-30")
        found += range(first, last + 1)
    twice = next(
        (seat for seat, after in zip(sorted(found), sorted(found)[1:], strict=False) if seat == after), 0
    )
    if twice:
        raise argparse.ArgumentTypeError(f"seat {twice} is in it twice; for example 1-30")
    return found


def ids_typed(text: str) -> tuple[str, ...]:
    """Read ids of questions as they are typed, with commas between them.

    Raises
    ------
    argparse.ArgumentTypeError
        If a question is not known, or is in it twice.

    Examples
    --------
    >>> ids_typed("grid-ticks, grid-rows")
    ('grid-ticks', 'grid-rows')
    """
    ids = [piece.strip() for piece in text.split(",")]
    unknown = next((id for id in ids if id not in CLASS_IDS), None)
    if unknown is not None:
        raise argparse.ArgumentTypeError(
            f"there is no question {_shown(unknown)}; there are {', '.join(CLASS_IDS)}"
        )
    try:
        return ids_of(ids)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"{_sentence(error)}; for example grid-ticks,grid-rows") from None


def counts_typed(text: str) -> tuple[int, str]:
    """Read what counts for a seat as it is typed: ``7=last``, ``7=all``, or ``7=`` and the name of a file.

    Raises
    ------
    argparse.ArgumentTypeError
        If it is anything else.

    Examples
    --------
    >>> counts_typed("7=last"), counts_typed("7=second group/a=b.ipynb")
    ((7, 'last'), (7, 'second group/a=b.ipynb'))
    """
    found = re.fullmatch(r"\s*([0-9]{1,6})\s*=(.*)", text, re.DOTALL)
    if not found or not 1 <= int(found[1]) <= MOST_SEATS or not found[2].strip():
        raise argparse.ArgumentTypeError(
            f"{_shown(text)} is no seat with what counts for it; for example 7=last, 7=all, or 7=page.ipynb"
        )
    counts = found[2].strip()
    return int(found[1]), counts if counts in (LAST, ALL) else found[2]


def marks_typed(text: str) -> tuple[str, Fraction]:
    """Read what a question is worth as it is typed: ``grid-rows=3``, ``grid-rows=0.5`` or ``grid-rows=1/2``.

    Raises
    ------
    argparse.ArgumentTypeError
        If it is anything else.

    Examples
    --------
    >>> marks_typed("grid-rows=3"), marks_typed("grid-rows=0.5")
    (('grid-rows', Fraction(3, 1)), ('grid-rows', Fraction(1, 2)))
    """
    found = re.fullmatch(
        r"\s*([\w-]+)\s*=\s*([0-9]{1,4}(?:\.[0-9]{1,4}|/0*[1-9][0-9]{0,3})?)\s*", text, re.ASCII
    )
    if not found or not 0 < Fraction(found[2]) <= MOST_MARKS:
        raise argparse.ArgumentTypeError(
            f"{_shown(text)} is no question with its marks, above 0 and at most {MOST_MARKS:,}; "
            "for example grid-rows=3"
        )
    return found[1], Fraction(found[2])


def _worth(typed: list[tuple[str, Fraction]] | None) -> dict[str, Fraction] | None:
    """Return what the named questions are worth, each once."""
    return _each_once(typed, "--marks says two things of")


def _decided(typed: list[tuple[int, str]] | None) -> dict[int, str] | None:
    """Return what was decided, each seat once."""
    return _each_once(typed, "--counts says two things of seat")


def _each_once(typed: list[tuple[_Of, _Said]] | None, twice: str) -> dict[_Of, _Said] | None:
    """Return what was said of each, or refuse two things that are said of one."""
    if typed is None:
        return None
    found: dict[_Of, _Said] = {}
    for of, said in typed:
        if found.setdefault(of, said) != said:
            raise Refusal(f"{twice} {of}, {found[of]} and {said}")
    return found


def _assign(asked: argparse.Namespace) -> int:
    paths = write_assignment(
        asked.name,
        asked.to,
        ids=asked.ids,
        seats=asked.seats,
        mode=asked.mode,
        title=asked.title,
        progress=_tell,
    )
    *pupils, teachers = paths
    pages = pupils[0].name if len(pupils) == 1 else f"{len(pupils)} pages, {pupils[0].name} and so on"
    print(f"To hand out, in {pupils[0].parent}: {pages}")
    print(f"For you alone, in the folder beside it, {teachers.parent}: {teachers.name}")
    if os.path.lexists(pupils[0].with_name(teachers.name)):  # 0.2.0 and before wrote it there
        print(f"Take {teachers.name} out of {pupils[0].parent} before you hand that out: it is from before.")
    name = asked.name.strip()
    name = name if re.fullmatch(r"[\w.-]+", name) else f'"{name}"'
    own = f" --ids {','.join(asked.ids)}" if asked.ids and asked.name.strip() not in READY else ""
    print(
        f"When they come back into a folder: {program()} grade returned --assignment {name}{own} --to marks"
    )
    return 0


def _grade(asked: argparse.Namespace) -> int:
    if asked.to is not None and _within(asked.to, asked.returned):
        raise Refusal(
            f"{asked.to} is in the folder of what was handed in; give a folder of its own for the marks"
        )
    counts, worth = _decided(asked.counts), _worth(asked.marks)
    try:
        book = gradebook(
            asked.returned,
            asked.assignment,
            ids=asked.ids,
            due=asked.due,
            counts=counts,
            marks=worth,
            progress=_tell,
        )
    except NoSuchPage as error:
        raise Refusal(f"{in_terminal(error.seat, error.counts)}: {error.text}") from None
    _print(summary_of(book, in_terminal))
    if asked.to is None:
        print("To keep the table, the summary and a page for each seat, add --to and a folder.")
        return 0
    paths = book.write(asked.to)
    print(f"Written to {asked.to}: {numbers.plural(len(paths), 'file')}, {paths[0].name} first.")
    return 0


def _within(inner: Path, outer: Path) -> bool:
    """Whether a folder is in another, as it is typed or where its links lead."""
    places = [(inner, outer), (Path(os.path.realpath(inner)), Path(os.path.realpath(outer)))]
    return any(one == other or other in one.parents for one, other in places)


def _print(text: str) -> None:
    """Print what holds names of files, also where the terminal has not all letters."""
    coding = sys.stdout.encoding or "utf-8"
    print(text.encode(coding, "backslashreplace").decode(coding))


def _tell(text: str) -> None:
    """Print how far long work is."""
    print(text, file=sys.stderr, flush=True)


def _sentence(error: Exception) -> str:
    """Return what an error says, without its example, which is Python."""
    if isinstance(error, OSError) and error.errno is not None and error.strerror:
        why = reason(error, "read")
        return f"{error.filename}: {why}" if error.filename else why
    return error.wrong if isinstance(error, Refusal) else str(error)


def _shown(text: str) -> str:
    return repr(text if len(text) <= 40 else f"{text[:37]}...")


def _folder(text: str) -> Path:
    if not text.strip() or "\0" in text:
        raise argparse.ArgumentTypeError("is empty; give a folder, for example handed-out")
    return Path(os.path.abspath(os.path.expanduser(text)))


def _assigning() -> argparse.ArgumentParser:
    assign = _command(
        "assign",
        _assign,
        f"{_ASSIGN} handed-out",
        "Write the pages of an assignment: the pupils', and yours with answers. "
        "A file that is there and differs is never replaced.",
        f"Ready assignments: {', '.join(READY)}\n\nQuestions for one of your own: {', '.join(CLASS_IDS)}.",
    )
    assign.add_argument("name", metavar="NAME", help="a ready assignment, or a name of your own with --ids")
    assign.add_argument(
        "--to",
        metavar="FOLDER",
        type=_folder,
        required=True,
        help="where the pupils' pages go, made if need be; yours goes beside it, to FOLDER-answers",
    )
    assign.add_argument(
        "--seats",
        type=seats_typed,
        help="a page for each seat, such as 1-30 or 1,2,5-8; left out, one page on which the seat is typed",
    )
    assign.add_argument(
        "--mode", choices=MODES, default="practice", help="in a test, nothing says what is right"
    )
    assign.add_argument(
        "--ids", type=ids_typed, help="questions with commas between, such as grid-ticks,gaps-midway"
    )
    assign.add_argument("--title", default="", help="what stands at the top of the pages")
    return assign


def _grading() -> argparse.ArgumentParser:
    grade = _command(
        "grade",
        _grade,
        f"{_GRADE} marks",
        "Mark a folder of returned notebooks. Answers are read as they are written; nothing in them is run.",
        "For a working folder of that name, write ./grade or ./assign.",
    )
    grade.add_argument(
        "returned", metavar="RETURNED", type=_folder, help="the folder, nested or flat, any names"
    )
    grade.add_argument(
        "--assignment", metavar="NAME", help="which one; left out, the one that all files are of"
    )
    grade.add_argument("--ids", type=ids_typed, help="its questions, where it is one of your own")
    grade.add_argument("--to", metavar="FOLDER", type=_folder, help="write the table and the feedback there")
    grade.add_argument(
        "--due",
        metavar="WHEN",
        help="later is told as late, such as 2030-05-04T18:00+02:00; in UTC where no offset is given",
    )
    grade.add_argument(
        "--counts",
        metavar="SEAT=PAGE",
        type=counts_typed,
        action="append",
        help="which page of a seat counts: 7=last, 7=all, or 7= and a file; once for each seat",
    )
    grade.add_argument(
        "--marks",
        metavar="QUESTION=MARKS",
        type=marks_typed,
        action="append",
        help="what a question is worth, such as grid-rows=3, once for each; one mark where nothing is said",
    )
    return grade


class _Help(argparse.HelpFormatter):
    """Breaks no name at a hyphen, so that each can be copied."""

    def _split_lines(self, text: str, width: int) -> list[str]:
        return textwrap.wrap(text, width, break_on_hyphens=False)

    def _fill_text(self, text: str, width: int, indent: str) -> str:
        wrapped = (textwrap.fill(piece, width, break_on_hyphens=False) for piece in text.split("\n\n"))
        return textwrap.indent("\n\n".join(wrapped), indent)


def _command(
    name: str,
    run: Callable[[argparse.Namespace], int],
    example: str,
    about: str,
    more: str,
) -> argparse.ArgumentParser:
    made = argparse.ArgumentParser(
        prog=f"{program()} {name}",
        description=about,
        epilog=f"For example: {program().replace('%', '%%')} {example}\n\n{more}",
        allow_abbrev=False,
        formatter_class=_Help,
    )
    made.set_defaults(run=run)
    return made

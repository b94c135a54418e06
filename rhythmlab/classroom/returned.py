"""A returned notebook, read without running anything in it.

What is looked at is text: the cell that opens the assignment, and the cells with replies.
A file that cannot be read says why; nothing that a pupil wrote is lost in silence.
"""

import hashlib
import json
import re
import stat
from dataclasses import dataclass, field
from pathlib import Path

from rhythmlab.classroom.literal import Unreadable, reply_of

#: Largest file that is read, in bytes, and deepest nesting; a page with its sound and notes is smaller.
MOST_BYTES, DEEPEST = 20_000_000, 60
#: Most cells that are looked at, and longest cell, in characters.
MOST_CELLS, MOST_CELL = 2_000, 100_000
#: Where a page keeps what it is about, in the metadata of the notebook and of its cells.
OURS = "rhythmlab"

_OPENS = re.compile(
    r"""^\s{0,9}work\s{0,9}=\s{0,9}rl\.assignment\(\s{0,9}(["'])(?P<name>[^"'\\\n]{1,80})\1\s{0,9},?
        \s{0,9}(?:seat\s{0,9}=)?\s{0,9}(?P<seat>[0-9]{1,6})?""",
    re.VERBOSE | re.MULTILINE,
)
_REPLY = re.compile(r"""\bwork\.reply\(\s{0,9}(?:id\s{0,9}=\s{0,9})?(["'])(?P<id>[\w.-]{1,60})\1""")


@dataclass(frozen=True, slots=True)
class Reply:
    """One reply as it was written.

    Attributes
    ----------
    id : str
        Id of the question, as the text of the cell says it, or else its metadata.
    text : str
        The answer as it is written, cut where it is long.
    value : object
        The answer as it is read.
    unread : str
        Why it cannot be read; empty where it can.
    changed : str
        The id in the metadata, where the text names another question.
    tagged : bool
        Whether the cell still has the metadata it was handed out with.
    """

    id: str
    text: str
    value: object = None
    unread: str = ""
    changed: str = ""
    tagged: bool = True


@dataclass(frozen=True, slots=True)
class Returned:
    """What a file holds.

    Attributes
    ----------
    path : Path
        Where it is.
    name : str
        Its path below the folder that was handed in.
    time : float
        Seconds since 1970 when it was last changed.
    digest : str
        A hash of its bytes; empty where it cannot be read.
    damage : str
        Why it cannot be read; empty where it can.
    assignment : str
        Name of the assignment; empty where none is found.
    seat : int
        Number of the seat; 0 where none was typed.
    made_for : int
        The seat that the page was made for; 0 where it was made for all.
    replies : tuple of Reply
        In the order of the page.
    """

    path: Path
    name: str
    time: float
    digest: str = ""
    damage: str = ""
    assignment: str = ""
    seat: int = 0
    made_for: int = 0
    replies: tuple[Reply, ...] = field(default=())


def returned(path: Path, folder: Path) -> Returned:
    """Read a returned notebook.

    Parameters
    ----------
    path : Path
        The file.
    folder : Path
        The folder that was handed in: what leads out of it is not read.

    Returns
    -------
    Returned
        With its damage said in a sentence where it cannot be read; it never fails.
    """
    name = path.relative_to(folder).as_posix()
    try:
        info = path.lstat()
    except OSError as error:
        return Returned(path, name, 0.0, damage=f"The file cannot be read: {error.strerror}.")
    if not stat.S_ISREG(info.st_mode):
        return Returned(
            path, name, info.st_mtime, damage="This is a link or no plain file, and is not followed."
        )
    if info.st_size > MOST_BYTES:
        most = MOST_BYTES // 1_000_000
        size = info.st_size // 1_000_000
        return Returned(
            path, name, info.st_mtime, damage=f"The file has {size} MB, and {most} MB are read at most."
        )
    try:
        data = path.read_bytes()
    except OSError as error:
        return Returned(path, name, info.st_mtime, damage=f"The file cannot be read: {error.strerror}.")
    digest = hashlib.sha256(data).hexdigest()
    try:
        held = _held(data)
    except _Damaged as error:
        return Returned(path, name, info.st_mtime, digest, str(error))
    return Returned(path, name, info.st_mtime, digest, **held)


class _Damaged(ValueError):
    """Why a file cannot be read, in a sentence."""


def _held(data: bytes) -> dict[str, object]:
    """Find what a notebook holds."""
    notebook = _loaded(data)
    if not isinstance(notebook, dict) or not isinstance(
        notebook.get("cells", notebook.get("worksheets")), list
    ):
        raise _Damaged("The file is no notebook: it holds no cells.")
    if notebook.get("nbformat") != 4 or "cells" not in notebook:
        raise _Damaged(
            "The file is an old kind of notebook: open it in JupyterLab, save it, and hand it in again."
        )
    cells = [cell for cell in notebook["cells"][:MOST_CELLS] if isinstance(cell, dict)]
    codes = [(_source(cell), _about(cell)) for cell in cells if cell.get("cell_type") == "code"]
    made = _about(notebook)
    opened = next((found for source, _ in codes if (found := _OPENS.search(source[:MOST_CELL]))), None)
    made_for = made.get("seat") if isinstance(made.get("seat"), int) else 0
    name = opened["name"] if opened else made.get("assignment")
    seat = int(opened["seat"] or 0) if opened else made_for
    return {
        "assignment": name.strip() if isinstance(name, str) else "",
        "seat": seat,
        "made_for": made_for if 0 < made_for < 10**6 else 0,
        "replies": tuple(reply for source, about in codes if (reply := _reply(source, about)) is not None),
    }


def _loaded(data: bytes) -> object:
    if not data.strip():
        raise _Damaged("The file is empty.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _Damaged("The file is no text, so it is no notebook.") from None
    depth = 0
    inside = False
    for sign in re.finditer(r'\\.|["\[\]{}]', text, flags=re.DOTALL):
        letter = sign[0]
        if letter == '"':
            inside = not inside
        elif not inside and letter in "[{":
            depth += 1
            if depth > DEEPEST:
                raise _Damaged(f"The file is nested more than {DEEPEST} deep, which no notebook is.")
        elif not inside and letter in "]}":
            depth -= 1
    try:
        return json.loads(text, parse_int=_whole, parse_constant=str)
    except (ValueError, RecursionError, MemoryError):
        raise _Damaged("The file is damaged: it breaks off, or is no notebook.") from None


def _whole(digits: str) -> int:
    return int(digits) if len(digits) < 20 else 0


def _source(cell: dict) -> str:
    source = cell.get("source", "")
    if isinstance(source, list):
        source = "".join(line for line in source if isinstance(line, str))
    return source if isinstance(source, str) else ""


def _about(part: dict) -> dict:
    """Return what the metadata says about a page or a cell."""
    metadata = part.get("metadata")
    about = metadata.get(OURS) if isinstance(metadata, dict) else None
    return about if isinstance(about, dict) else {}


def _reply(source: str, about: dict) -> Reply | None:
    """Read a reply, if the cell is one."""
    meant = about.get("question") if isinstance(about.get("question"), str) else ""
    named = _REPLY.search(source[:MOST_CELL])
    if not meant and not named:
        return None
    if not source.strip():
        return Reply(meant, "", tagged=True)
    try:
        id, text, value = reply_of(source)
    except Unreadable as error:
        id = error.id or (named["id"] if named else meant)
        changed = meant if meant and id != meant else ""
        return Reply(id, error.text[:200], unread=str(error), changed=changed, tagged=bool(meant))
    changed = meant if meant and id != meant else ""
    return Reply(id, text[:200], value, changed=changed, tagged=bool(meant))

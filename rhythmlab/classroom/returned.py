"""A returned notebook, read without running anything in it.

What is looked at is text: the cell that opens the assignment, and the cells with replies.
A file that cannot be read says why; nothing that a pupil wrote is lost in silence.
"""

import errno
import hashlib
import json
import re
import stat
from dataclasses import dataclass, field, replace
from itertools import accumulate
from pathlib import Path
from typing import Any

from rhythmlab.classroom.handed_in import LINK, Damaged, beginning, named, plain
from rhythmlab.classroom.literal import MOST_SOURCE, Unreadable, reply_of
from rhythmlab.classroom.ready import MOST_SEATS
from rhythmlab.files import unseen

#: Largest file that is read, in bytes, and deepest nesting; a page with its sound and notes is smaller.
MOST_BYTES, DEEPEST = 20_000_000, 60
#: Most lists, entries and values in a file; most replies on a page, and characters of all of them together;
#: and how far a cell is looked through, in characters.
MOST_PARTS, MOST_REPLIES, MOST_WRITTEN, MOST_CELL = 1_000_000, 1_000, 200_000, 100_000
#: How much of an answer is shown again, in characters.
SHOWN = 200
#: Where a page keeps what it is about, in the metadata of the notebook and of its cells.
OURS = "rhythmlab"

_OPENS = re.compile(
    r"""^[ \t]{0,9}work\s{0,9}=\s{0,9}(?:rl|rhythmlab)\s{0,3}\.\s{0,3}assignment
        \s{0,3}\((?P<inside>[^()]{0,300})""",
    re.MULTILINE | re.VERBOSE,
)
_NAME = re.compile(r"""(["'])(?P<name>[^"'\\\n]{1,80})\1""")
_SEAT = re.compile(r"(?:\bseat\s{0,9}=|^\s{0,9},(?!\s{0,9}\w{1,20}\s{0,9}=))(?P<seat>[^,]{0,40})")
_REPLY = re.compile(
    r"""\bwork\s{0,3}\.\s{0,3}reply\s{0,3}\(\s{0,9}(?:id\s{0,9}=\s{0,9})?["'“”„‘’](?P<id>[\w.-]{1,60})["'“”‘’]"""
)
#: What makes no part of a JSON file, and how much deeper each bracket leads.
_NO_SIGNS = bytes(set(range(256)) - set(b'"[]{},'))
_DEEPER = {ord("["): 1, ord("{"): 1, ord("]"): -1, ord("}"): -1}


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
    seats : tuple of int
        Every seat that was typed, each once; more than one where the opening cell is there twice.
    seat_text : str
        What stands for the seat, where it is no number of a seat.
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
    seats: tuple[int, ...] = ()
    seat_text: str = ""


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
    name = named(path, folder)
    moment, digest = 0.0, ""
    try:
        info = path.lstat()
        moment = info.st_mtime
        if not stat.S_ISREG(info.st_mode):
            raise Damaged(LINK)
        data = beginning(path, MOST_BYTES, whole=True)
        digest = hashlib.sha256(data).hexdigest()
        return _held(data, Returned(path, name, moment, digest))
    except Damaged as error:
        return Returned(path, name, moment, digest, str(error))
    except OSError as error:
        said = LINK if error.errno == errno.ELOOP else f"The file cannot be read: {unseen(error)}."
        return Returned(path, name, moment, digest, said)
    except MemoryError:
        said = "The file takes more memory than there is: clear what the cells show, and hand it in again."
        return Returned(path, name, moment, digest, said)


def _held(data: bytes, file: Returned) -> Returned:
    """Find what the notebook in a file holds."""
    notebook = _loaded(data)
    if not isinstance(notebook, dict) or not isinstance(
        notebook.get("cells", notebook.get("worksheets")), list
    ):
        raise Damaged("The file is no notebook: it holds no cells.")
    if notebook.get("nbformat") != 4 or not isinstance(notebook.get("cells"), list):
        raise Damaged(
            "The file is another kind of notebook, an old one perhaps: open it in JupyterLab, save it, and "
            "hand it in again."
        )
    replying: list[tuple[str, str, str]] = []
    opened: list[str] = []
    for cell in notebook["cells"]:
        if not isinstance(cell, dict):
            continue
        source, about, runs = _source(cell), _about(cell), cell.get("cell_type") == "code"
        if runs:
            opened += _OPENS.findall(source[:MOST_CELL])
        # a reply is still read where its cell was made one of text by mistake
        meant, found = _replies_to(source, about) if about or runs else ("", "")
        if meant or found:
            replying.append((source, meant, found))
        if len(replying) > MOST_REPLIES:
            raise Damaged(f"The page holds more than {MOST_REPLIES:,} replies, the most that are read.")
    written = sum(len(source) for source, *_ in replying if len(source) <= MOST_SOURCE)
    if written > MOST_WRITTEN:
        raise Damaged(
            f"The replies have {written:,} characters in all, and {MOST_WRITTEN:,} are read at most."
        )
    replies = [_reply(*reply) for reply in replying]
    made = _about(notebook)
    made_for = made.get("seat")
    if type(made_for) is not int or not 0 < made_for <= MOST_SEATS:
        made_for = 0
    name, seats, seat_text = _opening(opened)
    named = name or made.get("assignment")
    return replace(
        file,
        assignment=plain(named.strip(), 80) if isinstance(named, str) else "",
        seat=seats[-1] if seats else 0 if seat_text else made_for,
        made_for=made_for,
        replies=tuple(replies),
        seats=seats,
        seat_text=seat_text,
    )


def _opening(opened: list[str]) -> tuple[str, tuple[int, ...], str]:
    """Read what stands in the brackets that open an assignment: name, seats, and what is no seat."""
    name, strange = "", ""
    seats: dict[int, None] = {}
    for inside in opened:
        named = _NAME.search(inside)
        rest = inside[: named.start()] + inside[named.end() :] if named else inside
        found = _SEAT.search(re.sub(r"#[^\n]*", "", rest))
        text = found["seat"].strip() if found else ""
        name = name or (named["name"] if named else "")
        if re.fullmatch(r"[0-9]{1,9}", text) and int(text) <= MOST_SEATS:
            if int(text):
                seats.pop(int(text), None)  # typed again, it comes last
                seats[int(text)] = None
        elif text and text != "None":
            strange = strange or plain(text, 40)
    return name, tuple(seats), "" if seats else strange


def _loaded(data: bytes) -> object:
    if not data.strip():
        raise Damaged("The file is empty.")
    signs = _signs(data)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Damaged("The file is no text, so it is no notebook.") from None
    if len(signs) > 2 * MOST_PARTS:
        raise Damaged(f"The file holds more than {MOST_PARTS:,} parts, more than a page does.")
    if max(accumulate(map(_DEEPER.__getitem__, signs.translate(None, b","))), default=0) > DEEPEST:
        raise Damaged(f"The file is nested more than {DEEPEST} deep, which no notebook is.")
    del signs
    try:
        return json.loads(text, parse_int=_whole, parse_constant=str)
    except (ValueError, RecursionError):
        raise Damaged("The file is damaged: it breaks off, or is no notebook.") from None


def _signs(data: bytes) -> bytes:
    """Return the brackets and commas of a file, without those in its texts."""
    signs = data.replace(b"\\\\", b"").replace(b'\\"', b"").translate(None, _NO_SIGNS)
    kept, inside = [], 0
    for start in range(0, len(signs), 1_000_000):  # in pieces, so that a file of quotes takes no more memory
        pieces = signs[start : start + 1_000_000].split(b'"')
        kept.append(b"".join(pieces[inside::2]))
        inside ^= (len(pieces) - 1) % 2
    return b"".join(kept)


def _whole(digits: str) -> int:
    return int(digits) if len(digits) < 20 else 0


def _source(cell: dict[str, Any]) -> str:
    source = cell.get("source", "")
    if isinstance(source, list):
        source = "".join(line for line in source if isinstance(line, str))
    return source if isinstance(source, str) else ""


def _about(part: dict[str, Any]) -> dict[str, Any]:
    """Return what the metadata says about a page or a cell."""
    metadata = part.get("metadata")
    about = metadata.get(OURS) if isinstance(metadata, dict) else None
    return about if isinstance(about, dict) else {}


def _replies_to(source: str, about: dict[str, Any]) -> tuple[str, str]:
    """Return to which question a cell replies: by its metadata, and by its text; empty where to none."""
    meant, found = about.get("question"), _REPLY.search(source[:MOST_CELL])
    return meant if isinstance(meant, str) else "", found["id"] if found else ""


def _reply(source: str, meant: str, found: str) -> Reply:
    """Read a reply."""
    if not source.strip():
        return Reply(meant, "")
    value, unread = None, ""
    try:
        id, text, value = reply_of(source)
    except Unreadable as error:
        id = error.id or found or meant
        text, unread = error.text, str(error)
    changed = meant if meant and id != meant else ""
    return Reply(id[:SHOWN], plain(text, SHOWN), value, plain(unread), changed, bool(meant))

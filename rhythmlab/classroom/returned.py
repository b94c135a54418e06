"""A returned notebook, read without running anything in it.

What is looked at is text: the cell that opens the assignment, and the cells with replies.
A file that cannot be read says why; nothing that a pupil wrote is lost in silence.
"""

import hashlib
import json
import os
import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from rhythmlab.classroom.literal import Unreadable, reply_of
from rhythmlab.classroom.ready import MOST_SEATS
from rhythmlab.file_names import is_part

#: Largest file that is read, in bytes, and deepest nesting; a page with its sound and notes is smaller.
MOST_BYTES, DEEPEST = 20_000_000, 60
#: Most lists, entries and values in a file, most replies on a page, and how far a cell is looked through, in
#: characters.
MOST_PARTS, MOST_REPLIES, MOST_CELL = 1_000_000, 1_000, 100_000
#: Most entries of a folder that are looked at.
MOST_FILES = 20_000
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
_STRING = re.compile(r'"(?:[^"\\]++|\\.?)*+(?:"|\Z)', re.DOTALL)  # possessive: never tried again
_LINK = "This is a link or no plain file, and is not followed: hand in the notebook itself."
_JUNK = ("thumbs.db", "desktop.ini")
_NOT_ENTERED = (".ipynb_checkpoints", "__MACOSX")
#: What a gradebook writes; it is not taken for handed in where it lies beside.
_WRITTEN = ("marks.csv", "summary.html", "feedback")


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


def plain(text: str, most: int = 600) -> str:
    r"""Return text on one line, cut where it is long; what cannot be seen or stored is spelled out.

    Examples
    --------
    >>> plain("a\n  b\x00\ud800")
    'a b\\x00\\ud800'
    """
    text = text[: most + 1]
    if not text.isprintable():
        text = " ".join(text.split())
        text = "".join(c if c.isprintable() else _spelled(ord(c)) for c in text)
    return text if len(text) <= most else f"{text[: most - 3]}..."


def _spelled(letter: int) -> str:
    return f"\\x{letter:02x}" if letter < 256 else f"\\u{letter:04x}"


def handed_in(folder: Path) -> tuple[list[Path], list[str]]:
    """Find what was handed in, below a folder, whatever it is called; no link is followed.

    Parameters
    ----------
    folder : Path
        Where to look.

    Returns
    -------
    paths : list of Path
        Whatever may be a notebook, by name.
    aside : list of str
        What else is there, a sentence each: files that are no notebooks, folders that cannot be opened.

    Raises
    ------
    ValueError
        If there are more than `MOST_FILES` entries.
    """
    paths: list[Path] = []
    others: list[str] = []
    shut: list[str] = []
    left, seen = [folder], 0
    while left:
        here = left.pop()
        try:
            entries = list(_entries(here))
        except OSError:
            shut.append(_name(here, folder))
            continue
        seen += len(entries)
        if seen > MOST_FILES:
            raise ValueError(f"it holds more than {MOST_FILES:,} files and folders")
        ours = any(entry.name == "marks.csv" and entry.is_file() for entry in entries)
        for entry in entries:
            low = entry.name.lower()
            if entry.name.startswith("._") or low in _JUNK or is_part(low) or (ours and low in _WRITTEN):
                continue
            path = here / entry.name
            if entry.is_dir(follow_symlinks=False):
                if entry.name not in _NOT_ENTERED:
                    left.append(path)
            elif ".ipynb" in low or low.endswith(".json") or entry.is_dir() or _begins_so(entry):
                paths.append(path)
            elif not low.startswith("."):
                others.append(_name(path, folder))
    aside = [f"The folder {name} cannot be opened, so nothing in it was marked." for name in sorted(shut)]
    aside += [f"{name} is no notebook, and was not marked." for name in sorted(others)]
    return sorted(paths, key=lambda path: path.relative_to(folder).as_posix()), aside


def _entries(folder: Path) -> Iterator[os.DirEntry]:
    with os.scandir(folder) as entries:
        for count, entry in enumerate(entries):
            if count > MOST_FILES:
                return
            yield entry


def _begins_so(entry: os.DirEntry) -> bool:
    """Whether a file of any name begins as a notebook does."""
    try:
        return entry.is_file(follow_symlinks=False) and _bytes(entry.path, 200).lstrip(
            b"\xef\xbb\xbf \t\r\n"
        ).startswith(b"{")
    except (OSError, _Damaged):
        return False


def _name(path: Path, folder: Path) -> str:
    return plain(path.relative_to(folder).as_posix(), 300)


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
    name = _name(path, folder)
    moment, digest = 0.0, ""
    try:
        info = path.lstat()
        moment = info.st_mtime
        if not stat.S_ISREG(info.st_mode):
            raise _Damaged(_LINK)
        data = _bytes(path, MOST_BYTES + 1)
        if len(data) > MOST_BYTES:
            most, size = MOST_BYTES // 1_000_000, max(info.st_size, len(data)) / 1_000_000
            raise _Damaged(
                f"The file has {size:.1f} MB, and {most} MB are read at most: clear what the cells show, "
                "save it, and hand it in again."
            )
        digest = hashlib.sha256(data).hexdigest()
        return Returned(path, name, moment, digest, **_held(data))
    except _Damaged as error:
        return Returned(path, name, moment, digest, str(error))
    except OSError as error:
        said = error.strerror or "no reason is known"
        return Returned(path, name, moment, digest, f"The file cannot be read: {said}.")


def _bytes(path: str | Path, most: int) -> bytes:
    """Read the beginning of a plain file; a link is not followed, and a pipe is not waited for."""
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    with open(os.open(path, flags | getattr(os, "O_BINARY", 0)), "rb") as file:
        info = os.fstat(file.fileno())
        if not stat.S_ISREG(info.st_mode):
            raise _Damaged(_LINK)
        return file.read(min(most, info.st_size))


class _Damaged(ValueError):
    """Why a file cannot be read, in a sentence."""


def _held(data: bytes) -> dict[str, object]:
    """Find what a notebook holds."""
    notebook = _loaded(data)
    if not isinstance(notebook, dict) or not isinstance(
        notebook.get("cells", notebook.get("worksheets")), list
    ):
        raise _Damaged("The file is no notebook: it holds no cells.")
    if notebook.get("nbformat") != 4 or not isinstance(notebook.get("cells"), list):
        raise _Damaged(
            "The file is another kind of notebook, an old one perhaps: open it in JupyterLab, save it, and "
            "hand it in again."
        )
    cells = [(cell, _source(cell), _about(cell)) for cell in notebook["cells"] if isinstance(cell, dict)]
    # a reply is still read where its cell was made one of text by mistake
    tagged = [(source, about) for cell, source, about in cells if about or cell.get("cell_type") == "code"]
    replies = [reply for source, about in tagged if (reply := _reply(source, about)) is not None]
    if len(replies) > MOST_REPLIES:
        raise _Damaged(f"The page holds {len(replies):,} replies, and {MOST_REPLIES:,} are read at most.")
    made = _about(notebook)
    made_for = made.get("seat")
    if type(made_for) is not int or not 0 < made_for <= MOST_SEATS:
        made_for = 0
    opened = [
        inside
        for cell, source, _ in cells
        if cell.get("cell_type") == "code"
        for inside in _OPENS.findall(source[:MOST_CELL])
    ]
    name, seats, seat_text = _opening(opened)
    name = name or made.get("assignment")
    return {
        "assignment": plain(name.strip(), 80) if isinstance(name, str) else "",
        "seat": seats[-1] if seats else 0 if seat_text else made_for,
        "made_for": made_for,
        "replies": tuple(replies),
        "seats": seats,
        "seat_text": seat_text,
    }


def _opening(opened: list[str]) -> tuple[str, tuple[int, ...], str]:
    """Read what stands in the brackets that open an assignment: name, seats, and what is no seat."""
    name, strange = "", ""
    seats: list[int] = []
    for inside in opened:
        named = _NAME.search(inside)
        rest = inside[: named.start()] + inside[named.end() :] if named else inside
        found = _SEAT.search(re.sub(r"#[^\n]*", "", rest))
        text = found["seat"].strip() if found else ""
        name = name or (named["name"] if named else "")
        if re.fullmatch(r"[0-9]{1,9}", text) and int(text) <= MOST_SEATS:
            if int(text) and int(text) not in seats:
                seats.append(int(text))
        elif text and text != "None":
            strange = strange or plain(text, 40)
    return name, tuple(seats), "" if seats else strange


def _loaded(data: bytes) -> object:
    if not data.strip():
        raise _Damaged("The file is empty.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _Damaged("The file is no text, so it is no notebook.") from None
    bare = _STRING.sub("", text)
    if sum(bare.count(sign) for sign in "[]{},") > 2 * MOST_PARTS:
        raise _Damaged(f"The file holds more than {MOST_PARTS:,} parts, more than a page does.")
    depth = 0
    for sign in re.findall(r"[][{}]", bare):
        depth += 1 if sign in "[{" else -1
        if depth > DEEPEST:
            raise _Damaged(f"The file is nested more than {DEEPEST} deep, which no notebook is.")
    del bare
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
        return Reply(meant, "")
    value, unread = None, ""
    try:
        id, text, value = reply_of(source)
    except Unreadable as error:
        id = error.id or (named["id"] if named else meant)
        text, unread = error.text, str(error)
    changed = meant if meant and id != meant else ""
    return Reply(id[:SHOWN], plain(text, SHOWN), value, plain(unread), changed, bool(meant))

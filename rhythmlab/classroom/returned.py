"""A folder of strangers' notebooks: found and read, with nothing run, no link followed, no pipe waited for.

What is looked at is text: the cell that opens the assignment, and the cells with replies.
A file that cannot be read says why; nothing that a pupil wrote is lost in silence.
"""

import errno
import hashlib
import json
import os
import re
import stat
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import accumulate
from pathlib import Path
from typing import Any

from rhythmlab.classroom.assignment import MOST_SEATS
from rhythmlab.classroom.reader import MOST_SOURCE, Unreadable, reply_of
from rhythmlab.files import is_part, reason_unseen
from rhythmlab.refusal import Refusal

#: Most entries of a folder that are looked at, with all that lie below it, and most that are told by name.
MOST_FILES, MOST_TOLD = 20_000, 200
LINK = "This is a link or no plain file, and is not followed: hand in the notebook itself."
_JUNK = ("thumbs.db", "desktop.ini")
_NOT_ENTERED = (".ipynb_checkpoints", "__MACOSX")
#: What a gradebook writes; it is not taken for handed in where it lies beside.
_TABLES = ("marks.csv", "summary.html")
_PAGES = re.compile(r"(?:seat-[0-9]+(?:-page-[0-9]+)?|not-marked-[0-9]+)\.html")
#: Largest file that is read, in bytes, and deepest nesting; a page with its sound and notes is smaller.
MOST_BYTES, DEEPEST = 20_000_000, 60
#: Most lists, entries and values in a file; most replies on a page, and characters of all of them together;
#: and how far a cell is looked through, in characters.
MOST_PARTS, MOST_REPLIES, MOST_WRITTEN, MOST_CELL = 1_000_000, 1_000, 200_000, 100_000
#: How much of an answer is shown again, in characters.
SHOWN = 200
#: Where a page keeps what it is about, in the metadata of the notebook and of its cells.
METADATA_KEY = "rhythmlab"
_OPENS = re.compile(
    r"""^[ \t]{0,9}work\s{0,9}=\s{0,9}(?:rl|rhythmlab)\s{0,3}\.\s{0,3}(?:classroom\s{0,3}\.\s{0,3})?assignment
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


class DamagedFile(ValueError):
    """Why a file cannot be read, in a sentence."""


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
class ReturnedNotebook:
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


def find_notebooks(folder: Path) -> tuple[list[Path], dict[Path, str], list[str]]:
    """Find what was handed in, below a folder, whatever it is called; no link is followed.

    Folders are walked level by level, so that a pupil's crowded one takes no room from the others.

    Parameters
    ----------
    folder : Path
        Where to look.

    Returns
    -------
    paths : list of Path
        Whatever may be a notebook, by name; links, pipes, and what cannot be looked at, too.
    shut : dict of Path to str
        Folders that cannot be opened or read to their end, by name, each with the reason in a sentence.
    aside : list of str
        What else is there, a sentence each: files that are no notebooks.

    Raises
    ------
    ValueError
        If the folder itself cannot be opened, or holds more than `MOST_FILES` entries.
    """
    paths: list[Path] = []
    others: list[str] = []
    shut: dict[Path, str] = {}
    left, seen = deque([(folder, False)]), 0
    while left:
        here, written = left.popleft()
        entries, refused = _entries_by_name(here)
        if here == folder and refused and not entries:
            raise Refusal(f"it cannot be opened: {refused}")
        if seen + len(entries) > MOST_FILES:
            if here == folder:
                raise Refusal(f"it holds more than {MOST_FILES:,} files and folders; give a smaller one")
            refused, entries = f"with the others it holds more than {MOST_FILES:,} files and folders", []
        seen += len(entries)
        if refused:
            shut[here] = _why_shut(refused, bool(entries))
        ours = any(entry.name == "marks.csv" and _kind(entry) == "file" for entry in entries)
        for entry in entries:
            low, path, kind = entry.name.lower(), here / entry.name, _kind(entry)
            if kind == "folder":
                if entry.name not in _NOT_ENTERED:
                    left.append((path, ours and low == "feedback"))
            elif kind == "file" and (
                entry.name.startswith("._")
                or low in _JUNK
                or is_part(low)
                or (ours and low in _TABLES)
                or (written and _PAGES.fullmatch(low))
            ):
                continue
            elif ".ipynb" in low or low.endswith(".json") or kind != "file" or _begins_as_a_notebook(path):
                paths.append(path)
            elif not low.startswith("."):
                others.append(file_label(path, folder))
    by_name = sorted(shut, key=lambda path: file_label(path, folder))
    first = by_name if len(by_name) < MOST_TOLD + 2 else by_name[:MOST_TOLD]
    aside = []
    if len(first) < len(by_name):
        more = f"{len(by_name) - len(first):,} more folders"
        aside = [f"{more} cannot be opened or read to their end, so nothing more in them was marked."]
    aside += _at_most_told(
        [f"{name} is no notebook, and was not marked." for name in sorted(others)],
        "more files are no notebooks, and were not marked.",
    )
    paths.sort(key=lambda path: path.relative_to(folder).as_posix())
    return paths, {path: shut[path] for path in first}, aside


def _why_shut(refused: str, partly: bool) -> str:
    """Say of a folder that it cannot be opened, or not be read to its end."""
    if partly:
        return f"This folder cannot be read to its end ({refused}), so more may lie in it."
    return f"This folder cannot be opened ({refused}), so nothing in it was marked."


def _at_most_told(lines: Sequence[str], more: str) -> list[str]:
    """Return sentences by name, and of very many only the first."""
    lines = sorted(lines)
    left = len(lines) - MOST_TOLD
    return lines if left < 2 else [*lines[:MOST_TOLD], f"{left:,} {more}"]


def _entries_by_name(folder: Path) -> tuple[list[os.DirEntry[str]], str]:
    """Return what lies in a folder, by name, and why not all of it can be told; empty where it can."""
    entries: list[os.DirEntry[str]] = []
    refused = ""
    try:
        for entry in _entries(folder):
            entries.append(entry)
    except OSError as error:
        refused = reason_unseen(error)
    return sorted(entries, key=lambda entry: entry.name), refused


def _entries(folder: Path) -> Iterator[os.DirEntry[str]]:
    with os.scandir(folder) as entries:
        for count, entry in enumerate(entries):
            if count > MOST_FILES:
                return
            yield entry


def _kind(entry: os.DirEntry[str]) -> str:
    """Say what an entry is, itself and not what it leads to."""
    try:
        if entry.is_symlink():
            return "link"
        if entry.is_dir(follow_symlinks=False):
            return "folder"
        return "file" if entry.is_file(follow_symlinks=False) else "other"
    except OSError:
        return "unknown"


def _begins_as_a_notebook(path: Path) -> bool:
    """Whether a file of any name begins as a notebook does, or cannot be looked at."""
    try:
        return read_beginning(path, 200).lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{")
    except (OSError, DamagedFile):
        return True


def read_notebook(path: Path, folder: Path) -> ReturnedNotebook:
    """Read a returned notebook.

    Parameters
    ----------
    path : Path
        The file.
    folder : Path
        The folder that was handed in: what leads out of it is not read.

    Returns
    -------
    ReturnedNotebook
        With its damage said in a sentence where it cannot be read; it never fails.
    """
    name = file_label(path, folder)
    moment, digest = 0.0, ""
    try:
        info = path.lstat()
        moment = info.st_mtime
        if not stat.S_ISREG(info.st_mode):
            raise DamagedFile(LINK)
        data = read_beginning(path, MOST_BYTES, whole=True)
        digest = hashlib.sha256(data).hexdigest()
        return _read_cells(data, ReturnedNotebook(path, name, moment, digest))
    except DamagedFile as error:
        return ReturnedNotebook(path, name, moment, digest, str(error))
    except OSError as error:
        said = LINK if error.errno == errno.ELOOP else f"The file cannot be read: {reason_unseen(error)}."
        return ReturnedNotebook(path, name, moment, digest, said)
    except MemoryError:
        said = "The file takes more memory than there is: clear what the cells show, and hand it in again."
        return ReturnedNotebook(path, name, moment, digest, said)


def _read_cells(data: bytes, file: ReturnedNotebook) -> ReturnedNotebook:
    """Find what the notebook in a file holds."""
    notebook = _load(data)
    if not isinstance(notebook, dict) or not isinstance(
        notebook.get("cells", notebook.get("worksheets")), list
    ):
        raise DamagedFile("The file is no notebook: it holds no cells.")
    if notebook.get("nbformat") != 4 or not isinstance(notebook.get("cells"), list):
        raise DamagedFile(
            "The file is another kind of notebook, an old one perhaps: open it in JupyterLab, save it, and "
            "hand it in again."
        )
    replying: list[tuple[str, str, str]] = []
    opened: list[str] = []
    for cell in notebook["cells"]:
        if not isinstance(cell, dict):
            continue
        source, about, runs = _source(cell), _metadata(cell), cell.get("cell_type") == "code"
        if runs:
            opened += _OPENS.findall(source[:MOST_CELL])
        # a reply is still read where its cell was made one of text by mistake
        meant, found = _replies_to(source, about) if about or runs else ("", "")
        if meant or found:
            replying.append((source, meant, found))
        if len(replying) > MOST_REPLIES:
            raise DamagedFile(f"The page holds more than {MOST_REPLIES:,} replies, the most that are read.")
    written = sum(len(source) for source, *_ in replying if len(source) <= MOST_SOURCE)
    if written > MOST_WRITTEN:
        raise DamagedFile(
            f"The replies have {written:,} characters in all, and {MOST_WRITTEN:,} are read at most."
        )
    replies = [_reply(*reply) for reply in replying]
    made = _metadata(notebook)
    made_for = made.get("seat")
    if type(made_for) is not int or not 0 < made_for <= MOST_SEATS:
        made_for = 0
    name, seats, seat_text = _opening(opened)
    named = name or made.get("assignment")
    return replace(
        file,
        assignment=one_line(named.strip(), 80) if isinstance(named, str) else "",
        seat=seats[-1] if seats else 0 if seat_text else made_for,
        made_for=made_for,
        replies=tuple(replies),
        seats=seats,
        seat_text=seat_text,
    )


def _load(data: bytes) -> object:
    if not data.strip():
        raise DamagedFile("The file is empty.")
    signs = _signs(data)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise DamagedFile("The file is no text, so it is no notebook.") from None
    if len(signs) > 2 * MOST_PARTS:
        raise DamagedFile(f"The file holds more than {MOST_PARTS:,} parts, more than a page does.")
    if max(accumulate(map(_DEEPER.__getitem__, signs.translate(None, b","))), default=0) > DEEPEST:
        raise DamagedFile(f"The file is nested more than {DEEPEST} deep, which no notebook is.")
    del signs
    try:
        return json.loads(text, parse_int=_whole_number, parse_constant=str)
    except (ValueError, RecursionError):
        raise DamagedFile("The file is damaged: it breaks off, or is no notebook.") from None


def _signs(data: bytes) -> bytes:
    """Return the brackets and commas of a file, without those in its texts."""
    signs = data.replace(b"\\\\", b"").replace(b'\\"', b"").translate(None, _NO_SIGNS)
    kept, inside = [], 0
    for start in range(0, len(signs), 1_000_000):  # in pieces, so that a file of quotes takes no more memory
        pieces = signs[start : start + 1_000_000].split(b'"')
        kept.append(b"".join(pieces[inside::2]))
        inside ^= (len(pieces) - 1) % 2
    return b"".join(kept)


def _whole_number(digits: str) -> int:
    return int(digits) if len(digits) < 20 else 0


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
            strange = strange or one_line(text, 40)
    return name, tuple(seats), "" if seats else strange


def _source(cell: dict[str, Any]) -> str:
    source = cell.get("source", "")
    if isinstance(source, list):
        source = "".join(line for line in source if isinstance(line, str))
    return source if isinstance(source, str) else ""


def _metadata(part: dict[str, Any]) -> dict[str, Any]:
    """Return what the metadata says about a page or a cell."""
    metadata = part.get("metadata")
    about = metadata.get(METADATA_KEY) if isinstance(metadata, dict) else None
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
    return Reply(id[:SHOWN], one_line(text, SHOWN), value, one_line(unread), changed, bool(meant))


def read_beginning(path: str | Path, most: int, *, whole: bool = False) -> bytes:
    """Read the beginning of a plain file; a link is not followed, and a pipe is not waited for.

    Parameters
    ----------
    path : str or Path
        The file.
    most : int
        Bytes that are read at most.
    whole : bool
        Whether a larger file, or one that changes meanwhile, is refused.

    Raises
    ------
    DamagedFile
        If it is no plain file, or, where it is wanted whole, larger or changing.
    OSError
        If it cannot be opened.
    """
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    flags |= getattr(os, "O_NOCTTY", 0) | getattr(os, "O_BINARY", 0)
    number = os.open(path, flags)
    try:
        info = os.fstat(number)
        if not stat.S_ISREG(info.st_mode):
            raise DamagedFile(LINK)
        if whole and info.st_size > most:
            raise DamagedFile(
                f"The file has {info.st_size / 1_000_000:,.1f} MB, and {most // 1_000_000} MB are read at "
                "most: clear what the cells show, save it, and hand it in again."
            )
        data, size = b"", min(most, info.st_size)
        while len(data) < size and (more := os.read(number, size - len(data))):
            data += more  # a plain file comes in one piece
        after = os.fstat(number)
        same = (info.st_size, info.st_mtime_ns) == (after.st_size, after.st_mtime_ns)
        if whole and not (same and len(data) == info.st_size):
            raise DamagedFile("The file changed while it was read: mark it again when it is saved.")
        return data
    finally:
        os.close(number)


def file_label(path: Path, folder: Path) -> str:
    """Return how a file is called in a table: its path below a folder, the middle left out where it is long.

    Examples
    --------
    >>> file_label(Path("returned/first group/7.ipynb"), Path("returned"))
    'first group/7.ipynb'
    """
    name = one_line(path.relative_to(folder).as_posix(), 20_000)
    return name if len(name) <= 300 else f"{name[:97]}...{name[-200:]}"


def one_line(text: str, most: int = 600) -> str:
    r"""Return text on one line, cut where it is long; what cannot be seen or stored is spelled out.

    Examples
    --------
    >>> one_line("a\n  b\x00\ud800")
    'a b\\x00\\ud800'
    """
    text = text[: most + 1]
    if not text.isprintable():
        text = " ".join(text.split())
        text = "".join(c if c.isprintable() else _spelled(ord(c)) for c in text)
    return text if len(text) <= most else f"{text[: most - 3]}..."


def _spelled(letter: int) -> str:
    return f"\\x{letter:02x}" if letter < 256 else f"\\u{letter:04x}"

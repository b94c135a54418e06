"""A folder of files that strangers wrote: found and read without following a link or waiting for a pipe."""

import os
import re
import stat
from collections import deque
from collections.abc import Iterator, Sequence
from pathlib import Path

from rhythmlab.files import is_part, unseen
from rhythmlab.refusal import Refusal

#: Most entries of a folder that are looked at, with all that lie below it, and most that are told by name.
MOST_FILES, MOST_TOLD = 20_000, 200

LINK = "This is a link or no plain file, and is not followed: hand in the notebook itself."
_JUNK = ("thumbs.db", "desktop.ini")
_NOT_ENTERED = (".ipynb_checkpoints", "__MACOSX")
#: What a gradebook writes; it is not taken for handed in where it lies beside.
_TABLES = ("marks.csv", "summary.html")
_PAGES = re.compile(r"(?:seat-[0-9]+(?:-page-[0-9]+)?|not-marked-[0-9]+)\.html")


class Damaged(ValueError):
    """Why a file cannot be read, in a sentence."""


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


def named(path: Path, folder: Path) -> str:
    """Return how a file is called in a table: its path below a folder, the middle left out where it is long.

    Examples
    --------
    >>> named(Path("returned/first group/7.ipynb"), Path("returned"))
    'first group/7.ipynb'
    """
    name = plain(path.relative_to(folder).as_posix(), 20_000)
    return name if len(name) <= 300 else f"{name[:97]}...{name[-200:]}"


def handed_in(folder: Path) -> tuple[list[Path], dict[Path, str], list[str]]:
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
        entries, refused = _listed(here)
        if here == folder and refused and not entries:
            raise Refusal(f"it cannot be opened: {refused}")
        if seen + len(entries) > MOST_FILES:
            if here == folder:
                raise Refusal(f"it holds more than {MOST_FILES:,} files and folders; give a smaller one")
            refused, entries = f"with the others it holds more than {MOST_FILES:,} files and folders", []
        seen += len(entries)
        if refused:
            shut[here] = _shut(refused, bool(entries))
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
            elif ".ipynb" in low or low.endswith(".json") or kind != "file" or _begins_so(path):
                paths.append(path)
            elif not low.startswith("."):
                others.append(named(path, folder))
    by_name = sorted(shut, key=lambda path: named(path, folder))
    first = by_name if len(by_name) < MOST_TOLD + 2 else by_name[:MOST_TOLD]
    aside = []
    if len(first) < len(by_name):
        more = f"{len(by_name) - len(first):,} more folders"
        aside = [f"{more} cannot be opened or read to their end, so nothing more in them was marked."]
    aside += _told(
        [f"{name} is no notebook, and was not marked." for name in sorted(others)],
        "more files are no notebooks, and were not marked.",
    )
    paths.sort(key=lambda path: path.relative_to(folder).as_posix())
    return paths, {path: shut[path] for path in first}, aside


def _shut(refused: str, partly: bool) -> str:
    """Say of a folder that it cannot be opened, or not be read to its end."""
    if partly:
        return f"This folder cannot be read to its end ({refused}), so more may lie in it."
    return f"This folder cannot be opened ({refused}), so nothing in it was marked."


def _told(lines: Sequence[str], more: str) -> list[str]:
    """Return sentences by name, and of very many only the first."""
    lines = sorted(lines)
    left = len(lines) - MOST_TOLD
    return lines if left < 2 else [*lines[:MOST_TOLD], f"{left:,} {more}"]


def _listed(folder: Path) -> tuple[list[os.DirEntry[str]], str]:
    """Return what lies in a folder, by name, and why not all of it can be told; empty where it can."""
    entries: list[os.DirEntry[str]] = []
    refused = ""
    try:
        for entry in _entries(folder):
            entries.append(entry)
    except OSError as error:
        refused = unseen(error)
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


def _begins_so(path: Path) -> bool:
    """Whether a file of any name begins as a notebook does, or cannot be looked at."""
    try:
        return beginning(path, 200).lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{")
    except (OSError, Damaged):
        return True


def beginning(path: str | Path, most: int, *, whole: bool = False) -> bytes:
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
    Damaged
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
            raise Damaged(LINK)
        if whole and info.st_size > most:
            raise Damaged(
                f"The file has {info.st_size / 1_000_000:,.1f} MB, and {most // 1_000_000} MB are read at "
                "most: clear what the cells show, save it, and hand it in again."
            )
        data, size = b"", min(most, info.st_size)
        while len(data) < size and (more := os.read(number, size - len(data))):
            data += more  # a plain file comes in one piece
        after = os.fstat(number)
        same = (info.st_size, info.st_mtime_ns) == (after.st_size, after.st_mtime_ns)
        if whole and not (same and len(data) == info.st_size):
            raise Damaged("The file changed while it was read: mark it again when it is saved.")
        return data
    finally:
        os.close(number)

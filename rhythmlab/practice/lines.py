"""Lines of a journal: written whole at the end of a file, each with a checksum, and read past any damage.

A journal is a text file in UTF-8 with one JSON object a line.
The first line is ``{"rhythmlab journal":1,...}``, the version of this format.
Every line ends with the field ``crc32``, the CRC-32 (zlib) of the line's bytes without that field, in eight
hexadecimal digits: a line that does not fit its checksum is damaged, set aside and told.
"""

import errno
import json
import os
import re
import stat
import time
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any, TypeAlias

from rhythmlab.core import long_work
from rhythmlab.refusal import Refusal

#: Largest journal that is read, in bytes: a hundred thousand takes.
MOST_BYTES = 200_000_000
#: Version of the format that is written, and the field that names it.
VERSION, HEAD = 1, "rhythmlab journal"

_END = re.compile(r',"crc32":"([0-9a-f]{8})"\}$')
_START = re.compile(r'\{"(?:kind":"|rhythmlab journal":)')
_DECODER = json.JSONDecoder()
#: What a lock says that another process holds.
BUSY = (errno.EAGAIN, errno.EACCES, errno.EDEADLK)


@dataclass(frozen=True, slots=True)
class Damaged:
    """A line that could not be read.

    Attributes
    ----------
    line : int
        Its number, from 1.
    start : str
        How it begins.
    why : str
        What is wrong with it.
    raw : bytes
        All of it.
    """

    line: int
    start: str
    why: str
    raw: bytes


#: What an entry holds, by name.
Entry: TypeAlias = dict[str, Any]
#: What takes or gives back a lock on a descriptor.
Lock: TypeAlias = Callable[[int], object]


class Entries(tuple[Entry, ...]):
    """The entries of a journal in the order of the file, as dicts, each id once.

    Attributes
    ----------
    damaged : tuple of Damaged
        Lines that could not be read.
    told : str
        One sentence for the reader; empty if all is well.
    version : int or None
        Version of the format that the file names.
    """

    damaged: tuple[Damaged, ...] = ()
    told: str = ""
    version: int | None = None


def line(entry: Mapping[str, Any]) -> bytes:
    r"""Return an entry as the line that is written, its checksum and the line's end included.

    Examples
    --------
    >>> line({"kind": "note", "text": "dry sticks"})
    b'{"kind":"note","text":"dry sticks","crc32":"8ea4f151"}\n'
    """
    try:
        body = json.dumps(entry, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()
    except UnicodeEncodeError:  # half a character, as a browser can send
        body = json.dumps(entry, allow_nan=False, separators=(",", ":")).encode()
    return body[:-1] + b',"crc32":"%08x"}\n' % zlib.crc32(body)


def good(text: str) -> Entry | None:
    """Return what a line holds, without its checksum; ``None`` where the checksum does not fit.

    Examples
    --------
    >>> good('{"kind":"note","text":"dry sticks","crc32":"8ea4f151"}')
    {'kind': 'note', 'text': 'dry sticks'}
    >>> good('{"kind":"note","text":"wet sticks","crc32":"8ea4f151"}') is None
    True
    """
    end = _END.search(text)
    body = f"{text[: end.start()]}}}" if end else ""
    if not end or zlib.crc32(body.encode("utf-8", "surrogateescape")) != int(end[1], 16):
        return None
    try:
        found = json.loads(body)
    except (ValueError, RecursionError):
        return None
    return found if isinstance(found, dict) else None


def parsed(contents: bytes, name: str) -> Entries:
    """Read a journal, whatever has happened to it.

    Parameters
    ----------
    contents : bytes
        The file.
    name : str
        What to call it in the sentence for the reader.

    Returns
    -------
    Entries
        Every entry that fits its checksum, also where two lines have run into one.  A line cut short is
        not counted as damaged where the same entry stands whole in another line.
    """
    found: dict[str, tuple[Entry, str]] = {}
    broken: list[Damaged] = []
    unlike: list[str] = []
    version = None
    for at, raw in enumerate(contents.split(b"\n"), 1):
        text = raw.decode("utf-8", "surrogateescape").strip(" \r")
        if not text:
            continue
        entry = good(text)
        inside = [(text, entry)] if entry is not None else entries_in(text)
        if entry is None:
            broken.append(damaged(at, text, len(inside), raw))
        for piece, one in inside:
            if HEAD in one:
                version = version or one[HEAD]
                continue
            key = str(one.get("id", piece))
            if key not in found:
                found[key] = (one, piece)
            elif {**found[key][0], "when": ""} != {**one, "when": ""}:
                unlike.append(key)
    entries = Entries(entry for entry, _ in found.values())
    entries.damaged = tuple(line for line in broken if not torn_copy(line, found))
    entries.version = version
    entries.told = told_of(entries, unlike, name, something=bool(contents.strip()))
    return entries


def damaged(number: int, text: str, inside: int, raw: bytes) -> Damaged:
    """Return a damaged line with its number, and how many whole ones are inside it."""
    return Damaged(number, text[:40].encode("utf-8", "replace").decode(), _why(text, inside), raw)


def entries_in(text: str) -> list[tuple[str, Entry]]:
    """Return the whole lines inside a damaged one, each with what it holds."""
    found: list[tuple[str, Entry]] = []
    at = 0
    for start in _START.finditer(text):
        if start.start() >= at:
            try:
                _, end = _DECODER.raw_decode(text, start.start())
            except (ValueError, RecursionError):
                continue
            piece = text[start.start() : end]
            entry = good(piece)
            if entry is not None:
                found.append((piece, entry))
                at = end
    return found


def _why(text: str, inside: int) -> str:
    if inside:
        return f"lines have run into one, and {inside} of them could be read"
    if not text.endswith("}"):
        return "it is cut short"
    return "its checksum does not fit" if _END.search(text) else "it has no checksum"


def torn_copy(line: Damaged, found: Mapping[str, tuple[object, str]]) -> bool:
    """Whether a torn line is the beginning of an entry that stands whole elsewhere: it was sent again."""
    text = line.raw.decode("utf-8", "surrogateescape")
    name = re.match(r'\{"kind":"[^"\\]*","id":("(?:[^"\\]|\\.)*"),', text)
    try:
        return name is not None and found[json.loads(name[1])][1].startswith(text)
    except (KeyError, ValueError):
        return False


def told_of(entries: Entries, unlike: list[str], name: str, *, something: bool, call: bool = True) -> str:
    """Say in one sentence what could not be read in a file; with the call that sets it aside, or without."""
    said = []
    if something and entries.version is None and not entries:
        said.append(f"{name} is not a journal, or nothing in it can be read")
    elif entries.damaged:
        first, count = entries.damaged[0], len(entries.damaged)
        lines, them = ("1 line", "it") if count == 1 else (f"{count} lines", "them")
        said.append(
            f"{lines} of {name} could not be read (line {first.line}: {first.why}) and everything else was"
            + f"; Journal().set_aside() copies {them} to a file beside it" * call
        )
    if entries.version not in (None, VERSION):
        said.append(
            f"{name} was written by a newer rhythmlab, so what can be read is shown and nothing is added"
        )
    if unlike:
        said.append(f"two entries of {name} have the id {unlike[0]!r} but differ, and the first one counts")
    text = "; ".join(said)
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def named(path: Path) -> str:
    """Name a file; a name that is longer than any disk takes is cut.

    Examples
    --------
    >>> named(Path("journal.jsonl")), len(named(Path("x" * 1000)))
    ('journal.jsonl', 300)
    """
    name = str(path)
    return name if len(name) <= 300 else f"{name[:297]}..."


@contextmanager
def opened(path: Path, flags: int) -> Iterator[int]:
    """Open a plain file, and nothing else: a pipe would wait for ever.

    Raises
    ------
    OSError
        If it cannot be opened.
    """
    with suppress(FileNotFoundError):
        mode = os.stat(path).st_mode
        if not stat.S_ISREG(mode):
            raise OSError(errno.EISDIR if stat.S_ISDIR(mode) else errno.ESPIPE, "not a plain file")
    fd = os.open(path, flags | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0), 0o666)
    try:
        yield fd
    finally:
        os.close(fd)


@contextmanager
def locked(fd: int, wait: float, *, shared: bool = False) -> Iterator[None]:
    """Take turns with other processes: flock on POSIX, msvcrt on Windows, else nothing.

    Parameters
    ----------
    fd : int
        The open file.
    wait : float
        Seconds to wait for the others.
    shared : bool
        Whether other readers may go on; on Windows they may not.

    Raises
    ------
    BlockingIOError
        If another process does not finish.
    """
    take, give = lock_of(shared=shared)
    until = time.monotonic() + wait
    while True:
        try:
            take(fd)
            break
        except OSError as error:
            if error.errno not in BUSY:
                give = None  # this file system has no locks
                break
            if time.monotonic() > until:
                raise BlockingIOError(errno.EAGAIN, "another process is writing") from error
            time.sleep(0.002)
    try:
        yield
    finally:
        if give:
            with suppress(OSError):
                give(fd)


def lock_of(*, shared: bool) -> tuple[Lock, Lock | None]:
    """Return how to take a lock on a descriptor without waiting, and how to give it back.

    Without locks on this system the second is ``None``.
    """
    with suppress(ImportError, AttributeError):  # Python in a browser has the module, and nothing in it
        import fcntl

        kind = fcntl.LOCK_SH if shared else fcntl.LOCK_EX
        return lambda fd: fcntl.flock(fd, kind | fcntl.LOCK_NB), lambda fd: fcntl.flock(fd, fcntl.LOCK_UN)
    with suppress(ImportError):
        msvcrt = import_module("msvcrt")  # of another system: its names are not known here

        def at_far_end(fd: int, mode: int) -> None:  # beyond any entry, so that nobody is kept from reading
            os.lseek(fd, 2**30, os.SEEK_SET)
            msvcrt.locking(fd, mode, 1)

        return lambda fd: at_far_end(fd, msvcrt.LK_NBLCK), lambda fd: at_far_end(fd, msvcrt.LK_UNLCK)
    return lambda fd: None, None


def contents(fd: int) -> bytes:
    """Return all that is in an open file."""
    size = os.lseek(fd, 0, os.SEEK_END)
    if size > MOST_BYTES:
        raise OSError(errno.EFBIG, f"it has {size:,} bytes, more than {MOST_BYTES:,}")
    long_work.say(f"A journal of {size / 1e6:,.0f} MB", seconds=size / 1e7, megabytes=size * 6 / 1e6)
    os.lseek(fd, 0, os.SEEK_SET)
    with os.fdopen(os.dup(fd), "rb") as file:
        return file.read(MOST_BYTES + 1)


def put(fd: int, new: bytes, path: Path) -> None:
    """Write a line at the end of a locked journal, and wait until the disk has it.

    A torn line at the end, left by a process that was stopped, stays a line of its own.

    Raises
    ------
    ValueError
        If the file is no journal, or one of a newer version; nothing is written then.
    OSError
        If the disk does not take it.
    """
    size = os.lseek(fd, 0, os.SEEK_END)
    version, before = None, b""
    if size:
        os.lseek(fd, 0, os.SEEK_SET)
        first = os.read(fd, 200).split(b"\n")[0]
        version = (good(first.decode("utf-8", "surrogateescape")) or {}).get(HEAD)
        if version is None:  # seldom: look at all of it
            entries = parsed(contents(fd), path.name)
            version = entries.version
            if version is None and not entries and not line({HEAD: VERSION}).startswith(first.strip()):
                raise Refusal(f"{path} is not a journal, so nothing is added to it; rename it")
        if version not in (None, VERSION):
            raise Refusal(
                f"{path} was written by a newer rhythmlab (format {version}, this one writes "
                f"{VERSION}), so nothing is added to it; install the newer one"
            )
        os.lseek(fd, -1, os.SEEK_END)
        before = b"" if os.read(fd, 1) == b"\n" else b"\n"
    left = memoryview(before + (line({HEAD: VERSION}) if version is None else b"") + new)
    while left:  # one write, unless the disk takes less
        written = os.write(fd, left)
        if not written:
            raise OSError(errno.ENOSPC, "nothing more is written")
        left = left[written:]
    os.fsync(fd)
    if not size and hasattr(os, "O_DIRECTORY"):  # the new name, too, must be on the disk
        with suppress(OSError):
            folder = os.open(path.parent, os.O_RDONLY | os.O_DIRECTORY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)

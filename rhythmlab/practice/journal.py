"""What was practised, on disk: a file to which each entry is added as one line with its checksum."""

import csv
import errno
import io
import json
import math
import os
import re
import secrets
import stat
import time
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import date, datetime
from fractions import Fraction
from html import escape
from itertools import takewhile
from numbers import Integral, Rational, Real
from pathlib import Path
from typing import Any, TypeAlias

from rhythmlab.core import check, long_work
from rhythmlab.core.check import MOST_DIGITS, MOST_LISTED, a, short
from rhythmlab.core.display import Written, framed
from rhythmlab.core.public import public_class
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.files import put, reason, remedy, save
from rhythmlab.locks import BUSY, lock_of
from rhythmlab.practice.history import asked_limbs, asked_pair, day_of, number_of, pair_of, uncounted, wrong
from rhythmlab.refusal import Refusal
from rhythmlab.text import numbers
from rhythmlab.working_folder import place_for_files

#: The file, in the reader's working folder.
FILE = "journal.jsonl"
#: What an entry can be.
KINDS = ("take", "session", "limit", "note")
#: Version of the format that is written, and the field that names it.
VERSION, HEAD = 1, "rhythmlab journal"
#: Largest journal that is read, in bytes: a hundred thousand takes.
MOST_BYTES = 200_000_000
#: Longest entry, in bytes, and how deep its lists and dicts may be in each other.
MOST_ENTRY, _DEEP = 10_000_000, 20
#: Journals remembered at once.
MOST_REMEMBERED = 4
#: The end of a line: its checksum.  The start of a line, also inside a damaged one.
_END = re.compile(r',"crc32":"([0-9a-f]{8})"\}$')
_START = re.compile(r'\{"(?:kind":"|rhythmlab journal":)')
_DECODER = json.JSONDecoder()
#: The start of a line that this package wrote: kind, id and time.
_HEAD = re.compile(rb'\{"kind":"(\w+)","id":"([^"\\]*)","when":"([^"\\]*)"[,}]')
#: Lists of numbers, then lists of words and of dicts, that are left out; a quote inside a text is never bare.
_NUMBERS = re.compile(
    rb',"(?:beats|bars|onsets|accents|ghosts|tap_lanes|tap_times|reentry_ms)":\[[-+0-9.,eE]*+\]'
)
_TEXTS = re.compile(rb',"(?:lanes|measured|said)":\[(?:[^"\]\[]++|"[^"\\]*+(?:\\.[^"\\]*+)*+")*+\]')
_decoded = _DECODER.decode
#: First columns of the table.
_CSV = ("when", "kind", "pair", "bpm", "limbs", "mode")
#: Examples and advice of refusals.
_EXAMPLE = 'practice.Journal().append({"kind": "take", "pair": [4, 3], "bpm": 84})'
_TAKES = 'practice.Journal().takes(pair=(7, 4), limbs="hands")'
_PLACE = 'practice.Journal("my-journal.jsonl")'
_ELSEWHERE = "or give another place"


# What is found in a journal

#: What an entry holds, by name.
Entry: TypeAlias = dict[str, Any]


class JournalError(Refusal):
    """The journal cannot be read or written; its text is for the reader."""


@dataclass(frozen=True, slots=True)
class DamagedLine:
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


class Entries(tuple[Entry, ...]):
    """The entries of a journal in the order of the file, as dicts, each id once.

    Attributes
    ----------
    damaged : tuple of DamagedLine
        Lines that could not be read.
    warning : str
        One sentence for the reader; empty if all is well.
    version : int or None
        Version of the format that the file names.
    """

    damaged: tuple[DamagedLine, ...] = ()
    warning: str = ""
    version: int | None = None


@dataclass(slots=True)
class EntryHead:
    """How an entry begins, and where it stands in the file.

    Attributes
    ----------
    kind : str
        One of `KINDS`.
    when : object
        When it was, as the entry says.
    time : datetime or None
        The same, where it is a time with its UTC offset.
    day : date or None
        Its day of practice.
    start, stop : int
        Where its line begins and ends in the file, in bytes.
    raw : bytes or None
        Its line, where that runs together with others in the file.
    brief : dict or None
        The entry as `Glance.brief` gives it, once it has been asked for.
    """

    kind: str
    when: object
    time: datetime | None
    day: date | None
    start: int
    stop: int
    raw: bytes | None = None
    brief: Entry | None = None


# One line


def journal_line(entry: Mapping[str, Any]) -> bytes:
    r"""Return an entry as the line that is written, its checksum and the line's end included.

    Examples
    --------
    >>> journal_line({"kind": "note", "text": "dry sticks"})
    b'{"kind":"note","text":"dry sticks","crc32":"8ea4f151"}\n'
    """
    try:
        body = json.dumps(entry, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()
    except UnicodeEncodeError:  # half a character, as a browser can send
        body = json.dumps(entry, allow_nan=False, separators=(",", ":")).encode()
    return body[:-1] + b',"crc32":"%08x"}\n' % zlib.crc32(body)


def entry_of_line(text: str) -> Entry | None:
    """Return what a line holds, without its checksum; ``None`` where the checksum does not fit.

    Examples
    --------
    >>> entry_of_line('{"kind":"note","text":"dry sticks","crc32":"8ea4f151"}')
    {'kind': 'note', 'text': 'dry sticks'}
    >>> entry_of_line('{"kind":"note","text":"wet sticks","crc32":"8ea4f151"}') is None
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


def _entries_in(text: str) -> list[tuple[str, Entry]]:
    """Return the whole lines inside a damaged one, each with its entry."""
    found: list[tuple[str, Entry]] = []
    at = 0
    for start in _START.finditer(text):
        if start.start() >= at:
            try:
                _, end = _DECODER.raw_decode(text, start.start())
            except (ValueError, RecursionError):
                continue
            piece = text[start.start() : end]
            entry = entry_of_line(piece)
            if entry is not None:
                found.append((piece, entry))
                at = end
    return found


# All of a file


def _why(text: str, inside: int) -> str:
    """Say what is wrong with a line."""
    if inside:
        return f"lines have run into one, and {inside} of them could be read"
    if not text.endswith("}"):
        return "it is cut short"
    return "its checksum does not fit" if _END.search(text) else "it has no checksum"


def _damaged_line(number: int, text: str, inside: int, raw: bytes) -> DamagedLine:
    """Return a line that could not be read, with the reason; `inside` is how many whole ones it holds."""
    return DamagedLine(number, text[:40].encode("utf-8", "replace").decode(), _why(text, inside), raw)


def _torn_copy(line: DamagedLine, found: Mapping[str, tuple[object, str]]) -> bool:
    """Whether a line cut short begins an entry that stands whole elsewhere, since it was sent again."""
    text = line.raw.decode("utf-8", "surrogateescape")
    name = re.match(r'\{"kind":"[^"\\]*","id":("(?:[^"\\]|\\.)*"),', text)
    try:
        return name is not None and found[json.loads(name[1])][1].startswith(text)
    except (KeyError, ValueError):
        return False


def _damage_report(
    entries: Entries, unlike: list[str], name: str, *, something: bool, call: bool = True
) -> str:
    """Say in one sentence what could not be read in a file, with the `call` that sets it aside or without."""
    said = []
    if something and entries.version is None and not entries:
        said.append(f"{name} is not a journal, or nothing in it can be read")
    elif entries.damaged:
        first, count = entries.damaged[0], len(entries.damaged)
        lines, them = ("1 line", "it") if count == 1 else (f"{count} lines", "them")
        said.append(
            f"{lines} of {name} could not be read (line {first.line}: {first.why}) and everything else was"
            + f"; practice.Journal().set_aside() copies {them} to a file beside it" * call
        )
    if entries.version not in (None, VERSION):
        said.append(
            f"{name} was written by a newer rhythmlab, so what can be read is shown and nothing is added"
        )
    if unlike:
        said.append(f"two entries of {name} have the id {unlike[0]!r} but differ, and the first one counts")
    text = "; ".join(said)
    return f"{text[:1].upper()}{text[1:]}." if text else ""


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
    broken: list[DamagedLine] = []
    unlike: list[str] = []
    version = None
    for at, raw in enumerate(contents.split(b"\n"), 1):
        text = raw.decode("utf-8", "surrogateescape").strip(" \r")
        if not text:
            continue
        entry = entry_of_line(text)
        inside = [(text, entry)] if entry is not None else _entries_in(text)
        if entry is None:
            broken.append(_damaged_line(at, text, len(inside), raw))
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
    entries.damaged = tuple(line for line in broken if not _torn_copy(line, found))
    entries.version = version
    entries.warning = _damage_report(entries, unlike, name, something=bool(contents.strip()))
    return entries


# A file at a glance


def _raw(head: EntryHead, contents: bytes) -> bytes:
    """Return the bytes of an entry in the file that its head was found in."""
    return contents[head.start : head.stop] if head.raw is None else head.raw


def _whole(raw: bytes) -> Entry:
    """Return the entry that a line holds; empty where it holds none."""
    return entry_of_line(raw.decode("utf-8", "surrogateescape")) or {}


class Glance:
    """What is in a journal now, without reading all of it.

    Attributes
    ----------
    heads : list of EntryHead
        Of every entry, in the order of the file, each id once.
    warning : str
        One sentence for the reader about what could not be read; empty if all is well.
    panel_warning : str
        The same without the call that sets damaged lines aside.
    """

    def __init__(
        self,
        heads: Iterable[EntryHead] = (),
        warning: str = "",
        panel_warning: str = "",
        contents: bytes = b"",
    ) -> None:
        self.heads, self.warning, self.panel_warning = list(heads), warning, panel_warning
        self._contents = contents

    def of(self, kind: str) -> list[EntryHead]:
        """Return the heads of one kind."""
        return [head for head in self.heads if head.kind == kind]

    def on(self, day: date) -> list[EntryHead]:
        """Return the heads of a day of practice."""
        return [head for head in self.heads if head.day == day]

    def minutes_before(self, today: date) -> Fraction | None:
        """Return the minutes of all sessions of the last day of practice before today, in the week before."""
        days: dict[date, Fraction] = {}
        heads = [head for head in self.of("session") if head.day and 0 < (today - head.day).days <= 7]
        for head, session in zip(heads, self.brief(heads), strict=True):
            minutes = number_of(session.get("minutes"))
            if minutes is not None and head.day is not None:
                days[head.day] = days.get(head.day, Fraction(0)) + minutes
        return days[max(days)] if days else None

    def last(self, today: date) -> str:
        """Say in one sentence what was practised last; a take that counts for nothing was not.

        One too short to judge is said only where no other take of its day can be judged.
        """
        timed = [
            (head.time, head.day, head)
            for head in self.of("take")
            if head.time is not None and head.day is not None
        ]
        if not timed:
            return "No take has been kept yet."
        newest = sorted(timed, key=lambda row: row[0], reverse=True)
        whole = ((self.whole(head), day) for _, day, head in newest)
        counted = ((take, day) for take, day in whole if not uncounted(take))
        newest_one = next(counted, None)
        if newest_one is None:
            return "No take that counts has been kept yet."
        take, day = newest_one
        if take.get("too_short"):  # another of that day says more
            same_day = (other for other, then in takewhile(lambda row: row[1] == day, counted))
            take = next((other for other in same_day if not other.get("too_short")), take)
        ago = (today - day).days
        when = {0: "Today", 1: "Yesterday"}.get(ago, f"{ago} days ago" if ago > 0 else f"On {day}")
        pair, bpm = pair_of(take.get("pair")), number_of(take.get("bpm"))
        what = " against ".join(map(str, pair)) if isinstance(pair, tuple) else str(pair or "a take")
        if bpm is not None:
            what += f" at {numbers.number(bpm)} bpm"
            pulse = take.get("pulse")
            if isinstance(pair, tuple) and isinstance(pulse, int) and 0 <= pulse < len(pair):
                what += f" of the {pair[pulse]}"
        what += f", {take['limbs']}" if take.get("limbs") else ""
        missed, spread = _missed(take), _spread(take)
        how = (
            f"; {wrong(take)}"
            if wrong(take)
            else f"; {missed} missed"
            if _gappy(take)
            else f"; spread {spread}"
            if spread
            else ""
        )
        return f"{when}: {what}{how}."

    def whole(self, head: EntryHead) -> Entry:
        """Return an entry as `Journal.read` gives it."""
        return _whole(_raw(head, self._contents))

    def brief(self, heads: list[EntryHead]) -> list[Entry]:
        """Return entries without strokes, taps, lanes and sentences; do not change them."""
        new = [head for head in heads if head.brief is None]
        raws = [_raw(head, self._contents) for head in new]
        try:  # together they are read in half the time
            found = _decoded(_TEXTS.sub(b"", _NUMBERS.sub(b"", b"[%s]" % b",".join(raws))).decode())
        except (ValueError, RecursionError):  # one was written by something else
            found = []
        if len(found) != len(new):
            found = [_whole(raw) for raw in raws]
        for head, entry in zip(new, found, strict=True):
            head.brief = entry
        return [{} if head.brief is None else head.brief for head in heads]


def _gappy(take: Entry) -> bool:
    """Whether more than one stroke in twenty was missed, so that the spread of the others says little."""
    missed, meant = number_of(take.get("missed")), number_of(take.get("meant"))
    return missed is not None and meant is not None and 20 * missed > meant


def _missed(take: Entry) -> str:
    """Say how many strokes of a take were missed, where that is known."""
    return f"{take['missed']} of {take['meant']}" if {"missed", "meant"} <= take.keys() else ""


def _spread(take: Entry) -> str:
    """Say the spread of a take, where that is known."""
    spread = number_of(take.get("spread_percent"))
    return "" if spread is None else f"{numbers.number(spread, 1)} %"


def _head(kind: str, when: object, start: int, stop: int) -> EntryHead:
    """Return the head of an entry, its time and day read where they can be."""
    try:
        time = datetime.fromisoformat(when) if isinstance(when, str) else None
        day = None if time is None else day_of(time)
    except (TypeError, ValueError, OverflowError):
        time, day = None, None
    if time is not None and time.utcoffset() is None:
        time = None
    return EntryHead(kind, when, time, day, start, stop)


@dataclass(slots=True)
class _Index:
    """What was found in the first so many bytes of a journal."""

    size: int = 0
    crc: int = 0
    count: int = 0
    version: int | None = None
    found: dict[str, EntryHead] = field(default_factory=dict)
    damaged: list[DamagedLine] = field(default_factory=list)
    unlike: list[str] = field(default_factory=list)

    def knows(self, contents: bytes) -> bool:
        """Whether these bytes begin as they did."""
        return len(contents) >= self.size and zlib.crc32(memoryview(contents)[: self.size]) == self.crc

    def feed(self, contents: bytes) -> None:
        """Look at the lines that are new."""
        at = self.size
        while at < len(contents):
            end = contents.find(b"\n", at)
            stop = len(contents) if end < 0 else end
            self.count += 1
            self._line(contents, at, stop)
            at = stop + 1
        self.crc = zlib.crc32(memoryview(contents)[self.size :], self.crc)
        self.size = len(contents)

    def _line(self, contents: bytes, at: int, stop: int) -> None:
        raw = contents[at:stop]
        bare = raw.strip(b" \r")
        if not bare:
            return
        if bare[-20:] == b',"crc32":"%08x"}' % zlib.crc32(b"}", zlib.crc32(bare[:-20])):
            start = at + raw.index(bare)
            head = _HEAD.match(bare)
            if head:
                key = head[2].decode("utf-8", "surrogateescape")
                when = head[3].decode("utf-8", "surrogateescape")
                self._entry(key, _head(head[1].decode(), when, start, start + len(bare)), contents)
                return
        text = bare.decode("utf-8", "surrogateescape")
        whole = entry_of_line(text)
        inside = _entries_in(text) if whole is None else [(text, whole)]
        if whole is None:
            self.damaged.append(_damaged_line(self.count, text, len(inside), raw))
        for piece, entry in inside:
            if HEAD in entry:
                self.version = self.version or entry[HEAD]
                continue
            apart = _head(str(entry.get("kind")), entry.get("when"), 0, 0)
            apart.raw = piece.encode("utf-8", "surrogateescape")
            self._entry(str(entry.get("id", piece)), apart, contents)

    def _entry(self, key: str, head: EntryHead, contents: bytes) -> None:
        first = self.found.setdefault(key, head)
        if first is not head:
            one, two = (_whole(_raw(either, contents)) for either in (first, head))
            if {**one, "when": ""} != {**two, "when": ""}:
                self.unlike.append(key)

    def glance(self, contents: bytes, name: str) -> Glance:
        """Return what is found, with what there is to tell."""
        entries = Entries({} for _ in self.found)  # only how many there are is asked
        entries.version = self.version
        if self.damaged:
            torn = {
                key: (None, _raw(head, contents).decode("utf-8", "surrogateescape"))
                for key, head in self.found.items()
            }
            entries.damaged = tuple(one for one in self.damaged if not _torn_copy(one, torn))
        something = not entries and bool(contents.strip())
        warning, panel_warning = (
            _damage_report(entries, self.unlike, name, something=something, call=call)
            for call in (True, False)
        )
        return Glance(self.found.values(), warning, panel_warning, contents)


_known: dict[Path, _Index] = {}


def glance(contents: bytes, path: Path) -> Glance:
    """Look at a journal; of one that has only grown since, look at what is new.

    Parameters
    ----------
    contents : bytes
        The file.
    path : Path
        Where it is.

    Examples
    --------
    >>> entry = {"kind": "note", "id": "n1", "when": "2030-05-04T18:30:00+02:00", "text": "dry sticks"}
    >>> seen = glance(journal_line({HEAD: 1}) + journal_line(entry), Path("journal.jsonl"))
    >>> [entry["text"] for entry in seen.brief(seen.of("note"))], seen.warning
    (['dry sticks'], '')
    """
    index = _known.pop(path, None)
    if index is None or not index.knows(contents):
        index = _Index()
    index.feed(contents)
    if contents.endswith(b"\n"):  # else its last line may still grow
        _known[path] = index
        while len(_known) > MOST_REMEMBERED:
            _known.pop(next(iter(_known)))
    return index.glance(contents, path.name)


# The file on the disk


def named(path: Path) -> str:
    """Return the path of a file as text, cut where it is longer than any disk takes.

    Examples
    --------
    >>> named(Path("journal.jsonl")), len(named(Path("x" * 1000)))
    ('journal.jsonl', 300)
    """
    name = str(path)
    return name if len(name) <= 300 else f"{name[:297]}..."


@contextmanager
def opened(path: Path, flags: int) -> Iterator[int]:
    """Open a file for a ``with`` block; refuse a folder, and a pipe, which would wait for ever.

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
def _locked(fd: int, wait: float, *, shared: bool = False) -> Iterator[None]:
    """Hold the lock of an open file; `BlockingIOError` if another process has it longer than `wait` seconds.

    With `shared` other readers may go on, but not on Windows.  Where the file system has no locks, go on.
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


def _contents_of(fd: int) -> bytes:
    """Return all that is in an open file."""
    size = os.lseek(fd, 0, os.SEEK_END)
    if size > MOST_BYTES:
        raise OSError(errno.EFBIG, f"it has {size:,} bytes, more than {MOST_BYTES:,}")
    long_work.say(f"A journal of {size / 1e6:,.0f} MB", seconds=size / 1e7, megabytes=size * 6 / 1e6)
    os.lseek(fd, 0, os.SEEK_SET)
    with os.fdopen(os.dup(fd), "rb") as file:
        return file.read(MOST_BYTES + 1)


def _add_line(fd: int, new: bytes, path: Path) -> None:
    """Add a line to the end of a locked journal, and return when the disk has it.

    Where a process was stopped in the middle of a line, the new one begins on a line of its own.  A file that
    is no journal, or one of a newer version, is refused by a `ValueError`, and nothing is written.
    """
    size = os.lseek(fd, 0, os.SEEK_END)
    version, before = None, b""
    if size:
        os.lseek(fd, 0, os.SEEK_SET)
        first = os.read(fd, 200).split(b"\n")[0]
        version = (entry_of_line(first.decode("utf-8", "surrogateescape")) or {}).get(HEAD)
        if version is None:  # seldom: look at all of it
            entries = parsed(_contents_of(fd), path.name)
            version = entries.version
            if (
                version is None
                and not entries
                and not journal_line({HEAD: VERSION}).startswith(first.strip())
            ):
                raise Refusal(f"{path} is not a journal, so nothing is added to it; rename it")
        if version not in (None, VERSION):
            raise Refusal(
                f"{path} was written by a newer rhythmlab (format {version}, this one writes "
                f"{VERSION}), so nothing is added to it; install the newer one"
            )
        os.lseek(fd, -1, os.SEEK_END)
        before = b"" if os.read(fd, 1) == b"\n" else b"\n"
    left = memoryview(before + (journal_line({HEAD: VERSION}) if version is None else b"") + new)
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


# The journal of a reader


def _as_json(value: Any, where: str, deep: int = _DEEP) -> Any:
    """Return a value as JSON can hold it; `where` is its name, `deep` the levels that are still allowed."""
    many = getattr(value, "size", None) if hasattr(value, "tolist") else None
    if isinstance(many, int) and many <= MOST_LISTED:  # numpy
        value = value.tolist()
    if not deep or (isinstance(value, Mapping | list | tuple) and len(value) > MOST_LISTED):
        wrong = f"holds more than {MOST_LISTED:,}" if deep else f"is more than {_DEEP} deep"
        raise JournalError(f"{where[:60]} {wrong}", _EXAMPLE)
    match value:
        case None | bool() | str():
            return value
        case Rational() if max(abs(int(value.numerator)), int(value.denominator)) >= 10**MOST_DIGITS:
            raise JournalError(f"{where[:60]}={short(value)} has too many digits", _EXAMPLE)
        case Integral():
            return int(value)
        case Rational():
            return (
                int(value.numerator) if value.denominator == 1 else f"{value.numerator}/{value.denominator}"
            )
        case Real():
            return float(value) if math.isfinite(value) else None
        case Mapping():
            if not all(isinstance(key, str) for key in value):
                raise JournalError(f"{short(value)} has a name that is not a text", _EXAMPLE)
            return {key: _as_json(inside, key, deep - 1) for key, inside in value.items()}
        case list() | tuple():
            return [_as_json(inside, where, deep - 1) for inside in value]
    raise JournalError(
        f"{where[:60]}={short(value)} is not a number, a text, or a list or dict of these",
        _EXAMPLE,
    )


def _csv_cells(entry: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, object]]:
    """Yield names and cells of an entry: a pair as ``4:3``, dicts by dotted names, no other lists."""
    for key, value in entry.items():
        name = f"{before}{key}"
        if name == "pair" and isinstance(value, list):
            yield name, ":".join(map(str, value))
        elif name == "bpm" and isinstance(value, str) and (bpm := number_of(value)) is not None:
            yield name, float(bpm)
        elif isinstance(value, dict):
            yield from _csv_cells(value, f"{name}.")
        elif isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r"):
            yield name, f"'{value}"
        elif not isinstance(value, list):
            yield name, value


@public_class(
    'practice.Journal("my-journal.jsonl")',
    append='practice.Journal().append({"kind": "take", "pair": [4, 3], "bpm": 84})',
    export_csv='practice.Journal().export_csv("journal.csv")',
    takes="practice.Journal().takes((7, 4))",
)
class Journal:
    """What was practised, kept on disk.

    Each entry is on the disk when `append` returns.  Two notebooks may use one journal at once: they take
    turns by a lock (flock on POSIX, msvcrt on Windows; where the file system has no locks, one write at the
    end of the file has to do).

    Parameters
    ----------
    path : path, optional
        The file; ``journal.jsonl`` in the reader's working folder when left out, or in the current folder
        where that is no working folder.
    clock : callable, optional
        Gives the present as a `datetime` with its UTC offset.

    Examples
    --------
    >>> import tempfile
    >>> journal = Journal(Path(tempfile.mkdtemp()) / "journal.jsonl")
    >>> _ = journal.append({"kind": "take", "pair": [4, 3], "pulse": 1, "bpm": 84, "spread_percent": 3.1})
    >>> journal.last()
    'Today: 4 against 3 at 84 bpm of the 3; spread 3.1 %.'
    """

    def __init__(
        self, path: str | os.PathLike[str] | None = None, *, clock: Callable[[], datetime] | None = None
    ) -> None:
        chosen = place_for_files() / FILE if path is None else check.path(path, "path", _PLACE)
        self.path = Path(os.path.abspath(chosen))
        self.wait = 10.0  # seconds for another notebook to finish its line
        if clock is not None and not callable(clock):
            raise Refusal(f"clock={short(clock)} cannot be called", _PLACE, argument="clock")
        self._clock = clock or (lambda: datetime.now().astimezone())

    def __repr__(self) -> str:
        return f"Journal({str(self.path)!r})"

    def _repr_html_(self) -> str:
        """Show the last takes as a table, the newest first."""
        seen = self.glance()
        heads = sorted(seen.of("take"), key=lambda head: str(head.when), reverse=True)[:12]
        takes = [seen.whole(head) for head in heads]
        names = ("when", "rhythm", "bpm", "limbs", "mode", "spread", "missed")
        rows = []
        for take in takes:
            pair, fault = pair_of(take.get("pair")), wrong(take)
            lost = _gappy(take) or uncounted(take) or fault
            what = " against ".join(map(str, pair)) if isinstance(pair, tuple) else str(pair or "")
            even = "" if lost else _spread(take)
            missed = "not counted" if uncounted(take) else fault or _missed(take)
            when = str(take.get("when", ""))[:16].replace("T", " ")
            known = (take.get(name, "") for name in ("bpm", "limbs", "mode"))
            cells = (when, what, *known, even, missed)
            rows.append("".join(f"<td>{escape(str(cell))}</td>" for cell in cells))
        head = "".join(f"<th scope='col'>{name}</th>" for name in names)
        body = "".join(f"<tr>{row}</tr>" for row in rows)
        inside = f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody>"
        table = f"<table style='font:inherit;color:inherit'>{inside}</table>" if rows else ""
        summary = f"{escape(seen.last(self.day()))} Kept in {escape(self.path.name)}."
        return framed(f"<p>{summary}</p>{table}")

    def append(self, entry: Mapping[str, Any]) -> Entry:
        """Add an entry; when this returns, it is on the disk.

        Parameters
        ----------
        entry : mapping
            ``"kind"`` is one of `KINDS`; ``"when"`` (ISO 8601 with a UTC offset) and ``"id"`` are filled in
            where they are missing.  Give a take its own id, so that one sent twice counts once.  Fractions
            are kept as ``"171/2"``, tuples and arrays as lists, numbers that are not finite as ``null``.

        Returns
        -------
        dict
            The entry as it will be read.

        Raises
        ------
        JournalError
            If the entry cannot be kept, with the reason and what to do.
        """
        kept = self._checked(entry)
        line = journal_line(kept)
        if len(line) > MOST_ENTRY:
            raise JournalError(
                f"{short(entry)} takes {len(line):,} bytes, more than the {MOST_ENTRY:,} of an entry",
                _EXAMPLE,
            )
        try:
            flags = os.O_RDWR | os.O_APPEND | os.O_CREAT
            with opened(self.path, flags) as fd, _locked(fd, self.wait):
                _add_line(fd, line, self.path)
        except ValueError as error:
            raise JournalError(f"{error}, {_ELSEWHERE}", _PLACE) from error
        except OSError as error:
            first = f"{remedy(error)} and " if remedy(error) else ""
            raise JournalError(
                f"{named(self.path)} cannot be written: {reason(error)}. "
                f"The {kept['kind']} is still held in the page: {first}send it again, {_ELSEWHERE}",
                _PLACE,
            ) from error
        return kept

    def read(self) -> Entries:
        """Return all entries that can be read, with what is known of those that cannot.

        Returns
        -------
        Entries
            Empty where there is no file yet.

        Raises
        ------
        JournalError
            If there is a file that cannot be opened.
        """
        found = self._contents()
        return Entries() if found is None else parsed(found, self.path.name)

    def glance(self) -> Glance:
        """Return how each entry begins, and a warning about what cannot be read, without reading all of it.

        Raises
        ------
        JournalError
            If there is a file that cannot be opened.
        """
        found = self._contents()
        return Glance() if found is None else glance(found, self.path)

    def _contents(self) -> bytes | None:
        """Return all that is in the file; ``None`` where there is none yet."""
        try:
            with opened(self.path, os.O_RDONLY) as fd:
                with suppress(BlockingIOError), _locked(fd, self.wait / 5, shared=True):
                    return _contents_of(fd)
                # a writer that does not finish must not stop a reader
                return _contents_of(fd)
        except (FileNotFoundError, NotADirectoryError):
            return None
        except OSError as error:
            why = error.strerror if error.errno == errno.EFBIG else reason(error, "read")
            raise JournalError(
                f"{named(self.path)} cannot be read: {why}; mend that, {_ELSEWHERE}", _PLACE
            ) from error

    def set_aside(self) -> Path | None:
        """Copy the damaged lines to ``journal-damaged.txt`` beside the journal, which stays as it is.

        Returns
        -------
        Path or None
            Where they are; ``None`` if no line is damaged.

        Raises
        ------
        JournalError
            If they cannot be written there.
        """
        damaged = [line.raw for line in self.read().damaged]
        if not damaged:
            return None
        aside = self.path.with_name(f"{self.path.stem}-damaged.txt")
        try:
            before = aside.read_bytes() if aside.exists() else b""
            there = set(before.split(b"\n"))
            before += b"\n" if before and not before.endswith(b"\n") else b""
            new = b"".join(raw + b"\n" for raw in dict.fromkeys(damaged) if raw not in there)
            put(aside, before + new, replace=True)
        except OSError as error:
            raise JournalError(
                f"{aside} cannot be written: {reason(error)}; the journal stays as it is; mend that, "
                f"{_ELSEWHERE}",
                _PLACE,
            ) from error
        return aside

    def export_csv(self, path: str | os.PathLike[str]) -> Path:
        """Write the entries as a table, for a spreadsheet; whole or not at all, and never over a file.

        Parameters
        ----------
        path : path
            The new file.

        Returns
        -------
        Path
            Where it is.  Columns are when, kind, pair, bpm, limbs and mode, then every other number and
            text, ``a.b`` for one inside another; lists stay in the journal.  A text that a spreadsheet
            would take for a formula begins with an apostrophe.

        Raises
        ------
        JournalError
            If the name is no safe one, or is taken, or the file cannot be written.
        """
        rows = [dict(_csv_cells(entry)) for entry in self.read()]
        names = list(dict.fromkeys((*_CSV, *(name for row in rows for name in row))))
        text = io.StringIO(newline="")
        table = csv.DictWriter(text, names, restval="")
        table.writeheader()
        table.writerows(rows)
        path = os.path.expanduser(path) if isinstance(path, str | os.PathLike) else path
        try:
            data = text.getvalue().encode("utf-8", "backslashreplace")
            return Written(os.path.abspath(save(path, data, "practice.Journal().export_csv({})")))
        except Refusal as error:
            raise JournalError(error.wrong, error.example, argument=error.argument) from error

    def today(self) -> tuple[Entry, ...]:
        """Return the entries of today; a day lasts until four in the morning."""
        seen = self.glance()
        return tuple(seen.whole(head) for head in seen.on(self.day()))

    def takes(self, pair: Rhythm | str | None = None, limbs: str | None = None) -> tuple[Entry, ...]:
        """Return the takes, of one pair and of one kind of limbs where they are given.

        Parameters
        ----------
        pair : sequence of int, str or Polyrhythm, optional
            Such as ``(4, 3)`` or ``"4:3"``.
        limbs : str, optional
            Such as ``"hands"``.
        """
        asked = asked_pair(pair, _TAKES)
        asked_limbs(limbs, _TAKES)
        return tuple(
            entry
            for entry in self.read()
            if entry.get("kind") == "take"
            and (asked is None or pair_of(entry.get("pair")) == asked)
            and (limbs is None or entry.get("limbs") == limbs)
        )

    def sessions(self) -> tuple[Entry, ...]:
        """Return the sessions."""
        seen = self.glance()
        return tuple(seen.whole(head) for head in seen.of("session"))

    def last_minutes(self) -> Fraction | None:
        """Minutes of all sessions of the last day of practice before today, for planning the next.

        Returns
        -------
        Fraction or None
            ``None`` where no session with its ``"minutes"`` was kept in the week before (own choice).
        """
        return self.glance().minutes_before(self.day())

    def last(self) -> str:
        """Say in one sentence what was practised last; a take that counts for nothing was not.

        One too short to judge is said only where no other take of its day can be judged.
        """
        return self.glance().last(self.day())

    def day(self) -> date:
        """Return the day of practice that it is; a day lasts until four in the morning."""
        return day_of(a(datetime, self._clock(), "the time of the clock", _PLACE))

    def _checked(self, entry: Mapping[str, Any]) -> Entry:
        """Return an entry as it is written, with its kind, id and time, or refuse it."""
        kind = entry.get("kind") if isinstance(entry, Mapping) else None
        if not isinstance(kind, str) or kind not in KINDS:
            raise JournalError(f"{short(entry)} has no kind, one of {', '.join(KINDS)}", _EXAMPLE)
        when = entry.get("when")
        if when is None or when is False or (isinstance(when, str) and not when):
            when = self._clock()
        when = when.isoformat(timespec="seconds") if isinstance(when, datetime) else when
        try:
            has_offset = datetime.fromisoformat(when).utcoffset() is not None
        except (TypeError, ValueError):
            has_offset = False
        if not has_offset:
            raise JournalError(
                f"when={short(when)} is not a time with its UTC offset",
                'practice.Journal().append({"kind": "take", "when": "2030-05-04T18:30:00+02:00"})',
                argument="when",
            )
        name = entry.get("id")
        if name is None or (isinstance(name, str) and not name):
            name = secrets.token_hex(8)
        if not isinstance(name, str):
            raise JournalError(f"id={short(name)} is not a text", _EXAMPLE, argument="id")
        if "crc32" in entry:
            raise JournalError('"crc32" is the name of the journal\'s own checksum, use another', _EXAMPLE)
        rest = {key: value for key, value in entry.items() if key not in ("kind", "id", "when")}
        return {"kind": kind, "id": name, "when": when, **_as_json(rest, "")}

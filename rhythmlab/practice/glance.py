"""A journal of years at a glance: checked line by line, and only what is looked at is read.

Every line is held against its checksum, as `lines.parsed` does it.
What a line says is read when it is asked for; `Glance.brief` leaves out what only a replay needs.
What was read once is remembered for as long as that part of the file is the same.
"""

import json
import re
import zlib
from dataclasses import dataclass, field
from datetime import date, datetime
from fractions import Fraction
from pathlib import Path

from rhythmlab.practice import lines
from rhythmlab.practice.rows import day_of, number_of, pair_of

#: Journals remembered at once.
MOST = 4

_HEAD = re.compile(rb'\{"kind":"(\w+)","id":"([^"\\]*)","when":"([^"\\]*)"[,}]')
#: Lists of numbers, then lists of words and of dicts, that are left out; a quote inside a text is never bare.
_NUMBERS = re.compile(
    rb',"(?:beats|bars|onsets|accents|ghosts|tap_lanes|tap_times|reentry_ms)":\[[-+0-9.,eE]*+\]'
)
_TEXTS = re.compile(rb',"(?:lanes|measured|said)":\[(?:[^"\]\[]++|"[^"\\]*+(?:\\.[^"\\]*+)*+")*+\]')
_decoded = json.JSONDecoder().decode


@dataclass(slots=True)
class Head:
    """How an entry begins, and where it stands in the file.

    Attributes
    ----------
    kind : str
        What it is.
    when : object
        When it was, as it is kept.
    time : datetime or None
        The same, where it is a time with its UTC offset.
    day : date or None
        Its day of practice.
    """

    kind: str
    when: object
    time: datetime | None
    day: date | None
    start: int
    stop: int
    own: bytes | None = None  # of a line that runs together with others
    short: lines.Entry | None = None


class Glance:
    """What is in a journal now.

    Attributes
    ----------
    heads : list of Head
        Of every entry, in the order of the file, each id once.
    told : str
        One sentence for the reader about what could not be read; empty if all is well.
    """

    def __init__(self, heads: list[Head], told: str, plain: str, contents: bytes) -> None:
        self.heads, self.told, self.plain, self._contents = heads, told, plain, contents

    def of(self, kind: str) -> list[Head]:
        """Return the heads of one kind."""
        return [head for head in self.heads if head.kind == kind]

    def on(self, day: date) -> list[Head]:
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
        """Say in one sentence what was practised last."""
        timed = [
            (head.time, head.day, head)
            for head in self.of("take")
            if head.time is not None and head.day is not None
        ]
        if not timed:
            return "No take has been kept yet."
        from rhythmlab import words  # with numpy, which a journal can do without

        _, day, head = max(timed, key=lambda row: row[0])
        take, ago = self.whole(head), (today - day).days
        when = {0: "Today", 1: "Yesterday"}.get(ago, f"{ago} days ago" if ago > 0 else f"On {day}")
        pair, bpm = pair_of(take.get("pair")), number_of(take.get("bpm"))
        what = " against ".join(map(str, pair)) if isinstance(pair, tuple) else str(pair or "a take")
        if bpm is not None:
            what += f" at {words.number(bpm)} bpm"
            pulse = take.get("pulse")
            if isinstance(pair, tuple) and isinstance(pulse, int) and 0 <= pulse < len(pair):
                what += f" of the {pair[pulse]}"
        what += f", {take['limbs']}" if take.get("limbs") else ""
        spread = number_of(take.get("spread_percent"))
        return f"{when}: {what}{f'; spread {words.number(spread, 1)} %' if spread is not None else ''}."

    def whole(self, head: Head) -> lines.Entry:
        """Return an entry as `Journal.read` gives it."""
        return _read(self._raw(head))

    def brief(self, heads: list[Head]) -> list[lines.Entry]:
        """Return entries without strokes, taps, lanes and sentences; not to be changed."""
        new = [head for head in heads if head.short is None]
        raws = [self._raw(head) for head in new]
        try:  # together they are read in half the time
            found = _decoded(_TEXTS.sub(b"", _NUMBERS.sub(b"", b"[%s]" % b",".join(raws))).decode())
        except (ValueError, RecursionError):  # one was written by something else
            found = []
        if len(found) != len(new):
            found = [_read(raw) for raw in raws]
        for head, entry in zip(new, found, strict=True):
            head.short = entry
        return [{} if head.short is None else head.short for head in heads]

    def _raw(self, head: Head) -> bytes:
        return self._contents[head.start : head.stop] if head.own is None else head.own


def _read(raw: bytes) -> lines.Entry:
    return lines.good(raw.decode("utf-8", "surrogateescape")) or {}


@dataclass(slots=True)
class _Index:
    """What was found in the first so many bytes of a journal."""

    size: int = 0
    crc: int = 0
    count: int = 0
    version: int | None = None
    found: dict[str, Head] = field(default_factory=dict)
    damaged: list[lines.Damaged] = field(default_factory=list)
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
        whole = lines.good(text)
        inside = lines.entries_in(text) if whole is None else [(text, whole)]
        if whole is None:
            self.damaged.append(lines.damaged(self.count, text, len(inside), raw))
        for piece, entry in inside:
            if lines.HEAD in entry:
                self.version = self.version or entry[lines.HEAD]
                continue
            apart = _head(str(entry.get("kind")), entry.get("when"), 0, 0)
            apart.own = piece.encode("utf-8", "surrogateescape")
            self._entry(str(entry.get("id", piece)), apart, contents)

    def _entry(self, key: str, head: Head, contents: bytes) -> None:
        first = self.found.setdefault(key, head)
        if first is not head:
            both = Glance([], "", "", contents)
            one, two = (both.whole(either) for either in (first, head))
            if {**one, "when": ""} != {**two, "when": ""}:
                self.unlike.append(key)

    def glance(self, contents: bytes, name: str) -> Glance:
        """Return what is found, with what there is to tell."""
        entries = lines.Entries({} for _ in self.found)  # only how many there are is asked
        entries.version = self.version
        if self.damaged:
            texts = Glance([], "", "", contents)
            torn = {
                key: (None, texts._raw(head).decode("utf-8", "surrogateescape"))
                for key, head in self.found.items()
            }
            entries.damaged = tuple(one for one in self.damaged if not lines.torn_copy(one, torn))
        something = not entries and bool(contents.strip())
        told, plain = (
            lines.told_of(entries, self.unlike, name, something=something, call=call)
            for call in (True, False)
        )
        return Glance(list(self.found.values()), told, plain, contents)


def _head(kind: str, when: object, start: int, stop: int) -> Head:
    try:
        time = datetime.fromisoformat(when) if isinstance(when, str) else None
        day = None if time is None else day_of(time)
    except (TypeError, ValueError, OverflowError):
        time, day = None, None
    if time is not None and time.utcoffset() is None:
        time = None
    return Head(kind, when, time, day, start, stop)


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
    >>> seen = glance(lines.line({lines.HEAD: 1}) + lines.line(entry), Path("journal.jsonl"))
    >>> [entry["text"] for entry in seen.brief(seen.of("note"))], seen.told
    (['dry sticks'], '')
    """
    index = _known.pop(path, None)
    if index is None or not index.knows(contents):
        index = _Index()
    index.feed(contents)
    if contents.endswith(b"\n"):  # else its last line may still grow
        _known[path] = index
        while len(_known) > MOST:
            _known.pop(next(iter(_known)))
    return index.glance(contents, path.name)

"""What was practised, kept safely on disk: one line an entry, added at the end, and never rewritten.

How a line is written and read is in `lines`.
"""

import errno
import math
import os
import secrets
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from datetime import date, datetime
from fractions import Fraction
from numbers import Integral, Rational, Real
from pathlib import Path
from typing import Any

from rhythmlab.core.call import public_class
from rhythmlab.core.check import MOST_DIGITS, MOST_LISTED, a, short
from rhythmlab.core.check import path as place
from rhythmlab.core.given import Rhythm
from rhythmlab.files import put, reason, remedy, save
from rhythmlab.practice import lines
from rhythmlab.practice.glance import Glance, glance
from rhythmlab.practice.lines import Entries, Entry
from rhythmlab.practice.rows import asked_limbs, asked_pair, day_of, number_of, pair_of
from rhythmlab.refusal import Refusal
from rhythmlab.working import place_for_files

#: The file, in the reader's working folder.
FILE = "journal.jsonl"
#: What an entry can be.
KINDS = ("take", "session", "limit", "note")

#: Longest entry, in bytes, and how deep its lists and dicts may be in each other.
MOST_ENTRY, _DEEP = 10_000_000, 20
_EXAMPLE = 'Journal().append({"kind": "take", "pair": [4, 3], "bpm": 84})'
_TAKES = 'Journal().takes(pair=(7, 4), limbs="hands")'
_ELSEWHERE = "or give another place"
_PLACE = 'Journal("my-journal.jsonl")'
_CSV = ("when", "kind", "pair", "bpm", "limbs", "mode")


class JournalError(Refusal):
    """The journal cannot be used; the text is for the reader."""


@public_class(
    'Journal("my-journal.jsonl")',
    append='Journal().append({"kind": "take", "pair": [4, 3], "bpm": 84})',
    export_csv='Journal().export_csv("journal.csv")',
    takes="Journal().takes((7, 4))",
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
        example = 'Journal("my-journal.jsonl")'
        self.path = Path(
            os.path.abspath(place_for_files() / FILE if path is None else place(path, "path", example))
        )
        self.wait = 10.0  # seconds for another notebook to finish its line
        if clock is not None and not callable(clock):
            raise Refusal(f"clock={short(clock)} cannot be called", example, argument="clock")
        self._clock = clock or (lambda: datetime.now().astimezone())

    def __repr__(self) -> str:
        return f"Journal({str(self.path)!r})"

    def _repr_html_(self) -> str:
        """Show the last takes as a table, the newest first."""
        from html import escape

        from rhythmlab import words

        seen = self.glance()
        heads = sorted(seen.of("take"), key=lambda head: str(head.when), reverse=True)[:12]
        takes = [seen.whole(head) for head in heads]
        names = ("when", "rhythm", "bpm", "limbs", "mode", "spread", "missed")
        rows = []
        for take in takes:
            pair, spread = pair_of(take.get("pair")), number_of(take.get("spread_percent"))
            what = " against ".join(map(str, pair)) if isinstance(pair, tuple) else str(pair or "")
            even = "" if spread is None else f"{words.number(spread, 1)} %"
            missed = f"{take['missed']} of {take['meant']}" if {"missed", "meant"} <= take.keys() else ""
            when = str(take.get("when", ""))[:16].replace("T", " ")
            cells = (
                when,
                what,
                take.get("bpm", ""),
                take.get("limbs", ""),
                take.get("mode", ""),
                even,
                missed,
            )
            rows.append("".join(f"<td>{escape(str(cell))}</td>" for cell in cells))
        head = "".join(f"<th scope='col'>{name}</th>" for name in names)
        body = "".join(f"<tr>{row}</tr>" for row in rows)
        table = f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>" if rows else ""
        kept = f"{escape(seen.last(self.day()))} Kept in {escape(str(self.path.name))}."
        return f"<p class='rl-kept'>{kept}</p>{table}"

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
        line = lines.line(kept)
        if len(line) > MOST_ENTRY:
            raise JournalError(
                f"{short(entry)} takes {len(line):,} bytes, more than the {MOST_ENTRY:,} of an entry",
                _EXAMPLE,
            )
        try:
            flags = os.O_RDWR | os.O_APPEND | os.O_CREAT
            with lines.opened(self.path, flags) as fd, lines.locked(fd, self.wait):
                lines.put(fd, line, self.path)
        except ValueError as error:
            raise JournalError(f"{error}, {_ELSEWHERE}", _PLACE) from error
        except OSError as error:
            first = f"{remedy(error)} and " if remedy(error) else ""
            raise JournalError(
                f"{lines.named(self.path)} cannot be written: {reason(error)}. "
                f"The {kept['kind']} is still held in the page: {first}send it again, {_ELSEWHERE}",
                _PLACE,
            ) from error
        return kept

    def read(self) -> Entries:
        """Return all entries that can be read, and tell of those that cannot.

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
        return Entries() if found is None else lines.parsed(found, self.path.name)

    def glance(self) -> Glance:
        """Look at what is there without reading all of it: heads, and what is to be told.

        Raises
        ------
        JournalError
            If there is a file that cannot be opened.
        """
        found = self._contents()
        return Glance([], "", "", b"") if found is None else glance(found, self.path)

    def _contents(self) -> bytes | None:
        """Return all that is in the file; ``None`` where there is none yet."""
        try:
            with lines.opened(self.path, os.O_RDONLY) as fd:
                with suppress(BlockingIOError), lines.locked(fd, self.wait / 5, shared=True):
                    return lines.contents(fd)
                # a writer that does not finish must not stop a reader
                return lines.contents(fd)
        except (FileNotFoundError, NotADirectoryError):
            return None
        except OSError as error:
            why = error.strerror if error.errno == errno.EFBIG else reason(error, "read")
            raise JournalError(
                f"{lines.named(self.path)} cannot be read: {why}; mend that, {_ELSEWHERE}",
                _PLACE,
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
        import csv
        import io

        rows = [dict(_flat(entry)) for entry in self.read()]
        names = list(dict.fromkeys((*_CSV, *(name for row in rows for name in row))))
        text = io.StringIO(newline="")
        table = csv.DictWriter(text, names, restval="")
        table.writeheader()
        table.writerows(rows)
        path = os.path.expanduser(path) if isinstance(path, str | os.PathLike) else path
        try:
            data = text.getvalue().encode("utf-8", "backslashreplace")
            return Path(os.path.abspath(save(path, data, "Journal().export_csv({})")))
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
        asked, example = asked_pair(pair, _TAKES), _TAKES
        asked_limbs(limbs, example)
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
        """Say in one sentence what was practised last."""
        return self.glance().last(self.day())

    def day(self) -> date:
        """Return the day of practice that it is; a day lasts until four in the morning."""
        return day_of(a(datetime, self._clock(), "the time of the clock", 'Journal("my-journal.jsonl")'))

    def _checked(self, entry: Mapping[str, Any]) -> Entry:
        kind = entry.get("kind") if isinstance(entry, Mapping) else None
        if not isinstance(kind, str) or kind not in KINDS:
            raise JournalError(f"{short(entry)} has no kind, one of {', '.join(KINDS)}", _EXAMPLE)
        when = entry.get("when")
        when = (
            self._clock() if when is None or when is False or (isinstance(when, str) and not when) else when
        )
        when = when.isoformat(timespec="seconds") if isinstance(when, datetime) else when
        try:
            known = datetime.fromisoformat(when).utcoffset() is not None
        except (TypeError, ValueError):
            known = False
        if not known:
            raise JournalError(
                f"when={short(when)} is not a time with its UTC offset",
                'Journal().append({"kind": "take", "when": "2030-05-04T18:30:00+02:00"})',
                argument="when",
            )
        name = entry.get("id")
        name = secrets.token_hex(8) if name is None or (isinstance(name, str) and not name) else name
        if not isinstance(name, str):
            raise JournalError(f"id={short(name)} is not a text", _EXAMPLE, argument="id")
        if "crc32" in entry:
            raise JournalError('"crc32" is the name of the journal\'s own checksum, use another', _EXAMPLE)
        rest = {key: value for key, value in entry.items() if key not in ("kind", "id", "when")}
        return {"kind": kind, "id": name, "when": when, **_plain(rest, "")}


def _plain(value: Any, where: str, deep: int = _DEEP) -> Any:
    """Return a value as JSON can hold it."""
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
            return {key: _plain(inside, key, deep - 1) for key, inside in value.items()}
        case list() | tuple():
            return [_plain(inside, where, deep - 1) for inside in value]
    raise JournalError(
        f"{where[:60]}={short(value)} is not a number, a text, or a list or dict of these",
        _EXAMPLE,
    )


def _flat(entry: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, object]]:
    """Yield the cells of an entry: a pair as ``4:3``, dicts by dotted names, other lists left out."""
    for key, value in entry.items():
        name = f"{before}{key}"
        if name == "pair" and isinstance(value, list):
            yield name, ":".join(map(str, value))
        elif name == "bpm" and isinstance(value, str) and (bpm := number_of(value)) is not None:
            yield name, float(bpm)
        elif isinstance(value, dict):
            yield from _flat(value, f"{name}.")
        elif isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r"):
            yield name, f"'{value}"
        elif not isinstance(value, list):
            yield name, value

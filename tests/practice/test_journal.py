"""The journal keeps what was practised: through kills, full disks, damage, and two notebooks at once."""

import csv
import errno
import json
import os
import subprocess
import sys
import textwrap
import zlib
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.practice.history import day_of, number_of, pair_of, past_takes
from rhythmlab.practice.journal import HEAD, Journal, JournalError, journal_line, parsed
from rhythmlab.working_folder import MARK
from tests.profile import tries
from tests.wrong import in_time

NOW = datetime(2030, 5, 4, 18, 30, tzinfo=UTC)
TAKE = {"kind": "take", "pair": [4, 3], "pulse": 1, "bpm": 84, "limbs": "hands", "spread_percent": 3.1}
posix = pytest.mark.skipif(
    not hasattr(os, "fork"), reason="kills a process while it writes, which needs fork and signals"
)


@pytest.fixture
def journal(tmp_path):
    """Give a journal in an empty folder, with its clock stopped."""
    return Journal(tmp_path / "journal.jsonl", clock=lambda: NOW)


def refused(call, *parts):
    """Return the message of a refused call, having found these parts in it."""
    with pytest.raises(JournalError) as caught:
        call()
    message = str(caught.value)
    for part in parts:
        assert part in message
    return message


def test_an_entry_comes_back_as_it_was_given(journal):
    """What append returns is what read gives, with id and time filled in, and all is well."""
    kept = [
        journal.append(TAKE),
        journal.append({"kind": "note", "text": 'leise, "zwölf" \n 拍', "id": "n1"}),
        journal.append({"kind": "session", "minutes": 35, "when": "2030-05-04T19:00:00+02:00"}),
        journal.append({"kind": "limit", "key": "flam", "value": 32.5, "deep": {"a": [1, None, True]}}),
    ]
    assert list(journal.read()) == kept
    assert (journal.read().damaged, journal.read().warning) == ((), "")
    assert kept[0] == {**TAKE, "id": kept[0]["id"], "when": "2030-05-04T18:30:00+00:00"}
    assert kept[1]["text"] == 'leise, "zwölf" \n 拍'
    assert kept[2]["when"] == "2030-05-04T19:00:00+02:00"
    assert len({entry["id"] for entry in kept}) == 4


def test_the_file_can_be_read_by_anyone(journal):
    """UTF-8, one JSON object a line, the header first; each line ends with zlib's CRC-32 of the rest."""
    journal.append({"kind": "note", "text": "zwölf"})
    journal.append(TAKE)
    text = journal.path.read_bytes().decode()
    assert "zwölf" in text
    assert text.endswith("\n")
    for number, line in enumerate(text.splitlines()):
        held = json.loads(line)
        assert list(held)[-1] == "crc32"
        body = line[: line.rindex(',"crc32"')] + "}"
        assert held["crc32"] == f"{zlib.crc32(body.encode()):08x}"
        assert ("rhythmlab journal" in held) == (number == 0)
    assert json.loads(text.splitlines()[0])["rhythmlab journal"] == 1


def test_numbers_of_every_kind_can_be_kept(journal):
    """Fractions stay exact, numpy numbers and arrays are plain, half characters survive, NaN is no number."""
    kept = journal.append(
        {
            "kind": "take",
            "bpm": Fraction(171, 2),
            "goal": Fraction(90),
            "n": np.int64(3),
            "x": np.float64(0.5),
            "ms": np.array([1.5, 2.0]),
            "pair": (4, 3),
            "spread": float("nan"),
            "text": "\ud83d",
        }
    )
    (read,) = journal.read()
    assert read == kept
    assert number_of(read["bpm"]) == Fraction(171, 2)
    assert (read["goal"], read["n"], read["x"], read["ms"]) == (90, 3, 0.5, [1.5, 2.0])
    assert (read["pair"], read["spread"], read["text"]) == ([4, 3], None, "\ud83d")


def test_a_take_sent_twice_counts_once(journal):
    """The same id is read once, the first; where the contents differ, the reader is told."""
    journal.append({**TAKE, "id": "t1"})
    journal.append({**TAKE, "id": "t1", "when": NOW + timedelta(seconds=5)})
    assert [take["id"] for take in journal.read()] == ["t1"]
    assert journal.read().warning == ""
    journal.append({**TAKE, "id": "t1", "bpm": 90})
    assert [take["bpm"] for take in journal.read()] == [84]
    assert "'t1' but differ, and the first one counts" in journal.read().warning


@pytest.mark.parametrize(
    ("entry", "given", "wrong"),
    [
        ({"kind": "jam"}, "jam", "no kind, one of take, session, limit, note"),
        ({}, "{}", "no kind"),
        ("take", "'take'", "no kind"),
        ({"kind": "take", "when": "2030-05-04T18:30:00"}, "2030-05-04T18:30:00", "UTC offset"),
        ({"kind": "take", "when": "yesterday"}, "'yesterday'", "UTC offset"),
        ({"kind": "take", "when": 5}, "when=5", "UTC offset"),
        ({"kind": "take", "id": 7}, "id=7", "not a text"),
        ({"kind": "take", "crc32": "0"}, "crc32", "use another"),
        ({"kind": "take", "taps": {1, 2}}, "taps={1, 2}", "not a number, a text"),
        ({"kind": "take", "deep": {1: 2}}, "{1: 2}", "not a text"),
    ],
)
def test_an_entry_that_cannot_be_kept_is_refused_before_anything_is_written(journal, entry, given, wrong):
    """The message says what was given, what is wrong, and shows an entry that works."""
    assert issubclass(JournalError, ValueError)  # so that a panel shows its text
    refused(lambda: journal.append(entry), given, wrong, "for example")
    assert not journal.path.exists()


# --- the place -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("deeper", "found"), [("", True), ("a/b", True), ("a/b/c", False)])
def test_it_lies_in_the_working_folder(tmp_path, monkeypatch, deeper, found):
    """In the marked folder, from up to two folders below; otherwise in the current folder."""
    (tmp_path / MARK).write_text("{}")
    here = tmp_path / deeper
    here.mkdir(parents=True, exist_ok=True)
    monkeypatch.chdir(here)
    journal = Journal()
    assert journal.path == (tmp_path if found else here) / "journal.jsonl"
    assert not journal.path.exists()
    assert list(journal.read()) == []
    monkeypatch.chdir("/")
    journal.append(TAKE)
    assert len(journal.read()) == 1


# --- damage --------------------------------------------------------------------------------------------


def contents(count: int = 4) -> tuple[bytes, list[dict]]:
    """Return a journal's bytes and its entries."""
    entries = [
        {"kind": "take", "id": f"t{n}", "when": f"2030-05-04T18:3{n}:00+02:00", "note": "é", "pair": [4, 3]}
        | {"deep": {"kind": "take", "id": "inner"}}
        for n in range(count)
    ]
    return b"".join(map(journal_line, [{HEAD: 1}, *entries])), entries


WHOLE, ENTRIES = contents()
ENDS = [at + 1 for at, byte in enumerate(WHOLE) if byte == 10]


@settings(max_examples=tries(300), deadline=None)
@given(st.integers(0, len(WHOLE)))
def test_a_file_cut_anywhere_keeps_every_entry_before_the_cut(cut):
    """All lines that end before the cut are read, and at most one damaged line is told."""
    entries = parsed(WHOLE[:cut], "journal.jsonl")
    before = sum(end <= cut for end in ENDS[1:])
    assert list(entries)[:before] == ENTRIES[:before]
    whole = cut == 0 or cut in ENDS or cut + 1 in ENDS
    assert len(entries.damaged) == (not whole)
    assert bool(entries.warning) == (not whole)


def test_a_file_cut_anywhere_is_appended_to_and_merges_nothing(tmp_path):
    """After any cut the next entry is read, and every one before the cut: the torn line stays apart."""
    for cut in range(len(WHOLE) + 1):
        journal = Journal(tmp_path / "cut.jsonl", clock=lambda: NOW)
        journal.path.write_bytes(WHOLE[:cut])
        kept = journal.append({"kind": "note", "id": "next"})
        entries = journal.read()
        before = [entry for entry, end in zip(ENTRIES, ENDS[1:], strict=True) if end - 1 <= cut]
        assert list(entries) == [*before, kept]
        assert len(entries.damaged) <= 1
        assert entries.version == 1
        written = journal.path.read_bytes()
        assert written.startswith(WHOLE[:cut])
        assert written.splitlines(keepends=True)[-1] == journal_line(kept)


@settings(max_examples=tries(500), deadline=None)
@given(st.integers(0, len(WHOLE) - 1), st.integers(1, 255))
@example(ENDS[0], WHOLE[ENDS[0]] ^ ord("\n"))
def test_a_flipped_byte_costs_at_most_its_own_line_and_is_told(at, flip):
    """Whatever one byte becomes, every other entry is read; if one is lost, the reader is told."""
    damaged = bytearray(WHOLE)
    damaged[at] ^= flip
    entries = parsed(bytes(damaged), "journal.jsonl")
    hit = sum(end <= at for end in ENDS) - 1
    others = [entry for n, entry in enumerate(ENTRIES) if n != hit]
    assert [entry for entry in entries if entry in others] == others
    assert all(entry in ENTRIES for entry in entries)
    lost = len(ENTRIES) - len(entries)
    assert lost <= 1
    if lost:
        assert entries.damaged
        pushed_down = at == ENDS[hit] and damaged[at] == ord("\n")  # an empty line came before it
        line = hit + 2 + pushed_down
        assert entries.damaged[0].line == line
        assert f"line {line}:" in entries.warning


def test_every_flip_of_a_line_end_loses_nothing():
    """Two lines that have run into one are both read, and it is told where a byte stands between them."""
    for end in ENDS:
        for byte in (0, 32, 44, 125, 200):
            damaged = bytearray(WHOLE)
            damaged[end - 1] = byte
            assert list(parsed(bytes(damaged), "journal.jsonl")) == ENTRIES


@pytest.mark.parametrize(
    "rubbish",
    [b"\0" * 500, b"{" * 5000, b"[" * 100_000, b'{"a":' * 20_000, b"\xff\xfe", b'{"kind":"take"}', b"null"],
    ids=lambda rubbish: repr(rubbish[:8]),
)
def test_rubbish_in_the_middle_is_told_and_stops_nothing(rubbish):
    """Zeros, brackets without end, no UTF-8, no checksum: one damaged line, the rest is read."""
    entries = parsed(WHOLE + rubbish + b"\n" + journal_line({"kind": "note", "id": "z"}), "journal.jsonl")
    assert [entry["id"] for entry in entries] == ["t0", "t1", "t2", "t3", "z"]
    assert [line.line for line in entries.damaged] == [6]
    assert entries.damaged[0].raw == rubbish
    assert "1 line of journal.jsonl could not be read (line 6:" in entries.warning


def test_damaged_lines_are_copied_aside_when_asked(journal):
    """Every damaged line is in journal-damaged.txt once, to the byte; the journal itself is not touched."""
    assert journal.set_aside() is None
    journal.append(TAKE)
    torn = b'{"kind":"take","id":"torn","wh\xff'
    with journal.path.open("ab") as file:
        file.write(torn + b"\nsecond\n")
    before = journal.path.read_bytes()
    aside = journal.path.with_name("journal-damaged.txt")
    for _ in range(2):
        assert journal.set_aside() == aside
        assert aside.read_bytes() == torn + b"\nsecond\n"
    assert journal.path.read_bytes() == before
    with journal.path.open("ab") as file:
        file.write(b"third\n")
    journal.set_aside()
    assert aside.read_bytes() == torn + b"\nsecond\nthird\n"
    assert sorted(os.listdir(journal.path.parent)) == ["journal-damaged.txt", "journal.jsonl"]
    assert "3 lines" in journal.read().warning


def test_a_file_that_is_no_journal_is_left_alone(journal):
    """Nothing is added to somebody's text, and the reader is told."""
    for text in (b"my notes\n", b'{"kind": "take"}\n', b"\xff\xd8\xff"):
        journal.path.write_bytes(text)
        refused(lambda: journal.append(TAKE), "is not a journal", "for example practice.Journal(")
        assert journal.path.read_bytes() == text
        assert list(journal.read()) == []
        assert "is not a journal" in journal.read().warning


def test_a_damaged_header_stops_nothing(journal):
    """Entries are read, it is told, and appending goes on with a new header."""
    journal.path.write_bytes(WHOLE.replace(b"journal", b"jourmal", 1))
    assert list(journal.read()) == ENTRIES
    assert "line 1: its checksum does not fit" in journal.read().warning
    journal.append(TAKE)
    assert len(journal.read()) == len(ENTRIES) + 1
    assert journal.read().version == 1


def test_a_journal_of_a_newer_version_is_read_and_not_written(journal):
    """What fits is read and told; adding to it is refused, and the file stays as it is."""
    entries = [*ENTRIES, {"kind": "dance", "id": "d"}]
    newer = b"".join(map(journal_line, [{HEAD: 2, "more": True}, *entries]))
    journal.path.write_bytes(newer)
    assert list(journal.read()) == entries
    assert "a newer rhythmlab" in journal.read().warning
    assert len(journal.takes()) == 4
    refused(lambda: journal.append(TAKE), "newer rhythmlab (format 2, this one writes 1)", "nothing is added")
    assert journal.path.read_bytes() == newer


# --- the disk ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("taken", [0, 1, 30])
def test_a_full_disk_is_told_and_the_take_can_be_sent_again(journal, monkeypatch, taken):
    """What the disk took before it was full is a torn line; the same take sent again is read."""
    journal.append({**TAKE, "id": "first"})
    left = [taken]

    def full(fd, data, write=os.write):
        if not left[0]:
            raise OSError(errno.ENOSPC, "No space left on device")
        count, left[0] = write(fd, data[: left[0]]), 0
        return count

    again = {**TAKE, "id": "second", "when": "2030-05-04T18:31:00+00:00"}
    with monkeypatch.context() as patch:
        patch.setattr(os, "write", full)
        message = refused(lambda: journal.append(again), "the disk is full", "free some space")
        assert "The take is still held in the page" in message
        assert journal.path.name in message
    assert [entry["id"] for entry in journal.read()] == ["first"]
    journal.append(again)
    assert [entry["id"] for entry in journal.read()] == ["first", "second"]
    assert len(journal.read().damaged) == (taken == 1)


@pytest.mark.parametrize("most", [1, 7, 50])
def test_a_short_write_is_completed(journal, monkeypatch, most):
    """Where the disk takes a few bytes at a time, the line is whole in the end."""
    with monkeypatch.context() as patch:
        patch.setattr(os, "write", lambda fd, data, write=os.write: write(fd, data[:most]))
        kept = [journal.append({**TAKE, "id": name}) for name in "ab"]
    assert list(journal.read()) == kept
    assert journal.read().warning == ""


def test_an_entry_is_one_write_and_then_waits_for_the_disk(journal, monkeypatch):
    """One os.write of the whole line, then fsync of the same file."""
    journal.append(TAKE)
    calls = []
    with monkeypatch.context() as patch:
        patch.setattr(os, "write", lambda fd, d, real=os.write: calls.append(("w", bytes(d))) or real(fd, d))
        patch.setattr(os, "fsync", lambda fd, real=os.fsync: calls.append(("s", fd)) or real(fd))
        kept = journal.append({**TAKE, "id": "t2"})
    assert [name for name, _ in calls] == ["w", "s"]
    assert calls[0][1] == journal_line(kept)


def test_a_disk_that_does_not_confirm_is_told(journal, monkeypatch):
    """When fsync fails the take is not said to be kept; sent again, it counts once."""

    def fail(fd):
        raise OSError(errno.EIO, "Input/output error")

    take = {**TAKE, "id": "t1"}
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", fail)
        refused(lambda: journal.append(take), "Input/output error", "still held in the page")
    journal.append(take)
    assert [entry["id"] for entry in journal.read()] == ["t1"]


def test_a_missing_folder_is_told(tmp_path):
    """It reads as empty, and appending says that the folder is not there."""
    journal = Journal(tmp_path / "none" / "journal.jsonl", clock=lambda: NOW)
    assert list(journal.read()) == []
    refused(
        lambda: journal.append(TAKE), "its folder is not there", "make the folder", "still held in the page"
    )
    assert not (tmp_path / "none").exists()


def test_a_folder_or_a_pipe_in_the_place_of_the_file_is_told(tmp_path):
    """Neither is read or written, nothing hangs, and the message says what is there."""
    (tmp_path / "journal.jsonl").mkdir()
    folder = Journal(tmp_path / "journal.jsonl", clock=lambda: NOW)
    refused(lambda: folder.append(TAKE), "a folder has that name", "still held in the page")
    refused(folder.read, "cannot be read", "a folder has that name")


@posix
def test_a_pipe_in_the_place_of_the_file_does_not_hang(tmp_path):
    """A named pipe is refused at once."""
    os.mkfifo(tmp_path / "pipe")
    pipe = Journal(tmp_path / "pipe", clock=lambda: NOW)
    refused(lambda: pipe.append(TAKE), "not a plain file")
    refused(pipe.read, "not a plain file")


@pytest.mark.parametrize(
    ("code", "why", "what"),
    [
        (errno.EACCES, "you are not allowed to write there", "allow it"),
        (errno.EROFS, "it can only be read", "allow writing to it"),
        (errno.EPERM, "you are not allowed to write there", "allow it"),
    ],
)
def test_a_file_that_can_only_be_read_is_told(journal, monkeypatch, code, why, what):
    """It can be read as before; appending says why not, and what to do."""
    journal.append(TAKE)

    def refuse(path, flags, mode=0o777, real=os.open):
        if flags & os.O_RDWR:
            raise OSError(code, os.strerror(code), str(path))
        return real(path, flags, mode)

    with monkeypatch.context() as patch:
        patch.setattr(os, "open", refuse)
        refused(
            lambda: journal.append(TAKE), why, f"{what} and send it again", "for example practice.Journal("
        )
        assert len(journal.read()) == 1


@posix
def test_the_kernel_itself_stops_the_file_from_growing(tmp_path):
    """With a real limit on the file's size a line is cut off; it is told, and later entries are read."""
    code = """
        import resource, signal, sys
        from rhythmlab.practice.journal import Journal, JournalError
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        journal = Journal(sys.argv[1])
        journal.append({"kind": "take", "id": "a"})
        size = journal.path.stat().st_size
        resource.setrlimit(resource.RLIMIT_FSIZE, (size + 40, resource.RLIM_INFINITY))
        try:
            journal.append({"kind": "take", "id": "b"})
        except JournalError as error:
            print(error)
        assert journal.path.stat().st_size == size + 40
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
        journal.append({"kind": "take", "id": "c"})
    """
    said = run(code, tmp_path / "journal.jsonl")
    assert "may not grow" in said
    assert "still held in the page" in said
    assert [entry["id"] for entry in Journal(tmp_path / "journal.jsonl").read()] == ["a", "c"]


# --- other processes -----------------------------------------------------------------------------------


def run(code: str, *arguments: object) -> str:
    """Run a program of its own and return what it prints."""
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), *map(str, arguments)],
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


KILLED = 75  # by each of four tests
KILLS = """
    import os, random, signal, sys, time
    from rhythmlab.practice.journal import Journal

    def writer(path, pipe, kill, short):
        if short:  # the disk takes a few bytes at a time: a kill then tears a line
            def slow(fd, data, real=os.write):
                time.sleep(0 if fd == pipe else 0.0001)
                return real(fd, data if fd == pipe else data[:9])
            os.write = slow
        journal, n = Journal(path), 0
        while True:
            name = f"{kill}-{n}"
            journal.append({"kind": "take", "id": name, "bpm": n, "text": "x" * (n % 90)})
            os.write(pipe, f"{name}\\n".encode())
            n += 1

    path, seed, kills = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    chance = random.Random(seed)
    for kill in range(kills):
        reading, writing = os.pipe()
        child = os.fork()
        if not child:
            os.close(reading)
            writer(path, writing, kill, kill % 2)
        os.close(writing)
        told = b""
        if chance.random() < 0.8:  # after the first take, or at any moment before
            told = os.read(reading, 4096)
        time.sleep(chance.random() * 0.012)
        os.kill(child, signal.SIGKILL)
        while more := os.read(reading, 65536):
            told += more
        os.close(reading)
        _, status = os.waitpid(child, 0)
        assert os.WTERMSIG(status) == signal.SIGKILL, status
        # a name that is not finished by its line end was not reported
        sys.stdout.write(told[: told.rindex(b"\\n") + 1].decode() if b"\\n" in told else "")
"""


@posix
@pytest.mark.parametrize("seed", range(4))
def test_no_finished_take_is_lost_when_the_writer_is_killed(tmp_path, seed):
    """75 writers in turn, killed at random moments: every take that append returned for is read, in order."""
    journal = Journal(tmp_path / "journal.jsonl")
    finished = run(KILLS, journal.path, seed, KILLED).split()
    entries = journal.read()
    assert entries.damaged  # kills did tear lines
    assert len(finished) > KILLED
    names = [entry["id"] for entry in entries]
    assert [name for name in names if name in set(finished)] == finished
    assert len(names) <= len(finished) + KILLED  # each kill may leave one that was written and not reported
    assert len(entries.damaged) <= KILLED
    kept = journal.append({"kind": "note", "id": "after"})
    assert journal.read()[-1] == kept


TOGETHER = """
    import os, sys
    from rhythmlab.practice.journal import Journal
    path, takes = sys.argv[1], int(sys.argv[2])
    if len(sys.argv) > 3:  # the disk takes a few bytes at a time, so without a lock lines would mix
        os.write = lambda fd, data, real=os.write: real(fd, data[:11])
    children = []
    for who in "abc":
        child = os.fork()
        if not child:
            journal = Journal(path)
            for n in range(takes):
                journal.append({"kind": "take", "id": f"{who}{n}", "text": who * 50})
            os._exit(0)
        children.append(child)
    assert all(os.waitpid(child, 0)[1] == 0 for child in children)
"""


@posix
@pytest.mark.parametrize("short", [(), ("short",)])
def test_notebooks_that_write_at_once_lose_nothing(tmp_path, short):
    """Three processes, one new file, 40 takes each: all are read, each in its own order, no line is mixed."""
    journal = Journal(tmp_path / "journal.jsonl")
    run(TOGETHER, journal.path, 40, *short)
    entries = journal.read()
    assert (len(entries), entries.damaged, entries.warning) == (120, (), "")
    for who in "abc":
        assert [e["id"] for e in entries if e["id"][0] == who] == [f"{who}{n}" for n in range(40)]
    assert journal.path.read_bytes().count(b"rhythmlab journal") == 1


@posix
def test_a_notebook_that_holds_the_file_for_long_is_told_and_stops_no_reader(journal):
    """While another holds the lock, appending gives up with a clear line, and reading goes on."""
    import fcntl

    journal.append(TAKE)
    journal.wait = 0.05
    with journal.path.open("rb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        refused(lambda: journal.append(TAKE), "another notebook is writing", "still held in the page")
        assert len(journal.read()) == 1
    journal.append(TAKE)
    assert len(journal.read()) == 2


@posix
@pytest.mark.parametrize("code", [errno.ENOLCK, errno.ENOTSUP, errno.ENOSYS, errno.EINVAL])
def test_a_file_system_without_locks_still_keeps_takes(journal, monkeypatch, code):
    """Where flock is not to be had, one write at the end has to do."""
    import fcntl

    def refuse(fd, kind):
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(fcntl, "flock", refuse)
    kept = journal.append(TAKE)
    assert list(journal.read()) == [kept]


@posix
def test_a_python_in_a_browser_keeps_takes(journal, monkeypatch):
    """There the module of locks is empty: no lock is taken, and the entry is kept."""
    import fcntl

    for name in ("LOCK_EX", "LOCK_SH", "LOCK_NB", "LOCK_UN", "flock"):
        monkeypatch.delattr(fcntl, name)
    kept = journal.append(TAKE)
    assert list(journal.read()) == [kept]


@pytest.mark.parametrize("windows", [False, True])
def test_locks_of_other_systems(journal, monkeypatch, windows):
    """Without fcntl, msvcrt locks a byte beyond the entries and lets it go; without either, none is taken."""
    calls = []

    class Msvcrt:
        LK_NBLCK, LK_UNLCK = 2, 0

        @staticmethod
        def locking(fd, mode, count):
            calls.append((mode, count, os.lseek(fd, 0, os.SEEK_CUR)))

    monkeypatch.setitem(sys.modules, "fcntl", None)
    monkeypatch.setitem(sys.modules, "msvcrt", Msvcrt if windows else None)
    kept = [journal.append({**TAKE, "id": name}) for name in "ab"]
    assert list(journal.read()) == kept
    assert calls == ([(2, 1, 2**30), (0, 1, 2**30)] * 3 if windows else [])


# --- what page 08 asks ---------------------------------------------------------------------------------


def at(**ago):
    """Return the text of a time before the journal's present."""
    return (NOW - timedelta(**ago)).isoformat()


@pytest.mark.parametrize(
    ("ago", "said"),
    [
        ({"minutes": 5}, "Today: 4 against 3 at 84 bpm of the 3, hands; spread 3.1 %."),
        ({"days": 1}, "Yesterday: 4 against 3 at 84 bpm of the 3, hands; spread 3.1 %."),
        ({"days": 9}, "9 days ago: 4 against 3 at 84 bpm of the 3, hands; spread 3.1 %."),
        ({"days": -2}, "On 2030-05-06: 4 against 3 at 84 bpm of the 3, hands; spread 3.1 %."),
    ],
)
def test_tomorrow_finds_what_was_practised_last(journal, ago, said):
    """One sentence: when, what, how fast, with which limbs, how even."""
    assert journal.last() == "No take has been kept yet."
    journal.append({**TAKE, "when": at(**ago)})
    journal.append({**TAKE, "bpm": 60, "when": at(days=30)})
    journal.append({"kind": "note"})
    assert journal.last() == said


def test_a_spread_does_not_stand_beside_many_missed_strokes(journal):
    """More than one in twenty missed: what was missed is said, and how even the others were is not."""
    journal.append({**TAKE, "missed": 8, "meant": 28, "spread_percent": 1.3, "when": at(minutes=5)})
    assert journal.last() == "Today: 4 against 3 at 84 bpm of the 3, hands; 8 of 28 missed."
    assert "8 of 28" in journal._repr_html_()
    assert "1.3 %" not in journal._repr_html_()
    journal.append({**TAKE, "missed": 1, "meant": 28, "spread_percent": 1.3, "when": at(minutes=4)})
    assert journal.last() == "Today: 4 against 3 at 84 bpm of the 3, hands; spread 1.3 %."
    assert journal._repr_html_().count("1.3 %") == 2


@pytest.mark.parametrize("short", [(), (0,), (1,), (2,), (0, 2), (1, 2), (0, 1, 2)])
@pytest.mark.parametrize("days", [(0, 0, 0), (1, 0, 0), (1, 1, 0), (2, 1, 0)])
def test_a_take_too_short_to_judge_is_not_quoted_where_another_of_its_day_is_judged(journal, days, short):
    """The newest of the last day that can be judged; where none of that day can be, its newest."""
    for n, ago in enumerate(days):
        more = {"too_short": True} if n in short else {}
        journal.append({**TAKE, "id": str(n), "bpm": 60 + n, "when": at(days=ago, minutes=30 - n), **more})
    of_day = [n for n in range(3) if days[n] == days[-1]]
    judged = [n for n in of_day if n not in short] or of_day
    assert journal.last().startswith(f"Today: 4 against 3 at {60 + judged[-1]} bpm")


@pytest.mark.parametrize(
    ("take", "said"),
    [
        ({}, "Today: a take."),
        ({"pair": "groove 2", "bpm": "171/2"}, "Today: groove 2 at 85.5 bpm."),
        ({"pair": "3:4:5", "bpm": 60, "pulse": 7}, "Today: 3 against 4 against 5 at 60 bpm."),
    ],
)
def test_a_take_with_little_in_it_is_still_said(journal, take, said):
    """What is not known is left out."""
    journal.append({"kind": "take", **take})
    assert journal.last() == said


def test_takes_are_found_by_pair_and_limbs(journal):
    """A pair is found however it is written, and who plays which number matters."""
    for n, (pair, limbs) in enumerate([([4, 3], "hands"), ("4:3", "hand and foot"), ([3, 4], "hands")]):
        journal.append({"kind": "take", "id": str(n), "pair": pair, "limbs": limbs})
    journal.append({"kind": "session", "minutes": 20})
    assert [take["id"] for take in journal.takes()] == ["0", "1", "2"]
    for pair in ((4, 3), "4:3", "4 against 3", Polyrhythm(4, 3), np.array([4, 3])):
        assert [take["id"] for take in journal.takes(pair=pair)] == ["0", "1"]
    assert [take["id"] for take in journal.takes(pair=(4, 3), limbs="hands")] == ["0"]
    assert [entry["minutes"] for entry in journal.sessions()] == [20]


def test_today_lasts_until_four_in_the_morning(tmp_path):
    """A late session is one day; a time is read by its own clock, wherever that was."""
    clock = datetime.fromisoformat("2030-05-05T00:30:00+02:00")
    journal = Journal(tmp_path / "j.jsonl", clock=lambda: clock)
    for when in ("2030-05-04T03:59:00+02:00", "2030-05-04T23:50:00+02:00", "2030-05-05T00:10:00+02:00"):
        journal.append({"kind": "take", "when": when})
    assert [entry["when"][5:16] for entry in journal.today()] == ["05-04T23:50", "05-05T00:10"]
    assert day_of("2030-05-05T04:00:00+09:00").isoformat() == "2030-05-05"


def test_the_minutes_of_the_last_day_of_practice(journal):
    """All sessions of that day, today's left out, and nothing older than a week."""
    assert journal.last_minutes() is None
    for minutes, ago in ((90, 8), (20, 2), (Fraction(25, 2), 2), (40, 3), (55, 0)):
        journal.append({"kind": "session", "minutes": minutes, "when": at(days=ago)})
    assert journal.last_minutes() == Fraction(65, 2)
    journal.append({"kind": "session", "when": at(days=1)})
    assert journal.last_minutes() == Fraction(65, 2)


def test_the_minutes_of_a_day_count_for_a_week(tmp_path):
    """Asked on any of a hundred days: the last day of practice of the seven before, or none at all."""
    clock = [NOW]
    journal = Journal(tmp_path / "journal.jsonl", clock=lambda: clock[0])
    kept = {0: 35, 20: 50, 22: 10, 40: 15, 47: 25, 55: 45}
    for day, minutes in kept.items():
        journal.append({"kind": "session", "minutes": minutes, "when": (NOW + timedelta(day)).isoformat()})
    for day in range(-1, 130):
        clock[0] = NOW + timedelta(day)
        before = [one for one in kept if day - 7 <= one < day]
        assert journal.last_minutes() == (kept[max(before)] if before else None), day


@pytest.mark.parametrize(
    ("given", "numbers"), [(None, None), ("7 against 4", (7, 4)), (["a", 4], "['a', 4]"), (7, "7")]
)
def test_a_pair_is_its_numbers(given, numbers):
    """Text, lists and rhythms come to the same; what is no pair stays text."""
    assert pair_of(given) == numbers


# --- the table -----------------------------------------------------------------------------------------


def test_the_table_has_the_main_columns_first_and_every_number(journal, tmp_path):
    """when, kind, pair, bpm, limbs, mode, then the rest flattened; lists stay in the journal."""
    journal.append({**TAKE, "mode": "tap", "taps": [1, 2], "gaps": {"early": 3, "deep": {"ms": -4.5}}})
    journal.append({"kind": "note", "text": "=1+1", "bpm": "171/2", "pair": "groove"})
    path = journal.export_csv(tmp_path / "practice.csv")
    with path.open(encoding="utf-8", newline="") as file:
        first, second = csv.DictReader(file)
    assert list(first)[:6] == ["when", "kind", "pair", "bpm", "limbs", "mode"]
    assert (first["pair"], first["bpm"], first["limbs"], first["mode"]) == ("4:3", "84", "hands", "tap")
    assert (first["spread_percent"], first["gaps.early"], first["gaps.deep.ms"]) == ("3.1", "3", "-4.5")
    assert "taps" not in first
    assert (second["text"], second["bpm"], second["limbs"]) == ("'=1+1", "85.5", "")


@pytest.mark.parametrize("links", [True, False])
def test_the_table_never_takes_the_place_of_a_file(journal, tmp_path, monkeypatch, links):
    """A file that is there stays, also where there are no hard links; nothing half-written is left."""
    if not links:

        def refuse(one, two):
            raise OSError(errno.EPERM, "no hard links")

        monkeypatch.setattr(os, "link", refuse)
    journal.append(TAKE)
    path = journal.export_csv(tmp_path / "practice.csv")
    assert path.read_text().startswith("when,kind,pair")
    path.write_text("mine")
    refused(
        lambda: journal.export_csv(path), "is there already", "for example practice.Journal().export_csv("
    )
    assert path.read_text() == "mine"
    refused(lambda: journal.export_csv(tmp_path / "no" / "a.csv"), "is in a folder that is not there")
    assert sorted(os.listdir(tmp_path)) == ["journal.jsonl", "practice.csv"]


def test_a_journal_shows_its_last_takes_in_a_notebook(tmp_path):
    """A table, newest first, with the numbers; what a reader wrote cannot become markup."""
    journal = Journal(tmp_path / "journal.jsonl")
    assert "No take has been kept yet." in journal._repr_html_()
    for day in (4, 5):
        when = f"2030-05-0{day}T18:00:00+02:00"
        take = {"kind": "take", "when": when, "pair": [4, 3], "bpm": "60", "limbs": "<b>hands</b>"}
        journal.append({**take, "spread_percent": 3.14, "missed": 1, "meant": 28})
    shown = journal._repr_html_()
    assert shown.index("2030-05-05 18:00") < shown.index("2030-05-04 18:00")
    assert "<td>4 against 3</td><td>60</td><td>&lt;b&gt;hands&lt;/b&gt;</td>" in shown
    assert "<td>3.1 %</td><td>1 of 28</td>" in shown


@pytest.mark.parametrize(
    ("entry", "wrong"),
    [
        ({"taps": list(range(500_001))}, "holds more than 500,000"),
        ({"taps": np.zeros(500_001)}, "not a number, a text"),
        ({"text": "x" * 10_000_001}, "more than the 10,000,000 of an entry"),
        ({"deep": eval("[" * 30 + "]" * 30)}, "more than 20 deep"),
        ({"bpm": 10**5000}, "too many digits"),
        ({"bpm": Fraction(1, 10**5000)}, "too many digits"),
    ],
    ids=lambda given: given if isinstance(given, str) else next(iter(given)),
)
def test_an_entry_larger_than_any_take_is_refused(journal, entry, wrong):
    """Nothing is written, and the message is short."""
    message = refused(lambda: journal.append({"kind": "note", **entry}), wrong, "for example")
    assert len(message) < 1000
    assert not journal.path.exists()


def test_a_nest_without_bottom_is_refused(journal):
    """A dict that holds itself ends in words."""
    nest = {"kind": "note"}
    nest["inside"] = nest
    refused(lambda: journal.append(nest), "more than 20 deep")


def test_a_journal_larger_than_any_is_not_read(journal):
    """Its size is looked at first: a gigabyte is refused at once, and stays."""
    journal.append(TAKE)
    os.truncate(journal.path, 10**9)
    with in_time(2):
        refused(journal.read, "cannot be read", "1,000,000,000 bytes, more than 200,000,000")
    assert journal.path.stat().st_size == 10**9


@pytest.mark.parametrize(
    "far",
    [
        "1e999999999",
        "1e-999999999",
        "9" * 10**6,
        "1/" + "9" * 10**6,
        10**5000,
        1e308,
        "1e٩٩٩٩٩٩",
        "1e9_9_9_9_9_9_9",
        [1],
        {},
        np.nan,
    ],
    ids=lambda far: type(far).__name__,
)
def test_a_number_that_nobody_plays_is_none(far):
    """Rows of a journal that was damaged or written by hand freeze nothing."""
    with in_time(1):
        assert number_of(far) is None
    row = {"kind": "take", "when": "2030-05-04T18:30:00+02:00", "pair": [4, 3], "bpm": far}
    with in_time(1), pytest.raises(ValueError, match="is not a tempo above 0"):
        past_takes([row])


@given(st.fractions(-(10**15), 10**15) | st.integers(-(10**29), 10**29) | st.floats(-1e15, 1e15))
def test_a_number_that_is_kept_comes_back_exactly(number):
    """Whole numbers, fractions and floats as they are printed."""
    assert number_of(str(number)) == number_of(number) == Fraction(str(number))


@pytest.mark.parametrize(
    "far", [[10**40, 3], [float("inf"), 3], "9" * 5000, [[4], 3], {"a": 1}, iter(int, 1)]
)
def test_a_pair_that_nobody_plays_is_text(far):
    """However long, it ends in a short text or a tuple of few numbers."""
    with in_time(1):
        found = pair_of(far)
    assert isinstance(found, str) or len(found) <= 256


@pytest.mark.parametrize("row", [7, None, "take", [1]])
def test_what_is_no_list_of_takes_is_refused(row):
    """Neither the list nor what is in it may be something else."""
    with pytest.raises(ValueError, match="a row of takes"):
        past_takes([row])
    with pytest.raises(ValueError, match="takes="):
        past_takes(7)


@pytest.mark.parametrize("when", ["0001-01-01T00:00:00+00:00", "0001-01-01T03:59:59+14:00"])
def test_times_that_no_day_can_be_made_of_are_told(when):
    """The first morning of all time is refused by name, not made raw."""
    with pytest.raises(ValueError, match="is not a time with its UTC offset"):
        past_takes([{"kind": "take", "when": when, "pair": [4, 3], "bpm": 84}])
    (row,) = past_takes([{"kind": "take", "when": "9999-12-31T23:59:59-12:00", "pair": [4, 3], "bpm": 84}])
    assert row.day.year == 9999


def test_a_clock_that_tells_no_time_is_told(tmp_path):
    """What cannot be called is refused when the journal is made, what returns no time when it is asked."""
    with pytest.raises(ValueError, match="clock=5 cannot be called"):
        Journal(tmp_path / "a.jsonl", clock=5)
    for ask in (Journal.today, Journal.last_minutes):
        with pytest.raises(ValueError, match="the time of the clock=7 is not a datetime"):
            ask(Journal(tmp_path / "a.jsonl", clock=lambda: 7))


@pytest.mark.parametrize(
    ("cause", "told"), [("swapped", "the sides were swapped"), ("place", "6 of 10 missed")]
)
def test_what_was_wrong_with_all_of_a_take_is_told_and_not_what_it_missed(tmp_path, cause, told):
    """In the line of what was last and in the table; a cause that leaves the strokes in place is not that."""
    journal = Journal(tmp_path / "journal.jsonl")
    journal.append({"kind": "take", "pair": [3, 2], "bpm": 45, "missed": 6, "meant": 10, "cause": cause})
    assert journal.last() == f"Today: 3 against 2 at 45 bpm; {told}."
    assert told.removesuffix(" missed") in journal._repr_html_().partition("<tbody>")[2]

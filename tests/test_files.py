"""The one way out for files: names that every system takes, whole or not at all, never over another."""

import errno
import os
import random
import signal
import subprocess
import sys
import time
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmlab import files
from rhythmlab.files import (
    fault,
    folder_for,
    holds_already,
    is_part,
    make_folder,
    out,
    placed,
    put,
    reason,
    reason_unseen,
    remedy,
    safe_name,
    save,
    set_aside,
    with_ending,
)
from tests.refusals import refusal, works
from tests.strategies import TRIES

CALL = "write({})"


def write(path, data=b"x", **how):
    return save(path, data, CALL, **how)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("7 against 4", "7-against-4.svg"),
        ("7:4 at ♩ = 72", "7-4-at-72.svg"),
        ("../../etc/passwd", "etc-passwd.svg"),
        ("..\\..\\notes", "notes.svg"),
        ("/", "rhythm.svg"),
        ("", "rhythm.svg"),
        ("..", "rhythm.svg"),
        (".hidden", "hidden.svg"),
        ("-rf", "rf.svg"),
        ("con", "rhythm-con.svg"),
        ("Nul.tar", "rhythm-Nul.tar.svg"),
        ("COM¹", "rhythm-COM¹.svg"),
        ("conin$", "rhythm-conin.svg"),
        ("<b>bold</b>", "b-bold-b.svg"),
        ("a\x00b\nc", "a-b-c.svg"),
        ("\u202egvs.exe", "gvs.exe.svg"),
        ("take.svg", "take.svg"),
        ("Übung 3", "Übung-3.svg"),
        ("拍子", "拍子.svg"),
        ("ताल", "ताल.svg"),
        ("إيقاع", "إيقاع.svg"),
        ("🥁", "rhythm.svg"),
        ("\ud800", "rhythm.svg"),
    ],
)
def test_names_are_made_safe(text, name):
    """Folders, devices, markup and what cannot be seen go; letters of every script stay."""
    assert safe_name(text, ".svg") == name


@TRIES
@given(st.text(max_size=300), st.sampled_from([".svg", "PDF", ".csv"]))
def test_a_safe_name_has_no_fault_and_stays(text, ending):
    """It is one short name, in the one spelling of Unicode, and safe already."""
    name = safe_name(text, ending)
    assert fault(name) == ""
    assert os.path.basename(name) == name
    assert len(name.encode()) <= files.SHORT_NAME
    assert name == unicodedata.normalize("NFC", name)
    assert safe_name(name, ending) == name
    assert name.isascii() or not text.isascii()


def test_a_long_name_is_cut_between_letters():
    """A hundred bytes are kept, and no half of a letter."""
    assert safe_name("é" * 500, ".svg") == "é" * 48 + ".svg"
    assert safe_name("拍" * 500, ".svg") == "拍" * 32 + ".svg"


@pytest.mark.parametrize("text", [None, 7, b"take"])
def test_a_name_of_no_text_is_refused(text):
    """The message shows one."""
    with pytest.raises(ValueError, match=r"is not text, such as '7 against 4'"):
        safe_name(text, ".svg")


@pytest.mark.parametrize("ending", ["", ".", "../x", ".s v", None, ".averylongending"])
def test_an_ending_of_anything_else_is_refused(ending):
    """Letters and digits only."""
    with pytest.raises(ValueError, match=r"is not an ending of a file, such as '\.svg'"):
        safe_name("take", ending)


@pytest.mark.parametrize("path", [None, 3, b"a.svg"])
def test_a_path_that_is_none_is_refused(path):
    """Text or a path."""
    for call in (lambda: with_ending(path, ".svg", call=CALL), lambda: write(path)):
        refusal(call, f"path={path!r}", "is not a path")


def test_a_file_is_written_and_read_back(tmp_path):
    """All of it, and nothing beside it; a name with a space is the reader's choice."""
    data = bytes(range(256)) * 1000
    for name in ("note.bin", "my take (2).bin", "Übung.bin"):
        assert write(tmp_path / name, data) == tmp_path / name
        assert (tmp_path / name).read_bytes() == data
    assert len(list(tmp_path.iterdir())) == 3


def test_a_file_that_is_there_stays_unless_asked(tmp_path):
    """It is refused with a free name that works, and replaced only when that is said."""
    path = tmp_path / "note.txt"
    path.write_bytes(b"mine")
    example = refusal(lambda: write(path, b"new"), "note.txt", "is not replaced", FileExistsError)
    assert path.read_bytes() == b"mine"
    assert works(example, write=write) == tmp_path / "note-2.txt"
    write(path, b"newer", replace=True)
    assert path.read_bytes() == b"newer"
    assert sorted(file.name for file in tmp_path.iterdir()) == ["note-2.txt", "note.txt"]


@pytest.mark.parametrize("name", ["x" * 196 + ".txt", "x" * 200, "拍" * 65 + ".txt", "a." + "x" * 190])
def test_a_long_name_that_is_taken_gets_an_example_that_works(tmp_path, name):
    """With its number the name would be too long, so it is cut."""
    write(tmp_path / name)
    example = refusal(lambda: write(tmp_path / name), "path=", "is not replaced", FileExistsError)
    assert works(example, write=write).parent == tmp_path
    assert len(list(tmp_path.iterdir())) == 2


@pytest.mark.parametrize("replace", [False, True])
def test_links_and_folders_are_never_replaced(tmp_path, replace):
    """What a link points to stays, also where it points to nothing, and so does a folder."""
    (tmp_path / "real.txt").write_bytes(b"mine")
    (tmp_path / "link.txt").symlink_to(tmp_path / "real.txt")
    (tmp_path / "nowhere.txt").symlink_to(tmp_path / "not there")
    (tmp_path / "folder.txt").mkdir()
    for name, what in (("link", "as a link"), ("nowhere", "as a link"), ("folder", "as a folder")):
        path = tmp_path / f"{name}.txt"
        refusal(lambda p=path: write(p, replace=replace), name, f"is there already, {what}", FileExistsError)
    assert (tmp_path / "real.txt").read_bytes() == b"mine"
    assert os.readlink(tmp_path / "link.txt") == str(tmp_path / "real.txt")
    assert len(list(tmp_path.iterdir())) == 4


def without_links(monkeypatch, how):
    """Do as a disk, or a Python, without hard links does."""
    if how == "no links here":

        def refuse(*_):
            raise OSError(errno.EPERM, "no links here")

        monkeypatch.setattr(os, "link", refuse)
    elif how == "no os.link":
        monkeypatch.delattr(os, "link")


@pytest.mark.parametrize("how", ["links", "no links here", "no os.link"])
@pytest.mark.parametrize("replace", [False, True])
@pytest.mark.parametrize("what", ["file", "link", "folder"])
def test_what_comes_meanwhile_stays(tmp_path, monkeypatch, how, replace, what):
    """Whatever takes the name while a file is written is kept, on disks with and without links."""
    path = tmp_path / "note.txt"
    comes = {
        "file": lambda: path.write_bytes(b"mine"),
        "link": lambda: path.symlink_to("elsewhere"),
        "folder": path.mkdir,
    }
    without_links(monkeypatch, how)
    monkeypatch.setattr(os, "fsync", lambda _: comes[what]())
    if what == "file" and replace:
        write(path, b"new", replace=True)
        assert path.read_bytes() == b"new"
        return
    refusal(lambda: write(path, b"new", replace=replace), "note.txt", "is not replaced", FileExistsError)
    assert [file.name for file in tmp_path.iterdir()] == ["note.txt"]
    assert path.is_symlink() if what == "link" else path.is_dir() if what == "folder" else path.read_bytes()


@pytest.mark.parametrize("how", ["no links here", "no os.link"])
def test_where_there_are_no_hard_links_files_are_written_all_the_same(tmp_path, monkeypatch, how):
    """Renamed into place, nothing left beside it; the same for what is set aside."""
    without_links(monkeypatch, how)
    write(tmp_path / "note.txt", b"new")
    assert (tmp_path / "note.txt").read_bytes() == b"new"
    assert set_aside(tmp_path / "note.txt").read_bytes() == b"new"
    assert [file.name for file in tmp_path.iterdir()] == ["note-damaged.txt"]


@pytest.mark.parametrize(
    ("number", "kind", "why"),
    [
        (errno.ENOSPC, OSError, "the disk is full"),
        (errno.EDQUOT, OSError, "your share of the disk is full"),
        (errno.EROFS, OSError, "it can only be read"),
        (errno.EACCES, PermissionError, "you are not allowed to write there"),
        (errno.EPERM, PermissionError, "you are not allowed to write there"),
        (errno.EFBIG, OSError, "the file may not grow any further"),
        (errno.ENAMETOOLONG, OSError, "the name is too long"),
        (errno.EIO, OSError, "Input/output error"),
    ],
)
@pytest.mark.parametrize("replace", [False, True])
def test_a_folder_that_takes_nothing_says_why(tmp_path, monkeypatch, number, kind, why, replace):
    """Full or only for reading: one sentence, nothing left behind, and what was there is there."""
    path = tmp_path / "note.txt"
    if replace:
        path.write_bytes(b"mine")

    def fails(_: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", fails)
    refusal(lambda: write(path, b"new", replace=replace), "note.txt", f"cannot be written: {why}", kind)
    assert [file.read_bytes() for file in tmp_path.iterdir()] == [b"mine"] * replace


def test_the_example_is_in_another_folder_than_the_full_one(tmp_path, monkeypatch):
    """Home, or where home is what is full the folder for temporary files; under a name that is free."""
    monkeypatch.setenv("HOME", str(tmp_path))
    (tmp_path / "note.txt").write_text("mine")

    def fails(_: int) -> None:
        raise OSError(errno.ENOSPC, "")

    (tmp_path / "there").mkdir()
    for where, free in ((tmp_path / "there" / "note.txt", tmp_path / "note-2.txt"), (tmp_path / "x", None)):
        with monkeypatch.context() as full:
            full.setattr(os, "fsync", fails)
            example = refusal(lambda where=where: write(where), "is full", "another folder", OSError)
        written = works(example, write=write)
        assert written == free or written.parent != tmp_path
        written.unlink()


def test_a_folder_that_is_not_there_is_refused(tmp_path):
    """Nothing is made; a file is no folder, nor is a link that leads nowhere, however far above."""
    refusal(lambda: write(tmp_path / "new" / "a.txt"), "a.txt", "is not there", FileNotFoundError)
    (tmp_path / "file").write_bytes(b"")
    (tmp_path / "link").symlink_to("nowhere")
    (tmp_path / "loop").symlink_to("loop")
    for name in ("file", "link", "loop"):
        wrong = "a file, not in a folder" if name == "file" else "a link that leads to no folder"
        for path in (tmp_path / name / "a.txt", tmp_path / name / "deeper" / "a.txt"):
            refusal(lambda path=path: write(path), "a.txt", wrong, NotADirectoryError)
    assert sorted(os.listdir(tmp_path)) == ["file", "link", "loop"]


def test_a_folder_that_is_a_link_to_one_is_a_folder(tmp_path):
    """Working folders may lie on another disk."""
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to("real")
    write(tmp_path / "link" / "a.txt")
    assert os.listdir(tmp_path / "real") == ["a.txt"]


#: Names that are not written, and what is said of them.
UNSAFE = [
    ("../out.txt", "leaves its folder"),
    ("a/../../out.txt", "leaves its folder"),
    ("..", "names no file"),
    ("", "names no file"),
    ("nul.txt", "is kept for a device"),
    ("LPT1", "is kept for a device"),
    (".hidden", "begins or ends with a dot"),
    ("dot.", "begins or ends with a dot"),
    ("a\\b.txt", "in it"),
    ("<b>.txt", "in it"),
    ("a\nb.txt", "cannot be seen"),
    ("a\u202eb.txt", "cannot be seen"),
    ("a\0b.txt", "cannot be seen"),
    ("\ud800.txt", "cannot be seen"),
    ("x" * 300, "is longer than"),
    ("f\0/b.txt", "cannot be seen"),
]


@pytest.mark.parametrize(("name", "wrong"), UNSAFE)
def test_names_that_are_not_safe_are_refused(tmp_path, monkeypatch, name, wrong):
    """The message shows a name that works."""
    (tmp_path / "a").mkdir()
    monkeypatch.chdir(tmp_path / "a")
    example = refusal(lambda: write(name), "path=", wrong)
    assert works(example, write=write).exists()
    assert not list(tmp_path.glob("*.txt"))


@pytest.mark.parametrize("error", [KeyboardInterrupt, MemoryError, ValueError, OSError, GeneratorExit])
@pytest.mark.parametrize("replace", [False, True])
def test_a_write_that_is_broken_off_leaves_nothing(tmp_path, error, replace):
    """Whatever it is, and however much was written: no part, the old file as it was, and the error itself."""
    path = tmp_path / "note.txt"
    if replace:
        path.write_bytes(b"mine")

    def breaks(count):
        with out(path, CALL, replace=replace) as file:
            file.write(b"x" * count)
            raise error("stop")

    for count in (0, 1, 100_000):
        with pytest.raises(error):
            breaks(count)
        assert [file.read_bytes() for file in tmp_path.iterdir()] == [b"mine"] * replace


@pytest.mark.parametrize("where", ["open", "fsync", "link", "unlink"])
def test_an_interrupt_at_any_step_leaves_a_whole_file_or_none(tmp_path, monkeypatch, where):
    """Before it has its name there is nothing; after it, all of it; never a part."""
    path = tmp_path / "note.txt"
    holder = Path if where in ("open", "unlink") else os
    real = getattr(holder, where)
    done = []

    def stopped(*given, **named):
        result = real(*given, **named)
        if not done:
            done.append(where)
            if where == "open":
                result.close()
            raise KeyboardInterrupt
        return result

    with monkeypatch.context() as patched:
        patched.setattr(holder, where, stopped)
        with pytest.raises(KeyboardInterrupt):
            write(path, b"all of it")
    assert done
    left = list(tmp_path.iterdir())
    assert left in ([], [path])
    assert not left or path.read_bytes() == b"all of it"
    assert bool(left) == (where in ("link", "unlink"))


def test_an_interrupt_on_a_full_disk_is_an_interrupt(tmp_path):
    """What is still to be written fails when the file is closed, and hides nothing."""

    def breaks():
        with placed(tmp_path / "note.txt") as file:
            file.write(b"x")
            os.close(file.fileno())  # from here on every write to it fails
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        breaks()
    assert not list(tmp_path.iterdir())


def test_what_was_stopped_is_known_by_its_name(tmp_path):
    """The name of a part says so, whatever the file is called; no name of the reader's does."""
    for name in ("take.wav", ".rhythmlab.json", "x" * 200, "拍" * 60, "a b"):
        with placed(tmp_path / name) as file:
            part = Path(file.name).name
            assert is_part(part)
            assert part.startswith(".")
            assert len(part.encode()) < 255
    assert not any(map(is_part, os.listdir(tmp_path)))
    assert not any(map(is_part, (".part", "take.part", "a.0f9a3c5e.part", ".a.0f9a3c5e.parts", ".a.x.part")))


def test_reasons_are_plain_words():
    """Of writing and of reading; an unknown one is as the system says it."""
    assert reason(OSError(errno.ENOSPC, "No space left on device")) == "the disk is full"
    assert reason(PermissionError(errno.EACCES, ""), "read") == "you are not allowed to read there"
    assert reason(OSError(errno.EIO, "Input/output error")) == "Input/output error"
    assert reason(OSError("no number")) == "no number"


@pytest.mark.parametrize("number", [None, *sorted(errno.errorcode)])
def test_every_reason_is_words_whatever_the_system_refused(number):
    """Of writing, of reading and of looking: our words, or else the system's, and never nothing."""
    system = os.strerror(number) if number else "said in words"
    error = OSError(number, system) if number else OSError(system)
    for said in (reason(error), reason(error, "read"), reason_unseen(error)):
        assert said.strip()
        assert "{" not in said
    assert (reason(error) == system) <= (remedy(error) == "")  # nothing to do about what has no words


def test_what_is_damaged_is_set_aside_and_nothing_is_lost(tmp_path):
    """Under the first free name; a link is not moved."""
    for number, name in enumerate(("list-damaged.json", "list-damaged-2.json", "list-damaged-3.json")):
        (tmp_path / "list.json").write_text(str(number))
        assert set_aside(tmp_path / "list.json") == tmp_path / name
        assert (tmp_path / name).read_text() == str(number)
    (tmp_path / "list.json").symlink_to("elsewhere")
    with pytest.raises(FileExistsError):
        set_aside(tmp_path / "list.json")
    assert (tmp_path / "list.json").is_symlink()


def test_the_same_is_there_already(tmp_path):
    """Just these bytes; anything else is an error, and nothing is nothing."""
    path = tmp_path / "a"
    assert not holds_already(path, b"one")
    put(path, b"one")
    assert holds_already(path, b"one")
    for there in (lambda: path.write_bytes(b"two"), lambda: (path.unlink(), path.mkdir())):
        there()
        with pytest.raises(FileExistsError):
            holds_already(path, b"one")


# --- folders -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("error", [KeyboardInterrupt, OSError, ValueError])
def test_folders_that_were_made_in_vain_go_again(tmp_path, error):
    """All that were made and are empty; one that was there stays, and so does one with a file in it."""
    (tmp_path / "there").mkdir()
    for place in (tmp_path / "there", tmp_path / "there" / "a" / "b"):
        with pytest.raises(error), make_folder(place):
            raise error("stop")
    assert list((tmp_path / "there").iterdir()) == []

    def breaks():
        with make_folder(tmp_path / "a" / "b"):
            put(tmp_path / "a" / "note.txt", b"x")
            raise error("stop")

    with pytest.raises(error):
        breaks()
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["a", "note.txt", "there"]


EXAMPLE = "gradebook('returned').write('marks')"


@pytest.mark.parametrize(
    ("name", "error", "said"),
    [
        ("file", NotADirectoryError, "is a file, or in one"),
        ("file/deeper", NotADirectoryError, "is a file, or in one"),
        ("link", NotADirectoryError, "is a link that leads to no folder"),
        ("a\nb", ValueError, "cannot be seen"),
        ("nul/deeper", ValueError, "is kept for a device"),
        ("new/end.", ValueError, "begins or ends with a dot"),
        ("x" * 250, ValueError, "is longer than"),
        ("\0", ValueError, "is not a folder"),
        ("", ValueError, "is not a folder"),
        (" ", ValueError, "is not a folder"),
        (7, ValueError, "is not a folder"),
        (None, ValueError, "is not a folder"),
        (b"a", ValueError, "is not a folder"),
    ],
)
def test_folders_that_cannot_be_are_refused(tmp_path, monkeypatch, name, error, said):
    """In one sentence with an example; nothing is made."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file").write_text("mine")
    (tmp_path / "link").symlink_to("nowhere")
    with pytest.raises(error) as refused, folder_for(name, EXAMPLE):
        pass
    assert said in str(refused.value)
    assert str(refused.value).endswith(f"for example {EXAMPLE}")
    assert sorted(os.listdir(tmp_path)) == ["file", "link"]


def test_a_folder_with_parents_of_its_own_only_where_that_is_meant(tmp_path):
    """Otherwise the one above has to be there."""
    alone = folder_for(tmp_path / "a" / "b", EXAMPLE, parents=False)
    with pytest.raises(FileNotFoundError, match="in a folder that is not there"), alone:
        pass
    assert os.listdir(tmp_path) == []
    with folder_for(tmp_path / "a" / "b", EXAMPLE) as where:
        assert where.is_dir()


def test_what_fails_in_a_folder_is_said_with_the_file(tmp_path, monkeypatch):
    """The disk's reason, the file's name, and what was whole stays."""

    def fails():
        with folder_for(tmp_path / "marks", EXAMPLE) as where:
            put(where / "a.txt", b"a")
            monkeypatch.setattr(os, "fsync", lambda _: (_ for _ in ()).throw(OSError(errno.ENOSPC, "")))
            put(where / "b.txt", b"b")

    with pytest.raises(OSError, match=r"marks': b\.txt cannot be written: the disk is full; what was whole"):
        fails()
    assert os.listdir(tmp_path / "marks") == ["a.txt"]


# --- killed --------------------------------------------------------------------------------------------

#: Writes new files and replaces an old one for ever, and says a letter for each.
WRITER = """
import sys
from pathlib import Path
from rhythmlab.files import put
where, number = Path(sys.argv[1]), 0
while True:
    number += 1
    put(where / "kept.bin", number.to_bytes(4, "big") * 70_000, replace=True)
    put(where / f"take-{sys.argv[2]}-{number}.bin", number.to_bytes(4, "big") * 70_000)
    sys.stdout.write("x")
    sys.stdout.flush()
"""


def kill_writers(where: Path, kills: int, seed: int) -> tuple[int, int]:
    """Kill a process that writes, again and again; return how many whole files and how many parts it left."""
    draw, whole = random.Random(seed), 0
    for number in range(kills):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(where), str(number)], stdout=subprocess.PIPE
        )
        writer.stdout.read(draw.randrange(1, 6))
        time.sleep(draw.random() * 0.004)  # anywhere within a write
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        writer.stdout.close()
        for path in where.iterdir():
            if not is_part(path.name):
                data = path.read_bytes()
                assert len(data) == 280_000, f"{path.name} has {len(data)} bytes"
                assert data == data[:4] * 70_000
                if path.name != "kept.bin":
                    whole += 1
                    path.unlink()
    return whole, sum(is_part(path.name) for path in where.iterdir())


@pytest.mark.skipif(os.name != "posix", reason="kills a process while it writes, which needs signals")
def test_a_process_that_is_killed_leaves_no_half_file(tmp_path):
    """Killed at any moment: what bears a name is whole, and what is not whole can be told by its name."""
    whole, _ = kill_writers(tmp_path, 20, seed=11)
    assert whole >= 20
    assert len((tmp_path / "kept.bin").read_bytes()) == 280_000

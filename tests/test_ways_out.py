"""Everything that writes for a reader, against everything that can be wrong with a place or a disk."""

import errno
import io
import json
import os
import re
import shutil
from contextlib import suppress
from functools import cache
from pathlib import Path

import pytest

import rhythmlab as rl
from rhythmlab import files, resources, working_folder
from rhythmlab.classroom.demo import demo_class
from rhythmlab.draw import figure
from rhythmlab.draw.figure import picture
from rhythmlab.export import handout
from rhythmlab.panels import guess, wall
from rhythmlab.practice.journal import JournalError
from rhythmlab.practice.set_list import SetList, SetListError
from tests.refusals import refusal, works

P, T = rl.Polyrhythm(4, 3), rl.Tempo(240, pulse=1)
SOUND = rl.sound(P, T, cycles=1)
TWO_PAGES = rl.handout(P, 90)
SCENE = rl.pictures.strip(P.cycle())
SCORE = rl.score(P)

#: Writes one file: its ending, and how.
FILES = {
    "sound": (".wav", SOUND.write),
    "sound of 24 bits": (".wav", lambda path: SOUND.write(path, bits=24)),
    "cue track": (".wav", rl.cue(P, T, cycles=1).write),
    "notes": (".musicxml", SCORE.write),
    "engraved notes": (".svg", SCORE.write),
    "MIDI": (".mid", rl.midi(P, T).write),
    "strokes": (".csv", rl.strokes(P, T).write),
    "handout": (".pdf", TWO_PAGES.write),
    "its twin": (".txt", TWO_PAGES.write),
    "picture": (".svg", lambda path: picture(SCENE, path)),
    "picture of dots": (".png", lambda path: picture(SCENE, path)),
    "picture to print": (".pdf", lambda path: picture(SCENE, path)),
    "table of a journal": (".csv", lambda path: rl.practice.Journal("there.jsonl").export_csv(path)),
}
#: Those that replace a file when they are told to.
REPLACING = {
    "sound": (".wav", lambda path: SOUND.write(path, replace=True)),
    "notes": (".musicxml", lambda path: SCORE.write(path, replace=True)),
    "engraved notes": (".svg", lambda path: SCORE.write(path, replace=True)),
    "MIDI": (".mid", lambda path: rl.midi(P, T).write(path, replace=True)),
    "strokes": (".csv", lambda path: rl.strokes(P, T).write(path, replace=True)),
    "handout": (".pdf", lambda path: TWO_PAGES.write(path, replace=True)),
    "picture": (".svg", lambda path: picture(SCENE, path, replace=True)),
}
NAME = "grid-and-composite"


def _marks(folder):
    return rl.classroom.gradebook("returned", NAME).write(folder)


#: Writes files that come in numbers into a folder, in an order that is always the same.
FOLDERS = {
    "pack of handouts": lambda folder: rl.classroom.handout_pack(
        [(P, 90), (rl.Polyrhythm(3, 2), 90)], folder
    ),
    "pages of a class": lambda folder: rl.classroom.write_assignment(NAME, folder, seats=[1, 2, 3]),
    "marks": _marks,
    "invented class": demo_class,
    "pages of the reader": lambda folder: working_folder.prepare(folder, Path("shipped")),
}
#: The numbers of what stops a disk, and the words for it.
DISKS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your share of the disk is full",
    errno.EROFS: "it can only be read",
    errno.EACCES: "you are not allowed to write there",
    errno.EPERM: "you are not allowed to write there",
    errno.EFBIG: "the file may not grow any further",
    errno.ENAMETOOLONG: "the name is too long",
}
#: Names that are never given to a file, before the ending, and what is said of them.
UNSAFE = {
    "../up": "leaves its folder by ..",
    "nul": "is kept for a device",
    "COM1": "is kept for a device",
    "a\nb": "has a letter in it that cannot be seen",
    "a\0b": "has a letter in it that cannot be seen",
    "a\u202eb": "has a letter in it that cannot be seen",
    "a:b": "has one of",
    "a\\b": "has one of",
    ".hidden": "begins or ends with a dot",
    "x" * 250: "is longer than 200 bytes",
}


#: What is slow to draw is drawn once; it is written every time.
PAINTED = cache(figure.painted)
HANDED_OUT: dict[str, handout.Handout] = {}


def handed_out(lesson, *more, draws=handout._made):
    """Draw a handout once."""
    if lesson.name not in HANDED_OUT:
        HANDED_OUT[lesson.name] = draws(lesson, *more)
    return HANDED_OUT[lesson.name]


@pytest.fixture(scope="module")
def needed(tmp_path_factory):
    """Make once what the writers and the examples need."""
    here = tmp_path_factory.mktemp("needed")
    rl.practice.Journal(here / "there.jsonl").append({"kind": "take", "pair": [4, 3], "bpm": 84})
    rl.classroom.write_assignment(NAME, here / "returned", seats=[1, 2])
    (here / "shipped" / "workshop").mkdir(parents=True)
    for name in ("00-start", "01-next", "02-then", "workshop/room"):
        (here / "shipped" / f"{name}.ipynb").write_text("{}")
    return here


@pytest.fixture
def place(needed, tmp_path, monkeypatch):
    """Give an empty folder; what is needed is in another, where the reader stands, and so is home."""
    shutil.copytree(needed, tmp_path / "here")
    for name in ("home", "out"):
        (tmp_path / name).mkdir()
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path / "here")
    monkeypatch.setattr(figure, "painted", PAINTED)
    monkeypatch.setattr(handout, "_made", handed_out)
    return tmp_path / "out"


def seen(folder: Path) -> dict[str, object]:
    """Return all that is in a folder: links as what they lead to, files as their bytes."""
    found = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        link = os.readlink(path) if path.is_symlink() else None
        found[name] = link if link else None if path.is_dir() else path.read_bytes()
    return found


def plain(error: BaseException) -> str:
    """Return what a refusal says, having found it to be a sentence of the package's own."""
    said = str(error)
    assert "Errno" not in said
    assert "\n" not in said
    return said


class Filling(io.FileIO):
    """A file on a disk that takes only so many bytes, and then fails with an error number."""

    number, room = errno.ENOSPC, 0

    def write(self, data):
        cls = type(self)
        if len(data) > cls.room:
            raise OSError(cls.number, os.strerror(cls.number))
        cls.room -= len(data)
        return super().write(data)


@pytest.fixture
def disk(monkeypatch):
    """Give a function that lets the disk fail at a step, with a number or an interrupt."""

    def fail(step, number, after=0, room=0):
        error = KeyboardInterrupt() if number is None else OSError(number, os.strerror(number))
        patched = pytest.MonkeyPatch()
        left = [after]

        def last():
            left[0] -= 1
            return left[0] < 0

        real_open = Path.open

        def opened(path, mode="r", *rest, **named):
            if "x" not in mode or not last():
                return real_open(path, mode, *rest, **named)
            if step == "open":
                raise error
            cls = type("Here", (Filling,), {"number": number, "room": room})
            return io.BufferedWriter(cls(path, "xb"))

        def synced(fd, real=os.fsync):
            if last():
                raise error
            real(fd)

        def named(*paths, **_):
            raise error

        if step in ("open", "write"):
            patched.setattr(Path, "open", opened)
        elif step == "fsync":
            patched.setattr(os, "fsync", synced)
        else:
            for name in ("link", "rename", "replace"):
                patched.setattr(os, name, named)
        return patched

    made = []

    def run(*given, **how):
        made.append(fail(*given, **how))
        return made[-1]

    yield run
    for patched in made:
        patched.undo()


# --- one file ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("what", FILES)
def test_a_file_is_there_alone_and_whole(place, what):
    """Where nothing is wrong, one file, with something in it."""
    ending, write = FILES[what]
    assert write(place / f"a{ending}") == place / f"a{ending}"
    assert list(seen(place)) == [f"a{ending}"]
    assert seen(place)[f"a{ending}"]


@pytest.mark.parametrize("what", [*FILES, *(f"{name}, replacing" for name in REPLACING)])
@pytest.mark.parametrize("there", ["file", "link", "link to nothing", "link to a folder", "folder"])
def test_nothing_is_written_over_what_is_there(place, what, there):
    """A file unless that is asked for; a link and a folder never, nor what a link leads to."""
    ending, write = {**FILES, **{f"{name}, replacing": how for name, how in REPLACING.items()}}[what]
    path = place / f"a{ending}"
    (place / "elsewhere").write_text("mine")
    (place / "a folder").mkdir()
    makes = {
        "file": lambda: path.write_text("mine"),
        "link": lambda: path.symlink_to("elsewhere"),
        "link to nothing": lambda: path.symlink_to("nowhere"),
        "link to a folder": lambda: path.symlink_to("a folder"),
        "folder": path.mkdir,
    }
    makes[there]()
    before = seen(place)
    if there == "file" and "replacing" in what:
        write(path)
        assert list(seen(place)) == list(before)
        assert path.read_bytes() != b"mine"
        return
    error = ValueError if "journal" in what else FileExistsError
    example = refusal(lambda: write(path), "path=", "is not replaced", error)
    assert seen(place) == before
    works(example)
    assert len(seen(place)) == len(before) + 1


@pytest.mark.parametrize("what", FILES)
@pytest.mark.parametrize("name", UNSAFE)
def test_no_file_gets_an_unsafe_name(place, monkeypatch, what, name):
    """It is said what is wrong with it; nothing is written, here or elsewhere; the example works."""
    ending, write = FILES[what]
    monkeypatch.chdir(place)
    shutil.copy(place.parent / "here" / "there.jsonl", place)
    before = seen(place.parent)
    example = refusal(lambda: write(name + ending), "path=", UNSAFE[name])
    assert seen(place.parent) == before
    works(example)


@pytest.mark.parametrize("what", FILES)
@pytest.mark.parametrize("where", ["missing", "file", "link", "file/deeper"])
def test_no_file_is_written_where_there_is_no_folder(place, what, where):
    """A folder that is not there, a file in its place, a link to nothing: said, and none is made."""
    ending, write = FILES[what]
    (place / "file").write_text("mine")
    (place / "link").symlink_to("nowhere")
    before = seen(place)
    said = {"missing": "a folder that is not there", "link": "a link that leads to no folder"}
    error = ValueError if "journal" in what else FileNotFoundError if where == "missing" else OSError
    example = refusal(
        lambda: write(place / where / f"a{ending}"),
        "path=",
        said.get(where, "a file, not in a folder"),
        error,
    )
    assert seen(place) == before
    works(example)


@pytest.mark.parametrize("what", [*FILES, *(f"{name}, replacing" for name in REPLACING)])
@pytest.mark.parametrize("step", ["open", "write", "fsync", "link"])
def test_a_disk_that_fails_says_why_and_keeps_nothing(place, disk, what, step):
    """For each reason in the same words, at whatever step; what was there is there, and nothing else."""
    ending, write = {**FILES, **{f"{name}, replacing": how for name, how in REPLACING.items()}}[what]
    path = place / f"a{ending}"
    if "replacing" in what:
        path.write_text("mine")
    before = seen(place)
    for number, words in DISKS.items():
        patched = disk(step, number)
        error = ValueError if "journal" in what else OSError
        with pytest.raises(error) as refused:
            write(path)
        patched.undo()
        said = plain(refused.value)
        assert f"cannot be written: {words}; nothing of it was written" in said
        assert seen(place) == before
    works(said.rpartition("for example ")[2])
    assert len(list((place.parent / "home").iterdir())) == 1


@pytest.mark.parametrize("what", FILES)
@pytest.mark.parametrize("step", ["open", "fsync", "link"])
def test_an_interrupted_file_is_none(place, disk, what, step):
    """Ctrl-C at any step goes through as it is, and leaves nothing."""
    ending, write = FILES[what]
    patched = disk(step, None)
    with pytest.raises(KeyboardInterrupt):
        write(place / f"a{ending}")
    patched.undo()
    assert seen(place) == {}


@pytest.mark.skipif(os.name != "posix", reason="only POSIX systems limit the size of files")
@pytest.mark.parametrize("what", FILES)
def test_the_kernel_itself_stops_the_file_from_growing(place, what):
    """With a real limit, reached in the middle of a file: said, and nothing is left."""
    import resource

    ending, write = FILES[what]
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (40, before[1]))
    try:
        with pytest.raises((OSError, ValueError)) as refused:
            write(place / f"a{ending}")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert "cannot be written: the file may not grow any further" in plain(refused.value)
    assert seen(place) == {}


def test_long_sounds_are_written_as_they_come(place, disk):
    """A disk that fills up in the middle of a long sound stops it there; only a few blocks are held."""
    import tracemalloc

    long = rl.sound(P, T, cycles=120)
    patched = disk("write", errno.ENOSPC, room=4_000_000)
    tracemalloc.start()
    with pytest.raises(OSError, match="the disk is full"):
        long.write(place / "long.wav")
    patched.undo()
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert long.frames * 4 > 17_000_000
    assert most < 16_000_000
    assert seen(place) == {}


# --- files in numbers ----------------------------------------------------------------------------------


@pytest.mark.parametrize("what", FOLDERS)
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES, None])
@pytest.mark.parametrize("step", ["open", "write", "fsync", "link"])
def test_files_in_numbers_are_each_whole_or_not_there(place, disk, what, number, step):
    """Stopped at any file: no half file, no empty one, no empty folder; the rest can follow."""
    write, error = (
        FOLDERS[what],
        KeyboardInterrupt if number is None else (OSError, working_folder.FolderError),
    )
    if number is None and step == "write":
        step = "fsync"
    write(place / "whole")
    whole = seen(place / "whole")
    for after in (0, 3):
        folder = place / f"new-{after}" / "deeper" if what != "pack of handouts" else place / f"new-{after}"
        patched = disk(step, number, after)
        with pytest.raises(error) as refused:
            write(folder)
        patched.undo()
        if number is not None:
            assert DISKS[number] in plain(refused.value)
        there = seen(folder) if folder.is_dir() else {}
        assert there.items() <= whole.items()
        kept = [name for name, data in there.items() if data is not None]
        assert len(kept) in ((0,) if after == 0 or step == "link" else (after, after - 1))
        assert not [name for name, data in there.items() if not data and not list((folder / name).iterdir())]
        assert bool(there) == (place / f"new-{after}").is_dir()
        if what == "pack of handouts":
            assert {Path(name).stem for name in kept} == {
                Path(name).stem for name in kept if name.endswith("pdf")
            }
        else:
            write(folder)
            assert seen(folder) == whole


@pytest.mark.parametrize("what", FOLDERS)
@pytest.mark.parametrize("where", ["file", "file/deeper", "link"])
def test_no_folder_is_made_of_a_file(place, what, where):
    """A file, a place in one, a link to nothing: said, and everything stays."""
    (place / "file").write_text("mine")
    (place / "link").symlink_to("nowhere")
    before = seen(place)
    with pytest.raises((OSError, ValueError, working_folder.FolderError)) as refused:
        FOLDERS[what](place / where)
    said = plain(refused.value)
    assert "file" in said or "link" in said
    assert "for example" in said
    assert seen(place) == before


@pytest.mark.parametrize("what", [name for name in FOLDERS if name != "pages of the reader"])
@pytest.mark.parametrize("name", ["a\nb", "nul", "end.", "a:b", "x" * 250])
def test_no_folder_gets_an_unsafe_name(place, what, name):
    """It is said, and nothing is made."""
    example = refusal(lambda: FOLDERS[what](place / name), "folder=", "")
    assert seen(place) == {}
    works(example)


@pytest.mark.parametrize("what", FOLDERS)
def test_links_in_a_folder_are_neither_followed_nor_replaced(place, what):
    """Links that bear the names of all files: each stays, and so does what it leads to."""
    FOLDERS[what](place / "whole")
    (place / "elsewhere").write_text("mine")
    for name, data in seen(place / "whole").items():
        if data is not None and name != working_folder.MARK:
            path = place / "new" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.symlink_to(place / "elsewhere")
    links = {name: link for name, link in seen(place / "new").items() if isinstance(link, str)}
    assert links
    with suppress(FileExistsError):
        FOLDERS[what](place / "new")
    assert (place / "elsewhere").read_text() == "mine"
    assert links.items() <= seen(place / "new").items()


def test_a_handout_is_not_left_without_its_twin(place, disk, monkeypatch):
    """The twin cannot be written, or the handout cannot be named: neither is there."""
    one = [(P, 90)]
    patched = disk("fsync", errno.ENOSPC, after=1)
    with pytest.raises(OSError, match="the disk is full"):
        rl.classroom.handout_pack(one, place)
    patched.undo()
    assert seen(place) == {}

    def named(part, path, real=os.link):
        if path.suffix == ".pdf":
            raise KeyboardInterrupt
        real(part, path)

    monkeypatch.setattr(os, "link", named)
    with pytest.raises(KeyboardInterrupt):
        rl.classroom.handout_pack(one, place)
    assert seen(place) == {}


def test_the_invented_class_is_never_thought_to_be_there(place, disk):
    """An empty page of a full disk was taken for a page; now the next run brings it, with its time."""
    patched = disk("write", errno.ENOSPC, after=2, room=100)
    with pytest.raises(
        OSError, match=r"cannot be written: the disk is full; .* classroom\.demo_class\(\"demo-class\"\)"
    ):
        demo_class(place / "class")
    patched.undo()
    assert b"" not in seen(place / "class").values()
    demo_class(place / "class")
    demo_class(place / "again")
    assert seen(place / "class") == seen(place / "again")
    for name in (name for name, data in seen(place / "class").items() if data):
        times = [(place / which / name).stat().st_mtime for which in ("class", "again")]
        assert times[0] == times[1] < 1.9e9


def test_where_there_is_no_folder_of_pages_the_class_goes_to_one_of_its_own(place, disk, monkeypatch):
    """Under the folder for temporary files; nothing is left of it where nothing could be written."""
    import tempfile

    monkeypatch.setattr(tempfile, "tempdir", str(place))
    patched = disk("fsync", errno.ENOSPC)
    with pytest.raises(OSError, match="the disk is full"):
        demo_class()
    patched.undo()
    assert seen(place) == {}
    assert demo_class().parent.parent == place


# --- what the package keeps for itself -----------------------------------------------------------------


def _guess(folder):
    guess.keep("00-guess", "12")


def _hall(folder):
    said = wall.remember_hall(12)
    if "Kept in" not in said:
        raise OSError(said)


def _list(folder):
    songs = SetList(folder / "set-list.txt")
    songs.read()
    songs.save("pair | pulses: 7 4")


def _aside(folder):
    rl.practice.Journal(folder / "journal.jsonl").set_aside()


def _mark(folder):
    working_folder.prepare(folder, folder.parent / "here" / "shipped", sure=True)


#: Writes a file of the package's own: its name, what is in it before, how it is written.
KEPT = {
    "guesses": (".rhythmlab-guesses.json", '{"00-guess": "11"}', _guess),
    "hall": ("hall.json", '{"metres": "9"}', _hall),
    "set list": ("set-list.txt", "pair | pulses: 4 3\n", _list),
    "damaged lines": ("journal-damaged.txt", "first\n", _aside),
    "mark": (working_folder.MARK, json.dumps({"pages": {}}), _mark),
}


@pytest.fixture
def reader(place, monkeypatch):
    """Stand in a marked folder with a damaged journal, and no guess in memory."""
    monkeypatch.setattr(guess, "_memory", {})
    monkeypatch.chdir(place)
    working_folder.prepare(place, place.parent / "here" / "shipped")
    (place / "journal.jsonl").write_text("torn\n")
    return place


@pytest.mark.parametrize("what", KEPT)
def test_its_own_files_are_replaced_whole(reader, what):
    """What was there is replaced by the new, and nothing else is there afterwards."""
    name, old, write = KEPT[what]
    (reader / name).write_text(old)
    before = seen(reader)
    write(reader)
    assert list(seen(reader)) == list(before)
    assert (reader / name).read_text() != old


@pytest.mark.parametrize("what", KEPT)
@pytest.mark.parametrize("there", [True, False])
def test_its_own_files_are_not_written_through_links(reader, what, there):
    """A link that a reader put in their place stays, and so does what it leads to; it is said."""
    name, old, write = KEPT[what]
    (reader / name).unlink(missing_ok=True)
    (reader / name).symlink_to("elsewhere")
    if there:
        (reader / "elsewhere").write_text(old)
    before = seen(reader)
    with pytest.raises((OSError, SetListError, JournalError, working_folder.FolderError)) as error:
        write(reader)
    assert "a link" in (files.reason(error.value) if what == "guesses" else plain(error.value))
    assert seen(reader) == before


@pytest.mark.parametrize("what", KEPT)
@pytest.mark.parametrize("step", ["open", "write", "fsync", "link"])
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS, errno.EACCES, None])
def test_its_own_files_stay_whole_on_a_disk_that_fails(reader, disk, what, step, number):
    """The old file is there, byte for byte, and nothing beside it."""
    name, old, write = KEPT[what]
    (reader / name).write_text(old)
    before = seen(reader)
    patched = disk("fsync" if number is None and step == "write" else step, number)
    with pytest.raises((OSError, ValueError, working_folder.FolderError, KeyboardInterrupt)) as error:
        write(reader)
    patched.undo()
    if number is not None:
        assert DISKS[number] in (files.reason(error.value) if what == "guesses" else plain(error.value))
    assert seen(reader) == before


def test_only_one_piece_of_code_writes():
    """No other module of the package opens a file for writing, renames one or makes a folder."""
    here = Path(resources.__file__).parent
    ways = re.compile(
        r"os\.(?:replace|link|rename|makedirs)\b|\.(?:rename|write_bytes|write_text|mkdir|touch)\("
        r"|\"\.part\"|open\([^)]*[\"'][wxa]b?[\"']"
    )
    found = {
        path.relative_to(here).as_posix(): ways.findall(path.read_text(encoding="utf-8"))
        for path in here.rglob("*.py")
    }
    assert found.pop("files.py")
    assert found.pop("classroom/bank/hearing.py") == ['open(file, "wb"']  # sound for a page, in memory
    assert found.pop("export/film.py") == ['open(file, "w"']  # into the file that is given, too
    assert found.pop("audio/sound.py") == ['open(file, "wb"']  # into the file that is given
    assert {name: ways for name, ways in found.items() if ways} == {}

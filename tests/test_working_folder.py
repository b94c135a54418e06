"""The reader's working folder: what is copied, what is kept, what is said."""

import errno
import json
import os
import stat

import pytest

import rhythmlab as rl
from rhythmlab import resources, working_folder
from rhythmlab.panels import wall
from rhythmlab.practice.set_list import SetList
from rhythmlab.working_folder import MARK, Doubtful, FolderError, first_page, prepare


def page(*sources, kind="code", outputs=(), number=None, cell_id="a", text_lines=False):
    """Return a notebook file with one cell a source."""
    cells = []
    for at, source in enumerate(sources):
        lines = source.splitlines(keepends=True) if text_lines else source
        cell = {"cell_type": kind, "id": f"{cell_id}{at}", "metadata": {}, "source": lines}
        if kind == "code":
            cell |= {"outputs": list(outputs), "execution_count": number}
        cells.append(cell)
    return json.dumps({"cells": cells, "metadata": {}, "nbformat": 4, "nbformat_minor": 5})


def put(folder, **pages):
    """Write files; ``workshop__room`` is the page ``workshop/room.ipynb``."""
    for name, text in pages.items():
        path = folder / (name.replace("__", "/") + ".ipynb")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)


def files(folder):
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


@pytest.fixture
def source(tmp_path):
    """Make two pages, one in a folder, and a file that is no page."""
    source = tmp_path / "shipped"
    put(source, start=page("1 + 1"), workshop__room=page("2 + 2"))
    (source / "start.ipynb").rename(source / "00-start.ipynb")
    (source / "workshop" / "seats.csv").write_text("seat\n1\n")
    return source


@pytest.fixture
def folder(tmp_path, source):
    """Make a working folder with the first pages in it."""
    prepare(tmp_path / "pages", source)
    return tmp_path / "pages"


def newer(source, text="1 + 1 + 1"):
    (source / "00-start.ipynb").write_text(page(text))


def change(folder, text="my own"):
    (folder / "00-start.ipynb").write_text(page(text))


def test_first_run_copies_everything_and_says_where(tmp_path, source):
    """Every file arrives byte for byte, folders too, and the sentences name the place and the number."""
    folder = tmp_path / "a" / "b"
    said = prepare(folder, source)
    names = ["00-start.ipynb", "workshop/room.ipynb", "workshop/seats.csv"]
    assert files(folder) == sorted([MARK, *names])
    assert all((folder / name).read_bytes() == (source / name).read_bytes() for name in names)
    assert said == [f"Your pages are in {folder}.", f"Copied into it: {', '.join(names)}."]


def test_many_files_are_counted(tmp_path, source):
    """More than three copied files are said as a number."""
    put(source, x=page("x"))
    assert prepare(tmp_path / "pages", source)[1] == "Copied into it: 4 files."


def test_every_real_page_is_copied(tmp_path):
    """Every file of this installation's notebooks folder is in the working folder afterwards."""
    real = resources.folder("notebooks")
    prepare(tmp_path / "pages")
    shipped = [name for name in files(real) if ".ipynb_checkpoints" not in name]
    assert any(name.startswith("00-") for name in shipped)
    assert files(tmp_path / "pages") == sorted([MARK, *shipped])
    assert first_page().startswith("00-")


def test_second_run_is_quiet_and_changes_nothing(folder, source):
    """Run twice: one sentence, and every file is as it was, to the byte and the minute."""
    before = {name: (folder / name).read_bytes() for name in files(folder)}
    times = {name: (folder / name).stat().st_mtime_ns for name in before if name != MARK}
    assert prepare(folder, source) == [f"Your pages are in {folder}."]
    assert {name: (folder / name).read_bytes() for name in files(folder)} == before
    assert {name: (folder / name).stat().st_mtime_ns for name in times} == times


def test_checkpoints_and_caches_are_not_pages(tmp_path, source):
    """What JupyterLab and Python leave beside the pages is not copied."""
    put(source, **{".ipynb_checkpoints__old": page("old"), "workshop__.ipynb_checkpoints__old": page("old")})
    put(source, __pycache__x=page("x"))
    (source / "workshop" / "__pycache__").mkdir()
    (source / "workshop" / "__pycache__" / "x.pyc").write_bytes(b"x")
    prepare(tmp_path / "pages", source)
    assert not [name for name in files(tmp_path / "pages") if "checkpoints" in name or name.endswith(".pyc")]


def test_missing_page_comes_back(folder, source):
    """A page that the reader deleted is copied again, and it is said."""
    (folder / "00-start.ipynb").unlink()
    assert prepare(folder, source)[1:] == ["Copied into it: 00-start.ipynb."]


def test_unchanged_page_is_replaced_by_a_newer_one(folder, source):
    """The reader has only run the page, a newer one is shipped: it is replaced, and it is said."""
    (folder / "00-start.ipynb").write_text(page("1 + 1", outputs=[{"output_type": "stream"}], number=7))
    newer(source)
    assert prepare(folder, source)[1:] == [
        "Replaced by newer ones, since you had not changed them: 00-start.ipynb."
    ]
    assert (folder / "00-start.ipynb").read_bytes() == (source / "00-start.ipynb").read_bytes()


def test_changed_page_stays_and_the_newer_one_is_put_beside(folder, source):
    """The reader's page keeps every byte; the newer one is beside it under a name that is said."""
    change(folder)
    theirs = (folder / "00-start.ipynb").read_bytes()
    newer(source)
    assert prepare(folder, source)[1:] == [
        "You changed 00-start.ipynb, so it stays as it is. "
        "The one that comes with rhythmlab is beside it: 00-start-new.ipynb."
    ]
    assert (folder / "00-start.ipynb").read_bytes() == theirs
    assert (folder / "00-start-new.ipynb").read_bytes() == (source / "00-start.ipynb").read_bytes()


def test_changed_page_is_kept_when_nothing_newer_came(folder, source):
    """Nothing newer to offer: the page is kept, nothing is put beside it, and it is said briefly."""
    change(folder)
    before = files(folder)
    assert prepare(folder, source)[1:] == ["Kept as you changed them: 00-start.ipynb."]
    assert files(folder) == before


def test_same_newer_page_is_offered_once(folder, source):
    """Not offered a second time, not even when the reader has thrown the offered one away."""
    change(folder)
    newer(source)
    prepare(folder, source)
    (folder / "00-start-new.ipynb").unlink()
    assert prepare(folder, source)[1:] == ["Kept as you changed them: 00-start.ipynb."]
    assert not (folder / "00-start-new.ipynb").exists()


def test_each_later_page_gets_a_name_of_its_own(folder, source):
    """A second and third newer page never overwrite the ones offered before."""
    change(folder)
    for text in ("second", "third", "fourth"):
        newer(source, text)
        prepare(folder, source)
    beside = ["00-start-new.ipynb", "00-start-new-2.ipynb", "00-start-new-3.ipynb"]
    assert [json.loads((folder / name).read_text())["cells"][0]["source"] for name in beside] == [
        "second",
        "third",
        "fourth",
    ]


def test_page_beside_is_not_written_twice(folder, source):
    """What stands beside already and holds the same is named, and not written again."""
    change(folder)
    newer(source)
    (folder / "00-start-new.ipynb").write_text(page("1 + 1 + 1", number=3))
    before = (folder / "00-start-new.ipynb").read_bytes()
    assert "00-start-new.ipynb" in prepare(folder, source)[1]
    assert (folder / "00-start-new.ipynb").read_bytes() == before
    assert not (folder / "00-start-new-2.ipynb").exists()


def test_page_in_a_folder_keeps_its_folder(folder, source):
    """A newer page is put beside the reader's, in the same folder."""
    put(folder, workshop__room=page("mine"))
    put(source, workshop__room=page("newer"))
    assert prepare(folder, source)[1].endswith("beside it: workshop/room-new.ipynb.")


def test_files_that_are_no_pages_follow_the_same_rules(folder, source):
    """Every byte of them counts: changed ones stay, unchanged ones are replaced."""
    shipped, theirs = source / "workshop" / "seats.csv", folder / "workshop" / "seats.csv"
    shipped.write_text("seat\n1\n2\n")
    assert prepare(folder, source)[1].endswith("workshop/seats.csv.")
    assert theirs.read_text() == "seat\n1\n2\n"
    theirs.write_text("seat\n12\n")
    shipped.write_text("seat\n1\n2\n3\n")
    assert prepare(folder, source)[1].endswith("beside it: workshop/seats-new.csv.")
    assert theirs.read_text() == "seat\n12\n"


@pytest.mark.parametrize(
    "same",
    [
        page("1 + 1", outputs=[{"output_type": "execute_result", "data": {}}], number=12),
        page("1 + 1", cell_id="other"),
        page("1 + 1", text_lines=True),
        page("1 + 1", "", " \n"),
        json.dumps(json.loads(page("1 + 1")) | {"metadata": {"widgets": {}}}, indent=4),
    ],
    ids=["outputs", "ids", "source as lines", "empty cells at the end", "metadata and spacing"],
)
def test_what_does_not_count_as_a_change(folder, source, same):
    """Running, saving and an empty cell left at the end are not the reader's work."""
    (folder / "00-start.ipynb").write_text(same)
    assert prepare(folder, source) == [f"Your pages are in {folder}."]
    newer(source)
    assert prepare(folder, source)[1].startswith("Replaced")


@pytest.mark.parametrize(
    "changed",
    [
        page("1 + 2"),
        page("1 + 1 "),
        page("1 + 1", "x"),
        page("1 + 1", kind="markdown"),
        page(),
        "",
        "not a notebook",
        "[]",
        '{"cells": 5}',
        '{"cells": [{"cell_type": "code"}]}',
        "[" * 100_000,
    ],
    ids=["source", "space", "cell", "kind", "none", "empty", "text", "list", "number", "torn", "deep"],
)
def test_what_counts_as_a_change(folder, source, changed):
    """Other sources, kinds or order, and whatever cannot be read as a notebook, are the reader's work."""
    (folder / "00-start.ipynb").write_text(changed)
    newer(source)
    assert prepare(folder, source)[1].startswith("You changed 00-start.ipynb")
    assert (folder / "00-start.ipynb").read_text() == changed


def test_order_of_cells_counts(folder, source):
    """Two cells swapped are a change."""
    put(source, x=page("a", "b"))
    prepare(folder, source)
    put(folder, x=page("b", "a"))
    put(source, x=page("a", "b", "c"))
    assert prepare(folder, source)[1].startswith("You changed x.ipynb")


def test_something_else_in_the_place_of_a_page_is_kept(folder, source):
    """A folder with a page's name is the reader's, and the page is put beside it."""
    (folder / "00-start.ipynb").unlink()
    (folder / "00-start.ipynb").mkdir()
    newer(source)
    assert prepare(folder, source)[1].endswith("beside it: 00-start-new.ipynb.")
    assert (folder / "00-start.ipynb").is_dir()


@pytest.mark.parametrize("there", [True, False])
def test_link_is_neither_written_through_nor_replaced(tmp_path, folder, source, there):
    """A page that is a link, also one to nothing, is the reader's: it stays, and so does what it leads to."""
    elsewhere = tmp_path / "elsewhere.ipynb"
    if there:
        elsewhere.write_text(page("1 + 1"))
    (folder / "00-start.ipynb").unlink()
    (folder / "00-start.ipynb").symlink_to(elsewhere)
    newer(source)
    assert prepare(folder, source)[1].startswith("You changed 00-start.ipynb, so it stays as it is. ")
    assert (folder / "00-start.ipynb").is_symlink()
    assert elsewhere.exists() == there
    assert not there or elsewhere.read_text() == page("1 + 1")
    assert (folder / "00-start-new.ipynb").read_bytes() == (source / "00-start.ipynb").read_bytes()


def test_mark_that_is_a_link_is_refused_before_anything_is_brought(tmp_path, folder, source):
    """What it leads to stays, and so does every page."""
    (folder / MARK).rename(tmp_path / "elsewhere")
    (folder / MARK).symlink_to(tmp_path / "elsewhere")
    newer(source)
    before = {name: (folder / name).read_bytes() for name in files(folder)}
    assert ".rhythmlab.json to the folder" in refused(folder, source)
    assert "there already, as a link, and is not replaced" in refused(folder, source)
    assert {name: (folder / name).read_bytes() for name in files(folder)} == before
    assert (folder / MARK).is_symlink()


def test_a_folder_that_was_made_in_vain_goes_again(tmp_path, source, monkeypatch):
    """Where no file can be written, no empty folder is left, however deep."""
    monkeypatch.setattr(os, "fsync", lambda _: (_ for _ in ()).throw(OSError(errno.ENOSPC, "No space left")))
    assert "the disk is full" in refused(tmp_path / "new" / "pages", source)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["shipped"]


def test_what_a_stopped_process_left_is_no_page(tmp_path, source):
    """A half file among the shipped pages is not brought."""
    (source / ".room.ipynb.0f9a3c5e.part").write_text("{")
    prepare(tmp_path / "pages", source)
    assert not [name for name in files(tmp_path / "pages") if name.endswith(".part")]


def test_page_that_is_no_longer_shipped_stays(folder, source):
    """What a newer installation has dropped is not taken away."""
    (source / "workshop" / "room.ipynb").unlink()
    assert prepare(folder, source) == [f"Your pages are in {folder}."]
    assert (folder / "workshop" / "room.ipynb").exists()


def test_mark_holds_a_hash_for_each_page(folder):
    """The mark says whose it is, and keeps one hash a shipped file."""
    mark = json.loads((folder / MARK).read_text())
    assert mark["about"].startswith("kept by rhythmlab")
    assert list(mark["pages"]) == ["00-start.ipynb", "workshop/room.ipynb", "workshop/seats.csv"]
    assert all(len(value) == 64 for value in mark["pages"].values())


def test_without_the_mark_a_different_page_is_the_readers(folder, source):
    """Deleted mark: pages that differ from the shipped ones stay, the others are recognised."""
    (folder / MARK).unlink()
    newer(source)
    said = prepare(folder, source)
    assert len(said) == 2
    assert said[1].startswith("You changed 00-start.ipynb")
    assert (folder / "00-start.ipynb").read_text() == page("1 + 1")
    assert prepare(folder, source)[1:] == ["Kept as you changed them: 00-start.ipynb."]


@pytest.mark.parametrize("damaged", ["", "{", "[]", "{}", '{"pages": 3}', "\x00"])
def test_damaged_mark_is_set_aside_and_said(folder, source, damaged):
    """It is kept under another name, a new one is made, and the reader's pages stay."""
    (folder / MARK).write_text(damaged)
    newer(source)
    said = prepare(folder, source)
    assert said[1] == (
        "The file .rhythmlab.json in it could not be read, so it is kept as .rhythmlab-damaged.json. "
        "Every page that differs from the one that comes with rhythmlab counts as changed by you."
    )
    assert said[2].startswith("You changed 00-start.ipynb")
    assert (folder / ".rhythmlab-damaged.json").read_text() == damaged
    assert "pages" in json.loads((folder / MARK).read_text())


def test_second_damaged_mark_does_not_overwrite_the_first(folder, source):
    """Each damaged mark is kept."""
    for damaged in ("one", "two"):
        (folder / MARK).write_text(damaged)
        prepare(folder, source)
    assert (folder / ".rhythmlab-damaged.json").read_text() == "one"
    assert (folder / ".rhythmlab-damaged-2.json").read_text() == "two"


def test_read_only_pages_become_writable_copies(tmp_path, source):
    """An installation that nobody may write to gives pages that the reader can save."""
    for path in source.rglob("*"):
        if path.is_file():
            path.chmod(0o444)
    prepare(tmp_path / "pages", source)
    for name in files(tmp_path / "pages"):
        assert (tmp_path / "pages" / name).stat().st_mode & stat.S_IWUSR


@pytest.mark.skipif(os.name != "posix", reason="other systems have no umask to compare with")
def test_copies_have_the_readers_usual_permissions(tmp_path, source):
    """Pages in a shared folder are as readable as anything else the reader makes there."""
    usual = tmp_path / "usual"
    usual.write_text("")
    prepare(tmp_path / "pages", source)
    assert (tmp_path / "pages" / "00-start.ipynb").stat().st_mode == usual.stat().st_mode


@pytest.mark.parametrize("writes_before", range(3))
def test_killed_between_two_writes_leaves_whole_files(folder, source, monkeypatch, writes_before):
    """Stopped at any write: each page is the old one or the new one, no scraps, and the next run finishes."""
    newer(source)
    put(source, workshop__room=page("newer"))
    old_or_new = {
        name: {(folder / name).read_bytes(), (source / name).read_bytes()}
        for name in ("00-start.ipynb", "workshop/room.ipynb")
    }
    replace, done = os.replace, []

    def killed(*paths):
        if len(done) == writes_before:
            raise KeyboardInterrupt
        done.append(paths)
        replace(*paths)

    before = files(folder)
    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", killed)
        with pytest.raises(KeyboardInterrupt):
            prepare(folder, source)
    assert len(done) == writes_before
    assert files(folder) == before
    assert all((folder / name).read_bytes() in contents for name, contents in old_or_new.items())
    prepare(folder, source)
    assert all((folder / name).read_bytes() == (source / name).read_bytes() for name in old_or_new)
    assert files(folder) == before


def test_full_disk_leaves_the_old_page(folder, source, monkeypatch):
    """A disk that fills up is said in one line, and nothing is lost or left lying about."""
    newer(source)
    before = {name: (folder / name).read_bytes() for name in files(folder)}
    monkeypatch.setattr(os, "fsync", lambda _: (_ for _ in ()).throw(OSError(errno.ENOSPC, "No space left")))
    with pytest.raises(FolderError, match=r"cannot write to the folder .*pages: the disk is full\. Give"):
        prepare(folder, source)
    assert {name: (folder / name).read_bytes() for name in files(folder)} == before


def refused(folder, source):
    with pytest.raises(FolderError) as refusal:
        prepare(folder, source)
    text = str(refusal.value)
    assert "\n" not in text
    assert text.endswith("Give another folder, for example: python -m rhythmlab ~/rhythmlab-pages")
    return text


def test_folder_that_is_a_file(tmp_path, source):
    """FOLDER is a file: it is named, and stays as it is."""
    (tmp_path / "notes").write_text("mine")
    assert refused(tmp_path / "notes", source).startswith(
        f"cannot write to the folder {tmp_path / 'notes'}: {tmp_path / 'notes'} is a file, not a folder. "
    )
    assert (tmp_path / "notes").read_text() == "mine"


def test_folder_inside_a_file(tmp_path, source):
    """A parent is a file: that parent is named."""
    (tmp_path / "notes").write_text("mine")
    assert f"{tmp_path / 'notes' / 'a' / 'b'}: {tmp_path / 'notes'} is a file, not a folder" in refused(
        tmp_path / "notes" / "a" / "b", source
    )


def test_file_in_the_place_of_a_folder_of_pages(folder, source):
    """The reader has a file where pages belong in a folder: it is named and stays."""
    for path in (folder / "workshop").iterdir():
        path.unlink()
    (folder / "workshop").rmdir()
    (folder / "workshop").write_text("mine")
    assert f"{folder / 'workshop'} is a file, not a folder" in refused(folder, source)
    assert (folder / "workshop").read_text() == "mine"


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.EACCES, "you are not allowed to write there"),
        (errno.EPERM, "you are not allowed to write there"),
        (errno.EROFS, "it can only be read"),
        (errno.EIO, os.strerror(errno.EIO)),
    ],
)
def test_folder_that_cannot_be_written(folder, source, monkeypatch, number, words):
    """Up to date or not, a folder that the reader cannot write to is refused before work is lost in it."""
    opened = type(folder).open

    def closed(path, mode="r", *rest, **named):
        if "x" in mode:
            raise OSError(number, os.strerror(number), str(path))
        return opened(path, mode, *rest, **named)

    monkeypatch.setattr(type(folder), "open", closed)
    assert refused(folder, source).startswith(f"cannot write to the folder {folder}: {words}. ")


def test_folder_below_that_cannot_be_written_is_named(folder, source, monkeypatch):
    """It is the folder below that is closed: that one is named."""
    (folder / "workshop" / "room.ipynb").unlink()
    for name in ("replace", "link", "rename"):
        real = getattr(os, name)

        def closed(part, path, real=real):
            if path.parent.name == "workshop":
                raise PermissionError(errno.EACCES, "Permission denied", str(part))
            real(part, path)

        monkeypatch.setattr(os, name, closed)
    assert refused(folder, source).startswith(
        f"cannot write to the folder {folder / 'workshop'}: you are not"
    )


@pytest.mark.skipif(
    not os.path.isdir("/proc/self"), reason="only Linux has /proc, where not even root makes a folder"
)
def test_place_where_no_folder_can_be_made(source):
    """Not even the root user can make a folder there."""
    assert refused("/proc/rhythmlab-pages", source).startswith(
        "cannot write to the folder /proc/rhythmlab-pages: a folder cannot be made there. "
    )


@pytest.mark.parametrize("inside", ["", "mine"])
def test_the_shipped_pages_are_not_a_working_folder(source, inside):
    """Nobody works in the installation by mistake."""
    assert refused(source / inside, source) == (
        f"{source / inside} is where rhythmlab keeps its own pages. {working_folder.instead()}"
    )
    assert MARK not in files(source)


def test_installation_without_pages(tmp_path):
    """An installation with no page says so, and makes nothing."""
    (tmp_path / "shipped").mkdir()
    (tmp_path / "shipped" / "notes.txt").write_text("no page")
    with pytest.raises(FolderError, match=r"has no pages in .*shipped; install it again"):
        prepare(tmp_path / "pages", tmp_path / "shipped")
    assert not (tmp_path / "pages").exists()


def test_first_page_is_the_first_by_name(source):
    """Page 00 comes first, whatever else is there."""
    put(source, **{"01-next": page("x")})
    (source / "00-a note.txt").write_text("not a page")
    assert first_page(source) == "00-start.ipynb"


@pytest.mark.parametrize("inside", [["notes.txt"], ["a", "b", "c", "d"], ["00-start.ipynb", "marks.csv"]])
def test_a_folder_that_holds_other_work_is_asked_about(tmp_path, source, inside):
    """Nothing is written into it before; what lies there is named; the reader may be sure of it."""
    folder = tmp_path / "work"
    folder.mkdir()
    for name in inside:
        (folder / name).write_text(name)
    with pytest.raises(Doubtful) as doubt:
        prepare(folder, source)
    others = [name for name in inside if name != "00-start.ipynb"]
    assert f"holds other work ({', '.join(others[:3])}" in str(doubt.value)
    assert str(doubt.value).endswith("?")
    assert files(folder) == sorted(inside)
    prepare(folder, source, sure=True)
    assert (folder / MARK).exists()
    assert set(files(folder)) > set(inside)
    prepare(folder, source)  # once it is a folder for pages nobody asks again


def test_the_root_and_the_home_are_asked_about(tmp_path, source, monkeypatch):
    """However they are written: pages are not spread over them unasked."""
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("USERPROFILE", str(tmp_path / "home"))
    (tmp_path / "home").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "home")
    for folder in (tmp_path / "home", tmp_path / "home" / "x" / "..", tmp_path / "link"):
        with pytest.raises(Doubtful, match=r"is your home folder: put .* all the same"):
            prepare(folder, source)
    for folder in ("/", "/usr/..", "/."):
        with pytest.raises(Doubtful, match="is the root of the disk: put"):
            prepare(folder, source)
    assert files(tmp_path / "home") == []


@pytest.mark.parametrize("inside", [[], [".git/HEAD"], ["00-start.ipynb"], ["workshop/room.ipynb"]])
def test_a_folder_that_may_well_be_for_pages_is_not_asked_about(tmp_path, source, inside):
    """An empty one, one with hidden files only, one with pages whose mark was lost."""
    put(source, workshop__room=page("a room"))
    for name in inside:
        (tmp_path / "pages" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "pages" / name).write_text("{}")
    assert prepare(tmp_path / "pages", source)[0].startswith("Your pages are in ")


@pytest.mark.parametrize("below", ["", "below", "further/below"])
def test_a_link_that_leads_nowhere_is_named_in_one_line(tmp_path, source, below):
    """In a circle, or to a folder that is not there, as the folder itself or on the way to it."""
    (tmp_path / "circle").symlink_to(tmp_path / "round")
    (tmp_path / "round").symlink_to(tmp_path / "circle")
    (tmp_path / "self").symlink_to("self")
    (tmp_path / "gone").symlink_to(tmp_path / "nothing")
    for name in ("circle", "self"):
        assert f"{name} is a link that leads in a circle. " in refused(tmp_path / name / below, source)
    said = refused(tmp_path / "gone" / below, source)
    assert "gone is a link that leads to a folder that is not there. " in said


def test_a_link_to_a_folder_is_followed(tmp_path, source):
    """Pages may live elsewhere than where their folder is named."""
    (tmp_path / "real").mkdir()
    (tmp_path / "pages").symlink_to(tmp_path / "real")
    prepare(tmp_path / "pages", source)
    assert (tmp_path / "real" / "00-start.ipynb").exists()


@pytest.mark.parametrize(("deeper", "found"), [("", True), ("a", True), ("a/b", True), ("a/b/c", False)])
def test_whatever_the_reader_makes_lies_in_one_place(tmp_path, monkeypatch, deeper, found):
    """Journal, set list, the length of the hall and what is saved: the marked folder, or the current one."""
    (tmp_path / MARK).write_text("{}")
    here = tmp_path / deeper
    here.mkdir(parents=True, exist_ok=True)
    monkeypatch.chdir(here)
    where = tmp_path if found else here
    saving = rl.pages.two_numbers(4, 3, bpm=90).export
    saving._open.value = True
    saved, _ = saving._where()
    assert working_folder.place_for_files() == where
    assert {one.parent for one in (rl.practice.Journal().path, SetList().path, wall.hall_file(), saved)} == {
        where
    }

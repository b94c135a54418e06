"""Files out: names that every system takes, whole or not at all, and never over another unasked."""

import errno
import io
import os
import unicodedata
from xml.etree import ElementTree

import matplotlib.image
import numpy as np
import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.render import export
from rhythmlab.render.export import fault, painted, picture, safe_name, save, with_ending
from rhythmlab.render.pictures import strip
from rhythmlab.render.scene import ROW
from tests.refusals import refusal, works
from tests.strategies import TRIES

SCENE = strip(rl.Polyrhythm(7, 4).cycle())
HOSTILE = strip(rl.Cycle(4, [rl.Lane("$\\frac$ <b>\x00&拍", [0, 2])], beats=[0]))


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
    assert len(name.encode()) <= export.SHORT_NAME
    assert name == unicodedata.normalize("NFC", name)
    assert safe_name(name, ending) == name
    assert name.isascii() or not text.isascii()


def test_a_long_name_is_cut_between_letters():
    """A hundred bytes are kept, and no half of a letter."""
    assert safe_name("é" * 500, ".svg") == "é" * 48 + ".svg"
    assert safe_name("拍" * 500, ".svg") == "拍" * 32 + ".svg"


@pytest.mark.parametrize("text", [None, 7, b"take"])
def test_a_name_of_no_text_is_refused(text):
    """The message shows one that works."""
    example = refusal(lambda: safe_name(text, ".svg"), f"text={text!r}", "is not text")
    assert works(example, safe_name=safe_name) == "7-against-4.svg"


@pytest.mark.parametrize("ending", ["", ".", "../x", ".s v", None, ".averylongending"])
def test_an_ending_of_anything_else_is_refused(ending):
    """Letters and digits only."""
    refusal(lambda: safe_name("take", ending), f"ending={ending!r}", "is not an ending")


def test_a_file_is_written_and_read_back(tmp_path):
    """All of it, and nothing beside it; a name with a space is the reader's choice."""
    data = bytes(range(256)) * 1000
    for name in ("note.bin", "my take (2).bin", "Übung.bin"):
        assert save(tmp_path / name, data) == tmp_path / name
        assert (tmp_path / name).read_bytes() == data
    assert len(list(tmp_path.iterdir())) == 3


def test_a_file_that_is_there_stays_unless_asked(tmp_path):
    """It is refused with a free name that works, and replaced only when that is said."""
    path = tmp_path / "note.txt"
    path.write_bytes(b"mine")
    example = refusal(lambda: save(path, b"new"), "note.txt", "is not replaced", FileExistsError)
    assert path.read_bytes() == b"mine"
    assert works(example, write=lambda where: save(where, b"new")) == tmp_path / "note-2.txt"
    save(path, b"newer", replace=True)
    assert path.read_bytes() == b"newer"
    assert sorted(file.name for file in tmp_path.iterdir()) == ["note-2.txt", "note.txt"]


@pytest.mark.parametrize("replace", [False, True])
def test_links_and_folders_are_never_replaced(tmp_path, replace):
    """What a link points to stays, also where it points to nothing, and so does a folder."""
    (tmp_path / "real.txt").write_bytes(b"mine")
    (tmp_path / "link.txt").symlink_to(tmp_path / "real.txt")
    (tmp_path / "nowhere.txt").symlink_to(tmp_path / "not there")
    (tmp_path / "folder.txt").mkdir()
    for name in ("link.txt", "nowhere.txt", "folder.txt"):
        refusal(lambda n=name: save(tmp_path / n, b"", replace=replace), name, "is there", FileExistsError)
    assert (tmp_path / "real.txt").read_bytes() == b"mine"
    assert len(list(tmp_path.iterdir())) == 4


@pytest.mark.parametrize("links", [True, False])
def test_a_file_that_comes_meanwhile_stays(tmp_path, monkeypatch, links):
    """Another that takes the name while this one is written is kept, on disks with and without links."""
    path = tmp_path / "note.txt"
    monkeypatch.setattr(os, "fsync", lambda _: path.write_bytes(b"mine"))
    if not links:
        monkeypatch.setattr(os, "link", lambda *_: (_ for _ in ()).throw(OSError("no links here")))
    refusal(lambda: save(path, b"new"), "note.txt", "is not replaced", FileExistsError)
    assert [file.name for file in tmp_path.iterdir()] == ["note.txt"]
    assert path.read_bytes() == b"mine"


@pytest.mark.parametrize(
    ("number", "kind", "reason"),
    [
        (errno.ENOSPC, OSError, "the disk is full"),
        (errno.EDQUOT, OSError, "your share of the disk is full"),
        (errno.EROFS, OSError, "it can only be read"),
        (errno.EACCES, PermissionError, "you are not allowed to write there"),
        (errno.EIO, OSError, "Input/output error"),
    ],
)
@pytest.mark.parametrize("replace", [False, True])
def test_a_folder_that_takes_nothing_says_why(tmp_path, monkeypatch, number, kind, reason, replace):
    """Full or only for reading: one sentence, nothing left behind, and what was there is there."""
    path = tmp_path / "note.txt"
    if replace:
        path.write_bytes(b"mine")

    def fails(_: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", fails)
    refusal(lambda: save(path, b"new", replace=replace), "note.txt", reason, kind)
    assert [file.read_bytes() for file in tmp_path.iterdir()] == [b"mine"] * replace


def test_a_folder_that_is_not_there_is_refused(tmp_path):
    """Nothing is made; a file is no folder."""
    refusal(lambda: save(tmp_path / "new" / "a.txt", b""), "a.txt", "is not there", FileNotFoundError)
    (tmp_path / "file").write_bytes(b"")
    refusal(lambda: save(tmp_path / "file" / "a.txt", b""), "a.txt", "a file, not in", NotADirectoryError)
    assert [file.name for file in tmp_path.iterdir()] == ["file"]


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
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
        ("x" * 300, "is longer than"),
    ],
)
def test_names_that_are_not_safe_are_refused(tmp_path, monkeypatch, name, wrong):
    """The message shows a name that works."""
    (tmp_path / "a").mkdir()
    monkeypatch.chdir(tmp_path / "a")
    example = refusal(lambda: save(name, b"x"), "path=", wrong)
    assert works(example, write=lambda path: save(path, b"x")).exists()
    assert not list(tmp_path.glob("*.txt"))


@pytest.mark.parametrize("data", ["text", None, [1]])
def test_data_that_is_no_bytes_is_refused(tmp_path, data):
    """The message shows bytes."""
    refusal(lambda: save(tmp_path / "a.txt", data), "data=", "is not bytes")
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("path", [None, 3, b"a.svg"])
def test_a_path_that_is_none_is_refused(path):
    """Text or a Path."""
    refusal(lambda: with_ending(path, ".svg"), f"path={path!r}", "is not a path")


@pytest.mark.parametrize("name", ["a.gif", "a", "", ".svg"])
def test_pictures_end_in_what_they_are(tmp_path, monkeypatch, name):
    """The message shows a path that works."""
    monkeypatch.chdir(tmp_path)
    example = refusal(lambda: picture(SCENE, name), "path=", "does not end in .svg, .png or .pdf")
    assert works(example, write=lambda path: picture(SCENE, path)).exists()


def test_what_is_no_picture_is_refused(tmp_path):
    """A cycle has to be drawn first."""
    refusal(lambda: picture(rl.Polyrhythm(7, 4), tmp_path / "a.svg"), "scene=", "is not a picture")


def test_svg_stands_by_itself(tmp_path):
    """XML that parses, of the size of the scene, every stroke in it, no theme variable."""
    text = picture(SCENE, tmp_path / "a.svg").read_text(encoding="utf-8")
    root = ElementTree.fromstring(text)
    assert (root.get("width"), root.get("height")) == (str(SCENE.width), f"{SCENE.rows * ROW:g}")
    assert sum(mark.get("data-tick") is not None for mark in root.iter()) == len(SCENE.strokes())
    assert "var(" not in text


def test_png_has_two_hundred_dots_an_inch(tmp_path):
    """A hundred px of the scene are an inch, and there is something on it."""
    pixels = matplotlib.image.imread(picture(SCENE, tmp_path / "a.png"))
    assert pixels.shape[:2] == (round(SCENE.rows * ROW * 2), SCENE.width * 2)
    assert len(np.unique(pixels.reshape(-1, pixels.shape[-1]), axis=0)) > 20


def test_pdf_has_its_fonts_inside(tmp_path):
    """One page with its title; every font is there whole in outline form, and the words can be found."""
    reader = pypdf.PdfReader(picture(SCENE, tmp_path / "a.pdf"))
    (page,) = reader.pages
    assert reader.metadata.title == SCENE.alt
    kinds = []
    for font in page["/Resources"]["/Font"].values():
        font = font.get_object()
        inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
        kinds.append("/FontFile2" in inner["/FontDescriptor"].get_object())
    assert kinds
    assert all(kinds)
    assert "count" in page.extract_text()


@pytest.mark.parametrize("ending", export.PICTURES)
def test_hostile_names_are_only_text(ending):
    """Markup, a formula's dollar, an unseen letter and other scripts neither fail nor act."""
    data = painted(HOSTILE, ending)
    if ending == ".svg":
        root = ElementTree.fromstring(data)
        assert not [mark for mark in root.iter() if mark.tag.endswith("}b")]
        assert any("<b>" in (mark.text or "") for mark in root.iter())
    elif ending == ".pdf":
        assert "<b>" in pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text()
    else:
        assert data.startswith(b"\x89PNG")


@pytest.mark.parametrize("ending", export.PICTURES)
def test_a_picture_is_the_same_each_time(ending):
    """No date and no chance in it."""
    assert painted(SCENE, ending) == painted(SCENE, ending)

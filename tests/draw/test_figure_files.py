"""Pictures as files: each is what its ending says, and hostile names are only text."""

import io
from xml.etree import ElementTree

import matplotlib.image
import numpy as np
import pypdf
import pytest
from PIL import Image

import rhythmlab as rl
from rhythmlab.draw import figure
from rhythmlab.draw.figure import painted, picture
from rhythmlab.draw.pictures import strip
from rhythmlab.draw.scene import ROW
from tests.refusals import refusal, works

SCENE = strip(rl.Polyrhythm(7, 4).cycle())
HOSTILE = strip(rl.Cycle(4, [rl.Lane("$\\frac$ <b>\x00&拍", [0, 2])], beats=[0]))


@pytest.mark.parametrize("name", ["a.gif", "a", "", ".svg"])
def test_pictures_end_in_what_they_are(tmp_path, monkeypatch, name):
    """The message shows a path that works."""
    monkeypatch.chdir(tmp_path)
    example = refusal(lambda: picture(SCENE, name), "path=", "does not end in .svg, .png or .pdf")
    works(example)
    assert len(list(tmp_path.iterdir())) == 1


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
    """One page with its titles; every font is there whole in outline form, and the words can be found."""
    reader = pypdf.PdfReader(picture(SCENE, tmp_path / "a.pdf"))
    (page,) = reader.pages
    assert reader.metadata.title == SCENE.title == "7 against 4, heard line"
    assert reader.metadata.subject == SCENE.alt
    kinds = []
    for font in page["/Resources"]["/Font"].values():
        font = font.get_object()
        inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
        kinds.append("/FontFile2" in inner["/FontDescriptor"].get_object())
    assert kinds
    assert all(kinds)
    assert "count" in page.extract_text()


@pytest.mark.parametrize("ending", figure.PICTURES)
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


@pytest.mark.parametrize("ending", figure.PICTURES)
def test_a_picture_is_the_same_each_time(ending):
    """No date and no chance in it."""
    assert painted(SCENE, ending) == painted(SCENE, ending)


def test_a_picture_has_a_short_title_and_its_whole_description():
    """What it shows and as which picture, on one shelf line; a PNG says its description too."""
    p = rl.Polyrhythm(16, 15)
    fill = rl.playing.resolve((7, 4), bars=4)
    scenes = {
        "16 against 15, gap cycle": rl.pictures.gap_cycle(p, 100),
        "16 against 15, heard line": rl.pictures.strip(p),
        "16 against 15, shared grid": rl.pictures.shared_grid(p),
        "16 against 15, counted from each home": rl.pictures.homes(p, 72),
        "16 against 15, ways to learn": rl.pictures.ways(p, 72),
        "7 against 4 as a fill in 4 bars of 4/4, heard line": rl.pictures.strip(fill),
    }
    for title, scene in scenes.items():
        assert scene.title == title
        about = pypdf.PdfReader(io.BytesIO(painted(scene, ".pdf"))).metadata
        assert (about.title, about.subject) == (title, scene.alt)
    with Image.open(io.BytesIO(painted(scene, ".png"))) as png:
        assert (png.info["Title"], png.info["Description"]) == (title, scene.alt)

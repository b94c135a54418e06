"""Saving what a panel shows: every kind of file is what it says, and nothing is replaced unasked."""

import csv
import errno
import html
import io
import os
import re
import signal
import wave
from xml.etree import ElementTree

import mido
import pytest
from pypdf import PdfReader

import rhythmlab as rl
from rhythmlab.core import long_work
from rhythmlab.export.film import _Page
from rhythmlab.panels.saving import KINDS
from rhythmlab.playing.named import name_of
from rhythmlab.playing.phrasing import COUNTS
from tests.panels.inside import leads_to


@pytest.fixture
def opened(tmp_path):
    """Give a function that opens the form under a panel, saving into a folder of its own."""

    def run(panel):
        panel.export._folder = tmp_path
        panel.export._open.value = True
        return panel.export

    return run


def save(export, kind, name=""):
    export._kind.value, export._name.value = kind, name
    export._save.click()
    return export._told.value


PANELS = {
    "a pair": lambda: rl.pages.two_numbers(4, 3, bpm=90),
    "a phrase": lambda: rl.pages.phrase_and_stick(13),
    "a fill": lambda: rl.pages.land_in_bars(7, 4),
    "an ostinato": lambda: rl.pages.feet_against_hands("x..x..x.", "x.x.xx"),
}


@pytest.mark.parametrize("which", PANELS)
@pytest.mark.parametrize("kind", KINDS)
def test_every_panel_saves_every_kind_of_file(opened, tmp_path, which, kind):
    """One file, named as the panel is and by its kind, that a general reader opens."""
    export = opened(PANELS[which]())
    export._cycles.value = "1"
    said = save(export, kind)
    beside = {one for one in tmp_path.iterdir() if kind.startswith("film") and one.suffix == ".vtt"}
    (path,) = {*tmp_path.iterdir()} - beside
    assert leads_to(said) == [path.resolve()]
    assert path.name.endswith(KINDS[kind][1])
    data = path.read_bytes()
    if kind.startswith("MIDI"):
        assert mido.MidiFile(file=io.BytesIO(data)).length > 0
    elif kind.endswith("(WAV)"):
        with wave.open(str(path)) as file:
            assert file.getnframes() > 0
    elif kind.endswith("(CSV)"):
        rows = list(csv.DictReader(io.StringIO(data.decode("utf-8"))))
        what = export._content().what
        cycle = what.cycle() if isinstance(what, rl.Polyrhythm) else what
        assert len(rows) == sum(len(lane.onsets) for lane in cycle.lanes)
    elif kind.endswith("(PDF)"):
        assert len(PdfReader(io.BytesIO(data)).pages) >= 1
    elif kind.endswith("(WebM)"):
        assert data.startswith(b"\x1aE\xdf\xa3")
        assert [one.stem for one in beside] == [path.stem]
    elif kind.endswith("(PNG)"):
        assert data.startswith(b"\x89PNG\r\n\x1a\n")
    else:
        assert b"<svg" in data[:400] or b"<score-partwise" in data[:1000]


def test_a_closed_form_costs_nothing_and_opens_and_closes():
    """Pages are as quick as before: no field is made until it is asked for; closing hides it again."""
    export = rl.pages.two_numbers(4, 3).export
    assert len(export.children) == 1
    export._open.value = True
    assert export.children[1].layout.display == ""
    export._open.value = False
    assert export.children[1].layout.display == "none"


def test_a_file_that_is_there_is_replaced_only_when_asked_twice(opened, tmp_path):
    """The first press says that it is there and leaves it; the second replaces it; another name asks anew."""
    export = opened(rl.pages.two_numbers(4, 3))
    save(export, "strokes (CSV)", "mine")
    path = tmp_path / "mine.csv"
    path.write_text("my own notes")
    assert "is there already" in save(export, "strokes (CSV)", "mine")
    assert path.read_text() == "my own notes"
    assert export._save.description == "Replace it"
    export._name.value = "mine too"
    assert export._save.description == "Save"
    export._name.value = "mine"
    export._save.click()
    assert path.read_text() == "my own notes"
    export._save.click()
    assert path.read_text().startswith("tick,")
    assert sorted(one.name for one in tmp_path.iterdir()) == ["mine.csv"]


@pytest.mark.parametrize("name", ["../../out", "a/b", "con", ".hidden", "x" * 400, "<b>7</b>", "\x00\n"])
def test_hostile_names_stay_in_the_folder(opened, tmp_path, name):
    """Whatever is typed, one plain file comes into the folder, and the name is never markup in the page."""
    export = opened(rl.pages.two_numbers(4, 3))
    said = save(export, "strokes (CSV)", name)
    (path,) = tmp_path.iterdir()
    assert path.parent == tmp_path
    assert path.suffix == ".csv"
    assert len(path.name) <= 120
    assert "<b>7" not in said


def test_what_cannot_be_saved_is_said_and_nothing_is_left(opened, tmp_path):
    """Too many cycles, a word for cycles, a folder that is not there: a sentence, and no half file."""
    export = opened(rl.pages.two_numbers(4, 3, bpm=20))
    export._cycles.value = "many"
    assert export.line.field == "cycles"  # said when the field is left, and not only when it is saved
    assert save(export, "MIDI") == ""
    assert export.line.text.startswith("cycles 'many' is not a whole number")
    export._cycles.value = "1000"
    assert save(export, "sound (WAV)") == ""
    assert "more than the hour" in export.line.text
    assert list(tmp_path.iterdir()) == []
    export._cycles.value = "1"
    export._folder = tmp_path / "gone"
    assert "Not saved" in save(export, "strokes (CSV)")
    assert not (tmp_path / "gone").exists()


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("there", ["link", "link to nothing", "folder"])
def test_a_link_or_a_folder_is_never_replaced_however_often_it_is_asked(opened, tmp_path, kind, there):
    """It is said at the first press; what a link leads to stays, and so does the link."""
    path = tmp_path / f"mine{KINDS[kind][1]}"
    (tmp_path / "elsewhere").write_text("my own notes")
    makes = {
        "link": lambda: path.symlink_to("elsewhere"),
        "link to nothing": lambda: path.symlink_to("nowhere"),
        "folder": path.mkdir,
    }
    makes[there]()
    export = opened(rl.pages.two_numbers(4, 3))
    for _ in range(3):
        said = save(export, kind, "mine")
        assert f"is there already, as a {there.split()[0]}, and is not replaced; take another name," in said
        assert ", for example mine-2." in said
        assert "path=" not in said
        assert export._save.description == "Save"
    assert (tmp_path / "elsewhere").read_text() == "my own notes"
    assert path.is_symlink() == there.startswith("link")
    assert len(list(tmp_path.iterdir())) == 2


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("replacing", [False, True])
def test_a_full_disk_is_said_and_keeps_what_was_there(opened, tmp_path, monkeypatch, kind, replacing):
    """In a sentence without a call; the old file is whole, and nothing is left beside it."""
    export = opened(rl.pages.two_numbers(4, 3))
    path = tmp_path / f"mine{KINDS[kind][1]}"
    if replacing:
        path.write_text("my own notes")
        save(export, kind, "mine")

    def full(_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    said = save(export, kind, "mine")
    assert f"Not saved: {html.escape(repr(str(path)))}" in said
    assert said.endswith("the disk is full; nothing of it was written; write into another folder.</p>")
    assert [one.read_text() for one in tmp_path.iterdir()] == ["my own notes"] * replacing


def test_more_strokes_than_a_file_of_sound_takes_are_refused_at_once(folder):
    """Within the hour, and yet too much to lay: said with how many, and fewer cycles work."""
    panel = rl.pages.two_numbers(997, 7, bpm=70)
    panel.export._open.value = True
    panel.export._kind.value, panel.export._cycles.value = "sound (WAV)", "500"
    panel.export._save.click()
    assert "500 cycles have" in panel.export.line.text
    assert "more than the 200\u00a0000 of a file of sound that a panel saves" in panel.export.line.text
    assert list(folder.iterdir()) == []
    panel.export._cycles.value = "1"
    panel.export._save.click()
    assert "Saved as" in panel.export._told.value


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_that_is_stopped_while_it_is_written_is_told_and_leaves_nothing(
    opened, tmp_path, monkeypatch, kind
):
    """The line says so, not that of the file before."""
    export = opened(rl.pages.two_numbers(4, 3))

    def stop(_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stop)
    assert "Stopped: the file is there whole, or not at all." in save(export, kind, "mine")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("count", COUNTS)
def test_what_is_saved_of_a_phrase_says_what_the_menu_of_counts_chose(opened, tmp_path, count):
    """Notes, their words and the handout have the words under the picture; a table says it has others."""
    panel = rl.pages.phrase_and_stick(13)  # 4 4 5: the lead alternates, so it is written twice through
    panel._fields["count"].value = count
    groups = re.search(r"Say: (.*?)\.$", panel.stage.pictures[0]["said"][1])[1].split(" | ")
    export = opened(panel)
    save(export, "notes (MusicXML)")
    (path,) = tmp_path.iterdir()
    root = ElementTree.fromstring(path.read_bytes())
    under = [word.text for word in root.iter("text") if word.text not in ("R", "L")]
    assert under == " ".join(groups).split() * (len(under) // 13)
    save(export, "notes (SVG)", "drawn")
    drawn = html.unescape((tmp_path / "drawn.svg").read_text(encoding="utf-8"))
    assert f"said {', '.join(groups).lower()}" in drawn
    save(export, "handout (PDF)", "sheet")
    printed = " ".join(PdfReader(tmp_path / "sheet.pdf").pages[0].extract_text().split())
    assert " | ".join(groups) in printed
    assert "beats and their parts, not the words" in save(export, "strokes (CSV)")
    assert "beats and their parts" not in save(export, "MIDI")


@pytest.mark.parametrize(
    "panel",
    [
        lambda: rl.pages.land_in_bars(7, 4),
        lambda: rl.pages.move_accent("2+2+3/8", 5),
        lambda: rl.pages.feet_against_hands("x..x..x.", "x.x.xx"),
    ],
)
def test_panel_file_midi_and_picture_have_one_title(opened, tmp_path, panel):
    """A fill, an accent and an ostinato are called alike over the picture and in every file."""
    shown = panel()
    export, title = opened(shown), shown._content().title
    assert title == name_of(shown._content().what)
    assert title == shown.stage.head["title"]
    save(export, "MIDI", "a")
    names = [m.name for m in mido.MidiFile(tmp_path / "a.mid").tracks[0] if m.type == "track_name"]
    assert names == [title]
    save(export, "picture (PDF)", "b")
    assert PdfReader(tmp_path / "b.pdf").metadata.title == f"{title}, heard line"


def test_a_film_that_is_stopped_says_how_far_it_came_and_leaves_nothing(opened, tmp_path, monkeypatch):
    """The bar stood there meanwhile, and is gone afterwards."""
    export, seen = opened(rl.pages.two_numbers(4, 3)), []
    monkeypatch.setattr(long_work, "SHOWN_S", 0)

    def pressed(self, tick, reach, at=_Page.at):
        seen.append((export._bar.what, export._bar.working))
        if len(seen) == 5:
            os.kill(os.getpid(), signal.SIGINT)
        return at(self, tick, reach)

    monkeypatch.setattr(_Page, "at", pressed)
    said = save(export, "film (WebM)", "mine")
    assert "Stopped at 4 of " in said
    assert seen[0] == ("", False)
    assert seen[-1][1]
    assert "A film of" in seen[-1][0]
    assert (export._bar.what, export._bar.working) == ("", False)
    assert list(tmp_path.iterdir()) == []


def played(panel):
    """Let a panel for 4 against 3 receive a take of two cycles, the third stroke of the second one late."""
    taps = [
        [lane, 2 * (k / n + turn) + 0.15 * ((turn, lane, k) == (1, 0, 2))]
        for turn in range(2)
        for lane, n in enumerate((4, 3))
        for k in range(n)
    ]
    take = {"id": "t1", "mode": "both pulses", "lanes": [0, 1], "ticks": 12, "start": 0, "stop": 12}
    take |= {"cycles": 2, "cycle_s": 2.0, "t0": 0.0, "taps": taps, "limbs": "hands", "pulses": [4, 3]}
    assert panel.takes.received({**take, "bpm": "90", "pulse": 1, "home": 1})


@pytest.mark.parametrize("ending", [".svg", ".png"])
def test_a_picture_is_saved_with_the_take_that_stands_under_it(opened, tmp_path, folder, ending):
    """The cycle that is shown, in the file and from the cell alike; without a take the picture alone."""
    panel = rl.pages.two_numbers(4, 3, bpm=90)
    bare = panel.picture
    played(panel)
    panel.stage.struck = 2
    assert "cycle 2 of 2" in panel.picture.alt
    export = opened(panel)
    save(export, f"picture ({ending[1:].upper()})", "mine")
    mine = (tmp_path / f"mine{ending}").read_bytes()
    assert mine == panel.picture.write(tmp_path / f"cell{ending}").read_bytes()
    with pytest.raises(FileExistsError):
        panel.picture.write(tmp_path / f"cell{ending}")
    if ending == ".svg":
        root = ElementTree.fromstring(mine)
        title, about = (root.find(f"{{*}}{name}").text for name in ("title", "desc"))
        assert title == "4 against 3, heard line"
        assert about == panel.picture.alt
        assert b"var(" not in mine
    panel.stage.feedback = []
    assert panel.picture == bare


def test_a_picture_of_bars_is_saved_as_far_as_it_is_shown(opened, tmp_path):
    """Not the bars that the panel does not show."""
    panel = rl.pages.feet_against_hands("x..x..x.", "x.x.xx")
    frame = re.search(r'data-frame="(\d+) (\d+)', panel.stage.pictures[0]["svg"])
    assert (panel.picture.start, panel.picture.stop) == tuple(map(int, frame.groups()))

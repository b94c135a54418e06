"""What a handout refuses, and what it puts up with: hostile titles, odd numbers, full and closed folders."""

import io
import os
import re
from functools import cache

import pypdf
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.export import pdf
from rhythmlab.export.handout import handout, handout_pack
from tests.refusals import refusal, works
from tests.strategies import TRIES

P = rl.Polyrhythm(4, 3)
NAMES = {"handout": handout, "handouts": handout_pack}


@cache
def works_once(example: str) -> object:
    """Run an example, which many a refusal has, in the folder of the first."""
    return works(example, **NAMES)


@pytest.mark.parametrize(
    ("call", "given_", "wrong"),
    [
        (lambda: handout("7:4", 72), "what='7:4'", "is no rhythm: "),
        (lambda: handout(P, "fast"), "tempo='fast'", "is neither a Tempo nor beats a minute of home"),
        (lambda: handout(P, 0), "tempo=0", "not a finite number above 0"),
        (lambda: handout(P, float("nan")), "tempo=nan", "not a finite number above 0"),
        (lambda: handout(P, 90, paper="A3"), "paper='A3'", "not a paper"),
        (lambda: handout(P, 90, paper=["A4"]), "paper=['A4']", "not a paper"),
        (lambda: handout(P, 90, limits={"flam": 30}), "limits={'flam': 30}", "not Limits"),
        (lambda: handout(P, 90, title=7), "title=7", "not text"),
        (lambda: handout(rl.playing.accents("7/8", 5), 90, home=0), "home=0", "its own beat"),
        (
            lambda: handout(rl.Cycle(4, [rl.Lane("bell", [0, 3])], beats=[]), 72),
            "tempo=72",
            "of a cycle without beats names no beat",
        ),
        (lambda: handout_pack(7, "pack"), "rhythms=7", "not a list"),
        (lambda: handout_pack("7:4", "pack"), "rhythms='7:4'", "not a list"),
        (lambda: handout_pack([], "pack"), "rhythms=[]", "no rhythm"),
        (lambda: handout_pack(["seven"], "pack"), "'seven'", "neither a pair of rhythm and tempo"),
        (lambda: handout_pack(["7:0"], "pack"), "rhythm 1 of the pack", "0"),
        (lambda: handout_pack([("7-4", 72)], "pack"), "rhythm 1 of the pack", "no rhythm"),
        (lambda: handout_pack([(P, 90)], 7), "folder=7", "not a folder"),
        (lambda: handout_pack([(P,)], "pack"), "rhythm 1 of the pack", "neither a pair"),
        (
            lambda: handout_pack([(P, 90), (P, -1)], "pack"),
            "rhythm 2 of the pack",
            "not a finite number above 0",
        ),
        (lambda: handout_pack([{"what": P, "speed": 90}], "pack"), "rhythm 1 of the pack", "neither a pair"),
    ],
)
def test_what_is_refused_is_named_with_an_example_that_works(call, given_, wrong, tmp_path, monkeypatch):
    """The message says what was given and what is wrong; its example works; no file appears."""
    monkeypatch.chdir(tmp_path)
    example = refusal(call, given_, wrong)
    assert not list(tmp_path.iterdir())
    works_once(example)


@pytest.mark.parametrize("rhythms", [[(7, 4), (3, 2)], [(P, "fast")], [(P, 90), (P, 5000)]])
def test_what_is_wrong_in_a_pack_has_a_pack_as_example(rhythms, tmp_path):
    """Not the call of a single handout, which nobody made; a list of bare pairs is the usual slip."""
    example = refusal(lambda: handout_pack(rhythms, tmp_path / "pack"), "rhythm ", "")
    assert example.startswith("classroom.handout_pack([(")


def test_there_is_no_third_home():
    """A pulse that is not there is an IndexError."""
    with pytest.raises(IndexError, match="home=2"):
        handout(P, 90, home=2)
    with pytest.raises(IndexError, match="rhythm 1 of the pack"):
        handout_pack([{"what": P, "tempo": 90, "home": 2}], "pack")


def read(pdf: bytes) -> tuple[str, str]:
    """Return title and words of a PDF."""
    reader = pypdf.PdfReader(io.BytesIO(pdf), strict=True)
    return reader.metadata.title, " ".join(" ".join(page.extract_text() for page in reader.pages).split())


@pytest.mark.parametrize(
    ("title", "printed"),
    [
        ("<b>4</b> & <img src=x>", "<b>4</b> & <img src=x>"),
        ("four\x00 against\x07\n\tthree\u202e", "four against three"),
        ("Übung für Čeněk: ♩ = ½", "Übung für Čeněk: ♩ = ½"),
        ("Упражнение", "Упражнение"),
        ("Άσκηση", "Άσκηση"),
    ],
)
def test_a_title_is_printed_as_it_is(title, printed):
    """Markup is letters, what has no ink is left out, scripts that the font has are printed."""
    one = handout(P, 90, title=title)
    name, text = read(one.pdf)
    assert name == pdf.clean(title)
    assert printed in text
    assert one.text.splitlines()[:2] == [pdf.clean(title), "4 against 3"]


@pytest.mark.parametrize("title", ["拍子の練習", "שלום", "تمرين", "अभ्यास", "\U0001f941 4:3"])
def test_a_title_in_another_script_falls_back_and_is_said(title):
    """The rhythm's own name is printed with a note; the title is whole in properties and plain text."""
    one = handout(P, 90, title=title)
    name, text = read(one.pdf)
    assert name == title
    assert "4 against 3" in text
    assert "Some letters of the title are not in the print font" in text
    assert one.text.splitlines()[0] == title


@pytest.mark.parametrize("title", ["word " * 200, "w" * 3000])
def test_a_very_long_title_is_cut_on_paper_only(title):
    """Four lines with a sign that it goes on; the whole title is in the plain text."""
    one = handout(P, 90, title=title)
    _, text = read(one.pdf)
    assert "…" in text
    assert one.text.splitlines()[0] == title.strip()
    assert len(one.name) <= 100


def test_a_title_of_a_hundred_letters_is_printed_whole():
    """It takes the lines that it needs."""
    title = (
        "A warm-up for the second hour, seats one to twelve, with a bass drum and a bell, slowly, by the sea"
    )
    one = handout(P, 90, title=title)
    _, text = read(one.pdf)
    assert title in text
    assert "…" not in text


def words_of(row) -> str:
    """Return a laid-out line: its words, or pieces with their spaces where it has a "&"."""
    return " ".join(row) if all(isinstance(one, str) for one in row) else "".join(one.text for one in row)


@TRIES
@given(st.text(max_size=60))
@example("0&")
@example("one & two, a longer row of words & signs < > that takes two lines & more")
def test_any_text_can_be_printed_in_lines(text):
    """Whatever a title holds: its lines fit, and the font has every sign of them."""
    made = pdf.paragraph(text, "bold", 19.0)
    pdf.lines(made, 200.0)
    lines = [words_of(getattr(line, "words", None) or line[1]) for line in made.blPara.lines]
    seen = [line.strip() for line in lines]  # what has no ink may stand over the edge
    assert all(pdf.wide(line, "bold", 19.0) <= 200.01 or len(line) == 1 for line in seen)
    assert "".join(lines).replace(" ", "") == pdf.printable(text, "bold").replace(" ", "")
    cut = pdf.paragraph(text, most=1, room=100.0)
    assert pdf.lines(cut, 100.0) <= 1


@pytest.mark.parametrize(
    ("bpm", "why"),
    [
        (1, "At 1 bpm, one cycle takes 240 seconds, too long to hold"),
        (1.5, "At 1.5 bpm, one cycle takes 160 seconds, too long to hold"),
        (400, "At 400 bpm the .*, so take this road|400 bpm is too fast for hands and feet"),
        (1000, "At 1000 bpm the .*, so take this road|1000 bpm is too fast for hands and feet"),
    ],
)
def test_extreme_tempos_are_said_not_refused(bpm, why):
    """A road with a tempo to start at is named, and why no way fits at that tempo."""
    one = handout(rl.Polyrhythm(7, 4), bpm)
    assert one.pages == 2
    said = one.text.replace("\xa0", "")
    assert re.search(rf": start at \d+ bpm of the 4.*\. ({why})\.", said), said
    assert not re.search(r"\bnan\b|\binf\b", one.text)


@pytest.mark.parametrize(
    ("bpm", "wrong"), [(1e-6, "less than 1"), (5000, "more than 1,000"), (1e9, "more than 1,000")]
)
def test_a_tempo_that_nobody_counts_at_is_refused(bpm, wrong):
    """As a number, as a tempo of home, and as a tempo of the other pulse."""
    p = rl.Polyrhythm(7, 4)
    of_home = rl.Tempo(bpm, pulse=1)
    for tempo in (bpm, of_home, of_home.in_pulse(p, 0)):
        assert works(refusal(lambda given=tempo: handout(p, given), "tempo=", wrong)).pages == 2


@pytest.mark.parametrize(
    "pulses", [(1, 1), (1, 7), (5, 5), (6, 4), (64, 63), (97, 89), (2, 3, 4, 5, 7, 9, 11)]
)
def test_odd_rhythms_fit_on_two_pages(pulses):
    """Pulses that are the same, nested, many or large."""
    one = handout(rl.Polyrhythm(*pulses), 60)
    assert one.pages == 2
    assert len(one.pdf) < 300_000


@pytest.mark.parametrize(
    "cycle",
    [
        Cycle(4, [], beats=[0]),
        Cycle(4, [Lane("a", [])], beats=[]),
        Cycle(1, [Lane("a", [0])], beats=[0]),
        Cycle(97, [Lane("a" * 300, range(0, 97, 2)), Lane("", [0])], beats=[0, 50]),
        rl.playing.accents("4/4", 7, bars=500).metre.cycle(),
        rl.pattern("son_clave"),
    ],
)
def test_odd_cycles_fit_on_two_pages(cycle):
    """No lanes, no strokes, one tick, a name without end, no bars."""
    one = handout(cycle, rl.Tempo(90, ticks=1))
    assert one.pages == 2
    assert "LESSON SLIP" in one.text


def test_a_wrong_ending_and_an_unsafe_name_are_refused(tmp_path):
    """Nothing is written."""
    one = handout(P, 90)
    refusal(lambda: one.write(tmp_path / "a.docx"), "a.docx", "does not end in .pdf or .txt")
    with pytest.raises(ValueError, match="leaves its folder"):
        one.write(f"{tmp_path}/../a.pdf")
    assert not list(tmp_path.iterdir())


def test_a_folder_that_cannot_be_made_is_said(tmp_path):
    """A pack inside a file, or in a folder inside none, is an OSError, and changes nothing."""
    (tmp_path / "file").write_text("mine")
    with pytest.raises(OSError, match="file"):
        handout_pack([(P, 90)], tmp_path / "file")
    with pytest.raises(FileNotFoundError):
        handout_pack([(P, 90)], tmp_path / "none" / "pack")
    assert (tmp_path / "file").read_text() == "mine"
    assert os.listdir(tmp_path) == ["file"]


def test_an_empty_pack_is_no_file(tmp_path):
    """No rhythm, no folder, and no silence either: it says that there is nothing to print."""
    refusal(lambda: handout_pack([], tmp_path / "pack"), "rhythms=[]", "nothing to print")
    assert not list(tmp_path.iterdir())

"""The handout: opened again by an independent reader, counted, read and looked at as pixels."""

import base64
import io
import re
import shutil
import subprocess
from collections.abc import Iterator
from fractions import Fraction
from html import escape
from math import ceil, floor

import numpy as np
import pypdf
import pytest
from hypothesis import example, given
from reportlab.platypus import Paragraph

import rhythmlab as rl
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.export import pdf
from rhythmlab.export.handout import EDGE, SIDE, Handout, handout, handout_pack
from rhythmlab.export.lesson import of_bars, of_pair, rungs
from rhythmlab.playing.limits import limits
from tests.strategies import TRIES, bpms, cycles, pairs

RHYTHMS = {
    "4:3": (rl.Polyrhythm(4, 3), 90, {"home": 1}),
    "7:4": (rl.Polyrhythm(7, 4), 72, {}),
    "16:15": (rl.Polyrhythm(16, 15), 100, {}),
    "16:15 on Letter": (rl.Polyrhythm(16, 15), 100, {"home": 0, "paper": "Letter"}),
    "3:4:5": (rl.Polyrhythm(3, 4, 5), 60, {}),
    "6:4": (rl.Polyrhythm(6, 4), 80, {}),
    "1:1": (rl.Polyrhythm(1, 1), 60, {}),
    "64:63": (rl.Polyrhythm(64, 63), 60, {}),
    "fill": (rl.playing.resolve((7, 4)), 120, {}),
    "accents": (rl.playing.accents("2+2+3/8", 5), 180, {}),
    "ostinato": (rl.ostinato("x..x..x.", "x.x", metre="4/4"), 90, {}),
    "split": (rl.playing.split(rl.Polyrhythm(7, 4)), rl.Tempo(72, ticks=7), {}),
}
every = pytest.mark.parametrize("name", RHYTHMS)


class Made(dict):
    """Handouts, each made once, when it is first asked for, with the lines that were printed on it."""

    def __init__(self) -> None:
        self.printed: dict[str, list[tuple[str, float]]] = {}

    def __missing__(self, name: str) -> Handout:
        printed = self.printed[name] = []
        real = Paragraph.draw

        def draw(one):
            printed.append((one.getPlainText(), one.style.fontSize))
            return real(one)

        what, tempo, rest = RHYTHMS[name]
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr(Paragraph, "draw", draw)
            self[name] = handout(what, tempo, **rest)
        return self[name]


@pytest.fixture(scope="session")
def made() -> Made:
    """Make each handout once."""
    return Made()


def opened(one: Handout) -> pypdf.PdfReader:
    """Open a handout with a reader that had no part in writing it."""
    return pypdf.PdfReader(io.BytesIO(one.pdf), strict=True)


def read(one: Handout) -> str:
    """Return the words of all pages, each gap between words one space."""
    return " ".join(" ".join(page.extract_text() for page in opened(one).pages).split())


def fonts(one: Handout) -> Iterator[dict]:
    """Return the font descriptors of all pages."""
    for page in opened(one).pages:
        for font in page["/Resources"]["/Font"].values():
            yield font.get_object()["/FontDescriptor"]


@every
def test_it_is_two_pages_and_small(made, name):
    """Two pages of the paper asked for, under 300 kB."""
    one = made[name]
    pages = opened(one).pages
    assert one.pages == len(pages) == 2
    size = pdf.PAPERS[RHYTHMS[name][2].get("paper", "A4")]
    assert all(tuple(map(float, page.mediabox[2:])) == pytest.approx(size, abs=0.01) for page in pages)
    assert len(one.pdf) < 300_000


@every
def test_its_fonts_are_inside_and_nothing_is_a_raster(made, name):
    """Every font has its file embedded, and no page has a picture made of pixels."""
    found = list(fonts(made[name]))
    assert found
    assert all("/FontFile2" in descriptor for descriptor in found)
    for page in opened(made[name]).pages:
        assert not list(page.images)
        assert b"BI " not in page.get_contents().get_data()


@every
def test_it_says_what_it_must(made, name):
    """Title, tempo, counts, way with its ends, ladder, exercises, slip, cautions and sources are printed."""
    text = read(made[name])
    for part in ("The count", "Notation", "How to learn it", "Practise in this order", "Tempo ladder"):
        assert part in text
    for part in ("Exercises", "Lesson slip", "Tempo now", "Goal", "The spot", "The test", "Limbs"):
        assert part in text
    assert "never play in pain" in text
    assert "NIOSH" in text
    assert made[name].title in text


def test_the_numbers_of_seven_against_four_are_on_it(made):
    """Count from both homes, floor and ceiling of the line and the limits they come from."""
    text = read(made["7:4"])
    assert "72 bpm of the 4 is 126 bpm of the 7" in text
    assert "the 7 on 1, ta of 1, e of 2, ta e of 2, & of 3, ta & of 3, a of 4 (say 1 e & a TA e &)" in text
    assert "the 4 on 1, a of 2, & of 4, e of 6" in text
    way = rl.approach(rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1)).recommended
    assert f"{way.label.capitalize()} {ceil(way.floor)} {floor(way.ceiling)} fits" in text
    assert "London 2012, Hearing in Time" in text


@every
def test_its_properties_are_set(made, name):
    """Title, author and language are in the file, for a shelf of documents and for a screen reader."""
    reader = opened(made[name])
    assert reader.metadata.title == made[name].title
    assert reader.metadata.author == "rhythmlab"
    assert reader.trailer["/Root"]["/Lang"] == "en"
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/DisplayDocTitle"]
    assert [one.title for one in reader.outline] == ["The rhythm", "The practice"]


def letters(text: str) -> str:
    """Return letters and digits only, small, each gap between words one space."""
    return " ".join(re.sub(r"[^a-z0-9 ]", "", " ".join(text.lower().split())).split())


#: What only helps the eye, and has no meaning in plain text.
_FOR_THE_EYE = (
    "answers at the foot",
    "before the beat above",
    "at this tempo",
    "passed cold on",
    "Tempo ladder",
)


@every
def test_its_twin_says_all_of_it(made, name):
    """Each line that is printed is in the plain text as well, and nothing is smaller than small print."""
    one, printed = made[name], made.printed[name]
    plain = letters(one.text)
    assert len(printed) > 60
    for text, size in printed:
        line = letters(re.sub(r"^(Take care|Sources|Answers)[.:] ", "", text))
        known = line in plain or len(line) < 12 or text.startswith(_FOR_THE_EYE)
        assert known or re.fullmatch(r"page \d of 2", text), text
        assert size >= 7
    for heading in ("ANSWERS", "SOURCES", "TAKE CARE", "LESSON SLIP", "LADDER", "WHY", "NOTATION"):
        assert f"\n{heading}\n" in one.text


def test_the_same_handout_is_the_same_bytes(made):
    """No time of day, no random name is inside."""
    what, tempo, rest = RHYTHMS["7:4"]
    assert handout(what, tempo, **rest).pdf == made["7:4"].pdf


@pytest.mark.parametrize("name", ["4:3", "16:15"])
def test_notes_from_both_homes_are_drawn(made, name):
    """Both counts have their notes, whole: nothing is said to be left out."""
    text = read(made[name])
    for pulse in RHYTHMS[name][0].pulses:
        assert f"Counted from the {pulse}" in text
    assert "the rest is in its score" not in text
    assert "Not written" not in text


def test_a_gap_cycle_is_drawn_for_near_equal_pulses_only(made):
    """16:15 has its tide, 7:4 none."""
    assert "The gap cycle" in read(made["16:15"])
    assert "The gap cycle" not in read(made["7:4"])


def test_a_pair_that_teaches_nothing_new_says_so(made):
    """1:1 and 6:4 name their neighbour."""
    assert "try 3 against 2" in read(made["1:1"])
    assert "try 3 against 2 itself" in read(made["6:4"])


def pixels(one: Handout, page: int, folder) -> np.ndarray:
    """Return a page as poppler paints it in grey, 72 dots an inch, one number a dot."""
    assert shutil.which("pdftoppm"), "poppler is not installed; on Debian: apt-get install poppler-utils"
    path = folder / "one.pdf"
    path.write_bytes(one.pdf)
    call = ["pdftoppm", "-r", "72", "-f", str(page), "-l", str(page), "-gray", str(path)]
    data = subprocess.run(call, capture_output=True, check=True).stdout
    _, width, height, _ = data.split(maxsplit=4)[:4]
    return np.frombuffer(data[-int(width) * int(height) :], np.uint8).reshape(int(height), int(width))


@every
@pytest.mark.parametrize("page", [1, 2])
def test_nothing_is_cut_at_the_margins(made, name, page, tmp_path):
    """The margins are white: nothing runs out of the page."""
    ink = pixels(made[name], page, tmp_path) < 200
    assert ink.any()
    side, edge = int(SIDE) - 4, int(EDGE) - 20
    assert not ink[:, :side].any()
    assert not ink[:, -side:].any()
    assert not ink[:edge].any()
    assert not ink[-edge:].any()


@every
@pytest.mark.parametrize("page", [1, 2])
def test_letters_are_large_enough(made, name, page):
    """In pictures and notes too: labels are 8 points high, and the smallest, bar numbers, 6.4."""
    sizes = []

    def visit(text, cm, tm, font, size):
        if text.strip():
            (a, b), (c, d) = (tm[:2], cm[:2])
            sizes.append(size * np.hypot(a, b) * np.hypot(c, d))

    opened(made[name]).pages[page - 1].extract_text(visitor_text=visit)
    assert len(sizes) > 20
    assert min(sizes) >= 6.4


def strokes_on_paper(one: Handout) -> dict[str, list[tuple[float, float]]]:
    """Return width and height in points of each outline of the first page that has the ink of a lane."""
    inks = {ink: name for name, ink in pdf.INKS.items() if name.startswith("lane")}
    page = opened(one).pages[0]
    now, kept, ink, points, found = np.eye(3), [], "", [], {name: [] for name in inks.values()}
    for given_, operator in pypdf.generic.ContentStream(page.get_contents(), page.pdf).operations:
        numbers = [float(number) for number in given_ if isinstance(number, (int, float))]
        match operator.decode():
            case "q":
                kept.append((now, ink))
            case "Q":
                now, ink = kept.pop()
            case "cm":
                a, b, c, d, e, f = numbers
                now = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ now
            case "rg":
                ink = "#" + "".join(f"{round(255 * part):02x}" for part in numbers)
            case "m" | "l":
                points.append(np.array([*numbers, 1]) @ now)
            case "c":  # where the curve passes, not where its handles are
                handles = [np.array([*numbers[i : i + 2], 1]) @ now for i in (0, 2, 4)]
                curve = np.array([points[-1], *handles])
                shares = np.linspace(0, 1, 33)[1:]
                points += [
                    np.array([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3]) @ curve
                    for t in shares
                ]
            case "B" | "B*" | "b" | "b*" | "f" | "f*" | "S" | "s" | "n" as painted:
                if painted[0] in "Bb" and ink in inks:
                    found[inks[ink]].append(tuple(np.ptp(points, axis=0)[:2]))
                points = []
    return found


def test_ghost_notes_are_smaller_on_paper():
    """In the ink of every lane, whatever its shape: a ghost is 0.62 of a plain stroke, and an accent 1."""
    lanes = [
        Lane(name, [0, 2, 3, 6], accents=[0], ghosts=[2, 6], sound="snare") for name in ("a", "b", "c", "d")
    ]
    one = handout(Cycle(8, lanes, beats=[0, 4]), rl.Tempo(90, ticks=4))
    drawn = strokes_on_paper(one)
    assert sorted(drawn) == ["lane0", "lane1", "lane2", "lane3"]
    for lane, sizes in drawn.items():
        assert len(sizes) >= 4, lane
        large = max(sizes)
        ghosts = [size for size in sizes if size != pytest.approx(large, rel=0.01)]
        assert 2 * len(ghosts) == len(sizes), lane
        assert ghosts == [pytest.approx((0.62 * large[0], 0.62 * large[1]), rel=0.01)] * len(ghosts), lane


def test_inks_of_the_lanes_stay_apart_in_grey():
    """Printed grey, neighbouring lanes differ in lightness, and letters on every band can be read."""
    from rhythmlab.draw.palette import contrast

    greys = []
    for lane in range(4):
        red, green, blue = (int(pdf.INKS[f"lane{lane}"][i : i + 2], 16) for i in (1, 3, 5))
        greys.append(0.299 * red + 0.587 * green + 0.114 * blue)
    assert all(abs(a - b) > 30 for i, a in enumerate(greys) for b in greys[i + 1 :])
    for band in ("flam", "open", "alternating", "heard", "paper"):
        assert contrast(pdf.INKS["quiet"], pdf.INKS[band]) >= 4.5


@TRIES
@given(pairs, bpms)
@example(rl.Polyrhythm(31, 1), Fraction(4, 3))
def test_what_is_said_of_any_pair_holds_together(p, bpm):
    """The ladder rises in few rungs, there are three exercises, and every letter can be printed."""
    found = of_pair(p, rl.Tempo(bpm, pulse=1), 1, limits())
    steps = [float(rung.replace("\N{NO-BREAK SPACE}", "")) for rung in found.ladder]
    assert steps == sorted(set(steps))
    assert 1 <= len(steps) <= 9
    assert len(found.exercises) == 3
    assert all(one.text and one.answer for one in found.exercises)
    for text in (found.name, found.tempo, found.way, *found.reasons, *found.cautions, *found.sources):
        assert not pdf.lost(text)


@given(bpms, bpms)
@TRIES
def test_a_ladder_on_paper_rises_from_now_to_the_goal(one, other):
    """Its last rung is the goal, its first is not below where it begins, and no step is twice another."""
    from rhythmlab.playing.learning import bpm_text

    now, goal = sorted((rl.Tempo(one, pulse=0).bpm, rl.Tempo(other, pulse=0).bpm))
    steps = rungs(now, goal)
    assert steps[-1] == bpm_text(goal)
    assert len(set(steps)) == len(steps) <= 9
    assert all(float(step) >= float(now) - 0.06 for step in steps)


@TRIES
@given(cycles())
def test_any_cycle_has_its_lesson(cycle):
    """Uneven lanes, empty ones, no beats: the lesson says something of each lane that plays."""
    found = of_bars(cycle, rl.Tempo(90, ticks=1), limits())
    assert len(found.counts) == sum(len(lane.onsets) > 0 for lane in cycle.lanes)
    assert len(found.exercises) == 3
    assert found.steps


def test_a_groove_says_the_ceiling_of_its_slowest_limb():
    """Strokes of one hand in sixteenths at 120 (125 ms): the published 167 ms allow 90 (125/167 of 120)."""
    bar = rl.metre("4/4").cycle(1, [Lane("ride", range(16), "right hand", "bell")])
    one = handout(bar, 120)
    assert "Every limb keeps up: from no limit, up to 89; only up to 89 bpm." in one.text
    assert "Fujii" in one.text


def test_the_answers_are_right():
    """The answers of 4:3 at 90, home the 3, worked out by hand."""
    text = handout(rl.Polyrhythm(4, 3), 90).text
    answers = re.findall(r"^\d: (.+)$", text, re.M)
    assert answers == ["x..x..x..x..", "132 bpm, 1.8 seconds", "3 1 2 2 1 3"]


def test_a_rhythm_without_notes_shows_the_picture_and_says_why():
    """17 lanes' worth of parts cannot be written: the reason is printed, and nothing is raised."""
    bars = rl.playing.accents("4/4", 7, bars=500)
    one = handout(bars, 100)
    assert "Not written as notes here" in read(one)
    assert "Not written as notes here" in one.text


def test_a_missing_engraver_is_said(monkeypatch):
    """Without verovio the handout is made all the same, with the picture in place of notes."""
    import sys

    from rhythmlab.export.handout import engraved
    from rhythmlab.notation import engrave

    monkeypatch.setitem(sys.modules, "verovio", None)
    engrave._toolkit.cache_clear()
    engraved.cache_clear()
    try:
        one = handout(rl.Polyrhythm(4, 3), 90)
    finally:
        engrave._toolkit.cache_clear()
        engraved.cache_clear()
    assert "the engraver (verovio) is not installed" in read(one)
    assert "The picture instead: 4 against 3 on 12 ticks" in one.text


def test_own_limits_are_used():
    """A reader's own limit moves the ceiling and is called their own."""
    text = handout(rl.Polyrhythm(7, 4), 72, limits=limits(flam=80, hand_sustained=100)).text
    assert "your own limit" in text


def test_a_pack_is_one_call(tmp_path):
    """Names are safe, two of a kind lie beside each other, twins are there, nothing is written over."""
    folder = tmp_path / "pack"
    four_three = (rl.Polyrhythm(4, 3), 90)
    titled = {"what": rl.Polyrhythm(3, 2), "tempo": 80, "title": "../../etc/<passwd>"}
    first = handout_pack([four_three, four_three, titled], folder)
    assert [path.name for path in first[:2]] == ["4-against-3-at-90.pdf", "4-against-3-at-90-2.pdf"]
    assert all(path.parent == folder and path.exists() for path in first)
    assert all(path.with_suffix(".txt").exists() for path in first)
    before = {path: path.read_bytes() for path in folder.iterdir()}
    again = handout_pack([four_three], folder)
    assert again[0].name == "4-against-3-at-90-3.pdf"
    assert all(path.read_bytes() == data for path, data in before.items())
    assert len(list(folder.iterdir())) == 8


def test_it_is_written_as_pdf_or_as_text(made, tmp_path):
    """The ending of the path says which."""
    one = made["4:3"]
    assert one.write(tmp_path / "a.pdf").read_bytes() == one.pdf
    assert one.write(tmp_path / "a.txt").read_text(encoding="utf-8") == one.text
    with pytest.raises(FileExistsError):
        one.write(tmp_path / "a.pdf")


def test_lanes_with_markup_in_their_names_are_printed_as_they_are():
    """A name is a name: nothing of it is read as markup."""
    cycle = Cycle(4, [Lane("<b>a</b> & b", [0, 1]), Lane("c", [0, 2])], beats=[0, 2])
    assert "<b>a</b> & b" in read(handout(cycle, rl.Tempo(90, ticks=2)))


def test_what_fits_is_shown_and_the_rest_is_said(made):
    """64:63 is too long for one page of notes: how many of its bars are there is printed and said."""
    text = read(made["64:63"])
    assert re.search(r"bars 1 to \d+ of 63; the rest is in its score", text)
    assert re.search(r"bars 1 to \d+ of 64; the rest is in its score", text)
    assert re.search(r"This page shows bars 1 to \d+ of 63", made["64:63"].text)


def test_a_pack_reads_pairs_as_they_are_typed(tmp_path):
    """A pair such as "7:4" alone is at 72 bpm of home; with a tempo it is the pair, byte for byte."""
    typed = ["7:4", ("5 : 4", 90), {"what": "3:4:5", "tempo": 60, "home": 0}]
    made = handout_pack(typed, tmp_path / "pack")
    known = [handout((7, 4), 72), handout((5, 4), 90), handout((3, 4, 5), 60, home=0)]
    assert [path.read_bytes() for path in made] == [one.pdf for one in known]


@every
def test_a_cell_shows_what_is_on_a_handout_and_gives_it_out(made, name, tmp_path):
    """The picture of its first page with its words, the PDF by a link, and how it is kept beside the page."""
    one = made[name]
    shown = one._repr_html_()
    assert f'aria-label="{escape(one.picture.alt)}"' in shown
    assert escape(one.title) in shown
    ((data, file),) = re.findall(r'href="data:application/pdf;base64,([^"]*)" download="([^"]*)"', shown)
    assert base64.b64decode(data) == one.pdf
    (kept,) = re.findall(r'\.write\("([^"]*)"\)', shown)
    assert file == kept
    assert one.write(tmp_path / kept).read_bytes() == one.pdf

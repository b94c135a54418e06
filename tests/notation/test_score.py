"""Scores of named rhythms, note by note; what is printed, said and written; what is refused."""

from fractions import Fraction
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.notation import score as module
from rhythmlab.notation.score import score
from tests.refusals import refusal
from tests.strategies import TRIES


def notes(text: str, part: int = 0, voice: str = "1") -> list[list[str]]:
    """Return the notes of each bar: value, dot, tie, tuplet, accent; rests with an r, chords with a plus."""
    bars = []
    for bar in list(ElementTree.fromstring(text).iter("part"))[part].iter("measure"):
        row = []
        for note in bar.iter("note"):
            if note.findtext("voice") != voice:
                continue
            if note.find("chord") is not None:
                row[-1] += "+"
                continue
            name = note.findtext("type") or "bar"
            name += "." * len(note.findall("dot"))
            name += "~" * any(tie.get("type") == "start" for tie in note.findall("tie"))
            if (ratio := note.find("time-modification")) is not None:
                name += f" {ratio.findtext('actual-notes')}:{ratio.findtext('normal-notes')}"
            if note.find("notations/articulations/accent") is not None:
                name += " >"
            row.append(f"{'r ' * (note.find('rest') is not None)}{name}")
        bars.append(row)
    return bars


def times(text: str) -> list[str]:
    """Return every time signature of the first part."""
    part = next(ElementTree.fromstring(text).iter("part"))
    return [f"{time.findtext('beats')}/{time.findtext('beat-type')}" for time in part.iter("time")]


def lyrics(text: str, part: int = 0, line: str = "1") -> list[str]:
    """Return the words under the notes of a part."""
    found = list(ElementTree.fromstring(text).iter("part"))[part].iter("lyric")
    return [word.findtext("text") for word in found if word.get("number") == line]


def printed(text: str) -> str:
    """Return what stands above the first bar."""
    return ElementTree.fromstring(text).findtext(".//words")


FOUR_THREE = rl.Polyrhythm(4, 3)
SEVEN_FOUR = rl.Polyrhythm(7, 4)
SIXTEEN = rl.Polyrhythm(16, 15)
#: The words of a bar of sixteen sixteenths: four groups of "e & a" (counts.py), each opened by its own word.
SAID = ["1", "e", "&", "a"]
SAID += [f"{opens}{more}" for opens in ("TA", "KA", "DI") for more in ("", " e", " &", " a")]


@pytest.mark.parametrize(
    ("p", "home", "time", "first", "second"),
    [
        (FOUR_THREE, 1, "3/4", ["eighth."] * 4, ["quarter"] * 3),
        (FOUR_THREE, 0, "4/4", ["quarter"] * 4, ["half 3:2"] * 3),
        (rl.Polyrhythm(3, 2), 1, "2/4", ["quarter 3:2"] * 3, ["quarter"] * 2),
        (rl.Polyrhythm(5, 4), 1, "4/4", ["quarter 5:4"] * 5, ["quarter"] * 4),
        (SEVEN_FOUR, 1, "4/4", ["quarter 7:4"] * 7, ["quarter"] * 4),
        (
            SEVEN_FOUR,
            0,
            "7/4",
            ["quarter"] * 7,
            [
                "quarter~",
                "eighth.",
                "16th~",
                "quarter.",
                "eighth~",
                "quarter~",
                "16th",
                "eighth.~",
                "quarter",
            ],
        ),
    ],
)
def test_small_pairs_are_one_bar_from_either_home(p, home, time, first, second):
    """One bar of home's beats, a one-line staff for each pulse, a bracket only where the parts ask for it."""
    made = score(p, home=home)
    assert times(made.musicxml) == [time]
    assert notes(made.musicxml, 0) == [first]
    assert notes(made.musicxml, 1) == [second]
    assert made.musicxml.count("<staff-lines>1<") == 2


def test_three_pulses_have_three_staves():
    """3:4:5 from the 4: three halves in the time of two, quarters, five quarters in the time of four."""
    text = score(rl.Polyrhythm(3, 4, 5), home=1).musicxml
    assert [notes(text, i) for i in range(3)] == [
        [["half 3:2"] * 3],
        [["quarter"] * 4],
        [["quarter 5:4"] * 5],
    ]
    assert lyrics(text, 2) == ["1", "1 TA e", "2 TA", "3 &", "4 e"]


def test_sixteen_fifteen_from_the_fifteen_moves_one_sixteenth_earlier():
    """Fifteen 4/4 bars; the 16 on sixteenths 1 and 16 of bar 1, 15 of bar 2 … 2 of bar 15 (design.md)."""
    text = score(SIXTEEN, 60).musicxml
    assert times(text) == ["4/4"]
    rows = notes(text)
    assert len(rows) == 15
    assert rows[0] == ["quarter+", "r quarter", "r quarter", "r eighth.", "16th"]
    assert rows[1] == ["quarter", "r quarter", "r quarter", "r eighth", "eighth"]
    assert rows[7] == ["quarter", "r quarter", "quarter", "r quarter"]
    assert rows[14] == ["16th", "eighth.", "r quarter", "r half"]
    assert lyrics(text, line="2") == [
        "1",
        *(n for bar in range(1, 15) for n in (SAID[16 - bar], str(bar + 1))),
        "e",
    ]
    assert lyrics(text)[:4] == ["RL", "R", "L", "R"]


def test_fifteen_against_sixteen_moves_one_sixteenth_later():
    """Sixteen 15/16 bars; the 15 on sixteenths 1, 2 … 15, and none of it in the last bar (design.md)."""
    text = score(SIXTEEN, home=0).musicxml
    assert times(text) == ["15/16"]
    rows = notes(text)
    assert len(rows) == 16
    assert rows[0] == ["quarter+", "r quarter", "r quarter", "r eighth."]
    assert rows[14][-1] == "16th"
    assert rows[15] == ["quarter", "r quarter", "r quarter", "r eighth."]
    assert lyrics(text, line="2") == [
        "1",
        *(n for bar in range(2, 16) for n in (str(bar), SAID[bar - 1])),
        "16",
    ]


def test_the_full_grid_has_every_sixteenth_with_the_strokes_accented():
    """On request all 240 sixteenths are there, 16 of them full-sized with an accent, home under the line."""
    text = score(SIXTEEN, grid=True).musicxml
    upper = [note for bar in notes(text) for note in bar]
    assert len(upper) == 240
    assert sum(note.endswith(">") for note in upper) == 16
    assert text.count('size="cue"') == 224
    assert [bar[0] for bar in notes(text, voice="2")] == ["quarter"] * 15


def test_thirty_two_against_thirty_one_is_one_page_of_strokes():
    """Strokes only, the whole of 32:31 fits one page; with its grid it takes several."""
    p = rl.Polyrhythm(32, 31)
    assert score(p).pages == 1
    assert score(p, grid=True).pages > 1


@pytest.mark.parametrize(
    ("p", "home", "bars", "time"),
    [
        (rl.Polyrhythm(8, 7), 1, 7, "2/4"),
        (rl.Polyrhythm(8, 7), 0, 8, "7/16"),
        (rl.Polyrhythm(8, 5), 1, 5, "2/4"),
        (rl.Polyrhythm(8, 5), 0, 1, "8/4"),
        (rl.Polyrhythm(8, 3), 1, 1, "3/4"),
        (rl.Polyrhythm(16, 11), 1, 11, "4/4"),
        (rl.Polyrhythm(7, 6), 1, 1, "6/4"),
        (rl.Polyrhythm(32, 30), 1, 30, "4/4"),
    ],
)
def test_the_layout_follows_from_the_numbers(p, home, bars, time):
    """Near-equal pairs, large ones, and those made of tied thirty-seconds are bars of the home pulse."""
    text = score(p, home=home).musicxml
    assert len(notes(text)) == bars
    assert times(text) == [time]


def test_a_fill_is_ordinary_time_and_one_tuplet():
    """Three bars of time and seven quarters in the time of four over unbroken feet, the landing accented."""
    text = score(rl.playing.resolve((7, 4)), 120).musicxml
    assert notes(text)[0] == ["quarter >", "quarter+", "quarter", "quarter+"]
    assert notes(text)[1:] == [["quarter", "quarter+"] * 2] * 2 + [["quarter 7:4"] * 7]
    assert notes(text, voice="2") == [["quarter"] * 4] * 4
    assert lyrics(text) == list("LRLRLRL")
    assert text.count('tuplet type="start"') == text.count('tuplet type="stop"') == 1
    assert 'show-number="both"' in text


def test_accents_in_seven_move_through_the_groups():
    """Every five eighths in 2+2+3: the time signature has its groups, the rests show them."""
    text = score(rl.playing.accents("2+2+3/8", 5, filled=False), 210).musicxml
    assert times(text) == ["2+2+3/8"]
    assert notes(text) == [
        ["quarter", "r quarter", "r eighth", "quarter"],
        ["r quarter", "r eighth", "eighth", "r quarter."],
        ["r eighth", "eighth", "r quarter", "r quarter", "eighth"],
        ["r quarter", "r quarter", "quarter."],
        ["r quarter", "quarter", "r quarter."],
    ]
    assert notes(text, voice="2") == [["quarter", "quarter", "quarter."]] * 5
    assert printed(text) == "♪ = 210; 3 beats to the bar, 2+2+3"


def test_feet_that_play_between_the_hands_are_counted_on_a_line_of_their_own():
    """7:4 as a fill: the four beats of the feet stand under the places of the seven, each count once."""
    text = score(rl.playing.resolve((7, 4)), 120).musicxml
    assert lyrics(text, line="3")[-4:] == ["1", "2", "3", "4"]
    assert "1" not in lyrics(text, line="2")


def test_feet_that_play_with_the_hands_share_their_line():
    """A foot on every beat under eighths is counted with them, as 1 & 2 & are read."""
    text = score(rl.ostinato("x...", "x.x.x.x.", metre="4/4")).musicxml
    assert lyrics(text) == ["1", "&", "2", "&", "3", "&", "4", "&"]
    assert not lyrics(text, line="2")


@pytest.mark.parametrize(
    "made",
    [
        lambda: rl.playing.resolve((7, 4)),
        lambda: rl.playing.accents("2+2+3/8", 5),
        lambda: rl.phrases(14)[0].cycle(),
        lambda: rl.ostinato("x..x..x.", "son clave", metre="4/4"),
    ],
)
def test_a_drum_staff_has_a_key(made):
    """Each lane's line or space is said over the first line of notes, in the MusicXML and in the words."""
    cycle = made()
    one = score(cycle, 90)
    root = ElementTree.fromstring(one.musicxml)
    assert root.findtext("credit/credit-words") == one.key
    shown = " ".join(
        row.text for row in ElementTree.fromstring(one.svg()).iter() if row.get("class") == "key"
    )
    assert shown == one.key
    places = {
        int(note.find("instrument").get("id").split("-I")[1]) - 1: note.find("unpitched")
        for note in root.iter("note")
        if note.find("unpitched") is not None
    }
    for number, place in places.items():
        where = STAFF[place.findtext("display-step") + place.findtext("display-octave")]
        assert f"{cycle.lanes[number].name}" in one.key
        assert where in one.key
        assert where in one.alt


#: Lines and spaces of a staff in treble reading: any primer of notation.
STAFF = {
    "D4": "the space below the staff",
    "F4": "the first space",
    "A4": "the second space",
    "B4": "the middle line",
    "C5": "the third space",
    "D5": "the fourth line",
    "E5": "the top space",
    "F5": "the top line",
    "G5": "the space above the staff",
    "A5": "the first ledger line above",
}


def test_pulses_on_lines_of_their_own_need_no_key():
    """Each staff has the name of its pulse in front; a key says how a beat is counted, where that is long."""
    made = score((4, 3))
    assert made.key == ""
    assert "credit" not in made.musicxml
    assert score(SEVEN_FOUR).key == "A beat in 7 parts: say 1 e & a TA e &"
    assert score(SEVEN_FOUR, counts=False).key == ""


def test_a_moving_accent_is_written_as_strokes_with_accents_and_sticking():
    """Every five eighths in 2+2+3: all eighths stand there, the sign on every fifth, R or L under each."""
    made = rl.playing.accents("2+2+3/8", 5)
    text = score(made, 210, counts=False).musicxml
    signs = [" >" if tick % 5 == 0 else "" for tick in range(35)]
    written = [f"eighth{sign}" for sign in signs]
    assert notes(text) == [written[7 * bar : 7 * bar + 7] for bar in range(5)]
    assert notes(text, voice="2") == [["quarter", "quarter", "quarter."]] * 5
    assert lyrics(text) == list("RLRRL" * 7)
    assert printed(text) == "♪ = 210; 3 beats to the bar, 2+2+3"
    assert "accents bar 1: 1" in score(made).alt


def test_a_clave_over_feet():
    """The son clave in 4/4 reads as ever: dotted eighth, sixteenth, two offbeats, a quarter."""
    text = score(rl.ostinato("x...", "son clave", metre="4/4"), 100).musicxml
    assert notes(text) == [["eighth.", "16th", "r eighth", "eighth", "r eighth", "eighth", "quarter"]]
    assert lyrics(text) == ["1", "a", "&", "&", "4", "2", "3"]
    heads = [row.text for row in ElementTree.fromstring(text).iter("notehead")]
    assert heads == ["diamond"] * 5 + ["normal"] * 4


@TRIES
@given(st.text("x.", min_size=16, max_size=16).filter(lambda text: "x" in text))
def test_the_first_word_of_each_beat_carries_its_number(text):
    """Also where nothing is played on the beat: "2&", and never an "&" of which nobody knows the beat."""
    ticks = [tick for tick, sign in enumerate(text) if sign == "x"]
    words = lyrics(score(rl.pattern(text, metre="4/4"), 100).musicxml)
    assert len(words) == len(ticks)
    for before, tick, word in zip([-1, *ticks], ticks, words, strict=False):
        beat, part = divmod(tick, 4)
        first = before // 4 < beat
        number, said = ("1234"[beat] if first else ""), ("", "e", "&", "a")[part]
        assert word == f"{number}{said}"


def test_a_phrase_is_beamed_by_its_groups():
    """31 as sevens fours and a three is one bar of 31/16; group starts are accented, each beam is a group."""
    text = score(rl.phrases(31)[0].cycle(), 96).musicxml
    assert times(text) == ["31/16"]
    beams = [row.text for row in ElementTree.fromstring(text).iter("beam") if row.get("number") == "1"]
    assert beams == (["begin", "continue", "continue", "end"] * 7) + ["begin", "continue", "end"]
    assert [note.endswith(">") for note in notes(text)[0]] == ([True, False, False, False] * 8)[:31]
    # Counting in sixteenths, three left over: common practice, no source.
    words = [word for group in range(1, 9) for word in (str(group), "e", "&", "a")]
    assert lyrics(text) == words[:31]


def test_a_long_phrase_is_cut_between_groups_by_dashed_lines():
    """61 strokes take several bars, none through a group, and the lines between them are dashed."""
    text = score(rl.phrases(61)[0].cycle()).musicxml
    assert text.count("<bar-style>dashed<") == len(notes(text)) - 1 > 0
    assert sum(map(len, notes(text))) == 61


def test_ghosts_are_in_parentheses_and_feet_point_down():
    """Ghost notes, accents, x heads, stems."""
    lanes = [
        rl.Lane("snare", [1, 4], "left hand", "snare", accents=[4], ghosts=[1]),
        rl.Lane("pedal", [2], "left foot", "closed hi-hat"),
    ]
    text = score(rl.metre("4/4").cycle(1, lanes)).musicxml
    root = ElementTree.fromstring(text)
    ghosts = [
        note.findtext("unpitched/display-step")
        for note in root.iter("note")
        if note.find("notehead[@parentheses]") is not None
    ]
    assert ghosts == ["C"]
    stems = {
        note.findtext("unpitched/display-step"): note.findtext("stem")
        for note in root.iter("note")
        if note.find("stem") is not None
    }
    assert stems == {"C": "up", "D": "down"}


@pytest.mark.parametrize(
    ("made", "expected"),
    [
        (lambda: score(SEVEN_FOUR, rl.Tempo(72, pulse=1)), "♩ = 72 is the beat of the 4"),
        (lambda: score(SEVEN_FOUR, rl.Tempo(72, pulse=1), home=0), "♩ = 126 is the beat of the 7"),
        (lambda: score(SEVEN_FOUR, 72), "♩ = 72 is the beat of the 4"),
        (lambda: score(SEVEN_FOUR), "♩ is the beat of the 4"),
        (lambda: score(rl.Polyrhythm(3, 2), metre="6/8"), "♩. is the beat of the 2"),
        (lambda: score(SIXTEEN, 60), "♩ = 240: each bar is one beat of the 15, 60 a minute"),
        (lambda: score(SIXTEEN), "Each bar is one beat of the 15, 16 sixteenths"),
        (lambda: score(rl.playing.ready_patterns()["bell_12_8"], 100), "♩. = 100 is the beat"),
        (lambda: score(rl.playing.accents("4/4", 3), 90), "♩ = 90 is the beat"),
        (lambda: score(rl.playing.accents("5+5/8", 3), 90), "♪ = 90; 2 beats to the bar, 5+5"),
        (lambda: score(rl.playing.accents("3+2/8", 3)), "♪; 2 beats to the bar, 3+2"),
        (lambda: score(rl.phrases(31)[0].cycle(), 96), "♩ = 96; each beam is a group"),
    ],
)
def test_the_note_of_the_tempo_is_always_printed(made, expected):
    """What note the tempo belongs to stands above the first bar, as text and not as a metronome mark."""
    text = made().musicxml
    assert printed(text) == expected
    assert "metronome" not in text


def test_another_metre_can_be_asked_for():
    """3:2 in 6/8 is three quarters against two dotted ones; 16:15 in groups of five; 7:4 in two bars."""
    text = score(rl.Polyrhythm(3, 2), metre="6/8").musicxml
    assert notes(text, 0) == [["quarter"] * 3]
    assert notes(text, 1) == [["quarter."] * 2]
    assert times(score(SIXTEEN, home=0, metre="5+5+5/16").musicxml) == ["5+5+5/16"]
    assert len(notes(score(SEVEN_FOUR, metre="2/4").musicxml)) == 2
    assert times(score(rl.playing.accents("4/4", 5), metre="2/4").musicxml) == ["2/4"]


def test_counts_and_hands_can_be_left_out():
    """Without counts and hands nothing stands under the notes."""
    assert "<lyric" not in score(SEVEN_FOUR, counts=False).musicxml
    assert "<lyric" not in score(SIXTEEN, counts=False, hands=False).musicxml
    split = rl.playing.split(FOUR_THREE)
    assert lyrics(score(split, counts=False).musicxml) == ["R"] * 4
    assert lyrics(score(split, hands=False).musicxml) == ["1", "1 a", "2 &", "3 e"]


def test_the_score_says_what_it_shows():
    """Staff, bars, and where the strokes fall, in words."""
    assert score(SEVEN_FOUR).alt == (
        "7 against 4 written from the 4 on 2 one-line staves, one bar of 4/4. Counted from the 4, the 7 "
        "falls on 1, ta of 1, e of 2, ta e of 2, & of 3, ta & of 3, a of 4."
    )
    assert "bar 2: & of 2" in score(rl.playing.accents("2+2+3/8", 5)).alt
    assert "1 and 16 of bar 1, 15 of bar 2" in score(SIXTEEN).alt


def test_in_a_notebook_it_is_a_picture_with_words():
    """All pages, one image for a screen reader, markup in the title harmless."""
    html = score(SEVEN_FOUR, 72, title="<script>7 & 4</script>")._repr_html_()
    assert html.count("<svg") == 1
    assert 'role="img" aria-label="7 against 4 written from the 4' in html
    assert "<script>" not in html
    assert "&lt;script&gt;7 &amp; 4" in html


@pytest.mark.parametrize("fault", [ImportError("no verovio"), ValueError("broken"), RuntimeError("odd")])
def test_without_an_engraver_the_strip_is_drawn_and_it_says_so(monkeypatch, fault):
    """Missing or failing, the picture falls back to the strokes on their grid; the MusicXML is there."""

    def broken(*args, **named):
        raise fault

    monkeypatch.setattr(module, "engrave", broken)
    made = score(SEVEN_FOUR, 72)
    html = made._repr_html_()
    assert "engraver is not at hand" in html
    assert html.count("data-tick=") == 11
    assert made.musicxml.startswith("<?xml")
    assert ">TA a<" in score(SEVEN_FOUR, groups="3+4")._repr_html_()
    assert ">TA a<" not in html
    with pytest.raises(type(fault)):
        made.svg()
    long = score(rl.Polyrhythm(3, 1_000_000_007), start=0, stop=30)
    assert "engraver is not at hand" in long._repr_html_()


def test_it_is_written_and_never_over_another_file(tmp_path):
    """MusicXML and SVG by their ending; a file that is there stays."""
    made = score(FOUR_THREE, 90)
    assert made.write(tmp_path / "four.musicxml").read_text() == made.musicxml
    assert made.write(tmp_path / "four.svg").read_text() == made.svg()
    with pytest.raises(FileExistsError):
        made.write(tmp_path / "four.svg")
    with pytest.raises(ValueError, match="does not end in"):
        made.write(tmp_path / "four.pdf")
    with pytest.raises(IndexError):
        made.write(tmp_path / "five.svg", page=0)
    pages = score(rl.Polyrhythm(32, 31), grid=True)
    with pytest.raises(ValueError, match=r"one of \d pages"):
        pages.write(tmp_path / "long.svg")
    assert pages.write(tmp_path / "long.svg", page=2).read_text() == pages.svg(2)


def test_pages_are_numbered_from_one():
    """There is no page 0 and none after the last."""
    made = score(FOUR_THREE)
    assert made.pages == 1
    for page in (0, 2, 10**6):
        with pytest.raises(IndexError):
            made.svg(page)
    for page in (-1, 1.5, "1", None):
        with pytest.raises(ValueError, match="page"):
            made.svg(page)


@pytest.mark.parametrize(
    "title", ["<b>&amp;\"'", "拍子 לוּחַ", "x" * 100_000, "a\x00b\x1b[31m\n\r\tc", "\ud800 lone", "]]>", ""]
)
def test_hostile_titles_are_printed_harmlessly(title):
    """Markup, control characters, other scripts and great length leave one line of well-formed text."""
    made = score(FOUR_THREE, title=title)
    ElementTree.fromstring(made.musicxml)
    page = made.svg()
    ElementTree.fromstring(page)
    assert len(made.title) <= 120
    assert "\n" not in made.title
    assert "\x00" not in page


HUGE = rl.Polyrhythm(1_000_000_007, 1_000_000_006)


@pytest.mark.parametrize(
    ("call", "given_", "wrong"),
    [
        (lambda: score("4:3"), "'4:3'", "is no rhythm: "),
        (lambda: score(FOUR_THREE, layout="page"), "'page'", "none of auto, bar, bars"),
        (lambda: score(FOUR_THREE, -3), "-3", "not a finite number above 0"),
        (lambda: score(FOUR_THREE, title=4), "title=4", "is not text"),
        (lambda: score(FOUR_THREE, layout="bar", grid=True), "grid=True", "bars of the home pulse"),
        (lambda: score(rl.Polyrhythm(3, 4, 5), grid=True), "3 lanes", "two pulses"),
        (lambda: score(rl.playing.accents("4/4", 5), grid=True), "grid=True", "its own bars"),
        (lambda: score(HUGE), "1000000007 against 1000000006", "more than the 64 sixteenths"),
        (lambda: score(HUGE, layout="bar"), "1,000,000,006 beats", "more than 32"),
        (lambda: score(rl.Polyrhythm(3, 1000)), "250 bars", "more than the 128"),
        (lambda: score(rl.Polyrhythm(64, 63), grid=True), "63 bars", "more than the 62"),
    ],
)
def test_what_cannot_be_written_is_refused_with_a_way_that_works(call, given_, wrong):
    """The message says what was given, what is wrong, and a call that works."""
    example = refusal(call, given_, wrong)
    assert eval(example, {"score": score, "Polyrhythm": rl.Polyrhythm}).musicxml


@pytest.mark.parametrize(
    ("what", "named", "given_", "wrong"),
    [
        (FOUR_THREE, {"metre": "4/4"}, "metre=4/4", "does not hold 3 beats"),
        (SIXTEEN, {"metre": "5/4"}, "metre=5/4", "does not hold the 16 sixteenths"),
        (rl.playing.accents("4/4", 5), {"metre": "7/8"}, "14 ticks", "do not fill the 80 ticks"),
        (rl.playing.accents("4/4", 5), {"layout": "bars"}, "bars", "its own bars"),
        (rl.playing.accents("4/4", 17, bars=300), {}, "300 bars", "too many for one score"),
        (FOUR_THREE, {"start": 5, "stop": 5}, "start=5, stop=5", "empty window"),
        (FOUR_THREE, {"start": 5, "stop": 50}, "stop=50", "not a window"),
    ],
)
def test_options_that_do_not_fit_are_refused(what, named, given_, wrong):
    """The example in the message is an option that works for the same rhythm."""
    example = refusal(lambda: score(what, **named), given_, wrong)
    assert score(what, **eval(f"dict({example})")).musicxml


@pytest.mark.parametrize("home", [2, 10**9])
def test_a_home_that_is_not_there_is_refused(home):
    """As for everything else that has a home."""
    assert refusal(lambda: score(FOUR_THREE, home=home), f"home={home}", "out of range", IndexError)


def test_a_home_of_a_cycle_is_an_even_lane():
    """A lane that is not evenly spaced is no home, and a groove has its own beats."""
    assert times(score(rl.playing.split(FOUR_THREE), home=0).musicxml) == ["4/4"]
    refusal(lambda: score(rl.playing.hand_to_hand(SEVEN_FOUR), home=0), "home=0", "not evenly spaced")
    refusal(lambda: score(rl.playing.accents("4/4", 5), home=0), "home=0", "its own beats")


def test_sounds_that_have_no_place_on_the_staff_are_named():
    """A sound that is unknown is refused by name."""
    cycle = rl.Cycle(5, [rl.Lane("a", [0], sound="gong")], beats=[0, 2])
    refusal(lambda: score(cycle), "'gong'", "is none of")


def test_a_place_without_a_readable_value_is_refused():
    """A stroke on the 997th part of a beat has no notation."""
    cycle = rl.Cycle(4 * 997, [rl.Lane("a", [1])], beats=[0, 997, 1994, 2991])
    refusal(lambda: score(cycle), "997", "no readable notation")


def test_lanes_that_share_a_place_are_moved_apart():
    """Two lanes of one sound that play at once stand at two places, so that each can be read."""
    cycle = rl.Cycle(8, [rl.Lane("a", [0, 1]), rl.Lane("b", [0, 2])], beats=[0, 3])
    root = ElementTree.fromstring(score(cycle).musicxml)
    places = {
        note.find("instrument").get("id"): note.findtext("unpitched/display-step")
        for note in root.iter("note")
        if note.find("instrument") is not None
    }
    assert len(set(places.values())) == 2


def test_a_drum_has_one_place_whatever_lane_plays_it():
    """A tom that fills and lands is one tom on paper: one place, and one entry in the key."""
    lanes = [rl.Lane("fill", [5, 6, 7], sound="hand drum"), rl.Lane("landing", [0], sound="hand drum")]
    made = score(rl.metre("4/4").cycle(1, lanes))
    root = ElementTree.fromstring(made.musicxml)
    assert len({note.findtext("display-step") for note in root.iter("unpitched")}) == 1
    assert made.key == "Key: fill and landing (hand drum), on the fourth line"


def test_even_beats_longer_than_a_bar_go_on_in_bars():
    """Three pulses too large for one bar are bars of a few beats, tuplets inside the beats."""
    text = score(rl.Polyrhythm(16, 15, 14), home=1).musicxml
    assert len(notes(text)) == 5
    assert sum(len(bar) for bar in notes(text, 1)) == 15
    assert Fraction(sum(name.startswith("r ") for bar in notes(text, 1) for name in bar)) == 0

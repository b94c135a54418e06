"""What each page's panel says under its picture, recomputed; the same facts in words and in pictures."""

import inspect
import re
from fractions import Fraction
from itertools import permutations
from math import gcd, lcm

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.draw.pictures import spoken
from rhythmlab.panels.pages_00_to_04 import FIRST
from rhythmlab.panels.panel import VIEWS
from rhythmlab.text.counts import aloud
from tests import brute
from tests.draw import painted
from tests.profile import tries

FEW = settings(max_examples=tries(40), deadline=None)
PAGES = {
    "two_numbers": ((7, 4), 72, "heard line"),
    "find_grid": ((3, 2), 72, "shared grid"),
    "merge_pulses": ((4, 3), 72, "heard line"),
    "choose_home": ((7, 4), 72, "heard line"),
    "follow_gaps": ((16, 15), 100, "gap cycle"),
}
pages = pytest.mark.parametrize("name", PAGES)
numbers = st.integers(1, 20)


def said(panel, home: int = 1) -> list[str]:
    """Return the sentences under the picture of a home."""
    return panel.stage.pictures[home]["said"]


def how(home: int, other: int) -> str:
    """Return what is added to a count: how a beat is said, where there are five parts or more."""
    parts = lcm(home, other) // home
    return f" (say {aloud(1, parts)})" if parts >= 5 else ""


def alt(panel, home: int = 1) -> str:
    """Return the words of the picture of a home."""
    return painted.parse(panel.stage.pictures[home]["svg"]).get("aria-label")


@pages
def test_a_page_without_numbers_starts_with_its_own(name):
    """Pulses, tempo, home and view are those of the page; numbers given are used instead."""
    pulses, bpm, view = PAGES[name]
    panel = getattr(rl.pages, name)()
    assert panel.feel == rl.Feel(rl.Polyrhythm(*pulses))
    assert (panel.tempo, panel._view.value) == (rl.Tempo(bpm, pulse=1), view)
    assert panel._view.options[0] == view
    other = getattr(rl.pages, name)(5, 3, bpm=Fraction(181, 2), home=0)
    assert other.feel == rl.Feel(rl.Polyrhythm(5, 3), 0)
    assert other.tempo == rl.Tempo(Fraction(181, 2), pulse=0)
    assert other._bpm.value == "90.5"
    same = getattr(rl.pages, name)([5, 3], bpm=rl.Tempo(Fraction(181, 2), pulse=0), home=0)
    assert (same.feel, same.tempo) == (other.feel, other.tempo)
    assert getattr(rl.pages, name)(rl.Feel((5, 3), 0).cycle()).feel == other.feel


@pages
@pytest.mark.parametrize("word", ["tempo", "bmp", "pulses", "view", "layout", "numbers"])
def test_an_unknown_keyword_is_refused_by_name(name, word):
    """A slip of the pen is an error that names it, never ignored."""
    with pytest.raises(rl.Refusal, match=f"has no argument '{word}'"):
        getattr(rl.pages, name)(7, 4, **{word: 72})


@pages
@pytest.mark.parametrize(
    ("given_", "error", "message"),
    [
        ({"args": (7,)}, ValueError, "has 1 pulse"),
        ({"args": (7, 0)}, ValueError, "pulse=0 is not a whole number"),
        ({"args": (7, -4)}, ValueError, "pulse=-4 is not a whole number"),
        ({"args": (7, 2.0)}, ValueError, r"pulse=2\.0 is not a whole number"),
        ({"args": ("7", 4)}, ValueError, "pulse='7' is not a whole number"),
        ({"args": (True, 4)}, ValueError, "pulse=True is not a whole number"),
        ({"args": (None, 4)}, ValueError, "pulse=None is not a whole number"),
        ({"args": ("7:4",)}, ValueError, "is no rhythm"),
        ({"args": (10**30, 3)}, ValueError, r"2\*\*62"),
        ({"args": (30000, 7)}, ValueError, "that a panel draws"),
        ({"args": (2, 3, 4, 5, 7)}, ValueError, "fields for 4"),
        ({"bpm": 0}, ValueError, "bpm=0 is not a finite number above 0"),
        ({"bpm": -72}, ValueError, "bpm=-72 is not a finite number above 0"),
        ({"bpm": float("nan")}, ValueError, "bpm=nan is not a finite number above 0"),
        ({"bpm": float("inf")}, ValueError, "bpm=inf is not a finite number above 0"),
        ({"bpm": "72"}, ValueError, "bpm='72' is neither a Tempo nor beats a minute of home"),
        ({"home": 2}, IndexError, "home=2 is out of range"),
        ({"home": -1}, ValueError, "home=-1 is not a whole number"),
        ({"home": "the 4"}, ValueError, "home='the 4' is not a whole number"),
    ],
)
def test_numbers_that_make_no_rhythm_are_refused_where_they_are_given(name, given_, error, message):
    """What was given, what is wrong, an example; the cell fails, and no half panel is shown."""
    rest = {key: value for key, value in given_.items() if key != "args"}
    with pytest.raises(error, match=message) as caught:
        getattr(rl.pages, name)(*given_.get("args", (7, 4)), **rest)
    assert "for example" in str(caught.value)


@pages
def test_running_a_cell_twice_gives_the_same_page(name):
    """Also after the first panel was played with: nothing is kept from one to the next."""
    first = getattr(rl.pages, name)()
    pictures = first.stage.pictures
    first._pulses.fields[0].value = "9"
    first.stage.home = 0
    first._bpm.value = "200"
    assert getattr(rl.pages, name)().stage.pictures == pictures


def test_cells_may_be_run_in_any_order():
    """Each page gives the same pictures and sentences whatever ran before it."""
    alone = {name: getattr(rl.pages, name)().stage.pictures for name in PAGES}
    for order in list(permutations(PAGES))[::17]:
        for name in order:
            assert getattr(rl.pages, name)().stage.pictures == alone[name]


@pages
@FEW
@given(p=numbers, q=numbers, bpm=st.integers(20, 300), view=st.sampled_from(list(VIEWS)))
def test_words_and_pictures_hold_the_same_facts(name, p, q, bpm, view):
    """Intervals, places, zones and tempos under a picture are those of its text alternative."""
    panel = getattr(rl.pages, name)(p, q, bpm=bpm)
    panel._view.value = view
    assert panel.line.text == panel.stage.notice == ""
    for home in (0, 1):
        text, words = " ".join(said(panel, home)), alt(panel, home)
        strokes = painted.strokes(painted.parse(panel.stage.pictures[home]["svg"]))
        copies = 2 if view == "every home" else 1
        assert len(strokes) == copies * (p + q)
        line = re.search(r"from sound to sound: ([\d …]+)\.", text)
        drawn = re.search(r"sound to sound are ([\d …]+)[;.]", words)
        if line and drawn:
            assert line[1] == drawn[1]
        counted = re.search(r"Counted from [^,]+, [^.]*?falls on (.*?)\.(?: |$)", text)
        placed = re.search(r"falls on (.*?)\.$", words)
        if counted and placed and view == "heard line":
            assert counted[1] == placed[1] + how((p, q)[home], (q, p)[home])
        plays = re.search(r" plays: [^.]*\.", text)
        assert bool(plays) == (name == "follow_gaps")
        if plays and view == "gap cycle":
            assert plays[0] in words
            assert ("already open" in text) == ("already open" in words)
            assert ("midway, on" in text) == ("midway, on" in words)
        if "bpm" in words and view == "every home":
            tempos = re.findall(r"at ([\d.\N{NO-BREAK SPACE}]+) bpm", words)
            exact = [Fraction(bpm * n, q) for n in (p, q)]
            assert [float(t.replace("\N{NO-BREAK SPACE}", "")) for t in tempos] == pytest.approx(
                [float(e) for e in exact], abs=0.006
            )
        assert all(
            sentence[-1] in ".?" and (sentence[0].isupper() or sentence[0].isdigit())
            for sentence in said(panel, home)
        )


@FEW
@given(p=numbers, q=numbers, bpm=st.integers(20, 300))
def test_page_00_says_home_count_and_line(p, q, bpm):
    """Home with its tempo, where the other falls, and the line in ticks."""
    panel = rl.pages.two_numbers(p, q, bpm=bpm)
    home, count, line, *rest = said(panel)
    name = f"the {q}" if p != q else f"the second {q}"
    beats = "1" if q == 1 else f"1 to {q}"
    assert home == f"Home is {name} at {bpm} bpm: the count {beats} is the beat you tap your foot to."
    places = brute.said(q, p)
    shown = ", ".join(places) if len(places) <= 16 else f"{', '.join(places[:8])} … {', '.join(places[-8:])}"
    assert count.endswith(f"falls on {shown}{how(q, p)}.")
    onsets, _ = brute.merged(brute.strokes(rl.Polyrhythm(p, q)))
    assert line.startswith(
        f"Heard as one line, in ticks from sound to sound: {brute.intervals(onsets, lcm(p, q))[0]}"
    )
    assert bool(rest) == (gcd(p, q) > 1 or min(p, q) == 1)


@FEW
@given(pulses=st.lists(numbers, min_size=2, max_size=4))
def test_page_01_says_the_grid_and_each_step(pulses):
    """Ticks are the least number that all divide; each pulse has its own step on them."""
    ticks = lcm(*pulses)
    panel = rl.pages.find_grid(*pulses)
    first = said(panel, len(pulses) - 1)[0]
    assert first.startswith(f"The grid has {ticks:,} tick".replace(",", "\N{NO-BREAK SPACE}"))
    steps = [
        int(n.replace("\N{NO-BREAK SPACE}", ""))
        for n in re.findall(r"every ([\d\N{NO-BREAK SPACE}]+)", first)
    ]
    assert steps == [ticks // pulse for pulse in pulses]
    meet = ticks // gcd(*pulses)
    assert f"every {meet:,} tick".replace(",", "\N{NO-BREAK SPACE}") in said(panel, len(pulses) - 1)[1]


@FEW
@given(pulses=st.lists(numbers, min_size=2, max_size=4))
@example(pulses=[10, 7])
@example(pulses=[11, 7])
def test_page_02_counts_sounds_by_what_is_shared(pulses):
    """Strokes less those that fall on another are the sounds, counted in a set."""
    panel = rl.pages.merge_pulses(*pulses)
    sentences = said(panel, len(pulses) - 1)
    sounds = len(set().union(*brute.strokes(rl.Polyrhythm(*pulses))))
    total = " + ".join(map(str, pulses))
    word = "sound" if sounds == 1 else "sounds"
    assert sentences[1] == f"{total} strokes less {sum(pulses) - sounds} shared make {sounds} {word}."
    clap = [sentence for sentence in sentences if sentence.startswith("Clap it: ")]
    assert bool(clap) == (len(pulses) == 2 and sounds <= 16)
    if clap:
        assert len(clap[0].split(", ")) == sounds


def test_page_03_says_both_tempos_the_pull_and_the_pivot():
    """7:4 at 72 on the 4: 126 on the 7, in the band, sevenths too fast, and the pivot from either home."""
    panel = rl.pages.choose_home(7, 4, bpm=72)
    four, seven = " ".join(said(panel, 1)), " ".join(said(panel, 0))
    assert "72 bpm of the 4 is 126 bpm of the 7." in four
    assert "126 bpm of the 7 is 72 bpm of the 4." in seven
    uneven = "hard at this tempo: uneven groups of parts can be counted from about 167 ms."
    assert f"7 parts to a beat, 119 ms each, {uneven}" in four
    assert "e of 6." in seven
    assert "(say" not in seven
    assert "ta & of 3, a of 4 (say 1 e & a TA e &)." in four
    assert "4 parts to a beat, 119 ms each." in seven
    assert "changes over (about 65 to 91 bpm of the 4)" in four
    fast = " ".join(said(rl.pages.choose_home(7, 4, bpm=200, home=0), 0))
    even = "hard at this tempo: parts can be followed from about 100 ms."
    assert f"4 parts to a beat, 75 ms each, {even}" in fast  # 60000 / 200 / 4
    assert "hard at this tempo" not in seven
    assert "72 bpm becomes 126." in four
    assert "126 bpm becomes 72." in seven
    assert not [text for text in (four, seven) if "felt as a beat" in text]
    assert "faster than any pulse felt as a beat" in " ".join(said(rl.pages.choose_home(7, 4, bpm=301)))
    three = " ".join(said(rl.pages.choose_home(3, 4, 5, home=1), 1))
    assert "pivot" not in three
    assert "72 bpm of the 4 is 54 bpm of the 3 and 90 bpm of the 5." in three


def test_page_04_says_zones_drift_midway_landmarks_and_meeting():
    """16:15 at 100: one tick 37.5 ms, earlier at each beat, & of 8, three landmarks, nine seconds."""
    panel = rl.pages.follow_gaps(16, 15, bpm=100)
    fifteen, sixteen = " ".join(said(panel, 1)), " ".join(said(panel, 0))
    for piece in (
        "one tick is 37.5 ms and the 16 plays: 1 together, 1 flam before, 1 open flam before, 4 apart before",
        "The 16 comes one tick earlier at each beat of the 15 and leads the flam until the middle",
        "exactly midway, on the & of 8",
        "a of 4, & of 8, e of 12",
        "The pulses meet every 9 seconds",
        "Around 1 against 1: one step of the 16 is 1 tick shorter than one of the 15",
    ):
        assert piece in fifteen
    assert "The 15 comes one tick later at each beat of the 16" in sixteen
    assert "Beat 16 holds none of its strokes" in sixteen
    slow = " ".join(said(rl.pages.follow_gaps(16, 15, bpm=60)))
    assert (
        "The pair is already open: the narrowest gap is 62.5 ms, and it flams only from 94 bpm of the 15"
        in slow
    )
    assert "Around 3 against 2: three steps of the 16 are 1 tick longer" in " ".join(
        said(rl.pages.follow_gaps(16, 11))
    )


@pytest.mark.parametrize("pulses", [(3, 2), (2, 3), (2, 1), (1, 2), (6, 4), (3, 4)])
def test_page_04_names_no_leader_where_nothing_flams(pulses):
    """With three ticks or less from beat to beat all strokes are together or alternate, so nobody leads."""
    p = rl.Polyrhythm(*pulses)
    assert lcm(*pulses) // pulses[1] <= 3
    assert rl.drift(p, 0, 1).leads == ()
    text = " ".join(said(rl.pages.follow_gaps(*pulses, bpm=100)))
    zones = {brute.zone(gap, p.step(1), Fraction(600, p.step(1)))[0] for gap in brute.gaps(p, 0, 1)}
    assert zones <= {"together", "alternating"}
    assert "flam" not in text.partition(" plays: ")[2].partition(".")[0]
    assert "leads" not in text


def test_page_04_takes_a_flam_limit_of_the_readers_own():
    """With 30 ms the same tempo is already open, in words and on the bands; what is no number is refused."""
    panel = rl.pages.follow_gaps(16, 15, bpm=100, flam=30)
    assert "The pair is already open: the narrowest gap is 37.5 ms" in said(panel)[0]
    assert "The pair is already open: the narrowest gap is 37.5 ms" in alt(panel)
    assert "flams only from 125 bpm" in alt(panel)
    for wrong in (0, -1, "30", float("nan"), True):
        with pytest.raises(ValueError, match=r"limit flam=.* is not a finite number above 0"):
            rl.pages.follow_gaps(16, 15, flam=wrong)


@pages
@pytest.mark.parametrize("pulses", [(12, 8), (7, 7), (1, 5), (5, 1), (8, 4)])
def test_pairs_that_teach_nothing_new_are_said_on_every_page(name, pulses):
    """From either home the honest answer is there, with a neighbour to try, once."""
    panel = getattr(rl.pages, name)(*pulses)
    for home in (0, 1):
        assert sum(": try " in sentence for sentence in said(panel, home)) == 1
        tries = [s.rpartition(": ")[2] for s in said(panel, home) if ": try " in s]
        if pulses == (12, 8):
            assert tries == ["try 3 against 2 itself."]
        else:
            assert "itself" not in tries[0]
    assert not [s for s in said(getattr(rl.pages, name)(7, 4)) if ": try " in s]


def test_the_first_rhythms_are_said_and_clapped_before_any_numbers():
    """1:1, 2:1, 3:1, then 3:2, 4:3 and 5:4, in this order; words, strokes and picture follow the choice."""
    panel = rl.pages.first_rhythms()
    assert FIRST == ((1, 1), (2, 1), (3, 1), (3, 2), (4, 3), (5, 4))
    assert list(panel._choice.options) == [f"{p} against {q}" for p, q in FIRST]
    words = {}
    for (p, q), option in zip(FIRST, panel._choice.options, strict=True):
        panel._choice.value = option
        (picture,) = panel.stage.pictures
        drawn = painted.strokes(painted.parse(picture["svg"]))
        assert [(lane, tick) for tick, lane, *_ in drawn] == [
            (lane, tick) for lane, row in enumerate(brute.strokes(rl.Polyrhythm(p, q))) for tick in row
        ]
        words[option] = picture["said"][0]
        assert (picture["home"], picture["bpm"]) == ("", 0)  # one home, no tempo yet
        assert picture["said"][0].removeprefix("Say it, then clap it: ") in painted.parse(picture["svg"]).get(
            "aria-label"
        )
    assert words["1 against 1"] == "Say it, then clap it: together."
    assert words["3 against 2"] == "Say it, then clap it: together, right, left, right."
    assert words["4 against 3"] == "Say it, then clap it: together, right, left, right, left, right."
    assert panel.stage.bpm_range == []
    assert panel._choice.description == "clap"


@pytest.mark.parametrize("pair", FIRST, ids=str)
def test_a_first_rhythm_is_saved_as_it_is_clapped(pair, tmp_path, monkeypatch):
    """What is saved has the numbers, the slow tempo and the picture of the panel; its form is in the card."""
    monkeypatch.chdir(tmp_path)
    panel = rl.pages.first_rhythms()
    panel._choice.value = f"{pair[0]} against {pair[1]}"
    shown = panel._content()
    assert (shown.what, shown.title) == (rl.Polyrhythm(*pair), f"{pair[0]} against {pair[1]}")
    assert float(shown.tempo.cycle_seconds(shown.what)) == panel.stage.plan["cycle_s"]
    assert shown.scene == spoken(shown.what)
    assert "save" not in panel.stage.parts
    panel.stage._pressed({"pressed": "save"})
    assert panel.stage.parts["save"]["fields"][0] is panel.export._kind
    panel.export._kind.value = "handout (PDF)"
    panel.export._save.click()
    assert [path.suffix for path in tmp_path.iterdir()] == [".pdf"]


@pages
def test_help_says_what_goes_in(name):
    """Every parameter of a page function is in its docstring, with the tempo's unit."""
    function = getattr(rl.pages, name)
    for parameter in inspect.signature(function).parameters:
        assert f"{parameter} : " in function.__doc__
    assert "Beats a minute" in function.__doc__


@pytest.mark.parametrize("page", ["merge_pulses", "wall", "two_numbers", "write_down"])
def test_a_sentence_that_is_given_is_said(page):
    """Every page that shows a pair shows the sentence laid on it, with its stresses, and saves it."""
    given = rl.playing.sentence((3, 2), "*hear the *har-bour")
    panel = getattr(rl.pages, page)(given)
    shown = panel.stage.pictures[1]
    assert shown["said"][0].startswith("HEAR the HAR-bour.")
    for word in ("HEAR", "HAR-", "bour"):
        assert word in shown["svg"]
    assert panel._content().what.text == given.text
    assert panel._words.value == "*hear the *har-bour"


@pytest.mark.parametrize("page", [rl.pages.merge_pulses, rl.pages.wall])
def test_a_sentence_is_typed_beside_the_picture(page):
    """It is drawn and told on every home, leaves with what is saved, and one that does not fit is refused."""
    panel = page(3, 2)
    plain = [one["svg"] for one in panel.stage.pictures]
    panel._words.value = "*hear the *har-bour"
    assert panel._words_line.text == ""
    for one in panel.stage.pictures:
        assert "say: HEAR the HAR-bour" in one["svg"]
        assert one["said"][0].startswith("HEAR the HAR-bour.")
    assert "make the 2 home" in panel.stage.pictures[0]["said"][0]
    assert panel._content().what.text == "HEAR the HAR-bour"
    panel._words.value = "<i>la</i> la"
    assert "2 syllables for the 4 sounds" in panel._words_line.text
    for refused in ("<i>la</i> la", "la " * 9, "every evening rain", "Stücke von Kuchen", "la" * 20):
        panel._words.value = refused
        told = panel._words_line.text
        assert told.startswith("sentence has ")
        assert told.count(": ") == 1
    assert [one["svg"] for one in panel.stage.pictures] == plain
    panel._words.value = ""
    assert panel._words_line.text == ""

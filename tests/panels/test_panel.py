"""A panel driven from Python as a reader drives it: fields, home, slide, view, and what goes wrong."""

import re
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.panels.panel import VIEWS
from tests import brute
from tests.draw import painted
from tests.profile import tries

NBSP = "\N{NO-BREAK SPACE}"


def drawn(panel, home: int | None = None) -> list[tuple[int, int]]:
    """Lane and tick of each stroke in the picture of a home."""
    svg = panel.stage.pictures[panel.stage.home if home is None else home]["svg"]
    return [(lane, tick) for tick, lane, *_ in painted.strokes(painted.parse(svg))]


def expected(*pulses: int) -> list[tuple[int, int]]:
    return [(lane, tick) for lane, row in enumerate(brute.strokes(rl.Polyrhythm(*pulses))) for tick in row]


def state(panel) -> tuple:
    """Return what a reader sees: heading, fields, home, tempo, pictures, notice."""
    return (
        panel.stage.head,
        panel._pulses.texts,
        (tuple(panel._home.options), panel._home.index, panel.stage.home),
        (panel._bpm.description, panel._bpm.value),
        panel.stage.pictures,
        panel.line.text or panel.stage.notice,
    )


def test_a_panel_shows_its_rhythm_in_words_numbers_and_strokes():
    """7:4 at 72 on the 4: 28 ticks, 10 sounds, 3.3 seconds; eleven strokes, two homes, 126 on the 7."""
    panel = rl.pages.two_numbers(7, 4, bpm=72)
    facts = "28 ticks, 10 sounds, one cycle in 3.3 seconds"
    assert panel.stage.head == {"title": "7 against 4", "facts": facts}
    assert [picture["home"] for picture in panel.stage.pictures] == ["the 7", "the 4"]
    assert [picture["bpm"] for picture in panel.stage.pictures] == [126, 72]
    assert panel.stage.home == panel._home.index == 1
    assert sorted(drawn(panel)) == expected(7, 4)
    assert (panel._bpm.description, panel._bpm.value) == ("bpm of the 4", "72")
    assert panel.stage.notice == ""
    assert panel.stage.bpm_range == [20, 300]


@settings(max_examples=tries(30), deadline=None)
@given(p=st.integers(1, 40), q=st.integers(1, 40), bpm=st.integers(20, 300))
def test_numbers_that_are_typed_make_their_rhythm(p, q, bpm):
    """Two numbers and a tempo, typed one by one, give the strokes and facts that arithmetic gives."""
    panel = rl.pages.two_numbers(7, 4, bpm=72)
    panel._pulses.fields[0].value = str(p)
    panel._pulses.fields[1].value = str(q)
    panel._bpm.value = str(bpm)
    assert sorted(drawn(panel)) == expected(p, q)
    assert panel.feel.polyrhythm.pulses == (p, q)
    rows = brute.strokes(rl.Polyrhythm(p, q))
    sounds = len(set(rows[0]) | set(rows[1]))
    assert f" {sounds} sound" in panel.stage.head["facts"]
    cycle = Fraction(60 * q, bpm)
    written = f"{float(cycle):,.{1 if cycle >= 1 else 2}f}".replace(",", NBSP)
    written = written.rstrip("0").rstrip(".") if "." in written else written
    assert f"one cycle in {written} second" in panel.stage.head["facts"]
    assert panel.stage.pictures[0]["bpm"] == pytest.approx(bpm * p / q)
    assert (panel._bpm.value, panel.stage.notice) == (str(bpm), "")


def test_home_flips_by_button_and_by_choice_and_no_stroke_moves():
    """From stage or form: home, tempo and fields follow; flipped back, all is as before."""
    for flip in (
        lambda panel, to: setattr(panel.stage, "home", to),
        lambda panel, to: setattr(panel._home, "index", to),
    ):
        panel = rl.pages.two_numbers(7, 4, bpm=72)
        before, strokes = state(panel), drawn(panel)
        flip(panel, 0)
        assert (panel.feel.home, panel.stage.home, panel._home.index) == (0, 0, 0)
        assert (panel._bpm.description, panel._bpm.value) == ("bpm of the 7", "126")
        assert panel.tempo == rl.Tempo(126, pulse=0)
        assert drawn(panel) == strokes
        assert state(panel)[4] == before[4]
        flip(panel, 1)
        assert state(panel) == before


@pytest.mark.parametrize("flips", [2, 50, 101])
def test_flipping_keeps_the_tempo_exact(flips):
    """4:3 at 100 on the 3 is 400/3 on the 4, written 133.33, and however often flipped it is 100 again."""
    panel = rl.pages.two_numbers(4, 3, bpm=100)
    p = panel.feel.polyrhythm
    for n in range(flips):
        panel.stage.home = panel._home.index = n % 2
        assert panel._bpm.value == ("133.33", "100")[n % 2]
        assert panel.tempo.bpm_of(p, 1) == 100
        assert panel.tempo.bpm_of(p, 0) == Fraction(400, 3)
    assert panel.tempo.cycle_seconds(p) == Fraction(9, 5)


def test_what_is_typed_after_a_flip_is_in_the_beats_of_the_new_home():
    """126 typed as the tempo of the 7 is 72 of the 4."""
    panel = rl.pages.two_numbers(7, 4, bpm=50)
    panel.stage.home = 0
    panel._bpm.value = "126"
    panel.stage.home = 1
    assert panel._bpm.value == "72"
    assert panel.tempo == rl.Tempo(72, pulse=1)


def test_new_numbers_keep_home_and_its_tempo():
    """The pulse that was home stays home, by its place, and goes on at the same beats a minute."""
    panel = rl.pages.two_numbers(7, 4, bpm=72)
    panel.stage.home = 0
    panel._bpm.value = "90"
    panel._pulses.fields[0].value = "5"
    assert (panel.feel.home, panel.tempo) == (0, rl.Tempo(90, pulse=0))
    assert panel._bpm.description == "bpm of the 5"
    assert tuple(panel._home.options) == ("the 5", "the 4")


def test_the_slide_moves_the_tempo_of_the_home_it_was_slid_in():
    """It carries bpm and home: one from before a flip is understood, a home that is gone is ignored."""
    panel = rl.pages.two_numbers(7, 4, bpm=72)
    panel.stage.slid = {"bpm": 99, "home": 1, "turn": 1}
    assert (panel._bpm.value, panel.tempo) == ("99", rl.Tempo(99, pulse=1))
    assert panel.stage.pictures[1]["bpm"] == 99
    panel.stage.home = 0
    panel.stage.slid = {"bpm": 72, "home": 1, "turn": 2}
    assert (panel._bpm.value, panel.tempo) == ("126", rl.Tempo(126, pulse=0))
    panel.stage.slid = {"bpm": 50, "home": 7, "turn": 3}
    assert panel.tempo == rl.Tempo(126, pulse=0)
    assert panel.stage.notice == ""


@pytest.mark.parametrize(
    "slid",
    [
        {"bpm": 0, "home": 1},
        {"bpm": -5, "home": 1},
        {"bpm": float("nan"), "home": 1},
        {"bpm": "x", "home": 1},
        {"home": 1},
    ],
)
def test_a_slide_that_makes_no_sense_is_said_and_changes_nothing(slid):
    """Whatever comes from the browser, the picture stays and the notice says why."""
    panel = rl.pages.two_numbers(7, 4)
    before = state(panel)
    panel.stage.slid = slid
    assert panel.line.text.startswith("bpm of the 4")
    assert state(panel)[:5] == before[:5]
    panel.stage.slid = {"bpm": 80, "home": 1}
    assert panel.line.text == panel.stage.notice == ""


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("x", "'x' is not a whole number"),
        ("", "is empty"),
        ("0", "'0' is not"),
        ("-3", "'-3' is not"),
        ("7.5", "'7.5' is not"),
        ("1" * 40, "is more than 20\u00a0000"),
        ("999999", "has 1\u00a0000\u00a0003 strokes in a cycle"),
        ("19999", "has 20\u00a0003 strokes in a cycle, more than the 20\u00a0000 that a panel draws"),
    ],
)
def test_what_cannot_be_read_is_said_and_the_picture_stays(typed, message):
    """Letters, nothing, zero, huge: a sentence with an example; the last rhythm stays."""
    panel = rl.pages.two_numbers(7, 4)
    before = state(panel)
    panel._pulses.fields[0].value = typed
    assert panel.line.text.startswith("first pulse")
    assert message in panel.line.text
    assert ": type for example 7" in panel.line.text
    assert (panel.line.field, panel.stage.notice) == ("first pulse", "")
    assert [*state(panel)[:1], *state(panel)[2:5]] == [*before[:1], *before[2:5]]
    assert panel._pulses.texts[0] == typed
    panel._pulses.fields[0].value = "7"
    assert state(panel) == before


@pytest.mark.parametrize(
    ("typed", "message"),
    [("x", "'x' is not a number"), ("", "is empty"), ("0", "'0' is not from 1 to 1\u00a0000 beats a minute")],
)
def test_a_tempo_that_cannot_be_read_is_said(typed, message):
    """The last tempo stays; the next thing that works writes it into the field again."""
    panel = rl.pages.two_numbers(7, 4, bpm=72)
    panel._bpm.value = typed
    assert panel.line.text.startswith("bpm of the 4")
    assert message in panel.line.text
    assert panel.line.text.endswith(": type for example 72.")
    assert (panel.line.field, panel.stage.notice) == ("bpm of the 4", "")
    assert panel.tempo == rl.Tempo(72, pulse=1)
    panel.stage.home = 0
    assert (panel._bpm.value, panel.line.text) == ("126", "")


def test_a_notice_stays_while_a_field_shows_what_the_picture_does_not():
    """With letters in a pulse field a flip and a slide work, and the field is still said to be unreadable."""
    panel = rl.pages.two_numbers(7, 4)
    panel._pulses.fields[0].value = "x"
    for act in (
        lambda: setattr(panel.stage, "home", 0),
        lambda: setattr(panel.stage, "slid", {"bpm": 80, "home": 0}),
    ):
        act()
        assert "'x' is not a whole number" in panel.line.text
    assert (panel.feel.home, panel.tempo) == (0, rl.Tempo(80, pulse=0))
    panel._pulses.fields[0].value = "16"
    assert panel.line.text == panel.stage.notice == ""
    assert sorted(drawn(panel)) == expected(16, 4)


def test_the_fastest_tempo_and_the_slowest_can_be_drawn():
    """The ends of what can be typed give a picture in every view; what is beyond is refused."""
    for view, (bpm, beyond) in product(VIEWS, (("1000", "1000.1"), ("1", "0.99"))):
        panel = rl.pages.two_numbers(16, 15)
        panel._view.value = view
        panel._bpm.value = bpm
        assert panel.line.text == panel.stage.notice == ""
        assert drawn(panel)
        panel._bpm.value = beyond
        assert "1 to 1\u00a0000 beats a minute: type for example" in panel.line.text
        assert panel.tempo.bpm == int(bpm)


def test_the_view_changes_the_picture_and_nothing_else():
    """Every view of the menu draws every stroke, and the words stay."""
    panel = rl.pages.two_numbers(7, 4)
    assert list(panel._view.options) == list(VIEWS)
    said = [picture["said"] for picture in panel.stage.pictures]
    seen = set()
    for view in VIEWS:
        panel._view.value = view
        seen.add(panel.stage.pictures[1]["svg"])
        assert set(drawn(panel)) == set(expected(7, 4))
        assert [picture["said"] for picture in panel.stage.pictures] == said
        assert panel.stage.notice == ""
    assert len(seen) == len(VIEWS)


def test_pulses_can_be_added_and_removed():
    """A third pulse makes three homes, and home stays, at its tempo; removed, it is as it was."""
    panel = rl.pages.find_grid(3, 2)
    before = state(panel)
    panel._pulses._add.click()
    assert panel.feel.polyrhythm.pulses == (3, 2, 4)
    assert len(panel.stage.pictures) == 3
    assert panel.feel.home == panel.stage.home == panel._home.index == 1
    assert (panel._bpm.description, panel._bpm.value) == ("bpm of the 2", "72")
    assert panel.tempo == rl.Tempo(72, pulse=1)
    assert sorted(drawn(panel)) == expected(3, 2, 4)
    panel._pulses.fields[2].value = "5"
    assert panel.feel.home == panel.stage.home == 1
    assert sorted(drawn(panel)) == expected(3, 2, 5)
    panel._pulses._remove.click()
    assert len(panel.stage.pictures) == 2
    assert panel.feel.polyrhythm.pulses == (3, 2)
    assert panel._home.index == panel.stage.home == panel.feel.home == 1
    assert state(panel) == before


@pytest.mark.parametrize("home", [0, 1])
def test_adding_a_pulse_keeps_home_whichever_it_is(home):
    """Home, its name and its tempo stay, twice; the new pulse is one more than the largest."""
    panel = rl.pages.merge_pulses(7, 4, bpm=90, home=home)
    for pulses in ((7, 4, 8), (7, 4, 8, 9)):
        panel._pulses._add.click()
        assert panel.feel == rl.Feel(rl.Polyrhythm(*pulses), home)
        assert (panel.stage.home, panel._home.index) == (home, home)
        assert panel.tempo == rl.Tempo(90, pulse=home)
        assert (panel._bpm.description, panel._bpm.value) == (f"bpm of the {(7, 4)[home]}", "90")
        assert sorted(drawn(panel)) == expected(*pulses)
        assert panel.stage.notice == ""


def test_when_the_home_pulse_is_removed_the_last_one_is_home():
    """It goes on at the beats a minute that stand in the field."""
    panel = rl.pages.find_grid(3, 2, 5, bpm=80)
    assert panel.feel.home == 2
    panel._pulses._remove.click()
    assert panel.feel == rl.Feel(rl.Polyrhythm(3, 2), 1)
    assert panel.feel.home == panel.stage.home == panel._home.index == 1
    assert (panel._bpm.description, panel._bpm.value) == ("bpm of the 2", "80")


def test_pages_with_two_numbers_have_no_button_to_add():
    """Where the page is about two numbers nothing grows."""
    for page in (rl.pages.two_numbers, rl.pages.follow_gaps):
        panel = page(7, 4)
        assert len(panel._pulses.children) == 2
        assert not {panel._pulses._add, panel._pulses._remove} & set(panel._pulses.children)


@pytest.mark.parametrize(
    ("error", "notice"),
    [
        (ValueError("no such thing; for example pages.two_numbers(7, 4)"), "no such thing"),
        (IndexError("no such home"), "no such home"),
        (RuntimeError("broken"), "This did not work, and it is a fault of the page: RuntimeError: broken"),
        (
            ZeroDivisionError("division by zero"),
            "it is a fault of the page: ZeroDivisionError: division by zero",
        ),
    ],
)
@pytest.mark.parametrize(
    "act",
    [
        lambda panel: setattr(panel._pulses.fields[0], "value", "5"),
        lambda panel: setattr(panel._bpm, "value", "80"),
        lambda panel: setattr(panel.stage, "slid", {"bpm": 80, "home": 1}),
        lambda panel: setattr(panel._view, "value", "gap cycle"),
    ],
    ids=["pulses", "tempo", "slide", "view"],
)
def test_an_error_in_a_callback_is_seen_in_the_panel(act, error, notice):
    """Expected or not, it stands in the notice, and goes when the next thing works."""
    panel = rl.pages.two_numbers(7, 4)
    works = panel._describe

    def breaks(feel, tempo):
        raise error

    panel._describe = breaks
    before = state(panel)[4]
    act(panel)
    assert notice in f"{panel.line.text}{panel.stage.notice}"
    assert state(panel)[4] == before
    panel._describe = works
    panel._bpm.value = "90"
    assert panel.line.text == panel.stage.notice == ""


@pytest.mark.parametrize(
    "act", [lambda panel: setattr(panel.stage, "home", 0), lambda panel: setattr(panel._home, "index", 0)]
)
def test_an_error_in_a_flip_is_seen_as_well(act, monkeypatch):
    """From the stage and from the form."""
    panel = rl.pages.two_numbers(7, 4)

    def breaks():
        raise RuntimeError("broken")

    monkeypatch.setattr(panel, "_write_controls", breaks)
    act(panel)
    assert "a fault of the page: RuntimeError: broken" in panel.stage.notice


@pytest.mark.parametrize("home", [-1, 2, 99])
def test_a_home_that_the_browser_makes_up_changes_nothing(home):
    """Out of range is ignored: feel, tempo and fields stay."""
    panel = rl.pages.two_numbers(7, 4)
    before = state(panel)
    panel.stage.home = home
    assert panel.feel == rl.Feel(rl.Polyrhythm(7, 4), 1)
    assert state(panel)[3:] == before[3:]
    panel.stage.home = 0
    assert panel.feel.home == 0


def test_every_control_has_a_name_and_they_come_in_one_order():
    """Pulses, home, tempo, view, first beat: each carries its description, for eyes and screen readers."""
    panel = rl.pages.choose_home(7, 4)
    parts = panel.stage.parts
    fields = [*parts["numbers"], parts["tempo"], *(field for row in parts["rows"] for field in row["fields"])]
    assert fields == [*panel._pulses.fields, panel._bpm, panel._view, panel._first, panel._groups.field]
    names = ["first pulse", "second pulse", "bpm of the 4", "view", "from beat", "said in groups"]
    assert [field.description for field in fields] == names
    assert panel.children[0] is panel.stage


def test_equal_pulses_are_told_apart():
    """7 against 7: the first 7 and the second 7, each with its own picture."""
    panel = rl.pages.two_numbers(7, 7)
    assert [picture["home"] for picture in panel.stage.pictures] == ["the first 7", "the second 7"]
    assert re.search("try 7 against 6", " ".join(panel.stage.pictures[0]["said"]))


def test_a_tempo_that_cannot_be_read_stays_said_until_it_is_mended():
    """Another control neither rewrites the half typed tempo nor hides the message; a slide replaces both."""
    panel = rl.pages.two_numbers(7, 4)
    panel._bpm.value = "x"
    panel._pulses.fields[0].value = "5"

    assert panel._bpm.value == "x"
    assert "bpm of the 4 'x' is not a number" in panel.line.text

    panel.stage.slid = {"bpm": 80, "home": 1, "turn": 1}
    assert panel._bpm.value == "80"
    assert panel.line.text == panel.stage.notice == ""

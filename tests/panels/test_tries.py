"""Buttons to try: each sets its panel to what its line says, whatever stood there; no other line is taken."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from tests.profile import tries as many


def state(panel):
    """Return what a panel shows, and what stands in its fields."""
    typed = [field.value for field in panel._pulses.fields], panel._bpm.value, panel._view.value, panel.words
    return panel.feel, panel.tempo, panel.stage.home, typed


def test_a_button_sets_numbers_home_tempo_and_view():
    """What its line leaves out is as the panel began; its name says what it sets."""
    lines = [
        *("pulses: 7 4 | bpm: 72", "pulses: 7 4 | home: 7 | view: every home", "bpm: 40"),
        *("pulses: 3 4 5", "pair | pulses: 16 15 | title: The drift"),
    ]
    panel = rl.pages.find_grid(6, 4, bpm=90, tries=lines)
    assert [one.description for one in panel.stage.parts["tries"]] == [
        *("7 against 4 at 72", "7 against 4, home the 7, every home", "at 40 bpm"),
        *("3 against 4 against 5", "The drift"),
    ]
    wanted = [
        (rl.Feel(rl.Polyrhythm(7, 4), 1), rl.Tempo(72, pulse=1), 1, (["7", "4"], "72", "shared grid", "")),
        (rl.Feel(rl.Polyrhythm(7, 4), 0), rl.Tempo(90, pulse=0), 0, (["7", "4"], "90", "every home", "")),
        (rl.Feel(rl.Polyrhythm(6, 4), 1), rl.Tempo(40, pulse=1), 1, (["6", "4"], "40", "shared grid", "")),
        (
            rl.Feel(rl.Polyrhythm(3, 4, 5), 2),
            rl.Tempo(90, pulse=2),
            2,
            (["3", "4", "5"], "90", "shared grid", ""),
        ),
        (
            rl.Feel(rl.Polyrhythm(16, 15), 1),
            rl.Tempo(90, pulse=1),
            1,
            (["16", "15"], "90", "shared grid", ""),
        ),
    ]
    for button, is_now in zip(panel.stage.parts["tries"], wanted, strict=True):
        button.click()
        assert state(panel) == is_now
        assert panel.line.text == panel.stage.notice == ""
    assert "tries" not in rl.pages.find_grid(6, 4).stage.parts


@pytest.mark.parametrize("loop", [0, 1, 2])
@pytest.mark.parametrize("speed", ["30", "70 percent", "100"])
def test_a_button_loops_a_part_of_its_rhythm_and_slows_it(loop, speed):
    """By the name that the panel gives the part; every other button sets the whole cycle as written again."""
    spot = rl.pages.follow_gaps(32, 31).stage.plan["loops"][loop]
    lines = [f"loop: {spot['name']} | speed: {speed}", "pulses: 16 15", f"speed: {speed}"]
    panel = rl.pages.follow_gaps(32, 31, tries=lines)
    looped, other, slowed = panel._tries.buttons
    whole, percent = {"loop": [], "percent": 100}, int(speed.split()[0])
    for button, wanted in (
        *((looped, {"loop": [spot["start"], spot["stop"]], "percent": percent}), (other, whole)),
        *((slowed, {"loop": [], "percent": percent}), (other, whole)),
    ):
        before = panel.stage.slowed.get("turn", 0)
        button.click()
        assert panel.stage.slowed == {**wanted, "turn": before + 1}
    assert looped.description == f"{spot['name']}, {speed}"


LINES = ["pulses: 7 4 | bpm: 72", "pulses: 5 3 | home: 5", "bpm: 40", "view: every home", "pulses: 3 4 5"]


@settings(max_examples=many(30), deadline=None)
@given(
    st.lists(st.integers(0, len(LINES) - 1), min_size=1, max_size=4),
    st.sampled_from(["", "x", "0", "9" * 20]),
)
def test_a_button_always_leads_to_the_same_panel(presses, typed):
    """Whatever was pressed and typed before, also what no field takes."""
    panel, fresh = rl.pages.find_grid(6, 4, tries=LINES), rl.pages.find_grid(6, 4, tries=LINES)
    for press in presses:
        panel._pulses.fields[0].value = panel._bpm.value = typed
        panel._tries.buttons[press].click()
        assert panel.line.text == panel.stage.notice == ""
    fresh._tries.buttons[presses[-1]].click()
    assert state(panel) == state(fresh)
    assert panel.stage.pictures == fresh.stage.pictures
    assert panel.stage.plan == fresh.stage.plan


def test_a_sentence_is_said_by_a_button_and_gone_with_the_next():
    """It fits its numbers, and other numbers have none."""
    lines = ["pulses: 3 2 | sentence: *hear the *har-bour", "pulses: 4 3"]
    panel = rl.pages.merge_pulses(5, 4, tries=lines)
    panel._tries.buttons[0].click()
    assert panel._words.value == panel.words == "*hear the *har-bour"
    assert "HEAR the HAR-bour" in panel.stage.pictures[1]["said"][0]
    panel._tries.buttons[1].click()
    assert panel._words.value == panel.words == ""


def test_a_button_sets_the_fields_of_any_cycle():
    """By their names here or in a set list, a menu by its entry or its place; the rest is as at first."""
    lines = ["number: 14", "number: 13 | sticking: RRRRRRRRRRRRR", "choice: second", "number: 31 | choice: 3"]
    panel = rl.pages.phrase_and_stick(23, tries=lines)
    held = panel._fields
    for button, (number, mine, choice) in zip(
        panel._tries.buttons,
        [("14", "", 0), ("13", "R" * 13, 0), ("23", "", 1), ("31", "", 2)],
        strict=True,
    ):
        held["groups"].value = "nonsense"
        button.click()
        assert (held["number"].value, held["mine"].value, held["choice"].value) == (number, mine, choice)
        assert held["groups"].value == "2 3 4 5"
        assert panel.stage.head["title"].startswith(number)
        assert panel.line.text == panel.stage.notice == ""


PANELS = {
    "pair": lambda tries: rl.pages.two_numbers(7, 4, tries=tries),
    "phrase": lambda tries: rl.pages.phrase_and_stick(31, tries=tries),
    "feet": lambda tries: rl.pages.feet_against_hands("x..x", "x.x", tries=tries),
}


@pytest.mark.parametrize("kind", PANELS)
@pytest.mark.parametrize(
    "wrong",
    [
        *(
            "pulses: 7 4",
            ["nope: 3"],
            [""],
            ["title: nothing"],
            [3],
            ["pulses 7 4"],
            ["|"],
            ["bpm: 60 | bpm: 70"],
        ),
        *(["x: " + "9" * 500], ["bpm: 60"] * 9, {"bpm": 60}),
    ],
)
def test_a_line_that_sets_nothing_here_is_refused_with_one_that_does(kind, wrong):
    """The message shows the line, and a call that works."""
    with pytest.raises(ValueError, match="tries") as error:
        PANELS[kind](wrong)
    example = str(error.value).rpartition("; for example ")[2]
    assert eval(f"rl.{example}", {"rl": rl}).stage.parts["tries"]


@pytest.mark.parametrize(
    "wrong",
    [
        "pulses: 7",
        "pulses: 7 x",
        "pulses: 3 4 5",
        "home: 3",
        "bpm: 2000",
        "bpm: x",
        "view: wall",
        "sentence: la",
    ],
)
def test_what_a_pair_cannot_show_is_refused_when_the_panel_is_made(wrong):
    """Not when its button is pressed."""
    with pytest.raises(ValueError, match="tries has") as error:
        rl.pages.two_numbers(7, 4, tries=[wrong])
    example = str(error.value).rpartition("; for example ")[2]
    assert eval(f"rl.{example}", {"rl": rl}).stage.parts["tries"]

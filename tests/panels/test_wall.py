"""The panel for the wall: what it shows, what its keys ask for, the halves, the hall, and grooves on it."""

import json
import os
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmlab.core.feel import Feel
from rhythmlab.core.gaps import phase_gaps
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.draw.scene import WIDTH, Stroke
from rhythmlab.panels import wall as wall_module
from rhythmlab.panels.cycle_panel import PanelContent
from rhythmlab.panels.panel import SLIDE, VIEWS
from rhythmlab.panels.wall import GAPS, WALL_WIDTH, Wall, come_in_text, possible_text, squeezed, wall
from rhythmlab.playing.approach import approach
from rhythmlab.playing.groove import accents
from rhythmlab.playing.limits import limits

SEVEN = Polyrhythm(7, 4)


def press(panel, what, **more):
    """Send what a key of the wall sends."""
    panel.stage._message(None, {"pressed": what, **more}, [])


def call(panel, *numbers, number=1):
    press(panel, "enter", number=number, texts=[str(one) for one in numbers])


def test_the_picture_is_drawn_narrower_and_so_larger():
    """On the wall the same picture is drawn on less room, with the frame that a playhead moves in."""
    shown = wall(7, 4).stage.pictures[0]["svg"]
    assert f'viewBox="0 0 {WALL_WIDTH} ' in shown
    assert WALL_WIDTH < 0.7 * WIDTH
    assert shown.count("data-tick") == 11


def test_it_says_both_tempos_the_halves_and_the_tempo_that_is_possible():
    """Home first, then which half claps what; then one sentence with the way, its ceiling and why."""
    first, possible, *more = wall(7, 4).stage.pictures[1]["said"]
    assert first == "Home is the 4 at 72 bpm; the 7 goes at 126. Left half the 7 and right half the 4."
    assert possible.startswith("Learn the line, up to 214.3 bpm of the 4: its closest sounds are 119 ms")
    assert more == []


@given(st.integers(2, 17), st.integers(2, 17), st.integers(20, 300), st.integers(0, 1))
def test_the_tempo_that_is_possible_is_that_of_the_way_recommended(a, b, bpm, home):
    """The sentence names the way, its ceiling in home's beats where it fits, and else how far it is off."""
    p, tempo = Polyrhythm(a, b), Tempo(bpm, pulse=home)
    best = approach(p, tempo, home=home).recommended
    said = possible_text(Feel(p, home), tempo)
    assert best.label in said.lower() or best.label in said
    assert said.endswith(".")
    if not best.fits:
        assert said.startswith("Nothing fits at ")
        assert best.verdict(home).replace(" bpm", "") in said.replace(" bpm", "")
    elif best.ceiling_of(home) is not None:
        ceiling = float(best.ceiling_of(home))
        assert f"up to {round(ceiling, 1):g}".replace(",", "") in said.replace("\u00a0", "")


def test_the_rows_are_the_halves_of_the_room_and_h_takes_that_back():
    """Named on the screen, told to the browser for the sides, and off again with numbers as names."""
    panel = wall(7, 4)
    assert ">left half<" in panel.stage.pictures[0]["svg"]
    assert ">right half<" in panel.stage.pictures[1]["svg"]
    assert panel.stage.room["halves"]
    press(panel, "halves")
    assert ">left half<" not in panel.stage.pictures[0]["svg"]
    assert ">7<" in panel.stage.pictures[0]["svg"]
    assert not panel.stage.room["halves"]
    assert "half" not in panel.stage.pictures[0]["said"][0]


def test_three_pulses_have_a_middle():
    """Three rows of seats: left, right and middle."""
    panel = wall(3, 4, 5, bpm=60)
    assert [
        f">{half}<" in panel.stage.pictures[2]["svg"] for half in ("left half", "right half", "middle")
    ] == [
        True,
        True,
        True,
    ]
    assert panel.stage.pictures[2]["said"][0].endswith("Left half the 3, right half the 4 and middle the 5.")


def test_the_text_alternative_names_halves_and_numbers():
    """Who cannot see the rows is told which half has which pulse, and the line in numbers."""
    assert (
        "Left half the 7 and right half the 4. 7 against 4 on 28 ticks" in wall(7, 4).stage.pictures[0]["svg"]
    )


def test_g_shows_the_gap_cycle_and_again_the_line():
    """The same strokes on a picture that is not as tall, so that its words are larger; the sound stays."""
    panel = wall(16, 15, bpm=100)
    before = panel.stage.plan
    press(panel, "gaps")
    assert panel.stage.room["gaps"]
    assert "flam" in panel.stage.pictures[1]["svg"]
    assert panel.stage.plan["lanes"] == before["lanes"]
    press(panel, "gaps")
    assert not panel.stage.room["gaps"]
    assert "flam" not in panel.stage.pictures[1]["svg"]


@given(st.integers(2, 20), st.integers(2, 20))
def test_a_squeezed_tide_keeps_every_stroke_and_the_order_of_all_heights(a, b):
    """Nothing is lost, no two rows change places, and the picture is less tall."""
    p = Polyrhythm(a, b)
    scene = VIEWS[GAPS](Feel(p), Tempo(90, pulse=1), limits(), (0, p.ticks))
    made = squeezed(scene, 7.8, 0.55, 760)
    strokes = [mark for mark in made.marks if isinstance(mark, Stroke)]
    assert [(one.x, one.lane) for one in strokes] == [(one.x, one.lane) for one in scene.strokes()]
    heights = [(old.y, new.y) for old, new in zip(scene.strokes(), strokes, strict=True)]
    assert sorted(heights) == sorted(heights, key=lambda both: both[1])
    assert made.rows < scene.rows
    assert made.alt == scene.alt


def test_two_called_numbers_are_shown_planned_and_answered():
    """Enter carries what stands in the fields; the answer comes with the plan."""
    panel = wall(7, 4)
    call(panel, 5, 3, number=4)
    assert panel._pulses.texts == ["5", "3"]
    assert panel.stage.plan["pulses"] == [5, 3]
    assert panel.stage.room["answered"] == 4
    assert panel.stage.pictures[1]["said"][0].startswith("Home is the 3 at 72 bpm; the 5 goes at 120.")


def test_the_fields_are_followed_when_they_are_left():
    """Typing alone changes nothing on the wall; leaving a field does."""
    panel = wall(7, 4)
    assert all(field.continuous_update is False for field in panel._pulses.fields)
    panel._pulses.fields[0].value = "5"
    assert panel.stage.plan["pulses"] == [5, 4]


@pytest.mark.parametrize(
    "typed", ["x", "", "0", "-3", "7.5", "9" * 40, "<b>7</b>", "\N{ARABIC-INDIC DIGIT SEVEN}"]
)
def test_what_cannot_be_read_is_told_and_the_old_numbers_stay(typed):
    """The notice comes with the answer, so that the browser does not start; good numbers clear it."""
    panel = wall(7, 4)
    call(panel, 5, typed, number=1)
    assert "second pulse" in panel.line.text
    assert panel.stage.room["refused"]
    assert panel.stage.room["answered"] == 1
    assert panel.stage.plan["pulses"] == [7, 4]
    call(panel, 5, 3, number=2)
    assert panel.stage.notice == ""
    assert panel.stage.plan["pulses"] == [5, 3]


@pytest.mark.parametrize(
    "message", [{"pressed": "enter"}, {"pressed": "no such key"}, {"pressed": 5}, {}, None]
)
def test_a_strange_message_changes_nothing(message):
    """Whatever comes from the browser, the panel stays."""
    panel = wall(7, 4)
    panel.stage._message(None, message, [])
    assert panel.stage.plan["pulses"] == [7, 4]
    assert panel.stage.notice == ""


def test_next_without_a_set_list_says_what_has_one():
    """A remote for slides does no harm."""
    panel = wall(7, 4)
    press(panel, "next")
    assert "rl.pages.set_list()" in panel.stage.notice


def test_a_long_cycle_has_landmarks_and_every_beat_says_where_to_come_in():
    """16 against 15, home the 15: the a of 4, the & of 8, the e of 12, in ticks (worked out by hand)."""
    panel = wall(16, 15, bpm=100)
    home = panel.stage.pictures[1]
    assert home["landmarks"] == [[0, "all together"], [60, "a of 4"], [120, "& of 8"], [180, "e of 12"]]
    assert "Landmarks by ear: the 16 falls on a of 4, & of 8, e of 12." in home["said"]
    assert len(home["lost"]) == 15
    assert home["lost"][14] == "Come in on the next one, beat 1, 1 beat on: the strokes meet there."
    assert "landmarks" not in wall(7, 4).stage.pictures[1]


@given(st.integers(2, 24), st.integers(2, 24), st.integers(0, 1))
def test_from_every_beat_the_place_to_come_in_is_a_meeting_so_many_beats_on(a, b, home):
    """Counted on by that many beats, all pulses have a stroke; it is the first such place after the beat."""
    feel = Feel(Polyrhythm(a, b), home)
    both = {*range(0, 2 * feel.polyrhythm.ticks, feel.polyrhythm.meet())}
    for beat, said in enumerate(come_in_text(feel, 99)):
        here = beat * feel.beat_ticks
        ahead = min(tick for tick in both if tick > here) - here
        assert f", {ahead // feel.beat_ticks} beat{'s' * (ahead > feel.beat_ticks)} on" in said
        assert "tick" not in said


def test_a_groove_is_shown_and_typed_numbers_bring_the_pair_back():
    """No fields, no flip and no slide beside a groove; Enter leads back."""
    panel = wall(7, 4)
    made = accents("2+2+3/8", 5)
    panel.show(PanelContent("An accent", made, made.metre.tempo(180), ["Said."]))
    assert len(panel.stage.pictures) == 1
    assert panel.stage.plan["ticks"] == made.ticks
    assert panel.stage.bpm_range == []
    assert not panel.stage.room["pair"]
    assert "rl-shown" in panel._dom_classes
    assert panel._content().what == made
    press(panel, "halves")
    press(panel, "gaps")
    assert panel.stage.plan["ticks"] == made.ticks
    call(panel, 7, 4)
    assert panel.stage.plan["pulses"] == [7, 4]
    assert panel.stage.bpm_range == list(SLIDE)
    assert "rl-shown" not in panel._dom_classes
    assert panel.feel.home == 1


def test_a_pair_can_be_put_on_the_wall():
    """Its numbers stand in the fields, three of them too; its tempo is exact."""
    panel = wall(7, 4)
    panel.put(Polyrhythm(3, 4, 5), Tempo(Fraction(181, 3), pulse=0), 0)
    assert panel._pulses.texts == ["3", "4", "5"]
    assert panel.tempo == Tempo(Fraction(181, 3), pulse=0)
    assert panel.stage.home == 0
    with pytest.raises(ValueError, match="strokes in a cycle"):
        panel.put(Polyrhythm(20_000, 19_999), Tempo(60, pulse=1), 1)


def test_the_browser_gets_what_the_clap_is_made_of():
    """The snare's samples are there on a wall, whatever the lanes play; other panels do not carry them."""
    from rhythmlab.panels.pages_00_to_04 import two_numbers

    panel = wall(7, 4)
    assert panel.stage.look == "wall"
    assert "rl-wall" in panel._dom_classes
    assert "snare" in panel.stage.voices
    assert "snare" not in two_numbers(7, 4).stage.voices
    call(panel, 5, 3)
    assert "snare" in panel.stage.voices


def test_bad_numbers_are_refused_by_name():
    """As on every panel."""
    assert isinstance(wall(), Wall)
    with pytest.raises(ValueError, match="0"):
        wall(0, 4)
    with pytest.raises(ValueError, match="for example hall=12"):
        wall(7, 4, hall="wide")


@given(st.integers(1, 40), st.integers(1, 40))
def test_the_smallest_gap_is_the_smallest_of_all_gaps(a, b):
    """Found by arithmetic, the same as by looking at every stroke."""
    p = Polyrhythm(a, b)
    gaps = {abs(int(gap)) for of in (0, 1) for gap in phase_gaps(p, of, 1 - of).ticks} - {0}
    assert wall_module.smallest_gap(p) == min(gaps, default=None)


def test_the_hall_warns_under_twice_its_length_by_the_speed_of_sound():
    """12 m is 35 ms late, so gaps under 70 ms are played side by side (343 m/s: a physical constant)."""
    p = Polyrhythm(16, 15)
    assert "side by side" in wall_module.hall_text(p, Tempo(100, pulse=1), Fraction(12))  # 37.5 ms
    just = Fraction(60 * 343, 16 * 24)  # one tick is exactly 24/343 s
    assert wall_module.hall_text(p, Tempo(just, pulse=1), Fraction(12)) == ""
    assert "side by side" in wall_module.hall_text(p, Tempo(just + 1, pulse=1), Fraction(12))
    assert wall_module.hall_text(p, Tempo(100, pulse=1), None) == ""
    assert wall_module.hall_text(Polyrhythm(4, 4), Tempo(100, pulse=1), Fraction(300)) == ""


def test_the_hall_is_asked_once_and_kept_in_the_folder(folder):
    """Typed, said to be kept, there on the next panel; a plain file with its meaning in it."""
    panel = wall(16, 15, bpm=100)
    assert panel.metres is None
    panel._hall.value = "12"
    assert "hall.json" in panel._hall_note.value
    assert any("side by side" in said for said in panel.stage.pictures[1]["said"])
    assert json.loads((folder / "hall.json").read_text())["metres"] == "12"
    assert wall(7, 4).metres == 12


@pytest.mark.parametrize("typed", ["wide", "-3", "0", "1000", "12.5.1", "\N{ARABIC-INDIC DIGIT SEVEN}"])
def test_a_hall_that_cannot_be_read_is_told_and_nothing_is_kept(folder, typed):
    """By name, with an example; numbers typed afterwards do not hide it."""
    panel = wall(7, 4)
    panel._hall.value = typed
    assert "not a length in metres, up to 300: type for example 12" in panel._hall_line.text
    assert os.listdir(folder) == []


@pytest.mark.parametrize("text", ["", "{", '{"metres": "wide"}', "[]", '{"metres": null}'])
def test_a_damaged_file_of_the_hall_is_as_none(folder, text):
    """The panel comes up and asks again; what was in it is set aside."""
    (folder / "hall.json").write_text(text)
    assert wall(7, 4).metres is None
    assert wall_module.remember_hall(Fraction(12)).endswith(" What was in it is in hall-damaged.json now.")
    assert (folder / "hall-damaged.json").read_text() == text
    assert wall(7, 4).metres == 12


def test_a_folder_that_cannot_be_written_to_is_told(monkeypatch):
    """The length holds for the page, and the reader knows."""

    def refuse(*_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(wall_module, "write", refuse)
    assert wall_module.remember_hall(Fraction(12)) == (
        "It holds for this page only, since hall.json cannot be written: you are not allowed to write there."
    )

"""The panel for the wall: what it shows, what its keys ask for, the halves, the hall, and grooves on it."""

import json
import os
import re
from fractions import Fraction
from html import unescape
from itertools import pairwise
from math import floor, gcd

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from rhythmlab.core.feel import Feel
from rhythmlab.core.gaps import phase_gaps
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.draw.gap_cycle import gap_cycle
from rhythmlab.draw.pictures import strip
from rhythmlab.draw.scene import ROW, WIDTH, Stroke, Text
from rhythmlab.draw.svg import HANDS
from rhythmlab.panels import wall as wall_module
from rhythmlab.panels.cycle_panel import PanelContent
from rhythmlab.panels.panel import SLIDE
from rhythmlab.panels.wall import (
    BARE_ROWS,
    BARE_TIME,
    GAPS,
    LINE,
    WALL_WIDTH,
    Wall,
    bared,
    beats_of,
    by_landmarks,
    in_quarters,
    marks_of,
    possible_text,
    slower_text,
    speeds_text,
    squeezed,
    wall,
)
from rhythmlab.playing.approach import approach
from rhythmlab.playing.fill import resolve
from rhythmlab.playing.groove import accents
from rhythmlab.playing.hearing import ear_landmarks, landmark_name, landmarks_text, seen_as_gaps
from rhythmlab.playing.learning import counted_to
from rhythmlab.playing.limits import limits
from rhythmlab.text import counts, numbers
from tests.audio.measure import outside, overlaps
from tests.profile import some, tries

SEVEN = Polyrhythm(7, 4)
CALLED = [(a, b) for a in (*range(2, 25), 29, 37, 40, 48, 53, 64) for b in range(2, 25) if a != b]
FEW = settings(max_examples=tries(20), deadline=None)
#: How many letters two lines of a wall hold at 1280 by 720; tests/browser/test_room.py counts the lines.
TWO_LINES = 210


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
    """Home first, then which half claps what; then the way, where to start and how far it goes."""
    first, possible, *more = wall(7, 4).stage.pictures[1]["said"]
    assert first == (
        "Home is the 4 at 72 bpm; the 7 goes at 126. "
        "Right half (your left) the 7 and left half (your right) the 4."
    )
    assert possible == (
        "Learn the line: start at 54 bpm of the 4; the goal is 72. "
        "Recommended up to 133 bpm; it fits up to 205. Faster: hold the ones."
    )
    assert more == []  # the words of its beats go up to 51 bpm only
    assert wall(7, 4, bpm=60).stage.pictures[1]["said"][2] == (
        "Say 1 e & a TA e & in each beat of the 4, the number of the beat first; that goes up to 51 bpm."
    )
    assert "This is 3 against 2, twice" in " ".join(wall(6, 4).stage.pictures[1]["said"])


@FEW
@example(7, 4, 40, 1)
@example(17, 5, 72, 1)
@example(11, 9, 72, 1)
@example(24, 23, 200, 1)
@example(8, 7, 60, 1)
@example(8, 13, 72, 1)
@example(16, 15, 72, 1)
@given(st.integers(2, 24), st.integers(2, 24), st.integers(20, 300), st.integers(0, 1))
def test_words_that_the_line_shows_are_said_with_the_tempo_that_they_go_up_to(a, b, bpm, home):
    """No mouth is asked for more than six uneven parts a second, and no word stands in the line unexplained.

    Six a second is the fastest part that musicians could use to count uneven groups (Repp 2005).
    """
    panel = wall(a, b, home=home, bpm=bpm)
    panel._view.value = LINE
    shown = panel.stage.pictures[home]
    told = [one for one in shown["said"] if one.startswith("Say 1 ")]
    parts = panel.feel.parts(1 - home)
    quarters = by_landmarks(panel.feel, panel.tempo, panel._limits)
    start = approach(Polyrhythm(a, b), Tempo(bpm, pulse=home), home=home).start
    sayable = start * parts <= 360  # at the tempo that the advice starts at
    worded = parts > 4 and bool(counts.part_words(parts)) and a != b
    assert bool(told) == (worded and not quarters and sayable)
    if worded and not sayable:
        assert not {"TA", "KA", "DI", "MI", "TI"} & set(re.findall(r">([A-Z]{2})[ <]", shown["svg"]))
    if quarters:  # then the line has the names that are told, and no others
        (said,) = [one for one in shown["said"] if one.startswith("Landmarks by ear")]
        drawn = [one for one in re.findall(r">([^<>]+)<", shown["svg"]) if one in ("e", "&amp;", "a")]
        named = re.findall(r"(e|&|a) of \d", said)
        assert sorted(one.replace("&amp;", "&") for one in drawn) == sorted(named)
    for word in {"TA", "KA", "DI", "MI", "TI"} & set(re.findall(r">([A-Z]{2})[ <]", shown["svg"])):
        assert word in told[0]
    if told:
        top = re.findall(r"goes up to (\d+) bpm", told[0])
        assert bool(top) == (bpm * parts > 360)
        assert all(int(one) * parts <= 360 < (int(one) + 1) * parts for one in top)
        assert ("so call the beats" in told[0]) == (bool(top) and SLIDE[0] * parts > 360)
    line = panel._line(panel.feel, panel.tempo, panel._limits, (0, panel.feel.polyrhythm.ticks))
    written = [mark for mark in line.marks if isinstance(mark, Text) and mark.side == ""]
    count = min(mark.y for mark in written if mark.role == "big")
    label = {mark.x: mark.text.lower() for mark in written if mark.role == "small" and mark.y >= count}
    for tick, name in shown["marks"]:  # and Where? has the same name for a stroke as the line
        assert name.startswith((f"{label.get(tick, '')} of ", "meeting")) or tick not in label
    panel._view.value = GAPS
    assert not [one for one in panel.stage.pictures[home]["said"] if one.startswith("Say 1 ")]


def test_words_of_a_fill_are_said_beside_it():
    """Five in the time of four: the words are read under the picture, and how fast they go."""
    for pair, metre, most in (
        ((5, 4), "4/4", 72),
        ((7, 4), "4/4", 51),
        ((7, 4), "2+2+3/8", 0),
        ((3, 4), "4/4", 0),
    ):
        panel, fill = wall(7, 4), resolve(pair, metre, bars=4)
        panel.show(PanelContent("A fill", fill, Tempo(96, ticks=fill.beat), ["As it is played."]))
        shown = panel.stage.pictures[0]
        opened = {"TA", "KA", "DI", "MI", "TI"} & set(re.findall(r">([A-Z]{2})[ <]", shown["svg"]))
        said = " ".join(shown["said"][1:])
        assert bool(opened) == bool(said)
        assert all(word in said for word in opened)
        assert (f"goes up to {most} bpm" in said) or not most


@FEW
@given(st.integers(2, 17), st.integers(2, 17), st.integers(20, 300), st.integers(0, 1))
def test_the_tempo_that_is_possible_is_that_of_the_way_recommended(a, b, bpm, home):
    """The sentence names the way or the road, and begins with where to start."""
    p, tempo = Polyrhythm(a, b), Tempo(bpm, pulse=home)
    found = approach(p, tempo, home=home)
    said = possible_text(Feel(p, home), tempo)
    assert said == found.in_the_room()
    lead = f"{found.recommended.label.lower()}: start at "
    one = counted_to(p) and not found.recommended.road
    assert said.lower().startswith(f"count to {counted_to(p)}, " if one else lead)
    assert "othing fits" not in said


@FEW
@given(st.integers(2, 40), st.integers(2, 40), st.integers(20, 300), st.integers(0, 1))
def test_the_advice_of_a_wall_is_two_lines_and_its_presenter_has_the_rest(a, b, bpm, home):
    """At most what two lines of 1280 by 720 hold, from where to start; a way whole, of a road its lead.

    What it leaves out of a road stands with the halves of the room: who plays what, and what else there is.
    """
    assume(a != b)
    p, tempo = Polyrhythm(a, b), Tempo(bpm, pulse=home)
    found = approach(p, tempo, home=home)
    headline, besides = found.on_the_wall
    assert len(headline) <= TWO_LINES, headline
    assert "start at" in headline
    if not found.recommended.road:
        assert (headline, besides) == (found.in_the_room(), "")
    assert ("each half of the room" in found.in_the_room()) == ("each half of the room" in besides)
    assert found.recommended.by_hands in besides
    assert numbers.number(found.start) in headline
    said = wall(a, b, home=home, bpm=bpm).stage.pictures[home]["said"]
    assert headline in said
    assert not besides or sum(line.endswith(besides) for line in said) == 1


def test_the_rows_are_the_halves_of_the_room_and_h_takes_that_back():
    """Named on the screen, told to the browser for the sides, and off again with numbers as names."""
    panel = wall(7, 4)
    assert ">right half<" in panel.stage.pictures[0]["svg"]
    assert ">left half<" in panel.stage.pictures[1]["svg"]
    assert panel.stage.room["halves"]
    press(panel, "halves")
    assert ">left half<" not in panel.stage.pictures[0]["svg"]
    assert ">7<" in panel.stage.pictures[0]["svg"]
    assert not panel.stage.room["halves"]
    assert "half" not in panel.stage.pictures[0]["said"][0]


def test_three_pulses_have_a_third_of_the_room_each():
    """A room of two halves has no middle: rows and the presenter's line say thirds, and nothing says half."""
    panel = wall(3, 4, 5, bpm=60)
    shown = panel.stage.pictures[2]
    assert all(f">{part} third<" in shown["svg"] for part in ("right", "left", "middle"))
    assert shown["said"][0].endswith(
        "Right third (your left) the 3, left third (your right) the 4 and middle third the 5."
    )
    assert "half" not in shown["svg"] + shown["said"][0]


def test_the_text_alternative_names_halves_and_numbers():
    """Who cannot see the rows is told which half has which pulse, and the line in numbers."""
    assert (
        "Right half (your left) the 7 and left half (your right) the 4. 7 against 4 on 28 ticks"
        in wall(7, 4).stage.pictures[0]["svg"]
    )


def test_g_shows_the_gap_cycle_and_again_the_line():
    """The same strokes on a picture that is not as tall, so that its words are larger; the sound stays."""
    panel = wall(5, 4, bpm=100)
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
    scene = gap_cycle(p, 90)
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
    """The notice comes with the answer, so that the browser does not start; whatever is done next clears it.

    The fields name what is drawn and sounds, and never a call that was refused.
    """
    panel = wall(7, 4)
    call(panel, 5, typed, number=1)
    assert "second pulse" in panel.line.text
    assert panel._pulses.texts == ["7", "4"]
    panel.stage.home = 0
    assert panel.line.text == ""
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


def test_a_long_cycle_has_landmarks():
    """16 against 15, home the 15: the a of 4, the & of 8, the e of 12, in ticks (worked out by hand)."""
    panel = wall(16, 15, bpm=100)
    home = panel.stage.pictures[1]
    marks = [[60, "a of 4"], [120, "& of 8"], [180, "e of 12"]]
    assert home["landmarks"] == [[0, "all together"], *marks]
    assert home["marks"] == marks
    assert "Landmarks by ear: the 16 falls on a of 4, & of 8, e of 12." in home["said"]
    assert "landmarks" not in wall(7, 4).stage.pictures[1]


@pytest.mark.parametrize("pair", some([(n + 1, n) for n in range(7, 64)], 8, "neighbours", [(16, 15)]))
def test_neighbours_have_their_landmarks_on_the_wall_from_both_homes(pair):
    """Picture, sentence, *Where?* and text alternative have the same landmarks, whichever home is felt."""
    panel = wall(*pair, bpm=60)
    for home in (0, 1):
        press(panel, "gaps") if panel._view.value != GAPS else None
        panel._flip(home)
        feel, shown = panel.feel, panel.stage.pictures[home]
        named = [[mark.tick, landmark_name(feel, mark)] for mark in ear_landmarks(feel, 1 - home)]
        assert named
        assert shown["marks"] == named
        assert shown["landmarks"] == [[0, "all together"], *named]
        text = landmarks_text(feel, 1 - home)
        assert text in shown["said"]
        assert text in unescape(shown["svg"])
        assert "exactly midway, on" in shown["svg"]


@given(st.lists(st.integers(2, 24), min_size=2, max_size=3), st.data())
def test_the_places_to_come_in_are_all_meetings_and_the_quarters_of_a_beat(pulses, data):
    """Looked for tick by tick: where all meet, and where the other pulse is on an e, an & or an a."""
    p = Polyrhythm(*pulses)
    home = data.draw(st.integers(0, len(pulses) - 1))
    step, other = p.step(home), 1 if home == 0 else 0
    found = {tick for tick, _ in marks_of(Feel(p, home))}
    meet = {t for t in range(1, p.ticks) if all(t % p.step(i) == 0 for i in range(len(pulses)))}
    quarters = {
        t for t in range(0, p.ticks, p.step(other)) if t % step and Fraction(t % step, step) * 4 % 1 == 0
    }
    if not quarters and seen_as_gaps(p):  # then they are beats
        quarters = {mark.tick for mark in ear_landmarks(Feel(p, home), other)}
    assert found == meet | (quarters if len(quarters) <= 99 else set())


evenings = st.fractions(min_value=20, max_value=300, max_denominator=4)


@FEW
@given(st.integers(2, 24), st.integers(2, 24), evenings, st.lists(st.sampled_from("fghsb"), max_size=4))
def test_a_called_pair_starts_at_its_second_number_and_the_evenings_tempo(a, b, bpm, pressed):
    """Whatever was flipped and pressed before; where nobody keeps that up, at the fastest tempo that fits."""
    panel = wall(7, 4, bpm=bpm)
    for key in pressed:
        if key == "f":
            panel.stage.home = 1 - panel.stage.home
        press(panel, {"g": "gaps", "h": "halves", "b": "bare"}.get(key, "strange"))
    for number in (1, 2):  # the second time it is called again, after a flip
        call(panel, a, b, number=number)
        assert panel.feel == Feel(Polyrhythm(a, b), 1)
        assert panel.stage.home == 1
        started = panel.tempo.bpm_of(Polyrhythm(a, b), 1)
        (told,) = [said for said in panel.stage.pictures[1]["said"] if said.startswith("Starts at")] or [""]
        assert panel.stage.plan["bpms"][1] == float(started)
        assert bool(told) == (started != bpm)
        assert not told or f"at {int(started)} bpm" in told
        assert started <= bpm
        assert (f"no two hands keep up the {max(a, b)}." in told) == (started < bpm)
        panel.stage.home = 0


@pytest.mark.parametrize(
    "pair", some(CALLED, 60, "called", [(64, 3), (53, 5), (48, 5), (13, 2), (24, 16)]), ids=str
)
@pytest.mark.parametrize("evening", [20, 72, 300])
def test_a_call_is_no_faster_than_its_advice_goes(pair, evening):
    """At the tempo of the evening, or the fastest that its advice goes up to: one judge for both."""
    panel, p = wall(7, 4, bpm=evening), Polyrhythm(*pair)
    call(panel, *pair)
    started = panel.tempo.bpm_of(p, 1)
    asked, there = (approach(p, Tempo(bpm, pulse=1), home=1) for bpm in (evening, started))
    goal = asked.recommended.goal_of(1)
    assert started == (evening if goal >= evening else floor(goal))
    assert there.recommended.goal_of(1) >= started
    assert f"start at {there.start} bpm of the {pair[1]}" in " ".join(panel.stage.pictures[1]["said"])
    assert not [said for said in panel.stage.pictures[0]["said"] if said.startswith("Starts at")]


@FEW
@given(st.integers(20, 230), st.integers(20, 230))
def test_the_evenings_tempo_is_the_one_last_set_said_of_home(typed, slid):
    """Typed, slid, or an item's own: the next call goes at it, whichever number it was said of."""
    panel = wall(7, 4)
    three = Polyrhythm(3, 2)
    panel._bpm.value = str(typed)
    call(panel, 3, 2, number=1)
    assert panel.tempo.bpm_of(three, 1) == typed
    panel.stage.home = 0  # flipped: what is set now is said of the 3
    panel.stage.slid = {"bpm": float(slid), "home": 0, "turn": 1}
    call(panel, 2, 3, number=2)
    assert panel.tempo.bpm_of(Polyrhythm(2, 3), 1) == slid
    panel.put(SEVEN, Tempo(126, pulse=0), 0)
    call(panel, 3, 2, number=3)
    assert panel.tempo.bpm_of(three, 1) == 126


@FEW
@given(st.integers(2, 24), st.integers(2, 24), st.integers(40, 100), st.integers(0, 1), st.integers(-5, 5))
def test_plus_and_minus_after_a_flip_do_not_make_the_next_call_that_of_the_other_number(a, b, bpm, home, n):
    """After a flip of 7:4 at 72 one press is 130 of the 7: the next call goes at 74, not at 130."""
    panel, p = wall(a, b, bpm=bpm), Polyrhythm(a, b)
    panel.stage.home = home
    low, high = panel.stage.bpm_range
    heard = Fraction(bpm * p.pulses[home], b) + 4 * n
    assume(low <= heard <= high)
    panel.stage.slid = {"bpm": float(heard), "home": home, "turn": 1, "pressed": True}
    assert panel.evening == round(panel.tempo.bpm_of(p, 1))
    assert abs(panel.evening - bpm) <= abs(4 * n) * Fraction(b, p.pulses[home]) + 1
    assert "Starts" not in " ".join(panel.stage.pictures[1]["said"])


def test_what_was_said_of_a_slower_start_goes_with_the_next_tempo():
    """Once the presenter has set a tempo, that is the tempo, and nothing is explained."""
    panel = wall(7, 4)
    call(panel, 64, 3)
    said = "Starts at 33 bpm, not 72: at 72 no two hands keep up the 64."
    assert panel.stage.pictures[1]["said"][0] == said
    assert said not in panel.stage.pictures[0]["said"]  # after a flip it would speak of another number
    panel.stage.slid = {"bpm": 25, "home": 1, "turn": 1}
    assert "Starts" not in " ".join(panel.stage.pictures[1]["said"])


@FEW
@example(20, 22, 72)
@example(31, 29, 72)
@example(17, 15, 130)
@given(st.integers(1, 40), st.integers(1, 40), st.integers(20, 120))
def test_a_pair_is_shown_in_the_view_that_fits_it_until_the_presenter_chooses(a, b, bpm):
    """Neighbours from 8:7 up drift, in lowest terms, and near-equal numbers whose drift is advised.

    A choice holds for its pair, and for no other.
    """
    common = gcd(a, b)
    step, least, most = abs(a - b) // common, min(a, b) // common, max(a, b) // common
    near = most >= 8 and 0 < 5 * step <= least
    panel = wall(a, b, bpm=bpm)

    def fits() -> str:
        advised = near and "the drift" in approach((a, b), panel.tempo).recommended.name
        return GAPS if (step == 1 and least >= 7) or advised else LINE

    drifts = fits()
    assert panel._view.value == drifts
    call(panel, 3, 2, number=1)
    assert panel._view.value == LINE
    call(panel, a, b, number=2)
    drifts = fits()  # it may have to begin more slowly
    assert panel._view.value == drifts
    assert panel.stage.room["gaps"] == (drifts == GAPS)
    press(panel, "gaps")
    chosen = panel._view.value
    assert chosen != drifts
    call(panel, 64, 63, number=3)
    assert panel._view.value == (chosen if {a, b} == {64, 63} else GAPS)
    call(panel, a, b, number=4)
    assert panel._view.value == chosen


def test_each_thing_that_is_put_on_the_wall_is_told_to_the_browser():
    """A call, the same call again, an item and a groove: Slow is for none of them."""
    panel = wall(7, 4)
    seen = [panel.stage.room["put"]]
    call(panel, 5, 3, number=1)
    seen.append(panel.stage.room["put"])
    call(panel, 5, 3, number=2)
    seen.append(panel.stage.room["put"])
    panel.put(SEVEN, Tempo(72, pulse=1), 1)
    seen.append(panel.stage.room["put"])
    made = accents("2+2+3/8", 5)
    panel.show(PanelContent("An accent", made, made.metre.tempo(180), ["Said."]))
    seen.append(panel.stage.room["put"])
    assert len(set(seen)) == 5
    press(panel, "halves")
    press(panel, "bare", on=True)
    assert panel.stage.room["put"] == seen[-1]


@FEW
@example(22, 2, 0, GAPS, False)
@given(
    st.integers(2, 64), st.integers(2, 64), st.integers(0, 1), st.sampled_from([LINE, GAPS]), st.booleans()
)
def test_the_room_reads_which_number_each_row_or_shape_is(a, b, home, view, halves):
    """The number stands with its half in the line, with its sign under the gap cycle, and nothing touches."""
    panel = wall(a, b, home=home, bpm=60)
    if not halves:
        press(panel, "halves")
    scene = panel.VIEWS[view](panel.feel, panel.tempo, limits(), panel._window)
    said = [mark.text for mark in scene.marks if isinstance(mark, Text)]
    if view == GAPS:
        names = (", right half", ", left half") if halves else ("", "")
        assert said[-1] == f"\u25cf {a}{names[0]} \u00b7 \u25c6 {b}{names[1]}"
    else:
        names = [mark.text for mark in scene.marks if isinstance(mark, Text) and mark.role == "name"]
        assert names == ([str(a), "right half", str(b), "left half"] if halves else [str(a), str(b)])
    assert overlaps(scene) == []
    assert outside(scene) == []


@FEW
@given(st.integers(2, 64), st.integers(2, 64), st.booleans(), st.sampled_from([LINE, GAPS]))
def test_bare_leaves_the_strokes_and_a_large_count(a, b, halves, view):
    """No word but beats from 1, evenly thinned, clear of each other, with capitals of a twentieth."""
    panel = wall(a, b, bpm=60)
    if not halves:
        press(panel, "halves")
    panel._view.value = view
    whole = panel.VIEWS[view](panel.feel, panel.tempo, limits(), panel._window)
    press(panel, "bare", on=True)
    scene = panel.VIEWS[view](panel.feel, panel.tempo, limits(), panel._window)
    assert scene == bared(whole, beats_of(panel.feel, whole) if view == GAPS else ())
    assert [(one.x, one.lane) for one in scene.strokes()] == [(one.x, one.lane) for one in whole.strokes()]
    words = [mark for mark in scene.marks if isinstance(mark, Text) and mark.role == "bare"]
    told = [mark.text for mark in scene.marks if isinstance(mark, Text) and mark.role != "bare"]
    beats = [int(mark.text) for mark in words]
    assert (len(beats) == len(scene.strokes(panel.feel.home))) == (not told)  # what is left out is said
    assert all(text.startswith("counted: ") for text in told)
    assert beats[0] == 1
    assert beats == list(range(1, beats[-1] + 1, beats[1] - 1 if len(beats) > 1 else 1))
    size = HANDS["bare"][1]
    assert 0.72 * size * 20 >= BARE_ROWS * ROW >= scene.rows * ROW - 1e-6  # capitals are 0.72 of a size
    for one, other in pairwise(words):
        apart = (other.x - one.x) * BARE_TIME / (scene.stop - scene.start)
        assert apart >= 0.7 * size * len(other.text)
    press(panel, "bare", on=False)
    assert panel.VIEWS[view](panel.feel, panel.tempo, limits(), panel._window) == whole


@FEW
@given(st.sampled_from(["4/4", "5/4", "7/4", "2+2+3/8", "3+2/8"]), st.integers(2, 13), st.integers(400, 900))
def test_the_count_of_bars_drops_no_beat_that_has_room_and_bare_keeps_each_bar(metre, every, width):
    """Beats have room of their own letters, not of how many there are; bare has all of them, or the ones."""
    made = accents(metre, every)
    scene = strip(made, width=width)
    big = [mark for mark in scene.marks if isinstance(mark, Text) and mark.role == "big"]
    beats = [beat for beat in made.beats.tolist() if scene.start <= beat < scene.stop]
    apart = min(b - a for a, b in pairwise(beats)) * (width - scene.left - scene.right)
    if apart / (scene.stop - scene.start) >= 19:  # a figure and the space beside it
        assert [mark.x for mark in big] == beats
    words = [mark.text for mark in bared(scene).marks if isinstance(mark, Text) and mark.role == "bare"]
    assert words == [mark.text for mark in big] or set(words) == {"1"}


def test_bare_holds_for_grooves_and_never_for_what_is_saved():
    """A groove has its count alone too; a file has all its words."""
    panel = wall(7, 4)
    made = accents("2+2+3/8", 5)
    press(panel, "bare", on=True)
    assert panel.stage.room["bare"]
    saved = [mark for mark in panel._content().scene.marks if isinstance(mark, Text)]
    assert "heard" in {mark.text for mark in saved}
    assert ">heard<" not in panel.stage.pictures[1]["svg"]
    panel.show(PanelContent("An accent", made, made.metre.tempo(180), ["Said."]))
    assert ">heard<" not in panel.stage.pictures[0]["svg"]
    press(panel, "bare", on=False)
    assert ">heard<" in panel.stage.pictures[0]["svg"]


def test_a_groove_is_shown_and_typed_numbers_bring_the_pair_back():
    """No fields, no flip and no slide beside a groove; Enter leads back."""
    panel = wall(7, 4)
    made = accents("2+2+3/8", 5)
    panel.show(PanelContent("An accent", made, made.metre.tempo(180), ["Said."]))
    assert len(panel.stage.pictures) == 1
    assert panel.stage.plan["ticks"] == made.ticks
    assert panel.stage.bpm_range == []
    assert not panel.stage.room["pair"]
    assert panel._content().what == made
    press(panel, "halves")
    press(panel, "gaps")
    assert panel.stage.plan["ticks"] == made.ticks
    call(panel, 7, 4)
    assert panel.stage.plan["pulses"] == [7, 4]
    assert panel.stage.bpm_range == list(SLIDE)
    assert panel.stage.room["pair"]
    assert panel.feel.home == 1


@pytest.mark.parametrize("pair", [(3, 2), (5, 4), (7, 4), (13, 8), (16, 15), (3, 4, 5), (6, 4), (4, 4)])
def test_the_room_reads_what_it_says_and_the_presenter_the_rest(pair):
    """To the room go words and landmarks; tempo, halves, advice and the hall stand apart, none of it lost."""
    for shown in wall(*pair, hall=40).stage.pictures:
        told, aside = shown["said"], shown["aside"]
        assert [one for one in told if one in aside] == aside
        assert all(one.startswith(("Say ", "Landmarks by ear", "On the ")) for one in set(told) - set(aside))
        assert any("bpm" in one for one in aside)


def test_the_fields_of_a_wall_are_drawn_by_its_stage_and_no_second_kind_beside_it():
    """One child, the stage; numbers, tempo, first beat, and on its shelf what is set at leisure."""
    panel = wall(7, 4)
    assert panel.children == (panel.stage,)
    parts = panel.stage.parts
    assert (parts["numbers"], parts["tempo"], parts["line"]) == (panel._pulses.fields, panel._bpm, panel.line)
    assert [shelf["name"] for shelf in parts["shelf"]] == ["Room"]
    on_it = [field for shelf in parts["shelf"] for row in shelf["rows"] for field in row["fields"]]
    assert on_it == [panel._words, panel._groups.field, panel._hall]
    call(panel, 3, 4, 5)
    assert len(panel.stage.parts["numbers"]) == 3
    panel.show(PanelContent("An accent", accents("2+2+3/8", 5), Tempo(180, ticks=2), ["Said."]))
    assert (
        panel.stage.parts["numbers"] == panel._pulses.fields
    )  # there for the next call, seen when it begins
    assert panel.stage.head["title"] == "An accent"


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
    assert wall_module.remember_hall(Fraction(12)).endswith(
        " What was in hall.json is in hall-damaged.json now."
    )
    assert (folder / "hall-damaged.json").read_text() == text
    assert wall(7, 4).metres == 12


def test_a_folder_that_cannot_be_written_to_is_told(monkeypatch):
    """The length holds for the page, and the reader knows."""

    def refuse(*_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("rhythmlab.panels.choice.write", refuse)
    assert wall_module.remember_hall(Fraction(12)) == (
        "It holds for this page only, since hall.json cannot be written: you are not allowed to write there."
    )


def test_equal_pulses_are_one_beat_with_no_line_to_learn():
    """A room that calls 4 and 4 is told to clap together, and not how to learn it."""
    first, *more = wall(4, 4).stage.pictures[1]["said"]
    assert first.startswith("All together at ")
    assert not any("Learn" in text or "hold the ones" in text for text in more)


@FEW
@example(3, 16, 100, 0)
@example(3, 16, 300, 1)
@example(2, 9, 300, 1)
@given(st.integers(2, 24), st.integers(2, 24), st.integers(100, 4000), st.integers(0, 1))
def test_a_room_reads_whole_tempos(a, b, tenths, home):
    """Of home, of the other pulse and of what was wanted; where one is not quite whole, "about"."""
    p, bpm = Polyrhythm(a, b), Fraction(tenths, 10)
    tempo = Tempo(bpm, pulse=home)
    room = [speeds_text(Feel(p, home), tempo), possible_text(Feel(p, home), tempo)]
    room.append(slower_text(p, bpm, Fraction(10)))
    for i in {0, 1} if a != b else {home}:
        other = tempo.bpm_of(p, i)
        if other >= 10:
            said = str(round(other)) if other == round(other) else f"about {round(other)}"
            assert f" at {said}" in room[0].replace("\N{NO-BREAK SPACE}", "")
        elif i != home and bpm >= 20:  # every so many beats of home
            exact = Fraction(p.pulses[home], p.pulses[i])
            half = exact.denominator == 2
            every = f"{floor(exact)} and a half" if half else round(exact)
            assert ("about every" in room[0]) == (exact.denominator > 2)
            assert f" every {every} beats" in room[0].replace("\N{NO-BREAK SPACE}", " ")
    if bpm >= 20:
        assert not re.search(r"[0-9][.][0-9]", room[0] + room[2])
        assert not re.search(r"[0-9][.][0-9]+ bpm", room[1])


@pytest.mark.parametrize("pair", some(CALLED, 60, "landmarks", [(24, 7), (13, 8)]), ids=str)
def test_landmarks_stand_on_one_line(pair):
    """Whatever words stood there before: 24 against 7 had its a, & and e on three."""
    for home in (0, 1):
        feel = Feel(Polyrhythm(*pair), home)
        scene = in_quarters(strip(feel.cycle(), width=WALL_WIDTH), feel, feel.cycle())
        lines = {mark.y for mark in scene.marks if isinstance(mark, Text) and mark.text in ("e", "&", "a")}
        assert len(lines) <= 1, (pair, home, lines)

"""A cycle too long for one picture is looked at beat by beat."""

import re

import pytest

import rhythmlab as rl


def ticks(panel, home):
    """Return the ticks drawn in the picture of a home, with their lanes."""
    svg = panel.stage.pictures[home]["svg"]
    return [(int(t), int(lane)) for t, lane in re.findall(r'data-tick="(\d+)" data-lane="(\d+)"', svg)]


def test_the_field_for_the_first_beat_is_there_only_where_it_is_needed():
    """7 against 4 fits whole and has no such field; 128 against 127 starts on beat 1 and has one."""
    panel = rl.pages.two_numbers(7, 4)
    assert panel._first.layout.display == "none"

    panel._pulses.fields[0].value, panel._pulses.fields[1].value = "128", "127"

    assert panel._first.layout.display == ""
    assert panel._first.value == "1"


@pytest.mark.parametrize(
    "page", [rl.pages.two_numbers, rl.pages.find_grid, rl.pages.choose_home, rl.pages.follow_gaps]
)
def test_a_beat_typed_starts_the_picture_there(page):
    """From beat 34 of the 127, the first tick shown is 33 steps of it, in every page."""
    panel = page(128, 127)

    panel._first.value = "34"

    assert panel.line.text == panel.stage.notice == ""
    beats = [tick for tick, lane in ticks(panel, 1) if lane == 1]
    assert beats[:3] == [33 * 128, 34 * 128, 35 * 128]


def test_flipping_a_window_moves_no_stroke():
    """Both homes show the same stretch, stroke for stroke, and the field counts in the new home."""
    panel = rl.pages.two_numbers(128, 127)
    panel._first.value = "34"

    assert ticks(panel, 0) == ticks(panel, 1)
    panel.stage.home = 0
    assert panel._first.value == str(33 * 128 // 127 + 1)


@pytest.mark.parametrize("typed", ["0", "128", "x", "", "1.5", "-1", "9" * 40])
def test_a_beat_that_is_not_there_is_said_and_the_picture_stays(typed):
    """The message names what was typed and how many beats there are."""
    panel = rl.pages.two_numbers(128, 127)
    before = panel.stage.pictures

    panel._first.value = typed

    assert "is not one of the 127 beats: type for example 1." in panel.line.text
    assert panel.stage.pictures == before


def test_new_numbers_start_from_the_first_beat_again():
    """A window into one cycle says nothing about another."""
    panel = rl.pages.two_numbers(128, 127)
    panel._first.value = "34"

    panel._pulses.fields[0].value = "129"

    assert panel._first.value == "1"
    assert ticks(panel, 1)[0][0] == 0

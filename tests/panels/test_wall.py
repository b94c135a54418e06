"""The panel for the wall: one large view, a sentence, and the numbers that the room called."""

import pytest

from rhythmlab.panels.panel import Panel
from rhythmlab.panels.wall import WALL_WIDTH, Wall, wall
from rhythmlab.render.scene import WIDTH


def test_the_picture_is_drawn_narrower_and_so_larger():
    """On the wall the same picture is drawn on less room, with the frame that a playhead moves in."""
    shown = wall(7, 4).stage.pictures[0]["svg"]
    assert f'viewBox="0 0 {WALL_WIDTH} ' in shown
    assert WALL_WIDTH < 0.7 * WIDTH
    assert shown.count("data-tick") == 11


def test_it_has_one_view_and_says_both_tempos():
    """The menu of views is hidden; the sentence has both pulses' tempos, home first."""
    panel = wall(7, 4)
    assert list(panel.VIEWS) == ["heard line"]
    assert len(Panel.VIEWS) > 1
    assert panel._view.layout.display == "none"
    assert panel.stage.pictures[1]["said"] == ["Home is the 4 at 72 bpm; the 7 goes at 126."]
    assert panel.stage.pictures[0]["said"] == ["Home is the 7 at 126 bpm; the 4 goes at 72."]


def test_the_browser_and_the_style_know_that_it_is_a_wall():
    """The look and the class are set; other panels have neither."""
    panel = wall(7, 4)
    assert panel.stage.look == "wall"
    assert "rl-wall" in panel._dom_classes
    assert ".rl-wall" in str(panel.stage._css)


def test_two_called_numbers_are_shown_and_can_sound():
    """What is typed is what is drawn and what is planned."""
    panel = wall(7, 4)
    for field, value in zip(panel._pulses.fields, ("5", "3"), strict=True):
        field.value = value
    assert panel.stage.plan["pulses"] == [5, 3]
    assert panel.stage.pictures[1]["said"] == ["Home is the 3 at 72 bpm; the 5 goes at 120."]


def test_bad_numbers_are_refused_by_name():
    """As on every panel."""
    assert isinstance(wall(), Wall)
    with pytest.raises(ValueError, match="0"):
        wall(0, 4)

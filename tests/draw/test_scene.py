"""A scene: where a tick is, how large a stroke is, and how it shows itself."""

from dataclasses import FrozenInstanceError
from html import escape

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.draw.scene import WIDTH, Scene, Stroke, Text
from tests.strategies import TRIES

SEVEN = rl.pictures.strip(rl.Polyrhythm(7, 4).cycle())


@TRIES
@given(st.integers(0, 100), st.integers(1, 1000), st.integers(0, 200), st.integers(0, 200), st.floats(0, 1))
def test_ticks_lie_evenly_between_the_gutters(start, length, left, right, share):
    """The first tick shown is at the left gutter, the end at the right one, and all between in proportion."""
    scene = Scene("a", "A.", (), start, start + length, 1.0, left=left, right=right)
    assert scene.x(start) == left
    assert scene.x(start + length) == pytest.approx(WIDTH - right)
    assert scene.x(start + share * length) == pytest.approx(left + share * (WIDTH - left - right))


def test_strokes_are_found_by_lane():
    """All strokes in the order painted, or those of one lane; texts are not among them."""
    marks = (Stroke(0, 1.0, 0), Text(0, 1.0, "1"), Stroke(0, 2.0, 1), Stroke(3, 1.0, 0))
    scene = Scene("a", "A.", marks, 0, 6, 3.0)
    assert scene.strokes() == (marks[0], marks[2], marks[3])
    assert scene.strokes(0) == (marks[0], marks[3])
    assert scene.strokes(1) == (marks[2],)
    assert scene.strokes(2) == ()


@TRIES
@given(st.integers(1, 200), st.integers(1, 4))
def test_strokes_are_as_large_as_their_neighbours_allow(count, copies):
    """Eight px at most; smaller where a lane has many, however often and how high it is drawn."""
    marks = tuple(Stroke(i, float(i % 5 + 10 * k), 0) for k in range(copies) for i in range(count))
    scene = Scene("a", "A.", marks, 0, count, 3.0)
    apart = (WIDTH - 100) / count
    assert scene.radius == pytest.approx(max(2.5, min(8, 0.36 * apart)))
    assert scene.radius == 2.5 or 2 * scene.radius < apart


def test_a_scene_without_strokes_can_be_painted():
    """Its strokes would have the full size."""
    assert Scene("a", "A.", (), 0, 1, 1.0).radius == 8


def test_a_scene_shows_itself_in_a_notebook_with_its_words():
    """The cell shows the static picture, which carries its text alternative."""
    shown = SEVEN._repr_html_()
    assert shown.startswith("<svg ")
    assert "var(--" not in shown
    assert escape(SEVEN.alt) in shown


def test_a_scene_does_not_change():
    """It is frozen, and the same rhythm draws an equal one."""
    with pytest.raises(FrozenInstanceError):
        SEVEN.alt = "else"
    assert rl.pictures.strip(rl.Polyrhythm(7, 4).cycle()) == SEVEN
    assert rl.pictures.strip(rl.Polyrhythm(7, 4).cycle(0)) != SEVEN

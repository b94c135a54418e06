"""How much of a cycle a picture shows."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.draw.fit import MOST_STROKES, readable


@given(st.integers(1, 400), st.integers(1, 400), st.data())
def test_a_readable_window_holds_few_strokes_and_starts_and_ends_on_beats(p, q, data):
    """All of a small cycle; of a large one whole beats from the one asked for, half as many strokes."""
    rhythm = rl.Polyrhythm(p, q)
    cycle = rhythm.cycle()
    asked = data.draw(st.integers(0, rhythm.ticks - 1))

    start, stop = readable(cycle, asked)

    assert 0 <= start < stop <= rhythm.ticks
    if p + q <= MOST_STROKES:
        assert (start, stop) == (asked, rhythm.ticks)
        return
    step = rhythm.step(1)
    assert start == asked // step * step
    strokes = sum(-(-stop // rhythm.step(i)) + -start // rhythm.step(i) for i in (0, 1))
    assert strokes <= MOST_STROKES // 2 + 2
    beats = list(range(0, rhythm.ticks + 1, step))
    assert stop in beats or strokes > MOST_STROKES // 2 - 2  # a single beat may be too full to show whole


def test_a_picture_may_start_anywhere_and_shows_what_can_be_read_from_there():
    """A start without a stop is the beginning of a readable window."""
    cycle = rl.Polyrhythm(128, 127).cycle()

    scene = rl.pictures.strip(cycle, start=5120)

    assert (scene.start, scene.stop) == readable(cycle, 5120)
    assert {stroke.x for stroke in scene.strokes(1)} == set(range(5120, scene.stop, 128))


def test_a_start_at_the_end_is_refused():
    """There is nothing to read after the last tick, and the message says so."""
    with pytest.raises(
        ValueError, match="start=28 is at the end of this cycle of 28 ticks; for example start=0"
    ):
        rl.pictures.strip(rl.Polyrhythm(7, 4).cycle(), start=28)

"""A take under its picture: each stroke of the cycle shown stands on its tick, and the text says how many."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.draw.palette import lane_role
from rhythmlab.draw.scene import Band, Rule, Text
from rhythmlab.draw.taken import with_take
from tests.profile import tries

pulses = st.integers(2, 9)
strokes = st.lists(st.tuples(st.integers(0, 1), st.floats(0, 0.999)), max_size=9)


@settings(max_examples=tries(40), deadline=None)
@given(pair=st.tuples(pulses, pulses), cycles=st.lists(strokes, min_size=1, max_size=4), data=st.data())
def test_every_stroke_of_the_cycle_shown_stands_on_its_tick(pair, cycles, data):
    """One bar a stroke, in the colour of its lane, centred on where it was played; none of other cycles."""
    p = rl.Polyrhythm(*pair)
    cycles = [[(lane, at * p.ticks) for lane, at in each] for each in cycles]
    which = data.draw(st.integers(1, len(cycles)))
    scene = rl.pictures.strip(p)
    played = {"cycles": cycles, "mark": None, "start": 0, "stop": p.ticks}
    meant = [[int(tick) for tick in lane.onsets] for lane in p.cycle().lanes]
    joined = with_take(scene, played, meant, which)
    assert joined.marks[: len(scene.marks)] == scene.marks
    added = joined.marks[len(scene.marks) :]
    bars = sorted((one.role, (one.left + one.right) / 2) for one in added if isinstance(one, Band))
    expected = sorted((lane_role(lane), at) for lane, at in cycles[which - 1])
    assert [role for role, _ in bars] == [role for role, _ in expected]
    assert [at for _, at in bars] == pytest.approx([at for _, at in expected])
    lanes = {lane for each in cycles for lane, _ in each}
    assert sorted(one.x for one in added if isinstance(one, Rule)) == sorted(
        tick for lane in lanes for tick in meant[lane]
    )
    assert all(scene.rows <= one.top < one.bottom <= joined.rows for one in added if isinstance(one, Band))
    assert joined.alt.startswith(scene.alt)
    assert f"cycle {which} of {len(cycles)}" in joined.alt


@pytest.mark.parametrize(("at", "word"), [(3.3, "late"), (2.8, "early"), (None, "not played")])
def test_the_stroke_that_matters_is_ringed_and_named(at, word):
    """In its own cycle alone: late, early or not played, in the picture and in its text."""
    scene = rl.pictures.strip((4, 3))
    first = [(0, 0.0)] if at is None else [(0, 0.0), (0, at)]
    mark = {"cycle": 2, "lane": 0, "tick": 3}
    played = {"cycles": [[(0, 0.0)], first], "mark": mark, "start": 0, "stop": 12}
    joined = with_take(scene, played, [(0, 3, 6, 9), (0, 4, 8)])
    assert joined.alt.endswith(f"; the ringed one is {word}.")
    assert [one.text for one in joined.marks if isinstance(one, Text)][-1] == word
    assert "ringed" not in with_take(scene, played, [(0, 3, 6, 9), (0, 4, 8)], 1).alt


def test_a_picture_without_time_and_no_take_stay_as_they_are():
    """Ways over tempos have no ticks to stand on."""
    ways = rl.pictures.ways((7, 4), 72)
    played = {"cycles": [[(0, 0.0)]], "mark": None, "start": 0, "stop": 240}
    assert with_take(ways, played, [(0,)]) is ways
    strip = rl.pictures.strip((4, 3))
    assert with_take(strip, {**played, "cycles": []}, [(0,)]) is strip

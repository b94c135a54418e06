"""A take under its picture: each stroke of the cycle shown stands on its tick, and the text says how many."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.draw.scene import Line, Rule, Stroke, Text, text_at
from rhythmlab.draw.taken import with_take
from tests.profile import tries

pulses = st.integers(2, 9)
strokes = st.lists(st.tuples(st.integers(0, 1), st.floats(-0.05, 0.999)), max_size=9)


def taken(cycles, ticks, mark=None, names=("right hand", "left hand")):
    """Return a take as a stage has it."""
    said = [f"What you played in cycle {i + 1} of {len(cycles)}: said." for i in range(len(cycles))]
    named = {str(lane): name for lane, name in enumerate(names)}
    return {"cycles": cycles, "said": said, "names": named, "mark": mark, "start": 0, "stop": ticks}


@settings(max_examples=tries(40), deadline=None)
@given(pair=st.tuples(pulses, pulses), cycles=st.lists(strokes, min_size=1, max_size=4), data=st.data())
def test_every_stroke_of_the_cycle_shown_stands_on_its_tick(pair, cycles, data):
    """One in the shape of its lane, none of other cycles, before beat 1 too; what was meant is as it was."""
    p = rl.Polyrhythm(*pair)
    cycles = [[(lane, at * p.ticks) for lane, at in each] for each in cycles]
    which = data.draw(st.integers(1, len(cycles)))
    scene = rl.pictures.strip(p)
    meant = [[int(tick) for tick in lane.onsets] for lane in p.cycle().lanes]
    joined = with_take(scene, taken(cycles, p.ticks), meant, which)
    assert joined.marks[: len(scene.marks)] == scene.marks
    assert joined.radius == scene.radius
    added = joined.marks[len(scene.marks) :]
    found = [one for one in added if isinstance(one, Stroke)]
    assert sorted((one.lane, one.x) for one in found) == sorted(cycles[which - 1])
    assert all(one.played for one in found)
    assert len({(one.lane, one.y) for one in found}) == len({one.lane for one in found})
    rules = [one for one in added if isinstance(one, Rule)]
    assert sorted(one.x for one in rules) == sorted(tick for lane in meant for tick in lane)
    assert all(scene.rows <= one.top < one.bottom <= joined.rows for one in rules)
    assert joined.alt == f"{scene.alt} What you played in cycle {which} of {len(cycles)}: said."


@pytest.mark.parametrize("named", ["beat 2", ""])
@pytest.mark.parametrize(("at", "word"), [(3.3, "late"), (2.8, "early"), (None, "not played")])
def test_the_stroke_that_matters_is_ringed_and_named(at, word, named):
    """In its own cycle alone: its place, and late, early or not played, under its ring."""
    scene = rl.pictures.strip((4, 3))
    first = [(0, 0.0)] if at is None else [(0, 0.0), (0, at)]
    played = taken([[(0, 0.0)], first], 12, {"cycle": 2, "lane": 0, "tick": 3, "name": named})
    meant = [(0, 3, 6, 9), (0, 4, 8)]
    joined = with_take(scene, played, meant)
    last = joined.marks[-1]
    assert last.text == (f"{named}: {word}" if named else word)
    ring = [one for one in joined.marks if isinstance(one, Line) and one not in scene.marks]
    assert sum(one.left + one.right for one in ring[-24:]) / 48 == pytest.approx(3 if at is None else at)
    assert max(one.bottom for one in ring) < last.y < joined.rows
    other = with_take(scene, played, meant, 1)
    assert not [one for one in other.marks if isinstance(one, Line) and one not in scene.marks]
    assert other.rows < joined.rows


@settings(max_examples=tries(20), deadline=None)
@given(tick=st.sampled_from([0, 3, 6, 9]), off=st.floats(-0.9, 0.9), name=st.text("abc &", max_size=24))
def test_the_name_of_the_ringed_stroke_stays_in_the_picture(tick, off, name):
    """At either end of the cycle it moves inwards."""
    scene = rl.pictures.strip((4, 3))
    mark = {"cycle": 0, "lane": 0, "tick": tick, "name": name}
    joined = with_take(scene, taken([[(0, tick + off)]], 12, mark), [(0, 3, 6, 9), (0, 4, 8)])
    last = joined.marks[-1]
    half = 10 * len(last.text) / 2
    assert half <= joined.x(last.x) <= joined.width - half


@settings(max_examples=tries(20), deadline=None)
@given(early=st.floats(0.01, 0.9), name=st.sampled_from(["4", "snare", "right hand"]))
def test_a_stroke_before_beat_1_stands_before_it_clear_of_the_name_of_its_lane(early, name):
    """Where it came, in the picture; its ring and its word go with it, and its name ends before it."""
    scene = rl.pictures.strip((4, 3))
    mark = {"cycle": 0, "lane": 0, "tick": 0, "name": "beat 1"}
    joined = with_take(scene, taken([[(0, -early)]], 12, mark, (name, "3")), [(0, 3, 6, 9), (0, 4, 8)])
    added = joined.marks[len(scene.marks) :]
    (stroke,) = [one for one in added if isinstance(one, Stroke)]
    assert stroke.x == -early
    assert joined.marks[-1].text == "beat 1: early"
    ring = [one for one in added if isinstance(one, Line)][-24:]
    assert sum(one.left + one.right for one in ring) / 48 == pytest.approx(-early)
    names = [one for one in added if isinstance(one, Text) and one.y == stroke.y]
    for one in names:
        end, _ = text_at(joined, one)
        assert 9 * len(one.text) <= end <= joined.x(stroke.x) - 14 + 1e-9


def test_of_a_later_part_of_a_cycle_no_stroke_from_before_it_is_shown():
    """What came before the picture begins is in no picture, and is not put on its first tick."""
    scene = rl.pictures.strip((4, 3), start=4, stop=12)
    joined = with_take(scene, taken([[(0, 3.0), (0, 6.1)]], 12), [(0, 3, 6, 9), (0, 4, 8)])
    assert [one.x for one in joined.strokes() if one.played] == [6.1]


def test_a_lane_that_was_not_played_has_its_row_and_each_row_the_name_that_fits():
    """Whose it is and which, where the gutter has room; else which, else whose."""
    scene = rl.pictures.strip((4, 3))

    def names(*given):
        joined = with_take(scene, taken([[(0, 0.0)]], 12, names=given), [(0, 3, 6, 9), (0, 4, 8)])
        return [one.text for one in joined.marks[len(scene.marks) :] if isinstance(one, Text)]

    assert names("4", "3") == ["you 4", "you 3"]
    assert names("snare", "a long name of one") == ["snare", "you"]


def test_a_picture_without_time_and_no_take_stay_as_they_are():
    """Ways over tempos have no ticks to stand on."""
    ways = rl.pictures.ways((7, 4), 72)
    assert with_take(ways, taken([[(0, 0.0)]], 240), [(0,)]) is ways
    strip = rl.pictures.strip((4, 3))
    assert with_take(strip, taken([], 12), [(0,)]) is strip

"""Cycles and lanes: values that cannot be changed, and that refuse what does not fit."""

from dataclasses import FrozenInstanceError

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from tests.brute import strokes
from tests.refusals import TOO_LONG, refusal, works
from tests.strategies import TRIES, cycles, several

BELL = rl.Lane("bell", [0, 2, 4])


def bell(**changed: object) -> rl.Lane:
    """Return a lane in which everything is given, with some of it changed."""
    full = {
        "name": "bell",
        "onsets": [0, 2, 4],
        "limb": "right hand",
        "sound": "bell",
        "accents": [0],
        "ghosts": [2, 4],
        "hands": "RLR",
    }
    return rl.Lane(**full | changed)


def bar(**changed: object) -> rl.Cycle:
    """Return a cycle in which everything is given, with some of it changed."""
    return rl.Cycle(**{"ticks": 6, "lanes": [bell()], "beats": [0, 3], "bars": [0]} | changed)


CHANGES_OF_A_LANE = [
    {"name": "block"},
    {"onsets": [0, 2, 5], "ghosts": [2, 5]},
    {"limb": "left hand"},
    {"sound": "click"},
    {"accents": [0, 2]},
    {"ghosts": [2]},
    {"hands": "RLL"},
]
CHANGES_OF_A_CYCLE = [{"ticks": 7}, {"lanes": [BELL]}, {"lanes": []}, {"beats": [0, 2, 4]}, {"bars": [0, 3]}]


def test_a_lane_keeps_what_it_is_given():
    """Onsets become an int64 array; marks become tuples of Python's whole numbers; the rest stays text."""
    lane = bell(onsets=np.array([0, 2, 4], dtype=np.uint8), accents=np.array([0]), ghosts=iter([2, 4]))
    assert (lane.onsets.dtype, lane.onsets.tolist()) == (np.int64, [0, 2, 4])
    assert (lane.accents, lane.ghosts, lane.hands) == ((0,), (2, 4), "RLR")
    assert (lane.name, lane.limb, lane.sound) == ("bell", "right hand", "bell")


def test_a_plain_lane_has_no_limb_no_marks_no_hands_and_clicks():
    """What is left out is empty, and the sound is a click."""
    assert (BELL.limb, BELL.sound, BELL.accents, BELL.ghosts, BELL.hands) == ("", "click", (), (), "")


def test_a_lane_keeps_its_own_copy_of_the_onsets():
    """Changing the array that a lane was made from does not change the lane."""
    ticks = np.array([0, 2, 4])
    lane = rl.Lane("bell", ticks)
    ticks[0] = 1
    assert lane.onsets.tolist() == [0, 2, 4]


@pytest.mark.parametrize("array", [BELL.onsets, bar().beats, bar().bars, bar().lanes[0].onsets])
def test_the_arrays_are_read_only(array):
    """No tick of a lane or of a cycle can be written over."""
    with pytest.raises(ValueError, match="read-only"):
        array[0] = 1


@pytest.mark.parametrize(
    ("value", "field"), [(BELL, "name"), (BELL, "onsets"), (bar(), "ticks"), (bar(), "lanes")]
)
def test_the_fields_are_frozen(value, field):
    """No field of a lane or of a cycle can be set again."""
    with pytest.raises(FrozenInstanceError):
        setattr(value, field, None)


@pytest.mark.parametrize("changed", CHANGES_OF_A_LANE)
def test_lanes_compare_by_value(changed):
    """Equal contents make equal lanes with equal hashes; any one difference makes them differ."""
    assert bell() == bell(onsets=np.array([0, 2, 4], dtype=np.int16))
    assert len({bell(), bell(accents=(0,))}) == 1
    assert bell() != bell(**changed)


@pytest.mark.parametrize("changed", CHANGES_OF_A_CYCLE)
def test_cycles_compare_by_value(changed):
    """Equal contents make equal cycles with equal hashes; any one difference makes them differ."""
    assert bar() == bar(lanes=(bell(),), beats=np.array([0, 3]))
    assert len({bar(), bar(beats=(0, 3))}) == 1
    assert bar() != bar(**changed)


def test_a_lane_and_a_cycle_equal_nothing_else():
    """Comparing with another kind of thing is False, not an error."""
    assert BELL != "bell"
    assert bar() != 6
    assert bar() != BELL


@TRIES
@given(several)
def test_the_cycle_of_a_polyrhythm_has_a_lane_for_each_pulse(p):
    """Lanes are the pulses in order with their strokes; the beats are those of home, the last by default."""
    rows = strokes(p)
    for home in (None, *range(len(p.pulses))):
        cycle = p.cycle(home)
        assert cycle.ticks == p.ticks
        assert [lane.onsets.tolist() for lane in cycle.lanes] == rows
        assert [lane.name for lane in cycle.lanes] == list(map(str, p.pulses))
        assert cycle.beats.tolist() == rows[-1 if home is None else home]


@TRIES
@given(cycles())
def test_a_cycle_rebuilt_from_its_parts_is_equal(cycle):
    """A cycle given its own fields again is the same value, empty lanes and grouped beats included."""
    lanes = [rl.Lane(lane.name, lane.onsets.tolist()) for lane in cycle.lanes]
    again = rl.Cycle(cycle.ticks, lanes, beats=cycle.beats.tolist(), bars=cycle.bars)
    assert again == cycle
    assert hash(again) == hash(cycle)


def test_the_printed_forms_are_short_and_tell_the_ticks():
    """A small cycle prints its ticks; a long lane leaves the middle out and says how many there are."""
    plain = rl.Cycle(6, [BELL], beats=[0, 3], bars=[0])
    assert repr(plain) == "Cycle(6 ticks, beats 0 3, bars 0, lanes 'bell': 0 2 4)"
    assert repr(rl.Lane("x", range(0, 300, 3))) == "Lane('x': 0 3 6 9 12 15 18 21 … 297 (100 in all))"


def test_the_printed_form_tells_who_plays_what():
    """A limb stands after the name, the letters of the hands after the ticks, and neither is said twice."""
    seven = rl.Polyrhythm(7, 4)
    assert repr(rl.playing.split(seven)) == (
        "Cycle(28 ticks, beats 0 7 14 21, lanes '7' (right hand): 0 4 8 12 16 20 24, "
        "'4' (left hand): 0 7 14 21)"
    )
    assert repr(rl.playing.hand_to_hand(seven)) == (
        "Cycle(28 ticks, beats 0 7 14 21, bars 0, lanes 'line': 0 4 7 8 12 14 16 20 21 24, hands RLRLRLRLRL)"
    )
    assert repr(rl.Lane("line", [0, 1], limb="hands", hands="RL")) == "Lane('line': 0 1, hands RL)"
    assert repr(rl.Lane("x", [0, 1], limb="right hand", hands="RL")) == (
        "Lane('x' (right hand): 0 1, hands RL)"
    )
    assert repr(rl.Lane("x", [0, 1], limb="right hand", hands="LL")) == (
        "Lane('x' (right hand): 0 1, hands LL)"
    )


def test_long_hands_are_cut_as_long_ticks_are():
    """Up to twenty letters stand in full; of more, eight, the last one, and how many there are."""
    assert repr(rl.Lane("x", range(20), hands="RL" * 10)).endswith(", hands RLRLRLRLRLRLRLRLRLRL)")
    assert repr(rl.Lane("x", range(21), hands="RL" * 10 + "R")) == (
        "Lane('x': 0 1 2 3 4 5 6 7 … 20 (21 in all), hands RLRLRLRL … R (21 in all))"
    )


@pytest.mark.parametrize(
    ("changed", "given", "wrong"),
    [
        ({"onsets": [0, 2, 2], "hands": ""}, "[0, 2, 2]", "does not rise from tick to tick"),
        ({"onsets": np.array([4, 2, 0])}, "[4, 2, 0]", "does not rise from tick to tick"),
        ({"onsets": np.array([-1, 2, 4])}, "[-1, 2, 4]", "starts before tick 0"),
        ({"onsets": [-1, 2, 4]}, "-1", "not a whole number of at least 0"),
        ({"onsets": [0, 2.0, 4]}, "2.0", "not a whole number of at least 0"),
        ({"onsets": np.array([0.0, 2.0, 4.0])}, "0.0", "not a whole number of at least 0"),
        ({"onsets": [True, 2, 4]}, "True", "not a whole number of at least 0"),
        ({"onsets": "024"}, "'024'", "not a list of ticks"),
        ({"onsets": 5}, "5", "not a list of ticks"),
        ({"onsets": None}, "None", "not a list of ticks"),
        ({"onsets": np.array(5)}, "array(5)", "not a list of ticks"),
        ({"onsets": np.array([[0, 2, 4]])}, "array([[0, 2, 4]])", "not a list of ticks"),
        ({"onsets": [0, 2, 10**30]}, "10000000", "goes beyond 2**62"),
        ({"onsets": np.array([2**62 + 1])}, str(2**62 + 1), "goes beyond 2**62"),
        ({"onsets": np.array([2**63], dtype=np.uint64)}, str(2**63), "goes beyond 2**62"),
        ({"accents": [1]}, "accents=[1]", "tick 1, where it has no stroke"),
        ({"accents": np.array([0, 3])}, "accents=[0, 3]", "tick 3, where it has no stroke"),
        ({"ghosts": [2, 5]}, "ghosts=[2, 5]", "tick 5, where it has no stroke"),
        ({"accents": [2, 0]}, "[2, 0]", "does not rise from tick to tick"),
        ({"accents": 0}, "accents of lane 'bell'=0", "not a list of ticks"),
        ({"hands": "RL"}, "hands='RL'", "one letter R or L for each of its 3 strokes"),
        ({"hands": "RLX"}, "hands='RLX'", "one letter R or L for each of its 3 strokes"),
        ({"hands": 3}, "hands=3", "is not text"),
        ({"name": 3}, "name=3", "is not text"),
        ({"limb": None}, "limb=None", "is not text"),
        ({"sound": 1.5}, "sound=1.5", "is not text"),
    ],
)
def test_a_lane_refuses_what_does_not_fit(changed, given, wrong):
    """The message says what was given, what is wrong with it, and shows a lane that works."""
    example = refusal(lambda: bell(**changed), given, wrong)
    assert isinstance(works(example), rl.Lane)


@pytest.mark.parametrize(
    ("changed", "given", "wrong"),
    [
        ({"ticks": 4}, "lane 'bell' has tick 4", "outside this cycle of 4 ticks (0 to 3)"),
        ({"ticks": 0}, "ticks=0", "not a whole number of at least 1"),
        ({"ticks": -6}, "ticks=-6", "not a whole number of at least 1"),
        ({"ticks": 6.0}, "ticks=6.0", "not a whole number of at least 1"),
        ({"ticks": True}, "ticks=True", "not a whole number of at least 1"),
        ({"ticks": 2**62 + 1}, f"ticks={2**62 + 1}", "beyond 2**62"),
        ({"beats": [0, 6]}, "beats has tick 6", "outside this cycle of 6 ticks (0 to 5)"),
        ({"bars": [9]}, "bars has tick 9", "outside this cycle of 6 ticks (0 to 5)"),
        ({"beats": [3, 0]}, "[3, 0]", "does not rise from tick to tick"),
        ({"beats": 3}, "beats=3", "not a list of ticks"),
        ({"bars": None}, "bars=None", "not a list of ticks"),
        ({"lanes": ["bell"]}, "'bell'", "is not a Lane"),
        ({"lanes": [BELL, [0, 2]]}, "[0, 2]", "is not a Lane"),
        ({"lanes": BELL}, "Lane('bell': 0 2 4)", "not a list of lanes"),
        ({"lanes": None}, "lanes=None", "not a list of lanes"),
    ],
)
def test_a_cycle_refuses_what_does_not_fit(changed, given, wrong):
    """The message says what was given, what is wrong with it, and shows a cycle that works."""
    example = refusal(lambda: bar(**changed), given, wrong)
    assert isinstance(works(example), rl.Cycle)


def test_numbers_too_long_to_print_are_refused_in_the_same_words():
    """Ticks of 5000 digits get the same message as other long ones."""
    refusal(lambda: bar(ticks=10**5000), f"ticks={TOO_LONG}", "beyond 2**62")
    refusal(lambda: bell(onsets=[10**5000]), TOO_LONG, "goes beyond 2**62")


def test_lanes_and_strokes_are_as_many_as_can_be_held():
    """A thousand lanes, and half a million strokes of a list; a long name is cut in messages."""
    rows = [rl.Lane("a", [0])] * 1000
    assert len(rl.Cycle(4, rows, beats=[0]).lanes) == 1000
    refusal(lambda: rl.Cycle(4, [*rows, rows[0]], beats=[0]), "lanes=", "holds more than 1,000")
    assert len(rl.Lane("a", range(500_000)).onsets) == 500_000
    refusal(lambda: rl.Lane("a", range(500_001)), "onsets of lane 'a'", "holds more than 500,000")
    refusal(lambda: rl.Lane("x" * 10**6, [0, -1]), "lane 'xxx", "at least 0")
    with pytest.raises(ValueError, match="lane 'xxx") as caught:
        rl.Lane("x" * 10**6, [1, 0])
    assert len(str(caught.value)) < 300


@TRIES
@given(st.sets(st.integers(0, 60)), st.sets(st.integers(0, 60)))
def test_an_accent_is_a_stroke_whatever_the_two_are(strokes, marks):
    """Accents pass where each is a stroke, and else the first that is none is named."""
    onsets, accents = sorted(strokes), sorted(marks)
    strange = [tick for tick in accents if tick not in strokes]
    if not strange:
        assert rl.Lane("a", onsets, accents=accents).accents == tuple(accents)
    else:
        refusal(
            lambda: rl.Lane("a", onsets, accents=accents),
            f"name tick {strange[0]},",
            "where it has no stroke",
        )


@given(st.lists(st.integers(1, 9), min_size=1, max_size=12), st.integers(0, 8))
def test_the_beat_of_a_cycle_is_its_commonest_and_of_those_its_first(lengths, later):
    """Even or grouped, begun on tick 0 or later: bpm of home are of the length that most beats have."""
    begin, ticks = later % lengths[-1], sum(lengths)
    cycle = rl.Cycle(ticks, [], beats=[sum(lengths[:i]) + begin for i in range(len(lengths))])
    assert cycle.beat == max(lengths, key=lambda length: (lengths.count(length), -lengths.index(length)))
    assert rl.sound(cycle, 120).tick_seconds == rl.Tempo(120, ticks=cycle.beat).tick_seconds(cycle)


def test_a_cycle_without_beats_has_itself_as_beat():
    """And no number can be its tempo, since there is no beat to count."""
    assert rl.Cycle(7, [], beats=[]).beat == 7
    with pytest.raises(rl.Refusal, match="names no beat"):
        rl.sound(rl.Cycle(7, [rl.Lane("a", [0])], beats=[]), 72)

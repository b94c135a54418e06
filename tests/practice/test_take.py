"""A take: what the browser sends, what a journal keeps, and what is refused."""

import json
from dataclasses import FrozenInstanceError
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.practice.take import INPUTS, MODES, Take, from_row, take_from
from tests.practice.simulate import pair, with_taps
from tests.refusals import refusal
from tests.strategies import TRIES, bpms, cycles
from tests.wrong import in_time

CYCLE, TEMPO = rl.Polyrhythm(4, 3).cycle(), rl.Tempo(60, pulse=1)


def message(**changes):
    """Return a message of two cycles of 4:3 at 60 on the 3; its clock begins at 10 s."""
    return {
        "id": "a1",
        "mode": "both pulses",
        "lanes": [0, 1],
        "ticks": 12,
        "start": 0,
        "stop": 12,
        "cycles": 2,
        "cycle_s": 3.0,
        "t0": 10.0,
        "taps": [[0, 10.02], [1, 9.99], [1, 11.0]],
        "offset_ms": -20.5,
        "limbs": "hands",
        "when": "2030-05-04T18:30:00+02:00",
        "silent": [2, 1],
        "home": 1,
        "late": 3,
        "input": "pads",
    } | changes


@st.composite
def takes(draw):
    """Draw a take of any cycle with a lane, any mode, and taps anywhere."""
    cycle = draw(cycles().filter(lambda cycle: len(cycle.lanes) > 1))
    count = len(cycle.lanes)
    mode = draw(st.sampled_from(MODES))
    size = {"one pulse": (1, 1), "both pulses": (2, count)}.get(mode, (1, count))
    lanes = draw(st.sets(st.integers(0, count - 1), min_size=size[0], max_size=size[1]))
    start = draw(st.integers(0, cycle.ticks - 1))
    taps = draw(st.lists(st.tuples(st.integers(0, count - 1), st.floats(-5, 60)), max_size=30))
    return Take(
        cycle=cycle,
        tempo=rl.Tempo(draw(bpms), ticks=draw(st.integers(1, 9))),
        cycles=draw(st.integers(1, 5)),
        start=start,
        stop=draw(st.integers(start + 1, cycle.ticks)),
        mode=mode,
        lanes=tuple(lanes),
        tap_lanes=[lane for lane, _ in taps],
        tap_times=[time for _, time in taps],
        offset_ms=draw(st.floats(-300, 300)),
        limbs=draw(st.sampled_from(["", "hands", "Fuß und Hand"])),
        when=draw(st.sampled_from(["", "2030-05-04T18:30:00+02:00"])),
        silent=draw(st.sampled_from([(0, 0), (2, 1)])),
        id=draw(st.text(max_size=5)),
        home=draw(st.integers(0, count - 1)),
        late=draw(st.integers(0, 9)),
        input=draw(st.sampled_from(INPUTS)),
        interrupted=draw(st.booleans()),
    )


@TRIES
@given(takes())
def test_a_row_gives_the_take_back(take):
    """Through JSON text and back every part is the same, to the last bit of every time and of the tempo."""
    row = json.loads(json.dumps(take.as_row(), allow_nan=False))
    back = from_row(row)
    assert back == take
    assert hash(back) == hash(take)
    assert back.tempo.bpm == take.tempo.bpm
    assert np.array_equal(back.tap_times, take.tap_times)
    assert from_row({**row, "spread_percent": 3.1, "measured": []}) == take  # what else is kept is left alone
    assert take.spoiled == (take.late > 0 or take.interrupted)
    del row["interrupted"]  # as kept before 0.3.0
    assert not from_row(row).interrupted


@TRIES
@given(takes())
def test_strokes_are_meant_where_the_exact_tempo_puts_them(take):
    """Stroke n of a lane comes at whole turns plus its ticks, to a nanosecond of the exact fraction."""
    tick = take.tempo.tick_seconds(take.cycle)
    assert take.turn == tick * (take.stop - take.start)
    for i, lane in enumerate(take.cycle.lanes):
        ticks = [int(t) for t in lane.onsets if take.start <= t < take.stop]
        exact = [k * take.turn + (t - take.start) * tick for k in range(take.cycles) for t in ticks]
        assert take.meant(i) == pytest.approx([float(time) for time in exact], abs=1e-9, rel=1e-12)
    line = set().union(*(take.ticks(i).tolist() for i in take.lanes))
    assert take.ticks(None).tolist() == sorted(line)


def test_the_message_becomes_a_take():
    """Times count from t0, are sorted, and the calibration is taken off only when they are judged."""
    take = take_from(message(), CYCLE, TEMPO)
    assert take.tap_lanes.tolist() == [1, 0, 1]
    assert take.tap_times == pytest.approx([-0.01, 0.02, 1.0])
    assert take.played() == pytest.approx([0.0105, 0.0405, 1.0205])
    assert take.played(0) == pytest.approx([0.0405])
    assert (take.tempo, take.cycles, take.mode, take.lanes) == (TEMPO, 2, "both pulses", (0, 1))
    assert (take.limbs, take.silent, take.home, take.late, take.input) == ("hands", (2, 1), 1, 3, "pads")
    assert (take.id, take.when, take.offset_ms) == ("a1", "2030-05-04T18:30:00+02:00", -20.5)
    assert take.calibrated


def test_what_a_browser_may_leave_out():
    """Calibration, limbs, time, drop-out, home, late count and input have a value of their own."""
    short = {k: v for k, v in message().items() if k not in list(message())[10:]}
    take = take_from(short, CYCLE, TEMPO)
    assert (take.offset_ms, take.calibrated, take.limbs, take.when) == (0.0, False, "", "")
    assert (take.silent, take.home, take.late, take.input) == ((0, 0), 1, 0, "keys")


@pytest.mark.parametrize(
    ("turn", "bpm"), [(3.0, 60), (3.0000001, 60), (4.0, 45), (3 / 0.7, 42), (3 / 1.035, Fraction(621, 10))]
)
def test_the_tempo_is_the_one_that_sounded(turn, bpm):
    """A turn at three quarters of the speed is a take at 45 bpm, in the same beat."""
    take = take_from(message(cycle_s=turn), CYCLE, TEMPO)
    assert take.tempo == rl.Tempo(bpm, pulse=1)
    assert float(take.turn) == pytest.approx(turn, rel=1e-6)


def test_a_slice_turns_in_its_own_time():
    """The first half of 4:3 turns in 1.5 s: two strokes of the 4 and two of the 3."""
    take = take_from(message(stop=6, cycle_s=1.5, cycles=3), CYCLE, TEMPO)
    assert take.tempo == TEMPO
    assert take.meant(0) == pytest.approx([0, 0.75, 1.5, 2.25, 3, 3.75])
    assert take.meant(1) == pytest.approx([0, 1, 1.5, 2.5, 3, 4])
    assert take.meant(None) == pytest.approx([0, 0.75, 1, 1.5, 2.25, 2.5, 3, 3.75, 4])


def test_a_row_fits_a_journal():
    """The row names its kind, its pair and its tempo as the journal reads them."""
    row = take_from(message(), CYCLE, TEMPO).as_row()
    assert (row["kind"], row["pair"], row["pulse"], row["bpm"]) == ("take", [4, 3], 1, "60")
    assert (row["id"], row["limbs"]) == ("a1", "hands")
    uneven = rl.Cycle(6, [rl.Lane("bell", [0, 2, 3]), rl.Lane("foot", [0, 3])], beats=[0, 3])
    tempo = rl.Tempo(Fraction(171, 2), ticks=3)
    row = take_from(
        message(ticks=6, stop=6, cycle_s=float(tempo.cycle_seconds(uneven))), uneven, tempo
    ).as_row()
    assert "pair" not in row
    assert (row["bpm"], row["beat_ticks"]) == ("171/2", 3)


def test_a_take_is_a_value():
    """Its arrays cannot be changed, nor its fields, and it prints in a line."""
    take = pair(4, 3)
    other = with_taps(take, [0], [0.1])
    assert take != other
    assert take == pair(4, 3)
    with pytest.raises(FrozenInstanceError):
        take.cycles = 3
    with pytest.raises(ValueError, match="read-only"):
        other.tap_times[0] = 0
    assert repr(other) == "Take(both pulses: 1 taps in 8 cycles of 12 ticks, Tempo(84, pulse=1))"


@pytest.mark.parametrize(
    ("changes", "given", "wrong"),
    [
        ({"ticks": 28}, "ticks=28", "a take of another cycle"),
        ({"lanes": [0, 2]}, "lane=2", "out of range"),
        ({"lanes": "01"}, "lanes='01'", "not a list of lanes"),
        ({"lanes": [0]}, "lanes=[0]", "not two lanes or more"),
        ({"mode": "one pulse"}, "lanes=[0, 1]", "not one lane"),
        ({"mode": "composite", "lanes": []}, "lanes=[]", "not a lane"),
        ({"mode": "solo"}, "mode='solo'", "not one of one pulse, both pulses"),
        ({"taps": [[2, 10.0]]}, "lane=2", "out of range"),
        ({"taps": [[-1, 10.0]]}, "lane=-1", "not a whole number"),
        ({"taps": [[0, float("nan")]]}, "the time of a tap=nan", "not a finite number"),
        ({"taps": [[0, float("inf")]]}, "the time of a tap=inf", "not a finite number"),
        ({"taps": [[0, "10"]]}, "the time of a tap='10'", "not a finite number"),
        ({"taps": [[0, True]]}, "the time of a tap=True", "not a finite number"),
        ({"taps": [[0]]}, "taps=[[0]]", "not a list of lanes and times"),
        ({"taps": None}, "taps=None", "not a list of lanes and times"),
        ({"t0": None}, "t0=None", "not a finite number"),
        ({"t0": float("nan")}, "t0=nan", "not a finite number"),
        ({"cycle_s": 0}, "cycle_s=0", "not a time above 0"),
        ({"cycle_s": float("nan")}, "cycle_s=nan", "not a finite number"),
        ({"cycle_s": 10**400}, "cycle_s=1000", "not a finite number"),
        ({"start": 6, "stop": 6}, "cycle_s=3.0", "a slice of 0 ticks"),
        ({"stop": 13}, "start=0, stop=13", "no slice of this cycle of 12 ticks"),
        ({"start": 0.5}, "start=0.5", "not a whole number"),
        ({"cycles": 0}, "cycles=0", "not a whole number"),
        ({"cycles": 100_000}, "700,000 strokes", "more than one take holds"),
        ({"offset_ms": float("nan")}, "offset_ms=nan", "not a finite number"),
        ({"limbs": 2}, "limbs=2", "not text"),
        ({"id": 7}, "id=7", "not text"),
        ({"when": "yesterday"}, "when='yesterday'", "not a time with its UTC offset"),
        ({"when": "2030-05-04T18:30:00"}, "when='2030-05-04T18:30:00'", "not a time with its UTC offset"),
        ({"silent": [1]}, "silent=[1]", "not two numbers of cycles"),
        ({"silent": [1, -1]}, "silent=-1", "not a whole number"),
        ({"home": 2}, "home=2", "out of range"),
        ({"late": -1}, "late=-1", "not a whole number"),
        ({"input": "mouse"}, "input='mouse'", "not one of keys, pads"),
    ],
)
def test_a_message_that_does_not_fit_is_refused(changes, given, wrong):
    """The message of the error says what was given, what is wrong, and shows what works."""
    refusal(lambda: take_from(message(**changes), CYCLE, TEMPO), given, wrong, (ValueError, IndexError))


@pytest.mark.parametrize("name", list(message())[:10])
def test_a_message_with_a_part_missing_is_refused(name):
    """The missing part is named."""
    short = {k: v for k, v in message().items() if k != name}
    refusal(lambda: take_from(short, CYCLE, TEMPO), repr(name), "has no")


def test_what_is_no_message_and_no_row_is_refused():
    """Neither a list, nor a row with a part missing or broken, gives a take."""
    refusal(lambda: take_from([], CYCLE, TEMPO), "[]", "not a message with names")
    row = pair(4, 3).as_row()
    for bad in ({}, {**row, "cycle": {}}, {**row, "lanes": None}, {**row, "bpm": "1/0"}):
        refusal(lambda bad=bad: from_row(bad), "{", "not a row that a take gave")
    fields = {"cycles": 1, "start": 0, "stop": 12, "mode": "one pulse", "lanes": (0,)}
    taps = {"tap_lanes": [], "tap_times": []}
    refusal(lambda: Take(cycle=1, tempo=TEMPO, **fields, **taps), "cycle=1", "is no rhythm: ")
    refusal(lambda: Take(cycle=CYCLE, tempo="72", **fields, **taps), "tempo='72'", "is neither a Tempo nor")
    for what, tempo in (
        ((4, 3), rl.Tempo(72, pulse=1)),
        (rl.Polyrhythm(4, 3), rl.Tempo(72, pulse=1)),
        (CYCLE, rl.Tempo(72, ticks=4)),
    ):
        given = Take(cycle=what, tempo=72, **fields, **taps)
        assert (given.cycle, given.tempo) == (CYCLE, tempo)
    given = Take(cycle=(4, 3), tempo=72, home=0, **fields, **taps)
    assert (given.cycle, given.tempo) == (rl.Polyrhythm(4, 3).cycle(0), rl.Tempo(72, pulse=0))
    bare = rl.Cycle(12, [], beats=[0])
    refusal(lambda: Take(cycle=bare, tempo=TEMPO, **fields, **taps), "Cycle(12 ticks", "no lane to play")
    for lanes, times in (([0], []), (0, 0.5)):
        taps = {"tap_lanes": lanes, "tap_times": times}
        refusal(
            lambda taps=taps: Take(cycle=CYCLE, tempo=TEMPO, **fields, **taps),
            "tap_lanes=",
            "not as many lanes as times",
        )


@pytest.mark.parametrize(
    ("changes", "given", "wrong"),
    [
        ({"tempo": rl.Tempo(Fraction(1, 1000), pulse=1)}, "2 cycles of 180,000", "longer than a day"),
        ({"tap_times": [90_000.0]}, "the time of a tap=90000.0", "further from 0 than 86,400"),
        ({"offset_ms": 60_001}, "offset_ms=60001", "further from 0 than 60,000"),
        ({"cycles": 100_001}, "cycles=100001", "more than 100,000"),
        ({"silent": (1, 10**9)}, "silent=1000000000", "more than 100,000"),
        ({"mode": ["one pulse"]}, "mode=['one pulse']", "is not one of"),
        ({"input": {}}, "input={}", "is not one of"),
        ({"tap_lanes": iter(int, 1)}, "tap_lanes=", "holds more than 500,000"),
    ],
)
def test_a_take_is_as_long_as_anyone_plays(changes, given, wrong):
    """A day, a minute of delay, half a million taps: more is refused by name."""
    fields = {"cycle": CYCLE, "tempo": TEMPO, "cycles": 2, "start": 0, "stop": 12, "mode": "one pulse"}
    fields |= {"lanes": (1,), "tap_lanes": [1], "tap_times": [0.5]}
    assert Take(**fields).cycles == 2
    refusal(lambda: Take(**{**fields, **changes}), given, wrong)


def test_a_row_with_a_tempo_from_nowhere_freezes_nothing():
    """An exponent of nine digits is refused at once."""
    row = pair(4, 3).as_row()
    with in_time(1):
        refusal(lambda: from_row({**row, "bpm": "1e999999999"}), "{", "not a row that a take gave")

"""A take that began late: that is told first, and then what was played, as if no more was asked for."""

import re
from itertools import permutations

import numpy as np
import pytest

from rhythmlab.practice.causes import causes, rest_of
from rhythmlab.practice.feedback import feedback
from tests.practice.players import Case, take_of
from tests.practice.simulate import pair, with_taps
from tests.profile import some

CYCLES = 8
#: Spread in ms, small against the shortest interval of any pair at this tempo of the second pulse.
SPREAD, BPM = 8, 60
CALIBRATED = {"offset_ms": -1.0, "lead_ms": 0}


def played(numbers, kind="clean", size=0.0, seed=0, **fields):
    """Return a take; slower where the first pulse is much the larger one."""
    bpm = min(BPM, 150 * numbers[1] / numbers[0])
    case = Case(kind, size, numbers, SPREAD, bpm, cycles=CYCLES)
    return take_of(case, np.random.default_rng(seed), **fields)


def from_cycle(take, cycles):
    """Return a take without what was played in its first cycles."""
    later = take.tap_times > cycles * float(take.turn) - 0.12
    return with_taps(take, take.tap_lanes[later], take.tap_times[later])


def cycles_late(take, cycles):
    """Return a take whose player did all of it so many cycles late, to the end of what is recorded."""
    times = take.tap_times + cycles * float(take.turn)
    heard = times < CYCLES * float(take.turn) + 0.3
    return with_taps(take, take.tap_lanes[heard], times[heard])


@pytest.mark.parametrize("numbers", some(permutations(range(2, 25), 2), 25, "began"))
def test_a_take_that_began_late_is_told_so(numbers):
    """All pairs, calibrated or not: who joins at a cycle, or is whole cycles late, is told from where on."""
    for fields in ({}, CALIBRATED):
        take = played(numbers, **fields)
        for cycles in (1, 4, 7):
            for late in (from_cycle(take, cycles), cycles_late(take, cycles)):
                first, *rest = causes(late)
                assert (first.kind, first.cycle, first.count) == ("began", cycles + 1, CYCLES), cycles
                assert not {cause.kind for cause in rest} - {"unsure", "hand", "looser", "place"}


def in_count_in(numbers, mode, offset_ms):
    """Return a take of two cycles, one of which was played before the first beat; and its strokes by time."""
    lanes = (0, 1) if mode == "both pulses" else (0,)
    take = pair(*numbers, 2, bpm=60, mode=mode, lanes=lanes, offset_ms=offset_ms)
    turn = float(take.turn)
    strokes = [(at - turn, lane) for lane in lanes for at in take.meant(lane).tolist()]
    return take, sorted(one for one in strokes if one[0] < -0.001)


@pytest.mark.parametrize("numbers", some(permutations(range(1, 25), 2), 25, "count in"))
@pytest.mark.parametrize("mode", ["both pulses", "one pulse"])
def test_a_take_played_in_the_count_in_is_told_so_and_blames_no_hand(numbers, mode):
    """All pairs, calibrated or not: a cycle before the first beat, or a part of it, and the beat."""
    for offset_ms in (0, -1.0):
        take, strokes = in_count_in(numbers, mode, offset_ms)
        on_beat = [(0.01, lane) for lane in take.lanes] if len(strokes) >= 8 else []
        for taps in (strokes, strokes[:1], strokes[: len(strokes) // 2 + 1], [*strokes, *on_beat]):
            early = with_taps(take, [lane for _, lane in taps], [at for at, _ in taps])
            assert [cause.kind for cause in causes(early)] == ["count_in"], taps
            (found,) = feedback(early)
            assert found.startswith("You played in the count-in, before the first beat: next, wait for ")
            assert not re.search("hand|did not play", found)


@pytest.mark.parametrize("numbers", some(permutations(range(2, 25), 2), 10, "counted along"))
def test_who_taps_along_with_the_count_in_and_then_plays_is_told_of_no_count_in(numbers):
    """Whatever comes before the first beat, the strokes after it are judged, also an early one."""
    take = played(numbers)
    for many in (4, 8):
        before = [-float(k) for k in range(1, many + 1)]
        both = with_taps(take, [*take.tap_lanes, *[0] * many], [*take.tap_times, *before])
        assert "count_in" not in {cause.kind for cause in causes(both)}
    assert "count_in" not in {cause.kind for cause in causes(with_taps(take, [0, 1], [-0.001, -0.001]))}


@pytest.mark.parametrize(("kind", "size"), [("swapped", 1), ("shifted", 1), ("locked", 1), ("hand", 40)])
@pytest.mark.parametrize("numbers", [(4, 3), (7, 4), (13, 8)])
def test_what_was_off_from_there_on_is_told_after_it(kind, size, numbers):
    """Just what is told of a take of only those cycles; the numbers of cycles are those of the whole."""
    late = cycles_late(played(numbers, kind, size, **CALIBRATED), 2)
    first, *rest = causes(late)
    assert (first.kind, first.cycle) == ("began", 3)
    assert tuple(rest) == causes(rest_of(late, 2))
    assert rest[0].kind == kind
    take = played(numbers, "slipped", -1, **CALIBRATED)
    told = next(cause for cause in causes(take) if cause.kind == "slipped").cycle
    said = feedback(cycles_late(take, 1))
    assert f"of cycle {told + 1} " in said[1], said


@pytest.mark.parametrize("numbers", some(permutations(range(2, 17), 2), 12, "not began", [(8, 5)]))
def test_a_shift_of_up_to_half_a_cycle_is_no_late_beginning(numbers):
    """All strokes as many beats late, calibrated: nothing was left out at the beginning."""
    parts = int(np.gcd(*numbers))
    for beats in range(1, numbers[1] // parts // 2 + 1):
        told = causes(played(numbers, "shifted", beats, **CALIBRATED))
        assert (told[0].kind, told[0].us > 0) == ("shifted", True), beats


@pytest.mark.parametrize("numbers", [(4, 3), (8, 5), (13, 8), (16, 15)])
def test_who_joins_within_a_cycle_is_judged_from_the_next_one(numbers):
    """In the middle of a cycle: where all strokes are in their places, that is no shift by as much."""
    for cycles in (0.5, 1.5):
        late = from_cycle(played(numbers, **CALIBRATED), cycles)
        found = causes(late)
        if numbers != (4, 3) or cycles > 1:  # up to three strokes are strokes left out
            assert (found[0].kind, found[0].cycle) == ("began", int(cycles + 1.5))
        assert "shifted" not in {cause.kind for cause in found}


@pytest.mark.parametrize("late_ms", [0, 150, 240])
def test_a_delay_that_nobody_measured_is_no_late_beginning(late_ms):
    """A device up to a quarter second late, at tempos at which that is several strokes."""
    for numbers in some([(3, 2), (7, 4), (16, 15), (10, 9)], 2, ("delay", late_ms)):
        case = Case("clean", 0, numbers, 8, 160, cycles=CYCLES)
        take = take_of(case, np.random.default_rng(1), lead_ms=late_ms)
        assert "began" not in {cause.kind for cause in causes(take)}, numbers


def test_the_silence_of_a_drop_out_stays_where_it_is():
    """Two cycles with the click and one without: what is judged begins with a click."""
    take = played((4, 3), silent=(2, 1))
    for cycles, judged in ((1, 4), (2, 4), (3, 4), (4, 7)):
        assert causes(from_cycle(take, cycles))[0].cycle == judged


@pytest.mark.parametrize("numbers", [(3, 2), (7, 4), (16, 15)])
@pytest.mark.parametrize("cycles", [1, 2.5, 6])
def test_one_thing_to_do_next_is_told(numbers, cycles):
    """With an end that came early, too; nothing off is answered with all that was asked for."""
    take = from_cycle(played(numbers), cycles)
    until = take.tap_times < 7 * float(take.turn) - 0.12
    for one in (take, with_taps(take, take.tap_lanes[until], take.tap_times[until])):
        said = feedback(one)
        assert sum(sentence.lower().count("next") for sentence in said) == 1, said
        assert re.match(
            rf"You came in late, so it is judged from cycle {int(cycles + 1.5)} of 8 on\.$", said[0]
        )
        assert "missed" not in " ".join(said)
    assert said[1] == "You stopped after cycle 7 of 8, so it is judged up to there."


def test_the_modes_of_one_line_are_told_too():
    """One pulse alone, and the merged line."""
    for mode, lanes in (("one pulse", (0,)), ("composite", (0, 1)), ("gap cycle", (0,))):
        meant = pair(5, 4, CYCLES, mode=mode, lanes=lanes)
        times = meant.meant(None if mode == "composite" else 0)
        times = times[times > 3 * float(meant.turn) - 1e-6]
        (first, *_) = causes(with_taps(meant, np.zeros(len(times), dtype=int), times))
        assert (first.kind, first.cycle) == ("began", 4), mode

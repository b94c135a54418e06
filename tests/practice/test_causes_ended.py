"""A take that ended early: that is told first, and then what was played, as if no more was asked for."""

import re
from itertools import permutations

import numpy as np
import pytest

from rhythmlab.practice.causes import causes
from rhythmlab.practice.feedback import feedback
from tests.practice.players import Case, stopped, take_of
from tests.practice.simulate import pair, with_taps
from tests.profile import some

CYCLES = 8
#: Spread in ms, small against the shortest interval of any pair at this tempo of the second pulse.
SPREAD, BPM = 8, 60


def clean(numbers, seed=0, **fields):
    """Return a clean take; slower where the first pulse is much the larger one."""
    bpm = min(BPM, 150 * numbers[1] / numbers[0])
    return take_of(
        Case("clean", 0, numbers, SPREAD, bpm, cycles=CYCLES), np.random.default_rng(seed), **fields
    )


def line(take):
    return np.unique(np.round(np.concatenate([take.meant(lane) for lane in take.lanes]), 6))


def of_line(take, stop):
    """Return the whole cycles before a sound of the line, and the tick of that sound."""
    return divmod(round(float(line(take)[stop] / take.tempo.tick_seconds(take.cycle))), take.cycle.ticks)


@pytest.mark.parametrize("numbers", some(permutations(range(2, 25), 2), 20, "ended"))
def test_a_take_that_ended_early_is_told_so_wherever_it_ended(numbers):
    """All pairs: after each whole cycle, and anywhere in one, the number of whole cycles is told, first."""
    take = clean(numbers)
    sounds = len(line(take))
    whole = range(sounds // CYCLES, sounds, sounds // CYCLES)
    anywhere = np.random.default_rng(1).choice(np.arange(1, sounds - 4), 3, replace=False).tolist()
    for stop in (*whole, *anywhere):
        first, *rest = causes(stopped(take, line(take)[stop]))
        assert (first.kind, (first.cycle, first.tick)) == ("ended", of_line(take, stop)), stop
        assert not {cause.kind for cause in rest} - {"unsure", "hand", "looser", "place"}


@pytest.mark.parametrize("numbers", [(3, 2), (4, 3), (7, 4), (16, 15)])
def test_a_few_sounds_at_the_end_are_no_early_end(numbers):
    """Up to three last strokes left out, less than a cycle, are strokes left out."""
    take = clean(numbers)
    for left_out in range(min(4, len(line(take)) // CYCLES)):
        end = line(take)[-left_out] if left_out else np.inf
        assert "ended" not in [cause.kind for cause in causes(stopped(take, end))]


@pytest.mark.parametrize(("size", "numbers"), [(-4, (4, 3)), (4, (7, 4)), (-4, (16, 15))])
def test_who_ends_early_since_he_is_ahead_is_told_of_that(size, numbers):
    """Another tempo, a beat left out, and a shift: all strokes are there, before the end."""
    for kind, how in (("tempo", size), ("slipped", -1), ("shifted", -1)):
        take = take_of(Case(kind, how, numbers, 8, 60, cycles=12), np.random.default_rng(2))
        assert causes(take)[0].kind == kind


@pytest.mark.parametrize("n", range(1, 8))
def test_what_was_played_is_judged_as_if_no_more_had_been_asked_for(n):
    """A late hand until the end of cycle n: it ended, then just what a take of n cycles is told."""
    case = Case("hand", 40, (4, 3), 8, 60)
    take = take_of(case, np.random.default_rng(n), offset_ms=-1.0, lead_ms=0)
    said = feedback(stopped(take, n * float(take.turn)))
    short = pair(4, 3, n, bpm=60, offset_ms=-1.0)
    until = take.tap_times < n * float(take.turn) - 0.1
    assert said[0] == f"You stopped after cycle {n} of 8, so it is judged up to there."
    assert said[1:] == feedback(with_taps(short, take.tap_lanes[until], take.tap_times[until]))
    assert "came 4" in said[1] or "came 3" in said[1], said


@pytest.mark.parametrize("numbers", [(3, 2), (4, 3), (7, 4), (16, 15), (24, 23)])
@pytest.mark.parametrize("cycles", [0.5, 1, 2, 2.5, 6.5])
def test_one_thing_to_do_next_is_told(numbers, cycles):
    """In a take that ended early too; nothing off is answered with all that was asked for."""
    take = clean(numbers)
    said = feedback(stopped(take, cycles * float(take.turn)))
    assert sum(sentence.lower().count("next") for sentence in said) == 1, said
    where = "after cycle" if cycles == int(cycles) else "in cycle"
    assert re.match(rf"You stopped {where} {int(np.ceil(cycles))} of 8", said[0])
    assert "missed" not in " ".join(said)
    assert ("too soon to judge" in said[0]) == (cycles < 1)
    if cycles >= 1 and not causes(stopped(take, cycles * float(take.turn)))[1:]:
        assert "play all 8 cycles at" in said[1]


def test_a_key_touched_after_a_silence_is_no_playing():
    """A tap in cycle 7 does not hide that it ended after cycle 2."""
    take = clean((4, 3))
    taps = stopped(take, 2 * float(take.turn))
    touched = with_taps(take, [*taps.tap_lanes, 0], [*taps.tap_times, 6.4 * float(take.turn)])
    assert next((cause.kind, cause.cycle) for cause in causes(touched)) == ("ended", 2)


@pytest.mark.parametrize("kind", ["swapped", "shifted", "tempo", "locked"])
@pytest.mark.parametrize("n", [3, 5])
def test_what_was_off_before_the_end_is_told_after_it(kind, n):
    """Two causes: that it ended, and why it was off until then."""
    case = Case(kind, 1 if kind != "tempo" else 4, (7, 4), 8, 60)
    take = take_of(case, np.random.default_rng(4))
    slower = 1.04 if kind == "tempo" else 1
    until = take.tap_times < n * float(take.turn) * slower + (0.9 if kind == "shifted" else -0.1)
    first, then, *_ = causes(with_taps(take, take.tap_lanes[until], take.tap_times[until]))
    assert (first.kind, then.kind) == ("ended", kind)
    assert first.cycle == n


def test_the_modes_of_one_line_are_told_too():
    """One pulse alone, and the merged line."""
    for mode, lanes in (("one pulse", (0,)), ("composite", (0, 1)), ("gap cycle", (0,))):
        meant = pair(5, 4, CYCLES, mode=mode, lanes=lanes)
        times = meant.meant(None if mode == "composite" else 0)
        times = times[times < 3 * float(meant.turn) - 1e-6]
        (first, *_) = causes(with_taps(meant, np.zeros(len(times), dtype=int), times))
        assert (first.kind, first.cycle) == ("ended", 3), mode

"""Bends of the errors of a take in time: each is found where it is, by its size, and no other is larger."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmlab.practice.bends import LEAST_S, bends, follow, knee, peak, slopes, step

COUNTS = st.sampled_from([(3, 2), (5, 4), (7, 4), (8, 5), (3, 7)])
SIGNS = st.sampled_from([-1, 1])


def onsets_of(counts, turn):
    """Return the places of even pulses in a cycle."""
    return [np.arange(count) * turn / count for count in counts]


def meant_of(counts, turn, cycles):
    """Return all strokes of even pulses."""
    return [(np.arange(cycles)[:, None] * turn + one).ravel() for one in onsets_of(counts, turn)]


def followed(taps, counts, turn, alone=False):
    """Follow taps to the strokes of even pulses."""
    return follow(taps, onsets_of(counts, turn), turn, alone=alone)


@given(COUNTS, st.floats(1.5, 6), st.floats(-0.02, 0.02), st.floats(-0.02, 0.02))
def test_who_goes_away_more_than_half_a_stroke_is_still_followed(counts, turn, first, second):
    """Each hand at a tempo of its own, up to 2 % from the one asked for: all are as late as they are."""
    meant = meant_of(counts, turn, 24)
    taps = [one * (1 + slope) for one, slope in zip(meant, (first, second), strict=True)]
    errors = followed(taps, counts, turn, alone=True)
    assert errors.late == pytest.approx(np.concatenate(taps) - np.concatenate(meant), abs=1e-9)
    assert errors.ends == [0, len(taps[0]), len(taps[0]) + len(taps[1])]


@given(COUNTS, SIGNS, st.floats(0.05, 0.12), st.integers(1, 6))
def test_a_step_is_found_at_its_stroke(counts, sign, size, cycle):
    """All strokes from the 1 of a cycle on later, or earlier: there, and by so much."""
    taps = [np.where(one > cycle * 4.0 - 1e-9, one + sign * size, one) for one in meant_of(counts, 4.0, 8)]
    found = step(followed(taps, counts, 4.0))
    assert found is not None
    assert (found.size, found.at) == (pytest.approx(sign * size), pytest.approx(cycle * 4.0))


@given(COUNTS, SIGNS, st.floats(0.01, 0.03), st.integers(1, 6))
def test_a_knee_is_found_at_its_cycle(counts, sign, size, cycle):
    """All at another tempo from a cycle on: from that one, and by so much."""
    taps = [one + sign * size * np.maximum(one - cycle * 4.0, 0) for one in meant_of(counts, 4.0, 8)]
    found = knee(followed(taps, counts, 4.0), 4.0, 8)
    assert found is not None
    assert (found.size, found.at) == (pytest.approx(sign * size), cycle * 4.0)


@given(COUNTS, st.integers(0, 1), SIGNS, st.floats(0.005, 0.03), st.floats(-0.004, 0.004))
def test_the_lane_of_its_own_tempo_is_found(counts, lane, sign, size, both):
    """The one that is further from the tempo asked for, and by how much it differs from the other."""
    taps = [one * (1 + both) for one in meant_of(counts, 4.0, 8)]
    taps[lane] = taps[lane] + sign * size * meant_of(counts, 4.0, 8)[lane]
    found = slopes(followed(taps, counts, 4.0, alone=True), 32.0)
    assert found is not None
    if abs(sign * size + both) > abs(both) + 1e-6:
        assert (found.size, found.lane) == (pytest.approx(sign * size), lane)


def test_a_stroke_that_one_lane_lost_is_no_tempo_of_its_own():
    """A step in one lane alone is fitted by a slope, but a step fits it better."""
    taps = meant_of((16, 15), 15.0, 8)
    taps[0] = np.where(taps[0] > 60, taps[0] - 0.0625, taps[0])
    assert slopes(followed(taps, (16, 15), 15.0, alone=True), 120.0) is None


@given(COUNTS, SIGNS, st.floats(0.03, 0.1), st.data())
def test_a_peak_is_found_at_its_place(counts, sign, size, data):
    """Away from the 1 of each cycle up to a place, and back: there, and by so much."""
    places = np.unique(np.round(np.concatenate(onsets_of(counts, 4.0)), 9))[1:]
    at = data.draw(st.sampled_from(places.tolist()))
    taps = [
        one + sign * size * np.interp(np.mod(one + 1e-9, 4.0), [0, at, 4.0], [0, 1, 0])
        for one in meant_of(counts, 4.0, 8)
    ]
    found = peak(followed(taps, counts, 4.0), places, 4.0, 8)
    assert found is not None
    assert (found.size, found.at) == (pytest.approx(sign * size, rel=1e-4), at)


@pytest.mark.parametrize("counts", [(5, 4), (7, 4), (8, 5)])
@pytest.mark.parametrize("late", [-0.06, 0.06])
def test_one_stroke_that_is_late_in_each_cycle_is_no_peak(counts, late):
    """Though the nearest peak would explain part of it."""
    for place in range(counts[0]):
        taps = meant_of(counts, 4.0, 8)
        taps[0][place :: counts[0]] += late
        places = np.unique(np.round(np.concatenate(onsets_of(counts, 4.0)), 9))[1:]
        assert peak(followed(taps, counts, 4.0), places, 4.0, 8) is None, place


@given(COUNTS, st.floats(-0.15, 0.15), st.integers(1, 6))
def test_strokes_that_are_all_off_by_the_same_have_no_bend(counts, late, cycles):
    """However early or late they are, and however few."""
    found = bends([one + late for one in meant_of(counts, 4.0, cycles)], onsets_of(counts, 4.0), 4.0, cycles)
    assert found == {}


@given(COUNTS, SIGNS, st.floats(0.01, 0.03))
def test_one_cycle_or_two_have_no_bend(counts, sign, size):
    """A lane of its own tempo cannot be told there from errors that hang together; in three cycles it can."""
    for cycles in (1, 2, 3):
        taps = meant_of(counts, 4.0, cycles)
        taps[0] = taps[0] * (1 + sign * size)
        found = bends(taps, onsets_of(counts, 4.0), 4.0, cycles)
        assert ("parted" in found) == (cycles == 3 and min(map(len, taps)) >= 4)


@given(COUNTS, SIGNS)
def test_a_bend_below_the_least_is_none(counts, sign):
    """A step of a tenth less than is told."""
    by = 0.9 * LEAST_S["waited"] * sign
    taps = [np.where(one > 15.9, one + by, one) for one in meant_of(counts, 4.0, 8)]
    assert step(followed(taps, counts, 4.0)) is None


def test_a_wild_stroke_hides_no_step():
    """A tap a quarter second off beside a step of 80 ms: the step is told within 5 ms."""
    taps = [np.where(one > 15.9, one + 0.08, one) for one in meant_of((3, 2), 4.0, 8)]
    taps[0][4] += 0.25
    found = step(followed(taps, (3, 2), 4.0))
    assert found is not None
    assert found.size == pytest.approx(0.08, abs=0.005)

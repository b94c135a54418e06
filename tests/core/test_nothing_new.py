"""Rhythms that teach nothing new, and what to play instead."""

from math import gcd

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.core.nothing_new import nothing_new
from tests.brute import strokes
from tests.strategies import TRIES, pairs, several


@pytest.mark.parametrize(
    ("pulses", "kind", "neighbour"),
    [
        ((12, 8), "repeats", (3, 2)),
        ((7, 7), "same", (7, 6)),
        ((1, 5), "nested", (2, 5)),
        ((6, 4), "repeats", (3, 2)),
    ],
)
def test_the_pairs_that_everybody_tries(pulses, kind, neighbour):
    """12:8 is 3:2 four times, 7:7 is one pulse, 1:5 adds nothing to the 5; each has a neighbour to play."""
    found = nothing_new(rl.Polyrhythm(*pulses))
    assert (found.kind, found.neighbour) == (kind, rl.Polyrhythm(*neighbour))


@TRIES
@given(pairs)
def test_a_pair_teaches_something_new_unless_it_repeats_or_one_pulse_holds_all(p):
    """Coprime pairs of at least 2 pass; a common factor, or a pulse inside the other, does not."""
    m, n = p.pulses
    first, second = map(set, strokes(p))
    assert (nothing_new(p) is None) == (gcd(m, n) == 1 and min(m, n) > 1)
    if nothing_new(p) is not None:
        inside = first <= second or second <= first
        assert nothing_new(p).kind == ("same" if first == second else "nested" if inside else "repeats")


@pytest.mark.parametrize(
    ("pulses", "kind", "neighbour"),
    [((7, 7, 7), "same", (7, 6)), ((4, 4, 6), "doubled", (2, 3)), ((7, 4, 7), "doubled", (7, 4))],
)
def test_pulses_given_more_than_once_are_left_out(pulses, kind, neighbour):
    """Three or more pulses, some of them equal, lead to the different ones, without their common factor."""
    found = nothing_new(rl.Polyrhythm(*pulses))
    assert (found.kind, found.neighbour) == (kind, rl.Polyrhythm(*neighbour))


@TRIES
@given(st.one_of(several, pairs))
def test_the_neighbour_can_be_played(p):
    """What is offered instead is never plain itself, and offers nothing further."""
    found = nothing_new(p)
    assert found is None or nothing_new(found.neighbour) is None


@pytest.mark.parametrize(
    ("pulses", "kind", "neighbour"),
    [
        ((5, 1), "nested", (5, 2)),
        ((2, 1), "nested", (3, 2)),
        ((1, 3), "nested", (2, 3)),
        ((6, 1), "nested", (6, 5)),
        ((9, 1), "nested", (7, 2)),
        ((8, 4), "nested", (3, 2)),
        ((4, 8), "nested", (2, 3)),
        ((2, 4, 8), "nested", (2, 3, 4)),
        ((8, 2, 4), "nested", (4, 2, 3)),
        ((1, 1), "same", (3, 2)),
        ((60, 60), "same", (8, 7)),
        ((6, 4, 10), "repeats", (3, 2, 5)),
    ],
)
def test_the_neighbour_keeps_the_order_and_small_numbers(pulses, kind, neighbour):
    """The faster hand stays the faster one, several stay several, and a copy gets a number that fits."""
    found = nothing_new(rl.Polyrhythm(*pulses))
    assert (found.kind, found.neighbour) == (kind, rl.Polyrhythm(*neighbour))


@TRIES
@given(pairs)
def test_the_neighbour_of_a_pair_that_is_one_pulse_fits_in_the_hands(p):
    """Where one pulse holds all, the two numbers offered are at most eight, and differ in the same way."""
    found = nothing_new(p)
    if found is not None and found.kind != "repeats":
        assert max(found.neighbour.pulses) <= 8
        if found.kind == "nested":
            (m, n), (a, b) = p.pulses, found.neighbour.pulses
            assert (m > n) == (a > b)

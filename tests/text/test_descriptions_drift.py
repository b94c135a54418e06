"""Sentences on drift and on the stroke midway, against what is found by looking at every stroke."""

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.text import descriptions, numbers
from tests import brute
from tests.strategies import TRIES, pairs


def held(p: rl.Polyrhythm, of: int, home: int, strokes: int) -> list[int]:
    """Beats of home, from 1, that hold just so many strokes of the other pulse."""
    beats = [int(Fraction(k, p.pulses[of]) * p.pulses[home]) + 1 for k in range(p.pulses[of])]
    return [beat for beat in range(1, p.pulses[home] + 1) if beats.count(beat) == strokes]


@pytest.mark.parametrize("n", [3, 4, 7, 15, 31])
def test_the_law_of_neighbours_is_said_from_both_homes(n):
    """Home n: earlier, the n+1 leads first, beat 1 holds two. Home n+1: later, the last beat holds none."""
    # Common practice, no source.
    p = rl.Polyrhythm(n + 1, n)
    said = descriptions.drifts(rl.drift(p, of=0, against=1))
    assert said == (
        f"The {n + 1} comes one tick earlier at each beat of the {n} and leads the flam until the middle; "
        f"then the {n} leads. Beat 1 holds two strokes of the {n + 1}."
    )
    said = descriptions.drifts(rl.drift(p, of=1, against=0))
    # Of 3 against 4 every stroke is together or alternating: there is no flam to lead.
    flam = f" and the {n + 1} leads the flam until the middle; then the {n} leads" if n > 3 else ""
    assert said == (
        f"The {n} comes one tick later at each beat of the {n + 1}{flam}. "
        f"Beat {n + 1} holds none of its strokes."
    )


@TRIES
@given(pairs, st.booleans())
def test_what_is_said_of_a_drift_is_seen_in_the_gaps(p, turned):
    """Direction, size, who leads, and the beats with two strokes or none, are found stroke by stroke."""
    of, home = (1, 0) if turned else (0, 1)
    moving, still = descriptions.pulse_name(p, of), descriptions.pulse_name(p, home)
    found = brute.gaps(p, of, home)
    step = p.ticks // p.pulses[home]
    said = descriptions.drifts(rl.drift(p, of, home))
    if set(found) == {0}:
        assert said == f"{moving.capitalize()} does not drift: each of its strokes is on a stroke of {still}."
        return
    if set(found) == {0, step // 2} and step % 2 == 0:
        assert "is by turns on a stroke of" in said
        assert "leads" not in said
    else:
        by = (found[1] - found[0] + step // 2) % step - step // 2
        size = "one tick" if abs(by) == 1 else f"{numbers.number(abs(by))} ticks"
        assert f"{moving.capitalize()} comes {size} {'earlier' if by < 0 else 'later'} at each" in said
        apart = any(brute.zone(gap, step, Fraction(1))[0].endswith("flam") for gap in found)
        near = abs(p.pulses[0] - p.pulses[1]) == p.repeats
        assert ("leads the flam" in said) == (near and apart)
        if "leads the flam" in said:
            first = moving if found[1] < 0 else still
            assert f"then {still if first == moving else moving} leads" in said
            assert ("and leads the flam" in said) == (first == moving)
    doubled = re.search(r"Beats? ([\d, …]+) holds? two", said)
    empty = re.search(r"Beats? ([\d, …]+) holds? none", said)
    if doubled:
        assert doubled[1] == numbers.some(held(p, of, home, 2), 6)
    if empty:
        assert empty[1] == numbers.some(held(p, of, home, 0), 6)
    if abs(p.pulses[0] - p.pulses[1]) == 1 and min(p.pulses) > 1:
        assert doubled if p.pulses[of] > p.pulses[home] else empty


@pytest.mark.parametrize(
    ("pulses", "of", "home", "ending"),
    [
        ((32, 30), 0, 1, "Beats 1, 16 hold two strokes of the 32."),
        ((32, 30), 1, 0, "Beats 16, 32 hold none of its strokes."),
        ((3, 2), 1, 0, "and exactly midway between two. Beat 3 holds none of its strokes."),
        (
            (3, 2),
            0,
            1,
            "The 3 comes one tick earlier at each beat of the 2. Beat 1 holds two strokes of the 3.",
        ),
        ((12, 8), 1, 0, "and exactly midway between two. Beats 3, 6, 9, 12 hold none of its strokes."),
        ((12, 8), 0, 1, "at each beat of the 8. Beats 1, 3, 5, 7 hold two strokes of the 12."),
        ((2, 1), 0, 1, "and exactly midway between two. Beat 1 holds two strokes of the 2."),
    ],
)
def test_several_beats_hold_and_one_beat_holds(pulses, of, home, ending):
    """The sentence agrees with its number of beats; where strokes only take turns, nobody leads a flam."""
    assert descriptions.drifts(rl.drift(rl.Polyrhythm(*pulses), of, home)).endswith(ending)


@TRIES
@given(pairs, st.booleans())
def test_the_stroke_midway_is_where_it_is_said_to_be(p, turned):
    """Strokes exactly half a beat from home are found by looking; their number and their first beat agree."""
    of, home = (1, 0) if turned else (0, 1)
    step, tick = p.ticks // p.pulses[home], p.ticks // p.pulses[of]
    middles = [k * tick for k, gap in enumerate(brute.gaps(p, of, home)) if 2 * gap == step]
    backwards = [
        k * step for k, gap in enumerate(brute.gaps(p, home, of)) if 2 * gap == tick and k * step > 0
    ]
    said = descriptions.midway_place(rl.Feel(p, home), of)
    if middles:
        where = f"the & of {middles[0] // step + 1}"
        assert said.startswith(f"One stroke of {descriptions.pulse_name(p, of)}")
        assert said.endswith(f"on {where}.")
        assert (f"in each of {len(middles)} repeats" in said) == (len(middles) > 1)
    elif backwards:
        assert said.startswith("No stroke of")
        expected = f"beat {backwards[0] // step + 1} is" if len(backwards) == 1 else "one beat in each of"
        assert expected in said
    else:
        assert said.startswith("No stroke is exactly midway, since both numbers")
        assert ("in lowest terms" in said) == (p.repeats > 1)


def test_sixteen_against_fifteen_is_midway_on_the_and_of_eight():
    """Half of fifteen beats is seven and a half; from the 16 no stroke of the 15 is midway, but beat 9 is."""
    p = rl.Polyrhythm(16, 15)
    assert (
        descriptions.midway_place(rl.Feel(p, 1), 0)
        == "One stroke of the 16 is exactly midway, on the & of 8."
    )
    assert "beat 9 is exactly midway" in descriptions.midway_place(rl.Feel(p, 0), 1)
    assert descriptions.midway_place(rl.Feel(rl.Polyrhythm(32, 30), 1), 0) == (
        "One stroke of the 32 in each of 2 repeats is exactly midway, the first on the & of 8."
    )
    assert descriptions.midway_place(rl.Feel(rl.Polyrhythm(7, 5), 1), 0) == (
        "No stroke is exactly midway, since both numbers are odd."
    )

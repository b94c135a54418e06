"""The one judge of hands: every ceiling against a plain reading of long rows, stroke by stroke."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.export.lesson import of_bars
from rhythmlab.playing.hands import ceiling, hand_limits, limbs, sticking, too_soon
from rhythmlab.playing.learning import bpm_text, inside
from rhythmlab.playing.phrasing import Phrase
from tests.profile import tries
from tests.strategies import TRIES

#: Common practice, no source: 62 (an open roll), 110; Fujii and others 2009: 167, six strokes a second.
DEFAULT = (62, 110, 167)
SIDES = {"R": "right hand", "L": "left hand"}
three_limits = st.tuples(st.integers(60, 120), st.integers(60, 160), st.integers(60, 240))


def plays(times, two, three, sustained):
    """Whether one limb can play a row of times, read burst by burst.

    A burst is what it plays without a break of `sustained` before any of its strokes: two are `two` apart,
    three take twice `three`, and more than three there are not.
    """
    three, sustained = max(two, three), max(two, three, sustained)
    bursts = [[times[0]]]
    for time in times[1:]:
        if time - bursts[-1][-1] >= sustained:
            bursts.append([])
        bursts[-1].append(time)
    return all(
        len(burst) <= 3
        and all(b - a >= two for a, b in pairwise(burst))
        and (len(burst) < 3 or burst[2] - burst[0] >= 2 * three)
        for burst in bursts
    )


def row_plays(hands, gaps, ms, two=DEFAULT[0], three=DEFAULT[1], sustained=DEFAULT[2]):
    """Whether both hands can play a long row; gaps are ticks from the stroke before to each stroke."""
    times = [sum(gaps[1 : i + 1]) * ms for i in range(len(hands))]
    rows = [[time for time, letter in zip(times, hands, strict=True) if letter == hand] for hand in "RL"]
    return all(plays(row, two, three, sustained) for row in rows if row)


def rules_of(moved, part="hand"):
    keys = (f"{part}_two", f"{part}_three", f"{part}_sustained")
    return hand_limits(rl.limits(**dict(zip(keys, moved, strict=True))))


rows = st.integers(1, 24).flatmap(
    lambda ticks: st.tuples(st.just(ticks), st.sets(st.integers(0, ticks - 1), min_size=1).map(sorted))
)


@TRIES
@given(rows, three_limits, st.integers(10, 300), st.sampled_from(["hand", "foot"]))
def test_a_limb_is_judged_as_a_plain_reading_of_a_long_row_judges_it(row, moved, tick_ms, part):
    """By the limits of its own, at any tempo, just at and just under its ceiling; what is slower fits."""
    ticks, onsets = row
    rules, times = rules_of(moved, part), [turn * ticks + tick for turn in range(8) for tick in onsets]
    cycle = rl.Cycle(ticks, [rl.Lane("pad", onsets, f"left {part}")], beats=[0])
    found = ceiling(cycle, ticks, rules)
    for ms in (Fraction(tick_ms), found.tick_ms, found.tick_ms * Fraction(999, 1000), 3 * found.tick_ms):
        fits = plays([time * ms for time in times], *moved)
        assert fits == (ms >= found.tick_ms) == (not too_soon(cycle, ticks, ms, rules))


@TRIES
@given(rows, three_limits)
def test_the_stroke_that_sets_it_just_keeps_its_limit(row, moved):
    """At the ceiling the stroke that is named lies exactly on its limit, counted from the one before it."""
    ticks, onsets = row
    rules = rules_of(moved)
    found = ceiling(rl.Cycle(ticks, [rl.Lane("pad", onsets, "left hand")], [0]), ticks, rules)
    assert (found.limb, found.tick) == ("left hand", onsets[found.index])
    back = 2 if found.nth == 3 else 1
    row = [turn * ticks + tick for turn in range(3) for tick in onsets]
    at = 2 * len(onsets) + found.index
    assert found.apart * back == row[at] - row[at - back]
    assert found.apart * found.tick_ms == found.limit.value == rules.need(found.nth).value


@pytest.mark.parametrize(
    ("hands", "ms", "limb", "tick", "key"),
    [
        ("RRLL", Fraction(62), "right hand", 1, "hand_two"),  # an open roll
        ("RL", Fraction(167, 2), "right hand", 0, "hand_sustained"),  # single strokes
        ("RLRRLRLL", Fraction(167, 2), "left hand", 1, "hand_sustained"),  # as fast as single strokes
        ("RRRLLL", Fraction(110), "right hand", 2, "hand_three"),
        ("RRRRLLLL", Fraction(167), "right hand", 1, "hand_sustained"),
        ("R", Fraction(167), "right hand", 0, "hand_sustained"),
        ("RLLRRL", Fraction(220, 3), "right hand", 0, "hand_three"),  # R . . R R . R: three in two thirds
    ],
)
def test_what_drummers_play_has_its_ceiling(hands, ms, limb, tick, key):
    """Thirty-seconds at 120 as R R L L pass; one hand alone, three in one hand and a paradiddle as ever."""
    found = ceiling(sticking(hands), len(hands), hand_limits())
    assert (found.tick_ms, found.limb, found.tick, found.limit.key) == (ms, limb, tick, key)
    assert not too_soon(sticking("RRLL"), 4, Fraction(60_000, 120 * 8), hand_limits())
    assert not too_soon(sticking("RLRRLRLL"), 8, Fraction(60_000, 120 * 4), hand_limits())
    assert too_soon(sticking("R"), 1, Fraction(166), hand_limits())


def test_lanes_of_one_limb_are_one_row_and_letters_of_feet_are_feet():
    """A hat and a snare in one hand are that hand's strokes; R and L of feet are the two feet."""
    lanes = [
        rl.Lane("hat", [0, 2, 4], "right hand"),
        rl.Lane("bell", [3], hands="R"),
        rl.Lane("drums", [0, 4], "feet", hands="RL"),
        rl.Lane("clap", [5]),
    ]
    found = {limb: ticks.tolist() for limb, ticks in limbs(rl.Cycle(6, lanes, beats=[0])).items()}
    assert found == {
        "right hand": [0, 2, 3, 4],
        "right foot": [0],
        "left foot": [4],
        "clap": [5],
    }
    assert ceiling(rl.Cycle(6, [rl.Lane("rest", [])], beats=[0]), 6, hand_limits()) is None


@TRIES
@given(st.integers(1, 10**6), st.integers(2, 12))
def test_a_far_longer_cycle_is_judged_exactly(length, strokes):
    """Ticks up to 2**62 lose nothing: the same strokes a million million times further apart."""
    scale = (1 << 61) // (length * strokes)
    onsets = [i * length * scale for i in range(strokes)]
    cycle = rl.Cycle(length * scale * strokes, [rl.Lane("pad", onsets, "hand")], beats=[0])
    assert ceiling(cycle, cycle.ticks, hand_limits()).tick_ms == Fraction(167, length * scale)


@settings(max_examples=tries(30), deadline=None)
@given(st.text("RL", min_size=2, max_size=16), st.integers(40, 200), three_limits)
@example("LRRRRR", 60, (60, 60, 60))
def test_one_sticking_has_one_ceiling_whoever_says_it(hands, bpm, moved):
    """`check_sticking`, its cycle on a handout, `stick` given it, two lanes of limbs: the same, exactly."""
    bounds = rl.limits(hand_two=moved[0], hand_three=moved[1], hand_sustained=moved[2])
    judged = rl.playing.check_sticking(hands, bpm, limits=bounds)
    n, least = len(hands), judged.fastest_ms
    fastest = 60_000 / (4 * least)
    cycle = Phrase([n]).cycle(hands=hands)
    letters = {hand: [i for i in range(n) if hands[i] == hand] for hand in "RL"}
    lanes = [rl.Lane(hand, row, SIDES[hand]) for hand, row in letters.items()]
    bar = rl.metre(f"{n}/16").cycle(1, lanes)
    for one in (cycle, bar):
        assert ceiling(one, n, hand_limits(bounds)).tick_ms == least
        row = of_bars(one, rl.Tempo(bpm, ticks=4), bounds).ranges[0]
        floor = None if row[1] == "no limit" else Fraction(row[1])
        assert row[2] == bpm_text(inside(fastest, floor, up=False))  # on paper a whole number inside
    if hands[0] != hands[-1]:  # a group begins with the hand that did not play last
        stuck = rl.stick([n], ms=least, rudiments=[hands], lead=hands[0], limits=bounds)
        assert (stuck.hands, stuck.bound.tick_ms) == (hands, least)

"""Ways to learn: floors and ceilings reckoned again from the published limits, laws, sentences, steps."""

import re
from fractions import Fraction
from itertools import pairwise
from math import gcd, lcm

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.playing.approach import WAYS, approach, drifts_around
from rhythmlab.playing.hands import ceiling, hand_limits, taking_turns
from rhythmlab.playing.learning import BELOW, Span, counted_to, line_steps
from rhythmlab.playing.limits import limits, source_text
from rhythmlab.text import descriptions, numbers
from tests.profile import some, tries
from tests.refusals import refusal, works
from tests.strategies import TRIES, bpms, pairs, several

SEVEN = rl.Polyrhythm(7, 4)
NAMES = {"approach": approach}
homes = st.sampled_from([0, 1])

# Repp 2006 (abstract): 100 ms, and 1800 ms. Repp, London & Keller 2005 (first page): about 6 Hz.
# London 2012, ch. 2 (abstract): beats of 200 to 1500 ms, bars of 5 to 6 s.
# Fujii et al. 2009 (abstract): 167 ms.
# Danielsen et al. 2026 (as summarised elsewhere): 40 ms.
# Common practice, no source: 7 strokes; a foot 200 ms.
HEARD, UNEVEN, ONES, HAND = 100, Fraction(1000, 6), 1800, 167
BEAT, BAR, FLAM, NUMBERS, FOOT = (200, 1500), 5500, 40, 7, 200
# Our own choice, no source: 8 s.
CYCLE = 8000


def at(p, bpm, home: int = 1, **more):
    return approach(p, rl.Tempo(bpm, pulse=home), home=home, **more)


def bpm(p, home: int, beats: Fraction, ms) -> Fraction:
    """Beats a minute of home at which a share of beats lasts so long."""
    return 60_000 * Fraction(beats) / Fraction(ms)


def ends(way) -> tuple:
    return way.floor, way.ceiling


def test_seven_against_four_at_72():
    """The design's example: sevenths up to 360/7, ones from 400/3, so the line, or sixteenths."""
    found = at(SEVEN, 72)
    assert tuple(way.name for way in found.ways) == WAYS
    line, count, ones, drift = found.ways
    assert (count.ceiling, ones.floor) == (Fraction(360, 7), Fraction(400, 3))
    assert (line.fits, count.fits, ones.fits, drift.fits) == (True, False, False, False)
    assert found.recommended == line
    other = found.counts[0]
    assert other.fits
    assert (other.home, other.bpm, other.ceiling) == (0, 126, 150)
    assert found.why == (
        "Learn the line: 10 sounds in 3.3 seconds, the closest 119 ms apart. Or count from the 7: sixteenths "
        "of 119 ms at 126 bpm of the 7. Not here: counting from the 4 (only up to 51 bpm of the 4), "
        "holding the ones (only from 134 bpm of the 4). At no tempo: following the drift."
    )
    assert found.would_change == (
        "Slower than 44 bpm of the 4: count from the 4. Faster than 133 bpm of the 4: hold the ones."
    )
    assert found.describe() == f"{found.why} {found.would_change}"


def test_sixteen_against_fifteen_at_60_is_already_open_and_at_100_flams():
    """Follow the drift at both; only at 100 is the narrowest gap, 37.5 ms, a flam."""
    slow, fast = (at(rl.Polyrhythm(16, 15), tempo) for tempo in (60, 100))
    assert slow.recommended.name == fast.recommended.name == "follow the drift"
    assert slow.why.startswith(
        "Follow the drift: the gap grows by 62.5 ms at each stroke, 15 seconds from together to together; "
        "no flam below 94 bpm of the 15. At no tempo: learning the line, counting from the 15 and holding "
        "the ones."
    )
    assert fast.why.startswith("Follow the drift: the gap grows by 37.5 ms at each stroke, 9 seconds from ")
    assert "it flams where it meets" in fast.why
    assert "no flam below" not in fast.why
    assert slow.would_change == (
        "Slower than 40 bpm of the 15: speed up and follow the drift. "
        "Faster than 300 bpm of the 15: phrase the 16 as 4 4 4 4."
    )
    assert any("go by landmarks" in reason for reason in slow.recommended.reasons)


@TRIES
@given(pairs, bpms, homes)
def test_counting_has_the_ends_of_its_parts(p, tempo, home):
    """Parts are lcm / home, of 100 ms up to four and a sixth of a second above; hands; 8 s at most."""
    parts = lcm(*p.pulses) // p.pulses[home]
    way = at(p, tempo, home).ways[1]
    part = bpm(p, home, Fraction(1, parts), HEARD if parts <= 4 else UNEVEN)
    hand = bpm(p, home, Fraction(p.pulses[home], max(p.pulses)), HAND)
    beats = Fraction(p.pulses[home], gcd(*p.pulses))
    slowest = max(bpm(p, home, Fraction(1, parts), BEAT[1]), bpm(p, home, beats, CYCLE))
    assert ends(way) == (slowest, min(part, hand))
    assert way.possible == (slowest <= min(part, hand))
    assert at(p, tempo, home).counts[home] == way


@TRIES
@given(pairs, bpms, homes)
def test_holding_the_ones_has_the_ends_of_its_hands(p, tempo, home):
    """1.8 s from one to one at the slowest, 167 ms in the faster hand at the fastest, numbers up to 7."""
    between = gcd(*p.pulses)
    beats = Fraction(p.pulses[home], between)
    strokes = max(p.pulses) // between
    way = at(p, tempo, home).ways[2]
    assert ends(way) == (bpm(p, home, beats, ONES), bpm(p, home, beats / strokes, HAND))
    assert way.possible == (strokes <= NUMBERS and way.floor <= way.ceiling)


@TRIES
@given(st.tuples(st.integers(1, 7), st.integers(1, 7), st.integers(1, 3)), bpms, homes)
def test_the_line_has_the_ends_of_its_bar_its_sounds_and_its_hands(drawn, tempo, home):
    """One bar of 5.5 s at the slowest; then sounds 40 ms apart, hands by run length, each hand, the foot."""
    a, b, times = drawn
    p = rl.Polyrhythm(a * times, b * times)
    common = gcd(a, b)
    a, b = a // common, b // common
    sounds = sorted({Fraction(i, a) for i in range(a)} | {Fraction(i, b) for i in range(b)})
    way = at(p, tempo, home).ways[0]
    beats = (a, b)[home]
    assert way.floor == bpm(p, home, beats, BAR)
    assert way.possible == (len(sounds) <= 12)
    if not way.possible:
        assert way.ceiling is None
        assert way.steps == ()
        return
    close = min(late - early for early, late in pairwise([*sounds, sounds[0] + 1]))
    onsets = np.array([int(sound * a * b) for sound in sounds])  # hand to hand, by the one judge of hands
    soon = ceiling(*taking_turns(onsets, a * b), hand_limits())
    judged = bpm(p, home, beats * soon.apart / (a * b), soon.limit.value)
    own = bpm(p, home, Fraction(beats, max(a, b)), HAND)  # in the end each pulse has a hand of its own
    foot = Fraction(60_000, FOOT)  # and the foot has home
    assert way.ceiling == min(own, foot, judged, bpm(p, home, beats * close, FLAM))


@TRIES
@given(st.integers(1, 40), st.integers(1, 40), bpms, homes)
@example(16, 15, 60, 1)
@example(16, 11, 60, 1)
def test_the_drift_has_the_ends_of_its_beat_and_its_hands(a, b, tempo, home):
    """Home is a beat of 200 to 1500 ms, and no hand faster than 167 ms."""
    p = rl.Polyrhythm(a, b)
    way = at(p, tempo, home).ways[3]
    ratio = drifts_around(p)
    assert way.possible == (ratio is not None)
    if ratio is None:
        assert ends(way) == (None, None)
        return
    hand = bpm(p, home, Fraction(p.pulses[home], max(a, b)), HAND)
    assert ends(way) == (Fraction(60_000, BEAT[1]), min(Fraction(60_000, BEAT[0]), hand))


def test_what_drifts():
    """Neighbours from 6:5 up, and pairs near a simple ratio: five groups or more between meetings."""
    found = {
        pair: drifts_around(rl.Polyrhythm(*pair)) for pair in ((6, 5), (16, 15), (16, 11), (13, 6), (5, 16))
    }
    assert {pair: (ratio.h, ratio.k) for pair, ratio in found.items() if ratio} == {
        (6, 5): (1, 1),
        (16, 15): (1, 1),
        (16, 11): (3, 2),
        (13, 6): (2, 1),
        (5, 16): (1, 3),
    }
    for pair in ((5, 4), (7, 4), (9, 7), (4, 2), (7, 7), (3, 1)):
        assert drifts_around(rl.Polyrhythm(*pair)) is None
    assert drifts_around(rl.Polyrhythm(16, 15, 14)) is None


@TRIES
@given(several, bpms, bpms, st.sampled_from(WAYS))
def test_faster_is_never_countable_again(p, one, other, name):
    """Each way fits over one stretch of tempos, its ends among them: what is too fast stays too fast."""
    slow, fast = sorted((one, other), key=Fraction)
    early, late = (at(p, tempo, 0).ways[WAYS.index(name)] for tempo in (slow, fast))
    assert ends(early) == ends(late)
    if early.possible and early.ceiling is not None and Fraction(early.bpm) > early.ceiling:
        assert not late.fits
    if early.possible and early.ceiling is not None and early.floor <= early.ceiling:
        assert early.fits_at(early.ceiling)
        assert early.fits_at(early.floor)
        assert not early.fits_at(early.ceiling * Fraction(1_000_001, 1_000_000))
        assert not early.fits_at(early.floor * Fraction(999_999, 1_000_000))


def turned(text: str) -> str:
    """Return a text with each pair in it the other way round, and each hand the other."""
    hands = re.sub(r"\b(right|left)\b", lambda hand: {"right": "left", "left": "right"}[hand[0]], text)
    return re.sub(r"(\d+) against (\d+)", r"\2 against \1", hands)


@TRIES
@given(pairs, bpms, homes)
def test_swapped_pulses_give_the_same_answer(p, tempo, home):
    """4:7 counted from the 4 is 7:4 counted from the 4, with every name the other way round."""
    assume(p.pulses[0] != p.pulses[1])
    swapped = rl.Polyrhythm(*p.pulses[::-1])
    one, other = at(p, tempo, home), at(swapped, tempo, 1 - home)
    for mine, theirs in zip((*one.ways, *one.counts), (*other.ways, *other.counts[::-1]), strict=True):
        assert (mine.name, mine.home, mine.bpm, *ends(mine)) == (
            theirs.name,
            1 - theirs.home,
            theirs.bpm,
            *ends(theirs),
        )
        assert (mine.possible, mine.fits, mine.short) == (theirs.possible, theirs.fits, turned(theirs.short))
        assert len(mine.steps) == len(theirs.steps)
    assert (one.why, one.would_change) == (turned(other.why), turned(other.would_change))


@TRIES
@given(pairs, bpms, homes, st.fractions(Fraction(1, 4), 4, max_denominator=20))
def test_a_tempo_is_said_in_any_pulse(p, tempo, home, share):
    """Ends convert as bpm do, there and back, and a way fits at the same speed however it is said."""
    for way in at(p, tempo, home).ways:
        for pulse in (0, 1):
            factor = Fraction(p.pulses[pulse], p.pulses[home])
            assert way.ceiling_of(pulse) == (None if way.ceiling is None else way.ceiling * factor)
            assert way.floor_of(pulse) == (None if way.floor is None else way.floor * factor)
            assert way.fits_at(way.bpm * share * factor, pulse) == way.fits_at(way.bpm * share)


@pytest.mark.parametrize(
    ("key", "way", "end", "faster"),
    [
        ("part_uneven", 1, "ceiling", True),
        ("ones_longest", 2, "floor", False),
        ("hand_sustained", 2, "ceiling", False),
        ("bar_longest", 0, "floor", False),
        ("flam", 0, "ceiling", False),
    ],
)
@settings(max_examples=tries(25), deadline=None)
@given(share=st.fractions(Fraction(4, 5), Fraction(13, 10), max_denominator=100))
def test_moving_a_limit_moves_its_end_exactly(key, way, end, faster, share):
    """A limit times a share moves the end by that share, or by its inverse where it is a time."""
    before = limits()[key].value
    fast = {"hand_sustained": 100} if key == "flam" else {}  # else hands end the line before its sounds do
    moved = at(SEVEN, 72, limits=limits(**fast, **{key: before * share})).ways[way]
    expected = getattr(at(SEVEN, 72, limits=limits(**fast)).ways[way], end) * (share if faster else 1 / share)
    assert getattr(moved, end) == expected
    assert any("your own limit" in reason for reason in moved.reasons)


def test_part_heard_moves_the_count_of_four():
    """From the 7, sixteenths of 150 ms at least: 100 bpm of the 7 instead of 150."""
    assert at(SEVEN, 72, limits=limits(part_heard=150)).counts[0].ceiling == 100


def test_the_reader_moves_the_numbers_in_the_hands_and_in_the_line():
    """8:3 is held with 8 in a hand, not with 7; its line of 10 sounds is too long where 9 are allowed."""
    p = rl.Polyrhythm(8, 3)
    assert not at(p, 110).ways[2].possible
    assert at(p, 110, limits=limits(ones_numbers=8)).ways[2].fits
    assert at(p, 60).ways[0].possible
    assert not at(p, 60, line_sounds=9).ways[0].possible
    assert "up to 9 are learned as one (your own limit)" in at(p, 60, line_sounds=9).ways[0].reasons[0]


@TRIES
@given(several, bpms)
def test_every_reason_names_its_limit_and_its_source(p, tempo):
    """Each sentence has its source as the table of limits names it, or says that there is none."""
    rows = limits()
    named = {source_text(row).replace(" (", ", ").replace(")", "").lower() for row in rows.values()}
    for way in at(p, tempo, 0).ways:
        assert way.reasons
        for reason in way.reasons:
            known = any(f"{name})" in reason.lower() for name in named)
            assert known or "(a choice made here, no source)" in reason or reason.startswith("Around")
            assert reason.endswith(".")


@TRIES
@given(several, bpms)
def test_the_recommended_way_fits_and_changes_where_it_says(p, tempo):
    """It fits wherever any way does; ranges cover all tempos, and the one recommended is its range's."""
    found = at(p, tempo, 0)
    every = (*found.ways, *found.counts, *found.roads)
    assert found.recommended in every
    assert found.recommended.fits == any(way.fits for way in every)
    assert found.recommended.road != any(way.fits for way in (*found.ways, *found.counts))
    assert found.recommended.possible
    assert (found.ranges[0].low, found.ranges[-1].high) == (None, None)
    assert all(one.high == two.low for one, two in pairwise(found.ranges))
    now = Fraction(found.ways[0].bpm)
    for one in found.ranges:
        strictly = (one.low is None or one.low < now) and (one.high is None or now < one.high)
        if strictly:
            assert (one.way.name, one.way.home) == (found.recommended.name, found.recommended.home)
            no = (
                ", so take this road.",
                " is too fast for hands and feet.",
                " too long to hold",
                " too long to be felt",
            )
            assert any(said in found.why for said in no) == one.way.road


def test_between_line_and_ones_the_closest_sounds_decide():
    """3:2: the line until its sounds are 100 ms apart (200 of the 2), then the ones (own choice)."""
    p = rl.Polyrhythm(3, 2)
    assert at(p, 200).recommended.name == "learn the line"
    assert at(p, 201).recommended.name == "hold the ones"


def test_where_no_way_fits_a_road_is_said_with_its_start_and_the_step_after_it():
    """13:4 at 90: too fast to count, the ones too far apart, too many sounds for a line."""
    found = at(rl.Polyrhythm(13, 4), 90)
    assert found.why.startswith(
        "Phrase the 13 as 4 4 5: start at 30 bpm of the 4, hand to hand; then tap the 4 with the foot under "
        "it, and go up to 90 bpm. At 90 bpm of the 4 the line is too long to learn as one and a beat has too "
        "many parts to count, so take this road."
    )
    assert (found.recommended.name, found.recommended.fits) == ("phrase the larger number", True)
    assert [step.bpm for step in found.recommended.steps] == [30, 30, 90]


@TRIES
@given(several, bpms, st.data())
def test_steps_are_slices_at_tempos_where_their_way_works(p, tempo, data):
    """Each step begins on a beat, gives a Cycle of its strokes, and its way fits its tempo."""
    home = data.draw(st.integers(0, len(p.pulses) - 1))
    for way in at(p, tempo, home).ways:
        assert bool(way.steps) == way.possible
        tempos = [step.bpm for step in way.steps]
        assert tempos == sorted(tempos)
        if way.fits:
            assert tempos[-1] == way.bpm
        for step in way.steps:
            alone = way.name == "hold the ones" and len(step.lanes) == 1
            assert way.fits_at(step.bpm) or alone
            assert not alone or step.bpm <= way.steps[-2].bpm, "a pulse alone is no faster than all of them"
            assert 0 <= step.start < step.stop <= p.ticks
            assert step.start % p.step(home) == 0
            assert step.text.endswith(f" bpm of {descriptions.pulse_name(p, home)}.")
            cycle, once = step.cycle(), step.stop - step.start
            assert cycle.ticks == (2 * once if "twice through" in step.what else once)
            assert step.tempo.tick_seconds(cycle) == rl.Tempo(step.bpm, pulse=home).tick_seconds(p)
            inside = {tick - step.start for i in step.lanes for tick in p.onsets(i).tolist()}
            inside = {tick for tick in inside if 0 <= tick < once}
            inside |= {tick + once for tick in inside if cycle.ticks > once}
            assert {tick for lane in cycle.lanes for tick in lane.onsets.tolist()} == inside


def test_the_line_is_clapped_by_halves_and_hand_to_hand():
    """7:4 begins at three quarters of 72 bpm and ends at the tempo wanted."""
    first, second, whole, split, foot, last = at(SEVEN, 72).recommended.steps
    assert [(step.start, step.stop) for step in (first, second, whole)] == [(0, 14), (14, 28), (0, 28)]
    assert (first.bpm, last.bpm) == (54, 72)
    assert whole.text == "Say and tap the whole line, hand to hand, at 54 bpm of the 4."
    assert (
        first.text
        == "Say and tap the first half of the line, twice through, hand to hand, at 54 bpm of the 4."
    )
    assert split.count.startswith("together, right, left, right, right, ")
    assert whole.cycle().lanes[0].hands == "RLRLRLRLRL"
    assert np.array_equal(whole.cycle().lanes[0].onsets, rl.composite(SEVEN).onsets)
    assert [lane.limb for lane in split.cycle().lanes] == ["right hand", "left hand"]
    assert foot.text == "Tap the 4 with the foot under the line, at 54 bpm of the 4."
    assert last.text == "Speed up only as far as foot and line stay steady, up to 72 bpm of the 4."
    assert last.count == foot.count


def test_each_of_three_or_four_pulses_has_a_limb_that_is_named():
    """Hands have the two fastest, feet the others; a free foot taps home, where no foot has it yet."""
    goal = Fraction(40)
    said = {}
    for pulses, home in (((3, 4, 5), 0), ((3, 4, 5), 1), ((2, 3, 4, 5), 3)):
        steps = line_steps(rl.Polyrhythm(*pulses), home, Span(goal, None, goal))
        said[pulses, home] = [step.text.partition(", at")[0] for step in steps]
    split = "Keep the same line, now the 4 right, the 5 left, the 3 with a foot"
    assert said[(3, 4, 5), 0][-1] == split
    assert said[(3, 4, 5), 1][-2:] == [split, "Tap the 4 with the other foot under the line"]
    assert said[(2, 3, 4, 5), 3][-1].endswith(
        "the 4 right, the 5 left, the 3 with a foot, the 2 with the other foot"
    )


def test_parts_that_differ_are_counted_one_after_the_other():
    """Nobody counts 3 and 4 to a beat at once."""
    steps = at(rl.Polyrhythm(3, 4, 5), 50, home=2).recommended.steps
    assert steps[0].text.startswith("Play the 5 alone and count 3 to a beat aloud, then 4, at ")


def test_the_foot_joins_at_the_slow_tempo_and_speeding_up_is_a_step_of_its_own():
    """No step both adds the foot and is faster; where the goal is the first tempo, nothing is said twice."""
    steps = at(SEVEN, 72).recommended.steps
    assert [step.bpm for step in steps] == [54] * 5 + [72]
    goal = Fraction(50)
    same = line_steps(SEVEN, 1, Span(goal, None, goal))
    assert [step.bpm for step in same] == [goal] * 5
    assert same[-1].text == "Tap the 4 with the foot under the line, at 50 bpm of the 4."
    assert [step.text.split(",")[0] for step in same] == [step.text.split(",")[0] for step in steps[:-1]]


@TRIES
@given(several)
def test_hand_to_hand_is_counted_by_the_hands_that_play(p):
    """Count and cycle have the same hands in turn; a half begins with the hand that the whole line has there.

    They take turns over the seam too: where that needs two rounds, both are said and in the cycle.
    """
    bpm = Fraction(60)
    steps = line_steps(p, 0, Span(None, None, bpm))
    merged = [step for step in steps if step.merged]
    assert all("hand to hand" in step.text for step in merged)
    assert not [step for step in steps if "hand to hand" in step.text and not step.merged]
    whole = merged[-1].cycle().lanes[0]
    by_tick = dict(zip(whole.onsets.tolist(), whole.hands, strict=True))
    for step in merged:
        made, once = step.cycle(), len(rl.composite(p, start=step.start, stop=step.stop))
        lane = made.lanes[0]
        if len(lane.hands) > 1:
            assert all(one != other for one, other in pairwise(lane.hands + lane.hands[0]))
        assert lane.hands[0] == by_tick[step.start]
        rounds = made.ticks // (step.stop - step.start)
        assert [len(row.onsets) for row in made.counted.lanes] == [
            rounds * len(p.onsets(i, start=step.start, stop=step.stop)) for i in range(len(p.pulses))
        ]
        names = [{"R": "right", "L": "left"}[hand] for hand in lane.hands]
        said = [numbers.some(names[i : i + once], 24) for i in range(0, len(names), once)]
        assert step.count == ", then ".join(said)
        assert ("twice through" in step.what) == (len(said) == 2)


def test_a_drift_opens_before_it_closes():
    """16:15: open to the a of 4, on to the & of 8, close from there, then whole, slower at first."""
    steps = at(rl.Polyrhythm(16, 15), 100).recommended.steps
    assert [(step.start // 16, step.stop // 16) for step in steps] == [(0, 4), (0, 8), (7, 15), (0, 15)]
    assert [step.what for step in steps[:3]] == [
        "Start together, the 16 with the right hand and the 15 with the left hand, and let it open as far as "
        "beat 4 (the 16 comes on the a)",
        "Start together again, each hand as before, and go on to midway (on the & of 8), where the strokes "
        "take turns",
        "Start there, on beat 8 with the left hand: let it close past beat 12 (the 16 comes on the e) and "
        "land on the one",
    ]
    assert [step.count for step in steps] == [
        "1 2 3 4 a",
        "1 2 3 4 a | 5 6 7 8 &",
        "8 & | 9 10 11 12 e | 13 14 15",
        "1 2 3 4 a | 5 6 7 8 & | 9 10 11 12 e | 13 14 15",
    ]
    assert [step.bpm for step in steps] == [75, 75, 75, 100]
    assert steps[-1].text == (
        "Play from together to together, the 16 with the right hand and the 15 with the left hand, home loud "
        "and steady, up to 100 bpm of the 15."
    )


DRIFTING = [
    (a, b) for a in range(2, 33) for b in range(2, 33) if a != b and drifts_around(rl.Polyrhythm(a, b))
]


@pytest.mark.parametrize("pair", some(DRIFTING, 8, "drifts", [(16, 15), (11, 6), (32, 15), (8, 7)]), ids=str)
@pytest.mark.parametrize("home", [0, 1])
def test_every_drift_starts_together_or_where_strokes_take_turns_and_its_landmarks_are_there(pair, home):
    """Together, or on the beat next to midway with the hands farthest apart; a named beat has its stroke."""
    p = rl.Polyrhythm(*pair)
    ratio = drifts_around(p)
    drift = at(p, 72, home).ways[3]
    if not drift.possible:
        return
    around, step = Fraction(p.ticks, ratio.opens), p.step(home)
    opening, *_, closing, whole = drift.steps
    strokes = p.onsets(1 - home, start=0, stop=p.ticks).tolist()

    def apart(tick):
        return min(abs(tick - stroke) for stroke in (*strokes, p.ticks))

    assert [one.start for one in drift.steps if one is not closing] == [0] * (len(drift.steps) - 1)
    if (ratio.h, ratio.k) == (1, 1):
        assert abs(closing.start - around / 2) <= step
        beats = [beat * step for beat in range(p.ticks // step) if abs(beat * step - around / 2) < step]
        assert apart(closing.start) == max(map(apart, beats))
        hand = ("right", "left")[home]
        assert f"Start there, on beat {closing.start // step + 1} with the {hand} hand:" in closing.what
        assert closing.start in range(drift.steps[1].start, drift.steps[1].stop), "one was there before"
    else:
        assert closing.start == 0
    assert opening.stop < closing.stop
    assert whole.stop % p.meet() == 0, "from together to together"
    said = re.findall(
        r"beat (\d+) \(the \d+ comes (.*?)\)",
        "\n".join(one.what for one in drift.steps),
        re.M,
    )
    assert len(said) == 2
    for beat, where in said:
        at_beat = (int(beat) - 1) * step
        off = [Fraction(tick - at_beat, step) for tick in (*strokes, p.ticks)]
        if where.startswith("on the "):
            assert Fraction("e&a".index(where[-1]) + 1, 4) in off
            continue
        near = min(off, key=lambda one: (abs(one), one))
        if "of its step" in where:
            assert abs(near) == Fraction(p.step(1 - home), 4 * step)
            assert (near > 0) == ("later" in where)
            continue
        words = ("just", "quarter of a", "half a", "three quarters", "about a beat", "more than")
        quarters = next(i for i, word in enumerate(words) if word in where) if where != "too" else 0
        assert abs(4 * abs(near) - quarters) <= Fraction(1, 2) or quarters == 5 < 4 * abs(near) + 1
        if near and -near not in off:
            assert (near > 0) == ("later" in where or "after" in where)


#: Syllables of numbers as they are said, from a dictionary by heart: ones and teens, and tens.
UNDER_20 = (
    "ze-ro one two three four five six sev-en eight nine ten e-lev-en twelve thir-teen four-teen fif-teen "
)
UNDER_20 += "six-teen sev-en-teen eight-een nine-teen"
TENS = "twen-ty thir-ty for-ty fif-ty six-ty sev-en-ty eight-y nine-ty"


def said_as(number):
    """Return a number below a hundred in syllables."""
    if number < 20:
        return UNDER_20.split()[number].split("-")
    return [
        *TENS.split()[number // 10 - 2].split("-"),
        *(said_as(number % 10) if number % 10 else []),
    ]


@pytest.mark.parametrize("pair", some(DRIFTING, 10, "drifts aloud", [(16, 15), (9, 8), (32, 31)]), ids=str)
@pytest.mark.parametrize("bpm", [60, 100, 180])
@pytest.mark.parametrize("left_handed", [False, True])
def test_a_drift_names_its_hands_and_what_is_said_can_be_said(pair, bpm, left_handed):
    """Hands are those of the cycles; numbers are beats, words where the other pulse is, with time."""
    p = rl.Polyrhythm(*pair)
    for home in (0, 1):
        way = rl.approach(p, rl.Tempo(bpm, pulse=home), home=home, left_handed=left_handed).ways[3]
        for step in way.steps if way.possible else ():
            lanes = step.cycle().lanes
            named = re.findall(r"the (\d+) with the (\w+ hand)", step.what)
            assert "each hand as before" in step.what or "Start there" in step.what or len(named) == 2
            assert set(named) <= {(lane.name, lane.limb) for lane in lanes}
            for beat, hand in re.findall(r"on beat (\d+) with the (\w+ hand)", step.what):
                (own,) = [lane for lane in lanes if lane.limb == hand]
                assert (own.name, own.onsets[0], int(beat)) == (
                    str(p.pulses[home]),
                    0,
                    step.start // p.step(home) + 1,
                )
            if step.count == "say only the ones":
                continue
            assert re.fullmatch(r"[\d |e&ato]+", step.count)
            words = re.sub(
                r"(\d+) to (\d+)", lambda m: " ".join(map(str, range(int(m[1]), int(m[2]) + 1))), step.count
            )
            words = words.replace("|", "").split()
            beats = [int(word) for word in words if word.isdigit()]
            first, last = step.start // p.step(home) + 1, step.stop // p.step(home)
            assert beats == [*range(first, last + 1)]
            beat_ms = Fraction(60_000) / step.bpm
            for word, after in zip(words, [*words[1:], "1"], strict=True):
                if word.isdigit():
                    part = Fraction("e&a".index(after) + 1, 4) if after in "e&a" else Fraction(1)
                    each = beat_ms * part / len(said_as(int(word)))
                    assert each >= (100 if part < 1 else Fraction(1000, 6))
                    at = (int(word) - 1 + part) * p.step(home)
                    assert part == 1 or at in p.onsets(1 - home)


@pytest.mark.parametrize("home", [0, 1])
def test_the_landmarks_of_a_drift_are_where_groups_of_its_near_ratio_begin(home):
    """On each there is a stroke of the other pulse, less than half a beat away: it is that of the group."""
    for pair in DRIFTING:
        p = rl.Polyrhythm(*pair)
        ratio, drift = drifts_around(p), at(p, 72, home).ways[3] if max(pair) < 25 else None
        if drift is None or not drift.possible or (ratio.h, ratio.k) == (1, 1):
            continue
        each, beats = (ratio.h, ratio.k)[home], round(Fraction(p.ticks, ratio.opens) / p.step(home))
        said = "\n".join(step.what for step in drift.steps)
        opened, closing = (int(beat) - 1 for beat in re.findall(r"beat (\d+) \(", said))
        assert opened > 0
        assert opened % each == 0
        assert (beats - closing) % each == 0 or ratio.opens > p.repeats  # which is closest near that beat
        assert opened < closing < beats
        assert not re.search("half a beat|three quarters|about a beat|more than", said), pair


@TRIES
@given(several, bpms, st.data())
def test_what_a_player_reads_is_whole_and_said_once(p, tempo, data):
    """Whole bpm in the room and in each step, and no step that adds nothing or says what another says.

    A whole number is not there where a span holds none, and a tempo that was asked for is said as it is.
    """
    home = data.draw(st.integers(0, len(p.pulses) - 1))
    found = at(p, tempo, home)
    best = found.recommended
    wide = best.start_of(home) >= 2 and (best.ceiling_of(home) or 999) >= best.start_of(home) + 1
    if Fraction(tempo).denominator == 1 and wide:
        for text in (found.in_the_room(), *(step.text for step in best.steps)):
            assert not re.search(r"\d\.\d+ bpm", text), text
    assert found.why.count("at no tempo") == 0
    assert found.why.count("At no tempo") <= 1
    for step in best.steps:
        assert "none of these beats" not in step.count
        assert not step.count.endswith(".")
        assert not step.up or step.bpm > best.steps[0].bpm
    assert len({step.what for step in best.steps}) == len(best.steps)


STARTS = [(a, b) for a in range(1, 17) for b in range(1, 17) if a != b]


@pytest.mark.parametrize(
    "pair", some(STARTS, 30, "where to start", [(3, 2), (6, 4), (7, 4), (1, 7)]), ids=str
)
@pytest.mark.parametrize("home", [0, 1])
def test_a_start_is_three_quarters_of_the_goal_and_does_not_jump(pair, home):
    """Of the line, the ones and the drift, inside their span, as far as whole numbers let.

    Of any way or road a faster goal has no slower start, nor one that is faster by more than the goal is.
    """
    before = {}
    for bpm in range(30, 260, 7):
        found = at(rl.Polyrhythm(*pair), bpm, home)
        for way in (*found.ways, *found.roads):
            if not way.steps:
                continue
            start, goal = way.start_of(home), way.goal_of(home)
            if way.name in WAYS and way.name != "count":
                meant = max(BELOW * goal, way.floor_of(home) or 0)
                assert abs(start - meant) < 1
            assert start <= goal
            last_start, last_goal = before.get(way.name, (start, goal))
            assert last_start <= start <= last_start + (goal - last_goal) + 1, (way.name, bpm)
            before[way.name] = start, goal


@pytest.mark.parametrize("n", [2, 3, 7, 12, 40])
@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("bpm", [20, 72, 180])
def test_a_pulse_against_one_is_counted_and_nothing_more(n, turned, bpm):
    """One sentence with one tempo wherever a way fits, two steps and a goal, and no way beside it."""
    for often in (1, 2):
        p = rl.Polyrhythm(*((often, n * often) if turned else (n * often, often)))
        for home in (0, 1):
            found = at(p, bpm, home)
            assert counted_to(p) == n
            if found.recommended.road:
                continue
            name = descriptions.pulse_name(p, home)
            said = f"Count to {n}, one hand on every number and the other on 1 only: start at "
            assert found.in_the_room() == found.lead() == found.why
            assert found.in_the_room() == f"{said}{numbers.number(found.start)} bpm of {name}."
            assert 2 <= len(found.recommended.steps) <= 3
            assert {step.count for step in found.recommended.steps} == {"1 2" if n == 2 else f"1 to {n}"}
            assert "learn the line" not in found.changes_text()


@pytest.mark.parametrize("bpm", [92, 180])
def test_a_near_ratio_can_be_followed_at_first_reading(bpm):
    """What each hand plays, from which tempo up to which, where it slips and what to do; why it is a road."""
    found = at(rl.Polyrhythm(13, 8), bpm)
    road = (
        "Play 3 against 2: start at 60 bpm of the 8 in the left hand, and play 3 with the right to each 2; "
        "then keep both hands even and play on as 13 against 8: on beat 3 of the 8 the right hand comes just "
        f"before the left; land together on the one, and go up to {bpm} bpm. At {bpm} bpm of the 8 the line "
        "is too long to learn as one and a beat has too many parts to count, so take this road."
    )
    assert found.lead() == road
    assert found.in_the_room() == f"{road} Or give each half of the room one number."


def test_a_slip_is_where_and_as_it_is_said():
    """The other hand's stroke of that group is on the side of the beat that is named."""
    for pair in [(a, b) for a in range(5, 25) for b in range(5, 25)]:
        p = rl.Polyrhythm(*pair)
        road = next((one for one in at(p, 92).roads if one.name == "play a near ratio"), None)
        heard = road and re.search(
            r"on beat (\d+) of the \d+ the right hand comes just (\w+) the left", road.short
        )
        if not heard:
            continue
        beat = (int(heard[1]) - 1) * p.step(1)
        near = min((tick - beat for tick in p.onsets(0).tolist()), key=abs)
        assert heard[2] == ("before" if near < 0 else "after"), pair


def test_the_ones_are_explained_and_begin_slower_by_one_pulse_alone():
    """The wall says what is held; at 140 the 7 and the 4 begin alone at 105, both at once from 134."""
    found = at(SEVEN, 140)
    assert found.in_the_room().startswith(
        "Hold the ones: start at 134 bpm of the 4, each hand even by itself and both together on the one; "
        "the goal is 140. Recommended up to 205 bpm. "
    )
    assert [step.bpm for step in found.recommended.steps] == [105, 105, 134, 140]
    assert {step.count for step in found.recommended.steps[2:]} == {"say only the ones"}
    assert "each pulse even by itself" in at(rl.Polyrhythm(2, 3, 4), 200).in_the_room()


@TRIES
@given(st.sampled_from(DRIFTING), st.integers(40, 200), homes)
def test_a_drift_that_does_not_flam_says_so_wherever_it_is_advised(pair, bpm, home):
    """In the room with the tempo of the lead, and not where it flams."""
    found = at(rl.Polyrhythm(*pair), bpm, home)
    if found.recommended.name != "follow the drift":
        return
    tempo = re.search(r"no flam below ([\d.]+ bpm)", found.lead())
    assert bool(tempo) == ("No flam below" in found.in_the_room())
    assert tempo is None or f"No flam below {tempo[1]}" in found.in_the_room()


def test_counting_begins_where_parts_still_help():
    """7:4 from the 4: sevenths of 225 ms (Repp 2003, abstract) are 38.1 bpm, so 38."""
    assert [at(SEVEN, bpm).ways[1].steps[0].bpm for bpm in (40, 48, 51)] == [30, 36, 38]
    steps = at(SEVEN, 40).recommended.steps
    assert (steps[0].bpm, steps[-1].bpm) == (30, 40)
    assert steps[0].lanes == (1,)
    assert steps[0].count == "1 e & a TA e &, and so on to beat 4"
    assert steps[1].count == "the 7 on 1, ta of 1, e of 2, ta e of 2"


def test_a_cycle_too_long_to_hold_is_still_answered():
    """A billion strokes: an answer at once, and only a step's cycle is refused, with a window that works."""
    p = rl.Polyrhythm(1_000_000_007, 1_000_000_006)
    found = at(p, 90)
    assert found.recommended.name == "follow the drift"
    example = refusal(found.recommended.steps[-1].cycle, "1,000,000,", "too many to hold")
    assert 100 < len(works(example)) < 3000


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: approach("7:4", rl.Tempo(72, pulse=1)), "what='7:4'", "is no rhythm: "),
        (lambda: approach(SEVEN, "72"), "tempo='72'", "is neither a Tempo nor beats a minute of home"),
        (lambda: approach(SEVEN, 0), "tempo=0", "not a finite number above 0"),
        (lambda: at(SEVEN, 72, limits={"flam": 30}), "limits={'flam': 30}", "are not Limits"),
        (lambda: at(SEVEN, 72, line_sounds=0), "line_sounds=0", "whole number of at least 1"),
        (lambda: at(SEVEN, 72, line_sounds=2.5), "line_sounds=2.5", "whole number of at least 1"),
        (lambda: at(SEVEN, 72, limits=limits(ones_longest=0)), "ones_longest=0", "above 0"),
        (lambda: at(SEVEN, 72).ways[0].fits_at(0), "bpm=0", "above 0"),
    ],
)
def test_bad_input_is_refused_with_an_example(call, given, wrong):
    """What was given, what is wrong, and a call that works."""
    text = refusal(call, given, wrong)
    if text.startswith("approach"):
        made = works(text)
        assert made is True if ".fits_at(" in text else made.recommended.name == "learn the line"


@pytest.mark.parametrize(
    "call",
    [lambda: at(SEVEN, 72).ways[0].floor_of(2), lambda: approach(SEVEN, rl.Tempo(72, pulse=0), home=2)],
)
def test_a_pulse_that_is_not_there_is_refused(call):
    """Two pulses are numbered 0 and 1."""
    assert refusal(call, "=2 is out of range", "there are 2", IndexError)


def test_a_way_is_sought_for_as_many_pulses_and_sounds_as_anyone_plays():
    """32 pulses and 1000 sounds pass, more are refused by name."""
    assert approach(rl.Polyrhythm(*range(1, 17), *[2] * 16), rl.Tempo(60, pulse=0)).recommended
    refusal(
        lambda: approach(rl.Polyrhythm(*[2, 3] * 17), rl.Tempo(60, pulse=0)), "34 pulses", "more than the 32"
    )
    assert at(SEVEN, 72, line_sounds=1000).recommended
    refusal(lambda: at(SEVEN, 72, line_sounds=1001), "line_sounds=1001", "more than 1,000")


#: Words of numbers, and of groups.
SAID = (
    *("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"),
    *("thirteen", "fourteen", "fifteen", "sixteen"),
)


def read_groups(said: str) -> list[int]:
    """Read groups from advice: "4 4 3", or "seven fours and a three", or either, so many times."""
    if re.fullmatch(r"[\d ]+", said):
        return list(map(int, said.split()))
    once, often = re.fullmatch(r"(.*?)(?:, (twice|\w+ times))?", said).groups()
    found: list[int] = []
    for run in re.split(", | and ", once):
        count, size = run.split()
        many = 1 if count in ("a", "an") else int(count) if count.isdigit() else SAID.index(count) + 1
        found += [
            SAID.index(size.removesuffix("es" if size == "sixes" else "s" if many > 1 else "")) + 1
        ] * many
    return found * read_times(often)


def read_times(often: str | None) -> int:
    """Read how often."""
    if often in (None, "twice", "again"):
        return 1 if often is None else 2
    many = often.removesuffix(" times")
    return int(many) if many.isdigit() else SAID.index(many) + 1


LARGE = [
    *((n, 1) for n in range(5, 1001)),
    *((a * k, b * k) for a, b in ((9, 5), (11, 8)) for k in range(2, 90)),
]
ALWAYS = [(27, 1), (31, 1), (64, 1), (66, 1), (128, 1), (63, 35), (55, 40)]


@pytest.mark.parametrize("pair", some(LARGE, 25, "groups of advice", always=ALWAYS), ids=str)
def test_advice_says_long_rows_of_groups_in_words(pair):
    """What is said adds up to the number and is short, on the road, in its step and in what is counted."""
    large = pair[0]
    road = next(road for road in at(rl.Polyrhythm(*pair), 30).roads if "phrase" in road.name)
    said = road.label.removeprefix(f"phrase the {large} as ") if len(road.groups) > 1 else "five"
    if len(road.groups) > 1:
        assert tuple(read_groups(said)) == road.groups
        assert f"as {said}, the first of each group loud" in road.steps[0].what
    assert sum(road.groups) == large
    assert len(said) < 50
    assert not re.search(r"(\b\d+\b)( \1){6}", f"{road.label} {road.steps[0].what}")
    once, again = re.fullmatch(r"(.*?)(?:, and all of it (again|\w+ times))?", road.steps[0].count).groups()
    strokes = 0
    for group in once.split(" | "):
        row, often = re.fullmatch(r"([\d ]+?)(?: \((.*?)\))?", group).groups()
        strokes += len(row.split()) * read_times(often)
    assert strokes * read_times(again) == large


@TRIES
@given(st.integers(2, 24), st.integers(2, 24), st.integers(10, 400), st.integers(0, 1))
def test_a_whole_tempo_belongs_to_one_advice(a, b, bpm, home):
    """What is said of slower and of faster leaves out the tempo asked for, and no whole one that it meets."""
    p = rl.Polyrhythm(a, b)
    found = rl.approach(p, rl.Tempo(bpm, pulse=home), home=home)
    for change in found.changes:
        said = change.describe(of=False).replace("\N{NO-BREAK SPACE}", "")
        word, tempo = re.match(r"(Slower|Faster) than ([0-9.e-]+) bpm: ", said).groups()
        tempo = Fraction(tempo)
        if tempo.denominator > 1 or change.bpm < 1:
            continue
        outside = tempo - 1 if word == "Slower" else tempo + 1
        assert (outside <= change.bpm <= tempo) if word == "Slower" else (tempo <= change.bpm <= outside)

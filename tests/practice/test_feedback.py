"""Feedback: one finding with one thing to do, in words; and where to go when lost."""

import json
import re
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.practice.causes import causes
from rhythmlab.practice.feedback import _TakeSentences, feedback, feedback_at, limb_of, tick_name, when_lost
from rhythmlab.practice.measure import measure
from rhythmlab.practice.moved import KINDS, Cause
from rhythmlab.practice.take import MODES, Take
from rhythmlab.resources import folder
from rhythmlab.text.numbers import number
from tests.practice.players import PAIRS, Case, take_of
from tests.practice.simulate import pair, played, with_taps
from tests.profile import some
from tests.refusals import refusal
from tests.strategies import TRIES, cycles

NOT_CALIBRATED = "Not calibrated: where the whole take lay against the click is not judged."
#: A sentence that tells of milliseconds, a share, or a count.
NUMBER = re.compile(r"\d")


#: Ticks of 4:3 beside its strokes, none of them after the same stroke three times.
BESIDE = (10.5, 7.5, 1.5, 4.5)


def rng(seed=1):
    return np.random.default_rng(seed)


@pytest.mark.parametrize("lead_ms", [0, -40])
@pytest.mark.parametrize("bpm", [50, 60, 84, 120])
@pytest.mark.parametrize("spread_ms", [0, 10])
def test_a_left_hand_25_ms_late_is_told_in_words(bpm, lead_ms, spread_ms):
    """4:3 with every stroke of lane 1 25 ms late: hand, lane, milliseconds, late, and what to do next."""
    take = played(pair(4, 3, 8, bpm=bpm), rng(), bias_ms=(lead_ms, lead_ms + 25), spread_ms=spread_ms)
    first = feedback(take)[0]
    told = re.match(
        r"The left hand, the 3, came (\d+) ms after the right hand on average, which is late", first
    )
    assert told, first
    assert abs(int(told[1]) - 25) <= (0 if spread_ms == 0 else 8)
    slower = number(bpm * 3 / 4, 0)
    assert (
        f"play beat 1 at {slower} bpm of the 3, land on beat 2 and rest out the cycle, and bring the left"
        in first
    )


@pytest.mark.parametrize(
    ("limbs", "names"),
    [
        ("hands", "the left hand, the 3, came 40 ms after the right hand"),
        ("", "the 3 came 40 ms after the 4"),
    ],
)
def test_lanes_that_are_apart_only_where_they_meet_are_told_of_that(limbs, names):
    """The 3 late on beat 1 and early by half of that on the others: level on average, apart there."""
    take = pair(4, 3, 8, limbs=limbs)
    late = np.tile([0.04, -0.02, -0.02], 8)
    taps = [*take.meant(0), *(take.meant(1) + late)]
    assert feedback(with_taps(take, np.repeat([0, 1], [32, 24]), taps))[0] == (
        f"Where they meet, {names}: next, play beat 1 at 63 bpm of the 3, land on beat 2 and rest out the "
        "cycle, until both sound as one."
    )


def test_without_limbs_the_lanes_are_named():
    """Where it is not known who played, the late lane is told by its name."""
    take = played(pair(4, 3, 8, limbs=""), rng(), bias_ms=(0, 25))
    assert feedback(take)[0].startswith("The 3 came 25 ms after the 4 on average")


def test_an_early_hand_makes_the_other_one_late():
    """Of two lanes the later is told: 25 ms early on the left is 25 ms late on the right."""
    take = played(pair(4, 3, 8), rng(), bias_ms=(0, -25))
    assert feedback(take)[0].startswith("The right hand, the 4, came 25 ms after the left hand on average")


@pytest.mark.parametrize("lead_ms", [-50, -40, -30, -10])
@pytest.mark.parametrize("offset_ms", [0.0, -1.0])
def test_a_lead_that_all_lanes_share_is_never_a_fault(lead_ms, offset_ms):
    """30 to 50 ms before the click are what everybody has: nothing is told as early or to be changed."""
    # Aschersleben & Prinz 1995, Perception & Psychophysics 57(3), 305-317 (abstract): 30 to 50 ms.
    take = played(
        pair(4, 3, 8, bpm=100, offset_ms=offset_ms), rng(2), bias_ms=(lead_ms, lead_ms), spread_ms=5
    )
    told = feedback(take)
    judged = [sentence for sentence in told if not sentence.startswith("Not calibrated")]
    assert len(judged) == 1
    assert "as even as the best trained tappers (about 2 %, Repp 2005)" in judged[0]
    assert not any(word in judged[0] for word in ("early", "late", "before", "after"))
    assert told[1:] == ([NOT_CALIBRATED] if offset_ms == 0 else [])


@pytest.mark.parametrize(("bias", "said"), [(40, r"4\d ms late|39 ms late"), (-90, r"(8\d|9\d) ms early")])
def test_when_calibrated_a_large_common_error_is_told(bias, said):
    """Then late strokes, or a lead of far more than 50 ms, are the player's."""
    take = played(pair(4, 3, 8, offset_ms=-0.5), rng(3), bias_ms=(bias, bias), spread_ms=5)
    told = feedback(take)
    assert re.search(f"All strokes were ({said}) on average: next, ", told[0])
    assert not any("Not calibrated" in sentence for sentence in told)


@pytest.mark.parametrize(
    ("spread", "said"),
    [
        (
            0.012,
            "as even as the best trained tappers (about 2 %, Repp 2005), with all 96 strokes in place",
        ),
        (0.03, "between trained tappers (about 2 %, Repp 2005) and novices (about 4 %, Repp 2005)"),
        (0.065, "more than novices against a click (about 4 %, Repp 2005), with all 96 strokes in place"),
    ],
)
def test_the_spread_is_held_against_published_figures(spread, said):
    """Trained tappers have about 2 % of the interval, novices about 4 %."""
    # Repp 2005, Psychonomic Bulletin & Review 12(6), section 4 (as quoted elsewhere).
    take = pair(4, 3, 24, bpm=100, mode="one pulse", lanes=(0,))
    take = played(take, rng(4), spread_ms=1000 * spread * 60 / (100 * 4 / 3))
    told = feedback(take)[0]
    assert said in told
    assert re.match(
        r"The strokes of the right hand, the 4, spread by \d+ ms, [\d.]+ % of the interval, ", told
    )
    moved = feedback(take, limits=rl.limits(tap_sd_trained=50))[0]
    assert "as even as the best trained tappers (about 50 %, Repp 2005)" in moved


def test_misses_are_counted_and_their_lane_is_named():
    """Four strokes of the left hand left out, never two in a row."""
    missing = [(1, 2), (1, 6), (1, 10), (1, 14)]
    told = feedback(played(pair(4, 3, 8), rng(), spread_ms=4, missing=missing))
    assert told[0].startswith("4 of 56 strokes were missed, all by the left hand: next, play at 63 bpm")
    assert told[1:] == [NOT_CALIBRATED]  # one thing to do at a time


def test_a_break_is_told_with_its_place_and_the_way_back():
    """The a of 1 in cycle 3, three strokes and a second or so."""
    told = feedback(played(pair(4, 3, 8), rng(), spread_ms=4, missing=[(0, 9), (0, 10)]))
    assert told[0].startswith(
        "It broke at the a of 1 of cycle 3 in the right hand and was back after 3 strokes, 0.89 seconds: next"
    )
    assert "drop to the 3 until beat 1" in told[0]
    never = feedback(played(pair(4, 3, 4), rng(), missing=[(0, stroke) for stroke in range(4, 15)]))
    assert "It broke at beat 1 of cycle 2 in the right hand and did not come back" in never[0]


def test_wrong_hands_extras_drift_and_silences_are_told():
    """Each says how many or how much, in which lane, and what to do next."""
    swapped = feedback(played(pair(4, 3, 12), rng(5), spread_ms=4, swap=0.2))
    assert re.match(
        r"The (right|left) hand, the \d, played \d+ strokes of another lane: next, say", swapped[0]
    )
    take = pair(4, 3, 8)
    beside = [float(take.turn) * (k + at / 12) for k, at in zip((0, 2, 4, 6), BESIDE, strict=True)]
    lanes, times = np.repeat([0, 1], [32, 24]), np.concatenate([take.meant(0), take.meant(1)])
    extras = " ".join(feedback(with_taps(take, [*lanes, *[1] * 4], [*times, *beside])))
    assert "4 strokes came beside the 56 meant, all by the left hand: next, play one lane alone" in extras
    drifting = feedback(played(pair(4, 3, 8), rng(6), spread_ms=6, drift_ms_per_cycle=25))
    assert drifting[0].startswith("You dragged from the start, 1.1 % slower than 84 bpm of the 3: next, ")
    rushing = feedback(played(pair(4, 3, 8), rng(6), spread_ms=6, drift_ms_per_cycle=-25))
    assert re.match(r"You rushed from the start, 1\.2 % faster than 84 bpm of the 3: next, ", rushing[0])
    take = pair(4, 3, 8, silent=(2, 1))
    late = times + 0.1 * np.isclose(times, 3 * float(take.turn))
    assert re.match(
        r"After 2 silences you came back up to 9\d ms late against the rest of the take: next, keep",
        feedback(with_taps(take, lanes, late))[0],
    )
    gone = ~np.isclose(times, 3 * float(take.turn))
    assert any(
        "After 1 silence no stroke was near" in s for s in feedback(with_taps(take, lanes[gone], times[gone]))
    )


def test_sounds_that_came_evenly_spaced_are_named():
    """Four even strokes in the order and hands of 3:2 are told as that, and the spread is left out."""
    take = pair(3, 2, 12)
    turn = float(take.turn)
    times = (np.array([0, 0, 1, 2, 3]) / 4 + np.arange(12)[:, None]).ravel() * turn
    told = feedback(with_taps(take, [0, 1, 0, 1, 0] * 12, times + rng().normal(0, 0.006, 60)))
    assert told[0].startswith("The 4 sounds of a cycle came in the right order but evenly spaced, so that")
    assert told[0].endswith("and copy its 2 1 1 2 from sound to sound.")
    assert not any("tap_sd" in sentence for sentence in told)


def test_a_gap_cycle_says_where_the_gaps_go_wrong():
    """Two strokes 40 ms late are told with their place; all of it with the fifteens is locking to them."""
    take = pair(16, 15, 1, bpm=100, mode="gap cycle")
    moving = take.meant(0).copy()
    moving[5:7] += 0.045
    told = feedback(with_taps(take, [1] * 15 + [0] * 16, [*take.meant(1), *moving]))
    assert told[0].startswith(
        "The gaps went wrong from stroke 6 of the right hand in cycle 1, at the ka a of 5 ("
    )
    moving[5:15] = take.meant(1)[5:15]
    told = feedback(with_taps(take, [1] * 15 + [0] * 16, [*take.meant(1), *moving]))
    assert told[0] == (
        "The right hand, the 16, locked to the 15 and played 15 strokes a cycle, not 16: next, play the 16 "
        "alone against the click at 75 bpm of the 15 until it keeps its own pulse."
    )


def test_no_taps_and_hopeless_takes():
    """Both say so with numbers and a way to begin; nothing is praised or judged."""
    assert feedback(pair(4, 3, 2)) == [
        "No stroke was heard in 2 cycles.",
        "Next: say the rhythm aloud for two cycles, then tap the 3 alone.",
    ]
    assert feedback(pair(4, 3, 2), home=0)[1].endswith("then tap the 4 alone.")
    early = feedback(with_taps(pair(4, 3, 2), [0, 0], [9.0, 9.5]))
    assert early[0] == "None of 2 taps was near one of the 14 strokes meant."
    few = feedback(with_taps(pair(4, 3, 8), [0, 1], [0.0, pair(4, 3, 8).meant(1)[-1]]))
    assert few[0] == "2 of 56 strokes were near their places, too few to say more."
    assert few[1] == "Next: 63 bpm of the 3, the 3 alone first, then add one lane."
    empty = rl.Cycle(4, [rl.Lane("rest", []), rl.Lane("bell", [0])], beats=[0])
    take = pair(4, 3)
    fields = {name: getattr(take, name) for name in Take.__dataclass_fields__}
    fields |= {"cycle": empty, "tempo": rl.Tempo(60, ticks=1), "stop": 4, "mode": "one pulse", "lanes": (0,)}
    assert feedback(Take(**fields))[0] == "No stroke was meant in this slice."


@TRIES
@given(
    st.sampled_from(MODES),
    st.sampled_from([(4, 3), (3, 2), (7, 4), (5, 5), (16, 15)]),
    st.floats(-60, 60),
    st.floats(0, 60),
    st.floats(0, 0.9),
    st.integers(0, 20),
    st.sampled_from(["", "hands", "right hand and foot", "sticks"]),
    st.integers(0, 99),
)
def test_any_take_gets_one_finding(mode, numbers, bias, spread, miss, extra, limbs, seed):
    """Sentence case, a full stop, a number in the first, one step, no doubled marks, no None or nan."""
    lanes = (0,) if mode == "one pulse" else (0, 1)
    take = pair(*numbers, 3, mode=mode, lanes=lanes, limbs=limbs, silent=(1, 1))
    take = played(take, rng(seed), bias_ms=(0, bias), spread_ms=spread, miss=miss, extra=extra)
    measures = measure(take)
    told = feedback(take, measures)
    assert told == feedback(take)
    assert (
        len([sentence for sentence in told if sentence != NOT_CALIBRATED]) == 1
        or "next" in " ".join(told[1:]).lower()
    )
    assert NUMBER.search(told[0])
    for sentence in told:
        assert sentence[0].isupper() or sentence[0].isdigit()
        assert sentence.endswith(".")
        assert not re.search(r",,|\.\.|  |\bNone\b(?! of )|\bnan\b|\binf\b", sentence), sentence
        assert not re.search(r"[a-z,:] The\b", sentence), (
            sentence
        )  # a name inside a sentence is written small
    assert sum(sentence.lower().count("next") for sentence in told) == 1


def test_three_lanes_are_told_against_the_others():
    """3:4:5 with the 5 late: the 5 after the others."""
    cycle = rl.Polyrhythm(3, 4, 5).cycle()
    take = Take(
        cycle=cycle,
        tempo=rl.Tempo(40, pulse=0),
        cycles=8,
        start=0,
        stop=60,
        mode="both pulses",
        lanes=(0, 1, 2),
        tap_lanes=[],
        tap_times=[],
    )
    told = feedback(played(take, rng(), bias_ms=(0, 0, 30), spread_ms=4))
    assert re.match(r"The 5 came (29|30|31) ms after the others on average, which is late", told[0])


def test_a_lane_that_is_called_as_its_limb_is_named_once():
    """Of feet against hands "the right hand", and not "the right hand, the right hand"; a snare is named."""
    for name, said in (("right hand", ""), ("hands", ""), ("snare", ", the snare,")):
        lanes = [
            rl.Lane("feet", [0, 3, 6], limb="right foot"),
            rl.Lane(name, [0, 2, 4, 6], limb="right hand"),
        ]
        fields = {one: getattr(pair(4, 3, 8), one) for one in Take.__dataclass_fields__}
        meant = Take(
            **fields | {"cycle": rl.Cycle(8, lanes, beats=[0, 4]), "stop": 8, "home": 0, "limbs": ""}
        )
        about = _TakeSentences(meant, measure(meant), 0, rl.limits())
        assert about.who(1) == f"the right hand{said}"
        assert about.who(0) == "the right foot"


@pytest.mark.parametrize(
    ("limbs", "names"),
    [
        ("hands", ["right hand", "left hand"]),
        ("right hand and foot", ["right hand", "foot"]),
        ("left hand, right hand", ["left hand", "right hand"]),
        ("", ["", ""]),
        ("sticks", ["", ""]),
    ],
)
def test_limbs_are_those_of_the_take(limbs, names):
    """Two hands are right and left in the order of the lanes; what is not known is not named."""
    take = pair(4, 3, limbs=limbs)
    assert [limb_of(take, lane) for lane in (0, 1)] == names
    alone = pair(4, 3, limbs="foot", mode="one pulse", lanes=(1,))
    assert limb_of(alone, 1) == "foot"
    cycle = rl.Cycle(2, [rl.Lane("bell", [0], limb="left foot")], beats=[0])
    fields = {name: getattr(alone, name) for name in Take.__dataclass_fields__}
    own = Take(
        **fields | {"cycle": cycle, "stop": 2, "lanes": (0,), "home": 0, "tempo": rl.Tempo(60, ticks=1)}
    )
    assert limb_of(own, 0) == "left foot"


@TRIES
@given(cycles().filter(lambda cycle: len(cycle.lanes) > 0), st.integers(0, 200))
def test_lost_counts_beats_to_the_nearest_shared_stroke_and_never_ticks(cycle, tick):
    """From any tick of any cycle: the beats that a walk passes, or the sounds where nothing is counted."""
    told = when_lost(cycle, tick)
    one = int(cycle.beats[0]) if len(cycle.beats) else 0
    rows = [set(lane.onsets.tolist()) for lane in cycle.lanes]
    steps = set(cycle.beats.tolist()) or set.union(*rows)

    def walk(stop):
        """Return how many ticks on it stops, and how many steps it has passed by then."""
        passed = 0
        for n in range(1, cycle.ticks + 1):
            at = (tick + n) % cycle.ticks
            passed += at in steps
            if stop(at):
                return n, passed
        return None

    shared = walk(lambda at: sum(at in row for row in rows) > 1)
    to_one = walk(lambda at: at == one)
    wanted = [to_one] if shared in (None, to_one) else [shared, to_one]
    said = [re.search(r"(?:(\d+) (beat|sound)s? on|in this beat)[.:]", sentence) for sentence in told[:-1]]
    assert [int(found[1] or 0) for found in said] == [passed for _, passed in wanted]
    assert {found[2] for found in said} <= {None, "beat" if len(cycle.beats) else "sound"}
    assert not re.search(r"\bticks?\b", " ".join(told))
    assert told[-1].startswith("Until then drop to the home pulse alone: ")


def test_lost_in_known_rhythms():
    """6:4 from tick 13 is tick 1 of the next cycle; a lane that holds is kept; beat 1 is told once."""
    six_four = rl.Polyrhythm(6, 4).cycle()
    assert when_lost(six_four, 13) == when_lost(six_four, 1)
    assert when_lost(six_four, 1, lane=0)[-1] == "Until then keep the 6 alone and leave the other lanes out."
    assert when_lost(rl.Polyrhythm(4, 3).cycle(), 5) == [
        "Come in on the next one, beat 1, 2 beats on: the strokes meet there.",
        "Until then drop to the home pulse alone: only the 3 beats.",
    ]
    three = rl.Polyrhythm(2, 3, 4).cycle()  # the 2 and the 4 meet on tick 6, the 3 has no stroke there
    assert "beat 3, 2 beats on" in when_lost(three, 0)[0]
    assert "beat 1, 4 beats on" in when_lost(three, 0, lane=1)[0]
    pair = rl.Polyrhythm(16, 15).cycle()
    assert when_lost(pair, 100)[0] == "Come in on the next one, beat 1, 9 beats on: the strokes meet there."


def test_places_are_named_in_the_count():
    """Beats by number, parts by the word that is said, what is no stroke by its place as well."""
    seven = rl.Polyrhythm(7, 4).cycle()
    assert [tick_name(seven, tick) for tick in (0, 7, 4, 8)] == [
        "beat 1",
        "beat 2",
        "the ta of 1",
        "the e of 2",
    ]
    assert tick_name(rl.Polyrhythm(4, 3).cycle(), 6) == "the & of 2"
    assert tick_name(rl.Cycle(4, [rl.Lane("bell", [1])], beats=[]), 1) == "tick 1"


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: feedback("take"), "'take'", "is not a Take"),
        (lambda: feedback(pair(4, 3), home=2), "home=2", "out of range"),
        (lambda: when_lost("4:3", 0), "what='4:3'", "is no rhythm: "),
        (lambda: when_lost(rl.Polyrhythm(4, 3).cycle(), -1), "tick=-1", "not a whole number"),
        (lambda: when_lost(rl.Polyrhythm(4, 3).cycle(), 1.5), "tick=1.5", "not a whole number"),
        (lambda: when_lost(rl.Polyrhythm(4, 3).cycle(), 0, lane=2), "lane=2", "out of range"),
    ],
)
def test_what_cannot_be_told_of_is_refused(call, given, wrong):
    """The message says what was given, what is wrong, and shows what works."""
    refusal(call, given, wrong, (ValueError, IndexError))


def test_a_good_way_back_after_silence_is_said_with_its_number():
    """Whoever practises with silence is told how far off the way back was, also when it was near."""
    take = played(pair(4, 3, 7, silent=(2, 1)), rng(), spread_ms=2)
    assert any("After 2 silences you came back within" in sentence for sentence in feedback(take))


def test_gaps_that_open_and_close_as_meant_are_said_so():
    """16:15 played evenly in gap cycle: the sentence gives how far off the gaps were on average."""
    take = played(pair(16, 15, 2, bpm=100, mode="gap cycle"), rng(), spread_ms=4)
    assert any("The gaps opened and closed as meant, " in sentence for sentence in feedback(take))


@pytest.mark.parametrize(("size", "way", "beat"), [(-1, "early", 4), (1, "late", 2)])
def test_a_shift_is_said_as_early_or_late_where_the_delay_is_known(size, way, beat):
    """A beat too soon is early; where nobody measured the delay, the beat is said that the 1 was put on."""
    then = "next, count in aloud with the click and come in on beat 1."
    known, unknown = (
        take_of(Case("shifted", size, (7, 4), 8, 60), rng(3), offset_ms=one) for one in (-0.5, 0)
    )
    assert feedback(known) == [f"The whole take came 1 beat {way}: {then}"]
    # and not that where the whole take lay is not judged
    assert feedback(unknown) == [f"Your 1 stood on beat {beat}, 1 beat from the 1 of the click: {then}"]


@pytest.mark.parametrize("numbers", some([*PAIRS, (10, 4), (9, 6), (13, 8), (2, 3)], 3, "no early or late"))
@pytest.mark.parametrize("late_ms", [-400, 270, 300, 340, 400, 600])
def test_a_take_that_is_not_calibrated_is_never_early_or_late_as_a_whole(numbers, late_ms):
    """A place is said that the 1 was put on, and only one it is near to; else that a delay can be it."""
    for bpm in (60, 80):
        take = take_of(Case("clean", 0, numbers, 8, bpm), rng(4), lead_ms=late_ms)
        (shift, *_), said = causes(take), feedback(take)[0]
        assert not re.match(r"The whole take (came|was)", said), said
        away = abs(shift.us - 1000 * late_ms)
        assert shift.kind in ("shifted", "unmeasured"), said
        assert away < (80_000 if shift.kind == "shifted" else 20_000), said
        assert said.startswith("Your 1 stood " if shift.kind == "shifted" else "The whole take lay "), said


@pytest.mark.parametrize(("right", "left", "by"), [(0, 4, "all"), (4, 0, "all"), (1, 3, "3 of them")])
@pytest.mark.parametrize("what", ["missed", "beside"])
def test_all_is_said_for_all_and_else_how_many(right, left, by, what):
    """Strokes that are missing or too many are all by one hand, or so many of them."""
    take = pair(4, 3, 8)
    if what == "missed":
        missing = [*[(0, i) for i in (2, 7, 13, 20)[:right]], *[(1, i) for i in (14, 10, 6, 2)[:left]]]
        told = feedback(played(take, rng(), spread_ms=4, missing=missing))
    else:
        where = [float(take.turn) * (2 * k + at / 12) for k, at in enumerate(BESIDE)]
        lanes, times = np.repeat([0, 1], [32, 24]), np.concatenate([take.meant(0), take.meant(1)])
        told = feedback(with_taps(take, [*lanes, *[0] * right, *[1] * left], [*times, *where]))
    assert f", {by} by the {'right' if right > left else 'left'} hand: next, " in told[0], told


@pytest.mark.parametrize("noise", ["white", "timers", "clock"])
def test_two_strokes_make_no_place(noise):
    """In two cycles no place of the cycle is blamed, however far off both of its strokes are."""
    for seed in range(5):
        take = take_of(Case("place", 60, (5, 4), 8, 60, noise, cycles=2), rng(seed))
        assert "place" not in {cause.kind for cause in causes(take)}


@pytest.mark.parametrize(
    ("of", "lane", "stroke", "said"),
    [
        (
            (4, 3),
            0,
            2,
            "From cycle 3 on the right hand, the 4, left out the & of 2 in each cycle: next, play beats 1 "
            "and 2 at 63 bpm of the 3, land on beat 3 and rest out the cycle, until the & of 2 is there "
            "every time.",
        ),
        (
            (3, 2),
            1,
            1,
            "From cycle 3 on the left hand, the 2, left out beat 2 in each cycle: next, play 4 cycles at "
            "63 bpm of the 2, until beat 2 is there every time.",
        ),
        ((16, 15), 0, 5, "From cycle 3 on the right hand, the 16, left out "),
    ],
)
def test_a_stroke_left_out_again_and_again_is_told_by_its_place(of, lane, stroke, said):
    """The same stroke from cycle 3 on: its place, however few of all strokes that is, and no lock to 1."""
    meant = pair(*of)
    missing = [(lane, cycle * of[lane] + stroke) for cycle in range(2, 8)]
    told = feedback(played(meant, rng(), spread_ms=8, missing=missing))
    assert told[0].startswith(said), told
    assert "even strokes" not in told[0]


def test_a_finding_has_one_thing_to_do():
    """No template of what to do offers two things."""
    with (folder("data") / "sentences.json").open(encoding="utf-8") as file:
        said = json.load(file)
    rows = [*said["do"].items(), *said["first_do"].items()]
    assert len(rows) > 40
    for name, text in rows:
        assert not re.search(r",? or |\bnext\b", text), name


#: Each cause in a size that is told, and a clean take.
FINDINGS = [
    *(("swapped", 1), ("shifted", 1), ("shifted", -1), ("slipped", 1), ("slipped", -1), ("tempo", 2)),
    *(("tempo", -2), ("rushed", 4), ("rushed", -4), ("locked", 1), ("evened", 1), ("evened", 0.5)),
    *(("hand", 40), ("looser", 3), ("place", -60), ("clean", 0)),
    *(("waited", 95), ("waited", -80), ("changed", 5), ("changed", -5), ("parted", 1), ("parted", -1)),
    *(("stretch", -100), ("stretch", 100)),
]


@pytest.mark.parametrize(("kind", "size"), FINDINGS)
def test_every_finding_is_one_sentence_that_this_player_can_act_on(kind, size):
    """Of every pair, calibrated or not, right- or left-handed: one finding, one next, whole bpm, own limbs.

    No ticks, and no early or late of the whole by less than a device may delay where nobody measured it.
    """
    rows = product(PAIRS, (0.0, -1.0), ("hands", "left hand and right hand", "right hand and foot", ""))
    for numbers, offset, limbs in some(rows, 6, ("findings", kind, size)):
        case = Case(kind, size, numbers, 8, 92, at=5)
        take = take_of(case, rng(4), offset_ms=offset, limbs=limbs)
        told = feedback(take)
        case_of = f"{case} {offset} {limbs}: {told}"
        alone = offset or kind == "shifted"  # a shift is judged, so nothing is said of not judging
        assert told[1:] == ([] if alone else [NOT_CALIBRATED]), case_of
        assert told[0].count("next") == 1, case_of
        assert not re.search(r"\btick|\d\.\d+ bpm", told[0]), case_of
        named = set(re.findall(r"\b(?:right|left) (?:hand|foot)\b|\bfoot\b(?! on)", told[0]))
        assert named <= {limb_of(take, 0), limb_of(take, 1)} - {""}, case_of
        if not offset:
            assert not told[0].startswith("All strokes were"), case_of
        kinds = [cause.kind for cause in causes(take)]
        assert kinds[:1] in ([kind], ["unsure"]) if kind != "clean" else kinds in ([], ["unsure"]), case_of


#: Causes with their whole sentences, in a 7:4 of eight cycles at 60 bpm of the 4.
SENTENCES = {
    ("parted", 1): (
        r"The right hand, the 7, ran 1 % slow against the left hand and was 3\d\d ms behind it by the end: "
        r"next, play the 7 alone against the click at 45 bpm of the 4 until it keeps its own pulse\."
    ),
    (
        "parted",
        -1,
    ): r"The right hand, the 7, ran 1 % fast against the left hand and was 3\d\d ms ahead of it .*",
    ("waited", 95): (
        r"You waited 9\d ms before .+ of cycle 5 and were behind by that from there on: next, "
        r"play 4 cycles at 45 bpm of the 4, counting aloud\."
    ),
    ("waited", -80): r"You came [78]\d ms too soon at .+ of cycle 5 and were ahead by that from there on: .*",
    ("changed", 3): (
        r"From cycle 5 on you were (2\.9|3) % slower than before: next, "
        r"play it again and keep a foot on the 4 through the beginning of that cycle\."
    ),
    ("changed", -3): r"From cycle 5 on you were (3|3\.1) % faster than before: next, .*",
    ("stretch", -100): (
        r"In each cycle you rushed from beat 1 to .+, 1\d\d ms early there, and were back in time at beat 1: "
        r"next, play beats 1 to 3 at 45 bpm of the 4, land on beat 4 and rest out the cycle, counting aloud\."
    ),
    ("stretch", 100): r"In each cycle you dragged from beat 1 to .+, 1\d\d ms late there, and were back .*",
}


@pytest.mark.parametrize(("kind", "size"), SENTENCES)
def test_a_bend_is_said_with_its_numbers_and_one_thing_to_do(kind, size):
    """Who, from where on, and by how much."""
    for seed in range(3):
        told = feedback(take_of(Case(kind, size, (7, 4), 6, 60, at=5), rng(seed)))[0]
        assert re.fullmatch(SENTENCES[kind, size], told), told


@pytest.mark.parametrize("numbers", [(16, 15), (13, 8), (10, 9)])
@pytest.mark.parametrize(("kind", "said"), [("rushed", "more and more"), ("tempo", "from the start")])
@pytest.mark.parametrize("percent", [-0.8, 0.8])
def test_a_slight_steady_drift_is_told_as_what_it_is(numbers, kind, said, percent):
    """In near-equal pulses a drift of 0.8 % moves strokes onto others: it is no slip, and not looser."""
    told = feedback(take_of(Case(kind, percent, numbers, 10, 60), rng(3)))[0]
    assert said in told, told


@pytest.mark.parametrize("numbers", [(16, 15), (10, 9), (3, 2)])
@pytest.mark.parametrize("beats", [-1, 1])
def test_a_beat_of_shift_is_called_a_beat(numbers, beats):
    """Where a stroke of the other pulse would say nearly the same, the beat is what a player counts."""
    told = feedback(take_of(Case("shifted", beats, numbers, 10, 60), rng(2)))[0]
    assert re.match(rf"Your 1 stood on beat {2 if beats > 0 else numbers[1]}, 1 beat from the 1 of", told), (
        told
    )


def test_two_cycles_are_too_few_to_call_a_loose_take_even():
    """Of twelve takes of 5:4 that grow three times as loose, or have a hand 25 ms late, hardly one is."""
    cases = [Case("looser", 3, (5, 4), 15, 60, cycles=2, at=2), Case("hand", 25, (5, 4), 15, 60, cycles=2)]
    told = [feedback(take_of(case, rng(seed)))[0] for case in cases for seed in range(6)]
    assert sum("even" in sentence.split(":")[0] for sentence in told) <= 2, told


def test_what_cannot_be_told_yet_is_said_of_how_many_strokes():
    """A tight spread is no reason by itself: few strokes and their spread are, so both are said."""
    take = played(pair(4, 3, 2), rng(), spread_ms=7)
    said = _TakeSentences(take, measure(take), 1, rl.limits(), asked=8).cause(Cause("unsure", us=7_000))
    assert str(said).startswith(
        "Cannot tell yet from 14 strokes that spread by 7 ms whether anything is off: next, "
    )


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_cause_has_its_sentence(kind):
    """One sentence with a full stop for each kind there is."""
    take = played(pair(4, 3, 8), rng(), spread_ms=4)
    about = _TakeSentences(take, measure(take), 1, rl.limits())
    cause = Cause(kind, 0, 1, us=30_000, then_us=60_000, ticks=3, cycle=3, tick=3, lanes=(1, 0))
    cause = replace(cause, count=6, pulses=(3, 2))
    said = str(about.cause(cause))
    assert re.fullmatch(r"[A-Z][^.]*(\d\.\d[^.]*)*\.", said), said
    assert kind in ("began", "ended", "doubled") or ": next, " in said


@pytest.mark.parametrize(
    ("faster", "said"),
    [
        (2, "160 bpm of the 4, twice the 80"),
        (0.5, "40 bpm of the 4, half the 80"),
        (4 / 3, "107 bpm of the 4, four thirds of the 80"),
        (2 / 3, "53 bpm of the 4, two thirds of the 80"),
    ],
)
def test_a_tempo_far_from_the_one_asked_for_is_told_as_a_tempo(faster, said):
    """Both hands alike: the tempo played, and how many times the one asked for it is."""
    take = take_of(Case("clean", 0, (5, 4), 8, 80), rng(2), lead_ms=0)
    kept = take.tap_times < faster * (float(take.turn) * take.cycles + 0.3)
    told = feedback(with_taps(take, take.tap_lanes[kept], take.tap_times[kept] / faster))
    assert told[0].startswith(f"You played at {said} asked for: next, count two cycles aloud"), told
    other = feedback(with_taps(take, take.tap_lanes[kept], take.tap_times[kept] / 1.17))
    assert re.match(
        r"You played at 9[34] bpm of the 4, 1[67](\.\d)? % faster than the 80 asked for: next", other[0]
    )


@pytest.mark.parametrize("seed", [0, 2, 3])
def test_who_is_less_even_than_novices_is_sent_to_no_faster_step(seed):
    """A ladder may stand higher than what was played; until that is even, what comes next is no faster."""
    take = played(pair(4, 3, 8, bpm=60), rng(seed), spread_ms=60)
    measures = measure(take)
    assert not causes(take, measures)
    for step, least in ((62, 0), (90, 0), (60, 60), (52, 52)):
        told = feedback_at(take, measures, (), rl.Tempo(step, pulse=1))
        assert told.next.tempo.bpm <= 60, told
        assert least in (0, told.next.tempo.bpm)
    even = played(pair(4, 3, 8, bpm=60), rng(seed), spread_ms=8)
    told = feedback_at(even, measure(even), (), rl.Tempo(62, pulse=1))
    assert told.next.tempo.bpm == 62

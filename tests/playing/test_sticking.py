"""Hands: published rudiments, every search against brute force, every verdict against a plain reading."""

import re
from fractions import Fraction
from itertools import accumulate, pairwise, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.playing.hands import ceiling, hand_limits, sticking
from rhythmlab.playing.phrasing import Phrase, phrases
from rhythmlab.playing.sticking import (
    StrokeLoop,
    best_hands,
    check_sticking,
    fastest,
    hand_to_hand,
    ornaments,
    split,
    stick,
)
from rhythmlab.resources import table
from tests.playing.test_hands import row_plays, three_limits
from tests.profile import some
from tests.refusals import refusal, works
from tests.strategies import TRIES

NAMES = {"stick": stick, "Phrase": Phrase, "check_sticking": check_sticking, "split": split}
SIXTEENTHS = rl.Tempo(120, ticks=4)  # 125 ms from stroke to stroke
SWAP = str.maketrans("RL", "LR")

# Copied from the list, not from the library: Percussive Arts Society 1984, International Drum Rudiments, as
# transcribed elsewhere.
PUBLISHED = {
    "single_paradiddle": "RLRR LRLL",
    "double_paradiddle": "RLRLRR LRLRLL",
    "triple_paradiddle": "RLRLRLRR LRLRLRLL",
    "paradiddle_diddle": "RLRRLL",
    "five_stroke_roll": "RRLLR LLRRL",
}


def round_and_round(hands, cycles, times):
    other = hands.translate(SWAP) if cycles == 2 else hands
    return ((hands + other) * times)[: len(hands) * times]


def brute(gaps, accents, ms, *moved):
    """Return the best hands and cycles by trying every row of letters, or None."""
    n, best = len(gaps), None
    turns = 8 // n + 3
    for rest in product("RL", repeat=n - 1):
        hands = "R" + "".join(rest)
        for cycles in (1, 2):
            row = round_and_round(hands, cycles, turns)
            if not row_plays(row, gaps * turns, ms, *moved):
                continue
            again = [row[i + n] == row[i + n - 1] for i in range(n)]
            flipped = hands if cycles == 1 else hands.translate(SWAP)
            assert row[n : 2 * n] == flipped
            key = (
                sum(again[i] for i in accents),
                sum(hands[i] == "L" for i in accents),
                cycles,
                sum(again),
                [letter == "R" for letter in hands],
            )
            if best is None or key < best[0]:
                best = key, hands, cycles
    return best and best[1:]


@TRIES
@given(
    st.lists(st.integers(1, 3), min_size=1, max_size=7).map(tuple),
    st.sets(st.integers(0, 6), max_size=4),
    st.integers(15, 200),
    three_limits,
)
def test_searched_hands_are_those_of_brute_force(gaps, accents, ms, moved):
    """For every line of up to seven strokes, even or not, the search finds the best hands, or none."""
    accents = frozenset(accent for accent in accents if accent < len(gaps))
    bounds = rl.limits(hand_two=moved[0], hand_three=moved[1], hand_sustained=moved[2])
    found = best_hands(StrokeLoop(gaps, accents, (None,) * len(gaps)), Fraction(ms), hand_limits(bounds))
    assert found == brute(gaps, accents, ms, *moved)


@pytest.mark.parametrize("ms", [61, 62, 73, 74, 83, 84, 109, 110, 166, 167])
@pytest.mark.parametrize("n", range(1, 11))
def test_even_strokes_at_each_side_of_each_limit_are_those_of_brute_force(n, ms):
    """Groups of threes and what is left, up to ten strokes, just under and on every limit."""
    groups = (3,) * (n // 3) + ((n % 3,) if n % 3 else ())
    expected = brute((1,) * n, Phrase(groups).starts, ms)
    if expected is None:
        refusal(lambda: stick(groups, ms=ms, rudiments=()), f"{ms} ms apart", "no hands can play")
    else:
        found = stick(groups, ms=ms, rudiments=())
        assert (found.hands, found.cycles) == expected
        assert set(found.names) == {"by search"}


@TRIES
@given(st.lists(st.integers(1, 9), min_size=1, max_size=12), st.integers(84, 300), st.sampled_from("RL"))
def test_every_sticking_keeps_the_limits_round_and_round(groups, ms, lead):
    """Any groups at any tempo from 84 ms: begun by the lead, no stroke too soon, home when it says so."""
    for rudiments in (None, ()):
        found = stick(groups, ms=ms, lead=lead, rudiments=rudiments)
        assert found.hands[0] == lead
        n = sum(groups)
        row = round_and_round(found.hands, found.cycles, 8 // n + 3)
        assert row_plays(row, (1,) * len(row), ms)
        assert check_sticking(found.cycle(whole=True).lanes[0].hands, ms=ms)
        other = stick(groups, ms=ms, lead="L" if lead == "R" else "R", rudiments=rudiments)
        assert other.hands == found.hands.translate(SWAP)


@TRIES
@given(st.lists(st.sampled_from([3, 4, 5, 6, 8, 9]), min_size=1, max_size=8), st.integers(84, 300))
def test_rudiments_are_played_as_they_are_written(groups, ms):
    """Each group is its named rudiment, right or left first, begun by the hand that did not play last."""
    found = stick(groups, ms=ms)
    rows = {row["name"]: row["sticking"].split()[0] for row in table("rudiments.csv")}
    shapes = str(found).split()
    for shape, name in zip(shapes, found.names, strict=True):
        written = "RLRLRLRLR"[: len(shape)] if name == "single strokes" else rows[name]
        assert written in (shape, shape.translate(SWAP))
    assert all(after[0] != before[-1] for before, after in pairwise(shapes))
    assert (found.hands[-1] == found.hands[0]) == found.alternates == (found.cycles == 2)
    assert found.cycles == 1 or len(set(groups)) == 1 or not {3, 4} & set(groups)


def test_published_rudiments_are_in_the_file():
    """The five of the published list, letter by letter, quoted and never called read."""
    rows = {row["key"]: row for row in table("rudiments.csv")}
    for key, letters in PUBLISHED.items():
        assert rows[key]["sticking"] == letters
        assert (rows[key]["source"], rows[key]["status"]) == ("pas1984", "quoted elsewhere")
    # R L L in sixteenths against a beat of four: Not So Modern Drummer 2022, web page.
    assert rows["right_left_left"]["sticking"] == "RLL"


@pytest.mark.parametrize("row", table("rudiments.csv"), ids=lambda row: row["key"])
def test_every_rudiment_is_whole(row):
    """Letters R and L, begun right; where it ends as it began the lead alternates, and its mirror follows."""
    right, *left = row["sticking"].split()
    assert row["name"]
    assert set(right) <= set("RL")
    assert right[0] == "R"
    assert (row["lead_alternates"] == "yes") == bool(left)
    if left:
        assert left == [right.translate(SWAP)]
        assert right[-1] == "R"
    sources = {source["key"]: source["read"] for source in table("sources.csv")}
    assert row["status"] in ("read", "quoted elsewhere", "from memory", "common practice")
    assert (row["source"] == "common_practice") == (row["status"] == "common practice")
    assert row["kind"] in ("strokes", "group", "roll")
    if sources[row["source"]] == "quoted elsewhere":
        assert row["status"] != "read"


@pytest.mark.parametrize(
    ("groups", "hands"),
    [
        ((5,), "RLRRL"),
        ((4, 3), "RLRR LRL"),
        ((4, 5), "RLRL RLRRL"),
        ((4, 4, 5), "RLRR LRLL RLRRL"),
        ((4, 3, 4, 3), "RLRR LRL RLRR LRL"),
        ((4,) * 7 + (3,), "RLRR LRLL RLRR LRLL RLRR LRLL RLRR LRL"),
    ],
)
def test_groups_are_stuck_as_drummers_play_them(groups, hands):
    """Common practice, no source: paradiddles, fives and threes that bring the lead home every cycle."""
    found = stick(groups, SIXTEENTHS)
    assert (str(found), found.cycles) == (hands, 1)


@pytest.mark.parametrize("n", range(5, 16, 2))
def test_a_large_group_has_the_hands_of_its_fours_with_what_is_left_last(n):
    """Common practice, no source: 13 is RLRR LRLL RLRRL; one accent, and the lead comes home."""
    rest = {1: 5, 3: 3}[n % 4]
    fours = stick((4,) * ((n - rest) // 4) + (rest,), SIXTEENTHS)
    for lead in "RL":
        found = stick((n,), 20, lead=lead)
        assert found.hands == (fours.hands if lead == "R" else fours.hands.translate(SWAP))
        assert (found.cycles, found.beats) == (1, (0,))


@pytest.mark.parametrize("n", range(2, 129))
def test_every_number_has_a_sticking_that_is_played(n):
    """Each group begins with the hand that did not play last, over the seam too, and none has three alike.

    The lead comes home every cycle, unless all groups are one rudiment that changes sides; halves alike have
    the same hands.
    """
    for phrase in phrases(n, most=3):
        found = stick(phrase, SIXTEENTHS)
        turned = found.hands.translate(SWAP) if found.alternates else found.hands
        row = found.hands + turned + found.hands
        assert "RRR" not in row
        assert "LLL" not in row
        starts = {turn * n + start for turn in range(3) for start in phrase.starts} - {0}
        assert all(row[start] != row[start - 1] for start in starts)
        assert found.cycles == 1 or len(set(phrase.groups)) == 1
        assert "roll" not in " ".join(found.names)
        half = len(phrase) // 2
        if phrase.halves_alike and len(set(phrase.groups)) > 1:
            assert found.shapes[:half] == found.shapes[half:]


def test_rudiments_that_are_asked_for_are_played_throughout():
    """With paradiddles and R L L asked for, 31 ends on the hand that leads, and comes home after two."""
    found = stick(phrases(31)[0], SIXTEENTHS, rudiments=["single_paradiddle", "RLL"])
    assert str(found) == "RLRR LRLL RLRR LRLL RLRR LRLL RLRR LRR"
    assert found.reasons[1] == (
        "The lead alternates: the next cycle begins with L, and it comes home after 2 cycles."
    )
    asked = stick((4, 3, 4, 3), SIXTEENTHS, rudiments=["LRR", "single_paradiddle"])
    assert (str(asked), asked.names[1]) == ("RLRR LRR LRLL RLL", "as given")


@pytest.mark.parametrize("groups", [(4, 4, 4), (4,), (8,), (6, 6, 6)])
def test_a_lead_that_alternates_is_written_as_its_whole_round(groups):
    """Two cycles, the second with the hands the other way: no hand plays twice over a repeat that swaps."""
    found = stick(groups, SIXTEENTHS, rudiments=["single_paradiddle", "double_paradiddle", "RLRRLRRR"])
    assert found.cycles == 2
    whole, n = found.cycle(), sum(groups)
    assert (whole.ticks, whole.bars.tolist()) == (2 * n, [0, n])
    assert whole.lanes[0].hands == found.hands + found.hands.translate(SWAP)
    assert list(whole.lanes[0].accents) == whole.beats.tolist()
    starts = [tick for tick in whole.beats.tolist() if tick]
    assert all(whole.lanes[0].hands[tick] != whole.lanes[0].hands[tick - 1] for tick in starts)
    assert whole.lanes[0].hands[0] != whole.lanes[0].hands[-1]
    assert found.cycle(whole=False).lanes[0].hands == found.hands
    assert stick((4, 4), SIXTEENTHS).cycle().ticks == 8


@pytest.mark.parametrize(
    "key", ["five_stroke_roll", "six_stroke_roll", "seven_stroke_roll", "nine_stroke_roll"]
)
def test_a_roll_lands_on_the_first_of_the_next_group(key):
    """Asked for, it fills a group one shorter; with the accent that follows it is the roll as published."""
    row = next(row for row in table("rudiments.csv") if row["key"] == key)
    right = row["sticking"].split()[0]
    n = len(right) - 1
    found = stick((n, n), ms=84, rudiments=[key])
    assert set(found.names) == {f"{row['name']} into the next group"}
    landed = (found.cycle().lanes[0].hands * 2)[: n + 1]
    assert landed == right
    assert n in found.cycle().lanes[0].accents


def test_reasons_name_the_rudiments_and_the_limit():
    """The rudiment of each kind of group from the lead, the lead, and the longest run with its limit."""
    found = stick((4, 4, 4, 3), ms=125, lead="L")
    first, _, last = found.reasons
    assert first == "L R L L: single paradiddle; L R L: single strokes."
    assert str(found).startswith("LRLL ")
    assert stick((4, 4, 4, 3), ms=125).reasons[0] == "R L R R: single paradiddle; R L R: single strokes."
    assert last == (
        "These hands go down to 83.5 ms from stroke to stroke: the first L of group 1 then comes 167 ms "
        "after that hand's last, as fast as one hand keeps going (Fujii, Kudo, Ohtsuki & Oda 2009)."
    )
    assert stick((4, 4), rl.Tempo(60, ticks=8), rudiments=["double_strokes"]).reasons[2] == (
        "These hands go up to 120 bpm: the second R of group 1 then comes 62 ms after that hand's last, as "
        "close as two in one hand can (common practice)."
    )
    assert stick((3, 3), 60, rudiments=["triple_strokes"]).reasons[2] == (
        "These hands go up to 181 bpm: the third R of group 1 is then the third in that hand, 110 ms apart, "
        "as close as three can (common practice)."
    )


def test_a_chosen_rudiment_gives_way_where_the_tempo_does_not_allow_it():
    """At 82 ms single strokes tire each hand (164 ms against 167), so they are mixed with hands by search."""
    assert str(stick((4, 4), ms=84, rudiments=["single_strokes"])) == "RLRL RLRL"
    found = stick((4, 4), ms=82, rudiments=["single_strokes"])
    assert "by search" in found.names
    assert str(stick((3, 3), ms=125, rudiments=["triple_strokes"])) == "RRR LLL"
    assert "triple strokes" not in stick((3, 3), ms=109, rudiments=["triple_strokes"]).names


@pytest.mark.parametrize(("bpm", "hands"), [(200, "RLRLRLRL"), (300, "RLRRLLRL"), (327, "RLRRLLRL")])
def test_a_rhythm_can_be_stuck_as_it_is_heard(bpm, hands):
    """5:4 from easy to nearly too fast: the hands for its 8 sounds are those of brute force."""
    p, tempo = rl.Polyrhythm(5, 4), rl.Tempo(bpm, pulse=1)
    found = stick(p, tempo)
    line = rl.composite(p)
    gaps = (int(line.intervals[-1]), *line.intervals[:-1].tolist())
    beats = p.onsets(1).tolist()
    accents = [i for i, tick in enumerate(line.onsets.tolist()) if tick in beats]
    assert (found.hands, found.cycles) == brute(gaps, accents, Fraction(60_000, 5 * bpm)) == (hands, 1)
    assert found.cycle().lanes[0].onsets.tolist() == line.onsets.tolist()
    assert list(found.beats) == beats


def test_the_paradiddle_at_120_passes_and_one_hand_is_warned():
    """Sixteenths at 120 are 125 ms: a paradiddle passes, one hand needs 167 ms (Fujii and others 2009)."""
    assert check_sticking("RLRRLRLL", SIXTEENTHS)
    warned = check_sticking("RRRRRRRR", SIXTEENTHS)
    assert not warned
    (problem,) = warned.problems
    assert (problem.stroke, problem.hand, problem.nth, problem.ms, problem.limit.key) == (
        3,
        "R",
        4,
        125,
        "hand_sustained",
    )
    named = rl.limits()["hand_sustained"].named
    assert warned.text == (
        "stroke 4: R goes on without a break, 125 ms apart; stroke after stroke in one hand needs 167 ms "
        f"({named}).",
        f"It goes up to 89 bpm: stroke 1 then comes 167 ms after that hand's last, as fast as one hand keeps "
        f"going ({named}).",
    )
    assert warned.fastest_ms == 167
    assert check_sticking("R", ms=167)
    assert not check_sticking("R", ms=166)


@pytest.mark.parametrize(
    ("hands", "ms", "said"),
    [
        (
            "RRRL",
            100,
            "stroke 3: the third R without a break, 100 ms apart; three in one hand need 110 ms",
        ),
        ("LLRLRRLR", 55, "stroke 2: L again, 55 ms apart; two in one hand need 62 ms (common practice)."),
        ("RL", 80, "stroke 1: R goes on without a break, 160 ms apart; stroke after stroke"),
    ],
)
def test_a_verdict_names_the_stroke_and_why(hands, ms, said):
    """The stroke is counted from 1, the run is named, and the limit has its source."""
    judged = check_sticking(hands, ms=ms)
    assert not judged
    assert judged.text[0].startswith(said)
    assert str(judged) == "\n".join(judged.text)


@TRIES
@given(st.text("RL", min_size=1, max_size=12), st.integers(30, 200), three_limits)
def test_a_verdict_is_that_of_a_plain_reading(hands, ms, moved):
    """A sticking passes if a long row of it can be played, and every problem lies under its own limit."""
    bounds = rl.limits(hand_two=moved[0], hand_three=moved[1], hand_sustained=moved[2])
    judged = check_sticking(hands, ms=ms, limits=bounds)
    turns = 8 // len(hands) + 8
    row = hands * turns
    assert bool(judged) == row_plays(row, (1,) * len(row), ms, *moved) == (ms >= judged.fastest_ms)
    for problem in judged.problems:
        assert problem.hand == hands[problem.stroke]
        assert problem.ms < problem.limit.value
        assert problem.turned == (hands[problem.stroke - 1] != problem.hand)
    if judged.fastest_ms >= 5:
        assert check_sticking(hands, ms=judged.fastest_ms, limits=bounds)
        assert not check_sticking(hands, ms=judged.fastest_ms * Fraction(999, 1000), limits=bounds)


def test_spaces_and_bar_lines_may_stand_between_strokes():
    """What the reader types is read as letters."""
    assert check_sticking(" RLRR | LRLL ", ms=125).hands == "RLRRLRLL"


@TRIES
@given(st.lists(st.integers(1, 3), min_size=1, max_size=6).map(tuple), three_limits)
def test_the_fastest_tempo_is_the_fastest(gaps, moved):
    """At that tick the judge passes what is found, just so, and at a thousandth less there are no hands."""
    rules = hand_limits(rl.limits(hand_two=moved[0], hand_three=moved[1], hand_sustained=moved[2]))
    line = StrokeLoop(gaps, frozenset(), (None,) * len(gaps))
    tick = fastest(line, rules)
    hands, cycles = best_hands(line, tick, rules)
    onsets = list(accumulate([*gaps[1:], *(gaps * (cycles - 1))], initial=0))
    row = hands if cycles == 1 else hands + hands.translate(SWAP)
    assert ceiling(sticking(row, onsets), cycles * sum(gaps), rules).tick_ms == tick
    assert best_hands(line, tick * Fraction(999, 1000), rules) is None


@pytest.mark.parametrize(("p", "right"), [((3, 2), 0), ((7, 4), 1), ((16, 15), 0), ((5, 5), 0)])
def test_each_pulse_has_a_hand(p, right):
    """The lanes of the polyrhythm, each with its hand; shared strokes are together."""
    p = rl.Polyrhythm(*p)
    cycle = split(p, right=right)
    assert cycle.beats.tolist() == p.onsets(1).tolist()
    for i, lane in enumerate(cycle.lanes):
        side = ("right hand", "R") if i == right else ("left hand", "L")
        assert (lane.limb, lane.hands) == (side[0], side[1] * p.pulses[i])
        assert lane.onsets.tolist() == p.onsets(i).tolist()


@TRIES
@given(st.integers(1, 20), st.integers(1, 20), st.sampled_from("RL"))
def test_the_heard_line_goes_hand_to_hand(p, q, lead):
    """The hands change at every sound, also from one cycle to the next, with accents on home."""
    rhythm = rl.Polyrhythm(p, q)
    cycle = hand_to_hand(rhythm, lead=lead)
    (lane,) = cycle.lanes
    sounds = rl.composite(rhythm).onsets.tolist()
    turns = cycle.ticks // rhythm.ticks
    assert turns == 1 + len(sounds) % 2
    assert lane.onsets.tolist() == [tick + turn * rhythm.ticks for turn in range(turns) for tick in sounds]
    assert lane.hands[0] == lead
    assert all(lane.hands[i] != lane.hands[i - 1] for i in range(len(lane.hands)))
    assert list(lane.accents) == cycle.beats.tolist() == sorted({*lane.accents})
    assert [tick % rhythm.ticks for tick in lane.accents[:q]] == rhythm.onsets(1).tolist()


def test_three_against_two_hand_to_hand_and_split():
    """Common practice, no source: 3:2 split is together, right, left, right; hand to hand R L R L."""
    assert hand_to_hand(rl.Polyrhythm(3, 2)).lanes[0].hands == "RLRL"
    assert hand_to_hand(rl.Polyrhythm(3, 2), home=0).beats.tolist() == [0, 2, 4]
    assert rl.composite(split(rl.Polyrhythm(3, 2))).pulses.tolist() == [
        [True, True],
        [True, False],
        [False, True],
        [True, False],
    ]


@pytest.mark.parametrize(("groups", "ms", "least"), [((6, 5), 70, "83.5 ms"), ((4, 4), 60, "62 ms")])
def test_a_tempo_that_no_hands_can_play_is_refused(groups, ms, least):
    """The message gives the strokes and the limits with their sources, and the fastest tempo that works."""
    example = refusal(lambda: stick(groups, ms=ms), f"{ms} ms apart", f"the fastest that works is {least}")
    assert works(example, **NAMES)
    moved = rl.limits(hand_two=12, hand_three=12, hand_sustained=12)
    assert works(
        refusal(lambda: stick(groups, ms=5, limits=moved), "5 ms apart", "the fastest that works is")
    )
    with pytest.raises(ValueError, match=r"two in one hand need 62 ms \(common practice\), .* needs 167 ms"):
        stick(groups, ms=ms)


def test_a_rhythm_too_fast_for_hands_is_refused():
    """The fastest tempo that is named works, and one more beat a minute does not."""
    p = rl.Polyrhythm(9, 8)
    example = refusal(
        lambda: stick(p, rl.Tempo(1000, pulse=1)),
        "16 strokes 6.7 ms apart at the closest",
        "the fastest that works is 319 bpm",
    )
    assert works(example, **NAMES)
    assert stick(p, rl.Tempo(319, pulse=1))
    refusal(lambda: stick(p, rl.Tempo(320, pulse=1)), "16 strokes", "no hands can play")


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: stick((), ms=125), "groups=()", "are empty"),
        (lambda: stick((4, 0), ms=125), "a group in groups=0", "at least 1"),
        (lambda: stick("445", ms=125), "groups='445'", "not a list of groups"),
        (lambda: stick(11, ms=125), "groups=11", "not a list of groups"),
        (lambda: stick((4, 3, 4, 3), ms=0), "ms=0", "not a finite number above 0"),
        (lambda: stick((4, 3, 4, 3), ms=-125), "ms=-125", "not a finite number above 0"),
        (lambda: stick((4, 3, 4, 3), ms=float("nan")), "ms=nan", "not a finite number above 0"),
        (lambda: stick((4, 3, 4, 3), ms="125"), "ms='125'", "not a finite number above 0"),
        (lambda: stick((4, 3, 4, 3)), "by tempo or by ms=", "neither is given"),
        (lambda: stick((4, 3, 4, 3), 120, ms=125), "by tempo or by ms=", "both are given"),
        (lambda: stick((4, 3, 4, 3), ms=0.125), "ms=0.125", "less than 5 ms"),
        (lambda: stick((4, 3, 4, 3), ms=125, lead="B"), "lead='B'", "not a hand"),
        (lambda: stick((4, 3, 4, 3), ms=125, lead=["R"]), "lead=['R']", "not a hand"),
        (lambda: stick((4, 3, 4, 3), ms=125, rudiments=["flam"]), "'flam'", "neither a rudiment here"),
        (lambda: stick((4, 3, 4, 3), ms=125, rudiments=[""]), "''", "neither a rudiment here"),
        (lambda: stick((4, 3, 4, 3), ms=125, rudiments=[4]), "4", "neither a rudiment here"),
        (lambda: stick((4, 3, 4, 3), ms=125, rudiments="RLL"), "rudiments='RLL'", "not a list of rudiments"),
        (
            lambda: stick((4, 3, 4, 3), ms=125, limits={"hand_two": 0}),
            "limits={'hand_two': 0}",
            "are not Limits",
        ),
        (lambda: stick(rl.Polyrhythm(9, 8), ms=125), "ms=125", "these strokes are uneven"),
        (
            lambda: stick(rl.Polyrhythm(9, 8), rl.Tempo(60, pulse=1), rudiments=[]),
            "rudiments=[]",
            "are for even strokes",
        ),
        (
            lambda: stick(rl.Polyrhythm(1000, 999), rl.Tempo(60, pulse=1)),
            "Polyrhythm(1000, 999)",
            "more than 1000 sounds",
        ),
        (
            lambda: stick(rl.Polyrhythm(10**9, 999), rl.Tempo(60, pulse=1)),
            "Polyrhythm(1000000000, 999)",
            "more than 1000 sounds",
        ),
        (lambda: check_sticking("", ms=125), "hands=''", "has no strokes"),
        (lambda: check_sticking(" | ", ms=125), "hands=' | '", "has no strokes"),
        (lambda: check_sticking("RLxR", ms=125), "'x' at stroke 3", "write R or L"),
        (lambda: check_sticking("rLRR", ms=125), "'r' at stroke 1", "lower case is for grace notes"),
        (lambda: check_sticking(["R", "L"], ms=125), "hands=['R', 'L']", "is not letters"),
        (lambda: check_sticking("RL" * 501, ms=125), "1002 strokes", "more than 1000"),
        (lambda: check_sticking("RL", ms=0.1), "ms=0.1", "less than 5 ms"),
        (lambda: split(rl.Polyrhythm(3, 4, 5)), "Polyrhythm(3, 4, 5)", "3 pulses for two hands"),
        (lambda: split("7:4"), "what='7:4'", "is no rhythm: "),
        (lambda: hand_to_hand(7), "what=7", "is no rhythm: "),
        (lambda: hand_to_hand(rl.Polyrhythm(7, 4), lead="right"), "lead='right'", "not a hand"),
    ],
)
def test_bad_input_is_refused(call, given, wrong):
    """The message gives what was given, says what is wrong with it, and shows a call that works."""
    assert works(refusal(call, given, wrong)) is not None


@pytest.mark.parametrize("key", ["hand_two", "hand_three", "hand_sustained"])
@pytest.mark.parametrize("value", [0.08, 6, 2001])
def test_a_limit_in_another_unit_is_refused(key, value):
    """Seconds, or strokes a second, where milliseconds are meant, are named; 0 is refused by `limits`."""
    bounds = rl.limits(**{key: value})
    for call in (
        lambda: stick((4, 4), ms=125, limits=bounds),
        lambda: check_sticking("RL", ms=125, limits=bounds),
    ):
        example = refusal(call, f"{key}=", "is no limit of a hand in milliseconds")
        assert works(example, **NAMES)
    refusal(lambda: rl.limits(**{key: 0}), f"limit {key}=0", "not a finite number above 0")


def test_pulses_that_are_not_there_are_refused():
    """7:4 has no third pulse to give the right hand, or to count from."""
    refusal(lambda: split(rl.Polyrhythm(7, 4), right=2), "right=2", "there are 2", IndexError)
    refusal(lambda: hand_to_hand(rl.Polyrhythm(7, 4), home=2), "home=2", "there are 2", IndexError)


@given(st.lists(st.text("RL", min_size=1, max_size=6), min_size=1, max_size=6), st.integers(20, 300))
def test_a_number_is_bpm_of_the_groups_that_are_written_or_of_four_strokes(groups, bpm):
    """With spaces or bars between them the commonest group is the beat; without any it is four strokes."""
    sizes = [len(group) for group in groups]
    beat = max(sizes, key=lambda size: (sizes.count(size), -sizes.index(size))) if len(sizes) > 1 else 4
    for joint in (" ", " | "):
        assert check_sticking(joint.join(groups), bpm).ms == Fraction(60_000, bpm * beat)
    assert check_sticking("".join(groups), bpm).ms == Fraction(60_000, bpm * 4)


def rolls_of(said, shapes):
    """Return the rolls that are offered: of which groups, and in which letters."""
    slow = said.partition("On the last two strokes")[0].strip()
    for one in filter(None, slow.split("of the next group.")):
        where, letters = re.fullmatch(r" ?In (.+), a \w+-stroke roll: ([RL ]+), and .*", one).groups()
        letters = letters.replace(" ", "")
        if where == f"every group of {len(letters)}":
            yield [i for i, shape in enumerate(shapes) if len(shape) == len(letters)], letters
        else:
            assert re.fullmatch(r"groups? [\d, …and]+", where)
            yield [int(i) - 1 for i in re.findall(r"\d+", where)], letters


@pytest.mark.parametrize("n", some(range(4, 41), 4, "rolls", [10, 13, 16]))
def test_a_roll_lands_on_the_hand_that_is_printed(n):
    """Of every sticking of every phrase: from the hand of its group, no three of a hand with its neighbours.

    Whether the groups before and after it are played as printed or as rolls too, and round the cycle.
    """
    allowed = [(2, 3, 4, 5), (2, 3, 4, 5, 6, 7, 8)]
    stuck = {
        (str(found), found.alternates): found
        for sizes in allowed
        for one in phrases(n, allowed=sizes)
        for lead, ms in product("RL", (90, 250))
        for found in [stick(one, ms=ms, lead=lead)]
    }
    for found in stuck.values():
        printed = list(found.shapes)
        turned = [shape.translate(SWAP) if found.alternates else shape for shape in printed]
        rolls = dict(enumerate(printed))
        for where, letters in rolls_of(ornaments(found), printed):
            for i in where:
                assert (len(letters), letters[0]) == (len(printed[i]), printed[i][0])
                rolls[i] = letters
        for i, letters in rolls.items():
            if letters == printed[i]:
                continue
            for others in (printed, [*rolls.values()]):
                flipped = [text.translate(SWAP) if found.alternates else text for text in others]
                before, after = [*flipped[-1:], *others][i], [*others, *flipped[:1]][i + 1]
                assert letters[-1] != after[0] == [*printed, *turned][i + 1][0]
                assert not re.search("RRR|LLL", before + letters + after)


@pytest.mark.parametrize("n", some(range(4, 33), 4, "accents", [4, 6, 8]))
def test_a_group_by_a_rudiment_begins_with_the_hand_that_did_not_play_last(n):
    """At every speed, also that of doubles, round the cycle too; what is searched may repeat a hand."""
    for one, ms in product(phrases(n), (63, 80, 112, 170, 300)):
        try:
            found = stick(one, ms=ms)
        except rl.Refusal:
            continue
        whole = found.cycle().lanes[0]
        if "by search" not in found.names:
            assert all(whole.hands[tick] != whole.hands[tick - 1] for tick in whole.accents), (one, ms)


def test_rolls_are_offered_where_they_fit():
    """Four singles lead to the same hand, where a five-stroke roll lands; a paradiddle leads to the other."""
    said = ornaments(stick((4, 2), 120))
    assert list(rolls_of(said, ())) == [([0], "RRLL")]
    assert list(rolls_of(ornaments(stick((4, 2), 120, lead="L")), ())) == [([0], "LLRR")]
    for groups in ((4, 4), (5, 5), (4, 4, 5), (4, 4, 4, 4)):
        assert not list(rolls_of(ornaments(stick(groups, 120)), ()))
    six = ornaments(stick((6, 6), 60, rudiments=["double_paradiddle"]))
    assert list(rolls_of(six, ())) == [([0], "RRLLRR"), ([1], "LLRRLL")]


def fast_rolls_of(said):
    """Return the groups, from 0, whose last two strokes are offered as a roll, each with its letters."""
    every = re.findall(
        r"On the last two strokes of groups? ([\d, and]+), twice as fast, a (.*?): ([RL ]+),", said
    )
    assert all(name == "five-stroke roll" for _, name, _ in every)
    return {int(i) - 1: letters.replace(" ", "") for at, _, letters in every for i in re.findall(r"\d+", at)}


@pytest.mark.parametrize("n", some(range(4, 33), 4, "fast rolls", [14, 16]))
def test_a_roll_in_the_time_of_two_strokes_lands_on_the_hand_that_is_printed(n):
    """Its hands are those of the two strokes, no three of one hand, and the judge lets all of them pass."""
    for one, lead, ms in product(phrases(n), "RL", (90, 110, 125, 200)):
        found = stick(one, ms=ms, lead=lead)
        shapes = list(found.shapes)
        rolls, played = fast_rolls_of(ornaments(found)), []
        for i, shape in enumerate(shapes):
            roll = rolls.get(i, "")
            played.append(
                [(hand, 2) for hand in shape[: len(shape) - len(roll) // 2]] + [(h, 1) for h in roll]
            )
            if roll:
                after = [*shapes, shapes[0].translate(SWAP) if found.alternates else shapes[0]][i + 1]
                assert roll == 2 * shape[-2] + 2 * shape[-1]
                assert len(shape) > 2
                assert roll[0] == after[0]
                assert not re.search("RRR|LLL", shape[:-2] + roll + after)
        if rolls:
            row = [stroke for group in played for stroke in group]
            row += [(hand.translate(SWAP), length) for hand, length in row] * found.alternates
            at = [0, *accumulate(length for _, length in row)]
            strokes = sticking("".join(hand for hand, _ in row), at[:-1])
            assert found.tick_ms / 2 >= ceiling(strokes, at[-1], found.rules).tick_ms


def test_a_five_stroke_roll_is_offered_in_two_sixteenths_while_it_can_be_played():
    """4 3 4 3 at 100: doubles 75 ms apart before each paradiddle; at 130 they would be 58 ms apart."""
    assert fast_rolls_of(ornaments(stick((4, 3, 4, 3), 100))) == {1: "RRLL", 3: "RRLL"}
    assert not fast_rolls_of(ornaments(stick((4, 3, 4, 3), 130)))

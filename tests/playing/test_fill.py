"""Which pairs hands can play as a fill, recomputed from the limits."""

import re
from fractions import Fraction
from math import ceil, floor, gcd

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.playing.fill import Fills, _candidates, fill
from rhythmlab.playing.hands import ceiling, hand_limits
from tests.profile import tries
from tests.refusals import refusal, works

#: Fewer than elsewhere, since each try lays out a hundred fills.
FEW = settings(max_examples=tries(15), deadline=None)
#: Fujii and others 2009 (abstract) for the sustained rate; the others common practice, no source.
MS = {2: 80, 3: 110}


@FEW
@given(st.integers(40, 300), st.integers(1, 8))
def test_the_pairs_are_those_within_the_limits(bpm, beats):
    """In quarters: strokes of a hand, two apart, last at least what one hand needs for so long a run."""
    found = fill("4/4", bpm, beats=beats, best=1000)
    playable, fast = set(), set()
    for p in range(2, 17):
        for q in range(2, 17):
            if gcd(p, q) > 1 or not (q <= beats or abs(p - q) == 1):
                continue
            pulses = beats // q * q or beats
            strokes = pulses * p // q
            if not strokes:
                continue
            run = 1 + strokes // 2
            own = Fraction(2 * 60_000 * q, bpm * p)
            (playable if run == 1 or own >= MS.get(run, 167) else fast).add((p, q))
    assert {made.pair for made in found} == playable
    assert set(found.too_fast) == fast
    for made in found:
        assert made.fastest() >= bpm
    assert found.fitting == len(found) == len(playable)


@FEW
@given(st.integers(40, 200), st.integers(2, 4), st.integers(1, 4))
def test_each_choice_is_a_bar_of_time_or_more_and_lands(bpm, beats, lands):
    """Every choice is a cycle that enters after a bar at the earliest that fits, and lands where asked."""
    for made in fill("4/4", bpm, beats=beats, lands=lands):
        assert isinstance(made, rl.Cycle)
        assert made.metre.place(made.lands).beat == lands
        assert made.metre.place(made.lands).part == 1
        assert made.enter >= made.lands - Fraction(beats * made.ticks, len(made.beats))
        assert made.enter >= 0


@pytest.mark.parametrize("written", ["7/8", "2+2+3/8", "5/4", "5/8", "4/4", "3/4", "6/8", "12/8", "2/2"])
@FEW
@given(bpm=st.integers(40, 220))
def test_the_first_offer_is_a_fill(written, bpm):
    """Strokes 100 to 400 ms apart come first where there are any, the simplest first; slow ones last."""
    try:
        found = fill(written, bpm, best=3)
    except ValueError:  # too fast for any hands
        return
    apart = [made.stroke_ms(bpm) for made in found]
    good = [100 <= ms <= 400 and made.strokes >= 3 for ms, made in zip(apart, found, strict=True)]
    every = fill(written, bpm, best=1000)
    assert good[0] == any(100 <= m.stroke_ms(bpm) <= 400 and m.strokes >= 3 for m in every)
    assert good == sorted(good, reverse=True)
    late = [ms > 400 or made.strokes < 3 for ms, made in zip(apart, found, strict=True)]
    assert late == sorted(late)
    sums = [sum(made.pair) for made, fits in zip(found, good, strict=True) if fits]
    assert sums == sorted(sums)


@FEW
@given(st.sampled_from(["4/4", "6/8", "2/2", "3/4", "7/8", "5/8", "9/8"]), st.integers(40, 200))
def test_no_fill_is_one_stroke_where_others_go_and_what_is_too_fast_is_closer_than_it_may_be(metre, bpm):
    """One stroke is no fill, and never hand to hand; 166.7 ms are too fast for 167, "167 ms" are not."""
    try:
        found = fill(metre, bpm)
    except rl.Refusal as refused:
        slowest = int(re.search(r"up to (\d+) bpm", str(refused))[1])
        fill(metre, slowest)  # what it says goes
        return
    assert all(int(fast) < bpm for fast in re.findall(r"\(up to (\d+) bpm\)", found.describe()))
    strokes = [made.strokes for made in found]
    assert min(strokes) >= 3 or max(strokes) < 3
    for made in found:
        said = made.describe(bpm)
        assert ("hand to hand" in said) == (made.strokes > 1)
        if (
            fast := re.search(r"are ([\d.]+) ms apart, too fast for one hand \(([\d.]+) ms", said)
        ) is not None:
            assert Fraction(fast[1]) < Fraction(fast[2]), said


def test_the_simplest_of_each_kind_come_first():
    """Exact ones, ones that enter later, ends of longer ones: so many of each, by the size of the numbers."""
    found = fill("4/4", 100, best=2)
    assert [made.pair for made in found] == [(3, 2), (5, 2), (5, 3), (7, 3), (4, 5), (6, 5)]
    assert [ceil(made.cycles) for made in found] == [2, 2, 1, 1, 1, 1]
    assert f"6 of {found.fitting} pairs" in found.describe()
    assert str(found) == found.describe()
    assert len(repr(found)) < 300
    assert found.describe().startswith(repr(found).split(" 2. ")[0])
    assert "Too fast at this tempo: 15 against 2 (up to 95 bpm)." in found.describe()


def test_asked_pairs_are_all_answered():
    """Every pair asked for is either a choice or told too fast with the tempo where it can be played."""
    found = fill("4/4", 100, pairs=[(7, 4), rl.Polyrhythm(16, 15), (31, 4)])
    assert [made.pair for made in found] == [(7, 4), (16, 15)]
    # 31 strokes in four beats, hand to hand: 2 * 4 * 60000 / (31 * bpm) >= 167 ms
    assert found.too_fast == {(31, 4): Fraction(2 * 4 * 60_000, 31 * 167)}
    (slower,) = fill("4/4", 92, pairs=[(31, 4)])
    assert slower.fastest() == found.too_fast[31, 4]


def test_the_reader_moves_the_limits():
    """With a slower hand fewer pairs fit."""
    slow = rl.limits(hand_sustained=400)
    assert [made.pair for made in fill("4/4", 100, pairs=[(7, 4), (15, 4)], limits=slow)] == [(7, 4)]


def test_an_uneven_bar_is_filled_over_its_written_notes():
    """In seven eighths as 2+2+3 home is the eighth, and the feet keep the groups."""
    (made,) = fill("2+2+3/8", 210, pairs=[(4, 7)])
    assert made.home == "an eighth"
    assert made.lanes[0].onsets.tolist() == [tick * made.metre.parts for tick in (0, 2, 4, 7, 9, 11)]
    assert made.lanes[-1].onsets.tolist() == [7 * made.metre.parts + k * made.step for k in range(4)]
    assert 4 * made.step == 7 * made.metre.parts


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: fill("4/4", 990, pairs=[(7, 4)]), "tempo=990", "no hands can play"),
        (lambda: fill("4/4", 5000), "tempo=5000", "more than 1,000"),
        (lambda: fill("4/4", 0.5), "tempo=0.5", "less than 1"),
        (lambda: fill("4/4", 100, pairs=[(99, 4)]), "tempo=100", "can be played up to 29 bpm"),
        (lambda: fill("4/4", 100, beats=0), "beats=0", "at least 1"),
        (lambda: fill("4/4", 100, most=0), "most=0", "at least 1"),
    ],
)
def test_a_fill_that_cannot_be_played_is_refused(call, given, wrong):
    """The message has the tempo and what can be played, and its example gives fills."""
    assert isinstance(works(refusal(call, given, wrong), fill=fill), Fills)


def test_a_bad_tempo_is_refused():
    """Beats a minute are a number above zero."""
    refusal(lambda: fill("4/4", 0), "tempo=0", "not a finite number above 0")


@pytest.mark.parametrize(
    ("named", "wrong"),
    [
        ({"most": 201}, "more than 200"),
        ({"best": 1001}, "more than 1,000"),
        ({"beats": 10**9}, "more than 100,000"),
        ({"pairs": [(7, 4)] * 1001}, "holds more than 1,000"),
        ({"pairs": 7}, "not a list of pairs"),
        ({"limits": 7}, "are not Limits"),
    ],
)
def test_a_search_that_would_not_end_is_refused(named, wrong):
    """Each argument by its own name, with its bound and a call that works."""
    (name,) = named
    assert isinstance(works(refusal(lambda: fill("4/4", 100, **named), f"{name}=", wrong)), Fills)


@pytest.mark.parametrize("free", [1, 3, 4, 7])
def test_pairs_that_are_looked_for_teach_something(free):
    """Of all numbers, those without a common factor whose home fits, or neighbours whose end does."""
    found = set(_candidates(free, 12))
    assert found == {
        (p, q)
        for p in range(2, 13)
        for q in range(2, 13)
        if rl.playing.nothing_new(rl.Polyrhythm(p, q)) is None
        and (q <= free or (abs(p - q) == 1 and p * free >= q))
    }


@FEW
@given(
    st.sampled_from(["4/4", "3/4", "6/8", "2+2+3/8", "5/4", "2/4"]),
    st.integers(40, 500),
    st.integers(1, 6),
    st.integers(1, 4),
    st.sampled_from([None, "x", "x.", "RLRL", "2", "RRLL"]),
    st.sampled_from([{}, {"hand_sustained": 200}, {"hand_two": 100}, {"hand_three": 160}]),
)
def test_the_search_is_told_by_the_one_judge(metre, bpm, beats, lands, feet, moved):
    """A pair is too fast where its own cycle is, time, landing and feet included, up to the same tempo."""
    rows = rl.limits(**moved)
    bar = rl.metre(metre)
    lands = min(lands, len(bar.groups))
    pairs = [(p, q) for p in range(2, 14) for q in range(2, 10) if gcd(p, q) == 1 and p * beats >= q]
    given = {"beats": beats, "bars": 8, "lands": lands, "feet": feet}
    own = {pair: rl.playing.resolve(pair, bar, **given) for pair in pairs}
    told = {pair: one.fastest(limits=rows) for pair, one in own.items()}
    fast = {pair: most for pair, most in told.items() if most < bpm}
    if len(fast) == len(told):
        with pytest.raises(rl.Refusal, match="no hands can play such a fill"):
            fill(bar, bpm, pairs=pairs, limits=rows, **given)
        return
    found = fill(bar, bpm, pairs=pairs, limits=rows, **given)
    assert found.too_fast == fast
    assert {one.pair for one in found} == {*told} - {*fast}


@FEW
@given(
    st.text("RL", min_size=1, max_size=8),
    st.sampled_from(["4/4", "3/4", "6/8", "2+2+3/8"]),
    st.integers(40, 400),
    st.integers(1, 4),
)
def test_hands_of_ones_own_are_told_by_the_one_judge(letters, metre, bpm, beats):
    """Every pair in whose strokes they come out is a choice or too fast, as its own cycle says."""
    try:
        found = fill(metre, bpm, beats=beats, bars=8, best=1000, most=12, sticking=letters)
    except rl.Refusal:
        found = None
    told = {}
    for p, q in _candidates(beats if "+" not in metre else 0, 12):
        try:
            made = rl.playing.resolve((p, q), metre, beats=beats, bars=8, sticking=letters)
        except rl.Refusal:
            continue
        strokes = made.lanes[-1].hands
        assert strokes == letters * (made.strokes // len(letters))
        bound = ceiling(made, made.ticks, hand_limits())
        assert made.fastest() == bound.bpm(int(60_000 / (bound.tick_ms * made.fastest())))
        told[p, q] = made.fastest()
    if "+" in metre:
        return  # home is an eighth there, and there are more of them
    assert (found is None) == all(most < bpm for most in told.values())
    if found is not None:
        assert {one.pair for one in found} == {pair for pair, most in told.items() if most >= bpm}
        assert found.too_fast == {pair: most for pair, most in told.items() if most < bpm}
        assert {one.sticking for one in found} == {letters}


@FEW
@given(st.sampled_from([(7, 4), (4, 3), (3, 2), (16, 15), (5, 4)]), st.booleans(), st.integers(40, 600))
def test_hands_of_ones_own_that_take_turns_are_those_of_a_plain_fill(pair, left_handed, bpm):
    """Strokes, limbs and ceiling are the same, as a score, a sound and a picture take them."""
    plain = rl.playing.resolve(pair, left_handed=left_handed)
    own = rl.playing.resolve(pair, sticking=plain.lanes[-1].hands, left_handed=left_handed)
    assert (own.lanes, own.ticks, own.fastest()) == (plain.lanes, plain.ticks, plain.fastest())
    assert ("oo fast" in own.describe(bpm)) == (bpm > own.fastest())


@pytest.mark.parametrize("letters", ["RLRRL", "LRLLR", "RRLLR"])
def test_hands_of_ones_own_stand_under_the_notes_and_in_the_picture(letters):
    """Letter by letter, in the order of the strokes; and a class is asked for them on the handout."""
    made = rl.playing.resolve((5, 4), bars=2, sticking=letters)
    under = re.findall(r"<text[^>]*>([RL])</text>", rl.score(made, tempo=96).musicxml)
    assert "".join(under).endswith(letters) or letters in "".join(under)
    drawn = [mark.text for mark in rl.pictures.strip(made).marks if getattr(mark, "text", "") in ("R", "L")]
    assert letters in "".join(drawn)


def test_a_foot_that_is_too_fast_is_named():
    """The strokes of the fill are not blamed for the foot's, and the tempo is one that the foot can keep."""
    made = rl.playing.resolve((4, 3), "3/4", feet="x")
    said = made.describe(120)
    assert "Too fast for the right foot, which plays every 125 ms (200 ms of one foot, " in said
    most = floor(made.fastest())
    assert said.endswith(f"; it can be played up to {most} bpm.")
    assert "oo fast for the" not in made.describe(most)


@FEW
@given(
    st.sampled_from([(2, 7), (5, 3), (3, 2), (7, 4), (16, 15), (5, 4)]),
    st.sampled_from(["4/4", "7/16", "2+2+3/8", "12/8", "5/8"]),
    st.sampled_from(["x" + "." * 15, "RL"]),
    st.integers(60, 600),
    st.booleans(),
)
def test_what_is_too_fast_is_what_the_limb_plays_then(pair, bar, feet, bpm, left_handed):
    """Hand to hand is said of two strokes of the fill, the hi-hat of two on it; else from what to what."""
    try:
        made = rl.playing.resolve(pair, bar, bars=16, beats=2, feet=feet, left_handed=left_handed)
    except ValueError:
        return
    said, found = made.describe(bpm), made._bound(None)
    if bpm <= made.fastest() or "foot" in found.limb:
        assert not re.search("on the hi-hat|even hand to hand", said)
        return
    rows = {"fill": made.lanes[-1], "high tom": made.lanes[-2]}
    rows |= {lane.sound.split()[-1]: lane for lane in made.lanes[:-2] if "hand" in lane.limb}
    letter = found.limb[0].upper()
    at = {}
    for name, lane in rows.items():
        letters = lane.hands or letter * len(lane.onsets) * (lane.limb == found.limb)
        at |= {tick: name for tick, by in zip(lane.onsets.tolist(), letters, strict=False) if by == letter}
    ticks = sorted(at)
    closest = {
        (at[before], at[tick])
        for before, tick in zip([ticks[-1] - made.ticks, *ticks], ticks, strict=False)
        for before in [before % made.ticks]
        if (tick - before) % made.ticks == found.apart or found.nth == 3
    }
    if "even hand to hand" in said:
        assert any({*pair} <= {"fill", "high tom"} for pair in closest)
    elif "on the" in said.split("Too fast")[1]:
        assert said.split("on the ")[-1].split(",")[0] in {one for one, other in closest if one == other}
    else:
        one, other = said.split("goes from the ")[1].split(" in ")[0].split(" to the ")
        assert (one, other) in closest
        assert found.nth != 4 or ("hi-hat", "hi-hat") not in closest
    assert f"the {found.limb}" in said


def test_time_that_is_too_fast_is_not_put_on_the_fill():
    """In 7/8 the hi-hat plays every eighth, far faster than a slow fill: it is what is named."""
    for pair in ((2, 7), (5, 3)):
        said = rl.playing.resolve(pair, "7/8", feet="x......").describe(400)
        assert (
            "Too fast for the right hand on the hi-hat, which plays every 150 ms (167 ms in one hand" in said
        )


@FEW
@given(
    st.sampled_from([(7, 4), (4, 3), (3, 2), (16, 15), (5, 4)]),
    st.booleans(),
    st.sampled_from([None, "x", "4 4"]),
    st.booleans(),
)
def test_a_left_handed_fill_is_the_mirror_of_the_other(pair, crash, feet, stuck):
    """Every limb and every letter the other side, strokes and sounds the same, and the sentence too."""
    one, other = (
        rl.playing.resolve(pair, crash=crash, feet=feet, sticking=letter * stuck, left_handed=left)
        for letter, left in (("R", False), ("L", True))
    )
    swap = {"right": "left", "left": "right"} | {"R;": "L;", "L;": "R;", "R,": "L,", "L,": "R,"}
    for lane, mirror in zip(one.lanes, other.lanes, strict=True):
        assert (lane.name, lane.sound, lane.onsets.tolist()) == (
            mirror.name,
            mirror.sound,
            mirror.onsets.tolist(),
        )
        assert mirror.limb == " ".join(swap.get(word, word) for word in lane.limb.split())
        assert mirror.hands == lane.hands.translate(str.maketrans("RL", "LR"))
    for bpm in (60, 300):
        words = [swap.get(word, word) for word in one.describe(bpm).split(" ")]
        assert other.describe(bpm) == " ".join(words)
    assert one.fastest() == other.fastest()


@pytest.mark.parametrize("bars", [1, 2])
@pytest.mark.parametrize("bar", ["3/4", "4/4", "2+2+3/8"])
def test_a_fill_may_be_as_long_as_all_bars(bar, bars):
    """It lands where it begins, which is one stroke: those found are within the one judge's limits."""
    found = fill(bar, 100, bars=bars, best=1000)
    assert len(found) > 0
    assert all(made.fastest() >= 100 for made in found)

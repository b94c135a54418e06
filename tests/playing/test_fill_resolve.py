"""Bars of time with a polyrhythm that resolves, against plain fractions of a bar."""

import re
from fractions import Fraction
from itertools import pairwise
from math import gcd

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.playing.fill import Fill, resolve
from rhythmlab.playing.hands import ceiling, hand_limits, too_soon
from rhythmlab.playing.metre import lane_places, metre
from rhythmlab.playing.patterns import pattern, ready_patterns
from rhythmlab.playing.percussion import drum
from rhythmlab.text.counts import label
from tests.refusals import refusal, works
from tests.strategies import TRIES

NAMES = {"resolve": resolve, "pattern": pattern}
metres = st.sampled_from(["4/4", "3/4", "9/8", "2+2+3/8", "4+4+3/16"])
pairs = st.tuples(st.integers(2, 16), st.integers(2, 16)).filter(lambda pair: gcd(*pair) == 1)
#: Pairs with a stroke in the last three pulses, which every one of these bars has.
faster = pairs.filter(lambda pair: 3 * pair[0] >= pair[1])


def test_three_bars_of_time_and_one_of_the_pair():
    """Seven against four in the last of four bars: where each stroke falls, in quarters from the start."""
    four = resolve((7, 4), "4/4", bars=4)
    quarter = four.ticks // 16
    assert len(four.bars) == 4
    lanes = {lane.name: lane for lane in four.lanes}
    assert [Fraction(tick, quarter) for tick in lanes["fill"].onsets.tolist()] == [
        12 + Fraction(4 * k, 7) for k in range(7)
    ]
    assert lanes["feet"].onsets.tolist() == [n * quarter for n in range(16)]  # unbroken through all four bars
    assert lanes["time"].onsets.tolist() == [n * quarter for n in range(1, 12)]
    assert lanes["snare"].onsets.tolist() == [n * quarter for n in (1, 3, 5, 7, 9, 11)]
    landing = lanes["tom"]  # where it lands as the bars come round
    assert (landing.onsets.tolist(), landing.accents, landing.limb) == ([0], (0,), "right hand")
    assert landing.sound == lanes["fill"].sound == "high tom"
    assert lanes["fill"].hands == "LRLRLRL"  # so that the right hand lands


@TRIES
@given(pairs, metres, st.integers(2, 4), st.data())
def test_a_fill_is_even_and_meets_its_landing(pair, written, bars, data):
    """Strokes are evenly p in q pulses of home, inside the free beats, and the next would be the landing."""
    bar = metre(written)
    groups = len(bar.groups)
    lands = data.draw(st.integers(1, groups))
    beats = data.draw(st.integers(1, groups))
    marks = [*bar.beats_in(bars).tolist(), bars * bar.ticks]
    last = bars * groups if lands == 1 else (bars - 1) * groups + lands - 1
    free = marks[last] - marks[last - beats]
    lengths = {marks[i + 1] - marks[i] for i in range(last - beats, last)}
    home = lengths.pop() if len(lengths) == 1 else bar.parts
    p, q = pair
    step = Fraction(q * home, p)
    if free < step:
        refusal(
            lambda: resolve(pair, bar, bars=bars, beats=beats, lands=lands), f"{p} against {q}", "no stroke"
        )
        return
    found = resolve(pair, bar, bars=bars, beats=beats, lands=lands)
    scale = Fraction(found.ticks, bars * bar.ticks)
    onsets = [tick / scale for tick in found.lanes[-1].onsets.tolist()]
    length = free // home // q * q * home or free  # whole rounds, or the end of a longer one
    assert onsets == [marks[last] - k * step for k in range(length // step, 0, -1)]
    assert (found.enter / scale, found.lands / scale) == (onsets[0], marks[last])
    begin = marks[last] - length
    (landing,) = [lane for lane in found.lanes if lane.name == "tom"]
    assert [tick / scale for tick in landing.onsets.tolist()] == [marks[last] % marks[-1]]
    assert (landing.accents, landing.limb) == (tuple(landing.onsets.tolist()), "right hand")
    for lane in found.lanes[1:-1]:
        kept = [tick / scale for tick in lane.onsets.tolist()]
        assert not [tick for tick in kept if begin <= tick < marks[last]]
    time = found.lanes[1]
    each = max(1, bar.unit // 8)  # in a group the hi-hat has its eighths
    inside = [
        low + k
        for low, size in zip(bar.beats, bar.groups, strict=True)
        for k in range(0, size, each)
        if k == 0 or k + each <= size
    ]
    rows = [nth * bar.ticks + tick for nth in range(bars) for tick in inside] if bar.grouped else marks[:-1]
    assert [tick / scale for tick in time.onsets.tolist()] == [
        tick for tick in rows if not begin <= tick < marks[last] and tick != marks[last] % marks[-1]
    ]
    assert [tick / scale for tick in time.accents] == [
        tick for tick in marks[:-1] if bar.grouped and tick * scale in time.onsets
    ]
    assert [tick / scale for tick in found.lanes[0].onsets.tolist()] == marks[:-1]


@TRIES
@given(faster, metres)
def test_no_limb_plays_twice_at_once_and_hands_take_turns(pair, written):
    """Over the whole cycle each limb has one stroke a tick, and the right hand lands after the left."""
    found = resolve(pair, written, bars=3)
    played = []
    for lane in found.lanes:
        sides = {"R": "right hand", "L": "left hand"}
        limbs = [sides[hand] for hand in lane.hands] or [lane.limb] * len(lane.onsets)
        played += zip(limbs, lane.onsets.tolist(), strict=True)
    assert len(set(played)) == len(played)
    hands = found.lanes[-1].hands
    assert hands.endswith("L")
    assert "RR" not in hands
    assert "LL" not in hands


@TRIES
@given(faster, metres, st.booleans())
def test_the_drums_of_a_fill_are_the_same_on_paper_in_midi_and_in_the_ear(pair, written, crash):
    """Every lane has a voice and, under its name, a row in the table of drums; the fill is on a tom."""
    found = resolve(pair, written, crash=crash)
    sounds = {lane.name: lane.sound for lane in found.lanes}
    assert sounds["fill"] == "high tom"
    assert sounds["crash" if crash else "tom"] == found.landing == ("crash" if crash else "high tom")
    made = rl.sound(found, rl.Tempo(90, ticks=found.metre.parts))
    assert [row.sound for row in made.rows][: len(found.lanes)] == [lane.sound for lane in found.lanes]
    for lane in found.lanes:
        row = drum(lane.sound, lane.limb)
        assert row.sound == lane.sound
        # General MIDI System Level 1, percussion: high tom, crash cymbal 1, closed hi-hat, bass drum, snare.
        assert row.general_midi == {"fill": 50, "tom": 50, "crash": 49, "time": 42, "snare": 38}.get(
            lane.name, 36
        )
    assert (", with a crash." in found.describe()) == crash


@pytest.mark.parametrize(
    ("feet", "rows"),
    [
        ("4 4", {"right foot": (0, 4)}),
        ("8 as 3 3 2", {"right foot": (0, 3, 6)}),
        ("RLRRLRLL", {"right foot": (0, 2, 3, 5), "left foot": (1, 4, 6, 7)}),
        ("tresillo", {"right foot": (0, 3, 6)}),
    ],
)
def test_a_phrase_or_a_sticking_goes_under_a_fill(feet, rows):
    """The right foot has the first of each group, a sticking is for both feet, unbroken through all bars."""
    found = resolve((7, 4), "4/4", feet=feet)
    scale = found.ticks // 64
    played = {lane.limb: lane.onsets.tolist() for lane in found.lanes if "foot" in lane.limb}
    assert played == {
        limb: [(8 * turn + tick) * scale for turn in range(8) for tick in ticks]
        for limb, ticks in rows.items()
    }
    assert f"The feet keep {feet}." in found.describe()


@TRIES
@given(faster, metres, st.integers(30, 300))
def test_the_fastest_tempo_is_where_each_hand_meets_its_limit(pair, written, bpm):
    """The fastest tempo is that of the one judge of hands, feet and time included, and slower always fits."""
    found = resolve(pair, written)
    bound = ceiling(found, found.ticks, hand_limits())
    beat = found.metre.tempo(1).beat_ticks(found)
    assert found.fastest() == bound.bpm(beat)
    assert found.hand() == bound.limit
    tick_ms = 1000 * found.seconds(bpm) / found.ticks
    assert found.stroke_ms(bpm) == tick_ms * found.step
    assert (bpm <= found.fastest()) == (not too_soon(found, found.ticks, tick_ms, hand_limits()))
    said = found.describe(bpm).replace("too fast for one hand", "").lower()
    assert ("too fast" in said) == (bpm > found.fastest())


def test_the_feet_keep_any_ostinato_that_comes_home():
    """A pattern in the feet goes on through the fill; one that does not come home names the bars that do."""
    found = resolve((7, 4), "4/4", feet=ready_patterns()["son_clave"].by("left foot"))
    scale = found.ticks // 64
    expected = [16 * bar + tick for bar in range(4) for tick in (0, 3, 6, 10, 12)]
    assert [tick // scale for tick in found.lanes[0].onsets.tolist()] == expected
    assert (found.lanes[0].limb, found.lanes[0].name) == ("left foot", "son clave")
    assert "The feet keep “x..x..x...x.x...”." in found.describe()
    example = refusal(lambda: resolve((7, 4), "4/4", feet="x.."), "3 ticks", "they do in 3")
    assert isinstance(works(example, **NAMES), Fill)
    assert len(resolve((7, 4), "4/4", bars=3, feet="x..").bars) == 3


def test_the_sentence_says_how_fast():
    """One hand, hand to hand or neither, with the limit and its source, and a moved limit says so."""
    four = resolve((7, 4), "4/4")
    # Fujii and others 2009, Neuroscience Letters 459(2), 69-73 (abstract): about 6 strokes a second, 167 ms.
    assert "hand to hand" in four.describe(120)
    assert four.describe(120).endswith("Strokes are 286 ms apart.")
    assert four.describe(200).endswith("Strokes are 171 ms apart.")
    assert "137 ms apart, too fast for one hand (167 ms in one hand, " in four.describe(250)
    # Its strokes would go up to 411 bpm, the foot on every beat up to 300 (200 ms).
    assert "Too fast for the right foot, which plays every 143 ms (200 ms of one foot, " in four.describe(420)
    assert "up to 300 bpm" in four.describe(420)
    assert "too fast even hand to hand: the right hand plays every 114 ms" in resolve((7, 2)).describe(300)
    assert "up to 205 bpm" in resolve((7, 2)).describe(300)
    assert "(300 ms in one hand, your own limit)" in four.describe(120, limits=rl.limits(hand_sustained=300))


@TRIES
@given(faster, metres)
def test_the_place_to_enter_is_the_one_under_the_picture(pair, written):
    """The sentence has the word of the first stroke in its bar, as the picture's words have it."""
    found = resolve(pair, written)
    shown = re.search(
        r"the fill falls on (bar \d+): ([^,;.(]+?)(?: \(|[,;.])",
        rl.pictures.strip(found, start=0, stop=found.ticks).alt,
    )
    said = re.search(
        r"enter in (bar \d+) on (?:its \w+ \w+, counted )?([^,;(]+?)(?: \(| with)", found.describe()
    )
    assert said.groups() == shown.groups()


def test_uneven_bars_are_counted_in_the_written_note():
    """In 2+2+3/8 the 4 of 5 against 4 is counted in eighths, the fourth of which is the & of 2."""
    found = resolve((5, 4), "2+2+3/8")
    eighth = found.ticks // (4 * 7)
    assert found.enter == (3 * 7 + 3) * eighth  # four eighths before the bars come round
    assert found.describe().startswith(
        "5 against 4 (count the 4 in eighths): enter in bar 4 on & of 2 with the left hand, "
        "5 strokes hand to hand;"
    )
    assert (
        "(the 2 is a quarter): enter in bar 4 on 1 with"
        in resolve((3, 2), "2+2+3/8", beats=2, lands=3).describe()
    )
    assert "on part 8 of beat 1 (32 parts to a beat) with" in resolve((16, 15), "2+2+3/8").describe()
    assert "(the 15 is a quarter): enter in bar 4 on e of 1 with" in (resolve((16, 15), "4/4").describe())
    assert "enter in bar 4 on 1 with" in resolve((7, 4), "4/4").describe()


def test_a_long_pair_is_played_from_its_middle():
    """The last four pulses of 16 against 15 close in on the feet by a sixteenth of a beat a stroke."""
    found = resolve((16, 15), "4/4")
    beat = found.ticks // 16
    strokes = found.lanes[-1].onsets.tolist()
    gaps = [Fraction(stroke - 12 * beat, beat) - i for i, stroke in enumerate(strokes)]
    assert gaps == [Fraction(4, 16), Fraction(3, 16), Fraction(2, 16), Fraction(1, 16)]
    assert "the last 4 pulses of 15" in found.describe()


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: resolve((7,)), "(7,)", "takes at least 2"),
        (lambda: resolve("7:4"), "'7:4'", "is no rhythm: "),
        (lambda: resolve((7, 4, 3)), "(7, 4, 3)", "not two numbers"),
        (lambda: resolve((7, 4), bars=0), "bars=0", "at least 1"),
        (lambda: resolve((7, 4), beats=0), "beats=0", "at least 1"),
        (lambda: resolve((7, 4), lands=5), "lands=5", "not a beat of 4/4, which has 4"),
        (lambda: resolve((7, 4), bars=1, lands=3), "beats=4", "do not fit into bars=1 of 4/4, which takes 2"),
        (lambda: resolve((7, 4), bars=1, beats=9), "beats=9", "which takes 3"),
        (lambda: resolve((2, 15), beats=1), "2 against 15", "no stroke"),
        (lambda: resolve((10**7, 3)), "10000000 against 3", "more than 100,000 strokes"),
        (lambda: resolve((7, 4), feet=5), "feet=5", "neither"),
        (
            lambda: resolve((7, 4), feet=pattern("x...", limb="left hand")),
            "'left hand'",
            "needed for the fill",
        ),
    ],
)
def test_a_bad_fill_is_refused(call, given, wrong):
    """The message says what was given and what is wrong, and its example is a fill."""
    assert isinstance(works(refusal(call, given, wrong), **NAMES), Fill)
    assert "takes 2" not in wrong or len(resolve((7, 4), bars=2, lands=3).bars) == 2


def test_one_hand_is_judged_by_every_limit_that_it_meets():
    """Where two strokes need longer than many, a fill that keeps only the limit of many is too fast."""
    moved = rl.limits(hand_two=400)  # strokes are 286 ms apart
    said = resolve((7, 4), "4/4").describe(120, limits=moved)
    assert said.endswith("too fast for one hand (400 ms in one hand, your own limit).")
    assert resolve((7, 4), "4/4").describe(120).endswith("Strokes are 286 ms apart.")


def test_pulses_of_a_pair_are_numbers_of_a_polyrhythm():
    """A Polyrhythm is a pair too, and a pulse of zero is refused as anywhere."""
    assert resolve(rl.Polyrhythm(7, 4)) == resolve((7, 4))
    refusal(lambda: resolve((7, 0)), "pulse=0", "at least 1")


@pytest.mark.parametrize(
    "metre",
    ["4/4", "5/4", "5/8", "7/8", "8/8", "9/8", "12/8", "4/16", "7/16", "8/16", "9/16", "13/16", "15/16"],
)
@pytest.mark.parametrize("groups", [None, (2, 2, 3)])
def test_time_and_feet_are_strokes_that_a_bar_is_counted_in(metre, groups):
    """A hand keeps time on no note shorter than an eighth or a group, a foot on none but in bars of quarters.

    Both begin every group, the hand up to the fill: 7/16 is kept on 2+2+3, and 8/16 on four eighths.
    """
    bar = rl.metre(metre)
    if groups is not None:
        if bar.count != sum(groups):
            return
        bar = rl.metre(metre, groups)
    cycle = resolve((3, 2), bar, bars=3, beats=2)
    ticks = cycle.ticks // 3
    lanes = {lane.name: lane.onsets for lane in cycle.lanes}
    note = Fraction(ticks, bar.count)
    eighth = note * bar.unit / 8
    feet, time = lanes["feet"].tolist(), lanes["time"].tolist()
    assert min(b - a for a, b in pairwise(time)) >= min(eighth, 2 * note if bar.unit > 8 else eighth)
    assert min(b - a for a, b in pairwise(feet)) >= (note if bar.unit < 8 else 2 * note)
    free = [tick for tick in feet if 0 < tick < min(lanes["fill"])]
    assert {tick for tick in free if tick < 2 * ticks} <= set(time)
    if bar.unit > 8:
        assert set(time) <= set(feet)


@pytest.mark.parametrize("groups", [(2, 2, 3), (3, 2, 2), (2, 3), (3, 2), (2, 3, 2), (3, 3, 2)])
@pytest.mark.parametrize("unit", [8, 16])
def test_three_in_the_time_of_two_written_notes_is_a_triplet_and_a_note_keeps_its_name(groups, unit):
    """3 against 2 over the notes of a bar of groups: 2 trip let; the second note is "&" in finer ones too."""
    written = f"{'+'.join(map(str, groups))}/{unit}"
    made = resolve((3, 2), written, beats=len(groups), bars=2)
    places = lane_places(made, made.lanes[-1].onsets, 0, made.ticks)
    note = made.ticks // 2 // sum(groups)
    starts = [*made.beats.tolist(), made.ticks]
    triplets = 0
    for begin, end in pairwise(starts):
        inside = [tick for tick in places if begin <= tick < end]
        if end - begin != 2 * note or not inside:
            continue
        named = [label(places[tick]) for tick in inside]
        if [tick - begin for tick in inside] == [0, (end - begin) // 3, 2 * (end - begin) // 3]:
            assert named[1:] == ["trip", "let"]
            triplets += 1
        for tick, name in zip(inside, named, strict=True):
            assert (name == "&") == (2 * (tick - begin) == end - begin), (tick, named)
    assert triplets or groups in ((2, 2, 3), (2, 3))

"""What goes to the browser: whole numbers of the cycle, exact seconds, the voices, the spots to loop."""

import re
from contextlib import suppress
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.audio import mix, struck, voices
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.feel import Feel
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.panels.stage import sounding, stage
from rhythmlab.panels.stage.sounding import pads
from rhythmlab.playing.hands import limbs
from rhythmlab.playing.learning import Span, count_steps, line_steps

STAGE = Path(stage.__file__).parent


def constants(module: str) -> str:
    return (STAGE / module).read_text(encoding="utf-8")


@given(st.lists(st.integers(1, 12), min_size=2, max_size=4), st.integers(30, 300))
def test_a_plan_holds_the_strokes_of_each_pulse_and_the_seconds_of_the_cycle(pulses, bpm):
    """Onsets and beats are the ticks of the pulses; the cycle lasts as long as its home beats do."""
    p = Polyrhythm(*pulses)
    made = sounding.plan(Feel(p), Tempo(bpm, pulse=len(pulses) - 1))
    for i, pulse in enumerate(pulses):
        even = [p.ticks * k // pulse for k in range(pulse)]
        assert made["lanes"][i]["onsets"] == even == made["homes"][i]
        assert made["bpms"][i] == pytest.approx(bpm * pulse / pulses[-1])
    assert made["cycle_s"] == float(Fraction(60 * pulses[-1], bpm))
    assert set(sounding.voices(made)) >= {lane["sound"] for lane in made["lanes"]}


def test_the_voices_that_are_sent_are_those_of_the_files():
    """Bytes of 16-bit numbers, little end first, are the samples that the files are made from."""
    made = sounding.plan(Feel(Polyrhythm(7, 4)), Tempo(72, pulse=1))
    for name, data in sounding.voices(made).items():
        assert np.array_equal(np.frombuffer(data, "<i2") / 32768, voices.voice(name))


def test_the_browser_mixes_as_the_files_do():
    """Levels, sides, accents and the limiter of the desk are those of the library."""
    desk, made = constants("desk.mjs"), constants("struck.mjs")
    python = mix.Mix()
    assert f"lane: {mix.LANE_LEVEL}, home: {python.home}," in desk
    assert f"count: {python.count_in} " in desk
    sides = re.search(r"return \[([^\]]+)\]\[lane % 4\]", desk)[1]
    assert [float(side) for side in sides.split(",")] == list(mix.LANE_SIDES)
    assert f"const KNEE = {voices.KNEE};" in desk
    assert f"const ROOM = {voices.ROOM};" in desk
    strengths = f"accent: {struck.ACCENT}, plain: {struck.PLAIN}, ghost: {struck.GHOST}"
    assert f"STRENGTH = {{ {strengths}, first: 1.4 * {struck.PLAIN} }};" in made
    assert 1.4 * struck.PLAIN == struck.FIRST_BEAT
    each = ", ".join(f"[{gain:g}, {bright:g}]" for gain, bright in struck.VARIANTS)
    assert f"const VARIANTS = [{each}];" in made
    for name in ("BRIGHT", "DULLING", "STRENGTH_SECONDS", "DAMPED_S"):
        assert f"const {name} = {getattr(struck, name):g};" in made
    assert f'home: "{mix.HOME_SOUND}"' in desk
    assert f'HOME_OTHER = "{mix.HOME_OTHER}";' in desk


def test_any_cycle_has_a_plan_with_its_own_beats_accents_and_ghosts():
    """A cycle with uneven beats: its lanes, its voices, and the tempo of its beats."""
    lane = Lane("bell", [0, 2, 3, 5], sound="bell", accents=[0], ghosts=[3])
    cycle = Cycle(7, [lane], beats=[0, 2, 4])
    made = sounding.plan_of(cycle, Tempo(120, ticks=1), [cycle.beats], ["the bell"])
    assert made["lanes"][0] == {
        "name": "bell",
        "said": "the bell",
        "sound": "bell",
        "onsets": [0, 2, 3, 5],
        "accents": [0],
        "ghosts": [3],
    }
    assert made["homes"] == [[0, 2, 4]]
    assert made["cycle_s"] == 3.5


@given(st.integers(2, 40), st.integers(2, 40))
def test_every_loop_lies_in_the_cycle_and_is_made_of_whole_beats(p, q):
    """Loops start and stop on home's beats; the one round the middle has it in its middle."""
    feel = Feel(Polyrhythm(p, q))
    for loop in sounding.loops(feel):
        assert 0 <= loop["start"] < loop["stop"] <= feel.polyrhythm.ticks
        assert loop["start"] % feel.beat_ticks == 0
        assert loop["stop"] % feel.beat_ticks == 0


def test_the_loop_round_the_middle_of_16_against_15_is_beats_7_to_9():
    """The stroke on the & of beat 8 (tick 120 of 240) stands in the middle of three beats of 16 ticks."""
    loop = sounding.loops(Feel(Polyrhythm(16, 15)))[0]
    assert (loop["start"] + loop["stop"]) / 2 == 120
    assert loop["stop"] - loop["start"] == 3 * 16


@given(st.integers(2, 20), st.integers(2, 20))
def test_a_loop_can_begin_on_every_sound_and_end_on_every_later_one(p, q):
    """Spots are the sounds of the line, each named in the count, and the end of the cycle."""
    rhythm = Polyrhythm(p, q)
    spots = sounding.spots(Feel(rhythm))
    assert [tick for tick, _ in spots] == [*composite(rhythm).onsets.tolist(), rhythm.ticks]
    assert spots[0][1] == "1"
    assert spots[-1][1] == "end"


def test_a_long_cycle_offers_its_beats_alone():
    """1000 against 999 has too many sounds for a menu: the beats of home are enough."""
    assert len(sounding.spots(Feel(Polyrhythm(1000, 999)))) == 1000


def test_a_plan_says_what_a_take_is_known_by():
    """The tempo is exact text, with the pulse that it belongs to, and the move of the slide is answered."""
    made = sounding.plan(Feel(Polyrhythm(7, 4), 0), Tempo(Fraction(171, 2), pulse=1), turn=3)
    assert (made["pulses"], made["bpm"], made["pulse"], made["turn"]) == ([7, 4], "171/2", 1, 3)
    assert made["loops"] == sounding.loops(Feel(Polyrhythm(7, 4), 0)) != []


def test_the_beat_of_any_cycle_is_as_fast_as_its_beats_are_many():
    """Three beats in 3.5 s are 360 / 7 a minute, whatever the tick goes at."""
    cycle = Cycle(7, [Lane("bell", [0, 2], sound="bell")], beats=[0, 2, 4])
    made = sounding.plan_of(cycle, Tempo(120, ticks=1), [cycle.beats, np.array([0])], ["bell"])
    assert made["bpms"] == pytest.approx([360 / 7, 120 / 7])


def test_the_home_beat_the_count_in_and_the_grid_have_their_voices():
    """Voices of the rows that are not lanes are sent as well."""
    cycle = Cycle(4, [Lane("bell", [0, 2], sound="bell")], beats=[0, 2])
    made = sounding.plan_of(cycle, Tempo(60, ticks=2), [cycle.beats], ["bell"])
    assert sounding.voices(made).keys() == {"bass drum", "bell", "click", "grid tick"}


@given(st.integers(2, 12), st.integers(2, 12), st.integers(0, 1))
def test_the_loops_are_the_pieces_that_steps_name(p, q, home):
    """Steps of the line and of the count name these pieces in these words, and no other; a half is one."""
    pair = Polyrhythm(p, q)
    offered = [one for one in sounding.loops(Feel(pair, home)) if "midway" not in one["name"]]
    span = Span(Fraction(60), None, Fraction(60))
    steps = [*line_steps(pair, home, span), *count_steps(pair, home, span, Fraction(60))]
    whole = {(0, pair.meet()), (0, pair.ticks)}
    named = {(step.start, step.stop): step.what for step in steps if (step.start, step.stop) not in whole}
    assert named.keys() == {(one["start"], one["stop"]) for one in offered}
    for one in offered:
        assert any(one["name"] in step.what for step in steps if step.start == one["start"])
        assert ("half" in one["name"]) == (2 * (one["stop"] - one["start"]) == pair.ticks)


def test_a_cycle_of_three_beats_is_not_cut_in_halves():
    """5 against 3 is cut before its beat 3; 3 against 2, a line of four sounds, is not cut."""
    first, second = sounding.loops(Feel(Polyrhythm(5, 3)))
    assert [tuple(one.values()) for one in (first, second)] == [("beats 1 and 2", 0, 10), ("beat 3", 10, 15)]
    assert sounding.loops(Feel(Polyrhythm(3, 2))) == []


def test_a_menu_of_spots_holds_160_sounds():
    """79 and 81 are 160 strokes, all offered; with one more the beats of home stand alone."""
    assert len(sounding.spots(Feel(Polyrhythm(81, 79)))) == 160
    assert len(sounding.spots(Feel(Polyrhythm(82, 79)))) == 80


#: The browser's first keys in their order, and how they lie: J F K D N V L S (``taps.mjs``).
KEYS = "JFKDNVLS"
HANDS_ROW, FEET_ROW = "SDFJKL", "VN"


def grooves():
    """Give cycles that panels of page 07 and set lists show."""
    ready = [*rl.playing.ready_patterns().names, "4 3 4 3", "RLRR LRL", "x.x", "RRLL"]
    for metre in ("4/4", "7/8", "6/8", "2+2+3/8", "5/4"):
        for pair in ((7, 4), (2, 3), (16, 15), (5, 4)):
            with suppress(ValueError):
                yield rl.playing.resolve(pair, metre, crash=pair[0] > 4)
        for every in range(1, 12):
            yield rl.playing.accents(metre, every)
            yield rl.playing.accents(metre, every, filled=False)
            with suppress(ValueError):
                yield rl.playing.accents(metre, every, pulse="backbeat")
    for one in ready:
        for other in ready:
            with suppress(ValueError):  # a pattern that has no place in the bar of another
                yield rl.ostinato(one, other)


LIMBS = ["right hand", "left hand", "right foot", "left foot", "hands", "feet", "hand", "foot", "voice", ""]
LANES = st.lists(
    st.tuples(st.sampled_from(LIMBS), st.sets(st.integers(0, 7), min_size=1), st.booleans(), st.randoms()),
    min_size=1,
    max_size=12,
)


@st.composite
def cycles(draw):
    """Give a cycle of any limbs, with letters on some lanes of both hands or both feet."""
    lanes = []
    for i, (limb, ticks, lettered, luck) in enumerate(draw(LANES)):
        hands = (
            "".join(luck.choice("RL") for _ in ticks) if lettered and limb in ("hands", "feet", "") else ""
        )
        lanes.append(Lane(f"lane {i}", sorted(ticks), limb, hands=hands))
    return Cycle(8, lanes, beats=[0])


def hold_pads(cycle):
    """Hold what must be true of the pads of a cycle."""
    found = pads(cycle)
    if not any(lane.limb or lane.hands for lane in cycle.lanes):
        assert found == []
        return
    keys = [pad["key"] for pad in found]
    assert len({*keys}) == len(keys)
    assert all(key < len(KEYS) for key in keys[:8]) or len(keys) > 8
    at = {pad["said"]: KEYS[pad["key"]] for pad in found if pad["key"] < len(KEYS)}
    for part, row in (("hand", HANDS_ROW), ("foot", FEET_ROW)):
        sides = [at[f"{side} {part}"] for side in ("left", "right") if f"{side} {part}" in at]
        assert all(key in row for key in sides)
        assert sides == sorted(sides, key=row.index)
    for i, lane in enumerate(cycle.lanes):
        rows = [letter for pad in found for j, letter in pad["rows"] if j == i]
        assert rows, f"no pad plays {lane.name}"
        assert sorted(rows) == sorted({*lane.hands}) if lane.hands else set(rows) == {""}
    for limb, ticks in limbs(cycle).items():
        if limb in at:
            (pad,) = (pad for pad in found if pad["said"] == limb)
            own = set()
            for i, letter in pad["rows"]:
                lane = cycle.lanes[i]
                letters = lane.hands or " " * len(lane.onsets)
                ticked = zip(lane.onsets.tolist(), letters, strict=True)
                own |= {tick for tick, by in ticked if by == (letter or " ")}
            assert {*ticks.tolist()} <= own


def test_every_limb_of_every_groove_has_its_key_on_its_own_side():
    """Left of right, feet below hands, each lane that a limb plays has a key, and no key twice."""
    tried = 0
    for cycle in grooves():
        hold_pads(cycle)
        tried += 1
    assert tried > 200


@given(cycles())
def test_any_limbs_have_keys_of_their_own(cycle):
    """As for the grooves of the library: up to eight limbs, each with its own key."""
    hold_pads(cycle)

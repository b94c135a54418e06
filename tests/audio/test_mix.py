"""The mix: what each lane gets when nothing is said, and what is refused."""

from contextlib import suppress
from dataclasses import FrozenInstanceError
from fractions import Fraction
from functools import cache
from math import gcd, log10

import numpy as np
import pytest

import rhythmlab as rl
from rhythmlab.audio.mix import Mix, lane_rows
from rhythmlab.audio.sound import sound
from rhythmlab.audio.struck import ACCENT, FIRST_BEAT, GHOST, PLAIN
from rhythmlab.audio.voices import VOICES, a_weight
from rhythmlab.playing.fill import Fill
from rhythmlab.playing.patterns import ready_patterns
from tests.profile import some
from tests.refusals import refusal, works

TEMPO = rl.Tempo(72, pulse=1)


def test_lanes_differ_when_nothing_is_said():
    """Lanes that say only "click" get wood blocks, bell and hand drum, soft sides and one level."""
    rows = sound(rl.Polyrhythm(3, 4, 5, 7), TEMPO).rows
    lanes = rows[:4]
    assert [row.sound for row in lanes] == ["high wood block", "low wood block", "bell", "hand drum"]
    assert [row.side for row in lanes] == [-0.35, 0.35, 0.0, 0.2]
    assert {row.level for row in lanes} == {0.6}
    assert [(row.name, row.sound, row.level, row.side) for row in rows[4:]] == [
        ("home", "bass drum", 0.45, 0)
    ]


def test_eight_lanes_are_never_hard_to_one_side():
    """However many lanes there are, both ears hear each of them."""
    rows = lane_rows([rl.Lane(str(i), [0]) for i in range(8)], Mix())
    assert max(abs(row.side) for row in rows) <= 0.5
    assert {row.sound for row in rows} <= set(VOICES)


def test_a_lane_keeps_the_sound_it_names_unless_the_mix_names_another():
    """The lane's own voice, then the mix's; ``None`` in the mix leaves the lane its own."""
    lanes = [rl.Lane("a", [0], sound="snare"), rl.Lane("b", [0], sound="snare"), rl.Lane("c", [0])]
    assert [row.sound for row in lane_rows(lanes, Mix())] == ["snare", "snare", "bell"]
    rows = lane_rows(lanes, Mix(sounds=[None, "click", None]))
    assert [row.sound for row in rows] == ["snare", "click", "bell"]


def test_accents_and_ghosts_have_their_weights():
    """Each stroke has one of three strengths; a stroke that is both counts as an accent."""
    lane = rl.Lane("hand", [0, 2, 3, 5], accents=[0, 5], ghosts=[3, 5])
    assert lane_rows([lane], Mix())[0].weights.tolist() == [ACCENT, PLAIN, GHOST, ACCENT]
    c = rl.Cycle(6, [lane], beats=[2, 4])
    s = sound(c, rl.Tempo(60, ticks=2), start=1, stop=4)
    assert s.rows[0].weights.tolist() == [PLAIN, GHOST]
    assert s.rows[1].weights.tolist() == [FIRST_BEAT]  # the first beat of the cycle is on tick 2


def test_rows_at_zero_are_off():
    """Home at 0 and ticks at 0 are no rows; ticks above 0 sound on every tick of the slice."""
    assert [row.name for row in sound(rl.Polyrhythm(3, 2), TEMPO, mix=Mix(home=0)).rows] == ["3", "2"]
    rows = sound(rl.Polyrhythm(3, 2), TEMPO, start=1, stop=5, mix=Mix(home=0, ticks=0.2)).rows
    assert (rows[2].name, rows[2].sound, rows[2].ticks.tolist()) == ("grid ticks", "grid tick", [1, 2, 3, 4])


def test_a_lane_at_zero_is_silent_but_there():
    """Its onsets can still be asked for."""
    s = sound(rl.Polyrhythm(3, 2), TEMPO, cycles=1, mix=Mix(levels=[0, 0], home=0))
    assert len(s.onsets("3")) == 3
    assert not s.samples().any()


def test_a_mix_is_a_value():
    """Lists, tuples and arrays of the same numbers make equal mixes, which cannot be changed."""
    one = Mix(levels=[0.5, 1], sides=np.array([0, -1]), sounds=["bell", None])
    assert one == Mix(levels=(0.5, 1.0), sides=[0.0, -1.0], sounds=("bell", None))
    assert len({one, Mix(levels=[0.5, 1], sides=[0, -1], sounds=["bell", None])}) == 1
    assert (one.levels, one.sides, one.sounds) == ((0.5, 1.0), (0.0, -1.0), ("bell", None))
    with pytest.raises(FrozenInstanceError):
        one.home = 1


@pytest.mark.parametrize(
    ("given", "named", "wrong"),
    [
        ({"levels": [0.5, 1.01]}, "levels[1]=1.01", "from 0 to 1"),
        ({"levels": [-0.1]}, "levels[0]=-0.1", "from 0 to 1"),
        ({"levels": [True]}, "levels[0]=True", "from 0 to 1"),
        ({"levels": [None]}, "levels[0]=None", "from 0 to 1"),
        ({"levels": 0.5}, "levels=0.5", "not a list"),
        ({"sides": [0, float("nan")]}, "sides[1]=nan", "from -1 to 1"),
        ({"sides": "left"}, "sides='left'", "not a list"),
        ({"sounds": "bell"}, "sounds='bell'", "not a list"),
        ({"sounds": ["cowbell"]}, "sound='cowbell'", "the voices are high wood block"),
        ({"home": 2}, "home=2", "from 0, off, to 1"),
        ({"ticks": True}, "ticks=True", "from 0, off, to 1"),
        ({"count_in": "loud"}, "count_in='loud'", "from 0, off, to 1"),
    ],
)
def test_a_bad_mix_is_refused(given, named, wrong):
    """The message gives the entry, its range, and a mix that works."""
    example = refusal(lambda: Mix(**given), named, wrong)
    if example.startswith("Mix"):
        assert isinstance(works(example, Mix=Mix), Mix)


@pytest.mark.parametrize(
    "given", [{"levels": [0.5]}, {"sides": [0.0, 0.0, 0.0]}, {"sounds": ["bell"] * 3}, {"levels": []}]
)
def test_a_mix_has_one_entry_a_lane(given):
    """One too few or too many is refused where the mix meets the lanes, with lists of the right length."""
    name, values = next(iter(given.items()))
    wrong = f"{len(values)} entries for 2 lanes"
    example = refusal(
        lambda: sound(rl.Polyrhythm(7, 4), TEMPO, mix=Mix(**given)), f"{name}={values!r}", wrong
    )
    assert sound(rl.Polyrhythm(7, 4), TEMPO, mix=works(example, Mix=Mix))


def test_a_lane_with_a_sound_that_is_no_voice_is_refused():
    """The voices are listed."""
    c = rl.Cycle(4, [rl.Lane("pot", [0], sound="saucepan")], beats=[0])
    refusal(lambda: sound(c, rl.Tempo(60, ticks=1)), "sound='saucepan'", "closed hi-hat")


@pytest.mark.parametrize(
    ("feet", "levels", "home"),
    [
        ([0, 4, 8, 12], [0.6, 0.6], None),
        ([0, 2, 4, 8, 10, 12], [0.6, 0.6], None),
        ([0, 3, 6], [0.6, 0.6], "click"),
        ([0, 4, 8, 12], [0.6, 0], "bass drum"),
        ([], [0.6, 0.6], "click"),
    ],
)
def test_feet_and_the_home_beat_are_not_doubled(feet, levels, home):
    """Feet on the bass drum that play every beat are the home beat; where they play others it is a click."""
    lanes = [rl.Lane("hands", range(16), sound="snare"), rl.Lane("feet", feet, sound="bass drum")]
    made = sound(rl.Cycle(16, lanes, beats=[0, 4, 8, 12]), rl.Tempo(90, ticks=4), mix=Mix(levels=levels))
    assert [row.sound for row in made.rows if row.name == "home"] == [home] * (home is not None)
    on_beat = [row.name for row in made.rows if row.level and row.sound == "bass drum" and 4 in row.ticks]
    assert len(on_beat) <= 1


@cache
def stands(key: str, metre: str) -> bool:
    """Whether a ready pattern has its beats in a bar."""
    with suppress(ValueError):
        return bool(rl.pattern(key, metre=metre))
    return False


#: Metres, tempos, pairs and feet that fills are tried in: every beat, ready patterns, stickings, one stroke.
FILLS = [
    (metre, bpm, pair, feet, crash)
    for metre in ("4/4", "3/4", "5/4", "6/8", "2+2+3/8")
    for bpm in (40, 90, 140, 240)
    for pair in ((2, 3), (3, 4), (3, 2), (5, 4), (7, 4), (9, 4), (13, 8), (16, 15), (16, 4), (31, 8), (64, 8))
    for feet in (None, *ready_patterns(), "RLRL", "RLRRLRLL", "4 3 4 3 2", "xxxxxxxx", "x...............")
    for crash in (False, True)
    if feet not in ready_patterns() or stands(feet, metre)
]


#: Of these also those with the fewest and the most strokes.
ALWAYS = [
    ("4/4", 90, (7, 4), None, False),
    ("4/4", 40, (64, 8), None, True),
    ("4/4", 240, (2, 3), "hi_hat_two_four", True),
]


def in_decibels(samples: np.ndarray) -> tuple[float, float]:
    """Return the root mean square of both ears in decibels, as it is and A-weighted."""
    power = (np.abs(np.fft.rfft(samples.astype(float), axis=0)) ** 2).mean(axis=1) / len(samples) ** 2
    weighted = power * a_weight(np.fft.rfftfreq(len(samples), 1 / 48_000)) ** 2
    return tuple(float(10 * np.log10(2 * one.sum())) for one in (power, weighted))


@pytest.mark.parametrize(
    ("metre", "bpm", "pair", "feet", "crash"),
    some(FILLS, 60, "fills", [*ALWAYS]),
)
def test_a_fill_is_as_loud_as_the_groove(metre, bpm, pair, feet, crash):
    """Its bar is within 1.5 dB of a bar of time, as rendered, however many strokes it has.

    Measured is the root mean square of the bar, after the limiter, both ears together, the bars repeated: of
    the fill's bar, and of the second, where nothing is landed on.  By A-weighting it is no more than 1.5 dB
    louder and 4.5 softer.  The hands alone are within 2 dB, also where the feet differ from bar to bar.  Of a
    fill that no hands can play so fast that is said.
    """
    bar = rl.metre(metre).ticks
    home = (
        1 if feet is None or feet in ready_patterns() else (long := rl.pattern(feet).ticks) // gcd(long, bar)
    )
    bars = -(-4 // home) * home
    made = rl.playing.resolve(pair, metre, bars=bars, feet=feet, crash=crash)
    if made.fastest() < bpm:
        assert "oo fast" in made.describe(bpm)
        return
    feet = [lane.name for lane in made.lanes if "foot" in lane.limb]
    if len({lane_of_feet(made, nth) for nth in range(bars)}) == 1:
        time, fill = bars_of(made, bpm)
        assert abs(fill[0] - time[0]) < 1.5
        assert -4.5 < fill[1] - time[1] < 1.5
    time, fill = bars_of(made, bpm, Mix(levels=[0.6 * (n.name not in feet) for n in made.lanes], home=0))
    assert fill[0] - time[0] < 2
    if made.strokes >= len(made.metre.groups):  # fewer than one a beat are fewer
        assert fill[0] - time[0] > -2


def bars_of(made: Fill, bpm: int, mix: Mix | None = None) -> list[tuple[float, float]]:
    """Return how loud the second bar is, and the last, when it comes round again."""
    heard = sound(made, made.metre.tempo(bpm), cycles=2, mix=mix)
    bars = 2 * len(made.bars)
    samples, bar = heard.samples(), float(heard.seconds) * heard.rate / bars
    return [in_decibels(samples[int(nth * bar) : int((nth + 1) * bar)]) for nth in (bars // 2 + 1, bars - 1)]


def lane_of_feet(made: Fill, nth: int) -> tuple:
    """Return the strokes of the feet in a bar, from its first tick."""
    bar = made.ticks // len(made.bars)
    return tuple(
        (lane.name, tick - nth * bar)
        for lane in made.lanes
        if "foot" in lane.limb
        for tick in lane.onsets.tolist()
        if nth * bar <= tick < (nth + 1) * bar
    )


def test_only_the_strokes_of_a_fill_have_another_power():
    """Each has its share of the power of one stroke a beat, in sound and in MIDI; other lanes keep theirs."""
    made = rl.playing.resolve((16, 4), "4/4")
    rows = {row.name: row.weights for row in sound(made, made.metre.tempo(90)).rows}
    assert rows["fill"].tolist() == [PLAIN * 0.5] * 16
    assert set(rows["time"].tolist()) | set(rows["feet"].tolist()) == {PLAIN}
    assert rows["tom"].tolist() == [ACCENT]
    assert rl.playing.resolve((2, 3), "3/4").powers == (*(1,) * 4, Fraction(9, 8))
    assert 20 * log10(ACCENT / PLAIN) - 10 * log10(Fraction(9, 8)) > 8
    made = rl.playing.resolve((2, 3), "2+2+3/8")
    (time,) = [row for row in sound(made, made.metre.tempo(90)).rows if row.name == "time"]
    assert time.weights.max() == pytest.approx(PLAIN)
    assert time.weights.min() == pytest.approx(PLAIN * PLAIN / ACCENT)

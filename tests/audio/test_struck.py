"""How strokes differ: ghost, plain and accent in loudness and colour; variants, so that no two are alike."""

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.audio.cue import cue
from rhythmlab.audio.mix import Mix
from rhythmlab.audio.sound import MOST_A_SECOND, sound
from rhythmlab.audio.struck import ACCENT, FIRST_BEAT, GHOST, PLAIN, VARIANTS, struck, variants
from rhythmlab.audio.voices import KNEE, RATES, VOICES, voice
from tests.profile import LONG
from tests.strategies import TRIES

LEVELS = (GHOST, PLAIN, ACCENT)
each_voice = pytest.mark.parametrize("name", VOICES)
each_rate = pytest.mark.parametrize("rate", RATES)
#: Loudest sample of each voice before there were levels, at the strength of an accent then, 1.5.
PEAKS = {
    "high wood block": 0.441,
    "low wood block": 0.446,
    "bell": 0.282,
    "hand drum": 0.487,
    "bass drum": 0.654,
    "snare": 0.581,
    "closed hi-hat": 0.856,
    "click": 0.574,
}


def db(samples: np.ndarray) -> float:
    """Return the root mean square in decibels."""
    return float(10 * np.log10(np.mean(samples.astype(float) ** 2)))


def centroid(samples: np.ndarray, rate: int) -> float:
    """Return the middle of the power over frequency, in hertz, of the first 100 ms."""
    first = samples[: rate // 10].astype(float)
    power = np.abs(np.fft.rfft(first, 4 * len(first))) ** 2
    return float((np.fft.rfftfreq(4 * len(first), 1 / rate) * power).sum() / power.sum())


def lane(name: str, ticks: list[int], level: float) -> rl.Lane:
    """Return a lane of strokes that are all of one level."""
    marked = {ACCENT: {"accents": ticks}, GHOST: {"ghosts": ticks}, PLAIN: {}}[level]
    return rl.Lane("hand", ticks, sound=name, **marked)


@each_rate
@each_voice
def test_each_level_is_eight_decibels_above_the_next_and_brighter(name, rate):
    """Each plain stroke of a voice is 8 dB above each ghost and brighter; so is each accent above it."""
    rows = [[struck(name, rate, level, i) for i in range(len(VARIANTS))] for level in LEVELS]
    loud = [[db(np.pad(one, (0, rate))[: rate // 10]) for one in row] for row in rows]
    bright = [[centroid(one, rate) for one in row] for row in rows]
    for softer, harder in ((0, 1), (1, 2)):
        assert min(loud[harder]) >= max(loud[softer]) + 8
        assert min(bright[harder]) > 1.04 * max(bright[softer])
    assert max(np.ptp(row) for row in loud) < 1  # variants are the same level
    assert db(struck(name, rate, FIRST_BEAT)) == pytest.approx(db(struck(name, rate)) + 2.9, abs=0.1)


@each_voice
@each_rate
def test_a_stroke_is_as_clean_as_its_voice(name, rate):
    """It is as long, begins and ends at 0, is read-only, and no accent is louder at its peak than one was."""
    for level in LEVELS:
        for i in range(len(VARIANTS)):
            one = struck(name, rate, level, i)
            assert (one.dtype, len(one), one.flags.writeable) == (np.float32, len(voice(name, rate)), False)
            assert one[0] == 0
            assert abs(one[-1]) < 1e-6
            assert np.abs(one).max() <= 1.5 * PEAKS.get(name, 0.75)


@pytest.mark.parametrize("side", [-1, -0.35, 0])
@pytest.mark.parametrize("gap_ms", [100, 130, 500])
@each_voice
def test_the_levels_are_heard_in_a_mix(name, gap_ms, side):
    """From stroke to stroke in one lane, after the limiter, in both ears together and in each of them."""
    rate, ticks = 48_000, list(range(9))
    one = rl.Lane("hand", ticks, sound=name, accents=[0, 3, 7], ghosts=[2, 5, 8])
    mix = Mix(levels=[0.6], sides=[side], home=0)
    samples = sound(rl.Cycle(9, [one], beats=[0]), rl.Tempo(60_000 // gap_ms, ticks=1), mix=mix).samples()
    gap = rate * 60 // (60_000 // gap_ms)
    for heard in (samples[:, 0], samples.mean(axis=1)):
        loud = [db(heard[(9 + tick) * gap : (9 + tick) * gap + rate // 10]) for tick in ticks]
        hard, soft = [loud[i] for i in (0, 3, 7)], [loud[i] for i in (2, 5, 8)]
        plain = [loud[i] for i in (1, 4, 6)]
        assert min(hard) >= max(plain) + 8
        assert min(plain) >= max(soft) + 8


@pytest.mark.parametrize("a_second", (10, 16, 25, 40, 60) if LONG else (16, 60))
@each_voice
def test_the_levels_hold_at_every_density(name, a_second):
    """A stream of accents is 8 dB above one of plain strokes, and that above ghosts, up to 60 a second."""
    loud = [[db(stream[at : at + 4800]) for at in (0, 4800, 24_000)] for stream in streams(name, a_second)]
    for softer, harder in ((0, 1), (1, 2)):
        assert (np.subtract(loud[harder], loud[softer]) >= 8).all()


@pytest.mark.parametrize("a_second", [400, MOST_A_SECOND - 100])
@each_voice
def test_as_fast_as_can_be_a_row_is_not_limited(name, a_second):
    """Where hardly the first of each stroke is heard the three are still apart, and one row is never bent."""
    ghost, plain, accent = streams(name, a_second)
    assert db(accent) > db(plain) + 4
    assert db(plain) > db(ghost) + 4
    assert np.abs(accent).max() < KNEE


def streams(name: str, a_second: int) -> list[np.ndarray]:
    """Return a second of strokes of each level in mono, as loud as a lane is when nothing is said."""
    made = []
    for level in LEVELS:
        cycle = rl.Cycle(a_second, [lane(name, list(range(a_second)), level)], beats=[0])
        track = cue(cycle, rl.Tempo(60, ticks=a_second), cycles=1, count_in=0, mono=True, mix=Mix(home=0))
        made.append(track.samples())
    return made


@TRIES
@given(st.integers(1, 3000))
def test_neighbours_are_never_the_same_variant(count):
    """Round the cycle too, where there is more than one stroke; and the same from run to run."""
    made = variants(count)
    assert set(made.tolist()) <= {0, 1, 2}
    assert len(made) == count
    if count > 1:
        assert (made != np.roll(made, 1)).all()
    assert made.tolist() == variants(count).tolist()


def test_the_variants_of_a_roll_make_no_pattern():
    """In a long row no period up to 64 brings the same variants back: a roll is not heard in groups."""
    made = variants(4096)
    assert np.bincount(made).min() > 1000
    for period in range(1, 65):
        assert np.mean(made[period:] == made[:-period]) < 0.55


@pytest.mark.parametrize("count", [2, 3, 4, 7, 16])
@each_voice
def test_neighbouring_strokes_never_have_equal_samples(name, count):
    """In a file of 16 bits, at every level, also from the last stroke to the first of the next cycle."""
    for level in LEVELS:
        cycle = rl.Cycle(count, [lane(name, list(range(count)), level)], beats=[0])
        made = sound(cycle, rl.Tempo(80, ticks=1), cycles=2, mix=Mix(home=0))
        whole = np.rint(made.samples() * 32_768).astype(int)
        strokes = [whole[at : at + 480] for at in made.onsets(0).tolist()]
        assert not any(np.array_equal(one, other) for one, other in pairwise(strokes))


#: Limbs of a groove, and milliseconds from stroke to stroke of a hand, from an open roll (62 to 75 ms is
#: usual; common practice, no source).  The feet have what feet have: a bass drum or two, and a hi-hat.
LIMBS = ("right hand", "left hand", "right foot", "left foot")
REAL_MS = st.sampled_from([62, 70, 83, 100, 125, 167, 250])
KITS = st.tuples(
    *[st.sampled_from(VOICES)] * 2, st.just("bass drum"), st.sampled_from(["closed hi-hat", "bass drum"])
)


@st.composite
def grooves(draw: st.DrawFn, signs: str) -> tuple[rl.Cycle, rl.Tempo, list[str]]:
    """Draw twelve ticks of two hands on every tick, and two feet on every other; how hard each stroke is."""
    marks, lanes = [], []
    for i, voice_name in enumerate(draw(KITS)):
        ticks = range(0, 12, 1 if i < 2 else 2)
        levels = draw(st.text(signs, min_size=len(ticks), max_size=len(ticks)))
        marked = {
            level: [t for t, sign in zip(ticks, levels, strict=True) if sign == level] for level in "ag"
        }
        lanes.append(rl.Lane(LIMBS[i], ticks, LIMBS[i], voice_name, marked["a"], marked["g"]))
        marks.append(levels)
    return rl.Cycle(12, lanes, beats=[0]), rl.Tempo(Fraction(60_000, draw(REAL_MS)), ticks=1), marks


@TRIES
@given(grooves("apg"))
def test_the_levels_are_heard_where_two_hands_roll_and_two_feet_play(groove):
    """Each stroke of a lane that is a level above is 8 dB above, after the limiter, in all that sounds.

    What a stroke is heard as is what would be missing without its lane, over its first 100 ms or up to the
    next stroke of its limb.
    """
    cycle, tempo, marks = groove

    def heard(silent: int | None) -> np.ndarray:
        mix = Mix(levels=[0.6 * (i != silent) for i in range(4)], home=0)
        return sound(cycle, tempo, cycles=2, mix=mix).samples().astype(float)

    whole, places = heard(None), sound(cycle, tempo, cycles=2)
    for i, levels in enumerate(marks):
        missing = whole - np.pad(rest := heard(i), ((0, len(whole) - len(rest)), (0, 0)))
        at = places.onsets(i)[len(levels) :]
        long = min(4800, int(np.diff(at).min()))
        loud: dict[str, list[float]] = {"a": [], "p": [], "g": []}
        for sign, first in zip(levels, at.tolist(), strict=True):
            loud[sign].append(db(missing[first : first + long]))
        for harder, softer in ("ap", "pg"):
            if loud[harder] and loud[softer]:
                assert min(loud[harder]) >= max(loud[softer]) + 8, (cycle.lanes[i].sound, harder, softer)


@TRIES
@given(grooves("pg") | grooves("apg") | grooves("a"))
def test_no_groove_of_four_limbs_clips(groove):
    """Plain and ghost strokes leave the limiter alone; accents may reach it, and stay below full scale."""
    cycle, tempo, marks = groove
    peak = np.abs(sound(cycle, tempo, cycles=2).samples()).max()
    assert peak < 0.9501
    if not any("a" in levels for levels in marks):
        assert peak < KNEE

"""Sound against a plain mixer: each stroke on its exact sample, at its level and side; whole or in blocks."""

import subprocess
import sys
import wave
from decimal import Decimal
from fractions import Fraction
from math import floor

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.audio.sound import Mix, Sound, sound
from rhythmlab.audio.struck import FIRST_BEAT, PLAIN, struck, variants
from rhythmlab.audio.voices import RATES, VOICES, limit, voice
from tests.strategies import TRIES, bpms, cycles, pairs, windows

SEVEN_FOUR = rl.Polyrhythm(7, 4)
TEMPO = rl.Tempo(72, pulse=1)
QUIET = Mix(home=0)


def exact(s: Sound, row: object) -> list[Fraction]:
    """Return the exact places of a row's strokes in samples, stroke by stroke."""
    span, per_tick = s.stop - s.start, s.tick_seconds * s.rate
    turns = range(1 if row.once else s.cycles)
    return [(s.lead + turn * span + int(tick) - s.start) * per_tick for turn in turns for tick in row.ticks]


def plainly_mixed(s: Sound) -> np.ndarray:
    """Mix a sound the slow way: stroke by stroke in float64, with cos and sin and the limiter at the end.

    Each stroke fades from where the next of its row begins, within 2 ms or as long as the two are apart.
    """
    out = np.zeros((s.frames, 2))
    for row in s.rows:
        angle = (row.side + 1) * np.pi / 4
        places = [floor(place + Fraction(1, 2)) for place in exact(s, row)]
        for n, at in enumerate(places):
            i = n % len(row.ticks)
            variant = int(variants(len(row.ticks))[i])
            stroke = struck(row.sound, s.rate, float(row.weights[i]), variant).astype(float)
            if row.level and n + 1 < len(places):
                gap = places[n + 1] - at
                fade = max(1, min(gap, round(s.rate / 500)))
                stroke = stroke * np.clip(1 - (np.arange(len(stroke)) - gap) / fade, 0, 1)
            gains = [np.cos(angle), np.sin(angle)]
            out[at : at + len(stroke)] += stroke[: len(out) - at, None] * row.level * gains
    return limit(out)


def beat_of(what: rl.Polyrhythm | rl.Cycle) -> int:
    """Return about how many ticks a beat of home has; never less than on average."""
    beats = what.pulses[-1] if isinstance(what, rl.Polyrhythm) else len(what.beats)
    return -(-what.ticks // max(1, beats))


@st.composite
def sounds(draw: st.DrawFn) -> Sound:
    """Draw a short sound: pairs and uneven cycles, sliced, counted in, loud and quiet."""
    what, start, stop = draw(windows(st.one_of(pairs, cycles())))
    if start == stop:
        start, stop = 0, what.ticks
    lanes = len(what.pulses if isinstance(what, rl.Polyrhythm) else what.lanes)
    level, many = st.floats(0, 1), {"min_size": lanes, "max_size": lanes}
    mix = Mix(
        levels=draw(st.none() | st.lists(level, **many)),
        sides=draw(st.none() | st.lists(st.floats(-1, 1), **many)),
        sounds=draw(st.none() | st.lists(st.none() | st.sampled_from(VOICES), **many)),
        home=draw(level),
        ticks=draw(level),
    )
    beat = beat_of(what)
    tick_ms = max(draw(st.integers(7, 60)), -(-130 // beat))
    count_in = draw(st.integers(0, 3)) if what.ticks < 200 else 0
    return sound(
        what,
        rl.Tempo(Fraction(60_000, tick_ms * beat) + Fraction(1, 7), ticks=beat),
        cycles=draw(st.integers(1, 3)),
        start=start,
        stop=min(stop, start + 60),
        count_in=count_in,
        mix=mix,
        rate=draw(st.sampled_from(RATES)),
    )


@TRIES
@given(sounds())
def test_a_sound_is_what_a_plain_mixer_makes(s):
    """Levels, sides, weights, count-in and limiter are those of a mixer written for the test."""
    samples = s.samples()
    assert samples.dtype == np.float32
    assert samples.shape == (s.frames, 2)
    assert np.abs(samples - plainly_mixed(s)).max(initial=0) < 2e-6


@TRIES
@given(sounds(), st.integers(1, 200_000))
def test_blocks_of_any_size_are_the_samples(s, size):
    """Joined they are the same bits, and no block but the last is short."""
    blocks = list(s.blocks(max(size, s.frames // 500 + 1)))
    assert all(len(block) == len(blocks[0]) for block in blocks[:-1])
    assert np.concatenate(blocks).tobytes() == s.samples().tobytes()


def test_small_blocks_of_a_loud_sound_are_the_samples():
    """Blocks of 7 samples, most of them limited, are the same bits."""
    lanes = [rl.Lane(name, [0, 2, 4], sound=name, accents=[0, 2, 4]) for name in ("snare", "bass drum")]
    mix = Mix(levels=[1, 1], sides=[0, 0])
    s = sound(rl.Cycle(6, lanes, beats=[0]), rl.Tempo(400, ticks=3), cycles=1, mix=mix)
    assert np.abs(s.samples()).max() > 0.7
    assert np.concatenate(list(s.blocks(7))).tobytes() == s.samples().tobytes()


@TRIES
@given(
    windows(st.one_of(pairs, cycles())), bpms, st.integers(1, 4), st.integers(0, 4), st.sampled_from(RATES)
)
def test_every_stroke_is_on_its_exact_sample(drawn, bpm, times, count_in, rate):
    """Each onset is floor(exact time * rate + 1/2), by fractions, in every row, slice and cycle."""
    what, start, stop = drawn
    if start == stop:
        start, stop = 0, what.ticks
    slice_ = {"start": start, "stop": stop}
    tempo = rl.Tempo(bpm, ticks=beat_of(what))
    s = sound(what, tempo, cycles=times, count_in=count_in, rate=rate, **slice_)
    assert s.seconds == s.tick_seconds * (s.lead + times * (stop - start))
    for i, row in enumerate(s.rows):
        onsets = s.onsets(i)
        places = exact(s, row)
        assert onsets.dtype == np.int64
        assert onsets.tolist() == [floor(place + Fraction(1, 2)) for place in places]
        assert all(
            abs(at - place) <= Fraction(1, 2) for at, place in zip(onsets.tolist(), places, strict=True)
        )


def test_a_tempo_of_many_digits_is_reckoned_in_python_numbers():
    """Where 64 bits do not hold the products the onsets are still exact, hours into the sound."""
    tempo = rl.Tempo(Decimal("71.3000000000000000000000001"), pulse=1)
    s = sound(SEVEN_FOUR, tempo, cycles=5000)
    assert s.seconds > 16_000
    places = exact(s, s.rows[0])
    assert s.onsets("7").tolist() == [floor(place + Fraction(1, 2)) for place in places]
    last = s._block(s.frames - 20_000, 20_000)
    assert np.array_equal(
        last,
        sound(SEVEN_FOUR, rl.Tempo(Decimal("71.3"), pulse=1), cycles=5000)._block(s.frames - 20_000, 20_000),
    )


def test_a_slice_of_a_cycle_too_long_to_hold():
    """A window in the middle of 1 000 000 007 : 1 000 000 006 sounds, each stroke on its sample."""
    p = rl.Polyrhythm(1_000_000_007, 1_000_000_006)
    start = p.ticks // 2
    s = sound(p, rl.Tempo(100, pulse=1), start=start, stop=start + 4 * p.step(1), cycles=2, count_in=2)
    assert s.onsets("home").tolist() == s.onsets("1000000006").tolist()
    for i, row in enumerate(s.rows):
        assert s.onsets(i).tolist() == [floor(place + Fraction(1, 2)) for place in exact(s, row)]
    assert np.abs(s.samples() - plainly_mixed(s)).max() < 2e-6


def test_ten_thousand_strokes_are_found_where_they_belong(tmp_path):
    """At 71.3 bpm each stroke read back from the file begins within half a sample of its exact time."""
    beat = rl.Cycle(1, [rl.Lane("line", [0], sound="grid tick")], beats=[])
    s = sound(beat, rl.Tempo(71.3, ticks=32), cycles=10_000, mix=Mix(levels=[1], sides=[-1]))
    read, rate = soundfile.read(s.write(tmp_path / "long.wav"), dtype="int16")
    left, shape = read[:, 0], np.rint(struck("grid tick", rate) * 32768).astype(np.int16)
    assert not read[:, 1].any()
    loud = np.flatnonzero(left)
    begins = loud[np.diff(loud, prepend=-1000) > 240] - np.flatnonzero(shape)[0]
    assert len(begins) == 10_000
    errors = [at - Fraction(n) * rate * 600 * 10 / (713 * 32 * 10) for n, at in enumerate(begins.tolist())]
    assert max(map(abs, errors)) <= Fraction(1, 2)
    assert max(errors) > Fraction(49, 100)  # the tempo is awkward indeed
    assert (left[begins[:, None] + np.arange(len(shape))] == shape).all()


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("bits", [16, 24])
def test_a_file_reads_back_as_the_samples(tmp_path, rate, bits):
    """Both soundfile and the standard library find the rate, two channels and the rounded samples."""
    s = sound(SEVEN_FOUR, TEMPO, cycles=2, count_in=4, rate=rate)
    path = s.write(tmp_path / "seven four.WAV", bits=bits)
    whole = np.rint(s.samples().astype(float) * 2 ** (bits - 1)).astype(np.int64)
    info = soundfile.info(path)
    assert (info.samplerate, info.channels, info.subtype) == (rate, 2, f"PCM_{bits}")
    read, _ = soundfile.read(path, dtype="int32")
    assert np.array_equal(read >> (32 - bits), whole)
    with wave.open(str(path)) as file:
        assert file.getparams()[:4] == (2, bits // 8, rate, s.frames)
        raw = np.frombuffer(file.readframes(s.frames), np.uint8).reshape(-1, bits // 8)
    padded = np.zeros((len(raw), 4), np.uint8)
    padded[:, 4 - bits // 8 :] = raw
    assert np.array_equal(padded.view("<i4").reshape(-1, 2) >> (32 - bits), whole)


def test_a_slice_plays_the_strokes_of_the_whole():
    """With a tick of whole samples the slice is the same onsets, moved to its start, in both cycles."""
    tempo = rl.Tempo(Fraction(60 * 48_000, 1000), ticks=1)
    whole = sound(SEVEN_FOUR, tempo, cycles=1)
    part = sound(SEVEN_FOUR, tempo, cycles=2, start=5, stop=20)
    for row in ("7", "4", "home"):
        inside = [at - 5000 for at in whole.onsets(row).tolist() if 5000 <= at < 20_000]
        assert part.onsets(row).tolist() == inside + [at + 15_000 for at in inside]
    assert part.rows[2].weights.tolist() == [PLAIN, PLAIN]
    assert whole.rows[2].weights.tolist() == [FIRST_BEAT, PLAIN, PLAIN, PLAIN]


def test_two_lanes_are_the_sum_of_each():
    """Under the knee nothing but addition happens, also where strokes overlap."""
    lanes = [
        rl.Lane("bell", range(24), sound="bell", accents=range(24)),
        rl.Lane("drum", [0, 7, 8], sound="hand drum", accents=[0, 7]),
    ]
    tempo = rl.Tempo(700, ticks=2)  # a bell every 43 ms

    def mixed(levels: list[float]) -> np.ndarray:
        return sound(
            rl.Cycle(24, lanes, beats=[0]), tempo, cycles=2, mix=Mix(levels=levels, home=0)
        ).samples()

    both, bell, drum = mixed([0.9, 0.8]), mixed([0.9, 0]), mixed([0, 0.8])
    assert 0.3 < np.abs(both).max() < 0.7
    assert np.abs(both - (bell + drum)).max() < 1e-6
    assert bell[floor(48_000 * 60 / 1400 + 0.5)].all()  # where the second bell is at 0 the first still rings


def test_nothing_clips_with_everything_up():
    """All levels at 1, both lanes on one side, a stroke every few milliseconds: within 0.95, and bent."""
    lanes = [rl.Lane(name, range(16), sound=name, accents=range(16)) for name in VOICES]
    mix = Mix(levels=[1] * len(VOICES), sides=[-1] * len(VOICES), home=1, ticks=1, count_in=1)
    c = rl.Cycle(16, lanes, beats=[0])
    samples = sound(c, rl.Tempo(375, ticks=16), cycles=8, count_in=16, mix=mix).samples()
    assert 0.9 < np.abs(samples).max() <= 0.95
    assert np.abs(samples[[0, -1]]).max() < 1e-3


def test_it_begins_and_ends_in_silence():
    """The first and the last sample are 0, and the file is as long as the last voice rings, or the cycle."""
    s = sound(SEVEN_FOUR, TEMPO, cycles=1)
    assert not s.samples()[[0, -1]].any()
    assert s.seconds == Fraction(10, 3)
    assert s.frames == 160_000
    late = rl.Cycle(4, [rl.Lane("bell", [3], sound="bell")], beats=[])
    rings = sound(late, rl.Tempo(600, ticks=1), cycles=1)
    assert rings.frames == 3 * 4800 + len(voice("bell")) > rings.seconds * 48_000
    assert not rings.samples()[-1].any()


def test_a_silent_cycle_is_silence():
    """No lane and no beat give the seconds of the cycle, all zero; the title says so."""
    s = sound(rl.Cycle(8, [], beats=[]), rl.Tempo(120, ticks=2), cycles=3)
    assert s.samples().shape == (6 * 48_000, 2)
    assert not s.samples().any()
    assert s.text == "Rests at 120 bpm, 3 cycles, 6 seconds: silence."


def test_the_count_in_comes_before():
    """Four home beats stand before the cycle, the first of them accented, and are played once."""
    s = sound(SEVEN_FOUR, TEMPO, count_in=4)
    count_in = s.rows[-1]
    assert (count_in.name, count_in.sound, count_in.level, count_in.once) == ("count-in", "click", 0.5, True)
    assert count_in.ticks.tolist() == [-28, -21, -14, -7]
    assert count_in.weights.tolist() == [FIRST_BEAT, PLAIN, PLAIN, PLAIN]
    assert s.onsets("count-in").tolist() == [0, 40_000, 80_000, 120_000]
    assert s.onsets("4")[0] == s.onsets("7")[0] == 160_000
    assert s.seconds == 5 * Fraction(10, 3)


@pytest.mark.parametrize(
    ("where", "beat"),
    [
        ({}, 3),
        ({"start": 3}, 2),
        ({"start": 4, "stop": 6}, 5),
        ({"start": 6, "stop": 7}, 3),
        ({"start": 5}, 5),
    ],
)
def test_the_count_in_has_the_first_beat_of_the_slice(where, beat):
    """Of beats grouped 3 2 5 it is the first that begins in the slice, or else the first of the cycle."""
    c = rl.Cycle(10, [rl.Lane("bell", [0])], beats=[0, 3, 5])
    assert sound(c, rl.Tempo(120, ticks=2), count_in=2, **where).lead == 2 * beat


def test_without_beats_the_count_in_has_the_beat_of_the_tempo():
    """Two ticks to a beat, where the cycle counts none."""
    assert sound(rl.Cycle(8, [], beats=[]), rl.Tempo(120, ticks=2), count_in=3).lead == 6


def test_home_moves_with_its_index():
    """The last pulse is home, or the one that is named; the other rows stay."""
    assert sound(SEVEN_FOUR, TEMPO).rows[2].ticks.tolist() == [0, 7, 14, 21]
    moved = sound(SEVEN_FOUR, TEMPO, home=0)
    assert moved.rows[2].ticks.tolist() == [0, 4, 8, 12, 16, 20, 24]
    assert moved.text.startswith("7 against 4 at 126 bpm of the 7, 4 cycles, 13.3 seconds")
    assert moved.tick_seconds == sound(SEVEN_FOUR, TEMPO).tick_seconds


def test_a_polyrhythm_sounds_as_its_cycle():
    """`p` and `p.cycle()` give the same samples."""
    one, other = (sound(what, TEMPO, cycles=1, count_in=1) for what in (SEVEN_FOUR, SEVEN_FOUR.cycle()))
    assert one.samples().tobytes() == other.samples().tobytes()
    assert other.text.startswith("7 against 4 at 72 bpm, 1 cycle, 4.2 seconds: 7 on high wood block")


@pytest.mark.parametrize(
    ("row", "index"), [("7", 0), ("4", 1), ("home", 2), ("grid ticks", 3), ("count-in", 4)]
)
def test_rows_are_found_by_name_and_by_index(row, index):
    """Lanes come first, then home, grid ticks, count-in."""
    s = sound(SEVEN_FOUR, TEMPO, cycles=1, count_in=2, mix=Mix(ticks=0.3))
    assert s.onsets(row).tolist() == s.onsets(index).tolist() != []
    assert len(s.rows) == 5


def test_the_notebook_waits_until_it_is_needed():
    """Making and writing sound loads no IPython, matplotlib or widgets."""
    code = (
        "import sys, rhythmlab as rl; from rhythmlab.audio.sound import sound;"
        "sound(rl.Polyrhythm(3, 2), rl.Tempo(60, pulse=1))._repr_html_();"
        "print({'IPython', 'matplotlib', 'ipywidgets', 'anywidget'} & set(sys.modules))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "set()"


def test_a_sound_is_the_same_every_time():
    """Two sounds made alike have the same bits."""
    one, other = (sound(SEVEN_FOUR, TEMPO, mix=Mix(ticks=0.2)).samples() for _ in "ab")
    assert one.tobytes() == other.tobytes()

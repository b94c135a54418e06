"""The voices: short, clean, equally loud, told apart, and the same in 16 bits; the pan and the limiter."""

import subprocess
import sys
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmlab.audio.struck import PLAIN, struck
from rhythmlab.audio.voices import (
    RATES,
    SOFT,
    VOICES,
    _made,
    a_weight,
    limit,
    loudness,
    pan,
    voice,
    voice_int16,
)
from tests.refusals import refusal, works
from tests.strategies import TRIES

LONGEST_MS = {
    "high wood block": 90,
    "low wood block": 90,
    "bell": 320,
    "hand drum": 200,
    "bass drum": 220,
    "snare": 150,
    "high tom": 180,
    "floor tom": 260,
    "closed hi-hat": 60,
    "ride": 360,
    "crash": 600,
    "click": 25,
    "grid tick": 10,
}
each_voice = pytest.mark.parametrize("name", VOICES)
each_rate = pytest.mark.parametrize("rate", RATES)


def power(samples: np.ndarray, rate: int) -> tuple[np.ndarray, np.ndarray]:
    """Return the frequencies in hertz and the power at each."""
    return np.fft.rfftfreq(len(samples), 1 / rate), np.abs(np.fft.rfft(samples.astype(float))) ** 2


def centroid(samples: np.ndarray, rate: int) -> float:
    """Return the middle of the power over frequency, in hertz."""
    hz, strength = power(samples, rate)
    return float((hz * strength).sum() / strength.sum())


def flatness(samples: np.ndarray, rate: int) -> float:
    """Return the geometric over the arithmetic mean of the power up to 16 kHz: near 0 for tones."""
    hz, strength = power(samples, rate)
    heard = strength[(hz > 100) & (hz < 16_000)] + 1e-30
    return float(np.exp(np.log(heard).mean()) / heard.mean())


def test_the_voices_are_these():
    """Their names are the contract with the lanes and with the browser."""
    assert set(LONGEST_MS) == set(VOICES)
    assert len(VOICES) == 13


@each_rate
@each_voice
def test_a_voice_is_short_and_clean(name, rate):
    """It is mono, read-only, no longer than its limit, below 0.9, and begins and ends at exactly 0."""
    samples = voice(name, rate)
    assert (samples.dtype, samples.ndim) == (np.float32, 1)
    assert not samples.flags.writeable
    assert len(samples) <= LONGEST_MS[name] * rate / 1000
    assert 0.1 < np.abs(samples).max() <= 0.9
    assert samples[0] == samples[-1] == 0
    assert np.abs(samples[-rate // 1000 :]).max() < 0.01 * np.abs(samples).max()
    assert np.abs(np.diff(samples[-rate // 200 :])).max() < 0.03  # no step in the fade


@each_rate
@each_voice
def test_a_voice_is_loud_within_two_milliseconds(name, rate):
    """At 2 ms at least half its peak has sounded, and the first sample after 0 comes within 4 samples."""
    samples = np.abs(voice(name, rate))
    assert samples[: rate // 500].max() >= 0.5 * samples.max()
    assert 1 <= np.flatnonzero(samples)[0] <= 4


@each_rate
@each_voice
def test_sixteen_bits_carry_a_voice_exactly(name, rate):
    """Its samples are whole multiples of 1/32768, so the int16 form is the same sound."""
    whole = voice_int16(name, rate)
    assert whole.dtype == np.int16
    assert np.array_equal(whole / 32768, voice(name, rate).astype(float))
    assert not np.signbit(voice(name, rate)[whole == 0]).any()


@each_voice
def test_a_voice_is_the_same_every_time(name):
    """Made anew, and made in another Python, the samples are the same bits."""
    before = voice(name).tobytes()
    assert voice(name) is voice(name)
    _made.cache_clear()
    assert voice(name).tobytes() == before


def test_another_python_makes_the_same_voices():
    """The noise is seeded: a fresh interpreter gives the same checksum."""
    code = (
        "import zlib; from rhythmlab.audio.voices import *; "
        "print(zlib.crc32(b''.join(voice(n, r).tobytes() for n in VOICES for r in RATES)))"
    )
    sums = [
        subprocess.run([sys.executable, "-c", code], capture_output=True, check=True).stdout for _ in "ab"
    ]
    assert sums[0] == sums[1] != b""


@each_rate
def test_any_two_voices_are_told_apart_by_pitch_and_length(rate):
    """The middle of the spectrum differs by 20 % at least, and the length by 8 %."""
    for one, other in combinations(VOICES, 2):
        centres = sorted(centroid(voice(name, rate), rate) for name in (one, other))
        assert centres[1] > 1.2 * centres[0], (one, other)
        lengths = sorted(len(voice(name, rate)) for name in (one, other))
        assert lengths[1] > 1.08 * lengths[0], (one, other)


def test_noises_are_noise_and_tones_are_tones():
    """The snare and the cymbals have a flatter spectrum than every other voice."""
    flat = {name: flatness(voice(name), 48_000) for name in VOICES}
    noisy = {"snare", "closed hi-hat", "ride", "crash"}
    assert min(flat[name] for name in noisy) > 2 * max(flat[name] for name in set(VOICES) - noisy)


@pytest.mark.parametrize("name", ["bass drum", "hand drum", "high tom", "floor tom"])
def test_the_drums_fall_in_pitch(name):
    """Zero crossings are wider apart later on."""
    samples = voice(name)[48:]
    crossings = np.flatnonzero(np.diff(np.signbit(samples[: 48 * 100])))
    early, late = np.diff(crossings)[2:5].mean(), np.diff(crossings)[-3:].mean()
    assert late > 1.3 * early


def test_the_wood_blocks_have_two_partials_out_of_tune():
    """The two strongest peaks of each are 1.4 to 1.7 times apart, and so are the two blocks."""
    lowest = []
    for name in ("high wood block", "low wood block"):
        hz, strength = power(voice(name), 48_000)
        first = strength.argmax()
        rest = np.where((hz > 1.3 * hz[first]) & (hz < 2.5 * hz[first]), strength, 0)
        assert 1.4 < hz[rest.argmax()] / hz[first] < 1.7
        lowest.append(hz[first])
    assert 1.45 < lowest[0] / lowest[1] < 1.7


@pytest.mark.parametrize("name", ["bass drum", "floor tom", "high tom", "hand drum", "snare"])
def test_a_laptop_plays_the_drums(name):
    """Through a high-pass at 150 Hz, as small loudspeakers are, most is left, and not only the first click.

    The model: 24 dB an octave (fourth order); that laptops give little below 150 Hz is common practice.
    """
    for one in (voice(name), *(struck(name, 48_000, PLAIN, variant) for variant in range(3))):
        spectrum, hz = np.fft.rfft(one.astype(float), 96_000), np.fft.rfftfreq(96_000, 1 / 48_000)
        small = np.fft.irfft(spectrum / np.sqrt(1 + (150 / np.maximum(hz, 1e-9)) ** 8), 96_000)[: len(one)]
        assert (small**2).sum() > 0.4 * (one.astype(float) ** 2).sum()  # 4 dB below at most
        assert (small[480:] ** 2).sum() > 0.35 * (small**2).sum()  # after the first 10 ms
        assert loudness(small, 48_000) > 0.8 * loudness(one, 48_000)  # 2 dB below at most


@each_rate
def test_the_voices_are_equally_loud(rate):
    """The A-weighted energy of the first 50 ms is the same within 1 %, the grid tick's 8 dB below."""
    loud = {name: loudness(voice(name, rate), rate) for name in VOICES}
    tick = loud.pop("grid tick")
    assert max(loud.values()) < 1.005 * min(loud.values())
    assert tick == pytest.approx(SOFT * loud["click"], rel=0.01)


@pytest.mark.parametrize(
    ("hz", "db"),
    [
        (31.5, -39.4),
        (63, -26.2),
        (125, -16.1),
        (250, -8.6),
        (500, -3.2),
        (1000, 0.0),
        (2000, 1.2),
        (4000, 1.0),
        (8000, -1.1),
        (16_000, -6.6),
    ],
)
def test_the_weighting_is_the_standard_one(hz, db):
    """IEC 61672-1:2013, table of the A-weighting at nominal frequencies (from memory), within 0.15 dB."""
    exact = 1000 * 10 ** (round(10 * np.log10(hz / 1000)) / 10)
    assert 20 * np.log10(a_weight(np.array([exact]))[0]) == pytest.approx(db, abs=0.15)


def test_the_loudness_of_a_known_sine():
    """A sine of 1000 Hz has the power 1/2, so 50 ms of it have the root of 0.025."""
    t = np.arange(48_000) / 48_000
    assert loudness(np.sin(2000 * np.pi * t), 48_000) == pytest.approx(np.sqrt(0.025), rel=0.01)


@TRIES
@given(st.floats(-1, 1))
def test_the_pan_has_equal_power_everywhere(side):
    """left**2 + right**2 is 1, the gains are cos and sin, and the other side mirrors them."""
    left, right = pan(side)
    assert left**2 + right**2 == pytest.approx(1)
    assert (left, right) == pytest.approx(pan(-side)[::-1])
    assert np.arctan2(right, left) == pytest.approx((side + 1) * np.pi / 4)


def test_the_ends_and_the_middle_of_the_pan():
    """Hard left is all left, the middle is 3 dB down on both sides (Web Audio API 1.0, StereoPannerNode)."""
    assert pan(-1) == (1.0, 0.0)
    assert pan(0) == pytest.approx((0.5**0.5, 0.5**0.5))
    assert pan(1) == pytest.approx((0.0, 1.0))


@TRIES
@given(st.floats(-1e6, 1e6))
def test_the_limiter_is_odd_and_never_goes_beyond(x):
    """Up to 0.7 nothing changes; above, the sign stays and 0.95 is never passed."""
    y = float(limit(x))
    assert y == x if abs(x) <= 0.7 else 0.7 < abs(y) <= 0.95
    assert y * x >= 0
    assert float(limit(-x)) == -y


def test_the_limiter_is_smooth_and_rising():
    """It goes on from the knee with slope 1, rises everywhere up to 2, and is the formula beyond it."""
    x = np.linspace(0, 2, 20_001)
    y = limit(x)
    assert (np.diff(y) > 0).all()
    assert np.abs(np.diff(y, 2)).max() < 1e-7
    assert y[x > 0.7] == pytest.approx(0.7 + 0.25 * np.tanh((x[x > 0.7] - 0.7) / 0.25))


def test_the_limiter_leaves_what_it_is_given():
    """The input stays as it was, float32 stays float32 and below 0.95, and quiet samples keep their bits."""
    given_samples = np.array([[0.1, -0.7], [5.0, -50.0]], np.float32)
    kept = given_samples.copy()
    result = limit(given_samples)
    assert np.array_equal(given_samples, kept)
    assert result.dtype == np.float32
    assert result[0].tobytes() == kept[0].tobytes()
    assert np.abs(result).max() <= 0.95


@pytest.mark.parametrize("bad", ["cowbell", "", "Bell", None, 3, ["bell"]])
def test_a_voice_that_is_not_there_is_refused(bad):
    """The message gives the name and lists every voice."""
    example = refusal(lambda: voice(bad), f"sound={bad!r}", "not a voice")
    assert works(example).sounds == ("bell", "snare")
    for name in VOICES:
        refusal(lambda: voice_int16(bad), f"sound={bad!r}", name)


@pytest.mark.parametrize("bad", [22_050, 0, "48000", True, None])
def test_a_rate_that_is_not_there_is_refused(bad):
    """The message gives the rate and the two that there are."""
    refusal(lambda: voice("bell", bad), f"rate={bad!r}", "44100 or 48000")


@pytest.mark.parametrize("bad", [-1.01, 2, float("nan"), "left", None, True, [0], 10**400])
def test_a_side_outside_the_room_is_refused(bad):
    """The message gives the side and the two ends."""
    example = refusal(lambda: pan(bad), f"side={repr(bad)[:20]}", "from -1, left, to 1, right")
    assert works(example).sides[0] == -0.35

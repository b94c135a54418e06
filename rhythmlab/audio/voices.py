"""The sounds of the lanes, made from sines and seeded noise: no recordings.

A voice is mono, starts at 0, is loud within 2 ms and ends at exactly 0.
Its samples are whole multiples of 1/32768, so that 16-bit whole numbers carry it without loss.
"""

from collections.abc import Callable
from decimal import Decimal
from functools import lru_cache
from numbers import Real

import numpy as np
import numpy.typing as npt

from rhythmlab.core.check import short
from rhythmlab.core.types import Floats, Reals, Samples
from rhythmlab.refusal import Refusal

#: Sample rates, in hertz.
RATES = (44_100, 48_000)
#: Up to here the limiter changes nothing; above it bends, and never goes beyond KNEE + ROOM.
KNEE, ROOM = 0.7, 0.25
#: How loud all voices are: the root of the A-weighted energy of their first 50 ms, in roots of a second.
LOUDNESS = 0.02
#: Seconds that the loudness is measured over.
LOUDNESS_SECONDS = 0.05
#: The grid ticks are softer than the rest by this factor (8 dB).
SOFT = 0.4


def _rise(t: Floats, seconds: float) -> Floats:
    """Return a half cosine from 0 to 1."""
    return 0.5 - 0.5 * np.cos(np.pi * np.minimum(t / seconds, 1))


def _partials(t: Floats, *parts: tuple[float, float, float]) -> Floats:
    """Add damped partials, each given by hertz, strength and the seconds it takes to fall to 1/e."""
    return sum(
        (strength * np.sin(2 * np.pi * hz * t) * np.exp(-t / fall) for hz, strength, fall in parts),
        np.zeros_like(t),
    )


def _drop(t: Floats, high: float, low: float, bend: float, fall: float) -> Floats:
    """Return a tone whose pitch drops from `high` to `low` hertz within some `bend` seconds."""
    turns = low * t + (high - low) * bend * (1 - np.exp(-t / bend))
    return np.sin(2 * np.pi * turns) * np.exp(-t / fall)


def _noise(t: Floats, low: float, high: float, fall: float, seed: int) -> Floats:
    """Return damped noise between two frequencies in hertz, the same at every call."""
    rate = 1 / t[1]
    raw = np.random.PCG64(seed).random_raw(len(t))  # numpy keeps this stream the same in all versions
    spectrum = np.fft.rfft((raw >> np.uint64(11)) * 2.0**-52 - 1)
    hz = np.maximum(np.fft.rfftfreq(len(t), 1 / rate), 1e-9)
    spectrum /= np.sqrt((1 + (low / hz) ** 8) * (1 + (hz / high) ** 8))
    noise = np.fft.irfft(spectrum, len(t))
    damped: Floats = noise / np.sqrt(np.mean(noise**2)) * np.exp(-t / fall)
    return damped


def _wood(t: Floats, hz: float, over: float, fall: float, seed: int) -> Floats:
    """Return a wood block: two partials that are not in tune with each other, and the stick on the wood."""
    tone = _partials(t, (hz, 1.0, fall), (hz * over, 0.65, fall * 0.7))
    return tone + 0.42 * _noise(t, 2 * hz, 7 * hz, 0.0035, seed)


def _bell(t: Floats) -> Floats:
    parts = (1, 1.0, 0.085), (1.506, 0.65, 0.07), (2.34, 0.55, 0.05), (3.27, 0.45, 0.03), (4.61, 0.3, 0.015)
    return _partials(t, *((1370 * over, strength, fall) for over, strength, fall in parts))


def _hand_drum(t: Floats) -> Floats:
    skin = _drop(t, 420, 225, 0.02, 0.05) + 0.4 * _drop(t, 610, 358, 0.02, 0.025)  # 1.593: second mode
    return skin + 0.5 * _noise(t, 500, 2600, 0.006, 3)


def _tom(t: Floats, hz: float, fall: float, seed: int, second: float, stick: float) -> Floats:
    """Return a tom: two modes of its skin that drop a little, and the stick."""
    skin = _drop(t, 1.5 * hz, hz, 0.03, fall) + second * _drop(t, 2.4 * hz, 1.593 * hz, 0.03, 0.7 * fall)
    return skin + stick * _noise(t, 5 * hz, 20 * hz, 0.007, seed)


def _bass_drum(t: Floats) -> Floats:
    """Return a bass drum: a deep drop, its overtones for loudspeakers that have no depth, and the beater."""
    deep = _drop(t, 330, 62, 0.018, 0.05) + 0.8 * _drop(t, 520, 186, 0.02, 0.028)
    return deep + 0.4 * _drop(t, 700, 310, 0.02, 0.02) + 0.18 * _noise(t, 700, 3200, 0.006, 4)


def _snare(t: Floats) -> Floats:
    return _drop(t, 300, 190, 0.01, 0.03) + 0.55 * _noise(t, 1400, 9000, 0.035, 5)


def _hi_hat(t: Floats) -> Floats:
    return _noise(t, 6000, 15_000, 0.013, 6)


def _ride(t: Floats) -> Floats:
    """Return a ride cymbal: the tip on the metal, and a wash that stays under it."""
    parts = (1, 0.5, 0.06), (1.34, 0.45, 0.05), (1.79, 0.5, 0.05), (2.41, 0.4, 0.04)
    ping = _partials(t, *((2080 * over, strength, fall) for over, strength, fall in parts))
    return ping + 0.3 * _noise(t, 2500, 9000, 0.09, 8)


def _crash(t: Floats) -> Floats:
    return _noise(t, 2200, 10_000, 0.045, 9) + 0.35 * _noise(t, 2600, 9000, 0.19, 12)


def _click(t: Floats) -> Floats:
    return _partials(t, (2350, 1.0, 0.005), (5170, 0.8, 0.0035)) + 0.2 * _noise(t, 3000, 12_000, 0.001, 7)


def _grid_tick(t: Floats) -> Floats:
    return _partials(t, (3700, 1.0, 0.002), (8300, 0.85, 0.0012))


_MADE: dict[str, tuple[float, Callable[[Floats], Floats]]] = {
    "high wood block": (0.075, lambda t: _wood(t, 1180, 1.52, 0.014, 1)),
    "low wood block": (0.09, lambda t: _wood(t, 760, 1.58, 0.018, 2)),
    "bell": (0.31, _bell),
    "hand drum": (0.2, _hand_drum),
    "bass drum": (0.22, _bass_drum),
    "snare": (0.15, _snare),
    "high tom": (0.18, lambda t: _tom(t, 208, 0.038, 10, 1.0, 0.6)),
    "floor tom": (0.26, lambda t: _tom(t, 122, 0.06, 11, 0.6, 0.36)),
    "closed hi-hat": (0.06, _hi_hat),
    "ride": (0.36, _ride),
    "crash": (0.6, _crash),
    "click": (0.025, _click),
    "grid tick": (0.01, _grid_tick),
}
#: Names of all voices.
VOICES: tuple[str, ...] = tuple(_MADE)


def voice(name: str, rate: int = 48_000) -> Samples:
    """Return the samples of a voice.

    All voices are equally loud by the root of the A-weighted energy of their first 50 ms (`loudness`),
    but for the grid tick, which is softer.

    Parameters
    ----------
    name : str
        One of `VOICES`.
    rate : int
        Samples a second, 44 100 or 48 000.

    Returns
    -------
    numpy.ndarray
        float32, shape (n,), read-only, within -0.9 and 0.9; every sample a multiple of 1/32768.

    Raises
    ------
    ValueError
        If there is no such voice, or the rate is another.

    Examples
    --------
    >>> click = voice("click")
    >>> click.dtype, len(click), float(click[0]), float(click[-1])
    (dtype('float32'), 1200, 0.0, 0.0)
    """
    return _made(known(name), sample_rate(rate))


def voice_int16(name: str, rate: int = 48_000) -> npt.NDArray[np.int16]:
    """Return the samples of a voice as 16-bit whole numbers: 32768 times those of `voice`, exactly.

    Parameters
    ----------
    name : str
        One of `VOICES`.
    rate : int
        Samples a second, 44 100 or 48 000.

    Examples
    --------
    >>> bool((voice_int16("bell") / 32768 == voice("bell")).all())
    True
    """
    return (voice(name, rate) * 32768).astype(np.int16)


def known(name: object, example: str = 'Mix(sounds=["bell", "snare"])') -> str:
    """Return the name of a voice, or refuse what is none and name them all; the example is a call."""
    if not isinstance(name, str) or name not in _MADE:
        raise Refusal(
            f"sound={short(name)} is not a voice; the voices are {', '.join(VOICES)}",
            example,
            argument="sound",
        )
    return name


def sample_rate(rate: object) -> int:
    """Return a sample rate as an ``int``, or refuse one that is not in `RATES`."""
    if not isinstance(rate, Real) or isinstance(rate, bool) or rate not in RATES:
        raise Refusal(
            f"rate={short(rate)} is not a sample rate of the voices, 44100 or 48000 a second",
            "rate=48_000",
            argument="rate",
        )
    return int(float(rate))


@lru_cache
def _made(name: str, rate: int) -> Samples:
    seconds, recipe = _MADE[name]
    t = np.arange(int(seconds * rate)) / rate
    left = (t[-1] - t) / seconds  # a share of its length that is still to come; the last fifth fades to 0
    shape = recipe(t) * _rise(t, 0.001) * _rise(left, 0.2)
    level = LOUDNESS * (SOFT if name == "grid tick" else 1) / loudness(shape, rate)
    whole = np.rint(shape * level * 32768).astype(np.int16)  # no negative zeros
    samples = whole.astype(np.float32) / np.float32(32768)
    samples.flags.writeable = False
    return samples


def a_weight(hz: Reals) -> Floats:
    """Return the A-weighting, as a factor of the pressure at each frequency; 1 at 1000 Hz.

    Parameters
    ----------
    hz : numpy.ndarray
        Frequencies, in hertz.

    References
    ----------
    IEC 61672-1:2013, annex E (from memory; the tests compare it with the table of the standard).

    Examples
    --------
    >>> np.round(20 * np.log10(a_weight(np.array([100.0, 1000.0, 10_000.0]))), 1) + 0.0
    array([-19.1,   0. ,  -2.5])
    """
    squared = np.square(hz)
    poles = np.sqrt((squared + 107.7**2) * (squared + 737.9**2))
    weight = 12194**2 * squared**2 / ((squared + 20.6**2) * (squared + 12194**2) * poles)
    weighted: Floats = weight * 10**0.1
    return weighted


def loudness(samples: Reals, rate: int) -> float:
    """Measure how loud a stroke is: the root of the A-weighted energy of its first 50 ms.

    The ear gathers a short sound over some tens of milliseconds, and hears low pitches less; this is a
    rough measure for balancing strokes, not a model of loudness.

    Parameters
    ----------
    samples : numpy.ndarray
        Shape (n,), mono.
    rate : int
        Samples a second.

    Returns
    -------
    float
        In roots of a second: a 1000 Hz sine of peak 1 that lasts 50 ms or more has about 0.158.
    """
    count = int(rate * LOUDNESS_SECONDS)
    spectrum = np.fft.rfft(samples[:count], 4 * count) * a_weight(np.fft.rfftfreq(4 * count, 1 / rate))
    return float(np.sqrt(2 * np.sum(np.abs(spectrum) ** 2) / (4 * count) / rate))


def pan(side: float) -> tuple[float, float]:
    """Return the gains of the left and of the right loudspeaker, with equal power everywhere.

    Parameters
    ----------
    side : float
        From -1, left, over 0, the middle, to 1, right.

    Returns
    -------
    left, right : float
        cos and sin of (side + 1) * pi / 4, so that left**2 + right**2 is 1.

    Raises
    ------
    ValueError
        If the side is not a number from -1 to 1.

    References
    ----------
    W3C Web Audio API 1.0, StereoPannerNode algorithm for mono input.

    Examples
    --------
    >>> [round(gain, 3) for gain in pan(-0.35)]
    [0.872, 0.489]
    """
    if not between(side, -1, 1):
        raise Refusal(
            f"side={short(side)} is not a number from -1, left, to 1, right",
            "Mix(sides=[-0.35, 0.35])",
            argument="side",
        )
    angle = (float(side) + 1) * np.pi / 4
    return float(np.cos(angle)), float(np.sin(angle))


def between(value: object, low: float, high: float) -> bool:
    """Return whether a value is a plain number from `low` to `high`, both included."""
    try:
        if not isinstance(value, Real | Decimal) or isinstance(value, bool):
            return False
        return low <= float(value) <= high
    except (ValueError, OverflowError):  # a signalling NaN; too large for a float
        return False


def limit(samples: Reals | float) -> Reals:
    """Bend samples beyond 0.7 so that none is ever beyond 0.95; change nothing below that.

    Each sample is bent by itself, so it does not matter in which order or in which blocks.

    Parameters
    ----------
    samples : numpy.ndarray or float
        Any shape; not changed. float32 stays float32.

    Returns
    -------
    numpy.ndarray
        x where abs(x) <= 0.7, else sign(x) * (0.7 + 0.25 * tanh((abs(x) - 0.7) / 0.25)).

    Examples
    --------
    >>> limit(np.array([-0.7, 0.5, 0.8, 100.0])).round(3)
    array([-0.7  ,  0.5  ,  0.795,  0.95 ])
    """
    result = np.array(samples)
    if result.dtype.kind != "f":
        result = result.astype(np.float64)
    size = np.abs(result)
    loud = size > KNEE
    if loud.any():
        bent = KNEE + ROOM * np.tanh((size[loud] - KNEE) / ROOM)
        result[loud] = np.copysign(bent, result[loud])
    return result

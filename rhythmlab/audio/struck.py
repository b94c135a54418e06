"""One stroke of a voice, worked out from its one sample: how hard it is struck, and which variant it is.

Harder is louder and brighter. The browser's stage does the same (``struck.mjs``), number by number.
"""

from functools import lru_cache
from itertools import accumulate

import numpy as np

from rhythmlab.audio.voices import voice
from rhythmlab.core.types import Floats, Samples, Ticks

#: How strong strokes are, as a factor of the sample's level: each of the three is 9 dB or more above the
#: next, so that variants, neighbours and the limiter leave at least 8. The first of beats has 3 more.
ACCENT, PLAIN, GHOST = 1.3, 0.45, 0.135
FIRST_BEAT = 1.4 * PLAIN
#: Of each variant: a factor of its strength, and of the frequency up to which it is bright.
VARIANTS = ((1.0, 1.0), (0.97, 0.8), (0.945, 0.64))
#: An accent is bright up to this many times the middle frequency of its voice; weaker strokes up to less, by
#: this power of their strength.
BRIGHT, DULLING = 8.0, 1.6
#: Seconds over which the strength of a stroke is measured.
STRENGTH_SECONDS = 0.1
#: A stroke ends the one before it on its row, within so many seconds or as long as they are apart: so an
#: accent does not ring into the ghost stroke after it, and a roll does not grow louder than its strokes.
DAMPED_S = 0.002


def variants(count: int) -> Ticks:
    """Return the variant of each of the strokes of a row that comes round: no two neighbours have the same.

    They follow no short pattern, which would be heard as a rhythm: from stroke to stroke it is one variant on
    or two, as the number of the stroke in binary has an even or an odd count of ones beside ones (the
    Rudin-Shapiro sequence, which is as good as chance here).

    Parameters
    ----------
    count : int
        Strokes in the row.

    Returns
    -------
    numpy.ndarray
        int64, shape (count,), each 0, 1 or 2; the last also differs from the first.

    Examples
    --------
    >>> variants(8), variants(1)
    (array([0, 1, 2, 1, 2, 0, 2, 1]), array([0]))
    """
    ones = np.arange(count, dtype=np.int64)
    ones &= ones >> 1
    for half in (32, 16, 8, 4, 2, 1):
        ones ^= ones >> half
    made: Ticks = np.cumsum(1 + (ones & 1)) % 3
    made = (made - made[:1]) % 3
    if count > 2 and not made[-1]:
        made[-1] = 3 - made[-2]  # neither the first's nor the one before
    return made


@lru_cache(maxsize=256)
def struck(name: str, rate: int, strength: float = PLAIN, variant: int = 0) -> Samples:
    """Return the samples of one stroke of a voice.

    Parameters
    ----------
    name : str
        One of `rhythmlab.audio.voices.VOICES`.
    rate : int
        Samples a second, 44 100 or 48 000.
    strength : float
        How hard: `ACCENT`, `PLAIN`, `GHOST` or `FIRST_BEAT`. The root mean square of the first 100 ms is so
        many times that of the voice, less what the variant takes off: half a decibel at most.
    variant : int
        One of the `VARIANTS`, from 0.

    Returns
    -------
    numpy.ndarray
        float32, as long as the voice, read-only; begins and ends at 0.

    Examples
    --------
    >>> soft, hard = (struck("snare", 48_000, strength) for strength in (GHOST, ACCENT))
    >>> round(float(20 * np.log10(np.sqrt((hard[:4800] ** 2).sum() / (soft[:4800] ** 2).sum()))), 1)
    19.7
    """
    one = voice(name, rate).astype(np.float64)
    gain, bright = VARIANTS[variant]
    turns = np.sqrt(
        np.sum(np.diff(one) ** 2) / np.sum(one**2)
    )  # the middle of the spectrum, in radians a sample
    pole = 1 - np.exp(-turns * BRIGHT * bright * (max(strength, 0.01) / ACCENT) ** DULLING)
    dull = _smoothed(_smoothed(one, pole), pole)
    dull *= np.minimum((len(one) - 1 - np.arange(len(one))) / (0.1 * len(one)), 1)
    heard = int(rate * STRENGTH_SECONDS)
    level = np.sqrt(np.sum(one[:heard] ** 2) / np.sum(dull[:heard] ** 2))
    made: Samples = (dull * (strength * gain * level)).astype(np.float32)
    made.flags.writeable = False
    return made


def damped(shape: Samples, gap: int, fade: int) -> Samples:
    """Return a stroke that the next one, `gap` samples after it, ends within `fade` samples.

    Examples
    --------
    >>> damped(np.ones((9, 2), np.float32), 4, 2)[:, 0]
    array([1. , 1. , 1. , 1. , 1. , 0.5], dtype=float32)
    """
    if gap >= len(shape):
        return shape
    cut = shape[: gap + fade].copy()
    cut[gap:] *= (1 - np.arange(len(cut) - gap, dtype=np.float32) / max(fade, 1))[:, None]
    return cut


def _smoothed(samples: Floats, pole: float) -> Floats:
    """Return samples of which each is a share `pole` of the way from the last one made to the one given."""
    way = accumulate(samples.tolist(), lambda last, new: last + pole * (new - last), initial=0.0)
    return np.fromiter(way, np.float64)[1:]

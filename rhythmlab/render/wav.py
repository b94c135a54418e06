"""Stereo samples into WAV files, block by block."""

import wave
from collections.abc import Iterable
from numbers import Integral
from pathlib import Path
from typing import BinaryIO

import numpy as np

from rhythmlab.core.check import short
from rhythmlab.core.kinds import Samples
from rhythmlab.files import out, with_ending
from rhythmlab.refusal import Refusal

#: Bytes of sound that fit into a WAV file, whose header counts in 32 bits.
MOST_DATA = 2**32 - 64

_CALL = "sound((7, 4), 72).write({})"


def put(file: BinaryIO, blocks: Iterable[Samples], frames: int, rate: int, bits: int) -> None:
    """Write blocks of stereo samples as PCM, as they come.

    Parameters
    ----------
    file : binary file
        Open for writing.
    blocks : iterable of numpy.ndarray
        float32, shape (n, 2), inside -1 and 1; together `frames` long. They are overwritten.
    frames : int
        Samples of each channel.
    rate : int
        Samples a second.
    bits : int
        Bits a sample, 16 or 24; full scale is 2**(bits - 1).
    """
    scale = np.float32(2 ** (bits - 1))
    with wave.open(file, "wb") as made:
        made.setparams((2, bits // 8, rate, frames, "NONE", ""))
        for block in blocks:
            np.rint(np.multiply(block, scale, out=block), out=block)
            if bits == 16:
                made.writeframesraw(block.astype("<i2").data)
            else:
                made.writeframesraw(block.astype("<i4").view(np.uint8).reshape(-1, 4)[:, :3].tobytes())


def save(
    path: str | Path,
    blocks: Iterable[Samples],
    frames: int,
    rate: int,
    bits: int,
    *,
    replace: bool = False,
) -> Path:
    """Write a WAV file that appears under its name whole or not at all.

    Parameters
    ----------
    path : str or Path
        Where to, ending in ``.wav``; its folder must exist.
    blocks, frames, rate, bits
        As for `put`; the bits are 16 or 24.
    replace : bool
        Whether a file of that name may be replaced.

    Returns
    -------
    Path
        Where it was written.

    Raises
    ------
    ValueError, OSError
        As for `rhythmlab.files.out`, or if the name does not end in ``.wav``, or the bits are others.
    """
    path = with_ending(path, ".wav", call=_CALL)
    if isinstance(bits, bool) or not isinstance(bits, Integral) or bits not in (16, 24):
        call = _CALL.replace("{}", "{}, bits=16").format(repr(path.name))
        raise Refusal(f"bits={short(bits)} is neither 16 nor 24", call, argument="bits")
    with out(path, _CALL, replace=replace) as file:
        put(file, blocks, frames, rate, int(bits))
    return path

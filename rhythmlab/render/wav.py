"""Stereo samples into WAV files: block by block, whole or not at all, and never over another file."""

import os
import secrets
import wave
from collections.abc import Iterable
from itertools import count
from pathlib import Path
from typing import BinaryIO

import numpy as np

from rhythmlab.core.check import short

#: Bytes of sound that fit into a WAV file, whose header counts in 32 bits.
MOST_DATA = 2**32 - 64


def put(file: BinaryIO, blocks: Iterable[np.ndarray], frames: int, rate: int, bits: int) -> None:
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
    with wave.open(file, "wb") as out:
        out.setparams((2, bits // 8, rate, frames, "NONE", ""))
        for block in blocks:
            np.rint(np.multiply(block, scale, out=block), out=block)
            if bits == 16:
                out.writeframesraw(block.astype("<i2").data)
            else:
                out.writeframesraw(block.astype("<i4").view(np.uint8).reshape(-1, 4)[:, :3].tobytes())


def save(path: str | Path, blocks: Iterable[np.ndarray], frames: int, rate: int, bits: int) -> Path:
    """Write a WAV file that appears under its name whole or not at all.

    Parameters
    ----------
    path : str or Path
        Where to, ending in ``.wav``; its folder must exist.
    blocks, frames, rate, bits
        As for `put`.

    Returns
    -------
    Path
        Where it was written.

    Raises
    ------
    FileExistsError
        If there is a file of that name; it stays as it is.
    FileNotFoundError
        If there is no such folder.
    ValueError
        If the name does not end in ``.wav``, or the bits are others.
    """
    path = Path(path)
    if path.suffix.lower() != ".wav":
        instead = path.with_suffix(".wav").name if path.name else "sound.wav"
        raise ValueError(f"path={str(path)!r} does not end in .wav; for example write({instead!r})")
    if isinstance(bits, bool) or bits not in (16, 24):
        raise ValueError(
            f"bits={short(bits)} is neither 16 nor 24; for example write({path.name!r}, bits=16)"
        )
    if not path.parent.is_dir():
        raise FileNotFoundError(
            f"path={str(path)!r} is in a folder that is not there; make it first, or write into this "
            f"one; for example write({path.name!r})"
        )
    if os.path.lexists(path):
        raise _taken(path)
    part = path.with_name(f".{path.stem[:40]}.{secrets.token_hex(4)}.part")
    try:
        with part.open("xb") as file:
            put(file, blocks, frames, rate, int(bits))
        _name(part, path)
    finally:
        part.unlink(missing_ok=True)
    return path


def _name(part: Path, path: Path) -> None:
    """Give a finished file its name, unless another has come to bear it meanwhile."""
    try:
        os.link(part, path)  # unlike a renaming, this never replaces a file
    except FileExistsError:
        raise _taken(path) from None
    except OSError:  # a disk without links
        if os.path.lexists(path):
            raise _taken(path) from None
        part.rename(path)


def _taken(path: Path) -> FileExistsError:
    names = (f"{path.stem}-{number}{path.suffix}" for number in count(2))
    free = next(name for name in names if not path.with_name(name).exists())
    return FileExistsError(
        f"path={str(path)!r} is there already, and is not replaced; "
        f"take another name, for example write({str(path.with_name(free))!r})"
    )

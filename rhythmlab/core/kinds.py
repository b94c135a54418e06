"""Kinds of values, by name: arrays, and what prints in a cell."""

from typing import Protocol, TypeAlias

import numpy as np
import numpy.typing as npt

#: Ticks, places and other whole numbers.
Ticks: TypeAlias = npt.NDArray[np.int64]
#: Seconds, milliseconds, samples.
Floats: TypeAlias = npt.NDArray[np.float64]
#: Indices into a few names.
Codes: TypeAlias = npt.NDArray[np.int8]
#: Yes or no.
Flags: TypeAlias = npt.NDArray[np.bool_]


class Printer(Protocol):
    """What IPython gives a value that shows itself in a cell."""

    def text(self, text: str) -> None:
        """Take a text to be shown."""

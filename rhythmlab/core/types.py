"""Kinds of arrays and numbers, by name, for types."""

from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

#: A number that a caller gives; a float means the decimal that it prints as.
Number: TypeAlias = int | float | Fraction | Decimal
#: Ticks, places and other whole numbers.
Ticks: TypeAlias = npt.NDArray[np.int64]
#: Seconds, milliseconds, samples.
Floats: TypeAlias = npt.NDArray[np.float64]
#: Floats of either size.
Reals: TypeAlias = npt.NDArray[np.floating[Any]]
#: What is heard, as it is mixed.
Samples: TypeAlias = npt.NDArray[np.float32]
#: Indices into a few names.
Codes: TypeAlias = npt.NDArray[np.int8]
#: Yes or no.
Flags: TypeAlias = npt.NDArray[np.bool_]

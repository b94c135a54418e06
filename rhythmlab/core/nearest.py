"""The nearest whole number: how exact places become samples of a sound and ticks of a file."""

from typing import TypeVar

import numpy as np

Whole = TypeVar("Whole", int, np.ndarray)


def nearest(over: Whole, under: int) -> Whole:
    """Return the whole number nearest to a quotient of whole numbers; halfway, the larger one.

    Parameters
    ----------
    over : int or numpy.ndarray of int
        Twice of it, and `under` more, must fit into the type of an array.
    under : int
        More than 0.

    Examples
    --------
    >>> nearest(7, 2), nearest(-7, 2), nearest(np.array([1, 2, 3]), 4)
    (4, -3, array([0, 1, 1]))
    """
    return (2 * over + under) // (2 * under)

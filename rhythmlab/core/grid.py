"""Every pulse on the grid they share, printed as rows of ``x`` and ``.`` under a count line."""

from dataclasses import dataclass

import numpy as np

from rhythmlab.core.check import short, window
from rhythmlab.core.display import Printed
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm, polyrhythm_and_home
from rhythmlab.core.types import Flags
from rhythmlab.refusal import Refusal

#: Most cells that a printed grid may have.
MOST_CELLS = 100_000


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Grid(Printed):
    """Every pulse on the shared grid; prints as rows of ``x`` and ``.`` under a count line.

    Attributes
    ----------
    polyrhythm : Polyrhythm
        What is shown.
    rows : numpy.ndarray
        bool, shape (pulses, ticks in the window): where each pulse has a stroke.
    home : int
        Index of the pulse counted in the top line.
    start : int
        First tick shown.
    """

    polyrhythm: Polyrhythm
    rows: Flags
    home: int
    start: int

    def __str__(self) -> str:
        step = self.polyrhythm.step(self.home)
        width = self.rows.shape[1]
        beats = {
            tick - self.start: str(tick // step + 1)
            for tick in range(-(-self.start // step) * step, self.start + width, step)
        }
        cell = max(1, -(-(max(map(len, beats.values()), default=1) + 1) // step))
        names = ["count", *map(str, self.polyrhythm.pulses)]
        left = max(map(len, names))
        count = [" "] * (cell * width + left)
        for x, label in beats.items():
            count[x * cell : x * cell + len(label)] = label
        lines = [count, *([("x" if on else ".").ljust(cell) for on in row] for row in self.rows.tolist())]
        return "\n".join(
            f"{name:>{left}}  {''.join(line)}".rstrip() for name, line in zip(names, lines, strict=True)
        )

    _repr_pretty_ = Printed._repr_pretty_

    def __repr__(self) -> str:
        text = str(self)
        if len(text) <= 300:
            return text
        window = (
            f" {self.start} to {self.start + self.rows.shape[1]}"
            if self.rows.shape[1] < self.polyrhythm.ticks
            else ""
        )
        return f"Grid({self.polyrhythm}, {self.rows.shape[1]:,} ticks{window}; print it to see it)"

    def _key(self) -> tuple[object, ...]:
        return (self.polyrhythm, self.home, self.start, self.rows.shape, self.rows.tobytes())

    def __eq__(self, other: object) -> bool:
        return self._key() == other._key() if isinstance(other, Grid) else NotImplemented

    def __hash__(self) -> int:
        return hash(self._key())


@public("grid((7, 4))", p="what")
def grid(what: Rhythm, *, home: int | None = None, start: int | None = None, stop: int | None = None) -> Grid:
    """Lay every pulse on the grid they share.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        The pulses.
    home : int, optional
        Index of the pulse to count from; the last one when left out.
    start, stop : int, optional
        Window in ticks, half-open; the whole cycle when left out.

    Returns
    -------
    Grid
        Its ``rows`` are a bool array of shape (pulses, ticks).

    Raises
    ------
    ValueError
        If the grid would have more than 100 000 cells, or the window is outside the cycle.

    Examples
    --------
    >>> grid((7, 4))
    count  1      2      3      4
        7  x...x...x...x...x...x...x...
        4  x......x......x......x......
    """
    p, at = polyrhythm_and_home(what, home, "what", "grid((7, 4))")
    first, last = window(start, stop, p.ticks)
    cells = (last - first) * len(p.pulses)
    if cells > MOST_CELLS:
        raise Refusal(
            f"a grid of {short(p)} from tick {first} to {last} has {cells:,} cells, more "
            f"than {MOST_CELLS:,}; look through a window",
            f"grid({p}, start={first}, stop={first + min(1000, MOST_CELLS // len(p.pulses))})",
        )
    rows = np.zeros((len(p.pulses), last - first), dtype=bool)
    for row, pulse in zip(rows, range(len(p.pulses)), strict=True):
        row[p.onsets(pulse, start=first, stop=last) - first] = True
    rows.flags.writeable = False
    return Grid(p, rows, at, first)

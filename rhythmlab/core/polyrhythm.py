"""Even pulses that share one cycle, and the grid they all fall on.

A *tick* is one step of the grid: the least common multiple of the pulses gives the ticks in a cycle
(OEIS A051173, https://oeis.org/A051173).
Ticks are counted from 0, beats from 1.
Unless another pulse is named, the last one is *home*: "7 against 4" is counted from the 4.
"""

from dataclasses import dataclass, field
from math import gcd, lcm

import numpy as np

from rhythmlab.core import long_work
from rhythmlab.core.check import MOST_TICKS, few_enough, index, short, whole, window
from rhythmlab.core.cycle import Cycle, Lane, counted_as
from rhythmlab.core.display import InNotebook, line
from rhythmlab.core.public import public_class
from rhythmlab.core.types import Ticks
from rhythmlab.refusal import Refusal

#: Most pulses of a rhythm: far more than limbs or voices.
MOST_PULSES = 256


@public_class(
    "Polyrhythm(7, 4)",
    step="Polyrhythm(7, 4).step(0)",
    meet="Polyrhythm(6, 4).meet(0, 1)",
    onsets="Polyrhythm(7, 4).onsets(0)",
    cycle="Polyrhythm(7, 4).cycle(home=0)",
)
@dataclass(frozen=True, slots=True, init=False, repr=False)
class Polyrhythm(InNotebook):
    """Two or more even pulses that start together and share one cycle.

    Parameters
    ----------
    *pulses : int
        Strokes per cycle of each pulse, whole numbers of at least 1; up to 256 of them.

    Attributes
    ----------
    pulses : tuple of int
        The pulses, in the order given.
    ticks : int
        Ticks in one cycle: the least common multiple of the pulses.

    Raises
    ------
    ValueError
        If there are fewer than two pulses or very many, one is not a whole number of at least 1, or the
        grid would need more than 2**62 ticks.

    References
    ----------
    OEIS A051173, least common multiples, https://oeis.org/A051173.

    Examples
    --------
    >>> p = Polyrhythm(7, 4)
    >>> p.pulses, p.ticks
    ((7, 4), 28)
    >>> p.onsets(0)
    array([ 0,  4,  8, 12, 16, 20, 24])
    """

    pulses: tuple[int, ...]
    ticks: int
    _cache: dict[str, object] = field(init=False, compare=False)

    def __init__(self, *pulses: int) -> None:
        if len(pulses) == 1 and isinstance(pulses[0], tuple | list):
            raise Refusal(
                f"Polyrhythm({short(pulses[0])}) was given one list; give the pulses one by one",
                "Polyrhythm(7, 4)",
            )
        if len(pulses) < 2:
            raise Refusal(
                f"Polyrhythm({', '.join(map(short, pulses))}) has {len(pulses)} pulse"
                f"{'s' * (len(pulses) != 1)}; it takes at least 2 to make a rhythm against each other",
                "Polyrhythm(7, 4)",
            )
        if len(pulses) > MOST_PULSES:
            raise Refusal(
                f"Polyrhythm({short(pulses[0])}, …) has {len(pulses):,} pulses, more than {MOST_PULSES}",
                "Polyrhythm(7, 4)",
            )
        numbers = tuple(whole(pulse, "pulse", "Polyrhythm(7, 4)") for pulse in pulses)
        ticks = lcm(*numbers) if max(numbers) <= MOST_TICKS else max(numbers)
        if ticks > MOST_TICKS:
            raise Refusal(
                f"pulses {short(numbers)} need a grid of more than 2**62 ticks, which 64-bit "
                "whole numbers cannot hold",
                "Polyrhythm(1_000_000_007, 1_000_000_006)",
            )
        object.__setattr__(self, "pulses", numbers)
        object.__setattr__(self, "ticks", ticks)
        object.__setattr__(self, "_cache", {})

    def __repr__(self) -> str:
        return line(str(self))

    def __str__(self) -> str:
        return f"Polyrhythm({', '.join(map(str, self.pulses))})"

    @property
    def repeats(self) -> int:
        """How often the whole pattern occurs in a cycle: the greatest common divisor of the pulses.

        Examples
        --------
        >>> Polyrhythm(6, 4).repeats      # 3 against 2, twice
        2
        """
        return gcd(*self.pulses)

    @property
    def reduced(self) -> "Polyrhythm":
        """The same rhythm without its common factor.

        Examples
        --------
        >>> Polyrhythm(6, 4).reduced
        Polyrhythm(3, 2)
        """
        return Polyrhythm(*(pulse // self.repeats for pulse in self.pulses))

    def step(self, pulse: int) -> int:
        """Ticks from one stroke of a pulse to its next.

        Parameters
        ----------
        pulse : int
            Index of the pulse, from 0.

        Examples
        --------
        >>> Polyrhythm(7, 4).step(0)
        4
        """
        return self.ticks // self.pulses[index(pulse, len(self.pulses), "pulse", f"pulses {self.pulses}")]

    def meet(self, *which: int) -> int:
        """Ticks from one shared stroke to the next: the cycle divided by the common divisor.

        Parameters
        ----------
        *which : int
            Indices of the pulses that should meet; all of them when none is named.

        Returns
        -------
        int
            ``ticks // gcd(...)``.

        Examples
        --------
        >>> p = Polyrhythm(6, 4, 3)
        >>> p.meet(), p.meet(0, 1)
        (12, 6)
        """
        count = len(self.pulses)
        chosen = [index(i, count, "pulse", f"pulses {self.pulses}") for i in which] or range(count)
        return self.ticks // gcd(*(self.pulses[i] for i in chosen))

    def onsets(self, pulse: int, *, start: int | None = None, stop: int | None = None) -> Ticks:
        """Ticks of a pulse's strokes.

        Parameters
        ----------
        pulse : int
            Index of the pulse, from 0.
        start, stop : int, optional
            Window in ticks, half-open; the whole cycle when left out.

        Returns
        -------
        numpy.ndarray
            int64, shape (strokes,), rising; ticks from the start of the cycle.

        Raises
        ------
        IndexError
            If there is no such pulse.
        ValueError
            If the window is outside the cycle, or holds more than 50 million strokes.

        Examples
        --------
        >>> Polyrhythm(7, 4).onsets(1, start=10, stop=22)
        array([14, 21])
        """
        step = self.step(pulse)
        start, stop = window(start, stop, self.ticks)
        first, end = -(-start // step), -(-stop // step)
        few_enough(end - first, start, stop, f"{self}.onsets({pulse}, ")
        long_work.say(f"{end - first:,} strokes of {self}", megabytes=(end - first) * 8 / 1e6)
        ticks = np.arange(end - first, dtype=np.int64)
        ticks *= step
        if first:
            ticks += first * step
        return ticks

    def cycle(self, home: int | None = None) -> Cycle:
        """Return the whole cycle, one lane a pulse, counted from `home`.

        Parameters
        ----------
        home : int, optional
            Index of the home pulse; the last one when left out.

        Returns
        -------
        Cycle
            Lanes are named by their number of strokes; beats are the strokes of home.

        Raises
        ------
        ValueError
            If the cycle holds more than 50 million strokes.

        Examples
        --------
        >>> Polyrhythm(3, 2).cycle()
        Cycle(6 ticks, beats 0 3, lanes '3': 0 2 4, '2': 0 3)
        """
        home = home_or_last(self, home)
        few_enough(sum(self.pulses), 0, self.ticks, f"composite({self}, ")
        long_work.say(f"The whole cycle of {self}", megabytes=sum(self.pulses) * 24 / 1e6)
        lanes = tuple(Lane(str(pulse), self.onsets(i)) for i, pulse in enumerate(self.pulses))
        made = counted_as(Cycle(self.ticks, lanes, beats=lanes[home].onsets), 0)
        object.__setattr__(made, "_cache", self._cache)  # the same strokes make the same line from every home
        return made


def home_or_last(p: Polyrhythm, home: object) -> int:
    """Return the index of home: the last pulse, where none is named."""
    count = len(p.pulses)
    return count - 1 if home is None else index(home, count, "home", f"pulses {p.pulses}")

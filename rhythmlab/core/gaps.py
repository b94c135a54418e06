"""How far each stroke of one pulse is from the nearest stroke of another, and how that drifts.

A *gap* is signed: negative is before the other pulse's stroke, positive after; a stroke exactly midway
counts as after.
Gaps are ticks until a `Tempo` turns them into milliseconds.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm

import numpy as np

from rhythmlab.core import long_work
from rhythmlab.core.check import MOST_LISTED, few_enough, window
from rhythmlab.core.display import InNotebook, Listed
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm, as_polyrhythm, pulse_indices
from rhythmlab.core.tempo import Speed, tempo_given
from rhythmlab.core.types import Floats, Ticks
from rhythmlab.refusal import Refusal


@public_class("phase_gaps((7, 4))", ms="phase_gaps((7, 4)).ms(72)")
@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Gaps(InNotebook):
    """The gap of every stroke of one pulse to the nearest stroke of another.

    Attributes
    ----------
    polyrhythm : Polyrhythm
        Where both pulses are from.
    of, against : int
        Indices of the pulse whose strokes are measured, and of the pulse they are measured from.
    onsets : numpy.ndarray
        int64, shape (strokes,): ticks of the measured strokes.
    ticks : numpy.ndarray
        int64, shape (strokes,): stroke minus nearest, in ticks, in (-step/2, step/2].
    """

    polyrhythm: Polyrhythm
    of: int
    against: int
    onsets: Ticks
    ticks: Ticks

    def __post_init__(self) -> None:
        for array in (self.onsets, self.ticks):
            array.flags.writeable = False

    @property
    def step(self) -> int:
        """Ticks from one stroke to the next of the pulse measured from."""
        return self.polyrhythm.step(self.against)

    def ms(self, tempo: Speed) -> Floats:
        """Return the gaps in milliseconds.

        Parameters
        ----------
        tempo : Tempo or number
            The speed; a number is beats a minute of the pulse measured from.

        Returns
        -------
        numpy.ndarray
            float64, shape (strokes,), milliseconds; negative is before.

        Examples
        --------
        >>> phase_gaps((16, 15), of=0, against=1, stop=30).ms(60)
        array([  0. , -62.5])
        """
        speed = tempo_given(tempo, self.polyrhythm, self.against, "phase_gaps((16, 15)).ms(60)")
        long_work.say(f"{len(self):,} gaps in milliseconds", megabytes=len(self) * 8 / 1e6)
        tick_ms = 1000 * speed.tick_seconds(self.polyrhythm)
        return self.ticks * np.float64(tick_ms)

    def __len__(self) -> int:
        return len(self.onsets)

    def _key(self) -> tuple[object, ...]:
        return (self.polyrhythm, self.of, self.against, self.onsets.tobytes(), self.ticks.tobytes())

    def __eq__(self, other: object) -> bool:
        return self._key() == other._key() if isinstance(other, Gaps) else NotImplemented

    def __hash__(self) -> int:
        return hash(self._key())

    def __repr__(self) -> str:
        pulses = self.polyrhythm.pulses
        shown = " ".join(map(str, self.ticks[:24])) + " …" * (len(self) > 24)
        return f"Gaps(of the {pulses[self.of]} against the {pulses[self.against]}: {shown})"


@public("phase_gaps((7, 4), of=1, against=0)", p="what")
def phase_gaps(
    what: Rhythm,
    of: int | None = None,
    against: int | None = None,
    *,
    start: int | None = None,
    stop: int | None = None,
) -> Gaps:
    """Measure each stroke of one pulse from the nearest stroke of another.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.
    of, against : int, optional
        Indices of the pulse measured, and of the pulse it is measured from; 0 and 1 when left out.
    start, stop : int, optional
        Window in ticks, half-open, for the strokes measured; the whole cycle when left out.

    Returns
    -------
    Gaps
        ``.onsets`` and ``.ticks`` are int64 arrays of the same length.

    Raises
    ------
    IndexError
        If there is no such pulse.
    ValueError
        If the window is outside the cycle, or holds more than 50 million strokes.

    Examples
    --------
    >>> phase_gaps((7, 4), of=1, against=0).ticks
    array([ 0, -1,  2,  1])
    """
    p = as_polyrhythm(what, "what", "phase_gaps((7, 4), of=1, against=0)")
    of, against = pulse_indices(p, of, against)
    first, last = window(start, stop, p.ticks)
    strokes = -(-last // p.step(of)) + -first // p.step(of)
    few_enough(strokes, first, last, f"phase_gaps({p}, of={of}, against={against}, ")
    long_work.say(f"The gaps of {strokes:,} strokes", megabytes=strokes * 16 / 1e6)
    onsets = p.onsets(of, start=first, stop=last)
    step = p.step(against)
    before = (step - 1) // 2  # ticks before a stroke that still belong to it
    nearest = onsets + before
    nearest //= step
    nearest *= step
    return Gaps(p, of, against, onsets, np.subtract(onsets, nearest, out=nearest))


@dataclass(frozen=True, slots=True)
class Drift(InNotebook):
    """How the strokes of one pulse move against another pulse that is home.

    Attributes
    ----------
    polyrhythm : Polyrhythm
        Where both pulses are from.
    of, home : int
        Indices of the pulse that moves, and of home.
    per_stroke : int
        Ticks by which the gap changes from one stroke of the moving pulse to its next, by the
        shorter way round: negative is earlier, positive later, 0 not at all.
    opens : int
        How often in a cycle the pulses open and close around one against one.
    doubled, empty : tuple of int
        Beats of home, from 1, that hold two strokes, and none (only where the pulses are neighbours).
    leads : tuple of int
        Indices of the pulse that leads the flam, first and then after the middle; empty where the
        pulses are neither neighbours nor near each other, so that no one flam widens, and where every
        stroke is together or alternating.
    """

    polyrhythm: Polyrhythm
    of: int
    home: int
    per_stroke: int
    opens: int
    doubled: tuple[int, ...]
    empty: tuple[int, ...]
    leads: tuple[int, ...]

    @property
    def direction(self) -> str:
        """``"earlier"``, ``"later"`` or ``"still"``."""
        return ("still", "later", "earlier")[(self.per_stroke > 0) - (self.per_stroke < 0)]


@public("drift((16, 15))", p="what", home="against")
def drift(what: Rhythm, of: int | None = None, against: int | None = None) -> Drift:
    """Say which way a pulse moves against home, and who leads.

    With n as home, the n+1 comes one tick earlier at each beat and beat 1 holds two of its strokes; with
    n+1 as home, the n comes one tick later and the last beat holds none (common practice, no source;
    the tests check it as a law).

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.
    of, against : int, optional
        Indices of the moving pulse and of home; 0 and 1 when left out.

    Raises
    ------
    IndexError
        If there is no such pulse.
    ValueError
        If more than 500,000 beats would have to be listed; the reduced pair has one.

    Examples
    --------
    >>> d = drift((16, 15), of=0, against=1)
    >>> d.per_stroke, d.direction, d.doubled, d.leads
    (-1, 'earlier', (1,), (0, 1))
    """
    p = as_polyrhythm(what, "what", "drift((16, 15))")
    of, home = pulse_indices(p, of, against)
    moving, still = p.pulses[of], p.pulses[home]
    step, before = p.step(home), (p.step(home) - 1) // 2
    per_stroke = (p.step(of) + before) % step - before
    blocks = gcd(moving, still)
    if blocks == abs(moving - still) and blocks > MOST_LISTED:
        few = [f"Polyrhythm({moving // blocks}, {still // blocks})", "of=0, against=1"]
        raise Refusal(
            f"{p} repeats one pattern {blocks:,} times, more than the {MOST_LISTED:,} that are listed",
            f"drift({', '.join(few)})",
        )
    # Neighbours have one doubled or one empty beat in each block: see the law above.
    beats = range(still // blocks, still + 1, still // blocks)
    doubled = tuple(beat - still // blocks + 1 for beat in beats) if moving - still == blocks else ()
    empty = tuple(beats) if still - moving == blocks else ()
    # Not apart: every stroke of neighbours is together or alternating (see zones), and no flam is left.
    apart = 0 < 16 * abs(per_stroke) < min(8 * (step - 1), 7 * step)
    flams = 0 < 8 * abs(per_stroke) <= step or ((doubled or empty) and apart)
    leads = () if not flams else (of, home) if per_stroke < 0 else (home, of)
    return Drift(p, of, home, per_stroke, abs(moving - still), doubled, empty, leads)


@public("playing.midway((16, 15))", p="what")
def midway(what: Rhythm, of: int | None = None, against: int | None = None) -> int | None:
    """Tick of the first stroke that is exactly midway between two strokes of another pulse.

    There is one in each repeat of the pattern where `of` is the even one of the two reduced numbers,
    and none where both are odd.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.
    of, against : int, optional
        Indices of the pulse whose stroke is sought, and of the pulse it is midway of; 0 and 1 when left out.

    Returns
    -------
    int or None
        The tick, or ``None`` where no stroke is exactly midway.

    Examples
    --------
    >>> midway((16, 15), of=0, against=1)
    120
    >>> midway((7, 5), of=0, against=1) is None
    True
    """
    p = as_polyrhythm(what, "what", "playing.midway((16, 15))")
    of, against = pulse_indices(p, of, against)
    common = gcd(p.pulses[of], p.pulses[against])
    if (p.pulses[of] // common) % 2:
        return None
    return p.ticks // common // 2


@dataclass(frozen=True, slots=True)
class NearRatio:
    """A simple ratio that a pair of pulses slips around.

    Attributes
    ----------
    h, k : int
        ``h`` strokes of the first pulse take about as long as ``k`` of the second.
    slip : int
        Ticks by which a group of ``h`` strokes of the first ends after ``k`` of the second; negative
        is before.
    opens : int
        How often the group opens and closes in a cycle: ``|p*k - q*h|``.
    """

    h: int
    k: int
    slip: int
    opens: int


@public("playing.near_ratios((16, 11))", p="what", first="of", second="against")
def near_ratios(what: Rhythm, of: int | None = None, against: int | None = None) -> tuple[NearRatio, ...]:
    """List the nearest simple ratios of two pulses: the convergents of their continued fraction.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.
    of, against : int, optional
        Indices of the two pulses; 0 and 1 when left out.

    Returns
    -------
    tuple of NearRatio
        From the simplest to the pair itself, which does not slip.

    References
    ----------
    Convergents are a classical result; the tests compare them with ``sympy.ntheory.continued_fraction``.

    Examples
    --------
    >>> [(r.h, r.k, r.slip, r.opens) for r in near_ratios((16, 11))]
    [(1, 1, -5, 5), (3, 2, 1, 1), (16, 11, 0, 0)]
    """
    p = as_polyrhythm(what, "what", "playing.near_ratios((16, 11))")
    of, against = pulse_indices(p, of, against)
    one, other = p.pulses[of], p.pulses[against]
    rest = Fraction(one, other)
    h, k, h_before, k_before = 1, 0, 0, 1
    found = []
    while True:
        term = rest.numerator // rest.denominator
        h, k, h_before, k_before = term * h + h_before, term * k + k_before, h, k
        if h:
            found.append(NearRatio(h, k, h * p.step(of) - k * p.step(against), abs(one * k - other * h)))
        if rest == term:
            return Listed(found)
        rest = 1 / (rest - term)


@public("playing.slips_around((16, 11))", p="what", first="of", second="against")
def slips_around(what: Rhythm, of: int | None = None, against: int | None = None) -> NearRatio | None:
    """Return the simplest ratio that two pulses stay close to, or ``None``.

    Close means that one group slips by no more than an eighth of the faster pulse's step (a choice made
    here, no source): 16:15 stays close to 1:1, 16:11 to 3:2, 7:4 to nothing.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.
    of, against : int, optional
        Indices of the two pulses; 0 and 1 when left out.

    Examples
    --------
    >>> slips_around((16, 11))
    NearRatio(h=3, k=2, slip=1, opens=1)
    >>> slips_around((7, 4)) is None
    True
    """
    p = as_polyrhythm(what, "what", "playing.slips_around((16, 11))")
    of, against = pulse_indices(p, of, against)
    ratios = near_ratios(p, of, against)
    step = min(p.step(of), p.step(against))
    close = (r for r in ratios if r.slip and 8 * abs(r.slip) <= step)
    return next(close, None)


@public("playing.landmarks((16, 15))", p="what")
def landmarks(what: Rhythm, of: int | None = None, against: int | None = None) -> tuple[int, ...]:
    """Ticks of the strokes that fall on a quarter, a half or three quarters of a home beat.

    They can be named by ear (e, & and a), so they tell a player where in a long cycle they are.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.
    of, against : int, optional
        Indices of the moving pulse and of home; 0 and 1 when left out.

    Raises
    ------
    IndexError
        If there is no such pulse.
    ValueError
        If there are more than 500,000 landmarks.

    Examples
    --------
    >>> landmarks((16, 15), of=0, against=1)       # a of 4, & of 8, e of 12
    (60, 120, 180)
    """
    p = as_polyrhythm(what, "what", "playing.landmarks((16, 15))")
    of, against = pulse_indices(p, of, against)
    step = p.step(against)
    every = lcm(p.step(of), step // gcd(step, 4))  # on a quarter of a beat, as far as they are whole ticks
    if p.ticks // every > MOST_LISTED:
        raise Refusal(
            f"{p} has more than the {MOST_LISTED:,} landmarks that are listed",
            "playing.landmarks(Polyrhythm(16, 15), of=0, against=1)",
        )
    return tuple(tick for tick in range(0, p.ticks, every) if tick % step)

"""The one way from ticks to seconds. Everything here is a Fraction, exact."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TypeAlias, TypeVar

import numpy as np

from rhythmlab.core.check import MOST_DIGITS, MOST_TICKS, positive, short, whole
from rhythmlab.core.check import bpm as home_bpm
from rhythmlab.core.cycle import MOST_LANES, Cycle
from rhythmlab.core.display import InNotebook
from rhythmlab.core.polyrhythm import Polyrhythm, home_or_last
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm, as_polyrhythm, as_rhythm
from rhythmlab.core.types import Number
from rhythmlab.refusal import OutOfRange, Refusal

Whole = TypeVar("Whole", int, np.ndarray)
#: Slowest and fastest `Tempo`, in beats a minute: whatever is played at 1 to 1,000 of home can be said in
#: any pulse of any polyrhythm, whose strokes are up to 2**62 times as many or as few.
SLOWEST, FASTEST = Fraction(1, 10**24), 10**24
_EXAMPLE = "Tempo(72, pulse=1)"


@public_class(
    "Tempo(72, pulse=1)",
    beat_ticks="Tempo(72, pulse=1).beat_ticks((7, 4))",
    tick_seconds="Tempo(72, pulse=1).tick_seconds((7, 4))",
    cycle_seconds="Tempo(72, pulse=1).cycle_seconds((7, 4))",
)
@dataclass(frozen=True, slots=True, init=False, repr=False)
class Tempo(InNotebook):
    """So many beats a minute, and what a beat is.

    Parameters
    ----------
    bpm : int, Fraction, Decimal or float
        Beats a minute, more than 0. A float means the decimal that it prints as: 72.1 is 721/10.
        There is no bound that a player would meet (it is 10**24); panels ask for 1 to 1,000 of home.
    pulse : int, optional
        Index of the pulse (or evenly spaced lane) whose strokes are the beats.
    ticks : int, optional
        Ticks to a beat, for any `Cycle`. Exactly one of `pulse` and `ticks` is given.

    Attributes
    ----------
    bpm : Fraction
        Beats a minute, exact.

    Raises
    ------
    ValueError
        If the bpm is not a number above 0, or beyond 10**24 either way, or not exactly one of `pulse` and
        `ticks` is given.

    Examples
    --------
    >>> t = Tempo(72, pulse=1)
    >>> p = Polyrhythm(7, 4)
    >>> t.cycle_seconds(p), t.bpm_of(p, 0)
    (Fraction(10, 3), Fraction(126, 1))
    """

    bpm: Fraction
    pulse: int | None
    ticks: int | None

    def __init__(self, bpm: Number, *, pulse: int | None = None, ticks: int | None = None) -> None:
        if (pulse is None) == (ticks is None):
            raise Refusal(
                f"Tempo({short(bpm)}) needs exactly one of pulse= and ticks= to say what a beat "
                "is: a stroke of that pulse, or so many ticks",
                _EXAMPLE,
            )
        example = _EXAMPLE
        if pulse is not None:
            pulse = whole(pulse, "pulse", example, least=0, most=MOST_LANES)
        if ticks is not None:
            ticks = whole(ticks, "ticks", "Tempo(120, ticks=2)", most=MOST_TICKS)
        object.__setattr__(self, "bpm", _bpm(bpm, example))
        object.__setattr__(self, "pulse", pulse)
        object.__setattr__(self, "ticks", ticks)

    def __repr__(self) -> str:
        what = f"pulse={self.pulse}" if self.ticks is None else f"ticks={self.ticks}"
        return f"Tempo({self.bpm}, {what})"

    def beat_ticks(self, what: Rhythm) -> int:
        """Ticks to one beat of this tempo.

        Parameters
        ----------
        what : Polyrhythm or Cycle
            What is played.

        Raises
        ------
        IndexError
            If there is no such pulse or lane.
        ValueError
            If the lane is not evenly spaced.

        Examples
        --------
        >>> Tempo(72, pulse=1).beat_ticks(Polyrhythm(7, 4))
        7
        """
        what = as_rhythm(what, "what", "Tempo(72, pulse=1).cycle_seconds((7, 4))")
        if self.pulse is None:
            return self.ticks or 1
        if isinstance(what, Polyrhythm):
            return what.step(self.pulse)
        if not what.lanes:
            raise Refusal(f"{short(what)} has no lane, so no lane is the beat", "Tempo(120, ticks=2)")
        if self.pulse >= len(what.lanes):
            many = len(what.lanes)
            lanes = f"there {'is' if many == 1 else 'are'} {many} lane{'s' * (many != 1)}"
            raise OutOfRange(
                f"pulse={self.pulse} is out of range: {lanes} here, numbered from 0; "
                "say how many ticks a beat has",
                f"Tempo({self.bpm}, ticks={what.beat})",
                argument="pulse",
            )
        lane = what.lanes[self.pulse]
        strokes = len(lane.onsets)
        step = what.ticks // strokes if strokes else 0
        if not strokes or what.ticks % strokes or (lane.onsets[1:] - lane.onsets[:-1] != step).any():
            raise Refusal(
                f"lane {short(lane.name)} is not evenly spaced, so it has no tempo of its own; "
                "say how many ticks a beat has",
                "Tempo(120, ticks=2)",
            )
        return step

    def tick_seconds(self, what: Rhythm) -> Fraction:
        """Seconds from one tick to the next, exact.

        Examples
        --------
        >>> Tempo(72, pulse=1).tick_seconds(Polyrhythm(7, 4))
        Fraction(5, 42)
        """
        return 60 / (self.bpm * self.beat_ticks(what))

    def cycle_seconds(self, what: Rhythm) -> Fraction:
        """Seconds of one cycle, exact.

        Examples
        --------
        >>> Tempo(60, pulse=1).cycle_seconds(Polyrhythm(16, 15))
        Fraction(15, 1)
        """
        found = as_rhythm(what, "what", "Tempo(72, pulse=1).cycle_seconds((7, 4))")
        return self.tick_seconds(found) * found.ticks

    @public("Tempo(72, pulse=1).bpm_of((7, 4), 0)", p="what")
    def bpm_of(self, what: Rhythm, pulse: int) -> Fraction:
        """Say the same speed in another pulse.

        Parameters
        ----------
        what : Polyrhythm, Cycle or pair such as (7, 4)
            What is played.
        pulse : int
            Index of the pulse to say it in.

        Returns
        -------
        Fraction
            Strokes a minute of that pulse.

        Examples
        --------
        >>> Tempo(72, pulse=1).bpm_of(Polyrhythm(7, 4), 0)
        Fraction(126, 1)
        """
        p = as_polyrhythm(what, "what", "Tempo(72, pulse=1).bpm_of((7, 4), 0)")
        return 60 / (self.tick_seconds(p) * p.step(pulse))

    @public("Tempo(72, pulse=1).in_pulse((7, 4), 0)", p="what")
    def in_pulse(self, what: Rhythm, pulse: int) -> "Tempo":
        """Return the same speed as a `Tempo` of another pulse.

        Examples
        --------
        >>> Tempo(72, pulse=1).in_pulse(Polyrhythm(7, 4), 0)
        Tempo(126, pulse=0)
        """
        p = as_polyrhythm(what, "what", "Tempo(72, pulse=1).in_pulse((7, 4), 0)")
        return Tempo(self.bpm_of(p, pulse), pulse=pulse)


#: What is taken where a tempo is asked for: a number is beats a minute of home.
Speed: TypeAlias = Tempo | Number


def tempo_given(
    value: object, what: Polyrhythm | Cycle, home: int | None, example: str, name: str = "tempo"
) -> Tempo:
    """Return a tempo: what is one already, or a number of beats a minute of home.

    Parameters
    ----------
    value : Tempo or number
        What the caller gave.
    what : Polyrhythm or Cycle
        What is played; the beat of a cycle is its own, see `Cycle.beat`.
    home : int or None
        Index of the home pulse of a `Polyrhythm`; the last one for ``None``.
    example : str
        A call that works.
    name : str
        What to call it in the message.

    Raises
    ------
    ValueError
        If it is neither, or no tempo of 1 to 1,000 beats a minute.

    Examples
    --------
    >>> tempo_given(72, Polyrhythm(7, 4), None, "sound((7, 4), 72)")
    Tempo(72, pulse=1)
    """
    if isinstance(value, Tempo):
        return value
    if not isinstance(value, int | float | Fraction | Decimal | np.number):
        raise Refusal(
            f"{name}={short(value)} is neither a Tempo nor beats a minute of home", example, argument=name
        )
    beats = home_bpm(value, name, example)
    if isinstance(what, Polyrhythm):
        return Tempo(beats, pulse=home_or_last(what, home))
    if not len(what.beats):
        raise Refusal(f"{name}={short(value)} of a cycle without beats names no beat", example, argument=name)
    return Tempo(beats, ticks=what.beat)


def of_beat(value: object, ticks: int, name: str, example: str) -> Fraction:
    """Return beats a minute of a beat of so many ticks: a number is that already, a `Tempo` is said in it.

    Parameters
    ----------
    value : Tempo or number
        What the caller gave; a `Tempo` says its beat in ticks.
    ticks : int
        Ticks of the beat.
    name : str
        What to call it in the message.
    example : str
        A call that works.

    Raises
    ------
    ValueError
        If it is no tempo of 1 to 1,000 beats a minute, or a `Tempo` of a pulse.

    Examples
    --------
    >>> of_beat(96, 4, "bpm", "bpm=96"), of_beat(Tempo(96, ticks=2), 4, "bpm", "bpm=96")
    (Fraction(96, 1), Fraction(48, 1))
    """
    if isinstance(value, Tempo):
        if value.ticks is None:
            raise Refusal(f"{name}={value} is of a pulse, and there are none here", example, argument=name)
        value = value.bpm * value.ticks / ticks
    return home_bpm(value, name, example)


@public("playing.modulation(84, old=3, new=2).new_bpm")
def modulate(bpm: Number, old: int, new: int) -> Fraction:
    """Return the new tempo after a metric modulation.

    The pivot is a note value that keeps its length across the change.

    Parameters
    ----------
    bpm : int, Fraction, Decimal or float
        The old tempo, beats a minute.
    old, new : int
        How many pivots an old bar holds, and how many a new one.

    Returns
    -------
    Fraction
        Beats a minute: ``bpm * old / new``.

    References
    ----------
    DeLone et al. (eds) 1975, Aspects of Twentieth-Century Music, chapter 3 (as quoted elsewhere): the
    pivot is the old half-note triplet, three to an old bar and two to a new one.

    Examples
    --------
    >>> modulate(84, old=3, new=2)
    Fraction(126, 1)
    """
    example = "playing.modulation(84, old=3, new=2).new_bpm"
    pivots = [whole(many, name, example, most=MOST_TICKS) for many, name in ((old, "old"), (new, "new"))]
    return _bpm(bpm, example) * Fraction(*pivots)


def _bpm(value: object, example: str) -> Fraction:
    """Return beats a minute, exact, or refuse what no `Tempo` can have."""
    exact = positive(value, "bpm", example, digits=MOST_DIGITS // 2)  # room to reckon with it
    if not SLOWEST <= exact <= FASTEST:
        wrong = "slower than 1/10**24" if exact < SLOWEST else "faster than 10**24"
        raise Refusal(f"bpm={short(value)} is {wrong}", example, argument="bpm")
    return exact


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

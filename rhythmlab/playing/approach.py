"""Which way to learn a rhythm at a tempo, why, and what would change it."""

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from rhythmlab import words
from rhythmlab.core.call import public, public_class
from rhythmlab.core.check import short, whole
from rhythmlab.core.given import Rhythm, counted
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.shown import Printed
from rhythmlab.core.tempo import Speed, Tempo, tempo_given
from rhythmlab.playing.limits import Limits, limits_or
from rhythmlab.playing.steps import tempo_said
from rhythmlab.playing.way import LINE_SOUNDS, Reckoned, Way
from rhythmlab.refusal import Refusal
from rhythmlab.sentences import say

#: Most sounds of a line that anyone would learn as one, and most pulses.
MOST_SOUNDS, MOST_PULSES = 1_000, 32
_EXAMPLE = "approach((7, 4), 72)"


@dataclass(frozen=True, slots=True)
class Range:
    """Tempos over which the same way is recommended.

    Attributes
    ----------
    low, high : Fraction or None
        Beats a minute of home; ``None`` at the ends of all tempos.
    way : Way or None
        The way; ``None`` where none fits.
    """

    low: Fraction | None
    high: Fraction | None
    way: Way | None


@public_class("approach((7, 4), 72).changes[0]", said="approach((7, 4), 72).changes[0].said(of=False)")
@dataclass(frozen=True, slots=True)
class Change:
    """A tempo past which another way is recommended.

    Attributes
    ----------
    polyrhythm : Polyrhythm
        What is learned.
    home : int
        Index of the pulse felt as the beat.
    slower : bool
        Whether it is on the slow side.
    bpm : Fraction
        Beats a minute of home.
    way : Way or None
        The way there; ``None`` where none fits.
    """

    polyrhythm: Polyrhythm
    home: int
    slower: bool
    bpm: Fraction
    way: Way | None

    def said(self, *, of: bool = True) -> str:
        """Say it as a sentence; `of` is whether the tempo is said with the pulse that it is of."""
        tempo = tempo_said(self.polyrhythm, self.home, self.bpm, of=of)
        way = self.way.label if self.way else say("approach.nothing_fits")
        return say("approach.slower" if self.slower else "approach.faster", tempo=tempo, way=way)


@public_class(_EXAMPLE, lead=f"{_EXAMPLE}.lead(of=False)", changes_said=f"{_EXAMPLE}.changes_said(of=False)")
@dataclass(repr=False, frozen=True, slots=True)
class Approach(Printed):
    """How to learn a rhythm at a tempo.

    Attributes
    ----------
    polyrhythm : Polyrhythm
        What is learned.
    tempo : Tempo
        At which speed.
    home : int
        Index of the pulse felt as the beat.
    ways : tuple of Way
        All four, in the order of `WAYS`, counted from home.
    counts : tuple of Way
        Counting from each pulse, in the order of the pulses.
    ranges : tuple of Range
        What is recommended over all tempos, slow to fast.
    recommended : Way
        The way to take; where none fits, the one whose tempos are nearest.
    """

    polyrhythm: Polyrhythm
    tempo: Tempo
    home: int
    ways: tuple[Way, ...]
    counts: tuple[Way, ...]
    ranges: tuple[Range, ...]
    recommended: Way

    def __str__(self) -> str:
        steps = (f"{nth}. {step.text}" for nth, step in enumerate(self.recommended.steps, 1))
        return "\n".join([self.said(), *steps])

    @property
    def why(self) -> str:
        """The way, what else fits, and why the others do not, in sentences."""
        best, home = self.recommended, self.home
        others = (way for way in self.counts if way.home != home)
        rest = [way for way in (*self.ways, *others) if not _same(way, best)]
        also = "; or ".join(say("approach.way", way=way.label, short=way.short) for way in rest if way.fits)
        out = ", ".join(
            say("approach.out", doing=way.doing, verdict=way.verdict(home, of=True))
            for way in self.ways
            if way in rest and not way.fits
        )
        return words.sentences(
            self.lead(),
            say("approach.also", also=also) if also else "",
            say("approach.not_here", out=out) if out else "",
        )

    def lead(self, *, of: bool = True) -> str:
        """Say the way to take and what it comes to, or that nothing fits.

        Parameters
        ----------
        of : bool
            Whether how far off the nearest way is, is said with the pulse that its tempo is of.
        """
        best = self.recommended
        if best.fits:
            return say("approach.lead", way=words.capital(best.label), short=best.short)
        now = tempo_said(self.polyrhythm, self.home, self.ways[0].bpm)
        return say("approach.none", tempo=now, way=best.label, verdict=best.verdict(self.home, of=of))

    @property
    def changes(self) -> tuple[Change, ...]:
        """The nearest slower and the nearest faster tempo at which it would be another way, if any."""
        now, best = self.tempo.bpm_of(self.polyrhythm, self.home), self.recommended
        others = [one for one in self.ranges if not _same(one.way, best if best.fits else None)]
        slower = [(True, one.high, one.way) for one in others if one.high and one.high <= now]
        faster = [(False, one.low, one.way) for one in others if one.low and one.low >= now]
        return tuple(Change(self.polyrhythm, self.home, *one) for one in (*slower[-1:], *faster[:1]))

    @property
    def would_change(self) -> str:
        """At which slower and which faster tempo it would be another way, in sentences."""
        return self.changes_said()

    def changes_said(self, *, of: bool = True) -> str:
        """Say what would change it; `of` is whether tempos are said with the pulse that they are of."""
        return " ".join(change.said(of=of) for change in self.changes) or say("approach.no_change")

    def said(self) -> str:
        """Say what to do, why, and what would change it.

        Examples
        --------
        >>> print(approach((7, 4), 72).would_change)
        Slower than 43.6 bpm of the 4: count from the 4. Faster than 133.3 bpm of the 4: hold the ones.
        """
        return words.sentences(self.why, self.would_change)


@public(_EXAMPLE, p="what", bounds="limits")
def approach(
    what: Rhythm,
    tempo: Speed,
    *,
    home: int | None = None,
    limits: Limits | None = None,
    line_sounds: int = LINE_SOUNDS,
) -> Approach:
    """Find the ways to learn a rhythm at a tempo, and recommend one.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.
    tempo : Tempo or number
        The speed wanted; a number is beats a minute of home.
    home : int, optional
        Index of the pulse felt as the beat; the last one when left out.
    limits : Limits, optional
        The limits to use; `limits()` when left out.
    line_sounds : int
        Most sounds from one to one that are learned as one line (the default is a choice, no source).

    Returns
    -------
    Approach
        Floors and ceilings are exact.

    Raises
    ------
    ValueError
        If one of them is not what it should be.
    IndexError
        If there is no such pulse.

    References
    ----------
    Jagacinski et al. 1988 (abstract): trained players plan 3:2 as one merged line.
    Krampe et al. 2000 (abstract): pianists play 3:4 slowly in one frame, fast by hand; the tempo where
    that is recommended here (sounds closer than the limit ``part_heard``) is a choice, no source.

    Examples
    --------
    >>> found = approach((7, 4), 72)
    >>> found.recommended.name, found.ways[1].ceiling, found.ways[2].floor
    ('learn the line', Fraction(360, 7), Fraction(400, 3))
    """
    p, home = counted(what, home, "what", _EXAMPLE)
    if len(p.pulses) > MOST_PULSES:
        raise Refusal(
            f"{short(p)} has {len(p.pulses)} pulses, more than the {MOST_PULSES} that a way is sought for",
            _EXAMPLE,
        )
    tempo = tempo_given(tempo, p, home, _EXAMPLE)
    rows = limits_or(limits, f"{_EXAMPLE[:-1]}, limits=limits(part_heard=120))")
    most = whole(line_sounds, "line_sounds", f"{_EXAMPLE[:-1]}, line_sounds=12)", most=MOST_SOUNDS)
    found = Reckoned(p, tempo, rows, most)
    counts = tuple(found.count(i) for i in range(len(p.pulses)))
    ways = (found.line(home), counts[home], found.ones(home), found.drift(home))
    others = tuple(way for way in counts if way.home != home)
    chooser = _Chooser(ways, others, found.crowded(home), found.helps(home))
    now = tempo.bpm_of(p, home)
    best, ranges = chooser.best(now), chooser.ranges()
    return Approach(p, tempo, home, ways, counts, ranges, best or chooser.nearest(now))


@dataclass(frozen=True, slots=True)
class _Chooser:
    """Which way to take at a tempo: the order in which they are preferred is a choice made here."""

    ways: tuple[Way, ...]
    others: tuple[Way, ...]
    crowded: Fraction | None
    helps: Fraction

    def best(self, bpm: Fraction) -> Way | None:
        """Return the way to take at a tempo of home, or ``None`` where none fits."""
        home = self.ways[0].home
        line, count, ones, drift = (way if way.fits_at(bpm, home) else None for way in self.ways)
        if line and (not ones or self.crowded is None or bpm <= self.crowded):
            return line
        if ones:
            return ones
        if drift and not (count and bpm <= self.helps):
            return drift
        return count or next((way for way in self.others if way.fits_at(bpm, home)), None)

    def nearest(self, bpm: Fraction) -> Way:
        """Return the way whose tempos are nearest, as a ratio."""
        home = self.ways[0].home

        def away(way: Way) -> Fraction:
            floor, ceiling = way.floor_of(home), way.ceiling_of(home)
            return max(floor / bpm if floor else Fraction(0), bpm / ceiling if ceiling else Fraction(0))

        return min((way for way in (*self.ways, *self.others) if way.possible), key=away)

    def ranges(self) -> tuple[Range, ...]:
        """Return what is recommended over all tempos."""
        home = self.ways[0].home
        possible = [way for way in (*self.ways, *self.others) if way.possible]
        ends = {end for way in possible for end in (way.floor_of(home), way.ceiling_of(home))}
        edges = sorted(end for end in {*ends, self.crowded, self.helps} if end is not None)
        found: list[Range] = []
        for low, high in pairwise([None, *edges, None]):
            way = self.best(_inside(low, high))
            if found and _same(found[-1].way, way):
                found[-1] = Range(found[-1].low, high, way)
            else:
                found.append(Range(low, high, way))
        return tuple(found)


def _inside(low: Fraction | None, high: Fraction | None) -> Fraction:
    """Return a tempo between two, one of which may be missing."""
    if low is None:
        return Fraction(1) if high is None else high / 2
    return low + 1 if high is None else (low + high) / 2


def _same(one: Way | None, other: Way | None) -> bool:
    return (one and (one.name, one.home)) == (other and (other.name, other.home))

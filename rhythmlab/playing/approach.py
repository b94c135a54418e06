"""Which way to learn a rhythm at a tempo, why, and what would change it."""

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from rhythmlab import words
from rhythmlab.core.call import public
from rhythmlab.core.check import short, whole
from rhythmlab.core.given import Rhythm, counted
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Speed, Tempo, tempo_given
from rhythmlab.playing.limits import Limits, limits_or
from rhythmlab.playing.steps import bpm_text
from rhythmlab.playing.way import LINE_SOUNDS, WAYS, Reckoned, Way, capital
from rhythmlab.refusal import Refusal

_DOING = ("learning the line", "counting", "holding the ones", "following the drift")
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


@dataclass(frozen=True, slots=True)
class Approach:
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
    why, would_change : str
        Why, and at which tempos it would be another, in sentences.
    """

    polyrhythm: Polyrhythm
    tempo: Tempo
    home: int
    ways: tuple[Way, ...]
    counts: tuple[Way, ...]
    ranges: tuple[Range, ...]
    recommended: Way
    why: str
    would_change: str

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
    recommended = best or chooser.nearest(now)
    why, changes = _why(chooser, recommended), _changes(p, home, ranges, best, now)
    return Approach(p, tempo, home, ways, counts, ranges, recommended, why, changes)


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
        if line and (not ones or bpm <= self.crowded):
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
            return max(floor / bpm if floor else 0, bpm / ceiling if ceiling else 0)

        return min((way for way in (*self.ways, *self.others) if way.possible), key=away)

    def ranges(self) -> tuple[Range, ...]:
        """Return what is recommended over all tempos."""
        home = self.ways[0].home
        possible = [way for way in (*self.ways, *self.others) if way.possible]
        ends = {end for way in possible for end in (way.floor_of(home), way.ceiling_of(home))}
        edges: list[Fraction | None] = [*sorted({*ends, self.crowded, self.helps} - {None})]
        found: list[Range] = []
        for low, high in pairwise([None, *edges, None]):
            inside = (high / 2 if low is None else low + 1) if None in (low, high) else (low + high) / 2
            way = self.best(inside)
            if found and _same(found[-1].way, way):
                found[-1] = Range(found[-1].low, high, way)
            else:
                found.append(Range(low, high, way))
        return tuple(found)


def _same(one: Way | None, other: Way | None) -> bool:
    return (one and (one.name, one.home)) == (other and (other.name, other.home))


def _why(chooser: _Chooser, best: Way) -> str:
    """Say the way, what else fits, and why the others do not."""
    home = chooser.ways[0].home
    of = f"bpm of {words.pulse_name(best.polyrhythm, home)}"

    def where(way: Way) -> str:
        return way.verdict(home).replace("bpm", of)

    rest = [way for way in (*chooser.ways, *chooser.others) if not _same(way, best)]
    also = "; or ".join(f"{way.label}: {way.short}" for way in rest if way.fits)
    out = ", ".join(f"{_doing(way)} ({where(way)})" for way in chooser.ways if way in rest and not way.fits)
    if not best.fits:
        bpm = bpm_text(chooser.ways[0].bpm)
        lead = f"Nothing fits at {bpm} {of}; the nearest is to {best.label}, {where(best)}."
    else:
        lead = f"{capital(best.label)}: {best.short}."
    return words.sentences(lead, f"Or {also}." if also else "", f"Not here: {out}." if out else "")


def _changes(p: Polyrhythm, home: int, ranges: tuple[Range, ...], best: Way | None, now: Fraction) -> str:
    """Say at which slower and which faster tempo it would be another way."""
    slower = [(r.high, r.way) for r in ranges if r.high and r.high <= now and not _same(r.way, best)]
    faster = [(r.low, r.way) for r in ranges if r.low and r.low >= now and not _same(r.way, best)]
    of = f"bpm of {words.pulse_name(p, home)}"
    said = [
        f"{than} than {bpm_text(bpm)} {of}: {way.label if way else 'nothing fits'}."
        for than, found in (("Slower", slower[-1:]), ("Faster", faster[:1]))
        for bpm, way in found
    ]
    return " ".join(said) or "No tempo would change that."


def _doing(way: Way) -> str:
    return way.label.replace(way.name, _DOING[WAYS.index(way.name)])

"""How a gap is heard and played at a tempo, and which pulse pulls as the beat.

Zones of a gap: *together* (the same tick), *flam* (nearly together), *open flam* (clearly two strokes),
*alternating* (the strokes take turns evenly).
Flam and open flam are set by milliseconds, alternating by the share of the beat.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from rhythmlab import words
from rhythmlab.core.check import index
from rhythmlab.core.feel import Feel, Place
from rhythmlab.core.gaps import Gaps, landmarks
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.playing.limits import Limits, limits

ZONES = ("together", "flam", "open flam", "alternating")


@dataclass(frozen=True, slots=True)
class Run:
    """Neighbouring strokes in one zone, on one side of the beat.

    Attributes
    ----------
    zone : str
        One of `ZONES`.
    side : str
        ``"before"``, ``"after"`` or ``""`` (together; alternating takes both sides).
    first : int
        Index of the first of these strokes among the measured ones.
    strokes : int
        How many.
    """

    zone: str
    side: str
    first: int
    strokes: int


@dataclass(frozen=True, slots=True, eq=False)
class Zones:
    """The zone of every gap at a tempo.

    Attributes
    ----------
    gaps : Gaps
        What was measured.
    tempo : Tempo
        The speed.
    codes : numpy.ndarray
        int8, shape (strokes,): index into `ZONES`.
    flam_ms : Fraction
        Widest flam, milliseconds.
    flam_ticks : int
        Widest gap in ticks that is still a flam at this tempo.
    """

    gaps: Gaps
    tempo: Tempo
    codes: np.ndarray
    flam_ms: Fraction
    flam_ticks: int

    @property
    def counts(self) -> dict[str, int]:
        """How many strokes each zone lasts, by zone."""
        return dict(zip(ZONES, np.bincount(self.codes, minlength=4).tolist(), strict=True))

    @property
    def runs(self) -> tuple[Run, ...]:
        """The zones in the order they are played."""
        sides = np.where(self.codes == 3, 0, np.sign(self.gaps.ticks)).astype(np.int8)
        if not len(sides):
            return ()
        same = (self.codes[1:] == self.codes[:-1]) & (sides[1:] == sides[:-1])
        starts = np.append(0, np.flatnonzero(~same) + 1).tolist()
        ends = [*starts[1:], len(sides)]
        return tuple(
            Run(ZONES[self.codes[i]], ("", "after", "before")[sides[i]], i, j - i)
            for i, j in zip(starts, ends, strict=True)
        )


def zones(gaps: Gaps, tempo: Tempo, bounds: Limits | None = None) -> Zones:
    """Say how each gap is heard at a tempo.

    Parameters
    ----------
    gaps : Gaps
        From `phase_gaps`.
    tempo : Tempo
        The speed.
    bounds : Limits, optional
        The limits to use; `limits()` when left out.

    Returns
    -------
    Zones
        A gap of at most the limit ``flam`` is a flam.  A gap within half a tick, or within a sixteenth
        of the beat, of exactly midway is alternating (a choice made here, no source).

    Examples
    --------
    >>> from rhythmlab.core.gaps import phase_gaps
    >>> gaps = phase_gaps(Polyrhythm(16, 15), of=0, against=1)
    >>> zones(gaps, Tempo(100, pulse=1)).counts
    {'together': 1, 'flam': 2, 'open flam': 10, 'alternating': 3}
    """
    flam_ms = (bounds or limits())["flam"].value
    tick_ms = 1000 * tempo.tick_seconds(gaps.polyrhythm)
    flam_ticks = int(min(flam_ms / tick_ms, gaps.step))
    size = np.abs(gaps.ticks)
    codes = np.where(size == 0, 0, np.where(size <= flam_ticks, 1, 2)).astype(np.int8)
    codes[(size >= math.ceil(alternating_from(gaps.step))) & (size > 0)] = 3
    codes.flags.writeable = False
    return Zones(gaps, tempo, codes, flam_ms, flam_ticks)


def alternating_from(step: int) -> Fraction:
    """Return the smallest gap, in ticks, that counts as alternating, for a beat of `step` ticks."""
    return Fraction(step, 2) - max(Fraction(1, 2), Fraction(step, 16))


def flams_from(p: Polyrhythm, of: int, home: int, flam_ms: Fraction | None = None) -> Fraction | None:
    """Return the tempo from which the narrowest gap is a flam.

    Parameters
    ----------
    p : Polyrhythm
        Two or more pulses.
    of, home : int
        Indices of the moving pulse and of home.
    flam_ms : Fraction, optional
        Widest flam in milliseconds; the limit ``flam`` when left out.

    Returns
    -------
    Fraction or None
        Beats a minute of home, exact; ``None`` where the pair has no gap that could be a flam, since
        its strokes are either together or alternate.

    Examples
    --------
    >>> flams_from(Polyrhythm(16, 15), of=0, home=1)
    Fraction(375, 4)
    >>> flams_from(Polyrhythm(3, 2), of=0, home=1) is None
    True
    """
    narrowest = math.gcd(p.step(of), p.step(home))
    step = p.step(home)
    if narrowest >= alternating_from(step):
        return None
    return Fraction(60_000 * narrowest, step) / (flam_ms or limits()["flam"].value)


def zones_said(z: Zones) -> str:
    """Say how the gaps are heard, zone by zone, or from which tempo they flam at all.

    Parameters
    ----------
    z : Zones
        From `zones`.

    Examples
    --------
    >>> from rhythmlab.core.gaps import phase_gaps
    >>> gaps = phase_gaps(Polyrhythm(16, 15), of=0, against=1)
    >>> zones_said(zones(gaps, Tempo(100, pulse=1)))
    'At 100 bpm of the 15, one tick is 37.5 ms and the 16 strokes of the 16 go: 1 together, 1 flam before, \
5 open flams before, 3 alternating, 5 open flams after, 1 flam after.'
    """
    gaps, p = z.gaps, z.gaps.polyrhythm
    home, moving = words.pulse_name(p, gaps.against), words.pulse_name(p, gaps.of)
    bpm = z.tempo.bpm_of(p, gaps.against)
    tick_ms = words.number(1000 * z.tempo.tick_seconds(p), 1)
    runs = z.runs
    if len(runs) > 9:
        parts = [_some_strokes(zone, count) for zone, count in z.counts.items() if count]
    else:
        parts = [f"{_some_strokes(run.zone, run.strokes)} {run.side}".strip() for run in runs]
    text = (
        f"At {words.number(bpm)} bpm of {home}, one tick is {tick_ms} ms and the "
        f"{words.plural(len(gaps), 'stroke')} of {moving} go: {', '.join(parts)}."
    )
    start = flams_from(p, gaps.of, gaps.against, z.flam_ms)
    if start is not None and bpm < start:
        narrowest = words.number(1000 * z.tempo.tick_seconds(p) * math.gcd(p.step(gaps.of), gaps.step), 1)
        text += (
            f" It is already open: the narrowest gap is {narrowest} ms, and it flams only from "
            f"{words.number(start)} bpm of {home}."
        )
    return text


def _some_strokes(zone: str, count: int) -> str:
    return words.plural(count, zone) if zone.endswith("flam") else f"{count} {zone}"


@dataclass(frozen=True, slots=True)
class Pull:
    """Which pulse tends to pull as the beat.

    Attributes
    ----------
    pulse : int or None
        Index of the pulse that pulls; ``None`` inside the band where it changes over, and where the
        pulses are too alike to differ.
    low, high : float or None
        The band of tempos where the pull changes over between the pulses, in beats a minute of the
        tempo's pulse; ``None`` where they do not differ.
    faster, slower : int
        Indices of the two pulses compared.
    """

    pulse: int | None
    low: float | None
    high: float | None
    faster: int
    slower: int


def changeover(p: Polyrhythm, faster: int, slower: int, bounds: Limits | None = None) -> tuple[float, float]:
    """Return the band of tempos where the pull of the beat changes from one pulse to another.

    The change comes where both periods are equally far, as a ratio, from the preferred period; it is a
    band because the published centres differ.

    Parameters
    ----------
    p : Polyrhythm
        Two or more pulses.
    faster, slower : int
        Indices of the two pulses.
    bounds : Limits, optional
        The limits to use.

    Returns
    -------
    low, high : float
        Beats a minute of the slower pulse: below `low` the faster tends to pull, above `high` the slower.

    Examples
    --------
    >>> [round(bpm) for bpm in changeover(Polyrhythm(7, 4), 0, 1)]
    [65, 91]
    """
    preferred = (bounds or limits())["beat_preferred"]
    share = math.sqrt(p.step(faster) / p.step(slower))
    return tuple(60_000 / float(period) * share for period in (preferred.high, preferred.low))


def pull_said(p: Polyrhythm, tempo: Tempo, pulses: tuple[int, int] = (0, 1)) -> str:
    """Say which of two pulses tends to pull as the beat, and where it changes over.

    Examples
    --------
    >>> pull_said(Polyrhythm(7, 4), Tempo(50, pulse=1))
    'Other things equal, the 7 tends to pull as the beat here; from about 65 to 91 bpm of the 4 it \
changes over, and faster than that the 4 tends to pull.'
    """
    found = pull(p, tempo, pulses)
    faster, slower = (words.pulse_name(p, i) for i in (found.faster, found.slower))
    if found.low is None:
        return f"{faster.capitalize()} and {slower} are too near each other to differ in pull."
    said_in = words.pulse_name(p, tempo.pulse) if tempo.pulse is not None else "the tempo's beat"
    band = f"about {found.low:.0f} to {found.high:.0f} bpm of {said_in}"
    if found.pulse is None:
        return (
            f"This tempo is in the band where the pull of the beat changes over ({band}): "
            f"below it {faster} tends to pull, above it {slower}."
        )
    here, there = (faster, slower) if found.pulse == found.faster else (slower, faster)
    way = "faster" if found.pulse == found.faster else "slower"
    return (
        f"Other things equal, {here} tends to pull as the beat here; from {band} it changes over, "
        f"and {way} than that {there} tends to pull."
    )


def pull(p: Polyrhythm, tempo: Tempo, pulses: tuple[int, int] = (0, 1), bounds: Limits | None = None) -> Pull:
    """Say which of two pulses tends to pull as the beat, other things equal.

    Loudness, pitch and habit can turn it round: it is a tendency.

    Parameters
    ----------
    p : Polyrhythm
        Two or more pulses.
    tempo : Tempo
        The speed.
    pulses : tuple of int
        Indices of the two pulses to compare.
    bounds : Limits, optional
        The limits to use.

    Returns
    -------
    Pull
        Near-equal pulses (within an eighth of each other, a choice made here) do not differ in pull.

    References
    ----------
    London 2012 (preferred beat of 500 to 700 ms); van Noorden & Moelants 1999 (resonance).

    Examples
    --------
    >>> pull(Polyrhythm(7, 4), Tempo(50, pulse=1)).pulse
    0
    >>> pull(Polyrhythm(7, 4), Tempo(72, pulse=1)).pulse is None      # inside the band
    True
    """
    i, j = (index(pulse, len(p.pulses), "pulse", f"pulses {p.pulses}") for pulse in pulses)
    faster, slower = sorted((i, j), key=lambda pulse: -p.pulses[pulse])
    if 8 * (p.step(slower) - p.step(faster)) <= p.step(slower):
        return Pull(None, None, None, faster, slower)
    low, high = changeover(p, faster, slower, bounds)
    bpm = float(tempo.bpm_of(p, slower))
    pulse = faster if bpm < low else slower if bpm > high else None
    said = float(tempo.bpm / tempo.bpm_of(p, slower))
    return Pull(pulse, low * said, high * said, faster, slower)


def part_said(feel: Feel, tempo: Tempo, bounds: Limits | None = None) -> str:
    """Say how long one part of a beat lasts, and whether it is too fast to count.

    Parts of 2, 3 or 4 to a beat are held against the limit ``part_heard``, five and more against
    ``part_uneven``; both are published for other tasks than counting aloud, so it is a rule of thumb.

    Examples
    --------
    >>> part_said(Feel(Polyrhythm(7, 4), home=0), Tempo(126, pulse=0))
    'Counting the 4 from the 7 takes 4 parts to a beat, 119 ms each.'
    """
    p, rows = feel.polyrhythm, bounds or limits()
    said = []
    for i in range(len(p.pulses)):
        parts = feel.parts(i)
        if i == feel.home or parts == 1:
            continue
        part_ms = 1000 * tempo.tick_seconds(p) * feel.beat_ticks / parts
        least = rows["part_heard"].value if parts <= 4 else 1000 / rows["part_uneven"].value
        fast = f", faster than the {words.number(least, 0)} ms that can be counted" if part_ms < least else ""
        said.append(
            f"Counting {words.pulse_name(p, i)} from {words.pulse_name(p, feel.home)} takes {parts} parts to "
            f"a beat, {words.number(part_ms, 0)} ms each{fast}."
        )
    return " ".join(said)


def landmarks_said(feel: Feel, moving: int) -> str:
    """Say which strokes of a moving pulse fall on the e, the & or the a of a home beat.

    Examples
    --------
    >>> landmarks_said(Feel(Polyrhythm(16, 15), home=1), moving=0)
    'Landmarks by ear: the 16 falls on a of 4, & of 8, e of 12.'
    """
    p, step = feel.polyrhythm, feel.beat_ticks
    where = [
        Place(tick // step + 1, tick % step * 4 // step + 1, 4) for tick in landmarks(p, moving, feel.home)
    ]
    if not where:
        return ""
    return f"Landmarks by ear: {words.pulse_name(p, moving)} falls on {words.some(map(words.place_name, where))}."

"""How a gap is heard and played at a tempo, and which pulse pulls as the beat.

Zones of a gap: *together* (the same tick), *flam* (nearly together), *open flam* (clearly two strokes),
*alternating* (the strokes take turns evenly).
Flam and open flam are set by milliseconds, alternating by the share of the beat.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from rhythmlab.core import long_work
from rhythmlab.core.call import public
from rhythmlab.core.check import positive
from rhythmlab.core.gaps import Gaps, phase_gaps
from rhythmlab.core.given import Rhythm, counted, polyrhythm, two
from rhythmlab.core.kinds import Codes, Number
from rhythmlab.core.shown import line
from rhythmlab.core.tempo import Speed, Tempo, tempo_given
from rhythmlab.playing.limits import Limits, limits, limits_or
from rhythmlab.refusal import Refusal

ZONES = ("together", "flam", "open flam", "alternating")
_ZONES = "zones((16, 15), 100)"
_PULL = "pull((7, 4), 72)"


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


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Zones:
    """The zone of every gap at a tempo.

    Attributes
    ----------
    gaps : Gaps
        What was measured.
    tempo : Tempo or number
        The speed; a number is beats a minute of home.
    codes : numpy.ndarray
        int8, shape (strokes,): index into `ZONES`.
    flam_ms, order_ms : Fraction
        Widest flam, and narrowest gap whose order can be heard, in milliseconds.
    flam_ticks : int
        Widest gap in ticks that is still a flam at this tempo.
    """

    gaps: Gaps
    tempo: Tempo
    codes: Codes
    flam_ms: Fraction
    order_ms: Fraction
    flam_ticks: int

    def __repr__(self) -> str:
        p = self.gaps.polyrhythm
        many = [run.strokes > 1 and run.zone.endswith("flam") for run in self.runs]
        parts = [
            f"{run.strokes} {run.zone}{'s' * more} {run.side}".strip()
            for run, more in zip(self.runs, many, strict=True)
        ]
        of, home = p.pulses[self.gaps.of], p.pulses[self.gaps.against]
        return line(f"Zones(of the {of} against the {home}, {self.tempo}: {', '.join(parts)})")

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


@public(_ZONES, "limits", gaps="what", bounds="limits")
def zones(
    what: Gaps | Rhythm,
    tempo: Speed,
    *,
    of: int | None = None,
    against: int | None = None,
    limits: Limits | None = None,
) -> Zones:
    """Say how each gap is heard at a tempo.

    Parameters
    ----------
    what : Gaps, or Polyrhythm, Cycle or pair such as (7, 4)
        From `phase_gaps`, or the pulses whose gaps are measured.
    tempo : Tempo or number
        The speed; a number is beats a minute of the pulse measured from.
    of, against : int, optional
        Indices of the pulse measured and of the one it is measured from; 0 and 1 when left out.
    limits : Limits, optional
        The limits to use; `limits()` when left out.

    Returns
    -------
    Zones
        A gap of at most the limit ``flam`` is a flam.  A gap within half a tick, or within a sixteenth
        of the beat, of exactly midway is alternating (a choice made here, no source).

    Examples
    --------
    >>> zones((16, 15), 100).counts
    {'together': 1, 'flam': 2, 'open flam': 10, 'alternating': 3}
    """
    if not isinstance(what, Gaps):
        gaps = phase_gaps(polyrhythm(what, "what", _ZONES), of, against)
    elif of is not None or against is not None:
        raise Refusal("of= and against= are given, and the gaps say them already", _ZONES)
    else:
        gaps = what
    tempo = tempo_given(tempo, gaps.polyrhythm, gaps.against, _ZONES)
    rows = limits_or(limits, f"{_ZONES[:-1]}, limits=limits(flam=30))")
    long_work.say(f"The zones of {len(gaps):,} gaps", megabytes=len(gaps) * 26 / 1e6)
    flam_ms, order_ms = rows["flam"].value, rows["order"].value
    tick_ms = 1000 * tempo.tick_seconds(gaps.polyrhythm)
    flam_ticks = int(min(flam_ms / tick_ms, Fraction(gaps.step)))
    size = np.abs(gaps.ticks)
    codes = np.where(size == 0, 0, np.where(size <= flam_ticks, 1, 2)).astype(np.int8)
    codes[(size >= math.ceil(alternating_from(gaps.step))) & (size > 0)] = 3
    codes.flags.writeable = False
    return Zones(gaps, tempo, codes, flam_ms, order_ms, flam_ticks)


def alternating_from(step: int) -> Fraction:
    """Return the smallest gap, in ticks, that counts as alternating, for a beat of `step` ticks."""
    return Fraction(step, 2) - max(Fraction(1, 2), Fraction(step, 16))


@public("flams_from((16, 15))", p="what", home="against")
def flams_from(
    what: Rhythm, of: int | None = None, against: int | None = None, flam_ms: Number | None = None
) -> Fraction | None:
    """Return the tempo from which the narrowest gap is a flam.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.
    of, against : int, optional
        Indices of the moving pulse and of home; 0 and 1 when left out.
    flam_ms : Fraction, optional
        Widest flam in milliseconds; the limit ``flam`` when left out.

    Returns
    -------
    Fraction or None
        Beats a minute of home, exact; ``None`` where the pair has no gap that could be a flam, since
        its strokes are either together or alternate.

    Examples
    --------
    >>> flams_from((16, 15))
    Fraction(375, 4)
    >>> flams_from((3, 2)) is None
    True
    """
    example = "flams_from((16, 15))"
    p = polyrhythm(what, "what", example)
    of, home = two(p, of, against)
    if flam_ms is None:
        flam_ms = limits()["flam"].value
    flam_ms = positive(flam_ms, "flam_ms", f"{example[:-1]}, flam_ms=30)")
    narrowest = math.gcd(p.step(of), p.step(home))
    step = p.step(home)
    if narrowest >= alternating_from(step):
        return None
    return Fraction(60_000 * narrowest, step) / flam_ms


@dataclass(frozen=True, slots=True, repr=False)
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

    def __repr__(self) -> str:
        if self.low is None or self.high is None:
            return f"Pull(neither: pulses {self.faster} and {self.slower} are too alike to differ)"
        now = "neither here" if self.pulse is None else f"pulse {self.pulse} here"
        ends = f"pulse {self.faster} below {self.low:.1f} bpm, pulse {self.slower} above {self.high:.1f}"
        return f"Pull({now}; {ends})"


@public("changeover((7, 4))", "limits", p="what", faster="of", slower="against", bounds="limits")
def changeover(
    what: Rhythm, of: int | None = None, against: int | None = None, *, limits: Limits | None = None
) -> tuple[float, float]:
    """Return the band of tempos where the pull of the beat changes from one pulse to another.

    The change comes where both periods are equally far, as a ratio, from the preferred period; it is a
    band because the published centres differ.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.
    of, against : int, optional
        Indices of the two pulses; 0 and 1 when left out.
    limits : Limits, optional
        The limits to use.

    Returns
    -------
    low, high : float
        Beats a minute of the slower pulse: below `low` the faster tends to pull, above `high` the slower.

    Examples
    --------
    >>> [round(bpm) for bpm in changeover((7, 4))]
    [65, 91]
    """
    example = "changeover((7, 4))"
    p = polyrhythm(what, "what", example)
    faster, slower = sorted(two(p, of, against), key=lambda pulse: -p.pulses[pulse])
    preferred = limits_or(limits, f"{example[:-1]}, limits=limits(beat_preferred=550))")["beat_preferred"]
    share = math.sqrt(p.step(faster) / p.step(slower))
    return 60_000 / float(preferred.high) * share, 60_000 / float(preferred.low) * share


@public(_PULL, "of against", "limits", p="what", pulses="of against", bounds="limits")
def pull(
    what: Rhythm,
    tempo: Speed,
    *,
    of: int | None = None,
    against: int | None = None,
    limits: Limits | None = None,
) -> Pull:
    """Say which of two pulses tends to pull as the beat, other things equal.

    Loudness, pitch and habit can turn it round: it is a tendency.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.
    tempo : Tempo or number
        The speed; a number is beats a minute of home.
    of, against : int, optional
        Indices of the two pulses to compare; 0 and 1 when left out.
    limits : Limits, optional
        The limits to use.

    Returns
    -------
    Pull
        Near-equal pulses (steps within an eighth of the faster one's, a choice made here) do not differ.

    References
    ----------
    London 2012 (preferred beat of 500 to 700 ms); van Noorden & Moelants 1999 (resonance).

    Examples
    --------
    >>> pull((7, 4), 50).pulse
    0
    >>> pull((7, 4), 72).pulse is None      # inside the band
    True
    """
    p, home = counted(what, None, "what", _PULL)
    i, j = two(p, of, against)
    tempo = tempo_given(tempo, p, home, _PULL)
    limits = limits_or(limits, f"{_PULL[:-1]}, limits=limits(beat_preferred=550))")
    faster, slower = sorted((i, j), key=lambda pulse: -p.pulses[pulse])
    if 8 * (p.step(slower) - p.step(faster)) <= p.step(faster):
        return Pull(None, None, None, faster, slower)
    low, high = changeover(p, faster, slower, limits=limits)
    bpm = float(tempo.bpm_of(p, slower))
    pulse = faster if bpm < low else slower if bpm > high else None
    said = float(tempo.bpm / tempo.bpm_of(p, slower))
    return Pull(pulse, low * said, high * said, faster, slower)

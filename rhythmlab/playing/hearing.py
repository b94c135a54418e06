"""How a gap is heard and played at a tempo, and which pulse pulls as the beat; in values and in sentences."""

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from rhythmlab.core import long_work
from rhythmlab.core.check import positive
from rhythmlab.core.display import InNotebook, line
from rhythmlab.core.feel import Feel, Place
from rhythmlab.core.gaps import Gaps, landmarks, phase_gaps
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm, as_polyrhythm, polyrhythm_and_home, pulse_indices
from rhythmlab.core.tempo import Speed, Tempo, tempo_given
from rhythmlab.core.types import Codes, Number
from rhythmlab.playing.limits import Limits, limits, limits_or
from rhythmlab.refusal import Refusal
from rhythmlab.text import counts, descriptions, numbers, sentences
from rhythmlab.text.descriptions import about_bpm
from rhythmlab.text.sentences import say

ZONES = ("together", "flam", "open flam", "apart", "alternating")
#: From this number up two neighbours are seen as their gap cycle, as 8 against 7 (a choice made here).
SEEN_AS_GAPS = 8
#: What the other pulse does at a beat of home that is so many quarters of its step after its last stroke.
_BETWEEN = {3: "after", 2: "midway", 1: "before"}
_ZONES = "playing.zones((16, 15), 100)"
_PULL = "playing.pull((7, 4), 72)"


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
class Zones(InNotebook):
    """The zone of every gap at a tempo.

    Attributes
    ----------
    gaps : Gaps
        What was measured.
    tempo : Tempo or number
        The speed; a number is beats a minute of home.
    codes : numpy.ndarray
        int8, shape (strokes,): index into `ZONES`.
    flam_ms, order_ms, apart_ms : Fraction
        Widest flam, narrowest gap whose order can be heard, and widest open flam, in milliseconds.
    flam_ticks : int
        Widest gap in ticks that is still a flam at this tempo.
    """

    gaps: Gaps
    tempo: Tempo
    codes: Codes
    flam_ms: Fraction
    order_ms: Fraction
    apart_ms: Fraction
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
        return dict(zip(ZONES, np.bincount(self.codes, minlength=len(ZONES)).tolist(), strict=True))

    @property
    def runs(self) -> tuple[Run, ...]:
        """The zones in the order they are played."""
        sides = np.where(self.codes == ZONES.index("alternating"), 0, np.sign(self.gaps.ticks)).astype(
            np.int8
        )
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
        A gap of at most the limit ``flam`` is a flam; wider, it is an open flam as far as strokes come too
        soon after each other to be followed, the limit ``part_heard``, and from there two strokes apart (a
        choice made here: no source was found for where an open flam ends).  A gap within half a tick, or
        within a sixteenth of the beat, of exactly midway is alternating (a choice made here, no source).

    Examples
    --------
    >>> zones((16, 15), 100).counts
    {'together': 1, 'flam': 2, 'open flam': 2, 'apart': 8, 'alternating': 3}
    """
    if not isinstance(what, Gaps):
        gaps = phase_gaps(as_polyrhythm(what, "what", _ZONES), of, against)
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
    apart_ms = max(rows["part_heard"].value, flam_ms)
    codes[size >= math.ceil(min(apart_ms / tick_ms, Fraction(gaps.step + 1)))] = 3
    codes[(codes == 3) & (size <= flam_ticks)] = 1  # where both limits are one
    codes[(size >= math.ceil(alternating_from(gaps.step))) & (size > 0)] = ZONES.index("alternating")
    codes.flags.writeable = False
    return Zones(gaps, tempo, codes, flam_ms, order_ms, apart_ms, flam_ticks)


def zones_text(z: Zones) -> str:
    """Say how the gaps are heard, zone by zone, and from which tempo they flam where they do not here.

    Examples
    --------
    >>> gaps = phase_gaps((16, 15), of=0, against=1)
    >>> zones_text(zones(gaps, Tempo(100, pulse=1)))
    'At 100 bpm of the 15, one tick is 37.5 ms and the 16 plays: 1 together, 1 flam before, 1 open flam \
before, 4 apart before, 3 alternating, 4 apart after, 1 open flam after, 1 flam after.'
    """
    gaps, p = z.gaps, z.gaps.polyrhythm
    home, moving = descriptions.pulse_name(p, gaps.against), descriptions.pulse_name(p, gaps.of)
    bpm = z.tempo.bpm_of(p, gaps.against)
    tick_ms = numbers.number(1000 * z.tempo.tick_seconds(p), 1)
    runs = z.runs
    if len(runs) > 9:
        parts = [_some_strokes(zone, count) for zone, count in z.counts.items() if count]
    else:
        parts = [_run_text(run) for run in runs]
    heard = ", ".join(parts)
    text = say("heard.zones", bpm=about_bpm(bpm), home=home, ms=tick_ms, moving=moving, zones=heard)
    start = flams_from(p, gaps.of, gaps.against, z.flam_ms)
    narrowest_ms = 1000 * z.tempo.tick_seconds(p) * math.gcd(p.step(gaps.of), gaps.step)
    narrowest = numbers.number(narrowest_ms, 1)
    if start is not None and bpm < start:
        return sentences.sentences(
            text, say("heard.open", ms=narrowest, bpm=numbers.number(math.ceil(start)), home=home)
        )
    if start is not None and narrowest_ms < z.order_ms:
        return sentences.sentences(
            text, say("heard.no_order", ms=narrowest, least=numbers.number(z.order_ms))
        )
    return text


def _some_strokes(zone: str, count: int) -> str:
    return numbers.plural(count, zone) if zone in ("flam", "open flam") else f"{count} {zone}"


def _run_text(run: Run) -> str:
    strokes = _some_strokes(run.zone, run.strokes)
    return f"{strokes} {run.side}" if run.side else strokes


@public("playing.flams_from((16, 15))", p="what", home="against")
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
    example = "playing.flams_from((16, 15))"
    p = as_polyrhythm(what, "what", example)
    of, home = pulse_indices(p, of, against)
    if flam_ms is None:
        flam_ms = limits()["flam"].value
    flam_ms = positive(flam_ms, "flam_ms", f"{example[:-1]}, flam_ms=30)")
    narrowest = math.gcd(p.step(of), p.step(home))
    step = p.step(home)
    if narrowest >= alternating_from(step):
        return None
    return Fraction(60_000 * narrowest, step) / flam_ms


def alternating_from(step: int) -> Fraction:
    """Return the smallest gap, in ticks, that counts as alternating, for a beat of `step` ticks."""
    return Fraction(step, 2) - max(Fraction(1, 2), Fraction(step, 16))


@dataclass(frozen=True, slots=True, repr=False)
class Pull(InNotebook):
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
    p, home = polyrhythm_and_home(what, None, "what", _PULL)
    i, j = pulse_indices(p, of, against)
    tempo = tempo_given(tempo, p, home, _PULL)
    limits = limits_or(limits, f"{_PULL[:-1]}, limits=limits(beat_preferred=550))")
    faster, slower = sorted((i, j), key=lambda pulse: -p.pulses[pulse])
    if 8 * (p.step(slower) - p.step(faster)) <= p.step(faster):
        return Pull(None, None, None, faster, slower)
    low, high = changeover(p, faster, slower, limits=limits)
    bpm = float(tempo.bpm_of(p, slower))
    pulse = faster if bpm < low else slower if bpm > high else None
    share = float(tempo.bpm / tempo.bpm_of(p, slower))  # of the pulse of the tempo
    return Pull(pulse, low * share, high * share, faster, slower)


@public("playing.changeover((7, 4))", "limits", p="what", faster="of", slower="against", bounds="limits")
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
    example = "playing.changeover((7, 4))"
    p = as_polyrhythm(what, "what", example)
    faster, slower = sorted(pulse_indices(p, of, against), key=lambda pulse: -p.pulses[pulse])
    preferred = limits_or(limits, f"{example[:-1]}, limits=limits(beat_preferred=550))")["beat_preferred"]
    share = math.sqrt(p.step(faster) / p.step(slower))
    return 60_000 / float(preferred.high) * share, 60_000 / float(preferred.low) * share


def pull_text(p: Polyrhythm, tempo: Tempo, pulses: tuple[int, int] = (0, 1)) -> str:
    """Say which of two pulses tends to pull as the beat, and where it changes over.

    Examples
    --------
    >>> pull_text(Polyrhythm(7, 4), Tempo(50, pulse=1))
    'Other things equal, the 7 tends to pull as the beat here; from about 65 to 91 bpm of the 4 it \
changes over, and faster than that the 4 tends to pull.'
    """
    found = pull(p, tempo, of=pulses[0], against=pulses[1])
    faster, slower = (descriptions.pulse_name(p, i) for i in (found.faster, found.slower))
    if found.low is None or found.high is None:
        return say("pull.alike", faster=sentences.capital(faster), slower=slower)
    band = say(
        "pull.band",
        low=f"{found.low:.0f}",
        high=f"{found.high:.0f}",
        pulse=say("pull.beat") if tempo.pulse is None else descriptions.pulse_name(p, tempo.pulse),
    )
    if found.pulse is None:
        return say("pull.inside", band=band, faster=faster, slower=slower)
    if found.pulse == found.faster:
        return say("pull.faster", faster=faster, band=band, slower=slower)
    return say("pull.slower", faster=faster, band=band, slower=slower)


def part_text(feel: Feel, tempo: Tempo, limits: Limits | None = None) -> str:
    """Say how long one part of a beat lasts, and whether it is too fast to count.

    Parts of 2, 3 or 4 to a beat are held against the limit ``part_heard``, five and more against
    ``part_uneven``; both are published for other tasks than counting aloud, so it is a rule of thumb.

    Examples
    --------
    >>> part_text(Feel(Polyrhythm(7, 4), home=0), Tempo(126, pulse=0))
    'Counting the 4 from the 7 takes 4 parts to a beat, 119 ms each.'
    """
    p, rows = feel.polyrhythm, limits_or(limits)
    said = []
    for i in range(len(p.pulses)):
        parts = feel.parts(i)
        if i == feel.home or parts == 1:
            continue
        part_ms = 1000 * tempo.tick_seconds(p) * feel.beat_ticks / parts
        even = parts <= 4
        least = rows["part_heard"].value if even else 1000 / rows["part_uneven"].value
        names = descriptions.pulse_name(p, i), descriptions.pulse_name(p, feel.home)
        takes = say("part.takes", pulse=names[0], home=names[1], parts=parts, ms=numbers.number(part_ms, 0))
        if part_ms >= least:
            said.append(say("part.counted", takes=takes))
        elif even:
            said.append(say("part.hard", takes=takes, ms=numbers.number(least, 0)))
        else:
            said.append(say("part.hard_uneven", takes=takes, ms=numbers.number(least, 0)))
    return " ".join(said)


def beat_text(feel: Feel, tempo: Tempo, limits: Limits | None = None) -> str:
    """Say that home is too fast or too slow to be felt as a beat, where it is.

    Examples
    --------
    >>> beat_text(Feel(Polyrhythm(7, 4), home=0), Tempo(350, pulse=0))
    'The 7 at 350 bpm is faster than any pulse felt as a beat (about 300 bpm).'
    """
    felt = limits_or(limits)["beat"]
    bpm = tempo.bpm_of(feel.polyrhythm, feel.home)
    name = sentences.capital(descriptions.pulse_name(feel.polyrhythm, feel.home))
    fastest, slowest = 60_000 / felt.low, 60_000 / felt.high
    if bpm > fastest:
        return say("beat.too_fast", pulse=name, bpm=about_bpm(bpm), bound=numbers.number(fastest))
    if bpm < slowest:
        return say("beat.too_slow", pulse=name, bpm=about_bpm(bpm), bound=numbers.number(slowest))
    return ""


def meet_text(p: Polyrhythm, tempo: Tempo, pulses: tuple[int, int], limits: Limits | None = None) -> str:
    """Say when two pulses next meet, and whether that is too long to be felt as one bar.

    Examples
    --------
    >>> meet_text(Polyrhythm(16, 15), Tempo(100, pulse=1), (0, 1))
    'The pulses meet every 9 seconds, longer than anything felt as one bar (about 5.5 seconds): go by \
landmarks.'
    """
    every = tempo.tick_seconds(p) * p.meet(*pulses)
    bar = limits_or(limits)["bar_longest"].value / 1000
    if every > bar:
        return say("meet.too_long", seconds=numbers.seconds(every), longest=numbers.seconds(bar))
    return say("meet.every", seconds=numbers.seconds(every))


@dataclass(frozen=True, slots=True)
class Landmark:
    """A place in a long cycle that is known by ear, and where it is.

    Attributes
    ----------
    tick : int
        Where it is.
    quarters : int
        1, 2 or 3: the quarters of a step from the beat to the stroke of the other pulse (the e, the & or
        the a of home), or, of `between`, from its last stroke to the beat.
    between : bool
        Whether it is a beat of home between two strokes of the other pulse, in place of a stroke of the
        other pulse between two beats of home.
    """

    tick: int
    quarters: int
    between: bool


def ear_landmarks(feel: Feel, pulse: int) -> tuple[Landmark, ...]:
    """Return the landmarks of a pulse against home: its strokes on the e, the & or the a of a beat.

    Neighbours from 8 against 7 up, counted from their even number, have none of these; their landmarks are
    the beats of home that lie a quarter, a half or three quarters of a step between two strokes.

    Examples
    --------
    >>> sixteen = Polyrhythm(16, 15)
    >>> ear_landmarks(Feel(sixteen, home=1), 0)[0]
    Landmark(tick=60, quarters=3, between=False)
    >>> ear_landmarks(Feel(sixteen, home=0), 1)[0]
    Landmark(tick=60, quarters=3, between=True)
    """
    p, home = feel.polyrhythm, feel.home
    found, step = landmarks(p, pulse, home), feel.beat_ticks
    between = not found and seen_as_gaps(p)
    if between:
        found, step = landmarks(p, home, pulse), p.step(pulse)
    return tuple(Landmark(tick, tick % step * 4 // step, between) for tick in found)


def seen_as_gaps(p: Polyrhythm) -> bool:
    """Whether two numbers, in lowest terms, are neighbours from 8 against 7 up.

    Examples
    --------
    >>> [seen_as_gaps(Polyrhythm(*pair)) for pair in ((7, 6), (8, 7), (64, 63), (16, 14))]
    [False, True, True, True]
    """
    few = sorted(p.reduced.pulses)
    return len(few) == 2 and few[1] - few[0] == 1 and few[1] >= SEEN_AS_GAPS


def landmark_name(feel: Feel, mark: Landmark) -> str:
    """Name a landmark in a few words, so that "the" can stand before it.

    Examples
    --------
    >>> feel = Feel(Polyrhythm(16, 15), home=0)
    >>> [landmark_name(feel, mark) for mark in ear_landmarks(feel, 1)]
    ['quarter after 5', 'exact midway on 9', 'quarter before 13']
    >>> [landmark_name(feel.flip(), mark) for mark in ear_landmarks(feel.flip(), 0)]
    ['a of 4', '& of 8', 'e of 12']
    """
    beat = mark.tick // feel.beat_ticks + 1
    if mark.between:
        early = "landmark.before" if mark.quarters == 1 else "landmark.after"
        return say("landmark.midway" if mark.quarters == 2 else early, beat=beat)
    return counts.place_name(Place(beat, mark.quarters + 1, 4))


def landmarks_text(feel: Feel, pulse: int) -> str:
    """Say where a pulse is known by ear: on the e, the & or the a of a beat, or where a beat is between.

    Examples
    --------
    >>> landmarks_text(Feel(Polyrhythm(16, 15), home=1), pulse=0)
    'Landmarks by ear: the 16 falls on a of 4, & of 8, e of 12.'
    >>> landmarks_text(Feel(Polyrhythm(16, 15), home=0), pulse=1)
    'Landmarks by ear: the 15 is a quarter of its step after beat 5 and before beat 13; beat 9 is exactly \
midway.'
    """
    marks, name = ear_landmarks(feel, pulse), descriptions.pulse_name(feel.polyrhythm, pulse)
    if not marks:
        return ""
    if not marks[0].between:
        places = numbers.some(landmark_name(feel, mark) for mark in marks)
        return say("room.landmarks", pulse=name, places=places)
    beats = {
        _BETWEEN[quarters]: _beats([m.tick // feel.beat_ticks + 1 for m in marks if m.quarters == quarters])
        for quarters in _BETWEEN
    }
    one = sum(mark.quarters == 2 for mark in marks) == 1
    if len({mark.quarters for mark in marks}) == 1:
        alone = "landmark.midway_alone.one" if one else "landmark.midway_alone.other"
        return say(alone, pulse=name, midway=beats["midway"])
    after = "landmark.after_first.one" if one else "landmark.after_first.other"
    before = "landmark.before_first.one" if one else "landmark.before_first.other"
    first = after if marks[0].quarters == 3 else before
    return say(first, pulse=name, after=beats["after"], midway=beats["midway"], before=beats["before"])


def _beats(beats: list[int]) -> str:
    """Name beats in a sentence.

    Examples
    --------
    >>> _beats([9]), _beats([5, 13])
    ('beat 9', 'beats 5, 13')
    """
    return say("landmark.beat" if len(beats) == 1 else "landmark.beats", beats=numbers.some(beats))

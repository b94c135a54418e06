"""Which way to learn a rhythm at a tempo: four ways, between which tempos each works, and why."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from itertools import pairwise

from rhythmlab.core.check import index, positive, short, whole
from rhythmlab.core.composite import composite
from rhythmlab.core.display import Printed
from rhythmlab.core.feel import Feel
from rhythmlab.core.gaps import NearRatio, near_ratios
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm, polyrhythm_and_home
from rhythmlab.core.tempo import Speed, Tempo, tempo_given
from rhythmlab.playing.hearing import flams_from
from rhythmlab.playing.learning import (
    Span,
    Step,
    bpm_text,
    count_steps,
    drift_steps,
    line_steps,
    ones_steps,
    tempo_text,
)
from rhythmlab.playing.limits import Limit, Limits, limits_or
from rhythmlab.refusal import Refusal
from rhythmlab.text import descriptions, numbers, sentences
from rhythmlab.text.sentences import say

LINE, COUNT, ONES, DRIFT = WAYS = ("learn the line", "count", "hold the ones", "follow the drift")
#: Most sounds from one to one that are learned as one line (own choice, no source).
LINE_SOUNDS = 12
#: A pair drifts where it takes at least so many groups from together to together (own choice, no source).
DRIFT_GROUPS = 5
#: Most sounds of a line that anyone would learn as one, and most pulses.
MOST_SOUNDS, MOST_PULSES = 1_000, 32
_EXAMPLE = "approach((7, 4), 72)"
_REASON = f"{_EXAMPLE}.recommended.causes[1]"
_WAY = f"{_EXAMPLE}.ways[0]"
_CHANGE = f"{_EXAMPLE}.changes[0]"


@public_class(_REASON, describe=f"{_REASON}.describe(of=False)", body=f"{_REASON}.body(of=False)")
@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """What was reckoned, the limit that it is held against, and the tempos that follow.

    What a kind of reason has no use for is left as it is.

    Attributes
    ----------
    kind : str
        What was reckoned, such as ``"apart"``: how close two sounds of the line are.
    limit : Limit or None
        What it is held against; ``None`` where that is no borrowed number.
    floor, ceiling : Fraction or None
        From which and up to which tempo the limit is kept, in beats a minute of home.
    at : Fraction or None
        Another tempo that it is about, such as the one from which the narrowest gap is a flam.
    ms : Fraction
        The time reckoned, in milliseconds.
    count, most : int
        The number reckoned, and the number that it is held against.
    moved : bool
        Whether that number is the reader's own.
    polyrhythm : Polyrhythm or None
        What is learned; ``None`` for bars, whose beat is no pulse.
    home, pulse : int
        Indices of the pulse that tempos are of, and of the pulse that it is about.
    ratio : NearRatio or None
        The simple ratio that two pulses slip around.
    limb : str
        Whose strokes they are.
    feet : bool
        Whether a limit of hands is taken for feet.
    """

    kind: str
    limit: Limit | None = None
    floor: Fraction | None = None
    ceiling: Fraction | None = None
    at: Fraction | None = None
    ms: Fraction = Fraction(0)
    count: int = 0
    most: int = 0
    moved: bool = False
    polyrhythm: Polyrhythm | None = None
    home: int = -1
    pulse: int = -1
    ratio: NearRatio | None = None
    limb: str = ""
    feet: bool = False

    @property
    def source(self) -> str:
        """Key of its source in ``data/sources.csv``; empty where the number is not borrowed."""
        return self.limit.source if self.limit is not None and self.limit.status != "moved" else ""

    def __str__(self) -> str:
        return self.describe()

    def describe(self, *, of: bool = True) -> str:
        """Say it as a sentence.

        Parameters
        ----------
        of : bool
            Whether each tempo is said with the pulse that it is of.

        Examples
        --------
        >>> reason = approach(Polyrhythm(7, 4), Tempo(72, pulse=1)).recommended.causes[1]
        >>> reason.kind, reason.limit.key, reason.floor
        ('once through', 'bar_longest', Fraction(480, 11))
        >>> reason.describe(of=False)
        'One time through takes 3.3 seconds; up to 5.5 seconds are felt as one bar (London 2012): \
from 43.6 bpm.'
        """
        if self.ratio is not None and self.polyrhythm is not None:
            return descriptions.slips(self.polyrhythm, self.ratio)
        why = self.body(of=of)
        if self.floor is not None and self.ceiling is not None:
            once = self.polyrhythm is None  # bars say the unit once
            low = bpm_text(self.floor) if once else self._tempo(self.floor, of)
            return say("end.from_up_to", why=why, floor=low, ceiling=self._tempo(self.ceiling, of))
        if self.floor is not None:
            return say("end.from", why=why, floor=self._tempo(self.floor, of))
        if self.ceiling is not None:
            return say("end.up_to", why=why, ceiling=self._tempo(self.ceiling, of))
        return say("end.none", why=why)

    def body(self, *, of: bool = True) -> str:
        """Say what was reckoned and the limit, without the tempos that follow and without a full stop.

        Examples
        --------
        >>> from rhythmlab.playing.limits import limits
        >>> Reason(kind="one hand", limit=limits()["hand_sustained"], ceiling=Fraction(90)).body()
        'One hand keeps up 167 ms (Fujii, Kudo, Ohtsuki & Oda 2009)'
        """
        if self.limit is None:
            return self._without_source()
        limit, source, time = self.limit, source_text(self.limit), ms_text(self.ms)
        value = "" if limit.number is None else numbers.number(limit.number)
        round_ = numbers.seconds(self.ms / 1000)
        match self.kind:
            case "once through":
                return say("why.once_through", time=round_, longest=_longest(limit), source=source)
            case "apart":
                return say("why.apart", time=time, limit=value, source=source)
            case "hand to hand":
                hand = "why.hand_two" if limit.key == "hand_two" else "why.hand_average"
                key = "why.hand_three" if limit.key == "hand_three" else hand
                return say(key, time=time, limit=value, source=source)
            case "parts":
                return self._parts(value, source, time)
            case "helps":
                return say("why.helps", limit=value, source=source, tempo=self._tempo(self.at, of))
            case "slow part":
                return say("why.slow_part", longest=_longest(limit), source=source)
            case "ones apart":
                return say("why.ones_apart", time=round_, longest=_longest(limit), source=source)
            case "ones strokes":
                strokes = numbers.plural(self.count, "stroke")
                return say("why.ones_strokes", strokes=strokes, most=value, source=source)
            case "ones hand":
                return say("why.ones_hand", time=time, limit=value, source=source)
            case "flam" if self.at is not None:
                tempo = self._tempo(self.at, of, 2)
                return say("why.open", time=time, limit=value, source=source, tempo=tempo)
            case "flam":
                return say("why.flams", time=time, limit=value, source=source)
            case "beat":
                shortest = numbers.seconds((limit.low or 0) / 1000)
                return say("why.beat", shortest=shortest, longest=_longest(limit), source=source)
            case "one hand":
                return say("why.one_hand", limit=value, source=source)
            case "landmarks":
                return say("why.landmarks", time=round_, longest=_longest(limit), source=source)
            case "bar":
                return say("why.bar", time=round_, longest=_longest(limit), source=source)
        return self._limb(limit, source)

    def _without_source(self) -> str:
        """Say what is held against a number that is not borrowed."""
        source = say("limit.own") if self.moved else say("limit.choice")
        p = self.polyrhythm
        if self.kind == "sounds":
            many = self.count > self.most and p is not None and len(p.pulses) > 2
            key = "why.at_least" if many else "why.few"
            return say(key, sounds=numbers.plural(self.count, "sound"), most=self.most, source=source)
        none = "why.not_two" if p is not None and len(p.pulses) > 2 else "why.no_ratio"
        return say(none, groups=self.most, source=source, pair="" if p is None else descriptions.pair(p))

    def _parts(self, value: str, source: str, time: str) -> str:
        pulse = sentences.capital(self._name(self.pulse))
        if self.count > 4:
            key = "why.uneven_parts"
            return say(key, pulse=pulse, parts=self.count, time=time, limit=value, source=source)
        if self.count > 1:
            return say("why.parts", pulse=pulse, parts=self.count, time=time, limit=value, source=source)
        return say("why.on_beats", pulse=pulse, time=time, limit=value, source=source)

    def _limb(self, limit: Limit, source: str) -> str:
        """Say how close the strokes of a limb are in bars."""
        if self.feet:
            source = say("limit.feet", source=source)
        hand = "why.limb_two" if limit.key == "hand_two" else "why.limb_four"
        key = "why.limb_three" if limit.key == "hand_three" else hand
        time, value = (numbers.number(ms, 0) for ms in (self.ms, limit.value))
        return say(key, limb=self.limb, time=time, limit=value, source=source)

    def _tempo(self, bpm: Fraction | None, of: bool, digits: int = 1) -> str:
        bpm = bpm or Fraction(0)
        if self.polyrhythm is None:
            return say("tempo.bpm", bpm=bpm_text(bpm, digits))
        return tempo_text(self.polyrhythm, self.home, bpm, digits, of=of)

    def _name(self, pulse: int) -> str:
        return "" if self.polyrhythm is None else descriptions.pulse_name(self.polyrhythm, pulse)


@public_class(
    _WAY,
    fits_at=f"{_WAY}.fits_at(72, 1)",
    floor_of=f"{_WAY}.floor_of(0)",
    ceiling_of=f"{_WAY}.ceiling_of(0)",
    verdict=f"{_WAY}.verdict(0)",
)
@dataclass(frozen=True, slots=True)
class Way:
    """A way to learn a rhythm, and the tempos between which it works.

    Attributes
    ----------
    name : str
        One of `WAYS`.
    polyrhythm : Polyrhythm
        What is learned.
    home : int
        Index of the pulse felt as the beat.
    bpm : Fraction
        The present tempo, beats a minute of home.
    floor, ceiling : Fraction or None
        Slowest and fastest tempo, beats a minute of home; ``None`` where nothing limits it.
    possible : bool
        Whether it works at any tempo at all.
    short : str
        What it comes to at the present tempo.
    causes : tuple of Reason
        What was reckoned, each with its limit and the tempos that follow.
    steps : tuple of Step
        What to practise, in order; empty where it works at no tempo.
    """

    name: str
    polyrhythm: Polyrhythm
    home: int
    bpm: Fraction
    floor: Fraction | None
    ceiling: Fraction | None
    possible: bool
    short: str
    causes: tuple[Reason, ...]
    steps: tuple[Step, ...]

    @property
    def reasons(self) -> tuple[str, ...]:
        """The causes as sentences, each with a number, its limit and the source."""
        return tuple(cause.describe() for cause in self.causes)

    @property
    def fits(self) -> bool:
        """Whether it works at the present tempo."""
        return self.fits_at(self.bpm)

    def fits_at(self, bpm: Fraction, pulse: int | None = None) -> bool:
        """Whether it works at a tempo, in beats a minute of a pulse; of home when left out."""
        example = "approach(Polyrhythm(7, 4), Tempo(72, pulse=1)).ways[0].fits_at(72)"
        asked = positive(bpm, "bpm", example) * self._share(self.home) / self._share(pulse)
        slow = self.floor is not None and asked < self.floor
        return self.possible and not slow and (self.ceiling is None or asked <= self.ceiling)

    def floor_of(self, pulse: int) -> Fraction | None:
        """Return the slowest tempo in beats a minute of a pulse."""
        share = self._share(pulse)
        return None if self.floor is None else self.floor * share / self._share(self.home)

    def ceiling_of(self, pulse: int) -> Fraction | None:
        """Return the fastest tempo in beats a minute of a pulse.

        Examples
        --------
        >>> approach((7, 4), 72).ways[1].ceiling_of(0)
        Fraction(90, 1)
        """
        share = self._share(pulse)
        return None if self.ceiling is None else self.ceiling * share / self._share(self.home)

    @property
    def label(self) -> str:
        """Its name; for counting, with the pulse counted from."""
        if self.name == COUNT:
            return say("way.count", pulse=descriptions.pulse_name(self.polyrhythm, self.home))
        return self.name

    @property
    def doing(self) -> str:
        """Its label as something that is done.

        Examples
        --------
        >>> [way.doing for way in approach(Polyrhythm(7, 4), Tempo(72, pulse=1)).ways[:2]]
        ['learning the line', 'counting from the 4']
        """
        match self.name:
            case "learn the line":
                return say("way.learning_the_line")
            case "hold the ones":
                return say("way.holding_the_ones")
            case "follow the drift":
                return say("way.following_the_drift")
        return say("way.counting", pulse=descriptions.pulse_name(self.polyrhythm, self.home))

    def verdict(self, pulse: int | None = None, *, of: bool = False) -> str:
        """Say whether it fits, or how far the tempo is from where it does, in bpm of a pulse.

        Parameters
        ----------
        pulse : int, optional
            Index of the pulse; home when left out.
        of : bool
            Whether the tempo is said with the pulse that it is of.

        Examples
        --------
        >>> [way.verdict() for way in approach((7, 4), 72).ways]
        ['fits', 'only up to 51.4 bpm', 'only from 133.3 bpm', 'at no tempo']
        """
        pulse = self.home if pulse is None else pulse
        if not self.possible:
            return say("way.at_no_tempo")
        if self.fits:
            return say("way.fits")
        floor, ceiling = self.floor_of(pulse), self.ceiling_of(pulse)
        if floor is not None and self.floor is not None and self.bpm < self.floor:
            return say("way.only_from", tempo=tempo_text(self.polyrhythm, pulse, floor, of=of))
        return say("way.only_up_to", tempo=tempo_text(self.polyrhythm, pulse, ceiling or Fraction(0), of=of))

    def describe(self) -> str:
        """Say it with all its reasons."""
        return sentences.sentences(f"{sentences.capital(self.label)}: {self.verdict()}.", *self.reasons)

    def _share(self, pulse: int | None) -> int:
        pulses = self.polyrhythm.pulses
        return pulses[self.home if pulse is None else index(pulse, len(pulses), "pulse", f"pulses {pulses}")]


@dataclass(frozen=True, slots=True)
class TempoRange:
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


@public_class(_CHANGE, describe=f"{_CHANGE}.describe(of=False)")
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

    def describe(self, *, of: bool = True) -> str:
        """Say it as a sentence; `of` is whether the tempo is said with the pulse that it is of."""
        tempo = tempo_text(self.polyrhythm, self.home, self.bpm, of=of)
        way = self.way.label if self.way else say("approach.nothing_fits")
        return say("approach.slower" if self.slower else "approach.faster", tempo=tempo, way=way)


@public_class(_EXAMPLE, lead=f"{_EXAMPLE}.lead(of=False)", changes_text=f"{_EXAMPLE}.changes_text(of=False)")
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
    ranges : tuple of TempoRange
        What is recommended over all tempos, slow to fast.
    recommended : Way
        The way to take; where none fits, the one whose tempos are nearest.
    """

    polyrhythm: Polyrhythm
    tempo: Tempo
    home: int
    ways: tuple[Way, ...]
    counts: tuple[Way, ...]
    ranges: tuple[TempoRange, ...]
    recommended: Way

    def __str__(self) -> str:
        steps = (f"{nth}. {step.text}" for nth, step in enumerate(self.recommended.steps, 1))
        return "\n".join([self.describe(), *steps])

    @property
    def why(self) -> str:
        """The way, what else fits, and why the others do not, in sentences."""
        best, home = self.recommended, self.home
        others = (way for way in self.counts if way.home != home)
        rest = [way for way in (*self.ways, *others) if not _same_way(way, best)]
        also = "; or ".join(say("approach.way", way=way.label, short=way.short) for way in rest if way.fits)
        out = ", ".join(
            say("approach.out", doing=way.doing, verdict=way.verdict(home, of=True))
            for way in self.ways
            if way in rest and not way.fits
        )
        return sentences.sentences(
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
            return say("approach.lead", way=sentences.capital(best.label), short=best.short)
        now = tempo_text(self.polyrhythm, self.home, self.ways[0].bpm)
        return say("approach.none", tempo=now, way=best.label, verdict=best.verdict(self.home, of=of))

    @property
    def changes(self) -> tuple[Change, ...]:
        """The nearest slower and the nearest faster tempo at which it would be another way, if any."""
        now, best = self.tempo.bpm_of(self.polyrhythm, self.home), self.recommended
        others = [one for one in self.ranges if not _same_way(one.way, best if best.fits else None)]
        slower = [(True, one.high, one.way) for one in others if one.high and one.high <= now]
        faster = [(False, one.low, one.way) for one in others if one.low and one.low >= now]
        return tuple(Change(self.polyrhythm, self.home, *one) for one in (*slower[-1:], *faster[:1]))

    @property
    def would_change(self) -> str:
        """At which slower and which faster tempo it would be another way, in sentences."""
        return self.changes_text()

    def changes_text(self, *, of: bool = True) -> str:
        """Say what would change it; `of` is whether tempos are said with the pulse that they are of."""
        return " ".join(change.describe(of=of) for change in self.changes) or say("approach.no_change")

    def describe(self) -> str:
        """Say what to do, why, and what would change it.

        Examples
        --------
        >>> print(approach((7, 4), 72).would_change)
        Slower than 43.6 bpm of the 4: count from the 4. Faster than 133.3 bpm of the 4: hold the ones.
        """
        return sentences.sentences(self.why, self.would_change)


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
    p, home = polyrhythm_and_home(what, home, "what", _EXAMPLE)
    if len(p.pulses) > MOST_PULSES:
        raise Refusal(
            f"{short(p)} has {len(p.pulses)} pulses, more than the {MOST_PULSES} that a way is sought for",
            _EXAMPLE,
        )
    tempo = tempo_given(tempo, p, home, _EXAMPLE)
    rows = limits_or(limits, f"{_EXAMPLE[:-1]}, limits=limits(part_heard=120))")
    most = whole(line_sounds, "line_sounds", f"{_EXAMPLE[:-1]}, line_sounds=12)", most=MOST_SOUNDS)
    found = _Ways(p, tempo, rows, most)
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

    def ranges(self) -> tuple[TempoRange, ...]:
        """Return what is recommended over all tempos."""
        home = self.ways[0].home
        possible = [way for way in (*self.ways, *self.others) if way.possible]
        ends = {end for way in possible for end in (way.floor_of(home), way.ceiling_of(home))}
        edges = sorted(end for end in {*ends, self.crowded, self.helps} if end is not None)
        found: list[TempoRange] = []
        for low, high in pairwise([None, *edges, None]):
            way = self.best(_tempo_between(low, high))
            if found and _same_way(found[-1].way, way):
                found[-1] = TempoRange(found[-1].low, high, way)
            else:
                found.append(TempoRange(low, high, way))
        return tuple(found)


def _tempo_between(low: Fraction | None, high: Fraction | None) -> Fraction:
    """Return a tempo between two, one of which may be missing."""
    if low is None:
        return Fraction(1) if high is None else high / 2
    return low + 1 if high is None else (low + high) / 2


def _same_way(one: Way | None, other: Way | None) -> bool:
    return (one and (one.name, one.home)) == (other and (other.name, other.home))


class _Ways:
    """The four ways of a rhythm at a tempo, counted from any home."""

    def __init__(self, p: Polyrhythm, tempo: Tempo, rows: Limits, most: int) -> None:
        self.p, self.tempo, self.rows, self.most = p, tempo, rows, most
        self.again = p.meet()
        self.tick_ms = 1000 * tempo.tick_seconds(p)
        self.strokes = max(p.reduced.pulses)  # of the fastest pulse, from one to one
        if len(p.pulses) == 2:
            self.sounds = sum(p.reduced.pulses) - 1
        else:  # at least so many, where there are too many for one line
            self.sounds = self.strokes if self.strokes > most else len(composite(p, stop=self.again))
        self.line_ticks: list[int] = []
        if self.sounds <= most:
            self.line_ticks = composite(p, stop=self.again).intervals.tolist()

    def bpm_at(self, home: int, ticks: int | Fraction, ms: Fraction) -> Fraction:
        """Beats a minute of home at which so many ticks last so many milliseconds."""
        return Fraction(60_000, self.p.step(home)) * ticks / ms

    def _way(
        self,
        name: str,
        home: int,
        ends: tuple[Fraction | None, Fraction | None],
        possible: bool,
        short: str,
        causes: Iterable[Reason],
        steps: Callable[[Span], tuple[Step, ...]],
    ) -> Way:
        floor, ceiling = ends
        bpm = self.tempo.bpm_of(self.p, home)
        possible = possible and (floor is None or ceiling is None or floor <= ceiling)
        practice = steps(Span(floor, ceiling, bpm)) if possible else ()
        return Way(name, self.p, home, bpm, floor, ceiling, possible, short, tuple(causes), practice)

    def _bpm_text(self, home: int, bpm: Fraction, digits: int = 1) -> str:
        return tempo_text(self.p, home, bpm, digits)

    def _time_text(self, ticks: int | Fraction) -> str:
        return ms_text(self.tick_ms * ticks)

    def _most_parts(self, home: int) -> int:
        feel = Feel(self.p, home)
        return max(feel.parts(i) for i in range(len(self.p.pulses)) if i != home)

    def helps(self, home: int) -> Fraction:
        """Fastest tempo at which counting every part makes it steadier."""
        part = Fraction(self.p.step(home), self._most_parts(home))
        return self.bpm_at(home, part, self.rows["part_helps"].value)

    def crowded(self, home: int) -> Fraction | None:
        """Fastest tempo at which the line can be followed sound by sound."""
        closest = min(self.line_ticks, default=None)
        return None if closest is None else self.bpm_at(home, closest, self.rows["part_heard"].value)

    def line(self, home: int) -> Way:
        """Learn the line: few enough sounds, inside one bar, each heard and each playable hand to hand."""
        bar, flam = self.rows["bar_longest"], self.rows["flam"]
        why = partial(Reason, polyrhythm=self.p, home=home)
        few = bool(self.line_ticks)
        floor, ceiling = self.bpm_at(home, self.again, bar.value), None
        moved = self.most != LINE_SOUNDS
        causes = [
            why(kind="sounds", count=self.sounds, most=self.most, moved=moved),
            why(kind="once through", limit=bar, ms=self.tick_ms * self.again, floor=floor),
        ]
        sounds = numbers.plural(self.sounds, "sound")
        takes = numbers.seconds(self.tick_ms * self.again / 1000)
        if few:
            closest = min(self.line_ticks)
            apart, hands = self.bpm_at(home, closest, flam.value), self._hand_to_hand(home)
            ceiling = apart if hands.ceiling is None else min(apart, hands.ceiling)
            short = say("short.line", sounds=sounds, time=takes, closest=self._time_text(closest))
            causes += [why(kind="apart", limit=flam, ms=self.tick_ms * closest, ceiling=apart), hands]
        else:
            key = "short.long_line" if len(self.p.pulses) == 2 else "short.longer_line"
            short = say(key, sounds=sounds, time=takes)
        slow = self.bpm_at(home, min(self.line_ticks, default=1), self.rows["part_helps"].value)
        return self._way(
            LINE, home, (floor, ceiling), few, short, causes, lambda s: line_steps(self.p, home, s, slow)
        )

    def _hand_to_hand(self, home: int) -> Reason:
        """Return what one hand must do where the line is played hand to hand: the tightest of three rules."""
        round_again = self.line_ticks * (1 + -(-4 // len(self.line_ticks)))

        def least(count: int) -> int:
            return min(sum(round_again[i : i + count]) for i in range(len(self.line_ticks)))

        rules = (
            (Fraction(least(2)), self.rows["hand_two"]),
            (Fraction(least(4), 2), self.rows["hand_three"]),
            (Fraction(2 * self.again, self.sounds), self.rows["hand_sustained"]),
        )
        found = [(self.bpm_at(home, ticks, limit.value), ticks, limit) for ticks, limit in rules]
        bpm, ticks, limit = min(found, key=lambda rule: rule[0])
        return Reason(
            kind="hand to hand",
            limit=limit,
            ms=self.tick_ms * ticks,
            ceiling=bpm,
            polyrhythm=self.p,
            home=home,
        )

    def count(self, home: int) -> Way:
        """Count the parts of a home: none too fast to count, none slower than a beat."""
        p, beat, rows = self.p, self.rows["beat"], self.rows
        feel, parts = Feel(p, home), self._most_parts(home)
        why = partial(Reason, polyrhythm=p, home=home)
        causes, ends = [], []
        for i in range(len(p.pulses)):
            if i == home:
                continue
            share = feel.parts(i)
            limit = rows["part_heard" if share <= 4 else "part_uneven"]
            part, ms = Fraction(p.step(home), share), limit.value if share <= 4 else 1000 / limit.value
            ends.append(self.bpm_at(home, part, ms))
            causes.append(
                why(kind="parts", limit=limit, pulse=i, count=share, ms=self.tick_ms * part, ceiling=ends[-1])
            )
        helps, floor = self.helps(home), Fraction(60_000, parts) / beat.high
        causes += [
            why(kind="helps", limit=rows["part_helps"], at=helps),
            why(kind="slow part", limit=beat, floor=floor),
        ]
        longest, now = (
            self._time_text(Fraction(p.step(home), parts)),
            self._bpm_text(home, self.tempo.bpm_of(p, home)),
        )
        return self._way(
            COUNT,
            home,
            (floor, min(ends)),
            True,
            _count_text(parts, longest, now),
            causes,
            lambda s: count_steps(p, home, s, helps),
        )

    def ones(self, home: int) -> Way:
        """Hold the ones: near enough together, small numbers between them, hands fast enough."""
        longest, most, hand = (self.rows[key] for key in ("ones_longest", "ones_numbers", "hand_sustained"))
        apart, fast = self.tick_ms * self.again, Fraction(self.again, self.strokes)
        floor, ceiling = (
            self.bpm_at(home, self.again, longest.value),
            self.bpm_at(home, fast, hand.value),
        )
        why = partial(Reason, polyrhythm=self.p, home=home)
        causes = (
            why(kind="ones apart", limit=longest, ms=apart, floor=floor),
            why(kind="ones strokes", limit=most, count=self.strokes),
            why(kind="ones hand", limit=hand, ms=self.tick_ms * fast, ceiling=ceiling),
        )
        short = say(
            "short.ones", time=numbers.seconds(apart / 1000), strokes=numbers.plural(self.strokes, "stroke")
        )
        return self._way(
            ONES,
            home,
            (floor, ceiling),
            self.strokes <= most.value,
            short,
            causes,
            lambda s: ones_steps(self.p, home, s),
        )

    def drift(self, home: int) -> Way:
        """Follow the drift: slow from together to together, home felt as a beat, hands fast enough."""
        p, beat, hand = self.p, self.rows["beat"], self.rows["hand_sustained"]
        ratio, why = drifts_around(p), partial(Reason, polyrhythm=p, home=home)
        if ratio is None:
            none = why(kind="groups", most=DRIFT_GROUPS)
            nothing = say("short.no_drift")
            return self._way(DRIFT, home, (None, None), False, nothing, (none,), lambda s: ())
        slow = 60_000 / beat.high
        fastest = self.bpm_at(home, Fraction(self.again, self.strokes), hand.value)
        felt = 60_000 / beat.low
        every = self.tick_ms * p.ticks / ratio.opens
        flam, bar = self.rows["flam"], self.rows["bar_longest"]
        flams = flams_from(p, 1 - home, home, flam.value)
        if flams is not None and self.tempo.bpm_of(p, home) >= flams:
            flams = None  # it does so here
        causes = [
            why(kind="slips", ratio=ratio),
            why(kind="flam", limit=flam, ms=self.tick_ms, at=flams),
            why(kind="beat", limit=beat, floor=slow, ceiling=felt),
            why(kind="one hand", limit=hand, ceiling=fastest),
        ]
        if every > bar.value:
            causes.append(why(kind="landmarks", limit=bar, ms=every))
        slip, round_ = self._time_text(abs(ratio.slip)), numbers.seconds(every / 1000)
        if ratio.h == ratio.k == 1:
            lead = say("short.drift", slip=slip, time=round_)
        else:
            lead = say("short.drift_around", slip=slip, h=ratio.h, k=ratio.k, time=round_)
        if flams is None:
            short = say("short.flams", lead=lead)
        else:
            short = say("short.open", lead=lead, tempo=self._bpm_text(home, flams, 2))
        return self._way(
            DRIFT,
            home,
            (slow, min(felt, fastest)),
            True,
            short,
            causes,
            lambda s: drift_steps(p, home, s, ratio),
        )


def _count_text(parts: int, part: str, tempo: str) -> str:
    """Say what counting comes to: the parts of a beat by their note, where they have one."""
    match parts:
        case 1:
            return say("short.beats", tempo=tempo)
        case 2:
            return say("short.eighths", part=part, tempo=tempo)
        case 3:
            return say("short.triplets", part=part, tempo=tempo)
        case 4:
            return say("short.sixteenths", part=part, tempo=tempo)
    return say("short.parts", parts=parts, part=part, tempo=tempo)


def drifts_around(p: Polyrhythm) -> NearRatio | None:
    """Return the simplest ratio that two pulses drift around slowly enough to follow, or ``None``.

    Slowly enough means at least `DRIFT_GROUPS` groups from together to together.

    Examples
    --------
    >>> drifts_around(Polyrhythm(16, 11)).opens, drifts_around(Polyrhythm(7, 4)) is None
    (1, True)
    """
    if len(p.pulses) != 2:
        return None
    a, b = p.pulses
    return next(
        (
            ratio
            for ratio in near_ratios(p)
            if ratio.opens and min(Fraction(a, ratio.h), Fraction(b, ratio.k)) >= DRIFT_GROUPS * ratio.opens
        ),
        None,
    )


def source_text(limit: Limit) -> str:
    """Name the source of a limit.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> source_text(limits()["hand_two"]), source_text(limits(flam=30)["flam"])
    ('common practice of drummers and teachers', 'your own limit')
    """
    if limit.status == "moved":
        return say("limit.own")
    return limit.named.lower() if limit.status == "common practice" else limit.named


def ms_text(ms: Fraction) -> str:
    """Write a time that is known in milliseconds, in seconds from 1 on.

    Examples
    --------
    >>> ms_text(Fraction(75, 2)), ms_text(Fraction(5500))
    ('37.5 ms', '5.5 seconds')
    """
    return numbers.seconds(ms / 1000) if ms >= 1000 else f"{numbers.number(ms, 0 if ms >= 100 else 1)} ms"


def _longest(limit: Limit) -> str:
    """Write the longest time of a limit: its value, or the end of its range."""
    ms = limit.high if limit.number is None else limit.number
    return numbers.seconds((ms or 0) / 1000)

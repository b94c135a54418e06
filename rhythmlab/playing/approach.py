"""Which way to learn a rhythm at a tempo: four ways, a road where none fits, from where to where, and why."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from math import ceil, floor

import numpy as np

from rhythmlab.core.check import SLOWEST, flag, index, positive, short, whole
from rhythmlab.core.composite import composite
from rhythmlab.core.display import Printed
from rhythmlab.core.feel import Feel, Groups, OwnGroups, groups_for
from rhythmlab.core.gaps import NearRatio, near_ratios
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm, polyrhythm_and_home
from rhythmlab.core.tempo import Speed, Tempo, tempo_given
from rhythmlab.core.types import Ticks
from rhythmlab.playing.hands import Soon, hand_of, taking_turns
from rhythmlab.playing.hands import ceiling as slowest_stroke
from rhythmlab.playing.hearing import SEEN_AS_GAPS, flams_from, seen_as_gaps
from rhythmlab.playing.learning import (
    LINE_SOUNDS,
    Span,
    Step,
    count_steps,
    counted_to,
    drift_steps,
    hand_steps,
    inside,
    inside_text,
    line_steps,
    near_enough,
    near_steps,
    one_steps,
    ones_steps,
    others,
    phrase_steps,
    slip_text,
    split_steps,
    tapped,
    tempo_text,
    whole_bpm,
)
from rhythmlab.playing.limits import Limit, Limits, limits_or, source_text
from rhythmlab.playing.phrasing import MOST_STROKES, as_advised, phrases
from rhythmlab.playing.spans import Share, Stretch, share_out
from rhythmlab.refusal import Refusal
from rhythmlab.text import descriptions, numbers, sentences
from rhythmlab.text.descriptions import about_bpm, bpm_text
from rhythmlab.text.sentences import say

LINE, COUNT, ONES, DRIFT = WAYS = ("learn the line", "count", "hold the ones", "follow the drift")
NEAR, HAND, PHRASE, SPLIT = _UNLIKE = (
    "play a near ratio",
    "hand to hand",
    "phrase the larger number",
    "split between two players",
)
#: To slow down to a way, where there are more holes between ways than other roads.
SLOWER = {way: f"{way}, but slower" for way in WAYS}
#: To speed up to a way, where it is too slow for any and no road starts below that way.
FASTER = {way: f"{way}, but faster" for way in WAYS}
#: What to do where no way fits, the one that is preferred first (the order is a choice made here).
ROADS = (*_UNLIKE, *SLOWER.values(), *FASTER.values())
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
        'One cycle takes 3.3 seconds; up to 5.5 seconds are felt as one bar (London 2012): \
from 44 bpm.'
        """
        if self.kind == "slips" and self.ratio is not None and self.polyrhythm is not None:
            return descriptions.slips(self.polyrhythm, self.ratio)
        why = self.body(of=of)
        if self.floor is not None and self.ceiling is not None:
            once = self.polyrhythm is None  # bars say the unit once
            low = bpm_text(self.floor) if once else self._end(self.floor, of, up=True)
            return say("end.from_up_to", why=why, floor=low, ceiling=self._end(self.ceiling, of))
        if self.floor is not None:
            return say("end.from", why=why, floor=self._end(self.floor, of, up=True))
        if self.ceiling is not None:
            return say("end.up_to", why=why, ceiling=self._end(self.ceiling, of))
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
                return say(
                    "why.once_through", once=self._once(), time=round_, longest=_longest(limit), source=source
                )
            case "apart":
                return say("why.apart", time=time, limit=value, source=source)
            case "hand to hand":
                hand = "why.hand_two" if limit.key == "hand_two" else "why.hand_average"
                key = "why.hand_three" if limit.key == "hand_three" else hand
                return say(key, time=time, limit=value, source=source)
            case "parts":
                return self._parts(value, source, time)
            case "helps":
                return say("why.helps", limit=value, source=source, tempo=self._end(self.at, of, up=True))
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
                tempo = self._end(self.at, of, up=True)
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
            case "each hand":
                return say("why.each_hand", time=time, limit=value, source=source)
            case "foot":
                pulse = self._name(self.pulse)
                return say("why.foot", pulse=pulse, time=time, limit=value, source=source)
            case "foot joins":
                pulse, tempo = self._name(self.pulse), self._end(self.at, of)
                return say("why.foot_joins", pulse=pulse, limit=value, source=source, tempo=tempo)
            case "foot ones":
                return say("why.foot_ones", time=time, limit=value, source=source)
            case "stream":
                pulse = self._name(self.pulse)
                return say("why.stream", pulse=pulse, time=time, limit=value, source=source)
            case "round":
                return say(
                    "why.round", once=self._once(), time=round_, longest=_longest(limit), source=source
                )
            case "begin":
                start = self._end(self.at, of, up=True)
                once = "" if self.polyrhythm is None else descriptions.once_through(self.polyrhythm)
                return say("why.begin", once=once, longest=_longest(limit), source=source, tempo=start)
            case "shared strokes":
                strokes = numbers.plural(self.count, "stroke")
                return say(
                    "why.two_hands", strokes=strokes, most=numbers.number(2 * limit.value), source=source
                )
            case "slip heard":
                return self._slip_heard(value, source, time)
        return self._limb(limit, source)

    def _once(self) -> str:
        """Say what is played once from one to one, at the start of a sentence."""
        return (
            "" if self.polyrhythm is None else sentences.capital(descriptions.once_through(self.polyrhythm))
        )

    def _slip_heard(self, value: str, source: str, time: str) -> str:
        """Say on which beat a near ratio is heard to slip."""
        pair = ratio_text(self.ratio) if self.ratio is not None else ""
        if not self.count:
            return say("why.slips_unheard", pair=pair, time=time, limit=value, source=source)
        beat, pulse = self.count, self._name(self.home)
        return say(
            "why.slips_heard", pair=pair, time=time, limit=value, source=source, beat=beat, pulse=pulse
        )

    def _without_source(self) -> str:
        """Say what is held against a number that is not borrowed."""
        source = say("limit.own") if self.moved else say("limit.choice")
        p = self.polyrhythm
        if self.kind == "goes into" and self.ratio is not None:
            pair, whole = ratio_text(self.ratio), "" if p is None else descriptions.whole(p)
            return say(
                "why.goes_into", pair=pair, whole=whole, count=numbers.times(self.count), source=source
            )
        if self.kind == "sounds":
            many = self.count > self.most and p is not None and len(p.pulses) > 2
            key = "why.at_least" if many else "why.few"
            return say(key, sounds=numbers.plural(self.count, "sound"), most=self.most, source=source)
        none = "why.not_two" if p is not None and len(p.pulses) > 2 else "why.no_ratio"
        return say(none, groups=self.most, source=source, pair="" if p is None else descriptions.pair(p))

    def _parts(self, value: str, source: str, time: str) -> str:
        pulse = self._name(self.pulse)
        if self.count > 4:
            key = "why.uneven_parts"
            return say(key, pulse=pulse, parts=self.count, time=time, limit=value, source=source)
        if self.count > 1:
            return say("why.parts", pulse=pulse, parts=self.count, time=time, limit=value, source=source)
        return say("why.on_beats", pulse=sentences.capital(pulse), time=time, limit=value, source=source)

    def _limb(self, limit: Limit, source: str) -> str:
        """Say how close the strokes of a limb are in bars."""
        hand = "why.limb_two" if limit.key == "hand_two" else "why.limb_four"
        key = "why.limb_three" if limit.key == "hand_three" else hand
        time, value = (numbers.number(ms, 0) for ms in (self.ms, limit.value))
        return say(key, limb=self.limb, time=time, limit=value, source=source)

    def _end(self, bpm: Fraction | None, of: bool, *, up: bool = False) -> str:
        """Say the end of a span in whole beats a minute, rounded towards its inside."""
        if bpm is None:
            return self._tempo(bpm, of)
        return self._tempo(whole_bpm(bpm, up=up), of)

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
    start_of=f"{_WAY}.start_of(0)",
)
@dataclass(frozen=True, slots=True)
class Way:
    """A way to learn a rhythm, or a road where no way fits, and the tempos between which it works.

    Attributes
    ----------
    name : str
        One of `WAYS` or `ROADS`.
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
    ratio : NearRatio or None
        Of the road of a near ratio: which.
    groups : tuple of int
        Of the road of phrasing: how the larger number is said.
    by_hands : str
        Of the road of a near ratio: what each hand plays, and where they slip, in a sentence.
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
    ratio: NearRatio | None = None
    groups: tuple[int, ...] = ()
    by_hands: str = ""

    @property
    def road(self) -> bool:
        """Whether it is a road: what to do where no way fits."""
        return self.name in ROADS

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

    def start_of(self, pulse: int) -> Fraction | None:
        """Return the tempo to start at, in beats a minute of a pulse; ``None`` where it works at no tempo.

        Examples
        --------
        >>> approach((7, 4), 72).ways[0].start_of(1)
        Fraction(54, 1)
        """
        share = self._share(pulse)
        if not self.steps:
            return None
        return min(step.bpm for step in self._together) * share / self._share(self.home)

    @property
    def _together(self) -> tuple[Step, ...]:
        """The steps in which the way is taken: of the ones, those with more than a pulse alone."""
        if self.name not in (ONES, SLOWER[ONES], FASTER[ONES]):
            return self.steps
        return tuple(step for step in self.steps if len(step.lanes) > 1)

    def goal_of(self, pulse: int) -> Fraction:
        """Return the fastest tempo that its steps go up to, in beats a minute of a pulse; 0 without steps.

        Examples
        --------
        >>> approach((64, 3), 72).recommended.goal_of(1)
        Fraction(33, 1)
        """
        goal = max((step.bpm for step in self.steps), default=Fraction(0))
        return goal * self._share(pulse) / self._share(self.home)

    @property
    def label(self) -> str:
        """Its name; for counting, with the pulse counted from; for a road, with its numbers."""
        p, large = self.polyrhythm, descriptions.pulse_name(self.polyrhythm, largest(self.polyrhythm))
        for way in SLOWER:
            key = "way.slower" if self.name == SLOWER[way] else "way.faster"
            if self.name in (SLOWER[way], FASTER[way]):
                return say(key, way=replace(self, name=way).label)
        match self.name:
            case "count":
                return say("way.count", pulse=descriptions.pulse_name(p, self.home))
            case "play a near ratio" if self.ratio is not None:
                return say("way.near", pair=ratio_text(self.ratio))
            case "hand to hand":
                return say("way.hand", pulse=large)
            case "phrase the larger number" if len(self.groups) > 1:
                return say("way.phrase", pulse=large, groups=as_advised(self.groups)[0])
            case "phrase the larger number":
                return say("way.phrase_one", pulse=large)
            case "split between two players":
                many = numbers.word(len(p.pulses))
                return say("way.split" if len(p.pulses) == 2 else "way.split_more", players=many)
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
        ['fits', 'only up to 51 bpm', 'only from 134 bpm', 'at no tempo']
        """
        pulse = self.home if pulse is None else pulse
        if not self.possible:
            return say("way.at_no_tempo")
        if self.fits:
            return say("way.fits")
        slow, fast = self.floor_of(pulse), self.ceiling_of(pulse)
        p = self.polyrhythm
        if slow is not None and self.floor is not None and self.bpm < self.floor:
            return say("way.only_from", tempo=inside_text(p, pulse, slow, fast, up=True, of=of))
        high = fast or Fraction(0)
        return say("way.only_up_to", tempo=inside_text(p, pulse, high, slow, up=False, of=of))

    def describe(self) -> str:
        """Say it with all its reasons."""
        return sentences.sentences(f"{sentences.capital(self.label)}: {self.verdict()}.", *self.reasons)

    def _share(self, pulse: int | None) -> int:
        pulses = self.polyrhythm.pulses
        return pulses[self.home if pulse is None else index(pulse, len(pulses), "pulse", f"pulses {pulses}")]


@dataclass(frozen=True, slots=True)
class TempoRange:
    """Tempos over which the same way or road is recommended.

    Attributes
    ----------
    low, high : Fraction or None
        Beats a minute of home; ``None`` at the ends of all tempos.
    way : Way
        The way or the road.
    with_low, with_high : bool
        Whether the ends themselves are among them.
    """

    low: Fraction | None
    high: Fraction | None
    way: Way
    with_low: bool = True
    with_high: bool = True


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
    way : Way
        The way or the road there.
    end : Fraction or None
        Where the span from which it changes, that of what is recommended, ends on the other side, if it does.
    kept : bool
        Whether at `bpm` itself it is still what is recommended.
    """

    polyrhythm: Polyrhythm
    home: int
    slower: bool
    bpm: Fraction
    way: Way
    end: Fraction | None = None
    kept: bool = True

    def describe(self, *, of: bool = True) -> str:
        """Say it as a sentence; `of` is whether the tempo names its pulse.

        The tempo is the last whole one that keeps what is recommended: a limit of 133.3 is "faster than 133"
        from below and "slower than 134" from above.
        """
        p, home = self.polyrhythm, self.home
        tempo = inside_text(p, home, self.bpm, self.end, up=self.slower, of=of, kept=self.kept)
        most = 0 if self.way.road else counted_to(p)  # all ways are one there, and are told as one
        way = say("way.count_to", count=most) if most else self.way.label
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
    roads : tuple of Way
        What there is to do where no way fits, in the order of `ROADS`.
    recommended : Way
        The way to take, or the road where none fits.
    """

    polyrhythm: Polyrhythm
    tempo: Tempo
    home: int
    ways: tuple[Way, ...]
    counts: tuple[Way, ...]
    ranges: tuple[TempoRange, ...]
    roads: tuple[Way, ...]
    recommended: Way

    def __str__(self) -> str:
        steps = (f"{nth}. {step.text}" for nth, step in enumerate(self.recommended.steps, 1))
        return "\n".join([self.describe(), *steps])

    @property
    def why(self) -> str:
        """The way, what else fits, and why the others do not, in sentences."""
        best, home = self.recommended, self.home
        if counted_to(self.polyrhythm) and not best.road:
            return self.lead()  # all ways are this one
        others = (way for way in self.counts if way.home != home)
        rest = [way for way in (*self.ways, *others) if not _same_way(way, best)]
        also = "; or ".join(say("approach.way", way=way.label, short=way.short) for way in rest if way.fits)
        out = ", ".join(
            say("approach.out", doing=way.doing, verdict=way.verdict(home, of=True))
            for way in self.ways
            if way in rest and way.possible and not way.fits
        )
        never = [way.doing for way in self.ways if not way.possible]
        return sentences.sentences(
            self.lead(),
            say("approach.also", also=also) if also else "",
            say("approach.not_here", out=out) if out else "",
            say("approach.never", ways=sentences.listed(never)) if never else "",
        )

    def lead(self, *, of: bool = True) -> str:
        """Say the way to take and what it comes to, or the road where no way fits.

        Parameters
        ----------
        of : bool
            Whether the tempo at which no way fits is said with the pulse that it is of.

        Examples
        --------
        >>> print(approach((13, 8), 72).lead())
        Play 3 against 2: start at 60 bpm of the 8 in the left hand, and play 3 with the right to each 2; \
then keep both hands even and play on as 13 against 8: on beat 3 of the 8 the right hand comes just before \
the left; land together on the one, and go up to 72 bpm. At 72 bpm of the 8 the line is too long to learn \
as one and a beat has too many parts to count, so take this road.
        """
        best = self.recommended
        if best.road:
            return self._road_text(of=of)
        if counted_to(self.polyrhythm):
            return self._one_text()
        return say("approach.lead", way=sentences.capital(best.label), short=best.short)

    def _one_text(self) -> str:
        """Say how a pulse goes against one stroke: what is counted, by which hands, and where to start."""
        start = tempo_text(self.polyrhythm, self.home, self.start)
        return say("approach.count_to", count=counted_to(self.polyrhythm), start=start)

    def _road_text(self, *, of: bool = True, why: bool = True) -> str:
        """Say the road, from which tempo up to which, and why none of the ways is taken at this one."""
        p, home, best, now = self.polyrhythm, self.home, self.recommended, self.ways[0].bpm
        road = sentences.capital(best.label)
        lead = say("approach.lead", way=road, short=best.short)
        if self._too_long:
            return sentences.sentences(lead, self._why_faster(say("tempo.bpm", bpm=about_bpm(now))))
        goal = inside(best.goal_of(home), self.start, up=False)
        if best.name not in (*SLOWER.values(), *FASTER.values()) and goal > self.start:
            top = tempo_text(p, home, goal, of=False)
            lead = say("approach.road_up_to", road=road, short=best.short, ceiling=top)
        tempo = tempo_text(p, home, now, of=of, about=True)
        if not best.fits:
            return sentences.sentences(lead, sentences.capital(say("approach.too_fast", tempo=tempo)))
        return sentences.sentences(lead, say("approach.road", tempo=tempo, why=self._no_way()) if why else "")

    def _no_way(self) -> str:
        """Say what is wrong with the line and with counting at a tempo at which no way fits."""
        line, count = self.ways[:2]
        return sentences.listed(
            [
                _too(line, say("none.line_long"), say("none.line_slow"), say("none.line_fast")),
                _too(count, say("none.count_long"), say("none.count_slow"), say("none.count_fast")),
            ]
        )

    def in_the_room(self) -> str:
        """Say the way or the road for a room: what to do, the tempo to start at, and up to which it goes.

        Examples
        --------
        >>> approach((7, 4), 72).in_the_room()
        'Learn the line: start at 54 bpm of the 4; the goal is 72. Recommended up to 133 bpm; it fits up to \
205. Faster: hold the ones.'
        >>> print(approach((13, 8), 72).in_the_room())
        Play 3 against 2: start at 60 bpm of the 8 in the left hand, and play 3 with the right to each 2; \
then keep both hands even and play on as 13 against 8: on beat 3 of the 8 the right hand comes just before \
the left; land together on the one, and go up to 72 bpm. At 72 bpm of the 8 the line is too long to learn \
as one and a beat has too many parts to count, so take this road. Or give each half of the room one number.
        """
        return sentences.sentences(self._way_in_the_room(), self._no_flam())

    @property
    def on_the_wall(self) -> tuple[str, str]:
        """What a room reads at a glance, in two lines of a wall at most, and what its presenter adds to it.

        Examples
        --------
        >>> headline, besides = approach((13, 8), 72).on_the_wall
        >>> print(headline)
        Play 3 against 2: start at 60 bpm of the 8; then keep both hands even and play on as 13 against 8; \
land together on the one, and go up to 72 bpm.
        >>> print(besides)
        The left hand has the 8, the right plays 3 to each 2; on beat 3 of the 8 the right hand comes just \
before the left. Or give each half of the room one number.
        """
        best = self.recommended
        if not best.road:
            return self.in_the_room(), ""
        seen = self
        if best.name == NEAR:
            start, pair = (
                tempo_text(self.polyrhythm, self.home, self.start),
                descriptions.pair(self.polyrhythm),
            )
            seen = replace(
                self, recommended=replace(best, short=say("short.near_wall", start=start, pair=pair))
            )
        headline = sentences.sentences(seen._road_text(why=False), self._no_flam())
        return headline, sentences.sentences(best.by_hands, self._besides())

    def _way_in_the_room(self) -> str:
        p, home, best = self.polyrhythm, self.home, self.recommended
        label, here = sentences.capital(best.label), self._here
        if best.road:
            return self._road_in_the_room()
        if counted_to(p):
            return self._one_text()
        start = tempo_text(p, home, self.start)
        if best.name == ONES:
            start = say("approach.ones_two" if len(p.pulses) == 2 else "approach.ones_all", start=start)
        goal = best.goal_of(home)  # as the last step says it
        first = say("approach.start", way=label, start=start)
        if goal > self.start:
            first = say("approach.start_and_goal", way=label, start=start, goal=about_bpm(goal))
        after = self.ranges[here + 1].way.label if self.reach else ""
        return sentences.sentences(first, self.reach, say("approach.after", after=after) if after else "")

    @property
    def reach(self) -> str:
        """Up to which tempo a way is recommended, and up to which it fits where that is faster; else empty.

        Examples
        --------
        >>> approach((7, 4), 72).reach
        'Recommended up to 133 bpm; it fits up to 205.'
        """
        p, home, best, now = self.polyrhythm, self.home, self.recommended, self.ranges[self._here]
        high = now.high
        if best.road or counted_to(p) or high is None:
            return ""
        top = inside_text(p, home, high, self.start, up=False, of=False, kept=now.with_high)
        ceiling = best.ceiling_of(home)
        if ceiling is None or floor(ceiling) <= high:
            return say("approach.reach", top=top)
        fits = inside_text(p, home, ceiling, self.start, up=False, of=None)
        return say("approach.reach_and_fits", top=top, ceiling=fits)

    def _no_flam(self) -> str:
        """Say of a drift below which tempo nothing flams, where that is faster than this one."""
        flams = next((one.at for one in self.ways[3].causes if one.kind == "flam"), None)
        if flams is None or self.recommended.name not in (DRIFT, SLOWER[DRIFT], FASTER[DRIFT]):
            return ""
        tempo = tempo_text(self.polyrhythm, self.home, whole_bpm(flams, up=True))
        return say("approach.no_flam", tempo=tempo)

    def _road_in_the_room(self) -> str:
        """Say the road, and what else there is."""
        return sentences.sentences(self._road_text(), self._besides())

    def _besides(self) -> str:
        """Say what else there is beside a road: a way at a faster tempo, or the halves of the room."""
        p, home, best, now = self.polyrhythm, self.home, self.recommended, self.ways[0].bpm
        if self._too_long:
            ways = (one for one in self.ranges[self._here :] if not one.way.road)
            whole = (one for one in ways if inside(one.low or now, one.high, up=True).denominator == 1)
            later = None if best.name in FASTER.values() else next(whole, None)  # none of no whole tempo
            also = inside_text(p, home, later.low or now, later.high, up=True, of=False) if later else ""
            return say("approach.from", tempo=also, way=later.way.label) if later else ""
        halves = len(p.pulses) == 2 and best.name != SPLIT
        return say("approach.or_halves") if halves else ""

    @property
    def _too_long(self) -> bool:
        """Whether one cycle takes too long at the tempo that was asked for, so that a road starts faster."""
        return self.recommended.road and self.start > ceil(self.ways[0].bpm)

    def _why_faster(self, tempo: str) -> str:
        """Say why a tempo is too slow: for the beat of a drift, or to hold what is played once."""
        p, home, best = self.polyrhythm, self.home, self.recommended
        if best.name == FASTER[DRIFT]:
            return say("approach.slow_beat", tempo=tempo)
        time = numbers.about_seconds(Fraction(60 * p.meet(), p.step(home)) / self.ways[0].bpm)
        return say("approach.too_long", tempo=tempo, once=descriptions.once_through(p), time=time)

    @property
    def _here(self) -> int:
        """Index of the range of what is recommended."""
        return next(i for i, one in enumerate(self.ranges) if _same_way(one.way, self.recommended))

    @property
    def start(self) -> Fraction:
        """The tempo to start at, in beats a minute of home: a whole number where one fits.

        Examples
        --------
        >>> approach((7, 4), 400).start, approach((13, 8), 72).start
        (Fraction(134, 1), Fraction(60, 1))
        """
        best = self.recommended
        low, high = best.start_of(self.home), self.ranges[self._here].high
        if low is None:
            raise AssertionError("what is recommended has steps")
        return inside(low, best.ceiling if best.road else high, up=True)

    @property
    def view(self) -> str:
        """The picture that fits: nearly equal numbers that drift as their gap cycle, others as the line.

        Examples
        --------
        >>> approach((16, 15), 60).view, approach((31, 29), 72).view, approach((7, 4), 72).view
        ('gap cycle', 'gap cycle', 'heard line')
        """
        return fitting_view(self.polyrhythm, self.recommended.name)

    @property
    def changes(self) -> tuple[Change, ...]:
        """The nearest slower and the nearest faster tempo at which it would be another way, if any."""
        p, home = self.polyrhythm, self.home
        here, found = self._here, []
        now = self.ranges[here]
        for there, slower in ((here - 1, True), (here + 1, False)):
            if 0 <= there < len(self.ranges):
                one = self.ranges[there]
                bpm, end = (one.high, now.high) if slower else (one.low, now.low)
                kept = now.with_low if slower else now.with_high
                found.append(Change(p, home, slower, bpm or Fraction(0), one.way, end, kept))
        return tuple(found)

    @property
    def would_change(self) -> str:
        """At which slower and which faster tempo it would be another way, in sentences."""
        return self.changes_text()

    def changes_text(self, *, of: bool = True) -> str:
        """Say what would change it; `of` is whether tempos are said with the pulse that they are of."""
        if counted_to(self.polyrhythm) and not self.recommended.road:
            told = [change for change in self.changes if change.way.road]  # all ways are the same
            return " ".join(change.describe(of=of) for change in told)
        return " ".join(change.describe(of=of) for change in self.changes) or say("approach.no_change")

    def describe(self) -> str:
        """Say what to do, why, and what would change it.

        Examples
        --------
        >>> print(approach((7, 4), 72).would_change)
        Slower than 44 bpm of the 4: count from the 4. Faster than 133 bpm of the 4: hold the ones.
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
    left_handed: bool = False,
    groups: Groups = (),
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
    left_handed : bool
        Whether the hands of its steps are mirrored, as they are said and in their cycles.
    groups : str or sequence of int
        How a beat of five parts or more is said in its steps, as for `Feel`.

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
    mirrored = flag(left_handed, "left_handed", f"{_EXAMPLE[:-1]}, left_handed=True)")
    found = _Ways(p, tempo, rows, most, mirrored, groups_for(p, groups, f'{_EXAMPLE[:-1]}, groups="3+4")'))
    counts = tuple(found.count(i, home) for i in range(len(p.pulses)))
    ways = (found.line(home), counts[home], found.ones(home), found.drift(home))
    every, roads = (*ways, *(way for way in counts if way.home != home)), found.roads(home)
    wishes, fitting = _wishes(every, found.crowded(home), found.helps(home))
    reach = [Stretch(road.floor, road.ceiling) for road in roads]
    shares = share_out(wishes, reach, len(every), fitting, whole_bpm(whole_from(p, home, rows), up=True))
    last = len(every) + len(roads)
    changed = {
        one.owner: _slower(every[one.owner - last], home)
        if one.owner < last + len(every)
        else _faster(every[_for_a_room(shares, len(every), one.owner - last - len(every))], home)
        for one in shares
        if one.owner >= last
    }
    owned = dict(enumerate((*every, *roads))) | changed
    ranges = tuple(_range(one, owned[one.owner]) for one in shares)
    roads = tuple(sorted((*roads, *changed.values()), key=lambda road: ROADS.index(road.name)))
    now = tempo.bpm_of(p, home)
    best = next(reached.way for share, reached in zip(shares, ranges, strict=True) if now in share)
    return Approach(p, tempo, home, ways, counts, ranges, roads, best)


def _for_a_room(shares: list[Share], ways: int, slowest: int) -> int:
    """Return the first of the ways that has a whole tempo; where none has, the slowest."""
    for one in shares:
        if one.owner < ways and one.low is not None and inside(one.low, one.high, up=True).denominator == 1:
            return one.owner
    return slowest


def slowest_start(what: Rhythm, *, home: int | None = None, limits: Limits | None = None) -> Fraction | None:
    """Return the slowest tempo at which a ladder starts; ``None`` where a drift is followed.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is practised.
    home : int, optional
        Index of the pulse that has the tempo; the last one when left out.
    limits : Limits, optional
        The limits to use; ``cycle_longest`` is the longest cycle to start on, our own choice.

    Examples
    --------
    >>> slowest_start((13, 8)), slowest_start((16, 15)) is None
    (Fraction(60, 1), True)
    """
    example = "approach((13, 8), 72, limits=limits(cycle_longest=10_000))"
    p, home = polyrhythm_and_home(what, home, "what", example)
    rows = limits_or(limits, example)
    return None if drifts_around(p) is not None else whole_from(p, home, rows)


def fitting_view(p: Polyrhythm, way: str = "") -> str:
    """Return the picture that fits a rhythm: neighbours from 8 against 7 up as their gap cycle.

    So are other numbers that are nearly equal, where their drift is the `way` that is advised.

    Examples
    --------
    >>> fitting_view(Polyrhythm(7, 6)), fitting_view(Polyrhythm(8, 7)), fitting_view(Polyrhythm(64, 63))
    ('heard line', 'gap cycle', 'gap cycle')
    >>> fitting_view(Polyrhythm(31, 29), DRIFT), fitting_view(Polyrhythm(31, 29), LINE)
    ('gap cycle', 'heard line')
    """
    gaps = seen_as_gaps(p)
    if not gaps and way in (DRIFT, SLOWER[DRIFT], FASTER[DRIFT]) and max(p.reduced.pulses) >= SEEN_AS_GAPS:
        ratio = drifts_around(p)
        gaps = ratio is not None and ratio.h == ratio.k == 1
    return "gap cycle" if gaps else "heard line"


def each_hand(p: Polyrhythm, home: int, rows: Limits) -> Fraction:
    """Return the fastest tempo of home at which one hand keeps up the fastest pulse.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> each_hand(Polyrhythm(13, 2), 1, limits())
    Fraction(120000, 2171)
    """
    return 60_000 / hand_of(rows).need(4).value * Fraction(p.pulses[home], max(p.pulses))


def called_tempo(found: Approach) -> Fraction:
    """Return the tempo of home at which a called rhythm sounds: the one wanted, or the fastest that fits.

    Examples
    --------
    >>> [called_tempo(approach(pair, bpm)) for pair, bpm in (((7, 4), 72), ((64, 3), 72), ((13, 8), 20))]
    [Fraction(72, 1), Fraction(33, 1), Fraction(20, 1)]
    """
    wanted, goal = found.ways[0].bpm, found.recommended.goal_of(found.home)
    return wanted if goal >= wanted else max(Fraction(SLOWEST), Fraction(floor(goal)))


def whole_from(p: Polyrhythm, home: int, rows: Limits) -> Fraction:
    """Return the slowest tempo of home at which a whole cycle is short enough to start on.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> whole_from(Polyrhythm(13, 8), 1, limits())
    Fraction(60, 1)
    """
    return Fraction(60_000 * p.meet(), p.step(home)) / rows["cycle_longest"].value


def _wishes(
    every: tuple[Way, ...], crowded: Fraction | None, helps: Fraction
) -> tuple[list[tuple[int, Stretch]], list[tuple[int, Stretch]]]:
    """Return which way wants which tempos of home, the most wanted first, and where each fits.

    What is wanted is a choice made here: small pairs are learned as a line until its sounds are too close to
    follow one by one and the ones can be held; a drift is counted only as far as that makes it steadier.
    """
    home = every[0].home
    whole = [Stretch(way.floor_of(home), way.ceiling_of(home)) for way in every]
    line, count, ones, drift = whole[:4]
    found: list[tuple[int, Stretch]] = []
    if every[0].possible:
        found.append((0, _until_the_ones(line, ones, crowded) if every[2].possible else line))
    if every[2].possible:
        found.append((2, ones))
    if every[3].possible:
        if every[1].possible and count.low is not None and drift.low is not None and count.low <= drift.low:
            found.append((1, _until_the_drift(count, drift, helps)))
        found.append((3, drift))
    found += [(i, whole[i]) for i in (1, *range(4, len(every))) if every[i].possible]
    wanted = [
        (owner, one) for owner, one in found if one.low is None or one.high is None or one.low <= one.high
    ]
    return wanted, [(i, one) for i, one in enumerate(whole) if every[i].possible]


def _until_the_ones(line: Stretch, ones: Stretch, crowded: Fraction | None) -> Stretch:
    """Return what the line wants: its tempos up to where it is crowded, but as far as the ones begin."""
    if crowded is None or line.high is None or (ones.low is not None and crowded < ones.low):
        short_of = ones.low is not None and line.high is not None and ones.low <= line.high
        return Stretch(line.low, ones.low if short_of else line.high, below=short_of)
    return Stretch(line.low, min(line.high, crowded))


def _until_the_drift(count: Stretch, drift: Stretch, helps: Fraction) -> Stretch:
    """Return what counting wants before a drift: as far as it helps, or as the drift begins."""
    if drift.low is not None and drift.low > helps and count.high is not None:
        short_of = drift.low <= count.high
        return Stretch(count.low, drift.low if short_of else count.high, below=short_of)
    return Stretch(count.low, helps if count.high is None else min(count.high, helps))


def _range(share: Share, way: Way) -> TempoRange:
    return TempoRange(share.low, share.high, way, share.with_low, share.with_high)


def _slower(way: Way, home: int) -> Way:
    """Return a way as what to slow down to, where it does not go any more and no other road is left."""
    p, ceiling = way.polyrhythm, way.ceiling_of(home)
    start = inside_text(p, home, way.start_of(home) or Fraction(1), ceiling, up=True)
    top = inside_text(p, home, ceiling or Fraction(1), way.start_of(home), up=False, of=None)
    short = say("short.slower", start=start, top=top)
    return replace(way, name=SLOWER[way.name], floor=None, ceiling=None, short=short)


def _faster(way: Way, home: int) -> Way:
    """Return a way as what to speed up to, where it is too slow for any and it begins before the roads do."""
    p = way.polyrhythm
    start = inside_text(p, home, way.start_of(home) or Fraction(1), way.ceiling_of(home), up=True)
    short = say("short.faster", start=start)
    return replace(way, name=FASTER[way.name], floor=None, ceiling=way.floor, short=short)


def _too(way: Way, never: str, slow: str, fast: str) -> str:
    """Say of a way that does not fit whether it never does, or is too slow or too fast here."""
    if not way.possible:
        return never
    return slow if way.floor is not None and way.bpm < way.floor else fast


def _same_way(one: Way, other: Way) -> bool:
    return (one.name, one.home) == (other.name, other.home)


class _Ways:
    """The four ways of a rhythm at a tempo, counted from any home."""

    def __init__(
        self,
        p: Polyrhythm,
        tempo: Tempo,
        rows: Limits,
        most: int,
        mirrored: bool = False,
        groups: OwnGroups = (),
    ) -> None:
        self.p, self.tempo, self.rows, self.most = p, tempo, rows, most
        self.mirrored, self.groups = mirrored, groups
        self.again = p.meet()
        self.tick_ms = 1000 * tempo.tick_seconds(p)
        self.strokes = max(p.reduced.pulses)  # of the fastest pulse, from one to one
        if len(p.pulses) == 2:
            self.sounds = sum(p.reduced.pulses) - 1
        else:  # at least so many, where there are too many for one line
            self.sounds = self.strokes if self.strokes > most else len(composite(p, stop=self.again))
        self.rules = hand_of(rows)
        self._known: dict[tuple[str, int], Soon] = {}
        self.line_onsets: Ticks = np.array([0])
        self.line_ticks: list[int] = []
        if self.sounds <= most:
            line = composite(p, stop=self.again)
            self.line_onsets, self.line_ticks = line.onsets, line.intervals.tolist()

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
        asked: int | None = None,
    ) -> Way:
        floor, ceiling = ends
        bpm = self.tempo.bpm_of(self.p, home)
        possible = possible and (floor is None or ceiling is None or floor <= ceiling)
        pulses, of = self.p.pulses, -1 if asked in (None, home) else asked
        span = Span(floor, ceiling, bpm, of, Fraction(pulses[home if asked is None else asked], pulses[home]))
        if counted_to(self.p):
            practice = self._mirrored(one_steps(self.p, home, span)) if possible else ()
        else:
            practice = self._mirrored(steps(span)) if possible else ()
        return Way(name, self.p, home, bpm, floor, ceiling, possible, short, tuple(causes), practice)

    def _mirrored(self, steps: Iterable[Step]) -> tuple[Step, ...]:
        """Return steps whose cycles have the limbs of this player."""
        return tuple(replace(step, left_handed=self.mirrored) for step in steps)

    def _each_hand(self, home: int) -> Reason:
        """Return how fast a hand is that has the fastest pulse for itself."""
        return Reason(
            kind="each hand",
            limit=self.rules.need(4),
            ms=self.tick_ms * Fraction(self.again, self.strokes),
            ceiling=each_hand(self.p, home, self.rows),
            polyrhythm=self.p,
            home=home,
        )

    def _foot(self, home: int, every: int, pulse: int = -1) -> Reason:
        """Return how fast a foot taps a stroke every so many ticks, by the one judge of hands and feet."""
        soon = self._even("foot", every)
        return Reason(
            kind="foot ones" if pulse < 0 else "foot",
            limit=soon.limit,
            ms=self.tick_ms * soon.apart,
            ceiling=self.bpm_at(home, soon.apart, soon.limit.value),
            polyrhythm=self.p,
            home=home,
            pulse=pulse,
        )

    def _taps(self, home: int, pulse: int) -> Reason:
        """Return how fast a foot taps a pulse."""
        return self._foot(home, self.p.step(pulse), pulse)

    def _bpm_text(self, home: int, bpm: Fraction) -> str:
        return tempo_text(self.p, home, bpm, about=True)

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
        floor, ceiling, start = self.bpm_at(home, self.again, bar.value), None, self._round(home)
        moved = self.most != LINE_SOUNDS
        causes = [
            why(kind="sounds", count=self.sounds, most=self.most, moved=moved),
            why(kind="once through", limit=bar, ms=self.tick_ms * self.again, floor=floor),
            *([start] if (start.floor or 0) > floor else []),  # where the reader moved it below a bar
        ]
        floor = max(floor, start.floor or floor)
        sounds = numbers.plural(self.sounds, "sound")
        takes = numbers.seconds(self.tick_ms * self.again / 1000)
        if few:
            closest = min(self.line_ticks)
            apart = self.bpm_at(home, closest, flam.value)
            short = say("short.line", sounds=sounds, time=takes, closest=self._time_text(closest))
            if self.sounds == 1:
                short = say("short.one_sound", sounds=sounds, time=takes)
            else:
                causes.append(why(kind="apart", limit=flam, ms=self.tick_ms * closest, ceiling=apart))
            causes += [
                self._turns(home, self._judged(*taking_turns(self.line_onsets, self.again))),
                self._each_hand(
                    home
                ),  # each pulse has a limb of its own in the end, and a free foot has home
                *(self._taps(home, pulse) for pulse in tapped(self.p, home)),
            ]
            ceiling = _lowest(causes)
        else:
            key = "short.long_line" if len(self.p.pulses) == 2 else "short.longer_line"
            short = say(key, sounds=sounds, time=takes)
        return self._way(
            LINE,
            home,
            (floor, ceiling),
            few,
            short,
            causes,
            lambda s: line_steps(self.p, home, s, self.mirrored, self.groups),
        )

    def _turns(self, home: int, soon: Soon, pulse: int = -1) -> Reason:
        """Return how fast two hands take turns whose deciding stroke is known."""
        return Reason(
            kind="hand to hand" if pulse < 0 else "stream",
            limit=soon.limit,
            ms=self.tick_ms * soon.apart,
            ceiling=self.bpm_at(home, soon.apart, soon.limit.value),
            polyrhythm=self.p,
            home=home,
            pulse=pulse,
        )

    def _stream(self, home: int) -> Reason:
        """Return how fast the fastest pulse goes hand to hand."""
        pulse = largest(self.p)
        return self._turns(home, self._even("hands", self.p.step(pulse)), pulse)

    def _even(self, limbs: str, every: int) -> Soon:
        """Return the stroke that decides how fast a foot, or two hands in turns, play every so many ticks.

        Most ways and roads ask for the same few.
        """
        if (limbs, every) not in self._known:
            one = np.array([0])
            turns = ({"foot": one}, every) if limbs == "foot" else taking_turns(one, every)
            self._known[limbs, every] = self._judged(*turns)
        return self._known[limbs, every]

    def _judged(self, strokes: Mapping[str, Ticks], ticks: int) -> Soon:
        """Return the stroke that decides how fast limbs play their strokes, by the one judge of them."""
        soon = slowest_stroke(strokes, ticks, self.rules)
        if soon is None:
            raise AssertionError("a line, and a foot that taps, has a stroke")
        return soon

    def count(self, home: int, asked: int) -> Way:
        """Count the parts of a home: none too fast to count, none slower than a beat, hands fast enough.

        Its tempos are said in beats a minute of the pulse that was asked for.
        """
        p, beat, rows = self.p, self.rows["beat"], self.rows
        feel, parts = Feel(p, home), self._most_parts(home)
        why = partial(Reason, polyrhythm=p, home=home)
        causes = []
        for i in range(len(p.pulses)):
            if i == home:
                continue
            share = feel.parts(i)
            limit = rows["part_heard" if share <= 4 else "part_uneven"]
            part, ms = Fraction(p.step(home), share), limit.value if share <= 4 else 1000 / limit.value
            ceiling = self.bpm_at(home, part, ms)
            causes.append(
                why(kind="parts", limit=limit, pulse=i, count=share, ms=self.tick_ms * part, ceiling=ceiling)
            )
        helps, slow = self.helps(home), Fraction(60_000, parts) / beat.high
        longest_round, hands = self._round(home), self._each_hand(home)
        causes += [
            why(kind="helps", limit=rows["part_helps"], at=helps),
            why(kind="slow part", limit=beat, floor=slow),
            longest_round,
            hands,
        ]
        floor = max(slow, longest_round.floor or slow)
        longest, now = (
            self._time_text(Fraction(p.step(home), parts)),
            self._bpm_text(home, self.tempo.bpm_of(p, home)),
        )
        return self._way(
            COUNT,
            home,
            (floor, _lowest(causes)),
            True,
            _count_text(parts, longest, now),
            causes,
            lambda s: count_steps(p, home, s, helps, self.groups),
            asked,
        )

    def ones(self, home: int) -> Way:
        """Hold the ones: near enough together, small numbers between them, hands fast enough."""
        longest, most, hand = self.rows["ones_longest"], self.rows["ones_numbers"], self.rules.need(4)
        apart, fast = self.tick_ms * self.again, Fraction(self.again, self.strokes)
        floor, ceiling = (
            self.bpm_at(home, self.again, longest.value),
            self.bpm_at(home, fast, hand.value),
        )
        why = partial(Reason, polyrhythm=self.p, home=home)
        start = self._round(home)
        causes = (
            why(kind="ones apart", limit=longest, ms=apart, floor=floor),
            *([start] if (start.floor or 0) > floor else []),  # where the reader moved it below the ones
            why(kind="ones strokes", limit=most, count=self.strokes),
            why(kind="ones hand", limit=hand, ms=self.tick_ms * fast, ceiling=ceiling),
        )
        floor = max(floor, start.floor or floor)
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
        p, beat, hand = self.p, self.rows["beat"], self.rules.need(4)
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
        around = say("name.pair", first=ratio.h, second=ratio.k)
        step = say("short.drift_stroke") if ratio.h == ratio.k == 1 else around
        key = "short.drift_closest" if ratio.opens > p.repeats else "short.drift"
        lead = say(key, slip=slip, step=step, time=round_)
        if flams is None:
            short = say("short.flams", lead=lead)
        else:
            short = say("short.open", lead=lead, tempo=self._bpm_text(home, whole_bpm(flams, up=True)))
        return self._way(
            DRIFT,
            home,
            (slow, min(felt, fastest)),
            True,
            short,
            causes,
            lambda s: drift_steps(p, home, s, ratio, self.mirrored, self.rows),
        )

    def _round(self, home: int) -> Reason:
        """Return how slow a cycle may be that is practised whole, outside a drift."""
        longest = self.rows["cycle_longest"]
        floor, ms = self.bpm_at(home, self.again, longest.value), self.tick_ms * self.again
        return Reason(kind="round", limit=longest, ms=ms, floor=floor, polyrhythm=self.p, home=home)

    def roads(self, home: int) -> tuple[Way, ...]:
        """Return what there is to do where no way fits, in the order of `ROADS`; the last one always is."""
        two = len(self.p.pulses) == 2
        some = (self.near(home), self.hand(home)) if two else ()
        return (*(road for road in some if road is not None), self.phrase(home), self.split(home))

    def _road(
        self,
        name: str,
        home: int,
        causes: list[Reason],
        short: Callable[[str, Fraction, Fraction], str],
        steps: Callable[[Span], tuple[Step, ...]],
        ratio: NearRatio | None = None,
        groups: tuple[int, ...] = (),
    ) -> Way:
        """Return a road: it starts on a cycle short enough, and goes as far as its limbs go."""
        begin = self._round(home)
        slow, ceiling = begin.floor or Fraction(1), _lowest(causes) or Fraction(1)
        floor = max((cause.floor for cause in causes if cause.floor is not None), default=None)
        bpm = self.tempo.bpm_of(self.p, home)
        low = min(slow, whole_bpm(ceiling, up=False))
        practice = self._mirrored(steps(Span(max(low, floor or low), ceiling, bpm)))
        tempos = [step.bpm for step in practice]
        start = inside_text(self.p, home, min(tempos), ceiling, up=True)
        first = replace(begin, kind="begin", floor=None, at=slow)
        return Way(
            name,
            self.p,
            home,
            bpm,
            floor,
            ceiling,
            True,
            short(start, min(tempos), max(tempos)),
            (*causes, first),
            practice,
            ratio,
            groups,
        )

    def near(self, home: int) -> Way | None:
        """Play a near ratio: the nearest that is a line, goes in three times and slips little."""
        p, rows = self.p, self.rows
        ratio = near_enough(p, self.most)
        if ratio is None:
            return None
        flam, simple = rows["flam"], Polyrhythm(ratio.h, ratio.k)
        beats = simple.pulses[home]  # of home in each group
        a, b = p.reduced.pulses
        many = floor(min(Fraction(a, ratio.h), Fraction(b, ratio.k)))
        why = partial(Reason, polyrhythm=p, home=home, ratio=ratio)
        theirs = Fraction(60_000 * beats, max(simple.pulses)) / self.rules.need(4).value
        hands = self._each_hand(home)
        slower = min(theirs, hands.ceiling or theirs)
        goal = min(max(self.tempo.bpm_of(p, home), self._round(home).floor or slower), slower)
        each = Fraction(60_000 * abs(ratio.slip), p.step(home)) / goal  # ms that a group slips at the goal
        nth = ceil(flam.value / each)
        beat = nth * beats + 1 if nth <= many else 0
        heard = why(kind="slip heard", limit=flam, ms=each, count=beat)
        causes = [why(kind="goes into", count=many), heard, replace(hands, ceiling=slower)]

        first, second = ratio.h, ratio.k
        own, other = (second, first) if home else (first, second)
        of_hands = descriptions.hands_of_two(self.mirrored)
        hand, other_hand = of_hands[home], of_hands[1 - home]
        slip = slip_text(p, home, ratio, beat, self.mirrored)

        def short(start: str, *_: Fraction) -> str:
            return say(
                "short.near",
                start=start,
                own=own,
                hand=hand,
                other=other,
                other_hand=other_hand,
                pair=descriptions.pair(p),
                slip=slip,
            )

        by_hands = say(
            "approach.near_hands",
            hand=hand,
            pulse=descriptions.pulse_name(p, home),
            other_hand=other_hand,
            other=other,
            own=own,
            slip=slip,
        )
        road = self._road(
            NEAR,
            home,
            causes,
            short,
            lambda s: near_steps(p, home, s, ratio, beat, self.mirrored),
            ratio,
        )
        return replace(road, by_hands=by_hands)

    def _foot_joins(self, home: int, pulse: int) -> Reason:
        """Return up to which tempo a foot taps a pulse; faster, it has only the one."""
        foot = self._taps(home, pulse)
        return replace(foot, kind="foot joins", ceiling=None, at=foot.ceiling)

    def _under(self, home: int, pulse: int) -> tuple[Reason, ...]:
        """Return what bounds the foot of a road under the hands: as far as it taps the one, it goes on."""
        ones, hands = self._foot(home, self.again), self._stream(home)
        short = (ones.ceiling or 0) < (hands.ceiling or 0)
        return (hands, *((ones,) if short else ()), self._foot_joins(home, pulse))

    def hand(self, home: int) -> Way | None:
        """Play the larger number hand to hand, the other with the foot, and land on the one."""
        p, longest, most = self.p, self.rows["ones_longest"], self.rows["ones_numbers"]
        large, small = largest(p), smallest(p)
        if self.strokes > 2 * most.value:
            return None
        floor, apart = self.bpm_at(home, self.again, longest.value), self.tick_ms * self.again
        why = partial(Reason, polyrhythm=p, home=home)
        causes = [
            why(kind="ones apart", limit=longest, ms=apart, floor=floor),
            why(kind="shared strokes", limit=most, count=self.strokes),
            *self._under(home, small),
        ]
        if floor > (_lowest(causes) or floor):
            return None
        return self._road(
            HAND,
            home,
            causes,
            lambda start, first, goal: say("short.hand", start=start, foot=self._then(home, first, goal)),
            lambda s: hand_steps(
                p, home, s, (large, small), self._taps(home, small).ceiling, self._at_ease(home)
            ),
        )

    def _at_ease(self, home: int) -> Fraction:
        """Return the tempo at which the fastest pulse has the strokes that are liked best as a beat."""
        return self.bpm_at(home, self.p.step(largest(self.p)), self.rows["beat_preferred"].value)

    def _then(self, home: int, first: Fraction, goal: Fraction) -> str:
        """Say what joins the hands of a road: the foot as far as it taps, and players for other pulses."""
        p, large, small = self.p, largest(self.p), smallest(self.p)
        joins, pulse = self._taps(home, small).ceiling or first, descriptions.pulse_name(p, small)
        if first > joins:
            foot = say("short.foot_one")
        elif goal > joins:
            top = bpm_text(whole_bpm(joins, up=False))
            foot = say("short.foot_up_to", pulse=pulse, tempo=top)
        else:
            foot = say("short.foot", pulse=pulse)
        rest = others(p, large, small)
        return say("short.others", foot=foot, pulses=rest) if rest else foot

    def phrase(self, home: int) -> Way:
        """Phrase the larger number hand to hand, and tap the smallest with the foot."""
        p, large, small = self.p, largest(self.p), smallest(self.p)
        groups, joins = self._groups(large), self._taps(home, small).ceiling
        return self._road(
            PHRASE,
            home,
            [*self._under(home, small)],
            lambda start, first, goal: say("short.phrase", start=start, foot=self._then(home, first, goal)),
            lambda s: phrase_steps(p, home, s, (large, small), joins, groups, self._at_ease(home)),
            groups=groups,
        )

    def _groups(self, large: int) -> tuple[int, ...]:
        """Return the groups of a whole pulse, the same from one to one each time; none if it is short."""
        strokes, all_of_it = self.strokes, self.p.pulses[large]
        if not 4 < all_of_it <= MOST_STROKES:
            return ()
        if strokes == 1 or strokes > 4:
            groups = phrases(all_of_it if strokes == 1 else strokes, most=1)[0].groups
        else:
            groups = (strokes,)
        return groups * (all_of_it // sum(groups))

    def split(self, home: int) -> Way:
        """Split it between players, or the halves of a room: each has one pulse, hand to hand."""
        return self._road(
            SPLIT,
            home,
            [self._stream(home)],
            lambda start, *_: say("short.split", start=start),
            lambda s: split_steps(self.p, home, s, self._at_ease(home)),
        )


def _lowest(causes: Iterable[Reason]) -> Fraction | None:
    return min((cause.ceiling for cause in causes if cause.ceiling is not None), default=None)


def largest(p: Polyrhythm) -> int:
    """Return the index of the fastest pulse, the first of them."""
    return max(range(len(p.pulses)), key=lambda i: p.pulses[i])


def smallest(p: Polyrhythm) -> int:
    """Return the index of the slowest pulse, the last of them: another one than the fastest."""
    return min(reversed(range(len(p.pulses))), key=lambda i: p.pulses[i])


def ratio_text(ratio: NearRatio) -> str:
    """Name a near ratio.

    Examples
    --------
    >>> ratio_text(near_ratios((16, 11))[1])
    '3 against 2'
    """
    return descriptions.pair(Polyrhythm(ratio.h, ratio.k))


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

"""Four ways to learn a rhythm: between which tempos each works, why, and what to practise.

*Learn the line*: one merged phrase, said and clapped.
*Count*: the parts of home's beats.
*Hold the ones*: each hand goes by itself from one to one.
*Follow the drift*: gaps that open, take turns and close.
Each limit is published or marked as a choice made here, and the reader can move it.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import partial

from rhythmlab import words
from rhythmlab.core.call import public_class
from rhythmlab.core.check import index, positive
from rhythmlab.core.composite import composite
from rhythmlab.core.feel import Feel
from rhythmlab.core.gaps import NearRatio, near_ratios
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.playing.hearing import flams_from
from rhythmlab.playing.limits import Limits
from rhythmlab.playing.reasons import Reason, ms_text
from rhythmlab.playing.steps import (
    Span,
    Step,
    count_steps,
    drift_steps,
    line_steps,
    ones_steps,
    tempo_said,
)
from rhythmlab.sentences import say

LINE, COUNT, ONES, DRIFT = WAYS = ("learn the line", "count", "hold the ones", "follow the drift")
#: Most sounds from one to one that are learned as one line (own choice, no source).
LINE_SOUNDS = 12
#: A pair drifts where it takes at least so many groups from together to together (own choice, no source).
DRIFT_GROUPS = 5


@public_class(
    "approach((7, 4), 72).ways[0]",
    fits_at="approach((7, 4), 72).ways[0].fits_at(72, 1)",
    floor_of="approach((7, 4), 72).ways[0].floor_of(0)",
    ceiling_of="approach((7, 4), 72).ways[0].ceiling_of(0)",
    verdict="approach((7, 4), 72).ways[0].verdict(0)",
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
        return tuple(cause.said() for cause in self.causes)

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
        >>> from rhythmlab.playing.approach import approach
        >>> approach((7, 4), 72).ways[1].ceiling_of(0)
        Fraction(90, 1)
        """
        share = self._share(pulse)
        return None if self.ceiling is None else self.ceiling * share / self._share(self.home)

    @property
    def label(self) -> str:
        """Its name; for counting, with the pulse counted from."""
        if self.name == COUNT:
            return say("way.count", pulse=words.pulse_name(self.polyrhythm, self.home))
        return self.name

    @property
    def doing(self) -> str:
        """Its label as something that is done.

        Examples
        --------
        >>> from rhythmlab.playing.approach import approach
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
        return say("way.counting", pulse=words.pulse_name(self.polyrhythm, self.home))

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
        >>> from rhythmlab.playing.approach import approach
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
            return say("way.only_from", tempo=tempo_said(self.polyrhythm, pulse, floor, of=of))
        return say("way.only_up_to", tempo=tempo_said(self.polyrhythm, pulse, ceiling or Fraction(0), of=of))

    def said(self) -> str:
        """Say it with all its reasons."""
        return words.sentences(f"{words.capital(self.label)}: {self.verdict()}.", *self.reasons)

    def _share(self, pulse: int | None) -> int:
        pulses = self.polyrhythm.pulses
        return pulses[self.home if pulse is None else index(pulse, len(pulses), "pulse", f"pulses {pulses}")]


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


class Reckoned:
    """A rhythm at a tempo: what each way comes to, counted from any home."""

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

    def _at(self, home: int, bpm: Fraction, digits: int = 1) -> str:
        return tempo_said(self.p, home, bpm, digits)

    def _ms(self, ticks: int | Fraction) -> str:
        return ms_text(self.tick_ms * ticks)

    def _parts(self, home: int) -> int:
        feel = Feel(self.p, home)
        return max(feel.parts(i) for i in range(len(self.p.pulses)) if i != home)

    def helps(self, home: int) -> Fraction:
        """Fastest tempo at which counting every part makes it steadier."""
        part = Fraction(self.p.step(home), self._parts(home))
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
        sounds = words.plural(self.sounds, "sound")
        takes = words.seconds(self.tick_ms * self.again / 1000)
        if few:
            closest = min(self.line_ticks)
            apart, hands = self.bpm_at(home, closest, flam.value), self._hand_to_hand(home)
            ceiling = apart if hands.ceiling is None else min(apart, hands.ceiling)
            short = say("short.line", sounds=sounds, time=takes, closest=self._ms(closest))
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
        feel, parts = Feel(p, home), self._parts(home)
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
        longest, now = self._ms(Fraction(p.step(home), parts)), self._at(home, self.tempo.bpm_of(p, home))
        return self._way(
            COUNT,
            home,
            (floor, min(ends)),
            True,
            _counted(parts, longest, now),
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
            "short.ones", time=words.seconds(apart / 1000), strokes=words.plural(self.strokes, "stroke")
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
        slip, round_ = self._ms(abs(ratio.slip)), words.seconds(every / 1000)
        if ratio.h == ratio.k == 1:
            lead = say("short.drift", slip=slip, time=round_)
        else:
            lead = say("short.drift_around", slip=slip, h=ratio.h, k=ratio.k, time=round_)
        if flams is None:
            short = say("short.flams", lead=lead)
        else:
            short = say("short.open", lead=lead, tempo=self._at(home, flams, 2))
        return self._way(
            DRIFT,
            home,
            (slow, min(felt, fastest)),
            True,
            short,
            causes,
            lambda s: drift_steps(p, home, s, ratio),
        )


def _counted(parts: int, part: str, tempo: str) -> str:
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

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

from rhythmlab import words
from rhythmlab.core.check import index, positive
from rhythmlab.core.composite import composite
from rhythmlab.core.feel import Feel
from rhythmlab.core.gaps import NearRatio, near_ratios
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.playing.hearing import flams_from
from rhythmlab.playing.limits import Limit, Limits
from rhythmlab.playing.steps import Span, Step, bpm_text, count_steps, drift_steps, line_steps, ones_steps

LINE, COUNT, ONES, DRIFT = WAYS = ("learn the line", "count", "hold the ones", "follow the drift")
#: Most sounds from one to one that are learned as one line (own choice, no source).
LINE_SOUNDS = 12
#: A pair drifts where it takes at least so many groups from together to together (own choice, no source).
DRIFT_GROUPS = 5

_NOTES = {2: "eighths", 3: "triplets", 4: "sixteenths"}


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
    reasons : tuple of str
        Sentences, each with a number, its limit and the source.
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
    reasons: tuple[str, ...]
    steps: tuple[Step, ...]

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
        return self.name + (
            f" from {words.pulse_name(self.polyrhythm, self.home)}" if self.name == COUNT else ""
        )

    def verdict(self, pulse: int | None = None) -> str:
        """Say whether it fits, or how far the tempo is from where it does, in bpm of a pulse.

        Examples
        --------
        >>> from rhythmlab.playing.approach import approach
        >>> [way.verdict() for way in approach((7, 4), 72).ways]
        ['fits', 'only up to 51.4 bpm', 'only from 133.3 bpm', 'at no tempo']
        """
        pulse = self.home if pulse is None else pulse
        if not self.possible:
            return "at no tempo"
        if self.fits:
            return "fits"
        if self.floor is not None and self.bpm < self.floor:
            return f"only from {bpm_text(self.floor_of(pulse))} bpm"
        return f"only up to {bpm_text(self.ceiling_of(pulse))} bpm"

    def said(self) -> str:
        """Say it with all its reasons."""
        return words.sentences(f"{capital(self.label)}: {self.verdict()}.", *self.reasons)

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
        self.line_ticks = composite(p, stop=self.again).intervals.tolist() if self.sounds <= most else []

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
        reasons: Iterable[str],
        steps: Callable[[Span], tuple[Step, ...]],
    ) -> Way:
        floor, ceiling = ends
        bpm = self.tempo.bpm_of(self.p, home)
        possible = possible and (floor is None or ceiling is None or floor <= ceiling)
        practice = steps(Span(floor, ceiling, bpm)) if possible else ()
        return Way(name, self.p, home, bpm, floor, ceiling, possible, short, tuple(reasons), practice)

    def _at(self, home: int, bpm: Fraction, digits: int = 1) -> str:
        return f"{bpm_text(bpm, digits)} bpm of {words.pulse_name(self.p, home)}"

    def _ms(self, ticks: int | Fraction) -> str:
        ms = self.tick_ms * ticks
        return words.seconds(ms / 1000) if ms >= 1000 else f"{words.number(ms, 0 if ms >= 100 else 1)} ms"

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
        own = "a choice made here, no source" if self.most == LINE_SOUNDS else "your own limit"
        takes = words.seconds(self.tick_ms * self.again / 1000)
        few = bool(self.line_ticks)
        least = "" if few or len(self.p.pulses) == 2 else "at least "
        floor, ceiling = self.bpm_at(home, self.again, bar.value), None
        has = f"{least}{words.plural(self.sounds, 'sound')}"
        reasons = [
            f"The line has {has} from one to one; up to {self.most} are learned as one ({own}).",
            f"One time through takes {takes}; up to {words.seconds(bar.value / 1000)} are felt as one bar "
            f"({by(bar)}): from {self._at(home, floor)}.",
        ]
        short = f"{has} in {takes}"
        if few:
            closest = min(self.line_ticks)
            apart, (hands, hand) = self.bpm_at(home, closest, flam.value), self._hand_to_hand(home)
            ceiling = min(apart, hands)
            short += f", the closest {self._ms(closest)} apart"
            reasons += [
                f"Its closest sounds are {self._ms(closest)} apart; from {words.number(flam.value)} ms they "
                f"are heard as two ({by(flam)}): up to {self._at(home, apart)}.",
                hand,
            ]
        slow = self.bpm_at(home, min(self.line_ticks, default=1), self.rows["part_helps"].value)
        return self._way(
            LINE, home, (floor, ceiling), few, short, reasons, lambda s: line_steps(self.p, home, s, slow)
        )

    def _hand_to_hand(self, home: int) -> tuple[Fraction, str]:
        """Return the fastest tempo of the line played hand to hand, and the sentence for it."""
        round_again = self.line_ticks * (1 + -(-4 // len(self.line_ticks)))

        def least(count: int) -> int:
            return min(sum(round_again[i : i + count]) for i in range(len(self.line_ticks)))

        rules = (
            (Fraction(least(2)), "hand_two", "two strokes of a hand are at least"),
            (Fraction(least(4), 2), "hand_three", "three strokes of a hand are at least"),
            (Fraction(2 * self.again, self.sounds), "hand_sustained", "the strokes of a hand are on average"),
        )
        found = [
            (self.bpm_at(home, ticks, self.rows[key].value), ticks, self.rows[key], what)
            for ticks, key, what in rules
        ]
        bpm, ticks, limit, what = min(found, key=lambda rule: rule[0])
        return bpm, (
            f"Hand to hand, {what} {self._ms(ticks)} apart; {words.number(limit.value)} ms can be played "
            f"({by(limit)}): up to {self._at(home, bpm)}."
        )

    def count(self, home: int) -> Way:
        """Count the parts of a home: none too fast to count, none slower than a beat."""
        p, beat, rows = self.p, self.rows["beat"], self.rows
        feel, parts = Feel(p, home), self._parts(home)
        reasons, ends = [], []
        for i in range(len(p.pulses)):
            if i == home:
                continue
            share = feel.parts(i)
            limit = rows["part_heard" if share <= 4 else "part_uneven"]
            part, ms = Fraction(p.step(home), share), limit.value if share <= 4 else 1000 / limit.value
            ends.append(self.bpm_at(home, part, ms))
            takes = f"takes {share} parts to a beat" if share > 1 else "falls on beats only"
            can = (
                f"parts can be followed from {words.number(ms)} ms"
                if share <= 4
                else f"five and more, uneven to group, can be counted to {words.number(limit.value)} a second"
            )
            reasons.append(
                f"{capital(words.pulse_name(p, i))} {takes}, {self._ms(part)} each; {can} ({by(limit)}): "
                f"up to {self._at(home, ends[-1])}."
            )
        helps, floor = self.helps(home), Fraction(60_000, parts) / beat.high
        reasons += [
            f"Parts of less than {words.number(rows['part_helps'].value)} ms no longer make it steadier "
            f"({by(rows['part_helps'])}): from {self._at(home, helps)} count only where a stroke falls.",
            f"A part longer than {words.seconds(beat.high / 1000)} is slower than any beat ({by(beat)}): "
            f"from {self._at(home, floor)}.",
        ]
        part, bpm = self._ms(Fraction(p.step(home), parts)), self._at(home, self.tempo.bpm_of(p, home))
        named = f"{_NOTES[parts]} of {part}" if parts in _NOTES else f"{parts} parts to a beat, {part} each,"
        return self._way(
            COUNT,
            home,
            (floor, min(ends)),
            True,
            f"{named if parts > 1 else 'beats'} at {bpm}",
            reasons,
            lambda s: count_steps(p, home, s, helps),
        )

    def ones(self, home: int) -> Way:
        """Hold the ones: near enough together, small numbers between them, hands fast enough."""
        longest, most, hand = (self.rows[key] for key in ("ones_longest", "ones_numbers", "hand_sustained"))
        apart, fast = words.seconds(self.tick_ms * self.again / 1000), Fraction(self.again, self.strokes)
        floor, ceiling = (
            self.bpm_at(home, self.again, longest.value),
            self.bpm_at(home, fast, hand.value),
        )
        strokes = words.plural(self.strokes, "stroke")
        reasons = (
            f"The ones are {apart} apart; up to {words.seconds(longest.value / 1000)} can be kept together "
            f"with ({by(longest)}): from {self._at(home, floor)}.",
            f"The fastest hand has {strokes} from one to one; up to {words.number(most.value)} are held "
            f"without counting ({by(most)}).",
            f"Its strokes are {self._ms(fast)} apart; one hand keeps up {words.number(hand.value)} ms "
            f"({by(hand)}): up to {self._at(home, ceiling)}.",
        )
        short = f"{apart} from one to one, {strokes} in the fastest hand"
        return self._way(
            ONES,
            home,
            (floor, ceiling),
            self.strokes <= most.value,
            short,
            reasons,
            lambda s: ones_steps(self.p, home, s),
        )

    def drift(self, home: int) -> Way:
        """Follow the drift: slow from together to together, home felt as a beat, hands fast enough."""
        p, beat, hand = self.p, self.rows["beat"], self.rows["hand_sustained"]
        ratio = drifts_around(p)
        if ratio is None:
            what = "takes two pulses" if len(p.pulses) > 2 else "needs a simple ratio near the pair"
            why = (
                f"A drift {what}, with {DRIFT_GROUPS} groups or more from together to together (a choice "
                f"made here, no source); {words.pair(p)} has none."
            )
            return self._way(DRIFT, home, (None, None), False, "nothing to follow", (why,), lambda s: ())
        slow = 60_000 / beat.high
        fastest = self.bpm_at(home, Fraction(self.again, self.strokes), hand.value)
        felt = 60_000 / beat.low
        every = self.tick_ms * p.ticks / ratio.opens / 1000
        slip = self._ms(abs(ratio.slip))
        flam, bar = self.rows["flam"], self.rows["bar_longest"]
        flams = flams_from(p, 1 - home, home, flam.value)
        heard = (
            f"already open, it flams only from {self._at(home, flams, 2)}"
            if flams is not None and self.tempo.bpm_of(p, home) < flams
            else "it flams where it meets"
        )
        group = "stroke" if ratio.h == ratio.k == 1 else f"group of {ratio.h} against {ratio.k}"
        reasons = [
            words.slips(p, ratio),
            f"The narrowest gap is {self._ms(1)} and a flam is up to {words.number(flam.value)} ms "
            f"({by(flam)}): {heard}.",
            f"A beat is felt from {words.seconds(beat.low / 1000)} to {words.seconds(beat.high / 1000)} "
            f"({by(beat)}): from {self._at(home, slow)} up to {self._at(home, felt)}.",
            f"One hand keeps up {words.number(hand.value)} ms ({by(hand)}): up to {self._at(home, fastest)}.",
        ]
        if every > bar.value / 1000:
            reasons.append(
                f"It takes {words.seconds(every)} from together to together, longer than one bar "
                f"({words.seconds(bar.value / 1000)}, {by(bar)}): go by landmarks."
            )
        short = f"{slip} more at each {group}, {words.seconds(every)} from together to together; {heard}"
        return self._way(
            DRIFT,
            home,
            (slow, min(felt, fastest)),
            True,
            short,
            reasons,
            lambda s: drift_steps(p, home, s, ratio),
        )


def by(limit: Limit) -> str:
    """Name the source of a limit."""
    if limit.status == "moved":
        return "your own limit"
    return limit.named.lower() if limit.status == "common practice" else limit.named


def capital(text: str) -> str:
    """Return a text with its first letter capital, and the rest as it is."""
    return f"{text[:1].upper()}{text[1:]}"

"""What to practise first, next and last in each way to learn a rhythm: slices, counts and tempos."""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

import numpy as np

from rhythmlab import words
from rhythmlab.core.call import public_class
from rhythmlab.core.check import flag
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.feel import Feel
from rhythmlab.core.gaps import NearRatio
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.playing.said import landmarks_said
from rhythmlab.sentences import say

#: A count is written out up to so many strokes.
_WRITTEN = 40
_EXAMPLE = "approach((7, 4), 72)"
_STEP = f"{_EXAMPLE}.ways[0].steps[0]"


@public_class(_STEP, said=f"{_STEP}.said(of=False)", cycle=f"{_STEP}.cycle()")
@dataclass(frozen=True, slots=True)
class Step:
    """Something to practise, and how fast.

    Attributes
    ----------
    what : str
        What to do, without its tempo and without a full stop.
    count : str
        What to say or count.
    polyrhythm : Polyrhythm
        The whole.
    home : int
        Index of the pulse felt as the beat.
    bpm : Fraction
        Beats a minute of home.
    start, stop : int
        The slice, in ticks of the whole, half-open; it starts on a beat of home.
    lanes : tuple of int
        Indices of the pulses that are played.
    merged : bool
        Whether they are played as one line, hand to hand; a later slice goes on with the hand that the
        whole line has there.
    up : bool
        Whether the tempo is where it ends, rather than where it is played.
    """

    what: str
    count: str
    polyrhythm: Polyrhythm
    home: int
    bpm: Fraction
    start: int
    stop: int
    lanes: tuple[int, ...]
    merged: bool = False
    up: bool = False

    @property
    def text(self) -> str:
        """What to do, in a sentence with its tempo."""
        return self.said()

    def said(self, *, of: bool = True, tempo: bool = True) -> str:
        """Say what to do.

        Parameters
        ----------
        of : bool
            Whether the tempo is said with the pulse that it is of.
        tempo : bool
            Whether the tempo is said at all.

        Examples
        --------
        >>> step = Step("Play the second half", "2.5", Polyrhythm(4, 3), 1, Fraction(60), 4, 12, (0, 1))
        >>> step.text, step.said(of=False)
        ('Play the second half, at 60 bpm of the 3.', 'Play the second half, at 60 bpm.')
        >>> step.said(tempo=False)
        'Play the second half.'
        """
        if not flag(tempo, "tempo", f"{_EXAMPLE}.ways[0].steps[0].said(tempo=False)"):
            return say("step.what", what=self.what)
        bpm = tempo_said(self.polyrhythm, self.home, self.bpm, of=of)
        return say("step.up_to" if self.up else "step.at", what=self.what, tempo=bpm)

    @property
    def tempo(self) -> Tempo:
        """The speed, for the whole and for `cycle` alike."""
        return Tempo(self.bpm, ticks=self.polyrhythm.step(self.home))

    def cycle(self) -> Cycle:
        """Return the slice as a `Cycle` of its own: what to see, hear and play along with.

        Raises
        ------
        ValueError
            If the slice holds more than 50 million strokes.

        Examples
        --------
        >>> p = Polyrhythm(4, 3)
        >>> Step("Play the second half", "2.5, 3, 3.4", p, 1, Fraction(60), 4, 12, (0, 1)).cycle()
        Cycle(8 ticks, beats 0 4, lanes '4' (right hand): 2 5, '3' (left hand): 0 4)
        """
        p, window = self.polyrhythm, {"start": self.start, "stop": self.stop}
        if self.merged:
            onsets = composite(p, **window).onsets - self.start
            lanes = [Lane("line", onsets, limb="hands", hands=in_turn(p, self.start, self.stop))]
        else:
            limbs = ("right hand", "left hand") if len(p.pulses) == 2 else ("",) * len(p.pulses)
            lanes = [
                Lane(str(p.pulses[i]), p.onsets(i, **window) - self.start, limb=limbs[i]) for i in self.lanes
            ]
        return Cycle(self.stop - self.start, lanes, beats=p.onsets(self.home, **window) - self.start)


def halves(p: Polyrhythm, home: int) -> tuple[int, int]:
    """Return the tick of the beat that ends the first half, and the tick where the pulses meet again.

    Examples
    --------
    >>> halves(Polyrhythm(7, 4), 1)
    (14, 28)
    """
    again, step = p.meet(), p.step(home)
    return (again // step + 1) // 2 * step, again


def count_of(p: Polyrhythm, home: int, start: int, stop: int) -> str:
    """Say where every other pulse falls in a slice, counted from home; a long slice by its beats.

    Examples
    --------
    >>> count_of(Polyrhythm(7, 4), 0, 0, 16)
    'the 4 on 1, a of 2, & of 4'
    """
    feel, step = Feel(p, home), p.step(home)
    said = []
    for i in range(len(p.pulses)):
        if i == home:
            continue
        if (stop - start) // p.step(i) > _WRITTEN:
            beats = words.plural((stop - start) // step, "beat")
            said.append(f"{beats} of {words.plural(feel.parts(i), 'part')} for {words.pulse_name(p, i)}")
            continue
        places = [words.place_name(place) for place in feel.places(i, start=start, stop=stop)]
        said.append(f"{words.pulse_name(p, i)} on {', '.join(places) or 'none of these beats'}")
    return "; ".join(said)


def clapped(p: Polyrhythm, start: int, stop: int) -> str:
    """Say a slice of the line, sound by sound: by hands for two pulses, else by ticks.

    Examples
    --------
    >>> clapped(Polyrhythm(7, 4), 0, 14)
    'together, right, left, right, right'
    """
    line = composite(p, start=start, stop=stop)
    if len(p.pulses) > 2:
        return words.some(line.intervals.tolist(), 24, " ")
    hands = np.array(["left", "right", "together"])
    return words.some(hands[line.pulses @ np.array([2, 1]) - 1].tolist(), 24)


def in_turn(p: Polyrhythm, start: int, stop: int) -> str:
    """Return the hands of a slice of the line played hand to hand, from a right hand at tick 0.

    Examples
    --------
    >>> in_turn(Polyrhythm(7, 4), 0, 14), in_turn(Polyrhythm(7, 4), 14, 28)
    ('RLRLR', 'LRLRL')
    """
    before = len(composite(p, stop=start)) if start else 0
    sounds = len(composite(p, start=start, stop=stop))
    return ("RL" * (sounds // 2 + 1))[before % 2 :][:sounds]


def tapped(p: Polyrhythm, start: int, stop: int) -> str:
    """Say the hands of a slice of the line played hand to hand.

    Examples
    --------
    >>> tapped(Polyrhythm(7, 4), 14, 28)
    'left, right, left, right, left'
    """
    names = {"R": "right", "L": "left"}
    return words.some([names[hand] for hand in in_turn(p, start, stop)], 24)


def bpm_text(bpm: Fraction, digits: int = 1) -> str:
    """Write a tempo, a very slow one by its first digit."""
    return words.number(bpm, digits) if bpm >= Fraction(1, 10) else f"{float(bpm):.1g}"


def tempo_said(p: Polyrhythm, pulse: int, bpm: Fraction, digits: int = 1, *, of: bool = True) -> str:
    """Write a tempo of a pulse, with or without its name.

    Examples
    --------
    >>> p = Polyrhythm(7, 4)
    >>> tempo_said(p, 1, Fraction(400, 3)), tempo_said(p, 1, Fraction(72), of=False)
    ('133.3 bpm of the 4', '72 bpm')
    """
    text = bpm_text(bpm, digits)
    if flag(of, "of", f"{_EXAMPLE}.changes_said(of=False)"):
        return say("tempo.of", bpm=text, pulse=words.pulse_name(p, pulse))
    return say("tempo.bpm", bpm=text)


@dataclass(frozen=True, slots=True)
class Span:
    """The tempos of home between which a way works, and the one that is wanted.

    Attributes
    ----------
    low, high : Fraction or None
        Beats a minute of home; ``None`` where nothing limits it.
    wanted : Fraction
        The tempo asked for, inside or outside.
    """

    low: Fraction | None
    high: Fraction | None
    wanted: Fraction

    def goal(self) -> Fraction:
        """Return the tempo wanted, or the nearest inside."""
        return self._inside(self.wanted)

    def first(self, slow: Fraction) -> Fraction:
        """Return where to begin: `slow` or the goal, whichever is slower, as a whole number if one fits."""
        bpm = self._inside(min(slow, self.goal()))
        if bpm == self.goal():
            return bpm
        whole = [Fraction(n) for n in (floor(bpm), ceil(bpm)) if n and self._inside(Fraction(n)) == n]
        return next((n for n in whole if n <= self.goal()), bpm)

    def _inside(self, bpm: Fraction) -> Fraction:
        bpm = bpm if self.low is None else max(bpm, self.low)
        return bpm if self.high is None else min(bpm, self.high)


class _Practice:
    """Steps of one rhythm counted from one home."""

    def __init__(self, p: Polyrhythm, home: int) -> None:
        self.p, self.home = p, home
        self.all = tuple(range(len(p.pulses)))
        self.half, self.again = halves(p, home)

    def step(
        self,
        what: str,
        count: str,
        bpm: Fraction,
        start: int = 0,
        stop: int | None = None,
        lanes: tuple[int, ...] = (),
        merged: bool = False,
        up: bool = False,
    ) -> Step:
        stop = self.again if stop is None else stop
        return Step(what, count, self.p, self.home, bpm, start, stop, lanes or self.all, merged, up)

    def halved(self, many: bool) -> list[tuple[str, int, int]]:
        """Name the halves, where there are many sounds and more than one beat."""
        if not many or self.half == self.again:
            return []
        return [("the first half", 0, self.half), ("the second half", self.half, self.again)]


def line_steps(p: Polyrhythm, home: int, span: Span, slow: Fraction) -> tuple[Step, ...]:
    """Return the steps of learning the line: halves if long, the whole, a pulse to each hand, foot, goal."""
    do = _Practice(p, home)
    first = span.first(slow)
    sounds = len(composite(p, stop=do.again))
    tap = "Say and tap {} line, hand to hand"
    halves_of = [(f"{name} of the", start, stop) for name, start, stop in do.halved(sounds > 6)]
    found = [
        do.step(tap.format(name), tapped(p, start, stop), first, start, stop, merged=True)
        for name, start, stop in [*halves_of, ("the whole", 0, do.again)]
    ]
    right, left = (words.pulse_name(p, i) for i in (0, 1))
    hands = f"{right} right, {left} left" if len(p.pulses) == 2 else "each pulse in its own limb"
    found.append(do.step(f"Keep the same line, now {hands}", clapped(p, 0, do.again), first))
    beat = f"Tap {words.pulse_name(p, home)} with the foot under the line"
    count = count_of(p, home, 0, do.again)
    found.append(do.step(beat, count, first))
    if span.goal() > first:
        faster = "Speed up only as far as foot and line stay steady"
        found.append(do.step(faster, count, span.goal(), up=True))
    return tuple(found)


def count_steps(p: Polyrhythm, home: int, span: Span, slow: Fraction) -> tuple[Step, ...]:
    """Return the steps of counting: home alone, halves, the whole slowly, then at the goal."""
    do = _Practice(p, home)
    first = span.first(slow)
    name, feel = words.pulse_name(p, home), Feel(p, home)
    parts = words.listed([str(n) for n in sorted({feel.parts(i) for i in do.all if i != home})])
    beats = do.again // p.step(home)
    aloud = f"Play {name} alone and count {parts} to a beat aloud"
    found = [do.step(aloud, f"1 to {beats}", first, lanes=(home,))]
    found += [
        do.step(f"Add the rest in {half}", count_of(p, home, start, stop), first, start, stop)
        for half, start, stop in do.halved(beats > 2)
    ]
    whole = count_of(p, home, 0, do.again)
    found.append(do.step("Count the whole cycle and play it", whole, first))
    found.append(do.step("Count only where a stroke falls, then only the beats", whole, span.goal()))
    return tuple(found)


def ones_steps(p: Polyrhythm, home: int, span: Span) -> tuple[Step, ...]:
    """Return the steps of holding the ones: each pulse alone from one to one, then all of them."""
    do = _Practice(p, home)
    first = span.first(span.low or span.goal())
    reduced = p.reduced.pulses
    each = "Play {} alone, even, and land on the one"
    found = [
        do.step(each.format(words.pulse_name(p, i)), f"1 to {reduced[i]}, then 1", first, lanes=(i,))
        for i in do.all
    ]
    ones = "only the ones"
    found.append(do.step("Play all at once: listen for the one, aim at nothing between", ones, first))
    found.append(do.step("Speed up only as far as the ones stay exact", ones, span.goal()))
    return tuple(found)


def drift_steps(p: Polyrhythm, home: int, span: Span, ratio: NearRatio) -> tuple[Step, ...]:
    """Return the steps of following the drift of two pulses: open, take turns, close, then all of it."""
    do = _Practice(p, home)
    bpm, step, name = span.goal(), p.step(home), words.pulse_name(p, home)
    beats = round(Fraction(p.pulses[home], ratio.opens))  # from together to together again
    quarter = max(1, round(Fraction(beats, 4)))
    group = "" if (ratio.h, ratio.k) == (1, 1) else f" as {ratio.h} against {ratio.k}"
    slices = [
        (f"Start together{group} and let it open; leave each hand even", 0, quarter),
        ("Start where they are well apart and let the strokes take turns", quarter, beats - quarter),
        ("Start apart and let it close; land on the one", beats - quarter, beats),
    ]
    found = [
        do.step(text, f"beats {start + 1} to {stop} of {name}", bpm, start * step, stop * step)
        for text, start, stop in slices
        if start < stop
    ]
    known = (ratio.h, ratio.k) == (1, 1) and sum(p.pulses) <= 1000
    marks = landmarks_said(Feel(p, home), 1 - home) if known else ""
    whole = "Play from together to together, home loud and steady"
    found.append(do.step(whole, marks or f"beats 1 to {beats} of {name}", bpm, 0, beats * step))
    return tuple(found)

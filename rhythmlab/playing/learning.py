"""In which order to learn: pairs before other pairs, and in each way what first, next and last."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, floor, gcd
from typing import TypedDict

import numpy as np

from rhythmlab.core.check import flag, items, short
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, Lane, counted_as
from rhythmlab.core.display import Printed
from rhythmlab.core.feel import Feel, OwnGroups, own_row, said_in
from rhythmlab.core.gaps import NearRatio, near_ratios
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm, as_polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.core.types import Ticks
from rhythmlab.playing.hands import mirrored, sides
from rhythmlab.playing.hearing import Landmark, ear_landmarks
from rhythmlab.playing.limits import Limits, source_row
from rhythmlab.playing.phrasing import as_advised
from rhythmlab.playing.saying import numbers_fit, quarter_fits
from rhythmlab.refusal import Refusal
from rhythmlab.text import counts, descriptions, numbers, sentences
from rhythmlab.text.descriptions import about_bpm, bpm_text
from rhythmlab.text.sentences import say

#: Pairs that learners of 3:2 passed through, in that order (selfpaced1999).
ROUTE = ((1, 1), (2, 1), (3, 1), (3, 2))
#: Pairs in the order of accuracy measured with 29 percussionists and pianists (uw_dissertation).
MEASURED = ((3, 2), (4, 3), (5, 4))
#: Where a tempo is wanted that would be the one to start at, a start is so far below it (own choice).
BELOW = Fraction(3, 4)
#: Most sounds from one to one that are learned as one line (own choice, no source).
LINE_SOUNDS = 12
#: A near ratio goes at least so many times into the cycle, and each time it slips by no more than such a
#: share of the shorter step of the pair (own choices, no source).
NEAR_TIMES, NEAR_SLIP = 3, Fraction(1, 4)
#: Two hands and two feet: so many pulses have a limb each that is named.
_LIMBS = 4
#: Where no order is published.
HYPOTHESIS = "hypothesis"
#: Most pairs that are put in order.
MOST_PAIRS = 10_000
#: A count is written out up to so many strokes.
_MOST_WRITTEN = 40
#: Beats of a drift are counted one by one up to so many between its landmarks; more as from where to where.
_WRITTEN = 8
#: How far from a beat a stroke is, in quarters of a beat.
_QUARTERS = (
    *("about a quarter of a beat", "about half a beat", "about three quarters of a beat"),
    *("about a beat", "more than a beat"),
)
_EXAMPLE = "approach((7, 4), 72)"
_STEP = f"{_EXAMPLE}.ways[0].steps[0]"
_ORDER = "playing.learning_order([(7, 4), (4, 3)])"


@public_class(_STEP, describe=f"{_STEP}.describe(of=False)", cycle=f"{_STEP}.cycle()")
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
    streams : bool
        Whether each pulse goes hand to hand, but that of the foot.
    foot : int
        Index of the pulse that the foot has; -1 where none is tapped.
    of : int
        Index of the pulse whose beats a minute are said; -1 for those of home.
    left_handed : bool
        Whether the limbs of its cycle are mirrored.
    groups : tuple of int
        Groups of a pulse that goes hand to hand, the first stroke of each loud; empty where none is.
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
    streams: bool = False
    foot: int = -1
    of: int = -1
    left_handed: bool = False
    groups: tuple[int, ...] = ()

    @property
    def text(self) -> str:
        """What to do, in a sentence with its tempo."""
        return self.describe()

    def describe(self, *, of: bool = True, tempo: bool = True) -> str:
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
        >>> step.text, step.describe(of=False)
        ('Play the second half, at 60 bpm of the 3.', 'Play the second half, at 60 bpm.')
        >>> step.describe(tempo=False)
        'Play the second half.'
        """
        if not flag(tempo, "tempo", f"{_EXAMPLE}.ways[0].steps[0].describe(tempo=False)"):
            return say("step.what", what=self.what)
        p, said = self.polyrhythm, self.home if self.of < 0 else self.of
        bpm = tempo_text(p, said, self.bpm * Fraction(p.pulses[said], p.pulses[self.home]), of=of, about=True)
        return say("step.up_to" if self.up else "step.at", what=self.what, tempo=bpm)

    @property
    def tempo(self) -> Tempo:
        """The speed, for the whole and for `cycle` alike."""
        return Tempo(self.bpm, ticks=self.polyrhythm.step(self.home))

    def cycle(self) -> Cycle:
        """Return the slice as a `Cycle` of its own: what to see, hear and play along with.

        What goes hand to hand and has an odd number of strokes changes hands when it comes round: it is
        there twice.

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
        once = self.stop - self.start
        if self.merged:
            onsets = composite(p, **window).onsets - self.start
            rounds = 1 + len(onsets) % 2
            hands = mirrored("".join(alternating_hands(p, self.start, self.stop)), self.left_handed)
            line = Lane("line", _rounds(onsets, once, rounds), limb="hands", hands=hands)
            return Line(line, self._counted(self._apart(tuple(range(len(p.pulses))), rounds), rounds))
        if not self.streams:
            return self._counted(self._apart(self.lanes, 1), 1)
        lanes = []
        hands_have = [i for i in self.lanes if i != self.foot]
        rounds = 1 + any(len(p.onsets(i, **window)) % 2 for i in hands_have)
        for i in self.lanes:
            own, name = p.onsets(i, **window), str(p.pulses[i])
            onsets = _rounds(own - self.start, once, rounds)
            if i == self.foot:
                lanes.append(Lane(name, onsets, limb="foot"))
                continue
            hands = mirrored(("RL" * (len(onsets) // 2 + 1))[: len(onsets)], self.left_handed)
            loud = self._loud(own // p.step(i)) if self.groups else np.zeros(len(own), dtype=bool)
            accents = onsets[np.tile(loud, rounds)]
            lanes.append(Lane(name, onsets, limb="hands", accents=accents, hands=hands))
        return self._counted(lanes, rounds)

    def _apart(self, pulses: tuple[int, ...], rounds: int) -> list[Lane]:
        """Return pulses that have a limb each, as they are played so many times."""
        p, once = self.polyrhythm, self.stop - self.start
        two = tuple(f"{side} hand" for side in sides(self.left_handed))
        limbs = two if len(p.pulses) == 2 else ("",) * len(p.pulses)
        rows = {i: p.onsets(i, start=self.start, stop=self.stop) - self.start for i in pulses}
        return [Lane(str(p.pulses[i]), _rounds(row, once, rounds), limb=limbs[i]) for i, row in rows.items()]

    def _counted(self, lanes: list[Lane], rounds: int) -> Cycle:
        """Return lanes over the beats of home, as they are counted so many times."""
        p, once = self.polyrhythm, self.stop - self.start
        beats = p.onsets(self.home, start=self.start, stop=self.stop) - self.start
        return counted_as(Cycle(rounds * once, lanes, beats=_rounds(beats, once, rounds)), 0)

    def _loud(self, strokes: np.ndarray) -> np.ndarray:
        """Return which strokes of a pulse, counted from 0, begin a group."""
        starts = np.cumsum((0, *self.groups[:-1]))
        return np.isin(strokes % sum(self.groups), starts)


def _rounds(onsets: Ticks, once: int, rounds: int) -> Ticks:
    """Return strokes as they are played so many times."""
    return np.concatenate([onsets + nth * once for nth in range(rounds)])


@dataclass(frozen=True, slots=True, init=False, eq=False, repr=False)
class Line(Cycle):
    """Pulses merged into one lane, hand to hand, whose strokes are counted pulse by pulse.

    Attributes
    ----------
    counted : Cycle
        The pulses, a lane each: a stroke has the words of its own pulse, not of parts that all share.
    """

    counted: Cycle

    def __init__(self, line: Lane, counted: Cycle) -> None:
        Cycle.__init__(self, counted.ticks, [line], beats=counted.beats)
        counted_as(self, counted)
        object.__setattr__(self, "counted", counted)


@dataclass(frozen=True, slots=True)
class Span:
    """The tempos of home between which a way works, and the one that is wanted.

    Attributes
    ----------
    low, high : Fraction or None
        Beats a minute of home; ``None`` where nothing limits it.
    wanted : Fraction
        The tempo asked for, inside or outside.
    of : int
        Index of the pulse in whose beats a minute it is asked, where that is not home; else -1.
    share : Fraction
        Beats of that pulse for each beat of home.
    """

    low: Fraction | None
    high: Fraction | None
    wanted: Fraction
    of: int = -1
    share: Fraction = Fraction(1)

    def goal(self) -> Fraction:
        """Return the tempo wanted, or the nearest inside, as a whole number if one fits."""
        bpm = self._inside(self.wanted)
        if bpm == self.wanted:
            return bpm
        whole = whole_bpm(bpm * self.share, up=bpm > self.wanted) / self.share
        return whole if self._inside(whole) == whole else bpm

    def first(self, slow: Fraction | None = None) -> Fraction:
        """Return where to begin: at `BELOW` of the goal, or at `slow` if that is slower, inside the span.

        It is a whole number if one fits, and a faster goal never begins slower.

        Examples
        --------
        >>> [Span(Fraction(22), Fraction(200), Fraction(bpm)).first() for bpm in (24, 72, 92, 200)]
        [Fraction(22, 1), Fraction(54, 1), Fraction(69, 1), Fraction(150, 1)]
        """
        goal = self.goal()
        bpm = self._inside(goal * BELOW if slow is None else min(slow, goal * BELOW))
        asked = bpm * self.share
        whole = [n / self.share for n in map(Fraction, (floor(asked), ceil(asked))) if n]
        return next((n for n in whole if self._inside(n) == n and n <= goal), bpm)

    def _inside(self, bpm: Fraction) -> Fraction:
        bpm = bpm if self.low is None else max(bpm, self.low)
        return bpm if self.high is None else min(bpm, self.high)


def line_steps(
    p: Polyrhythm,
    home: int,
    span: Span,
    left_handed: bool = False,
    groups: OwnGroups = (),
) -> tuple[Step, ...]:
    """Return the steps of learning the line: two pieces if long, the whole, each hand a pulse, foot, goal."""
    do = _Practice(p, home)
    first = span.first()
    found = []
    parts = [(f"{name} of the line", start, stop) for name, start, stop in do.pieces(line_is_cut(p))]
    for name, start, stop in [*parts, ("the whole line", 0, do.again)]:
        turned = ", twice through" if len(alternating_hands(p, start, stop)) > 1 else ""
        tap, count = f"Say and tap {name}{turned}, hand to hand", hands_text(p, start, stop, left_handed)
        found.append(do.step(tap, count, first, start, stop, merged=True))
    limbs, foot = _limbs_of(p, home, left_handed)
    two = len(p.pulses) == 2
    count = sounds_text(p, 0, do.again, left_handed) if two else count_text(p, home, 0, do.again, groups)
    found.append(do.step(f"Keep the same line, now {limbs}", count, first))
    if foot:
        beat = f"Tap {descriptions.pulse_name(p, home)} with {foot} under the line"
        found.append(do.step(beat, count, first))
    if span.goal() > first:
        faster = "Speed up only as far as foot and line stay steady"
        found.append(do.step(faster, count, span.goal(), up=True))
    return tuple(found)


def _limbs_of(p: Polyrhythm, home: int, left_handed: bool) -> tuple[str, str]:
    """Say which limb has which pulse, and which foot is free to tap home; empty where none is, or it does."""
    if len(p.pulses) > _LIMBS:
        return "each pulse in its own limb", ""
    fast, feet = _by_speed(p)
    hands = zip(sorted(fast), descriptions.hands_of_two(left_handed), strict=True)
    said = [f"{descriptions.pulse_name(p, i)} {hand}" for i, hand in hands]
    said += [
        f"{descriptions.pulse_name(p, i)} with {'a' if i == feet[0] else 'the other'} foot" for i in feet
    ]
    free = {0: "the foot", 1: "the other foot"}[len(feet)] if home in tapped(p, home)[len(feet) :] else ""
    return ", ".join(said), free


def tapped(p: Polyrhythm, home: int) -> tuple[int, ...]:
    """Return the pulses that feet have at the end of the line: those without a hand, and home if one is free.

    Examples
    --------
    >>> tapped(Polyrhythm(7, 4), 1), tapped(Polyrhythm(3, 4, 5), 2), tapped(Polyrhythm(2, 3, 4, 5), 3)
    ((1,), (0, 2), (1, 0))
    """
    if len(p.pulses) > _LIMBS:
        return ()
    feet = _by_speed(p)[1]
    return (*feet, home) if len(feet) < 2 and home not in feet else tuple(feet)


def _by_speed(p: Polyrhythm) -> tuple[list[int], list[int]]:
    """Return the two fastest pulses, which hands have, and the others, which feet have."""
    order = sorted(range(len(p.pulses)), key=lambda i: -p.pulses[i])
    return order[:2], order[2:]


def count_steps(
    p: Polyrhythm, home: int, span: Span, slow: Fraction, groups: OwnGroups = ()
) -> tuple[Step, ...]:
    """Return the steps of counting: home alone, two pieces, the whole slowly, then at the goal."""
    do = _Practice(p, home, span.of)
    first = span.first(slow)
    name, feel = descriptions.pulse_name(p, home), Feel(p, home)
    others = [i for i in do.all if i != home]
    parts = sorted({feel.parts(i) for i in others})
    beats = do.again // p.step(home)
    each = ", then ".join((f"{parts[0]} to a beat aloud", *map(str, parts[1:])))
    aloud = f"Play {name} alone and count {each}"
    found = [do.step(aloud, _beats_aloud(parts, beats, groups), first, lanes=(home,))]
    added = sentences.listed([descriptions.pulse_name(p, i) for i in others])
    found += [
        do.step(f"Add {added} in {piece}", count_text(p, home, start, stop, groups), first, start, stop)
        for piece, start, stop in do.pieces(count_is_cut(p, home))
    ]
    whole = count_text(p, home, 0, do.again, groups)
    through = "the whole cycle" if p.repeats == 1 else descriptions.once_through(p)
    found.append(do.step(f"Count {through} and play it", whole, first))
    found.append(do.step("Count only where a stroke falls, then only the beats", whole, span.goal()))
    return tuple(found)


def counted_to(p: Polyrhythm) -> int:
    """Return to what one counts where a pulse goes against one stroke of the other; 0 elsewhere.

    Examples
    --------
    >>> [counted_to(Polyrhythm(*pair)) for pair in ((1, 7), (12, 4), (7, 4), (5, 5))]
    [7, 3, 0, 0]
    """
    few = sorted(p.reduced.pulses)
    return few[1] if len(few) == 2 and few[0] == 1 < few[1] else 0


def one_steps(p: Polyrhythm, home: int, span: Span) -> tuple[Step, ...]:
    """Return the steps of a pulse against one: the pulse counted, then the other hand on each 1."""
    do, first, count = _Practice(p, home, span.of), span.first(), _to(counted_to(p))
    fast, slow = sorted(do.all, key=lambda i: -p.pulses[i])
    names = [descriptions.pulse_name(p, i) for i in (fast, slow)]
    found = [
        do.step(f"Play {names[0]} with one hand, even", count, first, lanes=(fast,)),
        do.step(f"Add {names[1]} with the other hand, on each 1", count, first),
    ]
    if span.goal() > first:
        found.append(do.step("Speed up only as far as both hands stay even", count, span.goal(), up=True))
    return tuple(found)


def ones_steps(p: Polyrhythm, home: int, span: Span) -> tuple[Step, ...]:
    """Return the steps of holding the ones: each pulse alone from one to one, then all of them.

    Alone, pulses begin at `BELOW` of the goal, even where the ones are held from a faster tempo only.
    """
    do = _Practice(p, home)
    first, alone = span.first(), replace(span, low=None).first()
    reduced = p.reduced.pulses
    each = "Play {} alone, even, and land on the one"
    found = [
        do.step(each.format(descriptions.pulse_name(p, i)), f"{_to(reduced[i])}, then 1", alone, lanes=(i,))
        for i in do.all
    ]
    ones = "say only the ones"
    every = "both" if len(do.all) == 2 else "all"
    found.append(do.step(f"Play {every} at once: listen for the one, aim at nothing between", ones, first))
    if span.goal() > first:
        found.append(do.step("Speed up only as far as the ones stay exact", ones, span.goal(), up=True))
    return tuple(found)


def drift_steps(
    p: Polyrhythm,
    home: int,
    span: Span,
    ratio: NearRatio,
    left_handed: bool = False,
    limits: Limits | None = None,
) -> tuple[Step, ...]:
    """Return the steps of following the drift: open from together, to midway, close from there, all of it.

    Nobody begins where the hands are neither together nor take turns.
    """
    do = _Practice(p, home)
    bpm, step = span.first(), p.step(home)
    meets = ratio.opens == p.repeats  # else it is close in between without being together
    round_ = Fraction(p.ticks, ratio.opens)  # ticks in which it opens and closes
    beats = round(round_ / step)
    alone = (ratio.h, ratio.k) == (1, 1)
    each = (ratio.h, ratio.k)[home]  # beats of a group: on its first the other pulse has a stroke too
    quarter, late = (_near_quarter(p, home, round_ * part / 4, closing=part > 1) for part in (1, 3))
    half = floor(round_ / 2 / step)
    half = max(half, half + 1, key=lambda beat: abs(_off(p, home, beat * step)))  # the beat nearest to midway
    marked = (quarter, late)
    if not alone:  # groups are counted from where it opens, and back from where it is closest again
        opened = floor(round_ / 4 / step / each) * each
        near = range(beats, beats - each, -1)
        closest = beats if meets else min(near, key=lambda beat: abs(_off(p, home, beat * step)))
        marked = (opened + 1, closest - opened + 1)
        quarter = opened + each if opened + each < half else quarter
    marks = [_landmark(p, home, beat) for beat in marked]
    middle = _midway(p, home, round_ / 2)
    group = "" if alone else f" as {ratio.h} against {ratio.k}"
    on = "land on the one" if meets else "go on until it is closest"
    named = descriptions.hands_of_two(left_handed)
    hands = [f"{descriptions.pulse_name(p, i)} with the {hand} hand" for i, hand in enumerate(named)]
    both, again = f"{hands[0]} and {hands[1]}", "Start together again, each hand as before"
    slices = [(f"Start together{group}, {both}, and let it open as far as {marks[0]}", 0, quarter)]
    if alone:
        begin = f"on beat {half + 1} with the {named[home]} hand"
        slices += [
            (f"{again}, and go on to {middle}, where the strokes take turns", 0, half + 1),
            (f"Start there, {begin}: let it close past {marks[1]} and {on}", half, beats),
        ]
    else:
        on_and_past = f"go on to {middle} and let it close past {marks[1]}"
        slices.append((f"{again}, {on_and_past}", 0, marked[1]))
    by_ear = ear_landmarks(Feel(p, home), 1 - home) if alone and sum(p.pulses) <= 1000 else ()

    def aloud(start: int, stop: int, bpm: Fraction) -> str:
        return _drift_aloud(by_ear, step, start, stop, bpm, limits)

    found = [
        do.step(text, aloud(start, stop, bpm), bpm, start * step, stop * step)
        for text, start, stop in slices
        if start < stop
    ]
    whole, all_of_it = (beats * step, beats) if meets else (do.again, do.again // step)
    text = f"Play from together to together, {both}, home loud and steady"
    goal = span.goal()
    found.append(do.step(text, aloud(0, all_of_it, goal), goal, 0, whole, up=goal > bpm))
    return tuple(found)


def _drift_aloud(
    marks: Sequence[Landmark], step: int, start: int, stop: int, bpm: Fraction, limits: Limits | None = None
) -> str:
    """Write how the beats of a drift are counted at a tempo, a bar after each landmark.

    A landmark off the beat is said with the word of its part, where there is time for that; where there is
    none for the numbers, only the ones are said.

    Examples
    --------
    >>> feel = Feel(Polyrhythm(16, 15), 1)
    >>> _drift_aloud(ear_landmarks(feel, 0), feel.beat_ticks, 0, 15, Fraction(100))
    '1 2 3 4 a | 5 6 7 8 & | 9 10 11 12 e | 13 14 15'
    >>> feel = Feel(Polyrhythm(64, 63), 0)
    >>> _drift_aloud(ear_landmarks(feel, 1), feel.beat_ticks, 0, 64, Fraction(60))
    '1 to 17 | 18 to 33 | 34 to 49 | 50 to 64'
    >>> _drift_aloud((), 15, 0, 64, Fraction(200))
    'say only the ones'
    """
    if not numbers_fit(stop, bpm, limits):
        return "say only the ones"
    found, first = [], start + 1
    for mark in marks:
        beat = mark.tick // step + 1
        if not first <= beat <= stop:
            continue
        on_the_beat = mark.between or not quarter_fits(beat, mark.quarters, bpm, limits)
        word = "" if on_the_beat else f" {counts.SYLLABLES[4][mark.quarters - 1]}"
        found.append(f"{_row(beat, first)}{word}")
        first = beat + 1
    if not found:
        return _to(stop, first)
    return " | ".join([*found, _row(stop, first)] if first <= stop else found)


def _row(last: int, first: int) -> str:
    """Write numbers one by one, or from the first to the last where they are many."""
    return " ".join(map(str, range(first, last + 1))) if last - first < _WRITTEN else f"{first} to {last}"


def _landmark(p: Polyrhythm, home: int, beat: int) -> str:
    """Name a beat of home by what the other pulse does there.

    Examples
    --------
    >>> p = Polyrhythm(16, 15)
    >>> _landmark(p, 1, 4), _landmark(p, 0, 5), _landmark(Polyrhythm(11, 6), 1, 2)
    ('beat 4 (the 16 comes on the a)', 'beat 5 (the 15 comes a quarter of its step later)', \
'beat 2 (the 11 comes just after it)')
    """
    step, other = p.step(home), descriptions.pulse_name(p, 1 - home)
    at = (beat - 1) * step
    inner = [tick - at for tick in p.onsets(1 - home, start=at, stop=at + step).tolist()]
    exact = [4 * tick // step for tick in inner if tick and 4 * tick % step == 0]
    if exact:
        return f"beat {beat} ({other} comes on the {counts.SYLLABLES[4][exact[0] - 1]})"
    between = [mark.quarters for mark in ear_landmarks(Feel(p, home), 1 - home) if mark.tick == at]
    if between and between[0] != 2:
        late = "later" if between[0] == 3 else "earlier"
        return f"beat {beat} ({other} comes a quarter of its step {late})"
    off = _off(p, home, at)
    if not off:
        return f"beat {beat} ({other} comes too)"
    far = f"just {'after' if off > 0 else 'before'} it"
    quarters = floor(4 * abs(off) + Fraction(1, 2))
    if quarters:
        far = f"{_QUARTERS[min(quarters, 5) - 1]} {'later' if off > 0 else 'earlier'}"
    return f"beat {beat} ({other} comes {far})"


def _near_quarter(p: Polyrhythm, home: int, tick: Fraction, *, closing: bool = False) -> int:
    """Return the beat of home, from 1, at which the other pulse is nearest to a quarter of a beat off.

    Of the beats before and after a tick; that before it where either pulse comes on the tick itself, which
    is named then.  Of two as near the one nearer to together, which is later where the pulses close.

    Examples
    --------
    >>> [_near_quarter(Polyrhythm(p, p - 1), 1, Fraction(p * (p - 1), 4)) for p in (11, 12, 16, 31)]
    [4, 3, 4, 9]
    """
    step, every = p.step(home), p.step(1 - home)
    beat = floor(tick / step)
    if tick == beat * step or tick % every == 0:
        return beat + 1
    near = (beat + 1, beat) if closing else (beat, beat + 1)
    return min(near, key=lambda one: abs(abs(_off(p, home, one * step)) - Fraction(1, 4))) + 1


def _off(p: Polyrhythm, home: int, tick: int) -> Fraction:
    """Return how many beats of home later than a tick the nearest stroke of the other pulse comes."""
    every = p.step(1 - home)
    return Fraction((tick + every // 2) // every * every - tick, p.step(home))


def _midway(p: Polyrhythm, home: int, tick: Fraction) -> str:
    """Name where a drift is half-way.

    Examples
    --------
    >>> _midway(Polyrhythm(16, 15), 1, Fraction(120)), _midway(Polyrhythm(16, 15), 0, Fraction(120))
    ('midway (on the & of 8)', 'midway (on beat 9)')
    """
    step = p.step(home)
    beat, over = tick // step + 1, tick % step
    if not over:
        return f"midway (on beat {beat})"
    return f"midway (on the & of {beat})" if 2 * over == step else f"midway (in beat {beat})"


def near_steps(
    p: Polyrhythm,
    home: int,
    span: Span,
    ratio: NearRatio,
    beat: int,
    left_handed: bool = False,
) -> tuple[Step, ...]:
    """Return the steps of a near ratio: the ratio alone, the pair itself through the slip, then faster."""
    simple = Polyrhythm(ratio.h, ratio.k)
    known, do = _Practice(simple, home), _Practice(p, home)
    first, name = span.first(span.low or span.goal()), descriptions.pulse_name(p, home)
    pair, hands = descriptions.pair(simple), descriptions.hands_of_two(left_handed)
    numbers_of = [
        f"{descriptions.pulse_name(simple, i)} with the {hand} hand" for i, hand in enumerate(hands)
    ]
    found = [
        known.step(
            f"Play {pair} round and round, {numbers_of[0]} and {numbers_of[1]}",
            sounds_text(simple, 0, simple.ticks, left_handed),
            first,
        ),
        do.step(
            f"Begin the same way, but keep both hands even and play on as {descriptions.pair(p)}: "
            f"{slip_text(p, home, ratio, beat, left_handed)}; land together on the one",
            _to(p.reduced.pulses[home]),
            first,
        ),
    ]
    if span.goal() > first:
        faster = f"Speed up only as far as {name} stays steady through the slip"
        found.append(do.step(faster, "say only the ones", span.goal(), up=True))
    return tuple(found)


def slip_text(p: Polyrhythm, home: int, ratio: NearRatio, beat: int, left_handed: bool = False) -> str:
    """Say on which beat two hands are heard to slip out of a near ratio, and which of them comes first.

    Examples
    --------
    >>> slip_text(Polyrhythm(13, 8), 1, near_enough(Polyrhythm(13, 8)), 3)
    'on beat 3 of the 8 the right hand comes just before the left'
    """
    hands = descriptions.hands_of_two(left_handed)
    if not beat:
        return say("slip.unheard")
    own, others = (ratio.h, ratio.k)[home], (ratio.h, ratio.k)[1 - home]
    group = (beat - 1) // own
    early = group * others * p.step(1 - home) < (beat - 1) * p.step(home)
    pulse, hand, other = descriptions.pulse_name(p, home), hands[1 - home], hands[home]
    if early:
        return say("slip.before", beat=beat, pulse=pulse, hand=hand, other=other)
    return say("slip.after", beat=beat, pulse=pulse, hand=hand, other=other)


def hand_steps(
    p: Polyrhythm, home: int, span: Span, pulses: tuple[int, int], foot: Fraction | None, slow: Fraction
) -> tuple[Step, ...]:
    """Return the steps of playing the larger pulse hand to hand over the foot, and landing on the one."""
    many = p.reduced.pulses[pulses[0]]
    how = ("hand to hand, and land on the one", _to(many))
    return _stream_steps(p, home, span, pulses, foot, how, slow)


def phrase_steps(
    p: Polyrhythm,
    home: int,
    span: Span,
    pulses: tuple[int, int],
    foot: Fraction | None,
    groups: tuple[int, ...],
    slow: Fraction,
) -> tuple[Step, ...]:
    """Return the steps of phrasing the larger pulse: hand to hand in groups, then with the foot."""
    how = ("hand to hand, counted aloud", _to(p.reduced.pulses[pulses[0]]))
    if groups:
        named, said = as_advised(groups)
        every = f"as {named}, the first of each group loud"
        loud = every if len(groups) > 1 else "as one phrase, its first stroke loud"
        how = (f"hand to hand {loud}", said)
    return _stream_steps(p, home, span, pulses, foot, how, slow, groups)


def _stream_steps(
    p: Polyrhythm,
    home: int,
    span: Span,
    pulses: tuple[int, int],
    foot: Fraction | None,
    how: tuple[str, str],
    slow: Fraction,
    groups: tuple[int, ...] = (),
) -> tuple[Step, ...]:
    """Return the steps of one pulse hand to hand, the other with the foot, as far as a foot goes.

    They begin on a cycle short enough, and no slower than `slow`, where the strokes of the hands are beats.
    """
    do, (large, small), goal = _Practice(p, home), pulses, span.goal()
    first = span.first(max(span.low or goal, slow))
    hands, tapped = (descriptions.pulse_name(p, i) for i in pulses)
    rest = others(p, *pulses)
    taps = foot is None or first <= foot
    lanes = do.all if taps else tuple(i for i in do.all if i != small)
    hands_have: _Streams = {"streams": True, "foot": small, "groups": groups}
    found = [do.step(f"Play {hands} {how[0]}", how[1], first, lanes=(large,), **hands_have)]

    def add(what: str, bpm: Fraction, lanes: tuple[int, ...]) -> None:
        ones, up = "say only the ones", bpm > first
        found.append(do.step(what, ones, bpm, lanes=lanes, up=up, **hands_have))

    if taps:
        add(f"Tap {tapped} with the foot under it", first, tuple(sorted(pulses)))
    else:
        add("Tap only the one with the foot under it", first, (large,))
    if rest:
        add(
            f"Another player adds {rest}" if len(p.pulses) == 3 else f"Other players add {rest}", first, lanes
        )
    top = goal if foot is None or not taps else min(goal, foot)
    if first < top:
        whole = top if top == goal else max(first, whole_bpm(top, up=False))
        add("Speed up only as far as foot and hands meet on the one", whole, lanes)
    if top < goal:
        without = tuple(i for i in do.all if i != small)
        add("Faster still, tap only the one with the foot", goal, without)
    return tuple(found)


def others(p: Polyrhythm, large: int, small: int) -> str:
    """Name the pulses that neither the hands nor the foot of a player have; empty where there are none.

    Examples
    --------
    >>> others(Polyrhythm(5, 11, 10), 1, 0), others(Polyrhythm(7, 4), 0, 1)
    ('the 10', '')
    """
    return sentences.listed(
        [descriptions.pulse_name(p, i) for i in range(len(p.pulses)) if i not in (large, small)]
    )


def split_steps(p: Polyrhythm, home: int, span: Span, slow: Fraction) -> tuple[Step, ...]:
    """Return the steps of splitting a rhythm: each player one pulse, home first, then all together.

    They begin on a cycle short enough, and no slower than `slow`, where the fastest strokes are beats.
    """
    do, goal = _Practice(p, home), span.goal()
    first, name = span.first(max(span.low or goal, slow)), descriptions.pulse_name(p, home)
    rest = sentences.listed([descriptions.pulse_name(p, i) for i in do.all if i != home])
    everyone = "Both" if len(p.pulses) == 2 else "All"
    found = [
        do.step(
            f"One player has {name}, hand to hand",
            _to(p.reduced.pulses[home]),
            first,
            lanes=(home,),
            streams=True,
        ),
        do.step(
            f"The other adds {rest}" if len(p.pulses) == 2 else f"The others add {rest}",
            "say only the ones",
            first,
            streams=True,
        ),
        do.step(
            f"{everyone} play it through, then change parts",
            "say only the ones",
            goal,
            up=goal > first,
            streams=True,
        ),
    ]
    return tuple(found)


class _Streams(TypedDict):
    """What all steps with a pulse hand to hand have in common."""

    streams: bool
    foot: int
    groups: tuple[int, ...]


class _Practice:
    """Steps of one rhythm counted from one home."""

    def __init__(self, p: Polyrhythm, home: int, of: int = -1) -> None:
        self.p, self.home, self.of = p, home, of
        self.all = tuple(range(len(p.pulses)))
        self.again = p.meet()

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
        streams: bool = False,
        foot: int = -1,
        groups: tuple[int, ...] = (),
    ) -> Step:
        stop = self.again if stop is None else stop
        return Step(
            *(what, count, self.p, self.home, bpm, start, stop, lanes or self.all),
            *(merged, up, streams, foot, self.of),
            groups=groups,
        )

    def pieces(self, cut: bool) -> list[tuple[str, int, int]]:
        """Return the pieces to begin with; none where it is not cut."""
        return pieces(self.p, self.home) if cut else []


def pieces(p: Polyrhythm, home: int) -> list[tuple[str, int, int]]:
    """Cut once through in two on a beat of home: name, start and stop in ticks; nothing where it is one beat.

    Only pieces of the same time are halves of a cycle: others are called by their beats.

    Examples
    --------
    >>> pieces(Polyrhythm(7, 4), 1), pieces(Polyrhythm(5, 3), 1)
    ([('the first half', 0, 14), ('the second half', 14, 28)], [('beats 1 and 2', 0, 10), ('beat 3', 10, 15)])
    """
    again, step = p.meet(), p.step(home)
    beats = again // step
    if beats == 1:
        return []
    cut = (beats + 1) // 2
    alike = 2 * cut == beats and p.repeats == 1
    names = ("the first half", "the second half") if alike else (_beats(1, cut), _beats(cut + 1, beats))
    return [(names[0], 0, cut * step), (names[1], cut * step, again)]


def _beats(first: int, last: int) -> str:
    """Name beats from one to another.

    Examples
    --------
    >>> _beats(3, 3), _beats(1, 2), _beats(5, 9)
    ('beat 3', 'beats 1 and 2', 'beats 5 to 9')
    """
    if first == last:
        return f"beat {first}"
    return f"beats {first} {'and' if last - first == 1 else 'to'} {last}"


def line_is_cut(p: Polyrhythm) -> bool:
    """Whether the line is learnt piece by piece: it has more than 6 sounds."""
    return len(composite(p, stop=p.meet())) > 6


def count_is_cut(p: Polyrhythm, home: int) -> bool:
    """Whether a count is learnt piece by piece: it has more than 2 beats, and each piece has every pulse."""
    others = [i for i in range(len(p.pulses)) if i != home]
    return p.meet() // p.step(home) > 2 and all(
        len(p.onsets(i, start=start, stop=stop)) for _, start, stop in pieces(p, home) for i in others
    )


def count_text(p: Polyrhythm, home: int, start: int, stop: int, groups: OwnGroups = ()) -> str:
    """Say where every other pulse falls in a slice, counted from home; a long slice by its beats.

    Examples
    --------
    >>> count_text(Polyrhythm(7, 4), 0, 0, 16)  # parts of a beat by the words that are said
    'the 4 on 1, a of 2, & of 4'
    """
    feel, step = Feel(p, home, groups=groups), p.step(home)
    said = []
    for i in range(len(p.pulses)):
        if i == home:
            continue
        if (stop - start) // p.step(i) > _MOST_WRITTEN:
            beats = numbers.plural((stop - start) // step, "beat")
            said.append(
                f"{beats} of {numbers.plural(feel.parts(i), 'part')} for {descriptions.pulse_name(p, i)}"
            )
            continue
        own, falls = said_in(feel, i), feel.places(i, start=start, stop=stop)
        places = [counts.said_name(place, own) for place in falls]
        said.append(f"{descriptions.pulse_name(p, i)} on {', '.join(places) or 'none of these beats'}")
    return "; ".join(said)


def _to(last: int, first: int = 1) -> str:
    """Say what is counted from a number to a number.

    Examples
    --------
    >>> _to(7), _to(2), _to(1), _to(9, 6)
    ('1 to 7', '1 2', '1', '6 to 9')
    """
    return " ".join(map(str, range(first, last + 1))) if last - first < 2 else f"{first} to {last}"


def _beats_aloud(parts: list[int], beats: int, groups: OwnGroups = ()) -> str:
    """Say how beats are counted aloud, the first with its parts where they have words.

    Examples
    --------
    >>> _beats_aloud([7], 4), _beats_aloud([4], 1), _beats_aloud([3, 5], 4)
    ('1 e & a TA e &, and so on to beat 4', '1 e & a', '1 to 4')
    """
    own = own_row(groups, parts[0])
    known = len(parts) == 1 and counts.part_words(parts[0], groups=own)
    said = counts.aloud(1, parts[0], groups=own) if known else ""
    if not said:
        return _to(beats)
    return f"{said}, and so on to beat {beats}" if beats > 1 else said


def sounds_text(p: Polyrhythm, start: int, stop: int, left_handed: bool = False) -> str:
    """Say a slice of the line, sound by sound: by hands for two pulses, else by ticks.

    Examples
    --------
    >>> sounds_text(Polyrhythm(7, 4), 0, 14)
    'together, right, left, right, right'
    """
    line = composite(p, start=start, stop=stop)
    if len(p.pulses) > 2:
        return numbers.some(line.intervals.tolist(), 24, " ")
    first, second = descriptions.hands_of_two(left_handed)
    hands = np.array([second, first, "together"])
    return numbers.some(hands[line.pulses @ np.array([2, 1]) - 1].tolist(), 24)


def alternating_hands(p: Polyrhythm, start: int, stop: int) -> tuple[str, ...]:
    """Return the hands of a slice of the line played hand to hand, from a right hand at tick 0.

    Of an odd number of sounds the other hand begins when it comes round: there are two rounds.

    Examples
    --------
    >>> alternating_hands(Polyrhythm(7, 4), 0, 28), alternating_hands(Polyrhythm(7, 4), 14, 28)
    (('RLRLRLRLRL',), ('LRLRL', 'RLRLR'))
    """
    before = len(composite(p, stop=start)) if start else 0
    sounds = len(composite(p, start=start, stop=stop))
    begins = (before % 2, (before + 1) % 2) if sounds % 2 else (before % 2,)
    return tuple(("RL" * (sounds // 2 + 1))[first:][:sounds] for first in begins)


def hands_text(p: Polyrhythm, start: int, stop: int, left_handed: bool = False) -> str:
    """Say the hands of a slice of the line played hand to hand, round by round until they come home.

    Examples
    --------
    >>> hands_text(Polyrhythm(4, 3), 0, 12)
    'right, left, right, left, right, left'
    >>> hands_text(Polyrhythm(5, 3), 0, 10)
    'right, left, right, left, right, then left, right, left, right, left'
    """
    names = dict(zip("RL", descriptions.hands_of_two(left_handed), strict=True))
    rounds = alternating_hands(p, start, stop)
    return ", then ".join(numbers.some([names[hand] for hand in hands], 24) for hands in rounds)


def tempo_text(
    p: Polyrhythm, pulse: int, bpm: Fraction, digits: int = 1, *, of: bool = True, about: bool = False
) -> str:
    """Write a tempo of a pulse, with or without its name, exactly or about.

    Examples
    --------
    >>> p = Polyrhythm(7, 4)
    >>> tempo_text(p, 1, Fraction(400, 3)), tempo_text(p, 1, Fraction(72), of=False)
    ('133.3 bpm of the 4', '72 bpm')
    >>> tempo_text(p, 1, Fraction(400, 3), about=True)
    'about 133 bpm of the 4'
    """
    text = about_bpm(bpm) if about else bpm_text(bpm, digits)
    if flag(of, "of", f"{_EXAMPLE}.changes_text(of=False)"):
        return say("tempo.of", bpm=text, pulse=descriptions.pulse_name(p, pulse))
    return say("tempo.bpm", bpm=text)


def whole_bpm(bpm: Fraction, *, up: bool) -> Fraction:
    """Return the next whole tempo up or down; one below 1 is left as it is.

    Examples
    --------
    >>> whole_bpm(Fraction(400, 3), up=True), whole_bpm(Fraction(360, 7), up=False)
    (Fraction(134, 1), Fraction(51, 1))
    """
    whole = Fraction(ceil(bpm) if up else floor(bpm))
    return whole if whole and (bpm >= 1 or up) else bpm


def inside_text(
    p: Polyrhythm,
    pulse: int,
    bpm: Fraction,
    other: Fraction | None,
    *,
    up: bool,
    of: bool | None = True,
    kept: bool = True,
) -> str:
    """Write an end of a span of tempos as a whole number inside it; with digits where none is inside.

    Parameters
    ----------
    bpm, other : Fraction
        The end that is written, and the other end of the span.
    up : bool
        Whether the inside is faster than the end.
    of : bool or None
        Whether it is said with its pulse; ``None`` for the number alone.
    kept : bool
        Whether the end itself is inside.

    Examples
    --------
    >>> p = Polyrhythm(7, 4)
    >>> inside_text(p, 1, Fraction(400, 3), None, up=True)
    '134 bpm of the 4'
    >>> inside_text(p, 1, Fraction(81, 2), Fraction(206, 5), up=True, of=None)
    '41'
    >>> inside_text(p, 1, Fraction(81, 2), Fraction(204, 5), up=True, of=None)
    '40.5'
    """
    said = inside(bpm, other, up=up, kept=kept)
    return bpm_text(said) if of is None else tempo_text(p, pulse, said, of=of)


def inside(bpm: Fraction, other: Fraction | None, *, up: bool, kept: bool = True) -> Fraction:
    """Return the whole tempo next to the end of a span, inside it; the end itself where none is.

    Where the end is not kept by the span, it is not inside.

    Examples
    --------
    >>> inside(Fraction(400, 3), None, up=True), inside(Fraction(81, 2), Fraction(204, 5), up=True)
    (Fraction(134, 1), Fraction(81, 2))
    >>> inside(Fraction(100), None, up=False), inside(Fraction(100), None, up=False, kept=False)
    (Fraction(100, 1), Fraction(99, 1))
    """
    whole = whole_bpm(bpm, up=up)
    if not kept and whole == bpm:
        whole = whole_bpm(bpm + (1 if up else -1), up=up) if up or bpm > 1 else bpm
    outside = other is not None and (whole > other if up else whole < other)
    return bpm if outside else whole


@dataclass(frozen=True, slots=True)
class Rung:
    """A pair in the order of learning.

    Attributes
    ----------
    polyrhythm : Polyrhythm
        The pair.
    level : int
        Sum of the terms of its continued fraction.
    source : str
        Key of the source that places it, or ``"hypothesis"``.
    why : str
        Why it stands here, in a sentence.
    """

    polyrhythm: Polyrhythm
    level: int
    source: str
    why: str


class Rungs(Printed, tuple[Rung, ...]):
    """Pairs in order; prints one a line, with why it stands there."""

    def __str__(self) -> str:
        return "\n".join(f"{nth}. {rung.why}" for nth, rung in enumerate(self, 1))


@public(_ORDER)
def learning_order(pairs: Iterable[Rhythm]) -> Rungs:
    """Put pairs in an order in which to learn them.

    Parameters
    ----------
    pairs : iterable of Polyrhythm, Cycle or pairs such as (7, 4)
        Two pulses each.

    Returns
    -------
    tuple of Rung
        By how many sounds the line has from one to one, then by the larger number.  This agrees with both
        published orders, and what neither of them places is marked ``"hypothesis"``.

    Raises
    ------
    ValueError
        If one of them is not a polyrhythm of two pulses.

    References
    ----------
    Perceptual and Motor Skills 1999, 88(3): learners of 3:2 passed through 1:1, 2:1 and 3:1.
    A dissertation at the University of Washington (abstract): accuracy 2:3, then 3:4, then 4:5.

    Examples
    --------
    >>> [(r.polyrhythm.pulses, r.source) for r in learning_order([(7, 4), (4, 3)])]
    [((4, 3), 'uw_dissertation'), ((7, 4), 'hypothesis')]
    """
    if isinstance(pairs, Polyrhythm) or not isinstance(pairs, Iterable):
        raise Refusal(f"learning_order({short(pairs)}) needs a list of pairs", _ORDER)
    given = items(pairs, "pairs", _ORDER, MOST_PAIRS)
    return _rungs(as_polyrhythm(pair, "a pair", _ORDER) for pair in given)


@public("playing.prepare((7, 4))", p="what")
def prepare(what: Rhythm) -> Rungs:
    """List the smaller pairs that prepare a pair, in the order to learn them.

    They are the simple ratios nearest to it, the two smaller pairs that add up to it, and pairs half as far,
    a quarter as far and so on from the nearest ratio.  Left out are those of another kind that leave as many
    strokes over as fit; near-equal pairs have smaller near-equal ones.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two pulses; with more, the pairs among them.

    Returns
    -------
    tuple of Rung
        All marked ``"hypothesis"`` in their sentence, since no study of learning by these steps was found.

    Examples
    --------
    >>> [r.polyrhythm.pulses for r in prepare((7, 4))]
    [(1, 1), (2, 1), (3, 2), (5, 3)]
    >>> [r.polyrhythm.pulses for r in prepare((16, 15))]
    [(1, 1), (4, 3), (8, 7), (15, 14)]
    """
    p = as_polyrhythm(what, "what", "playing.prepare((7, 4))")
    if len(p.pulses) > 2:
        among = {(a, b): None for i, a in enumerate(p.pulses) for b in p.pulses[i + 1 :]}
        return Rungs(
            Rung(
                r.polyrhythm,
                r.level,
                HYPOTHESIS,
                f"Two of the pulses of {descriptions.pair(p)} ({HYPOTHESIS}).",
            )
            for r in _rungs(Polyrhythm(*pair) for pair in among)
        )
    high, low = _in_lowest_terms(p, "playing.prepare(Polyrhythm(7, 4))")
    found = {pair for pair in _preparing_pairs(high, low) if _prepares(pair, (high, low))}
    back = p.pulses[0] < p.pulses[1]

    def turned(pair: tuple[int, int]) -> tuple[int, int]:
        return (pair[1], pair[0]) if back else pair

    rungs = []
    for pair in sorted(found, key=lambda pair: (sum(pair), *pair)):
        smaller = Polyrhythm(*turned(pair))
        before = f"{descriptions.pair(smaller)} before {descriptions.pair(p.reduced)}"
        why = f"{before}: {_in_common(smaller, p.reduced)} ({HYPOTHESIS})."
        rungs.append(Rung(smaller, sum(_terms(*pair)), HYPOTHESIS, why))
    return Rungs(rungs)


def _rungs(pairs: Iterable[Polyrhythm]) -> Rungs:
    ranked = sorted(((_rank(p), p) for p in pairs), key=lambda both: both[0])
    listed = tuple(rank[1:] for rank, _ in ranked)
    return Rungs(Rung(p, level(p), *_source_and_why(rank, listed)) for rank, p in ranked)


def level(p: Polyrhythm) -> int:
    """Return the level of a pair in the Stern-Brocot tree: the sum of its continued-fraction terms.

    The order of the pulses and a common factor do not matter.

    References
    ----------
    That a higher level is harder is a hypothesis beyond 5:4. The levels put 3:2, 4:3 and 5:4 in the order
    measured; variability rises with Farey level in other two-hand tasks (Dotov & Trainor 2021, abstract).

    Examples
    --------
    >>> [level(Polyrhythm(*pair)) for pair in ((1, 1), (3, 2), (4, 3), (5, 4), (8, 5), (8, 7))]
    [1, 3, 4, 5, 5, 8]
    """
    return sum(_terms(*_in_lowest_terms(p, _ORDER)))


def _rank(p: Polyrhythm) -> tuple[int, int, int]:
    """Return how many sounds the line of a pair has from one to one, and its numbers in lowest terms."""
    high, low = _in_lowest_terms(p, _ORDER)
    return high + low - 1, high, low


def _in_lowest_terms(p: Polyrhythm, example: str) -> tuple[int, int]:
    """Return the two pulses in lowest terms, the larger first."""
    if len(p.pulses) != 2:
        raise Refusal(f"{short(p)} has {len(p.pulses)} pulses; the order of learning is by pairs", example)
    common = gcd(*p.pulses)
    return max(p.pulses) // common, min(p.pulses) // common


def _terms(high: int, low: int) -> list[int]:
    """Terms of the continued fraction of ``high / low``."""
    found = []
    while low:
        found.append(high // low)
        high, low = low, high % low
    return found


def _source_and_why(rank: tuple[int, int, int], listed: Sequence[tuple[int, int]]) -> tuple[str, str]:
    """Return the source that places a pair among those that are listed, and the sentence."""
    _, high, low = rank
    name, pair = f"{high} against {low}", (high, low)
    if pair in ROUTE:
        *before, goal = (f"{a}:{b}" for a, b in ROUTE)
        source, why = "selfpaced1999", f"learners of {goal} came to it by {sentences.listed(before)}"
    elif pair in MEASURED:
        source, why = "uw_dissertation", "of 3:2, 4:3 and 5:4, the smaller were played more accurately"
    else:
        return HYPOTHESIS, f"{name}: {_why_after(high, low, listed)} ({HYPOTHESIS})."
    return source, f"{name}: {why} ({source_row(source)['named']})."


def _why_after(high: int, low: int, listed: Sequence[tuple[int, int]] = ()) -> str:
    """Say after which easier pair a pair comes, and what they have in common.

    Where that one is not listed, it is the largest of the same kind that is: who reads a list has played it.

    Examples
    --------
    >>> _why_after(7, 6)
    'after 5 against 4, since there too one hand fits one extra stroke into the cycle'
    >>> _why_after(7, 6, [(3, 2), (4, 3), (7, 6), (8, 7)])
    'after 4 against 3, since there too one hand fits one extra stroke into the cycle'
    >>> _why_after(13, 8), _why_after(9, 1)
    ('after 3 against 2, which goes into it four times, with one stroke of the 13 left', \
'nine even strokes to each beat')
    """
    easier = _easier(high, low)
    if easier is None:
        return _kind(high, low)
    alike = [one for one in listed if one[1] < low and _there_too(one, (high, low))]
    if easier not in listed and alike:
        easier = max(alike)
    after = f"after {easier[0]} against {easier[1]}"
    if _same_kind(easier, (high, low)):
        return f"{after}, since there too {_kind(high, low)}"
    return f"{after}, which {_goes_into(Polyrhythm(*easier), Polyrhythm(high, low))}"


def _easier(high: int, low: int) -> tuple[int, int] | None:
    """Return the pair that is learned just before a pair of lowest terms, or ``None``: a choice made here.

    It has few enough sounds for a line.  One stroke extra or short is learned on the smallest pair of that
    kind, or on the largest of those that were measured; any other on a small pair that goes into it often.

    Examples
    --------
    >>> [_easier(*pair) for pair in ((9, 8), (9, 4), (9, 5), (13, 8), (12, 7), (23, 21), (3, 2))]
    [(5, 4), (5, 2), (5, 3), (3, 2), (5, 3), (7, 5), None]
    """
    each, extra = divmod(high, low)
    fewer = low - extra
    if low < 3:
        return None
    if extra == 1:
        measured = [pair for pair in MEASURED if each == 1 and pair[1] < low]
        found = measured[-1:] or [(2 * each + 1, 2)]
    elif fewer == 1:
        found = [(3 * each + 2, 3) if low > 3 else (2 * each + 1, 2)]
    elif near := near_enough(Polyrhythm(high, low)):
        found = [(near.h, near.k)]
    else:
        often = [pair for pair in _preparing_pairs(high, low) if 1 < pair[1] <= low // 2]
        found = [pair for pair in sorted(often, reverse=True) if pair[0] <= high // 2]
        size = 2 * min(extra, fewer) + 1  # the smallest cycle with as many extra or short
        found.append((each * size + (extra if extra < fewer else size - fewer), size))
    return next((pair for pair in found if sum(pair) - 1 <= LINE_SOUNDS and pair[1] < low), None)


def before(p: Polyrhythm) -> tuple[tuple[int, int], ...]:
    """Return the pairs that are learned before two pulses, each after the one before it.

    Examples
    --------
    >>> before(Polyrhythm(16, 15)), before(Polyrhythm(8, 13)), before(Polyrhythm(3, 2))
    (((3, 2), (4, 3), (5, 4)), ((2, 3),), ())
    """
    found, pair = [], _easier(*_in_lowest_terms(p, _ORDER))
    while pair is not None:
        found.append(pair if p.pulses[0] > p.pulses[1] else pair[::-1])
        pair = _easier(*pair)
    return tuple(found[::-1])


def _kind(high: int, low: int) -> str:
    """Say what one hand does against the other.

    Examples
    --------
    >>> _kind(7, 5), _kind(7, 4)
    ('one hand fits two extra strokes into the cycle', 'the cycle is one stroke short of two to a beat')
    """
    each, extra = divmod(high, low)
    if high == low:
        return "both hands together"
    if low == 1:
        return f"{numbers.word(high)} even strokes to each beat"
    if extra > low - extra:
        return f"the cycle is {_strokes(low - extra)} short of {numbers.word(each + 1)} to a beat"
    if each == 1:
        strokes = "stroke" if extra == 1 else "strokes"
        return f"one hand fits {numbers.word(extra)} extra {strokes} into the cycle"
    return f"each beat has {numbers.word(each)} strokes and the cycle {numbers.word(extra)} extra"


def _strokes(count: int) -> str:
    return f"{numbers.word(count)} {'stroke' if count == 1 else 'strokes'}"


def _in_common(smaller: Polyrhythm, p: Polyrhythm) -> str:
    """Say what a smaller pair has in common with a pair in lowest terms.

    Examples
    --------
    >>> _in_common(Polyrhythm(5, 4), Polyrhythm(7, 6)), _in_common(Polyrhythm(1, 1), Polyrhythm(7, 4))
    ('there too one hand fits one extra stroke into the cycle', 'both hands together, as on its one')
    >>> _in_common(Polyrhythm(5, 3), Polyrhythm(13, 8))
    'it goes into it twice, with three strokes of the 13 and two of the 8 left'
    """
    one, two = (tuple(sorted(pair.pulses, reverse=True)) for pair in (smaller, p))
    if one == (1, 1):
        return "both hands together, as on its one"
    if _there_too((one[0], one[1]), (two[0], two[1])):
        return f"there too {_kind(*two)}"
    return f"it {_goes_into(smaller, p)}"


def _there_too(one: tuple[int, int], two: tuple[int, int]) -> bool:
    """Whether one hand does the same against the other in both pairs, and the smaller one shows it."""
    short = 2 * (two[0] % two[1]) > two[1]
    return one[1] > 1 + short and _same_kind(one, two)


def _prepares(one: tuple[int, int], two: tuple[int, int]) -> bool:
    """Whether a smaller pair is worth learning first: of the same kind, or with less left over than fits.

    Examples
    --------
    >>> [_prepares((2, 1), pair) for pair in ((7, 4), (7, 6), (24, 23), (3, 2))]
    [True, False, False, True]
    """
    if one == (1, 1) or two in ROUTE or _there_too(one, two):
        return True
    often = min(two[0] // one[0], two[1] // one[1])
    return two[0] - two[1] > 1 and all(whole < 2 * often * part for whole, part in zip(two, one, strict=True))


def _goes_into(smaller: Polyrhythm, p: Polyrhythm) -> str:
    """Say how often a smaller pair goes into a pair in lowest terms, and what is left."""
    often = min(whole // part for whole, part in zip(p.pulses, smaller.pulses, strict=True))
    left = [
        (whole - often * part, descriptions.pulse_name(p, i))
        for i, (whole, part) in enumerate(zip(p.pulses, smaller.pulses, strict=True))
    ]
    (first, name), *others = [(count, name) for count, name in left if count]
    said = f"{_strokes(first)} of {name}"
    said += "".join(f" and {numbers.word(count)} of {name}" for count, name in others)
    return f"goes into it {numbers.times(often)}, with {said} left"


def near_enough(p: Polyrhythm, most: int = LINE_SOUNDS) -> NearRatio | None:
    """Return the near ratio that is played on the way to two pulses, or ``None``.

    It is the nearest of those that are polyrhythms of few enough sounds, go at least three times into the
    cycle, and slip each time by at most a quarter of the shorter step (own choices, no source).

    Examples
    --------
    >>> near_enough(Polyrhythm(13, 8)).h, near_enough(Polyrhythm(16, 15)) is None
    (3, True)
    """
    a, b = p.reduced.pulses
    q, fits = p.reduced, []
    for ratio in near_ratios(q):
        few = min(ratio.h, ratio.k) > 1 and ratio.h + ratio.k - 1 <= most
        often = min(Fraction(a, ratio.h), Fraction(b, ratio.k)) >= NEAR_TIMES
        if few and often and ratio.slip and abs(ratio.slip) <= NEAR_SLIP * min(q.step(0), q.step(1)):
            fits.append(ratio)
    return fits[-1] if fits else None


def _same_kind(one: tuple[int, int], other: tuple[int, int]) -> bool:
    """Whether both have as many strokes to a beat, and as many extra or as many too few."""
    if one[0] // one[1] != other[0] // other[1]:
        return False
    extra, also = one[0] % one[1], other[0] % other[1]
    few = 2 * also > other[1]
    return one[1] - extra == other[1] - also if few else extra == also


def _preparing_pairs(high: int, low: int) -> set[tuple[int, int]]:
    """Return the smaller pairs that prepare a pair."""
    *terms, end = _terms(high, low)
    last, before = (1, 0), (0, 1)
    found: set[tuple[int, int]] = set()
    for term in terms:
        last, before = (term * last[0] + before[0], term * last[1] + before[1]), last
        found.add(last)

    def along(steps: int) -> tuple[int, int]:
        return steps * last[0] + before[0], steps * last[1] + before[1]

    # half as far, a quarter as far and so on, and the two that add up to it
    found |= {along(end >> halving) for halving in range(1, end.bit_length())}
    return found | {pair for pair in (last, along(end - 1)) if min(pair)}

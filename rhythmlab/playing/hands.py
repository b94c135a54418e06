"""The one judge of hands and feet: how fast the limbs of a cycle can play it, and which stroke sets that.

A limb plays one, two or three strokes, and then has a break of at least the limit of stroke after stroke.
Two are a rebound, at least the limit of two apart; three take at least twice the limit of three.  What has no
such break, round and round, keeps the limit of stroke after stroke all the way.  So an open roll is faster
than one hand, and slower always fits.  A foot has limits of its own: it has no rebound, so no open roll.
(A choice made here, of limits whose sources are in ``data/limits.csv``.)
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil, floor

import numpy as np

from rhythmlab.core.check import positive, whole
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.public import public_class
from rhythmlab.core.types import Ticks
from rhythmlab.playing.limits import Limit, Limits, limits_or
from rhythmlab.refusal import Refusal
from rhythmlab.text.numbers import number

#: Limits of a hand outside this range, in milliseconds, are taken for another unit (a choice made here).
_LEAST_MS, _MOST_MS = 10, 2000
_LIMITED = "stick((4, 3, 4, 3), 120, limits=limits(hand_two=70))"
_BOUND = "stick((4, 3), 120).bound"
_SIDES = {"R": "right", "L": "left"}


@public_class(
    "stick((4, 3), 120).rules",
    need="stick((4, 3), 120).rules.need(2)",
    longest="stick((4, 3), 120).rules.longest(125)",
)
@dataclass(frozen=True, slots=True)
class Hand:
    """The three limits of one hand, and those of one foot.

    Attributes
    ----------
    two, three, sustained : Limit
        Milliseconds between strokes in one hand: two, three, and more.
    foot : Hand or None
        The same of one foot, which has no rebound; ``None`` in those of a foot.
    """

    two: Limit
    three: Limit
    sustained: Limit
    foot: "Hand | None" = field(default=None, repr=False)

    def need(self, nth: int) -> Limit:
        """Return the limit that the nth stroke in a row must keep; `nth` is at least 2.

        Examples
        --------
        >>> hand_limits().need(3).key
        'hand_three'
        """
        nth = whole(nth, "nth", "stick((4, 3, 4, 3), 120).rules.need(2)", least=2)
        return max((self.two, self.three, self.sustained)[: min(nth, 4) - 1], key=lambda limit: limit.value)

    def longest(self, ms: Fraction) -> int:
        """Return how many strokes in a row one hand can play at this distance: 1, 2, 3, or 4 for more.

        Examples
        --------
        >>> [hand_limits().longest(Fraction(ms)) for ms in (61, 62, 125, 167)]
        [1, 2, 3, 4]
        """
        ms = positive(ms, "ms", "stick((4, 3, 4, 3), 120).rules.longest(125)")
        return max(nth for nth in (1, 2, 3, 4) if nth == 1 or ms >= self.need(nth).value)


def hand_limits(limits: Limits | None = None) -> Hand:
    """Return the limits of a hand; one below 10 ms or above 2000 ms is in another unit, and refused.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> hand_limits(limits(hand_two=70)).two.value
    Fraction(70, 1)
    """
    found = hand_of(limits_or(limits, _LIMITED))
    feet = (found.foot.two, found.foot.three, found.foot.sustained) if found.foot else ()
    for limit in (found.two, found.three, found.sustained, *feet):
        if not _LEAST_MS <= limit.value <= _MOST_MS:
            raise Refusal(
                f"{limit.key}={number(limit.value, 6)} is no limit of a {limit.key.split('_')[0]} in "
                f"milliseconds between strokes ({_LEAST_MS} to {_MOST_MS})",
                _LIMITED,
            )
    return found


def hand_of(limits: Limits) -> Hand:
    """Return the limits of a hand, whatever they were moved to.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> hand_of(limits()).three.value
    Fraction(110, 1)
    """
    foot = Hand(limits["foot_two"], limits["foot_three"], limits["foot_sustained"])
    return Hand(limits["hand_two"], limits["hand_three"], limits["hand_sustained"], foot)


def rules_of(limb: str, rules: Hand) -> Hand:
    """Return the limits of a limb by its name: those of a foot, or of a hand.

    Examples
    --------
    >>> rules_of("left foot", hand_limits()).sustained.key
    'foot_sustained'
    """
    return rules.foot if rules.foot is not None and ("foot" in limb or "feet" in limb) else rules


@public_class(_BOUND, bpm=f"{_BOUND}.bpm(4)")
@dataclass(frozen=True, slots=True)
class Soon:
    """A stroke that comes as soon as its limb can play it, or too soon.

    Attributes
    ----------
    limb : str
        Who plays it: ``"right hand"``, or the name of a lane without a limb.
    tick, index : int
        Where it is, and which stroke of its limb it is in the cycle, both from 0.
    nth : int
        What it is: 2 for a rebound, 3 for the third of three, 4 for one of more.
    apart : Fraction
        Ticks since the stroke before it in this limb; of three strokes the mean.
    limit : Limit
        What it must keep.
    """

    limb: str
    tick: int
    index: int
    nth: int
    apart: Fraction
    limit: Limit

    @property
    def tick_ms(self) -> Fraction:
        """Milliseconds of the shortest tick with which it keeps its limit.

        Examples
        --------
        >>> ceiling(sticking("RRLL"), 4, hand_limits()).tick_ms
        Fraction(62, 1)
        """
        return self.limit.value / self.apart

    def bpm(self, beat_ticks: int) -> Fraction:
        """Return the fastest tempo at which it keeps its limit, of a beat of so many ticks.

        Examples
        --------
        >>> ceiling(sticking("RRLL"), 4, hand_limits()).bpm(4)
        Fraction(7500, 31)
        """
        return 60_000 / (self.tick_ms * whole(beat_ticks, "beat_ticks", f"{_BOUND}.bpm(4)", most=1 << 62))


def limbs(cycle: Cycle) -> dict[str, Ticks]:
    """Return the strokes of each limb of a cycle; of the lane itself where no limb is named.

    Letters are hands, or feet where the limb of their lane is feet.  Lanes of one limb are one row.

    Examples
    --------
    >>> row = Lane("3", [0, 2, 4], "right hand"), Lane("2", [0, 3], hands="LR")
    >>> {limb: ticks.tolist() for limb, ticks in limbs(Cycle(6, row, beats=[0])).items()}
    {'right hand': [0, 2, 3, 4], 'left hand': [0]}
    """
    found: dict[str, list[int]] = {}
    for lane in cycle.lanes:
        if lane.hands:
            for tick, limb in zip(lane.onsets.tolist(), letter_limbs(lane), strict=True):
                found.setdefault(limb, []).append(tick)
        elif len(lane.onsets):
            found.setdefault(lane.limb or lane.name, []).extend(lane.onsets.tolist())
    return {limb: np.array(sorted({*ticks}), np.int64) for limb, ticks in found.items()}


def letter_limbs(lane: Lane) -> list[str]:
    """Return which limb each letter of a lane's sticking is.

    Examples
    --------
    >>> letter_limbs(Lane("bass drums", [0, 1], "feet", hands="RL"))
    ['right foot', 'left foot']
    """
    part = "foot" if "foot" in lane.limb or "feet" in lane.limb else "hand"
    return [f"{_SIDES[letter]} {part}" for letter in lane.hands]


def sides(left_handed: bool) -> tuple[str, str]:
    """Return the side that leads, and the other one: a left-handed player has all limbs mirrored.

    Examples
    --------
    >>> sides(False), sides(True)
    (('right', 'left'), ('left', 'right'))
    """
    return ("left", "right") if left_handed else ("right", "left")


def mirrored(letters: str, left_handed: bool) -> str:
    """Return a sticking of a right-handed player as this player has it.

    Examples
    --------
    >>> mirrored("RLRR", True)
    'LRLL'
    """
    return letters.translate(str.maketrans("RL", "LR")) if left_handed else letters


def sticking(hands: str, onsets: Iterable[int] | None = None) -> dict[str, Ticks]:
    """Return the strokes of each hand of a sticking, one a tick where no onsets are given.

    Examples
    --------
    >>> {limb: ticks.tolist() for limb, ticks in sticking("RLL").items()}
    {'right hand': [0], 'left hand': [1, 2]}
    """
    row = Lane("sticking", range(len(hands)) if onsets is None else onsets, hands=hands)
    return limbs(Cycle(int(row.onsets[-1]) + 1 if len(hands) else 1, [row], beats=[0]))


def taking_turns(onsets: Ticks, ticks: int) -> tuple[dict[str, Ticks], int]:
    """Return the strokes of two hands that take turns, and the ticks until the lead is home.

    Examples
    --------
    >>> found, ticks = taking_turns(np.array([0, 2, 3]), 4)
    >>> {limb: row.tolist() for limb, row in found.items()}, ticks
    ({'right hand': [0, 3, 6], 'left hand': [2, 4, 7]}, 8)
    """
    if len(onsets) % 2:
        onsets, ticks = np.concatenate([onsets, onsets + ticks]), 2 * ticks
    return {"right hand": onsets[::2], "left hand": onsets[1::2]}, ticks


def ceiling(strokes: Mapping[str, Ticks] | Cycle, ticks: int, rules: Hand) -> Soon | None:
    """Return the stroke that sets how fast limbs can play their strokes, round and round a cycle.

    Parameters
    ----------
    strokes : mapping of str to ticks, or Cycle
        The rising strokes of each limb.
    ticks : int
        Length of the cycle.
    rules : Hand
        From `hand_limits`.

    Returns
    -------
    Soon or None
        Of several the first one; its `tick_ms` is the shortest tick, its `bpm` the fastest tempo, and
        everything slower fits.  ``None`` where nobody plays.

    Examples
    --------
    >>> found = ceiling(sticking("RLRRLRLL"), 8, hand_limits())
    >>> found.limb, found.tick, found.limit.key, found.tick_ms
    ('left hand', 1, 'hand_sustained', Fraction(167, 2))
    """
    rows = limbs(strokes) if isinstance(strokes, Cycle) else strokes
    found: Soon | None = None
    for limb, onsets in rows.items():
        if not len(onsets):
            continue
        row, own = _Row(limb, onsets, ticks), rules_of(limb, rules)
        if found and row.fits(Least.under(found.tick_ms, own)):
            continue  # it can go faster
        one = row.ceiling(own)
        if found is None or (-one.tick_ms, one.tick) < (-found.tick_ms, found.tick):
            found = one
    return found


def fits(strokes: Mapping[str, Ticks], ticks: int, tick_ms: Fraction, rules: Hand) -> bool:
    """Return whether every limb can play its strokes at a tick of so many milliseconds, or slower.

    Examples
    --------
    >>> [fits(sticking("RRLL"), 4, Fraction(ms), hand_limits()) for ms in (61, 62)]
    [False, True]
    """
    least = {limb: Least.at(tick_ms, rules_of(limb, rules)) for limb in strokes}
    return all(_Row("", row, ticks).fits(least[limb]) for limb, row in strokes.items() if len(row))


def too_soon(
    strokes: Mapping[str, Ticks] | Cycle, ticks: int, tick_ms: Fraction, rules: Hand
) -> tuple[Soon, ...]:
    """Return the strokes that come too soon for their limb, in time: of each run the first for each limit.

    Examples
    --------
    >>> [(one.limb, one.tick) for one in too_soon(sticking("RRRL"), 4, Fraction(100), hand_limits())]
    [('right hand', 2)]
    >>> too_soon(sticking("RRLL"), 4, Fraction(125, 2), hand_limits())                 # thirty-seconds at 120
    ()
    """
    given = limbs(strokes) if isinstance(strokes, Cycle) else strokes
    found = []
    for limb, onsets in given.items():
        own, row = rules_of(limb, rules), _Row(limb, onsets, ticks)
        least = Least.at(tick_ms, own)
        if len(onsets):
            found += [one for run in row.runs(least) for one in row.too_soon(run, least, own)]
    return tuple(sorted(found, key=lambda one: (one.tick, one.nth)))


@dataclass(frozen=True, slots=True)
class Least:
    """The limits in ticks: of two strokes, of three from first to last, and of a break."""

    two: int
    three: int
    rest: int

    @classmethod
    def at(cls, tick_ms: Fraction, rules: Hand) -> "Least":
        """Return them for a tick of so many milliseconds.

        Examples
        --------
        >>> Least.at(Fraction(125), hand_limits())
        Least(two=1, three=2, rest=2)
        """
        return cls(*(ceil(ms / tick_ms) for ms in milliseconds(rules)))

    @classmethod
    def under(cls, tick_ms: Fraction, rules: Hand) -> "Least":
        """Return them for a tick that is shorter by no more than makes the difference."""
        return cls(*(floor(ms / tick_ms) + 1 for ms in milliseconds(rules)))


def milliseconds(rules: Hand) -> tuple[Fraction, Fraction, Fraction]:
    """Return the least time of two strokes, of three from first to last, and of a break.

    Examples
    --------
    >>> [int(ms) for ms in milliseconds(hand_limits())]
    [62, 220, 167]
    """
    two, three = rules.two.value, max(rules.two.value, rules.three.value)
    return two, 2 * three, max(three, rules.sustained.value)


def _later(row: np.ndarray, by: int) -> np.ndarray:
    """Return a row whose last values come first, as numpy's own roll does in ten times the time."""
    return np.concatenate((row[-by:], row[:-by]))


class _Row:
    """The strokes of one limb, round and round."""

    def __init__(self, limb: str, onsets: Ticks, ticks: int) -> None:
        self.limb, self.onsets = limb, onsets
        # Whole numbers without a bound where the sum of two gaps could be beyond 64 bits.
        at = onsets.astype(object) if ticks > 1 << 60 else onsets
        self.gaps = at - _later(at, 1)
        self.gaps[0] += ticks
        self.pairs = self.gaps + _later(self.gaps, 1)

    def steps(self, rules: Hand) -> list[Fraction]:
        """Return the milliseconds of a tick at which a stroke just keeps a limit, rising."""
        gaps, pairs = set(self.gaps.tolist()), set(self.pairs.tolist())
        two, three, rest = milliseconds(rules)
        return sorted({ms / gap for ms in (two, rest) for gap in gaps} | {three / pair for pair in pairs})

    def ceiling(self, rules: Hand) -> Soon:
        """Return the stroke that sets the shortest tick at which every limit is kept."""
        steps, low = self.steps(rules), 0
        high = len(steps) - 1
        while low < high:
            middle = (low + high) // 2
            if self.fits(Least.at(steps[middle], rules)):
                high = middle
            else:
                low = middle + 1
        shortest = steps[low]
        under = Least.under(shortest, rules)
        bound = [
            one
            for run in self.runs(under)
            if self.too_soon(run, under, rules)
            for one in self.binding(run, shortest, rules)
        ]
        return min(bound, key=lambda one: (one.tick, one.nth))

    def fits(self, least: Least) -> bool:
        """Whether every stroke keeps every limit."""
        most = 2 * int(self.gaps.max()) + 1  # more than that is the same, and may not fit into 64 bits
        two, three, rest = (min(value, most) for value in (least.two, least.three, least.rest))
        short = self.gaps < rest
        third = short & _later(short, 1)
        return not (
            (self.gaps < two).any()
            or (third & (self.pairs < three)).any()
            or (third & _later(short, 2)).any()
        )

    def runs(self, least: Least) -> list[list[int]]:
        """Return the strokes that follow without a break, by runs; an endless one from its second stroke."""
        short = [gap < least.rest for gap in self.gaps.tolist()]
        count = len(short)
        if all(short):
            return [[i % count for i in range(1, 1 + max(count, 3))]]
        rests = [i for i, close in enumerate(short) if not close]
        ends = [*rests[1:], rests[0] + count]
        return [
            [i % count for i in range(rest + 1, end)]
            for rest, end in zip(rests, ends, strict=True)
            if end > rest + 1
        ]

    def soon(self, index: int, nth: int, rules: Hand) -> Soon:
        """Return a stroke held against the limit of the nth in a row."""
        apart = Fraction(int(self.pairs[index]), 2) if nth == 3 else Fraction(int(self.gaps[index]))
        return Soon(self.limb, int(self.onsets[index]), index, nth, apart, rules.need(nth))

    def too_soon(self, run: list[int], least: Least, rules: Hand) -> list[Soon]:
        """Return the first stroke of a run that does not keep each limit."""
        close = [i for i in run if self.gaps[i] < least.two][:1]
        third = [i for i in run[1:] if self.pairs[i] < least.three][:1]
        found = [(close, 2), (third, 3), (run[2:3], 4)]
        return [self.soon(i, nth, rules) for where, nth in found for i in where]

    def binding(self, run: list[int], tick_ms: Fraction, rules: Hand) -> list[Soon]:
        """Return the strokes of a run that just keep a limit."""
        two, three, rest = (ms / tick_ms for ms in milliseconds(rules))
        found = [(i, nth) for i in run for nth, ms in ((2, two), (4, rest)) if self.gaps[i] == ms]
        found += [(i, 3) for i in run[1:] if self.pairs[i] == three]
        return [self.soon(i, nth, rules) for i, nth in found]

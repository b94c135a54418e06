"""Feet of one length against hands of another: when they meet, and which limb meets which where."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, groupby, pairwise
from math import gcd, lcm
from operator import itemgetter
from typing import TypeGuard

import numpy as np

from rhythmlab.core import long_work
from rhythmlab.core.check import MOST_STROKES, MOST_TICKS, few_enough, flag, short, window
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.display import Printed
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm, as_cycle
from rhythmlab.core.tempo import Speed
from rhythmlab.core.types import Ticks
from rhythmlab.playing.groove import bars_shown, names_text, too_close
from rhythmlab.playing.hands import letter_limbs, sides
from rhythmlab.playing.metre import Bars, Metre, felt, tempo_of, tick_name
from rhythmlab.playing.metre import metre as metre_of
from rhythmlab.playing.patterns import (
    Pattern,
    foot_pattern,
    hand_phrase,
    parts_in_bar,
    pattern,
    set_in_bar,
    usual_player,
)
from rhythmlab.playing.phrasing import titled
from rhythmlab.refusal import Refusal
from rhythmlab.text import numbers, sentences

#: Up to so many strokes the plain loop is quicker than any array (measured).
_FEW = 96
#: A mask over every tick is quicker than pairs while it has at most so many ticks a meeting (measured).
_TICKS_A_MEETING = 16
_MOST_MASK = 2**26
#: Most pairs of strokes that are looked through at once, and most where 64-bit numbers are too short.
_AT_ONCE, _MOST_LONG = 2_000_000, 1_000_000
#: Most strokes of a cycle whose meetings are sought.
_MOST_STROKES = 1_000_000
#: So many rounds of the first cycle are looked through for the first meeting before any are paired.
_SOON = 64
_LIMBS = ("right foot", "left foot", "right hand", "left hand")
#: Most lanes of a side: limbs.
_MOST_LANES = 16
#: Most bars, and most places of a bar, whose meetings are said; all of them are in `Ostinato.meets`.
_BARS_SAID, _PLACES_SAID = 2, 8
_MEETINGS = 'playing.meetings(pattern("x..x"), pattern("x.x.x."))'
_OSTINATO = 'ostinato(pattern("x...", limb="right foot"), pattern("x..", limb="right hand"))'
_DESCRIBE = 'ostinato("x..x", "x..", metre="4/4").describe(96)'


@public(_MEETINGS)
def meetings(first: Rhythm, second: Rhythm, *, start: int | None = None, stop: int | None = None) -> Ticks:
    """Return the ticks where strokes of two cycles of any lengths meet, both repeated from tick 0.

    Parameters
    ----------
    first, second : Cycle, Polyrhythm or pair such as (7, 4)
        For example two patterns; all lanes of each count together.
    start, stop : int, optional
        Window in ticks, half-open; until both come home together when left out.

    Returns
    -------
    numpy.ndarray
        int64, rising, read-only.

    Raises
    ------
    ValueError
        If they come home together only beyond 2**62 ticks and no window is given, or they meet more than
        50 million times.

    Examples
    --------
    >>> from rhythmlab.core.cycle import Lane
    >>> four, six = (Cycle(n, [Lane("x", [0, n // 2])], beats=[0]) for n in (4, 6))
    >>> meetings(four, six)
    array([0, 6])
    """
    first, second = as_cycle(first, "first", _MEETINGS), as_cycle(second, "second", _MEETINGS)
    for given in (first, second):
        strokes = sum(len(lane.onsets) for lane in given.lanes)
        if strokes > _MOST_STROKES:
            raise Refusal(
                f"{strokes:,} strokes in a cycle are more than the {_MOST_STROKES:,} looked through",
                _MEETINGS,
            )
    mine, other = (_onsets(cycle) for cycle in (first, second))
    ticks = meeting_ticks(mine, first.ticks, other, second.ticks, start, stop)
    ticks.flags.writeable = False
    return ticks


def meeting_ticks(
    first: Sequence[int],
    length: int,
    second: Sequence[int],
    other: int,
    start: int | None = None,
    stop: int | None = None,
) -> Ticks:
    """Return what `meetings` returns, for onsets in cycles of `length` and `other` ticks; checks no onset.

    Examples
    --------
    >>> meeting_ticks([0, 2], 4, [0, 3], 6)
    array([0, 6])
    """
    home = lcm(length, other)
    if start is None and stop is None:
        strokes, others = home // length * len(first), home // other * len(second)
        if strokes <= _FEW or others <= _FEW:
            if others < strokes:
                first, length, second, other = second, other, first, length
            known = set(second)
            rounds = range(0, home, length)
            met = [tick for turn in rounds for onset in first if (tick := turn + onset) % other in known]
            if met and met[-1] > MOST_TICKS:
                raise _home_too_far(length, other, 0)
            return np.array(met, dtype=np.int64)
        low, high = 0, home
    else:
        low, high = window(start, stop, home)
    if high > MOST_TICKS:
        raise _home_too_far(length, other, low)
    count = meeting_count(first, length, second, other)
    if low == 0 and high == home:
        few_enough(count, low, high, "")
    span = high - low
    if span <= min(_MOST_MASK, max(4096, _TICKS_A_MEETING * count)):
        strokes = len(first) + len(second)
        _announce(count * span // home, megabytes=(3 * span + 8 * count * span // home + 60 * strokes) / 1e6)
        return _masked(first, length, second, other, low, span)
    strokes = (span // length + 2) * len(first)
    if strokes < count:  # a short window of a long pattern: look stroke by stroke
        few_enough(strokes, low, high, "")
        _announce(strokes, megabytes=24 * strokes / 1e6)
        turns = np.arange(low // length, -(-high // length), dtype=np.int64) * length
        ticks = (turns[:, None] + np.asarray(first, dtype=np.int64)).ravel()
        ticks = ticks[(ticks >= low) & (ticks < high)]
        return ticks[np.isin(ticks % other, np.asarray(second, dtype=np.int64))]
    few_enough(count, low, high, "", _MOST_LONG if _needs_long_ints(length, other) else MOST_STROKES)
    _announce(count, megabytes=40 * count / 1e6)
    paired = _paired(first, length, second, other, home)
    if isinstance(paired, list):
        return np.array(sorted(tick for tick in paired if low <= tick < high), dtype=np.int64)
    return np.sort(paired[(paired >= low) & (paired < high)] if span < home else paired)


def met_between(
    first: Sequence[int], length: int, second: Sequence[int], other: int, low: int, high: int
) -> Ticks:
    """Return the meetings from tick `low` up to `high`, however often both have come home by then.

    Examples
    --------
    >>> met_between([0, 2], 4, [0, 3], 6, 10, 20)
    array([12, 18])
    """
    home, span = lcm(length, other), high - low
    if span >= home:
        ticks = meeting_ticks(first, length, second, other)
        turns = np.arange(low // home, -(-high // home), dtype=np.int64) * home
        ticks = (turns[:, None] + ticks).ravel()
        return ticks[(ticks >= low) & (ticks < high)]
    begin = low % home
    until = min(begin + span, home)
    pieces = [meeting_ticks(first, length, second, other, begin, until) + (low - begin)]
    if begin + span > home:
        rest = meeting_ticks(first, length, second, other, 0, begin + span - home)
        pieces.append(rest + (low - begin + home))
    return np.concatenate(pieces)


def meeting_count(first: Sequence[int], length: int, second: Sequence[int], other: int) -> int:
    """Return how often strokes meet until both cycles come home together, exact for any lengths.

    Examples
    --------
    >>> meeting_count([0, 2], 4, [0, 3], 6), meeting_count([0], 10**30, [0, 7], 10**30 + 1)
    (2, 2)
    """
    common = gcd(length, other)
    if common == 1:
        return len(first) * len(second)
    left: dict[int, int] = {}
    for tick in first:
        left[tick % common] = left.get(tick % common, 0) + 1
    return sum(left.get(tick % common, 0) for tick in second)


def first_meeting(first: Sequence[int], length: int, second: Sequence[int], other: int) -> int | None:
    """Return the first tick where strokes meet, or ``None`` if they never do; exact for any lengths.

    Examples
    --------
    >>> first_meeting([1], 4, [3], 6), first_meeting([1], 4, [2], 6) is None
    (9, True)
    """
    count = meeting_count(first, length, second, other)
    if not count:
        return None
    known = set(second)
    for turn in range(_SOON):  # most meet soon
        for tick in first:
            if (tick + turn * length) % other in known:
                return tick + turn * length
    home = lcm(length, other)
    few_enough(count, 0, home, "", _MOST_LONG if _needs_long_ints(length, other) else MOST_STROKES)
    some = max(1, _AT_ONCE // len(second))
    parts = (_paired(first[i : i + some], length, second, other, home) for i in range(0, len(first), some))
    return min(
        int(np.min(part)) if isinstance(part, np.ndarray) else min(part) for part in parts if len(part)
    )


def _onsets(cycle: Cycle) -> list[int]:
    """Return the ticks where any lane has a stroke, each once, rising."""
    ticks = np.sort(np.concatenate([np.empty(0, dtype=np.int64), *(lane.onsets for lane in cycle.lanes)]))
    each: list[int] = ticks[np.diff(ticks, prepend=-1) > 0].tolist()
    return each


def _needs_long_ints(length: int, other: int) -> bool:
    """Whether products of ticks are too long for 64-bit whole numbers."""
    return min(length, other) // gcd(length, other) >= 2**31 or lcm(length, other) > MOST_TICKS


def _home_too_far(length: int, other: int, low: int) -> Refusal:
    return Refusal(
        f"cycles of {length:,} and {other:,} ticks come home together after {lcm(length, other):,} ticks, "
        "more than 2**62; look through a window",
        f"start={low}, stop={low + 1000}",
    )


def _announce(strokes: int, megabytes: float) -> None:
    long_work.say(
        f"Meetings of {strokes:,} strokes",
        megabytes=megabytes,
        instead="A window, start= and stop=, takes less.",
    )


def _masked(
    first: Sequence[int], length: int, second: Sequence[int], other: int, low: int, span: int
) -> Ticks:
    """Lay both cycles over every tick of a span."""
    rows = []
    for onsets, ticks in ((first, length), (second, other)):
        begin = low % ticks
        if ticks <= span:
            row = np.zeros(ticks, dtype=bool)
            row[np.asarray(onsets, dtype=np.int64)] = True
            row = np.roll(row, -begin) if begin else row
            rows.append(np.broadcast_to(row, (-(-span // ticks), ticks)).ravel()[:span])
        else:  # longer than the span: only the strokes in it, at most one turn round
            row = np.zeros(span, dtype=bool)
            inside = [(onset - begin) % ticks for onset in onsets]
            row[[tick for tick in inside if tick < span]] = True
            rows.append(row)
    both = np.flatnonzero(rows[0] & rows[1]).astype(np.int64, copy=False)
    if low:
        both += low
    return both


def _paired(
    first: Sequence[int], length: int, second: Sequence[int], other: int, home: int
) -> Ticks | list[int]:
    """Return the meeting of every pair of strokes that meets, in no order."""
    if other > length:
        first, length, second, other = second, other, first, length
    common = gcd(length, other)
    turns = other // common
    inverse = pow(length // common, -1, turns)
    if _needs_long_ints(length, other):
        by_share: dict[int, list[int]] = {}
        for tick in second:
            by_share.setdefault(tick % common, []).append(tick)
        return [
            x + length * ((y - x) // common * inverse % turns)
            for x in first
            for y in by_share.get(x % common, ())
        ]
    x, y = np.asarray(first, dtype=np.int64), np.asarray(second, dtype=np.int64)
    if common == 1:
        x, y = np.repeat(x, len(y)), np.tile(y, len(x))
    else:
        y = y[np.argsort(y % common, kind="stable")]
        shares = y % common
        begins = np.searchsorted(shares, x % common, side="left")
        counts = np.searchsorted(shares, x % common, side="right") - begins
        ends = np.cumsum(counts)
        which = np.arange(counts.sum()) - np.repeat(ends - counts, counts) + np.repeat(begins, counts)
        x, y = np.repeat(x, counts), y[which]
    later = (y - x) // common % turns
    later *= inverse
    later %= turns
    return x + later * length


@dataclass(frozen=True, slots=True)
class _Voice:
    """The strokes of one limb in one lane, in a cycle of its own length."""

    side: str
    name: str
    limb: str
    onsets: list[int]
    ticks: int


@public_class('ostinato("x..x", "x..", metre="4/4")')
@dataclass(frozen=True, slots=True, init=False, eq=False, repr=False)
class Ostinato(Printed, Bars):
    """Feet of one length against hands of another.

    Attributes
    ----------
    feet, hands : int
        Their lengths in ticks: until all limbs of the side come home together.
    home : int
        Bars until feet, hands and bar come home together.
    from_bar : int
        The bar that this cycle begins with, from 1.
    meets : dict
        For each foot and hand by limb: int64 ticks where they meet, in the bars shown, from their first.
    counts : dict
        For each foot and hand by limb: how often they meet until everything comes home, exact.
    """

    feet: int
    hands: int
    home: int
    from_bar: int
    meets: dict[tuple[str, str], Ticks]
    counts: dict[tuple[str, str], int]
    _lengths: tuple[tuple[int, ...], tuple[int, ...]]
    _said: tuple["_Side", "_Side"]

    @property
    def named(self) -> str:
        """The lengths of feet and hands in ticks, each row its own; of one stroke, how often it comes.

        Where a ready pattern is among them, all are called by their names.
        Where feet and hands are as long as each other, which tells nothing, how many strokes they have.
        """
        feet, hands = self._said
        if feet.names:
            low, high = (sentences.listed(list(side.names)) for side in (feet, hands))
            return f"{sentences.capital(low)} against {high}{',' * hands.again}"
        if feet.lengths == hands.lengths and not (feet.single or hands.single or feet.once or hands.once):
            return f"Feet of {numbers.plural(feet.strokes, 'stroke')} against hands of {hands.strokes}"
        return f"Feet {feet.text} against hands {hands.text}{',' * bool(hands.once)}"

    @property
    def shared(self) -> Ticks:
        """The ticks where any foot and any hand meet, int64."""
        return np.unique(np.concatenate([np.empty(0, dtype=np.int64), *self.meets.values()]))

    @public(_DESCRIBE, bpm="tempo")
    def describe(self, tempo: Speed | None = None) -> str:
        """Say when feet and hands come home together, how often limbs meet, and where at first.

        Parameters
        ----------
        tempo : number or Tempo, optional
            Beats a minute of the metre's beat, for seconds.

        Examples
        --------
        >>> ostinato("x...", "x..", metre="4/4").describe(120)
        'Feet every 4 sixteenths against hands every 3: with bars of 4/4 they come home together after 3 \
bars (48 sixteenths, 6 seconds), 12 times round for the feet and 16 times for the hands. Right foot and \
right hand meet four times: bar 1: 1, 4; bar 2: 3, and so on.'
        """
        bar, ticks, tick = self.metre, self.home * self.metre.ticks, tick_name(self.metre)
        feet, hands = self._lengths
        time = (
            ""
            if tempo is None
            else f", {numbers.seconds(tempo_of(bar, tempo, _DESCRIBE).tick_seconds(self) * ticks)}"
        )
        sides = f"Feet {self._said[0].text} {tick}{'s' * (feet != (1,))} against hands {self._said[1].text}"
        length = f" ({numbers.plural(ticks, tick)}{time})"
        if self._said[0].names:
            low, high = (sentences.listed(list(side.names)) for side in self._said)
            sides, length = f"Feet with {low} against hands with {high}", f" ({time[2:]})" if time else ""
        text = (
            f"{sides}: with bars of {bar} they come home together after {numbers.plural(self.home, 'bar')}"
            f"{length}, {_rounds(ticks, feet, hands)} round for the feet "
            f"and {_rounds(ticks, hands, feet)} for the hands."
        )
        rows = []
        for (foot, hand), at in self.meets.items():
            count = self.counts[foot, hand]
            who = f"{foot} and {hand}".capitalize()
            rows.append(
                f"{who} meet {numbers.times(count)}: {self._places(at)}." if count else f"{who} never meet."
            )
        limbs = [limb for lane in self.lanes for limb in _limbs(lane) if limb]
        twice = [limb for limb in dict.fromkeys(limbs) if limbs.count(limb) > 1]
        shared = (
            f"The {sentences.listed(twice)} never {'have' if len(twice) > 1 else 'has'} two strokes at once."
        )
        close = "" if tempo is None else too_close(self, tempo_of(bar, tempo, _DESCRIBE))
        return sentences.sentences(text, self._said[1].why, *rows, shared if twice else "", close)

    def _places(self, ticks: Ticks) -> str:
        if not len(ticks):
            return "not in these bars"
        bars, first = np.unique(ticks // self.metre.ticks, return_index=True)
        rows = list(zip(bars.tolist(), np.split(ticks, first[1:]), strict=True))

        def row(at: tuple[int, Ticks]) -> str:
            places = names_text(at[1].tolist(), self.metre.describe, _PLACES_SAID)
            return places if self.home == 1 == len(self.bars) else f"bar {at[0] + self.from_bar}: {places}"

        said = "; ".join(map(row, rows[:_BARS_SAID]))
        return f"{said}, and so on" if len(rows) > _BARS_SAID else said

    def __str__(self) -> str:
        return self.describe()


@dataclass(frozen=True, slots=True)
class _Side:
    """How a side is called: by the lengths of its rows in ticks, and what stands in them.

    A phrase whose lead alternates is called by the ticks of `once` through it; else that is 0.
    """

    lengths: tuple[int, ...]
    single: bool
    strokes: int
    once: int = 0
    names: tuple[str, ...] = ()
    again: bool = False

    @property
    def text(self) -> str:
        """How long the rows are, or how often the one stroke in each comes."""
        if self.once:
            return f"of {numbers.number(self.once)}, twice through"
        return f"{'every' if self.single else 'of'} {_each(self.lengths)}"

    @property
    def why(self) -> str:
        """Why a phrase is played twice."""
        if not self.once:
            return ""
        return f"After {numbers.number(self.once)} the other hand leads, so they are played twice."


def _side(rows: Iterable[Cycle], lengths: tuple[int, ...], typed: Metre | None = None) -> _Side:
    """Return how a side is called; by the names of its rows, where a bar was `typed` and then cut finer."""
    rows = list(rows)
    single = min(lengths) > 1 and all(len(lane.onsets) == 1 for row in rows for lane in row.lanes)
    turned = len(rows) == len(lengths) == 1 and rows[0].bars.tolist() == [0, rows[0].ticks // 2]
    by_hands = turned and not isinstance(rows[0], Pattern) and bool(rows[0].lanes[0].hands)
    strokes = sum(len(lane.onsets) for row in rows for lane in row.lanes)
    names = () if typed is None else tuple(_row_name(row, typed) for row in rows)
    once = lengths[0] // 2 if by_hands and lengths[0] % 2 == 0 else 0
    return _Side(lengths, single, strokes, once, names, typed is not None and _phrased(rows[-1])[1])


def _phrased(row: Cycle) -> tuple[tuple[int, ...], bool]:
    """Return the groups of a phrase, none of any other row, and whether it is played twice."""
    if isinstance(row, Pattern):
        return (row.groups if row.is_phrase else ()), False
    if len(row.lanes) != 1 or len(row.lanes[0].onsets) != row.ticks:
        return (), False
    groups = tuple(np.diff(np.append(row.beats, row.ticks)).tolist())
    twice = len(groups) > 2 and row.bars.tolist() == [0, row.ticks // 2]
    return (groups[: len(groups) // 2] if twice else groups), twice


def _row_name(row: Cycle, bar: Metre) -> str:
    """Name a row: a ready pattern by its name, a phrase by its groups, another by its length as typed.

    Examples
    --------
    >>> _row_name(pattern("ride"), Metre(4, 4)), _row_name(pattern("x..x."), Metre(4, 4))
    ('ride', '5 sixteenths')
    >>> _row_name(pattern("4 3"), Metre(4, 4)), _row_name(hand_phrase(pattern("4 4 4")), Metre(4, 4))
    ('7 as 4 3', '12 as 4 4 4, twice through')
    """
    if isinstance(row, Pattern) and row.name != "pattern":
        return row.name
    groups, again = _phrased(row)
    return (
        f"{titled(groups)}{', twice through' * again}"
        if len(groups) > 1
        else numbers.plural(row.ticks, tick_name(bar))
    )


def _each(counts: Iterable[int]) -> str:
    """List how many."""
    return sentences.listed([numbers.number(count) for count in counts])


def _rounds(ticks: int, lengths: tuple[int, ...], others: tuple[int, ...]) -> str:
    """Say how often each length of a side goes into some ticks, and written as that of the other side is."""
    often, beside = ([ticks // length for length in side] for side in (lengths, others))
    if len(often) == 1:
        return numbers.times(often[0], beside)
    return f"{sentences.listed(numbers.alike([*often, *beside])[: len(often)])} times"


@public('ostinato("x..x..x.", "x.x.xx", metre="4/4")')
def ostinato(
    feet: str | Cycle | Mapping[str, str | Cycle],
    hands: str | Cycle | Mapping[str, str | Cycle],
    *,
    metre: str | Metre | None = None,
    bars: int | None = None,
    from_bar: int = 1,
    left_handed: bool = False,
) -> Ostinato:
    """Set an ostinato in the feet against a phrase in the hands, each of its own length.

    Parameters
    ----------
    feet, hands : str, Pattern, Cycle or dict
        A pattern such as ``"x..x"``, a phrase ``"4 3 4 3"``, a sticking ``"RLRR LRL"``, any cycle, or such
        patterns by limb, each of its own length: ``{"right hand": "x.x.", "left hand": ".x.x.."}``. A
        pattern without a limb is played by the right foot or the right hand, hi-hat on 2 and 4 by the left
        foot, a phrase by both hands or on the first of each group by the right foot, a sticking by both
        hands or both feet.
    metre : str or Metre, optional
        The bar; that of the feet, or a bar as long as the feet, when left out.
    bars, from_bar : int, optional
        How many bars, and from which on; until everything comes home when left out.
    left_handed : bool
        Whether limbs that are not named are the left ones, and phrases begin with the left hand.

    Returns
    -------
    Ostinato
        A `Cycle`; printed, it says which limb meets which and where.

    Raises
    ------
    ValueError
        If one limb is asked for two strokes at one tick, or the bars until everything comes home are too
        many to lay out.

    Examples
    --------
    >>> o = ostinato("x...", "x..", metre="4/4")
    >>> o.home, o.meets["right foot", "right hand"]
    (3, array([ 0, 12, 24, 36]))
    """
    lead, _ = sides(flag(left_handed, "left_handed", _OSTINATO.removesuffix(")") + ", left_handed=True)"))
    low, high = _rows(feet, "feet", lead), _rows(hands, "hands", lead)
    bar = metre_of(metre) if metre is not None else _bar([*low.values()], [*high.values()])
    ready = any(map(_is_ready, (*low.values(), *high.values())))
    typed, rows = bar if ready else None, ([*low.values()], [*high.values()])
    bar, times, low, high = _in_bar(bar, low, high)
    low_ticks, low_lanes = _side_lanes(low, "feet", f"{lead} foot", ("bass drum", "closed hi-hat"), times)
    high_ticks, high_lanes = _side_lanes(high, "hands", f"{lead} hand", ("bell", "snare"), times)
    both = (("feet", low_lanes), ("hands", high_lanes))
    voices = [
        voice for side, lanes in both for length, lane in lanes for voice in _voices(side, lane, length)
    ]
    _one_stroke_each(voices, bar)
    ticks = lcm(low_ticks, high_ticks, bar.ticks)
    all_lanes = [*low_lanes, *high_lanes]
    each = max(len(bar.groups), *(len(lane.onsets) * bar.ticks // length for length, lane in all_lanes))
    home = ticks // bar.ticks
    example = _OSTINATO.removesuffix(")") + ", bars=8)"
    count, at = bars_shown(bars, from_bar, home, bar.ticks, each, "feet and hands", example)
    begin, end = (at - 1) * bar.ticks, (at - 1 + count) * bar.ticks
    laid = [_lane_in_window(lane, length, begin, end) for length, lane in all_lanes]
    made = Ostinato.__new__(Ostinato)
    Bars.__init__(made, bar, count, laid)
    meets, counts = _meetings_by_limb(voices, begin, end, ticks)
    fields = {"feet": low_ticks, "hands": high_ticks, "home": home, "from_bar": at}
    lengths = tuple(tuple(sorted({length for length, _ in lanes})) for _, lanes in both)
    said = (_side(rows[0], lengths[0], typed), _side(rows[1], lengths[1], typed))
    names = {"meets": meets, "counts": counts, "_lengths": lengths, "_said": said}
    for field, value in (*fields.items(), *names.items()):
        object.__setattr__(made, field, value)
    return made


def _meetings_by_limb(
    voices: Sequence[_Voice], low: int, high: int, ticks: int
) -> tuple[dict[tuple[str, str], Ticks], dict[tuple[str, str], int]]:
    meets: dict[tuple[str, str], Ticks] = {}
    counts: dict[tuple[str, str], int] = {}
    for foot in voices:
        for hand in voices:
            if (foot.side, hand.side) == ("feet", "hands"):
                pair, both = (foot.limb or foot.name, hand.limb or hand.name), lcm(foot.ticks, hand.ticks)
                found = met_between(foot.onsets, foot.ticks, hand.onsets, hand.ticks, low, high) - low
                meets[pair] = np.union1d(meets[pair], found) if pair in meets else found
                count = meeting_count(foot.onsets, foot.ticks, hand.onsets, hand.ticks)
                counts[pair] = counts.get(pair, 0) + count * (ticks // both)
    return meets, counts


def _rows(given: object, side: str, lead: str) -> dict[object, Cycle]:
    """Return what a side plays, by limb, or by the name of the side where no limb is named."""
    named = given if isinstance(given, Mapping) and 0 < len(given) <= _MOST_LANES else {side: given}
    rows = {who: _row(row, side, who, lead) for who, row in named.items()}
    for who, row in rows.items():
        if not row.lanes:
            what = side if who == side else f"{side}[{short(who)}]"
            raise Refusal(f"{what}={short(row)} is neither a pattern nor a cycle", _OSTINATO, argument=side)
        _known_limb(who, side)
        for lane in row.lanes:
            _known_limb(lane.limb or side, side)
    if sum(len(row.lanes) for row in rows.values()) > _MOST_LANES:
        raise Refusal(f"the {side} have more than {_MOST_LANES} lanes", _OSTINATO)
    return rows


def _known_limb(limb: object, side: str) -> None:
    """Refuse what is no limb, nor both of a side: a foot by two names could have two strokes at once."""
    if limb in (*_LIMBS, "hands", "feet"):
        return
    near = " ".join(str(limb).lower().split())
    part = {"feet": "foot", "hands": "hand"}[side]
    meant = near if near in _LIMBS and part in near else f"right {part}"
    example = {"feet": f'{{"{meant}": "x..."}}, "x.."', "hands": f'"x...", {{"{meant}": "x.."}}'}[side]
    raise Refusal(
        f"{side} has the limb {short(limb)}, which is none of {', '.join(_LIMBS)}",
        f'ostinato({example}, metre="4/4")',
        argument=side,
    )


def _is_ready(row: Cycle) -> TypeGuard[Pattern]:
    """Whether it is a ready pattern, which stands on the beats of its metre."""
    return isinstance(row, Pattern) and bool(row.key)


def _in_bar(
    bar: Metre, low: dict[object, Cycle], high: dict[object, Cycle]
) -> tuple[Metre, Fraction, dict[object, Cycle], dict[object, Cycle]]:
    """Set ready patterns on the beats of the bar, cut as finely as they need.

    Returns the bar, how many of its ticks each tick of the other rows is, and both sides.
    """
    rows = [*low.values(), *high.values()]
    need = lcm(*(parts_in_bar(row, bar) for row in rows if _is_ready(row)))
    if bar.parts % need == 0:
        parts = bar.parts
    else:  # the others are cut no finer than their own strokes need
        own = [[row.ticks, *lane.onsets.tolist()] for row in rows if not _is_ready(row) for lane in row.lanes]
        parts = (
            lcm(need, bar.parts // gcd(bar.parts, *(tick for ticks in own for tick in ticks)))
            if own
            else need
        )
    fine = Metre(bar.count, bar.unit, bar.groups, parts)
    feet, hands = (
        {who: set_in_bar(row, fine) if _is_ready(row) else row for who, row in side.items()}
        for side in (low, high)
    )
    return fine, Fraction(parts, bar.parts), feet, hands


def _side_lanes(
    rows: dict[object, Cycle], side: str, limb: str, sounds: tuple[str, str], times: Fraction
) -> tuple[int, list[tuple[int, Lane]]]:
    """Return the length of the feet or of the hands, and each of their lanes with its own length.

    What is no ready pattern is written in ticks that are each `times` ticks of the bar.
    """
    left_handed = limb.startswith("left")
    _, other = sides(left_handed)
    lanes: list[tuple[int, Lane]] = []
    lengths = []
    for who, row in rows.items():
        each = Fraction(1) if _is_ready(row) else times
        lengths.append(int(row.ticks * each))
        usual, voice = usual_player(row, left_handed, {"feet": "foot", "hands": "hand"}[side])
        unnamed = usual if who == side and usual else limb
        hands_own = usual_player(row, left_handed, "hand")[1]
        for lane in row.lanes:
            plays = lane.limb or (side if lane.hands else unnamed if who == side else str(who))
            second = bool(lanes) or plays.startswith(other)
            sound = (voice or sounds[second]) if lane.sound in ("click", hands_own) else lane.sound
            name = plays if lane.name == "pattern" else lane.name
            onsets, accents, ghosts = (
                np.asarray(of, np.int64) * each.numerator // each.denominator
                for of in (lane.onsets, lane.accents, lane.ghosts)
            )
            lanes.append((lengths[-1], Lane(name, onsets, plays, sound, accents, ghosts, lane.hands)))
    return lcm(*lengths), lanes


def _row(given: object, side: str, who: object, lead: str) -> Cycle:
    """Return what a side, or a limb of it, plays: phrases and stickings with the limbs that play them."""
    if not isinstance(who, str):
        raise Refusal(f"{side} has {short(who)} where a limb is named", _OSTINATO, argument=side)
    alone = who == side
    if isinstance(given, str):
        try:
            given = pattern(given) if alone else pattern(given, limb=who)
        except Refusal as error:
            raise Refusal(f"{side if alone else who}: {error.wrong}", _OSTINATO, argument=side) from error
    elif isinstance(given, Pattern) and not alone:
        given = given.by(who)
    if not isinstance(given, Pattern):
        return as_cycle(given, side, _OSTINATO)
    if side == "feet":
        return foot_pattern(given)
    return hand_phrase(given, lead) if alone and given.is_phrase and not given.lanes[0].limb else given


def _bar(feet: Sequence[Cycle], hands: Sequence[Cycle]) -> Metre:
    """Return the metre of the feet, else of a ready pattern in the hands, else a bar as long as the feet."""
    ready = [row for row in (*feet, *hands) if _is_ready(row)]
    for row in (*feet[:1], *ready):
        known = getattr(row, "metre", None)
        if isinstance(known, Metre):
            return known
    ticks, lane = feet[0].ticks, feet[0].lanes[0]
    if ticks % 4 == 0:
        return Metre(ticks // 4, 4)
    if len(feet[0].lanes) > 1:
        return Metre(ticks, 8, _counted(feet[0]))
    grouped = len(lane.onsets) and lane.onsets[0] == 0
    groups = np.diff(np.append(lane.onsets, ticks)).tolist() if grouped else None
    return felt(Metre(ticks, 8)) if groups and min(groups) < 2 else Metre(ticks, 8, groups)


def _counted(sticking: Cycle) -> tuple[int, ...]:
    """Return the twos and threes that a sticking is counted in: from where its lead starts, or its doubles.

    A four is two twos. Where that gives other groups, those that a bar is felt in.

    Examples
    --------
    >>> [_counted(foot_pattern(pattern(hands))) for hands in ("RLRRL", "RLRRLRL", "RRLLRRL", "RLLLL")]
    [(2, 3), (2, 3, 2), (2, 2, 3), (2, 3)]
    """
    strokes = sorted((tick, i) for i, lane in enumerate(sticking.lanes) for tick in lane.onsets.tolist())
    first = strokes[0][1]
    runs = [(by, [tick for tick, _ in row]) for by, row in groupby(strokes, itemgetter(1))]
    own = sorted({tick for lane in sticking.lanes for tick in lane.accents})
    for starts in (
        own,
        [row[0] for by, row in runs if by == first],
        [row[0] for _, row in runs if len(row) > 1],
    ):
        marks = [0, *(tick for tick in starts if tick), sticking.ticks]
        groups = [two for a, b in pairwise(marks) for two in ((2, 2) if b - a == 4 else (b - a,))]
        if starts and {*groups} <= {2, 3}:
            return tuple(groups)
    return felt(Metre(sticking.ticks, 8)).groups


def _voices(side: str, lane: Lane, ticks: int) -> list[_Voice]:
    onsets = lane.onsets.tolist()
    if not lane.hands:
        return [_Voice(side, lane.name, lane.limb, onsets, ticks)]
    rows: dict[str, list[int]] = {}
    for tick, limb in zip(onsets, letter_limbs(lane), strict=True):
        rows.setdefault(limb, []).append(tick)
    return [_Voice(side, lane.name, limb, rows[limb], ticks) for limb in sorted(rows, reverse=True)]


def _limbs(lane: Lane) -> list[str]:
    """Return the limbs that play a lane."""
    return sorted({*letter_limbs(lane)}, reverse=True) or [lane.limb]


def _one_stroke_each(voices: Sequence[_Voice], bar: Metre) -> None:
    """Refuse two strokes of one limb at once, by name, bar and place."""
    for a, b in combinations(voices, 2):
        if a.limb and a.limb == b.limb:
            tick = first_meeting(a.onsets, a.ticks, b.onsets, b.ticks)
            if tick is not None:
                who = f"by {a.name!r} and by {b.name!r}"
                if a.name == b.name:
                    same = a.side == b.side
                    who = f"by two rows of the {a.side}" if same else f"by {a.name!r} of feet and of hands"
                raise Refusal(
                    f"the {a.limb} is asked for two strokes at once in bar {tick // bar.ticks + 1:,} on "
                    f"{bar.describe(tick)}, {who}; give one of them another limb",
                    _OSTINATO,
                )


def _lane_in_window(lane: Lane, ticks: int, low: int, high: int) -> Lane:
    """Return a lane repeated over a window, its ticks counted from the window's start."""

    def over(onsets: Iterable[int]) -> Ticks:
        turns = np.arange(low // ticks, -(-high // ticks), dtype=np.int64) * ticks
        laid = (turns[:, None] + np.asarray(onsets, dtype=np.int64)).ravel()
        return laid[(laid >= low) & (laid < high)] - low

    onsets, hands = over(lane.onsets), lane.hands
    if hands:
        which = np.searchsorted(lane.onsets, (onsets + low) % ticks)
        hands = "".join(np.array(list(hands))[which].tolist())
    return Lane(lane.name, onsets, lane.limb, lane.sound, over(lane.accents), over(lane.ghosts), hands)

"""Lanes counted from even beats on a sheet: in one bar, a one-line staff for each, or in bars of beats.

Small numbers read as one bar; `rhythmlab.render.moving` writes near-equal and large ones.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import gcd

from rhythmlab import words
from rhythmlab.core.feel import Place
from rhythmlab.core.kinds import Ticks
from rhythmlab.playing.metre import Metre
from rhythmlab.refusal import Refusal
from rhythmlab.render.sheet import MOST_BARS, MOST_NOTES, Bar, Head, Note, Sheet, Staff, Voice, signed

#: Most beats of home, and most strokes of a pulse or parts of a beat, that are read in one bar.
MOST_BEATS, MOST_STROKES = 9, 12
#: Most beats of a bar that are written at all.
LONGEST_BAR = 32
#: The line of a one-line staff.
LINE = "E4"


@dataclass(frozen=True, slots=True)
class Row:
    """One lane counted from even beats.

    Attributes
    ----------
    name, hands : str
        What it is called; its hands, a letter a stroke, or one letter for all.
    step : int
        Greatest common divisor of its onsets and of the cycle, in ticks: it decides the parts of a beat.
    strokes : int
        How many in a cycle.
    between : callable
        First and last tick -> its onsets there, and the index of the first of them.
    accents, ghosts : frozenset of int
        Ticks.
    """

    name: str
    hands: str
    step: int
    strokes: int
    between: Callable[[int, int], tuple[Ticks, int]]
    accents: frozenset[int] = frozenset()
    ghosts: frozenset[int] = frozenset()

    def hand(self, index: int) -> str:
        """Return the hand of a stroke."""
        return self.hands[index] if len(self.hands) > 1 else self.hands


@dataclass(frozen=True, slots=True)
class Pulses:
    """Lanes counted from even beats.

    Attributes
    ----------
    ticks, beat : int
        Ticks of the cycle and of a beat of home.
    rows : tuple of Row
        The lanes.
    home : int or None
        Which of them is home.
    bars : tuple of int
        First ticks of the bars.
    bpm : Fraction or None
        Beats of home a minute.
    even : bool
        Whether each lane is an even pulse from tick 0.
    """

    ticks: int
    beat: int
    rows: tuple[Row, ...]
    home: int | None
    bars: tuple[int, ...]
    bpm: Fraction | None
    even: bool

    @property
    def beats(self) -> int:
        """Beats of home in the cycle."""
        return self.ticks // self.beat

    @property
    def home_name(self) -> str:
        """What home is called."""
        return f"the {self.rows[self.home].name}" if self.home is not None else "the count"

    @property
    def name(self) -> str:
        """What they are called together."""
        return " against ".join(row.name for row in self.rows)

    def parts(self, row: int) -> int:
        """Parts of a beat that one lane needs."""
        return self.beat // gcd(self.beat, self.rows[row].step)

    @property
    def all_parts(self) -> int:
        """Parts of a beat that all lanes need together."""
        return self.beat // gcd(self.beat, *(row.step for row in self.rows))

    @property
    def near(self) -> bool:
        """Whether they are two pulses so near each other that one drifts past the other."""
        if len(self.rows) != 2 or not self.even:
            return False
        p, q = (row.strokes for row in self.rows)
        return p != q and 8 * abs(p - q) <= max(p, q)

    def crumbs(self, row: int) -> bool:
        """Whether an even pulse would be tied from eighth parts of a beat, thirty-seconds, all through."""
        parts, long = self.parts(row), self.rows[row].step * self.parts(row) // self.beat
        plain = long & (long - 1) == 0 or (long % 3 == 0 and long // 3 & (long // 3 - 1) == 0)
        return self.even and parts == 8 and not plain

    def place(self, row: int, tick: int) -> Place:
        """Return where a stroke falls, counted from home."""
        part = self.beat // self.parts(row)
        return Place(tick // self.beat + 1, tick % self.beat // part + 1, self.parts(row))


def layout_of(pulses: Pulses) -> str:
    """Return the layout that reads better: ``"bar"`` or ``"bars"``."""
    starts = (*pulses.bars, pulses.ticks)
    longest = max(b - a for a, b in pairwise(starts)) // pulses.beat
    strokes = max(row.strokes for row in pulses.rows) // len(pulses.bars)
    parts = max(pulses.parts(i) for i in range(len(pulses.rows)))
    small = longest <= MOST_BEATS and strokes <= MOST_STROKES * max(1, longest) and parts <= MOST_STROKES
    if pulses.even:
        small = small and strokes <= MOST_STROKES
    if len(pulses.rows) == 2:
        small = small and not pulses.near and not any(map(pulses.crumbs, range(2)))
    return "bar" if small else "bars"


def in_bar(pulses: Pulses, metre: Metre | None, counts: bool, hands: bool) -> Sheet:
    """Write a one-line staff for each lane: the whole cycle as one bar, or each of its own bars.

    Raises
    ------
    ValueError
        If it is too long, or the metre does not hold home's beats.
    """
    lengths = [(b - a) // pulses.beat for a, b in pairwise((*pulses.bars, pulses.ticks))]
    if max(lengths) > LONGEST_BAR or sum(row.strokes for row in pulses.rows) > MOST_NOTES:
        raise Refusal(
            f'layout="bar" would make a bar of {max(lengths):,} beats, more than {LONGEST_BAR}',
            'score(Polyrhythm(16, 15), layout="bars")',
            argument="layout",
        )
    value, bars = _bars(lengths, metre)
    held = len(bars) == len(lengths)
    return _staves(pulses, (0, pulses.ticks), value, bars, (held, counts, hands))


def in_beats(pulses: Pulses, metre: Metre | None, start: int, stop: int, counts: bool, hands: bool) -> Sheet:
    """Write a one-line staff for each lane in bars of a few beats, with tuplets inside the beats.

    Raises
    ------
    ValueError
        If the metre does not hold home's beats, or there are too many bars.
    """
    each = 4 if metre is None else len(metre.groups)
    if metre is None:
        each = next((n for n in (4, 3, 5) if pulses.beats % n == 0), 4)
    first = start // pulses.beat // each * each
    last = min(pulses.beats, -(-stop // (pulses.beat * each)) * each)
    full, rest = divmod(last - first, each)
    if full > MOST_BARS:
        window = f"start={first * pulses.beat}, stop={(first + each * MOST_BARS) * pulses.beat}"
        raise too_long(pulses, full, window)
    value, bars = _bars([each] * full + [rest] * (rest > 0), metre)
    return _staves(pulses, (first * pulses.beat, last * pulses.beat), value, bars, (False, counts, hands))


def too_long(pulses: Pulses, bars: int, window: str, most: int = MOST_BARS) -> Refusal:
    """Return the refusal of too many bars, with a window that fits."""
    numbers = ", ".join(str(row.strokes) for row in pulses.rows)
    return Refusal(
        f"{pulses.name} takes {bars:,} bars, more than the {most} that fit in one score; write a window in "
        "ticks",
        f"score(Polyrhythm({numbers}), {window})",
    )


def _bars(lengths: list[int], metre: Metre | None) -> tuple[Fraction, tuple[Bar, ...]]:
    """Return home's note value and the bars that hold so many beats each."""
    value, each = Fraction(1), 0
    if metre is not None:
        by_group = metre.even and all(length % len(metre.groups) == 0 for length in lengths)
        if not by_group and any(length % metre.count for length in lengths):
            raise Refusal(
                f"metre={metre} does not hold "
                f"{words.listed([str(n) for n in dict.fromkeys(lengths)])} beats of home in "
                "whole bars",
                f'metre="{lengths[0]}/4"',
                argument="metre",
            )
        value = Fraction(4 * (metre.groups[0] if by_group else 1), metre.unit)
        each = len(metre.groups) if by_group else metre.count
    bars: list[Bar] = []
    at = Fraction(0)
    for length in lengths:
        beats = (Fraction(1),) * length
        if metre is not None:
            beats = tuple(Fraction(4 * group, metre.unit) for group in metre.groups)
        for _ in range(length // each if each else 1):
            bars.append(Bar(len(bars) + 1, at, beats, *time_of(beats, metre)))
            at += bars[-1].length
    return value, tuple(bars)


def time_of(beats: tuple[Fraction, ...], metre: Metre | None) -> tuple[str, str]:
    """Return the two numbers of a time signature, grouped where the groups are not the plain ones.

    Examples
    --------
    >>> time_of((Fraction(1),) * 3, None), time_of((Fraction(3, 4),) * 4, None)
    (('3', '4'), ('12', '16'))
    """
    if metre is not None:
        plain = Metre(metre.count, metre.unit).groups
        grouped = "+".join(map(str, metre.groups))
        return (str(metre.count) if metre.groups == plain else grouped), str(metre.unit)
    length = sum(beats, Fraction(0))
    quarters = all(beat.denominator == 1 for beat in beats)
    return (str(length), "4") if quarters else (str(length * 4), "16")


def _staves(
    pulses: Pulses,
    window: tuple[int, int],
    value: Fraction,
    bars: tuple[Bar, ...],
    show: tuple[bool, bool, bool],
) -> Sheet:
    held, counts, hands = show
    quarter, any_hands = value / pulses.beat, any(row.hands for row in pulses.rows)
    staves = []
    for i, row in enumerate(pulses.rows):
        onsets, index = row.between(*window)
        notes = []
        for n, tick in enumerate(onsets.tolist(), index):
            under = [row.hand(n)] if hands and any_hands else []
            under += [words.mark(pulses.place(i, tick))] if counts else []
            head = Head(i, LINE, "normal", tick in row.accents, tick in row.ghosts)
            notes.append(Note((tick - window[0]) * quarter, (head,), tuple(under)))
        staves.append(Staff(row.name, 1, (Voice(tuple(notes), held=held),)))
    whole = window == (0, pulses.ticks)
    return Sheet(
        tempo_said(pulses, value),
        bars,
        tuple(staves),
        tuple((row.name, 37) for row in pulses.rows),
        whole,
        _said(pulses, bars, window),
    )


def tempo_said(pulses: Pulses, value: Fraction) -> str:
    """Say what note the tempo belongs to.

    Parameters
    ----------
    pulses : Pulses
        With or without beats a minute.
    value : Fraction
        Home's note in quarters.
    """
    bpm = f" = {words.number(pulses.bpm)}" if pulses.bpm else ""
    what = "the beat" if pulses.home is None else f"the beat of {pulses.home_name}"
    return f"{signed(value)}{bpm} is {what}"


def _said(pulses: Pulses, bars: tuple[Bar, ...], window: tuple[int, int]) -> str:
    """Say what staff, what bars, and where the strokes fall."""
    count = len(pulses.rows)
    staff = "a one-line staff" if count == 1 else f"{count} one-line staves"
    time = f"{bars[0].top}/{bars[0].bottom}"
    many = f"one bar of {time}" if len(bars) == 1 else f"{len(bars)} bars, the first of {time}"
    falls = []
    for i, row in enumerate(pulses.rows):
        if i != pulses.home:
            where = [words.place_name(pulses.place(i, tick)) for tick in row.between(*window)[0].tolist()]
            falls.append(f"the {row.name} falls on {words.some(where) or 'nothing'}")
    lead = "In the count" if pulses.home is None else f"Counted from {pulses.home_name}"
    last = f" {lead}, {'; '.join(falls)}." if falls else ""
    if pulses.home is None:
        return f"{pulses.name} on {staff}, {many}.{last}"
    return f"{pulses.name} written from {pulses.home_name} on {staff}, {many}.{last}"

"""Two pulses in bars that are each one beat of home, so that the other stroke moves through them.

16 against 15 from the 15 is fifteen bars of sixteen sixteenths, the 15 on the first of each and the 16 one
sixteenth earlier from bar to bar.
"""

from collections.abc import Iterable
from fractions import Fraction
from typing import TypeAlias

from rhythmlab import words
from rhythmlab.playing.metre import Metre
from rhythmlab.refusal import Refusal
from rhythmlab.render.pulses import Pulses, time_of, too_long
from rhythmlab.render.sheet import LINE_PX, MOST_BARS, MOST_NOTES, Bar, Head, Note, Sheet, Staff, Voice, fours

#: The lanes that play at a tick, with their hands.
_Played: TypeAlias = dict[int, list[tuple[int, str]]]
#: Most sixteenths in a bar.
MOST_PARTS = 64
#: Above and under the line: the other pulse, and home.
_ABOVE, _UNDER = "F4", "D4"


def home_bars(
    pulses: Pulses, metre: Metre | None, grid: bool, start: int, stop: int, counts: bool, hands: bool
) -> Sheet:
    """Write bars that are each one beat of home, in sixteenths.

    Parameters
    ----------
    pulses : Pulses
        Two lanes, one of them home.
    metre : Metre, optional
        How the sixteenths of a bar are grouped.
    grid : bool
        Whether every sixteenth is written, small, with the strokes accented.
    start, stop : int
        Window in ticks; the bars that it touches are written whole.
    counts, hands : bool
        Whether the number of the sixteenth in its bar and the hand stand under each stroke.

    Raises
    ------
    ValueError
        If there are too many bars or too many parts to a beat, or the metre has another length.
    """
    parts = pulses.all_parts
    if parts > MOST_PARTS:
        raise Refusal(
            f"{pulses.name} cuts each beat of {pulses.home_name} into {parts:,} parts, "
            f"more than the {MOST_PARTS} sixteenths of the longest bar written",
            "score(Polyrhythm(64, 63))",
        )
    groups = tuple(Fraction(size, 4) for size in fours(parts))
    if metre is not None:
        groups = tuple(Fraction(4 * size, metre.unit) for size in metre.groups)
        if sum(groups) * 4 != parts:
            raise Refusal(
                f"metre={metre} does not hold the {parts} sixteenths of one beat of {pulses.home_name}",
                f'''metre="{"+".join(map(str, fours(parts)))}/16"''',
                argument="metre",
            )
    first, last = start // pulses.beat, -(-stop // pulses.beat)
    most = min(MOST_BARS, MOST_NOTES // parts) if grid else MOST_BARS
    if last - first > most:
        window = f"start={first * pulses.beat}, stop={(first + most) * pulses.beat}"
        raise too_long(pulses, last - first, window + ", grid=True" * grid, most)
    long = sum(groups, Fraction(0))
    bars = tuple(Bar(n + 1, (n - first) * long, groups, *time_of(groups, metre)) for n in range(first, last))
    at: _Played = {}
    for i, row in enumerate(pulses.rows):
        onsets, index = row.between(first * pulses.beat, last * pulses.beat)
        for n, tick in enumerate(onsets.tolist(), index):
            at.setdefault(tick, []).append((i, row.hand(n) or "RL"[i]))
    every = range(first * pulses.beat, last * pulses.beat, pulses.beat // parts)
    voices = _voices(pulses, at, every if grid else sorted(at), long / pulses.beat, (grid, counts, hands))
    keys = [(row.name, 37) for row in pulses.rows] + [("grid", 42)] * grid
    return Sheet(
        _tempo(pulses, parts),
        bars,
        (Staff("", 1, voices),),
        tuple(keys),
        (first, last) == (0, pulses.beats),
        _said(pulses, at, bars, parts, grid),
        numbered=True,
        quarter_px=_px(len(bars), long, grid),
    )


def _voices(
    pulses: Pulses, at: _Played, ticks: Iterable[int], quarter: Fraction, show: tuple[bool, bool, bool]
) -> tuple[Voice, ...]:
    """Return one voice with all strokes; with the grid, that above the line and home under it."""
    grid, counts, hands = show
    upper: list[Note] = []
    lower: list[Note] = []
    zero = None
    for tick in ticks:
        here = at.get(tick, [])
        zero = tick // pulses.beat * pulses.beat if zero is None else zero
        heads = [
            Head(
                i,
                _UNDER if i == pulses.home else _ABOVE,
                accent=tick in pulses.rows[i].accents or (grid and i != pulses.home),
                ghost=tick in pulses.rows[i].ghosts,
            )
            for i, _ in here
        ]
        heads.sort(key=lambda head: head.place != _UNDER)
        under = ["".join(sorted(hand for _, hand in here)[::-1])] if hands else []
        number = tick % pulses.beat * pulses.all_parts // pulses.beat + 1
        under += [str(number) if here else ""] if counts else []
        where = (tick - zero) * quarter
        if not grid:
            upper.append(Note(where, tuple(heads), tuple(under)))
            continue
        moving = [head for head in heads if head.lane != pulses.home]
        words_above = tuple(under) if moving else ()
        upper.append(Note(where, tuple(moving) or (Head(2, _ABOVE, small=True),), words_above))
        words_under = () if moving else tuple(under)
        lower += [Note(where, (head,), words_under) for head in heads if head.lane == pulses.home]
    if not grid:
        return (Voice(tuple(upper)),)
    return (Voice(tuple(upper)), Voice(tuple(lower), up=False, quiet=True))


def _px(bars: int, long: Fraction, grid: bool) -> int:
    """Return px to a quarter that put the bars on as few lines as can be read."""
    if grid:
        return min(96, max(84, int(LINE_PX / long)))
    on_a_line = max(2, -(-bars // 11))
    return int(min(Fraction(110), max(Fraction(24), (LINE_PX - 60) / (on_a_line * long))))


def _tempo(pulses: Pulses, parts: int) -> str:
    if not pulses.bpm:
        return f"Each bar is one beat of {pulses.home_name}, {words.plural(parts, 'sixteenth')}"
    quarters = words.number(pulses.bpm * parts / 4)
    bpm = words.number(pulses.bpm)
    return f"♩ = {quarters}: each bar is one beat of {pulses.home_name}, {bpm} a minute"


def _said(pulses: Pulses, at: _Played, bars: tuple[Bar, ...], parts: int, grid: bool) -> str:
    """Say how many bars, and on which sixteenths the other stroke falls."""
    rows: dict[int, list[str]] = {}
    for tick in sorted(at):
        if any(i != pulses.home for i, _ in at[tick]):
            number = tick % pulses.beat * parts // pulses.beat + 1
            rows.setdefault(tick // pulses.beat + 1, []).append(str(number))
    where = words.some([f"{' and '.join(row)} of bar {bar}" for bar, row in rows.items()], 8)
    other = next(row.name for i, row in enumerate(pulses.rows) if i != pulses.home)
    home = pulses.home_name
    full = ", every sixteenth written and the strokes accented" if grid else ""
    time = f"{bars[0].top}/{bars[0].bottom}"
    return (
        f"{pulses.name} written from {home}: {words.plural(len(bars), 'bar')} of {time} "
        f"on a one-line staff{full}, {home} under the line on the first of each bar. "
        f"The {other} above the line falls on sixteenth {where or 'none'}."
    )

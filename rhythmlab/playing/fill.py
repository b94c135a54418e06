"""Which polyrhythms hands can play as a fill at a tempo: where to enter and land, what the feet keep."""

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import gcd
from typing import overload

from rhythmlab import words
from rhythmlab.core import check
from rhythmlab.core.call import public
from rhythmlab.core.check import items, short, whole
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.given import Rhythm
from rhythmlab.core.shown import Printed
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.playing.groove import MOST_LAID
from rhythmlab.playing.limits import Limits, limits_or
from rhythmlab.playing.metre import Metre
from rhythmlab.playing.metre import metre as metre_of
from rhythmlab.playing.resolve import Fill, hand_limit, numbers_of, resolve, span
from rhythmlab.refusal import Refusal

_FILL = 'fill("4/4", 100, beats=4)'
#: Largest number that pairs are looked for up to; most pairs that are given, and that are shown of a kind.
MOST_NUMBER, MOST_PAIRS, MOST_BEST = 200, 1_000, 1_000


class Fills(Printed, Sequence[Fill]):
    """Fills that can be played, the simplest first; prints as sentences.

    Attributes
    ----------
    metre : Metre
        The bar.
    bpm : number or Tempo
        As given.
    too_fast : dict
        Pairs that no pair of hands can play so fast, each with the fastest tempo at which they can.
    fitting : int
        How many pairs can be played, those not shown included.
    """

    def __init__(
        self,
        choices: Sequence[Fill],
        bpm: Speed,
        too_fast: dict[tuple[int, int], Fraction],
        fitting: int,
        limits: Limits,
    ) -> None:
        self._choices, self.bpm, self.too_fast, self.fitting = tuple(choices), bpm, too_fast, fitting
        self._limits = limits

    @overload
    def __getitem__(self, i: int) -> Fill: ...

    @overload
    def __getitem__(self, i: slice) -> tuple[Fill, ...]: ...

    def __getitem__(self, i: int | slice) -> Fill | tuple[Fill, ...]:
        return self._choices[i]

    def __len__(self) -> int:
        return len(self._choices)

    def said(self) -> str:
        """Say each choice, and which pairs are too fast."""
        rows = [f"{i + 1}. {made.said(self.bpm, limits=self._limits)}" for i, made in enumerate(self)]
        if self.fitting > len(self):
            rows.append(f"{len(self)} of {self.fitting} pairs that can be played here.")
        if self.too_fast:
            fast = [
                f"{p} against {q} (up to {words.number(bpm, 0)} bpm)" for (p, q), bpm in self.too_fast.items()
            ]
            rows.append(f"Too fast at this tempo: {words.some(fast, 6)}.")
        return "\n".join(rows)

    __str__ = said


@public(_FILL, bpm="tempo", bounds="limits")
def fill(
    metre: str | Metre,
    tempo: Speed,
    *,
    beats: int | None = None,
    lands: int = 1,
    pairs: Iterable[Rhythm] | None = None,
    most: int = 16,
    best: int = 4,
    bars: int | None = None,
    feet: str | Cycle | None = None,
    limits: Limits | None = None,
) -> Fills:
    """Find the polyrhythms that hands can play as a fill: where to enter, where it lands, what the feet keep.

    Parameters
    ----------
    metre : str or Metre
        The bar.
    tempo : number or Tempo
        Beats a minute of the metre's beat, from 1 to 1,000.
    beats : int, optional
        Free beats; one bar when left out.
    lands : int
        The beat that the fill resolves on: 1 is the next downbeat.
    pairs : list of pairs, optional
        The pairs to look at. When left out: those whose home fits into the free beats, and neighbours
        such as 16 against 15 whose end fits, with numbers up to `most`.
    most, best : int
        The largest number (up to 200), and how many pairs of each kind to show (up to 1,000): those that fill
        the beats exactly, those that enter later, and ends of longer ones.
    bars : int, optional
        Bars in all; a bar of time and the fill when left out.
    feet : str, Pattern or Cycle, optional
        What the feet keep, as for `resolve`.
    limits : Limits, optional
        The limits of the hands; `limits()` when left out.

    Returns
    -------
    Fills
        A sequence of `Fill`, each a `Cycle`.

    Raises
    ------
    ValueError
        If no hands can play any of the pairs at this tempo.

    Examples
    --------
    >>> choices = fill("4/4", 100, beats=4, pairs=[(7, 4), (16, 15), (31, 4)])
    >>> [made.pair for made in choices], choices.too_fast
    ([(7, 4), (16, 15)], {(31, 4): Fraction(480000, 5177)})
    """
    bar, rows = metre_of(metre), limits_or(limits, f"{_FILL[:-1]}, limits=limits(hand_two=70))")
    speed = tempo if isinstance(tempo, Tempo) else bar.tempo(check.bpm(tempo, "tempo", _FILL))
    most = whole(most, "most", f"{_FILL[:-1]}, most=16)", most=MOST_NUMBER)
    best = whole(best, "best", f"{_FILL[:-1]}, best=4)", most=MOST_BEST)
    groups = len(bar.groups)
    if bars is None:
        long = whole(groups if beats is None else beats, "beats", _FILL, most=MOST_LAID)
        on = whole(lands, "lands", _FILL)
        bars = 1 + -(-(long + (groups - on + 1) * (on > 1)) // groups)
    begin, end, beat = span(bar, bars, beats, lands)
    free = (end - begin) // beat
    if pairs is None:
        asked = _candidates(free, most)
    else:
        given = items(pairs, "pairs", f"{_FILL[:-1]}, pairs=[(7, 4), (3, 2)])", MOST_PAIRS, "pairs")
        asked = [numbers_of(pair) for pair in given]
    kinds: tuple[list[tuple[int, int]], ...] = ([], [], [])  # exact, entering later, the end of a longer one
    too_fast: dict[tuple[int, int], Fraction] = {}
    tick_ms = 1000 * speed.tick_seconds(bar.cycle())
    slow_ms = 1000 * bar.tempo(1).tick_seconds(bar.cycle())  # a tick at 1 bpm
    for p, q in asked:
        strokes = (free // q * q or free) * p // q
        least = hand_limit(strokes, rows).value  # for one hand, which plays every other stroke
        ticks = Fraction(2 * q * beat, p)
        if ticks * tick_ms < least:
            too_fast[p, q] = ticks * slow_ms / least
        else:
            kinds[2 if q > free else 1 if free % q else 0].append((p, q))
    fitting = sum(map(len, kinds))
    if not fitting:
        slowest = max(too_fast, key=too_fast.__getitem__, default=None)
        why = ""
        if slowest is not None:
            p, q = slowest
            why = f": the slowest of them, {p} against {q}, can be played up to "
            why += f"{words.number(too_fast[slowest], 0)} bpm"
        raise Refusal(f"no hands can play such a fill at tempo={short(tempo)}{why}", _FILL)
    shown = [pair for row in kinds for pair in (row[:best] if pairs is None else row)]
    choices = [resolve(pair, bar, bars=bars, beats=beats, lands=lands, feet=feet) for pair in shown]
    return Fills(choices, tempo, too_fast, fitting, rows)


def _candidates(free: int, most: int) -> list[tuple[int, int]]:
    """Return pairs by how few strokes and pulses they have: whole ones, and neighbours that are longer."""
    found = [
        (p, q)
        for q in range(2, most + 1)
        for p in range(2, most + 1)
        if gcd(p, q) == 1 and (q <= free or (abs(p - q) == 1 and p * free >= q))
    ]
    return sorted(found, key=lambda pair: (sum(pair), -pair[0]))

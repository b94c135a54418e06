"""Slow and plain ways to the same answers, with Python's own whole numbers and Fractions."""

from fractions import Fraction

import rhythmlab as rl


def strokes(p: rl.Polyrhythm) -> list[list[int]]:
    """Return the ticks of each pulse: stroke k of n falls at k/n of the cycle."""
    rows = [[Fraction(k, pulse) * p.ticks for k in range(pulse)] for pulse in p.pulses]
    assert all(tick.denominator == 1 for row in rows for tick in row)
    return [[int(tick) for tick in row] for row in rows]


def merged(rows: list[list[int]]) -> tuple[list[int], list[list[bool]]]:
    """Return the ticks where any row sounds, and who sounds there."""
    onsets = sorted(set().union(*rows))
    return onsets, [[tick in row for row in map(set, rows)] for tick in onsets]


def intervals(onsets: list[int], ticks: int) -> list[int]:
    """Return the ticks from each onset to the next round the cycle."""
    following = [*onsets[1:], *(tick + ticks for tick in onsets[:1])]
    return [after - tick for tick, after in zip(onsets, following, strict=True)]


def gaps(p: rl.Polyrhythm, of: int, against: int) -> list[int]:
    """Return stroke minus nearest stroke, looking at every one, round the cycle; midway counts as after."""
    rows = strokes(p)
    others = [tick + turn * p.ticks for turn in (-1, 0, 1) for tick in rows[against]]
    return [
        min((stroke - other for other in others), key=lambda gap: (abs(gap), -gap)) for stroke in rows[of]
    ]


def windowed(step: int, start: int, stop: int) -> list[int]:
    """Return the strokes of one pulse in a window, by Python's whole numbers of any size."""
    return list(range(-(-start // step) * step, stop, step))

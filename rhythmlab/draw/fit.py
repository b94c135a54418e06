"""What fits: how much of a cycle a picture shows, and which labels can be written."""

from collections.abc import Iterator

import numpy as np

from rhythmlab.core.check import window
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.types import Ticks
from rhythmlab.draw.scene import WIDTH
from rhythmlab.refusal import Refusal
from rhythmlab.text import numbers

#: More strokes than this and a picture shows a window.
MOST_STROKES = 130
#: px that a letter of a label needs.
LETTER = 8.5
#: px that a figure of a number needs where there is little room.
FINE = 7.7


def asked(cycle: Cycle, start: int | None, stop: int | None) -> tuple[int, int]:
    """Return the window asked for; where its end is left open, as much as can be read."""
    if stop is None:
        return readable(cycle, window(start, stop, cycle.ticks)[0])
    first, last = window(start, stop, cycle.ticks)
    if first == last:
        raise Refusal(
            f"start={first}, stop={last} is an empty window, so there is nothing to draw",
            f"start=0, stop={min(cycle.ticks, 1000)}",
            argument="start",
        )
    return first, last


def readable(cycle: Cycle, start: int = 0) -> tuple[int, int]:
    """Return a window from a tick that can be read: all the rest, or as many whole beats as fit.

    Parameters
    ----------
    cycle : Cycle
        What is shown.
    start : int
        First tick; where not all fits, the beat that it belongs to.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> readable(Polyrhythm(16, 15).cycle()), readable(Polyrhythm(128, 127).cycle(), 5120)
    ((0, 240), (5120, 9216))
    """
    if start >= cycle.ticks:
        raise Refusal(
            f"start={start} is at the end of this cycle of {cycle.ticks} ticks", "start=0", argument="start"
        )
    rows = [lane.onsets for lane in cycle.lanes] or [cycle.beats]
    if sum(map(len, rows)) <= MOST_STROKES:
        return start, cycle.ticks
    before = int(np.searchsorted(cycle.beats, start, side="right"))
    start = int(cycle.beats[before - 1]) if before else start
    enough = MOST_STROKES // 2 + 1  # of each row, since all may be of one
    ahead = np.sort(np.concatenate([row[np.searchsorted(row, start) :][:enough] for row in rows]))
    if len(ahead) < enough:
        return start, cycle.ticks
    most = max(start + 1, int(ahead[enough - 1]))
    beats = int(np.searchsorted(cycle.beats, most, side="right"))
    last = int(cycle.beats[beats - 1]) if beats else 0
    return start, last if last > start else most


def clear_of_gutter(x: float, half_letter: float, text: object) -> bool:
    """Whether a label centred `x` px from the left edge keeps clear of the label in the gutter."""
    return x - half_letter * len(str(text)) >= -13.5


def px_to_a_tick(start: int, stop: int, left: int = 76, right: int = 24, width: int = WIDTH) -> float:
    """Return px to a tick, between two gutters."""
    return (width - left - right) / (stop - start)


def every_so_many(room: float, letters: int) -> int:
    """Return every how many labels, `room` px apart, can be written, from 1, 2, 5, 10 and so on."""
    needs = max(9.5 * (letters + 1), 12.6 * letters + 2)
    sizes: Iterator[int] = (n * 10**e for e in range(20) for n in (1, 2, 5))
    return next(size for size in sizes if room * size >= needs)


def within(ticks: Ticks, start: int, stop: int) -> list[int]:
    """Return the ticks inside a window."""
    inside: list[int] = ticks[slice(*np.searchsorted(ticks, (start, stop)))].tolist()
    return inside


def ticks_shown(ticks: int, start: int, stop: int) -> str:
    """Say which ticks a window shows."""
    return f"ticks {numbers.number(start)} to {numbers.number(stop - 1)} of {numbers.number(ticks)}"

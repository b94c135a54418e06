"""What fits: how much of a cycle a picture shows, and which labels can be written."""

from collections.abc import Iterator, Sequence

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
#: Narrowest and widest picture in px.
WIDTHS = (400, 10_000)
#: Rows from a number to the one beside it, where they stand on two lines by turns.
TURN_ROWS = 0.42


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
    sizes: Iterator[int] = (n * 10**e for e in range(20) for n in (1, 2, 5))
    return next(size for size in sizes if room * size >= _big_number(letters))


def in_turns(room: float, letters: int) -> tuple[str, int, int]:
    """Return how numbers `room` px apart are written: in which role, on how many lines by turns, every which.

    All of them as large as they can be, on one line, on two, or small on two; where that is too close, every
    second, fifth, tenth and so on.

    Examples
    --------
    >>> [in_turns(room, 2) for room in (30, 15, 10, 8)]
    [('big', 1, 1), ('big', 2, 1), ('fine', 2, 1), ('big', 1, 5)]
    """
    needs = {
        ("big", 1): _big_number(letters),
        ("big", 2): _big_number(letters),
        ("fine", 2): FINE * letters + 4,
    }
    for (role, lines), need in needs.items():
        if room * lines >= need:
            return role, lines, 1
    return "big", 1, every_so_many(room, letters)


def _big_number(letters: int) -> float:
    """Return px from the middle of a large number to the next."""
    return max(9.5 * (letters + 1), 12.6 * letters + 2)


def within(ticks: Ticks, start: int, stop: int) -> list[int]:
    """Return the ticks inside a window."""
    inside: list[int] = ticks[slice(*np.searchsorted(ticks, (start, stop)))].tolist()
    return inside


def ticks_shown(ticks: int, start: int, stop: int) -> str:
    """Say which ticks a window shows."""
    return f"ticks {numbers.number(start)} to {numbers.number(stop - 1)} of {numbers.number(ticks)}"


def counted_beats(
    beats: Sequence[float], bars: Sequence[float], drawn: Sequence[tuple[float, str]], what: str = "beat"
) -> str:
    """Say which beats have their number in a picture where not all have; else nothing.

    Parameters
    ----------
    beats, bars : sequence of number
        Ticks of all that are shown.
    drawn : sequence of (number, str)
        Beats with a number: tick and number, which begins again in every bar.
    what : str
        What is counted.

    Examples
    --------
    >>> counted_beats(range(0, 40, 4), [], [(0, "1"), (20, "6")])
    'counted: every fifth beat'
    >>> counted_beats(range(14), [0, 7], [(tick, str(tick % 7 + 1)) for tick in (0, 2, 4, 7, 9, 11)])
    'counted: 1, 3, 5 in every bar'
    >>> counted_beats(range(4), range(4), [(0, "1"), (2, "1")])
    'counted: 1 in every second bar'
    >>> counted_beats(range(2), [0], [(0, "1"), (1, "2")])
    ''
    """
    if len(drawn) in (0, len(beats)):
        return ""
    if len(bars) > 1 or (bars and bars[0] > beats[0]):
        texts = list(dict.fromkeys(text for _, text in drawn))
        index = {tick: i for i, tick in enumerate(bars)}
        ones = [index[tick] for tick, text in drawn if text == "1"]
        apart = ones[1] - ones[0] if len(ones) > 1 else 1
        which = f"{numbers.nth(apart - 1)} bar" if apart > 1 else "bar"
        return f"counted: {numbers.some(texts)} in every {which}"
    index = {tick: i for i, tick in enumerate(beats)}
    where, first = [index[tick] for tick, _ in drawn], drawn[0][1]
    if len(where) == 1:
        return f"counted: {first} alone"
    apart = where[1] - where[0]
    return f"counted: every {numbers.nth(apart - 1)} {what}" if apart > 1 else f"counted: from {first}"

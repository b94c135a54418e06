"""Which rhythms are counted from even beats, and how: the lanes that are written against home."""

from fractions import Fraction
from functools import partial
from math import gcd

import numpy as np

from rhythmlab.core.check import bpm, index, short
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.kinds import Ticks
from rhythmlab.core.polyrhythm import Polyrhythm, home_or_last
from rhythmlab.core.tempo import Tempo
from rhythmlab.refusal import Refusal
from rhythmlab.render.pulses import Pulses, Row
from rhythmlab.render.sheet import MOST_NOTES

_CALL = "score((7, 4))"


def pulses_of(what: Polyrhythm | Cycle, tempo: object, home: int | None) -> Pulses | None:
    """Return the lanes of a rhythm as they are counted from even beats.

    Parameters
    ----------
    what : Polyrhythm or Cycle
        What is written.
    tempo : Tempo or number or None
        A number is beats a minute of home.
    home : int or None
        Index of the home pulse or lane.

    Returns
    -------
    Pulses or None
        ``None`` where the beats are uneven, and so are groups.

    Examples
    --------
    >>> pulses_of(Polyrhythm(7, 4), 72, None).all_parts
    7
    """
    which: int | None
    beat: int | None
    if isinstance(what, Polyrhythm):
        which = home_or_last(what, home)
        rows = tuple(
            Row(str(pulse), "", what.step(i), pulse, partial(_of_pulse, what, i))
            for i, pulse in enumerate(what.pulses)
        )
        beat, even = what.step(which), True
        speed = None
        if tempo is not None:
            speed = tempo.bpm_of(what, which) if isinstance(tempo, Tempo) else bpm_of(tempo)
        return Pulses(what.ticks, beat, rows, which, (0,), speed, even)
    steps = [_step(what, lane.onsets) for lane in what.lanes]
    if home is not None:
        which = index(home, len(what.lanes), "home", "lanes")
        beat = steps[which]
        if beat is None:
            raise Refusal(
                f"home={short(home)} is lane {what.lanes[which].name!r}, which is not evenly "
                "spaced from tick 0",
                _CALL,
                argument="home",
            )
    else:
        beat = _step(what, what.beats)
        if beat is None or len(what.beats) < 2 or not what.lanes or _phrase(what):
            return None
        which = next((i for i, step in enumerate(steps) if step == beat), None)
    bars = tuple(what.bars.tolist()) or (0,)
    if bars[0] or any(tick % beat for tick in bars):
        return None
    rows = tuple(
        Row(
            lane.name,
            lane.hands,
            gcd(what.ticks, *lane.onsets.tolist()),
            len(lane.onsets),
            partial(_of_lane, lane.onsets),
            frozenset(lane.accents),
            frozenset(lane.ghosts),
        )
        for lane in what.lanes
    )
    if sum(row.strokes for row in rows) > MOST_NOTES * 100:
        raise Refusal(f"{what.ticks:,} ticks hold too many strokes for a score", _CALL)
    speed = None
    if tempo is not None:
        speed = bpm_of(tempo) if not isinstance(tempo, Tempo) else 60 / (tempo.tick_seconds(what) * beat)
    return Pulses(what.ticks, beat, rows, which, bars, speed, all(steps))


def _of_pulse(p: Polyrhythm, pulse: int, low: int, high: int) -> tuple[Ticks, int]:
    return p.onsets(pulse, start=low, stop=high), -(-low // p.step(pulse))


def _of_lane(onsets: Ticks, low: int, high: int) -> tuple[Ticks, int]:
    first, last = np.searchsorted(onsets, (low, high))
    return onsets[first:last], int(first)


def _step(cycle: Cycle, onsets: Ticks) -> int | None:
    """Return ticks from onset to onset where they are even from tick 0, else ``None``."""
    count = len(onsets)
    if not count or onsets[0] or cycle.ticks % count or np.any(np.diff(onsets) != cycle.ticks // count):
        return None
    return cycle.ticks // count


def _phrase(cycle: Cycle) -> bool:
    """Whether it is one lane with a stroke on every tick: its beats are groups."""
    return len(cycle.lanes) == 1 and len(cycle.lanes[0].onsets) == cycle.ticks


def bpm_of(tempo: object) -> Fraction:
    """Return beats a minute, exact, or refuse them."""
    return bpm(tempo, "tempo", "score(Polyrhythm(7, 4), 72)")

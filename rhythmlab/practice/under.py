"""What was played, cycle by cycle, as it stands under what was meant."""

from collections.abc import Sequence
from typing import TypedDict

import numpy as np

from rhythmlab.practice.causes import Cause
from rhythmlab.practice.measure import Measures
from rhythmlab.practice.take import Take

#: A stroke so early, in seconds, or by half of its step, still belongs to the next cycle.
_EARLY = 0.1


class Mark(TypedDict):
    """The stroke that matters: its cycle from 1 (0 is all), its lane, and the tick it was meant at."""

    cycle: int
    lane: int
    tick: int


class Under(TypedDict):
    """What a stage draws of a take.

    Attributes
    ----------
    cycles : list of list
        For each cycle its strokes, as lane and tick, fractions of a tick as they were played.
    mark : dict or None
        The stroke to single out.
    start, stop : int
        The slice that went round, in ticks.
    """

    cycles: list[list[tuple[int, float]]]
    mark: Mark | None
    start: int
    stop: int


def under(take: Take, measures: Measures, found: Sequence[Cause] = ()) -> Under:
    """Return the strokes of a take by cycles, with what the first cause singles out.

    Where the delay of the device is not known, what all strokes share is taken off: it is judged nowhere.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.core.tempo import Tempo
    >>> from rhythmlab.practice.measure import measure
    >>> take = Take(cycle=Polyrhythm(2, 1).cycle(), tempo=Tempo(60, pulse=1), cycles=2, start=0, stop=2,
    ...             mode="one pulse", lanes=(0,), tap_lanes=[0] * 4, tap_times=[0, 0.5, 1, 1.6])
    >>> under(take, measure(take))["cycles"]
    [[(0, -0.05), (0, 0.95)], [(0, -0.05), (0, 1.15)]]
    """
    turn, ticks = float(take.turn), take.stop - take.start
    common = 0.0 if measures.calibrated or measures.common_ms is None else measures.common_ms / 1000
    seconds = take.tap_times - take.offset_ms / 1000 - common
    strokes = [len(take.ticks(lane)) for lane in take.lanes]
    early = min(_EARLY, turn / (2 * max(1, *strokes)))
    cycle = np.floor((seconds + early) / turn).astype(int)
    cycles: list[list[tuple[int, float]]] = [[] for _ in range(take.cycles)]
    for lane, at, turns in zip(take.tap_lanes.tolist(), seconds.tolist(), cycle.tolist(), strict=True):
        if 0 <= turns < take.cycles:
            tick = take.start + (at - turns * turn) / turn * ticks
            cycles[turns].append((lane, round(tick, 2)))
    return {"cycles": cycles, "mark": _mark(take, found), "start": take.start, "stop": take.stop}


def _mark(take: Take, found: Sequence[Cause]) -> Mark | None:
    """Return the stroke that the first cause is about, where it is about one place."""
    if not found or found[0].lane is None or found[0].kind not in ("place", "slipped", "missing"):
        return None
    one = found[0]
    return {"cycle": min(one.cycle, take.cycles), "lane": one.lane, "tick": one.tick}

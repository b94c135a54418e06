"""What was played, cycle by cycle, as it stands under what was meant."""

from collections.abc import Sequence
from typing import TypedDict

import numpy as np

from rhythmlab.core.feel import OwnGroups
from rhythmlab.core.types import Floats
from rhythmlab.practice.feedback import lane_name, limb_of, tick_name
from rhythmlab.practice.measure import Measures, first_missed
from rhythmlab.practice.moved import Cause
from rhythmlab.practice.take import Take
from rhythmlab.text import numbers, sentences
from rhythmlab.text.sentences import say

#: A stroke so early, in seconds, or by half of its step, still belongs to the next cycle.
_EARLY = 0.1
#: Causes about one stroke, about a lane, whose first stroke stands for it, and about a place.
_STROKE, _LANE, _PLACE = ("place", "slipped", "missing"), ("hand",), ("waited", "stretch")
#: Causes that carry all strokes further and further off: a mean of all would hide where they began.
_TEMPO = ("tempo", "rushed", "changed")
#: Delays that are tried, in seconds, nearest to none first, where a take went away from its tempo.
_DELAYS = tuple(sorted((i / 100 for i in range(-15, 16)), key=abs))
#: How far from where it was meant a stroke may stand to be the one that is marked, as a share of the cycle.
NEAR = 1 / 8


class Mark(TypedDict):
    """The stroke that matters.

    Attributes
    ----------
    cycle, lane, tick : int
        Its cycle from 1 (0 is all), its lane, and the tick it was meant at.
    name : str
        The name of that place in the picture; none where it has no names.
    """

    cycle: int
    lane: int
    tick: int
    name: str


class Under(TypedDict):
    """What a stage draws of a take.

    Attributes
    ----------
    cycles : list of list
        For each cycle its strokes, as lane and tick, fractions of a tick as they were played; none of a
        take without strokes.
    said : list of str
        For each cycle what is drawn, in a sentence.
    names : dict
        For each lane that was to be played, and its number as text, its name.
    mark : dict or None
        The stroke to single out.
    start, stop : int
        The slice that went round, in ticks.
    """

    cycles: list[list[tuple[int, float]]]
    said: list[str]
    names: dict[str, str]
    mark: Mark | None
    start: int
    stop: int


def under(
    take: Take,
    measures: Measures,
    found: Sequence[Cause] = (),
    groups: OwnGroups = (),
    *,
    plain: bool = False,
) -> Under:
    """Return the strokes of a take by cycles, with what the first cause singles out, or the first one missed.

    Where the delay of the device is not known, what all strokes share is taken off: it is judged nowhere.
    Of a take that left its tempo that is what they shared before it did, so that it begins in place.
    `plain` is for the first panel, which has hands, but no numbers and no beats.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.core.tempo import Tempo
    >>> from rhythmlab.practice.measure import measure
    >>> take = Take(cycle=Polyrhythm(2, 1).cycle(), tempo=Tempo(60, pulse=1), cycles=2, start=0, stop=2,
    ...             mode="one pulse", lanes=(0,), tap_lanes=[0] * 4, tap_times=[0, 0.5, 1, 1.6])
    >>> shown = under(take, measure(take))
    >>> shown["cycles"]
    [[(0, -0.05), (0, 0.95)], [(0, -0.05), (0, 1.15)]]
    >>> shown["said"][1]
    'What you played in cycle 2 of 2: 2 strokes where the 2 has 2.'
    """
    turn, ticks = float(take.turn), take.stop - take.start
    seconds = take.tap_times - take.offset_ms / 1000
    if not measures.calibrated:
        seconds = seconds - _shared(take, measures, found)
    strokes = [len(take.ticks(lane)) for lane in take.lanes]
    early = min(_EARLY, turn / (2 * max(1, *strokes)))
    cycle = np.floor((seconds + early) / turn).astype(int)
    cycles: list[list[tuple[int, float]]] = [[] for _ in range(take.cycles)]
    for lane, at, turns in zip(take.tap_lanes.tolist(), seconds.tolist(), cycle.tolist(), strict=True):
        if 0 <= turns < take.cycles:
            tick = take.start + (at - turns * turn) / turn * ticks
            cycles[turns].append((lane, round(tick, 2)))
    if not any(cycles):  # bare rows of what was meant would look like a take that is all in place
        cycles = []
    mark = _mark(take, measures, found, groups) if cycles else None
    names = [(limb_of(take, lane) if plain else "") or take.cycle.lanes[lane].name for lane in take.lanes]
    named = {str(lane): name for lane, name in zip(take.lanes, names, strict=True)}
    said = [_said(take, cycles, i, mark, named if plain else None) for i in range(len(cycles))]
    if mark is not None and plain:
        mark["name"] = ""
    return {
        "cycles": cycles,
        "said": said,
        "names": named,
        "mark": mark,
        "start": take.start,
        "stop": take.stop,
    }


def _shared(take: Take, measures: Measures, found: Sequence[Cause]) -> float:
    """Return what all strokes share, in seconds, without what a tempo of their own added to it."""
    common = (measures.common_ms or 0.0) / 1000
    one = found[0] if found else None
    if one is None or one.kind not in _TEMPO:
        return common
    off: list[Floats] = []
    for lane in take.lanes:
        taps = take.tap_times[take.tap_lanes == lane] - take.offset_ms / 1000
        places = (np.array(take.ticks(lane)) - take.start) / (take.stop - take.start)
        turns = np.add.outer(np.arange(take.cycles), places).ravel()
        meant = float(take.turn) * turns + _gone(one, turns, take.cycles)
        if len(taps) and len(meant):
            off.append(np.subtract.outer(taps, meant))
    if not off:
        return common

    def left(delay: float) -> Floats:
        """How far each stroke is from the nearest one that is meant, after a delay."""
        rows = [table - delay for table in off]
        return np.concatenate([row[np.arange(len(row)), np.abs(row).argmin(axis=1)] for row in rows])

    best = min(_DELAYS, key=lambda delay: round(float(np.abs(left(delay)).mean()), 6))
    return best + float(np.median(left(best)))


def _gone(one: Cause, turns: Floats, cycles: int) -> Floats:
    """Return how far off a tempo of their own carried strokes, in seconds, after so many cycles."""
    us, then_us = one.us / 1e6, one.then_us / 1e6
    if one.kind == "changed":
        return us * np.maximum(0.0, turns - (one.cycle - 1))
    bent = (then_us - us) / (2 * cycles) if one.kind == "rushed" else 0.0
    return us * turns + bent * turns**2


def _mark(take: Take, measures: Measures, found: Sequence[Cause], groups: OwnGroups) -> Mark | None:
    """Return the stroke that the first cause is about; with no cause the first one that was missed."""
    one = found[0] if found else None
    if one is None or one.kind == "unsure":
        if not 0 < measures.missed < measures.meant:
            return None
        lane, tick, cycle = first_missed(take, measures)
    elif one.kind in _STROKE and one.lane is not None:
        lane, tick, cycle = one.lane, one.tick, one.cycle
    elif one.kind in _LANE and one.lane is not None:
        lane, tick, cycle = one.lane, int(take.ticks(one.lane)[0]), 0
    elif one.kind in _PLACE:
        lane, tick, cycle = one.lane, one.tick, one.cycle
    else:
        return None
    if lane is None:  # of the merged line, the first lane that has it
        lane = next((lane for lane in take.lanes if tick in take.ticks(lane)), None)
    if lane is None:
        return None
    name = tick_name(take.cycle, tick, groups)
    return {"cycle": min(cycle, take.cycles), "lane": lane, "tick": tick, "name": name}


def marked(strokes: Sequence[tuple[int, float]], mark: Mark, ticks: int) -> float | None:
    """Return where the marked stroke was played in a cycle; nothing where it was not.

    Examples
    --------
    >>> marked([(0, 0.2), (1, 7.5)], {"cycle": 0, "lane": 1, "tick": 7, "name": "beat 2"}, 28)
    7.5
    """
    played = [at for lane, at in strokes if lane == mark["lane"]]
    near = min(played, key=lambda at: abs(at - mark["tick"]), default=None)
    return None if near is None or abs(near - mark["tick"]) >= ticks * NEAR else near


def _said(
    take: Take,
    cycles: list[list[tuple[int, float]]],
    i: int,
    mark: Mark | None,
    named: dict[str, str] | None,
) -> str:
    """Say a cycle in a sentence: how many strokes of each lane, and the one that matters."""
    rows = []
    for lane in take.lanes:
        name = say("name.limb", limb=named[str(lane)]) if named else lane_name(take.cycle, lane)
        strokes = numbers.plural(sum(of == lane for of, _ in cycles[i]), "stroke")
        rows.append(say("under.lane", strokes=strokes, lane=name, meant=len(take.ticks(lane))))
    lanes = sentences.listed(rows)
    if named or mark is None or mark["cycle"] not in (0, i + 1):
        return say("under.cycle", cycle=i + 1, cycles=take.cycles, lanes=lanes)
    return say(
        "under.marked", cycle=i + 1, cycles=take.cycles, lanes=lanes, mark=_marked(take, cycles[i], mark)
    )


def _marked(take: Take, strokes: list[tuple[int, float]], mark: Mark) -> str:
    """Say how the stroke that matters was played."""
    at, place, lane = marked(strokes, mark, take.stop - take.start), mark["name"], mark["lane"]
    name = lane_name(take.cycle, lane)
    if at is None:
        return say("under.missing", place=place, lane=name)
    off = (at - mark["tick"]) * float(take.turn) / (take.stop - take.start)
    ms = say("unit.ms", count=numbers.number(abs(1000 * off), 0))
    if off < 0:
        return say("under.early", place=place, ms=ms, lane=name)
    return say("under.late", place=place, ms=ms, lane=name)

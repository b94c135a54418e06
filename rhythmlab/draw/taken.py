"""A take under its picture: one Scene of what was meant and, below it, what was played in one cycle."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from math import cos, pi, sin

from rhythmlab.draw.palette import lane_role
from rhythmlab.draw.scene import ROW, Band, Line, Mark, Rule, Scene, Text
from rhythmlab.practice.under import Mark as Marked
from rhythmlab.practice.under import Under
from rhythmlab.text import numbers

#: Px on a page: height of a row, of a stroke and its width, radius of the ring, and corners that it has.
_ROW, _HIGH, _WIDE, _RING, _CORNERS = 22, 16, 5, 12, 24


def with_take(scene: Scene, played: Under, meant: Sequence[Sequence[int]], cycle: int = 0) -> Scene:
    """Put the strokes of one cycle of a take under a picture, on its ticks.

    Parameters
    ----------
    scene : Scene
        The picture; where its x is no time, it is returned as it is.
    played : Under
        The take.
    meant : sequence of sequences of int
        For each lane the ticks that were meant.
    cycle : int
        Which cycle of the take, from 1; 0 for the one that is marked, or else the first.

    Returns
    -------
    Scene
        The picture with a row for each lane that was played, and a ring round the stroke that matters; its
        text alternative says so.

    Examples
    --------
    >>> from rhythmlab.draw.pictures import strip
    >>> played = {"cycles": [[(0, 0.0), (1, 0.1)]], "mark": None, "start": 0, "stop": 6}
    >>> with_take(strip((3, 2)), played, [(0, 2, 4), (0, 3)]).alt.partition("Under ")[2]
    'it what was played in cycle 1 of 1: 1 of 3 strokes, 1 of 2 strokes.'
    """
    cycles = played["cycles"]
    if not scene.moves or not cycles:
        return scene
    mark = played["mark"]
    which = min(max(1, cycle or (mark or {"cycle": 1})["cycle"] or 1), len(cycles))
    strokes = cycles[which - 1]
    lanes = sorted({lane for each in cycles for lane, _ in each})
    tick_px = scene.x(scene.start + 1) - scene.x(scene.start)
    half, top = _WIDE / 2 / tick_px, scene.rows
    marks: list[Mark] = [Text(scene.start, top + _ROW * len(lanes) / 2 / ROW, "you", "plain", "left")]
    said = []
    for row, lane in enumerate(lanes):
        y0 = top + (_ROW * row + 3) / ROW
        y1 = y0 + _HIGH / ROW
        ticks = [tick for tick in (meant[lane] if lane < len(meant) else ()) if _seen(scene, tick)]
        marks += [Rule(tick, y0, y1, "stem") for tick in ticks]
        found = [at for of, at in strokes if of == lane]
        marks += [
            Band(max(at, scene.start) - half, max(at, scene.start) + half, y0, y1, lane_role(lane))
            for at in found
            if _seen(scene, max(at, scene.start))
        ]
        many = len(meant[lane]) if lane < len(meant) else 0
        said.append(f"{numbers.number(len(found))} of {numbers.plural(many, 'stroke')}")
    told = f"Under it what was played in cycle {which} of {len(cycles)}: {', '.join(said)}"
    if mark and mark["cycle"] in (0, which) and mark["lane"] in lanes:
        at, word = _found(strokes, mark, played["stop"] - played["start"])
        if _seen(scene, max(at, scene.start)):
            y = top + (_ROW * lanes.index(mark["lane"]) + 3 + _HIGH / 2) / ROW
            marks += _ring(scene, max(at, scene.start), y, tick_px, word)
            told += f"; the ringed one is {word}"
    high = (_ROW * len(lanes) + 8) / ROW
    return replace(scene, marks=(*scene.marks, *marks), rows=scene.rows + high, alt=f"{scene.alt} {told}.")


def _seen(scene: Scene, tick: float) -> bool:
    return scene.start <= tick <= scene.stop


def _found(strokes: Sequence[tuple[int, float]], mark: Marked, ticks: int) -> tuple[float, str]:
    """Return where the stroke that matters stands, and what it is: late, early or not played."""
    own = [at for lane, at in strokes if lane == mark["lane"]]
    near = min(own, key=lambda at: abs(at - mark["tick"]), default=None)
    if near is None or abs(near - mark["tick"]) >= ticks / 8:
        return mark["tick"], "not played"
    return near, "late" if near > mark["tick"] else "early"


def _ring(scene: Scene, at: float, y: float, tick_px: float, word: str) -> list[Mark]:
    """Return a ring of straight pieces, and its word beside it, where there is room."""
    turns = [2 * pi * corner / _CORNERS for corner in range(_CORNERS + 1)]
    points = [(at + _RING * cos(turn) / tick_px, y + _RING * sin(turn) / ROW) for turn in turns]
    ring: list[Mark] = [Line(*a, *b, "edge") for a, b in pairwise(points)]
    right = scene.x(at) <= scene.width - 90
    beside = at if right else at - (_RING + 26) / tick_px
    return [*ring, Text(beside, y, word, "plain", "from" if right else "")]

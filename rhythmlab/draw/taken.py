"""A take under its picture: one Scene of what was meant and, below it, what was played in one cycle."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from math import cos, pi, sin

from rhythmlab.draw.scene import ROW, Line, Mark, Rule, Scene, Stroke, Text
from rhythmlab.practice.under import Under, marked

#: As in `under.mjs`, in px: height of a lane, of its marks, of the words under them, radius of the ring, and
#: from a name to what it is beside.
_LANE, _HIGH, _WORDS, _RING, _BESIDE = 26, 20, 24, 12, 14
#: Px of a letter of a lane's name and of the word that names a stroke, at most, and corners of the ring.
_LETTER, _NAME_LETTER, _CORNERS = 9, 11, 24


def with_take(scene: Scene, played: Under, meant: Sequence[Sequence[int]], cycle: int = 0) -> Scene:
    """Put the strokes of one cycle of a take under a picture, on its ticks, as a stage does.

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
        The picture with a row for each lane that was to be played, its strokes in the lane's own shape, and a
        ring round the stroke that matters, named; its text alternative says what the stage says of it.

    Examples
    --------
    >>> from rhythmlab.draw.pictures import strip
    >>> played = {"cycles": [[(0, 0.0), (1, 0.1)]], "said": ["What you played in cycle 1 of 1: 2 strokes."],
    ...           "names": {"0": "3", "1": "2"}, "mark": None, "start": 0, "stop": 6}
    >>> with_take(strip((3, 2)), played, [(0, 2, 4), (0, 3)]).alt[-43:]
    'What you played in cycle 1 of 1: 2 strokes.'
    """
    cycles, mark, names = played["cycles"], played["mark"], played["names"]
    if not scene.moves or not cycles:
        return scene
    which = min(max(1, cycle or (mark or {"cycle": 1})["cycle"] or 1), len(cycles))
    lanes = sorted({*map(int, names), *(lane for each in cycles for lane, _ in each)})
    tick_px = scene.x(scene.start + 1) - scene.x(scene.start)
    shown = [(lane, at) for lane, at in cycles[which - 1] if _seen(scene, at, played)]
    strokes = [(lane, _in_picture(scene, at, tick_px)) for lane, at in shown]
    y = {lane: scene.rows + _LANE * (row + 0.5) / ROW for row, lane in enumerate(lanes)}
    half, high = _HIGH / 2 / ROW, _LANE * len(lanes)
    marks: list[Mark] = []
    for lane in lanes:
        first = min((at for of, at in strokes if of == lane), default=scene.start)
        marks += _name(scene, names, lane, y[lane], min(0.0, (first - scene.start) * tick_px), tick_px)
        ticks = meant[lane] if lane < len(meant) else ()
        marks += [Rule(at, y[lane] - half, y[lane] + half, "stem") for at in ticks if _inside(scene, at)]
        marks += [Stroke(at, y[lane], lane, small=True, played=True) for of, at in strokes if of == lane]
    if mark and mark["cycle"] in (0, which) and mark["lane"] in lanes:
        found = marked(cycles[which - 1], mark, played["stop"] - played["start"])
        at = mark["tick"] if found is None else found
        if _seen(scene, at, played):
            row, of, at = y[mark["lane"]], mark["tick"], _in_picture(scene, at, tick_px)
            marks += [Line(of, row, at, row, "edge")] if _inside(scene, of) else []
            marks += _ring(at, row, tick_px)
            how = "not played" if found is None else "late" if found > of else "early"
            word = f"{mark['name']}: {how}" if mark["name"] else how
            wide = _NAME_LETTER * len(word) / 2 / tick_px
            least, most = scene.start - scene.left / tick_px + wide, scene.stop + scene.right / tick_px - wide
            high += _WORDS
            marks.append(Text(max(least, min(at, most)), scene.rows + (high - 10) / ROW, word, "name"))
    said = f"{scene.alt} {played['said'][which - 1]}"
    return replace(scene, marks=(*scene.marks, *marks), rows=scene.rows + (high + 4) / ROW, alt=said)


def _inside(scene: Scene, tick: float) -> bool:
    return scene.start <= tick <= scene.stop


def _seen(scene: Scene, tick: float, played: Under) -> bool:
    """Whether a stroke is of what is shown: in it, or before its first beat."""
    return _inside(scene, tick) or (tick < scene.start <= played["start"])


def _in_picture(scene: Scene, tick: float, tick_px: float) -> float:
    """Return where a stroke stands: where it came, left of the first beat too, while there is a picture."""
    return max(tick, scene.start - (scene.left - _RING) / tick_px)


def _name(
    scene: Scene, names: dict[str, str], lane: int, y: float, early: float, tick_px: float
) -> list[Mark]:
    """Return what stands beside a lane of a take, whose it is and which, as far as there is room.

    `early` is how many px its first stroke is before the first beat, negative: the name ends before that.
    """
    name, free = names.get(str(lane), ""), scene.left - _BESIDE + early
    for text in (f"you {name}", name, "you"):
        if text and len(text) * _LETTER < free:
            at = scene.start + (early - _BESIDE) / tick_px
            return [Text(at, y, text, "plain", "to" if early else "left")]
    return []


def _ring(at: float, y: float, tick_px: float) -> list[Mark]:
    """Return a ring of straight pieces, which also stands where no stroke does."""
    turns = [2 * pi * corner / _CORNERS for corner in range(_CORNERS + 1)]
    points = [(at + _RING * cos(turn) / tick_px, y + _RING * sin(turn) / ROW) for turn in turns]
    return [Line(*a, *b, "edge") for a, b in pairwise(points)]

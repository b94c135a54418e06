"""Which way to learn a rhythm fits at which tempo: the whole range of tempos as one picture."""

from dataclasses import replace
from fractions import Fraction
from math import ceil, floor

from rhythmlab.core import bounds
from rhythmlab.core.check import whole
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm, polyrhythm_and_home
from rhythmlab.core.tempo import Speed
from rhythmlab.draw.fit import LETTER, every_so_many
from rhythmlab.draw.scene import WIDTH, Band, Line, Mark, Rule, Scene, Text
from rhythmlab.playing.approach import (
    COUNT,
    DRIFT,
    FASTER,
    HAND,
    LINE,
    NEAR,
    ONES,
    PHRASE,
    SLOWER,
    SPLIT,
    Approach,
    Way,
    approach,
)
from rhythmlab.playing.learning import LINE_SOUNDS
from rhythmlab.playing.limits import Limits
from rhythmlab.text import descriptions
from rhythmlab.text.descriptions import bpm_text

#: Tempos shown, in beats a minute of home, widened where the present tempo lies outside.
SLOW, FAST = 20, 300
#: Most that `line_sounds` may be.
MOST_SOUNDS = 1_000
#: Gutters in px: the ways on the left, where they fit on the right.
LEFT, RIGHT = 190, 172
#: Rows to a way; the row of the first one, and half the height of its band.
_ROW, _TOP, _HALF = 0.9, 1.7, 0.3
#: px that a large letter needs.
BOLD = 10
#: Width in px of the picture on a phone, where 320 px leave it 278.
NARROW = 320
#: Rows to a way there, to one that works at no tempo, and from its name to the middle of its band.
_TALL, _LOW, _NAMED = 1.55, 0.8, 0.62
_ROLES = {LINE: "flam", COUNT: "alternating", ONES: "heard", DRIFT: "open"}


@public("pictures.ways((7, 4), 72)", "limits", p="what", bounds="limits")
def ways(
    what: Rhythm,
    tempo: Speed,
    *,
    limits: Limits | None = None,
    home: int | None = None,
    line_sounds: int = LINE_SOUNDS,
) -> Scene:
    """Draw each way to learn a rhythm as a band over the tempos at which it works.

    The present tempo is a strong line across all of them; the way recommended is named in large letters, and
    the row below the bands names what is recommended at each tempo: a road where no way fits.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.
    tempo : Tempo or number
        The present tempo; a number is beats a minute of home.
    limits : Limits, optional
        The limits to use; `limits()` when left out.
    home : int, optional
        Index of the pulse felt as the beat; the last one when left out.
    line_sounds : int
        Most sounds that are learned as one line.

    Returns
    -------
    Scene
        x is in beats a minute of home, rounded to whole ones.

    Raises
    ------
    ValueError, IndexError
        As `approach` does.

    Examples
    --------
    >>> print(ways((7, 4), 72).alt)
    Ways to learn 7 against 4 by tempo, in bpm of the 4, at 72 now: learn the line from 43.6 to 205.3 \
(recommended now); count from the 4 from 30 to 51.4; count from the 7 from 30 to 85.7; hold the ones \
from 133.3 to 205.3; follow the drift at no tempo.
    """
    example = "pictures.ways((7, 4), 72"
    p, home = polyrhythm_and_home(what, home, "what", f"{example})")
    bounds.rhythm(p, "what", f"{example})", most=None)
    tempo = bounds.at_tempo(p, tempo, home, f"{example})")
    line_sounds = whole(line_sounds, "line_sounds", f"{example}, line_sounds=12)", most=MOST_SOUNDS)
    return drawn(approach(p, tempo, home=home, limits=limits, line_sounds=line_sounds))


def drawn(found: Approach) -> Scene:
    """Draw ways that were found already, as `ways` does."""
    p, home, now = found.polyrhythm, found.home, found.ways[0].bpm
    rows = _ordered(found)
    start, stop = min(SLOW, floor(now * Fraction(3, 4))), max(FAST, ceil(now * Fraction(5, 4)))
    bottom = _TOP + _ROW * (len(rows) + 1) - _HALF
    marks = _scale(start, stop, bottom - _ROW, bottom + 0.5)
    for i, way in enumerate(rows):
        marks += _row(way, found, _TOP + _ROW * i, start, stop)
    marks += _advice(found, _TOP + _ROW * len(rows), start, stop, _px(start, stop))
    here = round(now)
    marks.append(Rule(here, 0.95, bottom - _ROW, "edge"))
    unit = f"bpm of {descriptions.pulse_name(p, home)}"
    said = f"{bpm_text(now)} {unit}"
    marks.append(Text(_inside(here, said, start, stop, _px(start, stop)), 0.6, said, "plain"))
    road = f" No way fits now: {found.recommended.label}." if found.recommended.road else ""
    alt = (
        f"Ways to learn {descriptions.pair(p)} by tempo, in {unit}, at "
        f"{bpm_text(now)} now: {'; '.join(_way_text(way, found) for way in rows)}.{road}"
    )
    high, shows = bottom + 1.1, descriptions.pair(p)
    return Scene(
        "ways", alt, tuple(marks), start, stop, high, left=LEFT, right=RIGHT, moves=False, shows=shows
    )


def drawn_narrow(found: Approach) -> Scene:
    """Draw ways that were found already for a phone: the name of a way and its tempos stand over its band.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> scene = drawn_narrow(approach(Polyrhythm(7, 4), 72))
    >>> scene.width, [mark.text for mark in scene.marks if isinstance(mark, Text)][1:5]
    (320, ['learn the line', '43.6 to 205.3', 'count from the 4', '30 to 51.4'])
    """
    wide = drawn(found)
    start, stop, home = wide.start, wide.stop, found.home
    here, across = round(found.ways[0].bpm), NARROW / (stop - start)
    said = f"{bpm_text(found.ways[0].bpm)} bpm of {descriptions.pulse_name(found.polyrhythm, home)}"
    marks: list[Mark] = [Text(_inside(here, said, start, stop, across), 0.6, said, "plain")]
    every = every_so_many(across, len(str(stop)))
    rounds = range(-(-start // every) * every, stop + 1, every)
    edge = start - 15 / across  # a text beside x is 16 px from it
    y = 1.35
    for way in _ordered(found):
        ends = _tempos(way, home)
        short = ends.removeprefix("from ") if " to " in ends else ends
        marks.append(Text(edge, y, _name(way), "name" if _best(way, found) else "plain", "from"))
        marks.append(Text(stop, y, short, "plain" if way.fits else "small", "to"))
        if way.possible:
            middle = y + _NAMED
            marks += [Rule(bpm, middle - _HALF, middle + _HALF, "hair") for bpm in rounds]
            marks += _row(way, found, middle, start, stop)[2:]
            marks.append(Rule(here, middle - _HALF - 0.06, middle + _HALF + 0.06, "edge"))
        y += _TALL if way.possible else _LOW
    marks.append(Text(edge, y, "recommended", "small", "from"))
    marks += _advice(found, y + _NAMED, start, stop, across)[1:]
    foot = y + _NAMED + 0.75
    clear = stop - BOLD * len("bpm") / across  # the unit ends where the tempos do
    marks += [
        Text(bpm, foot, str(bpm), "small")
        for bpm in rounds
        if _inside(bpm, str(bpm), start, floor(clear), across) == bpm
    ]
    marks.append(Text(stop, foot, "bpm", "small", "to"))
    return replace(wide, marks=tuple(marks), rows=foot + 0.5, left=0, right=0, width=NARROW)


def _ordered(found: Approach) -> list[Way]:
    """Return the ways in the order in which they are drawn."""
    line, count, ones, drift = found.ways
    return [line, count, *(way for way in found.counts if way.home != found.home), ones, drift]


def _px(start: int, stop: int) -> float:
    return (WIDTH - LEFT - RIGHT) / (stop - start)


def _inside(x: float, text: str, start: int, stop: int, px: float) -> float:
    """Move the middle of a text so far that it stays over the tempos."""
    half = LETTER * len(text) / 2 / px
    return min(max(x, start + half), stop - half)


def _scale(start: int, stop: int, bottom: float, foot: float) -> list[Mark]:
    """Draw a hair line for each round tempo, with its number below."""
    every = every_so_many(_px(start, stop), len(str(stop)))
    marks: list[Mark] = []
    for bpm in range(-(-start // every) * every, stop + 1, every):
        marks.append(Rule(bpm, 0.95, bottom, "hair"))
        marks.append(Text(bpm, foot, str(bpm), "small"))
    marks.append(Text(0, foot, "bpm", "small", "left"))
    return marks


def _row(way: Way, found: Approach, y: float, start: int, stop: int) -> list[Mark]:
    """Draw a way: its name, a band between its floor and its ceiling with an edge at each, and its tempos."""
    home, role = found.home, "name" if _best(way, found) else "plain"
    marks: list[Mark] = [
        Text(0, y, _name(way), role, "left"),
        Text(0, y, _tempos(way, home), "plain" if way.fits else "small", "right"),
    ]
    if not way.possible:
        return marks
    low, high = way.floor_of(home), way.ceiling_of(home)
    left = start if low is None else max(start, round(low))
    right = stop if high is None else min(stop, round(high))
    if left > stop or right < start:
        return marks
    top, foot = y - _HALF, y + _HALF
    marks.append(Band(left, right, top, foot, _ROLES[way.name]))
    marks += [Line(left, row, right, row, "stem") for row in (top, foot)]
    if low is not None and low >= start:
        marks.append(Rule(left, top, foot, "beat"))
    if high is not None and high <= stop:
        marks.append(Rule(right, top, foot, "beat"))
    return marks


def _advice(found: Approach, y: float, start: int, stop: int, px: float) -> list[Mark]:
    """Name what is recommended along the tempos, where its name has room."""
    marks: list[Mark] = [Text(0, y, "recommended", "small", "left")]
    for one in found.ranges:
        left = start if one.low is None else max(start, round(one.low))
        right = stop if one.high is None else min(stop, round(one.high))
        if left >= right:
            continue
        if left > start:
            marks.append(Rule(left, y - _HALF, y + _HALF, "beat"))
        room = (right - left) * px
        names = (_name(one.way), _brief(one.way))
        name = next((name for name in names if LETTER * len(name) + 6 <= room), None)
        if name:
            marks.append(Text((left + right) / 2, y, name, "small"))
    return marks


def _best(way: Way, found: Approach) -> bool:
    """Whether a way is the one recommended."""
    return (way.name, way.home) == (found.recommended.name, found.recommended.home)


def _name(way: Way) -> str:
    """Name a way so that it fits in the gutter."""
    return way.label if BOLD * len(way.label) <= LEFT - 14 else f"{way.name} (pulse {way.home + 1})"


def _brief(way: Way) -> str:
    """Say a way in one word."""
    ways = {LINE: "line", COUNT: "count", ONES: "ones", DRIFT: "drift"}
    roads = {NEAR: "near", HAND: "hands", PHRASE: "phrase", SPLIT: "split"}
    other = dict.fromkeys(SLOWER.values(), "slower") | dict.fromkeys(FASTER.values(), "faster")
    return (ways | roads | other)[way.name]


def _tempos(way: Way, home: int) -> str:
    """Say between which tempos of home a way works, short enough for the gutter."""
    if not way.possible:
        return "at no tempo"
    ends = (("from", way.floor_of(home)), ("to", way.ceiling_of(home)))
    return " ".join(f"{word} {_bpm(bpm)}" for word, bpm in ends if bpm is not None) or "at any tempo"


def _bpm(bpm: Fraction) -> str:
    """Write a tempo in six letters at most."""
    text = bpm_text(bpm, 1 if bpm < 1000 else 0)
    return text if len(text) <= 6 else f"{float(bpm):.0e}"


def _way_text(way: Way, found: Approach) -> str:
    """Say what a way is, at which tempos it works, and whether it is recommended."""
    chosen = " (recommended now)" if _best(way, found) else ""
    return f"{way.label} {_tempos(way, found.home)}{chosen}"

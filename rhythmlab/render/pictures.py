"""The pictures: pure functions from a cycle to a `Scene`.

Home is shown by where the heavy lines and the big count numbers stand, never by colour.
Shared strokes are tied by a bar.
"""

import math

import numpy as np

from rhythmlab import words
from rhythmlab.core.check import window
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.feel import Feel, places
from rhythmlab.core.gaps import midway, slips_around
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.playing.hearing import Zones, alternating_from
from rhythmlab.playing.said import zones_said
from rhythmlab.render.scene import WIDTH, Band, Line, Mark, Rule, Scene, Stroke, Text

#: More ticks than this and the hairlines go; more strokes than this and a picture shows a window.
MOST_HAIRLINES, MOST_STROKES = 64, 130
#: More strokes than this in a lane and the count shows beats only.
MOST_MARKS = 36
_LETTER = 8.5  # px that a letter of a label needs


def strip(cycle: Cycle, *, start: int | None = None, stop: int | None = None) -> Scene:
    """Draw the lanes round the line that is heard, with the count under them.

    Parameters
    ----------
    cycle : Cycle
        What is played; its beats are home.
    start, stop : int, optional
        Window in ticks; as much as can be read when left out.

    Examples
    --------
    >>> scene = strip(Polyrhythm(7, 4).cycle())
    >>> len(scene.strokes()), scene.alt[:36]
    (11, '7 against 4 on 28 ticks, counted fro')
    """
    start, stop = _shown(cycle, start, stop)
    marks, rows = _strip(cycle, start, stop, 0.3)
    line = words.some(composite(cycle, start=start, stop=stop).intervals.tolist(), 24, " ")
    alt = (
        f"{_title(cycle, start, stop)}, counted from {_home_name(cycle)}: heard as one line the ticks from "
        f"sound to sound are {'; '.join(filter(None, [line, _falls(cycle, start, stop)]))}."
    )
    return Scene("strip", alt, tuple(marks), start, stop, rows, left=_left(cycle))


def shared_grid(cycle: Cycle, *, start: int | None = None, stop: int | None = None) -> Scene:
    """Draw every lane on the numbered ticks they share.

    Parameters
    ----------
    cycle : Cycle
        What is played; its beats are home.
    start, stop : int, optional
        Window in ticks; as much as can be read when left out.

    Examples
    --------
    >>> shared_grid(Polyrhythm(3, 2).cycle()).alt
    '3 against 2 on 6 ticks, drawn on the grid they share: the 3 on ticks 0 2 4; the 2 on ticks 0 3.'
    """
    start, stop = _shown(cycle, start, stop)
    lanes = len(cycle.lanes)
    bottom = lanes + 0.9
    marks: list[Mark] = _frame(cycle, start, stop, 0.8, bottom)
    every = _every(_px(start, stop, _left(cycle)), len(str(stop)))
    ticks = range(-(-start // every) * every, stop, every)
    marks += [Text(0, 0.45, "tick", "small", "left"), *(Text(t, 0.45, str(t), "small") for t in ticks)]
    marks += _ties(cycle, start, stop, 1.3, lanes + 0.3)
    said = []
    for i, lane in enumerate(cycle.lanes):
        marks += _row(cycle, i, start, stop, i + 1.3)
        onsets = _window(lane.onsets, start, stop)
        said.append(f"the {lane.name} on ticks {words.some(onsets, 24, ' ')}")
    marks += _count(cycle, start, stop, bottom + 0.4, others=False)
    alt = f"{_title(cycle, start, stop)}, drawn on the grid they share: {'; '.join(said)}."
    return Scene("grid", alt, tuple(marks), start, stop, bottom + 0.9, left=_left(cycle))


def spoken(p: Polyrhythm) -> Scene:
    """Draw two pulses as right and left hand with the words to say, before any numbers.

    Parameters
    ----------
    p : Polyrhythm
        The first pulse is the right hand, the second the left.

    Examples
    --------
    >>> spoken(Polyrhythm(3, 2)).alt
    'Right hand 3 claps, left hand 2 claps, evenly in the same time; say: together, right, left, right.'
    """
    cycle, said = p.cycle(), words.clapped(p)
    marks: list[Mark] = [Rule(tick, 0.2, 2.8, "edge") for tick in (0, p.ticks)]
    for lane, hand in enumerate(("right", "left")):
        y = 1.0 + lane
        marks += [Text(0, y, hand, "name", "left"), Line(0, y, p.ticks, y, f"lane{lane}")]
        marks += [Stroke(tick, y, lane) for tick in cycle.lanes[lane].onsets.tolist()]
    marks += _ties(cycle, 0, p.ticks, 1.0, 2.0)
    places = composite(p).onsets.tolist()
    marks += [Text(t, 3.2, word, "name") for t, word in zip(places, said.split(", "), strict=True)]
    right, left = (words.plural(count, "clap") for count in p.pulses[:2])
    alt = f"Right hand {right}, left hand {left}, evenly in the same time; say: {said}."
    return Scene("spoken", alt, tuple(marks), 0, p.ticks, 3.7, left=112)


def homes(p: Polyrhythm, tempo: Tempo | None = None) -> Scene:
    """Draw one rhythm under each of its homes: every stroke at the same place, another count.

    Parameters
    ----------
    p : Polyrhythm
        What is played.
    tempo : Tempo, optional
        Says the beats a minute of each home.

    Examples
    --------
    >>> homes(Polyrhythm(7, 4)).alt[:60]
    '7 against 4 under each home, no stroke moved: counted from t'
    """
    marks: list[Mark] = []
    said = []
    top, start = 0.0, 0
    cycles = [p.cycle(home) for home in range(len(p.pulses))]
    stop = min(_shown(cycle, None, None)[1] for cycle in cycles)
    for home, cycle in enumerate(cycles):
        speed = f" at {words.number(tempo.bpm_of(p, home))} bpm" if tempo else ""
        marks.append(Text(start, top + 0.4, f"home is {words.pulse_name(p, home)}{speed}", "name", "from"))
        drawn, top = _strip(cycle, start, stop, top + 0.8)
        marks += drawn
        top += 0.2
        said.append(f"counted from {words.pulse_name(p, home)}{speed}, {_falls(cycle, start, stop)}")
    name = words.pair(p) if stop == p.ticks else _title(cycles[0], start, stop)
    alt = f"{name} under each home, no stroke moved: {'; '.join(said)}."
    return Scene("homes", alt, tuple(marks), start, stop, top)


def gap_cycle(z: Zones) -> Scene:
    """Draw the gaps as a tide: home is the shore, each stroke stands at its time and at its gap.

    Before the beat is above the shore, after it below; bands name the zones at this tempo.

    Parameters
    ----------
    z : Zones
        From `zones`, for a whole cycle or a window of it.

    Examples
    --------
    >>> from rhythmlab.core.gaps import phase_gaps
    >>> from rhythmlab.playing.hearing import zones
    >>> scene = gap_cycle(zones(phase_gaps(Polyrhythm(16, 15), 0, 1), Tempo(100, pulse=1)))
    >>> len(scene.strokes(0)), len(scene.strokes(1))
    (16, 15)
    """
    gaps, p = z.gaps, z.gaps.polyrhythm
    step, shore, high = gaps.step, 5.0, 4.4  # rows: where the shore is, and the tallest tide
    start, stop = _gap_window(z)
    y = {
        int(tick): shore + 2 * high * int(gap) / step
        for tick, gap in zip(gaps.onsets, gaps.ticks, strict=True)
    }
    marks = _zone_bands(z, start, stop, shore, high)
    marks += _ms_scale(z, shore, high)
    marks.append(Line(start, shore, stop, shore, f"lane{gaps.against % 4}"))
    shown = [int(tick) for tick in _window(gaps.onsets, start, stop)]
    ratio = slips_around(p, gaps.of, gaps.against)
    group = ratio.h if ratio else 1
    for tick, later in zip(shown, shown[group:], strict=False):
        if ratio and (y[tick] - shore) * (y[later] - shore) >= 0:
            marks.append(Line(tick, y[tick], later, y[later], "thread"))
    marks += [Line(tick, shore, tick, y[tick], "stem") for tick in shown if y[tick] != shore]
    middle, again = midway(p, gaps.of, gaps.against), p.meet(gaps.of, gaps.against)
    ringed = [] if middle is None else [tick for tick in shown if (tick - middle) % again == 0]
    marks += [Stroke(tick, y[tick], gaps.of, ring=tick in ringed) for tick in shown]
    beats = p.onsets(gaps.against, start=start, stop=stop).tolist()
    marks += [Stroke(beat, shore, gaps.against, small=True) for beat in beats]
    for tick in ringed[:1]:  # named below the tide, where no stroke stands
        where = f"exactly midway, on the & of {tick // step + 1}"
        last = stop - (_LETTER * len(where) / 2 - 104) / _px(start, stop, 128, 104)
        marks.append(Text(min(tick, last), shore + high + 0.65, where))
    label = shore + high + 1.2
    every = _every(_px(start, stop, 128, 104) * step, len(str(p.pulses[gaps.against])))
    name = words.pulse_name(p, gaps.against)
    marks.append(Text(0, label, f"beat of {name}" if len(name) < 8 else "beat", "small", "left"))
    marks += [Text(b, label, str(b // step + 1), "big") for b in beats if (b // step) % every == 0]
    drawn = "" if stop - start == p.ticks else f" {_ticks_shown(p.ticks, start, stop)}"
    alt = (
        f"The gaps of {words.pulse_name(p, gaps.of)} from {name}, drawn as a "
        f"tide over the beats{drawn}: {zones_said(z)} {words.midway_place(Feel(p, gaps.against), gaps.of)}"
    )
    return Scene("gap cycle", alt, tuple(marks), start, stop, label + 0.5, left=128, right=104)


def _gap_window(z: Zones) -> tuple[int, int]:
    """Ticks shown: whole beats round the strokes measured, no more strokes than can be told apart."""
    p, step = z.gaps.polyrhythm, z.gaps.step
    moving, onsets = p.step(z.gaps.of), z.gaps.onsets
    start = int(onsets[0]) // step * step if len(onsets) else 0
    end = int(onsets[-1]) + moving if len(onsets) else p.ticks
    most = MOST_STROKES * min(moving, step)
    if end - start <= most:
        return start, min(p.ticks, -(-end // step) * step)
    return start, start + (most // step * step or most)


def _zone_bands(z: Zones, start: int, stop: int, shore: float, high: float) -> list[Mark]:
    """Fill and name the zones, before the beat above the shore and after it below."""
    half = z.gaps.step / 2
    even = float(alternating_from(z.gaps.step))
    flam = min(float(z.flam_ms / (1000 * z.tempo.tick_seconds(z.gaps.polyrhythm))), even)
    edges = [
        (0, flam, "flam", "flam"),
        (flam, even, "open", "open flam"),
        (even, half, "alternating", "alternating"),
    ]
    marks: list[Mark] = []
    for low, top, role, name in edges:
        near, far = (high * edge / half for edge in (low, top))
        if far - near < 0.01:
            continue
        for sign in (-1, 1):
            y0, y1 = sorted((shore + sign * near, shore + sign * far))
            pad = 0.3 if role == "alternating" else 0  # room for a stroke at the very edge
            marks.append(Band(start, stop, y0 - pad * (sign < 0), y1 + pad * (sign > 0), role))
            if far - near > 0.45 and role != "flam":
                marks.append(Text(0, (y0 + y1) / 2, name, "small", "right"))
    if flam:
        marks.append(Text(0, shore, "flam", "small", "right"))
    return marks


def _ms_scale(z: Zones, shore: float, high: float) -> list[Mark]:
    """Name the shore, and two heights on each side, in milliseconds."""
    half_ms = float(500 * z.tempo.tick_seconds(z.gaps.polyrhythm) * z.gaps.step)
    size = math.floor(math.log10(half_ms / 2))
    nice = max(n * 10.0**e for e in (size - 1, size) for n in (1, 2, 5) if 2 * n * 10.0**e <= half_ms)
    marks: list[Mark] = [Text(0, shore, "0 ms", "small", "left")]
    for ms in (nice, 2 * nice):
        if ms < half_ms * 0.98:
            away = high * ms / half_ms
            said = f"{words.number(ms / 1000)} s" if ms >= 1000 else f"{words.number(ms, max(0, -size))} ms"
            marks.append(Text(0, shore - away, f"{said} before", "small", "left"))
            marks.append(Text(0, shore + away, f"{said} after", "small", "left"))
    return marks


def _strip(cycle: Cycle, start: int, stop: int, top: float) -> tuple[list[Mark], float]:
    """Return the marks of a strip that begins at a row, and the row where it ends."""
    lanes = len(cycle.lanes)
    above = (lanes + 1) // 2
    ys = [top + 0.7 + i + (i >= above) for i in range(lanes)]
    heard = top + 0.7 + above
    bottom = top + lanes + 1.3
    marks = _frame(cycle, start, stop, top, bottom)
    marks.insert(0, Band(start, stop, heard - 0.3, heard + 0.3, "heard"))
    marks += _heard(cycle, start, stop, heard)
    marks += _ties(cycle, start, stop, top + 0.7, max(ys, default=0))
    for i, y in enumerate(ys):
        marks += _row(cycle, i, start, stop, y)
    rows = _count(cycle, start, stop, bottom + 0.4, others=True)
    lowest = max(text.y for text in rows if isinstance(text, Text))
    return marks + rows, lowest + 0.5


def _frame(cycle: Cycle, start: int, stop: int, top: float, bottom: float) -> list[Mark]:
    """Hairlines where they can be told apart, heavy lines at home's beats, edges at both ends."""
    marks: list[Mark] = []
    if stop - start <= MOST_HAIRLINES:
        marks += [Rule(tick, top, bottom, "hair") for tick in range(start, stop)]
    marks += [Rule(beat, top, bottom, "beat") for beat in _window(cycle.beats, start, stop)]
    edges = [tick for tick in (start, stop) if tick % cycle.ticks == 0]
    return marks + [Rule(tick, top, bottom, "edge") for tick in edges]


def _row(cycle: Cycle, lane: int, start: int, stop: int, y: float) -> list[Mark]:
    """One lane: its name, its own line, its strokes."""
    name = Text(0, y, cycle.lanes[lane].name, "name", "left")
    strokes = [Stroke(tick, y, lane) for tick in _window(cycle.lanes[lane].onsets, start, stop)]
    return [name, Line(start, y, stop, y, f"lane{lane % 4}"), *strokes]


def _ties(cycle: Cycle, start: int, stop: int, top: float, bottom: float) -> list[Mark]:
    """Bars that tie strokes played together by every lane."""
    line = composite(cycle, start=start, stop=stop)
    together = line.onsets[line.pulses.all(axis=1)].tolist()
    return [Rule(tick, top + 0.28, bottom - 0.28, "tie") for tick in together] if bottom > top else []


def _heard(cycle: Cycle, start: int, stop: int, y: float) -> list[Mark]:
    """Draw the composite: a short thick line at each sound, the ticks to the next between them."""
    line = composite(cycle, start=start, stop=stop)
    marks: list[Mark] = [Text(0, y, "heard", "small", "left")]
    marks += [Rule(tick, y - 0.3, y + 0.3, "sound") for tick in line.onsets.tolist()]
    px = _px(start, stop, _left(cycle))
    for tick, ticks in zip(line.onsets.tolist(), line.intervals.tolist(), strict=True):
        if ticks * px >= _LETTER * len(str(ticks)) + 5 and tick + ticks <= stop:
            marks.append(Text(tick + ticks / 2, y, str(ticks), "plain"))
    return marks


def _count(cycle: Cycle, start: int, stop: int, y: float, *, others: bool) -> list[Mark]:
    """Write the count: beats large, where another lane falls small; one line for each other lane.

    A small mark that would touch its neighbour stands half a row lower, and where that is taken too it is
    left out: the text alternative has all of them.
    """
    px = _px(start, stop, _left(cycle))
    beats = _window(cycle.beats, start, stop)
    numbers = {tick: i for i, tick in enumerate(cycle.beats.tolist(), 1)} if len(beats) else {}
    least = int(np.diff(cycle.beats).min()) if len(cycle.beats) > 1 else cycle.ticks
    every = _every(px * least, len(str(len(cycle.beats))))
    big = [(b, str(numbers[b])) for b in beats if (numbers[b] - 1) % every == 0]
    home = _home(cycle)
    counted = [i for i in range(len(cycle.lanes)) if i != home] if others else []
    marks: list[Mark] = []
    for line, lane in enumerate(counted or [None]):
        at = y + line * 0.95
        name = cycle.lanes[lane].name if len(counted) > 1 else ""
        label = f"count {name}".strip() if len(name) < 3 else name
        marks.append(Text(0, at, label, "small", "left"))
        marks += [Text(tick, at, text, "big") for tick, text in big]
        taken = [[((t - start) * px, 6.0 * len(s) + 2) for t, s in big], []]
        if lane is None or not len(beats) or len(_window(cycle.lanes[lane].onsets, start, stop)) > MOST_MARKS:
            continue
        onsets = cycle.lanes[lane].onsets
        strokes = zip(
            _window(onsets, start, stop), places(cycle, onsets, start=start, stop=stop), strict=True
        )
        for tick, place in strokes:
            text, x = words.mark(place), (tick - start) * px
            half = _LETTER * len(text) / 2
            free = [all(abs(x - centre) >= half + width for centre, width in row) for row in taken]
            if place.part > 1 and any(free) and x + half <= WIDTH - _left(cycle):
                level = free.index(True)
                marks.append(Text(tick, at + 0.42 * level, text, "small"))
                taken[level].append((x, half))
    return marks


def _shown(cycle: Cycle, start: int | None, stop: int | None) -> tuple[int, int]:
    """Return the window asked for, or the whole cycle, or as many of its beats as can be read."""
    if start is not None or stop is not None:
        first, last = window(start, stop, cycle.ticks)
        if first == last:
            raise ValueError(
                f"start={first}, stop={last} is an empty window, so there is nothing to draw; "
                f"for example start=0, stop={min(cycle.ticks, 1000)}"
            )
        return first, last
    strokes = np.sort(np.concatenate([lane.onsets for lane in cycle.lanes] or [cycle.beats]))
    if len(strokes) <= MOST_STROKES:
        return 0, cycle.ticks
    most = max(1, int(strokes[MOST_STROKES // 2]))
    beats = [beat for beat in _window(cycle.beats, 0, most + 1) if beat]
    return 0, beats[-1] if beats else most


def _left(cycle: Cycle) -> int:
    """Return the width of a gutter, in px, that the names of the lanes fit in."""
    return max(76, 20 + 11 * max((len(lane.name) for lane in cycle.lanes), default=0))


def _px(start: int, stop: int, left: int = 76, right: int = 24) -> float:
    """Return px to a tick, between two gutters."""
    return (WIDTH - left - right) / (stop - start)


def _every(room: float, letters: int) -> int:
    """Return every how many labels, `room` px apart, can be written, from 1, 2, 5, 10 and so on."""
    needs = max(9.5 * (letters + 1), 12.6 * letters + 2)
    return next(n * 10**e for e in range(20) for n in (1, 2, 5) if room * n * 10**e >= needs)


def _window(ticks: np.ndarray, start: int, stop: int) -> list[int]:
    return ticks[slice(*np.searchsorted(ticks, (start, stop)))].tolist()


def _home(cycle: Cycle) -> int | None:
    """Index of the lane that is home, where one lane has all the beats and nothing else."""
    return next((i for i, lane in enumerate(cycle.lanes) if np.array_equal(lane.onsets, cycle.beats)), None)


def _home_name(cycle: Cycle) -> str:
    home = _home(cycle)
    return f"{len(cycle.beats)} beats" if home is None else f"the {cycle.lanes[home].name}"


def _title(cycle: Cycle, start: int, stop: int) -> str:
    names = " against ".join(lane.name for lane in cycle.lanes)
    if stop - start == cycle.ticks:
        return f"{names} on {words.plural(cycle.ticks, 'tick')}"
    return f"{names}, {_ticks_shown(cycle.ticks, start, stop)}"


def _ticks_shown(ticks: int, start: int, stop: int) -> str:
    return f"ticks {words.number(start)} to {words.number(stop - 1)} of {words.number(ticks)}"


def _falls(cycle: Cycle, start: int, stop: int) -> str:
    """Say where each lane but home falls in the count."""
    home = _home(cycle)
    said = []
    for i, lane in enumerate(cycle.lanes):
        if i != home and len(lane.onsets) and len(cycle.beats):
            where = map(words.place_name, places(cycle, lane.onsets, start=start, stop=stop))
            said.append(f"the {lane.name} falls on {words.some(where, 16)}")
    return "; ".join(said)

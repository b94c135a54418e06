"""The gap cycle as a tide: home is the shore, and the gaps rise before the beat and fall after it."""

import math
from collections.abc import Iterable
from fractions import Fraction

import numpy as np

from rhythmlab.core import bounds
from rhythmlab.core.check import whole
from rhythmlab.core.feel import Feel
from rhythmlab.core.gaps import midway, phase_gaps, slips_around
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm, as_polyrhythm, pulse_indices
from rhythmlab.core.tempo import Speed
from rhythmlab.draw.fit import (
    FINE,
    LETTER,
    MOST_STROKES,
    TURN_ROWS,
    WIDTHS,
    clear_of_gutter,
    counted_beats,
    in_turns,
    px_to_a_tick,
    ticks_shown,
)
from rhythmlab.draw.scene import WIDTH, Band, Line, Mark, Scene, Stroke, Text
from rhythmlab.playing.hearing import (
    Zones,
    alternating_from,
    ear_landmarks,
    landmarks_text,
    seen_as_gaps,
    zones,
    zones_text,
)
from rhythmlab.playing.limits import Limits
from rhythmlab.refusal import Refusal
from rhythmlab.text import descriptions, sentences
from rhythmlab.text.counts import SYLLABLES
from rhythmlab.text.numbers import number

#: Gutters in px: milliseconds on the left, names of the zones on the right.
LEFT, RIGHT = 128, 104
#: Share of the tallest height from one named height to the next, so that they stand apart on a wall too, and
#: up to where heights are named.
_SCALE_ROOM, _SCALE_END = Fraction(1, 4), Fraction(98, 100)
#: px from one quarter of a drift to the next from which all of them are named.
_QUARTER_ROOM = 24
#: Rows from the middle of a name beside the picture to that of the next, so that they do not touch.
NAME_ROWS = 0.42


@public("pictures.gap_cycle((16, 15), 100)", z="what")
def gap_cycle(
    what: Zones | Rhythm,
    tempo: Speed | None = None,
    *,
    of: int | None = None,
    against: int | None = None,
    limits: Limits | None = None,
    width: int = WIDTH,
) -> Scene:
    """Draw the gaps as a tide: home is the shore, each stroke stands at its time and at its gap.

    Before the beat is above the shore, after it below; bands name the zones at this tempo.

    Parameters
    ----------
    what : Zones, or Polyrhythm, Cycle or pair such as (16, 15)
        From `zones`, for a whole cycle or a window of it; or the pulses whose gaps are drawn.
    tempo : Tempo or number, optional
        The speed of the pulses, on which the zones depend; a number is beats a minute of the pulse measured
        from, 100 when left out.
    of, against : int, optional
        Indices of the pulse measured and of the one it is measured from; 0 and 1 when left out.
    limits : Limits, optional
        The limits to use; `limits()` when left out.
    width : int
        Width in px, from 400 to 10,000; narrower is larger on a wall.

    Examples
    --------
    >>> scene = gap_cycle((16, 15), 100)
    >>> len(scene.strokes(0)), len(scene.strokes(1))
    (16, 15)
    """
    example = "pictures.gap_cycle((16, 15), 100)"
    z = _zones(what, tempo, of, against, limits, example)
    width = whole(width, "width", f"{example[:-1]}, width={WIDTH})", *WIDTHS)
    gaps, p = z.gaps, z.gaps.polyrhythm
    bounds.rhythm(p, "what", example, most=None)
    bounds.at_tempo(p, z.tempo, gaps.against, example)
    if len(gaps.onsets) > bounds.MOST_STROKES:
        raise Refusal(
            f"what has {len(gaps.onsets):,} strokes, more than the {bounds.MOST_STROKES:,} that "
            "a picture looks through",
            example,
        )
    step, shore, high = gaps.step, 3.5, 3.0  # rows: where the shore is, and the tallest tide
    start, stop = _gap_window(z)
    inside = slice(*np.searchsorted(gaps.onsets, (start, stop)))
    y = {
        int(tick): shore + 2 * high * int(gap) / step
        for tick, gap in zip(gaps.onsets[inside], gaps.ticks[inside], strict=True)
    }
    marks = _zone_bands(z, start, stop, shore, high)
    marks += _ms_scale(z, shore, high)
    marks.append(Line(start, shore, stop, shore, f"lane{gaps.against % 4}"))
    shown = list(y)
    ratio = slips_around(p, gaps.of, gaps.against)
    group = ratio.h if ratio else 1
    for tick, later in zip(shown, shown[group:], strict=False):
        if ratio and (y[tick] - shore) * (y[later] - shore) >= 0:
            marks.append(Line(tick, y[tick], later, y[later], "thread"))
    marks += [Line(tick, shore, tick, y[tick], "stem") for tick in shown if y[tick] != shore]
    feel, again = Feel(p, gaps.against), p.meet(gaps.of, gaps.against)
    stroke, beat = midway(p, gaps.of, gaps.against), midway(p, gaps.against, gaps.of)
    ringed = [] if stroke is None else [tick for tick in shown if (tick - stroke) % again == 0]
    marks += [Stroke(tick, y[tick], gaps.of, ring=tick in ringed) for tick in shown]
    beats = p.onsets(gaps.against, start=start, stop=stop).tolist()
    if beat is not None:
        ringed = [tick for tick in beats if (tick - beat) % again == 0]
    ring = ringed if beat is not None else []
    marks += [Stroke(tick, shore, gaps.against, ring=tick in ring, small=True) for tick in beats]
    px = px_to_a_tick(start, stop, LEFT, RIGHT, width)
    marks += _landmark_names(feel, gaps.of, ringed, start, stop, px, shore + high + 0.65)
    name, row = descriptions.pulse_name(p, gaps.against), shore + high + 1.2
    marks.append(Text(0, row, f"beat of {name}" if len(name) < 8 else "beat", "small", "left"))
    written, counted = _beat_numbers(beats, step, start, px, row)
    marks += written
    low = max((mark.y for mark in written), default=row)
    if counted:
        low += TURN_ROWS
        marks.append(Text(start, low, counted, "fine", "from"))
    drawn = "" if stop - start == p.ticks else f" {ticks_shown(p.ticks, start, stop)}"
    alt = (
        f"The gaps of {descriptions.pulse_name(p, gaps.of)} from {name}, drawn as a "
        f"tide over the beats{drawn}{f' ({counted})' if counted else ''}: {zones_text(z)} "
        f"{descriptions.midway_place(feel, gaps.of)}"
    )
    if seen_as_gaps(p):
        alt = sentences.sentences(alt, landmarks_text(feel, gaps.of))
    rows, shows = low + 0.5, descriptions.pair(p)
    return Scene(
        "gap cycle",
        alt,
        tuple(marks),
        start,
        stop,
        rows,
        left=LEFT,
        right=RIGHT,
        width=width,
        shows=shows,
    )


def _beat_numbers(beats: list[int], step: int, start: int, px: float, row: float) -> tuple[list[Text], str]:
    """Return the numbers of beats that have room, and say which have one where not all do."""
    last = beats[-1] // step + 1 if beats else 1
    role, lines, every = in_turns(px * step, len(str(last)))
    half = FINE / 2 if role == "fine" else 6.3
    written = [
        Text(beat, row + TURN_ROWS * (beat // step % lines), str(beat // step + 1), role)
        for beat in beats
        if beat // step % every == 0 and clear_of_gutter((beat - start) * px, half, beat // step + 1)
    ]
    return written, counted_beats(beats, [], [(mark.x, mark.text) for mark in written])


def _landmark_names(
    feel: Feel, pulse: int, midways: list[int], start: int, stop: int, px: float, row: float
) -> list[Mark]:
    """Name the first place exactly midway, and of neighbours the quarters, below the tide."""
    marks: list[Mark] = []
    taken = 0.0, 0.0
    for tick in midways[:1]:
        beat, over = tick // feel.beat_ticks + 1, tick % feel.beat_ticks
        where = f"exactly midway, on the & of {beat}" if over else f"exactly midway, on beat {beat}"
        half = LETTER * len(where) / 2
        at = min(tick, stop - (half - RIGHT) / px)
        marks.append(Text(at, row, where))
        taken = at - half / px, at + half / px
    p = feel.polyrhythm
    if not seen_as_gaps(p) or p.meet(pulse, feel.home) * px < 4 * _QUARTER_ROOM:
        return marks
    for mark in ear_landmarks(feel, pulse):
        if start <= mark.tick < stop and mark.quarters != 2 and not taken[0] < mark.tick < taken[1]:
            name = "\N{VULGAR FRACTION ONE QUARTER}" if mark.between else SYLLABLES[4][mark.quarters - 1]
            marks.append(Text(mark.tick, row, name))
    return marks


def _zones(
    what: object, tempo: Speed | None, of: object, against: object, limits: Limits | None, example: str
) -> Zones:
    """Return the zones that are drawn, as they are or of pulses at a tempo."""
    if isinstance(what, Zones):
        if any(one is not None for one in (tempo, of, against, limits)):
            raise Refusal("a tempo, pulses or limits are given, and the zones have their own", example)
        return what
    p = as_polyrhythm(what, "what", example)
    first, second = pulse_indices(p, of, against)
    return zones(phase_gaps(p, first, second), 100 if tempo is None else tempo, limits=limits)


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
    tick_ms = 1000 * z.tempo.tick_seconds(z.gaps.polyrhythm)
    flam, apart = (min(float(ms / tick_ms), even) for ms in (z.flam_ms, z.apart_ms))
    edges = [
        (0, flam, "flam", "flam"),
        (even, half, "alternating", "alternating"),
        (flam, apart, "open", "open flam"),
        (apart, even, "open", "apart"),
    ]
    marks: list[Mark] = []
    names = [Text(0, shore, "flam", "small", "right")] if flam else []
    for low, top, role, name in edges:
        near, far = (high * edge / half for edge in (low, top))
        if far - near < 0.01:
            continue
        for sign in (-1, 1):
            y0, y1 = sorted((shore + sign * near, shore + sign * far))
            pad = 0.3 if role == "alternating" else 0  # room for a stroke at the very edge
            marks.append(Band(start, stop, y0 - pad * (sign < 0), y1 + pad * (sign > 0), role))
            if far - near + pad > 0.45 and role != "flam":
                names.append(Text(0, (y0 + y1 + sign * pad) / 2, name, "small", "right"))
    return [*marks, *clear_names(names)]


def clear_names(names: Iterable[Text]) -> list[Text]:
    """Return the names beside a picture that keep clear of those before them.

    Examples
    --------
    >>> names = [Text(0, 1.0, "flam"), Text(0, 1.3, "open flam"), Text(0, 2.0, "apart")]
    >>> [name.text for name in clear_names(names)]
    ['flam', 'apart']
    """
    clear: list[Text] = []
    for name in names:
        if all(abs(name.y - other.y) >= NAME_ROWS for other in clear):
            clear.append(name)
    return clear


def _ms_scale(z: Zones, shore: float, high: float) -> list[Mark]:
    """Name the shore, and heights on each side at even steps, in milliseconds."""
    half = 500 * z.tempo.tick_seconds(z.gaps.polyrhythm) * z.gaps.step
    step = scale_step(half)
    marks: list[Mark] = [Text(0, shore, "0 ms", "small", "left")]
    for many in range(1, int(half * _SCALE_END // step) + 1):
        ms = many * step
        away = high * float(ms / half)
        said = f"{number(ms / 1000, 2)} s" if ms >= 1000 else f"{number(ms, _decimals(step))} ms"
        marks.append(Text(0, shore - away, f"{said} before", "small", "left"))
        marks.append(Text(0, shore + away, f"{said} after", "small", "left"))
    return marks


def scale_step(half: Fraction) -> Fraction:
    """Return the ms from one height that is named to the next: the least round number with room on a wall.

    Parameters
    ----------
    half : Fraction
        ms of the tallest height, half a beat.

    Examples
    --------
    >>> [str(scale_step(Fraction(half))) for half in (375, 390, 100, 1500, 3)]
    ['100', '100', '25', '500', '1']
    """
    size = Fraction(10) ** math.floor(math.log10(half * _SCALE_ROOM))
    return next(step for n in (1, 2, Fraction(5, 2), 5, 10) if (step := n * size) >= half * _SCALE_ROOM)


def _decimals(step: Fraction) -> int:
    """Return how many decimals tell the multiples of a step apart."""
    return next(n for n in range(20) if (step * 10**n).denominator == 1)

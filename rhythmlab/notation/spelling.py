"""How one voice of one bar is spelled: note values, ties, tuplets and beams; exact Fractions.

Lengths and places are in quarters from the start of the bar.
Tuplets are the readable ones, more notes than their normal number and less than twice as many
(1 < actual/normal < 2), never one in another and never over a barline.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from heapq import heappop, heappush
from itertools import pairwise
from math import lcm
from typing import TypeAlias

#: Written values in quarters, and what MusicXML calls them.
VALUES = {
    Fraction(8): "breve",
    Fraction(4): "whole",
    Fraction(2): "half",
    Fraction(1): "quarter",
    Fraction(1, 2): "eighth",
    Fraction(1, 4): "16th",
    Fraction(1, 8): "32nd",
    Fraction(1, 16): "64th",
    Fraction(1, 32): "128th",
}
SHORTEST = min(VALUES)
#: Most parts that a tuplet may have.
MOST_PARTS = 128


@dataclass(frozen=True, slots=True)
class Tuplet:
    """So many notes in the time of so many; `unit` is the counted note in quarters."""

    actual: int
    normal: int
    unit: Fraction


@dataclass(frozen=True, slots=True)
class Piece:
    """One written note or rest.

    Attributes
    ----------
    start, length : Fraction
        Where it sounds in the bar and how long, in quarters.
    value : Fraction
        The written value without its dot, a key of `VALUES`.
    dots : int
        0 or 1.
    stroke : int or None
        Which stroke of the voice it is, from 0; ``None`` for a rest.
    tied_from, tied_to : bool
        Whether it goes on from the piece before, and goes on into the next one.
    tuplet : Tuplet or None
        The tuplet it belongs to.
    opens, closes : bool
        Whether that tuplet starts or stops here.
    group : int
        Number of its beam group in the bar.
    beams : tuple of str
        From the eighth's beam down: ``"begin"``, ``"continue"``, ``"end"``, ``"forward hook"`` or
        ``"backward hook"``.
    """

    start: Fraction
    length: Fraction
    value: Fraction
    dots: int
    stroke: int | None
    tied_from: bool = False
    tied_to: bool = False
    tuplet: Tuplet | None = None
    opens: bool = False
    closes: bool = False
    group: int = 0
    beams: tuple[str, ...] = ()


def tuplet_of(length: Fraction, parts: int) -> tuple[Tuplet | None, Fraction]:
    """Return the tuplet that cuts a length into equal parts, and the written value of a part.

    Parameters
    ----------
    length : Fraction
        In quarters.
    parts : int
        How many.

    Returns
    -------
    tuple
        ``None`` in place of a tuplet where plain values do.

    Raises
    ------
    ValueError
        If there is no written value for such a part.

    Examples
    --------
    >>> tuplet_of(Fraction(4), 3), tuplet_of(Fraction(4), 7), tuplet_of(Fraction(3), 7)
    ((Tuplet(actual=3, normal=2, unit=Fraction(2, 1)), Fraction(2, 1)), \
(Tuplet(actual=7, normal=4, unit=Fraction(1, 1)), Fraction(1, 1)), \
(Tuplet(actual=7, normal=6, unit=Fraction(1, 2)), Fraction(1, 2)))
    """
    value = max(VALUES)
    while value * parts >= 2 * length and value > SHORTEST:
        value /= 2
    while value * parts < length and value < max(VALUES):
        value *= 2
    if value not in VALUES or not length <= value * parts < 2 * length:
        raise ValueError(f"{parts} parts in {length} quarters have no written value")
    if value * parts == length:
        return None, value
    unit = value
    while (length / unit).denominator > 1:
        unit /= 2
    if unit not in VALUES:
        raise ValueError(f"{parts} parts in {length} quarters have no readable tuplet")
    return Tuplet(int(value * parts / unit), int(length / unit), unit), value


def spell(onsets: Sequence[Fraction], beats: Sequence[Fraction], *, held: bool = False) -> tuple[Piece, ...]:
    """Spell the strokes of one voice in one bar.

    Parameters
    ----------
    onsets : sequence of Fraction
        Where the strokes are, in quarters from the start of the bar, rising.
    beats : sequence of Fraction
        Lengths of the beats or groups, in quarters; they fill the bar.
    held : bool
        Whether a stroke lasts until the next one, tied where no one value does; otherwise it lasts no
        longer than its beat, and rests fill the bar, as on a drum staff.

    Returns
    -------
    tuple of Piece
        They fill the bar exactly; none for a bar without strokes, which has one rest as long as itself.

    Raises
    ------
    ValueError
        If a place has no readable written value.

    Examples
    --------
    >>> seventh = [Fraction(7, 4) * i for i in range(4)]                    # 7:4 from the 7
    >>> [float(piece.length) for piece in spell(seventh, [Fraction(1)] * 7, held=True)]
    [1.0, 0.75, 0.25, 1.5, 0.5, 1.0, 0.25, 0.75, 1.0]
    """
    onsets, beats = [Fraction(at) for at in onsets], [Fraction(beat) for beat in beats]
    if not onsets:
        return ()
    marks = [Fraction(0)]
    for beat in beats:
        marks.append(marks[-1] + beat)
    spans = _spans(onsets, marks)
    pieces: list[Piece] = []
    for start, end, stroke in _events(onsets, spans, marks[-1], held):
        pieces += _written(start, end, stroke, spans, marks)
    return _beamed(_closed(pieces, spans), spans, held)


@dataclass(frozen=True, slots=True)
class _Span:
    """One beat, or the beats under one tuplet."""

    start: Fraction
    end: Fraction
    tuplet: Tuplet | None


def _spans(onsets: list[Fraction], marks: list[Fraction]) -> list[_Span]:
    """Cut the bar into beats and tuplets with as few tuplet parts in all as possible, short ones first."""
    if all((at / SHORTEST).denominator == 1 for at in onsets):
        return [_Span(start, end, None) for start, end in pairwise(marks)]
    count = len(marks) - 1
    best: list[tuple[int, int, list[_Span]] | None] = [(0, 0, []), *([None] * count)]
    for to in range(1, count + 1):
        for since in range(to - 1, -1, -1):
            row = best[since]
            if row is None:
                continue
            span, cost = _span(onsets, marks[since], marks[to])
            if span is None or (span.tuplet is None and to - since > 1):
                continue
            parts, long, before = row
            found = (parts + cost, long + (to - since - 1), [*before, span])
            known = best[to]
            if known is None or found[:2] < known[:2]:
                best[to] = found
    whole = best[count]
    if whole is None:
        raise ValueError("no readable tuplet spells this bar")
    return whole[2]


def _span(onsets: list[Fraction], start: Fraction, end: Fraction) -> tuple[_Span | None, int]:
    inside = [at - start for at in onsets if start <= at < end]
    length = end - start
    if all((at / SHORTEST).denominator == 1 for at in inside):
        return _Span(start, end, None), 0
    parts = lcm(*((at / length).denominator for at in inside))
    if parts > MOST_PARTS:
        return None, 0
    try:
        tuplet, _ = tuplet_of(length, parts)
    except ValueError:
        return None, 0
    return _Span(start, end, tuplet), parts


def _events(
    onsets: list[Fraction], spans: list[_Span], length: Fraction, held: bool
) -> list[tuple[Fraction, Fraction, int | None]]:
    """Return what sounds and what rests, in order: start, end, which stroke."""
    found: list[tuple[Fraction, Fraction, int | None]] = []
    if onsets[0] > 0:
        found.append((Fraction(0), onsets[0], None))
    for i, (at, then) in enumerate(pairwise([*onsets, length])):
        span = next(span for span in spans if span.start <= at < span.end)
        end = then if held else min(then, span.end)
        if not held and span.tuplet is None:
            end = at + _longest(end - at)
        found.append((at, end, i))
        if end < then:
            found.append((end, then, None))
    return found


def _longest(length: Fraction) -> Fraction:
    """Return the longest single value in a length: a drum stroke is not tied."""
    return max(
        value * dot for value in VALUES for dot in (Fraction(1), Fraction(3, 2)) if value * dot <= length
    )


def _written(
    start: Fraction, end: Fraction, stroke: int | None, spans: list[_Span], marks: list[Fraction]
) -> list[Piece]:
    """Write one stroke or rest, cut where a tuplet starts or stops."""
    cuts = {start, end}
    for span in spans:
        if span.tuplet:
            cuts |= {cut for cut in (span.start, span.end) if start < cut < end}
    pieces: list[Piece] = []
    for low, high in pairwise(sorted(cuts)):
        span = next(span for span in spans if span.start <= low < span.end)
        if span.tuplet is None:
            rows = _values(low, high, tuple(marks), stroke is None)
            pieces += [Piece(at, value * _dot(dots), value, dots, stroke) for at, value, dots in rows]
        else:
            scale = Fraction(span.tuplet.actual, span.tuplet.normal)
            rows = _values((low - span.start) * scale, (high - span.start) * scale, (), stroke is None)
            pieces += [
                Piece(
                    span.start + at / scale,
                    value * _dot(dots) / scale,
                    value,
                    dots,
                    stroke,
                    tuplet=span.tuplet,
                )
                for at, value, dots in rows
            ]
    if stroke is None:
        return pieces
    last = len(pieces) - 1
    return [replace(piece, tied_from=i > 0, tied_to=i < last) for i, piece in enumerate(pieces)]


def _dot(dots: int) -> Fraction:
    return Fraction(3, 2) if dots else Fraction(1)


#: Values and dots from long to short, with their lengths in halves of the shortest value.
_UNIT = SHORTEST / 2
_WHOLE = int(4 / _UNIT)
_LENGTHS = tuple(
    (value, dots, int(value * _dot(dots) / _UNIT))
    for value in sorted(VALUES, reverse=True)
    for dots in (1, 0)
)


#: Values, those that hide a beat, dots, and where they stand: what is written with the least of it is best.
_Cost: TypeAlias = tuple[int, int, int, int]
#: Place, value and dots.
_Value: TypeAlias = tuple[Fraction, Fraction, int]


@cache
def _values(start: Fraction, end: Fraction, marks: tuple[Fraction, ...], rest: bool) -> tuple[_Value, ...]:
    """Write a length as the fewest values that keep the beats in sight: place, value, dots."""
    places = [place / _UNIT for place in (start, end, *marks)]
    if any(place.denominator > 1 for place in places):
        raise ValueError(f"no written values go from {start} to {end}")
    first, last, *beats = map(int, places)
    best: dict[int, tuple[_Cost, tuple[_Value, ...]]] = {first: ((0, 0, 0, 0), ())}
    waiting = [first]
    while waiting:
        at = heappop(waiting)
        if at == last:
            break
        cost, rows = best[at]
        for value, dots, length in _LENGTHS:
            to = at + length
            if to > last or not _legal(at, to, (first, last), beats, rest, dots):
                continue
            off = int(to < last and to not in beats) if beats else 0
            found = (cost[0] + 1, cost[1] + off, cost[2] + dots, cost[3] + at)
            if to not in best:
                heappush(waiting, to)
            elif found >= best[to][0]:
                continue
            best[to] = (found, (*rows, (at * _UNIT, value, dots)))
    if last not in best:
        raise ValueError(f"no written values go from {start} to {end} of a bar")
    return best[last][1]


def _legal(at: int, to: int, whole: tuple[int, int], beats: list[int], rest: bool, dots: int) -> bool:
    """Whether a value may stand from `at` to `to`: it must not hide a beat."""
    crossed = sum(at < beat < to for beat in beats)
    on_beat = not beats or at in beats
    if rest:
        if beats and to - at >= _WHOLE and not dots:
            return False  # in a bar with strokes the sign of a whole rest would say that the bar is silent
        if not crossed:
            return not dots or on_beat
        return on_beat and to in beats and _rest_over(at, beats, crossed + 1, dots)
    if not crossed or on_beat:
        return True
    return (at, to) == whole and crossed == 1


def _rest_over(at: int, beats: list[int], count: int, dots: int) -> bool:
    """Whether one rest may stand for several beats: two or four even ones, from where they pair up."""
    first = beats.index(at)
    lengths = {b - a for a, b in pairwise(beats[first : first + count + 1])}
    pairs = len(beats) - 1 != 3 and count in (2, 4) and first % count == 0
    return pairs and len(lengths) == 1 and dots == (lengths.pop() % 3 == 0)


def _closed(pieces: list[Piece], spans: list[_Span]) -> list[Piece]:
    """Mark where tuplets start and stop, and the beam group of each piece.

    A half note, or a dotted one, that is cut into sixteenths is beamed in quarters, as it is counted.
    """
    found = []
    beamed = [at for span in spans for at in _beam_starts(span, pieces)]
    for piece in pieces:
        span = next(span for span in spans if span.start <= piece.start < span.end)
        group = bisect_right(beamed, piece.start) - 1
        opens = piece.tuplet is not None and piece.start == span.start
        closes = piece.tuplet is not None and piece.start + piece.length == span.end
        found.append(replace(piece, group=group, opens=opens, closes=closes))
    return found


def _beam_starts(span: _Span, pieces: list[Piece]) -> list[Fraction]:
    """Return where beams may start in a span: at each quarter where two or more are cut into sixteenths."""
    length = span.end - span.start
    short = any(
        piece.value < Fraction(1, 2) and piece.stroke is not None and span.start <= piece.start < span.end
        for piece in pieces
    )
    if span.tuplet is None and length.denominator == 1 and length > 1 and short:
        return [span.start + i for i in range(int(length))]
    return [span.start]


def _beamed(pieces: list[Piece], spans: list[_Span], held: bool) -> tuple[Piece, ...]:
    """Beam the notes of each group; even strokes across the beats are beamed together."""
    notes = [piece for piece in pieces if piece.stroke is not None]
    even = held and len(notes) == len(pieces) == len({piece.stroke for piece in notes})
    if even and len({(piece.length, piece.tuplet) for piece in notes}) == 1 and notes[0].dots:
        by = 4 if len(pieces) % 4 == 0 else len(pieces)
        pieces = [replace(piece, group=i // by) for i, piece in enumerate(pieces)]
    beams: list[list[str]] = [[] for _ in pieces]
    run: list[int] = []
    for i in range(len(pieces) + 1):
        here = pieces[i] if i < len(pieces) else None
        if run and (here is None or here.group != pieces[run[-1]].group or here.value >= 1):
            _beam(pieces, run, beams)
            run = []
        if here is not None and here.value < 1 and here.stroke is not None:
            run.append(i)
    return tuple(replace(piece, beams=tuple(row)) for piece, row in zip(pieces, beams, strict=True))


def _beam(pieces: list[Piece], run: list[int], beams: list[list[str]]) -> None:
    if len(run) < 2:
        return
    counts = [_flags(pieces[i].value) for i in run]
    for level in range(1, max(counts) + 1):
        for at, i in enumerate(run):
            if counts[at] < level:
                continue
            before = at > 0 and counts[at - 1] >= level
            after = at + 1 < len(run) and counts[at + 1] >= level
            hook = "forward hook" if at == 0 else "backward hook"
            word = {(True, True): "continue", (True, False): "end", (False, True): "begin"}
            beams[i].append(word.get((before, after), hook))


def _flags(value: Fraction) -> int:
    """Return how many flags or beams a value has.

    Examples
    --------
    >>> _flags(Fraction(1, 4)), _flags(Fraction(1))
    (2, 0)
    """
    return max(0, int(1 / value).bit_length() - 1) if value < 1 else 0

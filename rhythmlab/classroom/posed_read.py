"""Questions about reading notation: a bar, the line of a pair, and four bars of which one is changed."""

from dataclasses import replace
from fractions import Fraction

from rhythmlab.classroom.posed_kind import Posed, likely, numbers
from rhythmlab.classroom.posed_shown import Read
from rhythmlab.classroom.question import Question
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.notation.score import Score, score
from rhythmlab.playing.metre import Metre


def read_length(p: int, q: int) -> Question:
    """Ask how many strokes fill a bar of quarters and how long each is; the trap is ties."""
    pair = Polyrhythm(p, q)
    length = Fraction(4 * pair.step(0), pair.step(1))
    right = numbers(len(pair.onsets(0)), length)
    return Question(
        "read-length",
        "reading notation",
        "Read the two lines: the lower one has the beats of the bar, and the upper one cuts the bar "
        "into equal parts. How many strokes has the upper line, and how many sixteenths is it from one of "
        "them to the "
        "next?",
        "strokes, and sixteenths from stroke to stroke",
        ("the number of strokes", "the length"),
        right,
        f"The bar has {q} quarters, which are {4 * q} sixteenths; {p} strokes share them, {length} each. "
        "Notes that are tied are one stroke.",
        "write two numbers, for example answer=[6, 2].",
        ("stroke", "sixteenth"),
    )


def read_length_shown(p: int, q: int) -> Read:
    """Return the bar of `read_length`."""
    pair = Polyrhythm(p, q)
    lanes = [Lane("upper", pair.onsets(0)), Lane("lower", pair.onsets(1))]
    return Read(
        lambda: score(Cycle(pair.ticks, lanes, beats=pair.onsets(1)), home=1, layout="bar", counts=False)
    )


def read_pair(p: int, q: int) -> Question:
    """Ask which pair a line of sixteenths is; two numbers follow from the bar and the sounds."""
    pair = Polyrhythm(p, q)
    right = numbers(*pair.pulses)
    sounds = len(composite(pair))
    return Question(
        "read-pair",
        "reading notation",
        "Read the line: two steady pulses without a common factor, merged into one; each sixteenth is one "
        "tick of their grid. Which two pulses are they? Write the larger one first.",
        "two pulses",
        ("the larger pulse", "the smaller pulse"),
        right,
        f"The bar has {pair.ticks} sixteenths, which is {p} times {q}, and {sounds} strokes, which is {p} "
        f"and {q} less the one they share.",
        "write two numbers, for example answer=[3, 2].",
        ("stroke",),
        told=likely(right, [(0, q, "Write the larger one first.")]),
    )


def read_pair_shown(p: int, q: int) -> Read:
    """Return the line of `read_pair`."""
    pair = Polyrhythm(p, q)
    return Read(lambda: _written(pair.ticks, 1, composite(pair).onsets.tolist()))


def read_odd(p: int, q: int, bar: int, note: int, by: int) -> Question:
    """Ask in which of four bars a stroke has moved, and which; the trap is to count rests."""
    right = numbers(bar, note)
    return Question(
        "read-odd",
        "reading notation",
        "Read the four bars: a line of two pulses four times, a tick of their grid to a sixteenth. In one "
        "bar one stroke has moved by a sixteenth. In which bar, and which of its strokes is it, the first of "
        "the bar being stroke 1?",
        "bar, and stroke in the bar",
        ("the bar", "the stroke"),
        right,
        f"In bar {bar} stroke {note} comes a sixteenth too {'late' if by > 0 else 'early'}; the other bars "
        f"have {p} against {q} as it is.",
        "write two numbers, for example answer=[1, 1].",
        ("bar", "stroke"),
    )


def moved(p: int, q: int, rounds: int, which: int, sound: int, by: int) -> list[int]:
    """Return the ticks of a line that goes round, with one sound moved; all counted from 1.

    Examples
    --------
    >>> moved(3, 2, rounds=2, which=2, sound=2, by=1)
    [0, 2, 3, 4, 6, 9, 9, 10]
    """
    pair = Polyrhythm(p, q)
    line = composite(pair).onsets.tolist()
    ticks = [tick + turn * pair.ticks for turn in range(rounds) for tick in line]
    ticks[(which - 1) * len(line) + sound - 1] += by
    return ticks


def read_odd_shown(p: int, q: int, bar: int, note: int, by: int) -> Read:
    """Return the four bars of `read_odd`."""
    return Read(lambda: _written(p * q, 4, moved(p, q, 4, bar, note, by)))


def _written(ticks: int, bars: int, onsets: list[int]) -> Score:
    """Engrave a line in bars of so many sixteenths, none of them beamed, so that no beam tells a pulse."""
    ones = (1,) * ticks
    written = score(Metre(ticks, 16, groups=ones).cycle(bars, [Lane("line", onsets)]), counts=False)
    summed = f"<beats>{'+'.join(map(str, ones))}</beats>"
    return replace(written, musicxml=written.musicxml.replace(summed, f"<beats>{ticks}</beats>"))


QUESTIONS = (
    Posed(
        "read-length",
        "reading notation",
        1,
        ((4, 5), (4, 7), (4, 9), (4, 11), (2, 5), (2, 7), (2, 9), (8, 10)),
        read_length,
        "score",
        read_length_shown,
    ),
    Posed(
        "read-pair",
        "reading notation",
        2,
        ((5, 3), (5, 4), (7, 3), (8, 3), (7, 4), (6, 5), (10, 3), (9, 2)),
        read_pair,
        "score",
        read_pair_shown,
    ),
    Posed(
        "read-odd",
        "reading notation",
        3,
        (
            *((4, 3, 2, 4, 1), (4, 3, 3, 5, -1), (5, 3, 2, 3, -1), (4, 3, 4, 2, -1), (5, 3, 3, 2, -1)),
            *((5, 3, 4, 6, 1), (4, 3, 3, 6, 1), (5, 3, 2, 5, -1), (5, 3, 4, 3, -1)),
        ),
        read_odd,
        "score",
        read_odd_shown,
    ),
)

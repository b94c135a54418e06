"""Questions about the place in the count, and about home and tempo."""

from fractions import Fraction

from rhythmlab.classroom.posed_kind import Posed, likely, numbers, other_ways, place_scale
from rhythmlab.classroom.question import Question, parts_named
from rhythmlab.core.feel import Feel
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo, modulate
from rhythmlab.text import counts
from rhythmlab.text.numbers import number, times


def place_syllables(p: int, q: int) -> Question:
    """Ask where each stroke falls in sixteenths."""
    feel = Feel(Polyrhythm(p, q), home=1)
    right = tuple(counts.place_name(place) for place in feel.places(0))
    step = feel.polyrhythm.step(0)
    return Question(
        "place-syllables",
        "place in the count",
        f"{p} against {q}, home the {q}. Count four parts to a beat, 1 e & a: where does each stroke of the "
        f"{p} fall?",
        "places in the count",
        parts_named("place", len(right)),
        right,
        f"The {q} beats have {4 * q} sixteenths, so the strokes of the {p} are {step} sixteenths apart.",
        'write the places in quotes, said like "e of 2", "& of 2" or "a of 2", for example '
        'answer=["1", "& of 2"] for 2 against 3.',
        ("part",),
        place_scale(feel, 0),
        other_ways([(q, feel.parts(0))]),
    )


def place_parts(p: int, q: int) -> Question:
    """Ask where each stroke falls, counted as beat and part."""
    feel = Feel(Polyrhythm(p, q), home=1)
    right = tuple(counts.place_name(place) for place in feel.places(0))
    return Question(
        "place-parts",
        "place in the count",
        f"{p} against {q}, home the {q}. Count {p} parts to a beat and write beat and part, 1.3 for part 3 "
        f"of beat 1, the beat itself being part 1: where does each stroke of the {p} fall? Write a stroke "
        f"on the beat as the beat alone.",
        "places as beat and part",
        parts_named("place", len(right)),
        right,
        f"The {q} beats have {p * q} parts, so the strokes of the {p} are {q} parts apart.",
        'write the places in quotes, for example answer=["1", "1.3", "1.5", "2.2", "2.4"] for 5 against 2.',
        ("part",),
        place_scale(feel, 0),
        other_ways([(q, p)]),
    )


def place_both(p: int, q: int, i: int, j: int) -> Question:
    """Ask for one stroke of each pulse, counted from the other; the trap is the number of parts."""
    pair = Polyrhythm(p, q)
    slow, fast = Feel(pair, home=1), Feel(pair, home=0)
    right = (counts.place_name(slow.places(0)[i - 1]), counts.place_name(fast.places(1)[j - 1]))
    return Question(
        "place-both",
        "place in the count",
        f"{p} against {q}, written as beat and part, 1.3 for part 3 of beat 1: the parts are the ticks of "
        f"the "
        f"grid they share, and the beat itself is part 1. Counted from the {q}, where does stroke {i} of "
        f"the {p} fall? And counted from the {p}, where does stroke {j} of the {q} fall?",
        "two places as beat and part",
        (f"stroke {i} of the {p}", f"stroke {j} of the {q}"),
        right,
        f"From the {q} a beat has {p} parts and stroke {i} comes after {(i - 1) * q} of them; from the {p} a "
        f"beat has {q} parts and stroke {j} comes after {(j - 1) * p}.",
        'write two places in quotes, for example answer=["1.6", "2.2"] for strokes 2 and 2 of 6 against 5.',
        ("part",),
        (place_scale(slow, 0), place_scale(fast, 1)),
        other_ways([(q, p), (p, q)]),
    )


def tempo_flip(p: int, q: int, bpm: int) -> Question:
    """Ask for the same speed in the other pulse; the trap is the ratio upside down."""
    pair = Polyrhythm(p, q)
    right = numbers(Tempo(bpm, pulse=1).bpm_of(pair, 0))
    return Question(
        "tempo-flip",
        "home and tempo",
        f"{p} against {q} with the {q} at {bpm} bpm. Flip home to the {p} without moving a stroke: at how "
        f"many bpm do you count the {p}?",
        f"bpm of the {p}",
        (f"the tempo of the {p}",),
        right,
        f"While the {q} plays {q} strokes the {p} plays {p}, so it is {bpm} times {p}/{q}.",
        "write one number, for example 90 for 3 against 2 with the 2 at 60.",
        ("bpm",),
        told=likely(
            right,
            [
                (0, Fraction(bpm * q, p), f"There are more strokes of the {p}, so it is the faster one."),
                (0, bpm, "The strokes stay where they are, but you count others of them."),
            ],
        ),
    )


def tempo_cycle(p: int, q: int, bpm: int) -> Question:
    """Ask how long a cycle and a tick last; the trap is to divide by strokes instead of ticks."""
    pair, tempo = Polyrhythm(p, q), Tempo(bpm, pulse=1)
    right = numbers(1000 * tempo.cycle_seconds(pair), 1000 * tempo.tick_seconds(pair))
    return Question(
        "tempo-cycle",
        "home and tempo",
        f"{p} against {q}, home the {q} at {bpm} bpm: how many ms does one cycle last, and how many ms one "
        "tick of the grid?",
        "ms of a cycle, ms of a tick",
        ("the cycle", "the tick"),
        right,
        f"A beat lasts {number(Fraction(60_000, bpm))} ms; a cycle has {q} of them, and {pair.ticks} "
        "ticks share it.",
        "write two numbers with no space in a thousand, for example answer=[2000, 250].",
        ("ms",),
        told=likely(
            right,
            [
                (0, Fraction(60_000, bpm), f"That is one beat; a cycle has {q} of them."),
                (1, Fraction(60_000 * q, bpm * p), f"That is one stroke of the {p}; a tick is shorter."),
            ],
        ),
    )


def tempo_modulation(bpm: int, old: int, new: int, next_old: int, next_new: int) -> Question:
    """Ask for two metric modulations in a row; the trap is the ratio upside down."""
    first = modulate(bpm, old, new)
    second = modulate(first, next_old, next_new)
    right = numbers(first, second)
    return Question(
        "tempo-modulation",
        "home and tempo",
        f"Two metric modulations in a row, from {bpm} bpm; every bar has the same number of beats. At the "
        f"first, a note "
        f"that fits {times(old)} into the old bar fits {times(new)} into the new one and keeps "
        f"its length. At the second, a note that fits {times(next_old)} into that bar fits "
        f"{times(next_new)} into the next and keeps its length too. What is the tempo after the first, "
        "and what after the second?",
        "two tempos in bpm",
        ("the tempo after the first", "the tempo after the second"),
        right,
        f"The note keeps its length, so a bar with fewer of them is shorter and its beats are faster, "
        f"and a bar with more is longer and slower: {bpm} times {old}/{new}, then that times "
        f"{next_old}/{next_new}.",
        "write two numbers, for example answer=[90, 45].",
        ("bpm",),
        told=likely(
            right,
            [
                (
                    0,
                    Fraction(bpm * new, old),
                    "With fewer of them the bar is shorter, so its beats are faster.",
                ),
                (
                    1,
                    first * Fraction(next_new, next_old),
                    "With more of them the bar is longer, so its beats are slower.",
                ),
            ],
        ),
    )


QUESTIONS = (
    Posed(
        "place-syllables",
        "place in the count",
        1,
        tuple((4, q) for q in (5, 7, 9, 11, 13, 15, 17, 19)),
        place_syllables,
    ),
    Posed(
        "place-parts",
        "place in the count",
        2,
        ((5, 3), (5, 4), (5, 6), (5, 7), (5, 8), (5, 9), (6, 5), (6, 7), (7, 4), (7, 5)),
        place_parts,
    ),
    Posed(
        "place-both",
        "place in the count",
        3,
        (
            *((7, 5, 4, 3), (7, 6, 4, 5), (8, 5, 6, 4), (8, 7, 5, 4), (9, 5, 4, 3)),
            *((9, 7, 6, 4), (9, 8, 6, 4), (8, 5, 4, 3), (7, 5, 6, 4), (9, 7, 5, 6)),
        ),
        place_both,
    ),
    Posed(
        "tempo-flip",
        "home and tempo",
        1,
        (
            *((5, 4, 88), (5, 3, 72), (8, 5, 70), (7, 5, 65), (8, 3, 51)),
            *((7, 6, 90), (6, 5, 95), (9, 5, 55), (9, 4, 52)),
        ),
        tempo_flip,
    ),
    Posed(
        "tempo-cycle",
        "home and tempo",
        2,
        (
            *((5, 3, 75), (5, 4, 80), (5, 4, 96), (8, 3, 75), (8, 5, 60)),
            *((6, 5, 80), (5, 3, 96), (8, 7, 75), (5, 4, 75)),
        ),
        tempo_cycle,
    ),
    Posed(
        "tempo-modulation",
        "home and tempo",
        3,
        (
            *((72, 4, 3, 2, 3), (90, 4, 3, 5, 6), (64, 5, 4, 3, 4), (96, 5, 4, 2, 3)),
            *((100, 6, 5, 3, 4), (60, 7, 5, 3, 4), (80, 3, 2, 4, 5), (56, 3, 2, 5, 6)),
        ),
        tempo_modulation,
    ),
)

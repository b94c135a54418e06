"""Questions about gaps: signed, midway, and from which tempo they flam."""

from fractions import Fraction

from rhythmlab.classroom.posed_kind import Posed, likely, numbers
from rhythmlab.classroom.question import Part, Question, parts_named
from rhythmlab.core.gaps import midway, phase_gaps
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.playing.hearing import flams_from
from rhythmlab.text.numbers import number


def gaps_signed(p: int, q: int) -> Question:
    """Ask for every gap; the trap is the sign. No stroke is midway where the moving pulse is odd."""
    pair = Polyrhythm(p, q)
    gaps = phase_gaps(pair, of=0, against=1)
    right = numbers(*gaps.ticks)
    middle = Fraction(gaps.step, 2)
    same: dict[Part, Part] = {-part: part for part in right if part == middle}
    flipped = [
        (i, -part, "Before the beat is negative, after it positive.") for i, part in enumerate(right) if part
    ]
    return Question(
        "gaps-signed",
        "gaps and zones",
        f"{p} against {q}, home the {q}: write the gap of each stroke of the {p} from its nearest beat in "
        "ticks of the grid, negative where it comes before the beat.",
        f"{p} gaps in ticks",
        parts_named("gap", len(right)),
        right,
        f"A beat has {gaps.step} ticks and the strokes of the {p} are {pair.step(0)} apart; a stroke past "
        "the middle of a beat is nearer to the next one, and early.",
        "write the ticks in the brackets, for example answer=[0, -2, 1, -1, 2] for 5 against 3.",
        ("tick",),
        same=same,
        told=likely(right, [one for one in flipped if one[1] not in same]),
    )


def gaps_midway(p: int, q: int) -> Question:
    """Ask where the stroke is that is exactly midway; the trap is to round half of the beats."""
    pair = Polyrhythm(p, q)
    tick = midway(pair, 0, 1)
    assert tick is not None, "the moving pulse of a version is even"
    right = numbers(tick // pair.step(1) + 1)
    return Question(
        "gaps-midway",
        "gaps and zones",
        f"{p} against {q} counted from the {q}: on the & of which beat does the {p} fall exactly midway?",
        f"the {p} is midway on the & of beat",
        ("the beat",),
        right,
        f"Half the strokes of the {p} take half the cycle, and half of {q} beats is {number(q / 2)}: "
        f"{q // 2} whole beats are over and beat {q // 2 + 1} is half over.",
        "write one number, for example 16 for 32 against 31.",
        ("beat",),
        told=likely(right, [(0, q // 2, "So many beats are over by then; the next one is sounding.")]),
    )


def gaps_flam_tempo(p: int, q: int, ms: int) -> Question:
    """Ask from which tempo the narrowest gap is a flam; the trap is to take a stroke for a tick."""
    pair = Polyrhythm(p, q)
    tempo = flams_from(pair, of=0, against=1, flam_ms=Fraction(ms))
    assert tempo is not None, "a pair of a version has gaps other than 0"
    right = numbers(tempo)
    return Question(
        "gaps-flam-tempo",
        "gaps and zones",
        f"{p} against {q}, home the {q}. Suppose that two strokes at most {ms} ms apart are a flam: from "
        f"how many bpm of the {q} upwards is the narrowest gap other than 0 a flam?",
        f"bpm of the {q}",
        ("the tempo",),
        right,
        f"The narrowest gap other than 0 is one tick, and a beat has {p} of them; at {ms} ms a tick a beat "
        f"lasts "
        f"{p * ms} ms.",
        "write one number, for example 187.5.",
        ("bpm",),
        told=likely(
            right,
            [
                (0, Fraction(60_000, q * ms), f"A beat of the {q} has {p} ticks, not {q}."),
                (0, Fraction(60_000, ms), "That would be one tick to a beat."),
            ],
        ),
    )


QUESTIONS = (
    Posed(
        "gaps-midway",
        "gaps and zones",
        1,
        tuple((q + 1, q) for q in (9, 11, 13, 17, 19, 21, 23, 25, 27)),
        gaps_midway,
    ),
    Posed(
        "gaps-signed",
        "gaps and zones",
        2,
        (
            *((7, 4), (7, 5), (7, 6), (7, 8), (7, 9)),
            *((9, 4), (9, 5), (9, 7), (9, 8), (9, 10)),
        ),
        gaps_signed,
    ),
    Posed(
        "gaps-flam-tempo",
        "gaps and zones",
        3,
        (
            *((12, 11, 40), (15, 14, 40), (20, 19, 40), (25, 24, 40), (10, 9, 40)),
            *((25, 24, 30), (10, 9, 50), (24, 23, 40), (30, 29, 40)),
        ),
        gaps_flam_tempo,
    ),
)

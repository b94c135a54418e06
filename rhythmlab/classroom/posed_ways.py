"""Questions about ways to learn: how fast parts are counted, how slowly the ones are held, and which fits."""

from fractions import Fraction

from rhythmlab.classroom.posed_kind import Posed, likely, numbers
from rhythmlab.classroom.question import Part, Question
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.playing.approach import approach
from rhythmlab.playing.limits import limits
from rhythmlab.text.numbers import number

FITS = ("count", "hold the ones", "both", "neither")


def _ms(value: Fraction) -> str:
    return f"{number(value)} ms"


def ways_count_ceiling(p: int, q: int, each_second: int, few_ms: int) -> Question:
    """Ask how fast a pair can be counted from either pulse; the trap is which limit holds."""
    pair = Polyrhythm(p, q)
    found = approach(
        pair, Tempo(60, pulse=1), limits=limits(part_uneven=each_second, part_heard=few_ms)
    ).counts
    slow, fast = found[1].ceiling_of(1), found[0].ceiling_of(0)
    assert slow is not None, "counting has a ceiling"
    assert fast is not None, "counting has a ceiling"
    right = numbers(slow, fast)
    return Question(
        "ways-count-ceiling",
        "ways to learn",
        f"Suppose that five or more parts to a beat can be counted up to {each_second} parts a second, and "
        f"four "
        f"or fewer down to {few_ms} ms a part. Up to how many bpm of the {q} can {p} against {q} be counted "
        f"from the {q}, and up to how many bpm of the {p} from the {p}?",
        "two ceilings in bpm",
        (f"the tempo from the {q}", f"the tempo from the {p}"),
        right,
        f"From the {q} a beat has {p} parts, and {each_second} a second are {each_second * 60} a minute; "
        f"from the {p} a beat has {q} parts of {few_ms} ms, which is {q * few_ms} ms.",
        "write two numbers, for example answer=[54, 180].",
        ("bpm",),
        told=likely(
            right,
            [
                (0, Fraction(60 * each_second, q), f"From the {q} a beat is cut into {p} parts."),
                (0, Fraction(60_000, few_ms * p), "That is the limit for four parts or fewer."),
                (1, Fraction(60_000, few_ms * p), f"From the {p} a beat is cut into {q} parts."),
            ],
        ),
    )


def ways_ones_floor(p: int, q: int, ms: int) -> Question:
    """Ask how slowly the ones can be held; the trap is the other pulse, or a beat for a cycle."""
    pair = Polyrhythm(p, q)
    ways = approach(pair, Tempo(60, pulse=1), limits=limits(ones_longest=ms)).ways
    floor = next(way for way in ways if way.name == "hold the ones").floor
    assert floor is not None, "holding the ones has a floor"
    right = numbers(floor)
    return Question(
        "ways-ones-floor",
        "ways to learn",
        f"Suppose that the ones can be held while they are at most {number(ms)} ms apart. From how "
        f"many "
        f"bpm of the {q} on can you hold the ones of {p} against {q}?",
        f"bpm of the {q}",
        ("the tempo",),
        right,
        f"From one to the next there are {q} beats of the {q}; in {number(ms)} ms a beat lasts "
        f"{_ms(Fraction(ms, q))}.",
        "write one number, for example 66.",
        ("bpm",),
        told=likely(
            right,
            [
                (0, Fraction(60_000 * p, ms), f"That is the tempo of the {p}."),
                (0, Fraction(60_000, ms), f"That is one beat to a cycle; the {q} has {q}."),
            ],
        ),
    )


def ways_choose(p: int, q: int, bpm: int) -> Question:
    """Ask what counting and holding the ones come to at a tempo, and which of them fits."""
    pair, tempo = Polyrhythm(p, q), Tempo(bpm, pulse=1)
    rows = limits()
    each_second, longest = rows["part_uneven"].value, rows["ones_longest"].value
    fits = {way.name: way.fits for way in approach(pair, tempo).ways}
    count, ones = fits["count"], fits["hold the ones"]
    part, cycle = 1000 * tempo.tick_seconds(pair), 1000 * tempo.cycle_seconds(pair)
    fit = FITS[2 if count and ones else 0 if count else 1 if ones else 3]
    right: tuple[Part, ...] = (*numbers(part, cycle), fit)
    shortest = number(1000 / each_second, 0)
    return Question(
        "ways-choose",
        "ways to learn",
        f"{p} against {q}, home the {q} at {bpm} bpm. Suppose that {p} parts to a beat can be counted while "
        f"a "
        f"part lasts at least {shortest} ms, and the ones held while they are at most "
        f"{number(longest)} ms apart. How many ms is one of the {p} parts of a beat, how many ms is it "
        "from the 1 of a cycle to the 1 of the next cycle, and which fits: count, hold the ones, both or "
        "neither?",
        "ms of a part, ms of a cycle, what fits",
        ("the part", "the distance of the ones", "what fits"),
        right,
        f"A beat lasts {_ms(Fraction(60_000, bpm))}. A part of {_ms(part)} is "
        f"{'long' if count else 'not long'} enough to count, and ones {_ms(cycle)} apart are "
        f"{'near' if ones else 'not near'} enough to "
        f"hold.{' Learn it as one line, or go slower or faster.' if fit == 'neither' else ''}",
        'write two numbers and a word, with no space in a thousand, for example answer=[90, 1400, "both"].',
        ("ms", "ms", ""),
        choices=FITS,
        told=likely(
            right,
            [
                (0, Fraction(60_000, bpm * q), f"A beat of the {q} is cut into {p} parts."),
                (1, Fraction(60_000, bpm), f"That is one beat; from the 1 to the next 1 there are {q}."),
                (1, part, "That is from part to part; from the 1 to the next 1 is a whole cycle."),
            ],
        ),
    )


QUESTIONS = (
    Posed(
        "ways-ones-floor",
        "ways to learn",
        1,
        (
            *((5, 3, 1800), (7, 3, 2000), (5, 4, 1500), (7, 4, 2000), (7, 5, 2400)),
            *((7, 6, 2000), (7, 5, 2000), (5, 2, 1500), (6, 5, 1500)),
        ),
        ways_ones_floor,
    ),
    Posed(
        "ways-count-ceiling",
        "ways to learn",
        2,
        (
            *((5, 4, 5, 100), (5, 3, 6, 125), (8, 3, 6, 100), (8, 3, 8, 125)),
            *((5, 4, 8, 120), (10, 3, 6, 125), (5, 3, 7, 100), (9, 4, 6, 100)),
        ),
        ways_count_ceiling,
    ),
    Posed(
        "ways-choose",
        "ways to learn",
        3,
        (
            *((5, 4, 60), (5, 4, 150), (5, 4, 100), (5, 3, 60), (5, 3, 120)),
            *((5, 3, 80), (6, 5, 50), (6, 5, 200), (6, 5, 100)),
        ),
        ways_choose,
    ),
)

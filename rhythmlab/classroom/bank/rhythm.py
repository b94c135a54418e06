"""Questions about the shared grid, the line that is heard, the place in the count, tempo, and gaps."""

from fractions import Fraction

from rhythmlab.classroom.bank.template import (
    likely_mistakes,
    numbers,
    part_names,
    place_aliases,
    place_scale,
    question_template,
)
from rhythmlab.classroom.question import Part, Question
from rhythmlab.core.composite import composite
from rhythmlab.core.feel import Feel
from rhythmlab.core.gaps import midway, phase_gaps
from rhythmlab.core.grid import grid
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo, modulate
from rhythmlab.playing.hearing import flams_from
from rhythmlab.text import counts
from rhythmlab.text.numbers import number, times


@question_template(
    "grid-ticks",
    "grid",
    level=1,
    versions=((8, 6), (9, 6), (10, 4), (10, 6), (12, 9), (10, 8), (14, 4), (14, 6), (15, 9), (16, 6)),
)
def grid_ticks(p: int, q: int) -> Question:
    """Ask for the ticks of a pair with a common factor; the trap is the product."""
    pair = Polyrhythm(p, q)
    right = numbers(pair.ticks)
    return Question(
        text=f"How many ticks has the smallest grid that holds {p} against {q}?",
        field=f"ticks in the grid of {p} against {q}",
        parts=("the number of ticks",),
        right=right,
        why=f"{pair.ticks} is the least common multiple of {p} and {q}: the {p} has a stroke every "
        f"{pair.step(0)} ticks, the {q} every {pair.step(1)}.",
        form="write one number, for example 15 for 5 against 3.",
        units=("tick",),
        mistakes=likely_mistakes(
            right,
            [
                (0, p * q, f"{p} times {q} would hold them too, but {p} and {q} have a common factor."),
                (0, p + q, "That counts strokes; a grid needs a whole number of ticks for each of them."),
            ],
        ),
    )


@question_template(
    "grid-rows",
    "grid",
    level=2,
    versions=((5, 3), (3, 5), (5, 4), (4, 5), (7, 3), (3, 7), (8, 3), (3, 8)),
)
def grid_rows(p: int, q: int) -> Question:
    """Ask for the boxes of a pair without a common factor, in the order it is said."""
    pair = Polyrhythm(p, q)
    right = tuple("".join("x" if on else "." for on in row) for row in grid(pair).rows)
    return Question(
        text=f"Write {p} against {q} on the grid they share, the row of the {p} first: x for a stroke and a "
        "dot for an empty tick.",
        field="two rows of x and .",
        parts=(f"the row of the {p}", f"the row of the {q}"),
        right=right,
        why=f"The grid has {pair.ticks} ticks: the {p} has a stroke every {pair.step(0)} ticks, the {q} "
        f"every {pair.step(1)}.",
        form='write two rows in quotes, for example answer=["x.x.x.", "x..x.."] for 3 against 2.',
    )


@question_template(
    "grid-three",
    "grid",
    level=3,
    versions=(
        *((4, 5, 6), (4, 6, 9), (6, 8, 9), (5, 6, 8), (5, 6, 9)),
        *((6, 9, 10), (3, 4, 10), (3, 8, 10), (4, 6, 15)),
    ),
)
def grid_three(a: int, b: int, c: int) -> Question:
    """Ask for the ticks of three pulses and the step of each; the trap is a product."""
    three = Polyrhythm(a, b, c)
    steps = [three.step(i) for i in range(3)]
    right = numbers(three.ticks, *steps)
    return Question(
        text=f"{a}, {b} and {c} against each other: how many ticks has the smallest grid that holds all "
        f"three, and how many ticks is it from stroke to stroke of the {a}, of the {b} and of the {c}?",
        field="ticks in all, then from stroke to stroke",
        parts=("the number of ticks", *(f"the step of the {one}" for one in (a, b, c))),
        right=right,
        why=f"{three.ticks} is the least common multiple of all three, and each pulse shares it evenly: "
        f"{steps[0]}, {steps[1]} and {steps[2]} ticks.",
        form="write four numbers, for example answer=[12, 6, 4, 3] for 2, 3 and 4.",
        units=("tick",),
        mistakes=likely_mistakes(
            right, [(0, a * b * c, "That grid holds them, but some of them have a common factor.")]
        ),
    )


@question_template(
    "composite-sounds",
    "composite",
    level=1,
    versions=((8, 6), (10, 6), (10, 8), (12, 9), (12, 10), (15, 9), (14, 10), (15, 12), (18, 10)),
)
def composite_sounds(p: int, q: int) -> Question:
    """Ask for the sounds of a pair that meets more than once; the trap is to take off only one."""
    pair = Polyrhythm(p, q)
    right = numbers(len(composite(pair)))
    shared = pair.repeats
    return Question(
        text=f"How many separate sounds do {p} against {q} make in one cycle?",
        field=f"sounds in one cycle of {p} against {q}",
        parts=("the number of sounds",),
        right=right,
        why=f"{p} strokes and {q} strokes make {p + q}; {times(shared)} in a cycle two of them fall "
        f"together and are heard as one sound, which leaves {p + q - shared}.",
        form="write one number, for example 8 for 6 against 4.",
        units=("sound",),
        mistakes=likely_mistakes(
            right,
            [
                (0, p + q, "Strokes that fall together are one sound."),
                (0, p + q - 1, f"They meet more than once, since {p} and {q} have a common factor."),
            ],
        ),
    )


@question_template(
    "composite-intervals",
    "composite",
    level=2,
    versions=((5, 4), (7, 3), (8, 3), (7, 4), (6, 5), (7, 5), (9, 4), (10, 3)),
)
def composite_intervals(p: int, q: int) -> Question:
    """Ask for the whole line of a pair without a common factor."""
    pair = Polyrhythm(p, q)
    right = numbers(*composite(pair).intervals)
    return Question(
        text=f"Write the line of {p} against {q} as ticks from each sound to the next, round to the start "
        "again.",
        field="ticks from sound to sound",
        parts=part_names("interval", len(right)),
        right=right,
        why=f"It reads the same backwards and adds up to the {pair.ticks} ticks of the grid.",
        form="write the ticks in the brackets, for example answer=[2, 1, 1, 2] for 3 against 2.",
        units=("tick",),
    )


@question_template(
    "composite-how-often",
    "composite",
    level=3,
    versions=((11, 7), (13, 8), (11, 5), (13, 9), (12, 7), (13, 6), (11, 8), (14, 9), (13, 10)),
)
def composite_how_often(p: int, q: int) -> Question:
    """Ask how often the longest interval comes, and how often a shorter one."""
    pair = Polyrhythm(p, q)
    intervals = composite(pair).intervals
    widest = int(intervals.max())
    often = int((intervals == widest).sum())
    right = numbers(often, len(intervals) - often)
    return Question(
        text=f"In the line of {p} against {q}, how often in a cycle is the next sound as far away as it "
        "ever gets, and how often is it nearer than that?",
        field="times farthest, times nearer",
        parts=("the count of the farthest", "the count of the nearer"),
        right=right,
        why=f"The farthest is {widest} ticks, one step of the {p}, and comes {times(often)}; each of "
        f"the {widest - 1} shorter distances comes twice, once before and once after the middle.",
        form="write two numbers, for example answer=[2, 4] for 4 against 3.",
        units=("time",),
        mistakes=likely_mistakes(
            right,
            [
                (1, widest - 1, "Each shorter distance comes twice: the line reads the same backwards."),
                (0, p - q, "Count it round the cycle, across the 1 as well."),
            ],
        ),
    )


@question_template(
    "place-syllables",
    "place in the count",
    level=1,
    versions=tuple((4, q) for q in (5, 7, 9, 11, 13, 15, 17, 19)),
)
def place_syllables(p: int, q: int) -> Question:
    """Ask where each stroke falls in sixteenths."""
    feel = Feel(Polyrhythm(p, q), home=1)
    right = tuple(counts.place_name(place) for place in feel.places(0))
    step = feel.polyrhythm.step(0)
    return Question(
        text=f"{p} against {q}, home the {q}. Count four parts to a beat, 1 e & a: where does each stroke "
        f"of the {p} fall?",
        field="places in the count",
        parts=part_names("place", len(right)),
        right=right,
        why=f"The {q} beats have {4 * q} sixteenths, so the strokes of the {p} are {step} sixteenths apart.",
        form='write the places in quotes, said like "e of 2", "& of 2" or "a of 2", for example '
        'answer=["1", "& of 2"] for 2 against 3.',
        units=("part",),
        scale=place_scale(feel, 0),
        aliases=place_aliases([(q, feel.parts(0))]),
    )


@question_template(
    "place-parts",
    "place in the count",
    level=2,
    versions=((5, 3), (5, 4), (5, 6), (5, 7), (5, 8), (5, 9), (6, 5), (6, 7), (7, 4), (7, 5)),
)
def place_parts(p: int, q: int) -> Question:
    """Ask where each stroke falls, counted as beat and part."""
    feel = Feel(Polyrhythm(p, q), home=1)
    right = tuple(counts.place_name(place) for place in feel.places(0))
    return Question(
        text=f"{p} against {q}, home the {q}. Count {p} parts to a beat and write beat and part, 1.3 for "
        f"part 3 of beat 1, the beat itself being part 1: where does each stroke of the {p} fall? Write a "
        "stroke on the beat as the beat alone.",
        field="places as beat and part",
        parts=part_names("place", len(right)),
        right=right,
        why=f"The {q} beats have {p * q} parts, so the strokes of the {p} are {q} parts apart.",
        form='write the places in quotes, for example answer=["1", "1.3", "1.5", "2.2", "2.4"] for 5 '
        "against 2.",
        units=("part",),
        scale=place_scale(feel, 0),
        aliases=place_aliases([(q, p)]),
    )


@question_template(
    "place-both",
    "place in the count",
    level=3,
    versions=(
        *((7, 5, 4, 3), (7, 6, 4, 5), (8, 5, 6, 4), (8, 7, 5, 4), (9, 5, 4, 3)),
        *((9, 7, 6, 4), (9, 8, 6, 4), (8, 5, 4, 3), (7, 5, 6, 4), (9, 7, 5, 6)),
    ),
)
def place_both(p: int, q: int, i: int, j: int) -> Question:
    """Ask for one stroke of each pulse, counted from the other; the trap is the number of parts."""
    pair = Polyrhythm(p, q)
    slow, fast = Feel(pair, home=1), Feel(pair, home=0)
    right = (counts.place_name(slow.places(0)[i - 1]), counts.place_name(fast.places(1)[j - 1]))
    return Question(
        text=f"{p} against {q}, written as beat and part, 1.3 for part 3 of beat 1: the parts are the ticks "
        f"of the grid they share, and the beat itself is part 1. Counted from the {q}, where does stroke "
        f"{i} of the {p} fall? And counted from the {p}, where does stroke {j} of the {q} fall?",
        field="two places as beat and part",
        parts=(f"stroke {i} of the {p}", f"stroke {j} of the {q}"),
        right=right,
        why=f"From the {q} a beat has {p} parts and stroke {i} comes after {(i - 1) * q} of them; from the "
        f"{p} a beat has {q} parts and stroke {j} comes after {(j - 1) * p}.",
        form='write two places in quotes, for example answer=["1.6", "2.2"] for strokes 2 and 2 of 6 '
        "against 5.",
        units=("part",),
        scale=(place_scale(slow, 0), place_scale(fast, 1)),
        aliases=(place_aliases([(q, p)]), place_aliases([(p, q)])),
    )


@question_template(
    "tempo-flip",
    "home and tempo",
    level=1,
    versions=(
        *((5, 4, 88), (5, 3, 72), (8, 5, 70), (7, 5, 65), (8, 3, 51)),
        *((7, 6, 90), (6, 5, 95), (9, 5, 55), (9, 4, 52)),
    ),
)
def tempo_flip(p: int, q: int, bpm: int) -> Question:
    """Ask for the same speed in the other pulse; the trap is the ratio upside down."""
    pair = Polyrhythm(p, q)
    right = numbers(Tempo(bpm, pulse=1).bpm_of(pair, 0))
    return Question(
        text=f"{p} against {q} with the {q} at {bpm} bpm. Flip home to the {p} without moving a stroke: at "
        f"how many bpm do you count the {p}?",
        field=f"bpm of the {p}",
        parts=(f"the tempo of the {p}",),
        right=right,
        why=f"While the {q} plays {q} strokes the {p} plays {p}, so it is {bpm} times {p}/{q}.",
        form="write one number, for example 90 for 3 against 2 with the 2 at 60.",
        units=("bpm",),
        mistakes=likely_mistakes(
            right,
            [
                (0, Fraction(bpm * q, p), f"There are more strokes of the {p}, so it is the faster one."),
                (0, bpm, "The strokes stay where they are, but you count others of them."),
            ],
        ),
    )


@question_template(
    "tempo-cycle",
    "home and tempo",
    level=2,
    versions=(
        *((5, 3, 75), (5, 4, 80), (5, 4, 96), (8, 3, 75), (8, 5, 60)),
        *((6, 5, 80), (5, 3, 96), (8, 7, 75), (5, 4, 75)),
    ),
)
def tempo_cycle(p: int, q: int, bpm: int) -> Question:
    """Ask how long a cycle and a tick last; the trap is to divide by strokes instead of ticks."""
    pair, tempo = Polyrhythm(p, q), Tempo(bpm, pulse=1)
    right = numbers(1000 * tempo.cycle_seconds(pair), 1000 * tempo.tick_seconds(pair))
    return Question(
        text=f"{p} against {q}, home the {q} at {bpm} bpm: how many ms does one cycle last, and how many ms "
        "one tick of the grid?",
        field="ms of a cycle, ms of a tick",
        parts=("the cycle", "the tick"),
        right=right,
        why=f"A beat lasts {number(Fraction(60_000, bpm))} ms; a cycle has {q} of them, and "
        f"{pair.ticks} ticks share it.",
        form="write two numbers with no space in a thousand, for example answer=[2000, 250].",
        units=("ms",),
        mistakes=likely_mistakes(
            right,
            [
                (0, Fraction(60_000, bpm), f"That is one beat; a cycle has {q} of them."),
                (1, Fraction(60_000 * q, bpm * p), f"That is one stroke of the {p}; a tick is shorter."),
            ],
        ),
    )


@question_template(
    "tempo-modulation",
    "home and tempo",
    level=3,
    versions=(
        *((72, 4, 3, 2, 3), (90, 4, 3, 5, 6), (64, 5, 4, 3, 4), (96, 5, 4, 2, 3)),
        *((100, 6, 5, 3, 4), (60, 7, 5, 3, 4), (80, 3, 2, 4, 5), (56, 3, 2, 5, 6)),
    ),
)
def tempo_modulation(bpm: int, old: int, new: int, next_old: int, next_new: int) -> Question:
    """Ask for two metric modulations in a row; the trap is the ratio upside down."""
    first = modulate(bpm, old, new)
    second = modulate(first, next_old, next_new)
    right = numbers(first, second)
    return Question(
        text=f"Two metric modulations in a row, from {bpm} bpm; every bar has the same number of beats. At "
        f"the first, a note that fits {times(old)} into the old bar fits {times(new)} into the "
        f"new one and keeps its length. At the second, a note that fits {times(next_old)} into that "
        f"bar fits {times(next_new)} into the next and keeps its length too. What is the tempo after "
        "the first, and what after the second?",
        field="two tempos in bpm",
        parts=("the tempo after the first", "the tempo after the second"),
        right=right,
        why="The note keeps its length, so a bar with fewer of them is shorter and its beats are faster, "
        f"and a bar with more is longer and slower: {bpm} times {old}/{new}, then that times "
        f"{next_old}/{next_new}.",
        form="write two numbers, for example answer=[90, 45].",
        units=("bpm",),
        mistakes=likely_mistakes(
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


@question_template(
    "gaps-midway",
    "gaps and zones",
    level=1,
    versions=tuple((q + 1, q) for q in (9, 11, 13, 17, 19, 21, 23, 25, 27)),
)
def gaps_midway(p: int, q: int) -> Question:
    """Ask where the stroke is that is exactly midway; the trap is to round half of the beats."""
    pair = Polyrhythm(p, q)
    tick = midway(pair, 0, 1)
    assert tick is not None, "the moving pulse of a version is even"
    right = numbers(tick // pair.step(1) + 1)
    return Question(
        text=f"{p} against {q} counted from the {q}: on the & of which beat does the {p} fall exactly "
        "midway?",
        field=f"the {p} is midway on the & of beat",
        parts=("the beat",),
        right=right,
        why=f"Half the strokes of the {p} take half the cycle, and half of {q} beats is "
        f"{number(q / 2)}: {q // 2} whole beats are over and beat {q // 2 + 1} is half over.",
        form="write one number, for example 16 for 32 against 31.",
        units=("beat",),
        mistakes=likely_mistakes(
            right, [(0, q // 2, "So many beats are over by then; the next one is sounding.")]
        ),
    )


@question_template(
    "gaps-signed",
    "gaps and zones",
    level=2,
    versions=(
        *((7, 4), (7, 5), (7, 6), (7, 8), (7, 9)),
        *((9, 4), (9, 5), (9, 7), (9, 8), (9, 10)),
    ),
)
def gaps_signed(p: int, q: int) -> Question:
    """Ask for every gap; the trap is the sign. No stroke is midway where the moving pulse is odd."""
    pair = Polyrhythm(p, q)
    gaps = phase_gaps(pair, of=0, against=1)
    right = numbers(*gaps.ticks)
    middle = Fraction(gaps.step, 2)
    aliases: dict[Part, Part] = {-part: part for part in right if part == middle}
    flipped = [
        (i, -part, "Before the beat is negative, after it positive.") for i, part in enumerate(right) if part
    ]
    return Question(
        text=f"{p} against {q}, home the {q}: write the gap of each stroke of the {p} from its nearest beat "
        "in ticks of the grid, negative where it comes before the beat.",
        field=f"{p} gaps in ticks",
        parts=part_names("gap", len(right)),
        right=right,
        why=f"A beat has {gaps.step} ticks and the strokes of the {p} are {pair.step(0)} apart; a stroke "
        "past the middle of a beat is nearer to the next one, and early.",
        form="write the ticks in the brackets, for example answer=[0, -2, 1, -1, 2] for 5 against 3.",
        units=("tick",),
        aliases=aliases,
        mistakes=likely_mistakes(right, [one for one in flipped if one[1] not in aliases]),
    )


@question_template(
    "gaps-flam-tempo",
    "gaps and zones",
    level=3,
    versions=(
        *((12, 11, 40), (15, 14, 40), (20, 19, 40), (25, 24, 40), (10, 9, 40)),
        *((25, 24, 30), (10, 9, 50), (24, 23, 40), (30, 29, 40)),
    ),
)
def gaps_flam_tempo(p: int, q: int, ms: int) -> Question:
    """Ask from which tempo the narrowest gap is a flam; the trap is to take a stroke for a tick."""
    pair = Polyrhythm(p, q)
    tempo = flams_from(pair, of=0, against=1, flam_ms=Fraction(ms))
    assert tempo is not None, "a pair of a version has gaps other than 0"
    right = numbers(tempo)
    return Question(
        text=f"{p} against {q}, home the {q}. Suppose that two strokes at most {ms} ms apart are a flam: "
        f"from how many bpm of the {q} upwards is the narrowest gap other than 0 a flam?",
        field=f"bpm of the {q}",
        parts=("the tempo",),
        right=right,
        why=f"The narrowest gap other than 0 is one tick, and a beat has {p} of them; at {ms} ms a tick a "
        f"beat lasts {p * ms} ms.",
        form="write one number, for example 187.5.",
        units=("bpm",),
        mistakes=likely_mistakes(
            right,
            [
                (0, Fraction(60_000, q * ms), f"A beat of the {q} has {p} ticks, not {q}."),
                (0, Fraction(60_000, ms), "That would be one tick to a beat."),
            ],
        ),
    )


QUESTIONS = (
    grid_ticks,
    grid_rows,
    grid_three,
    composite_sounds,
    composite_intervals,
    composite_how_often,
    place_syllables,
    place_parts,
    place_both,
    tempo_flip,
    tempo_cycle,
    tempo_modulation,
    gaps_midway,
    gaps_signed,
    gaps_flam_tempo,
)

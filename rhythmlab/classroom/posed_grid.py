"""Questions about the shared grid, and about the line that is heard."""

from rhythmlab.classroom.posed_kind import Posed, likely, numbers
from rhythmlab.classroom.question import Question, parts_named
from rhythmlab.core.composite import composite
from rhythmlab.core.grid import grid
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.text.numbers import times


def grid_ticks(p: int, q: int) -> Question:
    """Ask for the ticks of a pair with a common factor; the trap is the product."""
    pair = Polyrhythm(p, q)
    right = numbers(pair.ticks)
    return Question(
        "grid-ticks",
        "grid",
        f"How many ticks has the smallest grid that holds {p} against {q}?",
        f"ticks in the grid of {p} against {q}",
        ("the number of ticks",),
        right,
        f"{pair.ticks} is the least common multiple of {p} and {q}: the {p} has a stroke every "
        f"{pair.step(0)} ticks, the {q} every {pair.step(1)}.",
        "write one number, for example 15 for 5 against 3.",
        ("tick",),
        told=likely(
            right,
            [
                (0, p * q, f"{p} times {q} would hold them too, but {p} and {q} have a common factor."),
                (0, p + q, "That counts strokes; a grid needs a whole number of ticks for each of them."),
            ],
        ),
    )


def grid_rows(p: int, q: int) -> Question:
    """Ask for the boxes of a pair without a common factor, in the order it is said."""
    pair = Polyrhythm(p, q)
    right = tuple("".join("x" if on else "." for on in row) for row in grid(pair).rows)
    return Question(
        "grid-rows",
        "grid",
        f"Write {p} against {q} on the grid they share, the row of the {p} first: x for a stroke and a dot "
        "for an empty tick.",
        "two rows of x and .",
        (f"the row of the {p}", f"the row of the {q}"),
        right,
        f"The grid has {pair.ticks} ticks: the {p} has a stroke every {pair.step(0)} ticks, the {q} every "
        f"{pair.step(1)}.",
        'write two rows in quotes, for example answer=["x.x.x.", "x..x.."] for 3 against 2.',
    )


def grid_three(a: int, b: int, c: int) -> Question:
    """Ask for the ticks of three pulses and the step of each; the trap is a product."""
    three = Polyrhythm(a, b, c)
    steps = [three.step(i) for i in range(3)]
    right = numbers(three.ticks, *steps)
    return Question(
        "grid-three",
        "grid",
        f"{a}, {b} and {c} against each other: how many ticks has the smallest grid that holds all three, "
        f"and how many ticks is it from stroke to stroke of the {a}, of the {b} and of the {c}?",
        "ticks in all, then from stroke to stroke",
        ("the number of ticks", *(f"the step of the {one}" for one in (a, b, c))),
        right,
        f"{three.ticks} is the least common multiple of all three, and each pulse shares it evenly: "
        f"{steps[0]}, {steps[1]} and {steps[2]} ticks.",
        "write four numbers, for example answer=[12, 6, 4, 3] for 2, 3 and 4.",
        ("tick",),
        told=likely(right, [(0, a * b * c, "That grid holds them, but some of them have a common factor.")]),
    )


def composite_sounds(p: int, q: int) -> Question:
    """Ask for the sounds of a pair that meets more than once; the trap is to take off only one."""
    pair = Polyrhythm(p, q)
    right = numbers(len(composite(pair)))
    shared = pair.repeats
    return Question(
        "composite-sounds",
        "composite",
        f"How many separate sounds do {p} against {q} make in one cycle?",
        f"sounds in one cycle of {p} against {q}",
        ("the number of sounds",),
        right,
        f"{p} strokes and {q} strokes make {p + q}; {times(shared)} in a cycle two of them fall "
        f"together and are heard as one sound, which leaves {p + q - shared}.",
        "write one number, for example 8 for 6 against 4.",
        ("sound",),
        told=likely(
            right,
            [
                (0, p + q, "Strokes that fall together are one sound."),
                (0, p + q - 1, f"They meet more than once, since {p} and {q} have a common factor."),
            ],
        ),
    )


def composite_intervals(p: int, q: int) -> Question:
    """Ask for the whole line of a pair without a common factor."""
    pair = Polyrhythm(p, q)
    right = numbers(*composite(pair).intervals)
    return Question(
        "composite-intervals",
        "composite",
        f"Write the line of {p} against {q} as ticks from each sound to the next, round to the start again.",
        "ticks from sound to sound",
        parts_named("interval", len(right)),
        right,
        f"It reads the same backwards and adds up to the {pair.ticks} ticks of the grid.",
        "write the ticks in the brackets, for example answer=[2, 1, 1, 2] for 3 against 2.",
        ("tick",),
    )


def composite_how_often(p: int, q: int) -> Question:
    """Ask how often the longest interval comes, and how often a shorter one."""
    pair = Polyrhythm(p, q)
    intervals = composite(pair).intervals
    widest = int(intervals.max())
    often = int((intervals == widest).sum())
    right = numbers(often, len(intervals) - often)
    return Question(
        "composite-how-often",
        "composite",
        f"In the line of {p} against {q}, how often in a cycle is the next sound as far away as it ever "
        "gets, and how often is it nearer than that?",
        "times farthest, times nearer",
        ("the count of the farthest", "the count of the nearer"),
        right,
        f"The farthest is {widest} ticks, one step of the {p}, and comes {times(often)}; each of the "
        f"{widest - 1} shorter distances comes twice, once before and once after the middle.",
        "write two numbers, for example answer=[2, 4] for 4 against 3.",
        ("time",),
        told=likely(
            right,
            [
                (1, widest - 1, "Each shorter distance comes twice: the line reads the same backwards."),
                (0, p - q, "Count it round the cycle, across the 1 as well."),
            ],
        ),
    )


QUESTIONS = (
    Posed(
        "grid-ticks",
        "grid",
        1,
        ((8, 6), (9, 6), (10, 4), (10, 6), (12, 9), (10, 8), (14, 4), (14, 6), (15, 9), (16, 6)),
        grid_ticks,
    ),
    Posed(
        "grid-rows",
        "grid",
        2,
        ((5, 3), (3, 5), (5, 4), (4, 5), (7, 3), (3, 7), (8, 3), (3, 8)),
        grid_rows,
    ),
    Posed(
        "grid-three",
        "grid",
        3,
        (
            *((4, 5, 6), (4, 6, 9), (6, 8, 9), (5, 6, 8), (5, 6, 9)),
            *((6, 9, 10), (3, 4, 10), (3, 8, 10), (4, 6, 15)),
        ),
        grid_three,
    ),
    Posed(
        "composite-sounds",
        "composite",
        1,
        ((8, 6), (10, 6), (10, 8), (12, 9), (12, 10), (15, 9), (14, 10), (15, 12), (18, 10)),
        composite_sounds,
    ),
    Posed(
        "composite-intervals",
        "composite",
        2,
        ((5, 4), (7, 3), (8, 3), (7, 4), (6, 5), (7, 5), (9, 4), (10, 3)),
        composite_intervals,
    ),
    Posed(
        "composite-how-often",
        "composite",
        3,
        ((11, 7), (13, 8), (11, 5), (13, 9), (12, 7), (13, 6), (11, 8), (14, 9), (13, 10)),
        composite_how_often,
    ),
)

"""Questions about ways to learn, phrasing, sticking, and metre and meeting points."""

from fractions import Fraction

from rhythmlab.classroom.bank.template import (
    likely_mistakes,
    numbers,
    part_names,
    place_aliases,
    question_template,
)
from rhythmlab.classroom.question import Part, Question
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.playing.approach import approach
from rhythmlab.playing.groove import accents
from rhythmlab.playing.limits import limits
from rhythmlab.playing.metre import metre
from rhythmlab.playing.ostinato import meetings
from rhythmlab.playing.phrasing import Phrase, count_phrases, phrases
from rhythmlab.playing.sticking import check_sticking, stick
from rhythmlab.text import counts, sentences
from rhythmlab.text.numbers import nth, number, plural

FITS = ("count", "hold the ones", "both", "neither")


@question_template(
    "ways-ones-floor",
    "ways to learn",
    level=1,
    versions=(
        *((5, 3, 1800), (7, 3, 2000), (5, 4, 1500), (7, 4, 2000), (7, 5, 2400)),
        *((7, 6, 2000), (7, 5, 2000), (5, 2, 1500), (6, 5, 1500)),
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
        text=f"Suppose that the ones can be held while they are at most {number(ms)} ms apart. From "
        f"how many bpm of the {q} on can you hold the ones of {p} against {q}?",
        field=f"bpm of the {q}",
        parts=("the tempo",),
        right=right,
        why=f"From one to the next there are {q} beats of the {q}; in {number(ms)} ms a beat lasts "
        f"{_ms(Fraction(ms, q))}.",
        form="write one number, for example 66.",
        units=("bpm",),
        mistakes=likely_mistakes(
            right,
            [
                (0, Fraction(60_000 * p, ms), f"That is the tempo of the {p}."),
                (0, Fraction(60_000, ms), f"That is one beat to a cycle; the {q} has {q}."),
            ],
        ),
    )


@question_template(
    "ways-count-ceiling",
    "ways to learn",
    level=2,
    versions=(
        *((5, 4, 5, 100), (5, 3, 6, 125), (8, 3, 6, 100), (8, 3, 8, 125)),
        *((5, 4, 8, 120), (10, 3, 6, 125), (5, 3, 7, 100), (9, 4, 6, 100)),
    ),
)
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
        text=f"Suppose that five or more parts to a beat can be counted up to {each_second} parts a second, "
        f"and four or fewer down to {few_ms} ms a part. Up to how many bpm of the {q} can {p} against {q} "
        f"be counted from the {q}, and up to how many bpm of the {p} from the {p}?",
        field="two ceilings in bpm",
        parts=(f"the tempo from the {q}", f"the tempo from the {p}"),
        right=right,
        why=f"From the {q} a beat has {p} parts, and {each_second} a second are {each_second * 60} a "
        f"minute; from the {p} a beat has {q} parts of {few_ms} ms, which is {q * few_ms} ms.",
        form="write two numbers, for example answer=[54, 180].",
        units=("bpm",),
        mistakes=likely_mistakes(
            right,
            [
                (0, Fraction(60 * each_second, q), f"From the {q} a beat is cut into {p} parts."),
                (0, Fraction(60_000, few_ms * p), "That is the limit for four parts or fewer."),
                (1, Fraction(60_000, few_ms * p), f"From the {p} a beat is cut into {q} parts."),
            ],
        ),
    )


@question_template(
    "ways-choose",
    "ways to learn",
    level=3,
    versions=(
        *((5, 4, 60), (5, 4, 150), (5, 4, 100), (5, 3, 60), (5, 3, 120)),
        *((5, 3, 80), (6, 5, 50), (6, 5, 200), (6, 5, 100)),
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
        text=f"{p} against {q}, home the {q} at {bpm} bpm. Suppose that {p} parts to a beat can be counted "
        f"while a part lasts at least {shortest} ms, and the ones held while they are at most "
        f"{number(longest)} ms apart. How many ms is one of the {p} parts of a beat, how many ms is "
        "it from the 1 of a cycle to the 1 of the next cycle, and which fits: count, hold the ones, both or "
        "neither?",
        field="ms of a part, ms of a cycle, what fits",
        parts=("the part", "the distance of the ones", "what fits"),
        right=right,
        why=f"A beat lasts {_ms(Fraction(60_000, bpm))}. A part of {_ms(part)} is "
        f"{'long' if count else 'not long'} enough to count, and ones {_ms(cycle)} apart are "
        f"{'near' if ones else 'not near'} enough to "
        f"hold.{' Learn it as one line, or go slower or faster.' if fit == 'neither' else ''}",
        form="write two numbers and a word, with no space in a thousand, for example answer=[90, 1400, "
        '"both"].',
        units=("ms", "ms", ""),
        choices=FITS,
        mistakes=likely_mistakes(
            right,
            [
                (0, Fraction(60_000, bpm * q), f"A beat of the {q} is cut into {p} parts."),
                (1, Fraction(60_000, bpm), f"That is one beat; from the 1 to the next 1 there are {q}."),
                (1, part, "That is from part to part; from the 1 to the next 1 is a whole cycle."),
            ],
        ),
    )


@question_template(
    "phrase-fours",
    "phrasing",
    level=1,
    versions=tuple((n,) for n in (17, 18, 21, 22, 25, 26, 29, 30)),
)
def phrase_fours(n: int) -> Question:
    """Ask for fours and threes; the trap is what is left after the last four."""
    found = (one.groups for one in phrases(n, allowed=(3, 4), most=1000))
    groups = next(one for one in sorted(found, key=len) if one == tuple(sorted(one, reverse=True)))
    right = numbers(*groups)
    fours, threes = groups.count(4), groups.count(3)
    return Question(
        text=f"Say {n} strokes as fours and threes only: as many fours as can be, all before the threes.",
        field=f"groups of {n}",
        parts=part_names("group", len(groups)),
        right=right,
        why=f"{plural(fours, 'four')} are {4 * fours}, and {plural(threes, 'three')} more make "
        f"{n}; one four more would leave {n - 4 * fours - 4}, which threes cannot fill.",
        form="write the groups in the brackets, for example answer=[4, 3, 3] for 10.",
        units=("stroke",),
    )


@question_template(
    "phrase-accents",
    "phrasing",
    level=2,
    versions=(
        *((3, 3, 4, 2, 4), (3, 4, 3, 4, 2), (5, 3, 3, 2, 3), (3, 3, 3, 3, 4), (2, 3, 4, 4, 3)),
        *((3, 5, 3, 3, 2), (5, 2, 3, 3, 3), (3, 2, 5, 3, 3), (2, 5, 3, 3, 3)),
    ),
)
def phrase_accents(*groups: int) -> Question:
    """Ask where the groups of a phrase begin in a bar of 4/4; the trap is to count the group itself."""
    bar = metre("4/4")
    right = tuple(counts.place_name(bar.place(tick)) for tick in Phrase(groups).starts)
    return Question(
        text=f"A bar of sixteenths in 4/4 is phrased as {sentences.listed(list(map(str, groups)))}. "
        "Counted 1 e & a, where does each group begin?",
        field="places in the count",
        parts=part_names("group", len(groups)),
        right=right,
        why="The groups begin on sixteenths "
        f"{sentences.listed([str(tick + 1) for tick in Phrase(groups).starts])} of the bar, and a beat has "
        "four.",
        form='write the places in quotes, for example answer=["1", "& of 2"].',
        units=("sixteenth",),
        scale=tuple(counts.place_name(bar.place(tick)) for tick in range(bar.ticks)),
        aliases=place_aliases([(4, 4)]),
    )


@question_template(
    "phrase-ways",
    "phrasing",
    level=3,
    versions=(
        *((10, 2, 3), (11, 2, 3), (13, 2, 3), (14, 2, 3)),
        *((14, 3, 4), (17, 3, 4), (18, 3, 4), (19, 2, 5)),
    ),
)
def phrase_ways(n: int, small: int, large: int) -> Question:
    """Ask in how many orders a number can be phrased; the trap is to forget the orders."""
    right = numbers(count_phrases(n, (small, large)))
    kinds = sum((n - large * larger) % small == 0 for larger in range(n // large + 1))
    return Question(
        text=f"{n} strokes in groups of {small} or {large}: in how many ways can they be phrased, if "
        "another order of the groups is another way, and groups all of one size are a way too?",
        field=f"ways to phrase {n}",
        parts=("the number of ways",),
        right=right,
        why=f"The last group is a {small} or a {large}: {count_phrases(n - small, (small, large))} ways for "
        f"{n - small} and {count_phrases(n - large, (small, large))} for {n - large} make {right[0]}.",
        form="write one number, for example 2 for 5 in twos and threes.",
        units=("way",),
        mistakes=likely_mistakes(right, [(0, kinds, "That counts the groups but not their orders.")]),
    )


@question_template(
    "sticking-write",
    "sticking",
    level=1,
    versions=(
        *((4, 3, 4, 3), (3, 4, 4, 3), (4, 4, 3, 3), (3, 4, 3, 4)),
        *((4, 3, 3, 4), (4, 4, 4, 3), (4, 3, 4, 4), (3, 4, 4, 4)),
    ),
)
def sticking_write(*groups: int) -> Question:
    """Ask for the hands of a phrase; the trap is which hand begins a group."""
    right = stick(groups, ms=125, rudiments=["RLRR", "RLL"]).shapes
    return Question(
        text=f"Stick {sentences.listed(list(map(str, groups)))}: every four as a paradiddle, R L R R or the "
        "other way round L R L L, every three as R L L or L R R. Begin with the right hand, and begin each "
        "group with the hand that did not play the stroke before.",
        field="hands, group by group",
        parts=part_names("group", len(groups)),
        right=right,
        why="A paradiddle ends on the hand that began it, so the next group begins with the other; R L L "
        "ends on the left, so the next group begins with the right again.",
        form='write the groups in quotes, for example answer=["RLL", "RLL"] for 3 and 3.',
    )


@question_template(
    "sticking-fault",
    "sticking",
    level=2,
    versions=(
        ("RRLL LRLR LRRL LRLL RRLL", 100),
        ("RLLR RRLL RRLR LLRR LRRL", 100),
        ("RRLL RRLL LRLL RLRR LLRL", 100),
        ("RLLR RLRL LLRR LLRL LRRL", 100),
        ("RLRR LLRL RRLL LRRL LRRL", 100),
        ("RRLL RRLR LLRL LLRL LRLL", 100),
        ("RLRR LRRL LRLL RRLL LRLL", 100),
        ("RLRR LLRL RLLR RLLR RRLL", 100),
    ),
)
def sticking_fault(hands: str, ms: int) -> Question:
    """Ask which stroke comes too soon; the trap is a run that goes over the end of a group."""
    rows = limits(hand_two=80)  # as the pages that are out suppose
    (problem,) = check_sticking(hands, ms=ms, limits=rows).problems
    two, three = (number(rows[key].value) for key in ("hand_two", "hand_three"))
    right = numbers(problem.stroke + 1)
    return Question(
        text=f"Even strokes {ms} ms apart: {hands}. Suppose a hand needs {two} ms from one stroke to the "
        f"next, and {three} ms before a third stroke in a row. Which stroke comes too soon for its hand, "
        "counted from 1?",
        field="the stroke that comes too soon",
        parts=("the stroke",),
        right=right,
        why=f"Stroke {problem.stroke + 1} is the third in a row in one hand, over the end of a group, {ms} "
        "ms after the second.",
        form="write one number, for example 3.",
        units=("stroke",),
        mistakes=likely_mistakes(
            right,
            [
                (0, problem.stroke, "That is the second in one hand, which it can play at this speed."),
                (0, problem.stroke - 1, "The run begins there; the first stroke of a run is never too soon."),
            ],
        ),
    )


@question_template(
    "sticking-home",
    "sticking",
    level=3,
    versions=(
        *((3, 4, 3, 5, 4), (4, 3, 3, 4, 5), (5, 3, 4, 4, 3), (3, 3, 4, 5, 4), (4, 5, 4, 3, 3)),
        *((3, 4, 4, 5, 3), (4, 4, 3, 3, 5), (3, 5, 3, 4, 4), (3, 4, 5, 4, 3)),
    ),
)
def sticking_home(*groups: int) -> Question:
    """Ask which hand plays the accents in two cycles hand to hand; the trap is the odd number of strokes."""
    shapes = ["RLRLR"[:size] for size in sorted(set(groups))]
    lane = stick(groups, ms=125, rudiments=shapes).cycle(whole=True).lanes[0]
    total = sum(groups)
    played = (lane.hands * 2)[: 2 * total]
    right = tuple(
        "".join(played[cycle * total + start] for start in Phrase(groups).starts) for cycle in (0, 1)
    )
    return Question(
        text=f"Play {sentences.listed(list(map(str, groups)))} hand to hand, R L R L without a break, right "
        "hand first, with an accent on the first stroke of each group, two times through. Which hands play "
        "the accents the first time, and which the second time?",
        field="hands of the accents, twice",
        parts=("the first time", "the second time"),
        right=right,
        why=f"{total} strokes are an odd number, so the second time begins with the left and every hand is "
        "the other one.",
        form='write two words of R and L, for example answer=["RRL", "RRL"] for 2, 3 and 3.',
    )


@question_template(
    "metre-home",
    "metre and meeting points",
    level=1,
    versions=(
        *(("4/4", 6), ("4/4", 10), ("5/4", 6), ("3/4", 10), ("5/4", 14)),
        *(("7/4", 6), ("4/4", 14), ("6/4", 10)),
    ),
)
def metre_home(bar: str, every: int) -> Question:
    """Ask when a moving accent is home; the trap is a common factor."""
    found = accents(metre(bar), every)
    right = numbers(len(found.bars), len(found.lanes[-1].accents))
    ticks = metre(bar).ticks
    return Question(
        text=f"An accent on every {nth(every - 1)} sixteenth of {bar}, from the first one on: after "
        "how many bars is an accent on the 1 again, and how many accents were there before that one?",
        field="bars and accents",
        parts=("the number of bars", "the number of accents"),
        right=right,
        why=f"A bar has {ticks} sixteenths; {ticks} and {every} first meet after {found.ticks} of them, in "
        f"{len(found.bars)} bars and {found.ticks // every} accents.",
        form="write two numbers, for example answer=[2, 3] for every eighth sixteenth of 3/4.",
        units=("bar", "accent"),
        mistakes=likely_mistakes(
            right,
            [
                (0, every, "They meet sooner, since both numbers have a common factor."),
                (1, found.ticks // every + 1, "The accent on the new 1 is the first of the next round."),
            ],
        ),
    )


@question_template(
    "metre-beats",
    "metre and meeting points",
    level=2,
    versions=(
        *(("4/4", 5, 2), ("4/4", 5, 3), ("4/4", 5, 4), ("5/4", 7, 2), ("5/4", 7, 3)),
        *(("5/4", 7, 4), ("5/4", 7, 5), ("5/4", 6, 2), ("4/4", 6, 2)),
    ),
)
def metre_beats(bar: str, every: int, which: int) -> Question:
    """Ask for the places of the accents in a later bar; the trap is to begin that bar on its 1."""
    m = metre(bar)
    ticks = accents(m, every).accented(which)
    right = tuple(counts.place_name(m.place(tick)) for tick in ticks)
    return Question(
        text=f"An accent on every {nth(every - 1)} sixteenth of {bar}, from the 1 of bar 1 on. "
        f"Counted 1 e & a, where are the three accents of bar {which}?",
        field="three places in the count",
        parts=part_names("accent", len(right)),
        right=right,
        why=f"Before bar {which} there are {m.ticks * (which - 1)} sixteenths, and its first accent is the "
        f"next multiple of {every}: sixteenth {ticks[0] + 1} of the bar.",
        form='write three places in quotes, for example answer=["1", "& of 2", "4"].',
        units=("sixteenth",),
        scale=tuple(counts.place_name(m.place(tick)) for tick in range(m.ticks)),
        aliases=place_aliases([(m.ticks // 4, 4)]),
    )


@question_template(
    "metre-meeting",
    "metre and meeting points",
    level=3,
    versions=(
        *((5, 4, 7), (5, 2, 8), (8, 4, 5), (7, 5, 8), (5, 4, 9)),
        *((8, 6, 7), (9, 4, 7), (7, 3, 8), (7, 2, 5)),
    ),
)
def metre_meeting(a: int, first: int, b: int) -> Question:
    """Ask when two patterns of their own length meet; the trap is a late start."""
    one = Cycle(a, [Lane("one", [first - 1])], beats=[0])
    two = Cycle(b, [Lane("two", [0])], beats=[0])
    (tick,) = meetings(one, two).tolist()
    right = numbers(tick + 1, a * b)
    return Question(
        text=f"Two players count the same ticks from 1. One plays on tick {first} and every {a} ticks from "
        f"there, the other on tick 1 and every {b} ticks from there. On which tick do they first meet, and "
        "how many ticks is it from each meeting to the next?",
        field="first meeting, ticks from meeting to meeting",
        parts=("the first meeting", "the distance of the meetings"),
        right=right,
        why=f"The strokes of the second player are 1, {b + 1}, {2 * b + 1} and so on; {tick + 1} is the "
        f"first that is also {first} plus a multiple of {a}. {a} and {b} have no common factor, so it takes "
        f"{a * b} ticks to come again.",
        form="write two numbers, for example answer=[7, 6].",
        units=("tick",),
        mistakes=likely_mistakes(
            right,
            [
                (0, tick, "Count the first tick as 1, not as 0."),
                (0, a * b + 1, "That is where they would meet again if both began on 1."),
            ],
        ),
    )


def _ms(value: Fraction) -> str:
    return f"{number(value)} ms"


QUESTIONS = (
    ways_ones_floor,
    ways_count_ceiling,
    ways_choose,
    phrase_fours,
    phrase_accents,
    phrase_ways,
    sticking_write,
    sticking_fault,
    sticking_home,
    metre_home,
    metre_beats,
    metre_meeting,
)

"""Questions about phrasing, sticking, and metre and meeting points."""

from rhythmlab.classroom.posed_kind import Posed, likely, numbers, other_ways
from rhythmlab.classroom.question import Question, parts_named
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.playing.groove import accents
from rhythmlab.playing.limits import limits
from rhythmlab.playing.metre import metre
from rhythmlab.playing.ostinato import meetings
from rhythmlab.playing.phrasing import Phrase, count_phrases, phrases
from rhythmlab.playing.sticking import check_sticking, stick
from rhythmlab.text import counts, sentences
from rhythmlab.text.numbers import nth, number, plural


def phrase_fours(n: int) -> Question:
    """Ask for fours and threes; the trap is what is left after the last four."""
    found = (one.groups for one in phrases(n, allowed=(3, 4), most=1000))
    groups = next(one for one in sorted(found, key=len) if one == tuple(sorted(one, reverse=True)))
    right = numbers(*groups)
    fours, threes = groups.count(4), groups.count(3)
    return Question(
        "phrase-fours",
        "phrasing",
        f"Say {n} strokes as fours and threes only: as many fours as can be, all before the threes.",
        f"groups of {n}",
        parts_named("group", len(groups)),
        right,
        f"{plural(fours, 'four')} are {4 * fours}, and {plural(threes, 'three')} more make {n}; "
        f"one four more would leave {n - 4 * fours - 4}, which threes cannot fill.",
        "write the groups in the brackets, for example answer=[4, 3, 3] for 10.",
        ("stroke",),
    )


def phrase_accents(*groups: int) -> Question:
    """Ask where the groups of a phrase begin in a bar of 4/4; the trap is to count the group itself."""
    bar = metre("4/4")
    right = tuple(bar.said(tick) for tick in Phrase(groups).starts)
    return Question(
        "phrase-accents",
        "phrasing",
        f"A bar of sixteenths in 4/4 is phrased as {sentences.listed(list(map(str, groups)))}. Counted 1 e & "
        "a, where does each group begin?",
        "places in the count",
        parts_named("group", len(groups)),
        right,
        "The groups begin on sixteenths "
        f"{sentences.listed([str(tick + 1) for tick in Phrase(groups).starts])} of the bar, "
        "and a beat has four.",
        'write the places in quotes, for example answer=["1", "& of 2"].',
        ("sixteenth",),
        tuple(counts.place_name(bar.place(tick)) for tick in range(bar.ticks)),
        other_ways([(4, 4)]),
    )


def phrase_ways(n: int, small: int, large: int) -> Question:
    """Ask in how many orders a number can be phrased; the trap is to forget the orders."""
    right = numbers(count_phrases(n, (small, large)))
    kinds = sum((n - large * larger) % small == 0 for larger in range(n // large + 1))
    return Question(
        "phrase-ways",
        "phrasing",
        f"{n} strokes in groups of {small} or {large}: in how many ways can they be phrased, if another "
        f"order "
        "of the groups is another way, and groups all of one size are a way too?",
        f"ways to phrase {n}",
        ("the number of ways",),
        right,
        f"The last group is a {small} or a {large}: {count_phrases(n - small, (small, large))} ways for "
        f"{n - small} and {count_phrases(n - large, (small, large))} for {n - large} make {right[0]}.",
        "write one number, for example 2 for 5 in twos and threes.",
        ("way",),
        told=likely(right, [(0, kinds, "That counts the groups but not their orders.")]),
    )


def sticking_write(*groups: int) -> Question:
    """Ask for the hands of a phrase; the trap is which hand begins a group."""
    right = stick(groups, ms=125, rudiments=["RLRR", "RLL"]).shapes
    return Question(
        "sticking-write",
        "sticking",
        f"Stick {sentences.listed(list(map(str, groups)))}: every four as a paradiddle, R L R R or the other "
        "way round L R L L, every three as R L L or L R R. Begin with the right hand, and begin each group "
        "with the hand that did not play the stroke before.",
        "hands, group by group",
        parts_named("group", len(groups)),
        right,
        "A paradiddle ends on the hand that began it, so the next group begins with the other; R L L ends on "
        "the left, so the next group begins with the right again.",
        'write the groups in quotes, for example answer=["RLL", "RLL"] for 3 and 3.',
    )


def sticking_fault(hands: str, ms: int) -> Question:
    """Ask which stroke comes too soon; the trap is a run that goes over the end of a group."""
    (problem,) = check_sticking(hands, ms=ms).problems
    rows = limits()
    two, three = (number(rows[key].value) for key in ("hand_two", "hand_three"))
    right = numbers(problem.stroke + 1)
    return Question(
        "sticking-fault",
        "sticking",
        f"Even strokes {ms} ms apart: {hands}. Suppose a hand needs {two} ms from one stroke to the next, "
        f"and "
        f"{three} ms before a third stroke in a row. Which stroke comes too soon for its hand, counted from "
        f"1?",
        "the stroke that comes too soon",
        ("the stroke",),
        right,
        f"Stroke {problem.stroke + 1} is the third in a row in one hand, over the end of a group, {ms} ms "
        f"after the second.",
        "write one number, for example 3.",
        ("stroke",),
        told=likely(
            right,
            [
                (0, problem.stroke, "That is the second in one hand, which it can play at this speed."),
                (0, problem.stroke - 1, "The run begins there; the first stroke of a run is never too soon."),
            ],
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
        "sticking-home",
        "sticking",
        f"Play {sentences.listed(list(map(str, groups)))} hand to hand, R L R L without a break, right hand "
        "first, with an accent on the first stroke of each group, two times through. Which hands play the "
        "accents the first time, and which the second time?",
        "hands of the accents, twice",
        ("the first time", "the second time"),
        right,
        f"{total} strokes are an odd number, so the second time begins with the left and every hand is the "
        "other one.",
        'write two words of R and L, for example answer=["RRL", "RRL"] for 2, 3 and 3.',
    )


def metre_home(bar: str, every: int) -> Question:
    """Ask when a moving accent is home; the trap is a common factor."""
    found = accents(metre(bar), every)
    right = numbers(len(found.bars), len(found.lanes[-1].onsets))
    ticks = metre(bar).ticks
    return Question(
        "metre-home",
        "metre and meeting points",
        f"An accent on every {nth(every - 1)} sixteenth of {bar}, from the first one on: after how "
        "many bars is an accent on the 1 again, and how many accents were there before that one?",
        "bars and accents",
        ("the number of bars", "the number of accents"),
        right,
        f"A bar has {ticks} sixteenths; {ticks} and {every} first meet after {found.ticks} of them, in "
        f"{len(found.bars)} bars and {found.ticks // every} accents.",
        "write two numbers, for example answer=[2, 3] for every eighth sixteenth of 3/4.",
        ("bar", "accent"),
        told=likely(
            right,
            [
                (0, every, "They meet sooner, since both numbers have a common factor."),
                (1, found.ticks // every + 1, "The accent on the new 1 is the first of the next round."),
            ],
        ),
    )


def metre_beats(bar: str, every: int, which: int) -> Question:
    """Ask for the places of the accents in a later bar; the trap is to begin that bar on its 1."""
    m = metre(bar)
    ticks = accents(m, every).where(which)
    right = tuple(m.said(tick) for tick in ticks)
    return Question(
        "metre-beats",
        "metre and meeting points",
        f"An accent on every {nth(every - 1)} sixteenth of {bar}, from the 1 of bar 1 on. Counted 1 e "
        f"& a, where are the three accents of bar {which}?",
        "three places in the count",
        parts_named("accent", len(right)),
        right,
        f"Before bar {which} there are {m.ticks * (which - 1)} sixteenths, and its first accent is the next "
        f"multiple of {every}: sixteenth {ticks[0] + 1} of the bar.",
        'write three places in quotes, for example answer=["1", "& of 2", "4"].',
        ("sixteenth",),
        tuple(counts.place_name(m.place(tick)) for tick in range(m.ticks)),
        other_ways([(m.ticks // 4, 4)]),
    )


def metre_meeting(a: int, first: int, b: int) -> Question:
    """Ask when two patterns of their own length meet; the trap is a late start."""
    one = Cycle(a, [Lane("one", [first - 1])], beats=[0])
    two = Cycle(b, [Lane("two", [0])], beats=[0])
    (tick,) = meetings(one, two).tolist()
    right = numbers(tick + 1, a * b)
    return Question(
        "metre-meeting",
        "metre and meeting points",
        f"Two players count the same ticks from 1. One plays on tick {first} and every {a} ticks from there, "
        f"the other on tick 1 and every {b} ticks from there. On which tick do they first meet, and how many "
        "ticks is it from each meeting to the next?",
        "first meeting, ticks from meeting to meeting",
        ("the first meeting", "the distance of the meetings"),
        right,
        f"The strokes of the second player are 1, {b + 1}, {2 * b + 1} and so on; {tick + 1} is the first "
        f"that is also {first} plus a multiple of {a}. {a} and {b} have no common factor, so it "
        f"takes {a * b} ticks to come again.",
        "write two numbers, for example answer=[7, 6].",
        ("tick",),
        told=likely(
            right,
            [
                (0, tick, "Count the first tick as 1, not as 0."),
                (0, a * b + 1, "That is where they would meet again if both began on 1."),
            ],
        ),
    )


QUESTIONS = (
    Posed("phrase-fours", "phrasing", 1, tuple((n,) for n in (17, 18, 21, 22, 25, 26, 29, 30)), phrase_fours),
    Posed(
        "phrase-accents",
        "phrasing",
        2,
        (
            *((3, 3, 4, 2, 4), (3, 4, 3, 4, 2), (5, 3, 3, 2, 3), (3, 3, 3, 3, 4), (2, 3, 4, 4, 3)),
            *((3, 5, 3, 3, 2), (5, 2, 3, 3, 3), (3, 2, 5, 3, 3), (2, 5, 3, 3, 3)),
        ),
        phrase_accents,
    ),
    Posed(
        "phrase-ways",
        "phrasing",
        3,
        (
            *((10, 2, 3), (11, 2, 3), (13, 2, 3), (14, 2, 3)),
            *((14, 3, 4), (17, 3, 4), (18, 3, 4), (19, 2, 5)),
        ),
        phrase_ways,
    ),
    Posed(
        "sticking-write",
        "sticking",
        1,
        (
            *((4, 3, 4, 3), (3, 4, 4, 3), (4, 4, 3, 3), (3, 4, 3, 4)),
            *((4, 3, 3, 4), (4, 4, 4, 3), (4, 3, 4, 4), (3, 4, 4, 4)),
        ),
        sticking_write,
    ),
    Posed(
        "sticking-fault",
        "sticking",
        2,
        (
            ("RRLL LRLR LRRL LRLL RRLL", 100),
            ("RLLR RRLL RRLR LLRR LRRL", 100),
            ("RRLL RRLL LRLL RLRR LLRL", 100),
            ("RLLR RLRL LLRR LLRL LRRL", 100),
            ("RLRR LLRL RRLL LRRL LRRL", 100),
            ("RRLL RRLR LLRL LLRL LRLL", 100),
            ("RLRR LRRL LRLL RRLL LRLL", 100),
            ("RLRR LLRL RLLR RLLR RRLL", 100),
        ),
        sticking_fault,
    ),
    Posed(
        "sticking-home",
        "sticking",
        3,
        (
            *((3, 4, 3, 5, 4), (4, 3, 3, 4, 5), (5, 3, 4, 4, 3), (3, 3, 4, 5, 4), (4, 5, 4, 3, 3)),
            *((3, 4, 4, 5, 3), (4, 4, 3, 3, 5), (3, 5, 3, 4, 4), (3, 4, 5, 4, 3)),
        ),
        sticking_home,
    ),
    Posed(
        "metre-home",
        "metre and meeting points",
        1,
        (
            *(("4/4", 6), ("4/4", 10), ("5/4", 6), ("3/4", 10), ("5/4", 14)),
            *(("7/4", 6), ("4/4", 14), ("6/4", 10)),
        ),
        metre_home,
    ),
    Posed(
        "metre-beats",
        "metre and meeting points",
        2,
        (
            *(("4/4", 5, 2), ("4/4", 5, 3), ("4/4", 5, 4), ("5/4", 7, 2), ("5/4", 7, 3)),
            *(("5/4", 7, 4), ("5/4", 7, 5), ("5/4", 6, 2), ("4/4", 6, 2)),
        ),
        metre_beats,
    ),
    Posed(
        "metre-meeting",
        "metre and meeting points",
        3,
        (
            *((5, 4, 7), (5, 2, 8), (8, 4, 5), (7, 5, 8), (5, 4, 9)),
            *((8, 6, 7), (9, 4, 7), (7, 3, 8), (7, 2, 5)),
        ),
        metre_meeting,
    ),
)

"""Questions about hearing: which pair, how many beats of home, which round is another one."""

from rhythmlab.audio.mix import Mix
from rhythmlab.audio.sound import sound
from rhythmlab.classroom.posed_kind import Posed, likely, numbers
from rhythmlab.classroom.posed_read import moved
from rhythmlab.classroom.posed_shown import Heard, tempo_for
from rhythmlab.classroom.question import Part, Question
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.polyrhythm import Polyrhythm

SIDES = ("early", "late")
ROUNDS = 5
_NEXT = "The stroke that begins the next round belongs to the next round."


def hear_pair(p: int, q: int) -> Question:
    """Ask for the strokes of a high and a low sound; the trap is which is which."""
    right = numbers(*Polyrhythm(p, q).pulses)
    return Question(
        "hear-pair",
        "hearing",
        "Listen: a high sound and a low sound, both steady, begin together and go three times round. How "
        "many strokes has each in one round, from one time together up to the next, the next one not "
        "counted? Write the high one first.",
        "strokes of the high sound, of the low one",
        ("the high sound", "the low sound"),
        right,
        f"The high sound has {p} strokes in the time of {q} low ones: {p} against {q}.",
        "write two numbers, for example answer=[7, 6].",
        ("stroke",),
        told=likely(right, [(0, q, "So many has the low sound."), (0, p + 1, _NEXT)]),
    )


def hear_pair_shown(p: int, q: int) -> Heard:
    """Return the sound of `hear_pair`."""
    return _pair(
        p, q, ("high", "low"), ["high wood block", "low wood block"], "a high wood block and a low one"
    )


def _pair(p: int, q: int, names: tuple[str, str], sounds: list[str], what: str) -> Heard:
    """Return the sound of a pair three times round, each pulse with its own voice."""
    pair = Polyrhythm(p, q)
    lanes = [Lane(name, pair.onsets(i)) for i, name in enumerate(names)]
    return Heard(
        f"A rhythm to listen to: {what}, three times round, about 9 seconds.",
        lambda: sound(
            Cycle(pair.ticks, lanes, beats=[0]),
            tempo_for(pair.ticks, 3),
            cycles=3,
            mix=Mix(home=0, sounds=sounds),
        ),
    )


def hear_home(home: int, other: int) -> Question:
    """Ask for the beats of the bass drum and the strokes against them; the trap is which is which."""
    right = numbers(*Polyrhythm(home, other).pulses)
    return Question(
        "hear-home",
        "hearing",
        "Listen: a bass drum has the beats of home, a wood block plays against it, and both begin together "
        "and go three times round. How many beats has home in one round, from one time together up to the "
        "next, the next one not counted, and how many strokes has the wood block?",
        "beats of home, strokes of the wood block",
        ("the number of home beats", "the number of wood block strokes"),
        right,
        f"Home is the {home}, and the wood block plays {other} against it.",
        "write two numbers, for example answer=[2, 9].",
        ("beat", "stroke"),
        told=likely(
            right, [(0, other, "That is the wood block; home is the bass drum."), (0, home + 1, _NEXT)]
        ),
    )


def hear_home_shown(home: int, other: int) -> Heard:
    """Return the sound of `hear_home`."""
    sounds = ["bass drum", "high wood block"]
    return _pair(home, other, ("home", "other"), sounds, "a bass drum and a wood block")


def hear_odd(p: int, q: int, which: int, stroke: int, by: int) -> Question:
    """Ask in which round one sound has moved, and which way; the trap is to take early for late."""
    side = SIDES[by > 0]
    right: tuple[Part, ...] = (*numbers(which), side)
    other = SIDES[by < 0]
    return Question(
        "hear-odd",
        "hearing",
        f"Listen: the line of {p} against {q}, five times round, the first sound of each round the loudest. "
        "In one round, not the first, one sound has moved. Which round is it, and does the sound come early "
        "or late?",
        "the round, and early or late",
        ("the round", "the side"),
        right,
        f"In round {which} sound {stroke} comes {side}, by one tick of the grid.",
        'write a number and a word, for example answer=[1, "early"].',
        ("round", ""),
        choices=SIDES,
        told=likely(
            right,
            [(1, other, "Sing the line to yourself along with it: which comes first, you or the sound?")],
        ),
    )


def hear_odd_shown(p: int, q: int, which: int, stroke: int, by: int) -> Heard:
    """Return the sound of `hear_odd`."""
    ticks = p * q
    starts = [turn * ticks for turn in range(ROUNDS)]
    lane = Lane("line", moved(p, q, ROUNDS, which, stroke, by), sound="high wood block", accents=starts)
    return Heard(
        "A rhythm to listen to: one line on a wood block, five times round, about 12 seconds.",
        lambda: sound(
            Cycle(ticks * ROUNDS, [lane], beats=[0]),
            tempo_for(ticks, ticks / 5),
            cycles=1,
            mix=Mix(home=0),
        ),
    )


QUESTIONS = (
    Posed(
        "hear-pair",
        "hearing",
        1,
        ((4, 3), (3, 4), (5, 2), (2, 5), (5, 3), (3, 5), (5, 4), (4, 5)),
        hear_pair,
        "sound",
        hear_pair_shown,
    ),
    Posed(
        "hear-home",
        "hearing",
        2,
        ((3, 7), (7, 3), (4, 7), (7, 4), (5, 6), (6, 5), (5, 7), (7, 5), (3, 8)),
        hear_home,
        "sound",
        hear_home_shown,
    ),
    Posed(
        "hear-odd",
        "hearing",
        3,
        (
            *((4, 3, 2, 4, 1), (4, 3, 3, 4, -1), (4, 3, 4, 6, 1), (4, 3, 5, 5, -1)),
            *((4, 3, 2, 2, -1), (4, 3, 3, 6, 1), (4, 3, 4, 5, -1), (4, 3, 5, 4, 1)),
        ),
        hear_odd,
        "sound",
        hear_odd_shown,
    ),
)

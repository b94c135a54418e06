"""What one hand can do at a tempo, and the exact search for a sticking that keeps to it.

A stroke in the same hand as the one before makes a run; strokes that change hands every time make each hand
play every other stroke.
Both are held against the same three limits: the second stroke of a hand needs ``hand_two`` milliseconds
since its last, the third ``hand_three``, the fourth and every later one ``hand_sustained``.
Anything else between the strokes of a hand, as in a paradiddle, gives it a rest and starts the count anew.
"""

from dataclasses import dataclass
from fractions import Fraction

from rhythmlab.core.call import public_class
from rhythmlab.core.check import positive, short, whole
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.tempo import tempo_given
from rhythmlab.playing.limits import Limit, Limits, limits_or
from rhythmlab.refusal import Refusal
from rhythmlab.words import number

#: Limits of a hand outside this range, in milliseconds, are taken for another unit (a choice made here).
_LEAST_MS, _MOST_MS = 10, 2000
#: Strokes closer or further apart than this, in milliseconds, are taken for another unit (own choice).
_LEAST_STROKE_MS, _MOST_STROKE_MS = 5, 60_000
_STICK = "stick((4, 4, 3), 120, limits=limits(hand_two=70))"


@public_class(
    "stick((4, 3), 120).rules",
    need="stick((4, 3), 120).rules.need(2)",
    longest="stick((4, 3), 120).rules.longest(125)",
)
@dataclass(frozen=True, slots=True)
class Hand:
    """The three limits of one hand.

    Attributes
    ----------
    two, three, sustained : Limit
        Milliseconds between strokes in one hand: two, three, and more.
    """

    two: Limit
    three: Limit
    sustained: Limit

    def need(self, nth: int) -> Limit:
        """Return the limit that the nth stroke in a row must keep; `nth` is at least 2.

        Examples
        --------
        >>> hand().need(3).key
        'hand_three'
        """
        nth = whole(nth, "nth", "stick((4, 4, 3), 120).rules.need(2)", least=2)
        return max((self.two, self.three, self.sustained)[: min(nth, 4) - 1], key=lambda limit: limit.value)

    def longest(self, ms: Fraction) -> int:
        """Return how many strokes in a row one hand can play at this distance: 1, 2, 3, or 4 for more.

        Examples
        --------
        >>> [hand().longest(Fraction(ms)) for ms in (79, 80, 125, 167)]
        [1, 2, 3, 4]
        """
        ms = positive(ms, "ms", "stick((4, 4, 3), 120).rules.longest(125)")
        return max(nth for nth in (1, 2, 3, 4) if nth == 1 or ms >= self.need(nth).value)


def hand(limits: Limits | None = None) -> Hand:
    """Return the limits of a hand, or refuse what cannot be milliseconds.

    Parameters
    ----------
    limits : Limits, optional
        The limits to use; `limits()` when left out.

    Raises
    ------
    ValueError
        If these are not limits, or one is below 10 ms or above 2000 ms and so in another unit.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> hand(limits(hand_two=70)).two.value
    Fraction(70, 1)
    """
    rows = limits_or(limits, _STICK)
    found = Hand(*(rows[key] for key in ("hand_two", "hand_three", "hand_sustained")))
    for limit in (found.two, found.three, found.sustained):
        if not _LEAST_MS <= limit.value <= _MOST_MS:
            raise Refusal(
                f"{limit.key}={number(limit.value, 6)} is no limit of a hand in milliseconds "
                f"between strokes ({_LEAST_MS} to {_MOST_MS})",
                _STICK,
            )
    return found


def because(limit: Limit) -> str:
    """Say where a limit is from, as a sentence does.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> because(hand().two), because(hand(limits(hand_two=70)).two)
    ('common practice', 'moved by you')
    """
    return {"common practice": limit.status, "moved": "moved by you"}.get(limit.status, limit.named)


def why(limit: Limit) -> str:
    """Say what a limit asks for.

    Examples
    --------
    >>> why(hand().three)
    'three in one hand need 110 ms (common practice)'
    """
    what = {"hand_two": "two in one hand need", "hand_three": "three in one hand need"}
    said = what.get(limit.key, "stroke after stroke in one hand needs")
    return f"{said} {number(limit.value)} ms ({because(limit)})"


def milliseconds(tempo: object, ms: object, cycle: Cycle, example: str) -> Fraction:
    """Return milliseconds of a tick, from a tempo or from milliseconds.

    Parameters
    ----------
    tempo : Tempo or number or None
        The speed; a number is beats a minute of home.
    ms : number or None
        Milliseconds from stroke to stroke, where every tick is a stroke; given instead of a tempo.
    cycle : Cycle
        What is played.
    example : str
        A call that works, for the message.

    Raises
    ------
    ValueError
        If there are both or neither, or one is no speed of strokes.

    Examples
    --------
    >>> cycle = Cycle(4, [], beats=[0])
    >>> milliseconds(120, None, cycle, ""), milliseconds(None, 125, cycle, "")
    (Fraction(125, 1), Fraction(125, 1))
    """
    if (tempo is None) == (ms is None):
        given = "both are given" if ms is not None else "neither is given"
        raise Refusal(f"a speed is said by tempo or by ms=, and {given}", example)
    if ms is None:
        return 1000 * tempo_given(tempo, cycle, None, example).tick_seconds(cycle)
    if any(len(lane.onsets) < cycle.ticks for lane in cycle.lanes):
        raise Refusal(
            f"ms={short(ms)} is from stroke to stroke, and these strokes are uneven",
            "stick((9, 8), 60)",
            argument="ms",
        )
    exact = positive(ms, "ms", example)
    if exact < _LEAST_STROKE_MS:
        raise Refusal(
            f"ms={short(ms)} is less than {_LEAST_STROKE_MS} ms from stroke to stroke (a sixteenth at 120 "
            "takes 125)",
            example,
            argument="ms",
        )
    if exact > _MOST_STROKE_MS:
        raise Refusal(
            f"ms={short(ms)} is more than {_MOST_STROKE_MS:,} ms from stroke to stroke (a sixteenth at 120 "
            "takes 125)",
            example,
            argument="ms",
        )
    return exact


# A state is what the last stroke leaves behind: codes 0 to 7 are 1 to 8 strokes that changed hands every
# time, 8 to 10 are 2 to 4 strokes in one hand.  8 and 10 stand for all longer ones.
_SAME = (*(8,) * 8, 9, 10, 10)
_CHANGE = (*range(1, 8), 7, 1, 1, 1)
#: Which stroke of its hand the new one is, by the code it leads to.
_NTH_OF = (1, 1, 2, 2, 3, 3, 4, 4, 2, 3, 4)


@dataclass(frozen=True, slots=True)
class Line:
    """Strokes that go round and round, before hands are given to them.

    Attributes
    ----------
    gaps : tuple of int
        Ticks from the stroke before to each stroke, round the cycle.
    accents : frozenset of int
        Indices of the accented strokes.
    moves : tuple of bool or None
        For each stroke whether it changes hands, where that is fixed.
    """

    gaps: tuple[int, ...]
    accents: frozenset[int]
    moves: tuple[bool | None, ...]


def best_hands(line: Line, tick_ms: Fraction, rules: Hand) -> tuple[str, int] | None:
    """Return the best hands that keep every limit, round and round, by exact search.

    Best is, in this order: fewest accents that repeat the hand before, most accents in the lead hand, home
    after one cycle, fewest repeats, repeats late (a choice made here, no source).

    Parameters
    ----------
    line : Line
        What is played.
    tick_ms : Fraction
        Milliseconds of a tick.
    rules : Hand
        The limits.

    Returns
    -------
    hands, cycles : str and int
        ``R`` for the lead hand, which plays the first stroke; and 1 where every cycle is the same, 2 where
        the hands change sides in every other cycle.  ``None`` where nothing keeps the limits.

    Notes
    -----
    A dynamic programme over what the last stroke left behind: which hand, how many in a row.
    Every such state is tried as the one that the cycle begins with, and must come back at its end.

    Examples
    --------
    >>> eleven = Line((1,) * 11, frozenset({0, 4, 8}), (None,) * 11)
    >>> best_hands(eleven, Fraction(125), hand())
    ('RLRLRLRLRLL', 1)
    """
    count = len(line.gaps)
    apart = [tick_ms * gap for gap in line.gaps]
    run = [rules.longest(ms) for ms in apart]
    turn = [rules.longest(apart[i] + apart[i - 1]) for i in range(count)]
    # Where nothing is ever too fast, all runs are the same to the search.
    same = _SAME if min(run) < 4 else (8,) * 11
    change = _CHANGE if min(turn) < 4 else (1,) * 11
    repeat, most = 1 << count, count + 1  # below it, a bit for each stroke of the lead hand
    again = repeat * most
    off = 2 * again
    weak = off * most

    def played(states: dict[int, int], bound: int | None) -> dict[int, int]:
        """Return what one cycle leaves behind, with its cost, from what it begins with."""
        for i in range(count):
            accent, lead_bit = i in line.accents, repeat >> (i + 1)
            repeat_cost, off_cost = repeat + weak * accent, off * accent
            move, run_limit, turn_limit = line.moves[i], run[i], turn[i]
            new: dict[int, int] = {}
            for state, cost in states.items():
                code, side = state >> 1, state & 1
                for changed in (False, True) if move is None else (move,):
                    to = side ^ changed
                    if to and not i:  # the first stroke is the lead hand's
                        continue
                    after = change[code] if changed else same[code]
                    if _NTH_OF[after] > (turn_limit if changed else run_limit):
                        continue
                    total = cost + (0 if changed else repeat_cost) + (off_cost if to else lead_bit)
                    key = 2 * after + to
                    if total < new.get(key, total + 1) and (bound is None or total < bound):
                        new[key] = total
            states = new
        return states

    best: int | None = None
    left = played(dict.fromkeys(range(22), 0), None)  # twice the code, and one more for the other hand
    for entry in sorted({*left, *(state ^ 1 for state in left)}):
        ends = played({entry: 0}, best)
        for state, extra in ((entry, 0), (entry ^ 1, again)):
            if state in ends and (best is None or ends[state] + extra < best):
                best = ends[state] + extra
    if best is None:
        return None
    bits = f"{best % repeat:0{count}b}"
    return bits.replace("1", "R").replace("0", "L"), 1 + best // again % 2


def fastest(line: Line, rules: Hand) -> Fraction:
    """Return the shortest tick, in milliseconds, at which some sticking of a line keeps every limit.

    Examples
    --------
    >>> fastest(Line((1,) * 11, frozenset(), (None,) * 11), hand())
    Fraction(80, 1)
    """
    ticks = {*line.gaps, *(line.gaps[i] + line.gaps[i - 1] for i in range(len(line.gaps)))}
    values = {limit.value for limit in (rules.two, rules.three, rules.sustained)}
    steps = sorted({value / gap for value in values for gap in ticks})
    low, high = 0, len(steps) - 1
    while low < high:
        middle = (low + high) // 2
        if best_hands(line, steps[middle], rules):
            high = middle
        else:
            low = middle + 1
    return steps[low]

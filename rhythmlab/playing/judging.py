"""A sticking that a reader writes down, judged at a tempo: at which stroke a hand comes too soon, and why."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

from rhythmlab.core.call import public, public_class
from rhythmlab.core.check import short, whole
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.shown import Printed
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.playing.hands import Hand, hand, milliseconds, why
from rhythmlab.playing.limits import Limit, Limits
from rhythmlab.playing.phrasing import MOST_STROKES
from rhythmlab.refusal import Refusal
from rhythmlab.words import nth, number


@public_class(
    'check_sticking("RRRR", ms=60).problems[0]', said='check_sticking("RRRR", ms=60).problems[0].said(4)'
)
@dataclass(frozen=True, slots=True)
class Problem:
    """A stroke that comes too soon for its hand.

    Attributes
    ----------
    stroke : int
        Index of the stroke, from 0; beyond the last one it is in the next cycle.
    hand : str
        ``"R"`` or ``"L"``.
    nth : int
        Which stroke of a run it is.
    turned : bool
        Whether the hand plays every other stroke, rather than every stroke.
    ms : Fraction
        Milliseconds since the hand's last stroke.
    limit : Limit
        What it does not keep.
    """

    stroke: int
    hand: str
    nth: int
    turned: bool
    ms: Fraction
    limit: Limit

    def said(self, strokes: int) -> str:
        """Say it, for a cycle of so many strokes; strokes are counted from 1."""
        example = 'check_sticking("RRRR", ms=60).problems[0].said(4)'
        cycle, place = divmod(self.stroke, whole(strokes, "strokes", example))
        later = " of the next cycle" if cycle == 1 else f" of cycle {cycle + 1}"
        where = f"stroke {place + 1}{later if cycle else ''}"
        how = "with the hands taking turns" if self.turned else "in a row"
        return (
            f"{where}: {nth(self.nth - 1)} {self.hand} {how}, {number(self.ms)} ms apart; {why(self.limit)}"
        )


def problems(hands: str, gaps: Sequence[int], tick_ms: Fraction, rules: Hand) -> tuple[Problem, ...]:
    """Return where hands that go round and round come too soon: the first stroke of a run for each limit.

    Parameters
    ----------
    hands : str
        ``R`` and ``L``, one cycle.
    gaps : sequence of int
        Ticks from the stroke before to each stroke, round the cycle.
    tick_ms : Fraction
        Milliseconds of a tick.
    rules : Hand
        The limits.

    Examples
    --------
    >>> [found.stroke for found in problems("RRRL", (1,) * 4, Fraction(100), hand())]
    [2]
    """
    found: list[Problem] = []
    count, told = len(hands), set()
    run = turn = 1
    first = 0  # the stroke that the run, or the taking of turns, began with
    for i in range(1, count + 9):
        same = hands[i % count] == hands[(i - 1) % count]
        if same:
            first, run, turn = (first if run > 1 else i - 1), run + 1, 1
            nth, ms = run, tick_ms * gaps[i % count]
        else:
            first, run, turn = (first if turn > 1 else i - 1), 1, turn + 1
            nth, ms = (turn + 1) // 2, tick_ms * (gaps[i % count] + gaps[(i - 1) % count])
        if nth < 2 or ms >= rules.need(nth).value:
            continue
        limit = rules.need(nth)
        if first < count and (first, same, limit.key) not in told:  # later runs have been told already
            told.add((first, same, limit.key))
            found.append(Problem(i, hands[i % count], nth, not same, ms, limit))
    return tuple(found)


@dataclass(repr=False, frozen=True, slots=True)
class Judged(Printed):
    """What a tempo makes of a sticking; true where it passes.

    Attributes
    ----------
    hands : str
        The sticking, ``R`` and ``L``.
    ms : Fraction
        Milliseconds from stroke to stroke.
    problems : tuple of Problem
        Where a hand comes too soon, the first stroke of a run for each limit; none where it passes.
    fastest_ms : Fraction
        Milliseconds from stroke to stroke at which it passes, and at anything slower; 0 if at any tempo.
    """

    hands: str
    ms: Fraction
    problems: tuple[Problem, ...]
    fastest_ms: Fraction

    def __bool__(self) -> bool:
        return not self.problems

    def __str__(self) -> str:
        return "\n".join(self.said)

    @property
    def said(self) -> tuple[str, ...]:
        """The verdict, in sentences.

        Examples
        --------
        >>> check_sticking("RLRRLRLL", 120).said
        ('R L R R L R L L passes, 125 ms apart; it would down to 80 ms.',)
        """
        letters = " ".join(self.hands) if len(self.hands) <= 24 else f"{' '.join(self.hands[:23])} …"
        if self:
            return (
                f"{letters} passes, {number(self.ms)} ms apart; it would down to "
                f"{number(self.fastest_ms)} ms.",
            )
        told = [f"{problem.said(len(self.hands))}." for problem in self.problems]
        return (
            *told,
            f"{letters} passes from {number(self.fastest_ms)} ms from stroke to stroke, or slower.",
        )


@public("check_sticking('RLRR LRLL', 120)", "limits", bounds="limits")
def check_sticking(
    hands: str,
    tempo: Speed | None = None,
    *,
    ms: int | float | Fraction | None = None,
    limits: Limits | None = None,
) -> Judged:
    """Check a sticking, played round and round in even strokes, against what a hand can do at a tempo.

    Parameters
    ----------
    hands : str
        ``R`` and ``L``, one a stroke; spaces and bar lines ``|`` may stand between them.
    tempo : Tempo or number
        The speed; a number is beats a minute, of the groups that spaces make, or of four strokes to a beat.
    ms : number, optional
        Instead of a tempo: milliseconds from stroke to stroke.
    limits : Limits, optional
        The limits to use; `limits()` when left out.

    Returns
    -------
    Judged
        True where it passes; prints as sentences.

    Raises
    ------
    ValueError
        If there are no strokes, or other letters; or the tempo or the limits are not of the right kind.

    References
    ----------
    The limits ``hand_two`` and ``hand_three`` (common practice, no source) and ``hand_sustained`` (Fujii and
    others 2009).

    Examples
    --------
    >>> bool(check_sticking("RLRR LRLL", 120))
    True
    >>> print(check_sticking("RRRL", ms=100))
    stroke 3: third R in a row, 100 ms apart; three in one hand need 110 ms (common practice).
    R R R L passes from 110 ms from stroke to stroke, or slower.
    """
    rules = hand(limits)
    example = 'check_sticking("RLRR LRLL", 120)'
    if not isinstance(hands, str):
        raise Refusal(f"hands={short(hands)} is not letters", example, argument="hands")
    if len(hands) > 10 * MOST_STROKES:  # with bars and spaces
        raise Refusal(
            f"hands={short(hands)} is a text of {len(hands):,} letters, more than {10 * MOST_STROKES:,}",
            example,
            argument="hands",
        )
    letters = "".join(letter for letter in hands if letter != "|" and not letter.isspace())
    if not letters:
        raise Refusal(f"hands={short(hands)} has no strokes", example, argument="hands")
    for place, letter in enumerate(letters, 1):
        if letter not in "RL":
            grace = ", and lower case is for grace notes" if letter in "rl" else ""
            raise Refusal(
                f"hands={short(hands)} has {letter!r} at stroke {place}; write R or L for each stroke{grace}",
                example,
                argument="hands",
            )
    if len(letters) > MOST_STROKES:
        raise Refusal(f"hands has {len(letters)} strokes, more than {MOST_STROKES}", example)
    count = len(letters)
    cycle = Cycle(count, [Lane("sticking", range(count))], beats=[0])
    if not isinstance(tempo, Tempo):
        cycle = _grouped(hands)
    tick_ms = milliseconds(tempo, ms, cycle, example)
    gaps = (1,) * count
    # Every limit that this sticking ever meets, found at a speed at which none is kept.
    met = problems(letters, gaps, Fraction(1, 10**6), rules)
    least = max((found.limit.value / (2 if found.turned else 1) for found in met), default=Fraction(0))
    return Judged(letters, tick_ms, problems(letters, gaps, tick_ms, rules), least)


def _grouped(hands: str) -> Cycle:
    """Return a cycle whose beats are the groups that spaces and bars make; without any, of four strokes."""
    groups = [len(group) for group in hands.replace("|", " ").split()]
    groups = groups if len(groups) > 1 else [4]
    strokes = range(sum(groups))
    return Cycle(len(strokes), [Lane("sticking", strokes)], beats=[0, *accumulate(groups[:-1])])

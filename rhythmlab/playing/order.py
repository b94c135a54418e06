"""In which order to learn pairs, and which smaller pairs prepare a large one."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import gcd

from rhythmlab import words
from rhythmlab.core.call import public
from rhythmlab.core.check import items, short
from rhythmlab.core.given import Rhythm, polyrhythm
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.shown import Printed
from rhythmlab.refusal import Refusal

#: Pairs that learners of 3:2 passed through, in that order (selfpaced1999).
ROUTE = ((1, 1), (2, 1), (3, 1), (3, 2))
#: Pairs in the order of accuracy measured with 29 percussionists and pianists (uw_dissertation).
MEASURED = ((3, 2), (4, 3), (5, 4))
#: Where no order is published.
HYPOTHESIS = "hypothesis"
#: Most pairs that are put in order.
MOST_PAIRS = 10_000
_ORDER = "order([(7, 4), (4, 3)])"


@dataclass(frozen=True, slots=True)
class Rung:
    """A pair in the order of learning.

    Attributes
    ----------
    polyrhythm : Polyrhythm
        The pair.
    level : int
        Sum of the terms of its continued fraction.
    source : str
        Key of the source that places it, or ``"hypothesis"``.
    why : str
        Why it stands here, in a sentence.
    """

    polyrhythm: Polyrhythm
    level: int
    source: str
    why: str


class Rungs(Printed, tuple[Rung, ...]):
    """Pairs in order; prints one a line, with why it stands there."""

    def __str__(self) -> str:
        return "\n".join(f"{nth}. {rung.why}" for nth, rung in enumerate(self, 1))


def level(p: Polyrhythm) -> int:
    """Return the level of a pair in the Stern-Brocot tree: the sum of its continued-fraction terms.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two pulses; their order and a common factor do not matter.

    References
    ----------
    That a higher level is harder is a hypothesis beyond 5:4. The levels put 3:2, 4:3 and 5:4 in the order
    measured; variability rises with Farey level in other two-hand tasks (Dotov & Trainor 2021, abstract).

    Examples
    --------
    >>> [level(Polyrhythm(*pair)) for pair in ((1, 1), (3, 2), (4, 3), (5, 4), (8, 5), (8, 7))]
    [1, 3, 4, 5, 5, 8]
    """
    return sum(_terms(*_two(p, _ORDER)))


@public(_ORDER)
def order(pairs: Iterable[Rhythm]) -> Rungs:
    """Put pairs in an order in which to learn them.

    Parameters
    ----------
    pairs : iterable of Polyrhythm, Cycle or pairs such as (7, 4)
        Two pulses each.

    Returns
    -------
    tuple of Rung
        By level, then by the larger and the smaller number.  This agrees with both published orders, and
        what neither of them places is marked ``"hypothesis"``.

    Raises
    ------
    ValueError
        If one of them is not a polyrhythm of two pulses.

    References
    ----------
    Perceptual and Motor Skills 1999, 88(3): learners of 3:2 passed through 1:1, 2:1 and 3:1.
    A dissertation at the University of Washington (abstract): accuracy 2:3, then 3:4, then 4:5.

    Examples
    --------
    >>> [(r.polyrhythm.pulses, r.source) for r in order([(7, 4), (4, 3)])]
    [((4, 3), 'uw_dissertation'), ((7, 4), 'hypothesis')]
    """
    if isinstance(pairs, Polyrhythm) or not isinstance(pairs, Iterable):
        raise Refusal(f"order({short(pairs)}) needs a list of pairs", _ORDER)
    given = items(pairs, "pairs", _ORDER, MOST_PAIRS)
    return _ordered(polyrhythm(pair, "a pair", _ORDER) for pair in given)


def _ordered(pairs: Iterable[Polyrhythm]) -> Rungs:
    ranked = sorted(((_rank(p), p) for p in pairs), key=lambda both: both[0])
    return Rungs(Rung(p, rank[0], *_placed(rank)) for rank, p in ranked)


@public("prepare((7, 4))", p="what")
def prepare(what: Rhythm) -> Rungs:
    """List the smaller pairs that prepare a pair, in the order to learn them.

    They are the simple ratios nearest to it (convergents), the two smaller pairs that add up to it (its
    Farey parents), and pairs half as far, a quarter as far and so on towards the last convergent.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two pulses; with more, the pairs among them.

    Returns
    -------
    tuple of Rung
        All marked ``"hypothesis"`` in their sentence, since no study of learning by these steps was found.

    Examples
    --------
    >>> [r.polyrhythm.pulses for r in prepare((7, 4))]
    [(1, 1), (2, 1), (3, 2), (5, 3)]
    >>> [r.polyrhythm.pulses for r in prepare((16, 15))]
    [(1, 1), (2, 1), (4, 3), (8, 7), (15, 14)]
    """
    p = polyrhythm(what, "what", "prepare((7, 4))")
    if len(p.pulses) > 2:
        among = {(a, b): None for i, a in enumerate(p.pulses) for b in p.pulses[i + 1 :]}
        return Rungs(
            Rung(r.polyrhythm, r.level, HYPOTHESIS, f"Two of the pulses of {words.pair(p)} ({HYPOTHESIS}).")
            for r in _ordered(Polyrhythm(*pair) for pair in among)
        )
    high, low = _two(p, "prepare(Polyrhythm(7, 4))")
    found = _smaller(high, low)
    back = p.pulses[0] < p.pulses[1]

    def turned(pair: tuple[int, int]) -> tuple[int, int]:
        return (pair[1], pair[0]) if back else pair

    rungs = []
    for pair in sorted(found, key=lambda pair: (sum(_terms(*pair)), *pair)):
        smaller, other = Polyrhythm(*turned(pair)), found[pair]
        how = (
            other if isinstance(other, str) else f"and {' against '.join(map(str, turned(other)))} add up to"
        )
        why = f"{words.pair(smaller)} {how} {words.pair(p.reduced)} ({HYPOTHESIS})."
        rungs.append(Rung(smaller, sum(_terms(*pair)), HYPOTHESIS, why))
    return Rungs(rungs)


def _two(p: Polyrhythm, example: str) -> tuple[int, int]:
    """Return the two pulses in lowest terms, the larger first."""
    if len(p.pulses) != 2:
        raise Refusal(f"{short(p)} has {len(p.pulses)} pulses; the order of learning is by pairs", example)
    common = gcd(*p.pulses)
    return max(p.pulses) // common, min(p.pulses) // common


def _terms(high: int, low: int) -> list[int]:
    """Terms of the continued fraction of ``high / low``."""
    found = []
    while low:
        found.append(high // low)
        high, low = low, high % low
    return found


def _rank(p: Polyrhythm) -> tuple[int, int, int]:
    high, low = _two(p, _ORDER)
    return sum(_terms(high, low)), high, low


def _placed(rank: tuple[int, int, int]) -> tuple[str, str]:
    """Return the source that places a pair, and the sentence."""
    found, *pair = rank
    name = f"{pair[0]} against {pair[1]}"
    if tuple(pair) in ROUTE:
        route = ", ".join(f"{a}:{b}" for a, b in ROUTE)
        return "selfpaced1999", f"{name}: on the way of learners of 3:2, {route} (selfpaced1999)."
    if tuple(pair) in MEASURED:
        return (
            "uw_dissertation",
            f"{name}: of 3:2, 4:3 and 5:4, the smaller were played more accurately (uw_dissertation).",
        )
    return (
        HYPOTHESIS,
        f"{name}: level {found} of the Stern-Brocot tree; harder with each level ({HYPOTHESIS}).",
    )


def _smaller(high: int, low: int) -> dict[tuple[int, int], str | tuple[int, int]]:
    """Smaller pairs of a pair, each with what makes it one: words, or the pair it adds up with."""
    *terms, end = _terms(high, low)
    last, before = (1, 0), (0, 1)
    found: dict[tuple[int, int], str | tuple[int, int]] = {}
    for term in terms:
        last, before = (term * last[0] + before[0], term * last[1] + before[1]), last
        found[last] = "is a simple ratio near"

    def along(steps: int) -> tuple[int, int]:
        return steps * last[0] + before[0], steps * last[1] + before[1]

    for halving in range(1, end.bit_length()):  # half as far, a quarter as far and so on
        found.setdefault(along(end >> halving), "is on the way to")
    one, other = last, along(end - 1)
    for pair, partner in ((one, other), (other, one)):
        if min(pair) and min(partner):
            found[pair] = partner
        elif min(pair):
            found.setdefault(pair, "is on the way to")
    return found

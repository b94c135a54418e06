"""Who has which tempos: each way and each road one unbroken span, and every tempo one of them."""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

#: A piece of the scale: first and last cell, both in it.
Piece: TypeAlias = tuple[int, int]
#: What it costs to use a road at a tempo at which no hands go there: always more than any order of roads;
#: and to slow down to the way below: more than that.
_TOO_FAST, _SLOW_DOWN = 10_000, 1_000_000


@dataclass(frozen=True, slots=True)
class Stretch:
    """Tempos that are wanted, both ends among them; ``None`` is no end.

    Attributes
    ----------
    low, high : Fraction or None
        Beats a minute of home.
    below : bool
        Whether `high` itself is left out.
    above : bool
        Whether `low` itself is left out.
    """

    low: Fraction | None
    high: Fraction | None
    below: bool = False
    above: bool = False


@dataclass(frozen=True, slots=True)
class Share:
    """Tempos of one owner, slow to fast.

    Attributes
    ----------
    low, high : Fraction or None
        Beats a minute of home.
    with_low, with_high : bool
        Whether the ends themselves are among them.
    owner : int
        Index of the way, or of the road after the ways; after the roads, of the way to slow down to, and
        after those of the way to speed up to.
    """

    low: Fraction | None
    high: Fraction | None
    with_low: bool
    with_high: bool
    owner: int

    def __contains__(self, bpm: Fraction) -> bool:
        slow = self.low is not None and (bpm < self.low or (bpm == self.low and not self.with_low))
        fast = self.high is not None and (bpm > self.high or (bpm == self.high and not self.with_high))
        return not (slow or fast)


def share_out(
    ways: Sequence[tuple[int, Stretch]],
    roads: Sequence[Stretch],
    first: int,
    whole: Sequence[tuple[int, Stretch]] = (),
    begin: Fraction | None = None,
) -> list[Share]:
    """Give every tempo to a way that wants it, else to a road; nobody has two spans.

    Where there are more holes than roads, what is left is slowing down to the way below.  Below all ways
    one speeds up to the slowest of them, where the roads start no slower than it does.

    Parameters
    ----------
    ways : sequence of (int, Stretch)
        Owner and what it wants, the most wanted first; each takes the longest piece that is left of it.
        A later wish of the same owner only goes on from what it has.
    roads : sequence of Stretch
        What each can do, the most wanted first; the last one goes on where no hands go.
    whole : sequence of (int, Stretch)
        Where each way fits, wanted or not: no road is laid there.
    first : int
        Owner number of the first road; slowing down to a way has its number after that of the last road, and
        speeding up to one its number after those, as many as there are ways before the roads.
    begin : Fraction, optional
        The tempo at which roads start where they are asked for a slower one.

    Returns
    -------
    list of Share
        Slow to fast, without a hole.

    Examples
    --------
    >>> a, b = Fraction(40), Fraction(90)
    >>> found = share_out([(0, Stretch(a, b))], [Stretch(None, a), Stretch(None, None)], 1)
    >>> [(one.owner, one.high) for one in found]
    [(1, Fraction(40, 1)), (0, Fraction(90, 1)), (2, None)]
    >>> found = share_out([(0, Stretch(a, b))], [Stretch(None, None)], 1, begin=b)
    >>> [(one.owner, one.high) for one in found]  # 3: speed up to the way
    [(3, Fraction(40, 1)), (0, Fraction(90, 1)), (1, None)]
    """
    scale = _Scale([*(stretch for _, stretch in (*ways, *whole)), *roads])
    owners: list[int | None] = [None] * scale.cells
    for owner, stretch in ways:
        scale.claim(owners, owner, scale.piece(stretch))
    reach = [scale.piece(stretch) for stretch in roads]
    _fill(owners, [(owner, scale.piece(stretch)) for owner, stretch in whole])
    slowest = next((i for i, owner in enumerate(owners) if owner is not None), 0)
    edge = scale.low_of(slowest)
    if begin is not None and edge is not None and edge <= begin:
        sped: int = first + len(roads) + first + (owners[slowest] or 0)
        owners[:slowest] = [sped] * slowest
    laid = _laid(owners, reach)
    full = [first + road if owner is None else owner for owner, road in zip(owners, laid, strict=True)]
    return scale.shares(full)


class _Scale:
    """All tempos, cut into cells: between two edges, on an edge, between two edges and so on."""

    def __init__(self, stretches: Iterable[Stretch]) -> None:
        ends = {end for one in stretches for end in (one.low, one.high)}
        self.edges = sorted(end for end in ends if end is not None)
        self.cells = 2 * len(self.edges) + 1

    def piece(self, stretch: Stretch) -> Piece:
        low = 0 if stretch.low is None else 2 * bisect_left(self.edges, stretch.low) + 1 + stretch.above
        if stretch.high is None:
            return low, self.cells - 1
        return low, 2 * bisect_left(self.edges, stretch.high) + 1 - stretch.below

    def claim(self, owners: list[int | None], owner: int, wanted: Piece) -> None:
        """Give an owner the longest free piece of what it wants, beside what it has if it has any."""
        pieces = _pieces(owners, wanted)
        if owner in owners:
            has = [i for i, one in enumerate(owners) if one == owner]
            pieces = [one for one in pieces if has[-1] + 1 == one[0] or one[1] + 1 == has[0]]
        if pieces:
            start, stop = max(pieces, key=self._length)
            owners[start : stop + 1] = [owner] * (stop + 1 - start)

    def _length(self, piece: Piece) -> tuple[bool, Fraction]:
        """Return whether a piece has no end, and its length as a ratio."""
        low, high = self.low_of(piece[0]), self._high(piece[1])
        return low is None or high is None, Fraction(1) if low is None or high is None else high / low

    def low_of(self, cell: int) -> Fraction | None:
        """Return the slow end of a cell."""
        return self.edges[(cell - 1) // 2] if cell else None

    def _high(self, cell: int) -> Fraction | None:
        return self.edges[cell // 2] if cell < self.cells - 1 else None

    def shares(self, owners: Sequence[int]) -> list[Share]:
        starts = [i for i in range(self.cells) if not i or owners[i] != owners[i - 1]]
        found = []
        for start, after in zip(starts, [*starts[1:], self.cells], strict=True):
            stop = after - 1
            low, high = self.low_of(start), self._high(stop)
            found.append(Share(low, high, start % 2 == 1, stop % 2 == 1, owners[start]))
        return found


def _pieces(owners: Sequence[int | None], wanted: Piece) -> list[Piece]:
    """Return the free pieces of what is wanted."""
    found: list[Piece] = []
    for i in range(wanted[0], wanted[1] + 1):
        if owners[i] is None:
            if found and found[-1][1] == i - 1:
                found[-1] = (found[-1][0], i)
            else:
                found.append((i, i))
    return found


def _fill(owners: list[int | None], whole: Sequence[tuple[int, Piece]]) -> None:
    """Give each free cell where a way fits to the one beside it, to one that has none, or to the nearest.

    The nearest then has all between too, which it fits as well, so that it stays in one piece.
    """
    for i, owner in enumerate(owners):
        fitting = [one for one, (low, high) in whole if low <= i <= high]
        if owner is not None or not fitting:
            continue

        def far(one: int, i: int = i) -> int:
            return min((abs(i - at) for at, has in enumerate(owners) if has == one), default=1)

        nearest = min(fitting, key=far)
        span = [at for at, has in enumerate(owners) if has == nearest] or [i]
        low, high = min(i, span[0]), max(i, span[-1])
        owners[low : high + 1] = [nearest] * (high + 1 - low)


def _laid(owners: Sequence[int | None], reach: Sequence[Piece]) -> list[int]:
    """Lay roads over all free cells, each in one piece, as cheaply as can be.

    A road costs its place in the order at each cell, little at the slow end, where few play. None is laid
    where it does not begin yet; above all ways it may be where it does not go any more, and the last road is
    cheapest there. The way below, slowed down to, has its number after the roads.
    """
    many, top = len(reach), max((i for i, owner in enumerate(owners) if owner is not None), default=-1)
    best: dict[tuple[int, int], tuple[int, list[int]]] = {(0, -1): (0, [])}  # roads used, road now
    below: int | None = None
    for i, owner in enumerate(owners):
        after: dict[tuple[int, int], tuple[int, list[int]]] = {}
        for (used, now), (cost, laid) in best.items():
            if owner is not None:
                _keep(after, (used, -1), cost, [*laid, -1])
                continue
            for road in range(many):
                far = i > reach[road][1]
                if i < reach[road][0] or (far and i < top) or (road != now and used >> road & 1):
                    continue
                more = cost + (road + 1) * (10 if i else 1) + (_TOO_FAST + 10 * (many - road)) * far
                _keep(after, (used | 1 << road, road), more, [*laid, road])
            if below is not None and now in (-1, many + below):
                _keep(after, (used, many + below), cost + _SLOW_DOWN, [*laid, many + below])
        best, below = after, below if owner is None else owner
    return min(best.values(), key=lambda one: one[0])[1]


def _keep(
    best: dict[tuple[int, int], tuple[int, list[int]]], key: tuple[int, int], cost: int, laid: list[int]
) -> None:
    if key not in best or cost < best[key][0]:
        best[key] = (cost, laid)

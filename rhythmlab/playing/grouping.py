"""Whole numbers as ordered groups: how many ways, and the best by an exact order.

The best come first by, in this order: fewest kinds of group; fewest changes from one kind to another, where
those of one half count if both halves are alike; ending on the shortest group; fewest groups; halves alike;
longer groups earlier.
"""

import heapq
from collections.abc import Iterable
from itertools import combinations, groupby
from math import gcd
from typing import TypeAlias

#: What phrases are ordered by: cost, whether it has no half, and the groups, larger first.
_Key: TypeAlias = tuple[int, bool, tuple[int, ...]]
#: One number holds changes, ending and groups, in this order, so that it can be added and compared.
_LONG = 1 << 20
_CHANGE = 1 << 21


def runs(groups: Iterable[int]) -> list[tuple[int, int]]:
    """Return the runs of groups alike: size and how many.

    Examples
    --------
    >>> runs([4, 4, 3])
    [(4, 2), (3, 1)]
    """
    return [(size, len(list(alike))) for size, alike in groupby(groups)]


def ways(number: int, sizes: tuple[int, ...], start: tuple[int, ...] = ()) -> int:
    """Count the orders of groups that come to a number, exactly.

    Parameters
    ----------
    number : int
        Strokes.
    sizes : tuple of int
        Sizes of group, each once.
    start : tuple of int
        Groups it begins with.

    Examples
    --------
    >>> ways(11, (2, 3, 4))
    24
    """
    rest, kept = number - sum(start), max(sizes)
    if rest < 0:
        return 0
    last = [0] * (kept - 1) + [1]  # the ways to make the numbers before, the nearest last
    for _ in range(rest):
        last.append(sum(last[-size] for size in sizes))
        del last[0]
    return last[-1]


def best(number: int, sizes: tuple[int, ...], start: tuple[int, ...], most: int) -> list[tuple[int, ...]]:
    """Return the best few orders of groups that come to a number, the best first.

    Parameters
    ----------
    number : int
        Strokes.
    sizes : tuple of int
        Sizes of group, each once.
    start : tuple of int
        Groups it begins with, of any size.
    most : int
        How many to return at most.

    Notes
    -----
    A best-first search for each set of kinds, guided by the exact cost of the best way to finish, so that
    it opens little more than it returns.
    Phrases with halves alike are found as halves, and the two lists are merged.

    Examples
    --------
    >>> best(15, (2, 3, 4), (), 2)
    [(3, 3, 3, 3, 3), (4, 4, 4, 3)]
    """
    every = sorted({*sizes, *start}, reverse=True)
    found: list[tuple[int, ...]] = []
    for kinds in range(1, len(every) + 1):
        level: dict[tuple[int, ...], _Key] = {}
        wanted = most - len(found)
        for used in combinations(every, kinds):
            if set(start) <= set(used) and not _missing(number - sum(start), used, sizes, start):
                enough = sorted(level.values())[wanted - 1][0] if len(level) >= wanted else None
                for key, groups in _of_kinds(number, used, sizes, start, wanted, enough):
                    level[groups] = min(level.get(groups, key), key)
        found += sorted(level, key=level.__getitem__)
        if len(found) >= most:
            break
    return found[:most]


def _of_kinds(
    number: int,
    used: tuple[int, ...],
    sizes: tuple[int, ...],
    start: tuple[int, ...],
    most: int,
    enough: int | None,
) -> list[tuple[_Key, tuple[int, ...]]]:
    """Return the best phrases of exactly these kinds with their keys; one may be there under two keys.

    None that costs more than `enough` is needed.
    """
    finish = _to_go(number - sum(start), used, sizes, start)
    found = []
    for cost, groups in _best(number, used, sizes, start, most, enough, finish):
        found.append(((cost, True, tuple(-size for size in groups)), groups))
    if number % 2 == 0:
        half, allowed = number // 2, set(sizes)
        halves = []
        if set(start) <= allowed and sum(start) <= half:
            halves = _best(half, used, sizes, start, most, enough, finish)
        for length in range(1, len(start)):  # the fixed groups reach into the second half
            groups = start[:length]
            if sum(groups) == half and set(groups) == set(used):
                twice = groups + groups
                if twice[: len(start)] == start and set(twice[len(start) :]) <= allowed:
                    cost = (len(runs(groups)) - 1) * _CHANGE + (groups[-1] != min(used)) * _LONG + length
                    halves.append((cost, groups))
        for cost, groups in halves:
            twice = groups + groups
            found.append(((cost + len(groups), False, tuple(-size for size in twice)), twice))
    return found


def _missing(rest: int, used: tuple[int, ...], sizes: tuple[int, ...], start: tuple[int, ...]) -> bool:
    """Return whether these kinds plainly cannot all be used, and come to the rest."""
    step = gcd(*(size for size in used if size in sizes))  # 0 where no size is free
    left = rest - sum(size for size in used if size not in start)
    return left < 0 or (left % step != 0 if step else left > 0)


def _to_go(
    rest: int, used: tuple[int, ...], sizes: tuple[int, ...], start: tuple[int, ...]
) -> list[dict[tuple[int, int], int]]:
    """Return, for every number left up to the rest, what the best way to finish costs.

    By last group and kinds seen so far, one bit a kind; a state with no way to finish is left out.
    """
    bits = [(size, 1 << i) for i, size in enumerate(used)]
    full, shortest = (1 << len(used)) - 1, min(used)
    finish: list[dict[tuple[int, int], int]] = [{(size, full): (size != shortest) * _LONG for size in used}]
    for left in range(1, rest + 1):
        here: dict[tuple[int, int], int] = {}
        for size, one in bits:
            if size > left or size not in sizes:
                continue
            for (last, seen), cost in finish[left - size].items():
                if last != size:
                    continue
                for before in (seen, seen ^ one):
                    for previous, bit in bits:
                        if before & bit:
                            new = cost + 1 + (previous != size) * _CHANGE
                            state = (previous, before)
                            if new < here.get(state, new + 1):
                                here[state] = new
        finish.append(here)
    return finish


def _best(
    total: int,
    used: tuple[int, ...],
    sizes: tuple[int, ...],
    start: tuple[int, ...],
    most: int,
    enough: int | None,
    finish: list[dict[tuple[int, int], int]],
) -> list[tuple[int, tuple[int, ...]]]:
    """Return the cheapest phrases of exactly these kinds, in order, none that costs more than `enough`."""
    rest = total - sum(start)
    if _missing(rest, used, sizes, start):
        return []
    bit = {size: 1 << i for i, size in enumerate(used)}
    free = [(size, one) for size, one in bit.items() if size in sizes]
    heap: list[tuple[int, tuple[int, ...], int, int, int]] = []
    if start:
        begun = sum(bit[size] for size in set(start))
        spent = len(start) + (len(runs(start)) - 1) * _CHANGE
        ahead = finish[rest].get((start[-1], begun))
        if ahead is not None:
            heap.append((spent + ahead, tuple(-size for size in start), rest, begun, spent))
    else:
        for size, one in free:
            ahead = finish[rest - size].get((size, one)) if size <= rest else None
            if ahead is not None:
                heap.append((1 + ahead, (-size,), rest - size, one, 1))
    heapq.heapify(heap)
    found: list[tuple[int, tuple[int, ...]]] = []
    while heap and len(found) < most:
        cost, signed, left, seen, spent = heapq.heappop(heap)
        if enough is not None and cost > enough:
            break
        if not left:
            found.append((cost, tuple(-size for size in signed)))
            continue
        for size, one in free:
            ahead = finish[left - size].get((size, seen | one)) if size <= left else None
            if ahead is not None:
                so_far = spent + 1 + (size != -signed[-1]) * _CHANGE
                heapq.heappush(heap, (so_far + ahead, (*signed, -size), left - size, seen | one, so_far))
    return found

"""A large number said as small groups: how many ways there are, the best few with reasons, their counts."""

import heapq
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations, groupby
from math import gcd
from typing import TypeAlias

from rhythmlab.core.check import items, short, whole
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.display import InNotebook, Listed
from rhythmlab.core.public import public, public_class
from rhythmlab.refusal import Refusal
from rhythmlab.text.counts import words_aloud
from rhythmlab.text.numbers import plural, some, times, word

#: Longest number that is phrased, longest group, and most phrases at once; longest number counted, of which
#: the ways can still be printed.
MOST_STROKES, LONGEST_GROUP, MOST_PHRASES, MOST_COUNTED = 1000, 16, 1000, 10_000
#: Most strokes in all phrases that are searched for at once.
MOST_SEARCHED = 100_000
_NAMES = (
    *("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"),
    *("thirteen", "fourteen", "fifteen", "sixteen"),
)
#: What is said after the first stroke of a group (``eastman``) or from it (``takadimi``), by size.
#: eastman: [froseth_counting] for 3, 4 and 6; 2 from memory.
#: takadimi: [hoffman1996] as quoted elsewhere; the order for 5 from memory.
_SYLLABLES = {
    "eastman": {
        1: (),
        2: ("te",),
        3: ("la", "li"),
        4: ("ti", "te", "ta"),
        6: ("ta", "la", "ta", "li", "ta"),
    },
    "takadimi": {
        1: ("ta",),
        2: ("ta", "di"),
        3: ("ta", "ki", "da"),
        4: ("ta", "ka", "di", "mi"),
        5: ("ta", "ka", "di", "mi", "ti"),
        6: ("ta", "va", "ki", "di", "da", "ma"),
    },
}
#: From so many groups on, advice says them run by run (own choice, no source).
_MANY_GROUPS = 7
#: Most runs of equal groups that are said in words.
_MOST_RUNS = 8
#: The same for a group that is left over from fours: the first of their words, as three are "1 e &" in beats.
_LEFT_OVER = {
    "eastman": {2: ("ti",), 3: ("ti", "te")},
    "takadimi": {2: ("ta", "ka"), 3: ("ta", "ka", "di")},
}
COUNTS = ("numbers", "groups", "beats", *_SYLLABLES)
#: Where no group is longer, its strokes are eighths, and else sixteenths, as in the words of a beat.
LONGEST_TRIPLE = 3
_EXAMPLE = "phrases(31, allowed=(2, 3, 4))"
#: Most letters of what is said for a group.
_MOST_SAID = 200
#: What phrases are ordered by: cost, whether it has no half, and the groups, larger first.
_Key: TypeAlias = tuple[int, bool, tuple[int, ...]]
#: One number holds changes, ending and groups, in this order, so that it can be added and compared.
_ENDS_LONG = 1 << 20
_CHANGE = 1 << 21


@public_class("phrases(31)[0]", spoken="phrases(31)[0].spoken()", cycle="phrases(31)[0].cycle()")
@dataclass(frozen=True, slots=True, init=False, repr=False)
class Phrase(InNotebook):
    """A number of equal strokes as groups, in the order they are played.

    Parameters
    ----------
    groups : sequence of int
        Strokes in each group, whole numbers from 1 to 16.

    Raises
    ------
    ValueError
        If there are none, one is not such a number, or they come to more than 1000 strokes.

    Examples
    --------
    >>> Phrase([4, 4, 5]).text
    '13 as two fours and a five'
    """

    groups: tuple[int, ...]

    def __init__(self, groups: Iterable[int]) -> None:
        found = _sizes(groups, "groups", "stick((4, 3, 4, 3), 125)")
        if not 0 < sum(found) <= MOST_STROKES:
            what = f"come to {sum(found)} strokes, more than {MOST_STROKES}" if found else "are empty"
            raise Refusal(f"groups={short(found)} {what}", "stick((4, 3, 4, 3), 125)", argument="groups")
        object.__setattr__(self, "groups", found)

    def __repr__(self) -> str:
        return f"Phrase({self})"

    def __str__(self) -> str:
        return " ".join(map(str, self.groups))

    def __len__(self) -> int:
        return len(self.groups)

    @property
    def ticks(self) -> int:
        """Strokes in the phrase, one a tick."""
        return sum(self.groups)

    @property
    def starts(self) -> tuple[int, ...]:
        """Ticks of the first stroke of each group.

        Examples
        --------
        >>> Phrase([4, 4, 5]).starts
        (0, 4, 8)
        """
        return tuple(sum(self.groups[:i]) for i in range(len(self.groups)))

    @property
    def text(self) -> str:
        """The phrase in words, run by run.

        Examples
        --------
        >>> Phrase([3, 4, 3, 4]).text
        '14 as a three, a four, a three and a four'
        """
        return f"{self.ticks} as {_in_runs(runs(self.groups)) or some(map(str, self.groups), 16, ' ')}"

    @property
    def halves_alike(self) -> bool:
        """Whether the second half of the groups repeats the first."""
        middle = len(self.groups) // 2
        return self.groups[:middle] == self.groups[middle:]

    @property
    def reasons(self) -> tuple[str, ...]:
        """What speaks for the phrase, and against it, in sentences.

        Examples
        --------
        >>> for reason in Phrase([4, 4, 5]).reasons: print(reason)
        Two kinds of group: fives and fours.
        One change: two fours, then a five.
        It ends long, on a five.
        Three groups to count.
        """
        groups, alike = self.groups, runs(self.groups)
        kinds = sorted(set(groups), reverse=True)
        names = [_plural(size) for size in kinds]
        told = []
        if len(kinds) == 1:
            told.append(f"One kind of group: {_run_text(*alike[0])}.")
        else:
            told.append(
                f"{word(len(kinds)).capitalize()} kinds of group: {', '.join(names[:-1])} and {names[-1]}."
            )
            listed = f": {', then '.join(_run_text(*run) for run in alike)}" if len(alike) < 6 else ""
            changes = len(alike) - 1
            told.append(f"{word(changes).capitalize()} change{'s' * (changes > 1)}{listed}.")
        if self.halves_alike:
            half = " ".join(map(str, groups[: len(groups) // 2]))
            told.append(f"Both halves are alike: learn {half}, and play it twice.")
        if len(kinds) > 1:
            end = _run_text(groups[-1], 1)
            ends = f"It ends short, on {end}" if groups[-1] == kinds[-1] else f"It ends long, on {end}"
            told.append(f"{ends}.")
        many = f"{word(len(groups)).capitalize()} group{'s' * (len(groups) > 1)}"
        return (*told, f"{many} to count.")

    def spoken(self, syllables: str = "numbers") -> tuple[str, ...]:
        """Say the count of each group.

        Parameters
        ----------
        syllables : str
            ``"numbers"``: each group from 1.
            ``"groups"``: the same, but the first word is the number of the group.
            ``"beats"``: each group as a beat, "1 e & a", three left over "1 e &"; where no group is
            longer than three, as eighths, "1 & a"; five and more in fours and threes, "1 e & TA e".
            ``"eastman"``: "1 ti te ta", three left over "1 ti te"; where no group is longer than three,
            "1 la li".
            ``"takadimi"``: "ta ka di mi", three left over "ta ka di"; where no group is longer than three,
            "ta ki da".
            Where ``"eastman"`` has no words for a group of that size, it is said as in ``"beats"``, and where
            ``"takadimi"`` has none, its strokes are numbered.

        Returns
        -------
        tuple of str
            One for each group, a word a stroke.

        Raises
        ------
        ValueError
            If there is no such way of counting.

        References
        ----------
        Froseth/Eastman comparison page; Hoffman, Pelto & White 1996 (as quoted elsewhere); the others
        are common practice, no source.

        Examples
        --------
        >>> Phrase([4, 4, 5]).spoken("beats")
        ('1 e & a', '2 e & a', '3 e & TA e')
        >>> Phrase([4, 4, 5]).spoken("groups")
        ('1 2 3 4', '2 2 3 4', '3 2 3 4 5')
        """
        return tuple(" ".join(words) for words in self.said(syllables))

    def said(self, syllables: str) -> tuple[tuple[str, ...], ...]:
        """Return the count of each group as `spoken` says it, a word a stroke.

        Examples
        --------
        >>> Phrase([4, 3]).said("beats")
        (('1', 'e', '&', 'a'), ('2', 'e', '&'))
        """
        if not isinstance(syllables, str) or syllables not in COUNTS:
            raise Refusal(
                f"syllables={short(syllables)} is no way of counting here; there are {', '.join(COUNTS)}",
                'phrases(14)[0].spoken("beats")',
                argument="syllables",
            )
        said = []
        for number, size in enumerate(self.groups, 1):
            words = _SYLLABLES.get(syllables, {}).get(size)
            if max(self.groups) > LONGEST_TRIPLE:
                words = _LEFT_OVER.get(syllables, {}).get(size, words)
            if syllables == "beats" or (syllables == "eastman" and words is None):
                said.append(words_aloud(number, size, max(self.groups)))
                continue
            if words is None:
                words = tuple(map(str, range(2, size + 1)))
                own = syllables in ("numbers", "takadimi")
                words = ("1" if own else str(number), *words)
            elif syllables != "takadimi":
                words = (str(number), *words)
            said.append(tuple(words))
        return tuple(said)

    def cycle(self, *, name: str = "phrase", limb: str = "", sound: str = "click", hands: str = "") -> Cycle:
        """Return the phrase as a cycle: a stroke on every tick, an accent and a beat on every group start.

        Parameters
        ----------
        name, limb, sound, hands : str
            Of its lane, as for `Lane`.

        Examples
        --------
        >>> cycle = Phrase([2, 3]).cycle(hands="RLRLL")
        >>> cycle, cycle.lanes[0].accents
        (Cycle(5 ticks, beats 0 2, bars 0, lanes 'phrase': 0 1 2 3 4, hands RLRLL), (0, 2))
        """
        lane = Lane(name, range(self.ticks), limb=limb, sound=sound, accents=self.starts, hands=hands)
        return Cycle(self.ticks, [lane], beats=self.starts, bars=[0])


def words_spoken(spoken: Iterable[str], cycle: object, example: str) -> tuple[str, ...]:
    """Return the words that a phrase is said in, a word a stroke, or refuse them; none where none are given.

    Examples
    --------
    >>> words_spoken(Phrase([4, 3]).spoken(), Phrase([4, 3]).cycle(), "score((7, 4))")
    ('1', '2', '3', '4', '1', '2', '3')
    """
    groups = items(spoken, "spoken", example, MOST_STROKES, "words")
    if not groups:
        return ()
    for one in groups:
        if not isinstance(one, str) or not one.strip() or not one.isprintable() or len(one) > _MOST_SAID:
            raise Refusal(
                f"spoken={short(groups)} holds {short(one)}, which is not the words of a group",
                example,
                argument="spoken",
            )
    words = tuple(said for one in groups for said in one.split())
    played = isinstance(cycle, Cycle) and len(cycle.lanes) == 1 and len(cycle.lanes[0].onsets) == cycle.ticks
    if not isinstance(cycle, Cycle) or not played:
        raise Refusal(
            "spoken is for a phrase, a stroke on every tick, and this rhythm is none",
            example,
            argument="spoken",
        )
    if cycle.ticks % len(words):
        many, strokes = plural(len(words), "word"), plural(cycle.ticks, "stroke")
        raise Refusal(f"spoken has {many}, which do not fill {strokes}", example, argument="spoken")
    return words


@public("playing.count_phrases(31)")
def count_phrases(n: int, allowed: Iterable[int] = (2, 3, 4, 5), *, fixed: Iterable[int] = ()) -> int:
    """Count the ways to say a number as ordered groups, exactly.

    Parameters
    ----------
    n : int
        Strokes, from 1 to 10 000.
    allowed : sequence of int
        Sizes of group, from 1 to 16.
    fixed : sequence of int
        Groups that the phrase begins with, of any size.

    Returns
    -------
    int
        0 where the number cannot be made.

    Raises
    ------
    ValueError
        If a number is not such a whole number, or no size is allowed.

    Examples
    --------
    >>> count_phrases(13), count_phrases(64, (2, 3, 4)), count_phrases(13, fixed=[4, 4])
    (87, 15308187336, 3)
    """
    number, sizes, start = _asked(n, allowed, fixed, MOST_COUNTED)
    return count_orders(number, sizes, start)


@public("phrases(31)")
def phrases(
    n: int, *, allowed: Iterable[int] = (2, 3, 4, 5), fixed: Iterable[int] = (), most: int = 10
) -> tuple[Phrase, ...]:
    """Return the best few ways to say a number as groups, the best first.

    Parameters
    ----------
    n : int
        Strokes, from 1 to 1000.
    allowed : sequence of int
        Sizes of group, from 1 to 16.
    fixed : sequence of int
        Groups that the phrase begins with; they may be of a size that is not allowed elsewhere.
    most : int
        How many to return at most, up to 1000.

    Returns
    -------
    tuple of Phrase
        Fewer than `most` only where there are no more.

    Raises
    ------
    ValueError
        If the number cannot be made from these groups (the message names numbers near it that can), or
        a number is not such a whole number.

    Notes
    -----
    First come all fours, then two halves alike of which each is one of these first ones, then fours with
    one other group last (the nearest to four first), then one kind of group, of threes or more (the largest
    first).  Where no fours are allowed their place is taken by the next size below, or else the smallest.
    All others follow by fewer kinds of group, fewer changes, a short last group, fewer groups, halves that
    are alike, and larger groups earlier.  (A choice made here, no source.)

    Examples
    --------
    >>> phrases(31)[0], phrases(13)[0]
    (Phrase(4 4 4 4 4 4 4 3), Phrase(4 4 5))
    >>> phrases(14, most=3)
    (Phrase(4 3 4 3), Phrase(4 4 4 2), Phrase(2 2 2 2 2 2 2))
    """
    number, sizes, start = _asked(n, allowed, fixed, MOST_STROKES)
    most = whole(most, "most", "phrases(31, most=10)")
    if most > MOST_PHRASES:
        raise Refusal(
            f"most={short(most)} is more than {MOST_PHRASES} phrases", "phrases(31, most=10)", argument="most"
        )
    if number * most > MOST_SEARCHED:
        raise Refusal(
            f"most={most} phrases of {number} have {number * most:,} strokes, more than {MOST_SEARCHED:,}",
            f"phrases(31, most={min(most, MOST_SEARCHED // number)})",
            argument="most",
        )
    if not count_orders(number, sizes, start):
        raise _no_phrase(number, sizes, start)
    return Listed(Phrase(groups) for groups in best_groups(number, sizes, start, most))


def _sizes(values: object, name: str, example: str) -> tuple[int, ...]:
    given = items(values, name, example, MOST_STROKES, "groups")
    found = tuple(whole(value, f"a group in {name}", example) for value in given)
    if found and max(found) > LONGEST_GROUP:
        raise Refusal(
            f"{name}={short(found)} has a group of {short(max(found))}, longer than {LONGEST_GROUP}",
            example,
            argument=name,
        )
    return found


def _asked(
    n: object, allowed: object, fixed: object, limit: int
) -> tuple[int, tuple[int, ...], tuple[int, ...]]:
    number = whole(n, "n", "phrases(31)")
    if number > limit:
        raise Refusal(f"n={short(number)} is more than {limit} strokes", "phrases(31)", argument="n")
    sizes = _sizes(allowed, "allowed", "phrases(31, allowed=(2, 3, 4))")
    if not sizes:
        raise Refusal(f"allowed={short(allowed)} names no size of group", _EXAMPLE, argument="allowed")
    return number, tuple(sorted(set(sizes))), _sizes(fixed, "fixed", "phrases(31, fixed=(4, 4))")


def _no_phrase(number: int, sizes: tuple[int, ...], start: tuple[int, ...]) -> Refusal:
    """Say that a number cannot be made, and which numbers near it can."""
    begins = f" after {some(start, 16, ' ')}" if start else ""
    names = [str(size) for size in sizes]
    of = f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]
    can = [
        m
        for m in range(max(1, number - 2 * LONGEST_GROUP), max(number, sum(start)) + 2 * LONGEST_GROUP)
        if m <= MOST_STROKES and count_orders(m, sizes, start)
    ]
    near = sorted(sorted(can, key=lambda m: (abs(m - number), m))[:4])
    if not near:
        return Refusal(f"{number} cannot be made from groups of {of}{begins}", "phrases(31)")
    with_fixed = f", fixed={start}" if start else ""
    if len(start) > 40:
        return Refusal(f"{number} cannot be made from groups of {of}{begins}", "phrases(31)")
    nearest = min(near, key=lambda m: abs(m - number))
    return Refusal(
        f"{number} cannot be made from groups of {of}{begins}; near it {', '.join(map(str, near))} can",
        f"phrases({nearest}, allowed={sizes}{with_fixed})",
    )


def _plural(size: int) -> str:
    return f"{_NAMES[size - 1]}{'es' if size == 6 else 's'}"


def _run_text(size: int, count: int) -> str:
    if count == 1:
        return f"{'an' if size in (8, 11) else 'a'} {_NAMES[size - 1]}"
    return f"{word(count)} {_plural(size)}"


def runs(groups: Iterable[int]) -> list[tuple[int, int]]:
    """Return runs of equal groups, each as size and how many.

    Examples
    --------
    >>> runs([4, 4, 5])
    [(4, 2), (5, 1)]
    """
    return [(size, len(list(alike))) for size, alike in groupby(groups)]


def as_advised(groups: tuple[int, ...]) -> tuple[str, str]:
    """Say groups as advice does, and how they are counted aloud: many of them run by run, what repeats once.

    Examples
    --------
    >>> as_advised((5, 5, 4))
    ('5 5 4', '1 2 3 4 5 | 1 2 3 4 5 | 1 2 3 4')
    >>> as_advised((*[4] * 7, 3))
    ('seven fours and a three', '1 2 3 4 (seven times) | 1 2 3')
    >>> as_advised((4, 5) * 7)
    ('a four and a five, seven times', '1 2 3 4 | 1 2 3 4 5, and all of it seven times')
    """
    if len(groups) < _MANY_GROUPS:
        return " ".join(map(str, groups)), " | ".join(_counted(group) for group in groups)
    unit = _repeated(groups)
    often, found = len(groups) // len(unit), runs(unit)
    said = _in_runs(found) or some(map(str, unit), 16, " ")
    counted = " | ".join(_counted(size) + _often(count) for size, count in found)
    if often == 1:
        return said, counted
    again = "again" if often == 2 else times(often)
    return f"{said}, {times(often)}", f"{counted}, and all of it {again}"


def _repeated(groups: tuple[int, ...]) -> tuple[int, ...]:
    """Return the shortest row of several sizes that groups are made of, over and over; else all of them."""
    count = len(groups)
    rows = (groups[:size] for size in range(1, count // 2 + 1) if count % size == 0)
    return next((row for row in rows if len(set(row)) > 1 and row * (count // len(row)) == groups), groups)


def titled(groups: tuple[int, ...]) -> str:
    """Name a phrase for a title as it is said: its strokes, and their groups as advice says them.

    Examples
    --------
    >>> titled((4, 3, 4, 3)), titled((*[4] * 7, 3)), titled((5,))
    ('14 as 4 3 4 3', '31 as seven fours and a three', '5 in one group')
    """
    if len(groups) == 1:
        return f"{groups[0]} in one group"
    return f"{sum(groups)} as {as_advised(groups)[0]}"


def _in_runs(found: list[tuple[int, int]]) -> str:
    """Say runs of groups in words; nothing where there are too many."""
    *head, last = [_run_text(size, count) for size, count in found]
    return "" if len(found) > _MOST_RUNS else f"{', '.join(head)}{' and ' if head else ''}{last}"


def _counted(size: int) -> str:
    return " ".join(map(str, range(1, size + 1)))


def _often(count: int) -> str:
    return "" if count == 1 else f" ({times(count)})"


def count_orders(number: int, sizes: tuple[int, ...], start: tuple[int, ...] = ()) -> int:
    """Count the orders of groups that add up to a number and begin with `start`; `sizes` are each there once.

    Examples
    --------
    >>> count_orders(13, (2, 3, 4))
    52
    """
    rest, longest = number - sum(start), max(sizes)
    if rest < 0:
        return 0
    last = [0] * (longest - 1) + [1]  # the ways to make the numbers before, the nearest last
    for _ in range(rest):
        last.append(sum(last[-size] for size in sizes))
        del last[0]
    return last[-1]


def best_groups(
    number: int, sizes: tuple[int, ...], start: tuple[int, ...], most: int
) -> list[tuple[int, ...]]:
    """Return at most `most` orders of groups that add up to a number and begin with `start`, the best first.

    Examples
    --------
    >>> best_groups(15, (2, 3, 4), (), 2)
    [(4, 4, 4, 3), (3, 3, 3, 3, 3)]
    """
    first = [groups for groups in first_choices(number, sizes) if groups[: len(start)] == start]
    if len(first) >= most:
        return first[:most]
    others = _by_kinds(number, sizes, start, most + len(first))
    return [*first, *(groups for groups in others if groups not in first)][:most]


def first_choices(number: int, sizes: Iterable[int]) -> list[tuple[int, ...]]:
    """Return what a drummer would say first: all fours, halves, fours with one other last, one kind.

    Examples
    --------
    >>> first_choices(18, (2, 3, 4, 5))
    [(4, 5, 4, 5), (3, 3, 3, 3, 3, 3), (4, 4, 4, 4, 2)]
    """
    main = max((size for size in sizes if size <= 4), default=min(sizes))
    found = [(main,) * (number // main)] if number % main == 0 else []
    if number % 2 == 0:
        found += [half + half for half in first_choices(number // 2, sizes)]
    for size in sorted({*sizes} - {main}, key=lambda size: (abs(size - main), -size)):
        if number > size and (number - size) % main == 0:
            found.append((*(main,) * ((number - size) // main), size))
    for size in sorted({*sizes} - {1, 2}, reverse=True):
        if number % size == 0:
            found.append((size,) * (number // size))
    return list(dict.fromkeys(found))


def _by_kinds(
    number: int, sizes: tuple[int, ...], start: tuple[int, ...], most: int
) -> list[tuple[int, ...]]:
    """Return orders of groups by kinds, changes, ending, groups and halves.

    A best-first search for each set of kinds, guided by the exact cost of the best way to finish, so that
    it opens little more than it returns.
    Phrases with halves alike are found as halves, and the two lists are merged.
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
    for cost, groups in _cheapest(number, used, sizes, start, most, enough, finish):
        found.append(((cost, True, tuple(-size for size in groups)), groups))
    if number % 2 == 0:
        half, allowed = number // 2, set(sizes)
        halves = []
        if set(start) <= allowed and sum(start) <= half:
            halves = _cheapest(half, used, sizes, start, most, enough, finish)
        for length in range(1, len(start)):  # the fixed groups reach into the second half
            groups = start[:length]
            if sum(groups) == half and set(groups) == set(used):
                twice = groups + groups
                if twice[: len(start)] == start and set(twice[len(start) :]) <= allowed:
                    cost = (len(runs(groups)) - 1) * _CHANGE + (groups[-1] != min(used)) * _ENDS_LONG + length
                    halves.append((cost, groups))
        for cost, groups in halves:
            twice = groups + groups
            found.append(((cost + len(groups), False, tuple(-size for size in twice)), twice))
    return found


def _missing(rest: int, used: tuple[int, ...], sizes: tuple[int, ...], start: tuple[int, ...]) -> bool:
    """Whether these kinds cannot all be used and add up to the rest."""
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
    finish: list[dict[tuple[int, int], int]] = [
        {(size, full): (size != shortest) * _ENDS_LONG for size in used}
    ]
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


def _cheapest(
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

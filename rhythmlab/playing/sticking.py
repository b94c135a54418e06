"""Hands: which hand plays what, at a tempo that the hands can keep."""

from bisect import bisect
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from heapq import heappop, heappush
from itertools import accumulate, islice, pairwise
from math import ceil, floor
from typing import TypeAlias

from rhythmlab.core.check import MOST_LISTED, few_enough, flag, index, items, positive, short, whole
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, Lane, counted_as
from rhythmlab.core.display import Printed, Printer, line, look
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm, as_polyrhythm, polyrhythm_and_home
from rhythmlab.core.tempo import Speed, Tempo, tempo_given
from rhythmlab.playing.hands import (
    Hand,
    Least,
    Soon,
    ceiling,
    fits,
    hand_limits,
    milliseconds,
    mirrored,
    sticking,
    too_soon,
)
from rhythmlab.playing.limits import Limit, Limits, source_text
from rhythmlab.playing.phrasing import MOST_STROKES, Phrase
from rhythmlab.refusal import Refusal
from rhythmlab.resources import table
from rhythmlab.text import sentences
from rhythmlab.text.numbers import nth, number, plural, some

#: Strokes closer or further apart than this, in milliseconds, are taken for another unit (own choice).
_LEAST_STROKE_MS, _MOST_STROKE_MS = 5, 60_000
#: So many choices of rudiments are tried before the hands are searched without any.
_MOST_CHOICES = 200
_ENDLESS = ("single_strokes", "double_strokes", "triple_strokes")
_DOUBLES, _SEARCHED = "double strokes", "by search"
#: Longest group that brings the lead home by itself, as the last one (own choice).
_SHORT = 4
#: A name and a sticking.
_Shape: TypeAlias = tuple[str, str]
_FREE: _Shape = (_SEARCHED, "")
_HandState: TypeAlias = tuple[int, int, int]
_RESTED: _HandState = (0, 0, 0)
_STICK = "stick((4, 3, 4, 3), 120)"


def limit_text(limit: Limit) -> str:
    """Say what a limit asks for.

    Examples
    --------
    >>> limit_text(hand_limits().three)
    'three in one hand need 110 ms (common practice)'
    """
    what = {"hand_two": "two in one hand need", "hand_three": "three in one hand need"}
    said = what.get(limit.key, "stroke after stroke in one hand needs")
    return f"{said} {number(limit.value)} ms ({source_text(limit)})"


def tick_and_beat(tempo: object, ms: object, cycle: Cycle, example: str) -> tuple[Fraction, int | None]:
    """Return the milliseconds of a tick and the ticks of a beat, which there is not where `ms` is given.

    `ms` is from stroke to stroke, for cycles with a stroke on every tick.

    Examples
    --------
    >>> cycle = Cycle(4, [], beats=[0])
    >>> tick_and_beat(120, None, cycle, ""), tick_and_beat(None, 125, cycle, "")
    ((Fraction(125, 1), 4), (Fraction(125, 1), None))
    """
    if (tempo is None) == (ms is None):
        given = "both are given" if ms is not None else "neither is given"
        raise Refusal(f"a speed is said by tempo or by ms=, and {given}", example)
    if ms is None:
        speed = tempo_given(tempo, cycle, None, example)
        return 1000 * speed.tick_seconds(cycle), speed.beat_ticks(cycle)
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
    return exact, None


def speed_text(tick_ms: Fraction, beat: int | None) -> str:
    """Say a speed that fits: whole bpm of a beat of so many ticks, or milliseconds where there is no beat.

    Examples
    --------
    >>> speed_text(Fraction(167, 2), 4), speed_text(Fraction(167, 2), None)
    ('179 bpm', '83.5 ms from stroke to stroke')
    """
    if beat is None:
        return f"{number(tick_ms)} ms from stroke to stroke"
    bpm = 60_000 / (tick_ms * beat)
    return f"{number(floor(bpm) if bpm >= 10 else bpm)} bpm"


def stroke_name(hands: str, groups: Sequence[int], index: int) -> str:
    """Name a stroke by its hand and group; by its number where there is one group.

    Examples
    --------
    >>> stroke_name("RLRRLRLL", (4, 4), 7), stroke_name("RLRRLRLL", (4, 4), 1), stroke_name("RLL", (3,), 2)
    ('the third L of group 2', 'the L of group 1', 'stroke 3')
    """
    if len(groups) == 1:
        return f"stroke {index + 1}"
    starts = [0, *accumulate(groups)]
    group = bisect(starts, index) - 1
    shape, letter = hands[starts[group] : starts[group + 1]], hands[index]
    which = shape[: index - starts[group] + 1].count(letter)
    counted = f"{nth(which - 1)} " if shape.count(letter) > 1 else ""
    return f"the {counted}{letter} of group {group + 1}"


def bound_text(bound: Soon, name: str, beat: int | None) -> str:
    """Say up to which speed hands go, and which stroke sets that.

    Examples
    --------
    >>> bound_text(ceiling(sticking("RRLL"), 4, hand_limits()), "stroke 2", 8)
    "up to 120 bpm: stroke 2 then comes 62 ms after that hand's last, as close as two in one hand can \
(common practice)"
    """
    least = number(bound.limit.value)
    what = {
        2: f"then comes {least} ms after that hand's last, as close as two in one hand can",
        3: f"is then the third in that hand, {least} ms apart, as close as three can",
    }
    how = what.get(
        bound.nth, f"then comes {least} ms after that hand's last, as fast as one hand keeps going"
    )
    upto, source = "down to" if beat is None else "up to", source_text(bound.limit)
    return f"{upto} {speed_text(bound.tick_ms, beat)}: {name} {how} ({source})"


@dataclass(frozen=True, slots=True)
class StrokeLoop:
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


class _Moves:
    """What two hands can play next, by what their last strokes left behind.

    A hand is the ticks since its last stroke, the strokes since its last rest, and of two of them the ticks
    between; a rested one is `_RESTED`.  A state is the hand that played last, and the other.
    """

    def __init__(self, gaps: Sequence[int], least: Least) -> None:
        self.gaps, self.least = gaps, least
        self.codes = {(_RESTED, _RESTED): 0}
        self.states = [(_RESTED, _RESTED)]
        self.known: list[dict[int, tuple[int, int]]] = [{} for _ in gaps]

    def after(self, i: int, code: int) -> tuple[int, int]:
        """Return the states after stroke i by the hand that played last and by the other; -1 if too soon."""
        if (found := self.known[i].get(code)) is None:
            last, other = self.states[code]
            found = self.known[i][code] = (self._played(i, last, other), self._played(i, other, last))
        return found

    def _played(self, i: int, hand: _HandState, other: _HandState) -> int:
        apart, follows = self.gaps[i], self.gaps[(i + 1) % len(self.gaps)]
        played = self._again(hand, apart)
        if played is None:
            return -1
        waits = _RESTED if other is _RESTED else (other[0] + apart, *other[1:])
        # A hand that will have rested whenever it plays next has rested.
        rest = self.least.rest - follows
        played, waits = (_RESTED if one[0] >= rest else one for one in (played, waits))
        state = played, waits
        if state not in self.codes:
            self.codes[state] = len(self.states)
            self.states.append(state)
        return self.codes[state]

    def _again(self, hand: _HandState, apart: int) -> _HandState | None:
        """Return a hand after one more stroke, or None where that comes too soon."""
        least, (before, strokes, first) = self.least, hand
        gap = before + apart
        if hand is _RESTED or gap >= least.rest:
            return (0, 1, 0)
        if gap < least.two or strokes == 3:
            return None
        if strokes == 2:
            return None if first + gap < least.three else (0, 3, 0)
        # Two so close that a third would only be in time after a rest are as good as three.
        return (0, 2, gap) if gap + least.rest > least.three else (0, 3, 0)


def best_hands(line: StrokeLoop, tick_ms: Fraction, rules: Hand) -> tuple[str, int] | None:
    """Return the best hands that the judge lets pass in a repeated cycle, by exact search.

    Best is, in this order: fewest accents that repeat the hand before, most accents in the lead hand, home
    after one cycle, fewest repeats, repeats late (a choice made here, no source).

    Returns
    -------
    hands, cycles : str and int
        ``R`` for the lead hand, which plays the first stroke; and 1 where every cycle is the same, 2 where
        the hands change sides in every other cycle.  ``None`` where nothing keeps the limits.

    Notes
    -----
    A dynamic programme over what the last strokes of both hands left behind.
    Every such state is tried as the one that the cycle begins with, and must come back at its end.

    Examples
    --------
    >>> thirteen = StrokeLoop((1,) * 13, frozenset({0, 4, 8}), (None,) * 13)
    >>> best_hands(thirteen, Fraction(125), hand_limits())
    ('RLRLRLRLRLLRL', 1)
    """
    count, moves = len(line.gaps), _Moves(line.gaps, Least.at(tick_ms, rules))
    repeat, most = 1 << count, count + 1  # below it, a bit for each stroke of the lead hand
    again = repeat * most
    off = 2 * again
    weak = off * most

    def played(states: dict[int, int], bound: int | None) -> dict[int, int]:
        """Return what one cycle leaves behind, with its cost, from what it begins with."""
        for i in range(count):
            accent, lead_bit = i in line.accents, repeat >> (i + 1)
            repeat_cost, off_cost = repeat + weak * accent, off * accent
            move = line.moves[i]
            new: dict[int, int] = {}
            for state, cost in states.items():
                side = state & 1
                for changed, code in enumerate(moves.after(i, state >> 1)):
                    to = side ^ changed
                    # The first stroke is the lead hand's.
                    if code < 0 or (to and not i) or (move is not None and move != changed):
                        continue
                    total = cost + (0 if changed else repeat_cost) + (off_cost if to else lead_bit)
                    key = 2 * code + to
                    if total < new.get(key, total + 1) and (bound is None or total < bound):
                        new[key] = total
            states = new
        return states

    # A cycle begins as cycles before it can end, which began with rested hands.
    entries, fresh = {0, 1}, {0, 1}
    while fresh:
        left = played(dict.fromkeys(fresh, 0), None)
        fresh = {*left, *(state ^ 1 for state in left)} - entries
        entries |= fresh
    best: int | None = None
    for entry in sorted(entries):
        ends = played({entry: 0}, best)
        for state, extra in ((entry, 0), (entry ^ 1, again)):
            if state in ends and (best is None or ends[state] + extra < best):
                best = ends[state] + extra
    if best is None:
        return None
    bits = f"{best % repeat:0{count}b}"
    return bits.replace("1", "R").replace("0", "L"), 1 + best // again % 2


def fastest(line: StrokeLoop, rules: Hand) -> Fraction:
    """Return the shortest tick, in milliseconds, at which some sticking of a line keeps every limit.

    Examples
    --------
    >>> fastest(StrokeLoop((1,) * 11, frozenset(), (None,) * 11), hand_limits())
    Fraction(167, 2)
    """
    # While a hand has not rested the other plays three strokes at most, so it waits for four gaps at most.
    gaps = line.gaps * 9
    sums = {sum(gaps[i : i + many]) for i in range(len(line.gaps)) for many in range(1, 9)}
    steps = sorted({value / gap for value in milliseconds(rules) for gap in sums})
    low, high = 0, len(steps) - 1
    while low < high:
        middle = (low + high) // 2
        if best_hands(line, steps[middle], rules):
            high = middle
        else:
            low = middle + 1
    return steps[low]


@public_class("stick((4, 3), 120)", cycle="stick((4, 3), 120).cycle(whole=True)")
@dataclass(repr=False, frozen=True, slots=True)
class Sticking(Printed):
    """Hands for strokes that go round and round.

    Attributes
    ----------
    hands : str
        One letter a stroke, ``R`` or ``L``, for the first cycle.
    groups : tuple of int
        Strokes in each group; each begins with an accent.
    names : tuple of str
        The rudiment of each group, or ``"by search"``.
    cycles : int
        After how many cycles the lead comes home: 1, or 2 where the lead alternates and every other cycle
        has the hands the other way round.
    onsets : tuple of int
        Ticks of the strokes.
    beats : tuple of int
        Ticks of the accents.
    ticks : int
        Ticks of one cycle.
    tick_ms : Fraction
        Milliseconds of a tick.
    rules : Hand
        The limits that it keeps.
    beat : int or None
        Ticks of the beat of its tempo; ``None`` where milliseconds were given.
    """

    hands: str
    groups: tuple[int, ...]
    names: tuple[str, ...]
    cycles: int
    onsets: tuple[int, ...]
    beats: tuple[int, ...]
    ticks: int
    tick_ms: Fraction
    rules: Hand
    beat: int | None = None

    def __str__(self) -> str:
        return " ".join(self.shapes)

    @property
    def shapes(self) -> tuple[str, ...]:
        """The hands of each group.

        Examples
        --------
        >>> stick((4, 3, 4, 3), ms=125).shapes
        ('RLRR', 'LRL', 'RLRR', 'LRL')
        """
        starts = [sum(self.groups[:i]) for i in range(len(self.groups))]
        pairs = zip(starts, self.groups, strict=True)
        return tuple(self.hands[start : start + size] for start, size in pairs)

    def __repr__(self) -> str:
        return line(f"Sticking({self})")

    def _repr_pretty_(self, printer: Printer, cycle: bool) -> None:
        """Show a cell the hands, and why they are so."""
        printer.text("\n".join((str(self), *self.reasons)))

    def _repr_html_(self) -> str:
        return look("\n".join((str(self), *self.reasons)))

    @property
    def alternates(self) -> bool:
        """Whether the next cycle begins with the other hand."""
        return self.cycles == 2

    @property
    def reasons(self) -> tuple[str, ...]:
        """How each group is stuck, when the lead comes home, and what the tempo asks, in sentences.

        Examples
        --------
        >>> for reason in stick((4, 3, 4, 3), 120).reasons: print(reason)
        R L R R: single paradiddle; R L R: single strokes.
        The lead comes home every cycle: each one begins with R.
        These hands go up to 179 bpm: the first R of group 1 then comes 167 ms after that hand's last, as \
fast as one hand keeps going (Fujii, Kudo, Ohtsuki & Oda 2009).
        """
        lead, other = self.hands[0], mirrored(self.hands[0], True)  # rudiments are named from the lead
        told: dict[tuple[str, str], str] = {}
        for shape, name in zip(self.shapes, self.names, strict=True):
            shape = mirrored(shape, shape[0] != lead)
            told.setdefault((shape, name), f"{' '.join(shape)}: {name}")
        home = (
            f"The lead alternates: the next cycle begins with {other}, and it comes home after 2 cycles."
            if self.alternates
            else f"The lead comes home every cycle: each one begins with {lead}."
        )
        return (f"{'; '.join(told.values())}.", home, self._tempo_text())

    @property
    def bound(self) -> Soon:
        """The stroke that sets how fast these hands can go; its `tick_ms` is the shortest tick.

        Examples
        --------
        >>> stick((4, 3, 4, 3), 120).bound.tick_ms
        Fraction(167, 2)
        """
        whole = self.cycle(whole=True)
        found = ceiling(whole, whole.ticks, self.rules)
        assert found is not None  # there is a stroke
        return found

    def _tempo_text(self) -> str:
        bound, whole = self.bound, self.cycle(whole=True)
        index = whole.lanes[0].onsets.tolist().index(bound.tick)
        name = stroke_name(whole.lanes[0].hands, self.groups * self.cycles, index)
        return f"These hands go {bound_text(bound, name, self.beat)}."

    def cycle(self, *, whole: bool = True, name: str = "sticking", sound: str = "click") -> Cycle:
        """Return it as a cycle, with hands and with accents on the group starts, until the lead comes home.

        Parameters
        ----------
        whole : bool
            Whether to go on until the lead comes home, which may take two cycles.
        name, sound : str
            Of its lane, as for `Lane`.

        Examples
        --------
        >>> stick((4, 4, 4), 120).cycle().lanes[0].hands
        'RLRRLRLLRLRRLRLLRLRRLRLL'
        """
        turns = self.cycles if flag(whole, "whole", "stick((4, 3), 120).cycle(whole=True)") else 1
        hands = (self.hands + mirrored(self.hands, True))[: turns * len(self.hands)]
        onsets, beats = (
            [turn * self.ticks + tick for turn in range(turns) for tick in ticks]
            for ticks in (self.onsets, self.beats)
        )
        lane = Lane(name, onsets, sound=sound, accents=beats, hands=hands)
        bars = [turn * self.ticks for turn in range(turns)]
        return Cycle(turns * self.ticks, [lane], beats=beats, bars=bars)


@public(_STICK, bounds="limits")
def stick(
    what: Phrase | Iterable[int] | Polyrhythm | Cycle,
    tempo: Speed | None = None,
    *,
    ms: int | float | Fraction | None = None,
    lead: str = "R",
    rudiments: Iterable[str] | None = None,
    limits: Limits | None = None,
) -> Sticking:
    """Give hands to a phrase, or to the heard line of a polyrhythm, that can be played at a tempo.

    Parameters
    ----------
    what : Phrase, sequence of int, Polyrhythm or Cycle
        Groups of equal strokes, such as (4, 3, 4, 3); or pulses, whose heard line has accents on home.
    tempo : Tempo or number
        The speed; a number is beats a minute of home. The beat of a phrase is its commonest group.
    ms : number, optional
        Instead of a tempo, for a phrase: milliseconds from stroke to stroke.
    lead : str
        ``"R"`` or ``"L"``: the hand that begins.
    rudiments : sequence of str, optional
        Keys of ``data/rudiments.csv``, or stickings such as ``"RLL"``, in the order of preference; none for
        an empty one.  A group takes the first one of its length that the tempo allows, the same for all
        groups of a length; where there is none, hands are searched.  A roll is an ornament: it fills a group
        one stroke shorter than itself, and its last, accented stroke is the first of the next group.
        When left out, all of the file but rolls and triple strokes; and where groups differ and the lead
        would alternate, one of them is played otherwise, so that it comes home.
    limits : Limits, optional
        The limits to use; `limits()` when left out.

    Returns
    -------
    Sticking
        Searched hands have, in this order, the fewest accents that repeat the hand before, the most accents
        in the lead hand, home after one cycle, the fewest repeats, repeats late.

    Raises
    ------
    ValueError
        If no hands can play it at this tempo (the message says which limits, and the fastest tempo that
        works), or the groups, tempo, lead, rudiments or limits are not of the right kind.

    Examples
    --------
    >>> print(stick((4, 3, 4, 3), 120, rudiments=[]))
    RLRL RLL RLRL RLL
    >>> print(stick((4, 5), 120), stick((4, 4, 5), 120), stick((4, 3, 4, 3), 120), sep=" | ")
    RLRL RLRRL | RLRR LRLL RLRRL | RLRR LRL RLRR LRL
    """
    rules, side = hand_limits(limits), _lead_hand(lead)
    if isinstance(what, Polyrhythm | Cycle):
        p, home = polyrhythm_and_home(what, None, "what", _STICK)
        if rudiments is not None:
            raise Refusal(
                f"rudiments={short(rudiments)} are for even strokes, and the line of "
                f"{short(p)} is not; leave them out",
                "stick(Polyrhythm(9, 8), 60)",
                argument="rudiments",
            )
        if max(p.pulses) > MOST_STROKES or len(composite(p)) > MOST_STROKES:
            raise Refusal(
                f"{short(p)} has more than {MOST_STROKES} sounds",
                "stick(Polyrhythm(9, 8), 60)",
            )
        cycle, ticks = p.cycle(home), p.ticks
        onsets, beats = tuple(composite(p).onsets.tolist()), tuple(cycle.beats.tolist())
        starts = [onsets.index(beat) for beat in beats]
        groups = tuple(end - start for start, end in zip(starts, [*starts[1:], len(onsets)], strict=True))
        shapes: dict[int, list[_Shape]] = {}
    else:
        phrase = what if isinstance(what, Phrase) else Phrase(what)
        cycle, ticks, groups = phrase.cycle(), phrase.ticks, phrase.groups
        onsets, beats = tuple(range(ticks)), phrase.starts
        shapes = _shapes(rudiments, set(groups))
    tick_ms, beat = tick_and_beat(tempo, ms, cycle, _STICK)
    gaps = _gaps(onsets, ticks)
    accents = frozenset(onsets.index(beat) for beat in beats)
    free = StrokeLoop(gaps, accents, (None,) * len(gaps))
    searched = best_hands(free, tick_ms, rules)
    if searched is None:
        raise _too_fast(free, tick_ms, beat, rules)
    names, found = (_SEARCHED,) * len(groups), searched
    if shapes:
        home = rudiments is None
        part = _part(groups) if home else groups
        again, one = len(groups) // len(part), _with_rudiments(part, shapes, tick_ms, rules, home=home)
        if one and (again == 1 or one[1][1] == 1):  # what is played again has the same hands again
            names, found = one[0] * again, (one[1][0] * again, one[1][1])
        else:
            names, found = _with_rudiments(groups, shapes, tick_ms, rules, home=home) or (names, found)
    hands = mirrored(found[0], side == "L")
    return Sticking(hands, groups, names, found[1], onsets, beats, ticks, tick_ms, rules, beat)


def _part(groups: tuple[int, ...]) -> tuple[int, ...]:
    """Return the groups that are played again and again, where they are of more than one kind; or all."""
    count = len(groups)
    if len(set(groups)) == 1:
        return groups
    return next(
        groups[:n] for n in range(1, count + 1) if count % n == 0 and groups[:n] * (count // n) == groups
    )


def _with_rudiments(
    groups: tuple[int, ...], shapes: dict[int, list[_Shape]], tick_ms: Fraction, rules: Hand, *, home: bool
) -> tuple[tuple[str, ...], tuple[str, int]] | None:
    """Return the names and the hands of even groups by rudiments, or None where none of them can be played.

    Where groups differ and the lead would alternate, `home` asks for one of them to be played otherwise.
    """
    gaps, accents = (1,) * sum(groups), frozenset(accumulate(groups[:-1], initial=0))

    def hands(taken: tuple[_Shape, ...]) -> tuple[str, int] | None:
        return best_hands(StrokeLoop(gaps, accents, _moves(taken)), tick_ms, rules)

    for taken in islice(_choices(groups, shapes, rules.longest(tick_ms)), _MOST_CHOICES):
        if found := hands(taken):
            if found[1] == 2 and home and len(set(groups)) > 1:
                others = ((other, hands(other)) for other in _home(taken, shapes))
                taken, found = next(
                    ((other, came) for other, came in others if came and came[1] == 1), (taken, found)
                )
            return tuple(name for name, _ in taken), found
    return None


def _choices(
    groups: tuple[int, ...], shapes: dict[int, list[_Shape]], longest: int
) -> Iterable[tuple[_Shape, ...]]:
    """Yield the name and the sticking of each group, the preferred ones first; none is free."""
    sizes = sorted(set(groups))
    options = [
        [
            *(
                (name, shape)
                for name, shape in shapes.get(size, ())
                if min(4, _longest_run(shape)) <= longest
            ),
            _FREE,
        ]
        for size in sizes
    ]
    first = (0,) * len(sizes)
    waiting, seen = [(0, first)], {first}
    while waiting:
        total, picks = heappop(waiting)
        for i, pick in enumerate(picks):
            after = (*picks[:i], pick + 1, *picks[i + 1 :])
            if pick + 1 < len(options[i]) and after not in seen:
                seen.add(after)
                heappush(waiting, (total + 1, after))
        taken = {size: options[i][pick] for i, (size, pick) in enumerate(zip(sizes, picks, strict=True))}
        yield tuple((taken[size][0], taken[size][1] or " " * size) for size in groups)


def _moves(taken: Iterable[_Shape]) -> tuple[bool | None, ...]:
    """Return which strokes change hands, the first of each group among them; blanks are free."""
    moves: list[bool | None] = []
    for _, shape in taken:
        blank = not shape.strip()
        moves += [None] * len(shape) if blank else [True, *(a != b for a, b in pairwise(shape))]
    return tuple(moves)


def _home(taken: tuple[_Shape, ...], shapes: dict[int, list[_Shape]]) -> Iterable[tuple[_Shape, ...]]:
    """Yield what one group can do otherwise, so that the lead comes home every cycle.

    That is the last group where it is a short one, R L R for R L L, or else the first, R L R L for R L R R.
    """
    sizes = [len(shape) for _, shape in taken]
    last = len(taken) - 1
    for place in ([last] if sizes[last] <= _SHORT else []) + [0, last]:
        for option in shapes.get(sizes[place], ()):
            if option[1] != taken[place][1] and option[0] != _DOUBLES:
                yield (*taken[:place], option, *taken[place + 1 :])


def _longest_run(shape: str) -> int:
    return max(run for run in range(1, len(shape) + 1) if "R" * run in shape or "L" * run in shape)


def _shapes(rudiments: Iterable[str] | None, sizes: set[int]) -> dict[int, list[_Shape]]:
    """Return name and sticking, begun by the right hand, of the rudiments for each size of group."""
    rows = {row["key"]: row for row in table("rudiments.csv")}
    example = 'stick((4, 3, 4, 3), 120, rudiments=["single_paradiddle", "RLL"])'
    if rudiments is None:
        kinds = {"group": 0, "strokes": 1}
        asked = [key for key, row in rows.items() if row["kind"] in kinds and key != "triple_strokes"]
        keys = sorted(asked, key=lambda key: kinds[rows[key]["kind"]])
    else:
        keys = items(rudiments, "rudiments", example, MOST_STROKES, "rudiments")
    found: dict[int, list[_Shape]] = {size: [] for size in sizes}
    for key in keys:
        if isinstance(key, str) and 0 < len(key) <= MOST_STROKES and not set(key) - set("RL"):
            name, shape = "as given", mirrored(key, key[0] == "L")
        elif isinstance(key, str) and key in rows:
            name, shape = rows[key]["name"], rows[key]["sticking"].split()[0]
            if rows[key]["kind"] == "roll":  # its last stroke is the first of the next group
                name, shape = f"{name} into the next group", shape[:-1]
        else:
            raise Refusal(
                f"rudiments has {short(key)}, which is neither a rudiment here ({', '.join(rows)}) "
                "nor letters R and L",
                example,
            )
        for size in sizes:
            if key in _ENDLESS:
                found[size].append((name, (shape * size)[:size]))
            elif len(shape) == size:
                found[size].append((name, shape))
    return found


class TooFast(Refusal):
    """No hands can play so fast.

    Parameters
    ----------
    wrong, example : str
        As for `Refusal`.
    tick_ms : Fraction
        The shortest tick at which some hands can.
    """

    def __init__(self, wrong: str, example: str, tick_ms: Fraction) -> None:
        super().__init__(wrong, example)
        self.tick_ms = tick_ms


def _too_fast(line: StrokeLoop, tick_ms: Fraction, beat: int | None, rules: Hand) -> TooFast:
    even = len(set(line.gaps)) == 1
    apart = f"{number(min(line.gaps) * tick_ms, 1)} ms apart{'' if even else ' at the closest'}"
    least = fastest(line, rules)
    example = f"stick((4, 3, 4, 3), ms={max(84, ceil(least))})" if even and beat is None else _STICK
    return TooFast(
        f"no hands can play {plural(len(line.gaps), 'stroke')} {apart}, round and round: "
        f"{limit_text(rules.need(2))}, and {limit_text(rules.need(4))}; "
        f"the fastest that works is {speed_text(least, beat)}",
        example if even else "stick(Polyrhythm(9, 8), 60)",
        least,
    )


def ornaments(found: Sticking) -> str:
    """Say which rolls fit into the groups of a sticking as its hands are printed; empty where none does.

    A roll begins with the hand of its group, lands on the one that the next group begins with, and brings
    no three strokes of one hand together.

    Examples
    --------
    >>> ornaments(stick((4, 2), 120))
    'In group 1, a five-stroke roll: R R L L, and its accented last stroke is the first of the next group.'
    >>> ornaments(stick((4, 4), 120))
    ''
    >>> print(ornaments(stick((4, 3, 4, 3), 100)))
    On the last two strokes of groups 2 and 4, twice as fast, a five-stroke roll: R R L L, and its accented \
last stroke is the first of the next group.
    """
    rolls = {
        len(shape) - 1: (row["name"], shape)
        for row in table("rudiments.csv")
        if row["kind"] == "roll"
        for shape in row["sticking"].split()[:1]
    }
    rows: dict[tuple[str, str], list[int]] = {}
    shapes = found.shapes
    # Its neighbours round the cycle: where the lead alternates, those of the next cycle are mirrored.
    before, after = mirrored(shapes[-1], found.alternates), mirrored(shapes[0], found.alternates)
    for i, (last, shape, following) in enumerate(
        zip([before, *shapes], shapes, [*shapes[1:], after], strict=False), 1
    ):
        name, roll = rolls.get(len(shape), ("", ""))
        roll = mirrored(roll, shape[0] == "L")
        played = last + roll[:-1] + following
        if roll and roll[-1] == following[0] and not ("RRR" in played or "LLL" in played):
            rows.setdefault((name, roll[:-1]), []).append(i)
    said = []
    for (name, roll), at in rows.items():
        every = all(i in at for i, shape in enumerate(shapes, 1) if len(shape) == len(roll))
        where = f"every group of {len(roll)}" if every and len(at) > 1 else _groups_text(at)
        said.append(f"In {where}, {_roll_text(name, roll)}")
    filled = [i for at in rows.values() for i in at]
    for roll, at in _fast_rolls(found, filled).items():
        where = f"On the last two strokes of {_groups_text(at)}, twice as fast"
        said.append(f"{where}, {_roll_text(rolls[len(roll)][0], roll)}")
    return " ".join(said)


def _roll_text(name: str, roll: str) -> str:
    return f"a {name}: {' '.join(roll)}, and its accented last stroke is the first of the next group."


def _fast_rolls(found: Sticking, but: Sequence[int]) -> dict[str, list[int]]:
    """Return groups, from 1, whose last two strokes go as the doubles of a five-stroke roll, by its hands.

    It begins and lands on the hands that are printed, its group keeps an accent of its own, and the one
    judge lets all of them be played at this tempo.
    """
    shapes = found.shapes
    after = mirrored(shapes[0], found.alternates)
    ends, to_here = list(accumulate(found.groups)), _gaps(found.onsets, found.ticks)
    gaps = (*to_here[1:], to_here[0])  # from each stroke to the next
    rows: dict[str, list[int]] = {}
    halved: dict[int, str] = {}  # strokes that are doubled, and their hands
    for i, (shape, following) in enumerate(zip(shapes, [*shapes[1:], after], strict=True), 1):
        roll = "".join(2 * hand for hand in shape[-2:])
        played, last = shape[:-2] + roll + following, ends[i - 1] - 1
        even = gaps[last - 1] == gaps[last]
        if i in but or len(shape) < 3 or not even or len(set(roll)) < 2 or roll[0] != following[0]:
            continue
        if not ("RRR" in played or "LLL" in played):
            rows.setdefault(roll, []).append(i)
            halved |= {last - 1: shape[-2], last: shape[-1]}
    onsets, hands = [], ""
    for at, (tick, hand) in enumerate(zip(found.onsets, found.hands, strict=True)):
        onsets += [2 * tick, 2 * tick + gaps[at]] if at in halved else [2 * tick]
        hands += hand * (1 + (at in halved))
    ticks = 2 * found.ticks
    if found.alternates:
        onsets += [ticks + tick for tick in onsets]
        hands += mirrored(hands, True)
    strokes = sticking(hands, onsets)
    return rows if fits(strokes, ticks * found.cycles, found.tick_ms / 2, found.rules) else {}


def _groups_text(at: Sequence[int]) -> str:
    """Name groups by their places in the phrase."""
    places = some(at, 8) if len(at) > 8 else sentences.listed([str(i) for i in at])
    return f"group{'s' * (len(at) > 1)} {places}"


@public_class(
    'playing.check_sticking("RRRR", ms=60).problems[0]',
    describe='playing.check_sticking("RRRR", ms=60).problems[0].describe(4)',
)
@dataclass(frozen=True, slots=True)
class Problem:
    """A stroke that comes too soon for its hand.

    Attributes
    ----------
    stroke : int
        Index of the stroke, from 0.
    hand : str
        ``"R"`` or ``"L"``.
    nth : int
        Which stroke it is since the hand last had a break: 2, 3, or 4 for more.
    turned : bool
        Whether the other hand played between.
    ms : Fraction
        Milliseconds since the hand's last stroke; of three strokes the mean.
    limit : Limit
        What it does not keep.
    """

    stroke: int
    hand: str
    nth: int
    turned: bool
    ms: Fraction
    limit: Limit

    def describe(self, strokes: int) -> str:
        """Say it, for a cycle of so many strokes; strokes are counted from 1."""
        example = 'playing.check_sticking("RRRR", ms=60).problems[0].describe(4)'
        cycle, place = divmod(self.stroke, whole(strokes, "strokes", example))
        later = " of the next cycle" if cycle == 1 else f" of cycle {cycle + 1}"
        where = f"stroke {place + 1}{later if cycle else ''}"
        what = {2: f"{self.hand} again", 3: f"the third {self.hand} without a break"}
        how = what.get(self.nth, f"{self.hand} goes on without a break")
        return f"{where}: {how}, {number(self.ms)} ms apart; {limit_text(self.limit)}"


@dataclass(repr=False, frozen=True, slots=True)
class StickingCheck(Printed):
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
        Milliseconds from stroke to stroke at which it passes, and at anything slower.
    groups : tuple of int
        Strokes in each group that was written.
    beat : int or None
        Strokes in a beat of its tempo; ``None`` where milliseconds were given.
    bound : Soon
        The stroke that sets how fast it can go.
    """

    hands: str
    ms: Fraction
    problems: tuple[Problem, ...]
    fastest_ms: Fraction
    groups: tuple[int, ...]
    beat: int | None
    bound: Soon

    def __bool__(self) -> bool:
        return not self.problems

    def __str__(self) -> str:
        return "\n".join(self.text)

    @property
    def text(self) -> tuple[str, ...]:
        """The verdict, in sentences.

        Examples
        --------
        >>> for sentence in check_sticking("RLRR LRLL", 120).text: print(sentence)
        R L R R L R L L passes at 120 bpm, 125 ms apart.
        It goes up to 179 bpm: the L of group 1 then comes 167 ms after that hand's last, as fast as one \
hand keeps going (Fujii, Kudo, Ohtsuki & Oda 2009).
        """
        letters = " ".join(self.hands) if len(self.hands) <= 24 else f"{' '.join(self.hands[:23])} …"
        now = "" if self.beat is None else f" at {number(60_000 / (self.ms * self.beat))} bpm"
        told = [f"{problem.describe(len(self.hands))}." for problem in self.problems]
        if self:
            told = [f"{letters} passes{now}, {number(self.ms)} ms apart."]
        name = stroke_name(self.hands, self.groups, self.bound.tick)
        return (*told, f"It goes {bound_text(self.bound, name, self.beat)}.")


@public("playing.check_sticking('RLRR LRLL', 120)", "limits", bounds="limits")
def check_sticking(
    hands: str,
    tempo: Speed | None = None,
    *,
    ms: int | float | Fraction | None = None,
    limits: Limits | None = None,
) -> StickingCheck:
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
    StickingCheck
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
    stroke 3: the third R without a break, 100 ms apart; three in one hand need 110 ms (common practice).
    It goes down to 110 ms from stroke to stroke: stroke 3 is then the third in that hand, 110 ms apart, as \
close as three can (common practice).
    """
    rules = hand_limits(limits)
    example = 'playing.check_sticking("RLRR LRLL", 120)'
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
    groups = [len(group) for group in hands.replace("|", " ").split()]
    cycle = Cycle(count, [Lane("sticking", range(count))], beats=[0])
    if not isinstance(tempo, Tempo):
        cycle = _grouped(groups)
    tick_ms, beat = tick_and_beat(tempo, ms, cycle, example)
    strokes = sticking(letters)
    bound = ceiling(strokes, count, rules)
    assert bound is not None  # there are strokes
    found = []
    for soon in too_soon(strokes, count, tick_ms, rules):
        turned = letters[soon.tick] != letters[soon.tick - 1]
        ms_apart = soon.apart * tick_ms
        found.append(Problem(soon.tick, letters[soon.tick], soon.nth, turned, ms_apart, soon.limit))
    return StickingCheck(letters, tick_ms, tuple(found), bound.tick_ms, tuple(groups), beat, bound)


def _grouped(groups: Sequence[int]) -> Cycle:
    """Return a cycle whose beats are the groups that spaces and bars make; without any, of four strokes."""
    groups = groups if len(groups) > 1 else [4]
    strokes = range(sum(groups))
    return Cycle(len(strokes), [Lane("sticking", strokes)], beats=[0, *accumulate(groups[:-1])])


@public("playing.split((7, 4), right=0)", p="what")
def split(what: Rhythm, *, right: int = 0) -> Cycle:
    """Give each of two pulses a hand; shared strokes are played together.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two pulses.
    right : int
        Index of the pulse in the right hand.

    Returns
    -------
    Cycle
        A lane for each pulse, in their order, counted from the last pulse, or from the beats of a cycle.

    Raises
    ------
    ValueError
        If there are not two pulses.

    Examples
    --------
    >>> [(lane.name, lane.limb, lane.hands) for lane in split((3, 2)).lanes]
    [('3', 'right hand', 'RRR'), ('2', 'left hand', 'LL')]
    """
    example = "playing.split((7, 4), right=0)"
    p = as_polyrhythm(what, "what", example)
    right = index(right, len(p.pulses), "right", f"pulses {p.pulses}")
    if len(p.pulses) != 2:
        raise Refusal(f"{short(p)} has {len(p.pulses)} pulses for two hands", example)
    few_enough(sum(p.pulses), 0, p.ticks, f"composite({p}, ", MOST_LISTED)
    cycle = p.cycle(polyrhythm_and_home(what, None, "what", example)[1])
    limbs = [("right hand", "R") if i == right else ("left hand", "L") for i in range(2)]
    lanes = [
        Lane(lane.name, lane.onsets, limb=limb, hands=letter * len(lane.onsets))
        for lane, (limb, letter) in zip(cycle.lanes, limbs, strict=True)
    ]
    return counted_as(Cycle(cycle.ticks, lanes, beats=cycle.beats), cycle)


@public("playing.hand_to_hand((7, 4))", p="what")
def hand_to_hand(what: Rhythm, *, lead: str = "R", home: int | None = None) -> Cycle:
    """Play the heard line with the hands taking turns, accents on home.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.
    lead : str
        ``"R"`` or ``"L"``: the hand that begins.
    home : int, optional
        Index of the pulse that is counted and accented; the last one when left out.

    Returns
    -------
    Cycle
        One lane.  With an odd number of sounds the lead alternates, and the cycle is there twice, until it
        comes home.

    Examples
    --------
    >>> hand_to_hand((4, 3)).lanes[0].hands
    'RLRLRL'
    >>> cycle = hand_to_hand((5, 3))                        # 7 sounds
    >>> cycle.ticks, cycle.bars, cycle.lanes[0].hands
    (30, array([ 0, 15]), 'RLRLRLRLRLRLRL')
    """
    p, at = polyrhythm_and_home(what, home, "what", "playing.hand_to_hand((7, 4))")
    side = _lead_hand(lead)
    few_enough(sum(p.pulses), 0, p.ticks, f"composite({p}, ", MOST_LISTED)
    beats, onsets = p.onsets(at).tolist(), composite(p).onsets.tolist()
    turns = 1 + len(onsets) % 2
    onsets = [turn * p.ticks + tick for turn in range(turns) for tick in onsets]
    beats = [turn * p.ticks + tick for turn in range(turns) for tick in beats]
    hands = (side + mirrored(side, True)) * (len(onsets) // 2)
    lane = Lane("line", onsets, accents=beats, hands=hands)
    bars = [turn * p.ticks for turn in range(turns)]
    return counted_as(Cycle(turns * p.ticks, [lane], beats=beats, bars=bars), 0)


def _gaps(onsets: tuple[int, ...], ticks: int) -> tuple[int, ...]:
    """Return ticks from the stroke before to each stroke, round the cycle."""
    return tuple((onsets[i] - onsets[i - 1] - 1) % ticks + 1 for i in range(len(onsets)))


def _lead_hand(lead: object) -> str:
    if not isinstance(lead, str) or lead not in ("R", "L"):
        raise Refusal(
            f"lead={short(lead)} is not a hand, R or L", "stick((4, 3, 4, 3), 120, lead='L')", argument="lead"
        )
    return str(lead)

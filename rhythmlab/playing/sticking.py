"""Hands: which hand plays what, at a tempo that the hands can keep.

Each group of a phrase takes a rudiment of its length, begun by the hand that did not play the last stroke, or
else hands found by exact search under the limits of one hand.
Stickings: [pas1984] as transcribed elsewhere, R L L from [nsmd2022]; see ``data/rudiments.csv``.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from heapq import heappop, heappush
from itertools import islice, pairwise

from rhythmlab.content import table
from rhythmlab.core.call import public, public_class
from rhythmlab.core.check import MOST_LISTED, few_enough, flag, index, items, short
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.given import Rhythm, counted, polyrhythm
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.shown import Printed, Printer, line
from rhythmlab.core.tempo import Speed
from rhythmlab.playing.hands import Hand, Line, best_hands, fastest, hand, milliseconds, why
from rhythmlab.playing.judging import check_sticking
from rhythmlab.playing.limits import Limits
from rhythmlab.playing.phrasing import MOST_STROKES, Phrase
from rhythmlab.refusal import Refusal
from rhythmlab.words import number, plural

__all__ = ["Sticking", "check_sticking", "hand_to_hand", "split", "stick"]

_ENDLESS = ("single_strokes", "double_strokes", "triple_strokes")
_SWAP = str.maketrans("RL", "LR")
_SEARCHED = "by search"
_STICK = "stick((4, 4, 3), 120)"
#: So many choices of rudiments are tried before the hands are searched without any.
_MOST_CHOICES = 200


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

    def __str__(self) -> str:
        return " ".join(self.shapes)

    @property
    def shapes(self) -> tuple[str, ...]:
        """The hands of each group.

        Examples
        --------
        >>> stick((4, 4, 3), ms=125).shapes
        ('RLRR', 'LRLL', 'RLL')
        """
        starts = [sum(self.groups[:i]) for i in range(len(self.groups))]
        pairs = zip(starts, self.groups, strict=True)
        return tuple(self.hands[start : start + size] for start, size in pairs)

    def __repr__(self) -> str:
        return line(f"Sticking({self})")

    def _repr_pretty_(self, printer: Printer, cycle: bool) -> None:
        """Show a cell the hands, and why they are so."""
        printer.text("\n".join((str(self), *self.reasons)))

    @property
    def alternates(self) -> bool:
        """Whether the next cycle begins with the other hand."""
        return self.cycles == 2

    @property
    def reasons(self) -> tuple[str, ...]:
        """How each group is stuck, when the lead comes home, and what the tempo asks, in sentences.

        Examples
        --------
        >>> for reason in stick((4, 4, 3), 120).reasons: print(reason)
        R L R R: single paradiddle; R L L: right left left.
        The lead comes home every cycle: each one begins with R.
        The longest run in one hand is 2, 125 ms apart; two in one hand need 80 ms (common practice).
        """
        lead, other = self.hands[0], self.hands[0].translate(_SWAP)  # rudiments are named from the right
        told: dict[tuple[str, str], str] = {}
        for shape, name in zip(self.shapes, self.names, strict=True):
            shape = shape if shape[0] == "R" else shape.translate(_SWAP)
            told.setdefault((shape, name), f"{' '.join(shape)}: {name}")
        home = (
            f"The lead alternates: the next cycle begins with {other}, and it comes home after 2 cycles."
            if self.alternates
            else f"The lead comes home every cycle: each one begins with {lead}."
        )
        return (f"{'; '.join(told.values())}.", home, self._tempo_said())

    def _tempo_said(self) -> str:
        played = self.hands + (self.hands.translate(_SWAP) if self.alternates else self.hands)
        gaps, count, run, longest, apart = _gaps(self.onsets, self.ticks), len(self.hands), 1, 1, 0
        for i in range(1, len(played)):
            run = run + 1 if played[i] == played[i - 1] else 1
            gap = gaps[i % count]
            if run > longest or (1 < run == longest and gap < apart):
                longest, apart = run, gap
        if longest == 1:
            return "The hands take turns all the way."
        far = "" if len(set(gaps)) == 1 else " at the closest"
        return (
            f"The longest run in one hand is {longest}, {number(apart * self.tick_ms, 1)} ms apart{far}; "
            f"{why(self.rules.need(longest))}."
        )

    def cycle(self, *, whole: bool = False, name: str = "sticking", sound: str = "click") -> Cycle:
        """Return it as a cycle, with hands and with accents on the group starts.

        Parameters
        ----------
        whole : bool
            Whether to go on until the lead comes home, which may take two cycles.
        name, sound : str
            Of its lane, as for `Lane`.

        Examples
        --------
        >>> stick((4, 3), 120).cycle(whole=True).lanes[0].hands
        'RLRRLRRLRLLRLL'
        """
        turns = self.cycles if flag(whole, "whole", "stick((4, 3), 120).cycle(whole=True)") else 1
        hands = (self.hands + self.hands.translate(_SWAP))[: turns * len(self.hands)]
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
        Groups of equal strokes, such as (4, 4, 3); or pulses, whose heard line is stuck with accents on home.
    tempo : Tempo or number
        The speed; a number is beats a minute of home. The beat of a phrase is its commonest group.
    ms : number, optional
        Instead of a tempo, for a phrase: milliseconds from stroke to stroke.
    lead : str
        ``"R"`` or ``"L"``: the hand that begins.
    rudiments : sequence of str, optional
        Keys of ``data/rudiments.csv``, or stickings such as ``"RLL"``, in the order of preference; all of
        the file when left out, none for an empty one.  A group takes the first one of its length that
        the tempo allows, the same for all groups of a length; where there is none, hands are searched.
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
    >>> print(stick((4, 4, 3), 120))
    RLRR LRLL RLL
    >>> print(stick((4, 4, 3), 120, rudiments=[]))
    RLRL RLRL RLL
    """
    rules, side = hand(limits), _letter(lead)
    if isinstance(what, Polyrhythm | Cycle):
        p, home = counted(what, None, "what", _STICK)
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
        shapes: dict[int, list[tuple[str, str]]] = {}
    else:
        phrase = what if isinstance(what, Phrase) else Phrase(what)
        cycle, ticks, groups = phrase.cycle(), phrase.ticks, phrase.groups
        onsets, beats = tuple(range(ticks)), phrase.starts
        shapes = _shapes(rudiments, set(groups))
    tick_ms = milliseconds(tempo, ms, cycle, _STICK)
    gaps = _gaps(onsets, ticks)
    accents = frozenset(onsets.index(beat) for beat in beats)
    free = Line(gaps, accents, (None,) * len(gaps))
    searched = best_hands(free, tick_ms, rules)
    if searched is None:
        raise _too_fast(free, tick_ms, rules)
    names, found = (_SEARCHED,) * len(groups), searched
    for chosen_names, moves in islice(_choices(groups, shapes, rules.longest(tick_ms)), _MOST_CHOICES):
        fixed = best_hands(Line(gaps, accents, moves), tick_ms, rules) if moves != free.moves else searched
        if fixed:
            names, found = chosen_names, fixed
            break
    hands = found[0] if side == "R" else found[0].translate(_SWAP)
    return Sticking(hands, groups, names, found[1], onsets, beats, ticks, tick_ms, rules)


def _choices(
    groups: tuple[int, ...], shapes: dict[int, list[tuple[str, str]]], longest: int
) -> Iterable[tuple[tuple[str, ...], tuple[bool | None, ...]]]:
    """Yield the name of each group and the moves that it fixes, the preferred rudiments first."""
    sizes = sorted(set(groups))
    free = (_SEARCHED, "")
    options = [
        [*((name, shape) for name, shape in shapes.get(size, ()) if _longest_run(shape) <= longest), free]
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
        moves: list[bool | None] = []
        for size in groups:
            shape = taken[size][1]
            moves += [True, *(a != b for a, b in pairwise(shape))] if shape else [None] * size
        yield tuple(taken[size][0] for size in groups), tuple(moves)


def _longest_run(shape: str) -> int:
    return max(run for run in range(1, len(shape) + 1) if "R" * run in shape or "L" * run in shape)


def _shapes(rudiments: Iterable[str] | None, sizes: set[int]) -> dict[int, list[tuple[str, str]]]:
    """Return name and sticking, begun by the right hand, of the rudiments for each size of group."""
    rows = {row["key"]: row for row in table("rudiments.csv")}
    example = 'stick((4, 4, 3), 120, rudiments=["single_paradiddle", "RLL"])'
    if rudiments is None:
        keys = sorted(rows, key=lambda key: key in _ENDLESS)
    else:
        keys = items(rudiments, "rudiments", example, MOST_STROKES, "rudiments")
    found: dict[int, list[tuple[str, str]]] = {size: [] for size in sizes}
    for key in keys:
        if isinstance(key, str) and 0 < len(key) <= MOST_STROKES and not set(key) - set("RL"):
            name, shape = "as given", key if key[0] == "R" else key.translate(_SWAP)
        elif isinstance(key, str) and key in rows:
            name, shape = rows[key]["name"], rows[key]["sticking"].split()[0]
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


def _too_fast(line: Line, tick_ms: Fraction, rules: Hand) -> Refusal:
    least = fastest(line, rules)
    even = len(set(line.gaps)) == 1
    closest = min(line.gaps) * tick_ms
    apart = f"{number(closest, 1)} ms apart" if even else f"{number(closest, 1)} ms apart at the closest"
    if even:
        ms = max(84, _up(least))  # without moved limits, too
        mended = f"the fastest that works is {number(least)} ms"
        example = f"stick((4, 4, 3), ms={ms})"
    else:
        slower = number(Fraction(int(1000 * tick_ms / least), 10), 1)
        mended = f"it works from {slower} % of this tempo down"
        example = "stick(Polyrhythm(9, 8), 60)"
    return Refusal(
        f"no hands can play {plural(len(line.gaps), 'stroke')} {apart}, round and round: {why(rules.two)}, "
        f"and where the hands take turns each plays every {number(2 * closest, 1)} ms, while "
        f"{why(rules.need(4))}; {mended}",
        example,
    )


def _up(ms: Fraction) -> int:
    return -(-ms.numerator // ms.denominator)


@public("split((7, 4), right=0)", p="what")
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
    example = "split((7, 4), right=0)"
    p = polyrhythm(what, "what", example)
    right = index(right, len(p.pulses), "right", f"pulses {p.pulses}")
    if len(p.pulses) != 2:
        raise Refusal(f"{short(p)} has {len(p.pulses)} pulses for two hands", example)
    few_enough(sum(p.pulses), 0, p.ticks, f"composite({p}, ", MOST_LISTED)
    cycle = p.cycle(counted(what, None, "what", example)[1])
    limbs = [("right hand", "R") if i == right else ("left hand", "L") for i in range(2)]
    lanes = [
        Lane(lane.name, lane.onsets, limb=limb, hands=letter * len(lane.onsets))
        for lane, (limb, letter) in zip(cycle.lanes, limbs, strict=True)
    ]
    return Cycle(cycle.ticks, lanes, beats=cycle.beats)


@public("hand_to_hand((7, 4))", p="what")
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
    p, at = counted(what, home, "what", "hand_to_hand((7, 4))")
    side = _letter(lead)
    few_enough(sum(p.pulses), 0, p.ticks, f"composite({p}, ", MOST_LISTED)
    beats, onsets = p.onsets(at).tolist(), composite(p).onsets.tolist()
    turns = 1 + len(onsets) % 2
    onsets = [turn * p.ticks + tick for turn in range(turns) for tick in onsets]
    beats = [turn * p.ticks + tick for turn in range(turns) for tick in beats]
    hands = (side + side.translate(_SWAP)) * (len(onsets) // 2)
    lane = Lane("composite", onsets, accents=beats, hands=hands)
    return Cycle(turns * p.ticks, [lane], beats=beats, bars=[turn * p.ticks for turn in range(turns)])


def _gaps(onsets: tuple[int, ...], ticks: int) -> tuple[int, ...]:
    """Return ticks from the stroke before to each stroke, round the cycle."""
    return tuple((onsets[i] - onsets[i - 1] - 1) % ticks + 1 for i in range(len(onsets)))


def _letter(lead: object) -> str:
    if not isinstance(lead, str) or lead not in ("R", "L"):
        raise Refusal(
            f"lead={short(lead)} is not a hand, R or L", "stick((4, 4, 3), 120, lead='L')", argument="lead"
        )
    return str(lead)

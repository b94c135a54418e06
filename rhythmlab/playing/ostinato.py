"""Ostinatos: feet of one length against hands of another, and which limb meets which where.

An ostinato is a `Cycle` of whole bars, so it is seen, heard and played along with as any other; printed, it
says in sentences where things fall.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import lcm

import numpy as np

from rhythmlab import words
from rhythmlab.core.call import public, public_class
from rhythmlab.core.check import short
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.given import cycle
from rhythmlab.core.kinds import Ticks
from rhythmlab.core.shown import Printed
from rhythmlab.core.tempo import Speed
from rhythmlab.playing.groove import bars_shown, named
from rhythmlab.playing.meeting import first_meeting, meeting_count, met_between
from rhythmlab.playing.metre import Bars, Metre, tempo_of
from rhythmlab.playing.metre import metre as metre_of
from rhythmlab.playing.patterns import Pattern, pattern
from rhythmlab.refusal import Refusal

_EXAMPLE = 'ostinato(pattern("x...", limb="right foot"), pattern("x..", limb="right hand"))'
_SAID = 'ostinato("x..x", "x..", metre="4/4").said(96)'

#: Most lanes of a side: limbs.
_MOST_LANES = 16
_HANDS = {"R": "right hand", "L": "left hand"}


@dataclass(frozen=True, slots=True)
class _Voice:
    """The strokes of one limb in one lane, in a cycle of its own length."""

    side: str
    name: str
    limb: str
    onsets: list[int]
    ticks: int


@public_class('ostinato("x..x", "x..", metre="4/4")')
@dataclass(frozen=True, slots=True, init=False, eq=False, repr=False)
class Ostinato(Printed, Bars):
    """Feet of one length against hands of another.

    Attributes
    ----------
    feet, hands : int
        Their lengths in ticks.
    home : int
        Bars until feet, hands and bar come home together.
    from_bar : int
        The bar that this cycle begins with, from 1.
    meets : dict
        For each foot and hand by limb: int64 ticks where they meet, in the bars shown, from their first.
    counts : dict
        For each foot and hand by limb: how often they meet until everything comes home, exact.
    """

    feet: int
    hands: int
    home: int
    from_bar: int
    meets: dict[tuple[str, str], Ticks]
    counts: dict[tuple[str, str], int]

    @property
    def shared(self) -> Ticks:
        """The ticks where any foot and any hand meet, int64."""
        return np.unique(np.concatenate([np.empty(0, dtype=np.int64), *self.meets.values()]))

    @public(_SAID, bpm="tempo")
    def said(self, tempo: Speed | None = None) -> str:
        """Say when feet and hands come home together, and which limb meets which where.

        Parameters
        ----------
        tempo : number or Tempo, optional
            Beats a minute of the metre's beat, for seconds.

        Examples
        --------
        >>> ostinato("x...", "x..", metre="4/4").said(120)
        'Feet of 4 ticks against hands of 3: with bars of 4/4 they come home together after 3 bars (48 \
ticks, 6 seconds), 12 times round for the feet and 16 times for the hands. Right foot and right hand meet \
four times: bar 1: 1, 4; bar 2: 3; bar 3: 2.'
        """
        bar, ticks = self.metre, self.home * self.metre.ticks
        time = (
            ""
            if tempo is None
            else f", {words.seconds(tempo_of(bar, tempo, _SAID).tick_seconds(self) * ticks)}"
        )
        text = (
            f"Feet of {words.plural(self.feet, 'tick')} against hands of {words.number(self.hands)}: with "
            f"bars of {bar} they come home together after {words.plural(self.home, 'bar')} "
            f"({words.plural(ticks, 'tick')}{time}), {words.times(ticks // self.feet)} round for the feet "
            f"and {words.times(ticks // self.hands)} for the hands."
        )
        rows = []
        for (foot, hand), at in self.meets.items():
            count = self.counts[foot, hand]
            who = f"{foot} and {hand}".capitalize()
            rows.append(
                f"{who} meet {words.times(count)}: {self._places(at)}." if count else f"{who} never meet."
            )
        limbs = [limb for lane in self.lanes for limb in _limbs(lane) if limb]
        twice = [limb for limb in dict.fromkeys(limbs) if limbs.count(limb) > 1]
        shared = f"The {words.listed(twice)} never {'have' if len(twice) > 1 else 'has'} two strokes at once."
        return words.sentences(text, *rows, shared if twice else "")

    def _places(self, ticks: Ticks) -> str:
        if not len(ticks):
            return "not in these bars"
        bars, first = np.unique(ticks // self.metre.ticks, return_index=True)
        rows = list(zip(bars.tolist(), np.split(ticks, first[1:]), strict=True))

        def row(at: tuple[int, Ticks]) -> str:
            return f"bar {at[0] + self.from_bar}: {named(at[1].tolist(), self.metre.said)}"

        return named(rows, row, 12, "; ")

    def __str__(self) -> str:
        return self.said()


@public('ostinato("x..x..x.", "x.x.xx", metre="4/4")')
def ostinato(
    feet: str | Cycle | Mapping[str, str | Cycle],
    hands: str | Cycle | Mapping[str, str | Cycle],
    *,
    metre: str | Metre | None = None,
    bars: int | None = None,
    from_bar: int = 1,
) -> Ostinato:
    """Set an ostinato in the feet against a phrase in the hands, each of its own length.

    Parameters
    ----------
    feet, hands : str, Pattern, Cycle or dict
        A pattern such as ``"x..x"``, any cycle, or patterns of one length by limb, such as
        ``{"right hand": "x.x.", "left hand": ".x.x"}``. A pattern without a limb is played by the right
        foot or the right hand; the strokes of a lane with `hands` are played by those hands.
    metre : str or Metre, optional
        The bar; that of the feet, or a bar as long as the feet, when left out.
    bars, from_bar : int, optional
        How many bars, and from which on; until everything comes home when left out.

    Returns
    -------
    Ostinato
        A `Cycle`; printed, it says which limb meets which and where.

    Raises
    ------
    ValueError
        If one limb is asked for two strokes at one tick, or the bars until everything comes home are too
        many to lay out.

    Examples
    --------
    >>> o = ostinato("x...", "x..", metre="4/4")
    >>> o.home, o.meets["right foot", "right hand"]
    (3, array([ 0, 12, 24, 36]))
    """
    low_ticks, low_lanes = _side(feet, "feet", "right foot", ("bass drum", "closed hi-hat"))
    high_ticks, high_lanes = _side(hands, "hands", "right hand", ("bell", "snare"))
    bar = _bar(feet, low_ticks, low_lanes[0]) if metre is None else metre_of(metre)
    voices = [
        *(voice for lane in low_lanes for voice in _voices("feet", lane, low_ticks)),
        *(voice for lane in high_lanes for voice in _voices("hands", lane, high_ticks)),
    ]
    _one_stroke_each(voices, bar)
    ticks = lcm(low_ticks, high_ticks, bar.ticks)
    sides = ((low_lanes, low_ticks), (high_lanes, high_ticks))
    each = max(
        len(bar.groups),
        *(len(lane.onsets) * bar.ticks // length for lanes, length in sides for lane in lanes),
    )
    home = ticks // bar.ticks
    example = _EXAMPLE.removesuffix(")") + ", bars=8)"
    count, at = bars_shown(bars, from_bar, home, bar.ticks, each, "feet and hands", example)
    low, high = (at - 1) * bar.ticks, (at - 1 + count) * bar.ticks
    laid = [_laid(lane, length, low, high) for lanes, length in sides for lane in lanes]
    made = Ostinato.__new__(Ostinato)
    Bars.__init__(made, bar, count, laid)
    meets, counts = _meets(voices, low, high, ticks)
    fields = {"feet": low_ticks, "hands": high_ticks, "home": home, "from_bar": at}
    for field, value in (*fields.items(), ("meets", meets), ("counts", counts)):
        object.__setattr__(made, field, value)
    return made


def _meets(
    voices: Sequence[_Voice], low: int, high: int, ticks: int
) -> tuple[dict[tuple[str, str], Ticks], dict[tuple[str, str], int]]:
    meets: dict[tuple[str, str], Ticks] = {}
    counts: dict[tuple[str, str], int] = {}
    for foot in voices:
        for hand in voices:
            if (foot.side, hand.side) == ("feet", "hands"):
                pair, both = (foot.limb or foot.name, hand.limb or hand.name), lcm(foot.ticks, hand.ticks)
                found = met_between(foot.onsets, foot.ticks, hand.onsets, hand.ticks, low, high) - low
                meets[pair] = np.union1d(meets[pair], found) if pair in meets else found
                count = meeting_count(foot.onsets, foot.ticks, hand.onsets, hand.ticks)
                counts[pair] = counts.get(pair, 0) + count * (ticks // both)
    return meets, counts


def _side(given: object, side: str, limb: str, sounds: tuple[str, str]) -> tuple[int, tuple[Lane, ...]]:
    """Return the length and the lanes of the feet or of the hands."""
    if isinstance(given, Mapping) and 0 < len(given) <= _MOST_LANES:
        rows = [pattern(row).by(who) if isinstance(row, str) else row for who, row in given.items()]
        rows = [
            row.by(who) if isinstance(row, Pattern) else row for row, who in zip(rows, given, strict=True)
        ]
    else:
        rows = [pattern(given) if isinstance(given, str) else given]
    rows = [row if isinstance(row, Cycle) else cycle(row, side, _EXAMPLE) for row in rows]
    for row in rows:
        if not isinstance(row, Cycle) or not row.lanes:
            raise Refusal(f"{side}={short(row)} is neither a pattern nor a cycle", _EXAMPLE, argument=side)
        if row.ticks != rows[0].ticks:
            raise Refusal(
                f"the {side} have patterns of {rows[0].ticks} and {row.ticks} ticks, but one "
                "side has one length",
                _EXAMPLE,
            )
    if sum(len(row.lanes) for row in rows) > _MOST_LANES:
        raise Refusal(f"the {side} have more than {_MOST_LANES} lanes", _EXAMPLE)
    lanes: list[Lane] = []
    for lane in (lane for row in rows for lane in row.lanes):
        who = lane.limb or ("hands" if lane.hands else limb)
        sound = sounds[min(len(lanes), 1)] if lane.sound == "click" else lane.sound
        name = who if lane.name == "pattern" else lane.name
        lanes.append(Lane(name, lane.onsets, who, sound, lane.accents, lane.ghosts, lane.hands))
    return rows[0].ticks, tuple(lanes)


def _bar(feet: object, ticks: int, lane: Lane) -> Metre:
    """Return the metre of the feet, or a bar as long as they are."""
    known = getattr(feet, "metre", None)
    if isinstance(known, Metre):
        return known
    if ticks % 4 == 0:
        return Metre(ticks // 4, 4)
    grouped = len(lane.onsets) and lane.onsets[0] == 0
    return Metre(ticks, 8, np.diff(np.append(lane.onsets, ticks)).tolist() if grouped else None)


def _voices(side: str, lane: Lane, ticks: int) -> list[_Voice]:
    onsets = lane.onsets.tolist()
    if not lane.hands:
        return [_Voice(side, lane.name, lane.limb, onsets, ticks)]
    rows = {hand: [t for t, by in zip(onsets, lane.hands, strict=True) if by == hand] for hand in _HANDS}
    return [_Voice(side, lane.name, _HANDS[hand], row, ticks) for hand, row in rows.items() if row]


def _limbs(lane: Lane) -> list[str]:
    """Return the limbs that play a lane."""
    return [_HANDS[hand] for hand in _HANDS if hand in lane.hands] or [lane.limb]


def _one_stroke_each(voices: Sequence[_Voice], bar: Metre) -> None:
    """Refuse two strokes of one limb at one tick, by name and tick."""
    for a, b in combinations(voices, 2):
        if a.limb and a.limb == b.limb:
            tick = first_meeting(a.onsets, a.ticks, b.onsets, b.ticks)
            if tick is not None:
                raise Refusal(
                    f"the {a.limb} is asked for two strokes at tick {tick:,} (bar "
                    f"{tick // bar.ticks + 1:,}, on {bar.said(tick)}): by {a.name!r} in the "
                    f"{a.side} and by {b.name!r} in the {b.side}; give one of them another limb",
                    _EXAMPLE,
                )


def _laid(lane: Lane, ticks: int, low: int, high: int) -> Lane:
    """Return a lane repeated over a window, its ticks counted from the window's start."""

    def over(onsets: Iterable[int]) -> Ticks:
        turns = np.arange(low // ticks, -(-high // ticks), dtype=np.int64) * ticks
        laid = (turns[:, None] + np.asarray(onsets, dtype=np.int64)).ravel()
        return laid[(laid >= low) & (laid < high)] - low

    onsets, hands = over(lane.onsets), lane.hands
    if hands:
        which = np.searchsorted(lane.onsets, (onsets + low) % ticks)
        hands = "".join(np.array(list(hands))[which].tolist())
    return Lane(lane.name, onsets, lane.limb, lane.sound, over(lane.accents), over(lane.ghosts), hands)

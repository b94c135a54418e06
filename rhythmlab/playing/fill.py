"""A polyrhythm as a fill: which ones hands can play in a bar, where each enters, and what it lands on."""

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice, pairwise, zip_longest
from math import floor, gcd
from typing import overload

import numpy as np

from rhythmlab.core import check
from rhythmlab.core.check import MOST_TICKS, flag, items, short, whole
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.display import Printed
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm, as_cycle, as_polyrhythm
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.core.types import Ticks
from rhythmlab.playing.groove import MOST_LAID, apart_text, backbeat
from rhythmlab.playing.hands import Hand, Soon, ceiling, fits, hand_of, letter_limbs, limbs, mirrored, sides
from rhythmlab.playing.limits import Limit, Limits, limits_or, source_text
from rhythmlab.playing.metre import (
    NOTES,
    Bars,
    Metre,
    felt,
    groups_text,
    lane_places,
    note_name,
    tempo_of,
    with_article,
)
from rhythmlab.playing.metre import metre as metre_of
from rhythmlab.playing.patterns import Pattern, foot_pattern, parts_in_bar, pattern, set_in_bar, usual_player
from rhythmlab.refusal import Refusal
from rhythmlab.text import counts, numbers, sentences

#: Largest number that pairs are looked for up to; most pairs that are given, and that are shown of a kind.
MOST_NUMBER, MOST_PAIRS, MOST_BEST = 200, 1_000, 1_000
#: What a fill is played on, and lands on where no crash is wanted.
_DRUM = "high tom"
#: The power of a lane of time with accents, of what it has by itself: an accent has that of a plain stroke.
_ACCENTED_TIME = Fraction(9, 26) ** 2
#: The power of a fill's stroke at most, in plain strokes: half a dB more, and accents still 8 dB above it.
_MOST_POWER = Fraction(9, 8)
_FILL = 'fill("4/4", 100, beats=4)'
_RESOLVE = 'playing.resolve((7, 4), "4/4")'
_FEET = 'playing.resolve((7, 4), "4/4", feet="x..x..x.")'
_STUCK = 'playing.resolve((5, 4), "4/4", sticking="RLRRL")'
_STROKE_MS = "playing.resolve((7, 4)).stroke_ms(96)"
#: Shortest written note on which one hand keeps time, note by note: an eighth (common practice, no source).
_SHORTEST_TIME = 8
#: Milliseconds between strokes that are heard as a fill, and fewest strokes: closer ones are a roll, wider or
#: fewer ones are time (common practice, no source).
_CLOSEST_MS, _WIDEST_MS, _FEWEST = 100, 400, 3
_DESCRIBE = 'playing.resolve((7, 4), "4/4").describe(96, limits=limits(hand_two=70))'


@public_class("playing.resolve((7, 4))")
@dataclass(frozen=True, slots=True, init=False, eq=False, repr=False)
class Fill(Printed, Bars):
    """Bars of time with a polyrhythm in the hands that resolves on a beat; the feet go on throughout.

    Attributes
    ----------
    pair : tuple of int
        Strokes of the hands against pulses of home.
    home : str
        The note that home is, such as "a quarter".
    enter, lands : int
        Tick of the first stroke of the fill, and the tick it lands on; that of a whole cycle where it
        lands on the first beat when the bars come round.
    strokes, step : int
        Strokes of the fill before it lands, and ticks from each to the next.
    cycles : Fraction
        How much of the pair is played: 2 is twice round, 4/15 the last four pulses of 15.
    kept : str
        What the feet keep.
    landing : str
        The drum that it lands on, the fill's own or a crash.
    sticking : str
        The hands that were asked for, over and over from the first stroke; empty where they take turns.
    """

    pair: tuple[int, int]
    home: str
    enter: int
    lands: int
    strokes: int
    step: int
    cycles: Fraction
    kept: str
    landing: str
    sticking: str

    @public(_STROKE_MS, bpm="tempo")
    def stroke_ms(self, tempo: Speed) -> Fraction:
        """Milliseconds from stroke to stroke of the fill, exact.

        Examples
        --------
        >>> resolve((7, 4), "4/4").stroke_ms(120)
        Fraction(2000, 7)
        """
        return 1000 * tempo_of(self.metre, tempo, _STROKE_MS).tick_seconds(self) * self.step

    @property
    def powers(self) -> tuple[Fraction, ...]:
        """As `Cycle.powers` says: all strokes of the fill have what one on each beat would have.

        So a fill is as loud as the time that is played round it, however many strokes it has; fewer strokes
        than beats have half a dB more each, and no more. Accents of time are plain strokes, and those
        between them are softer.

        Examples
        --------
        >>> resolve((7, 4), "4/4").powers[-1], resolve((3, 4), "4/4").powers[-1]
        (Fraction(4, 7), Fraction(9, 8))
        """
        first, last = np.searchsorted(self.beats, (self._begin, self.lands)).tolist()
        of_fill = Fraction(max(1, last - first), self.strokes)
        rest = (
            _ACCENTED_TIME if lane.name == "time" and lane.accents else Fraction(1) for lane in self.lanes
        )
        return (*list(rest)[:-1], min(_MOST_POWER, of_fill))

    @public("playing.resolve((7, 4)).hand()", bounds="limits")
    def hand(self, *, limits: Limits | None = None) -> Limit:
        """Return the limit that sets its fastest tempo, of the hand or foot that is first at its end."""
        return self._bound(limits).limit

    def _bound(self, limits: Limits | None) -> Soon:
        found = ceiling(self, self.ticks, hand_of(limits_or(limits, _DESCRIBE)))
        assert found is not None  # there is a stroke
        return found

    @public("playing.resolve((7, 4)).fastest()", bounds="limits")
    def fastest(self, *, limits: Limits | None = None) -> Fraction:
        """Return the fastest tempo, in beats of the metre, at which hands and feet stay within the limits.

        Examples
        --------
        >>> resolve((7, 2), "4/4").fastest()
        Fraction(240000, 1169)
        """
        return self.stroke_ms(1) / self.step / self._bound(limits).tick_ms

    @public("playing.resolve((7, 4)).describe(120)", bpm="tempo", bounds="limits")
    def describe(self, tempo: Speed | None = None, *, limits: Limits | None = None) -> str:
        """Say what is played, where to enter, where it lands, and what the feet keep.

        Parameters
        ----------
        tempo : number or Tempo, optional
            Beats a minute of the metre's beat, for milliseconds.
        limits : Limits, optional
            The limits to use.

        Examples
        --------
        >>> resolve((7, 4), "4/4").describe(120)
        '7 against 4 (the 4 is a quarter): enter in bar 4 on 1 with the left hand, 7 strokes hand to hand; \
the right hand lands on 1 as the bars come round. The feet keep every beat. Strokes are 286 ms apart.'
        """
        p, q = self.pair
        part = self.cycles
        often = "" if part == 1 else f", {numbers.times(int(part))}" if part.denominator == 1 else ""
        if part < 1:
            often = f", the last {numbers.plural(int(part * q), 'pulse')} of {q}"
        each = self.metre.ticks
        lands = f"in bar {self.lands // each + 1} on {self.metre.describe(self.lands)}"
        if self.lands == self.ticks:
            lands = "on 1 as the bars come round"
        lead, hand = letter_limbs(self.lanes[-1])[0], self.lanes[-2].limb
        on = "" if self.landing == _DRUM else f", with a {self.landing}"
        text = (
            f"{p} against {q}{often} ({self._home_text()}): enter in bar {self.enter // each + 1} "
            f"on {self._enter_text()} with the {lead}, {numbers.plural(self.strokes, 'stroke')}"
            f"{self._how_text()}; the {hand} lands {lands}{on}. The feet keep {_quoted(self.kept)}."
        )
        if tempo is None:
            return text
        ms = self.stroke_ms(tempo)
        bound, one = self._bound(limits), _one_hand_limit(self, limits)
        closer = apart_text(ms, one.value) if ms < one.value else ""  # with what tells it from what is needed
        text += f" Strokes are {closer or numbers.number(ms, 0)} ms apart"
        if ms < self.step * bound.tick_ms:
            apart = apart_text(bound.apart * ms / self.step, bound.limit.value) or "so many"
            upto = f"it can be played up to {numbers.number(floor(self.fastest(limits=limits)), 0)} bpm."
            foot = "foot" in bound.limb
            need = _limit_text(bound.limit, "of one foot" if foot else "in one hand")
            plays = f"plays every {apart} ms ({need}); {upto}"
            if foot:
                return f"{text}. Too fast for the {bound.limb}, which {plays}"
            before, on = self._played_on(bound)
            if {before, on} <= {"fill", self.landing}:
                how = "by these hands" if self.sticking else "even hand to hand"
                return f"{text}, too fast {how}: the {bound.limb} {plays}"
            if before == on:
                return f"{text}. Too fast for the {bound.limb} on the {on}, which {plays}"
            goes = f"goes from the {before} to the {on} in {apart} ms ({need}); {upto}"
            return f"{text}. Too fast for the {bound.limb}, which {goes}"
        if self.sticking or ms >= one.value:
            return f"{text}."
        return f"{text}, too fast for one hand ({_limit_text(one)})."

    def _played_on(self, bound: Soon) -> tuple[str, str]:
        """Return what a hand plays its stroke before this one on, and this one: time, fill or landing.

        Of the strokes that are as soon in one row of time, those of the time.
        """
        lanes = {"fill": self.lanes[-1], self.landing: self.lanes[-2]}
        lanes |= {lane.sound.split()[-1]: lane for lane in self.lanes[:-2] if lane.limb == bound.limb}
        on = {
            tick: name
            for name, lane in reversed(lanes.items())
            for tick, limb in zip_longest(lane.onsets.tolist(), letter_limbs(lane), fillvalue=lane.limb)
            if limb == bound.limb
        }
        row = limbs(self)[bound.limb].tolist()
        steps = [(on[before], on[tick], tick - before) for before, tick in pairwise(row)]
        if bound.nth == 4 and ("hi-hat", "hi-hat", bound.apart) in steps:
            return "hi-hat", "hi-hat"
        return on[row[bound.index - 1]], on[bound.tick]

    def _how_text(self) -> str:
        """Say how the hands share the strokes, if there are two or more."""
        if not self.sticking:
            return " hand to hand" if self.strokes > 1 else ""
        turns = self.strokes // len(self.sticking)
        letters = " ".join(self.sticking if len(self.sticking) <= 24 else f"{self.sticking[:23]}…")
        return f" as {letters}{f', {numbers.times(turns)}' if turns > 1 else ''}"

    @property
    def _on_beats(self) -> bool:
        """Whether the pulses of home are the beats of the bar, and not the written notes."""
        inside = self.beats[(self.beats >= self._begin) & (self.beats < self.lands)]
        return np.array_equal(inside, np.arange(self._begin, self.lands, self._pulse))

    @property
    def _pulse(self) -> int:
        """Ticks of a pulse of home."""
        return self.step * self.pair[0] // self.pair[1]

    @property
    def _begin(self) -> int:
        """The tick of the first pulse of home that the fill is played over."""
        return self.lands - int(self.cycles * self.pair[1]) * self._pulse

    def _home_text(self) -> str:
        if self._on_beats:
            return f"the {self.pair[1]} is {self.home}"
        return f"count the {self.pair[1]} in {NOTES[self.metre.unit]}s"

    def _enter_text(self) -> str:
        """Say where the first stroke is, counted from the beats as in the pictures."""
        place = lane_places(self, self.lanes[-1].onsets, self.enter, self.ticks)[self.enter]
        place = replace(place, beat=(place.beat - 1) % len(self.metre.groups) + 1)
        name = counts.said_row([place])
        if place.part == 1 or counts.has_syllable(place):
            return name
        if counts.part_words(place.parts, place.longest):
            name += f" (part {place.part} of {place.parts})"
        nth, off = divmod(self.enter % self.metre.ticks, self.metre.parts)
        if off or self._on_beats:
            return name
        return f"its {numbers.nth(nth)} {NOTES[self.metre.unit]}, counted {name},"

    def __str__(self) -> str:
        return self.describe()


@public(_RESOLVE)
def resolve(
    pair: Rhythm = (7, 4),
    metre: str | Metre = "4/4",
    *,
    bars: int = 4,
    beats: int | None = None,
    lands: int = 1,
    feet: str | Cycle | None = None,
    crash: bool = False,
    sticking: str = "",
    left_handed: bool = False,
) -> Fill:
    """Play bars of time, then a polyrhythm that resolves on a beat, with the feet unbroken, as one cycle.

    Parameters
    ----------
    pair : Polyrhythm or two ints
        Strokes of the hands against pulses of home. Home is the beat of the bar, or the written note
        where the beats of the fill are uneven.
    metre : str or Metre
        The bar.
    bars : int
        Bars in all; the fill is the last thing in them.
    beats : int, optional
        Beats of the fill; one bar when left out. A longer pair is played from its middle to its end, a
        shorter one as often as it fits, entering later where it does not fit exactly.
    lands : int
        The beat that it lands on: 1 is the downbeat as the bars come round, another is in the last bar.
    feet : str, Pattern or Cycle, optional
        What the feet keep, a pattern that fits the bars a whole number of times; every beat when left out,
        in an odd bar of eighths without groups the first of each: 7/8 as 2+2+3.
        Of a phrase such as ``"4 4"`` the right foot has the first of each group, of a sticking each foot its
        letters.
    crash : bool
        Whether it lands on a crash cymbal, or on the drum that it is played on.
    sticking : str
        The hands of the fill, such as ``"RLRRL"``, over and over where it has more strokes. When left out,
        hand to hand, so that the leading hand lands; the leading hand lands in any case.
    left_handed : bool
        Whether hands and feet are mirrored; feet that are given with their own limbs stay, and so do the
        letters of a sticking.

    Returns
    -------
    Fill
        A `Cycle` of `bars` bars, with a lane for the landing note.

    Raises
    ------
    ValueError
        If a number is out of range, the fill does not fit into the bars, or the feet do not come home.

    Examples
    --------
    >>> four = resolve((7, 4), "4/4", bars=4)
    >>> len(four.bars), four.enter * len(four.bars) // four.ticks, four.strokes
    (4, 3, 7)
    >>> resolve((5, 4), sticking="RLRRL").lanes[-1].hands
    'RLRRL'
    """
    bar, (p, q) = _bar_of(feet, metre_of(metre)), pair_numbers(pair)
    lead, other = sides(flag(left_handed, "left_handed", f"{_RESOLVE[:-1]}, left_handed=True)"))
    own = _own_hands(sticking)
    landing = "crash" if flag(crash, "crash", f"{_RESOLVE[:-1]}, crash=True)") else _DRUM
    window = fill_window(bar, bars, beats, lands)
    home = note_name(Fraction(window[2] // bar.parts, bar.unit))
    home = with_article(home) if home else "a beat"
    placed = _placed(p, q, bar, bars, window)
    end, step, times, onsets = placed.end, placed.step, placed.times, placed.onsets
    fine = bar.finer(times)
    lanes, kept = _feet_lanes(feet, bar, bars, times, f"{lead} foot")
    time, snare = _outside(_time_rows(bar, bars), placed, bars * fine.ticks)
    groups = time[np.isin(time, felt(fine).beats_in(bars))] if max(felt(bar).groups) > 1 else ()
    lanes.append(Lane("time", time, f"{lead} hand", "closed hi-hat", accents=groups))
    lanes += [Lane("snare", snare, f"{other} hand", "snare")] * bool(len(snare))
    lands_at = [end % (bars * fine.ticks)]
    name = landing.split()[-1]  # "tom" or "crash": short, so that the picture keeps its room
    lanes.append(Lane(name, lands_at, f"{lead} hand", landing, accents=lands_at))
    _comes_out(sticking, own, p, q, len(onsets), left_handed)
    hands = _fill_hands(own, len(onsets), left_handed)
    lanes.append(Lane("fill", onsets, "hands", _DRUM, hands=hands))
    made = Fill.__new__(Fill)
    Bars.__init__(made, fine, bars, lanes)
    fields = {"pair": (p, q), "home": home, "enter": int(onsets[0]), "lands": end, "strokes": len(onsets)}
    for field, value in (
        *fields.items(),
        ("step", step),
        ("cycles", placed.cycles),
        ("kept", kept),
        ("landing", landing),
        ("sticking", own),
    ):
        object.__setattr__(made, field, value)
    return made


def _fill_hands(own: str, count: int, left_handed: bool = False) -> str:
    """Return the hands of so many strokes: hand to hand so that the leading hand lands, or one's own."""
    if own:
        return own * (count // len(own))
    return mirrored(("RL" * count)[-count:], left_handed)


def _own_hands(given: str) -> str:
    """Return the letters of a fill's own sticking, or refuse it; none where none is given."""
    if not isinstance(given, str):
        raise Refusal(f"sticking={short(given)} is not letters", _STUCK, argument="sticking")
    if not given:
        return ""
    try:
        found = pattern(given)
    except Refusal as error:
        raise Refusal(f"sticking: {error.wrong}", _STUCK, argument="sticking") from error
    lane = found.lanes[0]
    if len(lane.hands) < found.ticks:
        wrong = f"sticking={short(given)} is not R or L for every stroke of the fill"
        raise Refusal(wrong, _STUCK, argument="sticking")
    return lane.hands


class OtherStrokes(Refusal):
    """A sticking does not come out with the strokes of a fill.

    Parameters
    ----------
    wrong, example : str
        As for `Refusal`.
    hands : str
        A sticking of this fill.
    """

    def __init__(self, wrong: str, example: str = "", hands: str = "", *, argument: str = "sticking") -> None:
        super().__init__(wrong, example, argument=argument)
        self.hands = hands


def _comes_out(given: str, own: str, p: int, q: int, count: int, left_handed: bool = False) -> None:
    """Refuse a sticking that does not come out with the strokes of a fill."""
    if not own or count % len(own) == 0:
        return
    raise OtherStrokes(
        f"sticking={short(given)} has {numbers.plural(len(own), 'letter')}, and {p} against {q} is "
        f"{numbers.plural(count, 'stroke')} here: write {count} letters, or as many as go into {count}",
        _STUCK,
        _fill_hands("", count, left_handed) if count <= 64 else "RL"[: 2 - count % 2],
    )


class Fills(Printed, Sequence[Fill]):
    """Fills that can be played, in the order in which a drummer would choose them; prints as sentences.

    Attributes
    ----------
    metre : Metre
        The bar.
    bpm : number or Tempo
        As given.
    too_fast : dict
        Pairs that no pair of hands can play so fast, each with the fastest tempo at which they can.
    fitting : int
        How many pairs can be played, those not shown included.
    """

    def __init__(
        self,
        choices: Sequence[Fill],
        bpm: Speed,
        too_fast: dict[tuple[int, int], Fraction],
        fitting: int,
        limits: Limits,
    ) -> None:
        self._choices, self.bpm, self.too_fast, self.fitting = tuple(choices), bpm, too_fast, fitting
        self._limits = limits

    @overload
    def __getitem__(self, i: int) -> Fill: ...

    @overload
    def __getitem__(self, i: slice) -> tuple[Fill, ...]: ...

    def __getitem__(self, i: int | slice) -> Fill | tuple[Fill, ...]:
        return self._choices[i]

    def __len__(self) -> int:
        return len(self._choices)

    def describe(self) -> str:
        """Say each choice, and which pairs are too fast."""
        rows = [f"{i + 1}. {made.describe(self.bpm, limits=self._limits)}" for i, made in enumerate(self)]
        if self.fitting > len(self):
            rows.append(f"{len(self)} of {self.fitting} pairs that can be played here.")
        if self.too_fast:
            fast = [
                f"{p} against {q} (up to {numbers.number(floor(bpm), 0)} bpm)"
                for (p, q), bpm in self.too_fast.items()
            ]
            rows.append(f"Too fast at this tempo: {numbers.some(fast, 6)}.")
        return "\n".join(rows)

    __str__ = describe


@public(_FILL, bpm="tempo", bounds="limits")
def fill(
    metre: str | Metre,
    tempo: Speed,
    *,
    beats: int | None = None,
    lands: int = 1,
    pairs: Iterable[Rhythm] | None = None,
    most: int = 16,
    best: int = 4,
    bars: int | None = None,
    feet: str | Cycle | None = None,
    sticking: str = "",
    limits: Limits | None = None,
) -> Fills:
    """Find the polyrhythms that hands can play as a fill: where to enter, where it lands, what the feet keep.

    Parameters
    ----------
    metre : str or Metre
        The bar.
    tempo : number or Tempo
        Beats a minute of the metre's beat, from 1 to 1,000.
    beats : int, optional
        Free beats; one bar when left out.
    lands : int
        The beat that the fill resolves on: 1 is the next downbeat.
    pairs : list of pairs, optional
        The pairs to look at. When left out: those whose home fits into the free beats, and neighbours
        such as 16 against 15 whose end fits, with numbers up to `most`.
    most, best : int
        The largest number (up to 200), and how many pairs of each kind to show (up to 1,000): those that fill
        the beats exactly, those that enter later, and ends of longer ones. Pairs whose strokes are 100 to
        400 ms apart come first, the simplest before the others, and slow ones last; those of fewer than three
        strokes are shown only with all there are, or where there are no others.
    bars : int, optional
        Bars in all; a bar of time and the fill when left out.
    feet : str, Pattern or Cycle, optional
        What the feet keep, as for `resolve`.
    sticking : str
        The hands of the fill, as for `resolve`; pairs are looked for in whose strokes it comes out.
    limits : Limits, optional
        The limits of the hands; `limits()` when left out.

    Returns
    -------
    Fills
        A sequence of `Fill`, each a `Cycle`.

    Raises
    ------
    ValueError
        If no hands can play any of the pairs at this tempo.

    Examples
    --------
    >>> choices = fill("4/4", 100, beats=4, pairs=[(7, 4), (16, 15), (31, 4)])
    >>> [made.pair for made in choices], choices.too_fast
    ([(7, 4), (16, 15)], {(31, 4): Fraction(480000, 5177)})
    """
    bar, rows = (
        _bar_of(feet, metre_of(metre)),
        limits_or(limits, f"{_FILL[:-1]}, limits=limits(hand_two=70))"),
    )
    speed = tempo if isinstance(tempo, Tempo) else bar.tempo(check.bpm(tempo, "tempo", _FILL))
    own = _own_hands(sticking)
    most = whole(most, "most", f"{_FILL[:-1]}, most=16)", most=MOST_NUMBER)
    best = whole(best, "best", f"{_FILL[:-1]}, best=4)", most=MOST_BEST)
    groups = len(bar.groups)
    if bars is None:
        long = whole(groups if beats is None else beats, "beats", _FILL, most=MOST_LAID)
        on = whole(lands, "lands", _FILL)
        bars = 1 + -(-(long + (groups - on + 1) * (on > 1)) // groups)
    begin, end, beat = fill_window(bar, bars, beats, lands)
    free = (end - begin) // beat
    if pairs is None:
        asked = _candidates(free, most)
        if own:
            asked = [(p, q) for p, q in asked if _strokes_of(p, q, free) % len(own) == 0]
        if not asked:
            raise Refusal(
                f"sticking={short(sticking)} has {numbers.plural(len(own), 'letter')}, and no pair up to "
                f"most={most} has as many strokes in {numbers.plural(free, 'pulse')}, or some times as many",
                'fill("4/4", 100, sticking="RLRRL")',
                argument="sticking",
            )
    else:
        given = items(pairs, "pairs", f"{_FILL[:-1]}, pairs=[(7, 4), (3, 2)])", MOST_PAIRS, "pairs")
        asked = [pair_numbers(pair) for pair in given]
        for p, q in asked:
            _comes_out(sticking, own, p, q, _strokes_of(p, q, free))
    kinds: tuple[list[tuple[int, int]], ...] = ([], [], [])  # exact, entering later, the end of a longer one
    too_fast: dict[tuple[int, int], Fraction] = {}
    judged = _Judged(bar, bars, (begin, end, beat), feet, hand_of(rows), own)
    now = judged.tick_ms / (1000 * speed.tick_seconds(bar.cycle()))
    for p, q in asked:
        fastest = judged.fastest(p, q, now)
        if fastest < now:
            too_fast[p, q] = fastest
        else:
            kinds[2 if q > free else 1 if free % q else 0].append((p, q))
    fitting = sum(map(len, kinds))
    if not fitting:
        slowest = max(too_fast, key=too_fast.__getitem__, default=None)
        why = ""
        if slowest is not None:
            p, q = slowest
            why = f": the slowest of them, {p} against {q}, can be played up to "
            why += f"{numbers.number(floor(too_fast[slowest]), 0)} bpm"
        raise Refusal(f"no hands can play such a fill at tempo={short(tempo)}{why}", _FILL)
    shown = [pair for row in kinds for pair in row]
    if pairs is None:
        pulse_ms = 1000 * speed.tick_seconds(bar.cycle()) * beat

        def rank(pair: tuple[int, int]) -> int:
            return _rank(pair, free, pulse_ms)

        kept = [pair for row in kinds for pair in sorted(row, key=rank)[:best]]
        if len(kept) < fitting:  # a stroke or two are no fill, where others go
            kept = [pair for pair in kept if _strokes_of(*pair, free) >= _FEWEST] or kept
        shown = sorted(kept, key=lambda pair: (rank(pair), sum(pair), -pair[0]))
    choices = [
        resolve(pair, bar, bars=bars, beats=beats, lands=lands, feet=feet, sticking=sticking)
        for pair in shown
    ]
    return Fills(choices, tempo, too_fast, fitting, rows)


def pair_numbers(pair: object) -> tuple[int, int]:
    """Return the two numbers of a pair.

    Examples
    --------
    >>> pair_numbers((7, 4)), pair_numbers([7, 4])
    ((7, 4), (7, 4))
    """
    if isinstance(pair, Iterable) and not isinstance(pair, str | bytes | Mapping | Set):
        pair = tuple(islice(pair, 3))  # it may be without end
    pulses = as_polyrhythm(pair, "pair", _RESOLVE).pulses
    if len(pulses) != 2:
        raise Refusal(f"pair={short(pulses)} is not two numbers", _RESOLVE, argument="pair")
    return pulses


def fill_window(bar: Metre, bars: int, beats: int | None, lands: int) -> tuple[int, int, int]:
    """Return first tick, landing and home step of a fill: home is the beat where even, else the note.

    Examples
    --------
    >>> fill_window(metre_of("4/4"), 4, None, 1), fill_window(metre_of("2+2+3/8"), 2, 2, 1)
    ((48, 64, 4), (9, 14, 1))
    """
    count = whole(bars, "bars", 'playing.resolve((7, 4), "4/4", bars=4)')
    groups = len(bar.groups)
    long = whole(
        groups if beats is None else beats, "beats", 'playing.resolve((7, 4), "4/4", beats=4)', most=MOST_LAID
    )
    on = whole(lands, "lands", 'playing.resolve((7, 4), "4/4", lands=1)')
    if on > groups:
        raise Refusal(
            f"lands={short(on)} is not a beat of {bar}, which has {groups}", _RESOLVE, argument="lands"
        )
    last = count * groups if on == 1 else (count - 1) * groups + on - 1
    if long > last:
        need = count - (last - long) // groups
        raise Refusal(
            f"beats={short(long)} and lands={on} do not fit into bars={count} of {bar}, which takes {need}",
            _RESOLVE,
            argument="beats",
        )
    marks = [*bar.beats_in(count).tolist(), count * bar.ticks]
    spans = set(np.diff(marks[last - long : last + 1]).tolist())
    return marks[last - long], marks[last], spans.pop() if len(spans) == 1 else bar.parts


def _candidates(free: int, most: int) -> list[tuple[int, int]]:
    """Return pairs by how few strokes and pulses they have: whole ones, and neighbours that are longer."""
    found = [
        (p, q)
        for q in range(2, most + 1)
        for p in range(2, most + 1)
        if gcd(p, q) == 1 and (q <= free or (abs(p - q) == 1 and p * free >= q))
    ]
    return sorted(found, key=lambda pair: (sum(pair), -pair[0]))


def _strokes_of(p: int, q: int, free: int) -> int:
    """Return how many strokes a fill of these numbers has in so many pulses.

    Examples
    --------
    >>> _strokes_of(7, 4, 4), _strokes_of(3, 2, 4), _strokes_of(16, 15, 4)
    (7, 6, 4)
    """
    return (free // q * q or free) * p // q


def _rank(pair: tuple[int, int], free: int, pulse_ms: Fraction) -> int:
    """Return how soon a drummer would choose a pair in so many pulses: 0 as a fill, 1 too close, 2 too wide.

    Examples
    --------
    >>> [_rank(pair, 7, Fraction(400)) for pair in ((3, 2), (9, 2), (2, 7))]
    [0, 1, 2]
    """
    p, q = pair
    apart = pulse_ms * q / p
    if apart > _WIDEST_MS or _strokes_of(p, q, free) < _FEWEST:
        return 2
    return int(apart < _CLOSEST_MS)


def _written(feet: str | Cycle) -> Cycle:
    """Return what the feet are given as."""
    return pattern(feet) if isinstance(feet, str) else as_cycle(feet, "feet", _FEET)


def _bar_of(feet: str | Cycle | None, bar: Metre) -> Metre:
    """Return the bar, its notes cut as finely as a ready pattern in the feet needs."""
    given = feet if feet is None else _written(feet)
    if not isinstance(given, Pattern) or not given.key:
        return bar
    need = parts_in_bar(given, bar)
    return bar if bar.parts % need == 0 else Metre(bar.count, bar.unit, bar.groups, need)


def _feet_lanes(
    feet: str | Cycle | None, bar: Metre, bars: int, times: int, foot: str
) -> tuple[list[Lane], str]:
    """Return the lanes of the feet over all bars, and what to call what they keep."""
    if feet is None:
        groups = felt(bar)
        kept = "every beat" if groups is bar else f"the first of each group ({groups_text(groups)})"
        return [Lane("feet", groups.beats_in(bars) * times, foot, "bass drum")], kept
    written = _written(feet)
    if isinstance(written, Pattern):
        given = set_in_bar(written, bar) if written.key else foot_pattern(written)
    else:
        given = written
    if not given.lanes:
        raise Refusal(
            f"feet={short(feet)} is neither a pattern nor a cycle",
            _FEET,
            argument="feet",
        )
    if bars * bar.ticks % given.ticks:
        fits = given.ticks // gcd(given.ticks, bar.ticks)
        raise Refusal(
            f"the feet's {given.ticks} ticks do not come home in {numbers.plural(bars, 'bar')} "
            f"of {bar} ({bar.ticks} ticks each); they do in {numbers.plural(fits, 'bar')}",
            _FEET,
        )
    usual, own_voice = usual_player(given, foot.startswith("left"), "foot")
    hands_own = usual_player(given, foot.startswith("left"), "hand")[1]
    turns = np.arange(bars * bar.ticks // given.ticks)[:, None] * given.ticks
    lanes = []
    for lane, sound in zip(given.lanes, ("bass drum", *("closed hi-hat",) * len(given.lanes)), strict=False):
        if lane.hands or "hand" in lane.limb:
            raise Refusal(
                f"lane {lane.name!r} of the feet is played by {lane.limb or 'hands'!r}, needed for the fill",
                'playing.resolve((7, 4), "4/4", feet=pattern("x..x..x.", limb="right foot"))',
            )
        over = [((turns + np.asarray(row, np.int64)) * times).ravel() for row in (lane.onsets, lane.accents)]
        name = "feet" if lane.name == "pattern" else lane.name
        voice = (own_voice or sound) if lane.sound in ("click", hands_own) else lane.sound
        lanes.append(Lane(name, over[0], lane.limb or usual or foot, voice, accents=over[1]))
    if isinstance(feet, str):
        return lanes, " ".join(feet.split())
    return lanes, getattr(written, "text", "") or sentences.listed([lane.name for lane in lanes])


@dataclass(frozen=True, slots=True)
class _Placed:
    """Where a pair stands in its bars, in ticks that are `times` finer than those of the bar."""

    begin: int
    end: int
    step: int
    times: int
    cycles: Fraction
    onsets: Ticks


def _placed(p: int, q: int, bar: Metre, bars: int, window: tuple[int, int, int]) -> _Placed:
    """Place a pair in its window of ticks, or refuse what is too much or nothing."""
    begin, end, beat = window
    free = (end - begin) // beat
    if q <= free:
        cycles = Fraction(free // q)
        begin = end - q * beat * (free // q)
    else:
        cycles = Fraction(free, q)
    times = p // gcd(p, q * beat)
    step, begin, end = q * beat * times // p, begin * times, end * times
    if (end - begin) // step > MOST_LAID:
        raise Refusal(f"{p} against {q} has more than {MOST_LAID:,} strokes here", _RESOLVE)
    if bars * bar.ticks * times > MOST_TICKS:
        raise Refusal(f"{p} against {q} needs ticks beyond 2**62 in {bar}", _RESOLVE)
    onsets = np.arange(end - (end - begin) // step * step, end, step, dtype=np.int64)
    if not len(onsets):
        raise Refusal(
            f"{p} against {q} has no stroke in the {numbers.plural(free, 'pulse')} before it lands", _RESOLVE
        )
    return _Placed(begin, end, step, times, cycles, onsets)


def _time_rows(bar: Metre, bars: int) -> tuple[Ticks, Ticks]:
    """Return the ticks of the time that a hand keeps, and of the backbeat.

    Time is on the beats as they are written, up to eighths; in bars of shorter notes on their groups. In a
    grouped bar it is also on the eighths inside each group, counted from its first note: on the beats alone
    it would be one with the feet, and nobody would hear which group is the longer one.
    """
    kept, snare = bar if bar.unit <= _SHORTEST_TIME else felt(bar), backbeat(bar, bars)[1]
    if not kept.grouped:
        return kept.beats_in(bars), snare
    each = max(1, kept.unit // _SHORTEST_TIME)  # written notes to a stroke
    inside = [
        start + note * kept.parts
        for start, size in zip(kept.beats.tolist(), kept.groups, strict=True)
        for note in range(0, max(1, size - each + 1), each)  # none closer than that to the next group
    ]
    return (kept.starts(bars)[:, None] + np.array(inside)).ravel(), snare


def _outside(rows: tuple[Ticks, Ticks], placed: _Placed, ticks: int) -> tuple[Ticks, Ticks]:
    """Return time and backbeat outside a fill; the hand that keeps time leaves the beat that it lands on."""
    finer = (row * placed.times for row in rows)
    time, snare = (row[(row < placed.begin) | (row >= placed.end)] for row in finer)
    return time[time != placed.end % ticks], snare


class _Judged:
    """The one judge asked about each fill of the same bars, by the strokes of its limbs alone."""

    def __init__(
        self,
        bar: Metre,
        bars: int,
        window: tuple[int, int, int],
        feet: str | Cycle | None,
        rules: Hand,
        own: str = "",
    ):
        self.bar, self.bars, self.window, self.rules, self.own = bar, bars, window, rules, own
        self.time = _time_rows(bar, bars)
        self.feet = limbs(bar.cycle(bars, _feet_lanes(feet, bar, bars, 1, "right foot")[0]))
        self.tick_ms = 1000 * bar.tempo(1).tick_seconds(bar.cycle())
        found = ceiling(self.feet, bars * bar.ticks, rules)
        self.of_feet = [] if found is None else [self.tick_ms / found.tick_ms]

    def fastest(self, p: int, q: int, now: Fraction) -> Fraction:
        """Return what `Fill.fastest` of this pair is, where it is below a tempo; and else that tempo."""
        placed = _placed(p, q, self.bar, self.bars, self.window)
        ticks, strokes = self.bars * self.bar.ticks * placed.times, placed.onsets
        time, snare = _outside(self.time, placed, ticks)
        by_right = np.array([letter == "R" for letter in _fill_hands(self.own, len(strokes))])
        left = np.concatenate([snare, strokes[~by_right]])
        right = np.concatenate([time, [placed.end % ticks], strokes[by_right]])
        # A fill as long as all bars lands where it begins: that is one stroke of a hand, not two.
        rows = {"right hand": np.unique(right), "left hand": np.unique(left)}
        tick_ms = self.tick_ms / placed.times
        if fits(rows, ticks, tick_ms / now, self.rules):
            return min([now, *self.of_feet])
        found = ceiling(rows, ticks, self.rules)
        assert found is not None  # there are strokes
        return min([tick_ms / found.tick_ms, *self.of_feet])


def _quoted(kept: str) -> str:
    """Set a written pattern in quotation marks, so that no dot of it ends a sentence.

    Examples
    --------
    >>> _quoted("x..x."), _quoted("son clave")
    ('“x..x.”', 'son clave')
    """
    return f"“{kept}”" if "." in kept else kept


def _one_hand_limit(made: Fill, limits: Limits | None) -> Limit:
    """Return what one hand must keep that plays all strokes and the landing."""
    return hand_of(limits_or(limits, _DESCRIBE)).need(min(made.strokes + 1, 4))


def _limit_text(limit: Limit, whose: str = "in one hand") -> str:
    return f"{numbers.number(limit.value, 0)} ms {whose}, {source_text(limit)}"

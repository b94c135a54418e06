"""A pulse or a backbeat on the bar, and a stream of strokes over it whose accents move.

They are a `Cycle` of whole bars, so they are seen, heard and played along with as any other; printed, they
say in sentences where they fall.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import floor, lcm
from typing import TypeVar

import numpy as np

from rhythmlab.core.check import MOST_TICKS, flag, items, short, whole
from rhythmlab.core.cycle import Lane
from rhythmlab.core.display import Printed
from rhythmlab.core.public import public, public_class
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.core.types import Ticks
from rhythmlab.playing.hands import ceiling, hand_limits, limbs, mirrored, sides, taking_turns
from rhythmlab.playing.limits import Limits, limits_or
from rhythmlab.playing.metre import (
    MOST_NOTES,
    Bars,
    Metre,
    felt,
    groups_text,
    tempo_of,
    tick_name,
    told_places,
    with_article,
)
from rhythmlab.playing.metre import metre as metre_of
from rhythmlab.playing.patterns import hand_phrase, pattern
from rhythmlab.refusal import Refusal
from rhythmlab.text import counts, numbers, sentences
from rhythmlab.text.numbers import number
from rhythmlab.text.sentences import say

_One = TypeVar("_One")
_DESCRIBE = 'playing.accents("7/8", 5).describe(210)'

#: Most strokes laid out at once: more bars are looked at through a window.
MOST_LAID = 100_000


@public_class('playing.accents("7/8", 5)', accented='playing.accents("7/8", 5).accented(2)')
@dataclass(frozen=True, slots=True, init=False, eq=False, repr=False)
class Accents(Printed, Bars):
    """A pulse on the bar and a stream of strokes over it, with an accent every so many that moves.

    Attributes
    ----------
    every, first : int
        Ticks from accent to accent, and the tick of the first.
    home : int
        Bars until the accents come home.
    from_bar : int
        The bar that this cycle begins with, from 1.
    hands : str
        The sticking of the stream, from which each round is made; empty where one hand or nobody plays it.
    """

    every: int
    first: int
    home: int
    from_bar: int
    hands: str

    def __init__(
        self, metre: Metre, lanes: Iterable[Lane], bars: int, every: int, first: int, at: int, hands: str = ""
    ):
        Bars.__init__(self, metre, bars, lanes)
        home = lcm(every, metre.ticks) // metre.ticks
        fields = {"every": every, "first": first, "home": home, "from_bar": at, "hands": hands}
        for field, value in fields.items():
            object.__setattr__(self, field, value)

    @property
    def shift(self) -> int:
        """Ticks by which the accents move from bar to bar, the shorter way: negative is earlier."""
        later = -self.metre.ticks % self.every
        return later - self.every if 2 * later > self.every else later

    def accented(self, bar: int) -> tuple[int, ...]:
        """Return the accented ticks of a bar, counted from its first.

        Parameters
        ----------
        bar : int
            From 1.

        Examples
        --------
        >>> accents("2+2+3/8", every=5).accented(2)
        (3,)
        """
        begin = (
            whole(bar, "bar", 'playing.accents("7/8", every=5).accented(2)', most=MOST_TICKS) - 1
        ) * self.metre.ticks
        return tuple(range((self.first - begin) % self.every, self.metre.ticks, self.every))

    @property
    def on_beat(self) -> tuple[int, ...]:
        """The bars, from 1, that have an accent on a beat: where a group starts, in an odd bar of eighths."""
        beats = set(felt(self.metre).beats.tolist())
        return tuple(bar for bar in self._shown if beats & set(self.accented(bar)))

    @property
    def _shown(self) -> range:
        return range(self.from_bar, self.from_bar + len(self.bars))

    @public(_DESCRIBE, bpm="tempo")
    def describe(self, tempo: Speed | None = None) -> str:
        """Say when the accents come home, how they move, and where they fall in each bar.

        Parameters
        ----------
        tempo : number or Tempo, optional
            Beats a minute of the metre's beat, for seconds.

        Examples
        --------
        >>> accents("2+2+3/8", every=5).describe(210)
        'An accent every 5 eighths in 7/8 as 2+2+3 comes home after 5 bars: 35 eighths, 7 accents, \
10 seconds. From bar to bar the accents come 2 eighths earlier. Bar 1: 1, & of 3; bar 2: & of 2; \
bar 3: & of 1, a of 3; bar 4: 3; bar 5: 2. An accent is on a beat in bars 1, 4, 5. \
A stroke on every eighth: R L R R L from each accent.'
        """
        bar, ticks = self.metre, self.home * self.metre.ticks
        tick = tick_name(bar)
        facts = [numbers.plural(ticks, tick), numbers.plural(ticks // self.every, "accent")]
        if tempo is not None:
            facts.append(numbers.seconds(tempo_of(bar, tempo, _DESCRIBE).tick_seconds(self) * ticks))
        every = f"every {tick if self.every == 1 else numbers.plural(self.every, tick)}"
        is_ = "" if tick == bar.tick else f" (a tick is {with_article(bar.tick)})"
        text = (
            f"An accent {every} in {bar}{is_} comes home after "
            f"{numbers.plural(self.home, 'bar')}: {', '.join(facts)}."
        )
        by = numbers.plural(abs(self.shift), tick)
        if self.every > bar.ticks:
            moves = "They are further apart than the bar is long."
        elif self.home == 1:
            moves = "They fall on the same places in every bar."
            if ticks == self.every:
                moves = "It falls on the same place in every bar."
        elif 2 * abs(self.shift) == self.every:
            moves = f"From bar to bar the accents move by half their distance, {by}."
        else:
            moves = f"From bar to bar the accents come {by} {'later' if self.shift > 0 else 'earlier'}."

        spoken: dict[int, str] = {}

        def row(n: int) -> str:
            begin = (n - self.from_bar) * bar.ticks
            known = told_places(self, self.lanes[-1].onsets, begin, begin + bar.ticks)
            places = [known[begin + tick] for tick in self.accented(n)]
            named = [replace(one, beat=(one.beat - 1) % len(bar.groups) + 1) for one in places]
            spoken.update(
                (one.parts, counts.aloud(1, one.parts, one.longest))
                for one in named
                if one.part > 1 and not counts.has_syllable(one) and counts.part_words(one.parts, one.longest)
            )
            return f"bar {n}: {counts.said_row(named) or 'none'}"

        on = self.on_beat
        groups = felt(bar)
        beat = "a beat" if groups.groups == bar.groups else f"the first of a group ({groups_text(groups)})"
        where = f"bar{'s' * (len(on) > 1)} {numbers.some(on)}" if len(on) < len(self.bars) else "every bar"
        starts = set(groups.beats.tolist())
        whole_on = all(set(self.accented(n)) <= starts for n in self._shown)
        beats = f"An accent is on {beat} in {where}." if on else f"None is on {beat}."
        if whole_on:
            beats = f"{'Each of them' if ticks > self.every else 'It'} is on {beat}."
        falls = f"{names_text(self._shown, row, 12, '; ').capitalize()}."
        return sentences.sentences(
            text,
            moves,
            falls,
            *(f"{say('count.key', parts=parts, words=words)}." for parts, words in sorted(spoken.items())),
            beats,
            self._stream_text(),
            "" if tempo is None else too_close(self, tempo_of(bar, tempo, _DESCRIBE)),
        )

    def _stream_text(self) -> str:
        """Say which strokes stand between the accents, and which hands play them."""
        stream = self.lanes[-1]
        if not stream.accents and len(stream.onsets) < self.ticks:
            return ""
        said = f"A stroke on every {self.metre.tick}"
        if not self.hands:
            return f"{said}, by the {stream.limb}."
        letters = " ".join(self.hands if len(self.hands) <= 24 else f"{self.hands[:23]}…")
        where = "from each accent" if len(self.hands) == self.every else "over and over"
        round_ = lcm(len(self.hands), self.home * self.metre.ticks) // self.metre.ticks
        late = round_ > self.home and self.every <= MOST_LAID
        home = f", which comes home after {numbers.plural(round_, 'bar')}" if late else ""
        return f"{said}: {letters} {where}{home}."

    def __str__(self) -> str:
        return self.describe()


@public('playing.accents("7/8", every=5)')
def accents(
    metre: str | Metre,
    every: int,
    *,
    first: int = 0,
    pulse: str | Sequence[int] = "beats",
    filled: bool = True,
    hands: str = "",
    bars: int | None = None,
    from_bar: int = 1,
    left_handed: bool = False,
) -> Accents:
    """Move an accent through a stream of strokes, over a pulse or a backbeat on the bar.

    Parameters
    ----------
    metre : str or Metre
        The bar.
    every : int
        Ticks from accent to accent.
    first : int
        Tick of the first accent, less than `every`.
    pulse : str or sequence of int
        ``"beats"``, ``"backbeat"`` (bass drum on the odd beats, snare on the even ones), or the beats of
        the bar to play, from 1. An odd bar of eighths without groups is felt in twos and a three: 7/8 as
        2+2+3.
    filled : bool
        Whether the accents stand in a stream of strokes on every tick, or by themselves on a bell.
    hands : str
        The sticking of the stream, such as ``"RLRRL"``, or a phrase, such as ``"3 2"``; it begins with the
        first accent, and again and again until it comes home with them. When left out, the right hand has
        every accent; over a backbeat, whose snare is the left hand's, it has every stroke.
    bars, from_bar : int, optional
        How many bars, and from which on; until everything comes home when left out.
    left_handed : bool
        Whether hands and feet are mirrored; letters of a sticking that is given stay.

    Returns
    -------
    Accents
        A `Cycle`; printed, it says where the accents fall.

    Raises
    ------
    ValueError
        If a number is out of range, the sticking has other letters or asks a hand for two strokes at once, or
        the bars until everything comes home are too many to lay out.

    Examples
    --------
    >>> a = accents("2+2+3/8", every=5)
    >>> a.home, a.on_beat, a.lanes[1].accents
    (5, (1, 4, 5), (0, 5, 10, 15, 20, 25, 30))
    >>> a.lanes[1].hands[:10], len(accents("2+2+3/8", every=5, hands="RL").bars)
    ('RLRRLRLRRL', 10)
    """
    bar = metre_of(metre)
    every = whole(every, "every", 'playing.accents("7/8", every=5)')
    first = whole(first, "first", 'playing.accents("7/8", every=5, first=0)', least=0)
    if first >= every:
        raise Refusal(
            f"first={short(first)} is not before the second accent (every={short(every)})",
            f'playing.accents("7/8", every=5, first={min(4, first % every)})',
            argument="first",
        )
    filled = flag(filled, "filled", 'playing.accents("7/8", every=5, filled=True)')
    lead, other = sides(flag(left_handed, "left_handed", 'playing.accents("7/8", 5, left_handed=True)'))
    asked = not isinstance(hands, str) or hands != ""
    own = _stream_hands(hands, filled, lead) if asked else ""
    if not asked and filled and pulse != "backbeat":
        own = mirrored(group_hands(every, bar.ticks), left_handed)
    home = lcm(every, bar.ticks, len(own) if asked else 1) // bar.ticks
    each = bar.ticks if filled else bar.ticks // every + len(bar.groups)
    count, at = bars_shown(
        bars, from_bar, home, bar.ticks, each, "the accents", 'playing.accents("7/8", every=5, bars=8)'
    )
    if every > MOST_TICKS:
        raise Refusal(
            f"every={short(every)} is beyond 2**62 ticks", "playing.accents('7/8', every=5)", argument="every"
        )
    low, high = (at - 1) * bar.ticks, (at - 1 + count) * bar.ticks
    marks = np.arange(first + -(-(low - first) // every) * every, high, every, dtype=np.int64)
    marks -= low
    kept = _pulse(bar, pulse, count, lead, other)
    if not filled:
        line = Lane("accent", marks, f"{lead} hand", "bell")
    elif own:
        letters = np.array(list(own))[(np.arange(low, high) - first) % len(own)]
        line = Lane("stream", range(high - low), "hands", "snare", marks, hands="".join(letters.tolist()))
        _one_hand_once(kept, line, bar)
    else:
        line = Lane("stream", range(high - low), f"{lead} hand", "closed hi-hat", accents=marks)
    return Accents(bar, [*kept, line], count, every, first, at, own)


def group_hands(every: int, ticks: int) -> str:
    """Return hands for the strokes from accent to accent that give every accent to the right hand.

    Hand to hand, and where the number is odd with one double near its end (common practice, no source).
    Where every stroke is accented the hands take turns through a bar of so many ticks.

    Examples
    --------
    >>> [group_hands(every, 16) for every in (2, 3, 5, 7, 9)]
    ['RL', 'RLL', 'RLRRL', 'RLRLRLL', 'RLRLRLRRL']
    """
    count = ticks if every == 1 else every
    if count % 2 == 0 or count > MOST_LAID:
        return "RL" * (count // 2 if count <= MOST_LAID else 1)
    return {1: "R", 3: "RLL", 7: "RLRLRLL"}.get(count, "RL" * ((count - 3) // 2) + "RRL")


def _stream_hands(typed: object, filled: bool, lead: str) -> str:
    """Return the sticking that a stream is asked for, or refuse it."""
    example = 'playing.accents("7/8", every=5, hands="RLRRL")'
    if not isinstance(typed, str):
        raise Refusal(f"hands={short(typed)} is not letters", example, argument="hands")
    if not filled:
        raise Refusal(
            f"hands={short(typed)} is the sticking of a stream of strokes, and filled=False has none",
            example,
            argument="hands",
        )
    try:
        found = pattern(typed)
    except Refusal as error:
        raise Refusal(f"hands: {error.wrong}", example, argument="hands") from error
    lane = (hand_phrase(found, lead) if found.is_phrase else found).lanes[0]
    if not lane.hands or (not found.is_phrase and len(lane.onsets) < found.ticks):
        raise Refusal(
            f"hands={short(typed)} is not R or L for every stroke of the stream", example, argument="hands"
        )
    return lane.hands


def _one_hand_once(kept: Iterable[Lane], stream: Lane, bar: Metre) -> None:
    """Refuse a stream whose sticking asks a hand for a stroke that the bar asks it for, too."""
    for lane in kept:
        letter = {"right hand": "R", "left hand": "L"}.get(lane.limb)
        twice = next((tick for tick in lane.onsets.tolist() if stream.hands[tick] == letter), None)
        if twice is not None:
            raise Refusal(
                f"the {lane.limb} is asked for two strokes in bar {twice // bar.ticks + 1:,} on "
                f"{bar.describe(twice)}: by {lane.name!r} and by the sticking of the stream",
                'playing.accents("7/8", every=5, pulse="beats", hands="RLRRL")',
                argument="hands",
            )


def _pulse(bar: Metre, pulse: object, bars: int, lead: str, other: str) -> list[Lane]:
    """Return the lanes that keep the bar."""
    groups, beats = len(bar.groups), bar.beats_in(bars)
    if isinstance(pulse, str) and pulse == "beats":
        return [Lane("beats", felt(bar).beats_in(bars), f"{lead} foot", "bass drum")]
    if isinstance(pulse, str) and pulse == "backbeat":
        if groups < 2:
            raise Refusal(
                f'pulse="backbeat" needs a second beat, and {bar} has one', 'pulse="beats"', argument="pulse"
            )
        bass, snare = backbeat(bar, bars)
        return [
            Lane("bass drum", bass, f"{lead} foot", "bass drum"),
            Lane("snare", snare, f"{other} hand", "snare"),
        ]
    if isinstance(pulse, str) or not isinstance(pulse, Iterable):
        raise Refusal(
            f'pulse={short(pulse)} is none of "beats", "backbeat" and a list of beats',
            'pulse="beats"',
            argument="pulse",
        )
    listed = items(pulse, "pulse", "pulse=(1, 2)", MOST_NOTES)
    chosen = sorted({whole(beat, "a beat of pulse", "pulse=(1, 2)") for beat in listed})
    if not chosen or chosen[-1] > groups:
        raise Refusal(
            f"pulse={short(pulse)} is not in {bar}, with beats 1 to {groups}", "pulse=(1,)", argument="pulse"
        )
    which = np.array(chosen) - 1
    return [Lane("beats", beats.reshape(-1, groups)[:, which].ravel(), f"{lead} foot", "bass drum")]


def backbeat(bar: Metre, bars: int) -> tuple[Ticks, Ticks]:
    """Return the ticks of the odd beats and of the even beats of so many bars, as they are felt."""
    rows = felt(bar).beats_in(bars).reshape(bars, -1)
    return rows[:, ::2].ravel(), rows[:, 1::2].ravel()


def too_close(cycle: Bars, tempo: Tempo, limits: Limits | None = None) -> str:
    """Say which limbs have strokes closer than they can play, and up to which tempo each can.

    Examples
    --------
    >>> bars = metre_of("4/4").cycle(1, [Lane("bell", range(16), "right hand")])
    >>> too_close(bars, metre_of("4/4").tempo(96))
    'Too close for the right hand, 156 ms apart where it needs 167: up to 89 bpm, with both hands up to 179.'
    """
    rules, tick_ms = hand_limits(limits), 1000 * tempo.tick_seconds(cycle)
    played, said = limbs(cycle), []
    for limb, ticks in played.items():
        found = ceiling({limb: ticks}, cycle.ticks, rules)
        if found is None or tick_ms >= found.tick_ms:
            continue
        most = floor(found.bpm(tempo.beat_ticks(cycle)))
        shared = {"right": "left", "left": "right"}.get(limb.split()[0], "") + limb[limb.find(" ") :]
        both = ""
        if shared not in played:
            rows, length = taking_turns(ticks, cycle.ticks)
            part = "foot" if "foot" in limb else "hand"
            turned = ceiling({who.replace("hand", part): row for who, row in rows.items()}, length, rules)
            assert turned is not None  # there are strokes
            # Strokes of two limbs that are closer than this are one stroke in the ear.
            closest = int(np.diff(ticks, append=ticks[0] + cycle.ticks).min())
            least = max(turned.tick_ms, limits_or(limits)["flam"].value / closest)
            upto = max(1, floor(60_000 / (least * tempo.beat_ticks(cycle))))
            both = f", with both {'feet' if part == 'foot' else 'hands'} up to {upto}" if upto > most else ""
        apart = apart_text(found.apart * tick_ms, found.limit.value)
        needs = f", {apart} ms apart where it needs {number(found.limit.value, 0)}" if apart else ""
        said.append(f"Too close for the {limb}{needs}: up to {max(most, 1)} bpm{both}.")
    return " ".join(said)


def apart_text(ms: Fraction, least: Fraction) -> str:
    """Write milliseconds that are too few with as many digits as tell them from what is needed.

    Empty where three digits do not.

    Examples
    --------
    >>> [apart_text(Fraction(ms), Fraction(167)) for ms in ("150.4", "166.7", "166.99", "166.9999")]
    ['150', '166.7', '166.99', '']
    """
    written = (number(ms, digits) for digits in range(4))
    return next((text for text in written if Fraction(text.replace(",", "")) < least), "")


def names_text(
    items: Sequence[_One], name: Callable[[_One], str] = str, most: int = 16, joint: str = ", "
) -> str:
    """Write a list as `numbers.some` does, naming only what is shown of it.

    Examples
    --------
    >>> names_text(range(10**9), "tick {}".format, most=4)
    'tick 0, tick 1 … tick 999999998, tick 999999999'
    """
    if len(items) <= most:
        return joint.join(map(name, items))
    ends = (items[: most // 2], items[-(most // 2) :])
    return " … ".join(joint.join(map(name, end)) for end in ends)


def bars_shown(
    bars: int | None, from_bar: int, home: int, bar_ticks: int, each: int, what: str, example: str
) -> tuple[int, int]:
    """Return how many bars to lay out, with `each` strokes a bar, and from which on; or refuse too many.

    Examples
    --------
    >>> bars_shown(None, 1, 5, 7, 2, "the accents", 'accents("7/8", every=5)')
    (5, 1)
    """
    at = whole(from_bar, "from_bar", example)
    count = home if bars is None else whole(bars, "bars", example)
    if count * each > MOST_LAID or (at + count) * bar_ticks > MOST_TICKS:
        home_text = f"{home:,}" if home < 10**30 else "more than 10**30"
        asked = "all of these" if bars is None else f"bars={short(bars)} from bar {short(at)}"
        raise Refusal(
            f"{what} come home only after {home_text} bars, and {asked} are too many to "
            f"lay out (at most {MOST_LAID:,} strokes, up to tick 2**62); look at some bars",
            example,
        )
    return count, at

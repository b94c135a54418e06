"""What stands on a page of notation: bars, staves, voices and notes, before note values are chosen."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from itertools import pairwise
from math import gcd
from typing import TypeAlias

import numpy as np

from rhythmlab.audio.mix import LANE_SOUNDS
from rhythmlab.core.check import bpm, index, short
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.feel import OwnGroups, Place, own_row
from rhythmlab.core.polyrhythm import Polyrhythm, home_or_last
from rhythmlab.core.tempo import Tempo
from rhythmlab.core.types import Ticks
from rhythmlab.notation.spelling import spell
from rhythmlab.playing.metre import Metre, note_name
from rhythmlab.playing.percussion import drum, drums
from rhythmlab.playing.sentence import Sentence, sung_at
from rhythmlab.refusal import Refusal
from rhythmlab.text import numbers, sentences
from rhythmlab.text.counts import LONGEST_SAID, aloud, label, label_with_beat, part_words, said_name
from rhythmlab.text.numbers import number, some
from rhythmlab.text.sentences import say, verb

#: Most bars and most notes in a score: more are written through a window.
MOST_BARS, MOST_NOTES = 128, 4000
#: Most beats of home, and most strokes of a pulse or parts of a beat, that are read in one bar; most beats of
#: a bar that holds a smaller figure several times.
MOST_BEATS, MOST_STROKES, MOST_REPEATED = 9, 12, 7
#: Fewest sixteenths in a bar that is one beat of home, but where one pulse drifts past the other.
FEWEST_PARTS = 7
#: Beats of a bar in the order in which they are chosen (common practice).
_BARS = (4, 3, 5, 6, 7, 8, 9, 2)
#: Most beats of a bar that are written at all.
LONGEST_BAR = 32
#: Most sixteenths in a bar.
MOST_PARTS = 64
#: Px of a line that notes stand on, and between the closest strokes.
LINE_PX, CLOSE_PX = 800, 26
#: Px of a letter under notes, of a capital there, and between two words.
_LETTER_PX, _CAPITAL_PX, _APART_PX = 8.5, 13, 10
#: The line of a one-line staff.
LINE = "E4"
#: Places above and under the line: the other pulse, and home.
_ABOVE, _UNDER = "F4", "D4"
_CALL = "score((7, 4))"


# What a page is made of


@dataclass(frozen=True, slots=True)
class Notehead:
    """One notehead.

    Attributes
    ----------
    lane : int
        Which lane it is a stroke of; one more than the last lane for a note of the grid.
    place : str
        Where it stands, as the pitch in treble reading, such as ``"C5"``.
    shape : str
        ``"normal"``, ``"x"``, ``"diamond"`` or ``"triangle"``.
    accent, ghost, small : bool
        With an accent, in parentheses, of small size.
    """

    lane: int
    place: str
    shape: str = "normal"
    accent: bool = False
    ghost: bool = False
    small: bool = False


@dataclass(frozen=True, slots=True)
class Note:
    """What one voice plays at one place, in quarters, and what stands under it.

    Attributes
    ----------
    under : tuple of str
        Hand and count, line by line.
    sung : (str, str) or None
        A syllable of a sentence and which of its word it is, as MusicXML calls it: it stands under the rest.
    """

    at: Fraction
    heads: tuple[Notehead, ...]
    under: tuple[str, ...] = ()
    sung: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class Voice:
    """Notes with stems one way.

    Attributes
    ----------
    notes : tuple of Note
        In order.
    up : bool
        Whether stems point up.
    held : bool
        Whether each note lasts until the next.
    quiet : bool
        Whether rests are left out of the picture.
    """

    notes: tuple[Note, ...]
    up: bool = True
    held: bool = False
    quiet: bool = False


@dataclass(frozen=True, slots=True)
class Staff:
    """One staff: its name at the left, how many lines it has, its voices.

    Attributes
    ----------
    silent : bool
        Whether it is read and not played: its strokes sound on other staves.
    """

    name: str
    lines: int
    voices: tuple[Voice, ...]
    silent: bool = False


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: number, first quarter, the lengths of its beats in quarters, its time signature.

    Attributes
    ----------
    dashed : bool
        Whether it ends in a dashed line, since the bar goes on in the next one.
    """

    number: int
    start: Fraction
    beats: tuple[Fraction, ...]
    top: str
    bottom: str
    dashed: bool = False

    @property
    def length(self) -> Fraction:
        """Length in quarters."""
        return sum(self.beats, Fraction(0))


@dataclass(frozen=True, slots=True)
class Sheet:
    """A whole score before note values are chosen.

    Attributes
    ----------
    tempo : str
        What is printed above the first bar.
    instruments : tuple of (str, int)
        Name and General MIDI key of each lane.
    repeats : bool
        Whether it is a whole cycle, which comes round.
    text : str
        What a reader of the page sees, in words.
    numbered : bool
        Whether every bar carries its number.
    quarter_px : int
        Width of a quarter in px; 0 takes it from the notes.
    key : str
        Which line or space is which drum, and how long beats are said; may be empty.
    quarters : Fraction or None
        Quarters a minute; ``None`` where there is no tempo.
    """

    tempo: str
    bars: tuple[Bar, ...]
    staves: tuple[Staff, ...]
    instruments: tuple[tuple[str, int], ...]
    repeats: bool
    text: str
    numbered: bool = False
    quarter_px: int = 0
    key: str = ""
    quarters: Fraction | None = None

    @property
    def px(self) -> int:
        """Width of a quarter in px: room for the closest strokes, and for a bar on a line."""
        if self.quarter_px:
            return self.quarter_px
        longest = max(bar.length for bar in self.bars)
        words = min(self._for_words, LINE_PX / longest)
        if len(self.bars) == 1:
            return int(min(max(Fraction(150), words), LINE_PX / longest))
        places = sorted({note.at for staff in self.staves for voice in staff.voices for note in voice.notes})
        closest = min((b - a for a, b in pairwise(places)), default=Fraction(1))
        room = max(words, min(max(Fraction(45), CLOSE_PX / closest), Fraction(105), LINE_PX / longest))
        on_a_line = max(1, round(LINE_PX / (room * longest)))
        if words:
            on_a_line = max(1, min(on_a_line, int((LINE_PX - 60) / (words * longest))))
        return int(min(room, (LINE_PX - 60) / (on_a_line * longest)))

    @property
    def _for_words(self) -> Fraction:
        """Px to a quarter that leave every word its room, so that it pushes no note of a run aside."""
        most = Fraction(0)
        for staff in self.staves:
            lines: dict[int, list[tuple[Fraction, str]]] = {}
            for note in sorted(
                (note for voice in staff.voices for note in voice.notes), key=lambda one: one.at
            ):
                for line, word in enumerate((*note.under, *(note.sung or ())[:1])):
                    lines.setdefault(line, []).extend([(note.at, word)] if word else [])
            for (at, word), (after, then) in (pair for line in lines.values() for pair in pairwise(line)):
                if after > at:
                    wide = max(_LETTER_PX * len(word), (_wide(word) + _wide(then)) / 2)  # each is centred
                    most = max(most, Fraction(wide + _APART_PX) / (after - at))
        return most

    @property
    def deep(self) -> bool:
        """Whether beams or flags hang under a staff: a foot plays faster than quarters."""
        low = [voice.notes for staff in self.staves for voice in staff.voices if not voice.up]
        return any(b.at - a.at < 1 for notes in low for a, b in pairwise(notes))


# Texts and numbers on a page


def _wide(word: str) -> float:
    """Return how wide a word under notes is, in px."""
    return sum(_CAPITAL_PX if letter.isupper() or letter == "&" else _LETTER_PX for letter in word)


def title_of(text: str) -> str:
    """Return a title that can be printed: one line, no control characters, at most 120 letters.

    Examples
    --------
    >>> title_of(" 7 against  4")
    '7 against 4'
    """
    plain = "".join(sign if sign.isprintable() else " " for sign in text)
    plain = " ".join(plain.split())
    return plain if len(plain) <= 120 else f"{plain[:119]}…"


def note_sign(value: Fraction) -> str:
    """Return a note value, given in quarters, as a sign that every font has, or in words.

    Examples
    --------
    >>> note_sign(Fraction(1)), note_sign(Fraction(3, 2)), note_sign(Fraction(2))
    ('♩', '♩.', 'half note')
    """
    signs = {Fraction(1): "♩", Fraction(3, 2): "♩.", Fraction(1, 2): "♪", Fraction(3, 4): "♪."}
    return signs.get(value) or note_name(value / 4) or "beat"


def fours(number: int) -> tuple[int, ...]:
    """Cut a number of sixteenths into groups that are read at sight: fours, then what is left.

    Examples
    --------
    >>> fours(16), fours(15), fours(13), fours(6)
    ((4, 4, 4, 4), (4, 4, 4, 3), (4, 4, 3, 2), (3, 3))
    """
    rest = {0: (), 1: (3, 2), 2: (3, 3), 3: (3,)}[number % 4] if number > 2 else (number,)
    return (4,) * ((number - sum(rest)) // 4) + rest


def time_of(beats: tuple[Fraction, ...], metre: Metre | None) -> tuple[str, str]:
    """Return the two numbers of a time signature, grouped where the groups are not the plain ones.

    Examples
    --------
    >>> time_of((Fraction(1),) * 3, None), time_of((Fraction(3, 4),) * 4, None)
    (('3', '4'), ('12', '16'))
    """
    if metre is not None:
        plain = Metre(metre.count, metre.unit).groups
        grouped = "+".join(map(str, metre.groups))
        return (str(metre.count) if metre.groups == plain else grouped), str(metre.unit)
    length = sum(beats, Fraction(0))
    quarters = all(beat.denominator == 1 for beat in beats)
    return (str(length), "4") if quarters else (str(length * 4), "16")


# What is written: lanes counted from even beats


@dataclass(frozen=True, slots=True)
class LaneRow:
    """One of the lanes that are counted from even beats.

    Attributes
    ----------
    name, hands : str
        What it is called; its hands, a letter a stroke, or one letter for all.
    step : int
        Greatest common divisor of its onsets and of the cycle, in ticks: it decides the parts of a beat.
    strokes : int
        How many in a cycle.
    between : callable
        First and last tick -> its onsets there, and the index of the first of them.
    accents, ghosts : frozenset of int
        Ticks.
    key : int
        The drum that is heard, as its key of General MIDI.
    """

    name: str
    hands: str
    step: int
    strokes: int
    between: Callable[[int, int], tuple[Ticks, int]]
    accents: frozenset[int] = frozenset()
    ghosts: frozenset[int] = frozenset()
    key: int = 37

    def hand(self, index: int) -> str:
        """Return the hand of a stroke."""
        return self.hands[index] if len(self.hands) > 1 else self.hands


@dataclass(frozen=True, slots=True)
class EvenLanes:
    """All lanes of a rhythm, counted from even beats.

    Attributes
    ----------
    ticks, beat : int
        Ticks of the cycle and of a beat of home.
    rows : tuple of LaneRow
        The lanes.
    home : int or None
        Which of them is home.
    bars : tuple of int
        First ticks of the bars.
    bpm : Fraction or None
        Beats of home a minute.
    even : bool
        Whether each lane is an even pulse from tick 0.
    said : Sentence or None
        The sentence that is said on the line.
    groups : tuple
        The reader's own groups of a beat of five parts or more, as for `Feel`.
    divided : bool
        Whether a beat is known to be one note, so that three parts of it are a triplet.
    left_handed : bool
        Whether the hands of two pulses are mirrored, where the rhythm names none.
    landmarks : bool
        Whether the e, the & and the a of a bar that is a beat of home are all that is said in it.
    """

    ticks: int
    beat: int
    rows: tuple[LaneRow, ...]
    home: int | None
    bars: tuple[int, ...]
    bpm: Fraction | None
    even: bool
    said: Sentence | None = None
    groups: OwnGroups = ()
    divided: bool = True
    left_handed: bool = False
    landmarks: bool = False

    @property
    def beats(self) -> int:
        """Beats of home in the cycle."""
        return self.ticks // self.beat

    @property
    def home_name(self) -> str:
        """What home is called."""
        return f"the {self.rows[self.home].name}" if self.home is not None else "the count"

    @property
    def name(self) -> str:
        """What they are called together."""
        return " against ".join(row.name for row in self.rows)

    def parts(self, row: int) -> int:
        """Parts of a beat that one lane needs."""
        return self.beat // gcd(self.beat, self.rows[row].step)

    @property
    def all_parts(self) -> int:
        """Parts of a beat that all lanes need together."""
        return self.beat // gcd(self.beat, *(row.step for row in self.rows))

    @property
    def figure(self) -> int:
        """Beats until all lanes meet again, where they are even: 3 of the 12 in 12 against 8; else all."""
        alike = gcd(*(row.strokes for row in self.rows), self.beats) if self.even else 1
        return self.beats // alike

    @property
    def figure_bar(self) -> int:
        """Beats of a bar that holds the figure once or several times; 0 where there is none."""
        whole = [each for each in _BARS if each % self.figure == 0 and self.beats % each == 0]
        return whole[0] if whole and self.bars == (0,) else 0

    @property
    def near(self) -> bool:
        """Whether they are two pulses so near each other that one drifts past the other."""
        if len(self.rows) != 2 or not self.even:
            return False
        p, q = (row.strokes for row in self.rows)
        return p != q and 8 * abs(p - q) <= max(p, q)

    def tied_throughout(self, row: int) -> bool:
        """Whether an even pulse would be written as thirty-seconds that are tied all through."""
        parts, long = self.parts(row), self.rows[row].step * self.parts(row) // self.beat
        plain = long & (long - 1) == 0 or (long % 3 == 0 and long // 3 & (long // 3 - 1) == 0)
        return self.even and parts == 8 and not plain

    def place(self, row: int, tick: int) -> Place:
        """Return where a stroke falls, counted from home."""
        parts = self.parts(row)
        part, threes = self.beat // parts, 0 if self.divided else 3 * (parts in (3, 6))
        return Place(tick // self.beat + 1, tick % self.beat // part + 1, parts, threes)


def bpm_of(tempo: object) -> Fraction:
    """Return beats a minute, exact, or refuse them."""
    return bpm(tempo, "tempo", "score(Polyrhythm(7, 4), 72)")


def _step(cycle: Cycle, onsets: Ticks) -> int | None:
    """Return the ticks from onset to onset where they are even from tick 0, else ``None``."""
    count = len(onsets)
    if not count or onsets[0] or cycle.ticks % count or np.any(np.diff(onsets) != cycle.ticks // count):
        return None
    return cycle.ticks // count


def _is_phrase(cycle: Cycle) -> bool:
    """Whether it is one lane with a stroke on every tick: its beats are groups."""
    return len(cycle.lanes) == 1 and len(cycle.lanes[0].onsets) == cycle.ticks


def _pulse_between(p: Polyrhythm, pulse: int, low: int, high: int) -> tuple[Ticks, int]:
    """Return the onsets of a pulse in a window, and the index of the first of them."""
    return p.onsets(pulse, start=low, stop=high), -(-low // p.step(pulse))


def _onsets_between(onsets: Ticks, low: int, high: int) -> tuple[Ticks, int]:
    """Return the onsets that are in a window, and the index of the first of them."""
    first, last = np.searchsorted(onsets, (low, high))
    return onsets[first:last], int(first)


def heard_key(sound: str, limb: str, lane: int) -> int:
    """Return the key of the drum that is heard for a lane; of one that names no drum, the one it is given.

    Examples
    --------
    >>> heard_key("snare", "", 0), heard_key("click", "", 0), heard_key("gong", "", 0)
    (38, 76, 37)
    """
    heard = LANE_SOUNDS[lane % len(LANE_SOUNDS)] if sound == "click" else sound
    return drum(heard, limb).general_midi if any(row.sound == heard for row in drums()) else 37


def even_lanes(what: Polyrhythm | Cycle, tempo: object, home: int | None) -> EvenLanes | None:
    """Return the lanes of a rhythm as they are counted from even beats.

    Parameters
    ----------
    what : Polyrhythm or Cycle
        What is written.
    tempo : Tempo or number or None
        A number is beats a minute of home.
    home : int or None
        Index of the home pulse or lane.

    Returns
    -------
    EvenLanes or None
        ``None`` where the beats are uneven, and so are groups.

    Examples
    --------
    >>> even_lanes(Polyrhythm(7, 4), 72, None).all_parts
    7
    """
    which: int | None
    beat: int | None
    if isinstance(what, Polyrhythm):
        which = home_or_last(what, home)
        rows = tuple(
            LaneRow(
                str(pulse),
                "",
                what.step(i),
                pulse,
                partial(_pulse_between, what, i),
                key=heard_key("click", "", i),
            )
            for i, pulse in enumerate(what.pulses)
        )
        beat, even = what.step(which), True
        speed = None
        if tempo is not None:
            speed = tempo.bpm_of(what, which) if isinstance(tempo, Tempo) else bpm_of(tempo)
        return EvenLanes(what.ticks, beat, rows, which, (0,), speed, even)
    steps = [_step(what, lane.onsets) for lane in what.lanes]
    if home is not None:
        which = index(home, len(what.lanes), "home", "lanes")
        beat = steps[which]
        if beat is None:
            raise Refusal(
                f"home={short(home)} is lane {what.lanes[which].name!r}, which is not evenly "
                "spaced from tick 0",
                _CALL,
                argument="home",
            )
    else:
        beat = _step(what, what.beats)
        if beat is None or len(what.beats) < 2 or not what.lanes or _is_phrase(what):
            return None
        which = next((i for i, step in enumerate(steps) if step == beat), None)
    bars = tuple(what.bars.tolist()) or (0,)
    if bars[0] or any(tick % beat for tick in bars):
        return None
    rows = tuple(
        LaneRow(
            lane.name,
            lane.hands,
            gcd(what.ticks, *lane.onsets.tolist()),
            len(lane.onsets),
            partial(_onsets_between, lane.onsets),
            frozenset(lane.accents),
            frozenset(lane.ghosts),
            heard_key(lane.sound, lane.limb, i),
        )
        for i, lane in enumerate(what.lanes)
    )
    if sum(row.strokes for row in rows) > MOST_NOTES * 100:
        raise Refusal(f"{what.ticks:,} ticks hold too many strokes for a score", _CALL)
    speed = None
    if tempo is not None:
        speed = bpm_of(tempo) if not isinstance(tempo, Tempo) else 60 / (tempo.tick_seconds(what) * beat)
    said = what if isinstance(what, Sentence) else None
    return EvenLanes(what.ticks, beat, rows, which, bars, speed, all(steps), said, divided=what.divided)


def layout_of(pulses: EvenLanes, metre: Metre | None = None) -> str:
    """Return the layout that is easiest to read.

    ``"bar"`` is all in its own bars, or in one; ``"figures"`` is bars of the smaller figure that a common
    factor repeats; ``"beats"`` is bars of a few beats with tuplets inside them, and ``"bars"`` a bar to each
    beat of home, whose sixteenths are counted.

    Examples
    --------
    >>> pairs = ((7, 4), (12, 8), (11, 4), (16, 15))
    >>> [layout_of(even_lanes(Polyrhythm(*pair), None, 0)) for pair in pairs]
    ['bar', 'figures', 'beats', 'bars']
    """
    starts = (*pulses.bars, pulses.ticks)
    longest = max(b - a for a, b in pairwise(starts)) // pulses.beat
    strokes = max(row.strokes for row in pulses.rows) // len(pulses.bars)
    parts = max(pulses.parts(i) for i in range(len(pulses.rows)))
    small = longest <= MOST_BEATS and strokes <= MOST_STROKES * max(1, longest) and parts <= MOST_STROKES
    if pulses.even:
        small = small and strokes <= MOST_STROKES
    if len(pulses.rows) == 2:
        if pulses.near or any(map(pulses.tied_throughout, range(2))):
            return "bars"
        if pulses.even and (not small or (longest > MOST_REPEATED and pulses.figure < longest)):
            if metre is not None and 4 * Fraction(metre.count, metre.unit) == Fraction(pulses.all_parts, 4):
                return "bars"  # somebody wants each beat of home as a bar
            if parts <= MOST_STROKES and pulses.figure_bar:
                return "figures"
            return "beats" if pulses.all_parts < FEWEST_PARTS else "bars"
    return "bar" if small else "bars"


def bars_of(p: Polyrhythm, home: int) -> tuple[int, int]:
    """Return how many bars a pair is written in, and the most beats of home in one of them.

    Examples
    --------
    >>> bars_of(Polyrhythm(7, 4), 1), bars_of(Polyrhythm(12, 8), 0), bars_of(Polyrhythm(16, 15), 1)
    ((1, 4), (4, 3), (15, 1))
    """
    pulses = even_lanes(p, None, home)
    assert pulses is not None  # pulses are even
    kind = layout_of(pulses)
    if kind == "bar":
        return 1, pulses.beats
    if kind == "figures":
        return pulses.beats // pulses.figure_bar, pulses.figure_bar
    if kind == "bars" and len(p.pulses) == 2:
        return pulses.beats, 1
    return len(lengths := _beat_bars(pulses.beats, _beats_a_bar(pulses.beats))), max(lengths)


def _beats_a_bar(beats: int) -> int:
    """Return the beats of a bar that divides so many beats: four, three or five, else four."""
    return next((n for n in (4, 3, 5) if beats % n == 0), 4)


def _beat_bars(beats: int, each: int) -> list[int]:
    """Return the beats of bars of so many, and of what is left; one beat left over joins the last bar.

    Examples
    --------
    >>> _beat_bars(15, 4), _beat_bars(13, 4)
    ([4, 4, 4, 3], [4, 4, 5])
    """
    full, rest = divmod(beats, each)
    if rest == 1 and full:
        return [each] * (full - 1) + [each + 1]
    return [each] * full + [rest] * (rest > 0)


def _too_many_bars(pulses: EvenLanes, bars: int, window: str, most: int = MOST_BARS) -> Refusal:
    """Return the refusal of too many bars, with a window that fits."""
    numbers = ", ".join(str(row.strokes) for row in pulses.rows)
    return Refusal(
        f"{pulses.name} takes {bars:,} bars, more than the {most} that fit in one score; write a window in "
        "ticks",
        f"score(Polyrhythm({numbers}), {window})",
    )


# A staff for each lane


def _tempo_text(pulses: EvenLanes, value: Fraction) -> str:
    """Say which note is the beat, and its tempo where one is given; `value` is home's note in quarters."""
    bpm = f" = {number(pulses.bpm)}" if pulses.bpm else ""
    what = "the beat" if pulses.home is None else f"the beat of {pulses.home_name}"
    return f"{note_sign(value)}{bpm} is {what}"


def beats_key(every: Iterable[Place], groups: OwnGroups) -> str:
    """Say how the beats of these places are said, where they have five parts or more; may be empty.

    Examples
    --------
    >>> beats_key([Place(1, 2, 5), Place(2, 3, 5), Place(1, 2, 4)], ((2, 3),))
    'A beat in 5 parts: say 1 e TA e &'
    """
    found = []
    for parts, longest in dict.fromkeys(
        (one.parts, one.longest) for one in every if one.parts > LONGEST_SAID
    ):
        own = own_row(groups, parts)
        if part_words(parts, longest, own):
            found.append(say("count.key", parts=parts, words=aloud(1, parts, longest, own)))
        else:
            found.append(say("count.key_long", parts=parts))
    return "; ".join(found)


def _bars_key(parts: int, own: tuple[int, ...]) -> str:
    """Say how a bar is said that is a beat of home; where it is too long, what the numbers under it are."""
    if parts == 1:  # there is one note to a bar, with the bar's number
        return ""
    if not part_words(parts, LONGEST_SAID, own):
        return say("count.key_bars_long")
    return say("count.key_bars", words=aloud(1, parts, LONGEST_SAID, own))


def _staves_text(pulses: EvenLanes, bars: tuple[Bar, ...], window: tuple[int, int], said: bool) -> str:
    """Say in words which staves and bars there are, and where the strokes fall."""
    count = len(pulses.rows)
    staff = "a one-line staff" if count == 1 else f"{count} one-line staves"
    staff += " and one of the line that is heard" if said else ""
    time = f"{bars[0].top}/{bars[0].bottom}"
    alike = len({(bar.top, bar.bottom) for bar in bars}) == 1
    many = f"{numbers.plural(len(bars), 'bar')}{' of' if alike else ', the first of'} {time}"
    many = f"one bar of {time}" if len(bars) == 1 else many
    falls = []
    for i, row in enumerate(pulses.rows):
        if i != pulses.home:
            own, ticks = own_row(pulses.groups, pulses.parts(i)), row.between(*window)[0].tolist()
            where = [said_name(pulses.place(i, tick), own) for tick in ticks]
            falls.append(f"the {row.name} {verb(row.name, 'falls', 'fall')} on {some(where) or 'nothing'}")
    lead = "In the count" if pulses.home is None else f"Counted from {pulses.home_name}"
    last = f" {lead}, {'; '.join(falls)}." if falls else ""
    last += f" {_say(pulses)}." if pulses.said is not None else ""
    if pulses.home is None:
        return f"{pulses.name} on {staff}, {many}.{last}"
    return f"{pulses.name} written from {pulses.home_name} on {staff}, {many}.{last}"


def _bars(lengths: list[int], metre: Metre | None) -> tuple[Fraction, tuple[Bar, ...]]:
    """Return home's note value and the bars that hold so many beats each."""
    value, each = Fraction(1), 0
    if metre is not None:
        by_group = metre.even and all(length % len(metre.groups) == 0 for length in lengths)
        if not by_group and any(length % metre.count for length in lengths):
            raise Refusal(
                f"metre={metre} does not hold "
                f"{sentences.listed([str(n) for n in dict.fromkeys(lengths)])} beats of home in "
                "whole bars",
                f'metre="{lengths[0]}/4"',
                argument="metre",
            )
        value = Fraction(4 * (metre.groups[0] if by_group else 1), metre.unit)
        each = len(metre.groups) if by_group else metre.count
    bars: list[Bar] = []
    at = Fraction(0)
    for length in lengths:
        beats = (Fraction(1),) * length
        if metre is not None:
            beats = tuple(Fraction(4 * group, metre.unit) for group in metre.groups)
        for _ in range(length // each if each else 1):
            bars.append(Bar(len(bars) + 1, at, beats, *time_of(beats, metre)))
            at += bars[-1].length
    return value, tuple(bars)


def _say(pulses: EvenLanes) -> str:
    """Write the whole sentence, where there is one."""
    return f"Say: {pulses.said.text}" if pulses.said is not None else ""


def _said_line(
    pulses: EvenLanes, window: tuple[int, int], quarter: Fraction, bars: tuple[Bar, ...], held: bool
) -> Staff | None:
    """Return a staff of the line that is heard, a syllable under each sound, so that words are read on.

    It is ``None`` where nothing is said, or the line of many pulses has no written values.
    """
    if pulses.said is None:
        return None
    start, stop = window
    lane, sounds = len(pulses.rows), composite(pulses.said, start=start, stop=stop).onsets.tolist()
    notes = tuple(
        Note((tick - start) * quarter, (Notehead(lane, LINE),), sung=sung_at(pulses.said, tick))
        for tick in sounds
    )
    for bar in bars:
        inside = [note.at - bar.start for note in notes if 0 <= note.at - bar.start < bar.length]
        try:
            spell(inside, bar.beats, held=held)
        except ValueError:
            return None
    return Staff("say", 1, (Voice(notes, held=held),), silent=True)


def _staves(
    pulses: EvenLanes,
    window: tuple[int, int],
    value: Fraction,
    bars: tuple[Bar, ...],
    show: tuple[bool, bool, bool],
) -> Sheet:
    """Write a staff for each lane; `show` is whether notes are held, with counts, and with hands."""
    held, counts, hands = show
    quarter, any_hands = value / pulses.beat, any(row.hands for row in pulses.rows)
    staves = []
    for i, row in enumerate(pulses.rows):
        onsets, index = row.between(*window)
        own = own_row(pulses.groups, pulses.parts(i))
        notes = []
        for n, tick in enumerate(onsets.tolist(), index):
            under = [row.hand(n)] if hands and any_hands else []
            under += [label_with_beat(pulses.place(i, tick), own)] if counts else []
            head = Notehead(i, LINE, "normal", tick in row.accents, tick in row.ghosts)
            notes.append(Note((tick - window[0]) * quarter, (head,), tuple(under)))
        staves.append(Staff(row.name, 1, (Voice(tuple(notes), held=held),)))
    line = _said_line(pulses, window, quarter, bars, held)
    staves += [line] if line else []
    whole = window == (0, pulses.ticks)
    others = (pulses.place(i, 0) for i in range(len(pulses.rows)) if i != pulses.home)
    key = beats_key(others, pulses.groups) if counts else ""
    return Sheet(
        _tempo_text(pulses, value),
        bars,
        tuple(staves),
        (*((row.name, row.key) for row in pulses.rows), *([(line.name, 37)] if line else [])),
        whole,
        _staves_text(pulses, bars, window, line is not None),
        key="; ".join(filter(None, (key, "" if line else _say(pulses)))),
        quarters=pulses.bpm * value if pulses.bpm else None,
    )


def in_bar(pulses: EvenLanes, metre: Metre | None, counts: bool, hands: bool) -> Sheet:
    """Write a one-line staff for each lane: the cycle in its own bars, or as one bar where it has none.

    Raises
    ------
    ValueError
        If it is too long, or the metre does not hold home's beats.
    """
    lengths = [(b - a) // pulses.beat for a, b in pairwise((*pulses.bars, pulses.ticks))]
    if max(lengths) > LONGEST_BAR or sum(row.strokes for row in pulses.rows) > MOST_NOTES:
        raise Refusal(
            f'layout="bar" would make a bar of {max(lengths):,} beats, more than {LONGEST_BAR}',
            'score(Polyrhythm(16, 15), layout="bars")',
            argument="layout",
        )
    value, bars = _bars(lengths, metre)
    held = len(bars) == len(lengths)
    return _staves(pulses, (0, pulses.ticks), value, bars, (held, counts, hands))


def in_figures(
    pulses: EvenLanes, metre: Metre | None, start: int, stop: int, counts: bool, hands: bool
) -> Sheet:
    """Write a one-line staff for each lane in bars that hold the figure which a common factor repeats.

    Raises
    ------
    ValueError
        If the metre does not hold home's beats, or there are too many bars.
    """
    each = pulses.figure_bar
    long = each * pulses.beat
    first, last = start // long, -(-stop // long)
    if last - first > MOST_BARS:
        window = f"start={first * long}, stop={(first + MOST_BARS) * long}"
        raise _too_many_bars(pulses, last - first, window)
    value, bars = _bars([each] * (last - first), metre)
    held = len(bars) == last - first
    return _staves(pulses, (first * long, last * long), value, bars, (held, counts, hands))


def in_beats(
    pulses: EvenLanes, metre: Metre | None, start: int, stop: int, counts: bool, hands: bool
) -> Sheet:
    """Write a one-line staff for each lane in bars of a few beats, with tuplets inside the beats.

    Raises
    ------
    ValueError
        If the metre does not hold home's beats, or there are too many bars.
    """
    each = 4 if metre is None else len(metre.groups)
    if metre is None:
        each = _beats_a_bar(pulses.beats)
    low, full = start // pulses.beat // each, -(-min(pulses.beats, -(-stop // pulses.beat)) // each)
    if full - low > MOST_BARS:
        window = f"start={low * each * pulses.beat}, stop={each * (low + MOST_BARS) * pulses.beat}"
        raise _too_many_bars(pulses, full - low, window)
    first, last = low * each, min(pulses.beats, full * each)
    if metre is None and pulses.beats % each == 1 and pulses.beats - last <= 1 < pulses.beats:
        first, last = min(first, max(0, pulses.beats - 1 - each)), pulses.beats  # its last bar has one more
    value, bars = _bars(_beat_bars(last - first, each), metre)
    return _staves(pulses, (first * pulses.beat, last * pulses.beat), value, bars, (False, counts, hands))


# One staff, each bar a beat of home

#: The lanes that play at a tick, with their hands.
_Played: TypeAlias = dict[int, list[tuple[int, str]]]


def _home_bars_px(bars: int, long: Fraction, grid: bool) -> int:
    """Return px to a quarter that put the bars on as few lines as can be read."""
    if grid:
        return min(96, max(84, int(LINE_PX / long)))
    on_a_line = max(2, -(-bars // 11))
    return int(min(Fraction(110), max(Fraction(24), (LINE_PX - 60) / (on_a_line * long))))


def _home_bars_tempo(pulses: EvenLanes, parts: int) -> str:
    """Say that each bar is a beat of home, and its tempo where one is given."""
    if not pulses.bpm:
        return f"Each bar is one beat of {pulses.home_name}, {numbers.plural(parts, 'sixteenth')}"
    quarters = numbers.number(pulses.bpm * parts / 4)
    bpm = numbers.number(pulses.bpm)
    return f"♩ = {quarters}: each bar is one beat of {pulses.home_name}, {bpm} a minute"


def _home_bars_text(pulses: EvenLanes, at: _Played, bars: tuple[Bar, ...], parts: int, grid: bool) -> str:
    """Say in words how many bars there are, and on which sixteenths the other pulse falls."""
    rows: dict[int, list[str]] = {}
    for tick in sorted(at):
        if any(i != pulses.home for i, _ in at[tick]):
            number = tick % pulses.beat * parts // pulses.beat + 1
            rows.setdefault(tick // pulses.beat + 1, []).append(str(number))
    where = numbers.some([f"{' and '.join(row)} of bar {bar}" for bar, row in rows.items()], 8)
    other = next(row.name for i, row in enumerate(pulses.rows) if i != pulses.home)
    home = pulses.home_name
    full = ", every sixteenth written and the strokes accented" if grid else ""
    time = f"{bars[0].top}/{bars[0].bottom}"
    return (
        f"{pulses.name} written from {home}: {numbers.plural(len(bars), 'bar')} of {time} "
        f"on a one-line staff{full}, {home} under the line on the first of each bar. "
        f"The {other} above the line falls on sixteenth {where or 'none'}."
        f"{f' {_say(pulses)}.' if pulses.said is not None else ''}"
    )


def _home_bars_voices(
    pulses: EvenLanes, at: _Played, ticks: Iterable[int], quarter: Fraction, show: tuple[bool, bool, bool]
) -> tuple[Voice, ...]:
    """Return one voice with all strokes, or with the grid two: the grid above the line, home under it."""
    grid, counts, hands = show
    parts, own = pulses.all_parts, own_row(pulses.groups, pulses.all_parts)
    said = bool(part_words(parts, LONGEST_SAID, own)) or parts == 1  # else the number of the sixteenth
    upper: list[Note] = []
    lower: list[Note] = []
    zero = None
    for tick in ticks:
        here = at.get(tick, [])
        zero = tick // pulses.beat * pulses.beat if zero is None else zero
        heads = [
            Notehead(
                i,
                _UNDER if i == pulses.home else _ABOVE,
                accent=tick in pulses.rows[i].accents or (grid and i != pulses.home),
                ghost=tick in pulses.rows[i].ghosts,
            )
            for i, _ in here
        ]
        heads.sort(key=lambda head: head.place != _UNDER)
        under = ["".join(sorted(hand for _, hand in here)[::-1])] if hands else []
        number = tick % pulses.beat * parts // pulses.beat + 1
        word = str(number)
        if pulses.landmarks:
            quarter_of, off = divmod(tick % pulses.beat * 4, pulses.beat)
            word = "" if off else label(Place(tick // pulses.beat + 1, quarter_of + 1, 4))
        elif said:
            word = label(Place(tick // pulses.beat + 1, number, parts, LONGEST_SAID), own)
        under += [word if here else ""] if counts else []
        sung = sung_at(pulses.said, tick) if pulses.said is not None else None
        words, where = (tuple(under), sung), (tick - zero) * quarter
        if not grid:
            upper.append(Note(where, tuple(heads), *words))
            continue
        other = [head for head in heads if head.lane != pulses.home]
        small = (Notehead(2, _ABOVE, small=True),)
        upper.append(Note(where, tuple(other) or small, *(words if other else ())))
        at_home = [head for head in heads if head.lane == pulses.home]
        lower += [Note(where, (head,), *(() if other else words)) for head in at_home]
    if not grid:
        return (Voice(tuple(upper)),)
    return (Voice(tuple(upper)), Voice(tuple(lower), up=False, quiet=True))


def home_bars(
    pulses: EvenLanes, metre: Metre | None, grid: bool, start: int, stop: int, counts: bool, hands: bool
) -> Sheet:
    """Write bars that are each one beat of home, in sixteenths.

    Parameters
    ----------
    pulses : EvenLanes
        Two lanes, one of them home.
    metre : Metre, optional
        How the sixteenths of a bar are grouped.
    grid : bool
        Whether every sixteenth is written, small, with the strokes accented.
    start, stop : int
        Window in ticks; the bars that it touches are written whole.
    counts, hands : bool
        Whether the word that is said there and the hand stand under each stroke: first in a bar its number,
        and in a bar too long to be said the number of each sixteenth.

    Raises
    ------
    ValueError
        If there are too many bars or too many parts to a beat, or the metre has another length.
    """
    parts = pulses.all_parts
    if parts > MOST_PARTS:
        raise Refusal(
            f"{pulses.name} cuts each beat of {pulses.home_name} into {parts:,} parts, "
            f"more than the {MOST_PARTS} sixteenths of the longest bar written",
            "score(Polyrhythm(64, 63))",
        )
    groups = tuple(Fraction(size, 4) for size in fours(parts))
    if metre is not None:
        groups = tuple(Fraction(4 * size, metre.unit) for size in metre.groups)
        if sum(groups) * 4 != parts:
            raise Refusal(
                f"metre={metre} does not hold the {parts} sixteenths of one beat of {pulses.home_name}",
                f'''metre="{"+".join(map(str, fours(parts)))}/16"''',
                argument="metre",
            )
    first, last = start // pulses.beat, -(-stop // pulses.beat)
    most = min(MOST_BARS, MOST_NOTES // parts) if grid else MOST_BARS
    if last - first > most:
        window = f"start={first * pulses.beat}, stop={(first + most) * pulses.beat}"
        raise _too_many_bars(pulses, last - first, window + ", grid=True" * grid, most)
    long = sum(groups, Fraction(0))
    bars = tuple(Bar(n + 1, (n - first) * long, groups, *time_of(groups, metre)) for n in range(first, last))
    at: _Played = {}
    letters = "LR" if pulses.left_handed else "RL"
    for i, row in enumerate(pulses.rows):
        onsets, index = row.between(first * pulses.beat, last * pulses.beat)
        for n, tick in enumerate(onsets.tolist(), index):
            at.setdefault(tick, []).append((i, row.hand(n) or letters[i]))
    every = range(first * pulses.beat, last * pulses.beat, pulses.beat // parts)
    voices = _home_bars_voices(
        pulses, at, every if grid else sorted(at), long / pulses.beat, (grid, counts, hands)
    )
    keys = [(row.name, row.key) for row in pulses.rows] + [("grid", 42)] * grid
    return Sheet(
        _home_bars_tempo(pulses, parts),
        bars,
        (Staff("", 1, voices),),
        tuple(keys),
        (first, last) == (0, pulses.beats),
        _home_bars_text(pulses, at, bars, parts, grid),
        numbered=True,
        quarter_px=_home_bars_px(len(bars), long, grid),
        key=_bars_key(4 if pulses.landmarks else parts, own_row(pulses.groups, parts)) if counts else "",
        quarters=pulses.bpm * Fraction(parts, 4) if pulses.bpm else None,
    )

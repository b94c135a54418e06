"""A bar of equal ticks with its own grouping, and cycles laid in such bars.

A metre is written as ever: ``"4/4"``, ``"7/8"``, ``"2+2+3/8"``.
Its beats are the first ticks of its groups.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd

import numpy as np

from rhythmlab.core.check import MOST_TICKS, items, positive, short, whole
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.display import InNotebook
from rhythmlab.core.feel import LONGEST_GROUP, MOST_SAID, OwnGroups, Place, in_group, places
from rhythmlab.core.public import public, public_class
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.core.types import Number, Ticks
from rhythmlab.refusal import Refusal
from rhythmlab.text import counts
from rhythmlab.text.numbers import plural, share_name, some

#: Written notes by their number under the line, and how they are called.
_LENGTHS = {
    1: "whole",
    2: "half",
    4: "quarter",
    8: "eighth",
    16: "sixteenth",
    32: "thirty-second",
    64: "sixty-fourth",
}
NOTES = {unit: f"{length} note" if unit < 4 else length for unit, length in _LENGTHS.items()}
#: Most written notes in a bar, and most beats held at once.
MOST_NOTES = 10_000
#: Most written notes of a bar that twos and a three are laid in.
MOST_TWOS = 40
_MOST_BEATS = 1_000_000
_EXAMPLE = 'metre("7/8", groups=(2, 2, 3))'
_SECONDS = 'metre("7/8").cycle().seconds(210)'


@public_class(
    'metre("7/8")',
    tempo='metre("7/8").tempo(210)',
    finer='metre("7/8").finer(7)',
    place='metre("7/8").place(6)',
    describe='metre("7/8").describe(6)',
    starts='metre("7/8").starts(2)',
    beats_in='metre("7/8").beats_in(2)',
    cycle='metre("7/8").cycle(bars=2)',
)
@dataclass(frozen=True, slots=True, init=False, repr=False)
class Metre(InNotebook):
    """A bar of equal ticks, grouped.

    Parameters
    ----------
    count, unit : int
        The two numbers as written: seven eighths are 7 and 8.
    groups : sequence of int, optional
        Written notes in each group; they add up to `count`. When left out, threes where `count` is a
        multiple of three (from six up, or of eighths and shorter), else a beat on every written note.
    parts : int, optional
        Ticks to a written note; when left out, as many as make a tick a sixteenth in metres of quarters
        and longer, and one in metres of eighths and shorter.

    Attributes
    ----------
    ticks : int
        Ticks in a bar.
    beats : numpy.ndarray
        int64: first ticks of the groups.

    Raises
    ------
    ValueError
        If the metre has no notes, its written note is none, or the groups do not fill the bar.

    Examples
    --------
    >>> seven = Metre(7, 8, groups=(2, 2, 3))
    >>> seven, seven.ticks, seven.beats
    (7/8 as 2+2+3, 7, array([0, 2, 4]))
    """

    count: int
    unit: int
    groups: tuple[int, ...]
    parts: int

    def __init__(
        self, count: int, unit: int, groups: Sequence[int] | None = None, parts: int | None = None
    ) -> None:
        count = whole(count, "count", 'metre("7/8")')
        unit = whole(unit, "unit", 'metre("7/8")')
        if unit not in NOTES:
            raise Refusal(
                f"unit={short(unit)} is not a written note ({', '.join(map(str, NOTES))})",
                'metre("7/8")',
                argument="unit",
            )
        if count > MOST_NOTES:
            raise Refusal(
                f"count={short(count)} is more than {MOST_NOTES:,} notes to a bar", _EXAMPLE, argument="count"
            )
        if groups is None:
            threes = count % 3 == 0 and (count > 3 or unit >= 8)
            groups = (3,) * (count // 3) if threes else (1,) * count
        works = f'metre("{count}/{unit}", groups={_some_groups(count)})'
        groups = items(groups, "groups", works, MOST_NOTES, "numbers")
        groups = tuple(whole(group, f"a group of {count}/{unit}", works) for group in groups)
        if sum(groups) != count:
            raise Refusal(
                f"groups={short(groups)} add up to {short(sum(groups))}, but a bar of {count}/{unit} "
                f"has {plural(count, NOTES[unit])}",
                works,
                argument="groups",
            )
        parts = max(1, 16 // unit) if parts is None and unit < 8 else parts
        parts = (
            1 if parts is None else whole(parts, "parts", 'metre("4/4", parts=4)', most=MOST_TICKS // count)
        )
        for field, value in (("count", count), ("unit", unit), ("groups", groups), ("parts", parts)):
            object.__setattr__(self, field, value)

    def __repr__(self) -> str:
        return f"{self.count}/{self.unit}{self._as_groups()}"

    def _as_groups(self) -> str:
        plain = Metre(self.count, self.unit).groups
        uneven = self.groups != plain or len(set(plain)) > 1
        return f" as {some(self.groups, 64, '+')}" if uneven else ""

    @property
    def ticks(self) -> int:
        """Ticks in a bar."""
        return self.count * self.parts

    @property
    def beats(self) -> Ticks:
        """First ticks of the groups, int64."""
        return np.cumsum((0, *self.groups[:-1])) * self.parts

    @property
    def even(self) -> bool:
        """Whether all beats are equally long."""
        return len(set(self.groups)) == 1

    @property
    def grouped(self) -> bool:
        """Whether a beat is a group of written notes, as in 6/8, and not one of them, as in 4/4."""
        return max(self.groups) > 1

    @property
    def beat(self) -> str:
        """The note that a tempo of this metre is counted in.

        Examples
        --------
        >>> metre("4/4").beat, metre("6/8").beat, metre("7/8", groups=(2, 2, 3)).beat
        ('quarter', 'dotted quarter', 'eighth')
        """
        return note_name(Fraction(self._beat_notes, self.unit)) or "beat"

    @property
    def tick(self) -> str:
        """The note that a tick is.

        Examples
        --------
        >>> metre("4/4").tick, metre("4/4", parts=3).tick, metre("4/4", parts=9).tick
        ('sixteenth', 'eighth-note triplet', 'ninth part of a quarter')
        """
        name = note_name(Fraction(1, self.unit * self.parts))
        return name or f"{share_name(self.parts)} part of a {NOTES[self.unit]}"

    @property
    def _beat_notes(self) -> int:
        """Written notes to the beat of a tempo: a group, where all are alike and their length has a name."""
        size = self.groups[0]
        return size if self.even and note_name(Fraction(size, self.unit)) else 1

    def tempo(self, bpm: Number) -> Tempo:
        """Return a tempo counted in the beat of this metre: its group, or the written note if uneven.

        Parameters
        ----------
        bpm : number
            Beats a minute, above 0; `beat` names the note.

        Examples
        --------
        >>> metre("4/4").tempo(120), metre("7/8", groups=(2, 2, 3)).tempo(210)
        (Tempo(120, ticks=4), Tempo(210, ticks=1))
        """
        bpm = positive(bpm, "bpm", 'metre("4/4").tempo(120)')
        return Tempo(bpm, ticks=self._beat_notes * self.parts)

    def finer(self, times: int) -> "Metre":
        """Return the same metre with each tick cut into `times` ticks.

        Examples
        --------
        >>> metre("4/4").finer(7).ticks
        112
        """
        return Metre(
            self.count, self.unit, self.groups, self.parts * whole(times, "times", 'metre("4/4").finer(7)')
        )

    def place(self, tick: int) -> Place:
        """Return beat and part of a tick; a later tick is counted in its own bar.

        A beat of up to four ticks is counted in the fewest parts; a longer one in all its ticks, where these
        have words, so that no word is two places of it.

        Parameters
        ----------
        tick : int
            From 0.

        Examples
        --------
        >>> metre("4/4").place(6), metre("7/8", groups=(2, 2, 3)).place(7 + 5)
        (Place(beat=2, part=3, parts=4), Place(beat=3, part=2, parts=3))
        """
        tick = whole(tick, "tick", 'metre("4/4").place(6)', least=0) % self.ticks
        starts = self.beats
        beat = int(np.searchsorted(starts, tick, side="right")) - 1
        length, offset = self.groups[beat] * self.parts, tick - int(starts[beat])
        if self.grouped:
            return in_group(beat + 1, offset, length, self.parts, max(self.groups), every=True)
        part = gcd(length, offset)
        if length <= LONGEST_GROUP or (offset and (length <= MOST_SAID or length // part > LONGEST_GROUP)):
            part = 1
        return Place(beat + 1, offset // part + 1, length // part)

    def describe(self, tick: int) -> str:
        """Say where in its bar a tick is.

        Examples
        --------
        >>> metre("4/4").describe(6), metre("4/4").describe(16), metre("4/4", parts=7).describe(12)
        ('& of 2', '1', 'ta e of 2 (part 6 of 7)')
        >>> metre("2/2").describe(3), metre("2/2").describe(4), metre("6/4").describe(4)
        ('a of 1 (part 4 of 8)', 'ta of 1 (part 5 of 8)', 'ta of 1 (part 5 of 12)')
        """
        return counts.said_alone(self.place(tick))

    def starts(self, bars: int) -> Ticks:
        """Return the first ticks of so many bars, int64."""
        count = whole(bars, "bars", 'metre("4/4").starts(4)')
        if count * len(self.groups) > _MOST_BEATS:
            raise Refusal(
                f"bars={short(count)} of {self} have more than {_MOST_BEATS:,} beats",
                "bars=4",
                argument="bars",
            )
        if count * self.ticks > MOST_TICKS:
            raise Refusal(f"bars={short(count)} of {self} are beyond tick 2**62", "bars=1", argument="bars")
        return np.arange(count, dtype=np.int64) * self.ticks

    def beats_in(self, bars: int) -> Ticks:
        """Return the beats of so many bars, int64.

        Examples
        --------
        >>> metre("7/8", groups=(2, 2, 3)).beats_in(2)
        array([ 0,  2,  4,  7,  9, 11])
        """
        return (self.starts(bars)[:, None] + self.beats).ravel()

    def cycle(self, bars: int = 1, lanes: Iterable[Lane] | None = None) -> "Bars":
        """Return so many bars as a cycle: a stroke on each beat, the first of each bar accented.

        Parameters
        ----------
        bars : int
            How many.
        lanes : sequence of Lane, optional
            What is played instead.

        Examples
        --------
        >>> metre("7/8", groups=(2, 2, 3)).cycle()
        Cycle(7 ticks, beats 0 2 4, bars 0, lanes 'beat': 0 2 4)
        """
        if lanes is None:
            lanes = [Lane("beat", self.beats_in(bars), accents=self.starts(bars))]
        return Bars(self, bars, lanes)


@public_class('metre("7/8").cycle()')
@dataclass(frozen=True, slots=True, init=False, eq=False, repr=False)
class Bars(Cycle):
    """A `Cycle` of whole bars, which knows its metre: pictures, sound and takes have it as any cycle.

    Attributes
    ----------
    metre : Metre
        The metre of every bar.
    """

    metre: Metre

    def __init__(self, metre: Metre, bars: int, lanes: Iterable[Lane]) -> None:
        beats, starts = metre.beats_in(bars), metre.starts(bars)
        Cycle.__init__(self, metre.ticks * len(starts), lanes, beats=beats, bars=starts)
        object.__setattr__(self, "_written", metre.parts if metre.grouped else 0)
        object.__setattr__(self, "metre", metre)

    @property
    def beat(self) -> int:
        """Ticks of the metre's beat, the one that a number of beats a minute counts.

        Examples
        --------
        >>> metre("2+2+3/8").cycle().beat, metre("6/8").cycle().beat
        (1, 3)
        """
        return self.metre.tempo(1).ticks or 1

    @public(_SECONDS, bpm="tempo")
    def seconds(self, tempo: Speed) -> Fraction:
        """Return how long it lasts, exact.

        Parameters
        ----------
        tempo : number or Tempo
            Beats a minute of the metre's beat, or a tempo in its ticks.

        Examples
        --------
        >>> metre("2+2+3/8").cycle(bars=5).seconds(210)
        Fraction(10, 1)
        """
        return tempo_of(self.metre, tempo, _SECONDS).cycle_seconds(self)


@public('metre("7/8")')
def metre(what: str | Metre, groups: Sequence[int] | None = None, *, parts: int | None = None) -> Metre:
    """Return a metre from how it is written.

    Parameters
    ----------
    what : str or Metre
        Such as ``"7/8"``, or with its groups ``"2+2+3/8"``.
    groups : sequence of int, optional
        Written notes in each group, as for `Metre`.
    parts : int, optional
        Ticks to a written note, as for `Metre`.

    Raises
    ------
    ValueError
        If it is not written so, or groups are given twice, are zero or do not fill the bar.

    Examples
    --------
    >>> metre("7/8", groups=(2, 2, 3)), metre("4+4+3/16").beats, metre("4/4").ticks
    (7/8 as 2+2+3, array([0, 4, 8]), 16)
    """
    if isinstance(what, Metre):
        given = what.groups if groups is None else groups
        return Metre(what.count, what.unit, given, what.parts if parts is None else parts)
    found = isinstance(what, str) and re.fullmatch(r"\s*([0-9]{1,9}(?:\+[0-9]{1,9})*)/([0-9]{1,9})\s*", what)
    if not found:
        raise Refusal(f"metre({short(what)}) is not written like a metre, such as 7/8", _EXAMPLE)
    numbers = [int(number) for number in found[1].split("+")]
    if len(numbers) > 1 and groups is not None:
        raise Refusal(f"metre({short(what)}) has its groups and is given groups={short(groups)}", _EXAMPLE)
    if len(numbers) > 1:
        groups = numbers
    return Metre(sum(numbers), int(found[2]), groups, parts)


def tempo_of(metre: Metre, tempo: Speed, example: str) -> Tempo:
    """Return a tempo: what is one already, or beats a minute of the metre's beat."""
    return tempo if isinstance(tempo, Tempo) else metre.tempo(positive(tempo, "tempo", example))


def note_name(share: Fraction) -> str:
    """Name a length, given as a share of a whole note; empty where it has no name of its own.

    Tuplets: three in the time of two, five and seven in the time of four (common practice, no source).

    Examples
    --------
    >>> note_name(Fraction(1, 4)), note_name(Fraction(3, 8)), note_name(Fraction(1, 3))
    ('quarter', 'dotted quarter', 'half-note triplet')
    """
    share = Fraction(share)
    plain = {Fraction(1, unit): name for unit, name in NOTES.items()}
    lengths = {Fraction(1, unit): name for unit, name in _LENGTHS.items()}
    if share in plain:
        return plain[share]
    if share * Fraction(2, 3) in plain:
        return f"dotted {plain[share * Fraction(2, 3)]}"
    for among, normal, name in ((3, 2, "triplet"), (5, 4, "quintuplet"), (7, 4, "septuplet")):
        written = share * Fraction(among, normal)
        if written in lengths:
            return f"{lengths[written]}-note {name}"
    return ""


def in_fewest(bar: Metre, tick: int) -> Place:
    """Return where a stroke is counted by itself, in as few parts of its beat as it needs.

    Examples
    --------
    >>> in_fewest(metre("2/2"), 4), in_fewest(metre("6/4"), 4)
    (Place(beat=1, part=2, parts=2), Place(beat=1, part=2, parts=3))
    """
    place = bar.place(tick)
    if place.part == 1 or place.parts <= LONGEST_GROUP:
        return place
    length = bar.groups[place.beat - 1] * bar.parts
    offset = (place.part - 1) * (length // place.parts)
    if bar.grouped:
        finest = bar.parts if offset % bar.parts == 0 else 1
        return in_group(place.beat, offset, length, bar.parts, max(bar.groups), finest)
    part = gcd(length, offset)
    return Place(place.beat, offset // part + 1, length // part)


def tick_name(bar: Metre | None) -> str:
    """Name the tick of a bar: the note that it is, where that has a name; else a tick.

    Examples
    --------
    >>> tick_name(metre("7/8")), tick_name(metre("4/4", parts=3)), tick_name(metre("4/4", parts=9))
    ('eighth', 'eighth-note triplet', 'tick')
    """
    return (note_name(Fraction(1, bar.unit * bar.parts)) if bar else "") or "tick"


def lane_places(cycle: Cycle, onsets: Ticks, start: int, stop: int) -> counts.Beat:
    """Return where strokes of a lane are counted, by tick: in bars of plain beats bar by bar, as in a score.

    A beat of the bar that has its finest parts and coarser ones is counted in the finest: strokes on every
    sixteenth of 2/2 are eight to a beat.

    Examples
    --------
    >>> lane_places(Cycle(12, [Lane("", [5])], beats=[0, 6]), np.array([5]), 0, 12)
    {5: Place(beat=1, part=6, parts=6)}
    >>> lane_places(metre("2/2").cycle(), np.array([1, 4]), 4, 16)
    {4: Place(beat=1, part=5, parts=8)}
    """
    inside: list[int] = onsets[(onsets >= start) & (onsets < stop)].tolist()
    barred = len(cycle.bars) and cycle.divided and cycle.bars[0] == cycle.beats[:1].sum() == 0
    if not barred:  # beats that are groups, or no bars at all; those of a take do not say their metre
        return dict(zip(inside, places(cycle, onsets, start=start, stop=stop), strict=True))
    beats = np.searchsorted(cycle.beats, inside, side="right")
    nth = np.searchsorted(cycle.bars, inside, side="right").tolist()
    lengths = np.diff(cycle.beats, append=cycle.ticks)[beats - 1].tolist()
    offsets = (np.array(inside, dtype=np.int64) - cycle.beats[beats - 1]).tolist()
    bars: dict[int, counts.Beat] = {}
    for tick, bar, beat, length, offset in zip(inside, nth, beats.tolist(), lengths, offsets, strict=True):
        part = 1 if length <= 4 else gcd(length, offset)
        bars.setdefault(bar, {})[tick] = Place(beat, offset // part + 1, length // part)
    strokes = {tick: place for one in bars.values() for tick, place in counts.of_lane(one).items()}
    firsts = np.searchsorted(cycle.beats, cycle.bars)[np.array(nth, dtype=np.int64) - 1]
    beats_of = dict(zip(inside, (beats - firsts).tolist(), strict=True))
    return counts.in_finest(strokes, beats_of, _all_places(cycle, onsets))


def _all_places(cycle: Cycle, onsets: Ticks) -> list[Place]:
    """Return where all strokes of a lane fall off the beats of a bar, whichever bar, each in fewest parts."""
    beats = np.searchsorted(cycle.beats, onsets, side="right") - 1
    lengths, offsets = np.diff(cycle.beats, append=cycle.ticks)[beats], onsets - cycle.beats[beats]
    firsts = np.searchsorted(cycle.beats, cycle.bars)[np.searchsorted(cycle.bars, onsets, side="right") - 1]
    part = np.where(lengths <= LONGEST_GROUP, 1, np.gcd(lengths, offsets))
    rows = np.stack([beats - firsts + 1, offsets // part + 1, lengths // part])[:, offsets > 0]
    if not rows.size or not LONGEST_GROUP < rows[2].max() <= MOST_SAID:
        return []  # no word of these is two places
    return [Place(*row) for row in np.unique(rows, axis=1).T.tolist()]


def told_places(
    cycle: Cycle, onsets: Ticks, start: int, stop: int, groups: OwnGroups = ()
) -> dict[int, Place]:
    """Return where strokes of a lane are counted so that in no beat one word is two places, by tick.

    Examples
    --------
    >>> told_places(metre("6/4").cycle(), np.arange(24), 3, 5)
    {3: Place(beat=1, part=4, parts=12), 4: Place(beat=1, part=5, parts=12)}
    """
    beats: dict[int, counts.Beat] = {}
    strokes = lane_places(cycle, onsets, start, stop)
    for tick, place in strokes.items():
        beats.setdefault(place.beat, {})[tick] = place
    for beat in beats.values():
        strokes |= counts.told_apart(beat, groups)[0]
    return strokes


def felt(bar: Metre) -> Metre:
    """Return a bar with the groups that it is felt in: one without any has twos, an odd one a three last.

    Of eighths from five up, and of shorter notes from four up: nobody taps every eighth of 7/8, and nobody
    every sixteenth of 8/16.  (Common practice, no source.)

    Examples
    --------
    >>> felt(metre("7/8")), felt(metre("7/4")), felt(metre("3+2+2/8")), felt(metre("8/16")).groups
    (7/8 as 2+2+3, 7/4, 7/8 as 3+2+2, (2, 2, 2, 2))
    """
    fewest = 5 if bar.unit == 8 else 4
    if bar.grouped or bar.count < fewest or bar.unit < 8 or bar.count > MOST_TWOS:
        return bar
    return Metre(bar.count, bar.unit, _some_groups(bar.count), bar.parts)


def groups_text(bar: Metre) -> str:
    """Write the groups of a bar.

    Examples
    --------
    >>> groups_text(metre("2+2+3/8"))
    '2+2+3'
    """
    return some(bar.groups, 64, "+")


def _some_groups(count: int) -> tuple[int, ...]:
    """Return groups of two, and a three at the end where `count` is odd: an example that always works."""
    if count < 2 or count > MOST_TWOS:
        return (count,)
    return (2,) * (count // 2 - count % 2) + (3,) * (count % 2)


def with_article(name: str) -> str:
    """Put a or an before a name.

    Examples
    --------
    >>> with_article("eighth"), with_article("quarter")
    ('an eighth', 'a quarter')
    """
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"

"""Home: the pulse felt as the beat, and the whole rhythm counted from it.

A *part* is an equal share of a beat.
Each other pulse is counted against home on its own, so 3 against 4 against 5, counted from the 4, has
threes for the 3 and fives for the 5, never fifteenths.
"""

import re
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field
from math import gcd
from typing import TypeAlias

import numpy as np

from rhythmlab.core.check import MOST_LISTED, few_enough, index, items, short, whole, window
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.display import InNotebook, Listed
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm, polyrhythm_and_home
from rhythmlab.core.types import Ticks
from rhythmlab.refusal import Refusal

#: How a beat of five parts or more is said: "2+3", (2, 3), or several, one for each number of parts.
Groups: TypeAlias = str | Sequence[int] | Sequence[Sequence[int]]
#: The same once checked: a row for each number of parts.
OwnGroups: TypeAlias = tuple[tuple[int, ...], ...]
#: Fewest parts of a beat that are said in groups, most groups, and most notes in one: longer ones are cut.
FEWEST_GROUPED, MOST_GROUPS, LONGEST_GROUP = 5, 12, 4
#: Most parts of a beat that have words in our groups: nobody says more from one beat to the next.
MOST_SAID = 24


@dataclass(frozen=True, slots=True)
class Place(InNotebook):
    """Where a stroke falls in the count.

    Attributes
    ----------
    beat : int
        The beat it belongs to, from 1.
    part : int
        Which part of that beat, from 1; part 1 is on the beat.
    parts : int
        Into how many parts the beat is cut.
    longest : int
        Where the beats are groups of written notes, the notes in the longest group, and the parts of this
        beat are its notes; 0 where a beat is divided.
    """

    beat: int
    part: int
    parts: int
    longest: int = field(default=0, repr=False)


def in_group(
    beat: int, offset: int, length: int, note: int, longest: int, finest: int = 1, every: bool = False
) -> Place:
    """Count a tick in a group of written notes: on a note as that note, between two in finer parts.

    Parameters
    ----------
    beat : int
        Number of the group.
    offset, length : int
        Ticks from its start, and in it.
    note : int
        Ticks of a written note.
    longest : int
        Written notes in the longest group.
    finest : int
        Ticks of a finer part; it divides the others.
    every : bool
        Whether each of the finer parts has a stroke.

    Examples
    --------
    >>> in_group(3, 4, 6, 2, 3), in_group(3, 1, 6, 2, 3)
    (Place(beat=3, part=3, parts=3), Place(beat=3, part=2, parts=6))
    >>> in_group(1, 4, 12, 4, 3)  # sixteenths of 6/4
    Place(beat=1, part=5, parts=12)
    """
    notes, parts, times = length // note, length // finest, note // finest
    # Sixteenths of quarters and the like have other words for the written notes; so have six parts of two
    # notes or three, where those are "1 e" and "1 e &". Two eighths in six are "1 trip let & trip let".
    said_finer = times > 1 and LONGEST_GROUP < parts <= MOST_SAID
    said_finer = said_finer and not (notes == 3 and parts == 6 and longest < 4)
    said_finer = said_finer and (every or parts == 6 or times & (times - 1) == 0)
    whole = (notes <= 4 and not said_finer) or finest == note
    part = note if whole and offset % note == 0 else finest
    if said_finer:
        return Place(
            beat, offset // finest + 1, parts, 0 if (notes, parts) == (2, 6) and longest < 4 else longest
        )
    if notes == 2 and longest < 4 and part != note and 2 * offset % note == 0:  # two eighths are "1 e & a"
        part = note // 2
    elif part != note and length // part <= 4:  # so that no finer place has the word of a written note
        times = -(-5 * part // length)
        return Place(beat, offset // part * times + 1, length // part * times, longest)
    return Place(beat, offset // part + 1, length // part, longest)


def shares(length: int, offset: int, notes: int) -> int:
    """Return into how many parts a group of written notes is cut, where that is counted without its notes.

    So are the fives of a dotted beat, which are no fifteenths; those of up to four parts have the words of
    the notes, and are counted with them.

    Parameters
    ----------
    length, offset : int
        Ticks in the group, and from its start, or a common divisor of several such.
    notes : int
        Written notes in it.

    Examples
    --------
    >>> shares(15, 6, 3), shares(21, 3, 3), shares(15, 5, 3), shares(6, 1, 3), shares(12, 3, 3)
    (5, 7, 0, 0, 0)
    """
    parts = length // gcd(length, offset)
    return parts if parts >= FEWEST_GROUPED and parts % notes else 0


def places(cycle: Cycle, onsets: Ticks, *, start: int = 0, stop: int | None = None) -> tuple[Place, ...]:
    """Count strokes from the beats of a cycle, in as few parts to a beat as they need.

    Parameters
    ----------
    cycle : Cycle
        Its beats are counted; they need not be even.
    onsets : numpy.ndarray
        int64 ticks, rising: all strokes of a lane, since they decide how many parts a beat needs.
    start, stop : int, optional
        Window in ticks, half-open, for the strokes returned.

    Returns
    -------
    tuple of Place
        One a stroke. A stroke before the first beat belongs to the last one.

    Examples
    --------
    >>> cycle = Polyrhythm(7, 4).cycle(home=0)
    >>> [(place.beat, place.part, place.parts) for place in places(cycle, cycle.lanes[1].onsets)]
    [(1, 1, 4), (2, 4, 4), (4, 3, 4), (6, 2, 4)]
    """
    beats = cycle.beats
    if not len(beats) or not len(onsets):
        return ()
    lengths = np.diff(np.append(beats, beats[0] + cycle.ticks))
    which = np.searchsorted(beats, onsets, side="right") - 1
    offsets = onsets - beats[which]
    offsets[which < 0] += cycle.ticks
    if note := cycle.written:
        shown = slice(*np.searchsorted(onsets, (start, cycle.ticks if stop is None else stop)))
        beat_of = which % len(beats)
        which, longest = beat_of[shown], int(lengths.max()) // note
        apart, least = int(np.gcd.reduce(offsets)), int(lengths.min())
        parts = shares(least, apart, longest) if lengths.max() == least else 0
        if parts:
            of_beat = zip(which.tolist(), (offsets[shown] * parts // least).tolist(), strict=True)
            return Listed(Place(beat + 1, share + 1, parts, longest) for beat, share in of_beat)
        finest = gcd(note, apart)
        every = len(onsets) * finest == cycle.ticks
        thirds = set[int]()
        if longest < 4 and 3 * finest == note:  # beats of two eighths that three fill and no more: a triplet
            thirds = set(np.flatnonzero(lengths == 2 * note).tolist())
            thirds -= set((beat_of[offsets % (2 * finest) > 0]).tolist())
        rows = zip(which.tolist(), offsets[shown].tolist(), lengths[which].tolist(), strict=True)
        return Listed(
            Place(beat + 1, offset // (2 * finest) + 1, 3)
            if beat in thirds and offset
            else in_group(beat + 1, offset, length, note, longest, finest, every)
            for beat, offset, length in rows
        )
    part = gcd(int(np.gcd.reduce(lengths)), int(np.gcd.reduce(offsets)))
    shown = slice(*np.searchsorted(onsets, (start, cycle.ticks if stop is None else stop)))
    which, offsets = which[shown], offsets[shown]
    rows = zip((which % len(beats)).tolist(), offsets.tolist(), lengths[which].tolist(), strict=True)
    threes = 0 if cycle.divided else 3  # whether a copied beat of three is a triplet, nobody knows
    return Listed(
        Place(beat + 1, offset // part + 1, length // part, threes * (length // part in (3, 6)))
        for beat, offset, length in rows
    )


def own_groups(given: Groups, example: str) -> OwnGroups:
    """Return the reader's own groups, one row for each number of parts, or refuse them.

    Examples
    --------
    >>> own_groups("2+3, 3+4", "Feel((7, 4))"), own_groups((2, 3), "Feel((5, 4))"), own_groups("", "Feel()")
    (((2, 3), (3, 4)), ((2, 3),), ())
    """
    rows: list[tuple[int, ...]] = []
    for row in _rows(given, example):
        said = "+".join(map(str, row))
        if sum(row) < FEWEST_GROUPED:
            raise Refusal(
                f"groups={short(said)} comes to {sum(row)}: up to 4 parts of a beat have words of their own, "
                "and groups are for 5 and more",
                example,
                argument="groups",
            )
        if len(row) > MOST_GROUPS:
            raise Refusal(
                f"groups={short(said)} is {len(row)} groups, more than {MOST_GROUPS} that have a word",
                example,
                argument="groups",
            )
        if any(sum(one) == sum(row) and one != row for one in rows):
            raise Refusal(
                f"groups={short(said)} is a second way to say {sum(row)} parts", example, argument="groups"
            )
        rows.append(row)
    return tuple(dict.fromkeys(rows))


def groups_for(p: Polyrhythm, given: Groups, example: str) -> OwnGroups:
    """Return the reader's own groups; refuse the one row that was given where it fills no beat of a rhythm.

    Several rows are for several rhythms: each is taken where it fills a beat.

    Examples
    --------
    >>> groups_for(Polyrhythm(7, 5), "4+3", "Feel()"), groups_for(Polyrhythm(7, 5), "3+3, 2+3", "Feel()")
    (((4, 3),), ((3, 3), (2, 3)))
    """
    own = own_groups(given, example)
    one = isinstance(given, str) or all(isinstance(size, int | np.integer) for size in given)
    parts = {a // gcd(a, b) for a in p.pulses for b in p.pulses}
    parts = {many for many in parts if many >= FEWEST_GROUPED}
    if one and len(own) == 1 and parts and sum(own[0]) not in parts:
        said, pair = "+".join(map(str, own[0])), " against ".join(map(str, p.pulses))
        many = " or ".join(map(str, sorted(parts, reverse=True)))
        raise Refusal(
            f"groups={short(said)} comes to {sum(own[0])}, and a beat of {pair} has {many} parts",
            example,
            argument="groups",
        )
    return own


def _rows(given: object, example: str) -> Iterable[tuple[int, ...]]:
    """Yield each row of groups as whole numbers of at least 1."""
    if isinstance(given, str):
        for row in filter(None, re.split(r"[,;\s]+", re.sub(r"\s*\+\s*", "+", given.strip()))):
            if not re.fullmatch(r"[1-9][0-9]?(\+[1-9][0-9]?)*", row, re.ASCII):
                raise Refusal(
                    f"groups={short(row)} is not whole numbers with + between them",
                    example,
                    argument="groups",
                )
            yield tuple(map(int, row.split("+")))
        return
    if isinstance(given, Set | Mapping):
        raise Refusal(f"groups={short(given)} have no order", example, argument="groups")
    found = items(given, "groups", example, 100, "groups")
    rows = found if found and not isinstance(found[0], int | np.integer) else [found] if found else []
    for one in rows:
        if isinstance(one, str):
            yield from _rows(one, example)
        else:
            yield tuple(
                whole(size, "a group", example, least=1, most=99)
                for size in items(one, "groups", example, 100, "groups")
            )


@public_class(
    "Feel((7, 4), home=1)",
    parts="Feel((7, 4)).parts(0)",
    places="Feel((7, 4)).places(0)",
    flip="Feel((7, 4)).flip()",
    cycle="Feel((7, 4)).cycle()",
)
@dataclass(frozen=True, slots=True, init=False, repr=False)
class Feel(InNotebook):
    """A polyrhythm counted from one of its pulses.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is played; it does not change when home does.
    home : int, optional
        Index of the pulse felt as the beat; the last one when left out.
    groups : str or sequence of int
        How a beat of five parts or more is said, in place of our groups: ``"2+3"``, ``(2, 3)``, or several,
        ``"2+3, 3+4"``; each is taken where it fills the beat.

    Raises
    ------
    IndexError
        If there is no such pulse.

    Examples
    --------
    >>> feel = Feel(Polyrhythm(7, 4), home=1)
    >>> feel.parts(0)
    7
    >>> feel.places(0)[1]
    Place(beat=1, part=5, parts=7)
    >>> feel.flip()
    Feel(Polyrhythm(7, 4), home=0)
    """

    polyrhythm: Polyrhythm
    home: int
    groups: OwnGroups

    @public("Feel((7, 4), home=1)", polyrhythm="what")
    def __init__(self, what: Rhythm, home: int | None = None, *, groups: Groups = ()) -> None:
        p, at = polyrhythm_and_home(what, home, "what", "Feel((7, 4), home=1)")
        object.__setattr__(self, "polyrhythm", p)
        object.__setattr__(self, "home", at)
        object.__setattr__(self, "groups", groups_for(p, groups, 'Feel((7, 4), groups="3+4")'))

    def __repr__(self) -> str:
        said = ", ".join("+".join(map(str, row)) for row in self.groups)
        return f"Feel({self.polyrhythm!r}, home={self.home}{f', groups={said!r}' if said else ''})"

    @property
    def beats(self) -> int:
        """Beats in a cycle: the strokes of home."""
        return self.polyrhythm.pulses[self.home]

    @property
    def beat_ticks(self) -> int:
        """Ticks to a beat."""
        return self.polyrhythm.step(self.home)

    def parts(self, pulse: int) -> int:
        """Into how many parts each beat is cut to count another pulse: ``lcm(home, other) / home``.

        Parameters
        ----------
        pulse : int
            Index of the other pulse.

        Examples
        --------
        >>> Feel(Polyrhythm(3, 4, 5), home=1).parts(2)
        5
        """
        other = self.polyrhythm.pulses[
            index(pulse, len(self.polyrhythm.pulses), "pulse", f"pulses {self.polyrhythm.pulses}")
        ]
        return other // gcd(self.beats, other)

    def places(self, pulse: int, *, start: int | None = None, stop: int | None = None) -> tuple[Place, ...]:
        """Where the strokes of a pulse fall in the count.

        Parameters
        ----------
        pulse : int
            Index of the pulse.
        start, stop : int, optional
            Window in ticks, half-open; the whole cycle when left out.

        Returns
        -------
        tuple of Place
            One a stroke.

        Raises
        ------
        IndexError
            If there is no such pulse.
        ValueError
            If the window is outside the cycle, or holds more than 500,000 strokes.

        Examples
        --------
        >>> [(place.beat, place.part) for place in Feel(Polyrhythm(4, 3), home=1).places(0)]
        [(1, 1), (1, 4), (2, 3), (3, 2)]
        """
        parts = self.parts(pulse)
        part, step = self.beat_ticks // parts, self.polyrhythm.step(pulse)
        first, last = window(start, stop, self.polyrhythm.ticks)
        call = f"Feel({self.polyrhythm}, {self.home}).places({pulse}, "
        few_enough(-(-last // step) + -first // step, first, last, call, MOST_LISTED)
        onsets = self.polyrhythm.onsets(pulse, start=start, stop=stop)
        beats, offsets = np.divmod(onsets, self.beat_ticks)
        rows = zip(beats.tolist(), (offsets // part).tolist(), strict=True)
        return Listed(Place(beat + 1, share + 1, parts) for beat, share in rows)

    def flip(self, to: int | None = None) -> "Feel":
        """Move home to another pulse; no stroke moves.

        Parameters
        ----------
        to : int, optional
            Index of the new home; the next pulse, round from the last to the first, when left out.

        Examples
        --------
        >>> Feel(Polyrhythm(7, 4), home=1).flip().flip().home
        1
        """
        home = (self.home + 1) % len(self.polyrhythm.pulses) if to is None else to
        return Feel(self.polyrhythm, home, groups=self.groups)

    def cycle(self) -> Cycle:
        """Return the cycle with the beats of this home."""
        return self.polyrhythm.cycle(self.home)


def said_in(feel: Feel, pulse: int) -> tuple[int, ...]:
    """Return the reader's own groups of a beat where another pulse is counted; none where there are none.

    Examples
    --------
    >>> said_in(Feel((7, 4), groups="2+3, 3+4"), 0)
    (3, 4)
    """
    return own_row(feel.groups, feel.parts(pulse))


def own_row(groups: OwnGroups, parts: int) -> tuple[int, ...]:
    """Return the reader's own groups of a beat of so many parts; none where there are none.

    Examples
    --------
    >>> own_row(((2, 3), (3, 4)), 7), own_row(((2, 3),), 7)
    ((3, 4), ())
    """
    return next((row for row in groups if sum(row) == parts), ())

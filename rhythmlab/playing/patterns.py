"""Patterns of strokes: ready ones, the reader's own, and strokes spread as evenly as possible.

A pattern is written with one sign a tick: ``x`` is a stroke, ``.`` is none; ``R`` and ``L`` say which side
plays it.  A phrase is written as its groups: ``4 3 4 3`` is a stroke on every tick, accents on the groups.
Sources by key: common_practice, toussaint2005, barton2017 (in ``data/patterns.csv``).
"""

import re
from bisect import bisect
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from functools import cache
from itertools import accumulate, pairwise
from math import lcm

import numpy as np

from rhythmlab.core.check import MOST_TICKS, a, short, whole
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, Lane, counted_as
from rhythmlab.core.public import public, public_class
from rhythmlab.playing.hands import sides
from rhythmlab.playing.metre import Metre, with_article
from rhythmlab.playing.metre import metre as _metre_of
from rhythmlab.playing.phrasing import LONGEST_GROUP, MOST_STROKES, Phrase, phrases
from rhythmlab.playing.sticking import stick
from rhythmlab.refusal import Refusal, Unknown
from rhythmlab.resources import table
from rhythmlab.text.numbers import plural

_EXAMPLE = 'pattern("x..x..x.")'
_MOST_TICKS = 100_000
#: The side of each limb, as a sticking writes it, and longest number that an example phrases.
_SIDES = {"right hand": "R", "left hand": "L", "right foot": "R", "left foot": "L"}
_FEET = {"R": "right foot", "L": "left foot"}
_MOST_PHRASED = 64
#: A phrase is stuck as for strokes so far apart: slow enough for every sticking, as page 06 does at 60 bpm.
SLOW_MS = 250
#: A phrase as it is typed: its groups, and before them, if wanted, what they add up to.
_PHRASE = re.compile(r"\s*(?:([0-9]+)\s+as\s+)?([0-9]+(?:[\s,+]+[0-9]+)*)\s*")


@public_class('pattern("x..x")', by='pattern("x..x").by("right foot")')
@dataclass(frozen=True, slots=True, init=False, eq=False, repr=False)
class Pattern(Cycle):
    """One lane of strokes that comes round: a `Cycle`, so it is seen, heard and played as any other.

    Attributes
    ----------
    key, name : str
        Its key among the ready patterns, empty for the reader's own; what it is called.
    metre : Metre or None
        The bar that it fills, where it has one.
    groups : tuple of int
        Strokes in each group of a phrase or of a sticking with spaces; empty for every other pattern.
    note, source, status : str
        What is known about it, the key of its source, and how it is known.
    """

    key: str
    name: str
    metre: Metre | None
    groups: tuple[int, ...]
    note: str
    source: str
    status: str

    def __init__(
        self,
        ticks: int,
        lane: Lane,
        metre: Metre | None = None,
        bars: int = 1,
        *,
        key: str = "",
        groups: tuple[int, ...] = (),
        note: str = "",
        source: str = "",
        status: str = "",
    ) -> None:
        beats: Iterable[int] = _starts(groups) if groups else [0]
        beats, starts = (beats, [0]) if metre is None else (metre.beats_in(bars), metre.starts(bars))
        Cycle.__init__(self, ticks, [lane], beats=beats, bars=starts)
        if metre is not None:
            object.__setattr__(self, "_written", metre.parts if metre.grouped else 0)
        named = {"key": key, "name": lane.name, "metre": metre, "groups": groups, "note": note}
        for field, value in (*named.items(), ("source", source), ("status", status)):
            object.__setattr__(self, field, value)

    @property
    def text(self) -> str:
        """The pattern as ``x`` and ``.``."""
        signs = np.full(self.ticks, ".")
        signs[self.lanes[0].onsets] = "x"
        return "".join(signs.tolist())

    @property
    def is_phrase(self) -> bool:
        """Whether it was written as groups: a stroke on every tick, and nobody named who plays them.

        Examples
        --------
        >>> pattern("4 3 4 3").is_phrase, pattern("RLRR LRL").is_phrase
        (True, False)
        """
        return bool(self.groups) and not self.lanes[0].hands

    @property
    def intervals(self) -> tuple[int, ...]:
        """Ticks from each stroke to the next, round the cycle.

        Examples
        --------
        >>> ready_patterns()["son_clave"].intervals
        (3, 3, 4, 2, 4)
        """
        return tuple(composite(self).intervals.tolist())

    @property
    def citation(self) -> str:
        """The source in full; empty for the reader's own."""
        return next((row["citation"] for row in table("sources.csv") if row["key"] == self.source), "")

    def by(self, limb: str, sound: str = "") -> "Pattern":
        """Return the same strokes, played by another limb, and with another voice where one is named.

        Examples
        --------
        >>> ready_patterns()["son_clave"].by("left foot").lanes[0].limb
        'left foot'
        """
        for text, what in ((limb, "limb"), (sound, "sound")):
            a(str, text, what, 'pattern("x..x").by("right foot", sound="bass drum")')
        lane = self.lanes[0]
        lane = Lane(lane.name, lane.onsets, limb, sound or lane.sound, lane.accents, lane.ghosts, lane.hands)
        return _with_lane(self, lane)

    def __repr__(self) -> str:
        if self.groups or self.lanes[0].hands:
            lane = self.lanes[0]
            signs = np.full(self.ticks, ".")
            signs[lane.onsets] = list(lane.hands) if lane.hands else "x"
            ends = [*_starts(self.groups or (self.ticks,)), self.ticks]
            return f"{self.name}  {' '.join(''.join(signs[a:b]) for a, b in pairwise(ends))}"
        return f"{self.name}  {self.text}  ({' '.join(map(str, self.intervals))})"


def _with_lane(old: Pattern, lane: Lane) -> Pattern:
    bars = max(1, len(old.bars))
    known = {"key": old.key, "note": old.note, "source": old.source, "status": old.status}
    return Pattern(old.ticks, lane, old.metre, bars, groups=old.groups, **known)


@public('pattern("x..x..x.")')
def pattern(
    text: str,
    *,
    metre: str | Metre | None = None,
    bars: int = 1,
    name: str = "pattern",
    limb: str = "",
    sound: str = "click",
) -> Pattern:
    """Return the reader's own pattern, a phrase, a sticking, or a ready one by its key or its name.

    Parameters
    ----------
    text : str
        One sign a tick, ``x`` for a stroke and ``.`` for none; a ready one, such as ``"son clave"``; a phrase
        as its groups, ``"4 3 4 3"`` or ``"14 as 4 3 4 3"``: a stroke on every tick, accents on the groups;
        or a sticking, ``"RLRR LRL"``, whose groups have accents where spaces make them.
    metre : str or Metre, optional
        The bar that it has to fill; a ready pattern stands on the beats of it.
    bars : int
        How many such bars it fills.
    name, limb, sound : str
        What to call it, who plays it, and its voice; a ready pattern keeps its own name.

    Returns
    -------
    Pattern
        Never rotated: the first sign is tick 0.

    Raises
    ------
    ValueError
        If it is empty, has other letters, has no stroke, has another length than its bar, or its groups do
        not add up.

    Examples
    --------
    >>> pattern("x..x..x.")
    pattern  x..x..x.  (3 3 2)
    >>> pattern("4 3 4 3").lanes[0].accents, pattern("RLRR LRL").lanes[0].hands
    ((0, 4, 7, 11), 'RLRRLRL')
    >>> pattern("son clave", limb="left foot").lanes[0].limb
    'left foot'
    """
    if not isinstance(text, str):
        raise Refusal(f"pattern {short(text)} is not text", _EXAMPLE)
    ready = ready_patterns().get(text)
    if ready is not None and metre is not None:
        count = whole(bars, "bars", 'pattern("son clave", metre="4/4", bars=1)', most=_MOST_TICKS // 100)
        ready = set_in_bar(ready, _metre_of(metre), count)
    if ready is not None:
        return ready.by(limb, "" if sound == "click" else sound) if limb or sound != "click" else ready
    if not text:
        raise Refusal('pattern "" is empty: it takes one sign a tick', _EXAMPLE)
    typed = _PHRASE.fullmatch(text) if len(text) <= _MOST_TICKS else None
    groups: tuple[int, ...] = ()
    if typed:
        groups = _phrase_groups(text, typed[1], typed[2])
        ticks, onsets, hands = sum(groups), list(range(sum(groups))), ""
    else:
        signs, groups = _signs(text)
        ticks, onsets = len(signs), [tick for tick, sign in enumerate(signs) if sign != "."]
        hands = "" if "x" in signs else signs.replace(".", "")
    if ticks > _MOST_TICKS:
        raise Refusal(f"pattern {short(text)} has {ticks:,} ticks, more than {_MOST_TICKS:,}", _EXAMPLE)
    if not onsets:
        raise Refusal(f"pattern {short(text)} has no stroke", _EXAMPLE)
    if hands and limb in _SIDES and set(hands) != {_SIDES[limb]}:
        other = next(who for who, side in _SIDES.items() if side != _SIDES[limb] and who[-4:] == limb[-4:])
        raise Refusal(
            f"pattern {short(text)} has strokes of the {other}, and is given to the {limb}",
            f'pattern("x..x..x.", limb="{limb}")',
            argument="limb",
        )
    bar = None if metre is None else _metre_of(metre)
    if bar is not None:
        bars = whole(bars, "bars", 'pattern("x..x..x.", metre="8/8", bars=1)', most=_MOST_TICKS)
        length = bar.ticks * bars
        if length != ticks:
            plain = Metre(bar.count, bar.unit).ticks == bar.ticks <= 40
            works = _EXAMPLE
            if plain:
                works = f'pattern("x{"." * (bar.ticks - 1)}", metre="{bar.count}/{bar.unit}")'
            raise Refusal(
                f"pattern {short(text)} has {ticks} ticks, but {_bars_text(bars)} of {bar} "
                f"has {length} (a tick is {with_article(bar.tick)})",
                works,
            )
    accents = [tick for tick in _starts(groups) if tick in set(onsets)] if groups else []
    lane = Lane(name, onsets, limb, sound, accents, hands=hands)
    return Pattern(ticks, lane, bar, bars, groups=groups)


def as_typed(text: str) -> str:
    """Return what was typed as `pattern` reads it: spaces and capitals are the typist's own.

    Examples
    --------
    >>> as_typed(" X . x "), as_typed("rlrr  lrl"), as_typed("Son  Clave"), as_typed("14 AS 4 3 4 3")
    ('x.x', 'RLRR LRL', 'son clave', '14 as 4 3 4 3')
    >>> as_typed("RLX")
    'RLX'
    """
    close, words = "".join(text.split()).lower(), " ".join(text.split())
    if set(close) <= set("x."):
        return close
    if set(close) <= set("rl.|"):
        return words.upper()
    if set(close) <= set("rlx."):  # which is refused as it was typed
        return words
    low = words.lower()
    return next((name for name in ready_patterns().names if name.lower() == low), low)


def _starts(groups: tuple[int, ...]) -> list[int]:
    """Return the first ticks of groups."""
    return [0, *accumulate(groups[:-1])]


def _phrase_groups(text: str, total: str | None, typed: str) -> tuple[int, ...]:
    """Return the groups of a phrase, or refuse them where they are too long or do not add up."""
    words = re.split(r"[\s,+]+", typed)
    long = next((word for word in words if not 1 <= int(word[:9]) <= LONGEST_GROUP or len(word) > 9), None)
    if long is not None:
        raise Refusal(
            f"phrase {short(text)} has a group of {short(long)}, and a group has 1 to {LONGEST_GROUP} "
            "strokes",
            'pattern("4 3 4 3")',
        )
    groups = tuple(map(int, words))
    if sum(groups) > MOST_STROKES:
        raise Refusal(
            f"phrase {short(text)} has {sum(groups):,} strokes, more than {MOST_STROKES:,}",
            'pattern("4 3 4 3")',
        )
    if total is not None and int(total[:19]) != sum(groups):
        asked = int(total[:19])
        fits = phrases(asked)[0] if 1 < asked <= _MOST_PHRASED else Phrase((4, 3, 4, 3))
        raise Refusal(
            f"phrase {short(text)} adds up to {sum(groups)}, and not to {short(asked)}",
            f'pattern("{fits.ticks} as {fits}")',
        )
    return groups


def _signs(text: str) -> tuple[str, tuple[int, ...]]:
    """Return the signs of a pattern or a sticking, one a tick, and the groups that spaces make of it."""
    words = text.replace("|", " ").split()
    signs = "".join(words)
    if signs and "x" not in text and set(signs) <= set("RL.") and signs.strip("."):
        return signs, tuple(map(len, words)) if len(words) > 1 else ()
    strange = next((i for i, sign in enumerate(text) if sign not in "x."), None)
    if strange is None:
        return text, ()
    if set(signs) <= set("xRLrl.") and set("RLrl") & set(signs) and "x" in signs:
        raise Refusal(
            f"pattern {short(text)} has both x and hands: write R or L for each stroke, or x for all",
            'pattern("RLRR LRL")',
        )
    if signs.strip(".") and set(signs) <= set("RLrl."):
        small = next(i for i, sign in enumerate(text) if sign in "rl")
        raise Refusal(
            f"pattern {short(text)} has {text[small]!r} at place {small + 1}; write R and L as capitals, "
            "lower case is for grace notes",
            'pattern("RLRR LRL")',
        )
    stuck = "x" not in text and set("RLrl") & set(text)
    known = "RLrl. |" if stuck else "x."
    wrong = next((i for i, sign in enumerate(text) if sign not in known), strange)
    if sum(sign in known and sign not in " |" for sign in text) * 2 >= len(signs):  # a slip in one of these
        what = "a sticking has only R and L" if stuck else "x is a stroke and . is none"
        example = 'pattern("RLRR LRL")' if stuck else _EXAMPLE
        raise Refusal(f"pattern {short(text)} has {text[wrong]!r} at place {wrong + 1}, and {what}", example)
    near = get_close_matches(text.lower(), [name.lower() for name in ready_patterns().names], 1)
    if near:
        name = next(name for name in ready_patterns().names if name.lower() == near[0])
        raise Refusal(f"pattern {short(text)} is not a ready one; did you mean {name}", f'pattern("{name}")')
    raise Refusal(
        f"pattern {short(text)} has {text[wrong]!r} at place {wrong + 1}, where only x (a stroke) and . "
        "(none) can stand; and it is no sticking, such as RLRR LRL, no phrase, such as 4 3 4 3, and no ready "
        f"pattern ({', '.join(ready_patterns().names)})",
        _EXAMPLE,
    )


def hand_phrase(given: Pattern, lead: str = "right") -> Cycle:
    """Return a phrase with the hands that it has at a slow tempo, until the lead comes home.

    Examples
    --------
    >>> hand_phrase(pattern("3 3 2")).lanes[0].accents
    (0, 3, 6)
    """
    return stick(given.groups, ms=SLOW_MS, lead=lead[0].upper()).cycle(whole=True, name="pattern")


def foot_pattern(given: Pattern) -> Cycle:
    """Return a pattern for the feet: of a phrase the first of each group, of a sticking a lane for each foot.

    Examples
    --------
    >>> foot_pattern(pattern("3 3 2")).lanes[0].onsets
    array([0, 3, 6])
    >>> [(lane.limb, lane.onsets.tolist()) for lane in foot_pattern(pattern("RLRR")).lanes]
    [('right foot', [0, 2, 3]), ('left foot', [1])]
    """
    lane = given.lanes[0]
    if given.is_phrase and "hand" not in lane.limb:
        struck = Lane(lane.name, lane.accents, lane.limb, lane.sound)
        return counted_as(Cycle(given.ticks, [struck], given.beats, given.bars), given)
    if lane.hands:
        rows = {
            limb: [tick for tick, by in zip(lane.onsets.tolist(), lane.hands, strict=True) if by == letter]
            for letter, limb in _FEET.items()
        }
        accents = {limb: [tick for tick in row if tick in lane.accents] for limb, row in rows.items()}
        feet = [Lane(lane.name, row, limb, lane.sound, accents[limb]) for limb, row in rows.items() if row]
        return counted_as(Cycle(given.ticks, feet, given.beats, given.bars), given)
    return given


def set_in_bar(given: Pattern, bar: Metre, bars: int = 1) -> Pattern:
    """Return a ready pattern on the beats of a bar, whose written notes are cut as finely as it needs.

    A stroke keeps its beat, and its share of the beat: 12/8 in 4/4 is triplets.  A pattern of two beats
    stands in a bar of four twice, one of four over two bars of two, in half notes too (2/2): cut time has the
    beats of 4/4, written twice as long.  In a bar of the same notes without
    groups it keeps its notes.

    Raises
    ------
    ValueError
        If the bar has not the beats that it is written on.

    Examples
    --------
    >>> from rhythmlab.playing.metre import metre
    >>> set_in_bar(ready_patterns()["hi-hat on 2 and 4"], metre("12/8")).lanes[0].onsets
    array([3, 9])
    >>> ride = set_in_bar(ready_patterns()["ride"], metre("4/4"))
    >>> ride.metre.tick, ride.text
    ('eighth-note triplet', 'x..x.xx..x.x')
    """
    lane, notes = given.lanes[0], _notes_in(given, bar)
    need = lcm(*(note.denominator for note in notes))
    bar = Metre(bar.count, bar.unit, bar.groups, bar.parts if bar.parts % need == 0 else need)
    own = _own_metre(given)
    each = given.ticks // own.ticks * _turns(own, bar)[1]
    if bars * each * len(notes) > _MOST_TICKS or bars * each * bar.ticks > MOST_TICKS:
        raise Refusal(f"bars={bars:,} of {bar} are more than a pattern fills", _EXAMPLE, argument="bars")
    accented = [tick in lane.accents for tick in lane.onsets.tolist()]
    accented *= len(notes) // len(accented) * bars
    starts = [turn * each * bar.ticks for turn in range(bars)]
    onsets = [start + int(note * bar.parts) for start in starts for note in notes]
    accents = [tick for tick, loud in zip(onsets, accented, strict=True) if loud]
    laid = Lane(lane.name, onsets, lane.limb, lane.sound, accents)
    known = {"key": given.key, "note": given.note, "source": given.source, "status": given.status}
    return Pattern(bars * each * bar.ticks, laid, bar, bars * each, groups=(), **known)


def usual_player(given: Cycle, left_handed: bool, part: str) -> tuple[str, str]:
    """Return the limb that a ready pattern is for, and its voice, where its name says them; else nothing.

    Hands may play what is for a foot, on its voice; a foot has no voice of a hand. `part` is "hand" or
    "foot".

    Examples
    --------
    >>> [usual_player(ready_patterns()["hi-hat on 2 and 4"], True, part) for part in ("foot", "hand")]
    [('right foot', 'closed hi-hat'), ('', 'closed hi-hat')]
    >>> [usual_player(ready_patterns()["ride"], False, part) for part in ("foot", "hand")]
    [('', ''), ('right hand', 'ride')]
    """
    key = given.key if isinstance(given, Pattern) else ""
    row = next((row for row in table("patterns.csv") if row["key"] == key), None)
    if row is None or not row["limb"]:
        return "", ""
    side, own = row["limb"].split()
    limb = f"{sides(left_handed)[side == 'left']} {own}" if own == part else ""
    return limb, row["sound"] if limb or own == "foot" else ""


def parts_in_bar(given: Pattern, bar: Metre) -> int:
    """Return how many ticks a written note of a bar needs at least, for a ready pattern to stand in it.

    Examples
    --------
    >>> from rhythmlab.playing.metre import metre
    >>> [parts_in_bar(ready_patterns()[key], metre("4/4")) for key in ("ride", "hi_hat_two_four", "bossa")]
    [3, 1, 4]
    """
    return lcm(*(note.denominator for note in _notes_in(given, bar)))


def _own_metre(given: Pattern) -> Metre:
    """Return the bar that a ready pattern is written in."""
    assert given.metre is not None  # every ready pattern has one
    return given.metre


def _notes_in(given: Pattern, bar: Metre, *, named: bool = True) -> list[Fraction]:
    """Return where the strokes of a ready pattern stand in a bar, in its written notes, or refuse the bar."""
    own = _own_metre(given)
    places = [divmod(tick, own.ticks) for tick in given.lanes[0].onsets.tolist()]
    if (own.count, own.unit) == (bar.count, bar.unit) and (bar.groups == own.groups or not bar.grouped):
        return [nth * bar.count + Fraction(tick, own.parts) for nth, tick in places]
    mine, theirs, heads = len(own.groups), len(bar.groups), own.beats.tolist()
    rounds, over = _turns(own, bar)
    beats = [bisect(heads, tick) - 1 for _, tick in places]
    shares = [
        Fraction(tick - heads[beat], own.groups[beat] * own.parts)
        for beat, (_, tick) in zip(beats, places, strict=True)
    ]
    alike = own.even and (bar.even or not any(shares))
    alike = alike or len({Fraction(*pair) for pair in zip(own.groups, bar.groups, strict=False)}) == 1
    if mine * rounds != theirs * over or not alike:
        written = f"{own.count if own.even else '+'.join(map(str, own.groups))}/{own.unit}"
        has = (
            f"{bar} has {plural(theirs, 'beat')}"
            if theirs != mine
            else f"those of {bar} are of other lengths"
        )
        takes = f"; {_fitting(bar)}" if named else ""
        raise Refusal(
            f"{given.name} is written on the {plural(mine, 'beat')} of {own}, and {has}{takes}",
            f'pattern("{given.name}", metre="{written}")',
            argument="metre",
        )
    starts = [0, *accumulate(bar.groups)]
    found = []
    for turn in range(rounds):
        for (nth, _), beat, share in zip(places, beats, shares, strict=True):
            later, on = divmod(turn * mine + beat, theirs)
            found.append((nth * over + later) * bar.count + starts[on] + share * bar.groups[on])
    return sorted(found)


def _fitting(bar: Metre) -> str:
    """Name a ready pattern that stands in a bar, or else one of the reader's own.

    Examples
    --------
    >>> from rhythmlab.playing.metre import metre
    >>> _fitting(metre("6/8")), _fitting(metre("3/4"))
    ('6/8 takes 12/8 bell', '3/4 takes x.. or another of your own')
    """
    for given in ready_patterns().values():
        try:
            _notes_in(given, bar, named=False)
        except Refusal:
            continue
        return f"{bar} takes {given.name}"
    return f"{bar} takes x{'.' * (min(bar.count, 16) - 1)} or another of your own"


def _turns(own: Metre, bar: Metre) -> tuple[int, int]:
    """Return how often a bar of a pattern stands in a bar of the same beats, and over how many it stands."""
    mine, theirs = len(own.groups), len(bar.groups)
    alike = own.beat == bar.beat or bar.unit == 2  # cut time has the beats of 4/4, twice as long on paper
    if not alike or not (own.even and bar.even) or theirs < 2:
        return 1, 1
    if theirs % mine == 0:
        return theirs // mine, 1
    return 1, mine // theirs if mine % theirs == 0 else 1


def _bars_text(bars: int) -> str:
    return "a bar" if bars == 1 else f"{bars} bars"


def _strokes(text: str) -> list[int]:
    return [tick for tick, sign in enumerate(text) if sign == "x"]


class Patterns(Mapping[str, Pattern]):
    """All ready patterns by key, and looked up by name as well; prints as a table of names."""

    def __init__(self, rows: dict[str, Pattern]) -> None:
        self._rows = rows

    def __getitem__(self, key: str) -> Pattern:
        for known, found in self._rows.items():
            if isinstance(key, str) and key in (known, found.name, known.replace("_", " ")):
                return found
        raise Unknown(f"there is no pattern {short(key)}; there are {', '.join(self.names)}")

    @property
    def names(self) -> tuple[str, ...]:
        """What the patterns are called."""
        return tuple(found.name for found in self._rows.values())

    def __iter__(self) -> Iterator[str]:
        return iter(self._rows)

    def __len__(self) -> int:
        return len(self._rows)

    def __repr__(self) -> str:
        return "\n".join(
            f"{p.name:18} {p.text:16} {p.metre!r:20} {p.note} [{p.source}, {p.status}]"
            for p in self._rows.values()
        )


@public("playing.ready_patterns()")
@cache
def ready_patterns() -> Patterns:
    """Return the ready patterns of ``data/patterns.csv``, by name or key, none of them rotated.

    Examples
    --------
    >>> ready_patterns()["rumba clave"]
    rumba clave  x..x...x..x.x...  (3 4 3 2 4)
    """
    rows = {}
    for row in table("patterns.csv"):
        bar = _metre_of(row["metre"])
        bar = _metre_of(bar, parts=int(row["tick"]) // bar.unit)
        voice = row["sound"] if "hand" in row["limb"] else ""  # a foot's is its limb's, which may be mirrored
        lane = Lane(row["name"], _strokes(row["pattern"]), sound=voice or "click")
        rows[row["key"]] = Pattern(
            int(row["ticks"]),
            lane,
            bar,
            key=row["key"],
            note=row["note"],
            source=row["source"],
            status=row["status"],
        )
    return Patterns(rows)


@public("playing.euclid(3, 8)")
def euclid(strokes: int, ticks: int, *, name: str = "", limb: str = "", sound: str = "click") -> Pattern:
    """Spread strokes over a cycle as evenly as whole ticks allow (a Euclidean rhythm, Toussaint's word).

    Parameters
    ----------
    strokes, ticks : int
        How many strokes, and in how many ticks; at most one a tick.
    name, limb, sound : str
        As for `pattern`.

    Returns
    -------
    Pattern
        It starts with a longest interval. The published table starts some of its patterns elsewhere, so
        compare rotations, not strings.

    Raises
    ------
    ValueError
        If there are more strokes than ticks.

    References
    ----------
    Toussaint 2005, The Euclidean algorithm generates traditional musical rhythms (as quoted elsewhere).

    Examples
    --------
    >>> euclid(3, 8)
    3 over 8  x..x..x.  (3 3 2)
    """
    ticks = whole(ticks, "ticks", "playing.euclid(3, 8)")
    strokes = whole(strokes, "strokes", "playing.euclid(3, 8)")
    if strokes > ticks or ticks > _MOST_TICKS:
        most = f"{_MOST_TICKS:,}" if ticks > _MOST_TICKS else "one stroke a tick"
        raise Refusal(
            f"strokes={short(strokes)} over ticks={short(ticks)} is more than {most}",
            "playing.euclid(3, 8)",
            argument="strokes",
        )
    a(str, name, "name", 'playing.euclid(3, 8, name="feet")')
    onsets = [-(-i * ticks // strokes) for i in range(strokes)]
    return Pattern(ticks, Lane(name or f"{strokes} over {ticks}", onsets, limb, sound))

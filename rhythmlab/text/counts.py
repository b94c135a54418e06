"""Counting: where a stroke falls, as it is written, and the words that are said for it.

A beat in 2, 3 or 4 parts has a word for each part, and so has a group of written notes; from 5 parts on the
beat is said in small groups: the first opens on the beat's own number, the others on ta, ka, di, mi, ti, each
with "e & a" inside.  Pages and pictures name a place by its word; answers and tables write "beat.part" from 5
parts on, which is the same in whatever groups the beat is said.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from math import lcm
from typing import TypeAlias

from rhythmlab.core.feel import LONGEST_GROUP, MOST_SAID, Feel, OwnGroups, Place, own_row, said_in
from rhythmlab.text.descriptions import pulse_name
from rhythmlab.text.numbers import both_ends, number
from rhythmlab.text.sentences import listed, say

#: Parts of a beat after the first, where the beat is one note: American counting for 2 and 4 (Froseth/Eastman
#: comparison page, key froseth_counting); for 3 and 6, three in the time of two, common practice, no source.
SYLLABLES = {1: (), 2: ("&",), 3: ("trip", "let"), 4: ("e", "&", "a")}
_SIX = (("trip",), ("let",), ("&",), ("&", "trip"), ("&", "let"))
#: The same where the beat is a group of eighths, none of more than three (7/8 as 2+2+3, 6/8), and of three of
#: them in sixteenths: common practice, no source.
_EIGHTHS = {1: (), 2: ("&",), 3: ("&", "a"), 4: ("e", "&", "a")}
_THREE_EIGHTHS = (("ta",), ("&",), ("&", "ta"), ("a",), ("a", "ta"))
#: The same where it is a group of sixteenths, some of four: "1 e & a" is American counting as above, three or
#: two left over are common practice, no source.
_SIXTEENTHS = {1: (), 2: ("e",), 3: ("e", "&"), 4: ("e", "&", "a")}
#: What opens the second group of a long beat, the third, and so on: our own choice, in the order of "ta ka di
#: mi ti" (key hoffman1996, the order from memory), then six more, so that 24 parts are said in twos.
OPENERS = ("ta", "ka", "di", "mi", "ti", "na", "lo", "bu", "sa", "ro", "ho")
#: Most notes in a group that is said without being cut, and most parts of a beat that have words in our
#: groups.
LONGEST_SAID, MOST_PARTS = LONGEST_GROUP, MOST_SAID

#: The places of strokes, by tick.
Beat: TypeAlias = dict[int, Place]


def mark(place: Place) -> str:
    """Write a place as it stands in a picture: short, since the beat is seen.

    Examples
    --------
    >>> mark(Place(2, 1, 4)), mark(Place(2, 4, 4)), mark(Place(2, 6, 7))
    ('2', 'a', '2.6')
    >>> mark(Place(3, 3, 3)), mark(Place(3, 3, 3, longest=3)), mark(Place(8, 3, 3, longest=4))
    ('let', 'a', '&')
    """
    if place.part == 1:
        return str(place.beat)
    if has_syllable(place):
        return part_words(place.parts, place.longest)[place.part - 2]
    return f"{place.beat}.{place.part}"


def label(place: Place, groups: Sequence[int] = ()) -> str:
    """Name a place in a picture by the word that is said there; what opens a group is in capitals.

    Returns
    -------
    str
        Empty off the beat where there are too many parts to say.

    Examples
    --------
    >>> label(Place(2, 1, 7)), label(Place(2, 5, 7)), label(Place(2, 6, 7)), label(Place(2, 4, 4))
    ('2', 'TA', 'TA e', 'a')
    >>> label(Place(2, 6, 7), groups=(3, 4)), label(Place(2, 60, 128))
    ('TA &', '')
    """
    if place.part == 1:
        return str(place.beat)
    words = _syllables(place.parts, place.longest, groups)
    return " ".join(_stressed(words, words[place.part - 2])) if words else ""


def label_with_beat(place: Place, groups: Sequence[int] = ()) -> str:
    """Name a place by the word that is said there, with its beat in front, where the beat is not seen.

    Returns
    -------
    str
        Empty off the beat where there are too many parts to say.

    Examples
    --------
    >>> label_with_beat(Place(2, 1, 7)), label_with_beat(Place(2, 6, 7)), label_with_beat(Place(2, 2, 3))
    ('2', '2 TA e', '2 trip')
    """
    word = label(place, groups)
    return f"{place.beat} {word}" if word and place.part > 1 else word


def clash(beat: Iterable[Place], groups: OwnGroups = ()) -> bool:
    """Whether a word would be two places of one beat, as "e" of four parts and "e" of eight are.

    Examples
    --------
    >>> clash([Place(2, 2, 4), Place(2, 2, 8)]), clash([Place(2, 2, 4), Place(2, 2, 3), Place(2, 3, 4)])
    (True, False)
    """
    known: dict[str, Fraction] = {}
    for place in beat:
        word, at = label(place, own_row(groups, place.parts)), Fraction(place.part - 1, place.parts)
        if word and known.setdefault(word, at) != at:
            return True
    return False


def told_apart(beat: Beat, groups: OwnGroups = ()) -> tuple[Beat, tuple[Place, ...]]:
    """Count the strokes of one beat so that no word is two of its places.

    That is in common parts, and where these are too many to say, without the strokes of most parts.

    Returns
    -------
    tuple of dict and tuple
        The places by tick, and one place of the parts that cannot be said, where there are some.

    Examples
    --------
    >>> told_apart({1: Place(2, 2, 8), 2: Place(2, 2, 4)})
    ({1: Place(beat=2, part=2, parts=8), 2: Place(beat=2, part=3, parts=8)}, ())
    """
    unsaid: tuple[Place, ...] = ()
    while clash(beat.values(), groups):
        parts = lcm(*(place.parts for place in beat.values() if place.part > 1))
        if part_words(parts, groups=own_row(groups, parts)):
            return {tick: _in_parts(place, parts) for tick, place in beat.items()}, unsaid
        unsaid, most = (Place(1, 2, parts),), max(place.parts for place in beat.values())
        beat = {tick: place for tick, place in beat.items() if place.part == 1 or place.parts < most}
    return beat, unsaid


def of_lane(bar: Beat) -> Beat:
    """Count the strokes of a lane in a bar in the same parts where they are fives, sevens and the like.

    Examples
    --------
    >>> of_lane({1: Place(1, 2, 9), 3: Place(2, 2, 3), 4: Place(3, 2, 2)})[3]
    Place(beat=2, part=4, parts=9)
    """
    odd = lcm(
        *(one.parts for one in bar.values() if one.parts > LONGEST_SAID and one.parts & (one.parts - 1))
    )
    return {tick: _in_parts(place, odd) for tick, place in bar.items()}


def in_finest(strokes: Beat, beats_of: Mapping[int, int], every: Sequence[Place]) -> Beat:
    """Count strokes of a lane in its finest parts, in those beats of a bar that have these and coarser ones.

    `beats_of` says which beat of the bar a tick is in, and `every` is all places of the lane by these beats;
    the coarser parts go into the finest, which has words.

    Examples
    --------
    >>> in_finest({4: Place(1, 2, 2)}, {4: 1}, [Place(1, 2, 2), Place(1, 3, 8)])
    {4: Place(beat=1, part=5, parts=8)}
    >>> in_finest({4: Place(1, 2, 2)}, {4: 1}, [Place(1, 2, 2), Place(2, 2, 8)])
    {4: Place(beat=1, part=2, parts=2)}
    """
    finest = max((place.parts for place in every), default=1)
    if not LONGEST_SAID < finest <= MOST_PARTS or any(finest % place.parts for place in every):
        return strokes
    beats: dict[int, set[int]] = {}
    for place in every:
        beats.setdefault(place.beat, set()).add(place.parts)
    mixed = {beat for beat, parts in beats.items() if finest in parts and len(parts) > 1}
    return {
        tick: _in_parts(place, finest) if beats_of[tick] in mixed else place
        for tick, place in strokes.items()
    }


def _in_parts(place: Place, parts: int) -> Place:
    """Return a place counted in finer parts, where these cut its own."""
    if place.part == 1 or parts % place.parts:
        return place
    return replace(place, part=(place.part - 1) * (parts // place.parts) + 1, parts=parts)


def place_name(place: Place) -> str:
    """Name a place, with its beat, as it is written in an answer and in a table.

    Examples
    --------
    >>> place_name(Place(2, 4, 4)), place_name(Place(2, 6, 7))
    ('a of 2', '2.6')
    """
    if has_syllable(place):
        return say("name.part", part=mark(place), beat=place.beat)
    return mark(place)


def said_name(place: Place, groups: Sequence[int] = ()) -> str:
    """Name a place by the word that is said there, with its beat; where there is none, by its part.

    Examples
    --------
    >>> said_name(Place(2, 1, 7)), said_name(Place(2, 6, 7)), said_name(Place(2, 4, 4))
    ('2', 'ta e of 2', 'a of 2')
    >>> said_name(Place(2, 6, 7), groups=(3, 4)), said_name(Place(2, 6, 70))
    ('ta & of 2', 'beat 2, part 6 of 70')
    """
    words = part_words(place.parts, place.longest, groups)
    if place.part > 1 and not words:
        return say("name.part_of", beat=place.beat, part=number(place.part), parts=number(place.parts))
    return said_in_row(place, groups)


def said_alone(place: Place, groups: Sequence[int] = ()) -> str:
    """Name a place as `said_name` does, where no picture shows in how many parts its beat is said.

    Examples
    --------
    >>> said_alone(Place(2, 4, 4)), said_alone(Place(2, 6, 7)), said_alone(Place(2, 6, 70))
    ('a of 2', 'ta e of 2 (part 6 of 7)', 'beat 2, part 6 of 70')
    """
    name = said_name(place, groups)
    if place.part == 1 or has_syllable(place) or not part_words(place.parts, place.longest, groups):
        return name
    return say("name.with_part", name=name, part=place.part, parts=place.parts)


def said_row(row: Sequence[Place], groups: OwnGroups = (), most: int = 16) -> str:
    """Name places one after another as `said_name` does, the middle left out of many.

    Into how many parts a beat is cut that has no words is said once, at the end.

    Examples
    --------
    >>> said_row([Place(1, 1, 7), Place(2, 6, 7)]), said_row([Place(1, 1, 70), Place(2, 6, 70)])
    ('1, ta e of 2', '1, part 6 of beat 2 (70 parts to a beat)')
    """
    said = " \N{HORIZONTAL ELLIPSIS} ".join(
        ", ".join(said_in_row(one, own_row(groups, one.parts)) for one in end) for end in both_ends(row, most)
    )
    return with_parts(said, row, groups)


def said_in_row(place: Place, groups: Sequence[int] = (), *, said: bool = True) -> str:
    """Name one of the places of a row; where it has no word, or is not to be said, by part and beat only.

    Examples
    --------
    >>> said_in_row(Place(2, 6, 7)), said_in_row(Place(2, 6, 70)), said_in_row(Place(2, 6, 7), said=False)
    ('ta e of 2', 'part 6 of beat 2', 'part 6 of beat 2')
    """
    if place.part == 1:
        return str(place.beat)
    words = part_words(place.parts, place.longest, groups) if said else ()
    if words:
        return say("name.part", part=words[place.part - 2], beat=place.beat)
    return say("name.numbered", beat=place.beat, part=number(place.part))


def with_parts(said: str, row: Iterable[Place], groups: OwnGroups = (), unsaid: Iterable[Place] = ()) -> str:
    """Add to a row of places into how many parts its beats are cut, where these have no words or are unsaid.

    Examples
    --------
    >>> with_parts("1, part 6 of beat 2", [Place(1, 1, 70), Place(2, 6, 70)])
    '1, part 6 of beat 2 (70 parts to a beat)'
    """
    off = {(one.parts, one.longest) for one in row if one.part > 1}
    many = {parts for parts, longest in off if not _syllables(parts, longest, own_row(groups, parts))}
    many |= {one.parts for one in unsaid if one.part > 1}
    if not many:
        return said
    return say("count.in_parts", places=said, parts=listed([number(parts) for parts in sorted(many)]))


def has_syllable(place: Place) -> bool:
    """Whether a place is written as a word of its beat, and not as beat and part.

    Examples
    --------
    >>> has_syllable(Place(2, 4, 4)), has_syllable(Place(2, 1, 4)), has_syllable(Place(2, 6, 7))
    (True, False, False)
    """
    return place.part > 1 and place.parts <= LONGEST_SAID


def part_words(parts: int, longest: int = 0, groups: Sequence[int] = ()) -> tuple[str, ...]:
    """Return a word for each part of a beat after the first; no word is there twice.

    Parameters
    ----------
    parts : int
        Into how many parts the beat is cut.
    longest : int
        As for `Place`: where beats are groups of written notes, the notes in the longest.
    groups : sequence of int
        The reader's own groups of a beat of five parts or more, in place of ours; taken where they fill the
        beat, one longer than 4 cut as we cut a beat.

    Returns
    -------
    tuple of str
        Empty where there are too many parts to say.

    Examples
    --------
    >>> part_words(3), part_words(6), part_words(3, longest=3), part_words(3, longest=4)
    (('trip', 'let'), ('trip', 'let', '&', '& trip', '& let'), ('&', 'a'), ('e', '&'))
    >>> part_words(7), part_words(7, groups=(3, 4))
    (('e', '&', 'a', 'ta', 'ta e', 'ta &'), ('e', '&', 'ta', 'ta e', 'ta &', 'ta a'))
    """
    return tuple(map(" ".join, _syllables(parts, longest, groups)))


def _syllables(parts: int, longest: int = 0, groups: Sequence[int] = ()) -> tuple[tuple[str, ...], ...]:
    """Return the words of the parts after the first, each as what opens its group and what follows."""
    own = parts > LONGEST_SAID and sum(groups) == parts
    if parts > MOST_PARTS and not own:
        return ()
    if not own:
        if parts == 6 and longest < LONGEST_SAID:
            return _THREE_EIGHTHS if longest else _SIX
        table = SYLLABLES if not longest else _EIGHTHS if longest < LONGEST_SAID else _SIXTEENTHS
        if parts in table:
            return tuple((word,) for word in table[parts])
    sizes = [size for group in (groups if own else (parts,)) for size in said_groups(group)]
    if len(sizes) > len(OPENERS) + 1:
        return ()
    words: list[tuple[str, ...]] = []
    for opens, size in zip(((), *((opener,) for opener in OPENERS)), sizes, strict=False):
        words += [opens, *((*opens, word) for word in SYLLABLES[LONGEST_SAID][: size - 1])]
    return tuple(words[1:])


def said_groups(parts: int) -> tuple[int, ...]:
    """Return the groups that a long beat is said in: fours and what is left last, an even rest as two halves.

    Examples
    --------
    >>> said_groups(5), said_groups(7), said_groups(9), said_groups(14), said_groups(16)
    ((3, 2), (4, 3), (4, 3, 2), (4, 3, 4, 3), (4, 4, 4, 4))
    """
    if parts <= LONGEST_SAID:
        return (parts,)
    if parts % 4 == 2:
        return said_groups(parts // 2) * 2
    rest = {0: (), 1: (3, 2), 3: (3,)}[parts % 4]
    return (4,) * ((parts - sum(rest)) // 4) + rest


def aloud(beat: int | str, parts: int, longest: int = 0, groups: Sequence[int] = ()) -> str:
    """Write a whole beat as it is said, a word a part; what opens a group is stressed, so in capitals.

    Examples
    --------
    >>> aloud(2, 7), aloud(2, 6), aloud(2, 3), aloud(2, 5, groups=(2, 3))
    ('2 e & a TA e &', '2 trip let & trip let', '2 trip let', '2 e TA e &')
    """
    return " ".join(words_aloud(beat, parts, longest, groups))


def words_aloud(beat: int | str, parts: int, longest: int = 0, groups: Sequence[int] = ()) -> tuple[str, ...]:
    """Return a whole beat as it is said, word by word.

    Examples
    --------
    >>> words_aloud(2, 7)
    ('2', 'e', '&', 'a', 'TA', 'e', '&')
    """
    words = _syllables(parts, longest, groups)
    return (str(beat), *(_stressed(words, word)[-1] for word in words))


def _stressed(words: tuple[tuple[str, ...], ...], word: tuple[str, ...]) -> tuple[str, ...]:
    """Return a word of a beat with what opens its group in capitals."""
    first, *rest = word
    return (first.upper() if first in OPENERS and words != _THREE_EIGHTHS else first, *rest)


def ways_to_write(place: Place, groups: Sequence[int] = ()) -> tuple[str, ...]:
    """Return every way in which a place is printed anywhere, or may be typed, in small letters.

    Examples
    --------
    >>> ways_to_write(Place(1, 4, 4))
    ('a of 1', '1a', '1 a', '1.4')
    >>> ways_to_write(Place(2, 6, 7))
    ('2.6', 'ta e of 2', '2ta e', '2 ta e', '2tae')
    """
    beat, number = str(place.beat), f"{place.beat}.{place.part}"
    if place.part == 1:
        return (beat, number, f"beat {beat}")
    words = _syllables(place.parts, place.longest, groups)
    if not words:
        return (number,)
    syllables = words[place.part - 2]
    word, closed = " ".join(syllables), "".join(syllables)
    ways = (f"{beat}{word}", f"{beat} {word}", f"{beat}{closed}", number)
    return tuple(dict.fromkeys((place_name(place), said_name(place, groups), *ways)))


def counted_up_to(text: str) -> tuple[int, int] | None:
    """Read a beat that is counted aloud up to a place, in any groups, as its number and the part.

    Examples
    --------
    >>> counted_up_to("2 e & ta"), counted_up_to("2 e ta e"), counted_up_to("2 ta e &"), counted_up_to("2 a")
    ((2, 4), (2, 4), (2, 4), None)
    """
    beat, *words = text.lower().split()
    if not (beat.isascii() and beat.isdecimal()):
        return None
    inside, opened = 0, 0
    for word in words:
        if word in SYLLABLES[LONGEST_SAID][inside : inside + 1]:
            inside += 1
        elif word in OPENERS[opened : opened + 1]:
            inside, opened = 0, opened + 1
        else:
            return None
    return int(beat), len(words) + 1


def count(feel: Feel, most: int = 16) -> str:
    """Say where each other pulse falls when counted from home.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> count(Feel(Polyrhythm(7, 4), home=0))
    'Counted from the 7, the 4 falls on 1, a of 2, & of 4, e of 6.'
    >>> count(Feel(Polyrhythm(5, 2), home=1))
    'Counted from the 2, the 5 falls on 1, & of 1, ta e of 1, e of 2, ta of 2 (say 1 e & TA e).'
    """
    home = pulse_name(feel.polyrhythm, feel.home)
    return say("count.from", home=home, falls=falls(feel, most))


def falls(feel: Feel, most: int = 16, *, short: bool = False) -> str:
    """Say where each other pulse falls, where it is known what is counted from.

    Parameters
    ----------
    feel : Feel
        What is counted, and from where.
    most : int
        Of a longer row of places the middle is left out.
    short : bool
        Whether to leave out the verb.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> falls(Feel(Polyrhythm(7, 4), home=0), short=True)
    'the 4 on 1, a of 2, & of 4, e of 6'
    >>> falls(Feel(Polyrhythm(5, 2)))
    'the 5 falls on 1, & of 1, ta e of 1, e of 2, ta of 2 (say 1 e & TA e)'
    """
    p = feel.polyrhythm
    said = []
    for i in range(len(p.pulses)):
        if i == feel.home:
            continue
        parts, groups = feel.parts(i), said_in(feel, i)
        pulse, places = pulse_name(p, i), said_row(feel.places(i), feel.groups, most)
        if parts not in SYLLABLES and part_words(parts, groups=groups):
            places = say("count.in_words", places=places, words=aloud(1, parts, groups=groups))
        said.append(say("count.on" if short else "count.falls", pulse=pulse, places=places))
    return "; ".join(said)

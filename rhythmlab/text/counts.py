"""Counting: where a stroke falls, as it is said and as it is written.

With 2, 3 or 4 parts to a beat a stroke is counted with a syllable; from 5 parts on it is counted as
"beat.part", so that no numeral is both a beat and a part.
"""

from rhythmlab.core.feel import Feel, Place
from rhythmlab.text.descriptions import pulse_name
from rhythmlab.text.numbers import some
from rhythmlab.text.sentences import say

#: Parts of a beat after the first: American counting for 2 and 4 (Froseth/Eastman comparison page,
#: key froseth_counting); for 3, common practice, no source.
SYLLABLES = {1: (), 2: ("&",), 3: ("trip", "let"), 4: ("e", "&", "a")}


def mark(place: Place) -> str:
    """Write a place as it stands in a picture: short, since the beat is seen.

    Examples
    --------
    >>> mark(Place(2, 1, 4)), mark(Place(2, 4, 4)), mark(Place(2, 6, 7))
    ('2', 'a', '2.6')
    """
    if place.part == 1:
        return str(place.beat)
    if place.parts in SYLLABLES:
        return SYLLABLES[place.parts][place.part - 2]
    return f"{place.beat}.{place.part}"


def place_name(place: Place) -> str:
    """Write a place as it is said.

    Examples
    --------
    >>> place_name(Place(2, 4, 4)), place_name(Place(2, 6, 7))
    ('a of 2', '2.6')
    """
    if has_syllable(place):
        return say("name.part", part=mark(place), beat=place.beat)
    return mark(place)


def has_syllable(place: Place) -> bool:
    """Whether a place is counted with a syllable of its beat.

    Examples
    --------
    >>> has_syllable(Place(2, 4, 4)), has_syllable(Place(2, 1, 4)), has_syllable(Place(2, 6, 7))
    (True, False, False)
    """
    return place.part > 1 and place.parts in SYLLABLES


def count(feel: Feel, most: int = 16) -> str:
    """Say where each other pulse falls when counted from home.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> count(Feel(Polyrhythm(7, 4), home=0))
    'Counted from the 7, the 4 falls on 1, a of 2, & of 4, e of 6.'
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
    """
    p = feel.polyrhythm
    said = []
    for i in range(len(p.pulses)):
        if i == feel.home:
            continue
        pulse, places = pulse_name(p, i), some(map(place_name, feel.places(i)), most)
        parts = feel.parts(i)
        if parts in SYLLABLES:
            said.append(say("count.on" if short else "count.falls", pulse=pulse, places=places))
        else:
            key = "count.on_in_parts" if short else "count.falls_in_parts"
            said.append(say(key, pulse=pulse, places=places, parts=parts))
    return "; ".join(said)

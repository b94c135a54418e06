"""An item of a set list: a pair or a groove with its tempo, on one line, as the fields of a panel hold it.

A line says what it is and then what the fields hold, with bars between::

    pair | pulses: 7 4 | home: 4 | bpm: 72
    resolve | hands: 7 | against: 4 | metre: 4/4 | bars: 4 | bpm: 96
    accents | metre: 2+2+3/8 | accent every: 5 | bpm: 180
    ostinato | feet: x..x..x. | hands: x.x.xx | metre: 4/4 | bpm: 96
    phrase | number: 31 | groups of: 2 3 4 | bpm: 96 | title: Thirty-one

A field that is left out holds what a panel begins with.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from rhythmlab import words
from rhythmlab.core.check import FASTEST, SLOWEST, short
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.feel import Feel
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.playing.groove import Accents, accents
from rhythmlab.playing.metre import Metre, metre
from rhythmlab.playing.ostinato import Ostinato, ostinato
from rhythmlab.playing.phrasing import LONGEST_GROUP, phrases
from rhythmlab.playing.resolve import Fill, resolve
from rhythmlab.playing.sticking import stick
from rhythmlab.refusal import Refusal, plainly

#: Most strokes of a pair, notes in a bar or pattern, bars, and strokes of a phrase.
MOST_STROKES, MOST_NOTES, MOST_BARS, MOST_PHRASE = 20_000, 64, 64, 512
_EXAMPLE = "pair | pulses: 7 4 | bpm: 72"
#: What can be typed where a panel begins with nothing.
_TYPED = {"home": "4", "free beats": "2", "feet": "x..x..x.", "begins with": "4"}


@dataclass(frozen=True, slots=True)
class Item:
    """One item of a set list.

    Attributes
    ----------
    kind : str
        ``"pair"``, ``"resolve"``, ``"accents"``, ``"ostinato"`` or ``"phrase"``.
    title : str
        What it is called.
    what : Polyrhythm or Cycle
        What is played.
    tempo : Tempo
        How fast.
    home : int or None
        Index of the home pulse of a pair.
    said : str
        What there is to say about a groove.
    """

    kind: str
    title: str
    what: Polyrhythm | Cycle
    tempo: Tempo
    home: int | None
    said: str


def read_line(text: str) -> Item:
    """Read one line of a set list.

    Parameters
    ----------
    text : str
        The line.

    Raises
    ------
    ValueError
        If it cannot be read; the message names the field.

    Examples
    --------
    >>> read_line("pair | pulses: 7 4 | home: 7 | bpm: 126").tempo
    Tempo(126, pulse=0)
    >>> read_line("resolve | hands: 7 | against: 4 | bpm: 96").title
    '7 against 4 in 4 bars of 4/4'
    """
    kind, *pieces = (piece.strip() for piece in text.split("|"))
    if kind not in _KINDS:
        raise Refusal(f"{short(kind)} is not a kind of item; there are {', '.join(_KINDS)}", _EXAMPLE)
    names, first, make = _KINDS[kind]
    fields: dict[str, str] = {}
    for piece in pieces:
        name, colon, value = (part.strip() for part in piece.partition(":"))
        if not colon or name not in (*names, "title"):
            raise Refusal(
                f"{short(piece)} is not a field of {kind}; it has "
                f"{', '.join((*names, 'title'))}, each with a colon",
                f"{names[0]}: {first[names[0]]}",
            )
        if name in fields:
            example = first.get(name) or _TYPED.get(name, "Thirty-one")
            raise Refusal(f"{name} is given twice, and one is meant", f"{name}: {example}")
        fields[name] = value
    try:
        made = make({**first, **{name: value for name, value in fields.items() if value}})
    except (ValueError, IndexError) as error:
        raise _with_example(error, kind, first) from error
    title = fields.get("title", "")[:120]
    return made if not title else Item(made.kind, title, made.what, made.tempo, made.home, made.said)


def _with_example(error: Exception, kind: str, first: Mapping[str, str]) -> Refusal:
    """Return the refusal with something to type into the line: the field that it names, or the whole line."""
    why = plainly(error).rstrip(".")
    if isinstance(error, Refusal) and ": " in error.example:  # a field already
        return error
    for name, value in first.items():
        if why.startswith(f"{name} "):
            return Refusal(why, f"{name}: {value or _TYPED[name]}", argument=name)
    return Refusal(why, " | ".join([kind, *(f"{name}: {value}" for name, value in first.items() if value)]))


def line_of(p: Polyrhythm, tempo: Tempo, home: int) -> str:
    """Return a pair as the line that `read_line` reads.

    Examples
    --------
    >>> line_of(Polyrhythm(7, 4), Tempo(72, pulse=1), 1)
    'pair | pulses: 7 4 | home: 4 | bpm: 72'
    """
    bpm = tempo.bpm_of(p, home)
    pulses = " ".join(map(str, p.pulses))
    return f"pair | pulses: {pulses} | home: {p.pulses[home]} | bpm: {bpm}"


def _whole(fields: Mapping[str, str], name: str, most: int) -> int:
    typed = fields[name]
    if not (typed.isascii() and typed.isdigit() and len(typed) < 10 and 1 <= int(typed) <= most):
        raise Refusal(f"{name} {short(typed)} is not a whole number from 1 to {words.number(most)}")
    return int(typed)


def _numbers(fields: Mapping[str, str], name: str, most: int) -> tuple[int, ...]:
    typed = [word for word in re.split(r"[\s,:+]+", fields[name]) if word]
    return tuple(_whole({name: word}, name, most) for word in typed)


def _bpm(fields: Mapping[str, str]) -> Fraction:
    typed = fields["bpm"].replace(",", ".")
    try:
        plain = re.fullmatch(r"\d{1,6}(?:\.\d{1,9}|/\d{1,6})?", typed, flags=re.ASCII)
        bpm = Fraction(typed if plain else 0)
    except ZeroDivisionError:
        bpm = Fraction(0)
    if not SLOWEST <= bpm <= FASTEST:
        ends = f"{SLOWEST} to {words.number(FASTEST)}"
        raise Refusal(f"bpm {short(fields['bpm'])} is not a number from {ends}", "bpm: 72")
    return bpm


def _bar(fields: Mapping[str, str]) -> Metre:
    try:
        bar = metre(fields["metre"].replace(" ", ""))
    except ValueError as error:
        said = f"is not a bar of at most {MOST_NOTES} notes that are written, such as quarters or eighths"
        raise Refusal(f"metre {short(fields['metre'])} {said}") from error
    if bar.count > MOST_NOTES:
        raise Refusal(f"metre {short(fields['metre'])} has {bar.count} notes, more than {MOST_NOTES}")
    return bar


def _pattern(fields: Mapping[str, str], name: str) -> str:
    close = "".join(fields[name].split()).lower()
    if len(close) > MOST_NOTES:
        raise Refusal(f"{name} is a pattern of {len(close)} letters, more than {MOST_NOTES}")
    return close if set(close) <= set("x.") else fields[name].lower()


def _pair(fields: Mapping[str, str]) -> Item:
    pulses = _numbers(fields, "pulses", MOST_STROKES)
    if not 2 <= len(pulses) <= 4 or sum(pulses) > MOST_STROKES:
        most = f"with at most {words.number(MOST_STROKES)} strokes together"
        raise Refusal(f"pulses {short(fields['pulses'])} are not two to four numbers {most}")
    p, home = Polyrhythm(*pulses), len(pulses) - 1
    if fields["home"]:
        named = _whole(fields, "home", MOST_STROKES)
        if named not in pulses:
            said = f"home {named} is not one of the pulses {', '.join(map(str, pulses))}"
            raise Refusal(said, f"home: {pulses[-1]}")
        home = pulses.index(named)
    return Item("pair", words.pair(p), p, Tempo(_bpm(fields), pulse=home), home, words.count(Feel(p, home)))


def _resolve(fields: Mapping[str, str]) -> Item:
    pair = Polyrhythm(*(_whole(fields, name, MOST_STROKES) for name in ("hands", "against")))
    bars = _whole(fields, "bars", MOST_BARS)
    free = _whole(fields, "free beats", 10_000) if fields["free beats"] else None
    lands, feet, bar = _whole(fields, "lands on", 1000), _pattern(fields, "feet") or None, _bar(fields)
    if lands > len(bar.groups):
        raise Refusal(f"lands on {lands} is not a beat of {bar}, which has {len(bar.groups)}")
    made = resolve(pair, bar, bars=bars, beats=free, lands=lands, feet=feet)
    title = f"{words.pair(pair)} in {words.plural(bars, 'bar')} of {fields['metre']}"
    return _groove("resolve", title, made, _bpm(fields))


def _accents(fields: Mapping[str, str]) -> Item:
    made = accents(_bar(fields), _whole(fields, "accent every", 10_000))
    return _groove(
        "accents", f"An accent every {fields['accent every']} in {fields['metre']}", made, _bpm(fields)
    )


def _ostinato(fields: Mapping[str, str]) -> Item:
    made = ostinato(_pattern(fields, "feet"), _pattern(fields, "hands"), metre=_bar(fields))
    return _groove("ostinato", f"{fields['feet']} against {fields['hands']}", made, _bpm(fields))


def _groove(kind: str, title: str, made: Accents | Ostinato | Fill, bpm: Fraction) -> Item:
    return Item(kind, title, made, made.metre.tempo(bpm), None, made.said(bpm))


def _phrase(fields: Mapping[str, str]) -> Item:
    number, tempo = _whole(fields, "number", MOST_PHRASE), Tempo(_bpm(fields), ticks=4)
    begins = _numbers(fields, "begins with", LONGEST_GROUP) if fields["begins with"] else ()
    choice = _whole(fields, "choice", 8)
    found = phrases(number, allowed=_numbers(fields, "groups of", LONGEST_GROUP), fixed=begins, most=8)
    one = found[min(choice, len(found)) - 1]
    lead = {"right": "R", "left": "L"}.get(fields["lead"])
    if lead is None:
        raise Refusal(f"lead {short(fields['lead'])} is not right or left")
    hands = stick(one, tempo, lead=lead)
    groups = " ".join(map(str, one.groups))
    cycle = hands.cycle(whole=True, name="phrase", sound="snare")
    said = f"Say: {' | '.join(one.spoken())}."
    return Item("phrase", f"{number} as {groups}", cycle, tempo, None, said)


_Kind = tuple[tuple[str, ...], dict[str, str], Callable[[Mapping[str, str]], Item]]


def _kind(make: Callable[[Mapping[str, str]], Item], **first: str) -> _Kind:
    named = {name.replace("_", " "): value for name, value in first.items()}
    return tuple(named), named, make


_KINDS: dict[str, _Kind] = {
    "pair": _kind(_pair, pulses="7 4", home="", bpm="72"),
    "resolve": _kind(
        _resolve,
        **{"hands": "7", "against": "4", "metre": "4/4", "bars": "4", "bpm": "96"},
        **{"free_beats": "", "lands_on": "1", "feet": ""},
    ),
    "accents": _kind(_accents, metre="2+2+3/8", accent_every="5", bpm="180"),
    "ostinato": _kind(_ostinato, feet="x..x..x.", hands="x.x.xx", metre="4/4", bpm="96"),
    "phrase": _kind(
        _phrase, number="31", groups_of="2 3 4", begins_with="", choice="1", bpm="96", lead="right"
    ),
}

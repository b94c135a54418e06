"""A set list: pairs, grooves and tempos prepared beforehand, one item a line in a text file.

The file says limbs and letters as a right-handed player has them, so that anybody can read it; for a
left-handed reader they are mirrored when it is opened.
"""

import os
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import chain
from pathlib import Path

from rhythmlab.core import check
from rhythmlab.core.check import FASTEST, SLOWEST, short
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.feel import Feel
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.files import reason, save
from rhythmlab.locks import turn
from rhythmlab.playing.fill import Fill, OtherStrokes, resolve
from rhythmlab.playing.groove import Accents, accents
from rhythmlab.playing.hands import mirrored, sides
from rhythmlab.playing.metre import Metre, metre
from rhythmlab.playing.named import name_of
from rhythmlab.playing.ostinato import Ostinato, ostinato
from rhythmlab.playing.patterns import as_typed, pattern
from rhythmlab.playing.phrasing import COUNTS, LONGEST_GROUP, Phrase, phrases
from rhythmlab.playing.sentence import sentence
from rhythmlab.playing.sticking import Sticking, check_sticking, stick
from rhythmlab.practice.journal import opened
from rhythmlab.refusal import Refusal, as_sentence
from rhythmlab.text import counts, descriptions, numbers, sentences
from rhythmlab.working_folder import place_for_files

#: The file, in the reader's working folder.
FILE = "set-list.txt"
#: Most items of a list, and most bytes of its file.
MOST_ITEMS, MOST_BYTES = 200, 1_000_000
#: Most damaged lines that are named by their numbers, after the first.
MOST_NAMED = 12
#: Most strokes of a pair, notes in a bar or pattern, bars, and strokes of a phrase.
MOST_STROKES, MOST_NOTES, MOST_BARS, MOST_PHRASE = 20_000, 64, 64, 512
#: Views that a pair can be shown in, and most letters of a title and of a sentence.
VIEWS, MOST_TITLE, MOST_SENTENCE = ("heard line", "gap cycle"), 120, 400
#: Fields that end a line of any kind.
_ENDS = ("view", "sentence", "title")
#: What a new set list begins with: a workshop in a village hall by the sea.
FIRST = (
    "# A set list: one item a line; lines that begin with # are notes.\n"
    "pair | pulses: 3 2 | bpm: 72 | title: Three claps over two\n"
    "pair | pulses: 4 3 | bpm: 80\n"
    "pair | pulses: 7 4 | home: 4 | bpm: 72\n"
    "pair | pulses: 16 15 | bpm: 100 | title: The drift\n"
    "resolve | hands: 7 | against: 4 | metre: 4/4 | bars: 4 | bpm: 96\n"
)
#: What can be typed where a panel begins with nothing.
_TYPED = {"home": "4", "free beats": "2", "feet": "x..x..x.", "begins with": "4", "view": VIEWS[1]}
_TYPED |= {"left foot": "hi-hat on 2 and 4", "left hand": "..x.", "sticking": "RLRRL"}
_TYPED |= {"sentence": "to-geth-er", "title": "By the sea"}
_EXAMPLE = "pair | pulses: 7 4 | bpm: 72"
_CALL = "pages.set_list({})"


# What a set list is made of


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
    text : str
        How a pair is counted, or what there is to say about a groove or a phrase.
    view : str
        The view of a pair, one of `VIEWS`; the one that fits when empty.
    sentence : str
        Words to say on its sounds, as they were typed.
    words : tuple of str
        Of a phrase: what is said on its strokes.
    line : str
        The line that it was read from.
    """

    kind: str
    title: str
    what: Polyrhythm | Cycle
    tempo: Tempo
    home: int | None
    text: str
    view: str = ""
    sentence: str = ""
    words: tuple[str, ...] = ()
    line: str = field(default="", compare=False)


class SetListError(Refusal):
    """The set list cannot be read or written; its text is for the reader."""


@dataclass(frozen=True, slots=True)
class Unread:
    """A line of which something could not be read.

    Attributes
    ----------
    line : int
        Its number, from 1.
    text : str
        All of it.
    why : str
        What is wrong with it.
    """

    line: int
    text: str
    why: str


class Items(tuple[Item, ...]):
    """The items of a set list, in order.

    Attributes
    ----------
    damaged : tuple of Unread
        Lines that could not be read; they stay in the file.
    misfits : tuple of Unread
        Lines of items whose sentence does not fit their pulses; it is shown as plain words.
    warning : str
        What there is to say to the reader about them; empty if all is well.
    """

    damaged: tuple[Unread, ...] = ()
    misfits: tuple[Unread, ...] = ()
    warning: str = ""


# Fields of a line


def _whole(fields: Mapping[str, str], name: str, most: int) -> int:
    """Return the whole number of a field, or refuse it."""
    typed = fields[name]
    if not (typed.isascii() and typed.isdigit() and len(typed) < 10 and 1 <= int(typed) <= most):
        raise Refusal(f"{name} {short(typed)} is not a whole number from 1 to {numbers.number(most)}")
    return int(typed)


def _numbers(fields: Mapping[str, str], name: str, most: int) -> tuple[int, ...]:
    """Return the whole numbers of a field, or refuse them."""
    typed = [word for word in re.split(r"[\s,:+]+", fields[name]) if word]
    return tuple(_whole({name: word}, name, most) for word in typed)


def _bpm(fields: Mapping[str, str]) -> Fraction:
    """Return the beats a minute, exact, or refuse them."""
    typed = fields["bpm"].replace(",", ".")
    try:
        plain = re.fullmatch(r"\d{1,6}(?:\.\d{1,9}|/\d{1,6})?", typed, flags=re.ASCII)
        bpm = Fraction(typed if plain else 0)
    except ZeroDivisionError:
        bpm = Fraction(0)
    if not SLOWEST <= bpm <= FASTEST:
        ends = f"{SLOWEST} to {numbers.number(FASTEST)}"
        raise Refusal(f"bpm {short(fields['bpm'])} is not a number from {ends}", "bpm: 72")
    return bpm


def _bar(fields: Mapping[str, str]) -> Metre:
    """Return the bar that the metre names, or refuse it."""
    try:
        bar = metre(fields["metre"].replace(" ", ""))
    except ValueError as error:
        said = f"is not a bar of at most {MOST_NOTES} notes that are written, such as quarters or eighths"
        raise Refusal(f"metre {short(fields['metre'])} {said}") from error
    if bar.count > MOST_NOTES:
        raise Refusal(f"metre {short(fields['metre'])} has {bar.count} notes, more than {MOST_NOTES}")
    return bar


def _pattern(fields: Mapping[str, str], name: str, left_handed: bool) -> str:
    """Return a pattern, a sticking, a phrase or the name of a ready one, read as on page 07."""
    typed = as_typed(fields[name])
    letters = len("".join(typed.split()))
    if letters > MOST_NOTES:
        raise Refusal(f"{name} is a pattern of {letters} letters, more than {MOST_NOTES}")
    if not typed:
        return ""
    try:
        notes = pattern(typed).ticks
    except Refusal as error:
        raise Refusal(f"{name} {short(typed)} cannot be played: {error.wrong}") from error
    if notes > MOST_NOTES:
        raise Refusal(f"{name} {short(typed)} has {notes} notes, more than {MOST_NOTES}")
    return mirrored(typed, left_handed) if set(typed) <= set("RL.| ") else typed


# Kinds of items


def _pair_item(fields: Mapping[str, str], left_handed: bool) -> Item:
    """Make the item of two to four pulses."""
    pulses = _numbers(fields, "pulses", MOST_STROKES)
    if not 2 <= len(pulses) <= 4 or sum(pulses) > MOST_STROKES:
        most = f"with at most {numbers.number(MOST_STROKES)} strokes together"
        raise Refusal(f"pulses {short(fields['pulses'])} are not two to four numbers {most}")
    p, home = Polyrhythm(*pulses), len(pulses) - 1
    if fields["home"]:
        named = _whole(fields, "home", MOST_STROKES)
        if named not in pulses:
            said = f"home {named} is not one of the pulses {', '.join(map(str, pulses))}"
            raise Refusal(said, f"home: {pulses[-1]}")
        home = pulses.index(named)
    return Item(
        "pair", descriptions.pair(p), p, Tempo(_bpm(fields), pulse=home), home, counts.count(Feel(p, home))
    )


def _groove_item(kind: str, made: Accents | Ostinato | Fill, bpm: Fraction) -> Item:
    """Return the item of a groove, at beats a minute of its metre."""
    return Item(kind, name_of(made), made, made.metre.tempo(bpm), None, made.describe(bpm))


def _resolve_item(fields: Mapping[str, str], left_handed: bool) -> Item:
    """Make the item of a pair that resolves in bars of a metre."""
    pair = Polyrhythm(*(_whole(fields, name, MOST_STROKES) for name in ("hands", "against")))
    bars = _whole(fields, "bars", MOST_BARS)
    free = _whole(fields, "free beats", 10_000) if fields["free beats"] else None
    lands, feet, bar = _whole(fields, "lands on", 1000), _pattern(fields, "feet", left_handed), _bar(fields)
    if lands > len(bar.groups):
        raise Refusal(f"lands on {lands} is not a beat of {bar}, which has {len(bar.groups)}")
    landing = fields["lands with"].lower().removeprefix("a ")
    if landing not in ("tom", "crash"):
        raise Refusal(f"lands with {short(fields['lands with'])} is not tom or crash")
    crash = landing == "crash"
    hands = _pattern(fields, "sticking", left_handed)
    try:
        made = resolve(
            pair,
            bar,
            bars=bars,
            beats=free,
            lands=lands,
            feet=feet or None,
            crash=crash,
            sticking=hands,
            left_handed=left_handed,
        )
    except OtherStrokes as error:
        wrong = error.in_a_field({"sticking": "sticking"})
        works = mirrored(error.hands, left_handed)  # the file says letters as a right-handed player has them
        raise Refusal(wrong, f"sticking: {works}", argument="sticking") from error
    return _groove_item("resolve", made, _bpm(fields))


def _accents_item(fields: Mapping[str, str], left_handed: bool) -> Item:
    """Make the item of an accent every so many notes of a metre."""
    hands, every = _pattern(fields, "sticking", left_handed), _whole(fields, "accent every", 10_000)
    made = accents(_bar(fields), every, hands=hands, left_handed=left_handed)
    return _groove_item("accents", made, _bpm(fields))


def _ostinato_item(fields: Mapping[str, str], left_handed: bool) -> Item:
    """Make the item of patterns of the feet against some of the hands."""
    low, high = ({side: _pattern(fields, side, left_handed)} for side in ("feet", "hands"))
    _, other = sides(left_handed)
    for limbs, limb in ((low, "foot"), (high, "hand")):
        if fields[f"left {limb}"]:
            limbs[f"{other} {limb}"] = _pattern(fields, f"left {limb}", left_handed)
    made = ostinato(low, high, metre=_bar(fields), left_handed=left_handed)
    return _groove_item("ostinato", made, _bpm(fields))


def _phrase_item(fields: Mapping[str, str], left_handed: bool) -> Item:
    """Make the item of a number of sixteenths in groups, with sticking."""
    number, tempo = _whole(fields, "number", MOST_PHRASE), Tempo(_bpm(fields), ticks=4)
    begins = _numbers(fields, "begins with", LONGEST_GROUP) if fields["begins with"] else ()
    choice = _whole(fields, "choice", 8)
    found = phrases(number, allowed=_numbers(fields, "groups of", LONGEST_GROUP), fixed=begins, most=8)
    one = found[min(choice, len(found)) - 1]
    lead = {"right": "R", "left": "L"}.get(fields["lead"])
    if lead is None:
        raise Refusal(f"lead {short(fields['lead'])} is not right or left")
    hands = stick(one, tempo, lead=mirrored(lead, left_handed))
    cycle, own = hands.cycle(name="phrase", sound="snare"), _own_hands(fields, one, hands, left_handed)
    if own:
        cycle = one.cycle(hands=own, name="phrase", limb="hands", sound="snare")
    if fields["count"] not in COUNTS:
        raise Refusal(f"count {short(fields['count'])} is no way of counting; there are {', '.join(COUNTS)}")
    said = f"Say: {' | '.join(one.spoken(fields['count']))}."
    if own:
        shapes = " ".join(own[at : at + size] for at, size in zip(one.starts, one.groups, strict=True))
        judged = check_sticking(shapes, tempo)
        said = sentences.sentences(said, f"Hands: {shapes}.", *(() if judged else judged.text))
    words = tuple(chain(*one.said(fields["count"])))
    return Item("phrase", name_of(cycle), cycle, tempo, None, said, words=words)


def _own_hands(fields: Mapping[str, str], one: Phrase, ours: Sticking, left_handed: bool) -> str:
    """Return the letters of one's own sticking of a phrase, or refuse them; none where none is given."""
    letters = "".join(fields["sticking"].split()).upper()
    if not letters:
        return ""
    works = f"sticking: {mirrored(str(ours), left_handed)}"
    typed = f"sticking {short(fields['sticking'])}"
    if wrong := next((letter for letter in letters if letter not in "RL"), ""):
        raise Refusal(f"{typed} has {wrong!r}; it takes R or L for each stroke", works, argument="sticking")
    if len(letters) != one.ticks:
        has = numbers.plural(len(letters), "letter")
        raise Refusal(
            f"{typed} has {has} where the phrase has {numbers.plural(one.ticks, 'stroke')}",
            works,
            argument="sticking",
        )
    return mirrored(letters, left_handed)


_Make = Callable[[Mapping[str, str], bool], Item]
_Kind = tuple[tuple[str, ...], dict[str, str], _Make]


def _kind(make: _Make, **first: str) -> _Kind:
    """Return a kind of item: the names of its fields, what each has at first, and what makes the item."""
    named = {name.replace("_", " "): value for name, value in first.items()}
    return tuple(named), named, make


_KINDS: dict[str, _Kind] = {
    "pair": _kind(_pair_item, pulses="7 4", home="", bpm="72"),
    "resolve": _kind(
        _resolve_item,
        **{"hands": "7", "against": "4", "metre": "4/4", "bars": "4", "bpm": "96"},
        **{"free_beats": "", "lands_on": "1", "feet": "", "lands_with": "tom", "sticking": ""},
    ),
    "accents": _kind(_accents_item, metre="2+2+3/8", accent_every="5", bpm="180", sticking=""),
    "ostinato": _kind(
        _ostinato_item,
        **{"feet": "x..x..x.", "left_foot": "", "hands": "x.x.xx", "left_hand": ""},
        **{"metre": "4/4", "bpm": "96"},
    ),
    "phrase": _kind(
        _phrase_item,
        **{"number": "31", "groups_of": "2 3 4 5", "begins_with": "", "choice": "1"},
        **{"count": "numbers", "bpm": "96", "lead": "right", "sticking": ""},
    ),
}


# A line


def _with_example(error: Exception, kind: str, first: Mapping[str, str]) -> Refusal:
    """Return an error as a refusal whose example can be typed: the field that it names, or the whole line."""
    why = as_sentence(error).rstrip(".")
    if isinstance(error, Refusal) and ": " in error.example:  # a field already
        return error
    for name, value in first.items():
        if why.startswith(f"{name} "):
            return Refusal(why, f"{name}: {value or _TYPED[name]}", argument=name)
    return Refusal(why, " | ".join([kind, *(f"{name}: {value}" for name, value in first.items() if value)]))


def read_line(text: str, left_handed: bool = False) -> Item:
    """Read one line of a set list.

    Parameters
    ----------
    text : str
        The line.
    left_handed : bool
        Whether its limbs and letters are mirrored for a left-handed reader, and words such as "together,
        right, left, right", which name the hand of each sound of two numbers.

    Raises
    ------
    ValueError
        If it cannot be read; the message names the field.

    Examples
    --------
    >>> read_line("pair | pulses: 7 4 | home: 7 | bpm: 126").tempo
    Tempo(126, pulse=0)
    >>> read_line("resolve | hands: 7 | against: 4 | bpm: 96").title
    '7 against 4 as a fill in 4 bars of 4/4'
    """
    kind, *pieces = (piece.strip() for piece in text.split("|"))
    if kind not in _KINDS:
        raise Refusal(f"{short(kind)} is not a kind of item; there are {', '.join(_KINDS)}", _EXAMPLE)
    names, first, make = _KINDS[kind]
    fields: dict[str, str] = {}
    for piece in pieces:
        name, colon, value = (part.strip() for part in piece.partition(":"))
        if not colon or name not in (*names, *_ENDS):
            raise Refusal(
                f"{short(piece)} is not a field of {kind}; it has "
                f"{', '.join((*names, *_ENDS))}, each with a colon",
                f"{names[0]}: {first[names[0]]}",
            )
        if name in fields:
            example = first.get(name) or _TYPED[name]
            raise Refusal(f"{name} is given twice, and one is meant", f"{name}: {example}")
        fields[name] = value
    try:
        made = make({**first, **{name: value for name, value in fields.items() if value}}, left_handed)
        view = _view(fields.get("view", ""), made.what)
    except (ValueError, IndexError) as error:
        raise _with_example(error, kind, first) from error
    title, said = fields.get("title", ""), fields.get("sentence", "")
    if len(said) > MOST_SENTENCE:
        wrong = f"sentence has {len(said)} letters, more than {MOST_SENTENCE}"
        raise Refusal(wrong, f"sentence: {_TYPED['sentence']}", argument="sentence")
    if isinstance(made.what, Polyrhythm):
        title, said = (descriptions.same_claps(made.what, one, left_handed) for one in (title, said))
    return replace(made, title=title[:MOST_TITLE] or made.title, view=view, sentence=said, line=text)


def at_bpm(item: Item, bpm: Fraction, left_handed: bool = False) -> Item:
    """Return an item at another tempo, as its line would be read with that.

    Parameters
    ----------
    item : Item
        One that was read from a line.
    bpm : Fraction
        Of the note or the pulse that the item's own tempo counts.
    left_handed : bool
        As for `read_line`.

    Examples
    --------
    >>> at_bpm(read_line("accents | accent every: 3 | bpm: 60 | title: Tide"), Fraction(90)).tempo.bpm
    Fraction(90, 1)
    """
    pieces = item.line.split("|")
    kept = [piece for piece in pieces if piece.partition(":")[0].strip() != "bpm"]
    return read_line(" | ".join((*map(str.strip, kept), f"bpm: {bpm}")), left_handed)


def _view(named: str, what: Polyrhythm | Cycle) -> str:
    """Return the view of an item, or refuse it."""
    if named and named not in VIEWS:
        raise Refusal(f"view {short(named)} is not one of {', '.join(VIEWS)}", f"view: {VIEWS[1]}")
    if named == VIEWS[1] and not (isinstance(what, Polyrhythm) and len(what.pulses) == 2):
        raise Refusal(f"view {named} is of two numbers, and this item has others", f"view: {VIEWS[0]}")
    return named


def line_of(p: Polyrhythm, tempo: Tempo, home: int, *, view: str = "", title: str = "") -> str:
    """Return a pair as the line that `read_line` reads.

    Examples
    --------
    >>> line_of(Polyrhythm(7, 4), Tempo(72, pulse=1), 1)
    'pair | pulses: 7 4 | home: 4 | bpm: 72'
    """
    bpm = tempo.bpm_of(p, home)
    pulses = " ".join(map(str, p.pulses))
    ends = "".join(f" | {name}: {text}" for name, text in (("view", view), ("title", title)) if text)
    return f"pair | pulses: {pulses} | home: {p.pulses[home]} | bpm: {bpm}{ends}"


# The file


def parsed(text: str, left_handed: bool = False) -> Items:
    r"""Read a set list; a line that cannot be read does not stop the others.

    For a left-handed reader limbs and letters are mirrored.

    Examples
    --------
    >>> items = parsed("pair | pulses: 4 3\npear | 4 3")
    >>> len(items), items.warning.partition(":")[0]
    (1, "Line 2, 'pear | 4 3', could not be read and stays as it is")
    """
    found: list[Item] = []
    damaged: list[Unread] = []
    misfits: list[Unread] = []
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.strip().lstrip("\ufeff")
        if not line or line.startswith("#"):
            continue
        try:
            if len(found) >= MOST_ITEMS:
                raise SetListError(f"a set list has at most {MOST_ITEMS} items")
            found.append(read_line(line, left_handed))
            if why := _why_it_does_not_fit(found[-1]):
                misfits.append(Unread(number, raw, why))
        except (ValueError, IndexError) as error:
            damaged.append(Unread(number, raw, str(error)))
    items = Items(found)
    items.damaged = tuple(damaged)
    items.misfits = tuple(misfits)
    items.warning = sentences.sentences(_damaged_text(damaged), _misfits_text(misfits))
    return items


def _damaged_text(damaged: Sequence[Unread]) -> str:
    """Say which lines could not be read, and why the first could not; nothing where all could."""
    if not damaged:
        return ""
    first, *rest = damaged
    more = f" Nor could {_lines(rest)}." if rest else ""
    which = f"Line {first.line}, {short(first.text.strip())}, could not be read and stays as it is"
    return f"{which}: {first.why}.{more}"


def _misfits_text(misfits: Sequence[Unread]) -> str:
    """Say which sentences do not fit their pulses, and why the first does not; nothing where all do."""
    if not misfits:
        return ""
    first, *rest = misfits
    these = "do those" if rest[1:] else "does that"
    more = f" Nor {these} of {_lines(rest)}." if rest else ""
    where = f"The sentence of line {first.line} does not fit and is shown as plain words"
    return f"{where}: {first.why}.{more}"


def _lines(found: Sequence[Unread]) -> str:
    """Name lines by their numbers."""
    named = [str(one.line) for one in found[:MOST_NAMED]]
    if len(found) > MOST_NAMED:
        named.append(f"{len(found) - MOST_NAMED} more")
    return f"line{'s' * (len(found) > 1)} {sentences.listed(named)}"


def _why_it_does_not_fit(item: Item) -> str:
    """Say why a sentence with stars is not laid on its pair; nothing where it is, or is plain words."""
    if not isinstance(item.what, Polyrhythm) or "*" not in item.sentence:
        return ""
    try:
        sentence(item.what, item.sentence, home=item.home)
    except Refusal as error:
        return error.in_a_field({"text": "it"})
    return ""


def _contents(path: Path) -> bytes:
    """Return what is in a file, unless it is larger than any set list."""
    with opened(path, os.O_RDONLY) as fd, os.fdopen(os.dup(fd), "rb") as file:
        size = os.fstat(fd).st_size
        if size > MOST_BYTES:
            raise OSError(f"it has {size:,} bytes, more than the {MOST_BYTES:,} of a set list")
        return file.read(MOST_BYTES + 1)


def _bytes(text: str) -> bytes:
    """Return a list as its file holds it, with one line end at its end."""
    return (text.rstrip("\n") + "\n").encode("utf-8", "replace")


class SetList:
    """A set list on disk.

    Parameters
    ----------
    path : path, optional
        The file; ``set-list.txt`` in the reader's working folder when left out.

    Examples
    --------
    >>> import tempfile
    >>> songs = SetList(Path(tempfile.mkdtemp()) / "set-list.txt")
    >>> songs.save("pair | pulses: 4 3")
    >>> len(SetList(songs.path).read())
    1
    """

    def __init__(self, path: str | os.PathLike[str] | None = None) -> None:
        place = place_for_files() / FILE
        if path is not None:
            place = check.path(path, "path", 'pages.set_list("my-list.txt")')
        self.path = Path(os.path.abspath(place))
        self.text = ""
        self._seen: bytes | None = None

    def read(self, left_handed: bool = False) -> Items:
        """Read the file; where there is none, a short list to begin with; mirrored for a left-handed reader.

        Raises
        ------
        SetListError
            If there is one and it cannot be read.
        """
        try:
            raw = _contents(self.path)
        except FileNotFoundError:
            self._seen, self.text = None, FIRST
            return parsed(self.text, left_handed)
        except OSError as error:
            raise SetListError(f"{self.path.name} cannot be read: {reason(error, 'read')}.") from error
        try:
            self.text = raw.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise SetListError(
                f"{self.path.name} is not a text in UTF-8, so it is left as it is; rename it to begin anew."
            ) from error
        self._seen = raw
        return parsed(self.text, left_handed)

    def save(self, text: str) -> None:
        """Write the whole list, every line as it is, unless the file has changed since it was read.

        Raises
        ------
        SetListError
            If the file has changed, or is a link, or the disk does not take it; nothing is written then.
        """
        new = _bytes(text)
        if self.path.is_symlink():
            raise SetListError(
                f"{self.path.name} is a link, and nothing is written over a link or through it, so that what "
                "it leads to stays as it is; save beside it."
            )
        try:
            if self._seen is None:
                save(self.path, new, _CALL)
            else:
                with turn(self.path):  # between the look and the writing nobody else writes
                    if self._now() not in (self._seen, new):
                        raise FileExistsError
                    save(self.path, new, _CALL, replace=True, known=True)
        except FileExistsError:
            raise SetListError(
                f"{self.path.name} was changed by something else since it was read, so it is left as it is; "
                "save beside it, or read it again."
            ) from None
        except Refusal as error:
            raise SetListError(error.wrong, error.example, argument=error.argument) from error
        except OSError as error:
            raise SetListError(str(error)) from error
        self._seen, self.text = new, text

    def free(self) -> "SetList":
        """Return this set list where there is no such file yet, or the first free one beside it.

        Raises
        ------
        SetListError
            If very many are there.
        """
        paths = (self.path, *(self._beside(number) for number in range(2, 1000)))
        found = next((path for path in paths if not os.path.lexists(path)), None)
        if found is None:
            raise SetListError(f"there are very many lists beside {self.path.name}; rename some of them")
        return SetList(found)

    def _beside(self, number: int) -> Path:
        return self.path.with_name(f"{self.path.stem}-{number}{self.path.suffix}")

    def save_beside(self, text: str) -> Path:
        """Write the list under the first free name beside the file, such as ``set-list-2.txt``.

        Raises
        ------
        SetListError
            If the disk does not take it.
        """
        for number in range(2, 1000):
            path = self._beside(number)
            try:
                return save(path, _bytes(text), _CALL)
            except FileExistsError:
                continue
            except Refusal as error:
                raise SetListError(error.wrong, error.example, argument=error.argument) from error
            except OSError as error:
                raise SetListError(str(error)) from error
        raise SetListError(f"there are very many lists beside {self.path.name}; rename some of them")

    def _now(self) -> bytes | None:
        """Return what the file holds now; ``None`` where there is none."""
        try:
            return _contents(self.path)
        except FileNotFoundError:
            return None

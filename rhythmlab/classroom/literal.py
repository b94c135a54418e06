"""Read an answer that somebody typed, without ever running it.

An answer is a number, a word in quotes, or a list of them, written out.
A scanner of its own reads it: what is too long, too deep or no part of an answer is refused where it stands,
and nothing is handed to Python's own parser.
"""

import math
import re
from dataclasses import dataclass
from fractions import Fraction

#: Longest answer, and longest cell with an answer in it, in characters.
MOST_CHARACTERS, MOST_SOURCE = 20_000, 40_000
#: Deepest list in a list, most items of all lists together, and most digits of a number.
DEEPEST, MOST_ITEMS, MOST_DIGITS = 20, 1_000, 30

Value = int | float | Fraction | str | bool | None | list | tuple

_HOW = (
    'An answer is numbers, words in quotes, or a list of them in brackets, such as [3, 2] or ["1", "& of 2"].'
)
_CELL = 'A reply is one line such as work.reply("grid-ticks", answer=[7]).'
_TOKEN = re.compile(
    r"""(?P<space>[ \t\r\n\f]+|\\\r?\n|\#[^\n]*)
      | (?P<number>(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)
      | (?P<string>"(?:[^"\\\n]|\\[^\n])*"|'(?:[^'\\\n]|\\[^\n])*')
      | (?P<name>[^\W\d]\w*)
      | (?P<mark>[][(),./=;-]|\+)""",
    re.VERBOSE,
)
_ESCAPES = {"\\": "\\", "'": "'", '"': '"', "n": "\n", "t": "\t"}
_WORDS = {"True": True, "False": False, "None": None}


class Unreadable(ValueError):
    """An answer that cannot be read; its text is a sentence for the one who wrote it.

    Attributes
    ----------
    id : str or None
        Id of the question, where the cell told it.
    text : str
        What was written for an answer, as far as it was found, cut where it is long.
    """

    def __init__(self, said: str, id: str | None = None, text: str = "") -> None:
        super().__init__(said)
        self.id, self.text = id, text


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str
    start: int
    stop: int


def read(text: str) -> Value:
    """Read an answer.

    Parameters
    ----------
    text : str
        A number, a division of two whole numbers, a word in quotes, or lists or tuples of them.

    Returns
    -------
    int, float, Fraction, str, bool, None, list or tuple
        What is written there; ``None`` where nothing is.

    Raises
    ------
    Unreadable
        If it is anything else, or longer, deeper or larger than an answer can be.

    Examples
    --------
    >>> read('[3, -2, 0.5, 400/3, "& of 1"]')
    [3, -2, 0.5, Fraction(400, 3), '& of 1']
    >>> read("__import__('os')")
    Traceback (most recent call last):
    ...
    rhythmlab.classroom.literal.Unreadable: '__import__' is not part of an answer. An answer is numbers, \
words in quotes, or a list of them in brackets, such as [3, 2] or ["1", "& of 2"].
    """
    if not isinstance(text, str):
        raise Unreadable(f"There is no text to read. {_HOW}")
    _short_enough(text, MOST_CHARACTERS)
    reader = _Reader(text)
    if reader.next is None:
        return None
    value = reader.several(reader.value(0))
    if reader.next is not None:
        raise reader.strange()
    return value


def reply_of(source: str) -> tuple[str, str, Value]:
    """Read a cell that replies to a question.

    Parameters
    ----------
    source : str
        Text of the cell; comments, spaces and a semicolon at the end are welcome, and the order of the
        names is free.

    Returns
    -------
    id : str
        Id of the question.
    text : str
        The answer as it is written; empty where there is none.
    value : object
        The answer, as `read` reads it.

    Raises
    ------
    Unreadable
        If there is no such reply, anything beside it, or its answer cannot be read; with the id and the
        text of the answer where they were found.

    Examples
    --------
    >>> reply_of('work.reply("grid-ticks", answer=[ 7 ])  # I think')
    ('grid-ticks', '[ 7 ]', [7])
    """
    if not isinstance(source, str):
        raise Unreadable(f"There is no text in this cell. {_CELL}")
    _short_enough(source, MOST_SOURCE)
    reader = _Reader(source, "This cell is not one reply and nothing else. " + _CELL)
    if reader.next is None:
        raise Unreadable(f"The cell is empty. {_CELL}")
    for kind, text in (("name", ""), ("mark", "."), ("name", "reply"), ("mark", "(")):
        reader.take(kind, text)
    found: dict[str, tuple[str, Value]] = {}
    try:
        _parts(reader, source, found)
    except Unreadable as error:
        id = found.get("id", ("", None))[1]
        error.id = id if isinstance(id, str) else _id_of(source)
        error.text = error.text or found.get("answer", ("", None))[0][:200]
        raise
    text, value = found.get("answer", ("", None))
    return found["id"][1], text, value


def _parts(reader: "_Reader", source: str, found: dict[str, tuple[str, Value]]) -> None:
    """Read what stands in the brackets of a reply, to the end of the cell."""
    alone = reader.how
    while not reader.at(")"):
        name = reader.keyword() or next((one for one in ("id", "answer") if one not in found), "")
        if not name:
            raise Unreadable(f"There is no bracket round the parts of the answer. {_CELL}")
        if name not in ("id", "answer") or name in found:
            raise Unreadable(f"{name[:40]!r} is no part of a reply, or stands twice. {_CELL}")
        found[name] = _part(reader, source, name)
        if not reader.at(")"):
            reader.how = f"A comma or a bracket is missing. {_CELL}"
            reader.take("mark", ",")
            reader.how = alone
    reader.take("mark", ")")
    while reader.at(";"):
        reader.take("mark", ";")
    if reader.next is not None:
        raise Unreadable(alone)
    if not isinstance(found.get("id", ("", None))[1], str):
        raise Unreadable(f"The reply does not say to which question, in quotes. {_CELL}")
    if len(found.get("answer", ("", None))[0]) > MOST_CHARACTERS:
        raise Unreadable(_too_long(len(found["answer"][0]), MOST_CHARACTERS))


def _part(reader: "_Reader", source: str, name: str) -> tuple[str, Value]:
    """Read one part of a reply; what goes wrong in the answer is told with what was written."""
    start = reader.next.start if reader.next else len(source)
    if name == "answer" and (reader.at(")") or reader.at(",")):
        return "", None
    before, reader.how = reader.how, _HOW if name == "answer" else reader.how
    try:
        value = reader.value(0)
    except Unreadable as error:
        error.text = _written(source[start:])[:200] if name == "answer" else ""
        raise
    reader.how = before
    return source[start : reader.last], value


def _written(rest: str) -> str:
    """Return an answer that cannot be read, without the bracket that ends the reply."""
    rest = rest.rstrip("; \t\r\n")
    return rest.removesuffix(")").rstrip() if rest.count(")") > rest.count("(") else rest


def _id_of(source: str) -> str | None:
    """Find the id of a reply that was written after an answer that cannot be read."""
    found = re.search(r"""\bid\s{0,9}=\s{0,9}(["'])([\w.-]{1,60})\1""", source)
    return found[2] if found else None


def _short_enough(text: str, most: int) -> None:
    if len(text) > most:
        raise Unreadable(_too_long(len(text), most))


def _too_long(length: int, most: int) -> str:
    return f"The answer is {length:,} characters long, and the most that is read is {most:,}."


class _Reader:
    """Reads token by token; nothing is read twice, and no list deeper than allowed is entered."""

    def __init__(self, text: str, how: str = _HOW) -> None:
        self.source, self.how, self.at_character, self.last, self.items = text, how, 0, 0, 0
        self.next: _Token | None = None
        self._advance()

    def _advance(self) -> None:
        if self.next is not None:
            self.last = self.next.stop
        while self.at_character < len(self.source):
            found = _TOKEN.match(self.source, self.at_character)
            if found is None:
                raise Unreadable(self._no_token())
            self.at_character = found.end()
            if found.lastgroup != "space":
                self.next = _Token(found.lastgroup, found[0], found.start(), found.end())
                return
        self.next = None

    def _no_token(self) -> str:
        letter = self.source[self.at_character]
        if letter in "\"'":
            return f"A quote is opened and not closed. {self.how}"
        if letter in "“”„‘’‚«»":
            return f"The quote {letter} is a printer's quote; type a straight one. {self.how}"
        if letter == "−":
            return f"The minus {letter} is a printer's minus; type a hyphen. {self.how}"
        shown = letter if letter.isprintable() else f"character number {ord(letter)}"
        return f"{shown!r} is not part of an answer. {self.how}"

    def strange(self) -> Unreadable:
        """Return the error for what stands here."""
        if self.next is None:
            return Unreadable(f"Something is missing at the end, perhaps a bracket. {self.how}")
        text = self.next.text if len(self.next.text) <= 40 else f"{self.next.text[:37]}..."
        if self.next.kind == "string":
            return Unreadable(f"There is no comma before {text}. {self.how}")
        return Unreadable(f"{text!r} is not part of an answer. {self.how}" if self.how == _HOW else self.how)

    def at(self, mark: str) -> bool:
        """Whether a mark is next."""
        return self.next is not None and self.next.kind == "mark" and self.next.text == mark

    def take(self, kind: str, text: str = "") -> str:
        """Take one token, or refuse what stands here."""
        if self.next is None or self.next.kind != kind or (text and self.next.text != text):
            raise self.strange()
        taken = self.next.text
        self._advance()
        return taken

    def keyword(self) -> str:
        """Take ``name =``, where it stands here."""
        if self.next is None or self.next.kind != "name" or self.next.text in _WORDS:
            return ""
        name = self.take("name")
        self.take("mark", "=")
        return name

    def value(self, depth: int) -> Value:
        """Read one value."""
        self.items += 1
        if self.items > MOST_ITEMS:
            raise Unreadable(f"There are more than {MOST_ITEMS} items, more than an answer has. {self.how}")
        if self.next is None or self.at(")") or self.at("]"):
            raise self.strange()
        if self.at("[") or self.at("("):
            return self._list(depth)
        kind, text = self.next.kind, self.next.text
        if kind == "string":
            return self._string()
        if kind == "name" and text in _WORDS:
            self._advance()
            return _WORDS[text]
        if kind == "number" or text in ("-", "+"):
            return self._number()
        raise self.strange()

    def several(self, first: Value) -> Value:
        """Read more values with commas between, which make a tuple."""
        found = [first]
        comma = False
        while self.at(","):
            self._advance()
            comma = True
            if self.next is not None:
                found.append(self.value(0))
        return tuple(found) if comma else first

    def _list(self, depth: int) -> Value:
        if depth >= DEEPEST:
            raise Unreadable(f"There are lists in lists more than {DEEPEST} deep, deeper than an answer is.")
        close = "]" if self.at("[") else ")"
        self._advance()
        found, comma = [], False
        while not self.at(close):
            if self.at(")") or self.at("]"):
                raise self._open(close)
            found.append(self.value(depth + 1))
            comma = self.at(",")
            if comma:
                self._advance()
            elif not self.at(close):
                raise self._open(close) if self.at(")") or self.at("]") else self.strange()
        self._advance()
        if close == "]":
            return found
        return found[0] if len(found) == 1 and not comma else tuple(found)

    def _open(self, close: str) -> Unreadable:
        """Return the error for a list that another bracket ends."""
        return Unreadable(f"A list is opened and not closed: {close!r} is missing. {self.how}")

    def _string(self) -> str:
        text = self.take("string")
        inside = text[1:-1]
        strange = next((c for c in inside if not c.isprintable() and c != "\t"), "")
        if strange:
            raise Unreadable(
                f"A word holds character number {ord(strange)}, which cannot be seen. {self.how}"
            )
        if "\\" not in inside:
            return inside
        pieces = re.split(r"\\(.)", inside)
        if any(letter not in _ESCAPES for letter in pieces[1::2]):
            raise Unreadable(f"A word has no backslash in it. {self.how}")
        return "".join(_ESCAPES[piece] if i % 2 else piece for i, piece in enumerate(pieces))

    def _number(self) -> int | float | Fraction:
        minus = self.at("-")
        if minus or self.at("+"):
            self._advance()
        number = self._unsigned()
        if self.at("/"):
            self._advance()
            below = self._unsigned()
            if not isinstance(number, int) or not isinstance(below, int) or not below:
                raise Unreadable(f"A fraction is one whole number over another, such as 400/3. {self.how}")
            number = Fraction(number, below)
        return -number if minus else number

    def _unsigned(self) -> int | float:
        text = self.take("number")
        after = self.next
        if after and after.start == self.last and after.kind in ("name", "number", "string"):
            whole = f"{text}{after.text}"
            raise Unreadable(f"{whole[:40]!r} is not a plain number. {self.how}")
        digits, _, exponent = text.lower().partition("e")
        if len(digits) > MOST_DIGITS or len(exponent) > 4:
            raise Unreadable(f"A number of more than {MOST_DIGITS} digits is no answer. {self.how}")
        if text.isdigit():
            return int(text)
        value = float(text)
        if not math.isfinite(value):
            raise Unreadable(f"{text} is too large for an answer. {self.how}")
        return value

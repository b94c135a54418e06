"""Read an answer that somebody typed, without ever running it.

An answer is a number, a word in quotes, or a list of them, written out.
It is checked word by word: what is too long, too deep or no part of an answer is refused where it stands.
Only then is it given to Python's parser, and the value is built from the few kinds of things allowed.
"""

import ast
import math
import re
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple, TypeAlias

#: Longest answer, and longest cell with an answer in it, in characters.
MOST_CHARACTERS, MOST_SOURCE = 20_000, 40_000
#: Deepest list in a list, most items of all lists together, and most digits of a number.
DEEPEST, MOST_ITEMS, MOST_DIGITS = 20, 1_000, 30

#: Most words of a number, and what each says.
MOST_WORDS = 12
_TO_NINETEEN = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven"),
    *("twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_WORDS = {word: value for value, word in enumerate(_TO_NINETEEN)}
_WORDS |= {word: 10 * value for value, word in enumerate(_TENS, 2)}
_WORDS |= {"a": 1, "none": 0, "once": 1, "twice": 2, "hundred": 100, "thousand": 1000}

Value: TypeAlias = "int | float | Fraction | str | bool | list[Value] | tuple[Value, ...] | None"

_HOW = (
    'An answer is numbers, words in quotes, or a list of them in brackets, such as [3, 2] or ["1", "& of 2"].'
)
_CELL = 'A reply is one line such as work.reply("grid-ticks", answer=[7]).'
_ALONE = f"This cell is not one reply and nothing else. {_CELL}"
_COMMA = f"A comma or a bracket is missing. {_CELL}"

_GAP = r"(?:[ \t\r\n\f]|\\\r?\n|\#[^\n]*)*+"  # spaces and comments, never tried in two ways
_WORD = re.compile(
    r"""(?P<number>(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)
      | (?P<string>"(?:[^"\\\n]|\\[^\n])*"|'(?:[^'\\\n]|\\[^\n])*')
      | (?P<name>[^\W\d]\w*)
      | (?P<open>[(\[]) | (?P<close>[)\]]) | (?P<comma>,) | (?P<slash>/) | (?P<sign>[+-]) | (?P<mark>[.=;])
      | (?P<end>\Z)""",
    re.VERBOSE,
)
_SPACE = re.compile(_GAP)
_HEAD = re.compile(rf"{_GAP}[^\W\d]\w*{_GAP}\.{_GAP}reply{_GAP}\({_GAP}")
_KEYWORD = re.compile(rf"(?!(?:True|False|None)\b)(?P<name>[^\W\d]\w*){_GAP}(?P<given>=)?{_GAP}")
_TAIL = re.compile(rf"\){_GAP}(?:;{_GAP})*+\Z")

_BEGIN = frozenset({"start", "open", "comma"})
_DONE = frozenset({"number", "under", "string", "name", "close"})
#: What each kind of word may stand behind; ``under`` is the lower number of a fraction.
_BEHIND = {
    **dict.fromkeys(("string", "name", "open", "sign"), _BEGIN),
    "number": _BEGIN | {"sign"},
    "slash": frozenset({"number"}),
    "under": frozenset({"slash"}),
    "comma": _DONE,
    "close": _DONE | {"open", "comma"},
    "end": _DONE | {"start", "comma"},
}


class Unreadable(ValueError):
    """An answer that cannot be read; its text is a sentence for the one who wrote it.

    Attributes
    ----------
    id : str or None
        Id of the question, where it was found in the cell.
    text : str
        What was written for an answer, as far as it was found, cut where it is long.
    """

    def __init__(self, sentence: str, id: str | None = None, text: str = "") -> None:
        super().__init__(sentence)
        self.id, self.text = id, text


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
    rhythmlab.classroom.reader.Unreadable: '__import__' is not part of an answer. An answer is numbers, \
words in quotes, or a list of them in brackets, such as [3, 2] or ["1", "& of 2"].
    """
    if not isinstance(text, str):
        raise Unreadable(f"There is no text to read. {_HOW}")
    _short_enough(text, MOST_CHARACTERS)
    return _value(_checked(text).words)


def figures_of(text: str, units: Sequence[str] = ()) -> str:
    """Return a number that was typed in words, or with what it counts, in figures; any other text as it is.

    Examples
    --------
    >>> figures_of("Nine"), figures_of("thirty-one"), figures_of("a hundred and twenty"), figures_of("lots")
    ('9', '31', '120', 'lots')
    >>> figures_of("8 sounds", ["sound"]), figures_of("eight", ["sound"]), figures_of("4 %", ["percent"])
    ('8', '8', '4')
    """
    typed = " ".join(text.lower().strip(" .!?").split())
    for unit in filter(None, (*units, *(f"{unit}s" for unit in units if unit), "%" * ("percent" in units))):
        typed = typed.removesuffix(unit).rstrip() if typed != unit else typed
    if re.fullmatch(r"[+-]?[0-9]+(?:[.,/][0-9]+)?", typed):
        return typed
    words = [word for word in re.split(r"[\s-]+", typed) if word != "and"]
    if not words or len(words) > MOST_WORDS or not all(word in _WORDS for word in words):
        return text
    total, part, last = 0, 0, 0  # `last` is the place that a smaller word must follow
    for word in words:
        value = _WORDS[word]
        if value == 100 and 0 < part < 10:
            part, last = part * 100, 100
        elif value == 1000 and part > 0 and not total:
            total, part, last = part * 1000, 0, 1000
        elif not last or (value < 100 <= last) or (value < 10 and last < 100 and part % 100 >= 20):
            part, last = part + value, 1 if value < 20 else value
        else:
            return text
    return str(total + part)


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
    head = _HEAD.match(source)
    if head is None:
        raise Unreadable(f"The cell is empty. {_CELL}" if _past_space(source, 0) == len(source) else _ALONE)
    found: dict[str, tuple[str, Value]] = {}
    try:
        _parts(source, head.end(), found)
        id = found.get("id", ("", None))[1]
        if not isinstance(id, str):
            raise Unreadable(f"The reply does not say to which question, in quotes. {_CELL}")
        text, value = found.get("answer", ("", None))
        _short_enough(text, MOST_CHARACTERS)
    except Unreadable as error:
        id = found.get("id", ("", None))[1]
        error.id = id if isinstance(id, str) else _id_of(source)
        error.text = error.text or found.get("answer", ("", None))[0][:200]
        raise
    return id, text, value


def _parts(source: str, at: int, found: dict[str, tuple[str, Value]]) -> None:
    """Read what stands in the brackets of a reply, to the end of the cell."""
    while not source.startswith(")", at):
        name = next((one for one in ("id", "answer") if one not in found), "")
        start, named = at, _KEYWORD.match(source, at)
        if named and named["given"]:
            name, start = named["name"], named.end()
        elif named and (name != "answer" or named["name"] in ("id", "answer")):
            raise _strange(_word(source, named.end(), _ALONE), _ALONE)
        if not name:
            raise Unreadable(f"There is no bracket round the parts of the answer. {_CELL}")
        if name not in ("id", "answer") or name in found:
            raise Unreadable(f"{name[:40]!r} is no part of a reply, or stands twice. {_CELL}")
        value, stop = _part(source, start, name)
        found[name] = source[start:stop], value
        at = _past_space(source, stop)
        if source.startswith(",", at):
            at = _past_space(source, at + 1)
        elif not source.startswith(")", at):
            raise _strange(_word(source, at, _COMMA), _COMMA)
    if not _TAIL.match(source, at):
        raise Unreadable(_ALONE)


def _part(source: str, start: int, name: str) -> tuple[Value, int]:
    """Return one part of a reply and where it stops; the error for an answer has its text."""
    if name == "answer" and source.startswith((",", ")"), start):
        return None, start
    try:
        part = _checked(source, start, _HOW if name == "answer" else _ALONE, part=True)
        return _value(part.words), part.stop
    except Unreadable as error:
        error.text = _written(source[start:])[:200] if name == "answer" else ""
        raise


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
        long = f"{len(text):,} characters long"
        raise Unreadable(f"The answer is {long}, and the most that is read is {most:,}.")


def _past_space(source: str, at: int) -> int:
    found = _SPACE.match(source, at)
    return found.end() if found else at


class _Checked(NamedTuple):
    """The words of an answer, and where the last of them stops."""

    words: list[str]
    stop: int


def _checked(source: str, at: int = 0, how: str = _HOW, *, part: bool = False) -> _Checked:
    """Check an answer word by word, to the end of the text or of one part of a reply."""
    words: list[str] = []
    closing: list[str] = []  # the brackets that are open, by what closes them
    before, stop, items = "start", at, 0
    while True:
        word = _word(source, _past_space(source, stop), how)
        kind, text = str(word.lastgroup), word[0]
        if before in ("number", "under") and word.start() == stop and kind in ("name", "number", "string"):
            raise Unreadable(f"{(words[-1] + text)[:40]!r} is not a plain number. {how}")
        if before in ("number", "under"):
            _check_number(words[-1], how)
        elif before == "string":
            _check_word(words[-1], how)
        if kind == "number" and before == "slash":
            kind = "under"
        fits = before in _BEHIND.get(kind, ())
        if part and not closing and before in _DONE and not (fits and kind == "slash"):
            return _Checked(words, stop)
        if kind == "close" and closing and text != closing[-1] and before not in ("sign", "slash"):
            raise Unreadable(f"A list is opened and not closed: {closing[-1]!r} is missing. {how}")
        if not fits or (kind == "close" and not closing) or (kind == "end" and (closing or part)):
            raise _strange(word, how)
        if kind == "end":
            return _Checked(words, stop)
        if kind in ("number", "string", "name", "open"):
            items += 1
        if items > MOST_ITEMS:
            raise Unreadable(f"There are more than {MOST_ITEMS} items, more than an answer has. {how}")
        if kind == "open":
            if len(closing) == DEEPEST:
                raise Unreadable(
                    f"There are lists in lists more than {DEEPEST} deep, deeper than an answer is."
                )
            closing.append("]" if text == "[" else ")")
        elif kind == "close":
            closing.pop()
        elif kind == "name" and text not in ("True", "False", "None"):
            raise _strange(word, how)
        words.append(text)
        before, stop = kind, word.end()


def _word(source: str, at: int, how: str) -> re.Match[str]:
    """Return the word that begins here, or refuse a letter that begins none."""
    found = _WORD.match(source, at)
    if found is not None:
        return found
    letter = source[at]
    if letter in "\"'":
        raise Unreadable(f"A quote is opened and not closed. {how}")
    if letter in "“”„‘’‚«»":
        raise Unreadable(f"The quote {letter} is a printer's quote; type a straight one. {how}")
    if letter == "−":
        raise Unreadable(f"The minus {letter} is a printer's minus; type a hyphen. {how}")
    shown = letter if letter.isprintable() else f"character number {ord(letter)}"
    raise Unreadable(f"{shown!r} is not part of an answer. {how}")


def _strange(word: re.Match[str], how: str) -> Unreadable:
    """Return the error for a word that has no place where it stands."""
    text = word[0] if len(word[0]) <= 40 else f"{word[0][:37]}..."
    if word.lastgroup == "end":
        return Unreadable(f"Something is missing at the end, perhaps a bracket. {how}")
    if word.lastgroup == "string":
        return Unreadable(f"There is no comma before {text}. {how}")
    return Unreadable(f"{text!r} is not part of an answer. {how}" if how == _HOW else how)


def _check_word(text: str, how: str) -> None:
    """Refuse a word in quotes with what cannot be seen in it, and with most backslashes."""
    strange = next((letter for letter in text if not letter.isprintable() and letter != "\t"), "")
    if strange:
        raise Unreadable(f"A word holds character number {ord(strange)}, which cannot be seen. {how}")
    if any(letter not in "\\'\"nt" for letter in re.findall(r"\\(.)", text)):
        raise Unreadable(f"A word has no backslash in it. {how}")


def _check_number(text: str, how: str) -> None:
    """Refuse a number that is too long or too large."""
    digits, _, exponent = text.lower().partition("e")
    if len(digits) > MOST_DIGITS or len(exponent) > 4:
        raise Unreadable(f"A number of more than {MOST_DIGITS} digits is no answer. {how}")
    if not math.isfinite(float(text)):
        raise Unreadable(f"{text} is too large for an answer. {how}")


def _value(words: list[str]) -> Value:
    """Return the value of words that were checked."""
    if not words:
        return None
    plain = " ".join(re.sub(r"^0+(?=[0-9])", "", word) for word in words)  # 007 is a number here
    try:
        return _built(ast.parse(plain, mode="eval").body)
    except (SyntaxError, RecursionError, MemoryError):
        raise Unreadable(f"This is no answer. {_HOW}") from None


def _built(node: ast.expr) -> Value:
    """Build a value from the few kinds of things that an answer is made of."""
    match node:
        case ast.Constant(value=bool() | int() | float() | str() | None as value):
            return value
        case ast.List(elts=parts):
            return [_built(part) for part in parts]
        case ast.Tuple(elts=parts):
            return tuple(_built(part) for part in parts)
        case ast.UnaryOp(
            op=ast.USub() | ast.UAdd() as sign, operand=ast.Constant(value=int() | float() as value)
        ):
            return -value if isinstance(sign, ast.USub) else value
        case ast.BinOp(left=over, op=ast.Div(), right=under):
            above, below = _built(over), _built(under)
            if isinstance(above, int) and isinstance(below, int) and below:
                return Fraction(above, below)
            raise Unreadable(f"A fraction is one whole number over another, such as 400/3. {_HOW}")
    raise Unreadable(f"This is no answer. {_HOW}")

"""The checks every value passes once, where it is made.

Each takes what the caller gave as ``value``, what to call it as ``name``, and a call that works as
``example``; what does not pass is a `Refusal`, which says all three and what is wrong.
"""

import math
import operator
import os
import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import islice
from numbers import Number, Rational, Real
from pathlib import Path
from typing import Any, TypeVar, overload

from rhythmlab.refusal import OutOfRange, Refusal

_Kind = TypeVar("_Kind")
_Given = TypeVar("_Given")

#: Longest grid: tick numbers stay exact in a 64-bit integer, with room to add two of them.
MOST_TICKS = 2**62
#: Most strokes held at once; a longer cycle is read through a window.
MOST_STROKES = 50_000_000
#: Most strokes held as a list of things, each with names of its own; and most of anything a caller lists.
MOST_LISTED = 500_000
#: Most digits above or below the line of an exact number: all that is reckoned with it stays printable.
MOST_DIGITS = 1_000
#: Slowest and fastest tempo of home, in beats a minute: from one beat a minute to faster than any hand.
SLOWEST, FASTEST = 1, 1_000
#: What a reader who knows no Python calls a kind of value.
_KINDS: dict[type, str] = {
    str: "text in quotes",
    os.PathLike: "a path",
    Mapping: "a dict such as {7: 4}",
    date: "a date",
}


def whole(value: object, name: str, example: str, least: int = 1, most: int | None = None) -> int:
    """Return `value` as an ``int``, or refuse it by name.

    Python and numpy integers pass; ``True``, ``2.0`` and ``"7"`` do not.

    Parameters
    ----------
    least, most : int
        The smallest number allowed, and the largest where there is one.

    Examples
    --------
    >>> whole(7, "pulse", "Polyrhythm(7, 4)")
    7
    """
    try:
        if isinstance(value, bool):
            raise TypeError
        number = operator.index(value)  # type: ignore[arg-type]  # what is no number is caught
    except TypeError:
        number = None
    if number is None or number < least:
        raise Refusal(
            f"{name}={short(value)} is not a whole number of at least {least}", example, argument=name
        )
    if most is not None and number > most:
        raise Refusal(f"{name}={short(value)} is more than {most:,}", example, argument=name)
    return number


def positive(
    value: object,
    name: str,
    example: str,
    *,
    least: int | Fraction | None = None,
    most: int | Fraction | None = None,
    zero: bool = False,
    digits: int = MOST_DIGITS,
) -> Fraction:
    """Return `value` as an exact Fraction, or refuse it by name.

    Whole numbers, Fractions, Decimals and floats pass; a float means the decimal that it prints as.

    Parameters
    ----------
    least, most : int or Fraction, optional
        Ends of what is allowed, themselves included.
    zero : bool
        Whether 0 passes too.
    digits : int
        Most digits above or below the line.

    Examples
    --------
    >>> positive(72.1, "bpm", "Tempo(72, pulse=1)")
    Fraction(721, 10)
    """
    exact = None
    try:
        if (
            isinstance(value, Real | Decimal)
            and not isinstance(value, bool)
            and (0 < float(value) < math.inf or (zero and float(value) == 0))
        ):
            exact = (
                Fraction(int(value.numerator), int(value.denominator))
                if isinstance(value, Rational)  # numpy integers among them, which would overflow
                else Fraction(str(value))
            )
    except (OverflowError, ValueError):  # too large for a float; a signalling NaN; too many digits
        pass
    if exact is None:
        raise Refusal(f"{name}={short(value)} is not a finite number above 0", example, argument=name)
    if max(exact.numerator, exact.denominator) >= 10**digits:
        raise Refusal(
            f"{name}={short(value)} takes more than {digits:,} digits to be exact", example, argument=name
        )
    for bound, wrong, what in ((least, operator.lt, "less"), (most, operator.gt, "more")):
        if bound is not None and wrong(exact, bound):
            said = f"{bound:,}" if isinstance(bound, int) else str(bound)
            raise Refusal(f"{name}={short(value)} is {what} than {said}", example, argument=name)
    return exact


def bpm(value: object, name: str, example: str) -> Fraction:
    """Return beats a minute of home as an exact Fraction; refuse what is not between `SLOWEST` and `FASTEST`.

    Examples
    --------
    >>> bpm(72, "bpm", "choose_way(7, 4, bpm=72)")
    Fraction(72, 1)
    """
    return positive(value, name, example, least=SLOWEST, most=FASTEST)


@overload
def a(kind: type[_Kind], value: object, name: str, example: str) -> _Kind: ...


@overload
def a(kind: type | tuple[type, ...], value: _Given, name: str, example: str) -> _Given: ...


def a(kind: type | tuple[type, ...], value: object, name: str, example: str) -> object:
    """Return `value` where it is of a kind, or of one of several; refuse it otherwise.

    Examples
    --------
    >>> a(str, "x..x", "text", 'pattern("x..x")')
    'x..x'
    """
    kinds = kind if isinstance(kind, tuple) else (kind,)
    if not isinstance(value, kinds):
        names = " nor ".join(_KINDS.get(one, f"a {one.__name__}") for one in kinds)
        said = f"not {names}" if len(kinds) == 1 else f"neither {names}"
        raise Refusal(f"{name}={short(value)} is {said}", example, argument=name)
    return value


def flag(value: object, name: str, example: str) -> bool:
    """Return `value` as ``True`` or ``False``; 0 and 1 pass too, and all else is refused.

    Examples
    --------
    >>> flag(True, "filled", 'accents("7/8", every=5, filled=True)')
    True
    """
    if (
        isinstance(value, bool)
        or type(value).__name__ == "bool"
        or (isinstance(value, int) and 0 <= value <= 1)
    ):
        return bool(value)
    raise Refusal(f"{name}={short(value)} is neither True nor False", example, argument=name)


def path(value: object, name: str, example: str) -> Path:
    """Return `value` as a path, ``~`` written out, or refuse what can be the name of no file.

    Examples
    --------
    >>> path("journal.jsonl", "path", 'Journal("journal.jsonl")').name
    'journal.jsonl'
    """
    if not isinstance(value, str | os.PathLike) or not isinstance(os.fspath(value), str):
        raise Refusal(f"{name}={short(value)} is not a path", example, argument=name)
    try:
        text = os.fspath(value)
        if not text or b"\0" in os.fsencode(text):
            raise ValueError
        return Path(text).expanduser()
    except (ValueError, RuntimeError):  # letters that no name can have; the home of nobody
        raise Refusal(f"{name}={short(value)} can be the name of no file", example, argument=name) from None


def items(value: object, name: str, example: str, most: int = 100_000, of: str = "") -> list[Any]:
    """Return what an iterable holds; refuse text, what is no iterable, and one of more than `most` items.

    The iterable may be without end; `of` says in the message what it is a list of.

    Examples
    --------
    >>> items((2, 3, 4), "allowed", "phrases(31, allowed=(2, 3, 4))")
    [2, 3, 4]
    """
    try:
        if isinstance(value, str | bytes):
            raise TypeError
        found = list(islice(iter(value), most + 1))  # type: ignore[call-overload]  # what is no list is caught
    except TypeError:
        what = f"a list of {of}" if of else "a list"
        raise Refusal(f"{name}={short(value)} is not {what}", example, argument=name) from None
    if len(found) > most:
        raise Refusal(f"{name}={short(value)} holds more than {most:,}", example, argument=name)
    return found


def index(value: object, count: int, name: str, of: str) -> int:
    """Return `value` as an index below `count`, or refuse it; `of` says in the message what is chosen from.

    What is too large is refused as an IndexError.

    Examples
    --------
    >>> index(1, 2, "home", "pulses (7, 4)")
    1
    """
    if type(value) is int and 0 <= value < count:
        return value
    number = whole(value, name, f"{name}=0", least=0)
    if number >= count:
        there, of = (f"there is {count}", of.removesuffix("s")) if count == 1 else (f"there are {count}", of)
        raise OutOfRange(
            f"{name}={short(number)} is out of range: {there} {of}, numbered from 0",
            f"{name}={count - 1}",
            argument=name,
        )
    return number


def window(start: object, stop: object, ticks: int) -> tuple[int, int]:
    """Return a half-open window of ticks; ``None`` means the end of the cycle on that side.

    Parameters
    ----------
    start, stop : int or None
        Ticks, ``0 <= start <= stop <= ticks``.
    ticks : int
        Ticks in the cycle.

    Raises
    ------
    ValueError
        If the window does not lie inside the cycle.

    Examples
    --------
    >>> window(None, 8, 28)
    (0, 8)
    """
    if start is None and stop is None:
        return 0, ticks
    example = f"start=0, stop={min(ticks, 1000)}"
    first = 0 if start is None else whole(start, "start", example, least=0)
    last = ticks if stop is None else whole(stop, "stop", example, least=0)
    if not first <= last <= ticks:
        raise Refusal(
            f"start={short(first)}, stop={short(last)} is not a window of this cycle of "
            f"{ticks} ticks: 0 <= start <= stop <= {ticks} must hold",
            example,
            argument="start",
        )
    return first, last


def few_enough(strokes: int, first: int, last: int, call: str, most: int = MOST_STROKES) -> None:
    """Refuse to hold more strokes than `most`, and name the window that works.

    Parameters
    ----------
    strokes : int
        How many strokes the caller asked for.
    first, last : int
        The window asked for, in ticks; the ends of the cycle where none was.
    call : str
        The beginning of a call, to be completed with a window; empty for the window alone.
    most : int
        Most that are held.

    Raises
    ------
    ValueError
        If there are too many.
    """
    if strokes > most:
        example = f"{call}start={first}, stop={first + max(1, (last - first) * 1000 // strokes)}"
        example += ")" * bool(call)
        raise Refusal(
            f"{strokes:,} strokes are too many to hold at once (the most is {most:,}); look "
            f"through a window of these {last - first:,} ticks",
            example if len(example) <= 300 else "composite(Polyrhythm(7, 4))",
        )


def short(value: object) -> str:
    """Return ``repr(value)`` on one line, cut where it would not fit; whatever it is, in no time.

    Examples
    --------
    >>> short((7, 4)), len(short("x" * 10**6))
    ('(7, 4)', 60)
    """
    try:
        text = re.sub(r"\s*\n\s*", " ", repr(_cut(value)))
    except Exception as error:  # a reader's own repr may do anything
        if isinstance(value, Number | list | tuple) and isinstance(error, ValueError):
            return "a number too long to print"  # Python refuses to write out thousands of digits
        return f"a {type(value).__name__[:40]} that cannot be printed"
    return text if len(text) <= 60 else f"{text[:57]}..."


def _cut(value: object, depth: int = 3) -> object:
    """Return the beginning of what is long: no more of it than a line holds."""
    if type(value) in (str, bytes) and isinstance(value, str | bytes):
        return value[:80]
    if type(value) in (list, tuple) and isinstance(value, list | tuple):
        return type(value)(_cut(inside, depth - 1) if depth else inside for inside in value[:40])
    if type(value) is dict and len(value) > 40:
        return dict(islice(value.items(), 40))
    if type(value) in (set, frozenset) and isinstance(value, set | frozenset) and len(value) > 40:
        return type(value)(islice(value, 40))
    return value

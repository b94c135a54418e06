"""Numbers as they are written and said.

How often something happens, and how many there are of what is named and not measured (groups, hands,
kinds), are words up to nine, by `times` and `word`; what is measured or read off, ticks and strokes too, is
in figures, by `plural`.
"""

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import TypeVar

from rhythmlab.text.sentences import form, say, templates

_Item = TypeVar("_Item")
_PLURALS = {"box": "boxes", "reply": "replies"}
_ORDINALS = (
    *("first", "second", "third", "fourth", "fifth", "sixth"),
    *("seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth"),
)


def number(value: Fraction | float, digits: int = 2, *, between: str = "\N{NO-BREAK SPACE}") -> str:
    """Write a number with at most so many decimals, and no more than it needs.

    A number that is not 0 is not written as 0 where two decimals or more are allowed.
    What stands between thousands is left out where the number is to be typed again.

    Examples
    --------
    >>> number(Fraction(384, 5)), number(126), number(Fraction(400, 3)), number(Fraction(1, 300))
    ('76.8', '126', '133.33', '0.0033')
    >>> number(Fraction(10_000, 3), between="")
    '3333.33'
    """
    exact = float(value)
    if digits > 1 and 0 < abs(exact) < 0.5 * 0.1**digits:
        digits = 1 - math.floor(math.log10(abs(exact)))
    text = f"{exact:,.{digits}f}".replace(",", between)
    return text.rstrip("0").rstrip(".") if "." in text else text


def seconds(value: Fraction | float) -> str:
    """Write a time in seconds.

    Examples
    --------
    >>> seconds(Fraction(10, 3)), seconds(1), seconds(Fraction(1, 20))
    ('3.3 seconds', '1 second', '0.05 seconds')
    """
    text = number(value, 1 if value >= 1 else 2)
    return say("counted.second.one" if text == "1" else "counted.second.other", count=text)


def about_seconds(value: Fraction) -> str:
    """Write a time for a room: the nearest whole second, and that it is not quite that; digits below 2.

    Examples
    --------
    >>> about_seconds(Fraction(37, 2)), about_seconds(Fraction(240)), about_seconds(Fraction(5, 4))
    ('about 18 seconds', '240 seconds', '1.2 seconds')
    """
    nearest = Fraction(round(value)) if value >= 2 else value
    return seconds(value) if nearest == value else say("time.about", time=seconds(nearest))


def times(count: int, beside: Iterable[int] = ()) -> str:
    """Write how often: in words up to nine, and in figures where another count in the sentence needs them.

    Examples
    --------
    >>> times(2), times(7), times(12), times(7, beside=[12])
    ('twice', 'seven times', '12 times', '7 times')
    """
    known = templates().get(f"times.{count}")
    return known or say("times.more", count=alike([count, *beside])[0])


def alike(counts: Sequence[int]) -> list[str]:
    """Write counts of one sentence alike: all in words, or all in figures where one is more than nine.

    Examples
    --------
    >>> alike([2, 9]), alike([2, 12])
    (['two', 'nine'], ['2', '12'])
    """
    words = [templates().get(f"small.{count}", "") for count in counts]
    return words if all(words) else [number(count) for count in counts]


def nth(index: int) -> str:
    """Write which one of several, counted from 0.

    Examples
    --------
    >>> nth(0), nth(3), nth(11), nth(20)
    ('first', 'fourth', '12th', '21st')
    """
    if index < 8:
        return _ORDINALS[index]
    teens, last = (index + 1) % 100 // 10 == 1, (index + 1) % 10
    return f"{index + 1}{'th' if teens else {1: 'st', 2: 'nd', 3: 'rd'}.get(last, 'th')}"


def word(count: int) -> str:
    """Write a small count as a word.

    Examples
    --------
    >>> word(2), word(12)
    ('two', '12')
    """
    return alike([count])[0]


def share_name(parts: int) -> str:
    """Name one of so many equal parts.

    Examples
    --------
    >>> share_name(3), share_name(12), share_name(13)
    ('third', 'twelfth', '1/13')
    """
    return _ORDINALS[parts - 1] if 2 < parts <= len(_ORDINALS) else f"1/{parts}"


def plural(count: int | Fraction, word: str) -> str:
    """Write a count with its word.

    Examples
    --------
    >>> plural(1, "sound"), plural(10, "sound"), plural(2, "box"), plural(100, "bpm")
    ('1 sound', '10 sounds', '2 boxes', '100 bpm')
    """
    if f"counted.{word}.one" in templates():
        return say(f"counted.{word}.{form(count)}", count=number(count))
    same = count == 1 or word in ("bpm", "ms")
    return f"{number(count)} {word if same else _PLURALS.get(word, f'{word}s')}"


def some(items: Iterable[object], most: int = 16, joint: str = ", ") -> str:
    """Write a list, the middle left out where it is long.

    Examples
    --------
    >>> some(range(30), most=6)
    '0, 1, 2 … 27, 28, 29'
    """
    return " \N{HORIZONTAL ELLIPSIS} ".join(joint.join(map(str, end)) for end in both_ends(list(items), most))


def both_ends(row: Sequence[_Item], most: int) -> tuple[Sequence[_Item], ...]:
    """Return a row, or its two ends where it is longer than that.

    Examples
    --------
    >>> both_ends("abcdefg", 4), both_ends("abc", 4)
    (('ab', 'fg'), ('abc',))
    """
    return (row,) if len(row) <= most else (row[: most // 2], row[-(most // 2) :])

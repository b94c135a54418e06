"""Progress: how fast each day's first, cold take was, and the fastest one after it, towards the goal."""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from itertools import pairwise
from numbers import Integral
from typing import Any

from rhythmlab.core.check import MOST_TICKS, items, positive, short, whole
from rhythmlab.core.long_work import say
from rhythmlab.core.public import public
from rhythmlab.core.types import Number
from rhythmlab.draw.fit import LETTER, every_so_many
from rhythmlab.draw.scene import WIDTH, Line, Mark, Rule, Scene, Stroke, Text
from rhythmlab.practice.history import PastTake, PastTakes, kind_of, past_takes
from rhythmlab.refusal import Refusal
from rhythmlab.text.numbers import number, plural

#: Days shown at most: strokes of more could not be told apart.
MOST_DAYS = 20
#: Takes looked through at most, and the slowest and the fastest goal, in beats a minute of any pulse.
MOST_TAKES, SLOWEST, MOST_BPM = 100_000, 1, 10_000
#: Seconds that a take needs.
_TAKE_S = 1.5e-4
#: Longest text of an entry that is looked at.
LONGEST_TEXT = 1_000
#: Columns at least, so that the first days leave room for the next.
LEAST_DAYS = 7
#: Gutters in px: tempos on the left, the goal on the right.
LEFT, RIGHT = 128, 128

#: Lanes that give the cold and the warm takes their shapes; the first two stand for pulses elsewhere.
_COLD, _WARM = 2, 3
_TOP, _HIGH = 1.3, 5.0  # rows: where the drawing begins, and how high it is
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class _Day:
    day: date
    cold: PastTake
    warm: PastTake | None


@public("pictures.progress([])")
def progress(
    rows: Iterable[Mapping[str, Any]] | PastTakes, goal: Number | None = None, *, pulse: int | None = None
) -> Scene:
    """Draw the tempo of each day of practice: its first take, cold, and the fastest take after it.

    Each day is a column; a square is the cold take, a small triangle the fastest warm one.  Days without
    practice are left out.

    Parameters
    ----------
    rows : iterable of dict
        Takes of one pair with one kind of limbs, such as ``Journal().takes(pair=(4, 3), limbs="hands")``;
        any other entries are left out.
    goal : number, optional
        Tempo wanted, beats a minute.
    pulse : int, optional
        Index of the pulse to say the tempos in; that of the last take when left out.

    Returns
    -------
    Scene
        The last 20 days of practice, said in the text alternative.  x is in quarters of a day's column.

    Raises
    ------
    ValueError
        If the takes are of several kinds, one has no tempo or time, or the goal is no tempo.

    Examples
    --------
    >>> take = {"pair": [4, 3], "limbs": "hands", "pulse": 1, "spread_percent": 3.1}
    >>> rows = [{**take, "when": f"2030-05-0{n}T18:00:00+02:00", "bpm": 84 + n} for n in (1, 2, 3)]
    >>> progress(rows, goal=100).alt
    'Tempo over 3 days of practice, 4 against 3, hands: the first take of the day, cold, went from 85 bpm \
of the 3 on 1 May to 87 on 3 May; no day had a second take; the goal is 100 bpm; spread of the first \
takes 3.1 % on 1 May and 3.1 % on 3 May.'
    """
    example = "pictures.progress(practice.Journal().takes(), goal=120)"
    aim = None if goal is None else positive(goal, "goal", example, least=SLOWEST, most=MOST_BPM)
    if pulse is not None:
        pulse = whole(pulse, "pulse", f"{example[:-1]}, pulse=1)", least=0)
    if isinstance(rows, PastTakes):
        played = rows
    else:
        found = items(rows, "rows", example, most=MOST_TAKES)
        say(f"Progress over {plural(len(found), 'take')}", seconds=len(found) * _TAKE_S)
        takes = [row for i, row in enumerate(found) if _is_take(row, f"rows[{i}]", example)]
        _alike(takes)
        timed = [take for take in takes if isinstance(take.get("when"), str | datetime)]
        latest: Mapping[str, Any] = max(timed, key=lambda take: str(take["when"]), default={})
        of = latest.get("pulse") if pulse is None else pulse
        played = past_takes(takes, pulse=of if isinstance(of, int) else None)
    by_day = _by_day(played)
    shown = [_day(day, takes_of) for day, takes_of in list(by_day.items())[-MOST_DAYS:]]
    if not shown:
        wanted = f" The goal is {number(aim)} bpm." if aim else ""
        said = f"No take has been kept yet, so there is no progress to draw.{wanted}"
        text = Text(0, 0.75, said, side="from")
        return Scene("progress", said, (text,), 0, 4, 1.5, left=24, right=24, moves=False)
    columns = max(len(shown), LEAST_DAYS)
    stop = 4 * columns
    place = _scale(shown, aim)
    marks = _frame(shown, stop, place, aim)
    cold = [
        Stroke(4 * i + 1, place(day.cold.bpm), _COLD, small=_failed(day.cold)) for i, day in enumerate(shown)
    ]
    warm = [
        Stroke(4 * i + 3, place(day.warm.bpm), _WARM, small=True) for i, day in enumerate(shown) if day.warm
    ]
    marks += [Line(one.x, one.y, two.x, two.y, "thread") for one, two in pairwise(cold)]
    foot = _TOP + _HIGH + 0.6
    every = every_so_many((WIDTH - LEFT - RIGHT) / columns, 6)
    labels = [(4 * i + 2, _short(day.day)) for i, day in enumerate(shown) if i % every == 0]
    marks += [*cold, *warm]
    marks += [Text(x, foot, text, "small") for x, text in labels]
    spread = _spread(shown)
    if spread:
        marks.append(Text(0, foot + 0.8, f"{spread[0].upper()}{spread[1:]}.", "small", "from"))
    rows_high = foot + (1.3 if spread else 0.5)
    alt = _alt(len(by_day), shown, played, aim, spread)
    return Scene("progress", alt, tuple(marks), 0, stop, rows_high, left=LEFT, right=RIGHT, moves=False)


def _is_take(row: object, name: str, example: str) -> bool:
    """Whether a row is a take, and not another entry of a journal; what no journal keeps is refused."""
    if not isinstance(row, Mapping):
        raise Refusal(f"{name}={short(row)} is not a take", example, argument=name)
    for key in ("kind", "limbs", "id"):
        value = row.get(key)
        if isinstance(value, int) and key == "id":
            continue
        if not isinstance(value, str | None) or len(value or "") > LONGEST_TEXT:
            wrong = f"is not text of at most {LONGEST_TEXT} letters"
            raise Refusal(f"{key}={short(value)} of {name} {wrong}", example, argument=key)
    pulse = row.get("pulse")
    if not isinstance(pulse, int | None):
        raise Refusal(
            f"pulse={short(pulse)} of {name} is not the index of a pulse", example, argument="pulse"
        )
    pair = row.get("pair")
    pair = getattr(pair, "pulses", pair)
    numbers = pair if isinstance(pair, list | tuple) else []
    known = all(isinstance(one, Integral) and 0 < int(one) <= MOST_TICKS for one in numbers)
    if not isinstance(pair, str | list | tuple | None) or len(pair or "") > LONGEST_TEXT or not known:
        raise Refusal(f"pair={short(pair)} of {name} is not a pair of numbers", example, argument="pair")
    return bool(row.get("kind", "take") == "take")


def _alike(takes: list[Mapping[str, Any]]) -> None:
    """Refuse takes of several pairs, or by several kinds of limbs, since each has its own tempo."""
    kinds = list(dict.fromkeys(map(kind_of, takes)))
    if len(kinds) > 1:
        said = "; ".join(f"pair={short(pair)}, limbs={short(limbs)}" for pair, limbs in kinds[:3])
        raise Refusal(
            f"these takes are of {len(kinds)} kinds ({said}), and each has its own tempo; choose one",
            'pictures.progress(practice.Journal().takes(pair=(4, 3), limbs="hands"))',
        )


def _failed(row: PastTake) -> bool:
    """Whether a take would not pass: spread over 4 %, or more than one stroke in twenty missed."""
    return row.spread is not None and bool(row.failing(Fraction(4), Fraction(1, 20)))


def _by_day(rows: PastTakes) -> dict[date, list[PastTake]]:
    by_day: dict[date, list[PastTake]] = {}
    for row in rows:
        by_day.setdefault(row.day, []).append(row)
    return by_day


def _day(day: date, played: list[PastTake]) -> _Day:
    first, *later = played
    passed = (row for row in later if not _failed(row))
    return _Day(day, first, max(passed, key=lambda row: row.bpm, default=None))


def _range(days: list[_Day], aim: Fraction | None) -> tuple[Fraction, Fraction]:
    tempos = [row.bpm for day in days for row in (day.cold, day.warm) if row]
    tempos += [aim] if aim else []
    return min(tempos), max(tempos)


def _scale(days: list[_Day], aim: Fraction | None) -> Callable[[Fraction], float]:
    """Return the row that a tempo stands at: the slowest and the fastest keep clear of the edges."""
    low, high = _range(days, aim)
    room = (high - low) or Fraction(1)
    return lambda bpm: (
        _TOP + 0.4 + (_HIGH - 0.8) * float((high - bpm) / room if high > low else Fraction(1, 2))
    )


def _frame(
    days: list[_Day], stop: int, place: Callable[[Fraction], float], aim: Fraction | None
) -> list[Mark]:
    """Draw the words above, a column for each day, the tempos in the gutter, and the goal."""
    bottom = _TOP + _HIGH
    words_above = (
        "■ cold: the first take of the day, small where it did not pass    ▲ warm: the fastest that passed"
    )
    marks: list[Mark] = [Text(0, 0.6, words_above, "small", "from")]
    marks += [Rule(4 * i, _TOP, bottom, "hair") for i in range(len(days) + 1)]
    low, high = _range(days, aim)
    taken = []
    if aim is not None:
        taken.append(place(aim))
        marks.append(Line(0, place(aim), stop, place(aim), "beat"))
        marks.append(Text(0, place(aim), f"goal {_bpm(aim)}", "small", "right"))
    for bpm in _nice(low, high):
        y = place(bpm)
        if not any(abs(y - other) < 0.05 for other in taken):
            marks.append(Line(0, y, stop, y, "hair"))
        marks.append(Text(0, y, f"{_bpm(bpm)} bpm", "small", "left"))
    return marks


def _nice(low: Fraction, high: Fraction) -> list[Fraction]:
    """Return at most six round tempos in a range; the middle of it where none is round."""
    if low == high:
        return [low]
    size = math.floor(math.log10((high - low) / 5))
    steps = (n * Fraction(10) ** e for e in (size, size + 1) for n in (1, 2, 5))
    step = next(step for step in steps if (high - low) / step <= 5)
    return [n * step for n in range(math.ceil(low / step), math.floor(high / step) + 1)] or [low]


def _bpm(bpm: Fraction) -> str:
    """Write a tempo so that it fits in a gutter."""
    text = number(bpm)
    return text if LETTER * len(f"goal {text}") < RIGHT - 24 else f"{float(bpm):.2g}"


def _short(day: date) -> str:
    return f"{day.day} {_MONTHS[day.month - 1]}"


def _spread(days: list[_Day]) -> str:
    """Say the spread of the first and the last cold take that has one."""
    known = [(day.cold.spread, day.day) for day in days if day.cold.spread is not None]
    said = [f"{number(spread, 1)} % on {_short(day)}" for spread, day in known[:1] + known[1:][-1:]]
    if not said:
        return ""
    return f"spread of the first takes {' and '.join(said)}"


def _alt(days: int, shown: list[_Day], rows: PastTakes, aim: Fraction | None, spread: str) -> str:
    (pair, limbs), of = rows.kind, rows.pulse
    name = " against ".join(map(str, pair)) if isinstance(pair, tuple) else pair or ""
    unit = "bpm"
    if isinstance(pair, tuple) and isinstance(of, int) and 0 <= of < len(pair):
        unit = f"bpm of the {pair[of]}"
    what = "".join(f", {text}" for text in (name, limbs) if text)
    part = f"the last {len(shown)} of " if len(shown) < days else ""
    first, last = shown[0], shown[-1]
    over = f"{part}{plural(days, 'day')}"
    text = f"Tempo over {over} of practice{what}: the first take of the day, cold, "
    if len(shown) == 1:
        text += f"was at {number(first.cold.bpm)} {unit} on {_short(first.day)}"
    else:
        text += (
            f"went from {number(first.cold.bpm)} {unit} on {_short(first.day)} "
            f"to {number(last.cold.bpm)} on {_short(last.day)}"
        )
    warm = [(day.warm.bpm, day.day) for day in shown if day.warm]
    if warm:
        bpm, on = max(warm, key=lambda one: one[0])
        text += f"; the fastest take after it was at {number(bpm)} on {_short(on)}"
    else:
        text += "; no day had a second take"
    text += f"; the goal is {number(aim)} bpm" if aim else ""
    return f"{text}{f'; {spread}' if spread else ''}."

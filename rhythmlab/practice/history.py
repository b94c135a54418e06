"""Past takes as the ladder and the pictures look at them: day, tempo, spread; the first is cold."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction
from functools import lru_cache
from itertools import islice
from numbers import Number
from typing import Any

from rhythmlab.core.check import a, items, short
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.rhythm import as_polyrhythm
from rhythmlab.refusal import Refusal
from rhythmlab.text import numbers
from rhythmlab.text.sentences import say

#: Most takes that are looked through, and most letters and digits of a number that a row holds.
MOST_TAKES, _LETTERS, _DIGITS = 100_000, 3_000, 30
#: An exponent that would make a number of a thousand digits or more.
_FAR = re.compile(r"[eE][-+]?[\d_]{4}")
#: How long a pair may be: as many pulses as a polyrhythm has at most.
_PULSES = 256

#: A day of practice lasts until four in the morning, so that a late session is one day (own choice).
NIGHT = timedelta(hours=4)

_CLIMB = "practice.Ladder(60, 96).climb(practice.Journal().takes(pair=(7, 4)))"
_ROW = '{"when": "2030-05-04T18:30:00+02:00", "pair": [4, 3], "limbs": "hands", "bpm": 84}'


@dataclass(frozen=True, slots=True)
class PastTake:
    """A take, as much of it as the ladder looks at.

    Attributes
    ----------
    when : datetime
        When it was played.
    day : date
        Its day of practice, which lasts until four in the morning.
    cold : bool
        Whether it was the day's first of this pair with these limbs.
    bpm : Fraction
        Its tempo.
    spread : Fraction or None
        Spread of its strokes in percent of the interval, where it was measured.
    missed, meant : int
        Strokes left out, and strokes there should have been.
    wrong : str
        What was wrong with all of it, so that its other numbers say nothing, or what it is told to mend
        however even it was.
    """

    when: datetime
    day: date
    cold: bool
    bpm: Fraction
    spread: Fraction | None
    missed: int
    meant: int
    wrong: str = ""

    def failing(self, spread: Fraction, missed: Fraction) -> str:
        """Say why the take does not pass, or nothing if it does.

        Parameters
        ----------
        spread : Fraction
            Largest spread that passes, percent of the interval.
        missed : Fraction
            Largest share of missed strokes that passes.
        """
        if self.wrong:
            return self.wrong
        if self.spread is None:
            return "its spread was not measured"
        if not self.meant:
            return "no stroke was meant"
        if self.missed > missed * self.meant:
            return f"{self.missed} of {numbers.plural(self.meant, 'stroke')} were missed"
        if self.spread > spread:
            return f"its spread was {numbers.number(self.spread, 1)} %, over {numbers.number(spread, 1)} %"
        return ""


class PastTakes(tuple[PastTake, ...]):
    """Takes of one kind, by time.

    Attributes
    ----------
    kind : tuple
        Their pair and their limbs.
    pulse : int or None
        The pulse that their tempos are said in.
    """

    kind: tuple[object, str] = (None, "")
    pulse: int | None = None


def past_takes(
    takes: Iterable[Mapping[str, Any]] | PastTakes,
    *,
    pair: object = None,
    limbs: str | None = None,
    pulse: int | None = None,
) -> PastTakes:
    """Return the takes of one pair and one kind of limbs, each id once, by time, the cold ones marked.

    A take that counts for nothing, as one that the browser spoiled, is left out: it was none.

    Parameters
    ----------
    takes : iterable of dict, or PastTakes
        Past takes of this pulse come back as they are; else dicts with ``"when"`` and ``"bpm"``, and where
        they are known ``"pair"``, ``"limbs"``, ``"pulse"``, ``"spread_percent"``, ``"missed"``,
        ``"meant"``, ``"id"``, ``"late"`` and ``"interrupted"``.
    pair, limbs : optional
        Which ones; not needed where there is only one kind.
    pulse : int, optional
        Pulse to say the tempos in, where pair and pulse of a take are known.

    Raises
    ------
    ValueError
        If there are several kinds and none is chosen, or a take has no tempo or time.
    """
    if isinstance(takes, PastTakes) and pair is None and limbs is None and takes.pulse == pulse:
        return takes
    chosen: dict[object, tuple[tuple[object, str], Mapping[str, Any]]] = {}
    asked = asked_pair(pair, _CLIMB)
    asked_limbs(limbs, _CLIMB)
    for number, take in enumerate(takes_in(takes, _CLIMB)):
        if take.get("kind", "take") != "take" or uncounted(take):
            continue
        kind = kind_of(take)
        if (asked is None or kind[0] == asked) and (limbs is None or kind[1] == limbs):
            known = take.get("id")
            chosen.setdefault(known if isinstance(known, str | int) and known else number, (kind, take))
    kinds = list(dict.fromkeys(kind for kind, _ in chosen.values()))
    if len(kinds) > 1:
        said = "; ".join(f"pair={short(pulses)}, limbs={short(hands)}" for pulses, hands in kinds[:6])
        raise Refusal(
            f"these takes are of {len(kinds)} kinds ({said}), and each has its own tempo; choose one",
            f"pair={kinds[0][0]!r}, limbs={kinds[0][1]!r}",
        )
    rows: list[PastTake] = []
    days: set[date] = set()
    for when, take in sorted(((_when(take), take) for _, take in chosen.values()), key=lambda row: row[0]):
        day = day_of(when)
        cold = day not in days
        days.add(day)
        missed, meant = _count(take.get("missed")), _count(take.get("meant"))
        spread = number_of(take.get("spread_percent"))
        rows.append(
            PastTake(when, day, cold, _bpm(take, kinds[0][0], pulse), spread, missed, meant, to_mend(take))
        )
    made = PastTakes(rows)
    made.kind, made.pulse = kinds[0] if kinds else (None, ""), pulse
    return made


def spoiled(take: Mapping[str, Any]) -> bool:
    """Whether the browser disturbed a take, so that it counts for nothing.

    Examples
    --------
    >>> spoiled({"late": 3}), spoiled({"late": 0}), spoiled({"interrupted": True})
    (True, False, True)
    """
    return _count(take.get("late")) > 0 or take.get("interrupted") is True


def uncounted(take: Mapping[str, Any]) -> bool:
    """Whether a take counts for nothing: the browser disturbed it, or it has no stroke to judge.

    Examples
    --------
    >>> uncounted({"late": 3}), uncounted({"cause": "count_in"}), uncounted({"missed": 1, "meant": 28})
    (True, True, False)
    >>> uncounted({"missed": 28, "meant": 28})
    True
    """
    if spoiled(take) or take.get("cause") == "count_in":
        return True
    return 0 < _count(take.get("meant")) == _count(take.get("missed")) and not wrong(take)


def wrong(take: Mapping[str, Any]) -> str:
    """Say what was wrong with all of a take, so that its missed strokes and its spread say nothing.

    Examples
    --------
    >>> wrong({"cause": "swapped"}), wrong({})
    ('the sides were swapped', '')
    """
    return {
        "count_in": say("wrong.count_in"),
        "one_key": say("wrong.one_key"),
        "another": say("wrong.another"),
        "swapped": say("wrong.swapped"),
        "shifted": say("wrong.shifted"),
        "slipped": say("wrong.slipped"),
        "waited": say("wrong.waited"),
        "changed": say("wrong.changed"),
        "parted": say("wrong.parted"),
        "locked": say("wrong.locked"),
        "evened": say("wrong.evened"),
        "silent": say("wrong.silent"),
    }.get(str(take.get("cause")), "")


def to_mend(take: Mapping[str, Any]) -> str:
    """Say what a take is told to mend, however even it was: it passes no step, so that it has one verdict.

    Examples
    --------
    >>> to_mend({"cause": "swapped"}), to_mend({"cause": "hand"}), to_mend({})
    ('the sides were swapped', 'one pulse came late or early', '')
    """
    return wrong(take) or {
        "added": say("mend.added"),
        "hand": say("mend.hand"),
        "missing": say("mend.missing"),
        "place": say("mend.place"),
        "stretch": say("mend.stretch"),
    }.get(str(take.get("cause")), "")


def _count(value: object) -> int:
    """Return a number of strokes that a row holds; 0 where it holds none."""
    return value if type(value) is int else int(number_of(value) or 0)


def takes_in(takes: object, example: str) -> list[Mapping[str, Any]]:
    """Return the takes of a list, or refuse what is none."""
    rows = items(takes, "takes", example, MOST_TAKES, "takes")
    for row in rows:
        a(Mapping, row, "a row of takes", example)
    return rows


def asked_pair(pair: object, example: str) -> object:
    """Return the pair that a reader asks for, or refuse what is none; ``None`` is any."""
    found = pair_of(pair)
    good = isinstance(found, tuple) or (isinstance(pair, str) and pair)
    if pair is not None and not good:
        raise Refusal(f"pair={short(pair)} is not a pair", example, argument="pair")
    return found


def asked_limbs(limbs: object, example: str) -> None:
    """Refuse limbs that are no text; ``None`` is any."""
    if limbs is not None:
        a(str, limbs, "limbs", example)


def kind_of(take: Mapping[str, Any]) -> tuple[object, str]:
    """Return what a take is of: its pair, and the limbs that played it."""
    limbs = take.get("limbs")
    return pair_of(take.get("pair")), limbs if isinstance(limbs, str) else ""


def _when(take: Mapping[str, Any]) -> datetime:
    """Return the time of a take, or refuse one without its UTC offset."""
    try:
        when = take["when"]
        when = datetime.fromisoformat(when) if isinstance(when, str) else when
        if when.utcoffset() is not None and day_of(when):
            return when
    except (KeyError, ValueError, AttributeError, TypeError, OverflowError):
        pass
    raise Refusal(
        f"when={short(take.get('when'))} of the take {short(take.get('id', ''))} is not "
        "a time with its UTC offset",
        _ROW,
        argument="when",
    )


def _bpm(take: Mapping[str, Any], pair: object, pulse: int | None) -> Fraction:
    """Return the tempo of a take, said in the pulse asked for where that is known."""
    bpm = number_of(take.get("bpm"))
    if bpm is None or bpm <= 0:
        raise Refusal(
            f"bpm={short(take.get('bpm'))} of the take {short(take.get('id', ''))} is not a tempo above 0",
            _ROW,
            argument="bpm",
        )
    of = take.get("pulse")
    if of == pulse or not isinstance(pair, tuple) or not isinstance(of, int) or pulse is None:
        return bpm
    known = 0 <= of < len(pair) and pulse < len(pair) and pair[of] > 0
    return bpm * pair[pulse] / pair[of] if known else bpm


def day_of(when: datetime | str) -> date:
    """Return the day of practice that a time belongs to, as its own clock showed it.

    Parameters
    ----------
    when : datetime or str
        A time, or its ISO 8601 text.

    Examples
    --------
    >>> day_of("2030-05-04T23:50:00+02:00") == day_of("2030-05-05T00:20:00+02:00")
    True
    """
    return ((datetime.fromisoformat(when) if isinstance(when, str) else when) - NIGHT).date()


def pair_of(pair: object) -> tuple[int, ...] | str | None:
    """Return the numbers of a pair, however it is given; other text stays as it is.

    Examples
    --------
    >>> pair_of("4:3"), pair_of([4, 3]), pair_of("4 against 3"), pair_of("groove")
    ((4, 3), (4, 3), (4, 3), 'groove')
    """
    if isinstance(pair, Cycle):
        try:
            pair = as_polyrhythm(pair, "pair", "pair=(7, 4)")
        except Refusal:  # the caller says what is wrong
            return short(pair)
    if type(pair) is not list:
        pair = getattr(pair, "pulses", pair)
    if isinstance(pair, str):
        parts = [part.strip() for part in pair.replace("against", ":").split(":")]
        good = all(part.isdecimal() and len(part) <= _DIGITS for part in parts)
        return tuple(map(int, parts)) if good else pair
    try:
        row: Any = pair  # what is no row of numbers is caught
        pulses = None if row is None else tuple(map(int, islice(row, _PULSES)))
        if pulses is None or all(abs(pulse) < 10**_DIGITS for pulse in pulses):
            return pulses
    except (TypeError, ValueError, OverflowError):
        pass
    return short(pair)


def number_of(value: object) -> Fraction | None:
    """Return a number as it is kept, exactly; ``None`` where there is none.

    Examples
    --------
    >>> number_of(84), number_of("171/2"), number_of(3.1), number_of(None)
    (Fraction(84, 1), Fraction(171, 2), Fraction(31, 10), None)
    """
    if isinstance(value, bool) or not isinstance(value, Number | str):
        return None
    try:
        return _exact(str(value))
    except (ValueError, ZeroDivisionError):
        return None


@lru_cache(maxsize=2**15)  # in a journal of years the same few numbers come again and again
def _exact(text: str) -> Fraction | None:
    """Return the number that a text holds, unless it is too long or too large."""
    number = Fraction(text) if len(text) <= _LETTERS and not _FAR.search(text) else None
    return None if number is None or abs(number) >= 10**_DIGITS else number

"""Limits of hearing, of the beat and of care, with unit, source and status; the reader can move them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from difflib import get_close_matches
from fractions import Fraction
from functools import cache
from typing import Literal, TypeAlias, overload

from rhythmlab.core.check import positive, short
from rhythmlab.core.display import InNotebook, Printed
from rhythmlab.core.public import public
from rhythmlab.refusal import Refusal, Unknown
from rhythmlab.resources import table
from rhythmlab.text.sentences import say

#: Least and most that a limit can be moved to, in its own unit: a thousandth, and a million.
LEAST, MOST = Fraction(1, 1000), 1_000_000
#: Limits of which both ends are published.
Ranges: TypeAlias = Literal[
    "one_sound",
    "beat",
    "beat_preferred",
    "part_heard",
    "bar_longest",
    "tap_lead",
    "practice_warmup",
    "part_helps",
    "hand_two",
    "hand_sustained",
]


@dataclass(frozen=True)
class Limit(InNotebook):
    """A borrowed number.

    Attributes
    ----------
    key : str
        Its name.
    number : Fraction or None
        What `value` gives; ``None`` where only a range is published.
    low, high : Fraction or None
        Ends of the published range, as far as they are published.
    unit : str
        Unit of all three.
    meaning : str
        What it limits, in a sentence.
    source : str
        Key in ``data/sources.csv``.
    page : str
        Where in the source.
    status : str
        ``"read"``, ``"quoted elsewhere"``, ``"computed"``, ``"from memory"``, ``"common practice"``,
        ``"our choice"`` or ``"moved"``.
    """

    key: str
    number: Fraction | None
    low: Fraction | None
    high: Fraction | None
    unit: str
    meaning: str
    source: str
    page: str
    status: str

    @property
    def value(self) -> Fraction:
        """The number, in `unit`.

        Raises
        ------
        ValueError
            Where only a range is published.
        """
        if self.number is None:
            raise Refusal(f"{self.key} is a published range without one value", f'limits()["{self.key}"].low')
        return self.number

    def __repr__(self) -> str:
        known = f"[{self.source}, {self.status}]"
        return f"{type(self).__name__}({self.key}: {_number_text(self)} {self.unit} {known})"

    @property
    def citation(self) -> str:
        """The source in full."""
        return self._source["citation"]

    @property
    def named(self) -> str:
        """The source as a sentence names it, also inside brackets.

        Examples
        --------
        >>> limits()["tap_sd_novice"].named
        'Repp 2005'
        """
        return self._source["named"]

    @property
    def _source(self) -> dict[str, str]:
        return source_row(self.source)


def source_row(key: str) -> dict[str, str]:
    """Return what is known of a source.

    Examples
    --------
    >>> source_row("selfpaced1999")["named"]
    'Perceptual and Motor Skills 1999'
    """
    return next(row for row in table("sources.csv") if row["key"] == key)


@dataclass(frozen=True, repr=False)
class Range(Limit):
    """A borrowed range, both ends published; it has a `value` too where the source gives one."""

    low: Fraction
    high: Fraction


class Limits(Printed, Mapping[str, Limit]):
    """All limits by name; prints as a table."""

    def __init__(self, rows: dict[str, Limit]) -> None:
        self._rows = rows

    @overload
    def __getitem__(self, key: Ranges) -> Range: ...

    @overload
    def __getitem__(self, key: str) -> Limit: ...

    def __getitem__(self, key: str) -> Limit:
        if not isinstance(key, str) or key not in self._rows:
            raise Unknown(_no_limit(key, self._rows), 'limits()["flam"]')
        return self._rows[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._rows)

    def __len__(self) -> int:
        return len(self._rows)

    def __str__(self) -> str:
        return "\n".join(
            f"{row.key:20} {_number_text(row):>9} {row.unit:24} {row.meaning} [{row.source}, {row.status}]"
            for row in self.values()
        )

    _repr_pretty_ = Printed._repr_pretty_

    def __repr__(self) -> str:
        moved = [f"{row.key}={_number_text(row)}" for row in self.values() if row.status == "moved"]
        said = f", moved: {', '.join(moved[:6])}{', …' * (len(moved) > 6)}" if moved else ""
        return f"Limits({len(self)} numbers{said}; print them to see them with their sources)"


@public("limits(flam=30)")
def limits(**moved: int | float | Fraction | Decimal) -> Limits:
    """Return the limits, with any of them moved.

    Parameters
    ----------
    **moved : number
        New values by name, in the limit's own unit; a number above 0.

    Returns
    -------
    Limits
        A mapping from name to `Limit`.

    Raises
    ------
    ValueError
        If there is no such limit, it has no single value to move, or the number is not above 0.

    Examples
    --------
    >>> limits()["flam"].value, limits()["flam"].status
    (Fraction(40, 1), 'quoted elsewhere')
    >>> limits(flam=30)["flam"].value
    Fraction(30, 1)
    """
    rows = dict(_published())
    for key, value in moved.items():
        if key not in rows:
            raise Refusal(_no_limit(key, rows), "limits(flam=30)")
        if rows[key].number is None:
            raise Refusal(
                f"limit {key!r} is a published range without one value, so it cannot be moved",
                "limits(flam=30)",
            )
        moved_to = positive(value, f"limit {key}", "limits(flam=30)", least=LEAST, most=MOST, digits=100)
        rows[key] = replace(rows[key], number=moved_to, status="moved")
    return Limits(rows)


@cache
def _published() -> Mapping[str, Limit]:
    """Return the limits by name as they were published."""
    rows: dict[str, Limit] = {}
    for row in table("limits.csv"):
        numbers = {name: Fraction(row[name]) if row[name] else None for name in ("value", "low", "high")}
        low, high = numbers["low"], numbers["high"]
        rest = (row["unit"], row["meaning"], row["source"], row["page"], row["status"])
        rows[row["key"]] = (
            Limit(row["key"], numbers["value"], low, high, *rest)
            if low is None or high is None
            else Range(row["key"], numbers["value"], low, high, *rest)
        )
    return rows


def limits_or(given: object, example: str = "limits(flam=30)") -> Limits:
    """Return the limits given, or those published where none are; refuse what is no `Limits`.

    Examples
    --------
    >>> limits_or(None, "check_sticking('RLRR', 125, limits=limits(hand_two=70))")["hand_two"].value
    Fraction(62, 1)
    """
    if given is None:
        return limits()
    if not isinstance(given, Limits):
        raise Refusal(f"limits={short(given)} are not Limits", example, argument="limits")
    return given


def _no_limit(key: object, rows: Mapping[str, Limit]) -> str:
    """Say that there is no such limit, and what may be meant, or all that there are."""
    near = get_close_matches(key, rows, n=3, cutoff=0.5) if isinstance(key, str) and len(key) < 40 else []
    what = f"did you mean {' or '.join(near)}?" if near else f"there are {', '.join(rows)}"
    return f"there is no limit {short(key)}; {what}"


def _number_text(limit: Limit) -> str:
    if limit.number is None:
        return f"{float(limit.low or 0):g}-{float(limit.high or 0):g}"
    return f"{float(limit.number):g}"


def source_text(limit: Limit) -> str:
    """Name the source of a limit, as it stands in brackets.

    Examples
    --------
    >>> source_text(limits()["hand_two"]), source_text(limits(flam=30)["flam"])
    ('common practice', 'your own limit')
    >>> source_text(limits()["cycle_longest"]), source_text(limits()["ones_longest"])
    ('our own choice', 'Repp 2006')
    """
    if limit.status == "moved":
        return say("limit.own")
    if limit.status == "common practice":
        return limit.status
    return limit.named.lower() if limit.status == "our choice" else limit.named

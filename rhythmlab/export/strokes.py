"""Every stroke of a cycle as a row of a table, for spreadsheets and for other programs."""

import csv
import io
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import numpy as np

from rhythmlab.core import bounds
from rhythmlab.core.bounds import chosen_cycle
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.display import InNotebook, Written
from rhythmlab.core.feel import places
from rhythmlab.core.long_work import say, shown
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed
from rhythmlab.files import save, with_ending
from rhythmlab.text import counts, numbers

#: Most rows: what the sheet of a spreadsheet holds, about.
MOST = 1_000_000
#: Seconds and megabytes that a row takes, and a line of text made from one.
_ROW_S, _ROW_MB, _LINE_S, _LINE_MB = 4e-5, 6e-4, 2e-5, 1e-4

_WRITE = "strokes(Polyrhythm(7, 4), Tempo(72, pulse=1)).write({})"

#: What a spreadsheet takes for the beginning of a formula, wide forms too (OWASP, "CSV Injection").
_FORMULA = tuple("=+-@\t\r\n＝＋－＠")


class StrokeRow(NamedTuple):
    """One row: a stroke of a lane.

    Attributes
    ----------
    tick : int
        Where it is in the cycle, from 0.
    beat : str
        How it is counted, such as ``"a of 2"`` or ``"2.6"``, and in which bar where there are several;
        empty where the cycle has no beats.
    second : Fraction
        Seconds from the beginning of the cycle, exact.
    lane, limb : str
        Who plays it.
    """

    tick: int
    beat: str
    second: Fraction
    lane: str
    limb: str


@public_class("strokes((7, 4), 72)", write='strokes((7, 4), 72).write("7-4.csv")')
@dataclass(frozen=True, repr=False)
class Strokes(InNotebook):
    """The strokes of a cycle, by tick and then by lane.

    Attributes
    ----------
    rows : tuple of Stroke
        One a stroke.
    """

    rows: tuple[StrokeRow, ...]

    @property
    def csv(self) -> str:
        """The table as comma-separated values (RFC 4180), seconds to the nearest microsecond.

        A text that a spreadsheet would take for a formula has an apostrophe before it.
        """
        out = io.StringIO(newline="")
        table = csv.writer(out, lineterminator="\r\n")
        table.writerow(StrokeRow._fields)
        many = len(self.rows)
        work = f"{numbers.plural(many, 'stroke')} as text"
        long = say(work, seconds=many * _LINE_S, megabytes=many * _LINE_MB, steps=True)
        for tick, beat, second, lane, limb in shown(self.rows, many, work, long=long):
            table.writerow([tick, _text(beat), microseconds(second), _text(lane), _text(limb)])
        return out.getvalue()

    def write(self, path: str | Path, *, replace: bool = False) -> Path:
        """Write the table to a ``.csv`` file, in UTF-8.

        Parameters
        ----------
        path : str or Path
            Where to; its folder must exist.
        replace : bool
            Whether a file of that name may be replaced.

        Raises
        ------
        ValueError, OSError
            As for `rhythmlab.files.save`.
        """
        path = with_ending(path, ".csv", call=_WRITE)
        return Written(save(path, self.csv.encode(errors="replace"), _WRITE, replace=replace))

    def __len__(self) -> int:
        return len(self.rows)

    def __repr__(self) -> str:
        return f"Strokes({numbers.plural(len(self.rows), 'stroke')})"


@public("strokes((7, 4), 72)")
def strokes(what: Rhythm, tempo: Speed, *, home: int | None = None) -> Strokes:
    """Return every stroke of one cycle as a table.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is played.
    tempo : Tempo or number
        The speed; a number is beats a minute of home.
    home : int, optional
        Index of the home pulse of a `Polyrhythm`, which is counted; the last one when left out.

    Returns
    -------
    Strokes
        Its `rows`, its `csv`, and `write`.

    Raises
    ------
    IndexError
        If there is no such pulse.
    ValueError
        If there are more than a million strokes, or `home` is given for a cycle.

    Examples
    --------
    >>> for row in strokes((3, 2), 72).csv.splitlines():
    ...     print(row)
    tick,beat,second,lane,limb
    0,1,0.000000,3,
    0,1,0.000000,2,
    2,let of 1,0.555556,3,
    3,2,0.833333,2,
    4,trip of 2,1.111111,3,
    """
    found, cycle, speed = chosen_cycle(what, tempo, home, "strokes", MOST)
    tick, many, lanes = speed.tick_seconds(found), bounds.size_of(found), cycle.lanes
    work = f"A table of {numbers.plural(many, 'stroke')}"
    long = say(work, seconds=many * _ROW_S, megabytes=many * _ROW_MB, steps=True)
    made = [
        (onset, i, beat)
        for i, lane in enumerate(lanes)
        for onset, beat in zip(lane.onsets.tolist(), _count_names(cycle, lane), strict=True)
    ]
    made.sort()
    return Strokes(
        tuple(
            StrokeRow(onset, beat, onset * tick, lanes[i].name, lanes[i].limb)
            for onset, i, beat in shown(made, len(made), work, long=long)
        )
    )


def _count_names(cycle: Cycle, lane: Lane) -> list[str]:
    """Return how each stroke of a lane is counted; in several bars, each bar from 1."""
    where = places(cycle, lane.onsets)
    if not where:
        return [""] * len(lane.onsets)
    if len(cycle.bars) < 2:
        return [counts.place_name(place) for place in where]
    bars = np.searchsorted(cycle.bars, cycle.beats, side="right")
    firsts = np.searchsorted(bars, bars)  # the first beat of each beat's bar
    bar_of, first_of = bars.tolist(), firsts.tolist()
    begin = getattr(cycle, "from_bar", 1) - 1
    said = []
    for place in where:
        beat = place.beat - 1
        name = counts.place_name(replace(place, beat=place.beat - first_of[beat]))
        said.append(f"bar {bar_of[beat] + begin}: {name}" if bar_of[beat] else f"before bar 1: {name}")
    return said


def microseconds(second: Fraction) -> str:
    """Write seconds with six decimals, the exact time rounded once, half to even.

    Examples
    --------
    >>> microseconds(Fraction(2, 3)), microseconds(Fraction(7, 2 * 10**6))
    ('0.666667', '0.000004')
    """
    whole, rest = divmod(round(second * 10**6), 10**6)
    return f"{whole}.{rest:06d}"


def _text(text: str) -> str:
    """Put an apostrophe before a text that a spreadsheet would take for a formula."""
    return f"'{text}" if text.lstrip(" ").startswith(_FORMULA) else text

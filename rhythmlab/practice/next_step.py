"""One thing to do after a take, as a value: what a button of the panel sets and starts, and a ladder says."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from rhythmlab.core.check import FASTEST, SLOWEST
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.tempo import Tempo

#: A part of the cycle and its landing; a take of all of it, of one lane, or as before; a cycle to listen
#: to; the delay of the device.
KINDS = ("part", "whole", "lane", "again", "listen", "calibrate")
#: Cycles that are asked for at a new tempo (own choice).
CYCLES = 4


@dataclass(frozen=True, slots=True)
class Next:
    """One thing to do next.

    Attributes
    ----------
    kind : str
        One of `KINDS`.
    start, stop : int
        The window that is played, in ticks, half-open, with the strokes at `stop` to land on: at the end of
        the cycle these are those of the next one.  All of the slice, but for a part.
    tempo : Tempo or None
        Where another tempo is asked for.
    lanes : tuple of int
        Those that are played.
    cycles : int
        For how many cycles a take goes; 0 where it is none.
    button : str
        What the button says.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> part_round(Polyrhythm(7, 4).cycle(), 14)
    (7, 21)
    """

    kind: str
    start: int
    stop: int
    tempo: Tempo | None
    lanes: tuple[int, ...]
    cycles: int
    button: str

    def as_row(self, cycle: Cycle) -> dict[str, Any]:
        """Return it as numbers and texts for the browser, with the seconds of a cycle at its tempo.

        Examples
        --------
        >>> from rhythmlab.core.polyrhythm import Polyrhythm
        >>> row = Next("whole", 0, 12, Tempo(60, pulse=1), (0, 1), 4, "").as_row(Polyrhythm(4, 3).cycle())
        >>> row["bpm"], row["cycle_s"]
        ('60', 3.0)
        """
        row: dict[str, Any] = {"kind": self.kind, "start": self.start, "stop": self.stop}
        row |= {"lanes": list(self.lanes)}
        row |= {"cycles": self.cycles, "button": self.button}
        if self.tempo is not None:
            bpm, pulse = self.tempo.bpm, self.tempo.pulse
            row |= {"bpm": str(bpm), "a_minute": float(bpm), "pulse": pulse}
            row |= {"cycle_s": float(self.tempo.cycle_seconds(cycle))}
        return row


def at_share(tempo: Tempo, share: Fraction) -> Tempo:
    """Return a share of a tempo that can be set: from 1 to 1,000 bpm, and in whole bpm.

    Examples
    --------
    >>> at_share(Tempo(90, pulse=1), Fraction(3, 4))
    Tempo(68, pulse=1)
    """
    bpm = tempo.bpm * share
    bpm = max(min(bpm, max(Fraction(FASTEST), tempo.bpm)), min(Fraction(SLOWEST), tempo.bpm))
    return Tempo(Fraction(round(bpm)) if bpm >= 1 else bpm, pulse=tempo.pulse, ticks=tempo.ticks)


def part_round(cycle: Cycle, tick: int, before: int = 1) -> tuple[int, int] | None:
    """Return the beats to play round a tick, from so many before it to its own; `None` where that is all.

    Before beat 1 that is the last beat of the cycle, which lands on it.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> seven = Polyrhythm(7, 4).cycle()
    >>> part_round(seven, 12), part_round(seven, 0), part_round(seven, 0, before=0)
    ((0, 14), (21, 28), (0, 7))
    """
    beats = cycle.beats.tolist()
    if len(beats) < 2:
        return None
    at = int(np.searchsorted(cycle.beats, tick, side="right")) - 1
    if at < 0 or (at == 0 and tick == beats[0] and before):
        first = last = len(beats) - 1
    else:
        first, last = max(0, at - before), at
    stop = beats[last + 1] if last + 1 < len(beats) else cycle.ticks
    whole = first == 0 and last == len(beats) - 1
    return None if whole or (stop == cycle.ticks and beats[0] != 0) else (beats[first], stop)

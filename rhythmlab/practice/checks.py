"""The checks that the parts of a take pass once, and their messages."""

import math
from datetime import datetime
from numbers import Real

import numpy as np

from rhythmlab.core.check import MOST_LISTED, index, items, short, whole
from rhythmlab.core.kinds import Floats, Ticks
from rhythmlab.refusal import Refusal

#: What the player was to play: one lane, two or more each for itself, the merged line, or the gap cycle.
MODES = ("one pulse", "both pulses", "composite", "gap cycle")
#: What it was played on.
INPUTS = ("keys", "pads", "midi", "mixed")
LANES = 'mode="both pulses", lanes=(0, 1)'
#: Longest take, in seconds, and most cycles of sound or of silence at a time: far more than anyone plays.
MOST_SECONDS, MOST_CYCLES = 86_400, 100_000


def finite(value: object, name: str, example: str, most: float = 1e15) -> float:
    """Return a float, or refuse by name what is not finite, or further from 0 than `most`."""
    try:
        number = float(value) if isinstance(value, Real) and not isinstance(value, bool) else math.nan
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise Refusal(f"{name}={short(value)} is not a finite number", example, argument=name)
    if abs(number) > most:
        raise Refusal(f"{name}={short(value)} is further from 0 than {most:,.0f}", example, argument=name)
    return number


def lanes(lanes: object, mode: str, count: int) -> tuple[int, ...]:
    """Return the lanes that a mode asks for, rising, or refuse them."""
    if not isinstance(lanes, list | tuple):
        raise Refusal(f"lanes={short(lanes)} is not a list of lanes", LANES, argument="lanes")
    chosen = tuple(sorted({index(lane, count, "lane", "lanes") for lane in lanes[:MOST_LISTED]}))
    right = {"one pulse": len(chosen) == 1, "both pulses": len(chosen) > 1}.get(mode, bool(chosen))
    if not right:
        need = {"one pulse": "one lane", "both pulses": "two lanes or more"}.get(mode, "a lane")
        of = f" of mode {mode!r}" if mode else ""
        raise Refusal(f"lanes={short(lanes)}{of} are not {need}", LANES, argument="lanes")
    return chosen


def silent(silent: object) -> tuple[int, int]:
    """Return the drop-out as (sounding, silent) cycles, or refuse it; (0, 0) is none."""
    if not isinstance(silent, list | tuple) or len(silent) != 2:
        raise Refusal(
            f"silent={short(silent)} is not two numbers of cycles", "silent=(2, 1)", argument="silent"
        )
    sounding, quiet = (whole(cycles, "silent", "silent=(2, 1)", 0, MOST_CYCLES) for cycles in silent)
    return (sounding, quiet) if sounding and quiet else (0, 0)


def when(when: str) -> str:
    """Return a time with its UTC offset as it is, or refuse it."""
    try:
        good = not when or datetime.fromisoformat(when).utcoffset() is not None
    except ValueError:
        good = False
    if not good:
        raise Refusal(
            f"when={short(when)} is not a time with its UTC offset",
            'when="2030-05-04T18:30:00+02:00"',
            argument="when",
        )
    return when


def taps(lanes: object, seconds: object, count: int) -> tuple[Ticks, Floats]:
    """Return lanes and seconds of taps as read-only arrays by time, or refuse them."""
    example = "tap_lanes=[0, 1], tap_times=[0.02, 0.98]"
    rows = (("tap_lanes", lanes), ("tap_times", seconds))
    given = [items(row, name, example, MOST_LISTED) for name, row in rows if hasattr(row, "__iter__")]
    if len(given) < len(rows) or len(given[0]) != len(given[1]):
        raise Refusal(
            f"tap_lanes={short(lanes)} and tap_times={short(seconds)} are not as many lanes as times",
            example,
            argument="tap_lanes",
        )
    keys = np.array([index(lane, count, "lane", "lanes") for lane in given[0]], dtype=np.int64)
    times = np.array(
        [finite(time, "the time of a tap", example, MOST_SECONDS) for time in given[1]], dtype=np.float64
    )
    order = np.argsort(times, kind="stable")
    keys, times = keys[order], times[order]
    keys.flags.writeable = times.flags.writeable = False
    return keys, times

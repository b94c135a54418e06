"""What was really played: a simpler rhythm, where one fits clearly better than the rhythm meant.

At speed players slip to pairs of smaller numbers (key beek1992), and the longer intervals of a rhythm become
alike (key repp2002, from memory).
"""

from collections import Counter
from math import gcd, log

import numpy as np

from rhythmlab.core.composite import composite
from rhythmlab.core.kinds import Floats
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.practice.measures import Simpler
from rhythmlab.practice.take import Take

#: Longest line looked at, in sounds a cycle; longest interval of a simpler rhythm, in its ticks.
MOST_SOUNDS, LONGEST = 16, 4
#: A simpler rhythm must be at most this share of the distance of the one meant (own choice).
SHARE = 0.5
#: Sounds of two lanes closer than this are one (seconds, own choice).
ONE_SOUND_S = 0.05


def really_played(take: Take, shift: float = 0.0) -> Simpler | None:
    """Name a simpler rhythm that fits the merged line of a take clearly better than the one meant.

    Every cycle that holds the usual number of sounds is laid over the others.  The rhythms tried are those
    on a coarser grid whose intervals are at most four ticks.  To be named, one must halve the root mean
    square distance, and gain more than it costs: with N sounds heard, n in a cycle, and a grid of G ticks,
    ``N ln(rms_meant² / rms²) > n (ln N + 2 ln G)`` (a Bayesian information criterion with the choice of n
    places on the grid as its parameters; own choice).

    Parameters
    ----------
    take : Take
        In mode "both pulses" or "composite", of two cycles or more; others give ``None``.
    shift : float
        Seconds that all strokes are off by.

    Returns
    -------
    Simpler or None
    """
    line = take.ticks(None)
    turn_ticks, n = take.stop - take.start, len(line)
    if take.mode not in ("both pulses", "composite") or take.cycles < 2 or not 2 <= n <= MOST_SOUNDS:
        return None
    places = line - take.start
    turn = float(take.turn)
    sounds = _sounds(take, shift, np.diff(np.append(line, line[0] + turn_ticks)).min() / turn_ticks * turn)
    # A cycle reaches from midway before its first sound to midway after its last one.
    begin = (places[0] - (turn_ticks - places[-1] + places[0]) / 2) / turn_ticks * turn
    which = np.floor((sounds - begin) / turn).astype(int)
    inside = (which >= 0) & (which < take.cycles)
    sounds, which = sounds[inside], which[inside]
    sizes = Counter(np.bincount(which, minlength=take.cycles).tolist())
    m, cycles = max(sizes.items(), key=lambda item: (item[1], item[0]))
    if not 2 <= m <= MOST_SOUNDS or cycles < max(2, 0.6 * take.cycles):
        return None
    full = np.flatnonzero(np.bincount(which, minlength=take.cycles) == m)
    rows = np.array([sounds[which == cycle] - cycle * turn for cycle in full])
    meant = places / turn_ticks * turn
    if m == n:
        meant_rms = _rms(rows, meant)
    else:  # the nearest sound of the rhythm meant, whichever that is
        ahead = np.concatenate([meant - turn, meant, meant + turn])
        meant_rms = float(np.sqrt((np.abs(rows[..., None] - ahead).min(axis=-1) ** 2).mean()))
    common = gcd(*map(int, places), turn_ticks)
    best = None
    for grid in range(m, min(turn_ticks // common, LONGEST * m + 1)):
        found = _on_grid(rows, turn, grid)
        if found is None or meant_rms == 0:
            continue
        rms, intervals = found
        gain = rows.size * log(meant_rms**2 / max(rms, 1e-9) ** 2) - m * (log(rows.size) + 2 * log(grid))
        if rms <= SHARE * meant_rms and gain > 0 and (best is None or gain > best[0]):
            best = gain, rms, intervals, grid
    if best is None:
        return None
    _, rms, intervals, grid = best
    meant_intervals = np.diff(np.append(places, places[0] + turn_ticks)) // common
    return Simpler(
        intervals,
        tuple(meant_intervals.tolist()),
        grid,
        _pair(intervals, grid),
        1000 * rms,
        1000 * meant_rms,
        cycles,
    )


def _sounds(take: Take, shift: float, smallest: float) -> Floats:
    """Return the taps of the lanes played as one line: taps of different lanes that are near are one."""
    chosen = np.isin(take.tap_lanes, take.lanes) if take.mode != "composite" else slice(None)
    times, lanes = take.played()[chosen] - shift, take.tap_lanes[chosen]
    near = min(ONE_SOUND_S, smallest / 2)
    made: list[tuple[list[float], list[int]]] = []
    for time, lane in zip(times.tolist(), lanes.tolist(), strict=True):
        if made and time - made[-1][0][0] <= near and lane not in made[-1][1]:
            made[-1][0].append(time)
            made[-1][1].append(lane)
        else:
            made.append(([time], [lane]))
    return np.array([sum(group) / len(group) for group, _ in made], dtype=np.float64)


def _rms(rows: Floats, places: Floats) -> float:
    """Root mean square distance of the rows from places, the best shift of all taken off."""
    off = rows - places
    return float(np.sqrt(((off - off.mean()) ** 2).mean()))


def _on_grid(rows: Floats, turn: float, grid: int) -> tuple[float, tuple[int, ...]] | None:
    """Return the distance and the intervals of the nearest rhythm on a grid; its first sound is on tick 0."""
    mean = (rows.mean(axis=0) - rows[:, 0].mean()) / turn * grid
    best = None
    for shift in np.linspace(-0.5, 0.5, 21):
        ticks = np.rint(mean + shift).astype(int)
        ticks -= ticks[0]
        intervals = np.diff(np.append(ticks, grid))
        if intervals.min() < 1 or intervals.max() > LONGEST:
            continue
        rms = _rms(rows, ticks / grid * turn)
        if best is None or rms < best[0]:
            best = rms, tuple(intervals.tolist())
    return best


def _pair(intervals: tuple[int, ...], grid: int) -> tuple[int, int] | None:
    """Return the pair of small numbers whose line these intervals are; ``None`` where they are of none."""
    for p in range(2, 10):
        for q in range(2, p):
            if (
                p * q // gcd(p, q) == grid
                and tuple(composite(Polyrhythm(p, q)).intervals.tolist()) == intervals
            ):
                return p, q
    return None

"""Simulated players with one planted cause, and the noise of a person who follows a click.

All takes are invented and seeded.
"""

from functools import cache
from typing import NamedTuple

import numpy as np

from rhythmlab.practice.take import Take
from tests.practice.simulate import pair, with_taps

#: Share of an error that the next stroke corrects: the median of typical adults, Vishne et al. 2021 (as
#: summarised).
GAIN = 0.37
#: Eight pairs, two of them nearly equal.
PAIRS = ((3, 2), (4, 3), (5, 4), (7, 4), (8, 5), (7, 3), (16, 15), (10, 9))
SPREADS, TEMPOS = (8, 15, 25), (60, 92)
#: Causes and their sizes: percent, ms, beats, times, from which cycle on; the rest is drawn.
PLANTED = {
    "swapped": (1,),
    "shifted": (1, -1, 0.5, -0.5, 1.5, -1.5),
    "slipped": (1, -1),
    "tempo": (-4, -2, -1, 1, 2, 4),
    "rushed": (-4, 4),
    "locked": (1,),
    "another": (1, 1.5),
    "evened": (1, 0.5),
    "silent": (1, 4),
    "missing": (1, 3, 7),
    "added": (1, 3, 7),
    "hand": (-40, -25, -15, 15, 25, 40),
    "looser": (2, 3),
    "place": (40, -60),
    "waited": (70, 95, -80),
    "changed": (-3, -2, 2, 3),
    "parted": (-1, -0.6, 0.6, 1),
    "stretch": (-100, -70, 70),
}


def two_level(rng: np.random.Generator, taps: int, spread: float, takes: tuple = ()) -> np.ndarray:
    """Return errors of so many taps with a click: a clock and motor delays as wide, a gain of .37.

    A row for each of so many `takes`, as a shape.

    Wing & Kristofferson 1973 (from memory): an interval is one of the clock plus the difference of two motor
    delays; each error is corrected by `GAIN` on the next tap.
    """
    clock, motor = rng.normal(0, 1, (*takes, taps)), rng.normal(0, 1, (*takes, taps + 1))
    new = clock + np.diff(motor)
    errors, last = np.empty(new.shape), 0.0
    for k in range(taps):
        errors[..., k] = last = (1 - GAIN) * last + new[..., k]
    return spread * errors / np.sqrt(2.89)  # of the sum: 1 / (1 - .63²) + 1 + .37² / (1 - .63²)


def noise(rng, kind: str, meant: list[np.ndarray], spread: float, takes: tuple = ()) -> list[np.ndarray]:
    """Return errors of all lanes: "white", "timers" of a hand each, or one "clock" for both hands."""
    if kind == "white":
        return [rng.normal(0, spread, (*takes, len(one))) for one in meant]
    if kind == "timers":
        return [two_level(rng, len(one), spread, takes) for one in meant]
    line = np.unique(np.round(np.concatenate(meant), 6))
    new, last = rng.normal(0, 1, (*takes, len(line))), 0.0
    shared = np.empty(new.shape)
    for k in range(len(line)):
        shared[..., k] = last = (1 - GAIN) * last + new[..., k]
    shared *= spread * np.sqrt(0.5 * (1 - (1 - GAIN) ** 2))
    return [
        shared[..., np.searchsorted(line, np.round(one, 6))]
        + rng.normal(0, spread * np.sqrt(0.5), (*takes, len(one)))
        for one in meant
    ]


class Case(NamedTuple):
    """One cell of the matrix."""

    kind: str
    size: float
    pair: tuple[int, int]
    spread_ms: float
    bpm: float
    noise: str = "timers"
    cycles: int = 8
    at: int = 0  # the cycle, from 1, from which on it is looser or a beat is lost; drawn where it is 0


def take_of(case: Case, rng: np.random.Generator, lead_ms: float | None = None, **fields) -> Take:
    """Return a take with the cause of a case planted in it."""
    take = pair(*case.pair, case.cycles, bpm=case.bpm, **fields)
    lead = -rng.uniform(20, 50) if lead_ms is None else lead_ms
    turn, beat, end = float(take.turn), 60 / case.bpm, float(take.turn) * case.cycles
    rows = [take.meant(lane) for lane in take.lanes]
    kind, size = case.kind, case.size
    if kind == "locked":  # to the nearest simpler ratio: one stroke fewer, or more
        p, q = case.pair
        count = simpler(p, q)
        rows[0] = (np.arange(case.cycles)[:, None] * turn + np.arange(count) * turn / count).ravel()
    if kind == "another":  # a simpler pair in both hands, so often in a cycle
        rows = [
            np.arange(round(case.cycles * size * count)) * turn / size / count for count in other(*case.pair)
        ]
    if kind == "evened":  # all sounds of the line as far apart, or a part of the way there
        line = np.unique(np.round(np.concatenate(rows), 6))
        by = np.arange(len(line)) * (end / len(line)) - line
        rows = [row + size * by[np.searchsorted(line, np.round(row, 6) - 1e-9)] for row in rows]
    if kind in ("silent", "missing", "added"):
        rows = habit_of(case, rng, rows, turn)[2]
    errors = noise(rng, case.noise, rows, case.spread_ms / 1000)
    late = [np.zeros(len(row)) for row in rows]
    if kind == "shifted":
        late = [one + size * beat for one in late]
    if kind == "tempo":
        late = [row * size / 100 for row in rows]
    if kind == "rushed":  # right at the beginning, off by `size` percent at the end
        late = [row**2 * size / 200 / end for row in rows]
    if kind == "hand":
        late[0] = late[0] + size / 1000
    if kind == "looser":
        first = case.at - 1 if case.at else _middle(rng, case.cycles)
        errors = [
            np.where(row >= first * turn - 1e-9, size, 1) * one for row, one in zip(rows, errors, strict=True)
        ]
    if kind == "place":
        n = case.pair[0]
        late[0] = late[0] + np.where(np.arange(len(rows[0])) % n == n // 2, size / 1000, 0)
    if kind in ("waited", "changed"):
        first = (case.at - 1 if case.at else _middle(rng, case.cycles)) * turn
        if kind == "waited":  # at any beat of that cycle
            first += int(rng.integers(case.pair[1])) * beat
            late = [np.where(row >= first - 1e-6, size / 1000, 0) for row in rows]
        else:
            late = [np.maximum(row - first, 0) * size / 100 for row in rows]
    if kind == "parted":
        late[0] = rows[0] * size / 100
    if kind == "stretch":  # early or late in the middle of each cycle, and right on its 1
        late = [size / 250 * (row / turn % 1) * (1 - row / turn % 1) for row in rows]
    times = [row + a + b + lead / 1000 for row, a, b in zip(rows, late, errors, strict=True)]
    lanes = [np.full(len(row), lane) for row, lane in zip(rows, take.lanes, strict=True)]
    if kind == "slipped":
        first = case.at - 1 if case.at else _middle(rng, case.cycles)
        from_beat = first * case.pair[1] + int(rng.integers(0, case.pair[1]))
        at = from_beat * beat - 1e-6
        for i, row in enumerate(rows):
            if size < 0:  # a beat is left out
                keep = (row < at) | (row >= at + beat)
                times[i] = np.where(row < at, times[i], times[i] - beat)[keep]
                lanes[i] = lanes[i][keep]
            else:  # waited for a beat
                times[i] = np.where(row < at, times[i], times[i] + beat)
    if kind == "swapped":
        lanes = [1 - one for one in lanes]
    all_lanes, all_times = np.concatenate(lanes), np.concatenate(times)
    kept = all_times < end + 0.35  # nothing is recorded later
    return with_taps(take, all_lanes[kept], all_times[kept])


def habit_of(case: Case, rng: np.random.Generator, rows: list[np.ndarray], turn: float):
    """Draw a lane and a stroke that is left out, or has another one after it, in each cycle from one on.

    And the rows of strokes with that; a lane that falls silent leaves out all of them.
    """
    lane = int(rng.integers(2))
    n = case.pair[lane]
    place, row = int(rng.integers(n)), rows[lane]
    number = np.arange(len(row))
    here = (number // n >= case.size - 1) & ((number % n == place) | (case.kind == "silent"))
    more = np.sort(np.concatenate((row, row[here] + turn / n / 2)))
    row = more if case.kind == "added" else row[~here]
    return lane, place, [row if i == lane else other for i, other in enumerate(rows)]


def simpler(p: int, q: int) -> int:
    """Return how many strokes the first pulse of a pair is played as when it locks."""
    near = [m for m in (p - 1, p + 1, p - 2, p + 2) if m > 0]
    return min(near, key=lambda m: ((m + q) // np.gcd(m, q), abs(m - p)))


def other(p: int, q: int) -> tuple[int, int]:
    """Return the pair of smaller numbers that is played in place of a pair."""
    return (3, 2) if p + q > 5 else (2, 1)


def _middle(rng: np.random.Generator, cycles: int) -> int:
    """Return a cycle, from 0, that has others before and after it."""
    return int(rng.integers(2, cycles - 1)) if cycles > 3 else cycles // 2


def ahead(strokes: int) -> np.ndarray:
    """Return what each new error adds to each later one: a row for each stroke, less by `GAIN` each time."""
    steps = np.subtract.outer(np.arange(strokes), np.arange(strokes))
    return np.where(steps >= 0, (1 - GAIN) ** np.maximum(steps, 0), 0.0)


def covariance(kind: str, meant: list[np.ndarray]) -> np.ndarray:
    """Return the covariance of the errors of `noise` for a spread of one, lane after lane.

    It is worked out from how the errors are made, and from nothing that is measured in them.
    """
    count = sum(map(len, meant))
    if kind == "white":
        return np.eye(count)
    if kind == "timers":
        made = np.zeros((count, count))
        for at, one in zip(np.cumsum([0, *map(len, meant)]), meant, strict=False):
            n = len(one)
            # a clock, and the differences of motor delays
            new = np.hstack([np.eye(n), np.eye(n + 1)[1:] - np.eye(n + 1)[:-1]])
            through = ahead(n) @ new
            made[at : at + n, at : at + n] = through @ through.T / 2.89
        return made
    line = np.unique(np.round(np.concatenate(meant), 6))
    which = np.searchsorted(line, np.round(np.concatenate(meant), 6))
    through = ahead(len(line))[which] * np.sqrt(0.5 * (1 - (1 - GAIN) ** 2))
    return through @ through.T + 0.5 * np.eye(count)


@cache
def standard_error(kind: str, pair_: tuple[int, int], noise_: str, cycles: int, at: int) -> float:
    """Return how much the plainest estimate of an effect varies, for a spread of one ms of known noise.

    In ms of a hand (the difference of two means) and of a place (the mean of a stroke against the mean of the
    others of its lane), in percent of tempo per ms at 60 beats a minute (a line through all, the difference
    of the lines of two hands, or a knee, without what a line and its bend explain of it), in ms of a wait (a
    step, without what a line explains of it) and of a stretch of the cycle (at its middle), or in logarithms
    of looseness: half the variance of log(s2² / s1²), where a mean square of errors of covariance
    R varies by 2 tr(R²) / n² (Isserlis's theorem, from memory).
    """
    take = pair(*pair_, cycles, bpm=60)
    rows, turn = [take.meant(lane) for lane in take.lanes], float(take.turn)
    when, known = np.concatenate(rows), covariance(noise_, rows)
    first = np.arange(len(when)) < len(rows[0])
    if kind == "looser":
        early = when < (at - 1) * turn - 1e-9
        vary = [2 * (known[np.ix_(one, one)] ** 2).sum() / one.sum() ** 2 for one in (early, ~early)]
        both = 2 * (known[np.ix_(early, ~early)] ** 2).sum() / (early.sum() * (~early).sum())
        return float(np.sqrt(sum(vary) - 2 * both) / 2)
    if kind == "hand":
        weights = first / first.sum() - ~first / (~first).sum()
    elif kind == "place":
        here = first & (np.arange(len(when)) % pair_[0] == pair_[0] // 2)
        weights = here / here.sum() - (first & ~here) / (first & ~here).sum()
    elif kind in ("waited", "changed", "stretch", "parted"):
        late = np.maximum(when - (at - 1) * turn, 0)
        shape = {
            "waited": (late >= 0) & (when >= (at - 1) * turn - 1e-9),
            "changed": late,
            "stretch": 4 * (when / turn % 1) * (1 - when / turn % 1),
            "parted": first * when,
        }[kind]
        line = {"waited": [when], "changed": [when, when**2], "parted": [when], "stretch": []}[kind]
        beside = np.column_stack([first, ~first, *line]).astype(float)
        alone = shape - beside @ np.linalg.lstsq(beside, shape.astype(float), rcond=None)[0]
        weights = alone / (alone @ alone) / (10 if kind in ("changed", "parted") else 1)
    else:
        centred = when - when.mean()
        weights = centred / (centred**2).sum() / 10
    return float(np.sqrt(weights @ known @ weights))


def effect(case: Case) -> float:
    """Return how many standard errors the planted cause is large; infinite where it moves whole strokes."""
    if case.kind not in ("hand", "tempo", "looser", "place", "waited", "changed", "parted", "stretch"):
        return np.inf
    error = standard_error(case.kind, case.pair, case.noise, case.cycles, case.at)
    if case.kind == "looser":
        return np.log(case.size) / error
    if case.kind in ("tempo", "changed", "parted"):
        return abs(case.size) / (case.spread_ms * error * case.bpm / 60)
    return abs(case.size) / (case.spread_ms * error)


def stopped(take: Take, stop: float) -> Take:
    """Return a take whose player stopped before the first stroke meant at `stop` seconds or later."""
    kept = []
    for lane in take.lanes:
        played = np.flatnonzero(take.tap_lanes == lane)
        kept.append(played[: int((take.meant(lane) < stop - 1e-6).sum())])
    keep = np.sort(np.concatenate(kept))
    return with_taps(take, take.tap_lanes[keep], take.tap_times[keep])

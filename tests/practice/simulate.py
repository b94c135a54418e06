"""Simulated players whose errors are known: bias, spread, drift, misses, extras, swapped hands, two timers.

All takes are invented and seeded.
"""

from fractions import Fraction

import numpy as np

import rhythmlab as rl
from rhythmlab.practice.take import Take


def played(
    take: Take,
    rng: np.random.Generator,
    *,
    bias_ms=(),
    spread_ms: float = 0.0,
    drift_ms_per_cycle: float = 0.0,
    miss: float = 0.0,
    extra: int = 0,
    swap: float = 0.0,
    missing=(),
) -> Take:
    """Return the take with taps.

    Parameters
    ----------
    take : Take
        What was meant; its taps are replaced.
    rng : numpy.random.Generator
        Seeded.
    bias_ms : sequence of float
        Mean error of each lane of the cycle; 0 where left out.
    spread_ms, drift_ms_per_cycle : float
        Standard deviation of the errors, and how much later each cycle is.
    miss : float
        Share of the strokes left out.
    extra : int
        Taps of the first lane at random times.
    swap : float
        Share of the strokes that the next lane plays.
    missing : sequence of (int, int)
        Lane and number of strokes that are left out for certain.
    """
    lanes, times = [], []
    turn = float(take.turn)
    for lane in take.lanes:
        meant = take.meant(lane)
        bias = bias_ms[lane] if lane < len(bias_ms) else 0.0
        late = bias + drift_ms_per_cycle * meant / turn + rng.normal(0, spread_ms, len(meant))
        keep = rng.random(len(meant)) >= miss
        keep[[stroke for of, stroke in missing if of == lane]] = False
        hand = np.where(rng.random(len(meant)) < swap, (lane + 1) % len(take.cycle.lanes), lane)
        times.append((meant + late / 1000)[keep])
        lanes.append(hand[keep])
    times.append(rng.uniform(0, take.cycles * turn, extra))
    lanes.append(np.full(extra, take.lanes[0]))
    return with_taps(take, np.concatenate(lanes), np.concatenate(times))


def with_taps(take: Take, lanes, times) -> Take:
    """Return the take with other taps."""
    fields = {name: getattr(take, name) for name in Take.__dataclass_fields__}
    return Take(**fields | {"tap_lanes": lanes, "tap_times": times})


def pair(p: int, q: int, cycles: int = 8, *, bpm=84, mode: str = "both pulses", **fields) -> Take:
    """Return a take of a pair without taps: tempo and home are those of the second pulse."""
    cycle = rl.Polyrhythm(p, q).cycle()
    given = {
        "start": 0,
        "stop": cycle.ticks,
        "lanes": (0, 1),
        "tap_lanes": [],
        "tap_times": [],
        "limbs": "hands",
        "home": 1,
        "when": "2030-05-04T18:30:00+02:00",
        "id": "demo",
    }
    tempo = rl.Tempo(Fraction(bpm), pulse=1)
    return Take(cycle=cycle, tempo=tempo, cycles=cycles, mode=mode, **given | fields)


def two_timers(rng: np.random.Generator, taps: int, interval_ms: float, clock_ms: float, motor_ms: float):
    """Return times in ms of a clock with independent intervals, each tap late by an independent motor delay.

    Wing & Kristofferson 1973, Response delays and the timing of discrete motor responses (from memory):
    an interval is a clock interval plus the difference of two motor delays, so its variance is
    sC^2 + 2 sM^2 and the correlation of one interval with the next is -sM^2 / (sC^2 + 2 sM^2).
    """
    ticks = np.cumsum(rng.normal(interval_ms, clock_ms, taps))
    return ticks + rng.normal(0, motor_ms, taps)

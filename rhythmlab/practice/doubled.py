"""Strokes that a pad gave twice: whether there are any, and the take without the second ones."""

from dataclasses import replace

import numpy as np

from rhythmlab.practice.moved import Cause, whole_us
from rhythmlab.practice.take import Take

#: How soon a pad triggers again, in seconds: from and to.  No source: what drummers meet with soft pads and
#: low thresholds (common practice).
SOONEST_S, LATEST_S = 0.008, 0.045
#: How unlike the times between may be, in seconds: those of a pad are alike, those of a flam are not; in
#: which share of the strokes of a lane it must be so, and in how many (own choices).
ALIKE_S, SHARE, FEWEST = 0.004, 0.6, 8


def without_doubles(take: Take) -> tuple[Cause, Take] | None:
    """Return that strokes came twice, and the take without the second ones; nothing where they did not.

    Strokes of one lane that are meant so near, more than two in a row, and those whose distance varies as
    that of a played flam does are no doubles.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> cycle = Polyrhythm(2, 1).cycle()
    >>> take = Take(cycle=cycle, tempo=60, cycles=8, start=0, stop=2, mode="one pulse", lanes=(1,),
    ...             tap_lanes=[1] * 16, tap_times=[k // 2 + 0.03 * (k % 2) for k in range(16)])
    >>> cause, single = without_doubles(take)
    >>> cause.kind, cause.lanes, cause.us, single.tap_times.tolist()
    ('doubled', (1,), 30000, [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0])
    """
    again, lanes, gaps = np.zeros(len(take.tap_times), dtype=bool), [], []
    for lane in sorted(set(take.tap_lanes.tolist())):
        taps = np.flatnonzero(take.tap_lanes == lane)
        times = take.tap_times[taps]
        if np.count_nonzero(times[1:] - times[:-1] <= LATEST_S) < FEWEST:
            continue
        since = np.diff(times, prepend=-np.inf)
        near, alone = since <= LATEST_S, np.append(since[1:] > 2 * LATEST_S, True)
        second = near & (since >= SOONEST_S) & ~np.append(False, near[:-1]) & alone
        if second.sum() < max(FEWEST, SHARE * (~near).sum()) or _is_meant(take, lane):
            continue
        low, middle, high = np.quantile(since[second], (0.16, 0.5, 0.84)).tolist()  # one deviation each way
        if high - low > 2 * ALIKE_S:
            continue
        again[taps[second]] = True
        lanes.append(lane)
        gaps.append(middle)
    if not lanes:
        return None
    cause = Cause("doubled", lanes=tuple(lanes), us=whole_us(sum(gaps) / len(gaps)), count=int(again.sum()))
    return cause, replace(take, tap_lanes=take.tap_lanes[~again], tap_times=take.tap_times[~again])


def _is_meant(take: Take, lane: int) -> bool:
    """Whether a lane, or the merged line, has strokes as near as doubles are."""
    meant = take.meant(None if take.mode == "composite" else lane)
    return bool(len(meant) > 1 and np.diff(meant).min() <= 2 * LATEST_S)

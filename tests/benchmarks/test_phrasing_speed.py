"""Speed of phrases and stickings; run it with ``python -m pytest tests/benchmarks -s``.

Phrases against a limit of time for each number, searched hands against trying every row of letters.
"""

from itertools import product
from statistics import median

import pytest

import rhythmlab as rl
from rhythmlab.playing.phrasing import phrases
from rhythmlab.playing.sticking import StrokeLoop, best_hands, hand_limits
from tests.benchmarks.interleaved import ratio, seconds


@pytest.mark.parametrize("allowed", [(2, 3, 4), (2, 3, 4, 5, 6, 7)])
def test_ten_phrases_of_every_number_up_to_128_come_in_50_ms(allowed):
    """Each number takes less than 50 ms, the median of five runs."""
    times = {
        n: median(seconds(lambda n=n: phrases(n, allowed=allowed)) for _ in range(5)) for n in range(2, 129)
    }
    slowest = max(times, key=times.get)
    print(f"\nten phrases in {allowed}: slowest {slowest}, {1000 * times[slowest]:.1f} ms (limit 50)")
    assert times[slowest] < 0.05


def every_row(gaps: list[int], accents: list[int], tick_ms: float) -> tuple[str, int] | None:
    """Return the best hands by trying every row, given up at its first stroke that comes too soon."""
    n, best = len(gaps), None
    apart = [tick_ms * gap for gap in gaps]
    for rest in product((0, 1), repeat=n - 1):
        row = (0, *rest)
        for cycles in (1, 2):
            now, flip, last, before, burst = 0.0, 0, [-1e9, -1e9], [0.0, 0.0], [0, 0]
            for i in range(3 * n):
                place = i % n
                if not place and cycles == 2:
                    flip ^= 1
                side = row[place] ^ flip
                now += apart[place]
                gap = now - last[side]
                if gap >= 167:
                    burst[side] = 0
                elif gap < 62 or burst[side] == 3 or (burst[side] == 2 and gap + before[side] < 220):
                    break
                last[side], before[side], burst[side] = now, gap, burst[side] + 1
            else:
                again = [row[i] == (row[i - 1] ^ (i == 0 and cycles == 2)) for i in range(n)]
                key = (
                    sum(again[i] for i in accents),
                    sum(row[i] for i in accents),
                    cycles,
                    sum(again),
                    [1 - side for side in row],
                )
                if best is None or key < best[0]:
                    best = key, "".join("RL"[side] for side in row), cycles
    return best and best[1:]


@pytest.mark.parametrize("bpm", [60, 300])
def test_hands_are_found_100_times_faster_than_by_trying_all(bpm):
    """Nine against eight, 16 sounds, at an easy tempo and near the fastest one: the same hands."""
    p, tempo = rl.Polyrhythm(9, 8), rl.Tempo(bpm, pulse=1)
    line, beats = rl.composite(p), set(p.onsets(1).tolist())
    gaps = [int(line.intervals[-1]), *line.intervals[:-1].tolist()]
    accents = [i for i, tick in enumerate(line.onsets.tolist()) if tick in beats]
    tick_ms = float(1000 * tempo.tick_seconds(p))
    search = (
        StrokeLoop(tuple(gaps), frozenset(accents), (None,) * len(gaps)),
        1000 * tempo.tick_seconds(p),
        hand_limits(),
    )
    assert best_hands(*search) == every_row(gaps, accents, tick_ms)
    measured = 1 / ratio(lambda: best_hands(*search), lambda: every_row(gaps, accents, tick_ms), rounds=5)
    print(f"\nhands for 9:8 at {bpm}, times faster than trying all: {measured:.0f} (limit 100)")
    assert measured >= 100

"""Speed and memory of handouts; run it with ``python -m pytest tests/benchmarks -s``."""

import gc
import os
import subprocess
import sys
import tracemalloc
from statistics import median
from time import perf_counter

import rhythmlab as rl
from rhythmlab.export.handout import engraved, handout, handout_pack
from tests.benchmarks.interleaved import seconds

PACK = [
    (rl.Polyrhythm(*pulses), 72)
    for pulses in [
        *((3, 2), (4, 3), (5, 4), (5, 3), (7, 4), (8, 5), (7, 5), (9, 8), (11, 8), (13, 8)),
        *((16, 15), (17, 12), (16, 11), (3, 4, 5), (2, 3, 5), (6, 4)),
    ]
] + [
    (rl.playing.resolve((7, 4)), 120),
    (rl.playing.accents("2+2+3/8", 5), 180),
    (rl.ostinato("x..x..x.", "x.x", metre="4/4"), 90),
    (rl.playing.accents("4/4", 5), 100),
]


def fresh(what: object, tempo: float) -> None:
    """Make a handout whose notes were not engraved before."""
    engraved.cache_clear()
    handout(what, tempo)


def test_a_handout_takes_less_than_two_seconds():
    """Median of seven of 7:4 and of 16:15, which has many bars, after the libraries are loaded."""
    for pulses in ((7, 4), (16, 15)):
        p = rl.Polyrhythm(*pulses)
        fresh(p, 72)
        measured = median(seconds(lambda p=p: fresh(p, 72)) for _ in range(7))
        print(f"\nhandout of {p}: {measured:.2f} s (limit 2)")
        assert measured < 2


def test_the_first_handout_takes_less_than_two_seconds_after_import():
    """In a fresh process, fonts and engraver loaded on the way: median of five."""
    code = (
        "import rhythmlab as rl, reportlab, time, verovio; from rhythmlab.export.handout import handout; "
        "t = time.perf_counter(); handout(rl.Polyrhythm(7, 4), 72); print(time.perf_counter() - t)"
    )
    runs = [
        float(subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True).stdout)
        for _ in range(5)
    ]
    print(f"\nfirst handout of a process: {median(runs):.2f} s (limit 2)")
    assert median(runs) < 2


def test_a_pack_of_twenty_takes_less_than_thirty_seconds(tmp_path):
    """Twenty rhythms, PDF and plain twin each, on one core."""
    assert len(PACK) == 20
    cores = os.sched_getaffinity(0) if hasattr(os, "sched_getaffinity") else None
    if cores:
        os.sched_setaffinity(0, {min(cores)})
    try:
        start = perf_counter()
        written = handout_pack(PACK, tmp_path / "pack")
        measured = perf_counter() - start
    finally:
        if cores:
            os.sched_setaffinity(0, cores)
    print(f"\npack of twenty on one core: {measured:.1f} s (limit 30)")
    assert len(written) == 20
    assert measured < 30


def test_a_pack_holds_no_more_at_its_end_than_at_its_beginning(tmp_path):
    """The peak of the second half of a pack is at most 1.3 times that of the first, the same ten in each."""
    half = PACK[::2]
    handout_pack(half, tmp_path / "warm")
    peaks = []
    gc.collect()
    tracemalloc.start()
    try:
        for name in ("first", "second"):
            tracemalloc.reset_peak()
            handout_pack(half, tmp_path / name)
            peaks.append(tracemalloc.get_traced_memory()[1] / 1e6)
    finally:
        tracemalloc.stop()
    print(f"\npeak memory of the halves of a pack: {peaks[0]:.1f} and {peaks[1]:.1f} MB (limit 1.3 x)")
    assert peaks[1] <= 1.3 * peaks[0]

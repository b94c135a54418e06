"""No call of the library freezes: large but whole values in every argument, each in a process of its own.

Each call may take ten seconds and 200 MB, or says so before it begins. Run it by
``python -m pytest tests/benchmarks/test_large_values.py -s``; it prints how many calls were tried.
"""

import json
import os
import resource
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import partial
from pathlib import Path

import numpy as np
import pytest

import rhythmlab as rl
from rhythmlab.practice.journal import HEAD, VERSION, journal_line
from tests.public import by_name, room_of
from tests.wrong import CALLS, METHODS, MOST_S, call

#: Most memory that a call may take without a word, and most that it may take at all, in megabytes.
MOST_MB, MOST_EVER_MB = 200, 4_000
#: Names of the packages that are tried here.
TRIED = tuple(f"rhythmlab.{package}." for package in ("core", "playing", "practice"))

P = rl.Polyrhythm
LONG, FINE = 10**999 + 7, Fraction(10**499 + 7, 10**498)
NUMBERS = {
    **{f"10**{power}": 10**power for power in (3, 4, 5, 6, 9, 18)},
    "480": 480,
    "2**62": 2**62,
    "1e-300": 1e-300,
    "1e300": 1e300,
    "4000 digits": Fraction(10**4000 + 1, 10**4000),
    "999 digits": Fraction(LONG, 10**998),
    "1/10**12": Fraction(1, 10**12),
    "0.1": 0.1,
}
PAIRS = {
    str(pulses): P(*pulses)
    for pulses in (
        *((10**3, 999), (20_000, 19_999), (10**5, 10**5 - 1), (10**6, 10**6 - 1), (10**7, 10**7 - 1)),
        *((1, 2**62), (2**62, 1), (2**61, 2**61), (2**62, 2**61), (2**31, 2**31 - 1), (10**6, 1), (2, 10**6)),
        *((2 * 10**6, 10**6), (10**5, 10**5), (400_000, 99_999), (999, 1000, 1001), (7, 11, 13, 17, 19, 23)),
        *((16 * 10**6, 16 * 10**6 - 1), (24 * 10**6, 12 * 10**6), (4, 3, 10**6)),
    )
} | {"256 pulses": P(*range(1, 17), *[720_720] * 240)}
TEMPOS = {
    f"Tempo {bpm!r:.12} {beat}": rl.Tempo(bpm, **beat)
    for bpm in (1, 1000, Fraction(1, 10**24), 10**24, FINE)
    for beat in ({"pulse": 0}, {"pulse": 1}, {"ticks": 1}, {"ticks": 2**62})
}


def _cycles() -> dict[str, rl.Cycle]:
    many = np.arange(10**5, dtype=np.int64)
    lanes = [rl.Lane(str(i), [i]) for i in range(1000)]
    return {
        "10**5 strokes": rl.Cycle(10**5, [rl.Lane("a", many)], beats=many),
        "10**6 strokes": rl.Cycle(2 * 10**6, [rl.Lane("a", np.arange(10**6) * 2)], beats=[0]),
        "1000 lanes": rl.Cycle(1000, lanes, beats=[0]),
        "2**62 ticks": rl.Cycle(
            2**62, [rl.Lane("a", [0, 2**61]), rl.Lane("b", [1, 2**62 - 1])], beats=[0, 5]
        ),
        "prime ticks": rl.Cycle(99_991, [rl.Lane("a", many[:99_991])], beats=[0]),
        "prime pattern": rl.pattern(("x." * 50_000)[:99_989]),
        "a bar of 10**4": rl.metre("10000/4").cycle(),
        "10**5 bars": rl.metre("4/4").cycle(10**5),
    }


CYCLES = _cycles()
LISTS = {
    "10**5 ones": [1] * 10**5,
    "range 10**5": range(10**5),
    "array 10**6": np.arange(10**6),
    "array 10**7": np.arange(10**7),
    "1 to 16": range(1, 17),
    "1000 ones": [1] * 1000,
    "500 twos": [2] * 500,
    "62 sixteens": [16] * 62,
    "20_000 pairs": [(i + 1, i) for i in range(1, 20_000)],
    "10**4 polyrhythms": [P(i + 1, i) for i in range(1, 10_000)],
    "1000 lanes": CYCLES["1000 lanes"].lanes,
}
TEXTS = {
    "10**5 x": "x" * 10**5,
    "x. 10**5": "x." * 50_000,
    "99_991 x": "x" + "." * 99_989 + "x",
    "RL 500": "RL" * 500,
    "R 1000": "R" * 1000,
    "RL 50_000": "RL" * 50_000,
    "10000/4": "10000/4",
    "10**5 letters": "a" * 10**5,
    "1+1+1": "+".join("1" * 1000) + "/8",
}
METRES = {
    "metre 10000/4": rl.metre("10000/4"),
    "fine metre": rl.metre("4/4", parts=2**58),
    "31/16": rl.metre("31/16"),
}
MAPPINGS = {
    "16 limbs": {f"limb {i}": "x..." for i in range(16)},
    "10**5 limbs": dict.fromkeys(range(10**5), "x"),
    "a row of 10**5": {"kind": "take", "taps": list(range(10**5))},
    "a row of 10**6": {"kind": "take", "taps": list(range(10**6))},
    "deep": {"kind": "note", "text": eval("[" * 80 + "]" * 80)},
    "a million letters": {"kind": "note", "text": "x" * 10**6},
    "ten million letters": {"kind": "note", "text": "x" * 10**7},
}


def _rows(count: int) -> list[dict]:
    row = {"kind": "take", "pair": [7, 4], "limbs": "hands", "spread_percent": 3, "missed": 0, "meant": 9}
    when = "{}-{:02}-{:02}T18:{:02}:00+02:00"
    return [
        row
        | {
            "bpm": 60 + i % 40,
            "when": when.format(2000 + i // 20_000, i // 700 % 12 + 1, i // 28 % 28 + 1, i % 60),
        }
        for i in range(count)
    ]


ROWS = {
    "10**4 takes": _rows(10**4),
    "10**5 takes": _rows(10**5),
    "a far take": [_rows(1)[0] | {"bpm": "1e999999999"}],
    "a long take": [_rows(1)[0] | {"bpm": "9" * 10**5}],
    "a take of old": [_rows(1)[0] | {"when": "0001-01-01T00:00:00+00:00"}],
}


def takes() -> dict[str, rl.practice.Take]:
    """Return long takes: many taps at their places, many by chance, all at once, and very fast ones."""
    chance = np.random.default_rng(64)
    cycle, tempo = P(4, 3).cycle(), rl.Tempo(200, pulse=1)
    turns = 10**4
    seconds = np.sort(chance.uniform(0, turns * 0.9, 99_999))
    common = {"mode": "both pulses", "lanes": (0, 1), "start": 0, "stop": 12}
    lanes = chance.integers(0, 2, 99_999)
    fast = rl.Tempo(10**24, pulse=1)
    one = {"mode": "one pulse", "lanes": (0,), "start": 0, "stop": 20_000 * 19_999}
    large = P(20_000, 19_999).cycle()

    def made(**named: object) -> rl.practice.Take:
        return rl.practice.Take(**{"cycle": cycle, "tempo": tempo, "cycles": turns, **common, **named})

    return {
        "10**5 taps by chance": made(tap_lanes=lanes, tap_times=seconds),
        "10**5 taps at once": made(tap_lanes=[0] * 99_999, tap_times=[1.0] * 99_999),
        "no taps": made(tap_lanes=[], tap_times=[]),
        "very fast": made(tempo=fast, tap_lanes=lanes, tap_times=seconds),
        "one line": made(mode="composite", tap_lanes=lanes, tap_times=seconds),
        "gap cycle": made(mode="gap cycle", tap_lanes=lanes, tap_times=seconds, silent=(1, 1)),
        "20,000 strokes": rl.practice.Take(
            cycle=large, tempo=rl.Tempo(60, pulse=1), cycles=4, **one, tap_lanes=lanes, tap_times=seconds
        ),
    }


TAKES = takes()
VALUES = NUMBERS | PAIRS | TEMPOS | CYCLES | LISTS | TEXTS | METRES | MAPPINGS | ROWS | TAKES
#: Two large values at once, where each alone is small.
TOGETHER: dict[str, Callable[[], object]] = {
    "phrases of all sizes": lambda: rl.phrases(1000, allowed=range(1, 17), most=1000),
    "phrases of 999": lambda: rl.phrases(999, allowed=(7, 11, 13, 16), most=1000),
    "phrases with a beginning": lambda: rl.phrases(1000, allowed=range(1, 17), fixed=[1] * 499, most=1000),
    "count of all sizes": lambda: rl.playing.count_phrases(10**5, range(1, 17)),
    "stick 1000 ones": lambda: rl.stick([1] * 1000, 80),
    "stick all sizes": lambda: rl.stick([*range(1, 17)] * 7, 84),
    "stick too fast": lambda: rl.stick([*range(1, 17)] * 7, 5),
    "stick a pair": lambda: rl.stick(P(499, 498), rl.Tempo(1, pulse=0)),
    "stick a pair fast": lambda: rl.stick(P(499, 498), rl.Tempo(1000, pulse=0)),
    "all rudiments": lambda: rl.stick(
        [16] * 62, 85, rudiments=["RLRRLRLLRLRRLRLL"[:i] for i in range(1, 17)] * 60
    ),
    "check a long one": lambda: rl.playing.check_sticking("RLRRLRLL" * 125, 125),
    "all fills": lambda: rl.fill("4/4", 20, beats=400, bars=120, most=200, best=1000),
    "long fills": lambda: rl.fill("4/4", 1, beats=10**5, most=200, best=1000),
    "fills in a long bar": lambda: rl.fill("10000/4", 10, most=200, best=1000),
    "given fills": lambda: rl.fill(
        "4/4", 10, pairs=[(i + 1, i) for i in range(2, 1000)], beats=800, bars=300
    ),
    "resolve long": lambda: rl.playing.resolve((99_991, 99_990), "4/4", bars=10**5, beats=10**5),
    "resolve far": lambda: rl.playing.resolve((2**31 - 1, 2**31 - 2), "4/4", bars=10**5, beats=10**5),
    "resolve in long bars": lambda: rl.playing.resolve((7, 4), "10000/64", bars=100),
    "long ostinato": lambda: rl.ostinato("x" * 10**5, "x" * 99_991, bars=10),
    "longest ostinato": lambda: rl.ostinato("x." * 15_000, "x.." * 9_999 + "x"),
    "ostinato of one limb": lambda: rl.ostinato(
        rl.pattern("x" * 10**5, limb="right foot"), rl.pattern("x" * 99_991, limb="right foot")
    ),
    "ostinato that never meets": lambda: rl.ostinato(
        rl.pattern("x." * 49_999, limb="right foot"), rl.pattern(".x" * 49_998, limb="right foot"), bars=1
    ),
    "meetings of all": lambda: rl.playing.meetings(rl.pattern("x" * 7001), rl.pattern("x" * 7000)),
    "meetings of more": lambda: rl.playing.meetings(rl.pattern("x" * 10**5), rl.pattern("x" * 99_991)),
    "meetings of few": lambda: rl.playing.meetings(
        rl.Cycle(10**9 + 7, [rl.Lane("a", range(3000))], beats=[]),
        rl.Cycle(10**9 + 9, [rl.Lane("b", range(3000))], beats=[]),
    ),
    "meetings of a million": lambda: rl.playing.meetings(CYCLES["10**6 strokes"], CYCLES["prime ticks"]),
    "meetings of millions": lambda: rl.playing.meetings(CYCLES["10**6 strokes"], CYCLES["10**6 strokes"]),
    "accents filled": lambda: rl.playing.accents("10000/64", every=7, filled=True, bars=10),
    "accents far on": lambda: rl.playing.accents("4/4", every=5, bars=6000, from_bar=10**15),
    "accents with all beats": lambda: rl.playing.accents("10000/4", every=3, pulse=range(1, 10_001), bars=1),
    "all words": lambda: rl.playing.other_words(P(999, 1000), 1000),
    "more words": lambda: rl.playing.other_words(P(*range(2, 13))),
    "modulation": lambda: rl.playing.modulation(1000, 999, 1000, beats=997),
    "zones of all": lambda: rl.playing.zones(
        rl.phase_gaps(P(2 * 10**6 + 1, 2 * 10**6), 0, 1), rl.Tempo(60, pulse=1)
    ),
    "zones of more": lambda: rl.playing.zones(
        rl.phase_gaps(P(24 * 10**6 + 1, 24 * 10**6), 0, 1), rl.Tempo(60, pulse=1)
    ),
    "zones of some": lambda: rl.playing.zones(rl.phase_gaps(P(8 * 10**6, 1), 0, 1), rl.Tempo(60, pulse=1)),
    "lost in a cycle of millions": lambda: rl.practice.when_lost(P(5 * 10**6 + 1, 5 * 10**6).cycle(), 10**18),
    "the whole line": lambda: rl.composite(P(24 * 10**6 + 1, 24 * 10**6)),
    "the line of three": lambda: rl.composite(P(16 * 10**6, 16 * 10**6 - 1, 2)),
    "steep ladder": lambda: rl.practice.Ladder(Fraction(1, 10**12), 1000),
    "fine ladder": lambda: rl.practice.Ladder(Fraction(LONG, 10**999), 1000),
    "fine steps": lambda: rl.practice.Ladder(1, 1000, step=Fraction(LONG, 10**999)),
    "approach of a fine tempo": lambda: rl.approach(P(1013, 997), rl.Tempo(FINE, pulse=0)),
    "approach of many sounds": lambda: rl.approach(P(499, 498), rl.Tempo(1, pulse=0), line_sounds=1000),
    "approach of many pulses": lambda: rl.approach(
        P(7, 9, 11, 13, 16, 17), rl.Tempo(1, pulse=0), line_sounds=1000
    ),
    "lost in a long cycle": lambda: rl.practice.when_lost(P(10**6 + 1, 10**6).cycle(), 10**18),
    "split": lambda: rl.playing.split(P(250_000, 249_999)),
    "hand to hand": lambda: rl.playing.hand_to_hand(P(250_000, 249_999)),
    "prepare many": lambda: rl.playing.prepare(PAIRS["256 pulses"]),
    "order": lambda: rl.playing.learning_order(LISTS["10**4 polyrhythms"]),
    "feel": lambda: rl.Feel(P(250_000, 249_999)).places(0),
    "drift of twins": lambda: rl.drift(P(10**6, 500_000), 0, 1),
    "landmarks of quarters": lambda: rl.playing.landmarks(P(4 * 10**5, 10**5), 0, 1),
    "a journal of 10**4": lambda: a_journal(10**4),
    "a journal of many": lambda: a_journal(3 * 10**4),
}


def a_journal(count: int) -> object:
    """Write a journal of many takes, and look at it in every way."""
    with Path("many.jsonl").open("wb") as file:
        file.write(journal_line({HEAD: VERSION}))
        for i, row in enumerate(_rows(count)):
            file.write(journal_line(row | {"id": str(i), "taps": [i / 7 for i in range(60)]}))
    journal = rl.practice.Journal("many.jsonl")
    journal._repr_html_()
    journal.export_csv("many.csv")
    return (
        rl.practice.Ladder(60, 96).climb(journal.takes(pair=(7, 4))),
        journal.today(),
        journal.last_minutes(),
    )


def batches() -> Iterator[dict[str, Callable[[], object]]]:
    """Yield the calls with one large value in an argument, all values of an argument together; then pairs."""
    for name in [*CALLS, *METHODS]:
        made = METHODS.get(name) or (lambda name=name: (room_of(name), CALLS[name]()))
        if name in METHODS or by_name(name).__module__.startswith(TRIED):
            for argument in made()[1]:
                yield {
                    f"{name}({argument}={said})": partial(_called, made, name.split(".")[-1], argument, value)
                    for said, value in VALUES.items()
                }
    yield from ({name: run} for name, run in TOGETHER.items())


def _called(made: Callable, name: str, argument: str, value: object) -> object:
    what, given = made()
    given[argument] = (value, *given["*"][1:]) if argument == "*" else value
    return call(getattr(what, name), given)


def look(value: object, deep: int = 2) -> None:
    """Look at everything that a value shows: its text, its properties, its methods without arguments."""
    import inspect

    if isinstance(value, tuple | list) and type(value).__module__ in ("builtins",):
        for inside in value[:3]:
            look(inside, deep)
        return
    if not type(value).__module__.startswith(TRIED) or not deep:
        return
    str(value)
    for name in dir(type(value)):
        if name.startswith("_") or name in ("set_aside", "append"):
            continue
        found = getattr(value, name)
        if inspect.ismethod(found):
            needed = [one for one in inspect.signature(found).parameters.values() if one.default is one.empty]
            if needed:
                continue
            try:
                found = found()
            except ValueError as error:
                if not getattr(error, "example", ""):
                    raise
                continue
        look(found, deep - 1)


def ended(run: Callable[[], object], said: int) -> dict:
    """Return how a call ended: its end, the time it took and looking at what came back, what it said."""
    begun, end, words = time.process_time(), "works", os.fstat(said).st_size
    until = None
    try:
        value = run()
        until = time.process_time()
        look(value)
    except (ValueError, IndexError, OSError) as error:
        end = "refused" if getattr(error, "example", "") else f"no example: {error!s:.200}"
        end = end if len(str(error)) <= 1000 else f"long: {error!s:.100}"
    except BaseException as error:
        end = f"raw {type(error).__name__}: {error!s:.200}"
    now = time.process_time()
    until = now if until is None else until
    return {
        "end": end,
        "seconds": until - begun,
        "looked": now - until,
        "said": os.fstat(said).st_size > words,
    }


def tried(runs: dict[str, Callable[[], object]]) -> dict[str, dict]:
    """Return how calls ended, in a process of their own; one by one where not all are quick."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        os.close(read)
        said = os.memfd_create("said")
        os.dup2(said, 2)
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        now = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
        resource.setrlimit(resource.RLIMIT_AS, (now + MOST_EVER_MB * 10**6,) * 2)
        told = {}
        for name, run in runs.items():
            signal.alarm(6 * MOST_S)
            told[name] = ended(run, said)
            told[name]["megabytes"] = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1000
        os.write(write, json.dumps(told).encode())
        os._exit(0)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        told = json.loads(pipe.read() or "{}")
    os.waitpid(child, 0)
    if len(runs) > 1 and (not told or any(map(wrong, told.values()))):
        return {name: found for name, run in runs.items() for found in tried({name: run}).values()}
    killed = {"end": "killed", "seconds": 6 * MOST_S, "looked": 0, "megabytes": 0, "said": False}
    return told or dict.fromkeys(runs, killed)


def wrong(told: dict) -> str:
    """Return what is wrong with how a call ended, empty where nothing is."""
    if told["end"] not in ("works", "refused"):
        return told["end"]
    if told["said"]:
        return ""
    slow = max(told["seconds"], told["looked"]) > MOST_S
    return "slow" if slow else "large" if told["megabytes"] > MOST_MB else ""


@pytest.mark.skipif(
    sys.platform != "linux", reason="forks, and reads the memory of each call in /proc, which only Linux has"
)
def test_no_call_freezes_or_takes_much_without_a_word(tmp_path, monkeypatch):
    """Each large value in each argument works or is refused, in ten seconds and 200 MB, or it says so."""
    monkeypatch.chdir(tmp_path)
    rl.midi(P(7, 4), rl.Tempo(72, pulse=1)).write("kit.mid")
    only, ends, faults = os.environ.get("ONLY", ""), Counter(), []
    for runs in batches():
        if only in next(iter(runs)):
            for name, told in tried(runs).items():
                ends[told["end"][:7]] += 1
                if wrong(told):
                    faults.append(f"{name}: {wrong(told)} {told}")
                    print(faults[-1])
    print(f"{ends.total():,} calls: {dict(ends)}")
    assert not faults, f"{len(faults)} of them:\n" + "\n".join(faults[:60])

"""Large values that are legal, and what a call takes with them: time and memory, in a process of its own."""

import inspect
import io
import os
import pickle
import resource
import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr
from fractions import Fraction
from functools import partial

import numpy as np

import rhythmlab as rl
from rhythmlab.core.long_work import LARGE_MB, LONG_S
from rhythmlab.refusal import Refusal
from tests.public import by_name
from tests.wrong import CALLS

#: Most memory of a child, in bytes, and most that it may run at all, in seconds.
MOST_MEMORY, MOST_RUN = 6 * 10**9, 300


def lane(strokes: int, ticks: int) -> rl.Lane:
    """Return a lane of so many strokes from tick 0."""
    return rl.Lane("a", np.arange(strokes, dtype=np.int64) * (ticks // strokes))


def _cycle(strokes: int, beats: int, bars: int = 0, ticks: int = 0) -> rl.Cycle:
    ticks = ticks or max(strokes, beats, 1)
    every = lane(max(beats, 1), ticks).onsets
    return rl.Cycle(ticks, [lane(strokes, ticks)], beats=every[:beats], bars=every[:bars])


VALUES: dict[str, Callable[[], object]] = {
    **{f"10**{n}": lambda n=n: 10**n for n in (2, 3, 4, 5, 6, 7, 9, 12, 18)},
    "tiny": lambda: 1e-9,
    "1/1000": lambda: Fraction(1, 1000),
    "long fraction": lambda: Fraction(10**40 + 1, 10**38 + 7),
    "longer fraction": lambda: Fraction(10**900 + 1, 10**899 + 7),
    "slow": lambda: rl.Tempo(1, pulse=1),
    "fast": lambda: rl.Tempo(1000, pulse=1),
    "long tempo": lambda: rl.Tempo(Fraction(10**40 + 1, 10**38 + 7), pulse=1),
    "longer tempo": lambda: rl.Tempo(Fraction(10**900 + 1, 10**898 + 7), pulse=1),
    "many ticks": lambda: rl.Tempo(60, ticks=10**9),
    **{
        f"{p}:{q}": lambda p=p, q=q: rl.Polyrhythm(p, q)
        for p, q in (
            *((64, 63), (128, 127), (1000, 999), (10_001, 10_000), (100_001, 100_000), (500_001, 499_999)),
            *((1_000_001, 1_000_000), (10**9 + 7, 10**9 + 6), (10**6, 1), (1, 10**6), (10**5, 3)),
            *((2**31, 2**31 - 1), (10**18, 1), (6 * 10**5, 4 * 10**5), (1000, 1000), (2520, 11)),
        )
    },
    "64 pulses": lambda: rl.Polyrhythm(*range(1, 13), *[7] * 52),
    "12 pulses": lambda: rl.Polyrhythm(*range(2, 14)),
    "64 lanes": lambda: rl.Cycle(64, [rl.Lane(f"{i}", range(64)) for i in range(64)], beats=range(0, 64, 4)),
    "65 lanes": lambda: rl.Cycle(64, [rl.Lane(f"{i}", [0]) for i in range(65)], beats=range(0, 64, 4)),
    "4,000 strokes": lambda: _cycle(4_000, 4_000),
    "100,000 strokes": lambda: _cycle(100_000, 1_000),
    "1,000,000 strokes": lambda: _cycle(1_000_000, 1_000_000),
    "10,000,000 strokes": lambda: _cycle(10_000_000, 1_000),
    "1,000,000 beats": lambda: _cycle(2, 1_000_000),
    "1,000,000 bars": lambda: _cycle(2, 1_000_000, 1_000_000),
    "1,000 bars": lambda: _cycle(4_000, 4_000, 1_000),
    "10**18 ticks": lambda: _cycle(3, 3, 0, 3 * 10**18),
    "uneven 10**18 ticks": lambda: rl.Cycle(10**18, [rl.Lane("a", [0, 1, 10**17])], beats=[0, 5, 10**17]),
    "uneven 10**5 ticks": lambda: rl.Cycle(10**5, [rl.Lane("a", range(0, 10**5, 7))], beats=[0, 5, 999]),
    "uneven beats": lambda: rl.Cycle(
        10**6, [rl.Lane("a", np.arange(0, 10**6, 3))], beats=np.unique(np.arange(10**6) ** 2 // 10**6)
    ),
    "accents": lambda: rl.Cycle(
        10**5, [rl.Lane("a", range(10**5), accents=range(10**5), hands="RL" * 50_000)], beats=[0, 4]
    ),
    "long text": lambda: "x" * 100_000,
    "lines": lambda: "x\n" * 40_000,
    "long metre": lambda: "1000/64",
    "longer metre": lambda: "+".join(["2"] * 1000) + "/16",
    "many seats": lambda: range(1, 5_001),
    "many numbers": lambda: list(range(10**6)),
    "many takes": lambda: [
        {"pair": [4, 3], "pulse": 1, "bpm": 60, "when": f"20{n % 90 + 10}-05-01T10:{n % 60:02}:00+00:00"}
        for n in range(100_000)
    ],
    "many pairs": lambda: [(rl.Polyrhythm(7, 4), 72)] * 10_000,
    "strip": lambda: rl.pictures.strip(_cycle(5_000, 1), start=0, stop=5_000),
    "zones": lambda: rl.playing.zones(
        rl.phase_gaps(rl.Polyrhythm(500_001, 500_000), 0, 1), rl.Tempo(60, pulse=1)
    ),
    "zones of 10**6": lambda: rl.playing.zones(
        rl.phase_gaps(rl.Polyrhythm(2_000_001, 2_000_000), 0, 1), rl.Tempo(60, pulse=1)
    ),
    "window of zones": lambda: rl.playing.zones(
        rl.phase_gaps(rl.Polyrhythm(10**9 + 7, 10**9 + 6), 0, 1, start=0, stop=10**14), rl.Tempo(60, pulse=1)
    ),
}


def parts(value: object) -> Iterator[tuple[str, Callable[[], object]]]:
    """Yield the properties of a value and its methods without arguments, each as a call."""
    for name in dir(type(value)):
        found = inspect.getattr_static(type(value), name)
        if name.startswith("_") and name not in ("_repr_html_", "__repr__"):
            continue
        if inspect.isfunction(found):
            if len(inspect.signature(found).parameters) == 1:
                yield f".{name}()", getattr(value, name)
        else:
            yield f".{name}", lambda name=name: getattr(value, name)
    for name, call in (
        ("blocks", lambda: next(iter(value.blocks()))),
        ("onsets", lambda: value.onsets(0)),
        ("svg", lambda: value.svg(1)),
    ):
        if hasattr(type(value), name):
            yield f".{name}(…)", call


def tried(name: str, argument: str, value: object) -> list[str]:
    """Return what is wrong with a call, and with what it returns: silent and long, or large, or raw."""
    function = by_name(name)
    named, found = dict(CALLS[name]()), []
    if argument == "what" and "home" in named:
        named["home"] = None
    named[argument] = (value, *named["*"][1:]) if argument == "*" else value
    made = _watched("", lambda: function(*named.pop("*", ()), **named), found)
    if type(made).__module__.startswith("rhythmlab."):
        for part, call in parts(made):
            _watched(part, call, found)
    return found


def _watched(part: str, call: Callable[[], object], found: list[str]) -> object:
    """Call, and note what is wrong."""
    before, begun, told = _rss(), time.monotonic(), io.StringIO()
    value = None
    signal.signal(signal.SIGALRM, _over)
    signal.alarm(MOST_RUN)
    try:
        with redirect_stderr(told):
            value = call()
    except BaseException as error:
        if isinstance(error, TimeoutError):
            found.append(f"{part} runs on and on")
        elif not isinstance(error, Refusal) or not error.example:
            found.append(f"{part} ends raw in {type(error).__name__}: {error!s:.150}")
    finally:
        signal.alarm(0)
    seconds, megabytes = time.monotonic() - begun, _rss() - before
    said = "Interrupt" in told.getvalue()
    if (seconds > LONG_S or megabytes > LARGE_MB) and not said:
        found.append(f"{part} takes {seconds:.1f} s and {megabytes:.0f} MB in silence")
    return value


def _over(*_: object) -> None:
    raise TimeoutError


def _rss() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def in_child(work: Callable[[], list[str]]) -> list[str]:
    """Run in a process of its own with bounded memory, and return what it found."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
        try:
            found = work()
        except BaseException as error:
            found = [f" the trial itself ends in {error!r:.200}"]
        with os.fdopen(write, "wb") as out:
            out.write(pickle.dumps(found))
        os._exit(0)
    os.close(write)
    with os.fdopen(read, "rb") as answer:
        data = answer.read()
    os.waitpid(child, 0)
    return pickle.loads(data) if data else [" the process ends"]


def main(names: list[str]) -> None:
    """Try each argument of the named calls with each value, and print what is wrong."""
    calls = faults = 0
    pairs = [(name, argument) for name in names for argument in CALLS[name]()]
    for said, make in VALUES.items():
        try:
            value = make()
        except ValueError as error:
            print(f"{said} cannot be made: {error!s:.100}")
            continue
        for name, argument in pairs:
            begun = time.monotonic()
            found = in_child(partial(tried, name, argument, value))
            calls += 1
            faults += len(found)
            for wrong in found:
                print(f"{name}({argument}={said}){wrong}"[:300], flush=True)
            if time.monotonic() - begun > LONG_S and not found:
                print(
                    f"   {name}({argument}={said}) took {time.monotonic() - begun:.0f} s and said so",
                    flush=True,
                )
    print(f"{calls} calls, {faults} faults", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])

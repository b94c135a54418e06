"""Long work says so before it begins, shows how far it is, and can be stopped.

A call that may take more than ten seconds or 200 MB says so on the error stream, in one line; the line is
not a warning, since nothing is wrong. In a notebook work of steps shows a bar with a *Stop* button, in a
terminal one line, and where neither looks on nothing more.

A kernel that works reads no messages, so the button interrupts it, as the square in the tool bar does. An
interrupt is held back until the step that runs is done; a second one ends it where it is.
"""

import signal
import sys
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from importlib import import_module
from time import monotonic
from typing import Any, Protocol, TypeVar

from rhythmlab.refusal import notebook
from rhythmlab.safe_import import safe_imports

_Part = TypeVar("_Part")

#: From here on a call says before it begins how long it takes, and how much memory: seconds and megabytes.
LONG_S, LARGE_MB = 10, 200
#: Seconds after which work shows how far it is, and from one time to the next.
SHOWN_S, _AGAIN_S = 2, 0.1
#: Where a notebook's bar is; it is loaded when work begins to be long there, for no widget belongs down here.
_BAR = "rhythmlab.panels.progress"


class Meter(Protocol):
    """What shows how far work is."""

    def begin(self, what: str, count: int) -> None:
        """Show work that goes on."""

    def at(self, done: int) -> None:
        """Show that so many steps are done."""

    def end(self, said: str) -> None:
        """Show that it is over, and how it ended."""


class Stopped(KeyboardInterrupt):
    """Work that was stopped between two steps.

    Examples
    --------
    >>> print(Stopped("A pack of 30 handouts", 12, 30))
    Stopped at 12 of 30 (40 %): A pack of 30 handouts. Each file that is there is whole.
    """

    def __init__(self, what: str, done: int, count: int) -> None:
        super().__init__(what, done, count)
        self.what, self.done, self.count = what, done, count

    def __str__(self) -> str:
        share = 100 * self.done // max(1, self.count)
        far = f"{self.done:,} of {self.count:,} ({share} %)"
        return f"Stopped at {far}: {self.what}. Each file that is there is whole."

    def _render_traceback_(self) -> list[str]:
        """Return what a notebook shows: one line."""
        return [str(self)]


class _Line:
    """One line of a terminal."""

    def begin(self, what: str, count: int) -> None:
        self._what, self._count = what, count

    def at(self, done: int) -> None:
        share = 100 * done // max(1, self._count)
        print(f"\r{self._what}: {share} % done", end="", file=sys.stderr, flush=True)

    def end(self, said: str) -> None:
        print(f"\r{said}", file=sys.stderr, flush=True)


#: The meter of a panel while it works, and whether it is shown at once; work that is shown already, of which
#: this may be a part.
_meters: list[tuple[Meter, bool]] = []
_at_work: list[str] = []


@contextmanager
def shown_on(meter: Meter, *, at_once: bool = False) -> Iterator[None]:
    """Show work on this meter: from its beginning, or once it begins to be long."""
    _meters.append((meter, at_once))
    try:
        yield
    finally:
        _meters.remove((meter, at_once))


def say(
    what: str, *, seconds: float = 0, megabytes: float = 0, instead: str = "", steps: bool = False
) -> bool:
    """Say before long work begins what it will take; nothing where it is short.

    Parameters
    ----------
    what : str
        The work, as the beginning of a sentence.
    seconds, megabytes : float
        What it takes, about; too much rather than too little.
    instead : str
        What needs less, as a sentence.
    steps : bool
        Whether it is `shown` step by step, so that a notebook has a bar and needs no word of seconds.

    Returns
    -------
    bool
        Whether it was said.

    Examples
    --------
    >>> say("Four cycles as samples", seconds=0.1, megabytes=3)
    False
    """
    takes = []
    barred = steps and _in_a_page()
    if seconds > LONG_S and not barred:
        takes.append(f"{seconds:.0f} seconds" if seconds < 100 else f"{seconds / 60:.0f} minutes")
    if megabytes > LARGE_MB:
        takes.append(f"{megabytes:,.0f} MB of memory")
    if takes:
        more = f" {instead}" if instead else ""
        print(f"{what}: about {' and '.join(takes)}; Interrupt stops it.{more}", file=sys.stderr, flush=True)
    return bool(takes) or (barred and seconds > LONG_S)


def _in_a_page() -> bool:
    """Whether a notebook looks on."""
    return getattr(notebook(), "kernel", None) is not None or bool(_meters)


def _looking_on() -> Meter | None:
    """Return what shows how far work is: the meter of a panel, a bar, a line, or nothing."""
    if _meters:
        return _meters[-1][0]
    if _in_a_page():
        with safe_imports():
            bar: Meter = import_module(_BAR).bar()
        return bar
    return _Line() if sys.stderr is not None and sys.stderr.isatty() else None


def shown(parts: Iterable[_Part], count: int, what: str, *, long: bool) -> Iterator[_Part]:
    """Yield the parts of long work, show how far it is, and let it be stopped between two of them.

    Parameters
    ----------
    parts : iterable
        What is worked through.
    count : int
        How many there are.
    what : str
        The work, as the beginning of a line.
    long : bool
        Whether it is shown from its beginning; as `say` returned it.

    Raises
    ------
    Stopped
        Between two parts, where it was interrupted; it says how far it came.

    Examples
    --------
    >>> list(shown("abc", 3, "Letters", long=False))
    ['a', 'b', 'c']
    """
    meter = None if _at_work else _looking_on()
    if meter is None:
        yield from parts
        return
    long = long or any(at_once for _, at_once in _meters[-1:])
    began = last = monotonic()
    open_, done = False, 0
    with _held_back(what) as asked:
        try:
            if long:
                meter.begin(what, count)
                open_ = True
            for part in parts:
                if asked:
                    raise Stopped(what, done, count)
                yield part
                done += 1
                now = monotonic()
                if not open_ and now - began > SHOWN_S:
                    meter.begin(what, count)
                    open_ = True
                if open_ and now - last > _AGAIN_S:
                    meter.at(done)
                    last = now
        except Stopped as stopped:
            if open_:
                meter.end(str(stopped))
            raise
        except BaseException:
            if open_:
                meter.end(f"{what}: broken off at {done:,} of {count:,}.")
            raise
        if open_:
            meter.end(f"{what}: done.")


@contextmanager
def _held_back(what: str) -> Iterator[list[int]]:
    """Hold an interrupt back; it is in the list then, and a second one interrupts the main thread."""
    asked: list[int] = []
    here = threading.current_thread() is threading.main_thread()
    before: Any = None

    def heard(number: int, frame: Any) -> None:
        if asked and here:
            signal.signal(signal.SIGINT, before)
            raise KeyboardInterrupt
        asked.append(number)

    def listen() -> None:
        nonlocal before
        before = signal.signal(signal.SIGINT, heard)

    def leave() -> None:
        if signal.getsignal(signal.SIGINT) is heard:
            signal.signal(signal.SIGINT, before)

    _at_work.append(what)
    _in_the_main_thread(listen)
    try:
        yield asked
    finally:
        _at_work.remove(what)
        _in_the_main_thread(leave)


def _in_the_main_thread(do: Callable[[], None]) -> None:
    """Do what only the main thread may: ask for signals. A kernel may run what a widget calls in another."""
    if threading.current_thread() is threading.main_thread():
        return do()
    loop = getattr(getattr(notebook(), "kernel", None), "io_loop", None)
    if loop is not None:
        loop.add_callback(do)
    return None

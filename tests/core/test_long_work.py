"""Long work: it shows how far it is, stops between two steps, and is quiet where nobody looks on."""

import contextlib
import io
import os
import queue
import signal
import subprocess
import sys
import threading
import types

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmlab.core import long_work
from rhythmlab.core.long_work import Stopped, shown, shown_on


class Meter:
    """Keeps what it is told."""

    def __init__(self):
        self.told = []

    def begin(self, what, count):
        self.told.append(("begin", what, count))

    def at(self, done):
        self.told.append(done)

    def end(self, said):
        self.told.append(("end", said))


@given(count=st.integers(1, 30), data=st.data())
def test_work_that_is_interrupted_stops_after_the_step_that_runs(count, data):
    """At whatever step: that one is finished, none is begun after it, and it says how far it came."""
    at = data.draw(st.integers(1, count - 1)) if count > 1 else 1
    meter, finished, before = Meter(), [], signal.getsignal(signal.SIGINT)

    def work():
        with shown_on(meter):
            for step in shown(range(1, count + 1), count, "Steps", long=True):
                if step == at:
                    os.kill(os.getpid(), signal.SIGINT)
                finished.append(step)

    if at == count:  # nothing is left to stop
        work()
        assert meter.told[-1] == ("end", "Steps: done.")
    else:
        with pytest.raises(Stopped) as stopped:
            work()
        assert (stopped.value.done, stopped.value.count) == (at, count)
        assert meter.told[-1] == ("end", str(stopped.value))
        assert f"{at} of {count}" in str(stopped.value)
        assert stopped.value._render_traceback_() == [str(stopped.value)]
    assert finished == list(range(1, at + 1))
    assert signal.getsignal(signal.SIGINT) is before


def test_a_second_interrupt_ends_a_step_that_does_not_end():
    """The reader is never held up by one step."""
    before = signal.getsignal(signal.SIGINT)

    def work():
        for _ in shown(range(3), 3, "Steps", long=True):
            os.kill(os.getpid(), signal.SIGINT)
            os.kill(os.getpid(), signal.SIGINT)

    with shown_on(Meter()), pytest.raises(KeyboardInterrupt) as ended:
        work()
    assert not isinstance(ended.value, Stopped)
    ended = None
    assert signal.getsignal(signal.SIGINT) is before


@pytest.mark.parametrize("at", [1, 3, 6])
def test_work_of_a_widget_in_a_thread_of_its_own_is_stopped_too(monkeypatch, at):
    """A kernel runs what a button calls beside its main thread, which alone hears an interrupt."""
    calls, reached, go = queue.Queue(), threading.Event(), threading.Event()
    kernel = types.SimpleNamespace(io_loop=types.SimpleNamespace(add_callback=calls.put))
    monkeypatch.setattr(long_work, "notebook", lambda: types.SimpleNamespace(kernel=kernel))
    before, finished, ended = signal.getsignal(signal.SIGINT), [], []

    def work():
        try:
            with shown_on(Meter()):
                for step in shown(range(1, 7), 6, "Steps", long=True):
                    if step == at:
                        reached.set()
                        assert go.wait(10)
                    finished.append(step)
        except Stopped as stopped:
            ended.append(stopped.done)

    thread = threading.Thread(target=work)
    thread.start()
    assert reached.wait(10)
    if not calls.empty():  # what a main thread that waits does at once
        calls.get()()
    with contextlib.suppress(KeyboardInterrupt):
        os.kill(os.getpid(), signal.SIGINT)
    go.set()
    thread.join(10)
    while not calls.empty():
        calls.get()()
    assert finished == list(range(1, at + 1))
    assert ended == ([at] if at < 6 else [])
    assert signal.getsignal(signal.SIGINT) is before


def test_work_inside_of_work_is_a_part_of_it(monkeypatch):
    """One bar, for the whole; it shows each step that takes a while."""
    monkeypatch.setattr(long_work, "_AGAIN_S", 0)
    meter = Meter()
    with shown_on(meter):
        for _ in shown(range(2), 2, "Outer", long=True):
            assert list(shown("ab", 2, "Inner", long=True)) == ["a", "b"]
    assert meter.told == [("begin", "Outer", 2), 1, 2, ("end", "Outer: done.")]


def test_short_work_shows_nothing_and_work_that_turns_out_long_does(monkeypatch):
    """Whatever was reckoned before."""
    meter = Meter()
    with shown_on(meter):
        assert list(shown("ab", 2, "Short", long=False)) == ["a", "b"]
        assert meter.told == []
        monkeypatch.setattr(long_work, "SHOWN_S", 0)
        assert list(shown("ab", 2, "Slow", long=False)) == ["a", "b"]
    assert meter.told[0] == ("begin", "Slow", 2)


def test_work_whose_meter_is_to_be_seen_at_once_begins_it_before_its_first_step():
    """However short it is: its panel has said already how it is stopped."""
    meter, seen = Meter(), []
    with shown_on(meter, at_once=True):
        for _ in shown(range(2), 2, "A pack", long=False):
            seen.append(meter.told[0])
    assert seen == [("begin", "A pack", 2)] * 2


def test_an_error_in_work_is_itself_and_ends_the_bar():
    """The bar says that it was broken off."""
    meter = Meter()

    def broken():
        yield 1
        raise OSError("the disk is full")

    with shown_on(meter), pytest.raises(OSError, match="the disk is full"):
        list(shown(broken(), 3, "Steps", long=True))
    assert meter.told[-1] == ("end", "Steps: broken off at 1 of 3.")


def test_a_terminal_has_one_line(monkeypatch):
    """Written over itself, and ended once."""

    class Terminal(io.StringIO):
        def isatty(self):
            return True

    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setattr(long_work, "_AGAIN_S", 0)
    assert list(shown("abcd", 4, "Letters", long=True)) == list("abcd")
    lines = screen.getvalue().split("\n")
    assert lines[1:] == [""]
    assert lines[0].split("\r")[1:] == [f"Letters: {n} % done" for n in (25, 50, 75, 100)] + [
        "Letters: done."
    ]


def test_a_script_stays_quiet():
    """Nothing of the steps where no terminal and no notebook looks on."""
    code = "from rhythmlab.core.long_work import shown; list(shown('ab', 2, 'Letters', long=True))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("", "")

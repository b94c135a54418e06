"""A redraw works out the heard line of what it shows once, however many pictures and sentences use it."""

from collections import Counter

import pytest
from ipywidgets import Layout, Widget

import rhythmlab as rl
from rhythmlab.core import composite as module

PANELS = (
    "two_numbers",
    "find_grid",
    "merge_pulses",
    "choose_home",
    "follow_gaps",
    "choose_way",
    "write_down",
    "wall",
)


@pytest.fixture
def worked_out(monkeypatch):
    """Count how often lines are worked out."""
    count = Counter()
    for name in ("_of_pulses", "_of_lanes"):
        work = getattr(module, name)

        def counted(what, first, last, work=work):
            count[tuple(what.pulses) if isinstance(what, rl.Polyrhythm) else what] += 1
            return work(what, first, last)

        monkeypatch.setattr(module, name, counted)
    return count


@pytest.mark.parametrize("name", PANELS)
@pytest.mark.parametrize("pair", [(7, 4), (5, 3), (16, 15), (12, 9)])
def test_a_redraw_works_out_the_line_once(name, pair, worked_out):
    """For every panel of two numbers and several pairs: one line, worked out once, for all that is shown."""
    panel = getattr(rl.pages, name)(3, 2)
    first, second = (field for field in panel._pulses.children if hasattr(field, "value"))
    first.value = str(pair[0])
    worked_out.clear()
    second.value = str(pair[1])
    assert panel.feel.polyrhythm == rl.Polyrhythm(*pair)
    assert sum(worked_out.values()) == 1, worked_out


def test_what_is_kept_is_not_another_rhythm_s(worked_out):
    """Every home of a rhythm has one line; a cycle with other strokes, or made anew, has its own."""
    p = rl.Polyrhythm(7, 4)
    lines = [rl.composite(what) for what in (p, p.cycle(0), p.cycle(1), p, p.cycle())]
    assert sum(worked_out.values()) == 1
    assert len(set(lines)) == 1
    assert rl.composite(rl.playing.split(p)) == lines[0]
    assert rl.composite((7, 5)) != lines[0]
    assert sum(worked_out.values()) == 3


def test_a_long_line_is_not_kept(monkeypatch):
    """Memory is given back: a rhythm of more strokes than `MOST_CACHED` holds nothing."""
    monkeypatch.setattr(module, "MOST_CACHED", 10)
    p = rl.Polyrhythm(7, 4)
    assert rl.composite(p) == rl.composite(p)
    assert not p._cache


@pytest.mark.parametrize("name", ["two_numbers", "choose_way"])
def test_a_changed_number_sends_the_picture_first(name, monkeypatch):
    """The picture is sent before the fields around it, and each of them gets one message."""
    panel, sent = getattr(rl.pages, name)(3, 2), []
    send = Widget.send_state
    monkeypatch.setattr(Widget, "send_state", lambda self, key=None: sent.append(self) or send(self, key))
    field = panel._pulses.children[0]
    field.value = "7"
    after = [one for one in sent if one is not field and not isinstance(one, Layout)]
    assert panel.feel.polyrhythm == rl.Polyrhythm(7, 2)
    assert after[0] is panel.stage
    assert after.count(panel._home) == after.count(panel._bpm) == 1

"""What is said on the first panel: nothing that it has no control for, or that is not explained yet."""

import re
from fractions import Fraction

import pytest

import rhythmlab as rl
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.panels.pages_00_to_04 import FIRST
from rhythmlab.practice.first_takes import cause_said, first_feedback
from rhythmlab.practice.measure import measure
from rhythmlab.practice.moved import KINDS, Cause
from rhythmlab.practice.take import Take

#: What the first panel has not: a tempo, a loop, a click to hear alone, counts and beats.
NOT_THERE = re.compile(r"\bbpm\b|\bloop|\bcounts?\b|\bcounting\b|\bbeat|\bclick\b|\b[&ea] of \d|\d %|\bms\b")


def a_take(pair, taps=()):
    p = Polyrhythm(*pair)
    return Take(
        cycle=p.cycle(), tempo=rl.Tempo(Fraction(45), pulse=1), cycles=4, start=0, stop=p.ticks,
        mode="both pulses", lanes=(0, 1), tap_lanes=[lane for lane, _ in taps],
        tap_times=[when for _, when in taps], limbs="hands",
    )  # fmt: skip


@pytest.mark.parametrize("pair", FIRST)
@pytest.mark.parametrize("kind", KINDS)
def test_no_cause_speaks_of_what_the_panel_has_not(pair, kind):
    """Each cause, early and late, of each lane at each of its strokes, asks for what can be done there."""
    take = a_take(pair)
    for lane in (0, 1):
        for tick in take.cycle.lanes[lane].onsets.tolist():
            for us in (-40_000, 40_000):
                cause = Cause(
                    kind, lane, us=us, then_us=-us, cycle=2, tick=tick, lanes=(1, 0), count=3, pulses=(2, 1)
                )
                said = cause_said(take, cause) if kind != "unsure" else first_feedback(take, measure(take))[0]
                assert ": next, " in said
                assert not NOT_THERE.search(said.replace("counts for nothing", "")), said
                if kind in ("missing", "added", "place"):
                    assert re.search(rf"stroke of the (?:first |second )?{pair[lane]}\b", said)


@pytest.mark.parametrize("pair", FIRST)
def test_a_clean_take_and_one_of_nothing_are_told_in_the_same_words(pair):
    """Also where no cause is found."""
    p = Polyrhythm(*pair)
    cycle = 60 * pair[1] / 45
    taps = [(lane, k * cycle / n - 0.03) for lane, n in enumerate(p.pulses) for k in range(4 * n)]
    for take in (a_take(pair), a_take(pair, sorted(taps, key=lambda tap: tap[1]))):
        for said in first_feedback(take, measure(take)):
            assert not NOT_THERE.search(said), said


@pytest.mark.parametrize("pair", [(3, 2), (4, 3)])
@pytest.mark.parametrize("lane", [0, 1])
def test_a_hand_that_never_came_did_not_stop(pair, lane):
    """Of two hands the one that was not played is told as that; there is another hand, and no rest."""
    cycle = 60 * pair[1] / 45
    for stop in (0, 2):
        taps = [(1 - lane, k * cycle / pair[1 - lane]) for k in range(4 * pair[1 - lane])]
        taps += [(lane, k * cycle / pair[lane]) for k in range(stop * pair[lane])]
        take = a_take(pair, sorted(taps, key=lambda tap: tap[1]))
        (said,) = first_feedback(take, measure(take))
        who = ("The right hand", "The left hand")[lane]
        told = "stopped while the other hand went on:" if stop else "did not play at all:"
        assert said.startswith(f"{who} {told}"), said
        assert not re.search(r"\bthe rest\b", said), said


def test_the_panel_of_page_00_says_it(tmp_path, monkeypatch):
    """What stands under the picture after a take has no tempo, in the line of the journal neither."""
    monkeypatch.chdir(tmp_path)
    panel = rl.pages.first_rhythms()
    plan = panel.stage.plan
    message = {
        **{"id": "t1", "mode": "both pulses", "lanes": [0, 1], "ticks": plan["ticks"], "start": 0},
        **{"stop": plan["ticks"], "cycles": 4, "cycle_s": plan["cycle_s"], "t0": 10.0, "taps": []},
        **{"limbs": "hands", "pulses": list(FIRST[0]), "bpm": plan["bpm"], "pulse": plan["pulse"]},
        "home": plan["pulse"],
    }
    panel.takes.received(message)
    told = " ".join(panel.stage.feedback)
    assert "No stroke was heard: next, say the words aloud" in told
    assert not NOT_THERE.search(told), told

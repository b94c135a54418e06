"""The reader's own limits: known strokes give known numbers, kept and used; unsteady ones give none."""

import numpy as np
import pytest

import rhythmlab as rl
from rhythmlab.panels.my_hands import OwnLimits
from rhythmlab.practice.journal import Journal
from rhythmlab.practice.measured_limits import measured_limits, steady_ms
from tests.panels.test_takes import send


def tried(times, id="try-1", lanes=None, when="2030-05-04T18:00:00+02:00"):
    lanes = lanes or [0] * len(times)
    return {
        "id": id,
        "when": when,
        "t0": 5.0,
        "taps": [[lane, 5 + t] for lane, t in zip(lanes, times, strict=True)],
    }


@pytest.fixture
def journal(tmp_path):
    return Journal(tmp_path / "journal.jsonl")


def test_the_fastest_steady_run_is_found_among_slower_and_uneven_strokes():
    """Slow, then 40 strokes 150 ms apart, then ragged: 150 ms."""
    rng = np.random.default_rng(3)
    slow = np.arange(10) * 0.4
    fast = slow[-1] + 0.4 + np.arange(40) * 0.15
    ragged = fast[-1] + np.cumsum(rng.uniform(0.05, 0.3, 30))
    ms, share = steady_ms(np.concatenate([slow, fast, ragged]))
    assert ms == pytest.approx(150, abs=1)
    assert share < 0.15


def test_too_few_or_ragged_strokes_are_no_limit():
    """Twelve intervals in a row must be steady."""
    assert steady_ms(np.arange(12) * 0.15) is None
    assert steady_ms(np.cumsum([0.1, 0.3] * 15)) is None
    assert steady_ms(np.array([])) is None


def test_a_try_is_told_kept_and_moves_the_advice(journal):
    """One hand at 140 ms: said in ms and a second, in the journal, and a limit for the pages."""
    panel = OwnLimits(journal)
    send(panel.stage, tried(np.arange(60) * 0.14))
    assert panel.stage.feedback[0].startswith("Steady at 140 ms from stroke to stroke, 7.1 a second")
    assert panel.stage.taken == ["try-1"]
    assert measured_limits(journal) == {"hand_sustained": 140.0}
    assert rl.limits(**measured_limits(journal))["hand_sustained"].status == "moved"


def test_one_hand_counts_the_hand_that_played_and_hand_to_hand_both(journal):
    """Alternating 75 ms apart is 150 a hand; counted parts are both hands together."""
    panel = OwnLimits(journal)
    times, lanes = np.arange(80) * 0.075, [0, 1] * 40
    send(panel.stage, tried(times, lanes=lanes))
    assert "Steady at 150 ms" in panel.stage.feedback[0]
    panel._kind.value = "part_uneven"
    send(panel.stage, tried(times, id="try-2", lanes=lanes))
    assert measured_limits(journal)["part_uneven"] == pytest.approx(1000 / 75, abs=0.01)


def test_three_tries_are_enough_and_the_best_of_the_last_day_counts(tmp_path):
    """The third try says to rest; yesterday's better one is not today's."""
    from datetime import datetime

    now = datetime.fromisoformat("2030-05-05T20:00:00+02:00")
    journal = Journal(tmp_path / "journal.jsonl", clock=lambda: now)
    panel = OwnLimits(journal)
    send(panel.stage, tried(np.arange(60) * 0.12, id="old"))
    for nth, gap in enumerate((0.16, 0.15, 0.17)):
        send(panel.stage, tried(np.arange(50) * gap, id=f"new-{nth}", when="2030-05-05T19:00:00+02:00"))
    assert "3 tries are enough" in panel.stage.feedback[1]
    assert measured_limits(journal) == {"hand_sustained": 150.0}


def test_nothing_measured_is_no_limit_and_no_strokes_are_said(journal):
    """An empty journal moves nothing; an empty try is told and let go."""
    assert measured_limits(journal) == {}
    panel = OwnLimits(journal)
    send(panel.stage, tried([]))
    assert "0 strokes came" in panel.stage.feedback[0]
    assert panel.stage.taken == ["try-1"]


def test_it_says_how_to_take_care(journal):
    """Warm up, ten seconds, three tries, stop at tightness."""
    text = OwnLimits(journal).children[0].value
    for word in ("Warm up first", "10 seconds a try, 3 tries", "stop at tightness", "see a clinician"):
        assert word in text

"""The panel of page 08: where the ladder stands, what is planned, and what is found again tomorrow."""

from datetime import datetime, timedelta, timezone

import pytest

from rhythmlab.panels.practice import Practice, practise
from rhythmlab.practice.journal import Journal
from tests.panels.test_takes import message, send

START = datetime(2030, 5, 4, 18, tzinfo=timezone(timedelta(hours=2)))


@pytest.fixture
def journal(tmp_path):
    return Journal(tmp_path / "journal.jsonl", clock=lambda: START + timedelta(days=1))


def made(journal, **more):
    return Practice((4, 3), **{"now": 60, "goal": 96, "minutes": 20, "home": None, **more}, journal=journal)


def test_it_starts_on_the_first_step_with_a_plan_and_no_picture(journal):
    """An empty journal: the first step, the days that are left, a plan whose minutes add up."""
    panel = made(journal)
    assert panel.tempo.bpm == 60
    assert "No take has been kept yet." in panel._last.value
    assert "Stand at 60 bpm, step 1 of" in panel._climb.value
    assert "The plan for 20 minutes" in panel._plan.value
    assert panel._picture.value == ""


def test_the_first_even_take_moves_the_ladder_and_draws_the_picture(journal):
    """A cold take at the step passes; the button goes to the next step; a second take moves nothing."""
    panel = made(journal)
    send(panel.stage, message(bpm=60))
    assert "Stand at 62 bpm" in panel._climb.value
    assert "<svg" in panel._picture.value
    panel._step.click()
    assert panel.tempo.bpm == 62
    assert panel.stage.plan["bpms"][1] == 62
    send(panel.stage, message(bpm=62, id="take-2", when="2030-05-04T19:00:00+02:00"))
    assert "Stand at 62 bpm" in panel._climb.value


def test_tomorrow_finds_todays_work(journal):
    """A new panel on the same journal says what was practised last and stands where it stood."""
    send(made(journal).stage, message(bpm=60))
    again = made(journal)
    assert "Yesterday: 4 against 3 at 60 bpm of the 3, hands" in again._last.value
    assert "Stand at 62 bpm" in again._climb.value


def test_each_pair_of_limbs_has_a_ladder_of_its_own(journal):
    """Hands have gone up; swapped, the ladder stands at its foot."""
    panel = made(journal)
    send(panel.stage, message(bpm=60))
    panel._limbs.value = "hands swapped"
    assert "Stand at 60 bpm, step 1 of" in panel._climb.value


def test_takes_of_other_pairs_do_not_count(journal):
    """A take of 7 against 4 leaves the ladder of 4 against 3 alone."""
    panel = made(journal)
    send(panel.stage, message((7, 4), 72))
    assert "Stand at 60 bpm, step 1 of" in panel._climb.value


def test_a_damaged_line_is_told_where_the_reader_looks(journal):
    """A torn line at the end: the panel says so and shows the rest."""
    send(made(journal).stage, message(bpm=60))
    with journal.path.open("ab") as file:
        file.write(b'{"kind": "take", "id": "torn')
    panel = made(journal)
    assert "Stand at 62 bpm" in panel._climb.value
    assert panel.stage.notice != ""


def test_a_flip_keeps_the_ladder_in_its_own_pulse(journal):
    """With home on the 4 the step is still said and set in the 3."""
    panel = made(journal)
    panel.stage.home = 0
    panel._step.click()
    assert panel.tempo.bpm_of(panel.feel.polyrhythm, 1) == 60


def test_a_goal_below_the_start_is_refused(tmp_path, monkeypatch):
    """The message says what works."""
    monkeypatch.chdir(tmp_path)
    with pytest.raises(ValueError, match="goal"):
        practise(4, 3, now=96, goal=60)

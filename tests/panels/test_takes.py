"""A take on its way: measured, told, kept in the journal, and let go by the browser only then."""

import json
import os
from datetime import datetime, timedelta, timezone

import pytest

from rhythmlab.panels.pages_00_to_04 import first_rhythms, merge_pulses
from rhythmlab.panels.takes import LIMBS, Takes, read_take
from rhythmlab.practice.journal import Journal


def message(pulses=(4, 3), bpm=90, cycles=4, late=(0.0, 0.0), **more):
    """Return what the browser sends when both hands were played, each late by so many seconds."""
    cycle_s = 60 / bpm * pulses[1]
    taps = [
        [lane, 10 + cycle_s * (k + i / pulse) + late[lane]]
        for lane, pulse in enumerate(pulses)
        for k in range(cycles)
        for i in range(pulse)
    ]
    made = {
        "id": "take-1",
        "when": "2030-05-04T18:00:00+02:00",
        "mode": "both pulses",
        "lanes": [0, 1],
        "limbs": "hands",
        "cycles": cycles,
        "silent": [0, 0],
        "pulses": list(pulses),
        "bpm": str(bpm),
        "pulse": 1,
        "home": 1,
        "ticks": pulses[0] * pulses[1],
        "start": 0,
        "stop": pulses[0] * pulses[1],
        "cycle_s": cycle_s,
        "t0": 10.0,
        "taps": taps,
        "late": 0,
        "offset_ms": 0,
        "input": "keys",
    }
    return {**made, **more}


@pytest.fixture
def journal(tmp_path):
    return Journal(tmp_path / "journal.jsonl")


def send(stage, content):
    """Send a message as the browser does."""
    stage._handle_custom_msg({"take": content}, [])


def test_a_late_left_hand_is_told_and_the_take_is_kept(journal):
    """The planted 25 ms are in the words and in the journal, and the browser is told that it may let go."""
    stage = merge_pulses(4, 3).stage
    Takes(stage, journal)
    send(stage, message(late=(0, 0.025)))

    assert "left hand" in stage.feedback[0]
    assert "25 ms after the right hand" in stage.feedback[0]
    assert stage.feedback[-1].startswith("Kept in journal.jsonl: take ")
    assert stage.taken == ["take-1"]
    (entry,) = journal.takes(pair=(4, 3), limbs="hands")
    assert entry["hands_apart_ms"] == pytest.approx(25, abs=0.01)
    assert entry["said"] == stage.feedback[:-1]
    assert stage.feedback[-1].endswith("of today, 4 against 3 at 90 bpm of the 3.")


def test_a_take_is_read_from_its_own_numbers_whatever_the_page_shows_now(journal):
    """The page has gone on to 4 against 3; the take of 7 against 4 is measured as that."""
    stage = merge_pulses(4, 3).stage
    Takes(stage, journal)
    send(stage, message((7, 4), 72))

    assert journal.takes()[0]["pair"] == [7, 4]
    assert journal.takes()[0]["missed"] == 0


def test_one_that_comes_twice_is_kept_once_and_said_to_be_late(journal):
    """What was never acknowledged comes again with the same id."""
    stage = merge_pulses(4, 3).stage
    Takes(stage, journal)
    send(stage, message())
    send(stage, message(again=True))

    assert len(journal.takes()) == 1
    assert stage.feedback[0].startswith("A take that had not been kept before")


def test_a_journal_that_cannot_be_written_is_told_and_the_take_stays_in_the_browser(tmp_path):
    """The words come all the same; nothing is acknowledged, so the browser sends it again."""
    (tmp_path / "journal.jsonl").mkdir()
    stage = merge_pulses(4, 3).stage
    Takes(stage, Journal(tmp_path / "journal.jsonl"))
    send(stage, message(late=(0, 0.025)))

    assert "left hand" in stage.feedback[0]
    assert "cannot be written" in stage.notice
    assert "sent again" in stage.notice
    assert stage.taken == []


@pytest.mark.parametrize(
    "strange",
    [{"mode": "polka"}, {"ticks": 13}, {"taps": [[0, float("nan")]]}, {"pulses": [0, 3]}, {"bpm": "x"}],
)
def test_what_cannot_be_measured_is_kept_as_it_came(journal, strange):
    """Nothing is lost: it goes to the journal as a note, and is told."""
    stage = merge_pulses(4, 3).stage
    Takes(stage, journal)
    send(stage, {**message(), **strange})

    assert "cannot be measured" in stage.feedback[0]
    (entry,) = journal.read()
    assert entry["kind"] == "note"
    assert entry["message"]["id"] == "take-1"
    assert stage.taken == ["take-1"]


def test_a_message_of_another_kind_is_nobodys(journal):
    """Only a take is a take."""
    stage = merge_pulses(4, 3).stage
    Takes(stage, journal)
    for content in ({}, {"take": 3}, {"other": {}}):
        stage._handle_custom_msg(content, [])
    assert journal.read() == ()


@pytest.mark.parametrize("limbs", LIMBS)
def test_limbs_give_the_lanes_their_names(limbs):
    """Hands swapped swap the names; each choice of the page is known."""
    take = read_take(message(limbs=limbs))
    assert tuple(lane.limb for lane in take.cycle.lanes) == LIMBS[limbs]


def test_a_take_that_was_slowed_has_the_tempo_that_sounded():
    """Half the speed of 90 is 45."""
    assert read_take(message(cycle_s=4.0)).tempo.bpm == 45


def test_taps_of_the_first_rhythms_are_kept_too(tmp_path, monkeypatch):
    """Page 00's beginners have takes, in the folder they work in."""
    monkeypatch.chdir(tmp_path)
    panel = first_rhythms()
    send(panel.stage, message((1, 1), 60, ticks=1, stop=1))

    assert panel.stage.taken == ["take-1"]
    assert os.listdir(tmp_path) == ["journal.jsonl"]
    assert json.loads((tmp_path / "journal.jsonl").read_text().splitlines()[1])["pair"] == [1, 1]


def test_hands_swapped_are_told_by_the_hand_that_played():
    """The 4 in the left hand and late: the left hand is late."""
    assert [lane.limb for lane in read_take(message(limbs="hands swapped")).cycle.lanes] == [
        "left hand",
        "right hand",
    ]


def test_home_of_a_take_is_the_one_that_was_felt_or_the_last_pulse():
    """The beats of the take are those of its home, and a message without a home has the last one."""
    assert read_take(message(home=0)).cycle.beats.tolist() == [0, 3, 6, 9]
    without = message()
    del without["home"]
    take = read_take(without)
    assert take.cycle.beats.tolist() == [0, 4, 8]
    assert [lane.sound for lane in take.cycle.lanes] == [
        lane.sound for lane in merge_pulses(4, 3).feel.cycle().lanes
    ]


@pytest.mark.parametrize("name", ["pulses", "bpm", "pulse"])
def test_a_message_from_an_older_page_is_told_what_to_do(name):
    """What is not there is named, and running the page again helps."""
    part = message()
    del part[name]
    with pytest.raises(ValueError, match=rf"no '{name}'; run the page again"):
        read_take(part)


def test_takes_are_counted_by_the_day_and_notes_are_none(tmp_path):
    """The first take of a day is take 1, whatever was kept before it and whatever could not be measured."""
    now = datetime(2030, 5, 5, 18, tzinfo=timezone(timedelta(hours=2)))
    journal = Journal(tmp_path / "journal.jsonl", clock=lambda: now)
    stage = merge_pulses(4, 3).stage
    Takes(stage, journal)
    send(stage, message(id="yesterday"))
    send(stage, {**message(id="strange"), "mode": "polka"})
    send(stage, message(id="today", when="2030-05-05T17:00:00+02:00"))
    assert stage.feedback[-1].startswith("Kept in journal.jsonl: take 1 of today")


def test_a_take_that_cannot_be_measured_counts_once_when_it_comes_twice(journal):
    """The note has the id of the take."""
    stage = merge_pulses(4, 3).stage
    Takes(stage, journal)
    for again in (False, True):
        send(stage, {**message(again=again), "mode": "polka"})
    assert [entry["id"] for entry in journal.read()] == ["take-1"]


def test_a_take_that_comes_the_first_time_is_not_said_to_be_late(journal):
    """Only one that is sent again is."""
    stage = merge_pulses(4, 3).stage
    Takes(stage, journal)
    send(stage, message())
    assert not any("had not been kept" in line for line in stage.feedback)


def test_a_take_that_is_kept_clears_what_was_told_before(journal):
    """A notice of a full disk goes when the next take is kept."""
    stage = merge_pulses(4, 3).stage
    Takes(stage, journal)
    stage.notice = "the disk is full"
    send(stage, message())
    assert stage.notice == ""


def test_a_take_has_its_answer_with_one_step_and_the_strokes_that_were_played(journal):
    """Finding, what to do, and the step as the browser sets it; numbers apart; a journal line beside it."""
    stage = merge_pulses(4, 3).stage
    Takes(stage, journal)
    send(stage, message(late=(0, 0.025)))
    answer = stage.answer
    assert answer["found"].endswith("25 ms after the right hand on average, which is late.")
    assert answer["do"].startswith("Play beat 1 at 68 bpm of the 3, land on beat 2 and rest out the cycle")
    assert answer["next"]["button"] == "Play beat 1 at 68"
    assert (answer["next"]["kind"], answer["next"]["start"], answer["next"]["stop"]) == ("part", 0, 4)
    assert answer["next"]["cycle_s"] == pytest.approx(180 / 68)
    assert answer["kept"][-1] == stage.feedback[-1]
    assert stage.feedback[0].startswith(answer["found"][:-1])
    assert stage.played["mark"]["name"] == "beat 1"
    stage.sound({**stage.plan, "ticks": 24})
    assert (stage.answer, stage.feedback) == ({}, [])


def test_a_take_broken_off_in_its_first_cycle_is_kept_as_too_short(journal):
    """As it is told: too soon to judge; and the take before it is what the journal says of the day."""
    stage = merge_pulses(7, 3).stage
    Takes(stage, journal)
    send(stage, message((7, 3)))
    before = journal.last()
    for number, pulses in enumerate([(7, 3), (5, 4), (16, 15)]):
        short = message(pulses, cycles=1, id=f"short-{number}", when="2030-05-04T18:30:00+02:00")
        half = [tap for tap in short["taps"] if tap[1] < 10 + 0.5 * short["cycle_s"]]
        send(stage, short | {"taps": half})
        assert "too soon to judge" in stage.feedback[0]
        assert journal.takes()[-1]["too_short"] is True
        assert journal.last() == before


def test_one_hand_alone_is_asked_for_as_one_pulse(journal):
    """A hand that never played: its lane, in the mode that plays one."""
    stage = merge_pulses(4, 3).stage
    Takes(stage, journal)
    sent = message()
    send(stage, {**sent, "taps": [tap for tap in sent["taps"] if tap[0] == 0]})
    then = stage.answer["next"]
    assert (then["kind"], then["lanes"], then["mode"]) == ("lane", [1], "one pulse")
    assert then["button"] == "Record the 3 alone at 68"

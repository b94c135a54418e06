"""The panel of page 08: where the ladder stands, what is planned, and what is found again tomorrow."""

import contextlib
import re
from datetime import datetime, timedelta, timezone
from fractions import Fraction
from time import process_time

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.panels.page_08 import Practice, practise
from rhythmlab.playing.approach import drifts_around
from rhythmlab.practice.journal import Journal
from tests.panels.test_takes import message, send
from tests.profile import tries

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
    assert "<b>The plan for 20 minutes</b>" in panel._plan.value
    assert panel._picture.value == ""


def test_plan_and_journal_are_in_the_drawer_of_the_stage_and_nothing_stands_beside_it(journal):
    """One child, the stage; both parts stay there, the same models, when the fields are drawn anew."""
    panel = made(journal)
    for _ in range(2):
        assert panel.children == (panel.stage,)
        plan, takes = panel.stage.parts["shelf"]
        assert (plan["name"], takes["name"]) == ("Plan", "Journal")
        assert [row["note"] for row in plan["rows"]] == [panel._plan]
        assert [row["note"] for row in takes["rows"]] == [panel._picture, panel._kept]
        panel.stage.home = 0
        panel._bpm.value = "70"


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


def test_what_is_said_of_a_take_and_the_ladder_name_the_same_next_tempo(journal):
    """After a pass the next step, after a second take the step still; and no hand is called least even."""
    panel = made(journal)
    for number, bpm in enumerate((45, 60, 62)):
        send(panel.stage, message(bpm=bpm, id=f"take-{number}", when=f"2030-05-04T{18 + number}:00:00+02:00"))
        stands = "60" if bpm == 45 else "62"
        assert f"Stand at {stands} bpm" in panel._climb.value
        assert panel.stage.feedback[0].endswith(f"next, play at the step, {stands} bpm of the 3.")
        assert panel.stage.feedback[0].startswith("Your strokes spread by no more than 0 ms")


def test_the_journal_and_the_next_step_follow_a_take(journal):
    """The table in the drawer has the take at once, and the button goes on where the ladder stands."""
    panel = made(journal)
    before = panel._kept.value
    send(panel.stage, message(bpm=60))
    assert panel._kept.value != before
    assert panel._kept.value.count("<tr>") == 2
    then = panel.stage.answer["next"]
    assert (then["kind"], then["bpm"], then["pulse"]) == ("whole", "62", 1)
    assert then["button"] == "Record 4 cycles at 62"


def test_the_plan_follows_the_takes_of_the_day(tmp_path):
    """It names a first take until one has counted, by any panel of that journal, and again the day after."""
    now = [START]
    journal = Journal(tmp_path / "journal.jsonl", clock=lambda: now[0])
    panel, first = made(journal), "the first of the day"
    send(panel.stage, message(bpm=45))  # below the step
    send(panel.stage, message(bpm=60, id="take-2", when="2030-05-04T18:10:00+02:00") | {"late": 3})
    assert "<b>The plan for 20 minutes</b>" in panel._plan.value
    assert first in panel._plan.value
    send(panel.stage, message(bpm=60, id="take-3", when="2030-05-04T18:20:00+02:00"))
    for one in (panel, made(journal)):
        assert "<b>What is left of the plan: 8 minutes</b>" in one._plan.value
        assert first not in one._plan.value
        assert "Move gently" not in one._plan.value
        assert "at 62 bpm" in one._plan.value
    now[0] += timedelta(days=1)
    tomorrow = made(journal)
    assert first in tomorrow._plan.value
    assert "<b>The plan for " in tomorrow._plan.value


@pytest.mark.parametrize("spoiled", [{"late": 3}, {"interrupted": True}])
def test_a_spoiled_take_counts_for_nothing(journal, spoiled):
    """It is kept and told as such, and the next take is the day's first, which moves the ladder."""
    panel = made(journal)
    send(panel.stage, message(bpm=60) | spoiled)
    first, kept = panel.stage.feedback
    assert first.startswith("This take counts for nothing, since ")
    assert kept == "Kept in journal.jsonl: not counted, 4 against 3 at 60 bpm of the 3."
    assert "No take that counts has been kept yet." in panel._last.value
    assert "Stand at 60 bpm, step 1 of" in panel._climb.value
    assert panel._picture.value == ""
    send(panel.stage, message(bpm=60, id="take-2", when="2030-05-04T19:00:00+02:00"))
    assert "Kept in journal.jsonl: take " in panel.stage.feedback[-1]
    assert "Stand at 62 bpm" in panel._climb.value
    assert journal._repr_html_().count("not counted") == 1


@pytest.mark.parametrize("early_s", [None, 12.0])
def test_a_take_with_nothing_to_judge_is_not_the_first_of_the_day(journal, early_s):
    """Nothing heard, or all of it in the count-in: it counts for nothing, and the next one moves it."""
    panel, take = made(journal), message(bpm=60)
    taps = [] if early_s is None else [[lane, when - early_s] for lane, when in take["taps"]]
    send(panel.stage, take | {"taps": [one for one in taps if one[1] < take["t0"]]})
    *_, kept, why = panel.stage.feedback
    assert kept == "Kept in journal.jsonl: not counted, 4 against 3 at 60 bpm of the 3."
    assert why.startswith("It does not move the ladder")
    assert panel.stage.played["cycles"] == []
    assert "No take that counts has been kept yet." in panel._last.value
    assert "did not pass" not in panel._climb.value
    send(panel.stage, message(bpm=60, id="take-2", when="2030-05-04T19:00:00+02:00"))
    assert "Kept in journal.jsonl: take " in panel.stage.feedback[-1]
    assert "Stand at 62 bpm" in panel._climb.value


def test_a_take_of_swapped_hands_is_told_as_that_everywhere(journal):
    """In the line of what was last and in what the ladder says: not the strokes that were missed by it."""
    panel, right = made(journal), message(bpm=60)
    send(panel.stage, right | {"taps": [[1 - lane, when] for lane, when in right["taps"]]})
    assert panel.stage.feedback[0].startswith("You swapped sides")
    assert "; the sides were swapped." in panel._last.value
    assert "did not pass: the sides were swapped." in panel._climb.value
    assert not any("It does not move the ladder" in said for said in panel.stage.feedback)


def one_late(taps, nth):
    """Return the taps of 4 against 3 with one stroke of the 4 late in each cycle."""
    fours = [tap for tap in taps if tap[0] == 0]
    return [[lane, when + 0.06 * ([lane, when] in fours[nth::4])] for lane, when in taps]


def one_more(taps):
    """Return the taps with one too many in each cycle, between two strokes."""
    return [*taps, *([0, when + 0.3] for lane, when in taps[1:16:4])]


@pytest.mark.parametrize(
    ("more", "begins", "why"),
    [
        ({"late": (0.04, 0)}, "The right hand, the 4, came 40 ms after", "one pulse came late or early"),
        ({"late": (0, 0.04)}, "The left hand, the 3, came 40 ms after", "one pulse came late or early"),
        (
            {"taps": one_late(message(bpm=60)["taps"], 2)},
            "At the & of 2 the right hand",
            "one place came late or early",
        ),
        (
            {"taps": one_more(message(bpm=60)["taps"])},
            "The right hand, the 4, added",
            "a stroke was added in cycle after cycle",
        ),
    ],
)
def test_what_a_take_is_told_to_mend_does_not_pass_its_step(journal, more, begins, why):
    """An even take has one verdict: who is told of a late hand or place is not sent up the ladder too."""
    panel = made(journal)
    send(panel.stage, message(bpm=60, **more))
    assert panel.stage.feedback[0].startswith(begins)
    assert f"did not pass: {why}." in panel._climb.value
    assert "Stand at 60 bpm, step 1 of" in panel._climb.value
    assert not any("at the step" in said for said in panel.stage.feedback)


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
    panel.stage.limbs = "hands swapped"
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


@pytest.mark.parametrize(
    "less",
    [
        {"mode": "one pulse", "lanes": [1]},
        {"mode": "composite"},
        {"stop": 6, "cycle_s": 1.5},
        {"silent": [1, 1]},
        {"taps": []},
    ],
)
def test_less_than_the_whole_rhythm_moves_no_ladder_and_is_said(journal, less):
    """One pulse, the line, a loop, a take with silence or an empty one: the ladder and the cold take stay."""
    panel = made(journal)
    send(panel.stage, {**message(bpm=60), **less})
    assert "does not move the ladder" in panel.stage.feedback[-1]
    assert "Stand at 60 bpm, step 1 of" in panel._climb.value
    send(panel.stage, message(bpm=60, id="take-2"))
    assert "Stand at 62 bpm" in panel._climb.value


def test_a_single_cycle_moves_no_ladder(journal):
    """Two cycles are the least."""
    panel = made(journal)
    send(panel.stage, message(bpm=60, cycles=1))
    assert "Stand at 60 bpm, step 1 of" in panel._climb.value


def test_other_numbers_have_a_ladder_of_their_own(journal):
    """Typing 5 and 4 shows the ladder of 5 against 4, from its foot, by name."""
    panel = made(journal)
    send(panel.stage, message(bpm=60))
    for field, value in zip(panel._pulses.fields, ("5", "4"), strict=True):
        field.value = value
    assert "5 against 4, hands, in bpm of the 4: Stand at 60 bpm, step 1 of" in panel._climb.value


def test_what_was_practised_last_is_renewed_after_a_take(journal):
    """The first line names the take that was just kept."""
    panel = made(journal)
    send(panel.stage, message(bpm=60))
    assert "4 against 3 at 60 bpm of the 3, hands" in panel._last.value


def test_the_ladder_is_in_the_home_that_was_asked_for(journal):
    """With home on the 4 the steps are beats of the 4."""
    panel = made(journal, home=0)
    assert (panel.tempo.bpm, panel.tempo.pulse) == (60, 0)
    panel._step.click()
    assert panel.tempo.bpm_of(panel.feel.polyrhythm, 0) == 60


def test_after_a_flip_the_step_is_shown_in_the_new_home(journal):
    """60 of the 3 are 80 of the 4, and the field that says so belongs to the 4."""
    panel = made(journal)
    panel.stage.home = 0
    panel._step.click()
    assert (panel.tempo.bpm, panel.tempo.pulse) == (80, 0)


def test_the_button_to_the_step_rests_when_the_goal_is_reached(journal):
    """There is no next step above the goal."""
    panel = made(journal, now=60, goal=60)
    assert panel._step.disabled is panel._standing.reached is False
    send(panel.stage, message(bpm=60))
    assert panel._step.disabled is panel._standing.reached is True


def test_the_plan_follows_the_minutes_of_the_session_and_of_the_day_before(journal, tmp_path, monkeypatch):
    """Minutes asked for are planned; a session kept yesterday is in the words."""
    fresh = made(journal)._plan.value
    journal.append({"kind": "session", "minutes": 5, "when": START.isoformat()})
    assert made(journal)._plan.value != fresh
    monkeypatch.chdir(tmp_path)
    assert "<b>The plan for 30 minutes</b>" in practise(4, 3, minutes=30)._plan.value


def test_the_picture_shows_takes_of_this_pair_and_these_limbs_alone(journal):
    """A take of 7 against 4 adds no mark."""
    panel = made(journal)
    send(panel.stage, message(bpm=60))
    alone = panel._picture.value
    send(panel.stage, message((7, 4), 72, id="take-2"))
    assert panel._picture.value == alone


def test_with_home_on_the_first_pulse_the_ladder_is_climbed_in_its_bpm(journal):
    """Home on the 4, from 80: a take at 60 of the 3 is 80 of the 4, so it stands on the step and passes."""
    panel = made(journal, home=0, now=80, goal=120)
    assert panel.tempo.bpm == 80
    assert panel.tempo.bpm_of(panel.feel.polyrhythm, 1) == 60
    send(panel.stage, message(bpm=60))
    assert "in bpm of the 4: Stand at 83 bpm, step 2 of" in panel._climb.value


def test_the_picture_of_progress_shows_the_takes_of_this_ladder_alone(journal):
    """A take of another pair, and one of a single pulse, are kept and stand in no picture of this one."""
    panel = made(journal)
    send(panel.stage, message((7, 4), 72))
    send(panel.stage, {**message(bpm=60, id="take-2"), "mode": "one pulse", "lanes": [1]})
    assert len(journal.takes()) == 2
    assert panel._picture.value == ""


# --- where a ladder starts ----------------------------------------------------------------------------


@settings(max_examples=tries(40), deadline=None)
@given(
    pulses=st.lists(st.integers(2, 24), min_size=2, max_size=3),
    now=st.integers(1, 120),
    more=st.integers(0, 200),
    longest=st.sampled_from([None, 3000, 12_000, 30_000]),
)
def test_a_ladder_that_starts_faster_than_asked_says_so_and_why(pulses, now, more, longest, tmp_path_factory):
    """Outside a drift no cycle of more than 8 s, or what the reader allows; nothing is raised in silence."""
    moved = {} if longest is None else {"cycle_longest": longest}
    journal = Journal(tmp_path_factory.mktemp("page") / "journal.jsonl")
    panel = practise(*pulses, now=now, goal=now + more, journal=journal, **moved)
    p, ladder = panel.feel.polyrhythm, panel._ladder
    once = Fraction(60_000 * p.reduced.pulses[-1], now)
    long = once > (longest or 8000) and drifts_around(p) is None
    said = f"The ladder starts at {ladder.now} bpm of "
    assert (ladder.now > now) == (said in panel._climb.value) == long
    assert (ladder.goal > now + more) == ("The goal goes up with it" in panel._climb.value)
    assert Fraction(60_000 * p.reduced.pulses[-1]) / ladder.now <= (longest or 8000) or not long
    offered = re.search(r"cycle_longest=(\d+) would allow it", panel._climb.value)
    if offered:
        more_time = practise(
            *pulses, now=now, goal=now + more, journal=journal, cycle_longest=int(offered[1])
        )
        assert (more_time._ladder.now, more_time._ladder.goal) == (now, now + more)


def test_other_numbers_begin_where_the_reader_asked_as_far_as_they_can(journal):
    """13:8 raises 40 to 60; 4:3 typed after it has 40 again, and says nothing of it."""
    panel = practise(13, 8, now=40, goal=96, journal=journal)
    assert panel._ladder.now == panel.tempo.bpm == 60
    for field, typed in zip(panel._pulses.children, ("4", "3"), strict=False):
        field.value = typed
    assert panel._ladder.now == 40
    assert "The ladder starts at" not in panel._climb.value


# --- what page 08 advises can be typed -----------------------------------------------------------------


def typed(call: str) -> Practice:
    """Type a call that was advised into a cell."""
    return eval(call, {"rl": rl})


def unwritable(journal):
    """Put a folder where the journal would be, as a disk that does not take it."""
    journal.path.mkdir()
    return journal


@settings(max_examples=tries(20), deadline=None)
@given(
    pulses=st.lists(st.integers(1, 40), min_size=2, max_size=4),
    now=st.fractions(1, 300, max_denominator=60),
    more=st.fractions(0, 100, max_denominator=60),
    minutes=st.integers(1, 480),
    home=st.integers(0, 3),
    moved=st.fixed_dictionaries(
        {}, optional={"cycle_longest": st.fractions(500, 60_000), "flam": st.just(30)}
    ),
)
def test_the_call_that_is_advised_works_and_keeps_the_ladder(
    pulses, now, more, minutes, home, moved, tmp_path_factory
):
    """Any pair, tempos and home, where the journal cannot be read: the call shown gives the same ladder."""
    place = tmp_path_factory.mktemp("page")
    home = min(home, len(pulses) - 1)
    panel = Practice(
        pulses, now=now, goal=now + more, minutes=minutes, home=home,
        journal=unwritable(Journal(place / "journal.jsonl")), limits=rl.limits(**moved),
    )  # fmt: skip
    call = re.search(r"rl\.pages\.practise\(.*\)$", panel.stage.notice)[0]
    with contextlib.chdir(place):
        again = typed(call)
    assert again.stage.notice == ""
    assert again.feel == panel.feel
    assert {key: float(again._limits[key].value) for key in moved} == pytest.approx(
        {key: float(value) for key, value in moved.items()}
    )
    assert list(map(float, again._ladder.steps)) == pytest.approx(list(map(float, panel._ladder.steps)))
    assert again._plan.value == panel._plan.value
    assert again._journal.path == place / "my-journal.jsonl"
    send(again.stage, message(bpm=60))
    assert len(again._journal.takes()) == 1


def test_after_other_numbers_the_call_is_of_these(tmp_path):
    """Typed into the fields, the pair of the call follows."""
    panel = made(unwritable(Journal(tmp_path / "journal.jsonl")))
    panel._pulses.fields[0].value = "5"
    send(panel.stage, message((5, 3), 60))
    assert "rl.pages.practise(5, 3, now=60, goal=96, minutes=20, journal=" in panel.stage.notice


def test_a_journal_that_cannot_be_read_leaves_a_page_that_works(tmp_path):
    """No traceback: the ladder from its foot, the reason and a call; a take is told, kept in the browser."""
    panel = made(unwritable(Journal(tmp_path / "journal.jsonl")))
    assert "Stand at 60 bpm, step 1 of" in panel._climb.value
    assert "a folder has that name" in panel.stage.notice
    assert 'or give another place, for example practice.Journal("' not in panel.stage.notice
    send(panel.stage, message(bpm=60))
    assert panel.stage.taken == []
    assert panel.stage.feedback
    assert "It is sent again when the page is next run." in panel.stage.notice
    panel._step.click()
    panel._bpm.value = "70"
    assert panel.tempo.bpm == 70


def test_damage_is_still_told_when_other_limbs_are_chosen(journal):
    """What is wrong with the journal is no fault of a field, and goes with none."""
    send(made(journal).stage, message(bpm=60))
    with journal.path.open("ab") as file:
        file.write(b'{"kind": "take", "id": "torn\n')
    panel = made(journal)
    panel.stage.limbs = "hands swapped"
    assert "1 line of journal.jsonl could not be read" in panel.stage.notice


@pytest.mark.parametrize(
    ("given", "wrong"),
    [
        ({"now": 0.5}, "now=0.5"),
        ({"goal": 1001}, "goal=1001"),
        ({"now": 10**30, "goal": 10**31}, "now="),
        ({"minutes": 10**7}, "minutes=10000000 is more than 480"),
        ({"minutes": 0}, "minutes=0"),
        ({"journal": "mine"}, "journal='mine'"),
        ({"home": 2}, "home=2"),
    ],
)
def test_what_nobody_could_want_is_refused_at_once(folder, given, wrong):
    """By name, with an example that works."""
    start = process_time()
    with pytest.raises((ValueError, IndexError), match=f"^{wrong}.*; for example ") as caught:
        practise(4, 3, **given)
    assert process_time() - start < 1
    practise(4, 3, **eval(f"dict({str(caught.value).rpartition('for example ')[2]})", {"rl": rl}))


def test_a_goal_too_fast_for_the_sound_card_is_refused(folder):
    """Not only the first step must be playable."""
    with pytest.raises(ValueError, match="strokes a second, more than"):
        practise(1000, 7, now=10, goal=900)


@settings(max_examples=tries(40), deadline=None)
@example(bpm=1000, late=(0, 0), pulses=(4, 3))
@example(bpm=1, late=(0.1, -0.1), pulses=(4, 3))
@given(
    bpm=st.one_of(st.integers(1, 1000), st.fractions(1, 1000, max_denominator=97)),
    late=st.tuples(st.floats(-0.1, 0.1), st.floats(-0.1, 0.1)),
    pulses=st.tuples(st.integers(1, 9), st.integers(1, 9)),
)
def test_a_tempo_that_is_advised_can_be_typed(tmp_path_factory, bpm, late, pulses):
    """Whatever was played at whatever tempo, the next one that is named is from 1 to 1,000."""
    with contextlib.chdir(tmp_path_factory.mktemp("page")):
        panel = rl.pages.two_numbers(*pulses, bpm=bpm)
        send(panel.stage, message(pulses, bpm, late=late, cycles=4))
        for said in re.findall(r"([\d\u00a0]+(?:\.\d+)?) bpm", " ".join(panel.stage.feedback[:-1])):
            panel._bpm.value = said.replace("\u00a0", "")
            assert panel.line.text == ""


@pytest.mark.parametrize(
    ("pair", "first"),
    [((13, 8), 60), ((16, 15), 20), ((7, 4), 30), ((9, 5), 38), ((4, 3), 23), ((3, 2), 20)],
)
def test_outside_a_drift_no_ladder_starts_on_a_cycle_of_more_than_eight_seconds(pair, first):
    """At 20 a cycle of 13:8 takes 24 s: the ladder starts at 60 of the 8, with the goal no slower."""
    for goal in (21, 96):
        steps = practise(*pair, now=20, goal=goal)._ladder.steps
        assert (steps[0], steps[-1]) == (first, max(first, goal))

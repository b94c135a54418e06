"""The ladder: its steps, when it goes up and down, how long it takes, and a session with its breaks."""

import random
import re
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.practice.ladder import Ladder
from rhythmlab.practice.session import plan
from tests.refusals import refusal, works
from tests.strategies import TRIES

tempos = st.one_of(
    st.integers(20, 400),
    st.fractions(20, 400, max_denominator=1000),
    st.decimals(20, 400, places=3),
)


def take(day, bpm, good=True, hour=18, **more):
    """Return a take of May 2030."""
    return {
        "kind": "take",
        "when": f"2030-05-{day:02}T{hour:02}:00:00+02:00",
        "pair": [4, 3],
        "limbs": "hands",
        "bpm": bpm,
        "spread_percent": 3 if good else 7.5,
        "missed": 0,
        "meant": 40,
        **more,
    }


# --- steps ---------------------------------------------------------------------------------------------


@TRIES
@given(tempos, tempos)
def test_steps_rise_from_the_tested_tempo_to_the_goal(one, other):
    """First and last are exact, those between whole; each is at least 1 bpm up and about 4 % at most."""
    now, goal = sorted((Fraction(one), Fraction(other)))
    steps = Ladder(now, goal).steps
    assert (steps[0], steps[-1]) == (now, goal)
    assert all(step.denominator == 1 for step in steps[1:-1])
    for low, high in pairwise(steps):
        assert high - low >= min(1, goal - now)
        assert (
            high <= low * Fraction(104, 100) + 2
        )  # 2: rounding on both sides, and a step of under 1 left out


@TRIES
@given(st.integers(30, 300), st.integers(1, 12))
def test_steps_are_whole_numbers_of_equal_ratio(now, doublings):
    """Each step is the whole number nearest to an equal ratio, by floating point where that is clear."""
    goal = now + 10 * doublings
    steps = Ladder(now, goal).steps
    count = next(n for n in range(1, 400) if now * 1.04**n >= goal)
    for step in steps[1:-1]:
        ideal = [now * (goal / now) ** (i / count) for i in range(1, count)]
        assert min(abs(float(step) - value) for value in ideal) <= 0.5 + 1e-9


@pytest.mark.parametrize(
    ("now", "goal", "step", "steps"),
    [
        (84, 84, None, [84]),
        (84, 100, None, [84, 87, 90, 93, 97, 100]),  # worked out by hand: 84 * (100/84) ** (i/5)
        (84, 100, 6, [84, 90, 96, 100]),
        (84, 90, Decimal("2.5"), [84, 86.5, 89, 90]),
        (84.5, 86, None, [84.5, 86]),
        (10, 14, None, [10, 11, 12, 13, 14]),
        (60, 60.5, 5, [60, 60.5]),
    ],
)
def test_known_ladders(now, goal, step, steps):
    """Small ladders, worked out by hand."""
    assert [float(bpm) for bpm in Ladder(now, goal, step=step).steps] == steps


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: Ladder(100, 84), "goal=84", "below now=100"),
        (lambda: Ladder(0, 84), "now=0", "not a finite number above 0"),
        (lambda: Ladder(84, "fast"), "goal='fast'", "not a finite number above 0"),
        (lambda: Ladder(84, 100, step=-1), "step=-1", "not a finite number above 0"),
        (lambda: Ladder(84, 100, pulse=1.5), "pulse=1.5", "not a whole number of at least 0"),
        (
            lambda: Ladder(84, 10**6),
            "goal=1\N{NO-BREAK SPACE}000\N{NO-BREAK SPACE}000",
            "over 1\N{NO-BREAK SPACE}000 bpm",
        ),
        (lambda: Ladder(84, 1001), "goal=1\N{NO-BREAK SPACE}001", "over 1\N{NO-BREAK SPACE}000 bpm"),
        (lambda: Ladder(Fraction(84 * 10**20 + 1, 10**20), 100), "from 84", "more than 18 digits"),
        (lambda: Ladder(84, 100, step=Fraction(1, 1000)), "from 84 to 100", "more than 1000 steps"),
        (lambda: Ladder(Fraction(1, 10**30), 100), "to 100", "more than 1000 steps"),
    ],
)
def test_a_ladder_that_cannot_be_is_refused(call, given, wrong):
    """The message says what was given, what is wrong, and shows a ladder that works."""
    assert isinstance(works(refusal(call, given, wrong)), Ladder)


# --- climbing ------------------------------------------------------------------------------------------

STEPS = Ladder(84, 100)  # 84 87 90 93 97 100


def stand(*takes, **more):
    """Return the tempo to stand at."""
    return STEPS.climb(takes, **more).bpm


def test_without_takes_one_stands_at_the_tested_tempo():
    """Nothing has counted, and it says so."""
    standing = STEPS.climb([])
    assert (standing.step, standing.bpm, standing.failing, standing.reached, standing.counted) == (
        *(0, 84, 0, False, 0),
    )
    assert standing.text == "Stand at 84 bpm, step 1 of 6. No first take of a day has counted yet."


def test_only_the_first_take_of_a_day_moves_the_ladder():
    """A pass later in the day does not count, nor a second pass; the next day's first does."""
    assert stand(take(1, 84)) == 87
    assert stand(take(1, 84), take(1, 87, hour=19), take(1, 90, hour=20)) == 87
    assert stand(take(1, 84, good=False), take(1, 84, hour=19)) == 84
    assert stand(take(1, 84), take(2, 87)) == 90
    # 2 in the morning is still the day before
    assert stand(take(1, 84, hour=23), take(2, 87, hour=2)) == 87
    assert stand(take(1, 84, hour=23), take(2, 87, hour=5)) == 90


@pytest.mark.parametrize("spoiled", [{"late": 1}, {"late": 9}, {"interrupted": True}])
def test_a_spoiled_take_is_not_the_cold_one(spoiled):
    """Late strokes or another tab: it moves nothing, and the next take of the day is the first."""
    assert stand({**take(1, 84), **spoiled}) == 84
    assert stand({**take(1, 84), **spoiled}, take(1, 84, hour=19)) == 87
    failing = [{**take(day, 87, good=False), **spoiled} for day in (2, 3, 4)]
    assert stand(take(1, 84), *failing) == 87


def test_the_order_of_the_file_does_not_matter():
    """Takes are put in the order of their times, wherever the clocks stood."""
    takes = [take(1, 84), take(1, 84, good=False, hour=20), take(2, 87), take(3, 90, good=False)]
    expected = STEPS.climb(takes)
    for seed in range(20):
        assert STEPS.climb(random.Random(seed).sample(takes, 4)) == expected
    early = take(1, 84, when="2030-05-01T17:30:00+00:00")  # 19:30 in the other zone
    assert stand(take(1, 84, good=False, hour=19), early) == 84


def test_two_failing_first_takes_in_a_row_go_down_one():
    """One failure changes nothing; a pass between them starts again; on the first step one stays."""
    up = [take(1, 84), take(2, 87)]
    assert stand(*up, take(3, 90, False)) == 90
    assert stand(*up, take(3, 90, False), take(4, 90, False)) == 87
    assert stand(*up, take(3, 90, False), take(4, 90, False), take(5, 87, False)) == 87
    assert stand(*up, take(3, 90, False), take(4, 90, False), take(5, 87, False), take(6, 87, False)) == 84
    assert stand(*up, take(3, 90, False), take(4, 90), take(5, 93, False)) == 93
    assert stand(take(1, 84, False), take(2, 84, False), take(3, 84, False), take(4, 84, False)) == 84


def test_a_take_below_the_step_and_a_failure_above_it_change_nothing():
    """Nothing goes up for an easier tempo, nor down for a harder one; a pass above counts one step."""
    assert stand(take(1, 80)) == 84
    assert stand(take(1, 84), take(2, 97, False), take(3, 97, False)) == 87
    assert stand(take(1, 84), take(2, 80, False), take(3, 80, False)) == 87
    assert stand(take(1, 100)) == 87


def test_a_take_at_another_tempo_leaves_the_day_to_the_step():
    """As one of another page: the first take at the step still counts on that day, and only that."""
    assert stand(take(1, 45), take(1, 84, hour=19)) == 87
    assert stand(take(1, 97, False), take(1, 84, hour=19)) == 87
    assert stand(take(1, 45), take(1, 84, False, hour=19), take(1, 84, hour=20)) == 84
    assert "at 45 bpm was below the step, so it changes nothing." in STEPS.climb([take(1, 45)]).text


def test_the_goal_is_reached_when_it_passes_cold():
    """Until then the last step is only where to stand; two failures take it back."""
    takes = [take(day, bpm) for day, bpm in enumerate((84, 87, 90, 93, 97), 1)]
    assert (STEPS.climb(takes).bpm, STEPS.climb(takes).reached) == (100, False)
    takes.append(take(6, 100))
    assert STEPS.climb(takes).reached
    assert STEPS.climb(takes).text.startswith("The goal of 100 bpm has passed cold.")
    takes += [take(7, 100, False), take(8, 100, False)]
    assert (STEPS.climb(takes).bpm, STEPS.climb(takes).reached) == (97, False)


@pytest.mark.parametrize(
    ("more", "limits", "passes", "why"),
    [
        ({"spread_percent": 4}, {}, True, ""),
        ({"spread_percent": "401/100"}, {}, False, "its spread was 4 %, over 4 %"),
        ({"spread_percent": 3}, {"spread": 2}, False, "its spread was 3 %, over 2 %"),
        ({"spread_percent": None}, {}, False, "its spread was not measured"),
        ({"missed": 2}, {}, True, ""),
        ({"missed": 3}, {}, False, "3 of 40 strokes were missed"),
        ({"missed": 1}, {"missed": 0}, False, "1 of 40 strokes were missed"),
        ({"missed": 10}, {"missed": 0.25}, True, ""),
        ({"meant": 0}, {}, False, "no stroke was meant"),
    ],
)
def test_what_passes(more, limits, passes, why):
    """The spread is not over its limit, and not more than a share is missed: both limits can be given."""
    standing = STEPS.climb([take(1, 84, **more)], **limits)
    assert standing.step == passes
    assert standing.failing == (not passes)
    assert why in standing.text


def test_each_pair_and_its_limbs_have_a_ladder_of_their_own():
    """Several kinds are refused where none is chosen; chosen, each stands where it was played."""
    takes = [
        *(take(1, 84), take(2, 87)),
        *(take(1, 84, hour=20, limbs="swapped"), take(2, 84, pair=[7, 4])),
    ]
    message = refusal(lambda: STEPS.climb(takes), "of 3 kinds", "each has its own tempo")
    assert message == "pair=(4, 3), limbs='hands'"
    assert stand(*takes, pair=(4, 3), limbs="hands") == 90
    assert stand(*takes, pair="4:3", limbs="swapped") == 87
    assert stand(*takes, pair=(7, 4)) == 87
    assert stand(*takes, pair=(5, 4)) == 84
    each = {kind: standing.bpm for kind, standing in STEPS.climb_each(takes).items()}
    assert each == {((4, 3), "hands"): 90, ((4, 3), "swapped"): 87, ((7, 4), "hands"): 87}


def test_a_whole_journal_can_be_given():
    """Notes and sessions are left out, and a take sent twice counts once."""
    sent = take(1, 84, False, id="a")
    entries = [{"kind": "note", "text": "x"}, sent, {"kind": "session", "minutes": 5}, sent, take(2, 84)]
    assert STEPS.climb(entries).counted == 2


def test_a_tempo_of_another_pulse_is_converted():
    """112 of the 4 is 84 of the 3."""
    ladder = Ladder(84, 100, pulse=1)
    assert ladder.climb([take(1, 112, pulse=0)]).bpm == 87
    assert ladder.climb([take(1, 111, pulse=0)]).bpm == 84
    assert ladder.climb([take(1, 84, pulse=1)]).bpm == 87


@pytest.mark.parametrize(
    ("bad", "given", "wrong"),
    [
        ({"bpm": None}, "bpm=None", "not a tempo above 0"),
        ({"bpm": 0}, "bpm=0", "not a tempo above 0"),
        ({"bpm": "fast"}, "bpm='fast'", "not a tempo above 0"),
        ({"when": "2030-05-01"}, "when='2030-05-01'", "not a time with its UTC offset"),
        ({"when": None}, "when=None", "not a time with its UTC offset"),
    ],
)
def test_a_take_without_time_or_tempo_is_refused(bad, given, wrong):
    """The take is named by its id, with one that works."""
    example = refusal(lambda: STEPS.climb([{**take(1, 84), "id": "t7", **bad}]), given, wrong)
    refusal(lambda: STEPS.climb([{**take(1, 84), "id": "t7", **bad}]), "of the take 't7'", wrong)
    assert STEPS.climb([eval(example)]).step == 0


@TRIES
@given(
    st.lists(st.tuples(st.integers(1, 28), st.sampled_from([80, 84, 90, 100]), st.booleans()), max_size=40)
)
def test_the_ladder_moves_one_step_a_day_at_most(rows):
    """However it goes, it stays on the ladder, and no day moves it by more than one step."""
    rows = sorted(rows, key=lambda row: row[0])
    at = 0
    for day in range(1, 29):
        standing = STEPS.climb([take(*row) for row in rows if row[0] <= day])
        assert abs(standing.step - at) <= 1
        assert standing.failing in (0, 1)
        at = standing.step


# --- days ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("passing", "days"), [(1, "best"), (2, "half")])
def test_the_days_it_takes_are_those_of_climbing(passing, days):
    """Played out take by take, if each or every second first take passes, it is as many days as said."""
    takes, day = [], 0
    while not STEPS.climb(takes).reached:
        day += 1
        takes.append(take(day, STEPS.climb(takes).bpm, good=day % passing == 0))
        left = getattr(STEPS.days(STEPS.climb(takes)), days)
        if day % passing == 0:
            assert left + day == getattr(STEPS.days(), days)
    assert day == getattr(STEPS.days(), days)
    assert STEPS.days(STEPS.climb(takes)).text == "No step is left: the goal has passed cold."


def test_the_days_say_what_they_assume():
    """The range is said to be an assumption without a source."""
    said = STEPS.days().text
    assert "one step a day at best" in said
    assert "own choice, no source" in said
    assert Ladder(84, 84).days().text.startswith("1 step is left: 1 day of practice")


# --- a session -----------------------------------------------------------------------------------------


@TRIES
@given(st.integers(1, 400), st.none() | st.integers(0, 300), st.integers(1, 15), st.integers(1, 30))
def test_a_session_adds_up_and_has_its_breaks(minutes, yesterday, rest, more):
    """Pieces add up exactly; no stretch is over 30 minutes less the break; no more than was allowed.

    A break is as long as asked, but where it would end the session.
    """
    bounds = rl.limits(practice_break=rest, practice_increase=more)
    session = plan(minutes, yesterday=yesterday, limits=bounds)
    allowed = minutes if yesterday is None else min(minutes, yesterday + more)
    assert sum(piece.minutes for piece in session) == session.minutes == allowed
    assert all(type(piece.minutes) is int and piece.minutes > 0 for piece in session)
    assert all(piece.what.endswith(".") and piece.why.endswith(".") for piece in session)
    stretch = 0
    for piece in session:
        stretch = 0 if piece.kind == "break" else stretch + piece.minutes
        assert stretch <= 30 - rest
        assert piece.kind != "work" or piece.minutes <= 5
        assert piece.kind != "break" or piece.minutes == rest or "shorter" in piece.why
    kinds = [piece.kind for piece in session]
    assert kinds[0] == "warm-up"
    assert kinds[-1] != "break"
    assert kinds.count("break") >= allowed // 30
    assert kinds.count("first take") == (allowed > 1)
    assert ("Cut from" in session.text) == (allowed < minutes)


@pytest.mark.parametrize("rest", range(1, 30))
def test_no_session_begins_or_ends_on_a_break(rest):
    """Of any length and with any break, minutes add up, and a minute is played before and after each break.

    A break is shorter than asked only where the session would end on it, and then a minute at least.
    """
    bounds = rl.limits(practice_break=rest)
    for minutes in range(1, 481):
        pieces = [(piece.kind, piece.minutes) for piece in plan(minutes, limits=bounds)]
        assert sum(length for _, length in pieces) == minutes
        assert min(length for _, length in pieces) >= 1
        kinds = ["break" if kind == "break" else "play" for kind, _ in pieces]
        assert "break" not in (kinds[0], kinds[-1])
        assert ("break", "break") not in pairwise(kinds)
        breaks = [length for kind, length in pieces if kind == "break"]
        assert max(breaks, default=0) <= rest
        if min(breaks, default=rest) < rest:
            assert sum(length for kind, length in pieces if kind != "break") == len(breaks) + 1
        assert len(breaks) == -(-(minutes - 30 + rest) // 30) or (minutes, rest) == (2, 29)


def test_the_session_of_sixteen_minutes_with_breaks_of_fifteen():
    """The case that was found by chance: a minute, a break of fourteen, and a minute."""
    session = plan(16, limits=rl.limits(practice_break=15))
    assert [(piece.minutes, piece.kind) for piece in session] == [
        (1, "warm-up"),
        (14, "break"),
        (1, "first take"),
    ]
    assert session[1].why.endswith("Here it is shorter, for no session ends on a break.")


@TRIES
@given(st.integers(2, 400))
def test_the_first_take_comes_after_the_warm_up_and_before_all_work(minutes):
    """The hands are warm, the pair is cold: 5 gentle minutes and 10 easy ones where there is time."""
    session = plan(minutes)
    kinds = [piece.kind for piece in session if piece.kind != "break"]
    first = kinds.index("first take")
    assert set(kinds[:first]) == {"warm-up"}
    assert set(kinds[first + 1 :]) <= {"work"}
    warm = [piece.minutes for piece in session if piece.kind == "warm-up"]
    if minutes >= 55:
        assert warm == [5, 10]
    assert sum(warm) <= 15


@TRIES
@given(st.integers(1, 400), st.none() | st.integers(0, 300))
def test_after_the_first_take_the_plan_is_what_comes_after_it(minutes, yesterday):
    """The same pieces as before, without any up to the first take; their minutes are those of the plan."""
    whole = plan(minutes, yesterday=yesterday)
    left = plan(minutes, yesterday=yesterday, taken=True)
    kinds = [piece.kind for piece in whole]
    done = kinds.index("first take") + 1 if "first take" in kinds else len(kinds)
    assert list(left) == whole[done:]
    assert left.minutes == sum(piece.minutes for piece in left)
    assert left.text.startswith("Today's first take was played")
    assert ("nothing is left" in left.text) == (not left)


@TRIES
@given(
    st.lists(st.tuples(st.integers(1, 9), st.integers(70, 110), st.booleans()), max_size=12),
    st.integers(1, 9),
)
def test_the_plan_of_a_day_names_a_first_take_until_one_has_counted(played, day):
    """Whatever was played before: only a take of that day that counts at the step takes it off the plan."""
    takes = [take(on, bpm, even, 6 + i) for i, (on, bpm, even) in enumerate(sorted(played))]
    before = STEPS.climb([one for one in takes if one["when"][:10] < f"2030-05-{day:02}"])
    until = [one for one in takes if one["when"][:10] <= f"2030-05-{day:02}"]
    standing = STEPS.climb(until)
    kinds = [piece.kind for piece in STEPS.plan(30, standing, today=date(2030, 5, day))]
    assert ("first take" in kinds) == (standing.counted == before.counted)


def test_a_session_of_half_an_hour_is_what_one_would_expect():
    """Warm-up, the first take, a break of five minutes, then a spot, takes and something carried over."""
    session = plan(30, bpm=Fraction(171, 2), yesterday=30)
    assert [(piece.minutes, piece.kind) for piece in session] == [
        *((5, "warm-up"), (6, "warm-up"), (2, "first take"), (5, "break")),
        *((4, "work"), (4, "work"), (4, "work")),
    ]
    assert "at 85.5 bpm" in session[2].what
    assert STEPS.plan(30, STEPS.climb([take(1, 84)]), yesterday=30)[2].what.startswith(
        "Play one take at 87 bpm"
    )
    assert str(session).splitlines()[3].startswith("  13 min   5 min  Put the sticks down")


def test_figures_name_their_key_and_choices_are_called_so():
    """Each reason has the key of a published figure or says that it is an own choice; care is always said."""
    session = plan(60)
    for piece in session:
        assert re.search(r"\((Peabody|Michigan|British)", piece.why) or "own choice" in piece.why
    for word in (
        "pain, numbness or tingling",
        "see a clinician",
        "(British Association for Performing Arts Medicine)",
    ):
        assert word in session.text
    assert "is not known" in session.text
    assert "British Association" in plan(60, yesterday=10).text
    assert plan(60, yesterday=0).minutes == 10  # BAPAM, Ten top health tips, tip 1: at most 10 more a day
    assert [piece.minutes for piece in plan(60) if piece.kind == "break"] == [5, 5]  # tip 4


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: plan(0), "minutes=0", "not a whole number of at least 1"),
        (lambda: plan(481), "minutes=481", "more than 480"),
        (lambda: plan(30, yesterday=1441), "yesterday=1441", "more than 1,440"),
        (lambda: plan(30, limits={}), "limits={}", "are not Limits"),
        (lambda: plan(30.5), "minutes=30.5", "not a whole number of at least 1"),
        (lambda: plan(30, yesterday=-5), "yesterday=-5", "not a finite number above 0"),
        (lambda: plan(30, bpm="fast"), "bpm='fast'", "not a finite number above 0"),
        (lambda: plan(30, limits=rl.limits(practice_break=30)), "30 minutes in every 30", "no time to play"),
    ],
)
def test_a_session_that_cannot_be_is_refused(call, given, wrong):
    """The message says what was given, what is wrong, and shows a session that works."""
    assert works(refusal(call, given, wrong)).minutes > 0


@pytest.mark.parametrize("wrong", [7, "60", (1, 60), {}])
def test_a_standing_is_one_that_a_ladder_gave(wrong):
    """What is none is refused, and so is one on a step that this ladder has not."""
    far = Ladder(84, 100, step=1).climb([take(day, 84 + day) for day in range(1, 20)])
    assert far.step >= len(STEPS.steps)
    for standing, said in ((wrong, "is not a Standing"), (far, "of another ladder")):
        for call in (
            lambda standing=standing: STEPS.days(standing),
            lambda standing=standing: STEPS.plan(30, standing),
        ):
            assert works(refusal(call, "standing=", said)).best > 0

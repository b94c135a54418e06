"""The question that is answered by playing: a take against stated limits, its faults named one by one."""

import random
from fractions import Fraction
from statistics import stdev

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmlab.classroom.bank.catalogue import find, question_for
from rhythmlab.classroom.bank.takes import CYCLES, TakeQuestion, taps_of
from rhythmlab.classroom.reader import read
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.practice.journal import Journal
from rhythmlab.practice.take import Take
from tests.profile import tries

FEW = settings(max_examples=tries(40), deadline=None)
KIND = find("play-take")
VERSIONS = KIND.versions
FORM = "Write the strokes of your take as lane and seconds: record both pulses with these numbers"


def made(numbers: tuple = VERSIONS[0]) -> TakeQuestion:
    return KIND.make(*numbers)


def exact(p: int, q: int, bpm: int) -> list[tuple[int, Fraction]]:
    """Return lane and second of every stroke, from shares of the cycle."""
    cycle = Fraction(60 * q, bpm)
    pulses = ((0, p), (1, q))
    return [
        (lane, cycle * (turn + Fraction(k, pulse)))
        for turn in range(CYCLES)
        for lane, pulse in pulses
        for k in range(pulse)
    ]


def take_of(taps: list, p: int = 4, q: int = 3, bpm: int = 60, **other: object) -> Take:
    pair = Polyrhythm(p, q)
    fields = {
        "cycle": pair.cycle(1),
        "tempo": Tempo(bpm, pulse=1),
        "cycles": CYCLES,
        "start": 0,
        "stop": pair.ticks,
        "mode": "both pulses",
        "lanes": (0, 1),
        "tap_lanes": [lane for lane, _ in taps],
        "tap_times": [float(seconds) for _, seconds in taps],
        "id": "t1",
    }
    return Take(**(fields | other))


@pytest.mark.parametrize("numbers", VERSIONS)
def test_the_exact_take_is_every_stroke_on_its_place(numbers):
    """Shares of the cycle give what the library gives, to the millisecond, and it has every mark."""
    asked = made(numbers)
    worked = sorted((seconds, lane) for lane, seconds in asked.worked())
    assert worked == sorted((float(round(seconds, 3)), lane) for lane, seconds in exact(*numbers))
    assert asked.judge(asked.worked()).right
    assert asked.judge(tuple(map(tuple, asked.worked()))).right
    assert asked.judge(read(repr(asked.worked()))).right
    assert str(asked.answer().right).startswith("every stroke on its place, [[0, 0.0], [1, 0.0], ")


@pytest.mark.parametrize("numbers", VERSIONS)
def test_limits_stand_in_the_text(numbers):
    """Twice the published spread of novices, the published flam, and a tenth of the strokes."""
    # Repp 2005, section 4 (as quoted elsewhere): 4 percent. Danielsen et al. 2026 (as summarised): 40 ms.
    text = made(numbers).text
    for stated in ("2 of the 28 strokes", "8 percent of its interval", "40 ms apart on average"):
        assert stated in text
    assert made(numbers).right == (2, 8, 8, 40)


@FEW
@given(
    seed=st.integers(0, 10**6),
    numbers=st.sampled_from(VERSIONS),
    percent=st.sampled_from([1, 3, 6, 7, 9, 12]),
)
def test_the_spread_is_judged_as_the_statistics_module_reckons_it(seed, numbers, percent):
    """Each pulse by its own interval: right where the standard deviation keeps the limit, else not."""
    rng, (p, q, bpm) = random.Random(seed), numbers
    cycle = Fraction(60 * q, bpm)
    errors = {lane: [rng.gauss(0, 1) for _ in range(CYCLES * pulse)] for lane, pulse in ((0, p), (1, q))}
    for lane, pulse in ((0, p), (1, q)):  # the very percentage, and no shift
        drawn = errors[lane]
        middle, spread = sum(drawn) / len(drawn), stdev(drawn)
        scale = float(cycle) / pulse * percent / 100 / spread
        errors[lane] = [max(-0.2, min(0.2, (error - middle) * scale)) for error in drawn]
    queues = {lane: iter(found) for lane, found in errors.items()}
    taps = [[lane, float(seconds) + next(queues[lane])] for lane, seconds in exact(*numbers)]
    judged = made(numbers).judge(taps)
    real = {
        lane: stdev(found) / (float(cycle) / pulse) * 100
        for (lane, found), pulse in zip(errors.items(), (p, q), strict=True)
    }
    if all(one < 7.9 for one in real.values()) and percent <= 6:
        assert "is uneven" not in judged.text
    if any(one > 8.1 for one in real.values()) and percent >= 9:
        assert not judged.right
        assert "spread" in judged.text or "uneven" in judged.text


@pytest.mark.parametrize(
    ("change", "marks", "says"),
    [
        (lambda taps: taps[:-2], 4, "Right."),
        (
            lambda taps: taps[:-3],
            3,
            "The strokes are off: 3 strokes left out and 0 strokes too many; 2 may be.",
        ),
        (
            lambda taps: taps + [[0, t] for t in (0.3, 3.3, 6.3)],
            3,
            "The strokes are off: 0 strokes left out and 3 strokes too many; 2 may be.",
        ),
        (
            lambda taps: [[lane, s + 0.06 * lane] for lane, s in taps],
            3,
            "The hands are apart: where they meet, the 4 comes 60 ms first.",
        ),
        (
            lambda taps: [[lane, s + 0.06 * (1 - lane)] for lane, s in taps],
            3,
            "The hands are apart: where they meet, the 3 comes 60 ms first.",
        ),
        (lambda taps: [[lane, s + 0.03 * lane] for lane, s in taps], 4, "Right."),
        (lambda taps: [[lane, s + 0.1] for lane, s in taps], 4, "Right."),
        (lambda taps: [tap for tap in taps if tap[0]], 1, "The strokes are off: 16 strokes left out"),
        (
            lambda taps: [[1 - lane, s] for lane, s in taps],
            1,
            "You swapped sides (the key of the 4 played the 3 and the key of the 3 played the 4): next, swap "
            "back and play the same again. Off by that: the number of strokes, the spread of the 4 and ",
        ),
    ],
)
def test_each_fault_costs_its_own_mark_and_is_named(change, marks, says):
    """Strokes left out or too many, hands apart; a delay that all strokes share is no fault."""
    judged = made().judge(change(made().worked()))
    assert judged.text.startswith(says)
    assert judged.marks <= marks
    assert judged.right == (marks == 4)
    if marks in (3, 4):
        assert judged.marks == marks


def test_a_few_even_strokes_do_not_make_a_pulse_even():
    """Of a pulse that was mostly left out the spread is not told, however even the rest is."""
    worked = made().worked()
    few = [tap for tap in worked if tap[0]] + [tap for tap in worked if not tap[0]][:6]
    judged = made().judge(few)
    assert judged.text.startswith(
        "The strokes are off: 10 strokes left out and 0 strokes too many; 2 may be."
    )
    assert judged.text.endswith("Also off: the spread of the 4. 2 of 4 are right.")


@FEW
@given(data=st.data())
def test_random_taps_are_never_right(data):
    """No marks for all four parts by hitting anything, and a sentence for whatever came."""
    tap = st.tuples(st.integers(0, 1), st.floats(0, 12)).map(list)
    judged = made().judge(data.draw(st.lists(tap, min_size=1, max_size=40)))
    assert not judged.right
    assert judged.text


@pytest.mark.parametrize(
    ("answer", "begins"),
    [
        (3, "3 is not a list of strokes."),
        ([3, 4], "Stroke 1 is 3, which is not a lane"),
        ([[0, 0.0], [2, 1.0]], "Stroke 2 is [2, 1.0], which is not a lane"),
        ([[0, "soon"]], "Stroke 1 is [0, 'soon']"),
        ([[True, 1.0]], "Stroke 1 is [True, 1.0]"),
        ([[0, float("nan")]], "Stroke 1 is [0, nan]"),
        ([[0, 10**400]], "Stroke 1 is [0, 1000"),
        ([[0, 1.0, 2.0]], "Stroke 1 is [0, 1.0, 2.0]"),
        ({"taps": []}, "{'taps': []} is not a list of strokes."),
        ("t1", "The take 't1' is in your own journal only"),
    ],
)
def test_what_is_no_take_is_named(answer, begins):
    """No marks, what was given, and what to write."""
    judged = made().judge(answer)
    assert judged.text.startswith(begins)
    assert FORM in judged.text
    assert (judged.marks, judged.out_of, judged.answered) == (0, 4, True)


@pytest.mark.parametrize("empty", [None, [], (), "", "  "])
def test_an_empty_answer_is_not_answered_yet(empty):
    """No marks, no blame, and what to write."""
    judged = made().judge(empty)
    assert judged.text.startswith("Not answered yet: write the strokes of your take")
    assert (judged.marks, judged.answered) == (0, False)


def test_a_take_of_the_journal_is_found_by_its_id():
    """Whoever has the journal gives the takes; the same marks as for the strokes written out."""
    take = take_of(exact(4, 3, 60), offset_ms=0)
    journal = {"t1": take}
    assert made().judge("t1", journal.get).right
    assert made().judge(" t1 ", journal.get).right
    assert made().judge(take).right
    assert made().judge("t2", journal.get).text.startswith("The take 't2' is in your own journal only")


def test_a_take_is_written_out_with_its_calibration_taken_off():
    """What is pasted as an answer is where the strokes were meant by the player."""
    shifted = [(lane, seconds + Fraction(1, 5)) for lane, seconds in exact(4, 3, 60)]
    take = take_of(shifted, offset_ms=200.0)
    assert made().judge(take).right
    assert sorted(map(tuple, taps_of(take))) == sorted(map(tuple, made().worked()))
    assert made().judge(taps_of(take)).right


@pytest.mark.parametrize(
    ("take", "says"),
    [
        (take_of(exact(3, 4, 60), 3, 4), "That take is not of both pulses of 4 against 3."),
        (take_of(exact(4, 3, 60), mode="composite"), "That take is not of both pulses of 4 against 3."),
        (take_of(exact(4, 3, 60), cycles=2), "That take is shorter than 4 whole cycles."),
        (take_of(exact(4, 3, 60), stop=6, cycles=8), "That take is shorter than 4 whole cycles."),
        (take_of(exact(4, 3, 50), bpm=50), "That take is not at 60 bpm of the 3."),
    ],
)
def test_a_take_of_something_else_is_told(take, says):
    """Another pair, another mode, too short, or another tempo."""
    judged = made().judge(take)
    assert judged.text.startswith(says)
    assert judged.marks == 0


def test_the_last_take_of_the_journal_is_written_as_an_answer(tmp_path, monkeypatch):
    """What was kept last comes out as lane and seconds, reads back, and is worth what the take is worth."""
    monkeypatch.chdir(tmp_path)
    asked = question_for("play-take")
    with pytest.raises(ValueError, match="no take in your journal yet"):
        taps_of()
    exact = asked._take(asked.worked(), None)
    other = made(VERSIONS[0])
    Journal().append({**other._take(other.worked(), None).as_row(), "id": "first"})
    Journal().append({**exact.as_row(), "id": "last"})
    assert taps_of() == asked.worked() != other.worked()
    assert read(repr(taps_of())) == asked.worked()
    assert asked.judge(taps_of()).right
    assert asked.unread(taps_of()) == ""
    assert "not a lane" in asked.unread([[5, 0.1]])
    with pytest.raises(ValueError, match="take=7 is not a take"):
        taps_of(7)

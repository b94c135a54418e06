"""What was played, cycle by cycle, as it stands under what was meant."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.practice.causes import causes
from rhythmlab.practice.feedback import tick_name
from rhythmlab.practice.measure import measure
from rhythmlab.practice.under import under
from tests.practice.players import PAIRS, PLANTED, Case, take_of
from tests.practice.simulate import pair, played
from tests.profile import tries


def exact_take(pair: tuple[int, int], cycles: int, late_s: float, offset_ms: float) -> rl.practice.Take:
    """Return a take of both pulses, each stroke as late as all others."""
    p = rl.Polyrhythm(*pair)
    rows = [(lane, k / n + turn) for turn in range(cycles) for lane, n in enumerate(pair) for k in range(n)]
    turn_s = 60 * pair[1] / 72
    return rl.practice.Take(
        cycle=p.cycle(),
        tempo=rl.Tempo(72, pulse=1),
        cycles=cycles,
        start=0,
        stop=p.ticks,
        mode="both pulses",
        lanes=(0, 1),
        tap_lanes=[lane for lane, _ in rows],
        tap_times=[at * turn_s + late_s + offset_ms / 1000 for _, at in rows],
        offset_ms=offset_ms,
    )


@settings(max_examples=tries(40), deadline=None)
@given(
    pair=st.tuples(st.integers(2, 12), st.integers(2, 12)),
    cycles=st.integers(1, 5),
    late_ms=st.integers(-30, 60),
    offset_ms=st.sampled_from([0, -35, 80]),
)
def test_every_stroke_stands_in_its_cycle_and_what_all_share_is_no_fault(pair, cycles, late_ms, offset_ms):
    """Late alike, strokes stand on their ticks; where calibrated, as late as they are."""
    take = exact_take(pair, cycles, late_ms / 1000, float(offset_ms))
    drawn = under(take, measure(take))
    ticks = rl.Polyrhythm(*pair).ticks
    late = late_ms / 1000 * ticks / (60 * pair[1] / 72) if offset_ms else 0
    meant = sorted((lane, k * ticks / n) for lane, n in enumerate(pair) for k in range(n))
    assert len(drawn["cycles"]) == cycles
    for strokes in drawn["cycles"]:
        assert [lane for lane, _ in sorted(strokes)] == [lane for lane, _ in meant]
        assert np.allclose([at for _, at in sorted(strokes)], [at + late for _, at in meant], atol=0.02)
    assert (drawn["start"], drawn["stop"], drawn["mark"]) == (0, ticks, None)


@settings(max_examples=tries(30), deadline=None)
@given(
    pair=st.sampled_from([(3, 2), (4, 3), (5, 4), (7, 4)]),
    cycles=st.integers(4, 6),
    rate=st.sampled_from([0.95, 0.97, 0.98, 1.02, 1.03, 1.05]),
    late_ms=st.integers(-60, 60),
)
def test_a_take_in_another_tempo_begins_in_place_and_leaves_it_stroke_by_stroke(pair, cycles, rate, late_ms):
    """Who rushes or drags is shown on the first beat, then ever earlier or later, whatever the device delays.

    To take off the mean of all put who rushed too late in the first cycle, and lost the first strokes of who
    dragged.
    """
    exact = exact_take(pair, cycles, 0.0, 0.0)
    take = replace(exact, tap_times=exact.tap_times * rate + late_ms / 1000)
    measures = measure(take)
    found = causes(take, measures)
    assert found[0].kind == "tempo"
    ticks = rl.Polyrhythm(*pair).ticks
    meant = sorted((lane, k * ticks / n) for lane, n in enumerate(pair) for k in range(n))
    first = sorted(under(take, measures, found)["cycles"][0])
    first = [one for one in first if one[1] < rate * (ticks - 0.5)]  # without those of the second, too early
    assert [lane for lane, _ in first] == [lane for lane, _ in meant]
    assert np.allclose([at for _, at in first], [at * rate for _, at in meant], atol=0.05)


@pytest.mark.parametrize("kind", ["place", "missing", "clean"])
def test_a_cause_about_one_place_marks_it_and_no_other_does(kind):
    """The stroke that is ringed is the one that the first sentence is about."""
    rng = np.random.default_rng(5)
    marked = 0
    for numbers in PAIRS:
        take = take_of(Case(kind, PLANTED.get(kind, (0,))[-1], numbers, 8, 60), rng)
        measures = measure(take)
        found = causes(take, measures)
        mark = under(take, measures, found)["mark"]
        about = found[0] if found and found[0].kind in ("place", "slipped", "missing") else None
        if about is None or about.lane is None:
            assert mark is None or found
            continue
        marked += 1
        assert mark["name"] == tick_name(take.cycle, about.tick)
        assert (mark["lane"], mark["tick"]) == (about.lane, about.tick)
        assert 0 <= mark["cycle"] <= take.cycles
    assert marked > 0 or kind == "clean"


def test_every_cycle_is_said_in_a_sentence_and_the_stroke_that_was_missed_is_marked():
    """How many strokes of each lane, and in the cycle of the mark what became of it; with no miss no mark."""
    take = played(pair(7, 4, 4), np.random.default_rng(1), spread_ms=2, missing=[(1, 6)])
    shown = under(take, measure(take))
    assert shown["mark"] == {"cycle": 2, "lane": 1, "tick": 14, "name": "beat 3"}
    assert shown["names"] == {"0": "7", "1": "4"}
    assert len(shown["said"]) == 4
    assert shown["said"][0] == (
        "What you played in cycle 1 of 4: 7 strokes where the 7 has 7 and 4 strokes where the 4 has 4."
    )
    assert shown["said"][1].endswith("3 strokes where the 4 has 4; beat 3 was not played in the 4.")
    clean = played(pair(7, 4, 4), np.random.default_rng(1), spread_ms=2)
    assert under(clean, measure(clean))["mark"] is None


def test_the_first_panel_has_hands_and_no_beats():
    """Page 00 names neither numbers nor beats: hands stand at the rows, and a ring has no place."""
    take = played(pair(3, 2, 4), np.random.default_rng(1), spread_ms=2, missing=[(1, 3)])
    shown = under(take, measure(take), plain=True)
    assert shown["names"] == {"0": "right hand", "1": "left hand"}
    assert shown["mark"]["name"] == ""
    assert "beat" not in " ".join(shown["said"])
    assert shown["said"][1].endswith("and 1 stroke where the left hand has 2.")


@pytest.mark.parametrize("before", [0, 1, 4])
def test_with_no_stroke_there_is_nothing_under_what_was_meant(before):
    """Nothing heard, or all of it in the count-in: no rows, which would look like a perfect take."""
    take = exact_take((4, 3), 4, 0, 0)
    empty = replace(take, tap_lanes=[0] * before, tap_times=[-1.0 * k for k in range(1, before + 1)])
    drawn = under(empty, measure(empty), causes(empty))
    assert (drawn["cycles"], drawn["said"], drawn["mark"]) == ([], [], None)
    assert under(take, measure(take))["cycles"]

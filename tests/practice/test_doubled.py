"""A pad that triggers twice is told first, and the rest is judged without the second strokes."""

from itertools import product

import numpy as np
import pytest

import rhythmlab as rl
from rhythmlab.practice.causes import causes
from rhythmlab.practice.doubled import without_doubles
from rhythmlab.practice.feedback import feedback
from rhythmlab.practice.take import Take
from tests.practice.players import PAIRS, Case, take_of
from tests.practice.simulate import pair, with_taps
from tests.profile import some


def rng(seed=1):
    return np.random.default_rng(seed)


def with_more(take, lanes, after):
    """Return a take whose strokes of some lanes come again, so many seconds later."""
    here = np.isin(take.tap_lanes, lanes)
    times = np.r_[take.tap_times, take.tap_times[here] + after]
    return with_taps(take, np.r_[take.tap_lanes, take.tap_lanes[here]], times)


@pytest.mark.parametrize("after_ms", [15, 25, 40])
@pytest.mark.parametrize("lanes", [(0,), (1,), (0, 1)])
@pytest.mark.parametrize(("kind", "size"), [("clean", 0), ("hand", 40), ("tempo", 2)])
def test_strokes_that_come_twice_are_told_first_and_hide_nothing(after_ms, lanes, kind, size):
    """Of every pair: whose, how far apart, and then just what is told of the take without them."""
    for numbers, bpm in some(product(PAIRS, (60, 92)), 8, ("doubled", after_ms, lanes, kind)):
        take = take_of(Case(kind, size, numbers, 10, bpm), rng(2))
        after = after_ms / 1000 + rng(3).normal(0, 0.001, int(np.isin(take.tap_lanes, lanes).sum()))
        twice = with_more(take, lanes, after)
        first, *rest = causes(twice)
        assert (first.kind, first.lanes) == ("doubled", lanes), (numbers, bpm)
        assert abs(first.us - 1000 * after_ms) < 1500
        assert tuple(rest) == causes(take), (numbers, bpm)
        said = feedback(twice)
        who = {(0,): "the right hand", (1,): "the left hand"}.get(lanes, "the right hand and the left hand")
        assert said[0].startswith(f"Each stroke of {who} came twice, {round(first.us / 1000)} ms apart, ")
        assert said[1:] == feedback(take)


def test_what_a_pad_gives_twice_now_and_then_is_not_told_of_each():
    """Seven of ten strokes are most of them; three of ten are no habit of the pad."""
    take = take_of(Case("clean", 0, (4, 3), 8, 60), rng(2))
    for share, said in ((0.7, True), (0.3, False)):
        some_of = rng(4).random(len(take.tap_times)) < share
        times = np.r_[take.tap_times, take.tap_times[some_of] + 0.025]
        told = feedback(with_taps(take, np.r_[take.tap_lanes, take.tap_lanes[some_of]], times))
        assert told[0].startswith("Most strokes of the right hand and the left hand came twice") == said, told


@pytest.mark.parametrize("numbers", [(3, 2), (7, 4)])
def test_flams_and_rolls_that_are_played_are_no_doubles(numbers):
    """A flam varies by more than a pad does, and a roll has more strokes than two."""
    take = take_of(Case("clean", 0, numbers, 10, 60), rng(2))
    for seed in range(10):
        flam = 0.03 + rng(seed).normal(0, 0.008, len(take.tap_times))
        assert without_doubles(with_more(take, (0, 1), flam)) is None
    assert without_doubles(with_more(with_more(take, (0, 1), 0.03), (0, 1), 0.06)) is None
    assert without_doubles(take) is None


def test_strokes_that_are_meant_so_near_are_no_doubles():
    """A ruff of two strokes, 30 ms apart, in each of four beats."""
    lane = rl.Lane("snare", [k * 20 + more for k in range(4) for more in (0, 1)])
    fields = {name: getattr(pair(4, 3, 8), name) for name in Take.__dataclass_fields__}
    cycle = rl.Cycle(80, [lane], beats=[0, 20, 40, 60])
    fields |= {"cycle": cycle, "stop": 80, "lanes": (0,), "home": 0, "mode": "one pulse"}
    take = Take(**fields | {"tempo": rl.Tempo(100, ticks=20), "limbs": ""})
    assert 0.02 < float(np.diff(take.meant(0)).min()) < 0.04
    played = with_taps(take, np.zeros(len(take.meant(0)), dtype=int), take.meant(0))
    assert without_doubles(played) is None

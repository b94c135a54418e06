"""Matching: as many pairs as possible, then as near as possible, against other ways of finding them."""

from itertools import combinations

import mir_eval
import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

import rhythmlab as rl
from rhythmlab.practice import matching
from rhythmlab.practice.matching import match, matched
from tests.refusals import refusal, works
from tests.strategies import TRIES

#: Whole milliseconds as float64 seconds: many ties, and differences exactly as wide as the window.
milliseconds = st.integers(-40, 40).map(lambda ms: ms / 8)  # eighths are exact in binary
rows = st.lists(milliseconds, max_size=6).map(sorted).map(lambda row: np.array(row, dtype=np.float64))
windows = st.integers(0, 40).map(lambda ms: ms / 8)


def error(meant, played, pairs):
    """Return the total absolute error of pairs."""
    return float(np.abs(played[pairs[1]] - meant[pairs[0]]).sum())


def every_way(meant, played, window):
    """Return the most pairs and the least error for so many, by trying every way that does not cross."""
    for size in range(min(len(meant), len(played)), 0, -1):
        errors = [
            float(np.abs(meant[list(i)] - played[list(j)]).sum())
            for i in combinations(range(len(meant)), size)
            for j in combinations(range(len(played)), size)
            if (np.abs(meant[list(i)] - played[list(j)]) <= window).all()
        ]
        if errors:
            return size, min(errors)
    return 0, 0.0


def random_take(rng, strokes, interval, spread, misses, extras):
    """Return meant and played seconds."""
    meant = np.sort(np.cumsum(rng.uniform(0.4, 1.6, strokes)) * interval)
    played = (meant + rng.normal(0, spread, strokes))[rng.random(strokes) > misses]
    more = rng.uniform(0, meant[-1], rng.poisson(extras * strokes))
    return meant, np.sort(np.concatenate([played, more]))


@TRIES
@given(rows, rows, windows)
def test_it_is_the_best_of_all_ways(meant, played, window):
    """For up to six strokes a side, no way has more pairs, nor as many with less error; all are in reach."""
    pairs = match(meant, played, window)
    size, least = every_way(meant, played, window)
    assert len(pairs[0]) == len(pairs[1]) == size
    assert error(meant, played, pairs) == least  # exact: the times are eighths
    assert (np.abs(played[pairs[1]] - meant[pairs[0]]) <= window).all()


@TRIES
@given(rows, rows, windows)
def test_the_count_is_the_count_of_the_pairs(meant, played, window):
    """The quick count is the number of pairs, and does not change when the sides are swapped."""
    pairs = match(meant, played, window)
    assert matched(meant, played, window) == matched(played, meant, window) == len(pairs[0])
    assert error(meant, played, pairs) == error(played, meant, match(played, meant, window))


@TRIES
@given(rows, rows, windows)
def test_each_stroke_is_used_once_and_in_order(meant, played, window):
    """Both rows of indices rise, are int64, and point into the arrays."""
    for indices, of in zip(match(meant, played, window), (meant, played), strict=True):
        assert indices.dtype == np.int64
        assert (np.diff(indices) > 0).all()
        assert not len(indices) or 0 <= indices[0] <= indices[-1] < len(of)


@pytest.mark.parametrize("window", [0.02, 0.05, 0.125, 0.25, 0.6])
def test_it_agrees_with_bipartite_matching_and_is_never_further(window):
    """On 80 random takes a window: as many pairs as mir_eval's maximum matching, and no larger error."""
    rng = np.random.default_rng(int(1000 * window))
    nearer = 0
    for _ in range(80):
        meant, played = random_take(
            rng, int(rng.integers(1, 120)), 0.25, rng.uniform(0, 0.15), rng.uniform(0, 0.4), rng.uniform(0, 1)
        )
        peer = mir_eval.util.match_events(meant, played, window)
        theirs = float(sum(abs(played[j] - meant[i]) for i, j in peer))
        pairs = match(meant, played, window)
        assert len(pairs[0]) == matched(meant, played, window) == len(peer)
        assert error(meant, played, pairs) <= theirs + 1e-9
        nearer += error(meant, played, pairs) < theirs - 1e-6
    assert nearer > 0 or window == 0.02  # theirs is not the nearest where strokes crowd


def test_the_f_measure_of_a_published_library_comes_from_our_count():
    """Offsets of 10, -20, 30 and 0 ms with a window of 25 ms give 0.75, as mir_eval says."""
    meant = np.array([1.0, 2.0, 3.0, 4.0])
    played = meant + np.array([0.01, -0.02, 0.03, 0.0])
    theirs = mir_eval.onset.f_measure(meant, played, window=0.025)[0]
    hits = matched(meant, played, 0.025)
    assert theirs == pytest.approx(0.75)
    assert 2 * hits / (len(meant) + len(played)) == theirs


@TRIES
@given(rows, rows, windows, st.integers(1, 5))
@example(np.array([-0.125, 0.0, 0.25]), np.array([-0.125, 0.0, 0.125, 0.25]), 0.0, 1)
def test_many_strokes_side_by_side_are_matched_as_well(meant, played, window, stretch):
    """Cut into stretches of any length, the pairs are as many, and their error as small, as of all ways."""
    low, high = matching._reach(meant, played, window)
    some = np.flatnonzero(high > low)
    size, least = every_way(meant, played, window)
    if not len(some):
        assert size == 0
        return
    taps = matching._side_by_side(meant[some], played, low[some], high[some], window, stretch)
    pairs = some[taps >= 0], taps[taps >= 0]
    assert len(pairs[0]) == size
    assert error(meant, played, pairs) == pytest.approx(least, abs=1e-9)
    assert (np.diff(pairs[1]) > 0).all()
    assert (np.abs(played[pairs[1]] - meant[pairs[0]]) <= window).all()


@pytest.mark.parametrize("window", [0.05, 0.125, 0.25, 0.5, 0.8])
def test_many_strokes_are_matched_as_an_assignment_of_least_cost(window):
    """Side by side: as many pairs and as little error as the assignment of scipy."""
    rng = np.random.default_rng(int(1000 * window))
    for _ in range(3):
        meant, played = random_take(rng, matching.LONG + 60, 0.25, rng.uniform(0.01, 0.15), 0.2, 0.3)
        away = np.abs(played - meant[:, None])
        cost = np.where(away <= window, away - 10_000, 0.0)
        i, j = linear_sum_assignment(cost)
        inside = away[i, j] <= window
        pairs = match(meant, played, window)
        assert len(pairs[0]) == inside.sum()
        assert error(meant, played, pairs) == pytest.approx(float(away[i, j][inside].sum()), abs=1e-6)
        assert (np.diff(pairs[0]) > 0).all()
        assert (np.diff(pairs[1]) > 0).all()


def test_more_pairs_go_before_nearer_pairs():
    """A stroke gives up the nearest tap where another could not be paired otherwise."""
    pairs = match(np.array([0.0, 1.0]), np.array([0.9, 1.9]), 1.0)
    assert [row.tolist() for row in pairs] == [[0, 1], [0, 1]]  # 0.9 + 0.9, not 0.1 alone


def test_the_window_is_closed():
    """A difference of exactly the window is a pair, also where the sum of time and window is rounded."""
    assert matched(np.array([0.5]), np.array([0.75]), 0.25) == 1
    assert matched(np.array([0.5]), np.array([0.75]), 0.2499) == 0
    rng = np.random.default_rng(7)
    for time, window in zip(rng.uniform(0, 1000, 500), rng.uniform(0, 0.3, 500), strict=True):
        for tap in (time + window, time - window, np.nextafter(time + window, 2000)):
            inside = int(abs(tap - time) <= window)
            assert matched(np.array([time]), np.array([tap]), window) == inside
            assert len(match(np.array([time]), np.array([tap]), window)[0]) == inside


def test_nothing_matches_nothing():
    """Empty rows give empty rows."""
    for meant, played in (([], []), ([1.0], []), ([], [1.0])):
        assert [len(row) for row in match(np.array(meant), np.array(played), 0.1)] == [0, 0]
        assert matched(np.array(meant), np.array(played), 0.1) == 0


@pytest.mark.parametrize("call", [match, matched])
@pytest.mark.parametrize(
    ("meant", "played", "window", "given", "wrong"),
    [
        ([0.0, float("nan")], [0.0], 0.1, "meant[1]=nan", "not a finite number of seconds"),
        ([0.0], [float("inf")], 0.1, "played[0]=inf", "not a finite number of seconds"),
        ([1.0, 0.0], [0.0], 0.1, "meant=[1.0, 0.0]", "falls"),
        ([[0.0]], [0.0], 0.1, "meant=[[0.0]]", "not a row of seconds"),
        ([0.0], ["soon"], 0.1, "played=['soon']", "not a row of seconds"),
        ([0.0], [0.0], -0.1, "window=-0.1", "not a finite number of seconds of at least 0"),
        ([0.0], [0.0], float("nan"), "window=nan", "not a finite number of seconds of at least 0"),
        ([0.0], [0.0], "wide", "window='wide'", "not a finite number of seconds of at least 0"),
        ([0.0], [0.0], True, "window=True", "not a finite number of seconds of at least 0"),
    ],
)
def test_times_that_cannot_be_matched_are_refused(
    call, meant, played, window, given, wrong, tmp_path, monkeypatch
):
    """The message says what was given, what is wrong, and shows a public call that works."""
    monkeypatch.chdir(tmp_path)
    rl.midi(rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1)).write("kit.mid")
    example = refusal(lambda: call(meant, played, window), given, wrong)
    assert works(example).matched > 0

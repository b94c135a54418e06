"""Measures: known errors come back, against scipy; misses, extras, wrong hands; gaps; takes of every kind.

All takes are simulated and seeded; intervals of confidence are 99.9 % unless a test says otherwise.
"""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

import rhythmlab as rl
from rhythmlab.practice.measure import fitted_slope, measure
from rhythmlab.practice.take import MODES, Take
from tests.practice.simulate import pair, played, two_timers, with_taps
from tests.profile import some
from tests.refusals import refusal
from tests.strategies import TRIES

SEEDS = range(12)


def of_mean(errors):
    """Return the interval of confidence of a mean, by Student's t."""
    return stats.t.interval(0.999, len(errors) - 1, errors.mean(), stats.sem(errors))


def of_spread(spread, n):
    """Return the interval of confidence of a standard deviation, by chi squared."""
    low, high = stats.chi2.ppf([0.0005, 0.9995], n - 1)
    return spread * np.sqrt((n - 1) / high), spread * np.sqrt((n - 1) / low)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("p", "q"), [(4, 3), (3, 2), (7, 4)])
def test_known_bias_and_spread_come_back(seed, p, q):
    """Mean and spread of each lane hold the planted values in their intervals of confidence."""
    rng = np.random.default_rng(seed)
    bias, spread = (-35.0, -12.0), 14.0
    measures = measure(played(pair(p, q, 12, bpm=60), rng, bias_ms=bias, spread_ms=spread))
    for lane, true in zip(measures.lanes, bias, strict=True):
        assert (lane.missed, lane.extra, lane.wrong_hand) == (0, 0, 0)
        low, high = of_mean(lane.errors_ms)
        assert low <= true <= high
        low, high = of_spread(lane.spread_ms, lane.matched)
        assert low <= spread <= high
    assert measures.common_ms == pytest.approx(np.mean([lane.mean_ms for lane in measures.lanes]))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_hands_are_told_apart_on_the_shared_strokes(seed):
    """Left 25 ms after right: the shared strokes say so in their interval, and who leads."""
    rng = np.random.default_rng(100 + seed)
    measures = measure(played(pair(4, 3, 24), rng, bias_ms=(-30, -5), spread_ms=8))
    (apart,) = measures.apart
    assert (apart.first, apart.second, apart.strokes) == (0, 1, 24)
    reach = stats.t.ppf(0.9995, 23) * apart.spread_ms / np.sqrt(24)
    assert abs(apart.mean_ms - 25) <= reach
    low, high = of_spread(apart.spread_ms, 24)
    assert low <= 8 * np.sqrt(2) <= high  # two independent spreads
    assert (measures.hands_apart_ms, measures.leads) == (apart.mean_ms, 0)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_known_drift_comes_back_and_is_scipys(seed):
    """Slope and standard error are those of scipy's linregress, and hold the planted drift."""
    rng = np.random.default_rng(200 + seed)
    take = played(pair(4, 3, 10), rng, spread_ms=10, drift_ms_per_cycle=6, miss=0.05)
    turn = float(take.turn)
    for lane in measure(take).lanes:
        known = ~np.isnan(lane.errors_ms)
        fit = stats.linregress(take.meant(lane.lane)[known] / turn, lane.errors_ms[known])
        assert lane.drift_ms_per_cycle == pytest.approx(fit.slope)
        assert lane.drift_error_ms == pytest.approx(fit.stderr)
        assert abs(fit.slope - 6) <= stats.t.ppf(0.9995, known.sum() - 2) * fit.stderr
        assert lane.drifts
        slope = fit.slope / 1000 / turn  # seconds a second: what lasted 1 lasts 1 + slope
        assert lane.tempo_percent == pytest.approx(100 * (1 / (1 + slope) - 1))
        assert lane.steady_ms < lane.spread_ms


@TRIES
@given(st.lists(st.tuples(st.integers(-99, 99), st.integers(-99, 99)), min_size=3, max_size=20))
def test_the_line_is_scipys_line(points):
    """For any points the slope and its standard error are those of linregress."""
    x, y = (np.array(row, dtype=float) for row in zip(*points, strict=True))
    slope, error, _ = fitted_slope(x, y)
    if np.ptp(x) == 0 or np.ptp(y) == 0:  # scipy has no error for a level line
        assert (slope, error) == ((None, None) if np.ptp(x) == 0 else (0, 0))
        return
    fit = stats.linregress(x, y)
    assert slope == pytest.approx(fit.slope, abs=1e-9)
    assert error == pytest.approx(
        fit.stderr, abs=1e-7 * max(1, np.std(y) / np.std(x))
    )  # its 1 - r**2 cancels
    n, (sx, sy) = len(points), (sum(row) for row in zip(*points, strict=True))
    xx, yy = (n * sum(one[i] ** 2 for one in points) - total**2 for i, total in ((0, sx), (1, sy)))
    xy = n * sum(a * b for a, b in points) - sx * sy
    exact = Fraction(xx * yy - xy**2, xx**2 * (n - 2))  # the square of the error, in whole numbers
    assert error == pytest.approx(float(exact) ** 0.5, abs=1e-9)


def test_the_mean_is_the_circular_mean_where_the_spread_is_small():
    """Taps as phases of the interval: scipy's circmean and circstd give the same mean and spread."""
    rng = np.random.default_rng(5)
    take = played(pair(4, 3, 20, mode="one pulse", lanes=(0,)), rng, bias_ms=(-38,), spread_ms=12)
    (lane,) = measure(take).lanes
    interval = lane.interval_ms
    assert interval == pytest.approx(60_000 / 112)  # 84 on the 3 is 112 on the 4
    phases = (1000 * take.tap_times) % interval
    assert stats.circmean(phases, high=interval / 2, low=-interval / 2) == pytest.approx(
        lane.mean_ms, abs=0.05
    )
    assert stats.circstd(phases, high=interval) == pytest.approx(lane.spread_ms, rel=0.02)


def test_two_timers_have_the_variance_and_correlation_that_were_published():
    """Variance sC^2 + 2 sM^2 and lag one -sM^2/(sC^2 + 2 sM^2), in their intervals of confidence."""
    # Wing & Kristofferson 1973, Perception & Psychophysics 14, 5-12 (from memory).
    clock, motor, n = 12.0, 8.0, 20_000
    intervals = np.diff(two_timers(np.random.default_rng(3), n, 500, clock, motor))
    variance = clock**2 + 2 * motor**2
    lag = float(np.corrcoef(intervals[:-1], intervals[1:])[0, 1])
    assert intervals.var(ddof=1) == pytest.approx(variance, rel=4 * np.sqrt(2 / n))
    assert lag == pytest.approx(-(motor**2) / variance, abs=4 / np.sqrt(n))
    assert np.corrcoef(intervals[:-2], intervals[2:])[0, 1] == pytest.approx(0, abs=4 / np.sqrt(n))


def test_a_two_timer_player_is_measured_as_two_timers():
    """From the errors of a take come the intervals, and from them both spreads, near the planted."""
    clock, motor, strokes = 5.0, 8.0, 400
    take = pair(4, 3, strokes // 4, mode="one pulse", lanes=(0,))
    interval = 60_000 / 112
    times = two_timers(np.random.default_rng(8), strokes, interval, clock, motor)
    start = times[0]
    # A clock without correction walks off, so it is heard with what its walk adds taken off each stroke.
    walk = np.linspace(0, times[-1] - start - (strokes - 1) * interval, strokes)
    times = (times - start - walk) / 1000
    (lane,) = measure(with_taps(take, [0] * strokes, times)).lanes
    intervals = np.diff(lane.errors_ms)
    assert lane.missed == 0
    covariance = float(np.cov(intervals[:-1], intervals[1:])[0, 1])
    assert np.sqrt(-covariance) == pytest.approx(motor, rel=0.2)
    assert np.sqrt(intervals.var(ddof=1) + 2 * covariance) == pytest.approx(clock, rel=0.35)


@pytest.mark.parametrize("seed", SEEDS)
def test_planted_misses_extras_and_swaps_are_counted(seed):
    """Strokes left out are missed, taps between are extra, strokes given by the other hand wrong hands."""
    rng = np.random.default_rng(300 + seed)
    take = played(pair(4, 3, 10), rng, spread_ms=5)
    lanes, times = take.tap_lanes.copy(), take.tap_times.copy()
    ticks = take.tempo.tick_seconds(take.cycle)
    # stroke 1 of the 3 in cycle 2 (tick 4) by the other hand; stroke 3 of the 4 in cycle 5 left out; and a
    # tap of the 3 midway between ticks 8 and 12 of cycle 7, 2 ticks from both.
    swapped = np.flatnonzero((lanes == 1) & (np.abs(times - float(28 * ticks)) < 0.1))
    left_out = np.flatnonzero((lanes == 0) & (np.abs(times - float((60 + 9) * ticks)) < 0.1))
    lanes[swapped] = 0
    lanes, times = np.delete(lanes, left_out), np.delete(times, left_out)
    lanes, times = np.append(lanes, 1), np.append(times, float((7 * 12 + 10) * ticks))
    m = measure(with_taps(take, lanes, times))
    right, left = m.lanes
    assert (right.missed, right.extra, right.wrong_hand) == (1, 0, 1)
    assert (left.missed, left.extra, left.wrong_hand) == (1, 1, 0)
    assert (m.missed, m.extra, m.wrong_hand, m.matched, m.meant) == (2, 1, 1, 68, 70)


@TRIES
@given(
    st.sampled_from(MODES),
    st.sampled_from([(4, 3), (3, 2), (7, 4), (5, 5), (2, 1), (16, 15)]),
    st.lists(st.tuples(st.integers(0, 1), st.floats(-4, 20)), max_size=60),
    st.sampled_from([(0, 0), (1, 1), (2, 1)]),
)
def test_any_taps_can_be_measured(mode, numbers, taps, silent):
    """Strokes and taps add up, whatever was tapped, and every number is finite or not there."""
    lanes = (0,) if mode == "one pulse" else (0, 1)
    take = pair(*numbers, 4, mode=mode, lanes=lanes, silent=silent)
    take = with_taps(take, [lane for lane, _ in taps], [time for _, time in taps])
    m = measure(take)
    for lane in m.lanes:
        assert lane.meant == lane.matched + lane.missed == len(lane.errors_ms)
        assert np.isnan(lane.errors_ms).sum() == lane.missed
        numbers = (lane.mean_ms, lane.spread_ms, lane.drift_ms_per_cycle, lane.tempo_percent, lane.steady_ms)
        assert all(number is None or np.isfinite(number) for number in numbers)
        assert lane.mean_ms is None or abs(lane.mean_ms) <= 150 + lane.window_ms
    if mode != "composite":
        assert sum(lane.played for lane in m.lanes) + m.outside + m.elsewhere == len(taps)
    assert len(m.reentry_ms) == {(0, 0): 0, (1, 1): 1, (2, 1): 1}[silent]
    row = m.as_row()
    assert (row["meant"], row["missed"]) == (m.meant, m.missed)


def test_no_taps_at_all():
    """Everything is missed, and there is no number where none can be."""
    m = measure(pair(4, 3))
    assert (m.meant, m.missed, m.matched, m.extra) == (56, 56, 0, 0)
    assert (m.common_ms, m.hands_apart_ms, m.leads, m.spread_percent) == (None, None, None, None)
    assert (m.broke, m.played_instead) == (None, None)


def test_all_taps_on_one_lane():
    """The strokes of the other lane that were given are wrong hands, and the lane itself is whole."""
    take = pair(4, 3, 4)
    times = take.meant(None)
    m = measure(with_taps(take, [0] * len(times), times))
    assert (m.lanes[0].matched, m.lanes[0].wrong_hand, m.lanes[0].extra) == (16, 8, 0)
    assert (m.lanes[1].matched, m.lanes[1].missed) == (0, 12)


def test_taps_of_the_count_in_and_after_the_end_do_not_count():
    """Six taps before the first cycle and one long after the last are outside, and nothing is extra."""
    take = played(pair(4, 3, 4), np.random.default_rng(1), spread_ms=5)
    times = [-4.0, -3.0, -2.0, -1.5, -1.0, -0.5, float(4 * take.turn) + 1]
    more = with_taps(take, [*take.tap_lanes, *[0] * 7], [*take.tap_times, *times])
    m = measure(more)
    assert (m.outside, m.extra, m.missed) == (7, 0, 0)


def test_a_thousand_taps():
    """A thousand strokes of 7:4 are all found."""
    take = played(pair(7, 4, 91), np.random.default_rng(2), spread_ms=10)
    assert len(take.tap_times) == 1001
    assert measure(take).matched == 1001


@pytest.mark.parametrize("shift_ms", [-120, -70, -40, 60, 120])
def test_what_all_lanes_share_loses_no_stroke(shift_ms):
    """A common shift of more than the window is found, is told, and leaves the lanes as they are."""
    rng = np.random.default_rng(4)
    bias = (shift_ms, shift_ms + 10)
    for mode in ("both pulses", "composite"):
        m = measure(played(pair(7, 4, 8, bpm=120, mode=mode), rng, bias_ms=bias, spread_ms=6))
        assert m.missed <= 1
        assert m.common_ms == pytest.approx(shift_ms + 5, abs=4)
        assert m.calibrated is False


@pytest.mark.parametrize("seed", SEEDS)
def test_what_all_lanes_share_changes_no_count(seed):
    """However early or late both lanes are alike, as many strokes are missed, extra and of the wrong hand.

    Strokes given by the other hand stand where they were meant, also when all are off by more than that.
    """
    rng = np.random.default_rng(500 + seed)
    numbers = [(7, 4), (7, 5), (5, 3)][seed % 3]
    on_time = played(pair(*numbers, 8, bpm=int(rng.integers(160, 241))), rng, spread_ms=4, extra=seed % 2)
    n = len(on_time.tap_lanes)
    hands = on_time.tap_lanes.copy()
    hands[rng.choice(n, 3, replace=False)] ^= 1
    kept = np.delete(np.arange(n), rng.choice(n, 2, replace=False))
    still, *moved = (
        measure(with_taps(on_time, hands[kept], on_time.tap_times[kept] + shift_ms / 1000))
        for shift_ms in (0.0, -140, rng.uniform(-140, 140), 110, 140)
    )
    for other in moved:
        for one, same in zip(still.lanes, other.lanes, strict=True):
            assert (one.missed, one.extra, one.wrong_hand) == (same.missed, same.extra, same.wrong_hand)


def test_calibration_is_taken_off():
    """With an offset of -38 ms measured before, taps 38 ms early are on time."""
    take = played(pair(4, 3, 8, offset_ms=-38.0), np.random.default_rng(4), bias_ms=(-38, -38), spread_ms=6)
    m = measure(take)
    assert m.calibrated
    assert abs(m.common_ms) < 3


def test_in_the_merged_line_any_lane_counts():
    """One hand on everything is whole; both hands on a shared stroke are no extra; a double tap is."""
    take = pair(4, 3, 6, mode="composite")
    times = take.meant(None)
    m = measure(with_taps(take, [1] * len(times), times))
    assert (m.matched, m.missed, m.extra, m.wrong_hand, m.apart) == (36, 0, 0, 0, ())
    assert (m.lanes[0].lane, m.lanes[0].name) == (None, "line")
    both = np.concatenate([times, take.meant(1)[::3] + 0.02])
    m = measure(with_taps(take, [0] * len(times) + [1] * 6, both))
    assert (m.matched, m.extra) == (36, 0)
    m = measure(with_taps(take, [0] * len(both), both))
    assert (m.matched, m.extra) == (36, 6)


def test_the_window_is_half_the_smallest_interval_and_at_most_a_quarter_second():
    """For the 4 of 4:3 at 84 on the 3 half an interval is over 250 ms; for its line it is half a tick."""
    assert measure(pair(4, 3)).lanes[0].window_ms == pytest.approx(250)
    assert measure(pair(4, 3, mode="composite")).lanes[0].window_ms == pytest.approx(60_000 / 84 / 4 / 2)


def test_the_gaps_of_a_gap_cycle_as_played():
    """16:15: gaps of 0, -1 … -7, 8, 7 … 1 ticks are meant; played so, they correlate and are right."""
    take = played(pair(16, 15, 2, bpm=100, mode="gap cycle"), np.random.default_rng(6), spread_ms=6)
    gap = measure(take).gap
    ticks = [0, -1, -2, -3, -4, -5, -6, -7, 8, 7, 6, 5, 4, 3, 2, 1]
    assert gap.meant_ms == pytest.approx(np.array(ticks * 2) * 37.5)
    meant = rl.phase_gaps(rl.Polyrhythm(16, 15), of=0, against=1).ms(rl.Tempo(100, pulse=1))
    assert gap.meant_ms[:16] == pytest.approx(meant)
    assert (gap.of, gap.home, gap.first_wrong) == (0, 1, None)
    assert gap.correlation > 0.99
    known = ~np.isnan(gap.played_ms)
    assert gap.correlation == pytest.approx(stats.pearsonr(gap.meant_ms[known], gap.played_ms[known])[0])
    off = (gap.played_ms - gap.meant_ms)[known]
    assert gap.rms_ms == pytest.approx(np.sqrt(np.mean(off**2)))
    assert gap.rms_ms == pytest.approx(6 * np.sqrt(2), rel=0.5)


def test_a_gap_cycle_that_locks_goes_wrong_where_it_locks():
    """A player who stays on the fifteens from the sixth stroke on is told of it."""
    take = pair(16, 15, 1, bpm=100, mode="gap cycle")
    home, moving = take.meant(1), take.meant(0).copy()
    moving[5:15] = home[5:15]
    m = measure(with_taps(take, [1] * 15 + [0] * 16, [*home, *moving]))
    assert m.gap.wrong_ms == 40  # the limit flam, since half a tick is less
    assert m.gap.first_wrong == 5
    assert measure(take).gap.first_wrong is None


def test_home_need_not_be_played_to_measure_gaps():
    """Where home only sounds, the gaps are against the sound."""
    take = pair(16, 15, 1, bpm=100, mode="gap cycle", lanes=(0,))
    gap = measure(with_taps(take, [0] * 16, take.meant(0) + 0.01)).gap
    assert gap.played_ms - gap.meant_ms == pytest.approx(np.full(16, 10))


def assimilated(take, places, grid, lanes, rng, spread_ms=10.0):
    """Return the take played on other places of the cycle, given in ticks of a grid."""
    turn = float(take.turn)
    base = np.array(places) / grid * turn
    times = np.concatenate([base + cycle * turn for cycle in range(take.cycles)])
    return with_taps(take, np.tile(lanes, take.cycles), times + rng.normal(0, spread_ms / 1000, len(times)))


@pytest.mark.parametrize("mode", ["both pulses", "composite"])
def test_long_intervals_made_alike_are_named(mode):
    """4:3 with its threes played as twos, 2 1 2 2 1 2, is named, with how near it is."""
    # Repp, Windsor & Desain 2002 (from memory): at speed the two longer of three intervals become alike.
    rng = np.random.default_rng(9)
    take = pair(4, 3, 8, mode=mode)
    found = measure(assimilated(take, [0, 0, 2, 3, 5, 7, 8], 10, [0, 1, 0, 1, 0, 0, 1], rng)).played_instead
    assert (found.intervals, found.ticks, found.meant) == ((2, 1, 2, 2, 1, 2), 10, (3, 1, 2, 2, 1, 3))
    assert found.rms_ms < 15
    assert found.meant_rms_ms > 60


def test_even_strokes_are_named():
    """3:2 played as four even strokes is named even."""
    rng = np.random.default_rng(10)
    found = measure(assimilated(pair(3, 2, 12), [0, 0, 1, 2, 3], 4, [0, 1, 0, 1, 0], rng)).played_instead
    assert (found.name, found.intervals) == ("even", (1, 1, 1, 1))


def test_a_pair_of_smaller_numbers_is_named():
    """5:3 played as 3:2 is named so."""
    # Beek, Peper & van Wieringen 1992: performance slips to ratios with smaller integers.
    rng = np.random.default_rng(11)
    take = pair(5, 3, 12)
    found = measure(assimilated(take, [0, 0, 2, 3, 4], 6, [0, 1, 0, 1, 0], rng)).played_instead
    assert (found.name, found.intervals, found.ticks) == ("3 against 2", (2, 1, 1, 2), 6)


@pytest.mark.parametrize(("p", "q"), [(3, 2), (4, 3), (5, 3), (5, 4), (7, 4)])
def test_a_rhythm_that_was_played_is_not_given_another_name(p, q):
    """In takes with spread, lead, late left hand, drift and misses, no simpler rhythm is named."""
    for seed in some(range(60), 3, f"{p}:{q}"):
        rng = np.random.default_rng(1000 * p + seed)
        take = pair(p, q, 6, bpm=int(rng.integers(50, 120)))
        take = played(
            take,
            rng,
            bias_ms=(-40, rng.uniform(-60, -10)),
            spread_ms=rng.uniform(3, 30),
            drift_ms_per_cycle=rng.uniform(-8, 8),
            miss=rng.choice([0, 0.03]),
        )
        assert measure(take).played_instead is None


def test_where_it_broke_and_the_way_back():
    """Two strokes of the 4 left out from tick 3 of cycle 3: three strokes of the line later it is right."""
    # Strokes of cycle 3 of 4:3: ticks 0 (both), 3 (4), 4 (3), 6 (4), 8 (3), 9 (4).
    take = played(pair(4, 3, 8), np.random.default_rng(1), spread_ms=5, missing=[(0, 9), (0, 10)])
    broke = measure(take).broke
    assert (broke.cycle, broke.tick, broke.lane, broke.strokes) == (3, 3, 0, 3)
    assert broke.seconds == pytest.approx(float(5 * take.tempo.tick_seconds(take.cycle)))  # tick 8


def test_one_stroke_left_out_is_no_break_and_neither_is_stopping():
    """A missed sound, a late start and an early end break nothing; no way back is told as such."""
    rng = np.random.default_rng(1)
    take = pair(4, 3, 4)
    assert measure(played(take, rng, missing=[(0, 5)])).broke is None
    assert measure(played(take, rng, missing=[(0, 8), (1, 6)])).broke is None  # both hands, beat 1 of cycle 3
    ends = [(lane, stroke) for lane, size in ((0, 16), (1, 12)) for stroke in (0, 1, 2, size - 2, size - 1)]
    assert measure(played(take, rng, missing=ends)).broke is None
    never = [(0, stroke) for stroke in range(4, 16)]
    broke = measure(played(take, rng, missing=never)).broke
    assert (broke.cycle, broke.tick, broke.strokes, broke.seconds) == (2, 0, None, None)


def test_the_first_stroke_after_each_silence():
    """Two cycles sound and one is silent: cycles 4 and 7 are re-entries, late by what was planted."""
    take = pair(4, 3, 8, silent=(2, 1))
    lanes = np.repeat([0, 1], [32, 24])
    times = np.concatenate([take.meant(0), take.meant(1)])
    first = np.isclose(times, 3 * float(take.turn))
    late = with_taps(take, lanes, times + 0.08 * first)
    found = measure(late)
    assert found.reentry_ms == pytest.approx((80 - found.common_ms, -found.common_ms))
    gone = with_taps(take, lanes[~first], times[~first])
    assert np.isnan(measure(gone).reentry_ms[0])


def test_taps_in_a_lane_that_was_not_to_be_played():
    """They are told apart from extras, and are wrong hands of nobody who was measured."""
    take = pair(4, 3, 4, mode="one pulse", lanes=(0,))
    taps = [*take.meant(0), 0.9, 1.1]
    m = measure(with_taps(take, [0] * 16 + [1] * 2, taps))
    assert (m.elsewhere, m.extra, m.missed) == (2, 0, 0)


def test_three_lanes_are_compared_pair_by_pair():
    """3:4:5 with the last lane 30 ms late: two of the three pairs say so."""
    cycle = rl.Polyrhythm(3, 4, 5).cycle()
    take = Take(
        cycle=cycle,
        tempo=rl.Tempo(60, pulse=0),
        cycles=6,
        start=0,
        stop=60,
        mode="both pulses",
        lanes=(0, 1, 2),
        tap_lanes=[],
        tap_times=[],
    )
    m = measure(played(take, np.random.default_rng(1), bias_ms=(0, 0, 30), spread_ms=4))
    assert [(apart.first, apart.second) for apart in m.apart] == [(0, 1), (0, 2), (1, 2)]
    assert [round(apart.mean_ms / 10) for apart in m.apart] == [0, 3, 3]
    assert abs(m.hands_apart_ms) == max(abs(apart.mean_ms) for apart in m.apart)


def test_a_stroke_that_was_left_out_is_given_once():
    """Where two other lanes tap at a stroke left out, one of them is the wrong hand and one is extra."""
    lanes = [rl.Lane("bell", [0]), rl.Lane("high drum", [0]), rl.Lane("low drum", [0, 6])]
    cycle = rl.Cycle(12, lanes, beats=[0, 6])
    take = Take(
        cycle=cycle,
        tempo=rl.Tempo(60, ticks=6),
        cycles=2,
        start=0,
        stop=12,
        mode="both pulses",
        lanes=(0, 1, 2),
        tap_lanes=[0, 1, 2, 0, 1, 0, 1, 2, 2],
        tap_times=[0.0, 0.0, 0.0, 1.0, 1.0, 2.0, 2.0, 2.0, 3.0],
    )
    m = measure(take)
    assert [lane.wrong_hand for lane in m.lanes] == [1, 0, 0]
    assert [lane.extra for lane in m.lanes] == [0, 1, 0]
    assert [lane.missed for lane in m.lanes] == [0, 0, 1]


def test_what_is_no_take_is_refused():
    """The message says what was given and what works."""
    refusal(lambda: measure([1, 2]), "[1, 2]", "is not a Take")


@pytest.mark.parametrize("mode", ["both pulses", "composite"])
@pytest.mark.parametrize("early_ms", [0, 30])
def test_landing_on_the_one_after_the_last_cycle_is_no_break_and_no_extra(mode, early_ms):
    """A drummer ends on the next 1, a little early or on it: every stroke is in place, none too many."""
    cycle = rl.Polyrhythm(4, 3).cycle()
    lanes = np.array([0] * 17 + [1] * 13)
    times = np.concatenate([np.arange(17) / 4, np.arange(13) / 3])
    times[[16, 29]] -= early_ms / 1000
    take = Take(
        cycle=cycle, tempo=rl.Tempo(180, pulse=1), cycles=4, start=0, stop=12, mode=mode,
        lanes=(0, 1), tap_lanes=lanes, tap_times=times,
    )  # fmt: skip
    found = rl.practice.measure(take)

    assert (found.missed, found.extra) == (0, 0)
    assert found.broke is None

"""Causes: a simulated player with one cause is told that one, and a clean one none."""

from collections import Counter, defaultdict
from itertools import permutations, product
from math import comb, exp, gcd, log

import numpy as np
import pytest

from rhythmlab.practice.causes import causes
from rhythmlab.practice.feedback import feedback
from rhythmlab.practice.moved import KINDS
from tests.practice.players import PAIRS, PLANTED, SPREADS, TEMPOS, Case, effect, habit_of, take_of
from tests.practice.simulate import pair, played, with_taps
from tests.profile import LONG, some

NOISES = ("white", "timers", "clock")
#: Takes of each cell of the long matrix, and so many standard errors as must be named in 95 of 100.
TAKES, CLEAR_EFFECT = 4 if LONG else 1, 4
COPRIME = [numbers for numbers in permutations(range(3, 17), 2) if gcd(*numbers) == 1]
#: What may be told where one is smaller: in a short take a tempo that changed looks as one that bends or that
#: was held, and a lane of its own tempo as one that is late.
NEIGHBOURS = {"changed": ("rushed", "tempo"), "parted": ("hand", "tempo")}


def rng(seed=1):
    return np.random.default_rng(seed)


def cells(kind: str, sizes) -> list[Case]:
    """Return the cells of the matrix of one cause."""
    from_on = (4, 6) if kind in ("looser", "slipped", "waited", "changed") else (0,)
    rows = product(sizes, PAIRS, SPREADS, TEMPOS, NOISES, from_on)
    return [
        Case(kind, size, numbers, spread, bpm, noise, at=at) for size, numbers, spread, bpm, noise, at in rows
    ]


def told(case: Case, seed: int) -> str:
    """Return the kind of the first cause that is told of a take, or "none"."""
    found = causes(take_of(case, rng(seed)))
    return found[0].kind if found else "none"


def table(rows: dict) -> str:
    """Write how often what was told of what was planted."""
    columns = [*KINDS, "none"]
    lines = [" " * 16 + "".join(f"{kind[:7]:>8}" for kind in columns)]
    for name, counts in rows.items():
        lines.append(f"{name:<16}" + "".join(f"{counts[kind] or '':>8}" for kind in columns))
    return "\n".join(lines)


def holds(count: int, total: int, rate: float, whole: bool = False) -> bool:
    """Whether a count keeps a promise of at least a rate: in a sample, whether it is not too improbable.

    So few or fewer come in less than 1 of 10,000 samples of takes of which just the promised share is right.
    The `whole` of a matrix keeps it to the letter.
    """
    if LONG and whole:
        return count >= rate * total
    chances = (log(comb(total, k)) + k * log(rate) + (total - k) * log(1 - rate) for k in range(count + 1))
    return sum(map(exp, chances)) >= 1e-4


def test_a_promise_is_judged_by_the_size_of_a_sample():
    """23 of 28 may come where 95 of 100 are promised, 230 of 280 not; 20 of 28 are too few."""
    assert holds(23, 28, 0.95)
    assert not holds(20, 28, 0.95)
    assert not holds(230, 280, 0.95)
    assert holds(0, 0, 0.95)
    assert holds(1126, 1152, 0.95)
    assert not holds(1040, 1152, 0.95)


@pytest.mark.parametrize("kind", PLANTED)
def test_a_planted_cause_is_named_first(kind):
    """Where it is four standard errors large or more it is told first in 95 of 100 takes, of every size.

    Where it is smaller, it may also be said that it cannot be told yet, but hardly ever another cause.
    """
    clear, small = defaultdict(Counter), defaultdict(Counter)
    for size in PLANTED[kind]:
        for number, case in enumerate(some(cells(kind, [size]), 6, ("causes", kind, size))):
            rows = clear if effect(case) >= CLEAR_EFFECT else small
            for take in range(TAKES):
                rows[f"{kind} {size}"][told(case, 1000 * number + take)] += 1
    print("\n" + table(clear) + "\nsmaller:\n" + table(small))
    named, total = (
        sum(one) for one in zip(*((row[kind], row.total()) for row in clear.values()), strict=True)
    )
    assert holds(named, total, 0.95, whole=True)
    for name, counts in clear.items():
        assert holds(counts[kind], counts.total(), 0.95), name
    for name, counts in small.items():
        right = sum(counts[one] for one in (kind, "unsure", "none", *NEIGHBOURS.get(kind, ())))
        assert holds(right, counts.total(), 0.95), name


def test_clean_takes_are_not_blamed():
    """With a lead of 20 to 50 ms: of 100 at most 2 are told a cause."""
    counts = Counter()
    for number, case in enumerate(some(cells("clean", [0]), 2, "clean causes")):
        for take in range(8 * TAKES if LONG else 4):
            counts[told(case, 5000 + 1000 * number + take)] += 1
    print("\n" + table({"clean": counts}))
    assert holds(counts["none"] + counts["unsure"], counts.total(), 0.98, whole=True)


@pytest.mark.parametrize(
    ("p", "q", "bpm", "parts"), [(4, 3, 84, 2), (5, 4, 60, 2), (5, 3, 60, 2), (5, 4, 100, 3)]
)
def test_no_part_of_a_shift_is_taken_for_a_delay_of_the_device(p, q, bpm, parts):
    """All strokes some parts of a beat late, and no take calibrated: just so many parts are told."""
    meant = pair(p, q, 4, bpm=bpm)
    take = played(meant, rng(), spread_ms=8)
    times = take.tap_times + parts * float(take.tempo.tick_seconds(take.cycle)) - 0.03
    inside = times < float(take.turn) * take.cycles
    found = causes(with_taps(take, take.tap_lanes[inside], times[inside]))
    assert [cause.ticks for cause in found if cause.kind == "shifted"] == [parts]


@pytest.mark.parametrize("kind", ["silent", "missing", "added"])
@pytest.mark.parametrize("first", [1, 3, 5])
def test_the_stroke_that_is_left_out_or_added_is_told_by_its_place(kind, first):
    """Its lane, its place, from which cycle on and how often, in every pair up to 16:15."""
    for seed, numbers in enumerate(some(permutations(range(2, 17), 2), 12, (kind, first))):
        case = Case(kind, first, numbers, 8, min(60, 120 * numbers[1] / numbers[0]))
        take = take_of(case, rng(seed), offset_ms=-1.0, lead_ms=0)
        generator = rng(seed)  # the same draw once more
        lane, place, _ = habit_of(case, generator, [take.meant(0), take.meant(1)], float(take.turn))
        cause = causes(take)[0]
        assert (cause.kind, cause.lane, cause.cycle) == (kind, lane, first), case
        if kind != "silent":
            assert cause.tick == take.ticks(lane)[place], case
            assert cause.count == 9 - first, case


@pytest.mark.parametrize("ms", [-80, 95, 190])
def test_a_wait_is_told_by_its_place_and_its_length(ms):
    """The stroke before which it was, to two strokes, and how long, to 8 ms; also of a longer one."""
    for seed, numbers in enumerate(some(permutations(range(2, 14), 2), 8, ("waits", ms), [(12, 11)])):
        bpm = min(60, 120 * numbers[1] / numbers[0])
        take = take_of(Case("clean", 0, numbers, 6, bpm), rng(seed))
        line = np.unique(np.round(np.concatenate([take.meant(0), take.meant(1)]), 6))
        k = int(rng(seed).integers(len(line) // 4, 3 * len(line) // 4))
        later = np.where(take.tap_times > line[k] - 0.035 - (line[k] - line[k - 1]) / 2, ms / 1000, 0)
        (cause, *_) = causes(with_taps(take, take.tap_lanes, take.tap_times + later))
        if cause.kind == "slipped":  # a wait of as long as a part of a beat, to what the strokes are off by
            assert cause.us == pytest.approx(1000 * ms, abs=12_000), numbers
            continue
        assert (cause.kind, cause.us) == ("waited", pytest.approx(1000 * ms, abs=8000)), numbers
        tick = float(take.tempo.tick_seconds(take.cycle))
        at = (cause.cycle - 1) * float(take.turn) + cause.tick * tick
        assert line[max(0, k - 2)] - 1e-5 <= at <= line[min(len(line) - 1, k + 2)] + 1e-5, numbers


@pytest.mark.parametrize("percent", [-1, 1])
def test_a_lane_of_its_own_tempo_is_told_by_how_far_it_was_at_the_end(percent):
    """Which lane, against which, and by how much; also where it goes away by more than half a stroke."""
    for seed, numbers in enumerate(some(COPRIME, 6, ("parted", percent), [(12, 11), (9, 5), (5, 4)])):
        take = take_of(Case("parted", percent, numbers, 8, 60), rng(seed))
        cause, end = causes(take)[0], float(take.turn) * take.cycles
        assert (cause.kind, cause.lane, cause.other) == ("parted", 0, 1), numbers
        assert cause.then_us == pytest.approx(10_000 * percent * end, abs=45_000), numbers
        assert cause.us * take.cycles == pytest.approx(cause.then_us, abs=take.cycles), numbers


@pytest.mark.parametrize("numbers", [(7, 5), (9, 8), (5, 4)])
@pytest.mark.parametrize("late_ms", [-60, 40, 60])
def test_a_late_hand_is_no_other_line(numbers, late_ms):
    """Where strokes that meet sound as two, so that the line begins elsewhere: still the hand is told."""
    for seed, bpm in enumerate((92, 130, 160)):
        found = causes(take_of(Case("hand", late_ms, numbers, 15, bpm), rng(seed)))
        assert [cause.kind for cause in found] == ["hand"], bpm


@pytest.mark.parametrize("numbers", [(2, n) for n in (3, 5, 7, 9)])
@pytest.mark.parametrize("ms", [-60, 70])
def test_the_second_of_two_strokes_is_told_by_its_place(numbers, ms):
    """Nor is it a late hand: where the two pulses meet, the hands do."""
    counts = Counter()
    for seed, (bpm, noise) in enumerate(product((54, 77, 108), NOISES)):
        found = causes(take_of(Case("place", ms, numbers, 12, bpm, noise), rng(seed)))
        counts[found[0].kind if found else "none"] += 1
        if counts.keys() == {"place"}:
            assert (found[0].lane, found[0].tick) == (0, numbers[1]), (bpm, noise)
            assert found[0].us == pytest.approx(1000 * ms, abs=25_000), (bpm, noise)
    assert holds(counts["place"], counts.total(), 0.95), counts


@pytest.mark.parametrize("numbers", [(2, n) for n in (3, 5, 7, 9)])
@pytest.mark.parametrize("beats", [-1, 1])
def test_a_whole_beat_is_dropped_or_added_and_not_waited_for(numbers, beats):
    """A drummer calls a wait of a beat a beat, also where one lane has few strokes."""
    counts = Counter()
    for seed, (bpm, noise) in enumerate(product((54, 77, 108), NOISES)):
        found = causes(take_of(Case("slipped", beats, numbers, 15, bpm, noise, at=5), rng(seed)))
        counts[found[0].kind if found else "none"] += 1
    assert holds(counts["slipped"], counts.total(), 0.95), counts


@pytest.mark.parametrize("numbers", [(2, 5), (2, 7), (2, 9), (2, 11), (3, 8), (5, 9)])
@pytest.mark.parametrize("beats", [-1, 1])
@pytest.mark.parametrize("at", [3, 7])
def test_a_beat_dropped_or_added_early_or_late_is_no_shift_and_no_silence(numbers, beats, at):
    """From cycle 3 or 7 of 12 on, where few strokes a cycle tell it from a shift of all, or from a wait."""
    counts = Counter()
    for seed, (bpm, noise) in product(range(2), product((54, 92), NOISES)):
        found = causes(
            take_of(Case("slipped", beats, numbers, 12, bpm, noise, at=at), rng(seed)), every=False
        )
        counts[found[0].kind if found else "none"] += 1
    assert holds(counts["slipped"], counts.total(), 0.98), counts


@pytest.mark.parametrize("numbers", [(9, 8), (7, 5), (13, 8), (5, 4)])
@pytest.mark.parametrize("slower", [0.98, 1.03])
def test_swapped_and_at_another_tempo_too_is_told_as_both(numbers, slower):
    """Swapped first, then the tempo, which is no ratio of the two pulses: 2 % faster, not 15."""
    take = take_of(Case("swapped", 1, numbers, 8, 60), rng(2))
    found = causes(with_taps(take, take.tap_lanes, take.tap_times * slower))
    assert [cause.kind for cause in found[:2]] == ["swapped", "tempo"]
    assert found[1].us / 1e6 / float(take.turn) == pytest.approx(slower - 1, abs=0.004)


@pytest.mark.parametrize("numbers", some(permutations(range(2, 17), 2), 8, "half a beat"))
@pytest.mark.parametrize("beats", [-0.5, 0.5])
def test_half_a_beat_of_shift_is_told_as_half_a_beat(numbers, beats):
    """Half a beat early or late where the beat has no part there, too; calibrated, since it is short."""
    bpm = min(60, 100 * numbers[1] / numbers[0])
    take = take_of(Case("shifted", beats, numbers, 8, bpm), rng(2), offset_ms=-1.0, lead_ms=0)
    said = feedback(take)[0]
    assert said.startswith(f"The whole take came half a beat {'early' if beats < 0 else 'late'}: next"), said


@pytest.mark.parametrize("numbers", some(COPRIME, 12, "halves of beats", [(7, 5), (16, 15)]))
@pytest.mark.parametrize("bpm", [60, 160])
def test_a_shift_by_beats_and_a_half_is_told_by_its_size(numbers, bpm):
    """Up to half a cycle, early and late, at any tempo: it is no late hand, and no take that ended early."""
    quickest = min(bpm, 300 * numbers[1] / numbers[0])
    halves = [beats + 0.5 for beats in range(1, (numbers[1] + 1) // 2)]
    for by in some([sign * half for half in halves for sign in (-1, 1)], 4, ("halves", numbers, bpm)):
        case = Case("shifted", by, numbers, 8, quickest)
        take = take_of(case, rng(2), offset_ms=-1.0, lead_ms=0)
        said, way = feedback(take)[0], "early" if by < 0 else "late"
        assert said.startswith(f"The whole take came {int(abs(by))} and a half beats {way}: next"), said


@pytest.mark.parametrize("numbers", [(3, 2), (5, 2)])
def test_a_shift_of_more_than_half_a_cycle_is_told_by_the_place_of_the_1(numbers):
    """A beat and a half of two, nobody measured: it lay on a part of a beat, and may be no delay."""
    for seed, spread in product(range(2), SPREADS):
        take = take_of(Case("shifted", 1.5, numbers, spread, 60), rng(seed))
        said = feedback(take)[0]
        assert said.startswith("Your 1 stood midway between beat 2 and beat 1, half a beat from"), (
            seed,
            said,
        )


@pytest.mark.parametrize(("kind", "size"), [("swapped", 1), ("shifted", 1), ("tempo", 2), ("hand", 40)])
@pytest.mark.parametrize("numbers", [(5, 4), (7, 4), (8, 5)])
def test_of_two_causes_the_one_that_moves_more_is_told_first(kind, size, numbers):
    """Swapped, shifted, at another tempo or with a late hand, and one place early too: the place is last."""
    take = take_of(Case(kind, size, numbers, 8, 60), rng(3))
    place = take_of(Case("place", -90, numbers, 8, 60), rng(3), lead_ms=0)
    clean = take_of(Case("clean", 0, numbers, 8, 60), rng(3), lead_ms=0)
    late = np.zeros(len(take.tap_times))
    moved = np.flatnonzero(np.abs(place.tap_times - clean.tap_times) > 0.05)
    late[moved[moved < len(late)]] = -0.09
    both = with_taps(take, take.tap_lanes, take.tap_times + late)
    kinds = [cause.kind for cause in causes(both)]
    assert kinds[0] == kind, kinds
    assert kinds[-1] == "place", kinds


@pytest.mark.parametrize("numbers", [(4, 3), (7, 4), (16, 15)])
@pytest.mark.parametrize("late_ms", [120, 190, 240])
def test_a_delay_that_nobody_measured_is_no_fault(numbers, late_ms):
    """A device up to a quarter second late is no cause without calibration, and a shift with it."""
    case = Case("clean", 0, numbers, 10, 60)
    for seed in range(6):  # nothing is told that is not told of a device without delay
        found = causes(take_of(case, rng(seed), lead_ms=late_ms))
        assert found == causes(take_of(case, rng(seed), lead_ms=-30))
        assert not found or found[0].kind == "unsure", seed
    if late_ms == 240:
        assert causes(take_of(case, rng(1), lead_ms=late_ms, offset_ms=-1.0))[0].kind == "shifted"


@pytest.mark.parametrize("late_ms", [165, 210, 240])
def test_evenness_is_judged_under_any_delay_that_nobody_measured(late_ms):
    """Where strokes are nearer to each other than the delay, too: what is said is said without a delay."""
    pairs = [*PAIRS, (13, 8), (5, 3), (10, 4), (17, 5), (2, 3)]
    quick = (
        (numbers, bpm) for numbers, bpm in product(pairs, (60, 80, 92, 120)) if numbers != (17, 5) or bpm < 80
    )
    for numbers, bpm in some(quick, 3, ("delay", late_ms), [((7, 4), 80), ((5, 3), 120)]):
        case = Case("clean", 0, numbers, 8, bpm)
        late, usual = (take_of(case, rng(3), lead_ms=lead) for lead in (late_ms, -30))
        assert [one.kind for one in causes(late)] == [one.kind for one in causes(usual)], case
        assert feedback(late) == feedback(usual), case


@pytest.mark.parametrize("faster", [3, 2, 3 / 2, 4 / 3, 5 / 4, 3 / 4, 2 / 3, 1 / 2])
@pytest.mark.parametrize("goes_on", [False, True])
def test_another_tempo_of_both_hands_is_told_first(faster, goes_on):
    """Twice, half, or the ratio of the pair itself: no lock, no swap and no early end, to a hundredth."""
    for numbers in some([*PAIRS, (6, 4), (9, 6), (2, 3)], 3, ("tempos", faster), [(4, 3), (3, 2)]):
        case = Case("clean", 0, numbers, 10, 60, cycles=8)
        take = take_of(case, rng(5))
        times, until = take.tap_times / faster, float(take.turn) * take.cycles + 0.35
        if goes_on and faster > 1:
            more = take_of(case._replace(cycles=8 * int(np.ceil(faster))), rng(5))
            take, times = with_taps(take, more.tap_lanes, more.tap_times), more.tap_times / faster
        kept = times < until
        (cause, *rest) = causes(with_taps(take, take.tap_lanes[kept], times[kept]))
        assert (cause.kind, rest) == ("tempo", []), numbers
        assert abs((1 + cause.us / (1_000_000 * float(take.turn))) * faster - 1) < 0.01, numbers


#: Pairs that share a factor: all of it comes round again after a part of the cycle.
FIGURES = ((10, 4), (6, 4), (12, 8), (9, 6), (8, 6), (4, 6), (6, 9), (15, 10))


@pytest.mark.parametrize("numbers", some(FIGURES, 2, "figures", [(12, 8)]))
@pytest.mark.parametrize("beats", [1, -1])
def test_a_beat_more_or_less_of_a_figure_is_told_by_the_pause(numbers, beats):
    """Where a beat more looks as a beat less from there on: who waited added it, who did not dropped it."""
    for seed in range(4):
        (cause, *_) = causes(take_of(Case("slipped", beats, numbers, 10, 60), rng(seed)))
        assert (cause.kind, cause.us) == ("slipped", 1_000_000 * beats), (seed, cause)
        half = 2 * numbers[1] // np.gcd(*numbers) == 4  # of two beats one dropped is one played twice
        assert bool(cause.then_us) == (half and beats < 0), (seed, cause)


@pytest.mark.parametrize("numbers", some(FIGURES, 2, "joined", [(9, 6)]))
def test_who_joins_whole_cycles_late_is_not_told_of_a_shift(numbers):
    """From cycle 3 on all is in its place: a shift by a figure changes nothing else."""
    take = take_of(Case("clean", 0, numbers, 10, 60), rng(2))
    joined = take.tap_times > 2 * float(take.turn) - 0.1
    found = causes(with_taps(take, take.tap_lanes[joined], take.tap_times[joined]))
    assert "shifted" not in {cause.kind for cause in found}


@pytest.mark.parametrize("numbers", some([*PAIRS, (9, 6), (7, 5)], 2, "crossed", [(5, 4)]))
@pytest.mark.parametrize("first", [2, 4, 6])
def test_sides_that_are_swapped_from_a_cycle_on_are_told(numbers, first):
    """From its first stroke, or a few strokes from it where near-equal pulses hardly differ."""
    take = take_of(Case("clean", 0, numbers, 10, 60), rng(first))
    later = take.tap_times > first * float(take.turn) - 0.15
    found = causes(with_taps(take, np.where(later, 1 - take.tap_lanes, take.tap_lanes), take.tap_times))
    assert found[0].kind == "swapped", found
    assert found[0].cycle in (first, first + 1), found


@pytest.mark.parametrize("numbers", some(permutations(range(2, 17), 2), 16, "one key", [(16, 15), (3, 4)]))
@pytest.mark.parametrize("key", [0, 1])
def test_both_pulses_on_one_key_are_told_and_one_hand_alone_is_not(numbers, key):
    """Where every stroke of both is there: no hand was silent, and no sides were swapped."""
    if numbers[1 - key] == np.gcd(*numbers):  # all its strokes are those of the other, too
        return
    bpm = min(60, 300 * numbers[1] / numbers[0])
    for fields in ({}, {"offset_ms": -1.0, "lead_ms": 0}):
        take = take_of(Case("clean", 0, numbers, 8, bpm), rng(4), **fields)
        (cause,) = causes(with_taps(take, np.full(len(take.tap_lanes), key), take.tap_times))
        assert (cause.kind, cause.lane) == ("one_key", key)
        alone = take.tap_lanes == key
        assert causes(with_taps(take, take.tap_lanes[alone], take.tap_times[alone]))[0].kind == "silent"


@pytest.mark.parametrize("kind", PLANTED)
def test_what_is_left_out_is_told_after_what_is_said(kind):
    """Without all of them the causes are the first of all: never none where there are some."""
    for seed, numbers in enumerate(((3, 2), (8, 5))):
        take = take_of(Case(kind, PLANTED[kind][-1], numbers, 15, 60), rng(seed))
        some_of, every = causes(take, every=False), causes(take)
        assert every[: len(some_of)] == some_of
        assert bool(some_of) == bool(every)

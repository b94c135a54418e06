"""The order of learning pairs, against the published orders, the Stern-Brocot tree and sympy."""

import re
from fractions import Fraction
from itertools import permutations
from math import gcd

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sympy.ntheory.continued_fraction import continued_fraction, continued_fraction_convergents

import rhythmlab as rl
from rhythmlab import resources
from rhythmlab.playing.learning import _near_quarter, before, learning_order, level, prepare
from rhythmlab.playing.limits import source_row
from tests.refusals import refusal, works
from tests.strategies import TRIES, coprime_pairs, pairs

NAMES = {"level": level, "order": learning_order, "prepare": prepare}


def path(p: rl.Polyrhythm) -> list[tuple[int, int]]:
    """Walk down the Stern-Brocot tree to a pair: every fraction met, the pair last."""
    goal = Fraction(max(p.pulses), min(p.pulses))
    low, high = (0, 1), (1, 0)
    met = []
    while not met or Fraction(*met[-1]) != goal:
        middle = (low[0] + high[0], low[1] + high[1])
        met.append(middle)
        low, high = (middle, high) if Fraction(*middle) < goal else (low, middle)
    return met


def numbers(rungs) -> list[tuple[int, int]]:
    return [rung.polyrhythm.pulses for rung in rungs]


@TRIES
@given(pairs)
def test_the_level_is_how_deep_the_pair_stands_in_the_tree(p):
    """1:1 is at level 1; each step down the tree is a level; sympy's continued fraction has the same sum."""
    swapped = rl.Polyrhythm(*p.pulses[::-1])
    assert level(p) == level(swapped) == len(path(p))
    assert level(p) == sum(continued_fraction(Fraction(max(p.pulses), min(p.pulses))))


def test_levels_known_from_outside():
    """Checked by another program."""
    known = "2:1=2 3:1=3 3:2=3 4:3=4 5:2=4 5:3=4 5:4=5 7:4=5 7:5=5 8:5=5 8:7=8 9:8=9"
    for text in known.split():
        pair, expected = text.split("=")
        assert level(rl.Polyrhythm(*map(int, pair.split(":")))) == int(expected)


@pytest.mark.parametrize(
    ("published", "source"),
    [
        # Perceptual and Motor Skills 1999, 88(3), 1160-1168 (abstract): the way of learners of 3:2.
        (((1, 1), (2, 1), (3, 1), (3, 2)), "selfpaced1999"),
        # Dissertation, University of Washington (abstract), 29 percussionists and pianists: accuracy.
        (((3, 2), (4, 3), (5, 4)), "uw_dissertation"),
    ],
)
def test_the_order_agrees_with_both_published_orders(published, source):
    """However the pairs are given, and whichever pulse comes first."""
    for given_pairs in permutations(published):
        rungs = learning_order(rl.Polyrhythm(*pair) for pair in given_pairs)
        assert numbers(rungs) == list(published)
        assert rungs[-1].source == source
        turned = learning_order(rl.Polyrhythm(*pair[::-1]) for pair in given_pairs)
        assert numbers(turned) == [pair[::-1] for pair in published]
    assert all(
        source_row(source)["named"] in rung.why
        for rung in learning_order(rl.Polyrhythm(*pair) for pair in published[1:])
        if rung.source == source
    )


@TRIES
@given(st.lists(pairs, max_size=12))
def test_no_pair_is_lost_and_lines_grow(given_pairs):
    """All that were given, by the sounds of their line; what no study placed is a hypothesis and says so."""
    rungs = learning_order(given_pairs)
    assert sorted(numbers(rungs)) == sorted(p.pulses for p in given_pairs)
    sounds = [len(rl.composite(rung.polyrhythm.reduced)) for rung in rungs]
    assert sounds == sorted(sounds)
    assert all(rung.level == level(rung.polyrhythm) for rung in rungs)
    assert [rung.polyrhythm for rung in learning_order(rung.polyrhythm for rung in rungs)] == [
        r.polyrhythm for r in rungs
    ]
    for rung in rungs:
        reduced = tuple(sorted(rung.polyrhythm.reduced.pulses, reverse=True))
        placed = reduced in {(1, 1), (2, 1), (3, 1), (3, 2), (4, 3), (5, 4)}
        assert (rung.source == "hypothesis") == ("(hypothesis)" in rung.why) == (not placed)


def test_what_prepares_a_pair():
    """7:4 is 2:1 and 5:3 added up; near-equal pairs are prepared by smaller near-equal ones."""
    assert numbers(prepare(rl.Polyrhythm(7, 4))) == [(1, 1), (2, 1), (3, 2), (5, 3)]
    assert numbers(prepare(rl.Polyrhythm(31, 32))) == [(1, 1), (3, 4), (7, 8), (15, 16), (30, 31)]
    assert numbers(prepare(rl.Polyrhythm(1, 1))) == []
    why = {rung.polyrhythm.pulses: rung.why for rung in prepare(rl.Polyrhythm(4, 7))}
    assert why[1, 2] == (
        "1 against 2 before 4 against 7: it goes into it three times, with one stroke of the 4 and one of "
        "the 7 left (hypothesis)."
    )
    assert why[1, 1] == "1 against 1 before 4 against 7: both hands together, as on its one (hypothesis)."
    assert why[2, 3] == (
        "2 against 3 before 4 against 7: it goes into it twice, with one stroke of the 7 left (hypothesis)."
    )


@TRIES
@given(st.lists(st.tuples(st.integers(3, 40), st.booleans()), min_size=2, max_size=8))
def test_an_order_names_what_is_on_its_own_list(given_pairs):
    """Neighbours come after the neighbours that a room plays: 16:15 after 4:3 where 5:4 is not played."""
    listed = [(n, n - 1) if larger_first else (n - 1, n) for n, larger_first in given_pairs]
    for rung in learning_order(listed):
        if after := re.search(r"after (\d+) against (\d+)", rung.why):
            smaller = {max(pair) for pair in listed if max(pair) < max(rung.polyrhythm.pulses)}
            assert not smaller or int(after[1]) in smaller
            assert int(after[1]) - int(after[2]) == 1


NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
WORDS = {word: n for n, word in enumerate(NUMBERS, 1)}
OFTEN = {"once": 1, "twice": 2} | {f"{word} times": n for word, n in WORDS.items()}


@TRIES
@given(pairs)
def test_what_a_sentence_of_order_claims_both_pairs_really_have(p):
    """As many strokes to a beat and as many extra, or so many times the smaller pair and what is left."""
    for rung in prepare(p):
        small, large = rung.polyrhythm.pulses, p.reduced.pulses
        if "there too" not in rung.why and "goes into it" not in rung.why:
            assert set(small) == {1}
        else:
            is_true(rung.why, small, large)
    for rung in learning_order([p]):
        after = re.search(r"after (\d+) against (\d+)", rung.why)
        if after:
            is_true(rung.why, tuple(map(int, after.groups())), sorted(p.reduced.pulses, reverse=True))


def word(said: str) -> int:
    """Read a number that is said in words up to nine."""
    return WORDS[said] if said in WORDS else int(said.replace("\u00a0", ""))


def is_true(why: str, small, large) -> None:
    """Check what a sentence says that a small pair and a large one have in common."""
    if "goes into it" in why:
        often, left = re.search(r"goes into it (.*), with (.*) left", why).groups()
        number = OFTEN[often] if often in OFTEN else word(often.split()[0])
        rest = dict.fromkeys(large, 0)
        for count, of in re.findall(r"([\w\u00a0]+)(?: strokes?)? of the (\d+)", left):
            rest[int(of)] = word(count)
        assert all(number * a + rest[b] == b for a, b in zip(small, large, strict=True))
        return
    for pair in (small, large):
        high, low = max(pair), min(pair)
        if short := re.search(r"is (\S+) strokes? short of (\S+) to a beat", why):
            fewer, each = map(word, short.groups())
            assert high == each * low - fewer
        elif extra := re.search(r"one hand fits (\S+) extra", why):
            assert high == low + word(extra[1])
        else:
            each, extra = re.search(r"each beat has (\S+) strokes and the cycle (\S+) extra", why).groups()
            assert high == word(each) * low + word(extra)


@pytest.mark.parametrize("pair", [(a, b) for a in range(2, 25) for b in range(2, a) if gcd(a, b) == 1])
def test_what_comes_before_a_pair_is_a_line_that_a_drummer_can_learn(pair):
    """12 sounds at most, fewer than the pair, earlier in the order; the chain ends in 3:2 or in an n:2.

    One sentence on one page: the chain of page 05 ends in the pair that the order names.
    """
    p = rl.Polyrhythm(*pair)
    chain = before(p)
    after = re.search(r"after (\d+) against (\d+)", learning_order([p])[0].why)
    assert (chain[-1:] == (tuple(map(int, after.groups())),)) if after else (len(chain) < 4)
    assert numbers(learning_order([*chain, p])) == [*chain, pair]
    assert all(a + b - 1 <= 12 and min(a, b) > 1 for a, b in chain)
    assert not chain or chain[0][1] == 2
    assert before(rl.Polyrhythm(*pair[::-1])) == tuple(one[::-1] for one in chain)


def test_neighbours_come_after_neighbours_and_others_after_what_goes_into_them():
    """As drummers teach it (common practice, no source): 7:6 after 5:4, and 13:8 after 3:2, never 12:7."""
    before_it = {
        pair: before(rl.Polyrhythm(*pair))[-1] for pair in ((7, 6), (16, 15), (13, 8), (7, 4), (9, 4))
    }
    assert before_it == {(7, 6): (5, 4), (16, 15): (5, 4), (13, 8): (3, 2), (7, 4): (5, 3), (9, 4): (5, 2)}


@TRIES
@given(pairs)
def test_an_order_is_said_in_strokes_and_beats(p):
    """No levels, trees or nearness: what one hand does, after which pair that does the same."""
    for rung in (*learning_order([p]), *prepare(p)):
        assert not re.search("level|tree|Brocot|Farey| near |convergent", rung.why)
        assert rung.why.endswith(").")
    assert learning_order([(7, 6)])[0].why == (
        "7 against 6: after 5 against 4, since there too one hand fits one extra stroke into the cycle "
        "(hypothesis)."
    )


@TRIES
@given(coprime_pairs)
def test_preparing_pairs_are_smaller_and_hold_the_parents_and_the_convergents(p):
    """All stand above it in the tree; few in all.

    Of the two that add up to it and of sympy's convergents none is missing but those that leave as much over
    as fits, or are no near-equal pair before one.
    """
    found = set(numbers(prepare(p)))
    assert found < set(path(p))
    assert p.pulses not in found
    high, low = p.pulses
    above = set(path(p))
    parents = {(a, b) for a, b in above if (high - a, low - b) in above and abs(a * low - b * high) == 1}
    near = [(c.p, c.q) for c in continued_fraction_convergents(continued_fraction(Fraction(high, low)))][:-1]
    for a, b in (parents | {pair for pair in near if min(pair)}) - found:
        often = min(high // a, low // b)
        assert high - low == 1 != a - b or high >= 2 * often * a or low >= 2 * often * b
    assert len(found) <= len(near) + high.bit_length() + 2


@pytest.mark.parametrize("p", range(3, 25))
def test_what_goes_before_leaves_less_over_than_fits(p):
    """Before a near-equal pair there are only near-equal ones, and 1:1; the published route stays."""
    for q in (q for q in range(1, p) if gcd(p, q) == 1 and (p, q) not in {(3, 1), (3, 2)}):
        for pair in ((p, q), (q, p)):
            found = prepare(pair)
            assert found
            for rung in found:
                small = sorted(rung.polyrhythm.pulses, reverse=True)
                assert p - q > 1 or small[0] - small[1] == (small != [1, 1])
                if "goes into it" in rung.why:
                    often = min(p // small[0], q // small[1])
                    assert p - often * small[0] < often * small[0]
                    assert q - often * small[1] < often * small[1]


def test_three_pulses_are_prepared_two_by_two():
    """3:4:5 by its pairs, easiest first."""
    assert numbers(prepare(rl.Polyrhythm(3, 4, 5))) == [(3, 4), (3, 5), (4, 5)]
    assert numbers(prepare(rl.Polyrhythm(3, 3, 2))) == [(3, 3), (3, 2)]


def test_a_large_pair_is_prepared_at_once():
    """A billion against its neighbour takes halvings, not a walk of a billion steps."""
    rungs = prepare(rl.Polyrhythm(1_000_000_007, 1_000_000_006))
    assert len(rungs) == 30
    assert rungs[-1].level == 1_000_000_006


def test_the_route_is_a_source_of_the_project():
    """Its key is in the table of sources."""
    assert "selfpaced1999" in {row["key"] for row in resources.table("sources.csv")}


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: learning_order(rl.Polyrhythm(7, 4)), "Polyrhythm(7, 4)", "needs a list of pairs"),
        (lambda: learning_order(7), "learning_order(7)", "needs a list of pairs"),
        (lambda: learning_order(["7:4"]), "a pair='7:4'", "is no rhythm: "),
        (lambda: learning_order([rl.Polyrhythm(3, 4, 5)]), "Polyrhythm(3, 4, 5) has 3 pulses", "by pairs"),
        (lambda: level(rl.Polyrhythm(3, 4, 5)), "Polyrhythm(3, 4, 5) has 3 pulses", "by pairs"),
        (lambda: prepare("7:4"), "what='7:4'", "is no rhythm: "),
    ],
)
def test_bad_input_is_refused_with_an_example(call, given, wrong):
    """What was given, what is wrong, and a call that works."""
    assert works(refusal(call, given, wrong), **NAMES)


@pytest.mark.parametrize("home", [0, 1])
def test_a_drift_opens_to_the_beat_that_is_nearest_to_a_quarter_off_and_closes_from_its_mirror(home):
    """Of all beats before midway, but where a landmark stands between two; brute force over neighbours."""
    for n in range(6, 40):
        p = rl.Polyrhythm(n, n - 1)
        quarter, late = (
            _near_quarter(p, home, Fraction(p.ticks * part, 4), closing=part > 1) for part in (1, 3)
        )
        step, every = p.step(home), p.step(1 - home)
        half = range(1, p.ticks // 2 // step + 1)
        off = {beat: abs(Fraction(beat * step + every // 2) // every * every - beat * step) for beat in half}
        best = min(half, key=lambda beat: (abs(off[beat] / Fraction(step) - Fraction(1, 4)), beat))
        if p.ticks % (4 * every) or p.ticks % (4 * step) == 0:
            assert quarter == best + 1, n
            assert late == p.pulses[home] - best + 1, n

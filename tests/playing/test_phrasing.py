"""Large numbers as small groups: every phrase against brute force, every count against closed forms."""

from functools import cache
from itertools import groupby, pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sympy import Poly, Symbol, binomial, fibonacci

import rhythmlab as rl
from rhythmlab.playing.phrasing import COUNTS, Phrase, count_phrases, phrases
from rhythmlab.refusal import Refusal
from tests.refusals import TOO_LONG, refusal, works
from tests.strategies import TRIES

NAMES = {"phrases": phrases, "Phrase": Phrase, "count_phrases": count_phrases}


@cache
def every_way(n, sizes):
    """Return all ordered groups that come to n, by plain recursion."""
    if n == 0:
        return [()]
    return [(size, *rest) for size in sizes if size <= n for rest in every_way(n - size, sizes)]


def changes(groups):
    return sum(a != b for a, b in pairwise(groups))


def by_kinds(groups):
    """Return how all others follow as a key: the smaller, the better."""
    half = len(groups) // 2
    alike = groups[:half] == groups[half:]
    return (
        len(set(groups)),  # fewest kinds
        changes(groups[:half] if alike else groups),  # fewest changes, one half's where both are alike
        groups[-1] != min(groups),  # ending on the shortest
        len(groups),  # fewest groups
        not alike,  # halves alike
        [-size for size in groups],  # longer groups earlier
    )


def rank(groups, sizes):
    """Return the place of a drummer's first choices as a key, read off the groups; None for all others."""
    main = max((size for size in sizes if size <= 4), default=min(sizes))
    if not set(groups) <= set(sizes):
        return None
    found = []
    if set(groups) == {main}:
        found.append((0,))
    half = len(groups) // 2
    if groups[:half] == groups[half:] and (inner := rank(groups[:half], sizes)):
        found.append((1, *inner))
    if len(groups) > 1 and set(groups[:-1]) == {main} != {groups[-1]}:
        found.append((2, abs(groups[-1] - main), -groups[-1]))
    if len(set(groups)) == 1 and groups[0] > 2:
        found.append((3, -groups[0]))
    return min(found, default=None)


def worse(groups, sizes):
    """Return the published order of the module as a key, from its words: the smaller, the better."""
    return rank(groups, sizes) or (4,), by_kinds(groups)


def brute(n, sizes, start=()):
    """Return every phrase, the best first."""
    rest = every_way(n - sum(start), tuple(sorted(set(sizes)))) if n >= sum(start) else []
    return sorted((start + groups for groups in rest), key=lambda groups: worse(groups, sizes))


def as_groups(found):
    return [phrase.groups for phrase in found]


@pytest.mark.parametrize("n", range(2, 21))
def test_the_best_phrases_are_those_of_brute_force(n):
    """In twos to fives every phrase of n up to 20 comes in the order of the module, in twos to fours too."""
    expected = brute(n, (2, 3, 4, 5))
    assert as_groups(phrases(n, most=1000)) == expected[:1000]
    assert as_groups(phrases(n)) == expected[:10]
    assert as_groups(phrases(n, allowed=(2, 3, 4), most=1000)) == brute(n, (2, 3, 4))[:1000]


@pytest.mark.parametrize("n", range(2, 16))
def test_larger_groups_are_those_of_brute_force_too(n):
    """With groups from 2 to 7 allowed it is the same."""
    assert as_groups(phrases(n, allowed=range(2, 8), most=1000)) == brute(n, range(2, 8))[:1000]


@TRIES
@given(
    st.integers(1, 15),
    st.sets(st.integers(1, 6), min_size=1, max_size=4),
    st.lists(st.integers(1, 6), max_size=4).map(tuple),
    st.integers(1, 40),
)
def test_any_groups_and_any_beginning_are_those_of_brute_force(n, sizes, start, most):
    """Whatever is allowed and fixed: the best by brute force, and a number with none is refused."""
    expected = brute(n, sizes, start)
    assert count_phrases(n, sizes, fixed=start) == len(expected)
    if expected:
        assert as_groups(phrases(n, allowed=sizes, fixed=start, most=most)) == expected[:most]
    else:
        refusal(lambda: phrases(n, allowed=sizes, fixed=start), str(n), "cannot be made from groups of")


@TRIES
@given(st.integers(2, 300), st.sampled_from([(2, 3, 4), (2, 3), (3, 4, 5, 7), (2, 5)]))
def test_phrases_of_any_length_come_to_the_number_in_order(n, sizes):
    """Every phrase has n strokes in allowed groups, none is there twice, the better before the worse."""
    if not count_phrases(n, sizes):
        return
    found = as_groups(phrases(n, allowed=sizes))
    assert all(sum(groups) == n and set(groups) <= set(sizes) for groups in found)
    keys = [worse(groups, sizes) for groups in found]
    assert keys == sorted(keys)
    assert len(found) == len(set(found)) == min(10, count_phrases(n, sizes))


@pytest.mark.parametrize("n", range(2, 129))
def test_the_first_phrase_is_the_one_that_a_drummer_says(n):
    """Common practice, no source: all fours, fours with a three or a five last, or twice the odd half."""
    first = phrases(n)[0].groups
    if n in (2, 3, 5):
        assert first == (n,)
    elif n % 4 == 2:
        assert first == phrases(n // 2)[0].groups * 2
    else:
        last = {0: 4, 1: 5, 3: 3}[n % 4]
        assert first == (4,) * ((n - last) // 4) + (last,)


@pytest.mark.parametrize(
    ("n", "first"),
    [
        (13, [(4, 4, 5)]),
        (14, [(4, 3, 4, 3), (4, 4, 4, 2), (2,) * 7]),
        (15, [(4, 4, 4, 3), (5, 5, 5), (3,) * 5]),
        (16, [(4, 4, 4, 4)]),
        (18, [(4, 5, 4, 5), (3,) * 6, (4, 4, 4, 4, 2)]),
        (31, [(4,) * 7 + (3,)]),
    ],
)
def test_the_phrases_that_every_teacher_names(n, first):
    """Common practice, no source: 31 as seven fours and a three, 14 as 4 3 4 3 before seven twos."""
    assert as_groups(phrases(n))[: len(first)] == first


def test_counts_follow_the_closed_recurrence():
    """In twos, threes and fours: a(n) = a(n-2) + a(n-3) + a(n-4), exact also where numbers are long."""
    a = [1, 0, 1, 1]
    for n in range(4, 2001):
        a.append(a[n - 2] + a[n - 3] + a[n - 4])
    assert [count_phrases(n, (2, 3, 4)) for n in range(1, 300)] == a[1:300]
    assert count_phrases(2000, (2, 3, 4)) == a[2000] > 10**300
    assert type(count_phrases(2000)) is int


def test_counts_are_published_sequences():
    """Fibonacci, Padovan's and Narayana's cows numbers, and a sum of two of ours that is the last.

    1 and 2: Fibonacci, OEIS A000045, by sympy.  2 and 3: Padovan, OEIS A000931 (terms from memory).
    1 and 3: Narayana's cows, OEIS A000930 (terms from memory); since 1 - x^2 - x^3 - x^4 is
    (1 + x)(1 - x - x^3), two neighbouring counts in 2, 3 and 4 add up to them.
    """
    assert [count_phrases(n, (1, 2)) for n in range(1, 60)] == [fibonacci(n + 1) for n in range(1, 60)]
    assert [count_phrases(n, (2, 3)) for n in range(2, 13)] == [1, 1, 1, 2, 2, 3, 4, 5, 7, 9, 12]
    cows = [1, 1, 2, 3, 4, 6, 9, 13, 19, 28, 41, 60, 88, 129]
    assert [count_phrases(n, (1, 3)) for n in range(1, 15)] == cows
    assert [sum(count_phrases(m, (2, 3, 4)) for m in (n - 1, n)) for n in range(2, 15)] == cows[1:]


@pytest.mark.parametrize("sizes", [(2, 3, 4), (2, 3, 4, 5, 6, 7), (3, 5), (1,), (4, 7, 16)])
def test_counts_are_those_of_the_generating_function(sizes):
    """The count is the coefficient of x^n in the sum of the powers of the polynomial of sizes, by sympy."""
    x = Symbol("x")
    step, total, power = Poly(sum(x**size for size in sizes), x), Poly(0, x), Poly(1, x)
    for _ in range(40 // min(sizes)):
        power *= step
        total += power
    assert [count_phrases(n, sizes) for n in range(1, 40)] == [
        total.coeff_monomial(x**n) for n in range(1, 40)
    ]


def test_sixty_four_has_15_thousand_million_ways():
    """64 in twos, threes and fours, by sympy's binomials over how many there are of each."""
    ways = sum(
        binomial(a + b + c, a) * binomial(b + c, b)
        for a in range(33)
        for b in range(22)
        for c in [(64 - 2 * a - 3 * b) // 4]
        if 2 * a + 3 * b <= 64 and (64 - 2 * a - 3 * b) % 4 == 0
    )
    assert count_phrases(64, (2, 3, 4)) == ways == 15_308_187_336


@TRIES
@given(st.lists(st.integers(1, 9), min_size=1, max_size=20).map(tuple))
def test_a_phrase_is_heard_and_counted_as_its_groups(groups):
    """Its cycle has a stroke a tick, accents and beats on group starts; counts have a word a stroke."""
    phrase = Phrase(groups)
    cycle = phrase.cycle(limb="hands")
    (lane,) = cycle.lanes
    assert (cycle.ticks, lane.onsets.tolist(), lane.limb) == (
        sum(groups),
        list(range(sum(groups))),
        "hands",
    )
    starts = np.cumsum((0, *groups[:-1])).tolist()
    assert list(lane.accents) == cycle.beats.tolist() == starts == list(phrase.starts)
    for way in COUNTS:
        assert [len(said.split()) for said in phrase.spoken(way)] == list(groups)
    assert [int(said.split()[0]) for said in phrase.spoken("groups")] == list(range(1, len(groups) + 1))


@pytest.mark.parametrize(
    ("way", "groups", "said"),
    [
        ("numbers", (4, 3), ("1 2 3 4", "1 2 3")),
        # Common practice, no source: the number of the group takes the place of its 1.
        ("groups", (4, 4, 5), ("1 2 3 4", "2 2 3 4", "3 2 3 4 5")),
        # American counting, Froseth/Eastman comparison page; two and three left over, and the eighths of
        # 2+2+3: common practice, no source; five in groups: our own choice.
        ("beats", (4, 4, 2, 3, 5), ("1 e & a", "2 e & a", "3 e", "4 e &", "5 e & TA e")),
        ("beats", (2, 2, 3), ("1 &", "2 &", "3 & a")),
        # Eastman counting for 4, 3 and 6, same page; 2 from memory; none for 5; left over as in beats.
        ("eastman", (4, 3, 6, 2, 5), ("1 ti te ta", "2 ti te", "3 ta la ta li ta", "4 ti", "5 e & TA e")),
        ("eastman", (3, 2), ("1 la li", "2 te")),
        ("takadimi", (2, 3), ("ta di", "ta ki da")),
        # Hoffman, Pelto & White 1996, 7-30 (as quoted elsewhere; the order for 5 from memory); none for 7.
        (
            "takadimi",
            (1, 2, 3, 4, 5, 6, 7),
            (
                "ta",
                "ta ka",
                "ta ka di",
                "ta ka di mi",
                "ta ka di mi ti",
                "ta va ki di da ma",
                "1 2 3 4 5 6 7",
            ),
        ),
    ],
)
def test_counts_are_said_in_trade_syllables(way, groups, said):
    """The words of each way of counting, and numbers where it has none."""
    assert Phrase(groups).spoken(way) == said


def test_reasons_say_what_is_true_of_the_phrase():
    """Kinds, changes, halves, ending and number of groups, each in a sentence."""
    assert Phrase((4,) * 7 + (3,)).reasons == (
        "Two kinds of group: fours and threes.",
        "One change: seven fours, then a three.",
        "It ends short, on a three.",
        "Eight groups to count.",
    )
    assert Phrase((4, 3, 4, 3)).reasons[2] == "Both halves are alike: learn 4 3, and play it twice."
    assert Phrase((3, 4)).reasons[2] == "It ends long, on a four."
    assert Phrase((4, 4, 4, 4)).reasons == (
        "One kind of group: four fours.",
        "Both halves are alike: learn 4 4, and play it twice.",
        "Four groups to count.",
    )


@TRIES
@given(st.integers(2, 60))
def test_the_words_for_a_phrase_add_up(n):
    """The runs that `text` names are those of the groups, and the first reason counts the kinds."""
    for phrase in phrases(n, most=5):
        runs = [(size, len(list(row))) for size, row in groupby(phrase.groups)]
        said = phrase.text.split(" as ")[1].replace(" and ", ", ")
        assert said.count(", ") == len(runs) - 1 or len(runs) > 8
        assert phrase.reasons[0].startswith(("", "One", "Two", "Three")[len(set(phrase.groups))])
        assert phrase.halves_alike == (phrase.groups * 2 == phrase.groups[: len(phrase) // 2] * 4)


def test_a_phrase_is_a_value():
    """It compares and hashes by its groups, takes numpy integers, and prints as they are."""
    assert Phrase(np.array([4, 4, 5])) == Phrase([4, 4, 5])
    assert len({Phrase((4, 3)), Phrase([4, 3]), Phrase((3, 4))}) == 2
    assert (str(Phrase((4, 4, 5))), repr(Phrase((4, 3))), len(Phrase((4, 3)))) == ("4 4 5", "Phrase(4 3)", 2)


@pytest.mark.parametrize(
    ("n", "how", "wrong"),
    [
        (5, {"allowed": (2, 4)}, "near it 2, 4, 6, 8 can"),
        (1, {}, "near it 2, 3, 4, 5 can"),
        (3, {"fixed": (4, 3)}, "after 4 3; near it 7, 9, 10, 11 can"),
        (8, {"fixed": (4, 3)}, "after 4 3; near it 7, 9, 10, 11 can"),
        (7, {"allowed": [16]}, "near it 16, 32 can"),
    ],
)
def test_a_number_that_cannot_be_made_is_refused(n, how, wrong):
    """The message names the number, the groups, and numbers near it that can be made; its example works."""
    example = refusal(lambda: phrases(n, **how), f"{n} cannot be made from groups of", wrong)
    assert works(example, **NAMES)
    assert count_phrases(n, **how) == 0


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: phrases(0), "n=0", "not a whole number of at least 1"),
        (lambda: phrases(31.0), "n=31.0", "not a whole number"),
        (lambda: phrases("31"), "n='31'", "not a whole number"),
        (lambda: phrases(True), "n=True", "not a whole number"),
        (lambda: phrases(1001), "n=1001", "more than 1000 strokes"),
        (lambda: phrases(10**5000), TOO_LONG, "more than 1000 strokes"),
        (lambda: count_phrases(10_001), "n=10001", "more than 10000 strokes"),
        (lambda: phrases(31, allowed=()), "allowed=()", "names no size of group"),
        (lambda: phrases(31, allowed=4), "allowed=4", "not a list of groups"),
        (lambda: phrases(31, allowed="234"), "allowed='234'", "not a list of groups"),
        (lambda: phrases(31, allowed=(0, 2)), "a group in allowed=0", "at least 1"),
        (lambda: phrases(31, allowed=(2, -3)), "a group in allowed=-3", "at least 1"),
        (lambda: phrases(31, allowed=(2, 2.5)), "a group in allowed=2.5", "not a whole number"),
        (lambda: phrases(31, allowed=(2, 17)), "17", "longer than 16"),
        (lambda: phrases(31, fixed=(0,)), "a group in fixed=0", "at least 1"),
        (lambda: phrases(31, fixed={0: "4"}.values()), "a group in fixed='4'", "not a whole number"),
        (lambda: phrases(31, most=0), "most=0", "at least 1"),
        (lambda: phrases(31, most=1001), "most=1001", "more than 1000 phrases"),
        (lambda: Phrase([]), "groups=()", "are empty"),
        (lambda: Phrase("445"), "groups='445'", "not a list of groups"),
        (lambda: Phrase([16] * 63), "groups=(16, 16", "come to 1008 strokes"),
        (lambda: Phrase([4]).spoken("loud"), "syllables='loud'", "no way of counting here"),
        (lambda: Phrase([4]).spoken(["beats"]), "syllables=['beats']", "no way of counting here"),
    ],
)
def test_bad_input_is_refused(call, given, wrong):
    """The message gives what was given, says what is wrong with it, and shows a call that works."""
    assert works(refusal(call, given, wrong), **NAMES)


def test_a_phrase_can_be_drawn_and_heard():
    """It is a `Cycle` like any other: its composite is every tick."""
    assert rl.composite(phrases(31)[0].cycle()).intervals.tolist() == [1] * 31


@pytest.mark.parametrize(("n", "most"), [(1000, 101), (101, 1000), (500, 201)])
def test_a_search_too_long_is_refused_before_it_begins(n, most):
    """A hundred thousand strokes in all phrases are sought, one phrase more is not, and the example works."""
    text = refusal(lambda: phrases(n, most=most), f"most={most} phrases of {n}", "more than 100,000")
    assert works(text)
    assert len(phrases(1000, allowed=(3, 4), most=100)) == 100


def test_ways_that_are_counted_can_be_printed():
    """The longest number, with all sizes, has fewer digits than Python prints."""
    assert len(str(count_phrases(10_000, range(1, 17)))) < 4300


@pytest.mark.parametrize(
    ("spoken", "wrong"),
    [
        (("1 2 3",), "3 words, which do not fill 7 strokes"),
        (("1 2 3 4", ""), "not the words of a group"),
        (("1 2 3 4", "a\nb c"), "not the words of a group"),
        (("1 2 3 4", 3), "not the words of a group"),
        (("x" * 201,), "not the words of a group"),
        ("1 2 3 4", "not a list of words"),
        (5, "not a list of words"),
    ],
)
@pytest.mark.parametrize("call", [rl.score, rl.handout])
def test_words_that_do_not_fit_a_phrase_are_refused(call, spoken, wrong):
    """Too few, empty, broken, no text: notes and handout say what is wrong, with a call that works."""
    cycle = rl.stick((4, 3), 90).cycle()
    seven = rl.Cycle(7, [rl.Lane("phrase", range(7), hands="RLRRLRL")], beats=[0, 4])
    assert cycle.ticks % 7 == 0
    with pytest.raises(Refusal, match=wrong) as caught:
        call(seven, 90, spoken=spoken)
    assert "spoken" in str(caught.value)
    with pytest.raises(Refusal, match="is for a phrase"):
        call((7, 4), 72, spoken=("1 2 3 4", "1 2 3"))

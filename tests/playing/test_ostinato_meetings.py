"""Meeting points of two cycles, against a plain search and sympy's Chinese remainder functions."""

from math import gcd, lcm

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sympy.ntheory.modular import crt, solve_congruence

from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.playing import ostinato
from rhythmlab.playing.ostinato import first_meeting, meeting_count, meeting_ticks, meetings, met_between
from rhythmlab.playing.patterns import pattern
from tests.refusals import keywords, refusal, works
from tests.strategies import TRIES
from tests.wrong import in_time


@st.composite
def sides(draw, most=200):
    """Draw onsets in a cycle."""
    ticks = draw(st.integers(1, most))
    return sorted(draw(st.sets(st.integers(0, ticks - 1), max_size=40))), ticks


def searched(first, length, second, other, low=0, high=None):
    high = lcm(length, other) if high is None else high
    return [t for t in range(low, high) if t % length in first and t % other in second]


@TRIES
@given(sides(), sides())
def test_meetings_are_those_of_a_plain_search(one, two):
    """For any onsets in any lengths, every tick where both have a stroke, and no other, in order."""
    (x, a), (y, b) = one, two
    found = searched(set(x), a, set(y), b)
    assert meeting_ticks(x, a, y, b).tolist() == found
    assert meeting_count(x, a, y, b) == len(found)
    assert first_meeting(x, a, y, b) == min(found, default=None)


@TRIES
@given(sides(60), sides(60), st.integers(0, 5000), st.integers(0, 3000))
def test_any_window_holds_its_meetings(one, two, low, span):
    """From any tick on, rounds later too, the window has what a search finds there."""
    (x, a), (y, b) = one, two
    assert met_between(x, a, y, b, low, low + span).tolist() == searched(
        set(x), a, set(y), b, low, low + span
    )
    home = lcm(a, b)
    start, stop = sorted((low % (home + 1), span % (home + 1)))
    assert meeting_ticks(x, a, y, b, start, stop).tolist() == searched(set(x), a, set(y), b, start, stop)


@TRIES
@given(st.integers(1, 10**7), st.integers(1, 10**7), st.data())
def test_two_strokes_meet_where_sympy_solves_the_congruence(a, b, data):
    """One stroke each in long cycles: sympy's solve_congruence (any lengths) and crt (no common factor)."""
    x, y = data.draw(st.integers(0, a - 1)), data.draw(st.integers(0, b - 1))
    solved = solve_congruence((x, a), (y, b))
    expected = [] if solved is None else [int(solved[0])]
    assert meeting_ticks([x], a, [y], b).tolist() == expected
    assert first_meeting([x], a, [y], b) == (expected[0] if expected else None)
    if gcd(a, b) == 1:
        assert expected == [int(crt([a, b], [x, y])[0])]


@pytest.mark.parametrize(
    ("a", "b"), [(1000, 999), (10**6, 10**6 - 2), (2**33, 2**29 + 1), (3 * 2**31 + 1, 2**31 + 3)]
)
def test_every_pair_of_strokes_meets_where_sympy_says(a, b):
    """Several strokes in cycles of a thousand to billions of ticks, each pair by solve_congruence."""
    rng = np.random.default_rng(5)
    x, y = (sorted(set(rng.integers(0, n, 7).tolist())) for n in (a, b))
    solved = [solve_congruence((i, a), (j, b)) for i in x for j in y]
    expected = sorted(int(pair[0]) for pair in solved if pair is not None)
    assert expected
    if lcm(a, b) <= 2**62:
        assert meeting_ticks(x, a, y, b).tolist() == expected
    assert first_meeting(x, a, y, b) == expected[0]
    low = expected[len(expected) // 2]
    if low < 2**62 - 10:
        assert low in meeting_ticks(x, a, y, b, low, low + 10)


def test_the_public_way_takes_cycles_of_several_lanes():
    """All lanes of a cycle count together; the answer cannot be changed."""
    feet = Cycle(6, [Lane("bass drum", [0]), Lane("hi-hat", [2, 4])], beats=[0])
    found = meetings(feet, pattern("x..x"))
    assert found.tolist() == [0, 4, 8]
    assert found.dtype == np.int64
    assert not found.flags.writeable
    assert meetings(feet, pattern("x..x"), start=1, stop=8).tolist() == [4]
    assert meetings(Cycle(3, [], beats=[]), feet).tolist() == []


def test_lengths_beyond_reason_are_told_with_the_number_and_a_window():
    """Past 2**62 ticks the message has the number, and the window that it names works."""
    a, b = (Cycle(2**61 + n, [Lane("x", [0, 5])], beats=[0]) for n in (1, 2))
    window = refusal(lambda: meetings(a, b), f"{lcm(a.ticks, b.ticks):,}", "more than 2**62")
    numbers = eval(f"dict({window})")
    assert meetings(a, b, **numbers).tolist() == [0, 5]
    refusal(lambda: meetings(pattern("x..x"), "x.x"), "second='x.x'", "is no rhythm: ")


@TRIES
@given(sides(), sides(), st.integers(1, 50))
def test_the_first_meeting_is_the_same_however_few_are_looked_at_at_once(one, two, some):
    """Looked at in small parts or at once, it is the least tick of a plain search."""
    (x, a), (y, b) = one, two
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ostinato, "_AT_ONCE", some)
        patch.setattr(ostinato, "_SOON", 0)
        assert first_meeting(x, a, y, b) == min(searched(set(x), a, set(y), b), default=None)


def test_meetings_beyond_2_to_the_62_are_refused_with_a_window():
    """Two strokes that meet only there are not made raw; a window before it is empty."""
    far, near = Cycle(2**62, [Lane("a", [0, 2**61 + 1])], beats=[]), pattern("x.x.x.")
    example = refusal(lambda: meetings(far, near), "4,611,686,018,427,387,904 and 6 ticks", "more than 2**62")
    assert meetings(far, near, **keywords(example)).tolist() == [0]


def test_cycles_of_more_strokes_than_are_looked_through_are_refused():
    """A million pass, quickly; one more does not, in either place."""
    many, few = Cycle(2**21, [Lane("a", np.arange(10**6))], beats=[]), pattern("x..x")
    with in_time(10):
        assert len(meetings(many, few)) == 500_000
    more = Cycle(2**21, [Lane("a", np.arange(10**6)), Lane("b", [0])], beats=[])
    for pair in ((more, few), (few, more)):
        assert works(
            refusal(lambda pair=pair: meetings(*pair), "1,000,001 strokes", "more than the 1,000,000")
        ).tolist()


def test_many_meetings_are_said_before_they_are_held(capfd):
    """Over 200 MB are said, with what takes less."""
    one, two = pattern("x" * 5001), pattern("x" * 5000)
    assert len(meetings(one, two)) == 5001 * 5000
    assert "Meetings of 25,005,000 strokes: about 2" in capfd.readouterr().err
    assert len(meetings(one, two, stop=10**6)) == 10**6
    assert capfd.readouterr().err == ""

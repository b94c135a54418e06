"""What own limits do to an advice: each is named once, and what is said of it is what it does."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.panels.pages_05_to_07 import choose_way
from rhythmlab.playing.approach import approach
from rhythmlab.playing.limits import limits
from rhythmlab.playing.own_limits import bound_of, own_limits_told
from tests.strategies import TRIES

#: Those that a way or a road is held against.
HELD = ("flam", "part_heard", "part_uneven", "bar_longest", "ones_longest", "hand_sustained", "cycle_longest")


def told(pair, bpm, own):
    """Return what is said, by key."""
    rows = limits(**own)

    def search(other):
        return approach(pair, bpm, limits=other)

    said = own_limits_told(search(rows), rows, search)
    assert len(said) == len(own)
    return {key: next(line for line in said if line.startswith(f"Your {key}=")) for key in own}


def advised(pair, bpm, own):
    """Return all that is advised under own limits."""
    found = approach(pair, bpm, limits=limits(**own))
    return (found.in_the_room(), found.would_change, [str(step) for step in found.recommended.steps])


@TRIES
@given(
    st.sampled_from([(3, 2), (5, 4), (7, 4), (13, 8), (16, 15), (4, 9), (12, 8), (3, 4, 5)]),
    st.integers(30, 240),
    st.dictionaries(st.sampled_from(HELD), st.fractions(Fraction(1, 2), 2, max_denominator=8), max_size=3),
)
def test_a_limit_is_said_to_change_nothing_just_where_the_advice_is_the_same_without_it(pair, bpm, shares):
    """One line for each; and where it changes nothing, what is said to bound the advice is another limit."""
    own = {key: limits()[key].value * share for key, share in shares.items()}
    for key, line in told(pair, bpm, own).items():
        without = {other: value for other, value in own.items() if other != key}
        same = advised(pair, bpm, own) == advised(pair, bpm, without)
        assert ("changes nothing in this advice" in line) == same, line
        assert ("decides" in line) != same
        why = bound_of(approach(pair, bpm, limits=limits(**own)))
        if same and why.limit is not None and why.limit.key != key:
            assert line.endswith(f"What bounds it: {why.describe(of=False)}")
        assert "\n" not in line


def test_page_05_says_what_own_limits_do_and_nothing_where_there_are_none():
    """In the words under the picture, and again after a change of tempo."""
    panel = choose_way(7, 4, part_uneven=9, ones_longest=1500)
    said = panel.stage.pictures[1]["said"]
    assert any(line.startswith("Your part_uneven=9 changes nothing") for line in said)
    assert any(
        line.startswith("Your ones_longest=1500 decides this advice. Without it, at 1800,") for line in said
    )
    assert not [line for line in choose_way(7, 4).stage.pictures[1]["said"] if line.startswith("Your ")]


@pytest.mark.parametrize("pair", [(7, 4), (13, 8), (16, 15), (3, 2)])
def test_what_bounds_an_advice_has_its_fastest_tempo(pair):
    """The cause that is named is the one whose ceiling the way or the road has."""
    found = rl.approach(pair, 72)
    assert bound_of(found).ceiling == found.recommended.ceiling

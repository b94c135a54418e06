"""The nearest whole number, by the rounding of the decimal module and by distance."""

from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from rhythmlab.core.tempo import nearest

overs, unders = st.integers(-(10**30), 10**30), st.integers(1, 10**12)


@given(over=overs, under=unders)
def test_nothing_is_nearer_and_halfway_goes_up(over, under):
    """Half a step at most from the exact place, and never exactly half a step below it."""
    exact = Fraction(over, under)
    assert -Fraction(1, 2) < nearest(over, under) - exact <= Fraction(1, 2)


@given(over=st.integers(0, 10**15))
def test_halves_are_rounded_as_the_decimal_module_rounds_them(over):
    """Of places that are not negative, half up is one rule in both."""
    with localcontext() as context:
        context.prec = 60
        assert nearest(over, 2) == int((Decimal(over) / 2).quantize(Decimal(1), ROUND_HALF_UP))


@given(overs=st.lists(st.integers(-(2**40), 2**40), min_size=1, max_size=20), under=st.integers(1, 2**20))
def test_an_array_is_rounded_as_its_numbers_are(overs, under):
    """The places of a whole row, in 64 bits or in whole numbers of any size, are those of each stroke."""
    alone = [nearest(over, under) for over in overs]
    assert nearest(np.array(overs, dtype=np.int64), under).tolist() == alone
    assert nearest(np.array(overs, dtype=object) * 10**20, under * 10**20).tolist() == alone

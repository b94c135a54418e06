"""What the property tests draw: pulses, pairs, windows, cycles, tempos."""

from fractions import Fraction
from math import gcd

from hypothesis import settings
from hypothesis import strategies as st

import rhythmlab as rl
from tests.profile import tries

#: How hard a law is tried; no deadline, since the machine may be busy.
TRIES = settings(max_examples=tries(100), deadline=None)

#: One pulse, small enough to be checked stroke by stroke.
pulses = st.integers(1, 60)
#: Two pulses, common factors and equal numbers among them.
pairs = st.builds(rl.Polyrhythm, pulses, pulses)
#: Two pulses p > q >= 2 without a common factor.
coprime_pairs = (
    st.tuples(st.integers(2, 60), st.integers(2, 60))
    .filter(lambda pair: pair[0] > pair[1] and gcd(*pair) == 1)
    .map(lambda pair: rl.Polyrhythm(*pair))
)
#: Two to four pulses.
several = st.lists(st.integers(1, 16), min_size=2, max_size=4).map(lambda numbers: rl.Polyrhythm(*numbers))
#: Beats a minute as a reader may give them: whole, with a long tail of decimals, or as a fraction.
bpms = st.one_of(
    st.integers(20, 400),
    st.floats(20, 400),
    st.decimals(20, 400, places=6),
    st.fractions(20, 400, max_denominator=10**20),
    st.just(Fraction(4, 3)),
)
#: The same as a player of the beat may give them: no slower than one a minute.
playable_bpms = bpms.filter(lambda bpm: bpm >= 1)


@st.composite
def windows(draw: st.DrawFn, rhythms: st.SearchStrategy) -> tuple:
    """Draw something with ticks, and a window inside its cycle."""
    what = draw(rhythms)
    start = draw(st.integers(0, what.ticks))
    return what, start, draw(st.integers(start, what.ticks))


@st.composite
def cycles(draw: st.DrawFn) -> rl.Cycle:
    """Draw a cycle of uneven lanes, empty ones among them, with grouped beats."""
    ticks = draw(st.integers(1, 40))
    rows = st.sets(st.integers(0, ticks - 1)).map(sorted)
    lanes = [rl.Lane(f"lane {i}", row) for i, row in enumerate(draw(st.lists(rows, max_size=4)))]
    return rl.Cycle(ticks, lanes, beats=draw(rows))

"""A fill over dotted beats is counted as it is over plain ones: fives and sevens of a beat."""

from math import gcd

import pytest

import rhythmlab as rl
from rhythmlab.export.lesson import of_bars
from rhythmlab.playing.limits import limits
from tests import brute
from tests.profile import some

#: Pulses over the dotted beats of a bar that cut them into five parts or more, never into their eighths.
FILLS = [(p, q) for q in (2, 3, 4) for p in (5, 7, 8, 10, 11, 13, 14, 16) if p // gcd(p, q) > 4]


@pytest.mark.parametrize(("pulse", "beats"), some(FILLS, 4, 0, [(5, 2), (5, 4), (7, 3)]))
def test_a_fill_over_dotted_beats_is_counted_in_its_own_parts(pulse, beats):
    """Five over a dotted quarter is 1 e & TA e in picture, notes, their key, and handout; never fifteen."""
    fill, parts = rl.playing.resolve((pulse, beats), f"{3 * beats}/8"), pulse // gcd(pulse, beats)
    assert fill.enter == 3 * fill.metre.ticks  # on 1 of the last of four bars
    for own in ((), (tuple(reversed(brute.groups(parts))),)):
        said = ", ".join(brute.said(beats, pulse, next(iter(own), ())))
        assert f"the fill falls on bar 4: {said}; it lands" in rl.pictures.strip(fill, groups=own).alt
        notes = rl.score(fill, 60, groups=own)
        assert f"bar 4: {said}." in notes.alt
        sizes = own[0] if own else brute.groups(parts)
        opens = ["1", *(opener.upper() for opener in brute.OPENERS)]
        words = [f"{opens[i]} {' '.join('e&a'[: size - 1])}".strip() for i, size in enumerate(sizes)]
        assert (
            f"bar 4: {said} (say {' '.join(words)})"
            in dict(of_bars(fill, fill.metre.tempo(60), limits(), own).counts)["Fill"]
        )
        assert f"A beat in {parts} parts: say {' '.join(words)}" in notes.key

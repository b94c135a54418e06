"""Kinds of causes: each has its words wherever one is said."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.practice.feedback import _TakeSentences
from rhythmlab.practice.first_takes import cause_said
from rhythmlab.practice.history import wrong
from rhythmlab.practice.measure import measure
from rhythmlab.practice.moved import (
    KINDS,
    MOVES_ALL,
    SURELY_OWN,
    Cause,
    Look,
    _followed,
    _followed_on,
    rows_of,
)
from tests.practice.players import PAIRS
from tests.practice.simulate import pair, played
from tests.strategies import TRIES

#: Kinds without words, on purpose: page 00 says how many strokes were in place where nothing is sure; the
#: journal says only what makes missed strokes and spread say nothing, and a take that was spoiled is none.
UNSAID = {
    "feedback": set(),
    "first_takes": {"unsure"},
    "history": {
        *("spoiled", "doubled", "began", "ended", "unmeasured", "tempo", "rushed"),
        *("missing", "added", "hand", "looser", "place", "unsure", "stretch"),
    },
}


def said(where: str, kind: str) -> str:
    """Return what is said of a kind of cause; nothing where there are no words for it."""
    take = played(pair(4, 3, 2), np.random.default_rng(1), spread_ms=4)
    cause = Cause(kind, 0, 1, us=30_000, then_us=60_000, ticks=3, cycle=2, tick=3, lanes=(1, 0))
    cause = replace(cause, count=6, pulses=(3, 2))
    try:
        if where == "feedback":
            return str(_TakeSentences(take, measure(take), 1, rl.limits()).cause(cause))
        return cause_said(take, cause) if where == "first_takes" else wrong({"cause": kind})
    except KeyError:
        return ""


@pytest.mark.parametrize("where", UNSAID)
def test_every_kind_has_its_words_or_none_on_purpose(where):
    """After a take, on page 00 and in the journal; what is listed as unsaid is a kind, and is not said."""
    assert {kind for kind in KINDS if not said(where, kind)} == UNSAID[where]


def test_what_moves_all_is_told_before_the_rest():
    """In one order, in which no kind stands twice."""
    assert KINDS[: len(MOVES_ALL)] == MOVES_ALL
    assert len(set(KINDS)) == len(KINDS)


def look_at(numbers, seed, spread_ms, extra=5, slower=0.0):
    """Return a take of four cycles, some strokes left out and some too many, as it is looked at."""
    take = played(pair(*numbers, 4), np.random.default_rng(seed), spread_ms=spread_ms, miss=0.1, extra=extra)
    take = replace(take, tap_times=take.tap_times * (1 + slower))
    return Look(take, rows_of(take), float(take.turn))


@TRIES
@given(st.sampled_from(PAIRS), st.integers(0, 99), st.integers(0, 60), st.floats(-1, 1))
def test_all_lanes_are_looked_at_as_each_alone(numbers, seed, spread, shift):
    """How far each tap is from the nearest stroke of its lane, which goes on before and after the take."""
    look = look_at(numbers, seed, spread)
    off, every = look.offs(np.array([0.0, shift])), look.together
    for row, seconds, stroke in zip(
        look.rows, every.split(off.seconds), every.split(off.stroke), strict=True
    ):
        taps, n = row.taps - np.array([[0.0], [shift]]), len(row.onsets)
        meant = stroke // n * look.turn + row.onsets[stroke % n]
        assert taps - meant == pytest.approx(seconds, abs=1e-9)
        for beside in (-1, 1):
            other = (stroke + beside) // n * look.turn + row.onsets[(stroke + beside) % n]
            assert (np.abs(seconds) <= np.abs(taps - other) + 1e-9).all()


@TRIES
@given(st.sampled_from(PAIRS), st.integers(0, 99), st.integers(0, 20), st.floats(-0.004, 0.004))
def test_a_tempo_that_fits_at_once_is_the_one_that_is_followed_to(numbers, seed, spread, slower):
    """Where every tap is near it from the beginning to the end, further and further leads to the same."""
    look = look_at(numbers, seed, spread, 0, slower)
    at_once, in_steps = _followed(look, 0.0, 0.0, look.end), _followed_on(look)
    if at_once is not None and at_once.off < SURELY_OWN * min(row.window for row in look.rows):
        assert in_steps is not None
        assert (at_once.slower, at_once.bend) == pytest.approx((in_steps.slower, in_steps.bend), abs=1e-9)

"""Kinds of causes: each has its words wherever one is said."""

from dataclasses import replace

import numpy as np
import pytest

import rhythmlab as rl
from rhythmlab.practice.feedback import _TakeSentences
from rhythmlab.practice.first_takes import cause_said
from rhythmlab.practice.history import wrong
from rhythmlab.practice.measure import measure
from rhythmlab.practice.moved import KINDS, MOVES_ALL, Cause
from tests.practice.simulate import pair, played

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

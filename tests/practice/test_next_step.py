"""What to do next as a value: a part of the cycle that lands, a tempo, one lane alone."""

import re
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.practice.causes import causes
from rhythmlab.practice.feedback import feedback
from rhythmlab.practice.first_takes import first_feedback
from rhythmlab.practice.measure import measure
from rhythmlab.practice.next_step import KINDS, Next, at_share, part_round
from tests.practice.players import PLANTED, Case, take_of
from tests.practice.simulate import pair, played
from tests.profile import some, tries

PULSES = st.tuples(st.integers(2, 16), st.integers(2, 16))


@settings(max_examples=tries(200), deadline=None)
@given(pulses=PULSES, home=st.integers(0, 1), at=st.floats(0, 0.999), before=st.integers(0, 2))
def test_a_part_holds_its_tick_begins_and_ends_on_beats_and_is_never_all(pulses, home, at, before):
    """Of any pair, either home: the tick is played or landed on, and the seam is never cut."""
    cycle = rl.Polyrhythm(*pulses).cycle(home)
    tick = int(at * cycle.ticks)
    part = part_round(cycle, tick, before)
    beats = [*cycle.beats.tolist(), cycle.ticks]
    if part is None:
        assert len(beats) <= before + 2 or len(beats) == 3
        return
    start, stop = part
    assert start in beats
    assert stop in beats
    assert start <= tick < stop or (tick == 0 and stop == cycle.ticks)
    assert 0 < stop - start < cycle.ticks
    assert beats.index(stop) - beats.index(start) <= before + 1


@settings(max_examples=tries(100), deadline=None)
@given(bpm=st.fractions(1, 1000, max_denominator=7), share=st.fractions(Fraction(1, 4), 4, max_denominator=9))
def test_a_share_of_a_tempo_can_be_set(bpm, share):
    """In whole bpm, from 1 to 1,000, of the same pulse."""
    tempo = at_share(rl.Tempo(bpm, pulse=1), share)
    assert tempo.pulse == 1
    assert 1 <= tempo.bpm <= 1000
    assert tempo.bpm.denominator == 1


def test_the_browser_gets_numbers_and_the_seconds_of_a_cycle():
    """What a button sets is exact: the tempo as text, the window in ticks."""
    cycle = rl.Polyrhythm(7, 4).cycle()
    row = Next("part", 7, 21, rl.Tempo(54, pulse=1), (0, 1), 0, "Play").as_row(cycle)
    assert (row["start"], row["stop"], row["bpm"], row["a_minute"], row["pulse"]) == (7, 21, "54", 54.0, 1)
    assert row["cycle_s"] == float(Fraction(240, 54))
    assert "bpm" not in Next("again", 0, 28, None, (0, 1), 4, "Again").as_row(cycle)


@pytest.mark.parametrize("kind", [*PLANTED, "clean"])
def test_every_finding_has_one_step_that_its_button_says(kind):
    """A kind that there is, a window of the cycle, a tempo that is said in the words and on the button."""
    for size in PLANTED.get(kind, (0,)):
        for numbers in some([(3, 2), (4, 3), (7, 4)], 1, ("next", kind, size)):
            take = take_of(Case(kind, size, numbers, 8, 60), np.random.default_rng(3))
            told = feedback(take)
            then = told.next
            assert then.kind in KINDS
            assert take.start <= then.start < then.stop <= take.stop
            assert told.do.endswith(".")
            if then.tempo is not None:
                assert f"{then.tempo.bpm}" in then.button
                assert then.tempo.pulse == take.tempo.pulse
            if then.kind == "part":
                assert "land on" in told.do
                assert "rest out the cycle" in told.do
            assert told.found[0].isupper() or told.found[0].isdigit()
            first = first_feedback(take, measure(take))
            assert first.next.tempo is None
            assert first.next.kind not in ("part", "whole")


def test_a_stroke_that_was_left_out_is_told_before_any_evenness():
    """One of 44 is told with its place and cycle, and nothing is praised beside it."""
    told = feedback(played(pair(7, 4, 4), np.random.default_rng(1), spread_ms=4, missing=[(1, 6)]))
    assert told.found == "The left hand, the 4, left out beat 3 of cycle 2, 1 of 44 strokes in all."
    assert (told.next.kind, told.next.start, told.next.stop) == ("part", 7, 21)
    assert not any("even" in sentence or "spread" in sentence for sentence in (*told, *told.more))


@pytest.mark.parametrize("kind", sorted(PLANTED))
def test_numbers_and_sources_hold_the_finding_and_whose_figure_it_is_told_by(kind):
    """Whatever was wrong: the finding and a source, or that there is none, before any note."""
    case = Case(kind, PLANTED[kind][-1], (7, 4), 8, 60, cycles=8)
    told = feedback(take_of(case, np.random.default_rng(1)))
    number = re.compile(r"\d+(?:\.\d+)?")
    assert {*number.findall(told.found)} <= {*number.findall(told.more[0])}
    assert re.search(r"no source\.$|\(.* \d{4}\)", told.more[0]), told.more
    assert not any("no source" in sentence for sentence in told)


def test_numbers_and_sources_stand_apart_from_the_finding():
    """Of an even take the finding has no figure of a spread and no source; both are in what is more."""
    told = feedback(played(pair(4, 3, 24, bpm=100), np.random.default_rng(2), spread_ms=4))
    assert not causes(played(pair(4, 3, 24, bpm=100), np.random.default_rng(2), spread_ms=4))
    assert "Repp" not in told.found + told.do
    assert " ms" not in told.found + told.do
    assert "Repp 2005" in told.more[0]
    assert told.next.kind == "whole"
    assert told.next.tempo == rl.Tempo(104, pulse=1)

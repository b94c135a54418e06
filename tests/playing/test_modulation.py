"""The same strokes in other words: no stroke moves, and the published modulation both ways."""

from fractions import Fraction
from itertools import pairwise
from math import gcd, lcm

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.playing.modulation import modulation, other_words
from tests.refusals import refusal, works
from tests.strategies import TRIES, playable_bpms, several


def test_the_published_modulation_both_ways():
    """84 becomes 126 by the half-note triplet, three to the old bar and two to the new; 126 is 84 again."""
    # DeLone et al. (eds) 1975, Aspects of Twentieth-Century Music, chapter 3 (as quoted elsewhere).
    there = modulation(84, old=3, new=2)
    assert (there.new_bpm, there.back().new_bpm) == (126, 84)
    assert "a half-note triplet of the old bar, which becomes a half note of the new one" in there.text
    assert "84 bpm becomes 126 (84 × 3/2)" in there.text
    assert "a half note of the old bar, which becomes a half-note triplet of the new one" in there.back().text
    assert "126 bpm becomes 84 (126 × 2/3)" in there.back().text
    # The same as a polyrhythm: home the 2 at 84, the 3 becomes the beat.
    assert other_words(rl.Polyrhythm(3, 2), 84)[2].tempo.bpm == 126
    assert other_words(rl.Polyrhythm(3, 2), 126, home=0)[2].tempo.bpm == 84


@TRIES
@given(playable_bpms, st.integers(1, 30), st.integers(1, 30), st.integers(1, 12))
def test_the_pivot_keeps_its_length_and_the_tempo_follows(bpm, old, new, beats):
    """Pivots are even through both bars, each bar has its beats even, and seconds say the new tempo."""
    made = modulation(bpm, old, new, beats=beats)
    pivots = made.lanes[1].onsets.tolist()
    step = made.ticks // (old + new)
    assert pivots == list(range(0, made.ticks, step))
    assert made.bars.tolist() == [0, old * step]
    tick = made.tempo.tick_seconds(made)
    marks = [*made.beats.tolist(), made.ticks]
    lengths = [(b - a) * tick for a, b in pairwise(marks)]
    assert lengths == [60 / made.old_bpm] * beats + [60 / made.new_bpm] * beats
    assert made.back().new_bpm == made.old_bpm


@TRIES
@given(several, playable_bpms, st.data())
def test_no_stroke_moves(p, bpm, data):
    """Every way has the lanes of the polyrhythm, as often as its new bars need, at the same speed."""
    home = data.draw(st.integers(0, len(p.pulses) - 1))
    cycle = p.cycle(home)
    seconds = rl.Tempo(bpm, pulse=home).tick_seconds(p)
    ways = other_words(p, bpm, home=home)
    assert [way.kind for way in ways] == [
        "as written",
        *["superimposed metre", "metric modulation"] * (len(p.pulses) - 1),
    ]
    for way in ways:
        rounds, left = divmod(way.ticks, p.ticks)
        assert left == 0
        for lane, before in zip(way.lanes, cycle.lanes, strict=True):
            assert lane.onsets.tolist() == [
                n * p.ticks + t for n in range(rounds) for t in before.onsets.tolist()
            ]
        assert way.tempo.tick_seconds(way) == seconds


@TRIES
@given(several)
def test_new_bars_have_as_many_beats_as_the_old_and_come_home(p):
    """After a modulation the beats are the pivots, in bars of home's number, over the shortest whole time."""
    q = p.pulses[-1]
    for n, way in zip(p.pulses, other_words(p)[2::2], strict=False):
        step = p.ticks // n
        assert way.ticks == lcm(p.ticks, q * step)
        assert way.beats.tolist() == list(range(0, way.ticks, step))
        assert way.bars.tolist() == list(range(0, way.ticks, q * step))


@pytest.mark.parametrize(
    ("pair", "groups", "note"),
    [
        ((4, 3), "3+3+3+3 over 4+4+4", "sixteenths"),
        ((3, 2), "2+2+2 over 3+3", "eighth-note triplets"),
        ((3, 4), "4+4+4 over 3+3+3+3", "eighth-note triplets"),
        ((7, 4), "4+4+4+4+4+4+4 over 7+7+7+7", "sixteenth-note septuplets"),
        ((6, 4), "2+2+2+2+2+2 over 3+3+3+3", "eighth-note triplets"),
    ],
)
def test_a_metre_laid_over_the_bar(pair, groups, note):
    """Groups over groups of the parts that both pulses fall on, each summing to the same bar."""
    said = other_words(rl.Polyrhythm(*pair))[1].text
    assert f"groups these as {groups}." in said
    assert f"({note}, if the beat is a quarter)" in said
    upper, lower = (sum(map(int, row.split("+"))) for row in groups.split(" over "))
    assert upper == lower == pair[0] * pair[1] // gcd(*pair)


def test_without_a_tempo_nothing_is_said_of_one():
    """No bpm, no number of it; a pivot without a note's name has none said."""
    ways = other_words(rl.Polyrhythm(11, 4))
    assert all(way.tempo is None and "bpm" not in way.text for way in ways)
    assert "keeps its length; there were 11 in the old bar and 4 make the new one." in ways[2].text
    assert repr(ways[1]).startswith("Superimposed metre: the beats stay in 11 parts each")


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: modulation(0, 3, 2), "bpm=0", "above 0"),
        (lambda: modulation(1001, 3, 2), "bpm=1001", "more than 1,000"),
        (lambda: modulation(84, 0, 2), "old=0", "at least 1"),
        (lambda: modulation(84, 3, -1), "new=-1", "at least 1"),
        (lambda: modulation(84, 3, 2, beats=0), "beats=0", "at least 1"),
        (lambda: modulation(84, 3000, 2), "(3000, 2, 4)", "more than 1000"),
    ],
)
def test_a_bad_modulation_is_refused(call, given, wrong):
    """The message names the number, and its example is the published change."""
    assert works(refusal(call, given, wrong), modulation=modulation).new_bpm == Fraction(126)


def test_bad_other_words_are_refused():
    """It takes a polyrhythm, one of its pulses as home, and a tempo above zero."""
    p = rl.Polyrhythm(4, 3)
    names = {"other_words": other_words}
    assert works(refusal(lambda: other_words("4:3"), "what='4:3'", "is no rhythm: "), **names)
    refusal(lambda: other_words(p, home=2), "home=2", "there are 2 pulses", IndexError)
    assert works(refusal(lambda: other_words(p, -1), "tempo=-1", "above 0"), **names)
    refusal(lambda: other_words(rl.Polyrhythm(10**9 + 7, 10**9 + 6)), "strokes are too many", "window")


def test_wordings_too_long_to_lay_out_are_refused_before_they_are_made():
    """All wordings together, with a window of the line that works."""
    example = refusal(
        lambda: other_words(rl.Polyrhythm(999, 1000)), "strokes are too many", "the most is 2,000,000"
    )
    assert len(works(example)) > 0
    assert len(other_words(rl.Polyrhythm(500, 499))) == 3

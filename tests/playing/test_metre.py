"""Bars of equal ticks with a grouping, against another library and by laws."""

from fractions import Fraction
from itertools import accumulate

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from music21.meter import TimeSignature

import rhythmlab as rl
from rhythmlab.playing.metre import Metre, metre, note_name
from rhythmlab.text import counts
from tests.refusals import refusal, works
from tests.strategies import TRIES

groupings = st.lists(st.integers(1, 7), min_size=1, max_size=8)
NAMES = {"metre": metre, "Metre": Metre}

WRITTEN = [
    *(
        [
            "2/4",
            "3/4",
            "4/4",
            "5/4",
            "6/4",
            "7/4",
            "2/2",
            "3/2",
            "4/2",
            "3/8",
            "4/8",
            "5/8",
            "6/8",
            "7/8",
            "8/8",
            "9/8",
            "10/8",
            "11/8",
            "12/8",
            "13/8",
            "15/8",
        ]
    ),
    *(
        [
            "3/16",
            "5/16",
            "6/16",
            "7/16",
            "9/16",
            "11/16",
            "12/16",
            "2+2+3/8",
            "4+4+3/16",
            "3+2+2/8",
            "3+3+2/8",
            "2+3/4",
        ]
    ),
]


@pytest.mark.parametrize("written", WRITTEN)
def test_beats_are_where_music21_has_them(written):
    """Bar length and first places of the beats, in quarters, as music21's TimeSignature groups them."""
    theirs = TimeSignature(written)
    lengths = [Fraction(beat.duration.quarterLength) for beat in theirs.beatSequence]
    ours = metre(written)
    quarter = Fraction(ours.unit * ours.parts, 4)  # ticks to a quarter
    assert ours.ticks / quarter == Fraction(theirs.barDuration.quarterLength)
    assert [tick / quarter for tick in ours.beats.tolist()] == [0, *accumulate(lengths[:-1])]


def test_the_two_metres_of_the_trade_with_their_own_grouping():
    """Seven eighths as 2+2+3 and thirteen sixteenths as 4+4+5: a tick is the written note."""
    # Common practice, no source.
    seven, thirteen = metre("7/8", groups=(2, 2, 3)), metre("13/16", groups=(4, 4, 5))
    assert (seven.ticks, seven.beats.tolist(), str(seven)) == (7, [0, 2, 4], "7/8 as 2+2+3")
    assert (thirteen.ticks, thirteen.beats.tolist(), thirteen.tick) == (13, [0, 4, 8], "sixteenth")
    assert seven == metre("2+2+3/8") == metre(seven)
    assert [seven.describe(tick) for tick in range(7)] == [
        "1",
        "& of 1",
        "2",
        "& of 2",
        "3",
        "& of 3",
        "a of 3",
    ]
    assert [metre("4/4").describe(tick) for tick in (0, 1, 6, 15)] == ["1", "e of 1", "& of 2", "a of 4"]


@TRIES
@given(groupings, st.sampled_from([1, 2, 4, 8, 16, 32]), st.integers(1, 9), st.integers(1, 5))
def test_beats_are_group_starts_in_every_bar(groups, unit, parts, bars):
    """Beats are the running sums of the groups, bars repeat them, and a cycle holds both."""
    bar = Metre(sum(groups), unit, groups, parts)
    starts = [sum(groups[:i]) * parts for i in range(len(groups))]
    assert bar.beats.tolist() == starts
    made = bar.cycle(bars)
    assert made.ticks == bars * bar.ticks == bars * sum(groups) * parts
    assert made.beats.tolist() == [n * bar.ticks + start for n in range(bars) for start in starts]
    assert made.bars.tolist() == [n * bar.ticks for n in range(bars)]


@TRIES
@given(groupings, st.integers(1, 9), st.integers(0, 300))
def test_a_place_is_the_share_of_its_beat(groups, parts, tick):
    """Beat and part say the same tick again, as a share of the group."""
    bar = Metre(sum(groups), 8, groups, parts)
    place = bar.place(tick)
    length = groups[place.beat - 1] * parts
    found = int(bar.beats[place.beat - 1]) + Fraction(place.part - 1, place.parts) * length
    assert found == tick % bar.ticks


@TRIES
@given(groupings, st.sampled_from([1, 2, 4, 8, 16]), st.integers(1, 26))
@example([3, 4], 4, 2)
def test_no_two_places_of_a_bar_have_one_name(groups, unit, parts):
    """A word is one place of its beat, however finely the bar is cut: sixteenths of 2/2 and of 6/4 too."""
    bar = Metre(sum(groups), unit, groups, parts)
    named = [counts.said_name(bar.place(tick)) for tick in range(bar.ticks)]
    assert len(set(named)) == bar.ticks


@pytest.mark.parametrize(
    ("written", "bpm", "beat", "seconds"),
    [
        ("4/4", 120, "quarter", 2),
        ("6/8", 120, "dotted quarter", 1),
        ("2+2+3/8", 210, "eighth", 2),
        ("2/2", 60, "half note", 2),
    ],
)
def test_a_tempo_belongs_to_a_named_note(written, bpm, beat, seconds):
    """Even groups are the beat, uneven ones are counted in the written note; a bar lasts what that makes."""
    bar = metre(written)
    assert bar.beat == beat
    assert bar.cycle().seconds(bpm) == bar.tempo(bpm).cycle_seconds(bar.cycle()) == seconds
    assert bar.finer(7).cycle().seconds(bpm) == seconds


def test_notes_have_the_names_of_the_trade():
    """A triplet is three in the time of two, a septuplet seven in the time of four; others have no name."""
    # Common practice, no source.
    names = {1: "whole note", 4: "quarter", 6: "quarter-note triplet", 12: "eighth-note triplet"}
    assert {n: note_name(Fraction(1, n)) for n in names} == names
    assert note_name(Fraction(1, 7)) == "quarter-note septuplet"
    assert (note_name(Fraction(3, 16)), note_name(Fraction(1, 11))) == ("dotted eighth", "")


def test_a_metre_is_a_cycle_like_any_other():
    """A bar is seen and heard as any cycle: composite takes it, and it compares by value."""
    bar = metre("2+2+3/8").cycle()
    assert isinstance(bar, rl.Cycle)
    assert rl.composite(bar).intervals.tolist() == [2, 2, 3]
    assert bar == rl.Cycle(7, [rl.Lane("beat", [0, 2, 4], accents=[0])], beats=[0, 2, 4], bars=[0])


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: metre("7/8", groups=(2, 0, 5)), "a group of 7/8=0", "at least 1"),
        (lambda: metre("7/8", groups=(2, 2, 2)), "(2, 2, 2)", "add up to 6, but a bar of 7/8 has 7 eighths"),
        (lambda: metre("4/4", groups=(3, 3, 2)), "(3, 3, 2)", "add up to 8, but a bar of 4/4 has 4 quarters"),
        (lambda: metre("0/8"), "count=0", "at least 1"),
        (lambda: metre("4/3"), "unit=3", "not a written note"),
        (lambda: metre("4/0"), "unit=0", "at least 1"),
        (lambda: metre("seven"), "'seven'", "not written like a metre"),
        (lambda: metre(7), "7", "not written like a metre"),
        (lambda: metre("2+2+3/8", groups=(3, 4)), "(3, 4)", "has its groups"),
        (lambda: metre("7/8", groups="223"), "'223'", "not a list"),
        (lambda: metre("7/8", parts=0), "parts=0", "at least 1"),
        (lambda: metre("999999999/8"), "999999999", "more than 10,000 notes"),
    ],
)
def test_a_bad_metre_is_refused(call, given, wrong):
    """The message repeats the grouping, says what is wrong, and its example makes a metre."""
    assert isinstance(works(refusal(call, given, wrong), **NAMES), Metre)


def test_too_many_bars_are_refused():
    """A million beats is the most, and bars are counted from one."""
    refusal(lambda: metre("4/4").cycle(10**9), "bars=1000000000", "more than 1,000,000 beats")
    refusal(lambda: metre("4/4").cycle(0), "bars=0", "at least 1")


def test_groups_may_be_numpy_numbers():
    """Grouping from an array is the same metre."""
    assert metre("7/8", groups=np.array([2, 2, 3])) == metre("2+2+3/8")


def test_a_bar_of_many_groups_is_named_in_a_line():
    """Up to 64 groups are named, of more the first and the last."""
    assert repr(metre("2+3/8")).count("+") == 1
    assert repr(metre("+".join("12" * 32) + "/8")).count("+") == 63
    assert len(repr(metre("+".join("12" * 2000) + "/8"))) < 200


def test_a_bar_is_no_finer_than_ticks_can_be():
    """2**62 ticks to a bar pass, more are refused, and so are bars beyond them."""
    finest = metre("4/4", parts=2**60)
    assert finest.ticks == 2**62
    assert finest.cycle().ticks == 2**62
    refusal(lambda: metre("4/4", parts=2**60 + 1), f"parts={2**60 + 1}", "is more than")
    assert refusal(lambda: finest.cycle(2), "bars=2", "beyond tick 2**62") == "bars=1"
    refusal(lambda: finest.finer(2), "parts=", "is more than")


@pytest.mark.parametrize("written", ["2+2+3/8", "3+2+2/8", "2+3/16", "7/8", "6/8", "4/4", "2/2", "3+3+2/8"])
def test_a_number_is_of_the_beat_of_the_metre_whatever_is_made_of_the_bars(written):
    """One number, one speed: in the sound, on the handout, in the notes and in what the bars say of it."""
    bars = rl.playing.accents(written, 5)
    tempo = bars.metre.tempo(120)
    once = tempo.cycle_seconds(bars)
    assert bars.seconds(120) == once
    assert rl.sound(bars, 120, cycles=1).seconds == rl.sound(bars, tempo, cycles=1).seconds == once
    assert rl.score(bars, 120).musicxml == rl.score(bars, tempo).musicxml
    assert rl.strokes(bars, 120).csv == rl.strokes(bars, tempo).csv
    note = rl.handout(bars, 120).text.splitlines()[1]
    assert note == rl.handout(bars, tempo).text.splitlines()[1]
    assert note.endswith(f" {bars.metre.beat}.")

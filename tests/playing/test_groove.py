"""Accents that move through the bar, against plain counting."""

from fractions import Fraction
from math import lcm

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.playing.groove import Accents, accents, names_text
from rhythmlab.playing.metre import Metre, felt, metre
from rhythmlab.playing.ostinato import ostinato
from rhythmlab.text import counts, numbers
from tests.refusals import refusal, works
from tests.strategies import TRIES

bars = st.lists(st.integers(1, 5), min_size=1, max_size=6).map(lambda groups: Metre(sum(groups), 8, groups))


def test_seven_eighths_with_an_accent_every_five():
    """Counted by hand: five bars, accents on 0 5 | 3 | 1 6 | 4 | 2, on a beat in bars 1, 4 and 5."""
    found = accents("2+2+3/8", every=5)
    assert found.home == len(found.bars) == 5
    assert [found.accented(bar) for bar in range(1, 6)] == [(0, 5), (3,), (1, 6), (4,), (2,)]
    assert found.on_beat == (1, 4, 5)
    assert found.shift == -2
    assert found.seconds(210) == Fraction(35, 1) * Fraction(60, 210)
    assert "comes home after 5 bars: 35 eighths, 7 accents, 10 seconds" in found.describe(210)
    assert str(found) == found.describe()
    assert found.describe().endswith("A stroke on every eighth: R L R R L from each accent.")


def test_one_accent_is_spoken_of_as_one():
    """An accent every seven in seven eighths is one a bar, and is not "they"."""
    assert "Bar 1: 1. It is on a beat." in accents("2+2+3/8", every=7).describe()
    assert "Bar 1: 1, 2. Each of them is on a beat." in accents("6/8", every=3).describe()


@TRIES
@given(bars, st.integers(1, 40), st.data())
def test_accents_are_every_so_many_ticks_until_they_come_home(bar, every, data):
    """Home is the first bar line with the accent where it began; bars, places and beats by plain counting."""
    first = data.draw(st.integers(0, every - 1))
    found = accents(bar, every, first=first)
    ticks = lcm(bar.ticks, every)
    marks = list(range(first, ticks, every))
    assert (found.ticks, found.home) == (ticks, ticks // bar.ticks)
    assert list(found.lanes[-1].accents) == marks
    assert accents(bar, every, first=first, filled=False).lanes[-1].onsets.tolist() == marks
    rows = [[t - n * bar.ticks for t in marks if t // bar.ticks == n] for n in range(found.home)]
    assert [list(found.accented(n + 1)) for n in range(found.home)] == rows
    beats = set(bar.beats.tolist())
    assert list(found.on_beat) == [n + 1 for n, row in enumerate(rows) if beats & set(row)]
    assert found.beats.tolist() == bar.beats_in(found.home).tolist()


@TRIES
@given(bars, st.integers(1, 40), st.integers(1, 50), st.integers(1, 6))
def test_some_bars_are_the_same_bars(bar, every, at, count):
    """Bars laid out from any bar on are those of the whole, counted from their first tick."""
    found = accents(bar, every, bars=count, from_bar=at)
    low = (at - 1) * bar.ticks
    expected = [t - low for t in range(low, low + count * bar.ticks) if t % every == 0]
    assert list(found.lanes[-1].accents) == expected
    assert found.lanes[-1].onsets.tolist() == list(range(found.ticks))
    whole = accents(bar, every, bars=at - 1 + count).lanes[-1].hands
    assert found.lanes[-1].hands == whole[low:]
    assert accents(bar, every, bars=count, from_bar=at, filled=False).lanes[-1].onsets.tolist() == expected
    assert found.ticks == count * bar.ticks


@TRIES
@given(bars, st.integers(1, 40))
def test_the_shift_is_the_way_from_bar_to_bar(bar, every):
    """Moving every accent of a bar by the shift gives places of the next bar, the shorter way round."""
    found = accents(bar, every, bars=2)
    assert (bar.ticks + found.shift) % every == 0
    assert 2 * abs(found.shift) <= every


def test_the_bar_is_kept_by_a_pulse_a_backbeat_or_chosen_beats():
    """Bass drum on the beats; bass drum and snare in turn; or only the beats named; one limb a lane."""
    assert accents("4/4", 5).lanes[0].onsets.tolist()[:4] == [0, 4, 8, 12]
    bass, snare, bell = accents("4/4", 5, pulse="backbeat").lanes
    assert (bass.onsets.tolist()[:2], snare.onsets.tolist()[:2]) == ([0, 8], [4, 12])
    assert len({lane.limb for lane in (bass, snare, bell)}) == 3
    assert accents("4/4", 5, pulse=(2, 4)).lanes[0].onsets.tolist()[:2] == [4, 12]
    assert accents("4/4", 5, filled=False).lanes[-1].sound == "bell"


@TRIES
@given(bars, st.integers(1, 40), st.data())
def test_the_accent_moves_through_a_stream_of_strokes(bar, every, data):
    """A stroke on every tick, the accents marked among them, both hands named; the foot keeps the beats.

    The right hand has every accent of two strokes or more; no hand has three in a row, across the seam too.
    """
    found = accents(bar, every, first=data.draw(st.integers(0, every - 1)))
    foot, stream = found.lanes
    # of a bar without groups its usual ones
    felt_beats = felt(bar).beats_in(found.ticks // bar.ticks).tolist()
    assert (foot.limb, foot.onsets.tolist()) == ("right foot", felt_beats)
    assert set(felt_beats) <= set(found.beats.tolist())
    assert stream.onsets.tolist() == list(range(found.ticks))
    assert list(stream.accents) == [tick for tick in range(found.ticks) if tick % every == found.first]
    assert (len(stream.hands), set(stream.hands) <= set("RL")) == (found.ticks, True)
    if every > 1:
        assert {stream.hands[tick] for tick in stream.accents} == {"R"}
    if every > 1 or bar.ticks > 1:
        assert not {"RRR", "LLL"} & {(stream.hands * 3)[i : i + 3] for i in range(found.ticks)}


@TRIES
@given(bars, st.integers(1, 12), st.text("RL", min_size=1, max_size=9))
def test_a_sticking_of_the_readers_own_comes_home_with_the_accents(bar, every, letters):
    """It begins with the first accent and goes round unbroken; bars and accents come home with it."""
    found = accents(bar, every, hands=letters)
    stream = found.lanes[-1]
    assert found.ticks == lcm(bar.ticks, every, len(letters))
    assert stream.hands == letters * (found.ticks // len(letters))
    assert list(stream.accents) == list(range(0, found.ticks, every))
    assert found.home == lcm(bar.ticks, every) // bar.ticks
    if len(found.bars) > found.home:
        assert f"comes home after {len(found.bars)} bars." in found.describe()


def test_over_a_backbeat_the_right_hand_has_the_stream_and_no_hand_is_in_two_places():
    """The snare is the left hand's; a sticking that asks it for both at once is refused by hand and place."""
    snare, stream = accents("4/4", 5, pulse="backbeat").lanes[1:]
    assert (snare.limb, stream.limb, stream.hands) == ("left hand", "right hand", "")
    call = lambda: accents("4/4", 5, pulse="backbeat", hands="RLRRL")  # noqa: E731
    example = refusal(call, "the left hand is asked for two strokes in bar 1 on 2", "by 'snare'")
    assert isinstance(works(example, accents=accents), Accents)
    assert accents("4/4", 4, pulse="backbeat", hands="RRLR").lanes[-1].hands[:8] == "RRLRRRLR"


def test_the_sentences_say_what_is_so():
    """Still accents, half-way ones, wide ones and ones on no beat are each said in their own words."""
    assert "same places in every bar" in accents("4/4", 4).describe()
    assert "by half their distance, 4 sixteenths" in accents("3/4", 8).describe()
    finer = accents(metre("4/4", parts=9), 5).describe()
    assert finer.startswith("An accent every 5 ticks in 4/4 (a tick is a ninth part of a quarter) comes home")
    assert accents("7/8", 1).describe().startswith("An accent every eighth in 7/8")
    assert "further apart than the bar is long" in accents("4/4", 23).describe()
    assert "None is on a beat" in accents("4/4", 4, first=1).describe()
    assert "come 1 sixteenth earlier" in accents("4/4", 5).describe()
    assert "come 1 sixteenth later" in accents("2/4", 3).describe()


#: Written note, and parts of it, and what such a tick is called (common practice, no source).
NAMED = {
    **{(2, 1): "half note", (4, 1): "quarter", (4, 2): "eighth", (4, 4): "sixteenth", (8, 1): "eighth"},
    **{(8, 2): "sixteenth", (16, 1): "sixteenth", (16, 2): "thirty-second", (4, 3): "eighth-note triplet"},
    **{(8, 3): "sixteenth-note triplet", (4, 5): "sixteenth-note quintuplet", (2, 3): "quarter-note triplet"},
    **{(4, 9): "", (8, 11): "", (4, 13): ""},
}


@TRIES
@given(st.sampled_from(sorted(NAMED)), st.integers(1, 12), st.integers(1, 24), st.integers(1, 12))
def test_a_length_is_said_in_its_note(note, count, every, feet):
    """What a tick is called counts every length that is said; where it has no name, ticks are told first."""
    (unit, parts), name = note, NAMED[note]
    bar = metre(f"{count}/{unit}", groups=(count,), parts=parts)
    moving = accents(bar, every, hands="R").describe()
    still = ostinato("x" + "." * (feet - 1), "x" + "." * (every - 1), metre=bar).describe()
    called = name or "tick"
    many = [f"{numbers.number(n)} {called}{'s' * (n > 1)}" for n in (every, lcm(every, bar.ticks), feet)]
    assert moving.startswith(f"An accent every {many[0] if every > 1 else called} in {bar}")
    assert f": {many[1]}, " in moving
    low, high = ("every" if n > 1 else "of" for n in (feet, every))  # one stroke comes every so many
    assert still.startswith(f"Feet {low} {many[2]} against hands {high} {every}: ")
    if name:
        assert "tick" not in f"{moving} {still}"
    else:
        assert f"(a tick is a{'n' * (parts == 11)} {bar.tick})" in moving


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: accents("7/8", 0), "every=0", "at least 1"),
        (lambda: accents("7/8", 2.5), "every=2.5", "not a whole number"),
        (lambda: accents("7/8", 5, first=5), "first=5", "not before the second accent"),
        (lambda: accents("7/8", 5, hands="RLX"), "'RLX'", "'X' at place 3"),
        (lambda: accents("7/8", 5, hands="R.L"), "hands='R.L'", "not R or L for every stroke"),
        (lambda: accents("7/8", 5, hands="x.x"), "hands='x.x'", "not R or L for every stroke"),
        (lambda: accents("7/8", 5, hands="5 as 3 3"), "'5 as 3 3'", "adds up to 6"),
        (lambda: accents("7/8", 5, hands="RL", filled=False), "hands='RL'", "filled=False has none"),
        (lambda: accents("7/8", 5, bars=0), "bars=0", "at least 1"),
        (lambda: accents("7/8", 5, from_bar=0), "from_bar=0", "at least 1"),
        (lambda: accents("4/4", 1_000_003), "1,000,003 bars", "too many to lay out"),
        (lambda: accents("4/4", 5, bars=10**9), "bars=1000000000", "too many to lay out"),
        (lambda: accents("4/4", 10**4000 + 1), "more than 10**30", "too many to lay out"),
    ],
)
def test_bad_accents_are_refused(call, given, wrong):
    """The message has the number of bars where they are too many, and its example works."""
    assert isinstance(works(refusal(call, given, wrong), accents=accents), Accents)


@pytest.mark.parametrize("pulse", ["offbeat", 2, (), (5,), (0,)])
def test_a_bad_pulse_is_refused(pulse):
    """What keeps the bar is a pulse, a backbeat, or beats that the bar has."""
    refusal(lambda: accents("4/4", 5, pulse=pulse), "pulse", "")
    refusal(lambda: accents(metre("7/8", (7,)), 5, pulse="backbeat"), "backbeat", "needs a second beat")


def test_the_window_of_a_long_way_home_still_tells_the_way():
    """Three bars of a million: the sentence has the true number."""
    found = accents("4/4", 1_000_003, bars=3)
    assert found.home == 1_000_003
    assert isinstance(found, rl.Cycle)


@pytest.mark.parametrize(
    ("written", "every", "bars", "most"),
    [("1024/4", 1, 1, 16), ("4/4", 1, 2000, 12 * 16), ("7/8", 3, 500, 12 * 3)],
)
def test_only_the_accents_that_are_shown_are_named(written, every, bars, most, monkeypatch):
    """A bar of 4096 accents names 16 of them, and many bars only those of the twelve shown."""
    found, calls = accents(written, every, bars=bars), []
    rows = [
        f"bar {n}: {numbers.some(map(found.metre.describe, found.accented(n)))}" for n in range(1, bars + 1)
    ]
    plain = counts.said_in_row
    monkeypatch.setattr(counts, "said_in_row", lambda *a, **k: calls.append(a) or plain(*a, **k))
    text = found.describe()
    assert 0 < len(calls) <= most
    assert numbers.some(rows, 12, "; ").capitalize() in text  # as it reads when all are named


@TRIES
@given(st.lists(st.integers(), max_size=40), st.integers(1, 10).map(lambda n: 2 * n))
def test_a_list_is_cut_before_it_is_named_and_reads_the_same(items, most):
    """The words are those of the plain cut, and each item shown is named once."""
    calls = []
    assert names_text(items, lambda item: calls.append(item) or f"<{item}>", most) == numbers.some(
        [f"<{item}>" for item in items], most
    )
    assert len(calls) == min(len(items), most)


@pytest.mark.parametrize("unit", [8, 16])
@pytest.mark.parametrize("count", [5, 7, 11, 13])
@pytest.mark.parametrize("every", [3, 4])
def test_an_odd_bar_without_groups_is_kept_in_twos_and_a_three(count, unit, every):
    """Bass drum and feet on the first of each, as with the groups typed, and what is said of a beat is."""
    groups = "+".join(["2"] * (count // 2 - 1) + ["3"])
    plain, typed = f"{count}/{unit}", f"{groups}/{unit}"
    for pulse in ("beats", "backbeat"):
        made, like = (accents(bar, every, pulse=pulse) for bar in (plain, typed))
        assert [lane.onsets.tolist() for lane in made.lanes] == [lane.onsets.tolist() for lane in like.lanes]
        assert made.on_beat == like.on_beat
        bars = ", ".join(map(str, like.on_beat))
        where = f"bar{'s' * (len(like.on_beat) > 1)} {bars}" if len(like.on_beat) < like.home else "every bar"
        assert f"An accent is on the first of a group ({groups}) in {where}." in made.describe()
        assert f"An accent is on a beat in {where}." in like.describe()
    made, like = (rl.playing.resolve((3, 2), bar, bars=4) for bar in (plain, typed))
    assert made.lanes[0].onsets.tolist() == like.lanes[0].onsets.tolist()
    assert f"The feet keep the first of each group ({groups})." in made.describe()
    assert made.metre.count == count
    assert accents(plain, every, pulse=(1, 5)).lanes[0].onsets.tolist()[1] == 4  # beats that are named stay

"""The words of a count: one vocabulary, a word for every place, and every word read back as typed."""

from itertools import product
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.classroom.bank.template import place_aliases
from rhythmlab.core.feel import Feel, Place, places
from rhythmlab.notation.score import score
from rhythmlab.playing.metre import Metre
from rhythmlab.playing.phrasing import Phrase
from rhythmlab.text import counts
from tests import profile
from tests.strategies import TRIES

#: All numbers of parts that a beat of a pair from 2 to 24 can have.
PARTS = range(1, 25)
groups_of_a_bar = st.lists(st.integers(1, 7), min_size=1, max_size=6).filter(lambda groups: max(groups) > 1)


@pytest.mark.parametrize("longest", [0, 2, 3, 4, 7])
def test_every_part_of_a_beat_has_a_word_of_its_own(longest):
    """For 1 to 24 parts no word is missing, none is twice, none has a numeral, and each can be said."""
    for parts in PARTS:
        words = counts.part_words(parts, longest)
        assert len({*words}) == len(words) == parts - 1
        said = {syllable for word in words for syllable in word.split()}
        assert said <= {*"e&a", "trip", "let", *counts.OPENERS}
        whole = counts.aloud(3, parts, longest).split()
        assert len(whole) == parts
        assert [word for word in whole if word.isdecimal()] == ["3"]


def test_trip_let_is_for_three_in_the_time_of_two_only():
    """Three parts of a simple beat, and six of it; in a group of eighths or sixteenths never."""
    # Six parts and the three kinds of three: common practice, no source; "1 e & a": Froseth/Eastman page.
    assert [counts.aloud(2, parts) for parts in (2, 3, 4, 6)] == [
        *("2 &", "2 trip let", "2 e & a", "2 trip let & trip let"),
    ]
    assert [counts.aloud(n, parts, 3) for n, parts in enumerate((2, 2, 3), 1)] == ["1 &", "2 &", "3 & a"]
    assert [counts.aloud(n, parts, 4) for n, parts in enumerate((4, 4, 3), 1)] == [
        *("1 e & a", "2 e & a", "3 e &"),
    ]
    for parts, longest in product(PARTS, range(1, 17)):
        assert not {"trip", "let"} & {*counts.aloud(1, parts, longest).split()}


@TRIES
@given(groups_of_a_bar, st.sampled_from([8, 16]), st.integers(1, 4))
def test_no_group_of_any_bar_is_called_a_triplet(groups, unit, parts):
    """Metre, its cycle and its score have the same names, all distinct, and none is trip or let."""
    bar = Metre(sum(groups), unit, groups, parts)
    names = [bar.describe(tick) for tick in range(bar.ticks)]
    assert len({*names}) == bar.ticks
    assert not any("trip" in name or "let" in name for name in names)
    stream = bar.cycle(lanes=[rl.Lane("stream", range(bar.ticks))])
    assert [counts.place_name(place) for place in places(stream, stream.lanes[0].onsets)] == names


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("6/8", "1 & a 2 & a"),
        ("12/8", "1 & a 2 & a 3 & a 4 & a"),
        ("2+2+3/8", "1 & 2 & 3 & a"),
        ("3+2+2/8", "1 & a 2 & 3 &"),
        ("4+4+3/16", "1 e & a 2 e & a 3 e &"),
        ("2/4", "1 e & a 2 e & a"),
    ],
)
def test_bars_are_counted_as_the_trade_counts_them(written, said):
    """Grouped eighths with &, sixteenths with e & a; common practice, no source, but for "1 e & a"."""
    bar = rl.metre(written)
    assert " ".join(counts.mark(bar.place(tick)) for tick in range(bar.ticks)) == said


def test_a_quarter_in_three_is_a_triplet_in_a_bar_too():
    """4/4 in three parts to a beat is "1 trip let", also where every lane plays."""
    bar = rl.metre("4/4", parts=3)
    assert " ".join(counts.mark(bar.place(tick)) for tick in range(6)) == "1 trip let 2 trip let"


@TRIES
@given(st.lists(st.integers(1, 5), min_size=1, max_size=8))
def test_a_phrase_is_counted_alike_in_words_and_under_its_notes(groups):
    """What `spoken` says stroke by stroke is what stands under the score, a phrase of equal threes too."""
    phrase = Phrase(groups)
    said = " ".join(phrase.spoken("beats")).split()
    assert len(said) == phrase.ticks
    assert not {"trip", "let"} & {*said} or len(groups) == 1
    drawn = [word.text for word in ElementTree.fromstring(score(phrase.cycle()).musicxml).iter("text")]
    if len(groups) > 1:
        assert drawn == said


@pytest.mark.parametrize("parts", PARTS)
def test_a_word_tells_its_place_and_is_read_back(parts):
    """Whatever is printed for a place, in any way, the gradebook reads as that place and no other."""
    read = place_aliases([(24, parts)])
    for beat, part in product((1, 2, 24), range(1, parts + 1)):
        place = Place(beat, part, parts)
        name = counts.place_name(place)
        for printed in (counts.said_name(place), counts.mark_with_beat(place), name, f"{beat}.{part}"):
            assert read[printed] == name
        assert {way for way, which in read.items() if which == name} == {*counts.ways_to_write(place)}


def test_every_place_of_every_pair_can_be_said():
    """Pairs from 2 to 24, both homes: each stroke off the beat has a word, and in one beat all differ."""
    numbers = range(2, 25) if profile.LONG else (2, 3, 4, 5, 7, 10, 13, 16, 17, 21, 23, 24)
    for pair in product(numbers, repeat=2):
        for home in (0, 1):
            rows = Feel(rl.Polyrhythm(*pair), home).places(1 - home)
            said = [counts.said_name(place) for place in rows]
            assert len({*said}) == len(said)
            for place, name in zip(rows, said, strict=True):
                assert name.isdecimal() == (place.part == 1)
                assert "." not in name


def test_groups_of_the_readers_own_are_taken():
    """3+4 and 2+2+3 for seven; what does not fill the beat, or has a group past four, is not taken."""
    assert counts.aloud(2, 7, groups=(3, 4)) == "2 e & TA e & a"
    assert counts.aloud(2, 7, groups=(2, 2, 3)) == "2 e TA e KA e &"
    assert counts.aloud(2, 7, groups=(4, 4)) == counts.aloud(2, 7) == "2 e & a TA e &"
    assert counts.part_words(10, groups=(5, 5)) == ()

"""The words of a count: one vocabulary, a word for every place, and every word read back as typed."""

import json
import re
from bisect import bisect
from itertools import product
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.classroom.bank.template import place_aliases
from rhythmlab.core import feel
from rhythmlab.core.feel import Feel, Place, places
from rhythmlab.draw.pictures import strip
from rhythmlab.export.handout import handout
from rhythmlab.notation.score import score
from rhythmlab.panels.wall import too_long_for_a_bar
from rhythmlab.playing.metre import Metre
from rhythmlab.playing.metre import metre as bar_of
from rhythmlab.playing.phrasing import Phrase
from rhythmlab.practice.take import cycle_of, cycle_row
from rhythmlab.refusal import Refusal
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
    assert [counts.aloud(n, parts, 4) for n, parts in enumerate((4, 3, 4), 1)] == [
        *("1 e & a", "2 e &", "3 e & a"),
    ]
    for parts, longest in product(PARTS, range(1, 17)):
        assert not {"trip", "let"} & {*counts.aloud(1, parts, longest).split()}


@TRIES
@given(groups_of_a_bar, st.sampled_from([8, 16]), st.integers(1, 4))
def test_a_group_is_a_triplet_only_where_three_fill_the_time_of_two(groups, unit, parts):
    """Metre, cycle and score have the same names, all distinct; trip, let are of six parts of two notes."""
    bar = Metre(sum(groups), unit, groups, parts)
    names = [bar.describe(tick) for tick in range(bar.ticks)]
    assert len({*names}) == bar.ticks
    begins = [sum(groups[:n]) * parts for n in range(len(groups))]
    for tick, name in enumerate(names):
        group = groups[bisect(begins, tick) - 1]
        sixths = group == 2 and parts == 3 and max(groups) < 4
        assert sixths or not {"trip", "let"} & {*name.split()}, name
    stream = bar.cycle(lanes=[rl.Lane("stream", range(bar.ticks))])
    assert [counts.said_alone(place) for place in places(stream, stream.lanes[0].onsets)] == names


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
        for printed in (counts.said_name(place), counts.label_with_beat(place), name, f"{beat}.{part}"):
            assert read[printed.lower()] == name
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
    """3+4 and 2+2+3 for seven; a group past four is cut; what does not fill the beat is not taken."""
    assert counts.aloud(2, 7, groups=(3, 4)) == "2 e & TA e & a"
    assert counts.aloud(2, 7, groups=(2, 2, 3)) == "2 e TA e KA e &"
    assert counts.aloud(2, 7, groups=(4, 4)) == counts.aloud(2, 7) == "2 e & a TA e &"
    assert counts.aloud(1, 10, groups=(5, 5)) == "1 e & TA e KA e & DI e"
    assert len({*counts.OPENERS}) == len(counts.OPENERS) == feel.MOST_GROUPS - 1


def every_grouping(parts: int, sizes: tuple[int, ...]) -> list[tuple[int, ...]]:
    """Return all ways to fill a beat with groups of these sizes, in every order."""
    if not parts:
        return [()]
    return [(n, *rest) for n in sizes if n <= parts for rest in every_grouping(parts - n, sizes)]


def groupings():
    """All groupings of 5 to 12 parts into 1 to 4, and of 13 to 24 into 2 to 4, or some of the latter."""
    for parts in range(5, 13):
        yield from every_grouping(parts, (1, 2, 3, 4))
    for parts in range(13, 25):
        yield from every_grouping(parts, (2, 3, 4))[:: 1 if profile.LONG else 97]


def test_every_grouping_can_be_said_and_is_read_back():
    """One word a part, none twice, the number once; a beat counted up to a part is read as that part."""
    read = {parts: place_aliases([(3, parts)]) for parts in PARTS}
    for groups in groupings():
        parts = sum(groups)
        words = counts.part_words(parts, groups=groups)
        assert len({*words}) == len(words) == parts - 1, groups
        said = counts.aloud(3, parts, groups=groups).split()
        assert len(said) == parts
        assert [word for word in said if word.isdecimal()] == ["3"]
        starts = {sum(groups[:i]) for i in range(1, len(groups))}
        assert {i for i, word in enumerate(said) if word.isupper()} == starts  # where a group starts
        for part in range(2, parts + 1):
            counted = " ".join(said[:part]).lower()
            assert counts.counted_up_to(counted) == (3, part)
            if groups[0] > 1 or part > 3:  # "3 ta" and "3 ta e" are words of our own groups
                assert read[parts].get(counted) == f"3.{part}", (groups, counted)


def test_a_beat_that_has_words_is_not_read_otherwise():
    """Counted lines are for five parts and more; what is no count is no place, also a very long one."""
    assert place_aliases([(2, 3)]).get("2 e") is None
    assert place_aliases([(2, 5)]).get("2 e & a ta e ka") is None
    for strange in ("", " ", "e & ta", "2 & e", "2 ka", "² e", "2 " + "e & a ta " * 100_000, 2, None):
        assert place_aliases([(2, 5)]).get(strange) is None


@TRIES
@given(st.lists(st.integers(1, 4), min_size=2, max_size=8).filter(lambda groups: 5 <= sum(groups) <= 24))
def test_every_face_says_a_beat_in_the_same_groups(groups):
    """Count, page, wall, score and handout of a pair have one line of words, as the reader grouped it."""
    parts, own = sum(groups), "+".join(map(str, groups))
    p = rl.Polyrhythm(parts, 2 if parts % 2 else 3 if parts % 3 else 5 if parts % 5 else 7)
    words = f"say {counts.aloud(1, parts, groups=groups)}"
    for given_as in (own, groups, [groups], f"{own}, 30+30"):
        assert f"({words})" in counts.count(Feel(p, groups=given_as))
    assert rl.score(p, groups=own).key.endswith(words) or words in rl.score(p, groups=own).key
    page, wall = rl.pages.choose_home(p, bpm=20, groups=own), rl.pages.wall(p, bpm=20, groups=own)
    assert words in " ".join(page.stage.pictures[1]["said"])
    line = f"{words.capitalize()[:4]}{words[4:]} in each beat"
    slow = too_long_for_a_bar(wall.feel, wall.tempo, rl.limits())
    assert slow or line in " ".join(wall.stage.pictures[1]["said"])


def test_a_handout_says_a_beat_in_the_readers_groups():
    """Its counts have the words that the reader chose, once, and no others."""
    said = rl.handout((5, 4), 72, groups="2+3").text
    assert said.count("say 1 e TA e &") == 1
    assert "1 e & TA e" not in said


@pytest.mark.parametrize(
    ("groups", "wrong"),
    [
        ("2+2", "comes to 4"),
        ((1, 1), "comes to 2"),
        ("3+2, 2+3", "second way to say 5"),
        ("+".join("1" * 13), "13 groups, more than 12"),
        ("2++3", "not whole numbers"),
        ("two+three", "not whole numbers"),
        ("2+0+3", "not whole numbers"),
        ((2, 0, 3), "whole number"),
        ((2, 2.5), "whole number"),
        ({2, 3}, "groups"),
        (5, "groups"),
        (None, "groups"),
        ("\N{ARABIC-INDIC DIGIT TWO}+3", "not whole numbers"),
        ("<b>2+3</b>", "not whole numbers"),
    ],
)
def test_groups_that_cannot_be_said_are_refused(groups, wrong):
    """What is wrong is named, with a call that works, by the count, the score and the handout alike."""
    calls = (
        lambda: Feel((5, 4), groups=groups),
        lambda: rl.score((5, 4), groups=groups),
        lambda: rl.handout((5, 4), 72, groups=groups),
    )
    for call in calls:
        with pytest.raises(Refusal, match=wrong) as caught:
            call()
        assert "groups" in str(caught.value)


@pytest.mark.parametrize("home", [0, 1])
def test_no_score_of_a_pair_leaves_counts_unexplained(home):
    """Where a beat has five parts or more, or is a bar of sixteenths, the key says how it is said."""
    numbers = range(2, 25) if profile.LONG else (2, 3, 5, 7, 12, 15, 16, 24)
    for pair in product(numbers, repeat=2):
        made = rl.score(pair, home=home)
        drawn = [word.text for word in ElementTree.fromstring(made.musicxml).iter("text")]
        parts = Feel(pair, home).parts(1 - home)
        bars = "sixteenth" in made.alt
        assert bool(made.key) == (parts > (1 if bars else 4)), pair
        assert not any("." in word for word in drawn)
        assert not made.key or counts.aloud(1, parts, 4 if bars else 0) in made.key
        assert "trip" not in made.key or not bars
        assert rl.score(pair, home=home, counts=False).key == ""


def test_too_many_parts_to_say_is_said():
    """64 against 63 has no words for 63 parts: the key says what to do instead."""
    assert rl.score((64, 63)).key.endswith(
        "too many to say: call the number of each bar and listen for where the strokes meet"
    )
    assert "(63 parts to a beat)" in counts.count(Feel((63, 64)))


def said_in(cycle) -> str:
    """Return every word that pictures, counts of a handout and its score put under a cycle."""
    marks = [mark.text for mark in strip(cycle).marks if hasattr(mark, "text")]
    notes = re.findall(r"<text>([^<]*)</text>", score(cycle, 60).musicxml)
    return " ".join((*marks, *notes, handout(cycle, rl.Tempo(60, ticks=cycle.beat)).text))


@pytest.mark.parametrize("metre", ["6/8", "12/8", "2+2+3/8"])
def test_copied_bars_of_eighths_are_no_triplets(metre):
    """Copied lane by lane, or kept in a journal and read again, no three eighths are "trip, let"."""
    bars = bar_of(metre).cycle(2, [rl.Lane("eighths", range(2 * bar_of(metre).ticks), limb="hands")])
    bars = bar_of(metre).cycle(2, [*bars.lanes, rl.Lane("a lane with a very long name", [0], "foot")])
    row = json.loads(json.dumps(cycle_row(bars)))
    assert cycle_of(row).written == bars.written
    old = {key: value for key, value in row.items() if key != "written"}
    for cycle in (
        bars,
        rl.Cycle(bars.ticks, bars.lanes, bars.beats, bars.bars),
        cycle_of(row),
        cycle_of(old),
    ):
        assert not re.search(r"\b(trip|let)\b", said_in(cycle))


def test_pulses_stay_triplets_where_they_are_kept():
    """3 in the time of 2 is three to a beat in a pair, in its steps and in a take of it read again."""
    pair = rl.Polyrhythm(3, 4)
    for cycle in (pair.cycle(), cycle_of(cycle_row(pair.cycle())), rl.playing.split(pair)):
        assert "trip" in " ".join(map(counts.mark, places(cycle, cycle.lanes[0].onsets)))

"""One vocabulary: a figure is counted in the same words on page, panel, paper, score and in an answer."""

import re
from html import unescape

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.core.feel import Feel, places
from rhythmlab.core.tempo import Tempo
from rhythmlab.draw.scene import Text
from rhythmlab.export.lesson import of_bars
from rhythmlab.playing.limits import limits
from rhythmlab.playing.phrasing import Phrase
from rhythmlab.practice.set_list import read_line
from rhythmlab.text import counts
from tests.profile import some
from tests.strategies import TRIES

GROUPS = st.lists(st.integers(1, 9), min_size=1, max_size=4).map(tuple)
#: Of four and of three strokes, and of what is left over of four: what each way of counting calls them.
ALIKE = {
    "eastman": {4: ("ti", "te", "ta"), 3: ("la", "li"), 2: ("te",)},
    "takadimi": {4: ("ka", "di", "mi"), 3: ("ki", "da"), 2: ("di",)},
}
BEATS = {4: ("e", "&", "a"), 3: ("&", "a"), 2: ("&",)}


def labels(cycle):
    """Return the words that pictures and panels put under the strokes of the last lane, in small letters."""
    return [counts.label(place).lower() for place in places(cycle, cycle.lanes[-1].onsets)]


def under(notes):
    """Return the words under the notes of a score, hands left out, in small letters."""
    found = re.findall(r"<text>(.*?)</text>", notes.musicxml)
    return [unescape(word).lower() for word in found if word not in ("R", "L")]


@TRIES
@given(GROUPS)
def test_a_phrase_is_counted_alike_in_words_picture_handout_set_list_and_answer(groups):
    """Stroke by stroke: three in threes, three left over of fours, and six in one group, too."""
    phrase = Phrase(groups)
    said = [word.lower() for group in phrase.said("beats") for word in group]
    cycle = phrase.cycle()
    shown = [label.split()[-1] for label in labels(cycle)]  # "ta e" is said "e" after its group was opened
    assert shown == said
    lesson = of_bars(cycle, Tempo(60, ticks=4), limits())
    spoken = next(words for what, words in lesson.steps if what.startswith("Say the "))
    if "…" not in spoken and len(groups) > 1:
        assert re.sub(r"[|]", "", spoken).lower().split()[: len(said)] == said
    for place, word in zip(places(cycle, cycle.lanes[0].onsets), labels(cycle), strict=True):
        named = word if place.part == 1 else f"{place.beat} {word}"
        assert named in counts.ways_to_write(place)


@pytest.mark.parametrize(
    "groups", some([(3, 3), (6,), (4, 3), (3, 3, 2), (3,), (4, 4, 2), (2, 2, 3), (7,), (5, 3)], 5, "in notes")
)
def test_a_phrase_has_its_words_under_the_notes_and_in_a_set_list(groups):
    """Those that page 06 says in beats."""
    said = [word.lower() for group in Phrase(groups).said("beats") for word in group]
    assert under(rl.score(Phrase(groups).cycle(), tempo=60)) == said
    begins = " ".join(map(str, groups))
    sizes = " ".join(map(str, sorted({*groups})))
    line = f"phrase | number: {sum(groups)} | groups of: {sizes} | begins with: {begins} | count: beats"
    assert [word.lower() for word in read_line(line).words] == said


@TRIES
@given(st.lists(st.integers(2, 4), min_size=2, max_size=4).map(tuple), st.sampled_from([8, 16]))
def test_groups_in_a_bar_of_page_07_are_counted_as_on_page_06(groups, unit):
    """A stream of strokes in 2+2+3/8 has the words of the phrase 2 2 3, in its picture and its score."""
    said = [word.lower() for group in Phrase(groups).said("beats") for word in group]
    bar = f"{'+'.join(map(str, groups))}/{unit}"
    made = rl.playing.accents(bar, sum(groups), hands="RL" if sum(groups) % 2 == 0 else "RL" * sum(groups))
    assert labels(made)[: sum(groups)] == said
    drawn = rl.pictures.strip(made, start=0, stop=made.metre.ticks)
    words = {mark.text.lower() for mark in drawn.marks if isinstance(mark, Text) and mark.role == "small"}
    assert words >= {word for word in said if not word.isdecimal()} or len(words) < 2


@given(GROUPS)
def test_every_way_of_counting_calls_the_same_stroke_by_the_same_word(groups):
    """Eastman and takadimi say three in the time of two only where beats do not say three of four."""
    phrase = Phrase(groups)
    for way, words in ALIKE.items():
        kind = 4 if max(groups) > 3 else 0
        for size, ours, theirs in zip(groups, phrase.said("beats"), phrase.said(way), strict=True):
            if 1 < size < 5:
                at = kind or size
                assert theirs[1:] == words[at][: size - 1]
                assert ours[1:] == BEATS[at][: size - 1]


@given(st.integers(1, 24), st.integers(1, 24))
def test_a_triplet_is_said_where_three_fill_the_time_of_two_and_nowhere_else(p, q):
    """Of pulses against each other alone: three or six parts of a beat that is one note."""
    feel = Feel((p, q))
    words = {word for place in feel.places(0) for word in counts.label(place).lower().split()}
    assert bool(words & {"trip", "let"}) == (feel.parts(0) in (3, 6))
    assert [counts.label(place).lower() for place in feel.places(0)] == [
        counts.label(place).lower() for place in places(feel.cycle(), feel.polyrhythm.onsets(0))
    ]


@pytest.mark.parametrize(
    "pair", some([(3, 2), (4, 3), (3, 1), (2, 3), (7, 4), (5, 3), (6, 4), (4, 1)], 4, "pairs")
)
def test_a_pair_has_the_words_of_its_count_under_the_notes(pair):
    """The other pulse has beat and word, as the count from home says them."""
    feel = Feel(pair)
    named = [counts.label_with_beat(place).lower() for place in feel.places(0)]
    assert under(rl.score(pair, tempo=60))[: len(named)] == named


@given(st.sampled_from(["6/8", "9/8", "12/8", "3+3/8", "2+2+3/8", "4/4", "13/16"]), st.integers(1, 9))
def test_eighths_of_a_bar_are_no_triplets(bar, every):
    """Neither on page 07 nor in its set list."""
    made = rl.playing.accents(bar, every)
    assert not {"trip", "let"} & {word for label in labels(made) for word in label.split()}
    assert labels(read_line(f"accents | metre: {bar} | accent every: {every}").what) == labels(made)

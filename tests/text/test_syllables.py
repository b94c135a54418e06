"""English words in syllables: right, or said to be unsure."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmlab.text.syllables import how_many, hyphened, split
from tests.strategies import TRIES

#: Words of ours with the syllables of the CMU Pronouncing Dictionary, the vowels of each pronunciation.
COUNTED = {
    1: "tide bells boats waves comes played loved eyes clothes breathe ropes quay rolls grey",
    2: "something sometimes somewhere lonely safely movement therefore evening ocean lion quiet rhythm "
    "being going doing science island harbour little wanted bottles changes whistle castle people poem "
    "lighthouse seagulls prism table hurried voyage aloud boatman careful drummer",
    3: "idea radio piano area horizon forever together lemonade beautiful afternoon",
}
SEVERAL = {"every": (2, 3), "fire": (1, 2), "hour": (1, 2), "family": (2, 3), "evenings": (2,)}
WORDS = [(word, count) for count, words in COUNTED.items() for word in words.split()]


def test_there_are_enough_words():
    """The list of words is long enough to mean something."""
    assert len(WORDS) >= 60


@pytest.mark.parametrize(("word", "count"), WORDS)
def test_a_word_has_its_syllables_or_is_unsure(word, count):
    """Each has the syllables of the dictionary and loses no letter, also with marks around it."""
    for typed in (word, word.capitalize(), word.upper(), f"“{word},”"):
        parts = split(typed)
        assert parts is not None
        assert (len(parts), "".join(parts)) == (count, typed)


@pytest.mark.parametrize(("word", "counts"), SEVERAL.items())
def test_a_word_with_several_counts_is_not_split(word, counts):
    """The dictionary's counts are told, and the reader chooses."""
    assert how_many(word) == counts
    assert (split(word) is None) == (len(counts) > 1)


@pytest.mark.parametrize(
    ("word", "parts"),
    [
        *(("something", "some-thing"), ("lonely", "lone-ly"), ("idea", "i-de-a"), ("quiet", "qui-et")),
        *(("science", "sci-ence"), ("lighthouse", "light-house"), ("rhythm", "rhy-thm")),
        *(("evening", "eve-ning"), ("table", "ta-ble"), ("being", "be-ing"), ("colour's", "co-lour's")),
    ],
)
def test_syllables_begin_where_they_are_said(word, parts):
    """A silent e ends its syllable, two sounds are parted, and two words in one stay whole."""
    assert split(word) == parts.split("-")


@pytest.mark.parametrize("word", ["潮", "Über", "naïve", "zorrible", "x", "bcd", "", "...", "3.5", "a_b"])
def test_what_no_dictionary_holds_is_not_guessed(word):
    """Other scripts, made-up words and marks are not split, only one plain vowel is one syllable."""
    assert (split(word) or [word]) == [word]


@given(st.text(max_size=40))
@TRIES
def test_no_letter_is_lost(text):
    """Any text is whole again when its syllables are put together, and when its hyphens are taken out."""
    assert "".join(split(text) or [text]) == text
    assert hyphened(text).replace("-", "") in ("", text.strip()) or "-" in text or not text.isalnum()
    assert not hyphened(text) or len(split(text) or []) > 1 or not text.isalnum()

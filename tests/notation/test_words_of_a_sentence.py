"""A sentence in a score is one line of words: a syllable under each sound, as music21 reads it."""

from fractions import Fraction
from itertools import product

import pytest

import rhythmlab as rl
from rhythmlab.export.handout import SPACINGS, WIDTHS, engraved
from rhythmlab.notation.score import score
from rhythmlab.playing.sentence import sentence
from tests.notation.boxes import boxes, collisions
from tests.notation.test_nothing_collides import pages
from tests.notation.test_score_read import by_music21
from tests.profile import some

WORDS = ("*low", "tide", "*har-bour", "*o-ver-board", "on", "*quays")
SAID = [
    (pulses, home)
    for pulses in (*((p, q) for p, q in product(range(1, 11), repeat=2) if p != q), (3, 4, 5), (2, 3, 7))
    for home in range(len(pulses))
]


def said_on(pulses, home):
    """Return words of one, two and three syllables laid on pulses, and the syllables that were typed."""
    sounds, typed = len(rl.composite(pulses)), []
    for word in WORDS * sounds:
        syllables = word.split("-")
        if len(typed) + len(syllables) > sounds:
            break
        typed += [*(f"{one}-" for one in syllables[:-1]), syllables[-1]]
    typed += ["bay"] * (sounds - len(typed))
    return sentence(pulses, " ".join(typed).replace("- ", "-"), home=home), typed


def sung(part):
    """Return where syllables stand in a part, each with a hyphen where its word goes on, by their line."""
    lines: dict[int, list[tuple[Fraction, str]]] = {}
    for note in part.recurse().notes:
        for word in note.lyrics:
            at = Fraction(note.getOffsetInHierarchy(part)).limit_denominator(10_000)
            goes_on = "-" if word.syllabic in ("begin", "middle") else ""
            lines.setdefault(word.number, []).append((at, f"{word.text}{goes_on}"))
    return lines


@pytest.mark.parametrize(
    ("pulses", "home"),
    some(SAID, 20, "sentences", [((3, 2), 1), ((7, 4), 1), ((9, 8), 1), ((3, 4, 5), 0), ((1, 8), 0)]),
)
def test_words_are_one_line_under_the_sounds(pulses, home):
    """In one staff, on one line: every syllable once, in the order of the sounds, each at its sound."""
    it, typed = said_on(pulses, home)
    assert score(it).alt.endswith(f" Say: {it.text}.")
    read = by_music21(score(it).musicxml)
    wanted = [one.replace("*", "") if "*" not in one else one.replace("*", "").upper() for one in typed]
    lines = [(part, line) for part in read.parts for line in sung(part).values()]
    part, line = next((part, line) for part, line in lines if [word for _, word in line] == wanted)
    long = sum(bar.barDuration.quarterLength for bar in part.getElementsByClass("Measure"))
    places = [Fraction(int(tick), it.ticks) for tick in rl.composite(it).onsets]
    assert [at / Fraction(long).limit_denominator(10_000) for at, _ in line] == places


def test_the_line_that_is_said_is_read_and_not_played():
    """Its notes have no loudness for a machine that plays the score, all others as much as ever."""
    *played, line = by_music21(score(said_on((7, 4), 1)[0]).musicxml).parts
    assert {note.volume.velocity for note in line.recurse().notes} == {0}
    assert {note.volume.velocity for part in played for note in part.recurse().notes} == {None}


def test_a_line_without_written_values_has_its_words_above():
    """The line of 61, 62 and 59 strokes cannot be written; the sentence stands whole over the first line."""
    it, _ = said_on((61, 62, 59), 0)
    made = score(it)
    assert made.key.endswith(f"Say: {it.text}")
    assert ">say<" not in made.musicxml


@pytest.mark.parametrize(("pulses", "home"), some(SAID, 60, "sentences engraved", [((7, 4), 1), ((4, 7), 1)]))
def test_no_word_stands_in_another(pulses, home):
    """On a page of its own, and at the widest and the closest of a handout."""
    made = score(said_on(pulses, home)[0])
    assert all(boxes(page) and not collisions(page) for page in pages(made))
    for width, spacing in product((WIDTHS[0], WIDTHS[-1]), (SPACINGS[0], SPACINGS[-1])):
        assert not collisions(engraved(made.musicxml, width, spacing=spacing).svg)

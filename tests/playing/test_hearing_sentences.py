"""What a tempo makes of a rhythm, in sentences: the numbers in them are worked out here on their own."""

from fractions import Fraction

import pytest

import rhythmlab as rl
from rhythmlab.playing.hearing import beat_text, landmarks_text, meet_text, part_text, pull_text, zones_text

SEVEN = rl.Polyrhythm(7, 4)
SIXTEEN = rl.Polyrhythm(16, 15)


@pytest.mark.parametrize(("bpm", "fast"), [(50, False), (51, False), (52, True), (72, True)])
def test_counting_sevenths_is_too_fast_from_51(bpm, fast):
    """7:4 from the 4 has seven parts to a beat, under 167 ms each from just above 51 beats a minute."""
    # Repp, London & Keller 2005, Music Perception 23(1) (volume from memory), first page: about 6 Hz.
    said = part_text(rl.Feel(rl.Polyrhythm(7, 4), home=1), rl.Tempo(bpm, pulse=1))
    assert (Fraction(60_000, 7 * bpm) < Fraction(1000, 6)) is fast
    assert f"7 parts to a beat, {60_000 / 7 / bpm:.0f} ms each" in said
    ending = ", hard at this tempo: uneven groups of parts can be counted from about 167 ms."
    assert said.endswith(ending) is fast
    assert ("hard at this tempo" in said) is fast


@pytest.mark.parametrize(("bpm", "fast"), [(149, False), (150, False), (151, True)])
def test_counting_sixteenths_is_too_fast_below_a_tenth_of_a_second(bpm, fast):
    """7:4 from the 7 has four parts to a beat: 119 ms at 126, and under 100 ms from above 150."""
    # Repp 2006, Advances in Cognitive Psychology 2(2-3), 163-181 (abstract): 100 to 125 ms.
    feel = rl.Feel(rl.Polyrhythm(7, 4), home=0)
    said = part_text(feel, rl.Tempo(bpm, pulse=0))
    ending = ", hard at this tempo: parts can be followed from about 100 ms."
    assert said.endswith(ending) is fast
    assert ("hard at this tempo" in said) is fast
    assert "4 parts to a beat, 119 ms each." in part_text(feel, rl.Tempo(72, pulse=1))


def test_sixteen_against_fifteen_at_60_is_said_to_be_open():
    """The sentence gives the narrowest gap, 62.5 ms, and the whole tempo from which it flams, 94 (93.75)."""
    # The limit of 40 ms: Danielsen et al. 2026 (as summarised elsewhere).
    gaps = rl.phase_gaps(SIXTEEN, of=0, against=1)
    said = zones_text(rl.playing.zones(gaps, rl.Tempo(60, pulse=1)))
    assert "already open: the narrowest gap is 62.5 ms" in said
    assert "flams only from 94 bpm of the 15" in said
    assert "already open" not in zones_text(rl.playing.zones(gaps, rl.Tempo(93.75, pulse=1)))


@pytest.mark.parametrize(("bpm", "words"), [(50, "the 7 tends"), (72, "changes over"), (100, "the 4 tends")])
def test_the_pull_of_seven_against_four_is_said_with_its_band(bpm, words):
    """Below, inside and above the band, which is about 65 to 91 on the 4."""
    # London 2012, Hearing in Time, ch. 2 (abstract): preferred beat 500 to 700 ms.
    said = pull_text(SEVEN, rl.Tempo(bpm, pulse=1))
    assert words in said
    assert "about 65 to 91 bpm of the 4" in said


@pytest.mark.parametrize(
    ("bpm", "words"), [(39, "slower than any"), (40, ""), (300, ""), (301, "faster than any")]
)
def test_a_home_too_fast_or_too_slow_to_be_a_beat_is_said(bpm, words):
    """A beat lies between 200 and 1500 ms, which is 300 to 40 a minute; only outside is a sentence."""
    # London 2012, Hearing in Time, ch. 2 (abstract): 200-250 ms to about 1.5 s.
    said = beat_text(rl.Feel(SEVEN, home=1), rl.Tempo(bpm, pulse=1))
    assert words in said
    assert bool(said) == bool(words)


@pytest.mark.parametrize(("bpm", "seconds", "long"), [(100, "9 seconds", True), (180, "5 seconds", False)])
def test_when_pulses_meet_is_said_and_whether_that_is_a_bar(bpm, seconds, long):
    """16:15 meets once in fifteen beats: 9 seconds at 100, over the longest bar of about 5.5; 5 at 180."""
    # London 2012, Hearing in Time, ch. 2 (abstract): upper bound of any level 5 to 6 s.
    said = meet_text(SIXTEEN, rl.Tempo(bpm, pulse=1), (0, 1))
    assert Fraction(15 * 60, bpm) == int(seconds.split()[0])
    assert seconds in said
    assert ("5.5 seconds" in said) is long


def test_the_landmarks_of_sixteen_against_fifteen_are_said():
    """Home the 15: a of 4, & of 8, e of 12."""
    # Common practice, no source.
    assert "a of 4, & of 8, e of 12" in landmarks_text(rl.Feel(SIXTEEN, home=1), pulse=0)

"""A handout of pulses that are one, or of a pulse against one, is a count, as a teacher gives it."""

import re
from fractions import Fraction
from itertools import chain

import pytest

import rhythmlab as rl
from rhythmlab.export.lesson import of_pair
from rhythmlab.playing.limits import limits

PAIRS = [(1, 1), (2, 2), (4, 4), (9, 9), (3, 1), (1, 3), (8, 2), (5, 1)]


@pytest.mark.parametrize("pair", PAIRS)
@pytest.mark.parametrize("home", [0, 1])
@pytest.mark.parametrize("bpm", [45, 80, 110])
def test_it_says_to_what_to_count_and_no_line_of_hands(pair, home, bpm):
    """One number to count to, steps that count it and nothing else, and the tempos of the ladder in them."""
    lesson = of_pair(rl.Polyrhythm(*pair), rl.Tempo(bpm, pulse=home), home, limits())
    few = max(rl.Polyrhythm(*pair).reduced.pulses)
    if "Count to" not in lesson.way:  # one hand is too slow for so many, so a road is taken
        assert few > 1
        return
    to = few if few > 1 else pair[0] if pair[0] > 1 else 4
    assert lesson.way.startswith(f"Count to {to}, ")
    counted = {" ".join(map(str, range(1, to + 1))), f"1 to {to}"}
    assert {count for _, count in lesson.steps} <= counted
    said = " ".join([lesson.way, *chain(*lesson.steps)]).lower()
    assert not re.search(r"\b(line|together|foot|right, then left|drift)\b", said)
    assert lesson.line is None
    tempos = re.findall(r"at ([\d.]+) bpm", said)
    assert set(tempos) == {lesson.ladder[0]}
    assert lesson.exercises[-1].text.startswith(f"Count to {to} ")


@pytest.mark.parametrize("bpm", [45, 80, 110])
@pytest.mark.parametrize("pulse", [1, 2, 4, 9])
def test_equal_pulses_are_written_and_counted_once(pulse, bpm):
    """There is no second home whose count, notes and tempo are the same again."""
    lesson = of_pair(rl.Polyrhythm(pulse, pulse), rl.Tempo(bpm, pulse=1), 1, limits())
    assert len(lesson.counts) == len(lesson.homes) == 1
    slow = Fraction(lesson.ladder[0]) < 40  # than a beat that is felt: no span begins there
    assert len(lesson.ranges) == (not slow)
    said = " ".join([lesson.tempo, lesson.facts, lesson.way, *lesson.ladder, *chain(*lesson.slip[1:])])
    assert not re.search(r"the (first|second) \d", said)

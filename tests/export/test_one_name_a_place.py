"""On a handout of pulses that drift past each other a place has one name, whatever it is named for."""

import re
from collections import defaultdict
from itertools import chain
from xml.etree import ElementTree

import pytest

import rhythmlab as rl
from rhythmlab.core.feel import Feel
from rhythmlab.draw.scene import Text
from rhythmlab.export.handout import notation
from rhythmlab.export.lesson import of_pair
from rhythmlab.playing.approach import drifts_around
from rhythmlab.playing.hearing import seen_as_gaps
from rhythmlab.playing.limits import limits
from rhythmlab.text.counts import OPENERS
from tests.profile import some

NEAR = [
    (p, q, home)
    for q in range(7, 37)
    for p in range(q + 1, q + q // 7 + 1)
    for home in (0, 1)
    if (ratio := drifts_around(rl.Polyrhythm(p, q))) and (ratio.h, ratio.k) == (1, 1)
]
ALWAYS = [(8, 7, 1), (9, 8, 0), (16, 15, 0), (16, 15, 1), (25, 22, 0), (16, 14, 1), (17, 15, 1)]
WORD = rf"(?:{'|'.join(OPENERS)}|e|&|a|trip|let)"
PLACE = re.compile(rf"(?<![\w&])({WORD}(?: {WORD})?) of (\d+)\b")
STEP = re.compile(rf"beat (\d+) \(the \d+ comes on the ({WORD})\)")


def sheet(p, q, home, bpm):
    """Return the lesson of a pair."""
    return of_pair(rl.Polyrhythm(p, q), rl.Tempo(bpm, pulse=home), home, limits())


def spoken(lesson):
    """Return all that is said of home on a sheet."""
    told = [lesson.facts, *lesson.remarks, lesson.counts[0][1], lesson.way, *lesson.reasons]
    told += [*chain(*lesson.steps), lesson.gap_picture.alt]
    return " ".join([*told, *(one.text + one.answer for one in lesson.exercises)])


def under(musicxml):
    """Return the words under the notes but hands, by the number of their bar, which is a beat of home."""
    found = defaultdict(set)
    for bar in ElementTree.fromstring(musicxml).iter("measure"):
        words = [word.findtext("text").lower() for word in bar.iter("lyric") if word.get("number") == "2"]
        found[int(bar.get("number"))] |= {word for word in words if re.fullmatch(f"{WORD}(?: {WORD})?", word)}
    return found


@pytest.mark.parametrize(("p", "q", "home"), some(NEAR, 25, "names of near pairs", ALWAYS))
def test_a_place_has_one_name_on_a_sheet(p, q, home):
    """In count, steps, pictures, exercises and notes together a beat has no more names than strokes."""
    pair, bpm = rl.Polyrhythm(p, q), 94
    lesson = sheet(p, q, home, bpm)
    names = under(notation(pair, rl.Tempo(bpm, pulse=home), home).musicxml)
    text = spoken(lesson)
    for word, beat in [*PLACE.findall(text), *(found[::-1] for found in STEP.findall(text))]:
        names[int(beat)].add(word)
    step = Feel(pair, home).beat_ticks
    off = [tick // step + 1 for tick in pair.onsets(1 - home).tolist() if tick % step]
    assert all(len(words) <= off.count(beat) for beat, words in names.items()), dict(names)


@pytest.mark.parametrize(("p", "q", "home"), some(NEAR, 25, "landmarks of near pairs", ALWAYS))
def test_the_landmarks_of_neighbours_are_in_all_of_a_sheet(p, q, home):
    """What the picture names, the count and the notes name alike, and nothing else but the beats."""
    pair = rl.Polyrhythm(p, q)
    marks = rl.playing.landmarks(pair, 1 - home, home)
    if not seen_as_gaps(pair) or not marks:
        return
    lesson, step = sheet(p, q, home, 94), Feel(pair, home).beat_ticks
    wanted = {(tick // step + 1, "e&a"[tick % step * 4 // step - 1]) for tick in marks}
    names = under(notation(pair, rl.Tempo(94, pulse=home), home).musicxml)
    assert {(beat, word) for beat, words in names.items() for word in words} == wanted
    assert {(int(beat), word) for word, beat in PLACE.findall(lesson.counts[0][1])} == wanted
    drawn = {(mark.x // step + 1, mark.text) for mark in lesson.gap_picture.marks if isinstance(mark, Text)}
    assert {(beat, word) for beat, word in drawn if word in ("e", "a")} <= wanted

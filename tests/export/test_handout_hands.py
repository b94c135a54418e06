"""Handouts for left-handed players are the same with hands exchanged; a ladder begins where its steps do."""

import json
import re
from dataclasses import replace
from itertools import combinations

import pytest

import rhythmlab as rl
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.draw.scene import Scene, Text
from rhythmlab.draw.svg import LETTERS
from rhythmlab.export.handout import _picture, handout, handout_pack
from rhythmlab.export.lesson import Lesson, of_bars, of_pair
from rhythmlab.notation.score import written
from rhythmlab.panels.handed import hands_file
from rhythmlab.panels.saving import KINDS
from rhythmlab.playing.limits import limits
from rhythmlab.playing.phrasing import Phrase
from tests.profile import some

EXCHANGED = {"right": "left", "left": "right", "Right": "Left", "Left": "Right"}
PAIRS = [*combinations(range(12, 1, -1), 2), (2, 7), (4, 9), (2, 3, 5), (3, 4, 5)]
ALL = [(pair, home, bpm) for pair in PAIRS for home in range(len(pair)) for bpm in (30, 72, 140, 300)]
#: A line, a phrase on the way, a drift, a near ratio, three pulses, and one heard between two players.
ALWAYS = [((7, 4), 1, 72), ((12, 5), 1, 300), ((12, 11), 1, 72), ((11, 6), 1, 140), ((2, 3, 5), 2, 30)]


def exchanged(text: str) -> str:
    """Return a text with left and right exchanged."""
    return re.sub(r"\b(?:right|left)\b", lambda found: EXCHANGED[found[0]], text, flags=re.IGNORECASE)


def with_other_hands(scene: Scene) -> Scene:
    """Return a picture with every letter of a hand, and every hand that is named, exchanged."""
    other = str.maketrans("RL", "LR")
    marks = [
        replace(mark, text=mark.text.translate(other) if mark.role in LETTERS else exchanged(mark.text))
        if isinstance(mark, Text)
        else mark
        for mark in scene.marks
    ]
    return replace(scene, marks=tuple(marks), alt=exchanged(scene.alt))


def told(lesson: Lesson) -> Lesson:
    """Return all that a lesson says for the other hands."""
    line = lesson.line and (with_other_hands(lesson.line[0]), exchanged(lesson.line[1]))
    steps = tuple((exchanged(what), exchanged(count)) for what, count in lesson.steps)
    return replace(
        lesson,
        pictures=tuple(map(with_other_hands, lesson.pictures)),
        line=line,
        steps=steps,
        way=exchanged(lesson.way),
        reasons=tuple(map(exchanged, lesson.reasons)),
    )


@pytest.mark.parametrize(("pair", "home", "bpm"), some(ALL, 24, "left-handed lessons", always=ALWAYS))
def test_what_is_said_and_drawn_has_the_other_hands(pair, home, bpm):
    """Line, letters, limbs, steps: exchanged; every number, count, range, exercise and source as it is."""
    p, tempo = Polyrhythm(*pair), rl.Tempo(bpm, pulse=home)
    right, left = (of_pair(p, tempo, home, limits(), (), hand) for hand in (False, True))
    assert repr(told(right)) == repr(left)
    for mine, other in zip(
        rl.approach(p, tempo, home=home).recommended.steps,
        rl.approach(p, tempo, home=home, left_handed=True).recommended.steps,
        strict=True,
    ):
        swap = str.maketrans("RL", "LR")
        assert [lane.hands.translate(swap) for lane in mine.cycle().lanes] == [
            lane.hands for lane in other.cycle().lanes
        ]
        assert [exchanged(lane.limb) for lane in mine.cycle().lanes] == [
            lane.limb for lane in other.cycle().lanes
        ]
        assert replace(other, what=mine.what, count=mine.count, left_handed=False) == mine


@pytest.mark.parametrize(("pair", "home", "bpm"), some(ALL[::4], 20, "left-handed notes", always=ALWAYS[:1]))
def test_notes_have_the_other_letters(pair, home, bpm):
    """Under the notes R and L are exchanged, and not a stem else."""
    p, tempo = Polyrhythm(*pair), rl.Tempo(bpm, pulse=home)
    right, left = (written(p, tempo, home, left_handed=hand).musicxml for hand in (False, True))
    named = {"R": "L", "L": "R"}
    assert re.sub(r"(?<=<text>)[RL](?=</text>)", lambda found: named[found[0]], right) == left


@pytest.mark.parametrize("pair", [(3, 2), (13, 4)])
def test_a_left_handed_handout_is_the_other_one_mirrored(pair):
    """The whole text at once; title, pages and name of the file are the same."""
    right, left = (handout(pair, 90, left_handed=hand) for hand in (False, True))
    assert exchanged(right.text) == left.text
    assert (right.pages, right.title, right.name) == (left.pages, left.title, left.name)
    assert right.pdf != left.pdf


def test_a_cycle_keeps_the_hands_that_it_has():
    """What was made for a left-handed player is not turned back by its handout, and says its hands."""
    for hand in (False, True):
        moving = rl.playing.accents("2+2+3/8", 5, left_handed=hand)
        assert handout(moving, 180).pdf == handout(moving, 180, left_handed=True).pdf
    assert "L R L L R from each accent" in handout(moving, 180, left_handed=True).text


def test_a_pack_and_a_panel_have_the_hands_of_who_prints_them(tmp_path, monkeypatch):
    """The switch of page 00 goes onto paper; in a pack each handout may have hands of its own."""
    monkeypatch.chdir(tmp_path)
    rows = [{"what": (3, 2), "tempo": 72, "left_handed": hand} for hand in (True, False)]
    first, second = handout_pack(rows, tmp_path / "pack")
    assert first.read_bytes() == handout((3, 2), 72, left_handed=True).pdf
    assert second.read_bytes() == handout((3, 2), 72).pdf
    panel = rl.pages.merge_pulses(3, 2, bpm=72)
    content = panel.export._content()
    for hand in (False, True):
        hands_file().write_text(json.dumps({"left_handed": hand}))
        KINDS["handout (PDF)"][2](content, tmp_path / f"{hand}.pdf", 1, False)
        made = handout((3, 2), content.tempo, title=content.title, left_handed=hand)
        assert (tmp_path / f"{hand}.pdf").read_bytes() == made.pdf


@pytest.mark.parametrize(("pair", "home", "bpm"), some(ALL, 12, "ladders and first steps", always=ALWAYS[:4]))
def test_the_ladder_begins_where_the_first_step_does(pair, home, bpm):
    """One tempo to start at: on the lowest rung, in the first step, and where advice says where to start.

    One pulse alone, which the ones are held over, may start slower than any tempo at which both go.
    """
    p, tempo = Polyrhythm(*pair), rl.Tempo(bpm, pulse=home)
    lesson = of_pair(p, tempo, home, limits())
    tempos = [at[1] for step, _ in lesson.steps if (at := re.search(r"([\d.,]+) bpm", step))]
    alone = "alone, even, and land on the one" in lesson.steps[0][0]
    assert lesson.ladder[0] in (tempos if alone else tempos[:1])
    assert float(tempos[0]) <= float(lesson.ladder[0])
    assert all(f"start at {lesson.ladder[0]} bpm" in said for said in [lesson.way] if "start at" in said)


@pytest.mark.parametrize("pair", some(PAIRS, 12, "rows of pictures", always=[(7, 4), (13, 8)]))
def test_rows_are_higher_where_hands_are_written_and_only_there(pair):
    """40 px where a picture has an R or an L, else 33, of the grid, the line and the strokes of a phrase."""
    p = Polyrhythm(*pair)
    lesson = of_pair(p, rl.Tempo(72, pulse=len(pair) - 1), len(pair) - 1, limits())
    phrase = Phrase([4, 3, 4, 3])
    phrases = [
        of_bars(one, rl.Tempo(96, ticks=4), limits())
        for one in (phrase.cycle(), rl.stick(phrase, 60).cycle())
    ]
    scenes = [scene for one in (lesson, *phrases) for scene in one.pictures]
    written = []
    for scene in [*scenes, *([lesson.line[0]] if lesson.line else [])]:
        hands = any(isinstance(mark, Text) and mark.text in ("R", "L") for mark in scene.marks)
        made = _picture(scene, 440)
        assert made.height == pytest.approx(scene.rows * (40 if hands else 33) * 440 / scene.width)
        written.append(hands)
    assert True in written
    assert False in written

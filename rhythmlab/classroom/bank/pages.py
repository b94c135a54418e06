"""The guesses and exercises of the pages: some are questions of a class in other words, some stand alone."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any

from rhythmlab.classroom.bank.playing import metre_home, phrase_fours, ways_count_ceiling
from rhythmlab.classroom.bank.rhythm import (
    composite_intervals,
    composite_sounds,
    gaps_midway,
    gaps_signed,
    grid_rows,
    grid_ticks,
    place_syllables,
    tempo_flip,
)
from rhythmlab.classroom.bank.template import Number, Template, Version, numbers, part_names
from rhythmlab.classroom.question import Question
from rhythmlab.core.composite import composite
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo


def _page(id: str, skill: str, write: Callable[..., Question], version: Version = ()) -> Template:
    """Return a question of the page that its id names: a guess is one idea, an exercise one idea in full."""
    return Template(id, skill, 1 if id.endswith("guess") else 2, (version,), write, page=id[:2])


def _reworded(id: str, template: Template, version: Version, **words: Any) -> Template:
    """Return a question of a class in the words of a page, which says nothing of likely mistakes."""

    def write(*numbers: Number) -> Question:
        return replace(template.write(*numbers), mistakes={}, **words)

    return _page(id, template.skill, write, version)


#: The questions of the pages, page by page.
QUESTIONS = (
    _reworded(
        "00-guess",
        composite_sounds,
        (5, 4),
        why="5 strokes and 4 strokes make 9, and the one they share is heard once.",
        form="write one number, for example 5.",
    ),
    _page(
        "00-exercise",
        "home and tempo",
        lambda: Question(
            text="5 against 3, home the 3 at 60 bpm: how many sounds are in one cycle, and how many bpm is "
            "the 5?",
            field="sounds, and bpm of the 5",
            parts=("the number of sounds", "the tempo of the 5"),
            right=numbers(len(composite(Polyrhythm(5, 3))), Tempo(60, pulse=1).bpm_of(Polyrhythm(5, 3), 0)),
            why="5 + 3 strokes less the shared one are 7 sounds; five strokes go into the time of three, so "
            "the 5 goes at 60 times 5/3, which is 100 bpm.",
            form="write two numbers, sounds first, for example [9, 120].",
            units=("sound", "bpm"),
        ),
    ),
    _reworded(
        "01-guess",
        grid_ticks,
        (6, 4),
        text="3 against 2 needs a grid of 6 ticks. How many ticks does 6 against 4 need?",
        why="12 is the least common multiple of 6 and 4; 24 would also hold them, but every other tick "
        "would stay empty.",
        form="write one number, for example 5.",
    ),
    _reworded("01-exercise", grid_rows, (4, 3)),
    _page(
        "02-guess",
        "composite",
        lambda: Question(
            text="In 5 against 4, how often in a cycle are two sounds only one tick apart?",
            field="times one tick apart in 5 against 4",
            parts=("the number of times",),
            right=numbers((composite(Polyrhythm(5, 4)).intervals == 1).sum()),
            why="Once after the start and once before the end, since the line reads the same backwards.",
            form="write one number, for example 5.",
            units=("time",),
        ),
    ),
    _reworded(
        "02-exercise",
        composite_intervals,
        (5, 3),
        text="Write the line of 5 against 3 as ticks from each sound to the next.",
    ),
    _reworded(
        "03-guess",
        tempo_flip,
        (4, 3, 90),
        text="4 against 3 with the 3 at 90 bpm: how many bpm is the 4?",
        why="Four strokes go into the time of three, so it is 90 times 4/3.",
        form="write one number, for example 100.",
    ),
    _reworded(
        "03-exercise",
        place_syllables,
        (4, 3),
        text="Count 4 against 3 from the 3, in four parts to a beat (1 e & a): where does each stroke of "
        "the 4 fall?",
        field="four places",
        why="The strokes of the 4 are three sixteenths apart, so each comes one sixteenth earlier in its "
        "beat.",
        form='write the places, for example ["1", "& of 1", "2"].',
    ),
    _reworded(
        "04-guess",
        gaps_midway,
        (32, 31),
        text="32 against 31 counted from the 31: on the & of which beat is the 32 exactly midway?",
        why="Half the strokes of the 32 are half the cycle, and half of 31 beats is fifteen and a half: the "
        "& of 16.",
        form="write one number, for example 3.",
    ),
    _reworded(
        "04-exercise",
        gaps_signed,
        (8, 7),
        text="8 against 7, home the 7: write the gap of each stroke of the 8 from its nearest beat in "
        "ticks, negative where it comes before the beat.",
        field="eight gaps in ticks",
        why="Each stroke comes one tick earlier than the one before, until it is exactly midway, 4 ticks "
        "from both beats, so -4 is as true as 4; from there the gap closes from the other side.",
        form="write the ticks, for example [0, -1, 2, 1] for 4 against 3; exactly "
        "midway either sign will do.",
    ),
    _page(
        "05-guess",
        "ways to learn",
        lambda: Question(
            text="5 against 4, home the 4 at 60 bpm: how many ms does each of the five parts of a beat last?",
            field="ms in one of five parts of a beat at 60",
            parts=("the ms",),
            right=numbers(1000 * Tempo(60, pulse=1).tick_seconds(Polyrhythm(5, 4))),
            why="A beat at 60 lasts 1000 ms, and five parts share it.",
            form="write one number, for example 100.",
            units=("ms",),
        ),
    ),
    _reworded(
        "05-exercise",
        ways_count_ceiling,
        (5, 4, 6, 100),
        text="5 against 4: up to which bpm of the 4 can five parts to a beat be counted at six parts a "
        "second, and up to which bpm of the 5 four parts of 100 ms?",
        parts=("counted from the 4", "counted from the 5"),
        why="Six parts a second are 360 a minute, five to a beat; four parts of 100 ms make 400 ms.",
        form="write two numbers, for example [60, 60].",
    ),
    _page(
        "06-guess",
        "phrasing",
        lambda: Question(
            text="Fours, as many as fit, and one three at the end: how many groups are there in 23?",
            field="groups in 23",
            parts=("the number of groups",),
            right=numbers(len(phrase_fours.write(23).right)),
            why="Five fours are 20, and the three makes 23.",
            form="write one number, for example 4.",
            units=("group",),
        ),
    ),
    _reworded(
        "06-exercise",
        phrase_fours,
        (27,),
        text="27 as groups: fours, as many as fit, and a three at the end.",
        why="Six fours are 24, and the three makes 27.",
        form="write the groups, for example [4, 4, 4, 3] for 15.",
    ),
    _page(
        "07-guess",
        "metre and meeting points",
        lambda: Question(
            text="An accent on every third sixteenth of 4/4: after how many bars is one on the 1 again?",
            field="bars until it is on the 1 again",
            parts=("the bars",),
            right=metre_home.write("4/4", 3).right[:1],
            why="Sixteen and three have no common factor, so they meet after 48 sixteenths.",
            form="write one number, for example 2.",
            units=("bar",),
        ),
    ),
    _reworded(
        "07-exercise",
        metre_home,
        ("9/8", 7),
        text="An accent on every seventh eighth of 9/8: after how many bars is one on the 1 again, and how "
        "many accents were there?",
        field="bars and accents",
        parts=("bars", "accents"),
        why="Nine and seven have no common factor, so they meet after 63 eighths.",
        form="write two numbers, for example [3, 4].",
    ),
    _page(
        "08-guess",
        "hearing",
        lambda: Question(
            text="Beats 600 ms apart, and your strokes spread by 24 ms round them: how many percent of the "
            "interval is that?",
            field="24 ms in percent of 600 ms",
            parts=("the percent",),
            right=numbers(Fraction(24 * 100, 600)),
            why="24 is a twenty-fifth of 600: about what novices reach with a click, and twice what the "
            "best trained tappers do.",
            form="write one number, for example 10.",
            units=("percent",),
        ),
    ),
    _page(
        "08-exercise",
        "home and tempo",
        lambda: Question(
            text="4 against 3, home the 3 at 100 bpm: by how many ms may the strokes of the 3 spread, and "
            "by how many those of the 4, to stay at 4 percent of their own interval?",
            field="two spreads in ms",
            parts=("the 3", "the 4"),
            right=tuple(
                Fraction(4, 100) * 60_000 / Tempo(100, pulse=1).bpm_of(Polyrhythm(4, 3), pulse)
                for pulse in (1, 0)
            ),
            why="The 3 comes every 600 ms and the 4 every 450, so the faster pulse has the less room.",
            form="write two numbers, for example [30, 20].",
            units=("ms",),
        ),
    ),
    _page(
        "09-guess",
        "reading notation",
        lambda: Question(
            text="4 against 3 in a bar of 3/4, home the 3: how many sixteenths long is one stroke of the 4?",
            field="sixteenths to a stroke of the 4",
            parts=("the sixteenths",),
            right=numbers(Fraction(3 * 4, 4)),
            why="The bar has twelve sixteenths, and the 4 shares them evenly: three each, a dotted eighth.",
            form="write one number, for example 2.",
            units=("sixteenth",),
        ),
    ),
    _page(
        "09-exercise",
        "reading notation",
        lambda: Question(
            text="7 against 4 in a bar of 7/4, home the 7: how many sixteenths long is one stroke of the 4, "
            "and on which sixteenths of the bar, from 1 to 28, do its four strokes begin?",
            field="length and places in sixteenths",
            parts=("the length", *part_names("stroke", 4)),
            right=numbers(7, *(tick + 1 for tick in Polyrhythm(7, 4).onsets(1))),
            why="The bar has 28 sixteenths, and the 4 shares them evenly: seven each, tied over the beats.",
            form="write five numbers, for example [5, 1, 6, 11, 16] for 5 against 4.",
            units=("sixteenth",),
        ),
    ),
)

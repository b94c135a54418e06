"""The guesses and exercises of the pages, each with the answer that the library works out."""

from fractions import Fraction

from rhythmlab import words
from rhythmlab.classroom.question import Question, parts_named
from rhythmlab.core.composite import composite
from rhythmlab.core.feel import Feel, Place
from rhythmlab.core.gaps import midway, phase_gaps
from rhythmlab.core.polyrhythm import Polyrhythm, grid
from rhythmlab.core.tempo import Tempo


def _numbers(*values: object) -> tuple[Fraction, ...]:
    return tuple(Fraction(value) for value in values)


def _place_scale(feel: Feel, pulse: int) -> tuple[str, ...]:
    parts = feel.parts(pulse)
    every = (Place(beat, part, parts) for beat in range(1, feel.beats + 1) for part in range(1, parts + 1))
    return tuple(words.place_name(place) for place in every)


def _all() -> tuple[Question, ...]:
    seven_four, five_three, six_four = Polyrhythm(7, 4), Polyrhythm(5, 3), Polyrhythm(6, 4)
    four_three, five_four = Polyrhythm(4, 3), Polyrhythm(5, 4)
    sixteen, eight = Polyrhythm(16, 15), Polyrhythm(8, 7)
    shortest = int((composite(five_four).intervals == 1).sum())
    intervals = composite(five_three).intervals.tolist()
    boxes = tuple("".join("x" if on else "." for on in row) for row in grid(four_three).rows)
    feel = Feel(four_three, home=1)
    counted = tuple(words.place_name(place) for place in feel.places(0))
    gaps = phase_gaps(eight, of=0, against=1).ticks.tolist()
    return (
        Question(
            "00-guess",
            "composite",
            "How many separate sounds do 7 against 4 make in one cycle?",
            "sounds in one cycle of 7 against 4",
            ("the number of sounds",),
            _numbers(len(composite(seven_four))),
            "7 strokes and 4 strokes make 11, and the one they share is heard once.",
            "write one number, for example 5.",
            ("sound",),
        ),
        Question(
            "00-exercise",
            "home and tempo",
            "5 against 3, home the 3 at 60 bpm: how many sounds are in one cycle, and how many bpm is the 5?",
            "sounds, and bpm of the 5",
            ("the number of sounds", "bpm of the 5"),
            _numbers(len(composite(five_three)), Tempo(60, pulse=1).bpm_of(five_three, 0)),
            "5 + 3 strokes less the shared one are 7 sounds; five strokes go into the time of three, so the "
            "5 goes at 60 times 5/3, which is 100 bpm.",
            "write two numbers in the brackets, sounds first, for example answer=[9, 120].",
            ("sound", "bpm"),
        ),
        Question(
            "01-guess",
            "grid",
            "How many ticks has the smallest grid that holds 6 against 4?",
            "ticks in the grid of 6 against 4",
            ("the number of ticks",),
            _numbers(six_four.ticks),
            "12 is the least common multiple of 6 and 4; 24 would also hold them, but every other tick "
            "would stay empty.",
            "write one number, for example 5.",
            ("tick",),
        ),
        Question(
            "01-exercise",
            "grid",
            "Write 4 against 3 on the grid they share, the row of the 4 first: x for a stroke and a dot for "
            "an empty tick.",
            "two rows of x and .",
            ("the row of the 4", "the row of the 3"),
            boxes,
            "The grid has 12 ticks: the 4 has a stroke every 3 ticks, the 3 every 4.",
            'write two rows in quotes, for example answer=["x.x.x.", "x..x.."] for 3 against 2.',
        ),
        Question(
            "02-guess",
            "composite",
            "In 5 against 4, how often in a cycle are two sounds only one tick apart?",
            "times one tick apart in 5 against 4",
            ("the number of times",),
            _numbers(shortest),
            "Once after the start and once before the end, since the line reads the same backwards.",
            "write one number, for example 5.",
            ("time",),
        ),
        Question(
            "02-exercise",
            "composite",
            "Write the line of 5 against 3 as ticks from each sound to the next.",
            "ticks from sound to sound",
            parts_named("interval", len(intervals)),
            _numbers(*intervals),
            "It reads the same backwards and adds up to the 15 ticks of the grid.",
            "write the ticks in the brackets, for example answer=[2, 1, 1, 2] for 3 against 2.",
            ("tick",),
        ),
        Question(
            "03-guess",
            "home and tempo",
            "7 against 4 with the 4 at 72 bpm: how many bpm is the 7?",
            "bpm of the 7",
            ("the tempo of the 7",),
            _numbers(Tempo(72, pulse=1).bpm_of(seven_four, 0)),
            "Seven strokes go into the time of four, so it is 72 times 7/4.",
            "write one number, for example 100.",
            ("bpm",),
        ),
        Question(
            "03-exercise",
            "place in the count",
            "Count 4 against 3 from the 3, in four parts to a beat (1 e & a): where does each stroke of the "
            "4 fall?",
            "four places",
            parts_named("place", len(counted)),
            counted,
            "The strokes of the 4 are three sixteenths apart, so each comes one sixteenth earlier in its "
            "beat.",
            'write the places in quotes, for example answer=["1", "& of 1", "2"].',
            ("part",),
            _place_scale(feel, 0),
        ),
        Question(
            "04-guess",
            "gaps and zones",
            "16 against 15 counted from the 15: on the & of which beat is the 16 exactly midway?",
            "the 16 is midway on the & of beat",
            ("the beat",),
            _numbers(midway(sixteen, 0, 1) // sixteen.step(1) + 1),
            "Half the strokes of the 16 are half the cycle, and half of 15 beats is seven and a half, which "
            "is the & of 8.",
            "write one number, for example 3.",
            ("beat",),
        ),
        Question(
            "04-exercise",
            "gaps and zones",
            "8 against 7, home the 7: write the gap of each stroke of the 8 from its nearest beat in ticks, "
            "negative where it comes before the beat.",
            "eight gaps in ticks",
            parts_named("gap", len(gaps)),
            _numbers(*gaps),
            "Each stroke comes one tick earlier than the one before, until 4 ticks are exactly midway; from "
            "there the next beat is the nearest, and the gap closes from the other side.",
            "write the ticks in the brackets, for example answer=[0, -1, 2, 1] for 4 against 3.",
            ("tick",),
        ),
    )


QUESTIONS = {one.id: one for one in _all()}

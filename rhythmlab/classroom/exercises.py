"""The guesses and exercises of the pages, each with the answer that the library works out."""

from fractions import Fraction

from rhythmlab import words
from rhythmlab.classroom.question import Question, parts_named
from rhythmlab.core.composite import composite
from rhythmlab.core.feel import Feel, Place
from rhythmlab.core.gaps import midway, phase_gaps
from rhythmlab.core.grid import grid
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.playing.groove import accents
from rhythmlab.playing.metre import metre
from rhythmlab.playing.phrasing import phrases


def _numbers(*values: object) -> tuple[Fraction, ...]:
    return tuple(Fraction(value) for value in values)


def _fours(number: int) -> tuple[int, ...]:
    """Return a number as fours and one three."""
    found = phrases(number, allowed=(3, 4), most=100)
    return next(one.groups for one in found if one.groups.count(3) == 1 and one.groups[-1] == 3)


def _place_scale(feel: Feel, pulse: int) -> tuple[str, ...]:
    parts = feel.parts(pulse)
    every = (Place(beat, part, parts) for beat in range(1, feel.beats + 1) for part in range(1, parts + 1))
    return tuple(words.place_name(place) for place in every)


def _other_ways(feel: Feel, pulse: int) -> dict[str, str]:
    """Return other ways to write a place, "1a" and "1.4", each with the way it is said, "a of 1"."""
    ways = {}
    for beat in range(1, feel.beats + 1):
        for part in range(1, feel.parts(pulse) + 1):
            place = Place(beat, part, feel.parts(pulse))
            short = f"{beat}{words.mark(place)}" if part > 1 else str(beat)
            ways |= {way: words.place_name(place) for way in (short, f"{beat}.{part}")}
    return ways


def _all() -> tuple[Question, ...]:
    five_three, six_four = Polyrhythm(5, 3), Polyrhythm(6, 4)
    four_three, five_four = Polyrhythm(4, 3), Polyrhythm(5, 4)
    large, eight = Polyrhythm(32, 31), Polyrhythm(8, 7)
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
            "How many separate sounds do 5 against 4 make in one cycle?",
            "sounds in one cycle of 5 against 4",
            ("the number of sounds",),
            _numbers(len(composite(five_four))),
            "5 strokes and 4 strokes make 9, and the one they share is heard once.",
            "write one number, for example 5.",
            ("sound",),
        ),
        Question(
            "00-exercise",
            "home and tempo",
            "5 against 3, home the 3 at 60 bpm: how many sounds are in one cycle, and how many bpm is the 5?",
            "sounds, and bpm of the 5",
            ("the number of sounds", "the tempo of the 5"),
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
            "4 against 3 with the 3 at 90 bpm: how many bpm is the 4?",
            "bpm of the 4",
            ("the tempo of the 4",),
            _numbers(Tempo(90, pulse=1).bpm_of(four_three, 0)),
            "Four strokes go into the time of three, so it is 90 times 4/3.",
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
            _other_ways(feel, 0),
        ),
        Question(
            "04-guess",
            "gaps and zones",
            "32 against 31 counted from the 31: on the & of which beat is the 32 exactly midway?",
            "the 32 is midway on the & of beat",
            ("the beat",),
            _numbers(midway(large, 0, 1) // large.step(1) + 1),
            "Half the strokes of the 32 are half the cycle, and half of 31 beats is fifteen and a half: the "
            "& of 16.",
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
            "Each stroke comes one tick earlier than the one before, until it is exactly midway, 4 ticks "
            "from both beats, so -4 is as true as 4; from there the gap closes from the other side.",
            "write the ticks in the brackets, for example answer=[0, -1, 2, 1] for 4 against 3; exactly "
            "midway either sign will do.",
            ("tick",),
            same={Fraction(-4): Fraction(4)},
        ),
        Question(
            "05-guess",
            "ways to learn",
            "5 against 4, home the 4 at 60 bpm: how many ms does each of the five parts of a beat last?",
            "ms in one of five parts of a beat at 60",
            ("the ms",),
            _numbers(1000 * Tempo(60, pulse=1).tick_seconds(five_four)),
            "A beat at 60 lasts 1000 ms, and five parts share it.",
            "write one number, for example 100.",
            ("ms",),
        ),
        Question(
            "05-exercise",
            "ways to learn",
            "5 against 4: up to which bpm of the 4 can five parts to a beat be counted at six parts a "
            "second, and up to which bpm of the 5 four parts of 100 ms?",
            "two ceilings in bpm",
            ("counted from the 4", "counted from the 5"),
            _numbers(
                Fraction(6 * 60, Feel(five_four, 1).parts(0)),
                Fraction(60_000, 100 * Feel(five_four, 0).parts(1)),
            ),
            "Six parts a second are 360 a minute, five to a beat; four parts of 100 ms make 400 ms.",
            "write two numbers, for example answer=[60, 60].",
            ("bpm",) * 2,
        ),
        Question(
            "06-guess",
            "phrasing",
            "Fours, as many as fit, and one three at the end: how many groups are there in 23?",
            "groups in 23",
            ("the number of groups",),
            _numbers(len(_fours(23))),
            "Five fours are 20, and the three makes 23.",
            "write one number, for example 4.",
            ("group",),
        ),
        Question(
            "06-exercise",
            "phrasing",
            "27 as groups: fours, as many as fit, and a three at the end.",
            "groups of 27",
            parts_named("group", len(_fours(27))),
            _numbers(*_fours(27)),
            "Six fours are 24, and the three makes 27.",
            "write the groups in the brackets, for example answer=[4, 4, 3] for 11.",
            ("stroke",) * len(_fours(27)),
        ),
        Question(
            "07-guess",
            "metre and meeting points",
            "An accent on every third sixteenth of 4/4: after how many bars is one on the 1 again?",
            "bars until it is on the 1 again",
            ("the bars",),
            _numbers(len(accents(metre("4/4"), 3).bars)),
            "Sixteen and three have no common factor, so they meet after 48 sixteenths.",
            "write one number, for example 2.",
            ("bar",),
        ),
        Question(
            "07-exercise",
            "metre and meeting points",
            "An accent on every seventh eighth of 9/8: after how many bars is one on the 1 again, and how "
            "many accents were there?",
            "bars and accents",
            ("bars", "accents"),
            _numbers(len(accents(metre("9/8"), 7).bars), len(accents(metre("9/8"), 7).lanes[-1].onsets)),
            "Nine and seven have no common factor, so they meet after 63 eighths.",
            "write two numbers, for example answer=[3, 4].",
            ("bar", "accent"),
        ),
        Question(
            "08-guess",
            "hearing",
            "Beats 600 ms apart, and your strokes spread by 24 ms round them: how many percent of the "
            "interval is that?",
            "24 ms in percent of 600 ms",
            ("the percent",),
            _numbers(Fraction(24 * 100, 600)),
            "24 is a twenty-fifth of 600: about what novices reach with a click, and twice what the best "
            "trained tappers do.",
            "write one number, for example 10.",
            ("percent",),
        ),
        Question(
            "08-exercise",
            "home and tempo",
            "4 against 3, home the 3 at 100 bpm: by how many ms may the strokes of the 3 spread, and by how "
            "many those of the 4, to stay at 4 percent of their own interval?",
            "two spreads in ms",
            ("the 3", "the 4"),
            tuple(
                Fraction(4, 100) * 60_000 / Tempo(100, pulse=1).bpm_of(four_three, pulse) for pulse in (1, 0)
            ),
            "The 3 comes every 600 ms and the 4 every 450, so the faster pulse has the less room.",
            "write two numbers, for example answer=[30, 20].",
            ("ms",) * 2,
        ),
        Question(
            "09-guess",
            "reading notation",
            "4 against 3 in a bar of 3/4, home the 3: how many sixteenths long is one stroke of the 4?",
            "sixteenths to a stroke of the 4",
            ("the sixteenths",),
            _numbers(Fraction(3 * 4, 4)),
            "The bar has twelve sixteenths, and the 4 shares them evenly: three each, a dotted eighth.",
            "write one number, for example 2.",
            ("sixteenth",),
        ),
        Question(
            "09-exercise",
            "reading notation",
            "7 against 4 in a bar of 7/4, home the 7: how many sixteenths long is one stroke of the 4, and "
            "on which sixteenths of the bar, from 1 to 28, do its four strokes begin?",
            "length and places in sixteenths",
            ("the length", *parts_named("stroke", 4)),
            _numbers(7, *(int(tick) + 1 for tick in Polyrhythm(7, 4).onsets(1))),
            "The bar has 28 sixteenths, and the 4 shares them evenly: seven each, tied over the beats.",
            "write five numbers, for example answer=[5, 1, 6, 11, 16] for 5 against 4.",
            ("sixteenth",) * 5,
        ),
    )


QUESTIONS = {one.id: one for one in _all()}

"""What a handout says, before it is laid out: facts, counts, the way to learn, a ladder, exercises, a slip.

Everything here is text, numbers and scenes; `handout` puts it on paper and into its text.
"""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise
from math import ceil

import numpy as np

from rhythmlab.core.check import FASTEST
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, Lane, renamed
from rhythmlab.core.feel import Feel, OwnGroups, Place, own_row, places
from rhythmlab.core.gaps import midway, phase_gaps
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.draw.fit import asked
from rhythmlab.draw.gap_cycle import gap_cycle
from rhythmlab.draw.pictures import shared_grid, strip, strip_in_words
from rhythmlab.draw.scene import WIDTH, Scene
from rhythmlab.playing.approach import Approach, Reason, Way, approach, drifts_around
from rhythmlab.playing.fill import Fill
from rhythmlab.playing.groove import Accents
from rhythmlab.playing.hands import Soon, ceiling, hand_of, limbs
from rhythmlab.playing.hearing import ear_landmarks, landmark_name, landmarks_text, seen_as_gaps, zones
from rhythmlab.playing.learning import BELOW, Step, counted_to, inside
from rhythmlab.playing.limits import Limits
from rhythmlab.playing.metre import NOTES, Bars, note_name, told_places, with_article
from rhythmlab.playing.named import bar_of, groups_of_phrase, name_of, tick_of
from rhythmlab.playing.ostinato import Ostinato
from rhythmlab.playing.patterns import SLOW_MS
from rhythmlab.playing.saying import up_to_text
from rhythmlab.playing.sentence import Sentence, said_in_a_line
from rhythmlab.playing.sticking import Sticking, stick, stroke_name
from rhythmlab.practice.ladder import Ladder
from rhythmlab.practice.session import CARE
from rhythmlab.refusal import Refusal
from rhythmlab.resources import table
from rhythmlab.text import descriptions, numbers, sentences
from rhythmlab.text.counts import LONGEST_SAID, aloud, falls, part_words, said_alone, said_name
from rhythmlab.text.descriptions import about_bpm, bpm_text
from rhythmlab.text.sentences import say, verb

#: Most rungs of a ladder, most boxes in a row to fill in, most sounds of a line to write, on paper.
RUNGS, BOXES, SOUNDS = 8, 36, 16
#: Most pictures of bars under each other, and px that the two closest sounds need in one.
MOST_ROWS, CLOSEST = 3, 14
#: Most letters of a lane's name beside a picture.
LONGEST_NAME = 18
#: Most strokes and most names that are written out.
MOST_WORDS = 16
#: Why a count of two equal pulses goes no slower and no faster.
_TOGETHER = ("slow part", "each hand")
_CARE = ("practice_break", "loudness", "loudness_week_child")


# What a handout says


@dataclass(frozen=True, slots=True)
class Exercise:
    """Something to work out with a pencil.

    Attributes
    ----------
    text, answer : str
        The question, and the answer that the library works out.
    boxes, every : int
        Empty boxes to write in, and every how many a beat begins; none where a line will do.
    """

    text: str
    answer: str
    boxes: int = 0
    every: int = 1


@dataclass(frozen=True, slots=True)
class Lesson:
    """All that is said on a handout.

    Attributes
    ----------
    name : str
        What it is about, such as "7 against 4".
    tempo, facts : str
        Under the title.
    remarks : tuple of str
        What should be known first, such as that the pair teaches nothing new.
    picture_title : str
        Over the pictures.
    pictures : tuple of Scene
        The grid, or the bars.
    counts : tuple of (str, str)
        Home, and the count from it.
    homes : tuple of int or None
        Counted from which pulses it is written as notes; ``None`` for bars, which have their own beat.
    gap_picture : Scene or None
        The gap cycle, where there is one to follow.
    line : (Scene, str) or None
        Where the way plays the whole line as one: that line with its hands, and what is said to it; where it
        begins with something else, that.
    line_title : str
        Over the line.
    way : str
        The way to learn it at this tempo, in a sentence.
    ranges : tuple of (str, str, str, str)
        Way, floor, ceiling, and whether it fits now.
    unit : str
        What floors and ceilings are counted in.
    reasons, steps : tuple
        Why, in sentences; what to practise, each with its count.
    said : tuple of ((int, int) or None)
        Which ticks of the line each step says, hand to hand; none where it says something else.
    ladder : tuple of str
        Tempos from slow to fast.
    exercises : tuple of Exercise
        Three.
    slip : tuple of (str, str)
        Label, and what is filled in.
    sources, cautions : tuple of str
        For the small print.
    """

    name: str
    tempo: str
    facts: str
    remarks: tuple[str, ...]
    picture_title: str
    pictures: tuple[Scene, ...]
    counts: tuple[tuple[str, str], ...]
    homes: tuple[int | None, ...]
    gap_picture: Scene | None
    way: str
    ranges: tuple[tuple[str, str, str, str], ...]
    unit: str
    reasons: tuple[str, ...]
    steps: tuple[tuple[str, str], ...]
    ladder: tuple[str, ...]
    exercises: tuple[Exercise, ...]
    slip: tuple[tuple[str, str], ...]
    sources: tuple[str, ...] = field(default=())
    cautions: tuple[str, ...] = field(default=())
    line: tuple[Scene, str] | None = None
    line_title: str = "The line"
    said: tuple[tuple[int, int] | None, ...] = ()

    @property
    def table(self) -> tuple[tuple[str, ...], ...]:
        """The ranges, those that work at no tempo joined in one row at the end."""
        rows = [row for row in self.ranges if row[1] != "–"]
        never = [row[0] for row in self.ranges if row[1] == "–"]
        if not never:
            return tuple(rows)
        never = [never[0], *(f"{name[0].lower()}{name[1:]}" for name in never[1:])]
        return (*rows, (sentences.listed(never), "–", "–", "at no tempo"))


# What every handout has


def _ends(low: Fraction | None, high: Fraction | None) -> tuple[str, str]:
    """Write the ends of a range of tempos as whole numbers inside it; with digits where none is inside."""
    slow = "no limit" if low is None else bpm_text(inside(low, high, up=True))
    fast = "no limit" if high is None else bpm_text(inside(high, low, up=False))
    return slow, fast


def rungs(now: Fraction, goal: Fraction) -> tuple[str, ...]:
    """Return the tempos of a ladder that fits on paper, slow to fast.

    Examples
    --------
    >>> rungs(Fraction(44), Fraction(72)), rungs(Fraction(50), Fraction(429, 2))[-2:]
    (('44', '48', '52', '56', '60', '64', '68', '72'), ('194', '214.5'))

    Of tempos that look the same on paper, the last stands.

    >>> rungs(Fraction(13, 10), Fraction(4, 3))
    ('1.3',)
    """
    if goal > FASTEST or now >= goal:
        return (bpm_text(goal),)
    by = max(1, ceil((goal - now) / (RUNGS - 1)))
    steps = Ladder(now, goal, step=by).steps
    if len(steps) > 2 and 2 * (steps[-1] - steps[-2]) < by:
        steps = (*steps[:-2], steps[-1])
    said = [bpm_text(step) for step in steps]
    return tuple(one for one, after in zip(said, [*said[1:], ""], strict=True) if one != after)


def slip(name: str, goal: str, home: str) -> tuple[tuple[str, str], ...]:
    """Return the lines of a lesson slip: what is known is filled in, the rest is left to write."""
    test = "First take of a day: spread at most 4 % of the interval, at most 1 in 20 missed."
    return (
        ("Rhythm", name),
        ("Home", home),
        ("Limbs", ""),
        ("Tempo now", ""),
        ("Goal", goal),
        ("Date", ""),
        ("The spot", ""),
        ("The test", test),
    )


def cautions(rows: Limits) -> tuple[str, ...]:
    """Return what to take care of, with its numbers from the limits."""
    pause, more, loud, child = (
        rows[key] for key in ("practice_break", "practice_increase", "loudness", "loudness_week_child")
    )
    n = numbers.number
    return (
        f"Hands: warm up first. A break of {n(pause.value)} {pause.unit}, at most {n(more.value)} "
        f"{more.unit} more than before. {CARE}",
        f"Ears: start quiet; {n(loud.value)} {loud.unit} is the limit at work, and every "
        f"{n(rows['loudness_exchange'].value)} dB more halves the time (NIOSH); for children "
        f"{n(child.value)} {child.unit} (WHO). Wear protection at acoustic drums, and never turn headphones "
        "up over them.",
    )


def _citation(row: Mapping[str, str]) -> str:
    """Write a source with how it was read."""
    return f"{row['citation']} [{row['read'] if row['read'][:2] != '20' else 'read'}]"


def sources(named: Iterable[str], rows: Limits) -> tuple[str, ...]:
    """Return the citations of the sources named and of the cautions, in the order of the limits.

    Parameters
    ----------
    named : iterable of str
        Keys of sources; empty ones are ignored.  Common practice comes last.
    rows : Limits
        The limits in use.
    """
    used = set(named)
    borrowed = [row for row in rows.values() if row.source in used and row.status != "moved"]
    keys = [
        row.source
        for key, row in rows.items()
        if key in _CARE or (row in borrowed and row.status != "common practice")
    ]
    known = {row["key"]: row for row in table("sources.csv")}
    return tuple(_citation(known[key]) for key in dict.fromkeys((*keys, *(row.source for row in borrowed))))


# Pulses against each other


def _window(p: Polyrhythm, home: int) -> dict[str, int]:
    """Return the window that a gap cycle is drawn from: the first 200 beats of a long cycle."""
    return {} if max(p.pulses) <= 1000 else {"start": 0, "stop": min(p.ticks, 200 * p.step(home))}


def told_by_landmarks(p: Polyrhythm, home: int) -> bool:
    """Whether a sheet names of all places only the landmarks by ear, so that each has one name on it.

    Two pulses that drift past each other are counted so, but where the words of all parts are the same.

    Examples
    --------
    >>> [told_by_landmarks(Polyrhythm(*pair), 0) for pair in ((16, 15), (9, 8), (7, 6), (17, 15), (7, 4))]
    [True, True, False, False, False]
    """
    ratio = drifts_around(p)
    if ratio is None or (ratio.h, ratio.k) != (1, 1) or sum(p.pulses) > 1000:
        return False
    feel = Feel(p, home)
    return bool(ear_landmarks(feel, 1 - home)) and (seen_as_gaps(p) or feel.parts(1 - home) > 6)


def _drift(p: Polyrhythm, home: int) -> str:
    """Say the count of a drift from a home: how it moves, and its landmarks by ear."""
    feel, other = Feel(p, home), 1 - home
    few, moving = p.reduced.pulses, descriptions.pulse_name(p, other)
    way = "earlier" if few[other] > few[home] else "later"
    far = Fraction(abs(few[other] - few[home]), few[other])
    marks = ear_landmarks(feel, other)
    named = numbers.some(landmark_name(feel, mark) for mark in marks)
    ones = numbers.some(range(1, p.pulses[home] + 1, few[home]), 6)
    said = "" if marks[0].between else f" (say {aloud(1, 4)})"
    return f"together on {ones}, then {moving} is {far} of a beat {way} each time: {named}{said}."


def _count(p: Polyrhythm, tempo: Tempo, home: int, groups: OwnGroups, rows: Limits) -> str:
    """Say the count from a home, and up to which tempo it is said; where home is too long, how many parts."""
    if told_by_landmarks(p, home):
        return _drift(p, home)
    feel = Feel(p, home, groups=groups)
    if max(p.pulses) > 1000:
        parts = sentences.listed([str(feel.parts(i)) for i in range(len(p.pulses)) if i != home])
        return f"{parts} parts to a beat, too many to write out."
    long = [
        feel.parts(i)
        for i in range(len(p.pulses))
        if feel.parts(i) > LONGEST_SAID and part_words(feel.parts(i), groups=own_row(groups, feel.parts(i)))
    ]
    slower = up_to_text(tempo.bpm_of(p, home), Fraction(max(long)), rows) if long else ""
    return f"{falls(feel, short=True)}{slower}."


def _tempo(p: Polyrhythm, tempo: Tempo, home: int) -> str:
    """Say the tempo in home and in every other pulse; a very slow one is not rounded to none."""
    said = [
        f"{about_bpm(tempo.bpm_of(p, i))} bpm of {descriptions.pulse_name(p, i)}"
        for i in range(len(p.pulses))
    ]
    return f"{said.pop(home)} is {sentences.listed(said)}"


def _ways_of_other_homes(found: Approach) -> list[Way]:
    """Return the first two ways to count that are counted from another home."""
    return [way for way in found.counts if way.home != found.home][:2]


def _range_row(way: Way, home: int) -> tuple[str, str, str, str]:
    """Return the row of a way: its name, its slowest and fastest tempo, and whether it fits."""
    floor, ceiling = _ends(way.floor_of(home), way.ceiling_of(home)) if way.possible else ("–", "–")
    return sentences.capital(way.label), floor, ceiling, way.verdict(home)


def _goal(best: Way, bpm: Fraction, home: int) -> Fraction:
    """Return the tempo wanted, or the nearest one at which the last step is played."""
    return best.steps[-1].bpm * _share(best, home) if best.steps else bpm


def _share(best: Way, home: int) -> Fraction:
    """Return beats of home for each beat that the way is counted in."""
    pulses = best.polyrhythm.pulses
    return Fraction(pulses[home], pulses[best.home])


def _line(p: Polyrhythm, best: Way, groups: OwnGroups) -> tuple[Scene, str] | None:
    """Draw the line that the way plays as one, with its hands, and say it; ``None`` where it does not."""
    whole = [
        step for step in best.steps if step.start == 0 and step.stop in (p.meet(), p.ticks) and not step.up
    ]
    merged = next((step for step in whole if step.merged), None)
    if merged is None:
        return _road(best, groups)
    if len(composite(p)) > BOXES:
        return None
    both = next((step for step in whole if not step.merged and len(step.lanes) == len(p.pulses)), None)
    said = [f"Hand to hand: {merged.count}."]
    if both is not None:
        said.append(f"{both.what}: {both.count}.")
    once = merged.stop - merged.start  # of a line that changes hands, the first time
    return strip(merged.cycle(), stop=once, groups=groups), " ".join(said)


def _road(best: Way, groups: OwnGroups) -> tuple[Scene, str] | None:
    """Draw what a road begins with, a nearer pair or one pulse hand to hand over the foot, and say it."""
    if not best.road or not best.steps:
        return None
    first, *after = best.steps
    fuller = bool(after) and first.streams and len(after[0].lanes) > len(first.lanes)
    drawn = after[0] if fuller else first
    cycle, once = drawn.cycle(), drawn.stop - drawn.start  # of a cycle that changes hands, the first time
    if len(composite(cycle, stop=once)) > BOXES:
        return None
    said = [f"{step.what}: {step.count}." for step in dict.fromkeys((first, drawn))]
    return strip(cycle, stop=once, groups=groups), " ".join(said)


def _third_of_pair(p: Polyrhythm, home: int, other: int) -> Exercise:
    """Ask for the stroke midway between two beats where the pair drifts, else for its line."""
    name, moving = descriptions.pulse_name(p, home), descriptions.pulse_name(p, other)
    again = " (the first time)" if p.repeats > 1 else ""
    if seen_as_gaps(p) and (middle := midway(p, home, other)) is not None:
        return Exercise(
            f"Which beat of {name} is exactly midway between two strokes of {moving}{again}?",
            f"beat {middle // p.step(home) + 1}",
        )
    if drifts_around(p) is not None and (middle := midway(p, other, home)) is not None:
        return Exercise(
            f"Between which two beats of {name} is a stroke of {moving} exactly midway{again}?",
            f"after beat {middle // p.step(home) + 1}, on its &",
        )
    step, beats = p.step(home), p.pulses[home]
    most = min(beats, max(1, SOUNDS * p.meet() // (step * max(1, sum(p.reduced.pulses) - 1))))
    line = composite(p, start=0, stop=most * step)
    over = "" if most == beats else f" in the first {numbers.plural(most, 'beat')} of {name}"
    return Exercise(
        f"Write the line you hear{over} as ticks from each sound to the next.",
        numbers.some(line.intervals.tolist(), SOUNDS, " "),
    )


def _exercises_of_pair(p: Polyrhythm, tempo: Tempo, home: int) -> tuple[Exercise, ...]:
    """Return three exercises: write a pulse from memory, reckon a tempo, find a place in the line."""
    other = next(i for i in range(len(p.pulses)) if i != home)
    name, moving = descriptions.pulse_name(p, home), descriptions.pulse_name(p, other)
    step, beats = p.step(home), p.pulses[home]
    fits = min(beats, BOXES // step)
    if fits:
        over = "" if fits == beats else f" over the first {numbers.plural(fits, 'beat')} of {name}"
        row = p.onsets(other, start=0, stop=fits * step).tolist()
        boxes = "".join("x" if tick in row else "." for tick in range(fits * step))
        first = Exercise(
            f"Cover the grid. Write {moving}{over}, one box a tick: x for a stroke.", boxes, fits * step, step
        )
    else:
        strokes = p.onsets(other, start=0, stop=min(p.ticks, 4 * p.step(other))).tolist()
        first = Exercise(
            f"On which ticks of the grid do the first {len(strokes)} strokes of {moving} fall?",
            ", ".join(map(numbers.number, strokes)),
        )
    faster = Fraction(ceil(tempo.bpm_of(p, home) * Fraction(11, 10)))
    quick = Tempo(faster, pulse=home)
    second = Exercise(
        f"With {name} at {bpm_text(faster)} bpm: how many bpm is {moving}, and how long is one cycle?",
        f"{bpm_text(quick.bpm_of(p, other))} bpm, {numbers.seconds(quick.cycle_seconds(p))}",
    )
    return first, second, _third_of_pair(p, home, other)


def of_pair(
    p: Polyrhythm,
    tempo: Tempo,
    home: int,
    rows: Limits,
    groups: OwnGroups = (),
    left_handed: bool = False,
) -> Lesson:
    """Return what a handout says about pulses against each other.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> found = of_pair(Polyrhythm(7, 4), Tempo(72, pulse=1), 1, limits())
    >>> found.way
    'Learn the line: 10 sounds in 3.3 seconds, the closest 119 ms apart. Recommended up to 133 bpm; it fits \
up to 205.'
    """
    found = approach(p, tempo, home=home, limits=rows, left_handed=left_handed, groups=groups)
    best, name = found.recommended, descriptions.pulse_name(p, home)
    drifting = drifts_around(p)
    gap_picture, marks = None, ""
    if drifting is not None:
        gap_picture = gap_cycle(zones(phase_gaps(p, 1 - home, home, **_window(p, home)), tempo, limits=rows))
        if (drifting.h, drifting.k) == (1, 1) and sum(p.pulses) <= 1000:
            marks = landmarks_text(Feel(p, home), 1 - home)
    others = [i for i in range(len(p.pulses)) if i != home]
    meets = descriptions.common_factor(p) if p.repeats > 1 else ""
    steps = tuple(
        (
            step.describe(
                of=(step.home if step.of < 0 else step.of) != home, tempo=step.bpm != before or step.up
            ),
            step.count,
        )
        for step, before in zip(best.steps, (None, *(step.bpm for step in best.steps)), strict=False)
    )
    goal = _goal(best, tempo.bpm_of(p, home), home)
    reasons = tuple(cause.describe(of=cause.home != home) for cause in best.causes)  # of home it is said once
    if any(reach.way and reach.way is not best for reach in found.ranges):
        reasons = (*reasons, found.changes_text(of=False))
    lesson = Lesson(
        name=descriptions.pair(p),
        tempo=_tempo(p, tempo, home),
        facts=f"Home is {name}. {sentences.capital(descriptions.facts(p, tempo))}.",
        remarks=tuple(filter(None, (descriptions.nothing_new_text(p) or meets, marks))),
        picture_title="The grid they share",
        pictures=(shared_grid(p.cycle(home)),),
        counts=tuple(
            (
                f"From {descriptions.pulse_name(p, i)} ({about_bpm(tempo.bpm_of(p, i))} bpm)",
                _count(p, tempo, i, groups, rows),
            )
            for i in (home, *others)
        ),
        homes=(home, *others)[:3],
        gap_picture=gap_picture,
        way=sentences.sentences(found.lead(of=False), found.reach),
        ranges=tuple(
            _range_row(way, home) for way in (*found.ways[:2], *_ways_of_other_homes(found), *found.ways[2:])
        ),
        unit=f"bpm of {name}",
        reasons=reasons,
        steps=steps,
        ladder=rungs(found.start, goal),
        exercises=_exercises_of_pair(p, tempo, home),
        slip=slip(descriptions.pair(p), f"{about_bpm(goal)} bpm of {name}", name),
        sources=sources((cause.source for cause in best.causes), rows),
        cautions=cautions(rows),
        line=_line(p, best, groups),
        line_title="What to begin with" if best.road else "The line",
        said=tuple((step.start, step.stop) if _is_line(step, p) else None for step in best.steps),
    )
    if one_sound(p):
        return _counted_together(lesson, p, found, rows)
    return replace(lesson, exercises=_of_one(lesson.exercises, p)) if counted_to(p) else lesson


def one_sound(p: Polyrhythm) -> bool:
    """Whether two pulses are the same, so that both hands have every stroke.

    Examples
    --------
    >>> [one_sound(Polyrhythm(*pair)) for pair in ((1, 1), (4, 4), (3, 1))]
    [True, True, False]
    """
    return p.reduced.pulses == (1, 1)


def _of_one(exercises: tuple[Exercise, ...], p: Polyrhythm) -> tuple[Exercise, ...]:
    """Return the exercises, with one that is worth a pencil in place of a line of ones."""
    to, many = counted_to(p), 4
    asked = f"Count to {to} {numbers.times(many)}: how many strokes has each hand?"
    return (*exercises[:-1], Exercise(asked, f"{to * many} and {many}"))


def _counted_together(lesson: Lesson, p: Polyrhythm, found: Approach, rows: Limits) -> Lesson:
    """Return the lesson of two equal pulses as a teacher gives it: one count, both hands on each number."""
    home, count = found.home, next((way for way in found.counts if way.home == found.home), None)
    bpm = found.ways[0].bpm
    if count is None or count.verdict(home) != "fits":
        return replace(lesson, line=None)
    slower = found.start < (count.floor_of(home) or 0)  # than a beat that is felt, as any start may be
    told = [cause for cause in count.causes if cause.kind in _TOGETHER[slower:]]
    to = p.pulses[0] if p.pulses[0] > 1 else 4
    said = " ".join(map(str, range(1, to + 1))) if to <= 8 else f"1 to {to}"
    ladder = rungs(found.start, bpm)
    steps = (
        (f"Count aloud and play one hand on every number, at {ladder[0]} bpm.", said),
        ("Play the other hand alone in the same way.", said),
        ("Play both hands on every number, so that two strokes are one sound.", said),
        *(
            [(f"Speed up only as far as they stay one sound, up to {ladder[-1]} bpm.", said)]
            * (len(ladder) > 1)
        ),
    )
    faster = Fraction(ceil(bpm * Fraction(11, 10)))
    first, takes = lesson.exercises[0], numbers.seconds(60 * to / faster)
    return replace(
        lesson,
        tempo=f"{about_bpm(bpm)} bpm",
        facts=f"{sentences.capital(descriptions.facts(p, Tempo(bpm, pulse=home)))}.",
        unit="bpm",
        slip=slip(lesson.name, f"{ladder[-1]} bpm", "every number"),
        counts=(("Count", f"{said}, both hands on every number."),),
        homes=lesson.homes[:1],
        way=sentences.sentences(
            f"Count to {to}, both hands on every number: start at {ladder[0]} bpm.", found.reach
        ),
        ranges=() if slower else (_range_row(count, home),),
        reasons=tuple(cause.describe(of=False) for cause in told),
        sources=sources((cause.source for cause in told), rows),
        steps=steps,
        said=(None,) * len(steps),
        ladder=ladder,
        line=None,
        exercises=(
            first,
            Exercise(f"At {bpm_text(faster)} bpm: how long is it to count to {to} once?", takes),
            Exercise(
                f"Count to {to} four times: how many strokes has each hand, and how many sounds are heard?",
                f"{4 * to}, {4 * to}",
            ),
        ),
    )


def _is_line(step: Step, p: Polyrhythm) -> bool:
    """Whether a step plays a part of the whole line, hand to hand."""
    return step.merged and step.polyrhythm == p and len(step.lanes) == len(p.pulses)


def with_sentence(lesson: Lesson, said: Sentence, groups: OwnGroups = (), *, printed: bool = True) -> Lesson:
    """Return the lesson with a sentence on the line that is heard, above the counts and in its steps.

    Where its letters cannot be `printed`, the counts and steps stay as they are, to be said instead.
    """
    told = tuple(
        (text, said_in_a_line(said, *where) if where and printed else count)
        for (text, count), where in zip(lesson.steps, lesson.said, strict=True)
    )
    return replace(
        lesson,
        steps=told,
        picture_title="The line that is heard, and what is said on it",
        pictures=(strip(said, groups=groups),),
        counts=(("Say", f"{said.text}."), *lesson.counts) if printed else lesson.counts,
    )


# A cycle of lanes: its pictures and counts


def _short_names(cycle: Cycle) -> Cycle:
    """Return a cycle whose names leave room for its strokes."""
    if all(len(lane.name) <= LONGEST_NAME for lane in cycle.lanes):
        return cycle
    lanes = [
        Lane(
            lane.name if len(lane.name) <= LONGEST_NAME else f"{lane.name[: LONGEST_NAME - 1]}…",
            *(lane.onsets, lane.limb, lane.sound, lane.accents, lane.ghosts, lane.hands),
        )
        for lane in cycle.lanes
    ]
    return renamed(cycle, lanes)


def _bar_end(bars: list[int], i: int, each: int, stop: int) -> int:
    """Return the tick at which a row of so many bars ends."""
    return bars[i + each] if i + each < len(bars) else stop


def bars_drawn(cycle: Cycle, groups: OwnGroups = (), words: Sequence[str] = ()) -> tuple[Scene, ...]:
    """Draw the bars in as many rows as they need to be read, three at most, whole bars in each."""
    cycle = _short_names(cycle)
    start, stop = asked(cycle, None, None)
    line = composite(cycle, start=start, stop=stop)
    bars = [tick for tick in cycle.bars.tolist() if start <= tick < stop]
    closest = int(np.diff(line.onsets).min()) if len(line.onsets) > 1 else stop - start
    for count in range(1, MOST_ROWS + 1):
        each = -(-len(bars) // count) if bars else 1
        if not bars or each * (count - 1) >= len(bars) or count > len(bars):
            break
        longest = max(_bar_end(bars, i, each, stop) - bars[i] for i in range(0, len(bars), each))
        if (WIDTH - 100) * closest / longest >= CLOSEST or count == MOST_ROWS:
            break
    else:
        each = len(bars)
    if not bars or each >= len(bars) or bars[0] != start:
        return (strip_in_words(cycle, words, start=start, stop=stop, groups=groups),)
    return tuple(
        strip_in_words(cycle, words, start=bars[i], stop=_bar_end(bars, i, each, stop), groups=groups)
        for i in range(0, len(bars), each)
    )


def _unit(cycle: Cycle, tempo: Tempo) -> str:
    """Say what a tempo counts: a written note, a lane, or ticks."""
    ticks = tempo.beat_ticks(cycle)
    bar = bar_of(cycle)
    whole = bar.unit * bar.parts if bar else 16 if cycle.written else 0
    note = note_name(Fraction(ticks, whole)) if whole else ""
    if note:
        return f"bpm of {with_article(note)}"
    if tempo.pulse is not None:
        return f"bpm of the {cycle.lanes[tempo.pulse].name}"
    if len(cycle.beats) > 1 and ticks == cycle.beat and not cycle.written:
        return "bpm"
    return f"bpm of {numbers.plural(ticks, 'stroke' if groups_of_phrase(cycle) else 'tick')}"


def _description(cycle: Cycle, tempo: Tempo) -> str:
    """Return how the cycle describes itself; empty where it does not."""
    return cycle.describe(tempo) if isinstance(cycle, Fill | Accents | Ostinato) else ""


def _runs(whole: Iterable[int]) -> list[str]:
    """Return numbers with neighbours joined: 1, 2, 3, 5 are 1 to 3 and 5."""
    found: list[list[int]] = []
    for number in whole:
        if found and number == found[-1][1] + 1:
            found[-1][1] = number
        else:
            found.append([number, number])
    return [str(a) if a == b else f"{a} to {b}" for a, b in found]


#: Beats a minute, the ticks of such a beat, the limits of who says them, and what the tempo counts.
_Speed = tuple[Fraction, int, Limits, str]


def _places(cycle: Cycle, lane: Lane, own: OwnGroups, speed: _Speed, words: Sequence[str] = ()) -> str:
    """Say on which counts a lane plays, bar by bar where there are bars, alike bars once."""
    if not len(cycle.beats):
        return f"ticks {numbers.some(lane.onsets.tolist(), MOST_WORDS)}"
    if words:
        edges = pairwise([*cycle.beats.tolist(), cycle.ticks])
        spoken = [" ".join(words[tick % len(words)] for tick in range(a, b)) for a, b in edges]
        return numbers.some(spoken, MOST_WORDS, " | ")
    if groups := groups_of_phrase(cycle):
        return numbers.some(
            [aloud(i + 1, size, max(groups), own_row(own, size)) for i, size in enumerate(groups)],
            MOST_WORDS,
            " | ",
        )
    if isinstance(cycle, Bars):
        every = tuple(told_places(cycle, lane.onsets, 0, cycle.ticks, own).values())
    else:
        every = tuple(places(cycle, lane.onsets))  # in parts that all strokes of the lane share
    words = _words_of(every, own, cycle, speed)
    named = [said_name(one, own_row(own, one.parts)) for one in every]
    if not isinstance(cycle, Bars):
        return f"{numbers.some(named, MOST_WORDS)}{words}"
    bar, first, beats = cycle.metre.ticks, getattr(cycle, "from_bar", 1), len(cycle.metre.groups)
    every = tuple(replace(one, beat=(one.beat - 1) % beats + 1) for one in every)
    named = [said_name(one, own_row(own, one.parts)) for one in every]
    inside: list[list[str]] = [[] for _ in cycle.bars]
    for tick, name in zip(lane.onsets.tolist(), named, strict=True):
        inside[tick // bar].append(name)
    rows: dict[str, list[int]] = {}
    for i, names in enumerate(inside):
        rows.setdefault(numbers.some(names, MOST_WORDS) or "rest", []).append(i + first)
    if len(rows) == 1:
        said = f"{next(iter(rows))} in every bar" if len(cycle.bars) > 1 else next(iter(rows))
        return f"{said}{words}"
    said = "; ".join(
        f"bar{'s' * (len(n) > 1)} {numbers.some(_runs(n), 8)}: {said}" for said, n in rows.items()
    )
    return f"{said}{words}"


def _words_of(every: Sequence[Place], own: OwnGroups, cycle: Cycle, speed: _Speed) -> str:
    """Say how a beat of five parts or more is said, and up to which tempo; empty where there is none."""
    lengths = np.diff(np.append(cycle.beats, cycle.ticks + cycle.beats[0]))
    long = {
        (one.parts, one.longest): int(lengths[(one.beat - 1) % len(lengths)])
        for one in every
        if one.parts > LONGEST_SAID and one.part > 1
    }
    known = [((parts, longest, own_row(own, parts)), ticks) for (parts, longest), ticks in long.items()]
    said = [(aloud(1, *one), Fraction(one[0], ticks)) for one, ticks in known if part_words(*one)]
    if not said:
        return ""
    bpm, counted, rows, unit = speed
    slower = up_to_text(bpm, counted * max(a_tick for _, a_tick in said), rows, unit)
    return f" (say {sentences.listed([words for words, _ in said])}){slower}"


# A cycle of lanes: tempos, steps and exercises


@dataclass(frozen=True, slots=True)
class _Bound:
    """A demand on the tempo, and the reason with its slowest and fastest tempo, where there is one.

    What is true only slower than its floor and only faster than its ceiling is said; what it is about first.
    """

    label: str
    cause: Reason | None
    slower: str = ""
    faster: str = ""
    about: str = ""

    @property
    def floor(self) -> Fraction | None:
        """Slowest tempo, where there is one."""
        return self.cause.floor if self.cause else None

    @property
    def ceiling(self) -> Fraction | None:
        """Fastest tempo, where there is one."""
        return self.cause.ceiling if self.cause else None

    @property
    def never(self) -> bool:
        """Whether no tempo keeps it, as where a beat is a note long and another eight."""
        return self.floor is not None and self.ceiling is not None and self.floor > self.ceiling

    def describe(self) -> str:
        """Say why, with its tempos."""
        if self.cause is None:
            return ""
        cause = replace(self.cause, floor=None, ceiling=None) if self.never else self.cause
        return f"{self.about}{cause.describe()}{' No tempo makes all of them so.' * self.never}"

    def row(self, now: Fraction) -> tuple[str, str, str, str]:
        """Return its row of the table."""
        if self.never:
            return self.label, "–", "–", "at no tempo"
        return self.label, *_ends(self.floor, self.ceiling), _verdict(now, self)


def _tick_ms(cycle: Cycle, tempo: Tempo) -> Fraction:
    """Return the milliseconds of a tick, exact."""
    return 1000 * tempo.tick_seconds(cycle)


def _advised(cycle: Cycle, tempo: Tempo, rows: Limits) -> Sticking | None:
    """Return the hands that are advised for a phrase which nobody was given, as page 06 advises them."""
    groups = groups_of_phrase(cycle)
    if not groups or cycle.lanes[0].hands or cycle.lanes[0].limb not in ("", "hands"):
        return None
    for speed in ({"tempo": tempo}, {"ms": SLOW_MS}):  # slower, where it is too fast for any hands
        with suppress(Refusal):
            return stick(groups, limits=rows, **speed)
    return None


def _limbs_bound(cycle: Cycle, tempo: Tempo, rows: Limits) -> _Bound:
    """Return the fastest tempo at which every limb keeps up, round and round, and which stroke sets it."""
    bound = ceiling(cycle, cycle.ticks, hand_of(rows))
    faster = "a limb no longer keeps up"
    if bound is None:
        return _Bound("Every limb keeps up", None, faster=faster)
    cause = Reason(
        kind="limb",
        limit=bound.limit,
        limb=_limb_and_stroke(cycle, bound),
        ms=_tick_ms(cycle, tempo) * bound.apart,
        ceiling=bound.bpm(tempo.beat_ticks(cycle)),
    )
    return _Bound("Every limb keeps up", cause, faster=faster)


def _limb_and_stroke(cycle: Cycle, bound: Soon) -> str:
    """Name a limb and its stroke that sets a ceiling: in a sticking by its group, else by its count."""
    limb, tick, beats = bound.limb, bound.tick, cycle.beats
    if not any(part in limb for part in ("hand", "foot", "feet")):  # a lane that nobody was given
        limb = say("why.in_one_hand", lane=limb)
    if isinstance(cycle, Bars):
        bar, inside = divmod(tick, cycle.metre.ticks)
        place = cycle.metre.describe(inside)
        if len(cycle.bars) > 1:
            first = getattr(cycle, "from_bar", 1)
            return say("why.limb_bar", limb=limb, place=place, bar=bar + first)
        return say("why.limb_place", limb=limb, place=place)
    if not len(beats):
        return say("why.limb_tick", limb=limb, tick=tick)
    if len(cycle.lanes) == 1 and cycle.lanes[0].hands:
        lane = cycle.lanes[0]
        ends = np.searchsorted(lane.onsets, [*beats[1:], cycle.ticks])
        at, groups = int(np.searchsorted(lane.onsets, tick)), np.diff(ends, prepend=0).tolist()
        return say("why.limb_group", limb=limb, stroke=stroke_name(lane.hands, groups, at))
    place = said_alone(places(cycle, np.array([tick], np.int64))[0])
    return say("why.limb_place", limb=limb, place=place)


def _beats_in_ticks(cycle: Cycle, counted: int) -> list[int]:
    """Return how long the beats are that a sheet writes 1, 2, 3 under, each length once, short to long.

    In uneven bars these are the groups, and not the `counted` ticks of the note of the tempo.
    """
    if len(cycle.beats) < 2 or groups_of_phrase(cycle):
        return [counted]
    lengths = np.diff(np.append(cycle.beats, cycle.ticks + cycle.beats[0]))
    return sorted(set(lengths.tolist()))


def _listed(said: Sequence[str]) -> str:
    """List a few, and of many the ends."""
    return sentences.listed(list(said)) if len(said) <= 4 else numbers.some(said, 4)


def _beat_bound(cycle: Cycle, tempo: Tempo, rows: Limits) -> _Bound:
    """Return the tempos at which every beat that is counted is felt as a beat."""
    limit, counted = rows["beat"], tempo.beat_ticks(cycle)
    lengths = _beats_in_ticks(cycle, counted)
    low = Fraction(60_000 * lengths[-1], counted) / limit.high
    high = Fraction(60_000 * lengths[0], counted) / limit.low
    cause = Reason(kind="beat", limit=limit, floor=low, ceiling=high)
    about = ""
    if lengths != [counted]:
        bar = bar_of(cycle)
        note, parts = (NOTES[bar.unit], bar.parts) if bar else (tick_of(cycle), 1)
        longs = [_tick_ms(cycle, tempo) * ticks / 1000 for ticks in lengths]
        last, sizes = (
            _listed([numbers.number(one, 2) for one in row])
            for row in (longs, [Fraction(ticks, parts) for ticks in lengths])
        )
        about = f"The beats counted last {last} seconds ({sizes} {note}{'s' * (lengths[-1] != parts)}). "
    one = "a beat" if len(cycle.beats) else "it"
    return _Bound(
        "Every beat is felt as a beat" if len(lengths) > 1 else "The beat is felt as a beat",
        cause,
        f"{one} is too {'long' if len(cycle.beats) else 'slow'} to be felt as one",
        f"{one} is too {'short' if len(cycle.beats) else 'fast'} to be felt as one",
        about,
    )


def _bar_bound(cycle: Cycle, tempo: Tempo, rows: Limits) -> _Bound:
    """Return the slowest tempo at which a bar is felt as a whole."""
    if not isinstance(cycle, Bars):
        return _Bound("A bar is felt as one", None)
    longest, ticks = rows["bar_longest"], cycle.metre.ticks
    floor = Fraction(60_000 * ticks, tempo.beat_ticks(cycle)) / longest.value
    cause = Reason(kind="bar", limit=longest, ms=_tick_ms(cycle, tempo) * ticks, floor=floor)
    return _Bound("A bar is felt as one", cause, "a bar is too long to be felt as one")


def _verdict(now: Fraction, end: _Bound) -> str:
    """Say whether a tempo fits a demand, or from or up to where it would."""
    low, high = _ends(end.floor, end.ceiling)
    if end.floor is not None and now < end.floor:
        return f"only from {low} bpm"
    if end.ceiling is not None and now > end.ceiling:
        return f"only up to {high} bpm"
    return "fits"


def _feet_and_rest(cycle: Cycle) -> tuple[list[str], list[str]]:
    """Return the limbs of a cycle, by name: feet, and all else."""
    names = list(limbs(cycle))
    feet = [limb for limb in names if "foot" in limb or "feet" in limb]
    return feet, [limb for limb in names if limb not in feet]


def _as_one(names: Sequence[str]) -> list[str]:
    """Return limbs with both hands, and both feet, as one."""
    both = {("right hand", "left hand"): "hands", ("right foot", "left foot"): "feet"}
    found = list(names)
    for two, one in both.items():
        if set(two) <= set(found):
            found = [one if name == two[0] else name for name in found if name != two[1]]
    return found


@dataclass(frozen=True, slots=True)
class _Climb:
    """Where to start and where to go, in beats of the tempo, and what is said of it.

    The goal keeps every demand, where any tempo does; else what hands and feet demand.
    """

    start: Fraction
    goal: Fraction
    state: str


def _climb(now: Fraction, ends: Sequence[_Bound], unit: str) -> _Climb:
    """Choose the tempos of a sheet, so that its goal is never one that it calls too slow or too fast."""
    floors = [end for end in ends if end.floor is not None]
    ceilings = [end for end in ends if end.ceiling is not None]
    low = max(floors, key=lambda end: end.floor or Fraction(0), default=None)
    high = min(ceilings, key=lambda end: end.ceiling or Fraction(0), default=None)
    floor, ceiling = low.floor if low else None, high.ceiling if high else None
    never = floor is not None and (floor > FASTEST or (ceiling is not None and floor > ceiling))
    if never:
        most = min((end.ceiling for end in ends if end.ceiling is not None and not end.slower), default=None)
        goal = now if most is None or now <= most else inside(most, None, up=False)
    elif floor is not None and now < floor:
        goal = inside(floor, ceiling, up=True)
    else:
        goal = now if ceiling is None or now <= ceiling else inside(ceiling, floor, up=False)
    least = max(now, goal * BELOW) if goal > now else max(goal * BELOW, min(floor or Fraction(0), goal))
    start = inside(goal * BELOW if never else least, goal, up=True)
    first = bpm_text(start)
    go = f"play it at {first} {unit}"
    if bpm_text(goal) != first:
        go = f"start at {first} {unit} and go up to {bpm_text(goal)}"
    if never:
        return _Climb(start, goal, f"{go}; no tempo keeps all of what is below")
    if goal > now:
        assert low is not None
        return _Climb(start, goal, f"{go}; slower, {low.slower}")
    if goal < now:
        assert high is not None
        return _Climb(start, goal, f"{go}; faster, {high.faster}")
    return _Climb(start, goal, f"it fits here, at {about_bpm(now)} {unit}")


def _way_text(cycle: Cycle, state: str) -> str:
    """Say how to learn it, of what there is to play, and at which tempos."""
    feet, rest = _feet_and_rest(cycle)
    hands = "the hands" if len(rest) > 1 or "hands" in "".join(rest) else "the hand"
    over = hands if all("hand" in limb for limb in rest) else "the rest"
    order = "Say it first, then play it"
    if feet and rest:
        order = f"{'Feet' if len(feet) > 1 or 'feet' in feet[0] else 'The foot'} first, then {over} over it"
    return f"{order}: {state}."


def _steps(
    cycle: Cycle, start: str, own: OwnGroups, speed: _Speed, spoken: Sequence[str]
) -> tuple[tuple[str, str], ...]:
    """Return what to practise: feet, hands spoken, hands played, all of it, one spot."""
    feet, rest = map(_as_one, _feet_and_rest(cycle))
    counted = len(cycle.beats) > 0
    found = []
    if feet:
        runs = (
            "they run by themselves"
            if len(feet) > 1
            else verb(feet[0], "it runs by itself", "they run by themselves")
        )
        alone = f"alone until {runs}" if rest or len(feet) > 1 else f"until {runs}"
        found.append(
            (
                f"Play the {sentences.listed(feet)} {alone}.",
                "count every beat" if counted else "the counts above",
            )
        )
    if rest:
        over = " over it" if feet else " while you tap the beat" if counted else ""
        what, words = sentences.listed(rest), "a ta for each stroke"
        if groups_of_phrase(cycle):
            what, words = "count", _places(cycle, cycle.lanes[0], own, speed, spoken)
            over += _slides(cycle, speed[1]) if over and not feet else ""
        found.append((f"Say the {what}{over}.", words))
        alone = " alone" if feet or len(rest) > 1 else " slowly"
        counting = " and count aloud" if counted else ""
        found.append((f"Play the {sentences.listed(rest)}{alone}{counting}.", "the counts above"))
    by_bar = (
        "one bar at a time, then without a stop" if len(cycle.bars) > 1 else "round and round without a stop"
    )
    all_of_it = "all of it" if len(feet) + len(rest) > 1 else "it"
    found.append(
        (f"Play {all_of_it}, {by_bar}.", "the bar and its beats" if isinstance(cycle, Bars) else "the ones")
    )
    if isinstance(cycle, Fill):
        bar = cycle.enter // cycle.metre.ticks + 1
        goes_on = "enter and land; the feet go on" if feet else "enter and land"
        found.append((f"Loop bar {bar} and the beat it lands on.", goes_on))
    elif isinstance(cycle, Accents):
        found.append(("Start from another bar of the cycle.", f"bars 1 to {len(cycle.bars)}"))
    elif isinstance(cycle, Ostinato) and feet and rest:
        found.append(("Start from each place where a hand meets a foot.", "the meetings above"))
    text, count = found[0]
    found[0] = (f"{text[:-1]}, at {start}.", count)
    return tuple(found)


def _inside(lane: Lane, bar: int, length: int) -> list[int]:
    """Return the ticks of a lane in a bar, counted from its beginning."""
    onsets = lane.onsets[(lane.onsets >= bar * length) & (lane.onsets < (bar + 1) * length)]
    inside: list[int] = (onsets - bar * length).tolist()
    return inside


def _first_of_bars(cycle: Cycle) -> Exercise:
    """Ask for the strokes of a lane, or the hands of a fill, from memory."""
    lane = next((lane for lane in reversed(cycle.lanes) if len(lane.onsets)), None)
    if lane is None:
        return Exercise("How many beats has it?", numbers.plural(len(cycle.beats), "beat"))
    if isinstance(cycle, Fill):
        hands = lane.hands or "RL" * len(lane.onsets)
        return Exercise(
            f"Cover the picture. Write the hands of the fill, {numbers.plural(len(lane.onsets), 'stroke')}, "
            "R or L one box a stroke.",
            hands,
            min(len(lane.onsets), BOXES),
            BOXES,
        )
    length = cycle.metre.ticks if isinstance(cycle, Bars) else cycle.ticks
    bars = len(cycle.bars) if isinstance(cycle, Bars) else 1
    bar = next(i for i in (*range(min(1, bars - 1), bars), 0) if _inside(lane, i, length))
    inside, which = _inside(lane, bar, length), bar + getattr(cycle, "from_bar", 1)
    of = f" in bar {which}" if bars > 1 else ""
    if len(inside) == length > 1 and length <= BOXES:  # a box for each would all be x
        first = bar * length
        row = "".join("x" if tick in lane.accents else "." for tick in range(first, first + length))
        hands = lane.hands[first : first + length]
        by_hands = len(set(hands)) > 1
        asked, what, text = ("hands", "R or L", hands) if by_hands else ("accents", "x for an accent", row)
        whose = "" if asked == lane.name else f" of the {lane.name}"
        return Exercise(
            f"Cover the picture. Write the {asked}{whose}{of}, one box a stroke: {what}.",
            text,
            length,
            length,
        )
    if length <= BOXES:
        row = "".join("x" if tick in inside else "." for tick in range(length))
        gap = int(np.gcd.reduce(np.diff(np.append(cycle.beats, cycle.ticks)))) if len(cycle.beats) else length
        box = with_article(tick_of(cycle))
        text = f"Cover the picture. Write the {lane.name}{of}, one box {box}: x for a stroke."
        return Exercise(text, row, length, gap if gap > 1 else length)
    said = numbers.some(inside, MOST_WORDS)
    return Exercise(f"On which ticks{of} does the {lane.name} play, counted from 0?", said)


def _exercises_of_bars(cycle: Cycle, tempo: Tempo, now: Fraction, unit: str) -> tuple[Exercise, ...]:
    """Return three exercises: write a lane from memory, reckon a length, count what is together."""
    faster = Fraction(ceil(now * Fraction(11, 10)))
    takes = tempo.cycle_seconds(cycle) * now / faster
    second = Exercise(f"How long is it once through at {bpm_text(faster)} {unit}?", numbers.seconds(takes))
    return _first_of_bars(cycle), second, _third_of_bars(cycle)


def _slides(cycle: Cycle, beat_ticks: int) -> str:
    """Say of a phrase that a steady beat slides against it, where it holds no whole number of beats."""
    if cycle.ticks % beat_ticks == 0:
        return ""
    return f", which slides: {numbers.plural(cycle.ticks, 'stroke')} are no whole number of beats"


def _third_of_bars(cycle: Cycle) -> Exercise:
    """Ask how often lanes sound together, where there are several; else how many strokes are on a beat.

    The beat of a phrase is a steady one, which its groups are not: it is asked how many strokes begin one.
    """
    played = [lane for lane in cycle.lanes if len(lane.onsets)]
    if len(played) > 1:
        together = int((composite(cycle).pulses.sum(axis=1) > 1).sum())
        lanes = "both lanes" if len(played) == 2 else "two or more lanes"
        return Exercise(
            f"How often do {lanes} sound together once through?",
            numbers.times(together) if together else "never",
        )
    onsets = played[0].onsets if played else cycle.beats[:0]
    if len(cycle.beats):
        on = int(np.isin(onsets, cycle.beats).sum())
        where = "begin a group" if groups_of_phrase(cycle) else "are on a beat"
        question = f"How many strokes has it once through, and how many of them {where}?"
        return Exercise(question, f"{len(onsets)}, {on}")
    return Exercise("How many strokes has it once through?", str(len(onsets)))


def of_bars(
    cycle: Cycle, tempo: Tempo, rows: Limits, groups: OwnGroups = (), words: Sequence[str] = ()
) -> Lesson:
    """Return what a handout says about a cycle of lanes; a phrase is said in the words, where there are any.

    Examples
    --------
    >>> from rhythmlab.playing.groove import accents
    >>> from rhythmlab.playing.limits import limits
    >>> a = accents("2+2+3/8", every=5)
    >>> of_bars(a, a.metre.tempo(180), limits()).name
    'An accent every 5 eighths in 7/8 as 2+2+3'
    """
    name, unit = name_of(cycle), _unit(cycle, tempo)
    hands = _advised(cycle, tempo, rows)
    ends = (
        _limbs_bound(hands.cycle() if hands else cycle, tempo, rows),
        _beat_bound(cycle, tempo, rows),
        _bar_bound(cycle, tempo, rows),
    )
    now = Fraction(60_000) / (_tick_ms(cycle, tempo) * tempo.beat_ticks(cycle))
    climb = _climb(now, ends, unit)
    causes = [end.cause for end in ends if end.cause]
    metred = isinstance(cycle, Bars)
    long = numbers.plural(len(cycle.bars), "bar") if bar_of(cycle) else numbers.plural(cycle.ticks, "tick")
    sounds = numbers.plural(len(composite(cycle)), "stroke" if groups_of_phrase(cycle) else "sound")
    through = f"once through in {numbers.seconds(tempo.cycle_seconds(cycle))}"
    facts = f"{sounds}, {through}." if groups_of_phrase(cycle) else f"{long}, {sounds}, {through}."
    ladder, speed = rungs(climb.start, climb.goal), (now, tempo.beat_ticks(cycle), rows, unit)
    return Lesson(
        name=name,
        tempo=f"{about_bpm(now)} {unit}",
        facts=facts,
        remarks=tuple(filter(None, (_description(cycle, tempo), f"Hands: {hands}." if hands else ""))),
        picture_title="The bars" if metred else "The lanes" if len(cycle.lanes) > 1 else "The strokes",
        pictures=bars_drawn(cycle, groups, words),
        counts=tuple(
            (sentences.capital(lane.name), _places(cycle, lane, groups, speed, words))
            for lane in cycle.lanes
            if len(lane.onsets)
        ),
        homes=(None,),
        gap_picture=None,
        way=_way_text(cycle, climb.state),
        ranges=tuple(end.row(now) for end in ends if end.cause),
        unit=unit,
        reasons=(
            *(end.describe() for end in ends if end.cause),
            "The order of the steps is a choice made here, no source.",
        ),
        steps=_steps(cycle, f"{ladder[0]} {unit}", groups, speed, words),
        ladder=ladder,
        exercises=_exercises_of_bars(cycle, tempo, now, unit),
        slip=slip(name, f"{about_bpm(climb.goal)} {unit}", "the beat of the bar" if metred else "the beat"),
        sources=sources((cause.source for cause in causes), rows),
        cautions=cautions(rows),
    )

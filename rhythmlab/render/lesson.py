"""What a handout says, before it is laid out: facts, counts, the way to learn, a ladder, exercises, a slip.

Everything here is text, numbers and scenes; `handout` puts it on paper and into its plain twin.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil

from rhythmlab.core.check import FASTEST
from rhythmlab.core.composite import composite
from rhythmlab.core.feel import Feel
from rhythmlab.core.gaps import midway, phase_gaps
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.draw.gap_cycle import gap_cycle
from rhythmlab.draw.pictures import shared_grid
from rhythmlab.draw.scene import Scene
from rhythmlab.playing.approach import Approach, Way, approach, drifts_around
from rhythmlab.playing.hearing import landmarks_said, zones
from rhythmlab.playing.learning import bpm_text
from rhythmlab.playing.limits import Limits
from rhythmlab.practice.ladder import Ladder
from rhythmlab.practice.session import CARE
from rhythmlab.resources import table
from rhythmlab.text import descriptions, numbers, sentences
from rhythmlab.text.counts import falls

#: Most rungs of a ladder, most boxes in a row to fill in, most sounds of a line to write, on paper.
RUNGS, BOXES, SOUNDS = 8, 36, 16
#: Where a ladder begins when the way begins at the goal itself: a share of the goal (own choice, no source).
BELOW = Fraction(3, 4)


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
    tide : Scene or None
        The gap cycle, where there is one to follow.
    way : str
        The way to learn it at this tempo, in a sentence.
    ranges : tuple of (str, str, str, str)
        Way, floor, ceiling, and whether it fits now.
    unit : str
        What floors and ceilings are counted in.
    reasons, steps : tuple
        Why, in sentences; what to practise, each with its count.
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
    tide: Scene | None
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

    @property
    def table(self) -> tuple[tuple[str, ...], ...]:
        """The ranges, those that work at no tempo joined in one row at the end."""
        rows = [row for row in self.ranges if row[1] != "–"]
        never = [row[0] for row in self.ranges if row[1] == "–"]
        if not never:
            return tuple(rows)
        never = [never[0], *(f"{name[0].lower()}{name[1:]}" for name in never[1:])]
        return (*rows, (sentences.listed(never), "–", "–", "at no tempo"))


def of_pair(p: Polyrhythm, tempo: Tempo, home: int, rows: Limits) -> Lesson:
    """Return what a handout says about pulses against each other.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> found = of_pair(Polyrhythm(7, 4), Tempo(72, pulse=1), 1, limits())
    >>> found.way
    'Learn the line: 10 sounds in 3.3 seconds, the closest 119 ms apart.'
    """
    found = approach(p, tempo, home=home, limits=rows)
    best, name = found.recommended, descriptions.pulse_name(p, home)
    drifting = drifts_around(p)
    tide, marks = None, ""
    if drifting is not None:
        tide = gap_cycle(zones(phase_gaps(p, 1 - home, home, **_window(p, home)), tempo, limits=rows))
        if (drifting.h, drifting.k) == (1, 1) and sum(p.pulses) <= 1000:
            marks = landmarks_said(Feel(p, home), 1 - home)
    others = [i for i in range(len(p.pulses)) if i != home]
    meets = descriptions.common_factor(p) if p.repeats > 1 else ""
    steps = tuple(
        (step.said(of=step.home != home, tempo=step.bpm != before or step.up), step.count)
        for step, before in zip(best.steps, (None, *(step.bpm for step in best.steps)), strict=False)
    )
    goal = _goal(best, tempo.bpm_of(p, home), home)
    reasons = tuple(cause.said(of=cause.home != home) for cause in best.causes)  # of home it is said once
    if any(reach.way and reach.way is not best for reach in found.ranges):
        reasons = (*reasons, found.changes_said(of=False))
    return Lesson(
        name=descriptions.pair(p),
        tempo=_tempo(p, tempo, home),
        facts=f"Home is {name}. {sentences.capital(descriptions.facts(p, tempo))}.",
        remarks=tuple(filter(None, (descriptions.nothing_new_text(p) or meets, marks))),
        picture_title="The grid they share",
        pictures=(shared_grid(p.cycle(home)),),
        counts=tuple(
            (f"From {descriptions.pulse_name(p, i)} ({bpm_text(tempo.bpm_of(p, i))} bpm)", _count(p, i))
            for i in (home, *others)
        ),
        homes=(home, *others)[:3],
        tide=tide,
        way=found.lead(of=False),
        ranges=tuple(_row(way, home) for way in (*found.ways[:2], *_elsewhere(found), *found.ways[2:])),
        unit=f"bpm of {name}",
        reasons=reasons,
        steps=steps,
        ladder=rungs(_start(best, goal, home), goal),
        exercises=_exercises(p, tempo, home),
        slip=slip(descriptions.pair(p), f"{bpm_text(goal)} bpm of {name}", name),
        sources=sources((cause.source for cause in best.causes), rows),
        cautions=cautions(rows),
    )


def _window(p: Polyrhythm, home: int) -> dict[str, int]:
    """Return the window that a tide is drawn from: the first 200 beats of a long cycle."""
    return {} if max(p.pulses) <= 1000 else {"start": 0, "stop": min(p.ticks, 200 * p.step(home))}


def _count(p: Polyrhythm, home: int) -> str:
    """Say the count from a home; where home is too long to count, how many parts."""
    feel = Feel(p, home)
    if max(p.pulses) > 1000:
        parts = sentences.listed([str(feel.parts(i)) for i in range(len(p.pulses)) if i != home])
        return f"{parts} parts to a beat, too many to write out."
    return f"{falls(feel, short=True)}."


def _tempo(p: Polyrhythm, tempo: Tempo, home: int) -> str:
    """Say the tempo in home and in every other pulse; a very slow one is not rounded to none."""
    said = [
        f"{bpm_text(tempo.bpm_of(p, i), 2)} bpm of {descriptions.pulse_name(p, i)}"
        for i in range(len(p.pulses))
    ]
    return f"{said.pop(home)} is {sentences.listed(said)}"


def _elsewhere(found: Approach) -> list[Way]:
    return [way for way in found.counts if way.home != found.home][:2]


def _row(way: Way, home: int) -> tuple[str, str, str, str]:
    floor, ceiling = (
        ("–", "–") if not way.possible else (_end(way.floor_of(home)), _end(way.ceiling_of(home)))
    )
    return sentences.capital(way.label), floor, ceiling, way.verdict(home)


def _end(bpm: Fraction | None) -> str:
    return "no limit" if bpm is None else bpm_text(bpm)


def _goal(best: Way, bpm: Fraction, home: int) -> Fraction:
    """Return the tempo wanted, or the nearest one that the way allows."""
    floor, ceiling = best.floor_of(home), best.ceiling_of(home)
    bpm = bpm if floor is None else max(bpm, floor)
    return bpm if ceiling is None else min(bpm, ceiling)


def _start(best: Way, goal: Fraction, home: int) -> Fraction:
    """Return where the ladder begins: where the way begins, or below its goal, never below its floor."""
    first = min((step.bpm * _share(best, home) for step in best.steps), default=goal)
    if first < goal:
        return first
    return max(goal * BELOW, best.floor_of(home) or Fraction(0))


def _share(best: Way, home: int) -> Fraction:
    pulses = best.polyrhythm.pulses
    return Fraction(pulses[home], pulses[best.home])


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
    if goal.denominator == 1:
        now = goal - (goal - now) // by * by
    elif ceil(now) < goal:
        now = Fraction(ceil(now))
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


_CARE = ("practice_break", "loudness", "loudness_week_child")


def sources(named: Iterable[str], rows: Limits) -> tuple[str, ...]:
    """Return the citations of what was named and of the cautions: in the order of the limits, practice last.

    Parameters
    ----------
    named : iterable of str
        Keys of sources; an empty one names none.
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


def _citation(row: Mapping[str, str]) -> str:
    return f"{row['citation']} [{row['read'] if row['read'][:2] != '20' else 'read'}]"


def _exercises(p: Polyrhythm, tempo: Tempo, home: int) -> tuple[Exercise, ...]:
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
    return first, second, _third(p, home, other)


def _third(p: Polyrhythm, home: int, other: int) -> Exercise:
    name, moving = descriptions.pulse_name(p, home), descriptions.pulse_name(p, other)
    if drifts_around(p) is not None and (middle := midway(p, other, home)) is not None:
        again = " (the first time)" if p.repeats > 1 else ""
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

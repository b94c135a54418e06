"""The plain twin of a handout: everything that is on its pages, in reading order."""

from collections.abc import Sequence

from rhythmlab.render.lesson import Exercise, Lesson
from rhythmlab.text.sentences import capital


def twin(lesson: Lesson, title: str, notes: Sequence[tuple[str, str]]) -> str:
    """Say everything that is on the pages, in the same order, as plain text.

    Blank lines to write on are said as such; the answers come last.
    """
    own = [lesson.name] if title != lesson.name else []
    lines = [title, *own, f"{lesson.tempo}.", lesson.facts, *lesson.remarks]

    def part(heading: str, rows: Sequence[str]) -> None:
        lines.extend(("", heading.upper(), *rows))

    part(lesson.picture_title, [scene.alt for scene in lesson.pictures])
    part("The count", [f"{label}: {text}" for label, text in lesson.counts])
    part("Notation", [f"{heading}: {said}" for heading, said in notes])
    if lesson.tide is not None:
        part("The gap cycle", [lesson.tide.alt])
    part("How to learn it", [lesson.way])
    rows = [
        f"{way}: from {low}, up to {high}; {now}." if low != "–" else f"{way}: {now}."
        for way, low, high, now in lesson.table
    ]
    part(f"From where to where, in {lesson.unit}", rows)
    part("Why", lesson.reasons)
    part("Practise in this order", [f"{i}. {a} {capital(b)}." for i, (a, b) in enumerate(lesson.steps, 1)])
    rungs = f"{' '.join(lesson.ladder)} ({lesson.unit}), each with a line for the day it passed cold on."
    part("Ladder", [rungs, "From below, one rung a day at most."])
    part("Exercises", [f"{i}. {one.text} ____" for i, one in enumerate(lesson.exercises, 1)])
    part("Lesson slip", [f"{label}: {text or '____'}" for label, text in lesson.slip])
    part("Your notes", ["Lines to write on."])
    part("Take care", lesson.cautions)
    part("Sources", lesson.sources)
    part("Answers", [answer(i, one) for i, one in enumerate(lesson.exercises, 1)])
    return "\n".join(lines) + "\n"


def answer(number: int, one: Exercise) -> str:
    """Return the answer to an exercise with its number.

    Examples
    --------
    >>> answer(1, Exercise("How many?", "7"))
    '1: 7'
    """
    return f"{number}: {one.answer}"

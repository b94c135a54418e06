"""An exercise of a page: a field for the answer, and under it which part is off; typed as on paper."""

import re
from dataclasses import replace
from html import escape
from typing import Any

import ipywidgets as widgets

from rhythmlab.classroom.bank.catalogue import question
from rhythmlab.classroom.question import Question, Verdict
from rhythmlab.classroom.reader import Unreadable, figures_of, read
from rhythmlab.core.display import Quiet
from rhythmlab.core.public import public
from rhythmlab.panels.stage.stage import Form

#: Most letters that are looked at in parts.
MOST_LETTERS = 1000
#: What parts one from the next; the first that is there does, or else spaces do.
_BETWEEN = ";,"


class Exercise(Quiet, Form):
    """A field for the answer to an exercise, which says after Enter which part is off.

    Parameters
    ----------
    asked : Question
        What is asked on the page.

    Attributes
    ----------
    field : Text
        What was typed.
    verdict : Verdict
        What came of it.
    """

    def __init__(self, asked: Question) -> None:
        self.asked = replace(asked, form=on_paper(asked.form))
        self.field = widgets.Text(
            description=asked.field,
            placeholder="your answer, then Enter",
        )
        self.field.continuous_update = False  # judged by Enter, and not by half of it
        self._told = widgets.HTML()
        self.field.observe(self._typed, names=["value"])
        self._typed(None)
        row = {"fields": [self.field], "note": self._told, "answers": True}
        super().__init__(parts={"rows": [row]})

    def _typed(self, _: object) -> None:
        self.verdict: Verdict = self.asked.judge(parts_of(self.asked, self.field.value))
        self._told.value = escape(self.verdict.text)


def on_paper(form: str) -> str:
    """Write how to answer as it is typed into a field, where it was written as it is typed into a cell.

    Examples
    --------
    >>> on_paper('write the places in quotes, for example answer=["1", "& of 1"].')
    'write the places, for example 1, & of 1.'
    """
    typed = re.sub(r"(?:answer=)?\[([^]]*)\]", lambda found: found[1].replace('"', ""), form)
    return typed.replace(" in quotes", "").replace(" in the brackets", "")


def parts_of(asked: Question, typed: str) -> list[Any]:
    """Return the parts of an answer that was typed with commas or spaces, brackets, quotes, units or none.

    Examples
    --------
    >>> from rhythmlab.classroom.bank.catalogue import question
    >>> [parts_of(question("00-exercise"), typed) for typed in ("7 100", "[7, 100]", "7 sounds, 100 bpm")]
    [[7, 100], [7, 100], [7, 100]]
    >>> parts_of(question("01-exercise"), "x..x.., x.x.x.")
    ['x..x..', 'x.x.x.']
    """
    if len(typed) > MOST_LETTERS:
        return [typed]
    inside = typed.strip().removeprefix("answer=").strip().strip("[]()").strip()
    between = next((sign for sign in _BETWEEN if sign in inside), None)
    pieces = inside.split(between) if len(asked.right) > 1 else [inside]
    if between is None and len(pieces) > 1:
        counted = {*asked.units, *(f"{unit}s" for unit in asked.units)}
        pieces = [piece for piece in pieces if piece.lower() not in counted]
    if len(pieces) > 1 and not pieces[-1].strip():
        pieces.pop()
    return [_part(asked, i, piece.strip().strip("\"'")) for i, piece in enumerate(pieces)]


def _part(asked: Question, i: int, piece: str) -> Any:
    """Read one part: a word as it is, a number in figures or in words, with what it counts or without."""
    if isinstance(asked.right[min(i, len(asked.right) - 1)], str):
        return piece
    figures = figures_of(piece, asked.units)
    try:
        return read(figures.replace(",", "."))
    except Unreadable:
        return piece


@public('pages.exercise("00-exercise")')
def exercise(id: str) -> Exercise:
    """Answer an exercise of a page in a field; `check` judges an answer in a cell.

    Parameters
    ----------
    id : str
        Id of the question, as in the page.

    Returns
    -------
    Exercise
        Says after Enter that the answer is right and why, or which part is off and by how much.

    Raises
    ------
    ValueError
        If there is no such question.

    Examples
    --------
    >>> one = exercise("00-exercise")
    >>> one.field.value = "7 90"
    >>> one.verdict
    The tempo of the 5 is off: you wrote 90, which is 10 bpm too slow. 1 of 2 is right.
    """
    return Exercise(question(id))

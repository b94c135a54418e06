"""The reader's guess: asked before the answer is shown, kept, and brought back in the result."""

from typing import Any

import ipywidgets as widgets

from rhythmlab import words
from rhythmlab.classroom.question import Question, question
from rhythmlab.core.call import public
from rhythmlab.core.check import short
from rhythmlab.core.shown import Quiet
from rhythmlab.files import reason
from rhythmlab.panels import kept
from rhythmlab.panels.stage.stage import Keeper
from rhythmlab.refusal import Refusal

#: Most letters of a guess.
MOST_LETTERS = 200


class Guess(Quiet, widgets.Text):
    """A field for a guess that remembers what was typed.

    Parameters
    ----------
    asked : Question
        What is to be predicted.
    """

    def __init__(self, asked: Question) -> None:
        self.asked = asked
        self._trouble = ""
        super().__init__(
            value=kept.recall(asked.id),
            description=asked.field,
            placeholder="type your guess",
            layout=widgets.Layout(width="460px"),
            style={"description_width": "280px"},
        )
        self.add_class("rl-kept")  # an output of ours: its keys stay in it
        self.observe(self._typed, names=["value"])

    def _typed(self, change: dict[str, Any]) -> None:
        if len(change["new"]) > MOST_LETTERS:
            return
        try:
            kept.keep(self.asked.id, change["new"])
            self._trouble = ""
        except OSError as error:
            self._trouble = f" (Your guess could not be kept for tomorrow: {reason(error)}.)"

    def said(self) -> str:
        """Return the guess beside the answer, or a reminder to guess."""
        typed = self.value.strip()
        if not typed:
            return f"No guess yet: {self.asked.text}"
        if len(typed) > MOST_LETTERS:
            much = f"{self.asked.field} has {words.plural(len(typed), 'letter')}, more than {MOST_LETTERS}"
            return f"{much}: type for example 7."
        judged = self.asked.judge_typed(typed)
        why = "" if judged.right else f" {self.asked.why}"
        return f"You guessed {typed}. {judged.said}{why}{self._trouble}"


def checked(guess: object) -> Guess | None:
    """Return a guess, or refuse what is none.

    Parameters
    ----------
    guess : Guess or None
        What the caller gave.

    Raises
    ------
    ValueError
        If it is not from `predict`.
    """
    if guess is not None and not isinstance(guess, Guess):
        raise Refusal(
            f"guess={short(guess)} is not a guess", "guess=rl.predict('00-guess')", argument="guess"
        )
    return guess


@public('predict("00-guess")')
def predict(id: str) -> Guess:
    """Ask the reader to predict, and keep the guess.

    Parameters
    ----------
    id : str
        Id of the question, as in the page.

    Returns
    -------
    Guess
        Shown by this call; hand it to the panel that follows as ``guess=``.

    Raises
    ------
    ValueError
        If there is no such question.

    Examples
    --------
    >>> predict("00-guess").asked.id                                     # doctest: +ELLIPSIS
    HBox(children=(Guess(...
    '00-guess'
    """
    from IPython.display import display

    guess = Guess(question(id))
    display(widgets.HBox([guess, Keeper()]))
    return guess

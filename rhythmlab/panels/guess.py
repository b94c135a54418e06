"""The reader's guess: asked before the answer is shown, remembered, and compared with it."""

import json
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from rhythmlab.classroom.bank.catalogue import question
from rhythmlab.classroom.question import Question
from rhythmlab.core.check import short
from rhythmlab.core.display import Quiet
from rhythmlab.core.public import public
from rhythmlab.files import reason, set_aside
from rhythmlab.locks import turn
from rhythmlab.panels.stage.stage import Keeper
from rhythmlab.refusal import Refusal
from rhythmlab.text import numbers
from rhythmlab.working_folder import marked, write

#: Most letters of a guess.
MOST_LETTERS = 200
#: The file of guesses, in the marked folder.
_NAME = ".rhythmlab-guesses.json"
#: Guesses of this kernel.
_memory: dict[str, str] = {}
#: Questions whose guess is not in the file, since it could not be written.
_unwritten: set[str] = set()


class Guess(Quiet, widgets.Text):
    """A field for a guess, which is remembered until another day.

    Parameters
    ----------
    asked : Question
        What is to be predicted.
    """

    def __init__(self, asked: Question) -> None:
        self.asked = asked
        self._trouble = ""
        super().__init__(
            value=recall(asked.id),
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
            keep(self.asked.id, change["new"])
            self._trouble = ""
        except OSError as error:
            self._trouble = f" (Your guess could not be kept for tomorrow: {reason(error)}.)"

    def describe(self) -> str:
        """Return the guess beside the answer, or a reminder to guess."""
        typed = self.value.strip()
        if not typed:
            return f"No guess yet: {self.asked.text}"
        if len(typed) > MOST_LETTERS:
            much = f"{self.asked.field} has {numbers.plural(len(typed), 'letter')}, more than {MOST_LETTERS}"
            return f"{much}: type for example 7."
        judged = self.asked.judge_typed(typed)
        why = "" if judged.right else f" {self.asked.why}"
        return f"You guessed {typed}. {judged.text}{why}{self._trouble}"


@public('pages.predict("00-guess")')
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


def checked(guess: object) -> Guess | None:
    """Return the `guess` of a page call; refuse what `predict` did not make."""
    if guess is not None and not isinstance(guess, Guess):
        raise Refusal(
            f"guess={short(guess)} is not a guess", "guess=rl.pages.predict('00-guess')", argument="guess"
        )
    return guess


def recall(key: str) -> str:
    """Return the guess that was typed before; empty where there is none."""
    try:
        found = _read(_file()) or {}
    except OSError:  # it cannot be opened: then nothing is remembered, and `keep` will say why
        found = {}
    mine = {name: _memory[name] for name in _unwritten if name in _memory}
    return {**_memory, **found, **mine}.get(key, "")


def keep(key: str, text: str) -> None:
    """Remember a guess in the file; where that fails, until the kernel stops."""
    _memory[key] = text
    _unwritten.add(key)
    path = _file()
    if path is None:
        return
    with turn(path):
        if path.exists() and _read(path) is None:
            set_aside(path)
        kept = {**(_read(path) or {}), key: text}
        write(path, json.dumps(kept, ensure_ascii=False, indent=1).encode("utf-8", "backslashreplace"))
    _unwritten.discard(key)


def _file() -> Path | None:
    """Return the file of guesses in the marked folder at or above the page; none where there is no folder."""
    folder = marked()
    return folder / _NAME if folder else None


def _read(path: Path | None) -> dict[str, str] | None:
    """Return the guesses in a file, or ``None`` where it is damaged."""
    if path is None or not path.exists():
        return {}
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (ValueError, RecursionError):
        return None
    whole = isinstance(found, dict) and all(isinstance(text, str) for text in found.values())
    return found if whole else None

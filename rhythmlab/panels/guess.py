"""The reader's guess: asked before anything is shown, remembered, and told beside the answer."""

import json
from pathlib import Path
from typing import Any

import ipywidgets as widgets
import traitlets

from rhythmlab.classroom.bank.catalogue import question
from rhythmlab.classroom.question import Question
from rhythmlab.classroom.reader import Unreadable, figures_of, read
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
    """What the reader predicts: a panel that is given it shows nothing else until it is made or skipped.

    It is remembered until another day.  Shown alone, by the last line of a cell, it is a plain field.

    Parameters
    ----------
    asked : Question
        What is to be predicted.

    Attributes
    ----------
    value : str
        What was guessed; empty before.
    question : str
        What is asked, in a sentence.
    told : str
        What came of it: how far off it is, and why; or why it cannot be read, which gives nothing away.
    covered : bool
        Whether a panel still hides what it shows; set to ``False`` it is skipped.
    """

    question = traitlets.Unicode("").tag(sync=True)
    told = traitlets.Unicode("").tag(sync=True)
    covered = traitlets.Bool(True).tag(sync=True)

    def __init__(self, asked: Question) -> None:
        self.asked = asked
        self._trouble = ""
        super().__init__(
            value=recall(asked.id),
            question=asked.text,
            description=asked.field,
            placeholder="a number",
            layout=widgets.Layout(width="460px", max_width="100%"),
            style={"description_width": "280px"},
        )
        self.continuous_update = False  # made by Enter, and not by half of it
        self.add_class("rl-kept")  # an output of ours: its keys stay in it
        self._tell()
        self.observe(self._typed, names=["value"])
        self.observe(self._uncovered, names=["covered"])

    def _repr_mimebundle_(self, **how: Any) -> Any:
        return widgets.HBox([self, Keeper()])._repr_mimebundle_(**how)

    def _typed(self, change: dict[str, Any]) -> None:
        self._trouble = ""
        if len(change["new"]) <= MOST_LETTERS:
            try:
                keep(self.asked.id, change["new"])
            except OSError as error:
                self._trouble = f" (Your guess could not be kept for tomorrow: {reason(error)}.)"
        self._tell()

    def _uncovered(self, change: dict[str, Any]) -> None:
        if not change["new"] and not self.made:
            self.told = f"Skipped. The answer is {self.asked.answer().right}: {_lowered(self.asked.why)}"

    def _tell(self) -> None:
        """Say what came of the guess, and show the panel where it is made."""
        with self.hold_sync():
            self.told = self.describe() if self.value.strip() else ""
            if self.made:
                self.covered = False

    @property
    def made(self) -> bool:
        """Whether there is a guess that can be judged."""
        return bool(self.value.strip()) and not self._unread()

    def _figures(self) -> str:
        return figures_of(self.value.strip(), self.asked.units)

    def _unread(self) -> str:
        """Say why what was typed is no guess, and not how far off it is; nothing where it can be judged."""
        if len(self.value.strip()) > MOST_LETTERS:
            much = numbers.plural(len(self.value.strip()), "letter")
            return f"{self.asked.field} has {much}, more than {MOST_LETTERS}: type for example 7."
        typed, form = self._figures(), f"{self.asked.form[0].upper()}{self.asked.form[1:]}"
        try:
            value: Any = read(typed)
        except Unreadable:
            value = typed
        if isinstance(value, list | tuple) and len(value) != len(self.asked.right):
            return form
        wrong = self.asked.unread(value)
        return f"{wrong} {form}" if wrong else ""

    def describe(self) -> str:
        """Return the guess beside the answer, or a reminder to guess; what cannot be read gets no answer."""
        typed = self.value.strip()
        if not typed:
            return f"No guess yet: {self.asked.text}"
        if unread := self._unread():
            return unread if len(typed) > MOST_LETTERS else f"You guessed {typed}. {unread}"
        judged = self.asked.judge_typed(self._figures())
        why = "" if judged.right else f" {self.asked.why}"
        return f"You guessed {typed}. {judged.text}{why}{self._trouble}"


def _lowered(text: str) -> str:
    return f"{text[0].lower()}{text[1:]}"


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
        Hand it to a panel as ``guess=``, which then shows nothing else until it is made or skipped.

    Raises
    ------
    ValueError
        If there is no such question.

    Examples
    --------
    >>> guess = predict("00-guess")
    >>> guess.value = "nine"
    >>> guess.told[:71]
    'You guessed nine. The number of sounds is off: you wrote 9, which is 1 '
    """
    return Guess(question(id))


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

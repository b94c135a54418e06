"""The panel of page 08: a ladder of tempos, takes, a plan for the session, and the journal."""

from collections.abc import Sequence
from html import escape

import ipywidgets as widgets

from rhythmlab import words
from rhythmlab.core.feel import Feel
from rhythmlab.core.tempo import Tempo
from rhythmlab.panels.controls import home_index
from rhythmlab.panels.guess import Guess
from rhythmlab.panels.panel import Panel, told
from rhythmlab.panels.takes import LIMBS, Takes
from rhythmlab.practice.journal import Journal
from rhythmlab.practice.ladder import Ladder
from rhythmlab.render.progress import progress
from rhythmlab.render.svg import svg


class Practice(Panel):
    """A `Panel` with a ladder from a tempo tested today to a goal.

    Parameters
    ----------
    pulses : sequence of int
        What is practised.
    now, goal : number
        Beats a minute of home: the first step of the ladder and the last.
    minutes : int
        Length of the session that is planned.
    home : int or None
        Index of the home pulse; the last one when ``None``.
    journal : Journal, optional
        Where takes are kept; the one in the reader's folder when left out.
    guess : Guess, optional
        The reader's guess, which comes back in the result.
    """

    def __init__(
        self,
        pulses: Sequence[int],
        *,
        now: object,
        goal: object,
        minutes: int,
        home: int | None,
        journal: Journal | None = None,
        guess: Guess | None = None,
    ) -> None:
        self._journal = journal or Journal()
        self._pulse = home_index(home, len(pulses))
        self._ladder = Ladder(now, goal, pulse=self._pulse)
        self._pair, self._minutes = tuple(pulses), minutes
        self._last = widgets.HTML()
        self._climb = widgets.HTML()
        self._picture = widgets.HTML()
        self._plan = widgets.HTML()
        self._limbs = widgets.Dropdown(options=list(LIMBS), description="ladder of", value=next(iter(LIMBS)))
        self._limbs.observe(self._look_again, names=["value"])
        self._step = widgets.Button(description="go to the step", layout=widgets.Layout(width="auto"))
        self._step.on_click(self._to_the_step)
        first = self._ladder.steps[0]
        super().__init__(pulses, home=home, bpm=first, view="heard line", said=_said, guess=guess)
        self.takes = Takes(self.stage, self._journal, self._after_take)
        row = widgets.HBox([self._limbs, self._step], layout=widgets.Layout(align_items="center"))
        self.children = (self._last, self._climb, row, *self.children, self._picture, self._plan)
        self._look(new=True)

    def _after_take(self) -> None:
        self._look(new=False)

    @told
    def _look_again(self, _: object) -> None:
        self._look(new=False)

    @told
    def _to_the_step(self, _: object) -> None:
        self.tempo = Tempo(self._standing.bpm, pulse=self._pulse).said_in(
            self.feel.polyrhythm, self.feel.home
        )
        self._redraw()

    def _look(self, *, new: bool) -> None:
        """Read the journal, and say where things stand."""
        if new:
            self._last.value = _paragraph(self._journal.last())
        entries = self._journal.read()
        limbs = self._limbs.value
        takes = [
            entry
            for entry in entries
            if entry.get("kind") == "take"
            and tuple(entry.get("pair") or ()) == self._pair
            and entry.get("limbs") == limbs
        ]
        self._standing = self._ladder.climb(takes)
        days = self._ladder.days(self._standing)
        self._climb.value = _paragraph(self._standing.said) + _paragraph(days.said)
        self._step.disabled = self._standing.reached
        self._picture.value = svg(progress(takes, self._ladder.goal, pulse=self._pulse)) if takes else ""
        plan = self._ladder.plan(self._minutes, self._standing, yesterday=self._journal.last_minutes())
        pieces = "".join(
            f"<li><b>{words.plural(piece.minutes, 'minute')}, {escape(piece.kind)}</b>: "
            f"{escape(piece.what)} <i>{escape(piece.why)}</i></li>"
            for piece in plan
        )
        heading = f"The plan for {words.plural(plan.minutes, 'minute')}"
        self._plan.value = (
            f"<details><summary>{heading}</summary><ol>{pieces}</ol>{_paragraph(plan.said)}</details>"
        )
        if entries.told:
            self.stage.notice = entries.told


def _said(feel: Feel, tempo: Tempo) -> list[str]:
    return [words.count(feel), f"{words.tempo(feel.polyrhythm, tempo, feel.home)}."]


def _paragraph(text: str) -> str:
    return f"<p style='line-height:1.45;margin:3px 0'>{escape(text)}</p>"


def practise(
    *pulses: int,
    now: object = 60,
    goal: object = 96,
    minutes: int = 20,
    home: int | None = None,
    guess: Guess | None = None,
) -> Practice:
    """Practise a pair up a ladder of tempos, and keep a journal: page 08.

    Parameters
    ----------
    *pulses : int
        What is practised; 4 against 3 when left out.
    now, goal : number
        Beats a minute of home: a tempo that you can play today, and the one you want.
    minutes : int
        Length of the session that is planned.
    home : int, optional
        Index of the home pulse; the last one when left out.
    guess : Guess, optional
        From `predict`.

    Returns
    -------
    Practice

    Raises
    ------
    ValueError
        If the goal is below the first step, or the minutes are too few for a session.

    Examples
    --------
    >>> practise(4, 3, now=60, goal=96).tempo
    Tempo(60, pulse=1)
    """
    return Practice(pulses or (4, 3), now=now, goal=goal, minutes=minutes, home=home, guess=guess)

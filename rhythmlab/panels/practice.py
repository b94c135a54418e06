"""The panel of page 08: a ladder of tempos, takes, a plan for the session, and the journal."""

from collections.abc import Mapping, Sequence
from html import escape

import ipywidgets as widgets

from rhythmlab import words
from rhythmlab.core.check import plainly
from rhythmlab.core.feel import Feel
from rhythmlab.core.tempo import Tempo
from rhythmlab.panels.controls import home_index
from rhythmlab.panels.guess import Guess
from rhythmlab.panels.panel import Panel
from rhythmlab.panels.takes import Takes
from rhythmlab.panels.told import told
from rhythmlab.practice.journal import Journal
from rhythmlab.practice.ladder import Ladder
from rhythmlab.practice.rows import rows_of
from rhythmlab.render.progress import progress
from rhythmlab.render.svg import svg

#: What is said of a take that does not count for the ladder.
NO_STEP = (
    "It does not move the ladder: that takes both pulses, the whole cycle at least twice, no silence, "
    "and at least half the strokes."
)


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
        self._step = widgets.Button(description="go to the step", layout=widgets.Layout(width="auto"))
        self._step.on_click(self._to_the_step)
        first = self._ladder.steps[0]
        super().__init__(pulses, home=home, bpm=first, view="heard line", said=_said, guess=guess)
        self.takes = Takes(self.stage, self._journal, self._after_take)
        self.stage.observe(self._limbs_chosen, names=["limbs"])
        self.children = (self._last, self._climb, self._step, *self.children, self._picture, self._plan)
        self._look()

    def _after_take(self, row: dict) -> str:
        self._look()
        return "" if climbs(row) else NO_STEP

    @told
    def _limbs_chosen(self, _: object) -> None:
        self._look()

    @told
    def _pulses_typed(self) -> None:
        """Other numbers have a ladder of their own."""
        super()._pulses_typed()
        pair = self.feel.polyrhythm.pulses
        if pair != self._pair:
            self._pair, self._pulse = pair, self.feel.home
            self._ladder = Ladder(self._ladder.steps[0], self._ladder.goal, pulse=self._pulse)
            self._look()

    @told
    def _to_the_step(self, _: object) -> None:
        self.tempo = Tempo(self._standing.bpm, pulse=self._pulse).said_in(
            self.feel.polyrhythm, self.feel.home
        )
        self._redraw()

    def _look(self) -> None:
        """Read the journal, and say where things stand."""
        seen, limbs, p = self._journal.glance(), self.stage.limbs, self.feel.polyrhythm
        takes = [
            take
            for take in seen.brief(seen.of("take"))
            if climbs(take) and tuple(take.get("pair") or ()) == self._pair and take.get("limbs") == limbs
        ]
        self._last.value = _paragraph(self._journal.last(seen))
        rows = rows_of(takes, pulse=self._pulse)
        self._standing = self._ladder.climb(rows)
        days = self._ladder.days(self._standing)
        head = f"{words.pair(p)}, {limbs}, in bpm of {words.pulse_name(p, self._pulse)}: "
        self._climb.value = _paragraph(head + self._standing.said) + _paragraph(days.said)
        self._step.disabled = self._standing.reached
        picture = svg(progress(rows, self._ladder.goal), live=True) if rows else ""
        self._picture.value = f"<div class='rl-theme'>{picture}</div>" if rows else ""
        plan = self._ladder.plan(self._minutes, self._standing, yesterday=self._journal.last_minutes(seen))
        pieces = "".join(
            f"<li><b>{words.plural(piece.minutes, 'minute')}, {escape(piece.kind)}</b>: "
            f"{escape(piece.what)} <i>{escape(piece.why)}</i></li>"
            for piece in plan
        )
        heading = f"The plan for {words.plural(plan.minutes, 'minute')}"
        self._plan.value = (
            f"<details><summary>{heading}</summary><ol>{pieces}</ol>{_paragraph(plan.said)}</details>"
        )
        if seen.told:
            self.stage.notice = plainly(seen.told)


def climbs(row: Mapping) -> bool:
    """Whether a take counts for the ladder (own choice): the whole rhythm, more than once, and really played.

    Both pulses, whole cycles, at least two of them, no silent ones, and at least half the strokes found.

    Examples
    --------
    >>> climbs({"kind": "take", "mode": "one pulse"})
    False
    """
    if row.get("kind") != "take" or row.get("mode") != "both pulses":
        return False
    whole = row.get("start") == 0 and row.get("stop") == row.get("cycle", {}).get("ticks")
    sounding = not row.get("silent", [0, 0])[1]
    return (
        whole and sounding and row.get("cycles", 0) >= 2 and row.get("missed", 1) * 2 <= row.get("meant", 0)
    )


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

"""The panels of page 09: a pair in notes from either home, and dictation."""

import random
import re
from collections.abc import Sequence
from fractions import Fraction
from html import escape
from math import gcd

import ipywidgets as widgets

from rhythmlab.core.check import short, whole
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, Lane, counted_as
from rhythmlab.core.display import Quiet
from rhythmlab.core.feel import Feel, Groups
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.draw.scene import Scene
from rhythmlab.notation.score import Score, fitted, score
from rhythmlab.panels.controls import menu, text
from rhythmlab.panels.errors import ErrorLine, FieldRefusal, shows_errors
from rhythmlab.panels.guess import Guess
from rhythmlab.panels.handed import remembered_hands
from rhythmlab.panels.own_groups import remembered_groups, words_said
from rhythmlab.panels.panel import VIEWS, Panel, Window
from rhythmlab.panels.stage.sounding import plan_of
from rhythmlab.panels.stage.stage import Stage
from rhythmlab.panels.takes import Takes
from rhythmlab.playing.sentence import Sentence
from rhythmlab.refusal import as_sentence
from rhythmlab.text import descriptions, numbers

#: Home beats of a long cycle that a panel writes, and the ticks above which it is long; the rest is saved.
MOST_BEATS, LONG = 16, 500
#: Largest number in a dictation, by level.
LEVELS = {"small": 4, "middle": 7, "bold": 11}


def _score(feel: Feel, tempo: Tempo, grid: bool = False, said: Sentence | None = None) -> Score:
    """Return the notes, of a long cycle its first bars, with the sentence that is said on them."""
    p = feel.polyrhythm
    stop = min(p.ticks, MOST_BEATS * feel.beat_ticks) if p.ticks > LONG else p.ticks
    mirrored = remembered_hands()
    if said is None:
        return score(p, tempo, home=feel.home, grid=grid, stop=stop, groups=feel.groups, left_handed=mirrored)
    return score(said, tempo, grid=grid, stop=stop, groups=feel.groups, left_handed=mirrored)


def _notes(feel: Feel, tempo: Tempo, grid: bool) -> str:
    return fitted(_score(feel, tempo, grid))  # which falls back to the picture, and says so


class Written(Panel):
    """A `Panel` that opens with the pair in notes, from the home that is chosen."""

    VIEWS = {  # noqa: RUF012 - read only
        "notes": lambda feel, tempo, limits, ticks: _notes(feel, tempo, grid=False),
        "notes on the full grid": lambda feel, tempo, limits, ticks: _notes(feel, tempo, grid=True),
        **VIEWS,
    }

    def _scene(self, view: str, feel: Feel, tempo: Tempo, window: Window) -> Scene | str:
        said = self._said_on(feel)
        if view.startswith("notes") and isinstance(said, Sentence):
            return fitted(_score(feel, tempo, view != "notes", said))
        return super()._scene(view, feel, tempo, window)


@public("pages.write_down(7, 4)")
def write_down(
    *pulses: int | Rhythm,
    bpm: Speed = 72,
    home: int | None = None,
    guess: Guess | None = None,
    tries: Sequence[str] | None = None,
    groups: Groups | None = None,
) -> Written:
    """Write a pair down in notes: page 09.

    Parameters
    ----------
    *pulses : int, or one Polyrhythm, Cycle or pair
        What to start with; 7 against 4 when left out.
    bpm : number or Tempo
        Beats a minute of home.
    home : int, optional
        Index of the home pulse; the last one when left out.
    guess : Guess, optional
        From `predict`; the panel shows nothing else until it is made or skipped.
    tries : sequence of str, or str, optional
        Buttons that set the panel: a line each, its fields as in a set list, such as
        ``"pulses: 16 15 | bpm: 60"``; or the number of a page, for its own.
    groups : str or sequence of int, optional
        How a beat of five parts or more is said, as for `Feel`; the remembered groups when left out.

    Returns
    -------
    Written

    Examples
    --------
    >>> write_down(7, 4).stage.pictures[1]["said"][0][:55]
    '7 against 4 written from the 4 on 2 one-line staves, on'
    """

    def describe(feel: Feel, tempo: Tempo) -> list[str]:
        p = feel.polyrhythm
        more = feel.beats - MOST_BEATS if p.ticks > LONG else 0
        rest = (
            f"{numbers.plural(more, 'more beat')} of home to the end: save the notes to have all."
            if more > 0
            else ""
        )
        try:
            written = _score(feel, tempo).alt
        except ValueError as error:  # the other views show it all the same
            written, rest = as_sentence(error), ""
        return [written, rest, words_said(feel, tempo), descriptions.nothing_new_text(p)]

    return Written(
        pulses or (7, 4),
        home=home,
        bpm=bpm,
        view="notes",
        describe=describe,
        guess=guess,
        tries=tries,
        counts=True,
        groups=groups,
        grows=True,
        call="pages.write_down(7, 4)",
    )


class Dictation(Quiet, widgets.VBox):
    """A pair that sounds and is not shown, to be named by ear; then it is shown in notes.

    Parameters
    ----------
    seed : int, optional
        For the same pairs again; another order every time when left out.
    """

    def __init__(self, seed: int | None = None) -> None:
        self._draw = random.Random(None if seed is None else whole(seed, "seed", "seed=1", least=0))
        self._level = menu("numbers", [(level, level) for level in LEVELS], 90)
        self._heard = text("I heard", "", 200)
        self._heard.placeholder = "for example 5 2"
        self._heard.continuous_update = False
        self._next = widgets.Button(description="Another pair", tooltip="Let another pair sound")
        self._told = widgets.HTML()
        self.line, self.stage = ErrorLine(), Stage()
        self.takes = Takes(self.stage, groups=remembered_groups)
        self._level.observe(lambda _: self._another(), names=["value"])
        self._heard.observe(self._answered, names=["value"])
        self._next.on_click(lambda _: self._another())
        row = widgets.Layout(flex_flow="row wrap", align_items="center")
        form = widgets.HBox([self._level, self._heard, self._next], layout=row)
        super().__init__([form, self.line, self.stage, self._told])
        self._pair: tuple[int, int] = (0, 0)
        self._another()

    def _another(self) -> None:
        """Draw a pair that is not the last one, and hide it."""
        most = LEVELS[self._level.value]
        pairs = [(p, q) for p in range(2, most + 1) for q in range(2, most + 1) if gcd(p, q) == 1]
        self._pair = self._draw.choice([pair for pair in pairs if pair != self._pair])
        self._heard.value, self._told.value = "", ""
        self.line.tell()
        p = Polyrhythm(*self._pair)
        cycle = p.cycle()
        names = ("the other pulse", "home")
        lanes = [
            Lane(name, lane.onsets, sound=lane.sound) for name, lane in zip(names, cycle.lanes, strict=True)
        ]
        hidden = counted_as(Cycle(cycle.ticks, lanes, beats=cycle.beats, bars=cycle.bars), cycle)
        self._show("", ["A pair sounds and is not shown; the low drum is home."], hidden)

    def _show(self, drawn: str, said: list[str], cycle: Cycle) -> None:
        tempo = self._tempo()
        with self.stage.hold_sync():
            self.stage.pictures = [{"svg": drawn, "said": said, "home": "", "bpm": 0.0, "spots": []}]
            self.stage.sound(plan_of(cycle, tempo, [cycle.beats], [lane.name for lane in cycle.lanes]))

    def _tempo(self) -> Tempo:
        """Return a tempo slow enough for its sounds: two in a second on average, 2 seconds at least."""
        p = Polyrhythm(*self._pair)
        return Tempo(Fraction(120 * p.pulses[1], max(4, len(composite(p)))), ticks=p.step(1))

    @shows_errors
    def _answered(self, _: object) -> None:
        typed = self._heard.value.strip()
        if not typed:
            return
        found = re.fullmatch(r"([0-9]{1,3})(?:[^\w+-]{1,20}|\W*(?:against|and|x)\W*)([0-9]{1,3})", typed)
        if not found:
            raise FieldRefusal("I heard", f"I heard {short(typed)} is not two numbers, home last", "5 2")
        other, home = int(found[1]), int(found[2])
        right = self._pair
        if (other, home) == right:
            self._tell(f"Yes: {right[0]} against {right[1]}, home the {right[1]}.")
            p = Polyrhythm(*right)
            made = score(p, None, home=1)
            self._show(fitted(made), [made.alt], p.cycle())
        elif (home, other) == right:
            self._tell("Both numbers are right, but the low drum plays the other one: write home last.")
        elif home == right[1]:
            self._tell(
                f"Home is right. The other pulse is not {other}: count only it, from together to together."
            )
        elif other == right[0]:
            self._tell(
                f"The other pulse is right. Home is not {home}: count only the low drum, from together on."
            )
        else:
            self._tell(
                "Neither yet: first count only the low drum, from the 1 to the next 1, then only the other."
            )

    def _refused(self) -> list[FieldRefusal]:
        """Return none: what was heard is judged, or refused."""
        return []

    def _tell(self, said: str) -> None:
        self._told.value = f"<p role='status'>{escape(said)}</p>"


@public("pages.dictation(seed=1)")
def dictation(seed: int | None = None) -> Dictation:
    """Let pairs sound that are not shown, to be written down by ear: page 09.

    Parameters
    ----------
    seed : int, optional
        For the same pairs again.

    Returns
    -------
    Dictation

    Examples
    --------
    >>> dictation(seed=1).stage.pictures[0]["said"]
    ['A pair sounds and is not shown; the low drum is home.']
    """
    return Dictation(seed)

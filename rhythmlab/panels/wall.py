"""The panel for the wall of a room: two called numbers, everything large, play and flip."""

from typing import ClassVar

from rhythmlab import words
from rhythmlab.core.feel import Feel
from rhythmlab.core.tempo import Tempo
from rhythmlab.panels.panel import Panel, View
from rhythmlab.render.pictures import strip

#: px that a picture on the wall is drawn in: filling a screen it is more than twice as large as on a page.
WALL_WIDTH = 600


class Wall(Panel):
    """A `Panel` drawn for the back row: one view, large; Enter in a field starts the sound.

    Parameters
    ----------
    pulses : sequence of int
        What it starts with.
    home : int or None
        Index of the home pulse; the last one when ``None``.
    bpm : number
        Beats a minute of home.
    """

    VIEWS: ClassVar[dict[str, View]] = {
        "heard line": lambda feel, tempo, bounds, ticks: strip(
            feel.cycle(), start=ticks[0], stop=ticks[1], width=WALL_WIDTH
        )
    }

    def __init__(self, pulses: tuple[int, ...], *, home: int | None, bpm: object) -> None:
        super().__init__(pulses, home=home, bpm=bpm, view="heard line", said=_said)
        self._view.layout.display = "none"
        self.stage.look = "wall"
        self.add_class("rl-wall")


def _said(feel: Feel, tempo: Tempo) -> list[str]:
    p = feel.polyrhythm
    others = [i for i in range(len(p.pulses)) if i != feel.home]
    speeds = [f"{words.pulse_name(p, i)} goes at {words.number(tempo.bpm_of(p, i))}" for i in others]
    home = f"Home is {words.pulse_name(p, feel.home)} at {words.number(tempo.bpm)} bpm"
    return [f"{home}; {words.listed(speeds)}."]


def wall(*pulses: int, bpm: object = 72, home: int | None = None) -> Wall:
    """Put two numbers on the wall of a room.

    Parameters
    ----------
    *pulses : int
        What to start with; 7 against 4 when left out.
    bpm : number
        Beats a minute of home.
    home : int, optional
        Index of the home pulse; the last one when left out.

    Returns
    -------
    Wall

    Examples
    --------
    >>> wall(4, 3, bpm=90).stage.pictures[1]["said"]
    ['Home is the 3 at 90 bpm; the 4 goes at 120.']
    """
    return Wall(pulses or (7, 4), home=home, bpm=bpm)

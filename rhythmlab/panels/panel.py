"""A panel: what the rhythm is, its controls, the stage, and a line for the reader's guess."""

from collections.abc import Callable, Sequence
from html import escape

import ipywidgets as widgets

from rhythmlab import words
from rhythmlab.core.check import plainly, short
from rhythmlab.core.feel import Feel
from rhythmlab.core.gaps import phase_gaps
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.panels.controls import (
    FirstBeat,
    Home,
    Pulses,
    TempoField,
    home_index,
    read_beat,
    read_bpm,
    read_pulses,
)
from rhythmlab.panels.export import Content, Export
from rhythmlab.panels.guess import Guess
from rhythmlab.panels.sounding import plan, spots
from rhythmlab.panels.stage.stage import Stage
from rhythmlab.panels.takes import Takes
from rhythmlab.panels.told import told
from rhythmlab.playing.hearing import zones
from rhythmlab.playing.limits import Limits, limits
from rhythmlab.render.layout import readable
from rhythmlab.render.pictures import homes, shared_grid, strip
from rhythmlab.render.scene import Scene
from rhythmlab.render.svg import svg
from rhythmlab.render.tide import gap_cycle

Window = tuple[int, int]
View = Callable[[Feel, Tempo, Limits, Window], Scene | str]

#: The views a panel offers, by the name in its menu.
VIEWS: dict[str, View] = {
    "heard line": lambda feel, tempo, bounds, ticks: strip(feel.cycle(), start=ticks[0], stop=ticks[1]),
    "shared grid": lambda feel, tempo, bounds, ticks: shared_grid(
        feel.cycle(), start=ticks[0], stop=ticks[1]
    ),
    "every home": lambda feel, tempo, bounds, ticks: homes(
        feel.polyrhythm, tempo, start=ticks[0], stop=ticks[1]
    ),
    "gap cycle": lambda feel, tempo, bounds, ticks: gap_cycle(
        zones(
            phase_gaps(feel.polyrhythm, feel.flip().home, feel.home, start=ticks[0], stop=ticks[1]),
            tempo,
            bounds,
        )
    ),
}
#: Ends of the tempo slide, in beats a minute of home.
SLIDE = (20.0, 300.0)


def _painted(seen: Scene | str) -> str:
    return seen if isinstance(seen, str) else svg(seen, live=True)


class Panel(widgets.VBox):
    """Two or more numbers, their home, their tempo and a view, with the picture and the words they make.

    Parameters
    ----------
    pulses : sequence of int
        What it starts with.
    home : int or None
        Index of the home pulse; the last one when ``None``.
    bpm : number
        Beats a minute of home.
    view : str
        One of `VIEWS`.
    said : callable
        From `Feel` and `Tempo` to the sentences under the picture.
    guess : Guess, optional
        The reader's guess, which comes back in the result.
    grows : bool
        Whether the reader can add pulses.
    bounds : Limits, optional
        The limits of hearing to use; the published ones when left out.

    Attributes
    ----------
    feel : Feel
        What is shown, and its home.
    tempo : Tempo
        How fast, exact.
    stage : Stage
        The picture, its words, its sound and its messages.
    """

    VIEWS = VIEWS

    def __init__(
        self,
        pulses: Sequence[int],
        *,
        home: int | None,
        bpm: object,
        view: str,
        said: Callable[[Feel, Tempo], list[str]],
        guess: Guess | None = None,
        grows: bool = False,
        bounds: Limits | None = None,
    ) -> None:
        p = Polyrhythm(*pulses)
        read_pulses([str(pulse) for pulse in p.pulses])  # refuse here what the fields would refuse
        home = home_index(home, len(p.pulses))
        if guess is not None and not isinstance(guess, Guess):
            raise ValueError(f"guess={short(guess)} is not a guess; for example guess=predict('00-guess')")
        self.feel, self.tempo, self._said = Feel(p, home), Tempo(bpm, pulse=home), said
        self._bounds = bounds or limits()
        self._heading = widgets.HTML()
        self._pulses = Pulses(p.pulses, self._pulses_typed, grows=grows)
        self._home = Home(self._home_chosen)
        self._bpm = TempoField(self._bpm_typed)
        names = dict.fromkeys([view, *self.VIEWS])
        menu = {"style": {"description_width": "36px"}, "layout": widgets.Layout(width="172px")}
        self._view = widgets.Dropdown(options=list(names), value=view, description="view", **menu)
        self._view.observe(self._view_chosen, names=["value"])
        self._first = FirstBeat(self._beat_typed)
        self._start = 0
        self.stage = Stage(bpm_range=list(SLIDE))
        self.stage.observe(self._home_flipped, names=["home"])
        self.stage.observe(self._bpm_slid, names=["slid"])
        self.takes = Takes(self.stage)
        self._result = widgets.HTML()
        self._guess = guess
        if guess is not None:
            guess.observe(lambda _: self._tell_guess(), names=["value"])
        form = widgets.HBox(
            [self._pulses, self._home, self._bpm, self._view, self._first],
            layout=widgets.Layout(flex_flow="row wrap", align_items="center"),
        )
        self.export = Export(self._content)
        super().__init__([self._heading, form, self.stage, self._result, self.export])
        self._redraw()

    @told
    def _pulses_typed(self) -> None:
        p = read_pulses(self._pulses.texts)
        home = min(self.feel.home, len(p.pulses) - 1)
        bpm = self.tempo.bpm_of(self.feel.polyrhythm, self.feel.home)
        self.feel, self.tempo, self._start = Feel(p, home), Tempo(bpm, pulse=home), 0
        self._redraw()

    def _unread(self) -> str:
        """Say which field cannot be read, for as long as what stands in it is not what is shown."""
        try:
            read_pulses(self._pulses.texts)
            read_bpm(self._bpm.value)
        except ValueError as error:
            return plainly(str(error))
        return ""

    @told
    def _home_chosen(self) -> None:
        self._flip(self._home.index)

    @told
    def _home_flipped(self, change: dict) -> None:
        self._flip(change["new"])

    def _flip(self, home: int) -> None:
        """Move home; the pictures of all homes are there already and the speed stays what it is."""
        p = self.feel.polyrhythm
        if home != self.feel.home and 0 <= home < len(p.pulses):
            self.feel, self.tempo = self.feel.flip(home), self.tempo.said_in(p, home)
            self.stage.home = home
            self._write_controls()

    @told
    def _bpm_typed(self) -> None:
        self.tempo = Tempo(self._bpm.read(), pulse=self.feel.home)
        self._redraw()

    @told
    def _bpm_slid(self, change: dict) -> None:
        p, home = self.feel.polyrhythm, int(change["new"].get("home", -1))
        if 0 <= home < len(p.pulses):
            self.tempo = Tempo(change["new"]["bpm"], pulse=home).said_in(p, self.feel.home)
            self._redraw()

    @told
    def _view_chosen(self, _: dict) -> None:
        self._redraw()

    @told
    def _beat_typed(self) -> None:
        self._start = (read_beat(self._first.value, self.feel.beats) - 1) * self.feel.beat_ticks
        self._redraw()

    def _redraw(self) -> None:
        """Make the picture and the words of every home from what is held now."""
        p = self.feel.polyrhythm
        made = []
        view = self.VIEWS[self._view.value]
        self._window = readable(self.feel.cycle(), self._start)
        for home in range(len(p.pulses)):
            feel, tempo = Feel(p, home), self.tempo.said_in(p, home)
            made.append(
                {
                    "svg": _painted(view(feel, tempo, self._bounds, self._window)),
                    "said": [text for text in self._said(feel, tempo) if text],
                    "home": words.pulse_name(p, home),
                    "bpm": float(tempo.bpm),
                    "spots": spots(feel),
                }
            )
        facts = words.facts(p, self.tempo)
        self._heading.value = f"<b style='font-size:1.5em'>{escape(words.pair(p))}</b> &nbsp; {escape(facts)}"
        self._write_controls()  # before the stage, which looks whether all fields can be read
        with self.stage.hold_sync():
            self.stage.pictures = made
            self.stage.sound(plan(self.feel, self.tempo, self.stage.slid.get("turn", 0)))
            self.stage.home = self.feel.home
        self._tell_guess()

    def _content(self) -> Content:
        """Return what is shown now, to be saved."""
        p, view = self.feel.polyrhythm, self.VIEWS[self._view.value]
        scene = view(self.feel, self.tempo, self._bounds, self._window)
        if isinstance(scene, str):  # notes, which are saved as notes; the picture is the heard line
            scene = strip(self.feel.cycle(), start=self._window[0], stop=self._window[1])
        return Content(words.pair(p), p, self.tempo, self.feel.home, scene)

    def _write_controls(self) -> None:
        self._home.offer(self.feel.polyrhythm, self.feel.home)
        self._bpm.show(self.feel.polyrhythm, self.tempo, self.feel.home)
        start, stop = self._window
        whole = stop - start == self.feel.polyrhythm.ticks
        self._first.offer(None if whole else start // self.feel.beat_ticks + 1)

    def _tell_guess(self) -> None:
        said = self._guess.said() if self._guess is not None else ""
        self._result.value = f"<p role='status'>{escape(said)}</p>" if said else ""

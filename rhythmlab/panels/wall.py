"""The panel for the wall of a room: two called numbers, everything large, by keys alone."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from html import escape
from typing import Any

import ipywidgets as widgets

from rhythmlab import words
from rhythmlab.core.call import public
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, renamed
from rhythmlab.core.feel import Feel
from rhythmlab.core.given import Rhythm
from rhythmlab.core.kinds import Number
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.panels.controls import drawable, pulse_field, read_pulses
from rhythmlab.panels.cycles import Shown, cut
from rhythmlab.panels.export import Content
from rhythmlab.panels.hall import FIELD, given_hall, hall_said, keep_hall, read_metres
from rhythmlab.panels.panel import Panel, Window
from rhythmlab.panels.refused import FieldRefusal, Line
from rhythmlab.panels.room import (
    GAPS,
    HALVES,
    come_in_said,
    gaps,
    halves_said,
    landmark_ticks,
    long,
    possible_said,
    speeds_said,
)
from rhythmlab.panels.sounding import plan, plan_of, refuse_too_dense, strokes_of
from rhythmlab.panels.told import told
from rhythmlab.playing.limits import Limits
from rhythmlab.playing.said import landmarks_said
from rhythmlab.refusal import Refusal
from rhythmlab.render.layout import readable
from rhythmlab.render.pictures import strip
from rhythmlab.render.scene import Scene
from rhythmlab.render.svg import svg

#: px that a picture on the wall is drawn in: filling a screen it is more than twice as large as on a page.
WALL_WIDTH = 600
#: More home beats than this and only the beats of the picture say where to come in.
MOST_LOST = 64
LINE = "heard line"
_HINT = "Type a number, Tab, a number, Enter: it sounds."


class Wall(Panel):
    """A `Panel` drawn for the back row: the heard line or the gap cycle, and a key for everything.

    Parameters
    ----------
    pulses : sequence of int
        What it starts with.
    home : int or None
        Index of the home pulse; the last one when ``None``.
    bpm : number or Tempo
        Beats a minute of home.
    hall : number, optional
        Length of the room in metres; the one that was kept when left out.

    Attributes
    ----------
    halves : bool
        Whether each half of the room has a pulse, in sound and on the screen.
    metres : Fraction or None
        Length of the room.
    """

    def __init__(
        self, pulses: Sequence[int | Rhythm], *, home: int | None, bpm: Speed, hall: Number | None = None
    ) -> None:
        self.VIEWS = {LINE: self._line, GAPS: gaps}
        self.halves, self._answered, self._no, self._quiet = True, 0, False, False
        self._shown: Shown | None = None
        self.metres = given_hall(hall)
        call = "wall(7, 4)"
        super().__init__(pulses, home=home, bpm=bpm, view=LINE, said=self._sentences, call=call)
        self._view.layout.display = "none"
        self._pulses.add_class("rl-pulses")
        self._write(self._pulses.texts)
        self._heading.add_class("rl-facts")
        self._form = widgets.HBox([self._pulses, self._home, self._bpm, self._first, self._view])
        self._form.add_class("rl-form")
        top = widgets.HBox([self._form, self._heading])
        top.add_class("rl-top")
        self._hall = widgets.Text(
            value="" if self.metres is None else f"{float(self.metres):g}",
            description=FIELD,
            placeholder="12",
            style={"description_width": "auto"},
            layout=widgets.Layout(width="22em"),
        )
        self._hall.observe(self._hall_typed, names=["value"])
        self._hall_told, self._hall_line = widgets.HTML(), Line()
        hall_row = widgets.HBox([self._hall, self._hall_told])
        self._below = [hall_row, self._hall_line, self.export]
        for part in self._below:
            part.add_class("rl-page-only")
        self.children = [top, self.line, self.stage, *self._below]
        self.stage.look = "wall"
        self.stage.on_pressed(self._key)
        self.add_class("rl-wall")
        self._redraw()

    def _redraw(self) -> None:
        p = self.feel.polyrhythm
        with self.stage.hold_sync():
            super()._redraw()
            self._shown = None
            made = self.stage.pictures
            self.stage.pictures = [{**one, **self._where(Feel(p, home))} for home, one in enumerate(made)]
            self._tell_room()
        sounds = words.plural(len(composite(p)), "sound")
        seconds = words.seconds(self.tempo.cycle_seconds(p))
        facts = f"{words.plural(p.ticks, 'tick')} \u00b7 {sounds} \u00b7 {seconds}"
        self._heading.value = f"<span>{escape(facts)}</span>"
        self.remove_class("rl-shown")

    def _tell_room(self, *, pair: bool | None = None) -> None:
        pair = self._shown is None if pair is None else pair
        self.stage.room = {
            "pair": pair,
            "halves": pair and self.halves,
            "gaps": pair and self._view.value == GAPS,
            "hint": self._hint(),
            "answered": self._answered,
            "refused": self._no,
        }

    def _hint(self) -> str:
        return _HINT

    def _line(self, feel: Feel, tempo: Tempo, limits: Limits, ticks: Window) -> Scene:
        """Draw the heard line; with halves, each row is named by the half of the room that claps it."""
        cycle = feel.cycle()
        scene = strip(cycle, start=ticks[0], stop=ticks[1], width=WALL_WIDTH)
        if not self.halves:
            return scene
        names = [*HALVES[: len(cycle.lanes)], *(lane.name for lane in cycle.lanes[len(HALVES) :])]
        lanes = [replace(lane, name=name) for lane, name in zip(cycle.lanes, names, strict=True)]
        room = strip(renamed(cycle, lanes), start=ticks[0], stop=ticks[1], width=WALL_WIDTH)
        return replace(room, alt=f"{halves_said(feel)} {scene.alt}")

    def _sentences(self, feel: Feel, tempo: Tempo) -> list[str]:
        p = feel.polyrhythm
        others = [i for i in range(len(p.pulses)) if i != feel.home]
        halves = halves_said(feel) if self.halves else ""
        slow = long(feel, tempo, self._limits)
        return [
            words.sentences(speeds_said(feel, tempo), halves),
            possible_said(feel, tempo, self._limits),
            landmarks_said(feel, others[0]) if slow else "",
            hall_said(p, tempo, self.metres),
        ]

    def _where(self, feel: Feel) -> dict[str, object]:
        """Return the landmarks of a long cycle, and from each beat where to come in when lost."""
        told: dict[str, object] = {"lost": come_in_said(feel, MOST_LOST)}
        if long(feel, self.tempo, self._limits):
            moving = next(i for i in range(len(feel.polyrhythm.pulses)) if i != feel.home)
            told["landmarks"] = [[0, "all together"], *landmark_ticks(feel, moving)]
        return told

    @told
    def _hall_typed(self, change: dict[str, Any]) -> None:
        self._hall_told.value = ""
        try:
            self.metres = read_metres(change["new"])
        except FieldRefusal as error:
            return self._hall_line.tell(error)
        self._hall_line.tell(None)
        if self.metres is not None:
            self._hall_told.value = f"<span role='status'>{escape(keep_hall(self.metres))}</span>"
        if self._shown is None:
            self._redraw()
        return None

    def _refused(self) -> FieldRefusal | None:
        return None if self._shown is not None else super()._refused()

    def _flip(self, home: int) -> None:
        if self._shown is None:  # a groove has one home
            super()._flip(home)

    @told
    def _key(self, asked: Mapping[str, Any]) -> None:
        """Do what a key or a button of the wall asks for."""
        match asked["pressed"]:
            case "enter":
                self._called(asked)
            case "gaps" if self._shown is None:
                self._view.value = GAPS if self._view.value == LINE else LINE
            case "halves" if self._shown is None:
                self.halves = not self.halves
                self._redraw()
            case "next" | "previous" as way:
                self._step(1 if way == "next" else -1)

    def _pulses_typed(self) -> None:
        if not self._quiet:
            super()._pulses_typed()

    def _typed(self) -> None:
        if self._shown is None:  # beside a groove the fields are not seen
            super()._typed()
        else:
            self._follow(read_pulses(self._pulses.texts), self._bpm.read())

    def put(self, p: Polyrhythm, tempo: Tempo, home: int) -> None:
        """Show a pair, as if its numbers had been called out.

        Parameters
        ----------
        p : Polyrhythm
            Two to four pulses.
        tempo : Tempo
            How fast.
        home : int
            Index of the home pulse.
        """
        drawable(p.pulses)
        bpm, field = tempo.bpm_of(p, home), f"bpm of {words.pulse_name(p, home)}"
        refuse_too_dense(words.pair(p), strokes_of(p), p.pulses[home], bpm, field)
        self._why = None
        self._change(Feel(p, home), Tempo(bpm, pulse=home), 0)
        self._write([str(pulse) for pulse in p.pulses])
        self.line.tell(self._refused())

    def _write(self, texts: list[str]) -> None:
        """Write into the fields of the pulses, without following them yet."""
        self._quiet = True
        try:
            self._pulses._resize(len(texts))
            for field, typed in zip(self._pulses.fields, texts, strict=False):
                field.continuous_update = False  # followed when left, or at once by Enter
                field.value = typed
        finally:
            self._quiet = False

    def _called(self, asked: Mapping[str, Any]) -> None:
        """Show the numbers that stand in the fields, and answer, so that the browser starts them."""
        self._write([str(text)[:99] for text in asked.get("texts", ())])
        self._answered, self._no = int(asked.get("number", 0)), False
        self._why = None
        try:
            self._call(read_pulses(self._pulses.texts))
        except FieldRefusal as error:
            self._no = True  # comes with the answer, so that nothing starts
            self.line.tell(error)
            raise
        finally:
            self._tell_room()

    def _call(self, p: Polyrhythm) -> None:
        """Show other numbers at the tempo that is there: first what sounds, then the picture."""
        before, bpm = self._shown_now()
        if p == before and self._shown is None:
            return
        home, sounded = min(self.feel.home, len(p.pulses) - 1), self.stage.plan
        field = pulse_field(p.pulses.index(max(p.pulses)))
        refuse_too_dense(words.pair(p), strokes_of(p), p.pulses[home], bpm, field, 7)
        with self.stage.hold_sync():
            self.stage.sound(plan(Feel(p, home), Tempo(bpm, pulse=home), self.stage.slid.get("turn", 0)))
            self._tell_room(pair=True)
        try:
            self._follow(p, bpm)
        except FieldRefusal:
            self.stage.sound(sounded)
            raise

    def _step(self, by: int) -> None:
        raise Refusal("There is no set list on this wall: rl.set_list() has one.")

    def show(self, shown: Shown) -> None:
        """Show any cycle, such as a groove; typing numbers brings the pair back.

        Parameters
        ----------
        shown : Shown
            A title, a cycle at a tempo, and sentences.
        """
        cycle, tempo = shown.cycle, shown.tempo
        strokes, beat = (
            sum(len(lane.onsets) for lane in cycle.lanes) + len(cycle.beats),
            tempo.beat_ticks(cycle),
        )
        refuse_too_dense(cut(shown.title), strokes, Fraction(cycle.ticks, beat), tempo.bpm, "bpm")
        start, stop = readable(cycle)
        picture = {
            "svg": svg(strip(cycle, start=start, stop=stop, width=WALL_WIDTH), live=True),
            "said": [text for text in shown.said if text],
            "home": "the beat",
            "bpm": float(tempo.bpm),
            "spots": [],
        }
        names = [f"{lane.name}, {lane.limb}" if lane.limb else lane.name for lane in cycle.lanes]
        self._shown = shown
        with self.stage.hold_sync():
            self.stage.pictures = [picture]
            self.stage.sound(plan_of(cycle, tempo, [cycle.beats], names))
            self.stage.home = 0
            self.stage.bpm_range = []
            self._tell_room()
        facts = f"{words.number(tempo.bpm)} bpm \u00b7 {words.seconds(tempo.cycle_seconds(cycle))}"
        self._heading.value = f"<b>{escape(shown.title)}</b> <span>{escape(facts)}</span>"
        self.add_class("rl-shown")
        self.line.tell(None)

    def _content(self) -> Content:
        if self._shown is None:
            return super()._content()
        cycle: Cycle = self._shown.cycle
        return Content(self._shown.title, cycle, self._shown.tempo, None, strip(cycle))


@public("wall(7, 4)")
def wall(*pulses: int | Rhythm, bpm: Speed = 72, home: int | None = None, hall: Number | None = None) -> Wall:
    """Put two numbers on the wall of a room.

    Parameters
    ----------
    *pulses : int, or one Polyrhythm, Cycle or pair
        What to start with; 7 against 4 when left out.
    bpm : number or Tempo
        Beats a minute of home.
    home : int, optional
        Index of the home pulse; the last one when left out.
    hall : number, optional
        Length of the room in metres; the one that was kept when left out.

    Returns
    -------
    Wall

    Examples
    --------
    >>> wall(4, 3, bpm=90).stage.pictures[1]["said"][0]
    'Home is the 3 at 90 bpm; the 4 goes at 120. Left half the 4 and right half the 3.'
    """
    return Wall(pulses or (7, 4), home=home, bpm=bpm, hall=hall)

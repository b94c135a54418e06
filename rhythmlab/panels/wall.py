"""The panel for the wall of a room: two called numbers, everything large, by keys alone."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from html import escape
from math import gcd
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from rhythmlab.core.check import positive, short
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, renamed
from rhythmlab.core.feel import Feel, Place
from rhythmlab.core.gaps import landmarks
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.core.types import Number
from rhythmlab.draw.fit import readable
from rhythmlab.draw.pictures import strip
from rhythmlab.draw.scene import Mark, Scene, Stroke, Text
from rhythmlab.draw.svg import svg
from rhythmlab.files import reason, set_aside
from rhythmlab.panels.controls import drawable, pulse_field, read_pulses
from rhythmlab.panels.cycle_panel import PanelContent, cut
from rhythmlab.panels.errors import ErrorLine, FieldRefusal, shows_errors
from rhythmlab.panels.panel import VIEWS, Panel, Window
from rhythmlab.panels.saving import Content
from rhythmlab.panels.stage.sounding import plan, plan_of, refuse_too_dense, strokes_of
from rhythmlab.playing.approach import approach
from rhythmlab.playing.hearing import landmarks_text
from rhythmlab.playing.learning import tempo_text
from rhythmlab.playing.limits import Limits
from rhythmlab.practice.feedback import come_in
from rhythmlab.refusal import Refusal
from rhythmlab.text import counts, descriptions, numbers, sentences
from rhythmlab.text.sentences import say
from rhythmlab.working_folder import place_for_files, write

LINE = "heard line"
GAPS = "gap cycle"
#: Width of a picture in px; on a full screen it is more than twice as large as on a page.
WALL_WIDTH = 600
#: Most beats that say where to come in.
MOST_LOST = 64
#: Names of the rows when each half of the room has a pulse, as the room sees the screen.
HALVES = ("left half", "right half", "middle")
_HINT = "Type a number, Tab, a number, Enter: it sounds."
#: How the gap cycle is squeezed for a wall: its rows, their share of the height, its width in px.
SQUEEZED_ROWS, SQUEEZED_SHARE, SQUEEZED_WIDTH = 7.8, 0.55, 760
#: Speed of sound in air at about 20 degrees, in metres a second (a physical constant, rounded).
SOUND_SPEED = 343
#: The file that keeps the length of the hall, beside the journal.
HALL_FILE = "hall.json"
#: Longest hall that can be typed, in metres.
LONGEST_HALL = 300
#: The name of the field of the length of the hall.
HALL_FIELD = "length of the room in metres"


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
        Length of the room in metres; the remembered one when left out.

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
        self.VIEWS = {LINE: self._line, GAPS: gap_picture}
        self.halves, self._answer, self._answer_refused, self._quiet = True, 0, False, False
        self._shown: PanelContent | None = None
        self.metres = given_hall(hall)
        call = "pages.wall(7, 4)"
        super().__init__(pulses, home=home, bpm=bpm, view=LINE, describe=self._sentences, call=call)
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
            description=HALL_FIELD,
            placeholder="12",
            style={"description_width": "auto"},
            layout=widgets.Layout(width="22em"),
        )
        self._hall.observe(self._hall_typed, names=["value"])
        self._hall_note, self._hall_line = widgets.HTML(), ErrorLine()
        hall_row = widgets.HBox([self._hall, self._hall_note])
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
            self.stage.pictures = [{**one, **self._places(Feel(p, home))} for home, one in enumerate(made)]
            self._tell_room()
        sounds = numbers.plural(len(composite(p)), "sound")
        seconds = numbers.seconds(self.tempo.cycle_seconds(p))
        facts = f"{numbers.plural(p.ticks, 'tick')} \u00b7 {sounds} \u00b7 {seconds}"
        self._heading.value = f"<span>{escape(facts)}</span>"
        self.remove_class("rl-shown")

    def _tell_room(self, *, pair: bool | None = None) -> None:
        pair = self._shown is None if pair is None else pair
        self.stage.room = {
            "pair": pair,
            "halves": pair and self.halves,
            "gaps": pair and self._view.value == GAPS,
            "hint": self._hint(),
            "answered": self._answer,
            "refused": self._answer_refused,
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
        return replace(room, alt=f"{halves_text(feel)} {scene.alt}")

    def _sentences(self, feel: Feel, tempo: Tempo) -> list[str]:
        p = feel.polyrhythm
        others = [i for i in range(len(p.pulses)) if i != feel.home]
        halves = halves_text(feel) if self.halves else ""
        slow = too_long_for_a_bar(feel, tempo, self._limits)
        return [
            sentences.sentences(speeds_text(feel, tempo), halves),
            possible_text(feel, tempo, self._limits),
            landmarks_text(feel, others[0]) if slow else "",
            hall_text(p, tempo, self.metres),
        ]

    def _places(self, feel: Feel) -> dict[str, object]:
        """Return the landmarks of a long cycle, and where to come in from each beat, for the browser."""
        places: dict[str, object] = {"lost": come_in_text(feel, MOST_LOST)}
        if too_long_for_a_bar(feel, self.tempo, self._limits):
            pulse = next(i for i in range(len(feel.polyrhythm.pulses)) if i != feel.home)
            places["landmarks"] = [[0, "all together"], *landmark_ticks(feel, pulse)]
        return places

    @shows_errors
    def _hall_typed(self, change: dict[str, Any]) -> None:
        self._hall_note.value = ""
        try:
            self.metres = read_metres(change["new"])
        except FieldRefusal as error:
            return self._hall_line.tell(error)
        self._hall_line.tell(None)
        if self.metres is not None:
            self._hall_note.value = f"<span role='status'>{escape(remember_hall(self.metres))}</span>"
        if self._shown is None:
            self._redraw()
        return None

    def _refused(self) -> FieldRefusal | None:
        return None if self._shown is not None else super()._refused()

    def _flip(self, home: int) -> None:
        if self._shown is None:  # a groove has one home
            super()._flip(home)

    @shows_errors
    def _key(self, asked: Mapping[str, Any]) -> None:
        """Do what a key or a button of the wall asks for; Enter shows the numbers of the fields."""
        match asked["pressed"]:
            case "enter":
                self._enter(asked)
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
        bpm, field = tempo.bpm_of(p, home), f"bpm of {descriptions.pulse_name(p, home)}"
        refuse_too_dense(descriptions.pair(p), strokes_of(p), p.pulses[home], bpm, field)
        self._why = None
        self._change(Feel(p, home), Tempo(bpm, pulse=home), 0)
        self._write([str(pulse) for pulse in p.pulses])
        self.line.tell(self._refused())

    def _write(self, texts: list[str]) -> None:
        """Write into the fields of the pulses, without showing them yet."""
        self._quiet = True
        try:
            self._pulses._resize(len(texts))
            for field, typed in zip(self._pulses.fields, texts, strict=False):
                field.continuous_update = False  # followed when left, or at once by Enter
                field.value = typed
        finally:
            self._quiet = False

    def _enter(self, asked: Mapping[str, Any]) -> None:
        """Show the numbers of the fields, and send the answer that makes the browser start them."""
        self._write([str(text)[:99] for text in asked.get("texts", ())])
        self._answer, self._answer_refused = int(asked.get("number", 0)), False
        self._why = None
        try:
            self._show_pair(read_pulses(self._pulses.texts))
        except FieldRefusal as error:
            self._answer_refused = True  # sent with the answer, so that nothing starts
            self.line.tell(error)
            raise
        finally:
            self._tell_room()

    def _show_pair(self, p: Polyrhythm) -> None:
        """Show other numbers at the same tempo: the sound first, then the picture."""
        before, bpm = self._shown_now()
        if p == before and self._shown is None:
            return
        home, sounded = min(self.feel.home, len(p.pulses) - 1), self.stage.plan
        field = pulse_field(p.pulses.index(max(p.pulses)))
        refuse_too_dense(descriptions.pair(p), strokes_of(p), p.pulses[home], bpm, field, 7)
        with self.stage.hold_sync():
            self.stage.sound(plan(Feel(p, home), Tempo(bpm, pulse=home), self.stage.slid.get("turn", 0)))
            self._tell_room(pair=True)
        try:
            self._follow(p, bpm)
        except FieldRefusal:
            self.stage.sound(sounded)
            raise

    def _step(self, by: int) -> None:
        raise Refusal("There is no set list on this wall: rl.pages.set_list() has one.")

    def show(self, shown: PanelContent) -> None:
        """Show any cycle, such as a groove; typing numbers brings the pair back.

        Parameters
        ----------
        shown : PanelContent
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
            "said": [text for text in shown.text if text],
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
        facts = f"{numbers.number(tempo.bpm)} bpm \u00b7 {numbers.seconds(tempo.cycle_seconds(cycle))}"
        self._heading.value = f"<b>{escape(shown.title)}</b> <span>{escape(facts)}</span>"
        self.add_class("rl-shown")
        self.line.tell(None)

    def _content(self) -> Content:
        if self._shown is None:
            return super()._content()
        cycle: Cycle = self._shown.cycle
        return Content(self._shown.title, cycle, self._shown.tempo, None, strip(cycle))


@public("pages.wall(7, 4)")
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
        Length of the room in metres; the remembered one when left out.

    Returns
    -------
    Wall

    Examples
    --------
    >>> wall(4, 3, bpm=90).stage.pictures[1]["said"][0]
    'Home is the 3 at 90 bpm; the 4 goes at 120. Left half the 4 and right half the 3.'
    """
    return Wall(pulses or (7, 4), home=home, bpm=bpm, hall=hall)


def gap_picture(feel: Feel, tempo: Tempo, limits: Limits, ticks: Window) -> Scene:
    """Draw the gap cycle on less height, so that its words are larger on a full screen."""
    scene = VIEWS[GAPS](feel, tempo, limits, ticks)
    assert isinstance(scene, Scene), "the gap cycle is drawn"
    return squeezed(scene, SQUEEZED_ROWS, SQUEEZED_SHARE, SQUEEZED_WIDTH)


def squeezed(scene: Scene, rows: float, share: float, width: int) -> Scene:
    """Return a scene whose first `rows` take a `share` of their height; what is below moves up.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> scene = VIEWS[GAPS](Feel(Polyrhythm(5, 4)), Tempo(100, pulse=1), limits(), (0, 20))
    >>> round(scene.rows - squeezed(scene, 7.8, 0.5, 700).rows, 2)
    3.9
    """

    def up(y: float) -> float:
        return y * share if y <= rows else y - rows * (1 - share)

    def moved(mark: Mark) -> Mark:
        if isinstance(mark, Stroke | Text):
            return replace(mark, y=up(mark.y))
        return replace(mark, top=up(mark.top), bottom=up(mark.bottom))

    return replace(scene, marks=tuple(map(moved, scene.marks)), rows=up(scene.rows), width=width)


def speeds_text(feel: Feel, tempo: Tempo) -> str:
    """Say how fast home goes, and every other pulse.

    Examples
    --------
    >>> speeds_text(Feel(Polyrhythm(7, 4)), Tempo(72, pulse=1))
    'Home is the 4 at 72 bpm; the 7 goes at 126.'
    """
    p = feel.polyrhythm
    others = [
        say("room.speed", pulse=descriptions.pulse_name(p, i), bpm=numbers.number(tempo.bpm_of(p, i)))
        for i in range(len(p.pulses))
        if i != feel.home
    ]
    home, bpm = descriptions.pulse_name(p, feel.home), numbers.number(tempo.bpm)
    return say("room.home", pulse=home, bpm=bpm, others=sentences.listed(others))


def halves_text(feel: Feel) -> str:
    """Say which half of the room has which pulse.

    Examples
    --------
    >>> halves_text(Feel(Polyrhythm(7, 4)))
    'Left half the 7 and right half the 4.'
    """
    p = feel.polyrhythm
    said = [
        say("room.half", half=half, pulse=descriptions.pulse_name(p, i))
        for i, half in zip(range(len(p.pulses)), HALVES, strict=False)
    ]
    return say("room.halves", halves=sentences.capital(sentences.listed(said)))


def possible_text(feel: Feel, tempo: Tempo, limits: Limits | None = None) -> str:
    """Say how to play a rhythm at a tempo, up to which tempo that works, and why not faster.

    Examples
    --------
    >>> print(possible_text(Feel(Polyrhythm(7, 4)), Tempo(72, pulse=1)))
    Learn the line, up to 214.3 bpm of the 4: its closest sounds are 119 ms apart; from 40 ms they are heard \
as two (Danielsen et al. 2026).
    >>> possible_text(Feel(Polyrhythm(5, 3)), Tempo(310, pulse=1))
    'Nothing fits at 310 bpm of the 3; the nearest is to learn the line, only up to 300 bpm of the 3.'
    """
    p, home = feel.polyrhythm, feel.home
    found = approach(p, tempo, home=home, limits=limits)
    best = found.recommended
    if not best.fits:
        return found.lead()
    way, ceiling = sentences.capital(best.label), best.ceiling_of(home)
    if ceiling is None:
        return say("room.any_tempo", way=way, why=best.short)
    cause = next((cause for cause in best.causes if cause.ceiling == best.ceiling), None)
    why = best.short if cause is None else cause.body()
    return say("room.up_to", way=way, tempo=tempo_text(p, home, ceiling), why=f"{why[:1].lower()}{why[1:]}")


def come_in_text(feel: Feel, most: int) -> list[str]:
    """Say from each of the first `most` beats where to come in when lost.

    Examples
    --------
    >>> come_in_text(Feel(Polyrhythm(7, 4)), 1)
    ['Come in on the next one, beat 1, 4 beats on: the strokes meet there.']
    """
    cycle = feel.cycle()
    return [come_in(cycle, beat)[0].describe() for beat in cycle.beats[:most].tolist()]


def landmark_ticks(feel: Feel, pulse: int) -> list[list[object]]:
    """Return the landmarks of a pulse against home, each as its tick and its name in the count."""
    step = feel.beat_ticks
    return [
        [tick, counts.place_name(Place(tick // step + 1, tick % step * 4 // step + 1, 4))]
        for tick in landmarks(feel.polyrhythm, pulse, feel.home)
    ]


def too_long_for_a_bar(feel: Feel, tempo: Tempo, limits: Limits) -> bool:
    """Whether the pulses meet so seldom that the cycle is not felt as one bar."""
    p = feel.polyrhythm
    every = tempo.tick_seconds(p) * p.meet(*range(len(p.pulses)))
    return every > Fraction(limits["bar_longest"].value) / 1000


def hall_text(p: Polyrhythm, tempo: Tempo, metres: Fraction | None) -> str:
    """Say to stand side by side, where the delay across the hall would blur the rhythm; else nothing.

    Examples
    --------
    >>> print(hall_text(Polyrhythm(16, 15), Tempo(100, pulse=1), 12))
    Stand side by side for the drift, not across the hall: over 12 m sound comes 35 ms late, and the \
smallest gap is 37.5 ms, less than twice that.
    >>> hall_text(Polyrhythm(7, 4), Tempo(72, pulse=1), 12)
    ''
    """
    ticks = smallest_gap(p)
    if metres is None or ticks is None:
        return ""
    gap = ticks * tempo.tick_seconds(p)
    if gap >= 2 * delay(metres):
        return ""
    return say(
        "room.side_by_side",
        metres=numbers.number(metres),
        late=numbers.number(1000 * delay(metres), 0),
        gap=numbers.number(1000 * gap, 1),
    )


def smallest_gap(p: Polyrhythm) -> int | None:
    """Return the smallest gap between strokes of two pulses that do not meet, in ticks; ``None`` if all meet.

    Examples
    --------
    >>> smallest_gap(Polyrhythm(16, 15)), smallest_gap(Polyrhythm(4, 4))
    (1, None)
    >>> smallest_gap(Polyrhythm(3, 4, 5))
    3
    """
    steps = [p.step(i) for i in range(len(p.pulses))]
    found = [gcd(a, b) for i, a in enumerate(steps) for b in steps[i + 1 :] if a != b]
    return min(found, default=None)


def delay(metres: Fraction) -> Fraction:
    """Return how long sound takes from one end of a hall to the other, in seconds.

    Examples
    --------
    >>> round(1000 * float(delay(12)))
    35
    """
    return Fraction(metres) / SOUND_SPEED


def given_hall(hall: object) -> Fraction | None:
    """Check the `hall` of a page call: a length in metres, the remembered one when left out.

    Examples
    --------
    >>> given_hall(12.5)
    Fraction(25, 2)
    """
    return remembered_hall() if hall is None else positive(hall, "hall", "hall=12", most=LONGEST_HALL)


def read_metres(text: str) -> Fraction | None:
    """Read the length of a hall in metres; ``None`` where nothing was typed.

    Examples
    --------
    >>> read_metres("12,5"), read_metres(" 12 m"), read_metres("")
    (Fraction(25, 2), Fraction(12, 1), None)
    """
    typed = text.strip().removesuffix("m").strip().replace(",", ".")
    if not typed:
        return None
    digits = typed.replace(".", "", 1)
    if (
        len(typed) > 9
        or not (digits.isascii() and digits.isdigit())
        or not 0 < Fraction(typed) <= LONGEST_HALL
    ):
        wrong = f"{HALL_FIELD}: {short(text.strip())} is not a length in metres, up to {LONGEST_HALL}"
        raise FieldRefusal(HALL_FIELD, wrong, 12)
    return Fraction(typed)


def remembered_hall() -> Fraction | None:
    """Return the length that was typed before, or ``None``."""
    try:
        return _read(hall_file())
    except OSError:
        return None


def remember_hall(metres: Fraction) -> str:
    """Write the length of the hall into its file, and say whether that worked."""
    about = "kept by rhythmlab: the length of the hall in metres"
    text = json.dumps({"about": about, "metres": f"{float(metres):g}"}) + "\n"
    note = f"Kept in {HALL_FILE}, beside the journal."
    try:
        if hall_file().exists() and _read(hall_file()) is None:  # it was damaged, or is not ours
            note += f" What was in it is in {set_aside(hall_file()).name} now."
        write(hall_file(), text.encode())
    except OSError as error:
        return f"It holds for this page only, since {HALL_FILE} cannot be written: {reason(error)}."
    return note


def hall_file() -> Path:
    """Return the file of the length, in the reader's working folder or in the current one."""
    return place_for_files() / HALL_FILE


def _read(path: Path) -> Fraction | None:
    """Return the length in a file, or ``None`` where there is none."""
    try:
        return read_metres(str(json.loads(path.read_bytes())["metres"]))
    except (ValueError, KeyError, TypeError, RecursionError):
        return None

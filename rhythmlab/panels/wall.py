"""The panel for the wall of a room: two called numbers, everything large, by keys alone."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from html import escape
from itertools import pairwise
from math import floor, gcd
from operator import itemgetter
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from rhythmlab.core.check import positive, short
from rhythmlab.core.cycle import Cycle, renamed
from rhythmlab.core.feel import Feel, Groups, Place, said_in
from rhythmlab.core.gaps import landmarks, phase_gaps
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.core.types import Number
from rhythmlab.draw.fit import counted_beats, readable
from rhythmlab.draw.gap_cycle import clear_names, gap_cycle
from rhythmlab.draw.palette import shape
from rhythmlab.draw.pictures import counted_in, strip, strip_alt, strip_in_words
from rhythmlab.draw.scene import Band, Mark, Rule, Scene, Stroke, Text
from rhythmlab.draw.svg import svg
from rhythmlab.panels.choice import Choice
from rhythmlab.panels.controls import drawable, pulse_field, read_bpm, read_pulses
from rhythmlab.panels.cycle_panel import PanelContent, cut
from rhythmlab.panels.errors import ErrorLine, FieldRefusal, shows_errors
from rhythmlab.panels.own_groups import lanes_said, words_said
from rhythmlab.panels.panel import Panel, Window, checked_call, slide_ends
from rhythmlab.panels.saving import Content
from rhythmlab.panels.stage.sounding import plan, plan_of, refuse_too_dense, strokes_of
from rhythmlab.playing.approach import (
    PHRASE,
    Approach,
    approach,
    called_tempo,
    fitting_view,
    largest,
)
from rhythmlab.playing.hearing import ear_landmarks, landmark_name, landmarks_text, zones
from rhythmlab.playing.limits import Limits, limits_or
from rhythmlab.playing.metre import with_article
from rhythmlab.playing.phrasing import as_advised
from rhythmlab.playing.sentence import Sentence
from rhythmlab.refusal import Refusal
from rhythmlab.text import counts, descriptions, numbers, sentences
from rhythmlab.text.descriptions import about_bpm
from rhythmlab.text.sentences import say

LINE = "heard line"
GAPS = "gap cycle"
#: Width of a picture in px; on a full screen it is more than twice as large as on a page.
WALL_WIDTH = 600
#: A picture of more rows than this is as high as a wall has room for, and is drawn so many px wide.
TALL_ROWS, TALL_WIDTH = 7.5, 800
#: A pulse of fewer strokes a minute is said by the beats between them.
SELDOM = 10
#: Most landmarks of a cycle; more would be no landmarks.
MOST_MARKS = 99
#: Which half of the room has which pulse, as the room faces the wall: the right half has what the right hand
#: has, the first pulse, so that "together, right, left, right" holds for hands and for halves.
HALVES = ("right half", "left half")
#: Thirds of it for three pulses, in the same order: the first two stand where halves stand.
THIRDS = ("right third", "left third", "middle third")
_HINT = "Type a number, Tab, a number, Enter: it sounds."
#: How the gap cycle is squeezed for a wall: its rows, their share of the height, its width in px.
SQUEEZED_ROWS, SQUEEZED_SHARE, SQUEEZED_WIDTH = 6.6, 0.65, 760
#: Rows from the number of a pulse to the half under it, and rows of the key under a gap cycle; its signs.
NAME_ROWS, KEY_ROWS = 0.46, 0.75
KEYS = {"disc": "\u25cf", "diamond": "\u25c6", "square": "\u25a0", "triangle": "\u25b2"}
#: A bare picture: its height in rows, px of its cycle and beside it, and px that a letter of its count needs.
BARE_ROWS, BARE_TIME, BARE_SIDE, BARE_LETTER = 4.5, 440, 20, 14.6
#: Rows from the tide of a bare gap cycle to its count.
BARE_UNDER = 0.9
#: Speed of sound in air at about 20 degrees, in metres a second (a physical constant, rounded).
SOUND_SPEED = 343
#: The file that keeps the length of the hall, beside the journal.
HALL_FILE = "hall.json"
#: Longest hall that can be typed, in metres.
LONGEST_HALL = 300
#: The name of the field of the length of the hall, and of the part of the drawer that it stands in.
HALL_FIELD, ROOM = "length of the room in metres", "Room"


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
    groups : str or sequence of int, optional
        How a beat of five parts or more is said, as for `Feel`; the remembered groups when left out.

    Attributes
    ----------
    halves : bool
        Whether each half of the room has a pulse, in sound and on the screen.
    bare : bool
        Whether only the numbers, the picture and the count are left.
    evening : Fraction
        The tempo that the presenter last set, in beats a minute of home; the next called pair starts at it.
        What + and - make of it after a flip is the tempo that the last number goes at then.
    metres : Fraction or None
        Length of the room.
    """

    def __init__(
        self,
        pulses: Sequence[int | Rhythm],
        *,
        home: int | None,
        bpm: Speed,
        hall: Number | None = None,
        groups: Groups | None = None,
    ) -> None:
        self.VIEWS = {LINE: self._line, GAPS: self._gaps}
        self.halves, self._started, self._answer_refused = True, 0, False
        self._shown: PanelContent | None = None
        self.bare, self._put, self._slower, self._item_view = False, 0, "", ""
        self._advised: dict[tuple[Polyrhythm, int, Fraction], Approach] = {}  # of what is drawn
        self._chosen: dict[tuple[tuple[int, ...], str], str] = {}  # views that the presenter chose
        self.metres = given_hall(hall)
        self._hall = widgets.Text(
            value="" if self.metres is None else f"{float(self.metres):g}",
            description=HALL_FIELD,
            placeholder="12",
            continuous_update=False,  # followed by Enter, or when left
        )
        self._hall.observe(self._hall_typed, names=["value"])
        self._hall_note, self._hall_line = widgets.HTML(), ErrorLine()
        call = "pages.wall(7, 4)"
        p, at, tempo = checked_call(pulses, home, bpm, call)
        self._limits = limits_or(None)
        view = self._fitting(Feel(p, at), tempo)
        super().__init__(
            pulses, home=home, bpm=bpm, view=view, describe=self._sentences, groups=groups, call=call
        )
        self.evening = self.tempo.bpm
        self._view.layout.display = "none"
        self._rows = [{"fields": [self._first]}]
        self._write(self._pulses.texts)
        self.children = [self.stage]
        self.stage.look = "wall"
        self.stage.on_pressed(self._key)
        self.add_class("rl-wall")
        self._redraw()

    def _redraw(self) -> None:
        with self.stage.hold_sync():
            super()._redraw()
            self._shown = None
            made = self.stage.pictures
            self.stage.pictures = [
                {**one, **self._places(self.feel.flip(home)), "aside": self._aside(self.feel.flip(home))}
                for home, one in enumerate(made)
            ]
            self._tell_room()

    def _head(self) -> dict[str, object]:
        """Return the head of a pair; its title stands there where its numbers are not all of it."""
        return {**super()._head(), **({"title": title, "named": True} if (title := self._title()) else {})}

    def _parts(self) -> dict[str, Any]:
        return {**super()._parts(), "shelf": self._shelf()}

    def _shelf(self) -> list[dict[str, Any]]:
        """Return what the presenter sets at leisure: words of the room's own, and its length."""
        words = {"fields": [self._words], "line": self._words_line}
        hall = {"fields": [self._hall], "note": self._hall_note, "line": self._hall_line}
        return [{"name": ROOM, "rows": [words, self._groups.row, hall]}]

    def _title(self) -> str:
        """Return the title of the pair on the wall; empty where its numbers, which stand there, are all."""
        return ""

    def _hands_changed(self) -> None:
        if self._shown is None:
            self._redraw()
        else:
            self._tell_room()

    def _tell_room(self, *, pair: bool | None = None) -> None:
        pair = self._shown is None if pair is None else pair
        self.stage.room = {
            "pair": pair,
            "halves": pair and self.halves,
            "mirrored": self.left_handed,
            "gaps": pair and self._view.value == GAPS,
            "bare": self.bare,
            "put": self._put,
            "hint": self._hint(),
            "answered": self._started,
            "refused": self._answer_refused,
        }

    def _hint(self) -> str:
        return _HINT

    def _line(self, feel: Feel, tempo: Tempo, limits: Limits, ticks: Window) -> Scene:
        """Draw the heard line; with halves, each row is named by the half of the room that claps it."""
        cycle = self._said_on(feel)
        start, stop = ticks
        quarters = not self._in_words(feel, tempo)
        scene = strip(cycle, start=start, stop=stop, width=WALL_WIDTH, groups=feel.groups)
        scene = in_quarters(scene, feel, cycle) if quarters else scene
        if not self.halves:
            return bared(scene) if self.bare else scene
        names = [
            *(parts := parts_of_room(len(cycle.lanes), self.left_handed)),
            *(lane.name for lane in cycle.lanes[len(parts) :]),
        ]
        lanes = [replace(lane, name=name) for lane, name in zip(cycle.lanes, names, strict=True)]
        named = renamed(cycle, lanes)
        room = strip_in_words(
            cycle, (), start=start, stop=stop, width=WALL_WIDTH, groups=feel.groups, drawn=named
        )
        room = numbered(in_quarters(room, feel, cycle) if quarters else room, feel.polyrhythm)
        room = replace(room, alt=f"{halves_text(feel, self.left_handed)} {room.alt}")
        return bared(room) if self.bare else room

    def _gaps(self, feel: Feel, tempo: Tempo, limits: Limits, ticks: Window) -> Scene:
        """Draw the gap cycle on less height, so that its words are larger on a full screen."""
        scene = gap_picture(feel, tempo, limits, ticks)
        return (
            bared(scene, beats_of(feel, scene))
            if self.bare
            else keyed(scene, feel.polyrhythm, self._names(feel.polyrhythm))
        )

    def _names(self, p: Polyrhythm) -> tuple[str, ...]:
        """Return what the room calls each pulse beside its number: its half, where there are halves."""
        return parts_of_room(len(p.pulses), self.left_handed) if self.halves else ()

    def _sentences(self, feel: Feel, tempo: Tempo) -> list[str]:
        gaps = self._view.value == GAPS  # which has no words in its count
        slow = gaps or too_long_for_a_bar(feel, tempo, self._limits)
        return [
            *self._told_aside(feel, tempo),
            "" if gaps or by_landmarks(feel, tempo, self._limits) else self._words_said(feel, tempo),
            landmarks_text(feel, self._others(feel)[0]) if slow else "",
        ]

    def _others(self, feel: Feel) -> list[int]:
        return [i for i in range(len(feel.polyrhythm.pulses)) if i != feel.home]

    def _told_aside(self, feel: Feel, tempo: Tempo) -> list[str]:
        """Return what is said to the presenter, and need not be read from the last row."""
        p = feel.polyrhythm
        halves = halves_text(feel, self.left_handed) if self.halves else ""
        same = len(set(p.pulses)) == 1
        headline, besides = ("", "") if same else self._advice(feel, tempo).on_the_wall
        return [
            self._slower if feel.home == len(p.pulses) - 1 else "",  # of the number that calls begin from
            sentences.sentences(speeds_text(feel, tempo), halves, besides),
            headline,
            descriptions.nothing_new_text(p) if min(p.reduced.pulses) > 1 and p.repeats > 1 else "",
            hall_text(p, tempo, self.metres),
        ]

    def _aside(self, feel: Feel) -> list[str]:
        return [
            text for text in self._told_aside(feel, self.tempo.in_pulse(feel.polyrhythm, feel.home)) if text
        ]

    def _advice(self, feel: Feel, tempo: Tempo) -> Approach:
        """Return the advice for what is drawn or called, looked for once."""
        p, home = feel.polyrhythm, feel.home
        key = p, home, tempo.bpm_of(p, home)
        if key not in self._advised:
            kept = dict([*self._advised.items()][-7:])  # a few, of the homes of a pair and of a call
            self._advised = kept | {key: approach(p, tempo, home=home, limits=self._limits)}
        return self._advised[key]

    def _fitting(self, feel: Feel, tempo: Tempo) -> str:
        """Return the view that fits a pair and what is advised for it at a tempo."""
        p = feel.polyrhythm
        return fitting_view(p) if len(set(p.pulses)) == 1 else self._advice(feel, tempo).view

    def _words_said(self, feel: Feel, tempo: Tempo) -> str:
        """Say how beats are counted, where that goes at the start that is advised; else its road's phrase."""
        said = words_said(feel, tempo, self._limits)
        if not said or len(set(feel.polyrhythm.pulses)) == 1:
            return said
        found = self._advice(feel, tempo)
        kept, best = words_said(feel, tempo, self._limits, found.start), found.recommended
        if kept or best.name != PHRASE or not best.groups:
            return kept
        pulse = descriptions.pulse_name(feel.polyrhythm, largest(feel.polyrhythm))
        return say("room.phrase", pulse=pulse, words=as_advised(best.groups)[1])

    def _sentence_said(self, said: Sentence) -> str:
        """Say a sentence, and what is to be mended in it; a room need not read that it fits."""
        return sentences.sentences(say("sentence.said", sentence=said.text), *said.remarks)

    def _in_words(self, feel: Feel, tempo: Tempo) -> bool:
        """Whether a line names the parts of its beats: not where it goes by landmarks, or too fast to say."""
        if by_landmarks(feel, tempo, self._limits):
            return False
        said = len(feel.polyrhythm.pulses) == 2 and words_said(feel, tempo, self._limits)
        return not said or self._words_said(feel, tempo) == said

    def _places(self, feel: Feel) -> dict[str, object]:
        """Return the landmarks, for the browser; of a long cycle also with its meeting, to be called out."""
        in_words = self._view.value == LINE and self._in_words(feel, self.tempo)
        marks = marks_of(feel, in_words=in_words)
        if not too_long_for_a_bar(feel, self.tempo, self._limits):
            return {"marks": marks}
        return {"marks": marks, "landmarks": [[0, "all together"], *marks]}

    @shows_errors
    def _hall_typed(self, change: dict[str, Any]) -> None:
        self._hall_note.value = ""
        try:
            self.metres = read_metres(change["new"])
        except FieldRefusal as error:
            return self._hall_line.tell(error)
        self._hall_line.tell()
        if self.metres is not None:
            self._hall_note.value = f"<span role='status'>{escape(remember_hall(self.metres))}</span>"
        if self._shown is None:
            self._redraw()
        return None

    def _refused(self) -> list[FieldRefusal]:
        return [] if self._shown is not None else super()._refused()

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
                self._chosen[self.feel.polyrhythm.pulses, self._item_view] = self._view.value
            case "halves" if self._shown is None:
                self.halves = not self.halves
                self._redraw()
            case "save":
                self._opened(asked)
            case "bare":
                self.bare = asked.get("on") is True
                self._redraw() if self._shown is None else self._draw_shown(self._shown)
            case "next" | "previous" as way:
                self._step(1 if way == "next" else -1)

    def _typed(self) -> None:
        if self._shown is None:  # beside a groove the fields are not seen
            super()._typed()
        else:
            self._follow(read_pulses(self._pulses.texts), self._bpm.read())

    def _follow(self, p: Polyrhythm, bpm: Fraction) -> None:
        """Show other numbers as a called pair, or another tempo, which is the evening's from then on."""
        before, old = self._shown_now()
        kept = self.evening, self._slower
        if bpm != old:
            self.evening, self._slower = bpm, ""
        try:
            if p == before and self._shown is None:
                super()._follow(p, bpm)
            else:
                self._call(p)
        except FieldRefusal:
            self.evening, self._slower = kept
            raise

    @shows_errors
    def _bpm_slid(self, change: dict[str, Any]) -> None:
        if self._shown is not None:
            return self._slide_shown(self._shown, str(change["new"].get("bpm", "")))
        kept, self._slower = self._slower, ""
        try:
            self._slide_to(change)
        except ValueError:
            self._slower = kept
            raise
        self.evening = self.tempo.bpm
        if change["new"].get(
            "pressed"
        ):  # a little more than what sounds: of the number that calls begin from
            p = self.feel.polyrhythm
            self.evening = Fraction(max(1, round(self.tempo.bpm_of(p, len(p.pulses) - 1))))

    def _slide_shown(self, shown: PanelContent, typed: str) -> None:
        """Show a groove at the tempo that the slide was moved to; its item keeps its own."""
        if shown.at is None:
            return
        bpm = read_bpm(typed, "bpm")
        try:
            other = shown.at(bpm)
            self._refuse_too_dense(other)
        except Refusal as error:
            self._draw_shown(shown)  # which answers the slide: it goes back to what sounds
            wrong = f"{cut(shown.title)} does not go at {about_bpm(bpm)} bpm: {error.wrong}."
            raise Refusal(wrong) from error
        self._draw_shown(other)

    def put(self, p: Polyrhythm, tempo: Tempo, home: int, view: str = "") -> None:
        """Show a pair at a tempo of its own, which is the evening's from then on.

        Parameters
        ----------
        p : Polyrhythm
            Two to four pulses.
        tempo : Tempo
            How fast.
        home : int
            Index of the home pulse.
        view : str
            ``"heard line"`` or ``"gap cycle"``; the one that fits when empty.
        """
        drawable(p.pulses)
        bpm, field = tempo.bpm_of(p, home), f"bpm of {descriptions.pulse_name(p, home)}"
        refuse_too_dense(descriptions.pair(p), strokes_of(p), p.pulses[home], bpm, field)
        self._why = None
        self._start_with(Feel(p, home, groups=self.feel.groups), bpm, "", view)
        self.evening = bpm
        self._write([str(pulse) for pulse in p.pulses])
        self.line.tell(*self._refused())

    def _call(self, p: Polyrhythm) -> None:
        """Show called numbers, the last of them home, at the evening's tempo or as near as hands can."""
        home = len(p.pulses) - 1
        wanted = Tempo(self.evening, pulse=home)
        bpm = called_tempo(self._advice(Feel(p, home), wanted))
        field = pulse_field(p.pulses.index(max(p.pulses)))
        refuse_too_dense(descriptions.pair(p), strokes_of(p), p.pulses[home], bpm, field, 7)
        self._start_with(Feel(p, home, groups=self.feel.groups), bpm, slower_text(p, self.evening, bpm), "")

    def _start_with(self, feel: Feel, bpm: Fraction, slower: str, view: str) -> None:
        """Show a pair from its start: the sound first, then the picture; where it fails all stays."""
        kept = self._slower, self._item_view, self._view.value, self._put
        sounded, home = self.stage.plan, self.stage.home
        tempo, pulses = Tempo(bpm, pulse=feel.home), feel.polyrhythm.pulses
        fits = self._chosen.get((pulses, view)) or view or self._fitting(feel, tempo)
        self._slower, self._item_view, self._put = slower, view, self._put + 1
        self._choose_view(fits)
        try:
            with self.stage.hold_sync():
                self.stage.sound(plan(feel, tempo, self.stage.slid.get("turn", 0)))
                self.stage.home = feel.home
                self._tell_room(pair=True)
            self._change(feel, tempo, 0)
        except BaseException:
            self._slower, self._item_view, shown, self._put = kept
            self._choose_view(shown)
            with self.stage.hold_sync():
                self.stage.sound(sounded)
                self.stage.home = home
            raise

    def _write(self, texts: list[str]) -> None:
        """Write into the fields of the pulses, without showing them yet."""
        super()._write(texts)
        self.stage.parts = self._parts()
        for field in self._pulses.fields:
            field.continuous_update = False  # followed when left, or at once by Enter

    def _enter(self, asked: Mapping[str, Any]) -> None:
        """Show the numbers of the fields, and send the answer that makes the browser start them.

        Numbers that cannot be shown are told, and those that are shown stand in the fields again.
        """
        self._write([str(text)[:99] for text in asked.get("texts", ())])
        self._started, self._answer_refused = int(asked.get("number", 0)), False
        self._why = None
        try:
            self._call(read_pulses(self._pulses.texts))
        except FieldRefusal as error:
            self._answer_refused = True  # sent with the answer, so that nothing else starts
            self._write([str(pulse) for pulse in self.feel.polyrhythm.pulses])  # what stands there sounds
            self.line.tell(error)
            raise
        finally:
            self._tell_room()

    def _step(self, by: int) -> None:
        raise Refusal("There is no set list on this wall: rl.pages.set_list() has one.")

    def show(self, shown: PanelContent) -> None:
        """Show any cycle, such as a groove; typing numbers brings the pair back.

        Parameters
        ----------
        shown : PanelContent
            A title, a cycle at a tempo, and sentences: the first for the room, the rest for the presenter.
        """
        self._refuse_too_dense(shown)
        self._put += 1
        self._draw_shown(shown)
        self.line.tell()
        self._words_line.tell()  # of the pair before

    def _refuse_too_dense(self, shown: PanelContent) -> None:
        refuse_too_dense(cut(shown.title), *_strokes_and_beats(shown), shown.tempo.bpm, "bpm")

    def _draw_shown(self, shown: PanelContent) -> None:
        """Draw what is no pair, and say what sounds."""
        cycle, tempo = shown.cycle, shown.tempo
        start, stop = readable(cycle)
        scene = strip_in_words(cycle, shown.words, start=start, stop=stop, width=WALL_WIDTH)
        if scene.rows > TALL_ROWS:  # its height bounds it, and so the width of a wall costs nothing
            scene = strip_in_words(cycle, shown.words, start=start, stop=stop, width=TALL_WIDTH)
        of = f" of {with_article(shown.note)}" if shown.note else ""
        key = [] if shown.words else [lanes_said(cycle, tempo, self._limits, f"bpm{of}")]
        picture = {
            "svg": svg(bared(scene) if self.bare else scene, live=True),
            "said": [text for text in (*shown.text, *key) if text],
            "aside": [text for text in shown.text[1:] if text],
            "home": with_article(shown.note) if shown.note else "the beat",
            "counted": shown.counted,
            "bpm": float(tempo.bpm),
            "spots": [],
        }
        names = [f"{lane.name}, {lane.limb}" if lane.limb else lane.name for lane in cycle.lanes]
        self._shown = shown
        facts = f"{about_bpm(tempo.bpm)} bpm{of}, {numbers.seconds(tempo.cycle_seconds(cycle))}"
        with self.stage.hold_sync():
            self.stage.head = {"title": shown.title, "facts": facts, "named": True}
            self.stage.pictures = [picture]
            self.stage.sound(plan_of(cycle, tempo, [cycle.beats], names, self.stage.slid.get("turn", 0)))
            self.stage.home = 0
            self.stage.bpm_range = slide_ends(*_strokes_and_beats(shown)) if shown.at else []
            self._tell_room()

    def _content(self) -> Content:
        if self._shown is not None:
            cycle: Cycle = self._shown.cycle
            scene = strip_in_words(cycle, self._shown.words)
            shown = self._shown
            return Content(shown.title, cycle, shown.tempo, None, scene, words=shown.words)
        bare, self.bare = self.bare, False  # what is saved has all its words
        try:
            return super()._content()
        finally:
            self.bare = bare


@public("pages.wall(7, 4)")
def wall(
    *pulses: int | Rhythm,
    bpm: Speed = 72,
    home: int | None = None,
    hall: Number | None = None,
    groups: Groups | None = None,
) -> Wall:
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
    groups : str or sequence of int, optional
        How a beat of five parts or more is said, as for `Feel`; the remembered groups when left out.

    Returns
    -------
    Wall

    Examples
    --------
    >>> wall(4, 3, bpm=90).stage.pictures[1]["said"][0]
    'Home is the 3 at 90 bpm; the 4 goes at 120. Right half (your left) the 4 and left half \
(your right) the 3.'
    """
    return Wall(pulses or (7, 4), home=home, bpm=bpm, hall=hall, groups=groups)


def _strokes_and_beats(shown: PanelContent) -> tuple[int, Fraction]:
    """Return how many strokes sound in a cycle, and how many of the beats of its tempo it has."""
    cycle = shown.cycle
    strokes = sum(len(lane.onsets) for lane in cycle.lanes) + len(cycle.beats)
    return strokes, Fraction(cycle.ticks, shown.tempo.beat_ticks(cycle))


def gap_picture(feel: Feel, tempo: Tempo, limits: Limits, ticks: Window) -> Scene:
    """Draw the gap cycle on less height, so that its words are larger on a full screen."""
    start, stop = ticks
    gaps = phase_gaps(feel.polyrhythm, feel.flip().home, feel.home, start=start, stop=stop)
    scene = gap_cycle(zones(gaps, tempo, limits=limits), width=SQUEEZED_WIDTH)
    scene = squeezed(scene, SQUEEZED_ROWS, SQUEEZED_SHARE, SQUEEZED_WIDTH)
    names = [mark for mark in scene.marks if isinstance(mark, Text) and mark.side == "right"]
    touching = set(names) - set(clear_names(names))
    return replace(scene, marks=tuple(mark for mark in scene.marks if mark not in touching))


def numbered(scene: Scene, p: Polyrhythm) -> Scene:
    """Return the line of a room with the number of each pulse over the half that claps it.

    Examples
    --------
    >>> from rhythmlab.core.cycle import Lane
    >>> rows = [Lane("right half", [0, 2, 4]), Lane("left half", [0, 3])]
    >>> scene = numbered(strip(Cycle(6, rows, beats=[0, 3])), Polyrhythm(3, 2))
    >>> [mark.text for mark in scene.marks if isinstance(mark, Text) and mark.role == "name"]
    ['3', 'right half', '2', 'left half']
    """
    marks: list[Mark] = []
    pulses = iter(p.pulses)
    for mark in scene.marks:
        if isinstance(mark, Text) and (mark.role, mark.side) == ("name", "left"):
            marks.append(replace(mark, y=mark.y - NAME_ROWS / 2, text=str(next(pulses))))
            mark = replace(mark, y=mark.y + NAME_ROWS / 2)
        marks.append(mark)
    return replace(scene, marks=tuple(marks))


def keyed(scene: Scene, p: Polyrhythm, names: Sequence[str]) -> Scene:
    """Return a gap cycle with a key under it: which shape is which number, and which half of the room.

    Examples
    --------
    >>> p = Polyrhythm(16, 15)
    >>> keyed(gap_cycle(p, 100), p, HALVES).marks[-1].text
    '\u25cf 16, right half \u00b7 \u25c6 15, left half'
    """
    drawn = sorted({mark.lane for mark in scene.strokes()})
    said = [", ".join([f"{KEYS[shape(i)]} {p.pulses[i]}", *names[i : i + 1]]) for i in drawn]
    middle = (scene.start + scene.stop) / 2
    key = Text(middle, scene.rows + KEY_ROWS - 0.5, " \N{MIDDLE DOT} ".join(said), "small")
    return replace(scene, marks=(*scene.marks, key), rows=scene.rows + KEY_ROWS)


def beats_of(feel: Feel, scene: Scene) -> list[tuple[int, str]]:
    """Return the beats of home that a scene shows, and their numbers.

    Examples
    --------
    >>> beats_of(Feel(Polyrhythm(4, 3)), gap_cycle((4, 3)))
    [(0, '1'), (4, '2'), (8, '3')]
    """
    beats = feel.polyrhythm.onsets(feel.home, start=scene.start, stop=scene.stop).tolist()
    return [(beat, str(beat // feel.beat_ticks + 1)) for beat in beats]


def bared(scene: Scene, beats: Sequence[tuple[int, str]] = ()) -> Scene:
    """Return a scene with nothing written but the count of its beats, which is large from the last row.

    Of a gap cycle the `beats` are given, each with its number; a line has them in its first row of numbers.

    Examples
    --------
    >>> scene = bared(strip((16, 15), width=WALL_WIDTH))
    >>> [mark.text for mark in scene.marks if isinstance(mark, Text)] == [str(beat) for beat in range(1, 16)]
    True
    """
    count = [mark for mark in scene.marks if isinstance(mark, Text) and mark.role == "big"]
    row = min((mark.y for mark in count), default=scene.rows)
    if beats:
        bottom = max(mark.bottom for mark in scene.marks if isinstance(mark, Band))
        row = bottom + BARE_UNDER
        count = [Text(tick, row, number, "big") for tick, number in beats]
    room = BARE_TIME / (scene.stop - scene.start)
    counts_on = [mark for mark in count if mark.y == row]
    every = every_bare(counts_on, room)
    bars = [mark for mark in counts_on if mark.text == "1"]
    if every > 1 and len(bars) > 1:  # of bars the first beats stay, so that none is counted twice as fast
        counts_on, every = bars, every_bare(bars, room)
    drawn = [mark for mark in scene.marks if not isinstance(mark, Text) and mark_top(mark) < row]
    written = [replace(mark, role="bare") for mark in counts_on[::every]]
    heavy, edges = (
        [mark.x for mark in drawn if isinstance(mark, Rule) and mark.role == role and mark.x < scene.stop]
        for role in ("beat", "edge")
    )
    heavy = [tick for tick, _ in beats] or heavy
    shown = [(mark.x, mark.text) for mark in written]
    counted = counted_beats(sorted(heavy), sorted(edges), shown) if heavy else ""
    note = [Text(scene.start, row + 0.75, counted, "small", "from")] if counted else []  # read from afar too
    fewer = counted not in ("", *(mark.text for mark in scene.marks if isinstance(mark, Text)))
    alt = f"{scene.alt} On the bare wall {counted}." if fewer else scene.alt
    kept = replace(scene, alt=alt, marks=(*drawn, *written, *note), rows=row + (1.1 if counted else 0.55))
    kept = replace(kept, left=BARE_SIDE, right=BARE_SIDE)
    rows = row - 0.7
    below = 1.8 if counted else 1.25
    return squeezed(kept, rows, (BARE_ROWS - below) / rows, BARE_TIME + 2 * BARE_SIDE)


def every_bare(beats: Sequence[Text], room: float) -> int:
    """Return every how many beats have room for their large number, where a tick has so many px."""
    apart = min((b.x - a.x for a, b in pairwise(beats)), default=1.0) * room
    longest = max((len(mark.text) for mark in beats), default=1)
    every = (n * 10**e for e in range(9) for n in (1, 2, 5) if n * 10**e * apart >= BARE_LETTER * longest)
    return next(every, 1)


def mark_top(mark: Mark) -> float:
    """Return the highest row of a mark."""
    return mark.y if isinstance(mark, Stroke | Text) else mark.top


def squeezed(scene: Scene, rows: float, share: float, width: int) -> Scene:
    """Return a scene whose first `rows` take a `share` of their height; what is below moves up.

    Examples
    --------
    >>> scene = gap_cycle((5, 4))
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
    >>> speeds_text(Feel(Polyrhythm(16, 15)), Tempo(72, pulse=1))
    'Home is the 15 at 72 bpm; the 16 goes at about 77.'
    >>> speeds_text(Feel(Polyrhythm(3, 64)), Tempo(72, pulse=1))
    'Home is the 64 at 72 bpm; the 3 comes about every 21 beats.'
    >>> speeds_text(Feel(Polyrhythm(2, 9)), Tempo(30, pulse=1))
    'Home is the 9 at 30 bpm; the 2 comes every 4 and a half beats.'
    >>> speeds_text(Feel(Polyrhythm(1, 1)), Tempo(72, pulse=1))
    'All together at 72 bpm: one clap on every beat.'
    """
    p = feel.polyrhythm
    if len(set(p.pulses)) == 1:
        return say("room.same", bpm=about_bpm(tempo.bpm))
    others = [_speed_text(feel, tempo, i) for i in range(len(p.pulses)) if i != feel.home]
    home, bpm = descriptions.pulse_name(p, feel.home), about_bpm(tempo.bpm)
    return say("room.home", pulse=home, bpm=bpm, others=sentences.listed(others))


def _speed_text(feel: Feel, tempo: Tempo, pulse: int) -> str:
    """Say how fast another pulse than home goes; of one that comes seldom, every how many beats."""
    p = feel.polyrhythm
    bpm, name = tempo.bpm_of(p, pulse), descriptions.pulse_name(p, pulse)
    beats = Fraction(p.step(pulse), feel.beat_ticks)
    if bpm >= SELDOM or beats < 2:
        return say("room.speed", pulse=name, bpm=about_bpm(bpm))
    if beats.denominator == 2:
        return say("room.seldom", pulse=name, beats=say("cause.and_half", count=floor(beats)))
    said = numbers.plural(round(beats), "beat")
    return say("room.seldom" if beats.denominator == 1 else "room.seldom_about", pulse=name, beats=said)


def parts_of_room(pulses: int, left_handed: bool = False) -> tuple[str, ...]:
    """Return the half of the room for each pulse, or the third; left-handed, the first is the left.

    Of four pulses and more, the first three have a third each.

    Examples
    --------
    >>> parts_of_room(2), parts_of_room(2, left_handed=True)
    (('right half', 'left half'), ('left half', 'right half'))
    >>> parts_of_room(3)
    ('right third', 'left third', 'middle third')
    """
    parts = THIRDS if pulses > 2 else HALVES[:pulses]
    return (*parts[1::-1], *parts[2:]) if left_handed else parts


def halves_text(feel: Feel, left_handed: bool = False) -> str:
    """Say to the presenter, who faces the room, which half or third of it has which pulse.

    Examples
    --------
    >>> halves_text(Feel(Polyrhythm(7, 4)))
    'Right half (your left) the 7 and left half (your right) the 4.'
    """
    p = feel.polyrhythm
    parts = parts_of_room(len(p.pulses), left_handed)
    beside = {HALVES[0], THIRDS[0]}, {HALVES[1], THIRDS[1]}
    yours = dict.fromkeys(beside[0], say("room.your_left")) | dict.fromkeys(beside[1], say("room.your_right"))
    said = [
        say(
            "room.half",
            half=" ".join(filter(None, (half, yours.get(half)))),
            pulse=descriptions.pulse_name(p, i),
        )
        for i, half in enumerate(parts)
    ]
    return say("room.halves", halves=sentences.capital(sentences.listed(said)))


def possible_text(feel: Feel, tempo: Tempo, limits: Limits | None = None) -> str:
    """Say how to play a rhythm at a tempo: the way or the road, where to start and how far it goes.

    Examples
    --------
    >>> print(possible_text(Feel(Polyrhythm(7, 4)), Tempo(72, pulse=1)))
    Learn the line: start at 54 bpm of the 4; the goal is 72. Recommended up to 133 bpm; it fits up to 205. \
Faster: hold the ones.
    """
    return approach(feel.polyrhythm, tempo, home=feel.home, limits=limits).in_the_room()


def slower_text(p: Polyrhythm, wanted: Fraction, bpm: Fraction) -> str:
    """Say that a called rhythm starts slower than wanted, and for which pulse; else nothing.

    Examples
    --------
    >>> slower_text(Polyrhythm(64, 3), Fraction(72), Fraction(33))
    'Starts at 33 bpm, not 72: at 72 no two hands keep up the 64.'
    """
    if bpm >= wanted:
        return ""
    pulse = descriptions.pulse_name(p, p.pulses.index(max(p.pulses)))
    return say("room.slower", bpm=about_bpm(bpm), wanted=about_bpm(wanted), pulse=pulse)


def marks_of(feel: Feel, *, in_words: bool = False) -> list[list[object]]:
    """Return where a player can come in within the cycle: meetings and landmarks, each a tick and its name.

    Landmarks are named in quarters of a beat, or as the line names them, `in_words`.

    Examples
    --------
    >>> marks_of(Feel(Polyrhythm(6, 4)))
    [[6, 'meeting on beat 3']]
    >>> marks_of(Feel(Polyrhythm(16, 15)))
    [[60, 'a of 4'], [120, '& of 8'], [180, 'e of 12']]
    >>> marks_of(Feel(Polyrhythm(8, 7)), in_words=True)
    [[14, 'ta & of 2'], [28, 'ta of 4'], [42, '& of 6']]
    >>> marks_of(Feel(Polyrhythm(16, 15), home=0))
    [[60, 'quarter after 5'], [120, 'exact midway on 9'], [180, 'quarter before 13']]
    """
    p, step = feel.polyrhythm, feel.beat_ticks
    every = p.meet(*range(len(p.pulses)))
    meetings = range(every, p.ticks, every)
    other = next(i for i in range(len(p.pulses)) if i != feel.home)
    named: list[list[object]] = [[at, say("room.together", beat=at // step + 1)] for at in meetings]
    rows = (named, landmark_ticks(feel, other, in_words=in_words))
    return sorted((mark for row in rows if len(row) <= MOST_MARKS for mark in row), key=itemgetter(0))


def landmark_ticks(feel: Feel, pulse: int, *, in_words: bool = False) -> list[list[object]]:
    """Return the landmarks of a pulse against home, each as its tick and its name in the count."""
    step, parts, groups = feel.beat_ticks, feel.parts(pulse), said_in(feel, pulse)
    if not in_words or not counts.part_words(parts, groups=groups):
        return [[mark.tick, landmark_name(feel, mark)] for mark in ear_landmarks(feel, pulse)]
    return [
        [mark.tick, landmark_name(feel, mark)]
        if mark.between
        else [mark.tick, counts.said_name(Place(*_place(mark.tick, step, parts), parts), groups)]
        for mark in ear_landmarks(feel, pulse)
    ]


def _place(tick: int, step: int, parts: int) -> tuple[int, int]:
    """Return the beat and the part of it that a tick falls on."""
    return tick // step + 1, tick % step * parts // step + 1


def by_landmarks(feel: Feel, tempo: Tempo, limits: Limits) -> bool:
    """Whether a line is followed by its landmarks, e, & and a, in place of words for all its parts.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> [by_landmarks(Feel((8, 7)), Tempo(bpm, pulse=1), limits()) for bpm in (60, 120)]
    [True, False]
    """
    p = feel.polyrhythm
    if len(p.pulses) != 2 or not too_long_for_a_bar(feel, tempo, limits):
        return False
    other = feel.flip().home
    return bool(landmarks(p, other, feel.home)) and feel.parts(other) > 4


def in_quarters(scene: Scene, feel: Feel, cycle: Cycle) -> Scene:
    """Return a line that names its landmarks as they are told, and no other part of a beat, in words too.

    Examples
    --------
    >>> scene = in_quarters(strip((8, 7), width=WALL_WIDTH), Feel((8, 7)), Feel((8, 7)).cycle())
    >>> [mark.text for mark in scene.marks if isinstance(mark, Text) and mark.text in "ae&"]
    ['a', '&', 'e']
    >>> scene.alt[-56:]
    'by its landmarks, the 8 falls on a of 2, & of 4, e of 6.'
    """
    step, other = feel.beat_ticks, feel.flip().home
    ticks = landmarks(feel.polyrhythm, other, feel.home)
    names = {tick: counts.mark(Place(tick // step + 1, tick % step * 4 // step + 1, 4)) for tick in ticks}
    count = min((mark.y for mark in scene.marks if isinstance(mark, Text) and mark.role == "big"), default=0)
    marks: list[Mark] = []
    words = [
        mark
        for mark in scene.marks
        if isinstance(mark, Text) and (mark.role, mark.side) == ("small", "") and mark.y >= count
    ]
    lines = sorted({mark.y for mark in words if mark.x in names})
    kept = set(map(id, words))
    for mark in scene.marks:
        if isinstance(mark, Text) and id(mark) in kept:
            if mark.x % step and mark.x not in names:
                continue
            if mark.x in names:  # all on one line, under the numbers where one would touch a number
                mark = replace(mark, text=names[int(mark.x)], y=lines[:2][-1])
        marks.append(mark)
    shown = [
        str(name) for tick, name in landmark_ticks(feel, other) if scene.start <= int(str(tick)) < scene.stop
    ]
    falls = (
        f"the {feel.polyrhythm.pulses[other]} falls on {numbers.some(shown) or 'none of its landmarks here'}"
    )
    counted = counted_in(cycle, scene.start, scene.stop, scene.width, left=scene.left)
    alt = strip_alt(cycle, scene.start, scene.stop, f"by its landmarks, {falls}", counted)
    lowest = max(mark.y for mark in marks if isinstance(mark, Text))  # a row of words may be gone
    return replace(scene, marks=tuple(marks), alt=alt, rows=min(scene.rows, lowest + 0.5))


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
    return _KEPT.kept()


def remember_hall(metres: Fraction) -> str:
    """Write the length of the hall into its file, and say whether that worked."""
    return _KEPT.keep(f"{float(metres):g}", f"Kept in {HALL_FILE}, beside the journal.", "page")


def hall_file() -> Path:
    """Return the file of the length, in the reader's working folder or in the current one."""
    return _KEPT.path


_KEPT = Choice(HALL_FILE, "metres", "the length of the hall in metres", lambda kept: read_metres(str(kept)))

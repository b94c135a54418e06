"""One function for each notebook page: the name that stands in its cell.

Each takes the numbers to start with and gives a panel; what the panel says under its picture is the
page's own.
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from html import escape
from typing import Any

import ipywidgets as widgets

from rhythmlab.core.composite import composite
from rhythmlab.core.display import Quiet
from rhythmlab.core.feel import Feel, Groups
from rhythmlab.core.gaps import drift, near_ratios, phase_gaps
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.draw.pictures import spoken
from rhythmlab.draw.svg import svg
from rhythmlab.panels.guess import Guess
from rhythmlab.panels.handed import follow, given_hands, hands_switch, remembered_hands, switch_hands
from rhythmlab.panels.panel import Panel
from rhythmlab.panels.saving import Content, Export, as_seen
from rhythmlab.panels.stage.sounding import Plan, plan
from rhythmlab.panels.stage.stage import Stage
from rhythmlab.panels.takes import Takes
from rhythmlab.playing.hearing import (
    beat_text,
    landmarks_text,
    meet_text,
    part_text,
    pull_text,
    zones,
    zones_text,
)
from rhythmlab.playing.limits import limits
from rhythmlab.text import counts, descriptions, numbers, sentences

#: What a beginner meets first: to 3:2 in the order in which its learners passed through them (selfpaced1999),
#: and from there on by one stroke more in each hand.
FIRST = ((1, 1), (2, 1), (3, 1), (3, 2), (4, 3), (5, 4))


class FirstRhythms(Quiet, widgets.VBox):
    """Rhythms to say and clap before any numbers: right hand, left hand, and the words.

    Parameters
    ----------
    pairs : sequence of tuple of int
        What can be chosen, in order.
    left_handed : bool, optional
        Whether all hands are mirrored; what was chosen before when left out.
    """

    def __init__(self, pairs: Sequence[tuple[int, int]] = FIRST, left_handed: bool | None = None) -> None:
        self.left_handed = given_hands(left_handed)
        names = [f"{right} against {left}" for right, left in pairs]
        self._pairs = dict(zip(names, pairs, strict=True))
        self._choice = widgets.ToggleButtons(options=names, description="clap", value=names[0])
        self._choice.observe(lambda _: self._show(), names=["value"])
        self._hands = hands_switch(self.left_handed)
        self._hands.observe(self._mirrored, names=["value"])
        self._hands_note = widgets.HTML()
        self.stage = Stage()
        self.takes = Takes(self.stage, first=True)
        self.export = Export(self._content)
        hands = {"fields": [self._hands], "note": self._hands_note, "answers": True}
        shelf = [{"name": "Left-handed", "rows": [hands]}]
        self.stage.parts = {"rows": [{"fields": [self._choice]}], "shelf": shelf}
        self.export.offered_on(self.stage)
        super().__init__([self.stage])
        self._show()
        follow(self)

    def _mirrored(self, change: dict[str, Any]) -> None:
        """Mirror all hands here, in every panel of a pair that is there, and in all made from now on."""
        if self.left_handed == (change["new"] is True):
            return
        self.left_handed = change["new"] is True
        self._show()
        self._hands_note.value = f"<span role='status'>{escape(switch_hands(self.left_handed))}</span>"

    def hands_chosen(self, left_handed: bool) -> None:
        """Show the hands of a left-handed player from now on, or of a right-handed one."""
        self.left_handed = self._hands.value = left_handed
        self._show()

    def _content(self) -> Content:
        """Return what is shown now, to be saved."""
        p = Polyrhythm(*self._pairs[self._choice.value])
        scene = as_seen(spoken(p, self.left_handed), self.stage)
        return Content(descriptions.pair(p), p, _slowly(p), len(p.pulses) - 1, scene)

    def _show(self) -> None:
        p = Polyrhythm(*self._pairs[self._choice.value])
        said = [
            f"Say it, then clap it: {descriptions.clapped(p, self.left_handed)}.",
            'Then round again, with the space that is drawn before the next "together".',
        ]
        drawn = svg(spoken(p, self.left_handed), live=True)
        picture = {"svg": drawn, "said": said, "home": "", "bpm": 0.0, "spots": []}
        with self.stage.hold_sync():
            self.stage.pictures = [picture]
            self.stage.left_handed = self.left_handed
            self.stage.sound(slow_plan(p, self.left_handed))


def slow_plan(p: Polyrhythm, left_handed: bool = False) -> Plan:
    """Return what sounds while a beginner says and claps a pair: both hands, slowly, and no home beat.

    A cycle takes as long as its sounds need at two in three seconds, and at least 2 seconds.  What is said
    of a take has no numbers.

    Examples
    --------
    >>> slow_plan(Polyrhythm(3, 2))["cycle_s"]
    2.6666666666666665
    """
    made = plan(Feel(p), _slowly(p))
    names = [f"{hand} hand" for hand in descriptions.hands_of_two(left_handed)]
    lanes = [{**lane, "said": name} for lane, name in zip(made["lanes"], names, strict=True)]
    return {**made, "lanes": lanes, "homes": [[]], "bpms": [60.0], "loops": [], "numbers": False}


def _slowly(p: Polyrhythm) -> Tempo:
    """Return the tempo of `slow_plan`."""
    seconds = max(Fraction(2), Fraction(2, 3) * len(composite(p)))
    return Tempo(60 * p.pulses[-1] / seconds, pulse=len(p.pulses) - 1)


@public("pages.first_rhythms()")
def first_rhythms(*, left_handed: bool | None = None) -> FirstRhythms:
    """Show rhythms to say and clap, from 1 against 1 to 5 against 4.

    Parameters
    ----------
    left_handed : bool, optional
        Whether all hands are mirrored; what was chosen before when left out.

    Returns
    -------
    FirstRhythms
        A panel with one choice.

    Examples
    --------
    >>> first_rhythms().stage.pictures[0]["said"][0]
    'Say it, then clap it: together.'
    """
    return FirstRhythms(left_handed=left_handed)


@public("pages.two_numbers(7, 4)")
def two_numbers(
    *pulses: int | Rhythm,
    bpm: Speed = 72,
    home: int | None = None,
    guess: Guess | None = None,
    tries: Sequence[str] | None = None,
    groups: Groups | None = None,
) -> Panel:
    """Make two numbers one rhythm: page 00.

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
    Panel

    Examples
    --------
    >>> two_numbers(7, 4).stage.pictures[1]["said"][0]
    'Home is the 4 at 72 bpm: the count 1 to 4 is the beat you tap your foot to.'
    """

    def describe(feel: Feel, tempo: Tempo) -> list[str]:
        p = feel.polyrhythm
        home = f"Home is {descriptions.pulse_name(p, feel.home)} at {numbers.number(tempo.bpm)} bpm"
        beats = "1" if feel.beats == 1 else f"1 to {feel.beats}"
        return [
            f"{home}: the count {beats} is the beat you tap your foot to.",
            counts.count(feel),
            descriptions.heard(composite(p)),
            descriptions.nothing_new_text(p),
        ]

    return Panel(
        pulses or (7, 4),
        home=home,
        bpm=bpm,
        view="heard line",
        describe=describe,
        guess=guess,
        tries=tries,
        counts=True,
        groups=groups,
        call="pages.two_numbers(7, 4)",
    )


@public("pages.find_grid(7, 4)")
def find_grid(
    *pulses: int | Rhythm,
    bpm: Speed = 72,
    home: int | None = None,
    guess: Guess | None = None,
    tries: Sequence[str] | None = None,
) -> Panel:
    """Find the smallest grid that holds all pulses: page 01.

    Parameters
    ----------
    *pulses : int, or one Polyrhythm, Cycle or pair
        What to start with; 3 against 2 when left out.
    bpm : number or Tempo
        Beats a minute of home.
    home : int, optional
        Index of the home pulse; the last one when left out.
    guess : Guess, optional
        From `predict`; the panel shows nothing else until it is made or skipped.
    tries : sequence of str, or str, optional
        Buttons that set the panel: a line each, its fields as in a set list, such as
        ``"pulses: 16 15 | bpm: 60"``; or the number of a page, for its own.

    Returns
    -------
    Panel

    Examples
    --------
    >>> find_grid(6, 4).stage.pictures[1]["said"][0]
    'The grid has 12 ticks: the 6 has a stroke every 2 ticks, the 4 every 3.'
    """

    def describe(feel: Feel, tempo: Tempo) -> list[str]:
        p = feel.polyrhythm
        first, *rest = (descriptions.pulse_name(p, i) for i in range(len(p.pulses)))
        steps = [f"{first} has a stroke every {numbers.plural(p.step(0), 'tick')}"]
        steps += [f"{name} every {numbers.number(p.step(i))}" for i, name in enumerate(rest, 1)]
        return [
            f"The grid has {numbers.plural(p.ticks, 'tick')}: {', '.join(steps)}.",
            descriptions.common_factor(p),
            part_text(feel, tempo),
            descriptions.nothing_new_text(p),
        ]

    return Panel(
        pulses or (3, 2),
        home=home,
        bpm=bpm,
        view="shared grid",
        describe=describe,
        guess=guess,
        tries=tries,
        grows=True,
        call="pages.find_grid(3, 2)",
    )


@public("pages.merge_pulses(7, 4)")
def merge_pulses(
    *pulses: int | Rhythm,
    bpm: Speed = 72,
    home: int | None = None,
    guess: Guess | None = None,
    tries: Sequence[str] | None = None,
    groups: Groups | None = None,
) -> Panel:
    """Merge the pulses into the one line that is heard: page 02.

    Parameters
    ----------
    *pulses : int, or one Polyrhythm, Cycle or pair
        What to start with; 4 against 3 when left out.
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
    Panel

    Examples
    --------
    >>> merge_pulses(4, 3).stage.pictures[1]["said"][1]
    '4 + 3 strokes less 1 shared make 6 sounds.'
    """

    def describe(feel: Feel, tempo: Tempo) -> list[str]:
        p = feel.polyrhythm
        line = composite(p)
        strokes = sum(p.pulses)
        total = " + ".join(map(str, p.pulses))
        clapped = descriptions.clapped(p, remembered_hands()) if len(p.pulses) == 2 else ""
        return [
            descriptions.heard(line),
            f"{total} strokes less {numbers.number(strokes - len(line))} shared make "
            f"{numbers.plural(len(line), 'sound')}.",
            f"Clap it: {clapped}." if clapped and len(line) <= 16 else "",
            descriptions.nothing_new_text(p),
        ]

    return Panel(
        pulses or (4, 3),
        home=home,
        bpm=bpm,
        view="heard line",
        describe=describe,
        guess=guess,
        tries=tries,
        counts=True,
        groups=groups,
        grows=True,
        says=True,
        call="pages.merge_pulses(4, 3)",
    )


@public("pages.choose_home(7, 4)")
def choose_home(
    *pulses: int | Rhythm,
    bpm: Speed = 72,
    home: int | None = None,
    guess: Guess | None = None,
    tries: Sequence[str] | None = None,
    groups: Groups | None = None,
) -> Panel:
    """Choose the pulse that is home, and flip it: page 03.

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
    Panel

    Examples
    --------
    >>> choose_home(7, 4).stage.pictures[0]["said"][0]
    'Counted from the 7, the 4 falls on 1, a of 2, & of 4, e of 6.'
    """

    def describe(feel: Feel, tempo: Tempo) -> list[str]:
        p = feel.polyrhythm
        other = feel.flip().home
        pivot = descriptions.pivot(p, tempo, old=feel.home, new=other) if len(p.pulses) == 2 else ""
        return [
            counts.count(feel),
            f"{descriptions.tempo(p, tempo, feel.home)}.",
            part_text(feel, tempo),
            pull_text(p, tempo, (feel.home, other)),
            beat_text(feel, tempo),
            pivot,
            descriptions.nothing_new_text(p),
        ]

    return Panel(
        pulses or (7, 4),
        home=home,
        bpm=bpm,
        view="heard line",
        describe=describe,
        guess=guess,
        tries=tries,
        counts=True,
        groups=groups,
        grows=True,
        call="pages.choose_home(7, 4)",
    )


@public("pages.follow_gaps(16, 15)")
def follow_gaps(
    *pulses: int | Rhythm,
    bpm: Speed = 100,
    home: int | None = None,
    flam: float | Fraction | Decimal | None = None,
    guess: Guess | None = None,
    tries: Sequence[str] | None = None,
) -> Panel:
    """Follow the cycle of gaps between two pulses: page 04.

    Parameters
    ----------
    *pulses : int, or one Polyrhythm, Cycle or pair
        What to start with; 16 against 15 when left out.
    bpm : number or Tempo
        Beats a minute of home.
    home : int, optional
        Index of the home pulse; the last one when left out.
    flam : number, optional
        Widest flam in milliseconds; the published limit when left out.
    guess : Guess, optional
        From `predict`; the panel shows nothing else until it is made or skipped.
    tries : sequence of str, or str, optional
        Buttons that set the panel: a line each, its fields as in a set list, such as
        ``"pulses: 16 15 | bpm: 60"``; or the number of a page, for its own.

    Returns
    -------
    Panel

    Examples
    --------
    >>> follow_gaps(16, 15, bpm=60).stage.pictures[1]["said"][0][-52:]
    'is 62.5 ms, and it flams only from 94 bpm of the 15.'
    """
    rows = limits() if flam is None else limits(flam=flam)

    def describe(feel: Feel, tempo: Tempo) -> list[str]:
        p, moving = feel.polyrhythm, feel.flip().home
        drifting = drift(p, moving, feel.home)
        slipping = [
            descriptions.slips(p, ratio, moving, feel.home) for ratio in near_ratios(p, moving, feel.home)
        ]
        return [
            zones_text(zones(phase_gaps(p, moving, feel.home), tempo, limits=rows)),
            descriptions.drifts(drifting) if drifting.leads or drifting.doubled or drifting.empty else "",
            descriptions.midway_place(feel, moving),
            landmarks_text(feel, moving),
            sentences.sentences(*slipping[:-1]),
            meet_text(p, tempo, (moving, feel.home), rows),
            descriptions.nothing_new_text(p),
        ]

    return Panel(
        pulses or (16, 15),
        home=home,
        bpm=bpm,
        view="gap cycle",
        describe=describe,
        guess=guess,
        tries=tries,
        limits=rows,
        call="pages.follow_gaps(16, 15)",
    )

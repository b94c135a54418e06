"""What a wall says to a room and how it draws the gap cycle: large, in whole sentences, counted in beats."""

from dataclasses import replace
from fractions import Fraction

from rhythmlab import words
from rhythmlab.core.feel import Feel, Place
from rhythmlab.core.gaps import landmarks
from rhythmlab.core.tempo import Tempo
from rhythmlab.panels.panel import VIEWS, Window
from rhythmlab.playing.approach import approach
from rhythmlab.playing.limits import Limits
from rhythmlab.playing.steps import tempo_said
from rhythmlab.practice.where import come_in
from rhythmlab.render.scene import Mark, Scene, Stroke, Text
from rhythmlab.sentences import say

#: What the rows are called when each half of the room has a pulse, as the room sees the screen.
HALVES = ("left half", "right half", "middle")
GAPS = "gap cycle"
#: How far the gap cycle is squeezed for a wall: its rows, their share of the height, its width in px.
TIDE_ROWS, TIDE_SHARE, TIDE_WIDTH = 7.8, 0.55, 760


def gaps(feel: Feel, tempo: Tempo, limits: Limits, ticks: Window) -> Scene:
    """Draw the gap cycle on less height, so that its words are larger where it fills the screen."""
    scene = VIEWS[GAPS](feel, tempo, limits, ticks)
    assert isinstance(scene, Scene), "the gap cycle is drawn"
    return squeezed(scene, TIDE_ROWS, TIDE_SHARE, TIDE_WIDTH)


def squeezed(scene: Scene, rows: float, share: float, width: int) -> Scene:
    """Return a scene whose first rows take less height; what is below them moves up.

    Parameters
    ----------
    scene : Scene
        What is drawn.
    rows : float
        How many rows take less height.
    share : float
        Their new height, as a share of the old one.
    width : int
        Width in px.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
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


def possible_said(feel: Feel, tempo: Tempo, limits: Limits | None = None) -> str:
    """Say in one sentence how to play a rhythm at a tempo, how fast that goes, and why not faster.

    Parameters
    ----------
    feel : Feel
        What is played, and its home.
    tempo : Tempo
        How fast.
    limits : Limits, optional
        The limits to use; the published ones when left out.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> print(possible_said(Feel(Polyrhythm(7, 4)), Tempo(72, pulse=1)))
    Learn the line, up to 214.3 bpm of the 4: its closest sounds are 119 ms apart; from 40 ms they are heard \
as two (Danielsen et al. 2026).
    >>> possible_said(Feel(Polyrhythm(5, 3)), Tempo(310, pulse=1))
    'Nothing fits at 310 bpm of the 3; the nearest is to learn the line, only up to 300 bpm of the 3.'
    """
    p, home = feel.polyrhythm, feel.home
    found = approach(p, tempo, home=home, limits=limits)
    best = found.recommended
    if not best.fits:
        return found.lead()
    way, ceiling = words.capital(best.label), best.ceiling_of(home)
    if ceiling is None:
        return say("room.any_tempo", way=way, why=best.short)
    cause = next((cause for cause in best.causes if cause.ceiling == best.ceiling), None)
    why = best.short if cause is None else cause.body()
    return say("room.up_to", way=way, tempo=tempo_said(p, home, ceiling), why=f"{why[:1].lower()}{why[1:]}")


def halves_said(feel: Feel) -> str:
    """Say which half of the room has which pulse.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> halves_said(Feel(Polyrhythm(7, 4)))
    'Left half the 7 and right half the 4.'
    """
    p = feel.polyrhythm
    said = [
        say("room.half", half=half, pulse=words.pulse_name(p, i))
        for i, half in zip(range(len(p.pulses)), HALVES, strict=False)
    ]
    return say("room.halves", halves=words.capital(words.listed(said)))


def speeds_said(feel: Feel, tempo: Tempo) -> str:
    """Say how fast home goes, and every other pulse.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> speeds_said(Feel(Polyrhythm(7, 4)), Tempo(72, pulse=1))
    'Home is the 4 at 72 bpm; the 7 goes at 126.'
    """
    p = feel.polyrhythm
    others = [
        say("room.speed", pulse=words.pulse_name(p, i), bpm=words.number(tempo.bpm_of(p, i)))
        for i in range(len(p.pulses))
        if i != feel.home
    ]
    home, bpm = words.pulse_name(p, feel.home), words.number(tempo.bpm)
    return say("room.home", pulse=home, bpm=bpm, others=words.listed(others))


def long(feel: Feel, tempo: Tempo, limits: Limits) -> bool:
    """Whether all pulses meet so seldom that nobody feels it as one bar."""
    p = feel.polyrhythm
    every = tempo.tick_seconds(p) * p.meet(*range(len(p.pulses)))
    return every > Fraction(limits["bar_longest"].value) / 1000


def come_in_said(feel: Feel, most: int) -> list[str]:
    """Say from each of the first beats where to come in when lost, in beats where they are whole ones.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> come_in_said(Feel(Polyrhythm(7, 4)), 1)
    ['Come in on the next one, beat 1, 4 beats on: the strokes meet there.']
    """
    cycle = feel.cycle()
    return [come_in(cycle, beat)[0].said(feel.beat_ticks) for beat in cycle.beats[:most].tolist()]


def landmark_ticks(feel: Feel, moving: int) -> list[list[object]]:
    """Return the landmarks of a moving pulse, as tick and name in the count."""
    step = feel.beat_ticks
    return [
        [tick, words.place_name(Place(tick // step + 1, tick % step * 4 // step + 1, 4))]
        for tick in landmarks(feel.polyrhythm, moving, feel.home)
    ]

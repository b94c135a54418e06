"""Rows of strokes, each with a voice, a level and a side: what a sound is mixed from."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import numpy as np

from rhythmlab.audio.struck import ACCENT, FIRST_BEAT, GHOST, PLAIN, VARIANTS, struck, variants
from rhythmlab.audio.voices import between, known, pan, sample_rate
from rhythmlab.core.bounds import MOST_LANES
from rhythmlab.core.check import items, short
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.display import InNotebook
from rhythmlab.core.polyrhythm import Polyrhythm, home_or_last
from rhythmlab.core.public import public_class
from rhythmlab.core.tempo import Tempo
from rhythmlab.core.types import Floats, Samples, Ticks
from rhythmlab.refusal import Refusal
from rhythmlab.text import descriptions, numbers, sentences

#: The voice of the beats of home, and the one that they have where a lane plays the bass drum between them.
HOME_SOUND, HOME_OTHER = "bass drum", "click"
#: Voices of lanes that name none of their own, and where lanes stand: never hard to one side, since two
#: ears that hear one pulse each hear no flam.
LANE_SOUNDS = ("high wood block", "low wood block", "bell", "hand drum")
LANE_SIDES = (-0.35, 0.35, 0.0, 0.2)
LANE_LEVEL = 0.6
#: Most strokes, beats and grid ticks of a cycle, or of a slice of it, that are held at once.
MOST_HELD = 1_000_000


@public_class("Mix(levels=[0.8, 0.4])")
@dataclass(frozen=True)
class Mix(InNotebook):
    """How loud each row is, where it stands, and which voice it has.

    Parameters
    ----------
    levels : sequence of float, optional
        One a lane, from 0 to 1; 0.6 each when left out.
    sides : sequence of float, optional
        One a lane, from -1, left, to 1, right; a little to the left and to the right when left out.
    sounds : sequence of str or None, optional
        One voice a lane; each lane's own `sound` when left out. A lane that says only ``"click"`` gets a
        wood block, a bell or a hand drum, so that the lanes differ.
    home : float
        Level of the beats of home, on the bass drum, from 0, off, to 1. Where a lane plays the bass drum on
        every one of them they are not doubled, and where it plays others they are on the click.
    ticks : float
        Level of a soft sound on every tick of the grid, from 0, off, to 1.
    count_in : float
        Level of the count-in, from 0 to 1.

    Raises
    ------
    ValueError
        If a level or a side is out of range, or there is no such voice.

    Examples
    --------
    >>> Mix(levels=[0.8, 0.4], home=0).levels
    (0.8, 0.4)
    """

    levels: Sequence[float] | None = None
    sides: Sequence[float] | None = None
    sounds: Sequence[str | None] | None = None
    home: float = 0.45
    ticks: float = 0.0
    count_in: float = 0.5

    def __post_init__(self) -> None:
        for name, low, example in (("levels", 0, "[0.6, 0.6]"), ("sides", -1, "[-0.35, 0.35]")):
            values = _each(getattr(self, name), name, example)
            for i, value in enumerate(values or ()):
                if not between(value, low, 1):
                    raise Refusal(
                        f"{name}[{i}]={short(value)} is not a number from {low} to 1",
                        f"Mix({name}={example})",
                    )
            object.__setattr__(self, name, values and tuple(map(float, values)))
        sounds = _each(self.sounds, "sounds", '["bell", "snare"]')
        example = 'Mix(sounds=["bell", "snare"])'
        sounds = sounds and tuple(s if s is None else known(s, example) for s in sounds)
        object.__setattr__(self, "sounds", sounds)
        for name in ("home", "ticks", "count_in"):
            value = getattr(self, name)
            if not between(value, 0, 1):
                raise Refusal(
                    f"{name}={short(value)} is not a level from 0, off, to 1",
                    f"Mix({name}=0.5)",
                    argument=name,
                )
            object.__setattr__(self, name, float(value))


def _each(values: object, name: str, example: str) -> tuple[Any, ...] | None:
    if values is None:
        return None
    if isinstance(values, dict):
        raise Refusal(f"{name}={short(values)} is not a list", f"Mix({name}={example})", argument=name)
    return tuple(items(values, name, f"Mix({name}={example})", most=MOST_LANES))


@public_class("sound((7, 4), 72).rows[0]", shapes="sound((7, 4), 72).rows[0].shapes(48_000)")
@dataclass(frozen=True, eq=False)
class VoiceRow:
    """Strokes that share a voice, a level and a side.

    Attributes
    ----------
    name : str
        The lane's name, or ``"home"``, ``"grid ticks"`` or ``"count-in"``.
    sound : str
        Name of the voice.
    ticks : numpy.ndarray
        int64, rising: where the strokes are in the cycle; those of the count-in lie before its start.
    level : float
        From 0 to 1.
    side : float
        From -1, left, to 1, right.
    weights : numpy.ndarray
        float64, same shape as `ticks`: how strong each stroke is; `rhythmlab.audio.struck` has the three
        levels, of which each is 9 dB above the next, and the first of the beats.
    once : bool
        Whether it is played one time instead of in every cycle.
    """

    name: str
    sound: str
    ticks: Ticks
    level: float
    side: float
    weights: Floats = field(repr=False)
    once: bool = False

    def shapes(self, rate: int) -> tuple[list[Samples], Floats, Ticks]:
        """Return samples, float32 (n, 2), and peak of each kind of stroke; of which kind each stroke is."""
        rate, gains = sample_rate(rate), self.level * np.array(pan(self.side))
        weights, which = np.unique(self.weights, return_inverse=True)
        each = which * len(VARIANTS) + variants(len(which))
        kinds = np.flatnonzero(np.bincount(each, minlength=1)).tolist()
        made = []
        for weight, variant in (divmod(kind, len(VARIANTS)) for kind in kinds):
            mono = struck(self.sound, rate, float(weights[weight]), variant).astype(np.float64)[:, None]
            made.append((mono * gains).astype(np.float32))
        peaks = np.array([float(abs(shape).max()) for shape in made])
        return made, peaks, np.searchsorted(kinds, each).astype(np.int64, copy=False)


def loudest(begins: Ticks, ends: Ticks, peaks: Floats) -> float:
    """Return what no sample exceeds: the largest sum of the peaks of strokes that sound at the same time.

    Parameters
    ----------
    begins, ends : numpy.ndarray
        int64: first sample of each stroke, and the one after its last.
    peaks : numpy.ndarray
        float64: the loudest sample of each stroke by itself.

    Examples
    --------
    >>> loudest(np.array([0, 5, 10]), np.array([10, 12, 20]), np.array([0.5, 0.25, 0.125]))
    0.75
    """
    order = np.argsort(np.concatenate([ends, begins]), kind="stable")  # an end before a beginning
    return float(np.concatenate([-peaks, peaks])[order].cumsum().max())


def lane_rows(lanes: Sequence[Lane], mix: Mix, powers: Sequence[Fraction] = ()) -> list[VoiceRow]:
    """Return the row of each lane, as the mix says.

    Parameters
    ----------
    lanes : sequence of Lane
        The lanes.
    mix : Mix
        Its lists have one entry a lane.
    powers : sequence of Fraction, optional
        Of each lane, as `Cycle.powers` says; 1 each when left out.

    Raises
    ------
    ValueError
        If a list of the mix has more or fewer entries than there are lanes, or a lane names no voice.

    Examples
    --------
    >>> [(row.sound, row.side) for row in lane_rows([Lane("4", [0]), Lane("tune", [0], sound="bell")], Mix())]
    [('high wood block', -0.35), ('bell', 0.35)]
    """
    for name in ("levels", "sides", "sounds"):
        values = getattr(mix, name)
        if values is not None and len(values) != len(lanes):
            plain: dict[str, float | str] = {"levels": LANE_LEVEL, "sides": 0.0, "sounds": "bell"}
            fits = [plain[name]] * len(lanes)
            raise Refusal(
                f"{name}={short(list(values))} has {len(values)} entries for {len(lanes)} lanes",
                f"Mix({name}={fits})",
                argument=name,
            )
    rows = []
    for i, lane in enumerate(lanes):
        given = mix.sounds[i] if mix.sounds else None
        own = LANE_SOUNDS[i % len(LANE_SOUNDS)] if lane.sound == "click" else lane.sound
        level = mix.levels[i] if mix.levels else LANE_LEVEL
        side = mix.sides[i] if mix.sides else LANE_SIDES[i % len(LANE_SIDES)]
        weights = np.full(len(lane.onsets), PLAIN)
        weights[np.isin(lane.onsets, lane.ghosts)] = GHOST
        weights[np.isin(lane.onsets, lane.accents)] = ACCENT
        weights *= np.sqrt(float(powers[i])) if powers else 1
        example = 'Lane("bell", [0, 2], sound="bell")'
        rows.append(VoiceRow(lane.name, given or known(own, example), lane.onsets, level, side, weights))
    return rows


def all_rows(
    lanes: Sequence[Lane],
    mix: Mix,
    beats: Lane,
    span: tuple[int, int],
    count_in: tuple[int, int],
    powers: Sequence[Fraction] = (),
) -> tuple[VoiceRow, ...]:
    """Return all rows of a sound: the lanes, then home, the grid ticks and the count-in where they sound.

    Parameters
    ----------
    lanes : sequence of Lane
        The lanes, inside the slice.
    mix : Mix
        Levels, sides and voices.
    beats : Lane
        The beats of home, inside the slice; the first beat of the cycle is accented.
    span : tuple of int
        First tick of the slice, and the one after its last.
    count_in : tuple of int
        How many beats are counted before, and how many ticks long each is.
    powers : sequence of Fraction, optional
        Of each lane, as `Cycle.powers` says; 1 each when left out.

    Examples
    --------
    >>> lanes = [Lane("3", [0, 2, 4]), Lane("2", [0, 3])]
    >>> [row.name for row in all_rows(lanes, Mix(), lanes[1], (0, 6), (2, 3))]
    ['3', '2', 'home', 'count-in']
    """
    rows = lane_rows(lanes, mix, powers)
    first, last = span
    home = home_sound(rows, beats.onsets)
    if mix.home and home:
        weights = np.where(np.isin(beats.onsets, beats.accents), FIRST_BEAT, PLAIN)
        rows.append(VoiceRow("home", home, beats.onsets, mix.home, 0.0, weights))
    if mix.ticks:
        ticks = np.arange(first, last)
        rows.append(VoiceRow("grid ticks", "grid tick", ticks, mix.ticks, 0.0, np.full(len(ticks), PLAIN)))
    strokes, beat = count_in
    if strokes:
        ticks = np.array([first - (strokes - j) * beat for j in range(strokes)])
        weights = np.where(np.arange(strokes) == 0, FIRST_BEAT, PLAIN)
        rows.append(VoiceRow("count-in", "click", ticks, mix.count_in, 0.0, weights, once=True))
    return tuple(rows)


def home_sound(rows: Iterable[VoiceRow], beats: Ticks) -> str:
    """Return the voice of the beats of home, or none where a lane that is heard plays them on the same drum.

    Examples
    --------
    >>> feet = [Lane("feet", [0, 3], sound="bass drum")]
    >>> [home_sound(lane_rows(feet, Mix()), np.array(beats)) for beats in ([0, 2], [0])]
    ['click', '']
    >>> home_sound(lane_rows(feet, Mix(levels=[0])), np.array([0]))
    'bass drum'
    """
    same = [row.ticks for row in rows if row.level and row.sound == HOME_SOUND]
    if not same:
        return HOME_SOUND
    return HOME_OTHER if len(np.setdiff1d(beats, np.concatenate(same))) or not len(beats) else ""


_Parts = tuple[str, list[Lane], Lane, int]


def of_pulses(p: Polyrhythm, tempo: Tempo, home: int | None, first: int, last: int) -> _Parts:
    """Return what sounds in a slice of a polyrhythm; no more of it is ever held.

    Parameters
    ----------
    p : Polyrhythm
        What is played.
    tempo : Tempo
        The speed, for the title.
    home : int or None
        Index of the home pulse; the last one for ``None``.
    first, last : int
        The slice in ticks, half-open.

    Returns
    -------
    title : str
        What is played, and how fast.
    lanes : list of Lane
        The strokes in the slice.
    beats : Lane
        The beats of home in the slice, the first of the cycle accented.
    beat : int
        Ticks of a beat of the count-in.
    """
    home = home_or_last(p, home)
    steps = [p.step(i) for i in range(len(p.pulses))]
    strokes = sum(-(-last // step) + -first // step for step in steps)
    few_held(strokes, first, last)
    lanes = [Lane(str(pulse), p.onsets(i, start=first, stop=last)) for i, pulse in enumerate(p.pulses)]
    beats = Lane("home", lanes[home].onsets, accents=[0] * (first == 0))
    bpm = numbers.number(tempo.bpm_of(p, home))
    return (
        f"{descriptions.pair(p)} at {bpm} bpm of {descriptions.pulse_name(p, home)}",
        lanes,
        beats,
        steps[home],
    )


def of_cycle(c: Cycle, tempo: Tempo, home: int | None, first: int, last: int) -> _Parts:
    """Return what sounds in a slice of a cycle; see `of_pulses`."""
    if home is not None:
        raise Refusal(
            f"home={short(home)} is for a Polyrhythm, and a Cycle has its own beats",
            "sound(Polyrhythm(7, 4), Tempo(72, pulse=1), home=0)",
            argument="home",
        )

    def inside(ticks: Ticks) -> Ticks:
        return ticks[slice(*np.searchsorted(ticks, (first, last)))]

    def marked(ticks: Iterable[int]) -> list[int]:
        return [tick for tick in ticks if first <= tick < last]

    onsets, beats = [inside(lane.onsets) for lane in c.lanes], inside(c.beats)
    few_held(sum(map(len, onsets)) + len(beats), first, last)
    lanes = [
        Lane(lane.name, ticks, sound=lane.sound, accents=marked(lane.accents), ghosts=marked(lane.ghosts))
        for lane, ticks in zip(c.lanes, onsets, strict=True)
    ]
    if len(c.beats):
        i = int(np.searchsorted(c.beats, beats[0])) if len(beats) else 0
        following = c.beats[i + 1] if i + 1 < len(c.beats) else c.beats[0] + c.ticks
        beat = int(following - c.beats[i])
    else:
        beat = tempo.beat_ticks(c)
    title = f"{sentences.capital(descriptions.cycle_name(c))} at {numbers.number(tempo.bpm)} bpm"
    return title, lanes, Lane("home", beats, accents=inside(c.beats[:1])), beat


def few_held(strokes: int, first: int, last: int) -> None:
    """Refuse more strokes of a slice than are held at once, and name a slice that works.

    Parameters
    ----------
    strokes : int
        How many there are.
    first, last : int
        The slice in ticks.

    Examples
    --------
    >>> few_held(11, 0, 28)
    """
    if strokes > MOST_HELD:
        fits = first + max(1, (last - first) * 1000 // strokes)
        raise Refusal(
            f"ticks {first} to {last} hold {strokes:,} strokes, more than the "
            f"{MOST_HELD:,} that are held at once; take fewer ticks of the cycle",
            f"start={first}, stop={fits}",
        )

"""The same strokes in other words: a superimposed metre, and metric modulation with its pivot named.

Source by key: delone1975 (the formula and the worked example, as quoted elsewhere).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm

import numpy as np

from rhythmlab.core import check
from rhythmlab.core.check import few_enough, short, whole
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.display import Printed
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm, polyrhythm_and_home
from rhythmlab.core.tempo import Speed, Tempo, modulate, tempo_given
from rhythmlab.core.types import Number, Ticks
from rhythmlab.playing.metre import note_name, with_article
from rhythmlab.refusal import Refusal
from rhythmlab.text import descriptions, numbers, sentences

#: Most strokes that are laid out in other words, all wordings together.
MOST_LAID = 2_000_000
_EXAMPLE = "playing.other_words(Polyrhythm(4, 3), 100)"


@dataclass(frozen=True, slots=True, init=False, eq=False, repr=False)
class Recounted(Printed, Cycle):
    """A polyrhythm counted in another way: the same strokes, with other beats and bars.

    Attributes
    ----------
    kind : str
        ``"as written"``, ``"superimposed metre"`` or ``"metric modulation"``.
    tempo : Tempo or None
        Beats a minute of the beats counted, and their ticks; ``None`` where no tempo was given.
    text : str
        The same in a sentence.
    """

    kind: str
    tempo: Tempo | None
    text: str

    def __init__(
        self, cycle: Cycle, beats: Ticks, bars: Iterable[int], kind: str, tempo: Tempo | None, text: str
    ) -> None:
        Cycle.__init__(self, cycle.ticks, cycle.lanes, beats=beats, bars=bars)
        for field, value in (("kind", kind), ("tempo", tempo), ("text", text)):
            object.__setattr__(self, field, value)

    def __str__(self) -> str:
        return f"{self.kind.capitalize()}: {self.text}"


class Wordings(Printed, tuple[Recounted, ...]):
    """Several `Recounted`, one a line when printed."""

    def __str__(self) -> str:
        return "\n".join(map(repr, self))


@public(_EXAMPLE, p="what", bpm="tempo")
def other_words(what: Rhythm, tempo: Speed | None = None, *, home: int | None = None) -> Wordings:
    """Say the same strokes as written, as a metre laid over the bar, and as a metric modulation.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses; no stroke of them moves.
    tempo : Tempo or number, optional
        The speed; a number is beats a minute of home, from 1 to 1,000.
    home : int, optional
        Index of the pulse that is the beat as written; the last one when left out.

    Returns
    -------
    Wordings
        A tuple of `Recounted`, one a line when printed: as written; then for each other pulse a superimposed
        metre and a metric modulation. Each is a `Cycle` with the same lanes.

    References
    ----------
    DeLone et al. (eds) 1975, Aspects of Twentieth-Century Music, chapter 3 (as quoted elsewhere).

    Examples
    --------
    >>> print(other_words((4, 3), 90))
    As written: 3 beats to the bar at 90 bpm; the 4 lies across them.
    Superimposed metre: the beats stay at 90 bpm in 4 parts each (sixteenths, if the beat is a quarter), and
    the 4 groups these as 3+3+3+3 over 4+4+4.
    Metric modulation: the stroke of the 4 is the pivot and keeps its length (a dotted eighth, if the beat was
    a quarter); there were 4 in the old bar and 3 make the new one: 90 bpm becomes 120.
    """
    p, at = polyrhythm_and_home(what, home, "what", _EXAMPLE)
    speed = None if tempo is None else tempo_given(tempo, p, at, _EXAMPLE).bpm_of(p, at)
    others = [i for i in range(len(p.pulses)) if i != at]
    strokes = sum(p.pulses) + sum(_rounds(p, at, i) * (sum(p.pulses) + p.pulses[i]) for i in others)
    few_enough(strokes, 0, p.ticks, f"composite({p}, ", MOST_LAID)
    cycle = p.cycle(at)
    rate = "" if speed is None else f" at {numbers.number(speed)} bpm"
    across = sentences.listed([descriptions.pulse_name(p, i) for i in others])
    lies = f"{across} {'lies' if len(others) == 1 else 'lie'} across them"
    said = f"{numbers.plural(p.pulses[at], 'beat')} to the bar{rate}; {lies}."
    made = [Recounted(cycle, cycle.beats, [0], "as written", _tempo_in(p, at, at, speed), said)]
    for i in others:
        made += [_superimposed(p, cycle, at, i, speed), _modulated(p, cycle, at, i, speed)]
    return Wordings(made)


def _tempo_in(p: Polyrhythm, home: int, pulse: int, speed: Fraction | None) -> Tempo | None:
    """Return the speed of home said in a pulse."""
    if speed is None:
        return None
    return Tempo(speed * Fraction(p.pulses[pulse], p.pulses[home]), ticks=p.step(pulse))


def _superimposed(p: Polyrhythm, cycle: Cycle, home: int, pulse: int, speed: Fraction | None) -> Recounted:
    """Count another pulse as a metre laid over the bar."""
    n, q = p.pulses[pulse], p.pulses[home]
    common = gcd(n, q)
    parts, group = n // common, q // common
    note = note_name(Fraction(1, 4 * parts))
    named = f" ({note}s, if the beat is a quarter)" if note and parts > 1 else ""
    rate = "" if speed is None else f" at {numbers.number(speed)} bpm"
    said = (
        f"the beats stay{rate} in {numbers.plural(parts, 'part')} each{named}, and "
        f"{descriptions.pulse_name(p, pulse)} groups these as {_groups_text(group, n)} over "
        f"{_groups_text(parts, q)}."
    )
    return Recounted(
        cycle, p.onsets(pulse), [0], "superimposed metre", _tempo_in(p, home, pulse, speed), said
    )


def _rounds(p: Polyrhythm, home: int, pulse: int) -> int:
    """Cycles until bars of as many pivots as home has beats come home."""
    return p.pulses[home] // gcd(p.pulses[pulse], p.pulses[home])


def _modulated(p: Polyrhythm, cycle: Cycle, home: int, pulse: int, speed: Fraction | None) -> Recounted:
    """Make another pulse the beat, in bars of as many beats as before, until the new bars come home."""
    n, q = p.pulses[pulse], p.pulses[home]
    rounds = _rounds(p, home, pulse)
    turns = np.arange(rounds, dtype=np.int64)[:, None] * p.ticks
    lanes = [Lane(lane.name, (turns + lane.onsets).ravel(), lane.limb, lane.sound) for lane in cycle.lanes]
    long = Cycle(rounds * p.ticks, lanes, beats=[0])
    beats = np.arange(0, long.ticks, p.step(pulse), dtype=np.int64)
    note = note_name(Fraction(q, 4 * n))
    named = f" ({with_article(note)}, if the beat was a quarter)" if note else ""
    change = ""
    if speed is not None:
        change = f": {numbers.number(speed)} bpm becomes {numbers.number(modulate(speed, old=n, new=q))}"
    said = (
        f"the stroke of {descriptions.pulse_name(p, pulse)} is the pivot and keeps its length{named}; there "
        f"were {n} in the old bar and {q} make the new one{change}."
    )
    return Recounted(long, beats, beats[::q], "metric modulation", _tempo_in(p, home, pulse, speed), said)


def _groups_text(group: int, times: int) -> str:
    return numbers.some([group] * times, 12, "+")


@dataclass(frozen=True, slots=True, init=False, eq=False, repr=False)
class Modulation(Printed, Cycle):
    """A bar in the old tempo and a bar in the new one, with the pivot going through both.

    Attributes
    ----------
    old_bpm, new_bpm : Fraction
        Beats a minute before and after.
    old, new : int
        Pivots in an old bar and in a new one.
    count : int
        Beats in either bar.
    """

    old_bpm: Fraction
    new_bpm: Fraction
    old: int
    new: int
    count: int

    @property
    def tempo(self) -> Tempo:
        """The old tempo, in ticks of this cycle: it holds for both bars, since ticks do not change."""
        return Tempo(self.old_bpm, ticks=int(self.beats[1]) if self.count > 1 else int(self.bars[1]))

    def back(self) -> "Modulation":
        """Return the way back to the old tempo."""
        return _modulation(self.new_bpm, self.new, self.old, self.count)

    @property
    def text(self) -> str:
        """The change in a sentence, with the pivot named by its note in either bar.

        Examples
        --------
        >>> modulation(84, 3, 2).text
        'The pivot is a half-note triplet of the old bar, which becomes a half note of the new one: 3 in \
an old bar of 4 quarters, 2 in a new one, each 0.95 seconds long. So 84 bpm becomes 126 (84 × 3/2).'
        >>> modulation(84, 3, 2).back().new_bpm
        Fraction(84, 1)
        """
        each = 60 * Fraction(self.count) / (self.old_bpm * self.old)
        notes = [note_name(Fraction(self.count, 4 * pivots)) for pivots in (self.old, self.new)]
        shares = [f"{Fraction(self.count, pivots)} of a quarter" for pivots in (self.old, self.new)]
        names = [with_article(note) if note else share for note, share in zip(notes, shares, strict=True)]
        ratio = Fraction(self.old, self.new)
        return (
            f"The pivot is {names[0]} of the old bar, which becomes {names[1]} of the new one: {self.old} in "
            f"an old bar of {numbers.plural(self.count, 'quarter')}, {self.new} in a new one, each "
            f"{numbers.number(each)} seconds long. So {numbers.number(self.old_bpm)} bpm becomes "
            f"{numbers.number(self.new_bpm)} ({numbers.number(self.old_bpm)} × {ratio})."
        )

    def __str__(self) -> str:
        return self.text


@public("playing.modulation(84, old=3, new=2)")
def modulation(bpm: Number, old: int, new: int, *, beats: int = 4) -> Modulation:
    """Change the tempo by a note that keeps its length, and lay an old and a new bar side by side.

    Parameters
    ----------
    bpm : number
        The old tempo, quarters a minute, from 1 to 1,000.
    old, new : int
        How many pivots an old bar holds, and how many a new one.
    beats : int
        Quarters in either bar.

    Returns
    -------
    Modulation
        A `Cycle` of two bars with a lane of beats and a lane of pivots.

    Raises
    ------
    ValueError
        If a number is out of range.

    References
    ----------
    DeLone et al. (eds) 1975, Aspects of Twentieth-Century Music, chapter 3 (as quoted elsewhere).

    Examples
    --------
    >>> change = modulation(84, old=3, new=2)
    >>> change.new_bpm, change.beats, change.lanes[1].onsets
    (Fraction(126, 1), array([ 0,  3,  6,  9, 12, 14, 16, 18]), array([ 0,  4,  8, 12, 16]))
    """
    example = "playing.modulation(84, old=3, new=2)"
    speed = check.bpm(bpm, "bpm", example)
    old, new = whole(old, "old", example), whole(new, "new", example)
    count = whole(beats, "beats", "playing.modulation(84, old=3, new=2, beats=4)")
    if max(old, new, count) > 1000:
        raise Refusal(f"{short((old, new, count))} are more than 1000 to a bar", example)
    return _modulation(speed, old, new, count)


def _modulation(speed: Fraction, old: int, new: int, count: int) -> Modulation:
    """Lay out the two bars; the speed may be beyond what is played, on the way back."""
    pivot = lcm(count // gcd(old, count), count // gcd(new, count))
    first, last = old * pivot, new * pivot
    before, after = first // count, last // count
    marks = [*range(0, first, before), *range(first, first + last, after)]
    lanes = [
        Lane("beats", marks, "right foot", "bass drum"),
        Lane("pivot", range(0, first + last, pivot), "right hand", "bell"),
    ]
    made = Modulation.__new__(Modulation)
    Cycle.__init__(made, first + last, lanes, beats=marks, bars=[0, first])
    object.__setattr__(made, "_written", 0)  # both bars count quarters, of two lengths
    fields = {"old_bpm": speed, "new_bpm": modulate(speed, old, new), "old": old, "new": new, "count": count}
    for field, value in fields.items():
        object.__setattr__(made, field, value)
    return made

"""A cue track for a band: counted in, the click on one side, what is played on the other."""

from dataclasses import replace

import numpy as np

from rhythmlab.audio.mix import Mix, VoiceRow
from rhythmlab.audio.sound import MOST_COUNTED, Sound, sound
from rhythmlab.audio.struck import FIRST_BEAT, PLAIN
from rhythmlab.core.bounds import MOST_STROKES, chosen_cycle
from rhythmlab.core.check import a, short, whole
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed
from rhythmlab.core.types import Ticks
from rhythmlab.refusal import Refusal

#: Most beats of a count-in that is left to the cycle: longer bars are counted in with four.
LONGEST_BAR = 8
_CALL = "cue((7, 4), 72"
#: Levels of the click and of the count-in.
CLICK, COUNT_IN = 0.5, 0.5


@public(f"{_CALL})")
def cue(
    what: Rhythm,
    tempo: Speed,
    *,
    home: int | None = None,
    cycles: int = 4,
    count_in: bool | int = True,
    mono: bool = False,
    mix: Mix | None = None,
    rate: int = 48_000,
) -> Sound:
    """Make a track that a band can play to: the click on the left, the guide on the right.

    The click is every beat of home, the first of each bar (of the cycle, where it has no bars) louder. The
    guide is the lanes. A band sends one side to the one who leads and both to the one who learns.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is played.
    tempo : Tempo or number
        The speed; a number is beats a minute of home.
    home : int, optional
        Index of the home pulse of a `Polyrhythm`; the last one when left out.
    cycles : int
        How often the cycle is played.
    count_in : bool or int
        Beats counted before, on the side of the click, in the beats that would come before the cycle;
        ``True`` is a bar, or a cycle where there are no bars, and four beats where that has fewer than two
        beats or more than eight (common practice, no source).
    mono : bool
        Whether all of it stands in the middle, for one loudspeaker.
    mix : Mix, optional
        Levels and voices of the lanes, and with `home` and `count_in` those of the click and the count-in;
        its sides are not used.
    rate : int
        Samples a second, 44 100 or 48 000.

    Returns
    -------
    Sound
        As `rhythmlab.audio.sound.sound` makes it, so ``write("cue.wav")`` writes it.

    Raises
    ------
    IndexError
        If there is no such pulse.
    ValueError
        As for `rhythmlab.audio.sound.sound`, or if the count-in is no number of beats up to 64.

    Examples
    --------
    >>> track = cue((7, 4), 72, cycles=2)
    >>> track
    Sound(7 against 4 at 72 bpm of the 4, click left and guide right, 2 cycles, 10 seconds: 7 on high wood \
block, 4 on low wood block, click on click and count-in on click.)
    >>> [(row.name, row.side) for row in track.rows]
    [('7', 1.0), ('4', 1.0), ('click', -1.0), ('count-in', -1.0)]
    """
    if not isinstance(mono, bool):
        raise Refusal(
            f"mono={short(mono)} is neither True nor False", f"{_CALL}, mono=True)", argument="mono"
        )
    cycles = whole(cycles, "cycles", f"{_CALL}, cycles=4)")
    what, cycle, tempo = chosen_cycle(what, tempo, home, "cue", MOST_STROKES)
    if mix is not None:
        a(Mix, mix, "mix", f"{_CALL}, mix=Mix(levels=[0.8, 0.4]))")
    counted = count_in_ticks(cycle, tempo.beat_ticks(what), count_in, f"{_CALL}, count_in=4)")
    click, lead_level = (CLICK, COUNT_IN) if mix is None else (mix.home, mix.count_in)
    left, right = (0.0, 0.0) if mono else (-1.0, 1.0)
    guide = replace(mix or Mix(), sides=(right,) * len(cycle.lanes), home=0.0, ticks=0.0)
    made = sound(what, tempo, home=home, cycles=cycles, mix=guide, rate=rate)
    firsts = cycle.bars if len(cycle.bars) else cycle.beats[:1]
    weights = np.where(np.isin(cycle.beats, firsts), FIRST_BEAT, PLAIN)
    rows = [*made.rows, VoiceRow("click", "click", cycle.beats, click, left, weights)]
    if len(counted):
        loud = np.where(np.arange(len(counted)) == 0, FIRST_BEAT, PLAIN)
        rows.append(VoiceRow("count-in", "click", counted, lead_level, left, loud, once=True))
    where = "click and guide in the middle" if mono else "click left and guide right"
    lead = -int(counted[0]) if len(counted) else 0
    return replace(made, title=f"{made.title}, {where}", rows=tuple(rows), lead=lead)


def count_in_ticks(cycle: Cycle, beat: int, count: object, example: str) -> Ticks:
    """Return the ticks of a count-in: the beats that would come before the cycle, all below 0.

    Parameters
    ----------
    cycle : Cycle
        Its beats are counted, whether even or grouped.
    beat : int
        Ticks to a beat where the cycle has no beats.
    count : bool or int
        How many beats; ``True`` is as `cue` says.
    example : str
        A call that works, for the message.

    Returns
    -------
    numpy.ndarray
        int64, rising.

    Examples
    --------
    >>> count_in_ticks(Cycle(28, [], beats=range(0, 28, 7)), 7, True, "")
    array([-28, -21, -14,  -7])
    """
    beats = cycle.beats
    if isinstance(count, bool | np.bool_):
        bar = beats[beats >= cycle.bars[-1]] if len(cycle.bars) else beats
        number = (len(bar) if 2 <= len(bar) <= LONGEST_BAR else 4) if count else 0
    else:
        number = whole(count, "count_in", example, least=0, most=MOST_COUNTED)
    before = np.arange(number, 0, -1, dtype=np.int64)
    if not len(beats):
        return -before * beat
    turns = -(-before // len(beats))
    return beats[-before % len(beats)] - turns * cycle.ticks

"""What the browser needs to sound a rhythm: whole numbers, the seconds of a cycle, and the voices.

The same voices and the same levels make the sound files, so that what is exported is what was heard.
"""

from collections.abc import Sequence
from fractions import Fraction
from math import floor
from typing import Any, TypeAlias

import numpy as np

from rhythmlab.audio.mix import Mix, lane_rows
from rhythmlab.audio.voices import voice_int16
from rhythmlab.core.bounds import MOST_LANES
from rhythmlab.core.check import SLOWEST
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.feel import Feel, own_row
from rhythmlab.core.gaps import midway
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.panels.errors import FieldRefusal
from rhythmlab.playing.hands import letter_limbs
from rhythmlab.playing.learning import count_is_cut, line_is_cut, pieces
from rhythmlab.playing.percussion import drum
from rhythmlab.practice.take import cycle_row
from rhythmlab.text import counts, descriptions, numbers

#: Samples a second of the buffers that the browser plays.
RATE = 48_000
#: What is to sound, as the browser reads it.
Plan: TypeAlias = dict[str, Any]
#: More sounds in a cycle than this and a loop is chosen from home's beats only.
MOST_SPOTS = 160
#: Most strokes a second that a sound card can lay, lanes and home together: a third of what headless Chromium
#: laid without a gap on two busy cores (1,200 of the longest voice). The stage holds the same number.
MOST_A_SECOND = 400
#: The key of each limb at first, as a place in the browser's list; limbs of both sides; and what others take.
_KEYS = {"right hand": 0, "hand": 0, "left hand": 1, "right foot": 4, "foot": 4, "left foot": 5}
_BOTH = {"hands": ("right hand", "left hand"), "feet": ("right foot", "left foot")}
_FREE_KEYS = (2, 3, 6, 7, 0, 1, 4, 5, *range(8, 8 + MOST_LANES))
#: Voices of the rows that are not lanes.
_ROWS = ("bass drum", "click", "grid tick")


def fastest(strokes: int, beats: int | Fraction) -> Fraction:
    """Return the tempo of the beat at which a cycle has as many strokes a second as can be laid.

    Parameters
    ----------
    strokes : int
        In a cycle, all lanes together with the beats of home.
    beats : int or Fraction
        Beats in a cycle.

    Examples
    --------
    >>> fastest(18, 4)
    Fraction(16000, 3)
    """
    return 60 * Fraction(beats) * MOST_A_SECOND / max(1, strokes)


def strokes_of(p: Polyrhythm) -> int:
    """Return how many strokes sound in a cycle where the fastest pulse is home.

    Examples
    --------
    >>> strokes_of(Polyrhythm(7, 4))
    18
    """
    return sum(p.pulses) + max(p.pulses)


def refuse_too_dense(
    what: str, strokes: int, beats: int | Fraction, bpm: Fraction, field: str, instead: object = None
) -> None:
    """Refuse a tempo at which more strokes would come in a second than a sound card can lay.

    Parameters
    ----------
    what : str
        What is played.
    strokes, beats : int
        In a cycle: all strokes, and the beats of the tempo.
    bpm : Fraction
        The tempo.
    field : str
        The name of the field it comes from.
    instead : object, optional
        What can be typed into that field, where it is not a tempo.

    Raises
    ------
    FieldRefusal
        If they are too many, with the fastest tempo that works.

    Examples
    --------
    >>> refuse_too_dense("7 against 4", 18, 4, Fraction(72), "bpm of the 4")
    >>> try: refuse_too_dense("1000 against 7", 2007, 7, Fraction(100), "bpm of the 7")
    ... except FieldRefusal as error: print(error)
    bpm of the 7: 1000 against 7 at 100 bpm is 478 strokes a second, more than the 400 that a sound card \
can lay: type for example 83.
    """
    most = fastest(strokes, beats)
    if bpm <= most:
        return
    rate = numbers.number(bpm * MOST_A_SECOND / most, 0)
    said = f"{field}: {what} at {numbers.number(bpm)} bpm is {rate} strokes a second, more than the "
    said += f"{MOST_A_SECOND} that a sound card can lay"
    if instead is not None:
        slower = f"; up to {slow_enough(most)} bpm can be" if most >= SLOWEST else ""
        raise FieldRefusal(field, f"{said}{slower}", instead)
    raise FieldRefusal(field, said, slow_enough(most))


def slow_enough(most: Fraction) -> str:
    """Write a tempo rounded down: to a whole number, or to a hundredth where it is slow.

    Examples
    --------
    >>> slow_enough(Fraction(5000, 3)), slow_enough(Fraction(10, 3))
    ('1666', '3.33')
    """
    down = floor(most) if most >= 10 else Fraction(floor(most * 100), 100)
    return numbers.number(down, between="")


def plan(feel: Feel, tempo: Tempo, turn: int = 0) -> Plan:
    """Say what is to sound, for the stage.

    Parameters
    ----------
    feel : Feel
        What is played.
    tempo : Tempo
        How fast.
    turn : int
        Number of the last move of the tempo slide that this answers.

    Returns
    -------
    dict
        ``ticks`` and ``lanes`` (whole numbers), ``homes`` (the beats of each pulse), ``bpms`` (each pulse's),
        ``cycle_s`` (float, seconds), ``loops`` (spots worth practising), ``rate``, ``most`` (strokes a
        second) and ``turn``; and what a take is known by: ``pulses``, and the tempo as exact text with the
        pulse that it belongs to.

    Examples
    --------
    >>> made = plan(Feel(Polyrhythm(3, 2)), Tempo(60, pulse=1))
    >>> made["ticks"], made["homes"], made["cycle_s"], made["bpms"]
    (6, [[0, 2, 4], [0, 3]], 2.0, [90.0, 60.0])
    """
    p = feel.polyrhythm
    made = plan_of(feel.cycle(), tempo, [p.onsets(i) for i in range(len(p.pulses))], _names(p))
    return {
        **made,
        "cycle": None,
        "pulses": list(p.pulses),
        "bpm": str(tempo.bpm),
        "pulse": tempo.pulse,
        "bpms": [float(tempo.bpm_of(p, i)) for i in range(len(p.pulses))],
        "loops": loops(feel),
        "turn": turn,
    }


def _names(p: Polyrhythm) -> list[str]:
    return [descriptions.pulse_name(p, i) for i in range(len(p.pulses))]


def plan_of(
    cycle: Cycle, tempo: Tempo, homes: Sequence[np.ndarray], names: Sequence[str], turn: int = 0
) -> Plan:
    """Say what is to sound, for any cycle.

    Parameters
    ----------
    cycle : Cycle
        What is played.
    tempo : Tempo
        How fast.
    homes : sequence of numpy.ndarray
        The beats, in ticks, of each home to choose from.
    names : sequence of str
        What each lane is called in a control.
    turn : int
        The number of the change of the tempo slide that this answers.

    Examples
    --------
    >>> from rhythmlab.core.cycle import Lane
    >>> cycle = Cycle(4, [Lane("bell", [0, 2, 3], sound="bell")], beats=[0, 2])
    >>> plan_of(cycle, Tempo(60, ticks=2), [cycle.beats], ["bell"])["lanes"][0]["onsets"]
    [0, 2, 3]
    """
    struck = pads(cycle)
    lanes = [
        {
            "name": lane.name,
            "said": name,
            "sound": row.sound,
            "onsets": lane.onsets.tolist(),
            "accents": list(lane.accents),
            "ghosts": list(lane.ghosts),
            **({"power": float(power)} if power != 1 else {}),
            **({"note": drum(row.sound, lane.limb).general_midi} if struck else {}),
        }
        for lane, name, row, power in zip(
            cycle.lanes, names, lane_rows(cycle.lanes, Mix()), cycle.powers, strict=True
        )
    ]
    beat = tempo.beat_ticks(cycle)
    return {
        "cycle": cycle_row(cycle),
        "pads": struck,
        "beat_ticks": beat,
        "bpm": str(tempo.bpm),
        "ticks": cycle.ticks,
        "lanes": lanes,
        "homes": [beats.tolist() for beats in homes],
        "bpms": [float(tempo.bpm * beat * len(beats) / cycle.ticks) for beats in homes],
        "cycle_s": float(tempo.cycle_seconds(cycle)),
        "loops": [],
        "rate": RATE,
        "most": MOST_A_SECOND,
        "turn": turn,
    }


def pads(cycle: Cycle) -> list[dict[str, Any]]:
    """Return the pads of a cycle, one for each limb: its name, its key, and the rows of strokes it plays.

    A key is a place in the list of the browser's first keys: 0 and 1 are the right hand and the left hand, on
    their own sides of the keyboard, 4 and 5 the feet, a row below them.  A row is a lane and a letter of its
    sticking; without a letter all of the lane.  Where no limb is named anywhere there are no pads, and each
    lane has its own.

    Examples
    --------
    >>> from rhythmlab.core.cycle import Lane
    >>> lanes = [Lane("time", [0], limb="right hand"), Lane("fill", [2, 3], limb="hands", hands="RL")]
    >>> [(pad["said"], pad["key"], pad["rows"]) for pad in pads(Cycle(4, lanes, beats=[0]))]
    [('right hand', 0, [[0, ''], [1, 'R']]), ('left hand', 1, [[1, 'L']])]
    """
    if not any(lane.limb or lane.hands for lane in cycle.lanes):
        return []
    rows: dict[str, list[list[int | str]]] = {}
    for i, lane in enumerate(cycle.lanes):
        own = lane.limb or lane.name
        played = dict(zip(letter_limbs(lane), lane.hands, strict=True)) or dict.fromkeys(
            _BOTH.get(own, [own]), ""
        )
        for limb, letter in played.items():
            rows.setdefault(limb, []).append([i, letter])
    found = {limb: _KEYS[limb] for limb in rows if limb in _KEYS}
    found = {limb: key for limb, key in found.items() if list(found.values()).count(key) == 1 or " " in limb}
    free = (key for key in _FREE_KEYS if key not in found.values())
    return [
        {
            "said": limb,
            "of": [
                name
                for name in dict.fromkeys(cycle.lanes[int(i)].name for i, _ in row)
                if name not in (limb, *_BOTH)
            ],
            "key": found[limb] if limb in found else next(free),
            "rows": row,
        }
        for limb, row in rows.items()
    ]


def voices(made: Plan) -> dict[str, bytes]:
    """Return the voices that a plan uses, as 16-bit samples, little end first.

    Examples
    --------
    >>> sorted(voices(plan(Feel(Polyrhythm(3, 2)), Tempo(60, pulse=1))))
    ['bass drum', 'click', 'grid tick', 'high wood block', 'low wood block']
    """
    names = {*_ROWS, *(lane["sound"] for lane in made["lanes"])}
    return {name: voice_int16(name, RATE).astype("<i2").tobytes() for name in sorted(names)}


def loops(feel: Feel) -> list[dict[str, object]]:
    """Return the spots of a pair that are worth practising alone: name, and start and stop in ticks.

    Three beats round the stroke exactly midway, where there is one; the pieces that
    steps name, in their words.

    Examples
    --------
    >>> loops(Feel(Polyrhythm(16, 15)))[0]
    {'name': 'round the stroke exactly midway', 'start': 96, 'stop': 144}
    """
    p, home, beat = feel.polyrhythm, feel.home, feel.beat_ticks
    made = []
    for moving in range(len(p.pulses)):
        middle = midway(p, moving, home) if len(p.pulses) == 2 and moving != home else None
        if middle is not None and feel.beats > 3:
            first = max(0, middle // beat - 1) * beat
            made.append(
                {
                    "name": "round the stroke exactly midway",
                    "start": first,
                    "stop": min(p.ticks, first + 3 * beat),
                }
            )
    if line_is_cut(p) or count_is_cut(p, home):
        made += [{"name": name, "start": start, "stop": stop} for name, start, stop in pieces(p, home)]
    return made


def spots(feel: Feel) -> list[list[object]]:
    """Return the strokes that a loop can begin and end on, as tick and name in the count; the end is last.

    Examples
    --------
    >>> spots(Feel(Polyrhythm(3, 2)))
    [[0, '1'], [2, 'let of 1'], [3, '2'], [4, 'trip of 2'], [6, 'end']]
    """
    p = feel.polyrhythm
    named: dict[int, str] = {}
    for pulse in (feel.home, *range(len(p.pulses))):
        if pulse == feel.home or sum(p.pulses) <= MOST_SPOTS:
            for tick, place in zip(p.onsets(pulse).tolist(), feel.places(pulse), strict=True):
                named.setdefault(tick, counts.said_name(place, own_row(feel.groups, place.parts)))
    return [*([tick, named[tick]] for tick in sorted(named)), [p.ticks, "end"]]

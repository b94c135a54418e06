"""Where a player is: lanes, limbs and places by their names, and where to go when lost."""

import numpy as np

from rhythmlab import words
from rhythmlab.core.call import public
from rhythmlab.core.check import index, whole
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.feel import places
from rhythmlab.core.given import Rhythm
from rhythmlab.core.given import cycle as cycle_of
from rhythmlab.practice.take import Take

_HANDS = ("right hand", "left hand")


@public("lost((4, 3), 5)", cycle="what")
def lost(what: Rhythm, tick: int, lane: int | None = None) -> list[str]:
    """Say where to go when lost: the next shared stroke, the next beat 1, and what to drop to.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is played.
    tick : int
        Where the player is, at least 0; past the end it goes round.
    lane : int, optional
        The lane that still holds; the other lanes come in where they meet it.

    Returns
    -------
    list of str
        Two or three sentences, the nearest place first.

    Raises
    ------
    ValueError, IndexError
        If the tick is not a whole number of at least 0, or there is no such lane.

    Examples
    --------
    >>> for sentence in lost((6, 4), 1): print(sentence)
    Come in on the next shared stroke, beat 3, 5 ticks on.
    Or wait for the next one, beat 1, 11 ticks on.
    Until then drop to the home pulse alone: only the 4 beats.
    """
    cycle = cycle_of(what, "what", "lost((4, 3), 5)")
    now = whole(tick, "tick", "lost((4, 3), 5)", least=0) % cycle.ticks
    held = None if lane is None else index(lane, len(cycle.lanes), "lane", "lanes")
    line = composite(cycle)
    meet = line.pulses.sum(axis=1) > 1
    if held is not None:
        meet &= line.pulses[:, held]
    shared = line.onsets[meet]
    one = int(cycle.beats[0]) if len(cycle.beats) else 0
    said = words.Lines()
    to_one = (one - now - 1) % cycle.ticks + 1
    if len(shared):
        ahead = (shared - now - 1) % cycle.ticks + 1
        tick = int(shared[ahead.argmin()])
        if tick == one:
            said.append(f"Come in on the next one, beat 1, {_on(to_one)}: the strokes meet there.")
        else:
            said.append(
                f"Come in on the next shared stroke, {place_said(cycle, tick)}, {_on(int(ahead.min()))}."
            )
    if not len(shared) or tick != one:
        said.append(f"{'Or wait for' if said else 'Come in on'} the next one, beat 1, {_on(to_one)}.")
    if held is None:
        beats = len(cycle.beats)
        what = f"only the {words.plural(beats, 'beat')}" if beats else "tap beat 1 of every cycle"
        said.append(f"Until then drop to the home pulse alone: {what}.")
    else:
        said.append(f"Until then keep {lane_said(cycle, held)} alone and leave the other lanes out.")
    return said


def lane_said(cycle: Cycle, lane: int) -> str:
    """Name a lane.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> lane_said(Polyrhythm(4, 3).cycle(), 1), lane_said(Polyrhythm(3, 3).cycle(), 1)
    ('the 3', 'the second 3')
    """
    names = [row.name for row in cycle.lanes]
    name = names[lane]
    if names.count(name) == 1:
        return f"the {name}" if name else f"lane {lane + 1}"
    return f"the {words.nth(names[:lane].count(name))} {name or 'lane'}"


def limb_of(take: Take, lane: int) -> str:
    """Name the limb of a lane: the lane's own, or its share of the limbs of the take; empty if not known.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.core.tempo import Tempo
    >>> take = Take(cycle=Polyrhythm(4, 3).cycle(), tempo=Tempo(84, pulse=1), cycles=1, start=0, stop=12,
    ...             mode="both pulses", lanes=(0, 1), tap_lanes=[], tap_times=[], limbs="right hand and foot")
    >>> limb_of(take, 0), limb_of(take, 1)
    ('right hand', 'foot')
    """
    own = take.cycle.lanes[lane].limb
    if own:
        return own
    if take.limbs == "hands":
        parts = list(_HANDS) if len(take.cycle.lanes) == 2 else []
    else:
        parts = take.limbs.replace(",", " and ").split(" and ")
        if len(parts) == 1 and take.lanes == (lane,):
            return parts[0].strip()
    return parts[lane].strip() if len(parts) == len(take.cycle.lanes) > 1 else ""


def place_said(cycle: Cycle, tick: int) -> str:
    """Name a tick in the count of a cycle.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> place_said(Polyrhythm(4, 3).cycle(), 4), place_said(Polyrhythm(4, 3).cycle(), 3)
    ('beat 2', 'the a of 1')
    """
    if tick in cycle.beats:
        return f"beat {int(np.searchsorted(cycle.beats, tick)) + 1}"
    rows = (*(lane.onsets for lane in cycle.lanes), np.array([tick], dtype=np.int64))
    onsets = next(row for row in rows if tick in row)
    counted = places(cycle, onsets)
    if not counted:
        return f"tick {tick}"
    name = words.place_name(counted[int(np.searchsorted(onsets, tick))])
    return f"the {name}" if " of " in name else name


def _on(ticks: int) -> str:
    return f"{words.plural(ticks, 'tick')} on"

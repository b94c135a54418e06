"""Where a player is: lanes, limbs and places by their names, and where to go when lost."""

from dataclasses import dataclass

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
from rhythmlab.sentences import say

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
    said = words.Lines(place.said() for place in come_in(cycle, now, held))
    if held is not None:
        said.append(say("lost.keep", lane=lane_said(cycle, held)))
    elif len(cycle.beats):
        said.append(say("lost.drop", beats=words.plural(len(cycle.beats), "beat")))
    else:
        said.append(say("lost.tap"))
    return said


@dataclass(frozen=True, slots=True)
class ComeIn:
    """A place where whoever is lost can come in.

    Attributes
    ----------
    cycle : Cycle
        What is played.
    tick : int
        Where.
    ahead : int
        How many ticks on, at least 1.
    one : bool
        Whether it is beat 1.
    shared : bool
        Whether strokes meet there.
    later : bool
        Whether another place comes first.
    """

    cycle: Cycle
    tick: int
    ahead: int
    one: bool
    shared: bool
    later: bool = False

    def said(self, beat_ticks: int = 0) -> str:
        """Say it as a sentence.

        Parameters
        ----------
        beat_ticks : int
            Ticks of a beat, to say in beats what comes to whole ones; 0 says it in ticks.

        Examples
        --------
        >>> from rhythmlab.core.polyrhythm import Polyrhythm
        >>> place = come_in(Polyrhythm(7, 4).cycle(), 0)[0]
        >>> place.tick, place.ahead, place.said(7)
        (0, 28, 'Come in on the next one, beat 1, 4 beats on: the strokes meet there.')
        """
        if beat_ticks and self.ahead % beat_ticks == 0:
            count = words.plural(self.ahead // beat_ticks, "beat")
        else:
            count = words.plural(self.ahead, "tick")
        if not self.one:
            return say("lost.shared", place=place_said(self.cycle, self.tick), count=count)
        if self.shared:
            return say("lost.meet", count=count)
        return say("lost.or_beat_1" if self.later else "lost.beat_1", count=count)


def come_in(cycle: Cycle, now: int, held: int | None = None) -> list[ComeIn]:
    """Return where to come in after a tick: at the next shared stroke, and at the next beat 1.

    Parameters
    ----------
    cycle : Cycle
        What is played.
    now : int
        A tick of it.
    held : int, optional
        The lane that still holds; the other lanes come in where they meet it.

    Returns
    -------
    list of ComeIn
        One or two, the nearest first.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> [(place.tick, place.ahead, place.one) for place in come_in(Polyrhythm(6, 4).cycle(), 1)]
    [(6, 5, False), (0, 11, True)]
    """
    line = composite(cycle)
    meet = line.pulses.sum(axis=1) > 1
    if held is not None:
        meet &= line.pulses[:, held]
    shared = line.onsets[meet]
    one = int(cycle.beats[0]) if len(cycle.beats) else 0
    to_one = (one - now - 1) % cycle.ticks + 1
    if not len(shared):
        return [ComeIn(cycle, one, to_one, one=True, shared=False)]
    ahead = (shared - now - 1) % cycle.ticks + 1
    tick, first = int(shared[ahead.argmin()]), int(ahead.min())
    if tick == one:
        return [ComeIn(cycle, one, to_one, one=True, shared=True)]
    return [
        ComeIn(cycle, tick, first, one=False, shared=True),
        ComeIn(cycle, one, to_one, one=True, shared=False, later=True),
    ]


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
        return say("name.lane", lane=name) if name else say("name.unnamed_lane", nth=lane + 1)
    which = words.nth(names[:lane].count(name))
    return say("name.nth_lane", nth=which, lane=name) if name else say("name.nth_unnamed_lane", nth=which)


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
        return say("place.beat", beat=int(np.searchsorted(cycle.beats, tick)) + 1)
    rows = (*(lane.onsets for lane in cycle.lanes), np.array([tick], dtype=np.int64))
    onsets = next(row for row in rows if tick in row)
    counted = places(cycle, onsets)
    if not counted:
        return say("place.tick", tick=tick)
    place = counted[int(np.searchsorted(onsets, tick))]
    name = words.place_name(place)
    return say("place.part", part=name) if words.has_syllable(place) else name

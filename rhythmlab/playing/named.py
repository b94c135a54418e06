"""What a rhythm is called on paper and in files: 7 against 4, 14 as 4 3 4 3, a fill, a groove, a sentence."""

from itertools import pairwise

import numpy as np

from rhythmlab.core.cycle import Cycle
from rhythmlab.playing.fill import Fill
from rhythmlab.playing.groove import Accents
from rhythmlab.playing.metre import Bars, Metre, tick_name
from rhythmlab.playing.ostinato import Ostinato
from rhythmlab.playing.patterns import Pattern
from rhythmlab.playing.phrasing import titled
from rhythmlab.playing.sentence import Sentence
from rhythmlab.text import descriptions, numbers, sentences

#: Most signs of a pattern that are named.
_MOST_SIGNS = 40
#: What the one lane of a pattern is called that has no name of its own.
_UNNAMED = "pattern"


def name_of(cycle: Cycle) -> str:
    """Name a cycle for a title.

    Examples
    --------
    >>> from rhythmlab.playing.fill import resolve
    >>> from rhythmlab.playing.phrasing import Phrase
    >>> name_of(resolve((7, 4))), name_of(Phrase((4, 3, 4, 3)).cycle())
    ('7 against 4 as a fill in 4 bars of 4/4', '14 as 4 3 4 3')
    >>> from rhythmlab.playing.sticking import stick
    >>> name_of(stick((4, 4, 4), 120).cycle())                        # the lead comes home after two
    '12 as 4 4 4, twice through'
    """
    what = sentences.capital(descriptions.cycle_name(cycle))
    if isinstance(cycle, Fill):
        bars = f"{numbers.plural(len(cycle.bars), 'bar')} of " if len(cycle.bars) > 1 else ""
        return f"{cycle.pair[0]} against {cycle.pair[1]} as a fill in {bars}{cycle.metre}"
    if isinstance(cycle, Accents):
        return f"An accent every {numbers.plural(cycle.every, tick_of(cycle))} in {cycle.metre}"
    if isinstance(cycle, Ostinato):
        return f"{cycle.named} in {cycle.metre}"
    if isinstance(cycle, Sentence):
        return f"{what}: {cycle.text}"
    if isinstance(cycle, Pattern) and cycle.name != _UNNAMED:
        return sentences.capital(cycle.name)
    if isinstance(cycle, Bars):
        names = [lane.name for lane in cycle.lanes if len(lane.onsets) and lane.name.strip()]
        return f"A groove in {cycle.metre}{f': {numbers.some(names, 6)}' if names else ''}"
    hands = cycle.lanes[0].hands if len(cycle.lanes) == 1 else ""
    if isinstance(cycle, Pattern):
        if hands and cycle.ticks <= _MOST_SIGNS:
            left = iter(hands)
            signs = "".join(next(left) if sign == "x" else sign for sign in cycle.text)
            return f"Sticking {' '.join(signs[a:b] for a, b in pairwise([*cycle.beats, cycle.ticks]))}"
        if not cycle.groups:
            strokes = numbers.plural(len(cycle.lanes[0].onsets), "stroke")
            return f"Pattern {cycle.text}" if cycle.ticks <= _MOST_SIGNS else f"Pattern of {strokes}"
    if groups := groups_of_phrase(cycle):
        if len(cycle.bars) == 2 and 2 * cycle.bars[1] == cycle.ticks:  # the lead is home after two
            return f"{titled(tuple(groups[: len(groups) // 2]))}, twice through"
        return titled(tuple(groups))
    if len(cycle.lanes) == 1 == len(cycle.beats) < len(cycle.lanes[0].onsets) == cycle.ticks:
        return titled((cycle.ticks,))
    if len(hands) > 1 and all(one != after for one, after in pairwise(hands)):
        return f"{what}, hand to hand"
    return what if cycle.lanes else "A cycle without strokes"


def groups_of_phrase(cycle: Cycle) -> list[int]:
    """Return the groups of a phrase, one lane with a stroke on every tick; none of anything else."""
    if len(cycle.lanes) != 1 or len(cycle.lanes[0].onsets) != cycle.ticks or len(cycle.beats) < 2:
        return []
    groups: list[int] = np.diff(np.append(cycle.beats, cycle.ticks + cycle.beats[0])).tolist()
    return groups if cycle.beats[0] == 0 else []


def bar_of(cycle: Cycle) -> Metre | None:
    """Return the metre of bars, or of a pattern that fills one."""
    return cycle.metre if isinstance(cycle, Bars | Pattern) else None


def tick_of(cycle: Cycle) -> str:
    """Name a tick: as the note that it is in its bar, where that has a name."""
    return tick_name(bar_of(cycle))

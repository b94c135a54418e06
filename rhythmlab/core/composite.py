"""All strokes merged into the one line that is heard.

For two pulses without a common factor the line has ``p + q - 1`` sounds and reads the same backwards
(the resultant of Schillinger 1946; number of sounds: OEIS A199408, https://oeis.org/A199408).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rhythmlab.core import long_work
from rhythmlab.core.check import few_enough, window
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.display import InNotebook
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm, as_rhythm
from rhythmlab.core.types import Flags, Ticks

#: Most strokes of a rhythm that keeps its line once it is worked out.
MOST_CACHED = 100_000


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Composite(InNotebook):
    """The heard line: where each sound is, how long until the next, and who plays it.

    Attributes
    ----------
    onsets : numpy.ndarray
        int64, shape (n,), rising: ticks from the start of the cycle.
    intervals : numpy.ndarray
        int64, shape (n,): ticks to the next sound round the cycle.
    pulses : numpy.ndarray
        bool, shape (n, pulses or lanes): who plays each sound.
    """

    onsets: Ticks
    intervals: Ticks
    pulses: Flags

    def __post_init__(self) -> None:
        for array in (self.onsets, self.intervals, self.pulses):
            array.flags.writeable = False

    def __len__(self) -> int:
        return len(self.onsets)

    def _key(self) -> tuple[bytes, bytes, tuple[int, ...], bytes]:
        return (
            self.onsets.tobytes(),
            self.intervals.tobytes(),
            self.pulses.shape,
            self.pulses.tobytes(),
        )

    def __eq__(self, other: object) -> bool:
        return self._key() == other._key() if isinstance(other, Composite) else NotImplemented

    def __hash__(self) -> int:
        return hash(self._key())

    def __repr__(self) -> str:
        shown = " ".join(map(str, self.intervals[:24])) + " …" * (len(self) > 24)
        return f"Composite({len(self)} sounds, intervals {shown})"


@public("composite((7, 4))")
def composite(what: Rhythm, *, start: int | None = None, stop: int | None = None) -> Composite:
    """Merge every pulse, or every lane, into the one rhythm a listener hears.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is played.
    start, stop : int, optional
        Window in ticks, half-open; the whole cycle when left out.

    Returns
    -------
    Composite
        ``len()`` of it is the number of sounds; for two pulses ``p + q - gcd(p, q)``.
        Ticks in a window stay absolute, and its last interval runs to the next sound, inside the
        window or not.

    Raises
    ------
    ValueError
        If the window is outside the cycle, or more than 50 million strokes would have to be held.

    References
    ----------
    OEIS A199408, https://oeis.org/A199408.

    Examples
    --------
    >>> c = composite((4, 3))
    >>> c
    Composite(6 sounds, intervals 3 1 2 2 1 3)
    >>> c.onsets
    array([0, 3, 4, 6, 8, 9])
    >>> c.pulses[0]
    array([ True,  True])
    """
    found = as_rhythm(what, "what", "composite((7, 4))")
    first, last = window(start, stop, found.ticks)
    if (first, last) == (0, found.ticks) or _strokes(found) > MOST_CACHED:
        return _worked_out(found, first, last)
    line = _worked_out(found, 0, found.ticks)
    inside = slice(*np.searchsorted(line.onsets, (first, last)))
    return Composite(line.onsets[inside], line.intervals[inside], line.pulses[inside])


def _strokes(what: Polyrhythm | Cycle) -> int:
    return sum(what.pulses if isinstance(what, Polyrhythm) else map(len, (row.onsets for row in what.lanes)))


def _worked_out(what: Polyrhythm | Cycle, first: int, last: int) -> Composite:
    """Return the line of a window of a long cycle, or all of another, which is worked out once and kept."""
    keeps = _strokes(what) <= MOST_CACHED  # and so it is whole
    if keeps and isinstance(kept := what._cache.get("composite"), Composite):
        return kept
    made = _of_pulses(what, first, last) if isinstance(what, Polyrhythm) else _of_lanes(what, first, last)
    if keeps:
        what._cache["composite"] = made
    return made


def _of_pulses(p: Polyrhythm, first: int, last: int) -> Composite:
    steps = [p.step(i) for i in range(len(p.pulses))]
    strokes = sum(-(-last // step) + -first // step for step in steps)
    few_enough(strokes, first, last, f"composite({p}, ")
    two = first == 0 and last == p.ticks and len(steps) == 2
    _say(strokes, two)
    if two:
        return _two_pulses(p)
    rows = [p.onsets(i, start=first, stop=last) for i in range(len(steps))]
    return _merge(rows, min(-(-last // step) * step for step in steps))


def _of_lanes(cycle: Cycle, first: int, last: int) -> Composite:
    _say(sum(len(lane.onsets) for lane in cycle.lanes) if first == 0 and last == cycle.ticks else 0)
    rows = [lane.onsets[slice(*np.searchsorted(lane.onsets, (first, last)))] for lane in cycle.lanes]
    after = [lane.onsets[np.searchsorted(lane.onsets, last) :][:1] for lane in cycle.lanes]
    round_again = [lane.onsets[:1] + cycle.ticks for lane in cycle.lanes]
    following = min((int(ticks[0]) for ticks in (*after, *round_again) if len(ticks)), default=cycle.ticks)
    return _merge(rows, following)


def _say(strokes: int, two: bool = False) -> None:
    """Say what many strokes take: measured are 21 bytes a stroke for two pulses, and up to 54 otherwise."""
    long_work.say(
        f"One line of {strokes:,} strokes",
        seconds=strokes * 3e-7,
        megabytes=strokes * (24 if two else 60) / 1e6,
        instead="A window, start= and stop=, takes less.",
    )


def _merge(rows: Sequence[Ticks], following: int) -> Composite:
    """Merge rising rows by one stable sort; `following` is the first sound after them."""
    strokes = np.concatenate(rows) if rows else np.empty(0, dtype=np.int64)
    order = np.argsort(strokes, kind="stable")
    strokes = strokes[order]
    new = np.empty(len(strokes), dtype=bool)
    new[:1] = True
    np.not_equal(strokes[1:], strokes[:-1], out=new[1:])
    onsets = strokes[new]
    pulses = np.zeros((len(onsets), len(rows)), dtype=bool)
    lane = np.repeat(np.arange(len(rows)), [len(row) for row in rows])[order]
    pulses[np.cumsum(new) - 1, lane] = True
    return Composite(onsets, _intervals(onsets, following), pulses)


def _intervals(onsets: Ticks, following: int) -> Ticks:
    """Ticks from each sound to the next, the last one to `following`."""
    intervals = np.empty_like(onsets)
    np.subtract(onsets[1:], onsets[:-1], out=intervals[:-1])
    if len(onsets):
        intervals[-1] = following - int(onsets[-1])
    return intervals


def _two_pulses(p: Polyrhythm) -> Composite:
    """Merge two pulses without sorting.

    With the common factor taken out (a and b strokes in a*b ticks), stroke i of the first pulse comes
    after floor(i*b/a) strokes of the second that lie behind tick 0, so its place in the line is
    i + floor(i*b/a).  The second half of a block mirrors the first, and the blocks are alike.
    """
    blocks = p.repeats
    a, b = (pulse // blocks for pulse in p.pulses)
    block, sounds = a * b, a + b - 1
    onsets = np.empty((blocks, sounds), dtype=np.int64)
    pulses = np.empty((blocks, sounds, 2), dtype=bool)
    players = pulses.view(np.uint16)[..., 0]  # both bools of a sound at once
    codes = np.array([[[True, False]], [[False, True]], [[True, True]]]).view(np.uint16).ravel()
    half = sounds // 2 + 1  # the sounds up to the middle of the block, tick 0 among them
    line, who = onsets[0], players[0]
    who[:half] = codes[1]
    for lane, (mine, other) in enumerate(((a, b), (b, a))):
        ticks = np.arange(1, mine // 2 + 1, dtype=np.int64)
        places = ticks * other
        places //= mine
        places += ticks
        ticks *= other
        line[places] = ticks
        if lane == 0:
            who[places] = codes[0]
    line[0], who[0] = 0, codes[2]
    np.subtract(block, line[1:half][::-1], out=line[sounds - half + 1 :])
    who[sounds - half + 1 :] = who[1:half][::-1]
    if blocks > 1:
        offsets = np.arange(1, blocks, dtype=np.int64)[:, None] * block
        np.add(line, offsets, out=onsets[1:])
        players[1:] = who
    heard = onsets.reshape(-1)
    return Composite(heard, _intervals(heard, p.ticks), pulses.reshape(-1, 2))

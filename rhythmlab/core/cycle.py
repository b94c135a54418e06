"""A cycle of ticks with lanes of strokes: what every picture, sound and sentence is made from.

Ticks are whole numbers from 0; nothing here knows about seconds.
"""

from collections.abc import Iterable
from copy import copy
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np

from rhythmlab.core.check import MOST_LISTED, MOST_STROKES, MOST_TICKS, items, short, whole
from rhythmlab.core.display import InNotebook, line
from rhythmlab.core.public import public_class
from rhythmlab.core.types import Ticks
from rhythmlab.refusal import Refusal

#: Most lanes of a cycle: far more than limbs or voices.
MOST_LANES = 1_000
_LANE = 'Lane("bell", [0, 2, 4])'
_CYCLE = 'Cycle(6, [Lane("bell", [0, 2, 4])], beats=[0, 3])'


@public_class('Lane("bell", [0, 2, 4])')
@dataclass(frozen=True, slots=True, init=False, eq=False, repr=False)
class Lane(InNotebook):
    """A row of strokes with a name, a limb and a sound.

    Parameters
    ----------
    name : str
        What the lane is called.
    onsets : sequence of int
        Ticks of the strokes, rising.
    limb : str
        Who plays it, for example ``"right hand"``.
    sound : str
        Name of the voice that sounds it.
    accents, ghosts : sequence of int
        Ticks of the accented and of the ghost strokes; each is an onset.
    hands : str
        One letter a stroke, ``"R"`` or ``"L"``; empty when no sticking is given.

    Raises
    ------
    ValueError
        If the onsets do not rise, an accent or a ghost is not an onset, or the hands do not match.

    Examples
    --------
    >>> Lane("bell", [0, 2, 4], limb="right hand").onsets
    array([0, 2, 4])
    """

    name: str
    onsets: Ticks
    limb: str
    sound: str
    accents: tuple[int, ...]
    ghosts: tuple[int, ...]
    hands: str

    def __init__(
        self,
        name: str,
        onsets: Iterable[int],
        limb: str = "",
        sound: str = "click",
        accents: Iterable[int] = (),
        ghosts: Iterable[int] = (),
        hands: str = "",
    ) -> None:
        for text, what in ((name, "name"), (limb, "limb"), (sound, "sound"), (hands, "hands")):
            if not isinstance(text, str):
                raise Refusal(f"Lane {what}={short(text)} is not text", _LANE)
        said = short(name)
        ticks = rising(onsets, f"onsets of lane {said}", _LANE)
        if hands and (len(hands) != len(ticks) or set(hands) - set("RL")):
            raise Refusal(
                f"hands={short(hands)} of lane {said} is not one letter R or L for each of its "
                f"{len(ticks)} strokes",
                'Lane("bell", [0, 2, 4], hands="RLR")',
                argument="hands",
            )
        marked: list[tuple[int, ...]] = []
        for given, what in ((accents, "accents"), (ghosts, "ghosts")):
            marks = rising(given, f"{what} of lane {said}", _LANE, MOST_LISTED)
            near = np.minimum(np.searchsorted(ticks, marks), len(ticks) - 1)
            strange = marks[ticks[near] != marks] if len(ticks) else marks
            if len(strange):
                raise Refusal(
                    f"{what}={short(marks[:40].tolist())} of lane {said} name tick {strange[0]}, "
                    "where it has no stroke",
                    'Lane("bell", [0, 2, 4], accents=[0])',
                    argument=what,
                )
            marked.append(tuple(marks.tolist()))
        texts = {"name": name, "limb": limb, "sound": sound, "hands": hands}
        for what, value in {**texts, "onsets": ticks, "accents": marked[0], "ghosts": marked[1]}.items():
            object.__setattr__(self, what, value)

    def _key(self) -> tuple[object, ...]:
        return (
            self.name,
            self.onsets.tobytes(),
            self.limb,
            self.sound,
            self.accents,
            self.ghosts,
            self.hands,
        )

    def __eq__(self, other: object) -> bool:
        return self._key() == other._key() if isinstance(other, Lane) else NotImplemented

    def __hash__(self) -> int:
        return hash(self._key())

    def __repr__(self) -> str:
        return line(f"Lane({self._summary})")

    @property
    def _summary(self) -> str:
        """Name, limb, ticks and hands in one line; a hand said by the limb is not said again."""
        plain = {"R": "right hand", "L": "left hand"}.get(self.hands[:1])
        letters = self.hands if self.limb != plain or len(set(self.hands)) > 1 else ""
        limb = f" ({self.limb})" if self.limb and not (letters and self.limb == "hands") else ""
        hands = f", hands {listed(letters, '')}" if letters else ""
        return f"{self.name!r}{limb}: {listed(self.onsets)}{hands}"


@public_class('Cycle(6, [Lane("bell", [0, 2, 4])], beats=[0, 3])')
@dataclass(frozen=True, slots=True, init=False, eq=False, repr=False)
class Cycle(InNotebook):
    """A stretch of ticks after which everything meets again.

    Parameters
    ----------
    ticks : int
        Length, at least 1.
    lanes : sequence of Lane
        The rows of strokes.
    beats : sequence of int
        The counted ticks, even or grouped, rising.
    bars : sequence of int
        First ticks of the bars, rising.

    Raises
    ------
    ValueError
        If a stroke, a beat or a bar lies outside the cycle.

    Examples
    --------
    >>> Cycle(6, [Lane("bell", [0, 2, 4])], beats=[0, 3]).beats
    array([0, 3])
    >>> Cycle(6, [Lane("bell", [0, 2, 4], "right hand"), Lane("pad", [0, 3], hands="LR")], beats=[0, 3])
    Cycle(6 ticks, beats 0 3, lanes 'bell' (right hand): 0 2 4, 'pad': 0 3, hands LR)
    """

    ticks: int
    lanes: tuple[Lane, ...]
    beats: Ticks
    bars: Ticks
    _cache: dict[str, object] = field(init=False, compare=False)
    _written: int | None = field(init=False, compare=False)

    def __init__(
        self, ticks: int, lanes: Iterable[Lane], beats: Iterable[int], bars: Iterable[int] = ()
    ) -> None:
        length = whole(ticks, "ticks", _CYCLE)
        if length > MOST_TICKS:
            raise Refusal(f"ticks={short(ticks)} is beyond 2**62", _CYCLE, argument="ticks")
        rows = tuple(items(lanes, "lanes", _CYCLE, MOST_LANES, "lanes"))
        for lane in rows:
            if not isinstance(lane, Lane):
                raise Refusal(f"lanes holds {short(lane)}, which is not a Lane", _CYCLE)
        counted, barred = rising(beats, "beats", _CYCLE), rising(bars, "bars", _CYCLE)
        named = [(f"lane {short(lane.name)}", lane.onsets) for lane in rows]
        for what, where in (*named, ("beats", counted), ("bars", barred)):
            if len(where) and where[-1] >= length:
                raise Refusal(
                    f"{what} has tick {where[-1]}, outside this cycle of {length} ticks (0 to {length - 1})",
                    _CYCLE,
                )
        for what, value in (("ticks", length), ("lanes", rows), ("beats", counted), ("bars", barred)):
            object.__setattr__(self, what, value)
        object.__setattr__(self, "_cache", {})
        object.__setattr__(self, "_written", None)

    def _key(self) -> tuple[object, ...]:
        return (self.ticks, self.lanes, self.beats.tobytes(), self.bars.tobytes())

    def __eq__(self, other: object) -> bool:
        return self._key() == other._key() if isinstance(other, Cycle) else NotImplemented

    def __hash__(self) -> int:
        return hash(self._key())

    @property
    def powers(self) -> tuple[Fraction, ...]:
        """How much power a stroke of each lane has, of what it has by itself: 1, but for those of a fill.

        Examples
        --------
        >>> Cycle(6, [Lane("bell", [0, 2, 4])], beats=[0, 3]).powers
        (Fraction(1, 1),)
        """
        return (Fraction(1),) * len(self.lanes)

    @property
    def beat(self) -> int:
        """Ticks of a beat: of uneven beats the commonest, the first of those where several are; or the cycle.

        Examples
        --------
        >>> Cycle(13, [], beats=[0, 4, 8]).beat
        4
        """
        if not len(self.beats):
            return self.ticks
        ends = np.append(self.beats[1:], self.ticks + self.beats[0])
        lengths: list[int] = (ends - self.beats).tolist()
        return max(dict.fromkeys(lengths), key=lengths.count)

    @property
    def written(self) -> int:
        """Ticks of a written note where a beat is a group of them; 0 where a beat is one note, divided.

        Bars have it from their metre.  Elsewhere uneven beats are groups, and so are the beats of a phrase,
        one lane with a stroke on every tick; one group of five strokes or more is one, too.

        Examples
        --------
        >>> Cycle(7, [], beats=[0, 2, 4]).written, Cycle(6, [], beats=[0, 3]).written
        (1, 0)
        """
        if self._written is not None:
            return self._written
        if len(self.lanes) == 1 and len(self.lanes[0].onsets) == self.ticks and len(self.beats):
            return int(len(self.beats) > 1 or self.ticks > 4)
        lengths = np.diff(np.append(self.beats, self.beats[:1] + self.ticks))
        return int(np.gcd.reduce(lengths)) if len(lengths) and np.any(lengths != lengths[0]) else 0

    @property
    def divided(self) -> bool:
        """Whether a beat is known to be one note, divided: of three parts it is then a triplet.

        Pulses against each other and bars of single notes are; of strokes that were copied nobody knows.

        Examples
        --------
        >>> Cycle(6, [], beats=[0, 3]).divided
        False
        """
        return self._written == 0

    def __repr__(self) -> str:
        lanes = ", ".join(lane._summary for lane in self.lanes)
        bars = f", bars {listed(self.bars)}" if len(self.bars) else ""
        return line(f"Cycle({self.ticks} ticks, beats {listed(self.beats)}{bars}, lanes {lanes})")


def renamed(cycle: Cycle, lanes: Iterable[Lane]) -> Cycle:
    """Return a cycle with the same strokes in lanes of other names; what was worked out of it is kept.

    Examples
    --------
    >>> renamed(Cycle(4, [Lane("a", [0, 2])], beats=[0]), [Lane("b", [0, 2])])
    Cycle(4 ticks, beats 0, lanes 'b': 0 2)
    """
    found = copy(cycle)
    object.__setattr__(found, "lanes", tuple(lanes))
    return found


def counted_as(made: Cycle, like: Cycle | int) -> Cycle:
    """Return a cycle that was just made, counted as another is: in the same written notes.

    `like` may be its `written` notes in ticks, 0 where a beat is one note, divided.

    Examples
    --------
    >>> counted_as(Cycle(6, [], beats=[0, 3]), 0).divided
    True
    """
    notes = like if isinstance(like, int) else like.written or like._written
    object.__setattr__(made, "_written", notes)
    return made


def rising(values: Iterable[int], what: str, example: str, most: int = MOST_STROKES) -> Ticks:
    """Return ticks as a read-only int64 array of its own, or refuse them.

    Parameters
    ----------
    values : iterable of int
        Ticks of at least 0, each higher than the one before.
    what : str
        What to call them in the message.
    example : str
        A call that works.
    most : int
        Most of them in an array; of anything else no more than `check.MOST_LISTED`.

    Raises
    ------
    ValueError
        If they are not whole numbers, are negative, do not rise, or are too many.

    Examples
    --------
    >>> rising([0, 2, 4], "onsets", "[0, 2, 4]")
    array([0, 2, 4])
    """
    if isinstance(values, np.ndarray) and values.dtype.kind in "iu" and values.ndim == 1:
        if len(values) > most:
            raise Refusal(f"{what} are {len(values):,} ticks, more than {most:,}", example)
        ticks = values.astype(np.int64)
        if len(ticks) and values.max() > MOST_TICKS:
            raise Refusal(f"{what}={short(values)} goes beyond 2**62", example, argument=what)
    else:
        if isinstance(values, str) or not isinstance(values, Iterable) or getattr(values, "ndim", 1) != 1:
            raise Refusal(f"{what}={short(values)} is not a list of ticks", example, argument=what)
        numbers = [
            whole(value, f"a tick in {what}", example, 0)
            for value in items(values, what, example, MOST_LISTED)
        ]
        if numbers and max(numbers) > MOST_TICKS:
            raise Refusal(f"{what}={short(numbers)} goes beyond 2**62", example, argument=what)
        ticks = np.array(numbers, dtype=np.int64)
    if len(ticks) and ticks[0] < 0:
        raise Refusal(f"{what}={short(ticks[:40].tolist())} starts before tick 0", example, argument=what)
    if np.any(ticks[1:] <= ticks[:-1]):
        raise Refusal(
            f"{what}={short(ticks[:40].tolist())} does not rise from tick to tick", example, argument=what
        )
    ticks.flags.writeable = False
    return ticks


def listed(ticks: Ticks | str, joint: str = " ") -> str:
    """Return ticks, or the letters of hands, in one line, the middle left out where there are many.

    Examples
    --------
    >>> listed(np.arange(3)), listed("RL" * 20, joint="")
    ('0 1 2', 'RLRLRLRL … L (40 in all)')
    """
    if len(ticks) > 20:
        return f"{joint.join(map(str, ticks[:8]))} … {ticks[-1]} ({len(ticks):,} in all)"
    return joint.join(map(str, ticks))

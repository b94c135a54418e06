"""What a handout says about bars: a fill, a moving accent, feet against hands, or any cycle of lanes."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

import numpy as np

from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.feel import places
from rhythmlab.core.tempo import Tempo
from rhythmlab.core.types import Ticks
from rhythmlab.draw.layout import asked
from rhythmlab.draw.pictures import strip
from rhythmlab.draw.scene import WIDTH, Scene
from rhythmlab.playing.approach import Reason
from rhythmlab.playing.fill import Fill
from rhythmlab.playing.groove import Accents
from rhythmlab.playing.learning import bpm_text
from rhythmlab.playing.limits import Limits
from rhythmlab.playing.metre import Bars, with_article
from rhythmlab.playing.ostinato import Ostinato
from rhythmlab.playing.patterns import Pattern
from rhythmlab.render.lesson import BELOW, BOXES, Exercise, Lesson, cautions, rungs, slip, sources
from rhythmlab.text import counts, sentences
from rhythmlab.text.numbers import plural, seconds, some, times

#: Most pictures of bars under each other, and px that the two closest sounds need in one.
MOST_ROWS, CLOSEST = 3, 14
#: Most letters of a lane's name beside a picture.
LONGEST_NAME = 18
#: Most strokes and most names that are written out.
MOST_SAID = 16
_HANDS = {"R": "right hand", "L": "left hand"}


@dataclass(frozen=True, slots=True)
class _End:
    """What is reckoned, and the reason with its tempos; none where there is nothing to reckon."""

    label: str
    cause: Reason | None

    @property
    def floor(self) -> Fraction | None:
        """Slowest tempo, where there is one."""
        return self.cause.floor if self.cause else None

    @property
    def ceiling(self) -> Fraction | None:
        """Fastest tempo, where there is one."""
        return self.cause.ceiling if self.cause else None


def of_bars(cycle: Cycle, tempo: Tempo, rows: Limits) -> Lesson:
    """Return what a handout says about a cycle of lanes.

    Examples
    --------
    >>> from rhythmlab.playing.groove import accents
    >>> from rhythmlab.playing.limits import limits
    >>> a = accents("2+2+3/8", every=5)
    >>> of_bars(a, a.metre.tempo(180), limits()).name
    'An accent every 5 ticks in 7/8 as 2+2+3'
    """
    name, unit = name_of(cycle), _unit(cycle, tempo)
    ends = (_limbs(cycle, tempo, rows), _beat(cycle, tempo, rows), _bar(cycle, tempo, rows))
    now = Fraction(60_000) / (_tick_ms(cycle, tempo) * tempo.beat_ticks(cycle))
    ceiling = min((end.ceiling for end in ends if end.ceiling is not None), default=None)
    floor = max((end.floor for end in ends if end.floor is not None), default=None)
    goal = now if ceiling is None else min(now, ceiling)
    start = max(goal * BELOW, min(floor or goal * BELOW, goal))
    causes = [end.cause for end in ends if end.cause]
    facts = (
        f"{plural(cycle.ticks, 'tick')}, {plural(len(composite(cycle)), 'sound')}, once through "
        f"in {seconds(tempo.cycle_seconds(cycle))}."
    )
    metred = isinstance(cycle, Bars)
    return Lesson(
        name=name,
        tempo=f"{bpm_text(now, 2)} {unit}",
        facts=facts,
        remarks=(_said(cycle, tempo),) if _said(cycle, tempo) else (),
        picture_title="The bars" if metred else "The lanes",
        pictures=bars_drawn(cycle),
        counts=tuple(
            (sentences.capital(lane.name), _where(cycle, lane)) for lane in cycle.lanes if _played(lane)
        ),
        homes=(None,),
        tide=None,
        way=_lead(now, floor, ceiling, unit),
        ranges=tuple(
            (end.label, _text(end.floor), _text(end.ceiling), _verdict(now, end)) for end in ends if end.cause
        ),
        unit=unit,
        reasons=(
            *(cause.said() for cause in causes),
            "The order of the steps is a choice made here, no source.",
        ),
        steps=_steps(cycle, start),
        ladder=rungs(start, goal),
        exercises=_exercises(cycle, tempo, now, unit),
        slip=slip(name, f"{bpm_text(goal)} {unit}", "the beat of the bar" if metred else "the beat"),
        sources=sources((cause.source for cause in causes), rows),
        cautions=cautions(rows),
    )


def name_of(cycle: Cycle) -> str:
    """Name a cycle for a title.

    Examples
    --------
    >>> from rhythmlab.playing.fill import resolve
    >>> name_of(resolve((7, 4)))
    '7 against 4, resolved in 4/4'
    """
    if isinstance(cycle, Fill):
        return f"{cycle.pair[0]} against {cycle.pair[1]}, resolved in {cycle.metre}"
    if isinstance(cycle, Accents):
        return f"An accent every {plural(cycle.every, 'tick')} in {cycle.metre}"
    if isinstance(cycle, Ostinato):
        return f"Feet of {cycle.feet} against hands of {cycle.hands} in {cycle.metre}"
    if isinstance(cycle, Pattern) and cycle.lanes:
        return sentences.capital(cycle.lanes[0].name)
    if isinstance(cycle, Bars):
        return f"A groove in {cycle.metre}"
    names = [lane.name for lane in cycle.lanes]
    return sentences.capital(" against ".join(names[:4])) if names else "A cycle without strokes"


def bars_drawn(cycle: Cycle) -> tuple[Scene, ...]:
    """Draw the bars in as many rows as they need to be read, three at most, whole bars in each."""
    cycle = _short_names(cycle)
    start, stop = asked(cycle, None, None)
    line = composite(cycle, start=start, stop=stop)
    bars = [tick for tick in cycle.bars.tolist() if start <= tick < stop]
    closest = int(np.diff(line.onsets).min()) if len(line.onsets) > 1 else stop - start
    for count in range(1, MOST_ROWS + 1):
        each = -(-len(bars) // count) if bars else 1
        if not bars or each * (count - 1) >= len(bars) or count > len(bars):
            break
        longest = max(_bar_end(bars, i, each, stop) - bars[i] for i in range(0, len(bars), each))
        if (WIDTH - 100) * closest / longest >= CLOSEST or count == MOST_ROWS:
            break
    else:
        each = len(bars)
    if not bars or each >= len(bars) or bars[0] != start:
        return (strip(cycle, start=start, stop=stop),)
    return tuple(
        strip(cycle, start=bars[i], stop=_bar_end(bars, i, each, stop)) for i in range(0, len(bars), each)
    )


def _short_names(cycle: Cycle) -> Cycle:
    """Return a cycle whose names leave room for its strokes."""
    if all(len(lane.name) <= LONGEST_NAME for lane in cycle.lanes):
        return cycle
    lanes = [
        Lane(
            lane.name if len(lane.name) <= LONGEST_NAME else f"{lane.name[: LONGEST_NAME - 1]}…",
            *(lane.onsets, lane.limb, lane.sound, lane.accents, lane.ghosts, lane.hands),
        )
        for lane in cycle.lanes
    ]
    return Cycle(cycle.ticks, lanes, cycle.beats, cycle.bars)


def _bar_end(bars: list[int], i: int, each: int, stop: int) -> int:
    return bars[i + each] if i + each < len(bars) else stop


def _played(lane: Lane) -> bool:
    return len(lane.onsets) > 0


def _tick_ms(cycle: Cycle, tempo: Tempo) -> Fraction:
    return 1000 * tempo.tick_seconds(cycle)


def _unit(cycle: Cycle, tempo: Tempo) -> str:
    """Say what a tempo counts: a written note, a lane, or ticks."""
    ticks = tempo.beat_ticks(cycle)
    if isinstance(cycle, Bars) and cycle.metre.tempo(1).ticks == ticks:
        return f"bpm, a beat is {with_article(cycle.metre.beat)}"
    if tempo.pulse is not None:
        return f"bpm of the {cycle.lanes[tempo.pulse].name}"
    return f"bpm, a beat is {plural(ticks, 'tick')}"


def _said(cycle: Cycle, tempo: Tempo) -> str:
    """Return what the cycle says of itself, where it does."""
    return cycle.said(tempo) if isinstance(cycle, Fill | Accents | Ostinato) else ""


def _where(cycle: Cycle, lane: Lane) -> str:
    """Say on which counts a lane plays, bar by bar where there are bars, alike bars once."""
    if not len(cycle.beats):
        return f"ticks {some(lane.onsets.tolist(), MOST_SAID)}"
    if not isinstance(cycle, Bars):
        return some(map(counts.place_name, places(cycle, lane.onsets)), MOST_SAID)
    bar, first = cycle.metre.ticks, getattr(cycle, "from_bar", 1)
    rows: dict[str, list[int]] = {}
    for i in range(len(cycle.bars)):
        inside = lane.onsets[(lane.onsets >= i * bar) & (lane.onsets < (i + 1) * bar)].tolist()
        said = some(map(cycle.metre.said, inside), MOST_SAID) or "rest"
        rows.setdefault(said, []).append(i + first)
    if len(rows) == 1:
        return f"{next(iter(rows))} in every bar" if len(cycle.bars) > 1 else next(iter(rows))
    return "; ".join(f"bar{'s' * (len(n) > 1)} {some(_runs(n), 8)}: {said}" for said, n in rows.items())


def _runs(numbers: Iterable[int]) -> list[str]:
    """Return numbers with neighbours joined: 1, 2, 3, 5 are 1 to 3 and 5."""
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][1] + 1:
            found[-1][1] = number
        else:
            found.append([number, number])
    return [str(a) if a == b else f"{a} to {b}" for a, b in found]


def limbs_of(cycle: Cycle) -> dict[str, Ticks]:
    """Return the strokes of each limb; of the lane itself where no limb is named.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.playing.sticking import split
    >>> {limb: ticks.tolist() for limb, ticks in limbs_of(split((3, 2))).items()}
    {'right hand': [0, 2, 4], 'left hand': [0, 3]}
    """
    found: dict[str, list[int]] = {}
    for lane in cycle.lanes:
        if lane.hands:
            for tick, letter in zip(lane.onsets.tolist(), lane.hands, strict=True):
                found.setdefault(_HANDS[letter], []).append(tick)
        elif len(lane.onsets):
            found.setdefault(lane.limb or lane.name, []).extend(lane.onsets.tolist())
    return {limb: np.unique(np.array(ticks, np.int64)) for limb, ticks in found.items()}


def _limbs(cycle: Cycle, tempo: Tempo, rows: Limits) -> _End:
    """Return the fastest tempo at which every limb keeps up, round and round, and which limb it is."""
    ms, beat = _tick_ms(cycle, tempo), tempo.beat_ticks(cycle)
    found: list[tuple[Fraction, Reason]] = []
    for limb, ticks in limbs_of(cycle).items():
        apart = np.diff(np.append(ticks, ticks[0] + cycle.ticks))
        round_again = np.concatenate([apart, apart, apart])
        for gaps, key in enumerate(("hand_two", "hand_three", "hand_sustained"), 1):
            sums = np.convolve(round_again, np.ones(gaps, np.int64), "valid")[: len(apart)]
            least, limit = Fraction(int(sums.min()), gaps), rows[key]
            bpm = Fraction(60_000) * least / (limit.value * beat)
            feet = "hand" not in limb
            said = Reason(kind="limb", limit=limit, limb=limb, feet=feet, ms=ms * least, ceiling=bpm)
            found.append((bpm, said))
    return _End("Every limb keeps up", min(found, key=lambda one: one[0])[1] if found else None)


def _beat(cycle: Cycle, tempo: Tempo, rows: Limits) -> _End:
    """Return the tempos at which the beat that is counted is felt as one."""
    felt = rows["beat"]
    low, high = (Fraction(60_000) / end for end in (felt.high, felt.low))
    cause = Reason(kind="beat", limit=felt, floor=low, ceiling=high)
    return _End("The beat is felt as a beat", cause)


def _bar(cycle: Cycle, tempo: Tempo, rows: Limits) -> _End:
    """Return the slowest tempo at which a bar is felt as one."""
    if not isinstance(cycle, Bars):
        return _End("A bar is felt as one", None)
    longest, ticks = rows["bar_longest"], cycle.metre.ticks
    floor = Fraction(60_000 * ticks, tempo.beat_ticks(cycle)) / longest.value
    cause = Reason(kind="bar", limit=longest, ms=_tick_ms(cycle, tempo) * ticks, floor=floor)
    return _End("A bar is felt as one", cause)


def _text(bpm: Fraction | None) -> str:
    return "no limit" if bpm is None else bpm_text(bpm)


def _verdict(now: Fraction, end: _End) -> str:
    if end.floor is not None and now < end.floor:
        return f"only from {bpm_text(end.floor)} bpm"
    if end.ceiling is not None and now > end.ceiling:
        return f"only up to {bpm_text(end.ceiling)} bpm"
    return "fits"


def _lead(now: Fraction, floor: Fraction | None, ceiling: Fraction | None, unit: str) -> str:
    slow = floor is not None and now < floor
    fast = ceiling is not None and now > ceiling
    state = "too slow here" if slow else "too fast here" if fast else "it fits here"
    return f"Feet first, then the hands over them: {state}, at {bpm_text(now)} {unit}."


def _steps(cycle: Cycle, start: Fraction) -> tuple[tuple[str, str], ...]:
    """Return what to practise: feet, hands said, hands played, all of it, the spot."""
    limbs = limbs_of(cycle)
    feet = [limb for limb in limbs if "foot" in limb or "feet" in limb]
    hands = [limb for limb in limbs if limb not in feet]
    found = []
    if feet:
        found.append((f"Play the {sentences.listed(feet)} alone until nothing moves.", "count every beat"))
    if hands:
        over = " over it" if feet else " while you tap the beat"
        found.append((f"Say the {sentences.listed(hands)}{over}.", "the strokes, not the numbers"))
        found.append((f"Play the {sentences.listed(hands)} alone and count aloud.", "the counts above"))
    found.append(("Play all of it, one bar at a time, then without a stop.", "the bar and its beats"))
    if isinstance(cycle, Fill):
        bar = cycle.enter // cycle.metre.ticks + 1
        found.append((f"Loop bar {bar} and the beat it lands on.", "enter and land; the feet go on"))
    elif isinstance(cycle, Accents):
        found.append(("Start from another bar of the cycle.", f"bars 1 to {len(cycle.bars)}"))
    elif isinstance(cycle, Ostinato):
        found.append(("Start from each place where a hand meets a foot.", "the meetings above"))
    text, count = found[0]
    found[0] = (f"{text[:-1]}, at {bpm_text(start)} bpm.", count)
    return tuple(found)


def _exercises(cycle: Cycle, tempo: Tempo, now: Fraction, unit: str) -> tuple[Exercise, ...]:
    """Return three exercises: write a lane from memory, reckon a length, count what is together."""
    faster = Fraction(ceil(now * Fraction(11, 10)))
    takes = tempo.cycle_seconds(cycle) * now / faster
    second = Exercise(f"How long is it once through at {bpm_text(faster)} bpm?", seconds(takes))
    together = int((composite(cycle).pulses.sum(axis=1) > 1).sum())
    third = Exercise(
        "How often do two or more lanes sound together once through?",
        times(together) if together else "never",
    )
    return _first(cycle), second, third


def _first(cycle: Cycle) -> Exercise:
    lane = next((lane for lane in reversed(cycle.lanes) if len(lane.onsets)), None)
    if lane is None:
        return Exercise("How many beats has it?", plural(len(cycle.beats), "beat"))
    if isinstance(cycle, Fill):
        hands = lane.hands or "RL" * len(lane.onsets)
        return Exercise(
            f"Cover the picture. Write the hands of the fill, {plural(len(lane.onsets), 'stroke')}, "
            "R or L one box a stroke.",
            hands,
            min(len(lane.onsets), BOXES),
            BOXES,
        )
    length = cycle.metre.ticks if isinstance(cycle, Bars) else cycle.ticks
    bars = len(cycle.bars) if isinstance(cycle, Bars) else 1
    bar = next(i for i in (*range(min(1, bars - 1), bars), 0) if _inside(lane, i, length))
    inside, which = _inside(lane, bar, length), bar + getattr(cycle, "from_bar", 1)
    of = f" in bar {which}" if bars > 1 else ""
    if length <= BOXES:
        row = "".join("x" if tick in inside else "." for tick in range(length))
        gap = int(np.gcd.reduce(np.diff(np.append(cycle.beats, cycle.ticks)))) if len(cycle.beats) else length
        text = f"Cover the picture. Write the {lane.name}{of}, one box a tick: x for a stroke."
        return Exercise(text, row, length, gap if gap > 1 else length)
    said = some(inside, MOST_SAID)
    return Exercise(f"On which ticks{of} does the {lane.name} play, counted from 0?", said)


def _inside(lane: Lane, bar: int, length: int) -> list[int]:
    onsets = lane.onsets[(lane.onsets >= bar * length) & (lane.onsets < (bar + 1) * length)]
    inside: list[int] = (onsets - bar * length).tolist()
    return inside

"""The pictures: pure functions from a cycle to a `Scene`.

Home is shown by where the heavy lines and the big count numbers stand, never by colour.
Shared strokes are tied by a bar.
"""

import math
from collections.abc import Sequence, Set
from dataclasses import dataclass, replace
from itertools import pairwise
from unicodedata import east_asian_width

import numpy as np

from rhythmlab.core import bounds
from rhythmlab.core.check import short, whole
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.feel import Groups, OwnGroups, Place, own_groups, own_row, places
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm, polyrhythm_and_home
from rhythmlab.core.tempo import Speed, tempo_given
from rhythmlab.core.types import Ticks
from rhythmlab.draw.fit import (
    FINE,
    LETTER,
    WIDTHS,
    asked,
    clear_of_gutter,
    counted_beats,
    every_so_many,
    px_to_a_tick,
    ticks_shown,
    within,
)
from rhythmlab.draw.palette import lane_role
from rhythmlab.draw.scene import WIDTH, Band, Line, Mark, Rule, Scene, Stroke, Text
from rhythmlab.playing.metre import lane_places
from rhythmlab.playing.named import name_of
from rhythmlab.playing.sentence import Sentence
from rhythmlab.refusal import Refusal
from rhythmlab.text import counts, descriptions, numbers
from rhythmlab.text.sentences import verb

#: More ticks than this and the hairlines go.
MOST_HAIRLINES = 64
#: Most pulses that a rhythm is drawn under each of.
MOST_HOMES = 12
#: Letters of a lane's name that stand beside a picture.
_LONGEST_NAME = 24
#: Gutter in px of the names of the two hands.
_HANDS = 112
#: Width of a letter of a sentence, in px: with stress and without, and of a script of wide signs.
_SAID, _WIDE = {"name": 12.5, "plain": 9.0}, 16.5
#: Width in px of the signs of a word in the count that are no small letter: TA &.
_WORD = {**dict.fromkeys("&ABDHIKLMNORSTU", 11.0), " ": 4.5}
#: More strokes than this in a lane and the count shows beats only.
MOST_MARKS = 36
#: Most lines of small numbers under the heard row, and rows from one to the next.
MOST_UNDER, UNDER_ROWS = 3, 0.36
#: What stands where a fill lands.
LANDS = "lands"


@public("pictures.strip((7, 4))", cycle="what")
def strip(
    what: Rhythm,
    *,
    start: int | None = None,
    stop: int | None = None,
    width: int = WIDTH,
    groups: Groups = (),
) -> Scene:
    """Draw the lanes round the line that is heard, with the count under them.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is played; the beats of a cycle are home, and else the last pulse.
    start, stop : int, optional
        Window in ticks; as much as can be read when left out.
    width : int
        Width in px, from 400 to 10,000; narrower is larger on a wall, with fewer labels.
    groups : str or sequence of int
        How a beat of five parts or more is said, as for `Feel`.

    Examples
    --------
    >>> scene = strip((7, 4))
    >>> len(scene.strokes()), scene.alt[:36]
    (11, '7 against 4 on 28 ticks, counted fro')
    """
    example = "pictures.strip((7, 4))"
    own = own_groups(groups, f'{example[:-1]}, groups="3+4")')
    return strip_in_words(what, (), start=start, stop=stop, width=width, groups=own)


def strip_in_words(
    what: Rhythm,
    words: Sequence[str],
    *,
    start: int | None = None,
    stop: int | None = None,
    width: int = WIDTH,
    groups: OwnGroups = (),
    drawn: Cycle | None = None,
) -> Scene:
    """Draw a strip, with these words for its ticks, over and over, in place of the count where there are any.

    What is `drawn` may have other names of lanes than its text alternative.

    Examples
    --------
    >>> from rhythmlab.core.cycle import Lane
    >>> cycle = Cycle(5, [Lane("phrase", range(5))], beats=[0, 2])
    >>> scene = strip_in_words(cycle, "1 2 1 2 3".split())
    >>> [(mark.x, mark.text) for mark in scene.marks if isinstance(mark, Text) and mark.role == "big"]
    [(0, '1'), (2, '1')]
    """
    example = "pictures.strip((7, 4))"
    cycle = bounds.cycle(what, "what", example)
    width = whole(width, "width", f"{example[:-1]}, width={WIDTH})", *WIDTHS)
    start, stop = asked(cycle, start, stop)
    bounds.few_drawn(cycle, start, stop)
    lines, shown = _counted(cycle, start, stop, groups), cycle if drawn is None else drawn
    marks, rows = _strip(shown, start, stop, 0.3, width, lines=lines, groups=groups, words=words)
    counted = counted_in(shown, start, stop, width, "group" if words else "beat")
    if words:
        told = "; ".join(filter(None, [_in_words(cycle, words, start, stop), counted]))
        alt = f"{_title(cycle, start, stop)}: {told}."
    else:
        alt = strip_alt(cycle, start, stop, _falls(cycle, start, stop, lines, groups), counted)
    shows = name_of(cycle)
    return Scene("strip", alt, tuple(marks), start, stop, rows, left=_left(shown), width=width, shows=shows)


def strip_alt(cycle: Cycle, start: int, stop: int, falls: str, counted: str = "") -> str:
    """Say in words what a strip shows, with where its lanes fall in the count, and which beats are numbered.

    Examples
    --------
    >>> strip_alt(Polyrhythm(3, 2).cycle(), 0, 6, "the 3 falls between")
    '3 against 2 on 6 ticks, counted from the 2: heard as one line the ticks from sound to sound are \
2 1 1 2; the 3 falls between.'
    """
    line = numbers.some(composite(cycle, start=start, stop=stop).intervals.tolist(), 24, " ")
    said = f"say: {cycle.text}" if isinstance(cycle, Sentence) else ""
    return (
        f"{_title(cycle, start, stop)}, counted from {_home_name(cycle)}: heard as one line the ticks from "
        f"sound to sound are {'; '.join(filter(None, [line, falls, said, counted]))}."
    )


def counted_in(
    cycle: Cycle, start: int, stop: int, width: int = WIDTH, what: str = "beat", left: int | None = None
) -> str:
    """Say which beats have their number in a strip or on a grid of a width, where not all have.

    Examples
    --------
    >>> cycle = Polyrhythm(3, 64).cycle()
    >>> counted_in(cycle, 0, cycle.ticks), counted_in(cycle, 0, cycle.ticks, width=2000)
    ('counted: every fifth beat', '')
    """
    px = px_to_a_tick(start, stop, _left(cycle) if left is None else left, width=width)
    beats, bars = within(cycle.beats, start, stop), within(cycle.bars, start, stop)
    return counted_beats(beats, bars, _numbers(cycle, start, stop, px), what)


@public("pictures.shared_grid((7, 4))", cycle="what")
def shared_grid(what: Rhythm, *, start: int | None = None, stop: int | None = None) -> Scene:
    """Draw every lane on the numbered ticks they share.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is played; the beats of a cycle are home, and else the last pulse.
    start, stop : int, optional
        Window in ticks; as much as can be read when left out.

    Examples
    --------
    >>> shared_grid((3, 2)).alt
    '3 against 2 on 6 ticks, drawn on the grid they share: the 3 on ticks 0 2 4; the 2 on ticks 0 3.'
    """
    cycle = bounds.cycle(what, "what", "pictures.shared_grid((7, 4))")
    start, stop = asked(cycle, start, stop)
    bounds.few_drawn(cycle, start, stop)
    lanes = len(cycle.lanes)
    bottom = lanes + 0.9
    marks: list[Mark] = _frame(cycle, start, stop, 0.8, bottom)
    px = px_to_a_tick(start, stop, _left(cycle))
    every = every_so_many(px, len(str(stop)))
    ticks = [
        t for t in range(-(-start // every) * every, stop, every) if clear_of_gutter((t - start) * px, 4.5, t)
    ]
    marks += [Text(0, 0.45, "tick", "small", "left"), *(Text(t, 0.45, str(t), "small") for t in ticks)]
    marks += _ties(cycle, start, stop, 1.3, lanes + 0.3)
    said = []
    for i, lane in enumerate(cycle.lanes):
        marks += _row(cycle, i, start, stop, i + 1.3)
        onsets = within(lane.onsets, start, stop)
        said.append(f"the {lane.name} on ticks {numbers.some(onsets, 24, ' ')}")
    said.append(counted_in(cycle, start, stop))
    count = _count(cycle, start, stop, bottom + 0.4, [_Line((), (), {}, 0)])
    marks += count
    alt = f"{_title(cycle, start, stop)}, drawn on the grid they share: {'; '.join(filter(None, said))}."
    rows, shows = _lowest(count) + 0.5, name_of(cycle)
    return Scene("grid", alt, tuple(marks), start, stop, rows, left=_left(cycle), shows=shows)


def spoken(p: Polyrhythm, left_handed: bool = False) -> Scene:
    """Draw two pulses as right and left hand with the words to say, before any numbers.

    Parameters
    ----------
    p : Polyrhythm
        The first pulse is the right hand, the second the left.
    left_handed : bool
        Whether the hands are mirrored.

    Examples
    --------
    >>> spoken(Polyrhythm(3, 2)).alt
    'Right hand 3 claps, left hand 2 claps, evenly in the same time; say: together, right, left, right.'
    """
    cycle, claps = p.cycle(), descriptions.claps(p, left_handed)
    hands = descriptions.hands_of_two(left_handed)
    marks: list[Mark] = [Rule(tick, 0.2, 2.8, "edge") for tick in (0, p.ticks)]
    for lane, hand in enumerate(hands):
        y = 1.0 + lane
        marks += [Text(0, y, hand, "name", "left", f"lane{lane}"), Line(0, y, p.ticks, y, f"lane{lane}")]
        marks += [Stroke(tick, y, lane) for tick in cycle.lanes[lane].onsets.tolist()]
    marks += _ties(cycle, 0, p.ticks, 1.0, 2.0)
    places = composite(p).onsets.tolist()
    px, ends = px_to_a_tick(0, p.ticks, _HANDS), list[float]()
    for tick, word in zip(places, claps, strict=True):
        row = _free_row(ends, tick * px, len(word) * _SAID["name"] / 2)
        marks.append(Text(tick, 3.2 + 0.5 * row, word, "name"))
    said = [f"{hand} hand {numbers.plural(n, 'clap')}" for hand, n in zip(hands, p.pulses, strict=False)]
    alt = f"{', '.join(said).capitalize()}, evenly in the same time; say: {', '.join(claps)}."
    rows = 3.2 + 0.5 * len(ends)
    return Scene("spoken", alt, tuple(marks), 0, p.ticks, rows, left=_HANDS, shows=descriptions.pair(p))


@public("pictures.homes((7, 4), 72)", p="what")
def homes(
    what: Rhythm,
    tempo: Speed | None = None,
    *,
    start: int | None = None,
    stop: int | None = None,
    groups: Groups = (),
) -> Scene:
    """Draw one rhythm under each of its homes: every stroke at the same place, another count.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is played.
    tempo : Tempo or number, optional
        Says the beats a minute of each home; a number is those of the last pulse.
    start, stop : int, optional
        Window in ticks; as much as can be read when left out.
    groups : str or sequence of int
        How a beat of five parts or more is said, as for `Feel`.

    Examples
    --------
    >>> homes((7, 4)).alt[:60]
    '7 against 4 under each home, no stroke moved: counted from t'
    """
    example = "pictures.homes((7, 4), 72)"
    p, at = polyrhythm_and_home(what, None, "what", example)
    bounds.rhythm(p, "what", example)
    said_in = own_groups(groups, f'{example[:-1]}, groups="3+4")')
    if len(p.pulses) > MOST_HOMES:
        raise Refusal(
            f"what={short(p)} has {len(p.pulses)} pulses, more than {MOST_HOMES}", example, argument="what"
        )
    if tempo is not None:
        tempo = tempo_given(tempo, p, at, example)
        own = tempo.pulse if tempo.pulse is not None and tempo.pulse < len(p.pulses) else None
        bounds.at_tempo(p, tempo, own, example)  # the other homes are as fast as they are
    marks: list[Mark] = []
    said = []
    top = 0.0
    cycles = [p.cycle(home) for home in range(len(p.pulses))]
    windows = [asked(cycle, start, stop) for cycle in cycles]
    start, stop = windows[-1][0], min(last for _, last in windows)
    bounds.few_drawn(cycles[-1], start, stop)
    for home, cycle in enumerate(cycles):
        speed = f" at {numbers.number(tempo.bpm_of(p, home))} bpm" if tempo else ""
        marks.append(
            Text(start, top + 0.4, f"home is {descriptions.pulse_name(p, home)}{speed}", "name", "from")
        )
        lines = _counted(cycle, start, stop, said_in)
        drawn, top = _strip(cycle, start, stop, top + 0.8, lines=lines, groups=said_in)
        marks += drawn
        top += 0.2
        falls = filter(None, [_falls(cycle, start, stop, lines, said_in), counted_in(cycle, start, stop)])
        said.append(f"counted from {descriptions.pulse_name(p, home)}{speed}, {'; '.join(falls)}")
    name = descriptions.pair(p) if stop - start == p.ticks else _title(cycles[0], start, stop)
    alt = f"{name} under each home, no stroke moved: {'; '.join(said)}."
    return Scene("homes", alt, tuple(marks), start, stop, top, shows=descriptions.pair(p))


def _strip(
    cycle: Cycle,
    start: int,
    stop: int,
    top: float,
    width: int = WIDTH,
    *,
    lines: Sequence["_Line"],
    groups: OwnGroups = (),
    words: Sequence[str] = (),
) -> tuple[list[Mark], float]:
    """Return the marks of a strip that begins at a row, and the row where it ends."""
    lanes = len(cycle.lanes)
    above = (lanes + 1) // 2
    heard = top + 0.7 + above
    numbers_, left_out = _heard(cycle, start, stop, heard, width)
    lower = max((mark.y for mark in numbers_ if isinstance(mark, Text)), default=heard) - heard - 0.5
    lower = max(0.0, lower)  # rows that the numbers under the heard row take beyond the first
    ys = [top + 0.7 + i + (i >= above) * (1 + lower) for i in range(lanes)]
    bottom = top + lanes + 1.3 + lower
    marks = _frame(cycle, start, stop, top, bottom)
    marks.insert(0, Band(start, stop, heard - 0.3, heard + 0.3, "heard"))
    marks += numbers_
    marks += _ties(cycle, start, stop, top + 0.7, max(ys, default=0))
    for i, y in enumerate(ys):
        marks += _row(cycle, i, start, stop, y, width)
    rows = _count(cycle, start, stop, bottom + 0.4, lines, width=width, groups=groups, words=words)
    rows += _no_room(start, _lowest(rows) + 0.42, *left_out, "numbers of the heard row")
    rows += _sentence(cycle, start, stop, _lowest(rows) + 0.7, width)
    return marks + rows, _lowest(rows) + 0.5


def _sentence(cycle: Cycle, start: int, stop: int, y: float, width: int) -> list[Mark]:
    """Write a sentence said on the line, where the cycle has one; what would touch stands a row lower."""
    if not isinstance(cycle, Sentence):
        return []
    px = px_to_a_tick(start, stop, _left(cycle), width=width)
    marks: list[Mark] = [Text(0, y, "say", "small", "left")]
    ends: list[float] = []  # where each row is written to
    for tick, one in zip(composite(cycle).onsets.tolist(), cycle.syllables, strict=True):
        if not start <= tick < stop:
            continue
        text, role = (str(one).upper(), "name") if one.stressed else (str(one), "plain")
        half = sum(_WIDE if east_asian_width(letter) in "WF" else _SAID[role] for letter in text) / 2 + 2
        x = min(max((tick - start) * px, half - LETTER), (stop - start) * px - half + LETTER)
        marks.append(Text(start + x / px, y + 0.6 * _free_row(ends, x, half), text, role))
    return marks


def _free_row(ends: list[float], x: float, half: float) -> int:
    """Take the first row where a word of this half width touches none, with where each is written to."""
    row = next((i for i, end in enumerate(ends) if x - half >= end), len(ends))
    ends[row : row + 1] = [x + half]
    return row


def _no_room(start: int, y: float, without: int, of: int, what: str) -> list[Mark]:
    """Say how many numbers or words are not written, where sounds are too close together for them."""
    left_out = numbers.number(of) if without == of else f"{numbers.number(without)} of {numbers.number(of)}"
    said = f"too close together to write {left_out} {what}"
    return [Text(start, y, said, "fine", "from")] if without else []


def _lowest(marks: list[Mark]) -> float:
    """Return the row of the lowest text."""
    return max(mark.y for mark in marks if isinstance(mark, Text))


def _frame(cycle: Cycle, start: int, stop: int, top: float, bottom: float) -> list[Mark]:
    """Hairlines where they can be told apart, heavy lines at home's beats, edges at both ends."""
    marks: list[Mark] = []
    if stop - start <= MOST_HAIRLINES:
        marks += [Rule(tick, top, bottom, "hair") for tick in range(start, stop)]
    marks += [Rule(beat, top, bottom, "beat") for beat in within(cycle.beats, start, stop)]
    edges = [tick for tick in (start, stop) if tick % cycle.ticks == 0]
    edges += [tick for tick in within(cycle.bars, start, stop) if tick not in edges]
    return marks + [Rule(tick, top, bottom, "edge") for tick in edges]


def _row(cycle: Cycle, lane: int, start: int, stop: int, y: float, width: int = WIDTH) -> list[Mark]:
    """One lane: its name, its own line, its strokes; its hands where the closest two have room."""
    name = Text(0, y, _named(cycle, lane), "name", "left", lane_role(lane))
    one = cycle.lanes[lane]
    accents, ghosts = set(one.accents), set(one.ghosts)
    strokes = [
        Stroke(tick, y, lane, ring=tick in accents, small=tick in ghosts)
        for tick in within(one.onsets, start, stop)
    ]
    letters: list[Mark] = []
    closest = min((b.x - a.x for a, b in pairwise(strokes)), default=stop - start)
    room = closest * px_to_a_tick(start, stop, _left(cycle), width=width)
    if one.hands and room >= LETTER + 3:
        role = "letter" if room >= LETTER + 6 else "fine letter"  # an R is 10 px wide, a fine one 8
        pairs = zip(one.onsets.tolist(), one.hands, strict=True)
        letters = [Text(tick, y + 0.49, hand, role) for tick, hand in pairs if start <= tick < stop]
    return [name, Line(start, y, stop, y, lane_role(lane)), *letters, *strokes]


def _ties(cycle: Cycle, start: int, stop: int, top: float, bottom: float) -> list[Mark]:
    """Bars that tie strokes played together by every lane."""
    line = composite(cycle, start=start, stop=stop)
    together = line.onsets[line.pulses.all(axis=1)].tolist()
    return [Rule(tick, top + 0.28, bottom - 0.28, "tie") for tick in together] if bottom > top else []


def _heard(cycle: Cycle, start: int, stop: int, y: float, width: int) -> tuple[list[Mark], tuple[int, int]]:
    """Draw the composite: a short thick line at each sound, the ticks to the next between them.

    A number that its gap cannot hold is written smaller, or smaller under the row, on as many lines as it
    takes up to three, on paper of its own, since it reaches over the lines beside it; how many find no room
    even there, and of how many, is returned too.  Where that is more than half, none is written.
    """
    line = composite(cycle, start=start, stop=stop)
    marks: list[Mark] = [Text(0, y, "heard", "small", "left")]
    marks += [Rule(tick, y - 0.3, y + 0.3, "sound") for tick in line.onsets.tolist()]
    px = px_to_a_tick(start, stop, _left(cycle), width=width)
    inside = [
        (tick + ticks / 2, ticks)
        for tick, ticks in zip(line.onsets.tolist(), line.intervals.tolist(), strict=True)
        if tick + ticks <= stop
    ]
    under, without = [-math.inf] * MOST_UNDER, 0  # px where each line under the row is written to
    written: list[Mark] = []
    for middle, ticks in inside:
        text, x, half = str(ticks), (middle - start) * px, FINE * len(str(ticks)) / 2
        if ticks * px >= LETTER * len(text) + 5:
            written.append(Text(middle, y, text, "plain"))
        elif ticks * px >= 2 * half + 4:
            written.append(Text(middle, y, text, "fine"))
        elif any(x - half >= end + 2 for end in under) and clear_of_gutter(x, FINE / 2, text):
            level = next(i for i, end in enumerate(under) if x - half >= end + 2)
            written.append(Text(middle, y + 0.5 + UNDER_ROWS * level, text, "fine number"))
            under[level] = x + half
        else:
            without += 1
    if 2 * without > len(inside):
        written, without = [], len(inside)
    return marks + written, (without, len(inside))


def _count(
    cycle: Cycle,
    start: int,
    stop: int,
    y: float,
    lines: Sequence["_Line"],
    *,
    width: int = WIDTH,
    groups: OwnGroups = (),
    words: Sequence[str] = (),
) -> list[Mark]:
    """Write the count: beats large, where another lane falls small; one line for each other lane.

    Bars have one line for all lanes, and so has a cycle whose beats no lane plays.
    Where the cycle `lands`, as a fill does, that is written under the count, and at the right edge where it
    lands as the cycle comes round.
    A small mark that would touch its neighbour stands half a row lower, or a row; where that is taken too
    it is left out, and how many are is said: the text alternative has all of them.
    So are the places of a beat in too many parts to be said.
    """
    px = px_to_a_tick(start, stop, _left(cycle), width=width)
    counted_on = _beat_numbers(cycle)
    big = _numbers(cycle, start, stop, px)
    counted = counted_in(cycle, start, stop, width, "group" if words else "beat")
    if words:
        big = [(b, words[b % len(words)]) for b, _ in big]
    marks: list[Mark] = []
    at, without, of, unsaid = y, 0, 0, dict[int, int]()
    for line in lines:
        name = _named(_pulses(cycle), line.lanes[0]) if len(lines) > 1 else ""
        label = f"the {name}" if 0 < len(name) < 3 else name or "count"
        marks.append(Text(0, at, label, "small", "left"))
        marks += [Text(tick, at, text, "big") for tick, text in big]
        taken: list[list[tuple[float, float]]] = [
            [((t - start) * px, 6.0 * len(s) + 2) for t, s in big],
            [],
            [],
        ]
        lands = getattr(cycle, "lands", None)
        if lands is not None and start < lands <= stop:
            marks.append(Text(lands, at + 0.42, LANDS, "small"))
            taken[1].append(((lands - start) * px, LETTER * len(LANDS) / 2))
        without, of = without + line.many, of + line.many + len(line.off_beats)
        for tick, place in line.off_beats:
            place = replace(place, beat=int(counted_on[place.beat - 1]))
            said = words[tick % len(words)] if words else counts.label(place, own_row(groups, place.parts))
            text, x = said, (tick - start) * px
            if not text:
                unsaid[place.parts] = unsaid.get(place.parts, 0) + 1
                continue
            half = sum(_WORD.get(letter, LETTER) for letter in text) / 2
            free = [all(abs(x - centre) >= half + width for centre, width in row) for row in taken]
            inside = clear_of_gutter(x, half / len(text), text) and x + half <= width - _left(cycle)
            if any(free) and inside:
                level = free.index(True)
                marks.append(Text(tick, at + 0.42 * level, text, "small"))
                taken[level].append((x, half))
            else:
                without += 1
        at += 1.37 if taken[2] else 0.95
    for parts, left_out in sorted(unsaid.items()):
        said = f"no word for {numbers.plural(left_out, 'place')}: {numbers.number(parts)} parts to a beat"
        marks.append(Text(start, _lowest(marks) + 0.42, said, "fine", "from"))
    if counted:
        marks.append(Text(start, _lowest(marks) + 0.42, counted, "fine", "from"))
    return marks + _no_room(start, _lowest(marks) + 0.42, without, of, "words of the count")


def _numbers(cycle: Cycle, start: int, stop: int, px: float) -> list[tuple[int, str]]:
    """Return the beats whose numbers have room, where a tick has so many px: in each bar the same ones."""
    beats, first = within(cycle.beats, start, stop), int(np.searchsorted(cycle.beats, start))
    number_of = dict(zip(beats, _beat_numbers(cycle)[first : first + len(beats)].tolist(), strict=True))
    least = int(np.diff(cycle.beats).min()) if len(cycle.beats) > 1 else cycle.ticks
    every = every_so_many(px * least, len(str(max(number_of.values(), default=1))))
    big = [(b, str(number_of[b])) for b in beats if (number_of[b] - 1) % every == 0]
    if every > 1 and len(within(cycle.bars, start + 1, stop)):  # the last of a bar is near the next 1
        ends = np.append(cycle.bars, cycle.ticks)
        after = ends[np.searchsorted(ends, [b for b, _ in big], side="right")].tolist()
        near = [end - b < every * least for (b, _), end in zip(big, after, strict=True)]
        big = [one for one, close in zip(big, near, strict=True) if one[1] == "1" or not close]
        every = every_so_many(px * int(np.diff(ends).min()), 1)
        if every > 1:
            kept = set(cycle.bars[::every].tolist())
            big = [one for one in big if one[0] in kept]
    return [(b, text) for b, text in big if clear_of_gutter((b - start) * px, 6.3, text)]


@dataclass(frozen=True, slots=True)
class _Line:
    """One line of the count.

    Attributes
    ----------
    lanes : tuple of int
        The lanes that are counted on it.
    off_beats : sequence of (int, Place)
        Where they fall off the beats, each tick once, in order.
    unsaid : dict
        Places by tick that no word is left for.
    many : int
        How many there are of lanes with too many strokes to be written.
    """

    lanes: tuple[int, ...]
    off_beats: Sequence[tuple[int, Place]]
    unsaid: counts.Beat
    many: int


def _counted(cycle: Cycle, start: int, stop: int, groups: OwnGroups) -> list[_Line]:
    """Return the lines of the count: one for each lane but home, or one for all.

    One is for all in bars, and where no lane plays the beats, if it says all of it.
    """
    cycle = _pulses(cycle)
    home = _home(cycle)
    others = [i for i in range(len(cycle.lanes)) if i != home]
    if home is None or len(cycle.bars) > 0 or not others:
        line, natural = _line(cycle, others, start, stop, groups)
        if natural:
            return [line]
        # fives and sevens of a beat are not counted together
        others = [i for i in others if np.setdiff1d(cycle.lanes[i].onsets, cycle.beats).size]
    return [_line(cycle, [i], start, stop, groups)[0] for i in others]


def _line(cycle: Cycle, lanes: Sequence[int], start: int, stop: int, groups: OwnGroups) -> tuple[_Line, bool]:
    """Return where lanes fall off the beats, and whether one line says it as each of them is counted.

    A stroke is in its fewest parts, and in each beat no word is two places.
    """
    if not within(cycle.beats, start, stop):
        return _Line(tuple(lanes), (), {}, 0), True
    beats: dict[int, counts.Beat] = {}
    many: set[int] = set()
    for lane in lanes:
        onsets = cycle.lanes[lane].onsets
        inside = within(onsets, start, stop)
        if len(inside) > MOST_MARKS:
            many.update(np.setdiff1d(inside, cycle.beats).tolist())
            continue
        for tick, place in lane_places(cycle, onsets, start, stop).items():
            beat = beats.setdefault(place.beat, {})
            if place.part > 1 and (tick not in beat or place.parts < beat[tick].parts):
                beat[tick] = place
    told = [counts.told_apart(beat, groups) for beat in beats.values()]
    found = {tick: place for beat, _ in told for tick, place in beat.items()}
    known = {tick: place for beat in beats.values() for tick, place in beat.items()}
    natural = all(  # nobody counts fourteen for a seven over halves
        not unsaid and {place.parts for place in one.values()} <= {place.parts for place in beat.values()}
        for (one, unsaid), beat in zip(told, beats.values(), strict=True)
    )
    lost = {tick: place for tick, place in known.items() if tick not in found}
    return _Line(tuple(lanes), sorted(found.items()), lost, len(many - known.keys())), natural


def _beat_numbers(cycle: Cycle) -> Ticks:
    """Return the number of each beat, from 1, and from 1 again in every bar."""
    number = np.arange(len(cycle.beats))
    firsts = np.where(np.isin(cycle.beats, cycle.bars), number, 0)
    return number - np.maximum.accumulate(firsts) + 1


def _left(cycle: Cycle) -> int:
    """Return the width of a gutter, in px, that the names of the lanes fit in."""
    return max(76, 20 + 11 * max((len(_named(cycle, i)) for i in range(len(cycle.lanes))), default=0))


def _named(cycle: Cycle, lane: int) -> str:
    """Return the name of a lane, cut where it would leave the picture no room."""
    name = cycle.lanes[lane].name
    return name if len(name) <= _LONGEST_NAME else f"{name[: _LONGEST_NAME - 1]}\N{HORIZONTAL ELLIPSIS}"


def _pulses(cycle: Cycle) -> Cycle:
    """Return what is counted: of a line that merges pulses these, so that each stroke has its own words."""
    pulses: Cycle = getattr(cycle, "counted", cycle)
    return pulses


def _home(cycle: Cycle) -> int | None:
    """Index of the lane that is home, where one lane has all the beats and nothing else."""
    return next((i for i, lane in enumerate(cycle.lanes) if np.array_equal(lane.onsets, cycle.beats)), None)


def _home_name(cycle: Cycle) -> str:
    """Return the name of home, or how many beats there are."""
    cycle, home = _pulses(cycle), _home(_pulses(cycle))
    return numbers.plural(len(cycle.beats), "beat") if home is None else f"the {cycle.lanes[home].name}"


def _title(cycle: Cycle, start: int, stop: int) -> str:
    """Return the names of the lanes, and which ticks are shown."""
    names = " against ".join(lane.name for lane in cycle.lanes)
    if stop - start == cycle.ticks:
        return f"{names} on {numbers.plural(cycle.ticks, 'tick')}"
    return f"{names}, {ticks_shown(cycle.ticks, start, stop)}"


def _falls(cycle: Cycle, start: int, stop: int, lines: Sequence[_Line], groups: OwnGroups) -> str:
    """Say where each lane but home falls in the count, by the words that are written under it."""
    cycle = _pulses(cycle)
    home, said = _home(cycle), []
    for i, lane in enumerate(cycle.lanes):
        strong = set(lane.accents) if 0 < len(lane.accents) < len(lane.onsets) else set()
        if (i == home and not strong) or not len(lane.onsets) or not len(cycle.beats):
            continue
        where = lane_places(cycle, lane.onsets, start, stop)
        if not where:
            said.append(f"the {lane.name} {verb(lane.name, 'has', 'have')} no stroke here")
            continue
        line = next((line for line in lines if i in line.lanes), None)
        told = dict(line.off_beats) if line else {}
        where = {tick: told.get(tick, place) for tick, place in where.items()}
        lost = line.unsaid.keys() if line else set[int]()
        marked = {tick: place for tick, place in where.items() if tick in strong}
        accented = f"accented on {_in_bars(cycle, marked, groups, lost)}" if marked else "not accented here"
        if i == home:
            said.append(f"the {lane.name} {verb(lane.name, 'is', 'are')} {accented}")
            continue
        fall = verb(lane.name, "falls", "fall")
        said.append(f"the {lane.name} {fall} on {_in_bars(cycle, where, groups, lost)}")
        said[-1] += f", {accented}" if strong else ""
    lands = getattr(cycle, "lands", None)
    if lands is not None and start < lands <= stop:
        at = dict(zip([lands], places(cycle, np.array([lands], dtype=np.int64)), strict=False))
        said.append(f"it lands on {'1 as it comes round' if lands == cycle.ticks else _in_bars(cycle, at)}")
    return "; ".join(said)


def _in_words(cycle: Cycle, words: Sequence[str], start: int, stop: int) -> str:
    """Say what is said on the strokes, group by group, and which are accented."""
    starts = within(cycle.beats, start, stop)
    edges = sorted({start, *starts, stop})
    groups = [" ".join(words[tick % len(words)] for tick in range(a, b)).lower() for a, b in pairwise(edges)]
    said = [f"{numbers.plural(len(groups), 'group')}, said {numbers.some(groups)}"]
    for lane in cycle.lanes:
        strong = within(np.array(lane.accents, dtype=np.int64), start, stop)
        if strong == starts:
            said.append("the first stroke of each accented")
        elif strong:
            said.append(f"accented on strokes {numbers.some([tick + 1 for tick in strong])}")
    return "; ".join(said)


def _in_bars(
    cycle: Cycle, where: counts.Beat, groups: OwnGroups = (), lost: Set[int] = frozenset(), most: int = 16
) -> str:
    """Say places, the middle left out of many; several bars one by one, each from 1.

    Those of `lost` ticks are said by their part, for their word is another place of the beat.
    """
    beat_numbers, beats = _beat_numbers(cycle).tolist(), cycle.beats
    first, said = getattr(cycle, "from_bar", 1), []
    for end in numbers.both_ends(list(where.items()), most):
        rows: dict[str, list[str]] = {}
        for tick, place in end:
            bar = int(np.searchsorted(cycle.bars, beats[place.beat - 1], side="right")) + first - 1
            counted = replace(place, beat=beat_numbers[place.beat - 1])
            name = counts.said_in_row(counted, own_row(groups, place.parts), said=tick not in lost)
            rows.setdefault(f"bar {bar}" if bar >= first else f"before bar {first}", []).append(name)
        if len(cycle.bars) < 2:
            said += [", ".join(name for row in rows.values() for name in row)]
        else:
            said.append("; ".join(f"{bar}: {', '.join(row)}" for bar, row in rows.items()))
    unsaid = [where[tick] for tick in where if tick in lost]
    return counts.with_parts(" \N{HORIZONTAL ELLIPSIS} ".join(said), where.values(), groups, unsaid)

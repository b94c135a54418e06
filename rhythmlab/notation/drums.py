"""Grooves, ostinatos, fills and phrases on a drum staff: hands with stems up, feet with stems down.

Places and heads are those of `rhythmlab.playing.percussion`.
"""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise

import numpy as np

from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.feel import OwnGroups, Place, own_row, places
from rhythmlab.core.types import Ticks
from rhythmlab.notation.layout import (
    MOST_BARS,
    MOST_NOTES,
    Bar,
    Note,
    Notehead,
    Sheet,
    Staff,
    Voice,
    beats_key,
    fours,
    heard_key,
    note_sign,
    time_of,
    title_of,
)
from rhythmlab.playing.metre import Bars, Metre, in_fewest, lane_places
from rhythmlab.playing.percussion import Drum, drum
from rhythmlab.playing.sentence import Sentence, sung_at
from rhythmlab.refusal import Refusal
from rhythmlab.text import numbers, sentences
from rhythmlab.text.counts import (
    Beat,
    clash,
    label,
    of_lane,
    part_words,
    said_name,
    told_apart,
    words_aloud,
)
from rhythmlab.text.sentences import say

#: Places for a lane whose own place is taken by another with the same head.
_FREE = ("E5", "D5", "A4", "C5", "G5", "F4", "D4", "B4", "A5", "G4")
#: Lines and spaces of a staff from the bottom, and what is next to it, by steps from the lowest line.
_ON_STAFF = {
    -2: "the first ledger line below",
    -1: "the space below the staff",
    **dict(enumerate(("the bottom line", "the first space", "the second line", "the second space"))),
    **dict(enumerate(("the middle line", "the third space", "the fourth line", "the top space"), 4)),
    **dict(enumerate(("the top line", "the space above the staff", "the first ledger line above"), 8)),
    11: "the space over the first ledger line",
}
#: What a head is called that is not solid.
_HEADS = {"x": "a cross", "diamond": "a diamond", "triangle": "a triangle"}
#: Room that a letter of a count takes where notes are engraved closest, in quarters.
_LETTER = Fraction(1, 4)
#: Longest bar of a phrase, and about how long its bars are where it is longer, in sixteenths.
LONGEST, ABOUT = 32, 16
#: Most ticks of a cycle without a metre.
MOST_TICKS = 100_000


def _check_length(cycle: Cycle, low: int, high: int, bars: int, each: int) -> None:
    """Refuse more bars or strokes than one score holds, with a window that fits."""
    notes = sum(int(((lane.onsets >= low) & (lane.onsets < high)).sum()) for lane in cycle.lanes)
    if bars > MOST_BARS or notes > MOST_NOTES:
        fits = max(1, min(MOST_BARS, bars * MOST_NOTES // max(notes, 1) - 1))
        raise Refusal(
            f"{bars:,} bars with {notes:,} strokes are too many for one score (at most "
            f"{MOST_BARS} bars and {MOST_NOTES:,} strokes); write a window in ticks",
            f"start={low}, stop={low + fits * each}",
        )


def _foot(lane: Lane, found: Drum) -> bool:
    """Whether a foot plays a lane."""
    return "foot" in lane.limb or (found.foot and "hand" not in lane.limb and not lane.hands)


def _drums(cycle: Cycle) -> list[tuple[Drum, str, bool]]:
    """Return the drum, the place and whether a foot plays it, for each lane.

    A drum has one place, also where several lanes play it; lanes that would be taken for each other, another
    drum or two strokes of one at once, stand apart.
    """
    found: list[tuple[Drum, str, bool]] = []
    taken: dict[tuple[str, str], list[tuple[str, bool, Ticks]]] = {}
    for lane in cycle.lanes:
        row = drum(lane.sound, lane.limb)
        foot, place = _foot(lane, row), row.pitch
        there = taken.get((place, row.head), [])
        if any(
            (row.sound, foot) != (sound, who) or np.isin(lane.onsets, onsets).any()
            for sound, who, onsets in there
        ):
            place = next((free for free in _FREE if (free, row.head) not in taken), place)
        taken.setdefault((place, row.head), []).append((row.sound, foot, lane.onsets))
        found.append((row, place, foot))
    return found


def _height(head: Notehead) -> int:
    """Return how high a notehead stands, in steps of the staff."""
    return _steps(head.place)


def _steps(place: str) -> int:
    """Return how many steps a place is above the lowest line."""
    return int(place[1]) * 7 + "CDEFGAB".index(place[0]) - 30


def place_on_staff(place: str) -> str:
    """Say which line or space a place is, given as the pitch in treble reading.

    Examples
    --------
    >>> place_on_staff("F4"), place_on_staff("C5"), place_on_staff("G5"), place_on_staff("A5")
    ('the first space', 'the third space', 'the space above the staff', 'the first ledger line above')
    """
    return _ON_STAFF[_steps(place)]


def _where(row: Drum, place: str) -> str:
    """Say where a drum stands on the staff, and with which head where it is not solid."""
    head = f"{_HEADS[row.head]} " if row.head in _HEADS else ""
    return f"{head}{'in' if _steps(place) % 2 else 'on'} {place_on_staff(place)}"


def _struck(sound: str) -> str:
    """Name what is struck: a lane that has no drum of its own goes on any."""
    return "any drum" if sound == "click" else sound


def key_of(cycle: Cycle, low: int, high: int) -> str:
    """Say which line or space is which drum, from top to bottom, of those that play between two ticks.

    Examples
    --------
    >>> feet, snare = Lane("feet", [0], "right foot", "bass drum"), Lane("snare", [2], sound="snare")
    >>> key_of(Cycle(4, [feet, snare], beats=[0]), 0, 4)
    'Key: snare, in the third space; feet (bass drum), in the first space'
    """
    rows: dict[tuple[int, str, str], list[str]] = {}
    for lane, (row, place, _) in zip(cycle.lanes, _drums(cycle), strict=True):
        if ((lane.onsets >= low) & (lane.onsets < high)).any():
            name, struck = title_of(lane.name) or _struck(row.sound), _struck(row.sound)
            rows.setdefault((-_steps(place), _where(row, place), struck), []).append(name)
    said = []
    for (_, where, sound), names in sorted(rows.items()):
        drum_too = "" if any(sound in name for name in names) else f" ({sound})"
        said.append(f"{sentences.listed(names)}{drum_too}, {where}")
    return f"Key: {numbers.some(said, 12, '; ')}" if said else ""


def _apart(counts: list[tuple[Fraction, bool, str]]) -> bool:
    """Whether counts of feet would stand in those of hands: place in quarters, whether a foot's, count."""
    return any(
        foot != other and b - a < _LETTER * len(count)
        for (a, foot, count), (b, other, _) in pairwise(sorted(counts))
    )


@dataclass(frozen=True, slots=True)
class _Said:
    """What is said under the notes.

    Attributes
    ----------
    words, names : dict
        By tick, and whether a foot plays it: the word, empty where there is none, and the name of its place.
    mixed : bool
        Whether hands and feet have one word for two places of a beat.
    key : str
        How long beats are said.
    spoken : tuple of str
        What is said on each group of a phrase, where that is not its count.
    opening : dict
        By the same, of a beat on which nothing is played: which beat it is, and the word as it stands where
        it is the first of that beat, with its number.
    """

    words: dict[tuple[int, bool], str]
    names: dict[tuple[int, bool], str]
    mixed: bool
    key: str
    spoken: tuple[str, ...] = ()
    opening: dict[tuple[int, bool], tuple[tuple[int, int], str]] = field(default_factory=dict)

    def under(self, line: Iterable[tuple[int, bool]]) -> dict[tuple[int, bool], str]:
        """Return the words of strokes that share a line, the first of each beat with its number."""
        found, begun = {}, set()
        for at in sorted(line):
            found[at] = self.words[at]
            beat, opens = self.opening.get(at, ((0, 0), ""))
            if opens and beat not in begun:
                begun.add(beat)
                found[at] = opens
        return found


def _opened(place: Place, groups: Sequence[int]) -> str:
    """Name a place by its word with the number of its beat, as close as it can stand: "2&", "2 TA"."""
    word = label(place, groups)
    return f"{place.beat}{' ' * (len(word) > 1)}{word}" if word and place.part > 1 else word


def _said(cycle: Cycle, metre: Metre, low: int, high: int, groups: OwnGroups) -> _Said:
    """Return what is said between two ticks of whole bars, by hands and by feet."""
    beats: dict[tuple[bool, int, int], Beat] = {}
    counted = isinstance(cycle, Bars) and cycle.metre == metre
    if metre.grouped and not counted:  # a pattern in its own bar
        counted = getattr(cycle, "metre", None) == metre
    for lane, (_, _, foot) in zip(cycle.lanes, _drums(cycle), strict=True):
        bars: dict[int, Beat] = {}
        inside = lane.onsets[(lane.onsets >= low) & (lane.onsets < high)].tolist()
        known = lane_places(cycle, lane.onsets, low, high) if counted else {}
        for tick in inside:
            bar, place = tick // metre.ticks, in_fewest(metre, tick)
            if counted:  # as in the picture
                place = replace(known[tick], beat=place.beat)
            bars.setdefault(bar, {})[tick] = place
        for bar, strokes in bars.items():
            for tick, place in (strokes if counted else of_lane(strokes)).items():
                beat = beats.setdefault((foot, bar, place.beat), {})
                if tick not in beat or place.parts < beat[tick].parts:
                    beat[tick] = place
    words: dict[tuple[int, bool], str] = {}
    names: dict[tuple[int, bool], str] = {}
    opening: dict[tuple[int, bool], tuple[tuple[int, int], str]] = {}
    every, mixed = [], False
    for (foot, bar, number), beat in beats.items():
        told, unsaid = told_apart(beat, groups)
        other, _ = told_apart(beats.get((not foot, bar, number), {}), groups)
        mixed = mixed or clash((*told.values(), *other.values()), groups)
        every += [*(place for place in told.values() if place.part > 1), *unsaid]
        limbs = (beats.get((limb, bar, number), {}) for limb in (False, True))
        on_beat = any(place.part == 1 for limb in limbs for place in limb.values())
        for tick, rough in beat.items():
            place = told.get(tick, rough)
            own = own_row(groups, place.parts)
            words[tick, foot] = label(place, own) if tick in told else ""
            if tick in told and not on_beat:
                opening[tick, foot] = (bar, number), _opened(place, own)
            names[tick, foot] = said_name(place, own)
    return _Said(words, names, mixed, beats_key(every, groups), opening=opening)


def _in_words(said: _Said, cycle: Cycle, window: tuple[int, int], words: Sequence[str]) -> _Said:
    """Return what is said with these words for the ticks, a stroke named by the group that it is in."""
    if not words:
        return said
    edges = sorted({*window, *(tick for tick in cycle.beats.tolist() if window[0] < tick < window[1])})
    spoken = tuple(" ".join(words[tick % len(words)] for tick in range(a, b)) for a, b in pairwise(edges))
    under = {at: words[at[0] % len(words)] for at in said.words}
    groups = {at: int(np.searchsorted(cycle.beats, at[0], side="right")) for at in said.names}
    names = {at: say("name.in_group", word=under[at], group=group) for at, group in groups.items()}
    return _Said(under, names, False, "", spoken)


def _voices(
    cycle: Cycle,
    low: int,
    high: int,
    quarter: Fraction,
    said: _Said,
    counts: bool,
    hands: bool,
) -> tuple[Voice, ...]:
    """Return a voice for the hands and one for the feet, each where it has a note."""
    rows = _drums(cycle)
    any_hands = hands and any(lane.hands for lane in cycle.lanes)
    at: dict[tuple[int, bool], list[tuple[int, Notehead, str]]] = {}
    for i, (lane, (row, where, foot)) in enumerate(zip(cycle.lanes, rows, strict=True)):
        accents, ghosts = set(lane.accents), set(lane.ghosts)
        for n, tick in enumerate(lane.onsets.tolist()):
            if low <= tick < high:
                head = Notehead(i, where, row.head, tick in accents, tick in ghosts)
                letter = lane.hands[n] if lane.hands else ""
                at.setdefault((tick, foot), []).append((i, head, letter))
    merged = [(tick, foot) for tick, foot in at if not foot or (tick, False) not in at]
    words = said.under(merged)
    apart = counts and (
        said.mixed or _apart([((tick - low) * quarter, foot, words[tick, foot]) for tick, foot in merged])
    )
    if apart:
        words = {
            one: word
            for foot in (False, True)
            for one, word in said.under(one for one in at if one[1] is foot).items()
        }
    voices = []
    for foot in (False, True):
        notes = []
        for tick, who in sorted(at):
            if who is not foot:
                continue
            here = at[tick, foot]
            under = ["".join(letter for _, _, letter in here)] if any_hands else []
            if counts:  # each count once; apart, those of the feet have a line of their own
                once = foot is apart or (tick, not foot) not in at
                under += [*[""] * (apart and foot), words[tick, foot] if once else ""]
            heads = sorted((head for _, head, _ in here), key=_height)
            first = not foot or (tick, False) not in at
            sung = sung_at(cycle, tick) if isinstance(cycle, Sentence) and first else None
            notes.append(Note((tick - low) * quarter, tuple(heads), tuple(under), sung))
        if notes:
            voices.append(Voice(tuple(notes), up=not foot))
    return tuple(voices) or (Voice(()),)


def _staff_text(cycle: Cycle, low: int, high: int, bars: tuple[Bar, ...], said: _Said, each: int) -> str:
    """Say where each lane has its strokes, bar by bar where the bars differ."""
    rows = []
    for lane, (row, place, foot) in zip(cycle.lanes, _drums(cycle), strict=True):
        limb = lane.limb or ("feet" if foot else "hands")
        names = {tick: name for (tick, who), name in said.names.items() if who is foot}
        where = _in_bars(lane.onsets.tolist(), low, high, bars, names, each)
        if said.spoken:
            groups = numbers.plural(len(said.spoken), "group")
            where = f"in {groups}, said {numbers.some(said.spoken).lower()}"
        if 0 < len(lane.accents) < len(lane.onsets):
            first = said.spoken and lane.accents == tuple(cycle.beats.tolist())
            strong = _in_bars(list(lane.accents), low, high, bars, names, each)
            where += "; the first stroke of each accented" if first else f", accents {strong}"
        rows.append(f"{lane.name} ({_struck(lane.sound)}, {_where(row, place)}, {limb}) {where}")
    time = f"{bars[0].top}/{bars[0].bottom}"
    many = numbers.plural(len(bars), "bar")
    return f"Drum staff, {many} of {time}{''.join(f'. {row}' for row in rows)}."


def _in_bars(
    onsets: list[int], low: int, high: int, bars: tuple[Bar, ...], names: dict[int, str], each: int
) -> str:
    """Say where strokes are, once where all bars are alike."""
    by: dict[int, list[str]] = {n: [] for n in range(low // each, -(-high // each))}
    for tick in onsets:
        if low <= tick < high:
            by[tick // each].append(names[tick])
    if len({tuple(row) for row in by.values()}) == 1:
        where = numbers.some(next(iter(by.values())))
        return f"{'in every bar on ' if len(by) > 1 else 'on '}{where or 'nothing'}"
    told = [f"bar {n + bars[0].number - low // each}: {numbers.some(row) or 'none'}" for n, row in by.items()]
    return numbers.some(told, 8, "; ")


def _sheet(
    tempo: str,
    bars: tuple[Bar, ...],
    voices: tuple[Voice, ...],
    cycle: Cycle,
    window: tuple[int, int],
    text: str,
    said: str,
    quarters: Fraction | None,
) -> Sheet:
    """Return the sheet of one drum staff."""
    keys = tuple((lane.name, heard_key(lane.sound, lane.limb, i)) for i, lane in enumerate(cycle.lanes))
    return Sheet(
        tempo,
        bars,
        (Staff("", 5, voices),),
        keys or (("none", 37),),
        window == (0, cycle.ticks),
        f"{text} Say: {cycle.text}." if isinstance(cycle, Sentence) else text,
        key=". ".join(filter(None, (key_of(cycle, *window), said))),
        quarters=quarters,
    )


def in_metre(
    cycle: Cycle,
    metre: Metre,
    bpm: tuple[Fraction, int] | None,
    window: tuple[int, int],
    counts: bool,
    hands: bool,
    groups: OwnGroups = (),
    words: Sequence[str] = (),
) -> Sheet:
    """Write whole bars of a metre on a drum staff.

    Parameters
    ----------
    cycle : Cycle
        A whole number of bars long.
    metre : Metre
        The bar; its ticks are those of the cycle.
    bpm : tuple of Fraction and int, optional
        Beats a minute and ticks to such a beat.
    window : tuple of int
        First and last tick; the bars that it touches are written whole.
    counts, hands : bool
        Whether counts and hands stand under the notes.
    groups : tuple
        The reader's own groups of a beat of five parts or more.
    words : sequence of str
        What is said on the ticks, over and over, in place of the count where there are any.

    Raises
    ------
    ValueError
        If there are too many bars or notes.
    """
    first, last = window[0] // metre.ticks, -(-window[1] // metre.ticks)
    shift = getattr(cycle, "from_bar", 1)
    quarter = Fraction(4, metre.unit * metre.parts)
    lengths = tuple(Fraction(4 * group, metre.unit) for group in metre.groups)
    low, high = first * metre.ticks, last * metre.ticks
    _check_length(cycle, low, high, last - first, metre.ticks)
    bars = tuple(
        Bar(n + shift, (n - first) * sum(lengths, Fraction(0)), lengths, *time_of(lengths, metre))
        for n in range(first, last)
    )
    said = _in_words(_said(cycle, metre, low, high, groups), cycle, (low, high), words)
    voices = _voices(cycle, low, high, quarter, said, counts, hands)
    value = (bpm[1] if bpm else metre.tempo(1).beat_ticks(cycle)) * quarter
    tempo = f"{note_sign(value)}{f' = {numbers.number(bpm[0])}' if bpm else ''}"
    if set(lengths) == {value}:
        tempo += " is the beat"
    else:  # the beats are the groups that are counted, and the tempo is that of a written note
        beats, sizes = numbers.plural(len(lengths), "beat"), numbers.some(metre.groups, 16, "+")
        tempo += f"; {beats} to the bar, {sizes}"
    text, quarters = _staff_text(cycle, low, high, bars, said, metre.ticks), bpm and bpm[0] * value
    return _sheet(tempo, bars, voices, cycle, (low, high), text, said.key if counts else "", quarters)


def groups_of(cycle: Cycle) -> list[tuple[int, int]]:
    """Return first tick and length of each group: the beats, and in fours where they are long.

    Examples
    --------
    >>> groups_of(Cycle(13, [Lane("bell", [0])], beats=[0, 4, 8]))
    [(0, 4), (4, 4), (8, 5)]
    """
    marks = sorted({0, *cycle.beats.tolist(), *cycle.bars.tolist()})
    found = []
    for a, b in pairwise([*marks, cycle.ticks]):
        sizes = (b - a,) if b - a <= ABOUT and len(marks) > 1 else fours(b - a)
        for size in sizes:
            found.append((a, size))
            a += size
    return found


def bars_of(cycle: Cycle, groups: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return first tick and length of each bar written: the cycle's own, cut between groups where long."""
    own, starts = sorted({0, *cycle.bars.tolist()}), [start for start, _ in groups]
    found = []
    for a, b in pairwise([*own, cycle.ticks]):
        begin = a
        if b - a > LONGEST:
            for start, size in groups[bisect_left(starts, a) : bisect_left(starts, b)]:
                if start > begin and start + size - begin > ABOUT:
                    found.append((begin, start - begin))
                    begin = start
        found.append((begin, b - begin))
    return found


def in_groups(
    cycle: Cycle,
    bpm: tuple[Fraction, int] | None,
    window: tuple[int, int],
    counts: bool,
    hands: bool,
    own_groups: OwnGroups = (),
    words: Sequence[str] = (),
) -> Sheet:
    """Write a cycle without a metre: a tick is a sixteenth, its beats are the groups that are beamed.

    Parameters
    ----------
    cycle : Cycle
        Its beats and bars are used.
    bpm : tuple of Fraction and int, optional
        Beats a minute and ticks to such a beat.
    window : tuple of int
        First and last tick; the bars that it touches are written whole.
    counts, hands : bool
        Whether counts and hands stand under the notes.
    groups : tuple
        The reader's own groups of a beat of five parts or more.
    words : sequence of str
        What is said on the ticks, over and over, in place of the count where there are any.

    Raises
    ------
    ValueError
        If there are too many bars or notes.
    """
    if cycle.ticks > MOST_TICKS:
        raise Refusal(
            f"a cycle of {cycle.ticks:,} ticks without a metre is more than the "
            f"{MOST_TICKS:,} sixteenths that are looked through for a score",
            'score(pattern("x..x..x."))',
        )
    groups = groups_of(cycle)
    starts = [start for start, _ in groups]
    ends = [start for start, _ in bars_of(cycle, groups)] + [cycle.ticks]
    rows = [(a, b) for a, b in pairwise(ends) if b > window[0] and a < max(window[1], window[0] + 1)]
    low, high = rows[0][0], rows[-1][1]
    _check_length(cycle, low, high, len(rows), ABOUT)
    own = {0, *cycle.bars.tolist(), cycle.ticks}
    bars = []
    for a, b in rows:
        inside = groups[bisect_left(starts, a) : bisect_left(starts, b)]
        lengths = tuple(Fraction(size, 4) for _, size in inside)
        number = bisect_left(ends, a) + 1
        bars.append(Bar(number, Fraction(a - low, 4), lengths, *time_of(lengths, None), dashed=b not in own))

    said = _in_words(_said_in_groups(cycle, low, high, groups, own_groups), cycle, (low, high), words)
    voices = _voices(cycle, low, high, Fraction(1, 4), said, counts, hands)
    tempo = "A sixteenth is a tick; each beam is a group"
    if bpm:
        value = Fraction(bpm[1], 4)
        sign = note_sign(value)
        if sign == "beat":
            sign, bpm = "sixteenth", (bpm[0] * bpm[1], 1)
        tempo = f"{sign} = {numbers.number(bpm[0])}; each beam is a group"
    text, quarters = (
        _staff_text(cycle, low, high, tuple(bars), said, cycle.ticks),
        bpm and bpm[0] * bpm[1] / 4,
    )
    return _sheet(tempo, tuple(bars), voices, cycle, (low, high), text, said.key if counts else "", quarters)


def _said_in_groups(
    cycle: Cycle, low: int, high: int, groups: list[tuple[int, int]], own_groups: OwnGroups
) -> _Said:
    """Return what is said between two ticks: of a group that is played whole each word as it comes.

    A lane alone is counted in its own beats, as on a handout, also where a long one is beamed in fours.
    """
    alone = cycle.lanes[0].onsets if len(cycle.lanes) == 1 else np.array([], dtype=np.int64)
    counted = dict(zip(alone.tolist(), places(cycle, alone), strict=False))
    if (
        counted
        and cycle.beats[0] == 0
        and all(one.part == 1 or part_words(one.parts, one.longest) for one in counted.values())
    ):
        groups = [(a, b - a) for a, b in pairwise([*cycle.beats.tolist(), cycle.ticks])]
    longest = max(size for _, size in groups)
    played = {tick for lane in cycle.lanes for tick in lane.onsets.tolist() if low <= tick < high}
    words: dict[int, str] = {}
    names: dict[int, str] = {}
    opening: dict[int, tuple[tuple[int, int], str]] = {}
    long: list[Place] = []
    for number, (start, size) in enumerate(groups, 1):
        own, inside = own_row(own_groups, size), range(start, start + size)
        whole = played.issuperset(inside) and bool(part_words(size, longest, own))
        if whole:
            words |= zip(inside, words_aloud(number, size, longest, own), strict=True)
        for tick in sorted(played.intersection(inside)):
            place = Place(number, tick - start + 1, size, longest)
            if not whole and tick in counted and counted[tick].beat == number:
                place = counted[tick]  # in no more parts than all strokes need
            row = own_row(own_groups, place.parts)
            names[tick] = said_name(place, row)
            if not whole:
                words[tick] = label(place, row)
                if start not in played:
                    opening[tick] = (0, number), _opened(place, row)
                long += [place] * (place.part > 1)
    limbs = [(tick, foot) for tick in words for foot in (False, True)]
    by_limb = {(tick, foot): words[tick] for tick, foot in limbs}
    named = {(tick, foot): names[tick] for tick, foot in limbs if tick in names}
    opens = {(tick, foot): opening[tick] for tick, foot in limbs if tick in opening}
    return _Said(by_limb, named, False, beats_key(long, own_groups), opening=opens)

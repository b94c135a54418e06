"""What a picture, a score, a sound or a file is made from: checked once, before any work begins."""

import re
from fractions import Fraction

import numpy as np

from rhythmlab.core.check import FASTEST, SLOWEST, short
from rhythmlab.core.cycle import Cycle, Lane, renamed
from rhythmlab.core.polyrhythm import Polyrhythm, home_or_last
from rhythmlab.core.rhythm import as_rhythm
from rhythmlab.core.tempo import Tempo, tempo_given
from rhythmlab.refusal import Refusal

#: Most lanes of anything that is shown or sounds, and most letters of a name of one and of a title.
MOST_LANES, LONGEST_NAME, LONGEST_TITLE = 64, 1_000, 100_000
#: Most strokes, beats and bars of a cycle that is looked through for a picture, a page or a file.
MOST_STROKES = 1_000_000
#: Most strokes, and most beats and bars, that a picture shows.
MOST_DRAWN = 5_000


def chosen_cycle(
    what: object, tempo: object, home: int | None, call: str, most: int, times: int = 1
) -> tuple[Polyrhythm | Cycle, Cycle, Tempo]:
    """Return what is played, the same as a cycle, and its tempo; refuse more than `most` strokes in all.

    `call` is the name of the function, for the message; the cycle is played `times` times.

    Examples
    --------
    >>> chosen_cycle((3, 2), 72, 0, "midi", 100)[1:]
    (Cycle(6 ticks, beats 0 2 4, lanes '3': 0 2 4, '2': 0 3), Tempo(72, pulse=0))
    """
    example = f"{call}((7, 4), 72"
    found = rhythm(what, "what", f"{example})", most=None)
    if isinstance(found, Cycle) and home is not None:
        raise Refusal(
            f"home={short(home)} is for pulses, and a Cycle has its own beats",
            f"{example}, home=0)",
            argument="home",
        )
    count = times * size_of(found)
    if count > most:
        more = f"{count:,}" if count < 10**15 else "too many"
        raise Refusal(f"{more} strokes are more than {most:,}, the most that {call} takes", f"{example})")
    speed = at_tempo(found, tempo, home, f"{example})")
    return found, found.cycle(home) if isinstance(found, Polyrhythm) else found, speed


def rhythm(what: object, name: str, example: str, *, most: int | None = MOST_STROKES) -> Polyrhythm | Cycle:
    """Return a rhythm whose names can be written; refuse too many lanes or strokes, and too long names.

    `most` is the largest number of strokes, beats and bars; ``None`` where only a window is looked at.

    Examples
    --------
    >>> rhythm((7, 4), "what", "strip((7, 4))")
    Polyrhythm(7, 4)
    """
    found = as_rhythm(what, name, example)
    lanes = len(found.pulses if isinstance(found, Polyrhythm) else found.lanes)
    if lanes > MOST_LANES:
        kind = "pulses" if isinstance(found, Polyrhythm) else "lanes"
        raise Refusal(f"{name} has {lanes:,} {kind}, more than {MOST_LANES}", example, argument=name)
    longest = 0 if isinstance(found, Polyrhythm) else max((len(lane.name) for lane in found.lanes), default=0)
    if longest > LONGEST_NAME:
        raise Refusal(
            f"{name} has a lane with a name of {longest:,} letters, more than {LONGEST_NAME:,}",
            example,
            argument=name,
        )
    if most is not None and size_of(found) > most:
        raise Refusal(
            f"{name} has {size_of(found):,} strokes and beats, more than {most:,}", example, argument=name
        )
    return legible(found)


def cycle(what: object, name: str, example: str, *, most: int | None = MOST_STROKES) -> Cycle:
    """Return what `rhythm` returns, as a cycle.

    Examples
    --------
    >>> cycle((7, 4), "what", "strip((7, 4))").ticks
    28
    """
    found = rhythm(what, name, example, most=most)
    return found.cycle() if isinstance(found, Polyrhythm) else found


def legible(what: Polyrhythm | Cycle) -> Polyrhythm | Cycle:
    """Return a rhythm whose names can be written: half a letter, which no file takes, becomes a sign.

    Examples
    --------
    >>> legible(Cycle(4, [Lane("bell" + chr(0xD800), [0])], beats=[0])).lanes[0].name
    'bell�'
    """
    if isinstance(what, Polyrhythm):
        return what
    rows = what.lanes
    if all(_whole(lane.name) == lane.name and _whole(lane.limb) == lane.limb for lane in rows):
        return what
    lanes = tuple(
        Lane(
            *(_whole(lane.name), lane.onsets, _whole(lane.limb), lane.sound, lane.accents, lane.ghosts),
            lane.hands,
        )
        for lane in rows
    )
    return renamed(what, lanes)


def _whole(text: str) -> str:
    return re.sub("[\ud800-\udfff]", "\N{REPLACEMENT CHARACTER}", text)


def few_drawn(what: Cycle, first: int, last: int) -> None:
    """Refuse a window of ticks with more strokes than a picture shows, and name one that works.

    Examples
    --------
    >>> few_drawn(Polyrhythm(7, 4).cycle(), 0, 28)
    """
    strokes, beats = (
        sum(int(np.diff(np.searchsorted(ticks, (first, last)))[0]) for ticks in rows)
        for rows in ([lane.onsets for lane in what.lanes], [what.beats, what.bars])
    )
    most = max(strokes, beats)
    if most > MOST_DRAWN:
        kind = "strokes" if strokes == most else "beats and bars"
        fits = first + max(1, (last - first) * 100 // most)
        raise Refusal(
            f"ticks {first} to {last} hold {most:,} {kind}, more than the {MOST_DRAWN:,} "
            "that a picture shows; take fewer ticks",
            f"start={first}, stop={fits}",
        )


def heading(value: object, example: str) -> str:
    """Return a title, or refuse what is none.

    Examples
    --------
    >>> heading("Warm-up", "")
    'Warm-up'
    """
    if not isinstance(value, str):
        raise Refusal(f"title={short(value)} is not text", example, argument="title")
    if len(value) > LONGEST_TITLE:
        long = f"has {len(value):,} letters, more than {LONGEST_TITLE:,}"
        raise Refusal(f"title={short(value)} {long}", example, argument="title")
    return value


def at_tempo(what: Polyrhythm | Cycle, tempo: object, home: int | None, example: str) -> Tempo:
    """Return the tempo of a rhythm; a number is beats a minute of home.

    Refused is a tempo at which every pulse has less than 1 or more than 1,000 beats a minute.
    One pulse within these is enough, so that a flip of home is never refused.

    Examples
    --------
    >>> at_tempo(Polyrhythm(7, 4), 72, None, "sound((7, 4), 72)")
    Tempo(72, pulse=1)
    """
    tempo = tempo_given(tempo, what, home, example)
    bpm = home_bpm(what, tempo, home)
    pulses = range(len(what.pulses)) if isinstance(what, Polyrhythm) else ()
    if any(SLOWEST <= one <= FASTEST for one in (bpm, *(tempo.bpm_of(what, i) for i in pulses))):
        return tempo
    of = "its beats"
    if isinstance(what, Polyrhythm):
        of = f"home, the {what.pulses[home_or_last(what, home)]},"
    wrong = f"less than {SLOWEST}" if bpm < SLOWEST else f"more than {FASTEST:,}"
    beats = f"{wrong} beat{'s' * (bpm >= SLOWEST)} a minute"
    raise Refusal(f"tempo={short(tempo)} gives {of} {beats}", example, argument="tempo")


def home_bpm(what: Polyrhythm | Cycle, tempo: Tempo, home: int | None = None) -> Fraction:
    """Return the beats a minute of home: of uneven beats the mean, and without beats those of the tempo.

    Examples
    --------
    >>> home_bpm(Polyrhythm(7, 4), Tempo(126, pulse=0)), home_bpm(Polyrhythm(7, 4), Tempo(72, pulse=1), 0)
    (Fraction(72, 1), Fraction(126, 1))
    """
    if isinstance(what, Polyrhythm):
        return tempo.bpm_of(what, home_or_last(what, home))
    beat = tempo.beat_ticks(what)
    return tempo.bpm * beat * len(what.beats) / what.ticks if len(what.beats) > 1 else tempo.bpm


def size_of(what: Polyrhythm | Cycle) -> int:
    """Return how many strokes a cycle has, or how many beats and bars where those are more.

    Examples
    --------
    >>> size_of(Polyrhythm(7, 4)), size_of(Polyrhythm(7, 4).cycle())
    (11, 11)
    """
    if isinstance(what, Polyrhythm):
        return sum(what.pulses)
    return max(sum(len(lane.onsets) for lane in what.lanes), len(what.beats) + len(what.bars))

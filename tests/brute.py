"""Slow and plain ways to the same answers, with Python's own whole numbers and Fractions."""

from fractions import Fraction

import rhythmlab as rl


def strokes(p: rl.Polyrhythm) -> list[list[int]]:
    """Return the ticks of each pulse: stroke k of n falls at k/n of the cycle."""
    rows = [[Fraction(k, pulse) * p.ticks for k in range(pulse)] for pulse in p.pulses]
    assert all(tick.denominator == 1 for row in rows for tick in row)
    return [[int(tick) for tick in row] for row in rows]


def merged(rows: list[list[int]]) -> tuple[list[int], list[list[bool]]]:
    """Return the ticks where any row sounds, and who sounds there."""
    onsets = sorted(set().union(*rows))
    return onsets, [[tick in row for row in map(set, rows)] for tick in onsets]


def intervals(onsets: list[int], ticks: int) -> list[int]:
    """Return the ticks from each onset to the next round the cycle."""
    following = [*onsets[1:], *(tick + ticks for tick in onsets[:1])]
    return [after - tick for tick, after in zip(onsets, following, strict=True)]


def gaps(p: rl.Polyrhythm, of: int, against: int) -> list[int]:
    """Return stroke minus nearest stroke, looking at every one, round the cycle; midway counts as after."""
    rows = strokes(p)
    others = [tick + turn * p.ticks for turn in (-1, 0, 1) for tick in rows[against]]
    return [
        min((stroke - other for other in others), key=lambda gap: (abs(gap), -gap)) for stroke in rows[of]
    ]


def windowed(step: int, start: int, stop: int) -> list[int]:
    """Return the strokes of one pulse in a window, by Python's whole numbers of any size."""
    return list(range(-(-start // step) * step, stop, step))


#: American counting "1 e & a": Froseth/Eastman comparison page; "1 trip let": common practice, no source.
SYLLABLES = {2: ["&"], 3: ["trip", "let"], 4: ["e", "&", "a"]}


def counted(home: int, other: int) -> list[tuple[int, str]]:
    """Return the beat and the sign of each stroke of `other`, from where it lies as a share of the cycle."""
    parts = Fraction(other, home).numerator  # lcm / home
    found = []
    for k in range(other):
        beat, share = divmod(Fraction(k * home, other), 1)
        part, beat = int(share * parts), beat + 1
        sign = (
            SYLLABLES[parts][part - 1] if part and parts < 5 else f"{beat}.{part + 1}" if part else str(beat)
        )
        found.append((beat, sign))
    return found


#: What opens the groups of a beat after the first: our own choice.
OPENERS = ["ta", "ka", "di", "mi", "ti", "na", "lo", "bu", "sa", "ro", "ho"]


def groups(parts: int) -> list[int]:
    """Return the fours and threes that a beat is said in: the rest last, an even rest as two halves."""
    if parts < 5:
        return [parts]
    if parts % 4 == 2:
        return groups(parts // 2) * 2
    rest = {0: [], 1: [3, 2], 3: [3]}[parts % 4]
    return [4] * ((parts - sum(rest)) // 4) + rest


def word(part: int, parts: int, own: tuple[int, ...] = ()) -> str:
    """Return what is said on a part of a beat after the first, group by group; own groups are up to four."""
    if parts in SYLLABLES:
        return SYLLABLES[parts][part - 2]
    if parts == 6 and not own:  # three in the time of two, twice
        return ["trip", "let", "&", "& trip", "& let"][part - 2]
    opener, left = "", part - 1
    for size, following in zip(own or groups(parts), OPENERS, strict=False):
        if left < size:
            break
        opener, left = following, left - size
    return " ".join(filter(None, [opener, ["", "e", "&", "a"][left]]))


def said(home: int, other: int, own: tuple[int, ...] = ()) -> list[str]:
    """Return what is said for each stroke of `other`, counted from `home`: past 24 parts by its number."""
    parts, found = Fraction(other, home).numerator, []
    for k in range(other):
        beat, share = divmod(Fraction(k * home, other), 1)
        beat, part = beat + 1, int(share * parts) + 1
        if part == 1:
            found.append(str(beat))
        elif parts > 24 and not own:
            found.append(f"part {part} of beat {beat}")
        else:
            found.append(f"{word(part, parts, own)} of {beat}")
    return found


def written(home: int, other: int) -> list[str]:
    """Return how an answer gives the place of each stroke of `other`, counted from `home`."""
    signs = (list(SYLLABLES[parts]) for parts in SYLLABLES)
    syllables = {sign for row in signs for sign in row}
    return [f"{sign} of {beat}" if sign in syllables else sign for beat, sign in counted(home, other)]


def zone(gap: int, step: int, tick_ms: Fraction, flam_ms: int = 40) -> tuple[str, str]:
    """Return the zone of one gap and its side.

    The 40 ms: Danielsen et al. 2026 (as summarised elsewhere).  Alternating is a choice made here: within
    the larger of half a tick and a sixteenth of the beat from exactly midway.
    """
    if not gap:
        return "together", ""
    if Fraction(step, 2) - abs(gap) <= max(Fraction(1, 2), Fraction(step, 16)):
        return "alternating", ""
    # From 100 ms on strokes can be followed one by one (Repp 2006, abstract): apart, a choice made here.
    ms = abs(gap) * tick_ms
    wide = "open flam" if ms < 100 else "apart"
    return "flam" if ms <= flam_ms else wide, "before" if gap < 0 else "after"

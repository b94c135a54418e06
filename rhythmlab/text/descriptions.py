"""What is said of a rhythm: its name, its facts, the line that is heard, its drift, its meetings."""

import re
from fractions import Fraction

from rhythmlab.core.composite import Composite, composite
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.feel import Feel
from rhythmlab.core.gaps import Drift, NearRatio, midway
from rhythmlab.core.nothing_new import nothing_new
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.text.numbers import nth, number, plural, seconds, some, times, word
from rhythmlab.text.sentences import capital, listed, say, sentences


def pair(p: Polyrhythm) -> str:
    """Name a polyrhythm.

    Examples
    --------
    >>> pair(Polyrhythm(7, 4))
    '7 against 4'
    """
    first, *others = map(str, p.pulses)
    for second in others:
        first = say("name.pair", first=first, second=second)
    return first


def cycle_name(c: Cycle, most: int = 6) -> str:
    """Name a cycle by what plays in it, its bars counted where it has more than one.

    Examples
    --------
    >>> from rhythmlab.core.cycle import Lane
    >>> cycle_name(Cycle(8, [Lane("feet", [0, 4]), Lane("fill", [3])], beats=[0, 4], bars=[0, 4]))
    '2 bars of feet and fill'
    >>> cycle_name(Polyrhythm(7, 4).cycle())
    '7 against 4'
    """
    names = [lane.name.strip() for lane in c.lanes if len(lane.onsets)]
    if len(names) > 1 and all(name.isdecimal() for name in names):
        return " against ".join(names[:most])
    known = [name if len(name) <= 40 else f"{name[:39]}…" for name in dict.fromkeys(filter(None, names))]
    if len(known) > most:
        known = [*known[: most - 1], f"{len(known) - most + 1} more"]
    what = listed(known) or ("a rhythm" if names else "rests")
    return f"{plural(len(c.bars), 'bar')} of {what}" if len(c.bars) > 1 else what


def pulse_name(p: Polyrhythm, pulse: int) -> str:
    """Name one pulse.

    Examples
    --------
    >>> pulse_name(Polyrhythm(7, 4), 1), pulse_name(Polyrhythm(7, 7), 1)
    ('the 4', 'the second 7')
    """
    value = p.pulses[pulse]
    if p.pulses.count(value) == 1:
        return say("name.pulse", pulse=value)
    return say("name.nth_pulse", nth=nth(p.pulses[:pulse].count(value)), pulse=value)


def tempo(p: Polyrhythm, t: Tempo, home: int) -> str:
    """Say a tempo in home and in every other pulse.

    Examples
    --------
    >>> tempo(Polyrhythm(7, 4), Tempo(72, pulse=1), home=1)
    '72 bpm of the 4 is 126 bpm of the 7'
    """
    said = [say("tempo.of", bpm=number(t.bpm_of(p, i)), pulse=pulse_name(p, i)) for i in range(len(p.pulses))]
    return say("tempo.is", home=said.pop(home), others=" and ".join(said))


def bpm_text(bpm: Fraction, digits: int = 1) -> str:
    """Write a tempo, a very slow one by its first digit."""
    return number(bpm, digits) if bpm >= Fraction(1, 10) else f"{float(bpm):.1g}"


def about_bpm(bpm: Fraction) -> str:
    """Write a tempo for a room: the nearest whole number, and that it is not quite that; digits below 10.

    Examples
    --------
    >>> about_bpm(Fraction(384, 5)), about_bpm(Fraction(72)), about_bpm(Fraction(5, 4))
    ('about 77', '72', '1.2')
    """
    if bpm < 10:
        return bpm_text(bpm)
    nearest = number(round(bpm))
    return nearest if bpm == round(bpm) else say("tempo.about", bpm=nearest)


def facts(p: Polyrhythm, t: Tempo) -> str:
    """Say how long a polyrhythm is, in ticks, in sounds and in seconds.

    Examples
    --------
    >>> facts(Polyrhythm(7, 4), Tempo(72, pulse=1))
    '28 ticks, 10 sounds, one cycle in 3.3 seconds'
    """
    ticks, sounds = plural(p.ticks, "tick"), plural(len(composite(p)), "sound")
    return say("facts.pair", ticks=ticks, sounds=sounds, seconds=seconds(t.cycle_seconds(p)))


def once_through(p: Polyrhythm) -> str:
    """Name what is played once from one to one: a cycle, or the pair that it repeats.

    Examples
    --------
    >>> once_through(Polyrhythm(7, 4)), once_through(Polyrhythm(12, 8)), once_through(Polyrhythm(5, 5))
    ('one cycle', '3 against 2 once through', 'one beat')
    """
    if p.repeats == 1:
        return say("facts.once")
    return (
        say("facts.once_beat") if max(p.reduced.pulses) == 1 else say("facts.once_pair", pair=pair(p.reduced))
    )


def whole(p: Polyrhythm) -> str:
    """Name all of it from one to one, that something goes into: the cycle, or the pair that it repeats.

    Examples
    --------
    >>> whole(Polyrhythm(13, 8)), whole(Polyrhythm(26, 16))
    ('the cycle', '13 against 8')
    """
    return say("facts.whole") if p.repeats == 1 else pair(p.reduced)


def heard(c: Composite, most: int = 24) -> str:
    """Say the heard line as ticks from sound to sound.

    Examples
    --------
    >>> heard(composite((3, 2)))
    'Heard as one line, in ticks from sound to sound: 2 1 1 2.'
    """
    return say("facts.heard", ticks=some(c.intervals.tolist(), most, " "))


def clapped(p: Polyrhythm, left_handed: bool = False) -> str:
    """Say which hand claps each sound of two pulses: the first pulse is the right hand.

    Examples
    --------
    >>> clapped(Polyrhythm(3, 2)), clapped(Polyrhythm(3, 2), left_handed=True)
    ('together, right, left, right', 'together, left, right, left')
    """
    return ", ".join(claps(p, left_handed))


def claps(p: Polyrhythm, left_handed: bool = False) -> list[str]:
    """Return which hand claps each sound of two pulses, sound by sound.

    Examples
    --------
    >>> claps(Polyrhythm(3, 2))
    ['together', 'right', 'left', 'right']
    """
    first, second = hands_of_two(left_handed)
    said = {(True, True): say("name.together"), (True, False): first, (False, True): second}
    return [said[one, other] for one, other in composite(p).pulses[:, :2].tolist()]


def same_claps(p: Polyrhythm, words: str, left_handed: bool = False) -> str:
    """Return words with the hands of this player, where they name the hand of each sound of two pulses.

    Examples
    --------
    >>> same_claps(Polyrhythm(3, 2), "*Together, right, *left, right", left_handed=True)
    '*Together, left, *right, left'
    >>> same_claps(Polyrhythm(3, 2), "*turn right, *then left", left_handed=True)
    '*turn right, *then left'
    """
    said = re.findall(r"[^\W\d_]+", words.casefold())
    if len(p.pulses) != 2 or not 0 < len(said) < sum(p.pulses) or said != claps(p, not left_handed):
        return words
    swap = dict([hands_of_two(), hands_of_two(True)])
    swap |= {one.capitalize(): other.capitalize() for one, other in swap.items()}
    swap |= {one.upper(): other.upper() for one, other in swap.items()}
    return re.sub(r"[^\W\d_]+", lambda word: swap.get(word[0], word[0]), words)


def hands_of_two(left_handed: bool = False) -> tuple[str, str]:
    """Return the hand of the first pulse and of the second; for left-handed players they are mirrored.

    Examples
    --------
    >>> hands_of_two(), hands_of_two(left_handed=True)
    (('right', 'left'), ('left', 'right'))
    """
    right, left = say("name.right"), say("name.left")
    return (left, right) if left_handed else (right, left)


def common_factor(p: Polyrhythm) -> str:
    """Say how often the pattern repeats and when the pulses meet.

    Examples
    --------
    >>> common_factor(Polyrhythm(6, 4))
    'The pulses share the factor 2, so they meet twice in a cycle, every 6 ticks.'
    >>> common_factor(Polyrhythm(7, 4))
    'The pulses have no common factor: they meet once in a cycle, every 28 ticks.'
    """
    if p.repeats == 1:
        return say("facts.no_factor", ticks=plural(p.ticks, "tick"))
    ticks = plural(p.meet(), "tick")
    return say("facts.factor", factor=p.repeats, times=times(p.repeats), ticks=ticks)


def nothing_new_text(p: Polyrhythm) -> str:
    """Say honestly that a pair teaches nothing new, and name a playable neighbour; else say nothing.

    Examples
    --------
    >>> nothing_new_text(Polyrhythm(1, 5))
    'Every stroke of the 1 falls on a stroke of the 5, so you hear one pulse only: try 2 against 5.'
    >>> nothing_new_text(Polyrhythm(7, 4))
    ''
    """
    found = nothing_new(p)
    if found is None:
        return ""
    neighbour = pair(found.neighbour)
    match found.kind:
        case "same":
            return say("plain.same", pair=neighbour)
        case "doubled":
            return say("plain.doubled", pair=neighbour)
        case "repeats":
            return say("plain.repeats", pair=neighbour, times=times(p.repeats))
    fast = max(p.pulses)
    slow = [say("name.pulse", pulse=pulse) for pulse in dict.fromkeys(p.pulses) if pulse != fast]
    return say("plain.nested", slow=listed(slow), fast=fast, pair=neighbour)


def drifts(d: Drift) -> str:
    """Say which way a pulse drifts against home, and who leads.

    Examples
    --------
    >>> from rhythmlab.core.gaps import drift
    >>> drifts(drift((16, 15), of=0, against=1))
    'The 16 comes one tick earlier at each beat of the 15 and leads the flam until the middle; then \
the 15 leads. Beat 1 holds two strokes of the 16.'
    """
    p = d.polyrhythm
    of, home = pulse_name(p, d.of), pulse_name(p, d.home)
    moving = capital(of)
    if not d.per_stroke:
        return say("drift.none", moving=moving, home=home)
    by = abs(d.per_stroke)
    if 2 * by == p.step(d.home):
        return sentences(say("drift.by_turns", moving=moving, home=home), *_beats_text(d, of))
    ticks = say("drift.one_tick") if by == 1 else plural(by, "tick")
    early, each_beat = d.direction == "earlier", bool(d.doubled or d.empty)
    if each_beat:
        key = "drift.earlier_each_beat" if early else "drift.later_each_beat"
    else:
        key = "drift.earlier_each_stroke" if early else "drift.later_each_stroke"
    comes = say(key, moving=moving, ticks=ticks, home=home)
    if not (d.leads and each_beat):
        text = say("drift.no_lead", comes=comes)
    elif d.leads[0] == d.of:
        text = say("drift.it_leads", comes=comes, then=pulse_name(p, d.leads[1]))
    else:
        text = say("drift.home_leads", comes=comes, home=home, then=pulse_name(p, d.leads[1]))
    return sentences(text, *_beats_text(d, of))


def _beats_text(d: Drift, pulse: str) -> list[str]:
    said = []
    if d.doubled:
        two = "drift.doubled.one" if len(d.doubled) == 1 else "drift.doubled.other"
        said.append(say(two, beats=some(d.doubled, 6), moving=pulse))
    if d.empty:
        none = "drift.empty.one" if len(d.empty) == 1 else "drift.empty.other"
        said.append(say(none, beats=some(d.empty, 6)))
    return said


def midway_place(feel: Feel, pulse: int) -> str:
    """Say where the stroke that is exactly midway falls, or that there is none.

    Examples
    --------
    >>> midway_place(Feel(Polyrhythm(16, 15), home=1), pulse=0)
    'One stroke of the 16 is exactly midway, on the & of 8.'
    """
    p = feel.polyrhythm
    name, repeats = pulse_name(p, pulse), p.ticks // p.meet(pulse, feel.home)
    tick = midway(p, pulse, feel.home)
    if tick is not None:
        beat = tick // feel.beat_ticks + 1
        if repeats == 1:
            return say("midway.stroke", moving=name, beat=beat)
        return say("midway.stroke_each", moving=name, beat=beat, repeats=repeats)
    tick = midway(p, feel.home, pulse)
    if tick is not None:
        if repeats == 1:
            return say("midway.beat", moving=name, beat=tick // feel.beat_ticks + 1)
        return say("midway.beat_each", moving=name, repeats=repeats)
    return say("midway.odd" if repeats == 1 else "midway.odd_in_lowest")


def slips(p: Polyrhythm, ratio: NearRatio, first: int = 0, second: int = 1) -> str:
    """Say how a pair slips around a simple ratio.

    Examples
    --------
    >>> from rhythmlab.core.gaps import near_ratios
    >>> slips(Polyrhythm(16, 11), near_ratios((16, 11))[1])
    'Around 3 against 2: three steps of the 16 are 1 tick longer than two of the 11, so it opens and \
closes once a cycle.'
    """
    if not ratio.slip:
        return say("slip.itself", h=ratio.h, k=ratio.k)
    if ratio.slip > 0:
        key = "slip.longer.one" if ratio.h == 1 else "slip.longer.other"
    else:
        key = "slip.shorter.one" if ratio.h == 1 else "slip.shorter.other"
    steps, others = word(ratio.h), word(ratio.k)
    return say(
        key,
        h=ratio.h,
        k=ratio.k,
        steps=steps,
        others=others,
        first=pulse_name(p, first),
        second=pulse_name(p, second),
        ticks=plural(abs(ratio.slip), "tick"),
        times=times(ratio.opens),
    )


def pivot(p: Polyrhythm, t: Tempo, old: int, new: int) -> str:
    """Say the metric modulation that makes another pulse the beat, with its pivot named.

    Examples
    --------
    >>> pivot(Polyrhythm(3, 2), Tempo(84, pulse=1), old=1, new=0)
    'To make the 3 the new beat (a metric modulation) its stroke is the pivot and keeps its length: \
84 bpm becomes 126.'
    """
    before, after = number(t.bpm_of(p, old)), number(t.bpm_of(p, new))
    return say("facts.pivot", pulse=pulse_name(p, new), before=before, after=after)

"""Counts, sentences and names: what the pages, the pictures and the text alternatives say.

The sentences themselves are templates in ``data/sentences.json``.

With 2, 3 or 4 parts to a beat a stroke is counted with a syllable; from 5 parts on it is counted as
"beat.part", so that no numeral is both a beat and a part.
"""

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction

from rhythmlab.core.composite import Composite, composite
from rhythmlab.core.feel import Feel, Place
from rhythmlab.core.gaps import Drift, NearRatio, midway
from rhythmlab.core.plain import Plain, plain
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.sentences import form, say, templates

#: Parts of a beat after the first: American counting for 2 and 4 (Froseth/Eastman comparison page,
#: key froseth_counting); for 3, common practice, no source.
SYLLABLES = {1: (), 2: ("&",), 3: ("trip", "let"), 4: ("e", "&", "a")}
_PLURALS = {"box": "boxes", "reply": "replies"}
_ORDINALS = (
    *("first", "second", "third", "fourth", "fifth", "sixth"),
    *("seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth"),
)


def number(value: Fraction | float, digits: int = 2, *, between: str = "\N{NO-BREAK SPACE}") -> str:
    """Write a number with at most so many decimals, and no more than it needs.

    A number that is not 0 is not written as 0 where two decimals or more are allowed.
    What stands between thousands is left out where the number is to be typed again.

    Examples
    --------
    >>> number(Fraction(384, 5)), number(126), number(Fraction(400, 3)), number(Fraction(1, 300))
    ('76.8', '126', '133.33', '0.0033')
    >>> number(Fraction(10_000, 3), between="")
    '3333.33'
    """
    exact = float(value)
    if digits > 1 and 0 < abs(exact) < 0.5 * 0.1**digits:
        digits = 1 - math.floor(math.log10(abs(exact)))
    text = f"{exact:,.{digits}f}".replace(",", between)
    return text.rstrip("0").rstrip(".") if "." in text else text


def seconds(value: Fraction | float) -> str:
    """Write a time in seconds.

    Examples
    --------
    >>> seconds(Fraction(10, 3)), seconds(1), seconds(Fraction(1, 20))
    ('3.3 seconds', '1 second', '0.05 seconds')
    """
    text = number(value, 1 if value >= 1 else 2)
    return say("counted.second.one" if text == "1" else "counted.second.other", count=text)


def times(count: int) -> str:
    """Write how often.

    Examples
    --------
    >>> times(2), times(12)
    ('twice', '12 times')
    """
    return templates().get(f"times.{count}") or say("times.more", count=number(count))


def nth(index: int) -> str:
    """Write which one of several, counted from 0.

    Examples
    --------
    >>> nth(0), nth(3), nth(11), nth(20)
    ('first', 'fourth', '12th', '21st')
    """
    if index < 8:
        return _ORDINALS[index]
    teens, last = (index + 1) % 100 // 10 == 1, (index + 1) % 10
    return f"{index + 1}{'th' if teens else {1: 'st', 2: 'nd', 3: 'rd'}.get(last, 'th')}"


def share_name(parts: int) -> str:
    """Name one of so many equal parts.

    Examples
    --------
    >>> share_name(3), share_name(12), share_name(13)
    ('third', 'twelfth', '1/13')
    """
    return _ORDINALS[parts - 1] if 2 < parts <= len(_ORDINALS) else f"1/{parts}"


def plural(count: int | Fraction, word: str) -> str:
    """Write a count with its word.

    Examples
    --------
    >>> plural(1, "sound"), plural(10, "sound"), plural(2, "box"), plural(100, "bpm")
    ('1 sound', '10 sounds', '2 boxes', '100 bpm')
    """
    if f"counted.{word}.one" in templates():
        return say(f"counted.{word}.{form(count)}", count=number(count))
    same = count == 1 or word in ("bpm", "ms")
    return f"{number(count)} {word if same else _PLURALS.get(word, f'{word}s')}"


def some(items: Iterable[object], most: int = 16, joint: str = ", ") -> str:
    """Write a list, the middle left out where it is long.

    Examples
    --------
    >>> some(range(30), most=6)
    '0, 1, 2 … 27, 28, 29'
    """
    texts = [str(item) for item in items]
    if len(texts) <= most:
        return joint.join(texts)
    return f"{joint.join(texts[: most // 2])} … {joint.join(texts[-(most // 2) :])}"


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


def mark(place: Place) -> str:
    """Write a place as it stands in a picture: short, since the beat is seen.

    Examples
    --------
    >>> mark(Place(2, 1, 4)), mark(Place(2, 4, 4)), mark(Place(2, 6, 7))
    ('2', 'a', '2.6')
    """
    if place.part == 1:
        return str(place.beat)
    if place.parts in SYLLABLES:
        return SYLLABLES[place.parts][place.part - 2]
    return f"{place.beat}.{place.part}"


def place_name(place: Place) -> str:
    """Write a place as it is said.

    Examples
    --------
    >>> place_name(Place(2, 4, 4)), place_name(Place(2, 6, 7))
    ('a of 2', '2.6')
    """
    if has_syllable(place):
        return say("name.part", part=mark(place), beat=place.beat)
    return mark(place)


def has_syllable(place: Place) -> bool:
    """Whether a place is counted with a syllable of its beat.

    Examples
    --------
    >>> has_syllable(Place(2, 4, 4)), has_syllable(Place(2, 1, 4)), has_syllable(Place(2, 6, 7))
    (True, False, False)
    """
    return place.part > 1 and place.parts in SYLLABLES


def tempo(p: Polyrhythm, t: Tempo, home: int) -> str:
    """Say a tempo in home and in every other pulse.

    Examples
    --------
    >>> tempo(Polyrhythm(7, 4), Tempo(72, pulse=1), home=1)
    '72 bpm of the 4 is 126 bpm of the 7'
    """
    said = [say("tempo.of", bpm=number(t.bpm_of(p, i)), pulse=pulse_name(p, i)) for i in range(len(p.pulses))]
    return say("tempo.is", home=said.pop(home), others=" and ".join(said))


def facts(p: Polyrhythm, t: Tempo) -> str:
    """Say how long a polyrhythm is, in ticks, in sounds and in seconds.

    Examples
    --------
    >>> facts(Polyrhythm(7, 4), Tempo(72, pulse=1))
    '28 ticks, 10 sounds, one cycle in 3.3 seconds'
    """
    ticks, sounds = plural(p.ticks, "tick"), plural(len(composite(p)), "sound")
    return say("facts.pair", ticks=ticks, sounds=sounds, seconds=seconds(t.cycle_seconds(p)))


def count(feel: Feel, most: int = 16) -> str:
    """Say where each other pulse falls when counted from home.

    Examples
    --------
    >>> count(Feel(Polyrhythm(7, 4), home=0))
    'Counted from the 7, the 4 falls on 1, a of 2, & of 4, e of 6.'
    """
    home = pulse_name(feel.polyrhythm, feel.home)
    return say("count.from", home=home, falls=falls(feel, most))


def falls(feel: Feel, most: int = 16, *, short: bool = False) -> str:
    """Say where each other pulse falls, where it is known what is counted from.

    Parameters
    ----------
    feel : Feel
        What is counted, and from where.
    most : int
        Of a longer row of places the middle is left out.
    short : bool
        Whether to leave out the verb.

    Examples
    --------
    >>> falls(Feel(Polyrhythm(7, 4), home=0), short=True)
    'the 4 on 1, a of 2, & of 4, e of 6'
    """
    p = feel.polyrhythm
    said = []
    for i in range(len(p.pulses)):
        if i == feel.home:
            continue
        pulse, places = pulse_name(p, i), some(map(place_name, feel.places(i)), most)
        parts = feel.parts(i)
        if parts in SYLLABLES:
            said.append(say("count.on" if short else "count.falls", pulse=pulse, places=places))
        else:
            key = "count.on_in_parts" if short else "count.falls_in_parts"
            said.append(say(key, pulse=pulse, places=places, parts=parts))
    return "; ".join(said)


def heard(c: Composite, most: int = 24) -> str:
    """Say the heard line as ticks from sound to sound.

    Examples
    --------
    >>> heard(composite((3, 2)))
    'Heard as one line, in ticks from sound to sound: 2 1 1 2.'
    """
    return say("facts.heard", ticks=some(c.intervals.tolist(), most, " "))


def clapped(p: Polyrhythm) -> str:
    """Say which hand claps each sound of two pulses: the first pulse is the right hand.

    Examples
    --------
    >>> clapped(Polyrhythm(3, 2))
    'together, right, left, right'
    """
    return ", ".join(claps(p))


def claps(p: Polyrhythm) -> list[str]:
    """Return which hand claps each sound of two pulses, sound by sound.

    Examples
    --------
    >>> claps(Polyrhythm(3, 2))
    ['together', 'right', 'left', 'right']
    """
    hands = {
        (True, True): say("name.together"),
        (True, False): say("name.right"),
        (False, True): say("name.left"),
    }
    return [hands[right, left] for right, left in composite(p).pulses[:, :2].tolist()]


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


def nothing_new(p: Polyrhythm) -> str:
    """Say honestly that a pair teaches nothing new, and name a playable neighbour; else say nothing.

    Examples
    --------
    >>> nothing_new(Polyrhythm(1, 5))
    'Every stroke of the 1 falls on a stroke of the 5, so you hear one pulse only: try 2 against 5.'
    >>> nothing_new(Polyrhythm(7, 4))
    ''
    """
    found: Plain | None = plain(p)
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
        return sentences(say("drift.by_turns", moving=moving, home=home), *_beats_said(d, of))
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
    return sentences(text, *_beats_said(d, of))


def _beats_said(d: Drift, moving: str) -> list[str]:
    said = []
    if d.doubled:
        two = "drift.doubled.one" if len(d.doubled) == 1 else "drift.doubled.other"
        said.append(say(two, beats=some(d.doubled, 6), moving=moving))
    if d.empty:
        none = "drift.empty.one" if len(d.empty) == 1 else "drift.empty.other"
        said.append(say(none, beats=some(d.empty, 6)))
    return said


def midway_place(feel: Feel, moving: int) -> str:
    """Say where the stroke that is exactly midway falls, or that there is none.

    Examples
    --------
    >>> midway_place(Feel(Polyrhythm(16, 15), home=1), moving=0)
    'One stroke of the 16 is exactly midway, on the & of 8.'
    """
    p = feel.polyrhythm
    name, repeats = pulse_name(p, moving), p.ticks // p.meet(moving, feel.home)
    tick = midway(p, moving, feel.home)
    if tick is not None:
        beat = tick // feel.beat_ticks + 1
        if repeats == 1:
            return say("midway.stroke", moving=name, beat=beat)
        return say("midway.stroke_each", moving=name, beat=beat, repeats=repeats)
    tick = midway(p, feel.home, moving)
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
    steps, others = (templates().get(f"small.{n}", str(n)) for n in (ratio.h, ratio.k))
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


def capital(text: str) -> str:
    """Return a text with its first letter capital, and the rest as it is.

    Examples
    --------
    >>> capital("the 7 in 7/8 as A")
    'The 7 in 7/8 as A'
    """
    return f"{text[:1].upper()}{text[1:]}"


def sentences(*texts: str) -> str:
    """Join sentences, leaving out the empty ones."""
    return " ".join(text for text in texts if text)


class Lines(list[str]):
    """Sentences that print one a line."""

    def __repr__(self) -> str:
        return "\n".join(self)


def listed(texts: Sequence[str]) -> str:
    """Join words as a person would.

    Examples
    --------
    >>> listed(["flam", "open flam", "alternating"])
    'flam, open flam and alternating'
    """
    return " and ".join(filter(None, [", ".join(texts[:-1]), *texts[-1:]]))

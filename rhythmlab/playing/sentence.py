"""A sentence of one's own, said on the line that is heard: one syllable a sound.

It is typed as it is said: a hyphen between the syllables of a word, a star before a syllable with stress, as
in ``"*low *tide com-ing *in"``; where there is no star, syllables in capitals have stress.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from rhythmlab.core.check import few_enough, short, whole
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, counted_as
from rhythmlab.core.display import Printed
from rhythmlab.core.feel import Groups, OwnGroups, groups_for, own_row, places
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm, polyrhythm_and_home
from rhythmlab.refusal import Refusal
from rhythmlab.text import counts, descriptions, numbers, syllables
from rhythmlab.text.sentences import listed, say, sentences

#: Longest sentence, in characters, most sounds that it is laid on, and longest syllable.
MOST_CHARACTERS, MOST_SOUNDS, LONGEST_SYLLABLE = 2000, 200, 20
#: Longest part of a sentence that stands whole on one line of a handout, in characters.
LONGEST_LINE = 56
_EXAMPLE = 'playing.sentence((3, 2), "*hear the *sea bells")'
#: Sentences of ours: beats of home and strokes of the other pulse -> what is said on the line of both.
_BY_THE_SEA = {
    (2, 3): "*hear the *har-bour",
    (3, 2): "*tide *rolls in *slow",
    (3, 4): "*waves that *knock the *har-bour",
    (4, 3): "*grey *gulls a-*bove the *bay",
    (4, 5): "*ropes are *creak-ing *by the *har-bour",
    (5, 4): "*fog-*horn and *bell and *oar and *tide",
    (4, 7): "*boats will *come to the *quay when the *tide turns",
    (7, 4): "*nets *dry on *warm *stones, the *wind *lifts the *foam",
}
_STRESS, _SAID_LOUD, _HYPHENS = (
    "*",
    "\N{MODIFIER LETTER VERTICAL LINE}",
    "-\N{HYPHEN}\N{NON-BREAKING HYPHEN}\N{SOFT HYPHEN}",
)
#: What parts two words without a space between them.
_PARTED = re.compile(r"(?<=[^\W_])([,;:.!?/|…\N{EN DASH}\N{EM DASH}、。，؛،।]+)(?=[^\W\d_]|\*)")


@dataclass(frozen=True, slots=True)
class Syllable:
    """One syllable of a sentence.

    Attributes
    ----------
    text : str
        As it is typed, without its star; without stress in small letters, as capitals are the sign of it.
    stressed : bool
        Whether it had a star.
    goes_on : bool
        Whether the next syllable belongs to the same word.
    """

    text: str
    stressed: bool
    goes_on: bool

    def __str__(self) -> str:
        return f"{self.text}-" if self.goes_on else self.text


@public_class(_EXAMPLE, at=f"{_EXAMPLE}.at(2)")
@dataclass(frozen=True, slots=True, init=False, eq=False, repr=False)
class Sentence(Printed, Cycle):
    """Pulses with a sentence said on them, one syllable a sound.

    A `Cycle`: it is drawn, sounded, written down and handed out as any other, with its syllables.

    Attributes
    ----------
    syllables : tuple of Syllable
        One a sound of the line that is heard, in order.
    home : int
        Index of the pulse that it is said from.
    better_home : int or None
        Another pulse that the stresses fit better; ``None`` where none does.
    """

    syllables: tuple[Syllable, ...]
    home: int
    better_home: int | None
    _how: tuple[str, ...]

    def at(self, tick: int) -> str:
        """Return the syllable said on a tick, with a hyphen where its word goes on; empty between two.

        Examples
        --------
        >>> sentence((3, 2), "*hear the *har-bour").at(2)
        'the'
        """
        tick = whole(tick, "tick", f"{_EXAMPLE}.at(2)", least=0)
        sounds = composite(self).onsets
        found = int(np.searchsorted(sounds, tick))
        return str(self.syllables[found]) if found < len(sounds) and sounds[found] == tick else ""

    @property
    def polyrhythm(self) -> Polyrhythm:
        """The pulses that it is said on."""
        return Polyrhythm(*(len(lane.onsets) for lane in self.lanes))

    @property
    def text(self) -> str:
        """The sentence, syllables with stress in capitals, or after a sign of stress where there are none."""
        return _written(self.syllables)

    @property
    def remarks(self) -> tuple[str, ...]:
        """How its words were split, where not by hand, and what its stresses ask for, in sentences."""
        return (*self._how, *self._of_stresses())

    def _of_stresses(self) -> tuple[str, ...]:
        """Say where a stress is missing, and which home they fit better."""
        p = self.polyrhythm
        stressed = [one.stressed for one in self.syllables]
        if not any(stressed):
            return (say("sentence.no_stress"),)
        line = composite(self)
        missing = [
            str(self.syllables[i].text)
            for i in np.flatnonzero(line.pulses.all(axis=1)).tolist()
            if not stressed[i]
        ]
        told = (
            [say("sentence.together", syllables=listed([f"“{one}”" for one in missing]))] if missing else []
        )
        where = line.pulses[:, self.home] & ~line.pulses.all(axis=1) & ~np.array(stressed)
        beats = [
            say("sentence.on_beat", syllable=one.text, beat=int(np.searchsorted(self.beats, tick)) + 1)
            for one, tick, bare in zip(self.syllables, line.onsets.tolist(), where.tolist(), strict=True)
            if bare
        ]
        if self.better_home is not None:
            other, own = (_stresses_on(line.pulses, stressed, i) for i in (self.better_home, self.home))
            pulse, home = (descriptions.pulse_name(p, i) for i in (self.better_home, self.home))
            falls = _falls(pulse, other, sum(stressed))
            shared = line.pulses[:, [self.better_home, self.home]].all(axis=1) & np.array(stressed)
            both = f" ({say('sentence.counts_for_both')})" if shared.any() else ""
            told.append(
                say("sentence.better_home", falls=falls, pulse=pulse, home=home, own=own or "none", both=both)
            )
        elif beats:
            home = descriptions.pulse_name(p, self.home)
            bare = "sentence.beats.one" if len(beats) == 1 else "sentence.beats.other"
            told.append(say(bare, home=home, beats=numbers.some(beats, 6)))
        return tuple(told)

    def __str__(self) -> str:
        home = descriptions.pulse_name(self.polyrhythm, self.home)
        fits = "" if self._of_stresses() else say("sentence.fits", home=home)
        return sentences(say("sentence.said", sentence=self.text), *self.remarks, fits)


@public(_EXAMPLE)
def sentence(what: Rhythm, text: str, *, home: int | None = None, groups: Groups = ()) -> Sentence:
    """Lay a sentence on the line that is heard, one syllable a sound.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Two or more pulses.
    text : str
        The sentence, hyphens between the syllables of a word and a star before each syllable with stress;
        without any star, syllables in capitals are stressed.
        Where its hyphens do not come to the number of sounds, English words without one are split as a
        dictionary counts them, which the `remarks` say; a word that was split by hand stays so.
    home : int, optional
        Index of the pulse that is felt as the beat; the last one when left out.
    groups : str or sequence of int
        How a beat of five parts or more is said, as for `Feel`: sounds without a syllable are named so.

    Returns
    -------
    Sentence
        A `Cycle` with the syllables; its `remarks` say which words were split, where a stress is missing,
        and which home it fits.

    Raises
    ------
    ValueError
        If it has more or fewer syllables than there are sounds, which are said by number and place, or a
        word that is not split for certain.

    Examples
    --------
    >>> bells = sentence((3, 2), "*hear the *har-bour")
    >>> bells.at(0), bells.at(3), bells.at(1)
    ('hear', 'har-', '')
    >>> print(bells)
    HEAR the HAR-bour. It fits: one syllable for each sound, and a stress on each beat of the 2.
    """
    p, at = polyrhythm_and_home(what, home, "what", _EXAMPLE)
    few_enough(sum(p.pulses), 0, p.ticks, f"composite({p}, ", 2 * MOST_SOUNDS)
    cycle = p.cycle(at)
    line = composite(cycle)
    if len(line) > MOST_SOUNDS:
        raise Refusal(f"what={short(p)} has {len(line)} sounds, more than {MOST_SOUNDS}", _EXAMPLE)
    example = _example(p, at)
    own = groups_for(p, groups, f'{_EXAMPLE[:-1]}, groups="2+3")')
    parts, how = _fitted(_words(text, example), p, at, _STRESS not in text, example, own)
    stressed = [one.stressed for one in parts]
    on = [_stresses_on(line.pulses, stressed, i) for i in range(len(p.pulses))]
    best = max(range(len(p.pulses)), key=lambda i: (on[i], i == at))
    better = best if on[best] > on[at] < p.pulses[at] else None
    made = Sentence.__new__(Sentence)
    Cycle.__init__(made, cycle.ticks, cycle.lanes, beats=cycle.beats)
    counted_as(made, cycle)
    fields = {"syllables": parts, "home": at, "better_home": better, "_how": how}
    for field, value in fields.items():
        object.__setattr__(made, field, value)
    return made


def _stresses_on(who: np.ndarray, stressed: list[bool], pulse: int) -> int:
    """Return how many stresses fall on a pulse."""
    return int(np.count_nonzero(who[:, pulse] & np.array(stressed)))


def _falls(pulse: str, on: int, stresses: int) -> str:
    """Say how many of the stresses fall on a pulse."""
    if on < stresses:
        return say("sentence.some_stresses", other=on, stresses=stresses, pulse=pulse)
    if stresses == 1:
        return say("sentence.only_stress", pulse=pulse)
    if stresses == 2:
        return say("sentence.both_stresses", pulse=pulse)
    return say("sentence.all_stresses", stresses=stresses, pulse=pulse)


# What was typed


def one_of_ours(p: Polyrhythm, home: int) -> str:
    """Return a sentence of ours that fits a pair from its home; empty where there is none.

    Examples
    --------
    >>> one_of_ours(Polyrhythm(4, 3), 1), one_of_ours(Polyrhythm(9, 8), 1)
    ('*waves that *knock the *har-bour', '')
    """
    beats = p.pulses[home]
    return _BY_THE_SEA.get((beats, sum(p.pulses) - beats), "") if len(p.pulses) == 2 else ""


def _example(p: Polyrhythm, home: int) -> str:
    """Return a call with a sentence that fits, or one of 3 against 2 where there is none of ours."""
    said = one_of_ours(p, home)
    which = "" if home == len(p.pulses) - 1 else f", home={home}"
    return f'playing.sentence({p.pulses}, "{said}"{which})' if said else _EXAMPLE


def _words(text: object, example: str) -> list[list[tuple[str, bool]]]:
    """Return the words of a sentence, each as syllables with whether they are stressed."""
    if not isinstance(text, str):
        raise Refusal(f"text={short(text)} is not a sentence in quotes", example, argument="text")
    if len(text) > MOST_CHARACTERS:
        raise Refusal(
            f"text has {len(text):,} characters, more than {MOST_CHARACTERS:,}", example, argument="text"
        )
    said = unicodedata.normalize("NFC", text).replace("\N{SOFT HYPHEN}", "-")
    strange = next(
        (
            one
            for one in said
            if unicodedata.category(one) in ("Cc", "Cf", "Cs", "Co", "Cn", "So")
            and one not in "\t\n\r\N{ZERO WIDTH JOINER}\N{ZERO WIDTH NON-JOINER}"
        ),
        None,
    )
    if strange is not None:
        raise Refusal(f"text holds a sign that cannot be said, {short(strange)}", example, argument="text")
    words: list[list[tuple[str, bool]]] = []
    said = _PARTED.sub(r"\1 ", re.sub(f"[{_HYPHENS}]", "-", said))
    for word in re.sub(r"(?<=[^\s*-])\*", "-*", said).split():
        found = [(one.replace(_STRESS, ""), _STRESS in one) for one in word.split("-")]
        found = [(one, stress) for one, stress in found if any(map(str.isalnum, one))]
        if found:
            words.append(found)
    if _STRESS not in said:
        words = _by_capitals(words)
    longest = max((one for word in words for one, _ in word), key=len, default="")
    if len(longest) > LONGEST_SYLLABLE and not (syllables.split(longest) or [])[1:]:
        raise Refusal(
            f"text has a syllable of {len(longest)} letters, {short(longest)}; put hyphens between syllables",
            example,
            argument="text",
        )
    if not words:
        raise Refusal(f"text={short(text)} has no syllable to say", example, argument="text")
    return words


def _by_capitals(words: list[list[tuple[str, bool]]]) -> list[list[tuple[str, bool]]]:
    """Return words with stress on syllables of two letters or more in capitals; none where all are."""
    every = [one for word in words for one, _ in word]
    loud = [one for one in every if one.isupper() and sum(map(str.isalpha, one)) > 1]
    if not loud or all(one.upper() == one for one in every):
        return words
    return [[(one, one in loud) for one, _ in word] for word in words]


def _quiet(part: str) -> str:
    """Write a part without stress: in small letters where it is in capitals, but for a single one, as I."""
    return part.lower() if part.isupper() and sum(map(str.isalpha, part)) > 1 else part


def _louder(part: str, word: str) -> bool:
    """Whether a part of a word is in capitals, and the word is not."""
    return part.isupper() and not word.isupper() and sum(map(str.isalpha, part)) > 1


def _fitted(
    words: list[list[tuple[str, bool]]],
    p: Polyrhythm,
    home: int,
    capitals: bool,
    example: str,
    groups: OwnGroups,
) -> tuple[tuple[Syllable, ...], tuple[str, ...]]:
    """Return as many syllables as there are sounds, with what is to be said of how they were found.

    Words are as they were split by hand, or else as a dictionary counts them; others are refused.
    Where stress is in `capitals`, HARbour has it on its first part.
    """
    by_hand = list(_syllables(words))
    sounds = len(composite(p))
    if len(by_hand) == sounds:
        hands = say("name.together")  # what both hands do at once is one clap
        longer = [
            one for one in _unsplit(words) if min(syllables.how_many(one), default=1) > 1 and one != hands
        ]
        return tuple(by_hand), (_one_sound_each(longer),) if longer else ()
    unsure = next((one for one in _unsplit(words) if _is_unsure(one)), "")
    split = [
        [
            (part, (stress and i == 0) or (capitals and _louder(part, one)))
            for i, part in enumerate(syllables.split(one) or [one])
        ]
        if len(word) == 1
        else word
        for word in words
        for one, stress in word[:1]
    ]
    found = list(_syllables(split))
    shown = str if capitals else _quiet
    ours = ["-".join(map(shown, syllables.split(one) or [one])) for one in _unsplit(words)]
    ours = [one for one in ours if "-" in one]
    if unsure and len(found) <= sounds:  # else there are too many, whatever they are split into
        raise Refusal(_ask_for_hyphens(unsure), example, argument="text")
    if len(found) == sounds:
        return tuple(found), (say("sentence.split", words=numbers.some(ours, 6)),)
    wrong = _how_many(found, p, home, groups)
    if ours:
        wrong += f"; {say('sentence.as_split', word=ours[0])}"
    elif len(found) < sounds:  # a word that may have more syllables than it was read with
        foreign = (
            one
            for one in _unsplit(words)
            if sum(map(str.isalpha, one)) > 1 and not one.isascii() and not syllables.one_vowel(one)
        )
        wrong += f"; {say('sentence.hyphens', word=word)}" if (word := next(foreign, "")) else ""
    raise Refusal(wrong, example, argument="text")


def _unsplit(words: list[list[tuple[str, bool]]]) -> list[str]:
    """Return the words without a hyphen, each once, without the marks around them."""
    bare = (re.sub(r"^[\W_]+|[\W_]+$", "", word[0][0]) for word in words if len(word) == 1)
    return list(dict.fromkeys(one for one in bare if one))


def _is_unsure(word: str) -> bool:
    """Whether a word of Latin letters cannot be split for certain; what else there is stays whole."""
    latin = re.fullmatch(r"[^\W\d_]+(?:['’][^\W\d_]+)*['’]?", word) and unicodedata.normalize("NFD", word)[0]
    return bool(latin) and str(latin).isascii() and not (syllables.split(word) or syllables.one_vowel(word))


def _ask_for_hyphens(word: str) -> str:
    """Say that a word is to be split by hand, and how it is said on one sound."""
    many = [str(n) for n in syllables.how_many(word)]
    hand = say("sentence.by_hand")
    if many[1:]:
        return say("sentence.several", word=word, counts=" or ".join(many), by_hand=hand)
    return say("sentence.unsure", word=word, by_hand=hand)


def _one_sound_each(words: list[str]) -> str:
    """Say that words of several syllables stand on one sound each."""
    quoted = listed([f"“{one}”" for one in words[:6]])
    shown = next(filter(None, map(syllables.hyphened, words)), say("sentence.split_as"))
    one_or_more = "sentence.one_sound.one" if len(words) == 1 else "sentence.one_sound.other"
    return say(one_or_more, words=quoted, shown=shown)


def _how_many(found: list[Syllable], p: Polyrhythm, home: int, groups: OwnGroups) -> str:
    """Say how many syllables are missing or left over, and where."""
    sounds = composite(p).onsets
    sounds_of = f"{numbers.plural(len(sounds), 'sound')} of {descriptions.pair(p)}"
    many = f"{numbers.plural(len(found), 'syllable')} for the {sounds_of}"
    as_said = short(_marked(found))
    if len(found) > len(sounds):
        over = [f"{i} (“{one.text}”)" for i, one in enumerate(found[len(sounds) :], len(sounds) + 1)]
        none = f"no sound for {'syllable' if len(over) == 1 else 'syllables'} {numbers.some(over, 6)}"
        return f"text has {many}, with {none}; it was read as {as_said}"
    cycle = p.cycle(home)
    left = sounds[len(found) :]
    where = [_place(cycle, tick, groups) for tick in left.tolist()]
    bare = [f"{i} ({'beat ' * name.isdecimal()}{name})" for i, name in enumerate(where, len(found) + 1)]
    none = f"no syllable for {'sound' if len(bare) == 1 else 'sounds'} {numbers.some(bare, 6)}"
    return f"text has {many}, with {none}; it was read as {as_said}"


def _place(cycle: Cycle, tick: int, groups: OwnGroups) -> str:
    """Return the place of a sound by the word that is said there, as under its picture."""
    lane = next(lane for lane in cycle.lanes if tick in lane.onsets)
    place = places(cycle, lane.onsets)[int(np.searchsorted(lane.onsets, tick))]
    return counts.said_in_row(place, own_row(groups, place.parts))


def _syllables(words: list[list[tuple[str, bool]]]) -> Iterator[Syllable]:
    for word in words:
        for i, (text, stress) in enumerate(word):
            yield Syllable(text if stress else _quiet(text), stress, i + 1 < len(word))


def said_in_a_line(it: Sentence, start: int, stop: int) -> str:
    """Return what is said from one tick up to another, a long part of it by its first and last syllable.

    Examples
    --------
    >>> said_in_a_line(sentence((4, 3), "*waves that *knock the *har-bour"), 0, 8)
    'WAVES that KNOCK the'
    >>> said_in_a_line(sentence((4, 3), " ".join(["*straights"] * 6)), 0, 12)
    'the whole sentence'
    """
    whole_part = said_between(it, start, stop)
    if len(whole_part) <= LONGEST_LINE:
        return whole_part
    first, last = np.searchsorted(composite(it).onsets, (start, stop)).tolist()
    if last - first == len(it.syllables):
        return say("sentence.whole")
    return say("sentence.part", first=_loud(it.syllables[first]), last=_loud(it.syllables[last - 1]))


def said_between(it: Sentence, start: int, stop: int) -> str:
    """Return what is said from one tick up to another, syllables with stress as in the whole.

    Examples
    --------
    >>> said_between(sentence((4, 3), "*waves that *knock the *har-bour"), 0, 8)
    'WAVES that KNOCK the'
    """
    first, last = np.searchsorted(composite(it).onsets, (start, stop)).tolist()
    return _written(it.syllables[first:last])


def as_typed(it: Sentence) -> str:
    """Return a sentence as it is typed, with its stars and hyphens.

    Examples
    --------
    >>> as_typed(sentence((3, 2), "*hear the *harbour"))
    '*hear the *har-bour'
    """
    return _marked(it.syllables)


def _marked(syllables: Iterable[Syllable]) -> str:
    """Write syllables with the letters that were typed, a star before each that has a stress."""
    return "".join(
        f"{_STRESS * one.stressed}{one.text}{'-' if one.goes_on else ' '}" for one in syllables
    ).strip()


def sung_at(it: Sentence, tick: int) -> tuple[str, str] | None:
    """Return the syllable said on a tick, with its stress, and which of its word it is; none between two.

    Which one is said as under notes: ``"single"``, ``"begin"``, ``"middle"`` or ``"end"``.

    Examples
    --------
    >>> bells = sentence((3, 2), "*hear the *harbour")
    >>> sung_at(bells, 0), sung_at(bells, 1), sung_at(bells, 3), sung_at(bells, 4)
    (('HEAR', 'single'), None, ('HAR', 'begin'), ('bour', 'end'))
    """
    if not it.at(tick):
        return None
    found = int(np.searchsorted(composite(it).onsets, tick))
    one, goes_on = it.syllables[found], found > 0 and it.syllables[found - 1].goes_on
    if goes_on:
        return _loud(one), "middle" if one.goes_on else "end"
    return _loud(one), "begin" if one.goes_on else "single"


def _written(syllables: tuple[Syllable, ...]) -> str:
    return "".join(_loud(one) + ("-" if one.goes_on else " ") for one in syllables).strip()


def _loud(one: Syllable) -> str:
    """Write a syllable, one with stress in capitals, or after a sign of stress where there are none."""
    if not one.stressed:
        return one.text
    capitals = one.text.upper()
    return capitals if capitals != one.text.lower() else f"{_SAID_LOUD}{one.text}"

"""Questions about hearing: which pair, how many beats of home, which round is another one."""

import base64
import io
import wave
from collections.abc import Callable
from dataclasses import dataclass, field
from html import escape

from rhythmlab.audio.mix import Mix
from rhythmlab.audio.sound import Sound, sound
from rhythmlab.classroom.bank.notation import line_with_one_moved
from rhythmlab.classroom.bank.template import likely_mistakes, numbers, question_template
from rhythmlab.classroom.question import Part, Question
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo

SIDES = ("early", "late")
ROUNDS = 5
_NEXT = "The stroke that begins the next round belongs to the next round."


@dataclass(frozen=True, slots=True)
class SoundExhibit:
    """A rhythm to listen to, not named.

    Attributes
    ----------
    text : str
        Its text alternative: how long it is and which voices it has, never the rhythm.
    """

    text: str
    _make: Callable[[], Sound] = field(repr=False)

    def _repr_html_(self) -> str:
        sound, said = self._make(), escape(self.text, quote=True)
        source = base64.b64encode(small_wav(sound)).decode()
        return (
            f'<figure><audio controls preload="metadata" aria-label="{said}" '
            f'src="data:audio/wav;base64,{source}"></audio><figcaption>{said}</figcaption></figure>'
        )

    def __repr__(self) -> str:
        return self.text


def hear_pair_sound(p: int, q: int) -> SoundExhibit:
    """Return the sound of `hear_pair`."""
    return _pair(
        p, q, ("high", "low"), ["high wood block", "low wood block"], "a high wood block and a low one"
    )


@question_template(
    "hear-pair",
    "hearing",
    level=1,
    versions=((4, 3), (3, 4), (5, 2), (2, 5), (5, 3), (3, 5), (5, 4), (4, 5)),
    plays="sound",
    show=hear_pair_sound,
)
def hear_pair(p: int, q: int) -> Question:
    """Ask for the strokes of a high and a low sound; the trap is which is which."""
    right = numbers(*Polyrhythm(p, q).pulses)
    return Question(
        text="Listen: a high sound and a low sound, both steady, begin together and go three times round. "
        "How many strokes has each in one round, from one time together up to the next, the next one not "
        "counted? Write the high one first.",
        field="strokes of the high sound, of the low one",
        parts=("the high sound", "the low sound"),
        right=right,
        why=f"The high sound has {p} strokes in the time of {q} low ones: {p} against {q}.",
        form="write two numbers, for example answer=[7, 6].",
        units=("stroke",),
        mistakes=likely_mistakes(right, [(0, q, "So many has the low sound."), (0, p + 1, _NEXT)]),
    )


def hear_home_sound(home: int, other: int) -> SoundExhibit:
    """Return the sound of `hear_home`."""
    sounds = ["bass drum", "high wood block"]
    return _pair(home, other, ("home", "other"), sounds, "a bass drum and a wood block")


@question_template(
    "hear-home",
    "hearing",
    level=2,
    versions=((3, 7), (7, 3), (4, 7), (7, 4), (5, 6), (6, 5), (5, 7), (7, 5), (3, 8)),
    plays="sound",
    show=hear_home_sound,
)
def hear_home(home: int, other: int) -> Question:
    """Ask for the beats of the bass drum and the strokes against them; the trap is which is which."""
    right = numbers(*Polyrhythm(home, other).pulses)
    return Question(
        text="Listen: a bass drum has the beats of home, a wood block plays against it, and both begin "
        "together and go three times round. How many beats has home in one round, from one time together up "
        "to the next, the next one not counted, and how many strokes has the wood block?",
        field="beats of home, strokes of the wood block",
        parts=("the number of home beats", "the number of wood block strokes"),
        right=right,
        why=f"Home is the {home}, and the wood block plays {other} against it.",
        form="write two numbers, for example answer=[2, 9].",
        units=("beat", "stroke"),
        mistakes=likely_mistakes(
            right, [(0, other, "That is the wood block; home is the bass drum."), (0, home + 1, _NEXT)]
        ),
    )


def hear_odd_sound(p: int, q: int, which: int, stroke: int, by: int) -> SoundExhibit:
    """Return the sound of `hear_odd`."""
    ticks = p * q
    starts = [turn * ticks for turn in range(ROUNDS)]
    lane = Lane(
        "line", line_with_one_moved(p, q, ROUNDS, which, stroke, by), sound="high wood block", accents=starts
    )
    return SoundExhibit(
        "A rhythm to listen to: one line on a wood block, five times round, about 12 seconds.",
        lambda: sound(
            Cycle(ticks * ROUNDS, [lane], beats=[0]),
            tempo_for(ticks, ticks / 5),
            cycles=1,
            mix=Mix(home=0),
        ),
    )


@question_template(
    "hear-odd",
    "hearing",
    level=3,
    versions=(
        *((4, 3, 2, 4, 1), (4, 3, 3, 4, -1), (4, 3, 4, 6, 1), (4, 3, 5, 5, -1)),
        *((4, 3, 2, 2, -1), (4, 3, 3, 6, 1), (4, 3, 4, 5, -1), (4, 3, 5, 4, 1)),
    ),
    plays="sound",
    show=hear_odd_sound,
)
def hear_odd(p: int, q: int, which: int, stroke: int, by: int) -> Question:
    """Ask in which round one sound has moved, and which way; the trap is to take early for late."""
    side = SIDES[by > 0]
    right: tuple[Part, ...] = (*numbers(which), side)
    other = SIDES[by < 0]
    return Question(
        text=f"Listen: the line of {p} against {q}, five times round, the first sound of each round the "
        "loudest. In one round, not the first, one sound has moved. Which round is it, and does the sound "
        "come early or late?",
        field="the round, and early or late",
        parts=("the round", "the side"),
        right=right,
        why=f"In round {which} sound {stroke} comes {side}, by one tick of the grid.",
        form='write a number and a word, for example answer=[1, "early"].',
        units=("round", ""),
        choices=SIDES,
        mistakes=likely_mistakes(
            right,
            [(1, other, "Sing the line to yourself along with it: which comes first, you or the sound?")],
        ),
    )


def small_wav(sound: Sound) -> bytes:
    """Return a sound as a small WAV file: one channel, at half its rate, since it is kept in a page.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.audio.sound import sound
    >>> len(small_wav(sound((3, 2), 60, cycles=1)))
    96044
    """
    samples = sound.samples().mean(axis=1)
    half = samples[: len(samples) // 2 * 2].reshape(-1, 2).mean(axis=1)
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(sound.rate // 2)
        out.writeframes((half * 32_767).round().astype("<i2").tobytes())
    return file.getvalue()


def tempo_for(ticks: int, seconds: float) -> Tempo:
    """Return a tempo at which a cycle of so many ticks takes about so many seconds.

    Examples
    --------
    >>> tempo_for(12, 3)
    Tempo(20, ticks=12)
    """
    return Tempo(round(60 / seconds), ticks=ticks)


def _pair(p: int, q: int, names: tuple[str, str], sounds: list[str], what: str) -> SoundExhibit:
    """Return the sound of a pair three times round, each pulse with its own voice."""
    pair = Polyrhythm(p, q)
    lanes = [Lane(name, pair.onsets(i)) for i, name in enumerate(names)]
    return SoundExhibit(
        f"A rhythm to listen to: {what}, three times round, about 9 seconds.",
        lambda: sound(
            Cycle(pair.ticks, lanes, beats=[0]),
            tempo_for(pair.ticks, 3),
            cycles=3,
            mix=Mix(home=0, sounds=sounds),
        ),
    )


QUESTIONS = (
    hear_pair,
    hear_home,
    hear_odd,
)

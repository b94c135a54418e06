"""A question that is answered by playing: a take, judged against limits that are stated."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from numbers import Real
from typing import Any

import numpy as np

from rhythmlab.classroom.bank.template import numbers, question_template
from rhythmlab.classroom.question import Question, Verdict, WorkedAnswer
from rhythmlab.core.check import short
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public, public_class
from rhythmlab.core.tempo import Tempo
from rhythmlab.playing.limits import limits
from rhythmlab.practice.causes import causes
from rhythmlab.practice.feedback import feedback
from rhythmlab.practice.journal import Journal
from rhythmlab.practice.measure import measure
from rhythmlab.practice.moved import MOVES_ALL
from rhythmlab.practice.take import Take, from_row
from rhythmlab.refusal import Refusal
from rhythmlab.text import descriptions, sentences
from rhythmlab.text.numbers import number, plural

#: How often the cycle goes round, how many times the spread of novices against a click is allowed, and how
#: many strokes in a hundred may be left out or be too many (own choices, no source).
CYCLES, TIMES_NOVICE, STROKES_OFF_PERCENT = 4, 2, 10
#: Latest tap that can belong to such a take, in seconds.
LONGEST = 600
_PLAYED = 'classroom.assignment("week 9", 7).question("play-take")'
_TAKE = (
    'practice.Take(cycle=(4, 3), tempo=72, cycles=1, start=0, stop=12, mode="one pulse", lanes=(1,), '
    "tap_lanes=[1], tap_times=[0.02])"
)


@public_class(
    _PLAYED,
    judge=f"{_PLAYED}.judge([[0, 0.01], [1, 0.02]])",
    unread=f"{_PLAYED}.unread([[0, 0.01], [1, 0.02]])",
)
@dataclass(repr=False, frozen=True, slots=True)
class TakeQuestion(Question):
    """A question whose answer is a take.

    Attributes
    ----------
    pulses : tuple of int
        The two pulses to play; the last one is home.
    bpm : int
        Beats a minute of home.
    """

    pulses: tuple[int, int] = (4, 3)
    bpm: int = 60

    def judge(self, answer: object, find: Callable[[str], Take | None] | None = None) -> Verdict:
        """Check a take.

        Parameters
        ----------
        answer : Take, str, list or tuple
            A take; the id of one; or its strokes as a list of lane and seconds from the first beat.
        find : callable, optional
            Gives the `Take` of an id, or ``None`` where there is none.

        Returns
        -------
        Verdict
            One mark each for the strokes, for the spread of each pulse, and for the hands.
        """
        try:
            take = self._take(answer, find)
        except ValueError as error:
            return Verdict(0, 4, f"{error} {self.form[0].upper()}{self.form[1:]}")
        if take is None:
            return Verdict(0, 4, f"Not answered yet: {self.form}", answered=False)
        faults = self._faults(take)
        marks = 4 - len(faults)
        if not faults:
            return Verdict(4, 4, f"Right. {self.why}")
        right = f"{marks} of 4 {'is' if marks == 1 else 'are'} right."
        found = causes(take)
        if found and found[0].kind in MOVES_ALL:  # what is off follows from it
            off = sentences.listed([self.parts[i] for i, _ in faults])
            return Verdict(marks, 4, f"{feedback(take)[0]} Off by that: {off}. {right}")
        also = [self.parts[i] for i, _ in faults[1:]]
        more = f" Also off: {sentences.listed(also)}." if also else ""
        return Verdict(marks, 4, f"{faults[0][1]}{more} {right}")

    def unread(self, answer: object) -> str:
        """Say why an answer cannot be read as a take; nothing where it can."""
        try:
            self._take(answer, None)
        except ValueError as error:
            return str(error)
        return ""

    def _elsewhere(self, answer: object) -> str:
        """Say how to write a take that is only named; nothing where it is written out."""
        if not isinstance(answer, str):
            return ""
        return (
            f"The take {short(answer)} is kept in your own journal, which is not handed in, so it cannot be "
            "looked up here. Write its strokes instead, lane and seconds, such as "
            "answer=[[0, 0.01], [1, 0.02]]: rl.classroom.taps_of() gives those of your last take."
        )

    def answer(self) -> WorkedAnswer:
        """Return what a right take is like."""
        first = ", ".join(f"[{lane}, {seconds}]" for lane, seconds in self.worked()[:4])
        return WorkedAnswer(self.text, f"every stroke on its place, [{first}, ...]", self.why)

    def worked(self) -> list[Any]:
        """Return the strokes of an exact take, lane and seconds to the millisecond."""
        rhythm, tempo = Polyrhythm(*self.pulses), Tempo(self.bpm, pulse=1)
        tick = tempo.tick_seconds(rhythm)
        taps = [
            (float(round(tick * (int(onset) + turn * rhythm.ticks), 3)), lane)
            for turn in range(CYCLES)
            for lane in (0, 1)
            for onset in rhythm.onsets(lane)
        ]
        return [[lane, seconds] for seconds, lane in sorted(taps)]

    def _take(self, answer: object, find: Callable[[str], Take | None] | None) -> Take | None:
        """Return the take that an answer is, or ``None`` where there is no answer."""
        rhythm, tempo = Polyrhythm(*self.pulses), Tempo(self.bpm, pulse=1)
        if isinstance(answer, str) and answer.strip():
            found = None if find is None else find(answer.strip())
            if found is None:
                raise Refusal(
                    f"The take {short(answer)} is in your own journal only, and not in this answer."
                )
            answer = found
        if isinstance(answer, Take):
            return self._fitting(answer, rhythm, tempo)
        if answer is None or isinstance(answer, str) or (isinstance(answer, list | tuple) and not answer):
            return None
        if not isinstance(answer, list | tuple):
            raise Refusal(f"{short(answer)} is not a list of strokes.")
        for i, tap in enumerate(answer, 1):
            if not _is_tap(tap):
                raise Refusal(f"Stroke {i} is {short(tap)}, which is not a lane, 0 or 1, and its seconds.")
        return Take(
            cycle=rhythm.cycle(1),
            tempo=tempo,
            cycles=CYCLES,
            start=0,
            stop=rhythm.ticks,
            mode="both pulses",
            lanes=(0, 1),
            tap_lanes=np.array([int(lane) for lane, _ in answer], np.int64),
            tap_times=np.array([float(seconds) for _, seconds in answer], np.float64),
        )

    def _fitting(self, take: Take, rhythm: Polyrhythm, tempo: Tempo) -> Take:
        """Return a take of this rhythm at this tempo, or refuse another one."""
        same = [lane.onsets.tolist() for lane in take.cycle.lanes] == [
            rhythm.onsets(i).tolist() for i in (0, 1)
        ]
        if not same or take.lanes != (0, 1) or take.mode == "composite":
            raise Refusal(f"That take is not of both pulses of {descriptions.pair(rhythm)}.")
        if (take.start, take.stop) != (0, rhythm.ticks) or take.cycles < CYCLES:
            raise Refusal(f"That take is shorter than {CYCLES} whole cycles.")
        if take.tempo.tick_seconds(take.cycle) != tempo.tick_seconds(rhythm):
            raise Refusal(f"That take is not at {self.bpm} bpm of the {self.pulses[1]}.")
        return take

    def _faults(self, take: Take) -> list[tuple[int, str]]:
        """Say what does not keep its limit: the index of the part, and a sentence."""
        found, faults = measure(take), []
        allowed, spread, _, apart = (Fraction(part) for part in self.right)
        off = found.missed + found.extra + found.elsewhere + sum(lane.wrong_hand for lane in found.lanes)
        if 100 * off > STROKES_OFF_PERCENT * found.meant:
            left, many = plural(found.missed, "stroke"), plural(off - found.missed, "stroke")
            faults.append((0, f"The strokes are off: {left} left out and {many} too many; {allowed} may be."))
        for i, lane in enumerate(found.lanes, 1):
            percent = lane.spread_percent
            if percent is None or 2 * lane.missed > lane.meant:
                faults.append(
                    (i, f"Of the {self.pulses[i - 1]} too few strokes were played to tell its spread.")
                )
            elif percent > spread:
                much = number(percent, 1)
                faults.append(
                    (i, f"The {self.pulses[i - 1]} is uneven: it spreads by {much} percent of its interval.")
                )
        hands = found.hands_apart_ms
        if hands is None:
            faults.append((3, "Too few strokes were played together to tell how far the hands are apart."))
        elif abs(hands) > apart:
            first = self.pulses[0 if hands > 0 else 1]
            much = number(abs(hands), 0)
            faults.append((3, f"The hands are apart: where they meet, the {first} comes {much} ms first."))
        return faults


def _is_tap(tap: object) -> bool:
    if not isinstance(tap, list | tuple) or len(tap) != 2:
        return False
    lane, seconds = tap
    if any(isinstance(one, bool) or not isinstance(one, Real) for one in tap):
        return False
    return lane in (0, 1) and abs(seconds) < LONGEST and math.isfinite(seconds)


@public(f"classroom.taps_of({_TAKE})")
def taps_of(take: Take | None = None) -> list[list[Any]]:
    """Return the strokes of a take as they are written for an answer.

    Parameters
    ----------
    take : Take, optional
        What was played; the last take of the reader's journal when left out.

    Returns
    -------
    list of [int, float]
        Lane, and seconds to the millisecond, the calibration taken off.
    """
    if take is None:
        kept = Journal().takes()
        if not kept:
            raise Refusal("there is no take in your journal yet; record one first", "pages.practise()")
        take = from_row(kept[-1])
    if not isinstance(take, Take):
        raise Refusal(
            f"take={short(take)} is not a take",
            f"classroom.taps_of({_TAKE})",
            argument="take",
        )
    pairs = zip(take.tap_lanes.tolist(), take.played().tolist(), strict=True)
    return [[lane, round(seconds, 3)] for lane, seconds in pairs]


@question_template(
    "play-take",
    "playing",
    level=3,
    versions=(
        *((4, 3, 60), (3, 4, 80), (4, 3, 63), (3, 4, 84)),
        *((4, 3, 66), (3, 4, 88), (4, 3, 69), (3, 4, 92)),
    ),
    plays="take",
)
def play_take(p: int, q: int, bpm: int) -> TakeQuestion:
    """Ask for a take of both pulses; the trap is to let the slower hand follow the faster one."""
    rows = limits()
    spread, apart = TIMES_NOVICE * rows["tap_sd_novice"].value, rows["flam"].value
    strokes = CYCLES * (p + q)
    off = Fraction(strokes * STROKES_OFF_PERCENT, 100)
    right = numbers(off.numerator // off.denominator, spread, spread, apart)
    return TakeQuestion(
        text=f"Play {p} against {q}, home the {q} at {bpm} bpm, {CYCLES} cycles with a hand for each pulse. "
        f"At most {right[0]} of the {strokes} strokes may be left out or be too many, each pulse may spread "
        f"by {spread} percent of its interval, and where the hands meet they may be {apart} ms apart on "
        "average.",
        field="a take",
        parts=("the number of strokes", f"the spread of the {p}", f"the spread of the {q}", "the hands"),
        right=right,
        why="All strokes are there, both pulses are even, and the hands meet.",
        form="write the strokes of your take as lane and seconds: record both pulses with these numbers "
        "under any panel, run rl.classroom.taps_of() in a new cell, and copy what it prints, for example "
        "answer=[[0, 0.01], [1, 0.02], [0, 0.74]]; lane 0 is the first pulse.",
        units=("stroke", "percent", "percent", "ms"),
        pulses=(p, q),
        bpm=bpm,
    )


QUESTIONS = (play_take,)

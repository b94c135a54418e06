"""What happens to a take: measured, told in sentences, and kept in the journal."""

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any

from rhythmlab.core.cycle import Cycle, Lane, counted_as
from rhythmlab.core.feel import OwnGroups
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.panels.stage.stage import Stage
from rhythmlab.practice.causes import causes
from rhythmlab.practice.feedback import feedback_at
from rhythmlab.practice.finding import Feedback
from rhythmlab.practice.first_takes import first_feedback
from rhythmlab.practice.history import to_mend, uncounted
from rhythmlab.practice.journal import Journal, JournalError
from rhythmlab.practice.measure import measure
from rhythmlab.practice.next_step import Next
from rhythmlab.practice.take import Take, cycle_of, take_from
from rhythmlab.practice.under import under
from rhythmlab.refusal import Refusal, as_sentence
from rhythmlab.text import numbers, sentences

#: What is played with -> the limb of each lane, in order, as right-handed players have it.
LIMBS = {
    "hands": ("right hand", "left hand"),
    "hands swapped": ("left hand", "right hand"),
    "hand and foot": ("hand", "foot"),
    "voice and hand": ("voice", "hand"),
}


class Takes:
    """Receives the takes of a stage.

    Parameters
    ----------
    stage : Stage
        Where they are played, and where it is said what they came to.
    journal : Journal, optional
        Where they are kept; the one in the reader's folder when left out.
    after : callable, optional
        Called with the row of each take that was kept; what it returns is said last.
    instead : callable, optional
        Gives a sentence with a call that keeps takes elsewhere, for where they cannot be kept here.
    first : bool
        Whether the panel has neither a tempo nor a loop nor counts, which are then not spoken of.
    step : callable, optional
        Gives the tempo to go on at once a row is kept, where a ladder has it, so that both say the same.
    groups : callable, optional
        Gives the groups that a beat is said in now, so that a place is named as the picture has it.
    """

    def __init__(
        self,
        stage: Stage,
        journal: Journal | None = None,
        after: Callable[[dict[str, Any]], str] | None = None,
        instead: Callable[[], str] | None = None,
        *,
        first: bool = False,
        step: Callable[[dict[str, Any]], Tempo | None] = lambda _: None,
        groups: Callable[[], OwnGroups] = tuple,
    ) -> None:
        self._first, self._groups, self._step = first, groups, step
        self._stage, self._journal, self._after, self._instead = stage, journal, after, instead
        stage.on_take(self.received)

    def received(self, message: Mapping[str, Any]) -> bool:
        """Measure, tell and keep a take; return whether it is kept, so that the browser can let it go."""
        stage = self._stage
        answer: dict[str, Any] = {}
        try:
            take = read_take(message)
            row, told = self._measured(take)
            said, answer = list(told), _answer(take, told)
        except Exception as error:  # whatever is wrong with it, it is kept as it came and told
            row = {"kind": "note", "id": str(message.get("id") or ""), "message": dict(message)}
            why = as_sentence(error)
            said = [f"This take cannot be measured ({why}); it is kept in the journal as it came."]
        try:
            journal = self._journal or Journal()
            journal.append(row)
            seen = journal.glance()
            heads = [head for head in seen.on(journal.day()) if head.kind == "take"]
            today = sum(not uncounted(entry) for entry in seen.brief(heads))
            warning = seen.panel_warning
        except JournalError as error:
            again = "It is sent again when the page is next run."
            instead = self._instead() if self._instead else ""
            self._tell(said, answer)
            stage.notice = sentences.sentences(as_sentence(error), again, instead)
            return False
        if message.get("again"):
            again = "A take that had not been kept before is in the journal now."
            said, answer["kept"] = [again, *said], [again]
        stage.notice = warning
        if row["kind"] == "take":
            which = "not counted" if uncounted(row) else f"take {today} of today"
            kept = f"Kept in {journal.path.name}: {which}, {_titled(take, self._first)}."
            said, answer["kept"] = [*said, kept], [*answer.get("kept", []), kept]
        more = self._after(row) if self._after and row["kind"] == "take" else ""
        if more:
            said, answer["kept"] = [*said, more], [*answer["kept"], more]
        self._tell(said, answer)
        return True

    def _tell(self, said: list[str], answer: dict[str, Any]) -> None:
        """Show what a take came to, as sentences and as what a button does."""
        with self._stage.hold_sync():
            self._stage.answer, self._stage.feedback = answer, said

    def _measured(self, take: Take) -> tuple[dict[str, Any], Feedback]:
        """Return the row for the journal and the sentences for the reader."""
        measures = measure(take)
        found = causes(take, measures)
        why = [cause.kind for cause in found if to_mend({"cause": cause.kind})]
        played = under(take, measures, found, self._groups(), plain=self._first)
        self._stage.played = dict(played)
        self._stage.struck = (played["mark"] or {"cycle": 1})["cycle"] or 1
        row = {**take.as_row(), **measures.as_row(), **({"cause": why[0]} if why else {})}
        if found and found[0].kind == "ended" and not found[0].cycle:  # before one cycle was full
            row["too_short"] = True
        if self._first:
            said = first_feedback(take, measures)
        else:
            said = feedback_at(take, measures, self._groups(), self._step(row))
        return {**row, "said": list(said)}, said


def _answer(take: Take, told: Feedback) -> dict[str, Any]:
    """Return what is read of a take, and its next step for the browser."""
    row = {"found": told.found, "do": told.do, "more": told.more}
    if told.next is None:
        return row
    return {**row, "next": {**told.next.as_row(take.cycle), "mode": mode_of(take, told.next)}}


def mode_of(take: Take, then: Next) -> str:
    """Return what a player plays next: a lane alone, or what was played before."""
    return "one pulse" if then.kind == "lane" else take.mode


def _titled(take: Take, first: bool) -> str:
    """Name a take: its numbers, and its tempo where that can be chosen."""
    lanes = [lane.name for lane in take.cycle.lanes]
    if first:
        return " against ".join(lanes)
    of = "" if take.tempo.pulse is None else f" of the {lanes[take.tempo.pulse]}"
    return f"{' against '.join(lanes)} at {numbers.number(take.tempo.bpm)} bpm{of}"


def read_take(message: Mapping[str, Any]) -> Take:
    """Make a take of what a stage sent, from the numbers in the message alone.

    Parameters
    ----------
    message : mapping
        As `take_from` reads it, and ``pulses``, ``bpm`` (exact text), ``pulse`` and ``home``; or for any
        other cycle ``cycle``, ``bpm`` and ``beat_ticks``.

    Raises
    ------
    ValueError
        If a part is missing or does not fit.

    Examples
    --------
    >>> message = {"id": "t1", "mode": "one pulse", "lanes": [1], "ticks": 12, "start": 0, "stop": 12,
    ...            "cycles": 1, "cycle_s": 3.0, "t0": 10.0, "taps": [[1, 10.02]], "limbs": "hands",
    ...            "pulses": [4, 3], "bpm": "60", "pulse": 1, "home": 1}
    >>> read_take(message).cycle.lanes[1].limb
    'left hand'
    """
    if message.get("cycle"):
        tempo = Tempo(Fraction(message["bpm"]), ticks=message["beat_ticks"])
        return take_from(message, cycle_of(message["cycle"]), tempo)
    for name in ("pulses", "bpm", "pulse"):
        if name not in message:
            raise Refusal(f"the message of the take has no {name!r}; run the page again, then play it again")
    p = Polyrhythm(*message["pulses"])
    home = message.get("home", len(p.pulses) - 1)
    plain = p.cycle(home)
    limbs = limbs_of(str(message.get("limbs")), message.get("left_handed") is True)
    lanes = [
        Lane(lane.name, lane.onsets, limb=limbs[i] if i < len(limbs) else "", sound=lane.sound)
        for i, lane in enumerate(plain.lanes)
    ]
    cycle = counted_as(Cycle(plain.ticks, lanes, beats=plain.beats, bars=plain.bars), plain)
    return take_from(message, cycle, Tempo(Fraction(message["bpm"]), pulse=message["pulse"]))


def limbs_of(played_with: str, left_handed: bool = False) -> tuple[str, ...]:
    """Return the limb of each lane for what is played with: a player's own hands are the usual ones.

    Examples
    --------
    >>> limbs_of("hands"), limbs_of("hands", left_handed=True)
    (('right hand', 'left hand'), ('left hand', 'right hand'))
    """
    limbs = LIMBS.get(played_with, ())
    both = limbs in (LIMBS["hands"], LIMBS["hands swapped"])
    return limbs[::-1] if left_handed and both else limbs

"""The panel of page 08: a ladder of tempos, takes, a plan for the session, and the journal."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from html import escape
from math import ceil, floor
from typing import Any

import ipywidgets as widgets

from rhythmlab.core import check
from rhythmlab.core.check import FASTEST
from rhythmlab.core.feel import Feel, Groups
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.draw.progress import progress
from rhythmlab.draw.svg import svg
from rhythmlab.panels.errors import shows_errors
from rhythmlab.panels.guess import Guess
from rhythmlab.panels.panel import Panel, checked_call
from rhythmlab.panels.stage.sounding import fastest, refuse_too_dense, strokes_of
from rhythmlab.panels.takes import Takes
from rhythmlab.playing.approach import slowest_start
from rhythmlab.playing.learning import whole_bpm
from rhythmlab.playing.limits import MOST, Limits, limits, limits_or, source_text
from rhythmlab.practice.history import past_takes, spoiled, uncounted, wrong
from rhythmlab.practice.journal import Glance, Journal, JournalError
from rhythmlab.practice.ladder import Ladder
from rhythmlab.refusal import as_sentence
from rhythmlab.text import counts, descriptions, numbers, sentences

#: Longest session that is planned, in minutes.
LONGEST = 480
CALL = "pages.practise(4, 3, now=60, goal=96)"
#: What is said of a take that does not count for the ladder.
NO_STEP = (
    "It does not move the ladder: that takes both pulses, the whole cycle at least twice, no silence, "
    "and at least half the strokes."
)


class Practice(Panel):
    """A `Panel` with a ladder from a tempo tested today to a goal.

    Parameters
    ----------
    pulses : sequence of int
        What is practised.
    now, goal : number
        Beats a minute of home: the first step of the ladder and the last.
    minutes : int
        Length of the session that is planned.
    home : int or None
        Index of the home pulse; the last one when ``None``.
    journal : Journal, optional
        Where takes are kept; the one in the reader's folder when left out.
    guess : Guess, optional
        The reader's guess, which covers the panel until it is made or skipped.
    groups : str or sequence of int, optional
        How a beat of five parts or more is said, as for `Feel`; the remembered groups when left out.
    limits : Limits, optional
        The limits to use; the published ones when left out.
    """

    def __init__(
        self,
        pulses: Sequence[int | Rhythm],
        *,
        now: Speed,
        goal: Speed,
        minutes: int,
        home: int | None,
        journal: Journal | None = None,
        guess: Guess | None = None,
        groups: Groups | None = None,
        limits: Limits | None = None,
    ) -> None:
        p, self._pulse, tempo = checked_call(pulses, home, goal, CALL)
        now = now.bpm_of(p, self._pulse) if isinstance(now, Tempo) else now
        self._journal, rows = journal or Journal(), limits_or(limits)
        self._wanted = Ladder(now, tempo.bpm, pulse=self._pulse)  # refuses what is no ladder
        self._ladder = _ladder(p, self._wanted, self._pulse, rows)
        self._pair, self._minutes = p.pulses, minutes
        self._last = widgets.HTML()
        self._climb = widgets.HTML()
        self._plan, self._picture, self._kept = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self._step = widgets.Button(description="go to the step")
        self._step.on_click(self._to_the_step)
        first = self._ladder.steps[0]
        super().__init__(
            pulses,
            home=home,
            bpm=first,
            view="heard line",
            describe=_describe,
            guess=guess,
            counts=True,
            groups=groups,
            limits=rows,
            call=CALL,
        )
        self.takes = Takes(
            self.stage,
            self._journal,
            self._after_take,
            self._elsewhere,
            step=self._step_after,
            groups=lambda: self.feel.groups,
        )
        self.stage.observe(self._limbs_chosen, names=["limbs"])
        self._rows = [{"note": self._last}, {"fields": [self._step], "note": self._climb}, *self._rows]
        self.stage.parts = self._parts()
        self._look()

    def _parts(self) -> dict[str, Any]:
        """Return what the stage draws: in its drawer also the plan, and the journal with its picture."""
        takes = [{"note": self._picture, "wide": "progress"}, {"note": self._kept, "wide": "the last takes"}]
        shelf = [{"name": "Plan", "rows": [{"note": self._plan}]}, {"name": "Journal", "rows": takes}]
        return {**super()._parts(), "shelf": shelf}

    def _after_take(self, row: dict[str, Any]) -> str:
        self._look()
        return "" if climbs(row) or spoiled(row) else NO_STEP

    @shows_errors
    def _limbs_chosen(self, _: object) -> None:
        self._look()

    @shows_errors
    def _pulses_typed(self) -> None:
        """Other numbers have a ladder of their own."""
        super()._pulses_typed()
        pair = self.feel.polyrhythm.pulses
        if pair != self._pair:
            self._pair, self._pulse = pair, self.feel.home
            self._ladder = _ladder(self.feel.polyrhythm, self._wanted, self._pulse, self._limits)
            self._look()

    @shows_errors
    def _to_the_step(self, _: object) -> None:
        p, bpm = self.feel.polyrhythm, self._standing.bpm
        refuse_too_dense(
            descriptions.pair(p),
            strokes_of(p),
            p.pulses[self._pulse],
            bpm,
            f"bpm of {descriptions.pulse_name(p, self._pulse)}",
        )
        self._change(self.feel, Tempo(bpm, pulse=self._pulse).in_pulse(p, self.feel.home), self._start)

    def _elsewhere(self) -> str:
        """Say the call that keeps the takes of this ladder in another place."""
        pair, moved = self.feel.polyrhythm.pulses, self._limits.values()
        home = "" if self._pulse == len(pair) - 1 else f"home={self._pulse}, "
        tempos = f"now={self._ladder.now}, goal={self._ladder.goal}, minutes={self._minutes}"
        journal = 'journal=rl.practice.Journal("my-journal.jsonl")'
        own = "".join(f", {row.key}={row.value}" for row in moved if row.status == "moved")
        given = f"{', '.join(map(str, pair))}, {tempos}, {home}{journal}{own}"
        return f"Or keep takes elsewhere: rl.pages.practise({given})"

    def _glance(self) -> Glance:
        """Look at the journal; one that cannot be read is told, and nothing is known then."""
        try:
            seen = self._journal.glance()
        except JournalError as error:
            self.stage.notice = sentences.sentences(as_sentence(error), self._elsewhere())
            return Glance()
        if seen.warning:
            self.stage.notice = seen.panel_warning
        return seen

    def _climbing(self, seen: Glance, *more: Mapping[str, Any]) -> list[Mapping[str, Any]]:
        """Return the takes that count for this ladder."""
        return [
            take
            for take in (*seen.brief(seen.of("take")), *more)
            if climbs(take)
            and tuple(take.get("pair") or ()) == self._pair
            and take.get("limbs") == self.stage.limbs
        ]

    def _step_after(self, row: dict[str, Any]) -> Tempo | None:
        """Return the tempo where the ladder stands after a take; nothing after one of another rhythm."""
        if tuple(row.get("pair") or ()) != self._pair:
            return None
        takes = past_takes(self._climbing(self._glance(), row), pulse=self._pulse)
        return Tempo(self._ladder.climb(takes).bpm, pulse=self._pulse)

    def _table(self) -> str:
        """Return the last takes as the journal shows them; nothing where it cannot be read, which is told."""
        try:
            return self._journal._repr_html_()
        except JournalError:
            return ""

    def _look(self) -> None:
        """Read the journal, and say where things stand."""
        seen, limbs, p = self._glance(), self.stage.limbs, self.feel.polyrhythm
        takes = self._climbing(seen)
        self._kept.value = self._table()
        self._last.value = _paragraph(seen.last(self._journal.day()))
        rows = past_takes(takes, pulse=self._pulse)
        self._standing = self._ladder.climb(rows)
        days = self._ladder.days(self._standing)
        head = f"{descriptions.pair(p)}, {limbs}, in bpm of {descriptions.pulse_name(p, self._pulse)}: "
        raised = raised_text(p, self._wanted, self._ladder, self._pulse, self._limits)
        said = (raised, head + self._standing.text, days.text)
        self._climb.value = "".join(_paragraph(text) for text in said if text)
        self._step.disabled = self._standing.reached
        self._picture.value = svg(progress(rows, self._ladder.goal), live=True) if rows else ""
        plan = self._ladder.plan(
            self._minutes,
            self._standing,
            yesterday=seen.minutes_before(self._journal.day()),
            limits=self._limits,
            today=self._journal.day(),
        )
        pieces = "".join(
            f"<li><b>{numbers.plural(piece.minutes, 'minute')}, {escape(piece.kind)}</b>: "
            f"{escape(piece.what)} <i>{escape(piece.why)}</i></li>"
            for piece in plan
        )
        begun = self._standing.last == self._journal.day()
        head = "What is left of the plan" if begun else "The plan for"
        length = numbers.plural(plan.minutes, "minute")
        head = f"{head}: {length}" if begun else f"{head} {length}"
        self._plan.value = f"<p><b>{head}</b></p><ol>{pieces}</ol>{_paragraph(plan.text)}"


def climbs(row: Mapping[str, Any]) -> bool:
    """Whether a take counts for the ladder (own choice): the whole rhythm, more than once, and really played.

    Both pulses, whole cycles, at least two of them, no silent ones, at least half the strokes found, or a
    fault of all of it that tells why not, and none that counts for nothing.

    Examples
    --------
    >>> climbs({"kind": "take", "mode": "one pulse"})
    False
    """
    if row.get("kind") != "take" or row.get("mode") != "both pulses" or uncounted(row):
        return False
    whole = row.get("start") == 0 and row.get("stop") == row.get("cycle", {}).get("ticks")
    sounding = not row.get("silent", [0, 0])[1]
    played = bool(wrong(row)) or row.get("missed", 1) * 2 <= row.get("meant", 0)
    return whole and sounding and row.get("cycles", 0) >= 2 and played


def _ladder(p: Polyrhythm, asked: Ladder, pulse: int, rows: Limits) -> Ladder:
    """Return a ladder that starts on a cycle short enough to be held, outside a drift.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> asked = Ladder(40, 96, pulse=1)
    >>> [_ladder(p, asked, 1, limits()).now for p in (Polyrhythm(13, 8), Polyrhythm(16, 15))]
    [Fraction(60, 1), Fraction(40, 1)]
    """
    least = slowest_start(p, home=pulse, limits=rows)
    most = floor(min(Fraction(FASTEST), fastest(strokes_of(p), p.pulses[pulse])))
    start = asked.now if least is None else min(whole_bpm(least, up=True), Fraction(most))
    if least is None or max(least, asked.now) == asked.now or start <= asked.now:
        return asked
    return Ladder(start, max(asked.goal, start), pulse=pulse)


def raised_text(p: Polyrhythm, asked: Ladder, ladder: Ladder, pulse: int, rows: Limits) -> str:
    """Say that a ladder starts faster than was asked, and why; else nothing.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> p, asked = Polyrhythm(13, 8), Ladder(40, 50, pulse=1)
    >>> print(raised_text(p, asked, _ladder(p, asked, 1, limits()), 1, limits()))
    The ladder starts at 60 bpm of the 8, not 40, since one cycle takes 12 seconds at 40, longer than the 8 \
seconds that are held in the head (our own choice; cycle_longest=12000 would allow it). The goal goes up \
with it, from 50 to 60.
    """
    if ladder.now == asked.now:
        return ""
    limit, n = rows["cycle_longest"], numbers.number
    once = Fraction(60 * p.meet(), p.step(pulse)) / asked.now
    allow = ceil(1000 * once)
    way_out = f"; cycle_longest={allow} would allow it" if allow <= MOST else ""
    said = (
        f"The ladder starts at {n(ladder.now)} bpm of {descriptions.pulse_name(p, pulse)}, not "
        f"{n(asked.now)}, since {descriptions.once_through(p)} takes {numbers.seconds(once)} at "
        f"{n(asked.now)}, longer than the {numbers.seconds(limit.value / 1000)} that are held in the head "
        f"({source_text(limit)}{way_out})."
    )
    goal = f"The goal goes up with it, from {n(asked.goal)} to {n(ladder.goal)}."
    return sentences.sentences(said, goal if ladder.goal != asked.goal else "")


def _describe(feel: Feel, tempo: Tempo) -> list[str]:
    return [counts.count(feel), f"{descriptions.tempo(feel.polyrhythm, tempo, feel.home)}."]


def _paragraph(text: str) -> str:
    return f"<p style='line-height:1.45;margin:3px 0'>{escape(text)}</p>"


@public("pages.practise(7, 4)")
def practise(
    *pulses: int | Rhythm,
    now: Speed = 60,
    goal: Speed = 96,
    minutes: int = 20,
    home: int | None = None,
    guess: Guess | None = None,
    journal: Journal | None = None,
    groups: Groups | None = None,
    **moved: float | Fraction | Decimal,
) -> Practice:
    """Practise a pair up a ladder of tempos, and keep a journal: page 08.

    Parameters
    ----------
    *pulses : int, or one Polyrhythm, Cycle or pair
        What is practised; 4 against 3 when left out.
    now, goal : number
        Beats a minute of home: a tempo that you can play today, and the one you want.  Outside a drift the
        ladder starts no slower than on a cycle of 8 seconds (our own choice), and the panel says so.
    minutes : int
        Length of the session that is planned.
    home : int, optional
        Index of the home pulse; the last one when left out.
    guess : Guess, optional
        From `predict`; the panel shows nothing else until it is made or skipped.
    journal : Journal, optional
        Where takes are kept; the one in the reader's folder when left out.
    groups : str or sequence of int, optional
        How a beat of five parts or more is said, as for `Feel`; the remembered groups when left out.
    **moved : number
        Your own limits by name, as for `limits`, for example ``cycle_longest=12_000``.

    Returns
    -------
    Practice

    Raises
    ------
    ValueError
        If a tempo is not from 1 to 1,000, the goal is below the first step, or the minutes are not from 1
        to 480.

    Examples
    --------
    >>> practise(4, 3, now=60, goal=96).tempo
    Tempo(60, pulse=1)
    """
    for name, one in (("now", now), ("goal", goal)):
        if not isinstance(one, Tempo):
            check.bpm(one, name, "now=60, goal=96")
    minutes = check.whole(minutes, "minutes", "minutes=20", most=LONGEST)
    if journal is not None:
        check.a(Journal, journal, "journal", 'journal=rl.practice.Journal("my-journal.jsonl")')
    pulses = pulses or (4, 3)
    return Practice(
        pulses,
        now=now,
        goal=goal,
        minutes=minutes,
        home=home,
        guess=guess,
        journal=journal,
        groups=groups,
        limits=limits(**moved),
    )

"""From a tempo that was tested to one that is wanted: steps, where to stand, how long, and a session."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from math import ceil
from typing import Any

from rhythmlab.core.check import FASTEST, a, positive, short, whole
from rhythmlab.core.display import InNotebook
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.core.types import Number
from rhythmlab.playing.limits import Limits
from rhythmlab.practice.history import PastTakes, day_of, kind_of, past_takes, takes_in
from rhythmlab.practice.session import Plan, plan
from rhythmlab.refusal import Refusal
from rhythmlab.text import numbers

_EXAMPLE = "practice.Ladder(84, 120)"
#: A step is about 4 % and at least 1 bpm (own choice, no source).
RATIO, LEAST = Fraction(26, 25), 1
_MOST, _DIGITS = 1000, 18
_TODAY = "practice.Ladder(84, 120).plan(30, today=practice.Journal().day())"
_STANDING = "practice.Ladder(84, 120).days(practice.Ladder(84, 120).climb([]))"


@dataclass(frozen=True, slots=True)
class Standing(InNotebook):
    """Where to stand now.

    Attributes
    ----------
    step : int
        Index of the step.
    bpm : Fraction
        Its tempo.
    failing : int
        How many cold takes in a row have failed at it.
    reached : bool
        Whether a cold take has passed at the goal, and the ladder has not gone down since.
    counted : int
        How many cold takes counted.
    text : str
        All of this in sentences.
    last : date or None
        The day of practice of the last one that counted; ``None`` where none has.
    """

    step: int
    bpm: Fraction
    failing: int
    reached: bool
    counted: int
    text: str
    last: date | None = None


@dataclass(frozen=True, slots=True)
class Days(InNotebook):
    """How many days of practice it takes.

    Attributes
    ----------
    best, half : int
        If every cold take passes, and if every second one does.
    text : str
        Both, with what is assumed.
    """

    best: int
    half: int
    text: str


@public_class(
    "practice.Ladder(60, 96)",
    climb="practice.Ladder(60, 96).climb([])",
    climb_each="practice.Ladder(60, 96).climb_each([])",
    days="practice.Ladder(60, 96).days()",
)
class Ladder(InNotebook):
    """Steps from a tested tempo to a goal.

    Parameters
    ----------
    now, goal : number or Tempo
        Beats a minute, exact, or a tempo of a pulse; the goal is not below.
    step : number, optional
        Beats a minute from one step to the next; about 4 % and at least 1 bpm when left out (own choice).
    pulse : int, optional
        Index of the pulse that has this tempo.  Takes whose tempo is of another pulse are converted.

    Attributes
    ----------
    steps : tuple of Fraction
        Rising tempos: `now` first, whole numbers of about equal ratio, `goal` last.

    Raises
    ------
    ValueError
        If a tempo is not a finite number above 0, the goal is below or over 1000 bpm, or there would be
        over 1000 steps.

    Examples
    --------
    >>> Ladder(84, 100)
    Ladder(84 87 90 93 97 100)
    >>> Ladder(84, 100, step=6).steps[-2:]
    (Fraction(96, 1), Fraction(100, 1))
    """

    def __init__(
        self, now: Speed, goal: Speed, *, step: Number | None = None, pulse: int | None = None
    ) -> None:
        first, last, of = _of_one_pulse(now, goal, pulse)
        self.now, self.goal = positive(first, "now", _EXAMPLE), positive(last, "goal", _EXAMPLE)
        self.pulse = None if of is None else whole(of, "pulse", "practice.Ladder(84, 120, pulse=1)", 0, 1_000)
        if self.goal < self.now:
            raise Refusal(
                f"goal={numbers.number(self.goal)} is below now={numbers.number(self.now)}, "
                "and a ladder rises",
                _EXAMPLE,
                argument="goal",
            )
        if self.goal > FASTEST:
            raise Refusal(
                f"goal={numbers.number(self.goal)} is over {numbers.number(FASTEST)} bpm",
                _EXAMPLE,
                argument="goal",
            )
        by = None if step is None else positive(step, "step", "practice.Ladder(84, 120, step=4)")
        self.steps = _even_steps(self.now, self.goal) if by is None else _steps_by(self.now, self.goal, by)

    def __repr__(self) -> str:
        return f"Ladder({numbers.some(map(numbers.number, self.steps), joint=' ')})"

    def climb(
        self,
        takes: Iterable[Mapping[str, Any]] | PastTakes,
        *,
        pair: Rhythm | str | None = None,
        limbs: str | None = None,
        spread: Number = 4,
        missed: Number = Fraction(1, 20),
    ) -> Standing:
        """Say where to stand now, from what was played.

        Only the first take of a day at the step counts, of this pair with these limbs: it shows what has
        stayed.  If it passes, the ladder goes up one, as a pass above the step does; two that fail in a row
        take it down one.  A take that was told to mend something, such as a late hand, does not pass.
        A take below the step, or a failure above it, changes nothing, and the first one at the step still
        counts on that day.
        All of these rules are our own choice.

        Parameters
        ----------
        takes : iterable of dict
            From a journal, in any order; entries that are no takes are left out.
        pair, limbs : optional
            Which takes to look at, where there are several kinds: each has a ladder of its own.
        spread : number
            Largest spread that passes, percent of the interval: 4 is about a novice's tapping
            (tap_sd_novice), 2 a trained player's (tap_sd_trained).
        missed : number
            Largest share of missed strokes that passes (own choice).

        Raises
        ------
        ValueError
            If the takes are of several pairs or limbs and none is chosen, or a take has no tempo or time.

        Examples
        --------
        >>> day = '2030-05-0{}T18:00:00+02:00'
        >>> takes = [{"when": day.format(n), "bpm": 84 + 3 * n, "spread_percent": 3, "missed": 0,
        ...           "meant": 40} for n in range(3, 5)]
        >>> Ladder(84, 100).climb(takes).bpm
        Fraction(90, 1)
        """
        most = positive(
            spread,
            "spread",
            "practice.Ladder(84, 120).climb(practice.Journal().takes(), spread=4)",
            most=1_000,
        )
        example = "practice.Ladder(84, 120).climb(practice.Journal().takes(), missed=0.05)"
        share = positive(missed, "missed", example, most=1, zero=True)
        at, failing, counted, reached, last = 0, 0, 0, False, "No first take of a day has counted yet."
        top, today = len(self.steps) - 1, None
        for row in past_takes(takes, pair=pair, limbs=limbs, pulse=self.pulse):
            if row.day == today:
                continue
            why, bpm = row.failing(most, share), self.steps[at]
            if row.bpm < bpm or (why and row.bpm > bpm):
                side = "below" if row.bpm < bpm else "above"
                tempo = numbers.number(row.bpm)
                last = f"The take of {row.day} at {tempo} bpm was {side} the step, so it changes nothing."
                continue
            today, counted = row.day, counted + 1
            last = f"The first take of {row.day}, at {numbers.number(row.bpm)} bpm,"
            if why:
                failing += 1
                last += f" did not pass: {why}."
                if failing == 2:
                    down = "the ladder went down one step" if at else "the first step stays"
                    last += f" It was the second in a row, so {down}."
                    at, failing, reached = max(at - 1, 0), 0, False
            else:
                failing, reached = 0, reached or at == top
                at = min(at + 1, top)
                last += f" passed{'' if reached else ', so the ladder went up'}."
        text = f"Stand at {numbers.number(self.steps[at])} bpm, step {at + 1} of {top + 1}."
        if reached:
            text = f"The goal of {numbers.number(self.goal)} bpm has passed cold."
        return Standing(at, self.steps[at], failing, reached, counted, f"{text} {last}", today)

    def climb_each(
        self,
        takes: Iterable[Mapping[str, Any]],
        *,
        spread: Number = 4,
        missed: Number = Fraction(1, 20),
    ) -> dict[tuple[object, str], Standing]:
        """Say where to stand for each pair and its limbs: every one has its own place on the ladder.

        Parameters
        ----------
        takes : iterable of dict
            As for `climb`.
        spread, missed : number
            As for `climb`.

        Returns
        -------
        dict
            ``{((4, 3), "hands"): Standing, ...}``, in the order they were first played.
        """
        rows = takes_in(takes, "practice.Ladder(84, 120).climb_each(practice.Journal().takes())")
        played = [take for take in rows if take.get("kind", "take") == "take"]
        kinds = dict.fromkeys(map(kind_of, played))
        return {
            kind: self.climb([take for take in played if kind_of(take) == kind], spread=spread, missed=missed)
            for kind in kinds
        }

    def days(self, standing: Standing | None = None) -> Days:
        """Say how many days of practice it takes to pass the goal cold.

        Parameters
        ----------
        standing : Standing, optional
            From `climb`; the first step when left out.

        Examples
        --------
        >>> Ladder(84, 100).days().text
        '6 steps are left: 6 days of practice at one step a day at best, 12 if every second first take \
passes. Both are assumptions (own choice, no source): it can take longer, and days off come on top.'
        """
        self._check_standing(standing)
        left = len(self.steps) - (standing.step if standing else 0)
        if standing and standing.reached:
            return Days(0, 0, "No step is left: the goal has passed cold.")
        verb = "is" if left == 1 else "are"
        said = (
            f"{numbers.plural(left, 'step')} {verb} left: {numbers.plural(left, 'day')} of practice at one "
            f"step a day at best, {2 * left} if every second first take passes. Both are assumptions (own "
            "choice, no source): it can take longer, and days off come on top."
        )
        return Days(left, 2 * left, said)

    @public("practice.Ladder(60, 96).plan(20)", bounds="limits")
    def plan(
        self,
        minutes: int,
        standing: Standing | None = None,
        *,
        yesterday: Number | None = None,
        limits: Limits | None = None,
        today: date | None = None,
    ) -> Plan:
        """Plan a session at the step where to stand; see `plan`.

        Parameters
        ----------
        minutes : int
            Length of the session, breaks included.
        standing : Standing, optional
            From `climb`; the first step when left out.
        yesterday : number, optional
            Minutes of the last day of practice.
        limits : Limits, optional
            The limits of care to use.
        today : date, optional
            The day of practice, from `Journal.day`: where the first take of it has counted already, the
            plan has what comes after it.

        Examples
        --------
        >>> take = {"when": "2030-05-04T18:00:00+02:00", "bpm": 84, "spread_percent": 3, "missed": 0,
        ...         "meant": 40}
        >>> ladder = Ladder(84, 100)
        >>> [piece.kind for piece in ladder.plan(20, ladder.climb([take]), today=date(2030, 5, 4))]
        ['work', 'work']
        """
        self._check_standing(standing)
        if today is not None:
            today = a(date, today, "today", _TODAY)
            today = day_of(today) if isinstance(today, datetime) else today
        bpm = standing.bpm if standing else self.now
        taken = standing is not None and standing.last is not None and standing.last == today
        return plan(minutes, bpm=bpm, yesterday=yesterday, limits=limits, taken=taken)

    def _check_standing(self, standing: object) -> None:
        """Refuse a standing that is none, or not on this ladder."""
        if standing is not None:
            standing = a(Standing, standing, "standing", _STANDING)
            if not standing.step < len(self.steps):
                raise Refusal(
                    f"standing={short(standing)} is on step {standing.step + 1} of another ladder; "
                    f"this one has {len(self.steps)}",
                    _STANDING,
                    argument="standing",
                )


def _of_one_pulse(now: object, goal: object, pulse: object) -> tuple[object, object, object]:
    """Return two tempos, or a tempo and a number, as numbers of one pulse, and that pulse."""
    example = "practice.Ladder(Tempo(84, pulse=1), Tempo(120, pulse=1))"
    for name, one in (("now", now), ("goal", goal)):
        if not isinstance(one, Tempo):
            continue
        if one.pulse is None:
            raise Refusal(f"{name}={short(one)} says no pulse that has this tempo", example, argument=name)
        if pulse is not None and pulse != one.pulse:
            raise Refusal(
                f"{name}={short(one)} is of another pulse than {short(pulse)}", example, argument=name
            )
        pulse = one.pulse
    first, last = (one.bpm if isinstance(one, Tempo) else one for one in (now, goal))
    return first, last, pulse


def _even_steps(now: Fraction, goal: Fraction) -> tuple[Fraction, ...]:
    """Return steps of equal ratio, rounded to whole numbers at least 1 apart, exactly."""
    count, reach = 1, now * RATIO
    while reach < goal:
        count, reach = count + 1, reach * RATIO
        _check_count(count, now, goal)
    if max(now.denominator, goal.denominator) >= 10**_DIGITS:
        raise Refusal(
            f"from {numbers.number(now)} to {numbers.number(goal)} bpm has more than {_DIGITS} "
            "digits behind the point",
            _EXAMPLE,
        )
    steps = [now]
    for i in range(1, count):
        # The whole number nearest to now * (goal / now) ** (i / count): a guess, then made exact.
        power = now ** (count - i) * goal**i
        near = round(float(now) * (float(goal) / float(now)) ** (i / count))
        while (near + Fraction(1, 2)) ** count <= power:
            near += 1
        while near > 0 and (near - Fraction(1, 2)) ** count > power:
            near -= 1
        if near - steps[-1] >= LEAST and goal - near >= LEAST:
            steps.append(Fraction(near))
    return (*steps, goal) if goal > now else (now,)


def _steps_by(now: Fraction, goal: Fraction, by: Fraction) -> tuple[Fraction, ...]:
    """Return steps of so many beats a minute, the goal last."""
    count = ceil((goal - now) / by)
    _check_count(count, now, goal)
    return (*(now + i * by for i in range(count)), goal)


def _check_count(count: int, now: Fraction, goal: Fraction) -> None:
    """Refuse a ladder of too many steps."""
    if count > _MOST:
        raise Refusal(
            f"from {numbers.number(now)} to {numbers.number(goal)} bpm is more than {_MOST} steps", _EXAMPLE
        )

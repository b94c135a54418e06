"""A plan for a workshop: timings that add up, what to say, to ask and to run, breaks, cautions and pairs."""

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape

import ipywidgets as widgets

from rhythmlab import words
from rhythmlab.core.call import public
from rhythmlab.core.check import short, whole
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.shown import Quiet
from rhythmlab.panels.fields import menu, text
from rhythmlab.panels.fields import whole as minutes_in
from rhythmlab.panels.plan_parts import LEVELS, UNITS, Unit
from rhythmlab.panels.refused import Line
from rhythmlab.panels.stage.stage import Keeper
from rhythmlab.panels.told import told
from rhythmlab.playing.limits import Limit, limits
from rhythmlab.playing.order import Rungs, order
from rhythmlab.refusal import Refusal

#: Shortest and longest workshop, in minutes.
SHORTEST, LONGEST = 30, 240
#: Most minutes from break to break: with a break of five it is the published five in every thirty.
STRETCH, BREAK = 25, 5
#: Least minutes for a part in which the room plays (a choice, no source).
PART = 10
_EXAMPLE = 'workshop_plan(120, "first time")'
#: The limits that a leader of a room has to know, and how each is said.
_CAUTIONS = {
    "loudness": "Where people work, at most {value} {unit}",
    "loudness_exchange": "Every {value} {unit} more halves the time",
    "loudness_week": "For adults {value} {unit}",
    "loudness_week_child": "For children {value} {unit}",
    "practice_break": "A break of {value} {unit}",
    "practice_warmup": "Warm up for {value} {unit} before anything fast",
    "practice_increase": "Practise at most {value} {unit} more than the day before",
    "flash": "Nothing on the screen flashes more than {value} times a second",
}
_ALWAYS = (
    "Ear protection next to an acoustic kit, also for whoever teaches; soft claps.",
    "Stop at tightness in the forearm. For pain, numbness or tingling stop, and see a clinician.",
    "The rules of the house and of your workplace come first.",
)
_OPEN = Unit(
    "Welcome, ears and hands", 0,
    "How loud it will be, where the breaks are, and that anybody may stop at any time. Find the level of the "
    "last row on the wall's volume.",
    "Who has played today already, and whose hands hurt?",
    (("the wall", "put-two-numbers-on-the-wall.ipynb"),), (),
)  # fmt: skip
_CLOSE = Unit(
    "What to take home", 0,
    "One pair, one tempo, one way to learn it. Tomorrow, cold, at the tempo that was easy today.",
    "Which pair will you show to somebody tomorrow?",
    (("page 08", "../08-practise-and-keep-a-journal.ipynb"),), (),
)  # fmt: skip
_REST = Unit("Break", 0, "Hands still, ears free: no sound from the loudspeaker.", "", (), ())


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of a workshop.

    Attributes
    ----------
    start, minutes : int
        When it begins, from the start of the workshop, and how long it is.
    kind : str
        ``"talk"``, ``"play"`` or ``"break"``.
    unit : Unit
        What it is about.
    """

    start: int
    minutes: int
    kind: str
    unit: Unit


@dataclass(frozen=True)
class Workshop:
    """A plan for a workshop; prints as text, and shows as a table in a notebook.

    Attributes
    ----------
    minutes : int
        How long it is.
    level : str
        For whom.
    parts : tuple of Part
        In order, from the first minute to the last.
    pairs : Rungs
        What is played, by difficulty.
    cautions : tuple of str
        What to take care of, each with its source.
    """

    minutes: int
    level: str
    parts: tuple[Part, ...]
    pairs: Rungs
    cautions: tuple[str, ...]

    def __repr__(self) -> str:
        return "\n".join(self._lines())

    def _lines(self) -> Iterator[str]:
        yield f"{self.title}."
        for part in self.parts:
            yield f"\n{clock(part.start)}  {part.unit.name}, {words.plural(part.minutes, 'minute')}"
            yield f"  Say: {part.unit.say}"
            if part.unit.ask:
                yield f"  Ask: {part.unit.ask}"
            if part.unit.run:
                yield f"  Run: {', '.join(name for name, _ in part.unit.run)}{_numbers(part.unit)}"
        yield f"\n{clock(self.minutes)}  End"
        yield "\nTake care:"
        yield from (f"- {caution}" for caution in self.cautions)
        yield "\nPairs by difficulty:"
        yield from (f"{nth}. {rung.why}" for nth, rung in enumerate(self.pairs, 1))

    @property
    def title(self) -> str:
        """What it is, in a line."""
        return f"A workshop of {words.plural(self.minutes, 'minute')} for a room that {_WHO[self.level]}"

    def _repr_html_(self) -> str:
        heads = ("from", "minutes", "part", "say", "ask", "run")
        head = "".join(f'<th scope="col" style="text-align:left">{name}</th>' for name in heads)
        rows = "".join(_row(part) for part in self.parts)
        care = "".join(f"<li>{escape(caution)}</li>" for caution in self.cautions)
        pairs = "".join(f"<li>{escape(rung.why)}</li>" for rung in self.pairs)
        end = f'<tr><th scope="row">{clock(self.minutes)}</th><td colspan="5">End</td></tr>'
        return (
            f'<table style="text-align:left"><caption style="text-align:left">{escape(self.title)}</caption>'
            f"<thead><tr>{head}</tr></thead><tbody>{rows}{end}</tbody></table>"
            f"<h3>Take care</h3><ul>{care}</ul><h3>Pairs by difficulty</h3><ol>{pairs}</ol>"
        )


_WHO = dict(
    zip(LEVELS, ("does this for the first time", "knows 3 against 2", "plays 7 against 4"), strict=True)
)


def _numbers(unit: Unit) -> str:
    return (
        f", with {words.listed([words.pair(Polyrhythm(*pair)) for pair in unit.pairs])}" if unit.pairs else ""
    )


def _row(part: Part) -> str:
    unit = part.unit
    links = ", ".join(f'<a href="{escape(link)}">{escape(name)}</a>' for name, link in unit.run)
    said = [escape(unit.say), escape(unit.ask), f"{links}{escape(_numbers(unit))}"]
    cells = "".join(f'<td style="text-align:left;white-space:normal">{cell}</td>' for cell in said)
    name = escape(unit.name)
    return (
        f'<tr><th scope="row">{clock(part.start)}</th><td>{part.minutes}</td>'
        f'<td style="text-align:left">{f"<b>{name}</b>" if part.kind == "play" else name}</td>{cells}</tr>'
    )


def clock(minutes: int) -> str:
    """Return minutes from the start as hours and minutes.

    Examples
    --------
    >>> clock(0), clock(95)
    ('0:00', '1:35')
    """
    return f"{minutes // 60}:{minutes % 60:02}"


def workshop(minutes: int = 120, level: str = "first time") -> Workshop:
    """Plan a workshop.

    Parameters
    ----------
    minutes : int
        How long it is, from 30 to 240.
    level : str
        One of `LEVELS`.

    Returns
    -------
    Workshop
        Its parts add up to the minutes, and hands play no longer than 25 minutes from break to break.

    Raises
    ------
    ValueError
        If it is too short or too long, or there is no such level.

    Examples
    --------
    >>> plan = workshop(60)
    >>> [(clock(part.start), part.minutes, part.kind) for part in plan.parts][:3]
    [('0:00', 3, 'talk'), ('0:03', 12, 'play'), ('0:15', 12, 'play')]
    >>> sum(part.minutes for part in plan.parts)
    60
    """
    total = whole(minutes, "minutes", _EXAMPLE)
    if not SHORTEST <= total <= LONGEST:
        raise Refusal(
            f"minutes={short(total)} is not from {SHORTEST} to {LONGEST}: plan a shorter "
            "one as a lesson, a longer one as two workshops",
            _EXAMPLE,
            argument="minutes",
        )
    if not isinstance(level, str) or level not in UNITS:
        raise Refusal(f"level={short(level)} is not one of {', '.join(LEVELS)}", _EXAMPLE, argument="level")
    ends = max(3, total // 24)
    breaks = next(n for n in range(total) if total - 2 * ends - n * BREAK <= (n + 1) * STRETCH)
    play = total - 2 * ends - breaks * BREAK
    stretches = _shares(play, breaks + 1)
    count = min(len(UNITS[level]), max(breaks + 1, play // PART))
    chosen = sorted(UNITS[level], key=lambda unit: unit.rank)[:count]
    units = [unit for unit in UNITS[level] if unit in chosen]
    parts, now = [], 0

    def add(length: int, kind: str, unit: Unit) -> None:
        nonlocal now
        parts.append(Part(now, length, kind, unit))
        now += length

    add(ends, "talk", _OPEN)
    for nth, (stretch, many) in enumerate(zip(stretches, _shares(count, breaks + 1), strict=True)):
        if nth:
            add(BREAK, "break", _REST)
        for length in _shares(stretch, many):
            add(length, "play", units.pop(0))
    add(ends, "talk", _CLOSE)
    pairs = {pair for part in parts for pair in part.unit.pairs if len(pair) == 2}
    rungs = order(Polyrhythm(*pair) for pair in pairs)
    return Workshop(total, level, tuple(parts), rungs, _cautions())


def _shares(total: int, many: int) -> list[int]:
    """Return whole numbers that add up to a total, as equal as they can be.

    Examples
    --------
    >>> _shares(23, 2)
    [11, 12]
    """
    return [total * (i + 1) // many - total * i // many for i in range(many)]


def _cautions() -> tuple[str, ...]:
    rows = limits()
    return (*(_caution(rows[key], said) for key, said in _CAUTIONS.items()), *_ALWAYS)


def _caution(limit: Limit, said: str) -> str:
    value = words.number(limit.value)
    status = "" if limit.status == "read" else f", {limit.status}"
    return f"{said.format(value=value, unit=limit.unit)} ({limit.named}{status})."


class WorkshopPlan(Quiet, widgets.VBox):
    """A plan for a workshop, with a field for its length and a menu of levels.

    Parameters
    ----------
    minutes : int
        How long it is.
    level : str
        For whom.

    Attributes
    ----------
    plan : Workshop
        What is shown.
    """

    def __init__(self, minutes: int, level: str) -> None:
        self.plan = workshop(minutes, level)
        self.line, self.stage = Line(), _Notice()
        self._minutes = text("minutes", self.plan.minutes)
        self._level = menu("level", [(name, name) for name in LEVELS], 140)
        self._level.value = level
        self._shown, self._twin = widgets.Output(), widgets.HTML()
        for field in (self._minutes, self._level):
            field.observe(self._changed, names=["value"])
        row = widgets.HBox([self._minutes, self._level])
        super().__init__([row, self.line, self.stage, self._shown, self._twin, Keeper()])
        self.add_class("rl-kept")  # an output of ours: its keys stay in it
        self._show()

    def __str__(self) -> str:
        return repr(self.plan)

    def _refused(self) -> None:
        """Return nothing: both fields are followed together, or one is refused."""

    @told
    def _changed(self, _: object) -> None:
        typed = minutes_in(self._minutes.value, "minutes", LONGEST, 120, least=SHORTEST)
        self.plan = workshop(typed, self._level.value)
        self._show()

    def _show(self) -> None:
        """Show the table as an output of the page, in which links lead to the other pages, and the text."""
        data = {"text/html": self.plan._repr_html_(), "text/plain": repr(self.plan)}
        self._shown.outputs = ({"output_type": "display_data", "data": data, "metadata": {}},)
        self._twin.value = (
            "<details><summary>The plan as plain text</summary>"
            f"<pre style='white-space:pre-wrap'>{escape(repr(self.plan))}</pre></details>"
        )


class _Notice(widgets.HTML):
    """A line for what goes wrong in the page."""

    @property
    def notice(self) -> str:
        """What is said now."""
        return self._said if hasattr(self, "_said") else ""

    @notice.setter
    def notice(self, said: str) -> None:
        self._said = said
        self.value = f"<p role='status'><b>{escape(said)}</b></p>" if said else ""


@public("workshop_plan(120)")
def workshop_plan(minutes: int = 120, level: str = "first time") -> WorkshopPlan:
    """Plan a workshop of 30 to 240 minutes: what to say, to ask and to run, with breaks and cautions.

    Parameters
    ----------
    minutes : int
        How long it is.
    level : str
        ``"first time"``, ``"knows 3:2"`` or ``"plays 7:4"``.

    Returns
    -------
    WorkshopPlan
        ``.plan`` is the plan itself; printed, it is text.

    Examples
    --------
    >>> print(workshop_plan(120).plan.title)
    A workshop of 120 minutes for a room that does this for the first time
    """
    return WorkshopPlan(minutes, level)

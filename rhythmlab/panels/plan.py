"""A plan for a workshop: parts that add up to its minutes, with what to say, ask and run, and cautions."""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from html import escape
from pathlib import Path

import ipywidgets as widgets

from rhythmlab.core.check import bpm as check_bpm
from rhythmlab.core.check import short, whole
from rhythmlab.core.display import Quiet, table
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.tempo import Tempo
from rhythmlab.core.types import Number
from rhythmlab.panels.controls import menu, read_bpm, read_whole, text
from rhythmlab.panels.errors import ErrorLine, FieldRefusal, shows_errors
from rhythmlab.panels.fold import Fold
from rhythmlab.panels.handed import follow, remembered_hands
from rhythmlab.panels.linked import opens
from rhythmlab.panels.stage.stage import Form, Keeper
from rhythmlab.panels.wall import GAPS
from rhythmlab.playing.approach import approach, called_tempo, fitting_view
from rhythmlab.playing.learning import Rungs, learning_order
from rhythmlab.playing.limits import Limit, limits
from rhythmlab.practice.set_list import FILE, SetList, line_of, parsed
from rhythmlab.refusal import Refusal
from rhythmlab.text import descriptions, numbers, sentences

#: For whom a workshop is planned.
LEVELS = ("first time", "knows 3:2", "plays 7:4")
#: Shortest and longest workshop, in minutes.
SHORTEST, LONGEST = 30, 240
#: Most minutes from break to break: with a break of five it is the published five in every thirty.
STRETCH, BREAK = 25, 5
#: Beats a minute of home that the items of its set list start at, and those that drift (a choice, no source).
BPM, DRIFT_BPM = 72, 100
#: Least minutes for a part in which the room plays (a choice, no source).
PART = 10
_EXAMPLE = 'pages.workshop_plan(120, "first time")'
_WHO = dict(
    zip(LEVELS, ("does this for the first time", "knows 3 against 2", "plays 7 against 4"), strict=True)
)


@dataclass(frozen=True, slots=True)
class Unit:
    """A part of a workshop in which the room plays.

    Attributes
    ----------
    name : str
        What it is about.
    rank : int
        The lower it is, the sooner it is taken where there is little time.
    say, ask : str
        What to say, and what to ask the room.
    run : tuple of tuple of str
        What to open: each a name and a link from the folder of the workshop.
    pairs : tuple of tuple of int
        What is played.
    lines : tuple of str
        Lines of a set list for what is no pair, such as a phrase.
    words : str
        What the room says on the line of its pair, if there are words for it.
    """

    name: str
    rank: int
    say: str
    ask: str
    run: tuple[tuple[str, str], ...]
    pairs: tuple[tuple[int, ...], ...]
    lines: tuple[str, ...] = ()
    words: str = ""


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
    bpm : Fraction
        Of the second number of each pair, in the set list; neighbours such as 16 and 15 go at 100 at least.
    """

    minutes: int
    level: str
    parts: tuple[Part, ...]
    pairs: Rungs
    cautions: tuple[str, ...]
    bpm: Fraction = Fraction(BPM)

    def __repr__(self) -> str:
        return "\n".join(self._sentences())

    def _sentences(self) -> Iterator[str]:
        yield f"{self.title}."
        for part in self.parts:
            yield f"\n{clock(part.start)}  {part.unit.name}, {numbers.plural(part.minutes, 'minute')}"
            yield f"  {sentences.order_to_say(part.unit.say)}"
            if part.unit.ask:
                yield f"  Ask: {part.unit.ask}"
            if part.unit.run:
                yield f"  Run: {', '.join(name for name, _ in part.unit.run)}{_pairs_text(part.unit)}"
        yield f"\n{clock(self.minutes)}  End"
        yield "\nTake care:"
        yield from (f"- {caution}" for caution in self.cautions)
        yield "\nPairs by difficulty:"
        yield from (f"{nth}. {rung.why}" for nth, rung in enumerate(self.pairs, 1))

    @property
    def title(self) -> str:
        """The length and the level, in one line."""
        return f"A workshop of {numbers.plural(self.minutes, 'minute')} for a room that {_WHO[self.level]}"

    def set_list(self) -> str:
        r"""Return the parts in which the room plays as a set list, a line an item, each part under its words.

        Examples
        --------
        >>> for line in workshop(30).set_list().splitlines()[:4]:
        ...     print(line[:96])
        # A workshop of 30 minutes for a room that does this for the first time.
        # 0:03 Three against two, by its words. Say it before you clap it: together, right, left, right.
        # Ask: How many sounds are there, and how many claps?
        pair | pulses: 3 2 | home: 2 | bpm: 72 | title: Three against two, by its words | sentence: *tog
        """
        rows = [f"# {self.title}."]
        for part in (part for part in self.parts if part.kind == "play"):
            unit = part.unit
            rows += [
                f"# {clock(part.start)} {unit.name}. {sentences.order_to_say(unit.say)}",
                f"# Ask: {unit.ask}",
            ]
            named = [Polyrhythm(*pair) for pair in unit.pairs]
            for p in named:
                home, title = len(p.pulses) - 1, unit.name
                if len(named) > 1:  # the pair first: a long title is cut at its end
                    title = f"{descriptions.pair(p)}: {title[0].lower()}{title[1:]}"
                view = GAPS if fitting_view(p) == GAPS else ""
                wanted = max(self.bpm, Fraction(DRIFT_BPM if view else 0))
                bpm = called_tempo(approach(p, wanted, home=home))
                words = f" | sentence: {unit.words}" if unit.words else ""
                rows.append(line_of(p, Tempo(bpm, pulse=home), home, view=view, title=title) + words)
            rows += [f"{line} | title: {unit.name}" for line in unit.lines]
        return "\n".join(rows) + "\n"

    def _repr_html_(self) -> str:
        heads = ("from", "minutes", "part", "say", "ask", "run")
        rows = [*map(_row, self.parts), (clock(self.minutes), "", "End")]
        care = "".join(f"<li>{escape(caution)}</li>" for caution in self.cautions)
        pairs = "".join(f"<li>{escape(rung.why)}</li>" for rung in self.pairs)
        return (
            f"{table(self.title, heads, rows)}"
            f"<h3>Take care</h3><ul>{care}</ul><h3>Pairs by difficulty</h3><ol>{pairs}</ol>"
        )


def workshop(
    minutes: int = 120, level: str = "first time", left_handed: bool = False, bpm: Number = BPM
) -> Workshop:
    """Plan a workshop; its parts add up to the minutes, with at most 25 minutes of play from break to break.

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
    every = units_of(level, left_handed)
    count = min(len(every), max(breaks + 1, play // PART))
    chosen = sorted(every, key=lambda unit: unit.rank)[:count]
    units = [unit for unit in every if unit in chosen]
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
    pairs = {Polyrhythm(*pair).reduced for part in parts for pair in part.unit.pairs if len(pair) == 2}
    rungs = learning_order(pairs)
    tempo = check_bpm(bpm, "bpm", "pages.workshop_plan(120, bpm=92)")
    return Workshop(total, level, tuple(parts), rungs, _cautions(), tempo)


class WorkshopPlan(Quiet, widgets.VBox):
    """A plan for a workshop, with a field for its length and a menu of levels.

    Parameters
    ----------
    minutes : int
        How long it is.
    level : str
        For whom.
    bpm : number
        Of the second number of each pair, in the set list.

    Attributes
    ----------
    plan : Workshop
        What is shown.
    """

    def __init__(self, minutes: int, level: str, bpm: Number = BPM) -> None:
        self.plan = workshop(minutes, level, remembered_hands(), bpm)
        self.line, self.stage = ErrorLine(), _PlanNotice()
        self._minutes = text("minutes", self.plan.minutes)
        self._level = menu("level", [(name, name) for name in LEVELS], 140)
        self._level.value = level
        self._bpm = text("bpm of the set list", numbers.number(self.plan.bpm), example=BPM)
        self._shown, self._twin = widgets.Output(), Fold(heading="The plan as plain text")
        for field in (self._minutes, self._level, self._bpm):
            field.observe(self._changed, names=["value"])
        self._listed = widgets.Button(description="Make a set list", layout=widgets.Layout(width="auto"))
        self._listed.on_click(self._make_list)
        fields = [self._minutes, self._level, self._bpm, self._listed]
        row = {"fields": fields, "note": self.stage, "answers": True, "line": self.line}
        super().__init__([Form(parts={"rows": [row]}), self._shown, self._twin, Keeper()])
        self.add_class("rl-kept")  # an output of ours: its keys stay in it
        self._show()
        follow(self)

    def hands_chosen(self, left_handed: bool) -> None:
        """Show the plan for these hands from now on."""
        self.plan = workshop(self.plan.minutes, self.plan.level, left_handed, self.plan.bpm)
        self._show()

    def __str__(self) -> str:
        return repr(self.plan)

    def _read_minutes(self) -> int:
        return read_whole(self._minutes.value, "minutes", LONGEST, 120, least=SHORTEST)

    def _read_bpm(self) -> Fraction:
        return read_bpm(self._bpm.value, "bpm of the set list")

    def _refused(self) -> list[FieldRefusal]:
        """Return which fields cannot be read."""
        found = []
        for read in (self._read_minutes, self._read_bpm):
            try:
                read()
            except FieldRefusal as error:
                found.append(error)
        return found

    @shows_errors
    def _changed(self, _: object) -> None:
        typed, bpm = self._read_minutes(), self._read_bpm()
        self.plan = workshop(typed, self._level.value, remembered_hands(), bpm)
        self._show()

    @shows_errors
    def _make_list(self, _: object) -> None:
        """Write the plan as a set list, beside any that is there, and say how to open it."""
        text, songs = self.plan.set_list(), SetList().free()
        songs.save(text)
        name = songs.path.name
        given = "" if name == FILE else f'"{Path(os.path.relpath(songs.path)).as_posix()}"'
        count = numbers.plural(len(parsed(text)), "item")
        shown = "open workshop/step-through-a-set-list.ipynb, or run " if name == FILE else "run "
        self.stage.notice = (
            f"{count} kept in {name}: {shown}rl.pages.set_list({given}), to step through them."
        )
        page = songs.path.parent / "workshop" / "step-through-a-set-list.ipynb"
        linked = [songs.path, page] if name == FILE and page.exists() else [songs.path]
        self.stage.value += f"<p>{opens(linked)}</p>"

    def _show(self) -> None:
        """Show the table as an output, so that its links lead to the other pages, and the plan as text."""
        data = {"text/html": self.plan._repr_html_(), "text/plain": repr(self.plan)}
        self._shown.outputs = ({"output_type": "display_data", "data": data, "metadata": {}},)
        self._twin.inside = f"<pre style='white-space:pre-wrap'>{escape(repr(self.plan))}</pre>"


class _PlanNotice(widgets.HTML):
    """A line for the errors that belong to no field."""

    @property
    def notice(self) -> str:
        """The text that is shown now."""
        return getattr(self, "_notice", "")

    @notice.setter
    def notice(self, text: str) -> None:
        self._notice = text
        self.value = f"<p role='status'><b>{escape(text)}</b></p>" if text else ""


@public("pages.workshop_plan(120)")
def workshop_plan(minutes: int = 120, level: str = "first time", *, bpm: Number = BPM) -> WorkshopPlan:
    """Plan a workshop of 30 to 240 minutes: what to say, to ask and to run, with breaks and cautions.

    Parameters
    ----------
    minutes : int
        How long it is.
    level : str
        ``"first time"``, ``"knows 3:2"`` or ``"plays 7:4"``.
    bpm : number
        Of the second number of each pair, in the set list that is made of it.

    Returns
    -------
    WorkshopPlan
        ``.plan`` is the plan itself; printed, it is text.

    Examples
    --------
    >>> print(workshop_plan(120).plan.title)
    A workshop of 120 minutes for a room that does this for the first time
    """
    return WorkshopPlan(minutes, level, bpm)


def _shares(total: int, many: int) -> list[int]:
    """Return `many` whole numbers that add up to a total, as equal as they can be.

    Examples
    --------
    >>> _shares(23, 2)
    [11, 12]
    """
    return [total * (i + 1) // many - total * i // many for i in range(many)]


def clock(minutes: int) -> str:
    """Return minutes from the start as hours and minutes.

    Examples
    --------
    >>> clock(0), clock(95)
    ('0:00', '1:35')
    """
    return f"{minutes // 60}:{minutes % 60:02}"


def _row(part: Part) -> tuple[str, ...]:
    """Return the cells of a row of the table."""
    unit, name = part.unit, escape(part.unit.name)
    links = ", ".join(f'<a href="{escape(link)}">{escape(name)}</a>' for name, link in unit.run)
    said = (escape(unit.say), escape(unit.ask), f"{links}{escape(_pairs_text(unit))}")
    return clock(part.start), str(part.minutes), f"<b>{name}</b>" if part.kind == "play" else name, *said


def _pairs_text(unit: Unit) -> str:
    """Return the pairs of a unit as the end of what to run."""
    return (
        f", with {sentences.listed([descriptions.pair(Polyrhythm(*pair)) for pair in unit.pairs])}"
        if unit.pairs
        else ""
    )


def _cautions() -> tuple[str, ...]:
    """Return every caution of a plan."""
    rows = limits()
    return (*(_caution(rows[key], template) for key, template in _CAUTIONS.items()), *_ALWAYS)


def _caution(limit: Limit, template: str) -> str:
    """Return a caution with its value, source and status."""
    value = numbers.number(limit.value)
    status = "" if limit.status == "read" else f", {limit.status}"
    return f"{template.format(value=value, unit=limit.unit)} ({limit.named}{status})."


#: The limits that the leader of a workshop must know, each as a sentence.
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

_WALL = ("the wall", "put-two-numbers-on-the-wall.ipynb")
_PAGES = {
    0: "00-make-two-numbers-one-rhythm.ipynb",
    1: "01-find-the-shared-grid.ipynb",
    2: "02-merge-two-pulses.ipynb",
    3: "03-choose-the-home-pulse.ipynb",
    4: "04-follow-the-gap-cycle.ipynb",
    5: "05-choose-how-to-learn-it.ipynb",
    6: "06-phrase-and-stick-large-numbers.ipynb",
    7: "07-put-it-in-a-groove.ipynb",
    8: "08-practise-and-keep-a-journal.ipynb",
}


def _unit(
    name: str,
    rank: int,
    pages: tuple[int, ...],
    pairs: tuple[tuple[int, ...], ...],
    say: str,
    ask: str,
    *lines: str,
    words: str = "",
) -> Unit:
    named = [(f"page {page:02}", f"../{_PAGES[page]}") for page in pages]
    return Unit(name, rank, say, ask, (_WALL, *named), pairs, lines, words)


def units_of(level: str, left_handed: bool = False) -> tuple[Unit, ...]:
    """Return the parts of a level, with hands and halves mirrored for left-handed players.

    Examples
    --------
    >>> [units_of("first time", mirrored)[1].say.partition(": ")[2] for mirrored in (False, True)]
    ['together, right, left, right.', 'together, left, right, left.']
    """
    return _units(*descriptions.hands_of_two(left_handed))[level]


def _units(right: str, left: str) -> dict[str, tuple[Unit, ...]]:
    return {
    "first time": (
        _unit("One hand walks, one hand runs", 1, (0,), ((1, 1), (2, 1), (3, 1)),
              "Clap together, then two claps to every step, then three.",
              "Which of the two would you tap your foot to?"),
        _unit("Three against two, by its words", 0, (0,), ((3, 2),),
              f"Say it before you clap it: together, {right}, {left}, {right}.",
              "How many sounds are there, and how many claps?",
              words=f"*together, {right}, *{left}, {right}"),
        _unit("Right half, left half", 2, (), ((3, 2),),
              f"The {right} half of the room claps the upper row, the {left} half the lower one. Then "
              "change.",
              "Who hears the other half, and who only counts?"),
        _unit("Four against three, by its words", 0, (2,), ((4, 3),),
              f"Together, {right}, {left}, {right}, {left}, {right}: one line, shared by two hands.",
              "Where are the two longest spaces?",
              words=f"*together, {right}, *{left}, {right}, *{left}, {right}"),
        _unit("Two numbers from the room, 1 to 4", 1, (), ((4, 1), (4, 2)),
              f"Call out two numbers from 1 to 4: the {right} half claps the first, the {left} half the "
              "second. "
              "Equal numbers are all together; 4 and 2 is 2 and 1, twice; for 3 and 2 and for 4 and 3 say "
              "our words.",
              "Which pair would you have known without the wall?"),
        _unit("Why it works: the shared grid", 3, (1,), ((3, 2), (4, 3)),
              "Both pulses fit on one grid; find the smallest one.",
              "How many boxes does 4 against 3 need?"),
        _unit("The other home", 4, (3,), ((4, 3),),
              "Hands stay as they are. The foot goes from the 3 to the 4, and the room feels another tune.",
              "What has moved, if no stroke has?"),
        _unit("Numbers from the room", 5, (), ((5, 3), (7, 4)),
              "Call out two numbers from 2 to 9. We hear them before we judge them.",
              "Is it hard because it is fast, or because it is long?"),
        _unit("Into bars", 7, (7,), ((4, 3),),
              "Three bars of time, one bar of the pair, and everybody lands on the 1.",
              "Whose foot stopped?",
              "resolve | hands: 4 | against: 3 | metre: 3/4 | bars: 4 | bpm: 96"),
        _unit("Two that drift", 6, (4,), ((16, 15),),
              "Neighbours above ten start together, come apart and meet again. Only listen at first.",
              "When do the two sound like an echo, and when like one line?"),
        _unit("Three parts of the room", 8, (2,), ((3, 4, 5),),
              "Each third of the room has its own pulse, and all meet once a cycle.",
              "Which third do you follow when you are lost?"),
    ),
    "knows 3:2": (
        _unit("Warm up on the line", 0, (2,), ((3, 2), (4, 3)),
              "Say the merged line, sing it, rest for two cycles, and land on the one.",
              "Did the rest stay as long as the cycle?"),
        _unit("Five against four", 2, (2,), ((5, 4),),
              "4 1 3 2 2 3 1 4: the line reads the same backwards. Learn it as one line, slowly.",
              "Which stroke is just before the beat, and which is just after it?"),
        _unit("Seven against four", 1, (5,), ((7, 4),),
              "Ten sounds. Learn them as one line, slowly, and let the wall say how fast that goes.",
              "What would you do if it were twice as fast?"),
        _unit("Flip home", 3, (3,), ((4, 3), (7, 4)),
              "Foot on one home for four cycles, silent for one, then on the other.",
              "Did your hands move when home did?"),
        _unit("Numbers from the room", 4, (), ((5, 3), (7, 5)),
              "Call out two numbers. The wall says which way of learning fits, and up to which tempo.",
              "Which numbers have a common factor, and what is left of them?"),
        _unit("Bars of time, a bar of the pair", 5, (7,), ((7, 4),),
              "The feet never stop. Land on the 1, then on the 3.",
              "What did you count: the bar, or the pair?",
              "resolve | hands: 7 | against: 4 | metre: 4/4 | bars: 4 | bpm: 96"),
        _unit("A large number in small words", 6, (6,), (),
              "31 as seven fours and a three: say the groups, not the numbers.",
              "Where does the short group go, at the end or in the middle?",
              "phrase | number: 31 | groups of: 3 4 | bpm: 96"),
        _unit("Two that drift", 7, (4,), ((16, 15),),
              "Stand side by side. Follow the gap as it opens, takes turns, and closes.",
              "Which half is ahead now?"),
        _unit("Name the hidden home", 9, (3,), ((7, 4),),
              "I tap a home that you cannot hear. Look away, and feel which one makes sense of it.",
              "The 7 or the 4, and how do you know?"),
        _unit("A step for tomorrow", 8, (8,), ((5, 4), (7, 4)),
              "Find the tempo that is easy today, and write it down. Tomorrow starts there, cold.",
              "Which spot breaks first?"),
    ),
    "plays 7:4": (
        _unit("Flip on call", 0, (3,), ((7, 4),),
              "Home moves every eight cycles, then every four, then every two, and the sounds are equal.",
              "At which call did a stroke move?"),
        _unit("One pair, two ways", 2, (5,), ((5, 4),),
              "Half of the room learns the line, the other half counts. Then speed it up.",
              "Which half gives up first, and at which tempo?"),
        _unit("The drift", 1, (4,), ((16, 15),),
              "From flam to open flam to strokes apart, to taking turns, and back. Name the leading hand.",
              "Where exactly are the two midway?"),
        _unit("Landmarks by ear", 3, (4,), ((32, 31),),
              "A cycle that is too long to feel: go by the a, the & and the e. The wall calls the next one.",
              "Come in at a landmark, not at the one. Who was there?"),
        _unit("Bars of time, a bar of the pair", 4, (7,), ((7, 4), (8, 5)),
              "Enter late, and land on 2, on 3, on 4.",
              "Where do you enter so that it lands there?",
              "resolve | hands: 7 | against: 4 | metre: 4/4 | bars: 4 | bpm: 96",
              "resolve | hands: 8 | against: 5 | metre: 5/4 | bars: 4 | bpm: 96"),
        _unit("Numbers from the room", 5, (), ((16, 11), (13, 12)),
              "Two numbers above ten. Decide before you play: the line, the count, the ones or the drift.",
              "Which simple pair is this one close to?"),
        _unit("A large number in small words", 6, (6,), (),
              "16 as 4 4 4 4 beside 15 as 4 4 4 3.",
              "Which hand leads the last group?",
              "phrase | number: 16 | groups of: 3 4 | bpm: 96",
              "phrase | number: 15 | groups of: 3 4 | bpm: 96"),
        _unit("An accent that walks", 7, (7,), (),
              "An accent every five in 7/8: it comes home after five bars.",
              "On which beats does it meet the bar?",
              "accents | metre: 2+2+3/8 | accent every: 5 | bpm: 180"),
        _unit("Three parts of the room", 8, (2,), ((3, 4, 5),),
              "Each third of the room has a pulse, feet keep the 4, and home goes from third to third.",
              "Count the 3 from the 4. How many parts to a beat?"),
        _unit("Cold takes", 9, (8,), ((7, 4), (8, 5)),
              "One take each without a warm-up of the pair. Cold and clean is what moves the ladder up.",
              "What would you work on tomorrow, first thing?"),
    ),
    }  # fmt: skip


#: The parts of each level, as right-handed players have them.
UNITS = _units(*descriptions.hands_of_two(False))

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

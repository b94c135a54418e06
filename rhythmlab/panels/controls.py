"""Fields of a panel, and how each reads what was typed: pulses, home, tempo, first beat."""

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from fractions import Fraction
from typing import Any

import ipywidgets as widgets

from rhythmlab.core import check
from rhythmlab.core.check import FASTEST, SLOWEST, short
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.panels.errors import FieldRefusal
from rhythmlab.practice.set_list import MOST_STROKES
from rhythmlab.refusal import OutOfRange
from rhythmlab.text import descriptions, numbers

#: Most pulses a panel has fields for; it draws as many strokes in a cycle as a set list takes.
MOST_PULSES = 4
FROM_BEAT = "from beat"
#: A bar, 7/8 or 2+2+3 or 2+2+3/8, where a pulse is asked for.
_BAR = re.compile(r"\d{1,3}(\+\d{1,3}){0,15}/\d{1,3}|\d{1,3}(\+\d{1,3}){1,15}", re.ASCII)


def text(description: str, value: object, width: int = 150, example: object = None) -> widgets.Text:
    """Return a text field with its name, and with an example of what can be typed into it."""
    room = 9 * len(description) + 12
    layout = widgets.Layout(width=f"{room + width - 70}px", max_width="calc(100% - 4px)")
    field = widgets.Text(
        value=str(value), description=description, layout=layout, style={"description_width": f"{room}px"}
    )
    field.example = str(value) if example is None else str(example)
    return field


def menu(description: str, options: list[tuple[str, object]], width: int = 170) -> widgets.Dropdown:
    """Return a menu with its name, and with its first option as the example."""
    room = 9 * len(description) + 12
    layout = widgets.Layout(width=f"{room + width}px", max_width="calc(100% - 4px)")
    field = widgets.Dropdown(
        options=options, description=description, layout=layout, style={"description_width": f"{room}px"}
    )
    field.example = options[0][0]
    return field


def read_whole(typed: str, field: str, most: int, example: object, least: int = 1) -> int:
    """Read a whole number from a field, from `least` to `most`.

    Examples
    --------
    >>> read_whole(" 7 ", "bars", 64, 4)
    7
    """
    text = typed.strip()
    if not text:
        raise FieldRefusal(field, f"{field} is empty", example)
    digits = text.lstrip("0") or "0"
    plain = text.isascii() and text.isdigit()
    if plain and (len(digits) > 15 or int(digits) > most):
        raise FieldRefusal(field, f"{field} {_cut(digits)} is more than {numbers.number(most)}", example)
    if not plain or int(digits) < least:
        raise FieldRefusal(field, f"{field} {short(text)} is not a whole number of at least {least}", example)
    return int(digits)


def _cut(digits: str) -> str:
    """Return many digits shortened."""
    return digits if len(digits) <= 20 else f"{digits[:17]}..."


class PulseFields(widgets.HBox):
    """One field a pulse; where `grows`, buttons to add and to remove one.

    Parameters
    ----------
    values : sequence of int
        What the fields hold at first.
    changed : callable
        Called without arguments when the reader changes them.
    grows : bool
        Whether pulses can be added, up to four.
    """

    def __init__(self, values: Sequence[int], changed: Callable[[], None], *, grows: bool) -> None:
        self._changed = changed
        self.fields = [self._field(nth, value) for nth, value in enumerate(values)]
        self._add = widgets.Button(description="add a pulse", layout=widgets.Layout(width="auto"))
        self._remove = widgets.Button(description="remove a pulse", layout=widgets.Layout(width="auto"))
        self._add.on_click(lambda _: self._resize(len(self.fields) + 1))
        self._remove.on_click(lambda _: self._resize(len(self.fields) - 1))
        self._grows = grows
        super().__init__(layout=widgets.Layout(flex_flow="row wrap"))
        self._arrange()

    @property
    def texts(self) -> list[str]:
        """What stands in the fields."""
        return [field.value for field in self.fields]

    @property
    def buttons(self) -> list[widgets.Button]:
        """The buttons that add a pulse and remove one, where there are more and fewer."""
        more, fewer = len(self.fields) < MOST_PULSES, len(self.fields) > 2
        return [one for one, can in ((self._add, more), (self._remove, fewer)) if self._grows and can]

    def _field(self, nth: int, value: int) -> widgets.Text:
        field = widgets.Text(
            value=str(value),
            description=pulse_field(nth),
            layout=widgets.Layout(width="142px"),
            style={"description_width": "92px"},
        )
        field.observe(lambda _: self._changed(), names=["value"])
        return field

    def _resize(self, count: int) -> None:
        if 2 <= count <= MOST_PULSES:
            known = [int(text) for text in self.texts if len(text) < 15 and text.strip().isdecimal()]
            more = [
                self._field(nth, min(max(known, default=1) + 1, 99)) for nth in range(len(self.fields), count)
            ]
            self.fields = [*self.fields[:count], *more]
            self._arrange()
            self._changed()

    def _arrange(self) -> None:
        self.children = (*self.fields, *self.buttons)


def pulse_field(nth: int) -> str:
    """Return the name of the field of a pulse."""
    return f"{numbers.nth(nth)} pulse"


def read_pulse(text: str, nth: int) -> int:
    """Read a pulse, from 1 to what a panel draws.

    Examples
    --------
    >>> read_pulse(" 7 ", 0)
    7
    """
    typed = text.strip()
    few = typed.isascii() and typed.isdigit() and len(typed) < 16 and int(typed) > 0
    if _BAR.fullmatch(typed):
        wrong = (
            f"{pulse_field(nth)} {short(typed)} is a bar and not a pulse; page 07 and a set list show bars"
        )
        raise FieldRefusal(pulse_field(nth), wrong, 7)
    return int(typed) if few else read_whole(text, pulse_field(nth), MOST_STROKES, 7)


def read_pulses(texts: Sequence[str]) -> Polyrhythm:
    """Read all pulse fields, as one rhythm that a panel can draw.

    Examples
    --------
    >>> read_pulses(["16", "15"])
    Polyrhythm(16, 15)
    """
    return drawable([read_pulse(text, nth) for nth, text in enumerate(texts)])


def drawable(pulses: Sequence[int]) -> Polyrhythm:
    """Return pulses as a rhythm; refuse one with too many pulses or strokes for a panel."""
    named, total = " against ".join(map(str, pulses)), sum(pulses)
    if len(pulses) > MOST_PULSES:
        said = f"{named} is {len(pulses)} pulses, and a panel has fields for {MOST_PULSES}"
        raise FieldRefusal(pulse_field(MOST_PULSES - 1), said, 7)
    if total > MOST_STROKES:
        field = pulse_field(pulses.index(max(pulses)))
        said = f"{field}: {named} has {numbers.plural(total, 'stroke')} in a cycle, more than the "
        said += f"{numbers.number(MOST_STROKES)} that a panel draws"
        raise FieldRefusal(field, said, 7, _window(pulses))
    return Polyrhythm(*pulses)


def _window(pulses: Sequence[int]) -> str:
    """Return the call that shows the beginning of a long cycle; empty where its grid is too long."""
    try:
        p = Polyrhythm(*pulses)
    except ValueError:
        return ""
    stop = min(p.ticks, 100 * min(p.step(i) for i in range(len(pulses))))
    return f"rl.composite(rl.Polyrhythm({', '.join(map(str, pulses))}), start=0, stop={stop})"


@contextmanager
def _quietly(field: widgets.Widget) -> Iterator[None]:
    """Change a field without its callback."""
    field._quiet = True
    try:
        yield
    finally:
        field._quiet = False


class Home(widgets.ToggleButtons):
    """Which pulse is home.

    Parameters
    ----------
    changed : callable
        Called without arguments when the reader chooses another.
    """

    options: Sequence[str]
    index: int | None

    def __init__(self, changed: Callable[[], None]) -> None:
        self._quiet = False
        self._changed = changed
        look = {"description_width": "42px", "button_width": "auto"}
        row = widgets.Layout(
            display="flex", flex_flow="row", align_items="center", width="max-content", margin="2px 8px"
        )
        super().__init__(description="home", style=look, layout=row)
        self.observe(self._chosen, names=["index"])

    def _chosen(self, change: dict[str, Any]) -> None:
        if not self._quiet and change["new"] is not None:
            self._changed()

    def offer(self, p: Polyrhythm, home: int) -> None:
        """Name the pulses to choose from, and which one is home, without calling back."""
        names = tuple(descriptions.pulse_name(p, i) for i in range(len(p.pulses)))
        with _quietly(self):
            if tuple(self.options) != names:
                self.options = names
                self.tooltips = [f"home is {name}" for name in names]
            if self.index != home:
                self.index = home


def home_index(home: object, count: int) -> int:
    """Check the `home` of a page call: the index of a pulse, the last one when left out."""
    number = count - 1 if home is None else check.whole(home, "home", "home=1", least=0)
    if number >= count:
        raise OutOfRange(
            f"home={short(number)} is out of range: there are {count} pulses, numbered from 0",
            "home=1",
            argument="home",
        )
    return number


class TempoField(widgets.Text):
    """The tempo in beats a minute of home; an exact tempo stays exact until the reader types another.

    Parameters
    ----------
    changed : callable
        Called without arguments when the reader types.
    """

    value: str

    def __init__(self, changed: Callable[[], None]) -> None:
        self._quiet = False
        self._last: Fraction | None = None
        self._written: tuple[str, Fraction] | None = None
        self._changed = changed
        super().__init__(layout=widgets.Layout(width="160px"), style={"description_width": "92px"})
        self.observe(lambda _: None if self._quiet else self._changed(), names=["value"])

    def read(self) -> Fraction:
        """Read the tempo; exactly the one that `show` wrote, where the field still holds it.

        Raises
        ------
        FieldRefusal
            If what the reader typed is no tempo.
        """
        if self._written and self.value == self._written[0]:
            return self._written[1]
        example = 72 if self._last is None or not SLOWEST <= self._last <= FASTEST else _bpm(self._last)
        return read_bpm(self.value, self.description, example)

    def show(self, p: Polyrhythm, tempo: Tempo, home: int) -> None:
        """Write a tempo in home's beats without calling back, if it is another one than before.

        While the tempo is the same, the text of the field is never rewritten, not even where it is half
        typed.
        """
        bpm = tempo.bpm_of(p, home)
        with _quietly(self):
            self.description = f"bpm of {descriptions.pulse_name(p, home)}"
            if bpm != self._last and not _same(self.value, bpm):
                self.value = _bpm(bpm)
                self._written = (self.value, bpm)
            elif self._written and bpm != self._written[1]:
                self._written = None
        self._last = bpm


def read_bpm(text: str, field: str = "bpm", example: object = 72) -> Fraction:
    """Read a tempo from 1 to 1,000 bpm, with a decimal point or a decimal comma.

    Examples
    --------
    >>> read_bpm("72"), read_bpm("76,8")
    (Fraction(72, 1), Fraction(384, 5))
    """
    typed = text.strip().replace(",", ".")
    if not typed:
        raise FieldRefusal(field, f"{field} is empty: beats a minute are meant", example)
    if not re.fullmatch(r"[0-9]*\.?[0-9]*", typed) or typed == "." or len(typed) > 40:
        raise FieldRefusal(field, f"{field} {short(text.strip())} is not a number of beats a minute", example)
    bpm = Fraction(f"0{typed}0" if typed.startswith(".") or typed.endswith(".") else typed)
    ends = f"{SLOWEST} to {numbers.number(FASTEST)}"
    if not SLOWEST <= bpm <= FASTEST:
        raise FieldRefusal(field, f"{field} {short(text.strip())} is not from {ends} beats a minute", example)
    return bpm


def _bpm(bpm: Fraction) -> str:
    """Write a tempo so that it can be typed."""
    return numbers.number(bpm, between="")


def _same(typed: str, bpm: Fraction) -> bool:
    """Whether what is typed means this tempo already, so that the field is left as it is."""
    try:
        return read_bpm(typed) == bpm
    except FieldRefusal:
        return False


class FirstBeat(widgets.Text):
    """The beat that the picture starts on; shown only where it cannot show the whole cycle.

    Parameters
    ----------
    changed : callable
        Called without arguments when the reader types.
    """

    value: str

    def __init__(self, changed: Callable[[], None]) -> None:
        self._quiet = False
        self._last: int | None = None
        look = {"style": {"description_width": "72px"}, "layout": widgets.Layout(width="140px")}
        super().__init__(value="1", description=FROM_BEAT, **look)
        self.observe(lambda _: None if self._quiet else changed(), names=["value"])

    def offer(self, beat: int | None) -> None:
        """Write the beat without calling back, or hide the field where there is none to choose."""
        self.layout.display = "none" if beat is None else ""
        with _quietly(self):
            if beat != self._last and self.value.strip() != str(beat or 1):
                self.value = str(beat or 1)
        self._last = beat


def read_beat(text: str, beats: int) -> int:
    """Read the beat that a picture starts on.

    Examples
    --------
    >>> read_beat("33", 99)
    33
    """
    typed = text.strip()
    if not (typed.isascii() and typed.isdigit() and len(typed) < 10 and 1 <= int(typed) <= beats):
        said = f"{FROM_BEAT} {short(typed)} is not one of the {numbers.plural(beats, 'beat')}"
        raise FieldRefusal(FROM_BEAT, said, 1)
    return int(typed)

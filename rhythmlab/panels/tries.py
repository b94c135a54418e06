"""What a reader can try: lines as in a set list, each a button that sets the panel."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

import ipywidgets as widgets

from rhythmlab.core.check import short
from rhythmlab.refusal import Refusal, as_sentence

#: Most buttons of a panel, and most letters of a line and of a name on a button.
MOST_TRIES, MOST_LETTERS, MOST_NAME = 8, 400, 60

#: What each page offers to try, by the number of the page, and by its panel where it has several.
OF_PAGES: dict[str, tuple[str, ...]] = {
    "00": ("pulses: 7 4 | bpm: 72", "pulses: 7 4 | bpm: 60", "pulses: 16 15 | bpm: 72"),
    "01": ("pulses: 3 2", "pulses: 5 2", "pulses: 7 2", "pulses: 4 2", "pulses: 6 4", "pulses: 3 4 5"),
    "02": (
        *("pulses: 4 3", "pulses: 5 4"),
        "pulses: 3 2 | sentence: *hear the *har-bour | title: 3 against 2 in words",
        "pulses: 2 3 5",
    ),
    "03": ("pulses: 7 4 | bpm: 72", "pulses: 7 4 | bpm: 72 | view: every home", "pulses: 4 3 | bpm: 72"),
    "04": (
        "loop: round the stroke exactly midway | speed: 70 percent | "
        "title: 32 against 31, its middle at 70 percent",
        *("pulses: 16 15", "pulses: 16 15 | bpm: 60", "pulses: 16 11", "pulses: 31 30", "pulses: 7 4"),
    ),
    "05": (
        *("pulses: 7 4 | bpm: 72", "pulses: 7 4 | bpm: 40", "pulses: 7 4 | bpm: 140"),
        *("pulses: 16 15 | bpm: 60", "pulses: 16 15 | bpm: 100", "pulses: 13 8 | bpm: 72"),
    ),
    "06": (
        *("number: 31", "number: 14", "number: 13", "number: 16", "number: 15"),
        "number: 13 | my sticking: RRRRRRRRRRRRR | title: 13 in one hand",
    ),
    "07 accent": ("metre: 2+2+3/8 | accent every: 5 | bpm: 180 | title: every 5 in 2+2+3/8",),
    "07 fill": ("free beats: 2",),
    "07 feet": ("feet: son clave | hands: 4 3 4 3 | title: son clave under 4 3 4 3",),
    "09": (
        *("pulses: 7 4 | bpm: 72", "pulses: 7 4 | home: 7 | bpm: 126"),
        *("pulses: 5 3 | bpm: 72", "pulses: 16 15 | bpm: 72"),
    ),
}

_Read = TypeVar("_Read")


class Tries:
    """Buttons that set a panel.

    Parameters
    ----------
    given : sequence of str, or str, optional
        A line each, its fields as in a set list, such as ``"pulses: 16 15 | bpm: 60"``; ``title`` names the
        button.  What a line leaves out is as the panel began.  Or the name of a page, for its own lines.
    read : callable
        From the fields of a line to what is set and how a button names it; refuses what cannot be shown.
    press : callable
        Told what to set.
    call : str
        A call that works, with ``{}`` for a line in quotes.
    example : str
        A line that can be tried.

    Attributes
    ----------
    buttons : list of Button
        In the order of the lines.
    """

    def __init__(
        self,
        given: Sequence[str] | None,
        read: Callable[[Mapping[str, str]], tuple[_Read, str]],
        press: Callable[[_Read], None],
        call: str,
        example: str,
    ) -> None:
        works = call.format(f'"{example}"')
        if isinstance(given, str):
            given = _of_page(given, works)
        if given is None:
            given = ()
        if not isinstance(given, list | tuple) or not all(isinstance(line, str) for line in given):
            raise Refusal(f"tries={short(given)} is not a list of lines in quotes", works, argument="tries")
        if len(given) > MOST_TRIES:
            many = f"tries has {len(given)} lines, more than {MOST_TRIES}"
            raise Refusal(many, works, argument="tries")
        self.buttons = [self._button(line, read, press, call, example) for line in given]

    @property
    def part(self) -> dict[str, list[widgets.Button]]:
        """The buttons, as a stage draws them."""
        return {"tries": self.buttons} if self.buttons else {}

    @staticmethod
    def _button(
        line: str,
        read: Callable[[Mapping[str, str]], tuple[_Read, str]],
        press: Callable[[_Read], None],
        call: str,
        example: str,
    ) -> widgets.Button:
        try:
            fields = fields_of(line)
            title = fields.pop("title", "")
            wanted, name = read(fields)
        except ValueError as error:
            wrong = error.wrong if isinstance(error, Refusal) else as_sentence(error).rstrip(".")
            shown = error.example if isinstance(error, Refusal) and ": " in error.example else example
            works = call.format(f'"{shown}"')
            raise Refusal(f"tries has {short(line)}: {wrong}", works, argument="tries") from error
        button = widgets.Button(description=(title or name)[:MOST_NAME], layout=widgets.Layout(width="auto"))

        def pressed(_: Any) -> None:
            press(wanted)

        button.on_click(pressed)
        return button


def _of_page(name: str, works: str) -> tuple[str, ...]:
    if name not in OF_PAGES:
        known = f"tries={short(name)} is no page; there are {', '.join(OF_PAGES)}"
        raise Refusal(known, works, argument="tries")
    return OF_PAGES[name]


def fields_of(line: str) -> dict[str, str]:
    """Return the fields of a line that say what to try, in their order; a kind before them may be left out.

    Examples
    --------
    >>> fields_of("pulses: 16 15 | bpm: 60")
    {'pulses': '16 15', 'bpm': '60'}
    """
    if len(line) > MOST_LETTERS:
        raise Refusal(f"a line of {len(line):,} letters is more than {MOST_LETTERS}")
    pieces = [piece.strip() for piece in line.split("|")]
    if len(pieces) > 1 and ":" not in pieces[0]:
        pieces = pieces[1:]  # the kind, which the panel has
    found: dict[str, str] = {}
    for piece in pieces:
        name, colon, value = (part.strip() for part in piece.partition(":"))
        if not colon or not name or not value:
            raise Refusal(f"{short(piece)} is not a field with a colon and a value")
        if name in found:
            raise Refusal(f"{name} is given twice, and one is meant")
        found[name] = value
    if found.keys() <= {"title"}:
        raise Refusal("it sets nothing")
    return found

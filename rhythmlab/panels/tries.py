"""What a reader can try: lines as in a set list, each a button that sets the panel."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

import ipywidgets as widgets

from rhythmlab.core.check import short
from rhythmlab.refusal import Refusal, as_sentence

#: Most buttons of a panel, and most letters of a line and of a name on a button.
MOST_TRIES, MOST_LETTERS, MOST_NAME = 8, 400, 60

_Read = TypeVar("_Read")


class Tries:
    """Buttons that set a panel.

    Parameters
    ----------
    given : sequence of str, optional
        A line each, its fields as in a set list, such as ``"pulses: 16 15 | bpm: 60"``; ``title`` names the
        button.  What a line leaves out is as the panel began.
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

"""Fields and menus with their names."""

import ipywidgets as widgets

from rhythmlab import words
from rhythmlab.core.check import short
from rhythmlab.panels.refused import FieldRefusal


def text(description: str, value: object, width: int = 150, example: object = None) -> widgets.Text:
    """Return a field with its name; its ``example`` can be typed, at first what it holds."""
    room = 9 * len(description) + 12
    layout = widgets.Layout(width=f"{room + width - 70}px")
    field = widgets.Text(
        value=str(value), description=description, layout=layout, style={"description_width": f"{room}px"}
    )
    field.example = str(value) if example is None else str(example)
    return field


def menu(description: str, options: list[tuple[str, object]], width: int = 170) -> widgets.Dropdown:
    """Return a menu with its name."""
    room = 9 * len(description) + 12
    layout = widgets.Layout(width=f"{room + width}px")
    field = widgets.Dropdown(
        options=options, description=description, layout=layout, style={"description_width": f"{room}px"}
    )
    field.example = options[0][0]
    return field


def whole(typed: str, field: str, most: int, example: object, least: int = 1) -> int:
    """Read a whole number from a field.

    Parameters
    ----------
    typed : str
        What stands in it.
    field : str
        Its name.
    most, least : int
        Ends of what is allowed.
    example : object
        A number that works.

    Raises
    ------
    FieldRefusal
        If it is empty, not a whole number, or not between the ends.

    Examples
    --------
    >>> whole(" 7 ", "bars", 64, 4)
    7
    """
    text = typed.strip()
    if not text:
        raise FieldRefusal(field, f"{field} is empty", example)
    digits = text.lstrip("0") or "0"
    plain = text.isascii() and text.isdigit()
    if plain and (len(digits) > 15 or int(digits) > most):
        raise FieldRefusal(field, f"{field} {_cut(digits)} is more than {words.number(most)}", example)
    if not plain or int(digits) < least:
        raise FieldRefusal(field, f"{field} {short(text)} is not a whole number of at least {least}", example)
    return int(digits)


def _cut(digits: str) -> str:
    return digits if len(digits) <= 20 else f"{digits[:17]}..."

"""All that is in a panel: its children, and the fields that its stage draws."""

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from urllib.parse import unquote

import ipywidgets as widgets


def inside(widget: widgets.Widget) -> Iterator[widgets.Widget]:
    """Yield a widget and all that is in it."""
    yield widget
    for child in (*getattr(widget, "children", ()), *_in_parts(getattr(widget, "parts", {}))):
        yield from inside(child)


def leads_to(told: str) -> list[Path]:
    """Return the files that the links of a note lead to, as seen from where its kernel is."""
    return [Path(unquote(unescape(way))).resolve() for way in re.findall(r'data-file="([^"]*)"', told)]


def _in_parts(part: object) -> Iterator[widgets.Widget]:
    if isinstance(part, widgets.Widget):
        yield part
    elif isinstance(part, dict | list):
        for one in part.values() if isinstance(part, dict) else part:
            yield from _in_parts(one)

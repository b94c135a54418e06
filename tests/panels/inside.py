"""All that is in a panel: its children, and the fields that its stage draws."""

from collections.abc import Iterator

import ipywidgets as widgets


def inside(widget: widgets.Widget) -> Iterator[widgets.Widget]:
    """Yield a widget and all that is in it."""
    yield widget
    for child in (*getattr(widget, "children", ()), *_in_parts(getattr(widget, "parts", {}))):
        yield from inside(child)


def _in_parts(part: object) -> Iterator[widgets.Widget]:
    if isinstance(part, widgets.Widget):
        yield part
    elif isinstance(part, dict | list):
        for one in part.values() if isinstance(part, dict) else part:
            yield from _in_parts(one)

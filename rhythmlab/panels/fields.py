"""Fields and menus with their names."""

import ipywidgets as widgets


def text(description: str, value: object, width: int = 150) -> widgets.Text:
    """Return a field with its name."""
    room = 9 * len(description) + 12
    layout = widgets.Layout(width=f"{room + width - 70}px")
    return widgets.Text(
        value=str(value), description=description, layout=layout, style={"description_width": f"{room}px"}
    )


def menu(description: str, options: list[tuple[str, object]], width: int = 170) -> widgets.Dropdown:
    """Return a menu with its name."""
    room = 9 * len(description) + 12
    layout = widgets.Layout(width=f"{room + width}px")
    return widgets.Dropdown(
        options=options, description=description, layout=layout, style={"description_width": f"{room}px"}
    )

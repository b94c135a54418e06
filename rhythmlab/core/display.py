"""How a value shows itself: whole where a cell shows it or it is printed, and in one line elsewhere."""

from pathlib import Path
from typing import Protocol, TypeVar

T = TypeVar("T")
#: Longest line that a value says of itself.
LONGEST = 280
#: Most rows that a cell shows of a list.
MOST_ROWS = 40


class Printer(Protocol):
    """What a notebook lends a value to show itself."""

    def text(self, text: str) -> object:
        """Show a text as it is."""


class Printed:
    """A value that a cell shows as it prints, in rows or sentences, and that says itself in one line."""

    __slots__ = ()

    def __repr__(self) -> str:
        text = str(self)
        return text if len(text) <= LONGEST else line(text)

    def _repr_pretty_(self, printer: Printer, cycle: bool) -> None:
        printer.text(str(self))


class Listed(tuple[T, ...]):
    """A tuple that a cell shows one item a line, as far as a person reads."""

    __slots__ = ()

    def __repr__(self) -> str:
        return line(tuple.__repr__(self))

    def _repr_pretty_(self, printer: Printer, cycle: bool) -> None:
        text = tuple.__repr__(self)
        if len(text) > LONGEST:
            rows = [line(repr(item)) for item in self[:MOST_ROWS]]
            text = "\n".join(
                [*rows, f"and {len(self) - MOST_ROWS:,} more"] if len(self) > MOST_ROWS else rows
            )
        printer.text(text)


class Sentences(list[str]):
    """Sentences for a reader, one a line where a cell shows them."""

    def __repr__(self) -> str:
        return line(list.__repr__(self))

    def _repr_pretty_(self, printer: Printer, cycle: bool) -> None:
        printer.text("\n".join(self))


class Paths(list[Path]):
    """Files that were written, one a line where a cell shows them."""

    def __repr__(self) -> str:
        return line(list.__repr__(self))

    def _repr_pretty_(self, printer: Printer, cycle: bool) -> None:
        more = [f"and {len(self) - MOST_ROWS:,} more"] if len(self) > MOST_ROWS else []
        printer.text("\n".join([*(str(path) for path in self[:MOST_ROWS]), *more]))


class Quiet:
    """A widget that does not list all its parts where it is not shown."""

    def __repr__(self) -> str:
        name = str(getattr(self, "description", ""))
        return line(f"{type(self).__name__}({name}): a cell that ends with it shows it")


def line(text: str) -> str:
    """Return a text in one line, its end left out where it is long.

    Examples
    --------
    >>> line("learn the line"), len(line("tick " * 1000))
    ('learn the line', 280)
    """
    flat = " ".join(text.split())
    return flat if len(flat) <= LONGEST else f"{flat[: LONGEST - 2]} …"

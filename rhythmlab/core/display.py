"""How a value shows itself: whole where a cell shows it or it is printed, and in one line elsewhere.

In a notebook all of them have one look, that of the words in a panel: its letters and size, the colours of
the theme, sentences as sentences and columns as columns.
"""

import os
from collections.abc import Iterable, Sequence
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, TypeVar
from urllib.parse import quote

T = TypeVar("T")
#: Longest line that a value says of itself.
LONGEST = 280
#: Most rows that a cell shows of a list.
MOST_ROWS = 40

#: Letters of what a notebook shows: of its text, and of columns; size and colours are those of panels.
_LETTERS = "var(--jp-content-font-family,system-ui,sans-serif)"
_COLUMNS = "var(--jp-code-font-family,ui-monospace,monospace)"
_INK = "color:var(--jp-content-font-color1,inherit);background:none"


def framed(inside: str) -> str:
    """Return HTML in the look of every value that a notebook shows.

    Examples
    --------
    >>> framed("<p>7 against 4</p>")[:21]
    '<div class="rl-kept" '
    """
    return f'<div class="rl-kept" style="font:15px/1.45 {_LETTERS};{_INK};max-width:1200px">{inside}</div>'


#: In a narrow box each row of a table is a block of its own, every cell under its heading's name.
_TABLE = (
    ".rl-table.rl-table{container-type:inline-size;overflow-x:auto}"
    ".rl-table.rl-table table{width:100%;font:inherit;color:inherit;text-align:left;border-collapse:collapse;"
    "table-layout:auto}"
    ".rl-table.rl-table :is(caption,th,td){text-align:left;vertical-align:top;white-space:normal}"
    ".rl-table.rl-table a{white-space:nowrap}"
    ".rl-table.rl-table caption{font-weight:700;padding:4px 6px}"
    ".rl-table.rl-table :is(th,td){padding:5px 14px 5px 6px}"
    "@container (max-width:520px){"
    ".rl-table.rl-table :is(table,tbody,tr,caption){display:block}"
    ".rl-table.rl-table thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}"
    ".rl-table.rl-table tbody tr{padding:6px 0}"
    ".rl-table.rl-table tbody :is(th,td){display:grid;grid-template-columns:5em 1fr;padding:1px 6px}"
    ".rl-table.rl-table [data-of]::before{content:attr(data-of);font-weight:400;opacity:.75}"
    ".rl-table.rl-table td:empty{display:none}}"
)


def table(caption: str, heads: Iterable[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table of HTML that fits any width: on a phone each row is a block, a cell beside its heading.

    Parameters
    ----------
    caption, heads : str, iterable of str
        As text.
    rows : iterable of sequence of str
        Cells as HTML, the first of each its heading, a text; a row may end before the last column.

    Examples
    --------
    >>> table("Seats", ("seat", "marks"), [("1", "5")])[-62:]
    'data-of="marks"><span>5</span></td></tr></tbody></table></div>'
    """
    names = [escape(head, quote=True) for head in heads]
    head = "".join(f'<th scope="col" role="columnheader">{name}</th>' for name in names)
    body = "".join(
        '<tr role="row">'
        + "".join(
            f'<th scope="row" role="rowheader" data-of="{name}">{cell}</th>'
            if not i
            else f'<td role="cell" data-of="{name}">{f"<span>{cell}</span>" if cell else ""}</td>'
            for i, (name, cell) in enumerate(zip(names, row, strict=False))
        )
        + "</tr>"
        for row in rows
    )
    return (
        f'<style>{_TABLE}</style><div class="rl-table"><table role="table">'
        f'<caption>{escape(caption)}</caption><thead role="rowgroup"><tr role="row">{head}</tr></thead>'
        f'<tbody role="rowgroup">{body}</tbody></table></div>'
    )


def opened(path: Path) -> str:
    """Return the way to a file from the page, which lies where its kernel is; none from another drive.

    Examples
    --------
    >>> opened(Path("handouts") / "7 against 4.pdf")
    'handouts/7%20against%204.pdf'
    """
    try:
        return quote(Path(os.path.relpath(path)).as_posix())
    except ValueError:
        return ""


def _link(path: Path) -> str:
    """Return a file as a paragraph: a link that opens it where it lies beside the page or under it."""
    way, name = opened(path), escape(str(path))
    if way and not way.startswith(".."):
        name = f'<a href="{escape(way, quote=True)}" target="_blank" rel="noopener">{name}</a>'
    return f'<p style="margin:3px 0">{name}</p>'


def look(text: str) -> str:
    """Return a text as a notebook shows it: lines with columns as they stand, and sentences else.

    Examples
    --------
    >>> "<pre" in look("7  x..x"), "<pre" in look("Learn the line.")
    (True, False)
    """
    if "  " in text:
        style = f"font:15px/1.45 {_COLUMNS};{_INK};margin:0;overflow-x:auto"
        return framed(
            f'<pre tabindex="0" role="group" aria-label="columns" style="{style}">{escape(text)}</pre>'
        )
    lines = "".join(f'<p style="margin:3px 0">{escape(line)}</p>' for line in text.split("\n"))
    return framed(lines)


class Printer(Protocol):
    """What a notebook lends a value to show itself."""

    def text(self, text: str) -> object:
        """Show a text as it is."""


class InNotebook:
    """A value that a notebook shows in the look of all; a page without HTML has its own line."""

    __slots__ = ()

    def _repr_html_(self) -> str:
        return look(repr(self))


class Printed:
    """A value that a cell shows as it prints, in rows or sentences, and that says itself in one line."""

    __slots__ = ()

    def __repr__(self) -> str:
        text = str(self)
        return text if len(text) <= LONGEST else line(text)

    def _repr_pretty_(self, printer: Printer, cycle: bool) -> None:
        printer.text(str(self))

    def _repr_html_(self) -> str:
        return look(str(self))


class Listed(tuple[T, ...]):
    """A tuple that a cell shows one item a line, as far as a person reads."""

    __slots__ = ()

    def __repr__(self) -> str:
        return line(tuple.__repr__(self))

    def _rows(self) -> str:
        text = tuple.__repr__(self)
        if len(text) > LONGEST:
            rows = [line(repr(item)) for item in self[:MOST_ROWS]]
            text = "\n".join(
                [*rows, f"and {len(self) - MOST_ROWS:,} more"] if len(self) > MOST_ROWS else rows
            )
        return text

    def _repr_pretty_(self, printer: Printer, cycle: bool) -> None:
        printer.text(self._rows())

    def _repr_html_(self) -> str:
        return look(self._rows())


class Sentences(list[str]):
    """Sentences for a reader, one a line where a cell shows them."""

    def __repr__(self) -> str:
        return line(list.__repr__(self))

    def _repr_pretty_(self, printer: Printer, cycle: bool) -> None:
        printer.text("\n".join(self))

    def _repr_html_(self) -> str:
        return look("\n".join(self))


class Paths(list[Path]):
    """Files that were written, one a line where a cell shows them."""

    def __repr__(self) -> str:
        return line(list.__repr__(self))

    def _rows(self) -> str:
        more = [f"and {len(self) - MOST_ROWS:,} more"] if len(self) > MOST_ROWS else []
        return "\n".join([*(str(path) for path in self[:MOST_ROWS]), *more])

    def _repr_pretty_(self, printer: Printer, cycle: bool) -> None:
        printer.text(self._rows())

    def _repr_html_(self) -> str:
        more = [f"<p>and {len(self) - MOST_ROWS:,} more</p>"] if len(self) > MOST_ROWS else []
        return framed("".join([*map(_link, self[:MOST_ROWS]), *more]))


class Written(type(Path()) if not TYPE_CHECKING else Path):  # type: ignore[misc]
    """A file that was written: a path as any other, which a cell shows as a link that opens it.

    Examples
    --------
    >>> Written("seven-four.mid") == Path("seven-four.mid"), Written("seven-four.mid").name
    (True, 'seven-four.mid')
    """

    def _repr_html_(self) -> str:
        return framed(_link(self))


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

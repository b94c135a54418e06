"""Files that were saved as links, which the browser leads to where the notebook's server gives them out."""

import os
from collections.abc import Iterable
from html import escape
from pathlib import Path
from urllib.parse import quote


def opens(paths: Iterable[Path]) -> str:
    """Return a sentence of HTML with a link to each file, to stand after what is said of them.

    Examples
    --------
    >>> opens([Path("handouts") / "7 against 4.pdf"])
    ' Open <a data-file="handouts/7%20against%204.pdf">7 against 4.pdf</a>.'
    >>> opens([])
    ''
    """
    links = [f'<a data-file="{escape(_from_here(path))}">{escape(path.name)}</a>' for path in paths]
    return f" Open {', '.join(links)}." if links else ""


def _from_here(path: Path) -> str:
    """Return the way to a file from the page, which lies where its kernel is; none from another drive."""
    try:
        return quote(Path(os.path.relpath(path)).as_posix())
    except ValueError:
        return ""

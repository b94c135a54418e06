"""Files that were saved as links, which the browser leads to where the notebook's server gives them out."""

from collections.abc import Iterable
from html import escape
from pathlib import Path

from rhythmlab.core.display import opened


def opens(paths: Iterable[Path]) -> str:
    """Return a sentence of HTML with a link to each file, to stand after what is said of them.

    Examples
    --------
    >>> opens([Path("handouts") / "7 against 4.pdf"])
    ' Open <a data-file="handouts/7%20against%204.pdf">7 against 4.pdf</a>.'
    >>> opens([])
    ''
    """
    links = [f'<a data-file="{escape(opened(path))}">{escape(path.name)}</a>' for path in paths]
    return f" Open {', '.join(links)}." if links else ""

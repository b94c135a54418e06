"""Imports that never look into the current folder, where a pupil's files may lie."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def safe_imports() -> Iterator[None]:
    """Import what this package needs from where it is installed, and from nowhere else.

    A notebook looks for modules in its own folder before it looks where packages are installed: a file there
    that is called as one of them would run in its place.

    Examples
    --------
    >>> with safe_imports():
    ...     "" in sys.path
    False
    """
    here = [at for at, place in enumerate(sys.path) if place == ""]
    sys.path[:] = [place for place in sys.path if place != ""]
    try:
        yield
    finally:
        for at in here:
            sys.path.insert(at, "")

"""What the reader guessed, kept until they change it: in the working folder where there is one.

The working folder is the one that the launcher marked.
Elsewhere a guess lives as long as the kernel.
Several kernels may keep guesses at once: each adds to what the others have written.
"""

import json
from pathlib import Path

from rhythmlab.files import aside
from rhythmlab.practice.turns import turn
from rhythmlab.working import marked, write

_NAME = ".rhythmlab-guesses.json"
_memory: dict[str, str] = {}
#: Guesses of this kernel that are not in the file, since it could not be written.
_unwritten: set[str] = set()


def recall(key: str) -> str:
    """Return what was guessed before, or an empty string.

    Parameters
    ----------
    key : str
        Id of the question.
    """
    try:
        found = _read(_file()) or {}
    except OSError:  # it cannot be opened: then nothing is remembered, and `keep` will say why
        found = {}
    mine = {name: _memory[name] for name in _unwritten if name in _memory}
    return {**_memory, **found, **mine}.get(key, "")


def keep(key: str, text: str) -> None:
    """Keep a guess, replacing an earlier one to the same question.

    Parameters
    ----------
    key : str
        Id of the question.
    text : str
        What was typed.

    Raises
    ------
    OSError
        If the working folder cannot be written; the guess is then kept only until the kernel stops.
    """
    _memory[key] = text
    _unwritten.add(key)
    path = _file()
    if path is None:
        return
    with turn(path):
        if path.exists() and _read(path) is None:
            aside(path)
        kept = {**(_read(path) or {}), key: text}
        write(path, json.dumps(kept, ensure_ascii=False, indent=1).encode("utf-8", "backslashreplace"))
    _unwritten.discard(key)


def _file() -> Path | None:
    """Return where guesses are kept: in the marked folder at or above the page."""
    folder = marked()
    return folder / _NAME if folder else None


def _read(path: Path | None) -> dict[str, str] | None:
    """Return the guesses in a file, or ``None`` where it is damaged."""
    if path is None or not path.exists():
        return {}
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (ValueError, RecursionError):
        return None
    whole = isinstance(found, dict) and all(isinstance(text, str) for text in found.values())
    return found if whole else None

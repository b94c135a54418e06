"""A choice of the reader's that the next page starts with: kept beside the journal, in a file of its own."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, TypeVar

from rhythmlab.files import reason, set_aside
from rhythmlab.working_folder import place_for_files, write

_Chosen = TypeVar("_Chosen")


@dataclass(frozen=True)
class Choice(Generic[_Chosen]):
    """Where a choice is kept, and how it is read again.

    Attributes
    ----------
    file, key : str
        The name of its file, and of the choice in it.
    about : str
        What the file says of itself.
    read : callable
        From what stands in the file to the choice; raises ``ValueError`` or ``TypeError`` where that is none.
    """

    file: str
    key: str
    about: str
    read: Callable[[Any], _Chosen]

    @property
    def path(self) -> Path:
        """The file, in the reader's working folder or in the current one."""
        return place_for_files() / self.file

    def kept(self) -> _Chosen | None:
        """Return what was chosen before; nothing where the file is missing, damaged or cannot be read."""
        try:
            return self.read(json.loads(self.path.read_bytes())[self.key])
        except (OSError, ValueError, KeyError, TypeError, RecursionError):
            return None

    def keep(self, written: str | bool, said: str, holds_for: str = "panel") -> str:
        """Write a choice, whole or not at all; return `said`, or why it holds only for what is open.

        A file of that name that holds no such choice is set aside.
        """
        text = json.dumps({"about": f"kept by rhythmlab: {self.about}", self.key: written}) + "\n"
        try:
            if self.path.exists() and self.kept() is None:
                said += f" What was in {self.file} is in {set_aside(self.path).name} now."
            write(self.path, text.encode())
        except OSError as error:
            return (
                f"It holds for this {holds_for} only, since {self.file} cannot be written: {reason(error)}."
            )
        return said

"""The one switch for left-handed players: kept beside the journal, followed by every panel."""

from pathlib import Path
from typing import Any, Protocol
from weakref import WeakSet

import ipywidgets as widgets

from rhythmlab.core.check import flag
from rhythmlab.panels.choice import Choice

#: The file that keeps it.
HANDS_FILE = "hands.json"
#: What is said once the choice is kept.
REMEMBERED = "It is remembered for the next time; another page that is open follows when it is run again."


class Follows(Protocol):
    """A panel whose hands follow the switch."""

    def hands_chosen(self, left_handed: bool) -> None:
        """Show these hands from now on."""


_live: WeakSet[Follows] = WeakSet()


def follow(panel: Follows) -> None:
    """Let a panel follow the switch for as long as it is there."""
    _live.add(panel)


def switch_hands(left_handed: bool) -> str:
    """Keep the choice, let every panel of this kernel follow, and say whether it is kept."""
    said = remember_hands(left_handed)
    if remembered_hands() == left_handed:
        for panel in list(_live):
            panel.hands_chosen(left_handed)
    return said


def given_hands(left_handed: object) -> bool:
    """Check the `left_handed` of a page call: the remembered choice when left out.

    Examples
    --------
    >>> given_hands(True), given_hands(False)
    (True, False)
    """
    if left_handed is None:
        return remembered_hands()
    return flag(left_handed, "left_handed", "pages.first_rhythms(left_handed=True)")


def remembered_hands() -> bool:
    """Whether the reader chose left-handed before; no where the file is missing or damaged."""
    return _KEPT.kept() is True


def remember_hands(left_handed: bool) -> str:
    """Write the choice into its file, and say whether that worked."""
    return _KEPT.keep(left_handed, REMEMBERED)


def hands_file() -> Path:
    """Return the file, in the reader's working folder or in the current one."""
    return _KEPT.path


def _read(kept: bool) -> bool:
    if not isinstance(kept, bool):
        raise TypeError(kept)
    return kept


_KEPT = Choice(HANDS_FILE, "left_handed", "whether all hands are mirrored, for left-handed players", _read)


def hands_switch(left_handed: bool) -> widgets.Checkbox:
    """Return the field of the switch."""
    said: dict[str, Any] = {"description_width": "auto"}
    return widgets.Checkbox(value=left_handed, description="left-handed: mirror all hands", style=said)

"""What the browser is told so that it can answer at once: the sentences that it says, and what it goes by."""

from typing import Any

from rhythmlab.core.feel import OwnGroups
from rhythmlab.text.sentences import templates

#: The views that the browser draws by itself.
VIEWS = ("heard line",)

#: The groups of templates that `telling.mjs` and `tide.mjs` fill, and single ones.
_SAID = (
    *("counted.second", "counted.sound", "counted.tick"),
    *("count.falls", "count.from", "count.in_parts", "count.in_words", "facts.heard", "facts.pair"),
    *("name.numbered", "name.nth_pulse", "name.pair", "name.part", "name.part_of", "name.pulse"),
)


def sentences() -> dict[str, str]:
    """Return the templates that the browser fills where it answers by itself.

    Examples
    --------
    >>> sentences()["name.pair"]
    '{first} against {second}'
    """
    return {
        key: text
        for key, text in templates().items()
        if any(key == one or key.startswith(f"{one}.") for one in _SAID)
    }


def at_once(groups: OwnGroups) -> dict[str, Any]:
    """Return what the browser needs to follow the fields of a panel, with the reader's own groups.

    Examples
    --------
    >>> at_once(((2, 3),))["groups"]
    [[2, 3]]
    """
    return {"views": list(VIEWS), "groups": [list(row) for row in groups], "sentences": sentences()}

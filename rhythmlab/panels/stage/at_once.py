"""What the browser is told so that it can answer at once: the sentences that it says, and what it goes by."""

from typing import Any

from rhythmlab.core.feel import OwnGroups
from rhythmlab.draw.fit import MOST_STROKES
from rhythmlab.playing.limits import Limits
from rhythmlab.text.sentences import templates

#: The views that the browser draws by itself.
VIEWS = ("heard line", "gap cycle")
#: The limits of hearing that say how gaps are heard.
_LIMITS = ("flam", "order", "part_heard")
#: Limits of larger whole numbers are left to Python, since the browser's numbers are not exact with them.
_EXACT = 100_000

#: The groups of templates that `telling.mjs` and `tide.mjs` fill, and single ones.
_SAID = (
    *("counted.second", "counted.sound", "counted.tick"),
    *("count.falls", "count.from", "count.in_parts", "count.in_words", "facts.heard", "facts.pair"),
    *("heard", "landmark.after_first", "landmark.before_first", "landmark.midway_alone", "landmark.beat"),
    *("landmark.beats", "midway", "room.landmarks", "tempo.about"),
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


def at_once(groups: OwnGroups, limits: Limits, most: int) -> dict[str, Any]:
    """Return what the browser needs to follow the fields of a panel: sentences, groups, limits, most strokes.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> made = at_once(((2, 3),), limits(), 20_000)
    >>> made["groups"], made["limits"]["flam"], made["most"]
    ([[2, 3]], [40, 1], [130, 20000])
    """
    rows = {name: list(limits[name].value.as_integer_ratio()) for name in _LIMITS}
    short = max(map(max, rows.values())) < _EXACT
    return {
        "views": list(VIEWS if short else VIEWS[:1]),
        "groups": [list(row) for row in groups],
        "sentences": sentences(),
        "limits": rows,
        "most": [MOST_STROKES, most],
    }

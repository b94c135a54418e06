"""Every public name, as a reader types it after ``rl.``, and what it names."""

from operator import attrgetter
from types import ModuleType

import rhythmlab as rl

#: The rooms by their names; `rhythmlab` itself is the one without a name.
ROOMS = {
    "": rl,
    **{name: getattr(rl, name) for name in rl.__all__ if isinstance(getattr(rl, name), ModuleType)},
}
#: Every public name but those of the rooms.
PUBLIC = [
    f"{room}.{name}".lstrip(".")
    for room, module in ROOMS.items()
    for name in module.__all__
    if name not in ROOMS
]


#: The same by the name alone, which is in one room only.
WHERE = {name.rpartition(".")[2]: name for name in PUBLIC}


def by_name(name: str) -> object:
    """Return what stands under a name, such as "sound" or "pages.wall"; "wall" alone does, too."""
    return attrgetter(WHERE.get(name, name))(rl)


def room_of(name: str) -> ModuleType:
    """Return the module in which a name stands."""
    return ROOMS[name.rpartition(".")[0]]

"""Rooms: modules that show public names only, load each on first use, and say where a name lives.

The names of a room, and where each comes from, stand in the stub beside its file, which editors and type
checkers read, too.
"""

import ast
import sys
from collections.abc import MutableSequence
from functools import cache
from importlib import import_module
from importlib.util import resolve_name
from pathlib import Path
from types import ModuleType
from typing import Any

from rhythmlab.safe_import import safe_imports

_HERE = Path(__file__).parent
_PACKAGE = "rhythmlab"
#: What a reader may call it, and what it is called here.
_OTHER_WORDS = {
    **dict.fromkeys(("hear", "listen", "play", "audio", "wav"), "sound"),
    **dict.fromkeys(("draw", "plot", "show", "picture"), "pictures.strip"),
    **dict.fromkeys(("write", "notes", "notation", "staff", "sheet"), "score"),
    **dict.fromkeys(("gap", "gaps"), "phase_gaps"),
    **dict.fromkeys(("clave", "groove", "rhythm"), "pattern"),
    **dict.fromkeys(("bpm", "speed"), "Tempo"),
}
#: Names of 0.1.0 in `rhythmlab` itself that moved into a room as they are.
_MOVED = {
    "classroom": "assignment demo_class gradebook taps_of write_assignment",
    "pages": "answer check choose_home choose_way dictation feet_against_hands find_grid first_rhythms "
    "follow_gaps land_in_bars move_accent my_hands practise predict question set_list two_numbers wall "
    "workshop_plan write_down",
    "pictures": "figure gap_cycle homes progress shared_grid strip ways",
    "playing": "Limit accents changeover check_sticking count_phrases euclid flams_from hand_to_hand "
    "landmarks meetings midway modulation near_ratios other_words prepare pull resolve slips_around split "
    "zones",
    "practice": "Journal Ladder Take feedback measure take_from_midi",
}
#: Old names, and where what they name lives now, both as they stand after ``rl.``: names of 0.1.0, and names
#: of rooms ("playing.near": "playing.near_ratios").  Where it lives may be an old name by now, too.
OLD = {
    **{name: f"{room}.{name}" for room, names in _MOVED.items() for name in names.split()},
    "answers": "classroom.answer_key",
    "handouts": "classroom.handout_pack",
    "lost": "practice.when_lost",
    "merge": "pages.merge_pulses",
    "modulate": "playing.modulation",
    "order": "playing.learning_order",
    "own_limits": "practice.measured_limits",
    "patterns": "playing.ready_patterns",
    "phrase": "pages.phrase_and_stick",
    "plain": "playing.nothing_new",
    "questions": "classroom.question_bank",
}


class Room(ModuleType):
    """A module with public names that wait until they are used.

    A module inside a room may be called as a public name is: it never takes its place.
    """

    __all__: list[str]

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__") and name != "__version__":
            raise AttributeError(f"{self.__name__} has no {name[:60]!r}")
        with safe_imports():
            if name == "__version__" and self.__name__ == _PACKAGE:
                from importlib.metadata import version

                return version(_PACKAGE)
            if name in self.__all__:
                value = self.__dict__[name] = _loaded(*places(self.__name__)[name])
                return value
            if (old := f"{_within(self)}.{name}".lstrip(".")) in OLD:
                return _moved(old)
            raise _no_name(self, name)

    def __setattr__(self, name: str, value: object) -> None:
        if isinstance(value, ModuleType) and name in _reserved():
            return  # a module that was just imported, beside a public name
        super().__setattr__(name, value)

    def __dir__(self) -> list[str]:
        if _asked_by_help(4):  # `help` shows the map alone
            return []
        return [*self.__all__, *(["__version__"] if self.__name__ == _PACKAGE else [])]

    @property
    def __path__(self) -> MutableSequence[str]:
        """Where the modules of a package are; `help` would list them all below the map."""
        if "__path__" not in self.__dict__ or _asked_by_help(1):
            raise AttributeError("__path__")
        found: MutableSequence[str] = self.__dict__["__path__"]
        return found

    @__path__.setter
    def __path__(self, folders: MutableSequence[str]) -> None:
        self.__dict__["__path__"] = folders


def opened(name: str) -> None:
    """Make a module that is being imported a room.

    Parameters
    ----------
    name : str
        Its name; the stub lies beside its file.

    Examples
    --------
    >>> import rhythmlab.pages
    >>> isinstance(rhythmlab.pages, Room), "wall" in dir(rhythmlab.pages)
    (True, True)
    """
    module = sys.modules[name]
    module.__dict__["__all__"] = sorted(places(name))
    module.__class__ = Room


@cache
def places(room: str) -> dict[str, tuple[str, str]]:
    """Return the public names of a room, each with its module and its name there (none for a module).

    Examples
    --------
    >>> "sound" in places("rhythmlab"), places("rhythmlab")["pages"]
    (True, ('rhythmlab.pages', ''))
    """
    within = _HERE.joinpath(*room.split(".")[1:])
    package = room if (within / "__init__.pyi").is_file() else room.rpartition(".")[0]
    stub = within / "__init__.pyi" if package == room else within.with_suffix(".pyi")
    found = {}
    for node in ast.parse(stub.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.ImportFrom):
            source = resolve_name(f"{'.' * node.level}{node.module or ''}", package)
            for one in node.names:
                whole_module = f"{source}.{one.name}", ""
                found[one.asname or one.name] = (source, one.name) if node.module else whole_module
    return found


@cache
def everywhere() -> dict[str, str]:
    """Return every public name, and how it is reached from `rhythmlab`.

    Examples
    --------
    >>> everywhere()["sound"], everywhere()["wall"]
    ('sound', 'pages.wall')
    """
    own = places(_PACKAGE)
    found = {name: name for name, (_, inside) in own.items() if inside}
    for room in sorted(name for name, (_, inside) in own.items() if not inside):
        found |= {name: f"{room}.{name}" for name in places(f"{_PACKAGE}.{room}")}
    return found


def now(old: str) -> str:
    """Return where what an old name names lives now; any other name is as it was.

    Examples
    --------
    >>> now("order"), now("playing.learning_order")
    ('playing.learning_order', 'playing.learning_order')
    """
    while old in OLD:
        old = OLD[old]
    return old


@cache
def _reserved() -> frozenset[str]:
    """Return the public names of now and before and what else they may be called, in small letters."""
    old = (name.rpartition(".")[2] for name in OLD)
    return frozenset(name.lower() for name in (*everywhere(), *old, *_OTHER_WORDS))


def _within(room: ModuleType) -> str:
    """Return how a room is reached from `rhythmlab`; nothing for `rhythmlab` itself."""
    return room.__name__.partition(".")[2]


def _loaded(module: str, name: str) -> object:
    found = import_module(module)
    return getattr(found, name) if name else found


def _moved(old: str) -> object:
    """Return what an old name names, and say once where it lives now."""
    from rhythmlab.core.public import once
    from rhythmlab.refusal import package_name

    rl = package_name()
    place = now(old)
    if old == "modulate":  # what is left of it is a part of something larger
        once(f"{rl}.modulate is now {rl}.{place}(96, 3, 2).new_bpm; the old name still works")
        return _loaded("rhythmlab.core.tempo", old)
    once(f"{rl}.{old} is now {rl}.{place}; the old name still works")
    room, _, new = f"{_PACKAGE}.{place}".rpartition(".")
    return getattr(import_module(room), new)


def _no_name(room: Room, name: str) -> Exception:
    """Return the refusal of a name, with what is meant where one is near, in this room or in another."""
    from rhythmlab.refusal import NoName

    near = _near(room, name)
    every = f"it has {', '.join(room.__all__)}"
    has = f"did you mean {near}? If not, press Tab after the dot to see what there is" if near else every
    return NoName(f"{room.__name__} has no {name[:60]!r}; {has}")


def _near(room: Room, name: str) -> str:
    from difflib import get_close_matches

    typed = name[:40].lower().replace("_", "")
    own = {known.lower().replace("_", ""): known for known in room.__all__}
    others = {known.lower().replace("_", ""): f"rl.{place}" for known, place in everywhere().items()}
    before, renamed = _within(room), {old.rpartition(".")[2]: now(old) for old in OLD}
    for old, known in ((OLD, renamed.get(name)), (_OTHER_WORDS, _OTHER_WORDS.get(typed))):
        if known and (old is OLD or not get_close_matches(typed, [*own], n=1, cutoff=0.7)):
            where, _, last = known.rpartition(".")
            return last if where == before else f"rl.{known}"
    if typed in own or typed in others:
        return own.get(typed) or others[typed]
    for names in (own, others):
        near = get_close_matches(typed, [*names], n=1, cutoff=0.7)
        if near:
            return names[near[0]]
    return ""


def _asked_by_help(frames: int) -> bool:
    """Whether `help` asks: it lists all that it finds of a package, and a map must fit one screen."""
    frame = sys._getframe(1)
    for _ in range(frames):
        if frame.f_back is None:
            return False
        frame = frame.f_back
        if getattr(frame.f_globals.get("__spec__"), "name", "") == "pydoc":
            return True
    return False

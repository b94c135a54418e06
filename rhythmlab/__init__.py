"""Teaching notebooks and a small exact library for polyrhythm. Public names only; each waits until used.

The names, and where each of them lives, are in the stub beside this file.
"""

from rhythmlab.safe_import import apart as _apart

with _apart():
    import lazy_loader as _lazy_loader

#: What a reader may call it, and what it is called here.
_SAME = {
    **dict.fromkeys(("hear", "listen", "play", "audio", "wav"), "sound"),
    **dict.fromkeys(("draw", "plot", "show", "picture"), "strip"),
    **dict.fromkeys(("write", "notes", "notation", "staff", "sheet"), "score"),
    **dict.fromkeys(("gap", "gaps"), "phase_gaps"),
    **dict.fromkeys(("clave", "groove", "rhythm"), "pattern"),
    **dict.fromkeys(("bpm", "speed"), "Tempo"),
}

_load, _, __all__ = _lazy_loader.attach_stub(__name__, __file__)
__all__ = sorted(__all__)


def __getattr__(name: str) -> object:
    with _apart():
        if name == "__version__":
            from importlib.metadata import version

            return version("rhythmlab")
        if name not in __all__:
            from rhythmlab.refusal import NoName

            near = _near(name)
            every = f"it has {', '.join(__all__)}"
            has = (
                f"did you mean {near}? If not, press Tab after the dot to see what there is"
                if near
                else every
            )
            raise NoName(f"rhythmlab has no {name[:60]!r}; {has}")
        value = _load(name)
    globals()[name] = value
    return value


def _near(name: str) -> str:
    from difflib import get_close_matches

    by_small = {known.lower(): known for known in __all__}
    typed = name[:40].lower().replace("_", "")
    near = get_close_matches(typed, [*by_small], n=1, cutoff=0.7)
    return by_small[near[0]] if near else _SAME.get(typed, "")


def __dir__() -> list[str]:
    return [*__all__, "__version__"]

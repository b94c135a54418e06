"""Teaching notebooks and a small exact library for polyrhythm. Public names only; each waits until used.

The names, and where each of them lives, are in the stub beside this file.
"""

from rhythmlab.apart import apart as _apart

with _apart():
    import lazy_loader as _lazy_loader

_load, _, __all__ = _lazy_loader.attach_stub(__name__, __file__)
__all__ = sorted(__all__)


def __getattr__(name: str) -> object:
    with _apart():
        if name == "__version__":
            from importlib.metadata import version

            return version("rhythmlab")
        if name not in __all__:
            raise AttributeError(f"rhythmlab has no {name[:60]!r}; {_near(name)}it has {', '.join(__all__)}")
        value = _load(name)
    globals()[name] = value
    return value


def _near(name: str) -> str:
    from difflib import get_close_matches

    by_small = {known.lower(): known for known in __all__}
    near = get_close_matches(name[:40].lower().replace("_", ""), [*by_small], n=1, cutoff=0.7)
    return f"did you mean {by_small[near[0]]}? If not, " if near else ""


def __dir__() -> list[str]:
    return [*__all__, "__version__"]

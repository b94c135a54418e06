"""A public call: arguments that do not fit are refused in one line, and their old names still work."""

import inspect
import warnings
from collections.abc import Callable, Mapping
from difflib import get_close_matches
from functools import wraps
from typing import Any, ParamSpec, TypeVar, cast

from rhythmlab.core.check import items, short
from rhythmlab.refusal import Refusal, notebook

P = ParamSpec("P")
R = TypeVar("R")
T = TypeVar("T")
_warned: set[str] = set()


def public(example: str, *unnamed: str, **old: str) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Make a function a public call.

    Parameters
    ----------
    example : str
        A call that works, for the refusal of arguments that do not fit.
    *unnamed : str
        What else was taken without a name in the version before, in its order, and is now given by name
        (a pair of values has two names).
    **old : str
        Names that arguments had in the version before, and what they are called now (a pair of values has
        two names).  They work for one version more, and say once what is new.

    Examples
    --------
    >>> @public("half(4)", number="n")
    ... def half(n: int) -> int:
    ...     return n // 2
    >>> half(4)
    2
    >>> half(4, m=1)
    Traceback (most recent call last):
    rhythmlab.refusal.Refusal: half has no argument 'm'; it takes n; for example half(4)
    """

    def decorated(function: Callable[P, R]) -> Callable[P, R]:
        most, call = len(_places(function)), cast(Callable[..., R], function)

        @wraps(function)
        def checked(*args: Any, **kwargs: Any) -> R:
            if most < len(args) <= most + len(unnamed) and _taken_before(args[most:], unnamed):
                kwargs = _by_name(function, args[most:], kwargs, unnamed, example)
                args = args[:most]
            if old:
                kwargs = _renamed(function, kwargs, old, example)
            try:
                return call(*args, **kwargs)
            except TypeError as error:
                inside = error.__traceback__
                if inside is None or inside.tb_next is not None:  # it comes from deeper than the call itself
                    raise
                wrong = _misfit(function, args, kwargs)
            if wrong:
                raise Refusal(wrong, example)
            return call(*args, **kwargs)

        return cast(Callable[P, R], checked)

    return decorated


def public_class(example: str, **examples: str) -> Callable[[type[T]], type[T]]:
    """Make a class and its methods public calls.

    Parameters
    ----------
    example : str
        A call that makes one, for the refusal of arguments that do not fit.
    **examples : str
        By the name of a method, a call of it; the call that makes one is shown where none is given.

    Examples
    --------
    >>> @public_class("Half(4)")
    ... class Half:
    ...     def __init__(self, n: int) -> None:
    ...         self.n = n // 2
    >>> Half()
    Traceback (most recent call last):
    rhythmlab.refusal.Refusal: Half needs n; it takes n; for example Half(4)
    """

    def decorated(cls: type[T]) -> type[T]:
        for name, function in list(vars(cls).items()):
            if hasattr(function, "__wrapped__") or not inspect.isfunction(function):
                continue
            if name == "__init__" or not name.startswith("_"):
                setattr(cls, name, public(examples.get(name, example))(function))
        return cls

    return decorated


def once(text: str) -> None:
    """Say something about an old name, the first time only.

    The reader's own line is named; a notebook shows the sentence alone, below that line.

    Examples
    --------
    >>> with warnings.catch_warnings(record=True) as said:
    ...     warnings.simplefilter("always")
    ...     once("bounds= is now called limits="), once("bounds= is now called limits=")
    (None, None)
    >>> len(said)
    1
    """
    if text not in _warned:
        _warned.add(text)
        usual = warnings.formatwarning
        if notebook():  # which shows it under the cell: where and what the line is, is seen
            warnings.formatwarning = lambda message, *_, **__: f"{message}\n"
        try:
            warnings.warn(text, FutureWarning, stacklevel=4)
        finally:
            warnings.formatwarning = usual


def _renamed(
    function: Callable[..., object], kwargs: Mapping[str, Any], old: Mapping[str, str], example: str
) -> dict[str, Any]:
    """Return the arguments under the names that they have now."""
    found = dict(kwargs)
    for before, named in old.items():
        if before not in found:
            continue
        names, value = named.split(), found.pop(before)
        twice = next((name for name in names if name in found), None)
        if twice is not None:
            raise Refusal(f"{before}={short(value)} is the old name of {twice}=, which is given too", example)
        found |= _each(value, names, before, example)
        once(
            f"{before}= of {_name(function)} is now called {_all(names)}, and {before}= will be refused later"
        )
    return found


def _by_name(
    function: Callable[..., object],
    args: tuple[object, ...],
    kwargs: Mapping[str, Any],
    unnamed: tuple[str, ...],
    example: str,
) -> dict[str, Any]:
    """Return the arguments with names for those that are no longer taken without one."""
    found = dict(kwargs)
    for value, named in zip(args, unnamed, strict=False):
        names = named.split()
        twice = next((name for name in names if name in found), None)
        if twice is not None:
            raise Refusal(f"{_name(function)} was given {twice} twice, once without its name", example)
        found |= _each(value, names, named.replace(" ", " and "), example)
        verb = "is" if len(names) == 1 else "are"
        now = f"{_all(names)} of {_name(function)} {verb} now given by name"
        once(f"{now}, and will be refused later without it")
    return found


def _taken_before(args: tuple[object, ...], unnamed: tuple[str, ...]) -> bool:
    """Whether a list of as many values stands where one was meant; two numbers in a row were never taken."""
    return all(
        " " not in named or (isinstance(value, tuple | list) and len(value) == len(named.split()))
        for value, named in zip(args, unnamed, strict=False)
    )


def _each(value: object, names: list[str], given: str, example: str) -> dict[str, Any]:
    """Return a value under its name, or each of a pair of values under its own."""
    values = [value] if len(names) == 1 else items(value, given, example, len(names))
    if len(values) != len(names):
        raise Refusal(f"{given}={short(value)} are not {len(names)} values", example, argument=given)
    return dict(zip(names, values, strict=True))


def _all(names: list[str]) -> str:
    """Return names of arguments as they are typed."""
    return " and ".join(f"{name}=" for name in names)


def _places(function: Callable[..., object]) -> list[inspect.Parameter]:
    """Return what a function takes without a name."""
    every = inspect.signature(function).parameters.values()
    return [one for one in every if one.kind in (one.POSITIONAL_ONLY, one.POSITIONAL_OR_KEYWORD)]


def _misfit(function: Callable[..., object], args: tuple[object, ...], kwargs: Mapping[str, object]) -> str:
    """Say which arguments do not fit a function; nothing where they all do."""
    signature = inspect.signature(function)
    named = {name: one for name, one in signature.parameters.items() if one.kind is not one.VAR_KEYWORD}
    any_name = len(named) < len(signature.parameters)
    shown = [
        f"{one.name}=" if one.kind is one.KEYWORD_ONLY else str(one).split(":")[0].split("=")[0].strip()
        for one in named.values()
        if one.name != "self"
    ]
    shown += ["others by name"] if any_name else []
    takes = f"it takes {', '.join(shown) or 'none'}"
    name, of_class = _name(function), "self" in named
    by_name = [
        name for name, one in named.items() if one.kind in (one.POSITIONAL_OR_KEYWORD, one.KEYWORD_ONLY)
    ]
    strange = [] if any_name else [key for key in kwargs if key not in by_name]
    if strange:
        near = get_close_matches(strange[0], by_name, n=1)
        meant = f"; did you mean {near[0]}=? If not, {takes}" if near else f"; {takes}"
        return f"{name} has no argument {short(strange[0])}{meant}"
    places = _places(function)
    if len(args) > len(places) and not any(one.kind is one.VAR_POSITIONAL for one in named.values()):
        most, given = len(places) - of_class, len(args) - of_class
        many = f"at most {most} argument{'s' * (most != 1)}" if most else "no argument"
        return f"{name} takes {many} without a name and was given {given}; {takes}"
    twice = [one.name for one in places[: len(args)] if one.name in kwargs]
    if twice:
        return f"{name} was given {twice[0]} twice; {takes}"
    missing = [
        one.name
        for one in [*places[len(args) :], *(one for one in named.values() if one.kind is one.KEYWORD_ONLY)]
        if one.default is one.empty and one.name not in kwargs
    ]
    return f"{name} needs {' and '.join(missing)}; {takes}" if missing else ""


def _name(function: Callable[..., object]) -> str:
    """Return what a reader calls it: the class for its making, and the class in front of a method."""
    return function.__qualname__.removesuffix(".__init__")

"""The one refusal: what was given, what is wrong with it, and an example that works."""

import re
import sys
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Self

#: A file is named by its path; that it was given as an argument is for whoever called.
_PATH = re.compile(r"\bpath=(?=['\"])")
#: An argument in front of what was given.
_ARGUMENT = re.compile(r"\b([a-z_]+)=")
#: A call that begins with a name of its own or with a room and a name, and not with that of an object.
_CALL = re.compile(r"(?<![\w.\"'])(?:([a-z_]+)\.)?([A-Za-z_]+)(?=\()")


class Refusal(ValueError):
    """What a call refuses, said in one line.

    Parameters
    ----------
    wrong : str
        What was given and what is wrong with it, without an end.
    example : str
        A call, or an argument, that works; empty where nothing typed can mend it.
    argument : str
        The name of the argument that is refused, where there is one.

    Attributes
    ----------
    wrong, example, argument : str
        As given; the text is made of them when it is shown.

    Examples
    --------
    >>> print(Refusal("lands=5 is not a beat of 4/4, which has 4", "resolve((7, 4), lands=1)"))
    lands=5 is not a beat of 4/4, which has 4; for example resolve((7, 4), lands=1)
    """

    def __init__(self, wrong: str, example: str = "", *, argument: str = "") -> None:
        super().__init__(wrong, example)
        self.wrong, self.example, self.argument = wrong, example, argument

    def __str__(self) -> str:
        return f"{self.wrong}; for example {self.example}" if self.example else self.wrong

    def _render_traceback_(self) -> list[str]:
        """Return what a notebook shows: one line, with an example as its names are typed there."""
        example = f"; for example {_in_a_cell(self.example)}" if self.example else ""
        return [f"{type(self).__name__}: {self.wrong}{example}"]

    def inside(self, what: str, example: str = "") -> Self:
        """Return the same, said of a part of what was given; an example of the whole call replaces its own.

        Examples
        --------
        >>> print(Refusal("paper='A9' is no size", "paper='A4'").inside("rhythm 2 of the pack"))
        rhythm 2 of the pack: paper='A9' is no size; for example paper='A4'
        """
        return type(self)(f"{what}: {self.wrong}", example or self.example, argument=self.argument)

    def in_a_field(self, names: Mapping[str, str] = MappingProxyType({})) -> str:
        """Return it for a reader who has fields and not cells: nothing to type, no end.

        Parameters
        ----------
        names : dict
            Names of arguments, and of the fields that they come from.

        Examples
        --------
        >>> Refusal("lands=5 is not a beat of 4/4", "resolve((7, 4))").in_a_field({"lands": "lands on"})
        'lands on 5 is not a beat of 4/4'
        >>> Refusal("text has no end", "sentence(…)", argument="text").in_a_field({"text": "sentence"})
        'sentence has no end'
        """
        said = _PATH.sub("", self.wrong)
        if self.argument in names and said.startswith(f"{self.argument} "):
            said = f"{names[self.argument]}{said.removeprefix(self.argument)}"
        return _ARGUMENT.sub(lambda one: f"{names.get(one[1], one[1])} ", said) if names else said

    def sentence(self) -> str:
        """Return it as a sentence for a reader who has fields and not cells."""
        said = self.in_a_field()
        return f"{said}." if self.example and not said.endswith(".") else said


def notebook() -> Any:
    """Return the notebook, or the shell of that kind, that runs; nothing elsewhere."""
    shells = sys.modules.get("IPython.core.interactiveshell")  # nothing is imported to find that out
    if shells is None:
        return None
    known = vars(sys.modules["IPython"]).get("get_ipython")
    if known is not None:
        return known()
    return shells.InteractiveShell.instance() if shells.InteractiveShell.initialized() else None


def package_name() -> str:
    """Return what the package is called where the reader types: ``rl`` in a notebook that names it so.

    Examples
    --------
    >>> package_name()
    'rhythmlab'
    """
    names = dict(getattr(notebook(), "user_ns", {}))
    package = sys.modules.get("rhythmlab")
    return next((name for name, value in names.items() if value is package), "rhythmlab")


def _in_a_cell(example: str) -> str:
    """Return an example for the notebook that runs: ``rl.sound(…)`` where `sound` alone is not there."""
    package: Any = sys.modules.get("rhythmlab")
    names = dict(getattr(notebook(), "user_ns", {}))

    def called(module: object) -> str:
        """Return what a module is called there, or nothing."""
        return next((name for name, value in names.items() if value is module), "")

    def typed(call: re.Match[str]) -> str:
        room, name = call.groups()
        if (room or name) not in package.__all__:
            return call[0]
        home = getattr(package, room) if room else package
        if name in names and name in home.__all__ and names[name] is getattr(home, name):
            return name
        if room and called(home):
            return f"{called(home)}.{name}"
        return f"{called(package)}.{call[0]}" if called(package) else call[0]

    return _CALL.sub(typed, example) if package and names else example


class NoName(Refusal, AttributeError):
    """A name that the package has not."""


class OutOfRange(Refusal, IndexError):
    """An index of which there is none."""


class Unknown(Refusal, KeyError):
    """A name of which there is none."""


class NotWritten(Refusal, OSError):
    """What a disk does not do, or what is not replaced on it."""


class AlreadyThere(NotWritten, FileExistsError):
    """A name that is taken."""


class NotThere(NotWritten, FileNotFoundError):
    """A file or a folder of which there is none."""


class NoFolder(NotWritten, NotADirectoryError):
    """Something else where a folder should be."""


class Shut(NotWritten, PermissionError):
    """A file or a folder that may not be opened."""


_ON_DISK: dict[type[OSError], type[NotWritten]] = {
    FileExistsError: AlreadyThere,
    FileNotFoundError: NotThere,
    NotADirectoryError: NoFolder,
    PermissionError: Shut,
}


def on_disk(error: OSError, wrong: str, example: str = "") -> NotWritten:
    """Return the refusal that says what a disk did not do.

    Parameters
    ----------
    error : OSError
        What the system says.
    wrong, example : str
        As for `Refusal`.

    Examples
    --------
    >>> on_disk(FileExistsError(), "path='a.wav' is there already", "path='b.wav'")
    AlreadyThere("path='a.wav' is there already", "path='b.wav'")
    """
    kind = next((kind for system, kind in _ON_DISK.items() if isinstance(error, system)), NotWritten)
    return kind(wrong, example)


def as_sentence(error: BaseException) -> str:
    """Return what an error says to a reader who has fields and not cells, as a sentence.

    Parameters
    ----------
    error : exception
        Of whatever kind.

    Examples
    --------
    >>> as_sentence(Refusal("lands=5 is not a beat of 4/4, which has 4", "resolve((7, 4))"))
    'lands=5 is not a beat of 4/4, which has 4.'
    """
    return error.sentence() if isinstance(error, Refusal) else str(error)

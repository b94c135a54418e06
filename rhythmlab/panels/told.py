"""What goes wrong in callbacks is told in the panel: beside the field it belongs to, or under the picture."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, Protocol, TypeVar

from rhythmlab.panels.refused import FieldRefusal
from rhythmlab.refusal import Refusal, plainly

#: Most letters of what is said of a field.
MOST_LETTERS = 300


Given = ParamSpec("Given")


class _Line(Protocol):
    """Where it is said what a field refuses."""

    def tell(self, refused: ValueError | None) -> None: ...


class _Stage(Protocol):
    """Where the rest is said."""

    notice: str


class _Tells(Protocol):
    """A panel that can tell what goes wrong in it."""

    @property
    def line(self) -> _Line: ...

    @property
    def stage(self) -> _Stage: ...

    def _refused(self) -> FieldRefusal | None: ...


Panel = TypeVar("Panel", bound=_Tells)


def blamed(error: Exception, names: dict[str, str], field: str, example: object = "") -> FieldRefusal:
    """Say an error of the library as one of a field.

    Parameters
    ----------
    error : Exception
        What the library says.
    names : dict
        Names of arguments, and of the fields that they come from.
    field : str
        The field that was typed in, which is meant where the message names no other.
    example : object
        What can be typed into it.

    Examples
    --------
    >>> error = Refusal("lands=5 is not a beat of 4/4, which has 4", "resolve((7, 4))", argument="lands")
    >>> print(blamed(error, {"lands": "lands on"}, "bars", 1))
    lands on 5 is not a beat of 4/4, which has 4: type for example 1.
    """
    if isinstance(error, Refusal):
        field, said = names.get(error.argument, field), error.plainly({"": "", **names})
    else:
        said = str(error).rstrip(".")
    said = said if said.startswith(field) else f"{field}: {said}"
    return FieldRefusal(field, said if len(said) <= MOST_LETTERS else f"{said[:MOST_LETTERS]}...", example)


def told(
    method: Callable[Concatenate[Panel, Given], None],
) -> Callable[Concatenate[Panel, Given], None]:
    """Show what goes wrong in a callback in the panel, where it would otherwise vanish.

    A panel has a ``line`` for what a field refuses, a ``stage`` with a ``notice`` for the rest, and says by
    `_refused` what still stands in a field and is not what is shown.
    """

    @wraps(method)
    def guarded(self: Panel, /, *args: Given.args, **kwargs: Given.kwargs) -> None:
        refused: FieldRefusal | None
        self.stage.notice = notice = ""
        try:
            method(self, *args, **kwargs)
            refused = self._refused()
        except FieldRefusal as error:
            refused = error
        except (ValueError, IndexError) as error:
            notice, refused = plainly(error), self._refused()
        except Exception as error:
            notice, refused = (
                f"This did not work, and it is a fault of the page: {type(error).__name__}: {error}",
                None,
            )
        self.line.tell(refused)
        if notice:
            self.stage.notice = notice

    return guarded

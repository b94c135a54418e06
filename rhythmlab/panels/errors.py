"""What goes wrong in a panel is said in it: beside the field that it belongs to, or under the picture."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, Protocol, TypeVar

import anywidget
import traitlets

from rhythmlab.refusal import Refusal, as_sentence

_ESM = """
function render({ model, el }) {
  const line = document.createElement("p");
  line.className = "rl-refused";
  line.id = `rl-refused-${Math.random().toString(36).slice(2)}`;
  line.setAttribute("role", "status"); // there from the beginning, so that what comes into it is read out
  el.append(line);
  const named = (field) => field.labels && field.labels[0] && field.labels[0].textContent.trim();
  const update = () => {
    const [text, name] = [model.get("text"), model.get("field")];
    if (line.textContent !== text) line.textContent = text;
    const panel = el.closest(".widget-vbox") || el.parentElement;
    const fields = panel ? [...panel.querySelectorAll("input, select, textarea")] : [];
    const wrong = text && fields.find((field) => named(field) === name);
    for (const field of fields) {
      if (field === wrong) {
        field.setAttribute("aria-invalid", "true");
        field.setAttribute("aria-describedby", line.id);
      } else if (field.getAttribute("aria-describedby") === line.id) {
        field.removeAttribute("aria-invalid");
        field.removeAttribute("aria-describedby");
      }
    }
  };
  model.on("change:text change:field", update);
  update();
  return () => model.off("change:text change:field", update);
}
export default { render };
"""
_CSS = """
.rl-refused {
  font-family: var(--jp-content-font-family, system-ui, sans-serif);
  font-size: 15px;
  font-weight: 600;
  line-height: 1.45;
  margin: 3px 0;
  padding-left: 8px;
  border-left: 4px solid currentcolor;
  max-width: 1200px;
}
.rl-refused:empty {
  margin: 0;
  padding: 0;
  border: 0;
}
.rl-wall .rl-refused {
  font-size: 21px;
}
.jupyter-widgets :is(input, select, textarea)[aria-invalid="true"] {
  border-color: currentcolor !important;
  box-shadow: 0 0 0 1px currentcolor !important;
}
"""


class FieldRefusal(Refusal):
    """What stands in a field cannot be followed.

    Parameters
    ----------
    field : str
        The field's name, as it stands beside it.
    text : str
        What is wrong, without an end.
    example : object
        What can be typed instead.
    window : str
        A call for a cell that shows a part of it, where a panel cannot show it; a panel tells no calls.

    Examples
    --------
    >>> print(FieldRefusal("bars", "bars '0' is not a whole number of at least 1", 4))
    bars '0' is not a whole number of at least 1: type for example 4.
    """

    def __init__(self, field: str, said: str, example: object, window: str = "") -> None:
        super().__init__(said, str(example))
        self.field, self.window = field, window

    def __str__(self) -> str:
        return f"{self.wrong}: type for example {self.example}."

    def sentence(self) -> str:
        """Return the whole of it: what can be typed is for the field."""
        return str(self)

    def in_a_call(self, call: str) -> Refusal:
        """Return the same for whoever called, with a call that works."""
        if self.window:
            return Refusal(f"{self.wrong}: look through a window in a cell of your own", self.window)
        return Refusal(self.wrong, call)


class ErrorLine(anywidget.AnyWidget):
    """A line under a row of fields; the field that it names is marked, and described by it.

    Attributes
    ----------
    text : str
        Which field cannot be followed, why, and what can; empty when all is well.
    field : str
        The name of that field.
    """

    _esm, _css = _ESM, _CSS
    text = traitlets.Unicode("").tag(sync=True)
    field = traitlets.Unicode("").tag(sync=True)

    def tell(self, refused: ValueError | None) -> None:
        """Say what is refused, or nothing."""
        with self.hold_sync():
            self.text = "" if refused is None else str(refused)
            self.field = getattr(refused, "field", "")


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
        field, said = names.get(error.argument, field), error.in_a_field({"": "", **names})
    else:
        said = str(error).rstrip(".")
    said = said if said.startswith(field) else f"{field}: {said}"
    return FieldRefusal(field, said if len(said) <= MOST_LETTERS else f"{said[:MOST_LETTERS]}...", example)


def shows_errors(
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
            notice, refused = as_sentence(error), self._refused()
        except Exception as error:
            notice, refused = (
                f"This did not work, and it is a fault of the page: {type(error).__name__}: {error}",
                None,
            )
        self.line.tell(refused)
        if notice:
            self.stage.notice = notice

    return guarded

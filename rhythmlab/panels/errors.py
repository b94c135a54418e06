"""Errors of a panel, shown in it: beside the field that they belong to, or under the picture."""

from collections.abc import Callable, Sequence
from functools import wraps
from threading import RLock
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
    const [text, names] = [model.get("text"), [model.get("field"), ...model.get("others")]];
    if (line.textContent !== text) line.textContent = text;
    const panel = el.closest(".widget-vbox") || el.parentElement;
    const fields = panel ? [...panel.querySelectorAll("input, select, textarea")] : [];
    for (const field of fields) {
      if (text && names.includes(named(field))) {
        field.setAttribute("aria-invalid", "true");
        field.setAttribute("aria-describedby", line.id);
      } else if (field.getAttribute("aria-describedby") === line.id) {
        field.removeAttribute("aria-invalid");
        field.removeAttribute("aria-describedby");
      }
    }
  };
  model.on("change:text change:field change:others", update);
  update();
  return () => model.off("change:text change:field change:others", update);
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

#: Most letters of an error of the library that is shown as one of a field.
MOST_LETTERS = 300


class FieldRefusal(Refusal):
    """A field holds what cannot be used.

    Parameters
    ----------
    field : str
        The field's name, as it stands beside it.
    wrong : str
        What is wrong, without a full stop.
    example : object
        What can be typed instead.
    window : str
        A call that shows a part of it in a cell, where a panel cannot show it; not shown in the panel.

    Examples
    --------
    >>> print(FieldRefusal("bars", "bars '0' is not a whole number of at least 1", 4))
    bars '0' is not a whole number of at least 1: type for example 4.
    """

    def __init__(self, field: str, wrong: str, example: object, window: str = "") -> None:
        super().__init__(wrong, str(example))
        self.field, self.window = field, window

    def __str__(self) -> str:
        stop = "" if self.example.endswith(".") else "."  # a dot after a pattern would be one more rest
        return f"{self.wrong}: type for example {self.example}{stop}"

    def sentence(self) -> str:
        """Return the refusal with what can be typed, as the line shows it."""
        return str(self)

    def in_a_call(self, call: str) -> Refusal:
        """Return the refusal for a call in a cell, with a call that works."""
        if self.window:
            return Refusal(f"{self.wrong}: look through a window in a cell of your own", self.window)
        return Refusal(self.wrong, call)


def blamed(error: Exception, names: dict[str, str], field: str, example: object = "") -> FieldRefusal:
    """Return an error of the library as the refusal of a field, by the name that stands beside it.

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


class ErrorLine(anywidget.AnyWidget):
    """A line under a row of fields that says what is wrong in them, and marks each that is not followed.

    Attributes
    ----------
    text : str
        What is wrong, and what can be typed, a sentence for each field; empty when all is well.
    field : str
        The name of the field of the first sentence.
    others : list of str
        The names of the fields of those after it.
    """

    _esm, _css = _ESM, _CSS
    text = traitlets.Unicode("").tag(sync=True)
    field = traitlets.Unicode("").tag(sync=True)
    others: traitlets.List[str] = traitlets.List(traitlets.Unicode()).tag(sync=True)

    def tell(self, *refused: FieldRefusal) -> None:
        """Show refusals, one for each field, or none."""
        each = {error.field: str(error) for error in reversed(refused)}
        names = list(reversed(each))
        with self.hold_sync():
            self.text = " ".join(each[name] for name in names)
            self.field, self.others = next(iter(names), ""), names[1:]


#: Messages of a page may come on two threads of the kernel at once, the one of its cells and the one of its
#: widgets: each is done whole before the next begins.
ONE_AT_A_TIME = RLock()

Given = ParamSpec("Given")


class _Notice(Protocol):
    """What shows the errors that belong to no field."""

    notice: str


class _ShowsErrors(Protocol):
    """A panel that can show its errors."""

    @property
    def line(self) -> ErrorLine: ...

    @property
    def stage(self) -> _Notice: ...

    def _refused(self) -> Sequence[FieldRefusal]: ...


Panel = TypeVar("Panel", bound=_ShowsErrors)


def shows_errors(
    method: Callable[Concatenate[Panel, Given], None],
) -> Callable[Concatenate[Panel, Given], None]:
    """Make a callback show its errors in the panel, where they would otherwise vanish.

    Of callbacks on several threads each is done whole before the next begins.
    What a field refuses goes to the ``line`` of the panel, every other error to the ``notice`` of its
    ``stage``; `_refused` returns what is still wrong in any field after the callback.
    """

    @wraps(method)
    def guarded(self: Panel, /, *args: Given.args, **kwargs: Given.kwargs) -> None:
        with ONE_AT_A_TIME:
            refused: Sequence[FieldRefusal]
            self.stage.notice = notice = ""
            try:
                method(self, *args, **kwargs)
                refused = self._refused()
            except FieldRefusal as error:
                refused = (error, *self._refused())
            except (ValueError, IndexError) as error:
                notice, refused = as_sentence(error), self._refused()
            except Exception as error:
                notice, refused = (
                    f"This did not work, and it is a fault of the page: {type(error).__name__}: {error}",
                    (),
                )
            self.line.tell(*refused)
            if notice:
                self.stage.notice = notice

    return guarded

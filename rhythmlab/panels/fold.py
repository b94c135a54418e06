"""A part of a panel that stays shut until it is asked for, and then as the reader left it."""

import anywidget
import traitlets

_ESM = """
function render({ model, el }) {
  const details = document.createElement("details");
  const summary = document.createElement("summary");
  const inside = document.createElement("div");
  details.append(summary, inside);
  details.className = "rl-held";
  el.append(details);
  const update = () => { // the fold itself stays, so that it is open or shut, and has the focus, as before
    summary.textContent = model.get("heading");
    inside.innerHTML = model.get("inside");
  };
  model.on("change:heading change:inside", update);
  update();
  return () => model.off("change:heading change:inside", update);
}
export default { render };
"""

_CSS = """
.rl-held {
  font-family: var(--jp-content-font-family, system-ui, sans-serif);
  font-size: var(--jp-widgets-font-size, 13px);
  line-height: 1.45;
  margin: 2px;
}
"""


class Fold(anywidget.AnyWidget):
    """A heading that opens and shuts what is under it; what is written anew does not move it.

    Attributes
    ----------
    heading : str
        What is read while it is shut.
    inside : str
        HTML, its text escaped.
    """

    _esm, _css = _ESM, _CSS
    heading = traitlets.Unicode("").tag(sync=True)
    inside = traitlets.Unicode("").tag(sync=True)

"""The bar of a notebook: how far long work is, with a button that stops it."""

import anywidget
import traitlets

from rhythmlab.core.display import Quiet
from rhythmlab.panels.stage.join import join
from rhythmlab.panels.stage.stage import HERE, STYLE


class Bar(Quiet, anywidget.AnyWidget):
    """How far work is; a meter as `rhythmlab.core.long_work.shown` takes it.

    Attributes
    ----------
    what : str
        The work; nothing is shown while it is empty.
    done, count : int
        How many steps are done, and how many there are.
    working : bool
        Whether it goes on, and can be stopped.
    said : str
        What is spoken: at its beginning and at its end.
    """

    _esm = join(HERE / "progress.mjs")
    _css = STYLE

    what = traitlets.Unicode("").tag(sync=True)
    done = traitlets.Int(0).tag(sync=True)
    count = traitlets.Int(0).tag(sync=True)
    working = traitlets.Bool(False).tag(sync=True)
    said = traitlets.Unicode("").tag(sync=True)

    def begin(self, what: str, count: int) -> None:
        """Show work that goes on."""
        with self.hold_sync():
            self.what, self.done, self.count, self.working = what, 0, count, True
            self.said = f"{what}."

    def at(self, done: int) -> None:
        """Show that so many steps are done."""
        self.done = min(done, self.count)

    def end(self, said: str) -> None:
        """Show that it is over, and how it ended."""
        with self.hold_sync():
            self.working, self.said = False, said


class _InACell(Bar):
    """A bar that stands under the cell once work begins to be long."""

    def begin(self, what: str, count: int) -> None:
        """Show work that goes on."""
        from IPython.display import display

        super().begin(what, count)
        display(self)


def bar() -> Bar:
    """Return a bar for the cell that runs.

    Examples
    --------
    >>> bar().working
    False
    """
    return _InACell()

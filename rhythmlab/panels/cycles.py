"""A panel for any cycle: fields to fill in, and the picture, the sound and the sentences they make."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from html import escape

import ipywidgets as widgets

from rhythmlab import words
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.feel import places
from rhythmlab.core.tempo import Tempo
from rhythmlab.panels.export import Content, Export
from rhythmlab.panels.guess import Guess
from rhythmlab.panels.sounding import MOST_SPOTS, plan_of
from rhythmlab.panels.stage.stage import Stage
from rhythmlab.panels.takes import Takes
from rhythmlab.panels.told import told
from rhythmlab.render.layout import readable
from rhythmlab.render.pictures import strip
from rhythmlab.render.svg import svg


@dataclass(frozen=True)
class Shown:
    """What a panel shows: a title, a cycle at a tempo, and sentences.

    Attributes
    ----------
    title : str
        In large letters.
    cycle : Cycle
        What is seen, heard and played.
    tempo : Tempo
        How fast.
    said : list of str
        Under the picture.
    """

    title: str
    cycle: Cycle
    tempo: Tempo
    said: list[str]


class CyclePanel(widgets.VBox):
    """Fields, and the cycle they make on a stage.

    Parameters
    ----------
    fields : mapping of str to widget
        What the reader fills in, by name.
    show : callable
        From the values of the fields, by name, to what is `Shown`; what it refuses is said in the panel.
    guess : Guess, optional
        The reader's guess, which comes back in the result.
    """

    def __init__(
        self,
        fields: Mapping[str, widgets.Widget],
        show: Callable[[dict[str, str]], Shown],
        *,
        guess: Guess | None = None,
    ) -> None:
        self._fields, self._show, self._guess = dict(fields), show, guess
        self._heading, self._result = widgets.HTML(), widgets.HTML()
        self.stage = Stage()
        self.takes = Takes(self.stage)
        for field in self._fields.values():
            field.observe(self._changed, names=["value"])
        if guess is not None:
            guess.observe(lambda _: self._tell_guess(), names=["value"])
        row = widgets.Layout(flex_flow="row wrap", align_items="center")
        form = widgets.HBox(list(self._fields.values()), layout=row)
        self.export = Export(self._content)
        super().__init__([self._heading, form, self.stage, self._result, self.export])
        self._redraw()

    def _unread(self) -> str:
        return ""

    @told
    def _changed(self, _: object) -> None:
        self._redraw()

    def _redraw(self) -> None:
        self._shown = shown = self._show({name: field.value for name, field in self._fields.items()})
        cycle, tempo = shown.cycle, shown.tempo
        start, stop = readable(cycle)
        seconds = words.seconds(tempo.cycle_seconds(cycle))
        facts = (
            f"{words.plural(cycle.ticks, 'tick')}, {words.plural(len(composite(cycle)), 'sound')}, {seconds}"
        )
        title = f"<b style='font-size:1.5em'>{escape(cut(shown.title))}</b>"
        self._heading.value = f"{title} &nbsp; {escape(facts)}"
        picture = {
            "svg": svg(strip(cycle, start=start, stop=stop), live=True),
            "said": [text for text in shown.said if text],
            "home": "the beat",
            "bpm": float(tempo.bpm),
            "spots": _spots(cycle),
        }
        names = [f"{lane.name}, {lane.limb}" if lane.limb else lane.name for lane in cycle.lanes]
        with self.stage.hold_sync():
            if len(cycle.lanes) != 2 and self.stage.mode in ("both pulses", "gap cycle"):
                self.stage.mode = "one pulse"
            self.stage.pictures = [picture]
            self.stage.sound(plan_of(cycle, tempo, [cycle.beats], names))
        self._tell_guess()

    def _content(self) -> Content:
        """Return what is shown now, to be saved."""
        one = self._shown
        return Content(one.title, one.cycle, one.tempo, None, strip(one.cycle))

    def _tell_guess(self) -> None:
        said = self._guess.said() if self._guess is not None else ""
        self._result.value = f"<p role='status'>{escape(said)}</p>" if said else ""


def cut(title: str, most: int = 72) -> str:
    """Return a title that fits over a picture, the rest left out.

    Examples
    --------
    >>> cut("31 as 4 4 4 4 4 4 4 3", 14)
    '31 as 4 4 4 4…'
    """
    return title if len(title) <= most else title[: most - 1].rstrip() + "\N{HORIZONTAL ELLIPSIS}"


def _spots(cycle: Cycle) -> list[list[object]]:
    """Return where a loop can begin and end: the bars, or the beats where there are few."""
    ticks = cycle.beats if 1 < len(cycle.beats) <= MOST_SPOTS else cycle.bars
    named = [words.place_name(place) for place in places(cycle, cycle.beats)]
    if ticks is cycle.bars:
        named = [f"bar {i + 1}" for i in range(len(ticks))]
    elif len(cycle.bars) > 1:
        per_bar = _beat_in_bar(cycle)
        named = [f"bar {bar}, beat {beat}" for bar, beat in per_bar]
    return [*([int(tick), name] for tick, name in zip(ticks, named, strict=True)), [cycle.ticks, "end"]]


def _beat_in_bar(cycle: Cycle) -> list[tuple[int, int]]:
    found, bars = [], cycle.bars.tolist()
    bar, beat = 0, 0
    for tick in cycle.beats.tolist():
        while bar < len(bars) and tick >= bars[bar]:
            bar, beat = bar + 1, 0
        beat += 1
        found.append((max(bar, 1), beat))
    return found

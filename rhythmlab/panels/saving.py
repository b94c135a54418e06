"""Saving what a panel shows into the reader's folder: notes, sound, MIDI, a table, a picture, a handout."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from dataclasses import replace as replaced
from html import escape
from importlib.util import find_spec
from pathlib import Path
from typing import Any, cast

import ipywidgets as widgets

from rhythmlab.core.cycle import Cycle
from rhythmlab.core.display import Quiet
from rhythmlab.core.feel import OwnGroups
from rhythmlab.core.long_work import Stopped, shown_on
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.draw.scene import Scene
from rhythmlab.draw.taken import with_take
from rhythmlab.files import replaceable, safe_name
from rhythmlab.panels.controls import menu, text
from rhythmlab.panels.errors import ErrorLine, FieldRefusal
from rhythmlab.panels.handed import remembered_hands
from rhythmlab.panels.linked import opens
from rhythmlab.panels.progress import Bar
from rhythmlab.panels.stage.stage import Stage
from rhythmlab.practice.under import Under
from rhythmlab.refusal import as_sentence
from rhythmlab.text import numbers
from rhythmlab.working_folder import place_for_files

#: Most cycles in a file of sound or MIDI.
MOST_CYCLES = 1000
#: Most seconds in a file of sound: an hour; and most strokes, which take about ten seconds to lay.
MOST_SECONDS, MOST_STROKES = 3600, 200_000


@dataclass(frozen=True)
class Content:
    """What is to be saved.

    Attributes
    ----------
    title : str
        What it is called.
    what : Polyrhythm or Cycle
        What is played.
    tempo : Tempo
        How fast.
    home : int or None
        Index of the home pulse of a `Polyrhythm`.
    scene : Scene
        The picture.
    groups : tuple
        The reader's own groups of a beat of five parts or more, as for `Feel`.
    words : tuple of str
        Said on the strokes of a phrase, over and over, in place of the count; none where the count is said.
    """

    title: str
    what: Polyrhythm | Cycle
    tempo: Tempo
    home: int | None
    scene: Scene
    groups: OwnGroups = ()
    words: tuple[str, ...] = ()


def _as_shown(it: Content) -> dict[str, Any]:
    """Return home, title, words and hands as the panel shows them, for what is written of a rhythm."""
    shown = {"home": it.home, "title": it.title, "groups": it.groups, "spoken": it.words}
    return {**shown, "left_handed": remembered_hands()}


def _score(it: Content, path: Path, cycles: int, replace: bool) -> None:
    from rhythmlab.notation.score import score

    score(it.what, it.tempo, **_as_shown(it)).write(path, replace=replace)


def _midi(it: Content, path: Path, cycles: int, replace: bool) -> None:
    from rhythmlab.export.midi import midi

    midi(it.what, it.tempo, home=it.home, cycles=cycles).write(path, replace=replace)


def _sound(it: Content, path: Path, cycles: int, replace: bool) -> None:
    from rhythmlab.audio.sound import sound

    _short_enough(it, cycles)
    sound(it.what, it.tempo, home=it.home, cycles=cycles).write(path, replace=replace)


def _cue(it: Content, path: Path, cycles: int, replace: bool) -> None:
    from rhythmlab.audio.cue import cue

    _short_enough(it, cycles)
    cue(it.what, it.tempo, home=it.home, cycles=cycles).write(path, replace=replace)


def _strokes(it: Content, path: Path, cycles: int, replace: bool) -> None:
    from rhythmlab.export.strokes import strokes

    strokes(it.what, it.tempo, home=it.home).write(path, replace=replace)


def as_seen(scene: Scene, stage: Stage) -> Scene:
    """Return a picture with the take under it that a stage shows there, if it shows one."""
    if not stage.feedback or not stage.played:
        return scene
    meant = [lane["onsets"] for lane in stage.plan.get("lanes", ())]
    return with_take(scene, cast(Under, stage.played), meant, stage.struck)


def _picture(it: Content, path: Path, cycles: int, replace: bool) -> None:
    from rhythmlab.draw.figure import picture

    picture(replaced(it.scene, shows=it.title), path, replace=replace)


def _handout(it: Content, path: Path, cycles: int, replace: bool) -> None:
    from rhythmlab.export.handout import handout

    handout(it.what, it.tempo, **_as_shown(it)).write(path, replace=replace)


def _film(it: Content, path: Path, cycles: int, replace: bool) -> None:
    from rhythmlab.audio.sound import sound
    from rhythmlab.export.film import MOST_SECONDS as MOST_FILMED
    from rhythmlab.export.film import film_of

    _short_enough(it, cycles, MOST_FILMED, "ten minutes")
    cycle = it.what if isinstance(it.what, Cycle) else it.what.cycle(it.home)
    heard = sound(it.what, it.tempo, home=it.home, cycles=cycles)
    film_of(heard, cycle, scene=it.scene, words=it.words).write(path, replace=replace)


def _short_enough(it: Content, cycles: int, most: int = MOST_SECONDS, said: str = "hour") -> None:
    seconds = cycles * it.tempo.cycle_seconds(it.what)
    if seconds > most:
        raise FieldRefusal(
            "cycles",
            f"{numbers.plural(cycles, 'cycle')} last {numbers.seconds(seconds)}, more than the "
            f"{said} that a panel saves",
            1,
        )
    cycle = it.what if isinstance(it.what, Cycle) else it.what.cycle()
    strokes = cycles * (sum(len(lane.onsets) for lane in cycle.lanes) + len(cycle.beats))
    if strokes > MOST_STROKES:
        raise FieldRefusal(
            "cycles",
            f"{numbers.plural(cycles, 'cycle')} have {numbers.plural(strokes, 'stroke')}, more "
            f"than the {numbers.number(MOST_STROKES)} of a file of sound that a panel saves",
            1,
        )


#: What can be saved -> what is added to the title, the ending of the file, and how it is written.
KINDS: dict[str, tuple[str, str, Callable[[Content, Path, int, bool], None]]] = {
    "handout (PDF)": (" handout", ".pdf", _handout),
    "notes (SVG)": (" notes", ".svg", _score),
    "notes (MusicXML)": ("", ".musicxml", _score),
    "MIDI": ("", ".mid", _midi),
    "sound (WAV)": ("", ".wav", _sound),
    "cue track (WAV)": (" cue", ".wav", _cue),
    "strokes (CSV)": ("", ".csv", _strokes),
    "picture (SVG)": ("", ".svg", _picture),
    "picture (PNG)": ("", ".png", _picture),
    "picture (PDF)": (" picture", ".pdf", _picture),
}
if find_spec("av"):  # the extra `film`
    KINDS["film (WebM)"] = ("", ".webm", _film)


#: What holds a count of its own, and what is said where other words stood under the picture.
_COUNTED_IN_BEATS = ("strokes (CSV)",)
_OTHER_COUNT = " Its column of counts has beats and their parts, not the words under the picture."


class Export(Quiet, widgets.VBox):
    """A line under a panel that saves what it shows; closed until it is asked for.

    Parameters
    ----------
    content : callable
        Gives what is shown now.
    folder : Path, optional
        Where to; the reader's working folder, or else the current one, when left out.
    """

    def __init__(self, content: Callable[[], Content], folder: Path | None = None) -> None:
        self._content, self._folder = content, folder
        self._asked: Path | None = None
        self._open = widgets.ToggleButton(value=False, description="Save …", tooltip="Save what is shown")
        self._open.layout.width = "92px"
        self._open.observe(self._opened, names=["value"])
        super().__init__([self._open])

    def _opened(self, _: object) -> None:
        if len(self.children) == 1:
            self._build()
        self.children[1].layout.display = "" if self._open.value else "none"

    def _build(self) -> None:
        """Make the form, which no page needs before it is asked for."""
        self._kind = menu("save as", [(kind, kind) for kind in KINDS], 170)
        self._name = text("name", "", 240)
        self._name.placeholder = "as the panel is called"
        self._cycles = text("cycles", 4)
        self._save = widgets.Button(description="Save", tooltip="Save into your folder")
        self._save.on_click(lambda _: self._pressed())
        self._told, self._bar, self.line = widgets.HTML(), Bar(), ErrorLine()
        for field in (self._kind, self._name, self._cycles):
            field.observe(self._changed, names=["value"])
        row = widgets.Layout(flex_flow="row wrap", align_items="center")
        form = widgets.HBox([self._kind, self._name, self._cycles, self._save], layout=row)
        self.children = [self._open, widgets.VBox([form, self.line, self._bar, self._told])]

    def row(self) -> dict[str, object]:
        """Return the form as a stage draws it."""
        if len(self.children) == 1:
            self._build()
        fields = [self._kind, self._name, self._cycles, self._save]
        return {"fields": fields, "note": self._told, "bar": self._bar, "line": self.line}

    def offered_on(self, stage: Stage) -> None:
        """Have a stage offer to save, and draw the form among its parts once it is asked for."""

        def pressed(what: Mapping[str, Any]) -> None:
            if what["pressed"] == "save":
                stage.parts = {**stage.parts, "save": self.row()}

        stage.saves = True
        stage.on_pressed(pressed)

    def _changed(self, _: object) -> None:
        self._asked = None
        self._save.description = "Save"
        try:
            self._number()
        except FieldRefusal as error:
            return self.line.tell(error)
        return self.line.tell()

    def _pressed(self) -> None:
        try:
            path, kind = self._where()
            cycles = self._number()
            if replaceable(path) and self._asked != path:
                self._asked = path
                self._save.description = "Replace it"
                again = "Press again to replace it, or type another name to keep both."
                self._tell(f"{path.name} is there already. {again}")
                return
            content = self._content()
            self._told.value = ""
            try:
                with shown_on(self._bar):
                    KINDS[kind][2](content, path, cycles, self._asked == path)
            finally:
                self._bar.what = ""
            self._changed(None)
            other = _OTHER_COUNT if content.words and kind in _COUNTED_IN_BEATS else ""
            self._tell(f"Saved as {path.name} in {path.parent}.{other}", opens([path]))
        except Stopped as stopped:
            self._tell(str(stopped))
        except KeyboardInterrupt:
            self._tell("Stopped: the file is there whole, or not at all.")
        except FieldRefusal as error:
            self._told.value = ""
            self.line.tell(error)
        except FileExistsError as error:
            self._tell(f"{_because(error).rstrip('.')}, for example {path.stem}-2.")
        except Exception as error:  # whatever it is, the reader is told, and nothing is lost
            self._tell(_because(error))

    def _where(self) -> tuple[Path, str]:
        kind = self._kind.value
        added, ending, _ = KINDS[kind]
        name = safe_name(self._name.value.strip() or self._content().title + added, ending)
        return (self._folder or place_for_files()) / name, kind

    def _number(self) -> int:
        typed = self._cycles.value.strip()
        if not (
            typed.isascii() and typed.isdigit() and 1 <= int(typed[:9]) <= MOST_CYCLES and len(typed) < 9
        ):
            said = f"cycles {typed[:40]!r} is not a whole number from 1 to {MOST_CYCLES}"
            raise FieldRefusal("cycles", said, 4)
        return int(typed)

    def _tell(self, said: str, links: str = "") -> None:
        self._told.value = f"<p role='status'>{escape(said)}{links}</p>"


def _because(error: Exception) -> str:
    """Say what went wrong in a sentence, without the call that would mend it in a cell."""
    if isinstance(error, ValueError | OSError | IndexError):
        return f"Not saved: {as_sentence(error)}"
    return f"Not saved, and it is a fault of the page: {type(error).__name__}: {error}"

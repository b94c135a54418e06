"""The set list on the wall: items prepared beforehand, stepped through with one key, with a handout pack."""

import os
from collections.abc import Callable, Sequence
from fractions import Fraction
from html import escape
from pathlib import Path
from typing import Any, cast

import ipywidgets as widgets

from rhythmlab.core.check import a
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.feel import Feel
from rhythmlab.core.long_work import Stopped, shown_on
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.tempo import Tempo
from rhythmlab.core.types import Number
from rhythmlab.panels.controls import home_index
from rhythmlab.panels.cycle_panel import PanelContent
from rhythmlab.panels.errors import ONE_AT_A_TIME, FieldRefusal
from rhythmlab.panels.linked import opens
from rhythmlab.panels.panel import read_sentence
from rhythmlab.panels.plan import Workshop, WorkshopPlan
from rhythmlab.panels.progress import Bar
from rhythmlab.panels.wall import Wall
from rhythmlab.playing.fill import Fill
from rhythmlab.playing.groove import Accents
from rhythmlab.playing.metre import note_name
from rhythmlab.playing.ostinato import Ostinato
from rhythmlab.playing.sentence import Sentence
from rhythmlab.practice.set_list import Item, Items, SetList, SetListError, at_bpm, line_of, parsed, read_line
from rhythmlab.refusal import Refusal, as_sentence
from rhythmlab.text import descriptions, numbers, sentences
from rhythmlab.text.sentences import say

#: The folder of a handout pack, beside the set list.
PACK = "handouts"
#: Letters of a title that the large line says again under the wall; a longer one stands over it, smaller.
_MOST = 45


class SetListWall(Wall):
    """A `Wall` with a set list: Page Down shows the next item, Page Up the one before.

    Parameters
    ----------
    path : path, or a plan, optional
        The file; ``set-list.txt`` in the reader's working folder when left out.
    hall : number, optional
        Length of the room in metres; the one that was kept when left out.

    Attributes
    ----------
    items : Items
        What is on the list.
    at : int
        Index of the item shown.
    """

    def __init__(
        self,
        path: str | os.PathLike[str] | WorkshopPlan | Workshop | None = None,
        *,
        hall: Number | None = None,
    ) -> None:
        plan = path.plan if isinstance(path, WorkshopPlan) else path
        if plan is None or isinstance(plan, Workshop):
            self.songs = SetList()
        else:
            self.songs = SetList(a((str, os.PathLike), plan, "path", 'path="set-list.txt"'))
        self._planned = plan.set_list() if isinstance(plan, Workshop) else ""
        self.items, self.at = Items(), 0
        self._listed_text = ""  # which the items were read from
        self._plain = ""  # the sentence of the item on the wall, which may be plain text
        self._on: Item | None = None  # what of the list is on the wall, if it is not something in between
        self._over: str | None = None
        self._saved: Sequence[Path] = ()  # by the button that was pressed last
        self._text = widgets.Textarea(description="set list", continuous_update=False)
        self._told, self._bar = widgets.HTML(), Bar()
        names: dict[str, Callable[[], str]] = {
            "Save the list": self._save,
            "Save beside": self._save_beside,
            "Read it again": self._read_over,
            "Add what is on the wall": self._add,
            "Handouts for all": self._pack,
        }
        self._buttons = {name: widgets.Button(description=name) for name in names}
        for name, button in self._buttons.items():
            button.on_click(lambda _, does=names[name]: self._do(does))
        super().__init__((7, 4), home=None, bpm=72, hall=hall)
        self._do(self._read)

    def _shelf(self) -> list[dict[str, Any]]:
        buttons = {
            "fields": list(self._buttons.values()),
            "note": self._told,
            "bar": self._bar,
            "answers": True,
        }
        return [{"name": "Set list", "rows": [{"fields": [self._text]}, buttons]}, *super()._shelf()]

    def _do(self, does: Callable[[], str]) -> None:
        """Do what a button says, and tell what came of it beside the buttons."""
        with ONE_AT_A_TIME:
            self._saved = ()
            if does != self._read_over:
                self._over = None
            try:
                said = does()
            except Stopped as stopped:
                said = str(stopped)
            except KeyboardInterrupt:
                said = "Stopped: each file that is there is whole, and the rest was not made."
            except (ValueError, IndexError, OSError) as error:
                said = as_sentence(error)
            except Exception as error:
                said = f"This did not work, and it is a fault of the page: {type(error).__name__}: {error}"
            self._told.value = f"<p role='status'>{escape(said)}{opens(self._saved)}</p>" if said else ""

    def _read(self) -> str:
        """Read the file, or take over a plan, and show the first item."""
        if self._planned:
            self.songs, text, self._planned = self.songs.free(), self._planned, ""
            self.items, self._text.value = parsed(text, self.left_handed), text
        else:
            self.items = self.songs.read(self.left_handed)
            self._text.value = self.songs.text
        self._listed_text = self._text.value
        self.at = 0
        self._show_item()
        return sentences.sentences(self._from_where(), self.items.warning)

    def _read_over(self) -> str:
        """Read the file again; lines that are typed and not kept go only when asked for twice."""
        typed = self._text.value
        if typed.rstrip("\n") != self.songs.text.rstrip("\n") and self._over != typed:
            self._over = typed
            again = f"Press again to read {self.songs.path.name} over it, or press Save beside to keep both."
            return f"What stands in the field is not saved. {again}"
        return self._read()

    def _from_where(self) -> str:
        count = numbers.plural(len(self.items), "item")
        if self.songs.path.exists():
            return f"{count} from {self.songs.path.name}."
        return f"{count} to begin with: nothing is kept before Save the list is pressed."

    def _save(self) -> str:
        self.songs.save(self._text.value)
        return self._listed(self.songs.path)

    def _save_beside(self) -> str:
        return self._listed(self.songs.save_beside(self._text.value))

    def _listed(self, path: Path) -> str:
        """Take over what the field holds; what is on the wall stays there, and its place is found again."""
        self._take(self._text.value)
        self._saved = (path,)
        saved = f"Saved in {path.name}: {numbers.plural(len(self.items), 'item')}."
        return sentences.sentences(saved, self.items.warning)

    def _take(self, text: str) -> None:
        """Take over other items; where the one shown is gone, the list goes on after what came before it.

        A list that has nothing of that either is new, and begins with its first.
        """
        items, self._listed_text = parsed(text, self.left_handed), text
        until = self.items[: self.at + 1]
        last = max((i for i, item in enumerate(until) if item in items), default=-1)
        places = [i for i, item in enumerate(items) if last >= 0 and item == until[last]]
        if last < 0 or last != self.at:
            self._on = None
        self.items, self.at = items, min(places, key=lambda i: abs(i - last), default=-1)
        self._tell_room()

    def _add(self) -> str:
        """Write the pair on the wall, its view and its sentence at the end of the field."""
        if self._shown is not None:
            raise SetListError("What is on the wall is a groove that is on the list already.")
        p = self.feel.polyrhythm
        view = self._view.value if self._view.value != self._fitting(self.feel, self.tempo) else ""
        said = f" | sentence: {' '.join(self.words.split())}" if self.words else ""
        line = line_of(p, self.tempo, self.feel.home, view=view) + said
        read_line(line)  # refuses a home that is too fast for a list: flip it first
        text = self._text.value
        self._text.value = f"{text}{'' if not text or text.endswith(chr(10)) else chr(10)}{line}\n"
        self._take(self._text.value)
        return f"Added, and kept when Save the list is pressed: {line}"

    def _pack(self) -> str:
        """Make a handout for each item, in a folder beside the list."""
        if not self.items:
            raise SetListError("The set list has no items, so there is nothing to hand out.")
        try:
            from rhythmlab.export.handout import handout_pack
        except ImportError as error:
            raise SetListError(
                f"Handouts cannot be made with this installation ({error}): install rhythmlab again with "
                "everything it needs, as the README says."
            ) from error
        folder: Path = self.songs.path.parent / PACK
        count = numbers.plural(len(self.items), "handout")
        self._told.value = f"<p role='status'>Making {count}: press Stop to end it early.</p>"
        try:
            with shown_on(self._bar, at_once=True):  # it was said that there is a Stop
                self._saved = handout_pack([self._handed_out(item) for item in self.items], folder)
        finally:
            self._bar.what = ""
        # the list is kept in the working folder, which is not where its page lies
        where = f"{folder.parent.name}/{PACK}"
        return f"{numbers.plural(len(self._saved), 'handout')} in the folder {where}, beside the set list."

    def _handed_out(self, item: Item) -> dict[str, object]:
        """Return what a handout is made of, as one that is saved while its item is on the wall."""
        what, home, groups = item.what, item.home, self.feel.groups
        said: object = None
        if isinstance(what, Polyrhythm):
            said = read_sentence(Feel(what, home, groups=groups), item.sentence)
        return {
            "what": said if isinstance(said, Sentence) else what,
            "tempo": item.tempo,
            "home": None if isinstance(said, Sentence) else home,
            "title": item.title,
            "groups": groups if isinstance(what, Polyrhythm) else (),
            "spoken": item.words,
            "left_handed": self.left_handed,
        }

    def _hands_changed(self) -> None:
        """Open the list again with these hands, and show its item that is on the wall."""
        again, at = self._on is not None, self.at
        self.items, self.at = parsed(self._listed_text, self.left_handed), at
        if again:
            self._show_item()
        else:
            super()._hands_changed()

    def _step(self, by: int) -> None:
        if not self.items:
            raise SetListError("The set list has no items: write some lines, and press Save the list.")
        if not 0 <= self.at + by < len(self.items):
            what, key = ("last", "Page Up goes back") if by > 0 else ("first", "Page Down goes on")
            raise SetListError(f"That is the {what} item of the set list; {key}.")
        self.at += by
        self._show_item()

    def _show_item(self) -> None:
        if not self.items:
            return
        item, words, self._on = self.items[self.at], self.words, None
        plain, self._plain = self._plain, item.sentence
        self._keep_words(item.sentence)
        try:
            self._put_item(item)
            self._on = item
            if self._shown is None:
                self.stage.head = self._head()  # now with the title
        except FieldRefusal as error:  # the item before stays on the wall, and the next one can be gone to
            self._plain = plain
            self._keep_words(words)
            raise Refusal(f"{item.title} cannot be shown: {error.wrong}.") from error
        finally:
            self._tell_room()

    def _put_item(self, item: Item) -> None:
        if isinstance(item.what, Polyrhythm):
            self.put(item.what, item.tempo, home_index(item.home, len(item.what.pulses)), item.view)
        else:
            self.show(self._groove(item))

    def _title(self) -> str:
        on = self._on
        return on.title if on is not None and on.title != descriptions.pair(self.feel.polyrhythm) else ""

    def _groove(self, item: Item) -> PanelContent:
        """Return what is no pair with what is said of it, at its tempo and, where asked, at any other."""
        what = cast(Cycle, item.what)

        def at(bpm: Fraction) -> PanelContent:
            return self._groove(at_bpm(item, bpm, self.left_handed))

        said = [item.sentence.replace("*", ""), item.text]
        return PanelContent(item.title, what, item.tempo, said, item.words, _note(item), at)

    def _call(self, p: Polyrhythm) -> None:
        on, words, plain = self._on, self.words, self._plain
        self._on, self._plain = None, ""
        self._keep_words("")
        try:
            super()._call(p)
        except BaseException:
            self._on, self._plain = on, plain
            self._keep_words(words)
            raise

    def _sentences(self, feel: Feel, tempo: Tempo) -> list[str]:
        drawn = isinstance(self._said_on(feel), Sentence)  # and told with its stresses
        plain = self.words if self.words == self._plain and not drawn else ""
        return [plain.replace("*", ""), *super()._sentences(feel, tempo)]

    def _sentence_said(self, said: Sentence) -> str:
        """Say the plain words of an item without what is asked of whoever writes: a room reads the wall."""
        plain = self.words == self._plain and "*" not in self.words
        return say("sentence.said", sentence=said.text) if plain else super()._sentence_said(said)

    def _tell_words(self) -> None:
        """Say why a sentence is not on the line; the plain words of an item, with no stress, need not be."""
        if self.words and self.words == self._plain and "*" not in self.words:
            return self._words_line.tell()
        return super()._tell_words()

    def _hint_between(self) -> str:
        """Say what is on the wall in between, and where the list goes on."""
        shown = self._shown.title if self._shown else descriptions.pair(self.feel.polyrhythm)
        here = f"On the wall: {shown}"
        if self.at + 1 < len(self.items):
            return f"{here} \u00b7 Page Down: {self.items[self.at + 1].title}"
        return f"{here} \u00b7 the list is at its end"

    def _hint(self) -> str:
        if not self.items:
            return super()._hint()
        if self._on is None or self.at < 0:
            return self._hint_between()
        title, here = self.items[self.at].title, f"{self.at + 1} of {len(self.items)}"
        if len(title) <= _MOST:  # a longer one stands over the picture
            here = f"{here}: {title}"
        if self.at + 1 == len(self.items):
            return f"{here} \u00b7 the last one"
        return f"{here} \u00b7 Page Down: {self.items[self.at + 1].title}"


def _note(item: Item) -> str:
    """Return the note that the tempo of an item counts; none for pulses, which are beats themselves."""
    if item.kind == "phrase":
        return note_name(Fraction(1, 4))
    return item.what.metre.beat if isinstance(item.what, Accents | Fill | Ostinato) else ""


@public('pages.set_list("a-list.json")')
def set_list(
    path: str | os.PathLike[str] | WorkshopPlan | Workshop | None = None, *, hall: Number | None = None
) -> SetListWall:
    """Put a set list on the wall of a room.

    Parameters
    ----------
    path : path, or a plan, optional
        The file; ``set-list.txt`` in the reader's working folder when left out.  Of a plan, such as
        ``pages.workshop_plan(60)``, its items; a new file once they are saved.
    hall : number, optional
        Length of the room in metres; the one that was kept when left out.

    Returns
    -------
    SetListWall

    Examples
    --------
    >>> import tempfile
    >>> shown = set_list(Path(tempfile.mkdtemp()) / "set-list.txt")
    >>> shown.stage.room["hint"]
    '1 of 5: Three claps over two \u00b7 Page Down: 4 against 3'
    """
    return SetListWall(path, hall=hall)

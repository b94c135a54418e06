"""A panel for any cycle: fields to fill in, and the picture, the sound and the sentences they make."""

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from typing import Any

import ipywidgets as widgets

from rhythmlab.core.check import short
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.display import Quiet
from rhythmlab.core.feel import places
from rhythmlab.core.tempo import Tempo
from rhythmlab.draw.fit import readable
from rhythmlab.draw.pictures import strip_in_words
from rhythmlab.draw.scene import Scene
from rhythmlab.draw.svg import svg
from rhythmlab.panels.controls import read_bpm
from rhythmlab.panels.errors import ONE_AT_A_TIME, ErrorLine, FieldRefusal, blamed, shows_errors
from rhythmlab.panels.guess import Guess, checked
from rhythmlab.panels.handed import follow, remembered_hands
from rhythmlab.panels.saving import Content, Export, as_seen
from rhythmlab.panels.stage.sounding import MOST_SPOTS, plan_of, refuse_too_dense
from rhythmlab.panels.stage.stage import Stage
from rhythmlab.panels.takes import Takes
from rhythmlab.panels.tries import Tries
from rhythmlab.practice.set_list import MOST_STROKES
from rhythmlab.refusal import Refusal, as_sentence
from rhythmlab.text import counts, numbers


@dataclass(frozen=True)
class PanelContent:
    """What a panel shows: a title, a cycle at a tempo, and sentences.

    Attributes
    ----------
    title : str
        In large letters.
    cycle : Cycle
        What is seen, heard and played.
    tempo : Tempo
        How fast.
    text : list of str
        Under the picture.
    words : tuple of str
        Said on the ticks, over and over, in place of the count; none where the count is said.
    note : str
        The note that the tempo counts, as "eighth"; empty where it is the beat of a pulse.
    at : callable, optional
        From beats a minute to the same at that tempo.
    """

    title: str
    cycle: Cycle
    tempo: Tempo
    text: list[str]
    words: tuple[str, ...] = ()
    note: str = ""
    at: Callable[[Fraction], "PanelContent"] | None = None

    @property
    def counted(self) -> str:
        """What is counted on from one to the next: beats, or the groups of a phrase."""
        return "group" if self.words else "beat"


class CyclePanel(Quiet, widgets.VBox):
    """Fields, and the cycle they make on a stage.

    Parameters
    ----------
    fields : mapping of str to widget
        What the reader fills in, by name.
    show : callable
        From the values of the fields, by name, and whether the player is left-handed, to what is
        `PanelContent`; what it refuses is said in the panel.
    guess : Guess, optional
        The reader's guess, which covers the panel until it is made or skipped.
    tries : sequence of str, or str, optional
        Lines that the reader can try by a button each, the fields as in a set list; or the number of a page.
    call : str
        A call that works, for messages.
    named : mapping of str to str, optional
        Arguments in messages of the library, and the fields that they come from, where names differ.
    mirror : callable, optional
        Told whether the player is left-handed, to change the fields that name a hand or a foot.
    """

    _quiet = False

    def __init__(
        self,
        fields: Mapping[str, widgets.Widget],
        show: Callable[[dict[str, str], bool], PanelContent],
        *,
        guess: Guess | None = None,
        tries: Sequence[str] | None = None,
        call: str,
        named: Mapping[str, str] | None = None,
        mirror: Callable[[bool], None] | None = None,
    ) -> None:
        self.left_handed, self._mirror = remembered_hands(), mirror
        self._fields, self._show, self._guess = dict(fields), show, checked(guess)
        self._named = {**{name: name for name in self._fields}, **(named or {})}
        self.line = ErrorLine()
        self.stage = Stage()
        self.stage.left_handed = self.left_handed
        if mirror is not None:
            mirror(self.left_handed)
        self.takes = Takes(self.stage)
        self._begun: tuple[str, str] | None = None  # the field that is typed in, and what it held in force
        for name, field in self._fields.items():
            field.observe(self._changed, names=["value"])
            field.on_msg(partial(self._entered, name))
        tempo = self._fields["bpm"]
        others = [field for field in self._fields.values() if field is not tempo]
        parts = {"tempo": tempo, "rows": [{"fields": others}], "line": self.line}
        self._first = self._followed = self._typed_in()
        self._tries = Tries(
            tries, self._read_try, self._tried, f"{call[:-1]}, tries=[{{}}])", self._example()
        )
        self.stage.parts = {**parts, **self._tries.part, **({"guess": guess} if guess is not None else {})}
        self.export = Export(self._content)
        self.export.offered_on(self.stage)
        super().__init__([self.stage])
        try:
            self._redraw()
        except FieldRefusal as error:
            raise error.in_a_call(call) from error
        except ValueError as error:
            raise Refusal(as_sentence(error).rstrip("."), call) from error
        follow(self)

    @shows_errors
    def hands_chosen(self, left_handed: bool) -> None:
        """Show the hands and feet of a left-handed player from now on, or of a right-handed one."""
        self.left_handed = self.stage.left_handed = left_handed
        self._begun = None
        if self._mirror is not None:
            self._mirror(left_handed)
        self._follow_fields(next(iter(self._fields.values())))

    def _refused(self) -> list[FieldRefusal]:
        """Return which fields are not followed: those refused while the ones before are as they were."""
        values, found = self._typed_in(), []
        while values != self._followed:
            try:
                self._playable(self._show(values, self.left_handed), values["bpm"])
                break
            except (ValueError, IndexError) as error:
                refused = self._blamed(error)
            name = self._field_of(refused)
            if values[name] == self._followed[name]:
                break
            found.append(refused)
            values[name] = self._followed[name]
        return found

    def _typed_in(self) -> dict[str, str]:
        return {name: field.value for name, field in self._fields.items()}

    def _field_of(self, refused: FieldRefusal) -> str:
        return next(name for name, one in self._fields.items() if one.description == refused.field)

    def _blamed(self, error: Exception, changed: widgets.Widget | None = None) -> FieldRefusal:
        """Return an error as the refusal of a field: the one that was changed where no other is meant."""
        if isinstance(error, FieldRefusal):
            return error
        names = {name: self._fields[field].description for name, field in self._named.items()}
        refused = blamed(error, names, (changed or next(iter(self._fields.values()))).description)
        return FieldRefusal(refused.field, refused.wrong, self._fields[self._field_of(refused)].example)

    def _entered(self, name: str, _field: object, said: Mapping[str, object], _: object) -> None:
        """Keep what is in force of a field while it is typed in, from when it has the focus."""
        if said.get("event") == "focus":
            with ONE_AT_A_TIME:
                self._begun = name, self._followed[name]

    @shows_errors
    def _changed(self, change: dict[str, Any]) -> None:
        if not self._quiet:
            try:
                self._follow_fields(change["owner"])
            except FieldRefusal:
                self._go_back(change["owner"])
                raise

    def _go_back(self, changed: widgets.Widget) -> None:
        """Show what stood in a field before it was typed in, not the beginning of what it refuses."""
        if self._begun is None or self._fields[self._begun[0]] is not changed:
            return
        before = self._followed | dict([self._begun])
        if before != self._followed:
            with suppress(ValueError, IndexError):  # the other hands, say, cannot play it
                self._redraw(before)

    def _read_try(self, given: Mapping[str, str]) -> tuple[dict[str, object], str]:
        """Read a line to try: the value of each field that it names, and how a button names them."""
        found: dict[str, object] = {}
        for name, value in given.items():
            field = self._named_in_a_line(name)
            held = self._fields[field]
            if isinstance(held, widgets.Dropdown):
                found[field] = _chosen(held, value)
            else:
                found[field] = value
        said = [
            f"{self._fields[field].description} {given[name]}"
            for field, name in zip(found, given, strict=True)
        ]
        return found, ", ".join(said)

    def _named_in_a_line(self, name: str) -> str:
        """Return which field a line means, by its name in the panel or in a set list."""
        for field, held in self._fields.items():
            if name in (field.replace("_", " "), held.description, held.description.removeprefix("my ")):
                return field
        names = ", ".join(field.description for field in self._fields.values())
        raise Refusal(f"{short(name)} is no field of this panel; there are {names}")

    def _example(self) -> str:
        """Return a line that could be tried."""
        name, field = next(iter(self._fields.items()))
        return f"{field.description}: {self._first[name]}"

    @shows_errors
    def _tried(self, values: Mapping[str, object]) -> None:
        """Set the fields that a line names, and what is typed in all others as it was at first."""
        typed = {
            name: self._first[name] for name, field in self._fields.items() if isinstance(field, widgets.Text)
        }
        wanted = {**typed, **values}
        self._quiet, self._begun = True, None
        try:
            for name, value in wanted.items():
                self._fields[name].value = value
        finally:
            self._quiet = False
        self._follow_fields(self._fields[next(iter(values))])
        for name, value in values.items():  # what another number put back to its first choice
            self._fields[name].value = value

    def _follow_fields(self, changed: widgets.Widget) -> None:
        """Draw what the fields say, or blame one of them."""
        try:
            self._redraw()
        except FieldRefusal:
            raise
        except (ValueError, IndexError) as error:
            raise self._blamed(error, changed) from error

    def _playable(self, shown: PanelContent, typed: str) -> None:
        """Refuse what has more strokes in a second than a sound card can lay."""
        cycle, field = shown.cycle, self._fields["bpm"].description
        strokes = sum(len(lane.onsets) for lane in cycle.lanes) + len(cycle.beats)
        if strokes > MOST_STROKES:
            raise Refusal(
                f"{cut(shown.title)} has {numbers.plural(strokes, 'stroke')}, more than the "
                f"{numbers.number(MOST_STROKES)} that a panel draws"
            )
        bpm = read_bpm(typed, field, self._fields["bpm"].example)
        beats = bpm * shown.tempo.cycle_seconds(cycle) / 60
        refuse_too_dense(cut(shown.title), strokes, beats, bpm, field)

    def _redraw(self, before: dict[str, str] | None = None) -> None:
        values = before or self._typed_in()
        shown = self._show(values, self.left_handed)
        self._playable(shown, values["bpm"])
        cycle, tempo = shown.cycle, shown.tempo
        start, stop = drawn_bars(cycle)
        seconds = numbers.seconds(tempo.cycle_seconds(cycle))
        ticks, sounds = numbers.plural(cycle.ticks, "tick"), numbers.plural(len(composite(cycle)), "sound")
        facts = ", ".join(filter(None, (ticks, sounds, seconds, drawn_text(cycle, stop))))
        picture = {
            "svg": svg(strip_in_words(cycle, shown.words, start=start, stop=stop), live=True),
            "said": [text for text in shown.text if text],
            "home": "the beat",
            "counted": shown.counted,
            "bpm": float(tempo.bpm),
            "spots": _spots(cycle),
        }
        names = [
            lane.name if lane.limb in ("", lane.name) else f"{lane.name}, {lane.limb}" for lane in cycle.lanes
        ]
        made = plan_of(cycle, tempo, [cycle.beats], names)
        self._shown = shown
        with self.stage.hold_sync():
            self.stage.head = {"title": cut(shown.title), "facts": facts}
            if len(cycle.lanes) != 2 and self.stage.mode in ("both pulses", "gap cycle"):
                self.stage.mode = "one pulse"
            self.stage.pictures = [picture]
            self.stage.sound(made)
        self._followed = before or self._typed_in()

    def _content(self) -> Content:
        """Return what is shown now, to be saved."""
        one = self._shown
        start, stop = drawn_bars(one.cycle)
        scene = as_seen(strip_in_words(one.cycle, one.words, start=start, stop=stop), self.stage)
        return Content(one.title, one.cycle, one.tempo, None, scene, words=one.words)

    @property
    def picture(self) -> Scene:
        """The picture as it is shown, with the take under it if there is one."""
        shown = self._content()
        return replace(shown.scene, shows=shown.title)


def _chosen(menu: widgets.Dropdown, value: str) -> object:
    """Return what an entry of a menu stands for, by its name, or by its place from 1."""
    for place, (name, held) in enumerate(menu.options, 1):
        if value in (name, str(place)):
            return held
    said = f"{menu.description} {short(value)} is none of {', '.join(name for name, _ in menu.options)}"
    raise Refusal(said, f"{menu.description}: {menu.options[-1][0]}")


def cut(title: str, most: int = 72) -> str:
    """Return a title that fits over a picture, the rest left out.

    Examples
    --------
    >>> cut("31 as 4 4 4 4 4 4 4 3", 14)
    '31 as 4 4 4 4…'
    """
    return title if len(title) <= most else title[: most - 1].rstrip() + "\N{HORIZONTAL ELLIPSIS}"


def drawn_bars(cycle: Cycle) -> tuple[int, int]:
    """Return the window of a cycle that can be read: all of it, or from its start as many whole bars as fit.

    Examples
    --------
    >>> from rhythmlab.playing.ostinato import ostinato
    >>> drawn_bars(ostinato("x..x..x.", "x.x.xx", metre="4/4"))
    (0, 48)
    """
    start, stop = readable(cycle)
    ends = [bar for bar in cycle.bars.tolist() if start < bar <= stop]
    return start, ends[-1] if ends and stop < cycle.ticks else stop


def drawn_text(cycle: Cycle, stop: int) -> str:
    """Say which bars are drawn, or which beats where not even one bar is; nothing where all are.

    Examples
    --------
    >>> long = Cycle(12, [], beats=range(12), bars=(0, 4, 8))
    >>> drawn_text(long, 8), drawn_text(long, 4), drawn_text(long, 3), drawn_text(long, 12)
    ('the picture shows bars 1 and 2 of 3', 'the picture shows bar 1 of 3', \
'the picture shows beats 1 to 3 of 12', '')
    """
    if stop >= cycle.ticks:
        return ""
    bars = cycle.bars.tolist()
    name, starts = ("bar", bars) if stop in bars else ("beat", cycle.beats.tolist())
    last = sum(start < stop for start in starts)
    joint = "and" if last == 2 else "to"
    shown = f"{name} 1" if last == 1 else f"{name}s 1 {joint} {numbers.number(last)}"
    return f"the picture shows {shown} of {numbers.number(len(starts))}"


def _spots(cycle: Cycle) -> list[list[object]]:
    """Return where a loop can begin and end: the bars, or the beats where there are few."""
    ticks = cycle.beats if 1 < len(cycle.beats) <= MOST_SPOTS else cycle.bars
    named = [counts.place_name(place) for place in places(cycle, cycle.beats)]
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

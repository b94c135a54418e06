"""A panel: what the rhythm is, its controls, the stage, and the reader's guess over it."""

from collections.abc import Callable, Mapping, Sequence
from contextlib import ExitStack, suppress
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from math import floor
from typing import Any

import ipywidgets as widgets

from rhythmlab.core.check import bpm as check_bpm
from rhythmlab.core.check import short
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.display import Quiet
from rhythmlab.core.feel import Feel, Groups, OwnGroups
from rhythmlab.core.gaps import phase_gaps
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.rhythm import Rhythm, polyrhythm_and_home
from rhythmlab.core.tempo import Speed, Tempo, tempo_given
from rhythmlab.draw.fit import readable
from rhythmlab.draw.gap_cycle import gap_cycle
from rhythmlab.draw.pictures import homes, shared_grid, strip
from rhythmlab.draw.scene import Scene
from rhythmlab.draw.svg import svg
from rhythmlab.panels.controls import (
    FirstBeat,
    Home,
    PulseFields,
    TempoField,
    drawable,
    home_index,
    pulse_field,
    read_beat,
    read_bpm,
    read_pulse,
    read_pulses,
)
from rhythmlab.panels.errors import ONE_AT_A_TIME, ErrorLine, FieldRefusal, blamed, shows_errors
from rhythmlab.panels.guess import Guess, checked
from rhythmlab.panels.handed import follow, remembered_hands
from rhythmlab.panels.own_groups import GroupField, given_groups
from rhythmlab.panels.saving import Content, Export, as_seen
from rhythmlab.panels.stage.at_once import at_once
from rhythmlab.panels.stage.sounding import fastest, plan, refuse_too_dense, slow_enough, spots, strokes_of
from rhythmlab.panels.stage.stage import Stage
from rhythmlab.panels.takes import Takes
from rhythmlab.panels.tries import Tries
from rhythmlab.playing.hearing import zones
from rhythmlab.playing.limits import Limits, limits_or
from rhythmlab.playing.sentence import Sentence, as_typed, one_of_ours, sentence
from rhythmlab.practice.set_list import MOST_STROKES
from rhythmlab.refusal import Refusal, as_sentence
from rhythmlab.text import descriptions, numbers

Window = tuple[int, int]
Typed = tuple[Polyrhythm, Fraction]
View = Callable[[Feel, Tempo, Limits, Window], Scene | str]

#: The views a panel offers, by the name in its menu.
VIEWS: dict[str, View] = {
    "heard line": lambda feel, tempo, limits, ticks: strip(
        feel.cycle(), start=ticks[0], stop=ticks[1], groups=feel.groups
    ),
    "shared grid": lambda feel, tempo, limits, ticks: shared_grid(
        feel.cycle(), start=ticks[0], stop=ticks[1]
    ),
    "every home": lambda feel, tempo, limits, ticks: homes(
        feel.polyrhythm, tempo, start=ticks[0], stop=ticks[1], groups=feel.groups
    ),
    "gap cycle": lambda feel, tempo, limits, ticks: gap_cycle(
        zones(
            phase_gaps(feel.polyrhythm, feel.flip().home, feel.home, start=ticks[0], stop=ticks[1]),
            tempo,
            limits=limits,
        )
    ),
}
#: The name of the field of a sentence of one's own, and one for 3 against 2.
SENTENCE_FIELD, _SAID = "sentence", "*hear the *har-bour, for 3 against 2"
#: The least percent of the written speed that a panel plays at.
SLOWEST = 30
#: Ends of the tempo slide, in beats a minute of home.
SLIDE = (20.0, 300.0)


def pulses_of(given: Sequence[Any], call: str) -> tuple[Polyrhythm, int | None]:
    """Return pulses given one by one, or as one rhythm, with the home that a cycle has.

    Examples
    --------
    >>> pulses_of((7, 4), "wall(7, 4)"), pulses_of(((7, 4),), "wall(7, 4)")
    ((Polyrhythm(7, 4), None), (Polyrhythm(7, 4), None))
    """
    try:
        if len(given) != 1 or isinstance(given[0], int):
            return Polyrhythm(*given), None
        p, home = polyrhythm_and_home(given[0], None, "pulses", call)
    except Refusal as error:
        raise Refusal(error.wrong, call, argument=error.argument) from error
    return p, home if isinstance(given[0], Cycle) else None


def checked_call(pulses: Sequence[Any], home: object, bpm: Speed, call: str) -> tuple[Polyrhythm, int, Tempo]:
    """Refuse in a call what the fields would refuse."""
    p, counted_from = pulses_of(pulses, call)
    at = home_index(counted_from if home is None else home, len(p.pulses))
    exact = check_bpm(tempo_given(bpm, p, at, "bpm=72", "bpm").bpm_of(p, at), "bpm", "bpm=72")
    try:
        drawable(p.pulses)
        refuse_too_dense(descriptions.pair(p), strokes_of(p), p.pulses[at], exact, "pulses", instead=0)
    except FieldRefusal as error:
        most = fastest(strokes_of(p), p.pulses[at]) if sum(p.pulses) <= MOST_STROKES else Fraction(0)
        slower = f"bpm={slow_enough(most)}" if most >= 1 else call
        raise error.in_a_call(slower) from error
    return p, at, Tempo(exact, pulse=at)


def _painted(seen: Scene | str) -> str:
    return seen if isinstance(seen, str) else svg(seen, live=True)


class Panel(Quiet, widgets.VBox):
    """Two or more numbers, their home, their tempo and a view, with the picture and the words they make.

    Parameters
    ----------
    pulses : sequence of int
        What it starts with.
    home : int or None
        Index of the home pulse; the last one when ``None``.
    bpm : number or Tempo
        Beats a minute of home.
    view : str
        One of `VIEWS`.
    text : callable
        From `Feel` and `Tempo` to the sentences under the picture.
    guess : Guess, optional
        The reader's guess, which covers the panel until it is made or skipped.
    tries : sequence of str, or str, optional
        Lines that the reader can try by a button each, the fields as in a set list; or the number of a page.
    grows : bool
        Whether the reader can add pulses.
    says : bool
        Whether there is a field for a sentence of one's own.
    counts : bool
        Whether there is a field for the groups that a beat of five parts or more is said in.
    groups : str or sequence of int, optional
        These groups, as for `Feel`; the remembered ones when left out.
    limits : Limits, optional
        The limits of hearing to use; the published ones when left out.
    call : str
        A call that works, for messages.

    Attributes
    ----------
    feel : Feel
        What is shown, and its home.
    tempo : Tempo
        How fast, exact.
    stage : Stage
        The picture, its words and its sound.
    left_handed : bool
        Whether all hands are mirrored.
    line : Line
        Under the fields: what one of them refuses.
    """

    VIEWS = VIEWS
    _quiet = False

    def __init__(
        self,
        pulses: Sequence[int | Rhythm],
        *,
        home: int | None,
        bpm: Speed,
        view: str,
        describe: Callable[[Feel, Tempo], list[str]],
        guess: Guess | None = None,
        tries: Sequence[str] | None = None,
        grows: bool = False,
        says: bool = False,
        counts: bool = False,
        groups: Groups | None = None,
        limits: Limits | None = None,
        call: str = "pages.two_numbers(7, 4)",
    ) -> None:
        p, home, tempo = checked_call(pulses, home, bpm, call)
        own = given_groups(groups, f'{call[:-1]}, groups="3+4")')
        self.feel, self.tempo, self._describe = Feel(p, home, groups=own), tempo, describe
        self._limits = limits_or(limits)
        self._why: FieldRefusal | None = None
        self._pulses = PulseFields(p.pulses, self._pulses_typed, grows=grows)
        self._home = Home(self._home_chosen)
        self._bpm = TempoField(self._bpm_typed)
        names = dict.fromkeys([view, *self.VIEWS])
        menu = {"style": {"description_width": "36px"}, "layout": widgets.Layout(width="172px")}
        self._view = widgets.Dropdown(options=list(names), value=view, description="view", **menu)
        self._drawn, self._undrawn = view, ""
        self._view.observe(self._view_chosen, names=["value"])
        self._first = FirstBeat(self._beat_typed)
        self._start = 0
        self.line = ErrorLine()
        self.stage = Stage()
        self.left_handed = remembered_hands()
        self.stage.left_handed = self.left_handed
        self.stage.observe(self._home_flipped, names=["home"])
        self.stage.observe(self._bpm_slid, names=["slid"])
        self.stage.observe(self._all_come, names=["asked"])
        self.takes = Takes(self.stage, groups=lambda: self.feel.groups)
        self.words = next((as_typed(one) for one in pulses if isinstance(one, Sentence)), "")
        self._words = widgets.Text(
            value=self.words,
            description=SENTENCE_FIELD,
            placeholder="*hear the *har-bour",
            style={"description_width": "auto"},
            layout=widgets.Layout(width="34em", max_width="100%"),
        )
        self._words.continuous_update = False  # followed by Enter, or when left
        self._words.observe(self._words_typed, names=["value"])
        self._words_line = ErrorLine()
        self._guess = checked(guess)
        self.export = Export(self._content)
        self._groups = GroupField(own, self._grouped)
        self._rows: list[dict[str, Any]] = [{"fields": [self._view, self._first]}]
        self._rows += [self._groups.row] if counts else []
        self._rows += [{"fields": [self._words], "line": self._words_line}] if says else []
        self._saving: dict[str, Any] = {}
        self._first_bpm, self._grows, self._says = tempo.bpm, grows, says
        self._tries = Tries(
            tries,
            self._read_try,
            self._tried,
            f"{call[:-1]}, tries=[{{}}])",
            f"pulses: {' '.join(map(str, p.pulses))} | bpm: 60",
        )
        self.stage.saves = True
        self.stage.on_pressed(self._opened)
        super().__init__([self.stage])
        self._redraw()
        follow(self)

    @shows_errors
    def hands_chosen(self, left_handed: bool) -> None:
        """Show the hands of a left-handed player from now on, or of a right-handed one."""
        self.left_handed = self.stage.left_handed = left_handed
        self._hands_changed()

    def _hands_changed(self) -> None:
        """Draw and say anew what names hands."""
        self._redraw()

    @shows_errors
    def _grouped(self, groups: OwnGroups) -> None:
        """Say beats of five parts or more in other groups from now on."""
        self._change(Feel(self.feel.polyrhythm, self.feel.home, groups=groups), self.tempo, self._start)

    @shows_errors
    def _words_typed(self, change: dict[str, Any]) -> None:
        self.say(change["new"])

    def say(self, words: str) -> None:
        """Say a sentence on the line that is heard; an empty one says none."""
        self.words = words if isinstance(words, str) and words.strip() else ""
        self._redraw()

    def _keep_words(self, words: str) -> None:
        """Hold a sentence, in its field too, for the next picture."""
        self.words = words
        self._words.unobserve(self._words_typed, names=["value"])
        self._words.value = words
        self._words.observe(self._words_typed, names=["value"])

    def _said_on(self, feel: Feel) -> Cycle:
        """Return what is shown of a home, with its sentence where there is one that fits."""
        said = read_sentence(feel, self.words)
        return said if isinstance(said, Sentence) else feel.cycle()

    def _tell_words(self) -> None:
        """Say under the field of the sentence why it is not said."""
        fits = one_of_ours(self.feel.polyrhythm, self.feel.home)
        said = read_sentence(self.feel, self.words)
        if isinstance(said, Refusal):
            said = blamed(said, {"text": SENTENCE_FIELD}, SENTENCE_FIELD, fits or _SAID)
        self._words_line.tell(*([said] if isinstance(said, FieldRefusal) else []))

    @shows_errors
    def _pulses_typed(self) -> None:
        if not self._quiet:
            self._typed()

    @shows_errors
    def _bpm_typed(self) -> None:
        self._typed()

    def _typed(self) -> None:
        """Follow the fields of pulses and tempo, both of them or what can be followed."""
        shown = self._shown_now()
        p, bpm = self._asked()
        both = (p or shown[0], bpm or shown[1])
        each = (
            [] if both[0] == shown[0] or both[1] == shown[1] else [(both[0], shown[1]), (shown[0], both[1])]
        )
        self._why = None
        try:
            self._follow_one(shown, (both, *each))
        finally:
            self.stage.answered = self._in_fields()

    def _follow_one(self, shown: Typed, ways: Sequence[Typed]) -> None:
        """Show the first of several that can be shown; what is wrong with the very first is kept."""
        for one in ways:
            if one == shown:
                break
            try:
                self._follow(*one)
                break
            except FieldRefusal as error:
                self._why = self._why or error

    def _shown_now(self) -> Typed:
        p = self.feel.polyrhythm
        return p, self.tempo.bpm_of(p, self.feel.home)

    def _asked(self) -> tuple[Polyrhythm | None, Fraction | None]:
        """Return what the fields of pulses and tempo hold, ``None`` where it cannot be read."""
        p = bpm = None
        with suppress(FieldRefusal):
            p = read_pulses(self._pulses.texts)
        with suppress(FieldRefusal):
            bpm = self._bpm.read()
        return p, bpm

    def _follow(self, p: Polyrhythm, bpm: Fraction) -> None:
        """Show other pulses, or another tempo of home.

        Raises
        ------
        FieldRefusal
            If they cannot be shown or played; what was there before is there still.
        """
        before, old = self._shown_now()
        home = min(self.feel.home, len(p.pulses) - 1)
        field, instead = self._bpm.description, None
        if p != before:
            changed = [i for i, pulse in enumerate(p.pulses) if before.pulses[i : i + 1] != (pulse,)]
            nth = max(changed or [home], key=lambda i: p.pulses[i])
            field, instead = pulse_field(nth), (*before.pulses, 7, 7, 7)[nth]
        if bpm != old or p != before:
            refuse_too_dense(descriptions.pair(p), strokes_of(p), p.pulses[home], bpm, field, instead)
        try:
            feel = Feel(p, home, groups=self.feel.groups)
            self._change(feel, Tempo(bpm, pulse=home), self._start if p == before else 0)
        except (ValueError, IndexError) as error:
            raise blamed(error, {}, field, instead or numbers.number(old)) from error

    def _change(self, feel: Feel, tempo: Tempo, start: int) -> None:
        """Show something else; where that does not work all stays as it was."""
        before = self.feel, self.tempo, self._start
        self.feel, self.tempo, self._start = feel, tempo, start
        try:
            self._redraw()
        except BaseException:
            self.feel, self.tempo, self._start = before
            raise

    def _refused(self) -> list[FieldRefusal]:
        """Return which fields are not followed, for as long as what stands in them is not what is shown."""
        found: list[FieldRefusal] = []

        def tried(read: Callable[..., Any], *given: Any) -> Any:
            try:
                return read(*given)
            except FieldRefusal as error:
                found.append(error)

        pulses = [tried(read_pulse, typed, nth) for nth, typed in enumerate(self._pulses.texts)]
        p = None if found else tried(drawable, pulses)
        asked = p, tried(self._bpm.read)
        if self._first.layout.display != "none":
            tried(read_beat, self._first.value, self.feel.beats)
        if found:
            return found
        if asked != self._shown_now():
            return [] if self._why is None else [self._why]
        if self._view.value != self._drawn:
            said = f"view {self._view.value}: {self._undrawn}"
            return [FieldRefusal("view", said, self._drawn)]
        return []

    @shows_errors
    def _home_chosen(self) -> None:
        if self._home.index is not None:
            self._flip(self._home.index)

    @shows_errors
    def _home_flipped(self, change: dict[str, Any]) -> None:
        self._flip(change["new"])

    def _flip(self, home: int) -> None:
        """Move home; the pictures of all homes are there already and the speed stays what it is."""
        p = self.feel.polyrhythm
        if home != self.feel.home and 0 <= home < len(p.pulses):
            self.feel, self.tempo = self.feel.flip(home), self.tempo.in_pulse(p, home)
            self.stage.home = home
            self._write_controls()
            self.stage.answered = self._in_fields()

    @shows_errors
    def _bpm_slid(self, change: dict[str, Any]) -> None:
        try:
            self._slide_to(change)
        finally:
            self.stage.answered = self._in_fields()

    def _slide_to(self, change: dict[str, Any]) -> None:
        """Show the tempo that the slide was moved to."""
        p, home = self.feel.polyrhythm, int(change["new"].get("home", -1))
        if 0 <= home < len(p.pulses):
            name = f"bpm of {descriptions.pulse_name(p, home)}"
            bpm = read_bpm(str(change["new"].get("bpm", "")), name)
            refuse_too_dense(descriptions.pair(p), strokes_of(p), p.pulses[home], bpm, name)
            last, self._bpm._last = self._bpm._last, None  # its field is written, whatever stands there
            try:
                self._change(self.feel, Tempo(bpm, pulse=home).in_pulse(p, self.feel.home), self._start)
            except BaseException:
                self._bpm._last = last
                raise

    @shows_errors
    def _view_chosen(self, _: dict[str, Any]) -> None:
        if not self._quiet:
            self._redraw()
            self._typed()  # what another view could not show

    def _choose_view(self, view: str) -> None:
        """Choose a view without drawing it yet."""
        self._quiet = True
        try:
            self._view.value = view
        finally:
            self._quiet = False

    def _write(self, texts: list[str]) -> None:
        """Write into the fields of the pulses, without showing them yet."""
        self._quiet = True
        try:
            self._pulses._resize(len(texts))
            for field, typed in zip(self._pulses.fields, texts, strict=False):
                field.value = typed
        finally:
            self._quiet = False

    def put(self, p: Polyrhythm, tempo: Tempo, home: int, view: str = "") -> None:
        """Show other pulses, home, tempo and view, all at once; where that does not work all stays as it was.

        Parameters
        ----------
        p : Polyrhythm
            Two to four pulses.
        tempo : Tempo
            How fast.
        home : int
            Index of the home pulse.
        view : str
            One of the views; the one that is shown when empty.
        """
        drawable(p.pulses)
        bpm, field = tempo.bpm_of(p, home), f"bpm of {descriptions.pulse_name(p, home)}"
        refuse_too_dense(descriptions.pair(p), strokes_of(p), p.pulses[home], bpm, field)
        before = [*self._pulses.texts], self._view.value, self._bpm._last
        self._why, self._bpm._last = None, None  # its field is written, whatever stands there
        self._write([str(pulse) for pulse in p.pulses])
        self._choose_view(view or self._view.value)
        try:
            self._change(Feel(p, home, groups=self.feel.groups), Tempo(bpm, pulse=home), 0)
        except BaseException:
            texts, shown, self._bpm._last = before
            self._write(texts)
            self._choose_view(shown)
            raise
        self.line.tell(*self._refused())

    def _read_try(self, given: Mapping[str, str]) -> tuple[dict[str, Any], str]:
        """Read a line to try: what `put` is told, and how a button names it."""
        fields = ["pulses", "home", "bpm", "view", "loop", "speed", *(["sentence"] if self._says else [])]
        strange = given.keys() - set(fields)
        if strange:
            known = ", ".join(fields)
            wrong = f"{short(min(strange))} is no field of this panel; there are {known}"
            raise Refusal(wrong)
        p = self.feel.polyrhythm
        if "pulses" in given:
            p = read_pulses(given["pulses"].split())
        if len(p.pulses) < 2:
            raise Refusal("pulses are two numbers at least")
        if len(p.pulses) != len(self._pulses.fields) and not self._grows:
            raise Refusal(f"this panel shows {len(self._pulses.fields)} pulses")
        home = self.feel.home if "pulses" not in given else len(p.pulses) - 1
        if "home" in given:
            names = [str(pulse) for pulse in p.pulses]
            if given["home"] not in names:
                wrong = f"home {short(given['home'])} is not one of the pulses {', '.join(names)}"
                raise Refusal(wrong, f"home: {names[0]}")
            home = names.index(given["home"])
        bpm = read_bpm(given["bpm"]) if "bpm" in given else self._first_bpm
        view = given.get("view", self._view.value)
        if view not in self._view.options:
            raise Refusal(
                f"view {short(view)} is not one of {', '.join(self._view.options)}", "view: heard line"
            )
        checked_call(p.pulses, home, bpm, "pages.two_numbers(7, 4)")
        loops = plan(Feel(p, home), Tempo(bpm, pulse=home))["loops"] if "loop" in given else []
        slowed = _slowed(given, loops)
        names_of = {"pulses": descriptions.pair(p), "home": f"home the {p.pulses[home]}", "view": view}
        names_of |= {name: given[name] for name in ("loop", "speed") if name in given}
        named = ", ".join(words for name, words in names_of.items() if name in given)
        if "bpm" in given:
            named = f"{named} at {given['bpm']}" if named else f"at {given['bpm']} bpm"
        wanted = {"p": p, "tempo": Tempo(bpm, pulse=home), "home": home, "view": view, "slowed": slowed}
        return {**wanted, "words": given.get("sentence", "")}, named or "with its sentence"

    @shows_errors
    def _tried(self, wanted: Mapping[str, Any]) -> None:
        kept = self.words
        self._keep_words(wanted["words"])
        try:
            self.put(wanted["p"], wanted["tempo"], wanted["home"], wanted["view"])
        except BaseException:
            self._keep_words(kept)
            raise
        self.stage.slowed = {**wanted["slowed"], "turn": self.stage.slowed.get("turn", 0) + 1}

    @shows_errors
    def _beat_typed(self) -> None:
        beat = read_beat(self._first.value, self.feel.beats)
        self._change(self.feel, self.tempo, (beat - 1) * self.feel.beat_ticks)

    def _redraw(self) -> None:
        """Make the picture and the words of every home from what is held now."""
        window = readable(self.feel.cycle(), self._start)
        made = self._made(window)
        self._window = window
        with ExitStack() as after:  # the picture is sent first, and then one message for each field
            for field in self._around():
                after.enter_context(field.hold_sync())
            self._write_controls()  # before the stage, which looks whether all fields can be read
            with self.stage.hold_sync():
                self.stage.head = self._head()
                self.stage.parts = self._parts()
                self.stage.ahead = self._at_once()
                self.stage.answered = self._in_fields()
                self.stage.pictures = made
                self.stage.sound(plan(self.feel, self.tempo, self.stage.slid.get("turn", 0)))
                self.stage.home = self.feel.home
        self._tell_words()

    def _head(self) -> dict[str, object]:
        """Return what stands over the picture."""
        p = self.feel.polyrhythm
        return {"title": descriptions.pair(p), "facts": descriptions.facts(p, self.tempo)}

    def _around(self) -> list[widgets.Widget]:
        """Return what is written anew around a new picture."""
        return [self._home, self._bpm]

    def _opened(self, pressed: Mapping[str, Any]) -> None:
        """Make the form that saves, once it is asked for."""
        if pressed["pressed"] == "save":
            self._saving = {"save": self.export.row()}
            self.stage.parts = self._parts()

    def _parts(self) -> dict[str, Any]:
        """Return the fields that the stage draws."""
        numbers = {"numbers": self._pulses.fields, "grow": self._pulses.buttons, **self._saving}
        guess = {} if self._guess is None else {"guess": self._guess}
        fields = {"tempo": self._bpm, "view": self._view, "rows": self._rows, "line": self.line}
        return {**guess, **numbers, **fields, **self._tries.part}

    def _at_once(self) -> dict[str, Any]:
        """Return what the browser needs to follow the fields by itself; nothing where more is shown."""
        if type(self) is not Panel or self.words:
            return {}
        return at_once(self.feel.groups, self._limits, MOST_STROKES)

    def _in_fields(self) -> list[str]:
        """Return what stands in the fields now, which from here on is answered, or refused."""
        typed = [*self._pulses.texts, self._bpm.value, self._view.value]
        return [*typed, str(self.stage.slid.get("turn", 0)), str(self.stage.asked)]

    def _all_come(self, _: dict[str, Any]) -> None:
        """Say that all that was changed until now is answered."""
        with ONE_AT_A_TIME:
            self.stage.answered = self._in_fields()

    def _made(self, window: Window) -> list[dict[str, object]]:
        """Make the pictures in the chosen view; where it cannot show them, in the one shown so far."""
        every = range(len(self.feel.polyrhythm.pulses))
        try:
            made = [self._one(home, self._view.value, window) for home in every]
            self._drawn = self._view.value
        except (ValueError, IndexError) as error:
            if self._view.value == self._drawn:
                raise
            self._undrawn = as_sentence(error).rstrip(".")
            made = [self._one(home, self._drawn, window) for home in every]
        return made

    def _one(self, home: int, view: str, window: Window) -> dict[str, object]:
        p = self.feel.polyrhythm
        feel, tempo = self.feel.flip(home), self.tempo.in_pulse(p, home)
        cycle = self._said_on(feel)
        said = [self._sentence_said(cycle)] if isinstance(cycle, Sentence) else []
        return {
            "svg": _painted(self._scene(view, feel, tempo, window)),
            "said": [*said, *(text for text in self._describe(feel, tempo) if text)],
            "home": descriptions.pulse_name(p, home),
            "bpm": float(tempo.bpm),
            "spots": spots(feel),
        }

    def _sentence_said(self, said: Sentence) -> str:
        """Say a sentence under the picture, and what its stresses ask of whoever writes it."""
        return str(said)

    def _scene(self, view: str, feel: Feel, tempo: Tempo, window: Window) -> Scene | str:
        """Draw a view; the heard line with the sentence that is said on it."""
        cycle = self._said_on(feel)
        if isinstance(cycle, Sentence) and self.VIEWS[view] is VIEWS["heard line"]:
            return strip(cycle, start=window[0], stop=window[1], groups=feel.groups)
        return self.VIEWS[view](feel, tempo, self._limits, window)

    def _content(self) -> Content:
        """Return what is shown now, to be saved."""
        p, cycle = self.feel.polyrhythm, self._said_on(self.feel)
        scene = self._scene(self._drawn, self.feel, self.tempo, self._window)
        if isinstance(scene, str):  # notes, which are saved as notes; the picture is the heard line
            start, stop = self._window
            scene = strip(cycle, start=start, stop=stop, groups=self.feel.groups)
        scene = as_seen(scene, self.stage)
        if isinstance(cycle, Sentence):
            return Content(descriptions.pair(p), cycle, self.tempo, None, scene, self.feel.groups)
        return Content(descriptions.pair(p), p, self.tempo, self.feel.home, scene, self.feel.groups)

    @property
    def picture(self) -> Scene:
        """The picture as it is shown, with the take under it if there is one."""
        shown = self._content()
        return replace(shown.scene, shows=shown.title)

    def _write_controls(self) -> None:
        self._home.offer(self.feel.polyrhythm, self.feel.home)
        self._groups.offer(self.feel)
        self._bpm.show(self.feel.polyrhythm, self.tempo, self.feel.home)
        start, stop = self._window
        whole = stop - start == self.feel.polyrhythm.ticks
        self._first.offer(None if whole else start // self.feel.beat_ticks + 1)
        self.stage.bpm_range = self._slide()

    def _slide(self) -> list[float]:
        """Return the ends of the tempo slide, which ends where strokes come too fast to be laid."""
        return slide_ends(strokes_of(self.feel.polyrhythm), self.feel.beats)


def _slowed(given: Mapping[str, str], loops: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Read which loop of a rhythm a line asks for and how slow, or else the whole cycle as written."""
    found: dict[str, Any] = {"percent": 100, "loop": []}
    if "loop" in given:
        spots = {loop["name"]: [loop["start"], loop["stop"]] for loop in loops}
        if given["loop"] not in spots:
            known = f"; there are {', '.join(spots)}" if spots else ""
            example = f"loop: {next(iter(spots), 'the first half')}"
            raise Refusal(f"loop {short(given['loop'])} is no loop of this rhythm{known}", example)
        found["loop"] = spots[given["loop"]]
    if "speed" in given:
        typed = given["speed"].removesuffix("percent").strip()
        if not (typed.isascii() and typed.isdigit() and len(typed) < 4 and SLOWEST <= int(typed) <= 100):
            raise Refusal(
                f"speed {short(given['speed'])} is not a percentage from {SLOWEST} to 100",
                "speed: 70 percent",
            )
        found["percent"] = int(typed)
    return found


def slide_ends(strokes: int, beats: int | Fraction) -> list[float]:
    """Return the ends of the tempo slide of a cycle, which ends where strokes come too fast to be laid."""
    high = max(1, floor(min(Fraction(SLIDE[1]), fastest(strokes, beats))))
    return [float(min(SLIDE[0], max(1, high // 2))), float(high)]


@lru_cache(maxsize=8)  # picture, words and field of each home ask for it
def read_sentence(feel: Feel, words: str) -> Sentence | Refusal | None:
    """Read a sentence for a rhythm, or return why it does not fit; ``None`` where there is none."""
    try:
        p, home = feel.polyrhythm, feel.home
        return sentence(p, words, home=home, groups=feel.groups) if words else None
    except Refusal as error:
        return error

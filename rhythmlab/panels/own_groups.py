"""How a beat of five parts or more is said: the reader's own groups, kept beside the journal."""

from collections.abc import Callable
from fractions import Fraction
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as widgets
import numpy as np

from rhythmlab.core.check import short
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.feel import Feel, Groups, OwnGroups, own_groups, places, said_in
from rhythmlab.core.tempo import Tempo
from rhythmlab.panels.choice import Choice
from rhythmlab.panels.errors import ErrorLine, blamed
from rhythmlab.playing.limits import Limits
from rhythmlab.playing.saying import said_up_to, up_to_text
from rhythmlab.refusal import Refusal
from rhythmlab.text import counts, descriptions
from rhythmlab.text.sentences import say

#: The file that keeps them, the name of their field, what can be typed there, and the longest that is read.
GROUPS_FILE, GROUPS_FIELD, _TYPED, _LONGEST = "groups.json", "said in groups", "2+3, 3+4", 300


def written_groups(groups: OwnGroups) -> str:
    """Write groups as they are typed.

    Examples
    --------
    >>> written_groups(((2, 3), (3, 4)))
    '2+3, 3+4'
    """
    return ", ".join("+".join(map(str, row)) for row in groups)


def given_groups(groups: Groups | None, call: str) -> OwnGroups:
    """Check the `groups` of a page call: the remembered ones when left out.

    Examples
    --------
    >>> given_groups("2+3", 'pages.two_numbers(5, 4, groups="2+3")')
    ((2, 3),)
    """
    return remembered_groups() if groups is None else own_groups(groups, call)


def remembered_groups() -> OwnGroups:
    """Return the groups that the reader typed before; none where the file is missing or damaged."""
    return _KEPT.kept() or ()


def remember_groups(groups: OwnGroups) -> str:
    """Write the groups into their file, and say whether that worked."""
    said = f"Kept in {GROUPS_FILE}, beside the journal: run a page again, and its words follow."
    return _KEPT.keep(written_groups(groups), said)


def groups_file() -> Path:
    """Return the file, in the reader's working folder or in the current one."""
    return _KEPT.path


def _read(kept: str) -> OwnGroups:
    if not isinstance(kept, str):
        raise TypeError(kept)
    return own_groups(kept[:_LONGEST], "")


_KEPT = Choice(GROUPS_FILE, "groups", "how beats of five parts and more are said", _read)


def words_said(feel: Feel, tempo: Tempo, limits: Limits | None = None, start: Fraction | None = None) -> str:
    """Say how a beat is counted against each other pulse that cuts it into five parts or more, and how fast.

    Parts are said no faster than the limit ``part_uneven``; words that cannot be said at the tempo to start
    at, in beats a minute of home, are left out.

    Examples
    --------
    >>> words_said(Feel((17, 5)), Tempo(72, pulse=1), start=Fraction(38))
    ''
    >>> words_said(Feel((5, 4), groups="2+3"), Tempo(72, pulse=1))
    'Say 1 e TA e & in each beat of the 4, the number of the beat first.'
    >>> words_said(Feel((7, 4)), Tempo(72, pulse=1))
    'Say 1 e & a TA e & in each beat of the 4, the number of the beat first; that goes up to 51 bpm.'
    """
    p = feel.polyrhythm
    home, bpm = descriptions.pulse_name(p, feel.home), tempo.bpm_of(p, feel.home)
    found = []
    for i in range(len(p.pulses)):
        parts, groups = feel.parts(i), said_in(feel, i)
        if parts > counts.LONGEST_SAID and counts.part_words(parts, groups=groups):
            if start is not None and said_up_to(start * parts, limits) < start * parts:
                continue
            words = counts.aloud(1, parts, groups=groups)
            found.append(_said(words, f"each beat of {home}", up_to_text(bpm, Fraction(parts), limits)))
    return " ".join(dict.fromkeys(found))


def lanes_said(cycle: Cycle, tempo: Tempo, limits: Limits | None = None, unit: str = "bpm") -> str:
    """Say how the beats of a cycle are counted where a lane cuts them into five parts or more, and how fast.

    The unit names the note that the tempo counts where that is not the beat.

    Examples
    --------
    >>> from rhythmlab.playing.fill import resolve
    >>> landing = resolve((5, 4), metre="4/4", bars=4)
    >>> lanes_said(landing, Tempo(96, ticks=landing.ticks // 16))
    'Say 1 e & TA e in a beat of the fill, the number of the beat first; that goes up to 72 bpm.'
    """
    found = []
    lengths = np.diff(np.append(cycle.beats, cycle.ticks + cycle.beats[:1]))
    for lane in cycle.lanes:
        cut = {(at.parts, at.longest): at.beat - 1 for at in places(cycle, lane.onsets) if at.part > 1}
        for (parts, longest), beat in cut.items():
            if parts > counts.LONGEST_SAID and counts.part_words(parts, longest):
                part = Fraction(int(lengths[beat]), parts)
                where = f"a beat of {say('name.lane', lane=lane.name)}" if lane.name else "a beat"
                slower = up_to_text(tempo.bpm, Fraction(tempo.beat_ticks(cycle)) / part, limits, unit)
                found.append(_said(counts.aloud(1, parts, longest), where, slower))
    return " ".join(dict.fromkeys(found))


def _said(words: str, where: str, slower: str) -> str:
    """Say words, and up to which tempo they can be said, where that is slower than this one."""
    return f"Say {words} in {where}, the number of the beat first{slower}."


class GroupField(widgets.VBox):
    """A field for the groups, with what is wrong in it and where it is kept; not seen where no beat needs it.

    Parameters
    ----------
    groups : tuple
        What it starts with.
    typed : callable
        Told the groups, once they can be read.
    """

    def __init__(self, groups: OwnGroups, typed: Callable[[OwnGroups], None]) -> None:
        self._typed = typed
        self.field = widgets.Text(
            value=written_groups(groups),
            description=GROUPS_FIELD,
            placeholder=_TYPED,
            style={"description_width": "auto"},
            layout=widgets.Layout(width="24em", max_width="100%"),
        )
        self.field.continuous_update = False  # followed by Enter, or when left
        self.field.observe(self._read, names=["value"])
        self.line, self._note = ErrorLine(), widgets.HTML()
        super().__init__([widgets.HBox([self.field, self._note]), self.line])

    @property
    def row(self) -> dict[str, object]:
        """The field, its note and its line, as a stage draws them."""
        return {"fields": [self.field], "note": self._note, "line": self.line}

    def offer(self, feel: Feel) -> None:
        """Show the field where a beat of any home has five parts or more."""
        every = range(len(feel.polyrhythm.pulses))
        needed = any(feel.flip(home).parts(i) >= counts.LONGEST_SAID + 1 for home in every for i in every)
        self.layout.display = self.field.layout.display = "" if needed else "none"

    def _read(self, change: dict[str, Any]) -> None:
        self._note.value = ""
        text = change["new"]
        try:
            if len(text) > _LONGEST:
                raise Refusal(f"groups={short(text)} has {len(text):,} letters", _TYPED, argument="groups")
            groups = own_groups(text, _TYPED)
        except Refusal as error:
            return self.line.tell(blamed(error, {"groups": GROUPS_FIELD}, GROUPS_FIELD, _TYPED))
        self.line.tell()
        self._note.value = f"<span role='status'>{escape(remember_groups(groups))}</span>"
        self._typed(groups)
        return None

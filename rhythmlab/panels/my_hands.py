"""Measure the reader's own limits: ten seconds, three tries, warm hands; kept in the journal."""

from collections.abc import Mapping
from html import escape
from typing import Any

import ipywidgets as widgets
import numpy as np

from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.display import Quiet
from rhythmlab.core.public import public
from rhythmlab.core.tempo import Tempo
from rhythmlab.draw.pictures import strip
from rhythmlab.draw.svg import svg
from rhythmlab.panels.controls import menu
from rhythmlab.panels.stage.sounding import plan_of
from rhythmlab.panels.stage.stage import Stage
from rhythmlab.practice.journal import Journal, JournalError
from rhythmlab.practice.measured_limits import MEASURABLE, STEADY, steady_ms
from rhythmlab.refusal import as_sentence
from rhythmlab.text import numbers

#: Tries, and seconds of each (own choices).
TRIES, SECONDS = 3, 10
_CARE = (
    f"Warm up first. {SECONDS} seconds a try, {TRIES} tries, on a pad or a soft surface; stop at tightness "
    "in the forearm, and for pain, numbness or tingling see a clinician."
)


class OwnLimits(Quiet, widgets.VBox):
    """A stage that listens for ten seconds and says how fast the steady strokes were.

    Parameters
    ----------
    journal : Journal, optional
        Where what was measured is kept; the one in the reader's folder when left out.
    """

    def __init__(self, journal: Journal | None = None) -> None:
        self._journal = journal or Journal()
        self._kind = menu("measure", list(MEASURABLE.items()), 260)
        self.stage = Stage()
        self.stage.mode, self.stage.cycles = "composite", 1
        self.stage.on_take(self._received)
        lanes = [Lane(hand, [0], limb=f"{hand} hand") for hand in ("right", "left")]
        cycle = Cycle(4 * SECONDS, lanes, beats=range(0, 4 * SECONDS, 4))
        picture = {
            "svg": svg(strip(cycle), live=True),
            "said": ["Record a take under Play along: four clicks count in, then each drum is a second."],
            "home": "the second",
            "bpm": 60.0,
            "spots": [],
        }
        with self.stage.hold_sync():
            self.stage.pictures = [picture]
            self.stage.sound(plan_of(cycle, Tempo(60, ticks=4), [cycle.beats], ["the right", "the left"]))
        super().__init__([widgets.HTML(f"<p>{escape(_CARE)}</p>"), self._kind, self.stage])

    def _received(self, message: Mapping[str, Any]) -> bool:
        """Measure a try, tell it and keep it."""
        key = self._kind.value
        taps = [(time, lane) for lane, time in message["taps"] if time >= message["t0"]]
        if key == "hand_sustained" and taps:
            hand = max({lane for _, lane in taps}, key=[lane for _, lane in taps].count)
            taps = [tap for tap in taps if tap[1] == hand]
        found = steady_ms(np.array(sorted(time for time, _ in taps)))
        if found is None:
            self.stage.feedback = [
                f"{numbers.plural(len(taps), 'stroke')} came, and no {STEADY + 1} of them in a row were "
                "steady: a little slower, and even."
            ]
            return True
        ms, share = found
        value, unit = (ms, "ms") if key == "hand_sustained" else (round(1000 / ms, 2), "Hz")
        row = {"kind": "limit", "key": key, "value": value, "unit": unit}
        try:
            self._journal.append({**row, "id": str(message["id"]), "when": message["when"]})
            tries = [one for one in self._journal.today() if one.get("key") == key]
        except JournalError as error:
            self.stage.notice = f"{as_sentence(error)} It is sent again when the page is next run."
            return False
        self.stage.notice = ""
        rate = numbers.number(1000 / ms, 1)
        self.stage.feedback = [
            f"Steady at {numbers.number(ms, 0)} ms from stroke to stroke, {rate} a second, spread "
            f"{numbers.number(100 * share, 0)} %: try {len(tries)} of today.",
            *([f"{TRIES} tries are enough: rest the hand now."] if len(tries) >= TRIES else []),
            "Use it in a cell: rl.pages.choose_way(7, 4, **rl.practice.measured_limits())",
        ]
        return True


@public("pages.my_hands()")
def my_hands() -> OwnLimits:
    """Measure your own fastest steady strokes, and your fastest counted parts: page 05.

    Returns
    -------
    OwnLimits

    Examples
    --------
    >>> my_hands().stage.plan["cycle_s"]
    10.0
    """
    return OwnLimits()

"""The stage: the one browser widget, which shows the picture, keeps the time and sounds it.

Python makes a picture for each home, says in whole numbers what is to sound, and keeps all numbers; the
browser shows, flips and plays by itself, also while Python is busy, and sends back what the reader did.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget
import traitlets
from ipywidgets import widget_serialization

from rhythmlab.audio.voices import voice_int16
from rhythmlab.core.check import short
from rhythmlab.draw import palette
from rhythmlab.panels.stage.join import join
from rhythmlab.panels.stage.sounding import RATE, Plan, voices
from rhythmlab.refusal import Refusal

HERE = Path(__file__).parent
_COLOURS = palette.themed(".rl-stage,.rl-theme") + f".rl-on-paper{{{palette.variables()};--rl-paper:#fff}}\n"
#: What every widget of ours looks like.
STYLE = _COLOURS + (HERE / "stage.css").read_text(encoding="utf-8")


class Keeper(anywidget.AnyWidget):
    """Nothing to be seen: it keeps keys inside panels that have no stage, as the stage does in the others.

    In a notebook a plain letter inserts, cuts or deletes cells. An output is known as one of ours by a stage
    in it, or by the class ``rl-kept``.
    """

    _esm = join(HERE / "keeper.mjs")
    _css = ".rl-rest:focus{outline:none}.rl-rest:focus-visible{outline:2px solid;outline-offset:-2px}"


class Form(anywidget.AnyWidget):
    """Fields by themselves, drawn as those of a card are, and what is said of them.

    Attributes
    ----------
    parts : dict
        ``rows``, each a dict as a stage takes it: ``fields``, ``note``, ``answers``, ``line``.
    """

    _esm = join(HERE / "form.mjs")
    _css = STYLE

    parts = traitlets.Dict().tag(sync=True, **widget_serialization)


class Stage(anywidget.AnyWidget):
    """Shows one picture of several, with the flip, the tempo, the sound, the words and a line for messages.

    Attributes
    ----------
    pictures : list of dict
        One for each home: ``svg``, ``text`` (list of sentences), ``home`` (its name), ``bpm`` (float), and
        ``spots`` where a loop can begin and end; ``narrow``, the picture as a phone shows it, where it is not
        one of time; on a wall also ``aside``, those of its sentences that are
        for the presenter alone.
    home : int
        Which one is shown; the browser changes it when the reader flips.
    bpm_range : list of float
        Ends of the tempo slide in bpm of home; empty where there is no slide.
    slid : dict
        What the reader slid to: ``bpm``, ``home``, and a running number.
    slowed : dict
        How a button asked for it to be practised: ``loop`` from a tick to a tick, none for the whole cycle,
        ``percent`` of the written speed, and a running number.
    plan : dict
        What sounds, from `rhythmlab.panels.stage.sounding.plan`; empty where nothing does.
    voices : dict of bytes
        The samples of each voice that the plan names.
    feedback : list of str
        What is said of the last take.
    taken : list of str
        Ids of the last takes that were received and kept.
    mode, limbs : str
        What the reader plays, and with what.
    left_handed : bool
        Whether the usual hands are those of a left-handed player.
    cycles : int
        For how many cycles a take goes at first.
    look : str
        ``""``, or ``"wall"`` for a panel that fills the screen of a room.
    room : dict
        What a wall shows and asks: ``pair``, ``halves``, ``gaps``, ``bare`` (bool), ``put`` (how often
        something else was put there), ``hint`` (what to press, at rest), ``answered``, the number of the last
        Enter that was answered, and ``refused``, if it was no good.
    notice : str
        A message to the reader; empty when all is well.
    head : dict
        What stands over the picture: ``title`` and ``facts``, and ``named`` where the title stands there
        beside numbers too.
    parts : dict
        The fields that the stage draws, as widgets: ``numbers`` and the buttons that ``grow`` them,
        ``tempo``, ``rows`` of more ``fields``, each with its ``line`` and ``note`` if it has them, and the
        ``line`` of refusals of all others; the fields that ``save``, once they are asked for; and a ``shelf``
        of more rows, by the ``name`` of the part of the drawer that they stand in.  A note that may be wider
        than the card has a name for that in ``wide``.
    answer : dict
        What is read of the last take: ``found`` and ``do``, ``next`` as `rhythmlab.practice.next_step.Next`
        gives it with the ``mode`` it is played in, ``more`` (numbers and sources), and ``kept``.
    played : dict
        The strokes of the last take, as `rhythmlab.practice.under.under` gives them.
    ahead : dict
        What the browser needs to show by itself what is typed, from `at_once`; empty where it leaves all to
        Python.
    answered : list of str
        What stood in the fields that the pictures answer, as the browser reads them: pulses, tempo, view,
        the number of the last move of the tempo slide, and of the last change, as ``asked``.
    asked : int
        How often the reader has changed something, as the browser counts; all of it has come when this has.
    struck : int
        Which cycle of them stands under the picture, from 1.
    saves : bool
        Whether what is shown can be saved.
    """

    _esm = join(HERE / "stage.mjs")
    _css = STYLE

    pictures = traitlets.List(traitlets.Dict()).tag(sync=True)
    home = traitlets.Int(0).tag(sync=True)
    bpm_range = traitlets.List(traitlets.Float()).tag(sync=True)
    slid = traitlets.Dict().tag(sync=True)
    slowed = traitlets.Dict().tag(sync=True)
    plan = traitlets.Dict().tag(sync=True)
    voices = traitlets.Dict().tag(sync=True)
    feedback = traitlets.List(traitlets.Unicode()).tag(sync=True)
    taken = traitlets.List(traitlets.Unicode()).tag(sync=True)
    mode = traitlets.Unicode("both pulses").tag(sync=True)
    cycles = traitlets.Int(4).tag(sync=True)
    limbs = traitlets.Unicode("hands").tag(sync=True)
    left_handed = traitlets.Bool(False).tag(sync=True)
    look = traitlets.Unicode("").tag(sync=True)
    room = traitlets.Dict().tag(sync=True)
    notice = traitlets.Unicode("").tag(sync=True)
    head = traitlets.Dict().tag(sync=True)
    played = traitlets.Dict().tag(sync=True)
    ahead = traitlets.Dict().tag(sync=True)
    asked = traitlets.Int(0).tag(sync=True)
    answered = traitlets.List(traitlets.Unicode()).tag(sync=True)
    struck = traitlets.Int(1).tag(sync=True)
    answer = traitlets.Dict().tag(sync=True)
    saves = traitlets.Bool(False).tag(sync=True)
    parts = traitlets.Dict().tag(sync=True, **widget_serialization)
    me = traitlets.Unicode("").tag(sync=True)

    def __init__(self, **settings: object) -> None:
        known = ("pictures", "home", "bpm_range", "notice")
        strange = [name for name in settings if name not in known]
        if strange:
            raise Refusal(
                f"Stage has no setting {strange[0]}={short(settings[strange[0]])}; it has {', '.join(known)}",
                "pages.two_numbers(7, 4, home=0)",
            )
        super().__init__(**settings)
        self.me = self.model_id
        self._take_received: Callable[[dict[str, Any]], bool] | None = None
        self._pressed: Callable[[dict[str, Any]], None] | None = None
        self.on_msg(self._message)

    def on_take(self, received: Callable[[dict[str, Any]], bool]) -> None:
        """Call `received` with the message of each take; it returns whether the take is kept.

        A take that is not kept stays in the browser and is sent again when a page is next run.
        """
        self._take_received = received

    def on_pressed(self, pressed: Callable[[dict[str, Any]], None]) -> None:
        """Call `pressed` with what a key or a button of a wall asks for: a dict, its name in ``pressed``."""
        self._pressed = pressed

    def _message(self, _: object, content: object, __: object) -> None:
        if isinstance(content, dict) and isinstance(content.get("pressed"), str) and self._pressed:
            self._pressed(content)
            return
        if isinstance(content, dict) and type(content.get("asked")) is int:
            self.asked = content["asked"]
            return
        take = content.get("take") if isinstance(content, dict) else None
        if isinstance(take, dict) and self._take_received and self._take_received(take):
            self.taken = [*self.taken[-30:], str(take.get("id"))]

    def sound(self, plan: Plan) -> None:
        """Say what is to sound, with the voices for it; what was said of a take of other strokes goes."""
        made = voices(plan)
        if self.look == "wall":  # the clap of its count-in is made from the snare
            made.setdefault("snare", voice_int16("snare", RATE).astype("<i2").tobytes())
        if made.keys() != self.voices.keys():
            self.voices = made
        if any(self.plan.get(part) != plan.get(part) for part in ("ticks", "lanes")):
            self.feedback, self.answer = [], {}
        self.plan = plan

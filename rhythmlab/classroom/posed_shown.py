"""What is heard or read with a question, with a text alternative that does not answer it."""

import base64
import io
import wave
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from html import escape
from xml.etree import ElementTree

from rhythmlab.audio.sound import Sound
from rhythmlab.core.tempo import Tempo
from rhythmlab.notation.score import Score


@dataclass(frozen=True, slots=True)
class Heard:
    """A rhythm to listen to, not named.

    Attributes
    ----------
    said : str
        Its text alternative: how long it is and which voices it has, never the rhythm.
    """

    said: str
    _make: Callable[[], Sound] = field(repr=False)

    def _repr_html_(self) -> str:
        sound, said = self._make(), escape(self.said, quote=True)
        source = base64.b64encode(small_wav(sound)).decode()
        return (
            f'<figure><audio controls preload="metadata" aria-label="{said}" '
            f'src="data:audio/wav;base64,{source}"></audio><figcaption>{said}</figcaption></figure>'
        )

    def __repr__(self) -> str:
        return self.said


@dataclass(frozen=True, slots=True)
class Read:
    """A page of notes to read, not named."""

    _make: Callable[[], Score] = field(repr=False)

    @property
    def said(self) -> str:
        """The notes one by one, as the page has them."""
        return notes_said(self._make().musicxml)

    def _repr_html_(self) -> str:
        score = self._make()
        said = notes_said(score.musicxml)
        shown = replace(score, said=said, title="", _made=[])
        try:
            pages = "".join(shown.svg(page + 1) for page in range(shown.pages))
        except Exception:  # whatever an engraver that is missing or broken raises: the notes in words remain
            return f"<p>The engraver is not at hand; here are the notes in words. {escape(said)}</p>"
        label = escape(said, quote=True)
        return f'<figure style="margin:0"><div role="img" aria-label="{label}">{pages}</div></figure>'

    def __repr__(self) -> str:
        return self.said


def notes_said(musicxml: str) -> str:
    """Say the notes of a score one by one: their values, dots and ties, and nothing that is not written.

    Parameters
    ----------
    musicxml : str
        As `Score.musicxml` has it.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.notation.score import score
    >>> notes_said(score((4, 3), counts=False).musicxml)
    'Line 1, in 3/4: bar 1: dotted eighth, dotted eighth, dotted eighth, dotted eighth. Line 2, in 3/4: \
bar 1: quarter, quarter, quarter.'
    """
    said = []
    for number, part in enumerate(ElementTree.fromstring(musicxml).iter("part"), 1):
        time = part.find(".//time")
        metre = "" if time is None else f", in {time.findtext('beats')}/{time.findtext('beat-type')}"
        bars = [
            f"bar {bar}: {', '.join(map(_note, measure.iter('note')))}"
            for bar, measure in enumerate(part.iter("measure"), 1)
        ]
        said.append(f"Line {number}{metre}: {'; '.join(bars)}.")
    return " ".join(said)


def _note(note: ElementTree.Element) -> str:
    dots = ("", "dotted ", "double-dotted ")[len(note.findall("dot"))]
    kind = note.findtext("type") or "whole"
    kind = {"16th": "sixteenth", "32nd": "thirty-second", "64th": "sixty-fourth"}.get(kind, kind)
    group = note.find("time-modification")
    among = ""
    if group is not None:
        among = f" of {group.findtext('actual-notes')} in the time of {group.findtext('normal-notes')}"
    if note.find("rest") is not None:
        return f"{dots}{kind} rest{among}"
    tied = " tied to the next" if any(tie.get("type") == "start" for tie in note.findall("tie")) else ""
    return f"{dots}{kind}{among}{tied}"


def small_wav(sound: Sound) -> bytes:
    """Return a sound as a small WAV file: one channel, at half its rate, since it is kept in a page.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.audio.sound import sound
    >>> len(small_wav(sound((3, 2), 60, cycles=1)))
    96044
    """
    samples = sound.samples().mean(axis=1)
    half = samples[: len(samples) // 2 * 2].reshape(-1, 2).mean(axis=1)
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(sound.rate // 2)
        out.writeframes((half * 32_767).round().astype("<i2").tobytes())
    return file.getvalue()


def tempo_for(ticks: int, seconds: float) -> Tempo:
    """Return a tempo at which a cycle of so many ticks takes about so many seconds.

    Examples
    --------
    >>> tempo_for(12, 3)
    Tempo(20, ticks=12)
    """
    return Tempo(round(60 / seconds), ticks=ticks)

"""A film: the picture with its playhead and its sound, as WebM with captions of the count beside it.

Nothing flashes: the playhead moves, and the stroke that it passes grows by a third for an eighth of a second.
What changes from frame to frame is far under the area of a general flash (W3C, Web Content Accessibility
Guidelines 2.2, success criterion 2.3.1: a quarter of any ten degrees of sight).
Films need the extra ``film``: PyAV, whose wheel of about 36 MB bundles encoders under the GPL.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from html import escape
from importlib.util import find_spec
from itertools import pairwise
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rhythmlab.audio.mix import Mix
from rhythmlab.audio.sound import Sound, sound
from rhythmlab.core import bounds
from rhythmlab.core.check import short, whole
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.display import Written, framed
from rhythmlab.core.feel import places
from rhythmlab.core.long_work import say, shown
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed
from rhythmlab.draw.figure import figure
from rhythmlab.draw.fit import readable
from rhythmlab.draw.palette import COLOURS
from rhythmlab.draw.pictures import strip, strip_in_words
from rhythmlab.draw.scene import ROW, Scene
from rhythmlab.files import out, safe_name, with_ending
from rhythmlab.refusal import Refusal
from rhythmlab.text import counts, numbers

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Pixels = NDArray[np.uint8]

#: Frames a second, px of a film's width, and most seconds of a film.
FPS, WIDE, MOST_SECONDS = 30, 1280, 600
#: Most pages that are drawn: a longer cycle has a film of fewer bars.
MOST_PAGES = 60
#: Shortest caption: what changes sooner cannot be read.
CAPTION_S = Fraction(1, 3)
#: Px of the playhead, how much of the picture is seen through it; how a stroke grows, and how long.
_LINE, _THROUGH, _GROWN, _GROWN_S = 3, 0.35, 1.3, Fraction(1, 8)
#: Px of the row of the count; seconds of work that a frame takes, about.
_COUNT_HIGH, _FRAME_S = 64, 0.02
_CALL = "pictures.filmed((5, 4), 72"
_WRITE = "pictures.filmed((5, 4), 72).write({})"


class Cue(NamedTuple):
    """A caption: from when to when, in seconds, exact, and what is counted then."""

    start: Fraction
    stop: Fraction
    text: str


@public_class(
    f"{_CALL})",
    tick="pictures.filmed((5, 4), 72).tick(30)",
    write='pictures.filmed((5, 4), 72).write("5-against-4.webm")',
)
@dataclass(frozen=True, eq=False, repr=False)
class Film:
    """A picture that moves with its sound, made when it is written.

    Attributes
    ----------
    sound : Sound
        What is heard.
    pages : tuple of Scene
        What is seen: one picture, or one after the other where the cycle is longer than can be read.
    cues : tuple of Cue
        The count, as captions.
    counted : bool
        Whether the count is written into the picture too.
    """

    sound: Sound
    pages: tuple[Scene, ...]
    cues: tuple[Cue, ...]
    counted: bool

    @property
    def seconds(self) -> Fraction:
        """Seconds of the film, exact: the cycles, and as long as the last stroke rings."""
        return Fraction(self.sound.frames, self.sound.rate)

    @property
    def frames(self) -> int:
        """How many frames it has, thirty a second."""
        return ceil(self.seconds * FPS)

    def tick(self, frame: int) -> Fraction | None:
        """Return where the playhead is in a frame, in ticks, exact; ``None`` after the last cycle.

        Examples
        --------
        >>> filmed((3, 2), 60).tick(10)
        Fraction(1, 1)
        """
        heard, frame = self.sound, whole(frame, "frame", f"{_CALL}).tick(30)", least=0)
        gone = Fraction(frame, FPS) / heard.tick_seconds
        span = heard.stop - heard.start
        return None if gone >= span * heard.cycles else heard.start + gone % span

    @property
    def vtt(self) -> str:
        """The captions as WebVTT (W3C), to the nearest millisecond."""
        cues = [
            f"{_clock(one.start)} --> {_clock(one.stop)}\n{escape(one.text, quote=False)}\n"
            for one in self.cues
        ]
        return "\n".join(["WEBVTT\n", *cues])

    def write(self, path: str | Path, *, replace: bool = False) -> Path:
        """Write the film as WebM (VP9 and Opus), and its captions beside it, ending in ``.vtt``.

        Parameters
        ----------
        path : str or Path
            Where to, ending in ``.webm``; its folder must exist.
        replace : bool
            Whether files of these names may be replaced.

        Returns
        -------
        Path
            Where it was written. It appears there whole or not at all.

        Raises
        ------
        ValueError
            If the name does not end in ``.webm``, or films cannot be made here: ``pip install
            "rhythmlab[film]"`` adds what they need.
        OSError
            If there is something of either name, or the disk does not take it.
        """
        path = with_ending(path, ".webm", call=_WRITE)
        if not can_film():
            raise Refusal(
                'a film needs PyAV, which is not installed; in a terminal: pip install "rhythmlab[film]"',
                'sound((5, 4), 72).write("5-against-4.wav")',
            )
        with (
            out(path.with_suffix(".vtt"), _WRITE, replace=replace) as captions,
            out(path, _WRITE, replace=replace) as file,
        ):
            captions.write(self.vtt.encode())
            self._encode(file)
        return Written(path)

    def _encode(self, file: BinaryIO) -> None:
        """Write picture and sound, each as far as the other."""
        import av

        heard = self.sound
        what = f"A film of {numbers.seconds(self.seconds)}"
        long = say(what, seconds=self.frames * _FRAME_S, steps=True)
        with av.open(file, "w", format="webm") as film_out:
            seen = film_out.add_stream("libvpx-vp9", rate=FPS)
            seen.height, seen.width = self._screen[0].empty.shape[:2]
            seen.pix_fmt = "yuv420p"
            seen.options = {
                "deadline": "realtime",
                "cpu-used": "8",
                "crf": "30",
                "b:v": "0",
                "lag-in-frames": "0",
            }
            seen.codec_context.thread_count = 2
            ring = film_out.add_stream("libopus", rate=heard.rate, layout="stereo")
            ring.bit_rate = 128_000
            film_out.metadata["title"] = heard.title
            blocks, sounded = heard.blocks(heard.rate // 10), 0
            for number, pixels in enumerate(shown(self._drawn(), self.frames, what, long=long)):
                frame = av.VideoFrame.from_ndarray(pixels, format="rgb24")
                frame.pts, frame.time_base = number, Fraction(1, FPS)
                film_out.mux(seen.encode(frame))
                while sounded * FPS < (number + 1) * heard.rate and sounded < heard.frames:
                    block = next(blocks)
                    some = av.AudioFrame.from_ndarray(block.reshape(1, -1), format="flt", layout="stereo")
                    some.sample_rate, some.pts, some.time_base = heard.rate, sounded, Fraction(1, heard.rate)
                    film_out.mux(ring.encode(some))
                    sounded += len(block)
            film_out.mux(seen.encode(None))
            film_out.mux(ring.encode(None))

    @cached_property
    def _screen(self) -> tuple["_Page", ...]:
        """The pages, drawn once."""
        high = max(ceil(page.rows * ROW * WIDE / page.width) for page in self.pages)
        high += _COUNT_HIGH * self.counted
        return tuple(_page(page, high + high % 2) for page in self.pages)

    def _drawn(self) -> Iterator[Pixels]:
        """Yield every frame: a page, the strokes that were just passed, the playhead, the count."""
        cue, said = 0, {one.text: _said(one.text) for one in self.cues} if self.counted else {}
        for number in range(self.frames):
            tick, now = self.tick(number), Fraction(number, FPS)
            if tick is None:
                pixels = self._screen[-1].empty.copy()
            else:
                at = next((i for i, one in enumerate(self.pages) if tick < one.stop), len(self.pages) - 1)
                pixels = self._screen[at].at(tick, _GROWN_S / self.sound.tick_seconds)
            while cue < len(self.cues) and self.cues[cue].stop <= now:
                cue += 1
            if said and cue < len(self.cues) and self.cues[cue].start <= now:
                pixels[-_COUNT_HIGH:] = said[self.cues[cue].text]
            yield pixels

    def _repr_html_(self) -> str:
        from rhythmlab.draw.svg import on_its_page

        kept = f'<code>.write("{safe_name(self.sound.title, ".webm")}")</code>'
        text = f"{escape(self.text)} End the line with {kept} to make the film, with its captions beside it."
        picture = on_its_page(self.pages[0])
        return framed(f'<figure style="margin:0">{picture}<figcaption>{text}</figcaption></figure>')

    @property
    def text(self) -> str:
        """What it is, in one sentence."""
        many = numbers.plural(self.sound.cycles, "cycle")
        return f"A film of {self.sound.title}, {many}, {numbers.seconds(self.seconds)}."

    def __repr__(self) -> str:
        return f"Film({self.text})"


@dataclass(frozen=True)
class _Page:
    """A page as pixels: without and with all of its strokes grown, and where each stroke that sounds is."""

    scene: Scene
    empty: Pixels
    grown: Pixels
    boxes: tuple[tuple[float, slice, slice], ...]

    def at(self, tick: Fraction, reach: Fraction) -> Pixels:
        """Return the page with the playhead on a tick; strokes that it passed within a reach are grown."""
        pixels = self.empty.copy()
        for stroke, down, across in self.boxes:
            if stroke <= tick < stroke + reach:
                pixels[down, across] = self.grown[down, across]
        left = self.scene.x(float(tick)) * WIDE / self.scene.width - _LINE / 2
        first = int(left)
        ink = np.array([int(COLOURS["ink"][0][i : i + 2], 16) for i in (1, 3, 5)])
        columns = np.arange(first, first + _LINE + 1)
        cover = np.clip(np.minimum(columns + 1, left + _LINE) - np.maximum(columns, left), 0, 1)
        cover = (cover * (1 - _THROUGH))[None, :, None]
        under = pixels[:, first : first + _LINE + 1]
        cover = cover[:, : under.shape[1]]
        high = round(self.scene.rows * ROW * WIDE / self.scene.width)
        under[:high] = (under[:high] * (1 - cover) + ink * cover + 0.5).astype(np.uint8)
        return pixels


def can_film() -> bool:
    """Whether what films need is installed."""
    return find_spec("av") is not None


@public(f"{_CALL})")
def filmed(
    what: Rhythm,
    tempo: Speed,
    *,
    home: int | None = None,
    cycles: int = 4,
    counted: bool = False,
    mix: Mix | None = None,
) -> Film:
    """Make a film of a rhythm at a tempo: its picture, with the playhead, and its sound.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is played.
    tempo : Tempo or number
        The speed; a number is beats a minute of home.
    home : int, optional
        Index of the home pulse of a `Polyrhythm`; the last one when left out.
    cycles : int
        How often the cycle is played.
    counted : bool
        Whether the count is written into the picture; it is in the captions anyway.
    mix : Mix, optional
        Levels, sides and voices.

    Returns
    -------
    Film
        Its ``write()`` makes the file. To write it, ``pip install "rhythmlab[film]"`` first: PyAV, about
        36 MB, which bundles encoders under the GPL.

    Raises
    ------
    IndexError
        If there is no such pulse.
    ValueError
        As for `rhythmlab.audio.sound.sound`, or if the film lasts longer than ten minutes.

    Examples
    --------
    >>> filmed((5, 4), 72, cycles=2)
    Film(A film of 5 against 4 at 72 bpm of the 4, 2 cycles, 6.7 seconds.)
    """
    if not isinstance(counted, bool):
        raise Refusal(
            f"counted={short(counted)} is neither True nor False",
            f"{_CALL}, counted=True)",
            argument="counted",
        )
    shown_as = bounds.rhythm(what, "what", f"{_CALL})")
    heard = sound(what, tempo, home=home, cycles=cycles, mix=mix)
    cycle = shown_as.cycle(home) if isinstance(shown_as, Polyrhythm) else shown_as
    return film_of(heard, cycle, counted=counted)


def film_of(
    heard: Sound,
    cycle: Cycle,
    *,
    scene: Scene | None = None,
    words: Sequence[str] = (),
    counted: bool = False,
) -> Film:
    """Make a film of a sound and what is seen of it.

    Parameters
    ----------
    heard : Sound
        Whole cycles of it.
    cycle : Cycle
        What is counted and, where no picture is given, drawn.
    scene : Scene, optional
        A picture of all of the cycle.
    words : sequence of str
        Said on the ticks in place of the count.
    counted : bool
        As for `filmed`.

    Raises
    ------
    ValueError
        If it lasts longer than ten minutes, or has more pages than are drawn.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> film_of(sound((3, 2), 60, cycles=1), Polyrhythm(3, 2).cycle()).cues[0].text
    '1 let'
    """
    if heard.seconds > MOST_SECONDS:
        raise Refusal(
            f"cycles={heard.cycles} of {heard.title} last {numbers.seconds(heard.seconds)}, longer than a "
            f"film may be, {numbers.seconds(Fraction(MOST_SECONDS))}",
            f"{_CALL}, cycles=4)",
            argument="cycles",
        )
    one = scene is not None and scene.moves and (scene.start, scene.stop) == (heard.start, heard.stop)
    pages = [scene] if one and scene is not None else []
    at = heard.start
    while not one and at < heard.stop:
        if len(pages) == MOST_PAGES:
            raise Refusal(
                f"what={heard.title} fills more than {MOST_PAGES} pages of a film",
                f"{_CALL}, cycles=4)",
                argument="what",
            )
        stop = _page_end(cycle, at)
        pages.append(
            strip_in_words(cycle, words, start=at, stop=stop) if words else strip(cycle, start=at, stop=stop)
        )
        at = stop
    return Film(heard, tuple(pages), tuple(_cues(heard, cycle, words)), counted)


def _page_end(cycle: Cycle, start: int) -> int:
    """Return where a page ends that begins at a tick: after as many whole bars as can be read there."""
    stop = readable(cycle, start)[1]
    bars = [bar for bar in cycle.bars.tolist() if start < bar <= stop]
    return bars[-1] if bars and stop < cycle.ticks else stop


def _cues(heard: Sound, cycle: Cycle, words: Sequence[str]) -> Iterator[Cue]:
    """Yield a caption for each beat that lasts long enough to be read, or for several together."""
    span, said = heard.stop - heard.start, _count(cycle, words)
    firsts: list[int] = []
    for beat in said or {heard.start: ""}:
        if not firsts or (beat - firsts[-1]) * heard.tick_seconds >= CAPTION_S:
            firsts.append(beat)
    if len(firsts) > 1 and (heard.stop - firsts[-1] + firsts[0]) * heard.tick_seconds < CAPTION_S:
        firsts.pop()
    for turn in range(heard.cycles):
        base = turn * span - heard.start
        for start, stop in pairwise([*firsts, heard.stop]):
            text = " ".join(said[beat] for beat in said if start <= beat < stop) or f"cycle {turn + 1}"
            yield Cue((base + start) * heard.tick_seconds, (base + stop) * heard.tick_seconds, text[:200])


def _count(cycle: Cycle, words: Sequence[str]) -> dict[int, str]:
    """Return for each beat its number and the words of the strokes that fall in it."""
    beats = cycle.beats.tolist()
    if not beats:
        return {}
    ticks = sorted({*beats, *(tick for lane in cycle.lanes for tick in lane.onsets.tolist())})
    bars = cycle.bars.tolist()
    found: dict[int, list[str]] = {beat: [] for beat in beats}
    beat, number = beats[0], 0
    where = dict(zip(ticks, places(cycle, np.array(ticks)), strict=True))
    for tick in ticks:
        if tick in found:
            beat, number = tick, 1 if tick in bars else number + 1
        label = (
            words[tick % len(words)] if words else str(number) if tick == beat else counts.label(where[tick])
        )
        found[beat].append(label)
    return {beat: " ".join(filter(None, said)) for beat, said in found.items()}


def _clock(seconds: Fraction) -> str:
    """Write a time as WebVTT has it.

    Examples
    --------
    >>> _clock(Fraction(3661001, 1000))
    '01:01:01.001'
    """
    full, thousandths = divmod(round(seconds * 1000), 1000)
    return f"{full // 3600:02}:{full // 60 % 60:02}:{full % 60:02}.{thousandths:03}"


def _pixels(drawn: "Figure") -> Pixels:
    """Return a figure as pixels."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    canvas: Any = FigureCanvasAgg(drawn)
    canvas.draw()
    return np.asarray(canvas.buffer_rgba())[:, :, :3].copy()


def _page(scene: Scene, high: int) -> _Page:
    """Draw a page twice, its strokes as they are and grown, on a screen so high."""
    from matplotlib.collections import PathCollection

    drawn = figure(scene)
    scale = WIDE / scene.width
    drawn.set_dpi(100 * scale)
    small = _pixels(drawn)
    for one in drawn.findobj(PathCollection):
        if isinstance(one, PathCollection):
            one.set_sizes(np.asarray(one.get_sizes()) * _GROWN**2)
    room = ceil(scene.radius * _GROWN * scale) + 3
    boxes = []
    for stroke in scene.strokes():
        if stroke.played:
            continue  # what a take had is seen, and not heard
        x, y = round(scene.x(stroke.x) * scale), round(stroke.y * ROW * scale)
        boxes.append((stroke.x, slice(max(0, y - room), y + room), slice(max(0, x - room), x + room)))
    return _Page(scene, _on(small, high), _on(_pixels(drawn), high), tuple(boxes))


def _on(pixels: Pixels, high: int) -> Pixels:
    """Return pixels on paper of the size of the film."""
    paper = np.full((high, WIDE, 3), 255, np.uint8)
    some = pixels[:high, :WIDE]
    paper[: some.shape[0], : some.shape[1]] = some
    return paper


def _said(text: str) -> Pixels:
    """Draw a caption in the row of the count."""
    from matplotlib.figure import Figure

    look: dict[str, Any] = {"color": COLOURS["ink"][0], "fontsize": 26, "fontweight": "bold"}
    drawn = Figure(figsize=(WIDE / 100, _COUNT_HIGH / 100), dpi=100, facecolor=COLOURS["paper"][0])
    drawn.text(0.085, 0.5, text, ha="left", va="center", parse_math=False, **look)
    return _pixels(drawn)[:_COUNT_HIGH, :WIDE]

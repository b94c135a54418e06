"""A Cycle made audible: rows of strokes at a tempo, mixed into stereo samples, and written as WAV."""

import base64
import io
import wave
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from html import escape
from numbers import Integral
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

import numpy as np

from rhythmlab.audio.mix import Mix, VoiceRow, all_rows, few_held, loudest, of_cycle, of_pulses
from rhythmlab.audio.struck import DAMPED_S, damped
from rhythmlab.audio.voices import KNEE, limit, sample_rate, voice
from rhythmlab.core import bounds
from rhythmlab.core.check import MOST_STROKES, a, index, short, whole, window
from rhythmlab.core.display import Written, framed
from rhythmlab.core.long_work import say, shown
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed, nearest
from rhythmlab.core.types import Floats, Samples, Ticks
from rhythmlab.files import out, with_ending
from rhythmlab.refusal import Refusal
from rhythmlab.text import numbers, sentences

if TYPE_CHECKING:
    from IPython.display import Audio
#: Longest sound, in seconds: a day. Longest held at once, in bytes. Longest put into a page, in seconds.
MOST_SECONDS, MOST_BYTES, PLAYER_SECONDS = 86_400, 2**31, 30
#: Most strokes a second, most beats of a count-in, and most samples of a block.
MOST_A_SECOND, MOST_COUNTED, MOST_BLOCK = 10_000, 64, 10_000_000
#: Bytes of sound that fit into a WAV file, whose header counts in 32 bits.
MOST_DATA = 2**32 - 64
#: Samples mixed at a time where nobody asks for blocks of another size.
_FRAMES = 262_144
#: Seconds that a stroke and a sample take to mix on a slow machine.
_STROKE_S, _FRAME_S = 1e-5, 1e-7
#: A call, to be completed with a bracket or more arguments; and a call that writes.
_CALL = "sound((7, 4), 72"
_WRITE = "sound((7, 4), 72).write({})"


def write_pcm(file: BinaryIO, blocks: Iterable[Samples], frames: int, rate: int, bits: int) -> None:
    """Write blocks of stereo samples as PCM, as they come.

    Parameters
    ----------
    file : binary file
        Open for writing.
    blocks : iterable of numpy.ndarray
        float32, shape (n, 2), inside -1 and 1; together `frames` long. They are overwritten.
    frames : int
        Samples of each channel.
    rate : int
        Samples a second.
    bits : int
        Bits a sample, 16 or 24; full scale is 2**(bits - 1).
    """
    scale = np.float32(2 ** (bits - 1))
    with wave.open(file, "wb") as made:
        made.setparams((2, bits // 8, rate, frames, "NONE", ""))
        for block in blocks:
            np.rint(np.multiply(block, scale, out=block), out=block)
            if bits == 16:
                made.writeframesraw(block.astype("<i2").data)
            else:
                made.writeframesraw(block.astype("<i4").view(np.uint8).reshape(-1, 4)[:, :3].tobytes())


def save_wav(
    path: str | Path,
    blocks: Iterable[Samples],
    frames: int,
    rate: int,
    bits: int,
    *,
    replace: bool = False,
) -> Path:
    """Write a WAV file that appears under its name whole or not at all.

    Parameters
    ----------
    path : str or Path
        Where to, ending in ``.wav``; its folder must exist.
    blocks, frames, rate, bits
        As for `write_pcm`; the bits are 16 or 24.
    replace : bool
        Whether a file of that name may be replaced.

    Returns
    -------
    Path
        Where it was written.

    Raises
    ------
    ValueError, OSError
        As for `rhythmlab.files.out`, or if the name does not end in ``.wav``, or the bits are not 16 or 24.
    """
    path = with_ending(path, ".wav", call=_WRITE)
    if isinstance(bits, bool) or not isinstance(bits, Integral) or bits not in (16, 24):
        call = _WRITE.replace("{}", "{}, bits=16").format(repr(path.name))
        raise Refusal(f"bits={short(bits)} is neither 16 nor 24", call, argument="bits")
    with out(path, _WRITE, replace=replace) as file:
        write_pcm(file, blocks, frames, rate, int(bits))
    return Written(path)


@public_class(
    "sound((7, 4), 72)",
    onsets='sound((7, 4), 72).onsets("7")',
    blocks="sound((7, 4), 72).blocks()",
    write='sound((7, 4), 72).write("7-4.wav")',
)
@dataclass(frozen=True, eq=False, repr=False)
class Sound:
    """Rows of strokes at a tempo, made into samples when they are asked for.

    Attributes
    ----------
    title : str
        What is played, and how fast.
    rows : tuple of VoiceRow
        The lanes, then home, the grid ticks and the count-in where they sound.
    tick_seconds : Fraction
        Seconds from one tick to the next, exact.
    start, stop : int
        The slice of the cycle that is repeated, in ticks, half-open.
    cycles : int
        How often it is played.
    lead : int
        Ticks of the count-in; the first sample is where it begins.
    rate : int
        Samples a second.
    """

    title: str
    rows: tuple[VoiceRow, ...]
    tick_seconds: Fraction
    start: int
    stop: int
    cycles: int
    lead: int
    rate: int

    @property
    def seconds(self) -> Fraction:
        """Seconds of the count-in and the cycles, exact; the last stroke rings on after them."""
        return self.tick_seconds * (self.lead + self.cycles * (self.stop - self.start))

    @cached_property
    def frames(self) -> int:
        """Samples of each channel, to the end of the voice that rings longest."""
        ends = [nearest(*(self.seconds * self.rate).as_integer_ratio())]
        for row in self.rows:
            strokes = self._count(row)
            if strokes:
                ends.append(
                    int(self._places(row, strokes - 1, strokes)[0]) + len(voice(row.sound, self.rate))
                )
        return max(ends)

    def onsets(self, row: str | int) -> Ticks:
        """Return the sample on which each stroke of a row begins.

        Each is its exact time rounded to the nearest sample, half up, and so within half a sample of it.

        Parameters
        ----------
        row : str or int
            Name of the row, or its index in `rows`; the lanes come first.

        Returns
        -------
        numpy.ndarray
            int64, shape (strokes,), counted from 0 at the first sample.

        Raises
        ------
        ValueError
            If no row, or more than one, has that name.
        IndexError
            If there are not so many rows.

        Examples
        --------
        >>> sound((3, 2), 70, cycles=1).onsets("3")
        array([    0, 27429, 54857])
        """
        if isinstance(row, str):
            names = [one.name for one in self.rows]
            if names.count(row) != 1:
                many = "is no row" if row not in names else "is more than one row"
                raise Refusal(
                    f"{short(row)} {many} of this sound, which has {short(names)}", f"{_CALL}).onsets(0)"
                )
            row = names.index(row)
        chosen = self.rows[index(row, len(self.rows), "row", "rows")]
        strokes = self._count(chosen)
        long = self._exact_in_objects
        say(
            f"The places of {numbers.plural(strokes, 'stroke')}",
            seconds=strokes * (2e-6 if long else 1e-7),
            megabytes=strokes * (2e-4 if long else 4e-5),
        )
        return self._places(chosen, 0, strokes)

    def _count(self, row: VoiceRow) -> int:
        """Return how many strokes a row has, all cycles together."""
        return len(row.ticks) * (1 if row.once else self.cycles)

    def _places(self, row: VoiceRow, first: int, last: int) -> Ticks:
        """Return the samples of the strokes from number `first` to before `last`, in whole numbers."""
        top, bottom = self._per_tick
        strokes = np.arange(first, last, dtype=np.int64)
        if self._exact_in_objects or row.ticks.dtype == object:
            strokes = strokes.astype(object)
        turn, i = strokes // max(len(row.ticks), 1), (strokes % max(len(row.ticks), 1)).astype(np.int64)
        ticks = turn * (self.stop - self.start) + row.ticks[i] + (self.lead - self.start)
        return nearest(top * ticks, bottom).astype(np.int64)

    def _first(self, row: VoiceRow, frame: int) -> int:
        """Return the number of the first stroke of a row that begins on or after a frame."""
        top, bottom = self._per_tick
        tick = -((1 - 2 * frame) * bottom // (2 * top)) - self.lead  # rounded up
        if row.once:
            return int(np.searchsorted(row.ticks, min(max(tick, -self.lead), 0) + self.start))
        turn, rest = divmod(max(tick, 0), self.stop - self.start)
        if turn >= self.cycles:
            return self._count(row)
        return turn * len(row.ticks) + int(np.searchsorted(row.ticks, rest + self.start))

    @cached_property
    def _exact_in_objects(self) -> bool:
        """Whether the places need whole numbers too large for an array of 64-bit integers."""
        top, bottom = self._per_tick
        return 2 * (self.lead + self.cycles * (self.stop - self.start)) * top + bottom >= 2**63

    @cached_property
    def _per_tick(self) -> tuple[int, int]:
        """Samples from tick to tick, as a numerator and a denominator."""
        return (self.tick_seconds * self.rate).as_integer_ratio()

    @cached_property
    def _heard(self) -> list[tuple[VoiceRow, list[Samples], Floats, Ticks]]:
        """The rows that sound, each with its voices, their peaks, and which of them each stroke is."""
        return [(row, *row.shapes(self.rate)) for row in self.rows if row.level and len(row.ticks)]

    def _gaps(self, row: VoiceRow, first: int, places: Ticks, length: int) -> Ticks | None:
        """Return how many samples come from each stroke, the first number `first`, to the next of its row.

        None where every stroke has rung out, after `length` samples, before the next.
        """
        (top, bottom), again = self._per_tick, row.ticks[0] + self.stop - self.start
        nearest_ticks = min(int(np.diff(row.ticks).min(initial=again)), again - int(row.ticks[-1]))
        if nearest_ticks * top >= (length + 1) * bottom:
            return None
        last = first + len(places)
        after = self._places(row, last, last + 1) if last < self._count(row) else (places[-1] + length,)
        return np.diff(places, append=after)

    def _mix(self, out: Samples, start: int) -> None:
        """Add all strokes to the silent block `out` that begins at frame `start`, and limit it."""
        stop, heard = start + len(out), []
        for row, shapes, peaks, which in self._heard:
            length = len(shapes[0])
            first, last = self._first(row, start - length + 1), self._first(row, stop)
            if first == last:
                continue
            places, kinds = self._places(row, first, last), which[np.arange(first, last) % len(which)]
            gaps, each = self._gaps(row, first, places, length), map(shapes.__getitem__, kinds.tolist())
            ends = places + length
            if gaps is not None:
                fades = np.minimum(gaps, round(self.rate * DAMPED_S))
                ends = np.minimum(ends, places + gaps + fades)
                each = map(damped, each, gaps.tolist(), fades.tolist())
            heard.append((places, ends, peaks[kinds]))
            for at, shape in zip(places.tolist(), each, strict=True):
                begin, end = max(at, start), min(at + len(shape), stop)
                if begin < end:
                    out[begin - start : end - start] += shape[begin - at : end - at]
        if heard and loudest(*map(np.concatenate, zip(*heard, strict=True))) > KNEE - 1e-5:
            for some in (out[i : i + _FRAMES] for i in range(0, len(out), _FRAMES)):
                if max(some.max(), -some.min()) > KNEE:
                    some[:] = limit(some)

    def samples(self) -> Samples:
        """Return all samples at once.

        Returns
        -------
        numpy.ndarray
            float32, shape (frames, 2), left and right, within -0.95 and 0.95.

        Raises
        ------
        ValueError
            If they would take more than 2 GiB; `blocks` and `write` need no such memory.

        Examples
        --------
        >>> sound((3, 2), 60, cycles=1).samples().shape
        (96000, 2)
        """
        if 8 * self.frames > MOST_BYTES:
            raise Refusal(
                f"{numbers.seconds(self.seconds)} of sound are too long to hold at once; take it "
                "block by block or write it to a file",
                f'{_CALL}, cycles=2000).write("long.wav")',
            )
        what, long = self._long_text(self.frames, 9 * self.frames / 10**6)
        result = np.zeros((self.frames, 2), np.float32)
        starts = range(0, self.frames, 4 * _FRAMES)
        for start in shown(starts, len(starts), what, long=long):
            self._mix(result[start : start + 4 * _FRAMES], start)
        return result

    def _long_text(self, frames: int, megabytes: float = 0) -> tuple[str, bool]:
        """Say where mixing so many frames takes long; return what is mixed, and whether that was said."""
        strokes = sum(map(self._count, self.rows)) * frames // max(1, self.frames)
        what = f"{numbers.seconds(Fraction(frames, self.rate))} of sound"
        instead = "A file needs no such memory." if megabytes else ""
        seconds = strokes * _STROKE_S + frames * _FRAME_S
        return what, say(what, seconds=seconds, megabytes=megabytes, instead=instead, steps=True)

    def blocks(self, size: int = 65_536) -> Iterator[Samples]:
        """Yield the same samples block by block.

        Parameters
        ----------
        size : int
            Samples of each channel in a block; the last block may be shorter.

        Yields
        ------
        numpy.ndarray
            float32, shape (size, 2).

        Examples
        --------
        >>> s = sound((3, 2), 60, cycles=1)
        >>> [len(block) for block in s.blocks(40_000)]
        [40000, 40000, 16000]
        """
        size = whole(size, "size", f"{_CALL}).blocks(65_536)", most=MOST_BLOCK)
        return (self._block(at, min(size, self.frames - at)) for at in range(0, self.frames, size))

    def _block(self, start: int, size: int) -> Samples:
        """Return `size` samples of each channel from `start`."""
        block = np.zeros((size, 2), np.float32)
        self._mix(block, start)
        return block

    def write(self, path: str | Path, bits: int = 16, *, replace: bool = False) -> Path:
        """Write a stereo WAV file, block by block.

        Parameters
        ----------
        path : str or Path
            Where to, ending in ``.wav``; its folder must exist.
        bits : int
            Bits a sample, 16 or 24.
        replace : bool
            Whether a file of that name may be replaced.

        Returns
        -------
        Path
            Where it was written. It appears there whole or not at all.

        Raises
        ------
        ValueError
            If the name does not end in ``.wav`` or is no safe one, the bits are others, or a WAV file
            cannot be so long.
        OSError
            If there is something of that name, or the disk does not take it.

        Examples
        --------
        >>> import tempfile
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     sound((7, 4), 72).write(f"{folder}/seven-four.wav").name
        'seven-four.wav'
        """
        most = MOST_DATA // (6 if isinstance(bits, Integral) and bits == 24 else 4)
        if self.frames > most:
            raise Refusal(
                f"{numbers.seconds(self.seconds)} of sound are more than a WAV file can hold, "
                f"{numbers.seconds(Fraction(most, self.rate))}",
                f"{_CALL}, cycles=4)",
            )
        return save_wav(path, self._buffered(self.frames), self.frames, self.rate, bits, replace=replace)

    def _buffered(self, frames: int) -> Iterator[Samples]:
        """Yield the first `frames` frames, each block in the same memory; fade out where strokes are cut."""
        buffer = np.empty((min(_FRAMES, frames), 2), np.float32)
        fade = self.rate // 50 if frames < self.frames else 0
        what, long = self._long_text(frames)
        starts = range(0, frames, _FRAMES)
        for start in shown(starts, len(starts), what, long=long):
            block = buffer[: frames - start]
            block[:] = 0
            self._mix(block, start)
            if start + len(block) > frames - fade:
                left = frames - 1 - np.arange(start, start + len(block))
                block *= np.minimum(left / fade, 1).astype(np.float32)[:, None]
            yield block

    def _excerpt(self) -> tuple["Sound", int, str]:
        """Return what a page plays, whole cycles or the beginning: sound, number of frames, text."""
        room = Fraction(PLAYER_SECONDS) - self.lead * self.tick_seconds
        fit = int(room / (self.tick_seconds * (self.stop - self.start)))
        if fit >= self.cycles:
            return self, self.frames, self.text
        if fit >= 1:
            some = replace(self, cycles=fit)
            return some, some.frames, f"{self.text} Played here: the first {numbers.plural(fit, 'cycle')}."
        return self, PLAYER_SECONDS * self.rate, f"{self.text} Played here: the first 30 seconds."

    def _wav(self) -> tuple[bytes, str]:
        """Return the excerpt for a page as a WAV file, and its text."""
        excerpt, frames, text = self._excerpt()
        file = io.BytesIO()
        write_pcm(file, excerpt._buffered(frames), frames, self.rate, 16)
        return file.getvalue(), text

    def player(self) -> "Audio":
        """Return a player for a notebook, with at most about 30 seconds of the sound in it.

        Where not all cycles fit it plays as many whole ones as do, and where not one fits the first 30
        seconds; `write` has no such limit.
        """
        from IPython.display import Audio

        return Audio(data=self._wav()[0])

    def _repr_html_(self) -> str:
        """Show a player and what is heard."""
        data, text = self._wav()
        source, label = base64.b64encode(data).decode(), escape(text, quote=True)
        return framed(
            f'<figure style="margin:0"><audio controls preload="metadata" aria-label="{label}" '
            f'src="data:audio/wav;base64,{source}"></audio><figcaption>{label}</figcaption></figure>'
        )

    @property
    def text(self) -> str:
        """What is heard, in one sentence."""
        heard = [f"{row.name} on {row.sound}" for row in self.rows if row.level and len(row.ticks)]
        return (
            f"{self.title}, {numbers.plural(self.cycles, 'cycle')}, {numbers.seconds(self.seconds)}: "
            f"{sentences.listed(heard) or 'silence'}."
        )

    def __repr__(self) -> str:
        return f"Sound({self.text})"


@public(f"{_CALL})")
def sound(
    what: Rhythm,
    tempo: Speed,
    *,
    home: int | None = None,
    cycles: int = 4,
    start: int | None = None,
    stop: int | None = None,
    count_in: int = 0,
    mix: Mix | None = None,
    rate: int = 48_000,
) -> Sound:
    """Make a rhythm audible at a tempo.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is played.
    tempo : Tempo or number
        The speed; a number is beats a minute of home.
    home : int, optional
        Index of the home pulse of a `Polyrhythm`, whose beats sound on the bass drum; the last one when
        left out. A `Cycle` has its own beats.
    cycles : int
        How often the cycle, or the slice of it, is played.
    start, stop : int, optional
        Slice in ticks, half-open; the whole cycle when left out.
    count_in : int
        Beats before the first cycle, up to 64, each as long as the first beat that begins in the slice.
    mix : Mix, optional
        Levels, sides and voices.
    rate : int
        Samples a second, 44 100 or 48 000.

    Returns
    -------
    Sound
        Its ``samples()``, ``blocks()``, ``write()`` and ``player()`` make it heard.

    Raises
    ------
    IndexError
        If there is no such pulse.
    ValueError
        If the slice is empty or outside the cycle, the mix does not fit the lanes, home has less than 1 or
        more than 1,000 beats a minute, or the sound would last longer than a day.

    Examples
    --------
    >>> sound((7, 4), 72, count_in=4)
    Sound(7 against 4 at 72 bpm of the 4, 4 cycles, 16.7 seconds: 7 on high wood block, 4 on low wood \
block, home on bass drum and count-in on click.)
    """
    cycles, rate = whole(cycles, "cycles", f"{_CALL}, cycles=4)"), sample_rate(rate)
    count_in = whole(count_in, "count_in", f"{_CALL}, count_in=4)", least=0, most=MOST_COUNTED)
    mix = Mix() if mix is None else mix
    a(Mix, mix, "mix", f"{_CALL}, mix=Mix(levels=[0.8, 0.4]))")
    what = bounds.rhythm(what, "what", f"{_CALL})", most=None)
    tempo = bounds.at_tempo(what, tempo, home if isinstance(what, Polyrhythm) else None, f"{_CALL})")
    first, last = window(start, stop, what.ticks)
    if first == last:
        raise Refusal(
            f"start={first}, stop={last} holds no tick to play", f"{_CALL}, stop=14)", argument="start"
        )
    tick_seconds, span = tempo.tick_seconds(what), last - first
    few_held(span if mix.ticks else 0, first, last)
    title, lanes, beats, beat = (
        of_pulses(what, tempo, home, first, last)
        if isinstance(what, Polyrhythm)
        else of_cycle(what, tempo, home, first, last)
    )
    if span < what.ticks:
        title += f", ticks {first} to {last}"
    lead = count_in * beat
    strokes = sum(len(lane.onsets) for lane in lanes) + len(beats.onsets) + (span if mix.ticks else 0)
    if tick_seconds * (lead + cycles * span) > MOST_SECONDS or strokes * cycles + count_in > MOST_STROKES:
        raise Refusal(
            f"cycles={short(cycles)} with count_in={short(count_in)} last longer than a day "
            f"or have more than {MOST_STROKES:,} strokes; take fewer, or a slice",
            f"{_CALL}, cycles=4, stop=14)",
            argument="cycles",
        )
    if strokes * cycles > MOST_A_SECOND * max(Fraction(1), tick_seconds * span * cycles):
        raise Refusal(
            f"tempo={short(tempo)} makes more than {MOST_A_SECOND:,} strokes a second of {short(what)}",
            f"{_CALL})",
            argument="tempo",
        )
    powers = () if isinstance(what, Polyrhythm) else what.powers
    rows = all_rows(lanes, mix, beats, (first, last), (count_in, beat), powers)
    return Sound(title, rows, tick_seconds, first, last, cycles, lead, rate)

"""What is heard and read with a question: it has the right answer in it, and its text alternative has not."""

import base64
import io
import re
import sys
import wave
from html import unescape

import music21
import numpy as np
import pytest

from rhythmlab.classroom.bank.catalogue import BANK, CLASS_IDS, find
from rhythmlab.classroom.bank.hearing import SoundExhibit, tempo_for
from rhythmlab.classroom.bank.notation import ScoreExhibit, notes_text
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.notation.score import score

HEARD = [(id, numbers) for id in ("hear-pair", "hear-home", "hear-odd") for numbers in find(id).versions]
READ = [(id, numbers) for id in ("read-length", "read-pair", "read-odd") for numbers in find(id).versions]
NAMES = re.compile(r"\bagainst\b|\bpulses?\b|polyrhythm|\bcount(ed)?\b|\bfalls?\b|\d\+\d", re.IGNORECASE)


def samples(id: str, numbers: tuple) -> tuple[np.ndarray, int]:
    """Return what the player in a page plays, and its rate."""
    html = find(id).shows(numbers)._repr_html_()
    (data,) = re.findall(r'src="data:audio/wav;base64,([^"]+)"', html)
    with wave.open(io.BytesIO(base64.b64decode(data))) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32_768, file.getframerate()


def band(sound: np.ndarray, rate: int, low: float, high: float) -> np.ndarray:
    """Return what lies between two frequencies, by a discrete Fourier transform, with silence round it."""
    sound = np.pad(sound, rate // 2)
    spectrum = np.fft.rfft(sound)
    at = np.fft.rfftfreq(len(sound), 1 / rate)
    spectrum[(at < low) | (at >= high)] = 0
    return np.fft.irfft(spectrum, len(sound))


def attacks(sound: np.ndarray, rate: int) -> np.ndarray:
    """Return the seconds at which a sound becomes clearly louder than it was just before."""
    block = rate // 200
    loud = np.abs(sound[: len(sound) // block * block]).reshape(-1, block).max(axis=1)
    before = np.array([loud[max(0, i - 6) : i].min(initial=1) if i else 0 for i in range(len(loud))])
    rising = np.flatnonzero((loud > 0.25 * loud.max()) & (loud > 2.5 * before))
    first = [i for n, i in enumerate(rising) if not n or i - rising[n - 1] > 5]
    return np.array(first) * block / rate


def heard(id: str, numbers: tuple) -> list:
    """Answer a hearing question with the ears of a program, from the samples alone."""
    sound, rate = samples(id, numbers)
    if id == "hear-odd":
        at = attacks(sound, rate)
        rounds = np.diff(np.append(at, 12.0)).reshape(5, -1)
        usual = np.median(rounds, axis=0)
        which, stroke = np.argwhere(np.abs(rounds - usual) > 0.1)[0]
        return [which + 1, "late" if rounds[which, stroke] > usual[stroke] else "early"]
    deep = (650, 850) if id == "hear-pair" else (20, 200)  # a low wood block, or a bass drum
    low, high = (len(attacks(band(sound, rate, *ends), rate)) for ends in (deep, (1650, 1900)))
    assert low % 3 == high % 3 == 0
    return [low // 3, high // 3] if id == "hear-home" else [high // 3, low // 3]


def read_out(id: str, numbers: tuple) -> list:
    """Answer a reading question with music21, from the MusicXML alone."""
    parts = list(music21.converter.parseData(find(id).shows(numbers)._make().musicxml).parts)
    if id == "read-length":
        (length,) = {note.quarterLength * 4 for note in parts[0].stripTies().flatten().notes}
        return [len(parts[0].stripTies().flatten().notes), length]
    bars = [
        [note.offset * 4 for note in bar.notes] for bar in parts[0].getElementsByClass(music21.stream.Measure)
    ]
    if id == "read-pair":
        ticks = parts[0].duration.quarterLength * 4
        pairs = [(p, ticks / p) for p in range(2, int(ticks)) if ticks % p == 0 and p > ticks / p]
        ((p, q),) = [(p, q) for p, q in pairs if p + q - 1 == len(bars[0])]
        return [p, q]
    (odd,) = [bar for bar in bars if bars.count(bar) == 1]
    other = next(bar for bar in bars if bar != odd)
    (note,) = [n for n, (one, two) in enumerate(zip(odd, other, strict=True), 1) if one != two]
    return [bars.index(odd) + 1, note]


@pytest.mark.parametrize(("id", "numbers"), HEARD)
def test_what_is_heard_has_the_right_answer_in_it(id, numbers):
    """A program that knows only the samples answers as the library does."""
    assert heard(id, numbers) == list(find(id).make(*numbers).right)


@pytest.mark.parametrize(("id", "numbers"), READ)
def test_what_is_read_has_the_right_answer_in_it(id, numbers):
    """music21, which knows only the MusicXML, answers as the library does."""
    assert read_out(id, numbers) == list(find(id).make(*numbers).right)


@pytest.mark.parametrize(("id", "numbers"), HEARD + READ)
def test_nothing_beside_it_names_the_answer(id, numbers):
    """No text on the page, in its labels or in its `repr` names a pair, and there is a text alternative."""
    shown = find(id).shows(numbers)
    html = re.sub(r'src="[^"]*"', "", shown._repr_html_())
    texts = " ".join(
        re.findall(r">([^<>]+)<", html) + re.findall(r'(?:aria-label|title|alt)="([^"]*)"', html)
    )
    said = unescape(texts) + repr(shown)
    assert not NAMES.search(said)
    assert shown.text in unescape(texts)
    if isinstance(shown, SoundExhibit):  # how often and how long it is stands there as a number, no more
        assert set(re.findall(r"\d+", said)) <= {"9", "12"}


def test_only_hearing_and_reading_questions_show_something():
    """The others are complete in their text."""
    for id in CLASS_IDS:
        kind = BANK[id]
        shown = kind.shows(kind.versions[0])
        kinds = {"sound": SoundExhibit, "score": ScoreExhibit, "take": type(None), "": type(None)}
        assert isinstance(shown, kinds[kind.plays]), id


def test_nothing_is_made_before_it_is_shown(monkeypatch):
    """Three hundred seats cost nothing until a page is run."""

    def refuse(*args, **names):
        raise AssertionError("made too soon")

    for module in ("bank.notation.score", "bank.hearing.sound"):
        monkeypatch.setattr(f"rhythmlab.classroom.{module}", refuse)
    for id, numbers in HEARD + READ:
        find(id).shows(numbers)


def test_without_an_engraver_the_notes_stand_there_in_words(monkeypatch):
    """The page says so, and the question can still be answered from it."""

    def missing(*args, **names):
        raise ImportError("no engraver")

    monkeypatch.setattr(sys.modules["rhythmlab.notation.score"], "engrave", missing)
    shown = find("read-pair").shows((5, 4))
    html = unescape(shown._repr_html_())
    assert html.startswith(
        "<p>The engraver is not at hand; here are the notes in words. Line 1, in 20/16: bar 1:"
    )
    assert shown.text in html
    assert not NAMES.search(html)


def test_notes_are_said_as_they_are_written():
    """Dots, ties and rests; and a group that the page itself numbers."""
    said = notes_text(score(Polyrhythm(5, 4), counts=False, layout="bar").musicxml)
    assert "of 5 in the time of 4" in said
    said = find("read-length").shows((4, 7)).text
    assert said.startswith(
        "Line 1, in 7/4: bar 1: quarter tied to the next, dotted eighth, sixteenth tied to the next, dotted "
    )
    assert " sixteenth rest," in find("read-pair").shows((5, 4)).text


def test_a_small_player_is_small():
    """One channel at half the rate: under a megabyte in the page, and as long as it says."""
    for id, seconds in (("hear-pair", 9), ("hear-odd", 12)):
        numbers = find(id).versions[0]
        sound, rate = samples(id, numbers)
        assert rate == 24_000
        assert seconds <= len(sound) / rate < seconds + 1
        assert len(find(id).shows(numbers)._repr_html_()) < 1_000_000
    assert tempo_for(12, 3).cycle_seconds(Polyrhythm(4, 3)) == 3

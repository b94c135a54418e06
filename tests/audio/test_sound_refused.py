"""What cannot be made into sound is refused, in words that help."""

from fractions import Fraction

import pytest

import rhythmlab as rl
from rhythmlab.audio import sound as module
from rhythmlab.audio.sound import Mix, Sound, sound
from tests.refusals import TOO_LONG, keywords, refusal, works

SEVEN_FOUR = rl.Polyrhythm(7, 4)
TEMPO = rl.Tempo(72, pulse=1)


@pytest.mark.parametrize(
    ("change", "given_", "wrong"),
    [
        ({"what": 7}, "what=7", "is no rhythm: "),
        ({"tempo": "72"}, "tempo='72'", "is neither a Tempo nor beats a minute of home"),
        ({"mix": 0.5}, "mix=0.5", "not a Mix"),
        ({"cycles": 0}, "cycles=0", "at least 1"),
        ({"cycles": 1.5}, "cycles=1.5", "whole number"),
        ({"count_in": -1}, "count_in=-1", "at least 0"),
        ({"rate": 22_050}, "rate=22050", "44100 or 48000"),
        ({"start": 5, "stop": 5}, "start=5, stop=5", "no tick to play"),
        ({"start": 5, "stop": 29}, "stop=29", "not a window"),
        ({"what": SEVEN_FOUR.cycle(), "home": 0}, "home=0", "a Cycle has its own beats"),
        ({"cycles": 10**6}, "cycles=1000000", "longer than a day"),
        ({"cycles": 10**5000}, f"cycles={TOO_LONG}", "longer than a day"),
        ({"count_in": 65}, "count_in=65", "more than 64"),
        ({"what": rl.Polyrhythm(1000, 1), "cycles": 80_000}, "cycles=80000", "50,000,000 strokes"),
        ({"what": rl.Polyrhythm(20_000, 1)}, "tempo=Tempo(72, pulse=1)", "more than 10,000 strokes a second"),
        ({"tempo": rl.Tempo(10**12, pulse=1)}, "home, the 4,", "more than 1,000 beats a minute"),
        ({"tempo": rl.Tempo(Fraction(1, 2), pulse=0)}, "home, the 4,", "less than 1 beat a minute"),
    ],
)
def test_bad_input_is_refused(change, given_, wrong):
    """The message gives what was given, what is wrong, and a call that works."""
    example = refusal(lambda: sound(**{"what": SEVEN_FOUR, "tempo": TEMPO, **change}), given_, wrong)
    if "sound(" in example:
        assert isinstance(works(example, sound=sound), Sound)


def test_a_home_or_a_tempo_that_is_not_there_is_refused():
    """The errors of the core come through."""
    refusal(lambda: sound(SEVEN_FOUR, TEMPO, home=2), "home=2", "there are 2 pulses", IndexError)
    refusal(lambda: sound(SEVEN_FOUR, rl.Tempo(60, pulse=5)), "pulse=5", "there are 2", IndexError)


def test_too_many_strokes_are_refused_with_a_window_that_works():
    """A whole cycle of thousands of millions of strokes, or of grid ticks, names a slice of it instead."""
    p = rl.Polyrhythm(1_000_000_007, 1_000_000_006)
    tempo = rl.Tempo(1_000, pulse=1)
    example = refusal(lambda: sound(p, tempo), "2,000,000,013 strokes", "more than the 1,000,000")
    assert isinstance(sound(p, tempo, **keywords(example)), Sound)
    refusal(lambda: sound(p, tempo, stop=p.ticks // 100, mix=Mix(ticks=1)), "strokes", "held at once")


@pytest.mark.parametrize(
    ("row", "error", "wrong"),
    [
        ("5", ValueError, "is no row"),
        (9, IndexError, "there are 3 rows"),
        (-1, ValueError, "at least 0"),
        (1.0, ValueError, "whole number"),
    ],
)
def test_a_row_that_is_not_there_is_refused(row, error, wrong):
    """By name the rows are listed, by index they are counted."""
    refusal(lambda: sound(SEVEN_FOUR, TEMPO).onsets(row), repr(row), wrong, error)


def test_a_name_that_two_rows_have_is_refused():
    """Two pulses of seven are told apart by index only."""
    s = sound(rl.Polyrhythm(7, 7), rl.Tempo(60, pulse=1))
    assert len(works(refusal(lambda: s.onsets("7"), "'7'", "more than one row"))) == 28


def test_what_is_too_long_to_hold_or_to_write_is_refused(tmp_path, monkeypatch):
    """Two hours are not held at once but come in blocks; a WAV file ends at 4 GiB, and none is begun."""
    s = sound(SEVEN_FOUR, TEMPO, cycles=2160)
    refusal(s.samples, "7 200 seconds".replace(" ", "\N{NO-BREAK SPACE}", 1), "too long to hold at once")
    assert len(next(s.blocks(100))) == 100
    day = sound(SEVEN_FOUR, TEMPO, cycles=8000)
    example = refusal(
        lambda: day.write(tmp_path / "day.wav"), "seconds of sound", "more than a WAV file can hold"
    )
    assert isinstance(works(example, sound=sound), Sound)
    assert not list(tmp_path.iterdir())
    monkeypatch.setattr(module, "MOST_BYTES", 8 * s.frames)
    refusal(lambda: s.blocks(0), "size=0", "at least 1")

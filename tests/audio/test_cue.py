"""A cue track: the click on one side, the guide on the other, a count-in before."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.audio.cue import count_in_ticks, cue
from rhythmlab.audio.mix import Mix
from rhythmlab.audio.sound import sound
from rhythmlab.audio.struck import FIRST_BEAT, PLAIN, struck, variants
from rhythmlab.audio.voices import limit
from tests.refusals import refusal, works
from tests.strategies import TRIES, cycles

TEMPO = rl.Tempo(72, pulse=1)
P = rl.Polyrhythm(7, 4)
RATE = 48_000


def laid(out: np.ndarray, name: str, level: float, places: list[int], strengths: list[float]) -> None:
    """Add the strokes of a row that comes round, at their samples, by the plainest means."""
    each = len(strengths)
    for i, at in enumerate(places):
        shape = struck(name, RATE, strengths[i % each], int(variants(each)[i % each])).astype(float)
        out[at : at + len(shape)] += level * shape


def test_each_side_has_only_its_own():
    """The left is the count-in and the clicks and nothing else, the right the lanes and nothing else."""
    track = cue(P, TEMPO, cycles=2)
    samples, lead = track.samples(), RATE * 10 // 3
    left, right = np.zeros(len(samples)), np.zeros(len(samples))
    beats = [FIRST_BEAT, PLAIN, PLAIN, PLAIN]
    laid(left, "click", 0.5, [lead * k // 4 for k in range(4)], beats)
    laid(left, "click", 0.5, [lead + lead * k // 4 for k in range(8)], beats)
    laid(right, "high wood block", 0.6, [lead + round(lead * k / 7) for k in range(14)], [PLAIN] * 7)
    laid(right, "low wood block", 0.6, [lead + lead * k // 4 for k in range(8)], [PLAIN] * 4)
    assert np.abs(samples[:, 0] - limit(left)).max() < 1e-5
    assert np.abs(samples[:, 1] - limit(right)).max() < 1e-5
    assert not samples[: lead - 1, 1].any()


def test_mono_is_the_same_in_both_ears():
    """All rows stand in the middle, and none of them is lost."""
    both, mono = cue(P, TEMPO, cycles=2), cue(P, TEMPO, cycles=2, mono=True)
    samples = mono.samples()
    assert np.array_equal(samples[:, 0], samples[:, 1])
    assert {row.side for row in mono.rows} == {0.0}
    for mine, other in zip(mono.rows, both.rows, strict=True):
        assert np.array_equal(mine.ticks, other.ticks)
    for row in range(len(mono.rows)):
        at = mono.onsets(row)
        assert all(np.abs(samples[place : place + 480]).max() > 0.05 for place in at)


def test_strokes_come_where_the_sound_player_puts_them():
    """The lanes of a cue are those of the sound with as long a count-in, to the sample."""
    for home in (0, 1):
        mine = cue(P, TEMPO, home=home, cycles=3, count_in=4)
        plain = sound(P, TEMPO, home=home, cycles=3, count_in=4)
        for lane in ("7", "4", "count-in"):
            assert np.array_equal(mine.onsets(lane), plain.onsets(lane))
        assert np.array_equal(mine.onsets("click"), plain.onsets("home"))
        assert mine.seconds == plain.seconds


def test_a_bar_is_counted_in_as_it_is_grouped():
    """2+2+3 is counted in with its own three beats, and each bar's first click is louder."""
    track = cue(rl.playing.accents("2+2+3/8", every=5), rl.Tempo(210, ticks=1), cycles=1)
    rows = {row.name: row for row in track.rows}
    assert rows["count-in"].ticks.tolist() == [-7, -5, -3]
    assert track.lead == 7
    assert rows["click"].weights.tolist() == [FIRST_BEAT, PLAIN, PLAIN] * 5
    assert track.text.startswith("5 bars of beats and stream at 210 bpm, click left and guide right, 1 cycle")


def test_without_a_count_in_it_begins_at_once():
    """No row of that name, and the first stroke on the first sample."""
    for none in (False, 0):
        track = cue(P, TEMPO, count_in=none)
        assert [row.name for row in track.rows] == ["7", "4", "click"]
        assert (track.lead, track.onsets("click")[0]) == (0, 0)


def test_the_mix_says_levels_and_voices():
    """Lanes, click and count-in take theirs; the sides stay what a cue is."""
    mix = Mix(levels=[0.2, 0.3], sides=[-1, -1], sounds=["bell", None], home=0.9, count_in=0.1, ticks=0.5)
    rows = cue(P, TEMPO, mix=mix).rows
    assert [(row.name, row.sound, row.level, row.side) for row in rows] == [
        ("7", "bell", 0.2, 1),
        ("4", "low wood block", 0.3, 1),
        ("click", "click", 0.9, -1),
        ("count-in", "click", 0.1, -1),
    ]


def test_a_cue_is_written_as_wav(tmp_path):
    """By the same means as any sound."""
    assert cue(P, TEMPO, cycles=1).write(tmp_path / "cue.wav").stat().st_size > 100_000


@pytest.mark.parametrize(
    ("cycle", "number"),
    [
        (rl.Polyrhythm(7, 4).cycle(), 4),
        (rl.Polyrhythm(3, 2).cycle(), 2),
        (rl.Polyrhythm(3, 8).cycle(), 8),
        (rl.Polyrhythm(3, 1).cycle(), 4),
        (rl.Polyrhythm(16, 15).cycle(), 4),
        (rl.metre("12/8").cycle(3), 4),
        (rl.metre("5/4").cycle(2), 5),
        (rl.Cycle(6, [], beats=[]), 4),
    ],
)
def test_a_count_in_is_a_bar_or_four(cycle, number):
    """A bar or a cycle of two to eight beats is counted whole; anything else with four."""
    assert len(count_in_ticks(cycle, 1, True, "")) == number


@TRIES
@given(cycles(), st.integers(0, 64), st.integers(1, 5))
def test_a_count_in_is_the_beats_that_came_before(cycle, number, beat):
    """Repeated backwards the beats of the cycle give it, however many; without beats it is even."""
    ticks = count_in_ticks(cycle, beat, number, "").tolist()
    if len(cycle.beats):
        before = [t - turn * cycle.ticks for turn in range(number, 0, -1) for t in cycle.beats.tolist()]
        assert ticks == (before[-number:] if number else [])
    else:
        assert ticks == [-beat * k for k in range(number, 0, -1)]


@pytest.mark.parametrize(
    ("given_to", "named", "wrong", "error"),
    [
        ({"mono": 1}, "mono=1", "neither True nor False", ValueError),
        ({"count_in": 65}, "count_in=65", "more than 64", ValueError),
        ({"count_in": -1}, "count_in=-1", "not a whole number", ValueError),
        ({"count_in": "yes"}, "count_in='yes'", "not a whole number", ValueError),
        ({"cycles": 0}, "cycles=0", "not a whole number", ValueError),
        ({"mix": "loud"}, "mix='loud'", "not a Mix", ValueError),
        ({"home": 2}, "home=2", "out of range", IndexError),
        ({"cycles": 10**6}, "cycles=1000000", "longer than a day", ValueError),
    ],
)
def test_what_does_not_fit_is_refused(given_to, named, wrong, error):
    """The message shows a call that works."""
    example = refusal(lambda: cue(P, TEMPO, **given_to), named, wrong, error)
    if example.startswith(("cue", "sound")):
        assert works(example, cue=cue, sound=sound).rows


def test_what_is_no_rhythm_is_refused():
    """Nor anything that is no tempo, nor a home for a cycle."""
    refusal(lambda: cue("7:4", TEMPO), "what='7:4'", "is no rhythm: ")
    refusal(lambda: cue(P, "72"), "tempo='72'", "is neither a Tempo nor beats a minute of home")
    refusal(lambda: cue(P.cycle(), TEMPO, home=0), "home=0", "own beats")

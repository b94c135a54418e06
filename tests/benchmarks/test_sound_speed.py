"""Speed and memory of sound; run it with ``python -m pytest tests/benchmarks -s``.

Ten minutes of 64 against 63 at 60 bpm of the 63, in stereo at 48 kHz, against filling an array of that
shape, and against a general-purpose library that sonifies the same onsets and writes them as WAV.
"""

import tracemalloc
from itertools import count

import numpy as np
import pytest

import rhythmlab as rl
from rhythmlab.audio.sound import Sound, sound
from tests.benchmarks.interleaved import ratio


@pytest.fixture(scope="module")
def minutes() -> Sound:
    """Ten minutes: a minute of the cycle, ten times; with home, two lanes and no grid ticks."""
    p = rl.Polyrhythm(64, 63)
    s = sound(p, rl.Tempo(60, pulse=1), cycles=10, start=0, stop=60 * p.step(1))
    assert s.seconds == 600
    assert s.frames >= 600 * 48_000
    return s


def peak_bytes(job) -> int:
    """Return the most memory that a job held at once."""
    tracemalloc.start()
    try:
        job()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_samples_cost_little_more_than_filling_the_array(minutes):
    """All samples are there in at most twice the time of filling an array of their shape."""
    shape = (minutes.frames, 2)
    measured = ratio(minutes.samples, lambda: np.full(shape, 0, np.float32), rounds=11)
    print(f"\nsamples of ten minutes against filling their array: {measured:.2f} (limit 2)")
    assert measured <= 2


def test_samples_need_little_more_memory_than_the_array(minutes):
    """The peak is at most 1.05 times the bytes of the samples."""
    minutes.samples()
    measured = peak_bytes(minutes.samples) / (8 * minutes.frames)
    print(f"\npeak memory of samples over their array: {measured:.4f} (limit 1.05)")
    assert measured <= 1.05


@pytest.mark.parametrize("bits", [16, 24])
def test_writing_holds_only_a_block(minutes, tmp_path, bits):
    """However long the sound is, less than 16 MB are held while it is written."""
    measured = peak_bytes(lambda: minutes.write(tmp_path / f"{bits}.wav", bits=bits)) / 1e6
    print(f"\npeak memory of writing ten minutes in {bits} bits: {measured:.1f} MB (limit 16)")
    assert measured < 16


def test_writing_is_faster_than_clicks_of_a_general_library(minutes, tmp_path):
    """A mix of all rows in stereo is written at least 4 times faster than mono clicks of the same onsets."""
    librosa, soundfile = pytest.importorskip("librosa"), pytest.importorskip("soundfile")
    onsets = np.concatenate([minutes.onsets(i) for i in range(len(minutes.rows))])
    times, number = np.sort(onsets) / 48_000, count()

    def ours() -> None:
        minutes.write(path := tmp_path / f"{next(number)}.wav")
        path.unlink()

    def peer() -> None:
        path = tmp_path / f"{next(number)}.wav"
        clicks = librosa.clicks(times=times, sr=48_000, length=minutes.frames)
        soundfile.write(path, np.column_stack([clicks, clicks]), 48_000, subtype="PCM_16")
        path.unlink()

    measured = 1 / ratio(ours, peer, rounds=5)
    print(f"\nwriting ten minutes, times faster than clicks and soundfile: {measured:.1f} (limit 4)")
    assert measured >= 4

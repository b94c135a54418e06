"""WAV files appear whole or not at all, and nothing that is there is ever replaced."""

import os

import numpy as np
import pytest
import soundfile

import rhythmlab as rl
from rhythmlab.audio.sound import save_wav, sound
from tests.refusals import refusal, works

SHORT = sound(rl.Polyrhythm(3, 2), rl.Tempo(240, pulse=1), cycles=1)


def test_a_file_that_is_there_stays(tmp_path):
    """It is refused with a free name, which then works."""
    path = tmp_path / "take.wav"
    path.write_bytes(b"mine")
    (tmp_path / "take-2.wav").write_bytes(b"mine too")
    example = refusal(lambda: SHORT.write(path), "take.wav", "is not replaced", FileExistsError)
    assert (path.read_bytes(), len(list(tmp_path.iterdir()))) == (b"mine", 2)
    assert works(example) == tmp_path / "take-3.wav"
    assert soundfile.info(tmp_path / "take-3.wav").frames > 0


@pytest.mark.parametrize("links", [True, False])
def test_a_file_that_comes_meanwhile_stays(tmp_path, monkeypatch, links):
    """Another that takes the name while the sound is written is kept, on disks with and without links."""
    path = tmp_path / "take.wav"

    def no_link(*_: object) -> None:
        raise OSError("no links here")

    if not links:
        monkeypatch.setattr(os, "link", no_link)

    def blocks():
        yield np.zeros((10, 2), np.float32)
        path.write_bytes(b"mine")

    refusal(lambda: save_wav(path, blocks(), 10, 48_000, 16), "take.wav", "is not replaced", FileExistsError)
    assert [file.name for file in tmp_path.iterdir()] == ["take.wav"]
    assert path.read_bytes() == b"mine"


def test_a_disk_without_links_gets_the_file(tmp_path, monkeypatch):
    """There it is renamed into place, and no part is left."""

    def no_link(*_: object) -> None:
        raise OSError("no links here")

    monkeypatch.setattr(os, "link", no_link)
    SHORT.write(tmp_path / "take.wav")
    assert [file.name for file in tmp_path.iterdir()] == ["take.wav"]
    assert soundfile.info(tmp_path / "take.wav").frames == SHORT.frames


@pytest.mark.parametrize("error", [KeyboardInterrupt, OSError])
def test_a_write_that_fails_leaves_nothing(tmp_path, error):
    """Interrupted, or out of room, no file and no part of one is there."""

    def blocks():
        yield np.zeros((10, 2), np.float32)
        raise error("stop")

    with pytest.raises(error):
        save_wav(tmp_path / "take.wav", blocks(), 100, 48_000, 16)
    assert not list(tmp_path.iterdir())


def test_a_folder_that_is_not_there_is_refused(tmp_path):
    """The path is given, and nothing is made."""
    path = tmp_path / "takes" / "take.wav"
    refusal(lambda: SHORT.write(path), "take.wav", "a folder that is not there", FileNotFoundError)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("name", ["take.mp3", "take", "take.wave", ".wav"])
def test_a_name_that_is_no_wav_is_refused(tmp_path, monkeypatch, name):
    """The message shows a name that works."""
    monkeypatch.chdir(tmp_path)
    example = refusal(lambda: SHORT.write(name), f"path={name!r}", "does not end in .wav")
    assert works(example).exists()


@pytest.mark.parametrize("bits", [8, 32, "16", None, True, 16.5])
def test_other_bits_are_refused(tmp_path, monkeypatch, bits):
    """16 and 24 there are."""
    monkeypatch.chdir(tmp_path)
    example = refusal(lambda: SHORT.write("take.wav", bits=bits), f"bits={bits!r}", "neither 16 nor 24")
    assert works(example).exists()


@pytest.mark.parametrize("bits", [16, 24])
def test_the_loudest_samples_fit(tmp_path, bits):
    """The limiter's 0.95 on both sides is written and read without wrapping round."""
    block = np.array([[0.95, -0.95], [-0.95, 0.95], [0.0, 0.7]], np.float32)
    path = save_wav(tmp_path / "loud.wav", [block.copy()], 3, 44_100, bits)
    assert np.abs(soundfile.read(path)[0] - block).max() <= 2.0**-bits

"""Every panel test runs in a folder of its own and remembers no guess and no panel from another."""

from weakref import WeakSet

import pytest

from rhythmlab.panels import guess, handed


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    """Go to a fresh folder, with a memory without guesses."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(guess, "_memory", {})
    monkeypatch.setattr(guess, "_unwritten", set())
    monkeypatch.setattr(handed, "_live", WeakSet())
    return tmp_path

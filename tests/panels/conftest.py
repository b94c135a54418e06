"""Every panel test runs in a folder of its own and remembers no guess from another."""

import pytest

from rhythmlab.panels import kept


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    """Go to a fresh folder, with a memory without guesses."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(kept, "_memory", {})
    monkeypatch.setattr(kept, "_unwritten", set())
    return tmp_path

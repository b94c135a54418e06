"""Where the data and the notebooks are found, however the package was installed."""

import csv

import pytest

from rhythmlab import resources


@pytest.fixture
def package(tmp_path, monkeypatch):
    """Make an empty package in a folder of its own, as an installation would."""
    package = tmp_path / "site" / "rhythmlab"
    package.mkdir(parents=True)
    monkeypatch.setattr(resources, "_PACKAGE", package)
    return package


@pytest.mark.parametrize(("name", "file"), [("data", "limits.csv"), ("notebooks", "00-*.ipynb")])
def test_this_installation_is_complete(name, file):
    """Both folders are found, with what belongs in them."""
    assert list(resources.folder(name).glob(file))


@pytest.mark.parametrize("name", ["data", "notebooks"])
def test_wheel_carries_them_inside_the_package(package, name):
    """What lies in the package is taken, even if a folder of that name lies beside it."""
    (package / name).mkdir()
    (package.parent / name).mkdir()
    (package.parent / "pyproject.toml").write_text("")
    assert resources.folder(name) == package / name


@pytest.mark.parametrize("name", ["data", "notebooks"])
def test_checkout_has_them_beside_the_package(package, name):
    """An editable install finds them beside ``pyproject.toml``."""
    (package.parent / name).mkdir()
    (package.parent / "pyproject.toml").write_text("")
    assert resources.folder(name) == package.parent / name


def test_folder_of_somebody_else_is_not_taken(package):
    """A ``data`` folder beside the package is somebody else's when there is no ``pyproject.toml``."""
    (package.parent / "data").mkdir()
    with pytest.raises(FileNotFoundError):
        resources.folder("data")


@pytest.mark.parametrize("name", ["data", "notebooks"])
def test_incomplete_installation_is_said_in_one_line(package, name):
    """The message names what is missing, where it was looked for, and what to do."""
    with pytest.raises(FileNotFoundError) as refusal:
        resources.folder(name)
    text = str(refusal.value)
    assert text.startswith(f"this installation of rhythmlab has no {name} folder: ")
    assert str(package / name) in text
    assert str(package.parent / name) in text
    assert "install it again" in text
    assert "\n" not in text


def test_table_gives_every_row_by_column_name():
    """The rows are those of the file, and are read once."""
    with (resources.folder("data") / "sources.csv").open(newline="", encoding="utf-8") as file:
        rows = tuple(csv.DictReader(file))
    assert resources.table("sources.csv") == rows
    assert resources.table("sources.csv") is resources.table("sources.csv")


def test_table_that_is_not_there_is_named():
    """A misspelt file name is in the error."""
    with pytest.raises(FileNotFoundError, match=r"no-such\.csv"):
        resources.table("no-such.csv")

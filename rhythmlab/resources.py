"""Where the data and the notebooks are, installed from a wheel or from a checkout."""

import csv
from functools import cache
from pathlib import Path

_PACKAGE = Path(__file__).parent


def folder(name: str) -> Path:
    """Return the folder ``data`` or ``notebooks``, wherever this package is installed.

    A wheel carries them inside the package; an editable install finds them in the checkout, beside
    ``pyproject.toml``.

    Parameters
    ----------
    name : str
        ``"data"`` or ``"notebooks"``.

    Raises
    ------
    FileNotFoundError
        If the installation is incomplete.

    Examples
    --------
    >>> (folder("data") / "limits.csv").exists()
    True
    """
    inside = _PACKAGE / name
    if inside.is_dir():
        return inside
    beside = _PACKAGE.parent / name
    if beside.is_dir() and (_PACKAGE.parent / "pyproject.toml").is_file():
        return beside
    raise FileNotFoundError(
        f"this installation of rhythmlab has no {name} folder: neither {inside} nor {beside} is there; "
        "install it again, as its README says"
    )


@cache
def table(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of a data file.

    Parameters
    ----------
    name : str
        File name in the data folder.

    Returns
    -------
    tuple of dict
        One a row, by column name; do not change them.

    Examples
    --------
    >>> table("limits.csv")[0]["key"]
    'flam'
    """
    with (folder("data") / name).open(newline="", encoding="utf-8") as file:
        return tuple(csv.DictReader(file))

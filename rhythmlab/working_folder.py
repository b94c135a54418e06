"""The reader's working folder: pages are copied into it, and what the reader changed stays the reader's."""

import errno
import hashlib
import json
import os
import re
import shlex
import sys
from collections.abc import Iterable
from pathlib import Path

from rhythmlab import files, resources
from rhythmlab.files import is_part, make_folder

#: The small file that marks a working folder and remembers which version of each page was brought.
MARK = ".rhythmlab.json"

_ABOUT = "kept by rhythmlab: marks a working folder, and remembers which version of each page was brought"
_PROGRAM = "python -m rhythmlab"
_NOT_PAGES = {".ipynb_checkpoints", "__pycache__"}


def program() -> str:
    """Return how this program was called, so that what it prints can be typed where it was.

    Where something else runs, as in a notebook or a test, ``python -m rhythmlab``.

    Examples
    --------
    >>> program()
    'python -m rhythmlab'
    """
    called = Path(sys.argv[0] or ".")
    if called.name == "rhythmlab":
        words = [sys.argv[0]]
    elif called.name == "__main__.py" and called.parent.name == "rhythmlab" and sys.orig_argv[0]:
        words = [sys.orig_argv[0], "-m", "rhythmlab"]
    else:
        return _PROGRAM
    if os.name == "nt":  # a terminal there would need an ampersand before a quoted name
        return " ".join(words) if re.fullmatch(r"[\w.:\\/-]+", words[0]) else _PROGRAM
    return shlex.join(words)


def instead() -> str:
    """Return the end of every message about a folder."""
    return f"Give another folder, for example: {program()} ~/rhythmlab-pages"


class FolderError(Exception):
    """The pages cannot be brought; the text is one line for the reader."""


class Doubtful(FolderError):
    """The folder is hardly meant for pages; the text asks whether it is."""


def marked() -> Path | None:
    """Return the reader's working folder, the one that the launcher marked, at or above the current one."""
    here = Path.cwd()
    return next((folder for folder in (here, *here.parents[:2]) if (folder / MARK).is_file()), None)


def place_for_files() -> Path:
    """Return where the reader's own files are: the working folder, or the current one where there is none."""
    return marked() or Path.cwd()


def first_page(source: Path | None = None) -> str:
    """Return the name of the page to open first.

    Parameters
    ----------
    source : Path, optional
        Where the pages are; the notebooks of this installation by default.

    Raises
    ------
    FolderError
        If there are no pages.
    """
    source = source or resources.folder("notebooks")
    for name in _names(source):
        if name.endswith(".ipynb"):
            return name
    raise FolderError(
        f"this installation of rhythmlab has no pages in {source}; install it again, as its README says"
    )


def fingerprint(name: str, contents: bytes) -> str:
    """Return a hash that changes when the reader's work changes.

    Of a notebook, the types and sources of its cells count; outputs, execution counts, ids, metadata
    and cells with nothing in them do not. Of any other file, and of a notebook that cannot be read,
    every byte counts.

    Parameters
    ----------
    name : str
        File name; a notebook's ends in ``.ipynb``.
    contents : bytes
        What is in the file.

    Examples
    --------
    >>> page = '{"cells": [{"cell_type": "code", "source": "1 + 1", "outputs": [%s]}]}'
    >>> fingerprint("a.ipynb", (page % "").encode()) == fingerprint("b.ipynb", (page % "2").encode())
    True
    """
    if name.endswith(".ipynb"):
        try:
            cells = [(cell["cell_type"], "".join(cell["source"])) for cell in json.loads(contents)["cells"]]
        except (ValueError, KeyError, TypeError, RecursionError):
            pass
        else:
            contents = json.dumps([cell for cell in cells if cell[1].strip()]).encode()
    return hashlib.sha256(contents).hexdigest()


def prepare(folder: str | os.PathLike[str], source: Path | None = None, *, sure: bool = False) -> list[str]:
    """Bring the pages to the reader's working folder, and leave alone what the reader changed.

    A page that is missing is copied. One that the reader has not changed is replaced by a newer one.
    One that the reader changed stays; a newer one is put beside it, once. Each file is either the old
    one or the new one, whole, whenever this is interrupted.

    Parameters
    ----------
    folder : path
        The working folder; made if it is not there.
    source : Path, optional
        Where the pages come from; the notebooks of this installation by default.
    sure : bool
        Whether they may go where they are hardly meant to: to the root of the disk, to the reader's home, or
        into a folder that holds other work.

    Returns
    -------
    list of str
        What was done, in sentences.

    Raises
    ------
    Doubtful
        If that is not sure; nothing was written.
    FolderError
        If the folder cannot be used.
    FileNotFoundError
        If the installation is incomplete.
    """
    source = source or resources.folder("notebooks")
    first_page(source)
    pages = {name: (source / name).read_bytes() for name in _names(source)}
    folder = Path(os.path.abspath(folder))
    try:
        _leads_there(folder)
        if source.resolve() in (folder.resolve(), *folder.resolve().parents):
            raise FolderError(f"{folder} is where rhythmlab keeps its own pages. {instead()}")
        doubt = "" if sure else _doubt(folder, pages)
        if doubt:
            raise Doubtful(f"{doubt}: put {len(pages)} files of rhythmlab into it all the same?")
        _not_in_a_file(folder)
        with make_folder(folder):
            return _bring(pages, folder)
    except FileExistsError as error:
        name = Path(error.filename or folder).name
        raise FolderError(
            f"cannot write {name} to the folder {folder}: {error.strerror}, and is not replaced. {instead()}"
        ) from error
    except OSError as error:
        where = Path(error.filename).parent if error.filename else folder
        where = where if folder in where.parents else folder
        why = files.reason(error)
        if isinstance(error, FileNotFoundError):
            why = "a folder cannot be made there"
        raise FolderError(f"cannot write to the folder {where}: {why}. {instead()}") from error


def _leads_there(folder: Path) -> None:
    """Refuse a link, on the way to a folder, that leads in a circle or nowhere."""
    for place in (folder, *folder.parents):
        if place.is_symlink():
            try:
                place.stat()
            except OSError as error:
                where = "to a folder that is not there" if isinstance(error, FileNotFoundError) else ""
                where = "in a circle" if error.errno == errno.ELOOP else where
                where = where or f"to a folder that cannot be looked at ({error.strerror})"
                raise FolderError(f"{place} is a link that leads {where}. {instead()}") from None


def _doubt(folder: Path, pages: Iterable[str]) -> str:
    """Say why a folder is hardly meant for pages; nothing where it may well be."""
    real = folder.resolve()
    if real == Path(real.anchor):
        return f"{folder} is the root of the disk"
    if real == Path.home().resolve():
        return f"{folder} is your home folder"
    if os.path.lexists(folder / MARK) or not folder.is_dir():
        return ""
    ours = {Path(name).parts[0] for name in pages}
    others = sorted(name for name in os.listdir(folder) if not name.startswith(".") and name not in ours)
    some = ", ".join(ascii(name)[1:-1] if not name.isprintable() else name for name in others[:3])
    more = f" and {len(others) - 3} more" if len(others) > 3 else ""
    return f"{folder} holds other work ({some}{more})" if others else ""


def _names(source: Path) -> list[str]:
    names = (path.relative_to(source) for path in source.rglob("*") if path.is_file())
    return sorted(
        name.as_posix()
        for name in names
        if not _NOT_PAGES.intersection(name.parts) and not is_part(name.name)
    )


def _bring(pages: dict[str, bytes], folder: Path) -> list[str]:
    brought, said = _remembered(folder)
    copied, renewed, kept, beside = [], [], [], []
    for name, contents in pages.items():
        newest, theirs = fingerprint(name, contents), _fingerprint_of(folder / name)
        if theirs is None:
            write(folder / name, contents, replace=False)
            copied.append(name)
        elif theirs == newest:
            pass
        elif theirs == brought.get(name) and not (folder / name).is_symlink():  # a link was put by the reader
            write(folder / name, contents)
            renewed.append(name)
        elif newest == brought.get(name):
            kept.append(name)
        else:
            put = _put_beside(folder / name, contents).relative_to(folder).as_posix()
            beside.append(
                f"You changed {name}, so it stays as it is. "
                f"The one that comes with rhythmlab is beside it: {put}."
            )
        brought[name] = newest
    # Written every time: a folder that cannot be written to is found out before the reader works in it.
    mark = {"about": _ABOUT, "pages": dict(sorted(brought.items()))}
    write(folder / MARK, (json.dumps(mark, indent=1) + "\n").encode())

    said.insert(0, f"Your pages are in {folder}.")
    if copied:
        said.append(f"Copied into it: {', '.join(copied) if len(copied) <= 3 else f'{len(copied)} files'}.")
    if renewed:
        said.append(f"Replaced by newer ones, since you had not changed them: {', '.join(renewed)}.")
    if kept:
        said.append(f"Kept as you changed them: {', '.join(kept)}.")
    return said + beside


def _remembered(folder: Path) -> tuple[dict[str, str], list[str]]:
    """Return the fingerprints of the pages brought before, and what there is to say about them."""
    mark = folder / MARK
    if mark.is_symlink():
        raise files.taken(mark)
    try:
        pages = json.loads(mark.read_bytes())["pages"]
        return {str(name): str(value) for name, value in pages.items()}, []
    except FileNotFoundError:
        return {}, []
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}, [
            f"The file {MARK} in it could not be read, so it is kept as {files.set_aside(mark).name}. "
            "Every page that differs from the one that comes with rhythmlab counts as changed by you."
        ]


def _fingerprint_of(path: Path) -> str | None:
    try:
        return fingerprint(path.name, path.read_bytes())
    except (FileNotFoundError, NotADirectoryError):
        return "leads nowhere" if path.is_symlink() else None
    except OSError:
        return "cannot be read"


def _put_beside(page: Path, contents: bytes) -> Path:
    """Put `contents` beside the reader's page, under the first name that is free or holds the same."""
    number = 0
    while True:
        number += 1
        beside = page.with_name(f"{page.stem}-new{'' if number == 1 else f'-{number}'}{page.suffix}")
        there = _fingerprint_of(beside)
        if there is None:
            write(beside, contents, replace=False)
        if there in (None, fingerprint(beside.name, contents)):
            return beside


def write(path: Path, contents: bytes, *, replace: bool = True) -> None:
    """Write a file whole or not at all, with the reader's usual permissions; never over a link.

    Raises
    ------
    OSError
        If it cannot be written; `rhythmlab.files.reason` says why.
    """
    _not_in_a_file(path.parent)
    with make_folder(path.parent):
        files.put(path, contents, replace=replace)


def _not_in_a_file(folder: Path) -> None:
    for place in (folder, *folder.parents):
        if place.exists() and not place.is_dir():
            raise FolderError(
                f"cannot write to the folder {folder}: {place} is a file, not a folder. {instead()}"
            )

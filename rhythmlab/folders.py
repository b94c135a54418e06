"""Files that come in numbers: a folder made for them, what goes wrong in it said once, nothing empty left."""

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from rhythmlab.file_names import fault, shortly
from rhythmlab.files import reason, said_of, taken
from rhythmlab.refusal import Refusal, on_disk


@contextmanager
def made(folder: Path, *, parents: bool = True) -> Iterator[Path]:
    """Make a folder where it is not there; if the block fails, take it away again where it is empty.

    Parameters
    ----------
    folder : Path
        The folder.
    parents : bool
        Whether those above it are made too.

    Raises
    ------
    OSError
        If it cannot be made.
    """
    new: list[Path] = []
    try:
        for place in reversed((folder, *folder.parents)):
            if place.is_dir() or (place != folder and not parents):
                continue
            new.append(place)
            try:
                place.mkdir()
            except FileExistsError:
                new.pop()
                if not place.is_dir():
                    raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(place)) from None
        yield folder
    except BaseException:
        for place in reversed(new):
            with suppress(OSError):
                place.rmdir()
        raise


@contextmanager
def folder_for(path: str | os.PathLike[str], call: str, *, parents: bool = True) -> Iterator[Path]:
    """Make a folder for files that come in numbers, as `made` does, and say what goes wrong in it.

    Parameters
    ----------
    path : str or path
        The folder.
    call : str
        A call that works.
    parents : bool
        Whether those above it are made too.

    Raises
    ------
    ValueError
        If it is no path or empty, or a folder that is to be made has no safe name (see `fault`).
    OSError
        If it cannot be made, or a file in it cannot be written, in one sentence; files that were whole
        before stay.
    """
    text = os.fspath(path) if isinstance(path, str | os.PathLike) else None
    if not isinstance(text, str) or not text.strip() or "\0" in text:
        raise Refusal(f"folder={shortly(path)} is not a folder", call, argument="folder")
    where = Path(path)
    for place in (where, *where.parents):
        if os.path.lexists(place):
            break
        if place.name != ".." and (wrong := fault(place.name)):
            raise Refusal(f"folder={said_of(where)} {wrong}", call, argument="folder")
    said = f"folder={said_of(where)}"
    try:
        with made(where, parents=parents):
            yield where
    except OSError as error:
        if error.errno is None:  # a sentence already
            raise
        place = Path(error.filename or where)
        inside = where in place.parents
        name = place.relative_to(where).as_posix() if inside else ""
        more = "give another folder"
        if isinstance(error, FileExistsError) and inside:
            raise on_disk(
                error,
                f"{said} holds {name} already, and it is not replaced; what was whole before stays; {more}",
                call,
            ) from error
        if not inside and isinstance(error, NotADirectoryError):
            what = "a link that leads to no folder" if place.is_symlink() else "a file, or in one"
            raise on_disk(error, f"{said} is {what}; {more}", call) from error
        if not inside and isinstance(error, FileNotFoundError):
            what = "cannot be made there" if parents else "is in a folder that is not there; make that first"
            raise on_disk(error, f"{said} {what}; {more}", call) from error
        what = f": {name} cannot be written" if inside else " cannot be made"
        stays = "; what was whole before stays" if inside else ""
        raise on_disk(error, f"{said}{what}: {reason(error)}{stays}; {more}", call) from error


def standing(path: Path, data: bytes) -> bool:
    """Return whether a file that holds just this is there already.

    Raises
    ------
    FileExistsError
        If something else is there.
    """
    if not os.path.lexists(path):
        return False
    if path.is_file() and path.stat().st_size == len(data) and path.read_bytes() == data:
        return True
    raise taken(path)

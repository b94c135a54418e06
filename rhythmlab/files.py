"""The one way out for files: safe names, whole or not at all, never over another file or through a link."""

import errno
import os
import re
import secrets
import tempfile
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from itertools import count
from pathlib import Path
from typing import BinaryIO

from rhythmlab.refusal import NotWritten, Refusal, on_disk

#: Longest name that `safe_name` makes, and longest that is written, in bytes of UTF-8.
SHORT_NAME, LONGEST_NAME = 100, 200
#: The ending of a file that is not whole yet.
PART = ".part"
#: Names that Windows keeps for devices, whatever their ending (its documentation "Naming Files, Paths, and
#: Namespaces").
_DEVICES = {"CON", "PRN", "AUX", "NUL", "CONIN", "CONOUT"} | {
    f"{port}{number}" for port in ("COM", "LPT") for number in "0123456789¹²³"
}
_FORBIDDEN = '<>:"/\\|?*'
#: What stopped the disk where a file is written, in plain words; what to do about it; and what stopped it
#: where somebody's files are looked at. Where there are no words, the system's own are told.
_WORDS: dict[int | None, tuple[str, str, str]] = {
    errno.EACCES: ("you are not allowed to {} there", "allow it", "you are not allowed to"),
    errno.EPERM: ("you are not allowed to {} there", "allow it", "you are not allowed to"),
    errno.EROFS: ("it can only be read", "allow writing to it", ""),
    errno.ENOSPC: ("the disk is full", "free some space", ""),
    getattr(errno, "EDQUOT", -1): ("your share of the disk is full", "free some space", ""),
    errno.EFBIG: ("the file may not grow any further", "rename it", ""),
    errno.ENAMETOOLONG: ("the name is too long", "take a shorter one", "its path is too long"),
    errno.ENOENT: ("its folder is not there", "make the folder", "it is gone"),
    errno.ESTALE: ("", "", "it is gone"),
    errno.ENOTDIR: ("part of its path is a file", "mend the path", "it is no folder"),
    errno.EISDIR: ("a folder has that name", "rename the folder", ""),
    errno.ELOOP: ("a link in its path leads nowhere", "mend the link", "its links go round in a circle"),
    errno.ESPIPE: ("it is not a plain file", "rename what is there", ""),
    errno.EAGAIN: ("another notebook is writing and does not finish", "wait a moment", ""),
    errno.EIO: ("", "", "the disk cannot read it"),
    errno.EMFILE: ("", "", "too many files are open"),
    errno.ENFILE: ("", "", "too many files are open"),
}
_NO_WORDS = ("", "", "")


def safe_name(text: str, ending: str) -> str:
    """Return a short file name that every system takes, for whatever text.

    Letters, marks and digits of all scripts stay; everything else becomes a hyphen, a dot or an underscore
    inside stays.

    Parameters
    ----------
    text : str
        What the file is called; a title, or a name that the reader typed.
    ending : str
        The ending, with its dot or without; it is not put twice.

    Returns
    -------
    str
        Never empty, no folder in it, and at most 100 bytes long; ``rhythm`` where nothing is left of the
        text, and before a name that is kept for a device.

    Raises
    ------
    ValueError
        If the text is none, or the ending is more than a few letters and digits.

    Examples
    --------
    >>> safe_name("7:4 at ♩ = 72", ".svg"), safe_name("../../CON", "pdf"), safe_name("拍子", ".mid")
    ('7-4-at-72.svg', 'rhythm-CON.pdf', '拍子.mid')
    """
    if not isinstance(text, str):
        raise Refusal(f"text={shortly(text)} is not text, such as '7 against 4'", argument="text")
    if not isinstance(ending, str) or not plain_ending(f".{ending.removeprefix('.')}"):
        raise Refusal(
            f"ending={shortly(ending)} is not an ending of a file, such as '.svg'", argument="ending"
        )
    ending = "." + ending.removeprefix(".").lower()
    text = unicodedata.normalize("NFC", text[:10_000])
    if text.lower().endswith(ending):
        text = text[: -len(ending)]
    kinds = ((letter, unicodedata.category(letter)) for letter in text)
    kept = "".join(
        letter if kind[0] in "LMN" or letter in "._" else "" if kind == "Cf" else "-"
        for letter, kind in kinds
    )
    kept = re.sub(r"-*\.[-.]*", ".", re.sub("--+", "-", kept))
    kept = _trimmed(kept)
    if not kept or _device(kept):
        kept = f"rhythm-{kept}".rstrip("-")
    room = SHORT_NAME - len(ending)
    kept = _trimmed(kept.encode()[:room].decode(errors="ignore"))
    return unicodedata.normalize("NFC", kept) + ending


def fault(name: str) -> str:
    """Return what is wrong with a file name, empty where nothing is.

    Examples
    --------
    >>> fault("my take 2.mid"), fault("nul.svg")
    ('', 'is kept for a device on some systems')
    """
    if name in ("", ".", ".."):
        return "names no file"
    if name.startswith((".", " ")) or name.endswith((".", " ")):
        return "begins or ends with a dot or a space"
    if any(letter in _FORBIDDEN for letter in name):
        return f"has one of {' '.join(_FORBIDDEN)} in it"
    if any(unicodedata.category(letter) in ("Cc", "Cf", "Cs", "Zl", "Zp") for letter in name):
        return "has a letter in it that cannot be seen"
    if _device(name):
        return "is kept for a device on some systems"
    if len(name.encode()) > LONGEST_NAME:
        return f"is longer than {LONGEST_NAME} bytes"
    return ""


def is_part(name: str) -> bool:
    """Whether a file of this name was left half-written by a process that was stopped.

    Examples
    --------
    >>> is_part(".seven-four.0f9a3c5e.part"), is_part("part.wav")
    (True, False)
    """
    return bool(re.fullmatch(r"\..*\.[0-9a-f]{8}\.part", name, flags=re.DOTALL))


def plain_ending(ending: str) -> bool:
    """Whether an ending is a dot with a few letters and digits."""
    return bool(re.fullmatch(r"\.[A-Za-z0-9]{1,8}", ending))


def _trimmed(name: str) -> str:
    name = name.strip("-._")
    while name and unicodedata.category(name[0])[0] == "M":  # a mark has nothing to stand on
        name = name[1:].lstrip("-._")
    return name


def _device(name: str) -> bool:
    return name.split(".")[0].rstrip(" $").upper() in _DEVICES


def reason(error: OSError, doing: str = "write") -> str:
    """Return in plain words why a file could not be written, or read.

    Examples
    --------
    >>> reason(OSError(errno.ENOSPC, "No space left on device")), reason(PermissionError(13, ""), "read")
    ('the disk is full', 'you are not allowed to read there')
    """
    known = _WORDS.get(error.errno, _NO_WORDS)[0]
    return known.format(doing) or error.strerror or str(error)


def remedy(error: OSError) -> str:
    """Return what to do about it, as a command; empty where nothing is known.

    Examples
    --------
    >>> remedy(OSError(errno.ENOSPC, "No space left on device"))
    'free some space'
    """
    return _WORDS.get(error.errno, _NO_WORDS)[1]


def reason_unseen(error: OSError) -> str:
    """Return in a few words why something in a folder cannot be looked at.

    Examples
    --------
    >>> reason_unseen(PermissionError(13, "Permission denied"))
    'you are not allowed to'
    """
    return _WORDS.get(error.errno, _NO_WORDS)[2] or error.strerror or "no reason is known"


def taken(path: Path) -> FileExistsError:
    """Return the error that says what is there already."""
    kind = ", as a link" if path.is_symlink() else ", as a folder" if path.is_dir() else ""
    return FileExistsError(errno.EEXIST, f"it is there already{kind}", str(path))


def replaceable(path: Path) -> bool:
    """Whether a plain file is there; anything else of that name is never replaced."""
    return path.is_file() and not path.is_symlink()


@contextmanager
def placed(path: Path, *, replace: bool = False) -> Iterator[BinaryIO]:
    """Open a file that appears under its name when it is whole, or not at all; nothing is left of it then.

    Parameters
    ----------
    path : Path
        Where to; its folder must be there.
    replace : bool
        Whether a plain file of that name may be replaced; a link or a folder never is.

    Raises
    ------
    FileExistsError
        If there is something of that name, also if it has come meanwhile; its ``strerror`` says what.
    OSError
        If the disk does not take it; `reason` says why.
    """
    _refuse_taken(path, replace)
    part = path.with_name(f".{path.name[:40]}.{secrets.token_hex(4)}{PART}")
    try:
        file = part.open("xb")
        try:
            yield file
            file.flush()
            os.fsync(file.fileno())
        except BaseException:
            with suppress(OSError):  # a full disk fails a second time here
                file.close()
            raise
        file.close()
        if replace and os.path.lexists(path):
            _refuse_taken(path, replace)
            os.replace(part, path)
        else:
            _give_name(part, path)
    except OSError as error:
        if error.errno is not None and error.filename in (None, str(part)):
            error.filename = str(path)  # a disk that is full does not say where
        raise
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def put(path: Path, data: bytes, *, replace: bool = False) -> Path:
    """Write all of a file as `placed` does."""
    with placed(path, replace=replace) as file:
        file.write(data)
    return path


def holds_already(path: Path, data: bytes) -> bool:
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


def set_aside(path: Path) -> Path:
    """Rename a damaged file to the first free name like ``hall-damaged.json``, and return it.

    Raises
    ------
    OSError
        If it is a link, or cannot be renamed.
    """
    if path.is_symlink():
        raise taken(path)
    for number in count(1):
        beside = path.with_name(f"{path.stem}-damaged{'' if number == 1 else f'-{number}'}{path.suffix}")
        with suppress(FileExistsError):
            _give_name(path, beside)
            path.unlink(missing_ok=True)
            return beside
    raise AssertionError  # numbers do not end


def _refuse_taken(path: Path, replace: bool) -> None:
    """Refuse a place that is taken, or whose folder is none."""
    if not path.parent.is_dir():
        there = _nearest_above(path.parent)
        number = errno.ENOENT if there.is_dir() else errno.ENOTDIR
        raise OSError(number, os.strerror(number), str(path))
    if os.path.lexists(path) and not (replace and replaceable(path)):
        raise taken(path)


def _nearest_above(folder: Path) -> Path:
    """Return the first of a folder and those above it that is there, whatever it is."""
    return next((place for place in (folder, *folder.parents) if os.path.lexists(place)), Path())


def _give_name(part: Path, path: Path) -> None:
    """Give a finished file its name, unless something has come to bear it meanwhile."""
    try:
        os.link(part, path)  # unlike a renaming, this never replaces a file
    except FileExistsError:
        raise taken(path) from None
    except (OSError, AttributeError):  # a disk without links, or a system
        if os.path.lexists(path):
            raise taken(path) from None
        os.rename(part, path)


@contextmanager
def out(
    path: str | os.PathLike[str], call: str, *, replace: bool = False, known: bool = False
) -> Iterator[BinaryIO]:
    """Open a file for the reader as `placed` does, under a safe name, and say what goes wrong.

    Parameters
    ----------
    path : str or path
        Where to; its folder must be there, and is said without ``..``.
    call : str
        A call that works, with ``{}`` where the path stands.
    replace : bool
        Whether a plain file of that name may be replaced; a link or a folder never is.
    known : bool
        Whether the name is that of a file that was read, which is not judged again.

    Raises
    ------
    ValueError
        If the name is not a safe one (see `fault`), or leaves the folder.
    FileExistsError
        If there is something of that name; it stays as it is.
    FileNotFoundError, NotADirectoryError
        If there is no such folder.
    OSError
        If the folder is full or can only be read, in one sentence.

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with out(f"{folder}/note.txt", "open({}, 'xb')") as file:
    ...         _ = file.write(b"7 against 4")
    ...     os.listdir(folder)
    ['note.txt']
    """
    if not isinstance(replace, bool):
        raise Refusal(
            f"replace={shortly(replace)} is neither True nor False", "replace=True", argument="replace"
        )
    path = Path(path) if known else _safe_path(path, call)
    try:
        with placed(path, replace=replace) as file:
            yield file
    except OSError as error:
        if error.errno is None:  # a sentence already
            raise
        raise _not_written(error, path, call) from error


def save(
    path: str | os.PathLike[str], data: bytes, call: str, *, replace: bool = False, known: bool = False
) -> Path:
    """Write all of a file for the reader as `out` does.

    Parameters
    ----------
    path, call, replace, known
        As for `out`.
    data : bytes
        What is in the file.

    Returns
    -------
    Path
        Where it was written.

    Raises
    ------
    ValueError, OSError
        As for `out`.

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     save(f"{folder}/note.txt", b"7 against 4", "open({}, 'xb')").name
    'note.txt'
    """
    with out(path, call, replace=replace, known=known) as file:
        file.write(data)
    return Path(path)


def with_ending(path: str | os.PathLike[str], *endings: str, call: str) -> Path:
    """Return a path that ends as it must, or refuse it.

    Parameters
    ----------
    path : str or path
        Where to write.
    *endings : str
        The endings that are known, such as ``".svg"``.
    call : str
        A call that works, with ``{}`` where the path stands.

    Raises
    ------
    ValueError
        If it is no path, or ends otherwise.

    Examples
    --------
    >>> with_ending("score.SVG", ".svg", ".musicxml", call="score((7, 4)).write({})").name
    'score.SVG'
    """
    path = _path(path, call, "7-against-4" + endings[0])
    if path.suffix.lower() not in endings:
        instead = safe_name(path.stem if path.suffix else path.name, endings[0])
        known = " or ".join(filter(None, (", ".join(endings[:-1]), endings[-1])))
        example = _example(call, _free_path(Path(instead)))
        raise Refusal(f"path={path_text(path)} does not end in {known}", example, argument="path")
    return path


def path_text(path: Path) -> str:
    """Return a path as it is said in a message."""
    return repr(str(path)) if len(str(path)) <= 200 else f"…{shortly(path.name)}"


def shortly(value: object) -> str:
    """Return ``repr(value)``, cut where it would not fit on a line."""
    try:
        text = repr(value)
    except ValueError:  # Python refuses to write out whole numbers of thousands of digits
        return "a number too long to print"
    return text if len(text) <= 60 else f"{text[:57]}..."


def temporary() -> Path:
    """Return the folder for temporary files; the current one where no such folder can be written to."""
    try:
        return Path(tempfile.gettempdir())
    except OSError:
        return Path.cwd()


def _path(path: object, call: str, instead: str) -> Path:
    if isinstance(path, str | os.PathLike) and isinstance(os.fspath(path), str):
        return Path(path)
    raise Refusal(f"path={shortly(path)} is not a path", _example(call, instead), argument="path")


def _safe_path(path: str | os.PathLike[str], call: str) -> Path:
    path = _path(path, call, "a-name.txt")
    wrong = fault(path.name) or ("leaves its folder by .." if ".." in path.parts else "")
    if wrong or "\0" in str(path):
        instead = safe_name(path.stem, path.suffix if plain_ending(path.suffix) else ".txt")
        wrong = wrong or "has a letter in it that cannot be seen"
        works = _example(call, _free_path(Path(instead)))
        raise Refusal(f"path={path_text(path)} {wrong}", works, argument="path")
    return path


def _not_written(error: OSError, path: Path, call: str) -> NotWritten:
    """Say why a file could not be written, and where it can."""
    if isinstance(error, FileExistsError):
        there = (error.strerror or "").removeprefix("it is ")
        example = _example(call, _free_path(path))
        return on_disk(
            error, f"path={path_text(path)} is {there}, and is not replaced; take another name", example
        )
    if isinstance(error, FileNotFoundError | NotADirectoryError) and not path.parent.is_dir():
        where = _wrong_folder(path.parent)
        example = _example(call, _free_path(Path(path.name)))
        return on_disk(
            error,
            f"path={path_text(path)} is in {where}; make the folder first, or write into this one",
            example,
        )
    why = "no file can be made there" if isinstance(error, FileNotFoundError) else reason(error)
    example = _example(call, _free_path(_another_folder(path) / path.name))
    return on_disk(
        error,
        f"path={path_text(path)} cannot be written: {why}; nothing of it was written; "
        "write into another folder",
        example,
    )


def _wrong_folder(place: Path) -> str:
    """Say what is where a folder should be."""
    there = _nearest_above(place)
    if there.is_dir():
        return "a folder that is not there"
    return "a link that leads to no folder" if there.is_symlink() else "a file, not in a folder"


def _example(call: str, path: str | Path) -> str:
    return call.replace("{}", repr(str(path)))


def _free_path(path: Path) -> Path:
    """Return this path where it is free, or one like it beside it."""
    stem, ending = (path.stem, path.suffix) if plain_ending(path.suffix) else (path.name, "")
    for number in count(1):
        name = f"{stem}{ending}" if number == 1 else f"{stem}-{number}{ending}"
        if fault(name):  # too long with its number
            stem = safe_name(stem, ".txt").removesuffix(".txt")
        elif not os.path.lexists(path.with_name(name)):
            return path.with_name(name)
    raise AssertionError  # numbers do not end


def _another_folder(path: Path) -> Path:
    """Return a folder to write into instead: the reader's own, or the one for temporary files."""
    home = Path(os.path.expanduser("~"))
    here = Path(os.path.abspath(path)).parent
    return home if home.is_dir() and here != home else temporary()


@contextmanager
def make_folder(folder: Path, *, parents: bool = True) -> Iterator[Path]:
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
    """Make a folder for files that come in numbers, as `make_folder` does, and say what goes wrong in it.

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
            raise Refusal(f"folder={path_text(where)} {wrong}", call, argument="folder")
    said = f"folder={path_text(where)}"
    try:
        with make_folder(where, parents=parents):
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

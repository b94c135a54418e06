"""Files out: safe names, whole or not at all, and never over another file unasked; pictures as files."""

import errno
import io
import os
import re
import secrets
import unicodedata
import warnings
from pathlib import Path

from rhythmlab.core.check import short
from rhythmlab.render.scene import ROW, Scene
from rhythmlab.render.wav import _name, _taken

#: Longest name that `safe_name` makes, and longest that `save` takes, in bytes of UTF-8.
SHORT_NAME, LONGEST_NAME = 100, 200
#: Endings of pictures, and dots an inch of a PNG.
PICTURES = (".svg", ".png", ".pdf")
DPI = 200

#: Names that Windows keeps for devices, whatever their ending (its documentation "Naming Files, Paths, and
#: Namespaces").
_DEVICES = {"CON", "PRN", "AUX", "NUL", "CONIN", "CONOUT"} | {
    f"{port}{number}" for port in ("COM", "LPT") for number in "0123456789¹²³"
}
_FORBIDDEN = '<>:"/\\|?*'
_REASONS = {
    errno.EACCES: "you are not allowed to write there",
    errno.EPERM: "you are not allowed to write there",
    errno.EROFS: "it can only be read",
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your share of the disk is full",
    errno.ENAMETOOLONG: "the name is too long",
}
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


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
        raise ValueError(f"text={short(text)} is not text; for example safe_name('7 against 4', '.svg')")
    if not isinstance(ending, str) or not re.fullmatch(r"\.?[A-Za-z0-9]{1,8}", ending):
        raise ValueError(
            f"ending={short(ending)} is not an ending of a file; for example safe_name('7 against 4', '.svg')"
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


def _trimmed(name: str) -> str:
    name = name.strip("-._")
    while name and unicodedata.category(name[0])[0] == "M":  # a mark has nothing to stand on
        name = name[1:].lstrip("-._")
    return name


def _device(name: str) -> bool:
    return name.split(".")[0].rstrip(" $").upper() in _DEVICES


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


def with_ending(path: str | Path, *endings: str) -> Path:
    """Return a path that ends as it must, or refuse it.

    Parameters
    ----------
    path : str or Path
        Where to write.
    *endings : str
        The endings that are known, such as ``".svg"``.

    Raises
    ------
    ValueError
        If it is no path, or ends otherwise.

    Examples
    --------
    >>> with_ending("score.SVG", ".svg", ".png").name
    'score.SVG'
    """
    path = _path(path)
    if path.suffix.lower() not in endings:
        instead = safe_name(path.stem if path.suffix else path.name, endings[0])
        known = " or ".join(filter(None, (", ".join(endings[:-1]), endings[-1])))
        raise ValueError(f"path={_said(path)} does not end in {known}; for example write({instead!r})")
    return path


def _path(path: object) -> Path:
    if not isinstance(path, str | Path):
        raise ValueError(f"path={short(path)} is not a path; for example write('7-against-4.svg')")
    return Path(path)


def _said(path: Path) -> str:
    return repr(str(path)) if len(str(path)) <= 200 else f"…{short(path.name)}"


def save(path: str | Path, data: bytes, *, replace: bool = False) -> Path:
    """Write a file that appears under its name whole or not at all.

    Parameters
    ----------
    path : str or Path
        Where to; its folder must exist, and is said without ``..``.
    data : bytes
        What is in the file.
    replace : bool
        Whether a file of that name may be replaced; a link or a folder never is.

    Returns
    -------
    Path
        Where it was written.

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
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     save(f"{folder}/note.txt", b"7 against 4").name
    'note.txt'
    """
    path = _path(path)
    if not isinstance(data, bytes | bytearray | memoryview):
        raise ValueError(f"data={short(data)} is not bytes; for example save('note.txt', 'text'.encode())")
    wrong = fault(path.name) or ("leaves its folder by .." if ".." in path.parts else "")
    if wrong or "\0" in str(path):
        instead = safe_name(path.stem, path.suffix if _plain(path.suffix) else ".txt")
        raise ValueError(
            f"path={_said(path)} {wrong or 'has a letter in it that cannot be seen'}; "
            f"for example write({instead!r})"
        )
    try:
        return _save(path, bytes(data), replace)
    except OSError as error:
        if error.errno is None:  # a sentence already
            raise
        reason = _REASONS.get(error.errno, error.strerror or str(error))
        raise type(error)(
            f"path={str(path)!r} cannot be written: {reason}; nothing was changed; write into another "
            f"folder, for example write({str(Path.home() / path.name)!r})"
        ) from error


def _save(path: Path, data: bytes, replace: bool) -> Path:
    if not path.parent.is_dir():
        there = path.parent.exists()
        where = "a file, not in a folder" if there else "a folder that is not there"
        raise (NotADirectoryError if there else FileNotFoundError)(
            f"path={str(path)!r} is in {where}; make it first, or write into this one; "
            f"for example write({path.name!r})"
        )
    if os.path.lexists(path) and not (replace and path.is_file() and not path.is_symlink()):
        raise _taken(path)
    part = path.with_name(f".{path.stem[:40]}.{secrets.token_hex(4)}.part")
    try:
        with part.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if replace:
            os.replace(part, path)
        else:
            _name(part, path)
    finally:
        part.unlink(missing_ok=True)
    return path


def _plain(suffix: str) -> bool:
    return bool(re.fullmatch(r"\.[A-Za-z0-9]{1,8}", suffix))


def picture(scene: Scene, path: str | Path, *, replace: bool = False) -> Path:
    """Write a picture as SVG, PNG or PDF.

    Parameters
    ----------
    scene : Scene
        The picture.
    path : str or Path
        Where to; its ending, ``.svg``, ``.png`` or ``.pdf``, says what is written. A PNG has 200 dots an
        inch; a PDF has its fonts inside.
    replace : bool
        As for `save`.

    Returns
    -------
    Path
        Where it was written.

    Raises
    ------
    ValueError
        If it is no picture, or the path ends otherwise.
    OSError
        As for `save`.

    Examples
    --------
    >>> import tempfile
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.render.pictures import strip
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     picture(strip(Polyrhythm(7, 4).cycle()), f"{folder}/7-4.svg").stat().st_size > 1000
    True
    """
    if not isinstance(scene, Scene):
        raise ValueError(
            f"scene={short(scene)} is not a picture; for example "
            "picture(strip(Polyrhythm(7, 4).cycle()), '7-4.svg')"
        )
    path = with_ending(path, *PICTURES)
    return save(path, painted(scene, path.suffix.lower()), replace=replace)


def painted(scene: Scene, ending: str) -> bytes:
    """Return a picture as the bytes of an ``.svg``, ``.png`` or ``.pdf`` file."""
    if ending == ".svg":
        from rhythmlab.render.svg import svg

        size = f'width="{scene.width}" height="{scene.rows * ROW:g}"'
        text = svg(scene).replace('width="100%"', size, 1)  # a file by itself has no page to fill
        return _NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text).encode()
    from matplotlib import rc_context
    from matplotlib.text import Text

    from rhythmlab.render.figure import figure

    title = _NOT_XML.sub(" ", scene.alt)
    about = {"Title": title, "CreationDate": None} if ending == ".pdf" else {"Title": title}
    out = io.BytesIO()
    with rc_context({"pdf.fonttype": 42}), warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph .* missing from font")  # then a box stands for it
        drawn = figure(scene)
        for text in drawn.findobj(Text):
            text.set_parse_math(False)  # a dollar in a name is a dollar
        drawn.savefig(out, format=ending[1:], dpi=DPI, metadata=about)
    return out.getvalue()

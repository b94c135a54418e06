"""Names of files: what is wrong with one, a safe one for any text, and that of a file that is not whole."""

import re
import unicodedata

from rhythmlab.refusal import Refusal

#: Longest name that `safe_name` makes, and longest that is written, in bytes of UTF-8.
SHORT_NAME, LONGEST_NAME = 100, 200

#: Names that Windows keeps for devices, whatever their ending (its documentation "Naming Files, Paths, and
#: Namespaces").
_DEVICES = {"CON", "PRN", "AUX", "NUL", "CONIN", "CONOUT"} | {
    f"{port}{number}" for port in ("COM", "LPT") for number in "0123456789¹²³"
}
_FORBIDDEN = '<>:"/\\|?*'


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


def _trimmed(name: str) -> str:
    name = name.strip("-._")
    while name and unicodedata.category(name[0])[0] == "M":  # a mark has nothing to stand on
        name = name[1:].lstrip("-._")
    return name


def _device(name: str) -> bool:
    return name.split(".")[0].rstrip(" $").upper() in _DEVICES


def plain_ending(ending: str) -> bool:
    """Whether an ending is a dot with a few letters and digits."""
    return bool(re.fullmatch(r"\.[A-Za-z0-9]{1,8}", ending))


def shortly(value: object) -> str:
    """Return ``repr(value)``, cut where it would not fit on a line."""
    try:
        text = repr(value)
    except ValueError:  # Python refuses to write out whole numbers of thousands of digits
        return "a number too long to print"
    return text if len(text) <= 60 else f"{text[:57]}..."


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

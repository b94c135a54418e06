"""A set list: pairs, grooves and tempos prepared beforehand, one a line in a plain file.

How a line is written is in `rhythmlab.playing.item`.
Lines that begin with ``#`` are notes.  A line that cannot be read is told, and stays in the file.
"""

import os
from dataclasses import dataclass
from pathlib import Path

from rhythmlab import words
from rhythmlab.core import check
from rhythmlab.files import reason, save
from rhythmlab.playing.item import Item, read_line
from rhythmlab.practice.lines import opened
from rhythmlab.practice.turns import turn
from rhythmlab.refusal import Refusal
from rhythmlab.working import place_for_files

#: The file, in the reader's working folder.
FILE = "set-list.txt"
#: Most items of a list, and most bytes of its file.
MOST_ITEMS, MOST_BYTES = 200, 1_000_000
#: Most damaged lines that are told by their numbers, after the first.
MOST_NAMED = 12
_CALL = "set_list({})"
#: What a new set list begins with: a workshop in a village hall by the sea.
FIRST = (
    "# A set list: one item a line; lines that begin with # are notes.\n"
    "pair | pulses: 3 2 | bpm: 72 | title: Together, right, left, right\n"
    "pair | pulses: 4 3 | bpm: 80\n"
    "pair | pulses: 7 4 | home: 4 | bpm: 72\n"
    "pair | pulses: 16 15 | bpm: 100 | title: The drift\n"
    "resolve | hands: 7 | against: 4 | metre: 4/4 | bars: 4 | bpm: 96\n"
)


class SetListError(Refusal):
    """The set list cannot be read or kept; the text is for the reader."""


@dataclass(frozen=True, slots=True)
class Unread:
    """A line that could not be read.

    Attributes
    ----------
    line : int
        Its number, from 1.
    text : str
        All of it.
    why : str
        What is wrong with it.
    """

    line: int
    text: str
    why: str


class Items(tuple[Item, ...]):
    """The items of a set list, in order.

    Attributes
    ----------
    damaged : tuple of Unread
        Lines that could not be read; they stay in the file.
    told : str
        What there is to tell of them; empty if all is well.
    """

    damaged: tuple[Unread, ...] = ()
    told: str = ""


def parsed(text: str) -> Items:
    r"""Read a set list, whatever has happened to it.

    Examples
    --------
    >>> items = parsed("pair | pulses: 4 3\npear | pulses: 4 3")
    >>> len(items), items.told[:71]
    (1, "Line 2 could not be read and stays as it is: 'pear' is not a kind of it")
    """
    found: list[Item] = []
    damaged: list[Unread] = []
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.strip().lstrip("\ufeff")
        if not line or line.startswith("#"):
            continue
        try:
            if len(found) >= MOST_ITEMS:
                raise SetListError(f"a set list has at most {MOST_ITEMS} items")
            found.append(read_line(line))
        except (ValueError, IndexError) as error:
            damaged.append(Unread(number, raw, str(error)))
    items = Items(found)
    items.damaged = tuple(damaged)
    if damaged:
        first, *rest = damaged
        others = [str(one.line) for one in rest[:MOST_NAMED]]
        if len(rest) > MOST_NAMED:
            others.append(f"{len(rest) - MOST_NAMED} more")
        more = f" Nor could line{'s' * (len(rest) > 1)} {words.listed(others)}." if rest else ""
        items.told = f"Line {first.line} could not be read and stays as it is: {first.why}.{more}"
    return items


class SetList:
    """A set list on disk.

    Parameters
    ----------
    path : path, optional
        The file; ``set-list.txt`` in the reader's working folder when left out.

    Examples
    --------
    >>> import tempfile
    >>> songs = SetList(Path(tempfile.mkdtemp()) / "set-list.txt")
    >>> songs.save("pair | pulses: 4 3")
    >>> len(SetList(songs.path).read())
    1
    """

    def __init__(self, path: str | os.PathLike[str] | None = None) -> None:
        place = place_for_files() / FILE
        if path is not None:
            place = check.path(path, "path", 'set_list("my-list.txt")')
        self.path = Path(os.path.abspath(place))
        self.text = ""
        self._seen: bytes | None = None

    def read(self) -> Items:
        """Read the file; where there is none, a short list to begin with.

        Raises
        ------
        SetListError
            If there is one and it cannot be read.
        """
        try:
            raw = _contents(self.path)
        except FileNotFoundError:
            self._seen, self.text = None, FIRST
            return parsed(self.text)
        except OSError as error:
            raise SetListError(f"{self.path.name} cannot be read: {reason(error, 'read')}.") from error
        try:
            self.text = raw.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise SetListError(
                f"{self.path.name} is not a text in UTF-8, so it is left as it is; rename it to begin anew."
            ) from error
        self._seen = raw
        return parsed(self.text)

    def save(self, text: str) -> None:
        """Write the whole list, every line as it is, unless the file has changed since it was read.

        Raises
        ------
        SetListError
            If it has, or is a link, or the disk does not take it; nothing is written then.
        """
        new = _bytes(text)
        if self.path.is_symlink():
            raise SetListError(
                f"{self.path.name} is a link, and nothing is written over a link or through it, so that what "
                "it leads to stays as it is; save beside it."
            )
        try:
            if self._seen is None:
                save(self.path, new, _CALL)
            else:
                with turn(self.path):  # between the look and the writing nobody else writes
                    if self._now() not in (self._seen, new):
                        raise FileExistsError
                    save(self.path, new, _CALL, replace=True, known=True)
        except FileExistsError:
            raise SetListError(
                f"{self.path.name} was changed by something else since it was read, so it is left as it is; "
                "save beside it, or read it again."
            ) from None
        except Refusal as error:
            raise SetListError(error.wrong, error.example, argument=error.argument) from error
        except OSError as error:
            raise SetListError(str(error)) from error
        self._seen, self.text = new, text

    def save_beside(self, text: str) -> Path:
        """Write the list under the first free name beside the file, such as ``set-list-2.txt``.

        Raises
        ------
        SetListError
            If the disk does not take it.
        """
        for number in range(2, 1000):
            path = self.path.with_name(f"{self.path.stem}-{number}{self.path.suffix}")
            try:
                return save(path, _bytes(text), _CALL)
            except FileExistsError:
                continue
            except Refusal as error:
                raise SetListError(error.wrong, error.example, argument=error.argument) from error
            except OSError as error:
                raise SetListError(str(error)) from error
        raise SetListError(f"there are very many lists beside {self.path.name}; rename some of them")

    def _now(self) -> bytes | None:
        try:
            return _contents(self.path)
        except FileNotFoundError:
            return None


def _contents(path: Path) -> bytes:
    """Return what is in a plain file that is no larger than any list."""
    with opened(path, os.O_RDONLY) as fd, os.fdopen(os.dup(fd), "rb") as file:
        size = os.fstat(fd).st_size
        if size > MOST_BYTES:
            raise OSError(f"it has {size:,} bytes, more than the {MOST_BYTES:,} of a set list")
        return file.read(MOST_BYTES + 1)


def _bytes(text: str) -> bytes:
    return (text.rstrip("\n") + "\n").encode("utf-8", "replace")

"""One at a time: a small file that several notebooks read, change and write anew loses nothing."""

import errno
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from importlib import import_module
from pathlib import Path
from typing import TypeAlias

#: What a lock says that another process holds.
BUSY = (errno.EAGAIN, errno.EACCES, errno.EDEADLK)
#: Seconds without locks after which a lock file counts as left behind by a notebook that was stopped.
LEFT = 5.0
#: A lock file is never one that a link leads to.
_FLAGS = getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_NOFOLLOW", 0)
#: What takes or gives back a lock on a descriptor.
Lock: TypeAlias = Callable[[int], object]


def lock_of(*, shared: bool) -> tuple[Lock, Lock | None]:
    """Return how to take a lock on a descriptor without waiting, and how to give it back.

    Without locks on this system the second is ``None``.
    """
    with suppress(ImportError, AttributeError):  # Python in a browser has the module, and nothing in it
        import fcntl

        kind = fcntl.LOCK_SH if shared else fcntl.LOCK_EX
        return lambda fd: fcntl.flock(fd, kind | fcntl.LOCK_NB), lambda fd: fcntl.flock(fd, fcntl.LOCK_UN)
    with suppress(ImportError):
        msvcrt = import_module("msvcrt")  # of another system: its names are not known here

        def at_far_end(fd: int, mode: int) -> None:  # beyond any entry, so that nobody is kept from reading
            os.lseek(fd, 2**30, os.SEEK_SET)
            msvcrt.locking(fd, mode, 1)

        return lambda fd: at_far_end(fd, msvcrt.LK_NBLCK), lambda fd: at_far_end(fd, msvcrt.LK_UNLCK)
    return lambda fd: None, None


@contextmanager
def turn(path: Path, wait: float = 10.0) -> Iterator[None]:
    """Wait until no other notebook is changing a file, and keep the others waiting meanwhile.

    Parameters
    ----------
    path : Path
        The file; its turns are taken with a lock file beside it, which is gone afterwards.
    wait : float
        Seconds to wait for the others.

    Raises
    ------
    OSError
        If the folder cannot be written, or another notebook does not finish.

    Examples
    --------
    >>> import tempfile
    >>> path = Path(tempfile.mkdtemp()) / "guesses.json"
    >>> with turn(path):
    ...     [other.name for other in path.parent.iterdir()]
    ['.guesses.json.lock']
    >>> list(path.parent.iterdir())
    []
    """
    lock = path.with_name(f".{path.name.lstrip('.')}.lock")
    until = time.monotonic() + wait
    fd, give = _open_lock(lock, until)
    try:
        yield
    finally:
        with suppress(OSError):  # an open file stays on Windows, and does no harm
            lock.unlink()
        if give:
            with suppress(OSError):
                give(fd)
        os.close(fd)


def _open_lock(lock: Path, until: float) -> tuple[int, Lock | None]:
    """Return the open lock file once it is ours, and how to give it back."""
    take, give = lock_of(shared=False)
    while give:
        fd = os.open(lock, os.O_RDWR | os.O_CREAT | _FLAGS, 0o666)
        try:
            take(fd)
            if _still_there(fd, lock):
                return fd, give
        except OSError as error:
            if error.errno not in BUSY:  # this file system has no locks
                os.close(fd)
                break
        except BaseException:
            os.close(fd)
            raise
        os.close(fd)  # another has it, or it was the last one's and is gone
        _wait(until)
    return _lock_by_file(lock, until), None


def _still_there(fd: int, lock: Path) -> bool:
    """Whether the open file is still the one beside the path."""
    try:
        return os.path.samestat(os.fstat(fd), os.stat(lock))
    except FileNotFoundError:
        return False


def _lock_by_file(lock: Path, until: float) -> int:
    """Make the lock file where there are no locks; one that stays unchanged for long was left behind."""
    seen, since = None, 0.0
    while True:
        try:
            return os.open(lock, os.O_RDWR | os.O_CREAT | os.O_EXCL | _FLAGS, 0o666)
        except FileExistsError:
            pass
        with suppress(FileNotFoundError):
            now = os.stat(lock)
            if seen != (seen := (now.st_ino, now.st_mtime_ns)):
                since = time.monotonic()
            elif time.monotonic() - since > LEFT:
                lock.unlink()
                continue
        _wait(until)


def _wait(until: float) -> None:
    if time.monotonic() > until:
        raise BlockingIOError(errno.EAGAIN, "another notebook is writing and does not finish")
    time.sleep(0.002)

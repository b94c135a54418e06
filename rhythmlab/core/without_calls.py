"""Messages for a reader who has fields and not cells: what a check says, without the calls in it."""

import re

#: Where the example of a message begins, and a clause that is nothing but a call.
_EXAMPLE = re.compile(r"[;,:]? (?:look at some bars, )?for example (?=[A-Za-z_][\w.]*\()")
_CALLED = re.compile(r"; (?=[A-Za-z_][\w.]*\()")
#: A file is named by its path; that it was given as an argument is for whoever called.
_PATH = re.compile(r"\bpath=(?=['\"])")


def plainly(message: str) -> str:
    """Return a message without the calls in it, for a reader who has fields and not cells.

    Parameters
    ----------
    message : str
        What a check says; the part of a sentence that shows a call goes, to its end.

    Examples
    --------
    >>> plainly("lands=5 is not a beat of 4/4, which has 4; for example resolve((7, 4))")
    'lands=5 is not a beat of 4/4, which has 4.'
    >>> plainly('The disk is full: free some space, or take another, for example Journal("a; b.c"). Wait.')
    'The disk is full: free some space, or take another. Wait.'
    """
    while found := _EXAMPLE.search(message) or _CALLED.search(message):
        end = _end_of_clause(message, found.end())
        message = message[: found.start()] + (message[end:] or ".")
    return _PATH.sub("", message)


def _end_of_clause(message: str, at: int) -> int:
    """Return where the clause that begins here ends; what is in brackets and quotes belongs to it."""
    depth, quote = 0, ""
    while at < len(message):
        letter = message[at]
        if quote:
            at += letter == "\\"
            quote = "" if letter == quote else quote
        elif letter in "\"'" and depth:
            quote = letter
        elif letter in "([{":
            depth += 1
        elif letter in ")]}":
            depth -= 1
        elif depth <= 0 and letter in ".;" and message[at + 1 : at + 2] in ("", " "):
            return at
        at += 1
    return at

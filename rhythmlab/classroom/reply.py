"""What a reply is worth: the one judge that a page and a gradebook ask.

A page has the value that its kernel made; a gradebook has the text, which `literal.reply_of` reads.
"""

from dataclasses import dataclass

from rhythmlab.classroom.posed_play import Played
from rhythmlab.classroom.question import Judged, Question
from rhythmlab.core.check import short


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a reply.

    Attributes
    ----------
    state : str
        ``"right"``, ``"partly right"``, ``"wrong"``, ``"wrong type"``, ``"unreadable"`` or
        ``"not answered"``.
    judged : Judged
        Marks, and what is said on the page.
    reason : str
        Why, for one who has the reply and not the reader's own folder.
    unread : str
        Why it cannot be read as an answer to this question; empty where it can.
    """

    state: str
    judged: Judged
    reason: str
    unread: str = ""


def outcome(asked: Question, value: object) -> Outcome:
    """Judge a reply.

    Parameters
    ----------
    asked : Question
        What was asked.
    value : number, str, list or tuple
        What was replied.

    Returns
    -------
    Outcome
        An answer that breaks a check is told, like any other that cannot be read.

    Examples
    --------
    >>> from rhythmlab.classroom.question import question
    >>> [outcome(question("00-exercise"), value).state for value in ([7, 100], [7, 90], ["7", 90], [])]
    ['right', 'partly right', 'wrong type', 'not answered']
    """
    try:
        judged = asked.judge(value)
        if not judged.answered:
            return Outcome("not answered", judged, judged.said)
        if judged.right:
            return Outcome("right", judged, judged.said)
        unread = "" if judged.marks else asked.unread(value)
    except (ArithmeticError, LookupError, TypeError, ValueError, AttributeError) as error:
        kind = type(error).__name__
        said = f"The check makes nothing of this answer ({kind}); show it to your teacher."
        return Outcome("unreadable", Judged(0, len(asked.right), said), said, said)
    if isinstance(asked, Played) and isinstance(value, str):
        return Outcome("unreadable", judged, _elsewhere(value), unread)
    state = "wrong type" if unread else "partly right" if judged.marks else "wrong"
    return Outcome(state, judged, judged.said, unread)


def _elsewhere(take: str) -> str:
    """Say of a take that is named and not written out how to write it."""
    return (
        f"The take {short(take)} is kept in your own journal, which is not handed in, so it cannot be "
        "looked up here. Write its strokes instead, lane and seconds, such as "
        "answer=[[0, 0.01], [1, 0.02]]: rl.taps_of() gives those of your last take."
    )

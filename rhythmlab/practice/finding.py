"""What a take came to: one finding, what to do next as words and as a value, and the numbers behind it."""

from collections.abc import Sequence
from dataclasses import dataclass

from rhythmlab.core.display import Sentences
from rhythmlab.practice.next_step import Next
from rhythmlab.text.sentences import capital, say


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding, and one thing to do.

    Attributes
    ----------
    found : str
        What was found, without its full stop.
    do : str
        What to do, as words after "next"; empty where something is said before the finding.
    next : Next or None
        The same as a value, where a panel can do it.
    plain : str
        The finding without numbers and sources, where it has many.
    basis : str
        What the finding rests on, with its number and its source, where it has no more to it.
    apart : bool
        Whether both are told as sentences of their own.

    Examples
    --------
    >>> Finding("You swapped sides", "swap back").told()
    ['You swapped sides: next, swap back.']
    """

    found: str
    do: str = ""
    next: Next | None = None
    plain: str = ""
    basis: str = ""
    apart: bool = False

    def __str__(self) -> str:
        return " ".join(self.told())

    def told(self) -> list[str]:
        """Say it in one sentence, or in two."""
        if not self.do or self.apart:
            return [say("told.alone", found=self.found), *([say("told.next", do=self.do)] if self.do else [])]
        return [say("told.then", found=self.found, do=self.do)]


class Feedback(Sentences):
    """Sentences about a take, and its one finding with its one next step.

    Attributes
    ----------
    found, do : str
        The finding, and what to do, each as a sentence; `do` is empty where there is nothing.
    next : Next or None
        What to do as a value.
    more : list of str
        Numbers and sources, and what was not judged.
    """

    def __init__(self, findings: Sequence[Finding], notes: Sequence[str] = ()) -> None:
        super().__init__([*(text for one in findings for text in one.told()), *notes])
        last = findings[-1]
        self.found = " ".join(say("told.alone", found=one.plain or one.found) for one in findings)
        self.do = say("told.do", do=capital(last.do)) if last.do else ""
        self.next = last.next
        self.more = [
            say("told.alone", found=one.found if one.plain else one.basis)
            for one in findings
            if one.plain or one.basis
        ]
        self.more += notes

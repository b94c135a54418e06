"""What a question is, and how a reply to it is judged: which part is off, and by how much.

An answer is a number, a word, or a list of them, written out.
Pages and gradebook ask the one judge, `outcome`: a page has the value that its kernel made, a gradebook the
text, which `reader.reply_of` reads.
"""

import dataclasses
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from html import escape
from numbers import Rational, Real
from typing import Any

from rhythmlab.classroom.reader import Unreadable, read
from rhythmlab.core.check import short
from rhythmlab.core.display import Printed, framed
from rhythmlab.core.public import public_class
from rhythmlab.refusal import Refusal
from rhythmlab.text import numbers, sentences

Part = Fraction | str
#: Most parts of an answer that are read, longest text that is read as one, and most letters shown again.
MOST_PARTS, LONGEST_TYPED, LONGEST_SHOWN = 1_000, 10_000, 60
_FRACTION = re.compile(r"\s*([+-]?[0-9]{1,15})\s*/\s*([0-9]{1,15})\s*")


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a check found; shows itself as a sentence.

    Attributes
    ----------
    marks, out_of : int
        Parts that are right, and parts in all.
    text : str
        What is off and where, or that all is right and why.
    answered : bool
        Whether there was an answer to judge.
    """

    marks: int
    out_of: int
    text: str
    answered: bool = True

    @property
    def right(self) -> bool:
        """Whether every part is right."""
        return self.answered and self.marks == self.out_of

    def __repr__(self) -> str:
        return self.text

    def _repr_html_(self) -> str:
        sign = "✓ " if self.right else "✗ " if self.answered else ""
        return framed(f'<p role="status">{sign}{escape(self.text)}</p>')


@public_class(
    'pages.question("01-exercise")',
    judge_typed='pages.question("00-exercise").judge_typed("7, 90")',
    judge='pages.question("00-exercise").judge([7, 90])',
    unread='pages.question("00-exercise").unread([7, 90])',
)
@dataclass(repr=False, frozen=True, slots=True)
class Question(Printed):
    """A question with its own numbers.

    Attributes
    ----------
    text : str
        The question in a sentence that reads well aloud.
    field : str
        A short name for a field to type into.
    parts : tuple of str
        What each part of the answer is called, for example ``"interval 3"``.
    right : tuple of Fraction or str
        The right parts.
    why : str
        Why they are right.
    form : str
        What to write, with an example that is not the answer.
    units : tuple of str
        What each part counts, for example ``"tick"``; one for all parts, or one each.
    scale : tuple of str, or tuple of tuples of str
        For words with an order: all of them, so that a wrong one can be told how far off it is; one for
        all parts, or one each.
    aliases : dict, or tuple of dict
        Other ways to write a part, each with the way that `right` and `scale` use; one for all parts, or one
        each.
    choices : tuple of str
        For words without an order: all that can be chosen from.
    mistakes : dict
        What is said of a likely mistake: by index of the part and what was written for it.
    id, skill : str
        Its id, as in the page, and what it trains; the bank fills them in.
    """

    text: str
    field: str
    parts: tuple[str, ...]
    right: tuple[Part, ...]
    why: str
    form: str
    units: tuple[str, ...] = ("",)
    scale: tuple[str, ...] | tuple[tuple[str, ...], ...] = ()
    aliases: Mapping[Part, Part] | tuple[Mapping[Part, Part], ...] = dataclasses.field(
        default_factory=dict, hash=False
    )
    choices: tuple[str, ...] = ()
    mistakes: Mapping[tuple[int, Part], str] = dataclasses.field(default_factory=dict, hash=False)
    id: str = ""
    skill: str = ""

    def __str__(self) -> str:
        return f"{self.text} To answer: {self.form}"

    def judge(self, answer: object) -> Verdict:
        """Check an answer.

        Parameters
        ----------
        answer : number, str, list or tuple
            One part, or all of them in order; empty when not answered yet.

        Returns
        -------
        Verdict
            One mark for each part that is right.

        Examples
        --------
        >>> from rhythmlab.classroom.bank.catalogue import question
        >>> question("02-exercise").judge([3, 2, 2, 3, 1, 2, 3])
        Interval 3 is off: you wrote 2, which is 1 tick too many. 6 of 7 are right.
        """
        out_of = len(self.right)
        answer = _array_as_list(answer)
        given = list(answer) if isinstance(answer, list | tuple) else [] if answer is None else [answer]
        if not given or all(part is None or (isinstance(part, str) and not part.strip()) for part in given):
            return Verdict(0, out_of, f"Not answered yet: {self.form}", answered=False)
        form = f"{self.form[0].upper()}{self.form[1:]}"
        asked = "there is 1" if out_of == 1 else f"there are {out_of}"
        if len(given) > MOST_PARTS:
            many = numbers.plural(len(given), "part")
            return Verdict(0, out_of, f"You wrote {many}, and {asked}. {form}")
        try:
            read = [self._read(part, i) for i, part in enumerate(given)]
        except ValueError as error:
            return Verdict(0, out_of, f"{error} {form}")
        wrong = [i for i, (one, other) in enumerate(zip(read, self.right, strict=False)) if one != other]
        marks = min(len(read), out_of) - len(wrong)
        if len(read) != out_of:
            where = f" The first that is off is {self.parts[wrong[0]]}." if wrong and out_of > 1 else ""
            return Verdict(
                min(marks, out_of - 1),
                out_of,
                f"You wrote {numbers.plural(len(read), 'part')}, and {asked}.{where} {form}",
            )
        if not wrong:
            return Verdict(out_of, out_of, f"Right. {self.why}")
        if len(read) == 2 and all(map(_is_row, self.right)) and (read[1], read[0]) == self.right:
            return Verdict(0, out_of, f"The two rows are right, but in the other order. {form}")
        off = self._off(wrong[0], read[wrong[0]])
        if len(wrong) > 1:
            off += f" Also off: {sentences.listed([self.parts[i] for i in wrong[1:]])}."
        rest = f" {marks} of {out_of} {'is' if marks == 1 else 'are'} right." if out_of > 1 else ""
        return Verdict(marks, out_of, f"{off}{rest}")

    def judge_typed(self, text: str) -> Verdict:
        """Check an answer that was typed into a field, with or without brackets."""
        if not isinstance(text, str):
            return self.judge(text)
        try:
            return self.judge(text if len(text) > LONGEST_TYPED else read(_with_point(text)))
        except Unreadable:
            return self.judge(text)

    def answer(self) -> "WorkedAnswer":
        """Return the worked answer, folded away until it is opened."""
        parts = [part if isinstance(part, str) else numbers.number(part) for part in self.right]
        return WorkedAnswer(self.text, ", ".join(parts), self.why)

    def worked(self) -> list[Any]:
        """Return the worked answer as a literal that `judge` gives every mark.

        Examples
        --------
        >>> from rhythmlab.classroom.bank.catalogue import question
        >>> question("00-exercise").worked()
        [7, 100]
        """
        return [part if isinstance(part, str) else _literal(part) for part in self.right]

    def unread(self, answer: object) -> str:
        """Say why an answer cannot be read as one to this question; nothing where it can.

        Examples
        --------
        >>> from rhythmlab.classroom.bank.catalogue import question
        >>> question("00-exercise").unread(["seven", 100])
        "'seven' is not a number."
        """
        answer = _array_as_list(answer)
        given = list(answer) if isinstance(answer, list | tuple) else [answer]
        try:
            for i, part in enumerate(given[: MOST_PARTS + 1]):
                self._read(part, i)
        except ValueError as error:
            return str(error)
        return ""

    def _elsewhere(self, answer: object) -> str:
        """Say where an answer is that is only named and not written out; nothing where it is written out."""
        return ""

    def _read(self, part: object, i: int) -> Part:
        """Read one part, in the way of writing that `right` uses; a number only where it is wanted."""
        wanted = self.right[min(i, len(self.right) - 1)]
        if not isinstance(wanted, str):
            number = _read_number(part)
            return wanted if i < len(self.right) and self._aliases(i).get(number) == wanted else number
        if isinstance(part, float) and str(part) in self._scale(i):  # beat and part, without quotes
            part = str(part)
        text = _read_word(part)
        if _is_row(wanted):
            text = text.replace(" ", "")
            strange = sorted(set(text) - set("x."))
            if strange:
                raise Refusal(f"A row is x and dots only; you wrote {strange[0]!r}.")
        elif _is_hands(wanted):
            text = text.replace(" ", "").replace("|", "").upper()
            strange = sorted(set(text) - set("RL"))
            if strange:
                raise Refusal(f"Hands are R and L only; you wrote {strange[0].lower()!r}.")
        elif self.scale:
            text = re.sub(r"\b(and|ah)\b|\+", lambda found: "a" if found[0] == "ah" else "&", text)
        return self._aliases(i).get(text, text)

    def _aliases(self, i: int) -> Mapping[Part, Part]:
        """Return the other ways to write one part."""
        return (
            self.aliases[min(i, len(self.aliases) - 1)] if isinstance(self.aliases, tuple) else self.aliases
        )

    def _scale(self, i: int) -> tuple[str, ...]:
        """Return the words with an order for one part."""
        each = [one for one in self.scale if isinstance(one, tuple)]
        return each[min(i, len(each) - 1)] if each else tuple(map(str, self.scale))

    def _off(self, i: int, given: Part) -> str:
        """Say which part is off and by how much."""
        mistake = self.mistakes.get((i, given), "")
        return f"{self._how_far(i, given)}{' ' * bool(mistake)}{mistake}"

    def _how_far(self, i: int, given: Part) -> str:
        right, name, unit = self.right[i], self.parts[i], self.units[i % len(self.units)]
        lead = f"{name[0].upper()}{name[1:]} is off: you wrote "
        if isinstance(right, str) or isinstance(given, str):  # a part is read as what the right one is
            return f"{lead}{self._other_word(i, str(given), str(right))}"
        by = given - right
        more, less = ("too fast", "too slow") if unit == "bpm" else ("too many", "too few")
        way = more if by > 0 else less
        much = numbers.plural(abs(by), unit) if abs(by) >= Fraction(1, 200) else "a little"
        return f"{lead}{numbers.number(given, 9)}, which is {much} {way}."

    def _other_word(self, i: int, given: str, right: str) -> str:
        """Say what was written for a part that is a word, and how far that is from the right one."""
        scale, unit = self._scale(i), self.units[i % len(self.units)]
        if given in scale and right in scale:
            by = scale.index(given) - scale.index(right)
            way = "too late" if by > 0 else "too early"
            return f"{given!r}, which is {numbers.plural(abs(by), unit)} {way}."
        text = given if len(given) <= LONGEST_SHOWN else f"{given[: LONGEST_SHOWN - 3]}..."
        row, hands = _is_row(right), _is_hands(right)
        if (row or hands) and len(given) == len(right):
            boxes = [n for n, (one, other) in enumerate(zip(given, right, strict=True), 1) if one != other]
            each = "stroke" if hands else "box"
            differ = f"{numbers.plural(len(boxes), each)} {'differs' if len(boxes) == 1 else 'differ'}"
            if hands:
                return f"{text}, and {differ}, the first of them stroke {boxes[0]}."
            what = "has a stroke" if right[boxes[0] - 1] == "x" else "is empty"
            return f"{text}, and {differ}; box {boxes[0]}, counted from 1, {what}."
        if row:
            return f"{text}, with {numbers.plural(len(given), 'box')} where the grid has {len(right)} ticks."
        if hands:
            strokes = numbers.plural(len(given), "stroke")
            return f"{text}, with {strokes} where there should be {len(right)}."
        if scale:
            return f"{short(given)}, which is not a place in this count. Write it like {scale[1]!r}."
        if given in self.choices:
            return f"{given!r}, and it is another one."
        return f"{short(given)}, which is none of: {', '.join(self.choices)}."


@dataclass(repr=False, frozen=True, slots=True)
class WorkedAnswer(Printed):
    """A worked answer; folded away in a notebook until the reader opens it."""

    text: str
    right: str
    why: str

    def __str__(self) -> str:
        return f"{self.text} {self.right}. {self.why}"

    def _repr_html_(self) -> str:
        return framed(
            '<details><summary data-lm-suppress-shortcuts="true">'  # its keys are its own
            f"Answer (open it when you have tried)</summary><p>{escape(self.text)}</p>"
            f"<p><b>{escape(self.right)}</b></p><p>{escape(self.why)}</p></details>"
        )


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a reply.

    Attributes
    ----------
    state : str
        ``"right"``, ``"partly right"``, ``"wrong"``, ``"wrong type"``, ``"unreadable"`` or
        ``"not answered"``.
    verdict : Verdict
        Marks, and what is said on the page.
    reason : str
        Why, for one who has the reply and not the reader's own folder.
    unread : str
        Why it cannot be read as an answer to this question; empty where it can.
    """

    state: str
    verdict: Verdict
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
        ``"unreadable"`` also where the check itself fails on the answer.

    Examples
    --------
    >>> from rhythmlab.classroom.bank.catalogue import question
    >>> [outcome(question("00-exercise"), value).state for value in ([7, 100], [7, 90], ["7", 90], [])]
    ['right', 'partly right', 'wrong type', 'not answered']
    """
    try:
        judged = asked.judge(value)
        if not judged.answered:
            return Outcome("not answered", judged, judged.text)
        if judged.right:
            return Outcome("right", judged, judged.text)
        unread = "" if judged.marks else asked.unread(value)
    except (ArithmeticError, LookupError, TypeError, ValueError, AttributeError) as error:
        kind = type(error).__name__
        said = f"The check makes nothing of this answer ({kind}); show it to your teacher."
        return Outcome("unreadable", Verdict(0, len(asked.right), said), said, said)
    elsewhere = asked._elsewhere(value)
    if elsewhere:
        return Outcome("unreadable", judged, elsewhere, unread)
    state = "wrong type" if unread else "partly right" if judged.marks else "wrong"
    return Outcome(state, judged, judged.text, unread)


def _array_as_list(answer: object) -> object:
    """Return an answer as it is, and an array, such as the library itself gives, as a list."""
    return answer.tolist() if hasattr(answer, "tolist") and not isinstance(answer, type) else answer


def _with_point(text: str) -> str:
    """Return what was typed, a single comma in it as a decimal point."""
    return text.replace(",", ".") if text.count(",") == 1 else text


def _is_row(part: Part) -> bool:
    """Whether a right part is a row of x and dots."""
    return isinstance(part, str) and set(part) <= set("x.")


def _is_hands(part: Part) -> bool:
    """Whether a right part is hands, R and L."""
    return isinstance(part, str) and set(part) <= set("RL")


def _literal(number: Fraction) -> int | float | str:
    """Return a number as it is typed: whole, as an exact decimal, or as one number over another."""
    if number.denominator == 1:
        return int(number)
    return float(number) if Fraction(str(float(number))) == number else str(number)


def _read_number(part: object) -> Fraction:
    found = _FRACTION.fullmatch(part) if isinstance(part, str) else None
    if found and int(found[2]):
        return Fraction(int(found[1]), int(found[2]))
    if isinstance(part, bool) or not isinstance(part, Real):
        raise Refusal(f"{short(part)} is not a number.")
    if part != part or part in (float("inf"), float("-inf")):
        raise Refusal(f"{short(part)} is not a number.")
    if part < -(10**15) or not part <= 10**15:
        raise Refusal(f"{short(part)} is far too large.")
    if isinstance(part, Rational):
        return Fraction(int(part.numerator), int(part.denominator))
    return Fraction(str(part))


def _read_word(part: object) -> str:
    if isinstance(part, int) and not isinstance(part, bool):
        part = short(part)
    if not isinstance(part, str):
        raise Refusal(f"{short(part)} is not a word in quotes.")
    return " ".join(part.lower().split())

"""Answers that fit another seat better: a hint for the teacher, which changes no mark.

The rule was measured on invented pages of honest pupils.
Their wrong answers are off by a part, have the order or a sign the other way round,
make a likely mistake that the question names, or come of numbers misread or misheard.
At least three answers must be wrong for the seat and right for one and the same other seat.
Besides, one of two things must hold:

- every answer of the page that can be read is right for that other seat, and there are four of them or more;
- those that are wrong here weigh six. An answer weighs two if three parts or more differ or it is a long row,
  and it is no reordering of the right one; every other answer weighs one.

With more than 100 seats to compare with, both numbers grow by one, and by one more for every eight times as
many seats.
Of 80,000 such pages of the five ready assignments, with 30 to 300 seats, 9 were told.
Of pages with every right answer of another seat 995 of 1,000 and more are told; with one of them wrong it
depends on the questions, from one in ten of *Hear and read* to all of *Phrase, stick and place in a bar*.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from rhythmlab.classroom.bank.catalogue import find, version_for
from rhythmlab.classroom.bank.takes import TakeQuestion
from rhythmlab.classroom.marking import MarkedReply, reply_that_counts
from rhythmlab.classroom.question import Part, outcome
from rhythmlab.classroom.returned import ReturnedNotebook
from rhythmlab.text.numbers import plural

#: Seats that are always compared with, from 1 on; least answers that are wrong here and right there; what
#: all answers together must weigh where each of them is right there, and what the wrong ones where not.
NEAR, LEAST, ALL_RIGHT, SOME_RIGHT = 100, 3, 4, 6
#: So many seats before it takes one more, and parts or letters from which on an answer weighs two.
SEATS, PARTS, LETTERS = 100, 3, 8


@dataclass(frozen=True, slots=True)
class Fit:
    """The versions of its question that an answer is right for.

    Attributes
    ----------
    id : str
        Of the question.
    wrong : bool
        Whether it is wrong for the seat of the page.
    versions : dict of int to int
        The versions that it is right for, each with what it weighs.
    """

    id: str
    wrong: bool
    versions: dict[int, int]


@dataclass(slots=True)
class SeatComparison:
    """Compares the answers of a page with the numbers of other seats.

    Attributes
    ----------
    name : str
        Of the assignment.
    """

    name: str
    _known: dict[tuple[str, str], tuple[int, ...]] = field(default_factory=dict)
    _rights: dict[str, tuple[tuple[Part, ...], ...]] = field(default_factory=dict)
    _seats: list[int] = field(default_factory=list)
    _of: dict[str, dict[int, int]] = field(default_factory=dict)

    def fits(self, read: ReturnedNotebook, rows: Sequence[MarkedReply]) -> tuple[Fit, ...]:
        """Return what the answers of a page are right for; nothing where they can be of no other seat."""
        wrong = [row for row in rows if row.state in ("wrong", "partly right", "wrong seat")]
        if len(wrong) < LEAST:
            return ()
        fits = [self._fit(read, row) for row in wrong]
        if sum(bool(fit.versions) for fit in fits) < LEAST:
            return ()
        for row in rows:
            if row.state == "right":
                rights = self._right(row.question)
                own = rights[version_for(self.name, row.seat, row.question, len(rights))]
                fits.append(Fit(row.question, False, {i: 0 for i, one in enumerate(rights) if one == own}))
        return tuple(fits)

    def _right(self, id: str) -> tuple[tuple[Part, ...], ...]:
        """Return the right answers to every version of a question."""
        if id not in self._rights:
            template = find(id)
            self._rights[id] = tuple(template.make(*numbers).right for numbers in template.versions)
        return self._rights[id]

    def _fit(self, read: ReturnedNotebook, row: MarkedReply) -> Fit:
        """Find the versions that a wrong answer is right for."""
        id, rights = row.question, self._right(row.question)
        value = reply_that_counts([reply for reply in read.replies if reply.id == id])[0].value
        parts = len(value) if isinstance(value, list | tuple) else 1
        if parts not in {len(right) for right in rights}:
            return Fit(id, True, {})
        key = (id, repr(value))
        found = self._known.get(key)
        if found is None:
            template = find(id)
            asked = [template.make(*numbers) for numbers in template.versions]
            found = tuple(
                i
                for i, one in enumerate(asked)
                if not isinstance(one, TakeQuestion)
                and len(one.right) == parts
                and outcome(one, value).state == "right"
            )
            if len(self._known) < 10_000 and len(key[1]) < 1_000:
                self._known[key] = found
        own = version_for(self.name, row.seat, id, len(rights))
        return Fit(id, True, {i: _weight(rights[own], rights[i]) for i in found if i != own})

    def against(self, seats: Iterable[int]) -> None:
        """Set the seats that are compared with, besides those from 1 to `NEAR`."""
        self._seats = sorted(set(range(1, NEAR + 1)).union(seats) - {0})
        self._of = {}

    def hint(self, seat: int, fits: Sequence[Fit]) -> str:
        """Say whose answers those of a page may be; nothing where they are as they should be.

        Parameters
        ----------
        seat : int
            Whose page it is.
        fits : sequence of Fit
            As `fits` gives them.
        """
        if not fits:
            return ""
        more, room = 0, SEATS
        while len(self._seats) > room:
            more, room = more + 1, 8 * room
        every = (1 << len(self._seats)) - 1
        right = every
        count, weight = [every] + [0] * LEAST, [every] + [0] * (SOME_RIGHT + more)
        for fit in fits:
            there = 0
            for one, weighs in fit.versions.items():
                mask = self._with(fit.id, one)
                there |= mask
                for _ in range(weighs):
                    _add(weight, mask)
            right &= there
            if fit.wrong:
                _add(count, there)
        few = len(fits) < ALL_RIGHT + more
        right &= weight[ALL_RIGHT + more] if few else every
        found = self._listed(count[LEAST] & (weight[SOME_RIGHT + more] | right), seat)
        if not found:
            return ""
        score = {one: self._score(one, fits) for one in found}
        best = max(score.values())
        same = [str(one) for one in found if score[one] == best]
        others = " or ".join(same) if len(same) < 4 else f"{' or '.join(same[:3])} or another"
        return (
            f"Look at it once more: {best[0]} of its {plural(len(fits), 'answer')} are wrong for seat "
            f"{seat} and right for seat {others}, as when a seat is typed wrongly or two pages are "
            "exchanged. The marks stay as they are."
        )

    def _with(self, id: str, one: int) -> int:
        """Return the seats with a version of a question, a bit each."""
        if id not in self._of:
            self._of[id], versions = {}, len(find(id).versions)
            for bit, seat in enumerate(self._seats):
                has = version_for(self.name, seat, id, versions)
                self._of[id][has] = self._of[id].get(has, 0) | 1 << bit
        return self._of[id].get(one, 0)

    def _listed(self, mask: int, but: int) -> list[int]:
        """Return the seats of a mask, without one."""
        found = []
        while mask:
            low = mask & -mask
            found.append(self._seats[low.bit_length() - 1])
            mask ^= low
        return [seat for seat in found if seat != but]

    def _score(self, seat: int, fits: Sequence[Fit]) -> tuple[int, int]:
        """Return how many answers are wrong here and right for a seat, and how many are right for it."""
        there = [
            fit
            for fit in fits
            if version_for(self.name, seat, fit.id, len(find(fit.id).versions)) in fit.versions
        ]
        return sum(fit.wrong for fit in there), len(there)


def _add(levels: list[int], mask: int) -> None:
    """Count one more for the seats of a mask; the seats with at least so many stand at each level."""
    for level in range(len(levels) - 1, 0, -1):
        levels[level] |= levels[level - 1] & mask


def _weight(right: Sequence[Part], other: Sequence[Part]) -> int:
    """Return 2 where nobody comes from one right answer to the other by a slip."""
    if _bare(right) == _bare(other):
        return 1
    differ = max(len(right), len(other)) - sum(one == two for one, two in zip(right, other, strict=False))
    long = any(isinstance(part, str) and len(part) >= LETTERS and set(part) <= set("x.RL") for part in other)
    return 2 if differ >= PARTS or long else 1


def _bare(parts: Sequence[Part]) -> list[str]:
    """Return parts without their order and their signs."""
    return sorted(str(abs(part)) if isinstance(part, Fraction) else part for part in parts)

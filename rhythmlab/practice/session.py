"""A session of practice, minute by minute: warm-up, the first take, spots, takes, and the breaks."""

from dataclasses import dataclass
from math import ceil

from rhythmlab.core.check import positive, whole
from rhythmlab.core.display import Printed
from rhythmlab.core.types import Number
from rhythmlab.playing.limits import Limits, limits_or
from rhythmlab.refusal import Refusal
from rhythmlab.text import numbers

#: The break belongs to every so many minutes (practice_break).
EVERY = 30
#: Minutes of gentle movement, then of easy known material (practice_warmup).
GENTLE, EASY = 5, 10
#: Longest piece of work on one spot, in minutes (practice_repetitions).
SPOT = 5
#: Longest session, and most minutes of a day, in minutes.
LONGEST, DAY = 480, 1440
_PLAN = "practice.Ladder(84, 120).plan(30)"
#: Minutes for the first take (own choice).
COLD = 2

CARE = (
    "Stop for pain, numbness or tingling, and see a clinician; never play in pain (British Association for "
    "Performing Arts Medicine). "
    "These are general figures: rules where you work, and a clinician who knows you, come first."
)
_GENTLE = (
    "Move gently, without sticks or with slow soft strokes: shoulders, arms, wrists, feet.",
    "About 5 minutes of gentle movement come before any playing (Peabody Institute), and above all before "
    "playing as fast as you can.",
)
_EASY = (
    "Play easy material that you know, and not yet this pair.",
    "Up to 10 minutes of it warm the hands (Peabody Institute); the pair itself stays cold for the first "
    "take.",
)
_BREAK = (
    "Put the sticks down, stand up, drink something.",
    "A break of {minutes} minutes belongs to every 30 of practice (British Association for Performing Arts "
    "Medicine).",
)
_SHORTER = " Here it is shorter, for no session ends on a break."
_TAKEN = (
    "Today's first take was played, so this is what comes after it; after a long pause move gently again "
    "first."
)
_NOTHING_LEFT = "Today's first take was played, and of {length} nothing is left after it."
_WORK = (
    (
        "Slow down, loop the spot that went wrong, and say it while you play.",
        "Few repetitions, 6 at most, and no more than 5 minutes on one spot (Michigan State University): "
        "then "
        "rest it. Slow work on a spot is our own choice of method.",
    ),
    (
        "Play takes {tempo}, with two cycles of rest after each.",
        "Warm takes show what is possible today; they do not move the ladder (own choice).",
    ),
    (
        "Carry it over: swap the hands, feel it from the other home, or turn the sound off for a cycle.",
        "What holds in another form is learned, not only repeated (own choice).",
    ),
)


@dataclass(frozen=True, slots=True)
class SessionPart:
    """A piece of a session.

    Attributes
    ----------
    minutes : int
        How long.
    kind : str
        ``"warm-up"``, ``"first take"``, ``"work"`` or ``"break"``.
    what, why : str
        What to do and the reason, in sentences.
    """

    minutes: int
    kind: str
    what: str
    why: str


class Plan(Printed, list[SessionPart]):
    """The pieces of a session in order; prints as a list with the minute that each begins at.

    Attributes
    ----------
    minutes : int
        Length, breaks included: the sum of the pieces.
    text : str
        What was cut and why, and when to stop, in sentences.
    """

    minutes: int = 0
    text: str = ""

    def __str__(self) -> str:
        at, rows = 0, []
        for piece in self:
            rows.append(f"{at:>4} min  {piece.minutes:>2} min  {piece.what}")
            at += piece.minutes
        return "\n".join([*rows, self.text])


def plan(
    minutes: int,
    *,
    bpm: Number | None = None,
    yesterday: Number | None = None,
    limits: Limits | None = None,
    taken: bool = False,
) -> Plan:
    """Plan a session: warm-up, the first take, work on spots, takes at the step, and breaks.

    Parameters
    ----------
    minutes : int
        Length of the session, breaks included; up to 480.
    bpm : number, optional
        Tempo of the step, to be said.
    yesterday : number, optional
        Minutes of the last day of practice, breaks included: today has at most ten more
        (practice_increase).  After a day off give the day before it.
    limits : Limits, optional
        The limits to use: practice_break and practice_increase; the published ones when left out.
    taken : bool
        Whether the first take of the day was played already: then what comes after it is left.

    Returns
    -------
    Plan
        A list of `SessionPart` whose minutes add up exactly, a break neither first nor last.  No stretch
        without a break is longer than 30 minutes less the break; how the time between is divided is our own
        choice. Where the last break would end the session, it is shorter, so that it is followed by a minute.

    Raises
    ------
    ValueError
        If `minutes` is not a whole number from 1 to 480, or a limit leaves no time to play.

    Examples
    --------
    >>> [(piece.minutes, piece.kind) for piece in plan(30, bpm=84)][:5]
    [(5, 'warm-up'), (6, 'warm-up'), (2, 'first take'), (5, 'break'), (4, 'work')]
    >>> plan(60, yesterday=25).minutes
    35
    """
    wanted = whole(minutes, "minutes", _PLAN, most=LONGEST)
    rows = limits_or(limits, f"{_PLAN[:-1]}, limits=limits(practice_break=5))")
    rest, more = ceil(rows["practice_break"].value), rows["practice_increase"].value
    if rest >= EVERY:
        raise Refusal(
            f"a break of {rest} minutes in every {EVERY} leaves no time to play",
            f"{_PLAN[:-1]}, limits=limits(practice_break=5))",
        )
    total, said = wanted, []
    if yesterday is None:
        said.append(
            "How long you practised the last time is not known: make it at most "
            f"{numbers.number(more)} minutes longer than that (British Association for Performing Arts "
            f"Medicine)."
        )
    else:
        example = f"{_PLAN[:-1]}, yesterday=25)"
        before = positive(yesterday, "yesterday", example, most=DAY, zero=True)
        total = min(wanted, max(1, int(before + more)))
        if total < wanted:
            said.append(
                f"Cut from {wanted} to {numbers.plural(total, 'minute')}: at most {numbers.number(more)} "
                "more than the last day of practice (British Association for Performing Arts Medicine)."
            )
    pieces = _pieces(total, rest, _tempo(bpm))
    if taken:
        pieces = _after_the_first_take(pieces)
        said.insert(0, _TAKEN if pieces else _NOTHING_LEFT.format(length=numbers.plural(total, "minute")))
    made = Plan(pieces)
    made.minutes, made.text = sum(piece.minutes for piece in pieces), " ".join([*said, CARE])
    return made


def _after_the_first_take(pieces: list[SessionPart]) -> list[SessionPart]:
    """Return the pieces that come after the first take; none where a session is too short to have one."""
    kinds = [piece.kind for piece in pieces]
    return pieces[kinds.index("first take") + 1 :] if "first take" in kinds else []


def _tempo(bpm: object) -> str:
    """Say at which tempo to play."""
    return "at the step" if bpm is None else f"at {numbers.number(positive(bpm, 'bpm', _PLAN))} bpm"


def _pieces(total: int, rest: int, tempo: str) -> list[SessionPart]:
    """Return the pieces of a session whose minutes add up to `total`, with breaks of `rest` minutes."""
    breaks = max(0, ceil((total - (EVERY - rest)) / EVERY))
    breaks = min(breaks, (total - 1) // 2)  # a minute before and after each
    play = max(total - breaks * rest, breaks + 1)
    resting = total - play
    quarter = max(1, play // 4)
    begins = [(_GENTLE, min(GENTLE, quarter), "warm-up"), (_EASY, min(EASY, play // 4), "warm-up")]
    cold = (
        f"Play one take {tempo}, the first of the day.",
        "This take alone moves the ladder, for it shows what has stayed since the last time (own choice).",
    )
    begins.append((cold, COLD, "first take"))
    pieces, works = [], 0
    for stretch in range(breaks + 1):
        after = breaks - stretch  # the stretches that follow; the longer ones come first
        left = play * (after + 1) // (breaks + 1) - play * after // (breaks + 1)
        if stretch:
            what, why = _BREAK
            length = min(rest, resting - (breaks - stretch))  # a minute at least for those that follow
            resting -= length
            shorter = _SHORTER if length < rest else ""
            pieces.append(SessionPart(length, "break", what, why.format(minutes=rest) + shorter))
        while left and begins:
            (what, why), wants, kind = begins.pop(0)
            length = min(wants, left)
            if length:
                pieces.append(SessionPart(length, kind, what, why))
            if length < wants and kind == "warm-up":  # goes on after the break
                begins.insert(0, ((what, why), wants - length, kind))
            left -= length
        count = ceil(left / SPOT)
        for i in range(count):
            what, why = _WORK[works % len(_WORK)]
            length = left * (count - i) // count - left * (count - i - 1) // count
            pieces.append(SessionPart(length, "work", what.format(tempo=tempo), why))
            works += 1
    return pieces

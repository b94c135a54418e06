"""The ready assignments, and lists of questions and of seats, checked."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice

from rhythmlab.classroom.posed import CATALOGUE, posed
from rhythmlab.core.check import short, whole
from rhythmlab.refusal import Refusal

#: Highest number of a seat, and most seats at once.
MOST_SEATS, MOST_AT_ONCE = 100_000, 5_000
#: Minutes for a question of each level, worked with pencil and paper (our own estimate).
MINUTES = {1: 4, 2: 6, 3: 8}


@dataclass(frozen=True, slots=True)
class Ready:
    """A ready assignment.

    Attributes
    ----------
    name, title : str
        As it is called in code, and on its page.
    ids : tuple of str
        Its questions, in order.
    """

    name: str
    title: str
    ids: tuple[str, ...]

    @property
    def minutes(self) -> int:
        """About how long it takes."""
        return minutes_of(self.ids)


def minutes_of(ids: Iterable[str]) -> int:
    """Return about how many minutes questions take, in steps of five (our own estimate).

    Examples
    --------
    >>> minutes_of(["grid-ticks", "grid-rows"])
    10
    """
    return -(-sum(MINUTES[posed(id).level] for id in ids) // 5) * 5


#: The ready assignments by name.
READY = {
    one.name: one
    for one in (
        Ready(
            "grid-and-composite",
            "Grid and composite",
            (
                *("grid-ticks", "grid-rows", "grid-three"),
                *("composite-sounds", "composite-intervals", "composite-how-often", "place-syllables"),
            ),
        ),
        Ready(
            "feels-and-tempo",
            "Feels and tempo",
            (
                *("place-syllables", "place-parts", "place-both"),
                *("tempo-flip", "tempo-cycle", "tempo-modulation", "ways-count-ceiling"),
            ),
        ),
        Ready(
            "gap-cycles",
            "Gap cycles",
            (
                "gaps-midway",
                "gaps-signed",
                "gaps-flam-tempo",
                "tempo-cycle",
                "ways-ones-floor",
                "ways-choose",
            ),
        ),
        Ready(
            "phrase-stick-and-place",
            "Phrase, stick and place in a bar",
            (
                *("phrase-fours", "phrase-accents", "phrase-ways"),
                *("sticking-write", "sticking-fault", "sticking-home"),
                *("metre-home", "metre-beats", "metre-meeting"),
            ),
        ),
        Ready(
            "hear-and-read",
            "Hear and read",
            ("read-length", "read-pair", "read-odd", "hear-pair", "hear-home", "hear-odd"),
        ),
    )
}


def ids_of(ids: Iterable[str]) -> tuple[str, ...]:
    """Return ids of questions, each once and known, or refuse them.

    Examples
    --------
    >>> ids_of(["grid-ticks", "grid-rows"])
    ('grid-ticks', 'grid-rows')
    """
    example = "ids=['grid-ticks', 'grid-rows']"
    try:
        known = (ids,) if isinstance(ids, str) else tuple(islice(ids, len(CATALOGUE) + 1))
    except TypeError:
        raise Refusal(f"ids={short(ids)} is not a list of ids", example, argument="ids") from None
    for id in known:
        posed(id, example)
    twice = next((id for id in known if known.count(id) > 1), None)
    if twice is not None or not known:
        wrong = f"{twice!r} is in it twice" if twice else "there is no question in it"
        raise Refusal(f"ids={short(list(known))}: {wrong}", example, argument="ids")
    return known


def seats_of(seats: int | Iterable[int]) -> tuple[int, ...]:
    """Return numbers of seats, each once, or refuse them.

    Examples
    --------
    >>> seats_of(range(1, 4))
    (1, 2, 3)
    """
    example = "seats=range(1, 31)"
    if isinstance(seats, str) or not isinstance(seats, Iterable | int):
        raise Refusal(f"seats={short(seats)} is not a list of numbers", example, argument="seats")
    several = islice(seats, MOST_AT_ONCE + 1) if isinstance(seats, Iterable) else [seats]
    found = [whole(seat, "seat", example) for seat in several]
    twice = next((seat for seat, times in Counter(found).items() if times > 1), None)
    wrong = ""
    if not found:
        wrong = "seats=[]: there is no seat in it"
    elif len(found) > MOST_AT_ONCE:
        wrong = f"seats holds more than {MOST_AT_ONCE:,}, the most at once"
    elif max(found) > MOST_SEATS:
        wrong = f"seat={short(max(found))} is more than {MOST_SEATS:,}"
    elif twice is not None:
        wrong = f"seats={short(found)}: seat {twice} is in it twice"
    if wrong:
        raise Refusal(wrong, example)
    return tuple(found)


def questions_of(name: str, ids: Iterable[str] | None, example: str) -> tuple[str, ...]:
    """Return the questions of an assignment: those given, or those of a ready one.

    Raises
    ------
    ValueError
        If none are given and the assignment is no ready one, or they cannot be used.
    """
    if ids is not None:
        return ids_of(ids)
    if name not in READY:
        raise Refusal(
            f"name={short(name)} is no ready assignment ({', '.join(READY)}); give its questions",
            example,
            argument="name",
        )
    return READY[name].ids

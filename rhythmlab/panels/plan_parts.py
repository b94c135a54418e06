"""What a workshop is made of: for each level its parts in order, with what to say, to ask and to run."""

from dataclasses import dataclass

#: For whom a workshop is planned.
LEVELS = ("first time", "knows 3:2", "plays 7:4")
_WALL = ("the wall", "put-two-numbers-on-the-wall.ipynb")
_PAGES = {
    0: "00-make-two-numbers-one-rhythm.ipynb",
    1: "01-find-the-shared-grid.ipynb",
    2: "02-merge-two-pulses.ipynb",
    3: "03-choose-the-home-pulse.ipynb",
    4: "04-follow-the-gap-cycle.ipynb",
    5: "05-choose-how-to-learn-it.ipynb",
    6: "06-phrase-and-stick-large-numbers.ipynb",
    7: "07-put-it-in-a-groove.ipynb",
    8: "08-practise-and-keep-a-journal.ipynb",
}


@dataclass(frozen=True, slots=True)
class Unit:
    """A part of a workshop in which the room plays.

    Attributes
    ----------
    name : str
        What it is about.
    rank : int
        How soon it is taken up where there is little time: 0 first.
    say, ask : str
        What to say, and what to ask the room.
    run : tuple of tuple of str
        What to put on the wall: each a name and a link from the folder of the workshop.
    pairs : tuple of tuple of int
        What is played.
    """

    name: str
    rank: int
    say: str
    ask: str
    run: tuple[tuple[str, str], ...]
    pairs: tuple[tuple[int, ...], ...]


def _unit(
    name: str, rank: int, pages: tuple[int, ...], pairs: tuple[tuple[int, ...], ...], say: str, ask: str
) -> Unit:
    named = [(f"page {page:02}", f"../{_PAGES[page]}") for page in pages]
    return Unit(name, rank, say, ask, (_WALL, *named), pairs)


UNITS: dict[str, tuple[Unit, ...]] = {
    "first time": (
        _unit("One hand walks, one hand runs", 1, (0,), ((1, 1), (2, 1), (3, 1)),
              "Clap together, then two claps to every step, then three.",
              "Which of the two would you tap your foot to?"),
        _unit("Three against two, by its words", 0, (0,), ((3, 2),),
              "Say it before you clap it: together, right, left, right.",
              "How many sounds are there, and how many claps?"),
        _unit("Left half, right half", 2, (), ((3, 2),),
              "The left half of the room claps the upper row, the right half the lower one. Then change.",
              "Who hears the other half, and who only counts?"),
        _unit("Four against three, by its words", 0, (2,), ((4, 3),),
              "Together, right, left, right, left, right: one line, shared by two hands.",
              "Where are the two longest spaces?"),
        _unit("Why it works: the shared grid", 3, (1,), ((3, 2), (4, 3)),
              "Both pulses fit on one grid; find the smallest one.",
              "How many boxes does 4 against 3 need?"),
        _unit("The other home", 4, (3,), ((4, 3),),
              "Hands stay as they are. The foot goes from the 3 to the 4, and the room feels another tune.",
              "What has moved, if no stroke has?"),
        _unit("Numbers from the room", 5, (), ((5, 3), (7, 4)),
              "Call out two numbers from 2 to 9. We hear them before we judge them.",
              "Is it hard because it is fast, or because it is long?"),
        _unit("Into bars", 7, (7,), ((4, 3),),
              "Three bars of time, one bar of the pair, and everybody lands on the 1.",
              "Whose foot stopped?"),
        _unit("Two that drift", 6, (4,), ((16, 15),),
              "Neighbours above ten start together, come apart and meet again. Only listen at first.",
              "When do the two sound like an echo, and when like one line?"),
        _unit("Three rows of seats", 8, (2,), ((3, 4, 5),),
              "Each row has its own pulse, and all meet once a cycle.",
              "Which row do you follow when you are lost?"),
    ),
    "knows 3:2": (
        _unit("Warm up on the line", 0, (2,), ((3, 2), (4, 3)),
              "Say the merged line, sing it, rest for two cycles, and land on the one.",
              "Did the rest stay as long as the cycle?"),
        _unit("Five against four", 2, (2,), ((5, 4),),
              "4 1 3 2 2 3 1 4: the line reads the same backwards. Learn it as one line, slowly.",
              "Which stroke is just before the beat, and which is just after it?"),
        _unit("Seven against four", 1, (5,), ((7, 4),),
              "Ten sounds. Learn them as one line, slowly, and let the wall say how fast that goes.",
              "What would you do if it were twice as fast?"),
        _unit("Flip home", 3, (3,), ((4, 3), (7, 4)),
              "Foot on one home for four cycles, silent for one, then on the other.",
              "Did your hands move when home did?"),
        _unit("Numbers from the room", 4, (), ((5, 3), (7, 5)),
              "Call out two numbers. The wall says which way of learning fits, and up to which tempo.",
              "Which numbers have a common factor, and what is left of them?"),
        _unit("Bars of time, a bar of the pair", 5, (7,), ((7, 4),),
              "The feet never stop. Land on the 1, then on the 3.",
              "What did you count: the bar, or the pair?"),
        _unit("A large number in small words", 6, (6,), (),
              "31 as seven fours and a three: say the groups, not the numbers.",
              "Where does the short group go, at the end or in the middle?"),
        _unit("Two that drift", 7, (4,), ((16, 15),),
              "Stand side by side. Follow the gap as it opens, takes turns, and closes.",
              "Which half is ahead now?"),
        _unit("Name the hidden home", 9, (3,), ((7, 4),),
              "I tap a home that you cannot hear. Look away, and feel which one makes sense of it.",
              "The 7 or the 4, and how do you know?"),
        _unit("A step for tomorrow", 8, (8,), ((5, 4), (7, 4)),
              "Find the tempo that is easy today, and write it down. Tomorrow starts there, cold.",
              "Which spot breaks first?"),
    ),
    "plays 7:4": (
        _unit("Flip on call", 0, (3,), ((7, 4),),
              "Home moves every eight cycles, then every four, then every two, and the sounds are equal.",
              "At which call did a stroke move?"),
        _unit("One pair, two ways", 2, (5,), ((8, 5),),
              "Half of the room learns the line, the other half counts. Then speed it up.",
              "Which half gives up first, and at which tempo?"),
        _unit("The drift", 1, (4,), ((16, 15),),
              "From flam to open flam to taking turns, and back. Name the leading hand.",
              "Where exactly are the two midway?"),
        _unit("Landmarks by ear", 3, (4,), ((32, 31),),
              "A cycle that is too long to feel: go by the a, the & and the e. The wall calls the next one.",
              "Come in at a landmark, not at the one. Who was there?"),
        _unit("Bars of time, a bar of the pair", 4, (7,), ((7, 4), (8, 5)),
              "Enter late, and land on 2, on 3, on 4.",
              "Where do you enter so that it lands there?"),
        _unit("Numbers from the room", 5, (), ((11, 8), (13, 12)),
              "Two numbers above ten. Decide before you play: the line, the count, the ones or the drift.",
              "Which simple pair is this one close to?"),
        _unit("A large number in small words", 6, (6,), (),
              "16 as 4 4 4 4 beside 15 as 4 4 4 3.",
              "Which hand leads the last group?"),
        _unit("An accent that walks", 7, (7,), (),
              "An accent every five in 7/8: it comes home after five bars.",
              "On which beats does it meet the bar?"),
        _unit("Three rows of seats", 8, (2,), ((3, 4, 5),),
              "Each row has a pulse, one foot keeps the 4, and home goes from row to row.",
              "Count the 3 from the 4. How many parts to a beat?"),
        _unit("Cold takes", 9, (8,), ((7, 4), (8, 5)),
              "One take each without a warm-up of the pair. Cold and clean is what moves the ladder up.",
              "What would you work on tomorrow, first thing?"),
    ),
}  # fmt: skip

"""The row of the count: drawn whole, or alike in each bar, and what has its number is said."""

import re
from itertools import product

import pytest

import rhythmlab as rl
from rhythmlab.core.feel import Feel
from rhythmlab.draw.pictures import strip_in_words
from rhythmlab.draw.scene import Scene, Text
from rhythmlab.panels.wall import WALL_WIDTH, bared, in_quarters
from rhythmlab.text.numbers import nth
from tests.profile import some

NTH = {nth(i - 1): i for i in range(1, 200)}
METRES = ["3/4", "4/4", "7/4", "11/8", "2+2+3/8", "6/8", "7/16", "1/4", "2/16"]
GROOVES = [
    *(("accents", every, metre) for every, metre in product((3, 5, 7, 11), METRES)),
    *(("resolve", pair, metre) for pair in ((5, 3), (7, 4), (24, 23)) for metre in METRES[1:7]),
    *(("ostinato", hands, metre) for hands in ("x.x.xx", "xx.") for metre in METRES),
]
PAIRS = [(p, q) for p, q in product((2, 3, 7, 15, 16, 31, 64, 99, 128), repeat=2) if p != q]


def made(kind: str, what: object, metre: str) -> rl.Cycle:
    """Return one of the grooves."""
    if kind == "accents":
        return rl.playing.accents(metre, what)
    if kind == "ostinato":
        return rl.ostinato("x..x..x.", what, metre=metre)
    return rl.playing.resolve(what, metre)


def expected(cycle: rl.Cycle, said: str, start: int, stop: int) -> list[int]:
    """Return the beats that have their number, as it is said in a picture."""
    beats = [tick for tick in cycle.beats.tolist() if start <= tick < stop]
    bars = [tick for tick in cycle.bars.tolist() if start <= tick < stop]
    if not said:
        return beats
    if every := re.fullmatch(r"every (\w+) beat", said):
        return beats[:: NTH[every[1]]]
    if first := re.fullmatch(r"from (\d+)", said):
        return beats[int(first[1]) - 1 :]
    one = re.fullmatch(r"([\d, ]+) in every (?:(\w+) )?bar", said)
    assert one, said
    kept = bars[:: NTH[one[2]] if one[2] else 1]
    counted = set(map(int, one[1].split(", ")))
    in_bar = {bar: [tick for tick in beats if max(b for b in bars if b <= tick) == bar] for bar in kept}
    return [tick for rows in in_bar.values() for number, tick in enumerate(rows, 1) if number in counted]


def check(scene: Scene, cycle: rl.Cycle, role: str) -> bool:
    """Hold that a row of numbers is as it is said; return whether some are left out."""
    rows: dict[float, list[int]] = {}
    for mark in scene.marks:
        if isinstance(mark, Text) and mark.role == role:
            rows.setdefault(mark.y, []).append(int(mark.x))
    notes = [
        mark.text for mark in scene.marks if isinstance(mark, Text) and mark.text.startswith("counted: ")
    ]
    assert len(notes) <= 1
    for ticks in rows.values():
        said = notes[0].removeprefix("counted: ") if notes else ""
        assert ticks == expected(cycle, said, scene.start, scene.stop), notes
    assert re.findall("counted: [^;.]*", scene.alt)[-1:] == notes
    return bool(notes)


@pytest.mark.parametrize("width", [WALL_WIDTH, 860])
def test_the_numbers_of_bars_are_alike_in_each(width):
    """Accents, fills and patterns, on a page and on a wall, bare too: no number is left out in silence."""
    found = set()
    for kind, what, metre in some(GROOVES, 6, width, [("accents", 5, "7/16"), ("resolve", (24, 23), "11/8")]):
        cycle = made(kind, what, metre)
        scene = rl.pictures.strip(cycle, width=width)
        found.add(check(scene, cycle, "big"))
        check(bared(scene), cycle, "bare")
    assert found == {True, False}


@pytest.mark.parametrize("home", [0, 1])
def test_the_numbers_of_a_pair_are_all_there_or_every_so_many(home):
    """Homes up to 128 beats, each width, with halves of a room and without, by landmarks, bare."""
    found = set()
    for pair in some(PAIRS, 5, home, [(64, 3), (128, 127)]):
        p = rl.Polyrhythm(*pair)
        cycle = p.cycle(home)
        for width in (WALL_WIDTH, 860):
            scene = strip_in_words(cycle, (), width=width)
            found.add(check(scene, cycle, "big"))
            check(in_quarters(scene, Feel(p, home), cycle), cycle, "big")
            check(bared(scene), cycle, "bare")
        grid = rl.pictures.shared_grid(cycle)
        check(grid, cycle, "big")
    assert found == {True, False}


def test_a_room_in_halves_is_told_as_it_is_drawn():
    """The names of the halves take room from the numbers: the words speak of the picture with them."""
    for pulses in ((16, 15), (64, 3), (3, 64), (7, 4), (23, 24)):
        panel = rl.pages.wall(*pulses)
        for picture in panel.stage.pictures:
            words, drawn = picture["svg"].split("viewBox")
            told = re.findall('counted: [^<;."]*', words)
            assert re.findall("counted: [^<]*", drawn) == told, pulses

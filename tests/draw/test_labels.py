"""Labels can be read: none lies on another or on a stroke, none leaves the canvas; nothing is a smear."""

import re
from itertools import pairwise, product

import pytest

import rhythmlab as rl
from rhythmlab.draw.pictures import spoken
from rhythmlab.draw.scene import ROW, WIDTH, Scene, Text
from rhythmlab.draw.svg import LETTERS
from rhythmlab.text.counts import OPENERS
from tests.audio.measure import box, outside, overlaps, width
from tests.profile import some

#: Roles of the numbers of the heard line.
HEARD = ("plain", "fine", "fine number")
UP_TO_SIXTEEN = list(product(range(1, 17), repeat=2))
MORE = [(3, 4, 5), (2, 3, 4, 5), (16, 15, 14), (120, 119, 7), (32, 31), (64, 63), (40, 30), (128, 127)]
LARGE = [
    *((128, 127), (1000, 999), (256, 255), (254, 255), (9999, 9998), (10007, 9973), (19999, 1)),
    *((1000, 3), (3, 1000), (1000, 1), (131, 1000), (130, 3), (130, 129, 128)),
]


def tide(p: rl.Polyrhythm, home: int, bpm: int = 60) -> Scene:
    """Draw the gaps of the next pulse from home."""
    gaps = rl.phase_gaps(p, of=(home + 1) % len(p.pulses), against=home)
    return rl.pictures.gap_cycle(rl.playing.zones(gaps, rl.Tempo(bpm, pulse=home)))


def every_picture(pulses: tuple[int, ...]) -> list[Scene]:
    """Return all pictures of a rhythm, from all its homes."""
    p = rl.Polyrhythm(*pulses)
    scenes = [rl.pictures.homes(p, rl.Tempo(72, pulse=0))]
    for home in range(len(pulses)):
        scenes += [rl.pictures.strip(p.cycle(home)), rl.pictures.shared_grid(p.cycle(home)), tide(p, home)]
    return scenes


@pytest.mark.parametrize("rows", [UP_TO_SIXTEEN[:128], UP_TO_SIXTEEN[128:], MORE, LARGE])
def test_no_label_lies_on_another_and_none_leaves_the_canvas(rows):
    """For all pairs up to 16:16, several pulses and large pairs, in every picture, from every home."""
    for pulses in some(rows, 3, rows[0]):
        for scene in every_picture(pulses):
            assert overlaps(scene) == [], (pulses, scene.name, scene.alt[:60])
            assert outside(scene) == [], (pulses, scene.name, scene.alt[:60])


@pytest.mark.parametrize("rows", [UP_TO_SIXTEEN[::3], MORE, LARGE])
def test_no_label_lies_on_a_stroke(rows):
    """The midway stroke's name and the counts keep clear of every stroke."""
    for pulses in some(rows, 3, rows[0]):
        for scene in every_picture(pulses):
            strokes = [
                (scene.x(s.x), s.y * ROW, scene.radius * (0.62 if s.small else 1)) for s in scene.strokes()
            ]
            for text in (m for m in scene.marks if isinstance(m, Text) and m.side in ("", "from")):
                left, right, top, bottom = box(scene, text)
                for x, y, radius in strokes:
                    across, down = max(left - x, 0, x - right), max(top - y, 0, y - bottom)
                    assert across**2 + down**2 >= radius**2, (pulses, scene.name, text.text)


@pytest.mark.parametrize("pulses", [(16, 15), (128, 127), (1000, 999), (3, 4, 5)])
def test_labels_in_a_window_from_the_middle_can_be_read(pulses):
    """Wherever the window begins, numbers stand apart, also those of four digits."""
    p = rl.Polyrhythm(*pulses)
    for share, length in product((0.1, 0.4, 0.9), (0.01, 0.03, 0.1)):
        start = int(p.ticks * share)
        stop = min(p.ticks, start + max(20, int(p.ticks * length)))
        for home in range(len(pulses)):
            for draw in (rl.pictures.strip, rl.pictures.shared_grid):
                scene = draw(p.cycle(home), start=start, stop=stop)
                assert len(pulses) > 2 or [m for m in scene.marks if isinstance(m, Text) and m.role == "big"]
                assert overlaps(scene) == []
                assert outside(scene) == []
    signs = rl.pictures.strip(rl.Polyrhythm(16, 15).cycle(), start=120, stop=200)
    assert {"KA", "TA a"} <= {m.text for m in signs.marks if isinstance(m, Text)}


def said(scene: Scene, what: str) -> tuple[int, int]:
    """Return how many numbers or words a picture says have no room, and of how many."""
    where = rf"too close together to write (\S+)(?: of (\S+))? {what}"
    found = [re.fullmatch(where, m.text) for m in texts(scene)]
    (row,) = [one.groups() for one in found if one] or [("0", "0")]
    return tuple(int(number.replace("\N{NO-BREAK SPACE}", "")) for number in (row[0], row[1] or row[0]))


def wordless(scene: Scene) -> int:
    """Return of how many places a picture says that there is no word for them."""
    found = [re.fullmatch(r"no word for (\S+) places?: \S+ parts to a beat", m.text) for m in texts(scene)]
    return sum(int(one[1].replace("\N{NO-BREAK SPACE}", "")) for one in found if one)


def texts(scene: Scene) -> list[Text]:
    """Return the words of a picture."""
    return [mark for mark in scene.marks if isinstance(mark, Text)]


@pytest.mark.parametrize("width", [400, 600, WIDTH])
@pytest.mark.parametrize(
    "rows", [list(product(range(2, 25), repeat=2)), [(3, 4, 5), (32, 31), (64, 63), (40, 30)]]
)
def test_no_number_and_no_place_is_left_out_in_silence(width, rows):
    """What is written in the heard row and the count, and what is said to have no room, are all there are."""
    for pulses in some(rows, 8, (width, len(rows)), [(13, 8), (7, 4), (9, 8)]):
        p = rl.Polyrhythm(*pulses)
        for home in range(len(pulses)):
            scene = rl.pictures.strip(p.cycle(home), width=width)
            heard = 2.0 if len(pulses) == 2 else 3.0
            written = [m for m in texts(scene) if m.role in HEARD and m.side == ""]
            levels = sorted({m.y - heard for m in written})
            assert all(y == 0 or (y - 0.5) / 0.36 == pytest.approx(round((y - 0.5) / 0.36)) for y in levels)
            line = rl.composite(p)
            left_out, of = said(scene, "numbers of the heard row")
            assert len(written) + left_out == len(line), (pulses, home)
            assert of == (len(line) if left_out else 0)
            assert not {m.text for m in written} - set(map(str, line.intervals.tolist()))
            for m in written:  # each in the middle of its own gap
                at = [i for i, tick in enumerate(line.onsets) if tick + line.intervals[i] / 2 == m.x]
                assert str(line.intervals[at[0]]) == m.text
            places = [len(set(p.onsets(i)) - set(p.onsets(home))) for i in range(len(pulses)) if i != home]
            small = [m for m in texts(scene) if m.role == "small" and m.side == ""]
            without, all_places = said(scene, "words of the count")
            assert len(small) + without + wordless(scene) == sum(places), (pulses, home)
            assert all_places == (sum(places) - wordless(scene) if without else 0)
            assert overlaps(scene) == []


@pytest.mark.parametrize("width", [400, 600, WIDTH])
@pytest.mark.parametrize("metre", ["4/4", "5/4", "2+2+3/8", "3+2/8"])
@pytest.mark.parametrize("bars", [2, 4, 8, 12])
def test_no_hand_of_a_fill_touches_another(bars, metre, width):
    """The strokes of a fill stand closer than those of its bars; hands are written where all have room."""
    made = rl.playing.resolve((7, 4), metre, bars=bars)
    scene = rl.pictures.strip(made, width=width)
    assert overlaps(scene) == []
    letters = [mark.x for mark in scene.marks if isinstance(mark, Text) and mark.role in LETTERS]
    (fill,) = [lane.onsets.tolist() for lane in made.lanes if lane.name == "fill"]
    assert letters in ([], fill)
    assert letters or bars > 2 or width == 400


@pytest.mark.parametrize("number", some(range(5, 100), 8, "hands of a phrase", [62]))
def test_hands_of_a_long_phrase_do_not_touch(number):
    """From letter to letter 3 px stay clear, however many strokes; where that cannot be, none is written."""
    hands = "RL" * number
    phrase = rl.phrases(number)[0]
    scene = rl.pictures.strip(phrase.cycle(hands=hands[:number], name="phrase", limb="hands", sound="snare"))
    written = sorted(
        (box(scene, mark)[:2] for mark in scene.marks if isinstance(mark, Text) and mark.role in LETTERS),
    )
    assert len(written) in ((number,) if number <= 62 else (0, number))
    assert all(after - before >= 3 for (_, before), (after, _) in pairwise(written))


def test_the_wall_holds_every_number_of_13_against_8():
    """All twenty numbers and twelve places, on the width of a wall."""
    scene = rl.pictures.strip((13, 8), width=600)
    assert [mark.text for mark in texts(scene) if mark.text.startswith("too close")] == []


@pytest.mark.parametrize("metre", ["4/4", "7/8", "2+2+3/8", "5/4", "12/8"])
@pytest.mark.parametrize("pair", [(7, 4), (5, 3), (7, 5)])
def test_the_wall_holds_every_number_of_a_groove(pair, metre):
    """Fills of one to four bars, feet against hands and a moving accent: no number is left out on a wall."""
    made = [rl.playing.resolve(pair, metre, bars=bars) for bars in (1, 2, 4)]
    made += [rl.playing.accents(metre, every) for every in pair]
    for cycle in made:
        scene = rl.pictures.strip(cycle, width=600)
        assert said(scene, "numbers of the heard row") == (0, 0), (cycle, scene.rows)
        assert overlaps(scene) == []
        line = rl.composite(cycle, start=scene.start, stop=scene.stop)
        ends = line.onsets + line.intervals <= scene.stop
        heard = next(m for m in texts(scene) if m.text == "heard").y
        under = [m for m in texts(scene) if m.role in HEARD and not m.side and m.y >= heard]
        numbers = [m for m in under if m.y < heard + 0.5 + 3 * 0.36]
        assert len(numbers) == ends.sum()


@pytest.mark.parametrize("bpm", [1, 5, 20, 300, 1000])
def test_the_names_of_heights_fit_at_any_tempo(bpm):
    """Milliseconds, or seconds from a thousand of them on, stay on the canvas and off each other."""
    scene = tide(rl.Polyrhythm(16, 15), 1, bpm)
    assert overlaps(scene) == []
    assert outside(scene) == []


@pytest.mark.parametrize("pulses", [(1, 1), (2, 1), (3, 1), (3, 2), (4, 3), (5, 4)])
def test_words_to_clap_can_be_read(pulses):
    """No word to say touches its neighbour."""
    scene = spoken(rl.Polyrhythm(*pulses))
    assert overlaps(scene) == []
    assert outside(scene) == []


def test_long_names_of_lanes_have_room():
    """A lane called bass drum is read in full: the gutter grows, and strokes and labels go with it."""
    lanes = [
        rl.Lane("bass drum", [0, 6]),
        rl.Lane("high wood block", [0, 3, 6, 9]),
        rl.Lane("bell", [0, 4, 8]),
    ]
    cycle = rl.Cycle(12, lanes, beats=[0, 4, 8])
    for scene in (
        rl.pictures.strip(cycle),
        rl.pictures.shared_grid(cycle),
        rl.pictures.strip(cycle, start=0, stop=5),
    ):
        assert outside(scene) == []
        assert overlaps(scene) == []
        assert scene.x(scene.stop) == WIDTH - scene.right


@pytest.mark.parametrize("pulses", LARGE)
def test_a_large_pair_gives_a_window_and_never_a_smear(pulses):
    """At most 140 strokes (130 a pulse in the tide), none touching the next; the words name the window."""
    p = rl.Polyrhythm(*pulses)
    for scene in every_picture(pulses):
        seen = {(s.lane, s.x) for s in scene.strokes()}
        most = 260 if scene.name == "gap cycle" else 140
        assert 3 <= len(seen) <= most, (scene.name, len(seen))
        if scene.stop - scene.start < p.ticks:
            shown = f"ticks 0 to {scene.stop - 1:,} of {p.ticks:,}".replace(",", "\N{NO-BREAK SPACE}")
            assert shown in scene.alt
        for lane in range(len(pulses)):
            at = sorted({scene.x(stroke.x) for stroke in scene.strokes(lane)})
            assert len(at) <= 130
            sizes = {2 * scene.radius * (0.62 if s.small else 1) for s in scene.strokes(lane)}
            assert all(b - a >= max(sizes) - 0.05 for a, b in pairwise(at))


def test_what_lies_in_a_large_window_is_what_is_there():
    """128:127 from its start: both pulses stroke by stroke, in the picture of both homes as well."""
    p = rl.Polyrhythm(128, 127)
    scenes = [
        rl.pictures.strip(p.cycle(0)),
        rl.pictures.strip(p.cycle(1)),
        rl.pictures.shared_grid(p.cycle()),
        rl.pictures.homes(p),
    ]
    for scene in scenes:
        rows = {(s.lane, s.y) for s in scene.strokes()}
        for lane, y in rows:
            drawn = [s.x for s in scene.strokes(lane) if s.y == y]
            assert drawn == list(range(0, scene.stop, (127, 128)[lane]))
    assert len({(s.lane, s.y) for s in scenes[-1].strokes()}) == 4


def test_the_rough_width_of_a_letter_is_a_fair_one():
    """The px a letter is given when labels are thinned are near to the painters' font."""
    assert width("3.14", "small") <= 4 * 8.5
    assert width("12", "big") <= 2 * 12.6
    signs = {**{letter: 11.0 for opener in OPENERS for letter in opener.upper()}, "&": 11.0, " ": 4.5}
    for opener, after in product(OPENERS, ("", " e", " &", " a")):
        word = f"{opener.upper()}{after}"
        assert width(word, "small") <= sum(signs.get(letter, 8.5) for letter in word) + 0.2


@pytest.mark.parametrize(
    ("pulses", "numbers"),
    [((64, 63), list(range(1, 64, 5))), ((32, 31), list(range(1, 32, 2))), ((16, 15), list(range(1, 16)))],
)
def test_beats_that_are_thinned_out_are_counted_from_one(pulses, numbers):
    """Every second or every fifth number stands, the first of them 1, in the strip and the grid."""
    p = rl.Polyrhythm(*pulses)
    for scene in (rl.pictures.strip(p.cycle()), rl.pictures.shared_grid(p.cycle())):
        shown = [int(m.text) for m in scene.marks if isinstance(m, Text) and m.role == "big"]
        assert shown[0] == 1
        assert len({b - a for a, b in pairwise(shown)}) == 1
        assert shown == numbers

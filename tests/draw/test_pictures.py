"""What is drawn of the heard line, the grid, the hands and the homes, against strokes laid out here."""

import re
from fractions import Fraction
from math import gcd, lcm

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.draw.pictures import spoken
from rhythmlab.draw.scene import Band, Line, Rule, Scene, Text
from rhythmlab.draw.svg import HANDS, ON_PAPER
from rhythmlab.playing.fill import resolve
from rhythmlab.text import counts
from tests import brute
from tests.audio.measure import outside, overlaps
from tests.profile import tries
from tests.strategies import cycles

FEW = settings(max_examples=tries(40), deadline=None)
numbers = st.integers(1, 16)
small = st.builds(rl.Polyrhythm, numbers, numbers)
some_pulses = st.one_of(
    small, st.lists(st.integers(1, 9), min_size=3, max_size=4).map(lambda n: rl.Polyrhythm(*n))
)
homes_of = st.integers(0, 3)


def texts(scene: Scene, role: str, side: str = "") -> list[tuple[float, float, str]]:
    """Where each text of a role stands, from left to right in each row, and what it says."""
    found = [m for m in scene.marks if isinstance(m, Text) and m.role == role and m.side == side]
    return sorted(((m.x, m.y, m.text) for m in found), key=lambda mark: (mark[1], mark[0]))


def rules(scene: Scene, role: str) -> list[int]:
    """Ticks of the rules of a role."""
    return sorted(mark.x for mark in scene.marks if isinstance(mark, Rule) and mark.role == role)


def rows_of(scene: Scene) -> dict[int, set[float]]:
    """In which rows each lane has its strokes."""
    return {s.lane: {t.y for t in scene.strokes(s.lane)} for s in scene.strokes()}


@pytest.mark.parametrize("draw", [rl.pictures.strip, rl.pictures.shared_grid])
@FEW
@given(p=some_pulses, home=homes_of)
def test_every_stroke_stands_at_its_share_of_the_cycle(draw, p, home):
    """Each lane has a row of its own; stroke k of n is k/n of the way from one edge to the other."""
    scene = draw(p.cycle(home % len(p.pulses)))
    assert len(scene.strokes()) == sum(p.pulses)
    for lane, pulse in enumerate(p.pulses):
        drawn = [scene.x(stroke.x) for stroke in scene.strokes(lane)]
        assert drawn == pytest.approx([float(76 + Fraction(780 * k, pulse)) for k in range(pulse)])
    rows = rows_of(scene)
    assert all(len(ys) == 1 for ys in rows.values())
    order = [min(rows[lane]) for lane in range(len(p.pulses))]
    assert order == sorted(set(order))
    for lane, pulse in enumerate(p.pulses):
        assert [text for _, y, text in texts(scene, "name", "left") if y == order[lane]] == [str(pulse)]
        (line,) = (m for m in scene.marks if isinstance(m, Line) and m.role == f"lane{lane}")
        assert (line.left, line.top, line.right, line.bottom) == (0, order[lane], p.ticks, order[lane])


@pytest.mark.parametrize("draw", [rl.pictures.strip, rl.pictures.shared_grid])
@FEW
@given(p=some_pulses, home=homes_of)
def test_home_is_where_the_heavy_lines_and_the_big_numbers_stand(draw, p, home):
    """Heavy lines on the strokes of home and nowhere else; big numbers count them from 1 on every line."""
    home %= len(p.pulses)
    scene = draw(p.cycle(home))
    beats = brute.strokes(p)[home]
    assert rules(scene, "beat") == beats
    assert rules(scene, "edge") == [0, p.ticks]
    rows = {y for _, y, _ in texts(scene, "big")}
    assert rows
    for row in rows:
        counted = [(x, text) for x, y, text in texts(scene, "big") if y == row]
        assert counted == [(tick, str(n)) for n, tick in enumerate(beats, 1)]


@pytest.mark.parametrize("draw", [rl.pictures.strip, rl.pictures.shared_grid])
@FEW
@given(p=some_pulses)
def test_strokes_that_fall_together_are_tied_and_all_seen(draw, p):
    """Where all pulses meet a bar joins the rows, and every stroke lies over it, in a row of its own."""
    scene = draw(p.cycle())
    ticks = lcm(*p.pulses)
    together = list(range(0, ticks, ticks // gcd(*p.pulses)))
    assert rules(scene, "tie") == together
    ys = [min(rows) for _, rows in sorted(rows_of(scene).items())]
    for i, mark in enumerate(scene.marks):
        if isinstance(mark, Rule) and mark.role == "tie":
            assert min(ys) < mark.top < min(ys) + 0.4
            assert max(ys) - 0.4 < mark.bottom < max(ys)
            there = [m for m in scene.marks[i:] if m in scene.strokes() and m.x == mark.x]
            assert sorted(stroke.lane for stroke in there) == list(range(len(p.pulses)))


@FEW
@given(p=some_pulses, home=homes_of)
def test_the_heard_line_is_drawn_between_the_rows_with_its_intervals(p, home):
    """A short line at every sound on one band, the ticks to the next in the middle; no sign is wrong."""
    scene = rl.pictures.strip(p.cycle(home % len(p.pulses)))
    onsets, _ = brute.merged(brute.strokes(p))
    assert rules(scene, "sound") == onsets
    (band,) = (m for m in scene.marks if isinstance(m, Band))
    assert (band.left, band.right, band.role) == (0, p.ticks, "heard")
    ys = sorted(min(rows) for rows in rows_of(scene).values())
    above = sum(y < band.top for y in ys)
    assert above == -(-len(ys) // 2)
    assert all(y < band.top or y > band.bottom for y in ys)
    middles = {
        tick + Fraction(n, 2): str(n)
        for tick, n in zip(onsets, brute.intervals(onsets, p.ticks), strict=True)
    }
    written = {Fraction(x): text for x, y, text in texts(scene, "plain") if band.top < y < band.bottom}
    assert written.items() <= middles.items()
    assert all(text in written.values() for text in middles.values() if int(text) * 780 > 40 * p.ticks)


def word_at(place: Fraction, parts: int, groups: tuple[int, ...] = ()) -> str:
    """Return the word of a place, in beats from 0, out of a beat as the sentence under it says it."""
    beat, share = divmod(place, 1)
    part = int(share * parts)
    said = counts.aloud(beat + 1, parts, groups=groups).split()
    if parts == 6 and not groups:  # 1 trip let & trip let: the middle one opens the second three
        return f"& {said[part]}" if part > 3 else said[part]
    opener = next((word for word in reversed(said[1 : part + 1]) if word.isupper()), "")
    return said[part] if opener in ("", said[part]) else f"{opener} {said[part]}"


@pytest.mark.parametrize("width", [600, 880])
def test_a_stroke_is_labelled_with_what_the_reader_says_there(width):
    """In any groups of the reader, on a wall and in a panel; no label is a number with a point."""
    for groups, pair in (((3, 4), (7, 4)), ((5, 3, 5), (13, 8)), ((4, 4, 4, 4), (16, 15)), ((2, 3), (5, 4))):
        p = rl.Polyrhythm(*pair)
        scenes = [rl.pictures.strip(p, width=width, groups=groups), rl.pictures.homes(p, groups=groups)]
        said = {x: text for x, _, text in texts(scenes[0], "small")}
        assert len(said) > 3
        for tick, text in said.items():
            assert text == word_at(Fraction(tick * pair[1], p.ticks), pair[0], groups)
        assert set(said.values()) <= {text for *_, text in texts(scenes[1], "small")} or width == 600
        for scene in (*scenes, rl.pictures.strip(p), rl.pictures.shared_grid(p)):
            assert not [m.text for m in scene.marks if isinstance(m, Text) and re.search(r"\d\.\d", m.text)]


@FEW
@given(p=some_pulses, home=homes_of)
@example(p=rl.Polyrhythm(13, 8), home=1)
def test_no_number_stands_on_a_heavy_line_but_on_paper_of_its_own(p, home):
    """Beats, bars, sounds and ties: what would be written over one hides it there, and can be read."""
    scene = rl.pictures.strip(p.cycle(home % len(p.pulses)))
    heavy = [m for m in scene.marks if isinstance(m, Rule) and m.role != "hair"]
    for text in (m for m in scene.marks if isinstance(m, Text) and not m.side and m.role not in ON_PAPER):
        half = 0.3 * HANDS[text.role][1] * len(text.text)
        for rule in heavy:
            over = abs(scene.x(rule.x) - scene.x(text.x)) < half and rule.top < text.y < rule.bottom
            assert not over, (text, rule)


@pytest.mark.parametrize("pulses", [(60, 7), (61, 13), (128, 127)])
def test_a_beat_in_too_many_parts_to_be_said_has_its_number_only(pulses):
    """No place off the beat has a label; the picture says how many have no word, or no room, and why."""
    p = rl.Polyrhythm(*pulses)
    scene = rl.pictures.strip(p, start=0, stop=min(p.ticks, p.step(1) * 3))
    assert texts(scene, "small") == []
    (said,) = [text for *_, text in texts(scene, "fine", "from") if "place" in text]
    off = sum(1 for tick in p.onsets(0) if tick < scene.stop and tick % p.step(1))
    assert said == f"no word for {off} place{'s' * (off > 1)}: {pulses[0]} parts to a beat"


@FEW
@given(p=some_pulses, home=homes_of)
def test_every_small_sign_is_the_count_of_the_stroke_above_it(p, home):
    """One line of count for each other pulse; a sign under its stroke is the word said there."""
    home = p.pulses.index(p.pulses[home % len(p.pulses)])
    scene = rl.pictures.strip(p.cycle(home))
    signs = {(x, y): text for x, y, text in texts(scene, "small")}
    lines = sorted({y for _, y, _ in texts(scene, "big")})
    others = [i for i in range(len(p.pulses)) if i != home]
    assert len(lines) == (len(others) or 1)
    for line, lane in zip(lines, others, strict=False):
        here = {x: text for (x, y), text in signs.items() if line <= y < line + 0.9}
        expected = dict(
            zip(brute.strokes(p)[lane], brute.counted(p.pulses[home], p.pulses[lane]), strict=True)
        )
        parts = Fraction(p.pulses[lane], p.pulses[home]).numerator
        for tick, text in here.items():
            assert text == word_at(Fraction(tick * p.pulses[home], p.ticks), parts)
        off = [tick for tick, (beat, sign) in expected.items() if sign != str(beat)]
        assert set(here) <= set(off)
        if sum(p.pulses) <= 11 and len(p.pulses) == 2:
            assert sorted(here) == off


def test_seven_against_four_as_it_is_read_aloud():
    """7:4 from the 4: ten sounds 4 3 1 4 2 2 4 1 3 4, on the words of 1 e & a TA e & in each beat."""
    scene = rl.pictures.strip(rl.Polyrhythm(7, 4).cycle())
    assert len(rules(scene, "sound")) == 10
    assert [text for *_, text in texts(scene, "plain")] == list("4314224134")
    count = sorted([*texts(scene, "big"), *texts(scene, "small")])
    assert [text for *_, text in count] == ["1", "TA", "2", "e", "TA e", "3", "&", "TA &", "4", "a"]
    flipped = rl.pictures.strip(rl.Polyrhythm(7, 4).cycle(0))
    count = sorted([*texts(flipped, "big"), *texts(flipped, "small")])
    assert [text for *_, text in count] == list("12a34&56e7")
    assert flipped.strokes() == scene.strokes()


def test_three_against_four_against_five_has_a_count_for_each_other_pulse():
    """From the 4: a line of triplets for the 3 and a line of fives for the 5."""
    scene = rl.pictures.strip(rl.Polyrhythm(3, 4, 5).cycle(1))
    assert [text for *_, text in texts(scene, "small")] == ["trip", "let", "TA e", "TA", "&", "e"]
    labels = [text for *_, text in texts(scene, "small", "left")]
    assert labels == ["heard", "the 3", "the 5"]


@FEW
@given(p=some_pulses)
def test_ticks_are_numbered_and_ruled_on_the_shared_grid(p):
    """Each number stands over its own tick, evenly from 0; up to 64 ticks each has a hairline."""
    scene = rl.pictures.shared_grid(p.cycle())
    ticks = [(x, text) for x, y, text in texts(scene, "small") if y < 1]
    assert ticks[0] == (0, "0")
    assert all(text == str(x) for x, text in ticks)
    step = ticks[1][0] if len(ticks) > 1 else p.ticks
    assert [x for x, _ in ticks] == list(range(0, p.ticks, step))
    if p.ticks <= 20:
        assert step == 1
    assert rules(scene, "hair") == (list(range(p.ticks)) if p.ticks <= 64 else [])


@FEW
@given(p=small, home=homes_of)
def test_the_text_alternative_says_what_is_drawn(p, home):
    """Names, ticks, home, intervals and places in the words are those of the strokes."""
    home %= 2
    other = 1 - home
    strip, grid = rl.pictures.strip(p.cycle(home)), rl.pictures.shared_grid(p.cycle(home))
    m, n = p.pulses
    for scene in (strip, grid):
        ticks = f"{p.ticks} tick{'s' * (p.ticks > 1)}"
        assert scene.alt.startswith(f"{m} against {n} on {ticks}, ")
        assert scene.alt.endswith(".")
        assert "\n" not in scene.alt
    onsets, _ = brute.merged(brute.strokes(p))
    line = brute.intervals(onsets, p.ticks)
    spoken_line = re.search(r"sound to sound are ([\d …]+);", strip.alt)[1].split(" … ")
    if len(line) <= 24:
        assert spoken_line == [" ".join(map(str, line))]
    else:
        assert spoken_line == [" ".join(map(str, line[:12])), " ".join(map(str, line[-12:]))]
    assert f"counted from the {p.pulses[home]}: " in strip.alt
    if m != n:
        assert (
            f"the {p.pulses[other]} falls on {', '.join(brute.said(p.pulses[home], p.pulses[other]))}."
            in strip.alt
        )
    for pulse, strokes in zip(p.pulses, brute.strokes(p), strict=True):
        assert f"the {pulse} on ticks {' '.join(map(str, strokes))}" in grid.alt


@FEW
@given(p=st.one_of(small, st.just(rl.Polyrhythm(128, 127))), data=st.data())
def test_a_window_shows_its_own_ticks_and_says_so(p, data):
    """Strokes, sounds and beats of the window only, at ticks of the whole cycle; the words name it."""
    start = data.draw(st.integers(0, min(p.ticks, 400) - 1))
    stop = data.draw(st.integers(start + 1, min(p.ticks, 400)))
    for draw in (rl.pictures.strip, rl.pictures.shared_grid):
        scene = draw(p.cycle(), start=start, stop=stop)
        for lane, strokes in enumerate(brute.strokes(p)):
            inside = [tick for tick in strokes if start <= tick < stop]
            assert [stroke.x for stroke in scene.strokes(lane)] == inside
        assert (scene.start, scene.stop) == (start, stop)
        beats = [tick for tick in brute.strokes(p)[1] if start <= tick < stop]
        assert rules(scene, "beat") == beats
        assert rules(scene, "hair") == (list(range(start, stop)) if stop - start <= 64 else [])
        assert rules(scene, "edge") == [tick for tick in (start, stop) if tick in (0, p.ticks)]
        step = p.ticks // p.pulses[1]
        assert all(text == str(int(x) // step + 1) for x, _, text in texts(scene, "big"))
        if stop - start < p.ticks:
            window = f"ticks {start} to {stop - 1} of {p.ticks:,}".replace(",", "\N{NO-BREAK SPACE}")
            assert window in scene.alt
    onsets = [tick for tick in brute.merged(brute.strokes(p))[0] if start <= tick < stop]
    assert rules(rl.pictures.strip(p.cycle(), start=start, stop=stop), "sound") == onsets


@pytest.mark.parametrize(("start", "stop"), [(3, 3), (4, 3), (0, 7), (-1, 3), (0, 2.0)])
@pytest.mark.parametrize("draw", [rl.pictures.strip, rl.pictures.shared_grid])
def test_a_window_that_cannot_be_drawn_is_refused(draw, start, stop):
    """Empty, turned round, outside or not whole: the message names the window and gives one that works."""
    with pytest.raises(ValueError, match=r"for example start=0, stop=6") as caught:
        draw(rl.Polyrhythm(3, 2).cycle(), start=start, stop=stop)
    assert f"={start if start not in (0, 3) else stop}" in str(caught.value) or "empty window" in str(
        caught.value
    )


@FEW
@given(cycles())
def test_any_cycle_can_be_drawn(cycle):
    """Uneven lanes, empty lanes, no lanes, grouped beats or none: every stroke is there, in its lane."""
    for draw in (rl.pictures.strip, rl.pictures.shared_grid):
        scene = draw(cycle)
        drawn = [(stroke.lane, stroke.x) for stroke in scene.strokes()]
        assert drawn == [(i, tick) for i, lane in enumerate(cycle.lanes) for tick in lane.onsets.tolist()]
        assert rules(scene, "beat") == cycle.beats.tolist()


def test_no_place_is_said_twice_where_home_is_nobody():
    """A cycle whose beats no lane plays is counted from its beats, and each lane is counted."""
    bell = rl.Lane("bell", [0, 3, 6, 10, 12])
    scene = rl.pictures.strip(rl.Cycle(16, [bell], beats=[0, 4, 8, 12]))
    assert "counted from 4 beats" in scene.alt
    assert "the bell falls on 1, a of 1, & of 2, & of 3, 4." in scene.alt
    assert [text for *_, text in texts(scene, "small")] == ["a", "&", "&"]


@pytest.mark.parametrize(
    ("pulses", "line"),
    [
        ((1, 1), "together"),
        ((3, 2), "together right left right"),
        ((4, 3), "together right left right left right"),
    ],
)
def test_words_to_clap_stand_under_their_sounds(pulses, line):
    """Two rows named right and left, and one word under each sound, at its tick."""
    p = rl.Polyrhythm(*pulses)
    scene = spoken(p)
    rows = brute.strokes(p)
    for lane in (0, 1):
        assert [stroke.x for stroke in scene.strokes(lane)] == rows[lane]
    assert [text for *_, text in texts(scene, "name", "left")] == ["right", "left"]
    onsets = brute.merged(rows)[0]
    assert [(x, text) for x, _, text in texts(scene, "name")] == list(zip(onsets, line.split(), strict=True))
    assert scene.alt.endswith(f"say: {line.replace(' ', ', ')}.")
    assert rules(scene, "tie") == [tick for tick in rows[0] if tick in rows[1]]
    ends = [(m.top, m.bottom) for m in scene.marks if isinstance(m, Rule) and m.role == "tie"]
    right, left = (min(scene.strokes(lane), key=lambda s: s.x).y for lane in (0, 1))
    assert all(right < top < bottom < left for top, bottom in ends)


@FEW
@given(p=some_pulses, bpm=st.integers(20, 300))
def test_under_every_home_the_strokes_are_the_same(p, bpm):
    """As many pictures as homes, one under the other, each with all strokes at the same places."""
    scene = rl.pictures.homes(p, rl.Tempo(bpm, pulse=0))
    tops = [y for _, y, _ in texts(scene, "name", "from")]
    assert len(tops) == len(p.pulses)
    blocks = []
    for top, bottom in zip(tops, [*tops[1:], scene.rows], strict=True):
        blocks.append(sorted((s.lane, s.x) for s in scene.strokes() if top < s.y < bottom))
        assert sum(top < m.y < bottom for m in scene.marks if isinstance(m, Text) and m.role == "big")
    expected = [(lane, tick) for lane, row in enumerate(brute.strokes(p)) for tick in row]
    assert blocks == [expected] * len(p.pulses)
    for home, (top, heading) in enumerate(zip(tops, texts(scene, "name", "from"), strict=True)):
        exact = Fraction(bpm * p.pulses[home], p.pulses[0])
        said = f"{float(exact):,.2f}".rstrip("0").rstrip(".").replace(",", "\N{NO-BREAK SPACE}")
        assert heading[2].endswith(f" at {said} bpm")
        bottom = [*tops[1:], scene.rows][home]
        beats = {
            m.x for m in scene.marks if isinstance(m, Rule) and m.role == "beat" and top < m.bottom < bottom
        }
        assert sorted(beats) == brute.strokes(p)[home]
        assert f" at {said} bpm, " in scene.alt
    assert "no stroke moved" in scene.alt


def test_the_flip_of_seven_against_four_in_one_picture():
    """Home 7 at 126 over home 4 at 72, with both counts in the words."""
    scene = rl.pictures.homes(rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1))
    headings = [text for *_, text in texts(scene, "name", "from")]
    assert headings == ["home is the 7 at 126 bpm", "home is the 4 at 72 bpm"]
    assert "counted from the 7 at 126 bpm, the 4 falls on 1, a of 2, & of 4, e of 6" in scene.alt
    assert (
        "counted from the 4 at 72 bpm, the 7 falls on 1, ta of 1, e of 2, ta e of 2, & of 3, ta & of 3, "
        "a of 4." in scene.alt
    )
    assert "bpm" not in rl.pictures.homes(rl.Polyrhythm(7, 4)).alt


@pytest.mark.parametrize(
    ("scene", "name", "alt"),
    [
        (
            rl.pictures.strip(rl.Polyrhythm(3, 2).cycle()),
            "strip",
            "3 against 2 on 6 ticks, counted from the 2: heard as one line the ticks from sound to sound are "
            "2 1 1 2; the 3 falls on 1, let of 1, trip of 2.",
        ),
        (
            rl.pictures.shared_grid(rl.Polyrhythm(3, 2).cycle()),
            "grid",
            "3 against 2 on 6 ticks, drawn on the grid they share: the 3 on ticks 0 2 4; the 2 on ticks 0 3.",
        ),
        (
            spoken(rl.Polyrhythm(3, 2)),
            "spoken",
            "Right hand 3 claps, left hand 2 claps, evenly in the same time; say: together, right, left, "
            "right.",
        ),
        (
            rl.pictures.homes(rl.Polyrhythm(3, 2)),
            "homes",
            "3 against 2 under each home, no stroke moved: counted from the 3, the 2 falls on 1, & of 2; "
            "counted from the 2, the 3 falls on 1, let of 1, trip of 2.",
        ),
    ],
)
def test_a_picture_is_told_in_one_sentence(scene, name, alt):
    """Read aloud it is the whole picture, once, without a line break."""
    assert (scene.name, scene.alt) == (name, alt)


def test_every_row_has_its_label():
    """What stands in the gutter of a strip and of a grid, from top to bottom."""
    strip, grid = (
        rl.pictures.strip(rl.Polyrhythm(3, 2).cycle()),
        rl.pictures.shared_grid(rl.Polyrhythm(3, 2).cycle()),
    )
    labels = [
        [
            m.text
            for m in sorted(
                (m for m in s.marks if isinstance(m, Text) and m.side == "left"), key=lambda m: m.y
            )
        ]
        for s in (strip, grid)
    ]
    assert labels == [["3", "heard", "2", "count"], ["tick", "3", "2", "count"]]


@pytest.mark.parametrize(("strokes", "counted"), [(36, True), (37, False)])
def test_a_lane_of_many_strokes_shows_beats_only(strokes, counted):
    """Past 36 strokes in a lane the small signs go, which have words in beats of few parts."""
    scene = rl.pictures.strip(rl.Polyrhythm(strokes, 12).cycle())
    assert bool(texts(scene, "small")) is counted


def test_each_bar_is_counted_from_one_and_begins_with_a_heavy_line():
    """Two bars of 3: the count is 1 2 3 1 2 3, small marks follow it, and the second bar has its edge."""
    lane = rl.Lane("bell", [0, 7, 16, 26], accents=[0], ghosts=[7], hands="RLRL")
    cycle = rl.Cycle(30, [lane], beats=[0, 5, 10, 15, 20, 25], bars=[0, 15])
    scene = rl.pictures.strip(cycle)
    big = [mark.text for mark in scene.marks if isinstance(mark, Text) and mark.role == "big"]
    small = [mark.text for mark in scene.marks if isinstance(mark, Text) and mark.role == "small"]
    assert big == ["1", "2", "3", "1", "2", "3"]
    assert {"&", "e"} <= set(small)
    assert any(isinstance(mark, Rule) and (mark.x, mark.role) == (15, "edge") for mark in scene.marks)


def test_accents_have_a_ring_ghosts_are_small_and_hands_have_their_letter():
    """What a lane says about its strokes is drawn by shape and letter, never by colour."""
    lane = rl.Lane("snare", [0, 3, 6, 9], accents=[0], ghosts=[3], hands="RLRL")
    scene = rl.pictures.strip(rl.Cycle(12, [lane], beats=[0, 6]))
    strokes = {stroke.x: stroke for stroke in scene.strokes(0)}
    assert [strokes[tick].ring for tick in (0, 3, 6, 9)] == [True, False, False, False]
    assert [strokes[tick].small for tick in (0, 3, 6, 9)] == [False, True, False, False]
    letters = [mark.text for mark in scene.marks if isinstance(mark, Text) and mark.text in "RL"]
    assert letters == ["R", "L", "R", "L"]


BARS = [
    rl.playing.resolve((7, 4), "4/4"),
    rl.playing.resolve((5, 4), "2+2+3/8", bars=2),
    rl.playing.accents("2+2+3/8", every=5, pulse="backbeat"),
    rl.ostinato(
        {"right foot": "x...", "left foot": "..x."}, rl.playing.hand_to_hand(rl.Polyrhythm(3, 2)), metre="4/4"
    ),
]


@pytest.mark.parametrize("cycle", BARS)
def test_bars_have_one_line_of_count_for_all_lanes(cycle):
    """Each beat is written once, each place off the beats once, and no lane's name is in the count."""
    scene = rl.pictures.strip(cycle)
    big = texts(scene, "big")
    assert len({y for _, y, _ in big}) == 1
    assert [x for x, _, _ in big] == cycle.beats.tolist()
    small = [(x, text) for x, _, text in texts(scene, "small") if text != "lands"]
    assert len({x for x, _ in small}) == len(small)
    off = {t for lane in cycle.lanes for t in lane.onsets.tolist()} - set(cycle.beats.tolist())
    assert {x for x, _ in small} == off
    assert [text for _, _, text in texts(scene, "small", "left")] == ["heard", "count"]
    assert (overlaps(scene), outside(scene)) == ([], [])


def test_lanes_whose_beats_nobody_plays_share_one_line_of_count():
    """Three lanes without a home: one line, and a tick of two lanes is written in the fewest parts."""
    lanes = [rl.Lane("a", [0, 6, 9]), rl.Lane("b", [0, 18]), rl.Lane("c", [1, 6])]
    scene = rl.pictures.strip(rl.Cycle(24, lanes, beats=[0, 12]))
    assert [text for _, _, text in texts(scene, "big")] == ["1", "2"]
    assert {x: text for x, _, text in texts(scene, "small")} == {1: "e", 6: "&", 9: "a", 18: "&"}


def test_places_in_bars_are_said_bar_by_bar():
    """Two bars of 3 are told as counted in the picture; more than 16 are cut, each end with its bars."""
    lane = rl.Lane("bell", [0, 7, 16, 26])
    cycle = rl.Cycle(30, [lane], beats=[0, 5, 10, 15, 20, 25], bars=[0, 15])
    assert rl.pictures.strip(cycle).alt.endswith("the bell falls on bar 1: 1, & of 2; bar 2: e of 1, e of 3.")
    one = rl.Cycle(15, [rl.Lane("bell", [0, 7])], beats=[0, 5, 10], bars=[0])
    assert rl.pictures.strip(one).alt.endswith("the bell falls on 1, & of 2.")
    upbeat = rl.Cycle(12, [rl.Lane("bell", [0, 2, 10])], beats=[0, 4, 8], bars=[4, 8])
    assert rl.pictures.strip(upbeat).alt.endswith("the bell falls on before bar 1: 1, & of 1; bar 2: & of 1.")
    many = rl.Cycle(40, [rl.Lane("bell", range(0, 40, 2))], beats=range(0, 40, 4), bars=[0, 20])
    bars = ["1, & of 1, 2, & of 2, 3, & of 3, 4, & of 4", "2, & of 2, 3, & of 3, 4, & of 4, 5, & of 5"]
    assert rl.pictures.strip(many).alt.endswith(f"the bell falls on bar 1: {bars[0]} … bar 2: {bars[1]}.")


def test_bars_from_the_middle_keep_their_numbers():
    """The third bar of an accent that moves is called bar 3, as the sentence calls it."""
    part = rl.playing.accents("2+2+3/8", every=5, bars=2, from_bar=3)
    assert "Bar 3: & of 1, a of 3; bar 4: 3." in part.describe()
    assert ", accented on bar 3: & of 1, a of 3; bar 4: 3." in rl.pictures.strip(part).alt
    alone = rl.playing.accents("2+2+3/8", every=5, bars=2, from_bar=3, filled=False)
    assert "the accent falls on bar 3: & of 1, a of 3; bar 4: 3." in rl.pictures.strip(alone).alt


@pytest.mark.parametrize("draw", [rl.pictures.strip, rl.pictures.shared_grid])
@pytest.mark.parametrize(
    ("bars", "lands", "said"), [(4, 1, "it lands on 1 as it comes round."), (2, 3, "it lands on bar 2: 3.")]
)
def test_where_a_fill_lands_is_written_under_the_count(draw, bars, lands, said):
    """The word stands at its tick, at the right edge where it lands as the bars come round, and once."""
    fill = rl.playing.resolve((7, 4), "4/4", bars=bars, lands=lands)
    scene = draw(fill)
    ((x, y, _),) = [mark for mark in texts(scene, "small") if mark[2] == "lands"]
    assert x == fill.lands
    assert (x == scene.stop) is (lands == 1)
    assert y > max(y for _, y, _ in texts(scene, "big"))
    assert (overlaps(scene), outside(scene)) == ([], [])
    if draw is rl.pictures.strip:
        assert scene.alt.endswith(said)
    before = draw(fill, start=0, stop=fill.lands - 1)
    assert "lands" not in [text for *_, text in texts(before, "small")] + before.alt.split()


def test_a_cycle_that_does_not_land_has_no_such_word():
    """A pair and a groove are drawn without it."""
    for cycle in (rl.Polyrhythm(7, 4).cycle(), rl.playing.accents("4/4", 5)):
        assert "lands" not in [m.text for m in rl.pictures.strip(cycle).marks if isinstance(m, Text)]
        assert "lands" not in rl.pictures.strip(cycle).alt


def test_a_long_name_of_a_lane_is_cut_beside_the_picture():
    """300 letters leave room for the strokes; the text alternative has the whole name."""
    name = "n" * 300
    scene = rl.pictures.strip(rl.Cycle(4, [rl.Lane(name, [0, 2])], beats=[0, 2]))
    shown = [mark.text for mark in scene.marks if isinstance(mark, Text) and mark.text.startswith("nn")]
    assert shown == ["n" * 23 + "\N{HORIZONTAL ELLIPSIS}"]
    assert name in scene.alt
    assert scene.left < scene.width / 2


def test_a_fill_over_a_foot_that_cuts_its_beat_otherwise_has_a_line_of_its_own():
    """Seven to a beat over halves is said as seven, as the sentence under it says, never as fourteen."""
    made = resolve((7, 4), "4/4", feet="bossa")
    written = texts(rl.pictures.strip(made, start=made.enter, stop=made.ticks), "small")
    words = {x: text for x, _, text in written if text in {"TA", "TA e", "TA &", "DI e", "KA"}}
    fill = [tick for tick in made.lanes[-1].onsets.tolist() if tick >= made.enter]
    assert words == {fill[1]: "TA", fill[3]: "TA e", fill[5]: "TA &"}

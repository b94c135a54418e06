"""The tide: heights, zones, the stroke midway and the words, recomputed in ticks and milliseconds."""

import re
from fractions import Fraction
from itertools import pairwise, product
from math import gcd

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.draw.gap_cycle import NAME_ROWS
from rhythmlab.draw.scene import ROW, Band, Line, Scene, Text
from rhythmlab.panels.wall import SQUEEZED_SHARE, bared, beats_of, gap_picture
from rhythmlab.playing.hearing import ear_landmarks, landmarks_text, zones_text
from rhythmlab.text import descriptions
from rhythmlab.text.numbers import nth
from tests import brute
from tests.audio.measure import outside, overlaps
from tests.profile import some, tries

FEW = settings(max_examples=tries(60), deadline=None)
numbers = st.integers(1, 24)
pairs = st.builds(rl.Polyrhythm, numbers, numbers)
tempos = st.integers(20, 400)
NTH = {nth(i - 1): i for i in range(1, 200)}
#: Neighbours, whose wall shows this picture, and others that a menu shows as it.
NUMBERED = [*((n + 1, n) for n in range(1, 128)), *((n, 3) for n in range(2, 65, 7)), (12, 8), (96, 64)]
ROLES = {"flam": {"flam"}, "open": {"open flam", "apart"}, "alternating": {"alternating"}}


def tide(p: rl.Polyrhythm, bpm: object = 100, home: int = 1, **limits: int) -> Scene:
    """Draw the gaps of the other pulse at a tempo of home."""
    gaps = rl.phase_gaps(p, of=1 - home, against=home)
    return rl.pictures.gap_cycle(
        rl.playing.zones(gaps, rl.Tempo(bpm, pulse=home), limits=rl.limits(**limits))
    )


def half_beat(scene: Scene) -> float:
    """Rows that stand for half a beat: the alternating band ends there, less its margin of 0.3."""
    edges = [m for m in scene.marks if isinstance(m, Band) and m.role == "alternating"]
    return (max(m.bottom for m in edges) - min(m.top for m in edges)) / 2 - 0.3


def shore_of(scene: Scene, home: int) -> float:
    (y,) = {stroke.y for stroke in scene.strokes(home)}
    return y


@FEW
@given(n=st.integers(8, 40), bpm=tempos)
@example(n=15, bpm=72)
def test_names_of_zones_never_touch_on_a_page_or_on_a_wall(n, bpm):
    """Their middles are a letter of 14 px apart and more; flam is named where there is one."""
    p, tempo = rl.Polyrhythm(n + 1, n), rl.Tempo(bpm, pulse=1)
    for scene in (tide(p, bpm), gap_picture(rl.Feel(p), tempo, rl.limits(), (0, p.ticks))):
        names = [m for m in scene.marks if isinstance(m, Text) and m.side == "right"]
        high = sorted(name.y for name in names)
        assert all(below - above >= 16 / ROW for above, below in pairwise(high))
        assert "flam" in {name.text for name in names}


@FEW
@given(p=pairs, bpm=tempos, home=st.sampled_from([0, 1]))
def test_each_stroke_stands_at_its_time_and_at_the_height_of_its_gap(p, bpm, home):
    """Before is above the shore, after below, in proportion to the gap; half a beat is the full tide."""
    scene, of = tide(p, bpm, home), 1 - home
    shore, full = shore_of(scene, home), half_beat(scene)
    step = p.ticks // p.pulses[home]
    drawn = scene.strokes(of)
    assert [stroke.x for stroke in drawn] == brute.strokes(p)[of]
    for stroke, gap in zip(drawn, brute.gaps(p, of, home), strict=True):
        assert stroke.y - shore == pytest.approx(full * gap / (step / 2))
    assert [stroke.x for stroke in scene.strokes(home)] == brute.strokes(p)[home]
    wide = 880 - scene.left - scene.right
    for lane, pulse in enumerate(p.pulses):
        at = [scene.x(stroke.x) for stroke in scene.strokes(lane)]
        assert at == pytest.approx([scene.left + wide * k / pulse for k in range(pulse)])


@FEW
@given(p=pairs, bpm=tempos, home=st.sampled_from([0, 1]), flam=st.sampled_from([20, 40, 60]))
def test_the_bands_are_the_zones_in_milliseconds_at_this_tempo(p, bpm, home, flam):
    """On both sides flam, open flam, apart from 100 ms and alternating follow, each as wide as it is.

    Each band with room for a line has its name, the edges too, but where that would touch another name.
    """
    scene = tide(p, bpm, home, flam=flam)
    shore, full = shore_of(scene, home), half_beat(scene)
    step = p.ticks // p.pulses[home]
    tick_ms = Fraction(60_000) / bpm / step
    even = Fraction(step, 2) - max(Fraction(1, 2), Fraction(step, 16))
    flammed = min(flam / tick_ms, even)
    apart = min(100 / tick_ms, even)
    ends = {
        "flam": (0, flammed),
        "open flam": (flammed, apart),
        "apart": (apart, even),
        "alternating": (even, Fraction(step, 2)),
    }
    bands = [m for m in scene.marks if isinstance(m, Band)]
    names = [m for m in scene.marks if isinstance(m, Text) and m.text in ends]
    for name, (near, far) in ends.items():
        inner, outer = (float(edge) / (step / 2) * full for edge in (near, far))
        margin = 0.3 if name == "alternating" else 0
        meant = [(-outer - margin, -inner), (inner, outer + margin)]
        role = name.split()[0] if name != "apart" else "open"
        here = [(m.top - shore, m.bottom - shore) for m in bands if m.role == role]
        there = [one for one in meant if any(pytest.approx(one, abs=1e-6) == both for both in here)]
        assert there == (meant if outer - inner >= 0.01 else [])
        if outer - inner + margin > 0.46 and name != "flam":
            at = [m.y - shore for m in names if m.text == name]
            for top, bottom in meant:
                near = [m for m in names if abs(m.y - shore - (top + bottom) / 2) < NAME_ROWS]
                assert any(top <= y <= bottom for y in at) or any(m.text != name for m in near)
            assert len(at) <= 2
    assert {(m.left, m.right) for m in bands} == {(0, p.ticks)}


@FEW
@given(p=pairs, bpm=tempos, home=st.sampled_from([0, 1]))
def test_every_stroke_stands_on_the_band_of_its_zone(p, bpm, home):
    """The zone of each gap, worked out here in milliseconds, is the band that lies behind its stroke."""
    scene, of = tide(p, bpm, home), 1 - home
    step = p.ticks // p.pulses[home]
    tick_ms = Fraction(60_000) / bpm / step
    bands = [m for m in scene.marks if isinstance(m, Band)]
    for stroke, gap in zip(scene.strokes(of), brute.gaps(p, of, home), strict=True):
        zone, side = brute.zone(gap, step, tick_ms)
        if zone != "together":
            behind = set().union(
                *(ROLES[m.role] for m in bands if m.top - 1e-9 <= stroke.y <= m.bottom + 1e-9)
            )
            assert zone in behind
            if side:
                assert (stroke.y < shore_of(scene, home)) == (side == "before")


@FEW
@given(p=pairs, home=st.sampled_from([0, 1]))
def test_the_stroke_exactly_midway_is_ringed_where_there_is_one(p, home):
    """One ring in each repeat, on what is half a step from the other pulse, the first named by its beat."""
    scene, of = tide(p, 60, home), 1 - home
    step = p.ticks // p.pulses[home]
    strokes = [
        t for t, gap in zip(brute.strokes(p)[of], brute.gaps(p, of, home), strict=True) if 2 * gap == step
    ]
    beats = [
        t
        for t, gap in zip(brute.strokes(p)[home], brute.gaps(p, home, of), strict=True)
        if 2 * gap == p.ticks // p.pulses[of]
    ]
    ringed = {(stroke.lane, stroke.x) for stroke in scene.strokes() if stroke.ring}
    assert ringed == {*((of, t) for t in strokes), *((home, t) for t in beats)}
    named = [m for m in scene.marks if isinstance(m, Text) and "midway" in m.text]
    said = [f"exactly midway, on the & of {t // step + 1}" for t in strokes[:1]]
    said += [f"exactly midway, on beat {t // step + 1}" for t in beats[:1]]
    assert [m.text for m in named] == said
    assert len(ringed) in (0, gcd(*p.pulses))
    assert bool(ringed) == any(n // gcd(*p.pulses) % 2 == 0 for n in p.pulses)
    if ringed and p.repeats == 1:
        assert scene.x(named[0].x) == scene.x([*strokes, *beats][0])
        if strokes:
            assert f"One stroke of the {p.pulses[of]} is {named[0].text}." in scene.alt
        else:
            assert f"beat {beats[0] // step + 1} is exactly midway between two of them" in scene.alt


@pytest.mark.parametrize("home", [0, 1])
def test_neighbours_have_their_landmarks_in_the_picture_from_both_homes(home):
    """8:7 up to 64:63: each landmark has its mark at its place, under the tide, and a sentence beside it."""
    for n, turned in product(range(7, 64), (False, True)):
        p = rl.Polyrhythm(n, n + 1) if turned else rl.Polyrhythm(n + 1, n)
        scene, feel = tide(p, 100, home), rl.Feel(p, home)
        marks = ear_landmarks(feel, 1 - home)
        row = next(m.y for m in scene.marks if isinstance(m, Text) and "exactly midway" in m.text)
        drawn = {m.x: m.text for m in scene.marks if isinstance(m, Text) and m.y == row}
        assert list(drawn) == [mark.tick for mark in sorted(marks, key=lambda one: one.quarters != 2)]
        for mark in marks:
            if mark.quarters == 2:
                assert "exactly midway" in drawn[mark.tick]
            else:
                assert drawn[mark.tick] == (
                    "\N{VULGAR FRACTION ONE QUARTER}" if mark.between else "e&a"[mark.quarters - 1]
                )
        assert scene.alt.endswith(f" {landmarks_text(feel, 1 - home)}")
        assert "exactly midway" in scene.alt


@FEW
@given(p=pairs, bpm=st.one_of(tempos, st.sampled_from([1, 5, 1000])))
def test_heights_are_named_in_milliseconds(p, bpm):
    """Each height named at the side stands where that many milliseconds are, before above and after below."""
    scene = tide(p, bpm)
    shore, full = shore_of(scene, 1), half_beat(scene)
    half_ms = Fraction(30_000) / bpm
    found = 0
    for mark in (m for m in scene.marks if isinstance(m, Text) and m.side == "left"):
        named = re.fullmatch(r"([\d.]+) (ms|s)( before| after|)", mark.text)
        if named:
            ms = Fraction(named[1]) * (1000 if named[2] == "s" else 1)
            sign = {" before": -1, " after": 1, "": 0}[named[3]]
            assert mark.y - shore == pytest.approx(sign * full * float(ms / half_ms), abs=1e-6)
            assert bool(ms) == bool(sign)
            found += 1
    assert found in (3, 5, 7)


@pytest.mark.parametrize("home", [0, 1])
def test_the_scale_of_neighbours_is_spread_over_the_whole_height_at_any_tempo(home):
    """8:7 up to 64:63 at 20 to 300 bpm, on a page and on a wall: no label touches another or is bunched.

    The boxes are those of the font. From one height named to the next is a quarter to a half of the way from
    the shore to the top, and what is not named above the last is no more than that.
    """
    pairs = product(range(7, 64), range(20, 301, 5))
    for n, bpm in some(pairs, 40, ("scale", home), [(15, 20), (15, 75), (63, 300)]):
        feel, tempo = rl.Feel(rl.Polyrhythm(n + 1, n), home), rl.Tempo(bpm, pulse=home)
        page = tide(feel.polyrhythm, bpm, home)
        wall = gap_picture(feel, tempo, rl.limits(), (0, feel.polyrhythm.ticks))
        for scene in (page, wall):
            assert overlaps(scene) == [], (n, bpm)
            assert outside(scene) == [], (n, bpm)
            sides = [
                m for m in scene.marks if isinstance(m, Text) and m.side == "left" and "before" in m.text
            ]
            (shore,) = [m.y for m in scene.marks if isinstance(m, Text) and m.text == "0 ms"]
            top = min(m.top for m in scene.marks if isinstance(m, Band) and m.role == "alternating")
            full = shore - top - (0.3 if scene is page else 0.3 * SQUEEZED_SHARE)
            heights = [0.0, *((shore - m.y) / full for m in sides)]
            steps = [b - a for a, b in pairwise(heights)]
            assert steps, (n, bpm)
            assert all(0.25 - 1e-9 <= step <= 0.5 + 1e-9 for step in steps), (n, bpm, steps)
            assert heights[-1] + steps[0] > 0.98


@FEW
@given(p=pairs, bpm=tempos, home=st.sampled_from([0, 1]))
def test_the_words_and_the_picture_say_the_same(p, bpm, home):
    """The text alternative has the zones as sentences, names both pulses, and has no line break."""
    scene, of = tide(p, bpm, home), 1 - home
    gaps = rl.phase_gaps(p, of=of, against=home)
    assert zones_text(rl.playing.zones(gaps, rl.Tempo(bpm, pulse=home))) in scene.alt
    moving = descriptions.pulse_name(p, of)
    assert f" and {moving} plays: " in scene.alt
    assert scene.alt.startswith(f"The gaps of {moving} from {descriptions.pulse_name(p, home)}")
    totals = scene.alt.partition(" plays: ")[2].partition(".")[0]
    assert sum(map(int, re.findall(r"\d+", totals))) == len(scene.strokes(of))
    assert "\n" not in scene.alt
    assert scene.alt.endswith(".")
    assert ("no stroke" in scene.alt.lower()) == (not any(stroke.ring for stroke in scene.strokes(of)))
    assert ("exactly midway between" in scene.alt) == any(stroke.ring for stroke in scene.strokes(home))
    axis = [m.text for m in scene.marks if isinstance(m, Text) and m.text.startswith("beat")]
    assert len(axis) == 1
    assert axis[0] in ("beat", f"beat of the {p.pulses[home]}")


@pytest.mark.parametrize("home", [0, 1])
def test_no_number_of_a_beat_is_left_out_in_silence(home):
    """2 to 128, on a page, on a wall and bare: all beats have their number, or it is said which have.

    On a page all do up to 64, on a wall up to 54: by turns on two lines, or small, before any goes.
    """
    said = set()
    for pair in some(NUMBERED, 6, ("numbers", home), [(64, 63), (55, 54), (16, 15), (128, 127)]):
        p, feel, step = rl.Polyrhythm(*pair), rl.Feel(pair, home), rl.Polyrhythm(*pair).step(home)
        page = tide(p, 60, home)
        wall = gap_picture(feel, rl.Tempo(60, pulse=home), rl.limits(), (page.start, page.stop))
        for scene in (page, wall, bared(wall, beats_of(feel, wall))):
            assert overlaps(scene) == [], pair
            assert outside(scene) == [], pair
            beats = [stroke.x // step + 1 for stroke in scene.strokes(home)]
            texts = [m for m in scene.marks if isinstance(m, Text)]
            shown = [m for m in texts if m.text.isdecimal()]
            assert all(m.x == (int(m.text) - 1) * step for m in shown)
            (note, *more) = [m.text for m in texts if m.text.startswith("counted: ")] or [""]
            numbers = [int(m.text) for m in shown]
            every = re.fullmatch(r"counted: every (\w+) beat", note)
            assert numbers == beats[:: NTH[every[1]] if every else 1]
            assert not more
            assert bool(note) == bool(every)
            assert note in scene.alt
            assert ("counted:" in scene.alt) == bool(note) or scene.rows < 5  # bare, it says both
            said.add((len({m.y for m in shown}), bool(note)))
            if (scene is page and pair[home] <= 64) or (scene is wall and pair[home] <= 54):
                assert not note, pair
    assert said == {(1, False), (2, False), (1, True)}


@pytest.mark.parametrize("home", [0, 1])
def test_the_tide_is_low_enough_to_be_seen_whole(home):
    """A full tide is 3 rows on each side of a shore at row 3.5; nothing is cut off above or below."""
    scene = tide(rl.Polyrhythm(16, 15), home=home)
    assert (shore_of(scene, home), half_beat(scene)) == (3.5, pytest.approx(3))
    bands = [m for m in scene.marks if isinstance(m, Band)]
    texts = [m.y for m in scene.marks if isinstance(m, Text)]
    assert min(m.top for m in bands) > 0
    assert max(m.bottom for m in bands) < max(texts) < scene.rows


def test_strokes_on_the_shore_show_both_pulses():
    """The stroke of home is painted later and smaller, so that a stroke of the other is seen round it."""
    for home in (0, 1):
        scene = tide(rl.Polyrhythm(16, 15), home=home)
        order = [stroke.lane for stroke in scene.strokes()]
        assert order == [1 - home] * (16 - (1 - home)) + [home] * (15 + (1 - home))
        assert all(stroke.small == (stroke.lane == home) for stroke in scene.strokes())


def test_sixteen_against_fifteen_at_100_and_at_60():
    """At 100 two strokes flam, one before and one after; at 60 no stroke lies on the band of the flam."""
    for bpm, flams in ((100, 2), (60, 0)):
        scene = tide(rl.Polyrhythm(16, 15), bpm)
        inside = [m for m in scene.marks if isinstance(m, Band) and m.role == "flam"]
        reach = max(m.bottom for m in inside)
        shore = shore_of(scene, 1)
        near = [s for s in scene.strokes(0) if 0 < abs(s.y - shore) <= reach - shore]
        assert len(near) == flams
        assert ("already open" in scene.alt) == (flams == 0)
        (ringed,) = (s for s in scene.strokes() if s.ring)
        assert (ringed.x, ringed.lane) == (120, 0)


@pytest.mark.parametrize(("pulses", "group", "lines"), [((16, 15), 1, 2), ((16, 11), 3, 4), ((31, 30), 1, 2)])
def test_the_tide_is_joined_along_the_ratio_that_it_slips_around(pulses, group, lines):
    """16:15 is one tide with two sides; 16:11 slips around 3:2: every third stroke is joined."""
    p = rl.Polyrhythm(*pulses)
    scene = tide(p)
    threads = [(m.left, m.right) for m in scene.marks if isinstance(m, Line) and m.role == "thread"]
    assert {right - left for left, right in threads} == {group * p.step(0)}
    starts = {left for left, _ in threads} - {right for _, right in threads}
    assert len(starts) == lines
    assert 0 in starts
    joined = {t for pair in threads for t in pair}
    assert joined <= {stroke.x for stroke in scene.strokes(0)}
    stems = {m.left for m in scene.marks if isinstance(m, Line) and m.role == "stem"}
    assert stems == {stroke.x for stroke in scene.strokes(0) if stroke.y != shore_of(scene, 1)}


@FEW
@given(data=st.data(), p=pairs)
def test_a_window_of_gaps_shows_whole_beats_round_them(data, p):
    """The strokes measured and no others; home's beats from the one before the first to the one after."""
    start = data.draw(st.integers(0, p.ticks - 1))
    stop = data.draw(st.integers(start + 1, p.ticks))
    gaps = rl.phase_gaps(p, of=0, against=1, start=start, stop=stop)
    scene = rl.pictures.gap_cycle(rl.playing.zones(gaps, rl.Tempo(100, pulse=1)))
    inside = [tick for tick in brute.strokes(p)[0] if start <= tick < stop]
    assert [stroke.x for stroke in scene.strokes(0)] == inside
    step = p.ticks // p.pulses[1]
    assert scene.start % step == scene.stop % step == 0
    assert scene.start <= (inside or [0])[0]
    assert (inside or [0])[-1] < scene.stop <= p.ticks
    drawn = f"ticks {scene.start} to {scene.stop - 1} of {p.ticks}" in scene.alt
    assert drawn == (scene.stop - scene.start < p.ticks)


def test_three_pulses_have_the_gaps_of_any_two():
    """Of 3:4:5, the 5 against the 4: five strokes, four beats, and nothing of the 3."""
    p = rl.Polyrhythm(3, 4, 5)
    scene = rl.pictures.gap_cycle(rl.playing.zones(rl.phase_gaps(p, of=2, against=1), rl.Tempo(60, pulse=1)))
    assert [len(scene.strokes(lane)) for lane in range(3)] == [0, 4, 5]
    assert scene.alt.startswith("The gaps of the 5 from the 4")


def test_the_tide_is_told_in_full_sentences():
    """Which gaps, the zones at this tempo, and where it is exactly midway."""
    scene = tide(rl.Polyrhythm(4, 3), 60)
    assert scene.name == "gap cycle"
    assert scene.alt == (
        "The gaps of the 4 from the 3, drawn as a tide over the beats: At 60 bpm of the 3, one tick is "
        "250 ms and the 4 plays: 1 together, 1 apart before, 1 alternating, 1 apart after. The pair "
        "is already open: the narrowest gap is 250 ms, and it flams only from 375 bpm of the 3. "
        "One stroke of the 4 is exactly midway, on the & of 2."
    )


def test_without_a_tempo_home_is_at_100_as_on_its_page():
    """The tempo that is left out is the one that its docstring and page 04 have."""
    assert rl.pictures.gap_cycle((16, 15)) == rl.pictures.gap_cycle((16, 15), 100)
    assert rl.pictures.gap_cycle((16, 15)) == rl.pictures.gap_cycle(
        rl.playing.zones((16, 15), rl.Tempo(100, pulse=1))
    )
    assert rl.pages.follow_gaps().tempo == rl.Tempo(100, pulse=1)

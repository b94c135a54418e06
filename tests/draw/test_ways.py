"""The picture of the ways over all tempos: bands from floor to ceiling, the present tempo, the words."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.draw.figure import figure
from rhythmlab.draw.scene import WIDTH, Band, Rule, Text
from rhythmlab.draw.svg import svg
from rhythmlab.draw.ways import drawn, drawn_narrow, ways
from rhythmlab.playing.approach import approach
from tests.audio.measure import outside, overlaps
from tests.draw import painted
from tests.refusals import refusal, works
from tests.strategies import TRIES, bpms, pairs, several

SEVEN = ways(rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1))


def bands(scene) -> dict[str, tuple[int, int]]:
    """Return the ends of each band, by the name beside it."""
    names = {mark.y: mark.text for mark in scene.marks if isinstance(mark, Text) and mark.side == "left"}
    found = [mark for mark in scene.marks if isinstance(mark, Band)]
    return {names[(band.top + band.bottom) / 2]: (band.left, band.right) for band in found}


def texts(scene, side: str) -> list[str]:
    return [mark.text for mark in scene.marks if isinstance(mark, Text) and mark.side == side]


def test_each_way_is_a_band_from_its_floor_to_its_ceiling():
    """7:4 at 72: 480/11 to 240000/1169; 30 to 360/7; 30 to 600/7; 400/3 to 240000/1169, in whole bpm."""
    # From the limits named in tests/playing/test_approach.py: 5.5 s and 167 ms; a sixth
    # of a second and 8 s; 100 ms; 1.8 s and 167 ms.
    assert bands(SEVEN) == {
        "learn the line": (44, 205),
        "count from the 4": (30, 51),
        "count from the 7": (30, 86),
        "hold the ones": (133, 205),
    }
    assert "follow the drift" in texts(SEVEN, "left")
    assert texts(SEVEN, "right") == [
        "from 43.6 to 205.3",
        "from 30 to 51.4",
        "from 30 to 85.7",
        "from 133.3 to 205.3",
        "at no tempo",
    ]


def test_the_present_tempo_is_a_rule_across_all_bands():
    """One strong line at 72, named above, from over the first band to under the last."""
    (rule,) = [mark for mark in SEVEN.marks if isinstance(mark, Rule) and mark.role == "edge"]
    assert rule.x == 72
    found = [mark for mark in SEVEN.marks if isinstance(mark, Band)]
    assert rule.top < min(band.top for band in found)
    assert rule.bottom > max(band.bottom for band in found)
    (name,) = [mark for mark in SEVEN.marks if isinstance(mark, Text) and mark.text == "72 bpm of the 4"]
    assert (name.x, name.y < rule.top) == (72, True)


def test_the_words_say_the_picture():
    """One sentence: the pair, the tempo, each way with its ends, and which is recommended."""
    assert SEVEN.alt == (
        "Ways to learn 7 against 4 by tempo, in bpm of the 4, at 72 now: learn the line from 43.6 to 205.3 "
        "(recommended now); count from the 4 from 30 to 51.4; count from the 7 from 30 to 85.7; hold the "
        "ones from 133.3 to 205.3; follow the drift at no tempo."
    )
    far = ways(rl.Polyrhythm(13, 4), rl.Tempo(90, pulse=1)).alt
    assert far.endswith(" No way fits now: phrase the 13 as 4 4 5.")


def test_the_row_below_names_what_is_recommended_along_the_tempos():
    """7:4: the line until 133, then the ones; above what a hand keeps up, hand to hand."""
    row = [mark for mark in SEVEN.marks if isinstance(mark, Text) and mark.text == "recommended"]
    along = [mark for mark in SEVEN.marks if isinstance(mark, Text) and not mark.side and mark.y == row[0].y]
    assert [mark.text for mark in along] == ["learn the line", "hold the ones", "hands"]
    edges = (Fraction(480, 11), Fraction(400, 3), Fraction(240_000, 1169), Fraction(300))
    assert edges[0] < along[0].x < edges[1] < along[1].x < edges[2] < along[2].x < edges[3]


def test_limits_and_home_are_the_readers():
    """A moved limit moves the edge; another home counts in its own bpm."""
    p, tempo = rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1)
    assert bands(ways(p, tempo, limits=rl.limits(ones_longest=2400)))["hold the ones"] == (100, 205)
    other = ways(p, tempo, home=0)
    assert bands(other)["count from the 7"] == (52, 150)
    assert "126 bpm of the 7" in texts(other, "")
    assert "learn the line" not in bands(ways(p, tempo, line_sounds=9))


def test_a_tempo_beyond_the_range_widens_it():
    """At 500 the picture reaches to 625, at 8 it begins at 6."""
    p = rl.Polyrhythm(7, 4)
    assert (ways(p, rl.Tempo(500, pulse=1)).start, ways(p, rl.Tempo(500, pulse=1)).stop) == (20, 625)
    assert (ways(p, rl.Tempo(8, pulse=1)).start, ways(p, rl.Tempo(8, pulse=1)).stop) == (6, 300)


@TRIES
@given(st.one_of(pairs, several), st.one_of(bpms, st.sampled_from([1, 1000])))
def test_any_rhythm_at_any_tempo_can_be_read_and_painted(p, bpm):
    """Bands lie in the frame where their way works; labels neither touch nor leave the canvas."""
    tempo = rl.Tempo(bpm, pulse=len(p.pulses) - 1).in_pulse(p, 0)
    scene = ways(p, tempo)
    found = approach(p, tempo)
    home = found.home
    assert overlaps(scene) == []
    assert outside(scene) == []
    every = {way.label: way for way in (*found.ways, *found.counts)}
    for name, (left, right) in bands(scene).items():
        assert scene.start <= left <= right <= scene.stop
        if name in every:
            low, high = every[name].floor_of(home), every[name].ceiling_of(home)
            assert left == max(scene.start, round(low))
            assert right == min(scene.stop, round(high))
    (rule,) = [mark for mark in scene.marks if isinstance(mark, Rule) and mark.role == "edge"]
    assert rule.x == round(found.ways[0].bpm)
    root = painted.parse(svg(scene))
    assert root.get("aria-label") == scene.alt


@TRIES
@given(st.one_of(pairs, several), st.one_of(bpms, st.sampled_from([1, 1000])))
def test_a_phone_shows_the_same_ways_over_the_same_tempos(p, bpm):
    """Narrow, the same names, bands, present tempo and words for a listener; no label touches another."""
    found = approach(p, rl.Tempo(bpm, pulse=len(p.pulses) - 1).in_pulse(p, 0))
    wide, narrow = drawn(found), drawn_narrow(found)
    assert (overlaps(narrow), outside(narrow)) == ([], [])
    assert (narrow.alt, narrow.start, narrow.stop) == (wide.alt, wide.start, wide.stop)
    for scene in (wide, narrow):
        assert scene.left + scene.right < scene.width <= WIDTH
    assert [(one.left, one.right, one.role) for one in narrow.marks if isinstance(one, Band)] == [
        (one.left, one.right, one.role) for one in wide.marks if isinstance(one, Band)
    ]
    assert texts(narrow, "from") == texts(wide, "left")[1:]  # the unit ends the tempos there
    assert {one.x for one in narrow.marks if isinstance(one, Rule) and one.role == "edge"} <= {
        one.x for one in wide.marks if isinstance(one, Rule) and one.role == "edge"
    }


@pytest.mark.parametrize("pulses", [(7, 4), (16, 15), (1_000_000_007, 1_000_000_006), (1, 1), (3, 4, 5)])
def test_both_painters_draw_it(pulses):
    """The same words in both, and every label can be read, also beside numbers of ten digits."""
    scene = ways(rl.Polyrhythm(*pulses), rl.Tempo(100, pulse=0))
    assert painted.parse(svg(scene)).get("aria-label") == scene.alt
    assert figure(scene).axes[0].get_label() == scene.alt
    assert (overlaps(scene), outside(scene)) == ([], [])


def test_bad_input_is_refused():
    """What is no tempo, or none that anyone counts at."""
    for tempo, wrong in (
        ("72", "is neither a Tempo nor beats a minute of home"),
        (rl.Tempo(1001, pulse=1), "more than 1,000 beats a minute"),
        (1001, "more than 1,000"),
    ):
        example = refusal(lambda given=tempo: ways(rl.Polyrhythm(7, 4), given), f"tempo={tempo!r}", wrong)
        assert works(example).name == "ways"

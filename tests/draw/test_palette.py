"""Colours that can be told apart: contrast of words and marks in light and dark, shapes that never match."""

from itertools import combinations

import pytest

import rhythmlab as rl
from rhythmlab.draw import palette
from rhythmlab.draw.palette import COLOURS, contrast, lane_role, shape
from rhythmlab.draw.pictures import spoken
from rhythmlab.draw.scene import Band, Stroke, Text
from rhythmlab.draw.svg import HANDS, PENS, svg
from rhythmlab.panels.wall import numbered
from tests.audio.measure import box

LANES = [f"lane{i}" for i in range(4)]
SHEETS = ["paper", "heard", "flam", "open", "alternating"]
theme = pytest.mark.parametrize("dark", [0, 1], ids=["light", "dark"])


def luminance(colour: str) -> float:
    """Relative luminance, written out from the standard."""
    # W3C, Web Content Accessibility Guidelines 2.2, definition of relative luminance.
    total = 0.0
    for weight, i in ((0.2126, 1), (0.7152, 3), (0.0722, 5)):
        c = int(colour[i : i + 2], 16) / 255
        total += weight * (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4)
    return total


def ratio(one: str, two: str) -> float:
    """Contrast ratio, written out from the standard."""
    high, low = max(luminance(one), luminance(two)), min(luminance(one), luminance(two))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize(
    ("one", "two", "published"),
    [
        ("#000000", "#ffffff", 21),
        ("#ffffff", "#ffffff", 1),
        ("#777777", "#ffffff", 4.48),
        ("#767676", "#ffffff", 4.54),
    ],
)
def test_contrast_is_that_of_the_standard(one, two, published):
    """White on black is 21; #767676 is the lightest grey that passes 4.5 on white, #777777 just fails."""
    # W3C, Web Content Accessibility Guidelines 2.2; the two greys are its well-known edge, from memory.
    assert contrast(one, two) == pytest.approx(published, abs=0.005)
    assert contrast(two, one) == contrast(one, two) == pytest.approx(ratio(one, two))


@theme
def test_words_can_be_read_on_every_sheet(dark):
    """Every colour of a text has 4.5 on paper and on every band."""
    # WCAG 2.2, success criterion 1.4.3: 4.5 to 1.
    for role in {ink for ink, _, _ in HANDS.values()}:
        for sheet in SHEETS:
            assert ratio(COLOURS[role][dark], COLOURS[sheet][dark]) >= 4.5, (role, sheet)


@theme
def test_strokes_can_be_seen_on_every_sheet(dark):
    """Every lane, and the heavy lines, have 3 on paper and on every band they can stand on."""
    # WCAG 2.2, success criterion 1.4.11: 3 to 1.
    for role in [*LANES, "beat", "ink"]:
        for sheet in SHEETS:
            assert ratio(COLOURS[role][dark], COLOURS[sheet][dark]) >= 3, (role, sheet)


@theme
def test_nothing_stands_on_a_sheet_that_was_not_tried(dark):
    """In the tide and the strip, what lies behind a stroke or a word is paper or one of the bands tried."""
    p = rl.Polyrhythm(16, 15)
    tide = rl.pictures.gap_cycle(rl.playing.zones(rl.phase_gaps(p, 0, 1), rl.Tempo(100, pulse=1)))
    for scene in (tide, rl.pictures.strip(p.cycle())):
        bands = [m for m in scene.marks if isinstance(m, Band)]
        assert {m.role for m in bands} <= set(SHEETS)
        for mark in scene.marks:
            if isinstance(mark, Stroke):
                behind = [b.role for b in bands if b.top <= mark.y <= b.bottom] or ["paper"]
                for sheet in behind:
                    assert ratio(COLOURS[lane_role(mark.lane)][dark], COLOURS[sheet][dark]) >= 3
            elif isinstance(mark, Text):
                left, right, _, _ = box(scene, mark)
                over = [
                    b
                    for b in bands
                    if b.top <= mark.y <= b.bottom and right > scene.left and left < scene.x(b.right)
                ]
                for sheet in [b.role for b in over] or ["paper"]:
                    assert ratio(COLOURS[HANDS[mark.role][0]][dark], COLOURS[sheet][dark]) >= 4.5


@theme
def test_a_row_has_its_name_in_the_colour_of_its_strokes_and_it_can_be_read(dark):
    """On a page, on a wall and where hands are named: the ink of a name is that of its row, 4.5 on paper."""
    # WCAG 2.2, success criterion 1.4.3: 4.5 to 1.
    p = rl.Polyrhythm(7, 4, 3)
    wall = numbered(rl.pictures.strip((7, 4)), rl.Polyrhythm(7, 4))
    for scene in (rl.pictures.strip(p.cycle()), spoken(rl.Polyrhythm(3, 2)), wall):
        names = [m for m in scene.marks if isinstance(m, Text) and (m.role, m.side) == ("name", "left")]
        assert len(names) >= len({mark.lane for mark in scene.strokes()})
        for name in names:
            lane = min(scene.strokes(), key=lambda stroke: abs(stroke.y - name.y)).lane
            assert name.ink == lane_role(lane)
            assert ratio(COLOURS[name.ink][dark], COLOURS["paper"][dark]) >= 4.5
            drawn = f'style="fill:var(--rl-{name.ink})">{name.text}</text>'
            assert drawn in svg(scene, live=True)
            printed = svg(scene, inks={role: f"ink of {role}" for role in COLOURS})
            assert f'style="fill:ink of ink">{name.text}</text>' in printed


@theme
def test_lanes_and_zones_differ(dark):
    """Four colours for four pulses, and bands that are told from their neighbours and from paper."""
    assert len({COLOURS[lane][dark] for lane in LANES}) == 4
    assert len({COLOURS[sheet][dark] for sheet in SHEETS}) == 5


def test_shape_and_colour_go_together_and_never_match_within_four():
    """Each pulse has one shape and one colour; with four pulses no two share either."""
    assert [shape(i) for i in range(4)] == ["disc", "diamond", "square", "triangle"]
    for one, two in combinations(range(4), 2):
        assert shape(one) != shape(two)
        assert lane_role(one) != lane_role(two)
    assert (shape(4), lane_role(4)) == (shape(0), lane_role(0))


@theme
def test_the_stage_gets_a_variable_for_every_role(dark):
    """One custom property for each colour of the theme, under the role's name."""
    pairs = dict(pair.split(":") for pair in palette.variables(dark=bool(dark)).split(";"))
    assert pairs == {f"--rl-{role}": colours[dark] for role, colours in COLOURS.items()}
    assert {ink for ink, _, _ in (*PENS.values(), *HANDS.values())} <= set(COLOURS)

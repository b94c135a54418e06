"""Scene to matplotlib: the same strokes, words and lines as the SVG, in a figure that nobody must close."""

import io
from xml.etree import ElementTree

import matplotlib.pyplot as plt
import pytest
from matplotlib.collections import LineCollection, PathCollection
from matplotlib.colors import to_hex

import rhythmlab as rl
from rhythmlab.draw.palette import COLOURS
from rhythmlab.draw.scene import ROW, WIDTH, Band, Line, Rule, Scene, Text
from rhythmlab.draw.svg import HANDS, pen, svg
from tests.draw import painted
from tests.draw.gallery import SCENES, tide

scenes = pytest.mark.parametrize("scene", SCENES.values(), ids=SCENES)


def lanes(axes) -> list[PathCollection]:
    """Return the collections of strokes, without rings."""
    found = [c for c in axes.collections if isinstance(c, PathCollection)]
    return [c for c in found if len(c.get_facecolor())]


@scenes
def test_both_painters_paint_the_same_strokes(scene):
    """As many strokes at the same places, in the same colours, as the static SVG."""
    axes = rl.pictures.figure(scene).axes[0]
    by_figure = sorted(
        (round(float(x), 1), round(float(y), 1), to_hex(c.get_facecolor()[0]))
        for c in lanes(axes)
        for x, y in c.get_offsets()
    )
    by_svg = sorted(
        (round(x, 1), round(y, 1), COLOURS[f"lane{lane % 4}"][0])
        for _, lane, x, y, _ in painted.strokes(painted.parse(svg(scene)))
    )
    assert len(by_figure) == len(by_svg) == len(scene.strokes())
    for one, other in zip(by_figure, by_svg, strict=True):
        assert one[:2] == pytest.approx(other[:2], abs=0.2)
        assert one[2] == other[2]


@scenes
def test_both_painters_write_the_same_words(scene):
    """Every word at the same place, with the same anchor."""
    axes = rl.pictures.figure(scene).axes[0]
    anchors = {"center": "middle", "right": "end", "left": "start"}
    by_figure = [(*map(float, t.get_position()), anchors[t.get_ha()], t.get_text()) for t in axes.texts]
    for one, other in zip(by_figure, painted.texts(painted.parse(svg(scene))), strict=True):
        assert one[:2] == pytest.approx(other[:2], abs=0.02)
        assert one[2:] == other[2:]


@scenes
def test_both_painters_draw_the_same_lines_and_bands(scene):
    """Every rule, line and band of the scene is in the figure, between the same ends."""
    axes = rl.pictures.figure(scene).axes[0]
    drawn = sorted(
        tuple(round(float(v), 2) for end in segment for v in end)
        for c in axes.collections
        if isinstance(c, LineCollection)
        for segment in c.get_segments()
    )
    wanted = []
    for mark in scene.marks:
        if isinstance(mark, Rule):
            wanted.append((scene.x(mark.x), mark.top * ROW, scene.x(mark.x), mark.bottom * ROW))
        elif isinstance(mark, Line):
            wanted.append((scene.x(mark.left), mark.top * ROW, scene.x(mark.right), mark.bottom * ROW))
    assert drawn == sorted(tuple(round(float(v), 2) for v in ends) for ends in wanted)
    bands = [
        c for c in axes.collections if type(c).__name__ in ("FillBetweenPolyCollection", "PolyCollection")
    ]
    assert len(bands) == sum(isinstance(mark, Band) for mark in scene.marks)


@scenes
def test_a_figure_has_the_words_of_the_scene_and_leaves_nothing_open(scene):
    """The label of its axes is the text alternative; pyplot knows nothing of it; it saves with its words."""
    before = plt.get_fignums()
    fig = rl.pictures.figure(scene)
    assert plt.get_fignums() == before == []
    assert fig.axes[0].get_label() == scene.alt
    assert fig.axes[0].get_xlim() == (0, WIDTH)
    assert fig.axes[0].get_ylim() == (scene.rows * ROW, 0)  # rows go down, as in the SVG
    assert tuple(fig.get_size_inches()) == pytest.approx((WIDTH / 100, scene.rows * ROW / 100))
    saved = io.BytesIO()
    fig.savefig(saved, format="svg", metadata={"Title": scene.alt, "Date": None})
    saved.seek(0)
    title = ElementTree.parse(saved).getroot().find(".//{http://purl.org/dc/elements/1.1/}title")
    assert title.text == scene.alt
    png = io.BytesIO()
    fig.savefig(png, format="png")
    assert png.getvalue().startswith(b"\x89PNG")


def test_painting_twice_paints_the_same():
    """A figure takes nothing from the one before it."""
    saved = []
    for _ in range(2):
        png = io.BytesIO()
        rl.pictures.figure(SCENES["tide"]).savefig(png, format="png", metadata={"Software": None})
        saved.append(png.getvalue())
    assert saved[0] == saved[1]


def test_shapes_differ_by_lane():
    """Four lanes have four outlines."""
    outlines = {
        tuple(map(tuple, c.get_paths()[0].vertices.round(3)))
        for c in lanes(rl.pictures.figure(SCENES["four lanes"]).axes[0])
    }
    assert len(outlines) == 4


@pytest.mark.parametrize("home", [0, 1])
def test_the_stroke_of_home_lies_on_top_and_is_smaller(home):
    """In the tide of either home the later lane is painted over the other, smaller, so both are seen."""
    scene = tide((16, 15), home)
    found = {to_hex(c.get_facecolor()[0]): c for c in lanes(rl.pictures.figure(scene).axes[0])}
    still, moving = found[COLOURS[f"lane{home}"][0]], found[COLOURS[f"lane{1 - home}"][0]]
    assert still.get_zorder() > moving.get_zorder()
    assert max(still.get_sizes()) < min(moving.get_sizes())


def test_the_stroke_midway_has_a_ring():
    """One ring in the tide of 16:15, round the stroke at tick 120, wider than it."""
    scene = SCENES["tide"]
    axes = rl.pictures.figure(scene).axes[0]
    rings = [c for c in axes.collections if isinstance(c, PathCollection) and not len(c.get_facecolor())]
    assert [tuple(map(float, ring.get_offsets()[0])) for ring in rings] == [
        pytest.approx((scene.x(120), next(s.y for s in scene.strokes() if s.ring) * ROW))
    ]
    assert rings[0].get_sizes()[0] > max(lanes(axes)[0].get_sizes())


def test_a_scene_without_marks_is_a_blank_sheet():
    """Nothing to draw is no error."""
    assert not rl.pictures.figure(Scene("a", "A.", (), 0, 1, 1.0)).axes[0].collections


@scenes
def test_sizes_are_those_of_the_svg_in_points(scene):
    """Letters, lines and strokes are as large as in the SVG, where a hundred px are an inch of 72 points."""
    axes = rl.pictures.figure(scene).axes[0]
    letters = [mark.role for mark in scene.marks if isinstance(mark, Text)]
    assert [t.get_fontsize() for t in axes.texts] == pytest.approx(
        [HANDS[role][1] * 0.72 for role in letters]
    )
    assert [t.get_fontweight() for t in axes.texts] == [HANDS[role][2] for role in letters]
    roles = {mark.role for mark in scene.marks if isinstance(mark, Rule | Line)}
    widths = [c.get_linewidth()[0] for c in axes.collections if isinstance(c, LineCollection)]
    assert sorted(widths) == pytest.approx(sorted(pen(role)[1] * 0.72 for role in roles))
    large = {(2 * scene.radius * 0.72) ** 2 * (0.62**2 if s.small else 1) for s in scene.strokes()}
    drawn = {float(size) for c in lanes(axes) for size in c.get_sizes()}
    assert sorted(drawn) == pytest.approx(sorted(large))


def test_words_lie_on_strokes_on_lines_on_bands():
    """What is painted later in the SVG covers what is under it here as well."""
    axes = rl.pictures.figure(SCENES["tide"]).axes[0]
    bands = [c.get_zorder() for c in axes.collections if type(c).__name__.endswith("PolyCollection")]
    lines = [c.get_zorder() for c in axes.collections if isinstance(c, LineCollection)]
    strokes = [c.get_zorder() for c in axes.collections if isinstance(c, PathCollection)]
    assert max(bands) < min(lines) <= max(lines) < min(strokes)
    assert max(strokes) < min(t.get_zorder() for t in axes.texts)
    assert bands == sorted(bands)

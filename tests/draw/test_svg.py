"""Scene to SVG: well-formed, named, with every mark where the scene has it, live or in its own colours."""

import re

import pytest

import rhythmlab as rl
from rhythmlab.draw import palette
from rhythmlab.draw.scene import ROW, WIDTH, Band, Line, Rule, Text
from rhythmlab.draw.svg import HANDS, LETTERS, ON_PAPER, PENS, outline, pen, svg
from tests.draw import painted
from tests.draw.gallery import SCENES, tide

scenes = pytest.mark.parametrize("scene", SCENES.values(), ids=SCENES)
both = pytest.mark.parametrize("live", [False, True], ids=["static", "live"])


@scenes
@both
def test_a_picture_is_one_well_formed_image_with_its_words(scene, live):
    """It parses as XML, is an image to a screen reader, and its label is the text alternative."""
    root = painted.parse(svg(scene, live=live))
    assert root.tag == f"{painted.NS}svg"
    assert root.get("role") == "img"
    assert root.get("aria-label") == scene.alt
    assert root.get("viewBox") == f"0 0 {WIDTH} {scene.rows * ROW:g}"
    assert not list(root.iter(f"{painted.NS}script"))


@scenes
@both
def test_every_stroke_is_painted_where_the_scene_has_it(scene, live):
    """Tick, lane, centre and shape of each stroke, in the scene's order, where the browser finds them."""
    shapes = ("disc", "diamond", "square", "triangle")
    drawn = painted.strokes(painted.parse(svg(scene, live=live)))
    assert [(tick, lane, shape) for tick, lane, _, _, shape in drawn] == [
        (s.x, s.lane, shapes[s.lane % 4]) for s in scene.strokes()
    ]
    wide = WIDTH - scene.left - scene.right
    for (_, _, x, y, _), stroke in zip(drawn, scene.strokes(), strict=True):
        share = (stroke.x - scene.start) / (scene.stop - scene.start)
        assert x == pytest.approx(scene.left + share * wide, abs=0.02)
        assert y == pytest.approx(40 * stroke.y, abs=0.02)


@scenes
@both
def test_every_word_is_painted_where_the_scene_has_it(scene, live):
    """Centred on its tick, or in its gutter; none is lost, and letters with a meaning in XML are kept."""
    drawn = painted.texts(painted.parse(svg(scene, live=live)))
    wanted = [mark for mark in scene.marks if isinstance(mark, Text)]
    assert [text for *_, text in drawn] == [mark.text for mark in wanted]
    for (x, y, anchor, _), mark in zip(drawn, wanted, strict=True):
        expected = {
            "": (scene.x(mark.x), "middle"),
            "left": (scene.left - 14, "end"),
            "right": (WIDTH - scene.right + 10, "start"),
            "from": (scene.x(mark.x) + 16, "start"),
        }[mark.side]
        assert (x, anchor) == (pytest.approx(expected[0], abs=0.01), expected[1])
        assert y == pytest.approx(40 * mark.y, abs=0.01)


@scenes
def test_a_static_picture_carries_its_own_colours(scene):
    """On white paper, with the palette's light colours and no theme variable, so that it prints anywhere."""
    text = svg(scene)
    assert "var(" not in text
    first = painted.parse(text)[0]
    assert (first.tag, first.get("fill")) == (f"{painted.NS}rect", "#ffffff")
    assert first.get("width") == str(WIDTH)
    used = set(re.findall(r"#[0-9a-f]{6}", text))
    assert used <= {light for light, _ in palette.COLOURS.values()}
    for stroke in {s.lane for s in scene.strokes()}:
        assert palette.COLOURS[f"lane{stroke % 4}"][0] in used


@scenes
def test_only_a_static_picture_has_a_widest_width(scene):
    """In print and in a browser it is no wider than drawn; on the stage the style sheet decides."""
    static, live = painted.parse(svg(scene)), painted.parse(svg(scene, live=True))
    assert static.get("style") == f"max-width:{WIDTH}px"
    assert live.get("style") is None
    assert "max-width" not in svg(scene, live=True)
    assert static.get("width") == live.get("width") == "100%"


@scenes
def test_a_live_picture_takes_every_colour_from_the_theme(scene):
    """No literal colour and no paper of its own; each variable is one that the stage defines."""
    text = svg(scene, live=True)
    marks = text.partition(">")[2]
    assert not re.search(r"#[0-9a-fA-F]{3}|rgb|white|black", marks.replace("&#x", ""))
    defined = set(re.findall(r"--rl-[a-z0-9]+", palette.variables()))
    assert set(re.findall(r"var\((--rl-[a-z0-9]+)\)", text)) <= defined
    assert not [rect for rect in painted.parse(text) if rect.get("width") == str(WIDTH)]
    colours = re.findall(r"(?:fill|stroke):([^;\"]+)", text)
    assert colours
    assert all(colour.startswith("var(--rl-") for colour in colours)


@scenes
@both
def test_every_line_and_band_is_painted(scene, live):
    """As many as the scene has, of the width that its role has; text where lines pass has its paper."""
    root = painted.parse(svg(scene, live=live))
    lines = [path for path in root.iter(f"{painted.NS}path") if "data-tick" not in path.attrib]
    wanted = [mark for mark in scene.marks if isinstance(mark, Rule | Line)]
    assert [line.get("stroke-width") for line in lines] == [str(pen(mark.role)[1]) for mark in wanted]
    for line, mark in zip(lines, wanted, strict=True):
        ends = (mark.x, mark.x) if isinstance(mark, Rule) else (mark.left, mark.right)
        numbers = [
            float(n) for n in re.fullmatch(r"M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)", line.get("d")).groups()
        ]
        assert numbers[::2] == pytest.approx([scene.x(end) for end in ends], abs=0.01)
        assert numbers[1::2] == pytest.approx([40 * mark.top, 40 * mark.bottom], abs=0.01)
    paper = f"fill:{'var(--rl-paper)' if live else palette.COLOURS['paper'][0]}"
    filled = list(root.iter(f"{painted.NS}rect"))[0 if live else 1 :]
    rects = [rect for rect in filled if rect.get("style") != paper]
    own = sum(isinstance(mark, Text) and mark.role in ON_PAPER for mark in scene.marks)
    assert len(filled) - len(rects) == own
    bands = [mark for mark in scene.marks if isinstance(mark, Band)]
    for rect, band in zip(rects, bands, strict=True):
        left, top = float(rect.get("x")), float(rect.get("y"))
        assert left == pytest.approx(scene.x(band.left), abs=0.01)
        assert left + float(rect.get("width")) == pytest.approx(scene.x(band.right), abs=0.02)
        assert (top, top + float(rect.get("height"))) == pytest.approx(
            (40 * band.top, 40 * band.bottom), abs=0.02
        )


def test_the_stroke_midway_has_its_ring_and_no_other_has():
    """One circle, round the stroke at tick 120, wider than the stroke."""
    scene = SCENES["tide"]
    (ring,) = painted.parse(svg(scene)).iter(f"{painted.NS}circle")
    assert float(ring.get("cx")) == pytest.approx(scene.x(120), abs=0.01)
    assert float(ring.get("r")) > scene.radius
    assert ring.get("fill") == "none"


@pytest.mark.parametrize("home", [0, 1])
def test_strokes_of_home_on_the_shore_are_smaller(home):
    """On tick 0 of the tide the stroke of home is painted last and smallest, so both are seen."""
    scene = tide((16, 15), home)
    outlines = re.findall(r'data-tick="0" data-lane="(\d)" d="M([\d.]+) ([\d.]+)', svg(scene))
    assert [int(lane) for lane, _, _ in outlines] == [1 - home, home]
    (shore,) = {stroke.y for stroke in scene.strokes(home)}
    # from the middle of the stroke to the first point of each outline
    reach = [abs(128 - float(x)) + abs(40 * shore - float(y)) for _, x, y in outlines]
    assert 0 < reach[1] < 0.8 * reach[0]


def test_shapes_differ_and_are_about_as_large():
    """Four shapes, told apart without colour, each about the area of the disc."""
    areas = {"disc": 3.1416, "diamond": 2 * 1.22**2, "square": (2 * 0.88) ** 2, "triangle": 1.2**2 * 1.72}
    outlines = [outline(kind, 10, 10, 5) for kind in areas]
    assert len(set(outlines)) == 4
    for kind, path in zip(areas, outlines, strict=True):
        x, y, shape = painted.centre(path)
        assert shape == kind
        assert (x, y) == pytest.approx((10, 10), abs=0.02)
        assert areas[kind] == pytest.approx(areas["disc"], rel=0.25)


def test_text_is_never_too_small_to_read():
    """At least 12 px for every role, and what is counted stands out by size and weight."""
    assert min(size for _, size, _ in HANDS.values()) >= 12
    full = [size for role, (_, size, _) in HANDS.items() if role != "bare"]  # which stands alone
    assert HANDS["big"][1] == max(full) < HANDS["bare"][1]
    assert HANDS["big"][2] > HANDS["small"][2]


def test_line_weights_tell_home_from_hairlines_in_black_and_white():
    """Heavy lines are wider than hairlines, edges and ties wider still, sounds the widest."""
    widths = [PENS[role][1] for role in ("hair", "beat", "edge", "sound")]
    assert widths == sorted(set(widths))
    assert PENS["tie"][1] > PENS["beat"][1]


@both
def test_letters_of_hands_stand_on_paper_that_hides_the_lines(live):
    """Each R or L has paper as wide as the letter right under it, after every line and before the text."""
    scene = rl.pictures.strip(rl.playing.hand_to_hand(rl.Polyrhythm(7, 4)))
    text = svg(scene, live=live)
    paper = "var(--rl-paper)" if live else palette.COLOURS["paper"][0]
    letters = re.findall(
        r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)" style="fill:([^"]+)"/>'
        r'<text x="([\d.]+)" y="([\d.]+)"[^>]*>([RL])</text>',
        text,
    )
    assert "".join(letter for *_, letter in letters) == scene_hands(scene)
    for left, top, wide, high, fill, x, y, _ in letters:
        assert fill == paper
        assert float(left) + float(wide) / 2 == pytest.approx(float(x), abs=0.02)
        assert float(top) + float(high) / 2 == pytest.approx(float(y), abs=0.02)
        assert 10 <= float(wide) <= 14
        assert 10 <= float(high) <= 14  # as high as a letter of 14 px, and clear of stroke and heard line
    lines = [m for m in scene.marks if isinstance(m, Rule)]
    assert max(map(scene.marks.index, lines)) < min(
        i for i, m in enumerate(scene.marks) if isinstance(m, Text) and m.role in LETTERS
    )
    assert any(mark.x == 7 and mark.role == "beat" for mark in lines)  # a line would go through its letter


def scene_hands(scene):
    """Letters of a scene in the order painted."""
    return "".join(m.text for m in scene.marks if isinstance(m, Text) and m.role in LETTERS)

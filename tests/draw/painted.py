"""Read a painted SVG back: strokes with their centres, texts, and what they are painted with."""

import re
from xml.etree import ElementTree

NS = "{http://www.w3.org/2000/svg}"


def parse(text: str) -> ElementTree.Element:
    """Return the root of a picture; the text must be well-formed XML."""
    return ElementTree.fromstring(text)


def strokes(root: ElementTree.Element) -> list[tuple[int, int, float, float, str]]:
    """Tick, lane, centre of the outline, and shape of each stroke, in the order painted."""
    found = []
    for path in root.iter(f"{NS}path"):
        if "data-tick" in path.attrib:
            x, y, shape = centre(path.get("d"))
            found.append((int(path.get("data-tick")), int(path.get("data-lane")), x, y, shape))
    return found


def centre(d: str) -> tuple[float, float, str]:
    """Return the centre of a stroke's outline and the name of its shape."""
    number = r"(-?[\d.]+)"
    if arc := re.fullmatch(rf"M{number} {number}a{number} .*", d):
        return float(arc[1]) + float(arc[3]), float(arc[2]), "disc"
    if square := re.fullmatch(rf"M{number} {number}H{number}V{number}H{number}Z", d):
        left, top, right, bottom, back = map(float, square.groups())
        assert back == left
        assert abs((right - left) - (bottom - top)) < 0.02
        return (left + right) / 2, (top + bottom) / 2, "square"
    corners = [(float(x), float(y)) for x, y in re.findall(rf"[ML]{number} {number}", d)]
    if len(corners) == 4:
        (top_x, top), (right, middle), (bottom_x, bottom), (left, other) = corners
        assert (top_x, middle) == (bottom_x, other)
        return (left + right) / 2, (top + bottom) / 2, "diamond"
    (tip_x, tip), (right, foot) = corners
    left = float(re.search(rf"H{number}Z", d)[1])
    assert abs(tip_x * 2 - left - right) < 0.02
    # a triangle stands round its middle: 1.2 r above it and 0.72 of that below
    return tip_x, tip + (foot - tip) / 1.72, "triangle"


def texts(root: ElementTree.Element) -> list[tuple[float, float, str, str]]:
    """Place, anchor and words of each text."""
    return [
        (float(t.get("x")), float(t.get("y")), t.get("text-anchor"), t.text) for t in root.iter(f"{NS}text")
    ]

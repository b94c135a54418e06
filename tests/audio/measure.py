"""How wide the words of a scene are, in the painters' first font, which matplotlib brings along."""

from functools import cache
from pathlib import Path

import matplotlib
from matplotlib.ft2font import FT2Font

from rhythmlab.draw.scene import ROW, Scene, Text
from rhythmlab.draw.svg import HANDS

#: Px that a letter is given at a size: rougher than the font, and safe for one a little wider.
ROUGH = {12: 7.7, 14: 8.5, 16: 10.0, 18: 11.0, 19: 12.0}


@cache
def _font(bold: bool) -> FT2Font:
    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    font = FT2Font(str(folder / ("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf")))
    font.set_size(100, 72)
    return font


@cache
def _letter(letter: str, bold: bool) -> float:
    return _font(bold).load_char(ord(letter)).linearHoriAdvance / 65536 / 100


def width(text: str, role: str) -> float:
    """Px that a text is wide."""
    _, size, weight = HANDS[role]
    return size * sum(_letter(letter, weight >= 600) for letter in text)


def box(scene: Scene, text: Text, *, rough: bool = False) -> tuple[float, float, float, float]:
    """Left, right, top and bottom of a text in px, as SVG anchors it; the height is that of its digits."""
    size = HANDS[text.role][1]
    wide = ROUGH[size] * len(text.text) if rough else width(text.text, text.role)
    x = scene.x(text.x)
    if text.side == "left":
        x = scene.left - 14 - wide
    elif text.side == "right":
        x = scene.width - scene.right + 10
    elif text.side == "from":
        x += 16
    elif text.side == "to":
        x -= wide
    else:
        x -= wide / 2
    middle, half = text.y * ROW, 0.37 * size
    return x, x + wide, middle - half, middle + half


def overlaps(scene: Scene) -> list[tuple[str, str]]:
    """Pairs of texts that touch: by the font wherever they stand, by the rough rule in the same row."""
    texts = sorted((mark for mark in scene.marks if isinstance(mark, Text)), key=lambda text: text.y)
    found = []
    for rough in (False, True):
        boxes = [box(scene, text, rough=rough) for text in texts]
        for i, (left, right, _, bottom) in enumerate(boxes):
            for j in range(i + 1, len(boxes)):
                other = boxes[j]
                if other[2] >= bottom + 4:
                    break
                if other[2] >= bottom or (rough and texts[i].y != texts[j].y):
                    continue
                if left < other[1] and other[0] < right:
                    found.append((texts[i].text, texts[j].text))
    return found


def outside(scene: Scene) -> list[str]:
    """Texts that leave the canvas."""
    found = []
    for text in (mark for mark in scene.marks if isinstance(mark, Text)):
        left, right, top, bottom = box(scene, text)
        if left < 0 or right > scene.width or top < 0 or bottom > scene.rows * ROW:
            found.append(text.text)
    return found

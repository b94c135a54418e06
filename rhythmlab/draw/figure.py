"""A Scene as a matplotlib figure, and pictures as files: SVG, PNG and PDF."""

import io
import re
import warnings
from functools import partial
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rhythmlab.core import rhythm as core
from rhythmlab.core.check import short
from rhythmlab.core.display import Written
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.draw.palette import COLOURS, lane_role, shape
from rhythmlab.draw.pictures import strip
from rhythmlab.draw.scene import ROW, Band, Line, Rule, Scene, Text, text_at
from rhythmlab.draw.svg import HANDS, ON_PAPER, pen, svg
from rhythmlab.files import save, with_ending
from rhythmlab.refusal import Refusal

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
_MARKERS = {"disc": "o", "diamond": "D", "square": "s", "triangle": "^"}
#: One px at 100 dots an inch, in points.
_POINTS = 72 / 100
#: Endings of pictures, and dots an inch of a PNG.
PICTURES = (".svg", ".png", ".pdf")
DPI = 200
_CALL = "pictures.strip((7, 4)).write({})"
#: Characters that XML cannot hold.
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def _draw_lines(axes: "Axes", scene: Scene) -> None:
    """Draw rules and lines, one collection a role."""
    by_role: dict[str, list[list[tuple[float, float]]]] = {}
    for mark in scene.marks:
        if isinstance(mark, Rule):
            ends = [(scene.x(mark.x), mark.top * ROW), (scene.x(mark.x), mark.bottom * ROW)]
        elif isinstance(mark, Line):
            ends = [(scene.x(mark.left), mark.top * ROW), (scene.x(mark.right), mark.bottom * ROW)]
        else:
            continue
        by_role.setdefault(mark.role, []).append(ends)
    if by_role:
        from matplotlib.collections import LineCollection
    for role, lines in by_role.items():
        ink, width, opacity = pen(role)
        axes.add_collection(
            LineCollection(lines, colors=COLOURS[ink][0], linewidths=width * _POINTS, alpha=opacity, zorder=1)
        )


def _draw_strokes(axes: "Axes", scene: Scene) -> None:
    """Draw strokes, one collection a lane; a lane that comes later in the scene lies on top."""
    diameter = 2 * scene.radius * _POINTS
    for order, lane in enumerate(dict.fromkeys(stroke.lane for stroke in scene.strokes())):
        strokes = scene.strokes(lane)
        x, y = [scene.x(s.x) for s in strokes], [s.y * ROW for s in strokes]
        sizes = [(diameter * (0.62 if s.small else 1)) ** 2 for s in strokes]
        look: dict[str, Any] = {"facecolors": COLOURS[lane_role(lane)][0], "marker": _MARKERS[shape(lane)]}
        axes.scatter(x, y, s=sizes, zorder=2 + order * 1e-3, linewidths=0.6, edgecolors="white", **look)
        ringed = [(scene.x(s.x), s.y * ROW) for s in strokes if s.ring]
        if ringed:
            ring: dict[str, Any] = {"facecolors": "none", "edgecolors": COLOURS["ink"][0], "zorder": 2.5}
            x, y = [x for x, _ in ringed], [y for _, y in ringed]
            axes.scatter(x, y, s=(diameter + 10 * _POINTS) ** 2, **ring)


@public("pictures.figure((7, 4))")
def figure(scene: Scene | Rhythm) -> "Figure":
    """Paint a scene as a matplotlib figure.

    Parameters
    ----------
    scene : Scene, or Polyrhythm, Cycle or pair such as (7, 4)
        What to paint; of a rhythm its `strip`.

    Returns
    -------
    matplotlib.figure.Figure
        Not registered with pyplot, so nothing needs closing; its axes are labelled with the scene's text
        alternative, which ``savefig(..., metadata={"Title": ...})`` can carry on.

    Examples
    --------
    >>> figure((3, 2)).axes[0].get_label()[:11]
    '3 against 2'
    """
    scene = (
        scene
        if isinstance(scene, Scene)
        else strip(core.as_rhythm(scene, "scene", "pictures.figure((7, 4))"))
    )
    from matplotlib.figure import Figure
    from matplotlib.patheffects import withStroke

    height = scene.rows * ROW
    fig = Figure(figsize=(scene.width / 100, height / 100), dpi=100, facecolor=COLOURS["paper"][0])
    fig.__dict__["_repr_html_"] = partial(svg, scene)  # a notebook has the picture with its text alternative
    axes = fig.add_axes((0, 0, 1, 1), label=scene.alt)
    axes.set(xlim=(0, scene.width), ylim=(height, 0))
    axes.axis("off")
    for order, mark in enumerate(scene.marks, 1):
        match mark:
            case Band(left, right, top, bottom, role):
                sides = (scene.x(left), scene.x(right))
                axes.fill_between(
                    sides, top * ROW, bottom * ROW, color=COLOURS[role][0], linewidth=0, zorder=order * 1e-4
                )
            case Text(_, row, text, role):
                ink, size, weight = HANDS[role]
                x, across = text_at(scene, mark)
                style: dict[str, Any] = {
                    "fontsize": size * _POINTS,
                    "fontweight": weight,
                    "color": COLOURS[mark.ink or ink][0],
                }
                if role in ON_PAPER:
                    style["path_effects"] = [withStroke(linewidth=3, foreground=COLOURS["paper"][0])]
                shown = "".join(
                    sign if sign.isprintable() or sign == "\N{NO-BREAK SPACE}" else " " for sign in text
                )
                axes.text(x, row * ROW, shown, ha=across, va="center", zorder=3, parse_math=False, **style)
    _draw_lines(axes, scene)
    _draw_strokes(axes, scene)
    return fig


def painted(scene: Scene, ending: str) -> bytes:
    """Return a picture as the bytes of an ``.svg``, ``.png`` or ``.pdf`` file."""
    if ending == ".svg":
        size = f'width="{scene.width}" height="{scene.rows * ROW:g}"'
        text = svg(scene).replace('width="100%"', size, 1)  # a file by itself has no page to fill
        named = f"<title>{escape(scene.title)}</title><desc>{escape(scene.alt)}</desc>"
        text = text.replace(">", f">{named}", 1)
        return _NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text).encode()
    from matplotlib import rc_context
    from matplotlib.text import Text

    title, alt = (_NOT_XML.sub(" ", text) for text in (scene.title, scene.alt))
    about = {"Title": title, "Subject": alt, "CreationDate": None}
    if ending == ".png":
        about = {"Title": title, "Description": alt}
    out = io.BytesIO()
    with rc_context({"pdf.fonttype": 42}), warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph .* missing from font")  # a box stands for the letter
        drawn = figure(scene)
        for one in drawn.findobj(Text):
            if isinstance(one, Text):
                one.set_parse_math(False)  # a dollar in a name is a dollar
        drawn.savefig(out, format=ending[1:], dpi=DPI, metadata=about)
    return out.getvalue()


def picture(scene: Scene, path: str | Path, *, replace: bool = False) -> Path:
    """Write a picture as SVG, PNG or PDF.

    Parameters
    ----------
    scene : Scene
        The picture.
    path : str or Path
        Where to; its ending, ``.svg``, ``.png`` or ``.pdf``, says what is written. A PNG has 200 dots an
        inch; a PDF has its fonts inside.
    replace : bool
        As for `rhythmlab.files.save`.

    Returns
    -------
    Path
        Where it was written.

    Raises
    ------
    ValueError
        If it is no picture, or the path ends otherwise.
    OSError
        As for `rhythmlab.files.save`.

    Examples
    --------
    >>> import tempfile
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.draw.pictures import strip
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     picture(strip((7, 4)), f"{folder}/7-4.svg").stat().st_size > 1000
    True
    """
    if not isinstance(scene, Scene):
        raise Refusal(
            f"scene={short(scene)} is not a picture", _CALL.format(repr("7-4.svg")), argument="scene"
        )
    path = with_ending(path, *PICTURES, call=_CALL)
    return Written(save(path, painted(scene, path.suffix.lower()), _CALL, replace=replace))

"""Scene -> SVG: live pictures take their colours from the page's theme, static ones carry their own."""

from collections.abc import Callable, Mapping
from html import escape

from rhythmlab.draw.palette import COLOURS, lane_role, shape, themed
from rhythmlab.draw.scene import ROW, Band, Line, Mark, Rule, Scene, Stroke, Text, text_at

#: Role of a rule or a line -> (colour role, width in px, opacity).
PENS = {
    "hair": ("hair", 1, 1),
    "beat": ("beat", 1.6, 0.85),
    "edge": ("beat", 2.4, 1),
    "tie": ("beat", 2.4, 1),
    "sound": ("ink", 3, 1),
    "stem": ("quiet", 1, 0.8),
    "thread": ("quiet", 1.2, 0.5),
}
#: Role of a text -> (colour role, size in px, weight).
HANDS = {
    "bare": ("ink", 19, 700),
    "big": ("ink", 18, 700),
    "name": ("ink", 16, 700),
    "plain": ("ink", 14, 400),
    "small": ("quiet", 14, 400),
    "fine": ("ink", 12, 400),
    "letter": ("quiet", 14, 400),
    "fine letter": ("quiet", 12, 400),
    "fine number": ("ink", 12, 400),
}
#: Roles of hands at strokes; and of all that stands where lines pass, on paper of its own.
LETTERS = ("letter", "fine letter")
ON_PAPER = (*LETTERS, "fine number")


def pen(role: str) -> tuple[str, float, float]:
    """Return colour role, width in px and opacity of a rule or a line; a lane's own line is thin."""
    return PENS.get(role, (role, 1.4, 0.75))


def svg(scene: Scene, *, live: bool = False, inks: Mapping[str, str] | None = None, row: float = ROW) -> str:
    """Paint a scene as SVG text.

    Parameters
    ----------
    scene : Scene
        What to paint.
    live : bool
        Whether colours are the theme variables of the stage, and the frame that a playhead moves in is said;
        otherwise colours are literal, on white paper.
    inks : mapping, optional
        Colours in place of the screen's, for a print: strokes then have an outline in ink, and every
        word is in that of its role.
    row : float
        Height of a row in px.

    Returns
    -------
    str
        One ``<svg role="img">`` with the scene's text alternative; every stroke carries ``data-lane``,
        and each that was meant ``data-tick``.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.draw.pictures import strip
    >>> svg(strip((3, 2))).count("data-tick=")
    5
    """

    def colour(role: str) -> str:
        return f"var(--rl-{role})" if live else inks[role] if inks else COLOURS[role][0]

    height = scene.rows * row
    edge = (colour("ink"), 1.1) if inks else (colour("paper"), 0.8)
    paper = "" if live else f'<rect width="{scene.width}" height="{height:g}" fill="{COLOURS["paper"][0]}"/>'
    limit = "" if live else f' style="max-width:{scene.width}px"'
    frame = f"{scene.start} {scene.stop} {scene.left} {scene.right} {scene.width} {height:g}"
    moving = f' data-frame="{frame}"' if live and scene.moves else ""
    radius = scene.radius
    marks = "".join(_paint(mark, scene, colour, radius, row, edge, bool(inks)) for mark in scene.marks)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{escape(scene.alt)}" '
        f'viewBox="0 0 {scene.width} {height:g}" width="100%"{limit}{moving} '
        f'font-family="DejaVu Sans, Verdana, sans-serif">{paper}{marks}</svg>'
    )


def on_its_page(scene: Scene) -> str:
    """Return HTML of a picture in the colours of the page that it is shown on, dark ones too.

    Examples
    --------
    >>> from rhythmlab.draw.pictures import strip
    >>> on_its_page(strip((3, 2))).count('role="img"')
    1
    """
    own = "background:var(--rl-paper);forced-color-adjust:none"
    return (
        f"<style>{themed('.rl-drawn')}.rl-drawn{{{own}}}</style>"
        f'<div class="rl-drawn" style="max-width:{scene.width}px">{svg(scene, live=True)}</div>'
    )


def _paint(
    mark: Mark,
    scene: Scene,
    colour: Callable[[str], str],
    radius: float,
    high: float,
    edge: tuple[str, float],
    printed: bool,
) -> str:
    match mark:
        case Stroke(tick, row, lane):
            x, y = scene.x(tick), row * high
            size = radius * (0.62 if mark.small else 1)
            ring = f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius + 5:.1f}" fill="none" ' if mark.ring else ""
            ring += f'style="stroke:{colour("ink")}" stroke-width="1.6"/>' if mark.ring else ""
            points = f'd="{outline(shape(lane), x, y, size)}"'
            style = f'style="fill:{colour(lane_role(lane))};stroke:{edge[0]}" stroke-width="{edge[1]}"'
            meant = "" if mark.played else f' data-tick="{tick}"'
            return f'{ring}<path{meant} data-lane="{lane}" {points} {style}/>'
        case Rule(x, top, bottom, role):
            return _line(scene.x(x), top * high, scene.x(x), bottom * high, role, colour)
        case Line(left, top, right, bottom, role):
            return _line(scene.x(left), top * high, scene.x(right), bottom * high, role, colour)
        case Band(left, right, top, bottom, role):
            x, width, tall = scene.x(left), scene.x(right) - scene.x(left), (bottom - top) * high
            return (
                f'<rect x="{x:.2f}" y="{top * high:.2f}" width="{width:.2f}" height="{tall:.2f}" '
                f'style="fill:{colour(role)}"/>'
            )
        case Text(_, row, text, role):
            ink, size, weight = HANDS[role]
            ink = ink if printed else mark.ink or ink
            x, across = text_at(scene, mark)
            anchor = {"left": "start", "center": "middle", "right": "end"}[across]
            under = ""
            if role in ON_PAPER:
                wide, tall = 0.9 * size * len(text), 0.86 * size
                under = (
                    f'<rect x="{x - wide / 2:.2f}" y="{row * high - tall / 2:.2f}" width="{wide:.2f}" '
                    f'height="{tall:.2f}" style="fill:{colour("paper")}"/>'
                )
            return (
                f'{under}<text x="{x:.2f}" y="{row * high:.2f}" dominant-baseline="central" '
                f'text-anchor="{anchor}" font-size="{size}" font-weight="{weight}" '
                f'style="fill:{colour(ink)}">{escape(text)}</text>'
            )


def _line(x0: float, y0: float, x1: float, y1: float, role: str, colour: Callable[[str], str]) -> str:
    ink, width, opacity = pen(role)
    return (
        f'<path d="M{x0:.2f} {y0:.2f}L{x1:.2f} {y1:.2f}" fill="none" style="stroke:{colour(ink)}" '
        f'stroke-width="{width}" stroke-opacity="{opacity}"/>'
    )


def outline(kind: str, x: float, y: float, r: float) -> str:
    """Return the path of a stroke's shape, of about the same area for each kind.

    Examples
    --------
    >>> outline("square", 10, 10, 5)
    'M5.60 5.60H14.40V14.40H5.60Z'
    """
    if kind == "disc":
        return (
            f"M{x - r:.2f} {y:.2f}a{r:.2f} {r:.2f} 0 1 0 {2 * r:.2f} 0a{r:.2f} {r:.2f} 0 1 0 {-2 * r:.2f} 0Z"
        )
    if kind == "diamond":
        r *= 1.22
        return f"M{x:.2f} {y - r:.2f}L{x + r:.2f} {y:.2f}L{x:.2f} {y + r:.2f}L{x - r:.2f} {y:.2f}Z"
    if kind == "square":
        r *= 0.88
        return f"M{x - r:.2f} {y - r:.2f}H{x + r:.2f}V{y + r:.2f}H{x - r:.2f}Z"
    r *= 1.2
    return f"M{x:.2f} {y - r:.2f}L{x + r:.2f} {y + 0.72 * r:.2f}H{x - r:.2f}Z"

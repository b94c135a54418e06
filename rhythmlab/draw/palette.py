"""One colour, one shape and one word for each meaning, on paper, in print and on a dark screen.

Pulse colours are Okabe and Ito's set for colour-blind readers, the purple and the vermilion darkened, so that
the name of a row can be read in its colour, and the dark-screen set lightened to keep contrast.
Colour never stands alone: each pulse has its own shape and row as well.
"""

#: Shapes of the pulses, in order; they come round again after the fourth.
SHAPES = ("disc", "diamond", "square", "triangle")

#: Role -> (light colour, dark-screen colour).
COLOURS = {
    "ink": ("#1b2a3a", "#e8edf2"),
    "quiet": ("#52606d", "#b3bfca"),
    "hair": ("#dde3e8", "#3a444d"),
    "beat": ("#1b2a3a", "#e8edf2"),
    "paper": ("#ffffff", "#111111"),
    "heard": ("#edf1f4", "#273038"),
    "flam": ("#dcebf5", "#17364a"),
    "open": ("#f4f7f9", "#1b2126"),
    "alternating": ("#fbece1", "#41301f"),
    "lane0": ("#0072b2", "#56b4e9"),
    "lane1": ("#bf4f00", "#f0a030"),
    "lane2": ("#00805d", "#3cc49b"),
    "lane3": ("#a0527f", "#e3a3c8"),
}


def lane_role(lane: int) -> str:
    """Return the colour role of a lane.

    Examples
    --------
    >>> lane_role(5)
    'lane1'
    """
    return f"lane{lane % 4}"


def shape(lane: int) -> str:
    """Return the shape of a lane's strokes.

    Examples
    --------
    >>> shape(0), shape(1)
    ('disc', 'diamond')
    """
    return SHAPES[lane % 4]


def variables(dark: bool = False) -> str:
    """Return the colours as CSS custom properties, for the stylesheet of a live picture.

    Examples
    --------
    >>> variables().split(";")[0]
    '--rl-ink:#1b2a3a'
    """
    return ";".join(f"--rl-{role}:{colours[dark]}" for role, colours in COLOURS.items())


def themed(which: str) -> str:
    """Return the colours of what selectors of CSS name, as their page has them: light, dark, on paper.

    Examples
    --------
    >>> themed(".rl-drawn").count("--rl-ink:")
    3
    """
    dark = f'body[data-jp-theme-light="false"] :is({which})'
    return (
        f"{which}{{{variables()};--rl-paper:var(--jp-layout-color0,#fff)}}\n"
        f"{dark}{{{variables(dark=True)};--rl-paper:var(--jp-layout-color0,#111)}}\n"
        f"@media print{{:is(body,body[data-jp-theme-light]) :is({which}){{{variables()};--rl-paper:#fff}}}}\n"
    )


def contrast(one: str, two: str) -> float:
    """Return the contrast ratio of two colours, from 1 to 21.

    References
    ----------
    W3C, Web Content Accessibility Guidelines 2.2, relative luminance and contrast ratio.

    Examples
    --------
    >>> contrast("#000000", "#ffffff")
    21.0
    """
    high, low = sorted((_luminance(one), _luminance(two)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: str) -> float:
    """Return the relative luminance of a colour, from 0 to 1."""
    channels = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    linear = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return sum(weight * c for weight, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))

"""Pictures as files: SVG, PNG and PDF."""

import io
import re
import warnings
from pathlib import Path

from rhythmlab.core.check import short
from rhythmlab.files import save, with_ending
from rhythmlab.refusal import Refusal
from rhythmlab.render.scene import ROW, Scene

#: Endings of pictures, and dots an inch of a PNG.
PICTURES = (".svg", ".png", ".pdf")
DPI = 200

_CALL = "figure((7, 4)).savefig({})"
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


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
    >>> from rhythmlab.render.pictures import strip
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     picture(strip((7, 4)), f"{folder}/7-4.svg").stat().st_size > 1000
    True
    """
    if not isinstance(scene, Scene):
        raise Refusal(
            f"scene={short(scene)} is not a picture", _CALL.format(repr("7-4.svg")), argument="scene"
        )
    path = with_ending(path, *PICTURES, call=_CALL)
    return save(path, painted(scene, path.suffix.lower()), _CALL, replace=replace)


def painted(scene: Scene, ending: str) -> bytes:
    """Return a picture as the bytes of an ``.svg``, ``.png`` or ``.pdf`` file."""
    if ending == ".svg":
        from rhythmlab.render.svg import svg

        size = f'width="{scene.width}" height="{scene.rows * ROW:g}"'
        text = svg(scene).replace('width="100%"', size, 1)  # a file by itself has no page to fill
        return _NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text).encode()
    from matplotlib import rc_context
    from matplotlib.text import Text

    from rhythmlab.render.figure import figure

    title = _NOT_XML.sub(" ", scene.alt)
    about = {"Title": title, "CreationDate": None} if ending == ".pdf" else {"Title": title}
    out = io.BytesIO()
    with rc_context({"pdf.fonttype": 42}), warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph .* missing from font")  # then a box stands for it
        drawn = figure(scene)
        for one in drawn.findobj(Text):
            if isinstance(one, Text):
                one.set_parse_math(False)  # a dollar in a name is a dollar
        drawn.savefig(out, format=ending[1:], dpi=DPI, metadata=about)
    return out.getvalue()

"""The notes of a handout: engraved for each home, as large as there is room, or a picture in their place."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from rhythmlab.core.cycle import Cycle
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.draw.pictures import strip
from rhythmlab.draw.scene import Scene
from rhythmlab.notation.engrave import LOCK, set_up
from rhythmlab.refusal import plainly
from rhythmlab.render import paper
from rhythmlab.render.flatten import flat
from rhythmlab.render.worksheet import BODY, HEAD, Sheet
from rhythmlab.text import descriptions, sentences

#: Widths of a line of notes in px, tried from large notes to small ones: at the last one the lines of a staff
#: are 3.3 points apart and counts are 7 points high.
WIDTHS = (760, 840, 920, 1010, 1110)
#: How far apart notes are set, from wide to close.
SPACINGS = (0.25, 0.18, 0.12, 0.09, 0.06, 0.035)
#: Those that are tried one after the other until there is room.
CLOSE = (0.09, 0.06, 0.035)
#: Most beats of home that are written whole, a beat a bar where they are many; and of more, how many.
MOST_BARS, SHOWN = 40, 14
#: Most strokes of a pulse that is drawn a second time where it cannot be written.
MOST_DRAWN = 1000
#: Highest page that is engraved, in px.
MOST_HIGH = 20_000
#: Height of a row of a picture in px, and of what stands over notes in points.
_ROW, _OVER = 33.0, BODY + 13


@dataclass(frozen=True, slots=True)
class Note:
    """Notes for one home, or why there are none.

    Attributes
    ----------
    heading : str
        Counted from where.
    musicxml : str
        The notes; empty where there are none.
    said : str
        The text alternative, or why there are no notes.
    bars : int
        Bars of the whole, of which `musicxml` may hold the first.
    what, home
        What is written, and counted from which pulse.
    """

    heading: str
    musicxml: str
    said: str
    bars: int
    what: Polyrhythm | Cycle
    home: int | None

    def scene(self) -> Scene:
        """Return the picture that stands in for notes."""
        return strip(self.what.cycle(self.home) if isinstance(self.what, Polyrhythm) else self.what)


@dataclass(frozen=True, slots=True)
class Engraved:
    """Notes at a size.

    Attributes
    ----------
    svg : str
        The first page, as it was engraved.
    width, high : float
        Its width and height in px.
    asked, spacing : int and float
        Width in px and spacing that were asked for.
    lines, bars : int
        How many lines and bars are on it.
    """

    svg: str
    width: float
    high: float
    asked: int
    spacing: float
    lines: int
    bars: int

    def scale(self, room: float) -> float:
        """Return points to a px: a page of the width asked for fills the room."""
        return room / max(self.asked, self.width)

    def height(self, room: float) -> float:
        """Return its height in points in a room so wide."""
        return self.high * self.scale(room)

    @property
    def fits(self) -> bool:
        """Whether it is no wider than was asked for."""
        return self.width <= 1.01 * self.asked


def notation(what: Polyrhythm | Cycle, tempo: Tempo, home: int | None) -> Note:
    """Write a rhythm as notes, counted from a home; where that fails, say why and keep a picture."""
    heading = "In bars"
    if isinstance(what, Polyrhythm) and home is not None:
        heading = f"Counted from {descriptions.pulse_name(what, home)}"
    try:
        from rhythmlab.notation.score import written

        window: tuple[int | None, int | None] = (None, None)
        bars = 0
        beats = what.pulses[home] if isinstance(what, Polyrhythm) and home is not None else 0
        if beats > MOST_BARS:  # there is room for the first only
            window, bars = (0, SHOWN * (what.ticks // beats)), beats
        made = written(what, tempo, home, span=window)
        engraved(made.musicxml, WIDTHS[-1], spacing=CLOSE[0])
        return Note(heading, made.musicxml, made.said, bars or _bars(made.musicxml), what, home)
    except ImportError:
        why = "the engraver (verovio) is not installed"
    except (ValueError, RuntimeError, OSError) as error:
        why = plainly(error).rstrip(".")
    return Note(heading, "", f"Not written as notes here: {why}.", 0, what, home)


@lru_cache(maxsize=16)
def engraved(musicxml: str, width: int, height: int = 0, spacing: float = SPACINGS[-1]) -> Engraved:
    """Engrave notes for a page so many px wide, all on one page or on pages so many px high.

    Parameters
    ----------
    musicxml : str
        The notes.
    width, height : int
        Of the page, in px; as high as it needs where no height is given.
    spacing : float
        One of `SPACINGS`.

    Raises
    ------
    ValueError
        If the engraver cannot read the notes.
    """
    with LOCK:
        text = _first_page(musicxml, width, height, spacing)
    wide, high = (_px(text, side) for side in ("width", "height"))
    lines, shown = len(re.findall('class="system"', text)), len(re.findall('class="measure"', text))
    return Engraved(text, wide, high, width, spacing, lines, shown)


def _first_page(musicxml: str, width: int, height: int, spacing: float) -> str:
    margins = dict.fromkeys((f"pageMargin{side}" for side in ("Left", "Right", "Top", "Bottom")), 0)
    high = min(MOST_HIGH, height or MOST_HIGH)
    tool = set_up("handouts", width, high, {**margins, "spacingLinear": spacing, "mnumInterval": 0})
    if not tool.loadData(musicxml):
        raise ValueError("the engraver cannot read these notes")
    page: str = tool.renderToSVG(1)
    return page


def _px(svg: str, side: str) -> float:
    """Return the width or the height of an engraved page."""
    found = re.search(rf'<svg[^>]*?\b{side}="([\d.]+)px"', svg)
    if found is None:
        raise ValueError(f"the engraver's page has no {side}")
    return float(found[1])


def _bars(musicxml: str) -> int:
    return len(re.findall("<measure[ >]", musicxml.partition("</part>")[0]))


def _wider(musicxml: str, close: Engraved, height: int = 0) -> Engraved:
    """Set notes as far apart as they can be without another line."""
    for spacing in sorted(SPACINGS):
        if spacing > close.spacing:
            made = engraved(musicxml, close.asked, height, spacing)
            if not made.fits or made.lines > close.lines or made.bars < close.bars:
                break
            close = made
    return close


def placed(sheet: Sheet, notes: Sequence[Note], room: float) -> list[tuple[str, str]]:
    """Draw the notes as large as they can be in a room, and return what all of them say.

    Where they do not fit whole, each shows its first bars, or a picture, or nothing; that is said.
    """
    sheet.heading("Notation")
    room -= HEAD + 12
    written = [note for note in notes if note.musicxml]
    drawn = _chosen(written, sheet.room, room - _OVER * len(notes)) if written else {}
    said: list[tuple[str, str]] = []
    refused: set[str] = set()  # why notes are not written, told once
    left = room
    for note in notes:
        if drawn and note.musicxml and note.heading not in drawn:
            continue
        known = not note.musicxml and note.said in refused
        text, used = _one(sheet, note, drawn.get(note.heading), left, known, bool(said))
        refused |= {note.said} if not note.musicxml else set()
        left -= used
        said.append((note.heading, text))
    out = [note.heading.lower() for note in written if drawn and note.heading not in drawn]
    if out:
        text = f"There is no room for the notes {sentences.listed(out)}: they are in its score."
        sheet.text(text, size=8, ink="quiet")
        said.append(("Not here", text))
    return said


def _chosen(notes: Sequence[Note], wide: float, room: float) -> dict[str, Engraved]:
    """Engrave notes in the largest size at which all of them fit into a room; else their first bars."""
    for spacing in CLOSE:
        close = _all_fit(notes, WIDTHS[-1], spacing, wide, room)
        if not close:
            continue  # not even the smallest notes
        high = sum(one.height(wide) for one in close)  # larger notes are higher, if only by their size
        larger = [width for width in WIDTHS[:-1] if high * WIDTHS[-1] <= room * width]
        close = next(filter(None, (_all_fit(notes, width, spacing, wide, room) for width in larger)), close)
        pairs = zip(notes, close, strict=True)
        return {note.heading: _wider(note.musicxml, one) for note, one in pairs}
    share, width = room / len(notes), WIDTHS[-2]
    height = max(60, int(share * width / wide))
    first = [engraved(note.musicxml, width, height) for note in notes]
    if all(one.fits and one.height(wide) <= share for one in first):
        return {
            note.heading: _wider(note.musicxml, one, height) for note, one in zip(notes, first, strict=True)
        }
    return _chosen(notes[:-1], wide, room + _OVER) if len(notes) > 1 else {}


def _all_fit(
    notes: Sequence[Note], width: int, spacing: float, wide: float, room: float
) -> list[Engraved] | None:
    """Engrave notes for a page so many px wide; ``None`` where they do not all fit into a room."""
    made = []
    for note in notes:
        made.append(engraved(note.musicxml, width, spacing=spacing))
        if not made[-1].fits or sum(one.height(wide) for one in made) > room:
            return None
    return made


def _one(
    sheet: Sheet, note: Note, made: Engraved | None, left: float, known: bool, drawn: bool
) -> tuple[str, float]:
    """Draw one home under its heading, and return what it says and the room it took."""
    top = sheet.y
    sheet.skip(BODY + 3)
    sheet.write(sheet.left, sheet.y, note.heading, name="bold", size=BODY)
    said = note.said
    if made is not None:
        if made.bars < note.bars:
            more = f"bars 1 to {made.bars} of {note.bars}; the rest is in its score"
            sheet.write(sheet.left + sheet.room, sheet.y, more, size=8, anchor="end", ink="quiet")
            said = f"{said} This page shows {more}."
        sheet.skip(6)
        page = flat(made.svg)
        _, upper, _, lower = page.ink()
        if sheet.canvas:
            paper.draw_flat(sheet.canvas, page, sheet.left, sheet.y, made.scale(sheet.room))
        sheet.skip((lower - upper) * made.scale(sheet.room) + 4)
        return said, top - sheet.y
    if note.musicxml:
        said = "Too many notes to be read here; they are in its score."
    if not known:
        sheet.text(said, size=8, ink="quiet", most=2)
    if not isinstance(note.what, Polyrhythm) or (drawn and max(note.what.pulses) > MOST_DRAWN):
        return said, top - sheet.y  # the pictures of the bars, or the one from the first home, will do
    scene = note.scene()
    if top - sheet.y + paper.scene_height(scene, sheet.room, _ROW) + 4 <= left:
        sheet.skip(3)
        sheet.scene(scene, _ROW)
        said = f"{said} The picture instead: {scene.alt}"
    return said, top - sheet.y

"""A handout: one rhythm on two pages of paper, and all of it again as text for a screen reader.

The first page is the rhythm: grid, count, notes and gap cycle or bars.
The second is the practice: the way to learn it, a ladder, exercises, a lesson slip, room to write.
"""

import base64
import io
import os
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from html import escape
from itertools import count
from pathlib import Path
from typing import Any

from reportlab.platypus import Frame, KeepInFrame
from reportlab.platypus.flowables import Flowable

from rhythmlab.core import bounds
from rhythmlab.core.check import flag, items, short
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.display import Paths, Written, framed
from rhythmlab.core.feel import Groups, OwnGroups, groups_for, own_groups
from rhythmlab.core.long_work import say, shown
from rhythmlab.core.polyrhythm import Polyrhythm, home_or_last
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.draw.pictures import strip
from rhythmlab.draw.scene import Scene, Text
from rhythmlab.draw.svg import LETTERS, on_its_page
from rhythmlab.export import pdf
from rhythmlab.export.lesson import Exercise, Lesson, of_bars, of_pair, told_by_landmarks, with_sentence
from rhythmlab.export.pdf import PAPERS, Story, clean, gap, height, lost, paragraph, printable, rule, table
from rhythmlab.files import folder_for, placed, put, safe_name, save, with_ending
from rhythmlab.notation.engrave import engrave
from rhythmlab.notation.layout import bars_of
from rhythmlab.notation.score import written
from rhythmlab.playing.limits import Limits, limits_or
from rhythmlab.playing.phrasing import words_spoken
from rhythmlab.playing.sentence import Sentence
from rhythmlab.refusal import Refusal, as_sentence
from rhythmlab.text import descriptions, numbers, sentences
from rhythmlab.text.descriptions import bpm_text

#: Most handouts of a pack, and about how many seconds one takes.
MOST_IN_A_PACK, _HANDOUT_S = 500, 1
#: Beats a minute of home where a pack names a pair alone.
PACK_BPM = 72
#: Most files of one name that are written beside each other.
_MOST_ALIKE = 1000
#: Margins left and right, and above and below, in points.
SIDE, EDGE = 45.0, 40.0
#: Sizes of letters in points: title, lead, heading, text, remarks, small print.
TITLE, LEAD, HEAD, BODY, ASIDE, SMALL = 19.0, 10.5, 10.5, 9.0, 8.0, 7.0
#: Height of a line to write on, and least room for notes: a heading and two lines.
LINE = 21.0
ROOM = HEAD + 18 + 2 * LINE
#: Height of a row of a picture in px, and of one with letters under the strokes.
_ROW, _LETTERS = 33.0, 40.0
#: Height of a row of the gap cycle in px, which leaves room for notes that can be read.
_TIDE = 28.0
#: Most counts that are printed.
COUNTS = 6
#: Widths of the columns of the table of ways, and of the steps, with a gap before the ladder, as shares.
_COLUMNS, _STEPS = (0.42, 0.14, 0.14, 0.30), (0.60, 0.04, 0.36)
#: Height of a rung of the ladder, and of a box to write in.
_RUNG, _BOX = 16.0, 13.0
#: Least room behind a question that an answer can be written in.
_ANSWER = 95.0
_LINE_BESIDE = rule("LINEBELOW", (1, 0), (1, 0), 0.5, "quiet")
#: Widths of a line of notes in px, tried from large notes to small ones: at the last one the lines of a staff
#: are 3.3 points apart and counts are 7 points high.
WIDTHS = (760, 840, 920, 1010, 1110)
#: Px to a quarter, from wide to close.
SPACINGS = (257, 185, 124, 93, 62, 36)
#: Those that are tried one after the other until there is room.
CLOSE = (93, 62, 36)
#: Most beats of home that are written whole, a beat a bar where they are many; and of more, how many.
MOST_BARS, SHOWN = 40, 14
#: Most strokes of a pulse that is drawn a second time where it cannot be written.
MOST_DRAWN = 1000
#: Highest page that is engraved, in px.
MOST_HIGH = 20_000
#: Height of what stands over notes in points.
_OVER = BODY + 13
#: Printed where a title has letters that are not in the print font.
LOST = (
    "Some letters of the title are not in the print font; it stands in full in the properties of this file "
    "and in its plain text."
)
_ARGUMENTS = ("what", "tempo", "home", "paper", "limits", "title", "groups", "left_handed", "spoken")
_LEFT_OUT: dict[str, Any] = {"title": "", "groups": (), "left_handed": False, "spoken": ()}
_EXAMPLE = "handout((7, 4), 72)"
_SPOKEN = "handout(stick((4, 3), 96).cycle(), 96, spoken=('1 2 3 4', '1 2 3'))"
#: Where the sentence of a rhythm is in letters that are not printed.
_BY_HAND = (
    "This page cannot print all letters of the sentence: write it on the row “say”, a syllable a sound."
)
_WRITE = f"{_EXAMPLE}.write({{}})"
_PACK = "classroom.handout_pack([(Polyrhythm(7, 4), 72), (Polyrhythm(4, 3), 90)], 'handouts')"


# What is made


@public_class("handout((7, 4), 72)", write='handout((7, 4), 72).write("7-4.pdf")')
@dataclass(frozen=True, slots=True, repr=False)
class Handout:
    """A handout, made.

    Attributes
    ----------
    pdf : bytes
        The PDF: vector, fonts inside, the same bytes each time.
    text : str
        Its twin: everything on the pages in reading order.
    pages : int
        How many pages it has.
    title : str
        Its heading.
    name : str
        A safe name for its file, without an ending.
    picture : Scene
        The first picture on it: the grid, or the bars.
    """

    pdf: bytes
    text: str
    pages: int
    title: str
    name: str
    picture: Scene

    def _repr_html_(self) -> str:
        """Show the picture on its first page, a link that takes the PDF, and how to keep it."""
        name, pages = f"{self.name}.pdf", numbers.plural(self.pages, "page")
        pdf = f"data:application/pdf;base64,{base64.b64encode(self.pdf).decode()}"
        link = f'<a href="{pdf}" download="{name}">{name}</a>'
        kept = f'End the line with <code>.write("{name}")</code> to keep it beside this page'
        text = f"A handout of {pages}, {len(self.pdf) // 1000} kB: {link}. {kept}."
        picture = f"<p><b>{escape(clean(self.title))}</b></p>{on_its_page(self.picture)}"
        return framed(f'<figure style="margin:0">{picture}<figcaption>{text}</figcaption></figure>')

    def __repr__(self) -> str:
        return (
            f"Handout({short(self.title)}, {numbers.plural(self.pages, 'page')}, {len(self.pdf) // 1000} kB)"
        )

    def write(self, path: str | Path, *, replace: bool = False) -> Path:
        """Write it as PDF, or as text, by the ending of the path.

        Parameters
        ----------
        path : str or Path
            Ends in ``.pdf`` or ``.txt``.
        replace : bool
            Whether a file of that name may be replaced.

        Raises
        ------
        ValueError
            If the path ends otherwise, or is no safe name.
        OSError
            If the file is there already, or cannot be written.

        Examples
        --------
        >>> import tempfile
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     handout((4, 3), 90).write(f"{folder}/4-3.txt").name
        '4-3.txt'
        """
        path = with_ending(path, ".pdf", ".txt", call=_WRITE)
        data = self.pdf if path.suffix.lower() == ".pdf" else self.text.encode()
        return Written(save(path, data, _WRITE, replace=replace))


# Notes, as large as there is room for


@dataclass(frozen=True, slots=True)
class WrittenNotes:
    """A rhythm as notes, counted from one home, or why there are none.

    Attributes
    ----------
    heading : str
        Where the notes are counted from.
    musicxml : str
        The notes; empty where there are none.
    text : str
        The text alternative, or why there are no notes.
    bars : int
        Bars of the whole, of which `musicxml` may hold the first.
    what, home, groups
        What is written, counted from which pulse, and the reader's own groups of a beat.
    key : str
        Which line or space is which drum, where there is a drum staff.
    """

    heading: str
    musicxml: str
    text: str
    bars: int
    what: Polyrhythm | Cycle
    home: int | None
    groups: OwnGroups = ()
    key: str = ""

    def picture(self) -> Scene:
        """Return the picture that stands in for notes."""
        cycle = self.what.cycle(self.home) if isinstance(self.what, Polyrhythm) else self.what
        return strip(cycle, groups=self.groups)


def notation(
    what: Polyrhythm | Cycle,
    tempo: Tempo,
    home: int | None,
    groups: OwnGroups = (),
    left_handed: bool = False,
    words: Sequence[str] = (),
) -> WrittenNotes:
    """Write a rhythm as notes, counted from a home; where that fails, the text says why."""
    heading = "In bars"
    if isinstance(what, Polyrhythm) and home is not None:
        heading = f"Counted from {descriptions.pulse_name(what, home)}"
    try:
        window: tuple[int | None, int | None] = (None, None)
        bars = 0
        beats = what.pulses[home] if isinstance(what, Polyrhythm) and home is not None else 0
        many, each = 0, 0
        if isinstance(what, Polyrhythm) and home is not None:
            many, each = bars_of(what, home)
        if many > MOST_BARS:  # there is room for the first only
            window, bars = (0, SHOWN * each * (what.ticks // beats)), many
        told = isinstance(what, Polyrhythm) and home is not None and told_by_landmarks(what, home)
        made = written(
            what,
            tempo,
            home,
            span=window,
            groups=groups,
            left_handed=left_handed,
            words=words,
            landmarks=told,
        )
        engraved(made.musicxml, WIDTHS[-1], spacing=CLOSE[0])
        bars = bars or _bar_count(made.musicxml)
        key = (
            "" if isinstance(what, Polyrhythm | Sentence) else made.key
        )  # its counts stand above, with words
        return WrittenNotes(heading, made.musicxml, made.alt, bars, what, home, groups, key)
    except ImportError:
        why = "the engraver (verovio) is not installed"
    except (ValueError, RuntimeError, OSError) as error:
        why = as_sentence(error).rstrip(".")
    return WrittenNotes(heading, "", f"Not written as notes here: {why}.", 0, what, home, groups)


@dataclass(frozen=True, slots=True)
class Engraved:
    """Notes engraved at a size.

    Attributes
    ----------
    svg : str
        The first page, as it was engraved.
    width, high : float
        Its width and height in px.
    asked, spacing : int
        Width in px and spacing that were asked for.
    lines, bars : int
        How many lines and bars are on it.
    even : bool
        Whether each line has as many bars, the last no more.
    """

    svg: str
    width: float
    high: float
    asked: int
    spacing: int
    lines: int
    bars: int
    even: bool

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


def _px_of(svg: str, side: str) -> float:
    """Return the width or the height of an engraved page."""
    found = re.search(rf'<svg[^>]*?\b{side}="([\d.]+)"', svg)
    if found is None:
        raise ValueError(f"the engraver's page has no {side}")
    return float(found[1])


@lru_cache(maxsize=16)
def engraved(musicxml: str, width: int, height: int = 0, spacing: int = SPACINGS[-1]) -> Engraved:
    """Engrave notes for a page so many px wide, all on one page or on pages so many px high.

    Parameters
    ----------
    musicxml : str
        The notes.
    width, height : int
        Of the page, in px; as high as it needs where no height is given.
    spacing : int
        One of `SPACINGS`.

    Raises
    ------
    ValueError
        If the engraver cannot read the notes.
    """
    sheet = (width, min(MOST_HIGH, height or MOST_HIGH))
    (page,) = engrave(musicxml, quarter_px=spacing, sheet=sheet)
    wide, high = (_px_of(page, side) for side in ("width", "height"))
    lines, shown = len(re.findall('class="system"', page)), len(re.findall('class="measure"', page))
    first, *rest = [line.count('class="measure"') for line in page.split('class="system"')[1:]] or [0]
    even = not rest or (all(bars == first for bars in rest[:-1]) and rest[-1] <= first)
    return Engraved(page, wide, high, width, spacing, lines, shown, even)


def _bar_count(musicxml: str) -> int:
    """Return how many bars the notes have."""
    return len(re.findall("<measure[ >]", musicxml.partition("</part>")[0]))


def _wider(musicxml: str, close: Engraved, height: int = 0) -> Engraved:
    """Engrave notes with the widest spacing that takes no further line."""
    for spacing in sorted(SPACINGS):
        if spacing > close.spacing:
            made = engraved(musicxml, close.asked, height, spacing)
            if not made.fits or made.lines > close.lines or made.bars < close.bars:
                break
            close = made
    return close


def _even(musicxml: str, made: Engraved) -> Engraved:
    """Engrave notes somewhat closer where that gives each line as many bars: 2 and 2, and not 1, 2 and 1."""
    best = made
    for spacing in sorted((one for one in SPACINGS if one < made.spacing), reverse=True):
        if best.even or best.lines < 2:
            break
        best = engraved(musicxml, made.asked, spacing=spacing)
    return best if best.even and best.fits and best.lines <= made.lines else made


def _all_fit(
    notes: Sequence[WrittenNotes], width: int, spacing: int, wide: float, room: float
) -> list[Engraved] | None:
    """Engrave notes for a page so many px wide; ``None`` where they do not all fit into a room."""
    made = []
    for note in notes:
        made.append(engraved(note.musicxml, width, spacing=spacing))
        if not made[-1].fits or sum(one.height(wide) for one in made) > room:
            return None
    return made


def _largest_that_fit(notes: Sequence[WrittenNotes], wide: float, room: float) -> dict[str, Engraved]:
    """Engrave notes as large as all of them fit into a room, else only their first bars."""
    if least := _all_fit(notes, WIDTHS[-1], CLOSE[-1], wide, room):  # else not even the smallest notes
        high = sum(one.height(wide) for one in least)  # larger notes are higher, if only by their size
        larger = [width for width in WIDTHS if high * WIDTHS[-1] <= room * width]
        tries = (_all_fit(notes, width, spacing, wide, room) for width in larger for spacing in CLOSE)
        close = next(filter(None, tries), least)
        pairs = zip(notes, close, strict=True)
        return {note.heading: _even(note.musicxml, _wider(note.musicxml, one)) for note, one in pairs}
    share, width = room / len(notes), WIDTHS[-2]
    height = max(60, int(share * width / wide))
    first = [engraved(note.musicxml, width, height) for note in notes]
    if all(one.fits and one.height(wide) <= share for one in first):
        return {
            note.heading: _wider(note.musicxml, one, height) for note, one in zip(notes, first, strict=True)
        }
    return _largest_that_fit(notes[:-1], wide, room + _OVER) if len(notes) > 1 else {}


# Parts of a page


def _row(left: Flowable, right: Flowable, wide: float, *style: Any) -> Flowable:
    """Return a line of two parts: the left one as wide as its text, the right one the rest."""
    narrow = (
        pdf.wide(left.getPlainText(), left.style.fontName.removeprefix("rhythmlab "), left.style.fontSize) + 4
    )
    return table([[left, right]], [narrow, wide - narrow], ("VALIGN", (0, 0), (-1, -1), "BOTTOM"), *style)


def _heading(text: str, wide: float, beside: str = "") -> Story:
    """Return a heading over a thin rule, with a remark at its right end."""
    right = paragraph(beside, "plain", ASIDE, ink="quiet", right=True)
    under = rule("LINEBELOW", (0, 0), (-1, 0), 0.6)
    return [gap(3), _row(paragraph(text, "bold", HEAD), right, wide, under), gap(4)]


def _bullet(sign: str, text: str) -> Flowable:
    """Return a paragraph behind a sign or a number."""
    return paragraph(text, "plain", BODY, indent=14, bullet=sign)


def _blank(rows: int, wide: float, high: float = LINE) -> Flowable:
    """Return lines to write on."""
    return table([[""]] * rows, [wide], rule("LINEBELOW", (0, 0), (-1, -1), 0.5, "quiet"), high=high)


def _your_notes(room: float, wide: float) -> Story:
    """Fill a room with lines to write on, under a heading, where one fits."""
    rows = int((room - ROOM) // LINE) + 2
    if rows < 1:
        return [gap(max(0.0, room))]
    story = [gap(5), *_heading("Your notes", wide), _blank(rows, wide)]
    return [*story, gap(room - height(story, wide))]


# The first page: the rhythm


def _top(lesson: Lesson, title: str, wide: float) -> Story:
    """Return title, tempo, facts and remarks."""
    shown, own = printable(title), title.strip() != lesson.name
    sizes = (TITLE, 16.0, 13.0)
    fits = next((s for s in sizes if pdf.lines(paragraph(shown, "bold", s), wide) < 3), sizes[-1])
    story = [paragraph(shown or lesson.name, "bold", fits, lead=1.2, most=4, room=wide), gap(4)]
    if own and shown:
        story.append(paragraph(lesson.name, "bold", LEAD, most=2, room=wide))
    story += [paragraph(lesson.tempo, "bold", LEAD), paragraph(lesson.facts)]
    story += [paragraph(remark, most=5, room=wide) for remark in lesson.remarks]
    return [*story, paragraph(LOST, "plain", ASIDE, ink="quiet")] if lost(title) else story


def _counts(lesson: Lesson, wide: float) -> Story:
    """Return the counts with their labels in a column of their own."""
    labels = [paragraph(label, "bold", BODY, most=1, room=0.3 * wide) for label, _ in lesson.counts[:COUNTS]]
    if not labels:
        return []
    column = max(pdf.wide(label.getPlainText(), "bold", BODY) for label in labels) + 10
    rows = [
        [label, paragraph(text, most=4, room=wide - column)]
        for label, (_, text) in zip(labels, lesson.counts, strict=False)
    ]
    story: Story = [table(rows, [column, wide - column], ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5))]
    if len(lesson.counts) > COUNTS:
        story.append(paragraph("The other counts are in the plain text.", "plain", ASIDE, ink="quiet"))
    return story


def _engraving(note: WrittenNotes, made: Engraved, wide: float) -> tuple[Story, str]:
    """Return engraved notes under their heading, and their text."""
    said, more = note.text, ""
    if made.bars < note.bars:
        more = f"bars 1 to {made.bars} of {note.bars}; the rest is in its score"
        said = f"{said} This page shows {more}."
    said = f"{note.key}. {said}" if note.key else said
    right = paragraph(more, "plain", ASIDE, ink="quiet", right=True)
    over = _row(paragraph(note.heading, "bold", BODY), right, wide)
    return [over, *_key(note, wide), gap(5), pdf.notes(made.svg, made.scale(wide)), gap(4)], said


def _key(note: WrittenNotes, wide: float) -> Story:
    """Return which line or space is which drum, where there are drums."""
    return [paragraph(note.key, "plain", ASIDE, most=3, room=wide)] if note.key else []


def _instead_of_notes(
    note: WrittenNotes, wide: float, room: float, known: bool, second: bool
) -> tuple[Story, str]:
    """Return what stands in place of notes: why there are none, and a picture where there is room for it."""
    said = "Too many notes to be read here; they are in its score." if note.musicxml else note.text
    story: Story = [paragraph(note.heading, "bold", BODY)]
    if not known:
        story.append(paragraph(said, "plain", ASIDE, ink="quiet", most=2, room=wide))
    if not isinstance(note.what, Polyrhythm) or (second and max(note.what.pulses) > MOST_DRAWN):
        return story, said  # the pictures of the bars, or the one from the first home, will do
    scene = note.picture()
    picture = [gap(3), pdf.picture(scene, wide, _ROW)]
    if height([*story, *picture], wide) > room:
        return story, said
    return [*story, *picture], f"{said} The picture instead: {scene.alt}"


def _notes(notes: Sequence[WrittenNotes], wide: float, room: float) -> tuple[Story, list[tuple[str, str]]]:
    """Return the notes as large as they can be in a room, and the text of each by its heading.

    Where they do not fit whole, each shows its first bars, or a picture, or nothing, and the text says so.
    """
    story = _heading("Notation", wide)
    room -= height(story, wide)
    written = [note for note in notes if note.musicxml]
    over = _OVER * len(notes) + sum(height(_key(note, wide), wide) for note in written)
    drawn = _largest_that_fit(written, wide, room - over) if written else {}
    said: list[tuple[str, str]] = []
    refused: set[str] = set()  # why notes are not written, each printed once
    for note in notes:
        if drawn and note.musicxml and note.heading not in drawn:
            continue
        if note.heading in drawn:
            more, text = _engraving(note, drawn[note.heading], wide)
        else:
            more, text = _instead_of_notes(note, wide, room, note.text in refused, bool(said))
            refused.add(note.text)
        room -= height(more, wide)
        story += more
        said.append((note.heading, text))
    out = [note.heading.lower() for note in written if drawn and note.heading not in drawn]
    if out:
        text = f"There is no room for the notes {sentences.listed(out)}: they are in its score."
        story.append(paragraph(text, "plain", ASIDE, ink="quiet"))
        said.append(("Not here", text))
    return story, said


def _way(lesson: Lesson, reasons: int, wide: float) -> Story:
    """Return the way to learn it, from where to where each way works, and why."""
    widths = [share * wide for share in _COLUMNS]
    head = (f"in {lesson.unit}", "fits from", "up to", "at this tempo")
    rows = [
        [
            paragraph(
                text, name, size, ink=ink, lead=1.25, most=3 if width == widths[0] else 1, room=width - 4
            )
            for text, width in zip(row, widths, strict=True)
        ]
        for row, name, size, ink in (
            (head, "plain", ASIDE, "quiet"),
            *((row, "bold" if row[3] == "fits" else "plain", BODY, "ink") for row in lesson.table),
        )
    ]
    lines = [rule("LINEBELOW", (0, row), (-1, row), 0.4, "quiet") for row in (0, -1)]
    ends = table(
        rows, widths, ("BOTTOMPADDING", (0, 0), (-1, -1), 2), ("TOPPADDING", (0, 1), (-1, 1), 2), *lines
    )
    why = [_bullet("•", reason) for reason in lesson.reasons[:reasons]]
    way = paragraph(lesson.way, "bold", BODY, most=5, room=wide)
    spans = [gap(3), ends] if lesson.table else []
    return [*_heading("How to learn it", wide), way, *spans, gap(4), *why]


def _picture(scene: Scene, wide: float) -> Flowable:
    """Return a picture, in higher rows where R and L stand under its strokes."""
    hands = any(isinstance(mark, Text) and mark.role in LETTERS for mark in scene.marks)
    return pdf.picture(scene, wide, _LETTERS if hands else _ROW)


def _first_page(
    lesson: Lesson, title: str, notes: Sequence[WrittenNotes], wide: float, high: float
) -> tuple[Story, list[tuple[str, str]], bool]:
    """Return the first page, the text of its notes by heading, and whether the way to learn is on it."""
    story = [*_top(lesson, title, wide), gap(5), *_heading(lesson.picture_title, wide)]
    for scene in lesson.pictures:
        story += [gap(2), _picture(scene, wide)]
    story += [gap(3), *_heading("The count", wide), *_counts(lesson, wide), gap(5)]
    if lesson.line is not None:
        scene, aloud = lesson.line
        line = [gap(2), _picture(scene, wide), gap(2)]
        story += [*_heading(lesson.line_title, wide), *line, paragraph(aloud, most=3, room=wide), gap(5)]
    tide: Story = []
    if lesson.gap_picture is not None:
        beside = "before the beat above the line, after it below"
        tide = [
            gap(4),
            *_heading("The gap cycle", wide, beside),
            gap(2),
            pdf.picture(lesson.gap_picture, wide, _TIDE),
        ]
    drawn, said = _notes(notes, wide, high - height([*story, *tide], wide))
    story += [*drawn, *tide]
    free = high - height(story, wide)
    way = [gap(4), *_way(lesson, len(lesson.reasons), wide)]
    fits = height(way, wide) <= free
    if fits:
        story += way
        free -= height(way, wide)
    if free >= ROOM:
        story += _your_notes(free, wide)
    return story, said, fits


# The second page: the practice


def _steps_and_ladder(lesson: Lesson, wide: float, most: int) -> Flowable:
    """Return the steps, each with its count in so many lines at most, and the ladder beside them."""
    left, between, right = (share * wide for share in _STEPS)
    steps = _heading("Practise in this order", left)
    for number, (text, aloud) in enumerate(lesson.steps, 1):
        said = paragraph(
            sentences.capital(aloud), "italic", BODY, ink="quiet", indent=14, most=most, room=left
        )
        steps += [_bullet(f"{number}.", text), said, gap(2)]
    if not lesson.steps:
        steps.append(paragraph("Nothing to practise at this tempo."))
    ladder = [
        *_heading("Tempo ladder", right, "passed cold on"),
        table(
            [[paragraph(rung, "bold", BODY, right=True), "", ""] for rung in reversed(lesson.ladder)],
            [46, 10, right - 56],
            rule("LINEBELOW", (2, 0), (2, -1), 0.5, "quiet"),
            ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
            high=_RUNG,
        ),
        gap(4),
        paragraph("From below, one rung a day at most.", "plain", ASIDE, ink="quiet"),
    ]
    return table([[steps, "", ladder]], [left, between, right])


def _boxes(one: Exercise, wide: float) -> Flowable:
    """Return empty boxes; where a beat begins, a thicker line stands out above."""
    side = min(_BOX, (wide - 14) / one.boxes)
    beats = [rule("LINEBEFORE", (i, 0), (i, 1), 1.1) for i in range(1, one.boxes + 1, one.every)]
    lines = (*beats, rule("LINEAFTER", (-1, 0), (-1, 1), 1.1))
    rows = [[""] * (1 + one.boxes)] * 2
    boxes = rule("GRID", (1, 1), (-1, 1), 0.4)
    return table(rows, [14, *[side] * one.boxes], boxes, *lines, high=[3, _BOX])


def _exercises(lesson: Lesson, wide: float) -> Story:
    """Return the questions, each with boxes or a line for the answer."""
    story = _heading("Exercises", wide, "answers at the foot of the page")
    for number, one in enumerate(lesson.exercises, 1):
        question = _bullet(f"{number}.", one.text)
        ends = 14 + pdf.wide(printable(one.text), "plain", BODY) + 10
        if one.boxes:
            story += [question, gap(3), _boxes(one, wide), gap(6)]
        elif wide - ends < _ANSWER:  # no room behind the question
            story += [question, table([["", ""]], [14, wide - 14], _LINE_BESIDE, high=LINE - 4), gap(6)]
        else:
            story += [table([[question, ""]], [ends, wide - ends], _LINE_BESIDE), gap(6)]
    return story


def _field(label: str, text: str, room: float) -> list[Flowable]:
    """Return a label and what is filled in."""
    sizes = (BODY, ASIDE, SMALL)
    size = next((one for one in sizes if pdf.wide(printable(text), "plain", one) <= room - 2), SMALL)
    return [paragraph(label, "bold", BODY), paragraph(text, "plain", size, most=2, room=room - 2)]


def _slip(lesson: Lesson, wide: float) -> Flowable:
    """Return the slip: two columns of what is filled in and what is to be written, in a frame."""
    pad, label = 9.0, 62.0
    half = wide / 2
    rows, spans = [[paragraph("Lesson slip", "bold", HEAD), "", "", "", "", ""]], []
    short, long = lesson.slip[:6], lesson.slip[6:]
    for left, right in zip(short[::2], short[1::2], strict=True):
        rows.append([*_field(*left, half - 2 * pad - label), "", *_field(*right, half - 2 * pad - label), ""])
        spans += [(1, 1), (4, 4)]
    for one in long:
        rows.append([*_field(*one, wide - 2 * pad - label), "", "", "", ""])
        spans.append((1, 4))
    at = [1 + i // 2 for i in range(len(short))] + [1 + len(short) // 2 + i for i in range(len(long))]
    lines = [
        rule("LINEBELOW", (left, row), (right, row), 0.5, "quiet")
        for row, (left, right) in zip(at, spans, strict=True)
    ]
    wider = [("SPAN", (1, row), (4, row)) for row in at[len(short) :]]
    inside = table(
        rows,
        [label, half - 2 * pad - label, pad * 2, label, half - 2 * pad - label, 0],
        *lines,
        *wider,
        ("SPAN", (0, 0), (-1, 0)),
        ("TOPPADDING", (0, 1), (-1, -1), 5),
    )
    framed = [
        (f"{side}PADDING", (0, 0), (-1, -1), pad if side in ("LEFT", "RIGHT") else 6)
        for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")
    ]
    return table([[inside]], [wide], *framed, rule("BOX", (0, 0), (-1, -1), 0.9))


def _answer(number: int, one: Exercise) -> str:
    """Return the answer of an exercise behind its number."""
    return f"{number}: {one.answer}"


def _small_print(lesson: Lesson, wide: float) -> Story:
    """Return the foot of the second page: cautions, sources, and the answers upside down."""
    lead, *more = lesson.cautions or ("",)
    body = [f"Take care. {lead}", *more, f"Sources: {'; '.join(lesson.sources)}."]
    line = table([[""]], [wide], rule("LINEABOVE", (0, 0), (-1, 0), 0.4, "quiet"), high=2)
    printed = [paragraph(text, "plain", SMALL, ink="quiet", lead=1.25) for text in body]
    answers = "   ".join(_answer(i, one) for i, one in enumerate(lesson.exercises, 1))
    story: Story = [gap(5), line]
    for one in printed:
        story += [one, gap(3)]
    return [
        *story,
        gap(3),
        pdf.UpsideDown(paragraph(f"Answers. {answers}", "plain", SMALL, ink="quiet", lead=1.25)),
    ]


def _second_page(lesson: Lesson, wide: float, high: float, way_too: bool) -> Story:
    """Return the second page, with the way to learn it where the first page has no room for it.

    Where it would overflow, long counts are cut, and then the last reasons stand in the text only.
    """
    foot = _small_print(lesson, wide)
    high -= height(foot, wide)
    every = len(lesson.reasons) if way_too else 0
    tiers = ((ROOM, 2), (ROOM - LINE, 1), (0, 0))  # fewer than two reasons only for want of any room
    tries = [
        (n, most, room)
        for room, least in tiers
        for n in range(every, min(least, every) - 1, -1)
        for most in (3, 2, 1)
    ]
    way = _way(lesson, every, wide) if way_too else []  # its reasons come last
    rest = [gap(4), *_exercises(lesson, wide), gap(6), _slip(lesson, wide)]
    high -= height(rest, wide)
    for reasons, most, room in tries:
        known = [*way[: len(way) - every + reasons], gap(4)] if way else []
        story = [*known, _steps_and_ladder(lesson, wide, most)]
        free = high - height(story, wide)
        if free >= room:
            break
    return [*story, *rest, *_your_notes(free, wide), *foot]


# The handout, as pages and as text


def _foot(title: str, lesson: Lesson, page: int, wide: float) -> Flowable:
    """Return the foot of a page: what it belongs to, and its number."""
    name = printable(title) or lesson.name
    left = paragraph(name, "plain", SMALL, ink="quiet", most=1, room=0.7 * wide)
    return table(
        [[left, paragraph(f"page {page} of 2", "plain", SMALL, ink="quiet", right=True)]],
        [0.7 * wide, 0.3 * wide],
    )


def _twin(lesson: Lesson, title: str, notes: Sequence[tuple[str, str]]) -> str:
    """Return everything that is on the pages as text, in the same order, the answers last."""
    own = [lesson.name] if title != lesson.name else []
    lines = [title, *own, f"{lesson.tempo}.", lesson.facts, *lesson.remarks]

    def part(heading: str, rows: Sequence[str]) -> None:
        lines.extend(("", heading.upper(), *rows))

    part(lesson.picture_title, [scene.alt for scene in lesson.pictures])
    part("The count", [f"{label}: {text}" for label, text in lesson.counts])
    if lesson.line is not None:
        part(lesson.line_title, [lesson.line[0].alt, lesson.line[1]])
    part("Notation", [f"{heading}: {said}" for heading, said in notes])
    if lesson.gap_picture is not None:
        part("The gap cycle", [lesson.gap_picture.alt])
    part("How to learn it", [lesson.way])
    rows = [
        f"{way}: from {low}, up to {high}; {now}." if low != "–" else f"{way}: {now}."
        for way, low, high, now in lesson.table
    ]
    if rows:
        part(f"Where each way fits, in {lesson.unit}", rows)
    part("Why", lesson.reasons)
    part(
        "Practise in this order",
        [f"{i}. {a} {sentences.capital(b)}." for i, (a, b) in enumerate(lesson.steps, 1)],
    )
    rungs = f"{' '.join(lesson.ladder)} ({lesson.unit}), each with a line for the day it passed cold on."
    part("Ladder", [rungs, "From below, one rung a day at most."])
    part("Exercises", [f"{i}. {one.text} ____" for i, one in enumerate(lesson.exercises, 1)])
    part("Lesson slip", [f"{label}: {text or '____'}" for label, text in lesson.slip])
    part("Your notes", ["Lines to write on."])
    part("Take care", lesson.cautions)
    part("Sources", lesson.sources)
    part("Answers", [_answer(i, one) for i, one in enumerate(lesson.exercises, 1)])
    return "\n".join(lines) + "\n"


def _checked(
    what: object,
    tempo: object,
    home: object,
    paper: object,
    limits: object,
    title: object,
    groups: Any,
    left_handed: Any,
    spoken: Any,
) -> tuple[Polyrhythm | Cycle, Tempo, int | None, Limits, OwnGroups, tuple[str, ...]]:
    """Check every argument once, and return rhythm, tempo, home, limits, groups and words of a phrase."""
    found = bounds.rhythm(what, "what", _EXAMPLE)
    if not isinstance(paper, str) or paper not in PAPERS:
        raise Refusal(
            f"paper={short(paper)} is not a paper; there are {' and '.join(PAPERS)}",
            f'{_EXAMPLE[:-1]}, paper="Letter")',
            argument="paper",
        )
    bounds.heading(title, f'{_EXAMPLE[:-1]}, title="Seat 4")')
    rows = limits_or(limits, f"{_EXAMPLE[:-1]}, limits=limits(flam=30))")
    grouped = f'{_EXAMPLE[:-1]}, groups="3+4")'
    own = groups_for(found, groups, grouped) if isinstance(found, Polyrhythm) else own_groups(groups, grouped)
    flag(left_handed, "left_handed", f"{_EXAMPLE[:-1]}, left_handed=True)")
    words = words_spoken(spoken, found, _SPOKEN)
    if isinstance(found, Polyrhythm):
        at = home_or_last(found, home)
        return found, bounds.at_tempo(found, tempo, at, _EXAMPLE), at, rows, own, words
    if home is not None:
        raise Refusal(
            f"home={short(home)} is for pulses, and a cycle has its own beat",
            "handout(playing.accents('7/8', 5), 180)",
            argument="home",
        )
    at_tempo = bounds.at_tempo(found, tempo, None, "handout(playing.accents('7/8', 5), 180)")
    return found, at_tempo, None, rows, own, words


def _lesson(
    what: Polyrhythm | Cycle,
    tempo: Tempo,
    home: int | None,
    rows: Limits,
    groups: OwnGroups,
    left_handed: bool,
    words: Sequence[str] = (),
) -> Lesson:
    """Return what the handout says."""
    if isinstance(what, Polyrhythm):
        return of_pair(what, tempo, home_or_last(what, home), rows, groups, left_handed)
    return of_bars(what, tempo, rows, groups, words)


def _made(lesson: Lesson, heading: str, notes: list[WrittenNotes], paper: str, tempo: Tempo) -> Handout:
    """Draw the pages and write the twin."""
    out, size = io.BytesIO(), PAPERS[paper]
    canvas = pdf.Page(
        out,
        pagesize=size,
        invariant=1,  # no time of day inside: the same handout is the same bytes
        pageCompression=1,
        initialFontName=pdf.font("plain"),
        lang="en",
    )
    canvas.setTitle(clean(heading))
    canvas.setAuthor("rhythmlab")
    canvas.setCreator("rhythmlab")
    canvas.setSubject(f"{lesson.name}, {lesson.tempo}")
    canvas.setKeywords(["polyrhythm", "handout", lesson.name])
    canvas.setViewerPreference("DisplayDocTitle", "true")
    wide, high = size[0] - 2 * SIDE, size[1] - 2 * EDGE - 10
    first, said, way_too = _first_page(lesson, heading, notes, wide, high)
    second = _second_page(lesson, wide, high, not way_too)
    for page, (part, story) in enumerate((("The rhythm", first), ("The practice", second)), 1):
        canvas.bookmarkPage(part)
        canvas.addOutlineEntry(part, part)
        frame = Frame(SIDE, EDGE + 10, wide, high, 0, 0, 0, 0)
        frame.addFromList([KeepInFrame(wide, high, story, mode="shrink")], canvas)
        foot = _foot(heading, lesson, page, wide)
        foot.wrapOn(canvas, wide, EDGE)
        foot.drawOn(canvas, SIDE, EDGE - 18)
        canvas.showPage()
    canvas.save()
    name = safe_name(f"{clean(heading)} at {bpm_text(tempo.bpm)}", ".pdf").removesuffix(".pdf")
    return Handout(out.getvalue(), _twin(lesson, clean(heading), said), 2, heading, name, lesson.pictures[0])


@public(_EXAMPLE, bounds="limits")
def handout(
    what: Rhythm,
    tempo: Speed,
    *,
    home: int | None = None,
    paper: str = "A4",
    limits: Limits | None = None,
    title: str = "",
    groups: Groups = (),
    left_handed: bool = False,
    spoken: Sequence[str] = (),
) -> Handout:
    """Put a rhythm on paper: what it is, how to learn it, and room to write.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        Pulses against each other, or any cycle of lanes: a fill, a moving accent, feet against hands.
    tempo : Tempo or number
        The speed; a number is beats a minute of home, or of the metre's beat.
    home : int, optional
        Index of the pulse felt as the beat; the last one when left out.  Bars have their own beat.
    paper : str
        ``"A4"`` or ``"Letter"``.
    limits : Limits, optional
        The limits to use; `limits()` when left out.
    title : str
        The heading, in place of the name of the rhythm.
    groups : str or sequence of int
        How a beat of five parts or more is said, as for `Feel`.
    left_handed : bool
        Whether the hands of pulses are mirrored, the first the left one; a cycle keeps its own hands.
    spoken : sequence of str
        What is said on the strokes of a phrase, in place of its count, as ``spoken`` of a phrase gives it.

    Returns
    -------
    Handout
        Two pages, under 300 kB.  Where the rhythm cannot be written as notes, the page says why and shows a
        picture instead.

    Raises
    ------
    ValueError
        If one of them is not what it should be, or a number is given as the tempo of a cycle without beats.
    IndexError
        If there is no such pulse.

    Examples
    --------
    >>> made = handout((7, 4), 72)
    >>> made.pages, made.text.splitlines()[0]
    (2, '7 against 4')
    """
    what, tempo, home, rows, own, words = _checked(
        what, tempo, home, paper, limits, title, groups, left_handed, spoken
    )
    if isinstance(what, Sentence):
        lesson = _lesson(what.polyrhythm, tempo, what.home, rows, own, left_handed)
        printed = set(pdf.printable(what.text, "bold"))
        strange = any(sign.isalnum() and sign not in printed for sign in what.text)
        lesson = with_sentence(lesson, what, own, printed=not strange)
        notes = [notation(what.polyrhythm, tempo, one, own, left_handed) for one in lesson.homes]
        if strange:
            lesson = replace(lesson, remarks=(*lesson.remarks, _BY_HAND))
        else:
            notes[0] = replace(notation(what, tempo, None, own, left_handed), heading=notes[0].heading)
    else:
        lesson = _lesson(what, tempo, home, rows, own, left_handed, words)
        notes = [notation(what, tempo, one, own, left_handed, words) for one in lesson.homes]
    heading = title.strip() or lesson.name
    return _made(lesson, heading, notes, paper, tempo)


# A pack of handouts


def _typed(one: object) -> tuple[int, ...] | None:
    """Return the pulses of a pair as it is typed, such as ``"7:4"``; ``None`` of anything else."""
    if isinstance(one, str) and re.fullmatch(r"\s*\d{1,9}(\s*:\s*\d{1,9})+\s*", one, re.ASCII):
        return tuple(map(int, one.split(":")))
    return None


def _call(one: object, place: int) -> dict[str, Any]:
    """Return the arguments of one handout of a pack."""
    if isinstance(one, Mapping) and {"what", "tempo"} <= set(one) <= set(_ARGUMENTS):
        return {**one, "what": _typed(one["what"]) or one["what"]}
    if isinstance(one, list | tuple) and len(one) == 2:
        what, tempo = one
        return {"what": _typed(what) or what, "tempo": tempo}
    if (pulses := _typed(one)) is not None:
        return {"what": pulses, "tempo": PACK_BPM}
    raise Refusal(
        f"rhythm {place} of the pack, {short(one)}, is neither a pair of rhythm and "
        f"tempo nor a mapping of {', '.join(_ARGUMENTS)}",
        _PACK,
    )


def _write_both(made: Handout, path: Path, twin: Path) -> Path:
    """Write a handout and its twin, or neither."""
    twin_there = False
    try:
        with placed(path) as file:
            file.write(made.pdf)
            put(twin, made.text.encode())
            twin_there = True
    except BaseException:
        if twin_there:
            twin.unlink(missing_ok=True)
        raise
    return path


def _write_beside(made: Handout, folder: Path) -> Path:
    """Write a handout and its twin under the first name that is free for both."""
    for number in count(1):
        name = made.name if number == 1 else f"{made.name}-{number}"
        path, twin = (folder / safe_name(name, ending) for ending in (".pdf", ".txt"))
        if number <= _MOST_ALIKE and (os.path.lexists(path) or os.path.lexists(twin)):
            continue
        try:
            return _write_both(made, path, twin)
        except FileExistsError:
            if number > _MOST_ALIKE:
                raise
    raise AssertionError  # the loop only ends by returning or raising


@public(_PACK, bounds="limits")
def handout_pack(
    rhythms: Iterable[str | Sequence[Any] | Mapping[str, Any]],
    folder: str | Path,
    *,
    paper: str = "A4",
    limits: Limits | None = None,
) -> list[Path]:
    """Make a pack of handouts, each as PDF with its text beside it; no file is replaced.

    Parameters
    ----------
    rhythms : iterable
        Each a pair ``(what, tempo)``, or a mapping of the arguments of `handout`; a pair may be typed
        ``"7:4"``, and alone it is at 72 bpm of home.
    folder : str or Path
        Where they go; it is made where it is not there.
    paper, limits
        As for `handout`.

    Returns
    -------
    list of Path
        The PDFs, in order.

    Raises
    ------
    ValueError, IndexError
        If one of them cannot be made; it is named by its place, and no file has been written.
    OSError
        If a file cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     [path.name for path in handout_pack([(Polyrhythm(4, 3), 90)], folder)]
    ['4-against-3-at-90.pdf']
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     [path.name for path in handout_pack(["7:4", ("4:3", 90)], folder)]
    ['7-against-4-at-72.pdf', '4-against-3-at-90.pdf']
    """
    if not isinstance(folder, str | Path):
        raise Refusal(f"folder={short(folder)} is not a folder", _PACK, argument="folder")
    if isinstance(rhythms, Mapping | str):
        raise Refusal(f"rhythms={short(rhythms)} is not a list", _PACK, argument="rhythms")
    calls = []
    for place, one in enumerate(items(rhythms, "rhythms", _PACK, most=MOST_IN_A_PACK), 1):
        call = {"paper": paper, "limits": limits, **_call(one, place)}
        try:
            _checked(*[call.get(key, _LEFT_OUT.get(key)) for key in _ARGUMENTS])
        except Refusal as error:
            raise error.inside(f"rhythm {place} of the pack", _PACK) from None
        calls.append(call)
    if not calls:
        raise Refusal(
            f"rhythms={short(rhythms)} has no rhythm, so there is nothing to print", _PACK, argument="rhythms"
        )
    work = f"A pack of {numbers.plural(len(calls), 'handout')}"
    long = say(work, seconds=len(calls) * _HANDOUT_S, steps=True)
    with folder_for(folder, _PACK, parents=False) as where:
        return Paths(
            _write_beside(handout(**call), where) for call in shown(calls, len(calls), work, long=long)
        )

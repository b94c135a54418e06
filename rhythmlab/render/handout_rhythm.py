"""The first page of a handout: the rhythm in its grid, its counts, its notes and its gaps or bars."""

from collections.abc import Sequence

from rhythmlab.draw.scene import Text
from rhythmlab.render import paper
from rhythmlab.render.handout_notes import Note, placed
from rhythmlab.render.handout_practice import way
from rhythmlab.render.lesson import Lesson
from rhythmlab.render.worksheet import BODY, HEAD, LEAD, ROOM, TITLE, Sheet

#: Said where a title has letters that are not in the print font.
LOST = (
    "Some letters of the title are not in the print font; it stands in full in the properties of this file "
    "and in its plain text."
)
#: Most counts that are printed.
COUNTS = 4
#: Height of a row in px: of the grid and the bars, of bars with letters under the strokes, of the gap cycle.
_ROW, _LETTERS, _TIDE = 33.0, 40.0, 33.0


def rhythm(
    sheet: Sheet, lesson: Lesson, title: str, notes: Sequence[Note]
) -> tuple[list[tuple[str, str]], bool]:
    """Draw the page; return what its notes say, by heading, and whether the way to learn is on it."""
    _top(sheet, lesson, title)
    sheet.skip(5)
    sheet.heading(lesson.picture_title)
    for scene in lesson.pictures:
        sheet.skip(2)
        letters = any(isinstance(mark, Text) and mark.role == "letter" for mark in scene.marks)
        sheet.scene(scene, _LETTERS if letters else _ROW)
    sheet.skip(3)
    sheet.heading("The count")
    _counts(sheet, lesson)
    sheet.skip(5)
    under = _tide_room(sheet, lesson)
    said = placed(sheet, notes, sheet.free - under)
    if lesson.tide is not None:
        sheet.skip(4)
        sheet.heading("The gap cycle", "before the beat above the line, after it below")
        sheet.skip(2)
        sheet.scene(lesson.tide, _TIDE)
    fits = way_fits(sheet, lesson)
    if fits:
        sheet.skip(4)
        way(sheet, lesson, len(lesson.reasons))
    if sheet.free >= ROOM:
        sheet.lines(sheet.free, "Your notes")
    return said, fits


def way_fits(sheet: Sheet, lesson: Lesson) -> bool:
    """Whether what is left of a page has room for the way to learn it, with all reasons."""
    tried = Sheet(None, (sheet.wide, sheet.high))
    before = tried.y
    way(tried, lesson, len(lesson.reasons))
    return before - tried.y + 4 <= sheet.free


def _top(sheet: Sheet, lesson: Lesson, title: str) -> None:
    shown, own = paper.printable(title), title.strip() != lesson.name
    fits = next((s for s in (TITLE, 16, 13) if len(paper.wrapped(shown, "bold", s, sheet.room)) < 3), 13)
    sheet.skip(-4)
    sheet.text(shown or lesson.name, name="bold", size=fits, most=2, lead=1.2)
    sheet.skip(4)
    if own and shown:
        sheet.text(lesson.name, name="bold", size=LEAD, most=2)
    sheet.text(lesson.tempo, name="bold", size=LEAD)
    sheet.text(lesson.facts)
    for remark in lesson.remarks:
        sheet.text(remark, most=5)
    if paper.lost(title):
        sheet.text(LOST, size=8, ink="quiet")


def _counts(sheet: Sheet, lesson: Lesson) -> None:
    """Write the counts with their labels in a column of their own."""
    shown = lesson.counts[:COUNTS]
    labels = [paper.cut(label, "bold", BODY, 0.3 * sheet.room) for label, _ in shown]
    column = max((paper.wide(label, "bold", BODY) for label in labels), default=0) + 10
    for label, (_, text) in zip(labels, shown, strict=True):
        sheet.write(sheet.left, sheet.y - BODY * 1.32, label, name="bold", size=BODY)
        sheet.text(text, x=sheet.left + column, room=sheet.room - column, most=4)
        sheet.skip(1.5)
    if len(lesson.counts) > COUNTS:
        sheet.text("The other counts are in the plain text.", size=8, ink="quiet")


def _tide_room(sheet: Sheet, lesson: Lesson) -> float:
    if lesson.tide is None:
        return 0
    return paper.scene_height(lesson.tide, sheet.room, _TIDE) + HEAD + 20

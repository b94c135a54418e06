"""The second page of a handout: the way to learn, steps, a ladder, exercises, a lesson slip, small print."""

from typing import TYPE_CHECKING

from rhythmlab.render import paper
from rhythmlab.render.handout_twin import answer
from rhythmlab.render.lesson import Exercise, Lesson
from rhythmlab.render.worksheet import BODY, EDGE, HEAD, LINE, ROOM, SMALL, Sheet
from rhythmlab.text.sentences import capital

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

#: Where the columns of the table begin, as shares of the page between its margins.
_COLUMNS = (0.0, 0.42, 0.56, 0.70)
#: Share of the page for the steps; the ladder stands beside them.
_STEPS, _GAP = 0.64, 20.0
#: Height of a rung of the ladder, and of a box to write in.
_RUNG, _BOX = 16.0, 13.0
#: Least room behind a question that an answer can be written in.
_ANSWER = 95.0


def practice(canvas: "Canvas", lesson: Lesson, size: tuple[float, float], way_too: bool) -> None:
    """Draw the page, with the way to learn it where the first page has no room for it.

    Where it would overflow, long counts are cut, and then the last reasons stay in the plain twin only.
    """
    foot = _small_print(Sheet(None, size), lesson)
    every = len(lesson.reasons) if way_too else 0
    tiers = ((ROOM, 2), (ROOM - LINE, 1), (0, 0))  # fewer than two reasons only for want of any room
    tries = [
        (n, most, room)
        for room, least in tiers
        for n in range(every, min(least, every) - 1, -1)
        for most in (3, 2, 1)
    ]
    for reasons, most, room in tries:
        tried = Sheet(None, size)
        _upper(tried, lesson, way_too, reasons, most)
        if tried.free >= foot + room:
            break
    sheet = Sheet(canvas, size)
    _upper(sheet, lesson, way_too, reasons, most)
    sheet.lines(sheet.free - foot, "Your notes")
    _small_print(Sheet(canvas, size), lesson)


def way(sheet: Sheet, lesson: Lesson, reasons: int) -> None:
    """Write the way to learn it, from where to where each way works, and why."""
    sheet.heading("How to learn it")
    sheet.text(lesson.way, name="bold", size=BODY, most=2)
    sheet.skip(3)
    _table(sheet, lesson)
    sheet.skip(2)
    for reason in lesson.reasons[:reasons]:
        _bullet(sheet, "•", reason, sheet.left, sheet.room)


def _upper(sheet: Sheet, lesson: Lesson, way_too: bool, reasons: int, most: int) -> None:
    """Draw all but the notes and the small print."""
    sheet.skip(-HEAD)
    if way_too:
        way(sheet, lesson, reasons)
        sheet.skip(4)
    _beside(sheet, lesson, most)
    sheet.skip(4)
    sheet.heading("Exercises", "answers at the foot of the page")
    for number, one in enumerate(lesson.exercises, 1):
        _exercise(sheet, number, one)
    sheet.skip(6)
    _slip(sheet, lesson)


def _table(sheet: Sheet, lesson: Lesson) -> None:
    """Write from where to where each way works."""
    xs = [sheet.left + share * sheet.room for share in _COLUMNS]
    sheet.skip(BODY * 1.3)
    for x, head in zip(xs, ("", "from", "up to", "at this tempo"), strict=True):
        sheet.write(x, sheet.y, head, size=8, ink="quiet")
    unit = paper.cut(f"in {lesson.unit}", "plain", 8, 0.4 * sheet.room)
    sheet.write(xs[0], sheet.y, unit, size=8, ink="quiet")
    sheet.rule(sheet.left, sheet.y - 3, sheet.left + sheet.room, sheet.y - 3, 0.4, "quiet")
    sheet.skip(2)
    for row in lesson.table:
        sheet.skip(BODY * 1.42)
        name = "bold" if row[3] == "fits" else "plain"
        rooms = (xs[1] - xs[0], xs[2] - xs[1], xs[3] - xs[2], sheet.left + sheet.room - xs[3])
        for x, text, room in zip(xs, row, rooms, strict=True):
            sheet.write(x, sheet.y, paper.cut(text, name, BODY, room - 4), name=name, size=BODY)
    sheet.skip(3)
    sheet.rule(sheet.left, sheet.y, sheet.left + sheet.room, sheet.y, 0.4, "quiet")


def _bullet(sheet: Sheet, sign: str, text: str, x: float, room: float, most: int = 0) -> None:
    """Write text with a sign before its first line."""
    sheet.write(x, sheet.y - BODY * 1.32, sign, size=BODY)
    sheet.text(text, x=x + 14, room=room - 14, most=most)
    sheet.skip(1)


def _beside(sheet: Sheet, lesson: Lesson, most: int) -> None:
    """Write the steps, and the ladder beside them."""
    top, room = sheet.y, _STEPS * sheet.room - _GAP
    sheet.heading("Practise in this order", room=room)
    for number, (text, count) in enumerate(lesson.steps, 1):
        _bullet(sheet, f"{number}.", text, sheet.left, room)
        sheet.text(capital(count), name="italic", x=sheet.left + 14, room=room - 14, most=most, ink="quiet")
        sheet.skip(2)
    if not lesson.steps:
        sheet.text("Nothing to practise at this tempo.", room=room)
    low, x = sheet.y, sheet.left + _STEPS * sheet.room
    sheet.y = top
    sheet.heading("Tempo ladder", "passed cold on", x, sheet.left + sheet.room - x)
    for rung in reversed(lesson.ladder):
        sheet.skip(_RUNG)
        sheet.write(x + 46, sheet.y, rung, name="bold", size=BODY, anchor="end")
        sheet.blank(x + 56, sheet.left + sheet.room, sheet.y - 2)
    sheet.skip(3)
    sheet.text(
        "From below, one rung a day at most.", size=8, x=x, room=sheet.left + sheet.room - x, ink="quiet"
    )
    sheet.y = min(low, sheet.y)


def _exercise(sheet: Sheet, number: int, one: Exercise) -> None:
    """Write a question, with boxes or a line for the answer."""
    _bullet(sheet, f"{number}.", one.text, sheet.left, sheet.room)
    if not one.boxes:
        ends = sheet.left + 14 + paper.wide(paper.printable(one.text), "plain", BODY) + 10
        if sheet.left + sheet.room - ends < _ANSWER:  # no room behind the question
            ends = sheet.left + 14
            sheet.skip(LINE - 4)
        sheet.blank(ends, sheet.left + sheet.room, sheet.y - 1)
        sheet.skip(7)
        return
    side = min(_BOX, (sheet.room - 14) / one.boxes)
    sheet.skip(6)
    for i in range(one.boxes + 1):
        x = sheet.left + 14 + i * side
        beat = i % one.every == 0 or i == one.boxes
        over = 3 * beat
        sheet.rule(x, sheet.y + over, x, sheet.y - _BOX, 1.1 if beat else 0.4)
    for y in (sheet.y, sheet.y - _BOX):
        sheet.rule(sheet.left + 14, y, sheet.left + 14 + one.boxes * side, y, 0.4)
    sheet.skip(_BOX + 6)


def _slip(sheet: Sheet, lesson: Lesson) -> None:
    """Draw the slip: two columns of what is filled in and what is to be written, in a frame."""
    top, pad = sheet.y, 9.0
    sheet.skip(HEAD + 6)
    sheet.write(sheet.left + pad, sheet.y, "Lesson slip", name="bold", size=HEAD)
    half = sheet.room / 2
    short, long = lesson.slip[:6], lesson.slip[6:]
    for i, (label, text) in enumerate(short):
        if i % 2 == 0:
            sheet.skip(LINE - 4)
        x = sheet.left + pad + (i % 2) * half
        _field(sheet, x, x + half - 2 * pad, label, text)
    for label, text in long:
        sheet.skip(LINE - 4)
        _field(sheet, sheet.left + pad, sheet.left + sheet.room - pad, label, text)
    sheet.skip(9)
    for x0, y0, x1, y1 in (
        (0, top, sheet.room, top),
        (0, sheet.y, sheet.room, sheet.y),
        (0, top, 0, sheet.y),
        (sheet.room, top, sheet.room, sheet.y),
    ):
        sheet.rule(sheet.left + x0, y0, sheet.left + x1, y1, 0.9)


def _field(sheet: Sheet, x0: float, x1: float, label: str, text: str) -> None:
    """Write a label and what is filled in, on a line to write on."""
    sheet.write(x0, sheet.y, label, name="bold", size=BODY)
    begin = x0 + 62
    sheet.write(begin + 2, sheet.y, paper.cut(text, "plain", BODY, x1 - begin - 2), size=BODY)
    sheet.blank(begin, x1, sheet.y - 2.5)


def _small_print(sheet: Sheet, lesson: Lesson) -> float:
    """Write cautions, sources and the answers from the foot of the page up, and return their height."""
    answers = "   ".join(answer(i, one) for i, one in enumerate(lesson.exercises, 1))
    texts = (
        *(("Take care. ", text) for text in lesson.cautions[:1]),
        *(("", t) for t in lesson.cautions[1:]),
    )
    body = [f"{lead}{text}" for lead, text in texts]
    body.append(f"Sources: {'; '.join(lesson.sources)}.")
    rows = [paper.wrapped(text, "plain", SMALL, sheet.room) for text in body]
    upside = paper.wrapped(f"Answers. {answers}", "plain", SMALL, sheet.room)
    leading = SMALL * 1.25
    high = leading * (sum(map(len, rows)) + len(upside)) + 3 * len(rows) + 12
    sheet.y = EDGE + high
    sheet.rule(sheet.left, sheet.y, sheet.left + sheet.room, sheet.y, 0.4, "quiet")
    sheet.skip(2)
    for lines in rows:
        for line in lines:
            sheet.skip(leading)
            sheet.write(sheet.left, sheet.y, line, size=SMALL, ink="quiet")
        sheet.skip(3)
    sheet.skip(3)
    for line in reversed(upside):  # upside down: the first line is the lowest
        sheet.skip(leading)
        if sheet.canvas:
            sheet.canvas.saveState()
            sheet.canvas.translate(sheet.left + sheet.room, sheet.y + SMALL)
            sheet.canvas.rotate(180)
            sheet.write(0, SMALL * 0.25, line, size=SMALL, ink="quiet")
            sheet.canvas.restoreState()
    return high + 4

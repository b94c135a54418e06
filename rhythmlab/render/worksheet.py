"""A page that is filled from the top: headings, text in lines, pictures, lines to write on."""

from typing import TYPE_CHECKING

from rhythmlab.draw.scene import Scene
from rhythmlab.render import paper

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

#: Margins left and right, and above and below, in points.
SIDE, EDGE = 45.0, 40.0
#: Sizes of letters in points: title, lead, heading, text, small print.
TITLE, LEAD, HEAD, BODY, SMALL = 19.0, 10.5, 10.5, 9.0, 7.0
#: Height of a line to write on.
LINE = 21.0
#: Least room for notes: a heading and two lines.
ROOM = HEAD + 18 + 2 * LINE


class Sheet:
    """A page that is filled from the top; without a canvas it only measures."""

    def __init__(self, canvas: "Canvas | None", size: tuple[float, float]) -> None:
        self.canvas, (self.wide, self.high) = canvas, size
        self.left, self.room = SIDE, self.wide - 2 * SIDE
        self.y = self.high - EDGE

    @property
    def free(self) -> float:
        """Points that are left above the foot of the page."""
        return self.y - EDGE - 10

    def write(
        self,
        x: float,
        y: float,
        text: str,
        *,
        name: str = "plain",
        size: float = BODY,
        anchor: str = "start",
        ink: str = "ink",
    ) -> None:
        """Write one line, as `paper.write` does."""
        if self.canvas:
            paper.write(self.canvas, x, y, text, name=name, size=size, anchor=anchor, ink=ink)

    def rule(self, x0: float, y0: float, x1: float, y1: float, width: float = 0.6, ink: str = "ink") -> None:
        """Draw a straight line."""
        if self.canvas:
            paper.rule(self.canvas, x0, y0, x1, y1, width, ink)

    def skip(self, points: float) -> None:
        """Go down so many points."""
        self.y -= points

    def heading(self, text: str, beside: str = "", x: float | None = None, room: float | None = None) -> None:
        """Write a heading over a thin rule, with a remark at its right end."""
        x, room = self.left if x is None else x, self.room if room is None else room
        self.skip(HEAD + 6)
        self.write(x, self.y, text, name="bold", size=HEAD)
        if beside:
            self.write(x + room, self.y, beside, size=8, anchor="end", ink="quiet")
        self.rule(x, self.y - 3.5, x + room, self.y - 3.5, 0.6)
        self.skip(6)

    def text(
        self,
        text: str,
        *,
        name: str = "plain",
        size: float = BODY,
        x: float | None = None,
        room: float | None = None,
        most: int = 0,
        ink: str = "ink",
        lead: float = 1.32,
    ) -> int:
        """Write text in lines, at most so many, and return how many."""
        x, room = self.left if x is None else x, self.room if room is None else room
        lines = paper.wrapped(text.replace(" bpm", "\N{NO-BREAK SPACE}bpm"), name, size, room)
        if most and len(lines) > most:
            lines = [*lines[: most - 1], paper.cut(" ".join(lines[most - 1 :]), name, size, room)]
        for line in lines:
            self.skip(size * lead)
            self.write(x, self.y, line, name=name, size=size, ink=ink)
        return len(lines)

    def scene(self, scene: Scene, row: float = 40) -> None:
        """Draw a scene from margin to margin, with rows of so many px."""
        if self.canvas:
            paper.draw_scene(self.canvas, scene, self.left, self.y, self.room, row)
        self.skip(paper.scene_height(scene, self.room, row))

    def blank(self, x0: float, x1: float, y: float) -> None:
        """Draw a line to write on."""
        self.rule(x0, y, x1, y, 0.5, "quiet")

    def lines(self, room: float, title: str) -> None:
        """Fill a room with lines to write on, under a heading, where one fits."""
        lines = int((room - ROOM) // LINE) + 2
        if lines < 1:
            return
        self.skip(5)
        self.heading(title)
        for _ in range(lines):
            self.skip(LINE)
            self.blank(self.left, self.left + self.room, self.y)

"""Any cycle as a musician would write it: MusicXML with exact durations, engraved in the page.

Small pairs are one bar with a one-line staff for each pulse; near-equal and large pairs are bars of the home
pulse; grooves, ostinatos, fills and phrases stand on a drum staff.
What note the tempo belongs to is always printed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from html import escape
from pathlib import Path
from typing import TypedDict

from rhythmlab.core import bounds
from rhythmlab.core.check import flag, short, whole, window
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.display import Written
from rhythmlab.core.feel import Groups, OwnGroups, groups_for, own_groups
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public, public_class
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed, Tempo
from rhythmlab.draw.pictures import strip_in_words
from rhythmlab.draw.svg import svg
from rhythmlab.files import save, with_ending
from rhythmlab.notation.drums import in_groups, in_metre
from rhythmlab.notation.engrave import engrave
from rhythmlab.notation.layout import (
    MOST_NOTES,
    MOST_PARTS,
    Sheet,
    bpm_of,
    even_lanes,
    home_bars,
    in_bar,
    in_beats,
    in_figures,
    layout_of,
    title_of,
)
from rhythmlab.notation.musicxml import musicxml
from rhythmlab.playing.metre import Metre
from rhythmlab.playing.metre import metre as metre_of
from rhythmlab.playing.phrasing import words_spoken
from rhythmlab.refusal import OutOfRange, Refusal

LAYOUTS = ("auto", "bar", "bars")
_CALL = "score((7, 4))"
_SPOKEN = "score(stick((4, 3), 96).cycle(), spoken=('1 2 3 4', '1 2 3'))"
_WRITE = f"{_CALL}.write({{}})"
#: Notes are engraved in black on white; a screen has them in the colours of its page, dark ones too.
_INK = (
    "@media screen{.rl-notes svg>rect[fill='#fff']{fill:var(--jp-layout-color0,#fff)}"
    ".rl-notes svg>:is(text,g[fill='#000']){color:var(--jp-content-font-color1,#000);"
    "fill:var(--jp-content-font-color1,#000)}"
    ".rl-notes svg [stroke='#000']{stroke:var(--jp-content-font-color1,#000)}}"
)
#: A page of 872 px has letters of 13 px and more, and those of 12 at this width.
_WIDE = "max-width:max(100%,820px);height:auto"
_PLAIN = "The engraver is not at hand, so the strokes are drawn on their grid; the MusicXML is complete."


class _Look(TypedDict):
    numbered: bool
    quarter_px: int
    deep: bool


@public_class("score((7, 4))", svg="score((7, 4)).svg(1)", write='score((7, 4)).write("score.svg")')
@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Score:
    """A score: MusicXML text, and its pages as SVG.

    Attributes
    ----------
    musicxml : str
        MusicXML 4.0.
    alt : str
        What the page shows, in one or two sentences.
    title : str
        Its title, as printed.
    key : str
        Which line or space is which drum, or how the counts are said, as printed; empty where neither is
        needed.
    """

    musicxml: str
    alt: str
    title: str
    key: str
    _what: Polyrhythm | Cycle
    _home: int | None
    _groups: OwnGroups
    _words: tuple[str, ...]
    _look: _Look
    _made: list[tuple[str, ...]] = field(default_factory=list)

    def _pages(self) -> tuple[str, ...]:
        if not self._made:
            self._made.append(
                engrave(self.musicxml, alt=self.alt, title=self.title, key=self.key, **self._look)
            )
        return self._made[0]

    @property
    def pages(self) -> int:
        """How many pages it takes."""
        return len(self._pages())

    def svg(self, page: int = 1) -> str:
        """Return a page as SVG text, on white paper.

        Parameters
        ----------
        page : int
            From 1.

        Raises
        ------
        IndexError
            If there is no such page.
        ImportError
            If verovio is not installed.

        Examples
        --------
        >>> score((4, 3)).svg()[:4]
        '<svg'
        """
        page = whole(page, "page", f"{_CALL}.svg(1)", least=0)
        pages = self._pages()
        if not 0 < page <= len(pages):
            many = "there is 1 page" if len(pages) == 1 else f"there are {len(pages)} pages"
            raise OutOfRange(
                f"page={short(page)} is out of range: {many}, numbered from 1",
                f"{_CALL}.svg(1)",
                argument="page",
            )
        return pages[page - 1]

    def write(self, path: str | Path, *, page: int | None = None, replace: bool = False) -> Path:
        """Write the score as ``.musicxml``, or a page of it as ``.svg``.

        Parameters
        ----------
        path : str or Path
            Where to.
        page : int, optional
            Which page, for ``.svg``; needed where there are several.
        replace : bool
            Whether a file of that name may be replaced.

        Returns
        -------
        Path
            Where it was written.

        Raises
        ------
        ValueError
            If the ending is another, the name is no safe one, or the page is not said.
        OSError
            If there is something of that name, or the disk does not take it.
        """
        path = with_ending(path, ".musicxml", ".svg", call=_WRITE)
        if path.suffix.lower() == ".musicxml":
            return Written(save(path, self.musicxml.encode(), _WRITE, replace=replace))
        if page is None and self.pages > 1:
            raise Refusal(
                f"path={short(str(path))} would hold one of {self.pages} pages; say which",
                _WRITE.replace("{}", repr("page-1.svg") + ", page=1"),
                argument="path",
            )
        return Written(save(path, self.svg(1 if page is None else page).encode(), _WRITE, replace=replace))

    def _repr_html_(self) -> str:
        notes, more = self._image(_WIDE, "min-width:760px")  # letters of 12 px and more
        return f'<figure class="rl-kept" style="margin:0">{_boxed(notes)}{more}</figure>'

    def _image(self, notes: str, strip: str) -> tuple[str, str]:
        """Return the pages as an image, or the grid in their place, each in a style, and a note."""
        try:
            pages, note, style = self._pages(), "", notes
        except Exception:  # whatever an engraver that is missing or broken raises: the picture falls back
            pages, note, style = self._grid_picture(), f"<p>{_PLAIN}</p>", strip
        return image_of(pages, self.alt, style), note

    def _grid_picture(self) -> tuple[str, ...]:
        """Return the picture of the cycle on its grid, where it is not too long to hold."""
        cycle = self._what
        if isinstance(cycle, Polyrhythm):
            if sum(cycle.pulses) > MOST_NOTES:
                return ()
            cycle = cycle.cycle(self._home)
        return (svg(strip_in_words(cycle, self._words, groups=self._groups)),)

    def __repr__(self) -> str:
        return f"Score({self.alt})"


def image_of(pages: Iterable[str], alt: str, style: str) -> str:
    """Return pages as one image of HTML, each in a style."""
    tag = f'<svg style="{style}" '
    body = "".join(f"<div>{page.replace('<svg ', tag, 1)}</div>" for page in pages)
    return f'<div role="img" aria-label="{escape(alt, quote=True)}">{body}</div>'


def notes_in_a_cell(pages: Iterable[str], alt: str) -> str:
    """Return engraved pages as a cell shows them: as large as made, in the colours of the page.

    Examples
    --------
    >>> notes_in_a_cell(["<svg />"], "two notes").count('role="img" aria-label="two notes"')
    1
    """
    return _boxed(image_of(pages, alt, _WIDE))


def _boxed(notes: str) -> str:
    """Return notes in a box of their own, moved under its edge where they are wider, by keys too."""
    return (
        f'<style>{_INK}</style><div class="rl-notes" tabindex="0" role="group" aria-label="notes" '
        f'style="overflow-x:auto">{notes}</div>'
    )


def fitted(score: Score) -> str:
    """Return a score as HTML that shrinks to its room, as a panel has it, which lays it out anew.

    Examples
    --------
    >>> fitted(score((4, 3))).count("<figure")
    1
    """
    fit = "max-width:100%;height:auto"
    return f'<figure class="rl-kept" style="margin:0">{"".join(score._image(fit, fit))}</figure>'


@public(_CALL)
def score(
    what: Rhythm,
    tempo: Speed | None = None,
    *,
    home: int | None = None,
    metre: str | Metre | None = None,
    layout: str = "auto",
    grid: bool = False,
    start: int | None = None,
    stop: int | None = None,
    title: str = "",
    counts: bool = True,
    hands: bool = True,
    groups: Groups = (),
    left_handed: bool = False,
    spoken: Sequence[str] = (),
) -> Score:
    """Write a polyrhythm, a groove, an ostinato, a fill or a phrase as a musician would.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is written.
    tempo : Tempo or number, optional
        Its speed; a number is beats a minute of home, or of the metre's beat.
    home : int, optional
        Index of the pulse, or of the evenly spaced lane, that is the beat; the last pulse, or the beats of
        the cycle, when left out.
    metre : str or Metre, optional
        The bar; that of the cycle, or as many quarters as home has beats, when left out.
    layout : str
        ``"bar"``: the cycle in one bar, a staff for each lane.
        ``"bars"``: bars of the home pulse, with the other stroke moving through them.
        ``"auto"``: whichever reads better; a figure that a common factor repeats, as 12 against 8 repeats 3
        against 2, has bars of its own. Grooves have their own bars.
    grid : bool
        In bars of the home pulse, whether every sixteenth is written, with the strokes accented.
    start, stop : int, optional
        Window in ticks, half-open; the bars that it touches are written whole.
    title : str
        Its title.
    counts, hands : bool
        Whether counts and R or L stand under the notes.
    groups : str or sequence of int
        How a beat of five parts or more is said, as for `Feel`: it stands above the notes.
    left_handed : bool
        Whether the hands of two pulses are mirrored, the first the left one; a sticking stays as it is.
    spoken : sequence of str
        What is said on the strokes of a phrase, in place of its count, as ``spoken`` of a phrase gives it.

    Returns
    -------
    Score
        Shows itself in a notebook.

    Raises
    ------
    ValueError
        If it is too long to write (the message names a window that fits), home has less than 1 or more than
        1,000 beats a minute, the metre does not hold it, or there is no readable written value.
    IndexError
        If there is no such home.

    Examples
    --------
    >>> print(score((4, 3), 90).alt)
    4 against 3 written from the 3 on 2 one-line staves, one bar of 3/4. Counted from the 3, the 4 falls on \
1, a of 1, & of 2, e of 3.
    """
    windowed = None if not isinstance(what, Cycle) else bounds.MOST_STROKES
    what = bounds.rhythm(what, "what", _CALL, most=windowed)
    if not isinstance(layout, str) or layout not in LAYOUTS:
        raise Refusal(
            f"layout={short(layout)} is none of {', '.join(LAYOUTS)}",
            'score(Polyrhythm(7, 4), layout="bar")',
            argument="layout",
        )
    title = bounds.heading(title, f'{_CALL[:-1]}, title="Warm-up")')
    grid = flag(grid, "grid", "score(Polyrhythm(16, 15), grid=True)")
    show = (
        flag(counts, "counts", f"{_CALL[:-1]}, counts=False)"),
        flag(hands, "hands", f"{_CALL[:-1]}, hands=False)"),
    )
    if isinstance(tempo, Tempo):
        bounds.at_tempo(what, tempo, home if isinstance(what, Polyrhythm) else None, f"{_CALL[:-1]}, 72)")
    mirrored = flag(left_handed, "left_handed", f"{_CALL[:-1]}, left_handed=True)")
    grouped = f'{_CALL[:-1]}, groups="3+4")'
    own = groups_for(what, groups, grouped) if isinstance(what, Polyrhythm) else own_groups(groups, grouped)
    words = words_spoken(spoken, what, _SPOKEN)
    return written(what, tempo, home, metre, layout, grid, (start, stop), title, show, own, mirrored, words)


def written(
    what: Polyrhythm | Cycle,
    tempo: object,
    home: int | None,
    metre: str | Metre | None = None,
    layout: str = "auto",
    grid: bool = False,
    span: tuple[int | None, int | None] = (None, None),
    title: str = "",
    show: tuple[bool, bool] = (True, True),
    groups: OwnGroups = (),
    left_handed: bool = False,
    words: Sequence[str] = (),
    landmarks: bool = False,
) -> Score:
    """Write what has been checked; see `score`.

    With `landmarks` only the e, the & and the a of a beat that is a bar are named, where a drift is followed.
    """
    start, stop = span
    first, last = window(start, stop, what.ticks)
    if first == last:
        raise Refusal(
            f"start={first}, stop={last} is an empty window", f"start=0, stop={what.ticks}", argument="start"
        )
    bar = None if metre is None else metre_of(metre)
    try:
        how = (groups, left_handed, words, landmarks)
        sheet = _sheet(what, tempo, home, bar, layout, grid, (first, last), show, *how)
        text = musicxml(sheet, title)
    except Refusal:
        raise
    except ValueError as fault:
        raise Refusal(f"{short(what)} has no readable notation here: {fault}", _CALL) from None
    look: _Look = {"numbered": sheet.numbered, "quarter_px": sheet.px, "deep": sheet.deep}
    return Score(text, sheet.text, title_of(title), sheet.key, what, home, groups, tuple(words), look)


def _sheet(
    what: Polyrhythm | Cycle,
    tempo: object,
    home: int | None,
    bar: Metre | None,
    layout: str,
    grid: bool,
    span: tuple[int, int],
    show: tuple[bool, bool],
    groups: OwnGroups,
    left_handed: bool,
    words: Sequence[str],
    landmarks: bool,
) -> Sheet:
    """Lay a rhythm out on the staves that fit it, or refuse what does not fit it."""
    cycle_metre = getattr(what, "metre", None)
    pulses = None if isinstance(cycle_metre, Metre) else even_lanes(what, tempo, home)
    if pulses is None:
        cycle = what if isinstance(what, Cycle) else what.cycle()
        if home is not None:
            raise Refusal(
                f"home={short(home)} is given, but this cycle has its own beats; leave home out",
                _CALL,
                argument="home",
            )
        if layout == "bars" or (layout == "bar" and len(cycle.bars) > 1):
            raise Refusal(
                f'layout="{layout}" is for pulses against each other, and this cycle has its own bars',
                'layout="auto"',
                argument="layout",
            )
        if grid:
            raise Refusal(
                "grid=True is for two pulses against each other, and this cycle has its own bars",
                "score(Polyrhythm(16, 15), grid=True)",
            )
        return _drum_staff(cycle, tempo, cycle_metre, bar, span, show, groups, words)
    pulses = replace(pulses, groups=groups, left_handed=left_handed, landmarks=landmarks)
    asked = layout_of(pulses, bar) if layout == "auto" else layout
    if grid and layout == "auto":
        asked = "bars"
    if asked == "bar":
        if grid:
            raise Refusal("grid=True is for bars of the home pulse", "score(Polyrhythm(16, 15), grid=True)")
        return in_bar(pulses, bar, *show)
    if asked in ("figures", "beats"):
        return (in_figures if asked == "figures" else in_beats)(pulses, bar, *span, *show)
    two = len(pulses.rows) == 2 and pulses.home is not None and pulses.all_parts <= MOST_PARTS
    if two or (len(pulses.rows) == 2 and pulses.even):
        return home_bars(pulses, bar, grid, *span, *show)
    if grid:
        raise Refusal(
            f"grid=True is for two pulses, and this has {len(pulses.rows)} lanes",
            "score(Polyrhythm(16, 15), grid=True)",
            argument="grid",
        )
    return in_beats(pulses, bar, *span, *show)


def _drum_staff(
    cycle: Cycle,
    tempo: object,
    cycle_metre: Metre | None,
    bar: Metre | None,
    span: tuple[int, int],
    show: tuple[bool, bool],
    groups: OwnGroups,
    words: Sequence[str],
) -> Sheet:
    """Lay a cycle out on a drum staff; `cycle_metre` is its metre where it has one."""
    if bar is not None and cycle_metre is not None:
        parts = Fraction(cycle_metre.unit * cycle_metre.parts, bar.unit)
        if parts.denominator > 1:
            raise Refusal(
                f"metre={bar} has notes shorter than the ticks of this cycle",
                f"metre={str(cycle_metre)!r}",
                argument="metre",
            )
        bar = Metre(bar.count, bar.unit, bar.groups, int(parts))
    bar = bar or cycle_metre
    if bar is None:
        beat = None
        if tempo is not None:
            given = tempo if isinstance(tempo, Tempo) else Tempo(bpm_of(tempo), ticks=cycle.beat)
            beat = (given.bpm, given.beat_ticks(cycle))
        return in_groups(cycle, beat, span, *show, groups, words)
    if cycle.ticks % bar.ticks:
        raise Refusal(
            f"metre={bar} has {bar.ticks} ticks to a bar, which do not fill the "
            f"{cycle.ticks} ticks of this cycle",
            _fits(cycle_metre),
            argument="metre",
        )
    bpm = None
    if tempo is not None:
        given = tempo if isinstance(tempo, Tempo) else bar.tempo(bpm_of(tempo))
        ticks = bar.tempo(1).beat_ticks(cycle)
        asked = given.beat_ticks(cycle)
        if not bar.even and asked in (bar.parts * group for group in bar.groups):
            ticks = asked  # the beat that is counted, and not the written note
        bpm = (60 / (given.tick_seconds(cycle) * ticks), ticks)
    return in_metre(cycle, bar, bpm, span, *show, groups, words)


def _fits(cycle_metre: Metre | None) -> str:
    """Return an example of a metre that fits a cycle."""
    if cycle_metre is None:
        return 'score(pattern("x..x..x."), metre="2/4")'
    return f'metre="{cycle_metre.count}/{cycle_metre.unit}"'

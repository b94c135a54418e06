"""Questions about reading notation: a bar, the line of a pair, and four bars of which one is changed."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from html import escape
from xml.etree import ElementTree

from rhythmlab.classroom.bank.template import likely_mistakes, numbers, question_template
from rhythmlab.classroom.question import Question
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.notation.score import Score, notes_in_a_cell, score
from rhythmlab.playing.metre import Metre


@dataclass(frozen=True, slots=True)
class ScoreExhibit:
    """A page of notes to read, not named."""

    _make: Callable[[], Score] = field(repr=False)

    @property
    def text(self) -> str:
        """The notes one by one, as the page has them."""
        return notes_text(self._make().musicxml)

    def _repr_html_(self) -> str:
        score = self._make()
        said = notes_text(score.musicxml)
        shown = replace(score, alt=said, title="", _made=[])
        try:
            pages = [shown.svg(page + 1) for page in range(shown.pages)]
        except Exception:  # whatever an engraver that is missing or broken raises: the notes in words remain
            return f"<p>The engraver is not at hand; here are the notes in words. {escape(said)}</p>"
        return f'<figure style="margin:0">{notes_in_a_cell(pages, said)}</figure>'

    def __repr__(self) -> str:
        return self.text


def read_length_score(p: int, q: int) -> ScoreExhibit:
    """Return the bar of `read_length`."""
    pair = Polyrhythm(p, q)
    lanes = [Lane("upper", pair.onsets(0)), Lane("lower", pair.onsets(1))]
    return ScoreExhibit(
        lambda: score(Cycle(pair.ticks, lanes, beats=pair.onsets(1)), home=1, layout="bar", counts=False)
    )


@question_template(
    "read-length",
    "reading notation",
    level=1,
    versions=((4, 5), (4, 7), (4, 9), (4, 11), (2, 5), (2, 7), (2, 9), (8, 10)),
    plays="score",
    show=read_length_score,
)
def read_length(p: int, q: int) -> Question:
    """Ask how many strokes fill a bar of quarters and how long each is; the trap is ties."""
    pair = Polyrhythm(p, q)
    length = Fraction(4 * pair.step(0), pair.step(1))
    right = numbers(len(pair.onsets(0)), length)
    return Question(
        text="Read the two lines: the lower one has the beats of the bar, and the upper one cuts the bar "
        "into equal parts. How many strokes has the upper line, and how many sixteenths is it from one of "
        "them to the next?",
        field="strokes, and sixteenths from stroke to stroke",
        parts=("the number of strokes", "the length"),
        right=right,
        why=f"The bar has {q} quarters, which are {4 * q} sixteenths; {p} strokes share them, {length} "
        "each. Notes that are tied are one stroke.",
        form="write two numbers, for example answer=[6, 2].",
        units=("stroke", "sixteenth"),
    )


def read_pair_score(p: int, q: int) -> ScoreExhibit:
    """Return the line of `read_pair`."""
    pair = Polyrhythm(p, q)
    return ScoreExhibit(lambda: _written(pair.ticks, 1, composite(pair).onsets.tolist()))


@question_template(
    "read-pair",
    "reading notation",
    level=2,
    versions=((5, 3), (5, 4), (7, 3), (8, 3), (7, 4), (6, 5), (10, 3), (9, 2)),
    plays="score",
    show=read_pair_score,
)
def read_pair(p: int, q: int) -> Question:
    """Ask which pair a line of sixteenths is; two numbers follow from the bar and the sounds."""
    pair = Polyrhythm(p, q)
    right = numbers(*pair.pulses)
    sounds = len(composite(pair))
    return Question(
        text="Read the line: two steady pulses without a common factor, merged into one; each sixteenth is "
        "one tick of their grid. Which two pulses are they? Write the larger one first.",
        field="two pulses",
        parts=("the larger pulse", "the smaller pulse"),
        right=right,
        why=f"The bar has {pair.ticks} sixteenths, which is {p} times {q}, and {sounds} strokes, which is "
        f"{p} and {q} less the one they share.",
        form="write two numbers, for example answer=[3, 2].",
        units=("stroke",),
        mistakes=likely_mistakes(right, [(0, q, "Write the larger one first.")]),
    )


def read_odd_score(p: int, q: int, bar: int, note: int, by: int) -> ScoreExhibit:
    """Return the four bars of `read_odd`."""
    return ScoreExhibit(lambda: _written(p * q, 4, line_with_one_moved(p, q, 4, bar, note, by)))


@question_template(
    "read-odd",
    "reading notation",
    level=3,
    versions=(
        *((4, 3, 2, 4, 1), (4, 3, 3, 5, -1), (5, 3, 2, 3, -1), (4, 3, 4, 2, -1), (5, 3, 3, 2, -1)),
        *((5, 3, 4, 6, 1), (4, 3, 3, 6, 1), (5, 3, 2, 5, -1), (5, 3, 4, 3, -1)),
    ),
    plays="score",
    show=read_odd_score,
)
def read_odd(p: int, q: int, bar: int, note: int, by: int) -> Question:
    """Ask in which of four bars a stroke has moved, and which; the trap is to count rests."""
    right = numbers(bar, note)
    return Question(
        text="Read the four bars: a line of two pulses four times, a tick of their grid to a sixteenth. In "
        "one bar one stroke has moved by a sixteenth. In which bar, and which of its strokes is it, the "
        "first of the bar being stroke 1?",
        field="bar, and stroke in the bar",
        parts=("the bar", "the stroke"),
        right=right,
        why=f"In bar {bar} stroke {note} comes a sixteenth too {'late' if by > 0 else 'early'}; the other "
        f"bars have {p} against {q} as it is.",
        form="write two numbers, for example answer=[1, 1].",
        units=("bar", "stroke"),
    )


def notes_text(musicxml: str) -> str:
    """Say the notes of a score one by one: their values, dots and ties, and nothing that is not written.

    Parameters
    ----------
    musicxml : str
        As `Score.musicxml` has it.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.notation.score import score
    >>> notes_text(score((4, 3), counts=False).musicxml)
    'Line 1, in 3/4: bar 1: dotted eighth, dotted eighth, dotted eighth, dotted eighth. Line 2, in 3/4: \
bar 1: quarter, quarter, quarter.'
    """
    said = []
    for number, part in enumerate(ElementTree.fromstring(musicxml).iter("part"), 1):
        time = part.find(".//time")
        metre = "" if time is None else f", in {time.findtext('beats')}/{time.findtext('beat-type')}"
        bars = [
            f"bar {bar}: {', '.join(map(_note, measure.iter('note')))}"
            for bar, measure in enumerate(part.iter("measure"), 1)
        ]
        said.append(f"Line {number}{metre}: {'; '.join(bars)}.")
    return " ".join(said)


def _note(note: ElementTree.Element) -> str:
    dots = ("", "dotted ", "double-dotted ")[len(note.findall("dot"))]
    kind = note.findtext("type") or "whole"
    kind = {"16th": "sixteenth", "32nd": "thirty-second", "64th": "sixty-fourth"}.get(kind, kind)
    group = note.find("time-modification")
    among = ""
    if group is not None:
        among = f" of {group.findtext('actual-notes')} in the time of {group.findtext('normal-notes')}"
    if note.find("rest") is not None:
        return f"{dots}{kind} rest{among}"
    tied = " tied to the next" if any(tie.get("type") == "start" for tie in note.findall("tie")) else ""
    return f"{dots}{kind}{among}{tied}"


def line_with_one_moved(p: int, q: int, rounds: int, which: int, sound: int, by: int) -> list[int]:
    """Return the ticks of a line that goes round, with one sound moved; all counted from 1.

    Examples
    --------
    >>> line_with_one_moved(3, 2, rounds=2, which=2, sound=2, by=1)
    [0, 2, 3, 4, 6, 9, 9, 10]
    """
    pair = Polyrhythm(p, q)
    line = composite(pair).onsets.tolist()
    ticks = [tick + turn * pair.ticks for turn in range(rounds) for tick in line]
    ticks[(which - 1) * len(line) + sound - 1] += by
    return ticks


def _written(ticks: int, bars: int, onsets: list[int]) -> Score:
    """Engrave a line in bars of so many sixteenths, none of them beamed, so that no beam tells a pulse."""
    ones = (1,) * ticks
    written = score(Metre(ticks, 16, groups=ones).cycle(bars, [Lane("line", onsets)]), counts=False)
    summed = f"<beats>{'+'.join(map(str, ones))}</beats>"
    return replace(written, musicxml=written.musicxml.replace(summed, f"<beats>{ticks}</beats>"))


QUESTIONS = (
    read_length,
    read_pair,
    read_odd,
)

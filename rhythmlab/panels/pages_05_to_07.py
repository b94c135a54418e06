"""The panels of pages 05 to 07: choose how to learn it, phrase and stick it, put it into music."""

import re
from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache, partial
from html import escape
from itertools import chain
from math import floor
from typing import Any

import ipywidgets as widgets

from rhythmlab.core import check
from rhythmlab.core.check import short
from rhythmlab.core.feel import Feel
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Speed, Tempo, of_beat
from rhythmlab.draw.svg import svg
from rhythmlab.draw.ways import drawn, drawn_narrow
from rhythmlab.panels.controls import menu, read_bpm, read_whole, text
from rhythmlab.panels.cycle_panel import CyclePanel, PanelContent
from rhythmlab.panels.errors import FieldRefusal, blamed
from rhythmlab.panels.fold import Fold
from rhythmlab.panels.guess import Guess
from rhythmlab.panels.handed import remembered_hands
from rhythmlab.panels.panel import VIEWS, Panel, Window
from rhythmlab.playing.approach import Approach, approach
from rhythmlab.playing.fill import OtherStrokes, fill, fill_window, resolve
from rhythmlab.playing.groove import accents
from rhythmlab.playing.hands import mirrored, sides
from rhythmlab.playing.learning import before
from rhythmlab.playing.limits import Limits, limits
from rhythmlab.playing.metre import NOTES, Metre, with_article
from rhythmlab.playing.metre import metre as read_metre
from rhythmlab.playing.named import name_of
from rhythmlab.playing.ostinato import ostinato
from rhythmlab.playing.own_limits import own_limits_told
from rhythmlab.playing.patterns import as_typed, pattern
from rhythmlab.playing.phrasing import COUNTS, LONGEST_GROUP, phrases, titled
from rhythmlab.playing.sticking import TooFast, check_sticking, ornaments, stick
from rhythmlab.refusal import Refusal
from rhythmlab.text import descriptions, numbers, sentences

#: Most notes in a bar or a pattern, and most bars, that a panel draws.
MOST_NOTES, MOST_BARS = 64, 64
#: Longest number that a panel phrases; most letters of a metre; largest number of a pair in bars, and of
#: ticks from accent to accent.
MOST_STROKES, MOST_LETTERS, MOST_PULSE, MOST_EVERY = 512, 200, 4096, 4096
#: Choices offered for one number.
CHOICES = 8
#: The view of page 05.
_WAYS = "ways by tempo"


class Ways(Panel):
    """A `Panel` with one view more: which way of learning fits at which tempo.

    Attributes
    ----------
    figures : Fold
        Why, and the figures, of the home that is shown.
    """

    children: tuple[widgets.Widget, ...]

    def __init__(
        self,
        advice: Callable[[Feel, Tempo], Approach],
        figures: dict[int, list[str]],
        *given: Any,
        **more: Any,
    ) -> None:
        self.VIEWS = {_WAYS: lambda feel, tempo, limits, ticks: drawn(advice(feel, tempo)), **VIEWS}
        self._advice = advice
        self._told, self.figures = figures, Fold(heading="Why, and the figures")
        super().__init__(*given, **more)
        self.children = (*self.children, self.figures)
        self.stage.observe(self._tell_figures, names=["pictures", "home"])
        self._tell_figures()

    def _one(self, home: int, view: str, window: Window) -> dict[str, object]:
        """Return a picture with its words, and the picture of the ways also as a phone shows it."""
        made = super()._one(home, view, window)
        if view == _WAYS:
            feel, tempo = self.feel.flip(home), self.tempo.in_pulse(self.feel.polyrhythm, home)
            made["narrow"] = svg(drawn_narrow(self._advice(feel, tempo)), live=True)
        return made

    def _around(self) -> list[widgets.Widget]:
        """Return what is written anew around a new picture: the figures too."""
        return [*super()._around(), self.figures]

    def _tell_figures(self, *_: object) -> None:
        """Put the figures of home under the advice, folded until they are asked for."""
        told = self._told[self.stage.home]
        self.figures.inside = "".join(f"<p>{escape(text)}</p>" for text in told if text)


def _before(p: Polyrhythm) -> list[str]:
    """Say which smaller pairs to learn first, as the order of learning does."""
    if len(p.pulses) != 2:
        return []
    smaller = [descriptions.pair(Polyrhythm(*pair)) for pair in before(p)]
    return [f"Learn before it: {sentences.listed(smaller)}."] if smaller else []


@public("pages.choose_way(7, 4)")
def choose_way(
    *pulses: int | Rhythm,
    bpm: Speed = 72,
    home: int | None = None,
    guess: Guess | None = None,
    tries: Sequence[str] | None = None,
    **moved: float | Fraction | Decimal,
) -> Ways:
    """Choose how to learn a pair at a tempo: page 05.

    Parameters
    ----------
    *pulses : int, or one Polyrhythm, Cycle or pair
        What to start with; 7 against 4 when left out.
    bpm : number or Tempo
        Beats a minute of home.
    home : int, optional
        Index of the home pulse; the last one when left out.
    guess : Guess, optional
        From `predict`; the panel shows nothing else until it is made or skipped.
    tries : sequence of str, or str, optional
        Buttons that set the panel: a line each, its fields as in a set list, such as
        ``"pulses: 16 15 | bpm: 60"``; or the number of a page, for its own.
    **moved : number
        Your own limits by name, as for `limits`, for example ``hand_sustained=150``.

    Returns
    -------
    Ways

    Examples
    --------
    >>> choose_way(7, 4).stage.pictures[1]["said"][0]
    'Learn the line: start at 54 bpm of the 4; the goal is 72. Recommended up to 133 bpm; it fits up to 205. \
Faster: hold the ones.'
    """
    rows = limits(**moved)

    def under(rows: Limits, feel: Feel, tempo: Tempo, left_handed: bool) -> Approach:
        p, home = feel.polyrhythm, feel.home
        return approach(p, tempo, home=home, limits=rows, left_handed=left_handed, groups=feel.groups)

    @lru_cache(maxsize=4)  # the picture and the words of each home are of one search
    def searched(feel: Feel, tempo: Tempo, left_handed: bool) -> Approach:
        return under(rows, feel, tempo, left_handed)

    def advice(feel: Feel, tempo: Tempo) -> Approach:
        return searched(feel, tempo, remembered_hands())

    def describe(feel: Feel, tempo: Tempo) -> list[str]:
        p, found = feel.polyrhythm, advice(feel, tempo)
        best = found.recommended
        counts = [f" {sentences.order_to_say(step.count)}." if step.count else "" for step in best.steps]
        before = (None, *(step.bpm for step in best.steps))
        steps = [
            f"{i}. {step.describe(of=False, tempo=step.up or step.bpm != before[i - 1])}{counts[i - 1]}"
            for i, step in enumerate(best.steps, 1)
        ]
        panel_figures[feel.home] = [found.why, found.would_change, *best.reasons, *_before(p)]
        own = own_limits_told(found, rows, lambda other: under(other, feel, tempo, remembered_hands()))
        return [found.in_the_room(), *steps, *own, descriptions.nothing_new_text(p)]

    panel_figures: dict[int, list[str]] = {}
    return Ways(
        advice,
        panel_figures,
        pulses or (7, 4),
        home=home,
        bpm=bpm,
        view=_WAYS,
        describe=describe,
        guess=guess,
        tries=tries,
        grows=True,
        limits=rows,
        call="pages.choose_way(7, 4)",
    )


def _numbers(typed: str, field: str, most: int, example: object) -> tuple[int, ...]:
    """Read whole numbers from a field, with spaces, commas or plus signs between them."""
    if len(typed) > 4 * MOST_STROKES:
        raise FieldRefusal(field, f"{field} {short(typed.strip())} is too long to read", example)
    found = [word for word in re.split(r"[\s,+]+", typed.strip()) if word]
    return tuple(read_whole(word, field, most, example) for word in found)


@public("pages.phrase_and_stick(31)")
def phrase_and_stick(
    number: int = 31, *, bpm: Speed = 96, guess: Guess | None = None, tries: Sequence[str] | None = None
) -> CyclePanel:
    """Say a large number as small groups, and give it hands: page 06.

    Parameters
    ----------
    number : int
        Strokes to start with.
    bpm : number or Tempo
        Beats a minute of a quarter; the strokes are sixteenths.
    guess : Guess, optional
        From `predict`; the panel shows nothing else until it is made or skipped.
    tries : sequence of str, or str, optional
        Buttons that set the panel: a line each, its fields as in a set list, such as
        ``"number: 14"``; or the number of a page, for its own.

    Returns
    -------
    CyclePanel

    Examples
    --------
    >>> phrase_and_stick(13).stage.pictures[0]["said"][0]
    '13 as 4 4 5. Two kinds of group: fives and fours. One change: two fours, then a five. It ends long, \
on a five. Three groups to count.'
    """
    call, named = "pages.phrase_and_stick(31)", {"allowed": "groups", "fixed": "begins", "hands": "mine"}
    number = check.whole(number, "number", "number=31", most=MOST_STROKES)
    typed = _typed(bpm, 4, "bpm=96")
    leads: list[tuple[str, object]] = [("right", "R"), ("left", "L")]

    def mirror(left_handed: bool) -> None:
        fields["lead"].value = "L" if left_handed else "R"

    fields = {
        "number": text("number", number),
        "groups": text("groups of", "2 3 4 5"),
        "begins": text("begins with", "", example=3),
        "choice": menu("choice", [(numbers.nth(i), i) for i in range(CHOICES)], 70),
        "count": menu("count", [(name, name) for name in COUNTS], 100),
        "bpm": text("bpm of a quarter", typed),
        "lead": menu("lead", leads, 70),
        "mine": text("my sticking", "", 260, "RLRR LRLL"),
    }

    last = {"n": number}

    def show(values: dict[str, str], _left_handed: bool) -> PanelContent:
        n = read_whole(values["number"], "number", MOST_STROKES, 31)
        tempo = Tempo(read_bpm(values["bpm"], "bpm of a quarter", 96), ticks=4)
        mine = re.sub(r"[\s,;|]+", "", values["mine"].upper())
        if len(mine) > MOST_STROKES:
            said = f"my sticking has {numbers.plural(len(mine), 'letter')}, more than {MOST_STROKES}"
            raise FieldRefusal("my sticking", said, "RLRR LRLL")
        found = phrases(
            n,
            allowed=_numbers(values["groups"], "groups of", LONGEST_GROUP, "2 3 4 5") or (2, 3, 4, 5),
            fixed=_numbers(values["begins"], "begins with", LONGEST_GROUP, 3),
            most=CHOICES,
        )
        if n != last["n"]:  # another number begins with its best phrase
            last["n"], fields["choice"].value = n, 0
        one = found[min(fields["choice"].value, len(found) - 1)]
        try:
            hands = stick(one, tempo, lead=values["lead"])
        except TooFast as error:
            most = max(1, floor(60_000 / (4 * error.tick_ms)))
            typed = numbers.number(tempo.bpm)
            raise FieldRefusal(
                "bpm of a quarter", f"bpm of a quarter {typed}: {error.wrong}", most
            ) from error
        ours = len(mine) != n or not set(mine) <= set("RL")
        typed = (
            mine
            if ours
            else " ".join(mine[at : at + size] for at, size in zip(one.starts, one.groups, strict=True))
        )
        judged = list(check_sticking(typed, tempo).text) if mine else []
        if mine and len(mine) != n:
            judged.insert(
                0, f"{numbers.plural(len(mine), 'stroke')} where the phrase has {n}; the picture keeps ours."
            )
        cycle = (
            hands.cycle(name="phrase", sound="snare")
            if ours
            else one.cycle(hands=mine, name="phrase", limb="hands", sound="snare")
        )
        spoken = one.spoken(values["count"])
        twice = ["It goes twice through, until the lead comes home."] if ours and hands.alternates else []
        return PanelContent(
            name_of(cycle),
            cycle,
            tempo,
            [
                f"{titled(one.groups)}. {' '.join([*one.reasons, *twice])}",
                f"Say: {' | '.join(spoken)}.",
                f"Hands: {hands}. {' '.join(hands.reasons)}",
                f"Ornaments: {dressed}" if (dressed := ornaments(hands)) else "",
                f"Yours: {' '.join(judged)}" if judged else "",
            ],
            tuple(chain(*one.said(values["count"]))),
        )

    return CyclePanel(fields, show, guess=guess, tries=tries, call=call, named=named, mirror=mirror)


@public("pages.land_in_bars(7, 4)")
def land_in_bars(
    first: int = 7,
    second: int = 4,
    *,
    metre: str = "4/4",
    bpm: Speed = 96,
    guess: Guess | None = None,
    tries: Sequence[str] | None = None,
) -> CyclePanel:
    """Play bars of time, and a pair that resolves on the 1, feet unbroken: page 07.

    Parameters
    ----------
    first, second : int
        Strokes of the hands, and pulses of home.
    metre : str
        The bar, such as ``"4/4"`` or ``"2+2+3/8"``.
    bpm : number or Tempo
        Beats a minute: of the dotted note in 6/8, 9/8 and 12/8, of the written note in uneven bars.
    guess : Guess, optional
        From `predict`; the panel shows nothing else until it is made or skipped.
    tries : sequence of str, or str, optional
        Buttons that set the panel: a line each, its fields as in a set list, such as
        ``"hands: 5 | against: 3"``; or the number of a page, for its own.

    Returns
    -------
    CyclePanel

    Examples
    --------
    >>> len(land_in_bars(7, 4).stage.plan["homes"][0])
    16
    """
    call = "pages.land_in_bars(7, 4)"
    first = check.whole(first, "first", "first=7", most=MOST_PULSE)
    second = check.whole(second, "second", "second=4", most=MOST_PULSE)
    check.a(str, metre, "metre", 'metre="4/4"')
    typed = _typed(bpm, metre, "bpm=96")
    fields = {
        "first": text("hands", first),
        "second": text("against", second),
        "metre": text("metre", metre),
        "bars": text("bars", 4),
        "bpm": text("bpm", typed),
        "beats": text("free beats", "", example=2),
        "lands": text("lands on", 1),
        "feet": text("feet", "", 240, "x..x..x."),
        "crash": menu("lands with", [("a tom", False), ("a crash", True)], 90),
        "sticking": text("sticking", "", 160, "RLRRL"),
    }

    def show(values: dict[str, str], left_handed: bool) -> PanelContent:
        hands = _strokes(values["first"])
        pair = Polyrhythm(hands, read_whole(values["second"], "against", MOST_PULSE, 4))
        bar = _bar(values["metre"])
        bpm = read_bpm(values["bpm"], "bpm", 96)
        free = values["beats"].strip()
        bars = read_whole(values["bars"], "bars", MOST_BARS, 4)
        beats = read_whole(free, "free beats", MOST_BARS * MOST_NOTES, 2) if free else None
        lands = read_whole(values["lands"], "lands on", MOST_NOTES, 1)
        feet = _pattern(values["feet"], "feet") or None
        crash = bool(values["crash"])
        laid = partial(resolve, pair, bar, bars=bars, beats=beats, lands=lands, feet=feet, crash=crash)
        try:
            own = _pattern(values["sticking"], "sticking")
            made = laid(sticking=own, left_handed=left_handed)
        except OtherStrokes as error:
            raise FieldRefusal("sticking", error.in_a_field({"sticking": "sticking"}), error.hands) from error
        except Refusal as error:
            if "sticking" not in (error.argument, getattr(error, "field", "")):
                raise
            fits = laid(left_handed=left_handed).lanes[-1].hands  # what is offered has as many strokes
            raise blamed(error, {"sticking": "sticking"}, "sticking", fits) from error
        said = [made.describe(bpm), _others(bar, bpm, bars, beats, lands, feet, own)]
        return PanelContent(name_of(made), made, made.metre.tempo(bpm), said)

    return CyclePanel(
        fields, show, guess=guess, tries=tries, call=call, mirror=_mirror_typed(fields["sticking"])
    )


def _mirror_typed(field: widgets.Text) -> Callable[[bool], None]:
    """Return what mirrors the letters of a sticking that stands in a field when the hands change sides."""
    now = {"left": remembered_hands()}

    def mirror(left_handed: bool) -> None:
        if left_handed != now["left"]:
            now["left"], typed = left_handed, as_typed(field.value)
            if set(typed) <= set("RL.| "):
                field.value = mirrored(typed, True)

    return mirror


@lru_cache(maxsize=8)  # it is the same whichever pair is chosen
def _others(
    bar: Metre, bpm: Fraction, bars: int, beats: int | None, lands: int, feet: str | None, own: str
) -> str:
    """Say which pairs fit into these beats, and can be played as fast."""
    try:
        found = fill(bar, bpm, bars=bars, beats=beats, lands=lands, feet=feet, sticking=own)
    except ValueError:
        by = " by these hands" * bool(own)
        mend = "type a slower tempo, or more free beats"
        return f"Nothing in these beats can be played{by} at this tempo: {mend}."
    low, high, pulse = fill_window(bar, bars, beats, lands)
    begin, free = Fraction(low, bar.ticks), (high - low) // pulse
    rows: dict[str, list[str]] = {
        f"over all {free}": [],
        "over the last of them": [],
        f"the last {free} of a longer pair": [],
    }
    whole, later, ends = rows
    for one in found:
        kind = ends if one.cycles < 1 else later if Fraction(one.enter, one.metre.ticks) > begin else whole
        rows[kind].append(descriptions.pair(Polyrhythm(*one.pair)))
    said = "; ".join(f"{kind}: {sentences.listed(row)}" for kind, row in rows.items() if row)
    many = beats or len(bar.groups)
    in_notes = free != many
    where = f"{numbers.plural(many, 'beat')}{f', which are {free} {NOTES[bar.unit]}s,' * in_notes}"
    counted = f"{NOTES[bar.unit]}s" if in_notes else "beats"
    return (
        f"In {where} at {numbers.number(bpm)} bpm of {with_article(bar.beat)} "
        f"{'these hands' if own else 'hands'} can play (the second number counts {counted}), {said}."
    )


def _strokes(typed: str) -> int:
    """Read the strokes of a fill; say where a sticking or a phrase of the hands goes instead."""
    try:
        return read_whole(typed, "hands", MOST_PULSE, 7)
    except FieldRefusal:
        try:
            pattern(as_typed(typed))
        except Refusal:
            pass
        else:
            said = (
                f'hands {short(typed.strip())} is no number: a sticking goes into the field "sticking", and a'
            )
            said += ' phrase into the field "hands" of the last panel, feet against hands; here type'
            raise FieldRefusal("hands", f"{said} how many strokes", 7) from None
        raise


def _typed(bpm: Speed, beat: str | int, example: str) -> object:
    """Return a tempo as it stands in a field; one that has its own beat is said in that of the panel."""
    if isinstance(bpm, Tempo):
        ticks = beat if isinstance(beat, int) else read_metre(beat).tempo(1).ticks
        return numbers.number(of_beat(bpm, ticks or 1, "bpm", example), 6, between="")
    check.bpm(bpm, "bpm", example)
    return bpm


def _bar(typed: str) -> Metre:
    """Read a metre; a panel has no room for very long bars."""
    shown = short(typed.strip())
    if len(typed) > MOST_LETTERS:
        raise FieldRefusal("metre", f"metre {shown} is too long to read", "4/4")
    try:
        bar = read_metre(typed.replace(" ", ""))
    except ValueError as error:
        said = (
            f"metre {shown} cannot be read: write notes over 1, 2, 4, 8, 16 or 32, with their groups if they"
        )
        raise FieldRefusal("metre", f"{said} are uneven", "4/4, 7/8 or 2+2+3/8") from error
    if bar.count > MOST_NOTES:
        raise FieldRefusal("metre", f"metre {shown} has {bar.count} notes, more than {MOST_NOTES}", "4/4")
    return bar


def _pattern(typed: str, field: str, example: str = "x..x..x., RLRR LRL, 4 3 4 3 or son clave") -> str:
    """Read a pattern, a sticking, a phrase or the name of a ready one; spaces and capitals are welcome."""
    shown = short(typed.strip())
    if len(typed) > 10 * MOST_LETTERS:
        raise FieldRefusal(field, f"{field} {shown} has more than {MOST_NOTES} letters", "x..x..x.")
    close = "".join(typed.split()).lower()
    if not close.strip("."):
        return close[:MOST_NOTES]
    known = as_typed(typed)
    try:
        found = pattern(known)
    except Refusal as error:
        said = f"{field}: {error.wrong}"
        if len(error.wrong) >= 160:  # it has all names of ready ones
            said = f"{field} {shown} is no pattern, sticking, phrase or ready pattern"
        raise FieldRefusal(field, said, example) from error
    if found.ticks > MOST_NOTES:
        raise FieldRefusal(
            field, f"{field} {shown} has {found.ticks} notes, more than {MOST_NOTES}", "x..x..x."
        )
    return known


def _needed(typed: str, field: str) -> str:
    """Read a pattern with a stroke in it at least."""
    found = _pattern(typed, field)
    if not found.strip("."):
        raise FieldRefusal(field, f"{field} {short(typed.strip())} has no stroke", "x..x..x.")
    return found


@public('pages.move_accent("7/8", every=5)')
def move_accent(
    metre: str = "2+2+3/8",
    every: int = 5,
    *,
    bpm: Speed = 180,
    guess: Guess | None = None,
    tries: Sequence[str] | None = None,
) -> CyclePanel:
    """Move an accent through the bars until it comes home: page 07.

    Parameters
    ----------
    metre : str
        The bar, such as ``"2+2+3/8"``.
    every : int
        Ticks from accent to accent.
    bpm : number or Tempo
        Beats a minute: of the dotted note in 6/8, 9/8 and 12/8, of the written note in uneven bars.
    guess : Guess, optional
        From `predict`; the panel shows nothing else until it is made or skipped.
    tries : sequence of str, or str, optional
        Buttons that set the panel: a line each, its fields as in a set list, such as
        ``"metre: 4/4 | accent every: 3"``; or the number of a page, for its own.

    Returns
    -------
    CyclePanel

    Examples
    --------
    >>> move_accent("2+2+3/8", 5).stage.pictures[0]["said"][0][:69]
    'An accent every 5 eighths in 7/8 as 2+2+3 comes home after 5 bars: 35'
    """
    call = 'pages.move_accent("2+2+3/8", 5)'
    check.a(str, metre, "metre", 'metre="2+2+3/8"')
    every = check.whole(every, "every", "every=5", most=MOST_EVERY)
    typed = _typed(bpm, metre, "bpm=180")
    fields = {
        "metre": text("metre", metre, 200),
        "every": text("accent every", every),
        "bpm": text("bpm", typed),
    }
    fields["hands"] = text("sticking", "", 160, "RLRRL")

    def show(values: dict[str, str], left_handed: bool) -> PanelContent:
        bar, bpm = _bar(values["metre"]), read_bpm(values["bpm"], "bpm", 180)
        hands = _pattern(values["hands"], "sticking", "RLRRL or 3 2")
        every = read_whole(values["every"], "accent every", MOST_EVERY, 5)
        made = accents(bar, every, hands=hands, left_handed=left_handed)
        return PanelContent(name_of(made), made, made.metre.tempo(bpm), [made.describe(bpm)])

    return CyclePanel(fields, show, guess=guess, tries=tries, call=call)


@public('pages.feet_against_hands("x..x..x.", "x.x.xx")')
def feet_against_hands(
    feet: str = "x..x..x.",
    hands: str = "x.x.xx",
    *,
    metre: str = "4/4",
    bpm: Speed = 96,
    tries: Sequence[str] | None = None,
) -> CyclePanel:
    """Set an ostinato in the feet against a phrase in the hands: page 07.

    Parameters
    ----------
    feet, hands : str
        Patterns of x and dots, each of its own length; a sticking ``"RLRR LRL"``, a phrase ``"4 3 4 3"``, or
        a ready one by name, such as ``"son clave"``. The panel has fields for the left foot and hand, too.
    metre : str
        The bar.
    bpm : number or Tempo
        Beats a minute: of the dotted note in 6/8, 9/8 and 12/8, of the written note in uneven bars.
    tries : sequence of str, or str, optional
        Buttons that set the panel: a line each, its fields as in a set list, such as
        ``"feet: son clave"``; or the number of a page, for its own.

    Returns
    -------
    CyclePanel

    Examples
    --------
    >>> feet_against_hands("x..x", "x.x").stage.plan["ticks"] % 12
    0
    """
    call = 'pages.feet_against_hands("x..x..x.", "x.x.xx")'
    for value, name, example in (
        (feet, "feet", "x..x..x."),
        (hands, "hands", "x.x.xx"),
        (metre, "metre", "4/4"),
    ):
        check.a(str, value, name, f'{name}="{example}"')
    typed = _typed(bpm, metre, "bpm=96")
    fields = {
        "feet": text("feet", feet, 240),
        "left_foot": text("left foot", "", 200, "hi-hat on 2 and 4"),
        "hands": text("hands", hands, 240),
        "left_hand": text("left hand", "", 200, "..x."),
        "metre": text("metre", metre),
        "bpm": text("bpm", typed),
    }

    def mirror(left_handed: bool) -> None:
        for limb in ("foot", "hand"):
            fields[f"left_{limb}"].description = f"{sides(left_handed)[1]} {limb}"

    def show(values: dict[str, str], left_handed: bool) -> PanelContent:
        bar, bpm = _bar(values["metre"]), read_bpm(values["bpm"], "bpm", 96)
        _, other = sides(left_handed)
        low = {"feet": _needed(values["feet"], "feet")}
        high = {"hands": _needed(values["hands"], "hands")}
        for side, name, field in ((low, f"{other} foot", "left_foot"), (high, f"{other} hand", "left_hand")):
            if values[field].strip():
                side[name] = _needed(values[field], name)
                try:
                    pattern(side[name], limb=name)
                except Refusal as error:
                    raise FieldRefusal(name, f"{name}: {error.wrong}", "x..x") from error
        made = ostinato(low, high, metre=bar, left_handed=left_handed)
        return PanelContent(name_of(made), made, made.metre.tempo(bpm), [made.describe(bpm)])

    return CyclePanel(fields, show, tries=tries, call=call, mirror=mirror)

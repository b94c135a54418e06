"""A sheet as MusicXML 4.0, with exact durations; every bar is checked to fill exactly.

The format is the one published by the W3C Music Notation Community Group (MusicXML 4.0).
"""

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import lcm
from xml.sax.saxutils import escape

from rhythmlab.notation.layout import Bar, Note, Notehead, Sheet, Staff, Voice, title_of
from rhythmlab.notation.spelling import VALUES, Piece, spell
from rhythmlab.refusal import Refusal

#: Largest number of divisions of a quarter that readers take.
MOST_DIVISIONS = 16_383
#: Where rests stand when two voices share a staff.
_REST_UP = "<rest><display-step>D</display-step><display-octave>5</display-octave></rest>"
_REST_DOWN = "<rest><display-step>E</display-step><display-octave>4</display-octave></rest>"
_SHAPES = {"normal": "normal", "x": "x", "diamond": "diamond", "triangle": "triangle"}


@dataclass(frozen=True, slots=True)
class _Row:
    """One voice of one bar: its pieces, and the notes that they belong to."""

    voice: int
    how: Voice
    notes: tuple[Note, ...]
    pieces: tuple[Piece, ...]
    silent: bool = False


def musicxml(sheet: Sheet, title: str = "") -> str:
    """Write a sheet as MusicXML.

    Parameters
    ----------
    sheet : Sheet
        What to write.
    title : str
        Its title; control characters are left out, and it is cut at 120 letters.

    Raises
    ------
    ValueError
        If a place has no readable written value, or a staff needs more than 16 383 divisions of a quarter.
    ArithmeticError
        If a bar is not filled exactly, which would be a fault of this module.
    """
    staves = [_rows(staff, sheet.bars) for staff in sheet.staves]
    head = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
        '"http://www.musicxml.org/dtds/partwise.dtd">',
        '<score-partwise version="4.0">',
    ]
    if shown := title_of(title):
        head.append(f"<movement-title>{escape(shown)}</movement-title>")
    head.append("<identification><encoding><software>rhythmlab</software></encoding></identification>")
    if sheet.key:
        head.append(f'<credit page="1"><credit-words>{escape(sheet.key)}</credit-words></credit>')
    parts = ["<part-list>"]
    for i, staff in enumerate(sheet.staves):
        parts.append(f'<score-part id="P{i + 1}"><part-name>{escape(title_of(staff.name))}</part-name>')
        for lane in _lanes(staff):
            name = escape(title_of(sheet.instruments[lane][0])) or "stroke"
            parts.append(f'<score-instrument id="P{i + 1}-I{lane + 1}">')
            parts.append(f"<instrument-name>{name}</instrument-name></score-instrument>")
        for lane in _lanes(staff):
            key = sheet.instruments[lane][1] + 1
            parts.append(f'<midi-instrument id="P{i + 1}-I{lane + 1}"><midi-channel>10</midi-channel>')
            parts.append(f"<midi-unpitched>{key}</midi-unpitched></midi-instrument>")
        parts.append("</score-part>")
    parts.append("</part-list>")
    body = [_part(i, sheet, rows) for i, rows in enumerate(staves)]
    return "\n".join(["".join(head[:2]), "".join(head[2:]), "".join(parts), *body, "</score-partwise>\n"])


def _lanes(staff: Staff) -> list[int]:
    return sorted({head.lane for voice in staff.voices for note in voice.notes for head in note.heads}) or [0]


def _rows(staff: Staff, bars: tuple[Bar, ...]) -> list[list[_Row]]:
    """Spell each bar of a staff and check it."""
    found: list[list[_Row]] = [[] for _ in bars]
    for number, voice in enumerate(staff.voices, 1):
        at = 0
        for bar, row in zip(bars, found, strict=True):
            first = at
            while at < len(voice.notes) and voice.notes[at].at < bar.start + bar.length:
                at += 1
            notes = voice.notes[first:at]
            pieces = spell([note.at - bar.start for note in notes], bar.beats, held=voice.held)
            check(pieces, [note.at - bar.start for note in notes], bar)
            row.append(_Row(number, voice, notes, pieces, staff.silent))
    return found


def check(pieces: tuple[Piece, ...], onsets: list[Fraction], bar: Bar) -> None:
    """Raise unless the pieces fill the bar exactly, strokes are where they fall and tuplets close.

    Raises
    ------
    ArithmeticError
        Naming the bar and what is wrong.
    """
    if not pieces and not onsets:
        return
    at, tuplet, inside = Fraction(0), None, Fraction(0)
    for piece in pieces:
        ratio = Fraction(piece.tuplet.normal, piece.tuplet.actual) if piece.tuplet else Fraction(1)
        if piece.start != at or piece.length != piece.value * (1 + Fraction(piece.dots, 2)) * ratio:
            raise ArithmeticError(f"bar {bar.number}: a note at {piece.start} does not follow on {at}")
        if (tuplet is None) != (piece.opens or piece.tuplet is None) or tuplet not in (None, piece.tuplet):
            raise ArithmeticError(f"bar {bar.number}: a tuplet is left open, or nested, at {at}")
        tuplet, inside, at = piece.tuplet, inside + piece.length, at + piece.length
        if piece.closes:
            if piece.tuplet is None or inside != piece.tuplet.normal * piece.tuplet.unit:
                raise ArithmeticError(f"bar {bar.number}: a tuplet that ends at {at} is not full")
            tuplet = None
        if tuplet is None:
            inside = Fraction(0)
    starts = [piece.start for piece in pieces if piece.stroke is not None and not piece.tied_from]
    if at != bar.length or tuplet is not None or starts != onsets:
        raise ArithmeticError(f"bar {bar.number}: {at} quarters written in a bar of {bar.length}")
    if any(a.tied_to != (b.tied_from and a.stroke == b.stroke) for a, b in pairwise(pieces)):
        raise ArithmeticError(f"bar {bar.number}: a tie leads nowhere")


def _part(number: int, sheet: Sheet, rows: list[list[_Row]]) -> str:
    lengths = [piece.length for bar in rows for row in bar for piece in row.pieces]
    divisions = lcm(*(length.denominator for length in (*lengths, *(bar.length for bar in sheet.bars))))
    if divisions > MOST_DIVISIONS:
        raise Refusal(
            f"this staff needs {divisions:,} divisions of a quarter, more than "
            f"{MOST_DIVISIONS:,}; write smaller numbers",
            "score(Polyrhythm(7, 4))",
        )
    staff = sheet.staves[number]
    out = [f'<part id="P{number + 1}">']
    time = None
    for i, (bar, voices) in enumerate(zip(sheet.bars, rows, strict=True)):
        out.append(f'<measure number="{bar.number}">')
        if i == 0 or (bar.top, bar.bottom) != time:
            out.append(_attributes(bar, staff, divisions, i == 0))
            time = (bar.top, bar.bottom)
        if i == 0:
            if sheet.repeats:
                out.append(
                    '<barline location="left"><bar-style>heavy-light</bar-style>'
                    '<repeat direction="forward"/></barline>'
                )
            if number == 0 and sheet.tempo:
                out.append(
                    '<direction placement="above"><direction-type><words font-weight="bold">'
                    f"{escape(sheet.tempo)}</words></direction-type>{_sounding(sheet.quarters)}</direction>"
                )
        heard = frozenset(note.at - bar.start for note in voices[0].notes)
        for j, row in enumerate(voices):
            if j:
                out.append(f"<backup><duration>{int(bar.length * divisions)}</duration></backup>")
            out.append(_voice(row, bar, f"P{number + 1}", divisions, heard if len(voices) > 1 else None))
        out.append(_right(bar, i == len(sheet.bars) - 1, sheet.repeats))
        out.append("</measure>")
    return "".join([*out, "</part>"])


def _sounding(quarters: Fraction | None) -> str:
    """Write quarters a minute for what plays the notes, which reads no words."""
    if quarters is None:
        return ""
    decimal = f"{float(quarters):.9f}".rstrip("0").rstrip(
        "."
    )  # the standard has no fractions and no exponents
    return f'<sound tempo="{decimal}"/>'


def _attributes(bar: Bar, staff: Staff, divisions: int, first: bool) -> str:
    time = f"<time><beats>{bar.top}</beats><beat-type>{bar.bottom}</beat-type></time>"
    if not first:
        return f"<attributes>{time}</attributes>"
    return (
        f"<attributes><divisions>{divisions}</divisions>{time}<clef><sign>percussion</sign><line>2</line>"
        f"</clef><staff-details><staff-lines>{staff.lines}</staff-lines></staff-details></attributes>"
    )


def _right(bar: Bar, last: bool, repeats: bool) -> str:
    if last and repeats:
        style, more = "light-heavy", '<repeat direction="backward"/>'
    elif bar.dashed and not last:
        style, more = "dashed", ""
    elif last:
        style, more = "light-light", ""
    else:
        return ""
    return f'<barline location="right"><bar-style>{style}</bar-style>{more}</barline>'


def _voice(row: _Row, bar: Bar, part: str, divisions: int, heard: frozenset[Fraction] | None) -> str:
    """Write one voice of one bar; `heard` is where the first of two voices plays, ``None`` for one voice."""
    if not row.pieces:
        hidden = ' print-object="no"' if row.how.quiet or row.voice > 1 else ""
        return (
            f'<note{hidden}><rest measure="yes"/><duration>{int(bar.length * divisions)}</duration>'
            f"<voice>{row.voice}</voice></note>"
        )
    return "".join(_piece(row, piece, part, divisions, heard) for piece in row.pieces)


def _piece(row: _Row, piece: Piece, part: str, divisions: int, heard: frozenset[Fraction] | None) -> str:
    duration = piece.length * divisions
    if duration.denominator > 1:
        raise ArithmeticError(f"{piece.length} quarters are no whole number of divisions")
    kind = VALUES[piece.value]
    dots = "<dot/>" * piece.dots
    tuplet = _modification(piece)
    if piece.stroke is None:
        covered = row.how.quiet or (row.voice > 1 and heard is not None and piece.start in heard)
        hidden = ' print-object="no"' if covered and piece.tuplet is None else ""
        place = "<rest/>" if heard is None else _REST_UP if row.voice == 1 else _REST_DOWN
        return (
            f"<note{hidden}>{place}<duration>{int(duration)}</duration><voice>{row.voice}</voice>"
            f"<type>{kind}</type>{dots}{tuplet}{_notations(piece, None, row.how.up)}</note>"
        )
    note = row.notes[piece.stroke]
    return "".join(
        _head(row, piece, note, i, f"{part}-I{head.lane + 1}", int(duration), kind, dots, tuplet)
        for i, head in enumerate(note.heads)
    )


def _head(
    row: _Row, piece: Piece, note: Note, i: int, who: str, duration: int, kind: str, dots: str, tuplet: str
) -> str:
    head = note.heads[i]
    chord = "<chord/>" if i else ""
    ties = '<tie type="stop"/>' * piece.tied_from + '<tie type="start"/>' * piece.tied_to
    size = ' size="cue"' if head.small else ""
    beams = "".join(f'<beam number="{n}">{word}</beam>' for n, word in enumerate(piece.beams, 1))
    paren = ' parentheses="yes"' if head.ghost else ""
    under = "" if i or piece.tied_from else _under(note)
    heard = ' dynamics="0"' if row.silent else ""
    return (
        f"<note{heard}>{chord}<unpitched><display-step>{head.place[0]}</display-step><display-octave>"
        f"{head.place[1]}</display-octave></unpitched><duration>{duration}</duration>{ties}"
        f'<instrument id="{who}"/><voice>{row.voice}</voice><type{size}>{kind}</type>{dots}{tuplet}'
        f"<stem>{'up' if row.how.up else 'down'}</stem>"
        f"<notehead{paren}>{_SHAPES[head.shape]}</notehead>{'' if i else beams}"
        f"{_notations(piece, head, row.how.up, first=i == 0)}{under}</note>"
    )


def _modification(piece: Piece) -> str:
    if piece.tuplet is None:
        return ""
    return (
        f"<time-modification><actual-notes>{piece.tuplet.actual}</actual-notes><normal-notes>"
        f"{piece.tuplet.normal}</normal-notes><normal-type>{VALUES[piece.tuplet.unit]}</normal-type>"
        "</time-modification>"
    )


def _notations(piece: Piece, head: Notehead | None, up: bool, first: bool = True) -> str:
    out = []
    if head is not None:
        out += ['<tied type="stop"/>'] * piece.tied_from + ['<tied type="start"/>'] * piece.tied_to
    side = "above" if up else "below"
    if first and piece.opens and piece.tuplet is not None:
        kind = f"<tuplet-type>{VALUES[piece.tuplet.unit]}</tuplet-type>"
        out.append(
            f'<tuplet type="start" number="1" bracket="yes" show-number="both" placement="{side}">'
            f"<tuplet-actual><tuplet-number>{piece.tuplet.actual}</tuplet-number>{kind}</tuplet-actual>"
            f"<tuplet-normal><tuplet-number>{piece.tuplet.normal}</tuplet-number>{kind}</tuplet-normal>"
            "</tuplet>"
        )
    if first and piece.closes:
        out.append('<tuplet type="stop" number="1"/>')
    if head is not None and head.accent and not piece.tied_from:
        out.append(f'<articulations><accent placement="{side}"/></articulations>')
    return f"<notations>{''.join(out)}</notations>" if out else ""


def _under(note: Note) -> str:
    words = [(text, "single") for text in note.under] + ([note.sung] if note.sung else [])
    return "".join(
        f'<lyric number="{line}"><syllabic>{syllabic}</syllabic><text>{escape(title_of(text))}</text></lyric>'
        for line, (text, syllabic) in enumerate(words, 1)
        if text
    )

"""What is written as MusicXML, and the check that every bar fills exactly."""

from dataclasses import replace
from fractions import Fraction
from xml.etree import ElementTree

import pytest

from rhythmlab.notation.layout import Bar, Note, Notehead, Sheet, Staff, Voice
from rhythmlab.notation.musicxml import check, musicxml
from rhythmlab.notation.spelling import spell

QUARTER = Fraction(1)
FOUR = Bar(1, Fraction(0), (QUARTER,) * 4, "4", "4")
THIRDS = [Fraction(4, 3) * i for i in range(3)]


def sheet(onsets, *, bars=(FOUR,), **named) -> Sheet:
    """Return a sheet of one lane."""
    notes = tuple(Note(Fraction(at), (Notehead(0, "E4", **named),)) for at in onsets)
    return Sheet("♩", bars, (Staff("a & b", 1, (Voice(notes),)),), (("<bell>", 53),), True, "said")


def test_check_passes_what_spelling_makes():
    """Pieces that fill their bar pass; no pieces are a bar's rest."""
    check(spell(THIRDS, FOUR.beats), THIRDS, FOUR)
    check((), [], FOUR)


@pytest.mark.parametrize(
    ("spoil", "message"),
    [
        (lambda row: row[:-1], "a tuplet is left open|quarters written"),
        (lambda row: (replace(row[0], length=QUARTER), *row[1:]), "does not follow on"),
        (lambda row: (replace(row[0], opens=False), *row[1:]), "left open, or nested"),
        (lambda row: (*row[:-1], replace(row[-1], closes=False)), "quarters written"),
        (lambda row: (row[0], replace(row[1], closes=True), row[2]), "not full"),
        (lambda row: (row[0], replace(row[1], opens=True), row[2]), "left open, or nested"),
        (lambda row: (replace(row[0], stroke=None), *row[1:]), "quarters written"),
        (lambda row: (replace(row[0], tied_to=True), *row[1:]), "a tie leads nowhere"),
        (lambda row: (), "quarters written"),
    ],
)
def test_check_finds_every_fault(spoil, message):
    """A note too short, a tuplet open, nested or not full, a lost stroke and a loose tie are all refused."""
    with pytest.raises(ArithmeticError, match=message):
        check(spoil(spell(THIRDS, FOUR.beats)), THIRDS, FOUR)


def test_a_tuplet_has_its_ratio_and_both_numbers():
    """Each note has the time modification; the bracket shows both numbers, and starts and stops once."""
    root = ElementTree.fromstring(musicxml(sheet(THIRDS)))
    assert [row.text for row in root.iter("actual-notes")] == ["3"] * 3
    starts = [row for row in root.iter("tuplet") if row.get("type") == "start"]
    assert [(row.get("show-number"), row.get("bracket")) for row in starts] == [("both", "yes")]
    assert starts[0].findtext("tuplet-actual/tuplet-type") == "half"
    assert root.findtext(".//divisions") == "3"


def test_a_bar_without_strokes_is_one_rest():
    """It is a rest of the whole bar, not rests for each beat."""
    bars = (FOUR, Bar(2, Fraction(4), FOUR.beats, "4", "4"))
    root = ElementTree.fromstring(musicxml(sheet([0], bars=bars)))
    last = list(root.iter("measure"))[1]
    assert [row.get("measure") for row in last.iter("rest")] == ["yes"]
    assert len(list(last.iter("note"))) == 1


def test_names_are_escaped_and_instruments_are_keys_from_one():
    """Markup in names is text; a MIDI key counts from 1 in MusicXML."""
    text = musicxml(sheet([0]), "<title> & more")
    root = ElementTree.fromstring(text)
    assert root.findtext("movement-title") == "<title> & more"
    assert root.findtext(".//part-name") == "a & b"
    assert root.findtext(".//instrument-name") == "<bell>"
    assert root.findtext(".//midi-unpitched") == "54"


def test_a_time_signature_is_written_where_it_changes():
    """Bars alike have one time signature."""
    three = Bar(3, Fraction(8), (QUARTER,) * 3, "3", "4")
    bars = (FOUR, Bar(2, Fraction(4), FOUR.beats, "4", "4"), three)
    root = ElementTree.fromstring(musicxml(sheet([0], bars=bars)))
    assert [row.text for row in root.iter("beats")] == ["4", "3"]


def test_too_many_divisions_are_refused():
    """Tuplets of too many kinds in one staff are refused, since readers stop at 16 383 divisions."""
    starts = range(0, 24, 4)
    bars = tuple(Bar(n + 1, Fraction(at), FOUR.beats, "4", "4") for n, at in enumerate(starts))
    onsets = [at + Fraction(4, part) for at, part in zip(starts, (3, 5, 7, 11, 13, 17), strict=True)]
    with pytest.raises(ValueError, match="divisions"):
        musicxml(sheet(onsets, bars=bars))

"""How a voice of a bar is spelled: values, ties, tuplets and beams, note by note."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmlab.notation.layout import Bar, fours
from rhythmlab.notation.musicxml import check
from rhythmlab.notation.spelling import VALUES, spell, tuplet_of
from tests.strategies import TRIES

QUARTER = Fraction(1)


def written(pieces) -> list[str]:
    """Return each piece as value, dot, tie and tuplet; rests have an r before them."""
    return [
        ("r " if piece.stroke is None else "")
        + VALUES[piece.value]
        + "." * piece.dots
        + "~" * piece.tied_to
        + (f" {piece.tuplet.actual}:{piece.tuplet.normal}" if piece.tuplet else "")
        for piece in pieces
    ]


def even(strokes: int, beats: int) -> list[Fraction]:
    """Return places of even strokes in so many quarters."""
    return [Fraction(beats * i, strokes) for i in range(strokes)]


@pytest.mark.parametrize(
    ("strokes", "beats", "expected"),
    [
        (4, 3, ["eighth."] * 4),
        (3, 4, ["half 3:2"] * 3),
        (3, 2, ["quarter 3:2"] * 3),
        (2, 3, ["quarter."] * 2),
        (7, 4, ["quarter 7:4"] * 7),
        (5, 4, ["quarter 5:4"] * 5),
        (5, 3, ["quarter 5:3"] * 5),
        (7, 3, ["eighth 7:6"] * 7),
        (9, 8, ["quarter 9:8"] * 9),
        (8, 4, ["eighth"] * 8),
        (
            4,
            7,
            [
                "quarter~",
                "eighth.",
                "16th~",
                "quarter.",
                "eighth~",
                "quarter~",
                "16th",
                "eighth.~",
                "quarter",
            ],
        ),
        (
            4,
            5,
            ["quarter~", "16th", "eighth.~", "eighth", "eighth~", "eighth.", "16th~", "quarter"],
        ),
    ],
)
def test_even_strokes_in_one_bar(strokes, beats, expected):
    """Dotted values where the parts are a power of two, ties where no one value does, else one tuplet."""
    assert written(spell(even(strokes, beats), [QUARTER] * beats, held=True)) == expected


@pytest.mark.parametrize(
    ("onsets", "beats", "expected"),
    [
        (
            [0, 3, 6, 10, 12],
            [4, 4, 4, 4],
            ["eighth.", "16th", "r eighth", "eighth", "r eighth", "eighth", "quarter"],
        ),
        ([0, 15], [4, 4, 4, 4], ["quarter", "r quarter", "r quarter", "r eighth.", "16th"]),
        ([0, 7], [4, 4, 4, 4], ["quarter", "r eighth.", "16th", "r half"]),
        ([0], [4, 4, 4], ["quarter", "r quarter", "r quarter"]),
        ([0, 14], [4, 4, 4, 3], ["quarter", "r quarter", "r quarter", "r eighth", "16th"]),
        ([0, 10], [4, 4, 6], ["quarter", "r quarter", "r eighth", "quarter"]),
        ([0, 1, 2, 3, 4], [5], ["16th"] * 5),
        ([0], [5], ["quarter", "r 16th"]),
    ],
)
def test_drum_strokes_last_no_longer_than_their_beat(onsets, beats, expected):
    """Strokes, counted in sixteenths, are never tied, and rests show the beats."""
    sixteenth = Fraction(1, 4)
    pieces = spell([sixteenth * at for at in onsets], [sixteenth * beat for beat in beats])
    assert written(pieces) == expected


def test_beams_show_the_beats_and_hooks_point_inward():
    """A dotted eighth and a sixteenth share a beam; the short one has its own stub."""
    pieces = spell([Fraction(0), Fraction(3, 4), Fraction(1), Fraction(5, 4)], [QUARTER] * 2)
    assert [piece.beams for piece in pieces] == [
        ("begin",),
        ("end", "backward hook"),
        ("begin", "forward hook"),
        ("end",),
    ]


def test_septuplets_of_the_heard_line_stay_inside_their_beats():
    """7:4 as one line is a 7:4 of sixteenths in each beat, 4+3, 1+4+2, 2+4+1 and 3+4 parts."""
    ticks = [0, 4, 7, 8, 12, 14, 16, 20, 21, 24]
    pieces = spell([Fraction(tick, 7) for tick in ticks], [QUARTER] * 4, held=True)
    assert [piece.length * 7 for piece in pieces] == [4, 3, 1, 4, 2, 2, 4, 1, 3, 4]
    assert sum(piece.opens for piece in pieces) == sum(piece.closes for piece in pieces) == 4


@st.composite
def bars(draw):
    """Draw beats, and strokes on parts of them."""
    beats = draw(
        st.lists(
            st.sampled_from([1, Fraction(1, 2), Fraction(3, 2), Fraction(3, 4), 2]), min_size=1, max_size=6
        )
    )
    marks, onsets = Fraction(0), set()
    for beat in beats:
        parts = draw(st.sampled_from([1, 2, 3, 4, 5, 6, 7, 8, 16]))
        chosen = draw(st.sets(st.integers(0, parts - 1), max_size=6))
        onsets |= {marks + Fraction(beat) * part / parts for part in chosen}
        marks += beat
    return [Fraction(beat) for beat in beats], sorted(onsets)


@TRIES
@given(bars(), st.booleans())
def test_every_bar_fills_exactly(drawn, held):
    """Pieces follow on each other to the end of the bar, strokes are where they fall, tuplets are whole."""
    beats, onsets = drawn
    pieces = spell(onsets, beats, held=held)
    check(pieces, onsets, Bar(1, Fraction(0), tuple(beats), "4", "4"))
    assert sum(piece.length for piece in pieces) in (0, sum(beats))
    assert all(b.start == a.start + a.length for a, b in pairwise(pieces))
    if not held:
        assert not any(a.tied_to and not a.tuplet for a in pieces)
    for piece in pieces:
        if piece.tuplet:
            assert 1 < Fraction(piece.tuplet.actual, piece.tuplet.normal) < 2


@given(st.integers(3, 32), st.integers(1, 16))
def test_tuplets_are_readable(parts, quarters):
    """More notes than the normal number, and less than twice as many; as long as the span."""
    tuplet, value = tuplet_of(Fraction(quarters), parts)
    if tuplet is None:
        assert value * parts == quarters
    else:
        assert 1 < Fraction(tuplet.actual, tuplet.normal) < 2
        assert tuplet.normal * tuplet.unit == quarters
        assert value * parts == tuplet.actual * tuplet.unit


def test_what_cannot_be_written_is_refused():
    """A place that would need notes shorter than any value is refused."""
    with pytest.raises(ValueError, match="no readable tuplet"):
        spell([Fraction(1, 997)], [QUARTER])
    with pytest.raises(ValueError, match="no written value"):
        tuplet_of(Fraction(1, 1000), 7)


@given(st.integers(1, 64))
def test_fours_add_up(number):
    """Groups of sixteenths are fours, then threes and twos, and never a one but for one alone."""
    groups = fours(number)
    assert sum(groups) == number
    assert list(groups) == sorted(groups, reverse=True)
    assert number == 1 or 1 not in groups


@TRIES
@given(st.lists(st.integers(1, 4), min_size=1, max_size=9), st.data())
def test_no_whole_rest_stands_in_a_bar_with_strokes(groups, data):
    """Its sign means that the whole bar is silent (common practice; music21 reads it so): halves instead."""
    beats = [Fraction(group, data.draw(st.sampled_from([1, 2]))) for group in groups]
    length = sum(beats)
    places = st.integers(0, int(length * 4) - 1).map(lambda sixteenth: Fraction(sixteenth, 4))
    strokes = sorted(data.draw(st.sets(places, min_size=1, max_size=3)))
    pieces = spell(strokes, beats)
    rests = [piece for piece in pieces if piece.stroke is None and piece.tuplet is None]
    assert not [piece for piece in rests if piece.value >= 4 and not piece.dots]
    assert sum(piece.length for piece in pieces) == length


@pytest.mark.parametrize("beat", [2, 3, 4])
def test_sixteenths_of_a_long_beat_are_beamed_in_quarters(beat):
    """Where a half note, dotted or not, is cut into sixteenths, beams break at each quarter; eighths stay."""
    sixteenths = spell([Fraction(i, 4) for i in range(8 * beat)], [Fraction(beat)] * 2)
    starts = [piece.start for piece in sixteenths if piece.beams[0] == "begin"]
    assert starts == [Fraction(i) for i in range(2 * beat)]
    eighths = spell([Fraction(i, 2) for i in range(4 * beat)], [Fraction(beat)] * 2)
    assert [piece.start for piece in eighths if piece.beams[0] == "begin"] == [0, beat]

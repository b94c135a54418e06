"""The checks that every value passes once, and their messages."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from rhythmlab.core.check import MOST_STROKES, MOST_TICKS, few_enough, index, positive, short, whole, window
from tests.refusals import TOO_LONG, keywords, refusal

NUMPY_INTEGERS = [np.int8, np.uint8, np.int16, np.uint16, np.int32, np.uint32, np.int64, np.uint64]


@pytest.mark.parametrize("kind", [int, *NUMPY_INTEGERS])
def test_whole_numbers_of_any_kind_become_pythons(kind):
    """Python's and numpy's integers come back as ``int``, equal in value."""
    for number in (whole(kind(100), "pulse", "…"), index(kind(100), 101, "pulse", "pulses")):
        assert (type(number), number) == (int, 100)
    assert window(kind(3), kind(100), 100) == (3, 100)


@pytest.mark.parametrize(
    "bad", [0, -1, 2.0, np.float64(2), "7", b"7", True, False, np.True_, None, [7], 7j, 0.5]
)
def test_what_is_not_a_whole_number_is_refused(bad):
    """The message has the name, the value, the least allowed, and the example it was given."""
    example = refusal(
        lambda: whole(bad, "pulse", "Polyrhythm(7, 4)"), f"pulse={bad!r}", "not a whole number of at least 1"
    )
    assert example == "Polyrhythm(7, 4)"


def test_the_least_is_allowed_and_one_less_is_not():
    """`least` itself passes, whatever it is."""
    for least in (0, 1, 5):
        assert whole(least, "beats", "…", least=least) == least
        refusal(
            lambda least=least: whole(least - 1, "beats", "…", least=least),
            f"={least - 1}",
            f"at least {least}",
        )


def test_whole_numbers_of_any_length_pass():
    """There is no upper bound here: what is too large is refused where it is used."""
    assert whole(10**5000, "pulse", "…") == 10**5000


@pytest.mark.parametrize(
    ("value", "exact"),
    [
        (72, Fraction(72)),
        (72.1, Fraction(721, 10)),
        (Decimal("0.1"), Fraction(1, 10)),
        (Fraction(1, 3), Fraction(1, 3)),
        (5e-324, Fraction("5e-324")),
        *((kind(100), Fraction(100)) for kind in NUMPY_INTEGERS),
    ],
)
def test_positive_numbers_become_exact(value, exact):
    """A number above 0 becomes the Fraction of what it prints as, made of Python's whole numbers."""
    found = positive(value, "bpm", "…")
    assert found == exact
    assert (type(found.numerator), type(found.denominator)) == (int, int)


@pytest.mark.parametrize(
    "bad", [0, -1, 0.0, float("nan"), float("inf"), "72", None, True, Decimal("-1"), Decimal("inf")]
)
def test_what_is_no_positive_number_is_refused(bad):
    """The message has the name, the value, what is wrong, and the example it was given."""
    refused = "not a finite number above 0"
    assert (
        refusal(lambda: positive(bad, "bpm", "Tempo(72, pulse=1)"), f"bpm={bad!r}", refused)
        == "Tempo(72, pulse=1)"
    )


def test_an_index_counts_from_0_to_one_less_than_there_are():
    """0 and the last pass; the next one is an IndexError that says how many there are."""
    assert [index(i, 2, "home", "pulses (7, 4)") for i in (0, 1)] == [0, 1]
    wrong = "there are 2 pulses (7, 4), numbered from 0"
    example = refusal(lambda: index(2, 2, "home", "pulses (7, 4)"), "home=2", wrong, IndexError)
    assert keywords(example) == {"home": 1}
    example = refusal(lambda: index(-1, 2, "home", "pulses (7, 4)"), "home=-1", "at least 0")
    assert keywords(example) == {"home": 0}
    refusal(lambda: index(10**5000, 2, "home", "pulses"), f"home={TOO_LONG}", "there are 2", IndexError)


def test_a_window_is_half_open_and_lies_inside_the_cycle():
    """Both ends may be left out, may be equal, and may be the end of the cycle."""
    assert window(None, None, 28) == (0, 28)
    assert window(5, None, 28) == (5, 28)
    assert window(None, 5, 28) == (0, 5)
    assert window(28, 28, 28) == (28, 28)
    assert window(0, 2**62, 2**62) == (0, 2**62)


@pytest.mark.parametrize("ticks", [1, 28, 2**62])
@pytest.mark.parametrize(("start", "stop"), [(1, 0), (0, 2**62 + 1), (2**62 + 1, None)])
def test_a_window_that_is_not_inside_is_refused(start, stop, ticks):
    """The message repeats the window and gives one that works for this cycle."""
    given = f"start={start}, stop={ticks if stop is None else stop}"
    example = refusal(lambda: window(start, stop, ticks), given, f"0 <= start <= stop <= {ticks} must hold")
    assert window(**keywords(example), ticks=ticks)[0] == 0


def test_fifty_million_strokes_are_few_enough_and_one_more_is_not():
    """The bound itself passes; for one more the message counts them and completes the call it was given."""
    assert (MOST_STROKES, MOST_TICKS) == (50_000_000, 2**62)
    few_enough(MOST_STROKES, 0, 10**9, "p.onsets(0, ")
    wrong = "too many to hold at once (the most is 50,000,000)"
    example = refusal(lambda: few_enough(MOST_STROKES + 1, 7, 10**9 + 7, "p.onsets(0, "), "50,000,001", wrong)
    assert example == "p.onsets(0, start=7, stop=20006)"


def test_the_window_in_the_message_always_holds_at_least_a_tick():
    """However dense the strokes, the window that is offered is not empty."""
    example = refusal(lambda: few_enough(10**12, 3, 10**8, "f("), "1,000,000,000,000", "too many")
    assert example == "f(start=3, stop=4)"


def test_values_are_cut_to_fit_a_line():
    """Short values print in full, long ones are cut at 60 characters, huge numbers are only named."""
    assert short((7, 4)) == "(7, 4)"
    assert short("x" * 58) == repr("x" * 58)
    assert short(list(range(100))) == "[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16..."
    assert len(short(list(range(100)))) == 60
    assert short(10**5000) == short((10**5000, 1)) == TOO_LONG

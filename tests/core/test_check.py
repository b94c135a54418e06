"""The checks that every value passes once, and their messages."""

import os
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from rhythmlab.core.check import (
    MOST_LISTED,
    MOST_STROKES,
    MOST_TICKS,
    a,
    few_enough,
    flag,
    index,
    items,
    path,
    positive,
    short,
    whole,
    window,
)
from tests.refusals import TOO_LONG, keywords, refusal
from tests.wrong import VALUES, in_time

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


class Unprintable:
    """Something whose text cannot be had."""

    def __init__(self, thrown: Exception) -> None:
        self.thrown = thrown

    def __repr__(self) -> str:
        raise self.thrown


def test_whatever_is_given_is_named_on_one_line_in_no_time():
    """A repr that fails, a nest without bottom, ten million things: a line of at most 60 characters."""
    nest: list = []
    nest.append(nest)
    deep: list = []
    for _ in range(100_000):
        deep = [deep]
    large = [[0] * 10**6] * 100
    wrong = [
        thrown("x") for thrown in (ValueError, RuntimeError, RecursionError, MemoryError, AttributeError)
    ]
    given = [
        *(value() for value in VALUES.values()),
        nest,
        deep,
        large,
        dict.fromkeys(range(10**6)),
        "\n" * 10**7,
    ]
    with in_time(2):
        for value in (*given, *map(Unprintable, wrong), type("x" * 10**5, (), {}), np.zeros((30, 30))):
            assert 0 < len(short(value)) <= 60
            assert "\n" not in short(value)
    assert short(Unprintable(RuntimeError())) == "a Unprintable that cannot be printed"


@pytest.mark.parametrize("text", ["x" * 10**6, b"x" * 10**6, ["x" * 10**6], {"x": "y" * 10**6}])
def test_a_long_text_is_cut_as_its_repr_would_be(text):
    """The beginning of what is shown is the beginning of the whole."""
    assert short(text) == f"{repr(text)[:57]}..."


def test_a_number_of_too_many_digits_is_refused_and_one_with_fewer_is_not():
    """A thousand digits above and below the line pass, one more does not, so that all stays printable."""
    most = Fraction(10**1000 - 1, 10**999 + 1)
    assert positive(most, "bpm", "…") == most
    for value in (Fraction(10**1000, 10**999 + 1), Fraction(10**999 + 1, 10**1000 + 1)):
        refusal(
            lambda value=value: positive(value, "bpm", "Tempo(72, pulse=1)"), "bpm=", "more than 1,000 digits"
        )
    refusal(lambda: positive(Decimal("1" * 5000), "bpm", "…"), "bpm=", "not a finite number above 0")


def test_the_ends_of_what_is_allowed_pass_and_what_is_beyond_does_not():
    """Least and most themselves are allowed; 0 where it is said so."""
    for value in (1, 1000, 2.5):
        assert positive(value, "bpm", "…", least=1, most=1000) == Fraction(str(value))
    refusal(lambda: positive(0.99, "bpm", "…", least=1), "bpm=0.99", "less than 1")
    refusal(lambda: positive(1001, "bpm", "…", most=1000), "bpm=1001", "more than 1,000")
    refusal(lambda: positive(1, "bpm", "…", least=Fraction(5, 2)), "bpm=1", "less than 5/2")
    for zero in (0, 0.0, -0.0, Decimal(0), Fraction(0)):
        assert positive(zero, "missed", "…", zero=True) == 0
        refusal(lambda zero=zero: positive(zero, "missed", "…"), "missed=", "not a finite number above 0")


def test_what_is_no_list_or_has_no_end_is_refused():
    """What is taken of it is all there is, up to the most."""
    for given in ([1, 2], (1, 2), iter([1, 2]), np.array([1, 2]), {1: 0, 2: 0}, range(1, 3)):
        assert items(given, "allowed", "…", 2) == [1, 2]
        text = "holds more than 1"
        if not isinstance(given, type(iter([]))):
            refusal(lambda given=given: items(given, "allowed", "…", 1), "allowed=", text)
    for given in (None, 7, "12", b"12", int, object()):
        refusal(
            lambda given=given: items(given, "allowed", "…", 2, "sizes"), "allowed=", "not a list of sizes"
        )
    with in_time(1):
        refusal(
            lambda: items(VALUES["endless"](), "allowed", "…", MOST_LISTED), "allowed=", "more than 500,000"
        )


def test_a_flag_is_true_or_false():
    """Python's and numpy's, and 0 and 1."""
    for given, meant in (
        (True, True),
        (False, False),
        (1, True),
        (0, False),
        (np.True_, True),
        (np.False_, False),
    ):
        assert flag(given, "filled", "…") is meant
    for given in (None, 2, "yes", 1.0, [], np.array([True, False])):
        refusal(lambda given=given: flag(given, "filled", "…"), "filled=", "neither True nor False")


def test_a_path_is_one_that_a_file_can_have(monkeypatch, tmp_path):
    """The home is written out; bytes, nothing, zero bytes, half characters and nobody's home are refused."""
    monkeypatch.setenv("HOME", str(tmp_path))
    assert path("~/a.mid", "file", "…") == tmp_path / "a.mid"
    assert path(tmp_path / "b", "file", "…") == tmp_path / "b"
    for given in (None, 7, b"a", ["a"], tmp_path.__class__):
        refusal(lambda given=given: path(given, "file", "…"), "file=", "is not a path")
    for given in ("", "a\0b", "\ud800", "~nobody-by-this-name/a"):
        refusal(lambda given=given: path(given, "file", "…"), "file=", "the name of no file")


def test_a_window_without_a_call_is_given_by_its_keywords():
    """Where no call can be typed, the example is the window itself."""
    example = refusal(lambda: few_enough(10**8, 0, 10**9, ""), "100,000,000", "too many")
    assert keywords(example) == {"start": 0, "stop": 10_000}


def test_a_kind_of_value_is_named_in_plain_words():
    """Text, a path and a dict, and no class that only a programmer knows."""
    for kind, said in (
        (str, "x=7 is not text in quotes"),
        ((str, os.PathLike), "x=7 is neither text in quotes nor a path"),
        (Mapping, "x=7 is not a dict such as {7: 4}"),
    ):
        refusal(lambda kind=kind: a(kind, 7, "x", "…"), "x=7", said)

"""Form parts: what is read, what is refused in words, and that writing to a field does not call back."""

import re
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.panels.controls import (
    FirstBeat,
    Home,
    PulseFields,
    TempoField,
    home_index,
    read_beat,
    read_bpm,
    read_pulse,
    read_pulses,
)
from tests.refusals import works
from tests.strategies import TRIES


@pytest.mark.parametrize(
    ("text", "number"), [("7", 7), (" 7 ", 7), ("007", 7), ("1", 1), ("1000000007", 1_000_000_007)]
)
def test_a_whole_number_is_read(text, number):
    """Spaces round it and zeros before it do no harm."""
    assert read_pulse(text, 0) == number


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("", "is empty"),
        ("   ", "is empty"),
        ("7/8", "'7/8' is a bar and not a pulse; page 07 and a set list show bars"),
        ("2+2+3", "'2+2+3' is a bar and not a pulse; page 07 and a set list show bars"),
        ("x", "'x' is not a whole number of at least 1"),
        ("seven", "'seven' is not a whole number of at least 1"),
        ("0", "'0' is not a whole number of at least 1"),
        ("000", "'000' is not a whole number of at least 1"),
        ("-3", "'-3' is not a whole number of at least 1"),
        ("+3", "'+3' is not a whole number of at least 1"),
        ("7.0", "'7.0' is not a whole number of at least 1"),
        ("7,5", "'7,5' is not a whole number of at least 1"),
        ("1e3", "'1e3' is not a whole number of at least 1"),
        ("7 4", "'7 4' is not a whole number of at least 1"),
        ("\u0663", "is not a whole number of at least 1"),
        ("\u00b2", "is not a whole number of at least 1"),
        ("1" * 16, "is more than 20\u00a0000"),
        ("9" * 5000, "is more than 20\u00a0000"),
        ("x" * 500, "is not a whole number of at least 1"),
    ],
)
@pytest.mark.parametrize(("nth", "name"), [(0, "first"), (1, "second"), (2, "third"), (3, "fourth")])
def test_what_is_not_a_pulse_is_said_with_its_field_and_an_example(text, wrong, nth, name):
    """Which field, what stands in it, what is wrong, and something to type; never longer than two lines."""
    with pytest.raises(ValueError, match=f"^{name} pulse ") as caught:
        read_pulse(text, nth)
    said = str(caught.value)
    assert wrong in said
    assert len(said) < 160
    example = re.search(r"for example (\d+)\.$", said)[1]
    assert read_pulse(example, nth) == int(example)


@TRIES
@given(st.text(max_size=20))
def test_any_text_is_a_number_or_a_sentence(text):
    """Nothing else happens, for pulses and for tempos."""
    for read in (lambda typed: read_pulse(typed, 0), read_bpm):
        try:
            found = read(text)
        except ValueError as error:
            found = len(str(error).partition(": type")[2])
        assert found > 0


@pytest.mark.parametrize(
    ("text", "bpm"),
    [
        ("72", 72),
        (" 72 ", 72),
        ("76.8", Fraction(384, 5)),
        ("76,8", Fraction(384, 5)),
        ("1000", 1000),
        ("1", 1),
        ("01.50", Fraction(3, 2)),
        ("72.", 72),
        ("133.33", Fraction(13333, 100)),
    ],
)
def test_a_tempo_is_read_exactly(text, bpm):
    """Decimals with a point or a comma, as the Fraction that they are."""
    assert read_bpm(text) == bpm
    assert isinstance(read_bpm(text), Fraction)


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("", "bpm is empty"),
        (" ", "bpm is empty"),
        *(
            (t, f"bpm {t!r} is not a number of beats a minute")
            for t in ("x", "-5", "1e5", "nan", "inf", "1/3", "1.2.3", "7 2", ".", ",", "\u0663")
        ),
        *(
            (t, f"bpm {t!r} is not from 1 to 1\u00a0000 beats a minute")
            for t in ("0", "0.0", ".5", "0.999", "1000.001", "1001", "1" * 16)
        ),
    ],
)
def test_what_is_not_a_tempo_is_said_with_an_example(text, wrong):
    """Empty, letters, zero, negative, not finite: what stands there, and something to type."""
    with pytest.raises(ValueError, match="for example 72") as caught:
        read_bpm(text)
    assert str(caught.value).startswith(wrong)


@TRIES
@given(st.decimals(1, 1000, places=2))
def test_what_the_field_writes_it_reads_again(bpm):
    """A tempo with two decimals comes back as the same Fraction."""
    assert read_bpm(str(bpm)) == Fraction(Decimal(bpm))


@pytest.mark.parametrize(
    "pulses", [(20001, 20000), (3, 30000), (30000, 3), (1, 10**9), (10**14, 10**9), (9999, 9998, 10007)]
)
def test_a_cycle_too_large_to_draw_names_a_window_that_works(pulses):
    """How many strokes, how many are drawn at most, and a call that gives a window without fail."""
    with pytest.raises(ValueError, match="more than the 20\u00a0000 that a panel draws") as caught:
        read_pulses(list(map(str, pulses)))
    said = str(caught.value.in_a_call("two_numbers(7, 4)"))
    assert f"{sum(pulses):,} strokes".replace(",", "\N{NO-BREAK SPACE}") in said
    call = re.search(r"in a cell of your own; for example (.*)$", said)[1]
    found = works(call, rl=rl)
    assert len(found) > 1


def test_what_a_panel_just_draws_and_just_does_not():
    """Twenty thousand strokes pass, one more does not; five pulses are one too many."""
    assert read_pulses(["10001", "9999"]).pulses == (10001, 9999)
    with pytest.raises(ValueError, match="a panel draws"):
        read_pulses(["10001", "10000"])
    assert read_pulses(["2", "3", "4", "5"]).pulses == (2, 3, 4, 5)
    with pytest.raises(
        ValueError, match=r"2 against 3 against 4 against 5 against 7 is 5 pulses.*fields for 4"
    ):
        read_pulses(["2", "3", "4", "5", "7"])


def test_a_grid_beyond_whole_numbers_is_said():
    """The core's own message reaches the reader."""
    with pytest.raises(ValueError, match=r"2\*\*62|a panel draws"):
        read_pulses(["999999999999999", "999999999999998"])


class Calls:
    """Counts how often it was called."""

    def __init__(self):
        self.count = 0

    def __call__(self):
        self.count += 1


def test_pulse_fields_have_names_and_call_back():
    """Each field is named by its place; typing calls back once for each change."""
    calls = Calls()
    pulses = PulseFields((7, 4), calls, grows=False)
    assert [field.description for field in pulses.fields] == ["first pulse", "second pulse"]
    assert pulses.texts == ["7", "4"]
    assert list(pulses.children) == pulses.fields
    pulses.fields[0].value = "16"
    assert calls.count == 1
    assert pulses.texts == ["16", "4"]


def test_pulses_can_be_added_up_to_four_and_removed_down_to_two():
    """A button is there only while it can do something, and says what it does."""
    calls = Calls()
    pulses = PulseFields((3, 2), calls, grows=True)

    def buttons():
        return [child.description for child in pulses.children if child not in pulses.fields]

    assert buttons() == ["add a pulse"]
    pulses._add.click()
    assert (buttons(), pulses.texts, calls.count) == (["add a pulse", "remove a pulse"], ["3", "2", "4"], 1)
    pulses._add.click()
    assert (buttons(), pulses.texts, calls.count) == (["remove a pulse"], ["3", "2", "4", "5"], 2)
    pulses._add.click()
    assert (pulses.texts, calls.count) == (["3", "2", "4", "5"], 2)
    pulses.fields[2].value = "9"
    pulses._remove.click()
    assert (buttons(), pulses.texts, calls.count) == (["add a pulse", "remove a pulse"], ["3", "2", "9"], 4)
    pulses._remove.click()
    pulses._remove.click()
    assert (buttons(), pulses.texts) == (["add a pulse"], ["3", "2"])
    assert [field.description for field in pulses.fields] == ["first pulse", "second pulse"]


@pytest.mark.parametrize(
    ("texts", "new"),
    [
        (["7", "4"], "8"),
        (["15", "16"], "17"),
        ([" 9 ", "x"], "10"),
        (["", "5"], "6"),
        (["x", "-3"], "2"),
        (["98", "3"], "99"),
        (["99", "3"], "99"),
        (["5000", "3"], "99"),
        (["9" * 40, "3"], "4"),
        (["7.5", "3"], "4"),
    ],
)
def test_a_new_field_holds_one_more_than_the_largest_pulse(texts, new):
    """So that it is no pulse that is there; what cannot be read does not count, and 99 is the most."""
    calls = Calls()
    pulses = PulseFields((7, 4), calls, grows=True)
    for field, text in zip(pulses.fields, texts, strict=True):
        field.value = text
    before = calls.count
    pulses._add.click()
    assert pulses.texts == [*texts, new]
    assert pulses.fields[2].description == "third pulse"
    assert calls.count == before + 1


@pytest.mark.parametrize(("text", "beat"), [("1", 1), (" 33 ", 33), ("099", 99)])
def test_a_first_beat_is_read(text, beat):
    """A whole number up to the last beat, spaces and zeros before it or not."""
    assert read_beat(text, 99) == beat


@pytest.mark.parametrize("text", ["", "0", "100", "-1", "1.5", "x", "\u0663", "\u00b2", "9" * 5000])
def test_a_beat_that_is_not_there_is_said_with_how_many_there_are(text):
    """What was typed, how many beats there are, and one that works; never longer than two lines."""
    with pytest.raises(
        ValueError, match=r"^from beat .* is not one of the 99 beats: type for example 1\.$"
    ) as caught:
        read_beat(text, 99)
    assert repr(text)[:40] in str(caught.value)
    assert len(str(caught.value)) < 160


def test_the_first_beat_is_offered_without_calling_back_and_hidden_where_there_is_none():
    """Only typing calls back; hidden, it holds 1 again; what means the same is not rewritten."""
    calls = Calls()
    field = FirstBeat(calls)
    assert (field.description, field.value) == ("from beat", "1")
    field.offer(34)
    assert (field.value, field.layout.display, calls.count) == ("34", "", 0)
    field.value = " 35"
    assert calls.count == 1
    field.offer(35)
    assert (field.value, calls.count) == (" 35", 1)
    field.offer(None)
    assert (field.value, field.layout.display, calls.count) == ("1", "none", 1)
    field.offer(2)
    assert (field.value, field.layout.display, calls.count) == ("2", "", 1)


def test_home_is_offered_without_calling_back_and_chosen_with():
    """Names of the pulses to choose from, each with a tooltip; only the reader's own choice calls back."""
    calls = Calls()
    home = Home(calls)
    home.offer(rl.Polyrhythm(7, 4), 1)
    assert (tuple(home.options), home.index, calls.count) == (("the 7", "the 4"), 1, 0)
    assert list(home.tooltips) == ["home is the 7", "home is the 4"]
    home.index = 0
    assert calls.count == 1
    home.offer(rl.Polyrhythm(7, 7, 4), 2)
    assert (tuple(home.options), home.index) == (("the first 7", "the second 7", "the 4"), 2)
    assert next(iter(home.tooltips)) == "home is the first 7"
    home.offer(rl.Polyrhythm(7, 7, 4), 0)
    assert (home.index, calls.count) == (0, 1)
    assert home.description == "home"


def test_the_tempo_is_written_without_calling_back():
    """Two decimals at most, in home's beats, and named by home; typing calls back."""
    calls = Calls()
    field = TempoField(calls)
    p = rl.Polyrhythm(4, 3)
    field.show(p, rl.Tempo(100, pulse=1), 0)
    assert (field.value, field.description, calls.count) == ("133.33", "bpm of the 4", 0)
    field.value = "90"
    assert calls.count == 1
    field.show(p, rl.Tempo(1234.5, pulse=0), 0)
    assert field.value == "1234.5"


def test_typing_is_not_rewritten_underway():
    """While the tempo is the same, what was typed stays, even half typed; another tempo replaces it."""
    field = TempoField(lambda: None)
    p = rl.Polyrhythm(4, 3)
    for typed in ("72.", "72.0", "72,0", " 72"):
        field.value = typed
        field.show(p, rl.Tempo(72, pulse=1), 1)
        assert field.value == typed
    for typed in ("x", "", "7"):
        field.value = typed
        field.show(rl.Polyrhythm(5, 3), rl.Tempo(72, pulse=1), 1)
        assert field.value == typed
    field.show(p, rl.Tempo(73, pulse=1), 1)
    assert field.value == "73"


@pytest.mark.parametrize(("home", "index"), [(None, 1), (0, 0), (1, 1)])
def test_home_is_an_index_and_the_last_one_when_left_out(home, index):
    """As in the core."""
    assert home_index(home, 2) == index


@pytest.mark.parametrize(
    ("home", "error"),
    [(2, IndexError), (-1, ValueError), (True, ValueError), ("the 4", ValueError), (1.0, ValueError)],
)
def test_a_home_that_is_not_there_is_refused(home, error):
    """Out of range or no index: what was given, and one that works."""
    with pytest.raises(error, match=rf"^home={home!r} is .*for example home=1"):
        home_index(home, 2)

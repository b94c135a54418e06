"""The printed grid."""

from dataclasses import FrozenInstanceError

import numpy as np
import pytest
from hypothesis import given

import rhythmlab as rl
from tests.brute import strokes
from tests.refusals import refusal, works
from tests.strategies import TRIES, several, windows


@TRIES
@given(windows(several))
def test_a_window_of_the_grid_shows_each_stroke_on_its_tick(drawn):
    """Each cell is true exactly where its pulse has a stroke; a window is a slice of the whole."""
    p, start, stop = drawn
    stop = min(stop, start + 500)
    rows = rl.grid(p, start=start, stop=stop).rows
    assert rows.dtype == bool
    assert rows.shape == (len(p.pulses), stop - start)
    for row, ticks in zip(rows, map(set, strokes(p)), strict=True):
        assert row.tolist() == [tick in ticks for tick in range(start, stop)]


@TRIES
@given(several)
def test_the_print_can_be_read_back(p):
    """Under the count line every pulse is a row of x and ., one cell a tick, which tells its strokes."""
    stop = min(p.ticks, 300)
    lines = str(rl.grid(p, stop=stop)).splitlines()
    assert lines[0].split()[0] == "count"
    for line, pulse, ticks in zip(lines[1:], p.pulses, strokes(p), strict=True):
        name, *cells = line.split()
        assert name == str(pulse)
        assert [x for x, cell in enumerate("".join(cells)) if cell == "x"] == [t for t in ticks if t < stop]


@TRIES
@given(windows(several))
def test_the_count_stands_over_the_strokes_of_home(drawn):
    """Each number of the count line begins in the column of its home stroke, and counts on from 1."""
    p, start, stop = drawn
    stop = min(stop, start + 300)
    for home in range(len(p.pulses)):
        count, *lines = str(rl.grid(p, home=home, start=start, stop=stop)).splitlines()
        columns = [x for x, mark in enumerate(lines[home]) if mark == "x"]
        begins = [x for x in range(len(count)) if count[x].isdigit() and not count[x - 1].isdigit()]
        first = -(-start // p.step(home)) + 1
        assert begins == columns
        assert [int(n) for n in count.split()[1:]] == list(range(first, first + len(begins)))


def test_seven_against_four_prints_like_this():
    """The grid of 7:4 counted from the 4, drawn by hand."""
    assert str(rl.grid(rl.Polyrhythm(7, 4))).splitlines() == [
        "count  1      2      3      4",
        "    7  x...x...x...x...x...x...x...",
        "    4  x......x......x......x......",
    ]


def test_the_count_moves_with_home_and_the_rows_do_not():
    """Another home changes the top line only."""
    p = rl.Polyrhythm(4, 3)
    from_3, from_4 = (str(rl.grid(p, home=home)).splitlines() for home in (1, 0))
    assert from_3[1:] == from_4[1:]
    assert (from_3[0], from_4[0]) == ("count  1   2   3", "count  1  2  3  4")


def test_a_grid_cannot_be_changed():
    """Its rows are read-only and it is frozen."""
    shown = rl.grid(rl.Polyrhythm(3, 2))
    with pytest.raises(ValueError, match="read-only"):
        shown.rows[0, 0] = False
    with pytest.raises(FrozenInstanceError):
        shown.home = 0


def test_a_window_far_into_a_very_long_cycle_is_exact():
    """Half-way through a cycle of 10**18 ticks the rows are those of Python's whole numbers."""
    p = rl.Polyrhythm(1_000_000_007, 1_000_000_006)
    middle = p.ticks // 2
    rows = rl.grid(p, start=middle - 20_000, stop=middle + 20_000).rows
    for row, i in zip(rows, (0, 1), strict=True):
        hits = [t for t in range(middle - 20_000, middle + 20_000) if t % p.step(i) == 0]
        assert (np.flatnonzero(row) + middle - 20_000).tolist() == hits


@pytest.mark.parametrize(
    ("p", "window"),
    [
        (rl.Polyrhythm(1001, 1000), {}),
        (rl.Polyrhythm(1001, 1000), {"start": 300_000}),
        (rl.Polyrhythm(2**62, 2), {}),
        (rl.Polyrhythm(*[2000] * 101), {}),
        (rl.Polyrhythm(*[600] * 200), {}),
    ],
)
def test_a_grid_over_100_000_cells_is_refused(p, window):
    """The message counts the cells, and its window works for this very rhythm, however long its name."""
    cells = (p.ticks - window.get("start", 0)) * len(p.pulses)
    example = refusal(lambda: rl.grid(p, **window), f"{cells:,} cells", "more than 100,000")
    assert works(example).rows.size > 0


def test_the_largest_grid_allowed_is_held():
    """100 000 cells are shown, one tick more is not."""
    p = rl.Polyrhythm(50_001, 1)
    assert rl.grid(p, stop=50_000).rows.size == 100_000
    refusal(lambda: rl.grid(p), "100,002 cells", "more than 100,000")


def test_what_is_not_a_polyrhythm_and_a_home_that_is_not_there_are_refused():
    """A number in place of a rhythm, and a home out of range, get a message with an example."""
    example = refusal(lambda: rl.grid(4), "what=4", "is no rhythm: ")
    assert works(example).rows.shape == (2, 28)
    refusal(lambda: rl.grid(rl.Polyrhythm(7, 4), home=2), "home=2", "there are 2 pulses", IndexError)
    refusal(lambda: rl.grid(rl.Polyrhythm(7, 4), home=-1), "home=-1", "not a whole number of at least 0")

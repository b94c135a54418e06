"""What a cell shows: whole and for a person; what a list or a log shows: one line."""

import re
from html import escape, unescape
from pathlib import Path
from urllib.parse import unquote

import pytest
from IPython.core.formatters import DisplayFormatter
from IPython.core.interactiveshell import InteractiveShell
from IPython.lib.pretty import pretty

import rhythmlab as rl
from rhythmlab.core.display import Paths, Printed, Written, look
from rhythmlab.playing.sticking import Sticking
from tests.public import by_name, room_of
from tests.wrong import CALLS, METHODS, call

#: Longest that a value may say of itself where it is not shown.
LONGEST = 300
#: What gives plain data, to be copied or gone through: as Python, numpy or SVG show it.
DATA = {"classroom.taps_of", "Row.shapes", "Score.svg", "Take.meant", "Take.played", "Take.ticks"}


pytestmark = pytest.mark.usefixtures("elsewhere")


@pytest.mark.parametrize("name", sorted({*CALLS, *METHODS} - DATA))
def test_a_value_says_itself_in_a_line_and_a_cell_shows_it_whole(name):
    """``repr`` under 300 characters; a cell shows rows as they print, and more than a cut line."""
    what, given = METHODS[name]() if name in METHODS else (room_of(name), CALLS[name]())
    value = call(getattr(what, name.split(".")[-1]), given)
    said = repr(value)
    assert len(said) < LONGEST
    assert "object at 0x" not in said
    if said.endswith(" …"):
        shell = InteractiveShell.instance() if InteractiveShell.initialized() else None
        shown, _ = DisplayFormatter(parent=shell).format(value)
        assert len("".join(map(str, shown.values()))) > len(said)
    if isinstance(value, Printed):  # a table or sentences, also where there is no HTML
        rows = pretty(value)
        assert rows.splitlines()[0] == str(value) if isinstance(value, Sticking) else rows == str(value)


@pytest.mark.parametrize("name", sorted({*CALLS, *METHODS} - DATA))
def test_a_notebook_shows_every_value_of_ours_in_one_look(name):
    """A panel, a picture with its text alternative, or words in letters of one size; no bare line is left."""
    what, given = METHODS[name]() if name in METHODS else (room_of(name), CALLS[name]())
    value = call(getattr(what, name.split(".")[-1]), given)
    kind = type(value)
    ours = kind.__module__.startswith("rhythmlab.") or isinstance(value, Path)  # a file that was written, too
    if not ours or hasattr(value, "_repr_mimebundle_"):
        return
    shown = value._repr_html_()
    assert "font:15px" in shown or ("<svg" in shown and 'role="img" aria-label="' in shown)
    assert "font-size:1" not in shown


@pytest.mark.parametrize("columns", [False, True])
def test_a_look_is_text_and_no_markup_and_takes_the_colours_of_the_theme(columns):
    """Whatever a value is called; columns can be reached and scrolled by keys."""
    shown = look("<b>7</b>" + "  x..x" * columns)
    assert "&lt;b&gt;7" in shown
    assert "#" not in shown
    assert "color:var(--jp-content-font-color1,inherit)" in shown
    assert ('tabindex="0"' in shown) == columns


def test_a_file_that_was_written_is_a_link_to_it_from_the_page():
    """Beside the page or under it, whatever its name; of another one, and of those of a list, its name."""
    name = "7 <b> & 4:3#.pdf"
    for one in (Written(name), Paths([Path("pack") / name, Path(name).absolute()])):
        shown = one._repr_html_()
        ways = [Path(unquote(unescape(way))) for way in re.findall(r'<a href="([^"]*)"', shown)]
        assert [way.resolve() for way in ways] == [
            path.resolve() for path in (one if isinstance(one, Paths) else [one])
        ]
        assert not re.search(r'href="[^"]*[:# ]', shown)
        assert "<b>" not in shown
        assert escape(name) in shown
    away = Written(Path("..") / "seven-four.pdf")._repr_html_()
    assert "href" not in away
    assert "seven-four.pdf" in away
    many = Paths([Path(f"{n}.pdf") for n in range(100)])._repr_html_()
    assert many.count("<a ") == 40
    assert "and 60 more" in many


@pytest.mark.parametrize(
    "name", ["composite", "phase_gaps", "grid", "pictures.strip", "approach", "playing.zones", "stick"]
)
def test_what_is_worked_out_twice_is_equal(name):
    """The same call gives an equal value, with an equal hash where it has one."""
    one, other = (call(by_name(name), CALLS[name]()) for _ in range(2))
    if name in ("composite", "phase_gaps", "grid", "pictures.strip"):
        assert one == other
        assert hash(one) == hash(other)
    assert repr(one) == repr(other)


def test_values_of_other_rhythms_differ():
    """Lines, gaps and grids of different rhythms or windows are not equal, and nothing else is."""
    made = [
        make(p, start=start)
        for make in (rl.composite, rl.phase_gaps, rl.grid)
        for p in ((7, 4), (4, 7), (5, 4))
        for start in (0, 3)
    ]
    made += [rl.phase_gaps((7, 4), of=1), rl.grid((7, 4), home=0)]
    assert len(set(made)) == len(made)
    assert all(one != 7 and one != "7" for one in made)


def test_a_list_of_any_length_is_shown_in_few_rows():
    """Ten thousand places are forty rows and how many more there are."""
    places = rl.Feel((10_000, 9_999)).places(0)
    rows = pretty(places).splitlines()
    assert len(rows) == 41
    assert rows[-1] == "and 9,960 more"
    assert pretty(places[:2]) == repr(tuple(places[:2]))

"""What a call has accepted can be looked at: in a page, as text, as a file; nothing ends raw later."""

import inspect
import io

import pytest

import rhythmlab as rl
from rhythmlab.draw.scene import Scene
from tests.profile import some
from tests.public import by_name
from tests.wrong import CALLS, TooLong, call, each, in_time

#: The calls whose values are made of others when they are looked at.
ROOMS = ("draw", "audio", "notation", "export", "classroom")
LAZY = sorted(name for name in CALLS if by_name(name).__module__.split(".")[1] in ROOMS)
#: Those that write or draw at once, and have tests of their own.
APART = {
    *("classroom.demo_class", "classroom.handout_pack", "classroom.write_assignment", "pictures.figure"),
}
#: Which files a value can be written to.
ENDINGS = {
    "Score": (".musicxml", ".svg"),
    "Handout": (".pdf", ".txt"),
    "Midi": (".mid",),
    "Strokes": (".csv",),
    "Sound": (".wav",),
}
#: Names and titles as no one gives them on purpose.
ODD_NAMES = {
    "none": "",
    "half a letter": "bell \ud800",
    "zero byte": "x\0y",
    "formula": "$\\frac$ and $$",
    "markup": "<b>&\"'</b>]]>",
    "lines": "a\nb\r\t\x1b[31m",
    "other scripts": "拍子 לוּחַ 🥁",
    "turned": "\u202eabc",
    "signs": "{}%s=1+1",
    "long": "n" * 1000,
}
#: Warnings of a font that lacks a letter, which it draws as a box.
pytestmark = pytest.mark.filterwarnings("ignore:Glyph .* missing from font:UserWarning")


@pytest.fixture(autouse=True)
def elsewhere(tmp_path, monkeypatch):
    """Files go to a folder of their own."""
    monkeypatch.chdir(tmp_path)
    rl.classroom.write_assignment("grid-and-composite", "returned", seats=[1, 2])


def look_at(value):
    """Look at all that a value gives: what no property and no picture of it may do is fail."""
    assert repr(value).encode().strip()
    for name in dir(type(value)):
        found = inspect.getattr_static(type(value), name)
        if name == "_repr_html_":
            value._repr_html_().encode()
        elif not name.startswith("_"):
            if not inspect.isfunction(found):
                getattr(value, name)
            elif len(inspect.signature(found).parameters) == 1:
                getattr(value, name)()
    if isinstance(value, Scene):
        rl.pictures.figure(value).savefig(io.BytesIO())
    for ending in ENDINGS.get(type(value).__name__, ()):
        value.write(f"a{ending}").unlink()


@pytest.mark.parametrize("name", [name for name in LAZY if name not in APART])
def test_what_was_accepted_can_be_looked_at(name):
    """Every value that a call makes, of sensible and of strange arguments alike, shows itself."""
    seen = set()
    for _, given in [("", CALLS[name]()), *some(each(CALLS[name]), 3, name)]:
        try:
            with in_time():
                value = call(by_name(name), given)
        except (Exception, TooLong):
            continue
        if repr(value) not in seen:
            seen.add(repr(value))
            with in_time():
                look_at(value)
    assert seen


@pytest.mark.parametrize("name", ODD_NAMES.values(), ids=ODD_NAMES)
@pytest.mark.parametrize("ticks", [8, 7])
def test_a_strange_name_or_title_can_be_shown(name, ticks):
    """In even and in uneven beats: as a picture, a sound, a score, a table, and on paper."""
    lanes = [rl.Lane(name, [0, 3, 6], limb=name), rl.Lane("b", [0, 4], hands="RL")]
    cycle, tempo = rl.Cycle(ticks, lanes, beats=[0, 4]), rl.Tempo(72, ticks=4)
    title = f"a {name}"
    for value in (
        *(
            rl.pictures.strip(cycle),
            rl.pictures.shared_grid(cycle),
            rl.midi(cycle, tempo),
            rl.strokes(cycle, tempo),
        ),
        *(rl.sound(cycle, tempo, cycles=1), rl.cue(cycle, tempo, cycles=1)),
        *(rl.score(cycle, tempo, title=title), rl.handout(cycle, tempo, title=title)),
    ):
        look_at(value)

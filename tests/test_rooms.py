"""Public names live in rooms: reached in every way, whatever is imported first, and told where they are."""

import copy
import importlib
import pickle
import pydoc
import re
import subprocess
import sys
import warnings
from itertools import combinations
from types import ModuleType

import numpy as np
import pytest

import rhythmlab as rl
from rhythmlab import rooms
from rhythmlab.core import public
from rhythmlab.core.tempo import modulate
from rhythmlab.refusal import Refusal
from tests.practice.simulate import pair, played
from tests.public import PUBLIC, ROOMS, by_name, room_of

#: What `rhythmlab` itself had in 0.1.0; the list is never made anew.
BEFORE = re.findall(
    r"\w+",
    """
    Cycle Feel Journal Ladder Lane Limit Mix Polyrhythm Refusal Take Tempo accents answer answers
    approach assignment changeover check check_sticking choose_home choose_way composite
    count_phrases cue demo_class dictation drift euclid feedback feet_against_hands figure fill
    find_grid first_rhythms flams_from follow_gaps gap_cycle gradebook grid hand_to_hand handout
    handouts homes land_in_bars landmarks limits lost measure meetings merge metre midi midway
    modulate modulation move_accent my_hands near_ratios order ostinato other_words own_limits
    pattern patterns phase_gaps phrase phrases plain practise predict prepare progress pull question
    questions resolve score set_list shared_grid slips_around sound split stick strip strokes
    take_from_midi taps_of two_numbers wall ways workshop_plan write_assignment write_down zones
    """,
)
#: Names that are like each other, and why both stay.
TWINS = {
    ("limit", "limits"): "the kind of what limits() holds, of which nobody makes one",
    ("practice", "practise"): "the room, and the panel of page 08: noun and verb, as in the trade's English",
}
#: Which modules could take the place of a public name, each imported first in a process of its own: a third
#: of them, all where it is tried whole, and all of them together.
FIRST = """
import importlib, os, pkgutil, sys
from tests import profile
import IPython, ipywidgets, matplotlib.figure, mido, numpy, reportlab, verovio
import rhythmlab
from rhythmlab import rooms

known = {*rooms._reserved(), *rhythmlab.__all__}
packages = {"rhythmlab", *map("rhythmlab.{}".format, rhythmlab.__all__)}
found = [one.name.rpartition(".") for one in pkgutil.walk_packages(rhythmlab.__path__, "rhythmlab.")]
first = [f"{package}.{name}" for package, _, name in found if name in known and package in packages]
alone = profile.some([[name] for name in first], 3, "imported first")
for loaded in [name for name in sys.modules if name.split(".")[0] == "rhythmlab"]:
    del sys.modules[loaded]


def tried(first):
    for name in first:
        importlib.import_module(name)
    from rhythmlab import rooms

    for home in {"rhythmlab"} | {name.rpartition(".")[0] for name in first}:
        room = importlib.import_module(home)
        for name, (source, inside) in rooms.places(home).items():
            found = getattr(room, name)
            wanted = importlib.import_module(source)
            assert found is (getattr(wanted, inside) if inside else wanted), (home, name)
            assert found is getattr(room, name)
        assert dir(room) == sorted([*rooms.places(home), *["__version__"] * (home == "rhythmlab")])
        for name in first:
            package, _, last = name.rpartition(".")
            if package == home and last not in room.__all__:
                inside = f"{home.partition('.')[2]}.{last}".lstrip(".")
                assert not hasattr(room, last) or inside in rooms.OLD, name


for some in [*alone, first]:
    child = os.fork()
    if not child:
        try:
            tried(some)
        except BaseException as error:
            print(some, repr(error), flush=True)
            os._exit(1)
        os._exit(0)
    os.waitpid(child, 0)
print(len(first), "tried", flush=True)
"""


@pytest.fixture
def fresh(monkeypatch):
    """Give what old names say, as if nothing had been said yet."""
    monkeypatch.setattr(public, "_warned", set())
    with warnings.catch_warnings(record=True) as said:
        warnings.simplefilter("always")
        yield said


@pytest.mark.parametrize("name", PUBLIC)
def test_a_name_is_reached_in_every_way(name):
    """By dots, by either import, with a star, from its module, pickled and copied: always the same thing."""
    found, room, last = by_name(name), room_of(name), name.rpartition(".")[2]
    source, inside = rooms.places(room.__name__)[last]
    assert not isinstance(found, ModuleType)
    assert found is getattr(importlib.import_module(source), inside)
    assert found is getattr(importlib.import_module(room.__name__), last)
    for line in (f"from {room.__name__} import {last}", f"from {room.__name__} import *"):
        space = {}
        exec(line, space)
        assert space[last] is found
    space = {}
    exec(f"import {room.__name__} as where", space)
    assert space["where"] is room
    assert pickle.loads(pickle.dumps(found)) is found
    assert pickle.loads(f"c{room.__name__}\n{last}\n.".encode()) is found
    assert copy.deepcopy(found) is found


def test_no_module_takes_the_place_of_a_name_whatever_is_imported_first():
    """Each module that is called as a public or an old name, or as a room; and all of them together."""
    done = subprocess.run([sys.executable, "-c", FIRST], capture_output=True, text=True, timeout=300)
    *wrong, tried = done.stdout.splitlines() or [done.stderr]
    assert not wrong
    assert int(tried.removesuffix(" tried")) > 12, done.stderr


@pytest.mark.parametrize("room", ROOMS.values(), ids=[*ROOMS])
def test_what_a_room_shows_is_its_stub(room):
    """Tab shows the public names alone, whatever was loaded; a star gives them all."""
    known = sorted(rooms.places(room.__name__))
    assert room.__all__ == known
    assert dir(room) == sorted([*known, *["__version__"] * (room is rl)])
    for name in room.__all__:
        getattr(room, name)
    assert dir(room) == sorted([*known, *["__version__"] * (room is rl)])


def test_a_name_is_in_one_room_only():
    """So it can be told where it is."""
    lasts = [name.rpartition(".")[2] for name in PUBLIC]
    assert len(lasts) == len(set(lasts)) == len(rooms.everywhere())
    assert set(rooms.everywhere().values()) == set(PUBLIC)


def test_no_two_public_names_are_nearly_the_same():
    """Neither a letter apart, nor one the plural of the other, in all rooms together."""
    names = sorted({name.rpartition(".")[2].lower() for name in [*PUBLIC, *filter(None, ROOMS)]})
    near = [
        two for two in combinations(names, 2) if apart(*two) <= 1 or two[1] in (f"{two[0]}s", f"{two[0]}es")
    ]
    assert near == sorted(TWINS)


def apart(one: str, other: str) -> int:
    """Return how many letters must be put in, taken out or changed to make one word the other."""
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        before, row = row, [i]
        for j, b in enumerate(other, 1):
            row.append(min(before[j] + 1, row[-1] + 1, before[j - 1] + (a != b)))
    return row[-1]


def test_every_old_name_is_known():
    """What 0.1.0 had is still here: in `rhythmlab` itself, or among the old names; none is a name of now."""
    assert not set(PUBLIC) & set(rooms.OLD)
    assert set(BEFORE) - set(rl.__all__) == {old for old in rooms.OLD if "." not in old}
    assert {rooms.now(old) for old in rooms.OLD} <= set(PUBLIC)


@pytest.mark.parametrize("old", sorted(rooms.OLD))
def test_an_old_name_works_and_says_once_where_it_is_now(old, fresh):
    """By dots, imported and unpickled it is what it was; one sentence names the new place, and the line."""
    works_and_is_told(old, modulate if old == "modulate" else by_name(rooms.now(old)), fresh)


def works_and_is_told(old: str, want: object, fresh) -> None:
    """Hold that an old name gives what is wanted, in every way, and says once what is new."""
    room, _, last = old.rpartition(".")
    assert getattr(ROOMS[room], last) is want
    said = sentence(fresh)
    assert said.startswith(f"rhythmlab.{old} is now rhythmlab.{rooms.now(old)}")
    eval(said.split(" is now ")[1].split(";")[0], {"rhythmlab": rl})  # it can be typed as it stands
    assert fresh[0].filename == __file__
    space, module = {}, ROOMS[room].__name__
    exec(f"from {module} import {last}", space)
    assert space[last] is want
    assert pickle.loads(f"c{module}\n{last}\n.".encode()) is want
    assert len(fresh) == 1
    assert last not in dir(ROOMS[room])
    assert last not in vars(ROOMS[room])


@pytest.mark.parametrize("name", PUBLIC)
def test_a_name_that_is_renamed_works_by_a_row_of_old_names(name, fresh, monkeypatch):
    """In its room, and in `rhythmlab` where 0.1.0 had it; every other room says where it is now."""
    room, _, _ = name.rpartition(".")
    was = f"{room}.as_it_was".lstrip(".")
    monkeypatch.setitem(rooms.OLD, was, name)
    works_and_is_told(was, by_name(name), fresh)
    fresh.clear()
    if room:
        monkeypatch.setitem(rooms.OLD, "as_in_0_1_0", was)
        works_and_is_told("as_in_0_1_0", by_name(name), fresh)
    for other, module in ROOMS.items():
        if other != room:
            with pytest.raises(AttributeError, match=re.escape(f"did you mean rl.{name}? ")):
                module.as_it_was  # noqa: B018


def sentence(fresh) -> str:
    """Return the one sentence that was said."""
    (only,) = fresh
    assert only.category is FutureWarning
    return str(only.message)


def test_the_import_of_an_old_name_names_the_line_of_the_reader(fresh):
    """Also for ``from rhythmlab import find_grid``, and never a line of Python's own."""
    exec(compile("from rhythmlab import find_grid", "a reader's page", "exec"), {})
    assert [one.filename for one in fresh] == ["a reader's page"]


def test_what_a_modulation_comes_to_is_public():
    """`modulate` is an old name, since `modulation` holds what it gives."""
    for bpm, old, new in ((84, 3, 2), (126, 2, 3), (72, 7, 4)):
        assert rl.playing.modulation(bpm, old, new).new_bpm == modulate(bpm, old, new)


@pytest.mark.parametrize("name", PUBLIC)
def test_a_name_asked_in_another_room_is_told_where_it_is(name, fresh):
    """In every other room, and in `rhythmlab` itself where it was no name of 0.1.0."""
    last = name.rpartition(".")[2]
    for room in ROOMS.values():
        if room is room_of(name) or (room is rl and last in rooms.OLD):
            continue
        with pytest.raises(AttributeError, match=f"{room.__name__} has no '{last}'; did you mean ") as caught:
            getattr(room, last)
        assert isinstance(caught.value, Refusal)
        assert f"did you mean rl.{name}? " in str(caught.value)


@pytest.mark.parametrize("old", sorted(rooms.OLD))
def test_an_old_name_asked_in_a_room_is_told_by_its_new_one(old):
    """``rl.playing.order`` says learning_order, also where a module is called order."""
    was = old.rpartition(".")[2]
    room, _, last = rooms.now(old).rpartition(".")
    for name, module in ROOMS.items():
        if name and was not in module.__all__ and f"{name}.{was}" not in rooms.OLD:
            with pytest.raises(AttributeError) as caught:
                getattr(module, was)
            meant = last if name == room else f"rl.{rooms.now(old)}"
            assert f"did you mean {meant}? " in str(caught.value)


@pytest.mark.parametrize(
    ("room", "typed", "meant"),
    [
        ("", "gradebok", "rl.classroom.gradebook"),
        ("", "Walls", "rl.pages.wall"),
        ("", "page", "pages"),
        ("", "draw", "rl.pictures.strip"),
        ("pages", "hear", "rl.sound"),
        ("pictures", "draw", "strip"),
        ("pages", "findgrid", "find_grid"),
        ("practice", "journal", "Journal"),
        ("playing", "Journal", "rl.practice.Journal"),
    ],
)
def test_a_guess_is_told_from_where_it_is_asked(room, typed, meant):
    """What is near in this room comes first, then what is near in another."""
    with pytest.raises(AttributeError) as caught:
        getattr(ROOMS[room], typed)
    assert f"did you mean {meant}? " in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("room", ROOMS.values(), ids=[*ROOMS])
def test_help_is_a_map_on_one_screen(room):
    """At most fifty lines of a hundred letters, of which each name has one; as the command gives it, too."""
    shown = pydoc.plain(pydoc.render_doc(room))
    lines = shown.splitlines()
    assert len(lines) <= 50
    assert all(len(line) <= 100 for line in lines if room.__file__ not in line)
    assert shown == pydoc.plain(pydoc.render_doc(room.__name__))
    for name in room.__all__:
        typed = f"rl.{room.__name__}.{name}".replace("rl.rhythmlab.", "rl.")
        assert len([line for line in lines if re.match(rf"{re.escape(typed)}\b", line.strip())]) == 1, typed
    written = [line.split()[0] for line in lines if line.startswith("      rl.")]
    assert len(written) == len(room.__all__)


def test_help_in_a_terminal_is_the_same():
    """``python -m pydoc rhythmlab`` lists no modules and no docstrings below the map."""
    done = subprocess.run(
        [sys.executable, "-m", "pydoc", "rhythmlab"], capture_output=True, text=True, timeout=120
    )
    assert rl.__doc__.splitlines()[-1].strip() in done.stdout
    assert "PACKAGE" not in done.stdout
    assert len(done.stdout.splitlines()) <= 50


def test_every_call_on_a_map_runs(tmp_path, monkeypatch):
    """As it stands there, in a folder with a recording and returned pages."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    rl.midi((7, 4), 72).write("kit.mid")
    rl.classroom.write_assignment("grid-and-composite", "returned", seats=[1, 2])
    take = played(pair(4, 3), np.random.default_rng(7), spread_ms=8)
    tried = 0
    for room in ROOMS.values():
        for line in room.__doc__.splitlines():
            if line.startswith("  rl."):
                code = line.strip().split("  ")[0]
                assert eval(code, {"rl": rl, "take": take}) is not None or code == "rl.pages.check"
                tried += 1
    assert tried == len(PUBLIC) + len(ROOMS) - 1


def test_a_room_can_be_reloaded_and_changed_by_tests(monkeypatch):
    """It stays a room; what is put in place of a name is there, and goes again."""
    for room in ROOMS.values():
        assert importlib.reload(room) is room
        assert type(room) is rooms.Room
        assert room.__name__ == room.__spec__.name
    real = rl.practice.measure
    monkeypatch.setattr(rl.practice, "measure", len)
    assert rl.practice.measure is len
    monkeypatch.undo()
    assert rl.practice.measure is real
    assert not hasattr(rl.pages, "__path__")
    assert list(rl.playing.__path__)


def test_importing_the_package_loads_no_module_of_it():
    """Neither does looking at a room, nor asking what is in it."""
    code = (
        "import sys, rhythmlab as rl; dir(rl); dir(rl.pages), dir(rl.playing), dir(rl.practice)\n"
        "print(*[name for name in sys.modules if name.startswith('rhythmlab.')])\n"
        "print([name for name in ('numpy', 'IPython', 'ipywidgets') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded, others = done.stdout.splitlines()
    own = {"safe_import", "rooms", "pages", "playing", "practice"}
    assert {name.removeprefix("rhythmlab.") for name in loaded.split()} == own
    assert others == "[]"

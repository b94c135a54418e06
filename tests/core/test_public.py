"""A public call: old names of arguments still work and say so once; what does not fit is refused."""

import ast
import warnings
from pathlib import Path

import pytest

import rhythmlab as rl
from rhythmlab import resources
from rhythmlab.core import public as calls
from rhythmlab.core.public import once, public
from rhythmlab.refusal import Refusal
from tests.alike import seen
from tests.refusals import refusal, works

P, T = rl.Polyrhythm(16, 15), rl.Tempo(100, pulse=1)
MOVED = rl.limits(flam=30, hand_two=70)
RECORDED = rl.midi((4, 3), 72).data


def take() -> rl.practice.Take:
    """Return a short take."""
    named = {"cycle": (4, 3), "tempo": 72, "cycles": 1, "start": 0, "stop": 12, "mode": "one pulse"}
    return rl.practice.Take(**named, lanes=(1,), tap_lanes=[1, 1], tap_times=[0.02, 0.85], id="t1")


#: For each call with old names: the call, and arguments by the names of now, every renamed one among them.
NOW = {
    "Accents.describe": lambda: (rl.playing.accents("7/8", 5).describe, {"tempo": 210}),
    "Bars.seconds": lambda: (rl.metre("7/8").cycle().seconds, {"tempo": 210}),
    "Feel.__init__": lambda: (rl.Feel, {"what": P}),
    "Ostinato.describe": lambda: (rl.ostinato("x..x", "x..", metre="4/4").describe, {"tempo": 96}),
    "Tempo.bpm_of": lambda: (T.bpm_of, {"what": P, "pulse": 0}),
    "Tempo.in_pulse": lambda: (T.in_pulse, {"what": P, "pulse": 0}),
    "Fill.stroke_ms": lambda: (rl.playing.resolve((7, 4)).stroke_ms, {"tempo": 96}),
    "Fill.fastest": lambda: (rl.playing.resolve((7, 4)).fastest, {"limits": MOVED}),
    "Fill.hand": lambda: (rl.playing.resolve((7, 4)).hand, {"limits": MOVED}),
    "Fill.describe": lambda: (rl.playing.resolve((7, 4)).describe, {"tempo": 120, "limits": MOVED}),
    "Ladder.plan": lambda: (rl.practice.Ladder(60, 96).plan, {"minutes": 20, "limits": MOVED}),
    "approach": lambda: (rl.approach, {"what": P, "tempo": T, "limits": MOVED}),
    "changeover": lambda: (rl.playing.changeover, {"what": P, "of": 1, "against": 0, "limits": MOVED}),
    "check_sticking": lambda: (rl.playing.check_sticking, {"hands": "RLRR", "tempo": 120, "limits": MOVED}),
    "drift": lambda: (rl.drift, {"what": P, "of": 1, "against": 0}),
    "feedback": lambda: (rl.practice.feedback, {"take": take(), "limits": MOVED}),
    "fill": lambda: (rl.fill, {"metre": "4/4", "tempo": 100, "pairs": [(3, 2)], "limits": MOVED}),
    "flams_from": lambda: (rl.playing.flams_from, {"what": P, "of": 1, "against": 0}),
    "gap_cycle": lambda: (rl.pictures.gap_cycle, {"what": rl.playing.zones(P, T)}),
    "grid": lambda: (rl.grid, {"what": P}),
    "hand_to_hand": lambda: (rl.playing.hand_to_hand, {"what": P}),
    "handout": lambda: (rl.handout, {"what": (3, 2), "tempo": 72, "limits": MOVED}),
    "homes": lambda: (rl.pictures.homes, {"what": P, "tempo": T}),
    "landmarks": lambda: (rl.playing.landmarks, {"what": P, "of": 1, "against": 0}),
    "when_lost": lambda: (rl.practice.when_lost, {"what": P, "tick": 5}),
    "measure": lambda: (rl.practice.measure, {"take": take(), "limits": MOVED}),
    "midway": lambda: (rl.playing.midway, {"what": P, "of": 1, "against": 0}),
    "near_ratios": lambda: (rl.playing.near_ratios, {"what": P, "of": 1, "against": 0}),
    "other_words": lambda: (rl.playing.other_words, {"what": P, "tempo": 72}),
    "phase_gaps": lambda: (rl.phase_gaps, {"what": P, "of": 1, "against": 0}),
    "nothing_new": lambda: (rl.playing.nothing_new, {"what": (12, 8)}),
    "prepare": lambda: (rl.playing.prepare, {"what": P}),
    "pull": lambda: (rl.playing.pull, {"what": (7, 4), "tempo": 50, "of": 1, "against": 0, "limits": MOVED}),
    "shared_grid": lambda: (rl.pictures.shared_grid, {"what": P}),
    "slips_around": lambda: (rl.playing.slips_around, {"what": (16, 11), "of": 1, "against": 0}),
    "split": lambda: (rl.playing.split, {"what": P}),
    "stick": lambda: (rl.stick, {"what": (4, 3, 4, 3), "tempo": 120, "limits": MOVED}),
    "strip": lambda: (rl.pictures.strip, {"what": P}),
    "take_from_midi": lambda: (
        rl.practice.take_from_midi,
        {
            "file": RECORDED,
            "what": (4, 3),
            "tempo": 72,
            "notes": {76: 0, 77: 1},
            "when": "2030-05-04T18:30:00+02:00",
            "id": "t1",
        },
    ),
    "ways": lambda: (rl.pictures.ways, {"what": P, "tempo": T, "limits": MOVED}),
    "zones": lambda: (rl.playing.zones, {"what": rl.phase_gaps(P), "tempo": T, "limits": MOVED}),
}
#: These write or read a folder, and have a test each below.
WRITTEN = {("handout_pack", "bounds"), ("gradebook", "told"), ("write_assignment", "told")}


def old_names() -> dict[tuple[str, str], str]:
    """Return what the source says: of each call and each old name of an argument, the new name or names."""
    found = {}
    for path in sorted(Path(resources.__file__).parent.rglob("*.py")):
        if "@public(" not in (text := path.read_text(encoding="utf-8")):
            continue
        tree = ast.parse(text)
        for owner in (tree, *(one for one in tree.body if isinstance(one, ast.ClassDef))):
            for node in owner.body:
                if not isinstance(node, ast.FunctionDef):
                    continue
                name = f"{owner.name}.{node.name}" if isinstance(owner, ast.ClassDef) else node.name
                for made in node.decorator_list:
                    if isinstance(made, ast.Call) and getattr(made.func, "id", "") == "public":
                        found |= {(name, word.arg): word.value.value for word in made.keywords}
    return found


OLD = old_names()
CASES = sorted(set(OLD) - WRITTEN)


@pytest.fixture(autouse=True)
def unsaid(monkeypatch):
    """Nothing has been said yet."""
    monkeypatch.setattr(calls, "_warned", set())


def by_old(name: str, old: str) -> tuple[object, dict[str, object], dict[str, object]]:
    """Return a call with its arguments by the names of now, and with one of them by its old name."""
    function, now = NOW[name]()
    new = OLD[name, old].split()
    before = {key: value for key, value in now.items() if key not in new}
    before[old] = now[new[0]] if len(new) == 1 else tuple(now[key] for key in new)
    return function, now, before


def test_the_old_names_are_found_in_the_source():
    """All that the issue names are among them, and each has a call in the table."""
    assert {old for _, old in OLD} >= {
        *("bounds", "p", "cycle", "home", "first", "second", "faster", "slower", "pulses", "z", "gaps", "bpm")
    }
    assert {name for name, _ in CASES} == set(NOW)


@pytest.mark.parametrize(("name", "old"), CASES)
def test_an_old_name_gives_the_same_and_says_so_once(name, old):
    """As the new name; the first call of a process warns, in the reader's own line, and no other does."""
    function, now, before = by_old(name, old)
    with warnings.catch_warnings(record=True) as said:
        warnings.simplefilter("always")
        expected = seen(function(**now))
        assert said == []
        first, again = function(**before), function(**before)
    assert seen(first) == seen(again) == expected
    (one,) = said
    assert one.category is FutureWarning
    assert one.filename == __file__
    assert f"{old}= of {name.removesuffix('.__init__')} is now called " in str(one.message)
    assert all(f"{new}=" in str(one.message) for new in OLD[name, old].split())


@pytest.mark.parametrize(("name", "old"), CASES)
def test_an_old_and_its_new_name_together_are_refused(name, old):
    """Which of them is meant is not guessed, and nothing is warned of; the example works."""
    function, now, before = by_old(name, old)
    example = refusal(lambda: function(**now, **{old: before[old]}), f"{old}=", "is the old name of ")
    assert example


def test_a_pack_of_handouts_takes_its_old_name(tmp_path):
    """The same files are written."""
    (now,) = rl.classroom.handout_pack([((3, 2), 72)], tmp_path / "now", limits=MOVED)
    with pytest.warns(FutureWarning, match="bounds= of handout_pack is now called limits="):
        (before,) = rl.classroom.handout_pack([((3, 2), 72)], tmp_path / "before", bounds=MOVED)
    assert now.read_bytes() == before.read_bytes()


def test_an_assignment_and_a_gradebook_take_the_old_name_of_progress(tmp_path):
    """The same calls are made and the same result is given; the warning names the reader's own line, once."""
    was, now = [], []
    write, mark = rl.classroom.write_assignment, rl.classroom.gradebook
    with warnings.catch_warnings(record=True) as said:
        warnings.simplefilter("always")
        write("gap-cycles", tmp_path / "now", seats=range(1, 61), progress=now.append)
        expected = mark(tmp_path / "now", progress=now.append)
        assert said == []
        for nth in range(2):
            write("gap-cycles", tmp_path / f"was-{nth}", seats=range(1, 61), told=was.append)
            assert mark(tmp_path / "now", told=was.append).csv == expected.csv
    assert was == now * 2
    assert "50 of 61 pages written" in now
    assert "50 of 60 files read" in now
    assert [str(one.message).split(", and ")[0] for one in said] == [
        "told= of write_assignment is now called progress=",
        "told= of gradebook is now called progress=",
    ]
    assert {(one.category, one.filename) for one in said} == {(FutureWarning, __file__)}
    for call in (write, mark):
        refusal(lambda call=call: call("a", progress=print, told=print), "told=", "is the old name of ")


def test_two_old_names_are_said_each_once():
    """Of one call, and the same old name of another call again."""
    with warnings.catch_warnings(record=True) as said:
        warnings.simplefilter("always")
        for _ in range(3):
            rl.playing.near_ratios(P, first=0, second=1)
            rl.playing.slips_around(P, first=0)
            once("a text of its own")
    assert len(said) == 4


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: rl.playing.pull((7, 4), 72, pulses=(0,)), "pulses=(0,)", "not 2 values"),
        (lambda: rl.playing.pull((7, 4), 72, pulses=7), "pulses=7", "not a list"),
        (lambda: rl.grid((7, 4), hoem=1), "grid has no argument 'hoem'", "did you mean home=?"),
        (lambda: rl.grid((7, 4), 1), "at most 1 argument without a name and was given 2", "home="),
        (lambda: rl.grid(), "grid needs what", "it takes what, home=, start=, stop="),
        (lambda: rl.grid((7, 4), what=(3, 2)), "grid was given what twice", "it takes"),
        (lambda: rl.Cycle(4), "Cycle needs lanes and beats", "it takes ticks, lanes, beats"),
        (
            lambda: rl.playing.resolve((7, 4)).describe(120, MOVED),
            "Fill.describe takes at most 1 argument",
            "given 2",
        ),
        (
            lambda: rl.playing.ready_patterns(1),
            "patterns takes no argument without a name and was given 1",
            "takes none",
        ),
    ],
)
def test_what_does_not_fit_is_said_with_what_does(call, given, wrong):
    """Which argument, and which there are; the example runs."""
    works(refusal(call, given, wrong))


def test_an_example_of_a_class_is_given_for_a_method_that_it_has():
    """By the name of the method, in its call; an example of a method that was renamed is shown nowhere."""
    found = 0
    for path in sorted(Path(resources.__file__).parent.rglob("*.py")):
        for owner in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            for made in owner.decorator_list if isinstance(owner, ast.ClassDef) else ():
                if isinstance(made, ast.Call) and getattr(made.func, "id", "") == "public_class":
                    methods = {node.name for node in owner.body if isinstance(node, ast.FunctionDef)}
                    assert {word.arg for word in made.keywords} <= methods, owner.name
                    found += len(made.keywords)
    assert found


def test_an_error_from_inside_is_no_misfit():
    """A fault of the package is not told as one of the reader's."""

    @public("half(4)")
    def half(n):
        return inner(n, 2)

    def inner(n):
        return n

    with pytest.raises(TypeError, match="inner"):
        half(4)
    with pytest.raises(TypeError, match="unsupported operand"):
        public("double(4)")(lambda n: n + "x")(4)
    with pytest.raises(Refusal):
        half()

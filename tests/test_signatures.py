"""What an editor shows of a public call: real types, and one name for one thing."""

import inspect
import sys
import typing
import warnings

import pytest

import rhythmlab as rl
from rhythmlab.core import public
from rhythmlab.core.rhythm import Rhythm
from rhythmlab.core.tempo import Tempo
from tests.public import by_name
from tests.wrong import CALLS, METHODS

#: What may be anything: a pupil's answer, and numbers of a question that has its own.
ANYTHING = {"answer", "numbers"}


def functions():
    """Yield name and function of every public call, and of every method in the table of wrong calls."""
    for name in CALLS:
        made = by_name(name)  # which loads the module of its methods, too
        yield name, made.__init__ if inspect.isclass(made) else made
    for name in METHODS:
        kind, method = name.split(".")
        modules = [one for key, one in sys.modules.items() if key.startswith("rhythmlab.")]
        found = [getattr(vars(one).get(kind), method, None) for one in modules]
        yield from ((name, one) for one in found if inspect.isfunction(one))


def parameters():
    """Yield call, name of a parameter, its type, and the module of the call."""
    for name, function in functions():
        plain = inspect.unwrap(function)
        space = {**vars(sys.modules[plain.__module__]), "Figure": object, "Audio": object}
        hints = typing.get_type_hints(plain, globalns=space)
        for one in inspect.signature(plain).parameters:
            if one != "self":
                yield name, one, hints.get(one), plain.__module__


def test_every_parameter_says_what_it_takes():
    """An editor that shows `object` shows nothing, and lets every mistake pass."""
    vague = [
        f"{name}({one}=)"
        for name, one, kind, _ in parameters()
        if kind in (None, object, typing.Any) and one not in ANYTHING
    ]
    assert not vague


def test_a_tempo_has_one_name():
    """What can be a `Tempo` is called tempo; a ladder has two, and a panel has a field called bpm."""
    others = [
        f"{name}({one}=)"
        for name, one, kind, module in parameters()
        if Tempo in typing.get_args(kind)
        and one not in {"tempo", "now", "goal"}
        and not (one == "bpm" and module.startswith("rhythmlab.panels."))
    ]
    assert not others


def test_a_rhythm_has_one_name():
    """A rhythm is called what; a pair that must be one is a pair, and two cycles that meet are two."""
    others = [
        f"{name}({one}=)"
        for name, one, kind, _ in parameters()
        if kind == Rhythm and one not in {"what", "pair", "first", "second"}
    ]
    assert not others


SEVEN, T = (7, 4), rl.Tempo(72, pulse=1)


@pytest.mark.parametrize(
    ("new", "old", "said"),
    [
        (lambda: T.bpm_of(what=SEVEN, pulse=0), lambda: T.bpm_of(p=SEVEN, pulse=0), "p= of Tempo.bpm_of"),
        (
            lambda: T.in_pulse(what=SEVEN, pulse=0),
            lambda: T.in_pulse(p=SEVEN, pulse=0),
            "p= of Tempo.in_pulse",
        ),
        (lambda: rl.Feel(what=SEVEN), lambda: rl.Feel(polyrhythm=SEVEN), "polyrhythm= of Feel is"),
        (
            lambda: rl.metre("7/8").cycle().seconds(tempo=210),
            lambda: rl.metre("7/8").cycle().seconds(bpm=210),
            "bpm= of Bars.seconds",
        ),
        (
            lambda: rl.playing.accents("7/8", 5).describe(tempo=210),
            lambda: rl.playing.accents("7/8", 5).describe(bpm=210),
            "bpm= of Accents.describe",
        ),
        (
            lambda: rl.ostinato("x..x", "x..", metre="4/4").describe(tempo=96),
            lambda: rl.ostinato("x..x", "x..", metre="4/4").describe(bpm=96),
            "bpm= of Ostinato.describe",
        ),
        (
            lambda: rl.playing.resolve(SEVEN).stroke_ms(tempo=96),
            lambda: rl.playing.resolve(SEVEN).stroke_ms(bpm=96),
            "bpm= of Fill.stroke_ms",
        ),
        (
            lambda: rl.playing.resolve(SEVEN).describe(tempo=96),
            lambda: rl.playing.resolve(SEVEN).describe(bpm=96),
            "bpm= of Fill.describe",
        ),
        (
            lambda: str(rl.fill("4/4", tempo=100, pairs=[SEVEN])),
            lambda: str(rl.fill("4/4", bpm=100, pairs=[SEVEN])),
            "bpm= of fill is",
        ),
    ],
)
def test_the_name_of_the_version_before_works_and_says_so_once(new, old, said, monkeypatch):
    """The same comes out, and one warning names the new one."""
    monkeypatch.setattr(public, "_warned", set())
    with warnings.catch_warnings(record=True) as heard:
        warnings.simplefilter("always")
        assert old() == old() == new()
    (only,) = [str(one.message) for one in heard]
    assert only.startswith(said)


def test_one_lane_is_out_of_range_in_the_singular():
    """A tempo of the second pulse, for hands that have one line."""
    with pytest.raises(IndexError, match="there is 1 lane here, numbered from 0"):
        rl.stick((4, 3, 4, 3), T)


def test_an_error_made_of_a_refusal_keeps_its_parts():
    """A journal that cannot be exported says what is wrong apart from the example, and so do its fields."""
    with pytest.raises(rl.Refusal, match="is not a path; for example ") as caught:
        rl.practice.Journal("a-journal.jsonl").export_csv(-1)
    assert (caught.value.argument, caught.value.wrong) == ("path", "path=-1 is not a path")
    assert caught.value.example.startswith("practice.Journal().export_csv(")


def test_a_feel_says_itself_as_it_can_be_typed():
    """What is shown makes the same, without the old name of an argument."""
    feel = rl.Feel((7, 4), home=0)
    assert eval(repr(feel), {"Feel": rl.Feel, "Polyrhythm": rl.Polyrhythm}) == feel

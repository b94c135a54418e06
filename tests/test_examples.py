"""No message names a call that a reader cannot type."""

import shutil

import pytest

import rhythmlab as rl
from tests.examples import Example, all_examples, fault, whole
from tests.profile import some
from tests.refusals import works


def test_every_example_in_the_source_can_be_typed():
    """Public names, methods on what a public call gives, parameters of these, or what a field takes."""
    wrong = [f"{example}  <- {fault(example)}" for example in all_examples() if fault(example)]
    assert not wrong, f"{len(wrong)} of them:\n" + "\n".join(wrong)


def test_every_example_that_is_whole_runs(tmp_path, monkeypatch):
    """In a folder with a recording and returned pages, as their names say."""
    monkeypatch.setenv("HOME", str(tmp_path))
    needed = tmp_path / "needed"
    needed.mkdir()
    rl.midi(rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1)).write(needed / "kit.mid")
    rl.classroom.write_assignment("grid-and-composite", needed / "returned", seats=[1, 2])
    failed = []
    codes = sorted({code for example in all_examples() if (code := whole(example))})
    for number, code in enumerate(some(codes, 3, "examples")):
        shutil.copytree(needed, tmp_path / str(number))
        monkeypatch.chdir(tmp_path / str(number))
        try:
            works(code)
        except Exception as error:
            failed.append(f"{code}  <- {type(error).__name__}: {error}")
    assert not failed, f"{len(failed)} of them:\n" + "\n".join(failed)


def test_the_sweep_finds_the_examples():
    """Most of them are whole calls, in messages, constants and arguments."""
    assert len({example.text for example in all_examples()}) > 200
    assert len({code for example in all_examples() if (code := whole(example))}) > 100


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("plan(30)", "plan is not a public name"),
        ('workshop(120, "first time")', "workshop is not a public name"),
        ("Phrase([4, 4, 5])", "Phrase is not a public name"),
        ("score(p).title", "p is not a public name"),
        ("way.fits_at(72)", ".fits_at stands on nothing"),
        ("write('x.svg')", "write is not a public name"),
        ("score.write('x.svg')", ".write stands on nothing"),
        ("speed=72", "no public call takes speed="),
        ("a slower tempo", "a is not a public name"),
        ("♩", "is neither a call"),
        ("composite(p, start=0, stop=5)", "p is not a public name"),
        ("sound(what, tempo, ", "what is not a public name"),
    ],
)
def test_the_sweep_finds_what_cannot_be_typed(text, wrong):
    """Names that are not public, methods without an object, parameters of no call, plain words."""
    assert wrong in fault(Example(text, "notation/score.py", 1))


@pytest.mark.parametrize(
    "text",
    [
        "score(Polyrhythm(7, 4)).write({})",
        "rhythmlab.grid(rl.Polyrhythm(7, 4))",
        "home=1",
        "start=_gap_, stop=_gap_",
        "sound(Polyrhythm(7, 4), Tempo(72, pulse=1)",
        "phrases(14)[0].spoken('beats')",
    ],
)
def test_the_sweep_lets_pass_what_can_be_typed(text):
    """Whole calls, beginnings, methods, fragments."""
    assert fault(Example(text, "notation/score.py", 1)) == ""

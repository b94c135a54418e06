"""What a reader types into a cell after ``import rhythmlab as rl``: refusals, shown values, old calls."""

import warnings

import pytest
from IPython.core.interactiveshell import InteractiveShell

import rhythmlab as rl
from rhythmlab.core import public
from rhythmlab.refusal import Refusal


@pytest.fixture
def cells(monkeypatch):
    """Give a shell in which only ``rl`` is imported, as `get_ipython` finds it."""
    monkeypatch.delenv("VIRTUAL_ENV", raising=False)  # IPython warns where another one is active
    shell = InteractiveShell()
    shell.user_ns.clear()
    shell.user_ns["rl"] = rl
    monkeypatch.setattr("IPython.get_ipython", lambda: shell)
    return shell.user_ns


@pytest.fixture
def fresh(monkeypatch):
    """Give the notices of old calls, as if none had been said yet."""
    monkeypatch.setattr(public, "_warned", set())
    with warnings.catch_warnings(record=True) as said:
        warnings.simplefilter("always")
        yield said


def shown(error: Refusal) -> str:
    """Return the one line that a notebook shows of a refusal."""
    (line,) = error._render_traceback_()
    return line


@pytest.mark.parametrize(
    "cell",
    [
        "rl.sound((7, 4))",
        "rl.stick((4, 3, 4, 3), ms=10)",
        "rl.playing.zones((16, 15), 72, limits=30)",
        "rl.Tempo(72)",
        "rl.Cycle((7, 4))",
    ],
)
def test_an_example_runs_as_it_stands_in_the_cell_of_the_reader(cells, cell):
    """Names in an example are typed as this notebook knows them."""
    with pytest.raises(Refusal) as caught:
        eval(cell, cells)
    example = shown(caught.value).split("; for example ")[1]
    assert example.startswith("rl.")
    eval(example, cells)


def test_an_example_has_no_prefix_where_its_names_are_there(cells):
    """After ``from rhythmlab import *`` an example stands as in a script; a name of the reader's is none."""
    cells["sound"] = rl.sound
    assert shown(Refusal("no", "sound((7, 4), 72)")).endswith("for example sound((7, 4), 72)")
    cells["sound"] = "mine"
    assert shown(Refusal("no", "sound((7, 4), 72)")).endswith("for example rl.sound((7, 4), 72)")
    assert shown(Refusal("no", "home=1")).endswith("for example home=1")
    del cells["rl"]
    assert shown(Refusal("no", "sound((7, 4), 72)")).endswith("for example sound((7, 4), 72)")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("hear", "sound"),
        ("draw", "rl.pictures.strip"),
        ("write", "score"),
        ("gaps", "phase_gaps"),
        ("tempo", "Tempo"),
    ],
)
def test_a_guessed_name_is_told_in_one_line(typed, meant):
    """No inside of the package, no list of a hundred names where one is near."""
    with pytest.raises(AttributeError) as caught:
        getattr(rl, typed)
    assert f"did you mean {meant}?" in shown(caught.value)
    assert len(shown(caught.value)) < 130
    assert not hasattr(rl, typed)


@pytest.mark.parametrize(
    "name",
    [
        "two_numbers",
        "find_grid",
        "merge_pulses",
        "choose_home",
        "follow_gaps",
        "choose_way",
        "practise",
        "write_down",
        "wall",
    ],
)
def test_a_panel_takes_a_pair_as_every_call_does(name, tmp_path, monkeypatch):
    """(5, 4) shows what 5, 4 shows; what is no rhythm is refused with a call of this panel."""
    monkeypatch.chdir(tmp_path)
    panel = getattr(rl.pages, name)
    assert panel((5, 4)).feel == panel(5, 4).feel == panel(rl.Polyrhythm(5, 4)).feel
    for wrong in [("5:4",), ((5, 4), 72), (5.5, 4)]:
        with pytest.raises(Refusal) as caught:
            panel(*wrong)
        assert caught.value.example.startswith(f"pages.{name}(")


def test_a_list_of_fills_is_told_from_a_pair():
    """A list of grooves where one is meant says to choose one, and not that a pulse is no number."""
    fills = rl.fill("4/4", 100, beats=4)
    with pytest.raises(Refusal, match=r"what is a list of \d+ rhythms, and one is meant: choose one"):
        rl.sound(fills, 72)
    assert rl.composite(fills[0])


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (
            rl.playing.zones((16, 15), 72),
            "16 against the 15, Tempo(72, pulse=1): 1 together, 1 open flam before, 5 apart before, 3 alt",
        ),
        (rl.playing.pull((7, 4), 50), "Pull(pulse 0 here; pulse 0 below 64.8 bpm, pulse 1 above 90.7)"),
        (rl.playing.pull((7, 4), 72), "Pull(neither here; pulse 0 below"),
        (rl.playing.pull((16, 15), 72), "Pull(neither: pulses 0 and 1 are too alike to differ)"),
    ],
)
def test_what_is_heard_says_so_in_words(value, said):
    """No codes, arrays or fractions of a class."""
    assert said in repr(value)
    assert "array(" not in repr(value)


def test_a_judged_sticking_is_shown_as_its_verdict():
    """A cell shows what printing it says."""
    judged = rl.playing.check_sticking("RRRL", ms=100)
    assert repr(judged).startswith("stroke 3: the third R without a break")


@pytest.mark.parametrize(
    ("cell", "now"),
    [
        (
            "rl.playing.zones(gaps, t, rl.limits(flam=30))",
            "rl.playing.zones(gaps, t, limits=rl.limits(flam=30))",
        ),
        (
            "rl.playing.pull(p, t, (1, 0), rl.limits())",
            "rl.playing.pull(p, t, of=1, against=0, limits=rl.limits())",
        ),
        ("rl.playing.changeover(p, 0, 1, rl.limits())", "rl.playing.changeover(p, 0, 1, limits=rl.limits())"),
        ("rl.pictures.ways(p, t, rl.limits(flam=30))", "rl.pictures.ways(p, t, limits=rl.limits(flam=30))"),
        (
            "rl.playing.check_sticking('RLRR', 120, rl.limits())",
            "rl.playing.check_sticking('RLRR', 120, limits=rl.limits())",
        ),
    ],
)
def test_what_was_taken_without_a_name_still_is_and_says_so_once(fresh, cell, now):
    """A call of 0.1.0 gives what it gave, and each argument that now has a name is told one time."""
    p, t = rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1)
    names = {"rl": rl, "p": p, "t": t, "gaps": rl.phase_gaps(p, 0, 1)}
    assert repr(eval(cell, names)) == repr(eval(now, names))
    first = [str(one.message) for one in fresh]
    eval(cell, names)
    assert [str(one.message) for one in fresh] == first
    assert all("now given by name" in text for text in first)
    assert all(one.filename == "<string>" for one in fresh)


def test_what_was_never_taken_without_a_name_is_refused(fresh):
    """Two numbers in a row, one too many, and a name given twice."""
    p, t = rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1)
    for args in [(0,), (0, 1), ((0, 1, 2),), ((0, 1), None, 3)]:
        with pytest.raises(Refusal, match="takes at most 2 arguments without a name"):
            rl.playing.pull(p, t, *args)
    with pytest.raises(Refusal, match="was given of twice, once without its name"):
        rl.playing.pull(p, t, (0, 1), of=1)
    assert not fresh


def test_an_old_name_is_told_in_one_line_as_it_is_typed_there(cells, monkeypatch):
    """Below the cell, without a file that nobody made and the line that stands there."""
    monkeypatch.setattr(public, "_warned", set())
    usual, said = warnings.formatwarning, []
    monkeypatch.setattr(
        warnings, "showwarning", lambda *given: said.append(warnings.formatwarning(*given[:4]))
    )
    with warnings.catch_warnings():
        warnings.simplefilter("always")
        eval("rl.questions", cells)
    assert said == ["rl.questions is now rl.classroom.question_bank; the old name still works\n"]
    assert warnings.formatwarning is usual

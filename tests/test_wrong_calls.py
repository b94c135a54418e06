"""Whatever a reader gives to a public name, it works, or is refused in the package's own words."""

import inspect
from collections import Counter
from collections.abc import Mapping
from importlib.util import find_spec

import pytest

import rhythmlab as rl
from rhythmlab.rooms import OLD
from tests.profile import some
from tests.public import PUBLIC, ROOMS, by_name, room_of
from tests.wrong import BARE, CALLS, MADE, METHODS, TooLong, call, each, fault, in_time, misfits

#: Packages whose methods are all tried.
TRIED = ("core", "playing", "practice", "draw", "notation", "export", "classroom")


pytestmark = pytest.mark.usefixtures("elsewhere")


def test_every_public_name_is_tried():
    """No public name is left out of the table of calls."""
    assert set(CALLS) | BARE | MADE == set(PUBLIC)


def test_every_method_of_what_a_call_returns_is_tried():
    """No method that takes an argument is left out of the table of methods."""
    left_out = [
        f"{kind.__name__}.{name}"
        for kind in kinds_returned()
        for name, method in vars(kind).items()
        if not name.startswith("_")
        and inspect.isfunction(method)
        and len(inspect.signature(method).parameters) > 1
        if f"{kind.__name__}.{name}" not in METHODS
    ]
    assert not left_out


def kinds_returned():
    """Return the classes of what the calls and methods return, and of what is inside of that."""
    homes = tuple(f"rhythmlab.{package}." for package in TRIED)
    names = [name for name in CALLS if by_name(name).__module__.startswith(homes)]
    waiting = [call(by_name(name), CALLS[name]()) for name in names]
    for name, made in METHODS.items():
        what, given = made()
        waiting.append(call(getattr(what, name.split(".")[-1]), given))
    kinds, looked = set(), Counter()
    while waiting:
        value = waiting.pop()
        if isinstance(value, tuple | list):
            waiting += value[:8]
        elif isinstance(value, Mapping):
            waiting += list(value.values())[:8]
        elif type(value).__module__.startswith(homes) and looked[type(value)] < 3:
            looked[type(value)] += 1
            kinds |= {kind for kind in type(value).__mro__ if kind.__module__.startswith(homes)}
            waiting += [getattr(value, name) for name in dir(value) if not name.startswith("_")]
    return kinds


@pytest.mark.parametrize("name", some(sorted(CALLS), 2, "wrong values of calls"))
def test_a_wrong_value_is_refused_with_an_example_that_works(name):
    """For every argument and every value: the call works, or says what is wrong and an example that runs."""
    assert not faults_of(name, lambda: (room_of(name), CALLS[name]()))


@pytest.mark.parametrize("name", some(sorted(METHODS), 2, "wrong values of methods"))
def test_a_wrong_value_of_a_method_is_refused_with_an_example_that_works(name):
    """The same holds for every method of what a call returns."""
    assert not faults_of(name, METHODS[name])


def faults_of(name, made):
    """Return what is wrong with a call or a method, given each wrong value in each place."""
    faults = []
    for said, given in some(each(lambda: made()[1]), 3, name):
        function = getattr(made()[0], name.split(".")[-1])
        try:
            with in_time():
                call(function, given)
        except (Exception, TooLong) as error:
            wrong = fault(error, function)
            if wrong:
                faults.append(f"{name}({said}) {wrong}")
    return "\n".join([f"{len(faults)} of them:", *faults[:40]] if faults else [])


@pytest.mark.parametrize("name", sorted({*CALLS, *BARE}))
def test_arguments_that_do_not_fit_are_refused(name):
    """A strange keyword, one argument too many or twice, one missing: refused, and the example works."""
    function = by_name(name)
    assert not misfit_faults(function, CALLS.get(name, dict))


@pytest.mark.parametrize("name", sorted(METHODS))
def test_arguments_that_do_not_fit_a_method_are_refused(name):
    """The same holds for every method of what a call returns."""
    what, _ = METHODS[name]()
    assert not misfit_faults(getattr(what, name.split(".")[-1]), lambda: METHODS[name]()[1])


def misfit_faults(function, arguments):
    """Return what is wrong with a call of a function, given what does not fit it in each way."""
    faults = []
    for said, args, named in misfits(function, arguments):
        try:
            with in_time():
                function(*args, **named)
            faults.append(f"{said} is taken")
        except (Exception, TooLong) as error:
            wrong = fault(error, function)
            if wrong:
                faults.append(f"{said} {wrong}")
    return faults


@pytest.mark.parametrize("name", [*PUBLIC, *filter(None, ROOMS)])
def test_a_name_that_is_nearly_right_is_told(name):
    """Large for small letters, an underscore, a letter too many or too few: what is meant comes first."""
    where, _, name = name.rpartition(".")
    room = ROOMS[where]
    for typed in (name.swapcase(), f"{name[0]}_{name[1:]}", f"{name}x", name[:-1]):
        inside = find_spec(f"{room.__name__}.{typed}") if hasattr(room, "__path__") else None  # a module
        old = f"{where}.{typed}".lstrip(".") in OLD
        if typed not in room.__all__ and not inside and not old:
            with pytest.raises(AttributeError, match=f"has no '{typed}'; did you mean ") as caught:
                getattr(room, typed)
            meant = str(caught.value).split("did you mean ")[1].split("?")[0]
            assert meant == name or (typed == name[:-1] and meant.removeprefix("rl.") in PUBLIC)


def test_a_name_of_any_length_is_told_in_a_few_lines():
    """What is like no name gets the list alone."""
    for typed in ("qqq", "", "x" * 10**6, "\n"):
        with pytest.raises(AttributeError, match=r"rhythmlab has no '.*'; it has Cycle, ") as caught:
            getattr(rl, typed)
        assert len(str(caught.value)) < 2_000

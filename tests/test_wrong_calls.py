"""Whatever a reader gives to a public name, it works, or is refused in the package's own words."""

import pytest

import rhythmlab as rl
from tests.wrong import BARE, CALLS, MADE, VALUES, TooLong, call, fault, in_time


@pytest.fixture(autouse=True)
def elsewhere(tmp_path, monkeypatch):
    """Files that a call writes go to a folder of their own; the files that examples name are in it."""
    monkeypatch.chdir(tmp_path)
    rl.midi(rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1)).write("kit.mid")
    rl.write_assignment("grid-and-composite", "returned", seats=[1, 2])


def test_every_public_name_is_tried():
    """No public name is left out of the table of calls."""
    assert set(CALLS) | BARE | MADE == set(rl.__all__)


@pytest.mark.parametrize("name", sorted(CALLS))
def test_a_wrong_value_is_refused_with_an_example_that_works(name):
    """For every argument and every value: the call works, or says what is wrong and an example that runs."""
    function = getattr(rl, name)
    faults = []
    for argument in CALLS[name]():
        for said, value in VALUES.items():
            given = CALLS[name]()
            given[argument] = (value(), *given["*"][1:]) if argument == "*" else value()
            try:
                with in_time():
                    call(function, given)
            except (Exception, TooLong) as error:
                wrong = fault(error, function)
                if wrong:
                    faults.append(f"{name}({argument}={said}) {wrong}")
    assert not faults, f"{len(faults)} of them:\n" + "\n".join(faults[:40])

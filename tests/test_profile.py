"""How much is tried: the same part for all who draw it, the whole before a release; and no test sleeps."""

import re
from pathlib import Path

import pytest

from tests import profile

TESTS = Path(__file__).parent
#: Where a process is killed at a moment drawn at random, or a slow disk is played: nothing is waited for.
AT_RANDOM = {"test_files.py": 1, "practice/test_journal.py": 2, "waiting.py": 1}
#: In the kernel of a page, not in a test: one that a page holds and lets go of, and work that is long.
IN_A_KERNEL = {"browser/jupyter.py": 1, "browser/test_progress.py": 1}


@pytest.fixture
def of(monkeypatch):
    """Give a function that sets the profile."""

    def set_to(ci=False, long=False, seed="0"):
        for name, value in (("CI", ci), ("LONG", long), ("SEED", seed)):
            monkeypatch.setattr(profile, name, value)

    return set_to


def test_laws_get_a_fifth_of_their_examples_and_all_before_a_release(of):
    """At least ten, on a reader's machine and where changes are checked."""
    of()
    assert [profile.tries(n) for n in (100, 500, 40, 15)] == [20, 100, 10, 10]
    for more, tried in (({"ci": True}, 20), ({"long": True}, 100), ({"ci": True, "long": True}, 100)):
        of(**more)
        assert profile.tries(100) == tried


def test_a_part_of_a_matrix_is_the_same_for_every_process_and_moves_with_the_seed(of):
    """So that the processes of a run agree; over many seeds nothing is left out for good."""
    rows = [f"row {i}" for i in range(40)]
    of()
    part = profile.some(rows, 4, "a name")
    assert part == profile.some(rows, 4, "a name") == sorted(part, key=rows.index)
    assert len(part) == 10
    assert part != profile.some(rows, 4, "another name")
    seen = set()
    for seed in range(60):
        of(ci=True, seed=str(seed))
        seen |= set(profile.some(rows, 4, "a name"))
    assert seen == set(rows)


def test_a_part_is_never_empty_and_the_whole_is_the_whole(of):
    """One row of one, what must be there always, and everything in the long run."""
    of()
    assert profile.some(["one"], 9, "x") == ["one"]
    assert len(profile.some([1, 2, 3], 9, "x")) == 1
    assert {7, 8} <= set(profile.some(range(100), 50, "x", always=[7, 8]))
    of(long=True)
    assert profile.some(range(100), 50, "x") == list(range(100))


def test_no_test_lets_time_pass():
    """Tests wait for what must come; the only pauses are those of a draw, and the one of `until`."""
    found = {}
    for path in [*TESTS.rglob("*.py"), *TESTS.rglob("*.mjs")]:
        if path != Path(__file__):
            text = path.read_text(encoding="utf-8")
            count = len(re.findall(r"\bsleep\(|wait_for_timeout\(|setTimeout\(done, [0-9]", text))
            if count:
                found[path.relative_to(TESTS).as_posix()] = count
    found.pop("benchmarks/test_panel_speed.py", None)  # changes spread over the frames, on purpose
    assert found == AT_RANDOM | IN_A_KERNEL

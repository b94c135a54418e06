"""The default run leaves out only what another command of `.ci/run` runs, or nothing that is a test."""

import tomllib
from pathlib import Path

from _pytest.pathlib import fnmatch_ex

ROOT = Path(__file__).parents[1]
#: What is left out, and where it is run instead.
ELSEWHERE = {
    "tests/browser": "tests/browser",
    "tests/js": "node --test tests/js/*.test.mjs",
    "tests/typed": "mypy rhythmlab tests/typed",
    "tests/benchmarks": "",  # by hand, and the long profile
    "tests/fixtures": "",  # no tests
}


def test_only_folders_that_are_run_elsewhere_are_left_out():
    """Each is named from the top: a bare name would leave out every folder of that name, at any depth."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["pytest"]
    assert set(settings["ini_options"]["norecursedirs"]) == {*ELSEWHERE, ".*"}
    run = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert all(command in run for command in ELSEWHERE.values())
    assert not list((ROOT / "tests" / "fixtures").rglob("test_*.py"))


def test_no_other_test_is_left_out():
    """No folder above a file of tests is one that pytest does not go into."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["pytest"]
    left_out = settings["ini_options"]["norecursedirs"]
    files = [path.relative_to(ROOT) for path in (ROOT / "tests").rglob("test_*.py")]
    for file in files:
        if not str(file).startswith(tuple(f"{folder}/" for folder in ELSEWHERE)):
            within = [ROOT / folder for folder in file.parents if folder != Path(".")]
            assert not [one for one in left_out for folder in within if fnmatch_ex(one, folder)], file
    assert fnmatch_ex("notebooks", ROOT / "tests" / "notebooks")  # a bare name would

"""README and DEVELOPERS.md: commands to the letter, links that lead somewhere, a map of what is there."""

import re
import tomllib
from fnmatch import fnmatch
from pathlib import Path

import pytest

from rhythmlab.rooms import OLD
from tests.notebooks.pages import EVERY, PAGES, WORKSHOP

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
CHANGES = (ROOT / "rhythmlab" / "CHANGES.md").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
PACKAGE = ROOT / "rhythmlab"
MODULES = [
    p for p in sorted(PACKAGE.rglob("*.py")) if p.name != "__init__.py" and "__pycache__" not in p.parts
]
RUN = "python3 -m venv .venv && .venv/bin/pip install -e . && .venv/bin/python -m rhythmlab"
TEST = 'python3 -m venv .venv && .venv/bin/pip install -e ".[test]" && .venv/bin/python -m pytest -n 2'


@pytest.mark.parametrize("command", [RUN, TEST])
def test_the_two_commands_stand_alone_and_can_be_pasted(command):
    """Each is a block of its own, in one line, to the letter, and does all its own set-up."""
    assert f"```sh\n{command}\n```" in README


def test_there_is_a_quick_lane_and_a_windows_form_below_each():
    """With uv and for Windows, after the plain command."""
    run, test = README.split("## Test it")
    for part, command in ((run, RUN), (test.split("\n## ")[0], TEST)):
        below = part.partition(command)[2]
        assert "uv venv .venv && uv pip install -e" in below
        assert r".venv\Scripts\p" in below
        assert ('".[test]"' in below) == (command == TEST)


def test_the_picture_is_there_and_has_words():
    """One picture, in data/, a PNG, with a text alternative that says what is on it."""
    ((alt, target),) = re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", README)
    assert target.startswith("data/")
    assert (ROOT / target).read_bytes().startswith(b"\x89PNG")
    assert len(alt) > 40
    assert "7 against 4" in alt


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_links_and_files_that_are_named_exist(name):
    """Relative links, and everything in backticks that looks like a file of this repository."""
    text = (ROOT / name).read_text(encoding="utf-8")
    prose = re.sub(r"```.*?```", "", text, flags=re.DOTALL)
    links = [link for link in re.findall(r"\]\(([^)]+)\)", prose) if "://" not in link]
    assert all((ROOT / link).is_file() for link in links)
    named = re.findall(
        r"`([\w./-]+\.(?:md|csv|py|toml|png)|(?:rhythmlab|tests|data|notebooks)/[\w./-]*)`", prose
    )
    assert named
    for path in set(named) - {"name.csv"}:
        beside = [] if "/" in path else [*PACKAGE.rglob(path), *(ROOT / "data").rglob(path)]
        assert (ROOT / path).exists() or (PACKAGE / path).exists() or beside, path


def test_the_table_of_pages_is_the_folder():
    """One row a page, in order, by number and title."""
    rows = re.findall(r"^\| (\d\d) ([^|]+) \| ([^|]+) \|$", README, flags=re.MULTILINE)
    assert [(number, title) for number, title, _ in rows] == [
        (page.path.name[:2], page.title) for page in PAGES
    ]
    assert all(promise.strip() for *_, promise in rows)
    room = re.findall(r"^\| workshop: ([^|]+) \| ([^|]+) \|$", README, flags=re.MULTILINE)
    assert [title for title, _ in room] == [page.title for page in WORKSHOP]
    numbers = [int(page.path.name[:2]) for page in PAGES]
    runs = [n for n in numbers if n - 1 not in numbers], [n for n in numbers if n + 1 not in numbers]
    said = [
        f"{first:02} to {last:02}" if first < last else f"{first:02}"
        for first, last in zip(*runs, strict=True)
    ]
    for text in (README, CHANGES):
        assert f"pages {' and '.join(said)}" in text


def test_what_is_installed_is_named_with_its_licence():
    """Every dependency of reader and tests stands under the licence; the version cited is ours."""
    section = README.split("## Licence")[1].lower()
    needed = [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["test"]]
    for name in (re.match(r"[\w-]+", spec)[0] for spec in needed):
        assert name in section, name
    assert f"version {PROJECT['version']}" in section
    assert PROJECT["license"] == "MIT"
    assert "rhythmlab/license" in section
    assert (PACKAGE / "LICENSE").read_text().startswith("MIT License")


def test_the_changes_begin_with_this_version_and_name_every_old_name():
    """The newest version first, and each name of before beside the room, or the whole name, of now."""
    assert re.findall(r"^## (.+)$", CHANGES, flags=re.MULTILINE)[0] == PROJECT["version"]
    rows = dict(re.findall(r"^\| (`[^|]+) \| `rhythmlab\.([\w.]+)`[^|]* \|$", CHANGES, flags=re.MULTILINE))
    moved = {name: place for names, place in rows.items() for name in re.findall(r"`([\w.]+)`", names)}
    assert {name: place if "." in place else f"{place}.{name}" for name, place in moved.items()} == OLD


def test_python_is_the_same_everywhere():
    """The version asked for in prose is the one that is declared."""
    least = PROJECT["requires-python"].removeprefix(">=")
    assert f"You need Python {least} or newer" in README


def test_readme_says_how_to_take_care_and_where_the_numbers_are_from():
    """Loudness, breaks, eyes and local rules, with the two files of numbers."""
    care = README.split("## Take care")[1].split("\n## ")[0]
    for words in (
        "85 dBA",
        "NIOSH",
        "80 dB for 40 hours",
        "75 dB for children",
        "see a clinician",
        "flashes",
        "Your local rules",
    ):
        assert words in care
    assert "data/limits.csv" in care
    assert "data/sources.csv" in care


def mapped() -> dict[str, set[str]]:
    """Return the names on the map in DEVELOPERS.md, by room; what is in none is under "."."""
    found: dict[str, set[str]] = {".": set()}
    for line in DEVELOPERS.split("## The map")[1].split("```")[1].strip().splitlines():
        first, rest = line[:15].strip(), line[15:]
        if first:
            room = first.rstrip("/") if first.endswith("/") else "."
            found.setdefault(room, set()).update({first} if room == "." else ())
        found[room] |= {name.rstrip("/") for name in re.findall(r"[a-z_0-9]+/?", rest)}
    return found


def test_the_map_names_every_module_in_its_room():
    """Every module stands on it in the line of its room, every room is there, and it fits one screen."""
    named = mapped()
    for module in MODULES:
        room, *deeper = module.relative_to(PACKAGE).parts
        if not deeper:
            assert module.stem in named["."], module
        else:
            assert module.stem in named[room] or deeper[0] in named[room], module
    assert set(named) - {"."} == {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    lines = DEVELOPERS.split("## The map")[1].split("```")[1].strip().splitlines()
    assert len(lines) <= 40
    assert max(map(len, lines)) <= 120


@pytest.mark.parametrize("module", MODULES, ids=[m.relative_to(PACKAGE).as_posix() for m in MODULES])
def test_a_module_says_what_it_is(module):
    """It has a docstring of its own; a sub-package's own file is empty, or opens a room."""
    text = module.read_text(encoding="utf-8")
    assert text.startswith('"""')
    package = module.parent / "__init__.py"
    if module.parent != PACKAGE and package.exists():
        room = package.with_suffix(".pyi").exists()
        assert package.read_text().endswith("_opened(__name__)\n" if room else "")
        assert bool(package.read_text()) == room


def test_the_commands_of_the_guide_are_those_of_the_readme():
    """The set-up is the beginning of the command that tests; the checks name real folders."""
    assert TEST.rpartition(" && ")[0] in DEVELOPERS
    for folder in re.findall(r"\btests/\w+(?:\.py)?", DEVELOPERS):
        assert (ROOT / folder).exists(), folder


def test_the_top_level_holds_only_what_the_layout_allows():
    """Three files and four folders; what git ignores and names with a dot aside."""
    lines = (ROOT / ".gitignore").read_text().splitlines()
    ignored = [line.rstrip("/") for line in lines if line and not line.startswith("#")]
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    there = {name for name in there if not any(fnmatch(name, pattern) for pattern in ignored)}
    assert there == {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "notebooks",
        "rhythmlab",
        "tests",
        "data",
    }


def test_nothing_shipped_names_a_machine():
    """No path of somebody's disk stands in a page, a document or a module."""
    texts = [
        README,
        DEVELOPERS,
        CHANGES,
        *(page.path.read_text() for page in EVERY),
        *(m.read_text() for m in MODULES),
    ]
    for text in texts:
        assert not re.search(r"(?<![\w.])/(?:home|Users|work|root|tmp)/", text)

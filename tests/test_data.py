"""The data: every number has a source, every source is used, every file is described."""

import json
import re
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

import rhythmlab as rl
from rhythmlab import resources

LIMITS = resources.table("limits.csv")
SOURCES = {row["key"]: row for row in resources.table("sources.csv")}
ROOT = Path(__file__).parent.parent
SECOND_HAND = ("quoted elsewhere", "from memory", "common practice", "our choice")


def by_key(row):
    return row["key"]


def text_of(path):
    """Return what a reader sees as text: of a notebook, its cells without their outputs."""
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".ipynb":
        return "\n".join("".join(cell["source"]) for cell in json.loads(text)["cells"])
    return text


def test_every_key_is_there_once():
    """No limit and no source stands in its file twice."""
    for rows in (LIMITS, resources.table("sources.csv")):
        keys = [row["key"] for row in rows]
        assert sorted(set(keys)) == sorted(keys)


@pytest.mark.parametrize("row", LIMITS, ids=by_key)
def test_every_limit_is_whole(row):
    """A limit has a unit, a meaning, a place in a listed source, and a value or range that fits."""
    assert all(row[name] for name in ("key", "unit", "meaning", "source", "page", "status"))
    assert row["source"] in SOURCES, f"{row['source']} is not in data/sources.csv"
    given = [Fraction(row[name]) for name in ("low", "value", "high") if row[name]]
    assert given
    assert given == sorted(given)
    assert all(number > 0 for number in given)


@pytest.mark.parametrize("row", LIMITS, ids=by_key)
def test_every_limit_says_how_it_is_known(row):
    """The status is one of six, and never better than that of its source."""
    assert row["status"] in ("read", "computed", *SECOND_HAND)
    if SOURCES[row["source"]]["read"] in SECOND_HAND:
        assert row["status"] in SECOND_HAND


@pytest.mark.parametrize("row", [row for row in LIMITS if row["status"] in SECOND_HAND], ids=by_key)
def test_second_hand_limits_stay_marked(row):
    """What was not seen in the source itself says so wherever the reader meets the number."""
    limits = rl.limits()
    assert limits[row["key"]].status == row["status"]
    (line,) = [line for line in str(limits).splitlines() if line.split()[0] == row["key"]]
    assert row["status"] in line


@pytest.mark.parametrize("row", SOURCES.values(), ids=by_key)
def test_every_source_is_whole(row):
    """A source has a citation, the part that was read, and the day, or it says that it was not read."""
    assert re.fullmatch(r"[a-z0-9_]+", row["key"])
    assert row["citation"]
    assert row["where"]
    assert row["read"] in SECOND_HAND or date.fromisoformat(row["read"])


@pytest.mark.parametrize("key", SOURCES)
def test_every_source_is_used(key):
    """By a limit, as [key] in a page or the README, or by its key in the library."""
    if any(row["source"] == key for row in LIMITS):
        return
    pages = [*resources.folder("notebooks").rglob("*.ipynb"), ROOT / "README.md"]
    pages = [path for path in pages if ".ipynb_checkpoints" not in path.parts]
    named = any(f"[{key}]" in text_of(path) for path in pages)
    modules = Path(resources.__file__).parent.rglob("*.py")
    assert named or any(re.search(rf"\b{key}\b", text_of(path)) for path in modules), (
        f"no limit, page or module names the source {key}; use it, or take it out of data/sources.csv"
    )


@pytest.mark.parametrize("row", SOURCES.values(), ids=by_key)
def test_a_sentence_names_a_source_by_the_beginning_of_its_citation(row):
    """Authors and year, or whose it is; where a limit is from it, without brackets: it will stand in them."""
    assert row["citation"].startswith(row["named"])
    if row["key"] in {limit["source"] for limit in LIMITS}:
        assert not set(row["named"]) & set("()[]")


def test_every_source_that_a_page_names_is_listed():
    """A [key] with a year in it, in a page, is a key of sources.csv."""
    for path in resources.folder("notebooks").rglob("*.ipynb"):
        if ".ipynb_checkpoints" not in path.parts:
            named = set(re.findall(r"\[([a-z_]+(?:19|20)\d\d)\](?!\()", text_of(path)))
            assert named <= set(SOURCES), f"{path.name} names {named - set(SOURCES)}"


def test_every_file_is_described_once():
    """data/README.md has one heading for each file, or for a folder of alike ones, and no other."""
    data = resources.folder("data")
    files = [path for path in data.rglob("*") if path.is_file() and not path.name.startswith(".")]
    files = [path.relative_to(data).as_posix() for path in files]
    files = ["demo/returned/" if name.startswith("demo/returned/") else name for name in files]
    readme = (data / "README.md").read_text(encoding="utf-8")
    headings = re.findall(r"^## (.+)$", readme, flags=re.MULTILINE)
    assert sorted(headings) == sorted(set(files) - {"README.md"})


def test_every_entry_says_what_who_and_when():
    """Each entry of data/README.md has a sentence, who put the file together, and a date."""
    readme = (resources.folder("data") / "README.md").read_text(encoding="utf-8")
    for entry in readme.split("\n## ")[1:]:
        heading, _, body = entry.partition("\n")
        assert "Put together by" in body, heading
        assert re.search(r"\d{4}-\d\d-\d\d", body), heading

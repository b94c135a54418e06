"""A choice that is kept: read again as it was, also from old files; damaged it is none, and is set aside."""

import json
from fractions import Fraction

import pytest

from rhythmlab.panels import handed, own_groups, wall

CHOICES = {
    "hands.json": (handed.remember_hands, handed.remembered_hands, True, False),
    "groups.json": (own_groups.remember_groups, own_groups.remembered_groups, ((2, 3), (3, 4)), ()),
    "hall.json": (wall.remember_hall, wall.remembered_hall, Fraction(25, 2), None),
}
#: What the files held before they were read by one module.
OLD = {
    "hands.json": '{"about": "kept by rhythmlab: …", "left_handed": true}\n',
    "groups.json": '{"about": "kept by rhythmlab: …", "groups": "2+3, 3+4"}\n',
    "hall.json": '{"about": "kept by rhythmlab: …", "metres": "12.5"}\n',
}
each = pytest.mark.parametrize("name", CHOICES)


@each
def test_a_choice_comes_back_also_from_an_old_file(name, tmp_path, monkeypatch):
    """Nothing before it was made, then what was chosen; the file is one line that says what it is for."""
    monkeypatch.chdir(tmp_path)
    keep, kept, chosen, none = CHOICES[name]
    assert kept() == none
    said = keep(chosen)
    assert "cannot be written" not in said
    assert kept() == chosen
    row = json.loads((tmp_path / name).read_text())
    assert row["about"].startswith("kept by rhythmlab: ")
    assert [one.name for one in tmp_path.iterdir()] == [name]
    (tmp_path / name).write_text(OLD[name], "utf-8")
    assert kept() == chosen


@each
@pytest.mark.parametrize(
    "text", ["", "{", "[]", "3", "[" * 10_000, '{"about": "mine"}', "\0\xff", '{"metres": [], ']
)
def test_a_damaged_one_is_none_and_is_set_aside(name, text, tmp_path, monkeypatch):
    """What is no such choice counts as none, and is not lost when one is made."""
    monkeypatch.chdir(tmp_path)
    keep, kept, chosen, none = CHOICES[name]
    (tmp_path / name).write_text(text, "latin-1")
    assert kept() == none
    aside = f"{name.removesuffix('.json')}-damaged.json"
    assert keep(chosen).endswith(f"What was in {name} is in {aside} now.")
    assert (tmp_path / aside).read_text("latin-1") == text
    assert kept() == chosen


@each
def test_where_it_cannot_be_kept_that_is_said(name, tmp_path, monkeypatch):
    """A folder in its place: the choice holds for what is open, and nothing is raised."""
    monkeypatch.chdir(tmp_path)
    keep, kept, chosen, none = CHOICES[name]
    (tmp_path / name).mkdir()
    (tmp_path / name / "inside").write_text("x")
    said = keep(chosen)
    assert kept() in (none, chosen)
    assert (kept() == chosen) == ("cannot be written" not in said)

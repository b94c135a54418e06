"""The reader's own groups: typed once, followed by every panel, kept beside the journal."""

import pytest

import rhythmlab as rl
from rhythmlab.panels.own_groups import groups_file, remembered_groups, words_said

PAGES = ("two_numbers", "merge_pulses", "choose_home", "write_down", "practise", "wall")


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    """Keep the groups in a folder of their own."""
    monkeypatch.chdir(tmp_path)


def test_groups_typed_once_are_followed_by_every_panel():
    """Typed on one page they change its words, stay through a flip and other numbers, and meet the others."""
    page = rl.pages.choose_home(5, 4)
    assert "say 1 e & TA e)" in " ".join(page.stage.pictures[1]["said"])
    page._groups.field.value = "2+3, 3+4"
    assert groups_file().name in page._groups._note.value
    assert "say 1 e TA e &)" in " ".join(page.stage.pictures[1]["said"])
    page._flip(0)
    page._flip(1)
    page._pulses.fields[0].value = "7"
    assert page.feel.polyrhythm.pulses == (7, 4)
    assert "say 1 e & TA e & a)" in " ".join(page.stage.pictures[1]["said"])
    for name in PAGES:
        made = getattr(rl.pages, name)(5, 4)
        assert made.feel.groups == remembered_groups() == ((2, 3), (3, 4))
        assert made._groups.field.value == "2+3, 3+4"
        assert getattr(rl.pages, name)(5, 4, groups="1+4").feel.groups == ((1, 4),)


@pytest.mark.parametrize(
    "kept", ["", "[]", '{"groups": 7}', '{"groups": "9+"}', '{"groups": "' + "1+" * 9999 + '1"}']
)
def test_a_damaged_file_has_no_groups(kept):
    """Whatever stands in the file, panels open, with our groups where it cannot be read."""
    groups_file().write_text(kept)
    assert remembered_groups() == ()
    assert rl.pages.wall(5, 4).feel.groups == ()


@pytest.mark.parametrize("typed", ["2+2", "3+2, 2+3", "2+x", "1" * 400, "<b>5</b>", "2+3/8"])
def test_what_is_no_group_is_said_under_its_field(typed):
    """The line names the field and shows what can be typed; the words stay what they were."""
    page = rl.pages.two_numbers(5, 4, groups="2+3")
    before = page.stage.pictures
    page._groups.field.value = typed
    assert page._groups.line.text.startswith("said in groups")
    assert page._groups.line.text.endswith("type for example 2+3, 3+4.")
    assert page._groups.line.field == "said in groups"
    assert page.stage.pictures == before
    page._groups.field.value = "3+2"
    assert page._groups.line.text == ""


def test_the_field_is_seen_where_a_beat_needs_it():
    """Pairs counted in up to four parts from either home have no field for groups."""
    page = rl.pages.two_numbers(4, 3)
    assert page._groups.layout.display == "none"
    assert rl.pages.two_numbers(5, 2)._groups.layout.display == ""
    assert rl.pages.two_numbers(2, 5)._groups.layout.display == ""
    assert words_said(page.feel, page.tempo) == ""


def test_what_a_panel_saves_is_said_in_its_groups():
    """Score and handout of a panel have the words that it shows."""
    made = rl.pages.two_numbers(5, 4, groups="2+3")._content()
    assert made.groups == ((2, 3),)

"""The set list on the wall: one key on, one key back, kept in a file, and a handout for each item."""

import os
import re
import sys
import tempfile
import types
from html import unescape
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmlab.core.long_work import shown
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.draw.scene import Text
from rhythmlab.panels.cycle_panel import cut
from rhythmlab.panels.plan import LEVELS, workshop_plan
from rhythmlab.panels.saving import KINDS
from rhythmlab.panels.set_list import set_list
from rhythmlab.panels.wall import fitting_view
from rhythmlab.playing.sentence import Sentence
from rhythmlab.practice.set_list import FIRST, SetList, read_line
from rhythmlab.refusal import Refusal
from rhythmlab.text import descriptions
from tests.panels.inside import leads_to
from tests.profile import some, tries

MINE = (
    "pair | pulses: 4 3 | bpm: 80 | title: By the sea\n"
    "accents | metre: 2+2+3/8 | accent every: 5 | bpm: 180\n"
    "pair | pulses: 3 4 5 | home: 4 | bpm: 60\n"
)


def press(panel, what, **more):
    panel.stage._message(None, {"pressed": what, **more}, [])


@pytest.fixture
def mine(folder):
    """Open a set list of three items."""
    (folder / "set-list.txt").write_text(MINE)
    return set_list()


def push(panel, name):
    panel._buttons[name].click()
    return panel._told.value


def test_it_starts_with_the_first_item_and_says_which_comes_next(mine):
    """Shown, planned, its title over it, and the key that goes on."""
    assert mine.stage.plan["pulses"] == [4, 3]
    assert (
        mine.stage.room["hint"] == "1 of 3: By the sea · Page Down: An accent every 5 eighths in 7/8 as 2+2+3"
    )
    assert (mine.stage.head["title"], mine.stage.head["named"]) == ("By the sea", True)
    assert mine.stage.notice == ""
    assert "3 items from set-list.txt." in mine._told.value


def test_the_list_is_on_the_shelf_of_the_stage(mine):
    """Its lines and its buttons stand in the drawer, before what belongs to the room."""
    first, room = mine.stage.parts["shelf"]
    assert (first["name"], room["name"]) == ("Set list", "Room")
    (lines,), buttons = (row["fields"] for row in first["rows"])
    assert lines is mine._text
    assert buttons == list(mine._buttons.values())
    assert mine.children == (mine.stage,)


def test_one_key_goes_on_and_one_goes_back(mine):
    """A groove, three pulses with their home, and back again; at the ends it says so and stays."""
    press(mine, "previous")
    assert mine.stage.notice == "That is the first item of the set list; Page Down goes on."
    press(mine, "next")
    assert mine.stage.notice == ""
    assert mine.stage.plan["ticks"] == 35
    assert mine.stage.head["title"] == "An accent every 5 eighths in 7/8 as 2+2+3"
    press(mine, "next")
    assert mine.stage.plan["pulses"] == [3, 4, 5]
    assert mine.stage.home == 1
    assert float(mine.tempo.bpm_of(Polyrhythm(3, 4, 5), 1)) == 60
    assert mine.stage.room["hint"] == "3 of 3: 3 against 4 against 5 · the last one"
    press(mine, "next")
    assert mine.stage.notice == "That is the last item of the set list; Page Up goes back."
    assert mine.stage.plan["pulses"] == [3, 4, 5]
    press(mine, "previous")
    press(mine, "previous")
    assert mine.stage.plan["pulses"] == [4, 3]
    assert mine._pulses.texts == ["4", "3"]


@given(st.lists(st.sampled_from(["halves", "gaps", "bare", "flip", "hands", "bpm"]), max_size=4))
@settings(max_examples=tries(10))
def test_a_title_stays_over_its_item_whatever_is_pressed(pressed):
    """Until other numbers are called, which have none."""
    with tempfile.TemporaryDirectory() as where:
        (Path(where) / "list.txt").write_text(MINE)
        panel = set_list(Path(where) / "list.txt")
        for one in pressed:
            if one == "hands":
                panel.hands_chosen(not panel.left_handed)
            elif one == "flip":
                panel._flip(1 - panel.feel.home)
            elif one == "bpm":
                panel._bpm.value = str(70 + len(panel.stage.head["facts"]) % 20)
            else:
                press(panel, one, on=True)
            assert panel.stage.head["title"] == "By the sea", one
            assert panel.stage.head["facts"].startswith("12 ticks"), one
        press(panel, "enter", number=1, texts=["7", "4"])
        assert panel.stage.head["facts"].startswith("28 ticks")
        assert "named" not in panel.stage.head
        press(panel, "next")
        press(panel, "previous")
        assert panel.stage.head["title"] == "By the sea"


def test_numbers_called_in_between_do_not_lose_the_place(mine):
    """The room's pair sounds; Page Down goes on with the list."""
    press(mine, "enter", number=1, texts=["7", "4"])
    assert mine.stage.plan["pulses"] == [7, 4]
    assert mine.stage.room["answered"] == 1
    assert (
        mine.stage.room["hint"]
        == "On the wall: 7 against 4 · Page Down: An accent every 5 eighths in 7/8 as 2+2+3"
    )
    press(mine, "next")
    assert mine.stage.plan["ticks"] == 35


def test_nothing_is_written_before_save_is_pressed(folder):
    """A list to begin with is shown; the folder stays as it was until the reader keeps it."""
    panel = set_list()
    assert panel._text.value == FIRST
    press(panel, "next")
    assert os.listdir(folder) == []
    assert "5 items" in push(panel, "Save the list")
    assert (folder / "set-list.txt").read_text() == FIRST


def test_what_is_on_the_wall_can_be_added_and_saved(mine, folder):
    """The line of the pair at the end of the field; kept only by Save."""
    press(mine, "enter", number=1, texts=["7", "4"])
    assert "pair | pulses: 7 4 | home: 4 | bpm: 106.67" not in mine._text.value
    push(mine, "Add what is on the wall")
    assert mine._text.value.startswith(MINE)
    assert len(mine.items) == 4
    assert (folder / "set-list.txt").read_text() == MINE
    push(mine, "Save the list")
    assert set_list().items[3].what == Polyrhythm(7, 4)


def test_a_damaged_line_is_told_and_saved_as_it_is(folder):
    """The others can be stepped through."""
    (folder / "set-list.txt").write_text("pair | pulses: 4 3\nwhat <b>is</b> this\npair | pulses: 5 4\n")
    panel = set_list()
    told = "Line 2, 'what <b>is</b> this', could not be read and stays as it is"
    assert told in unescape(panel._told.value)
    assert "<b>is" not in panel._told.value
    press(panel, "next")
    assert panel.stage.plan["pulses"] == [5, 4]
    push(panel, "Save the list")
    assert "what <b>is</b> this\n" in (folder / "set-list.txt").read_text()


def test_a_file_that_changed_is_told_and_both_can_be_kept(mine, folder):
    """Save refuses, Save beside keeps, Read it again shows the other one."""
    (folder / "set-list.txt").write_text("pair | pulses: 9 8\n")
    assert "changed by something else" in push(mine, "Save the list")
    said = push(mine, "Save beside")
    assert "Saved in set-list-2.txt: 3 items." in said
    assert leads_to(said) == [folder / "set-list-2.txt"]
    push(mine, "Read it again")
    assert mine.stage.plan["pulses"] == [9, 8]
    assert (folder / "set-list-2.txt").read_text() == MINE


@pytest.mark.parametrize(
    ("edit", "hint"),
    [
        (lambda rows: ["pair | pulses: 9 8", *rows], "3 of 4: An accent every 5 eighths in 7/8 as 2+2+3"),
        (lambda rows: rows[1:], "1 of 2: An accent every 5 eighths in 7/8 as 2+2+3"),
        (lambda rows: rows[::-1], "2 of 3: An accent every 5 eighths in 7/8 as 2+2+3"),
        (
            lambda rows: rows[:1] + rows[2:],
            "On the wall: An accent every 5 eighths in 7/8 as 2+2+3 \u00b7 Page Down: 3 against",
        ),
        (
            lambda rows: rows[:1],
            "On the wall: An accent every 5 eighths in 7/8 as 2+2+3 \u00b7 the list is at its end",
        ),
        (lambda rows: [rows[0], "accents | accent every: 3", rows[2]], "On the wall: An accent every 5"),
        (lambda rows: [], "Type a number"),
    ],
)
@pytest.mark.parametrize("button", ["Save the list", "Save beside"])
def test_after_a_save_the_large_line_says_what_is_on_the_wall(mine, edit, hint, button):
    """Whatever was added, taken out, moved or changed: its own title, and the next one comes next."""
    press(mine, "next")
    ticks = mine.stage.plan["ticks"]
    mine._text.value = "\n".join(edit(MINE.splitlines()))
    push(mine, button)
    assert mine.stage.plan["ticks"] == ticks
    assert mine.stage.room["hint"].startswith(hint)
    following = mine.stage.room["hint"].partition("Page Down: ")[2]
    if following:
        press(mine, "next")
        assert mine.items[mine.at].title == following


@pytest.mark.parametrize("steps", [0, 1, 2])
@pytest.mark.parametrize("called", [False, True])
def test_a_list_with_nothing_of_the_one_before_begins_with_its_first(mine, steps, called):
    """However far the one before had come, and whatever was called; what is on the wall stays there."""
    for _ in range(steps):
        press(mine, "next")
    if called:
        press(mine, "enter", number=1, texts=["7", "4"])
    ticks = mine.stage.plan["ticks"]
    mine._text.value = "".join(f"pair | pulses: {p} 4\n" for p in (9, 11, 13, 15))
    push(mine, "Save the list")
    assert mine.stage.plan["ticks"] == ticks
    for at, title in enumerate(("9 against 4", "11 against 4", "13 against 4", "15 against 4")):
        assert mine.stage.room["hint"].endswith(f"Page Down: {title}")
        press(mine, "next")
        assert mine.stage.room["hint"].startswith(f"{at + 1} of 4: {title}")


LINES = [*MINE.splitlines(), "pair | pulses: 9 8", "accents | accent every: 3"]


@settings(max_examples=tries(60), deadline=None)
@given(st.lists(st.one_of(st.lists(st.sampled_from(LINES)), st.sampled_from([-1, 1])), max_size=6))
def test_whatever_was_saved_and_however_often_the_list_can_be_stepped_through(changes):
    """Saves and steps in any order: the large line names what Page Down shows, and all that follow come."""
    panel = STEPPED.pop() if STEPPED else set_list()
    with tempfile.TemporaryDirectory() as folder:
        panel.songs = SetList(Path(folder) / "set-list.txt")
        for change in changes:
            if isinstance(change, list):
                panel._text.value = "\n".join(change)
                push(panel, "Save the list")
            else:
                press(panel, "next" if change > 0 else "previous")
            assert -1 <= panel.at < max(len(panel.items), 1)
        shown = []
        while following := panel.stage.room["hint"].partition("Page Down: ")[2]:
            press(panel, "next")
            assert panel.items[panel.at].title == following
            shown.append(panel.at)
        assert shown == list(range(len(panel.items) - len(shown), len(panel.items)))
        assert shown or not panel.items or panel.at == len(panel.items) - 1
    STEPPED.append(panel)


#: The panel that one example of the law leaves to the next.
STEPPED = []


def test_numbers_called_and_a_save_leave_the_numbers_in_the_line(mine):
    """The line says what is on the wall, and the list goes on where it was."""
    press(mine, "enter", number=1, texts=["7", "4"])
    push(mine, "Save the list")
    assert (
        mine.stage.room["hint"]
        == "On the wall: 7 against 4 \u00b7 Page Down: An accent every 5 eighths in 7/8 as 2+2+3"
    )


def test_an_item_is_shown_in_its_view_with_its_sentence(folder):
    """The gap cycle for a pair that fits the line; the sentence first of all words, and gone with a call."""
    (folder / "set-list.txt").write_text(
        "pair | pulses: 5 4 | view: gap cycle | sentence: tide comes in\n"
        "pair | pulses: 5 4\naccents | sentence: walk a-long the shore\n"
    )
    panel = set_list()
    assert panel.stage.room["gaps"]
    assert panel.stage.pictures[1]["said"][0] == "tide comes in"
    press(panel, "enter", number=1, texts=["5", "4"])
    assert not panel.stage.room["gaps"]
    assert "tide comes in" not in panel.stage.pictures[1]["said"]
    press(panel, "next")
    assert not panel.stage.room["gaps"]
    press(panel, "next")
    assert panel.stage.pictures[0]["said"][0] == "walk a-long the shore"


def test_a_sentence_typed_under_the_wall_is_added_with_its_pair(mine):
    """What was typed once is kept with its pair and its view, and comes back with the item."""
    press(mine, "enter", number=1, texts=["3", "2"])
    mine._words.value = "*hear the *har-bour"
    assert "| sentence: *hear the *har-bour" in push(mine, "Add what is on the wall")
    assert mine.items[-1].sentence == "*hear the *har-bour"


def test_no_advice_to_the_writer_stands_before_the_room(folder):
    """Plain words that fit are laid on the line and told as they are; words of a plan have their stresses."""
    (folder / "set-list.txt").write_text("pair | pulses: 3 2 | sentence: hear the har-bour\n")
    assert set_list().stage.pictures[1]["said"][0] == "hear the har-bour."
    planned = set_list(workshop_plan(60))
    for _ in range(len(planned.items) - 1):
        assert not any("put a star" in text for one in planned.stage.pictures for text in one["said"])
        press(planned, "next")


def test_a_sentence_that_fits_is_laid_on_the_line(folder):
    """Each syllable stands in the picture and in the field; the next item says its own or none."""
    (folder / "set-list.txt").write_text(
        "pair | pulses: 3 2 | sentence: *hear the *har-bour\npair | pulses: 3 2\n"
    )
    panel = set_list()
    assert "say: HEAR the HAR-bour" in panel.stage.pictures[1]["svg"]
    assert panel.stage.pictures[1]["said"][0] == "HEAR the HAR-bour."
    assert panel._words.value == "*hear the *har-bour"
    press(panel, "next")
    assert "HAR" not in panel.stage.pictures[1]["svg"]
    assert panel._words.value == ""


def test_what_was_wrong_with_a_sentence_goes_with_its_item(folder):
    """A sentence with too few syllables is told beside its pair, and not beside the groove after it."""
    path = folder / "list.txt"
    path.write_text(
        "pair | pulses: 7 4 | sentence: *one and *two\naccents | metre: 2+2+3/8 | accent every: 5\n"
    )
    panel = set_list(path)
    assert "3 syllables" in panel._words_line.text
    told = "line 1 does not fit and is shown as plain words: it has 3 syllables for the 10 sounds"
    assert told in panel._told.value
    assert told in push(panel, "Save the list")
    press(panel, "next")
    assert panel._shown.title == "An accent every 5 eighths in 7/8 as 2+2+3"
    assert panel._words_line.text == ""


def test_what_is_added_keeps_the_view_that_was_chosen(mine):
    """The gap cycle of 5 against 4, since it is not the one that fits."""
    press(mine, "enter", number=1, texts=["5", "4"])
    press(mine, "gaps")
    assert "pair | pulses: 5 4 | home: 4 | bpm: 80 | view: gap cycle" in push(mine, "Add what is on the wall")


@pytest.mark.parametrize(("minutes", "level"), some(product([30, 60, 120, 240], LEVELS), 3, "plans"))
def test_a_plan_becomes_a_set_list_in_one_call_and_in_one_click(folder, minutes, level):
    """Each pair and phrase of each part, in order, under its name; nothing that is there is written over."""
    planned = workshop_plan(minutes, level)
    panel = set_list(planned)
    units = [part.unit for part in planned.plan.parts if part.kind == "play"]
    pairs = [pair for unit in units for pair in unit.pairs]
    assert [item.what.pulses for item in panel.items if item.kind == "pair"] == pairs
    assert len(panel.items) == len(pairs) + sum(len(unit.lines) for unit in units)
    names = [name for unit in units for name in [unit.name] * (len(unit.pairs) + len(unit.lines))]
    assert len(panel.items) == len(names)
    for item, name in zip(panel.items, names, strict=True):
        if item.title != name:  # one of several: the pair comes first, where a long title is not cut
            assert item.title.lower() == f"{descriptions.pair(item.what)}: {name}".lower()
            assert cut(item.title, 34).startswith(f"{descriptions.pair(item.what)}: {name[0].lower()}")
    assert panel.items.warning == ""
    said = [unit.words for unit in units for _ in (*unit.pairs, *unit.lines)]
    assert [item.sentence for item in panel.items] == said
    for item in panel.items:
        if item.kind == "pair":
            assert item.what.pulses[item.home] == item.what.pulses[-1]
            assert item.view == ("gap cycle" if fitting_view(item.what) == "gap cycle" else "")
    for unit in units:
        assert re.search(f"^# .*{re.escape(unit.say)}$", panel._text.value, re.M)
    assert os.listdir(folder) == []
    for _ in panel.items[1:]:
        press(panel, "next")
        assert panel.stage.notice == ""
    (folder / "set-list.txt").write_text(MINE)
    push(set_list(planned.plan), "Save the list")
    planned._listed.click()
    assert (folder / "set-list.txt").read_text() == MINE
    assert (folder / "set-list-2.txt").read_text() == (folder / "set-list-3.txt").read_text()
    assert "kept in set-list-3.txt: run rl.pages.set_list(" in planned.stage.notice
    assert leads_to(planned.stage.value) == [folder / "set-list-3.txt"]
    name = re.search(r'set_list\("(.*)"\)', planned.stage.notice)[1]
    assert len(set_list(name).items) == len(panel.items)


def test_the_page_that_a_plan_names_is_linked_where_it_is(folder):
    """Beside its list; where the page is not in the folder the list alone is."""
    planned = workshop_plan(60)
    planned._listed.click()
    assert leads_to(planned.stage.value) == [folder / "set-list.txt"]
    (folder / "set-list.txt").unlink()
    page = folder / "workshop" / "step-through-a-set-list.ipynb"
    page.parent.mkdir()
    page.write_text("{}")
    planned._listed.click()
    assert "open workshop/step-through-a-set-list.ipynb" in planned.stage.notice
    assert leads_to(planned.stage.value) == [folder / "set-list.txt", page]


def test_an_empty_list_and_an_unreadable_file_leave_a_wall_that_works(folder):
    """What is wrong is told; typing numbers goes on."""
    (folder / "set-list.txt").write_text("# nothing yet\n")
    panel = set_list()
    press(panel, "next")
    assert "no items" in panel.stage.notice
    assert panel.stage.room["hint"].startswith("Type a number")
    assert "no items" in push(panel, "Handouts for all")
    (folder / "set-list.txt").write_bytes(b"\xff\xff")
    panel = set_list()
    assert "not a text in UTF-8" in panel._told.value
    press(panel, "enter", number=1, texts=["5", "3"])
    assert panel.stage.plan["pulses"] == [5, 3]


def test_a_handout_pack_is_made_in_one_click(mine, folder, monkeypatch):
    """Each item with its tempo, home, title and the reader's hands, into a folder beside the list."""
    asked = []
    mine.left_handed = True
    fake = types.ModuleType("rhythmlab.export.handout")
    fake.handout_pack = lambda items, where: (
        asked.append((items, where)) or [where / f"{i}.pdf" for i in range(3)]
    )
    monkeypatch.setitem(sys.modules, "rhythmlab.export.handout", fake)
    assert f"3 handouts in the folder {folder.name}/handouts, beside the set list." in push(
        mine, "Handouts for all"
    )
    ((items, where),) = asked
    assert where == folder / "handouts"
    assert items[0]["title"] == "By the sea"
    assert [item["home"] for item in items] == [1, None, 1]
    said = {"what", "tempo", "home", "title", "groups", "spoken", "left_handed"}
    assert all(set(item) == said for item in items)
    assert all(item["left_handed"] is True for item in items)


def test_a_pack_has_what_each_handout_saved_from_the_wall_has(folder, monkeypatch):
    """The sentence that is laid on its line, the words of a phrase and the groups chosen on the wall."""
    made, one = [], []

    def kept(args, said):
        one[:] = [(args, said)]
        return types.SimpleNamespace(write=lambda *_, **__: None)

    monkeypatch.setattr("rhythmlab.export.handout.handout_pack", lambda all_of, _: made.extend(all_of) or [])
    monkeypatch.setattr("rhythmlab.export.handout.handout", lambda *args, **said: kept(args, said))
    (folder / "set-list.txt").write_text(
        "pair | pulses: 4 3 | sentence: *waves that *knock the *har-bour | title: By the sea\n"
        "pair | pulses: 5 4 | home: 5 | sentence: *too few\n"
        "pair | pulses: 3 2 | sentence: to-geth-er | bpm: 60\n"
        "phrase | number: 7 | count: numbers\n"
        "accents | metre: 2+2+3/8 | accent every: 5\n"
    )
    panel = set_list()
    panel._groups.field.value = "2+3"
    push(panel, "Handouts for all")
    assert isinstance(made[0]["what"], Sentence)
    for item in made:
        KINDS["handout (PDF)"][2](panel._content(), folder / "x.pdf", 1, False)
        ((what, tempo), said) = one[0]
        asked = {"what": what, "tempo": tempo, **said}
        for name in ("home", "groups", "spoken", "left_handed", "tempo", "what"):
            assert (type(asked[name]), asked[name]) == (type(item[name]), item[name]), (item["title"], name)
        assert getattr(what, "text", "") == getattr(item["what"], "text", "")
        press(panel, "next")


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (
            Refusal("no room on this paper", "handout(Polyrhythm(7, 4), 72)"),
            "no room on this paper.",
        ),
        (OSError(28, "No space left on device"), "No space left on device"),
        (RuntimeError("broken"), "a fault of the page: RuntimeError: broken"),
    ],
)
def test_a_pack_that_cannot_be_made_is_told(mine, monkeypatch, error, said):
    """In the panel, in a sentence."""

    def refuse(*_):
        raise error

    fake = types.ModuleType("rhythmlab.export.handout")
    fake.handout_pack = refuse
    monkeypatch.setitem(sys.modules, "rhythmlab.export.handout", fake)
    assert said in push(mine, "Handouts for all")


def test_an_installation_that_cannot_make_handouts_says_so(mine, monkeypatch):
    """An import that fails is told plainly, and the panel goes on."""
    monkeypatch.setitem(sys.modules, "rhythmlab.export.handout", None)
    assert "Handouts cannot be made with this installation" in push(mine, "Handouts for all")
    press(mine, "next")
    assert mine.stage.plan["ticks"] == 35


def test_the_real_handouts_are_made(folder):
    """Two PDFs with their plain twins for a list of two pairs."""
    (folder / "set-list.txt").write_text("pair | pulses: 4 3 | bpm: 80\npair | pulses: 7 4 | title: a/../b\n")
    panel = set_list()
    said = push(panel, "Handouts for all")
    assert f"2 handouts in the folder {folder.name}/handouts, beside the set list." in said
    made = sorted(os.listdir(folder / "handouts"))
    assert leads_to(said) == [folder / "handouts" / name for name in made if name.endswith(".pdf")]
    assert leads_to(push(panel, "Read it again")) == []
    assert sum(name.endswith(".pdf") for name in made) == 2
    assert all(
        (folder / "handouts" / name).read_bytes()[:5] == b"%PDF-" for name in made if name.endswith(".pdf")
    )
    assert sorted(os.listdir(folder)) == ["handouts", "set-list.txt"]


def test_lines_that_are_not_kept_are_read_over_only_when_asked_for_twice(mine, folder):
    """The first press says so and leaves the field; another button, or another letter, asks anew."""
    assert "3 items from set-list.txt." in push(mine, "Read it again")
    typed = mine._text.value = MINE + "pair | pulses: 9 8\n"
    for press_between in ("Add what is on the wall", None):
        said = push(mine, "Read it again")
        assert "not saved. Press again to read set-list.txt over it, or press Save beside" in said
        assert mine._text.value.startswith(typed)
        if press_between:
            push(mine, press_between)
    assert "3 items from set-list.txt." in push(mine, "Read it again")
    assert mine._text.value == MINE
    assert (folder / "set-list.txt").read_text() == MINE


def test_handouts_that_take_long_say_so_first_and_say_when_they_were_stopped(mine, monkeypatch):
    """The line is there while they are made; an interrupt is told, and is no fault of the page."""
    seen = []

    def stopped(*_):
        seen.append(mine._told.value)
        raise KeyboardInterrupt

    monkeypatch.setattr("rhythmlab.export.handout.handout_pack", stopped)
    assert "Stopped: each file that is there is whole" in push(mine, "Handouts for all")
    assert "Making 3 handouts: press Stop to end it early." in seen[0]


def test_a_stop_is_there_while_it_is_said_that_there_is_one(mine, monkeypatch):
    """From the first handout, however few there are, until the last."""
    seen = []

    def pack(items, _):
        for _ in shown(items, len(items), "A pack", long=False):
            seen.append((mine._bar.what, mine._bar.working, "press Stop" in mine._told.value))
        return []

    monkeypatch.setattr("rhythmlab.export.handout.handout_pack", pack)
    assert "press Stop" not in push(mine, "Handouts for all")
    assert seen == [("A pack", True, True)] * 3
    assert not mine._bar.what


def test_a_phrase_on_the_wall_is_labelled_with_the_words_it_says(folder):
    """Numbers within each group, as the sentence under the picture has them, also where it is saved."""
    (folder / "set-list.txt").write_text("phrase | number: 13 | bpm: 96\nphrase | number: 14 | bpm: 96\n")
    panel = set_list()
    for _ in range(2):
        picture = panel.stage.pictures[0]
        said = next(text for text in picture["said"] if text.startswith("Say: "))
        words = said.removeprefix("Say: ").removesuffix(".").replace("|", " ").split()
        marks = panel._content().scene.marks
        counted = [m for m in marks if isinstance(m, Text) and m.side == ""]
        counted = [m for m in counted if m.role in ("big", "small")]
        assert len(counted) == panel._shown.cycle.ticks
        assert all(words[int(m.x) % len(words)] == m.text for m in counted)
        drawn = re.findall(r"<text[^>]*>([^<]*)</text>", picture["svg"])
        assert not {"e", "&amp;", "a"} & {*drawn}
        assert {*words} <= {*drawn}
        press(panel, "next")


@pytest.mark.parametrize(
    ("line", "tempo", "counted"),
    [
        ("accents | metre: 2+2+3/8 | bpm: 180", "180 bpm of an eighth", "beat"),
        ("resolve | hands: 7 | against: 4 | metre: 2+2+3/8 | bpm: 96", "96 bpm of an eighth", "beat"),
        (
            "ostinato | feet: x..x.. | hands: x.x.xx | metre: 6/8 | bpm: 60",
            "60 bpm of a dotted quarter",
            "beat",
        ),
        ("ostinato | feet: x... | hands: x.x. | metre: 4/4 | bpm: 60", "60 bpm of a quarter", "beat"),
        ("resolve | hands: 7 | against: 4 | metre: 7/8 | bpm: 92", "92 bpm of an eighth", "beat"),
        ("phrase | number: 14 | groups of: 4 3 | bpm: 96", "96 bpm of a quarter", "group"),
    ],
)
def test_a_tempo_names_its_note(folder, line, tempo, counted):
    """Beats of 2, 2 and 3 have no one tempo, so the eighth is said; a phrase, counted anew, has groups."""
    (folder / "set-list.txt").write_text(f"{line}\n")
    panel = set_list()
    assert panel.stage.head["facts"].startswith(f"{tempo}, ")
    assert panel.stage.pictures[0]["counted"] == counted


@pytest.mark.parametrize("letters", [1, 34, 35, 72, 73, 120])
@pytest.mark.parametrize("line", ["pair | pulses: 7 4", "accents | metre: 7/8", "phrase | number: 14"])
def test_titles_are_whole_on_the_wall(folder, line, letters):
    """Up to the 120 letters that a title may have, the one shown and the one that comes next."""
    titles = [("By the sea <& " * 9)[: letters - 1].replace(" ", "_") + end for end in "ab"]
    (folder / "set-list.txt").write_text("".join(f"{line} | title: {title}\n" for title in titles))
    panel = set_list()
    assert [item.title for item in panel.items] == titles
    assert panel.stage.head["title"] == titles[0]
    assert panel.stage.room["hint"].endswith(f"Page Down: {titles[1]}")
    press(panel, "next")
    assert panel.stage.head["title"] == titles[1]
    assert "\N{HORIZONTAL ELLIPSIS}" not in panel.stage.room["hint"] + panel.stage.head["title"]
    press(panel, "enter", number=1, texts=["5", "4"])
    panel.at = 0
    assert panel._hint_between() == f"On the wall: 5 against 4 \N{MIDDLE DOT} Page Down: {titles[1]}"


GROOVES = [
    "phrase | number: 11 | bpm: 92",
    "resolve | hands: 7 | against: 4 | metre: 7/8 | bpm: 92",
    "accents | metre: 2+2+3/8 | accent every: 5 | bpm: 180",
    "ostinato | feet: x... | hands: x.x | bpm: 92",
]


@pytest.mark.parametrize("line", GROOVES)
@pytest.mark.parametrize("bpm", [60, 121, 170])
def test_a_groove_goes_at_any_tempo_of_the_slide_and_keeps_its_place(folder, line, bpm):
    """As its line would be read with that tempo: heading, plan and sentences; the list keeps its own."""
    (folder / "set-list.txt").write_text(f"{line} | title: Tide\npair | pulses: 3 2\n")
    panel = set_list()
    low, high = panel.stage.bpm_range
    assert low <= 60 < 170 <= high
    panel.stage.slid = {"bpm": bpm, "home": 0, "turn": 1, "pressed": True}
    alone = read_line(line.partition(" | bpm")[0] + f" | bpm: {bpm} | title: Tide")
    assert panel.stage.head["facts"].startswith(f"{bpm} bpm")
    assert panel.stage.plan["bpm"] == str(bpm)
    assert panel.stage.plan["turn"] == 1
    assert panel.stage.plan["cycle_s"] == float(alone.tempo.cycle_seconds(alone.what))
    assert alone.text in panel.stage.pictures[0]["said"]
    assert panel.stage.room["hint"].startswith("1 of 2: Tide")
    press(panel, "next")
    press(panel, "previous")
    assert panel.stage.plan["bpm"] == str(panel.items[0].tempo.bpm)


def test_a_tempo_at_which_a_groove_does_not_go_is_told_without_a_line_of_the_list(folder):
    """The room reads why, what sounds stays, and the slide has its answer."""
    (folder / "set-list.txt").write_text(GROOVES[0])
    panel = set_list()
    panel.stage.slid = {"bpm": 240, "home": 0, "turn": 3}
    assert (panel.stage.plan["bpm"], panel.stage.plan["turn"]) == ("92", 3)
    assert "does not go at 240 bpm: no hands can play 11 strokes 62.5 ms apart" in panel.stage.notice
    assert "for example" not in panel.stage.notice
    panel.stage.slid = {"bpm": 96, "home": 0, "turn": 4}
    assert (panel.stage.plan["bpm"], panel.stage.notice) == ("96", "")

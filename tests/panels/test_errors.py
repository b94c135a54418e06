"""What a panel tells has no calls in it but those for a cell, whole and with their ``rl.``."""

import re
import threading
from html import unescape

import ipywidgets as widgets
import pytest

import rhythmlab as rl
from rhythmlab.panels import errors
from rhythmlab.panels.errors import ErrorLine
from rhythmlab.practice.journal import JournalError
from rhythmlab.refusal import as_sentence
from tests.panels.inside import inside
from tests.waiting import until

CALL = re.compile(r"[A-Za-z_]\w*\(")
#: What a panel may advise for a cell of the page.
CELL = re.compile(r"rl\.[A-Za-z_.]+\(.*\)(?=$| copies)")
PANELS = {
    "two_numbers": lambda: rl.pages.two_numbers(7, 4),
    "find_grid": lambda: rl.pages.find_grid(7, 4),
    "choose_home": lambda: rl.pages.choose_home(7, 4),
    "follow_gaps": lambda: rl.pages.follow_gaps(16, 15),
    "choose_way": lambda: rl.pages.choose_way(7, 4),
    "phrase_and_stick": lambda: rl.pages.phrase_and_stick(13),
    "land_in_bars": lambda: rl.pages.land_in_bars(7, 4),
    "move_accent": rl.pages.move_accent,
    "feet_against_hands": lambda: rl.pages.feet_against_hands("x..x..x.", "x.x.xx"),
    "practise": lambda: rl.pages.practise(4, 3),
    "write_down": lambda: rl.pages.write_down(4, 3),
    "wall": lambda: rl.pages.wall(7, 4),
    "set_list": rl.pages.set_list,
    "workshop_plan": rl.pages.workshop_plan,
}
TYPED = ("", "x", "0", "999999", "9" * 40, "7.5", "x..x y", "pear | pulses: 4")


def test_what_is_no_refusal_stays():
    """What another library or the system says is as it was."""
    for message in (
        "The first pulse is empty: type a whole number, for example 7.",
        "7 lasts 3 s (slow)",
        "",
    ):
        assert as_sentence(ValueError(message)) == message


@pytest.mark.parametrize("which", PANELS)
def test_no_field_of_any_panel_makes_it_tell_a_call(which):
    """Nonsense, nothing, huge numbers in every field: what is told has no call in it but one for a cell."""
    panel = PANELS[which]()
    fields = [one for one in inside(panel) if isinstance(one, widgets.Text | widgets.Textarea)]
    told = set()
    for field in fields:
        before = field.value
        for typed in TYPED:
            field.value = typed
            told |= {one.notice for one in inside(panel) if hasattr(one, "notice")}
            told |= {one.text for one in inside(panel) if isinstance(one, ErrorLine)}
            for button in (one for one in inside(panel) if isinstance(one, widgets.Button)):
                if button.description in ("Save the list", "Read it again"):
                    button.click()
            for one in inside(panel):
                told |= {one.text} if isinstance(one, ErrorLine) else set()
                told |= {one.notice} if hasattr(one, "notice") else set()
                if isinstance(one, widgets.HTML) and "role='status'" in one.value:
                    told.add(unescape(one.value))
        field.value = before
    assert any(told) or not fields
    assert [said for said in told if re.search(r"for example [A-Za-z_.]+\(", CELL.sub("", said))] == []
    assert [said for said in told if CALL.search(CELL.sub("", said))] == []


def test_a_take_that_cannot_be_kept_is_told_without_the_example_of_the_journal(tmp_path, monkeypatch):
    """The journal's own advice names another journal by a call; in the panel that goes."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "journal.jsonl").mkdir()
    with pytest.raises(JournalError, match=r"Journal\(") as refused:
        rl.practice.Journal().append({"kind": "note"})
    assert CALL.search(as_sentence(refused.value)) is None
    for panel in (rl.pages.two_numbers(4, 3), rl.pages.practise(4, 3)):
        panel.stage._take_received({"id": "t1", "when": "2030-05-04T18:30:00+02:00"})
        assert "a folder has that name" in panel.stage.notice
        assert CALL.search(CELL.sub("", panel.stage.notice)) is None


def test_a_damaged_journal_is_told_with_a_call_for_a_cell(tmp_path, monkeypatch):
    """In a cell the journal says it with its call; the panel says the same without one."""
    monkeypatch.chdir(tmp_path)
    rl.practice.Journal().append({"kind": "note", "id": "n"})
    with (tmp_path / "journal.jsonl").open("ab") as file:
        file.write(b"torn\n")
    assert "Journal().set_aside() copies it" in rl.practice.Journal().read().warning
    said = rl.pages.practise(4, 3).stage.notice
    assert "1 line of journal.jsonl could not be read" in said
    assert CALL.search(said) is None
    assert "(" not in said.replace("(line 3: it is cut short)", "")


def test_messages_on_two_threads_are_done_one_after_the_other(monkeypatch):
    """What one thread draws is whole before another thread's message is looked at; both then hold."""
    panel = rl.pages.wall(7, 4)
    asked = []

    class Watched:
        def __init__(self):
            self.lock = threading.RLock()

        def __enter__(self):
            asked.append(threading.current_thread())
            self.lock.acquire()

        def __exit__(self, *_):
            self.lock.release()

    monkeypatch.setattr(errors, "ONE_AT_A_TIME", Watched())
    tempo = threading.Thread(target=lambda: setattr(panel._bpm, "value", "90"))
    places = panel._places

    def meanwhile(feel):
        if not tempo.ident:
            tempo.start()
            until(lambda: tempo in asked)
            assert panel.tempo.bpm == 72
        return places(feel)

    monkeypatch.setattr(panel, "_places", meanwhile)
    content = {"pressed": "enter", "number": 1, "texts": ["16", "15"]}
    panel.stage._message(None, content, [])
    tempo.join(30)
    assert (panel.feel.polyrhythm.pulses, panel.tempo.bpm, panel._window) == ((16, 15), 90, (0, 240))
    assert panel.stage.plan["ticks"] == 240
    assert "240 ticks" in panel.stage.head["facts"]

"""Page 09: a pair in notes from either home, and dictation that hides the pair and then shows it."""

import json
import sys

import pytest

import rhythmlab as rl


def test_the_panel_opens_with_notes_of_both_homes():
    """Each home has its own notes and their text alternative; other views draw as ever."""
    panel = rl.pages.write_down(7, 4, bpm=72)
    pictures = [picture["svg"] for picture in panel.stage.pictures]
    assert all("<svg" in one and "data-frame" not in one for one in pictures)
    assert pictures[0] != pictures[1]
    assert panel.stage.pictures[1]["said"][0] == rl.score(panel.feel.polyrhythm, panel.tempo, home=1).alt
    panel._view.value = "heard line"
    assert "data-frame" in panel.stage.pictures[1]["svg"]


def test_a_long_pair_shows_its_first_bars_and_says_how_many_more():
    """What is not shown is said, with the way to have it; 16 against 15 is whole."""
    panel = rl.pages.write_down(32, 31, bpm=100)
    assert "15 more beats of home to the end" in " ".join(panel.stage.pictures[1]["said"])
    panel._view.value = "notes on the full grid"
    assert panel.line.text == panel.stage.notice == ""
    whole = rl.pages.write_down(16, 15, bpm=100)
    assert "more beats" not in " ".join(whole.stage.pictures[1]["said"])


def test_dictation_hides_the_pair_until_it_is_named():
    """Neither the plan's names nor the picture give it away; a right answer shows the notes."""
    panel = rl.pages.dictation(seed=3)
    (p, q) = panel._pair
    names = [lane["said"] for lane in panel.stage.plan["lanes"]]
    assert names == ["the other pulse", "home"]
    assert panel.stage.pictures[0]["svg"] == ""
    assert str(panel._pair) not in json.dumps(panel.stage.pictures)
    panel._heard.value = f"{p} {q}"
    assert f"Yes: {p} against {q}" in panel._told.value
    assert "<svg" in panel.stage.pictures[0]["svg"]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda p, q: f"{q} {p}", "write home last"),
        (lambda p, q: f"{p + 20}, {q}", "Home is right"),
        (lambda p, q: f"{p} against {q + 20}", "The other pulse is right"),
        (lambda p, q: f"{p + 20} {q + 20}", "Neither yet"),
    ],
)
def test_a_wrong_answer_says_what_is_right_and_how_to_listen(change, said):
    """Swapped, one number off, both off: each has its own sentence."""
    panel = rl.pages.dictation(seed=3)
    panel._heard.value = change(*panel._pair)
    assert said in panel._told.value
    assert panel.stage.pictures[0]["svg"] == ""


def test_words_are_asked_for_again_and_another_pair_is_another():
    """What is no two numbers is refused with an example; the next pair differs and the field is empty."""
    panel = rl.pages.dictation(seed=3)
    panel._heard.value = "seven"
    assert "two numbers" in panel.line.text
    seen = []
    for _ in range(20):
        before = panel._pair
        panel._next.click()
        assert panel._pair != before
        assert panel._heard.value == ""
        seen.append(panel._pair)
    assert len(set(seen)) > 3


@pytest.mark.parametrize("level", ["small", "middle", "bold"])
def test_a_dictation_is_slow_enough_to_write(level):
    """Two sounds a second on average, and numbers no larger than the level says."""
    panel = rl.pages.dictation(seed=5)
    panel._level.value = level
    most = {"small": 4, "middle": 7, "bold": 11}[level]
    for _ in range(10):
        panel._next.click()
        p, q = panel._pair
        assert 2 <= min(p, q) < max(p, q) <= most
        assert panel.stage.plan["cycle_s"] == pytest.approx(max(4, p + q - 1) / 2)


def test_without_an_engraver_the_picture_stands_and_says_so(monkeypatch):
    """A missing verovio takes the notes away, not the panel: the heard line is drawn, and told as such."""

    def missing(*_, **__):
        raise ModuleNotFoundError("No module named 'verovio'")

    monkeypatch.setattr(sys.modules["rhythmlab.notation.score"], "engrave", missing)
    panel = rl.pages.write_down(11, 4, bpm=71)
    assert "<svg" in panel.stage.pictures[1]["svg"]
    assert "The engraver is not at hand" in panel.stage.pictures[1]["svg"]
    assert panel.stage.pictures[1]["said"][0].startswith("11 against 4 written from the 4")

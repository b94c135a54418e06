"""Whatever is typed into any field of any panel: said beside it, at once, and what was shown stays."""

import re
from collections.abc import Iterator
from html import unescape
from itertools import product
from time import process_time

import ipywidgets as widgets
import pytest

import rhythmlab as rl
from rhythmlab.panels.errors import ErrorLine, FieldRefusal
from rhythmlab.panels.exercise import Exercise
from rhythmlab.panels.guess import Guess
from rhythmlab.panels.stage.sounding import fastest, strokes_of
from tests.panels.inside import inside
from tests.profile import some

#: Longest that a field may take, in seconds of work.
MOST_S = 2
#: What a reader may type, or paste, or have typed by a cat on the keys.
HOSTILE = {
    "empty": "",
    "spaces": "   ",
    "letters": "seven",
    "fifteen digits": "9" * 15,
    "sixteen digits": "9" * 16,
    "10**30": str(10**30),
    "five thousand digits": "1" * 5000,
    "exponent": "1e9",
    "minus": "-3",
    "plus": "+3",
    "arabic": "\N{ARABIC-INDIC DIGIT THREE}",
    "superscript": "\N{SUPERSCRIPT TWO}",
    "half": "\N{VULGAR FRACTION ONE HALF}",
    "third": "1/3",
    "zero": "0",
    "zeros": "000",
    "one": "1",
    "tiny": "0.0000001",
    "decimals": "7.123456789",
    "comma": "7,5",
    "not a number": "NaN",
    "infinity": "inf",
    "largest pulse": "19999",
    "thousand": "1000",
    "over a thousand": "1000.01",
    "megabyte of text": "x" * 1_000_000,
    "megabyte of digits": "1" * 1_000_000,
    "megabyte of pattern": "x." * 500_000,
    "megabyte of numbers": "3 " * 500_000,
    "megabyte of brackets": "[" * 1_000_000,
    "control letters": "7\x00\x07\x1b[31m",
    "lines": "7\n4\r\n",
    "right to left": "\N{RIGHT-TO-LEFT OVERRIDE}7",
    "half a letter": "\ud800",
    "colon": "7:4",
    "semicolon": "7;4",
    "markup": "<img src=x onerror=alert(1)>",
    "fraction bar": "9999/4",
    "long bar": "64/32",
    "many groups": "1+" * 63 + "1/32",
    "sixteens": "16 " * 32,
    "no stroke": "." * 64,
    "longest pattern": "x" * 63,
    "bar line": "pair | pulses: 19999 1 | bpm: 1000",
}
#: Pages about two numbers or more.
PAIRS = (
    *("two_numbers", "find_grid", "merge_pulses", "choose_home", "follow_gaps", "choose_way", "write_down"),
    *("practise", "wall"),
)
#: Of these, what means nothing in any field, and fields that any text may stand in until a button is pressed.
MEANINGLESS = {
    HOSTILE[what]
    for what in ("letters", "exponent", "minus", "arabic", "superscript", "half", "not a number", "markup")
} | {HOSTILE["control letters"], HOSTILE["half a letter"], HOSTILE["megabyte of brackets"]}
FREE = {"name", "set list"}


def guessed(page, id: str):
    """Return a page with a guess beside it."""
    guess = rl.pages.predict(id)
    return widgets.VBox([guess, page(guess=guess)])


#: Every public call that gives a panel, and what to open it with.
PANELS = {
    "first_rhythms": rl.pages.first_rhythms,
    "two_numbers": lambda: guessed(rl.pages.two_numbers, "00-guess"),
    "find_grid": lambda: guessed(rl.pages.find_grid, "01-guess"),
    "merge_pulses": lambda: rl.pages.merge_pulses(3, 4, 5),
    "choose_home": lambda: guessed(rl.pages.choose_home, "03-guess"),
    "follow_gaps": lambda: rl.pages.follow_gaps(128, 127),
    "choose_way": lambda: guessed(rl.pages.choose_way, "05-guess"),
    "phrase_and_stick": lambda: guessed(rl.pages.phrase_and_stick, "06-guess"),
    "land_in_bars": lambda: guessed(rl.pages.land_in_bars, "07-guess"),
    "move_accent": rl.pages.move_accent,
    "feet_against_hands": rl.pages.feet_against_hands,
    "practise": lambda: guessed(rl.pages.practise, "08-guess"),
    "write_down": lambda: guessed(rl.pages.write_down, "09-guess"),
    "dictation": lambda: rl.pages.dictation(seed=1),
    "wall": rl.pages.wall,
    "set_list": rl.pages.set_list,
    "my_hands": rl.pages.my_hands,
    "workshop_plan": rl.pages.workshop_plan,
    "predict": lambda: rl.pages.predict("00-guess"),
    "exercise": lambda: rl.pages.exercise("00-exercise"),
}


def opened(panel: widgets.Widget) -> widgets.Widget:
    """Open what is folded away, so that its fields are there."""
    for one in list(inside(panel)):
        if isinstance(one, widgets.ToggleButton):
            one.value = True
    return panel


def fields(panel: widgets.Widget) -> list[widgets.Widget]:
    """Return every field that can be typed into."""
    return [one for one in inside(panel) if isinstance(one, widgets.Text | widgets.Textarea)]


def stages(panel: widgets.Widget) -> list:
    return [one for one in inside(panel) if hasattr(one, "plan") and hasattr(one, "pictures")]


def shown(panel: widgets.Widget) -> list[tuple]:
    """Return what is seen and what sounds."""
    return [(one.pictures, one.plan, one.home) for one in stages(panel)]


def told(panel: widgets.Widget) -> list[tuple[str, str]]:
    """Return what is said beside fields, with the name of the field that is marked."""
    return [(one.field, one.text) for one in inside(panel) if isinstance(one, ErrorLine) and one.text]


def faults(panel: widgets.Widget) -> list[str]:
    """Return what the panel itself calls its own fault."""
    said = [one.notice for one in stages(panel)]
    said += [unescape(one.value) for one in inside(panel) if isinstance(one, widgets.HTML)]
    return [text for text in said if "fault of the page" in text]


def press(panel: widgets.Widget) -> None:
    """Press the buttons that read a field."""
    for one in inside(panel):
        if isinstance(one, widgets.Button) and not one.disabled and one.description in (
            "Save the list", "Read it again", "go to the step", "Save"
        ):  # fmt: skip
            one.click()


def test_every_panel_is_tried():
    """No public call that gives a panel is left out."""
    homes = {
        name for name in rl.pages.__all__ if getattr(rl.pages, name).__module__.startswith("rhythmlab.panels")
    }
    assert homes == set(PANELS)


@pytest.mark.parametrize("name", some(PANELS, 2, "hostile text"))
def test_hostile_text_in_any_field_is_refused_beside_it_and_what_was_shown_stays(name):
    """For every field and every text: within two seconds it is followed, or refused by name with an example.

    Nothing is raised, the text stays as it was typed, and what was there before works again.
    """
    panel = opened(PANELS[name]())
    wrong = []
    for field in fields(panel):
        for what, text in some(HOSTILE.items(), 4, f"{name} {field.description}"):
            good, start = field.value, shown(panel)
            wrong += [f"{field.description}: {what}: {fault}" for fault in tried(panel, field, text, start)]
            field.value = good
            if told(panel):
                wrong.append(f"{field.description}: {what}: {told(panel)} is still said after {good!r}")
    assert not wrong, f"{len(wrong)} of them:\n" + "\n".join(wrong[:40])


def tried(panel: widgets.Widget, field: widgets.Widget, text: str, start: list) -> Iterator[str]:
    """Type something into a field, and yield what is wrong with what follows."""
    before = process_time()
    try:
        field.value = text
    except Exception as error:
        yield f"{type(error).__name__}: {error}"
        return
    if process_time() - before > MOST_S:
        yield f"took {process_time() - before:.1f} s"
    if field.value != text:
        yield "what was typed is written over"
    if (
        text in MEANINGLESS
        and not told(panel)
        and field.description not in FREE
        and not isinstance(field, Guess)
        and not (isinstance(panel, Exercise) and panel.verdict.text and not panel.verdict.right)
    ):
        yield "is neither followed nor refused"
    for marked, said in told(panel):
        mine = re.sub(r"'[^']*'|\"[^\"]*\"", "", said.partition(": type for example ")[0])
        if marked != field.description or not said.startswith(marked):
            yield f"says of {marked}: {said}"
        if "type for example " not in said:
            yield f"has no example: {said}"
        if len(said) > 400:
            yield f"{len(said)} letters"
        if re.search(r"(?:^|[ (,;])[a-z_]+=", mine):
            yield f"speaks of arguments: {said}"
        if shown(panel) != start:
            yield "is refused, and yet followed"
    yield from faults(panel)
    press(panel)
    yield from faults(panel)


def marked(panel: widgets.Widget) -> set[str]:
    """Return the names of the fields that are marked as not followed."""
    lines = [one for one in inside(panel) if isinstance(one, ErrorLine) and one.text]
    return {name for one in lines for name in (one.field, *one.others)}


@pytest.mark.parametrize("name", some(PANELS, 4, "several wrong at once"))
def test_every_field_that_is_not_followed_is_marked_until_it_is_mended(name):
    """However many are wrong, each is named with its sentence, and stays so until its own text is mended."""
    panel = opened(PANELS[name]())
    seen = [one for one in fields(panel) if one.layout.display != "none" and one.description not in FREE]
    mine = [] if isinstance(panel, Guess | Exercise) else [one for one in seen if not isinstance(one, Guess)]
    good, start = [one.value for one in mine], shown(panel)
    for count, field in enumerate(mine, 1):
        field.value = "seven"
        assert marked(panel) == {one.description for one in mine[:count]}
    for field in mine:
        assert any(field.description in text for _, text in told(panel))
    assert shown(panel) == start
    for at, (field, before) in enumerate(zip(mine, good, strict=True), 1):
        field.value = before
        assert marked(panel) == {one.description for one in mine[at:]}


@pytest.mark.parametrize(
    "name", ["two_numbers", "phrase_and_stick", "land_in_bars", "move_accent", "workshop_plan"]
)
def test_the_example_of_a_refusal_can_be_typed(name):
    """What a message offers is followed when it is typed, in every field that refuses."""
    panel = PANELS[name]()
    for field in fields(panel):
        good = field.value
        for text in ("x", "0", str(10**30)):
            field.value = text
            for _, said in told(panel):
                example = said.partition("type for example ")[2].partition(", or ")[0].rstrip(".")
                field.value = example.partition(", ")[0].partition(" or ")[0]
                assert not told(panel), f"{field.description}: {example}: {told(panel)}"
        field.value = good


def test_a_refusal_says_the_field_what_is_wrong_and_what_works():
    """One form for all of them."""
    error = FieldRefusal("bars", "bars '0' is not a whole number of at least 1", 4)
    assert str(error) == "bars '0' is not a whole number of at least 1: type for example 4."
    assert (error.field, error.example) == ("bars", "4")


@pytest.mark.parametrize("pulses", [(7, 4), (1000, 7), (7, 1000), (19_998, 1), (3, 4, 5)])
def test_a_flip_is_never_refused_and_keeps_the_speed(pulses):
    """Where home's tempo is beyond what can be typed it is shown as it is; going on from there is bounded."""
    p = rl.Polyrhythm(*pulses)
    for home in range(len(pulses)):
        most = min(1000, fastest(strokes_of(p), pulses[home]))
        if most < 1:
            continue
        panel = rl.pages.merge_pulses(*pulses, home=home, bpm=most)
        seconds = panel.stage.plan["cycle_s"]
        for other in [*range(len(pulses)), home]:
            panel.stage.home = other
            assert (panel.line.text, panel.stage.notice) == ("", "")
            assert panel.tempo.bpm_of(p, home) == most
            assert panel.stage.plan["cycle_s"] == seconds
            assert float(panel._bpm.value) == pytest.approx(float(panel.tempo.bpm), rel=0.01, abs=0.006)
            assert float(panel._bpm.value) > 0
            low, high = panel.stage.bpm_range
            assert 1 <= low <= high <= 300
            panel._view.value, panel._view.value = "gap cycle", "heard line"
            assert panel.line.text == ""


@pytest.mark.parametrize(
    ("pulses", "name"),
    some(product([(17, 1), (1, 17), (1000, 7), (7, 1000), (301, 299)], PAIRS), 3, "views"),
)
def test_every_view_shows_what_a_flip_leads_to(name, pulses):
    """At the ends of what can be typed, from every home, each view is drawn, or the one before it stays."""
    page, p = getattr(rl.pages, name), rl.Polyrhythm(*pulses)
    most = min(1000, int(fastest(strokes_of(p), pulses[1])))
    for bpm in {1, most}:
        panel = page(7, 4)
        panel._view.value = "heard line"
        for field, typed in zip(
            (panel._bpm, *panel._pulses.fields, panel._bpm), (1, *pulses, bpm), strict=True
        ):
            field.value = str(typed)
        assert (panel.line.text, panel.tempo) == ("", rl.Tempo(bpm, pulse=1))
        for view in panel.VIEWS:
            panel._view.value = view
            for home in (0, 1):
                panel.stage.home = home
                assert (panel.stage.notice, panel.line.field) == ("", "" if panel._drawn == view else "view")
                assert panel._drawn == view or (name == "write_down" and "notes" in view)
                assert len(panel.stage.pictures) == 2


def test_no_slide_goes_further_than_the_sound_card():
    """Whatever the numbers, both ends of the slide are followed; a slide beyond them is said instead."""
    for pulses in ((7, 4), (64, 63), (1000, 7), (7, 1000), (9_999, 2)):
        panel = rl.pages.two_numbers(*pulses, bpm=1)
        for home in (0, 1):
            panel.stage.home = home
            for bpm in panel.stage.bpm_range:
                panel.stage.slid = {"bpm": bpm, "home": home, "turn": panel.stage.slid.get("turn", 0) + 1}
                assert panel.line.text == ""
                assert panel.tempo.bpm_of(panel.feel.polyrhythm, home) == bpm
            before = panel.tempo
            panel.stage.slid = {"bpm": 1e9, "home": home, "turn": panel.stage.slid["turn"] + 1}
            assert panel.line.text.startswith("bpm of ")
            assert panel.tempo == before


def test_what_is_refused_together_is_followed_together():
    """1000 against 7 is too fast at 900; slower, both are followed, whichever field is mended."""
    panel = rl.pages.two_numbers(7, 4, bpm=900)
    panel._pulses.fields[0].value = "1000"
    assert panel.line.text.startswith("first pulse: 1000 against 4 at 900 bpm is ")
    assert panel.feel.polyrhythm.pulses == (7, 4)
    panel._bpm.value = "30"
    assert panel.line.text == ""
    assert panel.feel.polyrhythm.pulses == (1000, 4)
    assert panel.tempo == rl.Tempo(30, pulse=1)
    panel._bpm.value = "900"
    assert panel.line.text.startswith("bpm of the 4: 1000 against 4 at 900 bpm is ")
    example = panel.line.text.rpartition("for example ")[2].rstrip(".")
    assert panel.tempo == rl.Tempo(30, pulse=1)
    panel._pulses.fields[0].value = "5"
    assert panel.line.text == ""
    assert panel.tempo == rl.Tempo(900, pulse=1)
    panel._pulses.fields[0].value = "1000"
    panel._bpm.value = example
    assert panel.line.text == ""


def test_a_page_that_cannot_be_written_stays_the_page_it_was():
    """Notes that cannot be: the rhythm, its home and its sound stay, and a flip moves what is shown."""
    panel = rl.pages.write_down(7, 4)
    before = shown(panel)
    panel._pulses.fields[0].value = "10007"
    assert panel.line.text.startswith("first pulse: ")
    assert shown(panel) == before
    panel.stage.home = 0
    assert panel.feel == rl.Feel(rl.Polyrhythm(7, 4), 0)
    panel._view.value = "heard line"
    assert panel.feel.polyrhythm.pulses == (10007, 4)
    assert panel.line.text == ""


def test_a_view_that_cannot_be_drawn_is_said_of_the_view():
    """The heard line of a rhythm that no notes spell stays, and goes on being followed."""
    panel = rl.pages.write_down(7, 4)
    panel._view.value = "heard line"
    panel._pulses.fields[0].value = "101"
    panel._view.value = "notes"
    assert panel.line.field == "view"
    assert panel.line.text.startswith("view notes: ")
    assert panel.line.text.endswith(": type for example heard line.")
    panel._bpm.value = "60"
    assert panel.tempo == rl.Tempo(60, pulse=1)
    assert panel.line.field == "view"
    panel._pulses.fields[0].value = "5"
    assert panel.line.text == ""
    assert "<svg" in panel.stage.pictures[1]["svg"]

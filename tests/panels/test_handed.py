"""Counts in hands and halves of the room never contradict each other; one switch mirrors them all."""

import json
import re

import pytest

import rhythmlab as rl
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.panels.handed import hands_file, remember_hands, remembered_hands
from rhythmlab.panels.page_09 import _score
from rhythmlab.panels.plan import LEVELS, UNITS
from rhythmlab.panels.takes import read_take
from rhythmlab.panels.wall import halves_text, parts_of_room
from rhythmlab.practice.set_list import MOST_TITLE
from rhythmlab.text import descriptions
from rhythmlab.text.sentences import order_to_say
from tests.panels.test_takes import message, send


@pytest.fixture(params=[False, True])
def left_handed(request, tmp_path, monkeypatch):
    """Choose in a folder of its own whether all hands are mirrored."""
    monkeypatch.chdir(tmp_path)
    if request.param:
        assert remember_hands(True).startswith("It is remembered for the next time")
    return request.param


def hand_of(said: list[str], rows: list[tuple[bool, bool]], pulse: int) -> set[str]:
    """Return which hands are named where a pulse sounds alone."""
    return {
        word.strip(" .").lower() for word, row in zip(said, rows, strict=True) if row[pulse] and not all(row)
    }


@pytest.mark.parametrize("pair", [(a, b) for a in range(2, 13) for b in range(2, 13) if a % b and b % a])
def test_a_hand_and_a_half_of_the_room_have_the_same_pulse(left_handed, pair):
    """Words of page 00 and 02, rows of the wall and its sentence: right is one pulse, left the other."""
    p = Polyrhythm(*pair)
    rows = [tuple(row) for row in rl.composite(p).pulses.tolist()]
    words = descriptions.claps(p, left_handed)
    for pulse in (0, 1):
        (hand,) = hand_of(words, rows, pulse)
        assert parts_of_room(2, left_handed)[pulse] == f"{hand} half"
        yours = {"right": "left", "left": "right"}[hand]
        said = halves_text(rl.Feel(p), left_handed).lower()
        assert f"{hand} half (your {yours}) {descriptions.pulse_name(p, pulse)}" in said


def test_every_page_follows_the_switch(left_handed):
    """Page 00, 02, the wall with its set list, page 06 and what a take is played with."""
    right, left = ("left", "right") if left_handed else ("right", "left")
    together = f"together, {right}, {left}, {right}"
    first = rl.pages.first_rhythms()
    first._choice.value = "3 against 2"
    assert f"Say it, then clap it: {together}." in first.stage.pictures[0]["said"]
    assert f"{right.capitalize()} hand 3 claps, {left} hand 2 claps" in first.stage.pictures[0]["svg"]
    assert [lane["said"] for lane in first.stage.plan["lanes"]] == [f"{right} hand", f"{left} hand"]
    merged = rl.pages.merge_pulses(3, 2)
    assert f"Clap it: {together}." in merged.stage.pictures[1]["said"]
    wall = rl.pages.wall(3, 2)
    svg = wall.stage.pictures[1]["svg"]
    assert svg.index(f">{right} half<") < svg.index(f">{left} half<")
    assert wall.stage.room["mirrored"] == left_handed
    for panel in (first, merged, wall):
        assert (panel.stage.limbs, panel.stage.left_handed) == ("hands", left_handed)
    phrase = rl.pages.phrase_and_stick(14)
    assert phrase._fields["lead"].value == ("L" if left_handed else "R")


def test_the_words_of_the_set_list_and_of_the_plan_are_those_of_the_hands(tmp_path, monkeypatch):
    """Whatever row of words in hands stands in a plan or a set list is that of its own pair."""
    monkeypatch.chdir(tmp_path)
    shown = rl.pages.set_list()
    titles = [(item.title, item.what) for item in shown.items if item.kind == "pair"]
    units = [(unit.say, Polyrhythm(*unit.pairs[0])) for row in UNITS.values() for unit in row if unit.pairs]
    found = 0
    for said, p in (*titles, *units):
        if "together, right" in said.lower():
            found += 1
            assert descriptions.clapped(p) in said.lower()
    assert found >= 2


@pytest.mark.parametrize("home", [0, 1])
@pytest.mark.parametrize("pair", [(16, 15), (8, 7), (15, 16), (24, 23)])
def test_letters_under_the_notes_are_those_of_the_hands(left_handed, pair, home):
    """In bars of home R or L stands under each stroke, and page 09 writes what the words of page 02 say."""
    under = re.compile(r"<text>(RL?|L)</text>")
    named = {"together": "RL", "right": "R", "left": "L"}
    said = [named[word] for word in descriptions.claps(rl.Polyrhythm(*pair), left_handed)]
    assert under.findall(rl.score(pair, home=home, left_handed=left_handed).musicxml) == said
    page = rl.pages.write_down(*pair, home=home)
    written = under.findall(_score(page.feel, page.tempo).musicxml)
    assert written == said[: len(written)]
    assert len(written) > 10


def mirrored(text: str) -> str:
    """Return a text with left and right exchanged."""
    return re.sub(r"\b(right|left)\b", lambda found: {"right": "left", "left": "right"}[found[0]], text)


def test_the_plan_and_page_05_follow_the_switch(left_handed):
    """Words of hands and of halves in every part of a plan, and in every step of page 05, are mirrored."""
    first, second = descriptions.hands_of_two(left_handed)
    for level in LEVELS:
        for unit in rl.pages.workshop_plan(240, level=level).plan.parts:
            said = unit.unit.say.lower()
            if "together, right" in said or "together, left" in said:
                assert descriptions.clapped(Polyrhythm(*unit.unit.pairs[0]), left_handed) in said
            if "half claps" in said or "half of the room claps the upper" in said:
                assert said.index(f"{first} half") < said.index(f"{second} half")
                assert parts_of_room(2, left_handed)[0] == f"{first} half"
    for pair in ((3, 2), (5, 4), (7, 4), (13, 8), (16, 15)):
        for home in (0, 1):
            steps = rl.pages.choose_way(*pair, home=home).stage.pictures[home]["said"]
            plain = rl.approach(pair, 72, home=home, left_handed=left_handed).recommended.steps
            other = rl.approach(pair, 72, home=home, left_handed=not left_handed).recommended.steps
            for mine, mirror in zip(plain, other, strict=True):
                assert f"{mine.what} {mine.count}" == mirrored(f"{mirror.what} {mirror.count}")
                aloud = order_to_say(mine.count) if mine.count else ""
                assert any(mine.what in text and aloud in text for text in steps)


def test_the_switch_is_kept_and_a_damaged_file_is_no(tmp_path, monkeypatch):
    """Pressed on page 00 it holds there at once and for every panel made later."""
    monkeypatch.chdir(tmp_path)
    first = rl.pages.first_rhythms()
    first._choice.value = "3 against 2"
    first._hands.value = True
    assert "together, left, right, left" in first.stage.pictures[0]["said"][0]
    assert json.loads(hands_file().read_text())["left_handed"] is True
    assert remembered_hands()
    assert rl.pages.merge_pulses(3, 2).left_handed
    assert not rl.pages.first_rhythms(left_handed=False).left_handed
    for damaged in ("", "[]", "{", "[" * 10_000, json.dumps({"left_handed": "yes"})):
        hands_file().write_text(damaged)
        assert not remembered_hands()


SWAP = {"right": "left", "left": "right"}


def swapped(limb: str) -> str:
    """Return a limb of the other side."""
    return " ".join(SWAP.get(word, word) for word in limb.split())


@pytest.mark.parametrize(
    "make",
    [
        lambda: rl.pages.land_in_bars(7, 4),
        lambda: rl.pages.land_in_bars(4, 3, metre="3/4"),
        lambda: rl.pages.move_accent("2+2+3/8", 5),
        lambda: rl.pages.move_accent("4/4", 3),
        lambda: rl.pages.feet_against_hands("x..x..x.", "x.x.xx"),
        lambda: rl.pages.feet_against_hands("4 4", "4 3 4 3"),
    ],
)
def test_page_07_mirrors_hands_feet_pads_and_words(make, tmp_path, monkeypatch):
    """The same strokes and sounds by the other side, whose pad has the key of that side."""
    monkeypatch.chdir(tmp_path)
    right = make()
    remember_hands(True)
    left = make()
    one, other = right._shown.cycle, left._shown.cycle
    for lane, mirror in zip(one.lanes, other.lanes, strict=True):
        assert (mirror.onsets.tolist(), mirror.accents) == (lane.onsets.tolist(), lane.accents)
        assert (mirror.sound, mirror.limb) == (lane.sound, swapped(lane.limb))
        assert mirror.hands == lane.hands.translate(str.maketrans("RL", "LR"))
    keys = {pad["said"]: pad["key"] for pad in left.stage.plan["pads"]}
    assert keys == {
        limb: {"right hand": 0, "left hand": 1, "right foot": 4, "left foot": 5}[limb] for limb in keys
    }
    rows = {pad["said"]: [i for i, _ in pad["rows"]] for pad in right.stage.plan["pads"]}
    assert {pad["said"]: [i for i, _ in pad["rows"]] for pad in left.stage.plan["pads"]} == {
        swapped(limb): row for limb, row in rows.items()
    }
    said = " ".join(right.stage.pictures[0]["said"])
    mirrored = " ".join(left.stage.pictures[0]["said"])
    words, others = (
        sorted(word.lower() for word in text.split() if word.lower() in SWAP) for text in (said, mirrored)
    )
    assert sorted(SWAP[word] for word in words) == others


def test_letters_that_are_typed_stay_as_they_are_typed(tmp_path, monkeypatch):
    """Left-handed, too, R is the right hand in a sticking of one's own; the fields name the other side."""
    monkeypatch.chdir(tmp_path)
    remember_hands(True)
    moving = rl.pages.move_accent("4/4", 5)
    moving._fields["hands"].value = "RLRRL"
    assert moving._shown.cycle.lanes[-1].hands.startswith("RLRRL")
    feet = rl.pages.feet_against_hands("RLRR", "RLRRLRR")
    assert {lane.limb for lane in feet._shown.cycle.lanes} == {"right foot", "left foot", "hands"}
    names = [field.description for field in feet._fields.values()]
    assert names[:4] == ["feet", "right foot", "hands", "right hand"]
    feet._fields["feet"].value, feet._fields["left_foot"].value = "x...", "..x."
    assert [lane.limb for lane in feet._shown.cycle.lanes][:2] == ["left foot", "right foot"]


@pytest.mark.parametrize(
    "make",
    [
        lambda: rl.pages.first_rhythms(),
        lambda: rl.pages.two_numbers(4, 3),
        lambda: rl.pages.merge_pulses(4, 3),
        lambda: rl.pages.practise(4, 3, now=60),
        lambda: rl.pages.wall(4, 3),
    ],
)
@pytest.mark.parametrize("swaps", [False, True])
def test_the_usual_hands_are_the_players_own(left_handed, make, swaps):
    """With the switch and without it, a take of the usual hands is "hands", and each lane has its own hand.

    Swapped are only hands that are not the player's own; played the other way round, the hand that is named
    is the one that struck, and "swap back" leads to the player's own hands.
    """
    first, second = (f"{hand} hand" for hand in descriptions.hands_of_two(left_handed))
    panel = make()
    assert panel.stage.limbs == "hands"
    taken = message(cycles=8, limbs=panel.stage.limbs, left_handed=panel.stage.left_handed)
    if swaps:
        taken["taps"] = [[1 - lane, at] for lane, at in taken["taps"]]
    take = read_take(taken)
    assert [lane.limb for lane in take.cycle.lanes] == [first, second]
    assert read_take({**taken, "limbs": "hands swapped"}).cycle.lanes[0].limb == second
    send(panel.stage, taken)
    told = panel.stage.feedback[0]
    sides = f"You swapped sides (the {first} played the 3 and the {second} played the 4)"
    assert told.startswith((sides, "You swapped hands: next, swap back")) == swaps, (
        told
    )  # page 00 names no hand
    (kept,) = rl.practice.Journal().takes(limbs="hands")
    assert [lane["limb"] for lane in kept["cycle"]["lanes"]] == [first, second]
    assert "4 against 3" in rl.practice.Journal().last()
    last, shown = rl.practice.Journal().last(), rl.pages.practise(4, 3, now=60)
    assert ("the sides were swapped" in last) == swaps
    assert "hands swapped" not in last + shown._climb.value + shown._last.value


@pytest.mark.parametrize(
    ("line", "make"),
    [
        (
            "resolve | hands: 7 | against: 4 | bpm: 96",
            lambda: rl.pages.land_in_bars(7, 4, metre="4/4", bpm=96),
        ),
        ("accents | metre: 4/4 | accent every: 3", lambda: rl.pages.move_accent("4/4", 3)),
        ("ostinato | feet: x..x | hands: 4 3", lambda: rl.pages.feet_against_hands("x..x", "4 3")),
    ],
)
def test_a_groove_has_the_same_hands_on_page_07_and_on_the_wall(left_handed, line, make, tmp_path):
    """The same limbs, letters and words in a set list as on page 07, with the switch and without it."""
    (tmp_path / "set-list.txt").write_text(line + "\n")
    wall, page = rl.pages.set_list("set-list.txt"), make()
    on, here = wall.items[0].what, page._shown.cycle
    assert [(x.limb, x.hands, x.onsets.tolist()) for x in on.lanes] == [
        (x.limb, x.hands, x.onsets.tolist()) for x in here.lanes
    ]
    assert page.stage.pictures[0]["said"][0] in wall.stage.pictures[0]["said"]
    pads = [{pad["said"]: pad["key"] for pad in panel.stage.plan["pads"]} for panel in (wall, page)]
    assert pads[0] == pads[1]
    assert (tmp_path / "set-list.txt").read_text() == line + "\n"


@pytest.mark.parametrize("pair", [(3, 2), (2, 3), (4, 3), (5, 4), (7, 4), (13, 8)])
@pytest.mark.parametrize("typed_by", [False, True])
def test_hands_named_in_a_set_list_are_the_halves_of_the_room(left_handed, pair, typed_by, tmp_path):
    """Whoever wrote the list: title, sentence and rows name one hand and one half for each pulse."""
    p = rl.Polyrhythm(*pair)
    words = [f"{'*' * (i % 2 == 0)}{word}" for i, word in enumerate(descriptions.claps(p, typed_by))]
    title = descriptions.clapped(p, typed_by).capitalize()
    line = f"pair | pulses: {pair[0]} {pair[1]} | title: {title} | sentence: {', '.join(words)}\n"
    other = "pair | pulses: 3 2 | title: Turn right, then left | sentence: *turn right *at left\n"
    (tmp_path / "set-list.txt").write_text(line + other)
    panel = rl.pages.set_list("set-list.txt")
    mine = descriptions.clapped(p, left_handed)
    assert panel.items[0].title == mine.capitalize()[:MOST_TITLE]
    assert panel.items[0].sentence.replace("*", "") == mine
    assert panel.items[0].sentence.count("*") == (len(words) + 1) // 2
    assert panel.stage.pictures[1]["said"][0].lower().startswith(mine)
    assert parts_of_room(2, left_handed)[0] == f"{descriptions.hands_of_two(left_handed)[0]} half"
    assert (panel.items[1].title, panel.items[1].sentence) == (
        "Turn right, then left",
        "*turn right *at left",
    )
    assert panel._text.value == line + other


def test_a_plan_on_the_wall_keeps_its_items_when_hands_are_switched(tmp_path):
    """Not saved yet, or with a line added: the items stay, and name the other hands."""
    panel = rl.pages.set_list(rl.pages.workshop_plan(60))
    panel._step(3)
    titles = [item.title for item in panel.items]
    for left_handed in (True, False):
        panel.hands_chosen(left_handed)
        assert [item.title for item in panel.items] == titles
        assert panel.at == 3
        claps = descriptions.clapped(rl.Polyrhythm(3, 2), left_handed)
        assert panel.stage.pictures[1]["said"][0].lower() == f"{claps}."
    panel._buttons["Add what is on the wall"].click()
    panel.hands_chosen(True)
    assert len(panel.items) == len(titles) + 1
    assert list(tmp_path.iterdir()) == []


def test_every_panel_of_a_pair_follows_at_once(tmp_path):
    """Pressed on page 00, every panel that is open is as if made afterwards, with its fields."""
    (tmp_path / "set-list.txt").write_text("ostinato | feet: x..x | hands: 4 3\npair | pulses: 3 2\n")
    calls = (
        lambda: rl.pages.two_numbers(7, 4),
        lambda: rl.pages.merge_pulses(3, 2),
        lambda: rl.pages.practise(4, 3, now=60),
        lambda: rl.pages.wall(3, 2),
        lambda: rl.pages.set_list("set-list.txt"),
        lambda: rl.pages.choose_way(5, 4),
        lambda: rl.pages.phrase_and_stick(13),
        lambda: rl.pages.land_in_bars(7, 4),
        lambda: rl.pages.move_accent("4/4", 3),
        lambda: rl.pages.feet_against_hands("x..x", "4 3"),
    )
    first, second = rl.pages.first_rhythms(), rl.pages.first_rhythms()
    old = [call() for call in calls]
    old[0].stage.limbs = "hand and foot"
    for left_handed in (True, False):
        first._hands.value = left_handed
        assert (second._hands.value, second.left_handed) == (left_handed, left_handed)
        for panel, call in zip(old, calls, strict=True):
            new = call()
            assert (panel.left_handed, panel.stage.left_handed) == (left_handed, left_handed)
            assert [one["said"] for one in panel.stage.pictures] == [
                one["said"] for one in new.stage.pictures
            ]
            assert panel.stage.plan["pads"] == new.stage.plan["pads"]
            assert panel.stage.plan["cycle"] == new.stage.plan["cycle"]
            fields = [
                [one.description for one in it._fields.values()]
                for it in (panel, new)
                if hasattr(it, "_fields")
            ]
            assert fields[:1] == fields[1:]
            assert panel.stage.room.get("mirrored") == new.stage.room.get("mirrored")
    assert old[0].stage.limbs == "hand and foot"  # what was chosen stays


def test_words_about_a_phrase_have_the_hands_of_its_picture():
    """Sticking, rudiments, lead and roll of page 06 begin with the hand that leads."""
    for lead, other in ("RL", "LR"):
        panel = rl.pages.phrase_and_stick(14)
        panel._fields["lead"].value = lead
        said = " ".join(panel.stage.pictures[0]["said"])
        assert f"Hands: {lead}{other}{lead}{lead} " in said
        assert f"{lead} {other} {lead} {lead}: single paradiddle" in said
        rolls = rl.pages.phrase_and_stick(18)
        rolls._fields["lead"].value = lead
        said = " ".join(rolls.stage.pictures[0]["said"])
        assert f"five-stroke roll: {lead} {lead} {other} {other}," in said


def test_the_plan_and_the_notes_follow_at_once():
    """A plan and a page of notes that are open say and show what new ones do, with the minutes as typed."""
    first, plan, notes = rl.pages.first_rhythms(), rl.pages.workshop_plan(120), rl.pages.write_down(16, 15)
    plan._minutes.value = "60"
    shown = []
    for left_handed in (True, False):
        first._hands.value = left_handed
        assert str(plan) == repr(plan.plan) == str(rl.pages.workshop_plan(60))
        shown.append((str(plan), notes.stage.pictures[0]["svg"]))
        assert shown[-1][1] == rl.pages.write_down(16, 15).stage.pictures[0]["svg"]
    assert all(one != other for one, other in zip(*shown, strict=True))


def test_a_field_that_is_wrong_is_still_told_when_the_hands_change(tmp_path):
    """What was refused stays refused, what was typed stays, and the next right value has the new hands."""
    first, panel = rl.pages.first_rhythms(), rl.pages.feet_against_hands("x...", "x..x")
    panel._fields["left_hand"].value = "..q."
    assert "left hand" in panel.line.text
    first._hands.value = True
    assert panel._fields["left_hand"].value == "..q."
    assert "right hand" in panel.line.text
    panel._fields["left_hand"].value = "..x."
    assert not panel.line.text
    limbs = [lane.limb for lane in panel._shown.cycle.lanes]
    assert limbs == ["left foot", "left hand", "right hand"]
    first._hands.value = False
    assert [lane.limb for lane in panel._shown.cycle.lanes] == ["right foot", "right hand", "left hand"]

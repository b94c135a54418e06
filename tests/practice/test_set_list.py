"""The file of a set list: read past any damage, written whole, and never over what something else wrote."""

import os
import re
import subprocess
import sys
import tempfile
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmlab import pages
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.export.lesson import of_bars
from rhythmlab.playing.fill import resolve
from rhythmlab.playing.groove import accents
from rhythmlab.playing.limits import limits
from rhythmlab.playing.ostinato import ostinato
from rhythmlab.playing.phrasing import COUNTS, phrases
from rhythmlab.playing.sticking import check_sticking
from rhythmlab.practice import set_list
from rhythmlab.practice.set_list import FIRST, SetList, SetListError, line_of, parsed, read_line
from rhythmlab.refusal import Refusal
from tests.profile import some
from tests.refusals import refusal
from tests.strategies import TRIES, coprime_pairs
from tests.wrong import in_time


def test_an_item_holds_a_view_and_a_sentence_and_an_old_line_has_neither():
    """Of any kind; the sentence is kept letter for letter, colons and other scripts too."""
    item = read_line(
        "pair | pulses: 16 15 | view: gap cycle | sentence: al-le: zu-sam-men, \u6f6e | title: Sea"
    )
    assert (item.view, item.sentence, item.title) == ("gap cycle", "al-le: zu-sam-men, \u6f6e", "Sea")
    assert read_line("accents | sentence: one and two").sentence == "one and two"
    old = [read_line(line) for line in FIRST.splitlines()[1:]]
    assert {(one.view, one.sentence) for one in old} == {("", "")}
    p = Polyrhythm(16, 15)
    line = line_of(p, Tempo(100, pulse=1), 1, view="heard line", title="Sea")
    assert (read_line(line).view, read_line(line).title) == ("heard line", "Sea")


@given(
    st.lists(st.integers(1, 60), min_size=2, max_size=4),
    st.fractions(min_value=1, max_value=999, max_denominator=999),
    st.data(),
)
def test_a_pair_that_is_written_is_read_back_the_same(pulses, bpm, data):
    """Numbers, home and tempo, exact; of equal pulses the first is home, at the same tempo."""
    p = Polyrhythm(*pulses)
    home = data.draw(st.integers(0, len(pulses) - 1))
    item = read_line(line_of(p, Tempo(bpm, pulse=home), home))
    assert item.what == p
    assert p.pulses[item.home] == p.pulses[home]
    assert item.tempo.bpm_of(p, item.home) == bpm


def test_each_groove_is_the_one_its_panel_would_make():
    """The fields mean what they mean in the panels; what is left out is as a panel begins."""
    assert read_line("resolve | hands: 7 | against: 4").what == resolve((7, 4), "4/4", bars=4)
    later = read_line("resolve | hands: 5 | against: 4 | bars: 8 | free beats: 8 | lands on: 1 | feet: x..x")
    assert later.what == resolve((5, 4), "4/4", bars=8, beats=8, feet="x..x")
    assert read_line("accents | metre: 2+2+3/8 | accent every: 5").what == accents("2+2+3/8", 5)
    assert read_line("ostinato | feet: x..x | hands: x.x").what == ostinato("x..x", "x.x", metre="4/4")
    assert read_line("ostinato | feet: son clave").what == ostinato("son clave", "x.x.xx", metre="4/4")
    phrase = read_line("phrase | number: 28 | bpm: 96,5")
    assert len(phrase.what.lanes[0].onsets) == 56  # twice, since the hands come round after two
    assert phrase.tempo == Tempo(Fraction("96.5"), ticks=4)
    assert all(isinstance(read_line(kind).what, Cycle | Polyrhythm) for kind in ("pair", "accents", "phrase"))


#: What is typed on page 07, and what it is.
PATTERNS = ("x.x", "X . x", "RLRRLRR", "rlrr lrl", "4 3 4 3", "14 as 4 3 4 3", "Bossa", "Hi-Hat on 2 and 4")


@pytest.mark.parametrize("typed", PATTERNS)
def test_a_pattern_is_read_as_on_page_07_and_kept(typed, tmp_path):
    """In every field that takes one: the same cycle as the panel shows, also after a save."""
    one_limb = {"left foot", "left hand"} if set(typed.lower()) <= set("rl ") else set()
    lines = {
        "feet": "ostinato | feet: {} | hands: x...............",
        "hands": "ostinato | feet: x............... | hands: {}",
        "left foot": "ostinato | feet: x | left foot: {} | hands: x",
        "left hand": "ostinato | feet: x | hands: ........x....... | left hand: {}",
    }
    kept = SetList(tmp_path / "list.txt")
    for field, line in lines.items():
        if field in one_limb:
            with pytest.raises(Refusal, match="right"):
                read_line(line.format(typed))
            continue
        item = read_line(line.format(typed))
        fields = dict(piece.split(": ", 1) for piece in line.format(typed).split(" | ")[1:])
        panel = pages.feet_against_hands(fields["feet"], fields["hands"])
        for side in ("left foot", "left hand"):
            panel._fields[side.replace(" ", "_")].value = fields.get(side, "")
        assert panel.line.text == ""
        assert item.what == panel._shown.cycle
        kept.save(line.format(typed))
        (again,) = kept.read()
        assert again.what == item.what


def test_a_sticking_of_an_accent_and_a_crash_of_a_fill_are_kept():
    """Fields that page 07 has, too; a lead that is left out is as it was in older lists."""
    assert read_line("accents | sticking: rlrrl").what == accents("2+2+3/8", 5, hands="RLRRL")
    assert read_line("accents | sticking: 3 2").what == accents("2+2+3/8", 5, hands="3 2")
    assert read_line("resolve | lands with: crash").what == resolve((7, 4), "4/4", bars=4, crash=True)
    assert read_line("resolve | lands with: a crash").what == read_line("resolve | lands with: crash").what
    assert read_line("resolve | feet: rlrr").what == resolve((7, 4), "4/4", bars=4, feet="RLRR")


@TRIES
@given(st.text("RL", min_size=1, max_size=16), st.integers(1, 3), st.booleans())
def test_a_sticking_of_a_fill_is_kept_and_mirrored(letters, turns, left_handed):
    """The same fill after a save, for a left-handed reader its mirror; the file keeps what was typed."""
    strokes = turns * len(letters)
    line = f"resolve | hands: {strokes} | against: 4 | sticking: {letters.lower()}"
    swapped = letters.translate(str.maketrans("RL", "LR")) if left_handed else letters
    with tempfile.TemporaryDirectory() as folder:
        kept = SetList(Path(folder) / "list.txt")
        kept.save(line)
        (item,) = kept.read(left_handed)
    assert item.what == resolve((strokes, 4), sticking=swapped, left_handed=left_handed)
    assert item.what.lanes[-1].hands == swapped * turns
    assert item.line == line.strip()
    assert f"{' '.join(swapped)}" in item.text


@given(st.integers(2, 40), st.text("RL", min_size=1, max_size=40), st.booleans())
def test_a_sticking_that_does_not_come_out_is_refused_by_its_field(strokes, letters, left_handed):
    """With one of this fill, which can be typed in its place."""
    line = f"resolve | hands: {strokes} | against: 4"
    if strokes % len(letters) == 0:
        assert read_line(f"{line} | sticking: {letters}").what.sticking == letters
        return
    with pytest.raises(Refusal) as refused:
        read_line(f"{line} | sticking: {letters}", left_handed)
    assert str(refused.value).startswith("sticking ")
    assert refused.value.example.startswith("sticking: ")
    again = read_line(f"{line} | {refused.value.example}", left_handed)
    assert again.what.lanes == read_line(line, left_handed).what.lanes


@TRIES
@given(st.integers(2, 24), st.data(), st.booleans(), st.sampled_from([60, 96, 150]))
def test_a_sticking_of_a_phrase_is_that_of_page_06_and_is_kept(number, data, left_handed, bpm):
    """The cycle that page 06 makes of it, after a save too; mirrored; and what a hand cannot play is said."""
    letters = "".join(data.draw(st.lists(st.sampled_from("RL"), min_size=number, max_size=number)))
    line = f"phrase | number: {number} | bpm: {bpm} | sticking: {letters[:2]} {letters[2:].lower()}"
    swapped = letters.translate(str.maketrans("RL", "LR")) if left_handed else letters
    with tempfile.TemporaryDirectory() as folder:
        kept = SetList(Path(folder) / "list.txt")
        kept.save(line)
        (item,) = kept.read(left_handed)
    page = phrases(number)[0].cycle(hands=swapped, name="phrase", limb="hands", sound="snare")
    assert item.what == page
    assert item.line == line.strip()
    judged = check_sticking(swapped, Tempo(bpm, ticks=4))
    assert (item.text.count("ms") > 0) == (not judged)
    assert swapped in item.text.replace(" ", "")
    lesson = of_bars(item.what, item.tempo, limits(), words=item.words)
    drawn = "".join(
        mark.text for mark in lesson.pictures[0].marks if getattr(mark, "text", "") in ("R", "L", "RL")
    )
    assert swapped in drawn


@given(st.integers(2, 30), st.text("RLx", min_size=1, max_size=30), st.booleans())
def test_a_sticking_that_is_none_of_the_phrase_is_refused_by_its_field(number, letters, left_handed):
    """Other letters, too many or too few; the one that is named can be typed in its place."""
    line = f"phrase | number: {number}"
    if len(letters) == number and "x" not in letters:
        return
    with pytest.raises(Refusal) as refused:
        read_line(f"{line} | sticking: {letters}", left_handed)
    assert str(refused.value).startswith("sticking ")
    assert refused.value.argument == "sticking"
    read_line(f"{line} | {refused.value.example}", left_handed)


def test_a_title_of_ones_own_is_kept_and_else_the_item_names_itself():
    """Any letters; a colon in it too."""
    assert read_line("pair | pulses: 4 3 | title: Slow: by the sea").title == "Slow: by the sea"
    assert read_line("pair | pulses: 4 3").title == "4 against 3"
    assert read_line("accents").title == "An accent every 5 eighths in 7/8 as 2+2+3"


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("pear | pulses: 4 3", "'pear' is not a kind of item; there are pair, resolve"),
        ("pair | 4 3", "is not a field of pair; it has pulses, home, bpm, view, sentence, title"),
        ("pair | speed: 4", "is not a field of pair"),
        ("pair | pulses: 4 3 | pulses: 7 4", "pulses is given twice"),
        ("pair | pulses: 4", "are not two to four numbers"),
        ("pair | pulses: 4 0", "pulses '0' is not a whole number"),
        ("pair | pulses: 4 99999999999999", "is not a whole number"),
        ("pair | pulses: 20000 19999", "are not two to four numbers"),
        ("pair | pulses: 4 3 | home: 5", "home 5 is not one of the pulses 4, 3"),
        ("pair | bpm: fast", "bpm 'fast' is not a number from 1 to 1\u00a0000; for example bpm: 72"),
        ("pair | bpm: 0", "bpm '0' is not a number from 1 to 1\u00a0000; for example bpm: 72"),
        ("pair | bpm: 1/0", "is not a number from 1 to 1\u00a0000"),
        ("pair | bpm: 1000.5", "is not a number from 1 to 1\u00a0000"),
        ("pair | bpm: 100000000", "is not a number from 1 to 1\u00a0000"),
        ("accents | metre: 9/7", "metre '9/7' is not a bar"),
        ("accents | metre: 65/8", "65 notes"),
        ("accents | accent every: 0", "accent every '0'"),
        ("ostinato | feet: " + "x" * 99, "pattern of 99 letters"),
        ("ostinato | feet: no such thing", "no such thing"),
        ("ostinato | feet: 16 16 16 16 16", "feet '16 16 16 16 16' has 80 notes, more than 64"),
        ("ostinato | hands: 15 as 4 3 4 3", "adds up to 14, and not to 15"),
        ("ostinato | left foot: rl", "strokes of the right foot"),
        ("resolve | lands with: gong", "lands with 'gong' is not tom or crash"),
        ("resolve | bars: 99", "bars '99'"),
        ("resolve | lands on: 9", "lands on 9 is not a beat of 4/4"),
        ("phrase | number: 9999", "number '9999'"),
        ("phrase | lead: both", "lead 'both' is not right or left"),
        ("accents | metre: 99999/8", "metre '99999/8' is not a bar"),
        ("phrase | groups of: 40", "groups of '40' is not a whole number from 1 to 16"),
        ("pair | view: upside down", "view 'upside down' is not one of heard line, gap cycle"),
        ("pair | pulses: 3 4 5 | view: gap cycle", "view gap cycle is of two numbers"),
        ("accents | view: gap cycle", "view gap cycle is of two numbers"),
        ("pair | sentence: " + "la " * 200, "sentence has 599 letters, more than 400"),
        ("", "is not a kind of item"),
    ],
)
def test_a_line_that_cannot_be_read_says_what_is_wrong(line, said):
    """By the name of the field that stands on the line."""
    with pytest.raises((ValueError, IndexError)) as refused:
        read_line(line)
    assert said in str(refused.value)
    assert isinstance(refused.value, Refusal)
    assert refused.value.example
    assert str(refused.value).endswith(f"; for example {refused.value.example}")
    assert "=" not in str(refused.value)  # no argument of a call: a line has fields


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("pair | pulses: 0 4", "pulses"),
        ("pair | pulses: 7 4 | home: 5", "home"),
        ("pair | bpm: 100000000", "bpm"),
        ("resolve | bars: 99", "bars"),
        ("resolve | lands on: 9", "lands on"),
        ("resolve | free beats: 99999", "free beats"),
        ("accents | metre: 9/7", "metre"),
        ("ostinato | feet: " + "x" * 99, "feet"),
        ("phrase | begins with: 40", "begins with"),
        ("pair | pulses: 7 4 | view: a strip", "view"),
        ("accents | view: gap cycle", "view"),
        ("pair | pulses: 7 4 | sentence: " + "la " * 200, "sentence"),
    ],
)
def test_the_example_of_a_refused_field_can_be_typed_in_its_place(line, name):
    """The line is read when the field holds the example."""
    with pytest.raises(Refusal) as refused:
        read_line(line)
    example = refused.value.example
    assert example.startswith(f"{name}: ")
    assert read_line(f"{line.rsplit(' | ', 1)[0]} | {example}")


@given(st.text(max_size=200))
def test_any_text_is_read_or_told_and_no_line_vanishes(text):
    """Every line that is no note and not empty is an item or is told with its number."""
    items = parsed(text)
    lines = [line for line in text.splitlines() if line.strip().lstrip("\ufeff") and line.strip()[:1] != "#"]
    assert len(items) + len(items.damaged) <= len(lines)
    assert len(items) + len(items.damaged) >= sum(1 for line in lines if line.lstrip("\ufeff")[:1] != "#")
    assert bool(items.warning) == bool(items.damaged or items.misfits)


def test_damaged_lines_are_told_by_their_number_and_the_others_are_read():
    """The first with what it says and its reason, for a field has no numbers of lines, the rest by theirs."""
    items = parsed("# notes\npair | pulses: 4 3\n\npear\npair | bpm: no\npair | pulses: 7 4\n")
    assert [item.title for item in items] == ["4 against 3", "7 against 4"]
    assert [(one.line, one.text) for one in items.damaged] == [(4, "pear"), (5, "pair | bpm: no")]
    assert items.warning.startswith("Line 4, 'pear', could not be read and stays as it is: 'pear'")
    assert items.warning.endswith(" Nor could line 5.")
    many = parsed("pear\n" * 20).warning
    assert many.endswith(" Nor could lines 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13 and 7 more.")


@TRIES
@given(st.lists(st.tuples(coprime_pairs, st.integers(-3, 3), st.booleans()), min_size=1, max_size=5))
def test_a_sentence_that_does_not_fit_is_told_by_its_line(rows):
    """With stars, by how many syllables there are for how many sounds; plain words and one that fits not."""
    wrong, lines = [], []
    for number, (p, off, starred) in enumerate(rows, 2):
        sounds = len(composite(p))
        many = max(1, sounds + off)
        pulses = " ".join(map(str, p.pulses))
        lines.append(f"pair | pulses: {pulses} | sentence: {'*' * starred}{'la ' * many}")
        if starred and many != sounds and len("la " * many) < set_list.MOST_SENTENCE:
            wrong.append((number, many, sounds))
    items = parsed("\n".join(["# a note", *lines]))
    assert [one.line for one in items.misfits] == [number for number, _, _ in wrong]
    assert len(items) + len(items.damaged) == len(rows)
    if wrong and not items.damaged:
        number, many, sounds = wrong[0]
        told = (
            f"The sentence of line {number} does not fit and is shown as plain words: it has {many} syllable"
        )
        assert items.warning.startswith(told)
        assert f"for the {sounds} sound" in items.warning
        assert all(f" {number}" in items.warning for number, _, _ in wrong)
    elif not wrong:
        assert "does not fit" not in items.warning


def test_a_list_is_not_endless():
    """What is beyond the most items is told, not shown."""
    items = parsed("pair\n" * (set_list.MOST_ITEMS + 1))
    assert len(items) == set_list.MOST_ITEMS
    assert "at most 200 items" in items.warning


def test_the_first_list_is_readable_and_nothing_is_written_by_reading(tmp_path):
    """Where there is no file, a short list to begin with."""
    songs = SetList(tmp_path / "set-list.txt")
    items = songs.read()
    assert len(items) == 5
    assert items.warning == ""
    assert songs.text == FIRST
    assert os.listdir(tmp_path) == []


def test_what_is_saved_is_there_line_for_line_and_alone(tmp_path):
    """Damaged lines, notes and empty lines too; no part of a file is left beside it."""
    path = tmp_path / "set-list.txt"
    songs = SetList(path)
    songs.read()
    text = "# mine\n\npair | pulses: 4 3\nwhat is this\n"
    songs.save(text)
    assert path.read_text() == text
    songs.save(text + "pair | pulses: 5 4\n")
    assert SetList(path).read()[1].title == "5 against 4"
    assert os.listdir(tmp_path) == ["set-list.txt"]


def test_a_file_that_something_else_changed_is_never_written_over(tmp_path):
    """Told, and both are kept: the file as it is, and the new list beside it under a free name."""
    path = tmp_path / "set-list.txt"
    songs, other = SetList(path), SetList(path)
    songs.read(), other.read()
    other.save("pair | pulses: 5 4")
    with pytest.raises(SetListError, match="changed by something else"):
        songs.save("pair | pulses: 7 4")
    assert "5 4" in path.read_text()
    assert songs.save_beside("pair | pulses: 7 4").name == "set-list-2.txt"
    assert songs.save_beside("pair | pulses: 8 5").name == "set-list-3.txt"
    assert "5 4" in path.read_text()
    songs.read()
    path.write_text("pair | pulses: 9 8\n")
    with pytest.raises(SetListError, match="changed by something else"):
        songs.save("pair | pulses: 7 4")
    path.unlink()
    with pytest.raises(SetListError, match="changed by something else"):
        songs.save("pair | pulses: 7 4")


def test_a_file_that_is_no_text_is_left_alone(tmp_path):
    """Read as nothing, told, and not written over."""
    path = tmp_path / "set-list.txt"
    path.write_bytes(b"\xff\xfe\x00pair")
    songs = SetList(path)
    with pytest.raises(SetListError, match="not a text in UTF-8"):
        songs.read()
    with pytest.raises(SetListError, match="changed by something else"):
        songs.save("pair")
    assert path.read_bytes() == b"\xff\xfe\x00pair"


def test_a_folder_in_its_place_and_a_folder_that_is_not_there_are_told(tmp_path):
    """Sentences, not stack traces."""
    (tmp_path / "set-list.txt").mkdir()
    with pytest.raises(SetListError, match=r"set-list\.txt cannot be read"):
        SetList(tmp_path / "set-list.txt").read()
    lost = SetList(tmp_path / "nowhere" / "set-list.txt")
    lost.read()
    with pytest.raises(SetListError, match=r"set-list\.txt' is in a folder that is not there"):
        lost.save("pair")


def test_a_full_disk_leaves_the_old_list_whole(tmp_path, monkeypatch):
    """The list is the old one or the new one."""
    path = tmp_path / "set-list.txt"
    songs = SetList(path)
    songs.read()
    songs.save("pair | pulses: 4 3")

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(SetListError, match=r"set-list\.txt' cannot be written: the disk is full"):
        songs.save("pair | pulses: 7 4")
    assert path.read_text() == "pair | pulses: 4 3\n"
    assert os.listdir(tmp_path) == ["set-list.txt"]


def test_half_a_character_from_a_browser_does_not_stop_the_save(tmp_path):
    """It is written as a question mark, and the rest as it is."""
    songs = SetList(tmp_path / "set-list.txt")
    songs.read()
    songs.save("# \ud83d\npair")
    assert Path(songs.path).read_text() == "# ?\npair\n"


#: A notebook that adds a hundred lines, reading again wherever another one was faster.
NOTEBOOK = """
import sys
from rhythmlab.practice.set_list import SetList, SetListError
path, name = sys.argv[1:]
done = 0
while done < 30:
    songs = SetList(path)
    songs.read()
    try:
        songs.save(f"{songs.text}pair | pulses: 4 3 | title: {name} {done}")
        done += 1
    except SetListError:
        pass
"""


def test_of_two_notebooks_that_save_at_once_none_loses_a_line(tmp_path):
    """Two notebooks add thirty lines each to one list: every line that was said to be saved is there."""
    path = tmp_path / "set-list.txt"
    SetList(path).save("pair | pulses: 4 3")
    notebooks = [subprocess.Popen([sys.executable, "-c", NOTEBOOK, path, name]) for name in ("one", "two")]
    assert [notebook.wait(timeout=300) for notebook in notebooks] == [0, 0]
    lines = path.read_text().splitlines()
    for name in ("one", "two"):
        assert [line.endswith(f": {name} {n}") for n in range(30) for line in lines].count(True) == 30
    assert os.listdir(tmp_path) == ["set-list.txt"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="makes a named pipe, which Windows lacks")
def test_a_pipe_and_a_file_of_a_gigabyte_are_told_at_once(tmp_path):
    """Neither is read: what is there is looked at first."""
    os.mkfifo(tmp_path / "pipe.txt")
    large = tmp_path / "large.txt"
    large.touch()
    os.truncate(large, 10**9)
    for path, said in ((tmp_path / "pipe.txt", "not a plain file"), (large, "1,000,000,000 bytes, more")):
        with in_time(2), pytest.raises(SetListError, match=said):
            SetList(path).read()
    assert SetList(large).path == large


@pytest.mark.parametrize("path", [7, b"list", "", "a\0b", ["list.txt"]])
def test_what_can_be_no_path_is_refused(path):
    """The message has a call that works."""
    wrong = "the name of no file" if isinstance(path, str) else "is not a path"
    assert refusal(lambda: SetList(path), "path=", wrong) == 'pages.set_list("my-list.txt")'


def _swapped(text: str) -> str:
    """Return words with left and right exchanged."""
    return re.sub(r"\b(right|left)\b", lambda found: {"right": "left", "left": "right"}[found[0]], text)


def _sound(line: str, lane: Lane) -> str:
    """Return what a lane sounds on; letters of the feet name the pedal, right bass drum, left hi-hat."""
    return "" if "feet: R" in line and "foot" in lane.limb else lane.sound


@pytest.mark.parametrize(
    "line",
    [
        "resolve | hands: 7 | against: 4",
        "resolve | hands: 5 | against: 3 | metre: 3/4 | feet: RLRR LRLL | lands with: a crash",
        "accents",
        "accents | metre: 4/4 | accent every: 3",
        "accents | metre: 4/4 | accent every: 5 | sticking: RLRRL",
        "accents | metre: 4/4 | accent every: 5 | sticking: 3 2",
        "ostinato",
        "ostinato | feet: son clave | left foot: hi-hat on 2 and 4 | hands: x.x.xx | left hand: .x.",
        "ostinato | feet: RL | hands: RLRR LRL",
        "ostinato | feet: 4 4 | hands: 4 3 4 3 | left foot: ..x.",
        "phrase | number: 14",
        "phrase | number: 31 | lead: left",
    ],
)
def test_a_left_handed_reader_opens_the_same_groove_mirrored(line):
    """The file says limbs and letters as a right-handed player has them; the other side plays them."""
    one, other = read_line(line), read_line(line, left_handed=True)
    assert (other.title, other.tempo, other.kind) == (one.title, one.tempo, one.kind)
    letters = str.maketrans("RL", "LR")
    played, mirror = (
        sorted(
            (lane.limb, lane.hands, lane.onsets.tolist(), lane.accents, _sound(line, lane)) for lane in lanes
        )
        for lanes in (one.what.lanes, other.what.lanes)
    )
    assert any("hand" in limb or hands for limb, hands, *_ in played)
    assert mirror == sorted(
        (_swapped(limb), hands.translate(letters), *more) for limb, hands, *more in played
    )
    words, others = (
        sorted(word for word in re.findall(r"[a-z]+", text.lower()) if word in ("left", "right"))
        for text in (_swapped(one.text.lower()), other.text)
    )
    assert words == others
    assert [item.what for item in parsed(line, left_handed=True)] == [other.what]


def test_a_phrase_is_titled_as_on_its_page():
    """Long ones as they are said, seven fours and a three; never a row of digits that nobody reads out."""
    for number in some(range(2, 65), 8, "phrases titled", [4, 5, 28, 31]):
        title = read_line(f"phrase | number: {number} | bpm: 60").title
        assert pages.phrase_and_stick(number, bpm=60).stage.head["title"] == title
        assert re.match(rf"{number} (as|in one group)\b", title), title
        assert len(re.findall(r"\d+", title)) <= 7, title


@pytest.mark.parametrize("count", COUNTS)
def test_a_phrase_of_a_set_list_is_said_as_its_line_says(count):
    """The field count is the menu of page 06; a line without it, as older ones are, numbers each group."""
    item = read_line(f"phrase | number: 13 | count: {count}")
    spoken = phrases(13)[0].spoken(count)
    assert item.text == f"Say: {' | '.join(spoken)}."
    assert list(item.words) == " ".join(spoken).split()
    assert read_line("phrase | number: 13").words == read_line("phrase | number: 13 | count: numbers").words
    with pytest.raises(ValueError, match=r"count 'loud' is no way of counting.*for example count: numbers"):
        read_line("phrase | number: 13 | count: loud")

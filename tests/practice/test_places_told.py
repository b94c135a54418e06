"""A place in a sentence after a take has the word that stands under it in the picture."""

import numpy as np
import pytest

import rhythmlab as rl
from rhythmlab.core.feel import Feel, own_groups
from rhythmlab.draw.scene import Scene
from rhythmlab.panels.pages_00_to_04 import merge_pulses
from rhythmlab.playing.sentence import sentence
from rhythmlab.practice.feedback import feedback, tick_name, when_lost
from rhythmlab.practice.journal import Journal
from rhythmlab.practice.take import cycle_of, cycle_row
from rhythmlab.refusal import Refusal
from tests import brute
from tests.draw.test_said_as_written import GROOVES, KEPT, PAIRS, written
from tests.panels.test_takes import message, send
from tests.practice.simulate import pair, played
from tests.profile import some
from tests.refusals import refusal


def told(cycle: rl.Cycle, scene: Scene, groups: tuple[tuple[int, ...], ...] = ()) -> int:
    """Hold that each word under a stroke is what a sentence calls it; return how many there were."""
    words, seen = written(scene), 0
    beats = set(cycle.beats.tolist())
    for tick in sorted({tick for lane in cycle.lanes for tick in lane.onsets.tolist()}):
        if scene.start <= tick < scene.stop and tick in words and tick not in beats:
            name = tick_name(cycle, tick, groups)
            assert any(name.startswith(f"the {word} of ") for word in words[tick]), (tick, name, words[tick])
            seen += 1
    return seen


@pytest.mark.parametrize("home", [0, 1])
def test_a_place_of_a_pair_is_told_by_its_word(home):
    """2 to 24, both homes, in our groups and in the reader's: "ta e of 2" where the picture has TA e."""
    seen = 0
    for p in (rl.Polyrhythm(*one) for one in some(PAIRS, 24, home, [(7, 4), (5, 2)])):
        for groups in ("", tuple(reversed(brute.groups(Feel(p, home).parts(1 - home))))):
            own = (groups,) if len(groups) > 1 and sum(groups) > 4 else ()
            seen += told(p.cycle(home), rl.pictures.strip(p.cycle(home), groups=own), own)
    assert seen > 40


def test_a_place_of_a_groove_is_told_by_its_word_and_its_bar():
    """Also of a take that was kept, which does not know its metre; past the first bar by the bar's own 1."""
    seen = 0
    for kind, what, metre in some(GROOVES, 9, 0, KEPT):
        try:
            cycle = {
                "resolve": lambda what=what, metre=metre: rl.playing.resolve(what, metre, bars=2),
                "accents": lambda what=what, metre=metre: rl.playing.accents(metre, what),
                "ostinato": lambda what=what, metre=metre: rl.ostinato("x..x..x.", what, metre=metre),
            }[kind]()
        except Refusal:  # no stroke of a fill falls in the bars before it lands
            continue
        kept = cycle_of(cycle_row(cycle))
        for number, start in enumerate(cycle.bars.tolist(), 1):
            stop = start + cycle.metre.ticks
            seen += told(kept, rl.pictures.strip(cycle, start=start, stop=stop))
            alone = "" if len(cycle.bars) < 2 else f" in bar {number}"
            assert tick_name(kept, start) == f"beat 1{alone}"
    assert seen >= 60


def test_feedback_has_the_groups_of_the_reader():
    """7 against 4 without its fourth stroke: "ta e" of 2 in fours and a three, "ta &" the other way round."""
    take = played(pair(7, 4, 8), np.random.default_rng(1), missing=[(0, 3 + 7 * k) for k in range(8)])
    assert " the ta e of 2 " in feedback(take)[0]
    assert " the ta & of 2 " in feedback(take, groups="3+4")[0]


def test_when_lost_has_the_groups_of_the_reader():
    """10 against 5 against 2: the 10 and the 5 meet on fifths of a beat of the 2."""
    three = rl.Polyrhythm(10, 5, 2)
    assert ", the & of 1, " in when_lost(three, 1)[0]
    assert ", the ta of 1, " in when_lost(three, 1, groups="2+3")[0]


def test_a_sound_without_a_syllable_has_the_groups_of_the_reader():
    """The last of the 7 in 7 against 4 is on the fourth part of 4: "a", or "ta" after a three."""
    words = " ".join(["sea"] * 9)
    refusal(lambda: sentence((7, 4), words), "9 syllables", "10 (a of 4)")
    refusal(lambda: sentence((7, 4), words, groups="3+4"), "9 syllables", "10 (ta of 4)")


def test_a_place_alone_says_its_part_too():
    """Where no picture is by, "e" of seven could be taken for "e" of four: the part stands beside it."""
    assert rl.metre("4/4", parts=7).describe(7 + 5) == "ta e of 2 (part 6 of 7)"
    assert rl.metre("4/4").describe(4 + 3) == "a of 2"
    assert rl.metre("4/4", parts=28).describe(28 + 20) == "beat 2, part 21 of 28"
    assert rl.metre("4/4", parts=70).describe(1) == "beat 1, part 2 of 70"


def test_a_panel_tells_of_a_take_in_the_groups_that_it_shows(tmp_path):
    """They are those of the field at that moment, not those of the first picture."""
    panel = merge_pulses(7, 4, bpm=72)
    panel.takes._journal = Journal(tmp_path / "journal.jsonl")
    told = {}
    for groups, word in (("", "ta e"), ("3+4", "ta &")):
        panel._grouped(own_groups(groups, ""))
        sent = message((7, 4), bpm=72, id=f"take-{word}")
        of_seven = [tap for tap in sent["taps"] if tap[0] == 0]
        left_out = of_seven[3::7]
        send(panel.stage, {**sent, "taps": [tap for tap in sent["taps"] if tap not in left_out]})
        told[word] = panel.stage.feedback[0]
    assert all(f" the {word} of 2 " in said for word, said in told.items()), told

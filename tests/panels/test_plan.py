"""The plan for a workshop: minutes that add up, breaks in time, a table for everybody, links that lead on."""

import re
from fractions import Fraction
from html import escape
from html.parser import HTMLParser
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmlab import resources
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.panels.plan import (
    BPM,
    DRIFT_BPM,
    LEVELS,
    LONGEST,
    SHORTEST,
    STRETCH,
    UNITS,
    clock,
    workshop,
    workshop_plan,
)
from rhythmlab.panels.wall import GAPS, HALVES
from rhythmlab.playing.approach import COUNT, LINE, approach, called_tempo
from rhythmlab.playing.learning import learning_order
from rhythmlab.playing.limits import limits
from rhythmlab.practice.set_list import parsed
from tests.profile import some

plans = st.builds(workshop, st.integers(SHORTEST, LONGEST), st.sampled_from(LEVELS))


@given(plans)
def test_the_parts_follow_each_other_and_add_up_to_the_minute(plan):
    """From 0 to the end without a hole, in whole minutes, none of them empty."""
    now = 0
    for part in plan.parts:
        assert part.start == now
        assert part.minutes > 0
        now += part.minutes
    assert now == plan.minutes


@given(plans)
def test_hands_rest_five_minutes_in_every_thirty(plan):
    """The published break: no stretch of playing is over 25 minutes, and each break has at least five."""
    rule = limits()["practice_break"]
    assert (rule.value, rule.unit) == (5, "minutes in every 30")
    stretch = 0
    for part in plan.parts:
        stretch = stretch + part.minutes if part.kind == "play" else 0
        assert stretch <= STRETCH
        assert part.kind != "break" or part.minutes >= rule.value
    assert plan.parts[0].kind == plan.parts[-1].kind == "talk"


@given(plans)
def test_each_part_is_taken_once_in_the_order_of_its_level_and_the_needed_ones_first(plan):
    """No part twice; what is left out comes later in rank than all that is there."""
    chosen = [part.unit for part in plan.parts if part.kind == "play"]
    every = UNITS[plan.level]
    assert chosen == [unit for unit in every if unit in chosen]
    left = [unit.rank for unit in every if unit not in chosen]
    assert not left or min(left) >= max(unit.rank for unit in chosen)
    assert min(part.minutes for part in plan.parts if part.kind == "play") >= 5


def test_beginners_call_two_numbers_from_1_to_4_in_their_first_hour():
    """From an hour on; it is said what to say to a call that is no new rhythm."""
    for minutes in range(60, LONGEST + 1):
        (unit,) = [part.unit for part in workshop(minutes, "first time").parts if "1 to 4" in part.unit.name]
        assert unit.say.startswith("Call out two numbers from 1 to 4")
        assert "4 and 2 is 2 and 1, twice" in unit.say


def test_what_a_part_says_of_its_pairs_is_so():
    """Numbers above ten are above ten, of two ways both fit, and three pulses have the wall's thirds."""
    for unit in (unit for level in LEVELS for unit in UNITS[level]):
        if any(len(pair) == 3 for pair in unit.pairs):
            assert "third of the room" in unit.say, unit
        if "above ten" in unit.say:
            assert min(map(min, unit.pairs)) > 10, unit
        if "Half of the room learns the line" in unit.say:
            for pair in unit.pairs:
                fits = {way.name for way in approach(pair, BPM).ways if way.fits_at(BPM, 1)}
                assert {LINE, COUNT} <= fits, unit


@settings(deadline=None)  # the machine may be busy
@given(plans)
def test_the_pairs_are_those_played_by_difficulty(plan):
    """The sheet is the order of learning of exactly the pairs in the parts, 4 against 2 as 2 against 1."""
    pairs = {pair for part in plan.parts for pair in part.unit.pairs if len(pair) == 2}
    played = {Fraction(*pair).as_integer_ratio() for pair in pairs}
    assert len({rung.why for rung in plan.pairs}) == len(plan.pairs)
    assert [rung.polyrhythm.pulses for rung in plan.pairs] == [
        rung.polyrhythm.pulses for rung in learning_order(Polyrhythm(*pair) for pair in played)
    ]


def test_every_caution_with_a_number_has_the_number_and_the_source_of_the_table():
    """Values and names as in data/limits.csv and data/sources.csv; what is not read first-hand says so."""
    said = "\n".join(workshop(120).cautions)
    rows = limits()
    for key in (
        "loudness",
        "loudness_exchange",
        "loudness_week_child",
        "practice_break",
        "practice_increase",
    ):
        line = next(line for line in said.splitlines() if f"{int(rows[key].value)} {rows[key].unit}" in line)
        assert rows[key].named in line
        assert (rows[key].status == "read") == ("quoted" not in line)
    assert "stop, and see a clinician" in said


@pytest.mark.parametrize("level", LEVELS)
def test_every_link_leads_to_a_page_and_every_unit_says_asks_and_runs(level):
    """Seen from the folder of the workshop."""
    folder = resources.folder("notebooks") / "workshop"
    for unit in UNITS[level]:
        assert unit.say.endswith((".", "!"))
        assert unit.ask.endswith("?")
        assert unit.run[0][0] == "the wall"
        for _, link in unit.run:
            assert (folder / link).is_file(), link


class Table(HTMLParser):
    """Reads what a screen reader would: caption, headings of columns and rows, and whether all is closed."""

    def __init__(self, html):
        super().__init__()
        self.open, self.heads, self.rows, self.caption = [], [], [], ""
        self.feed(html)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.open.append(tag)
        if tag == "th":
            (self.heads if dict(attrs)["scope"] == "col" else self.rows).append("")

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if "caption" in self.open:
            self.caption += data
        if self.open and self.open[-1] == "th":
            (self.rows if self.rows else self.heads)[-1] += data


@given(plans)
def test_the_table_has_a_caption_and_headings_for_rows_and_columns(plan):
    """Valid, closed, each row headed by its time; the same things as in the text."""
    table = Table(plan._repr_html_())
    assert table.open == []
    assert table.caption == plan.title
    assert table.heads == ["from", "minutes", "part", "say", "ask", "run"]
    assert table.rows == [*(clock(part.start) for part in plan.parts), clock(plan.minutes)]
    text = re.sub(r"<[^>]+>", " ", plan._repr_html_())
    for part in plan.parts:
        assert part.unit.name in repr(plan)
        assert part.unit.name in text.replace("&#x27;", "'")


def test_what_cannot_be_planned_is_refused_by_name():
    """Too short, too long, no number, no such level."""
    for minutes in (29, 241, 0, -5, 60.5, "long", True):
        with pytest.raises(ValueError, match="minutes="):
            workshop(minutes)
    with pytest.raises(ValueError, match="'expert' is not one of first time, knows 3:2, plays 7:4"):
        workshop(60, "expert")
    for bpm in (0, "fast", None, 1001, True):
        with pytest.raises(ValueError, match=r"bpm=.*; for example pages.workshop_plan\(120, bpm=92\)"):
            workshop(60, bpm=bpm)


@pytest.mark.parametrize(
    ("level", "bpm"),
    some(product(LEVELS, [40, Fraction(185, 2), 160, 240]), 3, "tempos of plans", [("first time", 240)]),
)
def test_the_set_list_of_a_plan_goes_at_its_tempo(level, bpm):
    """Each pair at the tempo that a call would have: no slower than needed; neighbours at 100 at least."""
    for item in parsed(workshop(120, level, bpm=bpm).set_list()):
        if item.kind == "pair":
            p, home = item.what, item.home
            wanted = max(bpm, DRIFT_BPM) if item.view == GAPS else bpm
            assert item.tempo.bpm_of(p, home) == called_tempo(approach(p, wanted, home=home))


def test_what_is_said_is_ordered_once():
    """No part of a plan says to say what already says so."""
    for level in LEVELS:
        plan = workshop(240, level)
        assert "Say: Say" not in plan.set_list() + repr(plan)


def test_the_panel_follows_its_fields_and_tells_what_it_cannot_read():
    """Another length, another level; a bad one is told and the last plan stays."""
    panel = workshop_plan(120)
    assert panel.line.text == panel.stage.notice == ""
    panel._minutes.value = "60"
    assert panel.plan == workshop(60)
    panel._level.value = "plays 7:4"
    assert panel.plan == workshop(60, "plays 7:4")
    for typed in ("", "soon", "5", "9999999", "-60"):
        panel._minutes.value = typed
        assert panel.line.text
        assert panel.plan == workshop(60, "plays 7:4")
    panel._minutes.value, panel._bpm.value = "60", "92,5"
    assert panel.plan == workshop(60, "plays 7:4", bpm=Fraction(185, 2))
    panel._bpm.value = "fast"
    assert "bpm of the set list 'fast'" in panel.line.text
    assert panel.plan == workshop(60, "plays 7:4", bpm=Fraction(185, 2))
    panel._bpm.value = "72"
    panel._minutes.value = "90"
    assert panel.line.text == panel.stage.notice == ""
    (output,) = panel._shown.outputs
    assert output["data"]["text/html"] == workshop(90, "plays 7:4")._repr_html_()
    assert output["data"]["text/plain"] == str(panel) == repr(panel.plan)
    assert len(repr(panel)) < 300
    assert panel._twin.heading == "The plan as plain text"
    assert escape(str(panel)) in panel._twin.inside


def test_the_words_of_a_plan_and_the_wall_give_each_half_the_same_number():
    """The first number is the right half's, the upper row, in every unit of every level."""
    said = " ".join(unit.say for units in UNITS.values() for unit in units)
    found = re.findall(r"(right|left) half(?: of the room)? (?:claps )?the (first|second|upper|lower)", said)
    assert len(found) == 4
    rows = {"first": 0, "upper": 0, "second": 1, "lower": 1}
    assert all(f"{half} half" == HALVES[rows[what]] for half, what in found)

"""Reasons as values: their tempos are those of the way, their sources those that a handout prints."""

import re
from fractions import Fraction
from math import floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.core.feel import Feel
from rhythmlab.export.lesson import of_pair
from rhythmlab.panels.wall import possible_text
from rhythmlab.playing.approach import fitting_view
from rhythmlab.playing.learning import bpm_text, counted_to
from rhythmlab.playing.limits import limits, source_text
from rhythmlab.resources import table
from rhythmlab.text import sentences
from rhythmlab.text.descriptions import pulse_name
from tests.strategies import TRIES, bpms, several

numbers = st.integers(1, 64)
#: Limits as they are, and moved by a reader.
rows = st.sampled_from(
    [
        limits(),
        limits(part_heard=120),
        limits(flam=30, hand_two=60, bar_longest=4000),
        limits(beat_preferred=550),
    ]
)
CITATIONS = {row["key"]: row["citation"] for row in table("sources.csv")}


def ways_of(found):
    return (*found.ways, *found.counts)


@TRIES
@given(several, bpms, rows)
def test_the_tempos_of_the_causes_are_those_of_the_way(p, bpm, moved):
    """A way begins at the highest floor of its causes and ends at the lowest ceiling, to the last digit."""
    for way in ways_of(rl.approach(p, rl.Tempo(bpm, pulse=0), home=0, limits=moved)):
        floors = [cause.floor for cause in way.causes if cause.floor is not None]
        ceilings = [cause.ceiling for cause in way.causes if cause.ceiling is not None]
        assert way.floor == max(floors, default=None)
        assert way.ceiling == min(ceilings, default=None)
        for cause in way.causes:
            assert cause.home == way.home
            for tempo in (cause.floor, cause.ceiling):
                assert tempo is None or isinstance(tempo, int | Fraction)


@TRIES
@given(several, bpms, rows)
def test_a_cause_says_its_limit_its_source_and_its_tempos(p, bpm, moved):
    """Said without of what, nothing but the name of the pulse is gone; the source stands in brackets."""
    for way in ways_of(rl.approach(p, rl.Tempo(bpm, pulse=0), home=0, limits=moved)):
        assert way.reasons == tuple(map(str, way.causes))
        for cause in way.causes:
            said = cause.describe()
            name = f" bpm of {pulse_name(p, way.home)}"
            assert re.sub(rf"{re.escape(name)}(?!\w)", " bpm", said) == cause.describe(of=False)
            if cause.limit is not None:
                assert f"{source_text(cause.limit)})" in said
                assert cause.source in ("", cause.limit.source)
            tempos = [tempo for tempo in (cause.floor, cause.ceiling) if tempo is not None]
            assert said.count(name) >= len(tempos)
            assert said == f"{cause.body()}." or cause.body() in said or cause.kind == "slips"


@TRIES
@given(numbers, numbers, bpms, st.integers(0, 1), rows)
def test_a_handout_prints_the_sources_that_its_reasons_name(a, b, bpm, home, moved):
    """Every source in the brackets of a reason is printed, with those of care, and no other."""
    found = of_pair(rl.Polyrhythm(a, b), rl.Tempo(bpm, pulse=home), home, moved)
    printed = {key for key, text in CITATIONS.items() if any(text in line for line in found.sources)}
    care = {moved[key].source for key in ("practice_break", "loudness", "loudness_week_child")}
    said = " ".join(found.reasons)
    named = {
        row.source
        for row in moved.values()
        if row.status != "moved" and (f"({source_text(row)})" in said or f", {source_text(row)})" in said)
    }
    assert printed == care | named
    assert len(found.sources) == len(set(found.sources))


@pytest.mark.parametrize("pair", [(40, 4), (49, 4), (29, 2), (27, 2), (52, 5), (4, 40), (4, 49)])
@pytest.mark.parametrize("home", [0, 1])
@pytest.mark.parametrize("bpm", [6, 30, 90, 200, 300])
def test_on_a_handout_a_tempo_of_another_pulse_keeps_its_name(pair, home, bpm):
    """Home is named once for the page; a 4 is not taken for the beginning of a 49 or a 40."""
    found = of_pair(rl.Polyrhythm(*pair), rl.Tempo(bpm, pulse=home), home, limits())
    for text in (*found.reasons, *(text for text, _ in found.steps)):
        assert not re.search(r"bpm\d", text), text
        for of in re.findall(r"bpm of the (\d+)", text):
            assert int(of) == pair[1 - home], text


@TRIES
@given(several, bpms, st.integers(0, 1), rows)
def test_a_room_is_told_whole_tempos_that_are_true(p, bpm, home, moved):
    """The way, where to start and how far it goes: whole numbers inside its span, with its name."""
    found = rl.approach(p, rl.Tempo(bpm, pulse=home), home=home, limits=moved)
    best, said = found.recommended, found.in_the_room()
    assert said == possible_text(Feel(p, home), rl.Tempo(bpm, pulse=home), moved)
    one = counted_to(p) if not best.road else 0
    assert said.startswith(f"Count to {one}," if one else f"{sentences.capital(best.label)}: start at ")
    start = re.search(r"start at ([0-9.,\u00a0e-]+) bpm of ", said)[1].replace("\u00a0", "")
    own = best.ceiling_of(home)
    if best.start_of(home) >= 1 and (own is None or own >= best.start_of(home) + 1):
        assert start.isdigit()
        assert best.fits_at(Fraction(start), home)
    span = next(one for one in found.ranges if (one.way.name, one.way.home) == (best.name, best.home))
    top = re.search(
        r"Recommended up to ([0-9]+) bpm(?:; it fits up to ([0-9]+))?\.", said.replace("\u00a0", "")
    )
    if top and not best.road:
        assert Fraction(top[1]) <= span.high < int(top[1]) + 1, "as far as no other way is recommended"
        assert top[0] in of_pair(p, rl.Tempo(bpm, pulse=home), home, moved).way.replace("\u00a0", "")
        if top[2]:
            assert span.high < Fraction(top[2]) <= own, "faster it fits too"
        else:
            assert own is None or floor(own) <= span.high
    goal = re.search(r"the goal is ((?:about )?[0-9]+)\. ", said)
    if goal:
        assert f"{goal[1]} bpm" in best.steps[-1].text.replace("\u00a0", "")


@TRIES
@given(st.integers(2, 24), st.integers(2, 24), st.integers(10, 400), st.integers(0, 1), rows)
def test_page_wall_handout_and_steps_say_one_start_and_one_picture(a, b, bpm, home, moved):
    """The first tempo said is the same everywhere: the ladder begins there, no step is slower."""
    p, tempo = rl.Polyrhythm(a, b), rl.Tempo(bpm, pulse=home)
    found = rl.approach(p, tempo, home=home, limits=moved)
    start = bpm_text(found.start)
    said = f"start at {start} bpm of {pulse_name(p, home)}"
    assert said in possible_text(Feel(p, home), tempo, moved)
    assert said in found.in_the_room()
    lesson = of_pair(p, tempo, home, moved)
    assert lesson.ladder[0] == start
    assert f"start at {start} bpm" in lesson.way or "start at" not in lesson.way
    steps = lesson.steps if found.recommended.name == "hold the ones" else lesson.steps[:1]
    assert f"at {start} bpm" in " ".join(text for text, _ in steps)  # of the ones, each begins slower alone
    assert found.view == fitting_view(p, found.recommended.name)
    first = found.recommended.start_of(home)
    assert first <= found.start < first + 1

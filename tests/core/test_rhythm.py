"""Whatever takes a rhythm takes it in three forms, and whatever takes a tempo takes a number."""

import inspect

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.core import rhythm as given_as
from rhythmlab.refusal import Refusal
from tests.alike import seen, told
from tests.profile import tries
from tests.public import WHERE, by_name
from tests.refusals import refusal, works

#: Every public call that takes a rhythm, by name: the call of it with nothing else given.
RHYTHM = {
    "Feel": rl.Feel,
    "Take": lambda what: rl.practice.Take(
        cycle=what,
        tempo=72,
        cycles=1,
        start=0,
        stop=1,
        mode="one pulse",
        lanes=(0,),
        tap_lanes=[0],
        tap_times=[0.02],
        id="t1",
    ),
    "approach": lambda what: rl.approach(what, 72),
    "changeover": rl.playing.changeover,
    "composite": rl.composite,
    "cue": lambda what: rl.cue(what, 72, cycles=1),
    "drift": rl.drift,
    "figure": rl.pictures.figure,
    "fill": lambda what: rl.fill("4/4", 100, pairs=[what]),
    "flams_from": rl.playing.flams_from,
    "gap_cycle": lambda what: rl.pictures.gap_cycle(what, 72),
    "grid": rl.grid,
    "hand_to_hand": rl.playing.hand_to_hand,
    "homes": lambda what: rl.pictures.homes(what, 72),
    "landmarks": rl.playing.landmarks,
    "when_lost": lambda what: rl.practice.when_lost(what, 0),
    "meetings": lambda what: rl.playing.meetings(what, (3, 2)),
    "midi": lambda what: rl.midi(what, 72),
    "midway": rl.playing.midway,
    "near_ratios": rl.playing.near_ratios,
    "learning_order": lambda what: rl.playing.learning_order([what]),
    "ostinato": lambda what: rl.ostinato("x..x", what, metre="4/4"),
    "other_words": lambda what: rl.playing.other_words(what, 72),
    "phase_gaps": rl.phase_gaps,
    "nothing_new": rl.playing.nothing_new,
    "prepare": rl.playing.prepare,
    "pull": lambda what: rl.playing.pull(what, 72),
    "resolve": rl.playing.resolve,
    "score": lambda what: rl.score(what, 72),
    "sentence": lambda what: rl.playing.sentence(what, " ".join(["la"] * len(rl.composite(what)))),
    "shared_grid": rl.pictures.shared_grid,
    "slips_around": rl.playing.slips_around,
    "sound": lambda what: rl.sound(what, 72, cycles=1),
    "split": rl.playing.split,
    "strip": rl.pictures.strip,
    "strokes": lambda what: rl.strokes(what, 72),
    "take_from_midi": lambda what: rl.practice.take_from_midi(
        RECORDED, what, 72, notes={76: 0, 77: 1}, when="2030-05-04T18:30:00+02:00", id="t1"
    ),
    "ways": lambda what: rl.pictures.ways(what, 72),
    "zones": lambda what: rl.playing.zones(what, 72),
    # methods
    "Tempo.beat_ticks": lambda what: rl.Tempo(72, pulse=1).beat_ticks(what),
    "Tempo.tick_seconds": lambda what: rl.Tempo(72, pulse=1).tick_seconds(what),
    "Tempo.cycle_seconds": lambda what: rl.Tempo(72, pulse=1).cycle_seconds(what),
    "Tempo.bpm_of": lambda what: rl.Tempo(72, pulse=1).bpm_of(what, 0),
    "Tempo.in_pulse": lambda what: rl.Tempo(72, pulse=1).in_pulse(what, 0),
    "Ladder.climb": lambda what: rl.practice.Ladder(60, 96).climb([], pair=what),
}
#: Panels take it too, and are slow to make; a handout of a cycle has other pages than one of two pulses.
PANELS = {
    "choose_home": rl.pages.choose_home,
    "choose_way": rl.pages.choose_way,
    "find_grid": rl.pages.find_grid,
    "follow_gaps": rl.pages.follow_gaps,
    "merge_pulses": rl.pages.merge_pulses,
    "practise": rl.pages.practise,
    "two_numbers": rl.pages.two_numbers,
    "wall": rl.pages.wall,
    "write_down": rl.pages.write_down,
}
APART = {"filmed", "handout", "handout_pack", "stick", "Journal", "land_in_bars", *PANELS}
#: Calls that look at pulses and not at strokes: a cycle that is not of even pulses has none.
PULSES = {
    *("Feel", "approach", "changeover", "drift", "flams_from", "gap_cycle", "grid", "hand_to_hand", "homes"),
    *(
        "landmarks",
        "midway",
        "near_ratios",
        "learning_order",
        "other_words",
        "phase_gaps",
        "nothing_new",
        "prepare",
        "pull",
    ),
    *("resolve", "slips_around", "split", "ways", "zones", "fill"),
}
RECORDED = rl.midi((4, 3), 72).data
SLOW = {"score", "figure", "cue", "sound", "fill", "approach", "ways", "midi"}
pairs = st.tuples(st.integers(1, 12), st.integers(1, 12))
FEW, MANY = settings(max_examples=tries(20), deadline=None), settings(max_examples=tries(100), deadline=None)


def test_every_call_that_takes_a_rhythm_is_tried():
    """Whatever names a rhythm among its arguments is in the table."""
    names = {"what", "polyrhythm", "cycle", "pair", "pairs", "rhythms", "pulses", "feet"}
    asked = {
        name
        for name in WHERE
        if names & set(inspect.signature(by_name(name)).parameters)
        and name not in ("metre", "Polyrhythm", "feet_against_hands")  # a bar; the pulses themselves; letters
    }
    assert asked <= {*RHYTHM, *APART}


@pytest.mark.parametrize("name", sorted(RHYTHM))
def test_a_pair_a_polyrhythm_and_a_cycle_give_the_same(name):
    """For all pairs up to 12: what comes back is the same in each form, or each is refused."""
    call = RHYTHM[name]

    # a cycle of a single beat is written as a bar of drums, and strokes of two lanes at once with their hands
    written = pairs.filter(lambda pair: pair[1] > 1 and pair[0] != pair[1])

    @(FEW if name in SLOW else MANY)
    @given(written if name == "score" else pairs)
    def law(pair):
        p = rl.Polyrhythm(*pair)
        expected = told(lambda: call(p))
        for form in (pair, list(pair), p.cycle()):
            assert told(lambda form=form: call(form)) == expected

    law()


def test_the_example_of_each_call_is_taken():
    """No call of the table refuses 4 against 3, so that the law above is of values and not of refusals."""
    for name in set(RHYTHM) - {"ostinato"}:
        call = RHYTHM[name]
        assert told(lambda call=call: call((4, 3))) is not Refusal, name

    for form in ((4, 3), rl.Polyrhythm(4, 3), rl.Polyrhythm(4, 3).cycle()):  # both pulses are of one hand
        refusal(lambda form=form: RHYTHM["ostinato"](form), "the right hand is asked for two", "another limb")


@pytest.mark.parametrize("name", sorted(PANELS))
def test_panels_take_a_rhythm_as_the_numbers_it_has(name):
    """As one rhythm in each form, what is shown, said and sounded is what the numbers give."""
    call = PANELS[name]
    p = rl.Polyrhythm(5, 4)
    expected = seen(call(5, 4))
    for form in ((5, 4), p, p.cycle()):
        assert seen(call(form)) == expected
    assert seen(call(p.cycle(0))) == seen(call(5, 4, home=0))
    refusal(lambda: call(rl.pattern("x..x")), " is a cycle that ", "two pulses or more")
    if name != "practise":
        assert seen(call(p, bpm=rl.Tempo(90, pulse=0))) == seen(call(p, bpm=72))
    else:
        slower, faster = rl.Tempo(90, pulse=0), rl.Tempo(120, pulse=0)
        assert seen(call(p, now=slower, goal=faster)) == seen(call(p, now=72, goal=96))


def test_a_handout_takes_all_three(tmp_path):
    """A pair gives the pages of a polyrhythm, byte for byte, in a pack as alone; a cycle has lanes."""
    p = rl.Polyrhythm(4, 3)
    expected = rl.handout(p, 72)
    assert rl.handout((4, 3), 72) == rl.handout([4, 3], rl.Tempo(72, pulse=1)) == expected
    assert rl.handout(p.cycle(), 72) == rl.handout(p.cycle(), rl.Tempo(72, ticks=p.step(1)))
    for nth, form in enumerate(((4, 3), p)):
        (path,) = rl.classroom.handout_pack([(form, 72)], tmp_path / str(nth))
        assert path.read_bytes() == expected.pdf


@MANY
@given(pairs)
def test_a_line_of_two_pulses_is_stuck_alike_and_a_list_of_numbers_is_groups(pair):
    """For `stick` plain numbers are the groups of a phrase; the two pulses are a rhythm or its cycle."""
    p, tempo = rl.Polyrhythm(*pair), rl.Tempo(20, pulse=1)
    assert told(lambda: rl.stick(p, 20)) == told(lambda: rl.stick(p.cycle(), 20))
    assert told(lambda: rl.stick(p, 20)) == told(lambda: rl.stick(p, tempo))


def test_a_journal_finds_a_pair_in_each_form(tmp_path):
    """The takes of a pair, however the pair is given."""
    journal = rl.practice.Journal(tmp_path / "j.jsonl")
    journal.append(RHYTHM["Take"]((4, 3)).as_row())
    journal.append(RHYTHM["Take"]((5, 4)).as_row())
    for form in ((4, 3), rl.Polyrhythm(4, 3), rl.Polyrhythm(4, 3).cycle()):
        assert len(journal.takes(pair=form)) == 1
    refusal(lambda: journal.takes(pair=rl.pattern("x..x")), "pair=", "is not a pair")


@pytest.mark.parametrize("name", sorted(PULSES))
def test_a_cycle_that_is_not_of_even_pulses_is_refused_with_the_reason(name):
    """One lane, an uneven lane, a lane that begins later, a grid that is too fine, five and thirty lanes."""
    lane = rl.Lane
    for cycle, reason in (
        (rl.pattern("x..x"), "has 1 lane, and two pulses or more are meant"),
        (rl.Cycle(4, [], beats=[0]), "has 0 lanes, and two pulses or more are meant"),
        (rl.Cycle(8, [lane("a", [0, 3]), lane("b", [0, 4])], beats=[0]), "has lane 'a', which is not evenly"),
        (rl.Cycle(8, [lane("a", [0, 4]), lane("b", [1, 5])], beats=[0]), "has lane 'b', which is not evenly"),
        (rl.Cycle(8, [lane("a", [0, 4]), lane("b", [])], beats=[0]), "has lane 'b', which is not evenly"),
        (rl.Cycle(24, [lane("a", [0, 8, 16]), lane("b", [0, 12])], beats=[0]), "its pulses share 6"),
    ):
        example = refusal(lambda cycle=cycle: RHYTHM[name](cycle), "is a cycle that ", reason)
        works(example)


@pytest.mark.parametrize(
    "bad", ["7:4", b"74", 7, None, (7,), (7, 0), (7, "x"), {7: 4}, {7, 4}, frozenset({7, 4})]
)
@pytest.mark.parametrize("name", sorted(set(RHYTHM) - {"figure", "ostinato", "when_lost", "Ladder.climb"}))
def test_what_is_no_rhythm_is_refused_alike(name, bad):
    """Text, one number, pulses that are none, and what has no order are no rhythm anywhere."""
    assert told(lambda: RHYTHM[name](bad)) is Refusal


#: Every public call that takes a tempo with a rhythm, with what else it may need.
TEMPO = {
    name: by_name(name)
    for name in (
        *(
            "approach",
            "cue",
            "gap_cycle",
            "homes",
            "midi",
            "other_words",
            "pull",
            "score",
            "sound",
            "strokes",
        ),
        *("ways", "zones"),
    )
}


@pytest.mark.parametrize("name", sorted(TEMPO))
def test_a_number_is_the_tempo_of_the_last_pulse(name):
    """Also with a long tail of decimals, and for three pulses where they are taken."""
    call = TEMPO[name]

    @FEW
    @given(st.lists(st.integers(1, 12), min_size=2, max_size=3), st.sampled_from([60, 72, 72.1, 93.75]))
    def law(pulses, bpm):
        p = rl.Polyrhythm(*pulses)
        tempo = rl.Tempo(bpm, pulse=len(pulses) - 1)
        if name in ("gap_cycle", "zones"):  # what is measured from is the beat: 1 where it is left out
            tempo = rl.Tempo(bpm, pulse=1)
        assert told(lambda: call(p, bpm)) == told(lambda: call(p, tempo))

    law()


@pytest.mark.parametrize("name", ["approach", "ways", "other_words", "hand_to_hand", "grid", "Feel"])
def test_the_beats_of_a_cycle_are_its_home(name):
    """A cycle counted from the first pulse is that rhythm with home 0."""
    call = RHYTHM[name]
    function = by_name(name)

    @FEW
    @given(pairs.filter(lambda pair: pair[0] != pair[1]))
    def law(pair):
        p = rl.Polyrhythm(*pair)
        args = (72,) if name in ("approach", "ways", "other_words") else ()
        assert told(lambda: call(p.cycle(0))) == told(lambda: function(p, *args, home=0))

    law()


#: Every public call that asks which two pulses.
TWO = {
    "changeover": (rl.playing.changeover, ()),
    "drift": (rl.drift, ()),
    "flams_from": (rl.playing.flams_from, ()),
    "gap_cycle": (rl.pictures.gap_cycle, (72,)),
    "landmarks": (rl.playing.landmarks, ()),
    "midway": (rl.playing.midway, ()),
    "near_ratios": (rl.playing.near_ratios, ()),
    "phase_gaps": (rl.phase_gaps, ()),
    "pull": (rl.playing.pull, (72,)),
    "slips_around": (rl.playing.slips_around, ()),
    "zones": (rl.playing.zones, (72,)),
}


def test_every_call_that_asks_for_two_pulses_is_tried():
    """Whatever has of= and against= is in the table."""
    asked = {name for name in WHERE if {"of", "against"} <= set(inspect.signature(by_name(name)).parameters)}
    assert asked == set(TWO)


@pytest.mark.parametrize("name", sorted(TWO))
def test_the_two_pulses_are_the_first_two_where_they_are_left_out(name):
    """Left out or None, `of` is 0 and `against` 1; where one is named as the other's place, they turn."""
    call, args = TWO[name]

    @FEW
    @given(st.lists(st.integers(1, 12), min_size=2, max_size=4))
    def law(pulses):
        p = rl.Polyrhythm(*pulses)
        expected = told(lambda: call(p, *args, of=0, against=1))
        for named in ({}, {"of": None, "against": None}, {"of": 0}, {"against": 1}):
            assert told(lambda named=named: call(p, *args, **named)) == expected
        turned = told(lambda: call(p, *args, of=1, against=0))
        for named in ({"of": 1}, {"against": 0}):
            assert told(lambda named=named: call(p, *args, **named)) == turned

    law()


@MANY
@given(st.lists(st.integers(1, 12), min_size=2, max_size=4))
def test_the_pulses_of_a_cycle_are_those_it_is_made_of(pulses):
    """Through a cycle and back, from every home."""
    p = rl.Polyrhythm(*pulses)
    for home in range(len(pulses)):
        assert given_as.as_polyrhythm(p.cycle(home), "what", "") == p
        found, at = given_as.polyrhythm_and_home(p.cycle(home), None, "what", "")
        assert (found, pulses[at]) == (p, pulses[home])

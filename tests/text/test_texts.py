"""Counts, names and sentences: every number in them is worked out here by Fractions and by looking."""

import re
from fractions import Fraction
from itertools import product
from math import gcd, lcm

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.core.feel import Place
from rhythmlab.panels.controls import MOST_PULSES, pulse_field
from rhythmlab.practice.feedback import lane_name
from rhythmlab.text import counts, descriptions, numbers, sentences
from tests import brute
from tests.strategies import TRIES, bpms, coprime_pairs, pairs, several


@pytest.mark.parametrize(
    ("home", "other", "falls"),
    [
        (3, 2, "1, & of 2"),
        (2, 3, "1, let of 1, trip of 2"),
        (4, 3, "1, trip of 2, let of 3"),
        (3, 4, "1, a of 1, & of 2, e of 3"),
        (7, 4, "1, a of 2, & of 4, e of 6"),
        (4, 7, "1, ta of 1, e of 2, ta e of 2, & of 3, ta & of 3, a of 4"),
        (4, 5, "1, ta e of 1, ta of 2, & of 3, e of 4"),
        (1, 2, "1, & of 1"),
        (5, 1, "1"),
    ],
)
def test_a_rhythm_counted_aloud(home, other, falls):
    """Each place by the word that a player says there; from five parts on the whole beat once."""
    feel = rl.Feel(rl.Polyrhythm(home, other), home=0)
    parts = lcm(home, other) // home
    how = f" (say {counts.aloud(1, parts)})" if parts >= 5 else ""
    assert counts.count(feel) == f"Counted from the {home}, the {other} falls on {falls}{how}."
    assert falls == ", ".join(brute.said(home, other))


@TRIES
@given(pairs)
def test_every_count_is_where_the_stroke_is(p):
    """For any pair and either home, each place said is the stroke's own fraction of the cycle."""
    for home in (0, 1):
        feel = rl.Feel(p, home)
        expected = brute.written(p.pulses[home], p.pulses[1 - home])
        assert [counts.place_name(place) for place in feel.places(1 - home)] == expected


def test_no_numeral_is_both_a_beat_and_a_part():
    """Off the beat a sign is a syllable, or holds a dot; on the beat it is the beat and nothing else."""
    for parts in range(1, 33):
        for beat, part in product((1, 2, 10), range(1, parts + 1)):
            place = Place(beat, part, parts)
            mark = counts.mark(place)
            assert mark.isdecimal() == (part == 1)
            if part == 1:
                assert mark == counts.place_name(place) == str(beat)
            elif parts < 5:
                assert mark == brute.SYLLABLES[parts][part - 2]
                assert counts.place_name(place) == f"{mark} of {beat}"
            else:
                assert mark == counts.place_name(place) == f"{beat}.{part}"


def test_three_against_four_against_five_from_the_four_has_threes_and_fives():
    """Counted from the 4, the 3 gets triplets and the 5 gets fives, never the fifteenths they share."""
    said = counts.count(rl.Feel(rl.Polyrhythm(3, 4, 5), home=1))
    assert said == (
        "Counted from the 4, the 3 falls on 1, trip of 2, let of 3; the 5 falls on 1, ta e of 1, ta of 2, "
        "& of 3, e of 4 (say 1 e & TA e)."
    )


def test_a_long_count_leaves_out_its_middle():
    """Past sixteen places the first eight and the last eight stand."""
    said = counts.count(rl.Feel(rl.Polyrhythm(40, 3), home=1))
    places = brute.said(3, 40)
    middle_out = f"{', '.join(places[:8])} … {', '.join(places[-8:])}"
    assert said.endswith(f" falls on {middle_out} ({lcm(40, 3) // 3} parts to a beat).")


def test_past_twenty_four_parts_a_beat_has_no_words_of_ours():
    """Nobody says 25 words from beat to beat; a reader's own groups, of up to 24 parts or more, are taken."""
    for parts in range(2, 60):
        assert bool(counts.part_words(parts)) == (parts <= 24)
    assert len(counts.part_words(25, groups=(4, 4, 4, 4, 4, 5))) == 24


@TRIES
@given(several)
def test_a_count_says_its_words_or_how_many_parts_there_are(p):
    """Each pulse with five parts to a beat or more says its words, past 24 how many parts; no other does."""
    for home, beats in enumerate(p.pulses):
        feel = rl.Feel(p, home)
        others = [pulse for i, pulse in enumerate(p.pulses) if i != home]
        clauses = counts.count(feel).partition(", ")[2].removesuffix(".").split("; ")
        for other, clause in zip(others, clauses, strict=True):
            parts = lcm(beats, other) // beats
            how = f" (say {counts.aloud(1, parts)})" if 5 <= parts <= 24 else ""
            how = how or (f" ({parts} parts to a beat)" if parts > 24 else "")
            assert clause.endswith(f"{brute.said(beats, other)[-1]}{how}")
            assert ("(" in clause) == (parts >= 5)
            assert not re.search(r"\d\.\d", clause)


@pytest.mark.parametrize(
    ("pulses", "said"),
    [
        ((1, 1), "together"),
        ((2, 1), "together, right"),
        ((3, 1), "together, right, right"),
        ((3, 2), "together, right, left, right"),
        ((4, 3), "together, right, left, right, left, right"),
        ((2, 3), "together, left, right, left"),
    ],
)
def test_what_a_beginner_says_and_claps(pulses, said):
    """The first pulse is the right hand, the second the left."""
    assert descriptions.clapped(rl.Polyrhythm(*pulses)) == said


@TRIES
@given(pairs)
def test_clapping_uses_each_hand_as_often_as_its_pulse_strikes(p):
    """Counting the words back gives both pulses."""
    said = descriptions.clapped(p).split(", ")
    assert said[0] == "together"
    both = said.count("together")
    assert (said.count("right") + both, said.count("left") + both) == p.pulses
    assert len(said) == len(brute.merged(brute.strokes(p))[0])


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0, 2, "0"),
        (126, 2, "126"),
        (100, 2, "100"),
        (Fraction(384, 5), 2, "76.8"),
        (Fraction(400, 3), 2, "133.33"),
        (62.5, 1, "62.5"),
        (118.9, 0, "119"),
        (1000, 2, "1 000"),
        (1_000_000, 2, "1 000 000"),
        (1234.5, 1, "1 234.5"),
        (-1.5, 2, "-1.5"),
    ],
)
def test_numbers_have_no_more_decimals_than_they_need(value, digits, text):
    """Thousands stand apart by a space that does not break; zeros at the end of decimals go."""
    assert numbers.number(value, digits) == text.replace(" ", "\N{NO-BREAK SPACE}")


@TRIES
@given(st.fractions(0, 10**9, max_denominator=10**6))
def test_a_number_is_right_to_its_last_decimal(value):
    """What is written differs by at most half of the second decimal, and does not end in a spare zero."""
    text = numbers.number(value)
    assert abs(Fraction(text.replace("\N{NO-BREAK SPACE}", "")) - value) <= Fraction(5001, 10**6)
    assert "." not in text or text[-1] not in "0."


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (1, "1 second"),
        (Fraction(10, 3), "3.3 seconds"),
        (15, "15 seconds"),
        (Fraction(1, 20), "0.05 seconds"),
        (0.5, "0.5 seconds"),
        (2.04, "2 seconds"),
        (1800, "1\N{NO-BREAK SPACE}800 seconds"),
    ],
)
def test_seconds_are_written_with_their_word(value, text):
    """One decimal from a second on, two below it; one of them is singular."""
    assert numbers.seconds(value) == text


def test_how_often_how_many_and_lists():
    """Small counts are words, one is singular, a box has boxes, bpm stays bpm, lists end in and."""
    said = [numbers.times(n) for n in (1, 2, 3, 6, 7, 9, 10)]
    assert said == ["once", "twice", *(f"{n} times" for n in ("three", "six", "seven", "nine", "10"))]
    beside = [numbers.times(n, [other]) for n, other in ((2, 28), (8, 28), (8, 9))]
    assert beside == ["twice", "8 times", "eight times"]
    assert [numbers.plural(n, "tick") for n in (0, 1, 2)] == ["0 ticks", "1 tick", "2 ticks"]
    assert [numbers.plural(n, "box") for n in (1, 2)] == ["1 box", "2 boxes"]
    assert numbers.plural(Fraction(1, 2), "tick") == "0.5 ticks"
    assert numbers.plural(10, "bpm") == "10 bpm"
    assert sentences.listed(["the 2"]) == "the 2"
    assert sentences.listed(["the 2", "the 4"]) == "the 2 and the 4"
    assert sentences.listed(["a", "b", "c"]) == "a, b and c"
    assert numbers.some([1, 2, 3], most=3) == "1, 2, 3"
    assert numbers.some(range(9), most=4, joint=" ") == "0 1 … 7 8"
    assert sentences.sentences("One.", "", "Two.") == "One. Two."


def test_pulses_have_a_name_each():
    """Different numbers are enough; equal ones are told apart by their place."""
    assert descriptions.pair(rl.Polyrhythm(3, 4, 5)) == "3 against 4 against 5"
    p = rl.Polyrhythm(7, 7, 4, 7, 7, 7)
    names = [descriptions.pulse_name(p, i) for i in range(6)]
    assert names == ["the first 7", "the second 7", "the 4", "the third 7", "the fourth 7", "the fifth 7"]


@TRIES
@given(several, bpms)
def test_a_tempo_is_said_in_every_pulse(p, bpm):
    """The bpm are in the ratio of the pulses, and home comes first."""
    home = len(p.pulses) - 1
    tempo = rl.Tempo(bpm, pulse=home)
    said = descriptions.tempo(p, tempo, home)
    exact = [tempo.bpm * pulse / p.pulses[home] for pulse in p.pulses]
    order = [home, *range(home)]
    found = re.findall(r"([\d.\N{NO-BREAK SPACE}]+) bpm", said)
    assert found == [numbers.number(exact[i]) for i in order]
    assert re.findall(r"bpm of (the (?:\w+ )?\d+)", said) == [descriptions.pulse_name(p, i) for i in order]


@TRIES
@given(several, bpms)
def test_facts_are_those_of_the_rhythm(p, bpm):
    """Ticks, sounds and seconds, each counted here."""
    sounds = len(brute.merged(brute.strokes(p))[0])
    ticks = lcm(*p.pulses)
    cycle = 60 * Fraction(p.pulses[0]) / rl.Tempo(bpm, pulse=0).bpm
    said = descriptions.facts(p, rl.Tempo(bpm, pulse=0))
    assert said == (
        f"{numbers.plural(ticks, 'tick')}, {numbers.plural(sounds, 'sound')}, one cycle in "
        f"{numbers.seconds(cycle)}"
    )


@pytest.mark.parametrize(
    ("pulses", "line"), [((3, 2), "2 1 1 2"), ((4, 3), "3 1 2 2 1 3"), ((5, 4), "4 1 3 2 2 3 1 4")]
)
def test_the_published_lines_are_said(pulses, line):
    """The resultants of 3:2, 4:3 and 5:4, as ticks from sound to sound."""
    # Schillinger 1946, introduction (4:3 read in a transcription; 3:2 and 5:4 as quoted elsewhere).
    assert descriptions.heard(rl.composite(rl.Polyrhythm(*pulses))).endswith(f"from sound to sound: {line}.")


@TRIES
@given(several)
def test_a_common_factor_is_said_with_the_meeting(p):
    """The pulses meet where they first all fall together, as often in a cycle as they do."""
    said = descriptions.common_factor(p)
    rows = [set(row) for row in brute.strokes(p)]
    together = sorted(set.intersection(*rows))
    meet = [*together, p.ticks][1]
    assert f"every {numbers.plural(meet, 'tick')}." in said
    factor = gcd(*p.pulses)
    assert factor == len(together)
    assert f"they meet {numbers.times(len(together))} in a cycle, every" in said
    assert said.startswith("The pulses have no common factor: they ") == (factor == 1)
    assert said.startswith(f"The pulses share the factor {factor}, so they ") == (factor > 1)


def test_six_against_four_shares_the_factor_2():
    """Twelve ticks hold the meeting twice, six ticks apart."""
    said = descriptions.common_factor(rl.Polyrhythm(6, 4))
    assert said == "The pulses share the factor 2, so they meet twice in a cycle, every 6 ticks."


@pytest.mark.parametrize(
    ("pulses", "why", "neighbour"),
    [
        ((12, 8), "This is 3 against 2, four times in a cycle, and nothing more", "3 against 2 itself"),
        ((7, 7), "The pulses are the same", "7 against 6"),
        ((1, 5), "Every stroke of the 1 falls on a stroke of the 5", "2 against 5"),
        ((5, 1), "Every stroke of the 1 falls on a stroke of the 5", "5 against 2"),
        ((8, 4), "Every stroke of the 4 falls on a stroke of the 8", "3 against 2"),
        ((4, 8), "Every stroke of the 4 falls on a stroke of the 8", "2 against 3"),
        ((2, 4, 8), "Every stroke of the 2 and the 4 falls on a stroke of the 8", "2 against 3 against 4"),
        ((7, 7, 4), "One pulse is given twice, which adds no new stroke", "7 against 4"),
    ],
)
def test_pairs_that_teach_nothing_new_get_a_neighbour(pulses, why, neighbour):
    """An honest answer, and a neighbour that does teach something."""
    said = descriptions.nothing_new_text(rl.Polyrhythm(*pulses))
    assert said.startswith(why)
    assert said.endswith(f": try {neighbour}.")


@TRIES
@given(st.one_of(several, pairs))
def test_the_neighbour_offered_teaches_something_and_what_is_said_of_the_pair_is_true(p):
    """The neighbour has nothing said against it; the reason given holds when the strokes are looked at."""
    said = descriptions.nothing_new_text(p)
    rows = [set(row) for row in brute.strokes(p)]
    if not said:
        assert gcd(*p.pulses) == 1
        assert len(set(p.pulses)) == len(p.pulses)
        assert set().union(*rows) != max(rows, key=len)
        return
    offered = said.rpartition(": try ")[2].removesuffix(".")
    neighbour = [int(number) for number in offered.removesuffix(" itself").split(" against ")]
    factor = gcd(*p.pulses)
    repeats = said.startswith("This is ")
    assert offered.endswith(" itself") == repeats
    assert not repeats or neighbour == [pulse // factor for pulse in p.pulses]
    assert descriptions.nothing_new_text(rl.Polyrhythm(*neighbour)) == ""
    if said.startswith("Every stroke"):
        assert set().union(*rows) == max(rows, key=len)
    elif said.startswith("One pulse"):
        assert len(set(p.pulses)) < len(p.pulses)
    elif said.startswith("The pulses are the same"):
        assert len(set(p.pulses)) == 1
    else:
        assert repeats
        assert factor > 1
        this = " against ".join(map(str, neighbour))
        assert said.startswith(f"This is {this}, {numbers.times(factor)} in a cycle, and nothing more")


@pytest.mark.parametrize(
    ("bpm", "old", "new", "said"),
    [(84, 1, 0, "84 bpm becomes 126."), (126, 0, 1, "126 bpm becomes 84.")],
)
def test_the_published_metric_modulation_is_said_both_ways_with_its_pivot(bpm, old, new, said):
    """84 becomes 126 over three against two, 126 becomes 84 again, and the pivot is named."""
    # DeLone et al. (eds) 1975, Aspects of Twentieth-Century Music, chapter 3 (as quoted elsewhere).
    p = rl.Polyrhythm(3, 2)
    text = descriptions.pivot(p, rl.Tempo(bpm, pulse=old), old, new)
    assert text.endswith(f"its stroke is the pivot and keeps its length: {said}")
    assert text.startswith(f"To make the {p.pulses[new]} the new beat (a metric modulation)")


@TRIES
@given(coprime_pairs)
def test_slips_say_how_much_longer_a_group_is(p):
    """Steps of the one, h of them, and k of the other, measured in ticks, differ by what is said."""
    for ratio in rl.playing.near_ratios(p):
        said = descriptions.slips(p, ratio)
        longer = ratio.h * (p.ticks // p.pulses[0]) - ratio.k * (p.ticks // p.pulses[1])
        if not longer:
            assert "nothing slips" in said
            continue
        way = "longer" if longer > 0 else "shorter"
        assert f"{numbers.plural(abs(longer), 'tick')} {way} than" in said
        assert f"Around {ratio.h} against {ratio.k}: " in said
        opens = abs(p.pulses[0] * ratio.k - p.pulses[1] * ratio.h)
        assert said.endswith(f"opens and closes {numbers.times(opens)} a cycle.")


def test_sixteen_against_eleven_slips_around_three_against_two():
    """Three steps of the 16 are one tick longer than two of the 11: 33 ticks against 32."""
    p = rl.Polyrhythm(16, 11)
    said = descriptions.slips(p, rl.playing.near_ratios(p)[1])
    assert "three steps of the 16 are 1 tick longer than two of the 11" in said
    assert 3 * Fraction(176, 16) - 2 * Fraction(176, 11) == 1


@pytest.mark.parametrize("h", range(1, 13))
def test_groups_are_counted_in_words_up_to_nine(h):
    """Around h against 1: one step is, more are; from ten on the number is a numeral."""
    names = [*("one", "two", "three", "four", "five", "six", "seven", "eight", "nine"), "10", "11", "12"]
    p = rl.Polyrhythm(3 * h + 1, 3)
    said = descriptions.slips(p, rl.playing.near_ratios(p)[0])
    steps = "step" if h == 1 else "steps"
    verb = "is" if h == 1 else "are"
    assert (
        f": {names[h - 1]} {steps} of the {3 * h + 1} {verb} 1 tick shorter than one of the 3, so it" in said
    )


@pytest.mark.parametrize("index", [*range(130), 1000, 1010, 1011, 1112, 2021])
def test_an_ordinal_ends_as_it_is_spoken(index):
    """The last word of the number decides: 21st as twenty-first, but 11th as eleventh and 112th."""
    said, number = numbers.nth(index), index + 1
    if number < 9:
        spoken = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"]
        assert said == spoken[index]
        return
    spoken = number % 100 if number % 100 < 20 else number % 10
    assert said == f"{number}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(spoken, 'th') }"


def test_there_is_one_table_of_ordinals():
    """Pulses, lanes, strokes in a row and fields say the same word for the same place."""
    alike = rl.Polyrhythm(*[5] * 6)
    for i in range(6):
        assert descriptions.pulse_name(alike, i) == lane_name(alike.cycle(), i) == f"the {numbers.nth(i)} 5"
    for i in range(MOST_PULSES):
        assert pulse_field(i) == f"{numbers.nth(i)} pulse"
    problem = rl.playing.check_sticking("RRRR", ms=50).problems[1]
    assert problem.describe(4).split(": ")[1].startswith(f"the {numbers.nth(2)} R ")
    for parts in (3, 5, 6, 7):
        assert numbers.share_name(parts) == numbers.nth(parts - 1)

"""What stands under a note is what is said there: the words of the pictures, and no number nobody says."""

import re
from dataclasses import replace
from itertools import product
from math import gcd, lcm
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.classroom.bank.template import place_aliases
from rhythmlab.core.feel import Feel, own_groups, said_in
from rhythmlab.draw.pictures import strip
from rhythmlab.draw.scene import Text
from rhythmlab.notation.score import score
from rhythmlab.text import counts
from tests.notation.test_nothing_collides import DRUMS, PAIRS
from tests.profile import some
from tests.strategies import TRIES

OPENERS = {opener.upper() for opener in counts.OPENERS} | {*counts.OPENERS}
WORD = {*"e&a", "trip", "let"} | OPENERS


def under(text: str) -> list[list[str]]:
    """Return the words under the notes of each staff but hands, line by line, left to right."""
    found = []
    for part in ElementTree.fromstring(text).iter("part"):
        lines: dict[str, list[str]] = {}
        for word in part.iter("lyric"):
            lines.setdefault(word.get("number"), []).append(word.findtext("text"))
        found += [line for line in lines.values() if not set("".join(line)) <= set("RLB")]
    return found


def sayable(count: str) -> bool:
    """Whether a count is a whole number, words, or words behind a number."""
    return all(word in WORD for word in word_of(count).split())


def word_of(count: str) -> str:
    """Return the words of a count without the number of its beat; nothing for a number alone."""
    return re.sub(r"^\d+ ?", "", count)


@pytest.mark.parametrize(("p", "q", "home"), some(PAIRS, 8, "words of pairs", [(7, 4, 1), (12, 7, 1)]))
def test_pairs_say_words_under_their_heads(p, q, home):
    """Both homes: the words of `label`, behind the beat in a bar; in bars of home the bar's own number."""
    made, feel = score((p, q), home=home), Feel((p, q), home)
    every = [count for line in under(made.musicxml) for count in line]
    assert every
    assert all(map(sayable, every))
    moving = feel.places(1 - home)
    if "one-line staves" in made.alt:
        assert every.count("1") == 2
        wanted = [f"{one.beat} {counts.label(one)}" for one in moving if one.part > 1]
        assert [count for count in every if " " in count] == wanted
        read = place_aliases([(feel.beats, feel.parts(1 - home))])
        assert [read[count.lower()] for count in wanted] == [
            counts.place_name(one) for one in moving if one.part > 1
        ]
    else:
        assert [int(count) for count in every if count.isdecimal()] == [*range(1, feel.beats + 1)]
        wanted = [counts.label(replace(one, longest=4)) for one in moving if one.part > 1]
        assert [count for count in every if not count.isdecimal()] == wanted


@pytest.mark.parametrize("name", some(DRUMS, 6, "words of drums", ["7:4 as a fill", "hands of 77"]))
def test_drum_scores_say_words_under_their_heads(name):
    """Fills, accents, phrases, grooves and patterns: numbers of beats and words, and nothing else."""
    try:
        what = DRUMS[name]()
    except ValueError:  # such a pair has no fill in this bar
        return
    lines = under(score(what, 90).musicxml)
    assert all(sayable(count) for line in lines for count in line)


groups_of_a_beat = st.lists(st.integers(1, 4), min_size=2, max_size=6).filter(lambda row: 5 <= sum(row) <= 24)


@TRIES
@given(groups_of_a_beat, st.integers(2, 7))
def test_the_score_says_the_words_of_the_picture(groups, home):
    """In groups of the reader's own too, each place in the words of the picture of the line."""
    home = next(beats for beats in range(home, 30) if gcd(beats, sum(groups)) == 1)
    own, p = "+".join(map(str, groups)), rl.Polyrhythm(sum(groups), home)
    feel = Feel(p, groups=own)
    words = counts.part_words(feel.parts(0), groups=said_in(feel, 0))
    notes = [c for line in under(score(p, layout="bar", groups=own).musicxml) for c in line]
    drawn = {
        one.text for one in strip(p, groups=own, width=10_000).marks if getattr(one, "role", "") == "small"
    }
    off = [count.partition(" ")[2] for count in notes if " " in count]
    assert {count.lower() for count in off} <= {*words}
    assert {*off} == drawn - {"count", "heard", f"the {p.pulses[0]}"}


def bar_of(hands: dict[str, list[int]], feet: list[int], ticks: int) -> rl.Cycle:
    """Return a bar of one quarter with hands and a foot that play on these ticks."""
    lanes = [
        rl.Lane(name, onsets, "hands", sound)
        for (name, onsets), sound in zip(hands.items(), SOUNDS, strict=False)
    ]
    lanes += [rl.Lane("feet", feet, "right foot", "bass drum")] if feet else []
    return rl.metre("1/4", parts=ticks).cycle(1, lanes)


SOUNDS = ("snare", "closed hi-hat", "high tom")


def test_one_word_is_one_place_of_a_beat():
    """Sixteenths with a thirty-second among them are counted in eight parts; a beat without one in four."""
    mixed = bar_of({"snare": [0, 2, 4, 6], "hat": [1]}, [], 8)
    assert under(score(mixed).musicxml) == [["1", "e", "&", "TA", "TA &"]]
    plain = bar_of({"snare": [0, 2, 4, 6]}, [], 8)
    assert under(score(plain).musicxml) == [["1", "e", "&", "a"]]
    both = rl.metre("2/4", parts=8).cycle(
        1, [rl.Lane("snare", [0, 1, 2, 4, 6, 8, 10, 12, 14], sound="snare")]
    )
    assert under(score(both).musicxml) == [["1", "e", "&", "TA", "TA &", "2", "e", "&", "a"]]


def test_nines_of_one_lane_are_counted_in_nine():
    """9 against 8: a third of a beat is the a of nine parts, and not a triplet in a row of nines."""
    made = rl.playing.resolve((9, 8))
    words = {word_of(count) for line in under(score(made).musicxml) for count in line}
    assert not {"trip", "let"} & words
    assert "a" in words


def test_hands_and_feet_in_unlike_parts_have_a_line_each():
    """Sevens over fives: each limb says its own beat, on a line of its own, and the key has both."""
    made = score(bar_of({"snare": range(0, 35, 5)}, range(0, 35, 7), 35))
    assert under(made.musicxml) == [["e", "&", "a", "TA", "TA e", "TA &"], ["1", "e", "&", "TA", "TA e"]]
    assert made.key.endswith("A beat in 7 parts: say 1 e & a TA e &; A beat in 5 parts: say 1 e & TA e")


def test_what_cannot_be_said_is_left_out_and_said():
    """Sevens among fives in one pair of hands: the fives are said, and the key says that 35 parts are not."""
    made = score(bar_of({"snare": range(0, 35, 7), "hat": [5]}, [], 35))
    assert under(made.musicxml) == [["1", "e", "&", "TA", "TA e"]]
    assert "A beat in 35 parts: too many to say" in made.key


def test_a_drum_score_takes_the_readers_groups():
    """The sevens of a fill in 3+4, as its picture has them."""
    made = score(rl.playing.resolve((7, 4)), groups="3+4")
    assert made.key.endswith("A beat in 7 parts: say 1 e & TA e & a")
    assert own_groups("3+4", "") == ((3, 4),)
    words = [count for line in under(made.musicxml) for count in line if not count.isdecimal()]
    assert words == ["TA e", "e", "TA &", "&", "TA a", "TA"]


def test_long_groups_that_are_not_full_say_their_place():
    """Of a group of seven that is played whole each word as it comes; of another the place, "TA e"."""
    full = rl.Cycle(18, [rl.Lane("bell", [*range(7), 7, 12, 14])], beats=[0, 7, 14])
    (line,) = under(score(full).musicxml)
    assert line == ["1", "e", "&", "a", "TA", "e", "&", "2", "TA e", "3"]


def test_too_many_parts_have_no_count():
    """A beat in 31 parts: nothing stands under such a note, and the key says what to do instead."""
    made = score((31, 2, 3), layout="bars")
    every = [count for line in under(made.musicxml) for count in line]
    assert not any(re.search(r"\d\.\d", count) for count in every)
    assert "too many to say" in made.key


def test_every_pair_as_it_is_sampled():
    """The matrix has every pair from 2 to 12 and both homes."""
    assert {(p, q, home) for p, q, home in PAIRS} == {
        (p, q, home) for p, q, home in product(range(2, 13), range(2, 13), (0, 1)) if p != q
    }


def lines_of(scene) -> list[list[tuple[int, str]]]:
    """Return tick and word of each line of the count off the beats, in order."""
    tops = sorted(mark.y for mark in scene.marks if isinstance(mark, Text) and mark.role == "big")
    rows: dict[float, list[tuple[int, str]]] = {top: [] for top in tops}
    for mark in scene.marks:
        if isinstance(mark, Text) and mark.role == "small" and mark.side != "left" and mark.text != "lands":
            rows[max(top for top in rows if top <= mark.y)].append((mark.x, mark.text))
    return list(rows.values())


mixed_bars = st.sampled_from([8, 9, 12, 16, 20, 24]).flatmap(
    lambda parts: st.tuples(
        st.just(parts),
        st.lists(st.sets(st.integers(0, 2 * parts - 1), min_size=1, max_size=9), min_size=2, max_size=3),
    )
)


@TRIES
@given(mixed_bars)
def test_in_a_picture_no_word_is_two_places_of_a_beat(given_bar):
    """Lanes of unlike divisions have common parts where they would be mistaken, as their score has them.

    Where no stroke is in those parts, as a tenth and a quarter are none of a count in twentieths, each lane
    has a line of its own.
    """
    parts, rows = given_bar
    lanes = [rl.Lane(f"lane {i}", sorted(row), sound=SOUNDS[i]) for i, row in enumerate(rows)]
    bar = rl.metre("2/4", parts=parts).cycle(1, lanes)
    lines = lines_of(strip(bar, width=10_000))
    off = {tick for row in rows for tick in row if tick % parts}
    for line in lines:
        words = [(tick // parts, word) for tick, word in line]
        assert len(words) == len({*words})
    assert {tick for line in lines for tick, _ in line} == off
    if len(lines) > 1:
        own = [{parts // gcd(parts, tick) for tick in off if tick // parts == beat} for beat in range(2)]
        assert any(lcm(*beat) not in beat for beat in own if beat)
        return
    (line,) = lines
    (noted,) = under(score(bar).musicxml)
    assert [word_of(count) for count in noted if word_of(count)] == [word for _, word in sorted(line)]


def test_fives_over_sevens_have_a_line_each_in_a_picture():
    """35 parts have no words: feet and hands are counted on lines of their own, each by its name."""
    scene = strip(bar_of({"snare": range(0, 35, 5)}, range(0, 35, 7), 35))
    assert [[word for _, word in line] for line in lines_of(scene)] == [
        ["e", "&", "a", "TA", "TA e", "TA &"],
        ["e", "&", "TA", "TA e"],
    ]
    assert {"snare", "feet"} <= {mark.text for mark in scene.marks if getattr(mark, "role", "") == "small"}

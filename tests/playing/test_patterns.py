"""Ready patterns against what is known of them, the reader's own, and even spreading."""

from contextlib import suppress
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.audio.voices import VOICES
from rhythmlab.playing.metre import metre
from rhythmlab.playing.patterns import Pattern, euclid, pattern, ready_patterns
from rhythmlab.playing.percussion import drum
from rhythmlab.resources import table
from tests.profile import some
from tests.refusals import refusal, works
from tests.strategies import TRIES

# Toussaint 2005, The Euclidean algorithm generates traditional musical rhythms, BRIDGES 47-56 (as quoted
# elsewhere).  E(5,16) is printed with 17 places in three transcripts; its intervals 33334 sum to these 16.
TOUSSAINT = [
    "x.x..",
    "x.x.x..",
    "x.x.x.x..",
    "x.x.x.x.x..",
    "x..x..x..x..x...",
    "x.x",
    "x.xx",
    "x.x.x",
    "x..x..x.",
    "x.x.x.x",
    "x..x..x..x.",
    "x.xxxx",
    "x.xx.xx",
    "x.x.x.x.x",
    "x..x.x..x.x.",
    "x.xxxxxx",
    "x..x.x.x..x.x.x.",
    "x..x.x.x.x.x..x.x.x.x.x.",
    "x.xx.xx.",
    "x.xx.x.xx.x.",
    "x.xx.x.x.xx.x.x.",
    "x.xx.x.x.x.x.xx.x.x.x.x.",
]


def rotations(text):
    return {text[i:] + text[:i] for i in range(len(text))}


@pytest.mark.parametrize("printed", TOUSSAINT)
def test_even_spreading_is_toussaints_table_up_to_rotation(printed):
    """As many strokes in as many ticks make the printed pattern, from one or another of its strokes."""
    assert euclid(printed.count("x"), len(printed)).text in rotations(printed)


@TRIES
@given(st.integers(1, 64).flatmap(lambda n: st.tuples(st.integers(1, n), st.just(n))))
def test_even_spreading_is_even(numbers):
    """Intervals differ by at most one tick, sum to the cycle, and so do any number of them in a row."""
    strokes, ticks = numbers
    gaps = euclid(strokes, ticks).intervals
    assert (len(gaps), sum(gaps)) == numbers
    for run in range(1, strokes + 1):
        sums = {sum((gaps + gaps)[i : i + run]) for i in range(strokes)}
        assert max(sums) - min(sums) <= 1


@pytest.mark.parametrize(
    ("key", "gaps", "ticks"),
    [
        ("son_clave", (3, 3, 4, 2, 4), 16),
        ("rumba_clave", (3, 4, 3, 2, 4), 16),
        ("bell_12_8", (2, 2, 1, 2, 2, 2, 1), 12),
        ("bossa", (3, 3, 4, 3, 3), 16),
        ("samba", (3, 1, 3, 1), 8),
        ("shuffle", (2, 1) * 4, 12),
        ("ride", (3, 2, 1) * 2, 12),
    ],
)
def test_the_patterns_of_common_practice(key, gaps, ticks):
    """The two claves and the 12/8 bell, from their first stroke, marked as having no source."""
    # Common practice, no source.
    found = ready_patterns()[key]
    assert (found.intervals, found.ticks, found.lanes[0].onsets[0]) == (gaps, ticks, 0)
    assert (found.source, found.status) == ("common_practice", "common practice")


@pytest.mark.parametrize("key", [key for key, p in ready_patterns().items() if p.source == "toussaint2005"])
def test_the_patterns_of_the_table_start_as_printed(key):
    """A pattern from Toussaint's table is one of its strings, not a rotation, and says it was quoted."""
    found = ready_patterns()[key]
    assert found.text in TOUSSAINT
    assert found.status == "quoted elsewhere"
    assert "Toussaint 2005" in found.citation


@pytest.mark.parametrize("row", table("patterns.csv"), ids=lambda row: row["key"])
def test_every_ready_pattern_is_whole(row):
    """Its signs are its ticks and fill a bar of its metre, it is played as written, its source is listed."""
    found = ready_patterns()[row["key"]]
    assert len(row["pattern"]) == int(row["ticks"]) == found.ticks == found.metre.ticks
    assert found.text == row["pattern"]
    assert found.metre.unit * found.metre.parts == int(row["tick"])
    assert found.citation
    assert all(row[name] for name in ("name", "note", "status"))
    assert any(line.startswith(f"{row['name']} ") for line in repr(ready_patterns()).splitlines())


@pytest.mark.parametrize("row", table("patterns.csv"), ids=lambda row: row["key"])
def test_a_ready_pattern_is_found_as_it_is_printed_and_by_its_key(row):
    """Key, name and key with spaces give the same pattern, in the table and in `pattern`."""
    found = ready_patterns()[row["key"]]
    for asked in (row["key"], row["name"], row["key"].replace("_", " ")):
        assert ready_patterns()[asked] is found
        assert pattern(asked) is found
        assert asked in ready_patterns()


def test_the_table_has_no_word_with_an_underscore_for_a_name():
    """Names are printed as people say them, a line each; the keys stay what the table is looped over."""
    printed = [line[:18].rstrip() for line in repr(ready_patterns()).splitlines()]
    assert printed == [row["name"] for row in table("patterns.csv")] == list(ready_patterns().names)
    assert not [name for name in printed if "_" in name]
    assert list(ready_patterns()) == [row["key"] for row in table("patterns.csv")]


def test_the_two_bells_are_one_necklace():
    """The 12/8 bell of common practice and the one in the table are rotations, and both stay as they are."""
    ours, printed = ready_patterns()["bell_12_8"].text, ready_patterns()["west_african_bell"].text
    assert ours != printed
    assert printed in rotations(ours)


@TRIES
@given(st.text("x.", min_size=1, max_size=40).filter(lambda text: "x" in text))
def test_the_readers_own_is_read_sign_by_sign(text):
    """Every x is a stroke at its own place, nothing is rotated, and the text comes back."""
    found = pattern(text, limb="left foot", sound="bell")
    assert found.lanes[0].onsets.tolist() == [i for i, sign in enumerate(text) if sign == "x"]
    assert (found.ticks, found.text) == (len(text), text)
    assert (found.lanes[0].limb, found.lanes[0].sound) == ("left foot", "bell")
    assert sum(found.intervals) == len(text)


def test_a_pattern_in_its_bar_has_the_beats_of_the_bar():
    """With a metre, beats and bars are those of the metre; a ready one can be asked for by name."""
    seven = pattern("x.x.x..x.x.x..", metre="2+2+3/8", bars=2)
    assert (seven.beats.tolist(), seven.bars.tolist()) == ([0, 2, 4, 7, 9, 11], [0, 7])
    assert pattern("son clave") is ready_patterns()["son_clave"]
    assert pattern("rumba_clave", limb="left foot").lanes[0].limb == "left foot"
    assert isinstance(seven, rl.Cycle)


@TRIES
@given(st.lists(st.integers(1, 16), min_size=1, max_size=8), st.sampled_from([" ", ", ", "+", "  "]))
def test_a_phrase_is_read_as_page_06_writes_it(sizes, joint):
    """Groups by spaces, commas or plus signs, with their sum or without: a stroke a tick, accented groups."""
    phrase = rl.phrases(sum(sizes), allowed=sizes, fixed=sizes, most=1)[0].cycle()
    for text in (joint.join(map(str, sizes)), f"{sum(sizes)} as {' '.join(map(str, sizes))}"):
        found = pattern(text)
        assert found.groups == tuple(sizes)
        assert found.is_phrase
        assert found.lanes[0].onsets.tolist() == phrase.lanes[0].onsets.tolist()
        assert found.lanes[0].accents == phrase.lanes[0].accents
        assert found.beats.tolist() == phrase.beats.tolist()
    wrong = f"{sum(sizes) + 1} as {' '.join(map(str, sizes))}"
    assert isinstance(works(refusal(lambda: pattern(wrong), repr(wrong)[:20], "adds up to")), Pattern)


@TRIES
@given(st.lists(st.text("RL.", min_size=1, max_size=6), min_size=1, max_size=5))
def test_a_sticking_is_read_letter_by_letter(words):
    """R and L are strokes of their hands, a point is none; spaces and bar lines make accented groups."""
    letters = "".join(words)
    if not letters.strip("."):
        return
    for text in (" ".join(words), " | ".join(words)):
        found, lane = pattern(text), pattern(text).lanes[0]
        assert found.ticks == len(letters)
        assert lane.onsets.tolist() == [i for i, letter in enumerate(letters) if letter != "."]
        assert lane.hands == letters.replace(".", "")
        starts = [sum(map(len, words[:i])) for i in range(len(words))] if len(words) > 1 else []
        assert list(lane.accents) == [tick for tick in starts if letters[tick] != "."]
        assert not found.is_phrase


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: pattern("RLRY"), "'RLRY'", "'Y' at place 4"),
        (lambda: pattern("RlRR"), "'RlRR'", "'l' at place 2; write R and L as capitals"),
        (lambda: pattern("RLx."), "'RLx.'", "both x and hands"),
        (lambda: pattern("RLRL", limb="left hand"), "'RLRL'", "has strokes of the right hand"),
        (lambda: pattern("4 3 17"), "'4 3 17'", "a group has 1 to 16 strokes"),
        (lambda: pattern("4 0"), "'4 0'", "a group has 1 to 16 strokes"),
        (lambda: pattern("16 " * 63), "'16 16", "1,008 strokes, more than 1,000"),
        (lambda: pattern("13 as 4 3 4 3"), "'13 as 4 3 4 3'", "adds up to 14, and not to 13"),
        (lambda: pattern("9" * 40 + " as 4"), "as 4'", "adds up to 4"),
        (lambda: pattern("4 3 4 3", metre="4/4"), "'4 3 4 3'", "has 14 ticks, but a bar of 4/4 has 16"),
        (lambda: pattern(""), '""', "empty"),
        (lambda: pattern("x..o"), "'x..o'", "'o' at place 4"),
        (lambda: pattern("x.X."), "'x.X.'", "'X' at place 3"),
        (lambda: pattern("x. x"), "'x. x'", "' ' at place 3"),
        (lambda: pattern("...."), "'....'", "no stroke"),
        (lambda: pattern(8), "8", "not text"),
        (lambda: pattern("x" * 100_001), "xxx", "100,001 ticks"),
        (lambda: pattern("x..x", metre="7/8"), "'x..x'", "has 4 ticks, but a bar of 7/8 has 7"),
        (lambda: pattern("x..x", metre=metre("4/4", parts=7)), "'x..x'", "has 4 ticks"),
        (lambda: pattern("x" * 14, metre="7/8"), "xxx", "has 14 ticks, but a bar of 7/8 has 7"),
        (lambda: pattern("son clave", metre="7/8"), "son clave", "4 beats of 4/4, and 7/8 has 7 beats"),
    ],
)
def test_a_bad_pattern_is_refused(call, given, wrong):
    """The message repeats the pattern, says what is wrong and where, and its example is a pattern."""
    assert isinstance(works(refusal(call, given, wrong), pattern=pattern), Pattern)


def test_spreading_more_strokes_than_ticks_is_refused():
    """At most one stroke a tick."""
    for call in (lambda: euclid(9, 8), lambda: euclid(3, 10**9)):
        assert works(refusal(call, "strokes=", "more than"), euclid=euclid).text == "x..x..x."
    with pytest.raises(KeyError, match="there is no pattern 'waltz'; there are son clave, rumba clave"):
        ready_patterns()["waltz"]


#: Bars of every kind: fours of many notes, others, uneven ones, and ones whose notes are cut otherwise.
BARS = ["4/4", "12/8", "4/8", "4/2", "12/16", "2/4", "6/8", "3/4", "6/4", "8/4", "7/8", "8/8", "9/8", "5/4"]
BARS += ["2/2", "2+2+3/8", "2+2+2+3/8", "2+2+3+3/8", "3+2+2/8", "4+4+6/16", "2+2/4", "16/16", "1/4"]


def places_of(found):
    """Return the strokes as beat of the bar and share of the beat, by another route than the package's."""
    bar = found.metre
    ends = [*bar.beats.tolist(), bar.ticks]
    for tick in found.lanes[0].onsets.tolist():
        beat = max(i for i, start in enumerate(ends[:-1]) if start <= tick % bar.ticks)
        yield beat, Fraction(tick % bar.ticks - ends[beat], ends[beat + 1] - ends[beat])


def bar_ticks(found):
    """Return the ticks of a bar that a pattern stands in."""
    return found.metre.count * found.metre.parts


@pytest.mark.parametrize(
    ("key", "written"),
    some(
        product(ready_patterns(), BARS),
        12,
        "ready patterns in bars",
        [
            ("hi_hat_two_four", "12/8"),
            ("bossa", "2/4"),
            ("bossa", "2/2"),
            ("bossa", "6/8"),
            ("shuffle", "3/4"),
            ("bossa", "8/4"),
            ("shuffle", "6/8"),
        ],
    ),
)
def test_a_ready_pattern_keeps_its_beats_in_every_bar_or_is_refused_by_name(key, written):
    """Each stroke keeps its beat and its share of it, alone, in the feet, under a fill; or it is refused.

    In a bar of the same notes that has no groups, it keeps its notes.
    """
    own, bar = ready_patterns()[key], metre(written)
    mine, theirs = len(own.metre.groups), len(bar.groups)
    calls = [
        lambda: pattern(key, metre=bar),
        lambda: rl.ostinato({"left foot": key}, "x..", metre=bar),
        lambda: rl.ostinato("x.", {"left hand": own}, metre=bar),
        lambda: rl.playing.resolve((3, 2), bar, bars=4, beats=1, feet=key),
    ]
    try:
        found = pattern(key, metre=bar)
    except ValueError:
        for call in calls:
            example = refusal(call, own.name, f"the {mine} beats of {own.metre}, and ")
            with pytest.raises(rl.Refusal) as refused:
                call()
            takes = refused.value.wrong.split(f"; {bar} takes ")[1].removesuffix(" or another of your own")
            rl.ostinato(takes, "x", metre=bar)
            rl.playing.resolve((3, 2), bar, bars=4, beats=1, feet=takes)
            assert isinstance(works(example, pattern=pattern), Pattern)
        assert theirs != mine or not (own.metre.even and bar.even)
        alike = own.metre.even and bar.even and (own.metre.beat == bar.beat or bar.unit == 2)
        assert not (alike and theirs > 1 and (theirs % mine == 0 or mine % theirs == 0))
        return
    same_notes = not bar.grouped and (bar.count, bar.unit) == (own.metre.count, own.metre.unit)
    if same_notes:
        places = [Fraction(tick, own.metre.parts) for tick in own.lanes[0].onsets.tolist()]
        assert [Fraction(tick, found.metre.parts) for tick in found.lanes[0].onsets.tolist()] == places
    else:
        each = list(places_of(own))
        rounds = range(0, theirs, mine)
        over = max(1, mine // theirs)  # bars that a bar of the pattern stands in
        assert found.ticks == over * own.ticks // own.metre.ticks * bar_ticks(found)
        assert list(places_of(found)) == [
            ((beat + at) % theirs, share) for at in rounds for beat, share in each
        ]
    for call in calls[1:]:
        made = call()
        lane = next(lane for lane in made.lanes if lane.name == own.name)
        shares = {Fraction(tick, made.metre.ticks) % 1 for tick in lane.onsets.tolist()}
        assert shares == {Fraction(tick, found.metre.ticks) % 1 for tick in found.lanes[0].onsets.tolist()}


def test_the_beats_two_and_four_are_beats_in_every_bar_of_four():
    """Hi-hat on 2 and 4 is on them in quarters, in dotted quarters and in uneven beats.

    In bars of two quarters or half notes it is on 2, two bars long, in a bar of eight on 6 and 8 too; in no
    other bar.
    """
    found = {}
    for written in BARS:
        with suppress(ValueError):
            made = pattern("hi-hat on 2 and 4", metre=written)
            found[written] = [made.metre.describe(tick) for tick in made.lanes[0].onsets.tolist()]
    expected = {written: ["2", "4"] for written in BARS if len(metre(written).groups) == 4}
    assert found == {**expected, "2/4": ["2", "2"], "2/2": ["2", "2"], "8/4": ["2", "4", "6", "8"]}


def test_the_plainest_groove_of_jazz_comes_home_in_a_bar():
    """Hi-hat on 2 and 4 under the ride: 4/4 in triplets, 12/8 in eighths, a bar long, together on 2 and 4."""
    for written, tick in (("4/4", "eighth-note triplet"), ("12/8", "eighth")):
        made = rl.ostinato({"left foot": "hi-hat on 2 and 4"}, "ride", metre=written)
        assert (made.home, made.metre.tick) == (1, tick)
        met = made.meets["left foot", "right hand"].tolist()
        assert [made.metre.describe(at) for at in met] == ["2", "4"]
    assert rl.ostinato("ride", "x.").metre == metre("12/8")


@pytest.mark.parametrize("left_handed", [False, True])
def test_hi_hat_on_two_and_four_is_the_hi_hat_of_the_other_foot(left_handed):
    """By its name, as feet of a fill and of an ostinato, and no bass drum; a limb that is named stays."""
    name, other = "hi-hat on 2 and 4", "right foot" if left_handed else "left foot"
    fill = rl.playing.resolve((7, 4), feet=name, left_handed=left_handed)
    for feet in (name, {"feet": name}, {other: name}):
        for made in (fill, rl.ostinato(feet, "x..", metre="4/4", left_handed=left_handed)):
            assert (made.lanes[0].name, made.lanes[0].limb) == (name, other)
            assert made.lanes[0].sound == "closed hi-hat"
    lead = "left foot" if left_handed else "right foot"
    assert rl.playing.resolve((7, 4), feet="x", left_handed=left_handed).lanes[0].limb == lead
    named = pattern(name, limb="right foot", sound="bass drum")
    for made in (rl.playing.resolve((7, 4), feet=named), rl.ostinato(named, "x..", metre="4/4")):
        assert (made.lanes[0].limb, made.lanes[0].sound) == ("right foot", "bass drum")


@pytest.mark.parametrize("row", table("patterns.csv"), ids=lambda row: row["key"])
def test_a_ready_pattern_has_a_limb_and_a_voice_or_neither(row):
    """They are a limb and a voice of the package."""
    assert row["limb"] in ("", "left foot", "right foot", "left hand", "right hand")
    assert bool(row["limb"]) == bool(row["sound"])
    assert row["sound"] in ("", *VOICES)


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("written", ["4/4", "12/8"])
def test_a_ride_pattern_sounds_on_the_ride_cymbal(written, left_handed):
    """In the hands, alone or under a name, it is an x on the top line, General MIDI 51; feet have a drum."""
    made = rl.ostinato("hi-hat on 2 and 4", "ride", metre=written, left_handed=left_handed)
    named = rl.ostinato("hi-hat on 2 and 4", {"left hand": "ride"}, metre=written)
    for lane in (made.lanes[-1], named.lanes[-1], pattern("ride").lanes[0]):
        row = drum(lane.sound, lane.limb)
        assert (row.sound, row.general_midi, row.head, row.pitch) == ("ride", 51, "x", "F5")
    assert made.lanes[-1].limb == ("left hand" if left_handed else "right hand")
    assert rl.ostinato("ride", "x.", metre=written).lanes[0].sound == "bass drum"
    assert rl.playing.resolve((7, 4), "4/4", feet="ride").lanes[0].sound == "bass drum"
    assert rl.ostinato("x.", pattern("ride", sound="snare"), metre=written).lanes[-1].sound == "snare"

"""A handout draws what it advises, and speaks of nothing that is not there: no feet, no lanes, no drums."""

import re
from fractions import Fraction
from html import unescape
from itertools import permutations, product

import pytest

import rhythmlab as rl
from rhythmlab.core.feel import Feel, places, said_in
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.draw.scene import Stroke, Text
from rhythmlab.draw.svg import LETTERS
from rhythmlab.export.handout import handout, notation
from rhythmlab.export.lesson import BOXES, Lesson, of_bars, of_pair, told_by_landmarks, with_sentence
from rhythmlab.notation.score import score
from rhythmlab.playing.limits import limits
from rhythmlab.playing.phrasing import Phrase, titled
from rhythmlab.text import counts
from rhythmlab.text.descriptions import pulse_name
from tests.profile import some

BELL, DRUM = "bell", "bass drum"


def cycles():
    """Yield rhythms of lanes by name, with and without feet, of one lane and of several."""
    for groups in ("4343", "445", "77", "433", "2222222", "53", "44444443"):
        phrase = [int(size) for size in groups]
        yield f"phrase {groups}", Phrase(phrase).cycle()
        yield f"hands of {groups}", rl.stick(phrase, 60).cycle()
        yield f"foot plays {groups}", Phrase(phrase).cycle(limb="right foot", sound=DRUM)
    for metre, every in (("4/4", 3), ("2+2+3/8", 5), ("5/4", 4), ("12/8", 7)):
        yield f"every {every} in {metre}", rl.playing.accents(metre, every)
    for pair in ((7, 4), (5, 4), (5, 3), (4, 3)):
        yield f"fill {pair}", rl.playing.resolve(pair)
        yield f"split {pair}", rl.playing.split(pair)
        yield f"hand to hand {pair}", rl.playing.hand_to_hand(pair)
    yield "ostinato", rl.ostinato("x..x..x.", "x.x", metre="4/4")
    yield from rl.playing.ready_patterns().items()
    yield "one lane", rl.Cycle(8, [rl.Lane("bell", [0, 3, 6], sound=BELL)], beats=[0, 4])
    yield "one lane without beats", rl.Cycle(8, [rl.Lane("bell", [0, 3, 6], sound=BELL)], beats=[])
    yield "a lane and an empty one", rl.Cycle(8, [rl.Lane("a", [0, 3]), rl.Lane("b", [])], beats=[0, 4])
    yield "two lanes", rl.Cycle(8, [rl.Lane("a", [0, 3]), rl.Lane("b", [1, 3])], beats=[0, 4])


CYCLES = dict(cycles())


def words(lesson: Lesson) -> str:
    """Return what a lesson says of its own rhythm, in small letters: not its limits, cautions and sources."""
    said = [lesson.way, *(part for step in lesson.steps for part in step)]
    said += [one.text for one in lesson.exercises]
    return " ".join(said).lower()


def lesson_of(name: str) -> Lesson:
    """Return what a handout says of one of the rhythms."""
    cycle = CYCLES[name]
    return of_bars(cycle, rl.Tempo(90, ticks=cycle.beat if len(cycle.beats) else 2), limits())


def feet_in(cycle) -> bool:
    """Whether a foot plays anything."""
    limbs = [lane.limb for lane in cycle.lanes if len(lane.onsets)] + [
        lane.name for lane in cycle.lanes if len(lane.onsets) and not lane.limb
    ]
    return any("foot" in limb or "feet" in limb for limb in limbs)


@pytest.mark.parametrize("name", CYCLES)
def test_feet_are_spoken_of_only_where_feet_play(name):
    """Way, steps and exercises of hands alone name no foot; where feet play, they come first."""
    cycle, said = CYCLES[name], words(lesson_of(name))
    assert bool(re.search(r"\b(foot|feet)\b", said)) == feet_in(cycle)


@pytest.mark.parametrize("name", CYCLES)
def test_lanes_together_are_asked_of_only_where_there_are_several(name):
    """One lane sounds together with nothing, is not played alone, and is no part of an "all of it"."""
    cycle, said = CYCLES[name], words(lesson_of(name))
    played = [lane for lane in cycle.lanes if len(lane.onsets)]
    if len(played) < 2:
        assert "lanes" not in said
        assert "together" not in said
    if len(played) < 2:
        assert "alone" not in said
        assert "all of it" not in said
    if len(played) == 2:
        assert "two or more" not in said


@pytest.mark.parametrize("name", CYCLES)
def test_bars_and_beats_are_spoken_of_only_where_they_are(name):
    """One bar is not played one bar at a time; without beats there is nothing to count aloud."""
    cycle, said = CYCLES[name], words(lesson_of(name))
    if len(cycle.bars) < 2:
        assert "one bar at a time" not in said
    if not len(cycle.beats):
        assert not any("beat" in part for step in lesson_of(name).steps for part in step)
        assert "count aloud" not in said


@pytest.mark.parametrize("name", CYCLES)
def test_no_exercise_has_the_same_sign_in_every_box(name):
    """A row of boxes that are all x teaches nothing: accents or hands are asked instead."""
    first = lesson_of(name).exercises[0]
    assert not first.boxes or len(first.answer) == 1 or len(set(first.answer)) > 1


PAIRS = [
    (p, q, home, bpm) for p in range(2, 13) for q in range(2, p) for home in (0, 1) for bpm in (40, 72, 120)
]


@pytest.mark.parametrize(("p", "q", "home", "bpm"), some(PAIRS, 10, "pairs drawn", [(7, 4, 1, 72)]))
def test_a_line_that_is_advised_is_drawn(p, q, home, bpm):
    """Where the way is to learn the line, each of its sounds is drawn with a hand, and its words are said."""
    pair = rl.Polyrhythm(p, q)
    lesson = of_pair(pair, rl.Tempo(bpm, pulse=home), home, limits())
    advised = lesson.way.lower().startswith("learn the line")
    assert not advised or lesson.line is not None
    if lesson.line is not None and lesson.line_title == "The line":
        scene, said = lesson.line
        hands = [mark.text for mark in scene.marks if getattr(mark, "role", "") in LETTERS]
        assert len(hands) in (len(rl.composite(pair)), len(rl.composite(pair)) // pair.repeats)
        assert set(hands) <= {"R", "L"}
        assert said.lower().count("right") >= len(hands) // 2


@pytest.mark.parametrize(("p", "q", "home", "bpm"), some(PAIRS, 10, "roads drawn", [(9, 7, 1, 120)]))
def test_what_a_road_begins_with_is_drawn(p, q, home, bpm):
    """A nearer pair, one pulse alone, or one over the foot: each stroke, and what is said to it."""
    pair = rl.Polyrhythm(p, q)
    tempo = rl.Tempo(bpm, pulse=home)
    lesson, way = of_pair(pair, tempo, home, limits()), rl.approach(pair, tempo, home=home).recommended
    if not way.road or not way.steps:
        assert lesson.line_title == "The line"
        return
    assert lesson.line_title == "What to begin with"
    first, after = way.steps[0], way.steps[1:2]
    over = [step for step in after if first.streams and step.polyrhythm == first.polyrhythm]
    step = max((first, *over), key=lambda one: len_of(one.cycle()))
    drawn, once = step.cycle(), step.stop - step.start
    if len(rl.composite(drawn, stop=once)) <= BOXES:
        scene, said = lesson.line
        assert (
            len([one for one in scene.marks if isinstance(one, Stroke)])
            == len_of(drawn) * once // drawn.ticks
        )
        assert way.steps[0].what in said


def len_of(cycle) -> int:
    """Return how many strokes all lanes of a cycle have."""
    return sum(len(lane.onsets) for lane in cycle.lanes)


DOTTED = re.compile(r"\b\d+\.\d+\b")


@pytest.mark.parametrize("name", CYCLES)
def test_every_count_can_be_said(name):
    """Every place is a word of its beat, and where a beat is long the whole of it stands beside."""
    cycle, lesson = CYCLES[name], lesson_of(name)
    for (label, text), lane in zip(
        lesson.counts, [one for one in cycle.lanes if len(one.onsets)], strict=True
    ):
        assert label.lower() == lane.name.lower()
        assert not DOTTED.search(text)
        assert " ta of " not in text or "say 1 e &" in text


@pytest.mark.parametrize(("p", "q"), some(permutations(range(2, 13), 2), 12, "counts of handouts", [(7, 4)]))
def test_every_count_of_a_pair_can_be_said(p, q):
    """From both homes: the words of each beat, also in groups of one's own, and never beat and part."""
    parts_of = {Feel((p, q), home).parts(1 - home) for home in (0, 1)}
    own = ", ".join("+".join(map(str, reversed(counts.said_groups(n)))) for n in parts_of if n > 4)
    for groups, home in product(("", own), (0, 1)):
        feel = Feel((p, q), home, groups=groups)
        lesson = of_pair(feel.polyrhythm, rl.Tempo(60, pulse=home), home, limits(), feel.groups)
        ((label, text), _) = lesson.counts
        assert label == f"From {pulse_name(feel.polyrhythm, home)} (60 bpm)"
        row, parts = said_in(feel, 1 - home), feel.parts(1 - home)
        assert not DOTTED.search(text)
        if told_by_landmarks(feel.polyrhythm, home):
            assert "together on 1, then" in text
            continue
        assert [one for one in feel.places(1 - home)[:8] if counts.said_name(one, row) not in text] == []
        assert (f"(say {counts.aloud(1, parts, groups=row)})" in text) == (parts > 4)


@pytest.mark.parametrize("bpm", [20, 45, 92])
@pytest.mark.parametrize(
    ("p", "q"), some(permutations(range(2, 18), 2), 10, "words too fast", [(13, 8), (16, 15)])
)
def test_words_too_fast_to_say_have_the_tempo_up_to_which_they_go(p, q, bpm):
    """Six parts a second are said of five and more; a sheet that asks for more says up to which tempo.

    Where that is slower than any beat is counted, it says to call the beats.  So do page 09 and a fill.
    """
    one = of_pair(rl.Polyrhythm(p, q), rl.Tempo(bpm, pulse=1), 1, limits())
    parts = Feel((p, q), home=1).parts(0)
    count = one.counts[0][1]
    most = Fraction(360, parts)
    drifts = told_by_landmarks(rl.Polyrhythm(p, q), 1)  # a sheet says landmarks then, and no words of parts
    fast = (drifts or "(say" in count) and parts > 4 and bpm > most
    on_paper = fast and not drifts
    assert (f"; that goes up to {int(most)} bpm" in count) == ("that goes up to" in count) == on_paper
    assert ("so call the beats" in count) == (on_paper and most < 20)
    written = " ".join(rl.pages.write_down(p, q, bpm=bpm).stage.pictures[1]["said"])
    assert (f"that goes up to {int(most)} bpm" in written) == fast
    if q > 4 * p:  # no stroke of it in a bar
        return
    fill = rl.playing.resolve((p, q), "4/4")
    said = of_bars(fill, fill.metre.tempo(bpm), limits()).counts[-1][1]
    assert ("that goes up to" in said) == ("(say" in said and any(bpm * n > 360 for n in parts_of(fill)))


def parts_of(cycle) -> set[int]:
    """Return into how many parts the beats of the last lane are cut, where these are said in words."""
    inside = places(cycle, cycle.lanes[-1].onsets)
    long = {one.parts for one in inside if one.part > 1 and one.parts > 4}
    return {n for n in long if counts.part_words(n)}


@pytest.mark.parametrize(("pair", "bpm"), [((5, 4), 30), ((7, 4), 30), ((7, 5), 45), ((9, 4), 30)])
def test_steps_count_in_the_readers_groups(pair, bpm):
    """On one sheet a beat is said in one way: the steps of counting have the reader's groups, never ours."""
    sizes = counts.said_groups(pair[0])
    own, ours = counts.aloud(1, pair[0], groups=sizes[::-1]), counts.aloud(1, pair[0])
    said = handout(pair, bpm, groups=sizes[::-1]).text
    assert f"{own}, and so on to beat {pair[1]}" in said
    assert f"(say {own})" in said
    assert not re.search(rf"{ours}[,)]", said)
    (row,) = [step.count for step in rl.approach(pair, bpm, groups=sizes[::-1]).recommended.steps[-1:]]
    feel = Feel(pair, groups=sizes[::-1])
    names = [counts.said_name(place, said_in(feel, 0)) for place in feel.places(0)]
    assert row == f"the {pair[0]} on {', '.join(names)}"
    assert rl.approach(pair, bpm).recommended.steps[-1].count != row


def count_of(scene) -> list[str]:
    """Return the words off the beat in a picture, in order."""
    return [mark.text for mark in scene.marks if isinstance(mark, Text) and mark.text in IN_OWN | IN_OURS]


#: 7 against 4 from the 4 in groups of 3 and 4, and in ours of 4 and 3: what is said off the beat.
IN_OWN, IN_OURS = {"TA e", "e", "TA &", "&", "TA a", "TA"}, {"TA", "e", "TA e", "&", "TA &", "a"}


def test_every_small_picture_says_the_readers_groups():
    """The picture in place of notes, the line that is advised, the bars of a fill: 3+4, and never 4+3."""
    p, tempo, fill = rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1), rl.playing.resolve((7, 4))
    for groups, wanted in ((((3, 4),), IN_OWN), ((), IN_OURS)):
        pair = of_pair(p, tempo, 1, limits(), groups)
        bars = of_bars(fill, rl.Tempo(72, ticks=fill.beat), limits(), groups)
        for scene in (notation(p, tempo, 1, groups).picture(), pair.line[0], bars.pictures[-1]):
            assert set(count_of(scene)) == wanted
    said = handout(rl.playing.sentence((7, 2), "*one two three *four five six sev-en"), 60, groups="3+4")
    assert "say 1 e & TA e & a" in said.text


def test_the_steps_of_a_sentence_say_it_on_the_line():
    """A step that taps the line hand to hand says the sentence, half by half; others have their hands."""
    short = rl.playing.sentence((4, 3), "*boats come *home at *day-*break")
    start = rl.approach((4, 3), 80).start
    said = f"the whole line, hand to hand, at {start} bpm. BOATS come HOME at DAY-BREAK."
    assert said in handout(short, 80).text
    long = rl.playing.sentence((5, 4), "*ropes are *creak-ing *by the *har-bour")
    said = handout(long, 72).text
    for step, aloud in (
        ("first half", "ROPES are CREAK-ing"),
        ("second half", "BY the HAR-bour"),
        ("whole", "ROPES are CREAK-ing BY the HAR-bour"),
    ):
        assert re.search(rf"the {step}[^.]*, hand to hand[^.]*\. {aloud}\.\n", said), said
    assert "Together, right, left, right" in said
    strange = rl.playing.sentence((3, 2), "*\u821f \u3092 *\u3053 \u3050")
    start = rl.approach((3, 2), 120).start
    assert f"hand to hand, at {start} bpm. Right, left, right, left." in handout(strange, 120).text


@pytest.mark.parametrize(
    "text",
    [
        "x..x..x.",
        "x...x",
        "x.x.x.x.",
        "x..x..x.x..x..x...x.",
        "x.............................x.",
        "son clave",
    ],
)
def test_the_count_of_a_pattern_is_that_of_its_notes(text):
    """Its places have one name on the sheet, under the notes and in what is said of them: "ta & of 1"."""
    made = rl.pattern(text)
    count = of_bars(made, rl.Tempo(96, ticks=made.ticks), limits()).counts[0][1].partition(" (say")[0]
    notes = score(made, 96)
    assert f" on {count}." in notes.alt
    under = [unescape(one) for one in re.findall("<text>(.*?)</text>", notes.musicxml)]
    words = [re.sub(r"^[0-9]+(?=[^0-9])", "", one).lower() for one in under]  # "2&", of a beat nobody plays
    assert [one.partition(" of ")[0] for one in count.split(", ")] == words


@pytest.mark.parametrize("text", ["14 as 4 3 4 3", "13 as 4 4 5", "12 as 5 4 3", "16 as 3 3 3 3 4"])
def test_a_phrase_asks_for_its_groups_and_says_where_the_beat_slides(text):
    """Groups begin where accents are; the tapped quarter slides unless the phrase is whole quarters."""
    made, groups = rl.pattern(text), text.split(" as ")[1].split()
    lesson = of_bars(made, rl.Tempo(72, ticks=4), limits())
    assert lesson.unit == "bpm of a quarter"
    asked = lesson.exercises[2]
    assert asked.text.endswith("how many of them begin a group?")
    assert asked.answer == f"{made.ticks}, {len(groups)}"
    slides = f"which slides: {made.ticks} strokes are no whole number of beats"
    assert (slides in lesson.steps[0][0]) == (made.ticks % 4 != 0)


@pytest.mark.parametrize("text", ["14 as 4 3 4 3", "13 as 4 4 5", "RLRR LRLL"])
def test_a_phrase_is_counted_in_its_groups_in_words_and_notes(text):
    """What is said of a phrase has its accents on the beats 1, 2, 3, as the words under its notes have."""
    made = rl.pattern(text)
    groups = ", ".join(str(n + 1) for n in range(len(made.beats)))
    alt = rl.score(made, 96).alt
    assert alt.endswith(f", accents on {groups}.")
    assert "(any drum, on the middle line, hands) on 1, e of 1, & of 1, a of 1, 2, e of 2" in alt


@pytest.mark.parametrize("name", CYCLES)
def test_tempos_are_said_as_drummers_say_them(name):
    """Whole beats a minute in the table, in the reasons and in the steps; notes and never ticks in bars."""
    cycle, lesson = CYCLES[name], lesson_of(name)
    said = [part for row in lesson.ranges for part in row] + [text for text, _ in lesson.steps]
    said += [reason.rpartition(": ")[2] for reason in lesson.reasons] + list(lesson.ladder)
    assert not [text for text in said if DOTTED.search(text)]
    if hasattr(cycle, "metre") and cycle.metre is not None:
        assert "tick" not in lesson.unit + lesson.facts + lesson.name
    assert "decides" not in " ".join(lesson.reasons)


@pytest.mark.parametrize(("parts", "onsets"), [(12, (1, 2, 8)), (20, (1, 2, 4)), (28, (4, 8, 12))])
def test_no_two_strokes_of_a_score_have_one_count(parts, onsets):
    """2 of 6 parts and 2 of 12 are not both "1.2": parts without words are the same for all strokes."""
    bar = rl.metre("4/4", parts=parts).cycle(1, [rl.Lane("bell", onsets, "right hand", BELL)])
    counts = re.findall(r"<text>([^<]*)</text>", score(bar, 60).musicxml)
    assert len(counts) == len({*counts}) == len(onsets)


def test_uneven_bars_are_written_at_the_tempo_of_the_handout():
    """150 beats a minute of two eighths are a quarter of 150 over the notes, and on the handout."""
    groove = CYCLES["every 5 in 2+2+3/8"]
    assert "♩ = 150; 3 beats to the bar, 2+2+3" in score(groove, rl.Tempo(150, ticks=2)).musicxml
    assert "150 bpm of a quarter" in handout(groove, rl.Tempo(150, ticks=2)).text


#: Bars of every kind: plain, grouped, with a short and a very long group.
METRES = ("4/4", "6/8", "7/8", "2+2+3/8", "4+4+6/16", "5/4", "12/8", "1+8/8", "3+2/4", "33/16")


@pytest.mark.parametrize("metre", METRES)
@pytest.mark.parametrize("bpm", some([7, 30, 41, 60, 92, 153, 300, 460, 999], 4, "tempos of sheets", [92]))
def test_a_sheet_never_sends_to_a_tempo_that_it_rejects(metre, bpm):
    """Its goal is the last rung and in every range, where a tempo is in all; else limbs keep it up.

    A beat is said to be felt as one where each beat that is counted, a group of uneven bars, is.
    """
    bar = rl.metre(metre)
    for cycle in (rl.playing.accents(bar, 5, bars=4), rl.playing.resolve((5, 4), bar)):
        one = of_bars(cycle, cycle.metre.tempo(bpm), limits())
        goal = Fraction(next(said for label, said in one.slip if label == "Goal").split()[0])
        assert Fraction(one.ladder[-1]) == goal
        assert one.tempo.split(maxsplit=1)[1] == one.unit
        assert one.steps[0][0].endswith(f"at {one.ladder[0]} {one.unit}.")
        note = bar.tempo(1).beat_ticks(bar.cycle())
        lasts = [Fraction(60_000, bpm) * group * bar.parts / note for group in bar.groups]
        felt = all(200 <= ms <= 1500 for ms in lasts)
        rows = {label: (low, high, verdict) for label, low, high, verdict in one.ranges}
        assert felt == any(row[2] == "fits" for label, row in rows.items() if "beat is felt" in label)
        lows, highs = (
            [
                Fraction(row[i].replace("\N{NO-BREAK SPACE}", ""))
                for row in rows.values()
                if row[i][0].isdigit()
            ]
            for i in (0, 1)
        )
        can = max(lows) <= min(highs) and "–" not in str(rows)
        assert all(goal >= low for low in lows) or not can
        assert goal <= min(highs) or not can
        assert ("it fits here" in one.way) == (can and max(lows) <= bpm <= min(highs))
        assert can or "no tempo keeps all" in one.way


def test_the_line_stands_on_the_page_of_seven_against_four():
    """The 7:4 handout says to learn the line: picture and words are in its text, too."""
    text = handout((7, 4), 72).text
    assert "\nTHE LINE\n" in text
    assert "together, right, left, right, right, left, right, right, left, right" in text


@pytest.mark.parametrize("name", ["fill (7, 4)", "phrase 4343", "every 5 in 2+2+3/8"])
def test_the_key_of_the_drums_is_on_paper(name):
    """Which line or space is which drum stands over the notes, and in the text."""
    cycle = CYCLES[name]
    assert "Key: " in handout(cycle, rl.Tempo(90, ticks=cycle.beat)).text


@pytest.mark.parametrize(("pair", "bpm"), [((3, 2), 84), ((4, 3), 84), ((7, 4), 72), ((13, 8), 60)])
def test_a_handout_for_the_left_handed_mirrors_every_hand_and_nothing_else(pair, bpm):
    """Words, drawn line and steps alike: what is right is left, and no other word differs."""
    other = {"right": "left", "left": "right", "Right": "Left", "Left": "Right"}
    right, left = handout(pair, bpm), handout(pair, bpm, left_handed=True)
    swapped = re.sub(r"\b[RrLl](?:ight|eft)\b", lambda found: other[found[0]], right.text)
    assert left.text == swapped != right.text
    p, tempo = rl.Polyrhythm(*pair), rl.Tempo(bpm, pulse=1)
    lessons = [of_pair(p, tempo, 1, limits(), (), mirrored) for mirrored in (False, True)]
    drawn = [
        [mark.text for mark in lesson.line[0].marks if getattr(mark, "text", "") in ("R", "L")]
        for lesson in lessons
    ]
    assert [{"R": "L", "L": "R"}[one] for one in drawn[0]] == drawn[1]


@pytest.mark.parametrize(
    ("pair", "words"),
    [
        ((3, 2), "*hear the *har-bour"),
        ((4, 3), "*boats come *home at *day-*break"),
        ((2, 3), "*up *now we *row"),
    ],
)
def test_a_handout_prints_its_sentence_over_the_counts_and_draws_it(pair, words):
    """The first of the counts, with its stresses; and a syllable under each sound of the first picture."""
    said = rl.playing.sentence(pair, words)
    lesson = with_sentence(of_pair(Polyrhythm(*pair), rl.Tempo(72, pulse=1), 1, limits()), said)
    assert lesson.counts[0] == ("Say", f"{said.text}.")
    assert len(lesson.counts) > 1
    assert f"Say: {said.text}." in handout(said, 72).text
    drawn = [mark.text for mark in lesson.pictures[0].marks if isinstance(mark, Text)]
    under = drawn[drawn.index("say") + 1 :]
    assert len(under) == len(rl.composite(Polyrhythm(*pair)))
    assert " ".join(under).replace("- ", "-") == said.text


def test_a_sentence_in_letters_that_are_not_printed_is_told():
    """An empty row of words is explained, and the text beside the page has the sentence."""
    told = "This page cannot print all letters of the sentence"
    strange = rl.playing.sentence((3, 2), "*\u821f \u3092 *\u3053 \u3050")
    assert told in handout(strange, 72).text
    assert "\u821f" in handout(strange, 72).text
    assert told not in handout(rl.playing.sentence((3, 2), "*hear the *har-bour"), 72).text


def test_a_lane_without_strokes_in_a_picture_is_said_to_have_none():
    """The fill of the last bar only: nothing falls on an empty place."""
    said = handout(rl.playing.resolve((7, 4)), 96).text
    assert "the fill has no stroke here" in said
    assert not re.search(r"falls on\s*[;.]", said)


@pytest.mark.parametrize("n", some(range(6, 65), 8, "phrases", [29]))
def test_a_phrase_is_judged_by_the_hands_that_are_advised(n):
    """It goes as fast as page 06 says, whose hands stand on the sheet, and no one hand is spoken of."""
    phrase = rl.phrases(n)[0]
    for bpm in (40, 100, 150, 400):
        lesson = of_bars(phrase.cycle(), rl.Tempo(bpm, ticks=4), limits())
        try:
            advised = rl.stick(phrase, rl.Tempo(bpm, ticks=4))
        except ValueError:
            advised = rl.stick(phrase, ms=250)
        assert f"Hands: {advised}." in lesson.remarks
        assert lesson.ranges[0][2] == str(int(advised.bound.bpm(4)))
        assert "one hand" not in lesson.reasons[0]
    for hands in (rl.stick(phrase, 60).cycle(), phrase.cycle(limb="right hand")):
        assert not of_bars(hands, rl.Tempo(40, ticks=4), limits()).remarks


@pytest.mark.parametrize("n", some(range(4, 41), 4, "phrases called", [12]))
def test_a_phrase_is_named_as_it_is_called(n):
    """Its own number and groups, once, whether its lead is home after one round or after two."""
    phrase = rl.phrases(n)[0]
    called = titled(phrase.groups)
    hands = rl.stick(phrase, 60)
    named = of_bars(hands.cycle(), rl.Tempo(40, ticks=4), limits()).name
    assert named == called + ", twice through" * hands.alternates
    assert of_bars(phrase.cycle(), rl.Tempo(40, ticks=4), limits()).name == called


@pytest.mark.parametrize(("pair", "groups"), [((14, 5), (4, 3, 4, 3)), ((17, 5), (4, 4, 4, 5))])
def test_a_road_says_only_the_ones_and_draws_the_loud_strokes_that_it_asks_for(pair, groups):
    """Nobody is told to tap only the ones, and the first stroke of each group is ringed, no other."""
    paper = handout(pair, 60).text
    assert "the first of each group loud" in paper
    assert not re.search(r"(?<!say )only the ones", paper, re.IGNORECASE)
    lesson = of_pair(rl.Polyrhythm(*pair), rl.Tempo(60, pulse=1), 1, limits(), (), False)
    rings = [mark.x for mark in lesson.line[0].marks if getattr(mark, "ring", False)]
    assert rings == [pair[1] * sum(groups[:i]) for i in range(len(groups))]


@pytest.mark.parametrize("home", [0, 1])
def test_a_handout_says_whole_tempos(home):
    """A tempo of 24.7, as a flip leaves it, is about 25 in every sentence, the goal too; digits below 10."""
    pairs = [(p, q) for p, q in product(range(2, 17), repeat=2) if p != q]
    for i, pair in enumerate(some(pairs, 8, home, [(16, 15), (5, 4), (13, 8)])):
        p, tempo = rl.Polyrhythm(*pair), rl.Tempo(Fraction(173 + 97 * i, 7), pulse=home)
        lesson = of_pair(p, tempo, home, limits())
        said = [lesson.tempo, lesson.facts, lesson.way, *lesson.remarks, *lesson.reasons]
        said += [str(row) for row in (*lesson.slip, *lesson.steps, *lesson.counts)]
        said += [lesson.gap_picture.alt] if lesson.gap_picture else []
        for one in said:
            assert not re.search(r"\d\d\.\d+ bpm", one), (pair, one)
        if tempo.bpm.denominator > 1:
            assert re.search(r"about \d+ bpm", lesson.tempo), lesson.tempo
    fill = rl.playing.resolve((7, 4))
    for lesson in (of_bars(fill, rl.Tempo(Fraction(233, 3), ticks=28), limits()),):
        assert lesson.tempo.startswith("about 78 bpm")
        assert dict(lesson.slip)["Goal"].startswith("about 78 bpm")

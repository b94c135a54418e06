"""Feet against hands of another length, against plain counting."""

import re
from fractions import Fraction
from math import lcm

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.playing.hands import hand_limits, rules_of
from rhythmlab.playing.metre import Metre, metre
from rhythmlab.playing.named import name_of
from rhythmlab.playing.ostinato import Ostinato, ostinato
from rhythmlab.playing.patterns import pattern, ready_patterns
from rhythmlab.text import numbers
from tests.profile import some
from tests.refusals import refusal, works
from tests.strategies import TRIES

texts = st.text("x.", min_size=1, max_size=14).filter(lambda text: "x" in text)
NAMES = {"ostinato": ostinato, "pattern": pattern}


def ticks_of(text, ticks):
    return [t for t in range(ticks) if text[t % len(text)] == "x"]


@TRIES
@given(texts, texts, st.sampled_from(["4/4", "2+2+3/8", "3/8", "5/16"]))
def test_feet_hands_and_bar_come_home_together(feet, hands, written):
    """Length, strokes and meetings are those of a plain count over the least common multiple."""
    found = ostinato(feet, hands, metre=written)
    ticks = lcm(len(feet), len(hands), metre(written).ticks)
    assert (found.ticks, found.home) == (ticks, ticks // metre(written).ticks)
    low, high = ticks_of(feet, ticks), ticks_of(hands, ticks)
    assert [lane.onsets.tolist() for lane in found.lanes] == [low, high]
    both = sorted(set(low) & set(high))
    assert found.shared.tolist() == found.meets["right foot", "right hand"].tolist() == both
    assert found.counts == {("right foot", "right hand"): len(both)}


@TRIES
@given(texts, texts, st.integers(1, 30), st.integers(1, 5))
def test_some_bars_are_the_same_bars(feet, hands, at, count):
    """A window shows the same strokes and meetings, counted from its first tick; the counts stay whole."""
    whole = ostinato(feet, hands, metre="2+2+3/8")
    part = ostinato(feet, hands, metre="2+2+3/8", bars=count, from_bar=at)
    window = range((at - 1) * 7, (at - 1 + count) * 7)
    assert part.shared.tolist() == [
        i for i, t in enumerate(window) if feet[t % len(feet)] == hands[t % len(hands)] == "x"
    ]
    assert (part.counts, part.home) == (whole.counts, whole.home)


def test_each_limb_meets_each_limb_by_name():
    """Hands by letter and by limb are told apart, and every pair of foot and hand has its ticks."""
    hands = rl.Cycle(6, [rl.Lane("phrase", [0, 1, 2, 3], hands="RLRR")], beats=[0])
    feet = {"right foot": "x...", "left foot": "..x."}
    found = ostinato(feet, hands, metre="3/4")
    met = {pair: at.tolist() for pair, at in found.meets.items()}
    assert met == {
        ("right foot", "right hand"): [0, 8],
        ("right foot", "left hand"): [],
        ("left foot", "right hand"): [2, 6],
        ("left foot", "left hand"): [],
    }
    # right hand plays 0 2 3 of 6, left hand 1 of 6; the feet are on multiples of 4, and two later
    assert [lane.limb for lane in found.lanes] == ["right foot", "left foot", "hands"]
    assert found.lanes[2].hands == "RLRR" * 2
    assert "Right foot and left hand never meet." in found.describe()


@TRIES
@given(texts, texts, texts)
def test_each_limb_of_a_side_has_a_length_of_its_own(right, left, hands):
    """Two feet of any lengths come home with hands and bar, each repeated sign by sign."""
    found = ostinato({"right foot": right, "left foot": left}, hands, metre="3/8")
    ticks = lcm(len(right), len(left), len(hands), 3)
    rows = {lane.limb: lane.onsets.tolist() for lane in found.lanes}
    meant = {"right foot": right, "left foot": left, "right hand": hands}
    assert rows == {limb: ticks_of(text, ticks) for limb, text in meant.items()}
    assert (found.ticks, found.feet) == (ticks, lcm(len(right), len(left)))
    lengths = sorted({len(right), len(left)})
    one_each = min(lengths) > 1 and right.count("x") == left.count("x") == 1
    word = "every" if one_each else "of"
    assert found.describe().startswith(f"Feet {word} {' and '.join(map(str, lengths))} eighth")


groups = st.lists(st.integers(1, 9), min_size=1, max_size=6)


@TRIES
@given(groups, texts)
def test_a_phrase_goes_on_any_lane(sizes, other):
    """Hands have every tick of a phrase with accented groups, stuck as on page 06; a foot has its groups."""
    text, starts = " ".join(map(str, sizes)), [sum(sizes[:i]) for i in range(len(sizes))]
    hands = ostinato(other, text).lanes[-1]
    stuck = rl.stick(sizes, ms=250).cycle(whole=True)
    turns = len(hands.onsets) // stuck.ticks
    assert hands.onsets.tolist() == list(range(turns * stuck.ticks))
    assert hands.hands == stuck.lanes[0].hands * turns
    assert [tick for tick in hands.accents if tick < sum(sizes)] == starts
    feet = ostinato(text, other).lanes[0]
    ticks = lcm(sum(sizes), len(other), ostinato(text, other).metre.ticks)
    assert feet.onsets.tolist() == [tick for tick in range(ticks) if tick % sum(sizes) in starts]
    assert feet.limb == "right foot"
    left = ostinato(other, {"left hand": text}).lanes[-1]
    assert (left.limb, left.hands, left.onsets[:2].tolist()) == ("left hand", "", [0, 1][: len(left.onsets)])


@TRIES
@given(st.text("RL.", min_size=1, max_size=12).filter(lambda text: text.strip(".")), texts)
def test_a_sticking_goes_on_any_lane(letters, other):
    """R and L are both hands in the hands and both feet in the feet; meetings are those of a plain count."""
    found = ostinato(letters, letters, metre="4/4")
    ticks = lcm(len(letters), 16)
    for side, limb in (("R", "right"), ("L", "left")):
        meant = [tick for tick in range(ticks) if letters[tick % len(letters)] == side]
        feet = [lane.onsets.tolist() for lane in found.lanes if lane.limb == f"{limb} foot"]
        assert feet == [meant] * (side in letters)
        if meant:
            assert found.meets[f"{limb} foot", f"{limb} hand"].tolist() == meant
    assert found.lanes[-1].hands == letters.replace(".", "") * (ticks // len(letters))
    assert ostinato(other, letters).lanes[-1].hands.startswith(letters.replace(".", ""))


def test_hi_hat_on_two_and_four_goes_under_a_phrase():
    """Four limbs at once: bass drum on the groups, hi-hat by the left foot, a phrase in the hands."""
    found = ostinato({"feet": "4 3 4 3", "left foot": "....x.......x..."}, {"hands": "RLRR LRL"}, metre="4/4")
    assert [lane.limb for lane in found.lanes] == ["right foot", "left foot", "hands"]
    assert [lane.sound for lane in found.lanes][:2] == ["bass drum", "closed hi-hat"]
    assert found.describe().startswith("Feet of 14 and 16 sixteenths against hands of 7: with bars of 4/4")
    both = {"feet": "RLRL", "left foot": ".x.."}
    example = refusal(
        lambda: ostinato(both, "x"), "the left foot is asked for two strokes at once", "bar 1 on e of 1"
    )
    assert isinstance(works(example, **NAMES), Ostinato)


def test_how_often_is_said_in_one_way():
    """Small numbers are words on both sides, large ones digits on both sides."""
    found = ostinato("x...", "x..")
    assert "three times round for the feet and four times for the hands." in found.describe()
    assert "12 times round for the feet and 16 times for the hands." in (
        ostinato("x...", "x..", metre="4/4").describe()
    )
    assert "once round for the feet and twice for the hands." in ostinato("x...", "x.").describe()
    both = ostinato({"right foot": "x.x.", "left foot": "4 3 4 3"}, "4 3 4 3", metre="4/4").describe()
    assert "Feet of 4 and 14 sixteenths" in both
    assert "28 and 8 times round for the feet and 8 times for the hands." in both


def test_a_limb_in_two_voices_is_said_to_have_one_stroke_at_a_time():
    """Where each limb has one voice there is nothing to say; where a limb has two, it is named."""
    assert "at once" not in ostinato("x...", "x..").describe()
    assert "at once" not in ostinato("x...", rl.playing.hand_to_hand(rl.Polyrhythm(3, 2))).describe()
    two = rl.Cycle(
        4, [rl.Lane("a", [0, 2], limb="left hand"), rl.Lane("b", [1], limb="left hand")], beats=[0]
    )
    assert ostinato("x...", two).describe().endswith(" The left hand never has two strokes at once.")
    lettered = rl.Cycle(4, [rl.Lane("a", [0, 1], hands="RL"), rl.Lane("b", [3], limb="left hand")], beats=[0])
    assert "The left hand never has" in ostinato("x...", lettered).describe()
    both = rl.Cycle(4, [rl.Lane("a", [0, 1], hands="RL"), rl.Lane("b", [2, 3], hands="RL")], beats=[0])
    assert "The right hand and left hand never have two strokes at once." in ostinato("x...", both).describe()


@pytest.mark.parametrize(
    ("call", "most"),
    [
        (lambda: ostinato("x", "x", metre="1024/4"), 8),
        (lambda: ostinato("x", "x", metre="4/4", bars=2000), 2 * 8),
        (lambda: ostinato("x", "x", metre="64/4", bars=100), 2 * 8),
    ],
)
def test_only_the_places_that_are_shown_are_named(call, most, monkeypatch):
    """A bar of 4096 notes names 8 of them, and many bars only those of the two said."""
    found, named = call(), []
    plain = Metre.describe
    monkeypatch.setattr(Metre, "describe", lambda self, tick: named.append(tick) or plain(self, tick))
    text = found.describe()
    assert len(named) == most
    assert all(plain(found.metre, tick) in text for tick in named)


def test_of_many_meetings_the_number_and_the_first_two_bars_are_said():
    """Four places at each end of a bar, the same as cutting after naming; all stay in the value."""
    found = ostinato("x", "x", metre="20/4", bars=15)
    at = found.meets["right foot", "right hand"].tolist()
    rows: dict[int, list[str]] = {}
    for tick in at:
        rows.setdefault(tick // found.metre.ticks + 1, []).append(found.metre.describe(tick))
    said = "; ".join(f"bar {n}: {numbers.some(rows[n], 8)}" for n in (1, 2))
    assert len(at) == 15 * found.metre.ticks
    assert found.describe().endswith(f" meet {numbers.times(20 * 4)}: {said}, and so on.")


@pytest.mark.parametrize("notes", [6, 8, 12])
@pytest.mark.parametrize("every", [2, 3, 4])
def test_where_all_is_one_bar_strokes_are_told_and_no_bar_is_numbered(notes, every):
    """Feet and hands as long as the bar are told apart by their strokes; of two bars the number is said."""
    feet, hands = ("x" + "." * (step - 1) for step in (every, 1))
    feet, hands = (feet * notes)[:notes], "xx" + hands * (notes - 2)
    found = ostinato(feet, hands, metre=f"{notes}/8")
    strokes = feet.count("x")
    assert found.home == 1
    assert name_of(found) == f"Feet of {strokes} strokes against hands of {notes} in {notes}/8"
    assert "bar 1" not in found.describe()
    longer = ostinato(feet + "x.", hands, metre=f"{notes}/8")
    assert f"Feet of {notes + 2} against hands of {notes}" in name_of(longer)
    assert "bar 1: " in longer.describe()


@pytest.mark.parametrize(("bars", "more"), [(1, False), (2, False), (3, True), (40, True)])
def test_no_more_than_two_bars_of_meetings_are_said(bars, more):
    """Every sentence of meetings names two bars at most, and says where there are more."""
    found = ostinato({"right foot": "x", "left foot": "x"}, "RL", metre="4/4", bars=bars)
    sentences = [said for said in found.describe().split(". ") if " meet " in said]
    assert len(sentences) == 4
    for said in sentences:
        assert said.count("bar ") == (min(bars, 2) if bars > 1 else 0)  # the one that is all needs no number
        assert said.rstrip(".").endswith(", and so on") == more


def test_a_clave_in_the_foot_keeps_its_bar():
    """The metre of a ready pattern is the bar, its voice and its order stay."""
    found = ostinato(ready_patterns()["son_clave"].by("left foot", "bell"), "x.x.x..")
    assert (str(found.metre), found.home) == ("4/4", 7)
    assert found.lanes[0].onsets[:5].tolist() == [0, 3, 6, 10, 12]
    assert (found.lanes[0].limb, found.lanes[0].sound) == ("left foot", "bell")


def test_a_bar_as_long_as_the_feet_is_grouped_as_they_are():
    """Without a metre, multiples of four are quarters; others are grouped by the strokes of the feet."""
    assert str(ostinato("x...x...", "x.").metre) == "2/4"
    assert str(ostinato("x.x.x..", "x.").metre) == "7/8 as 2+2+3"


@TRIES
@given(texts, texts)
def test_two_strokes_of_one_limb_are_refused_at_their_first_place(feet, hands):
    """One limb on both sides is refused by name, bar and place exactly where a count finds both strokes."""
    both = sorted(set(ticks_of(feet, n := lcm(len(feet), len(hands)))) & set(ticks_of(hands, n)))
    call = lambda: ostinato(feet, pattern(hands, limb="right foot"), metre="4/4")  # noqa: E731
    if both:
        bar, place = both[0] // 16 + 1, rl.metre("4/4").describe(both[0])
        said = f"in bar {bar:,} on {place}, "
        example = refusal(call, said, "the right foot is asked for two strokes at once")
        assert isinstance(works(example, **NAMES), Ostinato)
    else:
        assert isinstance(call(), Ostinato)


def test_one_limb_twice_on_one_side_is_refused():
    """Two lanes of the same hand that meet are named, and a hand named by letter counts as that hand."""
    two = rl.Cycle(
        4, [rl.Lane("a", [0, 2], limb="left hand"), rl.Lane("b", [2], limb="left hand")], beats=[0]
    )
    refusal(lambda: ostinato("x...", two), "in bar 1 on & of 1, by 'a' and by 'b';", "the left hand")
    lettered = rl.Cycle(4, [rl.Lane("a", [0, 1], hands="RL"), rl.Lane("b", [1], limb="left hand")], beats=[0])
    refusal(
        lambda: ostinato("x...", lettered), "the left hand is asked for two strokes at once in bar 1", "'b'"
    )


def test_lengths_beyond_reason_are_told_and_a_window_works():
    """The message has the number of bars; a few bars can be laid out, with the true numbers in the words."""
    feet, hands = (pattern("x" + "." * (n - 1)) for n in (10_000, 9_997))
    example = refusal(lambda: ostinato(feet, hands), "9,997 bars", "too many to lay out")
    assert isinstance(works(example, **NAMES), Ostinato)
    found = ostinato(feet, hands, metre="4/4", bars=8)
    assert (found.home, found.ticks) == (lcm(10_000, 9_997, 16) // 16, 128)
    huge = rl.Cycle(2**61 + 1, [rl.Lane("x", [0, 5])], beats=[0])
    assert ostinato("x...", huge, bars=3).shared.tolist() == [0]


@pytest.mark.parametrize(
    ("call", "given", "wrong"),
    [
        (lambda: ostinato(5, "x.."), "feet=5", "is no rhythm"),
        (lambda: ostinato("x...", {}), "hands={}", "is no rhythm"),
        (lambda: ostinato({"right foot": "x..", 7: "x."}, "x"), "has 7 where", "a limb is named"),
        (lambda: ostinato("x..", {"left hand": "RLRR"}), "'RLRR'", "has strokes of the right hand"),
        (lambda: ostinato({"right foot": "LL"}, "x"), "'LL'", "strokes of the left foot"),
        (lambda: ostinato("x...", "RLY"), "'RLY'", "'Y' at place 3"),
        (lambda: ostinato("14 as 4 3 4", "x"), "'14 as 4 3 4'", "adds up to 11, and not to 14"),
        (lambda: ostinato("x...", "4 3 0"), "'4 3 0'", "a group has 1 to 16 strokes"),
        (lambda: ostinato("x...", "x.", bars=0), "bars=0", "at least 1"),
    ],
)
def test_a_bad_ostinato_is_refused(call, given, wrong):
    """The message says what was given, and its example is an ostinato."""
    assert isinstance(works(refusal(call, given, wrong), **NAMES), Ostinato)


@TRIES
@given(texts, texts)
def test_it_is_heard_as_its_lanes(feet, hands):
    """The composite of an ostinato has as many sounds as the strokes less the shared ones."""
    found = ostinato(feet, hands)
    strokes = sum(len(lane.onsets) for lane in found.lanes)
    assert len(rl.composite(found)) == strokes - len(found.shared)


@pytest.mark.parametrize("limb", ["feet", ""])
def test_letters_of_feet_are_feet(limb):
    """R and L in a cycle of the feet are the right and the left foot, which meet hands and never are them."""
    feet = rl.Cycle(4, [rl.Lane("bass drums", range(4), limb, hands="RLRL")], beats=[0])
    found = ostinato(feet, "x.x.", metre="4/4")
    assert {pair: at.tolist() for pair, at in found.meets.items()} == {
        ("right foot", "right hand"): list(range(0, 16, 2)),
        ("left foot", "right hand"): [],
    }


@pytest.mark.parametrize("side", ["feet", "hands"])
@pytest.mark.parametrize("limb", ["nose", "Right foot", "right  hand", "LEFT FOOT", "foot", "right", ""])
def test_what_is_no_limb_is_refused_by_name(limb, side):
    """As a key or as the limb of a lane, whatever its capitals and spaces: one foot never has two names."""
    for row in ({limb: "x..."}, pattern("x...", limb=limb))[: 2 if limb else 1]:
        given = {"feet": "x...", "hands": "x..", side: row}
        example = refusal(
            lambda given=given: ostinato(**given), repr(limb), "which is none of right foot, left"
        )
        assert isinstance(works(example, **NAMES), Ostinato)
    for known in ("right foot", "left foot", "right hand", "left hand"):
        assert ostinato({known: "x..."}, {"left hand" if known == "right hand" else "right hand": "x.."})


@TRIES
@given(
    st.text("x.", min_size=3, max_size=16).filter(lambda text: "x" in text),
    st.sampled_from(["right foot", "right hand"]),
    st.sampled_from(["4/4", "11/8", "7/16", "12/8"]),
    st.integers(40, 500),
)
def test_what_is_too_close_is_told_apart_from_what_is_needed(text, limb, metre, bpm):
    """Both figures differ as printed, the tempos keep the limb's own limits, and no strokes merge at them."""
    side, other = ("feet", "hands") if "foot" in limb else ("hands", "feet")
    made = ostinato(**{side: {limb: text}, other: "x" + "." * 99}, metre=metre)
    said = made.describe(bpm).partition(f"Too close for the {limb}")[2]
    if not said:
        return
    both_limbs = r"(?:, with both (\w+) up to (\d+))?"
    told = rf", ([\d.]+) ms apart where it needs ([\d.]+): up to (\d+) bpm{both_limbs}"
    figures = re.match(told, said)
    if figures is None:
        assert said.startswith(": up to ")
        return
    apart, need, most, part, both = figures.groups()
    assert float(apart) < float(need)
    assert part in (None, side)
    lane = next(lane for lane in made.lanes if lane.limb == limb)
    gaps = np.diff(lane.onsets, append=lane.onsets[0] + made.ticks)
    beat = made.metre.tempo(1).ticks
    for tempo, least in ((most, 62 if side == "hands" else 110), (both, 40)):
        if tempo is not None and int(tempo) > 1:
            assert Fraction(60_000, int(tempo) * beat) * int(gaps.min()) >= least


def test_a_foot_has_no_open_roll():
    """Two of one foot need more time than a rebound of a hand, and two feet never merge into one sound."""
    said = ostinato("xx......", "R...", metre="4/4").describe(230)
    assert "Too close for the right foot, 65 ms apart where it needs 110: up to 136 bpm" in said
    said = ostinato("xxx.....", "R...", metre="4/4").describe(140)
    assert "with both feet up to 272" in said
    rules = hand_limits()
    for nth in (2, 3, 4):
        foot, hand = (rules_of(limb, rules).need(nth) for limb in ("left foot", "left hand"))
        assert foot.value > hand.value
    said = ostinato("x..x..x.", "x" * 11, metre="11/8").describe(360)
    assert "Too close for the right hand, 166.7 ms apart where it needs 167: up to 359 bpm" in said


@pytest.mark.parametrize("n", some(range(2, 17), 6, "numbers of hands", [11, 12]))
def test_a_phrase_is_called_by_its_own_number(n):
    """Also where the other hand leads after it, so that it is played twice: that is said, with why."""
    found = ostinato("x..x.", str(n), metre="5/8")
    phrase = pattern(str(n)).ticks
    twice = found.hands == 2 * phrase
    assert found.named.endswith(f"against hands of {phrase}{', twice through,' * twice}")
    assert (f"After {phrase} the other hand leads" in found.describe()) == twice


def test_the_title_names_each_row_of_feet_and_hands():
    """Two feet of 4 and 5 are no feet of 20: name, handout and pictures say what is played, in plurals."""
    feet = {"right foot": "x...", "left foot": "..x.."}
    hands = {"right hand": "x.x", "left hand": ".x....."}
    four = rl.ostinato(feet, hands, metre="4/4", bars=2)
    assert name_of(four) == "Feet every 4 and 5 against hands of 3 and 7 in 4/4"
    paper = rl.handout(four, 60).text
    assert "of 20" not in paper
    assert "alone until they run by themselves" in paper
    plain = rl.ostinato("x..x.", "4 3", metre="5/8", bars=2)
    for text in (paper, rl.handout(plain, 120).text, rl.pictures.strip(plain).alt, rl.score(plain, 120).alt):
        assert not re.search(r"\b(?:hands|feet) (?:was|is|falls|has|it)\b|\b1 beats\b", text)
    one = rl.handout((3, 1), 60).text
    assert "1 beats" not in one


@TRIES
@given(st.text("RL", min_size=3, max_size=24))
def test_a_bar_made_of_a_sticking_has_groups_that_are_counted(hands):
    """Without a metre a bar as long as the sticking in the feet has twos and threes, and none of one."""
    bar = ostinato(hands, "x..").metre
    assert bar.ticks == len(hands)
    if len(hands) % 4:
        assert {*bar.groups} <= {2, 3}


@pytest.mark.parametrize(
    ("hands", "groups"),
    [
        ("RLRRL", (2, 3)),
        ("RRLRL", (3, 2)),
        ("RLRRLRL", (2, 3, 2)),
        ("RRLLRRL", (2, 2, 3)),
        ("RLRR LRL", (2, 2, 3)),
        ("LRLLR", (2, 3)),
        ("RLLLLRL", (2, 2, 3)),
    ],
)
def test_the_lead_or_the_doubles_say_where_groups_start(hands, groups):
    """Where the lead starts again, else where doubles start, else our own twos and a three."""
    assert ostinato(hands, "x..").metre.groups == groups


@pytest.mark.parametrize("metre", ["4/4", "2/4", "12/8", None])
@pytest.mark.parametrize("ready", ["ride", "shuffle", "hi-hat on 2 and 4", "bossa", "samba"])
@pytest.mark.parametrize("row", ["x..x.", "4 3 4 3", "RLRRL"])
def test_ready_patterns_are_titled_by_name(metre, ready, row):
    """A title and its sentence name each ready pattern, and a row as it was typed; never finer ticks."""
    for feet, hands in ((ready, row), (row, ready)):
        try:
            made = ostinato(feet, hands, metre=metre)
        except ValueError:  # written on other beats than the bar has
            continue
        title = name_of(made)
        assert ready in title.replace("Hi-hat", "hi-hat").lower()
        found = {int(n) for n in re.findall("[0-9]+", f"{made.named.replace(ready, '')}")}
        assert found <= {14, 4, 3, 2} if row == "4 3 4 3" else found <= {5, 2, 4}
        assert "thirty-second" not in f"{title} {str(made).split(':')[0]}"

"""A sentence of one's own: one syllable a sound, stresses told and never refused, the same on every face."""

import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.core.composite import composite
from rhythmlab.draw.scene import Text
from rhythmlab.draw.svg import svg
from rhythmlab.export.handout import handout
from rhythmlab.notation.score import score
from rhythmlab.playing.sentence import said_in_a_line, sentence
from rhythmlab.refusal import Refusal
from tests.strategies import TRIES, coprime_pairs

SEVEN_FOUR = "*down at the *har-bour the *gulls cry *loud-ly"


def typed(stressed: list[bool]) -> str:
    """Return a sentence of plain syllables with these stresses."""
    return " ".join(f"{'*' * one}la" for one in stressed)


@TRIES
@given(coprime_pairs, st.integers(0, 1), st.data())
def test_each_sound_has_one_syllable_in_order(p, home, data):
    """Whatever is stressed, as many syllables as sounds are laid on them, and none elsewhere."""
    sounds = composite(p).onsets.tolist()
    stressed = data.draw(st.lists(st.booleans(), min_size=len(sounds), max_size=len(sounds)))
    said = sentence(p, typed(stressed), home=home)
    assert [one.stressed for one in said.syllables] == stressed
    assert [tick for tick in range(p.ticks) if said.at(tick)] == sounds
    assert said == p.cycle(home)
    remarks = " ".join(said.remarks)
    right = all(stress for tick, stress in zip(sounds, stressed, strict=True) if tick % p.step(home) == 0)
    assert ("It fits: one syllable for each sound" in str(said)) == right
    if not any(stressed):
        assert remarks.startswith("No stress is marked")
        return
    assert ("together there must be a stress" in remarks) == (not stressed[0])
    rows = [[tick % p.step(i) == 0 for tick in sounds] for i in (0, 1)]
    on = [sum(a and b for a, b in zip(row, stressed, strict=True)) for row in rows]
    other = 1 - home
    assert said.better_home == (other if on[other] > on[home] < p.pulses[home] else None)
    if said.better_home is not None:
        assert f"make the {p.pulses[other]} home" in remarks


@TRIES
@given(coprime_pairs, st.integers(-5, 5).filter(bool))
def test_too_many_and_too_few_are_said_by_number_and_place(p, off):
    """The refusal names how many there are of how many, and the first that is missing or left over."""
    sounds = len(composite(p))
    many = max(1, sounds + off)
    if many == sounds:
        return
    with pytest.raises(Refusal) as refused:
        sentence(p, "la " * many)
    said = str(refused.value)
    assert f"for the {sounds} sound" in said
    first = min(many, sounds) + 1
    assert re.search(rf"no (syllable for sounds?|sound for syllables?) {first} \(", said)


def test_what_is_split_by_hand_wins():
    """A fit by hand is taken as it is; only words without hyphens are split, where that is needed."""
    assert sentence((3, 2), "*every *evening boats go").text == "EVERY EVENING boats go"
    assert sentence((3, 2), "*e-ve-ry *day").text == "E-ve-ry DAY"
    assert sentence((4, 3), "*har-bour *water *ris-ing").text == "HAR-bour WA-ter RIS-ing"
    assert sentence((3, 2), "a*way a*way").text == "a-WAY a-WAY"


def test_what_was_split_for_the_teacher_is_said():
    """The remarks name each word that was split, and each of several syllables that stands on one sound."""
    assert sentence((3, 2), "*hear the *har-bour").remarks == ()
    assert sentence((4, 3), "*har-bour *water *ris-ing").remarks == (
        "Split for you: wa-ter; a hyphen splits a word by hand.",
    )
    assert sentence((3, 2), "*water in *here").remarks[0].startswith("Split for you: wa-ter;")
    said = sentence((3, 2), "*every *evening boats go").remarks
    assert said[0] == (
        "“every” and “evening” stand on one sound each; to split one, put a hyphen between its syllables, "
        "as in eve-ning."
    )
    assert sentence((3, 2), "*every *tide comes in").remarks[0].endswith(", as in har-bour.")


@pytest.mark.parametrize(
    "text", ["*every *wave", "*fire and *lanterns", "*zorrible *sea", "*Über *sea *bells"]
)
def test_a_word_that_is_not_sure_is_asked_for_by_name(text):
    """It is never split by a guess: the refusal names the word and the hyphen."""
    with pytest.raises(Refusal) as refused:
        sentence((7, 4), text)
    assert text.split()[0].strip("*") in refused.value.wrong
    assert "hyphens" in refused.value.wrong


@pytest.mark.parametrize("word", ["every", "fire", "zorrible", "Über", "hour", "Kuchen"])
def test_a_word_that_is_not_sure_may_be_said_on_one_sound(word):
    """No guess at its hyphens is shown; whole, beside words that are split by hand, it is one syllable."""
    with pytest.raises(
        Refusal, match="has only one, leave it whole, and put hyphens into every other"
    ) as told:
        sentence((4, 3), f"*{word} on the harbour")
    assert "-" not in told.value.wrong
    assert len(sentence((4, 3), f"*{word} on the har-bour now").syllables) == 6


@given(
    st.sampled_from(["Stück", "für", "blé", "Tür", "más", "été", "Bäume", "café", "naïve"]), st.integers(1, 9)
)
@TRIES
def test_a_word_of_one_vowel_has_one_syllable_in_any_language(word, more):
    """It is counted as one beside any words, and another is asked for."""
    one = word in ("Stück", "für", "blé", "Tür", "más")
    if more == 5:
        assert len(sentence((4, 3), f"*{word}" + " la" * more).syllables) == 6
        return
    with pytest.raises(Refusal) as told:
        sentence((4, 3), f"*{word}" + " la" * more)
    counted = f"text has {more + 1} syllables for the 6 sounds" in told.value.wrong
    assert counted == (one or more > 5)
    assert one <= (f"“{word}”" not in told.value.wrong)


def test_a_refusal_shows_how_a_word_was_split_for_the_teacher():
    """Where the count is wrong the first word that was split is shown, with the hyphen that changes it."""
    with pytest.raises(Refusal, match="“lone-ly” was split for you, so split it by hand with hyphens"):
        sentence((3, 2), "*lonely *sea")


@given(st.text(max_size=60))
@TRIES
def test_no_text_breaks_it(text):
    """Any text is laid or refused in a sentence that says what to type."""
    try:
        many, said = len(sentence((3, 2), text).syllables), "for example playing.sentence("
    except Refusal as refused:
        many, said = 4, str(refused)
    assert many == 4
    assert "for example playing.sentence(" in said


def test_other_scripts_and_markup_are_text():
    """Other scripts are said as they are, markup is escaped, and signs that nobody can say are refused."""
    assert sentence((3, 2), "*潮 が *満 ちる").text == "ˈ潮 が ˈ満 ちる"
    assert sentence((3, 2), "*קול ה-*ים בא").text == "ˈקול ה-ˈים בא"
    assert sentence((3, 2), "*κα-λη-*μέ-ρα").text == "ΚΑ-λη-ΜΈ-ρα"
    drawn = svg(rl.pictures.strip(sentence((3, 2), "*<b>x</b> <script> *&amp; \"'y")))
    assert "<b>" not in drawn
    assert "<script" not in drawn.lower()
    ElementTree.fromstring(drawn)
    for strange in ("\N{RIGHT-TO-LEFT OVERRIDE}a b c d", "a\x00 b c d", "\ud800 b c d", "", "*", "- - - -"):
        with pytest.raises(Refusal):
            sentence((3, 2), strange)


@pytest.mark.parametrize("word", ["θάλασσα", "море", "海の音", "바다", "café-sé", "มหาสมุทร"])
def test_a_word_that_was_not_split_is_named_where_syllables_are_missing(word):
    """Where we cannot find syllables the refusal says which word wants hyphens; none is split by a guess."""
    with pytest.raises(Refusal) as refused:
        sentence((7, 4), f"*{word} so")
    assert ("put hyphens between the syllables of" in refused.value.wrong) == ("-" not in word)
    assert "-" in word or word in refused.value.wrong


@TRIES
@given(coprime_pairs, st.integers(0, 1), st.data())
def test_stresses_are_counted_as_they_are_said(p, home, data):
    """One stress falls, both fall, all five fall, and two of the three: never "1 of the 1 stresses fall"."""
    sounds = len(composite(p))
    stressed = data.draw(st.lists(st.booleans(), min_size=sounds, max_size=sounds))
    said = sentence(p, typed(stressed), home=home)
    for remark in (one for one in said.remarks if "stress fall" in one or "stresses fall" in one):
        many = sum(stressed)
        head = remark.partition(",")[0]
        if many < 3 or head.startswith("All"):
            start = {1: "The one stress falls", 2: "Both stresses fall"}.get(
                many, f"All {many} stresses fall"
            )
            start = [start, "1 of the 2 stresses fall"] if many == 2 else [start]
        else:
            start = [f"{some} of the {many} stresses fall" for some in range(1, many)]
        assert any(head == f"{one} on the {p.pulses[said.better_home]}" for one in start), remark
        assert ("(a stress where they are together counts for both)" in remark) == stressed[0]


def test_every_face_says_it():
    """Picture, its words, notes, their words and handout have every syllable, in order."""
    said = sentence((7, 4), SEVEN_FOUR)
    scene = rl.pictures.strip(said)
    marks = sorted(
        (m for m in scene.marks if isinstance(m, Text) and m.role in ("name", "plain")), key=lambda m: m.x
    )
    drawn = [m.text.lower() for m in marks if m.side == "" and not m.text.isdecimal()]
    assert drawn == [str(one).lower() for one in said.syllables]
    assert scene.alt.endswith(f"say: {said.text}.")
    notes = score(said, 72)
    assert notes.alt.endswith(f"Say: {said.text}.")
    lyrics = [row.text for row in ElementTree.fromstring(notes.musicxml).iter("text")]
    printed = {one.text.upper() if one.stressed else one.text for one in said.syllables}
    assert printed <= {row.removesuffix("-") for row in lyrics}
    paper = handout(said, 72)
    assert f"Say: {said.text}." in paper.text
    assert "Home is the 4" in paper.text


@pytest.mark.parametrize("width", [740, 1600])
def test_syllables_of_one_row_never_touch(width):
    """Long syllables close together stand a row lower each; none is dropped."""
    said = sentence((7, 6), " ".join(["*strengths"] * 12))
    scene = rl.pictures.strip(said, width=width)
    words = [m for m in scene.marks if isinstance(m, Text) and m.text == "STRENGTHS"]
    assert len(words) == 12
    px = (scene.width - 2 * scene.left) / 42
    for row in {m.y for m in words}:
        xs = sorted(m.x * px for m in words if m.y == row)
        assert all(b - a >= 9 * 11 for a, b in pairwise(xs))


#: Invented for these tests, in a village hall by the sea: pair, home, sentence.
BY_THE_SEA = (
    ((3, 2), 1, "*hear the *har-bour"),
    ((3, 2), 0, "*tide *rolls in *slow"),
    ((4, 3), 1, "*waves that *knock the *har-bour"),
    ((4, 3), 0, "*grey *gulls a-*bove the *bay"),
    ((5, 4), 1, "*ropes are *creak-ing *by the *har-bour"),
    ((5, 4), 0, "*fog-*horn and *bell and *oar and *tide"),
    ((7, 4), 1, "*boats will *come to the *quay when the *tide turns"),
    ((7, 4), 0, "*nets *dry on *warm *stones, the *wind *lifts the *foam"),
)


@pytest.mark.parametrize(("pair", "home", "text"), BY_THE_SEA)
def test_a_sentence_for_a_home_fits_it_and_offers_it_from_the_other(pair, home, text):
    """From its home nothing is missing; from the other that home is offered; capitals do what stars do."""
    said = sentence(pair, text, home=home)
    assert said.remarks == ()
    assert said.better_home is None
    other = sentence(pair, text, home=1 - home)
    assert other.better_home == home
    assert f"make the {pair[home]} home" in " ".join(other.remarks)
    again = sentence(pair, said.text, home=home)
    assert [one.stressed for one in again.syllables] == [one.stressed for one in said.syllables]
    assert str(again) == str(said)


@pytest.mark.parametrize(
    "text",
    [
        "*hear, the *har-bour",
        "*hear—the *har-bour",
        "*hear,the;*har-bour",
        "*hear/the *har-bour",
        "*hear the *har\N{SOFT HYPHEN}bour",
        "*hear the *har\N{NON-BREAKING HYPHEN}bour",
        "HEAR the HAR-bour",
        "*Hear\nthe\t*har-bour!",
    ],
)
def test_words_are_parted_by_more_than_spaces(text):
    """A dash, a comma or a slash ends a word; a soft hyphen splits one; capitals are stress without stars."""
    said = sentence((3, 2), text)
    assert [one.stressed for one in said.syllables] == [True, False, True, False]
    assert said.remarks == ()


def test_what_is_refused_is_shown_with_the_letters_that_were_typed():
    """With stars for stress, as it can be typed again: markup stays as it is."""
    for text in ("*<b>x</b> y", "*hear-*ing <i>it</i>", "*Bells by the Sea"):
        with pytest.raises(ValueError, match=re.escape(f"it was read as {text!r}")):
            sentence((16, 15), text)


def test_capitals_alone_are_no_stress():
    """All in capitals has none, nor has a capital that begins a sentence, and a star overrules them."""
    assert not any(one.stressed for one in sentence((3, 2), "HEAR THE HAR-BOUR").syllables)
    assert not any(one.stressed for one in sentence((3, 2), "I hear A bell").syllables)
    assert [one.stressed for one in sentence((3, 2), "*hear THE har-bour").syllables].count(True) == 1


@TRIES
@given(
    st.lists(
        st.tuples(st.sampled_from(["la", "LA", "La", "é", "ÉÉ", "潮", "I"]), st.booleans()),
        min_size=4,
        max_size=4,
    )
)
def test_what_is_shown_as_stressed_is_stressed_and_nothing_else(parts):
    """In the echo, in what is quoted and in the picture: no star that was typed, no capitals but those."""
    if not any(stress for _, stress in parts):
        return
    said = sentence((3, 2), " ".join(f"{'*' * stress}{one}" for one, stress in parts))
    for word, (one, stress) in zip(said.text.split(), parts, strict=True):
        loud = one.upper() if one != "潮" else "ˈ潮"
        quiet = one if len(one) == 1 or one == "La" else one.lower()
        assert word == (loud if stress else quiet)
    drawn = [m for m in rl.pictures.strip(said).marks if isinstance(m, Text) and m.role in ("name", "plain")]
    written = [m for m in drawn if m.side == "" and m.text.isalpha()]
    assert [m.role == "name" for m in sorted(written, key=lambda m: m.x)] == [stress for _, stress in parts]
    assert "*" not in str(said)
    echo = sentence((4, 3), "*PASS the BREAD and BUTter")
    assert str(echo).startswith("PASS the bread and but-ter. Split for you: but-ter;")


@pytest.mark.parametrize("text", ["rock'n'-roll *tide comes", "don’t *come late now", "3.5 *knots of wind"])
def test_marks_inside_a_word_do_not_part_it(text):
    """An apostrophe and a point between digits stay in their word."""
    assert len(sentence((3, 2), text).syllables) == 4


def test_capitals_inside_a_word_are_a_stress():
    """HARbour is split, and what is loud in it has the stress that is shown."""
    said = rl.playing.sentence((3, 2), "HEAR the HARbour")
    split = "Split for you: HAR-bour; a hyphen splits a word by hand."
    assert said.remarks == (split,)
    assert str(said).startswith(f"HEAR the HAR-bour. {split} It fits: ")
    assert [one.stressed for one in said.syllables] == [True, False, True, False]


@pytest.mark.parametrize("home", [0, 1])
@pytest.mark.parametrize(
    "pair", [(3, 2), (2, 3), (4, 3), (3, 4), (5, 4), (4, 5), (7, 4), (4, 7), (9, 8), (6, 4)]
)
def test_the_example_of_a_refusal_fits_the_pair_that_was_asked(pair, home):
    """A sentence of ours with all its stresses, where there is one; it can be typed as it stands."""
    for wrong in ("*one", "*one " * 60, "", "\x07", "a" * 2001):
        with pytest.raises(ValueError, match="for example playing") as told:
            sentence(pair, wrong, home=home)
        made = eval(told.value.example, {"playing": rl.playing})
        assert made.remarks == () or pair in ((9, 8), (6, 4))
        if pair not in ((9, 8), (6, 4)):
            assert (made.polyrhythm.pulses, made.home) == (pair, home)


def test_a_sentence_that_is_not_printed_leaves_a_row_to_write_on():
    """The page says so, prints no row of stars, and keeps its counts to say; an emoji is refused by name."""
    said = sentence((3, 2), "*海 浪 *拍 岸")
    paper, plain = handout(said, 80).text, handout((3, 2), 80).text
    assert "cannot print all letters of the sentence: write it on the row “say”" in paper
    assert "\nSay: " not in paper
    assert paper.partition("PRACTISE")[2] == plain.partition("PRACTISE")[2]
    with pytest.raises(Refusal, match="a sign that cannot be said, '🌊'"):
        sentence((3, 2), "*a🌊 b *c d")


def test_a_long_sentence_is_not_cut_in_the_steps():
    """A part that does not fit on a line of the handout is told by its ends, the whole of it as the whole."""
    words = "*strengths and *straight *scratched-throughs *schlepped-thoughts *squelched-months *twelfths"
    _, _, steps = handout(sentence((7, 4), words), 60).text.partition("PRACTISE")
    assert "whole line, hand to hand. The whole sentence." in steps
    long = sentence((7, 6), " ".join(["*straights"] * 12))
    assert said_in_a_line(long, 0, 21) == "from “STRAIGHTS” to “STRAIGHTS”"

"""Sounds on paper and over MIDI: against the published places, and General MIDI as pretty_midi has it."""

import pretty_midi
import pytest

import rhythmlab as rl
from rhythmlab.audio.voices import VOICES
from rhythmlab.playing.percussion import drum, drums
from tests.refusals import refusal, works

#: Weinberg 1994, as quoted in the facts of the project: place in treble reading, and head.
WEINBERG = {
    ("bass drum", ""): ("F4", "normal"),
    ("snare", ""): ("C5", "normal"),
    ("closed hi-hat", ""): ("G5", "x"),
    ("closed hi-hat", "left foot"): ("D4", "x"),
    ("ride", ""): ("F5", "x"),
    ("crash", ""): ("A5", "x"),
}
#: Names in the table of General MIDI percussion that pretty_midi carries.
NAMES = {
    ("high wood block", ""): "Hi Wood Block",
    ("low wood block", ""): "Low Wood Block",
    ("bell", ""): "Ride Bell",
    ("hand drum", ""): "Open Hi Conga",
    ("bass drum", ""): "Bass Drum 1",
    ("snare", ""): "Acoustic Snare",
    ("closed hi-hat", ""): "Closed Hi Hat",
    ("closed hi-hat", "left foot"): "Pedal Hi Hat",
    ("high tom", ""): "High Tom",
    ("floor tom", ""): "High Floor Tom",
    ("ride", ""): "Ride Cymbal 1",
    ("crash", ""): "Crash Cymbal 1",
    ("click", ""): "Side Stick",
    ("grid tick", ""): "Claves",
}


@pytest.mark.parametrize("which", WEINBERG)
def test_places_on_the_staff_are_the_published_ones(which):
    """Bass drum, snare, hi-hat by hand and foot and cymbals stand where Weinberg 1994 says."""
    found = drum(*which)
    assert (found.pitch, found.head) == WEINBERG[which]
    assert (found.staff_source, found.staff_status) == ("weinberg1994", "read")


@pytest.mark.parametrize(("sound", "pitch"), [("high tom", "E5"), ("floor tom", "A4")])
def test_the_toms_stand_where_those_of_three_do(sound, pitch):
    """Their places are known only from a text that quotes Weinberg 1994, and the table says so."""
    # E5 and A4 for the high and the floor tom of three: Weinberg 1994, 17-19, as quoted elsewhere.
    found = drum(sound)
    assert (found.pitch, found.head, found.staff_source) == (pitch, "normal", "weinberg1994")
    assert found.staff_status == "quoted elsewhere"


def test_crosses_are_for_cymbals_and_the_hi_hat_only():
    """Crosses are cymbals and hi-hat, drums are solid (Weinberg 1994): a click is no side stick."""
    assert {row.sound for row in drums() if row.head == "x"} == {"closed hi-hat", "ride", "crash"}
    drums_and_strokes = ("bass drum", "snare", "high tom", "hand drum", "click")
    assert {drum(sound).head for sound in drums_and_strokes} == {"normal"}


#: Percussion key map of General MIDI System Level 1, MIDI Manufacturers Association (MMA0007 / RP003).
KEY_MAP = {
    **{"Bass Drum 1": 36, "Side Stick": 37, "Acoustic Snare": 38, "Closed Hi Hat": 42, "High Floor Tom": 43},
    **{"Pedal Hi Hat": 44, "Crash Cymbal 1": 49, "High Tom": 50, "Ride Cymbal 1": 51, "Ride Bell": 53},
    **{"Open Hi Conga": 63, "Claves": 75, "Hi Wood Block": 76, "Low Wood Block": 77},
}


def test_every_drum_has_its_number_in_the_key_map():
    """Each drum that there is, and no other, by the published number itself."""
    known = {(row.sound, "left foot" if row.foot else ""): row.general_midi for row in drums()}
    assert known == {which: KEY_MAP[name] for which, name in NAMES.items()}


@pytest.mark.parametrize("which", NAMES)
def test_keys_are_those_of_general_midi(which):
    """Each key has the name in pretty_midi's table."""
    assert pretty_midi.note_number_to_drum_name(drum(*which).general_midi) == NAMES[which]


def test_every_voice_has_a_place_and_no_two_the_same():
    """What sounds can be written: every voice is in the table, with a place and a head of its own."""
    assert {row.sound for row in drums()} == set(VOICES)
    assert len({(row.pitch, row.head) for row in drums()}) == len(drums())
    assert len({row.general_midi for row in drums()}) == len(drums())


def test_another_sound_is_refused():
    """A sound that is not there is named, with those that are, and a lane with one of them."""
    example = refusal(lambda: drum("gong"), "sound='gong'", "snare")
    assert works(example) == rl.Lane("bell", [0, 2, 4], sound="snare")

"""MIDI files, read back by two readers that know nothing of this library: every stroke where it should be."""

import io
import re
from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from math import lcm, log10

import mido
import music21
import pretty_midi
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.export.handout import handout
from rhythmlab.export.midi import ACCENT, GHOST, PLAIN, Midi, midi
from rhythmlab.playing.percussion import drum, drums
from tests.refusals import refusal, works
from tests.strategies import TRIES, cycles, pairs, several
from tests.strategies import bpms as all_bpms

P, TEMPO = rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1)
#: Tempos that a MIDI file holds.
bpms = all_bpms.filter(lambda bpm: bpm > 4)
METRES = ("4/4", "3/4", "7/8", "2+2+3/8", "12/8", "2/2", "5/16")


@st.composite
def grooves(draw: st.DrawFn) -> tuple:
    """Draw bars with a metre, and ticks to the quarter that is written in them."""
    kind = draw(st.sampled_from(["accents", "ostinato", "fill", "bars"]))
    metre = draw(st.sampled_from(METRES))
    if kind == "accents":
        made = rl.playing.accents(metre, every=draw(st.integers(2, 9)), filled=draw(st.booleans()))
    elif kind == "ostinato":
        hands = "x" + draw(st.text("x.", max_size=6))
        made = rl.ostinato("x.x.", hands, metre=metre)
    elif kind == "fill":
        made = rl.playing.resolve(draw(st.sampled_from([(3, 2), (4, 3), (7, 4), (5, 4)])), "4/4")
    else:
        made = rl.metre(metre).cycle(draw(st.integers(1, 4)))
    return made, Fraction(made.metre.parts * made.metre.unit, 4)


def tracks(made: Midi) -> tuple[mido.MidiFile, list[list[tuple[int, mido.Message]]]]:
    """Return the file as mido reads it, each event with its absolute tick."""
    file = mido.MidiFile(file=io.BytesIO(made.data), charset="utf-8")
    read = []
    for track in file.tracks:
        now = 0
        read.append([(now := now + message.time, message) for message in track])
    return file, read


def notes(events: list[tuple[int, mido.Message]]) -> list[int]:
    """Return the ticks on which notes begin."""
    return [tick for tick, message in events if message.type == "note_on" and message.velocity]


def meta(made: Midi, kind: str) -> Iterator[tuple[int, mido.MetaMessage]]:
    """Yield events of the first track."""
    return ((tick, message) for tick, message in tracks(made)[1][0] if message.type == kind)


def check(made: Midi, cycle: rl.Cycle, quarter: Fraction, cycles: int, lead: int = 0) -> None:
    """Check the file against the strokes as exact fractions, with both readers."""
    file, read = tracks(made)
    assert (file.type, file.ticks_per_beat, len(read)) == (
        1,
        made.ticks_per_quarter,
        1 + bool(lead) + len(cycle.lanes),
    )
    (us,) = [message.tempo for events in read for _, message in events if message.type == "set_tempo"]
    assert made.bpm == Fraction(60 * 10**6, us)
    worst = Fraction(0)
    ends = {events[-1][0] for events in read}
    assert len(ends) == 1
    exact_end = (lead + cycles * cycle.ticks) / quarter * us
    assert abs(Fraction(ends.pop() * us, file.ticks_per_beat) - exact_end) <= Fraction(
        us, 2 * file.ticks_per_beat
    )
    assert all(events[-1][1].type == "end_of_track" for events in read)
    wanted = []
    for lane, events in zip(cycle.lanes, read[1 + bool(lead) :], strict=True):
        exact = [
            (lead + turn * cycle.ticks + tick) / quarter * us
            for turn in range(cycles)
            for tick in lane.onsets.tolist()
        ]
        found = [Fraction(tick * us, file.ticks_per_beat) for tick in notes(events)]
        assert len(found) == len(exact)
        worst = max([worst, *(abs(a - b) for a, b in zip(found, exact, strict=True))])
        assert all(message.channel == 9 for _, message in events if not message.is_meta)
        if exact:
            wanted.append((lane.name, exact))
    assert made.worst_us == float(worst)
    if exact_end * file.ticks_per_beat / us > 10**7:
        return  # more ticks than the second reader takes
    pretty = pretty_midi.PrettyMIDI(io.BytesIO(made.data))
    heard = [one for one in pretty.instruments if one.name != "count-in"]
    assert all(one.is_drum for one in heard)
    assert len(heard) == len(wanted)
    for one, (name, exact) in zip(heard, wanted, strict=True):
        assert one.name.split(", ")[0] == name
        starts = [note.start for note in one.notes]
        assert len(starts) == len(exact)
        for start, time in zip(starts, exact, strict=True):
            assert start * 1e6 == pytest.approx(float(time), rel=1e-12, abs=made.worst_us + 1e-3)


@TRIES
@given(pairs, st.integers(0, 1), bpms, st.integers(1, 3))
def test_pairs_are_read_back_from_either_home(p, home, bpm, cycles):
    """Two readers find every stroke as near its exact time as the file says: exactly, for numbers to 60."""
    made = midi(p, rl.Tempo(bpm, pulse=home), home=home, cycles=cycles)
    assert made.worst_us == 0
    check(made, p.cycle(home), Fraction(p.step(home)), cycles)


@TRIES
@given(several, bpms, st.data())
def test_three_and_four_pulses_are_read_back(p, bpm, data):
    """The ticks to a quarter are the fewest from 480 up that hold every lane."""
    home = data.draw(st.integers(0, len(p.pulses) - 1))
    made = midi(p, rl.Tempo(bpm, pulse=home), home=home)
    check(made, p.cycle(home), Fraction(p.step(home)), 1)
    parts = lcm(*(lcm(p.pulses[home], pulse) // p.pulses[home] for pulse in p.pulses))
    assert made.ticks_per_quarter == parts * -(-480 // parts)


@TRIES
@given(grooves(), st.integers(40, 240), st.integers(1, 2))
def test_grooves_are_read_back(groove, bpm, cycles):
    """Bars with a metre: its written quarter is that of the file, and the metre is written."""
    cycle, quarter = groove
    made = midi(cycle, cycle.metre.tempo(bpm), cycles=cycles)
    check(made, cycle, quarter, cycles)
    ((tick, signature),) = meta(made, "time_signature")
    assert (tick, signature.numerator, signature.denominator) == (0, cycle.metre.count, cycle.metre.unit)
    clicks = signature.clocks_per_click
    if cycle.metre.even:
        assert clicks == Fraction(96 * cycle.metre.groups[0], cycle.metre.unit)


@TRIES
@given(cycles(), st.integers(1, 3), st.integers(0, 5))
def test_any_cycle_is_read_back(cycle, turns, count_in):
    """Uneven lanes, empty ones, uneven beats, and none; with and without beats before."""
    tempo = rl.Tempo(300, ticks=2)
    made = midi(cycle, tempo, cycles=turns, count_in=count_in)
    beats = cycle.beats.tolist()
    lengths = {b - a for a, b in zip(beats, [*beats[1:], *(t + cycle.ticks for t in beats[:1])], strict=True)}
    quarter = Fraction(lengths.pop() if len(lengths) == 1 else 2)
    before = [t - turn * cycle.ticks for turn in range(count_in, 0, -1) for t in beats][-count_in:]
    lead = (-before[0] if beats else 2 * count_in) if count_in else 0
    check(made, cycle, quarter, turns, lead)


def test_a_grid_that_does_not_fit_is_rounded_once():
    """Each stroke of each cycle is on the nearest of 32 760 ticks to a quarter, and the worst is said."""
    p = rl.Polyrhythm(251, 257, 263)
    made = midi(p, TEMPO, home=2, cycles=3)
    assert made.ticks_per_quarter == 32_760
    check(made, p.cycle(2), Fraction(p.step(2)), 3)
    check(midi(p, TEMPO, home=2), p.cycle(2), Fraction(p.step(2)), 1)
    assert 5 < made.worst_us < 15
    assert f"the worst stroke is {made.worst_us:.1f} microseconds off" in made.text
    _, read = tracks(made)
    for lane, events in enumerate(read[1:]):
        exact = [
            Fraction((turn * p.ticks + tick) * 32_760, p.step(2))
            for turn in range(3)
            for tick in p.onsets(lane).tolist()
        ]
        assert notes(events) == [
            (2 * place.numerator + place.denominator) // (2 * place.denominator) for place in exact
        ]


@pytest.mark.parametrize("home", [0, 1])
def test_music21_reads_the_same_strokes(home):
    """As exact fractions of a quarter, where it is told to leave them as they are."""
    for p in (P, rl.Polyrhythm(16, 15), rl.Polyrhythm(5, 3)):
        made = midi(p, rl.Tempo(90, pulse=home), home=home)
        score = music21.converter.parseData(made.data, format="midi", quantizePost=False)
        parts = [part for part in score.parts if part.flatten().notes]
        assert len(parts) == 2
        for i, part in enumerate(parts):
            found = [Fraction(note.offset).limit_denominator(65_535) for note in part.flatten().notes]
            assert found == [Fraction(tick, p.step(home)) for tick in p.onsets(i).tolist()]
        mark = score.recurse().getElementsByClass(music21.tempo.MetronomeMark).first()
        assert mark.number == pytest.approx(90, abs=0.01)


@pytest.mark.parametrize(
    ("sound", "limb", "name"),
    [
        ("bass drum", "right foot", "Bass Drum 1"),
        ("snare", "left hand", "Acoustic Snare"),
        ("closed hi-hat", "right hand", "Closed Hi Hat"),
        ("closed hi-hat", "left foot", "Pedal Hi Hat"),
        ("high wood block", "", "Hi Wood Block"),
        ("low wood block", "", "Low Wood Block"),
        ("bell", "", "Ride Bell"),
        ("hand drum", "", "Open Hi Conga"),
        ("high tom", "hands", "High Tom"),
        ("crash", "right hand", "Crash Cymbal 1"),
        ("ride", "right hand", "Ride Cymbal 1"),
    ],
)
def test_keys_are_those_of_general_midi(sound, limb, name):
    """The names are those of pretty_midi's table of percussion."""
    cycle = rl.Cycle(4, [rl.Lane("one", [0], limb=limb, sound=sound)], beats=[0, 2])
    (instrument,) = pretty_midi.PrettyMIDI(io.BytesIO(midi(cycle, rl.Tempo(60, ticks=2)).data)).instruments
    assert pretty_midi.note_number_to_drum_name(instrument.notes[0].pitch) == name


def test_lanes_that_say_nothing_differ():
    """Like in the sound player: wood blocks, a bell, a hand drum."""
    _, read = tracks(midi(rl.Polyrhythm(3, 4, 5, 7), TEMPO))
    assert [events[1][1].note for events in read[1:]] == [76, 77, 53, 63]


def test_accents_and_ghosts_are_velocities():
    """A stroke that is both counts as an accent, in every cycle."""
    lane = rl.Lane("hand", [0, 2, 3, 5], accents=[0, 5], ghosts=[3, 5], sound="snare")
    _, read = tracks(midi(rl.Cycle(6, [lane], beats=[0, 3]), rl.Tempo(60, ticks=3), cycles=2))
    strokes = [message.velocity for _, message in read[1] if message.type == "note_on"]
    assert strokes == [ACCENT, PLAIN, GHOST, ACCENT] * 2


def test_velocities_are_as_far_apart_as_the_strokes_of_a_file():
    """Each is 8 dB or more above the next on a sampler: 40 log10 of the ratio (DLS Level 1, from memory)."""
    assert 127 >= ACCENT > PLAIN > GHOST > 20
    for harder, softer in ((ACCENT, PLAIN), (PLAIN, GHOST)):
        assert 40 * log10(harder / softer) >= 8


def test_the_strokes_of_a_fill_have_the_velocity_of_their_power():
    """As far below a plain stroke on a sampler as they are in a sound file; all else as it is."""
    made = rl.playing.resolve((16, 4), "4/4", bars=2)
    _, read = tracks(midi(made, made.metre.tempo(90)))
    *others, fill = ({m.velocity for _, m in events if m.type == "note_on"} for events in read[1:])
    assert 40 * log10(fill.pop() / PLAIN) == pytest.approx(10 * log10(made.powers[-1]), abs=0.2)
    assert not fill
    assert set().union(*others) == {PLAIN, ACCENT}


def test_tracks_have_names_that_a_player_understands():
    """The pulse, the drum, the limb, each once; the file is named by what plays in it, never by ticks."""

    def names(made) -> list[str]:
        messages = [message for events in tracks(made)[1] for _, message in events]
        return [message.name for message in messages if message.type == "track_name"]

    assert names(midi(P, TEMPO)) == ["7 against 4", "7, high wood block", "4, low wood block"]
    assert names(midi(P.cycle(), TEMPO))[0] == "7 against 4"
    fill = rl.playing.resolve((7, 4), "4/4", bars=4, crash=True)
    assert names(midi(fill, fill.metre.tempo(96), count_in=4)) == [
        "7 against 4 as a fill in 4 bars of 4/4",
        "count-in",
        "feet, bass drum, right foot",
        "time, closed hi-hat, right hand",
        "snare, left hand",
        "crash, right hand",
        "fill, high tom, hands",
    ]
    empty = rl.Cycle(448, [rl.Lane("", [0, 7]), rl.Lane("rest", [])], beats=[0])
    assert names(midi(empty, rl.Tempo(600, ticks=7)))[:2] == ["A rhythm", "high wood block"]
    fives, own = rl.playing.accents("7/8", 5), rl.Cycle(9, [], beats=[0])
    for what, tempo in ((fives, fives.metre.tempo(180)), (rl.pattern("son clave"), 90), (own, 60)):
        assert not re.search(r"\bticks?\b|\d{3}", " ".join(names(midi(what, tempo))))


#: A cycle of every kind that there is, its tempo, and what its tracks are called.
KINDS = {
    "pair": (lambda: (16, 15), 72, ["16 against 15", "16, high wood block", "15, low wood block"]),
    "phrase": (lambda: rl.phrases(14)[0].cycle(sound="snare"), 96, ["14 as 4 3 4 3", "phrase, snare"]),
    "sticking": (
        lambda: rl.stick((4, 3, 4, 3), ms=250).cycle(sound="snare"),
        96,
        ["14 as 4 3 4 3", "sticking, snare"],
    ),
    "groove": (
        lambda: rl.ostinato("x...", "4 3 4 3", metre="4/4"),
        96,
        ["Feet every 4 against hands of 14 in 4/4", "right foot, bass drum", "hands, bell"],
    ),
    "fill": (
        lambda: rl.playing.resolve((5, 4)),
        96,
        [
            *("5 against 4 as a fill in 4 bars of 4/4", "feet, bass drum, right foot"),
            *("time, closed hi-hat, right hand", "snare, left hand", "tom, high tom, right hand"),
            "fill, high tom, hands",
        ],
    ),
    "accents": (
        lambda: rl.playing.accents("2+2+3/8", 5),
        180,
        ["An accent every 5 eighths in 7/8 as 2+2+3", "beats, bass drum, right foot", "stream, snare, hands"],
    ),
    "sentence": (
        lambda: rl.playing.sentence((3, 2), "*hear the *har-bour"),
        72,
        ["3 against 2: HEAR the HAR-bour", "3, high wood block", "2, low wood block"],
    ),
}


@pytest.mark.parametrize(
    ("typed", "named"),
    [
        ("RLRR LRLL", "Sticking RLRR LRLL"),
        ("R.LL R.R.", "Sticking R.LL R.R."),
        ("4 3 4 3", "14 as 4 3 4 3"),
        ("x..x..x.", "Pattern x..x..x."),
        ("x" * 90, "Pattern of 90 strokes"),
        ("son clave", "Son clave"),
    ],
)
def test_a_pattern_is_titled_as_it_is_typed(typed, named):
    """A sticking by its letters and rests, a phrase by its groups, a ready pattern by its name."""
    what = rl.pattern(typed)
    made, tempo = midi(what, rl.Tempo(120, ticks=4)), rl.Tempo(120, ticks=4)
    assert mido.MidiFile(file=io.BytesIO(made.data)).tracks[0].name == named
    if len(what.lanes[0].onsets) < 20:
        assert handout(what, tempo).title == named


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_cycle_has_tracks_that_a_player_understands(kind):
    """What plays, on which drum, with which limb; each track is the only one of its name."""
    make, tempo, named = KINDS[kind]
    what = make()
    at = tempo if isinstance(what, tuple) or len(set(what.beats[1:] - what.beats[:-1])) == 1 else None
    made = midi(what, rl.Tempo(tempo, ticks=2) if at is None else at)
    said = [
        message.name for events in tracks(made)[1] for _, message in events if message.type == "track_name"
    ]
    assert said == named
    assert len(set(said[1:])) == len(said) - 1


@pytest.mark.parametrize(("sound", "limb"), [(row.sound, "left foot" if row.foot else "") for row in drums()])
def test_paper_file_and_ear_have_the_same_drum(sound, limb):
    """MIDI file and score have one key, and what sounds is the drum that both are named by."""
    lanes = [rl.Lane("one", [0, 3], limb=limb, sound=sound), rl.Lane("two", [1], "right hand", "ride")]
    cycle, tempo = rl.Cycle(4, lanes, beats=[0, 2]), rl.Tempo(60, ticks=2)
    heard = "high wood block" if sound == "click" else sound  # a lane that names no drum
    key = drum(heard, limb).general_midi
    assert [message.note for _, message in tracks(midi(cycle, tempo))[1][1] if message.type == "note_on"] == (
        [key] * 2
    )
    written = re.findall(r"<midi-unpitched>(\d+)</midi-unpitched>", rl.score(cycle, tempo).musicxml)
    assert int(written[0]) == key + 1  # MusicXML counts the keys from 1
    assert f"one on {heard}" in rl.sound(cycle, tempo).text


def test_notes_end_before_the_next_begins():
    """And none reaches beyond the end."""
    for p in (P, rl.Polyrhythm(60, 1), rl.Polyrhythm(251, 257, 263)):
        _, read = tracks(midi(p, rl.Tempo(72, pulse=1), cycles=2))
        for events in read[1:]:
            kinds = [(tick, message.type) for tick, message in events if not message.is_meta]
            assert [kind for _, kind in kinds] == ["note_on", "note_off"] * (len(kinds) // 2)
            ticks = [tick for tick, _ in kinds]
            assert all(a < b for a, b in pairwise(ticks))


def test_markers_stand_where_all_lanes_meet():
    """6 against 4 meets twice a cycle; three lanes only where all three do; one lane never."""
    made = midi(rl.Polyrhythm(6, 4), TEMPO, cycles=2)
    found = [(tick, message.text) for tick, message in meta(made, "marker")]
    bar = 4 * made.ticks_per_quarter
    assert found == [
        (0, "cycle 1: all together"),
        (bar // 2, "all together"),
        (bar, "cycle 2: all together"),
        (bar * 3 // 2, "all together"),
    ]
    assert [m.text for _, m in meta(midi(rl.Polyrhythm(6, 4, 3), TEMPO), "marker")] == [
        "cycle 1: all together"
    ]
    assert [m.text for _, m in meta(midi(rl.metre("4/4").cycle(), rl.Tempo(90, ticks=4)), "marker")] == [
        "cycle 1"
    ]


@TRIES
@given(
    st.sampled_from([32_771, 40_009, 65_537, 99_991]),
    st.sets(st.integers(1, 999), max_size=6),
    st.sets(st.integers(1, 999), max_size=3),
    st.integers(1, 4),
    st.integers(1, 3),
)
def test_a_marker_stands_on_the_strokes_that_it_names(ticks, shared, own, cycles, beats):
    """Where no resolution is exact: a marker is rounded as its strokes are, so it stands on all of them."""
    places = [0, *(place * ticks // 1000 for place in sorted(shared))]
    more = sorted({*places, *(place * ticks // 1000 for place in own)})
    lanes = [rl.Lane("all", more), rl.Lane("shared", places)]
    cycle = rl.Cycle(ticks, lanes, beats=[k * ticks // beats for k in range(beats)])
    made = midi(cycle, rl.Tempo(20, ticks=ticks), cycles=cycles)
    _, read = tracks(made)
    exact = [Fraction(turn * ticks + place, ticks) for turn in range(cycles) for place in places]
    rounded = [int(quarters * made.ticks_per_quarter + Fraction(1, 2)) for quarters in exact]
    found = [tick for tick, _ in meta(made, "marker")]
    assert found == rounded
    for events in read[1:]:
        assert set(found) <= set(notes(events))


def signatures(made: Midi) -> list[tuple[Fraction, int, int]]:
    """Return quarter, count and unit of each time signature."""
    return [
        (Fraction(tick, made.ticks_per_quarter), message.numerator, message.denominator)
        for tick, message in meta(made, "time_signature")
    ]


def test_time_signatures():
    """A cycle is a bar of home; bars have their own; what the format cannot write is left out."""
    assert signatures(midi(P, TEMPO)) == [(0, 4, 4)]
    assert signatures(midi(P, TEMPO, home=0, cycles=2)) == [(0, 7, 4)]
    assert signatures(midi(rl.Polyrhythm(2, 255), TEMPO)) == [(0, 255, 4)]
    assert signatures(midi(rl.Polyrhythm(2, 256), TEMPO)) == []
    grouped = rl.Cycle(7, [rl.Lane("a", [0])], beats=[0, 2, 4])
    assert signatures(midi(grouped, rl.Tempo(90, ticks=2))) == [(0, 7, 8)]
    assert signatures(midi(grouped, rl.Tempo(90, ticks=3))) == []
    changing = rl.Cycle(14, [rl.Lane("a", [0])], beats=range(0, 14, 2), bars=[0, 8])
    assert signatures(midi(changing, rl.Tempo(90, ticks=2), cycles=2)) == [
        (0, 4, 4),
        (4, 3, 4),
        (7, 4, 4),
        (11, 3, 4),
    ]
    assert signatures(midi(rl.metre("2+2+3/8").cycle(), rl.Tempo(200, ticks=1), count_in=True)) == [(0, 7, 8)]
    assert signatures(midi(rl.Polyrhythm(16, 15), TEMPO, count_in=True)) == [(0, 4, 4), (4, 15, 4)]


def test_the_count_in_has_a_track_of_its_own():
    """Home beats on the side stick, the first louder, and everything else begins after them."""
    made = midi(P, TEMPO, count_in=True, cycles=2)
    check(made, P.cycle(), Fraction(7), 2, 28)
    _, read = tracks(made)
    assert read[1][0][1].name == "count-in"
    assert [(tick, m.note, m.velocity) for tick, m in read[1] if m.type == "note_on"] == [
        (483 * k, 37, PLAIN if k else ACCENT) for k in range(4)
    ]
    assert [tick for tick, _ in meta(made, "marker")] == [4 * 483, 8 * 483]
    assert "after a count-in of 4 beats" in made.text


def test_the_tempo_that_is_written_is_said():
    """Whole microseconds to a quarter; how far that is from the tempo asked for is exact."""
    made = midi(P, rl.Tempo(130, pulse=1))
    assert made.bpm == Fraction(60 * 10**6, 461_538)
    assert made.tempo_error == Fraction(60 * 10**6, 130) / 461_538 - 1
    assert made.text.endswith("hold every stroke exactly."), (
        "too little to be heard, so nothing is said of it"
    )
    assert midi(P, rl.Tempo(120, pulse=1)).tempo_error == 0
    assert midi(P, rl.Tempo(126, pulse=0)).bpm == midi(P, TEMPO).bpm


@TRIES
@given(st.fractions(4, 1000))
def test_a_tempo_is_said_where_it_is_another_by_a_hundredth(bpm):
    """Of a beat a minute, as a file holds it; at usual tempos nothing is said, in no words of computers."""
    made = midi((3, 2), rl.Tempo(bpm, pulse=1))
    off = abs(made.bpm - made.bpm / (1 + made.tempo_error))  # of quarters, whatever home is written as
    assert (" It plays at " in made.text) == (off >= Fraction(1, 100))
    assert "microsecond" not in made.text.split("exactly.")[1]
    assert made.bpm > 1000 or off < Fraction(1, 100)


@TRIES
@given(st.text(max_size=250))
def test_names_of_any_kind_are_carried(name):
    """Another reader finds them, unseen letters left out."""
    made = midi(rl.Cycle(2, [rl.Lane(name, [0])], beats=[0]), rl.Tempo(60, ticks=1))
    found, said = tracks(made)[1][1][0][1].name, name.strip()
    assert len(found) == min(len(found), 200) >= min(len(said), 200)
    assert all(a == b or (b == " " and not a.isprintable()) for a, b in zip(said, found, strict=False))
    assert len(said) > 180 or "high wood block" in found.lower()


def test_the_same_call_gives_the_same_bytes(tmp_path):
    """And they are written as they are, never over another file unasked."""
    made = midi(P, TEMPO)
    assert made.data == midi(P, TEMPO).data
    path = made.write(tmp_path / "7-4.mid")
    assert path.read_bytes() == made.data
    refusal(lambda: made.write(path), "7-4.mid", "is not replaced", FileExistsError)
    refusal(lambda: made.write("7-4.wav"), "7-4.wav", "does not end in .mid or .midi")


def test_the_slowest_tempo_is_refused_with_its_number():
    """Three bytes of microseconds to a quarter reach down to 3.576 a minute."""
    slowest = Fraction(60 * 10**6, 2**24 - 1)
    assert midi(P, rl.Tempo(slowest, pulse=1)).bpm == slowest
    example = refusal(
        lambda: midi(P, rl.Tempo(Fraction(35, 10), pulse=1)), "3.5 quarters a minute", "fewer than the 3.58"
    )
    assert works(example, midi=midi).data
    refusal(lambda: midi(P, rl.Tempo(10**9, pulse=1)), "home, the 4", "more than 1,000 beats a minute")


@pytest.mark.parametrize(
    ("call", "given_as", "wrong", "error"),
    [
        (lambda: midi("7:4", TEMPO), "what='7:4'", "is no rhythm: ", ValueError),
        (lambda: midi(P, "72"), "tempo='72'", "is neither a Tempo nor beats a minute of home", ValueError),
        (lambda: midi(P.cycle(), TEMPO, home=0), "home=0", "own beats", ValueError),
        (lambda: midi(P, TEMPO, home=2), "home=2", "out of range", IndexError),
        (lambda: midi(P, TEMPO, cycles=0), "cycles=0", "not a whole number", ValueError),
        (lambda: midi(P, TEMPO, count_in=65), "count_in=65", "more than 64", ValueError),
        (lambda: midi(P, TEMPO, count_in="yes"), "count_in='yes'", "not a whole number", ValueError),
        (lambda: midi(P, TEMPO, cycles=10**5), "1,100,000", "more than 1,000,000", ValueError),
        (
            lambda: midi(rl.Polyrhythm(1, 1009), rl.Tempo(60, pulse=1), home=1, cycles=900),
            "cycles=900",
            "more than the 268,435,455",
            ValueError,
        ),
        (
            lambda: midi(rl.Polyrhythm(99_991, 1), rl.Tempo(60, pulse=1)),
            "lane '99991'",
            "nearer than two",
            ValueError,
        ),
    ],
)
def test_what_does_not_fit_is_refused(call, given_as, wrong, error):
    """The message shows a call that works."""
    example = refusal(call, given_as, wrong, error)
    if example.startswith("midi"):
        assert works(example, midi=midi).data


def test_ticks_beyond_64_bits_are_still_exact():
    """A cycle of nearly 2**62 ticks with two strokes."""
    half = 2**60
    cycle = rl.Cycle(2 * half, [rl.Lane("a", [0, half - 1])], beats=[0, half])
    made = midi(cycle, rl.Tempo(60, ticks=half), cycles=3)
    assert made.ticks_per_quarter == 32_760
    check(made, cycle, Fraction(half), 3)

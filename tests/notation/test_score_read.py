"""Every score read back by music21, validated by the schema of MusicXML 4.0, and engraved by verovio.

Outside: music21 (strokes and bars), the XSD of the W3C Music Notation Community Group as the package
``musicxml`` ships it (validated with lxml), verovio.
"""

import importlib.resources
import warnings
from fractions import Fraction
from functools import cache, partial
from itertools import product
from math import gcd, lcm
from xml.etree import ElementTree

import music21
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

import rhythmlab as rl
from rhythmlab.notation.layout import MOST_BARS, bars_of
from rhythmlab.notation.score import score
from tests.profile import some, tries
from tests.strategies import cycles

#: 300 scores and more in all, in under a minute.
READ = settings(max_examples=tries(70), deadline=None)
#: What the schema takes from two others that are not shipped: attributes of XLink and of XML itself.
_BESIDE = {
    "xlink": ("http://www.w3.org/1999/xlink", ("href", "type", "role", "title", "show", "actuate")),
    "xml": ("http://www.w3.org/XML/1998/namespace", ("lang", "space")),
}


@pytest.fixture(scope="module")
def schema(tmp_path_factory):
    """Return the schema, with what it imports beside it."""
    folder = tmp_path_factory.mktemp("xsd")
    shipped = importlib.resources.files("musicxml") / "generate_classes"
    for name, (space, attributes) in _BESIDE.items():
        rows = "".join(f'<xs:attribute name="{row}" type="xs:string"/>' for row in attributes)
        head = f'<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" targetNamespace="{space}">'
        (folder / f"{name}.xsd").write_text(f"{head}{rows}</xs:schema>")
    text = (shipped / "musicxml_4_0.xsd").read_text().replace("http://www.musicxml.org/xsd/", "")
    (folder / "musicxml.xsd").write_text(text)
    return etree.XMLSchema(etree.parse(str(folder / "musicxml.xsd")))


@cache
def heads(text: str) -> dict[tuple, frozenset[int]]:
    """Return the lanes of each place, head and size in each part, as the instruments in the text say.

    Several lanes of one drum share its place; they look alike, and are read together.
    """
    found: dict[tuple, frozenset[int]] = {}
    for number, part in enumerate(ElementTree.fromstring(text).iter("part")):
        for note in part.iter("note"):
            who = note.find("instrument")
            if who is not None:
                place = note.find("unpitched")
                pitch = place.findtext("display-step") + place.findtext("display-octave")
                key = (number, pitch, note.findtext("notehead"), note.find("type").get("size", "full"))
                lane = int(who.get("id").split("-I")[1]) - 1
                found[key] = found.get(key, frozenset()) | {lane}
    return found


def by_music21(text: str) -> music21.stream.Score:
    """Return what music21 reads; its table of percussion has no bell of a ride cymbal (key 53)."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="53 does not map to a valid instrument")
        return music21.converter.parseData(text, format="musicxml")


def read(text: str) -> tuple[dict[frozenset[int], list[Fraction]], list[Fraction]]:
    """Return the strokes of lanes that look alike, in quarters, and the lengths of bars, as music21 reads."""
    lanes: dict[frozenset[int], list[Fraction]] = {}
    lengths: list[Fraction] = []
    known = heads(text)
    parsed = by_music21(text)
    for number, part in enumerate(parsed.parts):
        lengths = []
        for bar in part.getElementsByClass("Measure"):
            assert bar.duration.quarterLength == bar.barDuration.quarterLength
            for voice in bar.voices or [bar]:
                filled = sum(Fraction(e.duration.quarterLength) for e in voice.notesAndRests)
                assert filled == bar.barDuration.quarterLength
            lengths.append(Fraction(bar.duration.quarterLength))
            for element in bar.recurse().notes:
                at = Fraction(bar.offset) + Fraction(element.getOffsetInHierarchy(bar))
                for note in getattr(element, "notes", [element]):
                    if note.tie is None or note.tie.type == "start":
                        pitch = f"{note.displayStep}{note.displayOctave}"
                        size = note.style.noteSize or "full"
                        lane = known[number, pitch, note.notehead, size]
                        lanes.setdefault(lane, []).append(at)
    return {lane: sorted(row) for lane, row in lanes.items()}, lengths


def agrees(made, lanes: list, ticks: int, low: int = 0) -> None:
    """Check the strokes lane by lane: onsets in ticks, as shares of what is written, exactly.

    Lanes of one drum that never play at once are read as one, and no other lanes are.
    """
    found, lengths = read(made.musicxml)
    quarter = Fraction(sum(lengths), ticks)
    groups = [group for group in found if len(group) > 1]
    groups += [frozenset({i}) for i in range(len(lanes)) if not any(i in group for group in groups)]
    for group in groups:
        onsets = sorted(int(tick) for i in group for tick in lanes[i])
        assert len(set(onsets)) == len(onsets)
        assert found.get(group, []) == [(tick - low) * quarter for tick in onsets]


@st.composite
def written_pulses(draw):
    """Draw pulses that can be written, with home and layout."""
    numbers = draw(st.lists(st.integers(1, 17), min_size=2, max_size=3))
    p = rl.Polyrhythm(*numbers)
    home = draw(st.integers(0, len(numbers) - 1))
    return p, home, draw(st.sampled_from(["auto", "bar", "bars"]))


@READ
@given(written_pulses())
def test_music21_reads_the_strokes_of_pulses(schema, drawn):
    """Two or three pulses, any home, any layout: the same strokes, lane by lane; and the schema holds."""
    p, home, layout = drawn
    made = score(p, home=home, layout=layout)
    agrees(made, [p.onsets(i) for i in range(len(p.pulses))], p.ticks)
    schema.assertValid(etree.fromstring(made.musicxml.encode()))


def lasts(made) -> float:
    """Return how long the notes last by their metronome mark, in seconds, as music21 reads both."""
    parsed = by_music21(made.musicxml)
    (mark,) = parsed.recurse().getElementsByClass(music21.tempo.MetronomeMark)
    return mark.secondsPerQuarter() * parsed.parts[0].duration.quarterLength


@READ
@given(written_pulses(), st.fractions(20, 300, max_denominator=7))
def test_music21_plays_pulses_at_their_tempo(schema, drawn, bpm):
    """The metronome mark that it reads makes the cycle as long as it is, whichever note is the beat."""
    p, home, layout = drawn
    made = score(p, bpm, home=home, layout=layout)
    assert lasts(made) == pytest.approx(float(60 * p.pulses[home] / bpm), rel=1e-6)
    schema.assertValid(etree.fromstring(made.musicxml.encode()))
    silent = by_music21(score(p, home=home, layout=layout).musicxml)
    assert not list(silent.recurse().getElementsByClass(music21.tempo.MetronomeMark))


@pytest.mark.parametrize(
    "what",
    [
        rl.playing.accents("2+2+3/8", every=3),
        rl.playing.accents("12/8", every=5),
        rl.playing.resolve((7, 4), metre="4/4", bars=4),
        rl.stick((2, 3, 2), 96).cycle(),
        rl.ostinato("x..x..x.", "x.x.xx"),
    ],
    ids=lambda what: type(what).__name__,
)
@pytest.mark.parametrize("bpm", [48, Fraction(200, 3)])
def test_music21_plays_bars_at_their_tempo(schema, what, bpm):
    """Grooves, fills and phrases too, where the tempo counts the note of their metre."""
    tempo = what.metre.tempo(bpm) if hasattr(what, "metre") else rl.Tempo(bpm, ticks=4)
    made = score(what, tempo)
    assert lasts(made) == pytest.approx(float(tempo.cycle_seconds(what)), rel=1e-6)
    schema.assertValid(etree.fromstring(made.musicxml.encode()))


@READ
@given(st.integers(2, 17), st.integers(-3, 3), st.booleans(), st.booleans())
def test_music21_reads_near_equal_pairs(schema, n, off, grid, first):
    """Bars of the home pulse, with the full grid or strokes only, hold the strokes of both pulses."""
    p = rl.Polyrhythm(max(1, n + off), n)
    made = score(p, home=0 if first else 1, layout="bars", grid=grid)
    agrees(made, [p.onsets(0), p.onsets(1)], p.ticks)
    schema.assertValid(etree.fromstring(made.musicxml.encode()))


@pytest.mark.parametrize("home", [0, 1])
def test_bars_of_a_pair_are_bars_that_somebody_reads(home):
    """2 to 16 and wide pairs: quarters, two to nine in a bar, as many figures in each; the same strokes.

    Only where one pulse drifts past the other, or a beat has seven parts or more, is each beat of home a bar,
    of seven sixteenths at least.
    """
    pairs = [(p, q) for p, q in product(range(2, 17), repeat=2) if p != q] + [(40, 3), (45, 30), (64, 5)]
    for pair in some(pairs, 20, home, [(10, 4), (12, 8), (11, 4), (13, 5), (12, 4)]):
        p, beats = rl.Polyrhythm(*pair), pair[home]
        made = score(p, home=home)
        _, lengths = read(made.musicxml)
        agrees(made, [p.onsets(0), p.onsets(1)], p.ticks)
        parts = lcm(*pair) // beats
        by_beat = len(lengths) == beats and set(lengths) == {Fraction(parts, 4)}
        many, most = bars_of(p, home)
        if by_beat and not all(length in (2, 3, 4) for length in lengths):
            assert parts >= 7, pair
            assert (many, most) == (beats, 1)
            continue
        assert all(length.denominator == 1 and 2 <= length <= 9 for length in lengths), (pair, lengths)
        figure = beats // gcd(*pair)
        if beats > 7 and 1 < figure <= 9 and figure < beats and not by_beat:
            assert all(length % figure == 0 for length in lengths), (pair, lengths)
        assert many == len(lengths)


@pytest.mark.parametrize("beats", [13, 17, 21, 25])
def test_a_window_has_the_bars_that_the_whole_has(beats):
    """Of 13 beats in 4, 4 and 5, wherever the window begins and ends."""
    p = rl.Polyrhythm(beats, 4) if beats % 2 else rl.Polyrhythm(beats, 5)
    whole = read(score(p, home=0).musicxml)[1]
    beat = p.ticks // beats
    for first in range(beats):
        for last in (first + 1, min(beats, first + 5), beats):
            found = read(score(p, home=0, start=first * beat, stop=last * beat).musicxml)[1]
            assert any(found == whole[i : i + len(found)] for i in range(len(whole))), (first, last, found)


METRES = ["4/4", "3/4", "6/8", "12/8", "2+2+3/8", "3+2/8", "5/4", "4+4+3/16", "9/8", "2/2"]


@st.composite
def grooves(draw):
    """Draw bars of a metre with hands and feet on any ticks, accents and ghosts among them."""
    bar = rl.metre(draw(st.sampled_from(METRES)), parts=draw(st.sampled_from([None, 1, 2, 3, 4, 5, 7])))
    bars = draw(st.integers(1, 3))
    ticks = st.sets(st.integers(0, bars * bar.ticks - 1), max_size=20).map(sorted)
    voices = [("right hand", "closed hi-hat"), ("left hand", "snare"), ("right foot", "bass drum")]
    voices += [("left foot", "closed hi-hat"), ("right hand", "bell")]
    lanes = []
    for limb, sound in draw(st.lists(st.sampled_from(voices), min_size=1, max_size=4, unique=True)):
        onsets = draw(ticks)
        half = len(onsets) // 2
        lanes.append(rl.Lane(sound, onsets, limb, sound, accents=onsets[:half], ghosts=onsets[half:]))
    return bar.cycle(bars, lanes)


@READ
@given(grooves())
def test_music21_reads_grooves(schema, cycle):
    """Hands and feet of any metre are read with the same strokes, lane by lane; and the schema holds."""
    made = score(cycle, 100)
    agrees(made, [lane.onsets for lane in cycle.lanes], cycle.ticks)
    schema.assertValid(etree.fromstring(made.musicxml.encode()))


@READ
@given(st.tuples(st.integers(4, 11), st.integers(2, 8)), st.sampled_from(["4/4", "3/4", "2+2+3/8", "6/8"]))
def test_music21_reads_fills(pair, metre):
    """A pair in the last bar, over feet that go on: the same strokes, whatever tuplet it takes."""
    cycle = rl.playing.resolve(pair, metre, bars=2)
    made = score(cycle, 100)
    agrees(made, [lane.onsets for lane in cycle.lanes], cycle.ticks)


@READ
@given(cycles())
def test_music21_reads_any_cycle(cycle):
    """Any lanes, any grouped beats: written on a drum staff or counted from even beats."""
    made = score(cycle)
    agrees(made, [lane.onsets for lane in cycle.lanes], cycle.ticks)


NAMED = {
    "4:3 from the 3": lambda: score(rl.Polyrhythm(4, 3), 90),
    "4:3 from the 4": lambda: score(rl.Polyrhythm(4, 3), 90, home=0),
    "7:4 from the 7": lambda: score(rl.Polyrhythm(7, 4), home=0),
    "3:4:5": lambda: score(rl.Polyrhythm(3, 4, 5), home=1),
    "16:15": lambda: score(rl.Polyrhythm(16, 15), 60),
    "16:15, grid": lambda: score(rl.Polyrhythm(16, 15), 60, grid=True),
    "16:11": lambda: score(rl.Polyrhythm(16, 11)),
    "16:15:14": lambda: score(rl.Polyrhythm(16, 15, 14), home=1),
    "fill": lambda: score(rl.playing.resolve((7, 4)), 120),
    "accents": lambda: score(rl.playing.accents("2+2+3/8", 5), 210),
    "clave": lambda: score(rl.ostinato("x...", "son clave", metre="4/4"), 100),
    "phrase": lambda: score(rl.phrases(61)[0].cycle(), 96),
    "hand to hand": lambda: score(rl.playing.hand_to_hand(rl.Polyrhythm(5, 3))),
    "title": lambda: score(rl.Polyrhythm(3, 2), title="<b>&amp; 拍子\x00\n" + "x" * 500),
}


@pytest.mark.parametrize("name", NAMED)
def test_verovio_engraves_without_a_warning(name, schema, capfd):
    """The engraver has nothing to say, and every page has staves on it; the schema holds."""
    import verovio

    made = NAMED[name]()
    schema.assertValid(etree.fromstring(made.musicxml.encode()))
    made.svg()  # the engraver is made quiet once, before its first page
    verovio.enableLog(verovio.LOG_WARNING)
    try:
        made = NAMED[name]()
        pages = [made.svg(page) for page in range(1, made.pages + 1)]
    finally:
        verovio.enableLog(verovio.LOG_OFF)
    assert capfd.readouterr() == ("", "")
    assert all('class="staff"' in page for page in pages)


def test_a_window_is_read_as_whole_bars():
    """A window of a long pair holds the bars that it touches, with their own numbers."""
    p = rl.Polyrhythm(60, 59)
    made = score(p, start=100, stop=300)
    low, high = 60, 300  # bars of 60 ticks
    found, lengths = read(made.musicxml)
    assert len(lengths) == 4
    for i in range(2):
        onsets = p.onsets(i, start=low, stop=high)
        assert found[frozenset({i})] == [Fraction(int(tick) - low, 4) for tick in onsets]
    assert '<measure number="2">' in made.musicxml
    assert "repeat" not in made.musicxml


def test_divisions_stay_in_the_limit_of_readers():
    """Lanes with tuplets of their own need no more than their own divisions."""
    text = score(rl.Polyrhythm(9, 8, 7, 5), home=1, layout="bar").musicxml
    found = [int(row.text) for row in ElementTree.fromstring(text).iter("divisions")]
    assert len(found) == 4
    assert max(found) <= lcm(9, 8)
    assert MOST_BARS >= 64  # 64:63 is written whole


#: Pairs from 2 to 12, each from both homes, as the score lays them out.
PAIRS = [(a, b, home) for a in range(2, 13) for b in range(2, 13) if a != b for home in (0, 1)]


@pytest.mark.parametrize("pair", some(PAIRS, 11, "pairs that are read back", always=((7, 4, 0), (12, 11, 1))))
def test_every_pair_is_read_back_as_the_same_strokes(pair):
    """The paper has the strokes of the rhythm, lane by lane, in each layout that there is."""
    p, home = rl.Polyrhythm(*pair[:2]), pair[2]
    for layout in ("auto", "bar", "bars"):
        agrees(score(p, 72, home=home, layout=layout), [p.onsets(0), p.onsets(1)], p.ticks)


CYCLES = {
    **{f"{n} as a phrase": partial(lambda n: rl.phrases(n)[0].cycle(), n) for n in range(5, 65)},
    **{
        f"accent every {every} in {bar}": partial(rl.playing.accents, bar, every)
        for every in range(2, 8)
        for bar in ("4/4", "3/4", "2+2+3/8", "6/8", "4+4+5/16")
    },
    **{
        f"{text} over four": partial(rl.ostinato, "x...", text)
        for text in ("4 3 4 3", "RLRR LRL", "son clave")
    },
}


@pytest.mark.parametrize(
    "name", some(CYCLES, 8, "cycles that are read back", always=("14 as a phrase", "4 3 4 3 over four"))
)
def test_phrases_and_grooves_are_read_back_as_the_same_strokes(name):
    """Bars of any grouping, streams and feet against hands: the same strokes, lane by lane."""
    cycle = CYCLES[name]()
    agrees(score(cycle, rl.Tempo(60, ticks=2)), [lane.onsets for lane in cycle.lanes], cycle.ticks)


def test_a_phrase_says_what_is_struck():
    """Its key is one that can be played, and a drum that was named stays named."""
    plain, snare = (rl.phrases(14)[0].cycle(sound=sound) for sound in ("click", "snare"))
    assert score(plain).key == "Key: phrase (any drum), on the middle line"
    assert score(snare).key == "Key: phrase (snare), in the third space"
    assert "click" not in score(plain).alt

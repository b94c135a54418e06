"""What is asked for has bounds that a person could want; what takes long, or much memory, says so first."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.audio import sound as sounds
from rhythmlab.core import bounds, long_work
from rhythmlab.draw.fit import MOST_STROKES, readable
from rhythmlab.draw.pictures import _beat_numbers
from tests.refusals import keywords, refusal, works
from tests.strategies import TRIES, cycles, pairs

P, T = rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1)


def lanes(count: int, name: str = "") -> rl.Cycle:
    """Return a cycle of so many lanes."""
    return rl.Cycle(8, [rl.Lane(f"{name}{i}", [0, 4]) for i in range(count)], beats=[0, 4])


def long(strokes: int, beats: int = 4) -> rl.Cycle:
    """Return a cycle with a stroke on every tick, and so many beats."""
    each = strokes // beats
    return rl.Cycle(strokes, [rl.Lane("a", np.arange(strokes))], beats=np.arange(beats) * each)


#: What shows or sounds a cycle.
SHOWN = {
    "strip": rl.pictures.strip,
    "grid": rl.pictures.shared_grid,
    "sound": lambda c: rl.sound(c, rl.Tempo(60, ticks=c.ticks)),
    "cue": lambda c: rl.cue(c, rl.Tempo(60, ticks=c.ticks)),
    "midi": lambda c: rl.midi(c, rl.Tempo(60, ticks=c.ticks)),
    "strokes": lambda c: rl.strokes(c, rl.Tempo(60, ticks=c.ticks)),
    "score": rl.score,
    "handout": lambda c: rl.handout(c, rl.Tempo(60, ticks=c.ticks)),
}


@pytest.mark.parametrize("shown", SHOWN.values(), ids=SHOWN)
def test_lanes_and_names_beyond_any_kit_are_refused(shown):
    """One lane more than 64, and one letter more than 1,000; what is refused is not said again."""
    for cycle, wrong in (
        (lanes(bounds.MOST_LANES + 1), "65 lanes, more than 64"),
        (lanes(1, "n" * bounds.LONGEST_NAME), "1,001 letters, more than 1,000"),
    ):
        example = refusal(lambda given=cycle: shown(given), wrong, "more than")
        assert works(example) is not None


@pytest.mark.parametrize(
    "shown", [SHOWN[name] for name in ("strip", "grid", "score", "handout", "midi", "strokes")]
)
def test_a_cycle_of_too_many_strokes_or_beats_is_refused(shown):
    """A million is looked through, and no more; beats count as strokes do."""
    few = rl.Cycle(2_000_000, [rl.Lane("a", [0])], beats=np.arange(1_000_001))
    for cycle in (long(1_000_001), few):
        assert (
            works(refusal(lambda given=cycle: shown(given), "1,000,001", "more than 1,000,000")) is not None
        )


@pytest.mark.parametrize("draw", [rl.pictures.strip, rl.pictures.shared_grid])
def test_a_picture_of_too_many_strokes_names_a_window_that_can_be_drawn(draw):
    """Strokes and beats in the window are counted, not those outside."""
    cycle = long(100_000)
    assert draw(cycle).strokes()
    window = keywords(
        refusal(lambda: draw(cycle, start=7, stop=6_000), "5,993 strokes", "more than the 5,000")
    )
    assert draw(cycle, **window).strokes()
    beats = rl.Cycle(100_000, [rl.Lane("a", [0, 9])], beats=np.arange(50_000))
    window = keywords(refusal(lambda: draw(beats, start=0, stop=9_000), "9,000 beats", "more than the 5,000"))
    assert draw(beats, **window).strokes()


@pytest.mark.parametrize("width", [0, -1, 399, 10_001, 1.5, True, 10**30, float("nan")])
def test_a_width_that_nothing_fits_in_is_refused(width):
    """From 400 px to 10,000."""
    assert works(refusal(lambda: rl.pictures.strip(P.cycle(), width=width), "width=", "")).width == 880


@pytest.mark.parametrize("width", [400, 10_000])
@pytest.mark.parametrize("name", ["a", "n" * 1000])
def test_the_narrowest_and_the_widest_picture_are_drawn(width, name):
    """Also with a long name in its gutter."""
    scene = rl.pictures.strip(rl.Cycle(12, [rl.Lane(name, range(12))], beats=[0, 3]), width=width)
    assert 0 < scene.x(0) < scene.x(12) < scene.width == width


@TRIES
@given(st.one_of(cycles(), pairs.map(lambda p: p.cycle())), st.data())
def test_the_window_that_can_be_read_is_the_one_that_all_strokes_together_give(cycle, data):
    """Whole beats with at most 65 strokes where there are more than 130; reckoned here stroke by stroke."""
    times = data.draw(st.integers(1, 40))
    ticks = cycle.ticks * times
    turns = [n * cycle.ticks for n in range(times)]
    long_one = rl.Cycle(
        ticks,
        [
            rl.Lane(lane.name, [turn + t for turn in turns for t in lane.onsets.tolist()])
            for lane in cycle.lanes
        ],
        beats=[turn + t for turn in turns for t in cycle.beats.tolist()],
    )
    start = data.draw(st.integers(0, ticks - 1))
    beats = long_one.beats.tolist()
    rows = [lane.onsets.tolist() for lane in long_one.lanes] or [beats]
    strokes = sorted(t for row in rows for t in row)
    first, last = start, ticks
    if len(strokes) > MOST_STROKES:
        first = max([b for b in beats if b <= start], default=start)
        ahead = [t for t in strokes if t >= first]
        if len(ahead) > MOST_STROKES // 2:
            most = max(first + 1, ahead[MOST_STROKES // 2])
            last = max([b for b in beats if first < b <= most], default=most)
    assert readable(long_one, start) == (first, last)


@TRIES
@given(st.sets(st.integers(0, 60)), st.sets(st.integers(0, 60)))
def test_beats_are_counted_from_one_in_every_bar(beats, bars):
    """Also before the first bar, and where a bar begins between beats."""
    wanted, number = [], 0
    for tick in sorted(beats):
        number = 1 if tick in bars else number + 1
        wanted.append(number)
    assert _beat_numbers(rl.Cycle(61, [], beats=sorted(beats), bars=sorted(bars))).tolist() == wanted


def test_a_rhythm_of_many_pulses_is_not_drawn_under_each():
    """Twelve are."""
    assert rl.pictures.homes(rl.Polyrhythm(*[2] * 12)).strokes()
    assert works(
        refusal(lambda: rl.pictures.homes(rl.Polyrhythm(*[2] * 13)), "13 pulses", "more than 12")
    ).strokes()


TIMED = {
    "sound": lambda tempo: rl.sound(P, tempo),
    "cue": lambda tempo: rl.cue(P, tempo),
    "midi": lambda tempo: rl.midi(P, tempo),
    "strokes": lambda tempo: rl.strokes(P, tempo),
    "score": lambda tempo: rl.score(P, tempo),
    "ways": lambda tempo: rl.pictures.ways(P, tempo),
    "gap cycle": lambda tempo: rl.pictures.gap_cycle(rl.playing.zones(rl.phase_gaps(P, 0, 1), tempo)),
}


@pytest.mark.parametrize("timed", TIMED.values(), ids=TIMED)
@pytest.mark.parametrize(
    ("bpm", "wrong"),
    [(Fraction(4, 7) * Fraction(999, 1000), "less than 1"), (Fraction(1001), "more than 1,000")],
)
def test_a_pulse_has_between_one_and_a_thousand_beats_a_minute(timed, bpm, wrong):
    """However the tempo is said: of home, of the other pulse, in ticks; at the two ends it is taken.

    The ends are a thousand of the slower pulse and one of the faster, so that no flip leads beyond them.
    """
    least = 4 if timed is TIMED["midi"] else Fraction(4, 7)  # a file of MIDI holds 3.58 quarters a minute
    for inside in (least, 4, 1000):
        assert timed(rl.Tempo(inside, pulse=1)) is not None
    for tempo in (rl.Tempo(bpm, pulse=1), rl.Tempo(bpm * Fraction(7, 4), pulse=0), rl.Tempo(bpm, ticks=7)):
        assert works(refusal(lambda given=tempo: timed(given), "home, the 4", wrong)) is not None


def test_a_cycle_is_timed_by_its_beats():
    """Of uneven beats the mean counts, and of a cycle without beats the beat of the tempo."""
    uneven = rl.Cycle(10, [rl.Lane("a", [0, 3])], beats=[0, 3, 4, 5])
    assert rl.sound(uneven, rl.Tempo(500, ticks=5), cycles=1).seconds == Fraction(24, 100)
    refusal(lambda: rl.sound(uneven, rl.Tempo(501, ticks=5)), "its beats", "more than 1,000")
    bare = rl.Cycle(10, [rl.Lane("a", [0, 3])], beats=[])
    assert rl.sound(bare, rl.Tempo(1000, ticks=1), cycles=1).seconds == Fraction(6, 10)
    refusal(lambda: rl.sound(bare, rl.Tempo(1001, ticks=1)), "its beats", "more than 1,000")


def test_ten_minutes_of_a_large_pair_are_held_and_said(capsys):
    """64:63 for ten minutes is more than 200 MB: it says so before, and half a minute says nothing."""
    p, tempo = rl.Polyrhythm(64, 63), rl.Tempo(126, pulse=1)
    assert len(rl.sound(p, tempo, cycles=1).samples()) >= 30 * 48_000
    assert capsys.readouterr().err == ""
    assert len(rl.sound(p, tempo, cycles=20).samples()) >= 600 * 48_000
    (said,) = capsys.readouterr().err.splitlines()
    assert said.startswith("600 seconds of sound: about 2")
    assert said.endswith("MB of memory; Interrupt stops it. A file needs no such memory.")


def test_a_large_sound_says_what_it_takes_before_it_is_made(capsys, monkeypatch):
    """Samples, blocks into a file and a player: said where it is much, once."""
    made = rl.sound(P, T, cycles=3)
    for work in (made.samples, made.player, made._repr_html_, lambda: made.write("a.wav").unlink()):
        work()
    assert capsys.readouterr().err == ""
    monkeypatch.setattr(long_work, "LARGE_MB", 1)
    monkeypatch.setattr(long_work, "LONG_S", 0)
    monkeypatch.setattr(sounds, "_FRAMES", 10_000)
    made.samples()
    said = capsys.readouterr().err
    assert said.startswith(
        "10 seconds of sound: about 0 seconds and 4 MB of memory; Interrupt stops it. A file"
    )
    assert said.count("10 seconds of sound") == 1


def test_an_interrupt_ends_a_long_sound_and_leaves_no_file(tmp_path, monkeypatch):
    """The file is gone, half-written as it was, and the sound can be made again."""
    made, mixed = rl.sound(P, T, cycles=3), []

    def mix(self, out, start):
        mixed.append(start)
        if len(mixed) == 3:
            raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(sounds, "_FRAMES", 50_000)
        patched.setattr(sounds.Sound, "_mix", mix)
        with pytest.raises(KeyboardInterrupt):
            made.write(tmp_path / "a.wav")
    assert not list(tmp_path.iterdir())
    assert made.write(tmp_path / "a.wav").stat().st_size > 1_000_000


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: rl.midi(P, T, cycles=40), "480 events of MIDI: about"),
        (lambda: rl.strokes(P, T), "A table of 11 strokes: about"),
        (lambda: rl.strokes(P, T).csv, "11 strokes as text: about"),
        (
            lambda: rl.classroom.answer_key("grid-and-composite", seats=range(1, 5)),
            "The answers of 4 seats: about",
        ),
        (
            lambda: rl.classroom.write_assignment("gap-cycles", "out", seats=range(1, 5)),
            "An assignment of 5 pages: about",
        ),
        (lambda: rl.classroom.handout_pack([(P, 72)], "out"), "A pack of 1 handout: about"),
    ],
)
def test_long_work_says_so_before_it_begins(call, said, capsys, monkeypatch, tmp_path):
    """Where it is long; and where it is not, nothing is said."""
    monkeypatch.chdir(tmp_path)
    call()
    assert capsys.readouterr().err == ""
    monkeypatch.chdir(tmp_path.parent)
    monkeypatch.setattr(long_work, "LONG_S", 0)
    call()
    assert said in capsys.readouterr().err


@pytest.mark.parametrize(
    ("call", "given_as", "wrong"),
    [
        (lambda: rl.sound(P, T).blocks(10**9), "size=1000000000", "more than 10,000,000"),
        (lambda: rl.sound(P, T, count_in=65), "count_in=65", "more than 64"),
        (lambda: rl.midi(P, T, cycles=10**9), "cycles=1000000000", "more than 100,000"),
        (
            lambda: rl.midi(rl.Cycle(4, [], beats=[]), rl.Tempo(60, ticks=4), cycles=10**6),
            "cycles=",
            "more than",
        ),
        (lambda: rl.score(P, title="x" * 100_001), "100,001 letters", "more than 100,000"),
        (lambda: rl.handout(P, 72, title="x" * 100_001), "100,001 letters", "more than 100,000"),
        (lambda: rl.classroom.handout_pack([(P, 72)] * 501, "pack"), "rhythms=", "more than 500"),
        (lambda: rl.classroom.handout_pack(iter(lambda: (P, 72), None), "pack"), "rhythms=", "more than 500"),
        (lambda: rl.pictures.ways(P, T, line_sounds=1001), "line_sounds=1001", "more than 1,000"),
        (lambda: rl.pictures.progress([], goal=10_001), "goal=10001", "more than 10,000"),
        (lambda: rl.pictures.progress([{}] * 100_001), "rows=", "more than 100,000"),
        (
            lambda: rl.classroom.answer_key("grid-and-composite", seats=range(1, 5_002)),
            "seats",
            "more than 5,000",
        ),
        (
            lambda: rl.classroom.answer_key("grid-and-composite", seats=100_001),
            "seat=100001",
            "more than 100,000",
        ),
        (lambda: rl.Mix(levels=[0.5] * 65), "levels=", "more than 64"),
    ],
)
def test_more_than_anyone_wants_is_refused(call, given_as, wrong, tmp_path, monkeypatch):
    """With the bound, and a call that works."""
    monkeypatch.chdir(tmp_path)
    example = refusal(call, given_as, wrong)
    assert (keywords(example) if "(" not in example.split("=")[0] else works(example)) is not None
    assert not [path for path in tmp_path.iterdir() if path.name == "pack"]


def test_a_score_of_a_long_cycle_without_a_metre_is_looked_through_once():
    """A window of 100,000 ticks is written in no time; one tick more, or one group of all, is not."""
    cycle = rl.Cycle(100_000, [rl.Lane("a", np.arange(100_000))], beats=np.arange(33_000) * 3, bars=[0, 7])
    assert "Drum staff" in rl.score(cycle, start=50_000, stop=50_100).alt
    for ticks in (100_001, 10**18):
        odd = rl.Cycle(ticks, [rl.Lane("a", [0, 1, 5])], beats=[0, 3])
        assert works(refusal(lambda given=odd: rl.score(given), f"{ticks:,} ticks", "more than the 100,000"))


def test_a_page_of_a_score_is_named_in_its_own_numbers():
    """From 1; the message says how many there are."""
    for page, wrong in (
        (0, "there is 1 page, numbered from 1"),
        (2, "there is 1 page"),
        (10**9, "numbered from 1"),
    ):
        assert works(refusal(lambda given=page: rl.score(P).svg(given), f"page={page}", wrong, IndexError))


@pytest.mark.parametrize("many", [1_001, 10**6])
def test_an_answer_of_more_parts_than_any_question_has_is_counted_and_not_read(many):
    """It is said how many there are."""
    judged = rl.pages.check("00-exercise", [1] * many)
    assert (judged.marks, judged.answered) == (0, True)
    assert f"You wrote {many:,}".replace(",", "\N{NO-BREAK SPACE}") in judged.text


@pytest.mark.parametrize("wrong", ["x" * 10**6, "xyz" * 10**6, "R" * 10**6, "word " * 10**6])
@pytest.mark.parametrize("id", ["01-exercise", "02-exercise", "03-exercise", "06-exercise"])
def test_a_long_answer_is_not_said_again(id, wrong):
    """A row, hands, a place, a number: whatever was typed is cut."""
    for judged in (
        rl.pages.check(id, wrong),
        rl.pages.check(id, [wrong, wrong]),
        rl.pages.question(id).judge_typed(wrong),
    ):
        assert len(judged.text) < 1_000


@pytest.mark.parametrize(
    "typed", ["[" * 10**5, "1+" * 10**5 + "1", "9" * 10**5, "-" * 10**5 + "1", 7, None, b"7"]
)
def test_whatever_is_typed_is_judged_at_once(typed):
    """No answer that is nested or chained is worked out, and none needs to be text."""
    assert not rl.pages.question("00-exercise").judge_typed(typed).right

"""The table of strokes: every stroke once, exact, and only text in its cells."""

import csv
import io
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given

import rhythmlab as rl
from rhythmlab.export.strokes import Strokes, microseconds, strokes
from tests.refusals import refusal, works
from tests.strategies import TRIES, bpms, cycles, several

TEMPO = rl.Tempo(72, pulse=1)


def read(table: Strokes) -> list[dict[str, str]]:
    """Return the rows as any reader of RFC 4180 finds them."""
    return list(csv.DictReader(io.StringIO(table.csv, newline="")))


@TRIES
@given(several, bpms)
def test_every_stroke_is_there_once(p, bpm):
    """By tick, with its lane, and its second within half a microsecond of the exact one."""
    tempo = rl.Tempo(bpm, pulse=len(p.pulses) - 1).in_pulse(p, 0)
    rows = read(strokes(p, tempo))
    wanted = sorted((tick, i) for i in range(len(p.pulses)) for tick in p.onsets(i).tolist())
    assert [(int(row["tick"]), row["lane"]) for row in rows] == [(t, str(p.pulses[i])) for t, i in wanted]
    for row in rows:
        exact = int(row["tick"]) * tempo.tick_seconds(p)
        assert abs(Fraction(Decimal(row["second"])) - exact) <= Fraction(1, 2 * 10**6)


@TRIES
@given(cycles())
def test_any_cycle_has_its_rows(cycle):
    """Empty lanes have none; without beats nothing is counted."""
    table = strokes(cycle, rl.Tempo(60, ticks=1))
    assert len(table) == sum(len(lane.onsets) for lane in cycle.lanes)
    assert all(bool(row.beat) == bool(len(cycle.beats)) for row in table.rows)
    assert all(row.second == row.tick for row in table.rows)


def test_strokes_are_counted_from_home():
    """7 against 4 from the 4 has beat and part, from the 7 syllables, as the pages count."""
    rows = [row for row in strokes(rl.Polyrhythm(7, 4), TEMPO).rows if row.lane == "7"]
    assert [row.beat for row in rows] == ["1", "1.5", "2.2", "2.6", "3.3", "3.7", "4.4"]
    assert rows[1].second == Fraction(10, 21)
    rows = [row for row in strokes(rl.Polyrhythm(7, 4), TEMPO, home=0).rows if row.lane == "4"]
    assert [row.beat for row in rows] == ["1", "a of 2", "& of 4", "e of 6"]


def test_bars_are_counted_each_from_one():
    """A fill says its bar; the first shown has the number that its cycle gives it; limbs are there."""
    table = strokes(
        rl.playing.accents("2+2+3/8", every=5, from_bar=3, bars=2, filled=False), rl.Tempo(210, ticks=1)
    )
    said = [(row.beat, row.limb) for row in table.rows if row.lane == "accent"]
    assert said == [(beat, "right hand") for beat in ("bar 3: & of 1", "bar 3: a of 3", "bar 4: 3")]
    assert {row.beat.split(":")[0] for row in table.rows} == {"bar 3", "bar 4"}
    late = rl.Cycle(8, [rl.Lane("a", [0, 3, 5])], beats=[2, 3, 4, 5], bars=[3, 5])
    beats = [row.beat for row in strokes(late, rl.Tempo(60, ticks=1)).rows]
    assert beats[1:] == ["bar 1: 1", "bar 2: 1"]


def test_the_table_follows_rfc_4180():
    """Lines end in CR LF; commas, quotes and line ends in a name are quoted."""
    lane = rl.Lane('a "big", odd\r\nname', [0], limb="right hand")
    text = strokes(rl.Cycle(2, [lane], beats=[0]), rl.Tempo(60, ticks=1)).csv
    assert text == 'tick,beat,second,lane,limb\r\n0,1,0.000000,"a ""big"", odd\r\nname",right hand\r\n'


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@x", "\tx", "\rx", " =1", "＝1", '=HYPERLINK("x")'])
def test_no_name_is_a_formula(name):
    """An apostrophe before it makes a spreadsheet take it for text (OWASP, "CSV Injection")."""
    table = strokes(rl.Cycle(2, [rl.Lane(name, [0], limb=name)], beats=[0]), rl.Tempo(60, ticks=1))
    (row,) = read(table)
    assert (row["lane"], row["limb"]) == (f"'{name}", f"'{name}")
    assert table.rows[0].lane == name


def test_other_names_stay():
    """Letters of any script, and signs inside."""
    table = strokes(rl.Cycle(2, [rl.Lane("拍 a=b", [0])], beats=[0]), rl.Tempo(60, ticks=1))
    assert read(table)[0]["lane"] == "拍 a=b"


def test_seconds_are_rounded_once():
    """Half to even, from the exact fraction, and no float on the way."""
    assert microseconds(Fraction(10**15) + Fraction(1, 3)) == "1000000000000000.333333"
    assert microseconds(Fraction(5, 2 * 10**6)) == "0.000002"
    assert microseconds(Fraction(1999999999, 10**9)) == "2.000000"


def test_the_table_is_written(tmp_path):
    """In UTF-8, never over another file unasked, and only as .csv."""
    table = strokes(rl.Cycle(2, [rl.Lane("拍\ud800", [0])], beats=[0]), rl.Tempo(60, ticks=1))
    path = table.write(tmp_path / "a.csv")
    assert path.read_bytes().decode() == table.csv.replace("\ud800", "?")
    refusal(lambda: table.write(path), "a.csv", "is not replaced", FileExistsError)
    assert table.write(path, replace=True) == path
    refusal(lambda: table.write(tmp_path / "a.txt"), "a.txt", "does not end in .csv")


@pytest.mark.parametrize(
    ("call", "given_as", "wrong", "error"),
    [
        (lambda: strokes("7:4", TEMPO), "what='7:4'", "is no rhythm: ", ValueError),
        (
            lambda: strokes(rl.Polyrhythm(7, 4), "72"),
            "tempo='72'",
            "is neither a Tempo nor beats a minute of home",
            ValueError,
        ),
        (lambda: strokes(rl.Polyrhythm(7, 4).cycle(), TEMPO, home=0), "home=0", "own beats", ValueError),
        (lambda: strokes(rl.Polyrhythm(10**6, 999_999), TEMPO), "1,999,999", "more than", ValueError),
        (lambda: strokes(rl.Polyrhythm(7, 4), TEMPO, home=2), "home=2", "out of range", IndexError),
    ],
)
def test_what_does_not_fit_is_refused(call, given_as, wrong, error):
    """The message shows a call that works."""
    example = refusal(call, given_as, wrong, error)
    if example.startswith("strokes"):
        assert len(works(example, strokes=strokes)) == 11

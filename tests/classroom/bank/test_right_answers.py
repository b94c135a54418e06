"""The right answers of the questions for a class, each worked out by another road for every seat."""

import random
from fractions import Fraction
from functools import cache
from itertools import accumulate, product
from math import floor

import pytest
from sympy import Rational, ilcm
from sympy.ntheory.modular import crt

import rhythmlab as rl
from rhythmlab.classroom.bank.catalogue import CLASS_IDS, find, question_for, version_for
from rhythmlab.classroom.bank.playing import (
    sticking_home,
    sticking_write,
    ways_choose,
    ways_count_ceiling,
    ways_ones_floor,
)
from rhythmlab.classroom.bank.rhythm import (
    composite_intervals,
    composite_sounds,
    gaps_flam_tempo,
    gaps_midway,
    gaps_signed,
    grid_ticks,
    place_parts,
    place_syllables,
    tempo_flip,
    tempo_modulation,
)
from rhythmlab.panels.handed import remember_hands
from tests import brute
from tests.classroom.bank.test_hearing_and_notation import heard, read_out
from tests.core.test_composite import A199408

SEATS = 200
SIGNS = ["", "e", "&", "a"]


def sounds(*pulses: int) -> list[Fraction]:
    """Shares of the cycle where any pulse sounds."""
    return sorted({Fraction(k, pulse) for pulse in pulses for k in range(pulse)})


def apart(*pulses: int) -> list[int]:
    """Ticks from each sound to the next, by shares of the cycle and sympy."""
    line, ticks = sounds(*pulses), int(ilcm(*pulses))
    return [int((b - a) * ticks) for a, b in zip(line, [*line[1:], Fraction(1)], strict=True)]


def boxes(pulse: int, ticks: int) -> str:
    """Return a row of boxes, an x where the tick is a stroke of the pulse."""
    return "".join("x" if tick * pulse % ticks == 0 else "." for tick in range(ticks))


def sixteenth(tick: int) -> str:
    """Say a sixteenth of a bar of quarters."""
    beat, part = divmod(tick, 4)
    return f"{SIGNS[part]} of {beat + 1}" if part else str(beat + 1)


def beat_part(position: Fraction, parts: int) -> str:
    """Say a position in beats as beat and part."""
    beat = floor(position)
    part = (position - beat) * parts
    assert part == int(part)
    return f"{beat + 1}.{int(part) + 1}" if part else str(beat + 1)


def swapped(hands: str) -> str:
    return "".join({"R": "L", "L": "R"}[hand] for hand in hands)


def written_hands(groups: tuple[int, ...]) -> list[str]:
    """Paradiddles and R L L, each group begun by the hand that did not play before."""
    found: list[str] = []
    for group in groups:
        shape = {4: "RLRR", 3: "RLL"}[group]
        found.append(shape if not found or found[-1][-1] == "L" else swapped(shape))
    return found


def orders(n: int, *sizes: int) -> int:
    """Count phrases by writing every one of them out."""
    longest = n // min(sizes)
    return sum(sum(one) == n for length in range(1, longest + 1) for one in product(sizes, repeat=length))


def third_in_a_row(hands: str) -> int:
    """Find the stroke, from 1, that is the third of a run, two cycles long to be sure there is one only."""
    strokes = hands.replace(" ", "")
    (found,) = {
        i % len(strokes) + 1
        for i in range(2, 2 * len(strokes))
        if len({(strokes * 2)[j] for j in (i - 2, i - 1, i)}) == 1
    }
    return found


def what_fits(p: int, q: int, bpm: int) -> list:
    """Hold the published limits against it by hand: six parts a second, and 1.8 s from one to one."""
    # Repp, London & Keller 2005 (first page): about 6 Hz.  Repp 2006 (abstract): 1800 ms.
    part, cycle = Rational(60_000, bpm * p), Rational(60_000 * q, bpm)
    count, ones = part >= Rational(1000, 6), cycle <= 1800
    fits = {(1, 1): "both", (1, 0): "count", (0, 1): "hold the ones", (0, 0): "neither"}
    return [part, cycle, fits[bool(count), bool(ones)]]


def accents(bar: str, every: int) -> tuple[int, int, list[int]]:
    """Bars and accents until home, and the accented ticks, one tick after another."""
    count = int(bar.split("/")[0]) * 4
    ticks = [0]
    while ticks[-1] + every == 0 or (ticks[-1] + every) % count:
        ticks.append(ticks[-1] + every)
    return (ticks[-1] + every) // count, len(ticks), ticks


def accented(bar: str, every: int, which: int) -> list[str]:
    count = int(bar.split("/")[0]) * 4
    inside = [tick for tick in range(0, count * which, every) if tick >= count * (which - 1)]
    return [sixteenth(tick - count * (which - 1)) for tick in inside]


def meeting(a: int, first: int, b: int) -> list[int]:
    """Find the meeting by the Chinese remainder theorem, with sympy; ticks are counted from 1."""
    rest, modulus = crt([a, b], [first - 1, 0])
    return [int(rest) + 1, int(modulus)]


def many(p: int, q: int, each_second: int, ms: int) -> list:
    """Ceilings: so many parts a second from five parts up, so many ms up to four."""
    assert p >= 5 > q
    return [Rational(60 * each_second, p), Rational(60_000, ms * q)]


OUTSIDE = {
    "grid-ticks": lambda p, q: [int(ilcm(p, q))],
    "grid-rows": lambda p, q: [boxes(p, p * q), boxes(q, p * q)],
    "grid-three": lambda *abc: [int(ilcm(*abc)), *(int(ilcm(*abc)) // one for one in abc)],
    "composite-sounds": lambda p, q: [len(sounds(p, q))],
    "composite-intervals": apart,
    "composite-how-often": lambda p, q: [
        apart(p, q).count(max(apart(p, q))),
        sum(one < max(apart(p, q)) for one in apart(p, q)),
    ],
    "place-syllables": lambda p, q: brute.written(q, p),
    "place-parts": lambda p, q: brute.written(q, p),
    "place-both": lambda p, q, i, j: [
        beat_part(Fraction((i - 1) * q, p), p),
        beat_part(Fraction((j - 1) * p, q), q),
    ],
    "tempo-flip": lambda p, q, bpm: [Rational(bpm, q) * p],
    "tempo-cycle": lambda p, q, bpm: [
        Rational(60_000 * q, bpm),
        Rational(60_000 * q, bpm) / int(ilcm(p, q)),
    ],
    "tempo-modulation": lambda bpm, a, b, c, d: [Rational(bpm * a, b), Rational(bpm * a * c, b * d)],
    "gaps-signed": lambda p, q: brute.gaps(rl.Polyrhythm(p, q), 0, 1),
    "gaps-midway": lambda p, q: [
        next(floor(at) + 1 for at in (Fraction(k * q, p) for k in range(p)) if at % 1 == Fraction(1, 2))
    ],
    "gaps-flam-tempo": lambda p, q, ms: [Rational(60_000, ms * int(ilcm(p, q)) // q)],
    "ways-ones-floor": lambda p, q, ms: [Rational(60_000 * q, ms)],
    "ways-count-ceiling": many,
    "ways-choose": what_fits,
    "phrase-fours": lambda n: max(
        ([4] * a + [3] * b for a in range(n) for b in range(n) if 4 * a + 3 * b == n),
        key=lambda groups: groups.count(4),
    ),
    "phrase-accents": lambda *groups: [sixteenth(tick) for tick in accumulate(groups[:-1], initial=0)],
    "phrase-ways": lambda n, *sizes: [orders(n, *sizes)],
    "sticking-write": lambda *groups: written_hands(groups),
    "sticking-fault": lambda hands, ms: [third_in_a_row(hands)],
    "sticking-home": lambda *groups: [
        "".join("RL"[(sum(groups) * turn + tick) % 2] for tick in accumulate(groups[:-1], initial=0))
        for turn in (0, 1)
    ],
    "metre-home": lambda bar, every: list(accents(bar, every)[:2]),
    "metre-beats": accented,
    "metre-meeting": meeting,
    "read-length": lambda *numbers: read_out("read-length", numbers),
    "read-pair": lambda *numbers: read_out("read-pair", numbers),
    "read-odd": lambda *numbers: read_out("read-odd", numbers),
    "hear-pair": lambda *numbers: heard("hear-pair", numbers),
    "hear-home": lambda *numbers: heard("hear-home", numbers),
    "hear-odd": lambda *numbers: heard("hear-odd", numbers),
}


@cache
def made(id: str, numbers: tuple) -> object:
    return find(id).make(*numbers)


@cache
def outside(id: str, numbers: tuple) -> list:
    return OUTSIDE[id](*numbers)


def test_every_question_that_is_written_is_worked_out_a_second_time():
    """All but the one that is played, which has tests of its own."""
    assert set(OUTSIDE) == set(CLASS_IDS) - {"play-take"}


@pytest.mark.parametrize("id", OUTSIDE)
def test_the_right_answer_is_the_one_worked_out_elsewhere(id):
    """Every version, and the versions of 200 random seats of random assignments."""
    kind, rng = find(id), random.Random(f"seats of {id}")
    seats = [(f"week {rng.randrange(40)}", rng.randrange(1, 10_000)) for _ in range(SEATS)]
    drawn = [kind.versions[version_for(name, seat, id, len(kind.versions))] for name, seat in seats]
    for numbers in [*kind.versions, *drawn]:
        assert list(made(id, numbers).right) == outside(id, numbers)
    for (name, seat), numbers in list(zip(seats, drawn, strict=True))[:5]:
        assert question_for(id, name, seat) == made(id, numbers)


@pytest.mark.parametrize(("n", "k"), [(n, k) for n in range(2, 9) for k in range(2, n)])
def test_sounds_are_those_of_the_published_rows(n, k):
    """OEIS A199408, rows 2 to 8, and the multiples that OEIS A051173 is the table of."""
    # https://oeis.org/A199408, https://oeis.org/A051173 (both read 2026-11-25).
    assert composite_sounds.write(n, k).judge([A199408[n - 1][k - 1]]).right
    assert grid_ticks.write(n, k).judge([int(ilcm(n, k))]).right


def test_a_published_modulation_posed_as_a_question():
    """84 becomes 126 when three pivots to a bar become two."""
    # DeLone et al. (eds) 1975, Aspects of Twentieth-Century Music, chapter 3, as quoted elsewhere.
    asked = tempo_modulation.write(84, 3, 2, 2, 3)
    assert asked.judge([126, 84]).right
    assert asked.judge([56, 84]).marks == 1


def test_the_worked_examples_of_the_plan_posed_as_questions():
    """16 against 15, and 7 against 4 at 72, as they were worked out by hand before the library was there."""
    assert gaps_signed.write(16, 15).judge([0, *range(-1, -8, -1), 8, *range(7, 0, -1)]).right
    assert gaps_signed.write(16, 15).judge([0, *range(-1, -8, -1), -8, *range(7, 0, -1)]).right
    assert gaps_midway.write(16, 15).judge(8).right
    assert gaps_flam_tempo.write(16, 15, 40).judge(93.75).right
    assert tempo_flip.write(7, 4, 72).judge(126).right
    assert ways_ones_floor.write(7, 4, 1800).judge("400/3").right
    assert ways_count_ceiling.write(7, 4, 6, 100).judge(["360/7", 150]).right
    assert ways_choose.write(7, 4, 72).judge(["2500/21", "10000/3", "neither"]).right
    assert place_syllables.write(4, 7).judge(["1", "a of 2", "& of 4", "e of 6"]).right
    assert place_parts.write(7, 4).right[4 - 1] == "2.6"


@pytest.mark.parametrize(
    ("p", "q", "line"),
    [
        (3, 2, [2, 1, 1, 2]),
        (4, 3, [3, 1, 2, 2, 1, 3]),
        (5, 4, [4, 1, 3, 2, 2, 3, 1, 4]),
    ],
)
def test_published_lines_posed_as_questions(p, q, line):
    """The resultants of interference of two generators."""
    # Schillinger 1946, The Schillinger System of Musical Composition: Book I (3:2, as quoted elsewhere),
    # introduction, section 5/6 (4:3, read in a transcription), p. 490 (5:4, as transcribed elsewhere).
    assert composite_intervals.write(p, q).judge(line).right


def test_a_question_of_hands_names_them_and_is_the_same_for_left_handed_players(tmp_path, monkeypatch):
    """R and L in a question are hands that it names, so no answer is judged in the mirror."""
    monkeypatch.chdir(tmp_path)
    for template, groups in ((sticking_write, (4, 3, 4, 3)), (sticking_home, (3, 4, 3, 5, 4))):
        remember_hands(False)
        plain = template.make(*groups)
        remember_hands(True)
        mirror = template.make(*groups)
        assert (plain.text, plain.right) == (mirror.text, mirror.right)
        assert "right hand" in plain.text
        assert plain.right[0].startswith("R")

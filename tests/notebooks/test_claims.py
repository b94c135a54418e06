"""What the pages claim in numbers, worked out again: each claim must still stand in the text, and be true."""

from fractions import Fraction
from itertools import combinations, pairwise
from math import gcd, lcm

import pytest

import rhythmlab as rl
from rhythmlab.text import descriptions
from tests import brute
from tests.notebooks.pages import PAGES

BY_NUMBER = {page.path.name[:2]: page for page in PAGES}
SEVEN = rl.Polyrhythm(7, 4)
COUPLES = [(p, q) for q, p in combinations(range(1, 20), 2)]
COPRIME = [(p, q) for p, q in COUPLES if gcd(p, q) == 1 and q > 1]


def rows(*pulses: int) -> list[list[int]]:
    return brute.strokes(rl.Polyrhythm(*pulses))


def line(*pulses: int) -> list[int]:
    """Return ticks from sound to sound."""
    return brute.intervals(brute.merged(rows(*pulses))[0], lcm(*pulses))


def clap(*pulses: int) -> str:
    """Say which hands clap each sound."""
    names = {(True, True): "together", (True, False): "right", (False, True): "left"}
    return ", ".join(names[tuple(who)] for who in brute.merged(rows(*pulses))[1])


def limit(key: str, *which: str) -> list[Fraction]:
    """Return numbers of a limit, its value when none is named."""
    return [getattr(rl.limits()[key], name) for name in which or ("value",)]


def mirrored(*pulses: int) -> bool:
    return line(*pulses) == line(*pulses)[::-1]


def each_distance(p: int, q: int) -> list[int]:
    """Return how often each distance from 1 to q occurs."""
    return [line(p, q).count(distance) for distance in range(1, q + 1)]


def quarters(moving: int, home: int) -> list[str]:
    """Say which strokes fall on the e, the & or the a of a beat."""
    signs = {Fraction(1, 4): "e", Fraction(1, 2): "&", Fraction(3, 4): "a"}
    places = [Fraction(k * home, moving) for k in range(moving)]
    return [f"{signs[at % 1]} of {int(at) + 1}" for at in places if at % 1 in signs]


def boxes(*pulses: int) -> list[list[int]]:
    """Return the boxes with a stroke, numbered from 1."""
    return [[tick + 1 for tick in row] for row in rows(*pulses)]


def from_home(home: int) -> list[Fraction]:
    """Return the strokes of 7 against 4 as shares of the cycle, from the places counted in one home."""
    feel = rl.Feel(SEVEN, home)
    places = [place for i in range(2) for place in feel.places(i)]
    return sorted((place.beat - 1 + Fraction(place.part - 1, place.parts)) / feel.beats for place in places)


def alternating(p: int, q: int) -> bool:
    """Say whether the strokes called alternating are those within a sixteenth of the beat from midway."""
    pair = rl.Polyrhythm(p, q)
    step = Fraction(lcm(p, q), q)
    found = sum(abs(step / 2 - abs(gap)) <= step / 16 for gap in brute.gaps(pair, 0, 1))
    zones = rl.playing.zones(rl.phase_gaps(pair, of=0, against=1), rl.Tempo(100, pulse=1))
    return zones.counts["alternating"] == found > 1


def climbed(spread: float = 3, missed: int = 0, meant: int = 20, *, again: bool = False) -> Fraction:
    """Return where a ladder from 60 stands after a first take at 60, and another one the same day."""
    take = {"when": "2030-05-04T18:00:00+02:00", "bpm": 60, "spread_percent": spread}
    take |= {"missed": missed, "meant": meant, "id": "1"}
    later = [{**take, "when": "2030-05-04T19:00:00+02:00", "bpm": 96, "id": "2"}] if again else []
    return rl.practice.Ladder(60, 96).climb([take, *later]).bpm


def learned(n: int) -> bool:
    """Whether n + 1 against n can be learned as one line at some tempo."""
    ways = rl.approach(rl.Polyrhythm(n + 1, n), rl.Tempo(60, pulse=1)).ways
    return next(way for way in ways if way.name == "learn the line").possible


CLAIMS = {
    "00": {
        "At *3 against 2* the words are **together, right, left, right**": lambda: (
            clap(3, 2) == descriptions.clapped(rl.Polyrhythm(3, 2)) == "together, right, left, right"
        ),
        "at *4 against 3* they are **together, right, left, right, left, right**": lambda: (
            clap(4, 3)
            == descriptions.clapped(rl.Polyrhythm(4, 3))
            == "together, right, left, right, left, right"
        ),
        "the left hand has the first number, and *left* stands where *right* stands here": lambda: all(
            descriptions.clapped(rl.Polyrhythm(*pair), left_handed=True)
            == clap(*pair).replace("right", "?").replace("left", "right").replace("?", "left")
            for pair in ((3, 2), (4, 3))
        ),
        "why 7 against 4 has 28 ticks": lambda: lcm(7, 4) == SEVEN.ticks == 28,
        "so that *TA e* is the sixth, and on beat 2 it is called the *ta e of 2*": lambda: (
            brute.said(4, 7)[3] == "ta e of 2" and brute.counted(4, 7)[3] == (2, "2.6")
        ),
        "*2.6* is beat 2, part 6": lambda: brute.counted(4, 7)[3] == (2, "2.6"),
        "like `9, 120`": lambda: [len(line(5, 3)), Fraction(60 * 5, 3)] != [9, 120],
        "where the gcd is the largest number that divides both": lambda: all(
            gcd(p, q) == max(n for n in range(1, q + 1) if not p % n and not q % n) for p, q in COUPLES
        ),
        "*p + q − gcd(p, q)*": lambda: all(len(line(p, q)) == p + q - gcd(p, q) for p, q in COUPLES),
        "85 dBA for 8 hours a day": lambda: limit("loudness") == [85],
        "every 3 dB more halves the time": lambda: limit("loudness_exchange") == [3],
        "take five minutes off in every thirty": lambda: limit("practice_break") == [5],
    },
    "01": {
        "3 against 2 needs a grid of 6 ticks": lambda: lcm(3, 2) == 6,
        "there are 15 boxes, and 7 of them have a stroke": lambda: (lcm(5, 3), len(line(5, 3))) == (15, 7),
        "**7 against 2**. How do the ticks grow? Then **4 against 2**: why does it need fewer?": lambda: (
            [lcm(p, 2) for p in (3, 5, 7, 4)] == [6, 10, 14, 4]
        ),
        "For 3 against 2 it would be `x.x.x., x..x..`": lambda: (
            ["".join("x" if tick in row else "." for tick in range(6)) for row in rows(3, 2)]
            == ["x.x.x.", "x..x.."]
        ),
        "claps on 1, 4, 7 and 10, the other on 1, 5 and 9": lambda: boxes(4, 3) == [[1, 4, 7, 10], [1, 5, 9]],
        "a stamp on boxes 1, 4, 7 and 10, a clap on 1, 5 and 9": lambda: (
            boxes(4, 3) == [[1, 4, 7, 10], [1, 5, 9]]
        ),
        "How many ticks do three pulses need, and why is it not 12": lambda: lcm(3, 4, 5) == 60,
        "it is 6 / 3 = 2 ticks, of the 2 it is 6 / 2 = 3": lambda: (
            [row[1] for row in rows(3, 2)] == [6 // 3, 6 // 2] == [2, 3]
        ),
        "need a grid of their product: 7 against 4 needs 28 ticks": lambda: all(
            lcm(p, q) == p * q for p, q in COPRIME
        ),
        "6 against 4 is 3 against 2, twice": lambda: line(6, 4) == line(3, 2) * 2,
        "the pulses meet every *cycle / gcd* ticks": lambda: all(
            sorted(set(a) & set(b))[1] == 2 * lcm(p, q) // gcd(2 * p, 2 * q) for p, q, a, b in doubled()
        ),
        "has *p q / gcd(p, q)* ticks": lambda: all(lcm(p, q) == p * q // gcd(p, q) for p, q in COUPLES),
        "Which pairs below ten need a grid of 24?": lambda: (8, 3) in [c for c in COUPLES if lcm(*c) == 24],
        "about 100 ms": lambda: limit("part_heard") == [100],
        "about 6 a second": lambda: limit("part_uneven") == [6],
    },
    "02": {
        "your numbers add up to 20 and read the same backwards": lambda: (
            sum(line(5, 4)) == 20 and mirrored(5, 4)
        ),
        "**3 1 2 2 1 3**": lambda: line(4, 3) == [3, 1, 2, 2, 1, 3],
        "ONE two three, ONE, ONE two, ONE two, ONE, ONE two three": lambda: (
            ", ".join(" ".join(["ONE", "two", "three"][:ticks]) for ticks in line(4, 3))
            == "ONE two three, ONE, ONE two, ONE two, ONE, ONE two three"
        ),
        "For 3 against 2 it would be `2, 1, 1, 2`": lambda: line(3, 2) == [2, 1, 1, 2],
        "4 + 3 − 1 = 6": lambda: len(line(4, 3)) == 4 + 3 - 1 == 6,
        "**reads the same backwards**": lambda: all(mirrored(p, q) for p, q in COUPLES),
        "press **2 against 3 against 5**. Does it still read the same backwards?": lambda: mirrored(2, 3, 5),
        "occurs exactly twice, and *q* itself occurs *p − q + 1* times": lambda: all(
            each_distance(p, q) == [2] * (q - 1) + [p - q + 1] for p, q in COPRIME
        ),
    },
    "03": {
        "the 7 falls on 1, the *ta* of 1, the *e* of 2, the *ta e* of 2 and so on": lambda: (
            brute.said(4, 7)[:4] == ["1", "ta of 1", "e of 2", "ta e of 2"]
        ),
        "the 4 falls on 1, the *a* of 2, the *&* of 4, the *e* of 6": lambda: (
            brute.said(7, 4) == ["1", "a of 2", "& of 4", "e of 6"]
        ),
        "The strokes are the same.": lambda: (
            from_home(0) == from_home(1) == sorted(Fraction(k, n) for n in (7, 4) for k in range(n))
        ),
        "here 72 × 7/4 / 1": lambda: (
            Fraction(72 * 7, 4) / 1 == rl.playing.modulation(72, old=7, new=4).new_bpm == 126
        ),
        "72 × 7/4 = **126 of the 7**": lambda: Fraction(72 * 7, 4) == rl.Tempo(72, pulse=1).bpm_of(SEVEN, 0),
        # DeLone et al. (eds) 1975, Aspects of Twentieth-Century Music, chapter 3 (as quoted elsewhere).
        "three pivots to the old bar and two to the new: 84 × 3/2 = 126": lambda: (
            rl.playing.modulation(84, old=3, new=2).new_bpm == 126
        ),
        "back again 126 × 2/3 = 84": lambda: (
            Fraction(126 * 2, 3) == rl.playing.modulation(126, old=2, new=3).new_bpm == 84
        ),
        "Beats of 500 to 700 milliseconds": lambda: limit("beat_preferred", "low", "high") == [500, 700],
        "Count it from the 3, in sixteenths": lambda: "a of 1" in brute.said(3, 4),
        "count it from the 4, in triplets": lambda: "trip of 2" in brute.said(4, 3),
    },
    "04": {
        "Up to about 40 milliseconds two strokes are a *flam*": lambda: limit("flam") == [40],
        "Below about 20 milliseconds it is hard to tell which came first": lambda: limit("order") == [20],
        "below 2 or 3 they are one sound": lambda: limit("one_sound", "low", "high") == [2, 3],
        "at 60 the first gap of 16 against 15 is already 62.5 milliseconds": lambda: (
            brute.gaps(rl.Polyrhythm(16, 15), 0, 1)[1] * Fraction(1000, 16) == Fraction(-125, 2)
        ),
        "*alternating* (within a sixteenth of the beat, our own choice)": lambda: alternating(65, 64),
        "For 4 against 3 it would be `0, -1, 2, 1`": lambda: (
            brute.gaps(rl.Polyrhythm(4, 3), 0, 1) == [0, -1, 2, 1]
        ),
        "A cycle of more than about 5 to 6 seconds": lambda: (
            limit("bar_longest", "low", "high") == [5000, 6000]
        ),
        "16 against 11 is 3 against 2 that slips one tick in each group": lambda: (
            3 * (176 // 16) - 2 * (176 // 11) == 1
        ),
        "In a hall 12 metres long sound is 35 ms late": lambda: round(1000 * 12 / 343) == 35,
        "the *a* of 4, the *&* of 8, the *e* of 12": lambda: (
            quarters(16, 15) == ["a of 4", "& of 8", "e of 12"]
        ),
        "Check it against 16 against 15 at 60 on the 15": lambda: (
            1 / abs(Fraction(16, 15) - 1) == 15 == rl.Tempo(60, pulse=1).cycle_seconds(rl.Polyrhythm(16, 15))
        ),
        "at most ten more minutes from one day to the next": lambda: limit("practice_increase") == [10],
        "80 dB for 40 hours a week is the limit for adults": lambda: limit("loudness_week") == [80],
        "75 dB for children": lambda: limit("loudness_week_child") == [75],
        "three flashes a second at the very most": lambda: limit("flash", "high") == [3],
    },
    "05": {
        "each of the five parts of a beat": lambda: rl.Feel(rl.Polyrhythm(5, 4), 1).parts(0) == 5,
        "down to about 100 milliseconds each": lambda: limit("part_heard") == [100],
        "only to about 167, six a second": lambda: limit("part_uneven") == [6],
        "more than about 1.8 seconds apart": lambda: limit("ones_longest") == [1800],
        "longer than about 5.5 seconds": lambda: limit("bar_longest") == [5500],
        "up to 12 sounds are learned as one line": lambda: (
            [bool(learned(n)) for n in (6, 7)] == [True, False]  # 7:6 has 12 sounds, 8:7 has 14
        ),
        "counting sevenths is too fast from 51": lambda: int(Fraction(6 * 60, 7)) == 51,
        "3.3 seconds apart and can be held only from 133": lambda: int(Fraction(4 * 60_000, 1800)) == 133,
        "five minutes off in every thirty": lambda: limit("practice_break") == [5],
    },
    "06": {
        "31 is seven fours and a three": lambda: (
            rl.phrases(31)[0].groups == (4,) * 7 + (3,) and 7 * 4 + 3 == 31
        ),
        "4 3 4 3 as *RLRR LRL*, twice": lambda: str(rl.stick(rl.phrases(14)[0], 120)) == "RLRR LRL RLRR LRL",
        "13 is 4 4 5": lambda: rl.phrases(13)[0].groups == (4, 4, 5),
        "a five R L R R L": lambda: str(rl.stick((5,), 120)) == "RLRRL",
        "12 begins with the left the second time": lambda: (
            rl.stick(rl.phrases(12)[0], 120).cycle().lanes[0].hands[12:16] == "LRLL"
        ),
        "R R L L even in thirty-seconds": lambda: bool(
            rl.playing.check_sticking("RRLL", rl.Tempo(120, ticks=8))
        ),
        "four fours, and three fours and a three": lambda: (4 * 4, 3 * 4 + 3) == (16, 15),
        "about 62 milliseconds apart, by the rebound": lambda: limit("hand_two") == [62],
        "three about 110": lambda: limit("hand_three") == [110],
        "stroke after stroke about 167": lambda: limit("hand_sustained") == [167],
        "a paradiddle in sixteenths at 120 passes": lambda: (
            bool(rl.playing.check_sticking("RLRRLRLL", rl.Tempo(120, ticks=4)))
            and not rl.playing.check_sticking("R" * 8, rl.Tempo(120, ticks=4))
        ),
        "five minutes off in every thirty": lambda: limit("practice_break") == [5],
    },
    "07": {
        "An accent on every third sixteenth of 4/4": lambda: rl.metre("4/4").ticks == 16,
        "three bars of time, one bar of 7 against 4": lambda: (
            len(rl.playing.resolve((7, 4), "4/4").bars) == 4
        ),
        "comes home after the least common multiple of both": lambda: (
            rl.playing.accents(rl.metre("2+2+3/8"), 5).ticks == lcm(7, 5)
        ),
        "five minutes off in every thirty": lambda: limit("practice_break") == [5],
    },
    "08": {
        "most people tap 30 to 50 ms before a click": lambda: limit("tap_lead", "low", "high") == [30, 50],
        "spread by about 2 percent of the interval": lambda: limit("tap_sd_trained") == [2],
        "novices by about 4": lambda: limit("tap_sd_novice") == [4],
        "about 4 percent at a step": lambda: all(
            1.03 < high / low < 1.05 for low, high in pairwise(rl.practice.Ladder(60, 96).steps)
        ),
        "at most one stroke in twenty missed": lambda: (
            climbed(missed=1, meant=20) > 60 == climbed(missed=2, meant=20)
        ),
        "even to 4 percent": lambda: climbed(spread=4) > 60 == climbed(spread=4.1),
        "Only the **first take of a day at its step** moves it": lambda: climbed(again=True) == climbed(),
        "gentle movement, about five minutes, and easy playing, up to ten": lambda: (
            limit("practice_warmup", "low", "high") == [5, 15]
        ),
        "five minutes of rest into every thirty": lambda: limit("practice_break") == [5],
        "at most ten more minutes from one day to the next": lambda: limit("practice_increase") == [10],
        'export them with `rl.practice.Journal().export_csv("practice.csv")`': lambda: callable(
            rl.practice.Journal.export_csv
        ),
    },
    "09": {
        "each stroke of the 4 is five sixteenths long": lambda: rows(5, 4)[1][1] == 5 and lcm(5, 4) == 5 * 4,
        "7:4 is seven in the time of four": lambda: len(rows(7, 4)[0]) == 7,
        "16 against 15 from the 15 is fifteen bars of 4/4, the 15 on every 1": lambda: (
            lcm(16, 15) // 16 == 15 and rows(16, 15)[1] == [16 * bar for bar in range(15)]
        ),
        "one sixteenth earlier in every bar": lambda: (
            [16 - tick % 16 for tick in rows(16, 15)[0][1:15]] == list(range(1, 15))
        ),
    },
}
LISTED = [(number, claim, holds) for number, claims in CLAIMS.items() for claim, holds in claims.items()]


def doubled() -> list[tuple[int, int, list[int], list[int]]]:
    """Return pairs with a common factor of at least two, with their strokes."""
    return [(p, q, *rows(2 * p, 2 * q)) for p, q in COUPLES]


@pytest.mark.parametrize(
    ("number", "claim", "holds"), LISTED, ids=[f"{n}: {claim[:36]}" for n, claim, _ in LISTED]
)
def test_a_claim_still_stands_and_is_true(number, claim, holds):
    """The words are on the page or its panel asks in them; the number comes out again by another road."""
    assert claim in BY_NUMBER[number].text + rl.pages.question(f"{number}-guess").text
    assert holds()


def test_every_page_makes_claims_that_are_checked():
    """A new page brings its own."""
    assert set(CLAIMS) == set(BY_NUMBER)


@pytest.mark.parametrize("pulses", [(12, 8), (7, 7), (1, 5)])
def test_pairs_that_are_named_as_teaching_nothing_new_do_not(pulses):
    """Page 01 names them; the library says so of each, and the strokes show why."""
    name = f"{pulses[0]} against {pulses[1]}"
    assert name in BY_NUMBER["01"].text
    assert descriptions.nothing_new_text(rl.Polyrhythm(*pulses))
    one, two = map(set, rows(*pulses))
    assert one <= two or two <= one or line(*pulses) == line(3, 2) * 4


@pytest.mark.parametrize("pulses", [(12, 4), (7, 7), (1, 5)])
def test_pairs_where_one_pulse_adds_no_sound_are_named_on_page_00(pulses):
    """There are no more sounds than strokes of the faster pulse, and the library says so of each."""
    assert f"{pulses[0]} against {pulses[1]}" in BY_NUMBER["00"].sections["For the class"]
    assert len(line(*pulses)) == max(pulses) == sum(pulses) - gcd(*pulses)
    assert descriptions.nothing_new_text(rl.Polyrhythm(*pulses))


@pytest.mark.parametrize("n", [3, 4, 8, 15])
def test_the_law_of_page_04_is_on_it_and_holds(n):
    """Home n: one tick earlier, twice from beat 1 to 2; home n+1: one tick later, none from the last beat."""
    text = BY_NUMBER["04"].sections["Explain"]
    assert "With the *n* as home the *n* + 1 comes **one tick earlier at each beat**" in text
    assert "alternates in mid-cycle" in text
    assert "from beat 1 to beat 2 it plays twice" in text
    assert "With the *n* + 1 as home the *n* comes one tick later" in text
    assert "from the last beat to the next 1 it does not play" in text
    p = rl.Polyrhythm(n + 1, n)
    first, second = rows(n + 1, n)
    step = p.ticks // n
    assert [tick - beat for tick, beat in zip(first, second, strict=False)] == [-k for k in range(n)]
    assert sum(0 <= tick < step for tick in first) == 2
    assert all(sum(beat <= tick < beat + step for tick in first) == 1 for beat in second[1:])
    widest = max(map(abs, brute.gaps(p, 0, 1)))
    assert brute.zone(widest, step, Fraction(1000, step))[0] == "alternating"
    step = p.ticks // (n + 1)
    assert [tick - beat for tick, beat in zip(second, first, strict=False)] == list(range(n))
    assert not [tick for tick in second if tick >= n * step]


def test_the_stroke_midway_is_counted_as_page_04_says():
    """Moving even: one stroke midway; home even: one beat midway; both odd: neither."""
    assert (
        "If the moving number is even (in lowest terms), one of its strokes is **exactly midway** between "
        "two beats; if home is the even one, one beat is exactly midway between two of its strokes; if "
        "both are odd, neither."
    ) in BY_NUMBER["04"].text
    for moving, home in [*COPRIME, *((q, p) for p, q in COPRIME)]:
        both = rl.Polyrhythm(moving, home)
        strokes = sum(2 * gap == both.ticks // home for gap in brute.gaps(both, 0, 1))
        beats = sum(2 * gap == both.ticks // moving for gap in brute.gaps(both, 1, 0))
        assert strokes == (moving % 2 == 0)
        assert beats == (home % 2 == 0)

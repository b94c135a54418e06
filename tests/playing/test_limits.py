"""The limits against the publications that they are borrowed from."""

from dataclasses import FrozenInstanceError
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

import rhythmlab as rl
from rhythmlab.playing.limits import Range
from rhythmlab.resources import table
from tests.refusals import TOO_LONG, refusal, works

# Copied from the sources named beside each, not from the library: value, low, high, unit, status.
PUBLISHED = {
    # Danielsen et al. 2026 (as summarised elsewhere), abstract: two fast-attack sounds heard as two events.
    "flam": (40, 40, None, "ms", "quoted elsewhere"),
    # Watson 2004, Seminars in Hearing 25(3), 219-227 (abstract), citing Hirsh 1959: which sound came first.
    "order": (20, 20, None, "ms", "read"),
    # Watson 2004, same abstract: two sounds at one ear heard as different from one.
    "one_sound": (Fraction(5, 2), 2, 3, "ms", "read"),
    # London 2012, Hearing in Time, ch. 2 (abstract): a level can be the beat from 200-250 ms to about 1.5 s.
    "beat": (None, 200, 1500, "ms", "read"),
    # London 2012, ch. 2 (abstract): preferred beat 500 to 700 ms.
    "beat_preferred": (600, 500, 700, "ms", "read"),
    # Repp 2006, Advances in Cognitive Psychology 2(2-3), 163-181 (abstract): 8 to 10 taps a second.
    "part_heard": (100, 100, 125, "ms", "read"),
    # Repp, London & Keller 2005, Music Perception 23(1) (volume from memory), first page: about 6 Hz.
    "part_uneven": (6, None, None, "Hz", "read"),
    # London 2012, ch. 2 (abstract): upper bound of any level, 5 to 6 s.
    "bar_longest": (5500, 5000, 6000, "ms", "read"),
    # NIOSH recommended exposure limit, table: 85 dBA for 480 minutes a day, and 3 dB halve the time.
    "loudness": (85, None, None, "dBA over 8 hours a day", "read"),
    "loudness_exchange": (3, None, None, "dB", "read"),
    # WHO-ITU 2019 / ITU-T H.870, as reported: adults and children, 40 hours a week.
    "loudness_week": (80, None, None, "dB for 40 hours a week", "quoted elsewhere"),
    "loudness_week_child": (75, None, None, "dB for 40 hours a week", "quoted elsewhere"),
    # British Association for Performing Arts Medicine, Ten top health tips, tips 4 and 1.
    "practice_break": (5, None, None, "minutes in every 30", "read"),
    "practice_increase": (10, None, 10, "minutes a day", "read"),
    # Repp 2003, Journal of Motor Behavior 35(4), 355-370 (abstract): subdivisions stop helping at 200-250 ms.
    "part_helps": (225, 200, 250, "ms", "read"),
    # Repp 2006, Advances in Cognitive Psychology 2(2-3), 163-181 (abstract): slow limit of synchronisation.
    "ones_longest": (1800, 1800, None, "ms", "read"),
    # Common practice, no source.
    "ones_numbers": (7, None, None, "strokes in one hand between the ones", "common practice"),
    # Our own choice, no source.
    "cycle_longest": (8000, None, None, "ms", "our choice"),
    "hand_two": (62, 62, 75, "ms", "common practice"),
    "hand_three": (110, None, None, "ms", "common practice"),
    "foot_two": (110, None, None, "ms", "common practice"),
    "foot_three": (150, None, None, "ms", "common practice"),
    "foot_sustained": (200, None, None, "ms", "common practice"),
    # Fujii and others 2009, Neuroscience Letters 459(2), 69-73 (abstract): 5 to 7 strokes a second, about 6.
    "hand_sustained": (167, 143, 200, "ms", "read"),
    # Peabody Institute blog, Practice pointers for pain-free playing: 5 and then 10 minutes.
    "practice_warmup": (15, 5, 15, "minutes", "read"),
    # Michigan State University, ergonomics page for musicians.
    "practice_repetitions": (6, None, 6, "repetitions", "read"),
    # Aschersleben & Prinz 1995, Perception & Psychophysics 57(3), 305-317 (abstract): taps lead by 30-50 ms.
    "tap_lead": (40, 30, 50, "ms", "read"),
    # Repp 2005, Psychonomic Bulletin & Review 12(6), 969-992, section 4 (as quoted elsewhere).
    "tap_sd_trained": (2, None, None, "% of the interval", "quoted elsewhere"),
    "tap_sd_novice": (4, 4, None, "% of the interval", "quoted elsewhere"),
    # Friberg & Sundberg 1995, JASA 98(5) (volume from memory), abstract; the 1992 report: 10 ms, 5 %.
    "displacement_jnd": (Fraction(5, 2), None, None, "% of the interval", "read"),
    "displacement_jnd_fast": (6, None, None, "ms", "read"),
    # W3C, Web Content Accessibility Guidelines 2.2, success criterion 2.3.1.
    "flash": (3, None, 3, "flashes a second", "read"),
}


@pytest.mark.parametrize("key", PUBLISHED)
def test_each_limit_is_the_published_number(key):
    """Value, range and unit are those of the source, and the status says how it was seen."""
    found = rl.limits()[key]
    if found.number is not None:
        assert found.value == found.number
    assert isinstance(found, Range) == (None not in (found.low, found.high))
    assert (found.number, found.low, found.high, found.unit, found.status) == PUBLISHED[key]


def test_every_limit_has_been_compared_with_its_source():
    """No limit is shipped that this file does not know."""
    assert set(rl.limits()) == set(PUBLISHED)


@pytest.mark.parametrize("key", PUBLISHED)
def test_every_limit_names_a_source_that_is_listed(key):
    """The source of each limit is listed once, and the citation is its text."""
    limit = rl.limits()[key]
    rows = [row for row in table("sources.csv") if row["key"] == limit.source]
    assert [row["citation"] for row in rows] == [limit.citation]
    assert limit.meaning
    assert limit.page
    assert limit.status in (
        "read",
        "quoted elsewhere",
        "computed",
        "from memory",
        "common practice",
        "our choice",
    )


def test_each_value_lies_in_its_published_range():
    """Where a range is given, low <= value <= high, and there is a value or a range."""
    for limit in rl.limits().values():
        numbers = [number for number in (limit.low, limit.number, limit.high) if number is not None]
        assert numbers
        assert numbers == sorted(numbers)
        assert all(isinstance(number, Fraction) and number > 0 for number in numbers)


@pytest.mark.parametrize(
    ("value", "exact"),
    [
        (30, Fraction(30)),
        (30.1, Fraction(301, 10)),
        (Fraction(1, 3), Fraction(1, 3)),
        (Decimal("2.5"), Fraction(5, 2)),
        (np.uint8(200), Fraction(200)),
        (np.float64(30.5), Fraction(61, 2)),
    ],
)
def test_a_reader_can_move_a_limit(value, exact):
    """A moved limit has the new value, exact, says so, keeps its source and range, and moves nothing else."""
    moved, standing = rl.limits(flam=value), rl.limits()
    assert (moved["flam"].value, moved["flam"].status) == (exact, "moved")
    assert (moved["flam"].source, moved["flam"].low) == (standing["flam"].source, standing["flam"].low)
    assert {key: moved[key] for key in moved if key != "flam"} == {
        key: standing[key] for key in standing if key != "flam"
    }
    assert standing["flam"].value == 40


def test_the_limits_print_as_a_table():
    """A line for each limit with its number or range, its unit, its source and its status."""
    lines = dict(zip(rl.limits(), str(rl.limits()).splitlines(), strict=True))
    assert all(line.startswith(key) for key, line in lines.items())
    assert all(text in lines["flam"] for text in (" 40 ms ", "danielsen2026", "quoted elsewhere"))
    assert " 200-1500 ms " in lines["beat"]


def test_a_limit_is_frozen():
    """A limit is moved by asking for other limits, not by changing one."""
    for key in ("flam", "beat"):
        for field in ("value", "number", "status", "new"):
            with pytest.raises(FrozenInstanceError):
                setattr(rl.limits()[key], field, 30)


def test_a_range_without_one_value_says_so():
    """Its value is refused with the way to its ends, and nothing is returned that stands for no number."""
    found = [limit for limit in rl.limits().values() if limit.number is None]
    assert [limit.key for limit in found] == [key for key in PUBLISHED if PUBLISHED[key][0] is None]
    for limit in found:
        example = refusal(lambda limit=limit: limit.value, limit.key, "a published range without one value")
        assert works(example) == limit.low


def test_a_limit_that_does_not_exist_is_refused():
    """The message repeats the name, lists those that exist, and shows a call that works."""
    example = refusal(lambda: rl.limits(unknown=3), "'unknown'", "there is no limit")
    assert works(example)["flam"].value == 30
    with pytest.raises(ValueError, match="there are flam, order, one_sound"):
        rl.limits(unknown=3)


def test_a_published_range_without_a_value_cannot_be_moved():
    """The message names the limit, says why, and shows one that can be moved."""
    example = refusal(lambda: rl.limits(beat=3), "'beat'", "a published range without one value")
    assert works(example)["flam"].value == 30


@pytest.mark.parametrize("bad", [0, -1, 0.0, float("nan"), float("inf"), "30", None, True, [30], 10**400])
def test_a_limit_moves_only_to_a_number_above_0(bad):
    """The message names the limit and the value, and shows a call that works."""
    example = refusal(lambda: rl.limits(flam=bad), f"flam={repr(bad)[:50]}", "not a finite number above 0")
    assert works(example)["flam"].value == 30


def test_a_number_too_long_to_print_is_refused_in_the_same_words():
    """5000 digits are no limit of anything."""
    refusal(lambda: rl.limits(flam=10**5000), f"flam={TOO_LONG}", "not a finite number above 0")


def test_a_limit_that_is_not_there_is_named():
    """As for any mapping, with those that are there."""
    for key in ("unknown", 7, ["flam"], None):
        assert key not in rl.limits()
        with pytest.raises(KeyError, match="there are flam, order"):
            rl.limits()[key]


def test_a_limit_is_moved_no_further_than_its_unit_goes():
    """From a thousandth to a million of its unit, themselves included."""
    for value in (Fraction(1, 1000), 1_000_000):
        assert rl.limits(flam=value)["flam"].value == value
    for value, wrong in ((1e-4, "less than 1/1000"), (1_000_001, "more than 1,000,000")):
        assert works(refusal(lambda value=value: rl.limits(flam=value), "limit flam=", wrong))

"""A place of a beat has one name, the same in the words of a groove, in its picture, score and handout."""

import re
from fractions import Fraction

import pytest

import rhythmlab as rl
from rhythmlab.export.lesson import _places
from rhythmlab.notation.score import score
from rhythmlab.playing.groove import accents
from rhythmlab.playing.limits import limits
from tests.profile import some

METRES = ("2/2", "3/2", "2/4", "4/4", "5/4", "6/4", "9/4", "2+3/4", "6/8", "7/8", "2+2+3/8", "12/8", "3+4/16")
GROOVES = [(metre, every, filled) for metre in METRES for every in range(2, 10) for filled in (True, False)]
KEPT = [("2/2", 3, True), ("6/4", 5, True), ("6/4", 4, True), ("3/2", 7, False), ("7/8", 5, True)]


def rows(text: str) -> dict[int, list[str]]:
    """Return the places that a text names, by bar."""
    found = re.findall(r"[Bb]ar ([0-9]+): ([^;.(|]*?)(?= \(|[;.|]|$)", text)
    return {int(bar): places.split(", ") for bar, places in found}


def twice(places: str) -> dict[int, list[str]]:
    """Return the places of two bars that are alike."""
    return {bar: places.rstrip(".").split(", ") for bar in (1, 2)}


@pytest.mark.parametrize(("metre", "every", "filled"), some(GROOVES, 9, "one name", KEPT))
def test_each_place_has_one_name_in_words_picture_score_and_handout(metre, every, filled):
    """Bar by bar the accents have the same names in all of them, and in a bar no two ticks have one name."""
    made = accents(metre, every=every, filled=filled, bars=2)
    said = rows(made.describe())
    line = made.lanes[-1]
    ticks: dict[str, int] = {}
    for bar in (1, 2):
        long = any("…" in name for name in said[bar])  # the middle of a long bar is left out
        named = said[bar][:7] if long else said[bar]
        assert long or len(named) == len(made.accented(bar))
        for name, tick in zip(named, made.accented(bar), strict=False):
            assert ticks.setdefault(name, tick) == tick
    assert len(set(ticks.values())) == len(ticks)
    for bar in (1, 2):
        alone = rl.pictures.strip(made, start=(bar - 1) * made.metre.ticks, stop=bar * made.metre.ticks).alt
        falls = alone.split("accented on " if filled else f"the {line.name} falls on ")[1].split(";")[0]
        falls = falls.rstrip(".").removeprefix(f"bar {bar}: ").replace(f"… bar {bar}: ", "… ")
        assert falls.split(", ") == said[bar]
    written = score(made).alt.split(f"{line.name} (")[1]
    written = written.split("accents ")[-1] if filled else written.split(") ")[1]
    assert (rows(written) or twice(written.removeprefix("in every bar on "))) == said
    whole = _places(made, line, (), (Fraction(1), 1, limits(), "")).split(" (say")[0]
    printed = rows(whole) or twice(whole.removesuffix(" in every bar"))
    if "…" not in whole:  # the middle of a long bar is left out
        assert {name for row in printed.values() for name in row} >= {*ticks} if filled else printed == said

"""Nothing on a page of notes stands in anything else: every box against every other, from its outline."""

import re
from fractions import Fraction
from itertools import pairwise, product
from xml.etree import ElementTree

import pytest

import rhythmlab as rl
from rhythmlab.export.handout import SPACINGS, WIDTHS, engraved
from rhythmlab.notation.layout import LINE_PX
from rhythmlab.notation.score import score
from rhythmlab.playing.phrasing import Phrase
from tests.notation.boxes import SVG, boxes, collisions
from tests.profile import some

METRES = ("4/4", "3/4", "2/4", "7/8", "2+2+3/8", "3+2+2/8", "5/4", "12/8", "6/8", "9/8", "5/8", "15/16")
PHRASES = ("4343", "445", "77", "3322", "44444443", "4442", "53", "997", "2222222", "433")


def drum_scores():
    """Yield drum-kit scores by name: fills, accents, phrases with and without hands, grooves, patterns."""
    for p, q in product(range(2, 13), range(2, 9)):
        if p != q:
            yield f"{p}:{q} as a fill", lambda p=p, q=q: rl.playing.resolve((p, q))
    for metre, every in product(METRES, (2, 3, 4, 5, 7)):
        yield f"every {every} in {metre}", lambda m=metre, n=every: rl.playing.accents(m, n)
    for groups in PHRASES:
        phrase = [int(size) for size in groups]
        yield f"phrase {groups}", lambda p=phrase: Phrase(p).cycle()
        yield f"hands of {groups}", lambda p=phrase: rl.stick(p, 60).cycle()
    for metre, feet, hands in product(
        ("4/4", "3/4", "7/8", "12/8"), ("x...", "x..x..x.", "x.x"), ("son clave", "x.x", "x..x..", "xxxxx")
    ):
        yield f"{feet} under {hands} in {metre}", lambda m=metre, f=feet, h=hands: rl.ostinato(f, h, metre=m)
    for name in rl.playing.ready_patterns():
        yield name, lambda name=name: rl.playing.ready_patterns()[name]
    for pair in ((7, 4), (5, 4), (13, 8)):
        yield f"split {pair}", lambda pair=pair: rl.playing.split(pair)
        yield f"hand to hand {pair}", lambda pair=pair: rl.playing.hand_to_hand(pair)


DRUMS = dict(drum_scores())
PAIRS = [(p, q, home) for p in range(2, 13) for q in range(2, 13) if p != q for home in (0, 1)]


def pages(made) -> list[str]:
    """Return every page of a score."""
    return [made.svg(number) for number in range(1, made.pages + 1)]


@pytest.mark.parametrize(
    ("p", "q", "home"), some(PAIRS, 12, "pairs engraved", [(4, 3, 0), (7, 4, 1), (8, 5, 1)])
)
def test_nothing_collides_in_a_pair(p, q, home):
    """Digits, heads, tuplet numbers, counts, accents, tempo: none reaches into another, in either home."""
    made = score((p, q), 72, home=home, title="A pair")
    for page in pages(made):
        assert boxes(page)
        assert not collisions(page)


def written(name):
    """Return a drum score by its name, or ``None`` where there is no such rhythm."""
    try:
        what = DRUMS[name]()
    except ValueError:  # such a pair has no fill in this bar, or such feet no bar of this metre
        return None
    return score(what, 90, title=name)


@pytest.mark.parametrize("name", some(DRUMS, 8, "drums engraved", ["7:4 as a fill", "every 5 in 2+2+3/8"]))
def test_nothing_collides_on_a_drum_staff(name):
    """With counts of hands and feet, stickings, accents, crosses, tuplets and a key over the first line."""
    made = written(name)
    for page in pages(made) if made else ():
        assert not collisions(page)


@pytest.mark.parametrize(
    ("name", "width", "spacing"),
    some(product(DRUMS, WIDTHS[::4], SPACINGS), 60, "drums on paper", [("7:4 as a fill", 1110, 36)]),
)
def test_nothing_collides_on_paper(name, width, spacing):
    """At every width and spacing of a handout, from the widest to the closest, the same holds."""
    made = written(name)
    assert not made or not collisions(engraved(made.musicxml, width, spacing=spacing).svg)


def test_a_count_keeps_clear_of_the_stems_of_the_feet():
    """Under a stem that hangs down are three px or more of white paper, and then the count."""
    found = boxes(score(rl.playing.resolve((7, 4)), 120).svg())
    stems = [box for box in found if box.what == "stem"]
    for count in (box for box in found if box.what == "count"):
        over = [
            one.bottom
            for one in stems
            if count.left - 4 < one.left < count.right and one.bottom < count.bottom
        ]
        assert all(count.top - bottom >= 3 for bottom in over if count.top - bottom < 60)


def test_a_few_rhythms_only_are_not_there():
    """The cases above are real ones: nearly all of them can be written."""
    assert sum(written(name) is None for name in some(DRUMS, 10, "drums that are there")) <= len(DRUMS) // 20


@pytest.mark.parametrize("metre", ["4/4", "3/4", "2+2+3/8", "5/4", "12/8", "15/16"])
def test_digits_of_a_time_signature_stand_apart(metre):
    """Between the upper and the lower digits is white paper, a fifth of a space or more, on every staff."""
    page = score(rl.playing.accents(metre, 5), 90).svg()
    digits = [box for box in boxes(page) if box.what == "time signature"]
    low = max(box.bottom for box in digits[:-1] if box.top <= digits[0].top)
    assert min(box.top for box in digits if box.top > low) - low > 1.4


FILLS = [
    (p, q, metre) for p, q in product(range(3, 13), range(2, 9)) if p > q for metre in ("7/8", "4/4", "5/4")
]


def runs(page: str) -> list[list[float]]:
    """Return where the heads of each tuplet stand that is all notes, one after the other, and no dots."""
    found = []
    for group in ElementTree.fromstring(page).iter(f"{SVG}g"):
        if group.get("class") != "tuplet":
            continue
        inside = [one for one in group.iter(f"{SVG}g") if one.get("class") in ("rest", "dots", "notehead")]
        if len(inside) > 2 and {one.get("class") for one in inside} == {"notehead"}:
            heads = [next(one.iter(f"{SVG}use")).get("transform") for one in inside]
            found.append([float(re.search(r"translate\((\d+)", head)[1]) * 0.04 for head in heads])
    return found


@pytest.mark.parametrize(
    ("p", "q", "metre"), some(FILLS, 24, "runs of fills", [(7, 4, "7/8"), (5, 4, "7/8")])
)
def test_a_run_of_equal_notes_is_evenly_spaced(p, q, metre):
    """Where a bar has room for the words of a fill, no step from note to note is wider than others."""
    try:
        made = score(rl.playing.resolve((p, q), metre), 90)
    except ValueError:  # such a pair has no fill in this bar
        return
    times = re.findall(r"<beats>([\d+]+)</beats><beat-type>(\d+)<", made.musicxml)
    long = max(Fraction(4 * sum(map(int, top.split("+"))), int(bottom)) for top, bottom in times)
    if made._look["quarter_px"] >= int((LINE_PX - 60) / long):  # the words of one bar are longer than a line
        return
    for heads in (heads for page in pages(made) for heads in runs(page)):
        steps = [b - a for a, b in pairwise(heads)]
        assert max(steps) - min(steps) <= 1.5 + 0.04 * min(steps), steps

"""Nothing on a page of notes stands in anything else: every box against every other, from its outline."""

import pytest

import rhythmlab as rl
from rhythmlab.notation.score import score
from tests.notation.boxes import boxes, collisions
from tests.profile import some

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


@pytest.mark.parametrize("metre", ["4/4", "3/4", "2+2+3/8", "5/4", "12/8", "15/16"])
def test_digits_of_a_time_signature_stand_apart(metre):
    """Between the upper and the lower digits is white paper, a fifth of a space or more, on every staff."""
    page = score(rl.playing.accents(metre, 5), 90).svg()
    digits = [box for box in boxes(page) if box.what == "time signature"]
    low = max(box.bottom for box in digits[:-1] if box.top <= digits[0].top)
    assert min(box.top for box in digits if box.top > low) - low > 1.4

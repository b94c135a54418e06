"""The picture of progress: cold and warm takes of each day, the goal, the words; both painters draw it."""

from datetime import UTC, datetime, timedelta
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmlab.draw.figure import figure
from rhythmlab.draw.palette import shape
from rhythmlab.draw.progress import MOST_DAYS, progress
from rhythmlab.draw.scene import ROW, Line, Rule, Text
from rhythmlab.draw.svg import svg
from tests.audio.measure import box, outside, overlaps
from tests.draw import painted
from tests.refusals import refusal
from tests.strategies import TRIES, bpms
from tests.wrong import VALUES, TooLong, call, fault, in_time

COLD, WARM = 2, 3
FIRST = datetime(2030, 5, 1, 18, tzinfo=UTC)


def row(day: int, minute: int = 0, bpm: object = 84, **more: object) -> dict:
    """Return a take, so many days after the first of May."""
    when = (FIRST + timedelta(days=day, minutes=minute)).isoformat()
    return {"kind": "take", "when": when, "pair": [4, 3], "pulse": 1, "limbs": "hands", "bpm": bpm, **more}


def many(count: int, each: int = 3) -> list[dict]:
    """Return so many takes, several a day."""
    return [
        row(n // each, 5 * (n % each), 60 + n // 4 + n % each, spread_percent=5 - n / 100)
        for n in range(count)
    ]


def texts(scene) -> list[str]:
    return [mark.text for mark in scene.marks if isinstance(mark, Text)]


def test_each_day_has_its_first_take_and_the_fastest_after_it():
    """Cold takes are squares, warm ones triangles, in their days' columns; slower warm ones are left out."""
    rows = [row(0, 0, 84), row(0, 5, 90), row(0, 9, 87), row(2, 0, 86), row(3, 0, 88), row(3, 5, 80)]
    scene = progress(rows[::-1])
    assert [stroke.x for stroke in scene.strokes(COLD)] == [1, 5, 9]
    assert [stroke.x for stroke in scene.strokes(WARM)] == [3, 11]
    assert shape(COLD) != shape(WARM)
    ys = [stroke.y for stroke in scene.strokes(COLD)]
    assert ys == sorted(ys, reverse=True)
    assert len(set(ys)) == 3
    (best, slow) = (stroke.y for stroke in scene.strokes(WARM))
    # in proportion: 80 is at the bottom, 90 at the top, so 84 is four tenths up
    assert ys[0] == pytest.approx(slow + (best - slow) * 0.4)
    assert ys[2] == pytest.approx(slow + (best - slow) * 0.8)
    rules = [mark.x for mark in scene.marks if isinstance(mark, Rule)]
    assert rules == [0, 4, 8, 12]
    assert {"1 May", "3 May", "4 May"} <= set(texts(scene))


def test_the_goal_is_a_line_at_its_tempo():
    """A strong line across, named beside it; takes above it stand above."""
    scene = progress([row(0, 0, 84), row(1, 0, 110)], goal=Fraction(201, 2))
    (line,) = [mark for mark in scene.marks if isinstance(mark, Line) and mark.role == "beat"]
    assert (line.left, line.right, line.top) == (scene.start, scene.stop, line.bottom)
    slow, fast = scene.strokes(COLD)
    assert slow.y > line.top > fast.y
    assert line.top - fast.y == pytest.approx((slow.y - fast.y) * (110 - 100.5) / (110 - 84))
    (name,) = [mark for mark in scene.marks if isinstance(mark, Text) and mark.text == "goal 100.5"]
    assert (name.y, name.side) == (line.top, "right")
    assert not [m for m in progress([row(0)]).marks if isinstance(m, Line) and m.role == "beat"]


def test_the_scale_names_tempos_where_they_stand():
    """Each tempo in the gutter is at the height where a take of that tempo stands."""
    scene = progress([row(0, 0, 80), row(1, 0, 100), row(2, 0, 90)])
    named = {m.text: m.y for m in scene.marks if isinstance(m, Text) and m.side == "left"}
    assert named == {
        f"{bpm} bpm": pytest.approx(scene.strokes(COLD)[0].y - (bpm - 80) / 20 * named_height(scene))
        for bpm in (80, 85, 90, 95, 100)
    }


def named_height(scene) -> float:
    """Rows from the slowest take to the fastest."""
    ys = [stroke.y for stroke in scene.strokes()]
    return max(ys) - min(ys)


def test_the_words_say_the_facts():
    """One sentence: days, pair, limbs, first and last cold take, the fastest warm one, goal and spread."""
    rows = [
        row(0, 0, 84, spread_percent=4.2),
        row(0, 5, 88),
        row(8, 0, 93, spread_percent="31/10"),
        {"kind": "note", "when": FIRST.isoformat()},
    ]
    assert progress(rows, goal=120).alt == (
        "Tempo over 2 days of practice, 4 against 3, hands: the first take of the day, cold, went from "
        "84 bpm of the 3 on 1 May to 93 on 9 May; the fastest take after it was at 88 on 1 May; the goal "
        "is 120 bpm; "
        "spread of the first takes 4.2 % on 1 May and 3.1 % on 9 May."
    )
    assert "Spread of the first takes 4.2 % on 1 May and 3.1 % on 9 May." in texts(progress(rows))
    one = progress([row(0, 0, 84)])
    assert one.alt == (
        "Tempo over 1 day of practice, 4 against 3, hands: the first take of the day, cold, was at 84 bpm of "
        "the 3 on 1 May; no day had a second take."
    )


def test_without_takes_it_says_so():
    """No strokes, a sentence, the goal where there is one."""
    scene = progress([])
    assert scene.alt == "No take has been kept yet, so there is no progress to draw."
    assert texts(scene) == [scene.alt]
    assert scene.strokes() == ()
    assert progress([{"kind": "note"}], goal=90).alt.endswith("The goal is 90 bpm.")


def test_of_many_days_the_last_are_shown_and_it_is_said():
    """Days that would not fit are counted in words, and the last ones are drawn."""
    scene = progress(many(200))
    assert scene.alt.startswith(f"Tempo over the last {MOST_DAYS} of 67 days of practice")
    assert [stroke.x for stroke in scene.strokes(COLD)] == [4 * n + 1 for n in range(MOST_DAYS)]
    assert scene.stop == 4 * MOST_DAYS


def test_tempos_of_another_pulse_are_converted():
    """112 of the 4 is 84 of the 3: said in the pulse of the last take, or in the one that is asked for."""
    rows = [row(0, 0, 112, pulse=0), row(1, 0, 84)]
    scene = progress(rows)
    assert len({stroke.y for stroke in scene.strokes(COLD)}) == 1
    assert "from 84 bpm of the 3 on 1 May to 84" in scene.alt
    assert "from 112 bpm of the 4 on 1 May to 112" in progress(rows, pulse=0).alt


@pytest.mark.parametrize("count", [0, 1, 2, 40, 200])
@pytest.mark.parametrize("goal", [None, 61, 84, 300])
def test_both_painters_draw_it_and_its_labels_can_be_read(count, goal):
    """Every stroke is painted at its place; no label lies on another or a stroke, none leaves the canvas."""
    scene = progress(many(count), goal)
    root = painted.parse(svg(scene))
    assert root.get("aria-label") == scene.alt
    drawn = painted.strokes(root)
    assert [(tick, lane) for tick, lane, *_ in drawn] == [(s.x, s.lane) for s in scene.strokes()]
    for (_, _, x, y, _), stroke in zip(drawn, scene.strokes(), strict=True):
        assert (x, y) == (pytest.approx(scene.x(stroke.x), abs=0.02), pytest.approx(stroke.y * ROW, abs=0.02))
        assert scene.left <= x <= 880 - scene.right
    assert figure(scene).axes[0].get_label() == scene.alt
    readable(scene)


def readable(scene) -> None:
    assert overlaps(scene) == []
    assert outside(scene) == []
    for text in (m for m in scene.marks if isinstance(m, Text) and m.side in ("", "from")):
        left, right, top, bottom = box(scene, text)
        for stroke in scene.strokes():
            x, y = scene.x(stroke.x), stroke.y * ROW
            across, down = max(left - x, 0, x - right), max(top - y, 0, y - bottom)
            assert across**2 + down**2 >= (scene.radius * (0.62 if stroke.small else 1)) ** 2


@TRIES
@given(
    st.lists(st.tuples(st.integers(0, 900), st.integers(0, 60), bpms), max_size=60),
    st.none() | bpms | st.sampled_from([1, 10_000]),
)
def test_any_takes_can_be_drawn_and_read(takes, goal):
    """Whatever tempos and days, strokes lie in the frame, labels can be read, and there are few of them."""
    scene = progress([row(*take) for take in takes], goal)
    readable(scene)
    assert all(1.3 <= stroke.y <= 6.3 for stroke in scene.strokes())
    assert len(scene.strokes(COLD)) == min(MOST_DAYS, len({day for day, *_ in takes}))
    assert sum(isinstance(mark, Text) and mark.side == "left" for mark in scene.marks) <= 7


@pytest.mark.parametrize("count", [20, 200])
def test_no_stroke_hides_another(count):
    """Cold and warm takes of the same tempo stand side by side."""
    scene = progress([row(n // 2, n % 2, 84) for n in range(count)])
    at = sorted(
        (scene.x(s.x), scene.radius * (0.62 * 1.2 if s.lane == WARM else 0.88)) for s in scene.strokes()
    )
    for (one, r), (two, s) in pairwise(at):
        assert two - one > r + s


def test_several_kinds_and_bad_goals_are_refused():
    """Takes of two pairs do not share a scale; a goal is a tempo."""
    rows = [row(0), row(0, 5, 90, pair=[7, 4])]
    refusal(lambda: progress(rows), "of 2 kinds", "each has its own tempo")
    for goal, wrong in ((-1, "not a finite number above 0"), (10**6, "more than 10,000")):
        refusal(lambda given=goal: progress([row(0)], goal=given), f"goal={goal}", wrong)
    refusal(lambda: progress([row(0, bpm=None)]), "bpm=None", "not a tempo above 0")


@pytest.mark.parametrize(
    "field", ["pair", "limbs", "pulse", "spread_percent", "when", "bpm", "missed", "id", "kind"]
)
def test_a_take_that_no_journal_keeps_is_drawn_or_refused_in_words(field):
    """Whatever stands in a field of a take, alone and beside another: drawn, or refused with an example."""
    faults = []
    for said, value in VALUES.items():
        for beside in ([], [row(3)]):
            try:
                with in_time():
                    call(progress, {"rows": [{**row(0), field: value()}, *beside]})._repr_html_()
            except (Exception, TooLong) as error:
                faults += [f"{said}: {wrong}" for wrong in [fault(error, progress)] if wrong]
    assert not faults

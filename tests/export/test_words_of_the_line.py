"""The line of a handout: a stroke has the words of its own pulse in picture, count and notes."""

from itertools import combinations

import rhythmlab as rl
from rhythmlab.core.feel import Feel
from rhythmlab.draw.scene import Scene, Text
from rhythmlab.export.lesson import of_pair
from rhythmlab.playing.limits import limits
from tests import brute
from tests.profile import some

TRIPLES, QUADRUPLES = (list(combinations(range(2, 9), size)) for size in (3, 4))


def rows_of(scene: Scene) -> dict[str, dict[int, str]]:
    """Return the small words of each line of the count, by what the line is called and by tick."""
    texts = [mark for mark in scene.marks if isinstance(mark, Text)]
    numbers = sorted({mark.y for mark in texts if mark.role == "big"})
    names = {mark.y: mark.text for mark in texts if mark.side == "left"}
    rows: dict[str, dict[int, str]] = {names[y]: {} for y in numbers}
    for mark in texts:
        if (mark.role, mark.side) == ("small", "") and mark.y >= numbers[0]:
            row = max(y for y in numbers if y <= mark.y)
            assert rows[names[row]].setdefault(int(mark.x), mark.text.lower()) == mark.text.lower()
    return rows


def test_the_line_has_the_words_of_each_pulse():
    """Each home, in our groups and the reader's: picture, its text, count, steps and notes say the same."""
    seen = 0
    for pulses in [*some(TRIPLES, 6, 0, [(2, 3, 5), (3, 4, 5)]), *some(QUADRUPLES, 7, 0)]:
        p = rl.Polyrhythm(*pulses)
        for home, pulse in enumerate(pulses):
            feel = Feel(p, home)
            long = {feel.parts(i) for i in range(len(pulses))} - set(range(5))
            for own in {(), tuple(tuple(reversed(brute.groups(parts))) for parts in sorted(long))}:
                lesson = of_pair(p, rl.Tempo(40, pulse=home), home, limits(), own)
                if lesson.line is None or lesson.line_title != "The line":  # a road has one pulse of it
                    continue
                scene, rows = lesson.line[0], rows_of(lesson.line[0])
                notes = rl.score(p, 40, home=home, groups=own).alt
                for i, other in enumerate(pulses):
                    if i == home:
                        continue
                    group = next((one for one in own if sum(one) == feel.parts(i)), ())
                    said = brute.said(pulse, other, group)
                    drawn = [word for word, tick in zip(said, p.onsets(i), strict=True) if tick < scene.stop]
                    assert f"the {other} falls on {', '.join(drawn)}" in scene.alt
                    assert f"the {other} falls on {', '.join(said)}" in notes
                    assert (
                        f"the {other} on {', '.join(drawn)}" in lesson.line[1] or "Keep" not in lesson.line[1]
                    )
                    assert f"the {other} on {', '.join(said)}" in lesson.counts[0][1]
                    row = rows[f"the {other}"] if len(pulses) > 2 else rows["count"]
                    places = dict(zip(p.onsets(i).tolist(), said, strict=True))
                    for tick, word in row.items():
                        assert f"{word} of {tick // feel.beat_ticks + 1}" == places[tick]
                    seen += len(row)
    assert seen > 30

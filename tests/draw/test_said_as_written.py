"""The words of a picture are what stands in it: each place by the word that is written there."""

import re
from itertools import product

import pytest

import rhythmlab as rl
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.feel import Feel
from rhythmlab.draw.pictures import strip_in_words
from rhythmlab.draw.scene import Scene, Text
from rhythmlab.panels.wall import in_quarters
from tests import brute
from tests.profile import some

PAIRS = [(p, q) for p, q in product(range(2, 25), repeat=2) if p != q]
GROOVES = [
    *(("resolve", pair, metre) for pair in PAIRS[::29] for metre in ("4/4", "2+2+3/8", "5/4")),
    *(("accents", every, metre) for every in (3, 5, 7) for metre in ("4/4", "2+2+3/8", "6/8")),
    *(("ostinato", hands, metre) for hands in ("x.x.xx", "4 3 4 3", "xx.") for metre in ("4/4", "7/8")),
]

#: One of each kind that has many words, in every sample: they alone have 60.
KEPT = [
    *(("resolve", (19, 5), "4/4"), ("accents", 5, "4/4"), ("ostinato", "x.x.xx", "4/4")),
    ("resolve", (20, 12), "2+2+3/8"),  # whose hi-hat falls on a stroke of its fill
]


def written(scene: Scene) -> dict[int, set[str]]:
    """Return the small words under each tick, in small letters."""
    found: dict[int, set[str]] = {}
    for mark in scene.marks:
        if isinstance(mark, Text) and (mark.role, mark.side) == ("small", "") and mark.text != "lands":
            found.setdefault(int(mark.x), set()).add(mark.text.lower())
    return found


def told(scene: Scene, lane: str) -> list[str]:
    """Return where a lane falls, as the words of a picture say it: its first places and its last."""
    ends = r"(?: \([\d, and]+ parts to a beat\))?(?:, (?:not )?accented .*?)?(?:; the |; it lands|\.$)"
    row = re.search(f"the {lane} falls on (.*?){ends}", scene.alt)[1]
    return [re.sub(r"^(before )?bar \d+: ", "", name) for name in re.split(r"[,;] | … ", row)]


def check(scene: Scene, cycle: Cycle, home: str) -> int:
    """Hold that every word written under a stroke is what is told of it; return how many there were."""
    words, seen = written(scene), 0
    for lane in cycle.lanes:
        ticks = [tick for tick in lane.onsets.tolist() if scene.start <= tick < scene.stop]
        if lane.name == home or not ticks or f"the {lane.name} falls on" not in scene.alt:
            continue
        names = told(scene, lane.name)
        shown = ticks if len(ticks) <= 16 else [*ticks[:8], *ticks[-8:]]
        for tick, name in zip(shown, names, strict=True):
            assert "." not in name, scene.alt
            word, _, beat = name.rpartition(" of ")
            assert beat.removeprefix("beat ").isdecimal(), (name, scene.alt)
            if tick in words and word and not word.startswith("part "):
                assert word in words[tick], (tick, name, words[tick])
                seen += 1
    return seen


@pytest.mark.parametrize("home", [0, 1])
def test_the_words_of_a_pair_are_those_in_its_picture(home):
    """2 to 24, both homes, in our groups and in the reader's: told as written, and as said beat by beat."""
    for pair in some(PAIRS, 24, home, [(7, 4), (5, 2), (24, 23)]):
        p = rl.Polyrhythm(*pair)
        for groups in ("", tuple(reversed(brute.groups(Feel(p, home).parts(1 - home))))):
            own = groups if len(groups) > 1 and sum(groups) > 4 else ()
            scene = rl.pictures.strip(p.cycle(home), groups=own)
            seen = check(scene, p.cycle(home), str(pair[home]))
            assert seen or Feel(p, home).parts(1 - home) == 1 or "no room" in str(scene.marks)
            said = brute.said(pair[home], pair[1 - home], own)
            shown = said if len(said) <= 16 else [*said[:8], *said[-8:]]
            assert told(scene, str(pair[1 - home])) == shown
            every = rl.pictures.homes(p, groups=own)
            part = every.alt.split(f"counted from the {pair[home]}, ")[1].split("; counted")[0].rstrip(".")
            assert part.startswith(f"the {pair[1 - home]} falls on {', '.join(shown[:8])}")


def test_the_words_of_a_groove_are_those_in_its_picture():
    """Bars with fills, accents and patterns: a stroke that shares a beat with others has one name."""
    seen = 0
    for kind, what, metre in some(GROOVES, 9, 0, KEPT):
        if kind == "resolve":
            try:
                cycle = rl.playing.resolve(what, metre, bars=2)
            except ValueError:  # no stroke of it falls in the bars before it lands
                continue
        elif kind == "accents":
            cycle = rl.playing.accents(metre, what)
        else:
            cycle = rl.ostinato("x..x..x.", what, metre=metre)
        stop = int(cycle.bars[1]) if len(cycle.bars) > 1 else cycle.ticks
        for start, end in ((0, stop), (int(cycle.bars[-1]), cycle.ticks)):
            seen += check(rl.pictures.strip(cycle, start=start, stop=end), cycle, "")
    assert seen >= 60


def test_strokes_of_lanes_that_share_a_beat_are_told_as_they_are_counted_together():
    """A quarter place beside an eighth place is in eighths, in the picture and in its words."""
    lanes = [rl.Lane("one", [0, 2]), rl.Lane("two", [0, 1])]
    scene = rl.pictures.strip(Cycle(16, lanes, beats=[0, 8]))
    assert written(scene) == {1: {"e"}, 2: {"&"}}
    assert told(scene, "one") == ["1", "& of 1"]
    assert told(scene, "two") == ["1", "e of 1"]


@pytest.mark.parametrize("number", [13, 14, 23, 31])
def test_a_phrase_is_told_in_the_words_that_are_under_it(number):
    """Whichever count is chosen, the words of the picture are the words in it, group by group."""
    for count in ("numbers", "groups", "beats", "eastman", "takadimi"):
        phrase = rl.phrases(number)[0]
        words = [word for group in phrase.said(count) for word in group]
        cycle = rl.stick(phrase, 90).cycle()
        scene = strip_in_words(cycle, words)
        groups = re.search(r"said (.*?); the first stroke of each accented\.$", scene.alt)[1].split(", ")
        assert groups[: len(phrase)] == [" ".join(group).lower() for group in phrase.said(count)]
        marks = [
            (mark.x, mark.text.lower())
            for mark in scene.marks
            if isinstance(mark, Text) and mark.role in ("big", "small") and mark.side == ""
        ]
        assert len(marks) > 9
        for tick, text in marks:
            assert text == words[int(tick) % number].lower()


def test_a_line_by_landmarks_is_told_by_them():
    """What a wall leaves out under a long line is not said of it either."""
    for pair in ((8, 7), (16, 15), (12, 11)):
        feel = Feel(pair)
        scene = in_quarters(rl.pictures.strip(pair), feel, feel.cycle())
        names = {tick: name for tick, (name,) in written(scene).items()}
        assert told(scene, str(pair[0])) == [
            f"{names[tick]} of {tick // feel.beat_ticks + 1}" for tick in sorted(names)
        ]


def test_a_beat_too_long_to_say_is_told_by_its_parts():
    """Part and beat in words, and once into how many parts a beat is cut; never a number with a point."""
    alt = rl.pictures.strip((64, 63)).alt
    assert "the 64 falls on 1, part 64 of beat 1, part 63 of beat 2, " in alt
    assert "part 2 of beat 63 (64 parts to a beat); " in alt
    assert not re.search(r"\d\.\d", alt)

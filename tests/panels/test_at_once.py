"""What the browser answers by itself, before Python does: Python's own answer, to the letter."""

import json
import random
import re
import subprocess
from fractions import Fraction
from pathlib import Path

import pytest

from rhythmlab.core.composite import composite
from rhythmlab.core.feel import Feel, own_groups
from rhythmlab.core.gaps import phase_gaps
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.draw.gap_cycle import gap_cycle
from rhythmlab.draw.pictures import strip
from rhythmlab.draw.svg import svg
from rhythmlab.panels.controls import MOST_STROKES, read_bpm, read_pulse
from rhythmlab.panels.pages_00_to_04 import choose_home, follow_gaps, merge_pulses, two_numbers
from rhythmlab.panels.stage.at_once import at_once, sentences
from rhythmlab.panels.stage.sounding import MOST_A_SECOND, RATE, fastest, plan, spots, strokes_of
from rhythmlab.playing.hearing import zones
from rhythmlab.playing.limits import limits
from rhythmlab.text import counts, descriptions, numbers
from tests.profile import SEED, some

ANSWERS = Path(__file__).parents[1] / "js" / "answers.mjs"
PAIRS = [(a, b) for a in range(1, 33) for b in range(1, 33)]
MORE = [
    *(
        (3, 4, 5),
        (2, 3, 4),
        (6, 4, 3),
        (7, 7, 5),
        (5, 5, 5),
        (4, 6, 9),
        (2, 3, 5, 7),
        (8, 12, 16, 24),
        (3, 3, 2, 2),
    ),
    *((64, 63), (65, 64), (127, 3), (1, 129), (97, 31), (48, 36), (11, 12, 13)),
]
TEMPOS = [
    Fraction(72),
    Fraction(100),
    Fraction(133),
    Fraction("72.5"),
    Fraction("99.99"),
    Fraction(400, 3),
    Fraction(1),
]
GROUPS = ["", "", "3+4, 2+3", "2+2+3, 4+5, 5+5+5, 9+8", "6+6+6+6+7, 1+1+1+1+1, 14+15"]


def cases():
    """Return every rhythm at every home, each at a tempo, groups and a width of its own."""
    drawn = random.Random(f"{SEED} at once")
    return [
        {
            "pulses": pulses,
            "home": home,
            "tempo": drawn.choice(TEMPOS),
            "groups": own_groups(drawn.choice(GROUPS), ""),
            "turn": drawn.randrange(9),
            "flam": drawn.choice([None, 30, 12.5, 140]),
            "width": drawn.choice([400, 600, 880, 1240]),
        }
        for pulses in [*some(PAIRS, 8, "pairs at once", always=[(1, 1), (7, 4), (16, 15), (31, 32)]), *MORE]
        for home in range(len(pulses))
    ]


@pytest.fixture(scope="module")
def answered(node):
    """Return how the browser's script answers, run by Node."""

    def answer(**asked):
        text = json.dumps({"templates": sentences(), **asked})
        done = subprocess.run([node, ANSWERS], input=text, capture_output=True, text=True, timeout=300)
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)

    return answer


@pytest.fixture(scope="module")
def both(answered):
    """Return each case with what the browser answers to it."""
    asked = cases()
    sent = [
        {
            **one,
            "bpm": one["tempo"].as_integer_ratio(),
            "tempo": None,
            "limits": at_once((), hearing(one), 20_000)["limits"],
            "rate": RATE,
            "most": MOST_A_SECOND,
        }
        for one in asked
    ]
    return list(zip(asked, answered(cases=sent)["cases"], strict=True))


def of(case):
    return Feel(case["pulses"], case["home"], groups=case["groups"]), Tempo(case["tempo"], pulse=case["home"])


def hearing(case):
    return limits() if case["flam"] is None else limits(flam=case["flam"])


def test_the_browser_plans_what_python_plans(both):
    """What is to sound is the same for every pair, triple and quad: whole numbers, floats and names."""
    for case, browser in both:
        assert browser["plan"] == json.loads(json.dumps(plan(*of(case), case["turn"]))), case


def test_the_browser_says_what_python_says(both):
    """Title, facts, names, the count, the heard line and the places of a loop are equal to the letter."""
    for case, browser in both:
        feel, tempo = of(case)
        p = feel.polyrhythm
        python = {
            "title": descriptions.pair(p),
            "facts": descriptions.facts(p, tempo),
            "names": [descriptions.pulse_name(p, i) for i in range(len(p.pulses))],
            "count": counts.count(feel),
            "heard": descriptions.heard(composite(p)),
            "intervals": composite(p).intervals.tolist(),
            "spots": spots(feel),
        }
        assert {key: browser[key] for key in python} == json.loads(json.dumps(python)), case


#: A place in px, of two decimals; the text of a picture has none in front of a sign of its path.
PX = re.compile(r'(?<=[ "MLHVa])-?\d+\.\d\d(?=[ "MLHVaZ])')

#: Not needed inside a page.
XMLNS = ' xmlns="http://www.w3.org/2000/svg"'


def same_picture(browser: str, python: str, case: dict):
    """Hold two pictures equal: every letter of them, and every place within 0.011 px."""
    browser, python = (one.replace(XMLNS, "") for one in (browser, python))
    apart = [
        abs(float(one) - float(other))
        for one, other in zip(PX.findall(browser), PX.findall(python), strict=False)
    ]
    assert (PX.sub("px", browser), max(apart) <= 0.011) == (PX.sub("px", python), True), case


def test_the_browser_draws_the_heard_line_as_python_does(both):
    """The picture at four widths and in every home, and its text alternative, are Python's own."""
    for case, browser in both:
        feel, _ = of(case)
        drawn = strip(feel.cycle(), start=0, width=case["width"], groups=case["groups"])
        same_picture(browser["line"], svg(drawn, live=True), case)


def test_the_browser_draws_the_gap_cycle_as_python_does(both):
    """The tide of a home's next pulse, its zones and its words are Python's own, at every tempo and limit."""
    for case, browser in both:
        feel, tempo = of(case)
        gaps = phase_gaps(feel.polyrhythm, feel.flip().home, feel.home)
        drawn = gap_cycle(zones(gaps, tempo, limits=hearing(case)), width=case["width"])
        same_picture(browser["gaps"], svg(drawn, live=True), case)


def test_the_browser_writes_numbers_as_python_does(answered):
    """Thousands, decimals, ties and very small numbers are written alike."""
    drawn = random.Random(f"{SEED} numbers")
    asked = [
        (value, digits)
        for value in [
            *(drawn.random() * 10 ** drawn.randint(-4, 6) for _ in range(400)),
            *(drawn.randrange(10**6) / 8 for _ in range(200)),
            *(drawn.randrange(10**5) / 200 for _ in range(200)),
            *(10.0**n for n in range(-4, 7)),
            0.0,
        ]
        for digits in (0, 1, 2, 3)
    ]
    said = answered(numbers=asked)["numbers"]
    assert said == [numbers.number(*one) for one in asked]


#: What is typed into a field: numbers of every sort, and what is none.
TYPED = [
    *(
        "7",
        " 7 ",
        "007",
        "0",
        "",
        "-3",
        "7.5",
        "7,5",
        ".5",
        "5.",
        ".",
        "1e2",
        "7/8",
        "2+3",
        "x",
        "7x",
        "\t7",
        "\ufeff7",
    ),
    *(
        "1000",
        "1000.1",
        "1000,001",
        "0.999",
        "99999",
        "999999999999999",
        "9" * 30,
        "72.5000",
        "72.12345678",
        "٧",
        "²",
    ),
]


def test_the_browser_follows_nothing_that_python_refuses(answered):
    """What the browser reads in a field is what Python reads there; all else is left to Python."""
    read = dict(zip(TYPED, answered(typed=TYPED)["typed"], strict=True))
    assert (read["7"], read["7,5"]) == ([7, [7, 1]], [None, [15, 2]])
    for text, (pulse, bpm) in read.items():
        if pulse is not None and pulse <= MOST_STROKES:  # more is not drawn, whatever it is
            assert read_pulse(text, 0) == pulse
        if bpm is not None:
            assert read_bpm(text) == Fraction(*bpm)


def test_the_browser_follows_no_tempo_at_which_strokes_are_too_dense(answered):
    """Up to the fastest tempo that Python plays both are followed, from there only what Python follows."""
    shown = {"pulses": [7, 4], "bpm": [72, 1]}
    asked = []
    for pulses in ([64, 63], [100, 3], [16, 15], [3, 97]):
        fast = fastest(strokes_of(Polyrhythm(*pulses)), pulses[1])
        asked += [
            ({"pulses": pulses, "bpm": (fast + more).as_integer_ratio()}, shown, 1, MOST_A_SECOND)
            for more in (0, Fraction(1, 1000))
        ]
    for (wish, *_), found in zip(asked, answered(dense=asked)["dense"], strict=True):
        p = Polyrhythm(*wish["pulses"])
        plays = Fraction(*wish["bpm"]) <= fastest(strokes_of(p), p.pulses[1])
        slow = fastest(strokes_of(p), p.pulses[1]) >= 72
        other = [wish["pulses"], [72, 1]] if slow else [[7, 4], list(wish["bpm"])]
        assert found == ([wish["pulses"], list(wish["bpm"])] if plays else other)


def same_way(panel, what, value):
    """Change a panel as its reader does."""
    if what == "home":
        panel.stage.home = value
    elif what == "slid":
        turn = panel.stage.slid.get("turn", 0) + 1
        panel.stage.slid = {"bpm": value, "home": panel.stage.home, "turn": turn}
    elif what == "view":
        panel._view.value = value
    else:
        (panel._bpm if what == "bpm" else panel._pulses.fields[what]).value = value


def changes(drawn, count):
    """Return changes of fields as a reader makes them, some of them refused."""
    ways = {
        0: ["5", "7", "16", "32", "x", "", "200", "64", "3", "99999"],
        1: ["4", "15", "31", "6", "0", "63", "100", "5"],
        "bpm": ["60", "133.25", "99,5", "1", "1000", "fast", "", "72", "400"],
        "slid": [50, 88, 120],
        "home": [0, 1],
        "view": ["heard line", "gap cycle"],
    }
    chosen = [drawn.choice(list(ways)) for _ in range(count)]
    return [(what, drawn.choice(ways[what])) for what in chosen]


NAMES = ("ahead", "answered", "plan", "pictures", "home", "head", "bpm_range", "slid", "asked")


def state_of(panel):
    """Return what the browser has of a panel."""
    state = {name: getattr(panel.stage, name) for name in NAMES}
    return {**state, "slid": panel.stage.slid or {"turn": 0}}


def test_an_older_answer_is_never_shown_not_even_to_what_is_typed_again(answered):
    """7, then 5, then 7 again: the answer to 5 comes late and is not shown, and the last one stands."""
    panel = two_numbers(7, 4)
    todo = {"state": state_of(panel), "texts": panel.stage.answered, "views": list(panel._view.options)}
    late = []
    for asked, number in enumerate(("5", "7"), 1):
        panel._pulses.fields[0].value = number
        panel.stage.asked = asked
        late.append(state_of(panel))
    todo["changes"] = [(0, "5"), (0, "7"), ("python", late[0]), ("python", late[1])]
    titles = [one["head"]["title"] for one in answered(panels=[todo])["panels"][0]]
    assert titles == ["5 against 4", "7 against 4", "7 against 4", "7 against 4"]


def test_what_the_browser_does_not_know_is_left_to_python(answered):
    """A panel that tells the browser nothing shows Python's picture until Python sends another."""
    panel = two_numbers(7, 4)
    state = {**state_of(panel), "ahead": {}}
    todo = {"state": state, "texts": panel.stage.answered, "views": list(panel._view.options)}
    todo["changes"] = [(0, "5"), ("home", 0), ("bpm", "60"), ("view", "gap cycle")]
    shown = answered(panels=[todo])["panels"][0]
    assert [one["svg"] for one in shown] == [panel.stage.pictures[home]["svg"] for home in (1, 0, 0, 0)]


@pytest.mark.parametrize("seed", some(range(24), 4, "panels followed"))
def test_a_panel_that_is_not_answered_shows_what_python_will(answered, seed):
    """Whatever is typed, slid and flipped: picture, title, facts, plan and tempo are those that Python makes.

    What Python refuses, and what the browser leaves to it, changes nothing until Python has answered.
    """
    drawn = random.Random(f"{SEED} panel {seed}")
    made = drawn.choice([two_numbers, merge_pulses, choose_home, follow_gaps])(7, 4)
    made._view.value = drawn.choice(["heard line", "gap cycle"])
    stage = made.stage
    todo = {
        "state": state_of(made),
        "texts": stage.answered,
        "views": list(made._view.options),
        "changes": changes(drawn, 12),
    }
    known = 0
    shown = answered(panels=[todo])["panels"][0]
    for (what, value), browser in zip(todo["changes"], shown, strict=True):
        same_way(made, what, value)
        picture = stage.pictures[stage.home]
        if browser["head"]["title"] != stage.head["title"] and sum(made.feel.polyrhythm.pulses) > 130:
            return  # a long rhythm, of which Python shows a window
        known += 1
        python = {name: getattr(stage, name) for name in ("head", "bpm_range")}
        python |= {name: picture[name] for name in ("home", "bpm", "spots")} | {"tempo": made._bpm.value}
        assert {name: browser[name] for name in python} == json.loads(json.dumps(python)), str(
            todo["changes"][:known]
        )
        same_picture(browser["svg"], picture["svg"], todo["changes"])
        lanes = ("ticks", "lanes", "homes", "bpms", "cycle_s", "pulses")
        assert {name: browser["plan"][name] for name in lanes} == {name: stage.plan[name] for name in lanes}
    assert known

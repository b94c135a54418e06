"""The room: by keys alone, on one screen, the halves in sound and on screen, the set list by one key."""

import re

import pytest

from rhythmlab.panels.wall import wall as make_wall
from tests.browser.bare import open_stage, open_wall, wait_until
from tests.browser.jupyter import end_sessions, open_page, run_all, settled, shot

WALL = "workshop/put-two-numbers-on-the-wall.ipynb"
LIST = "workshop/step-through-a-set-list.ipynb"
_FITS = """() => {
  const wall = document.querySelector(".rl-wall");
  const shown = [...wall.querySelectorAll("*")].filter((one) => one.checkVisibility());
  const seen = shown.filter((one) => !one.closest("svg") && one.textContent.trim());
  const boxes = seen.map((one) => one.getBoundingClientRect());
  const picture = wall.querySelector(".rl-picture svg").getBoundingClientRect();
  return {
    tall: wall.scrollHeight - wall.clientHeight,
    wide: wall.scrollWidth - wall.clientWidth,
    low: Math.max(...boxes.map((box) => box.bottom)),
    right: Math.max(...boxes.map((box) => box.right)),
    picture: picture.height,
  };
}"""


@pytest.fixture
def page(one_lab):
    return one_lab


def opened(page, lab, name):
    """Open a page on a fresh kernel, and run it."""
    end_sessions(page, lab)
    open_page(page, lab, name)
    run_all(page)


def fill_screen(page, lab, name):
    """Open a page, run it, and fill the screen with its wall."""
    opened(page, lab, name)
    return fill(page)


def fill(page, size=None):
    """Fill the screen with the wall that is open, a screen of another size if one is given."""
    if size:
        if page.evaluate("document.fullscreenElement !== null"):
            page.evaluate("document.exitFullscreen()")
            page.wait_for_function("document.fullscreenElement === null")
        page.set_viewport_size({"width": size[0], "height": size[1]})
    wall = page.locator(".rl-wall")
    wall.get_by_role("button", name="Full screen").click()
    page.wait_for_function("document.fullscreenElement !== null")
    page.evaluate("new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)))")
    return wall


@pytest.fixture(scope="module")
def evening(lab, _kept_open):
    """Give a wall that stays open from test to test, as it does through an evening."""
    opened(_kept_open, lab, WALL)
    return _kept_open


def call(page, *numbers, between="Tab"):
    """Type numbers and Enter, as a clinician does."""
    for nth, number in enumerate(numbers):
        page.keyboard.type(str(number))
        page.keyboard.press("Enter" if nth == len(numbers) - 1 else between)


def engine(page, what):
    return page.evaluate(f"document.querySelector('.rl-stage').rlEngine.{what}")


#: How many lines each thing takes that is said to the room.
_LINES = """() => [...document.querySelectorAll(".rl-words p")]
  .filter((one) => one.checkVisibility())
  .map((one) => [one.getBoundingClientRect().height, parseFloat(getComputedStyle(one).lineHeight)])
  .map(([high, line]) => Math.round(high / line))"""


_WORDS = """() => {
  const wall = document.querySelector(".rl-wall");
  const svg = wall.querySelector(".rl-picture svg");
  const high = svg.getBoundingClientRect().height;
  const scale = Math.min(svg.getBoundingClientRect().width / svg.viewBox.baseVal.width,
    high / svg.viewBox.baseVal.height);
  const written = (one) => [...one.childNodes].some((part) => part.nodeType === 3 && part.data.trim());
  const leaf = (one) => !one.closest("style") && (one.matches("input, svg text") || written(one));
  const seen = [...wall.querySelectorAll("*")].filter((one) => one.checkVisibility() && leaf(one));
  const large = seen.filter((one) => one.getBoundingClientRect().width > 2);
  const drawn = (one) => scale * one.getAttribute("font-size");
  const size = (one) => (one.matches("svg text") ? drawn(one) : parseFloat(getComputedStyle(one).fontSize));
  return large.map((one) => [one.value || one.textContent, 0.72 * size(one), high]);
}"""


#: What is written on a full screen and is not whole on it, with how far there is to scroll.
_CUT = """() => {
  const wall = document.querySelector(".rl-wall");
  const whole = (one) => {
    const { left, top, right, bottom } = one.getBoundingClientRect();
    return left > -1 && top > -1 && right < innerWidth + 1 && bottom < innerHeight + 1;
  };
  const figure = wall.querySelector(".rl-picture");
  const scrolls = innerWidth < 600 && figure.scrollHeight > figure.clientHeight; // rows, in their place
  const all = [...wall.querySelectorAll("*")].filter((one) => !one.closest("style"));
  const apart = (one) => scrolls && figure !== one && figure.contains(one);
  const seen = all.filter((one) => one.checkVisibility() && !apart(one));
  const written = seen.filter((one) => one.textContent.trim() && one.getBoundingClientRect().width > 2);
  const far = [wall.scrollHeight - wall.clientHeight, wall.scrollWidth - wall.clientWidth,
    figure.scrollWidth - figure.clientWidth];
  return [...written.filter((one) => !whole(one)).map((one) => one.textContent.slice(0, 40)),
    ...far.filter((more) => more > 0)];
}"""


@pytest.mark.parametrize("size", [(1920, 1080), (1280, 800), (853, 640), (640, 480), (390, 844)])
def test_nothing_is_cut_on_a_screen_of_any_size(evening, size):
    """Zoomed by half or on a phone, with controls, bare and lost: all is whole, nothing scrolls."""
    page, wall = evening, fill(evening, size)
    for pair in ((5, 4), (13, 8), (64, 63)):
        call(page, *pair)
        halves = wall.get_by_text(f"the {pair[0]} and left half (your right) the {pair[1]}.")
        halves.wait_for(state="attached")  # on a small screen the advice is not seen
        assert halves.is_visible() == (min(size) > 560)
        wait_until(page, "document.querySelector('.rl-stage').rlEngine.playing()")
        assert page.evaluate(_CUT) == [], pair
        page.keyboard.press("w")
        wall.locator(".rl-now", has_text=f"of {pair[1]}").wait_for()
        assert page.evaluate(_CUT) == [], pair
        page.keyboard.press("b")
        wall.locator(".rl-run").wait_for(state="hidden")
        assert page.evaluate(_CUT) == [], pair
        page.keyboard.press("w")
        page.keyboard.press("b")
    page.keyboard.press("Space")
    assert page.evaluate(_CUT) == []
    call(page, 5, 7)
    wait_until(page, "document.querySelector('.rl-stage').rlEngine.playing()")
    page.keyboard.press("f")
    tempo = "document.querySelector('.rl-wall .rl-tempo .rl-typed')"
    wait_until(page, f"{tempo}.value === '51.43'")
    assert page.evaluate(f"{tempo}.scrollWidth <= {tempo}.clientWidth"), "figures of the tempo are cut"


@pytest.mark.parametrize("size", [(1280, 720), (1920, 1080), (853, 640), (390, 844)])
def test_bare_leaves_two_numbers_picture_and_count_large_and_comes_back(evening, size):
    """By one key in full screen: capitals of a twentieth of the picture; a call goes on there."""
    page, wall = evening, fill(evening, size)
    assert page.evaluate("getComputedStyle(document.querySelector('.rl-picture')).outlineStyle") == "none"
    across = min(size[1], 0.5625 * size[0])  # a narrow screen has words by its width
    for part, share in ((".rl-now b", 0.07), (".rl-facts", 0.026), (".rl-number input", 0.05)):
        words = page.evaluate(f"getComputedStyle(document.querySelector('{part}')).fontSize")
        assert float(words.removesuffix("px")) >= share * across, part
    page.keyboard.press("b")
    wall.get_by_role("status").filter(has_text="Bare: the numbers").wait_for(state="attached")
    for pair in ((5, 4), (7, 4), (13, 8), (16, 15), (64, 63)):
        call(page, *pair)
        page.wait_for_function(_COUNTED, arg=list(pair))
        page.wait_for_function("document.querySelector('.rl-now').textContent.startsWith('beat')")
        words = page.evaluate(_WORDS)
        assert [text for text, *_ in words][:3] == [str(pair[0]), "against", str(pair[1])]
        for text, capital, high in words:
            assert text.isdecimal() or text.startswith(("against", "beat ", "cycle ", "counted: every ")), (
                text
            )
            assert capital >= high / 20, (pair, text, capital, high)
        fits = page.evaluate(_FITS)
        assert (fits["tall"], fits["wide"]) == (0, 0)
        shot(page, f"room-bare-{pair[0]}-{pair[1]}-{size[1]}")
        assert not wall.get_by_role("button", name="Stop").is_visible()
    page.keyboard.press("b")
    wall.get_by_role("button", name="Stop").wait_for()
    assert wall.get_by_role("button", name="Bare").get_attribute("aria-pressed") == "false"
    page.keyboard.press("Space")


_COUNTED = """([a, b]) => {
  const texts = [...document.querySelectorAll(".rl-picture svg text")].map((one) => one.textContent);
  const fields = [...document.querySelectorAll(".rl-number input")].map((one) => one.value);
  const drawn = (lane) => document.querySelectorAll(`.rl-picture svg [data-lane="${lane}"]`).length;
  return texts.every((one) => /^[0-9]+$|^counted: every /.test(one)) && fields.join() === [a, b].join()
    && drawn(0) === a && drawn(1) === b
    && document.querySelector(".rl-stage").rlEngine.playing();
}"""


_HEIGHTS = """async (until) => {
  const height = () => document.querySelector(".rl-wall .rl-picture svg").getBoundingClientRect().height;
  const said = () => document.querySelector(".rl-wall .rl-now").textContent;
  const seen = [height()], ends = performance.now() + 12000;
  while (!said().includes(until) && performance.now() < ends) {
    await new Promise((drawn) => requestAnimationFrame(drawn));
    seen.push(height());
  }
  return { seen: [...new Set(seen.map(Math.round))], said: said() };
}"""


def test_no_picture_moves_while_it_sounds(evening):
    """However long the next landmark is called, at rest and from beat to beat the picture has one height."""
    page, wall = evening, fill(evening, (1280, 720))
    call(page, 16, 15)
    wait_until(page, "document.querySelector('.rl-stage').rlEngine.playing()")
    page.keyboard.press("Space")
    page.keyboard.press("f")
    wall.get_by_text("Home is the 16 at about 77 bpm").wait_for()
    settled(page)
    at_rest = page.evaluate(_HEIGHTS, "beat")["seen"]
    page.keyboard.press("Space")
    found = page.evaluate(_HEIGHTS, "exact midway on 9, 3 beats on")
    assert "exact midway" in found["said"]
    assert found["seen"] == at_rest
    page.keyboard.press("Space")


def test_what_cannot_be_read_is_told_large_and_does_not_sound(evening):
    """No sound starts, and none that is there ends; what stands there sounds; the next good ones sound."""
    page, wall = evening, fill(evening, (1280, 720))
    call(page, 7, "0")
    wall.locator(".rl-refused", has_text="second pulse '0' is not a whole number").wait_for()
    assert wall.get_by_text("second pulse '0'").count() == 1  # said once
    settled(page)
    assert not engine(page, "playing()")
    assert page.evaluate(_FITS)["tall"] <= 0
    call(page, 5, 3)
    wait_until(page, "document.querySelector('.rl-stage').rlEngine.playing()")
    wall.get_by_text("Right half (your left) the 5 and left half (your right) the 3.").wait_for()
    laid = engine(page, "report().scheduled")
    page.keyboard.type("7/8")
    page.keyboard.press("Enter")
    wall.locator(".rl-refused", has_text="'7/8' is a bar and not a pulse").wait_for()
    settled(page)
    assert [one.input_value() for one in wall.locator(".rl-number input").all()] == ["5", "3"]
    assert engine(page, "playing()")
    wait_until(page, f"document.querySelector('.rl-stage').rlEngine.report().scheduled > {laid}")
    page.keyboard.press("f")
    wait_until(page, "document.querySelector('.rl-refused').textContent === ''")
    page.keyboard.type("11")
    page.keyboard.press("Tab")
    page.keyboard.press("Escape")  # a call half typed is taken back, and the next key is one of the wall
    assert [one.input_value() for one in wall.locator(".rl-number input").all()] == ["5", "3"]
    assert not engine(page, "playing()")
    page.keyboard.press("Space")
    wait_until(page, "document.querySelector('.rl-stage').rlEngine.playing()")
    page.keyboard.press("Space")


def test_by_keys_alone_on_one_screen(evening):
    """Every pair fits 1280 by 720 without scrolling; every key does what the page says."""
    page, wall = evening, fill(evening, (1280, 720))
    hall = wall.get_by_label("length of the room in metres")
    assert not hall.is_visible()
    for pair in ((7, 4), (16, 15), (32, 31), (3, 2), (13, 8), (13, 12), (64, 63)):
        call(page, *pair, between="Space" if pair == (3, 2) else "Tab")
        first, second = pair
        said = f"Right half (your left) the {first} and left half (your right) the {second}."
        wall.get_by_text(said).wait_for()
        wait_until(page, "document.querySelector('.rl-stage').rlEngine.playing()")
        drifts = pair[0] - pair[1] == 1 and pair[1] >= 7
        for view in ("gaps", "line") if drifts else ("line", "gaps"):
            fits = page.evaluate(_FITS)
            assert fits["tall"] <= 0, (pair, view, fits)
            assert all(lines <= 2 for lines in page.evaluate(_LINES)), (pair, view)
            assert fits["wide"] <= 0
            assert fits["low"] <= 720
            assert fits["right"] <= 1280
            assert fits["picture"] >= 200
            page.keyboard.press("g")
            pressed = "true" if view == "line" else "false"
            wall.locator(f"button[aria-pressed={pressed}]", has_text="Gap cycle").wait_for()
    call(page, 7, 4)
    wall.get_by_text("Right half (your left) the 7 and left half (your right) the 4.").wait_for()
    assert [lane["side"] for lane in engine(page, "settings.lanes")] == [1, -1]
    shot(page, "room-7-4")
    page.keyboard.press("h")
    wait_until(page, "document.querySelector('.rl-stage').rlEngine.settings.lanes[0].side < 0.5")
    assert wall.locator("svg text", has_text="right half").count() == 0
    page.keyboard.press("h")
    wait_until(page, "document.querySelector('.rl-stage').rlEngine.settings.lanes[0].side === 1")
    page.keyboard.press("s")
    assert engine(page, "settings.slow") == pytest.approx(100 * 43 / 72)  # 43.2 as a whole tempo
    page.keyboard.press("s")
    page.keyboard.press("f")
    wall.get_by_text("Home is the 7").wait_for()
    page.keyboard.press("+")
    wall.get_by_text("Home is the 7 at 130 bpm").wait_for()
    page.keyboard.press("w")
    wall.locator(".rl-now", has_text=re.compile(r"^beat \d of 7 \u00b7 \d beats? to beat 1")).wait_for()
    page.keyboard.press("Space")
    wall.locator(".rl-now", has_text="beat \u2013 of 7").wait_for()
    wall.locator(".rl-hint", has_text="Type a number").wait_for()
    assert not engine(page, "playing()")
    page.keyboard.press("c")
    assert engine(page, "settings.countIn") == 4
    page.keyboard.press("Space")
    wait_until(page, "document.querySelector('.rl-now').textContent === 'count-in'")
    page.keyboard.press("Space")


def test_quick_presses_and_slow_and_a_flip_before_the_next_call(lab, page):
    """Five presses of + at once are twenty bpm; the next call is at that tempo of its second number."""
    wall = fill_screen(page, lab, WALL)
    page.locator(".rl-picture").focus()
    for _ in range(5):
        page.keyboard.press("+")
    wall.get_by_text("Home is the 4 at 92 bpm").wait_for()
    page.keyboard.press("f")
    wall.get_by_text("Home is the 7 at 161 bpm").wait_for()
    page.keyboard.press("s")
    assert engine(page, "settings.slow") == pytest.approx(100 * 97 / 161)  # 96.6 as a whole tempo
    call(page, 5, 3)
    wall.get_by_text("Home is the 3 at 92 bpm").wait_for()
    wait_until(page, "document.querySelector('.rl-stage').rlEngine.playing()")
    assert engine(page, "settings.slow") == 100
    page.keyboard.press("Space")


def test_a_plan_that_made_a_set_list_leads_to_the_page_that_steps_through_it(lab, page):
    """It opens beside the plan, as a page and not as the text of a file."""
    opened(page, lab, "workshop/plan-a-workshop.ipynb")
    page.get_by_role("button", name="Make a set list").click()
    before = len(page.context.pages)
    page.get_by_role("link", name="step-through-a-set-list.ipynb").click()
    page.get_by_role("heading", name="Step through a set list").wait_for(timeout=20_000)
    assert len(page.context.pages) == before
    (lab.folder / "set-list.txt").unlink()  # of the tests that follow each begins with the list of the page


def test_a_remote_for_slides_steps_through_the_set_list(lab, page):
    """Page Down goes on while it sounds, over pairs and a groove; Page Up goes back; all on one screen."""
    wall = fill_screen(page, lab, LIST)
    wall.locator(".rl-hint", has_text="1 of 5: Three claps over two").wait_for()
    page.keyboard.press("Space")
    wait_until(page, "document.querySelector('.rl-stage').rlEngine.playing()")
    for words in ("Home is the 3 at 80 bpm", "Home is the 4 at 72 bpm", "Home is the 15 at 100 bpm"):
        page.keyboard.press("PageDown")
        wall.get_by_text(words).wait_for()
        assert engine(page, "playing()")
    page.keyboard.press("n")
    wall.locator(".rl-named", has_text="7 against 4 as a fill in 4 bars of 4/4").wait_for()
    assert engine(page, "playing()")
    assert not wall.get_by_label("first pulse").is_visible()
    fits = page.evaluate(_FITS)
    assert (fits["tall"], fits["wide"]) == (0, 0)
    shot(page, "room-groove")
    page.keyboard.press("PageDown")
    wall.get_by_text("That is the last item of the set list").wait_for()
    page.keyboard.press("p")
    wall.get_by_text("Home is the 15 at 100 bpm").wait_for()
    page.keyboard.press("Escape")


def test_numbers_are_called_out_over_a_groove_too_and_the_list_goes_on(lab, page):
    """Fields come with the first figure, a refusal is told, and the large line says what is there."""
    wall = fill_screen(page, lab, LIST)
    first = wall.get_by_label("first pulse")
    wall.locator(".rl-hint", has_text="1 of 5").wait_for()
    for nth in (2, 3, 4):
        page.keyboard.press("PageDown")
        wall.locator(".rl-hint", has_text=f"{nth} of 5").wait_for()
    page.keyboard.press("PageDown")
    wall.locator(".rl-hint", has_text="5 of 5: 7 against 4 as a fill in 4 bars").wait_for()
    assert not first.is_visible()
    call(page, 9, 0)
    wall.locator(".rl-refused", has_text="second pulse '0' is not a whole number").wait_for()
    first.wait_for(state="hidden")  # the title alone says what is there
    assert not engine(page, "playing()")
    assert page.evaluate(_FITS)["tall"] <= 0
    call(page, 9, 4)
    wall.get_by_text("Right half (your left) the 9 and left half (your right) the 4.").wait_for()
    wait_until(page, "document.querySelector('.rl-stage').rlEngine.playing()")
    page.keyboard.press("Space")
    wall.locator(".rl-hint", has_text="On the wall: 9 against 4").wait_for()
    page.keyboard.press("PageUp")
    wall.locator(".rl-hint", has_text="4 of 5: The drift").wait_for()


def test_after_a_button_or_the_volume_the_next_key_is_a_key_of_the_wall(lab, page):
    """A remote goes on over a button that the next item takes away, and over a slide."""
    end_sessions(page, lab)
    open_page(page, lab, LIST)
    run_all(page)
    wall = page.locator(".rl-wall")
    output = page.locator(".jp-OutputArea-output").last
    assert output.evaluate("one => one.scrollWidth - one.clientWidth") == 0  # the field for the list fits
    wall.locator(".rl-picture").click()
    for nth in (2, 3, 4):
        page.keyboard.press("PageDown")
        wall.locator(".rl-hint", has_text=f"{nth} of 5").wait_for()
    wall.get_by_role("button", name="Flip home").click()
    page.keyboard.press("PageDown")
    wall.locator(".rl-hint", has_text="5 of 5").wait_for()
    page.keyboard.press("PageUp")
    wall.locator(".rl-hint", has_text="4 of 5").wait_for()
    volume = wall.get_by_label("volume")
    volume.click()
    before = volume.input_value()
    page.keyboard.press("PageUp")
    wall.locator(".rl-hint", has_text="3 of 5").wait_for()
    assert volume.input_value() == before
    volume.click()
    page.keyboard.press("Space")
    wait_until(page, "document.querySelector('.rl-stage').rlEngine.playing()")
    page.keyboard.press("Space")


@pytest.mark.parametrize("key", ["f", "s", "h", "PageDown", "7"])
def test_keys_elsewhere_on_the_page_are_not_the_walls(page, key):
    """In a field of the page's own, and beside a notebook, the wall hears nothing."""
    open_wall(page, make_wall(7, 4).stage)
    page.evaluate(
        """() => {
          const notebook = document.createElement("div");
          notebook.className = "jp-NotebookPanel";
          notebook.innerHTML = "<input id=other>";
          document.body.append(notebook);
        }"""
    )
    for place in ("#other", "body"):
        page.locator(place).press(key)
    assert page.evaluate("model.sent") == []
    assert page.evaluate("engine.settings.slow") == 100
    assert page.evaluate("model.get('home')") == 1


def test_enter_in_a_field_under_the_wall_calls_nothing(page):
    """A sentence or groups are typed without a sound; Enter in a number or in the tempo calls the pair."""
    open_wall(page, make_wall(7, 4).stage)
    page.evaluate(
        """() => {
          const field = (kind, id) => `<div class="${kind}"><input type="text" id="${id}" value="7"></div>`;
          const fields = field("rl-number", "number") + field("", "tempo") + field("rl-folded", "words");
          document.querySelector(".rl-wall").insertAdjacentHTML("afterbegin", fields);
        }"""
    )
    page.locator("#words").press("Enter")
    assert page.evaluate("model.sent") == []
    for nth, place in enumerate(("#number", "#tempo"), 1):
        page.locator(place).press("Enter")
        assert [sent["pressed"] for sent in page.evaluate("model.sent")] == ["enter"] * nth


def test_without_an_answer_the_wall_says_so_and_stays_silent(page):
    """A page without a running kernel: no old numbers sound, and a line says what to do."""
    open_stage(page, make_wall(7, 4).stage)
    page.evaluate(
        """() => {
          const wall = document.createElement("div");
          wall.className = "rl-wall";
          wall.innerHTML = "<div class=rl-number><input type=text value=7><input type=text value=4></div>";
          document.querySelector(".rl-stage").replaceWith(wall, document.querySelector(".rl-stage"));
          wall.append(document.querySelector(".rl-stage"));
        }"""
    )
    page.locator(".rl-number input").last.press("Enter")
    assert page.evaluate("model.sent") == [{"pressed": "enter", "number": 1, "texts": ["7", "4"]}]
    page.get_by_text("The page has not answered").wait_for(timeout=6000)
    assert not page.evaluate("engine.playing()")
    page.locator(".rl-number input").last.press("Enter")
    page.evaluate("model.set('room', { ...model.get('room'), answered: 2 })")
    wait_until(page, "engine.playing()")
    assert page.evaluate("document.activeElement.className") == "rl-picture"


_TITLES = [
    "Clap three while the left half of the hall keeps two, and change over on the call",
    "An accent that walks through sevens, seat by seat",
    "Thedriftfromthesixteenroundthehallseatbyseatandbackagain",
    "Seven over four as a fill that lands on the one after four bars of time, twice",
]
_SENTENCE = (
    "The first of the waves comes in at seven, and the sea wall answers at four until both land on the one"
)
_LONG = [
    f"pair | pulses: 3 2 | bpm: 84 | title: {_TITLES[0]}",
    f"accents | metre: 2+2+3/8 | accent every: 5 | bpm: 180 | title: {_TITLES[1]}",
    f"pair | pulses: 16 15 | home: 16 | bpm: 100 | title: {_TITLES[2]}",
    f"resolve | hands: 7 | against: 4 | bars: 4 | bpm: 96 | sentence: {_SENTENCE} | title: {_TITLES[3]}",
]
#: What of the wall lies on something else, or is wider than its own box.
_TOUCHES = """() => {
  const picture = innerWidth < 600 ? ".rl-picture" : ".rl-picture svg"; // a phone has rows that scroll in it
  const names = [".rl-title", ".rl-facts", ".rl-run", picture, ".rl-now", ".rl-words",
    ".rl-controls", ".rl-tabs", ".rl-hint"];
  const every = (name) => [...document.querySelectorAll(`.rl-wall ${name}`)].map((one) => [name, one]);
  const tall = (one) => one.checkVisibility() && one.getBoundingClientRect().height > 2;
  const seen = names.flatMap(every).filter(([, one]) => tall(one));
  const boxes = seen.map(([name, one]) => [name, one.getBoundingClientRect()]);
  const wide = seen.filter(([, one]) => one.clientWidth && one.scrollWidth > one.clientWidth + 1);
  const found = wide.map(([name]) => name);
  for (const [i, [name, a]] of boxes.entries()) {
    for (const [other, b] of boxes.slice(i + 1)) {
      const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (across > 1 && down > 1) found.push(`${name} on ${other}`);
    }
  }
  return found;
}"""


#: How wide and how high the picture is drawn, in px.
_DRAWN = """() => {
  const svg = document.querySelector(".rl-wall .rl-picture svg");
  const [box, view] = [svg.getBoundingClientRect(), svg.viewBox.baseVal];
  const scale = Math.min(box.width / view.width, box.height / view.height);
  return [scale * view.width, scale * view.height];
}"""


@pytest.fixture(scope="module")
def long_list(lab, _kept_open):
    """Give the wall of a set list of long titles, at its first item."""
    (lab.folder / "set-list.txt").write_text("\n".join(_LONG))
    opened(_kept_open, lab, LIST)
    return _kept_open


@pytest.mark.parametrize("size", [(1920, 1080), (1280, 720), (853, 640), (390, 844)])
def test_long_titles_and_sentences_are_whole_on_a_screen_of_any_size(long_list, size):
    """Over the picture, in the large line and bare: nothing is cut, and nothing lies on anything else."""
    page, wall = long_list, fill(long_list, size)
    for nth, title in enumerate(_TITLES):
        wall.locator(".rl-named", has_text=title).wait_for()
        if nth + 1 < len(_TITLES):
            wall.locator(".rl-hint", has_text=f"Page Down: {_TITLES[nth + 1]}").wait_for()
        settled(page)
        assert page.evaluate(_CUT) == [], title
        assert page.evaluate(_TOUCHES) == [], title
        wide, high = page.evaluate(_DRAWN)
        assert wide >= 0.9 * size[0] or high >= size[1] / 4, (title, wide, high)
        shot(page, f"room-long-{size[0]}-{nth}")
        page.keyboard.press("PageDown")
    for title in reversed(_TITLES[:-1]):
        page.keyboard.press("PageUp")
        wall.locator(".rl-named", has_text=title).wait_for()

"""Page 00 as a reader meets it: opened by the launcher, run, typed into, flipped, reopened next day."""

import re
from fractions import Fraction

import pytest
from playwright.sync_api import expect

from rhythmlab.core.feel import Feel
from rhythmlab.text.counts import count
from tests.browser.bare import drawn
from tests.browser.jupyter import Server, end_sessions, open_page, run_all, settled, shot
from tests.waiting import until

PAGE = "00-make-two-numbers-one-rhythm.ipynb"


def worked_out(p: int, q: int, bpm: int) -> dict[str, str]:
    """Work out what the panel must say with plain sets and fractions; home is q at bpm."""
    first = {Fraction(i, p) for i in range(p)}
    second = {Fraction(i, q) for i in range(q)}
    ticks = next(t for t in range(1, p * q + 1) if all((x * t).denominator == 1 for x in first | second))
    line = sorted(first | second)
    intervals = [int((b - a) * ticks) for a, b in zip(line, [*line[1:], Fraction(1)], strict=True)]
    cycle_s = float(Fraction(60 * q, bpm))
    return {
        "facts": f"{ticks} ticks, {len(line)} sounds, one cycle in {round(cycle_s, 1):g} second",
        "intervals": intervals,
        "other bpm": f"{float(Fraction(bpm * p, q)):g}",
    }


@pytest.fixture(scope="module")
def opened(lab, _kept_open):
    """Page 00, open and run in JupyterLab as it stays open, for the tests of this module in their order."""
    page = _kept_open
    page.rl_faults = []
    page.set_viewport_size({"width": 1280, "height": 720})

    def keep(error):
        page.rl_faults.append(str(error))

    page.on("pageerror", keep)
    open_page(page, lab, PAGE)
    run_all(page, skip=False)
    yield page
    page.remove_listener("pageerror", keep)


def panel(page):
    return page.locator(".jp-OutputArea-output", has=page.locator(".rl-run")).last


def type_into(page, label, text):
    """Type as a person does; what follows is waited for by those who look at it."""
    field = panel(page).get_by_label(label)
    field.fill("")
    field.press_sequentially(text, delay=20)


def test_a_guess_covers_its_panel_for_eyes_and_ears_until_it_is_made(opened, lab):
    """Before it there is a field with its name, Guess and Skip, and no key sounds; after it all is there.

    What cannot be read is refused and gives nothing away; the verdict stands where the guess stood, once.
    """
    output = opened.locator(".jp-OutputArea-output", has=opened.locator(".rl-guess:not([hidden])")).last
    output.scroll_into_view_if_needed()
    field = output.get_by_role("textbox", name="How many separate sounds do 5 against 4 make in one cycle?")
    stage, told = output.locator(".rl-stage"), output.locator(".rl-told")

    def nothing_is_given_away():
        heard = output.aria_snapshot()
        assert re.findall(r'(?:textbox|button|slider|combobox|tab|img) "([^"]+)"', heard) == [
            "How many separate sounds do 5 against 4 make in one cycle?",
            *("Guess", "Skip"),
        ]
        assert not re.search(r"\b(8|eight|ticks?|together|beat|heard|picture|Start|home)\b", heard), heard
        assert stage.evaluate("el => el.rlEngine.playing()") is False

    field.wait_for()
    opened.locator(".rl-covered").wait_for()
    shot(opened, "page-00-covered")
    nothing_is_given_away()
    output.evaluate("el => { el.tabIndex = -1; el.focus(); }")
    opened.keyboard.press(" ")
    nothing_is_given_away()
    field.press("Enter")
    told.get_by_text("Type your guess").wait_for()
    field.fill("lots")
    field.press("Enter")
    told.get_by_text("'lots' is not a number. Write one number, for example 5.").wait_for(timeout=5_000)
    assert field.get_attribute("aria-invalid") == "true"
    nothing_is_given_away()
    place = (
        "el => el.getBoundingClientRect().y - el.closest('.jp-OutputArea-output').getBoundingClientRect().y"
    )
    asked = output.locator(".rl-guess").evaluate(place)
    field.fill("nine")
    field.press("Enter")
    told.get_by_text("You guessed nine.").wait_for(timeout=5_000)

    assert told.inner_text().count("1 sound too many") == 1
    assert output.get_by_text("You guessed nine.").count() == 1
    assert told.get_attribute("role") == "status"
    assert stage.get_by_role("button", name="Start").evaluate("el => el === document.activeElement")
    verdict, picture = (
        output.locator(".rl-guess").bounding_box(),
        output.locator(".rl-picture").bounding_box(),
    )
    assert abs(output.locator(".rl-guess").evaluate(place) - asked) < 8
    expect(output.locator(".rl-guess")).to_be_in_viewport(ratio=0.98)
    expect(stage.get_by_role("button", name="Start")).to_be_in_viewport(ratio=0.98)
    assert picture["y"] - verdict["y"] - verdict["height"] < 300
    heard = output.aria_snapshot()
    for name in ("Start", "first pulse", "home is the 4", "view", "20 ticks, 8 sounds", "5 against 4 on 20"):
        assert name in heard, heard
    assert '"00-guess": "nine"' in (lab.folder / ".rhythmlab-guesses.json").read_text()
    shot(opened, "page-00-guessed")


def test_a_button_to_try_sets_the_panel_by_keyboard_too(opened):
    """Numbers, tempo and picture are those of its name, whatever stood there."""
    tries = panel(opened).get_by_role("group", name="try")
    for name, (p, q, bpm) in {
        "16 against 15 at 72": (16, 15, 72),
        "7 against 4 at 60": (7, 4, 60),
        "7 against 4 at 72": (7, 4, 72),
    }.items():
        tries.get_by_role("button", name=name, exact=True).focus()
        opened.keyboard.press("Enter")
        stage = panel(opened).locator(".rl-stage")
        stage.locator(".rl-words", has_text=f"Home is the {q} at {bpm} bpm:").wait_for(timeout=10_000)
        expect(stage.locator("[data-lane='0']")).to_have_count(p)
        for label, typed in (("first pulse", p), ("second pulse", q), (f"bpm of the {q}", bpm)):
            expect(panel(opened).get_by_label(label, exact=True)).to_have_value(str(typed))


@pytest.mark.parametrize(("p", "q", "bpm"), [(7, 4, 72), (16, 15, 60)])
def test_two_numbers_and_a_tempo_make_the_rhythm_that_arithmetic_says(opened, p, q, bpm):
    """Typing p, q and a tempo gives the right words, the right strokes, and the right count of each."""
    type_into(opened, re.compile("^bpm of the"), "90")  # else the words wanted may be those it opened with
    panel(opened).locator(".rl-words", has_text="at 90 bpm:").wait_for(timeout=10_000)
    type_into(opened, "first pulse", str(p))
    type_into(opened, "second pulse", str(q))
    type_into(opened, re.compile("^bpm of the"), str(bpm))
    expected = worked_out(p, q, bpm)
    stage = panel(opened).locator(".rl-stage")
    stage.locator(".rl-words", has_text=f"Home is the {q} at {bpm} bpm:").wait_for(timeout=10_000)
    opened.get_by_text(expected["facts"]).first.wait_for(timeout=10_000)

    expect(stage.locator("[data-lane='0']")).to_have_count(p)
    expect(stage.locator("[data-lane='1']")).to_have_count(q)
    said = stage.locator(".rl-words").inner_text()
    assert f"Home is the {q} at {bpm} bpm" in said
    heard = re.search(r"sound to sound: ([\d …]+)\.", said)[1]
    shown = heard.split(" … ")
    if len(shown) == 1:
        assert [int(n) for n in heard.split()] == expected["intervals"]
    else:
        start, end = ([int(n) for n in half.split()] for half in shown)
        assert start == expected["intervals"][: len(start)]
        assert end == expected["intervals"][-len(end) :]
    alt = stage.get_by_role("img").get_attribute("aria-label")  # of all its rows
    assert f"{p} against {q} on " in alt
    stage.scroll_into_view_if_needed()
    shot(opened, f"page-00-{p}-{q}")


def test_flip_moves_the_count_and_no_stroke(opened):
    """The flip button changes home, count and tempo and moves no stroke; flipping twice returns."""
    type_into(opened, "first pulse", "7")
    type_into(opened, "second pulse", "4")
    type_into(opened, re.compile("^bpm of the"), "72")
    stage = panel(opened).locator(".rl-stage")
    stage.locator(".rl-words", has_text="Home is the 4 at 72 bpm:").wait_for(timeout=10_000)
    expect(stage.locator("[data-tick]")).to_have_count(11)
    settled(opened)
    place = "strokes => strokes.map(s => [s.dataset.tick, s.dataset.lane, s.getAttribute('d')])"
    before = stage.locator("[data-tick]").evaluate_all(place)

    stage.get_by_role("button", name="Flip home to the 7").click()

    stage.get_by_role("button", name="Flip home to the 4").wait_for()
    assert stage.locator("[data-tick]").evaluate_all(place) == before
    assert "the 4 falls on 1, a of 2, & of 4, e of 6" in stage.locator(".rl-words").inner_text()
    opened.wait_for_function("() => [...document.querySelectorAll('input')].some(i => i.value === '126')")
    shot(opened, "page-00-flipped")
    stage.get_by_role("button", name="Flip home to the 4").click()
    stage.get_by_role("button", name="Flip home to the 7").wait_for()
    opened.wait_for_function("() => [...document.querySelectorAll('input')].some(i => i.value === '72')")


@pytest.mark.parametrize(
    ("field", "typed", "message", "good"),
    [
        ("first pulse", "x", "'x' is not a whole number", "7"),
        ("second pulse", "", "is empty", "4"),
        ("first pulse", "0", "'0' is not", "7"),
        ("bpm of the", "1001", "'1001' is not from 1 to 1\u00a0000 beats a minute", "72"),
    ],
)
def test_what_cannot_be_read_is_said_beside_its_field_and_the_picture_stays(
    opened, field, typed, message, good
):
    """A sentence with an example right under the row, which describes the field; the last picture stays."""
    stage, lines = panel(opened).locator(".rl-stage"), panel(opened).locator(".rl-refused")
    line = lines.filter(has_text=message)  # each row of fields has a line of its own
    strokes = stage.locator("[data-tick]").count()
    name = re.compile(f"^{field}")
    type_into(opened, name, typed)

    line.wait_for(timeout=5_000)
    said = line.inner_text()
    assert said.startswith(field)
    assert "type for example " in said
    box = panel(opened).get_by_label(name).first
    assert box.get_attribute("aria-invalid") == "true"
    assert box.get_attribute("aria-describedby") == line.get_attribute("id")
    assert line.get_attribute("role") == "status"
    assert panel(opened).locator('[aria-invalid="true"]').count() == 1
    one, two = sorted((box.bounding_box(), line.bounding_box()), key=lambda seen: seen["y"])
    assert 0 <= two["y"] - one["y"] - one["height"] < 60
    assert box.input_value() == typed
    assert stage.locator("[data-tick]").count() > 0
    shot(opened, f"page-00-refused-{field.replace(' ', '-')}-{typed or 'empty'}")
    type_into(opened, name, good)
    lines.filter(has_text=re.compile(r"\S")).wait_for(state="hidden", timeout=5_000)
    expect(panel(opened).locator("[aria-invalid]")).to_have_count(0)
    expect(stage.locator("[data-tick]")).to_have_count(strokes)
    settled(opened)
    assert all((one.bounding_box() or {"height": 0})["height"] < 2 for one in lines.all())
    assert stage.locator("[data-tick]").count() == strokes


def test_two_fields_that_are_refused_stay_marked_each_until_it_is_mended(opened):
    """Left by Tab both keep what was typed and their mark; a sentence for each; no third is marked."""
    card = panel(opened)
    wrong = card.locator('[aria-invalid="true"]')
    first, second = card.get_by_label("first pulse"), card.get_by_label("second pulse")
    good = [first.input_value(), second.input_value()]
    for field, typed in ((second, "four"), (first, "seven")):
        field.fill(typed)
        opened.keyboard.press("Tab")
    said = card.locator(".rl-refused", has_text="'seven'").filter(has_text="'four'")
    said.wait_for(timeout=5_000)
    expect(wrong).to_have_count(2)
    assert [first.input_value(), second.input_value()] == ["seven", "four"]
    assert {one.get_attribute("aria-describedby") for one in wrong.all()} == {said.get_attribute("id")}
    first.fill(good[0])
    expect(wrong).to_have_count(1)
    assert wrong.input_value() == "four"
    second.fill(good[1])
    expect(wrong).to_have_count(0)


def test_a_slide_dragged_fast_ends_on_its_last_tempo(opened):
    """Forty moves of the tempo slide in one go leave words, field and slide at the last of them."""
    slide = panel(opened).get_by_role("slider", name=re.compile("^tempo"))
    slide.evaluate(
        """range => { for (let bpm = 60; bpm < 100; bpm++) {
            range.value = bpm; range.dispatchEvent(new Event('input', { bubbles: true })); } }"""
    )
    stage = panel(opened).locator(".rl-stage")
    stage.locator(".rl-words", has_text="Home is the 4 at 99 bpm").wait_for(timeout=10_000)
    expect(panel(opened).get_by_label("bpm of the 4", exact=True)).to_have_value("99")
    settled(opened)

    assert "at 99 bpm" in stage.locator(".rl-words").inner_text()
    assert panel(opened).get_by_label("bpm of the 4", exact=True).input_value() == "99"
    assert slide.input_value() == "99"


def test_every_control_has_a_name_and_works_by_key(opened):
    """Each field, button, menu and slide has an accessible name; arrow keys move the slide, Space flips."""
    names = panel(opened).evaluate(
        """root => [...root.querySelectorAll('input, button, select')].filter(c => !c.hidden).map(
            c => c.getAttribute('aria-label') || c.labels?.[0]?.innerText || c.textContent || '')"""
    )
    assert len(names) >= 7
    assert all(name.strip() for name in names), names
    slide = panel(opened).get_by_role("slider", name=re.compile("^tempo"))
    before = slide.input_value()
    slide.focus()
    opened.keyboard.press("ArrowRight")
    assert int(slide.input_value()) == int(before) + 1
    flip = panel(opened).get_by_role("button", name="Flip home to the 7")
    flip.focus()
    opened.keyboard.press(" ")
    panel(opened).get_by_role("button", name="Flip home to the 4").focus()
    opened.keyboard.press(" ")
    flip.wait_for()


def test_letters_typed_on_a_control_never_reach_the_notebook(opened):
    """On the flip, the slide, a home button, the picture and the menu, b, d, d, a and x change no cell."""
    cells = opened.locator(".jp-Notebook .jp-Cell").count()
    controls = [
        panel(opened).get_by_role("button", name="Flip home to the 7"),
        panel(opened).get_by_role("slider", name=re.compile("^tempo")),
        panel(opened).get_by_role("button", name="home is the 4"),
        panel(opened).locator(".rl-picture"),
        panel(opened).get_by_role("button", name="Start"),
        panel(opened).get_by_label("volume", exact=True),
        panel(opened).get_by_role("tab").first,
        panel(opened).get_by_label("view"),
        opened.get_by_role("button", name="3 against 2"),
    ]
    for control in controls:
        control.focus()
        for key in ("b", "d", "d", "a", "x"):
            opened.keyboard.press(key)
        drawn(opened)
        assert opened.locator(".jp-Notebook .jp-Cell").count() == cells


def test_page_00_can_be_heard_and_flipped_while_it_sounds(opened):
    """Space starts the sound; flip moves the home beat and no stroke is late; Escape stops it from a cell."""
    stage = panel(opened).locator(".rl-stage")
    stage.locator(".rl-picture").focus()
    opened.keyboard.press(" ")
    stage.get_by_role("button", name="Stop").wait_for()
    opened.wait_for_function(
        "() => /cycle 1/.test([...document.querySelectorAll('.rl-now')].at(-1).textContent)"
    )
    stage.get_by_role("button", name="Flip home to the 7").click()
    stage.get_by_role("button", name="Flip home to the 4").wait_for(timeout=3_000)
    sounding = "[...document.querySelectorAll('.rl-stage')].at(-1).rlEngine"
    opened.wait_for_function(f"{sounding}.report().scheduled > 5 && {sounding}.now().home === 0")
    stage.scroll_into_view_if_needed()
    shot(opened, "page-00-sounding")
    report = stage.evaluate("el => ({ ...el.rlEngine.report(), home: el.rlEngine.now().home })")
    opened.locator(".jp-Notebook").click(position={"x": 5, "y": 300})
    opened.keyboard.press("Escape")
    stage.get_by_role("button", name="Start").wait_for()

    assert report["home"] == 0
    assert (report["late"], report["dropped"]) == (0, 0)
    assert report["scheduled"] > 5
    stage.get_by_role("button", name="Flip home to the 4").click()


def test_one_panel_sounds_at_a_time(opened):
    """Starting the second panel stops the first."""
    first = opened.locator(".rl-stage").first
    first.get_by_role("button", name="Start").click()
    first.get_by_role("button", name="Stop").wait_for()
    panel(opened).get_by_role("button", name="Start").click()
    panel(opened).get_by_role("button", name="Stop").wait_for()

    assert first.get_by_role("button", name="Start").is_visible()
    opened.keyboard.press("Escape")


def test_a_page_reopened_without_its_kernel_shows_its_panels_and_says_how_to_wake_them(opened, lab, page):
    """Saved and reopened tomorrow: pictures stand, sound and flip, and a line says how to wake the rest."""
    opened.keyboard.press("Escape")
    opened.locator(".jp-Notebook").press("Control+s")
    opened.wait_for_function("() => !document.querySelector('.jp-mod-dirty')", timeout=10_000)
    saved = "application/vnd.jupyter.widget-state+json"
    until(lambda: saved in (lab.folder / PAGE).read_text(), 20, "a page saved with its panels")
    end_sessions(opened, lab)

    open_page(page, lab, PAGE)

    stage = panel(page).locator(".rl-stage")
    stage.locator("[data-tick]").first.wait_for(timeout=20_000)
    assert stage.locator("[data-tick]").count() == 11
    stage.get_by_text("Run the page to wake the controls").wait_for(timeout=10_000)
    expect(page.locator(".rl-form .rl-asleep")).to_contain_text("Run the page to wake")  # its field, too
    stage.get_by_role("button", name=re.compile("Flip home to")).click()
    stage.get_by_role("button", name="Start").click()
    page.wait_for_function("() => /beat/.test([...document.querySelectorAll('.rl-now')].at(-1).textContent)")
    page.keyboard.press("Escape")
    stage.get_by_label("first pulse").fill("5")
    stage.get_by_text("20 ticks, 8 sounds").wait_for(timeout=5_000)
    assert stage.locator("[data-tick]").count() == 9
    stage.locator(".rl-words").get_by_text(count(Feel((5, 4), 0))).wait_for(timeout=5_000)
    stage.get_by_label("first pulse").fill("7")
    stage.scroll_into_view_if_needed()
    shot(page, "page-00-asleep")
    assert page.get_by_text("model not found").count() == 0
    run_all(page)
    panel(page).locator(".rl-asleep", has_text="wake").wait_for(state="hidden", timeout=20_000)
    assert page.locator(".rl-told", has_text="You guessed nine.").count() == 1
    expect(page.locator(".rl-form .rl-asleep")).to_have_text("")


def test_no_fault_was_thrown_in_the_browser(opened):
    """Through all of the above no script on the page threw an error."""
    assert opened.rl_faults == []


def test_the_first_page_shows_a_rhythm_and_start_on_the_first_screen_and_stays_at_its_top(tmp_path, chromium):
    """As the launcher opens it, at 1280 by 720: the list of files is shut, and Run All scrolls nothing."""
    server = Server(tmp_path / "pages")
    context = chromium.new_context(viewport={"width": 1280, "height": 720})
    try:
        page = context.new_page()
        page.goto(f"http://127.0.0.1:{server.port}/lab/tree/{PAGE}?token={server.token}")
        page.wait_for_selector(".jp-Notebook .jp-Cell", timeout=60_000)
        page.wait_for_selector("text=/ipykernel\\) \\| Idle/", timeout=60_000)
        assert page.locator(".jp-DirListing").is_hidden()
        run_all(page, skip=False)
        first = page.locator(".rl-stage").first
        first.locator("[data-tick]").first.wait_for()
        page.wait_for_function("document.querySelector('.jp-WindowedPanel-outer').scrollTop === 0")
        settled(page)
        shot(page, "page-00-first-open")
        assert page.evaluate("document.querySelector('.jp-WindowedPanel-outer').scrollTop") == 0
        top = page.locator(".jp-NotebookPanel-toolbar").bounding_box()
        for seen in (first.get_by_role("button", name="Start"), first.locator(".rl-picture svg")):
            box = seen.bounding_box()
            assert top["y"] + top["height"] <= box["y"]
            assert box["y"] + box["height"] <= 720 - 24  # JupyterLab's line at the bottom
    finally:
        context.close()
        server.stop()

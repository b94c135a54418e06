"""The sound of the stage: sample by sample what the files hold, on time, safe, begun and ended by keys."""

import base64
from pathlib import Path

import numpy as np
import pytest

from rhythmlab.audio.mix import Mix
from rhythmlab.audio.sound import sound
from rhythmlab.core.cycle import Cycle, Lane
from rhythmlab.core.feel import Feel
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.panels.pages_00_to_04 import first_rhythms, follow_gaps, two_numbers
from rhythmlab.panels.stage import sounding
from rhythmlab.panels.stage import stage as stage_module
from rhythmlab.playing.fill import resolve
from tests.browser.bare import drawn, open_stage, set_plan, wait_until

STAGE = Path(stage_module.__file__).parent
START, STOP = "Start", "Stop"


def serve_modules(page):
    """Let a page import the stage's modules one by one, as they lie in the folder."""
    page.route(
        "**/stage/*.mjs",
        lambda route: route.fulfill(
            path=STAGE / route.request.url.rsplit("/", 1)[1], content_type="text/javascript"
        ),
    )
    page.route("**/empty.html", lambda route: route.fulfill(body="<!doctype html>", content_type="text/html"))
    page.goto("http://127.0.0.1/empty.html")


def rendered_offline(page, plan: dict, settings: dict, turns: int, count_in: int, frames: int) -> np.ndarray:
    """Render a plan in the browser on an OfflineAudioContext, with the stage's own desk and clock."""
    serve_modules(page)
    voices = {name: base64.b64encode(data).decode() for name, data in sounding.voices(plan).items()}
    channels = page.evaluate(
        """async ([plan, voices, settings, turns, countIn, frames]) => {
          const [{ makeDesk, LEVELS }, { makeLay }, { firstSettings, levelOf }] = await Promise.all(
            ["desk", "lay", "settings"].map((name) => import(`/stage/${name}.mjs`)));
          const bytes = (text) => new DataView(Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer);
          const all = Object.fromEntries(Object.entries(voices).map(([name, text]) => [name, bytes(text)]));
          const context = new OfflineAudioContext(2, frames, plan.rate);
          const desk = makeDesk(context, () => all, plan.rate);
          const state = { ...firstSettings(plan.lanes.length, { getItem: () => null }), ...settings };
          plan.lanes.forEach((_, i) => {
            desk.set(`lane${i}`, levelOf(state.lanes, i, state.quiet), state.lanes[i].side, true);
          });
          const rows = { ...LEVELS, home: state.home.on ? state.home.level : 0 };
          for (const [row, level] of Object.entries(rows)) if (row !== "lane") desk.set(row, level, 0, true);
          const source = { plan: () => plan, home: () => plan.homes.length - 1 };
          const lay = makeLay(source, state, context, desk);
          lay.begin(countIn, 0);
          lay.upTo(lay.timeline().timeOf(turns) - 1e-6);
          const buffer = await context.startRendering();
          const text = (channel) => {
            const bytes = new Uint8Array(buffer.getChannelData(channel).buffer);
            let out = "";
            for (let i = 0; i < bytes.length; i += 8192) {
              out += String.fromCharCode(...bytes.subarray(i, i + 8192));
            }
            return btoa(out);
          };
          return [text(0), text(1)];
        }""",
        [plan, voices, settings, turns, count_in, frames],
    )
    return np.stack([np.frombuffer(base64.b64decode(text), np.float32) for text in channels], axis=1)


@pytest.mark.parametrize(
    ("pulses", "bpm", "settings", "mix", "count_in", "cut"),
    [
        ((7, 4), 72, {}, {}, 0, {}),
        ((7, 4), 72, {"grid": True}, {"ticks": 0.25}, 4, {}),
        ((3, 4, 5), 90, {}, {}, 0, {}),
        ((16, 15), 240, {"loop": {"start": 96, "stop": 144}}, {}, 2, {"start": 96, "stop": 144}),
        ((64, 63), 126, {"home": {"on": False, "level": 0}}, {"home": 0}, 0, {}),  # a minute and a half
        ((4, 3), 500, {"sounds": "swapped"}, {"sounds": ["low wood block", "high wood block"]}, 0, {}),
    ],
)
def test_the_browser_and_the_files_hold_the_same_samples(page, pulses, bpm, settings, mix, count_in, cut):
    """The same cycle, mix and voices give the same samples in Chromium's audio engine as in Python."""
    p = Polyrhythm(*pulses)
    tempo = Tempo(bpm, pulse=len(pulses) - 1)
    cycles = 3
    made = sound(p, tempo, cycles=cycles, count_in=count_in, mix=Mix(**mix), **cut)
    ours = made.samples()

    theirs = rendered_offline(page, sounding.plan(Feel(p), tempo), settings, cycles, count_in, len(ours))

    assert theirs.shape == ours.shape
    agree(ours, theirs)


def agree(ours: np.ndarray, theirs: np.ndarray) -> None:
    """Check that two sounds are the same, sample by sample."""
    assert np.abs(ours).max() > 0.1
    assert np.abs(ours - theirs).max() < 2e-4  # the limiter's curve is read between its points
    quiet = np.abs(ours) < 0.6  # under the knee only 32-bit sums differ
    assert np.abs(ours - theirs)[quiet].max() < 2e-6


def groove(feet: list[int], ring: int) -> Cycle:
    """Return a bar of sixteenths with feet, accents, ghosts, a roll, a fill's toms and a crash."""
    return Cycle(
        16 * ring,
        [
            Lane("feet", [tick * ring for tick in feet], "right foot", "bass drum"),
            Lane("hand", range(16 * ring), "hands", "snare", accents=[0, 4 * ring], ghosts=range(1, 4)),
            Lane("bell", range(0, 16 * ring, 2), "right hand", "bell", accents=[2, 6], ghosts=[8]),
            Lane("toms", [8 * ring, 10 * ring], "hands", "floor tom", accents=[8 * ring]),
            Lane("crash", [0, ring], "right hand", "crash", accents=[0]),
        ],
        beats=[0, 4 * ring, 8 * ring, 12 * ring],
    )


@pytest.mark.parametrize(
    ("feet", "ring", "bpm", "settings", "mix"),
    [
        ([0, 4, 8, 12], 1, 120, {}, {}),  # the feet are the home beat
        ([0, 3, 6], 1, 90, {}, {}),  # the home beat is a click
        (
            [0, 4, 8, 12],
            1,
            90,
            {"quiet": [0]},
            {"levels": [0, 0.6, 0.6, 0.6, 0.6]},
        ),  # feet muted
        ([0, 4, 8, 12], 8, 110, {"home": {"on": False, "level": 0}}, {"home": 0}),  # a stroke every 17 ms
    ],
)
def test_a_groove_with_accents_ghosts_and_rolls_is_the_same_in_both(page, feet, ring, bpm, settings, mix):
    """Levels, variants, strokes that end one another and the home beat agree, sample by sample."""
    cycle, tempo = groove(feet, ring), Tempo(bpm, ticks=4 * ring)
    ours = sound(cycle, tempo, cycles=2, mix=Mix(**mix)).samples()
    plan = sounding.plan_of(cycle, tempo, [cycle.beats], [lane.name for lane in cycle.lanes])
    agree(ours, rendered_offline(page, plan, settings, 2, 0, len(ours)))


def test_a_fill_is_the_same_in_both(page):
    """Its strokes have their share of power, here and in the file, sample by sample."""
    made = resolve((9, 4), "4/4", bars=2, crash=True)
    tempo = made.metre.tempo(100)
    ours = sound(made, tempo, cycles=2).samples()
    plan = sounding.plan_of(made, tempo, [made.beats], [lane.name for lane in made.lanes])
    assert plan["lanes"][-1]["power"] == 4 / 9
    agree(ours, rendered_offline(page, plan, {}, 2, 0, len(ours)))


def text(page, selector: str) -> str:
    return page.locator(selector).first.text_content()


def test_space_starts_escape_stops_and_the_button_says_which(page):
    """Start is quiet at first, by button or Space; Stop by button, Space or Escape anywhere on the page."""
    open_stage(page, two_numbers(7, 4).stage)
    start = page.locator(".rl-start")
    assert start.text_content() == START
    page.locator(".rl-picture").focus()
    page.keyboard.press("Space")
    wait_until(page, "engine.playing()")
    assert start.text_content() == STOP
    page.keyboard.press("Space")
    assert not page.evaluate("engine.playing()")
    start.click()
    wait_until(page, "engine.playing()")
    page.locator("body").press("Escape")
    assert not page.evaluate("engine.playing()")
    assert start.text_content() == START


def test_it_is_quiet_at_first_and_the_volume_is_kept(page):
    """The first start is at a fifth of full level; a volume chosen once is there on the next page."""
    open_stage(page, two_numbers(7, 4).stage)
    assert page.evaluate("engine.settings.volume") == 0.2
    page.get_by_label("volume", exact=True).fill("70")
    open_stage(page, two_numbers(4, 3).stage)
    assert page.evaluate("engine.settings.volume") == pytest.approx(0.49)


def test_what_comes_out_is_heard_and_stays_under_full_level(page):
    """With every level at its highest the output is loud and still never reaches full scale."""
    open_stage(page, two_numbers(7, 4, bpm=200).stage)
    page.evaluate(
        """() => {
          engine.set("volume", 1);
          engine.set("home", { on: true, level: 1 });
          engine.set("lanes", engine.settings.lanes.map((lane) => ({ ...lane, level: 1, side: 0 })));
        }"""
    )
    page.locator(".rl-start").click()
    wait_until(page, "engine.playing()")
    peak = page.evaluate(
        """async () => {
          const meter = engine.context().createAnalyser();
          meter.fftSize = 32768;
          engine.out().connect(meter);
          const samples = new Float32Array(meter.fftSize);
          let peak = 0;
          while (engine.now().pos < 1) { // a whole cycle
            await new Promise((done) => requestAnimationFrame(done));
            meter.getFloatTimeDomainData(samples);
            for (const one of samples) peak = Math.max(peak, Math.abs(one));
          }
          return peak;
        }"""
    )
    assert 0.25 < peak < 0.96  # plain strokes: the room above them is for accents


def test_home_flips_while_it_sounds_and_no_stroke_is_touched(page):
    """Pressing flip leaves every stroke laid and moves the home beat at the next beat of the new home."""
    open_stage(page, two_numbers(7, 4).stage)
    page.evaluate("engine.log = []")
    page.locator(".rl-start").click()
    wait_until(page, "engine.now() && engine.now().pos > 0.3")
    page.get_by_role("button", name="Flip home to the 7").click()
    wait_until(page, "model.get('home') === 0")
    assert page.evaluate("engine.now().home") == 0
    assert page.get_by_role("button", name="Flip home to the 4").is_visible()
    assert page.evaluate("engine.report().late + engine.report().dropped") == 0


def test_two_views_of_one_stage_show_the_same_and_the_last_one_closed_stops_it(page):
    """Both views have the playhead and the buttons of one engine; closing one goes on, closing both stops."""
    open_stage(page, two_numbers(7, 4).stage, views=2)
    page.locator(".rl-start").first.click()
    wait_until(page, "engine.now() && engine.now().pos > 0.1")
    assert [one.text_content() for one in page.locator(".rl-start").all()] == [STOP, STOP]
    assert page.locator(".rl-playhead").count() == 2
    page.evaluate("closers[0]()")
    pos = page.evaluate("engine.now().pos")
    wait_until(page, f"engine.now().pos > {pos} + 0.03")
    assert page.evaluate("engine.playing()")
    page.evaluate("closers[1]()")
    assert not page.evaluate("engine.playing()")


def test_a_page_that_is_left_or_a_view_out_of_the_page_stops(page):
    """Leaving the page stops the sound at once, and so does a view that is taken out of the page."""
    open_stage(page, two_numbers(7, 4).stage)
    page.locator(".rl-start").click()
    wait_until(page, "engine.playing()")
    page.evaluate("window.dispatchEvent(new Event('pagehide'))")
    assert not page.evaluate("engine.playing()")
    page.locator(".rl-start").click()
    wait_until(page, "engine.playing()")
    page.evaluate("document.querySelector('.rl-stage').remove()")
    wait_until(page, "!engine.playing()")


def test_a_blocked_page_loses_no_stroke(page):
    """The page's thread is blocked for 200 ms again and again; no stroke is late and none is lost."""
    open_stage(page, follow_gaps(16, 15, bpm=240).stage)
    page.locator(".rl-start").click()
    wait_until(page, "engine.playing()")
    for _ in range(12):
        page.evaluate("{ const end = performance.now() + 200; while (performance.now() < end); }")
        drawn(page)
    report = page.evaluate("engine.report()")
    assert report["scheduled"] > 20
    assert (report["late"], report["dropped"]) == (0, 0)


@pytest.mark.parametrize(
    "broken",
    ["() => { throw new Error('no'); }", "() => ({ contextTime: 0, performanceTime: 0 })", "undefined"],
)
def test_a_browser_without_a_readable_clock_plays_and_shows_all_the_same(page, broken):
    """Where getOutputTimestamp is missing, wrong or fails, the playhead follows the reported latency."""
    before = f"AudioContext.prototype.getOutputTimestamp = {broken};"
    open_stage(page, two_numbers(7, 4).stage, before=before)
    page.locator(".rl-start").click()
    wait_until(page, "engine.now() && engine.now().pos > 0.2")
    assert page.evaluate("document.querySelector('.rl-playhead').getAttribute('transform')")


def test_a_suspended_sound_card_is_told(page):
    """Where the browser lets no sound begin, a line says what to do and nothing pretends to play."""
    before = """
      AudioContext.prototype.resume = async () => {};
      Object.defineProperty(AudioContext.prototype, "state", { get: () => "suspended" });
    """
    open_stage(page, two_numbers(7, 4).stage, before=before)
    page.locator(".rl-start").click()
    page.get_by_text("press Start again").wait_for()
    assert not page.evaluate("engine.playing()")


def test_no_web_audio_is_told(page):
    """A browser without Web Audio gets a sentence, not a silent button."""
    open_stage(
        page, two_numbers(7, 4).stage, before="delete window.AudioContext; delete window.webkitAudioContext;"
    )
    page.locator(".rl-start").click()
    page.get_by_text("no sound of its own").wait_for()


def test_with_reduced_motion_the_place_is_stepped_from_beat_to_beat(page):
    """Through a cycle the line stands on the beats and nowhere between, each where its picture has it."""
    page.emulate_media(reduced_motion="reduce")
    open_stage(page, two_numbers(7, 4).stage)
    page.locator(".rl-start").click()
    wait_until(page, "document.querySelector('.rl-now').textContent.includes('beat 1')")
    places = page.evaluate(
        """async () => {
          const seen = new Set();
          while (engine.now().pos < 1.05) {
            await new Promise(requestAnimationFrame);
            seen.add(document.querySelector(".rl-playhead").getAttribute("transform"));
          }
          return [...seen];
        }"""
    )
    start, _, left, right, width, _ = map(
        float, page.locator(".rl-picture svg").get_attribute("data-frame").split()
    )
    assert start == 0
    assert places == [f"translate({left + beat / 4 * (width - left - right):.2f})" for beat in range(4)]


def test_the_playhead_stands_where_the_sound_is_on_every_picture(page):
    """On the strip, the grid, every home and the gap cycle the playhead stands at the tick that sounds."""
    from rhythmlab.panels.panel import VIEWS

    for view in VIEWS:
        panel = two_numbers(7, 4, bpm=60)
        panel._view.value = view
        open_stage(page, panel.stage)
        page.locator(".rl-start").click()
        wait_until(page, "engine.now() && engine.now().pos > 0.25")
        off = page.evaluate(
            """async () => {
              await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
              const svg = document.querySelector(".rl-picture svg");
              const [start, stop, left, right, width] = svg.dataset.frame.split(" ").map(Number);
              const moved = document.querySelector(".rl-playhead").getAttribute("transform");
              const x = Number(/translate\\(([\\d.]+)/.exec(moved)[1]);
              const tick = start + ((x - left) / (width - left - right)) * (stop - start);
              return Math.abs(tick - engine.now().tick) / (28 / 4);
            }"""
        )
        assert off < 0.06, view  # seconds at 60 bpm: a few frames
        page.keyboard.press("Escape")


def test_other_numbers_and_another_tempo_from_python_go_on_sounding(page):
    """A new tempo keeps the place in the cycle; new numbers begin at once; neither stops the sound."""
    open_stage(page, two_numbers(7, 4).stage)
    page.locator(".rl-start").click()
    wait_until(page, "engine.now() && engine.now().pos > 0.2")
    before = page.evaluate("engine.now().pos")
    set_plan(page, two_numbers(7, 4, bpm=144).stage.plan)
    wait_until(page, "Math.abs(engine.timeline().turnSAt(engine.now().pos) - 240 / 144) < 1e-6")
    pos = page.evaluate("engine.now().pos")
    assert before < pos < before + 0.6
    plan = two_numbers(4, 3, bpm=144).stage.plan
    set_plan(page, plan)
    wait_until(page, "engine.now() && engine.now().slice.stop === 12")
    assert page.evaluate("engine.playing()")


def test_the_tempo_is_tapped_with_four_taps(page):
    """Four presses 400 ms apart ask Python for 150 bpm of home; fewer ask for nothing."""
    open_stage(page, two_numbers(7, 4).stage)
    page.get_by_role("tab", name="Practise").click()
    asked = page.evaluate(
        """async () => {
          const tap = document.querySelector(".rl-tap");
          const asked = [];
          for (let i = 0; i < 4; i += 1) {
            const click = new MouseEvent("click");
            Object.defineProperty(click, "timeStamp", { value: 5000 + 400 * i });
            tap.dispatchEvent(click);
            asked.push((model.get("slid") || {}).bpm ?? null);
          }
          return asked;
        }"""
    )
    assert asked[:3] == [None, None, None]
    assert asked[3] == 150


def test_a_hidden_tab_goes_on_and_loses_no_stroke(page):
    """Hidden and shown again, with timers once a second meanwhile: the sound goes on, nothing is late."""
    before = """
      window.rlHidden = false;
      Object.defineProperty(document, "hidden", { get: () => window.rlHidden });
      const every = window.setInterval.bind(window);
      window.setInterval = (call, ms) => {
        let last = 0;
        return every(() => {
          const now = performance.now();
          if (window.rlHidden && now - last < 1000) return;
          last = now;
          call();
        }, ms);
      };
    """
    open_stage(page, two_numbers(7, 4, bpm=200).stage, before=before)
    page.locator(".rl-start").click()
    wait_until(page, "engine.playing()")
    page.evaluate("rlHidden = true; document.dispatchEvent(new Event('visibilitychange'))")
    wait_until(page, "engine.report().scheduled > 40")
    page.evaluate("rlHidden = false; window.rlSeen = engine.report().scheduled")
    wait_until(page, "engine.report().scheduled > rlSeen + 5")
    report = page.evaluate("engine.report()")
    assert report["scheduled"] > 40
    assert (report["late"], report["dropped"]) == (0, 0)


def test_a_beginner_hears_both_hands_and_no_home_beat(page):
    """The first rhythms sound as two hands alone."""
    open_stage(page, first_rhythms().stage)
    page.locator(".rl-start").click()
    wait_until(page, "engine.now() && engine.now().pos > 0.2")
    assert page.evaluate("engine.report().scheduled") >= 2
    assert page.locator(".rl-homes").is_hidden()

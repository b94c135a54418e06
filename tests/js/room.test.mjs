import assert from "node:assert/strict";
import { test } from "node:test";
import { clapOf } from "../../rhythmlab/panels/stage/clap.mjs";
import { makeDesk } from "../../rhythmlab/panels/stage/desk.mjs";
import { makeEngine } from "../../rhythmlab/panels/stage/engine.mjs";
import { firstSettings } from "../../rhythmlab/panels/stage/settings.mjs";
import { CLAPS, makeRoom, sides } from "../../rhythmlab/panels/stage/room.mjs";
import { meant } from "../../rhythmlab/panels/stage/roomkeys.mjs";
import { SLOWED, askedBpm, makeSlide, slowed } from "../../rhythmlab/panels/stage/slide.mjs";
import { nowSaid, tempoSaid } from "../../rhythmlab/panels/stage/soundbar.mjs";
import { calledFor, landmarkSaid, lineSaid, longestSaid, whereSaid } from "../../rhythmlab/panels/stage/where.mjs";
import { SEVEN_FOUR, fakeContext, fakeEngine } from "./fakes.mjs";

const key = (name, more = {}) => ({ key: name, ctrlKey: false, metaKey: false, altKey: false, ...more });

test("each key of the wall means one thing, capitals too, and none with Ctrl, Alt or Cmd", () => {
  const wanted = { f: "flip", s: "slow", g: "gaps", h: "halves", c: "clap", w: "where", b: "bare", n: "next", p: "previous" };
  for (const [name, does] of Object.entries(wanted)) {
    assert.deepEqual(meant(key(name), false, false), { does });
    assert.deepEqual(meant(key(name.toUpperCase()), false, false), { does });
    assert.equal(meant(key(name, { ctrlKey: true }), false, false), null);
  }
  assert.equal(meant(key("q"), false, false), null);
  assert.equal(meant(key("ArrowDown"), false, false), null);
});

test("a tempo that is asked for counts before Python has answered, of a pair in its home and of a groove as it is", () => {
  const pair = { turn: 1, pulses: [7, 4] };
  assert.equal(askedBpm({ turn: 1, bpm: 90, home: 1 }, pair, 1, 72), 72); // answered
  assert.equal(askedBpm({ turn: 2, bpm: 70, home: 0 }, pair, 1, 72), 40);
  assert.equal(askedBpm({ turn: 2, bpm: 96, home: 0 }, { turn: 1 }, 0, 92), 96);
  assert.equal(askedBpm({ turn: 1, bpm: 96, home: 0 }, { turn: 1 }, 0, 92), 92);
  assert.equal(askedBpm({}, { turn: 0 }, 0, 92), 92);
});

test("a remote for slides works everywhere, also while a number is typed", () => {
  for (const inField of [false, true]) {
    assert.deepEqual(meant(key("PageDown"), inField, inField), { does: "next" });
    assert.deepEqual(meant(key("PageUp"), inField, inField), { does: "previous" });
  }
});

test("a figure begins with the first number; in a field letters and figures are typed, and Enter calls", () => {
  assert.deepEqual(meant(key("7"), false, false), { field: "first" });
  assert.equal(meant(key("7"), true, true), null);
  assert.equal(meant(key("f"), true, true), null);
  assert.deepEqual(meant(key("Enter"), true, true), { does: "enter" });
  assert.equal(meant(key("Enter"), false, false), null); // a button in focus keeps its Enter
  for (const name of ["Tab", " ", ":", "x"]) assert.deepEqual(meant(key(name), true, true), { field: "other" });
  for (const name of ["/", "+"]) assert.equal(meant(key(name), true, true), null); // of a bar, 7/8 or 2+2+3
  assert.equal(meant(key(" "), true, false), null); // in the tempo
});

test("with halves the first pulse is right and the second left, mirrored for left hands, and the rest of the mix stays", () => {
  const mixed = [{ level: 0.2, side: 0, mute: true, solo: false }];
  assert.deepEqual(sides(mixed, 2, true).map((lane) => lane.side), [1, -1]);
  assert.deepEqual(sides(mixed, 2, true, true).map((lane) => lane.side), [-1, 1]);
  assert.deepEqual(sides(mixed, 3, true).map((lane) => lane.side), [1, -1, 0]);
  assert.equal(sides(mixed, 2, true)[0].level, 0.2);
  assert.equal(sides(mixed, 2, true)[0].mute, true);
  assert.ok(sides(mixed, 2, false).every((lane) => Math.abs(lane.side) < 0.5));
});

test("the next landmark is told with the beats to it, round the end of the cycle too", () => {
  const beats = Array.from({ length: 15 }, (_, i) => 16 * i);
  const marks = [[0, "all together"], [60, "a of 4"], [120, "& of 8"]];
  const said = (tick) => landmarkSaid(marks, beats, 240, tick, 16);
  assert.equal(said(0), "landmark now: all together");
  assert.equal(said(17), "next landmark: a of 4, 2 beats on");
  assert.equal(said(50), "next landmark: a of 4, in this beat");
  assert.equal(said(61), "landmark now: a of 4");
  assert.equal(said(215), "next landmark: all together, 2 beats on");
  assert.equal(said(225), "next landmark: all together, 1 beat on");
  assert.equal(landmarkSaid([], beats, 240, 0, 16), "");
});

test("a landmark is called now for half a beat, never longer than the beat or 0.8 s, and long enough to be read", () => {
  for (const seconds of [0.1, 0.3, 0.5, 0.6, 1, 1.2, 2, 10]) {
    const called = (calledFor(16, seconds) / 16) * seconds;
    assert.ok(called <= seconds + 1e-9 && called <= 0.8 + 1e-9, String(seconds));
    assert.ok(called >= Math.min(seconds, 0.4) - 1e-9, String(seconds));
  }
  assert.equal(calledFor(16, 1), 8);
});

test("a clap is as loud as the snare at its loudest, brighter, and ends at nothing", () => {
  const rate = 48000;
  const snare = Float32Array.from({ length: 7200 }, (_, i) =>
    0.5 * Math.exp(-i / 900) * (Math.sin((2 * Math.PI * 190 * i) / rate) + 0.4 * Math.sin(i * i)));
  const clap = clapOf(snare, rate);
  const most = (samples) => samples.reduce((high, x) => Math.max(high, Math.abs(x)), 0);
  assert.equal(clap.length, snare.length);
  assert.ok(Math.abs(most(clap) - most(snare)) < 1e-3 * most(snare) + 1e-6);
  assert.ok(Math.abs(clap.at(-1)) === 0);
  const steps = (samples) => samples.slice(1).reduce((sum, x, i) => sum + (x - samples[i]) ** 2, 0);
  const power = (samples) => samples.reduce((sum, x) => sum + x * x, 0);
  assert.ok(steps(clap) / power(clap) > 1.5 * (steps(snare) / power(snare)));
  assert.ok(clapOf(new Float32Array(100), rate).every((x) => x === 0));
});

test("the desk makes the clap from the snare, and plays nothing where there is none", () => {
  const desk = (voices) => makeDesk(fakeContext(), () => voices, 48000);
  assert.ok(desk({ snare: new DataView(new ArrayBuffer(800)) }).play("count", "clap", 0));
  assert.equal(desk({}).play("count", "clap", 0), null);
});

test("a wall is counted in with claps, at the same moments as clicks", async () => {
  const counted = async (clap) => {
    const fake = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR, { settings: { countIn: 4, clap } });
    const snare = new DataView(new ArrayBuffer(800));
    const voices = fake.source.voices();
    fake.source.voices = () => ({ ...voices, snare });
    await fake.engine.start();
    fake.run(4);
    return fake.strokes("count").map((one) => one.when.toFixed(6));
  };
  const [claps, clicks] = [await counted(true), await counted(false)];
  assert.equal(claps.length, CLAPS);
  assert.deepEqual(claps, clicks);
});

/** Just enough of a page for the buttons of a wall. */
function withPage(call) {
  const before = globalThis.document;
  const listeners = [];
  const make = () => {
    const one = {
      attributes: {}, presses: [], hidden: false, className: "", children: [],
      setAttribute: (name, value) => (one.attributes[name] = value),
      addEventListener: (_, press) => one.presses.push(press),
      append: (...parts) => one.children.push(...parts),
      querySelectorAll: () => [],
      focus: () => (one.focused = true),
    };
    return one;
  };
  globalThis.document = {
    createElement: make,
    addEventListener: (kind, listener) => listeners.push(listener),
    removeEventListener: (kind, listener) => listeners.splice(listeners.indexOf(listener), 1),
  };
  try {
    return call(make, listeners);
  } finally {
    globalThis.document = before;
  }
}

function room(make, state) {
  const toggle = (name, on) => wall.has[on ? "add" : "delete"](name);
  const wall = { has: new Set(), classList: { toggle } };
  const sent = [];
  const told = [];
  const fake = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR);
  let started = 0;
  fake.engine.start = () => (started += 1);
  fake.engine.ready = async () => true;
  const aside = make();
  const stage = {
    model: { get: (name) => state[name], send: (message) => sent.push(message) },
    el: Object.assign(make(), { closest: () => wall }), figure: make(), folds: make(), plan: () => SEVEN_FOUR,
    picture: () => state.picture, flip: () => {}, setBpm: (bpm) => sent.push({ bpm }),
    tell: (text) => told.push(text),
  };
  const made = makeRoom(aside, fake.engine, stage);
  const [controls, hint] = ["rl-controls", "rl-hint"].map((name) => aside.children.find((one) => one.className === name));
  const button = (text) => controls.children.find((one) => one.textContent === text);
  const spoken = stage.el.children.find((one) => one.className === "rl-spoken");
  return { made, sent, told, button, hint, fake, stage, wall, spoken, started: () => started };
}

test("the numbers sound as soon as Python has answered, and not where it could not read them", () => {
  withPage((make) => {
    const state = { room: { pair: true, halves: true }, notice: "", bpm_range: [20, 300], picture: { bpm: 72 } };
    const wall = room(make, state);
    const enter = () => wall.stage.figure; // Enter puts the focus on the picture
    wall.made.enter([{ value: "5" }, { value: "3" }]);
    assert.equal(enter().focused, true);
    assert.deepEqual(wall.sent.at(-1), { pressed: "enter", number: 1, texts: ["5", "3"] });
    wall.made.update();
    assert.equal(wall.started(), 0);
    state.room = { ...state.room, answered: 1 };
    wall.made.update();
    wall.made.update();
    assert.equal(wall.started(), 1);
    wall.made.enter([{ value: "5" }, { value: "x" }]);
    state.room = { ...state.room, answered: 2 };
    state.notice = "The second pulse 'x' is not a whole number";
    wall.made.update();
    assert.equal(wall.started(), 1);
    wall.made.close();
  });
});

test("what sounds goes on until a call is answered, and no field sends what Enter has sent", async () => {
  await withPage(async (make) => {
    const state = { room: { pair: true }, notice: "", bpm_range: [20, 300], picture: { bpm: 72 } };
    const wall = room(make, state);
    let [playing, stops] = [true, 0];
    Object.assign(wall.fake.engine, { playing: () => playing, stop: () => [(playing = false), (stops += 1)], now: () => null });
    const fields = ["5", "x"].map((value) => ({ value }));
    let held = null;
    wall.stage.figure.focus = () => (held = fields.map((field) => field.rlHeld));
    wall.made.enter(fields);
    assert.deepEqual([held, fields.map((field) => field.rlHeld)], [[true, true], [false, false]]);
    assert.equal(wall.made.waits(), true); // so that other strokes end those that sound
    wall.wall.has.add("rl-calling");
    state.room = { pair: false, answered: 1, refused: true };
    wall.made.update();
    assert.deepEqual([wall.made.waits(), stops, wall.started()], [false, 0, 0]);
    assert.equal(wall.wall.has.has("rl-calling"), false);
    wall.made.enter(fields);
    state.room = { pair: true, answered: 2, refused: false };
    wall.made.update();
    assert.deepEqual([stops, wall.started()], [1, 1]);
    wall.made.close();
  });
});

test("no line of a cycle is longer than the one that room is kept for", () => {
  const homes = [Array.from({ length: 16 }, (_, i) => 15 * i), Array.from({ length: 15 }, (_, i) => 16 * i)];
  const plan = { ticks: 240, homes, cycle: { bars: [] } };
  const marks = [[60, "quarter after 5"], [120, "exact midway on 9"], [180, "quarter before 13"]];
  const picture = { bpm: 77, marks, landmarks: [[0, "all together"], ...marks] };
  for (const lost of [false, true]) for (const speed of [1, 0.6]) for (const home of [0, 1]) {
    const where = (now) => whereSaid(now.beats, now.bars, marks, now.tick);
    const wall = { plan, home, picture, lost, bare: false, where };
    const longest = longestSaid(wall, speed);
    const lines = Array.from({ length: 240 }, (_, tick) => {
      const now = { turn: 1, tick, beats: homes[home], bars: [], speed, whole: true, home };
      const [text, large] = lineSaid(now, nowSaid(now, 77, true), wall);
      return [large, text.slice(large.length + 3)];
    });
    for (const part of [0, 1]) {
      const most = Math.max(...lines.map((line) => line[part].length));
      assert.ok(longest[part].length >= most && most > 0, `${longest[part]}: ${most}`);
    }
    assert.deepEqual(longestSaid({ ...wall, bare: true }, speed), ["", ""]);
  }
});

test("slow is a whole tempo of home, the nearest to three fifths of what is written", () => {
  for (let tenths = 11; tenths <= 4000; tenths += 1) {
    const bpm = tenths / 10;
    const heard = (bpm * slowed(bpm)) / 100;
    assert.ok(Math.abs(heard - Math.round(heard)) < 1e-9, String(bpm));
    assert.ok(Math.abs(heard - (bpm * SLOWED) / 100) <= 0.5 + 1e-9 && heard > 0, String(bpm));
  }
  for (const bpm of [0, 0.4, 1]) assert.equal(slowed(bpm), SLOWED); // slower in any case
});

test("slow and clap are pressed and let go, and halves and gap cycle are asked of Python", () => {
  withPage((make, listeners) => {
    const state = { home: 1, room: { pair: true, halves: false, hint: "type" }, bpm_range: [20, 300], picture: { bpm: 72 } };
    const wall = room(make, state);
    const { settings } = wall.fake.engine;
    const press = (text) => wall.button(text).presses.forEach((call) => call());
    press("Slow");
    wall.made.update();
    assert.ok(Math.abs(settings.slow * 72 - 4300) < 1e-9);
    assert.equal(wall.button("Slow").attributes["aria-pressed"], "true");
    press("Slow");
    press("Clap in");
    wall.made.update();
    assert.equal(settings.slow, 100);
    assert.equal(settings.countIn, CLAPS);
    assert.equal(settings.clap, true);
    press("Halves");
    press("Gap cycle");
    assert.deepEqual(wall.sent, [{ pressed: "halves" }, { pressed: "gaps" }]);
    state.room = { ...state.room, halves: true };
    wall.made.update();
    assert.deepEqual(settings.lanes.map((lane) => lane.side), [1, -1]);
    settings.lanes[0].side = 0.2; // moved by hand: it stays
    wall.made.update();
    assert.equal(settings.lanes[0].side, 0.2);
    state.room = { ...state.room, pair: false };
    wall.made.update();
    assert.ok(wall.button("Halves").hidden && wall.button("Gap cycle").hidden);
    assert.equal(wall.hint.textContent, "type");
    assert.deepEqual(wall.made.line(null, ""), ["beat \u2013 of 4", "beat \u2013 of 4"]);
    wall.made.close();
    assert.equal(listeners.length, 0);
  });
});

const placesOf = (p, q) => {
  const ticks = (p * q) / gcd(p, q);
  return { ticks, beats: Array.from({ length: q }, (_, i) => (i * ticks) / q) };
};
const gcd = (a, b) => (b ? gcd(b, a % b) : a);

test("where we are: the beat of how many, the beats to beat 1 and to the next landmark, by counting them one by one", () => {
  for (let p = 2; p <= 24; p += 1) {
    for (let q = 2; q <= 24; q += 1) {
      const { ticks, beats } = placesOf(p, q);
      const step = ticks / q;
      const marks = [];
      for (let tick = 1; tick < ticks; tick += 1) {
        if (tick % (ticks / p) === 0 && (4 * (tick % step)) % step === 0) marks.push([tick, `mark ${tick}`]);
      }
      for (let beat = 0; beat < q; beat += 1) {
        const said = whereSaid(beats, [], marks, beat * step);
        let [left, here] = [1, beat + 1];
        for (; here < q; here += 1) left += 1;
        assert.ok(said.startsWith(`beat ${beat + 1} of ${q} \u00b7 ${left} beat${left === 1 ? "" : "s"} to beat 1`), said);
        const next = marks.find(([tick]) => tick > beat * step);
        let passed = 0;
        if (next) for (let tick = beat * step + 1; tick <= next[0]; tick += 1) passed += tick % step === 0;
        const far = passed ? `${passed} beat${passed === 1 ? "" : "s"} to the ${next?.[1]}` : `next: the ${next?.[1]}, in this beat`;
        assert.equal(said.split(" \u00b7 ")[2], next ? far : undefined);
        assert.doesNotMatch(said, /tick/);
        // nothing changes within the beat
        for (const part of [0.25, 0.5, 0.999]) assert.equal(whereSaid(beats, [], marks, (beat + part) * step), said);
      }
    }
  }
});

test("where we are is where the last beat of home was heard: slow, after flips and after another tempo", async () => {
  let seed = 11;
  const random = (n) => (seed = (seed * 48271) % 2147483647) % n;
  for (let nth = 0; nth < 24; nth += 1) {
    const [p, q] = [2 + random(12), 2 + random(12)];
    const { ticks, beats } = placesOf(p, q);
    const lane = (onsets, name) => ({ name, sound: "click", onsets, accents: [], ghosts: [] });
    const both = [placesOf(q, p).beats, beats];
    const plan = { ...SEVEN_FOUR, ticks, lanes: both.map(lane), homes: both, cycle_s: 3 + random(5), bpms: [60, 60] };
    const { engine, run, strokes, state } = fakeEngine(makeEngine, firstSettings, plan);
    await engine.start();
    for (let step = 0; step < 240; step += 1) {
      run(0.05);
      if (step % 40 === 13) engine.set("slow", engine.settings.slow === 100 ? 60 : 100);
      if (step % 60 === 29) engine.flip(random(2));
      if (step % 70 === 47) {
        state.plan = { ...state.plan, cycle_s: 2 + random(6) };
        engine.replan(true);
      }
      const { pos, home, beats: shown, tick } = engine.now();
      if (pos < 0) continue;
      const many = both[home].length;
      const heard = Math.floor((pos - Math.floor(pos)) * many + 1e-6); // beats are even, whatever the tempo
      const left = many - heard;
      assert.ok(whereSaid(shown, [], [], tick).startsWith(`beat ${heard + 1} of ${many} \u00b7 ${left} beat${left === 1 ? "" : "s"} to beat 1`));
      const last = strokes("home").filter((one) => one.index === home && one.pos <= pos + 1e-9).at(-1);
      if (last && pos - last.pos < 1 / many - 1e-6) assert.equal(Math.round((last.pos - Math.floor(last.pos + 1e-9)) * many), heard);
    }
    engine.stop();
    assert.equal(engine.now(), null);
  }
});

test("where we are in bars: the bar of how many, the beat in it, and the beats to bar 1", () => {
  const beats = Array.from({ length: 16 }, (_, i) => 4 * i);
  assert.equal(whereSaid(beats, [0, 16, 32, 48], [], 40), "bar 3 of 4, beat 3 \u00b7 6 beats to bar 1");
  assert.equal(whereSaid([4, 8], [], [[6, "a"]], 1), "beat 2 of 2 \u00b7 1 beat to beat 1"); // before its first beat
  assert.equal(whereSaid([], [], [], 3), "");
  for (const tick of [0, 2]) assert.equal(whereSaid([0], [0], [[1, "e of 1"]], tick), "each beat is beat 1"); // of 4 against 1
  assert.equal(whereSaid([0, 4, 7, 11], [], [], 8, "group"), "group 3 of 4 \u00b7 2 groups to group 1"); // of a phrase
});

test("Where? stands while it sounds, changes on the beat, and is gone after Stop and when pressed again", () => {
  withPage((make) => {
    const pictures = [{ bpm: 126, marks: [] }, { bpm: 72, marks: [[14, "meeting on beat 3"]] }];
    const wall = room(make, { home: 1, room: { pair: true, hint: "type" }, bpm_range: [20, 300], picture: pictures[1], pictures });
    const press = () => wall.button("Where?").presses.forEach((call) => call());
    press();
    assert.match(wall.told.at(-1), /^Start first/);
    let sounding = true;
    wall.fake.engine.playing = () => sounding;
    const at = (tick) => ({ beats: [0, 7, 14, 21], tick, turn: 0, home: 1, whole: true });
    wall.fake.engine.now = () => at(1);
    press();
    assert.equal(wall.button("Where?").attributes["aria-pressed"], "true");
    const line = (now, said) => wall.made.line(now, said)[0];
    assert.equal(line(at(6.9), "beat 1"), "beat 1 of 4 \u00b7 4 beats to beat 1 \u00b7 2 beats to the meeting on beat 3");
    assert.equal(wall.made.line(at(7), "beat 2")[1], "beat 2 of 4"); // the place alone is the largest
    assert.equal(line(at(7), "beat 2"), "beat 2 of 4 \u00b7 3 beats to beat 1 \u00b7 1 beat to the meeting on beat 3");
    assert.equal(wall.spoken.textContent, line(at(1), ""));
    assert.ok(line({ ...at(7), speed: 43 / 72 }, "").endsWith(" \u00b7 slow: 43 of 72 bpm")); // where it is slow too
    assert.deepEqual(wall.made.line({ ...at(7), turn: -1 }, "count-in"), ["count-in", "count-in"]);
    sounding = false;
    wall.made.update();
    assert.equal(wall.spoken.textContent, "");
    assert.equal(wall.button("Where?").attributes["aria-pressed"], "false");
    assert.equal(line(null, ""), "beat \u2013 of 4");
    sounding = true;
    assert.equal(line(at(7), "beat 2"), "beat 2");
    press();
    press();
    assert.equal(line(at(7), "beat 2"), "beat 2");
    wall.made.close();
  });
});

test("the slide says beside the tempo that is written which one is heard, while it is slow", () => {
  withPage(() => {
    let slow = "";
    const slide = makeSlide(() => ({ bpm: 72, low: 20, high: 300, of: "the 4", slow }), () => {});
    const said = () => slide.label.children[0].textContent;
    slide.update();
    assert.equal(said(), "tempo 72 bpm of the 4");
    slow = tempoSaid(43 / 72, 72, true);
    slide.update();
    assert.equal(said(), "tempo 72 bpm of the 4 \u00b7 slow: 43 of 72 bpm");
  });
});

test("presses of + and - give their whole sum, however late Python answers, from either home", () => {
  withPage((make) => {
    const state = { room: { pair: true }, bpm_range: [20, 300], picture: { bpm: 72 }, slid: {}, home: 1 };
    const wall = room(make, state);
    const plan = { ...SEVEN_FOUR, pulses: [7, 4], turn: 0 };
    let turn = 0;
    wall.stage.plan = () => plan;
    wall.stage.setBpm = (bpm) => (state.slid = { bpm, home: state.home, turn: (turn += 1) });
    const again = makeRoom(make(), wall.fake.engine, wall.stage);
    for (let nth = 1; nth <= 5; nth += 1) {
      again.does.faster();
      assert.equal(state.slid.bpm, 72 + 4 * nth);
      if (nth === 2) [state.picture, plan.turn] = [{ bpm: 76 }, 1]; // Python is one behind
    }
    assert.equal(state.slid.bpm, 92);
    [state.picture, plan.turn] = [{ bpm: 92 }, 5];
    again.does.slower();
    assert.equal(state.slid.bpm, 88);
    state.home = 0; // flipped before the answer: 88 of the 4 are 154 of the 7
    again.does.faster();
    assert.equal(state.slid.bpm, 158);
    for (let nth = 0; nth < 99; nth += 1) again.does.faster();
    assert.equal(state.slid.bpm, 300);
    wall.made.close();
    again.close();
  });
});

test("what is put on the wall next goes at its own tempo: Slow is off, and nothing else is touched", () => {
  withPage((make) => {
    const state = { room: { pair: true, put: 3 }, bpm_range: [20, 300], picture: { bpm: 72 } };
    const wall = room(make, state);
    const { settings } = wall.fake.engine;
    const press = (text) => wall.button(text).presses.forEach((call) => call());
    press("Slow");
    press("Clap in");
    wall.made.update();
    assert.ok(Math.abs(settings.slow * 72 - 4300) < 1e-9); // the same pair still
    state.room = { ...state.room, put: 4 };
    wall.made.update();
    assert.equal(settings.slow, 100);
    assert.equal(settings.countIn, CLAPS);
    press("Slow");
    wall.made.update();
    assert.ok(Math.abs(settings.slow * 72 - 4300) < 1e-9);
    wall.made.close();
  });
});

test("a flip that is still on its way when numbers are called does not move their home", () => {
  withPage((make) => {
    const pictures = [{ bpm: 126 }, { bpm: 72 }];
    const wall = room(make, { room: { pair: true }, bpm_range: [20, 300], picture: pictures[1], pictures, home: 0 });
    const flipped = [];
    wall.fake.engine.flip = (home) => flipped.push(home);
    const state = wall.stage.model;
    wall.made.enter([{ value: "5" }, { value: "3" }]);
    const get = state.get;
    state.get = (name) => (name === "room" ? { pair: true, answered: 1 } : get(name));
    wall.made.update();
    assert.deepEqual(flipped, [1]);
    assert.equal(wall.started(), 1);
    wall.made.close();
  });
});

test("bare pressed again before Python has answered stays as it was pressed last", () => {
  withPage((make) => {
    const state = { room: { pair: true, bare: false }, bpm_range: [20, 300], picture: { bpm: 72 } };
    const wall = room(make, state);
    wall.made.update();
    for (let nth = 0; nth < 3; nth += 1) wall.button("Bare").presses.forEach((call) => call());
    for (const on of [true, false, true]) {
      assert.ok(wall.wall.has.has("rl-bare"), String(on));
      state.room = { ...state.room, bare: on };
      wall.made.update();
    }
    assert.ok(wall.wall.has.has("rl-bare"));
    wall.made.close();
  });
});

test("bare is one key there and back, told to Python and to a screen reader", () => {
  withPage((make) => {
    const state = { home: 1, room: { pair: true, hint: "type" }, bpm_range: [20, 300], picture: { bpm: 72, landmarks: [[0, "all"]] } };
    const wall = room(make, state);
    const press = () => wall.button("Bare").presses.forEach((call) => call());
    wall.made.update();
    assert.equal(wall.button("Bare").attributes["aria-pressed"], "false");
    assert.equal(wall.button("Bare").attributes["aria-keyshortcuts"], "B");
    press();
    assert.deepEqual(wall.sent.at(-1), { pressed: "bare", on: true });
    assert.ok(wall.wall.has.has("rl-bare"));
    assert.equal(wall.button("Bare").attributes["aria-pressed"], "true");
    assert.match(wall.spoken.textContent, /^Bare: .* B brings the rest back\.$/);
    assert.equal(wall.made.line(null, "")[0], "beat \u2013 of 4");
    const now = { beats: [0, 7, 14, 21], tick: 1, turn: 0, home: 0, whole: true };
    assert.equal(wall.made.line(now, "beat 1")[0], "beat 1"); // no landmark: the count alone
    state.room = { ...state.room, bare: true };
    wall.made.update();
    press();
    assert.deepEqual(wall.sent.at(-1), { pressed: "bare", on: false });
    assert.ok(!wall.wall.has.has("rl-bare"));
    assert.equal(wall.spoken.textContent, "");
    state.room = { ...state.room, bare: false };
    wall.made.update();
    state.room = { ...state.room, bare: true }; // pressed in another view
    wall.made.update();
    assert.ok(wall.wall.has.has("rl-bare"));
    wall.made.close();
  });
});

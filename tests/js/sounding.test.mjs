import assert from "node:assert/strict";
import { test } from "node:test";
import { VOICE, limited, limiterCurve, makeDesk, samplesOf, sideOf } from "../../rhythmlab/panels/stage/desk.mjs";
import { makeClockMap, median } from "../../rhythmlab/panels/stage/clockmap.mjs";
import { beatOf, beatTicks, firstFrom, makeRows, positionOf, sameStrokes, sliceOf } from "../../rhythmlab/panels/stage/rows.mjs";
import { FIRST_VOLUME, firstSettings, keepVolume, levelOf, risen, silentAt, speedAt, storedVolume, voiceOf } from "../../rhythmlab/panels/stage/settings.mjs";
import { makePractise, tappedBpm, tapsWith } from "../../rhythmlab/panels/stage/practise.mjs";
import { frameOf, makePlayhead, xOf } from "../../rhythmlab/panels/stage/playhead.mjs";
import { makeSoundbar, nowSaid } from "../../rhythmlab/panels/stage/soundbar.mjs";
import { sideSaid } from "../../rhythmlab/panels/stage/mixer.mjs";
import { SEVEN_FOUR } from "./fakes.mjs";
import { STRENGTH, strokeOf, variantsOf } from "../../rhythmlab/panels/stage/struck.mjs";

const { accent, plain, ghost, first } = STRENGTH;
const WHOLE = { start: 0, stop: 28 };

test("the limiter changes nothing up to 0.7, rises always, and never reaches 0.95", () => {
  let before = -Infinity;
  for (let x = -4; x <= 4; x += 0.01) {
    const y = limited(x);
    if (Math.abs(x) <= 0.7) assert.equal(y, x);
    assert.ok(Math.abs(y) <= 0.95 && y >= before);
    before = y;
  }
  const curve = limiterCurve();
  assert.ok(Math.abs(curve[(curve.length - 1) / 2]) === 0);
  assert.ok(Math.abs(curve[curve.length - 1] - limited(4)) < 1e-6);
});

test("no lane stands hard to one side until the reader puts it there", () => {
  for (let lane = 0; lane < 8; lane += 1) assert.ok(Math.abs(sideOf(lane)) <= 0.5);
});

test("voices come as 16-bit numbers and go as samples", () => {
  const bytes = new DataView(new ArrayBuffer(4));
  bytes.setInt16(0, -32768, true);
  bytes.setInt16(2, 16384, true);
  assert.deepEqual([...samplesOf(bytes)], [-1, 0.5]);
});

test("rows hold each lane, each home's beats, and what is asked for, inside the slice", () => {
  const rows = makeRows(SEVEN_FOUR, { start: 7, stop: 21 }, { gridTicks: true, countIn: 2, home: 1 });
  assert.deepEqual(rows.map((row) => row.kind), ["lane", "lane", "home", "home", "grid", "count"]);
  assert.deepEqual(rows[1].ticks, [7, 14]);
  assert.equal(rows[4].ticks.length, 14);
  assert.deepEqual(rows[5].ticks, [-7, 0]);
});

test("the first stroke from a place is at it or after it, never before it, and none lies between", () => {
  const [seven] = makeRows(SEVEN_FOUR, WHOLE);
  for (let i = 0; i <= 84; i += 1) {
    const pos = i / 28;
    const n = firstFrom(seven, pos);
    assert.ok(positionOf(seven, n) >= pos - 1e-9);
    assert.ok(n === 0 || positionOf(seven, n - 1) < pos);
  }
});

test("a slice outside the cycle is the whole cycle", () => {
  assert.deepEqual(sliceOf(SEVEN_FOUR, { start: 20, stop: 40 }), WHOLE);
  assert.deepEqual(sliceOf(SEVEN_FOUR, null), WHOLE);
  assert.deepEqual(sliceOf(SEVEN_FOUR, { start: 7, stop: 14 }), { start: 7, stop: 14 });
});

test("the beat of a tick is counted from 1, and before the first beat it is the last", () => {
  assert.equal(beatOf([0, 7, 14, 21], 6.9), 1);
  assert.equal(beatOf([0, 7, 14, 21], 21), 4);
  assert.equal(beatOf([3, 5], 1), 2);
  assert.equal(beatTicks(SEVEN_FOUR, WHOLE, 1), 7);
  assert.equal(beatTicks({ ...SEVEN_FOUR, homes: [[]] }, WHOLE, 0), 7);
});

test("the volume is quiet at first, is kept, and a strange value is not believed", () => {
  const kept = (text) => ({ getItem: () => text });
  assert.equal(storedVolume(kept(null)), FIRST_VOLUME);
  assert.ok(FIRST_VOLUME <= 0.25);
  assert.equal(storedVolume(kept("0.5")), 0.5);
  assert.equal(storedVolume(kept("7")), FIRST_VOLUME);
  assert.equal(storedVolume(kept("loud")), FIRST_VOLUME);
  assert.equal(storedVolume({ getItem: () => { throw new Error("no"); } }), FIRST_VOLUME);
});

test("mute silences a lane, solo all others", () => {
  const { lanes } = firstSettings(3, { getItem: () => null });
  lanes[0].mute = true;
  assert.deepEqual([0, 1, 2].map((i) => levelOf(lanes, i) > 0), [false, true, true]);
  lanes[2].solo = true;
  assert.deepEqual([0, 1, 2].map((i) => levelOf(lanes, i) > 0), [false, false, true]);
});

test("voices can be each its own, all the same, or swapped", () => {
  const all = (sounds) => [0, 1].map((i) => voiceOf(SEVEN_FOUR, sounds, i)).join("");
  assert.deepEqual(["own", "equal", "swapped"].map(all), ["ab", "aa", "ba"]);
});

test("so many turns sound and so many are silent, from where it was asked for", () => {
  const drop = { sounding: 2, silent: 1, from: 5 };
  assert.deepEqual([3, 4, 5, 6, 7, 8, 9, 10].map((turn) => silentAt(drop, turn)), [false, false, false, false, true, false, false, true]);
  assert.equal(silentAt({ sounding: 2, silent: 0, from: 0 }, 2), false);
});

test("the tempo rises by steps, to at most twice what is written", () => {
  const settings = { slow: 50, rise: { by: 8, every: 4, from: 2 } };
  assert.equal(risen(settings.rise, 1), 0);
  assert.equal(risen(settings.rise, 10), 2);
  assert.equal(speedAt(settings, 10, 80), 0.5 + 16 / 80);
  assert.equal(speedAt(settings, 1_000_000, 80), 2);
});

test("a tempo is tapped with four taps, a pause begins anew, and one bad tap does not spoil it", () => {
  let taps = [];
  for (const time of [0, 500, 1000]) taps = tapsWith(taps, time);
  assert.equal(tappedBpm(taps), null);
  taps = tapsWith(taps, 1500);
  assert.equal(tappedBpm(taps), 120);
  taps = tapsWith(taps, 2090);
  assert.ok(Math.abs(tappedBpm(taps) - 120) < 1e-9);
  assert.deepEqual(tapsWith(taps, 9000), [9000]);
});

test("the map between the clocks is a median of near readings, and unread stamps do not count", () => {
  const stamps = [0, 1, 2, 3, 4].map((i) => ({ contextTime: 1 + i * 0.01 + (i === 2 ? 0.5 : 0), performanceTime: 1000 + i * 10 }));
  const context = { currentTime: 5, getOutputTimestamp: () => stamps.shift() || { contextTime: 0, performanceTime: 0 } };
  const map = makeClockMap(context, () => 1000);
  for (let i = 0; i < 8; i += 1) map.read();
  assert.ok(Math.abs(map.audioAt(1020) - 1.02) < 1e-9);
  assert.equal(median([3, 1, 2]), 2);
  assert.ok(Number.isNaN(median([])));
});

test("where the browser cannot read the clocks, the latency that it reports is used", () => {
  const map = makeClockMap({ currentTime: 2, outputLatency: 0.05 }, () => 1000);
  map.read();
  assert.ok(Math.abs(map.audioAt(1100) - (2 - 0.05 + 0.1)) < 1e-9);
});

test("a tick has its place in the picture, and outside the picture none", () => {
  const frame = frameOf({ dataset: { frame: "0 28 76 24 880 200" } });
  assert.equal(xOf(frame, 0), 76);
  assert.equal(xOf(frame, 28), 856);
  assert.equal(xOf(frame, 14), 466);
  assert.equal(xOf(frame, 29), null);
  assert.equal(frameOf({ dataset: {} }), null);
  assert.equal(frameOf(null), null);
});

test("what sounds is said in a few words", () => {
  const now = { pos: 1.5, turn: 1, tick: 14, beats: [0, 7, 14, 21], silent: false, speed: 1, whole: true };
  assert.equal(nowSaid(now, 72), "beat 3 · cycle 2");
  assert.equal(nowSaid(now, 72, false, "group"), "group 3 · cycle 2"); // of a phrase, whose count begins anew there
  assert.equal(nowSaid({ ...now, speed: 0.5 }, 72), "beat 3 · cycle 2 · slow: 36 of 72 bpm");
  assert.equal(nowSaid({ ...now, speed: 0.64 }, 72), "beat 3 · cycle 2 · slow: 46.1 of 72 bpm");
  assert.equal(nowSaid({ ...now, speed: 0.64 }, 72, true), "beat 3 of 4 · cycle 2 · slow: about 46 of 72 bpm");
  assert.equal(nowSaid({ ...now, speed: 43 / 72 }, 72, true), "beat 3 of 4 · cycle 2 · slow: 43 of 72 bpm");
  assert.equal(nowSaid({ ...now, speed: 1.5 }, 72, true), "beat 3 of 4 · cycle 2 · 108 bpm");
  assert.equal(nowSaid({ ...now, silent: true }, 72), "cycle 2: silent, keep going");
  assert.equal(nowSaid({ ...now, whole: false }, 72), "beat 3 · round 2");
  assert.equal(nowSaid({ ...now, turn: -1 }, 72), "count-in");
  assert.equal(nowSaid(null, 72), "");
  assert.equal(sideSaid(0), "middle");
  assert.equal(sideSaid(-35), "35 percent to the left");
});

test("a loop may end where the cycle ends", () => {
  assert.deepEqual(sliceOf(SEVEN_FOUR, { start: 14, stop: 28 }), { start: 14, stop: 28 });
});

test("accents are louder, ghosts softer, and only the first beat of the cycle and of a count-in stands out", () => {
  const lanes = [{ ...SEVEN_FOUR.lanes[1], accents: [7], ghosts: [14] }];
  const rows = makeRows({ ...SEVEN_FOUR, lanes, homes: [[0, 7, 14, 21]] }, WHOLE, { countIn: 3 });
  assert.deepEqual(rows.map((row) => row.weights), [[plain, accent, ghost, plain], [first, plain, plain, plain], [first, plain, plain]]);
  const [softer] = makeRows({ ...SEVEN_FOUR, lanes: [{ ...lanes[0], power: 0.25 }] }, WHOLE);
  assert.deepEqual(softer.weights, [plain / 2, accent / 2, ghost / 2, plain / 2]); // a quarter of the power: a fill
  const [, home] = makeRows({ ...SEVEN_FOUR, lanes, homes: [[0, 7, 14, 21]] }, { start: 7, stop: 21 });
  assert.deepEqual(home.weights, [plain, plain]); // a loop that begins on beat 2 has no first beat
});

test("a count-in goes in the beats that its loop begins with, also on the last beat and where beats differ", () => {
  const uneven = { ...SEVEN_FOUR, ticks: 7, homes: [[0, 2, 4]] };
  const beat = (start) => beatTicks(uneven, { start, stop: 7 }, 0);
  assert.deepEqual([0, 2, 4, 5].map(beat), [2, 2, 3, 2]);
  const late = { ...SEVEN_FOUR, ticks: 7, homes: [[1, 3, 6]] };
  assert.equal(beatTicks(late, { start: 6, stop: 7 }, 0), 2);
});

test("the first stroke from a place that rounding has put a hair late is the one there, also in a count-in", () => {
  const rows = makeRows(SEVEN_FOUR, WHOLE, { countIn: 4, home: 1 });
  const seven = rows[0];
  for (let n = 0; n < 30; n += 1) assert.equal(firstFrom(seven, positionOf(seven, n) + 1e-12), n);
  assert.equal(firstFrom(seven, -0.5), 0);
  const count = rows.find((row) => row.kind === "count");
  assert.deepEqual([-1, -0.9, -0.5, 0.1].map((pos) => firstFrom(count, pos)), [0, 1, 2, 4]);
});

test("other voices are another rhythm, and the same strokes at another tempo are not", () => {
  assert.equal(sameStrokes(SEVEN_FOUR, { ...SEVEN_FOUR, cycle_s: 1, bpms: [1, 2] }), true);
  const lanes = [SEVEN_FOUR.lanes[0], { ...SEVEN_FOUR.lanes[1], accents: [0] }];
  assert.equal(sameStrokes(SEVEN_FOUR, { ...SEVEN_FOUR, lanes }), false);
  assert.equal(sameStrokes({}, SEVEN_FOUR), false);
});

test("the volume that was chosen is found again, silence too", () => {
  const kept = new Map();
  const store = { getItem: (key) => kept.get(key) ?? null, setItem: (key, value) => kept.set(key, value) };
  for (const volume of [0.35, 0]) {
    keepVolume(store, volume);
    assert.equal(storedVolume(store), volume);
  }
});

test("what the player plays is quiet even when it is solo, and mute is stronger than solo", () => {
  const { lanes } = firstSettings(2, { getItem: () => null });
  lanes[1].solo = true;
  assert.equal(levelOf(lanes, 1, [1]), 0);
  lanes[1].mute = true;
  assert.equal(levelOf(lanes, 1), 0);
});

test("three voices swapped change ends, and the middle one stays", () => {
  const plan = { lanes: ["a", "b", "c"].map((sound) => ({ sound })) };
  assert.deepEqual([0, 1, 2].map((i) => voiceOf(plan, "swapped", i)), ["c", "b", "a"]);
});

test("a rise begins with the first step after so many turns, and steps are there from the start", () => {
  const rise = { by: 2, every: 1, from: 3 };
  assert.deepEqual([2, 3, 4, 5].map((turn) => risen(rise, turn)), [0, 0, 1, 2]);
  const first = firstSettings(2, { getItem: () => null });
  assert.equal(risen({ ...first.rise, by: 2 }, 4), 1); // choosing only "up 2 bpm" is enough
});

test("a voice that comes later than the strokes is played from then on, at its own rate, on a whole sample", () => {
  const made = [];
  const node = () => ({ gain: {}, pan: {}, connect: (next) => next });
  const context = {
    currentTime: 0,
    createGain: node,
    createStereoPanner: node,
    createWaveShaper: node,
    createBuffer: (channels, length, rate) => ({ channels, length, rate, copyToChannel() {} }),
    createBufferSource: () => {
      const source = { ...node(), start: (when) => made.push({ when, buffer: source.buffer }) };
      return source;
    },
  };
  const voices = {};
  const desk = makeDesk(context, () => voices, 48000);
  assert.equal(desk.play("lane0", "bell", 1), null);
  voices.bell = new DataView(new ArrayBuffer(20));
  desk.play("lane0", "bell", 1.00001);
  assert.equal(made[0].when, 1);
  desk.play("lane0", "bell", 1.2345);
  assert.equal(made[1].when, 59256 / 48000);
  const { channels, length, rate } = made[0].buffer;
  assert.deepEqual([channels, length, rate], [1, 10, 48000]);
});

test("each row has the voice that the sound files give it", () => {
  assert.deepEqual(VOICE, { home: "bass drum", grid: "grid tick", count: "click" });
});

test("a stamp of a sound card that has not begun, or that came twice, is no reading", () => {
  const stamps = [
    { contextTime: 0, performanceTime: 900 },
    { contextTime: 1, performanceTime: 1000 },
    { contextTime: 1.03, performanceTime: 1010 },
    { contextTime: 1.03, performanceTime: 1010 },
    { contextTime: 1.03, performanceTime: 1010 },
    { contextTime: 1.02, performanceTime: 1020 },
  ];
  const map = makeClockMap({ currentTime: 5, getOutputTimestamp: () => stamps.shift() }, () => 1000);
  map.read();
  assert.equal(map.exact(), false);
  while (stamps.length) map.read();
  assert.ok(Math.abs(map.audioAt(1010) - 1.01) < 1e-9);
});

test("clocks that drift apart are read near the tap: then before it, later after it, and the newest after a pause", () => {
  let page = 0;
  const offset = (at) => 7 + at / 1000; // the sound card gains a thousandth
  const map = makeClockMap({ getOutputTimestamp: () => ({ contextTime: page + offset(page), performanceTime: page * 1000 }) }, () => page * 1000);
  for (page = 1; page < 31; page += 0.025) map.read();
  for (const at of [30.5, 25, 31.2]) assert.ok(Math.abs(map.audioAt(at * 1000) - at - offset(at)) < 0.0005, `${at}`);
  assert.ok(Math.abs(map.audioAt(40_000) - 40 - offset(31)) < 0.0005);
});

/** A page just large enough for form parts: every node made, found by its name, and chosen from as a reader does. */
function fakePage() {
  const all = [];
  const node = (tag) => {
    const classes = new Set();
    const one = {
      tag, classes, children: [], dataset: {}, style: {}, attributes: {}, heard: {}, textContent: "", value: "", isConnected: true,
      classList: {
        add: (name) => classes.add(name),
        remove: (name) => classes.delete(name),
        toggle: (name, on) => (on ? classes.add(name) : classes.delete(name)),
      },
      append: (...more) => one.children.push(...more),
      replaceChildren: (...more) => {
        one.children = more;
        if (tag === "select") one.value = more.length ? more[0].value : "";
      },
      setAttribute: (name, value) => (one.attributes[name] = value),
      addEventListener: (name, call) => (one.heard[name] = call),
      set selectedIndex(i) { one.value = one.children[i].value; },
    };
    all.push(one);
    return one;
  };
  globalThis.document = { createElement: node, createElementNS: (_, tag) => node(tag), activeElement: null };
  const named = (name) => all.find((one) => one.attributes["aria-label"] === name);
  return {
    node,
    named,
    texts: (name) => named(name).children.map((one) => one.textContent),
    press: (text, event = {}) => all.find((one) => one.tag === "button" && one.textContent.startsWith(text)).heard.click(event),
    choose: (name, value) => {
      named(name).value = String(value);
      named(name).heard[named(name).tag === "select" ? "change" : "input"]();
    },
  };
}

/** Practise controls on a fake page, with what they set and say. */
function practising() {
  const page = fakePage();
  const settings = firstSettings(2, { getItem: () => null });
  const [told, bpms] = [[], []];
  const engine = { settings, set: (name, value) => (settings[name] = value) };
  const plan = () => ({ ...SEVEN_FOUR, loops: [{ name: "first half", start: 0, stop: 14 }, { name: "second half", start: 14, stop: 28 }] });
  const picture = () => ({ spots: [[0, "1"], [4, "let of 1"], [7, "2"], [28, "end"]] });
  const update = makePractise({ add: () => ({ body: page.node("div") }) }, engine, { plan, picture, setBpm: (bpm) => bpms.push(bpm), tell: (text) => told.push(text) });
  update();
  return { page, settings, told, bpms, update };
}

test("a spot to loop is chosen by name or from a stroke to a later one, and the whole cycle comes back", () => {
  const { page, settings, told, update } = practising();
  page.choose("loop", 1);
  assert.deepEqual([settings.loop.start, settings.loop.stop], [14, 28]);
  page.choose("loop", "");
  assert.equal(settings.loop, null);
  assert.deepEqual([page.texts("from"), page.texts("to")], [["1", "let of 1", "2"], ["let of 1", "2", "end"]]);
  page.choose("loop", "own");
  assert.deepEqual(settings.loop, { start: 0, stop: 28 });
  page.choose("from", 4);
  page.choose("to", 7);
  update();
  assert.deepEqual(settings.loop, { start: 4, stop: 7 });
  for (const from of [7, 28]) {
    page.choose("from", from);
    assert.deepEqual(settings.loop, { start: 4, stop: 7 });
    assert.match(told.at(-1), /must end after/);
  }
});

test("each control of practising changes its own setting and leaves the other half of it alone", () => {
  const { page, settings } = practising();
  page.choose("step", 2);
  page.choose("tempo", 8);
  page.choose("after", 1);
  page.choose("drop-out", 2);
  assert.deepEqual([settings.rise, settings.drop], [{ by: 8, every: 2, from: 0 }, { sounding: 1, silent: 2, from: 0 }]);
  page.choose("count-in", 4);
  page.choose("speed", 70);
  page.choose("flip home", 8);
  assert.deepEqual([settings.countIn, settings.slow, settings.flipEvery], [4, 70, 8]);
});

test("controls of practising stand by their purpose, in a group of its name", () => {
  const { page } = practising();
  const inside = (node) => [node.attributes["aria-label"] || node.textContent, ...node.children.flatMap(inside)];
  const purposes = { "slower or shorter": ["speed", "loop", "from", "to"], climb: ["tempo", "step"], silence: ["drop-out", "after"], "home on call": ["flip home"], "to begin": ["count-in", "Tap the tempo: 4 taps"] };
  for (const [name, controls] of Object.entries(purposes)) {
    const group = page.named(name);
    assert.equal(group.attributes.role, "group");
    const found = inside(group).filter((one) => Object.values(purposes).flat().includes(one));
    assert.deepEqual([...new Set(found)], controls);
  }
});

test("a tapped tempo stays between 20 and 300 bpm", () => {
  const { page, bpms } = practising();
  for (const time of [0, 100, 200, 300]) page.press("Tap", { timeStamp: time });
  for (const time of [9000, 9500, 10000, 10500]) page.press("Tap", { timeStamp: time });
  assert.deepEqual(bpms, [300, 120]);
});

test("a tempo is tapped by the last taps: who speeds up is followed, and no pause is reckoned from the first", () => {
  let taps = [];
  const times = [0, 500, 1000, 1500, 2000, 2500, 3000, 3500, 3900, 4300, 4700];
  for (const time of times) taps = tapsWith(taps, time);
  assert.equal(tappedBpm(taps), 150);
});

test("the volume is heard as a square, shown as the reader moved it, and kept", () => {
  const page = fakePage();
  const kept = new Map();
  const store = { getItem: (key) => kept.get(key) ?? null, setItem: (key, value) => kept.set(key, value) };
  let plays = false;
  const settings = firstSettings(2, store);
  const engine = { settings, set: (name, value) => (settings[name] = value), playing: () => plays, toggle: () => (plays = !plays) };
  const bar = makeSoundbar(engine, store);
  page.choose("volume", 50);
  bar.update();
  assert.equal(settings.volume, 0.25);
  assert.equal(storedVolume(store), 0.25);
  assert.equal(Number(page.named("volume").value), 50);
  assert.equal(bar.start.textContent, "Start");
  page.press("Start");
  bar.update();
  bar.tell("beat 1");
  assert.deepEqual([bar.start.textContent, bar.said.textContent], ["Stop", "beat 1"]);
  bar.tell("beat 1 of 4 \u00b7 cycle 2", "beat 1 of 4"); // of a room: the place is larger than the rest, and all can be read as one
  const inParts = bar.said.children.map((one) => one.textContent);
  assert.deepEqual([inParts[0], inParts.join("")], ["beat 1 of 4", "beat 1 of 4 \u00b7 cycle 2"]);
  page.press("Stop");
  bar.update();
  assert.ok(bar.said.textContent && bar.start.title.startsWith(bar.said.textContent)); // at rest the keys are told, where else an empty line would stand
  assert.equal(bar.rest(), bar.said.textContent);
  const wall = makeSoundbar(engine, store, true); // which tells something else
  wall.update();
  assert.deepEqual([wall.said.textContent, wall.rest()], ["", ""]);
});

test("the first cycle is cycle 1, a faster tempo is said as well as a slower one, and without beats none is said", () => {
  const now = { pos: 0, turn: 0, tick: 0, beats: [0, 7, 14, 21], silent: false, speed: 1, whole: true };
  assert.equal(nowSaid(now, 72), "beat 1 · cycle 1");
  assert.equal(nowSaid({ ...now, speed: 1.25 }, 72), "beat 1 · cycle 1 · 90 bpm");
  assert.equal(nowSaid({ ...now, beats: [] }, 72), "cycle 1");
});

test("a picture that begins later in the cycle has its first tick at its left edge", () => {
  const frame = frameOf({ dataset: { frame: "7 21 76 24 880 200" } });
  assert.deepEqual([7, 14, 21].map((tick) => xOf(frame, tick)), [76, 466, 856]);
  assert.equal(xOf(frame, 6.9), null);
});

test("the playhead lights the stroke that it has reached, not the next, and hides outside the picture or on request", () => {
  const page = fakePage();
  const svg = page.node("svg");
  svg.dataset.frame = "0 28 76 24 880 200";
  const marks = [0, 7].map((tick) => Object.assign(page.node("path"), { dataset: { tick: String(tick) } }));
  svg.querySelectorAll = () => marks;
  let still = false;
  const playhead = makePlayhead({ querySelector: () => svg, querySelectorAll: () => [svg] }, () => still);
  const lit = () => marks.map((mark) => mark.classes.has("rl-passing"));
  playhead.move(0, WHOLE);
  assert.deepEqual(lit(), [true, false]);
  playhead.move(6.9, WHOLE);
  assert.deepEqual(lit(), [false, false]);
  playhead.move(7, WHOLE);
  assert.deepEqual(lit(), [false, true]);
  const line = svg.children.find((one) => one.attributes.class === "rl-playhead");
  assert.deepEqual([line.style.display, line.attributes.transform, line.attributes.d], ["", "translate(271.00)", "M0 0V200"]);
  playhead.move(40, WHOLE);
  assert.deepEqual([line.style.display, ...lit()], ["none", false, false]);
  playhead.move(1, WHOLE);
  assert.equal(line.style.display, "");
  still = true;
  for (const [tick, beat, x] of [[0, 0, "76.00"], [6.9, 0, "76.00"], [7, 7, "271.00"], [13.9, 7, "271.00"], [20, 14, "466.00"]]) {
    playhead.move(tick, WHOLE, [0, 7, 14]);
    assert.equal(line.attributes.transform, `translate(${x})`, `where motion is not wanted, ${tick} stands at the beat on ${beat}`);
    assert.deepEqual(lit(), [beat === 0, beat === 7]);
  }
  playhead.move(9, { start: 8, stop: 21 }, [0, 7, 14]);
  assert.equal(line.attributes.transform, "translate(298.86)"); // a loop that begins within a beat: at its beginning
  still = false;
  playhead.move(8, { start: 7, stop: 21 });
  const loop = svg.children.find((one) => one.attributes.class === "rl-loop");
  assert.deepEqual([loop.style.display, loop.attributes.x, loop.attributes.width], ["", "271.00", "390.00"]);
  playhead.move(8, WHOLE);
  assert.equal(loop.style.display, "none"); // the whole cycle is no loop
});

test("in several bars the bar and its own beat are said", () => {
  const now = { pos: 0.5, turn: 0, tick: 20, beats: [0, 4, 8, 12, 16, 20, 24, 28], bars: [0, 16], silent: false, speed: 1, whole: true };
  assert.equal(nowSaid(now, 72), "bar 2, beat 2 · cycle 1");
  assert.equal(nowSaid({ ...now, bars: [0] }, 72), "beat 6 · cycle 1");
});

test("a stroke is louder and brighter the harder it is, its variants differ, and it ends in silence", () => {
  const rate = 48000;
  const voice = Float32Array.from({ length: 4800 }, (_, i) => 0.3 * (Math.sin(i / 20) + Math.sin(i / 3)) * Math.exp(-i / 900) * Math.min(1, i / 48));
  const energy = (samples) => samples.reduce((sum, x) => sum + x * x, 0);
  const steps = (samples) => samples.map((x, i) => x - (samples[i - 1] ?? 0));
  const made = [ghost, plain, accent].map((strength) => [0, 1, 2].map((variant) => strokeOf(voice, rate, strength, variant)));
  const db = made.map((row) => row.map((one) => 10 * Math.log10(energy(one))));
  const bright = made.map((row) => row.map((one) => energy(steps(one)) / energy(one)));
  for (const level of [1, 2]) {
    assert.ok(Math.min(...db[level]) >= Math.max(...db[level - 1]) + 8);
    assert.ok(Math.min(...bright[level]) > Math.max(...bright[level - 1]));
  }
  for (const row of made) assert.equal(new Set(row.map((one) => one.join())).size, 3);
  for (const one of made.flat()) assert.deepEqual([one.length, one[0], one.at(-1) + 0], [4800, 0, 0]);
  assert.deepEqual([...strokeOf(new Float32Array(4), rate, plain, 0)], [0, 0, 0, 0]);
});

test("neighbours are never the same variant, round the cycle too", () => {
  assert.deepEqual(variantsOf(8), [0, 1, 2, 1, 2, 0, 2, 1]); // as the sound files have them
  for (let count = 2; count < 500; count += 1) {
    const made = variantsOf(count);
    assert.ok(made.every((one, i) => one !== made[(i + 1) % count] && one >= 0 && one < 3), String(count));
  }
  assert.deepEqual([variantsOf(1), variantsOf(0)], [[0], []]);
});

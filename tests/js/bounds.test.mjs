import assert from "node:assert/strict";
import { test } from "node:test";
import { readFileSync } from "node:fs";
import { makeEngine } from "../../rhythmlab/panels/stage/engine.mjs";
import { firstSettings } from "../../rhythmlab/panels/stage/settings.mjs";
import { BURST, MOST_A_SECOND, MOST_COUNT_IN, MOST_LANES, MOST_STROKES, busiest, faultOf, placesOf, refusal, tooMany } from "../../rhythmlab/panels/stage/bounds.mjs";
import { SEVEN_FOUR, fakeEngine } from "./fakes.mjs";

const settings = (more = {}) => ({ ...firstSettings(2, { getItem: () => null }), ...more });
const plan = (more) => ({ ...SEVEN_FOUR, ...more });
const lane = (onsets) => ({ name: "x", sound: "a", onsets, accents: [], ghosts: [] });
const every = (n) => Array.from({ length: n }, (_, i) => i);
const STRANGE = [NaN, Infinity, -Infinity, 0, -1, 1e300, null, undefined, {}];

/** Milliseconds that a call takes. */
async function took(call) {
  const begun = performance.now();
  await call();
  return performance.now() - begun;
}

/** Plans and settings that must neither sound nor take long, whatever Python says. */
const HOSTILE = [
  ["7:4 at 100,000,000 bpm", { cycle_s: 2.4e-6, bpms: [1.75e8, 1e8] }],
  ["a thousand million turns a second", { cycle_s: 1e-9, lanes: [lane([0])], homes: [[0]] }],
  ["turns without a stroke", { cycle_s: 1e-9, lanes: [lane([])], homes: [[]] }],
  ["no time at all", { cycle_s: 0 }],
  ["a cycle that goes back", { cycle_s: -1 }],
  ["a time that is none", { cycle_s: NaN }],
  ["a cycle without end", { cycle_s: Infinity }],
  ["no ticks", { ticks: 0 }],
  ["half a tick", { ticks: 0.5 }],
  ["ticks without end", { ticks: Infinity }],
  ["millions of strokes", { ticks: 4_000_000, lanes: [lane(every(4_000_000))] }],
  ["many lanes", { lanes: every(200_000).map(() => lane([0])) }],
  ["strokes out of order", { lanes: [lane([3, 1, 2])] }],
  ["strokes beside the cycle", { lanes: [lane([0, 28])] }],
  ["strokes that are no numbers", { lanes: [lane([0, NaN])] }],
  ["beats beside the cycle", { homes: [[-1]] }],
  ["lanes that are none", { lanes: [null, 7] }],
  ["accents that are none", { lanes: [{ ...lane([0]), accents: 7 }] }],
  ["homes that are none", { homes: null }],
  ["no tempo of a home", { bpms: undefined }],
  ["a thousand strokes at once, four times a second", { cycle_s: 0.25, lanes: [lane(Array(1000).fill(0))] }],
];

test("a plan that cannot be laid is refused in a sentence within 100 ms, and nothing of it is laid", async () => {
  for (const [name, more] of HOSTILE) {
    const made = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR);
    made.state.plan = plan(more);
    const ms = await took(async () => assert.equal(await made.engine.start(), false, name));
    assert.ok(ms < 100, `${name} took ${ms} ms`);
    assert.match(made.told.at(-1), /^The page asked for .+ run the page again|strokes a second are more than the sound card can lay \(at most 400\): slow down/, name);
    assert.deepEqual([made.strokes().length, made.engine.playing()], [0, false], name);
  }
});

test("the same plans stop what sounds when they come from Python meanwhile", async () => {
  for (const [name, more] of HOSTILE) {
    const made = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR);
    await made.engine.start();
    made.run(1);
    const before = made.strokes().length;
    made.state.plan = plan(more);
    const ms = await took(() => {
      made.engine.replan(false);
      made.run(1);
    });
    assert.ok(ms < 200, `${name} took ${ms} ms`);
    assert.ok(made.strokes().length <= before + 2, name);
    assert.equal(made.engine.playing(), false, name);
    assert.match(made.told.at(-1), /run the page again|slow down/, name);
  }
});

test("settings that cannot be laid are refused at the start", async () => {
  for (const value of STRANGE) {
    const made = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR, { settings: { slow: value } });
    assert.equal(await made.engine.start(), false, String(value));
    assert.ok(made.told.at(-1));
  }
  for (const countIn of [NaN, Infinity, -1, 0.5, 1e9, MOST_COUNT_IN + 1, "4"]) {
    const made = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR);
    assert.ok((await took(async () => assert.equal(await made.engine.start({ countIn }), false))) < 100);
    assert.match(made.told.at(-1), /0 to 64, for example 4/);
  }
  const made = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR, { settings: { loop: { start: 0, stop: 1e-9 } } });
  assert.equal(await made.engine.start(), false);
});

test("a speed, a loop or grid ticks that are too much while it sounds are refused, and what sounds goes on as it was", async () => {
  const dense = plan({ cycle_s: 0.06, bpms: [7000, 4000] }); // 300 strokes a second
  for (const [name, value, says] of [["slow", 300, /slow down/], ["loop", { start: 0, stop: 1 }, /slow down/], ["grid", true, /leave the grid ticks out/]]) {
    const made = fakeEngine(makeEngine, firstSettings, dense);
    assert.equal(await made.engine.start(), true);
    made.run(0.5);
    const before = made.settings[name];
    made.engine.set(name, value);
    assert.match(made.told.at(-1), says);
    assert.equal(made.settings[name], before);
    made.run(1);
    assert.equal(made.engine.playing(), true);
  }
});

test("a tempo that rises stays where more would be too much, says so once, and never goes beyond", async () => {
  const made = fakeEngine(makeEngine, firstSettings, plan({ cycle_s: 0.06, bpms: [7000, 4000] }), { settings: { rise: { by: 400, every: 1, from: 0 } } });
  await made.engine.start();
  made.run(20);
  assert.equal(made.engine.playing(), true);
  const last = made.strokes().map((one) => one.when).filter((when) => when > 18 && when <= 19);
  assert.ok(last.length <= MOST_A_SECOND, `${last.length}`);
  assert.ok(last.length > 300);
  assert.equal(made.told.filter((text) => /rises no further/.test(text)).length, 1);
});

test("however it came about, no more is laid than can be, and no loop is without end", async () => {
  for (const turnS of [1e-3, 1e-9, 0, NaN, -1]) {
    const made = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR);
    await made.engine.start();
    made.run(1);
    const before = made.strokes().length;
    made.engine.timeline().change(made.engine.now().pos, turnS); // behind the back of all that is looked at before
    assert.ok((await took(() => made.run(0.5))) < 200, String(turnS));
    assert.ok(made.strokes().length <= before + 3 * BURST * MOST_A_SECOND, String(turnS));
  }
});

test("strokes that come faster than can be laid end the sound with a sentence", async () => {
  const made = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR);
  const { cycle_s: seconds } = SEVEN_FOUR;
  await made.engine.start();
  made.run(1);
  Object.defineProperty(made.state.plan = { ...SEVEN_FOUR }, "cycle_s", { get: () => seconds / 1000 }); // unsaid
  made.run(10);
  assert.equal(made.engine.playing(), true); // it only rises no further
  made.engine.timeline().change(made.engine.now().pos + 0.1, seconds / 1000);
  made.run(1);
  assert.equal(made.engine.playing(), false);
  assert.match(made.told.at(-1), /more strokes at once than the sound card can lay. Press Start to go on/);
});

test("a take over turns that are no number ends", async () => {
  const made = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR);
  assert.ok((await took(() => made.engine.start({ turns: NaN }))) < 100);
  assert.equal(made.engine.playing(), false);
});

test("strokes of the busiest second are counted across the end of the turn, and over whole turns", () => {
  const places = Float64Array.from([0, 0.5, 0.9]);
  assert.deepEqual([busiest(places, 9.9), busiest(places, 10)], [2, 1]); // from 0.9 of a turn to the next: a second at 10
  assert.equal(busiest(places, 1), 3);
  assert.equal(busiest(places, 0.5), 6);
  assert.equal(busiest(places, 1 / 2.2), 6 + 2);
  assert.equal(busiest(Float64Array.from([]), 1e-9), 0);
  assert.ok(tooMany(Float64Array.from([]), 1e-9, 400) > 400); // turns without a stroke are work too
});

test("the busiest second agrees with counting one by one", () => {
  let seed = 7;
  const draw = () => (seed = (seed * 16807) % 2147483647) / 2147483647;
  for (let round = 0; round < 300; round += 1) {
    const places = Float64Array.from({ length: 1 + Math.floor(draw() * 9) }, draw).sort();
    const turnS = 0.2 + draw() * 4;
    const times = Array.from({ length: Math.ceil(3 / turnS) + 3 }, (_, turn) => [...places].map((place) => (turn + place) * turnS)).flat();
    const counted = Math.max(...[...places].map((place) => times.filter((time) => time >= place * turnS && time < place * turnS + 1 - 1e-6).length));
    assert.equal(busiest(places, turnS), counted, JSON.stringify([[...places], turnS]));
  }
});

test("the most a second is Python's, and a plan may ask for less but never for more", () => {
  const python = readFileSync(new URL("../../rhythmlab/panels/stage/sounding.py", import.meta.url), "utf8");
  assert.equal(Number(/^MOST_A_SECOND = (\d+)$/m.exec(python)[1]), MOST_A_SECOND);
  const dense = plan({ cycle_s: 0.1 }); // 180 a second
  assert.equal(refusal(dense, settings()), "");
  assert.match(refusal({ ...dense, most: 100 }, settings()), /at most 100/);
  for (const most of [1e9, Infinity, NaN, -1, "x"]) assert.match(refusal({ ...dense, cycle_s: 0.01, most }, settings()), /at most 400/);
});

test("what people play is laid: large pairs, a thousand beats a minute, long cycles of many strokes", () => {
  const pair = (p, q, bpm) => plan({
    ticks: p * q,
    lanes: [lane(every(p).map((i) => i * q)), lane(every(q).map((i) => i * p))],
    homes: [every(p).map((i) => i * q), every(q).map((i) => i * p)],
    bpms: [(bpm * p) / q, bpm],
    cycle_s: (60 * q) / bpm,
  });
  for (const [p, q, bpm] of [[7, 4, 1000], [16, 15, 1000], [64, 63, 1000], [31, 2, 600], [9999, 9998, 300], [3, 2, 0.01]]) {
    assert.equal(refusal(pair(p, q, bpm), settings()), "", `${p}:${q} at ${bpm}`);
    assert.equal(refusal(pair(p, q, bpm), settings({ slow: 30 }), { countIn: 8 }), "");
  }
  assert.equal(faultOf(plan({ ticks: MOST_STROKES, lanes: [lane(every(MOST_STROKES - 11))] })), "");
  assert.match(faultOf(plan({ ticks: MOST_STROKES, lanes: [lane(every(MOST_STROKES))] })), /at most 100,000/);
  assert.equal(faultOf(plan({ lanes: Array(MOST_LANES).fill(lane([0])) })), "");
});

test("the sentence names the number, the bound and a tempo that is slow enough", () => {
  const said = refusal(plan({ cycle_s: 0.02, bpms: [21000, 12000] }), settings(), { home: 1 });
  assert.match(said, /^900 strokes a second are more than the sound card can lay \(at most 400\): slow down, for example to 60 bpm\.$/);
  const sparse = refusal(plan({ ticks: 90_000, lanes: [lane(every(90_000))], homes: [[0]], bpms: [1], cycle_s: 60 }), settings(), { home: 0 });
  assert.match(sparse, /slow down, or take smaller numbers\.$/);
});

test("of the homes the one with most beats counts, and grid ticks where there are not too many", () => {
  const whole = { start: 0, stop: 28 };
  assert.equal(placesOf(SEVEN_FOUR, whole, { grid: false }).length, 7 + 4 + 7);
  assert.equal(placesOf(SEVEN_FOUR, whole, { grid: true }).length, 7 + 4 + 7 + 28);
  assert.equal(placesOf(SEVEN_FOUR, { start: 7, stop: 14 }, { grid: false }).length, 2 + 1 + 2);
  assert.equal(placesOf(plan({ ticks: 5000 }), { start: 0, stop: 5000 }, { grid: true }).length, 18);
});

test("grid ticks left on do not come back as a million when the numbers change", async () => {
  const made = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR, { settings: { grid: true } });
  await made.engine.start();
  made.state.plan = plan({ ticks: 997 * 991, cycle_s: 600 });
  assert.ok((await took(() => made.engine.replan(false))) < 100);
  assert.equal(made.engine.playing(), true);
});

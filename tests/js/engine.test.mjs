import assert from "node:assert/strict";
import { test } from "node:test";
import { AHEAD, makeEngine } from "../../rhythmlab/panels/stage/engine.mjs";
import { firstSettings } from "../../rhythmlab/panels/stage/settings.mjs";
import { SEVEN_FOUR, fakeEngine } from "./fakes.mjs";

const make = (more, plan = SEVEN_FOUR) => fakeEngine(makeEngine, firstSettings, plan, more);
const near = (a, b, by = 1e-9) => assert.ok(Math.abs(a - b) <= by, `${a} is not ${b}`);
const cycleS = SEVEN_FOUR.cycle_s;

/** Times of a lane's strokes as they must be from t0 on. */
function meant(lane, t0, cycles, seconds = cycleS) {
  const onsets = SEVEN_FOUR.lanes[lane].onsets;
  return Array.from({ length: cycles }, (_, k) => onsets.map((tick) => t0 + seconds * (k + tick / 28))).flat();
}

test("every stroke of both lanes is laid once, at its exact time, before it is due", async () => {
  const { engine, run, strokes } = make();
  await engine.start();
  run(20);
  const t0 = strokes("lane")[0].when;
  for (const lane of [0, 1]) {
    const got = strokes("lane").filter((one) => one.index === lane).map((one) => one.when);
    const want = meant(lane, t0, 5);
    want.forEach((when, i) => near(got[i], when));
    assert.equal(new Set(got).size, got.length);
  }
  for (const one of strokes()) assert.ok(one.when >= one.now);
});

test("a page that is blocked for less than the look-ahead loses no stroke, and a longer block is told", async () => {
  const short = make();
  await short.engine.start();
  for (let i = 0; i < 60; i += 1) short.run(0.2, 0.2);
  short.engine.stop();
  assert.deepEqual(short.engine.report(), { late: 0, dropped: 0, scheduled: short.strokes().length });
  const long = make();
  await long.engine.start();
  long.run(3, 3);
  long.run(1);
  long.engine.stop();
  assert.ok(long.engine.report().dropped > 0);
  assert.match(long.told.at(-1), /too busy/);
});

test("a flip moves no stroke, and the home beat changes at the next beat of the new home", async () => {
  const plain = make();
  await plain.engine.start();
  plain.run(12);
  const flipped = make();
  await flipped.engine.start();
  flipped.run(5);
  const pressed = flipped.context.currentTime;
  flipped.engine.flip(0);
  flipped.run(7);
  const times = (one) => one.strokes("lane").map((stroke) => [stroke.index, stroke.when]);
  assert.deepEqual(times(flipped), times(plain));
  const t0 = plain.strokes("lane")[0].when;
  const beats = flipped.strokes("home");
  const first = beats.find((one) => one.index === 0);
  const next = meant(0, t0, 4).find((when) => when > pressed + 0.04);
  near(first.when, next);
  assert.ok(beats.every((one) => (one.when < first.when) === (one.index === 1)));
  assert.equal(flipped.state.home, 0);
});

test("home is shown as flipped when its beat is heard, not when it is laid", async () => {
  const { engine, run, state, strokes } = make();
  await engine.start();
  run(5);
  engine.flip(0);
  const first = strokes("home").find((one) => one.index === 0).when;
  while (state.home === 1) run(0.025);
  near(engine.context().currentTime, first, 0.03);
});

test("another tempo goes on from the same place in the cycle, and no stroke is lost or doubled", async () => {
  const { engine, run, strokes, state, context } = make();
  await engine.start();
  run(5);
  const before = engine.now().pos;
  state.plan = { ...SEVEN_FOUR, cycle_s: 2, bpms: [210, 120] };
  engine.replan(true);
  run(6);
  const got = strokes("lane").filter((one) => one.index === 0).map((one) => one.pos);
  got.forEach((pos, i) => near(pos, i / 7));
  const moved = 0.06;
  near(engine.now().pos, before + moved / cycleS + (context.currentTime - 5 - moved) / 2, 1e-3);
});

test("slow goes at its share of the tempo and rise steps up at the start of a cycle", async () => {
  const slow = make({ settings: { slow: 50 } });
  await slow.engine.start();
  slow.run(8);
  const whens = slow.strokes("lane").filter((one) => one.index === 1).map((one) => one.when);
  near(whens[1] - whens[0], (2 * cycleS) / 4);
  const rising = make({ settings: { rise: { by: 8, every: 2, from: 0 } } });
  await rising.engine.start();
  rising.run(16);
  const fours = rising.strokes("lane").filter((one) => one.index === 1);
  const step = (n) => fours[n + 1].when - fours[n].when;
  near(step(7), 60 / 72);
  near(step(8), 60 / 80);
  near(step(16), 60 / 88);
});

test("home on call flips every so many cycles, on the first beat", async () => {
  const { engine, run, strokes } = make({ settings: { flipEvery: 2 } });
  await engine.start();
  run(21);
  for (const one of strokes("home")) assert.equal(one.index, Math.floor(one.pos / 2 + 1e-9) % 2 === 0 ? 1 : 0);
});

test("silent cycles have no stroke, and the sound comes back on the first beat", async () => {
  const { engine, run, strokes } = make({ settings: { drop: { sounding: 2, silent: 1, from: 0 } } });
  await engine.start();
  run(20);
  const turns = new Set(strokes().map((one) => Math.floor(one.pos + 1e-9)));
  assert.deepEqual([...turns], [0, 1, 3, 4, 6]);
});

test("a loop plays the strokes of its slice alone, round and round", async () => {
  const { engine, run, strokes } = make({ settings: { loop: { start: 7, stop: 21 } } });
  await engine.start();
  run(5);
  const t0 = Math.min(...strokes("lane").map((one) => one.when)); // the four's second stroke, where the slice begins
  const round = [1, 5, 9, 13].map((ticks) => ["0", ticks]).concat([0, 7].map((ticks) => ["1", ticks]));
  const meantWhens = [0, 14].flatMap((turn) => round.map(([lane, at]) => [lane, at + turn])).map(String).sort();
  const got = strokes("lane")
    .map((one) => [String(one.index), Math.round(((one.when - t0) / cycleS) * 28)])
    .filter(([, ticks]) => ticks < 28);
  assert.deepEqual(got.map(String).sort(), meantWhens);
});

test("a count-in comes first, in beats of home, and once", async () => {
  const { engine, run, strokes } = make();
  await engine.start({ countIn: 4 });
  run(9);
  const clicks = strokes("count").map((one) => one.when);
  const first = strokes("lane")[0].when;
  assert.equal(clicks.length, 4);
  clicks.forEach((when, i) => near(when, first - ((4 - i) * 60) / 72));
});

test("grid ticks can be added while it sounds, and voices swapped, and the strokes stay where they are", async () => {
  const { engine, run, strokes } = make();
  await engine.start();
  run(3);
  engine.set("grid", true);
  engine.set("sounds", "swapped");
  run(7);
  const got = strokes("lane").filter((one) => one.index === 0).map((one) => one.pos);
  got.forEach((pos, i) => near(pos, i / 7));
  const ticks = strokes("grid").map((one) => one.pos * 28);
  ticks.slice(1).forEach((tick, i) => near(tick - ticks[i], 1, 1e-6));
});

test("in a hidden tab, where timers come once a second, nothing is lost", async () => {
  const { engine, run, state, hide } = make();
  await engine.start();
  state.hidden = true;
  hide();
  run(20, 1);
  state.hidden = false;
  run(2);
  engine.stop();
  assert.equal(engine.report().late + engine.report().dropped, 0);
});

test("a view that is not seen any more stops the sound", async () => {
  const { engine, run, state, strokes } = make();
  await engine.start();
  run(2);
  state.seen = false;
  run(0.1);
  assert.equal(engine.playing(), false);
  assert.ok(strokes().every((one) => one.when < 2.1 + 0.05 + AHEAD));
});

test("a browser that holds the sound back is told, and nothing plays", async () => {
  const { engine, told, context } = make();
  context.state = "suspended";
  await engine.start();
  assert.equal(engine.playing(), false);
  assert.match(told.at(-1), /press Start again/);
});

test("other numbers while it sounds begin at once, in whole", async () => {
  const { engine, run, strokes, state } = make();
  await engine.start();
  run(3);
  const lanes = [
    { name: "3", sound: "a", onsets: [0, 2, 4], accents: [], ghosts: [] },
    { name: "2", sound: "b", onsets: [0, 3], accents: [], ghosts: [] },
  ];
  state.plan = { ...SEVEN_FOUR, ticks: 6, lanes, homes: [[0, 2, 4], [0, 3]], bpms: [90, 60], cycle_s: 2 };
  engine.replan(false);
  run(5);
  const after = strokes("lane").filter((one) => one.when > 3.06 - 1e-9);
  const t0 = after[0].when;
  near(t0, 3.06, 1e-6);
  const threes = after.filter((one) => one.index === 0).map((one) => one.when);
  threes.forEach((when, i) => near(when, t0 + (2 * i) / 3));
});

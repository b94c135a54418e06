import assert from "node:assert/strict";
import { test } from "node:test";
import { makeEngine } from "../../rhythmlab/panels/stage/engine.mjs";
import { firstSettings, levelOf } from "../../rhythmlab/panels/stage/settings.mjs";
import { lanesOf, makeRecorder } from "../../rhythmlab/panels/stage/recorder.mjs";
import { calibrated, hold, hourSaid, letGo, makeTaps, storedOffset, unsent } from "../../rhythmlab/panels/stage/take.mjs";
import { FIRST_KEYS, canTap, give, keepKeys, keySaid, laneOfKey, storedKeys, struck } from "../../rhythmlab/panels/stage/taps.mjs";
import { offsetSaid, phaseSaid } from "../../rhythmlab/panels/stage/play.mjs";
import { SEVEN_FOUR, fakeEngine } from "./fakes.mjs";

function fakeStore() {
  const kept = new Map();
  return {
    getItem: (key) => kept.get(key) ?? null,
    setItem: (key, value) => kept.set(key, value),
    removeItem: (key) => kept.delete(key),
    key: (i) => [...kept.keys()][i],
    get length() {
      return kept.size;
    },
  };
}

const event = (code, key = code, more = {}) => ({ code, key, ctrlKey: false, metaKey: false, altKey: false, ...more });

test("keys that leave, stop or press can never be given to a lane, and no shortcut taps", () => {
  for (const code of ["Tab", "Escape", "Space", "Enter", ""]) assert.equal(canTap(event(code)), false);
  assert.equal(canTap(event("KeyJ", "j", { ctrlKey: true })), false);
  assert.equal(canTap(event("KeyJ", "j")), true);
  assert.equal(keySaid(event("KeyJ", "j")), "J");
  assert.equal(keySaid(event("ArrowLeft", "ArrowLeft")), "ArrowLeft");
});

test("a key belongs to one lane: given to another it changes places", () => {
  const same = (one, two) => one.code === two.code;
  const next = give(FIRST_KEYS, 0, { code: "KeyF", said: "F" }, same);
  assert.deepEqual(next.map((key) => key.code), ["KeyF", "KeyJ", "KeyK", "KeyD"]);
  assert.equal(laneOfKey(next, "KeyJ", 2), 1);
  assert.equal(laneOfKey(next, "KeyD", 2), -1);
  assert.equal(laneOfKey(next, "KeyZ", 4), -1);
});

test("chosen keys are kept, and what cannot be read gives the first ones", () => {
  const store = fakeStore();
  const kept = storedKeys(store);
  keepKeys(store, { ...kept, notes: [1, 2, 3, 4] });
  assert.deepEqual(storedKeys(store).notes, [1, 2, 3, 4]);
  store.setItem("rhythmlab.keys", "{");
  assert.equal(storedKeys(store).keys[0].code, "KeyJ");
});

test("only a note-on with a velocity is a stroke (MIDI 1.0)", () => {
  assert.equal(struck([0x99, 38, 100]), 38);
  assert.equal(struck([0x90, 38, 0]), null);
  assert.equal(struck([0x89, 38, 64]), null);
  assert.equal(struck([0xf8]), null);
  assert.equal(struck(null), null);
});

test("a calibration finds a steady offset, and says why it found none", () => {
  const clickAt = (n) => 10 + 0.6 * n;
  const taps = Array.from({ length: 16 }, (_, n) => clickAt(n) - 0.035 + (n % 2 ? 0.004 : -0.004));
  const found = calibrated(taps, clickAt);
  assert.ok(Math.abs(found.offset + 35) < 4.1 && found.spread < 10);
  assert.match(calibrated(taps.slice(0, 5), clickAt).why, /5 taps came in/);
  const wild = taps.map((time, n) => time + ((n * 7919) % 11) * 0.05);
  assert.match(calibrated(wild, clickAt).why, /did not settle/);
});

test("a message is held until it is acknowledged, oldest first", () => {
  const store = fakeStore();
  hold(store, { id: "b", when: "2026-11-25T10:00:00+00:00" });
  hold(store, { id: "a", when: "2026-11-24T10:00:00+00:00" });
  assert.deepEqual(unsent(store).map((one) => one.id), ["a", "b"]);
  letGo(store, "a");
  assert.deepEqual(unsent(store).map((one) => one.id), ["b"]);
  assert.equal(hold({ setItem: () => { throw new Error("full"); } }, { id: "c" }), false);
});

test("the hour is written with its distance from UTC", () => {
  assert.match(hourSaid(new Date()), /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d$/);
  const date = new Date("2026-11-25T10:30:00Z");
  assert.equal(new Date(hourSaid(date)).getTime(), date.getTime());
});

test("taps settle once the readings round them are there, and all at the end", () => {
  const taps = makeTaps((ms) => ms / 1000 + 5);
  taps.add(0, 1000, "keys");
  taps.add(1, 2000, "midi");
  taps.settle(1400);
  assert.deepEqual(taps.all().map((tap) => tap.time), [6]);
  assert.equal(taps.count(), 2);
  taps.settle(0, true);
  assert.deepEqual(taps.all().map((tap) => [tap.lane, tap.time]), [[0, 6], [1, 7]]);
});

test("what is played keeps quiet: one pulse alone, or all of them", () => {
  assert.deepEqual(lanesOf("one pulse", SEVEN_FOUR, 1), [1]);
  assert.deepEqual(lanesOf("both pulses", SEVEN_FOUR, 0), [0, 1]);
  assert.equal(levelOf([{ level: 0.6 }, { level: 0.6 }], 1, [1]), 0);
});

test("what is known is said in a sentence", () => {
  assert.match(offsetSaid(null), /^Not calibrated/);
  assert.match(offsetSaid(-38.4), /38 ms before the click, device delay and your own lead together/);
  assert.match(offsetSaid(0), /on the click/);
  assert.equal(phaseSaid("take", 1), "recording: 1 stroke");
});

function recording(more) {
  const store = fakeStore();
  const sent = [];
  const told = [];
  const later = [];
  let recorder = null;
  const made = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR, more);
  const { engine, context } = made;
  const link = { plan: () => made.state.plan, home: () => 1, send: (one) => sent.push(one), tell: (text) => told.push(text), told: () => told.at(-1) };
  recorder = makeRecorder(engine, link, store, { pageNow: () => context.currentTime * 1000, date: () => new Date(), later: (ms, call) => later.push(call) });
  Object.assign(made.source, { plan: recorder.plan, pumped: recorder.pumped, stopping: recorder.stopping });
  return { ...made, recorder, store, sent, told, link, later };
}

/** Let time pass and tap a lane at page times. */
function playAt(made, lane, times) {
  for (const time of times) {
    made.run(time - made.context.currentTime);
    made.recorder.tap(lane, time * 1000, "keys");
  }
}

test("a take counts in, mutes what is played, lasts its cycles, and sends one message with every tap", async () => {
  const made = recording();
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 2 });
  assert.deepEqual(made.settings.quiet, [1]);
  const t0 = made.engine.timeline().timeOf(0);
  assert.equal(made.strokes("count").length > 0, true);
  playAt(made, 1, Array.from({ length: 8 }, (_, i) => t0 + (i * 60) / 72 + 0.025));
  made.run(3);
  assert.equal(made.engine.playing(), false);
  assert.equal(made.sent.length, 1);
  const [message] = made.sent;
  assert.deepEqual([message.mode, message.lanes, message.cycles, message.ticks], ["one pulse", [1], 2, 28]);
  assert.equal(message.taps.length, 8);
  message.taps.forEach(([lane, time], i) => {
    assert.equal(lane, 1);
    assert.ok(Math.abs(time - message.t0 - (i * 60) / 72 - 0.025) < 0.0015);
  });
  assert.ok(Math.abs(message.cycle_s - SEVEN_FOUR.cycle_s) < 1e-9);
  const lane0 = made.strokes("lane").filter((one) => one.index === 0);
  assert.equal(lane0.length, 14);
  assert.deepEqual(made.settings.quiet, []);
  assert.equal(unsent(made.store).length, 1);
  made.recorder.acknowledged(message.id);
  assert.equal(unsent(made.store).length, 0);
});

test("a take that is stopped keeps its whole cycles, and less than one is told", async () => {
  const made = recording();
  await made.recorder.record({ mode: "both pulses", mine: 0, limbs: "hands", cycles: 4 });
  const t0 = made.engine.timeline().timeOf(0);
  playAt(made, 0, [t0, t0 + 1, t0 + 4]);
  made.run(1);
  made.engine.stop();
  assert.equal(made.sent[0].cycles, 1);
  await made.recorder.record({ mode: "both pulses", mine: 0, limbs: "hands", cycles: 4 });
  made.run(1);
  made.engine.stop();
  assert.equal(made.sent.length, 1);
  assert.match(made.told.at(-1), /nothing to measure/);
});

test("a tap without a take is nobody's, and taps in the count-in are sent with their time before the first stroke", async () => {
  const made = recording();
  assert.equal(made.recorder.tap(0, 5, "keys"), false);
  await made.recorder.record({ mode: "composite", mine: 0, limbs: "hands", cycles: 1 });
  made.run(0.5);
  assert.equal(made.recorder.tap(0, 500, "keys"), true);
  made.run(9);
  assert.equal(made.sent[0].taps.length, 1);
  assert.ok(made.sent[0].taps[0][1] < made.sent[0].t0);
});

test("the tempo stays during a take, whatever was set to rise", async () => {
  const made = recording({ settings: { rise: { by: 8, every: 1, from: 0 } } });
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 3 });
  made.run(20);
  const sevens = made.strokes("lane").filter((one) => one.index === 0).map((one) => one.when);
  sevens.slice(1).forEach((when, i) => assert.ok(Math.abs(when - sevens[i] - SEVEN_FOUR.cycle_s / 7) < 1e-9));
});

test("a calibration plays a steady click, keeps the offset apart, and sends no take", async () => {
  const made = recording({ settings: { loop: { start: 7, stop: 14 } } });
  await made.recorder.calibrate();
  const t0 = made.engine.timeline().timeOf(0);
  playAt(made, 0, Array.from({ length: 16 }, (_, n) => t0 + 0.6 * n - 0.04));
  made.run(3);
  assert.equal(made.sent.length, 0);
  assert.ok(Math.abs(storedOffset(made.store) + 40) < 2);
  assert.deepEqual(made.settings.loop, { start: 7, stop: 14 });
  assert.equal(made.recorder.phase(), "idle");
});

test("what was never acknowledged is sent again, and a take of this moment is not", () => {
  const made = recording();
  hold(made.store, { id: "old", when: "2020-01-01T00:00:00+00:00" });
  hold(made.store, { id: "new", when: hourSaid(new Date(Date.now() + 60_000)) });
  made.recorder.sendAgain();
  assert.deepEqual(made.sent.map((one) => [one.id, one.again]), [["old", true]]);
});

test("a kernel that does not answer, or is not there at all, loses no take, and it is said", async () => {
  const made = recording();
  made.link.send = () => {
    throw new Error("no kernel");
  };
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 1 });
  made.run(9);
  assert.equal(made.recorder.phase(), "idle");
  assert.equal(unsent(made.store).length, 1);
  made.later.forEach((call) => call());
  assert.match(made.told.at(-1), /kept in this browser/);
  made.recorder.acknowledged(unsent(made.store)[0].id);
  assert.equal(made.told.at(-1), "");
});

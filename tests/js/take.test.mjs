import assert from "node:assert/strict";
import { test } from "node:test";
import { makeEngine } from "../../rhythmlab/panels/stage/engine.mjs";
import { firstSettings, levelOf } from "../../rhythmlab/panels/stage/settings.mjs";
import { lanesOf, makeRecorder, takeCountIn } from "../../rhythmlab/panels/stage/recorder.mjs";
import { calibrated, hold, hourSaid, laneOf, leftOut, letGo, modesOf, makeTaps, offsetSaid, phaseSaid, storedOffset, unsent } from "../../rhythmlab/panels/stage/take.mjs";
import { FIRST_KEYS, canTap, give, keepKeys, keySaid, padOfKey, padOfNote, padRows, padsOf, storedKeys, struck } from "../../rhythmlab/panels/stage/taps.mjs";
import { SEVEN_FOUR, drawn, fakeEngine } from "./fakes.mjs";

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
  assert.deepEqual(next.map((key) => key.code), ["KeyF", "KeyJ", "KeyK", "KeyD", "KeyN", "KeyV", "KeyL", "KeyS"]);
  const two = padsOf({ lanes: [{ name: "4" }, { name: "3" }] });
  assert.deepEqual(padOfKey(next, "KeyJ", two).rows, [[1, ""]]);
  assert.equal(padOfKey(next, "KeyD", two), null);
  assert.equal(padOfKey(next, "KeyZ", two), null);
});

/** A groove with a fill: a foot, time in the right hand, snare in the left, and a fill of both. */
const PADS = [
  { said: "right foot", of: ["feet"], key: 4, rows: [[0, ""]] },
  { said: "right hand", of: ["time", "fill"], key: 0, rows: [[1, ""], [3, "R"]] },
  { said: "left hand", of: ["snare", "fill"], key: 1, rows: [[2, ""], [3, "L"]] },
];
const GROOVE = [{ note: 36 }, { note: 42 }, { note: 38 }, { note: 50 }];

test("a limb has one pad with the key on its side, and a lane without limbs has its own", () => {
  assert.deepEqual(padsOf({ lanes: GROOVE, pads: PADS }), PADS);
  assert.deepEqual(padsOf(null), []);
  const lanes = [{ name: "4", said: "the 4" }, { name: "3" }];
  const keys = (limbs) => padsOf({ lanes, pads: [] }, limbs).map((pad) => FIRST_KEYS[pad.key].said);
  assert.deepEqual(keys("hands"), ["J", "F"]);
  assert.deepEqual(keys("hands swapped"), ["F", "J"]); // what the left hand plays is on the left
  assert.deepEqual(keys("hand and foot"), ["J", "N"]); // the foot is below
  const left = (limbs) => padsOf({ lanes, pads: [] }, limbs, true).map((pad) => FIRST_KEYS[pad.key].said);
  assert.deepEqual(left("hands"), ["F", "J"]); // a left-handed player's own hands are the usual ones
  assert.deepEqual(left("hands swapped"), ["J", "F"]);
  assert.deepEqual(left("hand and foot"), ["F", "V"]);
  assert.equal(padOfKey(FIRST_KEYS, "KeyF", PADS).said, "left hand");
  assert.equal(padOfKey(FIRST_KEYS, "KeyN", PADS).said, "right foot");
  const many = padsOf({ lanes: Array.from({ length: 12 }, (_, i) => ({ name: String(i) })) });
  const known = many.filter((pad) => pad.key !== undefined);
  assert.deepEqual(new Set(known.map((pad) => pad.key)).size, FIRST_KEYS.length);
});

test("pads lie as the first keys do: hands from left to right, feet in a row below", () => {
  const rows = padRows(PADS).map((row) => row.map((pad) => pad.said));
  assert.deepEqual(rows, [["left hand", "right hand"], ["right foot"]]);
  const [hands, feet] = ["SDFJKL", "VN"];
  const all = FIRST_KEYS.map((_, key) => ({ said: "", of: [], key, rows: [[key, ""]] }));
  const said = padRows(all).map((row) => row.map((pad) => FIRST_KEYS[pad.key].said).join(""));
  assert.deepEqual(said, [hands, feet]);
});

test("a drum of a kit plays its own lanes, unless its note was given to a pad", () => {
  const { notes } = storedKeys(fakeStore());
  assert.deepEqual(padOfNote(notes, 42, PADS, GROOVE).rows, [[1, ""]]);
  assert.deepEqual(padOfNote(notes, 50, PADS, GROOVE).rows, [[3, "R"], [3, "L"]]);
  const given = give(notes, 1, 50, (one, two) => one === two);
  assert.equal(padOfNote(given, 50, PADS, GROOVE).said, "left hand");
  assert.equal(padOfNote(notes, 99, PADS, GROOVE), null);
  const pair = padsOf({ lanes: [{ name: "4" }, { name: "3" }] });
  assert.deepEqual(padOfNote(notes, 38, pair, [{}, {}]).rows, [[0, ""]]);
});

test("a stroke of a limb counts in the lane of its own nearest stroke, in the lanes that were asked for", () => {
  const plan = { ticks: 8, lanes: [[0, 4], [0, 2, 4], [2], [5, 6, 7]].map((onsets) => ({ onsets })) };
  plan.cycle = { lanes: ["", "", "", "LRL"].map((hands) => ({ hands })) };
  const where = { plan, lanes: [0, 1, 2, 3], slice: { start: 0, stop: 8 }, t0: 10, turnS: 4 };
  const at = (tick, turn = 0) => 10 + turn * 4 + tick / 2;
  const [, right, left] = PADS.map((pad) => pad.rows);
  assert.deepEqual([0, 2, 4, 6, 8, 14].map((tick) => laneOf(right, at(tick), where)), [1, 1, 1, 3, 1, 3]);
  assert.deepEqual([2, 5, 7, 10, 13].map((tick) => laneOf(left, at(tick), where)), [2, 3, 3, 2, 3]);
  assert.equal(laneOf(right, at(5.4), where), 3); // nearer to its own next stroke than to the last of the time
  assert.equal(laneOf(right, at(-0.3), where), 1); // early on the 1
  assert.equal(laneOf(right, at(0), { ...where, lanes: [3] }), 3);
  assert.equal(laneOf(right, at(5.2), { ...where, offset: 200 }), 1); // 0.4 ticks late on this device
  assert.equal(laneOf([[2, ""]], at(0), where), 2);
});

test("a pair has pulses, a groove has parts, and one lane alone has no others", () => {
  const lanes = [{}, {}];
  const said = (plan) => modesOf(plan).map(([, text]) => text);
  assert.deepEqual(said({ lanes, pulses: [4, 3] }), ["one pulse", "both pulses", "composite", "gap cycle"]);
  assert.deepEqual(said({ lanes }), ["one part", "all parts", "composite"]);
  assert.deepEqual(modesOf({ lanes: [{}] }), [["one pulse", "one part"], ["composite", "composite"]]);
});

test("keys that were kept when there were four get the others, none twice", () => {
  const store = fakeStore();
  const four = ["KeyN", "KeyV", "KeyK", "KeyM"].map((code) => ({ code, said: code.slice(3) }));
  store.setItem("rhythmlab.keys", JSON.stringify({ keys: four, notes: [38, 44, 35, 51] }));
  const kept = storedKeys(store);
  assert.deepEqual(kept.keys.slice(0, 4), four);
  assert.equal(new Set(kept.keys.map((key) => key.code)).size, FIRST_KEYS.length);
  assert.equal(new Set(kept.notes).size, FIRST_KEYS.length);
  assert.ok(kept.keys.every((key) => key && key.code));
});

test("chosen keys are kept, and what cannot be read gives the first ones", () => {
  const store = fakeStore();
  const kept = storedKeys(store);
  keepKeys(store, { ...kept, notes: [1, 2, 3, 4, 5, 6, 7, 8] });
  assert.deepEqual(storedKeys(store).notes, [1, 2, 3, 4, 5, 6, 7, 8]);
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
  assert.deepEqual(taps.all().map((tap) => [tap.played, tap.time]), [[0, 6], [1, 7]]);
});

test("what is played keeps quiet: one pulse alone, or all of them", () => {
  assert.deepEqual(lanesOf("one pulse", SEVEN_FOUR, 1), [1]);
  assert.deepEqual(lanesOf("both pulses", SEVEN_FOUR, 0), [0, 1]);
  assert.equal(levelOf([{ level: 0.6 }, { level: 0.6 }], 1, [1]), 0);
});

test("what is known is said in a sentence", () => {
  assert.match(offsetSaid(null), /^Not calibrated: .* in every number/);
  assert.match(offsetSaid(null, false), /^Not calibrated: (?!.*number).*not judged/);
  assert.match(offsetSaid(-38.4), /38 ms before the click, device delay and your own lead together/);
  assert.match(offsetSaid(0), /on the click/);
  assert.equal(phaseSaid("take", 1), "recording: 1 stroke");
});

function recording(more = {}) {
  const store = fakeStore();
  const sent = [];
  const told = [];
  const later = [];
  const cleared = [];
  let recorder = null;
  const made = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR, more);
  const { engine, context } = made;
  const link = { plan: () => made.state.plan, home: () => 1, send: (one) => sent.push(one), tell: (text) => told.push(text), told: () => told.at(-1), clear: () => cleared.push(1) };
  recorder = makeRecorder(engine, link, store, { pageNow: () => context.currentTime * 1000 + (more.aheadMs || 0), date: () => new Date(), later: (ms, call) => later.push(call), first: () => true });
  Object.assign(made.source, { plan: recorder.plan, pumped: recorder.pumped, stopping: recorder.stopping, disturbed: recorder.disturbed });
  return { ...made, recorder, store, sent, told, link, later, cleared };
}

/** Let time pass and tap a lane at page times. */
function playAt(made, lane, times) {
  for (const time of times) {
    made.run(time - made.context.currentTime);
    made.recorder.tap([[lane, ""]], time * 1000, "keys");
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
  assert.equal(made.recorder.tap([[0, ""]], 5, "keys"), false);
  await made.recorder.record({ mode: "composite", mine: 0, limbs: "hands", cycles: 1 });
  made.run(0.5);
  assert.equal(made.recorder.tap([[0, ""]], 500, "keys"), true);
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

/** When the seven sounds, from its first stroke on: in a take where the other is played, or in practice. */
async function sounded(settings, take) {
  const made = recording({ settings });
  await (take ? made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 6 }) : made.engine.start());
  made.run(30);
  const when = made.strokes("lane").filter((one) => one.index === 0).map((one) => one.when);
  return when.map((one) => (one - when[0]).toFixed(6)).slice(0, 35);
}

test("what a take leaves out of what is practised is said before it and while it runs, and nothing else is", async () => {
  const rise = (by, every) => ({ rise: { by, every, from: 0 } });
  const drop = { drop: { sounding: 1, silent: 1, from: 0 } };
  for (const some of [{}, { slow: 50 }, drop, { flipEvery: 2 }, rise(0, 1), rise(8, 1), rise(1, 4), { ...rise(2, 2), slow: 70 }]) {
    const { settings } = recording({ settings: some });
    const [take, played] = [await sounded(some, true), await sounded(some, false)];
    const length = Math.min(take.length, played.length);
    const said = leftOut(settings);
    assert.equal(said !== "", take.slice(0, length).join() !== played.slice(0, length).join(), JSON.stringify(some));
    assert.equal(phaseSaid("idle", 0, said), said);
    assert.ok(phaseSaid("take", 2, said).endsWith(said));
    assert.equal(phaseSaid("calibrate", 2, said), "calibrating: 2 strokes");
  }
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

test("a take ends when what it is measured against changes, with the numbers and the speed it had", async () => {
  for (const change of [
    (made) => made.engine.set("slow", 50),
    (made) => made.engine.set("loop", { start: 0, stop: 14 }),
    (made) => {
      made.state.plan = { ...SEVEN_FOUR, cycle_s: 2, bpm: "120" };
      made.engine.replan(true);
    },
  ]) {
    const made = recording();
    await made.recorder.record({ mode: "both pulses", mine: 0, limbs: "hands", cycles: 4 });
    const t0 = made.engine.timeline().timeOf(0);
    playAt(made, 0, [t0, t0 + 1, t0 + 4]);
    change(made);
    assert.equal(made.sent.length, 1);
    const [message] = made.sent;
    assert.deepEqual([message.cycles, message.slow, message.start, message.stop], [1, 100, 0, 28]);
    assert.ok(Math.abs(message.cycle_s - SEVEN_FOUR.cycle_s) < 1e-9);
    assert.match(made.told.at(-1), /The take ended when the/);
    assert.equal(made.recorder.phase(), "idle");
  }
});

test("a panel out of view in a take stops it once, without a fault, and what was said before is cleared", async () => {
  const made = recording();
  await made.recorder.record({ mode: "both pulses", mine: 0, limbs: "hands", cycles: 4 });
  assert.equal(made.cleared.length, 1);
  playAt(made, 0, [made.engine.timeline().timeOf(0) + 4]);
  made.state.seen = false;
  made.run(0.1);
  assert.equal(made.engine.playing(), false);
  assert.equal(made.sent.length, 1);
});

test("a take with silent cycles goes on until the sound has come back", async () => {
  const made = recording({ settings: { drop: { sounding: 2, silent: 2, from: 0 } } });
  await made.recorder.record({ mode: "both pulses", mine: 0, limbs: "hands", cycles: 4 });
  made.run(40);
  assert.deepEqual([made.sent[0].cycles, made.sent[0].silent], [5, [2, 2]]);
});

test("a take is counted in with whole cycles of a short home, and four beats of a long one", () => {
  const homes = [1, 2, 3, 4, 7, 8, 15].map((n) => Array.from({ length: n }, (_, i) => i));
  assert.deepEqual(homes.map((_, i) => takeCountIn({ homes }, i)), [4, 4, 6, 4, 7, 8, 4]);
});

test("a calibration goes by the last taps, and steady taps far from the clicks or after them are none", () => {
  const clickAt = (n) => 10 + 0.6 * n;
  const early = Array.from({ length: 16 }, (_, n) => clickAt(n) + (n < 8 ? 0.2 : -0.03));
  assert.ok(Math.abs(calibrated(early, clickAt).offset + 30) < 1e-6);
  assert.ok(calibrated(early.slice(4), clickAt).offset < 0); // twelve are enough
  const away = Array.from({ length: 16 }, (_, n) => clickAt(n) + 0.27);
  assert.match(calibrated(away, clickAt).why, /did not settle/);
  const after = Array.from({ length: 12 }, (_, n) => clickAt(16) + n * 0.001);
  assert.match(calibrated(after, clickAt).why, /did not settle/);
});

test("without a calibration there is no offset, and one that cannot be is not believed", () => {
  const store = fakeStore();
  assert.equal(storedOffset(store), null);
  for (const text of ["", "-900", "900", "soon"]) {
    store.setItem("rhythmlab.offset", text);
    assert.equal(storedOffset(store), null);
  }
  store.setItem("rhythmlab.offset", "0");
  assert.equal(storedOffset(store), 0);
});

test("the distance from UTC has its sign, hours first, also where it is no whole hour", () => {
  const at = (minutes) => ({ getTime: () => Date.UTC(2026, 10, 25, 10, 30), getTimezoneOffset: () => -minutes });
  assert.equal(hourSaid(at(330)), "2026-11-25T16:00:00+05:30");
  assert.equal(hourSaid(at(-210)), "2026-11-25T07:00:00-03:30");
  assert.equal(hourSaid(at(0)), "2026-11-25T10:30:00+00:00");
});

test("keys and notes that are kept in part are not believed, and the first ones are never changed", () => {
  const store = fakeStore();
  const keys = FIRST_KEYS.map((key) => ({ ...key }));
  for (const strange of [{ keys, notes: [1] }, { keys: keys.slice(1), notes: [1, 2, 3, 4] }, { keys: [{}, {}, {}, {}], notes: [1, 2, 3, 4] }]) {
    store.setItem("rhythmlab.keys", JSON.stringify(strange));
    assert.deepEqual(storedKeys(store), { keys: FIRST_KEYS, notes: [38, 36, 42, 51, 35, 44, 48, 49] });
  }
  storedKeys(store).keys[0].code = "KeyX";
  storedKeys(store).notes[0] = 1;
  assert.equal(storedKeys(store).keys[0].code, "KeyJ");
  assert.equal(storedKeys(store).notes[0], 38);
});

test("the first lane's key given to another changes places too, and a lane that is not there has no key", () => {
  const same = (one, two) => one.code === two.code;
  assert.deepEqual(give(FIRST_KEYS, 1, FIRST_KEYS[0], same).map((key) => key.code), ["KeyF", "KeyJ", "KeyK", "KeyD", "KeyN", "KeyV", "KeyL", "KeyS"]);
  assert.equal(padOfKey(FIRST_KEYS, "KeyK", padsOf({ lanes: [{}, {}] })), null);
  assert.equal(canTap(event("ShiftRight")), false);
  assert.equal(canTap(event("KeyJ", "j", { metaKey: true })), false);
});

/** Page times of a lane's strokes in the first cycles of a take, each late by so much. */
function strokesOf(made, lane, cycles, late = 0.01) {
  const line = made.engine.timeline();
  const { start, stop } = made.engine.slice();
  const onsets = SEVEN_FOUR.lanes[lane].onsets.filter((tick) => tick >= start && tick < stop);
  return Array.from({ length: cycles }, (_, k) => onsets.map((tick) => line.timeOf(k + (tick - start) / (stop - start)) + late)).flat();
}

test("the message of a take says whose usual hands played it", async () => {
  const made = recording();
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", leftHanded: true, cycles: 1 });
  playAt(made, 1, strokesOf(made, 1, 1));
  made.run(11);
  assert.deepEqual([made.sent[0].limbs, made.sent[0].left_handed], ["hands", true]);
});

test("the message of a take tells its loop, drop-out, home, limbs, offset and what it was tapped with", async () => {
  const made = recording({ settings: { loop: { start: 7, stop: 21 }, drop: { sounding: 3, silent: 1, from: 0 }, slow: 80, countIn: 8 } });
  made.store.setItem("rhythmlab.offset", "-35");
  await made.recorder.record({ mode: "one pulse", mine: 7, limbs: "voice and hand", cycles: 5 });
  assert.deepEqual(made.settings.quiet, [1]); // there is no eighth pulse: the last one
  const times = strokesOf(made, 1, 2);
  playAt(made, 1, times.slice(0, 3));
  made.run(times[3] - made.context.currentTime);
  made.recorder.tap([[1, ""]], times[3] * 1000, "midi");
  made.run(11);
  const [one] = made.sent;
  assert.deepEqual([one.start, one.stop, one.silent, one.home, one.slow], [7, 21, [3, 1], 1, 80]);
  assert.deepEqual([one.limbs, one.lanes, one.input, one.offset_ms, one.calibrated], ["voice and hand", [1], "mixed", -35, true]);
  assert.equal(one.left_handed, false);
  assert.equal(one.taps.length, 4);
  assert.equal(made.strokes("count").length, 8);
  assert.ok(Math.abs(one.cycle_s - SEVEN_FOUR.cycle_s / 2 / 0.8) < 1e-9);
});

test("a take without a calibration says so, and strokes that the browser dropped are told with it", async () => {
  const made = recording();
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 2 });
  made.run(5);
  made.run(1.5, 1.5);
  made.run(9);
  const [one] = made.sent;
  assert.deepEqual([one.offset_ms, one.calibrated, one.input], [0, false, "keys"]);
  assert.ok(made.engine.report().dropped > 0 && one.late === made.engine.report().dropped + made.engine.report().late);
});

test("a last stroke that comes late still counts, and what is played after a stop does not", async () => {
  const made = recording();
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 1 });
  const end = made.engine.timeline().timeOf(1);
  playAt(made, 1, [...strokesOf(made, 1, 1), end + 0.2]);
  made.run(3);
  assert.equal(made.sent[0].taps.length, 5);
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 4 });
  playAt(made, 1, strokesOf(made, 1, 2));
  made.recorder.record({}); // the button again
  assert.equal(made.engine.playing(), false);
  assert.equal(made.recorder.phase(), "idle");
  assert.equal(made.sent[1].cycles, 1);
  assert.equal(made.sent[1].taps.length, 5); // the cycle, and the one stroke within the time of a late one
});

test("a take that is stopped at once after its cycle has the last stroke, and one in its first cycle is told", async () => {
  const made = recording();
  await made.recorder.record({ mode: "one pulse", mine: 0, limbs: "hands", cycles: 4 });
  const late = 0.46; // so late that the cycle is over
  playAt(made, 0, strokesOf(made, 0, 1, late));
  made.run(0.025);
  made.engine.stop();
  assert.equal(made.sent[0].taps.length, 7);
  await made.recorder.record({ mode: "one pulse", mine: 0, limbs: "hands", cycles: 4 });
  made.run(made.engine.timeline().timeOf(0.5) - made.context.currentTime);
  made.engine.stop();
  assert.equal(made.sent.length, 1);
  assert.match(made.told.at(-1), /nothing to measure/);
});

test("a take begins anew when it was sounding already, with its own count-in", async () => {
  const made = recording();
  await made.engine.start();
  made.run(2);
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 1 });
  assert.equal(made.recorder.phase(), "take");
  assert.ok(made.engine.now().turn < 0);
  made.run(8);
  assert.equal(made.sent.length, 1);
});

test("a take or a calibration that cannot start is none: nothing keeps quiet and no tap is taken", async () => {
  for (const begin of [(recorder) => recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 1 }), (recorder) => recorder.calibrate()]) {
    const made = recording({ settings: { loop: { start: 7, stop: 14 } } });
    made.context.state = "suspended";
    const begun = begin(made.recorder);
    assert.equal(made.recorder.tap([[1, ""]], 5, "keys"), false); // not yet
    await begun;
    assert.equal(made.recorder.phase(), "idle");
    assert.deepEqual([made.settings.quiet, made.settings.loop], [[], { start: 7, stop: 14 }]);
  }
});

test("a calibration can be stopped by its button, and the loop that it set aside is not put back later", async () => {
  const made = recording({ settings: { loop: { start: 7, stop: 14 } } });
  await made.recorder.calibrate();
  made.run(1);
  await made.recorder.calibrate();
  assert.equal(made.recorder.phase(), "idle");
  assert.match(made.told.at(-1), /0 taps came in/);
  assert.equal(storedOffset(made.store), null);
  made.engine.set("loop", null);
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 1 });
  made.run(9);
  assert.equal(made.settings.loop, null);
});

test("an answer clears only its own words, and a take that was answered in time is not said to wait", async () => {
  const made = recording();
  hold(made.store, { id: "old", when: "2026-01-01T00:00:00+00:00" });
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 1 });
  made.run(9);
  made.recorder.acknowledged(made.sent[0].id);
  made.later.forEach((call) => call());
  assert.ok(!made.told.some((text) => /kept in this browser/.test(text)));
  made.link.tell("The browser was too busy.");
  made.recorder.acknowledged("old");
  assert.equal(made.told.at(-1), "The browser was too busy.");
});

test("a take of this moment does not hold back older ones, and other things that are kept are no takes", () => {
  const made = recording();
  made.store.setItem("rhythmlab.volume", "0.5");
  hold(made.store, { id: "new", when: hourSaid(new Date()) });
  hold(made.store, { id: "next", when: hourSaid(new Date(Date.now() - 10_000)) });
  hold(made.store, { id: "first", when: hourSaid(new Date(Date.now() - 20_000)) });
  made.store.setItem("someone.else", "{");
  made.recorder.sendAgain();
  assert.deepEqual(made.sent.map((one) => one.id), ["first", "next"]);
});

test("a tap is reckoned by the clocks as they stood when it was played, however long the take goes on", async () => {
  const made = recording();
  const clock = made.context;
  clock.getOutputTimestamp = () => ({ contextTime: clock.currentTime * 0.999, performanceTime: clock.currentTime * 1000 });
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 8 });
  const first = made.engine.timeline().timeOf(0);
  playAt(made, 1, [first]);
  made.run(40);
  assert.ok(Math.abs(made.sent[0].taps[0][1] - first * 0.999) < 0.001);
});

const engineOn = (more, plan = SEVEN_FOUR) => fakeEngine(makeEngine, firstSettings, plan, more);

test("keys are on the audio clock: each within what good readings jitter, however wild one in five is", async () => {
  for (const [seed, aheadMs] of [[1, 700], [2, 86_400_000], [3, -400], [4, 0.25]]) {
    const made = recording({ aheadMs });
    const draw = drawn(seed);
    made.context.currentTime = 3;
    let reading = 0;
    made.context.getOutputTimestamp = () => {
      reading += 1;
      const off = reading % 5 === seed % 5 ? 0.01 + 0.3 * draw() : 0.002 * (2 * draw() - 1);
      return { contextTime: made.context.currentTime + off, performanceTime: made.context.currentTime * 1000 + aheadMs };
    };
    await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 6 });
    const t0 = made.engine.timeline().timeOf(0);
    const struck = Array.from({ length: 24 }, (_, i) => t0 + (i * 60) / 72 + 0.05 * (draw() - 0.5));
    for (const time of struck) {
      made.run(time - made.context.currentTime);
      made.recorder.tap([[1, ""]], time * 1000 + aheadMs, "keys");
    }
    made.run(5);
    const [message] = made.sent;
    assert.equal(message.t0, t0);
    assert.equal(message.taps.length, struck.length);
    message.taps.forEach(([, time], i) => assert.ok(Math.abs(time - struck[i]) <= 0.002, `${aheadMs} ${i} ${time - struck[i]}`));
  }
});

test("home moved by a control and back before its beat stays where it was asked to be", async () => {
  const made = engineOn();
  const set = made.source.setHome;
  made.source.setHome = (home) => {
    set(home);
    made.engine.homeMoved(home);
  };
  await made.engine.start();
  made.run(5.05);
  for (const home of [0, 1]) {
    made.state.home = home;
    made.engine.homeMoved(home);
    made.run(0.02, 0.01);
  }
  made.run(3);
  assert.deepEqual([made.state.home, made.engine.now().home], [1, 1]);
});

test("a flip that has not come yet survives a loop that is chosen, and Stop", async () => {
  for (const end of [(made) => made.engine.set("loop", { start: 0, stop: 14 }), (made) => made.engine.stop()]) {
    const made = engineOn({ settings: { slow: 30 } });
    await made.engine.start();
    made.run(5.05);
    made.engine.flip(0);
    end(made);
    made.run(1);
    assert.equal(made.state.home, 0);
    if (made.engine.playing()) assert.equal(made.engine.now().home, 0);
  }
});

test("a flip by hand that lies behind one on call comes all the same", async () => {
  const made = engineOn({ settings: { slow: 30, flipEvery: 1, loop: { start: 5, stop: 11 } } });
  await made.engine.start();
  while (!(made.engine.now().pos > 0.55)) made.run(0.025);
  made.engine.flip(0);
  const homes = [];
  while (made.engine.now().pos < 3.9) {
    made.run(0.025);
    const { home, pos } = made.engine.now();
    if (homes.at(-1)?.[0] !== home) homes.push([home, pos]);
  }
  homes.slice(1).forEach(([, pos], i) => assert.ok(pos > homes[i][1]));
  assert.ok(homes.some(([home]) => home === 0));
});

test("a calibration is sixteen clicks on the home of the reader, whatever is being practised", async () => {
  const made = recording({
    settings: { flipEvery: 2, drop: { sounding: 4, silent: 4, from: 0 }, slow: 50, grid: true },
  });
  made.settings.lanes[1].solo = true;
  await made.recorder.calibrate();
  made.run(14);
  assert.deepEqual([made.strokes("lane").length, made.strokes("grid").length, made.state.home], [16, 0, 1]);
  const { flipEvery, slow, grid, lanes } = made.settings;
  assert.deepEqual([flipEvery, slow, grid, lanes.length, lanes[1].solo], [2, 50, true, 2, true]);
});

test("the solo of a pulse that is gone silences nobody", async () => {
  const three = { ...SEVEN_FOUR, lanes: [...SEVEN_FOUR.lanes, { name: "1", sound: "a", onsets: [0], accents: [], ghosts: [] }] };
  const made = engineOn({}, three);
  made.settings.lanes[2].solo = true;
  const gains = [];
  const make = made.context.createGain;
  made.context.createGain = () => {
    gains.push(make());
    return gains.at(-1);
  };
  await made.engine.start();
  made.state.plan = SEVEN_FOUR;
  made.engine.replan(false);
  assert.ok(gains.filter((one) => one.gain.value === 0.6).length >= 2);
});

test("home on call at the end of a take moves nothing, and the message has the home it began with", async () => {
  const made = recording({ settings: { flipEvery: 2 } });
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 2 });
  made.run(14);
  assert.deepEqual([made.sent[0].home, made.state.home], [1, 1]);
});

test("where nothing can be kept and nobody answers, it is said", async () => {
  const made = recording();
  made.store.setItem = () => {
    throw new Error("full");
  };
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 1 });
  made.run(9);
  made.later.forEach((call) => call());
  assert.match(made.told.at(-1), /leave the page open/);
});

test("a kept take that cannot be read holds back no other", () => {
  const store = fakeStore();
  store.setItem("rhythmlab.take.x", "{");
  hold(store, { id: "a", when: "2020-01-01T00:00:00+00:00" });
  assert.deepEqual(unsent(store).map((one) => one.id), ["a"]);
});

test("Space twice while the sound card wakes is a start and a stop, and a refusal frees the recorder", async () => {
  const made = engineOn();
  made.context.state = "suspended";
  made.context.resume = async () => (made.context.state = "running");
  const first = made.engine.toggle();
  made.engine.toggle();
  await first;
  assert.equal(made.engine.playing(), false);
  const refused = recording();
  refused.context.state = "suspended";
  refused.context.resume = async () => {
    throw new Error("no");
  };
  await refused.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 1 });
  assert.deepEqual([refused.recorder.phase(), refused.settings.quiet], ["idle", []]);
});

test("grid ticks ticked during the count-in leave the rest of it", async () => {
  const made = engineOn();
  await made.engine.start({ countIn: 4 });
  made.run(0.5);
  made.engine.set("grid", true);
  made.run(6);
  assert.equal(made.strokes("count").length, 4);
});

test("a change of tempo during a calibration leaves it alone, and under one cycle nothing counts", async () => {
  const made = recording();
  await made.recorder.calibrate();
  made.run(1);
  made.state.plan = { ...SEVEN_FOUR, cycle_s: 2 };
  made.engine.replan(true);
  assert.equal(made.recorder.phase(), "calibrate");
  made.engine.stop();
  await made.recorder.record({ mode: "one pulse", mine: 1, limbs: "hands", cycles: 4 });
  made.run(1);
  made.engine.set("slow", 50);
  assert.match(made.told.at(-1), /nothing to measure/);
});

test("a take is ended by another tab and kept, but counts for nothing, and a line says why", async () => {
  const made = recording();
  await made.recorder.record({ mode: "both pulses", mine: 0, limbs: "hands", cycles: 4 });
  playAt(made, 0, [4, 5, 6, 9]);
  made.run(1.5);
  made.recorder.elsewhere();
  assert.equal(made.engine.playing(), false);
  assert.equal(made.sent.length, 1);
  assert.equal(made.sent[0].taps.length, 4);
  assert.equal(made.told.at(-1), "The take ended because another tab or window began to sound: it counts for nothing.");
  assert.equal(made.sent[0].interrupted, true);
});

test("a take without one full cycle, a calibration and plain playing say why they stopped too", async () => {
  for (const begin of [(recorder) => recorder.record({ mode: "both pulses", mine: 0, limbs: "hands", cycles: 4 }), (recorder) => recorder.calibrate(), (_, engine) => engine.start()]) {
    const made = recording();
    await begin(made.recorder, made.engine);
    made.run(0.5);
    made.recorder.elsewhere();
    assert.equal(made.engine.playing(), false);
    assert.deepEqual([made.sent, made.recorder.phase()], [[], "idle"]);
    assert.match(made.told.at(-1), /^The sound stopped because another tab or window began to sound\./);
  }
});

test("a plan that cannot be laid ends a take as another one does: what was played before counts", async () => {
  for (const more of [{ homes: null }, { lanes: [null] }, { cycle_s: 1e-9 }, { ticks: 0 }, { bpms: null }]) {
    const made = recording();
    await made.recorder.record({ mode: "both pulses", mine: 0, limbs: "hands", cycles: 4 });
    playAt(made, 0, [4, 5, 6, 9]);
    made.run(1.5);
    made.state.plan = { ...SEVEN_FOUR, ...more };
    made.engine.replan(false);
    assert.equal(made.engine.playing(), false);
    assert.deepEqual([made.sent.length, made.sent[0].taps.length, made.sent[0].ticks], [1, 4, 28], JSON.stringify(more));
  }
});

import assert from "node:assert/strict";
import { test } from "node:test";
import { limited, limiterCurve, samplesOf, sideOf } from "../../rhythmlab/panels/stage/desk.mjs";
import { makeClockMap, median } from "../../rhythmlab/panels/stage/clockmap.mjs";
import { beatOf, beatTicks, firstFrom, makeRows, positionOf, sliceOf } from "../../rhythmlab/panels/stage/rows.mjs";
import { FIRST_VOLUME, firstSettings, levelOf, risen, silentAt, speedAt, storedVolume, voiceOf } from "../../rhythmlab/panels/stage/settings.mjs";
import { tappedBpm, tapsWith } from "../../rhythmlab/panels/stage/practise.mjs";
import { frameOf, xOf } from "../../rhythmlab/panels/stage/playhead.mjs";
import { nowSaid } from "../../rhythmlab/panels/stage/soundbar.mjs";
import { sideSaid } from "../../rhythmlab/panels/stage/mixer.mjs";
import { SEVEN_FOUR } from "./fakes.mjs";

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
  const now = { pos: 1.5, turn: 1, tick: 14, beats: [0, 7, 14, 21], silent: false, speed: 1 };
  assert.equal(nowSaid(now, 72), "beat 3 · cycle 2");
  assert.equal(nowSaid({ ...now, speed: 0.5 }, 72), "beat 3 · cycle 2 · 36 bpm");
  assert.equal(nowSaid({ ...now, silent: true }, 72), "cycle 2: silent, keep going");
  assert.equal(nowSaid({ ...now, turn: -1 }, 72), "count-in");
  assert.equal(nowSaid(null, 72), "");
  assert.equal(sideSaid(0), "middle");
  assert.equal(sideSaid(-35), "35 percent to the left");
});

import assert from "node:assert/strict";
import { test } from "node:test";
import { makeClockMap, median } from "../../rhythmlab/panels/stage/clockmap.mjs";
import { drawn } from "./fakes.mjs";

const GOOD_S = 0.002;
const AHEAD_S = 100;

/** A map that has read these offsets, a reading every 10 ms; the sound card is 100 s behind the page. */
function mapOf(offsets, fromS = 200) {
  let now = fromS;
  const stamps = offsets.map((off, i) => ({ contextTime: fromS + 0.01 * i - AHEAD_S + off, performanceTime: 1000 * (fromS + 0.01 * i) }));
  const map = makeClockMap({ getOutputTimestamp: () => stamps.shift() }, () => 1000 * now);
  for (; stamps.length; now += 0.01) map.read();
  return map;
}

/** How far the map is off at a page time. */
const off = (map, page) => map.audioAt(1000 * page) - (page - AHEAD_S);

/** Which of `n` readings are wild: the first, the last, every second, those in the middle, and any. */
function places(n, wild, draw) {
  const all = Array.from({ length: n }, (_, i) => i);
  const spread = all.filter((i) => i % 2).slice(0, wild);
  const shuffled = [...all].map((i) => [draw(), i]).sort(([a], [b]) => a - b).map(([, i]) => i);
  const middle = (n - wild) >> 1;
  return [all.slice(0, wild), all.slice(n - wild), spread, all.slice(middle, middle + wild), shuffled.slice(0, wild)];
}

test("readings that are wild move no tap, wherever they are, as long as more are good", () => {
  const draw = drawn(7);
  for (const n of [3, 4, 9, 24, 25, 29]) {
    for (const by of [-5, -0.05, 0.02, 0.4, 30]) {
      for (const wild of places(n, Math.ceil(n / 2) - 1, draw)) {
        const good = () => GOOD_S * (2 * draw() - 1);
        const map = mapOf(Array.from({ length: n }, (_, i) => (wild.includes(i) ? by * (1 + draw()) : good())));
        const at = [200, 200 + 0.005 * n, 200 + 0.01 * (n - 1)];
        for (const page of at) assert.ok(Math.abs(off(map, page)) <= GOOD_S, `${n} ${by} ${wild} ${page}`);
      }
    }
  }
});

test("after a pause the last nine readings count, and four wild ones of them move nothing", () => {
  const draw = drawn(11);
  for (const wild of places(9, 4, draw)) {
    const before = Array.from({ length: 20 }, () => 0.7); // the clocks as they stood before
    const last = Array.from({ length: 9 }, (_, i) => (wild.includes(i) ? 0.3 * (1 + draw()) : GOOD_S * (2 * draw() - 1)));
    assert.ok(Math.abs(off(mapOf([...before, ...last]), 260)) <= GOOD_S, `${wild}`);
  }
});

test("the answer is the middle one of the readings, and the mean of the middle two", () => {
  assert.ok(Math.abs(off(mapOf([0.5, 0.01, 0.02]), 200.01) - 0.02) < 1e-9);
  assert.ok(Math.abs(off(mapOf([0.5, 0.01, 0.02, -3]), 200.01) - 0.015) < 1e-9);
  assert.equal(median([4, 1, 3, 2]), 2.5);
  assert.equal(median([4, 1, 9]), 4);
});

test("a tap is told by the readings near it alone, however many there are elsewhere", () => {
  const drifting = Array.from({ length: 150 }, (_, i) => (i < 70 ? 0.2 : 0)); // the card fell behind at 0.7 s
  const map = mapOf(drifting);
  assert.ok(Math.abs(off(map, 200.2) - 0.2) < 1e-9);
  assert.ok(Math.abs(off(map, 201.2)) < 1e-9);
});

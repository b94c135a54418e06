import assert from "node:assert/strict";
import { test } from "node:test";

import { seams } from "../../rhythmlab/panels/stage/breaks.mjs";

const every = (step, stop) => Array.from({ length: Math.ceil(stop / step) }, (_, i) => i * step);

test("rows go from the first tick to the last, none longer than its room, at beats where a beat has room", () => {
  for (const [pulse, home] of [[5, 4], [7, 4], [13, 8], [7, 2], [16, 15], [5, 1]]) {
    const ticks = pulse * home;
    const beats = every(ticks / home, ticks);
    const sounds = [...new Set([...beats, ...every(ticks / pulse, ticks)])].sort((a, b) => a - b);
    for (let most = 1; most <= ticks; most += 0.7) {
      const rows = seams(0, ticks, [[], beats, beats, sounds], most);
      assert.deepEqual([rows[0], rows.at(-1)], [0, ticks]);
      rows.slice(1).forEach((to, i) => assert.ok(to > rows[i] && to - rows[i] <= Math.max(1, most) + 1e-6));
      if (most >= ticks / home) assert.ok(rows.slice(0, -1).every((tick) => beats.includes(tick)));
      if (most >= ticks) assert.deepEqual(rows, [0, ticks]);
    }
  }
});

test("rows are about as long as each other: none is nearly empty because the one before is as full as can be", () => {
  assert.deepEqual(seams(0, 150, [[], every(10, 150), [], []], 80), [0, 80, 150]);
  assert.deepEqual(seams(0, 100, [[], every(10, 100), [], []], 90), [0, 50, 100]);
});

test("a bar is not broken where rows as long as bars have room", () => {
  assert.deepEqual(seams(0, 64, [every(16, 64), every(4, 64), [], []], 20), [0, 16, 32, 48, 64]);
});

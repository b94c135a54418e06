import assert from "node:assert/strict";
import { test } from "node:test";

import { held, written } from "../../rhythmlab/panels/stage/slide.mjs";

test("a tempo is held inside the ends of the slide", () => {
  assert.equal(held(72, 20, 300), 72);
  assert.equal(held(10, 20, 300), 20);
  assert.equal(held(1000, 20, 300), 300);
});

test("a tempo is written with no more decimals than two, and no more than it needs", () => {
  assert.equal(written(72), "72");
  assert.equal(written(76.8), "76.8");
  assert.equal(written(400 / 3), "133.33");
});

test("a tempo that is very slow is not written as none", () => {
  assert.equal(written(0.05), "0.05");
  assert.equal(written(0.0042), "0.0042");
  assert.equal(written(0.00149), "0.0015");
  assert.equal(written(1e-9), "under 0.001");
  assert.equal(written(0), "0");
  for (let bpm = 1; bpm > 1e-12; bpm /= 3) assert.notEqual(Number(written(bpm)), 0, String(bpm));
});

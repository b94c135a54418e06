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

// The parts of a card: fields on models that Python holds, the drawer, and what was played under what was meant.
import assert from "node:assert/strict";
import { test } from "node:test";
import { referred } from "../../rhythmlab/panels/stage/fields.mjs";
import { markedOf } from "../../rhythmlab/panels/stage/under.mjs";

test("what Python refers to comes back in the same shape, each reference as its model and all else as it is", async () => {
  const models = { a: { name: "a" }, b: { name: "b" } };
  const manager = { get_model: async (id) => models[id] };
  const given = { numbers: ["IPY_MODEL_a", "IPY_MODEL_b"], tempo: "IPY_MODEL_b", rows: [{ fields: [], word: "a" }], none: null };
  const found = await referred(manager, given);
  assert.deepEqual(Object.keys(found), Object.keys(given));
  assert.ok(found.numbers[0] === models.a && found.numbers[1] === models.b && found.tempo === models.b);
  assert.deepEqual([found.rows, found.none], [[{ fields: [], word: "a" }], null]);
});

test("the marked stroke is the nearest of its lane, and missing where none is within an eighth of the cycle", () => {
  const strokes = [[0, 0], [1, 0.4], [1, 7.2], [1, 15.1], [0, 14], [1, 21]];
  for (const [tick, meant] of [[0, 0.4], [7, 7.2], [14, 15.1], [21, 21]]) {
    assert.equal(markedOf(strokes, { lane: 1, tick }, 28), meant);
  }
  assert.equal(markedOf(strokes, { lane: 0, tick: 7 }, 28), null);
  assert.equal(markedOf([], { lane: 0, tick: 7 }, 28), null);
});

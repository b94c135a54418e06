import assert from "node:assert/strict";
import { test } from "node:test";

import { formOf, sayOf } from "../../rhythmlab/panels/stage/sentences.mjs";

const TEMPLATES = { "lost.on": "{ticks} on, {beat}, {beat}" };

test("each name is filled by its value, wherever it stands, and what a value holds is left as it is", () => {
  assert.equal(sayOf(TEMPLATES, "lost.on", { ticks: 5, beat: "{ticks} $& $1" }), "5 on, {ticks} $& $1, {ticks} $& $1");
});

test("a name left out, one too many, or no such sentence is an error", () => {
  assert.throws(() => sayOf(TEMPLATES, "lost.on", { ticks: 5 }), /lost\.on needs/);
  assert.throws(() => sayOf(TEMPLATES, "lost.on", { ticks: 5, beat: 1, more: 2 }), /lost\.on needs/);
  assert.throws(() => sayOf(TEMPLATES, "toString", {}), /no sentence/);
});

test("one has a form of its own", () => {
  assert.deepEqual([0, 1, 2, 101].map(formOf), ["other", "one", "other", "other"]);
});

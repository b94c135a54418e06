import assert from "node:assert/strict";
import { test } from "node:test";

import { ASLEEP, watch } from "../../rhythmlab/panels/stage/wake.mjs";

function fake(live) {
  const listeners = new Set();
  const real = {
    comm_live: live,
    on: (_, callback) => listeners.add(callback),
    off: (_, callback) => listeners.delete(callback),
  };
  const model = { get: () => "an id", widget_manager: { get_model: async () => real } };
  const lines = [];
  const stop = watch(model, (line) => lines.push(line));
  const wake = (now) => {
    real.comm_live = now;
    for (const callback of [...listeners]) callback();
  };
  return { lines, stop, wake, listeners };
}

test("a model without its kernel says how to wake the controls, and stops saying so once it is live", async () => {
  const { lines, wake } = fake(false);
  await new Promise(setImmediate);
  assert.deepEqual(lines, [ASLEEP]);
  wake(true);
  assert.deepEqual(lines, [ASLEEP, ""]);
  wake(false);
  assert.equal(lines.at(-1), ASLEEP);
});

test("a live model says nothing, and a stopped watch listens no more", async () => {
  const { lines, stop, listeners } = fake(true);
  await new Promise(setImmediate);
  assert.deepEqual(lines, [""]);
  stop();
  assert.equal(listeners.size, 0);
});

test("a host that cannot tell is taken to be awake", async () => {
  const lines = [];
  watch({ get: () => "", widget_manager: undefined }, (line) => lines.push(line));
  await new Promise(setImmediate);
  assert.deepEqual(lines, []);
});

import assert from "node:assert/strict";
import { test } from "node:test";

import { ASLEEP, letViewsGo, watch } from "../../rhythmlab/panels/stage/wake.mjs";

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

test("a watch that is stopped before the model is found listens to nothing", async () => {
  const { lines, stop, listeners } = fake(true);
  stop();
  await new Promise(setImmediate);
  assert.deepEqual([lines, listeners.size], [[], 0]);
});

/** A model of the widget manager with views, each with the view that it belongs to. */
function held(module, views, more = {}) {
  const model = { model_id: "m", views: {}, state_change: Promise.resolve("a view"), _events: { "msg:custom": [{ context: undefined }, { context: {} }] }, ...more };
  model.get = (name) => ({ _model_module: module, me: more.me })[name];
  views.forEach((parent, i) => {
    const view = { options: { parent }, remove: () => delete model.views[i] };
    model.views[i] = Promise.resolve(view);
  });
  return model;
}

test("views that are closed are let go, with what they heard, and open ones stay", async () => {
  const gone = { luminoWidget: { isDisposed: true } };
  const here = { luminoWidget: { isDisposed: false } };
  const closed = held("@jupyter-widgets/controls", []);
  const layout = held("@jupyter-widgets/base", [gone, gone]);
  const open = held("@jupyter-widgets/controls", [here]);
  const half = held("@jupyter-widgets/base", [gone, here]);
  const root = held("@jupyter-widgets/controls", [undefined]);
  const other = held("somebody-else", []);
  const ours = held("anywidget", [], { me: "m" });
  const models = { closed, layout, open, half, root, other, ours, never: Promise.reject(new Error("lost")) };
  const broken = { views: { a: Promise.reject(new Error("no view")) } };
  await letViewsGo({ _models: { ...models, broken, nothing: null } });
  const kept = async (model) => [Object.keys(model.views).length, await model.state_change, model._events["msg:custom"].length];
  assert.deepEqual(await kept(closed), [0, undefined, 1]);
  assert.deepEqual(await kept(layout), [0, undefined, 1]);
  assert.deepEqual(await kept(open), [1, "a view", 2]);
  assert.deepEqual(await kept(half), [1, "a view", 2]);
  assert.deepEqual(await kept(root), [1, "a view", 2]);
  assert.deepEqual(await kept(other), [0, undefined, 2]); // what it hears is its own
  assert.deepEqual(await kept(ours), [0, undefined, 1]);
});

test("a page without a widget manager has nothing to let go", async () => {
  for (const manager of [undefined, null, {}, { _models: null }]) await letViewsGo(manager);
});

import assert from "node:assert/strict";
import { test } from "node:test";

import { guard, panelOf } from "../../rhythmlab/panels/stage/keys.mjs";

/** An element of the page: its listeners by kind, and where its events go if nobody stops them. */
function element(parts = {}) {
  const listeners = [];
  return {
    isConnected: true,
    dataset: {},
    listeners,
    addEventListener: (kind, call) => listeners.push([kind, call]),
    removeEventListener: (kind, call) => {
      const at = listeners.findIndex(([name, one]) => name === kind && one === call);
      if (at >= 0) listeners.splice(at, 1);
    },
    ...parts,
  };
}

/** Send an event to an element; tell whether it goes on to the page. */
function send(host, kind, target = element()) {
  let on = true;
  const event = { target, stopPropagation: () => (on = false) };
  for (const [name, call] of [...host.listeners]) if (name === kind) call(event);
  return on;
}

/** A stage inside an output of the page. */
function inOutput(parts = {}) {
  const output = element();
  const asked = [];
  const closest = (selector) => {
    asked.push(selector);
    return output;
  };
  return { output, asked, el: element({ closest, ...parts }) };
}

/** Frames of the browser, run when asked. */
function frames() {
  const waiting = [];
  return { waiting, later: (call) => waiting.push(call), next: () => waiting.splice(0).forEach((call) => call()) };
}

test("a panel is its whole output, and itself where there is none", () => {
  const { output, asked, el } = inOutput();
  assert.equal(panelOf(el), output);
  assert.deepEqual(asked, [".jp-OutputArea-output"]);
  const alone = element({ closest: () => null });
  assert.equal(panelOf(alone), alone);
  const bare = element();
  assert.equal(panelOf(bare), bare);
});

test("keys pressed anywhere in the output stop there, and other events go on", () => {
  const { output, el } = inOutput();
  guard(el);
  assert.equal(send(output, "keydown"), false);
  assert.equal(send(output, "focusin"), true);
  assert.equal(send(output, "click"), true);
  assert.deepEqual(el.listeners, []);
});

test("without an output the keys stop at the stage itself", () => {
  const el = element();
  guard(el);
  assert.equal(send(el, "keydown"), false);
});

test("what is focused is marked as taking its own keys, and what cannot be marked is left alone", () => {
  const { output, el } = inOutput();
  guard(el);
  const field = element();
  send(output, "keydown", field);
  assert.equal(field.dataset.lmSuppressShortcuts, undefined);
  send(output, "focusin", field);
  assert.equal(field.dataset.lmSuppressShortcuts, "true");
  assert.doesNotThrow(() => send(output, "focusin", {}));
});

test("it waits, a frame at a time, until the stage stands on the page", () => {
  const { output, asked, el } = inOutput({ isConnected: false });
  const { later, next, waiting } = frames();
  guard(el, later);
  for (let frame = 0; frame < 3; frame += 1) {
    assert.equal(waiting.length, 1);
    next();
  }
  assert.deepEqual([asked, output.listeners], [[], []]);
  el.isConnected = true;
  next();
  assert.equal(waiting.length, 0);
  assert.deepEqual(output.listeners.map(([kind]) => kind).sort(), ["focusin", "keydown"]);
  assert.equal(send(output, "keydown"), false);
});

test("it does not wait for ever, and guards what it has", () => {
  const el = element({ isConnected: false });
  const { later, next, waiting } = frames();
  guard(el, later);
  let waited = 0;
  for (; waiting.length && waited < 1000; waited += 1) next();
  assert.equal(waited, 120);
  assert.equal(send(el, "keydown"), false);
});

test("unguarding removes both listeners", () => {
  const { output, el } = inOutput();
  const unguard = guard(el);
  assert.equal(output.listeners.length, 2);
  unguard();
  assert.deepEqual(output.listeners, []);
  assert.equal(send(output, "keydown"), true);
  unguard();
  assert.deepEqual(output.listeners, []);
});

test("unguarding while it waits stops the waiting, and nothing is guarded afterwards", () => {
  for (const connected of [false, true]) {
    const { output, el } = inOutput({ isConnected: false });
    const { later, next, waiting } = frames();
    const unguard = guard(el, later);
    next();
    unguard();
    el.isConnected = connected;
    next();
    assert.equal(waiting.length, 0);
    assert.deepEqual([output.listeners, el.listeners], [[], []]);
  }
});

test("unguarding one panel leaves another in the same output guarded", () => {
  const { output, el } = inOutput();
  const other = element({ closest: () => output });
  const unguard = guard(el);
  guard(other);
  unguard();
  assert.equal(output.listeners.length, 2);
  assert.equal(send(output, "keydown"), false);
});

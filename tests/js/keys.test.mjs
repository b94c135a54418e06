import assert from "node:assert/strict";
import { test } from "node:test";

import { escaped, guard, oursRound, panelOf, passes, watchPage } from "../../rhythmlab/panels/stage/keys.mjs";

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

test("the menu of a field that is typed in is the browser's own, and that of all else the notebook's", () => {
  const { output, el } = inOutput();
  guard(el);
  assert.equal(send(output, "contextmenu", element({ closest: (what) => what.startsWith("input:not") })), false);
  assert.equal(send(output, "contextmenu", element({ closest: () => null })), true);
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
  assert.deepEqual(output.listeners.map(([kind]) => kind).sort(), ["contextmenu", "focusin", "keydown", "mousedown"]);
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

test("unguarding removes all listeners", () => {
  const { output, el } = inOutput();
  const unguard = guard(el);
  assert.equal(output.listeners.length, 4);
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
  assert.equal(output.listeners.length, 4);
  assert.equal(send(output, "keydown"), false);
});

test("only keys that save, search, print, copy and run go on to the notebook", () => {
  const key = (name, more = {}) => ({ key: name, code: /^[a-z]$/i.test(name) ? `Key${name.toUpperCase()}` : name, ...more });
  for (const name of ["a", "b", "d", "x", "X", "z", "0", "9", "ArrowUp", "Delete", "Backspace", "Enter", "Escape", "Tab", " ", "F5"]) {
    assert.equal(passes(key(name)), false, name);
    assert.equal(passes(key(name, { altKey: true })), false, name);
  }
  for (const name of ["A", "B", "J", "K", "M", "Z", "L", "R", "ArrowUp", "Home"]) assert.equal(passes(key(name, { shiftKey: true })), false, name);
  for (const held of ["ctrlKey", "metaKey"]) {
    for (const name of ["s", "S", "f", "g", "p", "c", "C"]) assert.equal(passes(key(name, { [held]: true })), true, name);
    for (const name of ["a", "z", "x", "v", "m", "M", "Backspace", "ArrowUp", "-", "d", "k"]) assert.equal(passes(key(name, { [held]: true })), false, name);
    assert.equal(passes(key("s", { [held]: true, altKey: true })), false); // AltGr types a character
    assert.equal(passes(key("Enter", { [held]: true })), true);
  }
  assert.equal(passes({ key: "\u044b", code: "KeyS", ctrlKey: true }), true); // by place, where letters are others
  assert.equal(passes(key("Enter", { shiftKey: true })), true);
  assert.equal(passes(key("Enter", { shiftKey: true }), true), false); // not while the screen is filled
  const field = element({ closest: (selector) => (/textarea/.test(selector) ? field : null) });
  assert.equal(passes(key("Enter", { shiftKey: true, target: field })), false);
  assert.equal(passes({}), false);
});

/** A page of outputs: each says whether it is ours; what lies in it finds it. */
function desk() {
  const listeners = [];
  const document = { activeElement: null, fullscreenElement: null, body: element() };
  const page = {
    document,
    addEventListener: (kind, call, early) => listeners.push([kind, call, early]),
    removeEventListener: (kind, call, early) => {
      const at = listeners.findIndex(([k, c, e]) => k === kind && c === call && e === early);
      if (at >= 0) listeners.splice(at, 1);
    },
  };
  const send = (kind, target, more = {}) => listeners.filter(([name]) => name === kind).forEach(([, call]) => call({ target, ...more }));
  const cell = element({ contains: () => true });
  const output = (ours) => {
    const attributes = {};
    const one = element({
      attributes,
      parentElement: null,
      querySelector: () => (ours ? {} : null),
      hasAttribute: (name) => name in attributes,
      setAttribute: (name, value) => (attributes[name] = value),
      classList: { add: (name) => (attributes.class = name) },
      contains: (other) => other === one || other.parentElement === one,
      focus: () => (document.activeElement = one),
    });
    one.closest = (selector) => ({ ".jp-OutputArea-output": one, ".jp-Cell": cell })[selector] || null;
    return one;
  };
  const inside = (outside) => {
    const one = element({ parentElement: outside, blur: () => (document.activeElement = document.body) });
    one.closest = (selector) => outside.closest(selector);
    return one;
  };
  return { page, document, listeners, send, cell, output, inside };
}

test("keys pressed in an output of ours are marked one by one, and those of other outputs are left alone", () => {
  const { page, send, output, inside } = desk();
  const stop = watchPage(page);
  const [spot, other] = [inside(output(true)), inside(output(false))];
  send("keydown", spot, { key: "d", code: "KeyD" });
  assert.equal(spot.dataset.lmSuppressShortcuts, "true");
  spot.parentElement.dataset.lmSuppressShortcuts = "true";
  send("keydown", spot, { key: "s", code: "KeyS", ctrlKey: true, target: spot });
  assert.deepEqual([spot.dataset, spot.parentElement.dataset], [{}, {}]);
  send("keydown", spot, { key: "x", code: "KeyX" });
  assert.equal(spot.dataset.lmSuppressShortcuts, "true");
  send("keydown", other, { key: "d", code: "KeyD" });
  send("keydown", element({ closest: () => null }), { key: "d" });
  send("keydown", {}, { key: "d" });
  assert.deepEqual(other.dataset, {});
  stop();
});

test("a click on a plain spot puts the focus on the output, also when the notebook takes it to the cell", () => {
  const { page, document, send, cell, output, inside } = desk();
  watchPage(page);
  const host = output(true);
  document.activeElement = cell; // where the notebook put it
  send("mousedown", inside(host));
  assert.equal(document.activeElement, host);
  assert.deepEqual(host.attributes, { tabindex: "-1", class: "rl-rest" });
  assert.deepEqual(host.listeners.map(([kind]) => kind).sort(), ["contextmenu", "focusin", "keydown", "mousedown"]);
  const field = inside(host);
  document.activeElement = field;
  send("mousedown", inside(host));
  send("click", inside(host));
  assert.equal(document.activeElement, field); // what has the focus inside keeps it
  document.activeElement = document.body;
  Object.assign(document.body, { contains: () => true });
  send("click", inside(host));
  assert.equal(document.activeElement, host);
  assert.equal(host.listeners.length, 4);
});

test("a focus that the notebook takes later goes back to where it was, and keys that lead out do not", () => {
  const { page, document, send, cell, output, inside } = desk();
  watchPage(page);
  const host = output(true);
  const field = inside(host);
  field.focus = () => (document.activeElement = field);
  for (const [key, more, comes] of [["d", {}, field], ["Escape", {}, cell], ["Tab", { shiftKey: true }, cell], ["Enter", { ctrlKey: true }, cell]]) {
    for (const before of [field, null]) {
      document.activeElement = field;
      send("mousedown", field);
      send("click", field);
      send("keydown", field, { key, ...more });
      document.activeElement = cell;
      send("focusin", cell, { relatedTarget: before });
      assert.equal(document.activeElement, comes === field && !before ? host : comes, key);
    }
  }
  document.activeElement = field;
  send("mousedown", field);
  const elsewhere = element({ closest: () => null, contains: () => false });
  document.activeElement = elsewhere; // another cell, or a menu
  send("focusin", elsewhere, { relatedTarget: field });
  assert.equal(document.activeElement, elsewhere);
  send("mousedown", elsewhere);
  document.activeElement = cell;
  send("focusin", cell, { relatedTarget: null });
  assert.equal(document.activeElement, cell); // the press was beside
});

test("a pad that keeps the press to itself takes the focus from the cell all the same", () => {
  const { page, document, send, cell, output, inside } = desk();
  watchPage(page);
  const host = output(true);
  document.activeElement = cell;
  send("pointerdown", inside(host));
  send("click", inside(host));
  assert.equal(document.activeElement, host);
});

test("a click elsewhere leaves the panel: on its own cell also where the notebook would leave the focus inside", () => {
  const { page, document, send, output, inside, cell } = desk();
  watchPage(page);
  const host = output(true);
  const control = inside(host);
  document.activeElement = control;
  const prompt = element({ closest: (selector) => (selector === ".jp-Cell" ? cell : null) });
  send("mousedown", prompt);
  assert.equal(document.activeElement, document.body);
  send("click", prompt);
  assert.equal(document.activeElement, document.body);
});

test("of two outputs one inside the other the inner one that is ours counts, else the outer one", () => {
  const { output, inside } = desk();
  for (const [ours, want] of [[true, "inner"], [false, "outer"]]) {
    const [outer, inner] = [output(true), output(ours)];
    inner.parentElement = outer;
    assert.equal(oursRound(inside(inner)), want === "inner" ? inner : outer);
  }
  assert.equal(oursRound(inside(output(false))), null);
  assert.equal(oursRound(null), null);
});

test("the page is watched once for any number of panels, until the last one goes", () => {
  const { page, listeners } = desk();
  const stops = [watchPage(page)];
  const one = listeners.length;
  stops.push(watchPage(page), watchPage(page));
  assert.equal(listeners.length, one);
  assert.ok(one > 0);
  stops[0]();
  stops[0]();
  stops[1]();
  assert.equal(listeners.length, one);
  stops[2]();
  assert.equal(listeners.length, 0);
  watchPage(page)();
  assert.equal(listeners.length, 0);
});

test("with Shift or another button the notebook does not hear the click, and with none it does", () => {
  const { output, el } = inOutput();
  guard(el);
  const on = (more) => {
    let went = true;
    for (const [name, call] of output.listeners) if (name === "mousedown") call({ button: 0, ...more, stopPropagation: () => (went = false) });
    return went;
  };
  assert.deepEqual([on({}), on({ shiftKey: true }), on({ button: 2 }), on({ button: 1 })], [true, false, false, false]);
});

test("Escape leads out to the cell, but not when it has stopped the sound, nor again at once, nor held down", () => {
  const { output, el } = inOutput();
  let out = 0;
  output.closest = () => ({ focus: () => (out += 1) });
  globalThis.document = { fullscreenElement: null };
  guard(el);
  const press = (timeStamp, more = {}) => {
    const event = { key: "Escape", code: "Escape", target: element(), timeStamp, stopPropagation() {}, ...more };
    for (const [name, call] of output.listeners) if (name === "keydown") call(event);
    return out;
  };
  assert.equal(press(100), 1);
  assert.equal(press(200, { defaultPrevented: true }), 1);
  assert.equal(press(300, { repeat: true }), 1);
  escaped(1000);
  assert.equal(press(1000), 1);
  assert.equal(press(1400), 1);
  assert.equal(press(3000), 2);
  globalThis.document.fullscreenElement = {};
  assert.equal(press(4000), 2);
  delete globalThis.document;
});

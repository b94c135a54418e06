import assert from "node:assert/strict";
import { test } from "node:test";
import { makeEngine } from "../../rhythmlab/panels/stage/engine.mjs";
import { firstSettings } from "../../rhythmlab/panels/stage/settings.mjs";
import { GRACE_MS, REST_MS, cardHolder } from "../../rhythmlab/panels/stage/card.mjs";
import { makeDesk } from "../../rhythmlab/panels/stage/desk.mjs";
import { SEVEN_FOUR, fakeContext, fakeEngine } from "./fakes.mjs";

/** A page: one place that all its panels share, and the sound cards that were ever made for it. */
function page() {
  const place = {};
  const made = [];
  const panel = (plan = SEVEN_FOUR) => fakeEngine(makeEngine, firstSettings, plan, { place, makeContext: (rate) => {
    made.push(fakeContext(rate));
    return made.at(-1);
  } });
  return { place, made, panel, states: () => made.map((one) => one.state) };
}

test("twenty panels that sound one after the other have one sound card", async () => {
  const { made, panel } = page();
  for (let i = 0; i < 20; i += 1) {
    const one = panel();
    assert.equal(made.length, i ? 1 : 0); // none before the first Start
    await one.engine.start();
    one.engine.stop();
  }
  assert.equal(made.length, 1);
});

test("panels of two rates have a card each, and each goes by itself", async () => {
  const { made, panel, states } = page();
  const [one, two] = [panel(), panel({ ...SEVEN_FOUR, rate: 44100 })];
  await one.engine.start();
  await two.engine.start();
  assert.deepEqual(made.map((card) => card.sampleRate), [48000, 44100]);
  two.engine.release();
  two.pass(GRACE_MS);
  assert.deepEqual(states(), ["running", "closed"]);
});

test("a card is closed when the last panel that used it is gone, and not before", async () => {
  const { made, panel, states } = page();
  const panels = [panel(), panel(), panel()];
  for (const one of panels) await one.engine.start();
  const unused = panel();
  unused.engine.inherit();
  for (const one of panels) {
    assert.deepEqual(states(), ["running"]);
    one.engine.release();
    for (const other of panels) other.pass(GRACE_MS);
  }
  assert.deepEqual(states(), ["closed"]); // a panel that never sounded keeps nobody's card
  await unused.engine.start();
  assert.equal(made.length, 2);
});

test("a cell that is run again a hundred times has the card that was there, also without a sound in between", async () => {
  const { made, panel, states } = page();
  let one = panel();
  await one.engine.start();
  for (let i = 0; i < 100; i += 1) {
    const next = panel();
    one.engine.release(); // the old output goes, and the new one comes soon after
    next.engine.inherit();
    one.pass(GRACE_MS);
    if (i % 3 === 0) await next.engine.start();
    one = next;
  }
  assert.deepEqual(states(), ["running"]);
  one.engine.release();
  one.pass(GRACE_MS);
  assert.deepEqual(states(), ["closed"]);
  assert.equal(made.length, 1);
});

test("a card rests when nothing sounds for a while, wakes at once, and does not rest while another panel sounds", async () => {
  const { panel, states } = page();
  const [one, two] = [panel(), panel()];
  await one.engine.start();
  one.pass(REST_MS);
  assert.deepEqual(states(), ["running"]);
  await two.engine.start();
  one.engine.stop();
  one.pass(REST_MS);
  assert.deepEqual(states(), ["running"]);
  two.engine.stop();
  two.pass(REST_MS);
  assert.deepEqual(states(), ["suspended"]);
  assert.equal(await one.engine.start(), true);
  assert.deepEqual(states(), ["running"]);
});

test("a card that was woken and not used rests again", async () => {
  const { panel, states } = page();
  const one = panel();
  await one.engine.ready();
  one.pass(REST_MS);
  assert.deepEqual(states(), ["suspended"]);
});

test("a card that somebody else closed is replaced", async () => {
  const { made, panel } = page();
  const one = panel();
  await one.engine.start();
  one.engine.stop();
  made[0].state = "closed";
  assert.equal(await one.engine.start(), true);
  assert.equal(made.length, 2);
});

test("a panel that goes while its card wakes does not sound, and lets it go", async () => {
  const { panel, states } = page();
  const one = panel();
  const begun = one.engine.start();
  one.engine.release();
  assert.equal(await begun, false);
  one.pass(GRACE_MS);
  assert.deepEqual(states(), ["closed"]);
});

test("nothing of a panel stays on the card after it has stopped", async () => {
  const { made, panel } = page();
  const one = panel();
  await one.engine.start();
  let on = 0;
  one.engine.out().disconnect = () => (on += 1);
  one.engine.stop();
  assert.equal(on, 0); // it still fades
  one.pass(300);
  assert.equal(on, 1);
  assert.equal(made.length, 1);
});

test("each voice is made into a buffer once for a card; another version of it is another voice", () => {
  const context = fakeContext();
  let buffers = 0;
  context.createBuffer = (channels, length) => ({ length, number: (buffers += 1), copyToChannel() {} });
  const bell = (first) => ({ bell: new DataView(Int16Array.from([first, 2, 3]).buffer) });
  const shared = new Map();
  const desks = [bell(1), bell(1), bell(9), bell(1)].map((voices) => makeDesk(context, () => voices, 48000, shared));
  const used = desks.map((desk) => desk.play("lane0", "bell", 0).source.buffer.number);
  assert.deepEqual(used, [1, 1, 2, 1]);
});

test("a browser that has no sound is told each time, and holds nothing", async () => {
  const place = {};
  const holder = cardHolder(place, () => { throw new Error("no sound"); }, () => () => {});
  for (let i = 0; i < 3; i += 1) assert.throws(() => holder.take(48000), /no sound/);
  holder.sound(true);
  holder.give();
  assert.equal([...Object.values(place)[0].values()].length, 0);
});

test("what the page tells is heard only while it sounds or is about to", async () => {
  const heard = [];
  const listen = (name) => () => {
    heard.push(name);
    return () => heard.splice(heard.indexOf(name), 1);
  };
  const names = ["whenHidden", "whenLeft", "whenElsewhere"];
  const made = fakeEngine((source, settings, tools) => makeEngine(source, settings, Object.assign(tools, Object.fromEntries(names.map((name) => [name, listen(name)])))), firstSettings, SEVEN_FOUR);
  assert.deepEqual(heard, []);
  await made.engine.start();
  assert.deepEqual(heard, names);
  made.engine.stop();
  assert.deepEqual(heard, []);
  made.context.state = "suspended";
  await made.engine.start(); // and it does not start
  assert.deepEqual(heard, []);
});

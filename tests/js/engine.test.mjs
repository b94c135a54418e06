import assert from "node:assert/strict";
import { test } from "node:test";
import { AHEAD, makeEngine } from "../../rhythmlab/panels/stage/engine.mjs";
import { firstSettings } from "../../rhythmlab/panels/stage/settings.mjs";
import { SEVEN_FOUR, fakeEngine } from "./fakes.mjs";
import { makeDesk } from "../../rhythmlab/panels/stage/desk.mjs";

const make = (more, plan = SEVEN_FOUR) => fakeEngine(makeEngine, firstSettings, plan, more);
const near = (a, b, by = 1e-9) => assert.ok(Math.abs(a - b) <= by, `${a} is not ${b}`);
const cycleS = SEVEN_FOUR.cycle_s;

/** Times of a lane's strokes as they must be from t0 on. */
function meant(lane, t0, cycles, seconds = cycleS) {
  const onsets = SEVEN_FOUR.lanes[lane].onsets;
  return Array.from({ length: cycles }, (_, k) => onsets.map((tick) => t0 + seconds * (k + tick / 28))).flat();
}

test("every stroke of both lanes is laid once, at its exact time, before it is due", async () => {
  const { engine, run, strokes } = make();
  await engine.start();
  run(20);
  const t0 = strokes("lane")[0].when;
  for (const lane of [0, 1]) {
    const got = strokes("lane").filter((one) => one.index === lane).map((one) => one.when);
    const want = meant(lane, t0, 5);
    want.forEach((when, i) => near(got[i], when));
    assert.equal(new Set(got).size, got.length);
  }
  for (const one of strokes()) assert.ok(one.when >= one.now);
});

test("a page that is blocked for less than the look-ahead loses no stroke, and a longer block is told", async () => {
  const short = make();
  await short.engine.start();
  for (let i = 0; i < 60; i += 1) short.run(0.2, 0.2);
  short.engine.stop();
  assert.deepEqual(short.engine.report(), { late: 0, dropped: 0, scheduled: short.strokes().length });
  const long = make();
  await long.engine.start();
  long.run(3, 3);
  long.run(1);
  long.engine.stop();
  assert.ok(long.engine.report().dropped > 0);
  assert.match(long.told.at(-1), /too busy/);
});

test("a flip moves no stroke, and the home beat changes at the next beat of the new home", async () => {
  const plain = make();
  await plain.engine.start();
  plain.run(12);
  const flipped = make();
  await flipped.engine.start();
  flipped.run(5);
  const pressed = flipped.context.currentTime;
  flipped.engine.flip(0);
  flipped.run(7);
  const times = (one) => one.strokes("lane").map((stroke) => [stroke.index, stroke.when]);
  assert.deepEqual(times(flipped), times(plain));
  const t0 = plain.strokes("lane")[0].when;
  const beats = flipped.strokes("home");
  const first = beats.find((one) => one.index === 0);
  const next = meant(0, t0, 4).find((when) => when > pressed + 0.04);
  near(first.when, next);
  assert.ok(beats.every((one) => (one.when < first.when) === (one.index === 1)));
  assert.equal(flipped.state.home, 0);
});

test("home is shown as flipped when its beat is heard, not when it is laid", async () => {
  const { engine, run, state, strokes } = make();
  await engine.start();
  run(5);
  engine.flip(0);
  const first = strokes("home").find((one) => one.index === 0).when;
  while (state.home === 1) run(0.025);
  near(engine.context().currentTime, first, 0.03);
});

test("another tempo goes on from the same place in the cycle, and no stroke is lost or doubled", async () => {
  const { engine, run, strokes, state, context } = make();
  await engine.start();
  run(5);
  const before = engine.now().pos;
  state.plan = { ...SEVEN_FOUR, cycle_s: 2, bpms: [210, 120] };
  engine.replan(true);
  run(6);
  const got = strokes("lane").filter((one) => one.index === 0).map((one) => one.pos);
  got.forEach((pos, i) => near(pos, i / 7));
  const moved = 0.06;
  near(engine.now().pos, before + moved / cycleS + (context.currentTime - 5 - moved) / 2, 1e-3);
});

test("slow goes at its share of the tempo and rise steps up at the start of a cycle", async () => {
  const slow = make({ settings: { slow: 50 } });
  await slow.engine.start();
  slow.run(8);
  const whens = slow.strokes("lane").filter((one) => one.index === 1).map((one) => one.when);
  near(whens[1] - whens[0], (2 * cycleS) / 4);
  const rising = make({ settings: { rise: { by: 8, every: 2, from: 0 } } });
  await rising.engine.start();
  rising.run(16);
  const fours = rising.strokes("lane").filter((one) => one.index === 1);
  const step = (n) => fours[n + 1].when - fours[n].when;
  near(step(7), 60 / 72);
  near(step(8), 60 / 80);
  near(step(16), 60 / 88);
});

test("home on call flips every so many cycles, on the first beat", async () => {
  const { engine, run, strokes } = make({ settings: { flipEvery: 2 } });
  await engine.start();
  run(21);
  for (const one of strokes("home")) assert.equal(one.index, Math.floor(one.pos / 2 + 1e-9) % 2 === 0 ? 1 : 0);
});

test("silent cycles have no stroke, and the sound comes back on the first beat", async () => {
  const { engine, run, strokes } = make({ settings: { drop: { sounding: 2, silent: 1, from: 0 } } });
  await engine.start();
  run(20);
  const turns = new Set(strokes().map((one) => Math.floor(one.pos + 1e-9)));
  assert.deepEqual([...turns], [0, 1, 3, 4, 6]);
});

test("a loop plays the strokes of its slice alone, round and round", async () => {
  const { engine, run, strokes } = make({ settings: { loop: { start: 7, stop: 21 } } });
  await engine.start();
  run(5);
  const t0 = Math.min(...strokes("lane").map((one) => one.when)); // the four's second stroke, where the slice begins
  const round = [1, 5, 9, 13].map((ticks) => ["0", ticks]).concat([0, 7].map((ticks) => ["1", ticks]));
  const meantWhens = [0, 14].flatMap((turn) => round.map(([lane, at]) => [lane, at + turn])).map(String).sort();
  const got = strokes("lane")
    .map((one) => [String(one.index), Math.round(((one.when - t0) / cycleS) * 28)])
    .filter(([, ticks]) => ticks < 28);
  assert.deepEqual(got.map(String).sort(), meantWhens);
});

test("a count-in comes first, in beats of home, and once", async () => {
  const { engine, run, strokes } = make();
  await engine.start({ countIn: 4 });
  run(9);
  const clicks = strokes("count").map((one) => one.when);
  const first = strokes("lane")[0].when;
  assert.equal(clicks.length, 4);
  clicks.forEach((when, i) => near(when, first - ((4 - i) * 60) / 72));
});

test("grid ticks can be added while it sounds, and voices swapped, and the strokes stay where they are", async () => {
  const { engine, run, strokes } = make();
  await engine.start();
  run(3);
  engine.set("grid", true);
  engine.set("sounds", "swapped");
  run(7);
  const got = strokes("lane").filter((one) => one.index === 0).map((one) => one.pos);
  got.forEach((pos, i) => near(pos, i / 7));
  const ticks = strokes("grid").map((one) => one.pos * 28);
  ticks.slice(1).forEach((tick, i) => near(tick - ticks[i], 1, 1e-6));
});

test("in a hidden tab, where timers come once a second, nothing is lost", async () => {
  const { engine, run, state, hide } = make();
  await engine.start();
  state.hidden = true;
  hide();
  run(20, 1);
  state.hidden = false;
  run(2);
  engine.stop();
  assert.equal(engine.report().late + engine.report().dropped, 0);
});

test("a view that is not seen any more stops the sound", async () => {
  const { engine, run, state, strokes } = make();
  await engine.start();
  run(2);
  state.seen = false;
  run(0.1);
  assert.equal(engine.playing(), false);
  assert.ok(strokes().every((one) => one.when < 2.1 + 0.05 + AHEAD));
});

test("a browser that holds the sound back is told, and nothing plays", async () => {
  const { engine, told, context } = make();
  context.state = "suspended";
  await engine.start();
  assert.equal(engine.playing(), false);
  assert.match(told.at(-1), /press Start again/);
});

test("a sound card that wakes slowly is waited for once the page was pressed: a busy machine is no browser that refuses", async () => {
  for (const [pressed, plays] of [[true, true], [false, false]]) {
    const made = make({ pressed });
    let wake = null;
    made.context.state = "suspended";
    made.context.resume = () => new Promise((done) => (wake = done));
    const start = made.engine.start();
    made.pass(4000);
    made.context.state = pressed ? "running" : "suspended";
    if (pressed) wake();
    assert.equal(await start, plays);
    assert.equal(made.told.some((text) => /press Start again/.test(text)), !plays);
  }
  const made = make({ pressed: true });
  made.context.state = "suspended";
  made.context.resume = () => new Promise(() => {});
  const start = made.engine.start();
  made.pass(5000);
  assert.equal(await start, false);
  assert.match(made.told.at(-1), /press Start again/);
});

test("other numbers while it sounds begin at once, in whole", async () => {
  const { engine, run, strokes, state } = make();
  await engine.start();
  run(3);
  const lanes = [
    { name: "3", sound: "a", onsets: [0, 2, 4], accents: [], ghosts: [] },
    { name: "2", sound: "b", onsets: [0, 3], accents: [], ghosts: [] },
  ];
  state.plan = { ...SEVEN_FOUR, ticks: 6, lanes, homes: [[0, 2, 4], [0, 3]], bpms: [90, 60], cycle_s: 2 };
  engine.replan(false);
  run(5);
  const after = strokes("lane").filter((one) => one.when > 3.06 - 1e-9);
  const t0 = after[0].when;
  near(t0, 3.06, 1e-6);
  const threes = after.filter((one) => one.index === 0).map((one) => one.when);
  threes.forEach((when, i) => near(when, t0 + (2 * i) / 3));
});

/** Has the sound card write down what it is told: where each node leads, what its knobs were set to, and when. */
function wired(context) {
  const knob = (first) => {
    const told = [];
    let value = first;
    const write = (name) => (to, ...when) => {
      told.push([name, to, ...when]);
      value = to;
    };
    return {
      told,
      get value() { return value; },
      set value(to) { write("now")(to); },
      setTargetAtTime: write("target"),
      setValueAtTime: write("at"),
      linearRampToValueAtTime: write("ramp"),
      cancelScheduledValues() {},
    };
  };
  const node = (kind, more = {}) => {
    const one = { kind, to: null, disconnect: () => (one.to = null), ...more, connect: (next) => (one.to = next) };
    return one;
  };
  Object.defineProperty(context, "createGain", { value: () => {
    const one = node("gain");
    one.gain = knob(1);
    return one;
  } });
  context.createStereoPanner = () => Object.assign(node("side"), { pan: knob(0) });
  context.createWaveShaper = () => node("limiter");
  context.createBuffer = (channels, length, rate) => ({ channels, length, rate, copyToChannel(samples) { this.samples = samples; } });
  context.createBufferSource = () => {
    const source = node("source", { stopped: false });
    source.start = (when) => {
      source.when = when;
      context.started.push({ when, source });
    };
    source.stop = (when) => {
      source.ends = when;
      if (when === undefined || when < source.when) source.stopped = true;
    };
    return source;
  };
}

/** All nodes from a source to the loudspeaker. */
function wayOf(source) {
  const way = [source];
  while (way.at(-1).to) way.push(way.at(-1).to);
  return way;
}

/** An engine whose sound card writes down what it is told; `tools` replaces some of the browser's. */
function heard(more, plan = SEVEN_FOUR, tools = {}) {
  const made = fakeEngine((source, settings, lent) => makeEngine(source, settings, Object.assign(lent, tools)), firstSettings, plan, more);
  wired(made.context);
  return made;
}

/** The level and the side that a lane sounds with, and the volume behind them. */
function knobsOf(made, lane) {
  const way = wayOf(made.strokes("lane").findLast((one) => one.index === lane).source);
  const at = way.findIndex((one) => one.kind === "side");
  const volume = way.at(-2).gain;
  return { level: way[at - 1].gain, side: way[at].pan, volume, way };
}

const ONE_MORE = {
  ...SEVEN_FOUR,
  lanes: [...SEVEN_FOUR.lanes, { name: "2", sound: "a", onsets: [0, 14], accents: [], ghosts: [] }],
  homes: [...SEVEN_FOUR.homes, [0, 14]],
  bpms: [126, 72, 36],
};
const THREE_TWO = {
  ...SEVEN_FOUR,
  ticks: 6,
  lanes: [
    { name: "3", sound: "a", onsets: [0, 2, 4], accents: [], ghosts: [] },
    { name: "2", sound: "b", onsets: [0, 3], accents: [], ghosts: [] },
  ],
  homes: [[0, 2, 4], [0, 3]],
  bpms: [90, 60],
  cycle_s: 2,
};

test("a stroke goes through its lane's level and side, the limiter and the volume, to the loudspeaker", async () => {
  const made = heard();
  await made.engine.start();
  made.run(1);
  for (const lane of [0, 1]) {
    const { level, side, way } = knobsOf(made, lane);
    assert.deepEqual(way.map((one) => one.kind), ["source", "gain", "gain", "side", "gain", "gain", "limiter", "gain", undefined]);
    assert.equal(way.at(-1), made.context.destination);
    assert.deepEqual([level.value, side.value], [0.6, [-0.35, 0.35][lane]]);
    assert.equal(way[5].gain.value, 1 / 4); // the curve of the limiter spans -4 to 4
    assert.ok(way[6].curve.length > 1000);
  }
});

test("the first beat of home is louder in every cycle, and so is the first click of a count-in", async () => {
  const made = heard();
  await made.engine.start({ countIn: 4 });
  made.run(12);
  const loud = (one) => Math.max(...one.source.buffer.samples) > 1.3 * softest;
  const softest = Math.min(...made.strokes("home").map((one) => Math.max(...one.source.buffer.samples)));
  assert.deepEqual(made.strokes("count").map(loud), [true, false, false, false]);
  assert.deepEqual(made.strokes("home").slice(0, 9).map(loud), [0, 1, 2, 3, 4, 5, 6, 7, 8].map((i) => i % 4 === 0));
});

test("feet on the bass drum that play every beat are the home beat, and where they play others it is a click", async () => {
  const feet = (onsets) => ({ ...SEVEN_FOUR, lanes: [SEVEN_FOUR.lanes[0], { name: "feet", sound: "bass drum", onsets, accents: [], ghosts: [] }] });
  const homes = async (onsets, quiet = []) => {
    const made = heard({}, feet(onsets));
    made.settings.quiet = quiet;
    await made.engine.start();
    made.run(8);
    return made.strokes("home");
  };
  assert.equal((await homes([0, 7, 14, 21])).length, 0);
  assert.ok((await homes([0, 7, 14])).length > 4);
  assert.ok((await homes([0, 7, 14, 21], [1])).length > 4); // whoever plays the feet hears the beat
});

test("feet that are muted give the beat back at its next stroke, and take it again, each beat once", async () => {
  const feet = { name: "feet", sound: "bass drum", onsets: [0, 7, 14, 21], accents: [], ghosts: [] };
  for (let moment = 2; moment < 6; moment += 0.13) {
    const made = heard({}, { ...SEVEN_FOUR, lanes: [SEVEN_FOUR.lanes[0], feet] });
    await made.engine.start();
    made.run(moment);
    const mute = (on) => made.engine.set("lanes", made.settings.lanes.map((one, i) => ({ ...one, mute: i === 1 && on })));
    const sounds = () => made.strokes("home").filter((one) => one.source.ends === undefined || one.source.ends > one.when).map((one) => one.when);
    const beats = (from, until) => made.strokes("lane").filter((one) => one.index === 1).map((one) => one.when).filter((when) => when > from && when < until);
    assert.deepEqual(sounds(), []);
    mute(true);
    const muted = made.context.currentTime;
    made.run(3);
    mute(false);
    const back = made.context.currentTime;
    made.run(3);
    assert.deepEqual(sounds(), beats(muted + 0.065, back + 0.065), `muted at ${muted}`);
  }
});

test("a stroke that still rings ends where the next of its lane begins, and one that has ended is left alone", async () => {
  const voices = () => ({ bell: new DataView(Int16Array.from({ length: 4800 }, (_, i) => 900 * Math.sin(i)).buffer) });
  const made = heard();
  const desk = makeDesk(made.context, voices, 48000);
  const [one, two, far] = [1, 1.05, 3].map((when) => desk.play("lane0", "bell", when));
  desk.damp(one, two);
  desk.damp(two, far);
  assert.ok(Math.abs(one.source.ends - 1.052) < 1e-9);
  assert.deepEqual(one.gain.gain.told.map(([name, to]) => [name, to]), [["at", 1], ["ramp", 0]]);
  assert.equal(two.source.ends, undefined);
});

test("level, side, volume and home beat follow at once while it sounds", async () => {
  const made = heard();
  await made.engine.start();
  made.run(1);
  const lanes = made.settings.lanes.slice();
  lanes[1] = { ...lanes[1], level: 0.3, side: 0.8 };
  made.engine.set("lanes", lanes);
  const { level, side, volume } = knobsOf(made, 1);
  assert.deepEqual([level.value, side.value], [0.3, 0.8]);
  made.engine.set("volume", 0.5);
  assert.equal(volume.value, 0.5);
  const home = wayOf(made.strokes("home").at(-1).source).at(-7).gain;
  assert.equal(home.value, 0.45);
  made.engine.set("home", { on: false, level: 0.45 });
  assert.equal(home.value, 0);
  made.engine.set("home", { on: true, level: 0.2 });
  assert.equal(home.value, 0.2);
});

test("what the player plays keeps quiet from the start", async () => {
  const made = heard({ settings: { quiet: [1] } });
  await made.engine.start();
  made.run(1);
  assert.deepEqual([knobsOf(made, 0).level.value, knobsOf(made, 1).level.value], [0.6, 0]);
});

test("the sound rises from nothing to the volume, fades when it stops, and nothing laid ahead sounds after that", async () => {
  const made = heard({ settings: { volume: 0.3 } });
  await made.engine.start();
  const { volume } = knobsOf(made, 0);
  assert.deepEqual(volume.told, [["at", 0, 0], ["ramp", 0.3, 0.4]]);
  made.run(3.2);
  made.engine.stop();
  const now = made.context.currentTime;
  assert.deepEqual(volume.told.at(-1).slice(0, 3), ["target", 0, now]);
  const ahead = made.strokes().filter((one) => one.when > now + 0.05);
  assert.deepEqual(ahead, []); // each was taken back
  assert.ok(made.context.started.some((one) => one.when > now + 0.05)); // and there were some
});

test("other stages are stopped before ours begins, so that it does not stop itself", async () => {
  let others = 0;
  const made = heard({}, SEVEN_FOUR, { sounding: () => {
    others += 1;
    made.engine.stop(); // as the page does for every stage that hears of it
  } });
  await made.engine.start();
  assert.equal(others, 1);
  assert.equal(made.engine.playing(), true);
});

test("a sound card that is asleep is waited for; a stop meanwhile counts, and two presses start it once", async () => {
  const asleep = () => {
    const made = heard();
    made.context.state = "suspended";
    made.context.resume = async () => {
      await null;
      made.context.state = "running";
    };
    return made;
  };
  const wakes = asleep();
  assert.equal(await wakes.engine.start(), true);
  const stopped = asleep();
  const start = stopped.engine.start();
  stopped.engine.stop();
  assert.equal(await start, false);
  assert.equal(stopped.engine.playing(), false);
  const twice = asleep();
  const answers = await Promise.all([twice.engine.start(), twice.engine.start()]);
  assert.deepEqual(answers.filter(Boolean), [true]);
  assert.equal(await twice.engine.start(), false);
  twice.run(3);
  const whens = twice.strokes("lane").map((one) => `${one.index} ${one.when}`);
  assert.equal(new Set(whens).size, whens.length);
});

test("wherever in the beat a flip is pressed, each home sounds its own beats, each once, none late", async () => {
  for (let press = 5; press < 5.9; press += 0.045) {
    const made = heard();
    await made.engine.start();
    made.run(press);
    const pressed = made.context.currentTime;
    made.engine.flip(0);
    made.run(4);
    made.engine.stop();
    const t0 = meant(1, made.strokes("lane")[0].when, 1)[0];
    const first = meant(0, t0, 4).find((when) => when > pressed + 0.04);
    const want = [...meant(1, t0, 4).filter((when) => when < first - 1e-9), ...meant(0, t0, 4).filter((when) => when > first - 1e-9)];
    const got = made.strokes("home").map((one) => one.when).sort((one, two) => one - two);
    got.forEach((when, i) => near(when, want[i]));
    assert.equal(made.engine.report().late + made.engine.report().dropped, 0);
  }
});

test("a second flip before the first is heard brings home back, and the first is not asked for again", async () => {
  const made = heard();
  const move = made.source.setHome;
  made.source.setHome = (home) => {
    move(home);
    made.engine.homeMoved(home); // as the model tells everybody
  };
  await made.engine.start();
  made.run(5.2);
  made.engine.flip(0);
  made.run(0.025);
  made.engine.flip(1);
  made.run(4);
  assert.equal(made.state.home, 1);
  assert.equal(made.engine.now().home, 1);
});

test("home that a control moves is followed at the next beat, once, and when silent nothing sounds", async () => {
  const made = heard();
  made.engine.flip(0);
  assert.equal(made.state.home, 0);
  made.engine.homeMoved(0);
  assert.equal(made.engine.playing(), false);
  await made.engine.start();
  made.run(5.2);
  made.state.home = 1;
  made.engine.homeMoved(1);
  made.run(0.5);
  const first = made.strokes("home").find((one) => one.index === 1).when;
  made.run(first - 0.02 - made.context.currentTime);
  made.engine.homeMoved(1); // told again, too late for its beat
  made.run(1);
  assert.equal(made.strokes("home").find((one) => one.index === 1).when, first);
});

test("a loop chosen while it sounds begins at once with its first tick, and home stays", async () => {
  const made = heard();
  await made.engine.start();
  made.run(4);
  made.engine.flip(0);
  made.run(3);
  const chosen = made.context.currentTime;
  made.engine.set("loop", { start: 7, stop: 21 });
  made.run(5);
  const after = made.strokes().filter((one) => one.when > chosen + 0.06 - 1e-9);
  const t0 = chosen + 0.06;
  const tick = (one) => Math.round(((one.when - t0) / cycleS) * 28);
  const round = (ticks) => [0, 1, 2].flatMap((turn) => ticks.map((at) => at + 14 * turn));
  const ticksOf = (kind, index) => after.filter((one) => one.kind === kind && one.index === index).map(tick);
  assert.deepEqual(ticksOf("lane", 0).slice(0, 10), round([1, 5, 9, 13]).slice(0, 10));
  assert.deepEqual(ticksOf("lane", 1).slice(0, 5), round([0, 7]).slice(0, 5));
  assert.deepEqual([ticksOf("home", 0).slice(0, 4), ticksOf("home", 1)], [[1, 5, 9, 13], []]);
  const now = made.engine.now();
  near(now.tick, 7 + ((((made.context.currentTime - t0) / cycleS) * 28) % 14), 0.05);
  made.engine.set("loop", null);
  made.run(0.1);
  assert.ok(made.engine.now().tick < 1);
});

test("other numbers forget the loop, give new lanes their level, and keep home where there are so many", async () => {
  const made = heard({ settings: { loop: { start: 0, stop: 4 } }, home: 2 }, ONE_MORE);
  await made.engine.start();
  made.run(3);
  made.state.plan = THREE_TWO;
  made.engine.replan(false);
  assert.equal(made.settings.loop, null);
  made.run(3);
  const beats = made.strokes("home").filter((one) => one.when > 3.05);
  assert.ok(beats.length > 0 && beats.every((one) => one.index === 1));
  made.state.plan = ONE_MORE;
  made.engine.replan(false);
  const grown = heard();
  await grown.engine.start();
  grown.run(1);
  grown.state.plan = ONE_MORE;
  grown.engine.replan(false);
  grown.run(1);
  assert.equal(knobsOf(grown, 2).level.value, 0.6);
});

test("drop-out and rise are counted from the cycle that they are asked for in, and anew from every start", async () => {
  const turns = (made, from = 0) => [...new Set(made.strokes("lane").filter((one) => one.when > from).map((one) => Math.floor(one.pos + 1e-9)))];
  const made = heard();
  await made.engine.start();
  made.run(cycleS * 3 + 1);
  made.engine.set("drop", { sounding: 2, silent: 1, from: 0 });
  made.engine.set("rise", { by: 8, every: 2, from: 0 });
  assert.deepEqual([made.settings.drop.from, made.settings.rise.from], [3, 3]);
  made.run(cycleS * 5);
  assert.deepEqual(turns(made).slice(0, 7), [0, 1, 2, 3, 4, 6, 7]);
  made.engine.stop();
  const again = made.context.currentTime;
  await made.engine.start();
  made.run(cycleS * 4.5);
  assert.deepEqual(turns(made, again).slice(0, 4), [0, 1, 3, 4]);
  const fours = made.strokes("lane").filter((one) => one.index === 1 && one.when > again).map((one) => one.when);
  near(fours[8] - fours[7], (fours[1] - fours[0]) * 5, 1); // over the silent cycle
  near(fours[9] - fours[8], 60 / 80); // risen after two cycles of this start
});

test("a loop counts drop-out, rise and home on call by its own rounds", async () => {
  const made = heard();
  await made.engine.start();
  made.run(cycleS * 3 + 1);
  made.engine.set("drop", { sounding: 2, silent: 1, from: 0 });
  made.engine.set("flipEvery", 2);
  const chosen = made.context.currentTime + 0.06 - 1e-9;
  made.engine.set("loop", { start: 0, stop: 14 });
  made.run((cycleS / 2) * 7);
  const after = made.strokes().filter((one) => one.when > chosen);
  const rounds = [...new Set(after.filter((one) => one.kind === "lane").map((one) => Math.floor(one.pos + 1e-9)))];
  assert.deepEqual(rounds.slice(0, 4), [0, 1, 3, 4]);
  for (const one of after.filter((two) => two.kind === "home")) assert.equal(one.index, Math.floor(one.pos / 2 + 1e-9) % 2 === 0 ? 1 : 0);
});

test("another setting while the tempo has risen, or just before home flips on call, changes neither", async () => {
  const made = heard({ settings: { rise: { by: 8, every: 1, from: 0 }, flipEvery: 1 } });
  await made.engine.start();
  const until = (pos) => {
    while (made.engine.now().pos < pos) made.run(0.025);
  };
  until(2.95); // the flip at 3 is laid
  made.engine.set("grid", true);
  until(3.5);
  near(made.engine.now().speed, 1 + (3 * 8) / 72);
  made.engine.set("grid", false);
  made.run(0.2);
  near(made.engine.now().speed, 1 + (3 * 8) / 72);
  until(4.5);
  near(made.engine.now().speed, 1 + (4 * 8) / 72);
  for (const one of made.strokes("home")) assert.equal(one.index, 1 - (Math.floor(one.pos + 1e-9) % 2));
});

test("a count-in before a loop has all its clicks, a beat apart, up to the first stroke", async () => {
  const made = heard({ settings: { loop: { start: 7, stop: 21 } } });
  await made.engine.start({ countIn: 4 });
  made.run(6);
  const first = made.strokes("lane").reduce((least, one) => Math.min(least, one.when), Infinity);
  const clicks = made.strokes("count").map((one) => one.when);
  assert.equal(clicks.length, 4);
  clicks.forEach((when, i) => near(when, first - ((4 - i) * 60) / 72));
  assert.equal(made.engine.report().dropped, 0);
});

test("another tempo in the count-in: the clicks that are left and the first stroke follow in the new one", async () => {
  const made = heard();
  await made.engine.start({ countIn: 4 });
  made.run(1.5); // two clicks at 72 have sounded, the third is at 0.12 + 10 / 6
  made.state.plan = { ...SEVEN_FOUR, cycle_s: 2, bpms: [210, 120] };
  made.engine.replan(true);
  made.run(5);
  const clicks = made.strokes("count").map((one) => one.when);
  const fours = made.strokes("lane").filter((one) => one.index === 1).map((one) => one.when);
  assert.equal(clicks.length, 4);
  near(clicks[3] - clicks[2], 0.5);
  near(fours[0] - clicks[3], 0.5);
  near(fours[1] - fours[0], 0.5);
  assert.ok(clicks[2] > 1.56 && clicks[2] - clicks[1] < 60 / 72);
});

test("a stroke that is a little late sounds at once and is counted as late", async () => {
  const made = heard();
  await made.engine.start();
  made.run(3);
  const next = made.strokes("lane").reduce((last, one) => Math.max(last, one.pos), 0);
  const due = made.engine.timeline().timeOf(Math.ceil((next + 1e-9) * 28) / 28);
  const stroke = meant(0, made.engine.timeline().timeOf(0), 4).concat(meant(1, made.engine.timeline().timeOf(0), 4)).sort((a, b) => a - b).find((when) => when > due - 1e-9);
  const block = stroke + 0.01 - made.context.currentTime;
  made.run(block, block);
  const late = made.strokes("lane").find((one) => Math.abs(one.when - stroke) < 1e-9);
  assert.ok(made.engine.report().late > 0);
  assert.ok(late.source.when >= stroke + 0.01 - 1e-4);
});

test("what is shown is what is heard, also where the sound comes out late", async () => {
  const made = heard();
  made.context.getOutputTimestamp = () => ({ contextTime: made.context.currentTime - 0.2, performanceTime: made.context.currentTime * 1000 });
  await made.engine.start();
  made.run(4);
  near(made.engine.now().pos, (4 - 0.2 - made.engine.timeline().timeOf(0)) / cycleS);
});

test("half the speed is said as half", async () => {
  const made = heard({ settings: { slow: 50 } });
  await made.engine.start();
  made.run(1);
  near(made.engine.now().speed, 0.5);
});

test("a stage that is closed stops, lets its sound card go, and hears of hidden tabs no more", async () => {
  let listening = true;
  const made = heard({}, SEVEN_FOUR, { whenHidden: () => () => (listening = false) });
  await made.engine.start();
  assert.equal(listening, true);
  made.engine.dispose();
  assert.equal(made.engine.playing(), false);
  assert.equal(listening, false);
  made.pass(1000);
  assert.equal(made.context.state, "closed");
});

test("another rhythm that comes with another home begins with that home", async () => {
  const one = { ...SEVEN_FOUR, homes: [[0, 7, 14, 21]], lanes: SEVEN_FOUR.lanes.slice(0, 1), bpms: [72] };
  const made = fakeEngine(makeEngine, firstSettings, one);
  await made.engine.start();
  made.run(1);
  made.state.plan = SEVEN_FOUR; // Python shows a pair whose home is its second pulse
  made.state.home = 1;
  made.engine.replan(false);
  made.run(1);
  assert.equal(made.engine.now().home, 1);
  assert.equal(made.state.home, 1);
});

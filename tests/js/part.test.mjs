// A part of the cycle, the stroke it lands on, and rest until the cycle is over; and what a take came to.
import assert from "node:assert/strict";
import { test } from "node:test";
import { makeEngine } from "../../rhythmlab/panels/stage/engine.mjs";
import { firstSettings } from "../../rhythmlab/panels/stage/settings.mjs";
import { atTempo, isOn } from "../../rhythmlab/panels/stage/answer.mjs";
import { practiseAs } from "../../rhythmlab/panels/stage/practise.mjs";
import { nowSaid } from "../../rhythmlab/panels/stage/soundbar.mjs";
import { SEVEN_FOUR, fakeEngine } from "./fakes.mjs";

const gcd = (a, b) => (b ? gcd(b, a % b) : a);

/** The plan of a pair, a cycle in two seconds. */
function planOf(p, q) {
  const ticks = (p * q) / gcd(p, q);
  const every = (n) => Array.from({ length: n }, (_, i) => (i * ticks) / n);
  const lane = (n, sound) => ({ name: String(n), sound, onsets: every(n), accents: [], ghosts: [] });
  return { ticks, lanes: [lane(p, "a"), lane(q, "b")], homes: [every(p), every(q)], bpms: [30 * p, 30 * q], cycle_s: 2, loops: [], rate: 48000, turn: 0 };
}

/** Where strokes of a kind came, as [row, turn, tick], in order. */
function cameOf(strokes, kind, ticks) {
  return strokes(kind)
    .map(({ index, pos }) => [index, Math.floor(pos + 1e-9), Math.round((pos - Math.floor(pos + 1e-9)) * ticks)])
    .sort((a, b) => a[1] - b[1] || a[2] - b[2] || a[0] - b[0]);
}

for (const [p, q] of [[3, 2], [4, 3], [7, 4], [5, 5], [6, 4], [16, 15]]) {
  for (const home of [0, 1]) {
    test(`of ${p}:${q}, home ${home}, each part sounds with its landing and no other stroke, and home goes on`, async () => {
      const plan = planOf(p, q);
      const beats = [...plan.homes[home], plan.ticks];
      for (const [first, last] of [[0, 1], [1, 2], [beats.length - 2, beats.length - 1], [0, beats.length - 2]]) {
        const part = { start: beats[first], stop: beats[last] };
        if (!(part.start < part.stop) || part.stop - part.start === plan.ticks) continue;
        const { engine, run, strokes } = fakeEngine(makeEngine, firstSettings, plan, { home, settings: { part } });
        await engine.start({ countIn: 2 });
        run(2 * 3 + 2);
        engine.stop();
        const came = cameOf(strokes, "lane", plan.ticks).filter(([, turn]) => turn < 3);
        const meant = [];
        for (let turn = 0; turn < 3; turn += 1) {
          plan.lanes.forEach(({ onsets }, index) => onsets.forEach((tick) => {
            const landing = part.stop === plan.ticks ? tick === 0 && turn > 0 : tick === part.stop;
            if ((tick >= part.start && tick < part.stop) || landing) meant.push([index, turn, tick]);
          }));
        }
        assert.deepEqual(came, meant.sort((a, b) => a[1] - b[1] || a[2] - b[2] || a[0] - b[0]), JSON.stringify(part));
        const ofHome = cameOf(strokes, "home", plan.ticks).filter(([, turn]) => turn < 3);
        assert.equal(ofHome.length, 3 * plan.homes[home].length, "every beat of home, in the rest too");
        assert.equal(strokes("count").length, 2);
        const [from] = strokes("count"), second = strokes("lane").find(({ pos }) => pos > 1 - 1e-9 && pos < 2);
        assert.ok(second.when > from.when, "in time");
        const each = strokes("lane").map(({ when, pos }) => when - 2 * pos);
        assert.ok(Math.max(...each) - Math.min(...each) < 1e-9, "each stroke where it is in the whole cycle");
      }
    });
  }
}

test("a part that is set or left while it sounds holds from there on, another rhythm has none, and a rest is said", async () => {
  const { engine, run, strokes, state } = fakeEngine(makeEngine, firstSettings, SEVEN_FOUR);
  await engine.start({ countIn: 0 });
  run(1);
  engine.set("part", { start: 7, stop: 14 });
  run(9);
  const later = cameOf(strokes, "lane", 28).filter(([, turn]) => turn === 2);
  assert.deepEqual(later, [[1, 2, 7], [0, 2, 8], [0, 2, 12], [1, 2, 14]]);
  let said = "";
  for (let i = 0; i < 40 && !said.includes("rest it out"); i += 1) {
    run(0.1);
    said = nowSaid(engine.now(), 72);
  }
  assert.match(said, /rest it out/);
  engine.set("part", null);
  run(8);
  assert.equal(cameOf(strokes, "lane", 28).filter(([, turn]) => turn === 4).length, 11);
  engine.set("part", { start: 7, stop: 14 });
  state.plan = planOf(4, 3);
  engine.replan(false);
  assert.equal(engine.settings.part, null);
  engine.stop();
});

test("a plan at another tempo has its strokes, its exact tempo, and each pulse as much slower", () => {
  const plan = atTempo(SEVEN_FOUR, { cycle_s: 40 / 9, bpm: "54", pulse: 1 });
  assert.deepEqual([plan.lanes, plan.homes, plan.ticks], [SEVEN_FOUR.lanes, SEVEN_FOUR.homes, 28]);
  assert.deepEqual([plan.bpm, plan.pulse, plan.cycle_s], ["54", 1, 40 / 9]);
  assert.ok(Math.abs(plan.bpms[0] - 94.5) < 1e-9 && Math.abs(plan.bpms[1] - 54) < 1e-9);
});

test("the step that is on is the part that is set, and no other", () => {
  const next = { kind: "part", start: 7, stop: 21 };
  assert.ok(isOn(next, { part: { start: 7, stop: 21 } }));
  assert.ok(!isOn(next, { part: { start: 7, stop: 14 } }) && !isOn(next, { part: null }));
  assert.ok(!isOn({ ...next, kind: "whole" }, { part: { start: 7, stop: 21 } }));
});

test("a button of Python's loops and slows, and the whole cycle as written ends both and a part", () => {
  const { engine } = fakeEngine(makeEngine, firstSettings, planOf(7, 4), { settings: { part: { start: 0, stop: 7 } } });
  practiseAs(engine, { loop: [7, 21], percent: 70 });
  assert.deepEqual([engine.settings.loop, engine.settings.slow, engine.settings.part], [{ start: 7, stop: 21 }, 70, null]);
  practiseAs(engine, { loop: [], percent: 100 });
  assert.deepEqual([engine.settings.loop, engine.settings.slow], [null, 100]);
});

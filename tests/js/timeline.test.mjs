import assert from "node:assert/strict";
import { test } from "node:test";
import { makeTimeline, turnSeconds } from "../../rhythmlab/panels/stage/timeline.mjs";

test("time and place are each other's inverse, also over changes of tempo", () => {
  const line = makeTimeline(10, 2);
  line.change(3, 1);
  line.change(4.5, 5);
  for (const pos of [-1, 0, 1.25, 3, 3.9, 4.5, 7]) assert.ok(Math.abs(line.posAt(line.timeOf(pos)) - pos) < 1e-12);
  assert.equal(line.timeOf(3), 16);
  assert.equal(line.timeOf(4.5), 17.5);
  assert.equal(line.timeOf(5.5), 22.5);
});

test("a change takes the place of those after it, and moves no earlier time", () => {
  const line = makeTimeline(0, 2);
  line.change(4, 1);
  line.change(2, 3);
  assert.equal(line.timeOf(2), 4);
  assert.equal(line.timeOf(5), 13);
});

test("a change during the count-in keeps the place", () => {
  const line = makeTimeline(10, 2);
  line.change(-0.5, 4);
  assert.equal(line.timeOf(-0.5), 9);
  assert.equal(line.timeOf(0), 11);
});

test("after a million turns a time is still exact to a millionth of a second", () => {
  const line = makeTimeline(0.125, 10 / 3);
  assert.ok(Math.abs(line.timeOf(3_000_000) - 10_000_000.125) < 1e-6);
});

test("a slice takes its share of the cycle, and half the speed twice the time", () => {
  const plan = { ticks: 28, cycle_s: 14 };
  assert.equal(turnSeconds(plan, { start: 7, stop: 21 }, 1), 7);
  assert.equal(turnSeconds(plan, { start: 0, stop: 28 }, 0.5), 28);
});

test("a turn keeps the seconds it had when the tempo changes later, and has the new ones from there on", () => {
  const line = makeTimeline(10, 2);
  line.change(3, 1);
  assert.deepEqual([-1, 0, 2.9, 3, 8].map(line.turnSAt), [2, 2, 2, 1, 1]);
});

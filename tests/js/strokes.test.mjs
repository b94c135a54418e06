// The table of strokes: every stroke once, where it is, and what plays it.
import assert from "node:assert/strict";
import { test } from "node:test";
import { strokesOf } from "../../rhythmlab/panels/stage/strokes.mjs";

const common = (a, b) => (b ? common(b, a % b) : a);
const every = (ticks, many) => Array.from({ length: many }, (_, i) => (i * ticks) / many);
function pair(p, q) {
  const ticks = (p * q) / common(p, q);
  const homes = [every(ticks, p), every(ticks, q)];
  return { ticks, pulses: [p, q], homes, pads: [], cycle: null, lanes: homes.map((onsets, i) => ({ onsets, said: `the ${[p, q][i]}` })) };
}

test("of every pair, from either home, the rows are the sounds, and beat and part of it say the tick", () => {
  for (let p = 1; p <= 12; p += 1) {
    for (let q = 1; q <= 12; q += 1) {
      const plan = pair(p, q);
      for (const home of [0, 1]) {
        const rows = strokesOf(plan, home);
        assert.equal(rows.length, p + q - common(p, q));
        const [beats, other] = [plan.pulses[home], plan.pulses[1 - home]];
        const parts = other / common(other, beats);
        for (const { tick, row: [beat, part, who] } of rows) {
          const [nth, of] = part === "on the beat" ? [1, parts] : part.split(" of ").map(Number);
          assert.equal(of, parts);
          assert.equal(tick, ((Number(beat) - 1) * plan.ticks) / beats + ((nth - 1) * plan.ticks) / beats / of);
          const playing = [p, q].map((pulse, i) => (plan.homes[i].includes(tick) ? `the ${pulse}` : ""));
          assert.equal(who, [...new Set(playing.filter(Boolean))].join(" and "));
        }
      }
    }
  }
});

test("a hand is the one the player said, mirrored for a left-handed player, or the one of its pad and its letter", () => {
  const last = (...how) => strokesOf(pair(3, 2), 1, ...how).map(({ row }) => row[3]);
  assert.deepEqual(last("hands"), ["right hand and left hand", "right hand", "left hand", "right hand"]);
  assert.deepEqual(last("hands", true), last("hands swapped"));
  assert.deepEqual(last("hand and foot", true), last("hand and foot"));
  const lanes = [{ name: "fill", onsets: [0, 1, 2, 3], hands: "RLRR" }, { name: "foot", onsets: [0], hands: "" }];
  const pads = [{ said: "right hand", rows: [[0, "R"]] }, { said: "left hand", rows: [[0, "L"]] }, { said: "left foot", rows: [[1, ""]] }];
  const groove = { ticks: 4, homes: [[0, 3]], lanes, pads, cycle: { lanes } };
  assert.deepEqual(strokesOf(groove, 0).map(({ row }) => row), [
    ["1", "on the beat", "fill and foot", "right hand and left foot"],
    ["1", "2 of 3", "fill", "left hand"],
    ["1", "3 of 3", "fill", "right hand"],
    ["2", "on the beat", "fill", "right hand"],
  ]);
});

test("a stroke before the first beat is in the last one of the cycle before, and without beats a tick is said", () => {
  const plan = { ticks: 8, homes: [[2, 6]], lanes: [{ name: "bell", onsets: [0, 6] }], pads: [] };
  assert.deepEqual(strokesOf(plan, 0).map(({ row }) => row.slice(0, 2)), [["2", "2 of 2"], ["2", "on the beat"]]);
  assert.deepEqual(strokesOf({ ...plan, homes: [[]] }, 0).map(({ row }) => row.slice(0, 2)), [["", "tick 0"], ["", "tick 6"]]);
});

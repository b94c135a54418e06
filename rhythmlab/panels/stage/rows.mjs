// Rows of strokes: each lane, each home's beats, the grid ticks and the count-in, as places in the turn.
import { STRENGTH, variantsOf } from "./struck.mjs";

/** Whole cycle, or the slice asked for where it lies inside. */
export function sliceOf(plan, slice) {
  const fits = slice && slice.start >= 0 && slice.start < slice.stop && slice.stop <= plan.ticks;
  return fits ? { start: slice.start, stop: slice.stop } : { start: 0, stop: plan.ticks };
}

/** The rows of a plan. `once` rows are played a single time, before turn 0. */
export function makeRows(plan, slice, { countIn = 0, home = 0, gridTicks = false, part = null } = {}) {
  const { start, stop } = slice;
  const rows = [];
  const add = (kind, index, ticks, weigh, more = {}) => {
    const inside = ticks.filter((tick) => tick >= start && tick < stop && (kind !== "lane" || inPart(part, tick, plan.ticks)));
    const row = { kind, index, ticks: inside, weights: inside.map(weigh), next: 0, once: false, ...more };
    if (inside.length || row.once) rows.push(row);
  };
  plan.lanes.forEach((lane, i) => {
    const [accents, ghosts] = [new Set(lane.accents), new Set(lane.ghosts)];
    const share = Math.sqrt(lane.power ?? 1);
    const strength = (tick) => (accents.has(tick) ? STRENGTH.accent : ghosts.has(tick) ? STRENGTH.ghost : STRENGTH.plain);
    add("lane", i, lane.onsets, (tick) => strength(tick) * share);
  });
  plan.homes.forEach((beats, i) => add("home", i, beats, (tick) => (tick === 0 ? STRENGTH.first : STRENGTH.plain)));
  if (gridTicks) add("grid", 0, Array.from({ length: stop - start }, (_, i) => start + i), () => STRENGTH.plain);
  if (countIn > 0) {
    const beat = beatTicks(plan, slice, home);
    const ticks = Array.from({ length: countIn }, (_, j) => start - (countIn - j) * beat);
    const weights = ticks.map((_, j) => (j === 0 ? STRENGTH.first : STRENGTH.plain));
    rows.push({ kind: "count", index: 0, ticks, weights, next: 0, once: true });
  }
  return rows.map((row) => ({ ...row, variants: variantsOf(row.ticks.length), start, span: stop - start }));
}

/** Whether a tick of the cycle is in a part of it, or the stroke that the part lands on; without a part all are. */
export function inPart(part, tick, ticks) {
  return !part || (tick >= part.start && tick < part.stop) || tick === part.stop % ticks;
}

/** Whether a stroke is one that a part lands on before it was ever played: in the first turn, at its very start. */
export function isTooSoon(part, pos) {
  return Boolean(part) && part.start > 0 && pos < 1e-9;
}

/** Ticks of the beat that a slice begins with (or of the first one after its start). */
export function beatTicks(plan, slice, home) {
  const beats = plan.homes[home] || plan.homes[0] || [];
  if (!beats.length) return plan.ticks / (plan.lanes.at(-1)?.onsets.length || 1);
  const at = beats.findIndex((beat) => beat >= slice.start);
  const i = at < 0 ? 0 : at;
  return (beats[i + 1] ?? beats[0] + plan.ticks) - beats[i];
}

/** Whether every stroke of a row is one of some other rows, too. */
export function allPlayed(row, others) {
  const played = new Set(others.flatMap((other) => other.ticks));
  return row.ticks.every((tick) => played.has(tick));
}

/** Position of the n-th stroke of a row, in turns. */
export function positionOf(row, n) {
  const many = row.ticks.length;
  const turn = row.once ? 0 : Math.floor(n / many);
  const tick = row.ticks[row.once ? n : n - turn * many];
  return (turn * row.span + tick - row.start) / row.span;
}

/** Whether a row has an n-th stroke. */
export function hasStroke(row, n) {
  return row.once ? n < row.ticks.length : row.ticks.length > 0;
}

/** The first stroke of a row at or after a position; a hair before it counts as at it. */
export function firstFrom(row, pos) {
  const many = row.ticks.length;
  const from = row.once ? 0 : Math.max(0, Math.floor(pos)) * many;
  let n = from;
  while (hasStroke(row, n) && positionOf(row, n) < pos - 1e-9 && n < from + 2 * many) n += 1;
  return n;
}

/** The beat, from 1, that a tick belongs to; before the first beat it is the last one of the cycle before. */
export function beatOf(beats, tick) {
  const nth = beats.findLastIndex((beat) => beat <= tick + 1e-6);
  return nth < 0 ? beats.length : nth + 1;
}

/** Bar and beat of a tick in words, `of` how many too; with one bar, or none, the beat alone. A phrase counts groups. */
export function placeSaid(beats, bars, tick, of = false, counted = "beat") {
  if (!beats.length) return "";
  const all = (count) => (of ? ` of ${count}` : "");
  if (bars.length < 2) return `${counted} ${beatOf(beats, tick)}${all(beats.length)}`;
  const bar = Math.max(0, bars.findLastIndex((first) => first <= tick + 1e-6));
  const inBar = beats.filter((beat) => beat >= bars[bar] && beat <= tick + 1e-6).length;
  return `bar ${bar + 1}${all(bars.length)}, ${counted} ${Math.max(1, inBar)}`;
}

/** Whether two plans have the same strokes, so that going from one to the other is a change of tempo only. */
export function sameStrokes(one, two) {
  const strokes = (plan) => JSON.stringify([plan.ticks, plan.lanes, plan.homes]);
  return Boolean(one && two && one.lanes && two.lanes) && strokes(one) === strokes(two);
}

/** Whether two plans sound the same at the same tempo, whatever else they say. */
export function soundsAlike(one, two) {
  return sameStrokes(one, two) && Math.abs(two.cycle_s / one.cycle_s - 1) < 1e-6;
}

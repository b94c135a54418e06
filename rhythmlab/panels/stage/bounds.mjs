// What the sound card can lay: every plan is looked at before it sounds, whatever Python says.
import { sliceOf, beatTicks } from "./rows.mjs";
import { turnSeconds } from "./timeline.mjs";
import { speedAt } from "./settings.mjs";

/**
 * Most strokes a second; `MOST_A_SECOND` of sounding.py is the same number. Measured in headless Chromium on two busy
 * cores: 1,200 a second of the longest voice (0.31 s) without a gap in the sound, 1,600 with gaps; a third of that.
 */
export const MOST_A_SECOND = 400;
/** How many times as many there may be in the busiest second. */
export const BURST = 2;
/** Most strokes of a cycle, lanes, and beats of a count-in; above this many ticks there are no grid ticks. */
export const MOST_STROKES = 100_000;
export const MOST_LANES = 64;
export const MOST_COUNT_IN = 64;
const MOST_GRID = 4096;
const HAIR = 1e-9;

const number = (value) => String(Math.round(value)).replace(/\B(?=(\d{3})+$)/g, ",");
const some = (value) => Number.isFinite(value) && value > 0;
const asked = (what) => `The page asked for ${what}, which cannot be sounded: run the page again with other numbers.`;

/** What is wrong with a plan, whatever its tempo, in a sentence; "" when nothing is. */
export function faultOf(plan) {
  const { ticks, cycle_s: seconds, lanes, homes } = plan;
  if (!Number.isSafeInteger(ticks) || ticks < 1) return asked(`a cycle of ${ticks} ticks`);
  if (!some(seconds)) return asked(`a cycle of ${seconds} seconds`);
  if (![lanes, homes, plan.bpms].every(Array.isArray)) return asked("no strokes");
  if (Math.max(lanes.length, homes.length) > MOST_LANES) return asked(`${number(Math.max(lanes.length, homes.length))} pulses`);
  const rows = [...lanes.map((lane) => lane && lane.onsets), ...homes];
  const more = lanes.flatMap((lane) => (lane ? [lane.accents ?? [], lane.ghosts ?? []] : []));
  if (![...rows, ...more].every(Array.isArray)) return asked("no strokes");
  const loud = lanes.find((lane) => lane.power !== undefined && !(lane.power > 0 && lane.power <= 1));
  if (loud) return asked(`strokes of ${loud.power} times their power`);
  const many = rows.reduce((sum, row) => sum + row.length, 0);
  if (many === 0) return asked("no strokes");
  if (many > MOST_STROKES) return asked(`a cycle of ${number(many)} strokes (at most ${number(MOST_STROKES)})`);
  const bad = rows.some((row) => row.some((tick, i) => !(tick >= 0 && tick < ticks && (i === 0 || tick >= row[i - 1]))));
  return bad ? asked("strokes that are not in order in the cycle") : "";
}

/** Places of all that is laid in a turn, from 0 to 1, in order; of the homes the one with most beats. */
export function placesOf(plan, slice, { grid }) {
  const { start, stop } = slice;
  const inside = (ticks) => ticks.filter((tick) => tick >= start && tick < stop);
  const beats = plan.homes.map(inside).reduce((most, one) => (one.length > most.length ? one : most), []);
  const rows = [...plan.lanes.map((lane) => inside(lane.onsets)), beats];
  if (hasGrid(plan, grid)) rows.push(Array.from({ length: Math.ceil(stop - start) }, (_, i) => start + i));
  return Float64Array.from(rows.flat(), (tick) => (tick - start) / (stop - start)).sort();
}

/** Whether grid ticks sound: not in a cycle that has too many. */
export function hasGrid(plan, grid) {
  return Boolean(grid) && plan.ticks <= MOST_GRID;
}

/** Strokes in the busiest second, when a turn takes so many seconds. */
export function busiest(places, turnS) {
  const turns = 1 / turnS;
  const whole = Math.floor(turns + HAIR);
  const rest = turns - whole - HAIR;
  const many = places.length;
  let [most, last] = [0, 0];
  for (let i = 0; rest > 0 && i < many; i += 1) {
    last = Math.max(last, i);
    while (last < i + many && places[last % many] + Math.floor(last / many) < places[i] + rest) last += 1;
    most = Math.max(most, last - i);
  }
  return whole * many + most;
}

/** Strokes a second when a turn takes so many seconds: what has to be laid, or 0 where that can be. */
export function tooMany(places, turnS, most) {
  const rate = Math.max(1, places.length) / turnS; // a turn without a stroke is work too
  if (!(rate <= most * (1 + HAIR))) return rate || Infinity;
  const burst = busiest(places, turnS);
  return burst <= BURST * most ? 0 : burst;
}

/** Most strokes a second: what the plan says, and never more than can be laid. */
export function mostOf(plan) {
  return some(plan.most) ? Math.min(plan.most, MOST_A_SECOND) : MOST_A_SECOND;
}

/** Why a plan cannot be laid with these settings in a turn, in a sentence; "" when it can. */
export function refusal(plan, settings, { home = 0, turn = 0, countIn = 0 } = {}) {
  const fault = faultOf(plan);
  if (fault) return fault;
  if (!Number.isInteger(countIn) || countIn < 0 || countIn > MOST_COUNT_IN) {
    return `A count-in of ${countIn} beats cannot be sounded: it has 0 to ${MOST_COUNT_IN}, for example 4.`;
  }
  const slice = sliceOf(plan, settings.loop);
  const bpm = plan.bpms && some(plan.bpms[home]) ? plan.bpms[home] : 60;
  const speed = speedAt(settings, turn, bpm);
  const turnS = turnSeconds(plan, slice, speed);
  if (!some(speed) || !some(turnS)) return asked(`a speed of ${speed} times the tempo`);
  const ahead = (countIn * beatTicks(plan, slice, home) * turnS) / (slice.stop - slice.start);
  if (!Number.isFinite(ahead)) return asked(`a count-in of ${ahead} seconds`);
  const most = mostOf(plan);
  const found = tooMany(placesOf(plan, slice, settings), turnS, most);
  if (!found) return "";
  const bare = hasGrid(plan, settings.grid) && !tooMany(placesOf(plan, slice, { grid: false }), turnS, most);
  const what = `${number(found)} strokes a second are more than the sound card can lay (at most ${number(most)})`;
  return `${what}: ${bare ? "leave the grid ticks out, or " : ""}slow down${slower((bpm * speed * most) / found)}.`;
}

/** A tempo to type that is slow enough, where there is one that anybody would type. */
function slower(bpm) {
  const fits = Math.min(60, Math.floor(bpm * 0.9));
  return fits >= 1 ? `, for example to ${fits} bpm` : ", or take smaller numbers";
}

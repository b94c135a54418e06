// The gap cycle as a tide, as draw/gap_cycle.py draws it: home is the shore, gaps rise before the beat and fall after it.
import { divisor, midwayOf, numberSaid } from "./counting.mjs";
import { clearOf, everySoMany, numberedSaid } from "./drawing.mjs";
import { earMarks, seenAsGaps, slipOf, tideSaid, zonesOf } from "./gaps.mjs";
import { makePainter } from "./paint.mjs";
import { pulseSaid } from "./telling.mjs";

/** px of the gutters, rows of the shore, of the tallest tide, from a number to the one on the other line, and from a name to the next. */
const [GUTTERS, SHORE, TALL, TURN, ZONE_APART] = [{ left: 128, right: 104 }, 3.5, 3, 0.42, 0.42];

/** The zones, before the beat above the shore and after it below. */
function bandMarks({ even, flam, apart }, half) {
  const edges = [[0, flam, "flam", "flam"], [even, half, "alternating", "alternating"], [flam, apart, "open", "open flam"], [apart, even, "open", "apart"]];
  const names = flam ? [["text", 0, SHORE, "flam", "small", "right"]] : [];
  const marks = edges.flatMap(([low, top, role, name]) => {
    const [near, far] = [(TALL * low) / half, (TALL * top) / half];
    const pad = role === "alternating" ? 0.3 : 0;
    if (far - near < 0.01) return [];
    return [-1, 1].flatMap((sign) => {
      const [y0, y1] = [SHORE + sign * near, SHORE + sign * far].sort((a, b) => a - b);
      const band = ["band", y0 - pad * (sign < 0), y1 + pad * (sign > 0), role];
      const middle = (y0 + y1 + sign * pad) / 2;
      const clear = names.every((one) => Math.abs(middle - one[2]) >= ZONE_APART);
      if (far - near + pad > 0.45 && role !== "flam" && clear) names.push(["text", 0, middle, name, "small", "right"]);
      return [band];
    });
  });
  return [...marks, ...names];
}

/** Heights on each side, in milliseconds of a beat of [numerator, denominator] a minute. */
function scaleMarks([over, under]) {
  const half = (30000 * under) / over;
  let [size, finer] = [1, 1]; // a height is so many sizes of so many to the ms
  while (7500 * under * finer < over) finer *= 10;
  while (size * 10 * over <= 7500 * under * finer) size *= 10;
  const step = [1, 2, 2.5, 5, 10].map((n) => n * size).find((one) => one * over >= 7500 * under * finer);
  const marks = [["text", 0, SHORE, "0 ms", "small", "left"]];
  for (let many = 1; many <= Math.floor((58800 * under * finer) / (over * 2 * step)); many += 1) {
    const ms = (many * step) / finer;
    const [away, said] = [TALL * (ms / half), ms >= 1000 ? `${numberSaid(ms / 1000)} s` : `${numberSaid(ms, 5)} ms`];
    marks.push(["text", 0, SHORE - away, `${said} before`, "small", "left"], ["text", 0, SHORE + away, `${said} after`, "small", "left"]);
  }
  return marks;
}

/** How numbers `room` px apart are written: role, lines by turns, every which. */
function inTurns(room, letters) {
  const needs = Math.max(9.5 * (letters + 1), 12.6 * letters + 2);
  if (room >= needs) return ["big", 1, 1];
  if (room * 2 >= needs) return ["big", 2, 1];
  return room * 2 >= 7.7 * letters + 4 ? ["fine", 2, 1] : ["big", 1, everySoMany(room, letters)];
}

/** Draw the gaps of the next pulse from home, which goes at `bpm`. */
export function drawTide(rhythm, home, bpm, limits, width = 880) {
  const { pulses, ticks, onsets } = rhythm;
  const of = (home + 1) % pulses.length;
  const [step, beats, shown] = [rhythm.step(home), onsets[home], onsets[of]];
  const { svg, px } = makePainter({ stop: ticks, ...GUTTERS, width, most: Math.max(pulses[of], pulses[home]) });
  const zones = zonesOf(rhythm, of, home, bpm, limits);
  const ys = zones.gaps.map((gap) => SHORE + (2 * TALL * gap) / step);
  const marks = [...bandMarks(zones, step / 2), ...scaleMarks(bpm), ["line", 0, SHORE, ticks, SHORE, `lane${home % 4}`]];
  const group = slipOf(rhythm, of, home);
  if (group) shown.slice(group).forEach((tick, i) => (ys[i] - SHORE) * (ys[i + group] - SHORE) >= 0 && marks.push(["line", shown[i], ys[i], tick, ys[i + group], "thread"]));
  shown.forEach((tick, i) => ys[i] !== SHORE && marks.push(["line", tick, SHORE, tick, ys[i], "stem"]));
  const again = ticks / divisor(pulses[of], pulses[home]);
  const ringed = (row, middle) => (middle === null ? [] : row.filter((tick) => (tick - middle) % again === 0));
  const [rings, ringedBeats] = [ringed(shown, midwayOf(rhythm, of, home)), ringed(beats, midwayOf(rhythm, home, of))];
  shown.forEach((tick, i) => marks.push(["stroke", tick, ys[i], of, rings.includes(tick)]));
  beats.forEach((tick) => marks.push(["stroke", tick, SHORE, home, ringedBeats.includes(tick), 0.62]));
  let taken = [0, 0];
  const [low, name] = [SHORE + TALL, pulseSaid(rhythm, home)];
  for (const tick of [...rings, ...ringedBeats].slice(0, 1)) {
    const where = `exactly midway, on ${tick % step ? "the & of" : "beat"} ${Math.floor(tick / step) + 1}`;
    const half = (8.5 * where.length) / 2;
    const at = Math.min(tick, ticks - (half - GUTTERS.right) / px);
    marks.push(["text", at, low + 0.65, where, "plain"]);
    taken = [at - half / px, at + half / px];
  }
  if (seenAsGaps(rhythm) && again * px >= 96) {
    const [found, between] = earMarks(rhythm, of, home);
    for (const [tick, quarters] of found) {
      if (quarters !== 2 && !(taken[0] < tick && tick < taken[1])) marks.push(["text", tick, low + 0.65, between ? "\u00bc" : "e&a"[quarters - 1], "plain"]);
    }
  }
  const row = low + 1.2;
  marks.push(["text", 0, row, name.length < 8 ? `beat of ${name}` : "beat", "small", "left"]);
  const [role, lines, every] = inTurns(px * step, String(pulses[home]).length);
  const half = role === "fine" ? 7.7 / 2 : 6.3;
  const written = beats.map((_, i) => i).filter((i) => i % every === 0 && clearOf(beats[i] * px, half, String(i + 1)));
  written.forEach((i) => marks.push(["text", beats[i], row + TURN * (i % lines), String(i + 1), role]));
  const counted = numberedSaid(written.map((i) => i + 1), beats.length);
  const last = Math.max(row, ...written.map((i) => row + TURN * (i % lines))) + (counted ? TURN : 0);
  if (counted) marks.push(["text", 0, last, counted, "fine", "from"]);
  return svg(marks, last + 0.5, tideSaid(rhythm, of, home, bpm, limits, counted));
}

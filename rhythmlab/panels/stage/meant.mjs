// What is to sound, as Python says it to the stage: the plan of pulses at a tempo of [numerator, denominator] beats a minute.
import { divisor, heardLine, midwayOf } from "./counting.mjs";
import { pulseSaid } from "./telling.mjs";

const LANE_VOICES = ["high wood block", "low wood block", "bell", "hand drum"];

export const lowest = ([over, under]) => [over / divisor(over, under), under / divisor(over, under)];
/** The tempo of another pulse. */
export const tempoOf = (pulses, bpm, from, to) => lowest([bpm[0] * pulses[to], bpm[1] * pulses[from]]);

const beatsNamed = (first, last) => (first === last ? `beat ${first}` : `beats ${first} ${last - first === 1 ? "and" : "to"} ${last}`);

/** Once through, cut in two on a beat of home: [name, start, stop]. */
function piecesOf({ ticks, repeats }, step) {
  const beats = ticks / repeats / step;
  if (beats === 1) return [];
  const cut = Math.ceil(beats / 2);
  const names = 2 * cut === beats && repeats === 1 ? ["the first half", "the second half"] : [beatsNamed(1, cut), beatsNamed(cut + 1, beats)];
  return [[names[0], 0, cut * step], [names[1], cut * step, ticks / repeats]];
}

/** Spots worth practising alone. */
function loopsOf(rhythm, home) {
  const { pulses, ticks, onsets, repeats } = rhythm;
  const [made, step, again] = [[], rhythm.step(home), ticks / repeats];
  const middle = pulses.length === 2 ? midwayOf(rhythm, 1 - home, home) : null;
  if (middle !== null && pulses[home] > 3) {
    const start = Math.max(0, Math.floor(middle / step) - 1) * step;
    made.push({ name: "round the stroke exactly midway", start, stop: Math.min(ticks, start + 3 * step) });
  }
  const pieces = piecesOf(rhythm, step);
  const played = ([, start, stop]) => onsets.every((row, i) => i === home || row.some((tick) => tick >= start && tick < stop));
  const cut = heardLine(rhythm).sounds.length / repeats > 6 || (again / step > 2 && pieces.every(played));
  return cut ? [...made, ...pieces.map(([name, start, stop]) => ({ name, start, stop }))] : made;
}

/** The plan; `turn` is the last move of the tempo slide that it answers, `rate` and `most` are Python's. */
export function planFor(rhythm, { bpm, home, turn, rate, most }) {
  const { pulses, ticks, onsets } = rhythm;
  const lanes = pulses.map((many, i) => ({
    name: String(many), said: pulseSaid(rhythm, i), sound: LANE_VOICES[i % 4], onsets: onsets[i], accents: [], ghosts: [],
  }));
  const bpms = pulses.map((_, i) => tempoOf(pulses, bpm, home, i)).map(([over, under]) => over / under);
  return {
    cycle: null, pads: [], beat_ticks: rhythm.step(home), bpm: bpm.slice(0, bpm[1] === 1 ? 1 : 2).join("/"), ticks, lanes, homes: onsets,
    bpms, cycle_s: (60 * pulses[home] * bpm[1]) / bpm[0], loops: loopsOf(rhythm, home), rate, most, turn, pulses, pulse: home,
  };
}

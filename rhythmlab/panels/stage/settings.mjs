// What the reader sets for the sound and for practising; held in the browser, the volume from day to day.
import { LEVELS, sideOf } from "./desk.mjs";

const VOLUME = "rhythmlab.volume";
/** Quiet at first: about 14 dB under full. */
export const FIRST_VOLUME = 0.2;

/** The settings a stage starts with. */
export function firstSettings(lanes, stored) {
  return {
    volume: storedVolume(stored),
    lanes: Array.from({ length: lanes }, (_, i) => firstLane(i)),
    home: { on: true, level: LEVELS.home },
    grid: false,
    sounds: "own",
    countIn: 0,
    clap: false,
    slow: 100,
    rise: { by: 0, every: 4, from: 0 },
    loop: null,
    part: null,
    flipEvery: 0,
    drop: { sounding: 4, silent: 0, from: 0 },
    quiet: [],
  };
}

export function firstLane(i) {
  return { level: LEVELS.lane, side: sideOf(i), mute: false, solo: false };
}

export function storedVolume(stored) {
  try {
    const text = stored.getItem(VOLUME);
    const volume = text === null ? NaN : Number(text);
    return volume >= 0 && volume <= 1 ? volume : FIRST_VOLUME;
  } catch {
    return FIRST_VOLUME;
  }
}

export function keepVolume(stored, volume) {
  try {
    stored.setItem(VOLUME, String(volume));
  } catch {
    return; // a browser that keeps nothing: the volume holds for this page only
  }
}

/** The level that a lane sounds at: its own, unless it is muted, another one is solo, or the player plays it. */
export function levelOf(lanes, i, quiet = []) {
  if (quiet.includes(i)) return 0;
  const lane = lanes[i] || firstLane(i);
  const solo = lanes.some((one) => one.solo);
  return lane.mute || (solo && !lane.solo) ? 0 : lane.level;
}

/** The voice of a lane: its own; the same for all; or the other pulse's. */
export function voiceOf(plan, sounds, i) {
  const voices = plan.lanes.map((lane) => lane.sound);
  if (sounds === "equal") return voices[0];
  if (sounds === "swapped") return voices[voices.length - 1 - i];
  return voices[i];
}

/** Whether a turn is silent: so many sounding, then so many silent, counted from where it was asked for. */
export function silentAt(drop, turn) {
  const { sounding, silent, from } = drop;
  if (!(silent > 0) || !(sounding > 0) || turn < from) return false;
  return (turn - from) % (sounding + silent) >= sounding;
}

/** How many steps the tempo has risen by, in a turn. */
export function risen(rise, turn) {
  return rise.by > 0 && rise.every > 0 && turn >= rise.from ? Math.floor((turn - rise.from) / rise.every) : 0;
}

/** Share of the written tempo in a turn, when home goes at `bpm` as written: slowed, and risen to at most twice. */
export function speedAt(settings, turn, bpm) {
  const slow = settings.slow / 100;
  return Math.min(slow + (settings.rise.by * risen(settings.rise, turn)) / bpm, Math.max(2, slow));
}

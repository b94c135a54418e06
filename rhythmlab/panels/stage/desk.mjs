// The desk: buffers, levels, sides, the limiter and the volume. Works on a live and on an offline context.

import { clapOf } from "./clap.mjs";
import { DAMPED_S, STRENGTH, strokeOf } from "./struck.mjs";

/** Levels at first: those of the sound files. */
export const LEVELS = { lane: 0.6, home: 0.45, grid: 0.25, count: 0.5 };
/** Voices of the rows that are not lanes. */
export const VOICE = { home: "bass drum", grid: "grid tick", count: "click" };
/** The voice of the beats of home where a lane plays the bass drum between them. */
export const HOME_OTHER = "click";
const KNEE = 0.7;
const ROOM = 0.25;
const REACH = 4;

/** The limiter of the sound files: nothing is changed up to the knee, nothing goes beyond 0.95. */
export function limited(x) {
  const size = Math.abs(x);
  return size <= KNEE ? x : Math.sign(x) * (KNEE + ROOM * Math.tanh((size - KNEE) / ROOM));
}

/** The limiter as a curve over -4 to 4, for a WaveShaper. */
export function limiterCurve(points = 16385) {
  const middle = (points - 1) / 2;
  return Float32Array.from({ length: points }, (_, i) => limited(((i - middle) / middle) * REACH));
}

/** Where lanes stand between left (-1) and right (1) until the reader moves them. Never hard to one side. */
export function sideOf(lane) {
  return [-0.35, 0.35, 0, 0.2][lane % 4];
}

/** Samples of a voice that came as 16-bit whole numbers. */
export function samplesOf(bytes) {
  const view = bytes instanceof DataView ? bytes : new DataView(bytes);
  return Float32Array.from({ length: view.byteLength / 2 }, (_, i) => view.getInt16(2 * i, true) / 32768);
}

/** A voice by its name and its samples: two versions of one name are two voices. */
function printOf(name, view) {
  let sum = 7;
  for (let i = 0; i + 1 < view.byteLength; i += 2) sum = (Math.imul(sum, 31) + view.getInt16(i, true)) | 0;
  return `${name} ${view.byteLength} ${sum}`;
}

let curve = null;

/** Build the desk on a context. `voices()` gives {name: 16-bit bytes} at `rate`; `shared` are the page's buffers. */
export function makeDesk(context, voices, rate, shared = new Map()) {
  const out = context.createGain();
  const scale = context.createGain();
  const limiter = context.createWaveShaper();
  const mix = context.createGain();
  scale.gain.value = 1 / REACH;
  limiter.curve = curve ??= limiterCurve();
  limiter.oversample = "none";
  mix.connect(scale).connect(limiter).connect(out).connect(context.destination);
  const buffers = new Map();
  const strips = new Map();
  const prints = new Map();
  /** The buffer of a stroke of a voice, made when first needed and shared by the page. */
  const bufferOf = (name, strength, variant) => {
    const which = `${name} ${strength} ${variant}`;
    if (!buffers.has(which)) {
      const bytes = voices()[name === "clap" ? "snare" : name];
      if (!bytes) return null;
      const view = bytes instanceof DataView ? bytes : new DataView(bytes);
      if (!prints.has(name)) prints.set(name, printOf(name, view));
      const print = `${prints.get(name)} ${strength} ${variant}`;
      if (!shared.has(print)) {
        const own = samplesOf(view);
        const samples = strokeOf(name === "clap" ? clapOf(own, rate) : own, rate, strength, variant);
        const buffer = context.createBuffer(1, samples.length, rate);
        buffer.copyToChannel(samples, 0);
        shared.set(print, buffer);
      }
      buffers.set(which, shared.get(print));
    }
    return buffers.get(which);
  };
  /** Make what some rows need before the first of them sounds: made in between, it would come late. */
  const prepare = (rows, voiceFor) => {
    for (const row of rows) {
      const voice = voiceFor(row);
      if (voice) row.ticks.forEach((_, i) => bufferOf(voice, row.weights[i], row.variants[i]));
    }
  };
  /** The level and the side of a row, made when first needed. */
  const strip = (key) => {
    if (!strips.has(key)) {
      const gain = context.createGain();
      const side = context.createStereoPanner();
      gain.connect(side).connect(mix);
      strips.set(key, { gain, side });
    }
    return strips.get(key);
  };
  const set = (key, level, side, now = false) => {
    const { gain, side: panner } = strip(key);
    if (now) {
      gain.gain.value = level;
      panner.pan.value = side;
    } else {
      gain.gain.setTargetAtTime(level, context.currentTime, 0.008);
      panner.pan.setTargetAtTime(side, context.currentTime, 0.008);
    }
  };
  /** Play a stroke of a voice on a row at a time, on a whole sample. Returns it, so that it can be damped, or null. */
  const play = (key, voice, when, strength = STRENGTH.plain, variant = 0) => {
    const buffer = bufferOf(voice, strength, variant);
    if (!buffer) return null;
    const source = context.createBufferSource();
    const gain = context.createGain();
    source.buffer = buffer;
    source.connect(gain).connect(strip(key).gain);
    const at = Math.floor(when * rate + 0.5);
    source.start(at / rate);
    return { source, gain, at, ends: at + buffer.length };
  };
  /** End a stroke where the next of its row begins, if it still rings then. */
  const damp = (stroke, next) => {
    if (next.at >= stroke.ends || next.at < stroke.at) return;
    const fade = Math.min(next.at - stroke.at, Math.round(rate * DAMPED_S));
    stroke.gain.gain.setValueAtTime(1, next.at / rate);
    stroke.gain.gain.linearRampToValueAtTime(0, (next.at + fade) / rate);
    stroke.source.stop((next.at + fade) / rate);
  };
  /** Off the sound card: what is not heard must cost nothing. */
  const close = () => out.disconnect();
  return { prepare, play, damp, set, out, strip, close };
}

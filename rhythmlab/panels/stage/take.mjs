// A take: count-in, so many cycles, the taps meanwhile, and one message at the end that is not lost.
import { median } from "./clockmap.mjs";

const UNSENT = "rhythmlab.take.";
/** A late last stroke still counts, in seconds after the end. */
export const TAIL = 0.35;
const SETTLED_MS = 350;
const OFFSET = "rhythmlab.offset";
/** Clicks that a calibration counts in with, and counts. */
export const CALIBRATION = { countIn: 4, clicks: 16, used: 12, bpm: 100 };

/** What can be played of a plan: pulses of a pair, and parts of anything else, as [mode, what it is called]. */
export function modesOf(plan) {
  const { lanes = [], pulses = [] } = plan || {};
  const [one, all] = pulses.length > 1 ? ["one pulse", "both pulses"] : ["one part", "all parts"];
  const modes = [["one pulse", one], ["both pulses", all], ["composite", "composite"], ["gap cycle", "gap cycle"]];
  return modes.filter(([mode]) => (mode !== "both pulses" || lanes.length > 1) && (mode !== "gap cycle" || pulses.length > 1));
}

/** What a take leaves out of what is practised: it is measured against one tempo. */
export function leftOut({ rise }) {
  return rise.by > 0 ? "A take keeps one tempo: it does not climb." : "";
}

/** What the player sees before a take, and while it or a calibration runs. */
export function phaseSaid(phase, count, more = "") {
  const strokes = count === 1 ? "1 stroke" : `${count} strokes`;
  return { idle: more, take: `recording: ${strokes}${more && ". "}${more}`, calibrate: `calibrating: ${strokes}` }[phase];
}

/** The plan of a calibration: one steady click. */
export function calibrationPlan(rate) {
  const lanes = [{ name: "click", sound: "click", onsets: [0], accents: [], ghosts: [] }];
  return { ticks: 1, lanes, homes: [[0]], bpms: [CALIBRATION.bpm], cycle_s: 60 / CALIBRATION.bpm, loops: [], rate };
}

/** What a tap-along says: how far taps are from the click in ms, and how evenly; or why it says nothing. */
export function calibrated(taps, clickAt, clicks = CALIBRATION.clicks) {
  const off = [];
  for (const time of taps) {
    const nearest = Math.min(Math.max(Math.round((time - clickAt(0)) / (clickAt(1) - clickAt(0))), 0), clicks - 1);
    off.push((time - clickAt(nearest)) * 1000);
  }
  const last = off.slice(-CALIBRATION.used);
  if (last.length < CALIBRATION.used) return { why: `${last.length} taps came in, and it needs ${CALIBRATION.used}` };
  const middle = median(last);
  const spread = median(last.map((one) => Math.abs(one - middle)));
  if (Math.abs(middle) > 250 || spread > 60) return { why: "the taps did not settle on the click" };
  return { offset: middle, spread };
}

export function storedOffset(store) {
  try {
    const text = store.getItem(OFFSET);
    const offset = text === null || text === "" ? NaN : Number(text);
    return Math.abs(offset) <= 250 ? offset : null;
  } catch {
    return null;
  }
}

export function keepOffset(store, offset) {
  try {
    store.setItem(OFFSET, String(offset));
  } catch {
    return; // a browser that keeps nothing
  }
}

/** What is known of the device and the player's own lead; not every panel shows numbers. */
export function offsetSaid(offset, numbers = true) {
  const why = numbers ? "still in every number" : "not known, so it is not judged whether all of a take was late";
  if (offset === null) return `Not calibrated: the delay of this device and your own lead are ${why}.`;
  const ms = Math.round(Math.abs(offset));
  const where = ms === 0 ? "on the click" : `${ms} ms ${offset < 0 ? "before" : "after"} the click`;
  return `Calibrated: your taps come ${where}, device delay and your own lead together; takes are judged without it.`;
}

/** Taps on their way from the page's clock to the audio clock: settled once the readings round them are there. */
export function makeTaps(audioAt) {
  let waiting = [];
  const settled = [];
  return {
    add: (played, pageMs, input) => waiting.push({ played, pageMs, input }),
    settle: (nowMs, all = false) => {
      const ready = waiting.filter((tap) => all || nowMs - tap.pageMs > SETTLED_MS);
      waiting = waiting.filter((tap) => !ready.includes(tap));
      for (const tap of ready) settled.push({ ...tap, time: audioAt(tap.pageMs) });
    },
    all: () => settled,
    count: () => settled.length + waiting.length,
  };
}

/**
 * The lane of a stroke. A limb that has rows in several lanes, each [lane, letter of its sticking], played in the lane
 * of its own stroke that is nearest; lanes that were asked for come first.
 */
export function laneOf(rows, time, { plan, lanes, slice, t0, turnS, offset = 0 }) {
  const asked = rows.filter(([lane]) => lanes.includes(lane));
  const found = asked.length ? asked : rows;
  if (found.length === 1) return found[0][0];
  const span = slice.stop - slice.start;
  const at = ((time - (offset ?? 0) / 1000 - t0) / turnS) * span + slice.start;
  let [nearest, least] = [found[0][0], Infinity];
  for (const [lane, letter] of found) {
    const hands = (plan.cycle && plan.cycle.lanes[lane].hands) || "";
    plan.lanes[lane].onsets.forEach((tick, i) => {
      if (tick < slice.start || tick >= slice.stop || (letter && hands[i] !== letter)) return;
      const off = (((tick - at) % span) + span) % span;
      if (Math.min(off, span - off) < least) [nearest, least] = [lane, Math.min(off, span - off)];
    });
  }
  return nearest;
}

/** The one message of a take. */
export function messageOf({ id, when, plan, wanted, slice, t0, turnS, taps, report, offset, context, slow, home, interrupted = false }) {
  const inputs = new Set(taps.map((tap) => tap.input));
  const where = { plan, lanes: wanted.lanes, slice, t0, turnS, offset };
  return {
    id, when, mode: wanted.mode, lanes: wanted.lanes, limbs: wanted.limbs, left_handed: wanted.leftHanded === true, cycles: wanted.cycles, silent: wanted.silent,
    pulses: plan.pulses || [], bpm: plan.bpm || "", pulse: plan.pulse ?? 0, cycle: plan.cycle || null, beat_ticks: plan.beat_ticks ?? null, ticks: plan.ticks, start: slice.start, stop: slice.stop, slow, home,
    cycle_s: turnS, t0, taps: taps.map((tap) => [laneOf(tap.played, tap.time, where), tap.time]), late: report.late + report.dropped, interrupted,
    offset_ms: offset ?? 0, calibrated: offset !== null,
    input: inputs.size > 1 ? "mixed" : [...inputs][0] || "keys",
    rate: context.sampleRate, latency_s: [context.baseLatency || 0, context.outputLatency || 0],
  };
}

/** Keep a message until Python says that it has it. */
export function hold(store, message) {
  try {
    store.setItem(UNSENT + message.id, JSON.stringify(message));
    return true;
  } catch {
    return false;
  }
}

export function letGo(store, id) {
  try {
    store.removeItem(UNSENT + id);
  } catch {
    return;
  }
}

/** Messages that never were acknowledged, oldest first. */
export function unsent(store) {
  const found = [];
  for (let i = 0; i < (store.length || 0); i += 1) {
    try {
      const key = store.key(i);
      if (key.startsWith(UNSENT)) found.push(JSON.parse(store.getItem(key)));
    } catch {
      continue; // one that cannot be read stays where it is, and stops no other
    }
  }
  return found.sort((one, two) => (one.when < two.when ? -1 : 1));
}

/** An id that no other take has. */
export function newId() {
  return globalThis.crypto?.randomUUID?.() ?? `${Date.now()}-${Math.random()}`;
}

/** The hour here, with its distance from UTC, as ISO 8601 writes it. */
export function hourSaid(date) {
  const two = (n) => String(Math.trunc(Math.abs(n))).padStart(2, "0");
  const away = -date.getTimezoneOffset();
  const local = new Date(date.getTime() + away * 60000).toISOString().slice(0, 19);
  return `${local}${away < 0 ? "-" : "+"}${two(away / 60)}:${two(away % 60)}`;
}


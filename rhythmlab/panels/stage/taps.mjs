// Taps: which key, pad or drum belongs to which lane, and when it was struck on the page's clock.

/** Keys at first: right hand, left hand, then one more for each. By place on the keyboard, not by letter. */
export const FIRST_KEYS = [
  { code: "KeyJ", said: "J" },
  { code: "KeyF", said: "F" },
  { code: "KeyK", said: "K" },
  { code: "KeyD", said: "D" },
];
const RESERVED = new Set(["Tab", "Escape", "Space", "Enter", "NumpadEnter", "ShiftLeft", "ShiftRight"]);
const KEPT_KEYS = "rhythmlab.keys";
/** Drums of an electronic kit at first, as General MIDI key numbers: snare and hand clap, kick, closed hi-hat. */
const FIRST_NOTES = [38, 36, 42, 51];

/** Whether a key can be given to a lane: keys that leave, stop or press keep their meaning. */
export function canTap(event) {
  return !RESERVED.has(event.code) && event.code !== "" && !event.ctrlKey && !event.metaKey && !event.altKey;
}

/** What a key is called: the letter it types here, or its name. */
export function keySaid(event) {
  return event.key.length === 1 ? event.key.toUpperCase() : event.code;
}

export function storedKeys(store) {
  try {
    const kept = JSON.parse(store.getItem(KEPT_KEYS));
    const good = kept && kept.keys.length === 4 && kept.keys.every((key) => key.code && key.said);
    if (good && kept.notes.length === 4) return kept;
  } catch {
    // nothing kept, or nothing readable: the first keys
  }
  return { keys: FIRST_KEYS.map((key) => ({ ...key })), notes: [...FIRST_NOTES] };
}

/** Give a key or a note to a lane; a lane that had it gets the one that is given up. */
export function give(list, lane, item, same) {
  const before = list.findIndex((one) => same(one, item));
  const next = list.slice();
  if (before >= 0 && before !== lane) next[before] = list[lane];
  next[lane] = item;
  return next;
}

export function keepKeys(store, kept) {
  try {
    store.setItem(KEPT_KEYS, JSON.stringify(kept));
  } catch {
    return; // a browser that keeps nothing: the keys hold for this page only
  }
}

/** For each lane of a plan which key and note is its own: hands first where the plan says so, else in order. */
export function slotsOf(plan) {
  const { lanes = [], slots = [] } = plan || {};
  return lanes.map((_, i) => slots[i] ?? i);
}

/** Lanes that have a pad, from left to right as their first keys lie on the keyboard: D, F, J, K. */
export function padOrder(slots) {
  return [3, 1, 0, 2].map((slot) => slots.indexOf(slot)).filter((lane) => lane >= 0);
}

/** The lane whose slot has a key, or -1. */
export function laneOfKey(keys, code, slots) {
  const slot = keys.findIndex((key) => key.code === code);
  return slot < 0 ? -1 : slots.indexOf(slot);
}

/** The note that a MIDI message strikes, or null: note-on of any channel, velocity above 0, nothing else. */
export function struck(data) {
  const on = data && data.length >= 3 && (data[0] & 0xf0) === 0x90 && data[2] > 0;
  return on ? data[1] : null;
}

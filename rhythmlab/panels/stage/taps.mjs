// Taps: which key, pad or drum belongs to which limb or lane, and which note a kit struck.

/**
 * Keys at first, by place on the keyboard and not by letter: right hand, left hand, two more for the hands, outside
 * them; right foot, left foot, a row below; and two more.
 */
export const FIRST_KEYS = ["J", "F", "K", "D", "N", "V", "L", "S"].map((said) => ({ code: `Key${said}`, said }));
/** Places of that list from left to right: the hands, and the feet below them. */
const ROWS = [[7, 3, 1, 0, 2, 6], [5, 4]];
/** Keys for a list of four that was kept before, where one of the others is in it. */
const SPARE = ["M", "C", "H", "G"].map((said) => ({ code: `Key${said}`, said }));
/** The keys of two lanes, by what they are played with. */
const PLAYED_WITH = { "hands swapped": [1, 0], "hand and foot": [0, 4] };
const RESERVED = new Set(["Tab", "Escape", "Space", "Enter", "NumpadEnter", "ShiftLeft", "ShiftRight"]);
const KEPT_KEYS = "rhythmlab.keys";
/** Drums of an electronic kit at first, as General MIDI key numbers: snare, kick, closed hi-hat, ride; other drums. */
const FIRST_NOTES = [38, 36, 42, 51, 35, 44, 48, 49];
/** A list that was kept as four is made as long as this. */
const longer = (kept, first, spare, same) =>
  first.reduce((list, one, i) => {
    const free = [one, ...spare].find((item) => !list.some((other) => same(other, item)));
    return i < list.length ? list : [...list, free];
  }, kept);

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
    const full = (list) => list.length === 4 || list.length === FIRST_KEYS.length;
    if (kept && full(kept.keys) && full(kept.notes) && kept.keys.every((key) => key.code && key.said)) {
      const keys = longer(kept.keys, FIRST_KEYS, SPARE, (one, two) => one.code === two.code);
      return { ...kept, keys, notes: longer(kept.notes, FIRST_NOTES, [41, 43, 45, 47], (one, two) => one === two) };
    }
  } catch {
    // nothing kept, or nothing readable: the first keys
  }
  return { keys: FIRST_KEYS.map((key) => ({ ...key })), notes: [...FIRST_NOTES] };
}

/** Give a key or a note to a pad; the pad that had it gets the one that is given up. */
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

/** The pads of a plan: one for each limb where limbs are named, else one for each lane, with their keys. */
export function padsOf(plan, limbs = "hands", leftHanded = false) {
  const { lanes = [], pads = [] } = plan || {};
  if (pads.length) return pads;
  const keys = (PLAYED_WITH[limbs] || [0, 1]).map((key) => (leftHanded ? key ^ 1 : key)); // the same limb of the other side
  return lanes.map((lane, i) => ({ said: lane.said || lane.name, of: [], key: keys[i] ?? [0, 1, 2, 3, 6, 7, 5, 4][i], rows: [[i, ""]] }));
}

/** Pads as their first keys lie on the keyboard, from left to right: those of the hands, and below them the feet's. */
export function padRows(pads) {
  return ROWS.map((row) => row.flatMap((key) => pads.filter((pad) => pad.key === key))).filter((row) => row.length);
}

/** The pad that has a key, or null. */
export function padOfKey(keys, code, pads) {
  const place = keys.findIndex((key) => key.code === code);
  return pads.find((pad) => place >= 0 && pad.key === place) || null;
}

/** What a drum of a kit plays: the pad that was given its note, else the lanes of that drum, else the pad at first. */
export function padOfNote(notes, note, pads, lanes) {
  const own = pads.find((pad) => notes[pad.key] === note && note !== FIRST_NOTES[pad.key]);
  const rows = pads.flatMap((pad) => pad.rows.filter(([lane]) => lanes[lane] && lanes[lane].note === note));
  if (own || rows.length) return own || { rows };
  return pads.find((pad) => notes[pad.key] === note) || null;
}

/** The note that a MIDI message strikes, or null: note-on of any channel, velocity above 0, nothing else. */
export function struck(data) {
  const on = data && data.length >= 3 && (data[0] & 0xf0) === 0x90 && data[2] > 0;
  return on ? data[1] : null;
}

// The arithmetic of even pulses and the words of their count, as core/ and text/ have them, for an answer at once.

/** Words of the parts of a beat after the first, and what opens the second group of a long one, and so on. */
const [FEW_PARTS, SIX_PARTS] = [{ 1: [], 2: ["&"], 3: ["trip", "let"], 4: ["e", "&", "a"] }, ["trip", "let", "&", "& trip", "& let"]];
const OPENS = ["ta", "ka", "di", "mi", "ti", "na", "lo", "bu", "sa", "ro", "ho"];
const [MOST_IN_GROUP, MOST_WITH_WORDS] = [4, 24];

export const divisor = (a, b) => (b ? divisor(b, a % b) : a);
const multiple = (a, b) => (a / divisor(a, b)) * b;

/** Pulses that share a cycle: their ticks, strokes and steps, how often they meet; and how they are said. */
export function rhythmOf(pulses, say, groups = []) {
  const ticks = pulses.reduce(multiple);
  const onsets = pulses.map((many) => Array.from({ length: many }, (_, i) => (i * ticks) / many));
  return { pulses, ticks, onsets, say, groups, step: (i) => ticks / pulses[i], repeats: pulses.reduce(divisor) };
}

/** The heard line: its sounds, the ticks from each to the next, and which pulses play it. */
export function heardLine({ ticks, onsets }) {
  const players = new Map();
  onsets.forEach((row, i) => row.forEach((tick) => players.set(tick, [...(players.get(tick) || []), i])));
  const sounds = [...players.keys()].sort((a, b) => a - b);
  return { sounds, intervals: sounds.map((tick, i) => (sounds[i + 1] ?? ticks) - tick), players: sounds.map((tick) => players.get(tick)) };
}

/** Where the strokes of a pulse fall when counted from home: beat and part from 1, and parts to a beat. */
export function countedOf(rhythm, home, pulse) {
  const [beat, many] = [rhythm.step(home), rhythm.pulses[pulse]];
  const parts = many / divisor(rhythm.pulses[home], many);
  return rhythm.onsets[pulse].map((tick) => ({ tick, beat: Math.floor(tick / beat) + 1, part: ((tick % beat) * parts) / beat + 1, parts }));
}

/** The tick of the first stroke exactly midway between two of another pulse, or null. */
export function midwayOf({ pulses, ticks }, of, against) {
  const common = divisor(pulses[of], pulses[against]);
  return (pulses[of] / common) % 2 ? null : ticks / common / 2;
}

/** The groups that a long beat is said in. */
function saidGroups(parts) {
  if (parts <= MOST_IN_GROUP) return [parts];
  if (parts % 4 === 2) return [...saidGroups(parts / 2), ...saidGroups(parts / 2)];
  const rest = { 0: [], 1: [3, 2], 3: [3] }[parts % 4];
  return [...Array((parts - rest.reduce((a, b) => a + b, 0)) / 4).fill(4), ...rest];
}

/** The word of each part of a beat after the first, none where there are too many; in the reader's own groups where these fill it. */
export function wordsOf(parts, groups = []) {
  const own = parts > MOST_IN_GROUP && groups.find((row) => row.reduce((a, b) => a + b) === parts);
  if (parts > MOST_WITH_WORDS && !own) return [];
  if (!own && (parts === 6 || FEW_PARTS[parts])) return parts === 6 ? SIX_PARTS : FEW_PARTS[parts];
  const sizes = (own || [parts]).flatMap(saidGroups);
  if (sizes.length > OPENS.length + 1) return [];
  const words = sizes.flatMap((size, i) => ["", ...FEW_PARTS[4].slice(0, size - 1)].map((word) => [OPENS[i - 1], word].filter(Boolean).join(" ")));
  return words.slice(1);
}

/** What opens a group, in capitals. */
const stressed = (word) => word.split(" ").map((one) => (OPENS.includes(one) ? one.toUpperCase() : one)).join(" ");

/** What is said at a place in a picture, "" where there is no word. */
export function labelOf({ beat, part, parts }, groups) {
  return part === 1 ? String(beat) : stressed(wordsOf(parts, groups)[part - 2] || "");
}

/** A whole beat as it is said; "" where up to four parts say themselves, or there are too many. */
export function aloudOf(parts, groups) {
  const words = FEW_PARTS[parts] ? [] : wordsOf(parts, groups);
  return words.length ? ["1", ...words.map((word) => stressed(word).split(" ").at(-1))].join(" ") : "";
}

/** A number with at most so many decimals, rounded as Python rounds, and what stands between its thousands. */
export function numberSaid(value, digits = 2, between = "\u00a0") {
  const places = digits > 1 && value > 0 && value < 0.5 * 0.1 ** digits ? 1 - Math.floor(Math.log10(value)) : digits;
  const scaled = value * 10 ** places;
  const low = Math.floor(scaled);
  const tie = scaled - low === 0.5 && low % 2 === 0 && Number.isInteger(value * 1024); // that is written exactly, and goes to the even one
  const [whole, after = ""] = (tie ? low / 10 ** places : value).toFixed(places).split(".");
  return [whole.replace(/\B(?=(\d{3})+$)/g, between), after.replace(/0+$/, "")].filter(Boolean).join(".");
}

/** A row of texts, the middle left out where it is long. */
export function someOf(row, most = 16, joint = ", ") {
  return row.length <= most ? row.join(joint) : `${row.slice(0, most / 2).join(joint)} \u2026 ${row.slice(-most / 2).join(joint)}`;
}

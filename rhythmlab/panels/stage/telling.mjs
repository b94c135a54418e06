// What is said of even pulses, as text/counts.py and text/descriptions.py say it; the templates come from Python.
import { aloudOf, heardLine, numberSaid, countedOf, someOf, wordsOf } from "./counting.mjs";
import { formOf } from "./sentences.mjs";

/** A count with its word, of those that have a template. */
export const countSaid = (say, count, word) => say(`counted.${word}.${formOf(count)}`, { count: numberSaid(count) });

function secondsSaid(say, value) {
  const count = numberSaid(value, value >= 1 ? 1 : 2);
  return say(`counted.second.${count === "1" ? "one" : "other"}`, { count });
}

export const pairSaid = ({ pulses, say }) => pulses.reduce((first, second) => say("name.pair", { first, second }));

export function pulseSaid({ pulses, say }, i) {
  const [pulse, alike] = [pulses[i], pulses.filter((one) => one === pulses[i])];
  if (alike.length === 1) return say("name.pulse", { pulse });
  const nth = nthSaid(pulses.slice(0, i).filter((one) => one === pulse).length);
  return say("name.nth_pulse", { nth, pulse });
}

/** One of the places of a row. */
function placeInRow({ say, groups }, { beat, part, parts }) {
  if (part === 1) return String(beat);
  const word = wordsOf(parts, groups)[part - 2];
  return word ? say("name.part", { part: word, beat }) : say("name.numbered", { beat, part: numberSaid(part) });
}

/** A row of places; into how many parts a beat is cut that has no words is said once, at the end. */
export function rowSaid(rhythm, places) {
  const said = someOf(places.map((one) => placeInRow(rhythm, one)));
  const unsaid = places.find(({ part, parts }) => part > 1 && !wordsOf(parts, rhythm.groups).length);
  return unsaid ? rhythm.say("count.in_parts", { places: said, parts: numberSaid(unsaid.parts) }) : said;
}

/** Where each other pulse falls when counted from home. */
export function countedFrom(rhythm, home) {
  const { pulses, say, groups } = rhythm;
  const falls = pulses.flatMap((_, i) => {
    if (i === home) return [];
    const row = countedOf(rhythm, home, i);
    const [places, words] = [rowSaid(rhythm, row), aloudOf(row[0].parts, groups)];
    return [say("count.falls", { pulse: pulseSaid(rhythm, i), places: words ? say("count.in_words", { places, words }) : places })];
  });
  return say("count.from", { home: pulseSaid(rhythm, home), falls: falls.join("; ") });
}

export const heardSaid = (rhythm) => rhythm.say("facts.heard", { ticks: someOf(heardLine(rhythm).intervals, 24, " ") });

/** Ticks, sounds and seconds of a cycle. */
export function factsSaid(rhythm, seconds) {
  const [say, sounds] = [rhythm.say, heardLine(rhythm).sounds.length];
  return say("facts.pair", { ticks: countSaid(say, rhythm.ticks, "tick"), sounds: countSaid(say, sounds, "sound"), seconds: secondsSaid(say, seconds) });
}

/** Strokes that a loop can begin and end on, each with its place in the count. */
export function spotsOf(rhythm, home) {
  const named = new Map();
  for (const pulse of [home, ...rhythm.pulses.keys()]) {
    for (const place of countedOf(rhythm, home, pulse)) {
      const { tick, beat, part, parts } = place;
      const words = part === 1 || wordsOf(parts, rhythm.groups).length;
      const said = words ? placeInRow(rhythm, place) : rhythm.say("name.part_of", { beat, part: numberSaid(part), parts: numberSaid(parts) });
      if (!named.has(tick)) named.set(tick, said);
    }
  }
  return [...[...named].sort((a, b) => a[0] - b[0]), [rhythm.ticks, "end"]];
}

/** Which one of several, counted from 0. */
export function nthSaid(index) {
  const few = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"];
  const teens = Math.floor(((index + 1) % 100) / 10) === 1;
  return few[index] || `${index + 1}${(teens ? "" : ["", "st", "nd", "rd"][(index + 1) % 10]) || "th"}`;
}

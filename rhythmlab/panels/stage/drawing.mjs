// The heard line of even pulses, drawn and told as draw/pictures.py does, where all of it can be read.
import { heardLine, labelOf, numberSaid, countedOf, someOf } from "./counting.mjs";
import { makePainter } from "./paint.mjs";
import { countSaid, nthSaid, rowSaid } from "./telling.mjs";

const [LETTER, FIGURE, MOST_FINE, MOST_MARKED] = [8.5, 7.7, 64, 36];

/** Whether a label keeps clear of the gutter. */
export const clearOf = (x, half, text) => x - half * text.length >= -13.5;
/** Every how many labels, `room` px apart, can be written. */
export function everySoMany(room, letters) {
  const needs = Math.max(9.5 * (letters + 1), 12.6 * letters + 2);
  for (let size = 1; ; size *= 10) for (const n of [1, 2, 5]) if (room * n * size >= needs) return n * size;
}

/** Which beats have their number, where not all have: all numbers that are written, of so many. */
export function numberedSaid(written, many) {
  if (!written.length || written.length === many) return "";
  const apart = written.length > 1 ? written[1] - written[0] : 0;
  if (!apart) return `counted: ${written[0]} alone`;
  return apart > 1 ? `counted: every ${nthSaid(apart - 1)} beat` : `counted: from ${written[0]}`;
}

/** Half the px of a word of the count. */
const halfOf = (text) => [...text].reduce((wide, one) => wide + (one === " " ? 4.5 : /[&A-Z]/.test(one) ? 11 : LETTER), 0) / 2;

/** The composite: sounds, and the ticks between them where they have room: [marks, rows taken under the row, how many have none, of how many]. */
function heardMarks({ sounds, intervals }, y, px) {
  const marks = [["text", 0, y, "heard", "small", "left"], ...sounds.map((tick) => ["rule", tick, y - 0.3, y + 0.3, "sound"])];
  const [under, written] = [[-Infinity, -Infinity, -Infinity], []];
  let without = 0;
  sounds.forEach((tick, i) => {
    const [ticks, text] = [intervals[i], String(intervals[i])];
    const [middle, half] = [tick + ticks / 2, (FIGURE * text.length) / 2];
    const x = middle * px;
    const level = under.findIndex((end) => x - half >= end + 2);
    if (ticks * px >= LETTER * text.length + 5) written.push(["text", middle, y, text, "plain"]);
    else if (ticks * px >= 2 * half + 4) written.push(["text", middle, y, text, "fine"]);
    else if (level >= 0 && clearOf(x, FIGURE / 2, text)) {
      written.push(["text", middle, y + 0.5 + 0.36 * level, text, "fine number"]);
      under[level] = x + half;
    } else without += 1;
  });
  if (2 * without > sounds.length) [written.length, without] = [0, sounds.length];
  const lower = Math.max(0, ...written.map((mark) => mark[2] - y - 0.5));
  return [[...marks, ...written], lower, without, sounds.length];
}

/** Add a line in fine print under what is there. */
const note = (marks, text) => marks.push(["text", 0, Math.max(...marks.map((mark) => mark[2])) + 0.42, text, "fine", "from"]);
function noRoom(marks, without, of, what) {
  const left = without === of ? numberSaid(of) : `${numberSaid(without)} of ${numberSaid(of)}`;
  if (without) note(marks, `too close together to write ${left} ${what}`);
}

/** The count: beats large, where each other lane falls small. */
function countMarks(rhythm, home, others, numbered, y, px, inside) {
  const [marks, unsaid, beats] = [[], new Map(), rhythm.onsets[home]];
  let [at, without, of] = [y, 0, 0];
  for (const lane of others) {
    const name = others.length > 1 ? String(rhythm.pulses[lane]) : "";
    marks.push(["text", 0, at, name.length > 2 ? name : name ? `the ${name}` : "count", "small", "left"]);
    numbered.forEach((nth) => marks.push(["text", beats[nth - 1], at, String(nth), "big"]));
    const taken = [numbered.map((nth) => [beats[nth - 1] * px, 6 * String(nth).length + 2]), [], []];
    const off = countedOf(rhythm, home, lane).filter(({ part }) => part > 1);
    const many = rhythm.pulses[lane] > MOST_MARKED;
    [without, of] = [without + (many ? off.length : 0), of + off.length];
    for (const place of many ? [] : off) {
      const [text, x] = [labelOf(place, rhythm.groups), place.tick * px];
      if (!text) {
        unsaid.set(place.parts, (unsaid.get(place.parts) || 0) + 1);
        continue;
      }
      const half = halfOf(text);
      const level = taken.findIndex((row) => row.every(([centre, wide]) => Math.abs(x - centre) >= half + wide));
      if (level >= 0 && clearOf(x, half / text.length, text) && x + half <= inside) {
        marks.push(["text", place.tick, at + 0.42 * level, text, "small"]);
        taken[level].push([x, half]);
      } else without += 1;
    }
    at += taken[2].length ? 1.37 : 0.95;
  }
  for (const [parts, left] of [...unsaid].sort((a, b) => a[0] - b[0])) {
    note(marks, `no word for ${numberSaid(left)} place${left === 1 ? "" : "s"}: ${numberSaid(parts)} parts to a beat`);
  }
  const counted = numberedSaid(numbered, beats.length);
  if (counted) note(marks, counted);
  noRoom(marks, without, of, "words of the count");
  return [marks, counted];
}

/** Draw pulses round their heard line, with the count of home under them. */
export function drawStrip(rhythm, home, width = 880) {
  const { pulses, ticks, onsets, say } = rhythm;
  const left = Math.max(76, 20 + 11 * Math.max(...pulses.map((one) => String(one).length)));
  const { svg, px } = makePainter({ stop: ticks, left, right: 24, width, most: Math.max(...pulses) });
  const line = heardLine(rhythm);
  const above = (pulses.length + 1) >> 1;
  const [top, heard] = [0.3, 1 + above];
  const [heardRow, lower, without, of] = heardMarks(line, heard, px);
  const ys = pulses.map((_, i) => 1 + i + (i >= above ? 1 + lower : 0));
  const bottom = 1.6 + pulses.length + lower;
  const marks = [["band", heard - 0.3, heard + 0.3, "heard"]];
  const rules = (where, role) => where.forEach((tick) => marks.push(["rule", tick, top, bottom, role]));
  if (ticks <= MOST_FINE) rules([...Array(ticks).keys()], "hair");
  rules(onsets[home], "beat");
  rules([0, ticks], "edge");
  marks.push(...heardRow);
  line.sounds.forEach((tick, i) => line.players[i].length === pulses.length && marks.push(["rule", tick, 1.28, Math.max(...ys) - 0.28, "tie"]));
  onsets.forEach((row, i) => {
    marks.push(["text", 0, ys[i], String(pulses[i]), "name", "left", `lane${i % 4}`], ["line", 0, ys[i], ticks, ys[i], `lane${i % 4}`]);
    row.forEach((tick) => marks.push(["stroke", tick, ys[i], i]));
  });
  const every = everySoMany(px * rhythm.step(home), String(pulses[home]).length);
  const numbered = onsets[home].map((_, i) => i + 1).filter((nth) => (nth - 1) % every === 0 && clearOf(onsets[home][nth - 1] * px, 6.3, String(nth)));
  const match = pulses.indexOf(pulses[home]); // of equal pulses the first counts as home
  const others = [...pulses.keys()].filter((i) => i !== match);
  const [count, counted] = countMarks(rhythm, home, others, numbered, bottom + 0.4, px, width - left);
  noRoom(count, without, of, "numbers of the heard row");
  const falls = others.map((i) => `the ${pulses[i]} falls on ${rowSaid(rhythm, countedOf(rhythm, home, i))}`);
  const told = [someOf(line.intervals, 24, " "), ...falls, counted].filter(Boolean).join("; ");
  const alt = `${pulses.join(" against ")} on ${countSaid(say, ticks, "tick")}, counted from the ${pulses[match]}: heard as one line the ticks from sound to sound are ${told}.`;
  return svg([...marks, ...count], Math.max(...count.map((mark) => mark[2])) + 0.5, alt);
}

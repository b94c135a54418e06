// Where a room is in the cycle, in words.
import { beatOf, placeSaid } from "./rows.mjs";
import { BETWEEN, nowSaid, tempoSaid } from "./soundbar.mjs";

const beatsSaid = (count, counted = "beat") => `${count} ${counted}${count === 1 ? "" : "s"}`;

/** For how many ticks a landmark is called now: half a beat, but for a time that one can read and no longer. */
export function calledFor(beatTicks, beatSeconds) {
  const seconds = Math.min(beatSeconds, Math.max(0.4, Math.min(0.8, beatSeconds / 2)));
  return (beatTicks * seconds) / beatSeconds;
}

/** The next landmark from a tick on, or that it is here: for `within` ticks it is called now. */
export function landmarkSaid(landmarks, beats, ticks, tick, within) {
  if (!landmarks || landmarks.length === 0) return "";
  const here = landmarks.findLast(([at]) => at <= tick && tick < at + within);
  if (here) return `landmark now: ${here[1]}`;
  const [at, name] = landmarks.find(([mark]) => mark > tick) || [landmarks[0][0] + ticks, landmarks[0][1]];
  const from = beats.filter((beat) => beat > tick && beat <= at).length;
  const round = at >= ticks ? beats.filter((beat) => beat + ticks <= at).length : 0;
  const left = from + round;
  const ahead = left > 0 ? `, ${beatsSaid(left)} on` : ", in this beat";
  return `next landmark: ${name}${ahead}`;
}

/** Where we are, in whole beats (of a phrase in groups): the beat of how many, the beats left to beat 1, and to the next landmark before it. */
export function whereSaid(beats, bars, marks, tick, counted = "beat") {
  const many = beats.length;
  if (!many) return "";
  if (many === 1) return `each ${counted} is ${counted} 1`; // nothing to count up or down to
  const beat = beatOf(beats, tick);
  const first = beats[beat - 1] <= tick + 1e-6 ? beats[beat - 1] : -1; // before the first beat: the end of the cycle before
  const left = first < 0 ? 1 : many - beat + 1;
  const said = [placeSaid(beats, bars, tick, true, counted), `${beatsSaid(left, counted)} to ${bars.length > 1 ? "bar" : counted} 1`];
  const mark = (marks || []).find(([place]) => place > first);
  if (mark && first >= 0) {
    const to = beats.filter((place) => place > first && place <= mark[0]).length;
    said.push(to > 0 ? `${beatsSaid(to, counted)} to the ${mark[1]}` : `next: the ${mark[1]}, in this ${counted}`);
  }
  return said.join(" \u00b7 ");
}

/** What stands in the large line at rest: how many beats or bars are to come. */
export function restSaid(plan, home, counted = "beat") {
  const [beats, bars] = [((plan && plan.homes) || [])[home] || [], (plan && plan.cycle && plan.cycle.bars) || []];
  return bars.length > 1 ? `bar \u2013 of ${bars.length}` : `${counted} \u2013 of ${beats.length}`;
}

/** What of the large line is largest: the place that it begins with, or all of what is as short. */
export function largeOf(text, now, counted = "beat") {
  if (!now || now.turn < 0 || now.silent) return text;
  const place = placeSaid(now.beats, now.bars || [], now.tick, true, counted);
  return text.startsWith(place) ? place : "";
}

const calledIn = (plan, beats, bpm) => calledFor(beats.length > 1 ? beats[1] - beats[0] : plan.ticks, 60 / bpm);

/** What is now on a wall: where we are, and in a long cycle the next landmark. `wall` is {plan, home, picture, lost, bare, where(now)}. */
function wallSaid(now, plain, { plan, picture, lost, bare, where }) {
  if (lost && now.turn >= 0) return where(now) ? where(now) + tempoSaid(now.speed ?? 1, picture ? picture.bpm : 0, true) : plain;
  if (bare || now.turn < 0 || now.silent || !picture || !picture.landmarks) return plain;
  const within = calledIn(plan, now.beats, picture.bpm * (now.speed || 1));
  const mark = now.whole ? landmarkSaid(picture.landmarks, now.beats, plan.ticks, now.tick, within) : "";
  return mark ? `${plain} \u00b7 ${mark}` : plain;
}

/** The large line of a wall, and what of it is largest; at rest, how many beats there are. */
export function lineSaid(now, plain, wall) {
  const counted = wall.picture ? wall.picture.counted : "beat";
  const text = now ? wallSaid(now, plain, wall) : restSaid(wall.plan, wall.home, counted);
  return [text, largeOf(text, now, counted)];
}

/** The longest that the large line is in a cycle, the largest of it and the rest: room for it is kept, so that no picture moves while it sounds. */
export function longestSaid(wall, speed) {
  const { plan, home, picture, bare } = wall;
  const beats = ((plan && plan.homes) || [])[home] || [];
  if (bare || !picture || !beats.length) return ["", ""];
  const marks = [...(picture.landmarks || []), ...(picture.marks || [])].map(([tick]) => tick);
  const within = calledIn(plan, beats, picture.bpm * speed);
  const after = marks.map((mark) => mark + within).filter((tick) => tick < plan.ticks); // the most beats are left to the next
  const before = marks.map((mark) => beats.findLast((beat) => beat < mark) ?? beats[0]); // it comes in this beat
  const bars = (plan.cycle && plan.cycle.bars) || [];
  const lines = [beats[0], beats.at(-1), ...bars, ...before, ...marks, ...after].map((tick) => {
    const now = { turn: 9, tick, beats, bars, home, speed, whole: true };
    const [text, large] = lineSaid(now, nowSaid(now, picture.bpm, true, picture.counted), wall);
    return [large, text.slice(large.length + BETWEEN.length)];
  });
  return [0, 1].map((part) => lines.map((one) => one[part]).reduce((a, b) => (b.length > a.length ? b : a), ""));
}

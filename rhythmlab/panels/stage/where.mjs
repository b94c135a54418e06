// Where a room is in the cycle, in words.
import { beatOf, placeSaid } from "./rows.mjs";

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

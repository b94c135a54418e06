// The gaps of one pulse from another, how they are heard at a tempo, and the words for it, as core/gaps.py and playing/hearing.py have them.
import { divisor, midwayOf, numberSaid, someOf, wordsOf } from "./counting.mjs";
import { pulseSaid } from "./telling.mjs";

const HEARD_AS = ["together", "flam", "open flam", "apart", "alternating"];
/** From this number up two neighbours are seen as their gap cycle. */
const NEIGHBOURS = 8;

/** Signed gaps of a pulse to the nearest beat of another, in ticks. */
function gapsOf(rhythm, of, against) {
  const step = rhythm.step(against);
  return rhythm.onsets[of].map((tick) => tick - Math.floor((tick + ((step - 1) >> 1)) / step) * step);
}

/** The ratio h:k that two pulses slip around closely: its h, or 0. */
export function slipOf(rhythm, of, against) {
  const steps = [rhythm.step(of), rhythm.step(against)];
  let [[over, under], [h, k, hBefore, kBefore]] = [[rhythm.pulses[of], rhythm.pulses[against]], [1, 0, 0, 1]];
  while (under) {
    const term = Math.floor(over / under);
    [h, k, hBefore, kBefore] = [term * h + hBefore, term * k + kBefore, h, k];
    const slip = Math.abs(h * steps[0] - k * steps[1]);
    if (h && slip && 8 * slip <= Math.min(...steps)) return h;
    [over, under] = [under, over - term * under];
  }
  return 0;
}

export function seenAsGaps({ pulses, repeats }) {
  const [few, more] = pulses.map((one) => one / repeats).sort((a, b) => a - b);
  return pulses.length === 2 && more - few === 1 && more >= NEIGHBOURS;
}

/** Where ms of a limit, [numerator, denominator], stand in ticks of a rhythm whose pulse `home` goes at `bpm`. */
const ticksOf = ([over, under], rhythm, home, bpm) => (over * bpm[0] * rhythm.step(home)) / (60000 * under * bpm[1]);

/** Zones of the gaps: their edges in ticks, and each gap's zone. */
export function zonesOf(rhythm, of, home, bpm, limits) {
  const step = rhythm.step(home);
  const even = (8 * step - Math.max(8, step)) / 16;
  const [flam, heard] = ["flam", "part_heard"].map((name) => ticksOf(limits[name], rhythm, home, bpm));
  const gaps = gapsOf(rhythm, of, home);
  const codes = gaps.map((gap) => {
    const size = Math.abs(gap);
    if (size === 0) return 0;
    if (size >= even) return 4;
    return size <= flam ? 1 : size >= heard ? 3 : 2;
  });
  return { gaps, codes, even, flam: Math.min(flam, even), apart: Math.min(Math.max(heard, flam), even) };
}

const strokesSaid = (code, count) => `${count} ${HEARD_AS[code]}${count > 1 && (code === 1 || code === 2) ? "s" : ""}`;

/** How the gaps are heard, zone by zone, and from which tempo they flam where they do not here. */
function zonesSaid(rhythm, of, home, bpm, limits) {
  const { say } = rhythm;
  const { gaps, codes, even } = zonesOf(rhythm, of, home, bpm, limits);
  const runs = [];
  codes.forEach((code, i) => {
    const [side, last] = [code === 4 ? 0 : Math.sign(gaps[i]), runs.at(-1)];
    if (last && last.code === code && last.side === side) last.count += 1;
    else runs.push({ code, side, count: 1 });
  });
  const each = runs.map(({ code, side, count }) => strokesSaid(code, count) + ["", " after", " before"].at(side));
  const summed = HEARD_AS.map((_, code) => [code, codes.filter((one) => one === code).length]).filter(([, count]) => count);
  const [beat, tickMs, name] = [bpm[0] / bpm[1], (60000 * bpm[1]) / (bpm[0] * rhythm.step(home)), pulseSaid(rhythm, home)];
  const near = Math.floor(beat) + (beat % 1 > 0.5 || (beat % 1 === 0.5 && Math.floor(beat) % 2) ? 1 : 0);
  const about = beat < 0.1 ? beat.toPrecision(1) : beat < 10 ? numberSaid(beat, 1) : near === beat ? numberSaid(near) : say("tempo.about", { bpm: numberSaid(near) });
  const zones = (runs.length > 9 ? summed.map((one) => strokesSaid(...one)) : each).join(", ");
  const text = say("heard.zones", { bpm: about, home: name, ms: numberSaid(tickMs, 1), moving: pulseSaid(rhythm, of), zones });
  const narrowest = divisor(rhythm.step(of), rhythm.step(home));
  if (narrowest >= even) return text;
  const [ms, [over, under]] = [numberSaid(tickMs * narrowest, 1), limits.flam];
  const least = (60000 * narrowest * under) / (rhythm.step(home) * over);
  if (beat < least) return `${text} ${say("heard.open", { ms, bpm: numberSaid(Math.ceil(least)), home: name })}`;
  const order = limits.order[0] / limits.order[1];
  return tickMs * narrowest < order ? `${text} ${say("heard.no_order", { ms, least: numberSaid(order) })}` : text;
}

/** Where the stroke that is exactly midway falls, or that there is none. */
function midwaySaid(rhythm, of, home) {
  const [{ say, pulses }, moving] = [rhythm, pulseSaid(rhythm, of)];
  const repeats = divisor(pulses[of], pulses[home]);
  const [stroke, beat] = [midwayOf(rhythm, of, home), midwayOf(rhythm, home, of)];
  const nth = (tick) => Math.floor(tick / rhythm.step(home)) + 1;
  if (stroke !== null && repeats === 1) return say("midway.stroke", { moving, beat: nth(stroke) });
  if (stroke !== null) return say("midway.stroke_each", { moving, beat: nth(stroke), repeats });
  if (beat !== null) return repeats === 1 ? say("midway.beat", { moving, beat: nth(beat) }) : say("midway.beat_each", { moving, repeats });
  return say(repeats === 1 ? "midway.odd" : "midway.odd_in_lowest");
}

/** Landmarks by ear of neighbours: [tick, quarters of a step after a stroke], and whether they lie between strokes of the other pulse. */
export function earMarks(rhythm, of, home) {
  const found = (pulse, counted) => {
    const step = rhythm.step(counted);
    return rhythm.onsets[pulse].map((tick) => [tick, ((tick % step) * 4) / step]).filter(([, quarters]) => quarters && Number.isInteger(quarters));
  };
  const marks = found(of, home);
  return marks.length ? [marks, false] : [found(home, of), true];
}

function marksSaid(rhythm, of, home) {
  const [{ say, groups }, [marks, between], pulse] = [rhythm, earMarks(rhythm, of, home), pulseSaid(rhythm, of)];
  const beat = (tick) => Math.floor(tick / rhythm.step(home)) + 1;
  if (!marks.length) return "";
  if (!between) {
    const places = someOf(marks.map(([tick, quarters]) => say("name.part", { part: wordsOf(4, groups)[quarters - 1], beat: beat(tick) })));
    return ` ${say("room.landmarks", { pulse, places })}`;
  }
  const [before, midway, after] = [1, 2, 3].map((quarters) => marks.filter((mark) => mark[1] === quarters).map(([tick]) => beat(tick)));
  const said = (beats) => say(`landmark.beat${beats.length === 1 ? "" : "s"}`, { beats: someOf(beats) });
  const form = midway.length === 1 ? "one" : "other";
  if (!before.length && !after.length) return " " + say(`landmark.midway_alone.${form}`, { pulse, midway: said(midway) });
  const first = marks[0][1] === 3 ? "after" : "before";
  return " " + say(`landmark.${first}_first.${form}`, { pulse, after: said(after), midway: said(midway), before: said(before) });
}

/** The text alternative of a tide, with which beats are counted in it. */
export function tideSaid(rhythm, of, home, bpm, limits, counted) {
  const names = [pulseSaid(rhythm, of), pulseSaid(rhythm, home)];
  const told = `${zonesSaid(rhythm, of, home, bpm, limits)} ${midwaySaid(rhythm, of, home)}${seenAsGaps(rhythm) ? marksSaid(rhythm, of, home) : ""}`;
  return `The gaps of ${names[0]} from ${names[1]}, drawn as a tide over the beats${counted && " (" + counted + ")"}: ${told}`;
}

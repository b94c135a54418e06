// What the browser's own counting and drawing answer, for tests that hold Python's answers beside them: cases in, answers out.
import { heardLine, numberSaid, rhythmOf } from "../../rhythmlab/panels/stage/counting.mjs";
import { followed, pulseTyped, tempoTyped } from "../../rhythmlab/panels/stage/ahead.mjs";
import { drawStrip } from "../../rhythmlab/panels/stage/drawing.mjs";
import { lowest, planFor } from "../../rhythmlab/panels/stage/meant.mjs";
import { sayOf } from "../../rhythmlab/panels/stage/sentences.mjs";
import { countedFrom, factsSaid, heardSaid, pairSaid, pulseSaid, spotsOf } from "../../rhythmlab/panels/stage/telling.mjs";
import { drawTide } from "../../rhythmlab/panels/stage/tide.mjs";

const { templates, cases = [], numbers = [], typed = [], dense = [] } = JSON.parse(await new Response(process.stdin).text());
const say = (key, values) => sayOf(templates, key, values);

function answer({ pulses, home, bpm, groups, turn, rate, most, width, limits }) {
  const rhythm = rhythmOf(pulses, say, groups);
  const plan = planFor(rhythm, { bpm: lowest(bpm), home, turn, rate, most });
  return {
    plan,
    title: pairSaid(rhythm),
    facts: factsSaid(rhythm, plan.cycle_s),
    names: pulses.map((_, i) => pulseSaid(rhythm, i)),
    count: countedFrom(rhythm, home),
    heard: heardSaid(rhythm),
    intervals: heardLine(rhythm).intervals,
    spots: spotsOf(rhythm, home),
    line: drawStrip(rhythm, home, width),
    gaps: limits && drawTide(rhythm, home, lowest(bpm), limits, width),
  };
}

console.log(JSON.stringify({
  cases: cases.map(answer),
  numbers: numbers.map(([value, digits]) => numberSaid(value, digits)),
  typed: typed.map((text) => [pulseTyped(text), tempoTyped(text)]),
  dense: dense.map(([asked, shown, home, most]) => followed(asked, shown, home, most)),
}));

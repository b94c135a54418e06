// What the browser's own counting and drawing answer, for tests that hold Python's answers beside them: cases in, answers out.
import { heardLine, numberSaid, rhythmOf } from "../../rhythmlab/panels/stage/counting.mjs";
import { followed, makeAhead, pulseTyped, tempoTyped } from "../../rhythmlab/panels/stage/ahead.mjs";
import { drawStrip } from "../../rhythmlab/panels/stage/drawing.mjs";
import { lowest, planFor } from "../../rhythmlab/panels/stage/meant.mjs";
import { sayOf } from "../../rhythmlab/panels/stage/sentences.mjs";
import { countedFrom, factsSaid, heardSaid, pairSaid, pulseSaid, spotsOf } from "../../rhythmlab/panels/stage/telling.mjs";
import { drawTide } from "../../rhythmlab/panels/stage/tide.mjs";

const { templates, cases = [], numbers = [], typed = [], dense = [], panels = [] } = JSON.parse(await new Response(process.stdin).text());
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
    gaps: drawTide(rhythm, home, lowest(bpm), limits, width),
  };
}

/** A model as the browser has it, with nobody at the other end. */
function fakeModel(state) {
  const calls = new Map();
  const on = (names, call) => names.split(" ").forEach((name) => calls.set(name, [...(calls.get(name) || []), call]));
  const set = (name, value, always = false) => { // a model tells of nothing that is as it was
    if (!always && JSON.stringify(state[name]) === JSON.stringify(value)) return;
    state[name] = value;
    (calls.get(`change:${name}`) || []).forEach((call) => call());
  };
  return { get: (name) => state[name], set, on, off: () => {}, save_changes: () => {}, send: () => {} };
}

/** What a panel shows after each of some changes that its kernel has not answered: [what, value], or what Python says. */
function followedBy({ state, texts, views, changes }) {
  const model = fakeModel(state);
  const ahead = makeAhead(model, () => {}, () => {});
  const [numbers, tempo] = [texts.slice(0, -4).map((value) => fakeModel({ value })), fakeModel({ value: texts.at(-4) })];
  const view = fakeModel({ _options_labels: views, index: views.indexOf(texts.at(-3)) });
  ahead.hold({ numbers, tempo, view });
  const listening = new Map();
  ahead.watch({ addEventListener: (name, call, first) => listening.set(`${name} ${first}`, call) });
  const shown = changes.map(([what, value]) => {
    listening.get("input true")();
    if (what === "python") {
      Object.assign(state, value);
      Object.keys(value).forEach((name) => model.set(name, value[name], true));
    } else if (what === "home") model.set("home", value);
    else if (what === "slid") model.set("slid", { bpm: value, home: model.get("home"), turn: model.get("slid").turn + 1 });
    else if (what === "view") view.set("index", views.indexOf(value));
    else (what === "bpm" ? tempo : numbers[what]).set("value", value);
    listening.get("input false")();
    const { svg, home, bpm, spots } = ahead.get("pictures")[model.get("home")];
    return { svg, home, bpm, spots, head: ahead.get("head"), plan: ahead.get("plan"), bpm_range: ahead.get("bpm_range"), tempo: tempo.get("value") };
  });
  ahead.end();
  return shown;
}

console.log(JSON.stringify({
  panels: panels.map(followedBy),
  cases: cases.map(answer),
  numbers: numbers.map(([value, digits]) => numberSaid(value, digits)),
  typed: typed.map((text) => [pulseTyped(text), tempoTyped(text)]),
  dense: dense.map(([asked, shown, home, most]) => followed(asked, shown, home, most)),
}));

// Ahead of Python: what is typed is counted and drawn here at once, and stands until Python's answer to just that is there.
import { numberSaid, rhythmOf } from "./counting.mjs";
import { drawStrip } from "./drawing.mjs";
import { lowest, planFor, tempoOf } from "./meant.mjs";
import { sayOf } from "./sentences.mjs";
import { drawTide } from "./tide.mjs";
import { countedFrom, factsSaid, heardSaid, pairSaid, pulseSaid, spotsOf } from "./telling.mjs";

/** After so many ms without an answer the words are ours too. */
const LATE = 500;
const DRAWN_HERE = { "heard line": (rhythm, home) => drawStrip(rhythm, home), "gap cycle": drawTide };

const sum = (numbers) => numbers.reduce((a, b) => a + b);
const alike = (one, other) => JSON.stringify(one) === JSON.stringify(other);

/** A pulse as it is typed, or null where Python is to say what is wrong with it. */
export const pulseTyped = (text) => (/^ *\d{1,15} *$/.test(text) && Number(text) > 0 ? Number(text) : null);

/** A tempo as it is typed, from 1 to 1,000 bpm, as [numerator, denominator], or null. */
export function tempoTyped(text) {
  const [, whole, after = ""] = /^ *(\d{0,6})(?:[.,](\d{0,6}))? *$/.exec(text) || [null, ""];
  const bpm = [Number(whole + after), 10 ** after.length];
  return whole + after !== "" && countable(bpm) ? lowest(bpm) : null;
}
const countable = ([over, under]) => over >= under && over <= 1000 * under;

/** Most strokes a second decide how fast a pulse may go. */
const fastestOf = (pulses, home, most) => (60 * pulses[home] * most) / (sum(pulses) + Math.max(...pulses));

/** Pulses and tempo that are followed: what both fields say, or one of them where both together are too fast; else null. */
export function followed(asked, shown, home, most) {
  const ways = [[asked.pulses, asked.bpm], [asked.pulses, shown.bpm], [shown.pulses, asked.bpm]];
  return ways.find(([pulses, [over, under]]) => over <= fastestOf(pulses, home, most) * under) || null;
}

/** What is shown, ours or Python's; `changed()` is called when that is another, `replan(before, plan)` when it sounds another. */
export function makeAhead(model, changed, replan) {
  let plan = model.get("plan");
  let [fields, own, seen, late, waiting, typing, count] = [null, null, [], false, 0, false, model.get("asked") || 0];
  const get = (name) => (own && name in own ? own[name] : model.get(name));
  const held = (one) => String(one.get("value"));
  const viewed = () => (fields.view.get("_options_labels") || [])[fields.view.get("index")];
  const texts = () => [...fields.numbers.map(held), held(fields.tempo), viewed(), String(model.get("slid").turn || 0)];
  const shownNow = (home) => {
    const { pulses, pulse, bpm } = get("plan");
    const [over, under = 1] = bpm.split("/").map(Number);
    return { pulses, bpm: tempoOf(pulses, [over, under], pulse, Math.min(home, pulses.length - 1)) };
  };
  const rhythmSaid = (pulses) => {
    const { sentences, groups } = model.get("ahead");
    return rhythmOf(pulses, (key, values) => sayOf(sentences, key, values), groups);
  };
  const writtenAs = ([over, under]) => numberSaid(over / under, 2, "");
  /** Name the field of the tempo, and write another tempo than it has; Python does the same, so it is not sent. */
  const writeTempo = (pulses, bpm, home, moved) => {
    fields.tempo.set("description", `bpm of ${pulseSaid(rhythmSaid(pulses), home)}`);
    if (moved && !alike(tempoTyped(held(fields.tempo)), bpm)) fields.tempo.set("value", writtenAs(bpm));
  };
  const make = (pulses, bpm, home, draw) => {
    const rhythm = rhythmSaid(pulses);
    const [{ rate, most }, { limits }] = [model.get("plan"), model.get("ahead")];
    const meant = planFor(rhythm, { bpm, home, turn: model.get("slid").turn || 0, rate, most });
    const before = model.get("pictures");
    const high = Math.max(1, Math.floor(Math.min(300, fastestOf(pulses, home, most))));
    const pictures = pulses.map((_, i) => {
      const drawn = {};
      return {
        get svg() {
          return (drawn.svg ??= draw(rhythm, i, tempoOf(pulses, bpm, home, i), limits));
        },
        get said() {
          return late ? (drawn.said ??= [countedFrom(rhythm, i), heardSaid(rhythm)]) : before[Math.min(i, before.length - 1)].said;
        },
        get spots() {
          return (drawn.spots ??= spotsOf(rhythm, i));
        },
        home: pulseSaid(rhythm, i),
        bpm: meant.bpms[i],
      };
    });
    const head = { title: pairSaid(rhythm), facts: factsSaid(rhythm, meant.cycle_s) };
    const other = alike(pulses, model.get("plan").pulses) ? {} : { feedback: [] };
    return { plan: meant, pictures, head, bpm_range: [Math.min(20, Math.max(1, Math.floor(high / 2))), high], ...other };
  };
  const replanned = () => {
    const before = plan;
    plan = get("plan");
    if (!alike(before, plan)) replan(before, plan);
  };
  const show = (made) => {
    clearTimeout(waiting);
    [own, late] = [made, late && made !== null];
    if (own) waiting = setTimeout(() => [(late = true), changed()], LATE);
    replanned();
    changed();
  };
  /** Whether Python has answered what stands in the fields; the number of the last change tells it from the same typed before. */
  const answered = () => alike([...texts(), String(count)], model.get("answered"));
  /** Once it has, its answer is shown. */
  const settle = () => {
    if (own && answered()) show(null);
  };
  /** A field has changed: if no reader did it, it is nothing typed. */
  const written = () => {
    if (!typing) seen = texts();
    settle();
  };
  /** Look whether something else is typed than before, and show it, unless Python has answered it or alone knows how. */
  const look = () => {
    if (!fields || alike(texts(), seen)) return;
    const before = seen;
    seen = texts();
    count = Math.max(count, model.get("asked") || 0) + 1;
    model.send({ asked: count }); // a message of its own: state would hold back a flip of home, which comes before a tempo
    const draw = ((model.get("ahead") || {}).views || []).includes(viewed()) && DRAWN_HERE[viewed()];
    if (!draw) return;
    const [here, drawn] = model.get("ahead").most; // of a longer rhythm Python shows a window, or nothing
    const home = Math.min(model.get("home"), fields.numbers.length - 1);
    const [shown, typed] = [shownNow(home), fields.numbers.map((one) => pulseTyped(held(one)))];
    const moved = before.length > 0 && seen.at(-1) !== before.at(-1); // the slide moves what is shown, whatever is typed
    const asked = { pulses: moved || typed.includes(null) || sum(typed) > drawn ? shown.pulses : typed, bpm: tempoTyped(held(fields.tempo)) };
    const slid = model.get("slid");
    if (moved) {
      const to = tempoTyped(String(slid.bpm));
      asked.bpm = to && tempoOf(shown.pulses, to, slid.home, home);
    } else if (held(fields.tempo) === writtenAs(shown.bpm)) asked.bpm = shown.bpm;
    asked.bpm ||= shown.bpm;
    const found = asked.pulses.length === shown.pulses.length && followed(asked, shown, home, model.get("plan").most);
    if (!found || sum(found[0]) > here) return;
    if (viewed() === "gap cycle" && !found[0].some((_, i) => countable(tempoOf(...found, home, i)))) return; // Python refuses it
    writeTempo(...found, home, moved);
    seen = texts();
    const made = make(...found, home, draw);
    if (made.pictures[home].svg) show(made);
  };
  /** Home has moved: the tempo is that of another pulse. */
  const flipped = () => {
    if (!fields || !(model.get("ahead") || {}).sentences) return;
    const home = model.get("home");
    const { pulses, bpm } = shownNow(home);
    if (home >= pulses.length) return;
    writeTempo(pulses, bpm, home, true);
    seen = texts();
    settle();
  };
  /** Follow these fields; returns how to stop. */
  const hold = ({ numbers = [], tempo, view }) => {
    if (!tempo || !view || !numbers.length) return () => {};
    fields = { numbers, tempo, view };
    const heard = [...numbers, tempo, view];
    heard.forEach((one) => one.on("change:value change:index", written));
    if (answered()) settle();
    else look(); // a page reopened, that was left before Python had answered
    seen = texts();
    return () => heard.forEach((one) => one.off("change:value change:index", written));
  };
  /** Look at what the reader does with a view's fields and buttons; returns how to stop. */
  const watch = (el) => {
    const begins = () => {
      typing = true;
      setTimeout(() => (typing = false));
    };
    const heard = ["input", "change", "click"].flatMap((name) => [[name, begins, true], [name, look, false]]);
    heard.forEach((one) => el.addEventListener(...one));
    return () => heard.forEach((one) => el.removeEventListener(...one));
  };
  model.on("change:plan", replanned);
  model.on("change:answered", settle);
  model.on("change:home", flipped);
  /** A view's model, with what we show in place of what Python has. */
  const over = (one) => Object.assign(Object.create(one), { get: (name) => (own && name in own ? own[name] : one.get(name)) });
  return { over, get, look, hold, watch, end: () => clearTimeout(waiting) };
}

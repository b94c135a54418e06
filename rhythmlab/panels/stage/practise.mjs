// Practising: count-in, slower, a spot to loop, a tempo that rises, home on call, silent cycles, tap the tempo.
import { button, choice, element } from "./parts.mjs";
import { median } from "./clockmap.mjs";

const COUNT_IN = [[0, "none"], [2, "2 beats"], [4, "4 beats"], [8, "8 beats"]];
const SLOW = [100, 90, 80, 75, 70, 60, 50, 40, 30].map((n) => [n, n === 100 ? "as written" : `${n} percent`]);
const RISE = [[0, "stays"], [1, "up 1 bpm"], [2, "up 2 bpm"], [4, "up 4 bpm"], [8, "up 8 bpm"]];
const EVERY = [1, 2, 4, 8, 16].map((n) => [n, n === 1 ? "every cycle" : `every ${n} cycles`]);
const FLIP = [[0, "by hand"], [8, "every 8 cycles"], [4, "every 4 cycles"], [2, "every 2 cycles"]];
const SOUNDING = [1, 2, 4, 8].map((n) => [n, `${n} sounding`]);
const SILENT = [[0, "none silent"], ...[1, 2, 4, 8].map((n) => [n, `${n} silent`])];
const FORGET_MS = 2500;

/** Beats a minute from the times of taps in ms: the median of the last intervals; null before the fourth tap. */
export function tappedBpm(times) {
  if (times.length < 4) return null;
  const last = times.slice(-5);
  return 60000 / median(last.slice(1).map((time, i) => time - last[i]));
}

/** Taps that still count when another comes: a long pause begins anew. */
export function tapsWith(times, time) {
  const goesOn = times.length && time - times.at(-1) < FORGET_MS;
  return [...(goesOn ? times : []), time].slice(-8);
}

/** Loop and slow as a button of Python's asks for. */
export function practiseAs(engine, { loop, percent }) {
  engine.set("part", null);
  engine.set("loop", loop.length ? { start: loop[0], stop: loop[1] } : null);
  engine.set("slow", percent);
}

export function makePractise(drawer, engine, { plan, picture, setBpm, tell }) {
  const { body } = drawer.add("Practise");
  const { settings } = engine;
  /** Controls of one purpose, under its name; the box has it for ears. */
  const purpose = (name) => {
    const box = element("div", "rl-purpose", body, { role: "group", "aria-label": name });
    element("span", "", box, { "aria-hidden": "true" }).textContent = name;
    return { box, line: element("div", "rl-line", box) };
  };
  const [shorter, climb, silence, homes, begin] = ["slower or shorter", "climb", "silence", "home on call", "to begin"].map(purpose);
  const nearest = (percent) => String(SLOW.map(([n]) => n).reduce((a, b) => (Math.abs(b - percent) < Math.abs(a - percent) ? b : a)));
  const slow = choice("speed", shorter.line, SLOW, (value) => engine.set("slow", Number(value)));
  const rise = choice("tempo", climb.line, RISE, (value) => engine.set("rise", { ...settings.rise, by: Number(value) }));
  const every = choice("step", climb.line, EVERY, (value) => engine.set("rise", { ...settings.rise, every: Number(value) }));
  const countIn = choice("count-in", begin.line, COUNT_IN, (value) => engine.set("countIn", Number(value)));
  let taps = [];
  const tap = button("Tap the tempo: 4 taps", begin.line, (event) => {
    taps = tapsWith(taps, event.timeStamp);
    const bpm = tappedBpm(taps);
    if (bpm === null) tell(`${4 - taps.length} more`);
    else {
      tell("");
      setBpm(Math.round(Math.min(Math.max(bpm, 20), 300) * 10) / 10);
    }
  });
  tap.classList.add("rl-tap");

  const loop = choice("loop", shorter.line, [["", "whole cycle"]], (value) => {
    if (value === "part") return;
    engine.set("part", null);
    const wanted = value === "own" ? ownSlice() : (plan()?.loops || [])[Number(value)] || null;
    own.hidden = value !== "own";
    engine.set("loop", value === "" ? null : wanted || settings.loop);
  });
  const own = element("span", "rl-own", shorter.line);
  const chosen = () => {
    const wanted = ownSlice();
    tell(wanted ? "" : "The loop must end after the stroke that it begins on: choose a later stroke after \"to\".");
    if (wanted) engine.set("loop", wanted);
  };
  const from = choice("from", own, [], chosen);
  const to = choice("to", own, [], chosen);
  const ownSlice = () => {
    const [start, stop] = [Number(from.select.value), Number(to.select.value)];
    return start < stop ? { start, stop } : null;
  };
  const flip = choice("flip home", homes.line, FLIP, (value) => engine.set("flipEvery", Number(value)));
  const silent = choice("drop-out", silence.line, SILENT, (value) =>
    engine.set("drop", { ...settings.drop, silent: Number(value) }),
  );
  const sounding = choice("after", silence.line, SOUNDING, (value) =>
    engine.set("drop", { ...settings.drop, sounding: Number(value) }),
  );
  let offered = "";
  return () => {
    const [loops, spots] = [plan()?.loops || [], picture()?.spots || []];
    const { part } = settings;
    const offer = JSON.stringify([loops, spots, Boolean(part)]);
    if (offered !== offer) {
      offered = offer;
      const names = loops.map((one, i) => [i, one.name]);
      loop.offer([["", "whole cycle"], ...names, ...(part ? [["part", "a part, then rest"]] : []), ...(spots.length > 1 ? [["own", "from a stroke to a stroke"]] : [])]);
      from.offer(spots.slice(0, -1));
      to.offer(spots.slice(1));
      to.select.selectedIndex = spots.length - 2;
    }
    const held = settings.loop;
    const at = held ? loops.findIndex((one) => one.start === held.start && one.stop === held.stop) : -1;
    if (part) loop.select.value = "part";
    else if (!held && loop.select.value !== "own") loop.select.value = "";
    else if (held) loop.select.value = at < 0 || loop.select.value === "own" ? "own" : String(at);
    if (held && loop.select.value === "own") {
      from.select.value = String(held.start);
      to.select.value = String(held.stop);
    }
    own.hidden = loop.select.value !== "own";
    countIn.select.value = String(settings.countIn);
    slow.select.value = nearest(settings.slow);
    rise.select.value = String(settings.rise.by);
    every.select.value = String(settings.rise.every);
    every.label.hidden = settings.rise.by === 0;
    flip.select.value = String(settings.flipEvery);
    homes.box.hidden = !plan() || plan().homes.length < 2;
    silent.select.value = String(settings.drop.silent);
    sounding.select.value = String(settings.drop.sounding);
    sounding.label.hidden = settings.drop.silent === 0;
  };
}

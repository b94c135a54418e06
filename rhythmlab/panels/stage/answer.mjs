// What a take came to: the finding, what to do next, the button that does it, and the numbers behind one link.
import { button, element } from "./parts.mjs";
import { referred } from "./fields.mjs";
import { takeCountIn } from "./recorder.mjs";

const WHOLE = "Play the whole cycle again";

/** A plan at another tempo, as exact as Python said it. */
export function atTempo(plan, { cycle_s: seconds, bpm, pulse }) {
  return { ...plan, cycle_s: seconds, bpm, pulse: pulse ?? plan.pulse, bpms: plan.bpms.map((one) => (one * plan.cycle_s) / seconds) };
}

/** Whether a next step is being played: a part of the cycle that is rested out. */
export function isOn({ kind, start, stop }, { part }) {
  return kind === "part" && Boolean(part) && part.start === start && part.stop === stop;
}

/**
 * Build what stands over the pads after a take, right under its strokes; `take(next)` records one. Returns a call that shows lines, and says
 * whether there is something new to be read.
 */
export function makeAnswer(parent, engine, recorder, { model, plan, setBpm, take, calibrate }) {
  const box = element("div", "rl-feedback", parent);
  const live = element("div", "rl-answer", box, { "aria-live": "polite" });
  const act = button("", box, () => pressed(next()));
  act.classList.add("rl-next");
  const more = element("details", "rl-numbers", box);
  element("summary", "", more).textContent = "numbers and sources";
  const numbers = element("div", "", more);
  const kept = element("div", "rl-noted", box);
  let shown = null;
  const next = () => (model.get("answer") || {}).next || null;

  /** Set the tempo here at once, and tell Python, whose answer then changes nothing that sounds. */
  const retune = async (wanted) => {
    if (!wanted.cycle_s) return;
    engine.set("slow", 100);
    const rate = plan().cycle_s / wanted.cycle_s;
    const there = () => Math.abs(plan().cycle_s / wanted.cycle_s - 1) < 1e-6;
    if (there()) return;
    const slides = model.get("bpm_range").length > 1;
    if (slides) setBpm(wanted.a_minute, { home: wanted.pulse ?? model.get("home") });
    if (!there()) model.set("plan", atTempo(plan(), wanted));
    model.save_changes();
    if (slides) return;
    const { tempo } = await referred(model.widget_manager, { tempo: (model.get("parts") || {}).tempo || null });
    if (!tempo) return;
    tempo.set("value", String(Number((Number(String(tempo.get("value")).replace(",", ".")) * rate).toFixed(6))));
    tempo.save_changes();
  };
  const pressed = (wanted) => {
    if (isOn(wanted, engine.settings)) return engine.set("part", null);
    if (wanted.kind === "calibrate") return calibrate();
    engine.stop();
    retune(wanted);
    if (wanted.kind !== "part" && wanted.kind !== "listen") return take(wanted);
    if (wanted.kind === "part") engine.set("loop", null);
    engine.set("part", wanted.kind === "part" ? { start: wanted.start, stop: wanted.stop } : null);
    engine.start({ countIn: Math.max(engine.settings.countIn, takeCountIn(plan(), model.get("home"))) });
  };
  const lines = (inside, texts) => inside.replaceChildren(...texts.map((text) => {
    const line = document.createElement("p");
    line.textContent = text;
    return line;
  }));
  const show = (said) => {
    const answer = (said.length && model.get("answer")) || {};
    const wanted = next();
    act.hidden = !wanted || !said.length;
    if (!act.hidden) act.textContent = isOn(wanted, engine.settings) ? WHOLE : wanted.button;
    const now = JSON.stringify([said, answer]);
    if (now === shown) return false;
    shown = now;
    lines(live, answer.found ? [answer.found, ...(answer.do ? [answer.do] : [])] : said);
    lines(numbers, answer.more || []);
    lines(kept, answer.kept || []);
    more.open = false;
    more.hidden = !numbers.childElementCount;
    live.classList.toggle("rl-told", Boolean(answer.found));
    return said.length > 0;
  };
  return Object.assign(show, { box });
}
